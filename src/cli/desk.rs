//! Options of the verbs for recorded sessions: `compare`, `export`, `bundle`.

use std::path::PathBuf;

use clap::Args;

use super::{RoverArgs, SignalArgs};
use crate::run;
use crate::run::bundle::Ends;
use crate::run::export::{Form, Times};

#[derive(Debug, Args)]
pub(super) struct CompareArgs {
    /// The first session, log or value-change dump: before.
    pub(super) a: String,
    /// The second: after.
    pub(super) b: String,
    #[command(flatten)]
    pub(super) rover: RoverArgs,
    #[command(flatten)]
    pub(super) signals: SignalArgs,
    /// One JSON object.
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Debug, Args)]
pub(super) struct ExportArgs {
    /// A session, a plain log or a value-change dump (its frames, not its pins); `-` is standard input.
    pub(super) file: String,
    #[command(flatten)]
    pub(super) rover: RoverArgs,
    #[command(flatten)]
    pub(super) signals: SignalArgs,
    /// csv (RFC 4180), json (one object a line) or parquet (needs --out, and a wheeltap built with it).
    #[arg(long, value_name = "FORM", default_value = "csv", value_parser = form)]
    pub(super) form: Form,
    /// relative (seconds since the session began) or iso (ISO 8601, time of day and offset).
    #[arg(long, value_name = "HOW", default_value = "relative", value_parser = times)]
    pub(super) time: Times,
    /// A new file; standard output when not given.
    #[arg(long, value_name = "FILE")]
    pub(super) out: Option<PathBuf>,
    /// In place of the rows: each column, its unit, what it holds, and whether that is text, a whole number or a number;
    /// as csv or json.
    #[arg(long)]
    pub(super) columns: bool,
}

#[derive(Debug, Args)]
pub(super) struct BundleArgs {
    /// A session or a plain log.
    pub(super) file: String,
    #[command(flatten)]
    pub(super) rover: RoverArgs,
    /// The file to write; it must not exist yet. Only shows what would go and stay when not given.
    #[arg(long, value_name = "FILE")]
    pub(super) out: Option<PathBuf>,
    /// Begins at this note, counted from 1 by time.
    #[arg(long, value_name = "NUMBER", conflicts_with = "from")]
    pub(super) from_note: Option<usize>,
    /// Ends at this note.
    #[arg(long, value_name = "NUMBER", conflicts_with = "to")]
    pub(super) to_note: Option<usize>,
    /// Begins at this time of the session.
    #[arg(long, value_name = "SECONDS")]
    pub(super) from: Option<f64>,
    /// Ends at this time of the session.
    #[arg(long, value_name = "SECONDS")]
    pub(super) to: Option<f64>,
    /// A sentence on what it shows; may be given more than once.
    #[arg(long, value_name = "TEXT")]
    pub(super) about: Vec<String>,
    /// What you saw the wheels do: a file of observations, as `diagnose` takes it.
    #[arg(long, value_name = "FILE")]
    pub(super) observations: Option<PathBuf>,
}

fn form(name: &str) -> Result<Form, String> {
    match name {
        "csv" => Ok(Form::Csv),
        "json" => Ok(Form::JsonLines),
        "parquet" => Ok(Form::Parquet),
        _ => Err("csv, json or parquet".to_owned()),
    }
}

fn times(name: &str) -> Result<Times, String> {
    match name {
        "relative" => Ok(Times::Relative),
        "iso" => Ok(Times::Iso),
        _ => Err("relative or iso".to_owned()),
    }
}

impl From<ExportArgs> for run::export::Options {
    fn from(args: ExportArgs) -> Self {
        Self {
            file: args.file,
            signals: args.signals.into(),
            rover: args.rover.rover,
            form: args.form,
            times: args.time,
            out: args.out,
            columns: args.columns,
        }
    }
}

impl From<BundleArgs> for run::bundle::Options {
    fn from(args: BundleArgs) -> Self {
        let ends = Ends { from_note: args.from_note, to_note: args.to_note, from_s: args.from, to_s: args.to };
        Self {
            file: args.file,
            rover: args.rover.rover,
            out: args.out,
            ends,
            about: args.about,
            observations: args.observations,
        }
    }
}
