//! `diagnose` on a value-change dump: what the drive board's pins and the probes at the wheels were told in each move.
//!
//! Both ends are diagnosed apart, by their directions. So what is wrong has a place: the drive board's program, where its
//! own pins are wrong, or the loom, where only the far end is. Duties and stops that part are told by the findings.

use std::sync::Arc;

use serde_json::{Value as Json, json};
use wheeltap_parsers::Place as Pins;

use super::pins_seen::PinsSeen;
use super::{Options, classes, outcome};
use crate::diagnosis::Diagnosis;
use crate::diagnosis::class::Class;
use crate::diagnosis::fault::Fault;
use crate::diagnosis::finish::ACCEPTED;
use crate::diagnosis::hypothesis::Hypothesis;
use crate::diagnosis::model::Model;
use crate::diagnosis::move_table::Moves;
use crate::diagnosis::repair::at_pins::{self, Place};
use crate::diagnosis::test::Available;
use crate::diagnosis::words::likely_words;
use crate::engine::Engine;
use crate::findings::{Finding, Severity};
use crate::report::diagnosis::state;
use crate::rover::file::RoverFile;
use crate::rover::wheels::Wheel;
use crate::run::headless::Out;
use crate::run::{Failure, Outcome, damaged_lines, signals_choice, tell};
use crate::source::Source;

/// What the levels of the half bridges' inputs can tell: each wheel's way, in each move.
const AT_PINS: Available = Available { stand: true, low_duty: true, high_duty: true, ..Available::NONE };

/// The two ends of the loom, the near one first.
const NAMES: [&str; 2] = ["the drive board's pins", "the wheels' inputs"];

/// Findings of a drive board that does not carry out each order as it comes.
const LATE: [&str; 2] = ["answer-growing", "refused-intact"];

/// The finding on a clock that no receiver bears.
const CLOCK: &str = "clock-beyond";

/// The most findings told.
const MOST_TOLD: usize = 8;

/// One end of the loom.
struct End {
    name: &'static str,
    seen: PinsSeen,
    diagnosis: Diagnosis,
    /// What fits, likeliest first.
    ranked: Vec<Class>,
}

impl End {
    fn best(&self) -> Option<Hypothesis> {
        self.ranked.first().and_then(|class| class.members.first()).map(|member| member.hypothesis)
    }

    fn is_sound(&self) -> bool {
        self.best().is_none_or(|best| best.faults() == 0)
    }

    /// What is to be changed first is all but certain, whatever else may be wrong that the moves recorded do not show.
    fn is_settled(&self) -> bool {
        let first = |class: &Class| class.members.first().and_then(|one| Fault::of(&one.hypothesis).first().copied());
        let best = self.ranked.first().and_then(first);
        let same = self.ranked.iter().filter(|class| first(class) == best);
        same.map(|class| class.probability).sum::<f64>() >= ACCEPTED
    }

    fn json(&self) -> Json {
        let best = self.ranked.first();
        json!({
            "told": best.map(|class| class_words(class, &self.diagnosis.space().moves)),
            "probability": best.map(|class| class.probability),
            "follows": self.seen.contradiction(&self.diagnosis.space().moves).is_none(),
        })
    }
}

/// What a dump tells.
struct AtPins {
    /// The nearest end that was recorded.
    near: End,
    /// The far end, where both were.
    far: Option<End>,
    open: Vec<&'static str>,
    /// Why no way of turning is ranked: the pins do not follow the orders alone.
    contradiction: Option<String>,
    /// Partings of the pins from what is meant, or from each other.
    parted: Vec<Finding>,
    /// Other dangers and faults: no way of turning, but wrong all the same.
    others: usize,
    rover: Arc<RoverFile>,
}

/// Reads the dump and says what is wrong.
pub(super) fn run(file: &str, options: &Options) -> Result<Outcome, Failure> {
    let (told, whole) = read(file, options)?;
    let mut out = Out::stdout();
    if options.json {
        out.json(&told.json().to_string())?;
    } else {
        told.words(&mut out)?;
    }
    out.flush()?;
    whole?;
    Ok(told.outcome())
}

