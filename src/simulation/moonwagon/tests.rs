//! The wagon as a whole, seen from its wires.
#![allow(clippy::unwrap_used)]
use super::*;
use crate::simulation::Style;

fn bursts(settings: &Settings, ms: Nanos) -> Vec<Burst> {
    let mut wagon = Moonwagon::new(settings);
    std::iter::from_fn(|| wagon.next_before(ms * 1_000_000)).collect()
}

#[test]
#[ignore = "prints a run for a person"]
fn look() {
    let style = Style::from_name(&std::env::var("STYLE").unwrap()).unwrap();
    let mut settings = Settings::demo(style, 1);
    settings.faults = std::env::var("FAULTS").unwrap_or_default().split(' ').filter_map(crate::simulation::Fault::from_name).collect();
    for burst in bursts(&settings, std::env::var("LAST").unwrap().parse().unwrap()) {
        let text = if burst.bytes.iter().filter(|b| b.is_ascii_graphic()).count() * 10 > burst.bytes.len() * 7 { String::from_utf8_lossy(&burst.bytes).escape_debug().to_string() } else { format!("{:02X?}", burst.bytes) };
        println!("{:>12.6} {} {}", burst.begins as f64 / 1e9, burst.wire.symbol(), text);
    }
}
