//! Snapshots built by hand, for the pictures. The wagon, its words and its pins are invented; the duties of each move
//! follow the mixer of X rollers (`FL = x - y - w`, `FR = x + y + w`, `RL = x + y - w`, `RR = x - y + w`).

use wheeltap_parsers::{Nanos, Wire};

use super::status::{Lesson, Mode, Recorder, Replay, Status};
use crate::engine::snapshot::survey::{Sort, Survey};
use crate::engine::snapshot::times::{KindTimes, Loaded, NotRead, Quantiles, Times, TriesShown};
use crate::engine::snapshot::wheel_check::Check;
use crate::engine::snapshot::{
    DeadlineState, Line, LineSort, MotorLimits, OrderState, RunOn, Snapshot, WheelState, WireHealth,
};
use crate::findings::attribution::verdict::Verdict;
use crate::findings::{Confidence, Evidence, Finding, Layer, Need, NotJudged, Severity};
use crate::rover::wheels::{Duties, Leg, LegEnd, Level, RollerHand, Twist, Wheel};

const MS: Nanos = 1_000_000;
/// 03:12.345.
const NOW: Nanos = 192_345 * MS;

fn wheel(wheel: Wheel, meant: Option<i32>) -> WheelState {
    let wiring = match wheel {
        Wheel::FL => "Oxpair A, terminal M1, inputs A1/A2, pins 3 and 4",
        Wheel::FR => "Oxpair A, terminal M2, inputs A3/A4, pins 5 and 6",
        Wheel::RL => "Oxpair B, terminal M1, inputs B1/B2, pins 7 and 8",
        Wheel::RR => "Oxpair B, terminal M2, inputs B3/B4, pins 9 and 10",
    };
    let inputs = |duty: i32| match duty.signum() {
        1 => [Level::Pulsed, Level::Low],
        -1 => [Level::Low, Level::Pulsed],
        _ => [Level::Low, Level::Low],
    };
    let volts = |duty: &i32| {
        let share = i64::from(*duty);
        [share * 99 / 10, share * 126 / 10]
    };
    WheelState {
        wheel,
        ordered: None,
        meant,
        confirmed: None,
        seen: None,
        proven: meant.is_some() && wheel != Wheel::RR,
        rollers: match wheel {
            Wheel::FL | Wheel::RR => RollerHand::Back,
            Wheel::FR | Wheel::RL => RollerHand::Slash,
        },
        inputs: meant.map(inputs),
        motor_millivolts: meant.as_ref().filter(|duty| **duty > 0).map(volts),
        wiring: wiring.to_owned(),
    }
}

fn wheels(duties: Option<Duties>) -> [WheelState; 4] {
    Wheel::ALL.map(|which| wheel(which, duties.map(|all| all[which.index()])))
}

fn health(wire: Wire) -> WireHealth {
    WireHealth {
        wire,
        port: "/dev/ttyUSB0".to_owned(),
        rate: Some(115_200),
        open: true,
        bytes: 12_345,
        frames: 412,
        damaged: 0,
        texts: 2,
        noises: 0,
        lost: 0,
        per_second: 2,
        load: Some(2),
        cadence: "only when something changes".to_owned(),
        last_byte: Some(NOW - 120 * MS),
        clock: None,
    }
}

fn line(before: Nanos, offset: u64, raw: &str, words: &str) -> Line {
    Line {
        at: NOW - before * MS,
        uncertain: MS,
        wire: Some(Wire::ToDrive),
        offset,
        len: raw.len() as u64 + 1,
        sort: LineSort::Frame,
        raw: raw.to_owned(),
        words: words.to_owned(),
        flags: Vec::new(),
    }
}

/// 6 V motors on L298 drivers: 6.0 / (pack - 1.8 V).
fn motors(pack: Option<i64>, run_on: RunOn) -> MotorLimits {
    let (pack, told) = (pack.unwrap_or(12_600), pack.is_some());
    let duty_cap = (6_000 * 1000 / (pack - 1_800)) as i32;
    MotorLimits {
        rated: Some(6_000),
        pack: Some((pack, told)),
        duty_cap: Some(duty_cap),
        over: !told,
        stall_beyond: Some((2_100, 2_000)),
        run_on,
    }
}

fn leg(begins: Nanos, lasts: Option<Nanos>, name: &str, meant: Duties, end: LegEnd) -> Leg {
    Leg {
        begins: NOW - begins * MS,
        ends: lasts.map(|lasts| NOW - (begins - lasts) * MS),
        name: name.to_owned(),
        meant,
        end,
    }
}

const PORT: Duties = [-706, 706, 706, -706];
const STARBOARD: Duties = [706, -706, -706, 706];
const SPIN: Duties = [-706, 706, -706, 706];