/// What the dump tells, and whether it was whole.
fn read(file: &str, options: &Options) -> Result<(AtPins, Result<(), Failure>), Failure> {
    let (mut source, rover) = signals_choice::open(file, &options.signals, options.rover.as_deref())?;
    let needs =
        || Failure::usage(format!("{file}: which moves the pins belong to needs a rover file: --rover FILE or NAME"));
    let rover = rover.ok_or_else(needs)?;
    let mut start =
        Diagnosis::new(Model::at_pins(&rover.guesses, &rover.machine), &rover.machine, &rover.meaning.moves);
    start.allow(AT_PINS);
    let moves = start.space().moves.clone();
    let mut engine = Engine::new(source.link().clone(), Some(rover.clone()));
    let mut seen = Pins::BOTH.map(PinsSeen::at);
    while let Some(input) = source.next()? {
        for event in engine.push(input) {
            for seen in &mut seen {
                seen.take(event, &moves);
            }
        }
    }
    damaged_lines::named(file, &source);
    let whole = damaged_lines::whole_dump(&source);
    for event in engine.finish() {
        for seen in &mut seen {
            seen.take(event, &moves);
        }
    }
    for seen in &mut seen {
        seen.ends(engine.now(), &moves);
    }
    for one in seen.iter().rev().find(|seen| seen.any()).map(PinsSeen::both_ways).unwrap_or_default() {
        tell(&one);
    }
    let open = seen.iter().rev().find(|seen| seen.probed()).map(|seen| seen.open().map(Wheel::name).collect());
    let mut ends = Vec::new();
    for (name, seen) in NAMES.into_iter().zip(seen).filter(|(_, seen)| seen.any()) {
        let mut diagnosis = start.afresh();
        for one in seen.observations() {
            diagnosis.observe(one).map_err(|fault| Failure::usage(format!("{file}: {fault}")))?;
        }
        let ranked = diagnosis.ranked();
        ends.push(End { name, seen, diagnosis, ranked });
    }
    let mut ends = ends.into_iter();
    let near = ends.next().ok_or_else(|| {
        Failure::usage(format!(
            "{file}: no move of this rover stands in it for 60 ms with a wheel's pins told one way beside it. Record the wire and the \
             inputs of the wheels' half bridges together, and name them with --wire and --pins."
        ))
    })?;
    let far = ends.next();
    tell("Seen were the pins, not the wheels: motors, their leads behind the probes, and rollers are not judged.");
    let findings = engine.findings();
    let late = findings.iter().find(|finding| LATE.contains(&finding.id)).map(|finding| format!("{}.", finding.says));
    let apart = std::iter::once(&near).chain(&far).find_map(|end| end.seen.contradiction(&moves));
    let contradiction = apart.or(late);
    let of_pins = |finding: &Finding| {
        (finding.id.starts_with("pins-") || finding.id == CLOCK) && finding.severity <= Severity::Fault
    };
    let (parted, others): (Vec<Finding>, Vec<Finding>) = findings.into_iter().partition(of_pins);
    let others = others.iter().filter(|finding| finding.severity <= Severity::Fault).count();
    let open = open.unwrap_or_default();
    Ok((AtPins { near, far, open, contradiction, parted, others, rover }, whole))
}

impl AtPins {
    /// The end whose diagnosis is told, and where what is wrong sits: the drive board's own pins first, for what is
    /// wrong there is wrong at the far end too.
    fn told(&self) -> (&End, Place) {
        match &self.far {
            Some(far) if self.near.is_sound() => (far, Place::Loom),
            _ if self.near.seen.place() == Pins::Chip => (&self.near, Place::Firmware),
            _ => (&self.near, Place::NotToldApart),
        }
    }

    fn ends(&self) -> impl Iterator<Item = &End> {
        std::iter::once(&self.near).chain(&self.far)
    }

    fn outcome(&self) -> Outcome {
        let (end, _) = self.told();
        let sound = self.open.is_empty() && self.contradiction.is_none() && self.parted.is_empty();
        if sound { outcome(&end.diagnosis) } else { Outcome::FaultsFound }
    }

    /// The place to look, where something is wrong and the pins follow the orders.
    fn place(&self) -> Option<Place> {
        let (end, place) = self.told();
        let best = end.best().filter(|best| best.faults() > 0 && self.contradiction.is_none())?;
        Some(Place::of(&best, place))
    }

    fn json(&self) -> Json {
        let (end, _) = self.told();
        let mut whole = state(&end.diagnosis, &AT_PINS);
        let moves = &end.diagnosis.space().moves;
        whole["next"] = Json::Null;
        whole["diagnosed"] = (self.contradiction.is_none() && end.is_settled()).into();
        whole["open_inputs"] = self.open.clone().into();
        whole["repair"] = match (self.place(), end.best()) {
            (Some(place), Some(best)) => json!({
                "wrong": at_pins::words(&best, moves),
                "first": place.first(),
                "change": self.change(&best, place, moves),
                "warning": warning(place),
                "proof": place.proof(),
                "next": "",
                "instead": [],
                "split": null,
            }),
            _ => Json::Null,
        };
        whole["at_pins"] = json!({
            "place": self.place().map(Place::id),
            "chip": self.end_json(Pins::Chip),
            "far": self.end_json(Pins::Wheel),
            "contradiction": self.contradiction,
            "parted": self.parted.iter().map(|one| one.says.clone()).collect::<Vec<_>>(),
        });
        whole
    }

