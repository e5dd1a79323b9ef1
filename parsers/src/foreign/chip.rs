//! Text that a chip of the ESP32 family prints by itself, at the start and in a crash.
//!
//! Sources: the start-up lines as they stand in public logs; reset numbers from the chip's ROM header `rtc.h`
//! (original, S3 and C3 agree on the numbers they share); supply-dip and watchdog messages from the ESP-IDF sources
//! and documentation. Rows marked MEM are from memory.

use memchr::memmem;

use super::{ResetCause, TextClass};

/// What a pattern is tied to.
#[derive(Clone, Copy)]
enum Tells {
    /// One thing, always.
    Class(TextClass),
    /// The reset number behind `rst:0x`.
    Reset,
    /// A crash line that may name a watchdog.
    Crash,
}

use Tells::Class;

const START: Tells = Class(TextClass::Start { start_up: None, cause: None });
const DETAIL: Tells = Class(TextClass::StartDetail);
const CRASH: Tells = Class(TextClass::Crash);
const BACKTRACE: Tells = Class(TextClass::Backtrace);
const WATCHDOG: Tells = Class(TextClass::Watchdog);
const DOWNLOAD: Tells = Class(TextClass::Download);
const FLASH: Tells = Class(TextClass::FlashError);

/// Patterns, those that state a cause before those that only accompany it.
const PATTERNS: [(&[u8], Tells); 40] = [
    (b"ets Jan ", START),
    (b"ets Feb ", START),
    (b"ets Mar ", START),
    (b"ets Apr ", START),
    (b"ets May ", START),
    (b"ets Jun ", START),
    (b"ets Jul ", START),
    (b"ets Aug ", START),
    (b"ets Sep ", START),
    (b"ets Oct ", START),
    (b"ets Nov ", START),
    (b"ets Dec ", START),
    (b"ESP-ROM:", START), // MEM
    (b"rst:0x", Tells::Reset),
    (b"Brownout detector was triggered", Class(TextClass::BrownOut)),
    (b"Task watchdog got triggered", WATCHDOG),
    (b"did not reset the watchdog", WATCHDOG),
    (b"Tasks currently running:", WATCHDOG),
    (b"Guru Meditation Error", Tells::Crash),
    (b"abort() was called at PC", CRASH),
    (b"assert failed: ", CRASH), // MEM
    (b"Debug exception reason:", CRASH),
    (b"Stack smashing protect failure", CRASH),
    (b"CORRUPT HEAP:", CRASH),
    (b"Rebooting...", CRASH), // MEM
    (b"register dump:", BACKTRACE),
    (b"Backtrace:", BACKTRACE),
    (b"ELF file SHA256:", BACKTRACE), // MEM
    (b"PC      : 0x", BACKTRACE),
    (b"waiting for download", DOWNLOAD), // MEM
    (b"flash read err", FLASH),
    (b"ets_main.c ", FLASH),
    (b"invalid header: 0x", FLASH), // MEM
    (b"configsip: ", DETAIL),
    (b"clk_drv:0x", DETAIL),
    (b", clock div:", DETAIL),
    (b"load:0x", DETAIL),
    (b"ho 0 tail ", DETAIL),
    (b"entry 0x", DETAIL),
    (b"2nd stage bootloader", DETAIL),
];

/// For each byte, the patterns that begin with it, one bit each.
const BEGIN: [u64; 256] = {
    let mut all = [0; 256];
    let mut place = 0;
    while place < PATTERNS.len() {
        all[PATTERNS[place].0[0] as usize] |= 1 << place;
        place += 1;
    }
    all
};

/// The earliest place where a chip's text begins, and what it tells.
pub(super) fn find(line: &[u8]) -> Option<(usize, TextClass)> {
    let (place, rest, tells) = line.iter().enumerate().find_map(|(place, byte)| {
        let (rest, tells) = pattern(*byte, line.get(place..)?)?;
        Some((place, rest, tells))
    })?;
    let class = match tells {
        Class(class) => class,
        Tells::Reset => TextClass::Reset(reset_cause(rest)),
        Tells::Crash => crash(rest),
    };
    Some((begin(line, place), class))
}

