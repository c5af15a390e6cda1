//! The commands, as types, with their help.
//!
//! Every command reports to stdout, speaks to the person on stderr, and ends in one of four exit codes. What it
//! does stands in `run`.

mod list;
mod out;
mod rates;
mod show;

use std::env;
use std::error::Error as _;
use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::Result;
use clap::error::{ContextKind, ContextValue, ErrorKind};
use clap::{Args, Parser, Subcommand};
use jiff::Timestamp;

use crate::home;
use crate::papers::words;
use crate::run::{self, Day, Desk, Listing, Statement, When};

/// Wrong usage, as clap has it.
const WRONG_USAGE: u8 = 2;
/// Done, and something needs the seller.
const NEEDS_SELLER: u8 = 3;

/// Turns dropped order exports and trade confirmations into the day's parcels, papers and one morning email.
#[derive(Debug, Parser)]
#[command(version, max_term_width = 80)]
pub struct Cli {
    /// The home directory; else this directory if it holds dawnpack.toml, else `DAWNPACK_HOME`
    #[arg(short = 'C', value_name = "HOME", global = true)]
    home: Option<PathBuf>,
    /// The moment to reckon from, for repeatable runs, such as 2026-11-25T06:30
    #[arg(long, value_name = "WHEN", global = true)]
    now: Option<When>,
    /// Tell more
    #[arg(short, long, global = true, conflicts_with = "quiet")]
    verbose: bool,
    /// Tell only faults
    #[arg(short, long, global = true)]
    quiet: bool,
    #[command(subcommand)]
    command: Command,
}

/// One JSON document on stdout
#[derive(Clone, Copy, Debug, Args)]
struct Json {
    /// One JSON document on stdout
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Write a commented home to fill in
    New { dir: PathBuf },
    /// Write the sample home, run its morning, and say where to look
    Demo { dir: PathBuf },
    /// The daemon: watch the inbox, run the morning at its time, send what is queued
    Watch,
    /// Show how files would be read; changes nothing
    Read {
        #[arg(required = true)]
        files: Vec<PathBuf>,
        #[command(flatten)]
        json: Json,
    },
    /// Take in what lies in the inbox
    TakeIn {
        #[command(flatten)]
        json: Json,
    },
    /// Take in, plan the day, write its papers, queue and send the email
    Morning {
        /// The day to plan; else today
        #[arg(long, value_name = "DAY")]
        date: Option<Day>,
        /// Show the plan and change nothing
        #[arg(long)]
        dry_run: bool,
        #[command(flatten)]
        json: Json,
    },
    /// List what the ledger holds
    List {
        what: Listing,
        #[command(flatten)]
        json: Json,
    },
    #[command(flatten)]
    Said(Statement),
    /// What a parcel would cost: every service, the price or why not, and the one chosen
    Quote {
        #[command(flatten)]
        ask: Box<run::QuoteAsk>,
        #[command(flatten)]
        json: Json,
    },
    /// What a tracking number is, and whether its check digit holds
    Identify {
        #[arg(required = true)]
        numbers: Vec<String>,
        #[command(flatten)]
        json: Json,
    },
    /// One PDF with all the evidence for a parcel
    Proof {
        /// Its ref, such as 1125-01; of an earlier year, 2026:1125-01
        parcel: String,
        #[command(flatten)]
        json: Json,
    },
    /// Try configuration, catalogue, rate cards, templates and folders
    Check {
        /// The mail server too
        #[arg(long)]
        mail: bool,
        #[command(flatten)]
        json: Json,
    },
}

impl Cli {
    /// What was typed. Help is shown, and what can't be read told, here; then the exit code.
    ///
    /// # Errors
    /// The exit code, where a value can't be read: one line names the option, the value and what to write.
    pub fn read() -> Result<Self, ExitCode> {
        Self::try_parse().map_err(|error| {
            let Some(line) = bad_value(&error) else { error.exit() };
            eprintln!("dawnpack: {line}");
            ExitCode::from(WRONG_USAGE)
        })
    }

    /// Does what was asked. `clock` reads the wall clock: once, but for the daemon, which reads it at every turn.
    ///
    /// # Errors
    /// Where it could not be done; the message says what to do about it.
    pub fn run(self, clock: &dyn Fn() -> Timestamp) -> Result<ExitCode> {
        show::set_up_log(self.verbose, self.quiet);
        let when = self.now.clone().unwrap_or_else(|| When::At(clock()));
        let change = || Desk::open(&self.root()?, &when);
        let look = || Desk::to_read(&self.root()?, &when);
        let done = match &self.command {
            Command::New { dir } => home::write_new(dir).map(|()| show::new_home(dir))?,
            Command::Demo { dir } => show::demo(dir, &run::demo(dir)?),
            Command::Watch => run::watch(&self.root()?, self.now.as_ref(), clock).map(|()| Done::All)?,
            Command::Read { files, json } => show::read(&run::read(&look()?, files)?, json.json)?,
            Command::TakeIn { json } => show::taken(&run::take_in(&mut change()?, run::Files::Move, None)?, json.json)?,
            Command::Morning { date, dry_run: true, json } => {
                let mut desk = look()?;
                let date = run::day_meant(*date, desk.today())?;
                let (_, plan) = run::dry_run(&mut desk, date)?;
                show::plan(&plan, json.json)?
            }
            Command::Morning { date, dry_run: false, json } => {
                let mut desk = change()?;
                let date = run::day_meant(*date, desk.today())?;
                show::morning(&run::morning(&mut desk, date)?, json.json)?
            }
            Command::List { what, json } => list::list(&run::list(&look()?, *what)?, json.json)?,
            Command::Said(saying) => show::said(&run::said(&mut change()?, saying)?),
            Command::Quote { ask, json } => rates::quote(&run::quote(&look()?, ask)?, json.json)?,
            Command::Identify { numbers, json } => rates::identify(&run::identify(numbers), json.json)?,
            Command::Proof { parcel, json } => show::proof(&run::proof(&look()?, parcel)?, json.json)?,
            Command::Check { mail, json } => show::checked(&run::check(&look()?, *mail)?, json.json)?,
        };
        Ok(match done {
            Done::All => ExitCode::SUCCESS,
            Done::NeedsSeller => ExitCode::from(NEEDS_SELLER),
        })
    }

    /// The home that is meant.
    fn root(&self) -> Result<PathBuf> {
        let named = env::var_os("DAWNPACK_HOME").map(PathBuf::from);
        Ok(home::find(self.home.as_deref(), &env::current_dir()?, named.as_deref())?)
    }
}

/// `--until: …`, for a value that its own reader refused: that says what to write, and a pointer to the help less.
fn bad_value(error: &clap::Error) -> Option<String> {
    let why = error.source().filter(|_| error.kind() == ErrorKind::ValueValidation)?;
    let Some(ContextValue::String(argument)) = error.get(ContextKind::InvalidArg) else { return None };
    let name = argument.split(' ').next()?.trim_matches(['<', '>', '.']);
    Some(format!("{name}: {why}"))
}

/// How a command ended.
enum Done {
    /// All of it, and nothing waits for the seller.
    All,
    /// All of it, and something does.
    NeedsSeller,
}

impl Done {
    const fn needs_seller(needs: bool) -> Self {
        if needs { Self::NeedsSeller } else { Self::All }
    }
}

/// Says a fault on stderr, with its causes and its days in words, the way every command does.
pub fn tell(error: &anyhow::Error) {
    eprintln!("dawnpack: {}", words::with_days(&format!("{error:#}")));
}
