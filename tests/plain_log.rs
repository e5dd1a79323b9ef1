//! Plain logs: what a line says comes through, what is wrong is named by line and key.
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "sessions/heard.rs"]
mod heard;

use std::io::Write;
use std::sync::Arc;

use heard::{Got, all};
use wheeltap::engine::Engine;
use wheeltap::rover::built_in;
use wheeltap::rover::file::RoverFile;
use wheeltap::session::SessionSource;
use wheeltap::source::plain_log::{PlainLog, write_plain_log};
use wheeltap::source::{Source, open};
use wheeltap_parsers::Wire;

fn log(text: &str) -> Result<Vec<Got>, String> {
    let mut file = tempfile::NamedTempFile::new().unwrap();
    file.write_all(text.as_bytes()).unwrap();
    let named = file.path().to_str().unwrap().to_owned();
    let mut log = open(&named).map_err(|error| error.to_string().replace(&named, "FILE"))?;
    Ok(all(&mut *log))
}

fn chunk(wire: Wire, offset: u64, bytes: &[u8], lo: i64, hi: i64, byte_ns: i64) -> Got {
    Got::Chunk { wire, offset, bytes: bytes.to_vec(), lo, hi, byte_ns }
}

#[test]
fn times_bytes_and_ticks() {
    let text = "{\"latency_us\": 2000, \"rate\": 115200}\n\
                {\"t_us\": 10000, \"wire\": \">\", \"hex\": \"6330\"}\n\
                {\"t_us\": 10000, \"wire\": \"<\", \"hex\": \"fF\"}\n\n\
                {\"t_us\": 50000, \"e_us\": 46000, \"wire\": \">\", \"hex\": \"0a\"}\n\
                {\"t_us\": 90000, \"wire\": \">\", \"hex\": \"0a\"}";
    // 115200 baud: 9.75 bits take 84,635 ns.
    let byte = 84_635;
    let expected = [
        // An adapter of 2 ms, and nobody says that the program was awake since the beginning.
        chunk(Wire::ToDrive, 0, b"c0", -2_000_000, 10_000_000, byte),
        chunk(Wire::FromDrive, 0, b"\xFF", -2_000_000, 10_000_000, byte),
        Got::Tick(10_000_000 - 2_000_000),
        chunk(Wire::ToDrive, 2, b"\n", 46_000_000 - 2_000_000, 50_000_000, byte),
        Got::Tick(50_000_000 - 2_000_000),
        // Nor since the read before.
        chunk(Wire::ToDrive, 3, b"\n", 50_000_000 - 2_000_000, 90_000_000, byte),
        Got::Tick(90_000_000 - 2_000_000),
    ];
    assert_eq!(log(text).unwrap(), expected);
}

#[test]
fn without_rate_or_head_a_read_stands_at_its_own_time() {
    let text = "{\"t_us\":5,\"wire\":\"<\",\"hex\":\"4142\"}\n{\"t_us\":9,\"e_us\":2,\"wire\":\">\",\"hex\":\"\"}\n";
    let expected = [
        chunk(Wire::FromDrive, 0, b"AB", 5_000, 5_000, 0),
        // The next read began to wait at 2 us, so no more than that is vouched for.
        Got::Tick(2_000),
        chunk(Wire::ToDrive, 0, b"", 2_000, 9_000, 0),
        Got::Tick(9_000),
    ];
    assert_eq!(log(text).unwrap(), expected);
}

