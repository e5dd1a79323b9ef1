//! What really happened in a run: every byte that was sent and heard, and what was done to the rover.

use wheeltap_parsers::Wire;

/// One byte, complete at `at`, nanoseconds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Byte {
    pub at: i64,
    pub byte: u8,
}

/// The truth of a run.
#[derive(Default)]
pub struct Truth {
    /// What the senders put on each wire.
    pub sent: [Vec<Byte>; 2],
    /// What the tap's receivers made of it.
    pub tapped: [Vec<Byte>; 2],
    /// Brown-outs and watchdog resets: board and time.
    pub resets: Vec<(String, String, i64)>,
    /// Bits turned over.
    pub hits: u64,
    /// Bytes with a low stop bit at the tap.
    pub framing_errors: u64,
}

impl Truth {
    pub fn read(text: &str) -> Self {
        let mut truth = Self::default();
        for line in text.lines() {
            let words: Vec<&str> = line.split(' ').collect();
            match words[..] {
                ["sent", wire, at, byte] => truth.sent[wire_of(wire).index()].push(byte_of(at, byte)),
                ["tap", wire, at, byte] => truth.tapped[wire_of(wire).index()].push(byte_of(at, byte)),
                ["brown-out" | "watchdog", board, at] => {
                    truth.resets.push((words[0].to_owned(), board.to_owned(), at.parse().unwrap()));
                }
                ["noise", hits] => truth.hits = hits.parse().unwrap(),
                ["framing-errors", a, b] => {
                    truth.framing_errors = a.parse::<u64>().unwrap() + b.parse::<u64>().unwrap();
                }
                ["overruns", ..] | ["end", _] => {}
                _ => assert_eq!(line, "", "a line of no known kind"),
            }
        }
        truth
    }
}

impl Truth {
    /// The tap's receiver made of wire `>` what was sent, but for a byte that the end cut.
    pub fn heard_as_sent(&self) -> bool {
        let bytes = |all: &[Byte]| all.iter().map(|byte| byte.byte).collect::<Vec<u8>>();
        let (sent, tapped) = (bytes(&self.sent[0]), bytes(&self.tapped[0]));
        tapped.len() > 500 && tapped.len() + 1 >= sent.len() && sent.starts_with(&tapped)
    }

    /// The drive board took every order of the cue line that ended 20 ms before the end, and said so with ` got `.
    pub fn orders_answered(&self) -> bool {
        let end = self.sent[0].last().map_or(0, |byte| byte.at) - 20_000_000;
        let orders = self.sent[0].windows(5).filter(|part| part.iter().map(|byte| byte.byte).eq(*b" drv "));
        let orders = orders.filter(|part| part[0].at < end).count();
        let answers = self.sent[1].windows(5).filter(|part| part.iter().map(|byte| byte.byte).eq(*b" got ")).count();
        orders > 10 && answers >= orders
    }
}

fn wire_of(symbol: &str) -> Wire {
    if symbol == ">" { Wire::ToDrive } else { Wire::FromDrive }
}

fn byte_of(at: &str, byte: &str) -> Byte {
    Byte { at: at.parse().unwrap(), byte: u8::from_str_radix(byte, 16).unwrap() }
}
