//! What a sheet comes to: ranking, next test, finishing lines, repair, in words.

use super::WheelCheck;
use crate::diagnosis::Diagnosis;
use crate::diagnosis::class::Class;
use crate::diagnosis::finish::{Doubt, Finish};
use crate::diagnosis::observation::ObservationId;
use crate::diagnosis::proposal::{Proposal, Why};
use crate::diagnosis::shares;
use crate::diagnosis::sheet::{self, Remark, Seen, Sheet, Skip};
use crate::diagnosis::test::{Available, Test};
use crate::diagnosis::words::{class_words, exchange_words, has_look_alikes, proposal_words, test_words, why_words};
use crate::engine::snapshot::wheel_check::{CheckReport, Diagnosed, Next};

/// How many classes are shown.
const SHOWN: usize = 4;

/// The report of a sheet.
pub fn of(check: &WheelCheck, sheet: &Sheet) -> CheckReport {
    let (diagnosis, available, refused) = sheet::diagnose(check.start(), check.available, sheet);
    let classes = diagnosis.ranked();
    let best = diagnosis.best_test(&available);
    let doubts = diagnosis.doubtful();
    let finish = diagnosis.finish_of(&classes, best.as_ref(), doubts.clone());
    let moves = check.moves();
    let outside = finish.outside_the_model.is_some();
    let sound = classes.first().and_then(|class| class.members.first()).is_some_and(|one| one.hypothesis.faults() == 0);
    let line = |remark: &Remark| sheet::write(remark, moves);
    CheckReport {
        number: check.book.sheets().len(),
        lines: sheet.said.iter().map(|entry| line(&entry.remark)).collect(),
        proofs: (0..moves.count()).map(|row| sheet.proof(row, moves)).collect(),
        ranking: ranking(&classes, check),
        next: next(&diagnosis, available, &finish, best).map(|next| shown(&next, check)),
        doubtful: doubtful(&diagnosis, doubts, sheet).iter().map(line).collect(),
        outside,
        diagnosed: classes
            .first()
            .filter(|_| finish.diagnosed && !outside)
            .map(|class| diagnosed(&diagnosis, class, check)),
        accepted: finish.accepted && sound,
        left: finish.rows_left.iter().map(|row| moves.name(*row).to_owned()).collect(),
        exchanged: sheet.exchanged().into_iter().map(|action| (action, exchange_words(action))).collect(),
        hums: hums(sheet),
        refused,
        sheet: sheet.clone(),
    }
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
fn next(diagnosis: &Diagnosis, available: Available, finish: &Finish, best: Option<Proposal>) -> Option<Proposal> {
    if let Some(test) = finish.outside_the_model.and_then(|id| test_of(diagnosis, id)) {
        return Some(Proposal { exchange: None, test, gain: 0.0, cost: 1.0, why: Why::DoesNotFit });
    }
    diagnosis.next_after(&Available { screwdriver: false, ..available }, best)
}

fn test_of(diagnosis: &Diagnosis, id: ObservationId) -> Option<Test> {
    diagnosis.evidence().all().iter().find(|kept| kept.id == id).map(|kept| kept.said.test())
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
    }
}
