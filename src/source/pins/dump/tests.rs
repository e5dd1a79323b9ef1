//! The reader of dumps against the standard's own forms, and against what is no dump.
#![allow(clippy::unwrap_used)]

use super::*;

/// Every declaration command, scope type and value form of clause 18.2, written by hand.
const WHOLE: &str = "$date May 1, 2031 $end\n$version by hand $end\n$comment a b\n c $end\n$timescale 10 ns $end\n\
    $scope module top $end\n$var wire 1 ! tx $end\n$var reg 4 (k port [3:0] $end\n$var real 64 \"# volts $end\n\
    $scope begin inner $end\n$var trireg 1 ! alias $end\n$var integer 32 ~~~ count $end\n$upscope $end\n$upscope $end\n\
    $enddefinitions $end\n#0\n$dumpvars\n1!\nbx (k\nr0 \"#\nb0 ~~~\n$end\n#5\n0!\nb10z (k\n$comment 0! #3 $end\n\
    R-1.25e3 \"#\n#7\n$dumpoff\nx!\nbX (k\n$end\n#9\n$dumpon\nZ!\nB1010 (k\n$end\n#9\n$dumpall\n1!\n$end\n";

#[derive(Debug, PartialEq)]
enum Seen {
    Time(i64),
    Scalar(String, Level),
    Vector(String, String),
}

fn seen(text: &str) -> Result<Vec<Seen>, String> {
    let told = |fault| match fault {
        DumpFault::Place(spot, why) => format!("{}: {why}", spot.line),
        DumpFault::Io(error) => error.to_string(),
    };
    let mut dump = Dump::open(text.as_bytes()).map_err(told)?;
    let signals = dump.signals().to_vec();
    let name = |code: u32| signals.iter().find(|signal| signal.code == code).unwrap().name.clone();
    let mut all = Vec::new();
    while let Some(step) = dump.next().map_err(told)? {
        all.push(match step {
            Step::Time(time) => Seen::Time(time),
            Step::Scalar(code, level) => Seen::Scalar(name(code), level),
            Step::Vector(code, bits) => Seen::Vector(name(code), String::from_utf8(bits.to_vec()).unwrap()),
        });
    }
    Ok(all)
}

#[test]
fn every_form_of_the_standard_is_read() {
    let dump = Dump::open(WHOLE.as_bytes()).unwrap();
    let names: Vec<&str> = dump.signals().iter().map(|signal| signal.name.as_str()).collect();
    let ports = ["top.port[0]", "top.port[1]", "top.port[2]", "top.port[3]"];
    assert_eq!(names[..6], [&["top.tx"], &ports[..], &["top.inner.alias"]].concat());
    assert_eq!(names.len(), 6 + 32);
    assert_eq!(dump.codes.count, 4);
    let (tx, port, count) = ("top.tx".to_owned(), "top.port[0]".to_owned(), "top.inner.count[0]".to_owned());
    let scalar = |level| Seen::Scalar(tx.clone(), level);
    let vector = |bits: &str| Seen::Vector(port.clone(), bits.to_owned());
    let due = vec![
        Seen::Time(0),
        scalar(Level::High),
        vector("x"),
        Seen::Vector(count, "0".to_owned()),
        Seen::Time(50_000),
        scalar(Level::Low),
        vector("10z"),
        Seen::Time(70_000),
        scalar(Level::Unknown),
        vector("X"),
        Seen::Time(90_000),
        scalar(Level::Floating),
        vector("1010"),
        Seen::Time(90_000),
        scalar(Level::High),
    ];
    assert_eq!(seen(WHOLE), Ok(due));
}

#[test]
fn every_unit_of_time_is_known() {
    for (said, picos) in [
        ("1s", 1_000_000_000_000),
        ("100 ms", 100_000_000_000),
        ("10us", 10_000_000),
        ("1 ns", 1_000),
        ("100ps", 100),
        ("100 fs", 0),
    ] {
        let text = format!("$timescale {said} $end $enddefinitions $end #1 ");
        assert_eq!(seen(&text), Ok(vec![Seen::Time(picos)]), "{said}");
    }
    let text = "$timescale 10fs $end $enddefinitions $end #123456 ";
    assert_eq!(seen(text), Ok(vec![Seen::Time(1_234)]));
}

