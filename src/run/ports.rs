//! `ports`: what can be listened to, what just appeared, and what opening each may do.

use std::time::{Duration, Instant};

use serde_json::{Value as Json, json};

use crate::run::headless::Out;
use crate::run::signals::Asked;
use crate::run::{Failure, Outcome, tell};
use crate::source::latency::adapter_latency;
use crate::source::ports::changes::{Changes, alike_words};
use crate::source::ports::{PortInfo, lasting_name, list, may_reset, opening};

/// How often the list is made anew while watching. Making it takes some milliseconds.
const EVERY: Duration = Duration::from_millis(250);

/// How the ports are told.
#[derive(Clone, Copy, Debug)]
pub struct Options {
    /// One JSON object a line.
    pub json: bool,
    /// Goes on and tells what appears and what goes.
    pub watch: bool,
    /// Ends watching after so many seconds.
    pub seconds: Option<u64>,
}

/// Tells the ports on standard output.
pub fn run(options: Options) -> Result<Outcome, Failure> {
    let asked = Asked::watch()?;
    let mut ports = list()?;
    let mut out = Out::stdout();
    for port in &ports {
        put(&mut out, None, port, &ports, options)?;
    }
    if ports.is_empty() && !options.json {
        out.line("No serial port is here. Plug the adapter in and try again; `wheeltap simulate` needs none.")?;
    }
    if !options.watch {
        out.flush()?;
        return Ok(Outcome::Fine);
    }
    tell("Watching. Plug the adapter in now: what appears is the one. Ctrl-C ends.");
    let begun = Instant::now();
    let ends = options.seconds.map(Duration::from_secs);
    while out.flush()? && !asked.to_end() && ends.is_none_or(|ends| begun.elapsed() < ends) {
        std::thread::sleep(EVERY);
        let now = list()?;
        put_changes(&mut out, &Changes::between(&ports, &now), &now, options)?;
        ports = now;
    }
    Ok(Outcome::Fine)
}

fn put_changes(out: &mut Out, changes: &Changes, all: &[PortInfo], options: Options) -> Result<(), Failure> {
    for port in &changes.gone {
        if options.json {
            out.json(&json!({"kind": "port", "event": "gone", "path": port.path}).to_string())?;
        } else {
            out.line(&format!("GONE      {}  {}", port.path, port.description))?;
        }
    }
    for port in &changes.appeared {
        put(out, Some("appeared"), port, all, options)?;
    }
    Ok(())
}

fn put(
    out: &mut Out,
    event: Option<&str>,
    port: &PortInfo,
    all: &[PortInfo],
    options: Options,
) -> Result<bool, Failure> {
    if options.json {
        return out.json(&in_json(event, port, all).to_string());
    }
    let mut words = in_words(port, all).into_iter();
    let first = words.next().unwrap_or_default();
    out.line(&match event {
        Some(event) => format!("{:<10}{first}", event.to_uppercase()),
        None => first,
    })?;
    words.try_fold(true, |_, line| out.line(&format!("    {line}")))
}

/// What is known of a port: the port itself, then what to think of.
fn in_words(port: &PortInfo, all: &[PortInfo]) -> Vec<String> {
    let mut words = format!("{}  {}", port.path, port.description);
    if let Some(usb) = &port.usb {
        words += &format!(", USB {:04x}:{:04x}", usb.vendor, usb.product);
        let serial = usb.serial.as_ref().map(|serial| format!(", serial number {serial}"));
        words += &serial.unwrap_or_else(|| ", no serial number".to_owned());
    }
    if let Some(place) = &port.location {
        words += &format!(", at {place}");
    }
    words += &format!(", may hold bytes back for {} ms", adapter_latency(&port.path) / 1_000_000);
    let alike = Some(alike_words(port, all)).filter(|words| !words.is_empty());
    let name = lasting_name(port).map(|name| format!("lasting name: {name}"));
    let caution = if may_reset(port).is_some() { "CAUTION: " } else { "" };
    [Some(words), alike, name, Some(format!("{caution}{}", opening(port)))].into_iter().flatten().collect()
}

fn in_json(event: Option<&str>, port: &PortInfo, all: &[PortInfo]) -> Json {
    let usb = port.usb.as_ref().map(|usb| json!({"vendor": usb.vendor, "product": usb.product, "serial": usb.serial}));
    json!({
        "kind": "port",
        "event": event,
        "path": port.path,
        "description": port.description,
        "usb": usb,
        "location": port.location,
        "lasting_name": lasting_name(port),
        "alike": alike_words(port, all),
        "latency_us": adapter_latency(&port.path) / 1000,
        "may_reset": may_reset(port),
        "opening": opening(port),
    })
}
