//! The command line: verbs, options, exit codes.
//!
//! Exit codes: 0 fine, 1 faults found by a check, 2 usage or bad file, 3 device or I/O.

mod desk;

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Args, Parser, Subcommand};

use desk::{BundleArgs, CompareArgs, ExportArgs};

use crate::rover::built_in;
use crate::run::listen::{LineRate, Rotate};
use crate::run::signals_choice::{Asked, WheelAsked};
use crate::run::simulate::Planted;
use crate::run::{self, Outcome};
use crate::simulation::{Fault, Style};

/// Taps the wire between the two boards of a mecanum rover.
///
/// It decodes the orders, shows what each wheel was told and when, records the session, and replays it. It sees what
/// a wheel was told, not how it turned. It only listens.
#[derive(Debug, Parser)]
#[command(version, max_term_width = 100, arg_required_else_help = true)]
struct Cli {
    #[command(subcommand)]
    verb: Verb,
}

#[derive(Debug, Subcommand)]
enum Verb {
    /// Shows the built-in simulated rover; no hardware needed.
    #[command(after_help = "Example: wheeltap demo --like cue-line --fault supply-sag")]
    Demo(DemoArgs),
    /// Listens to one or two ports, shows the rover, and records a session.
    #[command(after_help = "Example: wheeltap listen /dev/ttyUSB0 --rover my-rover.toml\n\
        \nThe tap is ground and receive only. Opening a board's own USB port may reset the board: lift the wheels first.")]
    Listen(ListenArgs),
    /// Makes a rover file while you press the buttons of the control panel.
    #[command(after_help = "Example: wheeltap teach /dev/ttyUSB0 --out my-rover.toml\n\
        \nAt most fifteen prompts. Everything can be taken back. The session is recorded, so a lesson can be learned \
        from again: wheeltap teach --from SESSION --out FILE")]
    Teach(TeachArgs),
    /// Writes a rover file to start from.
    #[command(after_help = "Example: wheeltap new my-rover.toml --like plain-line")]
    New(NewArgs),
    /// Shows a session, a plain log, a value-change dump or raw bytes again.
    #[command(after_help = "Example: wheeltap replay 2026-05-01_194600.wheeltap")]
    Replay(ReplayArgs),
    /// Prints all that a session, a plain log, a value-change dump or raw bytes hold, then findings and a summary.
    #[command(after_help = "Example: wheeltap decode logs/two-chip-brownout.jsonl --rover letter-line\n\
        Example: wheeltap decode pins.vcd --rover cue-line --wire tx --pins FL=A1,A2,ENA\n\
        \nExit code 1 when a finding is a danger or a fault.")]
    Decode(DecodeArgs),
    /// Holds two sessions, logs or value-change dumps against each other: settings, timing, damage, findings, legs, and what is more than chance.
    #[command(after_help = "Example: wheeltap compare before.wheeltap after.wheeltap\n\
        \nExit code 1 when a danger or a fault came that the first did not have.")]
    Compare(CompareArgs),
    /// Writes every good frame as a row: comma-separated values or JSON.
    #[command(after_help = "Example: wheeltap export evening.wheeltap --form csv --time iso --out evening.csv\n\
        \nThe columns and what they hold: wheeltap export evening.wheeltap --columns")]
    Export(ExportArgs),
    /// Makes one file for a helper: the session or a part of it, without names of networks, passwords and free text.
    #[command(
        after_help = "Example: wheeltap bundle evening.wheeltap --from-note 1 --to-note 2 --out for-helper.wheeltap\n\
        \nWithout --out it only shows what would go and what would stay. The bundle is a session file: replay and decode \
        open it."
    )]
    Bundle(BundleArgs),
    /// Finds which lead, plug, wheel, roller or row is wrong, from what you see the wheels do.
    #[command(after_help = "Example: wheeltap diagnose --rover my-rover.toml\n\
        \nWithout FILE it asks, one test at a time. Exit code 1 when a file of observations speaks of a fault.\n\
        \nA line of observations: {\"kind\":\"observation\",\"test\":\"stand\",\"move\":\"forward\",\"duty\":\"low\",\
        \"wheels\":{\"FL\":\"forward\",\"FR\":\"forward\",\"RL\":\"forward\",\"RR\":\"backward\"}}")]
    Diagnose(DiagnoseArgs),
    /// Lists the serial ports, tells which one just appeared, and what opening each may do.
    #[command(after_help = "Example: wheeltap ports --watch\n\
        \nStart it, then plug the adapter in: the one that appears is yours.")]
    Ports(PortsArgs),
    /// Puts the simulated rover's boards on pretend serial ports, for `listen` in another terminal.
    #[command(after_help = "Example: wheeltap simulate --like plain-line --fault secret --seed 7\n\
        \nAt a terminal you press its control panel and see its wheels turn; what is planted is told when you ask.")]
    Simulate(SimulateArgs),
}

