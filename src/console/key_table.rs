//! The key table: which key does what, where. The help and the hints on screen are made from it.

use super::page::Page;

/// A key of the keyboard, as far as the console uses it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Key {
    /// A key that types a character.
    Char(char),
    /// A character with the control key held.
    Ctrl(char),
    /// Arrow up.
    Up,
    /// Arrow down.
    Down,
    /// Arrow to the left.
    Left,
    /// Arrow to the right.
    Right,
    /// Arrow to the left with shift held.
    ShiftLeft,
    /// Arrow to the right with shift held.
    ShiftRight,
    /// Page up.
    PageUp,
    /// Page down.
    PageDown,
    /// Home.
    Home,
    /// End.
    End,
    /// Enter.
    Enter,
    /// Escape.
    Esc,
    /// Backspace.
    Backspace,
}

impl Key {
    /// Its name on screen.
    pub fn name(self) -> String {
        match self {
            Self::Char(' ') => "space".to_owned(),
            Self::Char(c) => c.to_string(),
            Self::Ctrl(c) => format!("Ctrl-{}", c.to_ascii_uppercase()),
            Self::Up => "up".to_owned(),
            Self::Down => "down".to_owned(),
            Self::Left => "left".to_owned(),
            Self::Right => "right".to_owned(),
            Self::ShiftLeft => "shift-left".to_owned(),
            Self::ShiftRight => "shift-right".to_owned(),
            Self::PageUp => "PageUp".to_owned(),
            Self::PageDown => "PageDown".to_owned(),
            Self::Home => "Home".to_owned(),
            Self::End => "End".to_owned(),
            Self::Enter => "Enter".to_owned(),
            Self::Esc => "Esc".to_owned(),
            Self::Backspace => "Backspace".to_owned(),
        }
    }
}

/// What a key does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Action {
    /// Show a page.
    Show(Page),
    /// Begin a remark.
    BeginNote,
    /// Keep the remark.
    KeepNote,
    /// Drop the remark.
    DropNote,
    /// Take back the last character of the remark.
    RubOut,
    /// Tapped together with a button of the panel.
    Tap,
    /// End the program.
    Quit,
    /// End the program without a question.
    QuitNow,
    /// One row up in a list or text.
    Up,
    /// One row down.
    Down,
    /// One page up.
    PageUp,
    /// One page down.
    PageDown,
    /// To the first row.
    First,
    /// To the last row; a list follows the newest again.
    Last,
    /// Run or stand still.
    RunOrStand,
    /// One record on.
    StepOn,
    /// One record back.
    StepBack,
    /// One speed faster.
    Faster,
    /// One speed slower.
    Slower,
    /// Go by this many seconds, back when negative.
    SeekBy(i8),
    /// To the beginning of the session.
    ToStart,
    /// To the end of the session.
    ToEnd,
    /// To the time of the row at the cursor.
    GoToRow,
    /// Another sort of place to go to.
    OtherSort,
    /// To the next place of the chosen sort.
    NextPlace,
    /// To the place before.
    PreviousPlace,
    /// Round between two notes.
    Round,
    /// A part of an answer in the wheel check.
    Answer(char),
    /// Everything is made ready for the wheel check.
    Ready,
    /// The last answer is taken back.
    TakeBack,
    /// The test proposed cannot be made.
    SkipTest,
    /// The answer that does not fit in the wheel check is doubted.
    DoubtAnswer,
    /// What was left out in the wheel check is asked again.
    BringBack,
    /// What was proposed is exchanged, or put back.
    Exchange,
    /// The one change is made.
    PutRight,
    /// The driver's turn correction is taken as an observation.
    TakeTurn,
    /// The wheel sheet, or the question again.
    SheetView,
    /// The answer typed at the teach page is given.
    GiveAnswer,
    /// The last character of it is taken back.
    RubOutAnswer,
}

/// Where a key works.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Place {
    /// On every page.
    Everywhere,
    /// On pages with a list or a long text.
    Lists,
    /// In the wheel check.
    Check,
    /// While a session is replayed.
    Replay,
    /// At the teach page, where letters are typed; no other key works there, except that Ctrl-C still ends the program.
    Teach,
    /// While a remark is typed; no other key works then, except that Ctrl-C still ends the program.
    NoteEntry,
}

