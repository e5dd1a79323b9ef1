//! A dump written by hand in the form of IEEE 1364-2005, clause 18.2: levels in, text out. It shares nothing with the
//! reader.

// Each test file that includes this one uses its own part of it.
#![allow(dead_code)]

use std::collections::BTreeMap;
use std::fmt::Write;

/// Levels over time, nanoseconds, of named signals.
#[derive(Default)]
pub struct MadeDump {
    names: Vec<String>,
    changes: BTreeMap<(i64, usize), char>,
    last: i64,
}

impl MadeDump {
    /// A signal such as `wheel.fl.in1`, and its level at the beginning.
    pub fn signal(&mut self, name: &str, level: char) -> usize {
        self.names.push(name.to_owned());
        let signal = self.names.len() - 1;
        self.changes.insert((0, signal), level);
        signal
    }

    pub fn set(&mut self, at: i64, signal: usize, level: char) {
        self.changes.insert((at, signal), level);
        self.last = self.last.max(at);
    }

    /// Bytes, 8N1, back to back, from a sender whose bit lasts `bit` nanoseconds; when the last one is complete.
    pub fn send(&mut self, at: i64, signal: usize, bytes: &[u8], bit: f64) -> i64 {
        let mut begin = at as f64;
        for byte in bytes {
            let bits = u32::from(*byte) << 1 | 1 << 9;
            for place in 0..10 {
                let level = if bits >> place & 1 == 1 { '1' } else { '0' };
                self.set((begin + f64::from(place) * bit) as i64, signal, level);
            }
            begin += 10.0 * bit;
        }
        self.ends(begin as i64 + 1_000);
        begin as i64
    }

    /// Pulses of a signal from `from` to `to`.
    pub fn pulse(&mut self, signal: usize, (from, to): (i64, i64), period: i64, on: i64) {
        let mut at = from;
        while at < to {
            self.set(at, signal, '1');
            self.set(at + on, signal, '0');
            at += period;
        }
    }

    /// Until when the dump lasts.
    pub fn ends(&mut self, at: i64) {
        self.last = self.last.max(at);
    }

    pub fn text(&self) -> String {
        let mut text = String::from("$version made by hand $end\n$timescale 1 ns $end\n");
        for (code, name) in self.names.iter().enumerate() {
            let parts: Vec<&str> = name.split('.').collect();
            let (own, scopes) = parts.split_last().unwrap();
            for scope in scopes {
                writeln!(text, "$scope module {scope} $end").unwrap();
            }
            writeln!(text, "$var wire 1 {} {own} $end", letter(code)).unwrap();
            for _ in scopes {
                text.push_str("$upscope $end\n");
            }
        }
        text.push_str("$enddefinitions $end\n#0\n$dumpvars\n");
        let mut levels: Vec<char> = vec!['?'; self.names.len()];
        let mut now = 0;
        for ((at, signal), level) in &self.changes {
            if levels[*signal] == *level {
                continue;
            }
            if *at != now {
                if now == 0 {
                    text.push_str("$end\n");
                }
                writeln!(text, "#{at}").unwrap();
                now = *at;
            }
            levels[*signal] = *level;
            writeln!(text, "{level}{}", letter(*signal)).unwrap();
        }
        if now == 0 {
            text.push_str("$end\n");
        }
        writeln!(text, "#{}", self.last.max(now)).unwrap();
        text
    }
}

fn letter(code: usize) -> char {
    char::from(b'!' + code as u8)
}

/// The four wheels' inputs at one place: IN1, IN2, EN of FL, FR, RL, RR.
pub struct Wheels(pub [[usize; 3]; 4]);

impl Wheels {
    pub fn at(dump: &mut MadeDump, place: &str) -> Self {
        Self(
            ["fl", "fr", "rl", "rr"]
                .map(|wheel| ["in1", "in2", "en"].map(|input| dump.signal(&format!("{place}.{wheel}.{input}"), '0'))),
        )
    }

    /// What the wheels are told from `from` to `to`: thousandths with the sign of IN1 high, 1 ms pulses.
    pub fn told(&self, dump: &mut MadeDump, (from, to): (i64, i64), duties: [i64; 4]) {
        for (inputs, duty) in self.0.iter().zip(duties) {
            dump.set(from, inputs[0], if duty > 0 { '1' } else { '0' });
            dump.set(from, inputs[1], if duty < 0 { '1' } else { '0' });
            if duty == 0 {
                dump.set(from, inputs[2], '0');
            } else if duty.abs() == 1000 {
                dump.set(from, inputs[2], '1');
            } else {
                dump.pulse(inputs[2], (from, to), 1_000_000, duty.abs() * 1_000);
            }
        }
    }
}
