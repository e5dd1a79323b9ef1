//! `listen`: one or two real ports, recorded by default.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

use chrono::{DateTime, Local, Offset};
use wheeltap_parsers::{Input, Wire};

use crate::console::status::{Mode, Recorder as RecorderView, Status};
use crate::engine::Engine;
use crate::rover::file::RoverFile;
use crate::run::headless::{Output, Printer};
use crate::run::live::{Follow, Show, TakesNote, Teaching};
use crate::run::read_again::Recorded;
use crate::run::recorder_news::{News, WithNews};
use crate::run::signals::Asked;
use crate::run::{Failure, Outcome, rover_choice, screen, tell};
use crate::session::recorder_thread::QUEUE_BYTES;
use crate::session::{Header, Recorder, RecorderStatus, RecorderThread, Rotation};
use crate::source::Source;
use crate::source::clock::Clock;
use crate::source::intake::{ENGINE_BYTES, Intake};
use crate::source::live::LiveSource;
use crate::source::ports::{PortInfo, may_reset};
use crate::source::serial::{PortSettings, SerialReader};
use crate::timing::link::LinkFacts;

/// The usual rate of such links, when neither the person nor the rover file says another. Common practice, no source.
pub(super) const USUAL_RATE: u32 = 115_200;

/// The line rate as the person gave it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LineRate {
    /// This many baud.
    Baud(u32),
    /// To be found while a button is tapped.
    Find,
}

/// When to begin a new session file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rotate {
    /// When the file has so many bytes.
    Bytes(u64),
    /// When the local day changes.
    Day,
}

impl std::str::FromStr for Rotate {
    type Err = String;

    /// `day`, or a size such as `100MB`.
    fn from_str(text: &str) -> Result<Self, String> {
        let units = [("kB", 1_000), ("MB", 1_000_000), ("GB", 1_000_000_000)];
        let size = |(unit, of): (&str, u64)| text.strip_suffix(unit)?.trim().parse::<u64>().ok()?.checked_mul(of);
        match units.into_iter().find_map(size) {
            _ if text == "day" => Ok(Self::Day),
            Some(bytes) if bytes >= 10_000 => Ok(Self::Bytes(bytes)),
            _ => Err(
                "taken are `day`, or a whole number with kB, MB or GB right behind it, written so, from 10kB on: such \
                      as 20kB, 100MB or 1GB (1kB is 1,000 bytes)"
                    .to_owned(),
            ),
        }
    }
}

/// What to listen to, and how.
pub struct Options {
    /// Port on the wire to the drive board.
    pub port: String,
    /// Port on the wire back.
    pub back: Option<String>,
    /// Rover file or name.
    pub rover: Option<String>,
    /// Line rate.
    pub rate: Option<LineRate>,
    /// Where to record.
    pub session: Option<PathBuf>,
    /// Whether to record.
    pub records: bool,
    /// When to begin a new file.
    pub rotate: Vec<Rotate>,
    /// With or without a screen.
    pub output: Output,
    /// Plain ASCII.
    pub ascii: bool,
}

/// Listens until asked to end.
pub fn run(options: &Options) -> Result<Outcome, Failure> {
    let asked = Asked::watch()?;
    let rover = rover_choice::choose(options.rover.as_deref(), None)?;
    two_ports(options)?;
    warn_of_boards(options);
    let rate = rate(options, rover.as_deref(), &asked)?;
    let ports = ports(options, rate);
    let tap = Tap::open(&ports, options, rover.as_deref())?;
    say(&ports, rover.as_deref(), tap.recorder.as_ref());
    let engine = Engine::new(tap.link.clone(), rover);
    if options.output.headless { headless(tap, engine, options, asked) } else { shown(tap, engine, options, &asked) }
}

/// The rate to listen at: given, found, the rover file's, or the usual one.
fn rate(options: &Options, rover: Option<&RoverFile>, asked: &Asked) -> Result<u32, Failure> {
    let found = match options.rate {
        Some(LineRate::Baud(rate)) => Some(rate),
        #[cfg(unix)]
        Some(LineRate::Find) => crate::run::find_rate::run(&options.port, rover, asked)?,
        #[cfg(not(unix))]
        Some(LineRate::Find) => {
            return Err(Failure::usage("the line rate cannot be found on this system: give it with --rate BAUD"));
        }
        None => None,
    };
    Ok(found.or(rover.map(|rover| rover.rate)).unwrap_or(USUAL_RATE))
}

fn ports(options: &Options, rate: u32) -> Vec<PortSettings> {
    let port = |path: &String, wire| PortSettings { path: path.clone(), rate, wire };
    let back = options.back.as_ref().map(|path| port(path, Wire::FromDrive));
    std::iter::once(port(&options.port, Wire::ToDrive)).chain(back).collect()
}

