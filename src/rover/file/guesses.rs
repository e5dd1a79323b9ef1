//! `[diagnosis]`: this rover's own guesses about faults and efforts. Every key may be left out.

use super::walk::Table;
use crate::rover::guesses::{Guesses, TABLE, Terminals};

/// Reads what is stated; the rest stays as usual. Faults go to the root's list.
pub fn read(root: &Table<'_>) -> Guesses {
    let mut guesses = Guesses::default();
    let Some(table) = root.table("diagnosis") else { return guesses };
    if let Some(terminals) = table.word("motor_terminals", &Terminals::WORDS) {
        guesses.join_by(terminals);
    }
    for row in TABLE {
        if let Some(thousandths) = table.thousandths(row.key, row.range[0]..=row.range[1]) {
            guesses.state(row.guess, thousandths);
        }
    }
    let faults = guesses.wheel_faults();
    if faults >= 1000 {
        let found = format!("the chances of a wheel's faults add up to {}.{:03}", faults / 1000, faults % 1000);
        table.fault("wheel_reversed", found, "Allowed: less than 1 together, so that a wheel can be sound");
    }
    table.finish();
    guesses
}
