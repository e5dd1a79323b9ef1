//! What a sheet comes to: ranking, next test, finishing lines, repair, in words.

use super::WheelCheck;
use crate::diagnosis::Diagnosis;
use crate::diagnosis::body::{Turn, Way};
use crate::diagnosis::class::Class;
use crate::diagnosis::finish::Doubt;
use crate::diagnosis::move_table::Moves;
use crate::diagnosis::proposal::{Proposal, Why};
use crate::diagnosis::shares;
use crate::diagnosis::sheet::{self, Remark, Seen, Sheet, Skip};
use crate::diagnosis::test::{Available, Test};
use crate::diagnosis::wheel_state::DutyLevel;
use crate::diagnosis::words::{
    class_words, exchange_words, has_look_alikes, proposal_words, rarer_words, test_words, why_words,
};
use crate::engine::snapshot::wheel_check::{CheckReport, Diagnosed, Next, Slide};
use crate::rover::mecanum::Motion;

/// How many classes are shown.
const SHOWN: usize = 4;

/// The report of a sheet.
pub fn of(check: &WheelCheck, sheet: &Sheet) -> CheckReport {
    let (diagnosis, available, refused) = sheet::diagnose(check.start(), check.available, sheet);
    let classes = diagnosis.ranked();
    let best = diagnosis.best_test(&available);
    let doubts = diagnosis.doubtful();
    let finish = diagnosis.finish_of(&classes, best.as_ref(), &doubts);
    let moves = check.moves();
    let outside = finish.outside_the_model.is_some();
    let sound = classes.first().and_then(|class| class.members.first()).is_some_and(|one| one.hypothesis.faults() == 0);
    let line = |remark: &Remark| sheet::write(remark, moves);
    let slide = slide(sheet, moves);
    let doubtful = doubtful(&diagnosis, doubts, sheet);
    let all_seen = finish.accepted && sound;
    let next = if all_seen {
        proof_on_the_floor(&diagnosis, available, slide)
    } else {
        next(&diagnosis, available, best.clone())
    };
    CheckReport {
        number: check.book.sheets().len(),
        lines: sheet.said.iter().map(|entry| line(&entry.remark)).collect(),
        proofs: (0..moves.count()).map(|row| sheet.proof(row, moves)).collect(),
        ranking: ranking(&classes, check),
        next: next.map(|next| shown(&next, check)),
        doubt: doubtful.first().and_then(Remark::observation).map(|said| Remark::Doubt(said.test())),
        doubtful: doubtful.iter().map(line).collect(),
        outside,
        diagnosed: classes
            .first()
            .filter(|_| finish.diagnosed && !outside)
            .map(|class| diagnosed(&diagnosis, class, check)),
        accepted: all_seen && slide != Slide::Otherwise,
        slide,
        answers_to_come: diagnosis.answers_to_come(&classes, best.as_ref()),
        left_out: sheet.skipped().into_iter().map(|skip| skip.words(moves)).collect(),
        left: finish.rows_left.iter().map(|row| moves.name(*row).to_owned()).collect(),
        exchanged: sheet.exchanged().into_iter().map(|action| (action, exchange_words(action))).collect(),
        hums: hums(sheet),
        refused,
        sheet: sheet.clone(),
    }
}

/// The last answer to a slide to the left on the floor, nothing exchanged.
fn slide(sheet: &Sheet, moves: &Moves) -> Slide {
    let left = moves.row_with(Motion::Left.signs());
    let last = sheet.said.iter().rev().find_map(|entry| match entry.remark {
        Remark::Floor(row, _, went, turned) if Some(row) == left => Some((went, turned)),
        _ => None,
    });
    let to_the_left = Way { ahead: 0, left: 1 };
    match last {
        None => Slide::NotSeen,
        Some((went, turned))
            if went.is_none_or(|went| went == to_the_left) && turned.is_none_or(|turn| turn == Turn::None) =>
        {
            Slide::AsMeant
        }
        Some(_) => Slide::Otherwise,
    }
}

