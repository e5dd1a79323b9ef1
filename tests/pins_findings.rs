//! What the pins told against what was meant: each cause is named, its look-alikes are not, and without pins nothing is
//! said.
//!
//! The orders are golden frames of the cue line, worked out before any of this was written (those of the rig's own
//! reader); the pins are set by hand.
#![allow(missing_docs, clippy::unwrap_used)]

use std::sync::Arc;

use wheeltap::engine::Engine;
use wheeltap::findings::{Finding, Need};
use wheeltap::rover::built_in;
use wheeltap::rover::file::RoverFile;
use wheeltap::rover::wheels::Wheel;
use wheeltap::timing::link::{LinkFacts, WireFacts};
use wheeltap_parsers::{Chunk, Input, Pins, Place, Told, Wire};

const MS: i64 = 1_000_000;

/// A plain line's rover: `way,ahead` at `pace,180` (71 %), nothing would stop it.
struct Bench {
    engine: Engine,
    offsets: [u64; 2],
    now: i64,
}

impl Bench {
    fn of(style: &str, pins: bool) -> Self {
        let file = built_in::find(style).unwrap();
        let rover = Arc::new(RoverFile::load(file.name, file.text).unwrap());
        let facts = WireFacts { rate: Some(115_200), settings: "8N1".to_owned(), latency: 0, port: "dump".to_owned() };
        let link = LinkFacts { wires: [Some(facts.clone()), Some(facts)], dump: true, pins, ..LinkFacts::default() };
        Self { engine: Engine::new(link, Some(rover)), offsets: [0; 2], now: 0 }
    }

    fn hears(&mut self, at: i64, wire: Wire, bytes: &[u8]) -> &mut Self {
        self.now = at * MS;
        let offset = self.offsets[wire.index()];
        self.offsets[wire.index()] += bytes.len() as u64;
        let byte_ns = 84_635;
        self.engine.push(Input::Chunk(Chunk { wire, offset, bytes, lo: self.now, hi: self.now, byte_ns }));
        self.engine.push(Input::Tick(self.now));
        self
    }

    fn orders(&mut self, at: i64, line: &str) -> &mut Self {
        self.hears(at, Wire::ToDrive, line.as_bytes())
    }

    fn tells(&mut self, at: i64, place: Place, duties: [i32; 4]) -> &mut Self {
        self.pins(at, place, duties.map(Told::Duty))
    }

    fn pins(&mut self, at: i64, place: Place, wheels: [Told; 4]) -> &mut Self {
        self.engine.push(Input::Pins(Pins { at: at * MS, place, wheels }));
        self.engine.push(Input::Tick(at * MS));
        self
    }

    /// Findings of the pins at the end.
    fn found(&mut self) -> Vec<Finding> {
        self.engine.finish();
        self.engine.findings().into_iter().filter(|finding| finding.id.starts_with("pins-")).collect()
    }

    fn ids(&mut self) -> Vec<(&'static str, Option<Wheel>)> {
        self.found().iter().map(|finding| (finding.id, finding.wheel)).collect()
    }
}

/// Ahead at 71 % with the pins of both places as given, then rest.
fn leg(bench: &mut Bench, chip: Option<[i32; 4]>, far: Option<[i32; 4]>) {
    for (place, duties) in [(Place::Chip, chip), (Place::Wheel, far)] {
        duties.map(|_| bench.tells(10, place, [0; 4]));
    }
    bench.orders(100, "pace,180\n");
    bench.orders(1_000, "way,ahead\n");
    for (place, duties) in [(Place::Chip, chip), (Place::Wheel, far)] {
        duties.map(|duties| bench.tells(1_003, place, duties));
    }
    bench.orders(2_000, "way,rest\n");
    for (place, duties) in [(Place::Chip, chip), (Place::Wheel, far)] {
        duties.map(|_| bench.tells(2_003, place, [0; 4]));
    }
    bench.orders(3_000, "way,rest\n");
}

/// 180 of 255, thousandths.
const D: i32 = 706;

#[test]
fn the_drive_boards_firmware_is_named_by_its_own_pins() {
    let mut bench = Bench::of("plain-line", true);
    leg(&mut bench, Some([D, D, -D, D]), Some([D, D, -D, D]));
    let found = bench.found();
    let [one] = found.as_slice() else { panic!("{found:#?}") };
    assert_eq!(
        (one.id, one.wheel, one.count, one.layer.id()),
        ("pins-firmware", Some(Wheel::RL), 1, "drive board's reader")
    );
    assert!(one.says.contains("RL: meant was +70.6 %, the chip told -70.6 % (the other way)"), "{}", one.says);
    // Dated by its own threshold: the line's time on the wire and 20 ms after the order.
    assert!((one.first - 1_021 * MS).abs() < 2 * MS, "{}", one.first);
}

#[test]
fn the_loom_is_named_by_both_ends() {
    let mut bench = Bench::of("plain-line", true);
    leg(&mut bench, Some([D; 4]), Some([D, 0, D, D]));
    let found = bench.found();
    let [one] = found.as_slice() else { panic!("{found:#?}") };
    assert_eq!((one.id, one.wheel), ("pins-loom", Some(Wheel::FR)));
    assert!(
        one.says.contains("the chip told +70.6 %, the wheel's inputs were told 0.0 % (it does not turn)"),
        "{}",
        one.says
    );
}

#[test]
fn neither_is_named_by_the_far_end_alone() {
    let mut bench = Bench::of("plain-line", true);
    leg(&mut bench, None, Some([277, D, D, D]));
    let found = bench.found();
    let [one] = found.as_slice() else { panic!("{found:#?}") };
    assert_eq!((one.id, one.wheel, one.confidence.id()), ("pins-apart", Some(Wheel::FL), "possible"));
    assert!(one.says.contains("(0.39 times the duty)"), "{}", one.says);
    assert!(one.what_to_do.contains("Record the drive board's own pins"));
}

