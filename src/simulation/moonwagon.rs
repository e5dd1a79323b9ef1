//! The wagon as a whole: its parts, and the order in which things happen.

use std::collections::VecDeque;

use wheeltap_parsers::{Nanos, Wire};

use super::command_board::CommandBoard;
use super::drive_board::DriveBoard;
use super::motors::Motors;
use super::pack::Pack;
use super::panel::Panel;
use super::radio::Radio;
use super::timetable::Timetable;
use super::wire::Line;
use super::{Burst, Fault, Going, Look, MS, Settings, Step, Way, Work};
use crate::rover::wheels::Duties;

/// What is really so at one instant, which no tap can know.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Truth {
    /// The instant, nanoseconds since power-up.
    pub at: Nanos,
    /// What the drive board tells the wheels, thousandths.
    pub commanded: Duties,
    /// How the wheels really turn, thousandths of full speed; positive rolls the wagon towards its nose.
    pub turning: Duties,
    /// Volts at the pack's terminals, millivolts.
    pub pack_mv: i32,
}

/// What a person who looks at the wagon sees: its wheels on the stand, and where it would go on the floor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Seen {
    /// FL, FR, RL, RR.
    pub wheels: [Look; 4],
    /// On the floor, with the wheels turning so.
    pub goes: Going,
}

/// A simulated wagon.
#[derive(Clone, Debug)]
pub struct Moonwagon {
    now: Nanos,
    panels: Vec<Panel>,
    radio: Radio,
    command_board: CommandBoard,
    to_drive: Line,
    from_drive: Line,
    /// Bursts on their way to the drive board.
    under_way: Timetable<Vec<u8>>,
    drive_board: DriveBoard,
    motors: Motors,
    pack: Pack,
    /// Up to when motors and pack have been worked out.
    machine_at: Nanos,
    /// Bursts not yet handed out, in order.
    ready: VecDeque<Burst>,
}

impl Moonwagon {
    /// A wagon about to be switched on.
    pub fn new(settings: &Settings) -> Self {
        let mut panels = vec![Panel::new(settings)];
        if settings.has(Fault::TwoPanels) {
            panels.push(Panel::second(settings));
        }
        Self {
            now: 0,
            panels,
            radio: Radio::new(settings),
            command_board: CommandBoard::new(settings),
            to_drive: Line::new(Wire::ToDrive, settings),
            from_drive: Line::new(Wire::FromDrive, settings),
            under_way: Timetable::new(),
            drive_board: DriveBoard::new(settings),
            motors: Motors::new(settings),
            pack: Pack::new(settings),
            machine_at: 0,
            ready: VecDeque::new(),
        }
    }

    /// The next burst on either wire, in order of beginning; `None` when nothing will ever be sent again (a script
    /// that ends, on a build that sends only changes).
    pub fn next_burst(&mut self) -> Option<Burst> {
        loop {
            let next = self.next_event();
            if self.ready.front().is_some_and(|burst| next.is_none_or(|next| burst.begins < next)) {
                let burst = self.ready.pop_front()?;
                self.pass_time(burst.begins);
                return Some(burst);
            }
            self.happen(next?);
        }
    }

    /// The next burst that begins before `until`; `None` when there is none, and then the time is `until`.
    pub fn next_before(&mut self, until: Nanos) -> Option<Burst> {
        loop {
            let next = self.next_event().filter(|next| *next < until).unwrap_or(until);
            if self.ready.front().is_some_and(|burst| burst.begins < next) {
                let burst = self.ready.pop_front()?;
                self.pass_time(burst.begins);
                return Some(burst);
            }
            if next >= until {
                self.pass_time(until);
                return None;
            }
            self.happen(next);
        }
    }

    /// What is so now: at the beginning of the burst last handed out, or at the limit last given.
    pub fn truth(&self) -> Truth {
        Truth {
            at: self.now,
            commanded: self.drive_board.duties(),
            turning: self.motors.turning(),
            pack_mv: self.pack.millivolts(self.motors.load()),
        }
    }