    /// Where to look, in words.
    fn place_words(&self, place: Place) -> &'static str {
        let clock = place == Place::Wire && self.parted.iter().any(|finding| finding.id == CLOCK);
        if clock { "the command board: its clock." } else { place.says() }
    }

    /// The one change; a clock that no receiver bears comes before the wire.
    fn change(&self, best: &Hypothesis, place: Place, moves: &Moves) -> String {
        let clock = self.parted.iter().find(|finding| finding.id == CLOCK && place == Place::Wire);
        clock.map_or_else(
            || at_pins::change(best, place, &self.rover.machine, moves),
            |finding| format!("{}. {}", finding.says, finding.what_to_do),
        )
    }

    fn end_json(&self, place: Pins) -> Json {
        self.ends().find(|end| end.seen.place() == place).map_or(Json::Null, End::json)
    }

    fn words(&self, out: &mut Out) -> Result<(), Failure> {
        for name in &self.open {
            out.line(&format!("Wrong, as seen: an input of {name} is open. {OPEN}"))?;
        }
        if let Some(why) = &self.contradiction {
            out.line(&format!("The pins do not follow the orders alone: {why} {DECODE}"))?;
        } else {
            for end in self.ends() {
                out.line(&format!("Directions at {}, likeliest first:", end.name))?;
                classes(&end.diagnosis, class_words, out)?;
            }
            self.repair(out)?;
        }
        self.partings(out)
    }

    fn repair(&self, out: &mut Out) -> Result<(), Failure> {
        let (end, _) = self.told();
        let (Some(place), Some(best)) = (self.place(), end.best()) else { return Ok(()) };
        let moves = &end.diagnosis.space().moves;
        if !end.is_settled() {
            let alike = end.ranked.get(1).is_some_and(|second| second.probability >= ALIKE);
            out.line(&format!("Look in {} {}", place.says(), if alike { FOLLOW } else { MORE }))?;
            out.line(&format!("First: {}", place.first()))?;
            out.line(&format!("Proof: {}", place.proof()))?;
            return Ok(());
        }
        let rows = [
            ("Wrong", at_pins::words(&best, moves)),
            ("In", self.place_words(place).to_owned()),
            ("First", place.first().to_owned()),
            ("Change", self.change(&best, place, moves)),
            ("But", warning(place).to_owned()),
            ("Proof", place.proof().to_owned()),
        ];
        for (word, text) in rows.into_iter().filter(|(_, text)| !text.is_empty()) {
            out.line(&format!("{word}: {text}"))?;
        }
        Ok(())
    }

    /// What the findings say of these pins: duties and stops too, which no way of turning shows.
    fn partings(&self, out: &mut Out) -> Result<(), Failure> {
        if self.others > 0 {
            let findings = if self.others == 1 { "one finding" } else { "findings" };
            out.line(&format!(
                "Not about which way a wheel is driven: `decode` has {findings} besides ({}).",
                self.others
            ))?;
        }
        if self.parted.is_empty() {
            return Ok(());
        }
        out.line("Where pins part from what is meant, or from each other (`decode` tells it all):")?;
        for finding in self.parted.iter().take(MOST_TOLD) {
            out.line(&format!("  {}: {}", finding.severity.id().to_uppercase(), finding.says))?;
        }
        let more = self.parted.len().saturating_sub(MOST_TOLD);
        if more > 0 {
            out.line(&format!("  and {more} more"))?;
        }
        Ok(())
    }
}

/// What not to do as well.
const fn warning(place: Place) -> &'static str {
    match place {
        Place::Wire => "",
        Place::Firmware | Place::Loom | Place::NotToldApart => {
            "One change only, program or loom: what is turned in both is right by chance, and wrong after the next change."
        }
    }
}

const OPEN: &str = "What its driver makes of that nobody can say, so it counts as not looked at. Unplug the pack and mend that \
                    lead first.";
const DECODE: &str = "Orders come late, are refused, or are lost behind the tap: `decode` shows when and which.";
/// From this probability on a second class is as good as the first.
const ALIKE: f64 = 0.3;
const FOLLOW: &str =
    "Two fit alike, and directions do not tell them apart: look at both, and put right the one that is wrong.";
const MORE: &str = "Record more moves to tell which: forward, left, turn left, and back.";

/// The likely members of a class, each once.
fn class_words(class: &Class, moves: &Moves) -> String {
    likely_words(class, |hypothesis| at_pins::words(hypothesis, moves)).join(", or ")
}
