//! `diagnose`: which wheel, plug, roller, row or input is wrong, from what a person saw.

mod ask;
mod at_pins;
mod pins_seen;
mod recorded;

use std::io::Read;

use serde_json::json;

use crate::diagnosis::Diagnosis;
use crate::diagnosis::class::Class;
use crate::diagnosis::model::Model;
use crate::diagnosis::move_table::Moves;
use crate::diagnosis::shares;
use crate::diagnosis::test::Available;
use crate::report::diagnosis::{SHOWN, class_words, proposal_words, state, test_words, why_words};
use crate::report::observations::{Said, read};
use crate::report::wheel_sheet;
use crate::rover::meaning::MoveRow;
use crate::run::headless::Out;
use crate::run::signals_choice::Asked;
use crate::run::{Failure, Outcome, rover_choice};
use crate::source::pins::looks_like_dump;
use recorded::Recorded;

/// The longest file of observations, bytes: some thousands of lines.
const LONGEST_FILE: u64 = 1 << 20;

/// What to diagnose from.
#[derive(Clone, Debug)]
pub struct Options {
    /// A file of observations, or a session; `None` asks at the terminal.
    pub file: Option<String>,
    /// Rover file or name; the session's own, else the plain line's rover when not given.
    pub rover: Option<String>,
    /// Which signals of a value-change dump are used.
    pub signals: Asked,
    /// One JSON object.
    pub json: bool,
    /// The link can order one wheel alone.
    pub one_wheel: bool,
}

/// Reads the observations, or asks for them, and says what is wrong.
pub fn run(options: &Options) -> Result<Outcome, Failure> {
    if let Some(file) = options.file.as_ref().filter(|file| recorded::is_session(file)) {
        return run_recorded(file, options);
    }
    if let Some(file) = options.file.as_ref().filter(|file| is_dump(file)) {
        return at_pins::run(file, options);
    }
    let rover = options.rover.as_deref().map(rover_choice::named).transpose()?;
    let rows: Vec<MoveRow> = rover.as_ref().map(|rover| rover.meaning.moves.clone()).unwrap_or_default();
    let machine = rover.as_ref().map(|rover| rover.machine.clone()).unwrap_or_default();
    let guesses = rover.as_ref().map(|rover| rover.guesses).unwrap_or_default();
    let mut diagnosis = Diagnosis::new(Model::of_rover(&guesses, &machine), &machine, &rows);
    let orders_one = rover.as_ref().is_some_and(|rover| rover.meaning.orders_one_wheel());
    let available = Available { one_wheel: options.one_wheel || orders_one, ..Available::ALL };
    diagnosis.allow(available);
    let mut out = Out::stdout();
    let Some(file) = &options.file else {
        return ask::run(diagnosis, available, &mut out);
    };
    take_file(&mut diagnosis, file, &rows)?;
    if options.json {
        out.json(&state(&diagnosis, &available).to_string())?;
    } else {
        in_words(&diagnosis, available, &mut out)?;
    }
    out.flush()?;
    Ok(outcome(&diagnosis))
}

fn outcome(diagnosis: &Diagnosis) -> Outcome {
    let sound =
        diagnosis.ranked().first().and_then(|class| class.members.first().map(|one| one.hypothesis.faults() == 0));
    if sound == Some(true) { Outcome::Fine } else { Outcome::FaultsFound }
}

/// A session: its last wheel sheet, else the driver's turn correction.
fn run_recorded(file: &str, options: &Options) -> Result<Outcome, Failure> {
    let recorded = recorded::read(file, options.rover.as_deref(), options.one_wheel)?;
    let mut out = Out::stdout();
    if options.json {
        out.json(&recorded_json(&recorded).to_string())?;
    } else {
        recorded_words(&recorded, &mut out)?;
    }
    out.flush()?;
    let told = recorded.sheet.is_some() || recorded.correction_taken;
    Ok(if told { outcome(&recorded.diagnosis) } else { Outcome::Fine })
}

fn recorded_json(recorded: &Recorded) -> serde_json::Value {
    let moves = &recorded.diagnosis.space().moves;
    let turns = recorded.corrections.iter().map(
        |one| json!({ "move": one.name, "runs": one.runs, "mean": one.mean, "interval": one.interval, "sign": one.sign }),
    );
    let mut whole = state(&recorded.diagnosis, &recorded.available);
    whole["sheet"] = recorded.sheet.as_ref().map(|sheet| wheel_sheet::json(sheet, moves)).into();
    whole["turn_corrections"] = turns.collect::<Vec<_>>().into();
    whole["correction_taken"] = recorded.correction_taken.into();
    whole["not_taken"] = recorded.not_taken.clone().into();
    whole
}

fn recorded_words(recorded: &Recorded, out: &mut Out) -> Result<(), Failure> {
    let moves = &recorded.diagnosis.space().moves;
    match &recorded.sheet {
        Some(sheet) => {
            for line in wheel_sheet::lines(sheet, moves) {
                out.line(&line)?;
            }
        }
        None => {
            out.line("This session holds no wheel sheet. Make one with k in `listen` or `replay`.")?;
        }
    }
    for why in &recorded.not_taken {
        out.line(&format!("Not taken: {why}"))?;
    }
    for one in &recorded.corrections {
        out.line(&format!("Mean turn correction, {}", one.words()))?;
    }
    if recorded.correction_taken {
        out.line("The signs that are sure are taken as an observation; they are a hint, no proof.")?;
    }
    if recorded.sheet.is_some() || recorded.correction_taken {
        in_words(&recorded.diagnosis, recorded.available, out)?;
    }
    Ok(())
}