impl Place {
    /// All, in the order of the help.
    pub const ALL: [Self; 6] = [Self::Everywhere, Self::Lists, Self::Check, Self::Teach, Self::Replay, Self::NoteEntry];

    /// In words, for the help.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Everywhere => "everywhere",
            Self::Lists => "in lists and long texts",
            Self::Check => "in the wheel check",
            Self::Teach => "at the teach page",
            Self::Replay => "in a replay",
            Self::NoteEntry => "while you write a note",
        }
    }
}

/// One row of the key table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct KeyBinding {
    /// The key.
    pub key: Key,
    /// What it does.
    pub action: Action,
    /// The same in one or two words, for the hints at the bottom; neighbours with the same words share one hint. Empty for
    /// keys that need no hint.
    pub short: &'static str,
    /// The same in a sentence, for the help.
    pub says: &'static str,
    /// Where it works.
    pub place: Place,
}

const fn bind(place: Place, key: Key, action: Action, short: &'static str, says: &'static str) -> KeyBinding {
    KeyBinding { key, action, short, says, place }
}

use Action as A;
use Key as K;
use Place::{Check, Everywhere, Lists, NoteEntry, Replay, Teach};

/// Every key of the console.
#[rustfmt::skip]
pub const TABLE: &[KeyBinding] = &[
    bind(Everywhere, K::Char('o'), A::Show(Page::Overview), "rover", "the rover and what matters around it"),
    bind(Everywhere, K::Char('w'), A::Show(Page::Wheels), "rover", "each wheel's details, large"),
    bind(Everywhere, K::Char('f'), A::Show(Page::Findings), "findings", "all findings, one of them whole"),
    bind(Everywhere, K::Char('l'), A::Show(Page::Lines), "log", "what stood on the wires, with scroll back"),
    bind(Everywhere, K::Char('m'), A::Show(Page::Times), "log", "measured times on the wires: gaps, answer delays, loads, tries"),
    bind(Everywhere, K::Char('g'), A::Show(Page::Legs), "log", "the moves from press to release"),
    bind(Everywhere, K::Char('k'), A::Show(Page::Check), "check", "the wheel check: which wheel turns the wrong way, and why"),
    bind(Everywhere, K::Char('e'), A::Show(Page::Teach), "teach", "a rover file from pressing buttons"),
    bind(Everywhere, K::Char('a'), A::Show(Page::Leads), "tap", "which lead of the adapter goes where, and how to be sure"),
    bind(Everywhere, K::Char('c'), A::Show(Page::CannotShow), "tap", "what this link cannot show, and what would allow it"),
    bind(Everywhere, K::Char('n'), A::BeginNote, "note", "write a remark, kept at this time"),
    bind(Everywhere, K::Char('?'), A::Show(Page::Help), "help", "the keys, and what is in view"),
    bind(Everywhere, K::Char('q'), A::Quit, "quit", "end; asks again only while the recording is in trouble"),
    bind(Everywhere, K::Ctrl('c'), A::QuitNow, "", "end at once"),
    bind(Lists, K::Up, A::Up, "row", "one row up"),
    bind(Lists, K::Down, A::Down, "row", "one row down"),
    bind(Lists, K::PageUp, A::PageUp, "page", "one page up"),
    bind(Lists, K::PageDown, A::PageDown, "page", "one page down"),
    bind(Lists, K::Char('t'), A::First, "ends", "the first row"),
    bind(Lists, K::Char('b'), A::Last, "ends", "the last row; lines and legs then follow the newest"),
    bind(Lists, K::Char('r'), A::Tap, "time a press", "tap it together with a button of the panel: measures how long a press takes to reach the wire"),
    bind(Lists, K::Esc, A::Show(Page::Overview), "overview", "back to the overview"),
    bind(Check, K::Char('8'), A::Answer('8'), "answer", "wheel: top to the nose; floor: forward"),
    bind(Check, K::Char('2'), A::Answer('2'), "answer", "wheel: top to the tail; floor: backward; rollers: the other way"),
    bind(Check, K::Char('5'), A::Answer('5'), "answer", "wheel: still; floor: nowhere, or did not turn"),
    bind(Check, K::Char('0'), A::Answer('0'), "answer", "wheel: still, but hums"),
    bind(Check, K::Char('1'), A::Answer('1'), "answer", "rollers: as drawn; floor: backward left"),
    bind(Check, K::Char('3'), A::Answer('3'), "answer", "floor: backward right"),
    bind(Check, K::Char('4'), A::Answer('4'), "answer", "floor: left, or nose swung left"),
    bind(Check, K::Char('6'), A::Answer('6'), "answer", "floor: right, or nose swung right"),
    bind(Check, K::Char('7'), A::Answer('7'), "answer", "floor: forward left"),
    bind(Check, K::Char('9'), A::Answer('9'), "answer", "floor: forward right"),
    bind(Check, K::Char('x'), A::Answer('x'), "answer", "not looked"),
    bind(Check, K::Enter, A::Ready, "ready", "everything is made ready, tape on nose and FL"),
    bind(Check, K::Char('u'), A::TakeBack, "undo", "take back the last key, else the last answer, skip, exchange or repair"),
    bind(Check, K::Char('s'), A::SkipTest, "skip", "leave out the test proposed; another one is asked"),
    bind(Check, K::Char('b'), A::BringBack, "skip", "what you left out can be done again, and is asked again"),
    bind(Check, K::Char('t'), A::DoubtAnswer, "doubt", "doubt the answer that does not fit the others; it then counts for less"),
    bind(Check, K::Char('p'), A::PutRight, "put right", "the one change is made: begin a new sheet"),
    bind(Check, K::Char('i'), A::Exchange, "exchanged", "what was proposed is exchanged; or what is exchanged is put back"),
    bind(Check, K::Char('y'), A::TakeTurn, "take turn", "take the driver's mean turn correction as an observation"),
    bind(Check, K::Char('v'), A::SheetView, "sheet", "the wheel sheet, or the question again"),
    bind(Check, K::Up, A::Up, "row", "one row up"),
    bind(Check, K::Down, A::Down, "row", "one row down"),
    bind(Check, K::Esc, A::Show(Page::Overview), "leave", "back to the overview; the sheet stays"),
    bind(Replay, K::Char('h'), A::RunOrStand, "run/stand", "run on, or stand still"),
    bind(Replay, K::Char('('), A::StepBack, "frame", "one frame, or other record, back"),
    bind(Replay, K::Char(')'), A::StepOn, "frame", "one frame, or other record, on"),
    bind(Replay, K::Char('-'), A::Slower, "speed", "one speed slower: a tenth at the slowest"),
    bind(Replay, K::Char('+'), A::Faster, "speed", "one speed faster: as fast as possible at the most"),
    bind(Replay, K::Left, A::SeekBy(-1), "1 s", "1 s back"),
    bind(Replay, K::Right, A::SeekBy(1), "1 s", "1 s on"),
    bind(Replay, K::ShiftLeft, A::SeekBy(-10), "10 s", "10 s back"),
    bind(Replay, K::ShiftRight, A::SeekBy(10), "10 s", "10 s on"),
    bind(Replay, K::Home, A::ToStart, "ends", "the beginning of the session"),
    bind(Replay, K::End, A::ToEnd, "ends", "the end of the session"),
    bind(Replay, K::Char(';'), A::OtherSort, "sort", "which sort of place to go to: finding, damage, note, silence, leg"),
    bind(Replay, K::Char('['), A::PreviousPlace, "place", "the place of that sort before"),
    bind(Replay, K::Char(']'), A::NextPlace, "place", "the next place of that sort"),
    bind(Replay, K::Char('z'), A::GoToRow, "to row", "go to the time of the row at the cursor: of the session, a line, a leg, a finding"),
    bind(Replay, K::Char('j'), A::Round, "round", "round between the note before and the note after; again to end that"),
    bind(Replay, K::Char('d'), A::Show(Page::Session), "session", "the whole session on one page"),
    bind(Teach, K::Enter, A::GiveAnswer, "done, or give the answer typed", "the step is done; or, where something is typed, give it"),
    bind(Teach, K::Backspace, A::RubOutAnswer, "rub out", "take back the last character"),
    bind(Teach, K::Esc, A::Show(Page::Overview), "leave the page", "to the overview; the lesson waits"),
    bind(Teach, K::Ctrl('c'), A::QuitNow, "", "end at once"),
    bind(NoteEntry, K::Enter, A::KeepNote, "keep", "keep the note"),
    bind(NoteEntry, K::Esc, A::DropNote, "drop", "drop the note"),
    bind(NoteEntry, K::Backspace, A::RubOut, "rub out", "take back the last character"),
    bind(NoteEntry, K::Ctrl('c'), A::QuitNow, "", "drop the note and end at once"),
];

