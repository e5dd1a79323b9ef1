//! What is believed before the first test, how often a person misreads, what each test costs: one table of guesses.
//!
//! None of the figures has a source. How often real rovers have which fault is not known until people tell. A rover
//! file may state its own in a table `[diagnosis]`; its keys are those below.

/// One figure of the table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs, reason = "each is described in its row of `TABLE`")]
pub enum Guess {
    WheelReversed,
    WheelDead,
    WheelForwardOnly,
    WheelBackwardOnly,
    WheelWeak,
    PlugsExchanged,
    RollersWrong,
    TableWrong,
    MotorSide,
    CrossedInputs,
    OpenInput,
    DriverDead,
    SupplyLow,
    LinkDead,
    BoardBackwards,
    ViewOfRover,
    ViewOfWheels,
    MisreadWheel,
    MisreadWay,
    MisreadTurn,
    MisreadRollers,
    MisreadCorrection,
    MisreadViewWithTape,
    DoubtedWorthless,
    RepeatWeight,
    Unpredictable,
    CostTape,
    CostLook,
    CostStand,
    CostOneWheel,
    CostFloor,
    CostCorrection,
    CostPlugs,
    CostLeads,
    CostWheels,
    LowDutyBelow,
}

/// A row of the table.
#[derive(Clone, Copy, Debug)]
pub struct Row {
    /// Which.
    pub guess: Guess,
    /// Its key in a rover file.
    pub key: &'static str,
    /// Its usual value, thousandths.
    pub usual: i64,
    /// Least and most that a rover file may state, thousandths.
    pub range: [i64; 2],
    /// What it is.
    pub says: &'static str,
}

/// A chance: neither impossible nor certain.
const CHANCE: [i64; 2] = [1, 900];
/// An effort, in orders watched on the stand.
const COST: [i64; 2] = [10, 1_000_000];

const fn row(guess: Guess, key: &'static str, usual: i64, range: [i64; 2], says: &'static str) -> Row {
    Row { guess, key, usual, range, says }
}

use Guess as G;

/// The table, in the order of [`Guess`].
#[rustfmt::skip]
pub const TABLE: [Row; 36] = [
    row(G::WheelReversed, "wheel_reversed", 50, CHANCE, "chance that one wheel turns the other way round"),
    row(G::WheelDead, "wheel_dead", 20, CHANCE, "chance that one wheel never turns"),
    row(G::WheelForwardOnly, "wheel_forward_only", 10, CHANCE, "chance that one wheel obeys forward only"),
    row(G::WheelBackwardOnly, "wheel_backward_only", 10, CHANCE, "chance that one wheel obeys backward only"),
    row(G::WheelWeak, "wheel_weak", 10, CHANCE, "chance that one wheel does not start at low duty"),
    row(G::PlugsExchanged, "plugs_exchanged", 150, CHANCE, "chance that motor plugs stand exchanged"),
    row(G::RollersWrong, "rollers_wrong", 100, CHANCE, "chance that rollers of the wrong hand are mounted"),
    row(G::TableWrong, "table_wrong", 80, CHANCE, "chance that the drive board's move table is wrong"),
    row(G::MotorSide, "motor_side", 500, CHANCE, "share of wheel faults on the motor's side of the driver"),
    row(G::CrossedInputs, "crossed_inputs", 4, CHANCE, "weight of each crossing of two input leads, against 1 for none"),
    row(G::OpenInput, "open_input", 2, CHANCE, "weight of each open input lead that reads high"),
    row(G::DriverDead, "driver_dead", 10, CHANCE, "weight of each dead driver"),
    row(G::SupplyLow, "supply_low", 20, CHANCE, "weight of a supply or duty too low for all wheels"),
    row(G::LinkDead, "link_dead", 10, CHANCE, "weight of no order reaching the drive board"),
    row(G::BoardBackwards, "board_backwards", 10, CHANCE, "weight of a drive board mounted backwards"),
    row(G::ViewOfRover, "view_of_rover", 10, CHANCE, "weight of left and right, or nose and tail, mixed up by the person"),
    row(G::ViewOfWheels, "view_of_wheels", 10, CHANCE, "weight of wheels judged from inside, or the rover on its back"),
    row(G::MisreadWheel, "misread_wheel", 20, CHANCE, "how often one wheel's turning is misread"),
    row(G::MisreadWay, "misread_way", 50, CHANCE, "how often the body's direction is misread"),
    row(G::MisreadTurn, "misread_turn", 30, CHANCE, "how often the body's turn is misread"),
    row(G::MisreadRollers, "misread_rollers", 20, CHANCE, "how often a look at the rollers is misread"),
    row(G::MisreadCorrection, "misread_correction", 150, CHANCE, "how often a sign of the turn correction misleads"),
    row(G::MisreadViewWithTape, "misread_view_with_tape", 20, CHANCE, "how often a view is mixed up in spite of the tape"),
    row(G::DoubtedWorthless, "doubted_worthless", 500, CHANCE, "chance that a doubted answer is worthless"),
    row(G::RepeatWeight, "repeat_weight", 500, CHANCE, "share of its weight that a repeated answer keeps"),
    row(G::Unpredictable, "unpredictable", 500, CHANCE, "chance that a floor move is worthless where it cannot be predicted"),
    row(G::CostTape, "cost_tape", 300, COST, "effort of tape on nose and FL"),
    row(G::CostLook, "cost_look", 500, COST, "effort of a look at the rollers"),
    row(G::CostStand, "cost_stand", 1_000, COST, "effort of a move watched on the stand"),
    row(G::CostOneWheel, "cost_one_wheel", 1_000, COST, "effort of one wheel ordered alone"),
    row(G::CostFloor, "cost_floor", 3_000, COST, "effort of a move on the floor"),
    row(G::CostCorrection, "cost_correction", 2_000, COST, "effort of the turn correction of a drive"),
    row(G::CostPlugs, "cost_plugs", 5_000, COST, "effort of exchanging two motor plugs"),
    row(G::CostLeads, "cost_leads", 6_000, COST, "effort of exchanging the two leads of a motor"),
    row(G::CostWheels, "cost_wheels", 8_000, COST, "effort of exchanging two wheels"),
    row(G::LowDutyBelow, "low_duty_below", 45_000, [1_000, 100_000], "a duty below this, per cent, counts as low"),
];

