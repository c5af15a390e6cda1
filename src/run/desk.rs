//! An open home at one moment: what every command starts from.

use std::collections::BTreeMap;
use std::path::Path;
use std::str::FromStr;

use anyhow::{Context, Result, anyhow};
use jiff::civil::{Date, DateTime};
use jiff::tz::TimeZone;
use jiff::{Timestamp, ZonedDateTime};

use crate::home::Home;
use crate::inbox::ReadRules;
use crate::ledger::{Counts, Ledger};
use crate::model::day::{DayPlan, Waiting};
use crate::model::drop::DateOrder;
use crate::papers::Templates;
use crate::plan::manifest;
use crate::plan::snapshot::Rules;

use super::turn::Turn;

/// The moment to reckon from, as `--now` gives it: with an offset or zone, or in the home's own time.
#[derive(Clone, Debug)]
pub enum When {
    /// A moment anywhere.
    At(Timestamp),
    /// A wall-clock time in the home's zone.
    Local(DateTime),
}

impl FromStr for When {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        text.parse::<ZonedDateTime>()
            .map(|zoned| Self::At(zoned.timestamp()))
            .or_else(|_| text.parse().map(Self::At))
            .or_else(|_| text.parse().map(Self::Local))
            .or_else(|_| text.parse::<Date>().map(|date| Self::Local(date.at(0, 0, 0, 0))))
            .map_err(|_| format!("`{text}` is no time; write 2026-11-25T06:30 or 2026-11-25T06:30-05:00"))
    }
}

impl When {
    /// The moment, in a zone.
    ///
    /// # Errors
    /// Where the wall-clock time is beyond what the calendar holds.
    pub fn in_zone(&self, zone: &TimeZone) -> Result<ZonedDateTime> {
        match self {
            Self::At(at) => Ok(at.to_zoned_datetime(zone.clone())),
            Self::Local(local) => {
                local.to_zoned_datetime(zone.clone()).context("the moment to reckon from can't be placed")
            }
        }
    }
}

/// An open home: its rules, its ledger, and the moment.
#[derive(Debug)]
pub struct Desk {
    /// The checked home.
    pub home: Home,
    /// Its ledger.
    pub(super) ledger: Ledger,
    /// The moment, in the home's zone.
    pub now: ZonedDateTime,
    /// By a source's name, the order of day and month in its dates, as the seller answered.
    pub(super) dates: BTreeMap<String, DateOrder>,
    /// Held from the first step that changes the home until the mail is seen to.
    turn: Option<Turn>,
}

impl Desk {
    /// Opens a home to change it, waiting for another run on it to end.
    ///
    /// # Errors
    /// All faults of the home at once; or a ledger that can't be opened.
    pub fn open(root: &Path, when: &When) -> Result<Self> {
        Self::of(Home::load(root)?, when)
    }

    /// Opens a home that was read already, to change it.
    ///
    /// # Errors
    /// Where its ledger can't be opened.
    pub fn of(home: Home, when: &When) -> Result<Self> {
        let now = when.in_zone(&home.day.time_zone)?;
        let turn = Turn::take(&home.root)?;
        let ledger = Ledger::open(&home.ledger_path(), now.timestamp())?;
        let dates = ledger.date_orders()?;
        Ok(Self { home, ledger, now, dates, turn: Some(turn) })
    }

    /// Opens a home to read it: waits for nobody, and makes or changes no ledger.
    ///
    /// # Errors
    /// As [`Desk::open`].
    pub fn to_read(root: &Path, when: &When) -> Result<Self> {
        let home = Home::load(root)?;
        let now = when.in_zone(&home.day.time_zone)?;
        let ledger = Ledger::open_to_read(&home.ledger_path())?;
        let dates = ledger.date_orders()?;
        Ok(Self { home, ledger, now, dates, turn: None })
    }

    /// Has the home for this run alone, waiting for another to end, if it hasn't already.
    pub(super) fn take_turn(&mut self) -> Result<()> {
        if self.turn.is_none() {
            self.turn = Some(Turn::take(&self.home.root)?);
            self.dates = self.ledger.date_orders()?;
        }
        Ok(())
    }

    /// Lets others at the home; the next step that changes it takes its turn again.
    pub(super) fn end_turn(&mut self) {
        self.turn = None;
    }

    /// Today, in the home's zone.
    #[must_use]
    pub fn today(&self) -> Date {
        self.now.date()
    }

    /// What reading a drop needs of the home.
    #[must_use]
    pub fn read_rules(&self) -> ReadRules<'_> {
        ReadRules {
            maps: &self.home.maps,
            time_zone: &self.home.day.time_zone,
            currency: self.home.currency,
            country: self.home.seller.country,
            dates: &self.dates,
        }
    }

    /// The rules a plan is made by.
    #[must_use]
    pub fn rules(&self) -> Rules<'_> {
        Rules {
            catalogue: &self.home.catalogue,
            mailers: &self.home.mailers,
            cards: &self.home.cards,
            packing: &self.home.packing,
            postage: &self.home.postage,
            calendar: &self.home.day.calendar,
            post: &self.home.day.post,
            handling_days: self.home.day.handling_days,
            past_cut_off: self.home.day.cut_off.filter(|hour| self.now.time() >= *hour).map(|_| self.today()),
            currency: self.home.currency,
            country: self.home.seller.country,
        }
    }

    /// The plan of `date` as the ledger stands: with what the seller's answers take off the table for it due again.
    ///
    /// # Errors
    /// Where the ledger can't be read.
    pub(super) fn plan(&self, date: Date, waiting: Vec<Waiting>) -> Result<DayPlan> {
        let (counts, rules) = (self.counts(), self.rules());
        let snapshot = self.ledger.snapshot(date, &counts, waiting.clone())?;
        let taken_off = manifest::to_take_off(&snapshot, &rules, date);
        let snapshot = self.ledger.snapshot_without(date, &counts, waiting, taken_off)?;
        Ok(manifest::day(&snapshot, &rules, date))
    }

    /// The templates, the seller's in place of those built in, with the typefaces of the home.
    ///
    /// # Errors
    /// Where the home has a template of an unknown name.
    pub fn templates(&self) -> Result<Templates> {
        Ok(Templates::with_overrides(self.home.templates.clone())?.with_fonts(self.home.fonts()))
    }

    /// The seller's own counts.
    #[must_use]
    pub fn counts(&self) -> Counts {
        Counts {
            articles: self.home.catalogue.iter().filter_map(|a| Some((a.code.clone(), a.on_hand?))).collect(),
            mailers: self.home.mailers.iter().filter_map(|m| Some((m.code.clone(), m.on_hand?))).collect(),
        }
    }

    /// The domain of every Message-ID: that of the seller's address.
    ///
    /// # Errors
    /// Where the address has none; the home's check doesn't let that through.
    pub fn domain(&self) -> Result<&str> {
        let email = &self.home.seller.email;
        email.rsplit_once('@').map(|(_, domain)| domain).ok_or_else(|| anyhow!("`{email}` has no domain"))
    }
}
