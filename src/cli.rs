//! The commands, as types, with their help.
//!
//! Every command reports to stdout, speaks to the person on stderr, and ends in one of four exit codes. What it
//! does stands in `run`.

mod list;
mod out;
mod rates;
mod show;

use std::env;
use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::Result;
use clap::{Args, Parser, Subcommand};
use jiff::Timestamp;
use jiff::civil::Date;

use crate::home;
use crate::ledger::{Cancelled, Released};
use crate::model::day::QuestionId;
use crate::model::sending::SendingId;
use crate::model::trade::TradeId;
use crate::run::{self, Desk, Listing, When};

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
        #[arg(long)]
        date: Option<Date>,
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
    /// Answer a question
    Answer { question: QuestionId, choice: String },
    /// Hold an order or trade
    Hold {
        id: SendingId,
        /// Released by itself on this day
        #[arg(long)]
        until: Option<Date>,
        /// Released once this order or trade can go with it, or when its own day comes
        #[arg(long, value_name = "OTHER")]
        with: Option<SendingId>,
        /// Why, for yourself
        #[arg(long)]
        note: Option<String>,
    },
    /// Take your hold, or your calling off, back from an order or trade
    Release { id: SendingId },
    /// Call an order or trade off, or what is left of it
    Cancel { id: SendingId },
    /// Record that a trade partner's half came
    Arrived {
        trade: TradeId,
        /// The day it came; else today
        #[arg(long)]
        on: Option<Date>,
    },
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
    /// Does what was asked. `now` is the clock's own time, read once in `main`.
    ///
    /// # Errors
    /// Where it could not be done; the message says what to do about it.
    pub fn run(self, now: Timestamp) -> Result<ExitCode> {
        show::set_up_log(self.verbose, self.quiet);
        let when = self.now.clone().unwrap_or(When::At(now));
        let root = || -> Result<PathBuf> {
            let cwd = env::current_dir()?;
            let named = env::var_os("DAWNPACK_HOME").map(PathBuf::from);
            Ok(home::find(self.home.as_deref(), &cwd, named.as_deref())?)
        };
        let open = || -> Result<Desk> { Desk::open(&root()?, &when) };
        let done = match &self.command {
            Command::New { dir } => {
                home::write_new(dir)?;
                show::new_home(dir)
            }
            Command::Demo { dir } => show::demo(dir, &run::demo(dir)?),
            Command::Watch => {
                run::watch(&root()?, &when)?;
                Done::All
            }
            Command::Read { files, json } => {
                let files = run::read(&open()?, files)?;
                show::read(&files, json.json)?
            }
            Command::TakeIn { json } => {
                let taken = run::take_in(&mut open()?, run::Files::Move, None)?;
                show::taken(&taken, json.json)?
            }
            Command::Morning { date, dry_run, json } => {
                let mut desk = open()?;
                let date = date.unwrap_or_else(|| desk.today());
                if *dry_run {
                    let (_, plan) = run::dry_run(&mut desk, date)?;
                    show::plan(&plan, json.json)?
                } else {
                    show::morning(&run::morning(&mut desk, date)?, json.json)?
                }
            }
            Command::List { what, json } => list::list(&run::list(&open()?, *what)?, json.json)?,
            Command::Answer { question, choice } => {
                let mut desk = open()?;
                let now = desk.now.timestamp();
                desk.ledger.answer(*question, choice, now)?;
                show::said(&format!("{question}: {choice}. The next morning goes by it."))
            }
            Command::Hold { id, until, with, note } => {
                let mut desk = open()?;
                let now = desk.now.timestamp();
                desk.ledger.hold(id, *until, with.as_ref(), note.as_deref(), now)?;
                show::said(&format!("{id} is held."))
            }
            Command::Release { id } => {
                let what = match open()?.ledger.release(id)? {
                    Released::Hold => "is no longer held by you",
                    Released::DueAgain => "is due again, as far as it is in no parcel",
                };
                show::said(&format!("{id} {what}."))
            }
            Command::Cancel { id } => {
                let Cancelled { unpack, gone } = open()?.ledger.cancel(id)?;
                let what = if gone.is_empty() {
                    format!("{id} is cancelled.")
                } else {
                    format!("What was left of {id} is cancelled; what went in {} stays gone.", gone.join(", "))
                };
                let with = if unpack.is_empty() { String::new() } else { format!(" Unpack {}.", unpack.join(", ")) };
                show::said(&format!("{what}{with} `dawnpack release {id}` takes it back."))
            }
            Command::Arrived { trade, on } => {
                let mut desk = open()?;
                let on = on.unwrap_or_else(|| desk.today());
                desk.ledger.arrived(*trade, on, desk.today())?;
                show::said(&format!("{trade}: their half came on {on}."))
            }
            Command::Quote { ask, json } => rates::quote(&run::quote(&open()?, ask)?, json.json)?,
            Command::Identify { numbers, json } => rates::identify(&run::identify(numbers), json.json)?,
            Command::Proof { parcel, json } => show::proof(&run::proof(&open()?, parcel)?, json.json)?,
            Command::Check { mail, json } => show::checked(&run::check(&open()?, *mail)?, json.json)?,
        };
        Ok(match done {
            Done::All => ExitCode::SUCCESS,
            Done::NeedsSeller => ExitCode::from(NEEDS_SELLER),
        })
    }
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

/// Says a fault on stderr, with its causes, the way every command does.
pub fn tell(error: &anyhow::Error) {
    eprintln!("dawnpack: {error:#}");
}
