//! From the terminal's key events to the key table. The only file that knows the terminal library's keys.

use crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

use super::Console;
use super::key_table::{Key, Place, find};
use super::page::Page;
use super::status::Status;
use super::wish::Wish;
use crate::engine::snapshot::Snapshot;

impl Console {
    /// Takes one key; returns what only the loop can do.
    pub fn key(&mut self, event: KeyEvent, snapshot: &Snapshot, status: &Status) -> Option<Wish> {
        if event.kind == KeyEventKind::Release {
            return None;
        }
        self.press(translate(event)?, snapshot, status)
    }

    /// Does what the key table says of `key`, here and now.
    pub(super) fn press(&mut self, key: Key, snapshot: &Snapshot, status: &Status) -> Option<Wish> {
        if let Some(binding) = find(key, self.places(status)) {
            return self.act(binding.action, snapshot, status);
        }
        self.typed(key);
        None
    }

    /// Where keys work now, first come first.
    pub(super) fn places(&self, status: &Status) -> &'static [Place] {
        if self.page == Page::Teach && self.entry.is_none() {
            return &[Place::Teach];
        }
        if self.page == Page::Check && self.entry.is_none() {
            return if status.replay.is_some() {
                &[Place::Check, Place::Replay, Place::Everywhere]
            } else {
                &[Place::Check, Place::Everywhere]
            };
        }
        match (self.entry.is_some(), self.page.moves(), &status.replay) {
            (true, ..) => &[Place::NoteEntry],
            (_, true, Some(_)) => &[Place::Replay, Place::Lists, Place::Everywhere],
            (_, true, None) => &[Place::Lists, Place::Everywhere],
            (_, false, Some(_)) => &[Place::Replay, Place::Everywhere],
            (_, false, None) => &[Place::Everywhere],
        }
    }
}

fn translate(event: KeyEvent) -> Option<Key> {
    let shift = event.modifiers.contains(KeyModifiers::SHIFT);
    match (event.code, shift) {
        (KeyCode::Char(c), _) => character(c, event.modifiers),
        (KeyCode::Up, _) => Some(Key::Up),
        (KeyCode::Down, _) => Some(Key::Down),
        (KeyCode::Left, false) => Some(Key::Left),
        (KeyCode::Left, true) => Some(Key::ShiftLeft),
        (KeyCode::Right, false) => Some(Key::Right),
        (KeyCode::Right, true) => Some(Key::ShiftRight),
        (KeyCode::PageUp, _) => Some(Key::PageUp),
        (KeyCode::PageDown, _) => Some(Key::PageDown),
        (KeyCode::Home, _) => Some(Key::Home),
        (KeyCode::End, _) => Some(Key::End),
        (KeyCode::Enter, _) => Some(Key::Enter),
        (KeyCode::Esc, _) => Some(Key::Esc),
        (KeyCode::Backspace, _) => Some(Key::Backspace),
        _ => None,
    }
}

/// Control with alt is how some keyboards type brackets; control alone is a command, alt alone is nothing of ours.
fn character(c: char, modifiers: KeyModifiers) -> Option<Key> {
    let control = modifiers.contains(KeyModifiers::CONTROL);
    match (control, modifiers.contains(KeyModifiers::ALT)) {
        (true, false) => Some(Key::Ctrl(c.to_ascii_lowercase())),
        (false, true) => None,
        _ => Some(Key::Char(c)),
    }
}

#[cfg(test)]
mod tests {
    use super::super::sample;
    use super::*;

    fn press(console: &mut Console, code: KeyCode, status: &Status) -> Option<Wish> {
        console.key(KeyEvent::new(code, KeyModifiers::NONE), &sample::strafe(), status)
    }

    #[test]
    fn a_letter_shows_its_page_and_escape_comes_back() {
        let (mut console, status) = (Console::default(), Status::default());
        assert_eq!(press(&mut console, KeyCode::Char('f'), &status), None);
        assert_eq!(console.page(), Page::Findings);
        assert_eq!(press(&mut console, KeyCode::Esc, &status), None);
        assert_eq!(console.page(), Page::Overview);
    }

    #[test]
    fn replay_keys_work_in_a_replay_only() {
        let mut console = Console::default();
        let replayed = sample::replaying();
        let live = Status::default();
        let right = KeyEvent::new(KeyCode::Right, KeyModifiers::SHIFT);
        let wish = console.key(right, &sample::strafe(), &replayed);
        assert_eq!(wish, Some(Wish::SeekBy(10_000_000_000)));
        assert_eq!(console.key(right, &sample::strafe(), &live), None);
        let halt = press(&mut console, KeyCode::Char('h'), &replayed);
        assert_eq!(halt, Some(Wish::RunOrStand));
    }

    #[test]
    fn a_note_takes_letters_that_are_keys_elsewhere() {
        let (mut console, status) = (Console::default(), Status::default());
        for c in "nquick".chars() {
            assert_eq!(press(&mut console, KeyCode::Char(c), &status), None);
        }
        press(&mut console, KeyCode::Backspace, &status);
        let wish = press(&mut console, KeyCode::Enter, &status);
        assert_eq!(wish, Some(Wish::Note("quic".to_owned())));
        press(&mut console, KeyCode::Char('n'), &status);
        press(&mut console, KeyCode::Char('x'), &status);
        assert_eq!(press(&mut console, KeyCode::Esc, &status), None);
        assert_eq!(press(&mut console, KeyCode::Char('q'), &status), Some(Wish::Quit));
    }

    #[test]
    fn quitting_asks_only_while_the_recording_is_in_trouble() {
        let mut console = Console::default();
        let trouble = sample::recorder_trouble();
        assert_eq!(press(&mut console, KeyCode::Char('q'), &trouble), None);
        assert_eq!(press(&mut console, KeyCode::Char('q'), &trouble), Some(Wish::Quit));
        let control_c = KeyEvent::new(KeyCode::Char('c'), KeyModifiers::CONTROL);
        let wish = Console::default().key(control_c, &sample::strafe(), &trouble);
        assert_eq!(wish, Some(Wish::Quit));
    }

    #[test]
    fn another_key_takes_the_question_back() {
        let mut console = Console::default();
        let trouble = sample::recorder_trouble();
        press(&mut console, KeyCode::Char('q'), &trouble);
        press(&mut console, KeyCode::Char('o'), &trouble);
        assert_eq!(press(&mut console, KeyCode::Char('q'), &trouble), None);
    }

    #[test]
    fn a_release_does_nothing() {
        let mut event = KeyEvent::new(KeyCode::Char('q'), KeyModifiers::NONE);
        event.kind = KeyEventKind::Release;
        let wish = Console::default().key(event, &sample::strafe(), &Status::default());
        assert_eq!(wish, None);
    }
}
