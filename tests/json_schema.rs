//! Every line of JSON that wheeltap writes, or is to read, fits `tests/golden/decode.schema.json` (JSON Schema, draft
//! 2020-12), and wrong lines do not. The output for the three two-chip logs is frozen beside it.
#![cfg(unix)]
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "json_schema/schema.rs"]
mod schema;
#[path = "at_once/threads.rs"]
mod threads;
#[path = "terminal/without_screen.rs"]
mod without_screen;

use std::collections::BTreeSet;
use std::path::Path;

use serde_json::{Value, json};

use schema::Schema;
use threads::at_once;
use without_screen::Running;

fn published() -> Schema {
    Schema::new(include_str!("golden/decode.schema.json"))
}

/// All lines fit the definition `name`; gives them back.
#[track_caller]
fn all_fit(name: &str, text: &str) -> Vec<Value> {
    let schema = published();
    let lines: Vec<Value> = text.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    for (number, line) in lines.iter().enumerate() {
        assert_eq!(schema.fault(name, line), None, "line {}: {line}", number + 1);
    }
    lines
}

fn run(words: &[&str]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let ended = Running::wheeltap(folder.path(), words).end();
    assert!(ended.code() <= 1, "{}", ended.err);
    ended.text().to_owned()
}

fn log(name: &str) -> String {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("logs").join(format!("two-chip-{name}.jsonl")).display().to_string()
}

