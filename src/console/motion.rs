//! Duties and body motions in words. Axes follow ISO 8855: x forward, y left, turn positive counter-clockwise from above.

use crate::rover::wheels::{Duty, Twist, per_cent};

/// Below this many thousandths a part of a motion is not spoken of.
const UNSPOKEN: i32 = 20;

/// `+71 %`, `-71 %` or `0 %`.
pub fn duty(duty: Duty) -> String {
    match per_cent(duty) {
        0 => "0 %".to_owned(),
        share => format!("{share:+} %"),
    }
}

/// Which way a wheel with this duty would roll.
pub const fn wheel(duty: Duty) -> &'static str {
    match duty {
        1.. => "forward",
        0 => "rest",
        _ => "backward",
    }
}

/// A body motion, such as `forward and left, turning right`; `rest` when there is none.
pub fn body(twist: Twist) -> String {
    let along = side(twist.vx, "forward", "backward");
    let across = side(twist.vy, "to the left", "to the right");
    let turn = side(twist.wz, "turning left", "turning right");
    let travel = match (along, across) {
        (Some(along), Some(_)) if twist.vy > 0 => format!("{along} and left"),
        (Some(along), Some(_)) => format!("{along} and right"),
        (one, other) => one.or(other).unwrap_or_default().to_owned(),
    };
    match (travel.is_empty(), turn) {
        (true, None) => "rest".to_owned(),
        (true, Some(turn)) => turn.to_owned(),
        (false, None) => travel,
        (false, Some(turn)) => format!("{travel}, {turn}"),
    }
}

/// The same as one arrow; in ASCII only the four plain ways have one.
pub fn arrow(twist: Twist, ascii: bool) -> &'static str {
    let way = |part: i32| {
        if part.abs() < UNSPOKEN { 0 } else { part.signum() }
    };
    let (fine, plain) = match (way(twist.vx), way(twist.vy), way(twist.wz)) {
        (1, 0, _) => ("↑", "^"),
        (-1, 0, _) => ("↓", "v"),
        (0, 1, _) => ("←", "<"),
        (0, -1, _) => ("→", ">"),
        (1, 1, _) => ("↖", ""),
        (1, -1, _) => ("↗", ""),
        (-1, 1, _) => ("↙", ""),
        (-1, -1, _) => ("↘", ""),
        (_, _, 1) => ("↺", ""),
        (_, _, -1) => ("↻", ""),
        _ => ("", ""),
    };
    if ascii { plain } else { fine }
}

/// The numbers of a twist, each named by the way it goes.
pub fn numbers(twist: Twist) -> String {
    let part = |value: i32, plus: &str, minus: &str| {
        let word = if per_cent(value) < 0 { minus } else { plus };
        format!("{word} {}", per_cent(value).abs())
    };
    format!(
        "{}, {}, {} %",
        part(twist.vx, "forward", "backward"),
        part(twist.vy, "left", "right"),
        part(twist.wz, "turn left", "turn right"),
    )
}

fn side(part: i32, plus: &'static str, minus: &'static str) -> Option<&'static str> {
    match part {
        UNSPOKEN.. => Some(plus),
        _ if part <= -UNSPOKEN => Some(minus),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const fn twist(vx: i32, vy: i32, wz: i32) -> Twist {
        Twist { vx, vy, wz }
    }

    #[test]
    fn motions_follow_iso_8855() {
        // ISO 8855: x forward, y left, turn positive counter-clockwise seen from above, which is to the left.
        assert_eq!(body(twist(700, 0, 0)), "forward");
        assert_eq!(body(twist(0, 700, 0)), "to the left");
        assert_eq!(body(twist(0, 0, 700)), "turning left");
        assert_eq!(body(twist(-500, -500, -100)), "backward and right, turning right");
        assert_eq!(body(twist(0, 0, 5)), "rest");
    }

    #[test]
    fn numbers_name_their_way() {
        assert_eq!(numbers(twist(0, 706, -100)), "forward 0, left 71, turn right 10 %");
        assert_eq!([706, -706, 0, 4].map(duty), ["+71 %", "-71 %", "0 %", "0 %"]);
    }
}