fn not_judged() -> Vec<NotJudged> {
    vec![
        NotJudged {
            id: "lost-frames",
            looks_for: "frames that were sent and did not arrive",
            lacks: vec![Need::Sequence],
        },
        NotJudged {
            id: "refused-orders",
            looks_for: "orders that arrived and were not obeyed",
            lacks: vec![Need::Answers],
        },
        NotJudged {
            id: "sagging-supply",
            looks_for: "pack volts that fall when a move starts",
            lacks: vec![Need::Answers, Need::Volts],
        },
    ]
}

fn finding(id: &'static str, severity: Severity, layer: Layer, says: &str) -> Finding {
    Finding {
        id,
        severity,
        layer,
        confidence: Confidence::Certain,
        wheel: None,
        count: 1,
        first: NOW - 90_000 * MS,
        last: NOW - 90_000 * MS,
        says: says.to_owned(),
        not: "Not a radio gap: then the panel's counter would jump".to_owned(),
        what_to_do: "let the command board repeat the order every 100 ms".to_owned(),
        check_after: "drive for ten minutes; no gap above 150 ms".to_owned(),
        evidence: vec![Evidence { at: NOW - 90_000 * MS, wire: Wire::ToDrive, offset: 4711, len: 10 }],
    }
}

/// Times through a 16 ms adapter: orders every 50 ms, each answered, one stall.
fn times() -> Times {
    let tenths = |ends: [i64; 2]| ends.map(|tenth| tenth * MS / 10);
    let spread = |count, half, most, nearly_all, longest| Quantiles {
        count,
        half: tenths(half),
        most: tenths(most),
        nearly_all: tenths(nearly_all),
        longest: tenths(longest),
    };
    let gaps = spread(3_811, [310, 670], [340, 700], [381, 2_204], [1_870, 2_210]);
    let orders = KindTimes {
        wire: Wire::ToDrive,
        name: "orders in a move".to_owned(),
        frames: 3_811,
        rhythm: "every 50.0 ms".to_owned(),
        gaps: Some(gaps),
        late: 1,
        possibly_late: 37,
    };
    let answer =
        KindTimes { wire: Wire::FromDrive, name: "answer".to_owned(), late: 0, possibly_late: 0, ..orders.clone() };
    Times {
        kinds: vec![KindTimes { name: "cue".to_owned(), ..orders.clone() }, answer],
        orders: Some(orders),
        answers: Some(spread(3_805, [0, 232], [0, 330], [64, 412], [380, 720])),
        no_answer: 4,
        not_judged: 2,
        numbered: true,
        lapse_reports: Some(spread(1, [2_860, 3_210], [2_860, 3_210], [2_860, 3_210], [2_860, 3_210])),
        bunched: 1,
        together: [212, 190],
        asleep: [1, 0],
        longest_sleep: 412 * MS,
        load: [Some(Loaded { mean: 78, busiest_second: 94 }), Some(Loaded { mean: 43, busiest_second: 52 })],
        buffer: 64,
        not_read: [(5, [0, 0]), (10, [0, 52]), (20, [26, 116]), (50, [71, 206]), (100, [116, 251]), (500, [431, 566])]
            .map(|(ms, dropped)| NotRead { ms, dropped })
            .into(),
        tries: vec![TriesShown { what: "wire pull".to_owned(), tries: 10, failed: 0, still_allows: 259 }],
        tries_not_understood: 0,
    }
}

/// A plain line: strafing to the left, nothing would stop it, one note.
pub fn strafe() -> Snapshot {
    Snapshot {
        now: NOW,
        rover: "Moonwagon".to_owned(),
        link: "text lines ended by LF, no check".to_owned(),
        wires: [Some(health(Wire::ToDrive)), None],
        wheels: wheels(Some(PORT)),
        order: OrderState {
            ordered: "way,port".to_owned(),
            meant: "to port at duty 71 %".to_owned(),
            at: Some(NOW - 120 * MS),
            answered: None,
            rest: false,
            duty_heard: Some(true),
        },
        twist: Some(Twist { vx: 0, vy: 706, wz: 0 }),
        scrub: 0,
        deadline: DeadlineState::Never,
        pack_millivolts: None,
        motors: motors(None, RunOn::Never),
        legs: vec![
            leg(9_000, Some(1_800), "to starboard", STARBOARD, LegEnd::Rest),
            leg(6_000, Some(900), "spin to port", SPIN, LegEnd::NextMove),
            leg(5_100, Some(1_240), "to port", PORT, LegEnd::Rest),
            leg(120, None, "to port", PORT, LegEnd::Open),
        ],
        leg_count: 42,
        lines: vec![
            line(6_000, 12_300, "way,spin-port", "spin to port"),
            line(5_100, 12_314, "way,port", "to port"),
            line(3_860, 12_323, "way,rest", "rest"),
            line(400, 12_332, "pace,180", "duty 71 % for this and later moves"),
            line(300, 12_341, "lamp,40", "known, not for the wheels"),
            line(120, 12_349, "way,port", "to port at duty 71 %"),
        ],
        findings: vec![finding(
            "no-deadline",
            Severity::Note,
            Layer::Reader,
            "The drive board obeys for ever: if the line that ends a move is lost, nothing on the wire stops the rover.",
        )],
        verdict: Verdict::default(),
        not_judged: not_judged(),
        words: Vec::new(),
        reaction: None,
        notes: Vec::new(),
        resolution: Some(MS),
        times: Times::default(),
        check: Check::default(),
    }
}

