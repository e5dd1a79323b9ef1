//! Sound files load; a wrong file gets all its faults at once.
#![allow(clippy::unwrap_used)]

use super::*;
use crate::rover::built_in;
use crate::rover::guesses::Guess;
use crate::rover::machine::FullSpeed;

#[test]
fn every_built_in_file_is_sound() {
    for file in built_in::ALL {
        if let Err(faults) = RoverFile::load(file.name, file.text) {
            let list: Vec<String> = faults.iter().map(ToString::to_string).collect();
            assert!(list.is_empty(), "{}:\n{}", file.name, list.join("\n"));
        }
    }
}

#[test]
fn ten_faults_are_named_at_once() {
    let text = r#"format = 1
[rover]
nam = "x"
[link]
rate = 12
settings = "7E1"
[framing]
kind = "lines"
end = ""
[check]
kind = "crc"
width = 40
[[frame]]
name = "way"
wire = "}"
role = "order"
line = "way,<way>"
fields.way = { kind = "wort", means = "move" }
[[move]]
code = "port"
is = "left"
wheels = "+--+"
[reader]
obeys = "a while"
[[wheel]]
at = "FM"
driver = "nobody"
"#;
    let faults = RoverFile::load("bad.toml", text).unwrap_err();
    let seen: Vec<String> = faults.iter().map(|fault| format!("{}:{}", fault.line, fault.key)).collect();
    for due in [
        "3:rover.nam",
        "5:link.rate",
        "6:link.settings",
        "9:framing.end",
        "12:check.width",
        "15:frame[1].wire",
        "18:frame[1].fields.way.kind",
        "22:move[1].wheels",
        "24:reader.obeys",
        "26:wheel[1].at",
        "27:wheel[1].driver",
    ] {
        assert!(seen.iter().any(|one| one == due), "{due} is missing in {seen:#?}");
    }
}

#[test]
fn a_syntax_fault_does_not_hide_the_others() {
    let text = "format = 1\n[rover]\nname = \"x\n[link]\nrate = 115200\n";
    let faults = RoverFile::load("bad.toml", text).unwrap_err();
    assert!(faults.iter().any(|fault| fault.line == 3 && fault.key.is_empty()), "{faults:#?}");
    assert!(faults.iter().any(|fault| fault.key == "frame"), "{faults:#?}");
}

#[test]
fn the_motors_full_speed_is_stated_once_and_with_what_it_needs() {
    let plain = crate::rover::built_in::find("plain-line").unwrap().text;
    let with = |speed: &str| plain.replace("full_speed_mm_s = 600", speed);
    let full_speed = |speed: &str| RoverFile::load("x", &with(speed)).unwrap().machine.motor.unwrap().full_speed;
    assert_eq!(full_speed("full_speed_mm_s = 600"), Some(FullSpeed::OnTheFloor(600_000)));
    assert_eq!(full_speed("rated_rpm = 200"), Some(FullSpeed::AtRatedVolts { milli_rpm: 200_000 }));
    for (wrong, says) in [
        ("rated_rpm = 200\nfull_speed_mm_s = 600", "stated twice"),
        ("rated_rpm = 0", "motor.rated_rpm"),
        ("full_speed_mm_s = \"fast\"", "motor.full_speed_mm_s"),
    ] {
        let faults = RoverFile::load("x", &with(wrong)).unwrap_err();
        assert!(faults.iter().any(|fault| fault.to_string().contains(says)), "{faults:#?}");
    }
    let without = with("rated_rpm = 200").replace("rated_volts = 12.0", "");
    let faults = RoverFile::load("x", &without).unwrap_err();
    assert!(faults.iter().any(|fault| fault.allowed.contains("rated_volts")), "{faults:#?}");
}

