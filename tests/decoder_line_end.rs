//! A rover file that says LF where the wire has CR LF or CR: the finding says so, and what to write.
#![allow(clippy::unwrap_used)]

use std::sync::Arc;

use wheeltap::engine::Engine;
use wheeltap::findings::{Finding, Layer};
use wheeltap::rover::built_in;
use wheeltap::rover::file::RoverFile;

fn findings(wire: &[u8]) -> Vec<Finding> {
    let file = built_in::find("plain-line").unwrap();
    let rover = Arc::new(RoverFile::load(file.name, file.text).unwrap());
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bytes");
    std::fs::write(&path, wire).unwrap();
    let mut source = wheeltap::source::open::open(path.to_str().unwrap()).unwrap();
    let mut engine = Engine::new(source.link().clone(), Some(rover));
    while let Some(input) = source.next().unwrap() {
        engine.push(input);
    }
    engine.finish();
    engine.findings()
}

fn advice(wire: &[u8], id: &str) -> String {
    let all = findings(wire);
    let found = all.iter().find(|finding| finding.id == id);
    found.map_or_else(
        || format!("no {id} in {:?}", all.iter().map(|f| f.id).collect::<Vec<_>>()),
        |f| f.what_to_do.clone(),
    )
}

#[test]
fn a_cr_before_each_lf_is_named() {
    let wire = b"pace,180\r\nway,port\r\nway,rest\r\n";
    assert!(advice(wire, "not-a-number").contains("write end = \"CR LF\""), "{}", advice(wire, "not-a-number"));
    assert!(advice(wire, "unknown-word").contains("write end = \"CR LF\""), "{}", advice(wire, "unknown-word"));
}

/// Where each line stands alone: a reader of LF gives each up when nothing more comes.
#[test]
fn a_cr_in_place_of_each_lf_is_named() {
    let file = built_in::find("plain-line").unwrap();
    let rover = Arc::new(RoverFile::load(file.name, file.text).unwrap());
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log");
    let lines: Vec<String> = (1..40)
        .map(|n| {
            let text: &[u8] = if n % 2 == 0 { b"way,rest\r" } else { b"way,port\r" };
            let hex = text.iter().fold(String::new(), |all, byte| all + &format!("{byte:02x}"));
            format!("{{\"t_us\":{},\"wire\":\">\",\"hex\":\"{hex}\"}}", n * 1_500_000)
        })
        .collect();
    std::fs::write(&path, lines.join("\n")).unwrap();
    let mut source = wheeltap::source::open::open(path.to_str().unwrap()).unwrap();
    let mut engine = Engine::new(source.link().clone(), Some(rover));
    while let Some(input) = source.next().unwrap() {
        engine.push(input);
    }
    engine.finish();
    let all = engine.findings();
    let cut = all.iter().find(|finding| finding.id == "truncated").unwrap();
    assert!(cut.what_to_do.contains("write end = \"CR\""), "{}", cut.what_to_do);
    assert_eq!(cut.layer, Layer::CommandBoard);
    let verdict = engine.snapshot(engine.now()).verdict;
    assert_eq!(verdict.layers.first().map(|share| share.layer), Some(Layer::CommandBoard));
}

#[test]
fn where_one_line_is_broken_otherwise_nothing_is_said_of_line_ends() {
    let wire = b"pace,180\r\npace,1x0\nway,rest\n";
    assert!(!advice(wire, "not-a-number").contains("CR LF"), "{}", advice(wire, "not-a-number"));
}