/// One port cannot be on both wires.
fn two_ports(options: &Options) -> Result<(), Failure> {
    let real = |path: &String| std::fs::canonicalize(path).unwrap_or_else(|_| PathBuf::from(path));
    match &options.back {
        Some(back) if real(back) == real(&options.port) => Err(Failure::usage(format!(
            "{back}: named for both wires. Each wire has an adapter of its own; leave --back out when one wire is tapped."
        ))),
        _ => Ok(()),
    }
}

/// Before anything is opened.
fn warn_of_boards(options: &Options) {
    for path in std::iter::once(&options.port).chain(&options.back) {
        if let Some(warning) = may_reset(&PortInfo { path: path.clone(), ..PortInfo::default() }) {
            tell(format!("CAUTION: {warning}"));
        }
    }
}

fn say(ports: &[PortSettings], rover: Option<&RoverFile>, recorder: Option<&RecorderThread>) {
    say_ports(ports);
    match rover {
        Some(rover) => tell(format!("Rover: {} ({}).", rover.name, rover.link)),
        None => tell("No rover file: lines are shown as they are. The session can be read again later with one."),
    }
    say_recorder(recorder);
}

fn say_ports(ports: &[PortSettings]) {
    for port in ports {
        tell(format!("Listening to {} (wire {}) at {} baud.", port.path, port.wire.symbol(), port.rate));
    }
}

fn say_recorder(recorder: Option<&RecorderThread>) {
    match recorder {
        Some(recorder) => tell(format!("Recording to {}.", recorder.status().path().display())),
        None => tell("Not recording."),
    }
}

/// Opens the ports and the recorder, with what is said before and after.
pub(super) fn open(options: &Options, asked: &Asked) -> Result<Tap, Failure> {
    warn_of_boards(options);
    let rate = rate(options, None, asked)?;
    let ports = ports(options, rate);
    let tap = Tap::open(&ports, options, None)?;
    say_ports(&ports);
    say_recorder(tap.recorder.as_ref());
    Ok(tap)
}

/// The open ports, the hand-over and the recorder.
pub(super) struct Tap {
    readers: Vec<SerialReader>,
    intake: Arc<Intake>,
    recorder: Option<RecorderThread>,
    link: LinkFacts,
    source: LiveSource,
}

impl Tap {
    fn open(ports: &[PortSettings], options: &Options, rover: Option<&RoverFile>) -> Result<Self, Failure> {
        let mut readers: Vec<SerialReader> =
            ports.iter().map(|port| SerialReader::open(port.clone())).collect::<Result<_, _>>()?;
        let clock = Clock::start();
        let mut link = LinkFacts { begun_unix_us: Some(clock.begun_unix_us()), ..LinkFacts::default() };
        link.utc_offset_min = Local::now().offset().fix().local_minus_utc() / 60;
        for port in ports {
            link.wires[port.wire.index()] = Some(port.facts());
        }
        let recorder = options.records.then(|| record(options, &link, rover)).transpose()?;
        let wires: Vec<Wire> = ports.iter().map(|port| port.wire).collect();
        let queue = recorder.as_ref().map(RecorderThread::queue);
        let intake = Arc::new(Intake::new(clock, &wires, queue, ENGINE_BYTES));
        let source = LiveSource::new(&intake, link.clone());
        for reader in &mut readers {
            reader.begin(Arc::clone(&intake));
        }
        Ok(Self { readers, intake, recorder, link, source })
    }

    fn status(&self) -> impl Fn() -> Status + Send + 'static {
        let recorder = self.recorder.as_ref().map(RecorderThread::status);
        let begun = self.link.begun_unix_us.and_then(DateTime::from_timestamp_micros);
        let begun = begun.map(|utc| utc.with_timezone(&Local).format("%Y-%m-%d %H:%M:%S").to_string());
        move || Status {
            mode: Mode::Listen,
            recorder: recorder.as_deref().map(recorder_view),
            begun: begun.clone(),
            ..Status::default()
        }
    }

    /// What comes next from the ports.
    pub(super) fn next(&mut self) -> Result<Option<Input<'_>>, Failure> {
        Ok(self.source.next()?)
    }

    /// The line rate of the wire to the drive board, baud.
    pub(super) fn rate(&self) -> Option<u32> {
        self.link.wire(Wire::ToDrive)?.rate
    }

    /// A remark for the session, now.
    pub(super) fn note(&self, text: &str) {
        self.intake.note(text);
    }

    /// Stops the readers and closes the session without an engine; gives the session's file.
    pub(super) fn stop(mut self) -> Result<Option<PathBuf>, Failure> {
        self.end_readers();
        self.intake.close();
        let Some(recorder) = self.recorder.take() else { return Ok(None) };
        let status = recorder.finish();
        match status.trouble() {
            Some(trouble) => Err(Failure::device(format!("{}: {trouble}", status.path().display()))),
            None => Ok(Some(status.path())),
        }
    }

    fn end_readers(&mut self) {
        self.readers.iter().for_each(SerialReader::stop);
        self.readers.clear();
    }

    /// Stops the readers, lets the engine take the rest, closes the session.
    fn close(mut self, engine: &mut Engine, show: &mut Show) -> Result<Outcome, Failure> {
        self.end_readers();
        self.intake.close();
        let outcome = Follow::finish(&mut self.source, engine, show);
        let Some(recorder) = self.recorder.take() else { return outcome };
        let status = recorder.finish();
        if let Some(trouble) = status.trouble() {
            return Err(Failure::device(trouble));
        }
        outcome
    }
}

