//! What an action does: to the view, or as a wish to the loop.

use super::Console;
use super::key_table::{Action, Key};
use super::page::Page;
use super::status::Status;
use super::wish::Wish;
use crate::engine::snapshot::Snapshot;
use crate::findings::Finding;
use wheeltap_parsers::Nanos;

/// Longest remark, characters.
pub const LONGEST_NOTE: usize = 200;

impl Console {
    /// Does `action`.
    pub(super) fn act(&mut self, action: Action, snapshot: &Snapshot, status: &Status) -> Option<Wish> {
        let asked = std::mem::take(&mut self.quit_asked);
        match action {
            Action::Quit => return self.quit(asked, status),
            Action::KeepNote => return self.keep_note(),
            Action::GoToRow => return self.row_time(snapshot, status).map(Wish::GoTo),
            Action::Show(page) => {
                self.show(page);
                return (page == Page::Teach).then_some(Wish::Teach);
            }
            Action::GiveAnswer => return Some(Wish::Answer(std::mem::take(&mut self.answer))),
            Action::RubOutAnswer => drop(self.answer.pop()),
            Action::BeginNote => self.entry = Some(String::new()),
            Action::DropNote => self.entry = None,
            Action::RubOut => drop(self.entry.as_mut().and_then(String::pop)),
            Action::Up => self.go(-1, snapshot),
            Action::Down => self.go(1, snapshot),
            Action::PageUp => self.go_page(-1, snapshot),
            Action::PageDown => self.go_page(1, snapshot),
            Action::First => self.go(isize::MIN, snapshot),
            Action::Last => self.go(isize::MAX, snapshot),
            Action::SheetView => {
                self.check.sheet = !self.check.sheet;
                self.scroll.top = 0;
            }
            other => return self.check_act(other, snapshot).or_else(|| wish(other)),
        }
        None
    }

    /// What an action does in the wheel check.
    fn check_act(&mut self, action: Action, snapshot: &Snapshot) -> Option<Wish> {
        if self.page == Page::Check {
            // Something new may stand at the top.
            self.scroll.top = 0;
        }
        match action {
            Action::Answer(key) => self.check_part(key, snapshot),
            Action::Ready => self.check_ready(snapshot),
            Action::TakeBack => self.check_take_back(snapshot),
            Action::SkipTest => self.check_skip(snapshot),
            Action::DoubtAnswer => self.check_doubt(snapshot),
            Action::BringBack => self.check_bring_back(snapshot),
            Action::Exchange => self.check_exchange(snapshot),
            Action::PutRight => self.check_put_right(snapshot),
            Action::TakeTurn => self.check_take_turn(snapshot),
            _ => None,
        }
    }

    /// A key that is in no table: a character of the remark.
    pub(super) fn typed(&mut self, key: Key) {
        self.quit_asked = false;
        let teaching = self.page == Page::Teach;
        let entry = self.entry.as_mut().or(teaching.then_some(&mut self.answer));
        if let (Some(entry), Key::Char(c)) = (entry, key)
            && !c.is_control()
            && entry.chars().count() < LONGEST_NOTE
        {
            entry.push(c);
        }
    }

    fn show(&mut self, page: Page) {
        if page == Page::Help && self.page != Page::Help {
            self.before_help = self.page;
        }
        self.page = page;
        self.scroll.top = 0;
    }

    fn quit(&mut self, asked: bool, status: &Status) -> Option<Wish> {
        let trouble = |r: &super::status::Recorder| r.trouble.is_some() || r.lost > 0;
        if asked || !status.recorder.as_ref().is_some_and(trouble) {
            return Some(Wish::Quit);
        }
        self.quit_asked = true;
        None
    }

    fn keep_note(&mut self) -> Option<Wish> {
        let entry = self.entry.take()?;
        let text = entry.trim();
        (!text.is_empty()).then(|| Wish::Note(text.to_owned()))
    }

    /// One page: of the long text beside the findings or below the rows of a session, else of the list or text itself.
    fn go_page(&mut self, way: isize, snapshot: &Snapshot) {
        let rows = way * self.scroll.page();
        match self.page {
            Page::Findings | Page::Session => self.scroll.by(rows),
            _ => self.go(rows, snapshot),
        }
    }

    /// The time of the row at the cursor; `None` on a page without rows of a time.
    fn row_time(&self, snapshot: &Snapshot, status: &Status) -> Option<Nanos> {
        match self.page {
            Page::Session => {
                let survey = &status.replay.as_ref()?.survey;
                let row = self.session_row.unwrap_or(self.session_here);
                Some(survey.begin_of(self.slices_at(row).start))
            }
            Page::Lines => snapshot.lines.get(self.line_index(snapshot)).map(|line| line.at),
            Page::Legs => snapshot.legs.get(self.leg_index(snapshot)).map(|leg| leg.begins),
            Page::Findings => snapshot.findings.get(self.finding_at(&snapshot.findings)).map(|found| found.first),
            _ => None,
        }
    }

    fn go_row(&mut self, rows: isize) {
        let at = self.session_row.unwrap_or(self.session_here);
        self.session_row = Some(moved(at, rows, self.session_rows));
    }

    fn go(&mut self, rows: isize, snapshot: &Snapshot) {
        match self.page {
            Page::Findings => self.go_finding(rows, &snapshot.findings),
            Page::Lines => self.go_line(rows, snapshot),
            Page::Legs => self.go_leg(rows, snapshot),
            Page::Session => self.go_row(rows),
            _ => self.scroll.by(rows),
        }
    }

