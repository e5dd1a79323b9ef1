//! `[geometry]`, `[[driver]]`, `[[wheel]]`, `[pack]`, `[motor]`: the machine.

use super::walk::{Item, Table};
use crate::rover::machine::{Driver, FullSpeed, Machine, Motor, Pack, Part, WheelWiring};
use crate::rover::wheels::Wheel;

/// Reads what is stated; faults go to the root's list.
pub fn read(root: &Table<'_>) -> Machine {
    let drivers: Vec<Driver> = root.tables("driver").iter().filter_map(driver).collect();
    let mut machine = Machine { drivers, ..Machine::default() };
    for table in &root.tables("wheel") {
        let Some((wheel, wiring)) = wheel(table, &machine.drivers) else { continue };
        let place = &mut machine.wheels[wheel.index()];
        if place.is_some() {
            table.fault("at", format!("{} stands twice", wheel.name()), "Each corner stands once");
        }
        *place = Some(wiring);
    }
    shared_pins(root, &machine);
    machine.geometry = root.table("geometry").and_then(|table| geometry(&table));
    machine.pack = root.table("pack").and_then(|table| pack(&table));
    machine.motor = root.table("motor").map(|table| motor(&table, machine.geometry.is_some()));
    machine
}

fn motor(table: &Table<'_>, geometry: bool) -> Motor {
    let amps = |key| table.thousandths(key, 1..=100_000);
    let rated = table.thousandths("rated_volts", 100..=60_000);
    let floor = table.thousandths("full_speed_mm_s", 1_000..=20_000_000);
    let turns = table.thousandths("rated_rpm", 1_000..=100_000_000);
    if let (Some(_), Some(_)) = (floor, turns) {
        table.fault("rated_rpm", "the full speed is stated twice", "Keep full_speed_mm_s, measured on the floor");
    } else if turns.is_some() && (rated.is_none() || !geometry) {
        let found = "the speed does not follow from it alone";
        table.fault("rated_rpm", found, "Write rated_volts and [geometry] with wheel_radius_mm too");
    }
    let full_speed = floor.map(FullSpeed::OnTheFloor).or(turns.map(|milli_rpm| FullSpeed::AtRatedVolts { milli_rpm }));
    let motor = Motor { rated, running: amps("running_amps"), stall: amps("stall_amps"), full_speed };
    table.finish();
    motor
}

fn driver(table: &Table<'_>) -> Option<Driver> {
    let name = table.need_text("name", "Write the name you call it by");
    let part = table.word("part", &Part::WORDS).unwrap_or(Part::Other);
    table.finish();
    Some(Driver { name: name?, part })
}

fn wheel(table: &Table<'_>, drivers: &[Driver]) -> Option<(Wheel, WheelWiring)> {
    let at = table.need_word("at", &Wheel::ALL.map(|wheel| (wheel.name(), wheel)));
    let driver = table.need_text("driver", "Write the name of a [[driver]]");
    if let Some(name) = driver.as_ref().filter(|name| drivers.iter().all(|driver| driver.name != **name)) {
        let known: Vec<&str> = drivers.iter().map(|driver| driver.name.as_str()).collect();
        table.fault("driver", format!("no driver is called `{name}`"), format!("Allowed: {}", known.join(", ")));
    }
    let terminal = table.text("terminal").unwrap_or_default();
    let inputs = table.texts("inputs");
    let enable = table.text("enable");
    let pins: Vec<i64> =
        table.item("pins").map(|item| item.list().iter().filter_map(Item::whole).collect()).unwrap_or_default();
    let inverted = table.yes_no("inverted", false);
    table.finish();
    Some((at?, WheelWiring { driver: driver?, terminal, inputs, enable, pins, inverted }))
}

/// Two signals on one pin cannot both work.
fn shared_pins(root: &Table<'_>, machine: &Machine) {
    let mut seen: Vec<(i64, Wheel)> = Vec::new();
    for wheel in Wheel::ALL {
        for pin in machine.wheels[wheel.index()].iter().flat_map(|wiring| &wiring.pins) {
            if let Some((_, other)) = seen.iter().find(|(known, _)| known == pin) {
                let found = format!("pin {pin} stands at {} and at {}", other.name(), wheel.name());
                root.fault("wheel", found, "One pin drives one input");
            }
            seen.push((*pin, wheel));
        }
    }
}

fn geometry(table: &Table<'_>) -> Option<[i64; 3]> {
    let parts = ["half_length_mm", "half_width_mm", "wheel_radius_mm"].map(|key| {
        let part = table.thousandths(key, 1_000..=10_000_000);
        if table.item(key).is_none() {
            table.fault(key, "a length is missing", "Write millimetres, 1 to 10000");
        }
        part
    });
    table.finish();
    let [Some(length), Some(width), Some(radius)] = parts else { return None };
    Some([length, width, radius])
}

fn pack(table: &Table<'_>) -> Option<Pack> {
    let cells = table.whole("cells", 1..=24);
    let full = table.thousandths("full_volts", 1_000..=100_000);
    let warn = table.thousandths("warn_volts", 1_000..=100_000);
    let stop = table.thousandths("stop_volts", 1_000..=100_000);
    if table.item("full_volts").is_none() {
        table.fault("full_volts", "the pack's full volts are missing", "Write full_volts, such as 12.6");
    }
    if let (Some(warn), Some(stop)) = (warn, stop)
        && stop > warn
    {
        table.fault("stop_volts", "it lies above warn_volts", "Warn first, stop lower");
    }
    table.finish();
    Some(Pack { cells: cells?, full: full?, warn, stop })
}
