//! The pass: the whole file read once behind the screen, for findings, places to go to, and copies of the engine.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::{self, JoinHandle};
use std::time::{Duration, Instant};

use wheeltap_parsers::{Nanos, Wire};

use super::reading::{Reading, Script};
use super::reread;
use crate::engine::Engine;
use crate::engine::event::{Event, Happening};
use crate::engine::snapshot::survey::{SILENCE, SLICES, Sort, Survey, sort_of};
use crate::rover::file::RoverFile;
use crate::rover::wheels::Wheel;
use crate::run::{Failure, damaged_lines};
use crate::session::WholeCheck;

/// The most copies of the engine kept; beyond it every other one goes and the distance doubles.
const COPIES: usize = 24;
/// First distance of copies, nanoseconds.
const FIRST_DISTANCE: Nanos = 5_000_000_000;
/// The most places of one sort that are kept.
const PLACES: usize = 100_000;
/// How often the others are told.
const TELL: Duration = Duration::from_millis(50);
/// Findings are made into words no more often than this.
const WORDS: Duration = Duration::from_millis(250);

/// What the pass has found so far.
#[derive(Default)]
pub(super) struct Found {
    pub(super) survey: Arc<Survey>,
    /// Places of each sort, ascending, by [`Sort::index`].
    places: [Vec<Nanos>; 5],
    /// Which finding each of its places belongs to, in the order in which they were met.
    named: Vec<(Nanos, &'static str)>,
    copies: Vec<(Nanos, Engine)>,
    /// Notes made at the desk since the file was opened: the pass does not meet them.
    own_notes: Vec<(Nanos, String)>,
    pub(super) trouble: Option<Failure>,
    pub(super) done: bool,
}

/// The pass on its thread. Dropping it ends it.
pub(super) struct Pass {
    found: Arc<Mutex<Found>>,
    end: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl Pass {
    /// Begins to read. With `before`, the rover file inside the session, what another one changes is told in the end.
    pub(super) fn begin(script: Script, span: (Nanos, Nanos), before: Option<Arc<RoverFile>>) -> Result<Self, Failure> {
        let found = Arc::new(Mutex::new(Found::default()));
        let end = Arc::<AtomicBool>::default();
        let mut work = Work::new(script, span, Arc::clone(&found), Arc::clone(&end));
        work.tell(true);
        let thread = thread::Builder::new().name("pass".to_owned()).spawn(move || {
            let ended = work.run().and_then(|()| work.compare(before));
            let mut found = lock(&work.found);
            found.trouble = ended.err();
            found.done = true;
        });
        let thread = thread.map_err(|error| Failure::device(format!("no thread for reading ahead ({error}).")))?;
        Ok(Self { found, end, thread: Some(thread) })
    }

    /// What it has found so far.
    pub(super) fn found(&self) -> MutexGuard<'_, Found> {
        lock(&self.found)
    }
}

impl Drop for Pass {
    fn drop(&mut self) {
        self.end.store(true, Ordering::Relaxed);
        if let Some(thread) = self.thread.take() {
            // A thread that panicked has said so already.
            drop(thread.join());
        }
    }
}

fn lock(found: &Mutex<Found>) -> MutexGuard<'_, Found> {
    found.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Found {
    /// The last copy not after `at`, and its instant.
    pub(super) fn copy_before(&self, at: Nanos) -> Option<(Nanos, Engine)> {
        self.copies.iter().rev().find(|(given, _)| *given <= at).cloned()
    }

    /// The ids of the findings that have a place at `at`, each once.
    pub(super) fn named_at(&self, at: Nanos) -> Vec<&'static str> {
        let mut ids: Vec<&str> = self.named.iter().filter(|(place, _)| *place == at).map(|(_, id)| *id).collect();
        ids.sort_unstable();
        ids.dedup();
        ids
    }

    /// The first place of this sort after `at`.
    pub(super) fn next(&self, sort: Sort, at: Nanos) -> Option<Nanos> {
        let places = &self.places[sort.index()];
        places.get(places.partition_point(|place| *place <= at)).copied()
    }

