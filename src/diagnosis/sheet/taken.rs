//! A sheet taken into a diagnosis.

use super::{Remark, Sheet, Skip};
use crate::diagnosis::Diagnosis;
use crate::diagnosis::observation::Observation;
use crate::diagnosis::test::Available;

/// The diagnosis of this sheet, what is left to test with, and what could not be taken, in words.
///
/// `start` is of the same rover with nothing seen; `available` is what its link allows.
pub fn diagnose(start: &Diagnosis, available: Available, sheet: &Sheet) -> (Diagnosis, Available, Vec<String>) {
    let mut diagnosis = start.afresh();
    let (left, rows) = left(available, sheet);
    diagnosis.leave_out(&rows);
    diagnosis.allow(left);
    let mut refused = Vec::new();
    let mut observe = |diagnosis: &mut Diagnosis, said| {
        if let Err(fault) = diagnosis.observe(said) {
            refused.push(fault.to_string());
        }
    };
    if sheet.heading.tape {
        observe(&mut diagnosis, Observation::Tape);
    }
    for entry in &sheet.said {
        match (&entry.remark, entry.remark.observation()) {
            (Remark::Exchange(action), _) => diagnosis.exchange(*action),
            (Remark::Doubt(test), _) => diagnosis.doubt_test(*test),
            (_, Some(seen)) => observe(&mut diagnosis, seen),
            _ => {}
        }
    }
    (diagnosis, left, refused)
}

/// What is left on hand after everything skipped, and the rows that cannot be ordered.
fn left(mut available: Available, sheet: &Sheet) -> (Available, Vec<usize>) {
    available.tape &= sheet.heading.tape;
    let mut rows = Vec::new();
    for skip in sheet.skipped() {
        match skip {
            Skip::Tape => available.tape = false,
            Skip::Rollers => available.look = false,
            Skip::Floor => available.floor = false,
            Skip::Stand => available.stand = false,
            Skip::OneWheel => available.one_wheel = false,
            Skip::LowDuty => available.low_duty = false,
            Skip::HighDuty => available.high_duty = false,
            Skip::Exchange => available.screwdriver = false,
            Skip::Row(row) => rows.push(row),
            Skip::Nothing => {}
        }
    }
    (available, rows)
}