#[derive(Debug, Args)]
struct RoverArgs {
    /// A rover file, or the name of one that ships with the program.
    #[arg(long, value_name = "FILE or NAME")]
    rover: Option<String>,
}

/// Which signals of a value-change dump (IEEE 1364) are used.
#[derive(Debug, Args)]
struct SignalArgs {
    /// In a value-change dump: the signal that is the wire to the drive board; given again, the wire back. Found by
    /// its edges when not given.
    #[arg(long = "wire", value_name = "NAME")]
    wires: Vec<String>,
    /// In a value-change dump: a wheel's direction inputs and enable, such as FL=A1,A2,ENA; with chip: or wheel: before
    /// it where the names do not say where they were recorded. Without it the rover file's names, or names such as
    /// wheel.fl.in1, are looked for.
    #[arg(long = "pins", value_name = "WHEEL=IN1,IN2,EN", value_parser = WheelAsked::read)]
    pins: Vec<WheelAsked>,
}

impl From<SignalArgs> for Asked {
    fn from(args: SignalArgs) -> Self {
        Self { wires: args.wires, pins: args.pins, ..Self::default() }
    }
}

#[derive(Debug, Args)]
struct SimulatedArgs {
    /// Link style of the simulated rover: plain-line, cue-line, stave, bead or ladder.
    #[arg(long, value_name = "NAME", default_value = "plain-line", value_parser = style)]
    like: Style,
    /// A fault to plant, such as leads-reversed-rr, supply-sag or send-on-change; any other word lists them all.
    /// `secret` is one of the wheels that the seed picks and nobody names. May be given more than once.
    #[arg(long = "fault", value_name = "NAME", value_parser = fault)]
    faults: Vec<Planted>,
    /// Where all chance comes from; the same seed gives the same run.
    #[arg(long, default_value_t = 1)]
    seed: u64,
}

#[derive(Debug, Args)]
struct OutputArgs {
    /// No screen: prints what is heard, line by line.
    #[arg(long)]
    headless: bool,
    /// With --headless: one JSON object a line.
    #[arg(long, requires = "headless")]
    json: bool,
    /// Ends by itself after so many seconds.
    #[arg(long = "for", value_name = "SECONDS", value_parser = clap::value_parser!(u64).range(1..=31_536_000))]
    seconds: Option<u64>,
}

#[derive(Debug, Args)]
struct ScreenArgs {
    /// Draws with plain ASCII only. (Without colour: set `NO_COLOR`.)
    #[arg(long)]
    ascii: bool,
}

#[derive(Debug, Args)]
struct DemoArgs {
    #[command(flatten)]
    simulated: SimulatedArgs,
    #[command(flatten)]
    output: OutputArgs,
    #[command(flatten)]
    screen: ScreenArgs,
}

#[derive(Debug, Args)]
struct ListenArgs {
    /// The port on the wire to the drive board.
    port: String,
    /// A second port, on the wire back from the drive board.
    #[arg(long, value_name = "PORT")]
    back: Option<String>,
    #[command(flatten)]
    rover: RoverArgs,
    /// Line rate in baud; the rover file's, or 115200, when not given. With `find`, it is found while you keep tapping
    /// one button of the panel.
    #[arg(long, value_name = "BAUD or find", value_parser = line_rate)]
    rate: Option<LineRate>,
    /// Where to record; a new file named by date and time in this folder when not given.
    #[arg(long, value_name = "FILE", conflicts_with = "no_session")]
    session: Option<PathBuf>,
    /// Does not record.
    #[arg(long)]
    no_session: bool,
    /// Begins a new session file at this size, or each day; may be given twice. The files are named NAME-part2 and so on.
    #[arg(long, value_name = "SIZE or day", conflicts_with = "no_session")]
    rotate: Vec<Rotate>,
    #[command(flatten)]
    output: OutputArgs,
    #[command(flatten)]
    screen: ScreenArgs,
}