/// The binding of `key` in the first of `places` that has one.
pub fn find(key: Key, places: &[Place]) -> Option<&'static KeyBinding> {
    let within = |place: &Place| TABLE.iter().find(|b| b.key == key && b.place == *place);
    places.iter().find_map(within)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

    /// Every action there is. The match makes the compiler ask for a new one here; the count makes the list complete.
    fn all_actions() -> Vec<Action> {
        let mut all: Vec<Action> = Page::ALL.map(Action::Show).into();
        all.extend([-10, -1, 1, 10].map(Action::SeekBy));
        all.extend("0123456789x".chars().map(Action::Answer));
        let mut next = Some(A::BeginNote);
        while let Some(action) = next {
            all.push(action);
            next = match action {
                A::Show(_) | A::SeekBy(_) | A::Answer(_) | A::RubOutAnswer => None,
                A::Round => Some(A::Ready),
                A::Ready => Some(A::TakeBack),
                A::TakeBack => Some(A::SkipTest),
                A::SkipTest => Some(A::BringBack),
                A::BringBack => Some(A::DoubtAnswer),
                A::DoubtAnswer => Some(A::Exchange),
                A::Exchange => Some(A::PutRight),
                A::PutRight => Some(A::TakeTurn),
                A::TakeTurn => Some(A::SheetView),
                A::SheetView => Some(A::GiveAnswer),
                A::GiveAnswer => Some(A::RubOutAnswer),
                A::BeginNote => Some(A::Tap),
                A::Tap => Some(A::KeepNote),
                A::KeepNote => Some(A::DropNote),
                A::DropNote => Some(A::RubOut),
                A::RubOut => Some(A::Quit),
                A::Quit => Some(A::QuitNow),
                A::QuitNow => Some(A::Up),
                A::Up => Some(A::Down),
                A::Down => Some(A::PageUp),
                A::PageUp => Some(A::PageDown),
                A::PageDown => Some(A::First),
                A::First => Some(A::Last),
                A::Last => Some(A::RunOrStand),
                A::RunOrStand => Some(A::StepOn),
                A::StepOn => Some(A::StepBack),
                A::StepBack => Some(A::Faster),
                A::Faster => Some(A::Slower),
                A::Slower => Some(A::ToStart),
                A::ToStart => Some(A::ToEnd),
                A::ToEnd => Some(A::GoToRow),
                A::GoToRow => Some(A::OtherSort),
                A::OtherSort => Some(A::NextPlace),
                A::NextPlace => Some(A::PreviousPlace),
                A::PreviousPlace => Some(A::Round),
            };
        }
        all
    }

    #[test]
    fn every_action_has_a_key() {
        for action in all_actions() {
            assert!(TABLE.iter().any(|b| b.action == action), "{action:?}");
        }
    }

    #[test]
    fn no_two_actions_share_a_key_where_both_work() {
        // Everywhere and replay go with lists or with the wheel check; a note shuts the others out.
        for together in [&[Everywhere, Replay, Lists][..], &[Everywhere, Replay, Check], &[Teach], &[NoteEntry]] {
            let bindings: Vec<_> = TABLE.iter().filter(|b| together.contains(&b.place)).collect();
            let keys: HashSet<Key> = bindings.iter().map(|b| b.key).collect();
            assert_eq!(keys.len(), bindings.len());
        }
    }
}
