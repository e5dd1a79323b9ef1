//! Dumps made by chance, well-formed and mangled: whatever their timescale, times written twice, and all pins, the source
//! gives inputs in order of time or a fault with its place. It never breaks down.
//!
//! The witness is the standard's grammar (IEEE 1364-2005, clause 18.2), from which the dumps are made here.
#![allow(missing_docs, clippy::unwrap_used)]

use std::fmt::Write;

use wheeltap::source::pins::{Asked, PinsSource, RoverPins};
use wheeltap::source::{Source, SourceError};

/// Chance that is the same in each run (Knuth's 64-bit linear congruence).
struct Chance(u64);

impl Chance {
    fn below(&mut self, of: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % of
    }

    fn one<'a>(&mut self, of: &[&'a str]) -> &'a str {
        of[self.below(of.len())]
    }
}

const SCALES: [&str; 10] = ["1 fs", "10 ps", "1 ns", "100 ns", "1 us", "10 us", "100 us", "1 ms", "100 ms", "100 s"];

/// A wire, a bus and the inputs of all wheels at both places, with changes at random instants; one in three of them is
/// the instant before.
fn well_formed(chance: &mut Chance) -> String {
    let mut text = format!("$timescale {} $end\n$var wire 1 > to_drive $end\n", chance.one(&SCALES));
    text += "$var wire 1 < from_drive $end\n$var reg 8 bus port [7:0] $end\n";
    let mut codes = vec![">".to_owned(), "<".to_owned()];
    for place in ["chip", "wheel"] {
        for wheel in ["fl", "fr", "rl", "rr"] {
            for input in ["in1", "in2", "en"] {
                let code = format!("{place}{wheel}{input}");
                writeln!(text, "$scope module {place} $end $scope module {wheel} $end").unwrap();
                writeln!(text, "$var wire 1 {code} {input} $end $upscope $end $upscope $end").unwrap();
                codes.push(code);
            }
        }
    }
    text += "$enddefinitions $end\n";
    let mut now: u64 = [0, 5, 9_000_000][chance.below(3)];
    let steps: [u64; 6] = [0, 0, 1, 7, 500, if chance.below(8) == 0 { 1_000_000_000_000 } else { 9_000 }];
    let busy = 1 + chance.below(codes.len());
    for _ in 0..chance.below(400) {
        now += steps[chance.below(6)];
        writeln!(text, "#{now}").unwrap();
        for _ in 0..chance.below(4) {
            let code = &codes[chance.below(busy)];
            let level = chance.one(&["0", "1", "0", "1", "0", "1", "x", "z"]);
            match chance.below(12) {
                0 => writeln!(text, "b{level}{level} bus").unwrap(),
                1 => writeln!(text, "b{level} {code}").unwrap(),
                _ => writeln!(text, "{level}{code}").unwrap(),
            }
        }
        if chance.below(60) == 0 {
            writeln!(text, "{} x> xbus $end", chance.one(&["$dumpoff", "$dumpon", "$dumpall", "$comment"])).unwrap();
        }
    }
    text
}

fn mangled(text: &str, chance: &mut Chance) -> Vec<u8> {
    let mut bytes = text.as_bytes().to_vec();
    for _ in 0..=chance.below(4) {
        let at = chance.below(bytes.len());
        match chance.below(5) {
            0 => bytes[at] = b"#$01xzbr! \n\0\xff9-"[chance.below(15)],
            1 => drop(bytes.remove(at)),
            2 => bytes.truncate(at.max(1)),
            3 => bytes.insert(at, b"#019z$ "[chance.below(7)]),
            _ => {
                let line = bytes[at..].iter().take_while(|byte| **byte != b'\n').count();
                let again = bytes[at..at + line].to_vec();
                bytes.splice(at..at, again);
            }
        }
        if bytes.is_empty() {
            bytes.push(b'#');
        }
    }
    bytes
}

/// Reads all of it; how many inputs it gives.
fn read(bytes: Vec<u8>, asked: &Asked) -> Result<usize, SourceError> {
    let mut source = PinsSource::stream("x", bytes, Box::new(std::io::empty()), asked)?;
    let (mut last, mut count) = (i64::MIN, 0);
    while let Some(input) = source.next()? {
        assert!(input.at() >= last, "{input:?} comes after {last}");
        last = input.at();
        count += 1;
    }
    let words = source.words().concat();
    assert!(!words.is_empty(), "nothing is said of what was found");
    if let Some((why, _)) = source.loss() {
        assert!(why.starts_with("x: line ") && why.contains("(byte "), "{why}");
    }
    Ok(count)
}

#[test]
fn no_dump_breaks_the_reader() {
    let mut chance = Chance(42);
    let with_rate = Asked { rover: RoverPins { rate: Some(115_200), ..RoverPins::default() }, ..Asked::default() };
    let named = Asked { wires: vec!["to_drive".to_owned()], ..with_rate.clone() };
    let all = [Asked::default(), with_rate, named];
    let (mut sound, mut given, mut refused) = (0, 0, 0);
    for round in 0..1_200 {
        let text = well_formed(&mut chance);
        let asked = &all[round % 3];
        match read(text.clone().into_bytes(), asked) {
            Ok(count) => (sound, given) = (sound + 1, given + count),
            Err(why) => assert!(why.to_string().starts_with("x: "), "{why}"),
        }
        if let Err(why) = read(mangled(&text, &mut chance), asked) {
            refused += 1;
            assert!(why.to_string().starts_with("x: "), "{why}");
        }
    }
    assert!(sound > 600 && given > 10_000 && refused > 200, "{sound} read, {given} inputs, {refused} refused");
}

/// An enable that rises and falls several times at one instant, as a dump whose times were made coarser has it.
#[test]
fn a_time_that_is_written_again_is_the_same_instant() {
    let head = "$timescale 1 ns $end\n$scope module wheel $end $scope module fl $end\n$var wire 1 a in1 $end\n\
                $var wire 1 b in2 $end\n$var wire 1 c en $end\n$upscope $end $upscope $end\n$enddefinitions $end\n";
    let flickers = "#0\n1a 0b 1c\n#0\n0c\n#0\n1c\n#0\n0c\n#0\n1c\n#0\n0c\n#5\n1c\n#5\n0c\n#5\n1c\n#5\n0c\n#90000000\n";
    assert!(read(format!("{head}{flickers}").into_bytes(), &Asked::default()).unwrap() > 1);
}