#[derive(Debug, Args)]
struct TeachArgs {
    /// The port on the wire to the drive board.
    #[arg(required_unless_present = "from")]
    port: Option<String>,
    /// The rover file to write; it must not exist yet.
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
    /// Line rate in baud; 115200 when not given. With `find`, it is found while you keep tapping one button of the
    /// panel.
    #[arg(long, value_name = "BAUD or find", value_parser = line_rate)]
    rate: Option<LineRate>,
    /// The shipped rover file whose format this link has, where you know it.
    #[arg(long, value_name = "NAME", value_parser = built_in_name)]
    like: Option<String>,
    /// Learns from the recorded session of a lesson instead of a port.
    #[arg(long, value_name = "SESSION", conflicts_with_all = ["port", "session", "no_session"])]
    from: Option<String>,
    /// Where to record; a new file named by date and time in this folder when not given.
    #[arg(long, value_name = "FILE", conflicts_with = "no_session")]
    session: Option<PathBuf>,
    /// Does not record.
    #[arg(long)]
    no_session: bool,
}

#[derive(Debug, Args)]
struct NewArgs {
    /// The file to write; it must not exist yet.
    file: PathBuf,
    /// Which of the shipped rover files to begin with.
    #[arg(long, value_name = "NAME", default_value = "plain-line", value_parser = built_in_name)]
    like: String,
}

#[derive(Debug, Args)]
struct ReplayArgs {
    /// A session, a plain log, a value-change dump or raw bytes.
    file: PathBuf,
    #[command(flatten)]
    rover: RoverArgs,
    #[command(flatten)]
    signals: SignalArgs,
    #[command(flatten)]
    screen: ScreenArgs,
}

#[derive(Debug, Args)]
struct DecodeArgs {
    /// A session, a plain log, a value-change dump or raw bytes; `-` is standard input.
    file: String,
    #[command(flatten)]
    rover: RoverArgs,
    #[command(flatten)]
    signals: SignalArgs,
    /// In place of all that: how often a small injury of these orders would be obeyed as something else, and the cure as
    /// text to paste for both boards.
    #[arg(long)]
    strength: bool,
    /// In place of all that: checks each line of a session file, and names what is damaged or missing.
    #[arg(long, conflicts_with = "strength")]
    check: bool,
    /// One JSON object a line.
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Args)]
struct DiagnoseArgs {
    /// A session with a wheel sheet, a value-change dump with the wheels' pins, or a file of observations, one JSON object
    /// a line; `-` is standard input. Asks when not given.
    file: Option<String>,
    #[command(flatten)]
    rover: RoverArgs,
    #[command(flatten)]
    signals: SignalArgs,
    /// Prints one JSON object.
    #[arg(long, requires = "file")]
    json: bool,
    /// Your link can order one wheel alone.
    #[arg(long)]
    one_wheel: bool,
}

#[derive(Debug, Args)]
struct PortsArgs {
    /// One JSON object a line.
    #[arg(long)]
    json: bool,
    /// Goes on, and tells what appears and what goes as you plug and unplug.
    #[arg(long)]
    watch: bool,
    /// With --watch: ends by itself after so many seconds.
    #[arg(long = "for", value_name = "SECONDS", requires = "watch", value_parser = clap::value_parser!(u64).range(1..=31_536_000))]
    seconds: Option<u64>,
}

#[derive(Debug, Args)]
struct SimulateArgs {
    #[command(flatten)]
    simulated: SimulatedArgs,
    /// Also makes the wire's port reachable under this name (and the wire back under this name and `-back`).
    #[arg(long, value_name = "FILE")]
    link: Option<PathBuf>,
    /// Ends by itself after so many seconds.
    #[arg(long = "for", value_name = "SECONDS", value_parser = clap::value_parser!(u64).range(1..=31_536_000))]
    seconds: Option<u64>,
    /// `on`: you press the control panel, and see the wheels. `off`: a driver that the seed moves. At a terminal it is on
    /// when not given.
    #[arg(long, value_name = "on or off", value_parser = on_or_off)]
    panel: Option<bool>,
    /// Tells at the end what was planted.
    #[arg(long)]
    reveal: bool,
    #[command(flatten)]
    screen: ScreenArgs,
}

fn on_or_off(word: &str) -> Result<bool, String> {
    match word {
        "on" => Ok(true),
        "off" => Ok(false),
        _ => Err("on or off".to_owned()),
    }
}

fn line_rate(text: &str) -> Result<LineRate, String> {
    if text == "find" {
        return Ok(LineRate::Find);
    }
    text.parse().map(LineRate::Baud).map_err(|_| "a number of baud, such as 115200, or the word find".to_owned())
}

