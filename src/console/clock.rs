//! Session times and lengths in words.

use wheeltap_parsers::Nanos;

const MILLI: Nanos = 1_000_000;

/// A session time as minutes, seconds and thousandths: `03:12.345`; hours in front when there are any.
pub fn at(time: Nanos) -> String {
    let sign = if time < 0 { "-" } else { "" };
    let all = time.unsigned_abs() / MILLI.unsigned_abs();
    let (hours, minutes) = (all / 3_600_000, all / 60_000 % 60);
    let (seconds, millis) = (all / 1000 % 60, all % 1000);
    if hours > 0 {
        return format!("{sign}{hours}:{minutes:02}:{seconds:02}.{millis:03}");
    }
    format!("{sign}{minutes:02}:{seconds:02}.{millis:03}")
}

/// The same without the thousandths.
pub fn at_second(time: Nanos) -> String {
    let text = at(time);
    text.rsplit_once('.').map_or(text.clone(), |(whole, _)| whole.to_owned())
}

/// A length a person can take in: `0.4 ms`, `188 ms`, `1.24 s`, `3 min 12 s`, `2 h 5 min`.
pub fn length(time: Nanos) -> String {
    let time = time.max(0);
    match time / MILLI {
        0..10 => format!("{}.{} ms", time / MILLI, time % MILLI / (MILLI / 10)),
        millis @ 10..1000 => format!("{millis} ms"),
        millis @ 1000..60_000 => format!("{}.{:02} s", millis / 1000, millis % 1000 / 10),
        millis @ 60_000..3_600_000 => {
            format!("{} min {} s", millis / 60_000, millis / 1000 % 60)
        }
        millis => format!("{} h {} min", millis / 3_600_000, millis / 60_000 % 60),
    }
}

/// How long ago `time` was at `now`; seconds in tenths, so that the number does not flicker.
pub fn ago(now: Nanos, time: Nanos) -> String {
    let past = now.saturating_sub(time).max(0);
    match past / MILLI {
        millis @ 0..60_000 => format!("{}.{} s ago", millis / 1000, millis % 1000 / 100),
        _ => format!("{} ago", length(past)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_read_as_minutes_and_seconds() {
        assert_eq!(at(192_345_678_901), "03:12.345");
        assert_eq!(at(3_661_001_000_000), "1:01:01.001");
        assert_eq!(at_second(192_345_678_901), "03:12");
        assert_eq!(at(-1_500_000_000), "-00:01.500");
        assert_eq!(at(Nanos::MIN), "-2562047:47:16.854");
    }

    #[test]
    fn lengths_change_unit_where_a_person_would() {
        let all = [400_000, 188_000_000, 1_240_000_000, 192_000_000_000];
        assert_eq!(all.map(length), ["0.4 ms", "188 ms", "1.24 s", "3 min 12 s"]);
        assert_eq!(length(-5), "0.0 ms");
        assert_eq!(ago(10_120_000_000, 10_000_000_000), "0.1 s ago");
        assert_eq!(ago(Nanos::MAX, Nanos::MIN), "2562047 h 47 min ago");
    }
}