#[test]
fn an_open_input_is_a_parting_while_it_should_turn() {
    let mut bench = Bench::of("plain-line", true);
    bench.tells(10, Place::Chip, [0; 4]).orders(100, "pace,180\n").orders(1_000, "way,ahead\n");
    bench.tells(1_003, Place::Chip, [D; 4]);
    let duty = Told::Duty(D);
    bench.pins(1_003, Place::Wheel, [duty, duty, duty, Told::Open]);
    bench.orders(2_000, "way,rest\n").tells(2_003, Place::Chip, [0; 4]).tells(2_003, Place::Wheel, [0; 4]);
    bench.orders(3_000, "way,rest\n");
    let found = bench.found();
    assert_eq!(found.len(), 1, "{found:#?}");
    assert!(found[0].says.contains("RR:") && found[0].says.contains("an input is open"), "{}", found[0].says);
}

/// Within 1 % and 20 ms the pins follow.
#[test]
fn pins_that_follow_are_no_parting() {
    let mut bench = Bench::of("plain-line", true);
    leg(&mut bench, Some([D + 10, D - 10, D, D]), Some([D + 10, D, D + 3, D]));
    bench.orders(4_000, "way,ahead\n").tells(4_019, Place::Chip, [D; 4]).tells(4_019, Place::Wheel, [D; 4]);
    bench.orders(5_000, "way,rest\n").tells(5_018, Place::Chip, [0; 4]).tells(5_018, Place::Wheel, [0; 4]);
    bench.orders(6_000, "way,rest\n");
    assert_eq!(bench.ids(), []);
}

/// The drive board starts anew: its pins rest, and it says so 150 ms later. That is a reset, not its table.
#[test]
fn a_reset_of_the_drive_board_is_no_parting() {
    let mut bench = Bench::of("cue-line", true);
    let order = "c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.\n";
    let told = [618, -228, -228, 618];
    bench.tells(10, Place::Chip, [0; 4]);
    for at in [1_000, 1_050, 1_100] {
        bench.orders(at, order);
    }
    bench.tells(1_003, Place::Chip, told).pins(1_110, Place::Chip, [Told::Open; 4]).tells(1_140, Place::Chip, [0; 4]);
    bench.hears(1_260, Wire::FromDrive, hello().as_bytes());
    bench.hears(2_000, Wire::FromDrive, hello().as_bytes());
    assert_eq!(bench.ids(), []);
}

/// `=up 1.3 sag #....`: its check by the bitwise CRC of the reference crate, with the rover file's parameters.
fn hello() -> String {
    let text = "=up 1.3 sag ";
    let algorithm = crc::Algorithm {
        width: 16,
        poly: 0x1021,
        init: 0x5A17,
        refin: false,
        refout: false,
        xorout: 0,
        check: 0,
        residue: 0,
    };
    let algorithm: &'static crc::Algorithm<u16> = Box::leak(Box::new(algorithm));
    format!("{text}#{:04X}.\n", crc::Crc::<u16>::new(algorithm).checksum(text.as_bytes()))
}

/// The tap hears a broken line; the drive board may have heard a whole one, or the other way round: nobody can say.
#[test]
fn a_damaged_line_is_no_parting() {
    let mut bench = Bench::of("plain-line", true);
    bench.tells(10, Place::Chip, [0; 4]).orders(100, "pace,180\n").orders(1_000, "way,aheod\n");
    bench.tells(1_003, Place::Chip, [D; 4]);
    bench.orders(1_200, "way,ahead\n").orders(2_000, "way,rest\n").tells(2_003, Place::Chip, [0; 4]);
    bench.orders(3_000, "way,rest\n");
    assert_eq!(bench.ids(), []);
}

/// Orders stand at the tap, no answer comes any more, and the pins rest: it does not hear.
#[test]
fn a_board_that_does_not_hear_is_not_called_wrong() {
    let mut bench = Bench::of("cue-line", true);
    let order = "c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.\n";
    let told = [618, -228, -228, 618];
    bench.tells(10, Place::Chip, [0; 4]).orders(1_000, order).tells(1_003, Place::Chip, told);
    bench.hears(1_006, Wire::FromDrive, b"a042 got v111 e00 #E253.\n");
    for at in (1_050..2_500).step_by(50) {
        bench.orders(at, order);
        if at == 1_300 {
            bench.tells(1_303, Place::Chip, [0; 4]);
        }
    }
    let ids = bench.ids();
    assert!(ids.iter().all(|(id, _)| *id == "pins-unheard") && ids.len() == 4, "{ids:?}");
}

#[test]
fn without_pins_it_cannot_be_judged_and_a_tap_of_bytes_says_nothing_of_it() {
    let mut bench = Bench::of("plain-line", false);
    leg(&mut bench, None, None);
    assert_eq!(bench.found(), []);
    let lacking = bench.engine.not_judged().into_iter().find(|rule| rule.id == "pins-apart").unwrap();
    assert_eq!(lacking.lacks, [Need::Pins]);
    let file = built_in::find("plain-line").unwrap();
    let rover = Arc::new(RoverFile::load(file.name, file.text).unwrap());
    let tap = Engine::new(LinkFacts::default(), Some(rover));
    assert!(tap.not_judged().iter().all(|rule| rule.id != "pins-apart"));
    let none = Engine::new(LinkFacts { dump: true, pins: true, ..LinkFacts::default() }, None);
    let lacking = none.not_judged().into_iter().find(|rule| rule.id == "pins-apart").unwrap();
    assert_eq!(lacking.lacks, [Need::Meaning]);
}
