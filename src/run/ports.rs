//! `ports`: what can be listened to, and what opening it may do.

use serde_json::json;

use crate::run::headless::Out;
use crate::run::{Failure, Outcome};
use crate::source::latency::adapter_latency;
use crate::source::ports::{PortInfo, list, may_reset};

/// Lists the ports on standard output.
pub fn run(as_json: bool) -> Result<Outcome, Failure> {
    let ports = list()?;
    let mut out = Out::stdout();
    for port in &ports {
        let line = if as_json { in_json(port) } else { in_words(port) };
        if !(if as_json { out.json(&line) } else { out.line(&line) })? {
            break;
        }
    }
    if ports.is_empty() && !as_json {
        out.line("No serial port is here. Plug the adapter in and try again; `wheeltap simulate` needs none.")?;
    }
    out.flush()?;
    Ok(Outcome::Fine)
}

fn in_words(port: &PortInfo) -> String {
    let mut words = format!("{}  {}", port.path, port.description);
    if let Some(usb) = &port.usb {
        words += &format!(", USB {:04x}:{:04x}", usb.vendor, usb.product);
        if let Some(serial) = &usb.serial {
            words += &format!(", serial number {serial}");
        }
    }
    if let Some(place) = &port.location {
        words += &format!(", at {place}");
    }
    words += &format!(", may hold bytes back for {} ms", adapter_latency(&port.path) / 1_000_000);
    if let Some(warning) = may_reset(port) {
        words += &format!("\n    CAUTION: {warning}");
    }
    words
}

fn in_json(port: &PortInfo) -> String {
    let usb = port.usb.as_ref().map(|usb| json!({"vendor": usb.vendor, "product": usb.product, "serial": usb.serial}));
    json!({
        "kind": "port",
        "path": port.path,
        "description": port.description,
        "usb": usb,
        "location": port.location,
        "latency_us": adapter_latency(&port.path) / 1000,
        "may_reset": may_reset(port),
    })
    .to_string()
}