/// The first pattern at the beginning of `text`, whose first byte is `first`, and what stands behind it.
fn pattern(first: u8, text: &[u8]) -> Option<(&[u8], Tells)> {
    let mut able = BEGIN[usize::from(first)];
    while able > 0 {
        let (pattern, tells) = PATTERNS.get(able.trailing_zeros() as usize)?;
        if let Some(rest) = text.strip_prefix(*pattern) {
            return Some((rest, *tells));
        }
        able &= able - 1;
    }
    None
}

fn reset_cause(rest: &[u8]) -> ResetCause {
    let digits = rest.iter().take(2).map_while(|byte| char::from(*byte).to_digit(16));
    match digits.fold(0, |all, digit| all * 16 + digit) {
        0x1 => ResetCause::Power,
        0x3 | 0xC | 0xE => ResetCause::Software,
        0x4 | 0x7 | 0x8 | 0x9 | 0xB | 0xD | 0x10 | 0x11 | 0x12 => ResetCause::Watchdog,
        0x5 => ResetCause::Sleep,
        0xF => ResetCause::BrownOut,
        0x15 | 0x16 => ResetCause::External,
        _ => ResetCause::Unknown,
    }
}

/// The heading of a crash names the interrupt watchdog in two spellings.
fn crash(rest: &[u8]) -> TextClass {
    let low = rest.to_ascii_lowercase();
    let watchdog = [b"interrupt wdt timeout".as_slice(), b"interrupt watchdog timeout"];
    if watchdog.iter().any(|name| memmem::find(&low, name).is_some()) { TextClass::Watchdog } else { TextClass::Crash }
}

/// Where the text around the pattern at `place` begins: words that always stand before it, a log line's level, time
/// and tag, a colour escape.
fn begin(line: &[u8], place: usize) -> usize {
    let ahead = line.get(..place).unwrap_or_default();
    let ahead = without_words(ahead);
    let ahead = without_tag(ahead);
    without_colour(ahead).len()
}

/// `Core 0 ` before a register dump, `mode:DIO` before the clock divider, `- task (CPU 0) ` and the like.
fn without_words(ahead: &[u8]) -> &[u8] {
    let words: [&[u8]; 3] = [b"Core ", b"mode:", b"ESP-IDF "];
    let near = ahead.len().saturating_sub(24);
    let starts = words.iter().filter_map(|word| memmem::rfind(ahead.get(near..)?, word));
    starts.max().and_then(|place| ahead.get(..near + place)).unwrap_or(ahead)
}

/// `I (123) boot: ` before the text.
fn without_tag(ahead: &[u8]) -> &[u8] {
    let shape = || {
        let tag = ahead.strip_suffix(b": ")?;
        let close = memchr::memrchr(b')', tag)?;
        let open = memchr::memrchr(b'(', tag.get(..close)?)?;
        let digits = tag.get(open + 1..close)?.iter().all(|byte| byte.is_ascii_digit() || *byte == b' ');
        let level = tag.get(..open)?.strip_suffix(b" ")?;
        let (last, front) = level.split_last()?;
        (digits && b"EWIDV".contains(last)).then_some(front)
    };
    shape().unwrap_or(ahead)
}