fn style(name: &str) -> Result<Style, String> {
    let names: Vec<&str> = Style::ALL.iter().map(|style| style.name()).collect();
    Style::from_name(name).ok_or_else(|| format!("known link styles: {}", names.join(", ")))
}

fn fault(name: &str) -> Result<Planted, String> {
    if name == "secret" {
        return Ok(Planted::Secret);
    }
    let fault = Fault::from_name(name).map(Planted::Named);
    fault.ok_or_else(|| format!("known faults: secret, {}", Fault::names()))
}

fn built_in_name(name: &str) -> Result<String, String> {
    built_in::find(name).map(|file| file.name.to_owned()).ok_or_else(|| format!("known names: {}", built_in::names()))
}

/// Runs the program with the arguments of this process.
pub fn main() -> ExitCode {
    let cli = Cli::parse();
    match dispatch(cli.verb) {
        Ok(outcome) => ExitCode::from(outcome.code()),
        Err(failure) => {
            run::tell(format!("wheeltap: {}", failure.message));
            ExitCode::from(failure.code)
        }
    }
}

fn dispatch(verb: Verb) -> Result<Outcome, run::Failure> {
    match verb {
        Verb::Demo(DemoArgs { simulated, output, screen }) => run::demo::run(&run::demo::Options {
            simulated: simulated.into(),
            output: output.into(),
            ascii: screen.ascii,
        }),
        Verb::Listen(args) => run::listen::run(&run::listen::Options {
            port: args.port,
            back: args.back,
            rover: args.rover.rover,
            rate: args.rate,
            session: args.session,
            records: !args.no_session,
            rotate: args.rotate,
            output: args.output.into(),
            ascii: args.screen.ascii,
        }),
        Verb::Teach(args) => run::teach::run(&args.into()),
        Verb::New(args) => run::new::run(&args.file, &args.like),
        Verb::Replay(args) => {
            run::replay::run(&args.file, args.signals.into(), args.rover.rover.as_deref(), args.screen.ascii)
        }
        Verb::Decode(args) if args.check => run::decode::check(&args.file, args.json),
        Verb::Decode(args) if args.strength => {
            run::decode::strength(&args.file, &args.signals.into(), args.rover.rover.as_deref(), args.json)
        }
        Verb::Decode(args) => {
            run::decode::run(&args.file, &args.signals.into(), args.rover.rover.as_deref(), args.json)
        }
        Verb::Compare(args) => {
            let rover = args.rover.rover.as_deref();
            run::compare::run([&args.a, &args.b], &args.signals.into(), rover, args.json)
        }
        Verb::Export(args) => run::export::run(&args.into()),
        Verb::Bundle(args) => run::bundle::run(&args.into()),
        Verb::Diagnose(args) => run::diagnose::run(&run::diagnose::Options {
            file: args.file,
            rover: args.rover.rover,
            signals: args.signals.into(),
            json: args.json,
            one_wheel: args.one_wheel,
        }),
        Verb::Ports(args) => {
            run::ports::run(run::ports::Options { json: args.json, watch: args.watch, seconds: args.seconds })
        }
        Verb::Simulate(args) => run::simulate::run(&run::simulate::Options {
            simulated: args.simulated.into(),
            link: args.link,
            seconds: args.seconds,
            panel: args.panel,
            reveal: args.reveal,
            ascii: args.screen.ascii,
        }),
    }
}

impl From<TeachArgs> for run::teach::Options {
    fn from(args: TeachArgs) -> Self {
        Self {
            recorded: args.from.is_some(),
            from: args.from.or(args.port).unwrap_or_default(),
            out: args.out,
            rate: args.rate,
            like: args.like,
            session: args.session,
            records: !args.no_session,
        }
    }
}

impl From<SimulatedArgs> for run::simulate::Simulated {
    fn from(args: SimulatedArgs) -> Self {
        Self { style: args.like, faults: args.faults, seed: args.seed }
    }
}

impl From<OutputArgs> for run::headless::Output {
    fn from(args: OutputArgs) -> Self {
        Self { headless: args.headless, json: args.json, seconds: args.seconds }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_command_line_is_sound() {
        Cli::command().debug_assert();
    }

    #[test]
    fn every_verb_has_an_example() {
        for verb in Cli::command().get_subcommands() {
            let help = verb.get_after_help().map(ToString::to_string).unwrap_or_default();
            assert!(help.contains(&format!("Example: wheeltap {}", verb.get_name())), "{}", verb.get_name());
        }
    }
}
