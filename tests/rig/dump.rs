//! Reads a value-change dump (IEEE 1364-2005, clause 18) of one-bit wires, and measures duty in it.

use std::collections::BTreeMap;

/// Level of a wire.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Level {
    Low,
    High,
    Floating,
}

/// Levels over time, nanoseconds, by the wire's full name such as `wheel.fl.in1`.
pub struct Dump {
    wires: BTreeMap<String, Vec<(i64, Level)>>,
}

/// A little more than one period of the pulses, nanoseconds: a stretch is trimmed to whole periods where it pulses at
/// both of its ends.
const PERIOD: i64 = 1_100_000;

/// What a half bridge was told over a stretch of time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Told {
    /// Per cent, + for IN1 high and IN2 low.
    Duty(f64),
    /// An input floated: nobody can say.
    Open,
}

impl Dump {
    pub fn read(text: &str) -> Self {
        let (head, body) = text.split_once("$enddefinitions $end").unwrap();
        let names = names(head);
        let mut wires: BTreeMap<String, Vec<(i64, Level)>> = BTreeMap::new();
        let mut now = 0;
        for word in body.split_ascii_whitespace() {
            let (first, rest) = word.split_at(1);
            let level = match first {
                "#" => {
                    now = rest.parse().unwrap();
                    continue;
                }
                "0" => Level::Low,
                "1" => Level::High,
                "z" => Level::Floating,
                _ => continue,
            };
            wires.entry(names[rest].clone()).or_default().push((now, level));
        }
        Self { wires }
    }

    /// The last change of any wire.
    pub fn end(&self) -> i64 {
        self.wires.values().filter_map(|wire| wire.last()).map(|(at, _)| *at).max().unwrap_or(0)
    }

    fn wire(&self, name: &str) -> &[(i64, Level)] {
        &self.wires[name]
    }

    /// The level at an instant.
    fn level(&self, name: &str, at: i64) -> Level {
        let wire = self.wire(name);
        let next = wire.partition_point(|(when, _)| *when <= at);
        wire[next.max(1) - 1].1
    }

    /// What the half bridge under `scope` (such as `wheel.fl`) was told from `from` to `to`, over whole periods.
    pub fn told(&self, scope: &str, from: i64, to: i64) -> Told {
        let name = |input| format!("{scope}.{input}");
        let rising = self.edges(&name("en"), from, to, Level::High);
        let (from, to) = match rising[..] {
            [first, .., last] if first - from < PERIOD && to - last < PERIOD => (first, last),
            _ => (from, to),
        };
        let mut instants = vec![from];
        for input in ["in1", "in2", "en"] {
            let wire = self.wire(&name(input));
            instants.extend(wire.iter().map(|(at, _)| *at).filter(|at| (from..to).contains(at)));
        }
        instants.push(to);
        instants.sort_unstable();
        let mut on = 0;
        for pair in instants.windows(2) {
            on += match ["in1", "in2", "en"].map(|input| self.level(&name(input), pair[0])) {
                levels if levels.contains(&Level::Floating) => return Told::Open,
                [Level::High, Level::Low, Level::High] => pair[1] - pair[0],
                [Level::Low, Level::High, Level::High] => pair[0] - pair[1],
                _ => 0,
            };
        }
        Told::Duty(100.0 * on as f64 / (to - from) as f64)
    }

    /// When the wire went to `level` within a stretch.
    fn edges(&self, name: &str, from: i64, to: i64, level: Level) -> Vec<i64> {
        let wire = self.wire(name).iter().filter(|(at, new)| (from..to).contains(at) && *new == level);
        wire.map(|(at, _)| *at).collect()
    }

    /// When all direction inputs at the chip had gone low or floating, after one had been high.
    pub fn rests(&self) -> Vec<i64> {
        let names: Vec<String> = ["fl", "fr", "rl", "rr"]
            .iter()
            .flat_map(|wheel| ["in1", "in2"].map(|input| format!("chip.{wheel}.{input}")))
            .collect();
        let mut changes: Vec<(i64, usize, Level)> = Vec::new();
        for (place, name) in names.iter().enumerate() {
            changes.extend(self.wire(name).iter().map(|(at, level)| (*at, place, *level)));
        }
        changes.sort_by_key(|(at, place, _)| (*at, *place));
        let mut high = [false; 8];
        let mut rests = Vec::new();
        for (at, place, level) in changes {
            let was = high.contains(&true);
            high[place] = level == Level::High;
            if was && !high.contains(&true) {
                rests.push(at);
            }
        }
        rests
    }
}

/// Full names by identifier code.
fn names(head: &str) -> BTreeMap<String, String> {
    let mut scopes: Vec<&str> = Vec::new();
    let mut names = BTreeMap::new();
    let mut words = head.split_ascii_whitespace();
    while let Some(word) = words.next() {
        match word {
            "$scope" => scopes.extend(words.by_ref().take(2).skip(1)),
            "$upscope" => {
                scopes.pop();
            }
            "$var" => {
                let declared: Vec<&str> = words.by_ref().take(4).collect();
                names.insert(declared[2].to_owned(), format!("{}.{}", scopes.join("."), declared[3]));
            }
            _ => {}
        }
    }
    names
}

#[cfg(test)]
mod tests {
    use std::fmt::Write;

    use super::*;

    /// Written by hand after the example in clause 18: 1 ns units, one wheel, 250 us on and 750 us off.
    #[test]
    fn duty_is_measured_over_whole_periods() {
        let mut text = String::from(
            "$timescale 1 ns $end\n$scope module wheel $end\n$scope module fl $end\n$var wire 1 ! in1 $end\n\
             $var wire 1 % in2 $end\n$var wire 1 & en $end\n$upscope $end\n$upscope $end\n$enddefinitions $end\n\
             #0\n$dumpvars\nz!\nz%\nz&\n$end\n#10\n0!\n1%\n0&\n",
        );
        for period in 0..20 {
            let rises = 1_000_000 * period + 500;
            write!(text, "#{rises}\n1&\n#{}\n0&\n", rises + 250_000).unwrap();
        }
        let dump = Dump::read(&text);
        assert_eq!(dump.told("wheel.fl", 100_000, 15_300_000), Told::Duty(-25.0));
        assert_eq!(dump.told("wheel.fl", 0, 9), Told::Open);
        // Pulses for 19.25 of 40 ms: no trimming, or a stop in mid-stretch would not show.
        assert_eq!(dump.told("wheel.fl", 500, 40_000_500), Told::Duty(-12.5));
    }
}
