//! A rover with planted faults, and its own physics: which output reaches which wheel, how each wheel turns, how its
//! rollers run, what its move table says. Nothing here comes from the diagnosis.

/// FL, FR, RL, RR.
pub const NAMES: [&str; 4] = ["FL", "FR", "RL", "RR"];

/// The drivers' terminals for the four wheels, as the rover's own file has them.
pub const TERMINALS: [&str; 4] = ["Oxpair A M1", "Oxpair A M2", "Oxpair B M1", "Oxpair B M2"];

/// The moves of the panel with the wheel signs of X rollers (FL = x - y - w, FR = x + y + w, RL = x + y - w,
/// RR = x - y + w; x forward, y left, w counter-clockwise).
pub const MOVES: [(&str, [i32; 4]); 11] = [
    ("ahead", [1, 1, 1, 1]),
    ("astern", [-1, -1, -1, -1]),
    ("port", [-1, 1, 1, -1]),
    ("starboard", [1, -1, -1, 1]),
    ("ahead-port", [0, 1, 1, 0]),
    ("ahead-starboard", [1, 0, 0, 1]),
    ("astern-port", [-1, 0, 0, -1]),
    ("astern-starboard", [0, -1, -1, 0]),
    ("spin-port", [-1, 1, -1, 1]),
    ("spin-starboard", [1, -1, 1, -1]),
    ("rest", [0, 0, 0, 0]),
];

/// How a wheel obeys.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Obeys {
    Rightly,
    TheOtherWay,
    Never,
    ForwardOnly,
    BackwardOnly,
    HighDutyOnly,
}

/// One planted fault.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Planted {
    Wheel(usize, Obeys),
    /// Output i feeds wheel `[i]`.
    Plugs([usize; 4]),
    Rollers([bool; 4]),
    Rows(usize, usize),
    Sign(usize, usize),
}

/// The rover.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wagon {
    obeys: [Obeys; 4],
    plugs: [usize; 4],
    other_hand: [bool; 4],
    table: [[i32; 4]; 11],
}

impl Wagon {
    pub fn sound() -> Self {
        Self {
            obeys: [Obeys::Rightly; 4],
            plugs: [0, 1, 2, 3],
            other_hand: [false; 4],
            table: MOVES.map(|(_, signs)| signs),
        }
    }

    pub fn with(faults: &[Planted]) -> Self {
        let mut wagon = Self::sound();
        for fault in faults {
            match fault {
                Planted::Wheel(wheel, obeys) => wagon.obeys[*wheel] = *obeys,
                Planted::Plugs(plugs) => wagon.plugs = *plugs,
                Planted::Rollers(hands) => wagon.other_hand = *hands,
                Planted::Rows(a, b) => wagon.table.swap(*a, *b),
                Planted::Sign(row, wheel) => wagon.table[*row][*wheel] *= -1,
            }
        }
        wagon
    }

    /// How the four wheels turn while this move is ordered.
    pub fn turning(&self, name: &str, high: bool) -> [i32; 4] {
        let row = MOVES.iter().position(|(known, _)| *known == name).unwrap();
        let mut turning = [0; 4];
        for (output, told) in self.table[row].into_iter().enumerate() {
            let wheel = self.plugs[output];
            // FL and RL are mounted mirrored: what is made for the other side rolls a wheel the other way.
            let told = if output % 2 == wheel % 2 { told } else { -told };
            turning[wheel] = match self.obeys[wheel] {
                Obeys::Rightly => told,
                Obeys::TheOtherWay => -told,
                Obeys::Never => 0,
                Obeys::ForwardOnly => told.max(0),
                Obeys::BackwardOnly => told.min(0),
                Obeys::HighDutyOnly => told * i32::from(high),
            };
        }
        turning
    }

    /// Whether the rollers at this corner have the other hand.
    pub fn other_hand(&self, wheel: usize) -> bool {
        self.other_hand[wheel]
    }

    /// How far it is from sound: faulty wheels, plugs out of place, rollers of the other hand, wrong signs in the table.
    pub fn wrong(&self) -> usize {
        let sound = Self::sound();
        let wheels = self.obeys.iter().filter(|obeys| **obeys != Obeys::Rightly).count();
        let hands = self.other_hand.iter().filter(|other| **other).count();
        let signs = self.table.iter().flatten().zip(sound.table.iter().flatten()).filter(|(a, b)| a != b).count();
        wheels + self.exchanges_needed() + hands + signs
    }

    /// Exchanges of two plugs that put the wiring right: four less the number of cycles.
    fn exchanges_needed(&self) -> usize {
        let mut seen = [false; 4];
        let mut cycles = 0;
        for start in 0..4 {
            let mut at = start;
            cycles += usize::from(!seen[start]);
            while !seen[at] {
                seen[at] = true;
                at = self.plugs[at];
            }
        }
        4 - cycles
    }

    /// Does what a repair says, by its words alone. True when the rover is nearer to sound than before.
    pub fn obey(&mut self, change: &str) -> bool {
        let before = self.wrong();
        self.change(change);
        self.wrong() < before
    }

