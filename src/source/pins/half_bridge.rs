//! What one half bridge is told, from the edges of its two direction inputs and its enable: which way, and the duty.
//!
//! The way is that of the truth table of the L298 (ST L298 data sheet, January 2000, figure 6): with the enable high,
//! IN1 high and IN2 low is one way, the other way round the other; both alike brakes; with the enable low it coasts. The
//! duty is the share of time that it drives, over whole periods, whichever of the three inputs pulses.

use super::dump::Picos;
use super::level::Level;

/// Something that repeats more slowly is no pulse but a move of its own: 40 Hz.
pub const SLOWEST: Picos = 25_000_000_000;
/// Duty is measured over whole periods of at least this time together: 4 ms.
const BLOCK: Picos = 4_000_000_000;
/// A duty that differs by no more is the same, thousandths.
const SAME: i32 = 5;
/// A single period that differs by more begins a new stretch, thousandths; and the grid of the recorder, 1 us at worst.
const JUMP: i32 = 10;
const GRID: Picos = 1_000_000;

/// Which way it drives at one instant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Drive {
    /// Not looked at yet.
    None,
    /// An input floats or is not known.
    Open,
    /// It coasts or brakes.
    Off,
    /// +1 with IN1 high, -1 with IN2 high.
    On(i32),
}

/// What it is told from an instant on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Told {
    /// From when on.
    pub from: Picos,
    /// Thousandths, plus with IN1 high; `None` while an input is open.
    pub duty: Option<i32>,
}

/// One half bridge.
#[derive(Clone, Debug)]
pub struct HalfBridge {
    inputs: [Level; 3],
    drive: Drive,
    since: Picos,
    /// Both direction inputs have been alike since then; `None` while they differ.
    alike_since: Option<Picos>,
    last_rise: Option<Picos>,
    /// Its last period; 0 until one is known.
    period: Picos,
    stretch: Option<Stretch>,
    last: Option<Told>,
    told: Vec<Told>,
}

/// A stretch of one way.
#[derive(Clone, Copy, Debug)]
struct Stretch {
    begin: Picos,
    way: i32,
    /// The duty told of it so far.
    duty: Option<i32>,
    /// It has been on for longer than a period.
    full: bool,
    /// The period under way began here, and was on for so long.
    mark: Picos,
    on: Picos,
    /// The share of the first period, which may have begun in its middle.
    first: Option<i32>,
    block: Block,
}

/// Whole periods that are measured together.
#[derive(Clone, Copy, Debug, Default)]
struct Block {
    begin: Picos,
    on: Picos,
    all: Picos,
    periods: u32,
}

impl Block {
    const fn at(begin: Picos) -> Self {
        Self { begin, on: 0, all: 0, periods: 0 }
    }

    fn share(&self) -> Option<i32> {
        (self.all > 0).then(|| share(self.on, self.all))
    }
}

/// Thousandths, rounded.
const fn share(on: Picos, all: Picos) -> i32 {
    ((on as i128 * 2000 / all as i128 + 1) / 2) as i32
}

impl HalfBridge {
    /// Nothing known yet; without an enable of its own it is taken as enabled by a jumper.
    pub const fn new(has_enable: bool) -> Self {
        let enable = if has_enable { Level::Unknown } else { Level::High };
        Self {
            inputs: [Level::Unknown, Level::Unknown, enable],
            drive: Drive::None,
            since: 0,
            alike_since: None,
            last_rise: None,
            period: 0,
            stretch: None,
            last: None,
            told: Vec::new(),
        }
    }

    /// Input IN1 (0), IN2 (1) or EN (2) has this level. Inputs that change at one instant are all set, then
    /// [`HalfBridge::look`] is called.
    pub fn set(&mut self, input: usize, level: Level) {
        if let Some(place) = self.inputs.get_mut(input) {
            *place = level;
        }
    }

