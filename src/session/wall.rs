//! Wall clock in a session: RFC 3339 with the offset of the place, to the microsecond.

use chrono::{DateTime, FixedOffset, Local, Offset, SecondsFormat};

/// `unix_us` microseconds since 1970-01-01T00:00:00Z, in words, with `offset_min` minutes added to UTC.
/// `-` when either lies outside what a calendar can say.
pub fn write(unix_us: i64, offset_min: i32) -> String {
    let offset = offset_min.checked_mul(60).and_then(FixedOffset::east_opt);
    match (DateTime::from_timestamp_micros(unix_us), offset) {
        (Some(time), Some(offset)) => time.with_timezone(&offset).to_rfc3339_opts(SecondsFormat::Micros, false),
        _ => "-".to_owned(),
    }
}

/// Microseconds since 1970-01-01T00:00:00Z and the offset in minutes; `None` when `text` is not RFC 3339.
pub fn read(text: &str) -> Option<(i64, i32)> {
    let time = DateTime::parse_from_rfc3339(text).ok()?;
    Some((time.timestamp_micros(), time.offset().local_minus_utc() / 60))
}

/// Minutes to add to UTC at this place, at that time. 0 when the time lies outside what a calendar can say.
pub fn offset_here(unix_us: i64) -> i32 {
    let time = DateTime::from_timestamp_micros(unix_us);
    time.map_or(0, |time| time.with_timezone(&Local).offset().fix().local_minus_utc() / 60)
}

#[cfg(test)]
mod tests {
    use super::*;

    // RFC 3339, section 5.8: 1996-12-19T16:39:57-08:00 is 1996-12-20T00:39:57Z; Unix time 851042397 by POSIX's formula.
    #[test]
    fn the_example_of_the_standard() {
        assert_eq!(read("1996-12-19T16:39:57-08:00"), Some((851_042_397_000_000, -480)));
        assert_eq!(write(851_042_397_000_000, -480), "1996-12-19T16:39:57.000000-08:00");
    }

    #[test]
    fn what_no_calendar_holds_is_a_dash() {
        assert_eq!(write(i64::MAX, 0), "-");
        assert_eq!(write(0, i32::MAX), "-");
        assert_eq!(read("-"), None);
    }
}