#[test]
fn the_cadence_is_stated_in_any_of_four_ways() {
    let plain = built_in::find("plain-line").unwrap().text;
    let with = |cadence: &str| plain.replace("cadence = \"on change\"", &format!("cadence = {cadence}"));
    let loaded = |cadence: &str| RoverFile::load("x.toml", &with(cadence)).unwrap().cadence;
    assert_eq!(loaded("50"), StatedCadence::Every(50_000_000));
    assert_eq!(loaded("\"learn\""), StatedCadence::Learn);
    assert_eq!(loaded("{ while_moving = 100 }"), StatedCadence::WhileMoving(100_000_000));
    let faults = |cadence: &str| -> Vec<String> {
        let faults = RoverFile::load("x.toml", &with(cadence)).unwrap_err();
        faults.iter().map(|fault| format!("{}:{}", fault.line, fault.key)).collect()
    };
    let line = 1 + plain.lines().position(|line| line.starts_with("cadence")).unwrap();
    assert_eq!(
        faults("{ moving = 100 }"),
        [format!("{line}:link.cadence.while_moving"), format!("{line}:link.cadence.moving")]
    );
    assert_eq!(faults("{ while_moving = 0 }"), [format!("{line}:link.cadence.while_moving")]);
    assert_eq!(faults("\"sometimes\""), [format!("{line}:link.cadence")]);
    assert_eq!(faults("true"), [format!("{line}:link.cadence")]);
}

#[test]
fn the_receive_buffer_is_stated_or_usual() {
    let plain = built_in::find("plain-line").unwrap().text;
    let loaded = |text: &str| RoverFile::load("x.toml", text).unwrap().meaning.reader.buffer;
    assert_eq!(loaded(&plain.replace("buffer = 64", "buffer = 256")), 256);
    assert_eq!(loaded(&plain.replace("buffer = 64", "# none")), crate::rover::meaning::USUAL_BUFFER);
    let faults = RoverFile::load("x.toml", &plain.replace("buffer = 64", "buffer = 0")).unwrap_err();
    assert_eq!(faults[0].key, "reader.buffer");
}

#[test]
fn guesses_are_taken_and_every_wrong_one_is_named() {
    let plain = built_in::find("plain-line").unwrap().text;
    let with = |more: &str| RoverFile::load("x", &format!("{plain}\n[diagnosis]\n{more}"));
    let stated = with("motor_terminals = \"glued\"\nwheel_dead = 0.3\nlow_duty_below = 60\n").unwrap().guesses;
    let of = [Guess::CostPlugs, Guess::WheelDead, Guess::LowDutyBelow, Guess::WheelReversed];
    assert_eq!(of.map(|guess| stated.of(guess)), [40_000, 300, 60_000, 50]);
    let faults =
        with("wheel_dead = 0.9\nwheel_reversed = 0.3\nmisread_wheel = 0\nmotor_terminals = \"wire\"\nluck = 1\n");
    let faults: Vec<String> = faults.unwrap_err().iter().map(ToString::to_string).collect();
    let all = faults.join("\n");
    for due in
        ["add up to 1.230", "misread_wheel: 0 is out of range. Allowed: 0.001 to 0.9", "screws, plugs, glued", "luck"]
    {
        assert!(all.contains(due), "{due} is missing in:\n{all}");
    }
}

/// The plain line's file, which `wheeltap new` writes out, names each key with its usual value.
#[test]
fn the_file_to_start_from_documents_every_guess() {
    let text = built_in::find("plain-line").unwrap().text;
    for row in crate::rover::guesses::TABLE {
        let usual = format!("# {} = {}", row.key, row.usual as f64 / 1000.0);
        let documented =
            text.lines().any(|line| line.starts_with(&usual) && line.ends_with(&format!("# {}", row.says)));
        assert!(documented, "{usual}: {}", row.says);
    }
    // The same with the marks taken away is a sound file with the usual values.
    let (before, guesses) = text.split_once("# [diagnosis]").unwrap();
    let stated = format!("{before}[diagnosis]{}", guesses.replace("\n# ", "\n"));
    assert_eq!(RoverFile::load("x", &stated).unwrap().guesses, crate::rover::guesses::Guesses::default());
}