/// A cue line with answers, a deadline running, all wheels stated.
pub fn cue() -> Snapshot {
    let duties = [620, -230, -230, 620];
    let mut all = wheels(Some(duties));
    for state in &mut all {
        state.ordered = state.meant;
    }
    let mut answer = line(110, 5_120, "a042 got v111 e00 #E253.", "obeys order 42, pack 11.1 V");
    answer.wire = Some(Wire::FromDrive);
    Snapshot {
        link: "text lines ended by `.` LF, CRC-16, answers".to_owned(),
        wires: [
            Some(WireHealth {
                per_second: 20,
                load: Some(78),
                damaged: 3,
                cadence: "every 50 ms".to_owned(),
                ..health(Wire::ToDrive)
            }),
            Some(WireHealth {
                per_second: 20,
                load: Some(43),
                cadence: "one answer an order".to_owned(),
                ..health(Wire::FromDrive)
            }),
        ],
        wheels: all,
        order: OrderState {
            ordered: "c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.".to_owned(),
            meant: "forward 30 %, right 65 %, gear 2".to_owned(),
            answered: Some(true),
            duty_heard: None,
            ..strafe().order
        },
        twist: Some(Twist { vx: 195, vy: -425, wz: 0 }),
        deadline: DeadlineState::Running { length: 300 * MS, until: NOW + 188 * MS },
        times: times(),
        pack_millivolts: Some(11_100),
        motors: motors(Some(11_100), RunOn::Until { length: 300 * MS, millimetres: Some(112) }),
        lines: vec![
            line(170, 12_210, "c041 p17 drv f+030 s-065 t+000 g2 d30 #0F1B.", "forward 30 %, right 65 %"),
            line(120, 12_255, "c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.", "forward 30 %, right 65 %"),
            answer,
        ],
        verdict: Verdict::default(),
        not_judged: Vec::new(),
        findings: vec![Finding {
            wheel: Some(Wheel::RR),
            count: 67,
            confidence: Confidence::Possible,
            ..finding(
                "wheel-fights",
                Severity::Fault,
                Layer::Wheel,
                "reversed or weak: the driver corrects to the left on forward and to the right on slide-left.",
            )
        }],
        ..strafe()
    }
}

/// No rover file, nothing understood: raw lines only.
pub fn raw() -> Snapshot {
    let mut lines = strafe().lines;
    for line in &mut lines {
        line.words = String::new();
    }
    Snapshot {
        rover: "no rover file".to_owned(),
        link: "text lines ended by LF (guessed)".to_owned(),
        wheels: wheels(None).map(|state| WheelState { wiring: String::new(), ..state }),
        order: OrderState::default(),
        twist: None,
        deadline: DeadlineState::Unknown,
        motors: MotorLimits::default(),
        legs: Vec::new(),
        leg_count: 0,
        lines,
        findings: Vec::new(),
        resolution: None,
        ..strafe()
    }
}

/// At rest.
pub fn resting() -> Snapshot {
    Snapshot {
        wheels: wheels(Some([0; 4])),
        order: OrderState {
            ordered: "c044 p19 drv f+000 s+000 t+000 g2 d30 #8D82.".to_owned(),
            meant: "rest".to_owned(),
            rest: true,
            at: Some(NOW - 5_000 * MS),
            ..cue().order
        },
        twist: Some(Twist::default()),
        deadline: DeadlineState::Resting { length: 300 * MS },
        motors: motors(Some(11_100), RunOn::Resting),
        findings: Vec::new(),
        ..cue()
    }
}

/// The deadline ran out with a move in force.
pub fn lapsed() -> Snapshot {
    let mut lapse = line(820, 0, "", "deadline of 300 ms ran out with a move in force");
    lapse.sort = LineSort::Event;
    let mut late = line(500, 12_300, "c043 p18 drv f+030 s-065 t+000 g2 d30 #3784.", "forward 30 %, right 65 %");
    late.flags = vec!["late", "sequence gap"];
    Snapshot {
        order: OrderState { at: Some(NOW - 1_120 * MS), answered: None, ..cue().order },
        wheels: wheels(Some([0; 4])),
        twist: Some(Twist::default()),
        deadline: DeadlineState::Lapsed { length: 300 * MS, at: NOW - 820 * MS },
        lines: vec![lapse, late],
        ..cue()
    }
}

