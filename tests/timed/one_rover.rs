//! A small rover file for tests of time.

use std::sync::Arc;

use wheeltap::rover::file::RoverFile;

/// One millisecond, nanoseconds.
pub const MS: i64 = 1_000_000;
/// Line rate of both wires, baud.
pub const RATE: u32 = 115_200;

/// Numbered orders of a word, numbered answers, and a deadline where `obeys` states one.
pub fn rover(cadence: &str, obeys: &str) -> Arc<RoverFile> {
    let text = format!(
        r#"format = 1
[rover]
name = "Bench"
[link]
rate = {RATE}
cadence = {cadence}
[framing]
kind = "lines"
end = "LF"
longest = 64
[check]
kind = "none"
[[frame]]
name = "order"
wire = ">"
role = "order"
line = "o<seq> <way>"
fields.seq = {{ kind = "decimal", digits = 3, range = [0, 999], means = "sequence" }}
fields.way = {{ kind = "word", means = "move" }}
[[frame]]
name = "answer"
wire = "<"
role = "answer"
line = "a<seq> <said>"
fields.seq = {{ kind = "decimal", digits = 3, range = [0, 999], means = "answers sequence" }}
fields.said = {{ kind = "word", words = ["got", "nay"], means = "answer" }}
[[frame]]
name = "lapsed"
wire = "<"
role = "lapse"
line = "lapsed <seq>"
fields.seq = {{ kind = "decimal", digits = 3, range = [0, 999], means = "answers sequence" }}
[[move]]
code = "ahead"
is = "forward"
[[move]]
code = "ahead-for-evermore"
is = "forward"
[[move]]
code = "port"
is = "left"
[[move]]
code = "rest"
is = "rest"
[duty]
full = 100
persists = true
at_power_up = 50
[answers]
obeyed = ["got"]
refused = ["nay"]
[sequence]
counts = 1000
[reader]
obeys = "{obeys}"
"#
    );
    Arc::new(RoverFile::load("bench.toml", &text).unwrap())
}
