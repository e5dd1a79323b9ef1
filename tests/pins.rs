//! A value-change dump as a source: bytes and their times, duties and their times, the sender's clock, and what is said
//! when it cannot be told which signal is what.
//!
//! The witness is the dump itself, written by hand from the standard's grammar (IEEE 1364-2005, clause 18.2) in
//! `pins/made_dump.rs`. Real firmware writes such dumps in `rig.rs`.
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "pins/given.rs"]
mod given;
#[path = "pins/made_dump.rs"]
mod made_dump;

use given::{given, source, text};
use made_dump::{MadeDump, Wheels};
use wheeltap::source::Source;
use wheeltap::source::pins::{Asked, PinsSource, RoverPins, WheelAsked, WheelPins};
use wheeltap_parsers::{Place, Told, Wire};

const MS: i64 = 1_000_000;
const BIT: f64 = 1e9 / 115_200.0;

const LINES: &[u8] = b"pace,180\nway,port\nway,rest\n";

#[test]
fn bytes_come_with_their_times_whichever_signal_carries_them() {
    let mut dump = MadeDump::default();
    let (lamp, wire) = (dump.signal("board.lamp", '0'), dump.signal("board.txd", '1'));
    dump.pulse(lamp, (MS, 400 * MS), 20 * MS, 9 * MS);
    let end = dump.send(30 * MS, wire, LINES, BIT);
    dump.ends(500 * MS);
    let given = given(&dump.text(), &Asked::default()).unwrap();
    assert_eq!(text(&given.bytes[0]), String::from_utf8(LINES.to_vec()).unwrap());
    for (place, (at, _)) in given.bytes[0].iter().enumerate() {
        let due = 30 * MS + ((place as f64 + 1.0) * 10.0 * BIT) as i64;
        assert!((at - due).abs() <= 100, "byte {place}: {at}, due {due}");
    }
    assert!((given.bytes[0].last().unwrap().0 - end).abs() <= 100);
    assert!(given.ticks.iter().any(|at| *at > 480 * MS), "silence is told by ticks up to the end");
}

#[test]
fn the_clock_of_the_sender_is_told_to_a_tenth_of_a_per_cent() {
    for per_mille in [-45, -35, -8, 0, 21, 45] {
        let mut dump = MadeDump::default();
        let wire = dump.signal("tx", '1');
        dump.send(5 * MS, wire, LINES, BIT * 1000.0 / f64::from(1000 + per_mille));
        let given = given(&dump.text(), &Asked::default()).unwrap();
        assert_eq!(given.bytes[0].len(), LINES.len());
        let clock = given.clocks.last().unwrap();
        let off = clock.error_ppm.unwrap() - i64::from(per_mille) * 1_000;
        assert!(off.abs() < 1_000, "{per_mille} per mille: {clock:?}");
        assert_eq!(clock.framing_errors, 0);
    }
}

#[test]
fn a_low_stop_bit_is_counted_and_an_unknown_level_is_not_heard() {
    let mut dump = MadeDump::default();
    let wire = dump.signal("tx", '1');
    let end = dump.send(5 * MS, wire, LINES, BIT);
    dump.set(end + MS, wire, '0');
    dump.set(end + 2 * MS, wire, '1');
    dump.set(end + 5 * MS, wire, 'x');
    dump.set(end + 9 * MS, wire, '1');
    dump.send(end + 10 * MS, wire, LINES, BIT);
    let given = given(&dump.text(), &Asked::default()).unwrap();
    assert_eq!(given.clocks.last().unwrap().framing_errors, 1);
    assert_eq!(given.bytes[0].len(), 2 * LINES.len() + 1);
    assert_eq!(given.gone, [(end + 5 * MS, true), (end + 9 * MS, false)]);
}

/// Two wires that carry bytes: which is which is told by words of their names, else by a person.
#[test]
fn two_wires_are_told_apart_by_name_or_asked_for() {
    let made = |one: &str, two: &str| {
        let mut dump = MadeDump::default();
        let (one, two) = (dump.signal(one, '1'), dump.signal(two, '1'));
        dump.send(5 * MS, one, LINES, BIT);
        dump.send(9 * MS, two, b"a042 got v111 e00\n", BIT);
        dump.text()
    };
    for (one, two) in [("tap.to_drive", "tap.from_drive"), ("orders", "answers")] {
        let given = given(&made(one, two), &Asked::default()).unwrap();
        assert_eq!([given.bytes[0].len(), given.bytes[1].len()], [LINES.len(), 18]);
    }
    let why = given(&made("mcu.u1", "mcu.u2"), &Asked::default()).err().unwrap();
    for words in ["2 signals carry bytes", "--wire NAME", "mcu.u1 (115200 baud)", "mcu.u2 (115"] {
        assert!(why.contains(words), "{words}: {why}");
    }
    let asked = Asked { wires: vec!["u2".to_owned(), "mcu.u1".to_owned()], ..Asked::default() };
    let given_two = given(&made("mcu.u1", "mcu.u2"), &asked).unwrap();
    assert_eq!([given_two.bytes[0].len(), given_two.bytes[1].len()], [18, LINES.len()]);
    let asked = Asked { wires: vec!["u3".to_owned()], ..Asked::default() };
    let why = given(&made("mcu.u1", "mcu.u2"), &asked).err().unwrap();
    assert!(why.contains("no signal is called `u3` (--wire). Signals: mcu.u1, mcu.u2"), "{why}");
}