fn recorder_view(status: &RecorderStatus) -> RecorderView {
    RecorderView {
        path: status.path().display().to_string(),
        bytes: status.bytes(),
        lost: status.lost(),
        trouble: status.trouble(),
    }
}

fn record(options: &Options, link: &LinkFacts, rover: Option<&RoverFile>) -> Result<RecorderThread, Failure> {
    let header = Header::new(link.clone(), rover.map(|rover| (rover.file.clone(), rover.text.clone())));
    let recorder = match &options.session {
        Some(path) => Recorder::create(path, &header)?,
        None => named_by_time(&header)?,
    };
    let rotation = rotation(&options.rotate, &recorder, header);
    Ok(RecorderThread::start_rotating(recorder, QUEUE_BYTES, rotation)?)
}

/// When a new file is begun, as asked for.
fn rotation(asked: &[Rotate], recorder: &Recorder, header: Header) -> Option<Rotation> {
    let bytes = asked.iter().filter_map(|one| if let Rotate::Bytes(bytes) = one { Some(*bytes) } else { None }).min();
    let daily = asked.contains(&Rotate::Day);
    (!asked.is_empty()).then(|| Rotation::new(recorder.status().path(), header, bytes, daily))
}

/// A new file named by date and time; a number is added when two begin in one second.
fn named_by_time(header: &Header) -> Result<Recorder, Failure> {
    let stem = Local::now().format("%Y-%m-%d_%H%M%S").to_string();
    for number in 1..100 {
        let name = if number == 1 { format!("{stem}.wheeltap") } else { format!("{stem}-{number}.wheeltap") };
        if !Path::new(&name).exists() {
            return Ok(Recorder::create(Path::new(&name), header)?);
        }
    }
    Err(Failure::device(format!(
        "{stem}.wheeltap: a hundred sessions of this second are here. Name one with --session."
    )))
}

fn headless(mut tap: Tap, mut engine: Engine, options: &Options, asked: Asked) -> Result<Outcome, Failure> {
    let printer = Some(Printer::new(options.output.json));
    let mut show = Show { publisher: None, printer, status: Box::new(Status::default) };
    let ends = options.output.seconds.map(Duration::from_secs);
    let mut follow = Follow { begun: Instant::now(), paced: false, ends, asked, wishes: None, note: None, teach: None };
    let mut news = News::of(tap.recorder.as_ref().map(RecorderThread::status));
    let mut source = WithNews { source: &mut tap.source, news: &mut news };
    let followed = follow.run(&mut source, &mut engine, &mut show);
    let closed = tap.close(&mut engine, &mut show);
    // Something may have happened since.
    news.tell_last();
    followed?;
    // What the findings say is not the outcome of listening.
    closed.map(|_| Outcome::Fine)
}

fn shown(mut tap: Tap, mut engine: Engine, options: &Options, asked: &Asked) -> Result<Outcome, Failure> {
    let status = Box::new(tap.status());
    let ends = options.output.seconds.map(Duration::from_secs);
    let path = tap.recorder.as_ref().map(|recorder| recorder.status().path());
    let recorded = tap.recorder.as_ref().map(|recorder| Recorded::by(recorder.status()));
    let last_part = tap.recorder.as_ref().map(RecorderThread::status);
    screen::run(options.ascii, asked, move |desk| {
        let intake = Arc::clone(&tap.intake);
        let note: TakesNote = Box::new(move |text| {
            intake.note(text);
        });
        let intake = Arc::clone(&tap.intake);
        let keep = Box::new(move |name: &str, text: &str| intake.taught(name, text));
        let rate = tap.rate().unwrap_or(USUAL_RATE);
        let mut follow = Follow {
            begun: Instant::now(),
            paced: false,
            ends,
            asked: desk.asked,
            wishes: Some(desk.wishes),
            note: Some(note),
            teach: Some(Teaching::new(recorded, rate, keep)),
        };
        let mut show = Show { publisher: Some(desk.publisher), printer: None, status };
        let followed = follow.run(&mut tap.source, &mut engine, &mut show);
        let closed = tap.close(&mut engine, &mut show);
        if let Some(teaching) = follow.teach {
            teaching.into_files()?;
        }
        followed.and(closed).map(drop)
    })?;
    if let Some(path) = path {
        tell(match last_part.and_then(|recorder| recorder.newest_part()) {
            Some(last) => {
                format!("The session is in {} files, from {} to {}.", last.number, path.display(), last.path.display())
            }
            None => format!("The session is in {}.", path.display()),
        });
    }
    Ok(Outcome::Fine)
}
