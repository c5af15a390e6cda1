//! The seller's files, checked once, to one [`Home`].
//!
//! Handed a directory; promises a home in which every file reads, every code is known once and every limit is a
//! number, or all that is wrong with it at once, each with file, line and mend. Nothing behind this wall checks
//! again. Turned down: stopping at the first mistake, which makes ten runs of ten mistakes.

mod catalogue;
mod columns;
mod config;
mod fault;
mod files;
mod holidays;
mod keys;
mod number;
mod rates;
mod repeats;
mod service;
mod sheet;
mod tax;
mod write;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use jiff::civil::{Date, Time, Weekday};
use jiff::tz::TimeZone;

use crate::model::calendar::WorkCalendar;
use crate::model::catalogue::Catalogue;
use crate::model::drop::ColumnMap;
use crate::model::mailer::Mailer;
use crate::model::money::Currency;
use crate::model::rates::RateCard;
use crate::model::rules::{PackingRules, PostageRules, Seller};

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
    /// What is asked of a service beyond the lowest price.
    pub postage: PostageRules,
    /// What sums are in.
    pub currency: Currency,
    /// The morning email.
    pub mail: MailRules,
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
    /// Days on which the seller works.
    pub calendar: WorkCalendar,
    /// Days on which the post takes parcels; where the seller doesn't say, the same.
    pub post: WorkCalendar,
    /// Working days from payment to hand-off.
    pub handling_days: u32,
    /// Last day of the week's account.
    pub week_ends: Weekday,
    /// The hour after which the post office takes nothing more today; `None` where the seller doesn't say.
    pub cut_off: Option<jiff::civil::Time>,
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

