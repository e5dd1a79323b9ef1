//! A session gives back what was heard; whatever happened to the file since is named, line by line.
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "sessions/heard.rs"]
mod heard;

use heard::{Got, all, from_bytes, header, heard, write};
use wheeltap::session::{Heard, SessionSource, append_note};
use wheeltap_parsers::Wire;

fn file(heard: &[Heard], close: bool) -> (tempfile::TempDir, std::path::PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bench.session");
    write(&path, heard, close);
    (folder, path)
}

#[test]
fn what_was_heard_comes_back_with_its_times() {
    let sent = vec![
        Heard::Read {
            wire: Wire::ToDrive,
            t_us: 20_000,
            since_us: 4_100,
            offset: 0,
            bytes: (*b"way=port;\n\0").into(),
        },
        Heard::Note { t_us: 15_000, text: "RL h\u{e4}ngt \\ klemmt\n".into() },
        Heard::Gone { t_us: 30_000, wire: Wire::ToDrive, reason: "the port hung up".into() },
        Heard::Back { t_us: 45_000, wire: Wire::ToDrive },
        Heard::Lost { t_us: 46_000, wire: Wire::FromDrive, count: 7 },
        Heard::Wall { t_us: 46_500, unix_us: 1_777_707_000_296_500, offset_min: 120 },
        Heard::Read { wire: Wire::FromDrive, t_us: 47_000, since_us: 1_000, offset: 7, bytes: [0xFF].into() },
        Heard::Tick { t_us: 50_000 },
    ];
    let (_folder, path) = file(&sent, true);
    let mut session = SessionSource::open(&path).unwrap();
    assert_eq!(*session.header(), header());
    // lo = read - waited - adapter latency; hi = read; shortest byte time = 9.75 bits at 115200 baud.
    let expected = [
        Got::Chunk {
            wire: Wire::ToDrive,
            offset: 0,
            bytes: b"way=port;\n\0".to_vec(),
            lo: 20_000_000 - 4_100_000 - 17_000_000,
            hi: 20_000_000,
            byte_ns: 84_635,
        },
        Got::Other("Note { at: 15000000, text: \"RL h\u{e4}ngt \\\\ klemmt\\n\" }".to_owned()),
        Got::Other("PortGone { at: 30000000, wire: ToDrive }".to_owned()),
        Got::Other("PortBack { at: 45000000, wire: ToDrive }".to_owned()),
        Got::Lost(Wire::FromDrive, 7),
        Got::Chunk {
            wire: Wire::FromDrive,
            offset: 7,
            bytes: vec![0xFF],
            lo: 47_000_000 - 1_000_000 - 2_000_000,
            hi: 47_000_000,
            byte_ns: 84_635,
        },
        Got::Tick(50_000_000 - 17_000_000),
    ];
    assert_eq!(all(&mut session), expected);
    assert_eq!(session.torn(), []);
    assert_eq!(session.position(), 50_000);
    assert_eq!(session.length().unwrap(), 50_000);
}

#[test]
fn cut_anywhere_in_its_tail_it_loses_the_torn_line_and_nothing_else() {
    let (_folder, path) = file(&heard(200), false);
    let bytes = std::fs::read(&path).unwrap();
    let inputs = all(&mut SessionSource::open(&path).unwrap());
    let head_lines = bytes.split(|&byte| byte == b'\n').take_while(|line| !line.starts_with(b">")).count();
    for cut in bytes.len() - 4096..=bytes.len() {
        let left = &bytes[..cut];
        let mut session = from_bytes(left).unwrap();
        let got = all(&mut session);
        let ended = left.split(|&byte| byte == b'\n').count() - 1;
        // A line cut just before its LF is still whole: its check proves it.
        let whole_without_end = bytes.get(cut) == Some(&b'\n');
        let whole = ended - head_lines + usize::from(whole_without_end);
        assert_eq!(got, inputs[..whole], "cut at {cut}");
        let torn = usize::from(!left.ends_with(b"\n") && !whole_without_end);
        assert_eq!(session.torn().len(), torn, "cut at {cut}: {:?}", session.torn());
        if let Some(torn) = session.torn().first() {
            assert_eq!(torn.line, Some(ended as u64 + 1));
            assert_eq!(torn.byte, left.iter().rposition(|&byte| byte == b'\n').unwrap() as u64 + 1);
        }
    }
}

/// A small generator of its own (Marsaglia's xorshift64), so that a failure can be repeated.
struct Dice(u64);

impl Dice {
    fn below(&mut self, limit: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % limit as u64) as usize
    }
}

/// Without `lo`: it depends on the link line, which may be the one that was hit.
fn content(got: &Got) -> String {
    match got {
        Got::Chunk { wire, offset, bytes, hi, .. } => format!("{wire:?} {offset} {bytes:?} {hi}"),
        Got::Tick(_) => "tick".to_owned(),
        other => format!("{other:?}"),
    }
}

