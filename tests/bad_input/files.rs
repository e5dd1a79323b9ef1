//! The files that bad input is tried with.

use std::path::Path;

use wheeltap::rover::built_in;
use wheeltap::session::{Header, Heard, Recorder};
use wheeltap::timing::link::{LinkFacts, WireFacts};
use wheeltap_parsers::Wire;

/// Ten changes to the file of the plain line: what stands there, the key that is at fault, and what is put there.
pub const TEN_FAULTS: [(&str, &str, &str); 10] = [
    ("format = 1", "format", "format = 9"),
    ("name = \"Moonwagon, plain line\"", "rover.name", "name = 7"),
    ("rate = 115200 ", "link.rate", "rate = \"fast\" "),
    ("settings = \"8N1\"", "link.settings", "settings = \"9X9\""),
    ("cadence = \"on change\"", "link.cadence", "cadence = \"sometimes\""),
    ("kind = \"lines\"", "framing.kind", "kind = \"ropes\""),
    ("kind = \"none\"", "check.kind", "kind = \"luck\""),
    ("is = \"forward\"", "move[1].is", "is = \"upward\""),
    ("at_power_up = 140", "at_power_up", "at_power_up = \"much\""),
    ("line = \"way,<way>\"", "line", "line = \"way,<weg>\""),
];

/// Puts all files into `folder`.
pub fn write(folder: &Path) {
    let put = |name: &str, bytes: &[u8]| std::fs::write(folder.join(name), bytes).unwrap();
    std::fs::create_dir(folder.join("folder")).unwrap();
    put("empty", b"");
    let whole = session(&folder.join("whole"));
    put("cut-first", &whole[..40]);
    put("cut-rover", &whole[..2500]);
    put("cut-last", &whole[..whole.len() - 12]);
    put("newer", newer(&whole).as_bytes());
    put("zeros", &[0; 4096]);
    put("not-utf8", b"name = \"\xFF\xFE\"\nway,\xC3\x28\n");
    put("not-toml.toml", b"format = \n[[[\n");
    put("ten-faults.toml", ten_faults().as_bytes());
    put("long-line", &b"a".repeat(1_000_000));
    put("bad-log", b"{\"t_us\":1,\"wire\":\">\",\"hex\":\"41\"}\n{\"t_us\":2,\"wire\":\"^\",\"hex\":\"41\"}\n");
    put("descends", b"{\"t_us\":2,\"wire\":\">\",\"hex\":\"41\"}\n{\"t_us\":1,\"wire\":\">\",\"hex\":\"41\"}\n");
    put("long-log", &[b"{\"t_us\":".as_slice(), &b"1".repeat(1_000_000)].concat());
    put("steers", b"\x1b[31mred\x1b]0;title\x07 \xC2\x9B2J \xE2\x80\xAE way,ahead\nway,ahead\r\n\x9B31m\nway,\x1bc\n");
    put("steers.toml", steers().as_bytes());
}

/// A short sound session of the plain line.
fn session(path: &Path) -> Vec<u8> {
    let file = built_in::find("plain-line").unwrap();
    let mut link = LinkFacts { begun_unix_us: Some(1_777_629_600_000_000), ..LinkFacts::default() };
    let facts = WireFacts { rate: Some(115_200), settings: "8N1".to_owned(), latency: 0, port: "bench".to_owned() };
    link.wires[Wire::ToDrive.index()] = Some(facts);
    let header = Header::new(link, Some((file.name.to_owned(), file.text.to_owned())));
    let mut recorder = Recorder::create(path, &header).unwrap();
    for (t_us, offset, line) in [(1_000_000, 0, b"way,ahead\n"), (2_000_000, 10, b"way,halt.\n")] {
        let bytes = line.as_slice().into();
        recorder.keep(&Heard::Read { wire: Wire::ToDrive, t_us, since_us: 4_000, offset, bytes });
    }
    recorder.close();
    std::fs::read(path).unwrap()
}

/// The same with a first line of version 2.
fn newer(whole: &[u8]) -> String {
    let text = std::str::from_utf8(whole).unwrap();
    let (first, rest) = text.split_once('\n').unwrap();
    let (line, _) = first
        .replacen("session 1.0", "session 2.0", 1)
        .rsplit_once(' ')
        .map(|(a, b)| (a.to_owned(), b.to_owned()))
        .unwrap();
    // The check of a session line: CRC-32C of all before its last space.
    let check = crc::Crc::<u32>::new(&crc::CRC_32_ISCSI).checksum(line.as_bytes());
    format!("{line} {check:08X}\n{rest}")
}

fn ten_faults() -> String {
    let text = built_in::find("plain-line").unwrap().text;
    TEN_FAULTS.iter().fold(text.to_owned(), |text, (right, _, wrong)| {
        assert!(text.contains(right), "`{right}` stands in the file");
        text.replacen(right, wrong, 1)
    })
}

/// A rover file by somebody who does not mean well.
fn steers() -> String {
    let text = built_in::find("plain-line").unwrap().text;
    text.replacen("Moonwagon, plain line", r"\u001b[31mMoon\u009b2Jwagon", 1).replacen(
        "name = \"way\"",
        r#"name = "w\u001b]0;x\u0007ay""#,
        1,
    )
}