#[test]
fn what_is_wrong_is_said_with_its_line_and_what_to_do() {
    let head = "$timescale 1 ns $end $var wire 1 ! a $end\n$enddefinitions $end\n";
    for (text, words) in [
        ("$timescale 3 ns $end", "1: the timescale `3ns` is not known. Allowed: 1, 10 or 100"),
        ("$var\n wire", "the dump ends inside its header: `$end` is missing"),
        ("$date x $end", "1: the dump ends before `$enddefinitions`"),
        ("$scope module a $end\n$wire 1 $end", "2: `$wire` is no keyword of a dump's header"),
        ("$var wire 1 ! $end", "1: a variable needs four words"),
        ("$var wire one ! a $end", "1: the size `one` of `a`"),
        ("$var wire 1 ! a $end\n$enddefinitions $end", "2: the header states no `$timescale`"),
        (&format!("{head}#5\n#4\n"), "4: the time lies before"),
        (&format!("{head}#99999999999999999999\n"), "3: the time `#99999999999999999999` lies beyond 106 days. Cut"),
        (&format!("{head}#-1\n"), "3: `#-1` is no time: that is `#` and a whole number"),
        (&format!("{head}#12.5\n"), "3: `#12.5` is no time"),
        (&format!("{head}#abc\n"), "3: `#abc` is no time"),
        (&format!("{head}#\n"), "3: `#` is no time"),
        ("$timescale 1 ns $end\n$timescale 10 ns $end\n", "2: the header states a second `$timescale`"),
        ("$timescale 1 ns $end\n$var wire 0 ! a $end\n", "2: the size of `a` is 0"),
        (&format!("{head}r1.5 !\n"), "3: a real number for `a`, which the header declares as levels"),
        (&format!("{head}b101 !\n"), "3: a value of 3 bits for `a`, which has 1"),
        (
            &format!("{head}#1\n$comment half\n0!\n$dumpall 1! $end\n"),
            "4: a `$comment` begins here and has no `$end` before",
        ),
        (&format!("{head}#1\n1%\n"), "4: a value of a variable that the header does not declare"),
        (&format!("{head}b102 !\n"), "3: a vector has a bit that is none of"),
        (&format!("{head}#1\nhello\n"), "4: `hello` is no time, no value and no keyword"),
    ] {
        let error = seen(text).unwrap_err();
        assert!(error.contains(words), "{text}: {error}");
    }
}

/// A dump cut anywhere: its header is missed with a word of it, behind the header nothing is made up.
#[test]
fn a_dump_cut_at_any_byte_gives_a_beginning_of_the_whole() {
    let whole = seen(WHOLE).unwrap();
    let header = WHOLE.find("$enddefinitions").unwrap() + "$enddefinitions".len();
    for cut in 0..WHOLE.len() {
        match seen(&WHOLE[..cut]) {
            Ok(part) => {
                assert!(cut >= header, "byte {cut}");
                // The last time, or the last code of a vector, may have lost digits.
                let sure = part.len().saturating_sub(1);
                assert_eq!(part[..sure], whole[..sure], "byte {cut}");
            }
            Err(error) => assert!(cut < header && error.contains(". "), "byte {cut}: {error}"),
        }
    }
}

/// What the end of a dump took with it, with its place: bytes from 0, counted by hand from the text.
#[test]
fn what_the_end_took_is_said_with_its_line_and_byte() {
    let head = "$timescale 1 ns $end $var wire 1 ! a $end\n$enddefinitions $end\n";
    let loss = |rest: &str| {
        let text = format!("{head}{rest}");
        let mut dump = Dump::open(text.as_bytes()).unwrap();
        while dump.next().unwrap().is_some() {}
        let loss = dump.loss();
        loss.map(|loss| (loss.spot.line, loss.spot.byte as usize - head.len(), loss.sure, loss.why))
    };
    assert_eq!(loss("#1\n1!\n"), None);
    for (rest, line, byte, sure, words) in [
        ("#210\n1!\n#21", 5, 8, true, "the dump ends inside a word, `#21`. It was cut there"),
        ("#210\n1!\n#2100", 5, 8, false, "the dump ends with `#2100` and no end of a line"),
        ("#210\n1!\n#220\n1", 6, 13, true, "the dump ends inside a word, `1`"),
        ("#210\nb1", 4, 5, true, "the dump ends with a value and no code"),
        ("#210\nb1 ?", 4, 8, true, "the dump ends inside a word, `?`"),
        ("#210\n1!\n$comment half of it\n#300\n0!\n", 5, 8, true, "a `$comment` begins here and has no `$end`, so all"),
    ] {
        let (at, place, certain, why) = loss(rest).unwrap();
        assert_eq!((at, place, certain), (line, byte, sure), "{rest}: {why}");
        assert!(why.contains(words), "{rest}: {why}");
    }
}

/// A variable of several bits may be written by one letter, which is filled at its left (clause 18.2.1); zeros at the left
/// of a value that is too long say nothing; a mark of UTF-8 before the first word is no part of it.
#[test]
fn values_written_short_or_long_are_what_they_say() {
    let text =
        "\u{feff}$timescale 1 ns $end $var wire 4 ! a $end $var wire 1 ? b $end $enddefinitions $end #0 1! x! b001 ? ";
    let name = || "a[0]".to_owned();
    let due = vec![
        Seen::Time(0),
        Seen::Vector(name(), "1".to_owned()),
        Seen::Vector(name(), "x".to_owned()),
        Seen::Vector("b".to_owned(), "001".to_owned()),
    ];
    assert_eq!(seen(text), Ok(due));
}