#[test]
fn no_flipped_bit_is_ever_taken_silently() {
    let (_folder, path) = file(&heard(40), true);
    let bytes = std::fs::read(&path).unwrap();
    let inputs: Vec<String> = all(&mut SessionSource::open(&path).unwrap()).iter().map(content).collect();
    let body = bytes.windows(3).position(|part| part == b"\n> ").unwrap() + 1;
    let mut dice = Dice(0x5EED);
    let (mut opened, flips) = (0, 5_000);
    for _ in 0..flips {
        let (at, bit) = (dice.below(bytes.len()), dice.below(8));
        let mut hit = bytes.clone();
        hit[at] ^= 1 << bit;
        let Ok(mut session) = from_bytes(&hit) else { continue };
        opened += 1;
        let got: Vec<Got> = all(&mut session);
        assert!(!session.torn().is_empty(), "bit {bit} of byte {at} was taken silently");
        // One line is named, two where the flip made an LF. In the head a damaged link line is felt again later.
        if at >= body {
            assert_eq!(session.torn().len(), 1 + usize::from(hit[at] == b'\n'), "{at}: {:?}", session.torn());
        }
        let mut left = inputs.iter();
        for one in got.iter().filter(|got| !matches!(got, Got::Lost(..))).map(content) {
            assert!(left.any(|input| *input == one), "bit {bit} of byte {at} made up {one}");
        }
        // At most two lines are touched (a flipped LF joins two), so at most two inputs can be missing.
        let kept = got.iter().filter(|got| !matches!(got, Got::Lost(..))).count();
        assert!(kept + 2 >= inputs.len(), "bit {bit} of byte {at} cost {} inputs", inputs.len() - kept);
    }
    assert_eq!(opened, flips, "a single flipped bit never makes a session unreadable");
}

/// Gives one byte a read, as a slow pipe may.
struct Dribble(std::io::Cursor<Vec<u8>>);

impl std::io::Read for Dribble {
    fn read(&mut self, room: &mut [u8]) -> std::io::Result<usize> {
        let one = room.len().min(1);
        self.0.read(&mut room[..one])
    }
}

#[test]
fn how_a_stream_is_cut_makes_no_difference() {
    let (_folder, path) = file(&heard(100), true);
    let bytes = std::fs::read(&path).unwrap();
    let slow = Box::new(Dribble(std::io::Cursor::new(bytes)));
    let mut session = SessionSource::stream("a slow pipe", slow).unwrap();
    assert_eq!(all(&mut session), all(&mut SessionSource::open(&path).unwrap()));
    assert_eq!(session.torn(), []);
}

#[test]
fn rubbish_in_the_middle_costs_the_lines_it_touches() {
    let (_folder, path) = file(&heard(40), true);
    let bytes = std::fs::read(&path).unwrap();
    let inputs: Vec<String> = all(&mut SessionSource::open(&path).unwrap()).iter().map(content).collect();
    let mut dice = Dice(0xB0B);
    for _ in 0..500 {
        let (at, cut, put) = (dice.below(bytes.len()), dice.below(80), dice.below(80));
        let rubbish: Vec<u8> = (0..put).map(|_| dice.below(256) as u8).collect();
        let after = bytes.get(at + cut..).unwrap_or_default();
        let hit = [&bytes[..at], &rubbish, after].concat();
        let Ok(mut session) = from_bytes(&hit) else { continue };
        let mut left = inputs.iter();
        for one in all(&mut session).iter().filter(|got| !matches!(got, Got::Lost(..))).map(content) {
            assert!(left.any(|input| *input == one), "{put} bytes for {cut} at {at} made up {one}");
        }
    }
}

#[test]
fn a_line_taken_out_is_noticed() {
    let (_folder, path) = file(&heard(20), true);
    let text = std::fs::read_to_string(&path).unwrap();
    let body = text.lines().position(|line| line.starts_with('>')).unwrap();
    let without = |gone: usize| -> String {
        let left = text.split_inclusive('\n').enumerate().filter(|(n, _)| *n != gone);
        left.map(|(_, line)| line).collect()
    };
    let count = text.lines().count();
    for gone in body..count - 1 {
        let mut session = from_bytes(without(gone).as_bytes()).unwrap();
        all(&mut session);
        let torn: Vec<String> = session.torn().iter().map(ToString::to_string).collect();
        assert_eq!(torn.len(), 1, "without line {}: {torn:?}", gone + 1);
        assert!(torn[0].contains("missing before this line") || torn[0].contains("closing line"), "{torn:?}");
    }
}

#[test]
fn missing_bytes_are_passed_on_as_lost() {
    let mut sent = heard(9);
    sent.remove(3);
    let (_folder, path) = file(&sent, false);
    let mut session = SessionSource::open(&path).unwrap();
    let lost: Vec<Got> = all(&mut session).into_iter().filter(|got| matches!(got, Got::Lost(..))).collect();
    // The read taken out was the third on its wire: 1 + 3 * 7 bytes.
    assert_eq!(lost, [Got::Lost(Wire::ToDrive, 22)]);
}