    /// What a person sees now.
    pub fn seen(&self) -> Seen {
        Seen { wheels: self.motors.looks(), goes: self.motors.goes() }
    }

    /// Somebody does this at the panel now. [`Step::Wait`] does nothing.
    pub fn hand(&mut self, step: Step) {
        let now = self.now;
        if let Some(message) = self.panels.first_mut().and_then(|panel| panel.hand(now, step)) {
            self.radio.send(now, message);
        }
    }

    /// Somebody presses the command board's reset button now.
    pub fn press_reset(&mut self) {
        self.command_board.press_reset(self.now);
    }

    /// Somebody works at the wheels.
    pub fn work(&mut self, work: Work) {
        self.motors.work(work);
    }

    /// Somebody puts one row of the drive board's table right and loads it.
    pub fn correct_row(&mut self, way: Way) {
        self.drive_board.correct_row(way);
        self.motors.drive(self.drive_board.duties());
    }

    /// What is wrong at the wheels and in the table of moves now, a part of a sentence each; empty when all is well.
    pub fn wrong(&self) -> Vec<String> {
        let row = |way: Way| format!("the row `{}` of the drive board's table is wrong", way.name());
        let mut says = self.motors.assembly().wrong();
        says.extend(self.drive_board.rows().wrong().map(row));
        says
    }

    fn next_event(&self) -> Option<Nanos> {
        let arrival = self.under_way.next_at();
        let panel = self.panels.iter().filter_map(Panel::next_at).min();
        [panel, self.radio.next_at(), self.command_board.next_at(), arrival, self.drive_board.next_at()]
            .into_iter()
            .flatten()
            .min()
            .map(|at| at.max(self.now))
    }

    fn pass_time(&mut self, now: Nanos) {
        // Always the same whole milliseconds, however often somebody asks.
        while self.machine_at + MS <= now {
            self.machine_at += MS;
            self.pack.pass_ms(self.motors.load());
            self.motors.pass_ms();
        }
        self.now = self.now.max(now);
    }

    /// Everything that is due at `now`, from the operator's hand to the wheels.
    fn happen(&mut self, now: Nanos) {
        self.pass_time(now);
        let yaw = self.motors.yaw();
        for message in self.panels.iter_mut().flat_map(|panel| panel.act(now, yaw)) {
            self.radio.send(now, message);
        }
        while let Some(message) = self.radio.arrived(now) {
            self.command_board.hear(now, message);
        }
        self.order(now);
        while let Some(bytes) = self.under_way.take(now) {
            self.drive_board.hear(now, &bytes);
            self.turn_wheels(now);
        }
        let volts = self.pack.millivolts(self.motors.load());
        for bytes in self.drive_board.act(now, volts) {
            let bursts = self.from_drive.send(now, &bytes, 0);
            self.line_up(bursts);
        }
        self.turn_wheels(now);
    }

    /// What the command board has to send.
    fn order(&mut self, now: Nanos) {
        let effort = self.drive_board.duties().iter().map(|duty| duty.abs()).sum();
        for bytes in self.command_board.act(now) {
            let bursts = self.to_drive.send(now, &bytes, effort);
            for burst in &bursts {
                self.under_way.add(burst.ends, burst.bytes.clone());
            }
            self.line_up(bursts);
        }
        if let (Some(gear), Some(panel)) = (self.command_board.came_up(), self.panels.first_mut()) {
            panel.rejoin(gear);
        }
    }

    /// The bridges get what the drive board says; a hard start may be more than the supply can bear.
    fn turn_wheels(&mut self, now: Nanos) {
        self.motors.drive(self.drive_board.duties());
        if self.pack.fails(self.motors.load()) {
            self.command_board.dip(now);
        }
    }

    fn line_up(&mut self, bursts: Vec<Burst>) {
        for burst in bursts {
            let key = |burst: &Burst| (burst.begins, burst.wire.index());
            let place = self.ready.partition_point(|other| key(other) <= key(&burst));
            self.ready.insert(place, burst);
        }
    }
}

#[cfg(test)]
mod tests;
