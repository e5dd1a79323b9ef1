//! What is seen of the simulated rover, in words and for the screen.

use crate::console::stand::Turning;
use crate::simulation::{Going, Look};

/// A part of a motion is seen when it is at least this share of the largest, in per cent.
const SHARE: i32 = 25;
/// Slower than this it stands, thousandths of full speed.
const STANDS: i32 = 20;

/// A wheel for the screen.
pub const fn turning(look: Look) -> Turning {
    match look {
        Look::Forward => Turning::Forward,
        Look::Backward => Turning::Backward,
        Look::Still => Turning::Still,
        Look::Hums => Turning::Hums,
    }
}

/// Where it would go, such as `forward and left, turning left; its wheels slip over the floor`.
pub fn goes(going: Going) -> String {
    let Going { ahead, left, spin, slip } = going;
    let largest = ahead.abs().max(left.abs()).max(spin.abs());
    let scrubs = slip >= STANDS && slip * 100 >= largest * SHARE;
    let slips = if scrubs { "; its wheels slip and scrub over the floor" } else { "" };
    if largest < STANDS {
        return if scrubs { format!("nowhere{slips}.") } else { "nowhere, it stands.".to_owned() };
    }
    let part = |value: i32, plus: &'static str, minus: &'static str| {
        let seen = value.abs() >= STANDS && value.abs() * 100 >= largest * SHARE;
        seen.then_some(if value > 0 { plus } else { minus })
    };
    let along = part(ahead, "forward", "backward");
    let aside = part(left, "to the left", "to the right");
    let turn = part(spin, "turning left (counter-clockwise)", "turning right (clockwise)");
    let travel: Vec<&str> = along.into_iter().chain(aside).collect();
    let words: Vec<String> = [travel.join(" and "), turn.unwrap_or_default().to_owned()]
        .into_iter()
        .filter(|part| !part.is_empty())
        .collect();
    let place = if travel.is_empty() { ", on the spot" } else { "" };
    format!("{}{place}{slips}.", words.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn motions_in_the_rovers_own_words() {
        // ISO 8855: x forward, y left, turn positive counter-clockwise from above, which is to the left.
        let say = |ahead, left, spin, slip| goes(Going { ahead, left, spin, slip });
        assert_eq!(say(0, 0, 0, 0), "nowhere, it stands.");
        assert_eq!(say(0, 0, 0, 700), "nowhere; its wheels slip and scrub over the floor.");
        assert_eq!(say(500, 10, 10, 0), "forward.");
        assert_eq!(say(0, -500, 0, 0), "to the right.");
        assert_eq!(say(0, 0, 500, 0), "turning left (counter-clockwise), on the spot.");
        assert_eq!(
            say(500, 500, -500, 500),
            "forward and to the left, turning right (clockwise); its wheels slip and scrub over the floor."
        );
    }
}
