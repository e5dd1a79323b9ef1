//! What the motors bear, and how far the rover would run on, in a sentence or two.

use ratatui::style::Style;

use crate::console::clock;
use crate::console::theme::Theme;
use crate::engine::snapshot::{MotorLimits, RunOn};

/// All of it in words.
pub fn words(limits: &MotorLimits) -> String {
    format!("{} {}{}", cap(limits), run_on(limits.run_on), stall(limits))
}

fn stall(limits: &MotorLimits) -> String {
    let Some((draws, bears)) = limits.stall_beyond else { return String::new() };
    let amperes = |milli: i64| format!("{}.{} A", milli / 1000, milli % 1000 / 100);
    format!(" A blocked wheel draws {}, its driver bears {}: let go at once.", amperes(draws), amperes(bears))
}

/// Loud where something is beyond bounds.
pub const fn style(theme: Theme, limits: &MotorLimits) -> Style {
    if limits.over || matches!(limits.run_on, RunOn::Never) { theme.alarm() } else { Style::new() }
}

fn cap(limits: &MotorLimits) -> String {
    let (Some(cap), Some(rated), Some((pack, told))) = (limits.duty_cap, limits.rated, limits.pack) else {
        return "Duty cap: needs pack, drivers and rated_volts in the rover file.".to_owned();
    };
    let pack = format!("{} pack of {}", if told { "this" } else { "a full" }, volts(pack));
    let over = if limits.over { "OVER THE CAP NOW: " } else { "" };
    if cap >= 1000 {
        return format!("Duty cap: none needed, {} motors on {pack}.", volts(rated));
    }
    // Rounded down: what is shown never exceeds what was worked out.
    format!("{over}Duty cap {} % for {} motors on {pack} (mean volts).", cap / 10, volts(rated))
}

fn run_on(run_on: RunOn) -> String {
    match run_on {
        RunOn::Unknown => "If the wire fell silent now: how long an order is obeyed is not known.".to_owned(),
        RunOn::Resting => "If the wire fell silent now: it rests.".to_owned(),
        RunOn::Never => "If the wire fell silent now: IT WOULD NOT STOP.".to_owned(),
        RunOn::Until { length, millimetres: None } => format!(
            "If the wire fell silent now: on for {}; how far needs full_speed_mm_s in the rover file.",
            clock::length(length)
        ),
        RunOn::Until { length, millimetres: Some(way) } => format!(
            "If the wire fell silent now: up to {} cm on in {}, then it coasts.",
            way.saturating_add(9) / 10,
            clock::length(length)
        ),
    }
}

fn volts(millivolts: i64) -> String {
    format!("{}.{} V", millivolts / 1000, millivolts.abs() % 1000 / 100)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_rounded_to_the_bad_side() {
        let limits = MotorLimits {
            rated: Some(6_000),
            pack: Some((12_600, false)),
            duty_cap: Some(555),
            over: true,
            stall_beyond: Some((2_100, 2_000)),
            run_on: RunOn::Until { length: 300_000_000, millimetres: Some(151) },
        };
        let words = words(&limits);
        assert!(
            words.starts_with("OVER THE CAP NOW: Duty cap 55 % for 6.0 V motors on a full pack of 12.6 V"),
            "{words}"
        );
        assert!(words.contains("draws 2.1 A, its driver bears 2.0 A"), "{words}");
        assert!(words.contains("up to 16 cm on in 300 ms"), "{words}");
    }

    #[test]
    fn a_reader_that_obeys_for_ever_would_not_stop() {
        let words = words(&MotorLimits { run_on: RunOn::Never, ..MotorLimits::default() });
        assert!(words.contains("WOULD NOT STOP") && words.contains("needs pack"), "{words}");
    }
}