    fn change(&mut self, says: &str) {
        let named = |begin: &str| NAMES.iter().position(|name| says.starts_with(&format!("{begin}{name}")));
        let leads = named("Exchange the two motor leads of ").or_else(|| named("Exchange the two input leads of "));
        if let Some(wheel) = leads {
            self.obeys[wheel] = match self.obeys[wheel] {
                Obeys::Rightly => Obeys::TheOtherWay,
                Obeys::TheOtherWay => Obeys::Rightly,
                Obeys::ForwardOnly => Obeys::BackwardOnly,
                Obeys::BackwardOnly => Obeys::ForwardOnly,
                other => other,
            };
        }
        let dead = named("Check the motor plug of ").or_else(|| named("Check the input leads and the enable of "));
        self.mend(dead, &[Obeys::Never]);
        let one_way = named("Look for what blocks ").or_else(|| {
            NAMES.iter().position(|name| says.contains(&format!("it is the one that {name} does not obey")))
        });
        self.mend(one_way, &[Obeys::ForwardOnly, Obeys::BackwardOnly]);
        self.mend(named("Turn ").filter(|_| says.contains("by hand")), &[Obeys::HighDutyOnly]);
        if says.starts_with("Exchange the motor plugs at ") {
            let at: Vec<usize> = (0..4).filter(|output| says.contains(TERMINALS[*output])).collect();
            if let [a, b] = at[..] {
                self.plugs.swap(a, b);
            }
        }
        self.change_wheels(says);
        self.change_table(says);
    }

    /// Exchanges what the screen names for a test, or puts it back.
    pub fn exchange(&mut self, says: &str) {
        let two = |rest: &str| -> Vec<usize> {
            rest.split([' ', ',']).filter_map(|word| NAMES.iter().position(|name| *name == word)).take(2).collect()
        };
        if let Some((_, rest)) = says.split_once("exchange the motor plugs of ") {
            if let [a, b] = two(rest)[..] {
                self.plugs.swap(a, b);
            }
        } else if let Some((_, rest)) = says.split_once("exchange the two leads of the ") {
            for wheel in two(rest) {
                self.change(&format!("Exchange the two motor leads of {} at", NAMES[wheel]));
            }
        }
    }

    fn mend(&mut self, wheel: Option<usize>, what: &[Obeys]) {
        if let Some(wheel) = wheel.filter(|wheel| what.contains(&self.obeys[*wheel])) {
            self.obeys[wheel] = Obeys::Rightly;
        }
    }

    /// Two wheels exchanged: one that was of the right hand on its own side is of the wrong one across, and the reverse.
    fn change_wheels(&mut self, says: &str) {
        if let Some(rest) = says.strip_prefix("Exchange the wheels of ") {
            let two: Vec<usize> =
                rest.split([' ', ',']).filter_map(|word| NAMES.iter().position(|name| *name == word)).collect();
            if let [a, b] = two[..] {
                // FL and RR are of one hand, FR and RL of the other.
                let hand = |wheel: usize, other: bool| matches!(wheel, 0 | 3) != other;
                let (from_a, from_b) = (hand(a, self.other_hand[a]), hand(b, self.other_hand[b]));
                self.other_hand[a] = from_b != matches!(a, 0 | 3);
                self.other_hand[b] = from_a != matches!(b, 0 | 3);
            }
        } else if let Some(rest) = says.strip_prefix("The wheel at ") {
            let list = rest.split(" has the wrong hand").next().unwrap_or_default();
            for (wheel, name) in NAMES.iter().enumerate() {
                if list.contains(name) {
                    self.other_hand[wheel] = false;
                }
            }
        }
    }

    fn change_table(&mut self, says: &str) {
        let Some(rest) = says.strip_prefix("In the drive board's table ") else { return };
        let quoted: Vec<usize> = rest
            .split('`')
            .skip(1)
            .step_by(2)
            .filter_map(|name| MOVES.iter().position(|(known, _)| *known == name))
            .collect();
        match quoted[..] {
            [a, b] => self.table.swap(a, b),
            [row] => {
                if let Some(wheel) = NAMES.iter().position(|name| rest.contains(&format!("sign of {name} "))) {
                    self.table[row][wheel] *= -1;
                }
            }
            _ => {}
        }
    }
}

/// Every single fault: 20 of wheels, 23 of plugs, 15 of rollers, 87 of the table.
pub fn singles() -> Vec<Planted> {
    let mut all = Vec::new();
    let ways = [Obeys::TheOtherWay, Obeys::Never, Obeys::ForwardOnly, Obeys::BackwardOnly, Obeys::HighDutyOnly];
    for wheel in 0..4 {
        all.extend(ways.map(|way| Planted::Wheel(wheel, way)));
    }
    for number in 0..256_usize {
        let plugs: [usize; 4] = std::array::from_fn(|place| number / 4_usize.pow(place as u32) % 4);
        let mut sorted = plugs;
        sorted.sort_unstable();
        if sorted == [0, 1, 2, 3] && plugs != sorted {
            all.push(Planted::Plugs(plugs));
        }
    }
    for bits in 1..16_usize {
        all.push(Planted::Rollers(std::array::from_fn(|wheel| bits >> wheel & 1 == 1)));
    }
    for (a, row) in MOVES.iter().enumerate().take(11) {
        all.extend((a + 1..11).map(|b| Planted::Rows(a, b)));
        all.extend((0..4).filter(|wheel| row.1[*wheel] != 0).map(|wheel| Planted::Sign(a, wheel)));
    }
    all
}