/// The command board has just started again.
pub fn reset() -> Snapshot {
    let mut damage = line(260, 12_400, "way,po\\x80\\xff", "damaged: unknown word");
    damage.sort = LineSort::Damage;
    let mut text = line(200, 12_410, "starting: reason 7", "board starts: its supply sagged (brown-out)");
    text.sort = LineSort::Text;
    let mut note = line(10, 0, "", "it jerked");
    (note.sort, note.wire) = (LineSort::Note, None);
    Snapshot {
        scrub: 120,
        wires: [Some(WireHealth { damaged: 1, noises: 2, lost: 17, open: false, ..health(Wire::ToDrive) }), None],
        lines: vec![line(900, 12_380, "way,port", "to port"), damage, text, note],
        findings: vec![
            Finding {
                count: 2,
                ..finding(
                    "reset-by-sag",
                    Severity::Danger,
                    Layer::Power,
                    "The command board was reset twice by a sagging supply, 390 ms after a step to 100 %",
                )
            },
            finding("bad-word", Severity::Fault, Layer::Wire, "Once a line was damaged: unknown word (1 of 413)"),
            finding("glued-line", Severity::Doubt, Layer::CommandBoard, "Start-up text may swallow the first order"),
            finding("no-deadline", Severity::Note, Layer::Reader, "The drive board obeys for ever."),
        ],
        ..strafe()
    }
}

/// The loop live and recording.
pub fn recording() -> Status {
    Status {
        mode: Mode::Listen,
        recorder: Some(Recorder {
            path: "moonwagon-evening.session".to_owned(),
            bytes: 12_345,
            lost: 0,
            trouble: None,
        }),
        begun: Some("2031-05-04 19:30".to_owned()),
        lesson: Some(Lesson { lines: lesson(), over: false }),
        ..Status::default()
    }
}

/// A lesson at its second prompt.
fn lesson() -> Vec<String> {
    let lines = [
        "CAUTION: wheels will turn. Rover on a stand, wheels free, a hand at the pack plug.",
        "",
        " 1 of 15   RESET (is the lead right?)",
        "          heard     load @3F40 len 6144 ok",
        "     ok   Text that can be read: lead, ground and line rate are right.",
        "",
        " 2 of 15   FORWARD",
        "          On the panel, press the button that drives towards the nose.",
        "          heard     way,ahead",
        "  DOUBT: no rest was heard after forward. If the rover obeys for ever, it drives on after you let go.",
    ];
    lines.map(str::to_owned).to_vec()
}

/// A paused replay.
pub fn replaying() -> Status {
    Status {
        mode: Mode::Replay,
        replay: Some(Replay {
            position: NOW,
            length: 600_000 * MS,
            speed: Some(50),
            playing: false,
            read_to: 400_000 * MS,
            ..Replay::default()
        }),
        ..Status::default()
    }
}

/// A recorder whose disk is full.
pub fn recorder_trouble() -> Status {
    Status {
        recorder: Some(Recorder {
            path: "moonwagon-evening.session".to_owned(),
            bytes: 12_345,
            lost: 4_096,
            trouble: Some("the disk is full; make room, recording goes on by itself".to_owned()),
        }),
        message: Some("port /dev/ttyUSB0 is gone: plug it in again, listening goes on by itself".to_owned()),
        ..recording()
    }
}

/// A replay with most of its session read.
pub fn surveyed() -> Status {
    let mut survey = Survey::new(0, 600_000 * MS);
    survey.read_to = 400_000 * MS;
    for (at, slice) in survey.slices.iter_mut().enumerate().take(320) {
        slice.bytes = [(at as u64 % 90) * 40, 0];
    }
    for (sort, times) in [
        (Sort::Finding, &[75_000, 75_400, 192_000][..]),
        (Sort::Damage, &[75_000, 75_100, 75_400, 192_345]),
        (Sort::Silence, &[40_000, 301_000, 318_000]),
        (Sort::Leg, &[10_000, 22_000, 75_000, 190_000, 191_000, 360_000]),
        (Sort::Note, &[76_000, 192_345]),
    ] {
        for at in times {
            survey.count_place(sort, at * MS);
        }
    }
    survey.notes = vec![(76_000 * MS, "jerked on the carpet edge".to_owned()), (192_345 * MS, "RL hums".to_owned())];
    survey.findings = reset().findings;
    survey.changes = vec!["went: late (doubt): 3 orders came later than due".to_owned()];
    let replay = replaying().replay.map(|replay| Replay { survey: survey.into(), ..replay });
    Status { replay, ..replaying() }
}
