//! A recorded session of plain lines, for tests of the verbs.

use std::path::{Path, PathBuf};

use wheeltap::session::{Header, Heard, Recorder};
use wheeltap::timing::link::{LinkFacts, WireFacts};
use wheeltap_parsers::Wire;

/// Orders of the plain line, with free text between them in which names stand.
pub const TALK: [&str; 7] = [
    "way,port",
    "net up ssid Hollow Barn psk tin-kettle-7",
    "pace,71",
    "seen 02:00:5e:10:00:01",
    "way,rest",
    "heap 91k",
    "way,ahead",
];

/// The same, each read bringing this many whole lines.
#[allow(dead_code)]
pub fn session_in_reads(folder: &Path, lines: &[&str], together: usize) -> PathBuf {
    let reads: Vec<String> = lines.chunks(together).map(|some| some.join("\n") + "\n").collect();
    session_of(folder, &reads, usize::MAX)
}

/// A session of text lines with the plain line's rover file, one line every 100 ms, read in pieces of seven bytes.
pub fn plain_session(folder: &Path, lines: &[&str]) -> PathBuf {
    let texts: Vec<String> = lines.iter().map(|line| format!("{line}\n")).collect();
    session_of(folder, &texts, 7)
}

/// Its head: names of a network and of a device stand in it.
pub fn plain_head() -> Header {
    let port = "/dev/serial/by-id/usb-serial_A5069RR4-if00".to_owned();
    let facts = WireFacts { rate: Some(115_200), settings: "8N1".to_owned(), latency: 1_000_000, port };
    let link = LinkFacts {
        wires: [Some(facts), None],
        begun_unix_us: Some(1_777_707_000_250_000),
        utc_offset_min: 120,
        ..LinkFacts::default()
    };
    let rover = include_str!("../../src/rover/files/plain-line.toml").to_owned() + "# bench, ssid=\"Hollow Barn\"\n";
    Header::new(link, Some(("plain-line.toml".to_owned(), rover)))
}

/// One text every 100 ms, in pieces of so many bytes.
fn session_of(folder: &Path, texts: &[String], piece: usize) -> PathBuf {
    let path = folder.join("plain.wheeltap");
    let mut recorder = Recorder::create(&path, &plain_head()).unwrap();
    let (mut t_us, mut offset) = (100_000, 0);
    for text in texts {
        for piece in text.as_bytes().chunks(piece) {
            let read = Heard::Read { wire: Wire::ToDrive, t_us, since_us: 900, offset, bytes: piece.into() };
            recorder.keep(&read);
            offset += piece.len() as u64;
            t_us += 2_000;
        }
        t_us += 100_000;
    }
    recorder.close();
    path
}
