//! The seller's files, checked once, to one [`Home`].
//!
//! Handed a directory; promises a home in which every file reads, every code is known once and every limit is a
//! number, or all that is wrong with it at once, each with file, line and mend. Nothing behind this wall checks
//! again. Turned down: stopping at the first mistake, which makes ten runs of ten mistakes.

mod catalogue;
mod columns;
mod config;
mod fault;
mod keys;
mod number;
mod rates;
mod sheet;
mod write;

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use jiff::civil::{Date, Time, Weekday};
use jiff::tz::TimeZone;

use crate::model::calendar::WorkCalendar;
use crate::model::catalogue::Catalogue;
use crate::model::drop::ColumnMap;
use crate::model::mailer::Mailer;
use crate::model::money::Currency;
use crate::model::rates::RateCard;
use crate::model::rules::{PackingRules, Seller};

pub use fault::{Fault, HomeFaults};
pub use write::{WriteError, write_new, write_sample};

/// A checked home.
#[derive(Clone, Debug)]
pub struct Home {
    /// Its directory.
    pub root: PathBuf,
    /// Who sends.
    pub seller: Seller,
    /// The working day.
    pub day: DayRules,
    /// How the seller wraps.
    pub packing: PackingRules,
    /// What sums are in.
    pub currency: Currency,
    /// The morning email.
    pub mail: MailRules,
    /// Paper in the printer.
    pub page: PageSize,
    /// What can be sent.
    pub catalogue: Catalogue,
    /// What it can be sent in.
    pub mailers: Vec<Mailer>,
    /// What postage costs.
    pub cards: Vec<RateCard>,
    /// How exports are read.
    pub maps: Vec<ColumnMap>,
    /// The seller's own templates by file name.
    pub templates: BTreeMap<String, String>,
}

/// `[day]`.
#[derive(Clone, Debug)]
pub struct DayRules {
    /// Where the seller lives.
    pub time_zone: TimeZone,
    /// When the morning is run.
    pub morning: Time,
    /// Working days.
    pub calendar: WorkCalendar,
    /// Working days from payment to hand-off.
    pub handling_days: u32,
    /// Last day of the week's account.
    pub week_ends: Weekday,
}

/// `[mail]`.
#[derive(Clone, Debug)]
pub struct MailRules {
    /// Which way.
    pub transport: TransportRules,
    /// To whom.
    pub to: Vec<String>,
}

/// Which way mail goes.
#[derive(Clone, Debug)]
pub enum TransportRules {
    /// Into `outbox/mail`.
    Folder,
    /// To a server.
    Smtp(SmtpRules),
}

/// `[mail.smtp]`.
#[derive(Clone, Debug)]
pub struct SmtpRules {
    /// Host name.
    pub host: String,
    /// Port.
    pub port: u16,
    /// How the connection is guarded.
    pub security: SmtpSecurity,
    /// Login name.
    pub user: Option<String>,
    /// File with the password, or the name of a systemd credential.
    pub password_file: Option<String>,
    /// A certificate authority of one's own.
    pub ca_file: Option<PathBuf>,
}

/// `security`.
#[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum SmtpSecurity {
    /// TLS from the first byte.
    Tls,
    /// TLS after STARTTLS.
    StartTls,
    /// None.
    None,
}

/// `[papers] page`.
#[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum PageSize {
    /// ISO 216 A4.
    A4,
    /// US Letter.
    Letter,
}