/// Whether this is a value-change dump. Standard input is read as observations.
fn is_dump(file: &str) -> bool {
    let mut first = [0; 256];
    if file == "-" {
        return false;
    }
    let read = std::fs::File::open(file).and_then(|mut file| file.read(&mut first));
    read.is_ok_and(|count| looks_like_dump(first.get(..count).unwrap_or_default()))
}

fn take_file(diagnosis: &mut Diagnosis, file: &str, rows: &[MoveRow]) -> Result<(), Failure> {
    let text = read_text(file).map_err(|error| {
        Failure::usage(format!("{file}: cannot be read ({error}). Name a session or a file of observations."))
    })?;
    if text.len() as u64 > LONGEST_FILE {
        return Err(Failure::usage(format!(
            "{file}: longer than {LONGEST_FILE} bytes, so it is no file of observations. Name a session, a value-change \
             dump, or a file with one observation a line."
        )));
    }
    let before = diagnosis.evidence().all().len();
    for (line, number) in text.lines().zip(1..).filter(|(line, _)| !line.trim().is_empty()) {
        let wrong = |why: String| Failure::usage(format!("{file}, line {number}: {why}"));
        match read(line, rows).map_err(wrong)? {
            Said::Seen(seen) => {
                diagnosis.observe(seen).map_err(|fault| wrong(fault.to_string()))?;
            }
            Said::Exchanged(action) => diagnosis.exchange(action),
        }
    }
    if diagnosis.evidence().all().len() == before {
        return Err(Failure::usage(format!(
            "{file}: no observation in it, so nothing can be said of this rover. Write one a line (`wheeltap diagnose \
             --help` shows one), or leave the file out to be asked."
        )));
    }
    Ok(())
}

/// The whole text, but no more than one byte beyond [`LONGEST_FILE`].
fn read_text(file: &str) -> std::io::Result<String> {
    let mut text = String::new();
    if file == "-" {
        std::io::stdin().lock().take(LONGEST_FILE + 1).read_to_string(&mut text)?;
    } else {
        std::fs::File::open(file)?.take(LONGEST_FILE + 1).read_to_string(&mut text)?;
    }
    Ok(text)
}

/// Ranking, repair and next test, in words.
fn in_words(diagnosis: &Diagnosis, available: Available, out: &mut Out) -> Result<(), Failure> {
    ranking(diagnosis, out)?;
    if doubts(diagnosis, out)? {
        return Ok(());
    }
    let finish = diagnosis.finished();
    if finish.diagnosed {
        repair(diagnosis, out)?;
    }
    if let Some(next) = diagnosis.next_test(&available) {
        out.line(&format!("Next: {} ({}).", proposal_words(&next, &diagnosis.space().moves), why_words(next.why)))?;
    }
    Ok(())
}

/// Names what is disbelieved; true when that is more than slips explain.
fn doubts(diagnosis: &Diagnosis, out: &mut Out) -> Result<bool, Failure> {
    for doubt in diagnosis.doubtful().into_iter().filter(|doubt| !doubt.overruled) {
        let all = diagnosis.evidence().all();
        let Some(place) = all.iter().position(|kept| kept.id == doubt.id) else { continue };
        let test = test_words(all[place].said.test(), &diagnosis.space().moves);
        out.line(&format!("Doubtful: observation {} ({test}); it does not fit the others. Repeat it.", place + 1))?;
    }
    let outside = diagnosis.outside_the_model().is_some();
    if outside {
        out.line(
            "Outside the model: more answers contradict each other than slips explain. Repeat the doubtful one first.",
        )?;
    }
    Ok(outside)
}

fn ranking(diagnosis: &Diagnosis, out: &mut Out) -> Result<(), Failure> {
    out.line("What fits, likeliest first:")?;
    classes(diagnosis, class_words, out)
}

/// The likeliest classes with their shares, then what is left together.
fn classes(diagnosis: &Diagnosis, words: fn(&Class, &Moves) -> String, out: &mut Out) -> Result<(), Failure> {
    let moves = &diagnosis.space().moves;
    let ranked = diagnosis.ranked();
    let shown = ranked.iter().take(SHOWN).filter(|class| class.probability >= 0.001);
    let mut rows: Vec<(f64, String)> = shown.map(|one| (one.probability, words(one, moves))).collect();
    let rest = 1.0 - rows.iter().map(|(probability, _)| probability).sum::<f64>();
    if rest >= 0.001 {
        rows.push((rest, "everything else together".to_owned()));
    }
    let shares = shares::words(&rows.iter().map(|(probability, _)| *probability).collect::<Vec<f64>>());
    for (share, (_, words)) in shares.iter().zip(&rows) {
        out.line(&format!("  {share:>9}  {words}"))?;
    }
    Ok(())
}

fn repair(diagnosis: &Diagnosis, out: &mut Out) -> Result<(), Failure> {
    let Some(class) = diagnosis.ranked().into_iter().next() else { return Ok(()) };
    let repair = diagnosis.repair(&class);
    let split = repair.split.as_ref().map(|split| proposal_words(split, &diagnosis.space().moves)).unwrap_or_default();
    let rows = [
        ("Wrong", &repair.wrong),
        ("First", &repair.first),
        ("Change", &repair.change),
        ("But", &repair.warning),
        ("Proof", &repair.proof),
        ("Then", &repair.next),
        ("To tell its look-alikes apart", &split),
    ];
    for (word, text) in rows.iter().filter(|(_, text)| !text.is_empty()) {
        out.line(&format!("{word}: {text}"))?;
    }
    Ok(())
}