/// Once every wheel is seen right in every row: the slide, where it was not seen yet or went otherwise.
fn proof_on_the_floor(diagnosis: &Diagnosis, available: Available, slide: Slide) -> Option<Proposal> {
    let row = diagnosis.space().moves.row_with(Motion::Left.signs()).filter(|_| available.floor)?;
    let duty = if available.low_duty { DutyLevel::Low } else { DutyLevel::High };
    let why = match slide {
        Slide::AsMeant => return None,
        Slide::NotSeen => Why::ProofOnTheFloor,
        Slide::Otherwise => Why::DoesNotFit,
    };
    Some(Proposal { exchange: None, test: Test::Floor(row, duty), gain: 0.0, cost: 1.0, why })
}

fn hums(sheet: &Sheet) -> bool {
    let last = sheet.said.last().map(|entry| &entry.remark);
    matches!(last, Some(Remark::Wheels(_, _, seen)) if seen.contains(&Seen::Hums))
}

/// Classes with their shares; what is not shown is summed up in a last row.
fn ranking(classes: &[Class], check: &WheelCheck) -> Vec<[String; 2]> {
    let shown = classes.iter().take(SHOWN).filter(|class| class.probability >= 0.001);
    let mut rows: Vec<(f64, String)> =
        shown.map(|class| (class.probability, class_words(class, check.moves()))).collect();
    let rest = 1.0 - rows.iter().map(|(probability, _)| probability).sum::<f64>();
    if rest >= 0.001 {
        rows.push((rest, "everything else together".to_owned()));
    }
    let shares = shares::words(&rows.iter().map(|(probability, _)| *probability).collect::<Vec<f64>>());
    shares.into_iter().zip(rows).map(|(share, (_, words))| [share, words]).collect()
}

/// The test to make next: the disbelieved one again where the answers contradict each other, else as usual. An exchange
/// is never the next test by itself: it stands beside the repair.
fn next(diagnosis: &Diagnosis, available: Available, best: Option<Proposal>) -> Option<Proposal> {
    let usual = || diagnosis.next_after(&Available { screwdriver: false, ..available }, best);
    diagnosis.again().or_else(usual)
}

fn shown(next: &Proposal, check: &WheelCheck) -> Next {
    let order = match next.test {
        Test::Stand(order, duty) => Some((order, duty, false)),
        Test::Floor(row, duty) => Some((crate::diagnosis::test::Order::Row(row), duty, true)),
        Test::Tape | Test::Look | Test::Correction => None,
    };
    Next { order, says: test_words(next.test, check.moves()), why: why_words(next.why), skip: Skip::of(next) }
}

/// The remarks whose answers are disbelieved and not overruled.
fn doubtful(diagnosis: &Diagnosis, doubts: Vec<Doubt>, sheet: &Sheet) -> Vec<Remark> {
    let seen: Vec<&Remark> =
        sheet.said.iter().map(|entry| &entry.remark).filter(|remark| remark.observation().is_some()).collect();
    let doubts = doubts.into_iter().filter(|doubt| !doubt.overruled);
    let said = doubts.filter_map(|doubt| {
        let kept = diagnosis.evidence().all().iter().find(|kept| kept.id == doubt.id)?;
        seen.iter().find(|remark| remark.observation() == Some(kept.said)).map(|remark| (*remark).clone())
    });
    said.collect()
}

fn diagnosed(diagnosis: &Diagnosis, class: &Class, check: &WheelCheck) -> Diagnosed {
    let repair = diagnosis.repair(class);
    let moves = check.moves();
    let sound = class.members.first().is_none_or(|one| one.hypothesis.faults() == 0);
    let split = repair.split.as_ref();
    let exchange = split.and_then(|split| split.exchange);
    Diagnosed {
        wrong: if sound { String::new() } else { class_words(class, moves) },
        share: shares::words(&[class.probability]).remove(0),
        look_alikes: has_look_alikes(class, moves),
        first: repair.first.clone(),
        change: repair.change,
        warning: repair.warning,
        proof: repair.proof,
        then: repair.next,
        exchange: exchange.map(|action| (action, exchange_words(action))),
        split: split.filter(|_| exchange.is_none()).map(|split| proposal_words(split, moves)).unwrap_or_default(),
        rarer: rarer_words(class, moves),
        rarer_not_listed: class.count - class.members.len(),
    }
}