    /// The last place of this sort before `at`.
    pub(super) fn previous(&self, sort: Sort, at: Nanos) -> Option<Nanos> {
        let places = &self.places[sort.index()];
        places.get(places.partition_point(|place| *place < at).checked_sub(1)?).copied()
    }

    /// A note made now, at the desk.
    pub(super) fn add_note(&mut self, at: Nanos, text: &str) {
        self.own_notes.push((at, text.to_owned()));
        self.with_own_notes();
        let places = &mut self.places[Sort::Note.index()];
        let place = places.partition_point(|other| *other <= at);
        places.insert(place, at);
    }
}

impl Found {
    /// Puts the notes made at the desk into the survey.
    fn with_own_notes(&mut self) {
        let survey = Arc::make_mut(&mut self.survey);
        for (at, text) in &self.own_notes {
            let place = survey.notes.partition_point(|(other, _)| other <= at);
            if survey.notes.get(place.wrapping_sub(1)).is_none_or(|note| note != &(*at, text.clone())) {
                survey.notes.insert(place, (*at, text.clone()));
                survey.count_place(Sort::Note, *at);
            }
        }
    }
}

/// The thread's own state.
struct Work {
    script: Script,
    found: Arc<Mutex<Found>>,
    end: Arc<AtomicBool>,
    survey: Survey,
    fresh: [Vec<Nanos>; 5],
    named: Vec<(Nanos, &'static str)>,
    /// Count of each finding so far.
    counted: Vec<((&'static str, Option<Wheel>), u64)>,
    last_order_wire: Option<Nanos>,
    distance: Nanos,
    next_copy: Nanos,
    told: Option<Instant>,
    worded: Option<Instant>,
}

impl Work {
    fn new(script: Script, span: (Nanos, Nanos), found: Arc<Mutex<Found>>, end: Arc<AtomicBool>) -> Self {
        Self {
            script,
            found,
            end,
            survey: Survey::new(span.0, span.1),
            fresh: Default::default(),
            named: Vec::new(),
            counted: Vec::new(),
            last_order_wire: None,
            distance: FIRST_DISTANCE,
            next_copy: span.0.saturating_add(FIRST_DISTANCE),
            told: None,
            worded: None,
        }
    }

    fn run(&mut self) -> Result<(), Failure> {
        let mut reading = self.script.begin()?;
        if reading.is_session() {
            self.outline()?;
        }
        lock(&self.found).copies.push((Nanos::MIN, reading.engine.clone()));
        let mut count = 0_u32;
        while let Some(events) = reading.one(Nanos::MAX, false)? {
            let finding = self.take(events);
            if finding {
                self.place_of_finding(&reading);
            }
            count = count.wrapping_add(1);
            if count.is_multiple_of(128) {
                if self.end.load(Ordering::Relaxed) {
                    return Ok(());
                }
                self.after(&reading);
            }
        }
        self.survey.findings = reading.engine.findings();
        self.survey.read_to = self.survey.ends;
        self.tell(true);
        Ok(())
    }

    /// Every line checked and every read counted, without looking into the bytes: that is done long before the engine.
    fn outline(&mut self) -> Result<(), Failure> {
        let mut heard = vec![0; SLICES];
        let (mut slice, mut next) = (0, self.survey.begin_of(1));
        let check = WholeCheck::with_reads(&self.script.path, |t_us, bytes| {
            while t_us * 1000 >= next && slice + 1 < SLICES {
                slice += 1;
                next = self.survey.begin_of(slice + 1);
            }
            heard[slice] += bytes;
        })?;
        self.survey.heard = heard;
        self.survey.damaged_lines = damaged_lines::sentences(check.torn(), check.torn_not_listed());
        self.tell(true);
        Ok(())
    }

    /// Takes events in; true when a rule may have counted one of them.
    fn take(&mut self, events: &[Event]) -> bool {
        for event in events {
            self.survey.count_bytes(event);
            self.silence(event);
            if let Some(sort) = sort_of(event) {
                self.place(sort, event.at);
            }
            if let Happening::Note(text) = &event.what {
                let at = self.survey.notes.partition_point(|(at, _)| *at <= event.at);
                self.survey.notes.insert(at, (event.at, text.to_string()));
            }
        }
        self.survey.read_to = events.last().map_or(self.survey.read_to, |event| event.at.max(self.survey.read_to));
        events.iter().any(may_be_found)
    }

    fn silence(&mut self, event: &Event) {
        if event.wire != Some(Wire::ToDrive) || event.len == 0 {
            return;
        }
        if let Some(last) = self.last_order_wire.filter(|last| event.span.lo - last >= SILENCE) {
            self.place(Sort::Silence, last);
        }
        self.last_order_wire = Some(event.at);
    }

    fn place(&mut self, sort: Sort, at: Nanos) {
        self.survey.count_place(sort, at);
        if self.survey.totals[sort.index()] <= PLACES as u64 {
            self.fresh[sort.index()].push(at);
        }
    }

    fn place_of_finding(&mut self, reading: &Reading) {
        if self.survey.totals[Sort::Finding.index()] >= PLACES as u64 {
            return;
        }
        // A rule may count at one event what it dates by an earlier one: its evidence says where.
        for finding in reading.engine.findings() {
            let key = (finding.id, finding.wheel);
            let known = self.counted.iter_mut().find(|(other, _)| *other == key);
            let before = known.as_ref().map_or(0, |(_, count)| *count);
            match known {
                Some((_, count)) => *count = finding.count,
                None => self.counted.push((key, finding.count)),
            }
            if finding.count > before {
                self.place(Sort::Finding, finding.last);
                self.named.push((finding.last, finding.id));
            }
        }
    }

    /// What is done now and then: copies, telling.
    fn after(&mut self, reading: &Reading) {
        if reading.given >= self.next_copy {
            self.keep_copy(reading);
        }
        if self.told.is_some_and(|told| told.elapsed() < TELL) {
            return;
        }
        if self.worded.is_none_or(|worded| worded.elapsed() >= WORDS) {
            self.survey.findings = reading.engine.findings();
            self.worded = Some(Instant::now());
        }
        self.tell(false);
    }

    fn keep_copy(&mut self, reading: &Reading) {
        let mut found = lock(&self.found);
        found.copies.push((reading.given, reading.engine.clone()));
        if found.copies.len() > COPIES {
            let mut index = 0;
            found.copies.retain(|_| {
                index += 1;
                index % 2 == 1
            });
            self.distance *= 2;
        }
        self.next_copy = reading.given + self.distance;
    }

    fn tell(&mut self, sort_all: bool) {
        self.told = Some(Instant::now());
        let mut found = lock(&self.found);
        for sort in Sort::ALL {
            let fresh = &mut self.fresh[sort.index()];
            let places = &mut found.places[sort.index()];
            places.append(fresh);
            // Remarks may speak of earlier times than what was read before them.
            if sort_all || !places.is_sorted() {
                places.sort_unstable();
            }
        }
        found.named.append(&mut self.named);
        found.survey = Arc::new(self.survey.clone());
        found.with_own_notes();
    }

    /// Reads all of it once more with the rover file inside the session, and says what the new one changed.
    fn compare(&mut self, before: Option<Arc<RoverFile>>) -> Result<(), Failure> {
        let Some(before) = before else { return Ok(()) };
        let old = Script { rover: Some(before), ..self.script.clone() };
        let mut reading = old.begin()?;
        let mut count = 0_u32;
        while reading.one(Nanos::MAX, false)?.is_some() {
            count = count.wrapping_add(1);
            if count.is_multiple_of(128) && self.end.load(Ordering::Relaxed) {
                return Ok(());
            }
        }
        self.survey.changes = reread::changes(&reading.engine.findings(), &self.survey.findings);
        self.tell(true);
        Ok(())
    }
}

/// Something that a rule may have counted.
fn may_be_found(event: &Event) -> bool {
    match &event.what {
        Happening::Frame(frame) => frame.flags.iter().next().is_some(),
        Happening::Note(_) => false,
        _ => true,
    }
}