    /// What was told since the last call, in order of time.
    pub fn told(&mut self) -> std::vec::Drain<'_, Told> {
        self.told.drain(..)
    }

    /// Nothing that will still be told begins before this, when nothing has changed up to `now`.
    pub const fn decided_to(&self, now: Picos) -> Picos {
        match &self.stretch {
            None => now,
            Some(stretch) if stretch.duty.is_none() => stretch.begin,
            Some(stretch) if stretch.full && matches!(self.drive, Drive::On(_)) => now,
            Some(stretch) => stretch.block.begin,
        }
    }

    /// The dump has ended: what is left is told.
    pub fn end(&mut self) {
        self.close();
    }

    /// Takes the inputs as they stand at `at`.
    pub fn look(&mut self, at: Picos) {
        self.pass(at);
        let [one, two, enable] = self.inputs;
        self.alike_since = if one == two { self.alike_since.or(Some(at)) } else { None };
        let drive = drive(one, two, enable);
        if drive == self.drive {
            return;
        }
        let was = std::mem::replace(&mut self.drive, drive);
        let since = std::mem::replace(&mut self.since, at);
        if let Drive::On(_) = was {
            self.falls(at, since);
        }
        match drive {
            Drive::Open => {
                self.close();
                self.tell(at, None);
            }
            Drive::On(way) => self.rises(at, way),
            Drive::Off if matches!(was, Drive::Open | Drive::None) => self.tell(at, Some(0)),
            Drive::Off | Drive::None => {}
        }
    }

    /// Nothing has changed up to `at`: what lasts longer than a period is no pulse.
    pub fn pass(&mut self, at: Picos) {
        let longest = if self.period == 0 { SLOWEST } else { SLOWEST.min(2 * self.period) };
        if at - self.since <= longest {
            return;
        }
        match self.drive {
            Drive::On(way) => self.stays_on(way),
            Drive::Off if self.stretch.is_some() => self.stays_off(),
            _ => {}
        }
    }

    fn stays_on(&mut self, way: i32) {
        let since = self.since;
        let Some(stretch) = self.stretch.as_ref().filter(|stretch| !stretch.full) else { return };
        if since > stretch.begin {
            self.flush();
        }
        let Some(stretch) = &mut self.stretch else { return };
        stretch.full = true;
        let from = if stretch.duty.is_none() { stretch.begin } else { since };
        stretch.duty = Some(1000 * way);
        self.tell(from, Some(1000 * way));
    }

    fn stays_off(&mut self) {
        // In the low part of a pulse the direction inputs say when it was told to stop.
        let inside = |alike: &Picos| *alike > self.since && *alike - self.since <= self.period;
        let from = self.alike_since.filter(inside).unwrap_or(self.since);
        self.close();
        self.tell(from, Some(0));
    }

    fn begin(&mut self, at: Picos, way: i32) {
        self.stretch = Some(Stretch {
            begin: at,
            way,
            duty: None,
            full: false,
            mark: at,
            on: 0,
            first: None,
            block: Block::at(at),
        });
    }

    fn falls(&mut self, at: Picos, since: Picos) {
        let Some(stretch) = &mut self.stretch else { return };
        stretch.on += at - since;
        if stretch.full {
            // From here on it pulses, or stops.
            (stretch.full, stretch.mark, stretch.on, stretch.first) = (false, at, 0, None);
            stretch.block = Block::at(at);
        }
    }

    fn rises(&mut self, at: Picos, way: i32) {
        if let Some(period) = self.last_rise.map(|rise| at - rise).filter(|period| (1..=SLOWEST).contains(period)) {
            self.period = period;
        }
        self.last_rise = Some(at);
        match &self.stretch {
            Some(stretch) if stretch.way == way && at - stretch.mark <= SLOWEST => self.period(at),
            Some(_) => {
                self.close();
                self.begin(at, way);
            }
            None => self.begin(at, way),
        }
    }

    /// A period has ended at `at`.
    fn period(&mut self, at: Picos) {
        let Some(stretch) = &mut self.stretch else { return };
        let length = at - stretch.mark;
        // Two rises at one instant: no time has passed between them.
        if length <= 0 {
            return;
        }
        let (mark, on) = (std::mem::replace(&mut stretch.mark, at), std::mem::take(&mut stretch.on));
        let new = share(on, length);
        if stretch.first.is_none() {
            stretch.first = Some(new);
            stretch.block = Block::at(at);
            return;
        }
        let jump = JUMP + (2000 * GRID / length) as i32;
        if stretch.block.share().is_some_and(|mean| (new - mean).abs() > jump) {
            self.jumps(mark);
        }
        let Some(stretch) = &mut self.stretch else { return };
        stretch.block.on += on;
        stretch.block.all += length;
        stretch.block.periods += 1;
        if at - stretch.block.begin >= BLOCK {
            self.flush();
            if let Some(stretch) = &mut self.stretch {
                stretch.block = Block::at(at);
            }
        }
    }

    /// The duty changes with the period that began at `mark`. A single odd period before it was a change in its middle.
    fn jumps(&mut self, mark: Picos) {
        let Some(stretch) = &mut self.stretch else { return };
        if stretch.block.periods == 1 {
            stretch.block = Block::at(stretch.block.begin);
            return;
        }
        self.flush();
        if let Some(stretch) = &mut self.stretch {
            stretch.block = Block::at(mark);
        }
    }

    /// Tells the duty of the block, where it is new.
    fn flush(&mut self) {
        let Some(stretch) = &mut self.stretch else { return };
        let Some(duty) = stretch.block.share().map(|share| share * stretch.way) else { return };
        let from = match stretch.duty {
            None => stretch.begin,
            Some(before) if (duty - before).abs() > SAME => stretch.block.begin,
            Some(_) => return,
        };
        stretch.duty = Some(duty);
        self.tell(from, Some(duty));
    }

    /// The stretch has ended: what has not been told of it is told.
    fn close(&mut self) {
        let Some(stretch) = &self.stretch else { return };
        if stretch.block.periods > 1 || stretch.duty.is_none() {
            self.flush();
        }
        let Some(stretch) = self.stretch.take() else { return };
        if stretch.duty.is_none() {
            // Not one whole period: it was on all the time, or the first one is all there is.
            self.tell(stretch.begin, Some(stretch.first.unwrap_or(1000) * stretch.way));
        }
    }

    fn tell(&mut self, from: Picos, duty: Option<i32>) {
        if self.last.is_none_or(|last| last.duty != duty) {
            let told = Told { from, duty };
            self.last = Some(told);
            self.told.push(told);
        }
    }
}

fn drive(one: Level, two: Level, enable: Level) -> Drive {
    match (one, two, enable) {
        (_, _, Level::Low) if known(one) && known(two) => Drive::Off,
        (Level::High, Level::Low, Level::High) => Drive::On(1),
        (Level::Low, Level::High, Level::High) => Drive::On(-1),
        (one, two, Level::High) if known(one) && one == two => Drive::Off,
        _ => Drive::Open,
    }
}

const fn known(level: Level) -> bool {
    matches!(level, Level::Low | Level::High)
}

#[cfg(test)]
mod tests;