/// `ESC [ ... m` before the text.
fn without_colour(ahead: &[u8]) -> &[u8] {
    let shape = || {
        let codes = ahead.strip_suffix(b"m")?;
        let open = memmem::rfind(codes, b"\x1b[")?;
        let plain = codes.get(open + 2..)?.iter().all(|byte| byte.is_ascii_digit() || *byte == b';');
        plain.then(|| ahead.get(..open)).flatten()
    };
    shape().unwrap_or(ahead)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn class(line: &str) -> Option<(usize, TextClass)> {
        find(line.as_bytes())
    }

    // Lines as they stand in public logs and in the ESP-IDF documentation; see the top of this file.
    #[test]
    fn each_line_of_a_start_is_known() {
        let start = TextClass::Start { start_up: None, cause: None };
        let rows = [
            ("ets Jul 29 2019 12:21:46", start),
            ("ets Jun  8 2016 00:22:57", start),
            ("ESP-ROM:esp32s3-20210327", start),
            ("rst:0x1 (POWERON_RESET),boot:0x13 (SPI_FAST_FLASH_BOOT)", TextClass::Reset(ResetCause::Power)),
            ("rst:0xc (SW_CPU_RESET),boot:0x13 (SPI_FAST_FLASH_BOOT)", TextClass::Reset(ResetCause::Software)),
            ("rst:0xf (RTCWDT_BROWN_OUT_RESET),boot:0x13", TextClass::Reset(ResetCause::BrownOut)),
            ("rst:0x10 (RTCWDT_RTC_RESET),boot:0x33", TextClass::Reset(ResetCause::Watchdog)),
            ("rst:0x5 (DEEPSLEEP_RESET),boot:0x13", TextClass::Reset(ResetCause::Sleep)),
            ("configsip: 0, SPIWP:0xee", TextClass::StartDetail),
            ("clk_drv:0x00,q_drv:0x00,d_drv:0x00,cs0_drv:0x00,hd_drv:0x00,wp_drv:0x00", TextClass::StartDetail),
            ("mode:DIO, clock div:2", TextClass::StartDetail),
            ("load:0x3fff0018,len:4", TextClass::StartDetail),
            ("ho 0 tail 12 room 4", TextClass::StartDetail),
            ("entry 0x400806a8", TextClass::StartDetail),
            ("I (29) boot: ESP-IDF v4.4 2nd stage bootloader", TextClass::StartDetail),
            ("waiting for download", TextClass::Download),
            ("flash read err, 1000", TextClass::FlashError),
            ("ets_main.c 371", TextClass::FlashError),
            ("invalid header: 0xffffffff", TextClass::FlashError),
        ];
        for (line, expected) in rows {
            assert_eq!(class(line), Some((0, expected)), "{line}");
        }
    }

    #[test]
    fn each_line_of_a_crash_is_known() {
        let rows = [
            ("Guru Meditation Error: Core  0 panic'ed (LoadProhibited). Exception was unhandled.", TextClass::Crash),
            ("Guru Meditation Error: Core 1 panic'ed (Interrupt wdt timeout on CPU1)", TextClass::Watchdog),
            ("Guru Meditation Error: Core  0 panic'ed (Interrupt Watchdog Timeout on CPU0)", TextClass::Watchdog),
            ("Core  0 register dump:", TextClass::Backtrace),
            ("PC      : 0x400d1234  PS      : 0x00060030", TextClass::Backtrace),
            ("Backtrace: 0x400d1234:0x3ffb1f50 0x400d1300:0x3ffb1f70", TextClass::Backtrace),
            ("abort() was called at PC 0x400d1234 on core 1", TextClass::Crash),
            ("assert failed: main main.c:12 (x > 0)", TextClass::Crash),
            ("CORRUPT HEAP: Bad tail at 0x3ffb1f50", TextClass::Crash),
            ("Brownout detector was triggered", TextClass::BrownOut),
            (
                "E (10293) task_wdt: Task watchdog got triggered. The following tasks did not reset the watchdog in time:",
                TextClass::Watchdog,
            ),
            ("\x1b[0;31mE (5316) task_wdt: Tasks currently running:\x1b[0m", TextClass::Watchdog),
        ];
        for (line, expected) in rows {
            assert_eq!(class(line), Some((0, expected)), "{line}");
        }
    }

    #[test]
    fn text_inside_a_line_is_found_where_it_begins() {
        assert_eq!(class("way,poets Jul 29 2019 12:21:46").unwrap().0, 6);
        assert_eq!(class("pace,1\x1b[0;31mE (9) task_wdt: Task watchdog got triggered").unwrap().0, 6);
        assert_eq!(class("D,N,0Core  1 register dump:").unwrap().0, 5);
        assert_eq!(class("c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D."), None);
        assert_eq!(class("assets June"), None);
    }
}