#[test]
fn each_fault_names_line_and_key() {
    let good = "{\"t_us\":5,\"wire\":\">\",\"hex\":\"41\"}\n";
    for (line, words) in [
        ("{\"t_us\":6,\"wire\":\">\"}", "key \"hex\" is missing"),
        ("{\"t_us\":6,\"wire\":\">\",\"hex\":\"4\"}", "odd number of digits"),
        ("{\"t_us\":6,\"wire\":\">\",\"hex\":\"4g\"}", "not a hex digit"),
        ("{\"t_us\":6,\"wire\":\"x\",\"hex\":\"41\"}", "key \"wire\" is \"x\""),
        ("{\"wire\":\">\",\"hex\":\"41\"}", "key \"t_us\" is missing"),
        ("{\"t_us\":6.5,\"wire\":\">\",\"hex\":\"41\"}", "key \"t_us\" is 6.5"),
        ("{\"t_us\":1e300,\"wire\":\">\",\"hex\":\"41\"}", "key \"t_us\""),
        ("{\"t_us\":9223372036854775807,\"wire\":\">\",\"hex\":\"41\"}", "key \"t_us\""),
        ("{\"t_us\":4,\"wire\":\">\",\"hex\":\"41\"}", "4 lies before the line before it, 5"),
        ("{\"t_us\":6,\"e_us\":7,\"wire\":\">\",\"hex\":\"41\"}", "key \"e_us\" lies after"),
        ("{\"t_us\":6,\"when\":7,\"wire\":\">\",\"hex\":\"41\"}", "key \"when\" is not known"),
        ("{\"latency_us\":6}", "first line only"),
        ("[1]", "not a JSON object"),
        ("{\"t_us\":6", "not JSON"),
    ] {
        let message = log(&format!("{good}\n{line}\n{good}")).unwrap_err();
        assert!(
            message.starts_with("FILE: line 3 of this plain log: ") && message.contains(words),
            "{line}: {message}"
        );
    }
    let message = log("{\"rate\":0}\n").unwrap_err();
    assert!(message.contains("line 1") && message.contains("key \"rate\" is 0"), "{message}");
    assert!(log("{\"latency_us\":0}\n").unwrap_err().contains("no line has a read"));
}

#[test]
fn only_wires_that_occur_count_as_tapped() {
    let mut file = tempfile::NamedTempFile::new().unwrap();
    file.write_all(b"{\"t_us\":5,\"wire\":\"<\",\"hex\":\"41\"}\n").unwrap();
    let log = PlainLog::file(file.path()).unwrap();
    assert_eq!(log.link().open_wires().collect::<Vec<_>>(), [Wire::FromDrive]);
}

#[test]
fn a_session_written_as_plain_log_keeps_bytes_and_times() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bench.session");
    heard::write(&path, &heard::heard(60), true);
    let chunks = |got: Vec<Got>| -> Vec<Got> { got.into_iter().filter(Got::is_chunk).collect() };
    let mut out = Vec::new();
    let reads = write_plain_log(&mut out, &mut SessionSource::open(&path).unwrap()).unwrap();
    assert_eq!(reads, 60);
    let text = String::from_utf8(out).unwrap();
    let again = chunks(log(&text).unwrap());
    assert_eq!(again, chunks(all(&mut SessionSource::open(&path).unwrap())));
}

/// A stream is listened to as its first line says, and both its wires count: what is found in it is what is found in the
/// same file.
#[test]
fn a_stream_tells_what_its_file_tells() {
    let text = include_str!("../logs/moonwagon-evening.jsonl");
    let rover = built_in::find("cue-line").unwrap();
    let rover = Arc::new(RoverFile::load(rover.name, rover.text).unwrap());
    let read = |mut log: Box<dyn Source>| {
        let mut engine = Engine::new(log.link().clone(), Some(Arc::clone(&rover)));
        while let Some(input) = log.next().unwrap() {
            engine.push(input);
        }
        engine.finish();
        let found: Vec<(&str, u64)> = engine.findings().iter().map(|finding| (finding.id, finding.count)).collect();
        let lacks: Vec<&str> = engine.not_judged().iter().map(|rule| rule.id).collect();
        let rates = engine.link().wires.each_ref().map(|facts| facts.as_ref().and_then(|facts| facts.rate));
        (found, lacks, rates)
    };
    let mut file = tempfile::NamedTempFile::new().unwrap();
    file.write_all(text.as_bytes()).unwrap();
    let of_file = read(open(file.path().to_str().unwrap()).unwrap());
    let of_stream = read(Box::new(PlainLog::stream("stream", Box::new(text.as_bytes())).unwrap()));
    assert!(!of_file.0.is_empty());
    assert_eq!(of_stream, of_file);
}
