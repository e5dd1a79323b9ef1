//! The pack: three lithium-ion cells, which give way under load and empty slowly.

use super::{Fault, Settings};

/// How far the pack falls when four motors start at full duty, millivolts.
const FIRM: i32 = 500;
/// The same with the worn pack of [`Fault::SupplySag`].
const WORN: i32 = 900;
/// At or below this the command board on its weak supply resets, millivolts.
const RESET: i32 = 9_800;

/// The pack.
#[derive(Clone, Debug)]
pub(super) struct Pack {
    full: i32,
    gives: i32,
    sags: bool,
    /// Load times milliseconds.
    used: i64,
}

impl Pack {
    pub(super) fn new(settings: &Settings) -> Self {
        let sags = settings.has(Fault::SupplySag);
        let (full, gives) = if sags { (10_700, WORN) } else { (11_900, FIRM) };
        Self { full, gives, sags, used: 0 }
    }

    /// Lets one millisecond pass at this load, thousandths. The boards alone take a twentieth.
    pub(super) fn pass_ms(&mut self, load: i32) {
        self.used += i64::from(load + 50);
    }

    /// Volts at the terminals under this load, millivolts. It loses half a volt in ten minutes of driving about.
    pub(super) fn millivolts(&self, load: i32) -> i32 {
        let emptied = (self.used / 200_000).min(1_500) as i32;
        self.full - emptied - self.gives * load / 1000
    }

    /// Whether the command board's supply fails under this load.
    pub(super) fn fails(&self, load: i32) -> bool {
        self.sags && self.millivolts(load) <= RESET
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::simulation::Style;

    #[test]
    fn a_full_step_costs_half_a_volt() {
        let mut pack = Pack::new(&Settings::demo(Style::CueLine, 1));
        assert_eq!(pack.millivolts(0), 11_900);
        assert_eq!(pack.millivolts(1000), 11_400);
        assert!(!pack.fails(2000));
        (0..600_000).for_each(|_| pack.pass_ms(120));
        assert!((11_300..11_500).contains(&pack.millivolts(0)), "{}", pack.millivolts(0));
    }

    #[test]
    fn a_worn_pack_fails_a_full_start() {
        let mut settings = Settings::demo(Style::CueLine, 1);
        settings.faults = vec![Fault::SupplySag];
        let pack = Pack::new(&settings);
        assert!(pack.fails(1000));
        assert!(!pack.fails(700));
    }
}
