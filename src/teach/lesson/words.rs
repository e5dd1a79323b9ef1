//! What is known of each step, in words.

use super::super::learned::Rest;
use super::super::printed;
use super::super::step::Step;
use super::Lesson;
use crate::rover::mecanum::{Motion, signs_text};

impl Lesson {
    /// What is known of the step at hand, in words.
    pub(super) fn row(&self, step: Step) -> Vec<String> {
        let says = match step {
            Step::StartUp => printed::words(&self.started).to_owned(),
            Step::Move(motion) => self.move_words(motion),
            Step::Stop => match &self.learned.rest {
                Rest::Code(code) => format!("Stop is `{code}`."),
                _ => "No stop reached this wire. Ask yourself what stops this rover when you let go.".to_owned(),
            },
            Step::Duty => self.duty_words(),
            Step::Other => self.other_words(),
            Step::Name => format!("The rover is called {}.", self.said.rover),
            Step::Wiring => String::new(),
        };
        vec![format!("     ok   {says}")]
    }

    fn move_words(&self, motion: Motion) -> String {
        let Some(press) = self.learned.press(motion).filter(|press| press.says.is_some()) else {
            return format!(
                "Something came for {}, but no word or code in it changed with the button yet.",
                motion.id()
            );
        };
        let says = press.says.as_deref().unwrap_or_default();
        let wheels = format!("FL FR RL RR {}", signs_text(motion.signs()));
        match &self.learned.rest {
            Rest::Stated => format!("The orders mean {says}; wheels should go {wheels}."),
            Rest::Code(rest) if press.rested.is_some() => {
                format!("{} is `{says}`, letting go is `{rest}`; wheels should go {wheels}.", motion.id())
            }
            _ => format!("{} is `{says}`; wheels should go {wheels}.", motion.id()),
        }
    }

    fn duty_words(&self) -> String {
        match self.learned.duty {
            Some(duty) if duty.persists => {
                format!("Duty has lines of its own, {} to {}; it stays for later moves.", duty.low, duty.full)
            }
            Some(duty) => format!("Duty comes with each move, {} to {}.", duty.low, duty.full),
            None => "No number followed the control on this wire: the sender or the drive board decides.".to_owned(),
        }
    }

    fn other_words(&self) -> String {
        let parts = self.learned.kinds.iter().filter(|kind| !kind.order);
        let names: Vec<String> = parts.map(|kind| format!("`{}`", kind.name)).collect();
        if names.is_empty() {
            "Nothing more reached this wire: handled by the sender.".to_owned()
        } else {
            format!("For other parts, no wheel moves: {}.", names.join(", "))
        }
    }

    /// What is learned so far, one row a line.
    pub fn list(&mut self) -> Vec<String> {
        self.work_out();
        let moves = Motion::ALL.into_iter().filter(|motion| *motion != Motion::Rest);
        let row = |motion: Motion| {
            let press = self.learned.press(motion);
            let code = press.and_then(|press| press.says.as_deref()).unwrap_or("-");
            let name = self.said.names.get(&motion).map(|name| format!("  ({name})")).unwrap_or_default();
            format!("          {:<16} {code}{name}", motion.id())
        };
        let rest = match &self.learned.rest {
            Rest::Code(code) => code.as_str(),
            Rest::ByZero => "duty 0",
            Rest::Stated => "all wheels at zero",
            Rest::Unknown => "-",
        };
        let mut says: Vec<String> = moves.map(row).collect();
        says.push(format!("          {:<16} {rest}", "rest"));
        says.push(format!("          {}", self.duty_words()));
        says.extend(self.learned.doubts.iter().map(|doubt| format!("  {}", doubt.words())));
        says
    }
}
