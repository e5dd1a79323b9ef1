//! Places to go to in a replay: events, what a rule found, and round between two notes.

use wheeltap_parsers::Nanos;

use super::{Player, Until};
use crate::engine::snapshot::Snapshot;
use crate::engine::snapshot::survey::Sort;
use crate::findings::Finding;
use crate::run::Failure;

impl Player {
    /// What is to be seen at the place; records that are out but lie after it are left out. At a place of a finding that is
    /// known only later, it stands there too: some need a while before they can be told.
    pub(super) fn snapshot(&self) -> Snapshot {
        let mut snapshot = self.now.engine.snapshot(self.place);
        snapshot.now = self.place;
        snapshot.lines.retain(|line| line.at <= self.place);
        let found = self.pass.found();
        let here = found.named_at(self.place);
        let later = |finding: &&Finding| {
            here.contains(&finding.id)
                && (finding.first..=finding.last).contains(&self.place)
                && !snapshot.findings.iter().any(|known| (known.id, known.wheel) == (finding.id, finding.wheel))
        };
        let later: Vec<Finding> = found.survey.findings.iter().filter(later).cloned().collect();
        snapshot.findings.extend(later);
        snapshot.findings.sort_by_key(|finding| (finding.severity, finding.first));
        snapshot
    }

    /// Goes to where the first event that is not earlier than `at` is out. Where that event lies later, nothing of `at` is
    /// an event, and the place is the instant itself.
    pub(super) fn go_to_event(&mut self, at: Nanos) -> Result<(), Failure> {
        self.enter(at - 1)?;
        self.goal = Some(Until::Event(at));
        self.met = None;
        Ok(())
    }

    pub(super) fn go_to_place(&mut self, on: bool) -> Result<(), Failure> {
        self.playing = false;
        let found = self.pass.found();
        let place = if on { found.next(self.sort, self.place) } else { found.previous(self.sort, self.place) };
        let whole = found.done || found.survey.is_whole();
        let ids = place.filter(|_| self.sort == Sort::Finding).map(|at| found.named_at(at));
        drop(found);
        let word = self.sort.word();
        match place {
            Some(at) => {
                self.message = ids.map(|ids| format!("A place of: {}. f shows what that is.", ids.join(", ")));
                return self.go_to_event(at);
            }
            None if on && !whole => {
                self.message =
                    Some(format!("No {word} up to where the session has been read; it is still being read."));
            }
            None => self.message = Some(format!("No {word} {} this.", if on { "after" } else { "before" })),
        }
        Ok(())
    }

    /// Between the note before and the note after the place, again and again; a second time ends that.
    pub(super) fn go_round(&mut self) {
        if self.round.take().is_some() {
            return;
        }
        let found = self.pass.found();
        let before = found.previous(Sort::Note, self.place.saturating_add(1));
        let after = found.next(Sort::Note, self.place);
        // Standing on the last note, as after writing it: between the one before and this one.
        let last = before.filter(|at| *at == self.place && after.is_none());
        let two = last.and_then(|last| found.previous(Sort::Note, last).zip(Some(last)));
        self.round = before.zip(after).or(two);
        drop(found);
        self.playing = self.round.is_some();
        if self.round.is_none() {
            self.message =
                Some("Going round needs a note before this place and one after it: n writes one.".to_owned());
        }
    }
}