#[test]
fn what_nothing_can_be_made_of_is_said_with_the_options() {
    let mut dump = MadeDump::default();
    let pulses = dump.signal("led.green", '0');
    dump.pulse(pulses, (MS, 900 * MS), 2 * MS, MS);
    let why = given(&dump.text(), &Asked::default()).err().unwrap();
    for words in ["made.vcd: no signal looks like bytes", "--wire NAME", "--pins", "Signals: led.green"] {
        assert!(why.contains(words), "{words}: {why}");
    }
    let asked = Asked { wires: vec!["green".to_owned(), "green".to_owned(), "green".to_owned()], ..Asked::default() };
    assert!(given(&dump.text(), &asked).err().unwrap().contains("more than twice"));
}

fn duty(duty: i32) -> Told {
    Told::Duty(duty)
}

/// Duty within 0.5 %, dates within half a millisecond, both places, mirrored wheels by the rover file.
#[test]
fn wheels_are_told_by_their_own_names_at_both_places() {
    let mut dump = MadeDump::default();
    let chip = Wheels::at(&mut dump, "chip");
    let far = Wheels::at(&mut dump, "wheel");
    for (span, duties) in
        [((0, 100 * MS), [0; 4]), ((100 * MS, 300 * MS), [604, -604, 250, 1000]), ((300 * MS, 500 * MS), [0; 4])]
    {
        chip.told(&mut dump, span, duties);
        let crossed = [duties[1], duties[0], duties[2], duties[3]];
        far.told(&mut dump, (span.0 + 3_000, span.1), crossed);
    }
    dump.ends(600 * MS);
    let mut rover = RoverPins::default();
    for wheel in [0, 2] {
        rover.wheels[wheel] = WheelPins { inverted: true, ..WheelPins::default() };
    }
    let given = given(&dump.text(), &Asked { rover, ..Asked::default() }).unwrap();
    let at = |place| given.pins.iter().filter(|pins| pins.place == place).collect::<Vec<_>>();
    let moving = [duty(-604), duty(-604), duty(-250), duty(1000)];
    let due = [(0, [duty(0); 4]), (100 * MS, moving), (300 * MS, [duty(0); 4])];
    for (pins, (when, wheels)) in at(Place::Chip).iter().zip(due) {
        assert!((pins.at - when).abs() <= 500_000, "{pins:?}");
        assert_eq!(pins.wheels, wheels);
    }
    assert_eq!([at(Place::Chip).len(), at(Place::Wheel).len()], [3, 3]);
    assert_eq!(at(Place::Wheel)[1].wheels, [duty(604), duty(604), duty(-250), duty(1000)]);
}

#[test]
fn wheels_are_told_by_the_rover_files_names_by_its_pins_or_by_a_person() {
    let made = |names: [&str; 3]| {
        let mut dump = MadeDump::default();
        let inputs = names.map(|name| dump.signal(name, '0'));
        dump.set(50 * MS, inputs[1], '1');
        dump.pulse(inputs[2], (50 * MS, 200 * MS), MS, 400_000);
        dump.set(200 * MS, inputs[1], '0');
        dump.ends(300 * MS);
        dump.text()
    };
    let names = |all: &[&str]| all.iter().map(|name| (*name).to_owned()).collect::<Vec<_>>();
    let mut rover = RoverPins::default();
    rover.wheels[3] =
        WheelPins { inputs: names(&["B3", "B4"]), enable: Some("BE2".to_owned()), pins: vec![9, 10], inverted: false };
    let none = Told::NotProbed;
    let due = [none, none, none, duty(-400)];
    let by_name = given(&made(["bridge.b3", "bridge.b4", "bridge.be2"]), &Asked { rover, ..Asked::default() }).unwrap();
    assert_eq!((by_name.pins[1].place, by_name.pins[1].wheels), (Place::Wheel, due));
    let person = Asked { pins: vec![WheelAsked::read("chip:RR=x,y,z").unwrap()], ..Asked::default() };
    let by_person = given(&made(["x", "y", "z"]), &person).unwrap();
    assert_eq!((by_person.pins[1].place, by_person.pins[1].wheels), (Place::Chip, due));
    let mut rover = RoverPins::default();
    rover.wheels[3].pins = vec![9, 10];
    let by_pin = given(&made(["board.pin9", "board.D10", "board.pin3"]), &Asked { rover, ..Asked::default() }).unwrap();
    let jumper = [none, none, none, duty(-1000)];
    assert_eq!((by_pin.pins[1].place, by_pin.pins[1].wheels), (Place::Chip, jumper), "no enable is recorded");
    let wrong = Asked { pins: vec![WheelAsked::read("RR=x,y,w").unwrap()], ..Asked::default() };
    let why = given(&made(["x", "y", "z"]), &wrong).err().unwrap();
    assert!(why.contains("no signal is called `w` (--pins RR). Signals: x, y, z"), "{why}");
}

