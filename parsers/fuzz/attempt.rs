//! What each fuzz target tries with the bytes it is given; the corpus is tried the same way by an ordinary test.

use std::sync::Arc;

use wheeltap::rover::file::RoverFile;
use wheeltap::session::SessionSource;
use wheeltap::source::Source;
use wheeltap_parsers::{Chunk, Decoder, Profile, Record, What, Wire};

#[path = "../tests/links/wagon.rs"]
mod wagon;

/// The links of a target by its name; none for the two file readers.
fn links(target: &str) -> Vec<Arc<Profile>> {
    match target {
        "lines" => vec![wagon::cue(), wagon::plain(), wagon::starred()],
        "markers" => vec![wagon::stave()],
        "cobs" => vec![wagon::bead()],
        "slip" => vec![wagon::slipped()],
        "stuffed" => vec![wagon::stuffed()],
        "fixed" => vec![wagon::bare(), wagon::blind(), wagon::led()],
        "sync_length" => vec![wagon::ladder()],
        _ => Vec::new(),
    }
}

/// Every target.
pub const TARGETS: [&str; 9] =
    ["lines", "markers", "cobs", "slip", "stuffed", "fixed", "sync_length", "rover_file", "session"];

/// Tries `bytes` as target `target` does. Panics where a promise is broken.
pub fn attempt(target: &str, bytes: &[u8]) {
    match target {
        "rover_file" => rover_file(bytes),
        "session" => session(bytes),
        _ => links(target).iter().for_each(|profile| link(profile, bytes)),
    }
}

/// The first byte says how long reads are; the rest is the wire. Whole or in reads, the records are the same, and they
/// tile the wire; a frame is written back as it stood.
fn link(profile: &Arc<Profile>, bytes: &[u8]) {
    let Some((len, wire)) = bytes.split_first() else { return };
    let whole = records(profile, wire, wire.len().max(1));
    let cut = records(profile, wire, usize::from(*len).max(1));
    assert_eq!(whole, cut, "the cutting changes what is found");
    let end = whole.iter().fold(0, |at, (offset, len, _)| {
        assert_eq!(at, *offset, "the records leave a hole or overlap");
        offset + len
    });
    assert_eq!(end, wire.len() as u64);
}

fn records(profile: &Arc<Profile>, wire: &[u8], len: usize) -> Vec<(u64, u64, String)> {
    let mut all = Vec::new();
    let mut sink = |record: &Record<'_>| {
        if let What::Frame { kind, values, .. } = record.what {
            assert!(profile.encode(kind, values).is_ok(), "a frame that cannot be written");
        }
        all.push((record.offset, record.len, format!("{:?}", record.what)));
    };
    let mut decoder = Decoder::new(Wire::ToDrive, Arc::clone(profile));
    let mut offset = 0;
    for bytes in wire.chunks(len) {
        decoder.push(&Chunk { wire: Wire::ToDrive, offset, bytes, lo: 0, hi: 0, byte_ns: 0 }, &mut sink);
        assert!(decoder.carried() <= profile.longest + 1024, "{} bytes held back", decoder.carried());
        offset += bytes.len() as u64;
    }
    decoder.cut(&mut sink);
    all
}

/// A file loads and its profiles are sound, or it has a fault with its line.
fn rover_file(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    match RoverFile::load("tried.toml", text) {
        Ok(rover) => {
            rover.profiles.iter().flatten().for_each(|profile| assert_eq!(profile.faults(), Vec::<String>::new()))
        }
        Err(faults) => assert!(!faults.is_empty() && faults.iter().all(|fault| fault.line > 0)),
    }
}

/// A session is read to its end, or refused with a reason.
fn session(bytes: &[u8]) {
    let stream = Box::new(std::io::Cursor::new(bytes.to_vec()));
    let Ok(mut source) = SessionSource::stream("tried", stream) else { return };
    let mut given = 0;
    while let Ok(Some(_)) = source.next() {
        given += 1;
        assert!(given <= 2 * bytes.len() + 2, "more inputs than lines");
    }
}