/// The chances of one wheel's faults; together they must leave room for a sound wheel.
pub const WHEEL_FAULTS: [Guess; 5] =
    [G::WheelReversed, G::WheelDead, G::WheelForwardOnly, G::WheelBackwardOnly, G::WheelWeak];

/// How the motors are joined to their drivers, which says what an exchange costs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Terminals {
    /// Screw terminals: what the table takes for usual.
    Screws,
    /// Plugs: two of them are soon exchanged; the two leads of one are not.
    Plugs,
    /// Soldered or glued: an exchange is the last thing to try.
    Glued,
}

impl Terminals {
    /// Words of a rover file.
    pub const WORDS: [(&'static str, Self); 3] =
        [("screws", Self::Screws), ("plugs", Self::Plugs), ("glued", Self::Glued)];

    /// Efforts of exchanging two plugs, and the leads of one motor, thousandths. Guesses, as the rest.
    const fn costs(self) -> [i64; 2] {
        match self {
            Self::Screws => [5_000, 6_000],
            Self::Plugs => [2_000, 8_000],
            Self::Glued => [40_000, 40_000],
        }
    }
}

/// The table of one rover.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Guesses {
    values: [i64; TABLE.len()],
}

impl Default for Guesses {
    fn default() -> Self {
        Self { values: TABLE.map(|row| row.usual) }
    }
}

impl Guesses {
    /// The value, thousandths.
    pub const fn of(&self, guess: Guess) -> i64 {
        self.values[guess as usize]
    }

    /// States another value, thousandths.
    pub const fn state(&mut self, guess: Guess, thousandths: i64) {
        self.values[guess as usize] = thousandths;
    }

    /// States what exchanges cost with such terminals.
    pub const fn join_by(&mut self, terminals: Terminals) {
        let [plugs, leads] = terminals.costs();
        self.state(Guess::CostPlugs, plugs);
        self.state(Guess::CostLeads, leads);
    }

    /// What the chances of a wheel's faults add up to, thousandths.
    pub fn wheel_faults(&self) -> i64 {
        WHEEL_FAULTS.iter().map(|guess| self.of(*guess)).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_row_stands_at_its_place_and_inside_its_own_range() {
        for (place, row) in TABLE.iter().enumerate() {
            assert_eq!(row.guess as usize, place, "{}", row.key);
            assert!((row.range[0]..=row.range[1]).contains(&row.usual), "{}", row.key);
        }
        let usual = Guesses::default();
        assert_eq!(usual.wheel_faults(), 100);
        let mut screws = usual;
        screws.join_by(Terminals::Screws);
        assert_eq!(screws, usual);
    }
}