#[test]
fn two_sessions_in_one_file_are_told_apart() {
    let (_folder, path) = file(&heard(3), true);
    let once = std::fs::read(&path).unwrap();
    let mut session = from_bytes(&[once.clone(), once].concat()).unwrap();
    assert_eq!(all(&mut session).iter().filter(|got| got.is_chunk()).count(), 3);
    assert!(session.torn()[0].why.contains("second session"), "{:?}", session.torn());
}

#[test]
fn what_is_not_a_session_is_refused_in_words() {
    let sealed =
        |body: &str| format!("{body} {:08X}\n", crc::Crc::<u32>::new(&crc::CRC_32_ISCSI).checksum(body.as_bytes()));
    let newer = sealed("session 2.0 wheeltap 9.0.0 -");
    for (text, words) in [
        ("", "empty"),
        ("hello\nworld\n", "not a session"),
        ("session torn\nworld\n", "not a session"),
        (newer.as_str(), "version 2.0"),
        (sealed("tick 5").as_str(), "not a session"),
        (sealed("session x wheeltap 9.0.0 -").as_str(), "not a number"),
    ] {
        let message = from_bytes(text.as_bytes()).err().unwrap_or_default();
        assert!(message.starts_with("test: ") && message.contains(words), "{text:?}: {message}");
    }
    let minor = sealed("session 1.9 wheeltap 9.0.0 -") + &sealed("volts 5 7412") + &sealed("tick 7");
    let mut session = from_bytes(minor.as_bytes()).unwrap();
    assert_eq!(all(&mut session), [Got::Tick(7_000)]);
    assert_eq!(session.torn(), []);
}

#[test]
fn going_to_a_time_finds_the_last_line_not_after_it() {
    let (_folder, path) = file(&heard(20_000), true);
    let mut bytes = std::fs::read(&path).unwrap();
    // Torn lines all over, one of them long: they must not lead the search astray.
    for at in (200_000..bytes.len() - 1).step_by(90_000) {
        if bytes[at] != b'\n' {
            bytes[at] ^= 1;
        }
    }
    std::fs::write(&path, &bytes).unwrap();
    assert!(bytes.len() > 1 << 20, "the file is long enough for bisection: {} bytes", bytes.len());
    let mut session = SessionSource::open(&path).unwrap();
    let mut times = Vec::new();
    while wheeltap::source::Source::next(&mut session).unwrap().is_some() {
        times.push(session.position());
    }
    times.dedup();
    assert_eq!(session.length().unwrap(), *times.last().unwrap());
    let torn = session.torn().len();
    assert!(torn > 5, "{torn} torn lines");
    let mut dice = Dice(7);
    let between = (0..300).map(|_| dice.below(200_100_000) as i64);
    let exact = times.iter().copied().step_by(97);
    for t_us in between.chain(exact).collect::<Vec<_>>() {
        session.seek(t_us).unwrap();
        wheeltap::source::Source::next(&mut session).unwrap();
        let expected = times[times.partition_point(|time| *time <= t_us).saturating_sub(1)];
        assert_eq!(session.position(), expected, "went to {t_us}");
    }
    assert_eq!(session.torn().len(), torn, "a torn line is named once however often it is read");
    for (t_us, expected) in [(0, times[0]), (-5, times[0]), (i64::MAX, *times.last().unwrap())] {
        session.seek(t_us).unwrap();
        wheeltap::source::Source::next(&mut session).unwrap();
        assert_eq!(session.position(), expected);
    }
    session.seek(0).unwrap();
    let again = all(&mut session);
    assert_eq!(again.len(), all(&mut SessionSource::open(&path).unwrap()).len());
}

#[test]
fn a_stream_cannot_be_rewound_and_says_so() {
    let (_folder, path) = file(&heard(3), true);
    let mut session = from_bytes(&std::fs::read(&path).unwrap()).unwrap();
    assert!(session.seek(0).unwrap_err().to_string().contains("save it to a file"));
}

#[test]
fn a_desk_note_can_be_added_after_the_end_and_after_a_torn_tail() {
    let (_folder, path) = file(&heard(3), true);
    append_note(&path, 1_500, "the wheel was lifted here").unwrap();
    let note = Got::Other("Note { at: 1500000, text: \"the wheel was lifted here\" }".to_owned());
    let mut session = SessionSource::open(&path).unwrap();
    assert_eq!(all(&mut session).get(1), Some(&note), "between the reads at 1 ms and 11 ms");
    assert_eq!(session.torn(), []);
    assert_eq!(session.length().unwrap(), 21_000);
    let bytes = std::fs::read(&path).unwrap();
    std::fs::write(&path, &bytes[..bytes.len() - 5]).unwrap();
    append_note(&path, 1_500, "the wheel was lifted here").unwrap();
    let mut session = SessionSource::open(&path).unwrap();
    assert_eq!(all(&mut session).get(1), Some(&note), "between the reads at 1 ms and 11 ms");
    assert_eq!(session.torn().len(), 1);
    let other = path.with_file_name("other.txt");
    std::fs::write(&other, "shopping\n").unwrap();
    assert!(append_note(&other, 0, "x").is_err());
    assert_eq!(std::fs::read_to_string(&other).unwrap(), "shopping\n");
}