    fn go_finding(&mut self, rows: isize, findings: &[Finding]) {
        let at = moved(self.finding_at(findings), rows, findings.len());
        self.finding = findings.get(at).map(|f| (f.id, f.wheel));
        self.scroll.top = 0;
    }

    fn go_line(&mut self, rows: isize, snapshot: &Snapshot) {
        let lines = &snapshot.lines;
        let at = moved(self.line_index(snapshot), rows, lines.len());
        let newest = at + 1 >= lines.len();
        let line = lines.get(at).filter(|_| !newest);
        self.line_at = line.map(|l| (l.at, l.offset));
    }

    fn go_leg(&mut self, rows: isize, snapshot: &Snapshot) {
        let legs = &snapshot.legs;
        let at = moved(self.leg_index(snapshot), rows, legs.len());
        let newest = at + 1 >= legs.len();
        self.leg_at = legs.get(at).filter(|_| !newest).map(|leg| leg.begins);
    }

    /// Place of the finding shown whole; findings come and change places, so it is known by its name.
    pub(super) fn finding_at(&self, findings: &[Finding]) -> usize {
        let chosen = |f: &Finding| self.finding == Some((f.id, f.wheel));
        findings.iter().position(chosen).unwrap_or(0)
    }

    /// Place of the line at the cursor. Lines move up as new ones come and old ones go; it is known by its time and
    /// place on the wire. A line that has gone leaves the cursor on the oldest.
    pub(super) fn line_index(&self, snapshot: &Snapshot) -> usize {
        let newest = snapshot.lines.len().saturating_sub(1);
        let Some((at, offset)) = self.line_at else {
            return newest;
        };
        let same = |l: &crate::engine::snapshot::Line| l.at == at && l.offset == offset;
        let later = || snapshot.lines.iter().position(|l| l.at >= at);
        let found = snapshot.lines.iter().rposition(same).or_else(later);
        found.unwrap_or(newest)
    }

    /// Place of the leg at the cursor.
    pub(super) fn leg_index(&self, snapshot: &Snapshot) -> usize {
        let newest = snapshot.legs.len().saturating_sub(1);
        let later = |at| snapshot.legs.iter().position(|leg| leg.begins >= at);
        self.leg_at.and_then(later).unwrap_or(newest)
    }
}

/// `at` moved by `rows`, kept inside a list of `len`.
fn moved(at: usize, rows: isize, len: usize) -> usize {
    at.saturating_add_signed(rows).min(len.saturating_sub(1))
}

fn wish(action: Action) -> Option<Wish> {
    match action {
        Action::QuitNow => Some(Wish::Quit),
        Action::Tap => Some(Wish::Tapped),
        Action::RunOrStand => Some(Wish::RunOrStand),
        Action::StepOn => Some(Wish::StepOn),
        Action::StepBack => Some(Wish::StepBack),
        Action::Faster => Some(Wish::Faster),
        Action::Slower => Some(Wish::Slower),
        Action::SeekBy(seconds) => Some(Wish::SeekBy(i64::from(seconds) * 1_000_000_000)),
        Action::ToStart => Some(Wish::ToStart),
        Action::ToEnd => Some(Wish::ToEnd),
        Action::OtherSort => Some(Wish::OtherSort),
        Action::NextPlace => Some(Wish::NextPlace),
        Action::PreviousPlace => Some(Wish::PreviousPlace),
        Action::Round => Some(Wish::Round),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::super::sample;
    use super::*;

    #[test]
    fn the_cursor_stays_on_its_line_while_new_ones_come() {
        let mut snapshot = sample::strafe();
        let mut console = Console { page: Page::Lines, ..Console::default() };
        console.act(Action::Up, &snapshot, &Status::default());
        let before = snapshot.lines.get(console.line_index(&snapshot)).cloned();
        let mut newer = snapshot.lines.last().cloned().into_iter();
        snapshot.lines.extend(newer.by_ref().map(|mut line| {
            line.at += 1_000_000;
            line.offset += 9;
            line
        }));
        snapshot.lines.remove(0);
        let after = snapshot.lines.get(console.line_index(&snapshot)).cloned();
        assert!(before.is_some() && before == after);
    }

    #[test]
    fn the_bottom_follows_the_newest() {
        let snapshot = sample::strafe();
        let mut console = Console { page: Page::Lines, ..Console::default() };
        console.act(Action::First, &snapshot, &Status::default());
        assert_eq!(console.line_index(&snapshot), 0);
        console.act(Action::Last, &snapshot, &Status::default());
        assert_eq!(console.line_at, None);
    }

    #[test]
    fn a_note_has_an_end() {
        let mut console = Console { entry: Some(String::new()), ..Console::default() };
        for _ in 0..LONGEST_NOTE + 5 {
            console.typed(Key::Char('x'));
        }
        let length = console.entry.map(|entry| entry.len());
        assert_eq!(length, Some(LONGEST_NOTE));
    }

    #[test]
    fn an_empty_note_is_dropped() {
        let mut console = Console { entry: Some("  ".to_owned()), ..Console::default() };
        let wish = console.act(Action::KeepNote, &sample::strafe(), &Status::default());
        assert_eq!((wish, console.entry), (None, None));
    }
}