/// A floating input is told as open, from the instant on.
#[test]
fn a_floating_input_is_told_as_open() {
    let mut dump = MadeDump::default();
    let wheels = Wheels::at(&mut dump, "wheel");
    dump.set(80 * MS, wheels.0[1][1], 'z');
    dump.ends(200 * MS);
    let given = given(&dump.text(), &Asked::default()).unwrap();
    let last = given.pins.last().unwrap();
    assert_eq!((last.at, last.wheels), (80 * MS, [duty(0), Told::Open, duty(0), duty(0)]));
}

/// A stream cut in pieces of any size, and a file that is read again from the disk, give the same.
#[test]
fn the_same_dump_gives_the_same_from_file_and_stream() {
    let mut dump = MadeDump::default();
    let wire = dump.signal("tx", '1');
    let wheels = Wheels::at(&mut dump, "wheel");
    dump.send(20 * MS, wire, LINES, BIT);
    wheels.told(&mut dump, (30 * MS, 90 * MS), [300, 300, -300, 1000]);
    wheels.told(&mut dump, (90 * MS, 100 * MS), [0; 4]);
    dump.ends(200 * MS);
    let text = dump.text();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("made.vcd");
    std::fs::write(&path, &text).unwrap();
    let all = |mut source: PinsSource| {
        let mut all = Vec::new();
        while let Some(input) = source.next().unwrap() {
            all.push(format!("{input:?}"));
        }
        all
    };
    let from_file = all(PinsSource::file(&path, &Asked::default()).unwrap());
    assert!(from_file.len() > 40);
    assert_eq!(from_file, all(source(&text, &Asked::default()).unwrap()));
    let half = text.len() / 2;
    let (first, rest) = (text.as_bytes()[..half].to_vec(), text.as_bytes()[half..].to_vec());
    let stream = PinsSource::stream("x", first, Box::new(std::io::Cursor::new(rest)), &Asked::default()).unwrap();
    assert_eq!(from_file, all(stream));
}

/// Whatever stands in it, a dump gives inputs in order of time, or a fault with its line; it never breaks down.
#[test]
fn a_spoilt_dump_is_read_or_refused() {
    let mut dump = MadeDump::default();
    let wire = dump.signal("tx", '1');
    let wheels = Wheels::at(&mut dump, "chip");
    dump.send(MS, wire, LINES, BIT);
    wheels.told(&mut dump, (2 * MS, 40 * MS), [300, -300, 700, 1000]);
    let whole = dump.text().into_bytes();
    let mut seed = 7_u64;
    let mut chance = |of: usize| {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (seed >> 33) as usize % of
    };
    let (mut read, mut refused) = (0, 0);
    for _ in 0..1_500 {
        let mut spoilt = whole.clone();
        for _ in 0..=chance(3) {
            let at = chance(spoilt.len());
            match chance(4) {
                0 => spoilt[at] = b"#$01xzb! \n\0\xff9"[chance(13)],
                1 => drop(spoilt.remove(at)),
                2 => spoilt.truncate(at.max(1)),
                _ => spoilt.insert(at, b"#019z$ "[chance(7)]),
            }
        }
        let source = PinsSource::stream("x", spoilt, Box::new(std::io::empty()), &Asked::default());
        match source.and_then(|mut source| {
            let mut last = i64::MIN;
            while let Some(input) = source.next()? {
                assert!(input.at() >= last);
                last = input.at();
            }
            Ok(())
        }) {
            Ok(()) => read += 1,
            Err(error) => {
                refused += 1;
                assert!(error.to_string().starts_with("x: "), "{error}");
            }
        }
    }
    assert!(read > 200 && refused > 200, "{read} read, {refused} refused");
}

#[test]
fn wires_name_the_facts_of_the_link() {
    let mut dump = MadeDump::default();
    let wire = dump.signal("tap.tx", '1');
    dump.send(MS, wire, LINES, 1e9 / 111_111.0);
    let source = source(&dump.text(), &Asked::default()).unwrap();
    let facts = source.link().wire(Wire::ToDrive).unwrap();
    assert_eq!((facts.rate, facts.latency, facts.port.as_str()), (Some(115_200), 0, "made.vcd tap.tx"));
    assert!(source.link().dump && !source.link().pins);
}