impl Home {
    /// Reads and checks the home in `root`.
    ///
    /// # Errors
    /// Everything that is wrong with it.
    pub fn load(root: &Path) -> Result<Self, HomeFaults> {
        if !root.is_dir() {
            let mend = "is no directory; name a home with -C, or make one with `dawnpack new DIR`";
            return Err(HomeFaults(vec![Fault::file(root.display().to_string(), mend)]));
        }
        let mut faults = Vec::new();
        let config_text = text(root, config::FILE, &mut faults);
        let config = config_text.as_ref().and_then(|text| config::read(root, text, &mut faults));
        // The other files are checked all the same where this one is at fault.
        let currency = match &config {
            Some(config) => Some(config.currency),
            None => config_text.as_deref().and_then(config::currency_alone),
        };
        let in_currency = currency.unwrap_or(Currency::USD);
        let catalogue = text(root, catalogue::CATALOGUE, &mut faults)
            .map(|text| catalogue::articles(&text, in_currency, &mut faults));
        let mailers =
            text(root, catalogue::MAILERS, &mut faults).map(|text| catalogue::mailers(&text, in_currency, &mut faults));
        let mut cards = Vec::new();
        for (file, text) in texts(root, "rates", "toml", Folder::Needed, &mut faults) {
            cards.extend(rates::read(root, &file, &text, currency, &mut faults));
        }
        rates::one_card_a_day(&cards, &mut faults);
        let mut maps: Vec<(String, ColumnMap)> = Vec::new();
        for (file, text) in texts(root, "columns", "toml", Folder::MayLack, &mut faults) {
            maps.extend(columns::read(&file, &text, &mut faults).map(|map| (file, map)));
        }
        columns::one_map_a_name(&maps, &mut faults);
        let mut templates = BTreeMap::new();
        // A folder that can't be listed is told once and not for each ending.
        let endings = ["hbs", "toml", "typ"];
        let endings = if root.join("templates").is_dir() { endings.as_slice() } else { &endings[..1] };
        for ending in endings {
            for (file, text) in texts(root, "templates", ending, Folder::MayLack, &mut faults) {
                templates.insert(file.trim_start_matches("templates/").to_owned(), text);
            }
        }
        let whole = config.zip(catalogue).zip(mailers).filter(|_| faults.is_empty());
        let Some(((config, catalogue), mailers)) = whole else { return Err(HomeFaults(faults)) };
        Ok(Self {
            root: root.to_owned(),
            seller: config.seller,
            day: config.day,
            packing: config.packing,
            postage: config.postage,
            currency: config.currency,
            mail: config.mail,
            catalogue,
            mailers,
            cards,
            maps: maps.into_iter().map(|(_, map)| map).collect(),
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

    /// The seller's own typefaces, for letters that the built-in ones lack.
    #[must_use]
    pub fn fonts(&self) -> PathBuf {
        self.root.join("fonts")
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

/// Whether a home may lack a folder.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Folder {
    Needed,
    MayLack,
}

/// The text of a file, or its fault told.
fn text(root: &Path, file: &str, faults: &mut Vec<Fault>) -> Option<String> {
    files::text(root, file).map_err(|unread| faults.push(unread.fault)).ok()
}

/// The texts of all files of a folder with an ending, by name.
fn texts(root: &Path, folder: &str, ending: &str, may: Folder, faults: &mut Vec<Fault>) -> Vec<(String, String)> {
    let listed = match files::listed(root, folder, ending) {
        Ok(listed) => listed,
        Err(unread) if unread.absent && may == Folder::MayLack => Vec::new(),
        Err(unread) => {
            faults.push(unread.fault);
            Vec::new()
        }
    };
    listed.into_iter().filter_map(|file| text(root, &file, faults).map(|text| (file, text))).collect()
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::*;

    fn sample() -> tempfile::TempDir {
        let dir = tempfile::tempdir().unwrap();
        write_sample(dir.path()).unwrap();
        dir
    }

    fn faults(root: &Path) -> Vec<String> {
        Home::load(root).err().map(|faults| faults.0.iter().map(Fault::to_string).collect()).unwrap_or_default()
    }

    #[test]
    fn what_is_not_there_is_told_with_all_the_rest() {
        let home = sample();
        fs::remove_file(home.path().join("mailers.csv")).unwrap();
        fs::remove_dir_all(home.path().join("rates")).unwrap();
        fs::remove_dir_all(home.path().join("columns")).unwrap();
        fs::remove_dir_all(home.path().join("templates")).unwrap();
        fs::remove_file(home.path().join("catalogue.csv")).unwrap();
        fs::create_dir(home.path().join("catalogue.csv")).unwrap();
        fs::write(home.path().join("templates"), "").unwrap();
        assert_eq!(
            faults(home.path()),
            [
                "catalogue.csv: is a folder; a file is needed here",
                "mailers.csv: is not there; `dawnpack new DIR` writes one to fill in",
                "rates: is not there; make a folder rates/ in the home",
                "templates: is a file; a folder is needed here",
            ]
        );
    }

    #[test]
    fn a_file_that_is_no_text_is_told_with_its_line() {
        let home = sample();
        let catalogue = home.path().join("catalogue.csv");
        let mut bytes = fs::read(&catalogue).unwrap();
        bytes.extend(b"X,Caf\xE9 pin,,pin,,,,,,,,,,,,,,,,\n");
        fs::write(&catalogue, bytes).unwrap();
        fs::write(home.path().join("columns/picture.toml"), b"\x89PNG").unwrap();
        assert_eq!(
            faults(home.path()),
            [
                "catalogue.csv, line 27: is not UTF-8 from here on; save it as UTF-8 text",
                "columns/picture.toml, line 1: is not UTF-8 from here on; save it as UTF-8 text",
            ]
        );
    }

    #[test]
    fn a_byte_order_mark_and_carriage_returns_change_nothing() {
        let home = sample();
        for file in
            ["catalogue.csv", "mailers.csv", "dawnpack.toml", "columns/stall.toml", "rates/northline-2026-07.toml"]
        {
            let path = home.path().join(file);
            let text = fs::read_to_string(&path).unwrap().replace('\n', "\r\n");
            fs::write(path, format!("\u{FEFF}{text}")).unwrap();
        }
        assert_eq!(faults(home.path()), [] as [&str; 0]);
    }

    #[cfg(unix)]
    #[test]
    fn links_are_followed_and_a_broken_one_is_told() {
        use std::os::unix::fs::symlink;
        let (home, kept) = (sample(), sample());
        fs::remove_file(home.path().join("mailers.csv")).unwrap();
        symlink(kept.path().join("mailers.csv"), home.path().join("mailers.csv")).unwrap();
        assert_eq!(faults(home.path()), [] as [&str; 0]);
        fs::remove_file(kept.path().join("mailers.csv")).unwrap();
        symlink(home.path(), home.path().join("rates/loop.toml")).unwrap();
        fs::write(home.path().join("rates/.old.toml"), "no").unwrap();
        fs::write(home.path().join("rates/old.toml~"), "no").unwrap();
        assert_eq!(
            faults(home.path()),
            [
                "mailers.csv: is a link to a file that is not there; mend the link",
                "rates/loop.toml: is a folder; a file is needed here",
            ]
        );
    }

    /// One fault of `dawnpack.toml` doesn't hide those of the other files, nor make new ones there.
    #[test]
    fn a_faulty_config_leaves_the_other_files_checked_in_its_currency() {
        let home = sample();
        for file in ["dawnpack.toml", "rates/northline-2026-07.toml", "rates/northline-2026-12.toml"] {
            let path = home.path().join(file);
            let text = fs::read_to_string(&path).unwrap();
            fs::write(path, text.replace("\"USD\"", "\"EUR\"").replace("turns = 2", "turns = \"two\"")).unwrap();
        }
        let expected = "dawnpack.toml, line 26, key `packing.turns`: `two` is not a whole number; write it in digits, such \
                        as 2";
        assert_eq!(faults(home.path()), [expected]);
    }

    #[test]
    fn holidays_of_ones_own_come_from_a_table() {
        let home = sample();
        let config = home.path().join("dawnpack.toml");
        let text = fs::read_to_string(&config).unwrap();
        fs::write(&config, text.replace("\"us-federal\"", "\"closed.csv\"")).unwrap();
        let missing = "dawnpack.toml, line 16, key `day.holidays`: `closed.csv` is not there; put a table with a column \
                       `date` there";
        assert_eq!(faults(home.path()), [missing]);
        fs::write(home.path().join("closed.csv"), "date;why\n2026-12-24;fair\n24.12.2026;fair\n;?\n").unwrap();
        assert_eq!(
            faults(home.path()),
            [
                "closed.csv, line 3, column `date`: `24.12.2026` is not a day; write year, month and day, such as \
                 2026-11-26",
                "closed.csv, line 4, column `date`: is empty; fill it in",
            ]
        );
        fs::write(home.path().join("closed.csv"), "date\n2026-12-24\n").unwrap();
        assert_eq!(faults(home.path()), [] as [&str; 0]);
    }

    #[test]
    fn the_home_is_the_one_named_else_here_else_the_environments() {
        let (here, named, empty) = (sample(), sample(), tempfile::tempdir().unwrap());
        let found = |given: Option<&Path>, cwd: &Path| find(given, cwd, Some(named.path())).ok();
        assert_eq!(found(Some(named.path()), here.path()).as_deref(), Some(named.path()));
        assert_eq!(found(None, here.path()).as_deref(), Some(here.path()));
        assert_eq!(found(None, empty.path()).as_deref(), Some(named.path()));
        assert_eq!(found(Some(empty.path()), here.path()), None);
        assert!(find(None, empty.path(), None).is_err());
        assert_eq!(
            faults(Path::new("no-such-home")),
            ["no-such-home: is no directory; name a home with -C, or make one with `dawnpack new DIR`"]
        );
    }
}