#[test]
fn the_validator_knows_each_word_of_the_schema() {
    assert_eq!(published().unknown_keywords(), Vec::<String>::new());
    let other = Schema::new(r#"{"$defs":{"a":{"oneOf":[{"type":"string","maxLength":3}]}}}"#);
    assert_eq!(other.unknown_keywords(), ["a/oneOf/maxLength"]);
}

#[test]
fn the_two_chip_logs_decode_as_frozen() {
    let frozen = [
        ("good", include_str!("golden/two-chip-good.decoded.jsonl")),
        ("brownout", include_str!("golden/two-chip-brownout.decoded.jsonl")),
        ("watchdog", include_str!("golden/two-chip-watchdog.decoded.jsonl")),
    ];
    for (name, frozen) in frozen {
        let now = run(&["decode", &log(name), "--rover", "letter-line", "--json"]);
        for (number, (now, then)) in now.lines().zip(frozen.lines()).enumerate() {
            assert_eq!(now, then, "{name}, line {}", number + 1);
        }
        assert_eq!(now.lines().count(), frozen.lines().count(), "{name}");
        all_fit("decoded", &now);
    }
}

#[test]
fn the_sample_logs_are_plain_logs() {
    for name in ["good", "brownout", "watchdog"] {
        let text = std::fs::read_to_string(log(name)).unwrap();
        assert!(all_fit("plain-log", &text).len() > 100);
    }
}

/// Lines of every kind, with and without a rover file, from files and from the demo.
#[test]
fn every_kind_of_line_fits() {
    let folder = tempfile::tempdir().unwrap();
    let mut seen = BTreeSet::new();
    let mut take = |text: &str| {
        for line in all_fit("decoded", text) {
            let of = |key: &str| line[key].as_str().unwrap_or_default().to_owned();
            seen.insert(format!("{} {}{}", of("kind"), of("event"), of("cause")).trim().to_owned());
        }
    };
    let styles = ["plain-line", "cue-line", "stave", "bead", "ladder"];
    for text in at_once(&styles, |style| run(&["demo", "--like", style, "--headless", "--json", "--for", "4"])) {
        take(&text);
    }
    take(&run(&["decode", &log("brownout"), "--json"]));
    let log = folder.path().join("odd.jsonl");
    std::fs::write(&log, odd()).unwrap();
    all_fit("plain-log", &odd());
    take(&run(&["decode", log.to_str().unwrap(), "--rover", "letter-line", "--json"]));
    take(&run(&["decode", log.to_str().unwrap(), "--rover", "plain-line", "--json"]));
    let session = folder.path().join("all.wheeltap");
    std::fs::write(&session, session_text()).unwrap();
    take(&run(&["decode", session.to_str().unwrap(), "--json"]));
    for kind in [
        "frame",
        "text",
        "noise",
        "finding",
        "summary",
        "damage bad-check",
        "damage truncated",
        "event leg-begins",
        "event leg-ends",
        "event lapse",
        "event note",
        "event port-gone",
        "event port-back",
        "event lost",
    ] {
        assert!(seen.contains(kind), "{kind} was not among {seen:?}");
    }
}

/// A plain log with a bad check, a frame cut short, noise, text, and an order that is left to lapse.
fn odd() -> String {
    let read = |t_us: i64, bytes: &[u8]| {
        let hex = bytes.iter().fold(String::new(), |hex, byte| hex + &format!("{byte:02x}"));
        format!("{{\"t_us\":{t_us},\"e_us\":{},\"wire\":\">\",\"hex\":\"{hex}\"}}\n", t_us - 1000)
    };
    let rows: [(i64, &[u8]); 6] = [
        (100_000, b"D,A,60*00\n"),
        (200_000, b"D,A,60*03\n"),
        (900_000, b"D,A,6"),
        (1_500_000, b"\n\x80\x81\x82\n"),
        (2_000_000, b"#boot cmd rst=B\nhello\n"),
        (2_500_000, b"way,ahead\nway,aft\n"),
    ];
    "{\"latency_us\":0}\n".to_owned() + &rows.map(|(t_us, bytes)| read(t_us, bytes)).concat()
}

/// A session with the lines that only a session has.
fn session_text() -> String {
    let check = crc::Crc::<u32>::new(&crc::CRC_32_ISCSI);
    let lines = [
        "session 1.0 other - -",
        "link > 115200 8N1 0 bench",
        "> 1000 1000 0 way,ahead\\0A",
        "note 2000 heard it squeal",
        "gone 3000 > pulled",
        "back 4000 >",
        "lost 5000 > 12",
        "tick 6000",
    ];
    lines.map(|line| format!("{line} {:08X}\n", check.checksum(line.as_bytes()))).concat()
}

/// A remark of the wheel sheet; its check was made by another program.
const SHEET: &str = "note 6500 seen ahead at low duty: FL forward FR forward RL backward RR forward 9F043C31\n";

#[test]
fn ports_fit() {
    all_fit("port", &run(&["ports", "--json"]));
    let usb = json!({"kind":"port","event":"appeared","path":"/dev/ttyUSB0","description":"adapter","usb":{"vendor":4292,"product":60000,
        "serial":null},"location":"1-2","lasting_name":null,"alike":"","latency_us":17000,"may_reset":null,"opening":"x"});
    assert_eq!(published().fault("port", &usb), None);
    assert_eq!(published().fault("port-gone", &json!({"kind":"port","event":"gone","path":"/dev/ttyUSB0"})), None);
}

#[test]
fn strength_fits() {
    for name in ["good", "brownout"] {
        all_fit("strength", &run(&["decode", &log(name), "--rover", "letter-line", "--strength", "--json"]));
    }
}

/// What the other verbs say: each kind stands in the schema and at its top.
#[test]
fn checks_comparisons_diagnoses_and_columns_fit() {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| {
        let path = folder.path().join(name);
        std::fs::write(&path, text).unwrap();
        path.display().to_string()
    };
    let session = write("all.wheeltap", &(session_text() + SHEET));
    let seen = write(
        "seen.jsonl",
        "{\"kind\":\"observation\",\"test\":\"stand\",\"move\":\"ahead\",\"duty\":\"low\",\
        \"wheels\":{\"FL\":\"forward\",\"FR\":\"forward\",\"RL\":\"forward\",\"RR\":\"backward\"}}\n",
    );
    let rover = ["--rover", "plain-line", "--json"];
    let mut lines = all_fit("check", &run(&["decode", &session, "--check", "--json"]));
    lines.extend(all_fit("comparison", &run(&[&["compare", &session, &session][..], &rover].concat())));
    for file in [&session, &seen] {
        lines.extend(all_fit("diagnosis", &run(&[&["diagnose", file][..], &rover].concat())));
    }
    assert!(lines[2]["sheet"]["rows"].as_array().is_some_and(|rows| rows.len() > 5), "{}", lines[2]);
    let columns = ["export", &session, "--rover", "plain-line", "--columns", "--form", "json"];
    assert!(all_fit("column", &run(&columns)).len() > 16);
    let whole: Value = serde_json::from_str(include_str!("golden/decode.schema.json")).unwrap();
    for name in ["check", "comparison", "diagnosis", "column"] {
        let wanted = json!({ "$ref": format!("#/$defs/{name}") });
        assert!(whole["oneOf"].as_array().unwrap().contains(&wanted), "{name}");
    }
}

/// The observations that `diagnose FILE` takes: the schema and the program agree.
#[test]
fn observations_fit() {
    let lines = [
        json!({"kind":"observation","test":"stand","move":"forward","duty":"low",
            "wheels":{"FL":"forward","FR":"backward","RL":"hums","RR":"not-looked"}}),
        json!({"kind":"observation","test":"floor","move":"left","duty":"high","went":"forward-left","turned":"none"}),
        json!({"kind":"observation","test":"single-wheel","ordered":"FL","sense":"forward","duty":"high",
            "wheels":{"RR":"forward"}}),
        json!({"kind":"observation","test":"look",
            "rollers":{"FL":"other-hand","FR":"as-drawn","RL":"as-drawn","RR":"as-drawn"}}),
        json!({"kind":"observation","test":"tape"}),
        json!({"kind":"observation","test":"correction","ahead":"clockwise","left":"none"}),
        json!({"kind":"exchange","what":"leads","of":["RR"]}),
    ];
    for line in &lines {
        assert_eq!(published().fault("observation", line), None, "{line}");
        let read = wheeltap::report::observations::read(&line.to_string(), &[]);
        assert!(read.is_ok(), "the program itself refuses {line}: {read:?}");
    }
}

/// Each right line with one thing changed that makes it wrong.
#[test]
fn wrong_lines_are_refused() {
    let frame = json!({"kind":"frame","wire":">","t_us":1,"e_us":0,"offset":0,"len":9,"name":"way",
        "fields":{"way":"ahead","n":1.5},"meant":{"FL":60,"FR":60,"RL":60.5,"RR":-60},"flags":["late"]});
    let finding = json!({"kind":"finding","id":"lapse","severity":"fault","layer":"command board","count":1,"first_us":1,
        "last_us":1,"confidence":"certain","says":"a","not":"b","do":"c","check":"d","evidence":[]});
    let stand = json!({"kind":"observation","test":"stand","move":"forward","duty":"low",
        "wheels":{"FL":"forward","FR":"still","RL":"hums","RR":"backward"}});
    let read = json!({"t_us":1,"wire":">","hex":"41"});
    let lapse = json!({"kind":"event","wire":">","t_us":1,"event":"lapse","certain":true});
    let changes: [(&str, &Value, &str, Value); 19] = [
        ("decoded", &frame, "/kind", json!("frames")),
        ("decoded", &frame, "/wire", json!("?")),
        ("decoded", &frame, "/len", json!(0)),
        ("decoded", &frame, "/offset", json!(-1)),
        ("decoded", &frame, "/t_us", json!(1.5)),
        ("decoded", &frame, "/meant/FL", json!(100.1)),
        ("decoded", &frame, "/meant", json!({"FL":0,"FR":0,"RL":0})),
        ("decoded", &frame, "/fields/way", json!([1])),
        ("decoded", &frame, "/flags/0", json!("early")),
        ("decoded", &finding, "/severity", json!("warning")),
        ("decoded", &finding, "/evidence", json!([{"wire":">"}])),
        ("decoded", &finding, "/id", json!("Lapse 2")),
        ("decoded", &lapse, "/event", json!("port-gone")),
        ("decoded", &lapse, "/certain", json!("yes")),
        ("plain-log", &read, "/hex", json!("4")),
        ("plain-log", &read, "/hex", json!("4g")),
        ("observation", &stand, "/duty", json!(40)),
        ("observation", &stand, "/wheels/FL", json!("sideways")),
        ("observation", &stand, "/wheels", json!({})),
    ];
    let schema = published();
    for (name, right, place, wrong) in changes {
        assert_eq!(schema.fault(name, right), None, "{right}");
        let mut line = right.clone();
        *line.pointer_mut(place).unwrap() = wrong;
        assert!(schema.fault(name, &line).is_some(), "{place} of {line}");
        if name == "observation" && place != "/wheels" {
            assert!(wheeltap::report::observations::read(&line.to_string(), &[]).is_err(), "the program takes {line}");
        }
    }
    for (name, right, gone) in [("decoded", &frame, "flags"), ("decoded", &finding, "do"), ("plain-log", &read, "wire")]
    {
        let mut line = right.clone();
        line.as_object_mut().unwrap().remove(gone);
        assert!(schema.fault(name, &line).is_some(), "{gone} is missing in {line}");
        let mut line = right.clone();
        line.as_object_mut().unwrap().insert("more".to_owned(), json!(1));
        assert!(schema.fault(name, &line).is_some(), "more in {line}");
    }
}