impl Home {
    /// Reads and checks the home in `root`.
    ///
    /// # Errors
    /// Everything that is wrong with it.
    pub fn load(root: &Path) -> Result<Self, HomeFaults> {
        let mut faults = Vec::new();
        let files = Files { root };
        let config = files.read("dawnpack.toml", &mut faults).and_then(|text| config::read(root, &text, &mut faults));
        let currency = config.as_ref().map_or(Currency::USD, |config| config.currency);
        let articles =
            files.read("catalogue.csv", &mut faults).map(|text| catalogue::articles(&text, currency, &mut faults));
        let mailers =
            files.read("mailers.csv", &mut faults).map(|text| catalogue::mailers(&text, currency, &mut faults));
        let mut cards = Vec::new();
        for (file, text) in files.all("rates", "toml", &mut faults) {
            cards.extend(rates::read(root, &file, &text, currency, &mut faults));
        }
        let mut maps: Vec<ColumnMap> = Vec::new();
        for (file, text) in files.all("columns", "toml", &mut faults) {
            let Some(map) = columns::read(&file, &text, &mut faults) else { continue };
            if maps.iter().any(|known| known.name == map.name) {
                faults
                    .push(Fault::file(&file, format!("has the name `{}` of another column map; rename one", map.name)));
            }
            maps.push(map);
        }
        let mut templates = BTreeMap::new();
        for ending in ["hbs", "typ"] {
            for (file, text) in files.all("templates", ending, &mut faults) {
                templates.insert(file.trim_start_matches("templates/").to_owned(), text);
            }
        }
        let whole = config.zip(articles).zip(mailers).filter(|_| faults.is_empty());
        let Some(((config, articles), mailers)) = whole else { return Err(HomeFaults(faults)) };
        Ok(Self {
            root: root.to_owned(),
            seller: config.seller,
            day: config.day,
            packing: config.packing,
            currency,
            mail: config.mail,
            page: config.page,
            catalogue: Catalogue::new(articles),
            mailers,
            cards,
            maps,
            templates,
        })
    }

    /// Where drops lie.
    #[must_use]
    pub fn inbox(&self) -> PathBuf {
        self.root.join("inbox")
    }

    /// Where a day's papers lie.
    #[must_use]
    pub fn outbox_day(&self, date: Date) -> PathBuf {
        self.root.join("outbox").join(date.to_string())
    }

    /// Where the mail transport `folder` puts messages.
    #[must_use]
    pub fn outbox_mail(&self) -> PathBuf {
        self.root.join("outbox").join("mail")
    }

    /// The ledger's file.
    #[must_use]
    pub fn ledger_path(&self) -> PathBuf {
        self.root.join("ledger.db")
    }
}

/// No home where one was looked for.
#[derive(Debug, thiserror::Error)]
#[error("{0}")]
pub struct NoHome(String);

/// The home directory: as given, else the current directory if it is one, else the environment's.
///
/// # Errors
/// Where none of them holds a `dawnpack.toml`.
pub fn find(given: Option<&Path>, cwd: &Path, env: Option<&Path>) -> Result<PathBuf, NoHome> {
    let is_home = |dir: &Path| dir.join("dawnpack.toml").is_file();
    let found = match given {
        Some(dir) => Some(dir).filter(|dir| is_home(dir)),
        None => [Some(cwd), env].into_iter().flatten().find(|dir| is_home(dir)),
    };
    found.map(Path::to_owned).ok_or_else(|| {
        NoHome(match given {
            Some(dir) => format!("`{}` holds no dawnpack.toml; `dawnpack new {0}` makes a home", dir.display()),
            None => "no home here: name one with -C, or go into one; `dawnpack new DIR` makes one".to_owned(),
        })
    })
}

/// The files of a home.
struct Files<'a> {
    root: &'a Path,
}

impl Files<'_> {
    fn read(&self, file: &str, faults: &mut Vec<Fault>) -> Option<String> {
        match fs::read(self.root.join(file)) {
            Ok(bytes) => {
                let text = String::from_utf8(bytes).ok();
                if text.is_none() {
                    faults.push(Fault::file(file, "is not UTF-8; save it in that encoding"));
                }
                text.map(|text| text.trim_start_matches('\u{FEFF}').to_owned())
            }
            Err(error) => {
                faults.push(Fault::file(
                    file,
                    format!("can't be read ({error}); `dawnpack new DIR` shows what it looks like"),
                ));
                None
            }
        }
    }

    /// All files of a folder with an ending, by name; a folder that isn't there holds none.
    fn all(&self, folder: &str, ending: &str, faults: &mut Vec<Fault>) -> Vec<(String, String)> {
        let Ok(entries) = fs::read_dir(self.root.join(folder)) else { return Vec::new() };
        let mut names: Vec<String> = entries
            .filter_map(|entry| Some(entry.ok()?.file_name().display().to_string()))
            .filter(|name| !name.starts_with('.') && name.rsplit_once('.').is_some_and(|(_, end)| end == ending))
            .collect();
        names.sort();
        names
            .into_iter()
            .filter_map(|name| {
                let file = format!("{folder}/{name}");
                self.read(&file, faults).map(|text| (file, text))
            })
            .collect()
    }
}
