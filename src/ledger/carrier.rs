//! Postage bought and acceptance receipts: recorded once, and tied to their parcels.
//!
//! **The same row.** Exports overlap, so a row is known again by its source and what it says. With a tracking number:
//! the number, the day and the price. Without one, our ref, or else mass, place, service, name and postal code stand for it,
//! and rows alike in one file are one each: two parcels of one price to one town. The n-th of them is the n-th of any
//! other file, and below a header that stands again they are counted anew. The first telling of a row stands.
//!
//! **Tied** is a row to the one parcel whose recorded tracking number is its own, else to the parcel whose ref it has:
//! the latest of that ref listed no more than half a year before the row's day, since refs come round every year. A row
//! whose number says one parcel and whose ref another is left alone, and so is one that is older than its parcel's
//! listing. After every file all are tied anew, since what comes later may say whose an earlier row is, or that it is
//! not as sure as it seemed. Nothing is lost: what isn't tied is kept, counted and told. Turned down: tying by likeness here, since one
//! row that is tied wrongly on the way in makes the right one a stranger.

use std::collections::{BTreeMap, BTreeSet};

use jiff::ToSpan;
use jiff::civil::Date;
use rusqlite::{Connection, Transaction, params};
use serde::Serialize;
use serde::de::DeserializeOwned;

use crate::model::carrier::{Acceptance, PostageBought, ReceiptPicture};
use crate::model::day::Remark;
use crate::model::mass::Weight;
use crate::model::money::Money;
use crate::model::parcel::{ParcelRef, ParcelState};
use crate::plan::tracking;

use super::take::Change;
use super::{LedgerError, from_doc, parsed, standing, to_doc};

/// A ref comes round after a year: a row that is further from its listing than half of one is of another parcel.
const HALF_A_YEAR: i32 = 183;

/// The two kinds of row.
pub(super) trait CarrierRow: Serialize + DeserializeOwned {
    /// The table they are in.
    const TABLE: &'static str;
    /// What one is called, and several.
    const WORDS: [&'static str; 2];
    fn line(&self) -> u64;
    fn tracking(&self) -> Option<&str>;
    fn parcel(&self) -> Option<&ParcelRef>;
    fn day(&self) -> Option<Date>;
    fn price(&self) -> Option<Money>;
    fn mass(&self) -> Option<Weight>;
    /// Words that tell it from another where it has neither number nor ref.
    fn words(&self) -> [Option<&str>; 3];
}

impl CarrierRow for PostageBought {
    const TABLE: &'static str = "postage_bought";
    const WORDS: [&'static str; 2] = ["row of postage bought is", "rows of postage bought are"];

    fn line(&self) -> u64 {
        self.line
    }

    fn tracking(&self) -> Option<&str> {
        self.tracking.as_deref()
    }

    fn parcel(&self) -> Option<&ParcelRef> {
        self.parcel.as_ref()
    }

    fn day(&self) -> Option<Date> {
        self.bought_at
    }

    fn price(&self) -> Option<Money> {
        self.price
    }

    fn mass(&self) -> Option<Weight> {
        self.mass
    }

    fn words(&self) -> [Option<&str>; 3] {
        [self.service.as_deref(), self.name.as_deref(), self.postal_code.as_deref()]
    }
}

impl CarrierRow for Acceptance {
    const TABLE: &'static str = "receipts";
    const WORDS: [&'static str; 2] = ["receipt row is", "receipt rows are"];

    fn line(&self) -> u64 {
        self.line
    }

    fn tracking(&self) -> Option<&str> {
        self.tracking.as_deref()
    }

    fn parcel(&self) -> Option<&ParcelRef> {
        self.parcel.as_ref()
    }

    fn day(&self) -> Option<Date> {
        self.accepted_at
    }

    fn price(&self) -> Option<Money> {
        self.price
    }

    fn mass(&self) -> Option<Weight> {
        self.mass
    }

    fn words(&self) -> [Option<&str>; 3] {
        [self.place.as_deref(), self.postal_code.as_deref(), None]
    }
}

/// What a row says of itself, for [`key`].
fn said<R: CarrierRow>(row: &R) -> String {
    let day = row.day().map(|day| day.to_string()).unwrap_or_default();
    let price = row.price().map(|price| format!("{} {}", price.plain(), price.currency)).unwrap_or_default();
    if let Some(number) = row.tracking() {
        return format!("number {number}|{day}|{price}");
    }
    if let Some(parcel) = row.parcel() {
        return format!("parcel {parcel}|{day}|{price}");
    }
    let mass = row.mass().map(|mass| mass.mass().g().normalize().to_string()).unwrap_or_default();
    let words = row.words().map(|word| word.unwrap_or_default().to_lowercase());
    format!("row {day}|{price}|{mass}|{}", words.join("|"))
}

/// Records the rows of one file. `headers_again` are the lines where the header stands once more.
pub(super) fn take<R: CarrierRow>(
    tx: &Transaction<'_>,
    drop: i64,
    source: &str,
    rows: &[R],
    headers_again: &[u64],
) -> Result<Vec<Change>, LedgerError> {
    let mut alike: BTreeMap<(usize, String), u32> = BTreeMap::new();
    let mut changes = Vec::new();
    for row in rows {
        let said = said(row);
        let section = headers_again.iter().filter(|line| **line < row.line()).count();
        let count = alike.entry((section, said.clone())).or_default();
        *count += 1;
        let key = if row.tracking().is_some() { said } else { format!("{said}|{count}") };
        let new = tx.execute(
            &format!(
                "INSERT INTO {} (drop_id, line, source, key, doc) VALUES (?1, ?2, ?3, ?4, ?5)
                 ON CONFLICT (source, key) DO NOTHING",
                R::TABLE
            ),
            params![drop, row.line().cast_signed(), source, key, to_doc("carrier's row", row)?],
        )?;
        changes.push(if new == 0 { Change::Same } else { Change::New });
    }
    Ok(changes)
}

/// A parcel as far as rows are tied to it.
struct Listed {
    listed: Date,
    cancelled: bool,
}

/// Parcels by what ties rows to them.
struct Parcels {
    by_id: BTreeMap<i64, Listed>,
    by_number: BTreeMap<String, BTreeSet<i64>>,
    by_ref: BTreeMap<String, Vec<i64>>,
}

impl Parcels {
    /// By ref, and by the numbers that sheets say.
    fn of(db: &Connection) -> Result<Self, LedgerError> {
        let mut parcels = Self { by_id: BTreeMap::new(), by_number: BTreeMap::new(), by_ref: BTreeMap::new() };
        let mut statement =
            db.prepare("SELECT id, ref, listed_on, state, sheet_tracking FROM parcels ORDER BY listed_on, id")?;
        let mut found = statement.query([])?;
        while let Some(row) = found.next()? {
            let id: i64 = row.get(0)?;
            let listed = parsed("date", &row.get::<_, String>(2)?)?;
            let state: ParcelState = parsed("parcel state", &row.get::<_, String>(3)?)?;
            parcels.by_id.insert(id, Listed { listed, cancelled: state == ParcelState::Cancelled });
            parcels.by_ref.entry(row.get(1)?).or_default().push(id);
            if let Some(number) = row.get::<_, Option<String>>(4)? {
                parcels.learn(&number, id);
            }
        }
        Ok(parcels)
    }

    /// The numbers of labels that were bought for a parcel: bought again, or on no sheet.
    fn learn_labels(&mut self, postage: &[Tied<PostageBought>]) {
        for tied in postage {
            if let (Some(number), Some((parcel, _))) = (&tied.row.tracking, tied.to) {
                self.learn(number, parcel);
            }
        }
    }

    fn learn(&mut self, number: &str, id: i64) {
        let number = tracking::identify(number).number;
        if !number.is_empty() {
            self.by_number.entry(number).or_default().insert(id);
        }
    }

    /// The one parcel with that number; of several, the one that isn't cancelled.
    fn by_number(&self, number: &str) -> Option<i64> {
        let all = self.by_number.get(number)?;
        let going = |id: &&i64| self.by_id.get(*id).is_some_and(|parcel| !parcel.cancelled);
        let mut candidates: Vec<i64> = all.iter().filter(going).copied().collect();
        if candidates.is_empty() {
            candidates.extend(all);
        }
        if let [one] = candidates.as_slice() { Some(*one) } else { None }
    }

    /// The latest parcel of that ref at that time.
    fn by_ref(&self, parcel: &ParcelRef, day: Date) -> Option<i64> {
        let fits = |id: &&i64| self.by_id.get(*id).is_some_and(|parcel| is_near(parcel.listed, day));
        self.by_ref.get(&parcel.0)?.iter().rfind(fits).copied()
    }

    /// The parcel of a row that came by that day, and what ties it.
    fn of_row<R: CarrierRow>(&self, row: &R, came: Date) -> Option<(i64, &'static str)> {
        let by_ref = row.parcel().and_then(|parcel| self.by_ref(parcel, row.day().unwrap_or(came)));
        match row.tracking().and_then(|number| self.by_number(number)) {
            Some(id) if by_ref.is_none_or(|other| other == id) => {
                let listed = self.by_id.get(&id)?.listed;
                row.day().is_none_or(|day| day >= listed).then_some((id, "tracking"))
            }
            Some(_) => None,
            None => by_ref.map(|id| (id, "parcel")),
        }
    }
}

fn is_near(listed: Date, day: Date) -> bool {
    day >= listed && (day - listed).get_days() <= HALF_A_YEAR
}

/// A row, the parcel it is tied to now, and by what.
struct Tied<R> {
    id: i64,
    row: R,
    came: Date,
    before: Option<(i64, String)>,
    to: Option<(i64, &'static str)>,
}

/// Ties all rows anew, so that it doesn't matter which came first, and gives the parcels for which something changed.
pub(super) fn tie(tx: &Transaction<'_>) -> Result<BTreeSet<i64>, LedgerError> {
    let mut parcels = Parcels::of(tx)?;
    let mut postage = rows::<PostageBought>(tx)?;
    // A label's number may be known by another row of the same label.
    for _ in 0..2 {
        for tied in &mut postage {
            tied.to = parcels.of_row(&tied.row, tied.came);
        }
        parcels.learn_labels(&postage);
    }
    let mut receipts = rows::<Acceptance>(tx)?;
    for tied in &mut receipts {
        tied.to = parcels.of_row(&tied.row, tied.came);
    }
    let mut touched = note_ties(tx, &postage)?;
    touched.extend(note_ties(tx, &receipts)?);
    Ok(touched)
}

/// All rows of a kind; those that are tied by likeness are left as they are.
fn rows<R: CarrierRow>(tx: &Transaction<'_>) -> Result<Vec<Tied<R>>, LedgerError> {
    let mut statement = tx.prepare(&format!(
        "SELECT r.id, r.doc, r.parcel_id, r.tied_by, d.taken_at FROM {} r JOIN drops d ON d.id = r.drop_id
         WHERE r.tied_by IS NOT 'likeness' ORDER BY r.id",
        R::TABLE
    ))?;
    let mut found = statement.query([])?;
    let mut all = Vec::new();
    while let Some(row) = found.next()? {
        let (parcel, by): (Option<i64>, Option<String>) = (row.get(2)?, row.get(3)?);
        all.push(Tied {
            id: row.get(0)?,
            row: from_doc("carrier's row", &row.get::<_, String>(1)?)?,
            came: standing::came_by(&row.get::<_, String>(4)?)?,
            before: parcel.zip(by),
            to: None,
        });
    }
    Ok(all)
}

/// Writes what is other than before.
fn note_ties<R: CarrierRow>(tx: &Transaction<'_>, all: &[Tied<R>]) -> Result<BTreeSet<i64>, LedgerError> {
    let mut touched = BTreeSet::new();
    for tied in all {
        if tied.before.as_ref().map(|(parcel, by)| (*parcel, by.as_str())) == tied.to {
            continue;
        }
        tx.execute(
            &format!("UPDATE {} SET parcel_id = ?2, tied_by = ?3 WHERE id = ?1", R::TABLE),
            params![tied.id, tied.to.map(|(parcel, _)| parcel), tied.to.map(|(_, by)| by)],
        )?;
        touched.extend(tied.before.as_ref().map(|(parcel, _)| *parcel));
        touched.extend(tied.to.map(|(parcel, _)| parcel));
    }
    Ok(touched)
}

/// Receipts that should not be, and that no manifest has told of: of cancelled parcels, and of those that nothing says
/// were handed over.
pub(super) fn untold_odd(db: &Connection) -> Result<Vec<Remark>, LedgerError> {
    let mut statement = db.prepare(&format!(
        "SELECT d.name, r.line, p.ref, p.state FROM receipts r JOIN parcels p ON p.id = r.parcel_id
         JOIN drops d ON d.id = r.drop_id WHERE r.told_odd IS NULL AND {ODD} ORDER BY d.name, r.line, r.id"
    ))?;
    let mut found = statement.query([])?;
    let mut remarks = Vec::new();
    while let Some(row) = found.next()? {
        let (line, name): (i64, String) = (row.get(1)?, row.get(2)?);
        let state: ParcelState = parsed("parcel state", &row.get::<_, String>(3)?)?;
        let text = if state == ParcelState::Cancelled {
            format!(
                "the carrier accepted parcel {name}, which is cancelled here: what was in it may be packed a second \
                 time; look before anything more of it goes"
            )
        } else {
            format!(
                "the carrier accepted parcel {name} on a day that the receipt does not say; record its hand-off on the \
                 sheet"
            )
        };
        remarks.push(Remark { file: row.get(0)?, line: u64::try_from(line).ok(), column: None, text });
    }
    Ok(remarks)
}

/// What is odd about a receipt's parcel: a receipt with a day leaves none that is only listed.
const ODD: &str = "p.state IN ('cancelled', 'listed')";

/// Rows of a kind that are tied to no parcel and that no manifest has told of, by file.
pub(super) fn untold<R: CarrierRow>(db: &Connection) -> Result<Vec<Remark>, LedgerError> {
    let mut statement = db.prepare(&format!(
        "SELECT d.name, count(*) FROM {} r JOIN drops d ON d.id = r.drop_id
         WHERE r.parcel_id IS NULL AND r.told_untied IS NULL GROUP BY d.id ORDER BY d.id",
        R::TABLE
    ))?;
    let files: Vec<(String, i64)> =
        statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?.collect::<Result<_, _>>()?;
    let [one, many] = R::WORDS;
    let text = |count: i64| {
        let words = if count == 1 { one } else { many };
        format!("{count} {words} kept, and not tied to a parcel: neither number nor ref is known here")
    };
    let remark = |(file, count)| Remark { file, line: None, column: None, text: text(count) };
    Ok(files.into_iter().map(remark).collect())
}

/// Notes that a manifest told of the rows that are not tied, and of those that should not be.
pub(super) fn note_told(tx: &Transaction<'_>, manifest: i64) -> Result<(), LedgerError> {
    for table in [PostageBought::TABLE, Acceptance::TABLE] {
        tx.execute(
            &format!("UPDATE {table} SET told_untied = ?1 WHERE parcel_id IS NULL AND told_untied IS NULL"),
            [manifest],
        )?;
    }
    tx.execute(
        &format!(
            "UPDATE receipts SET told_odd = ?1 WHERE told_odd IS NULL
             AND EXISTS (SELECT 1 FROM parcels p WHERE p.id = receipts.parcel_id AND {ODD})"
        ),
        [manifest],
    )?;
    Ok(())
}

/// What ties pictures: the refs, numbers and days that their names may hold.
pub(super) struct Named(Parcels);

impl Named {
    pub(super) fn of(tx: &Transaction<'_>) -> Result<Self, LedgerError> {
        let mut parcels = Parcels::of(tx)?;
        let mut statement = tx.prepare("SELECT id, tracking FROM parcels WHERE tracking IS NOT NULL")?;
        let numbers = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
        for number in numbers {
            let (parcel, number): (i64, String) = number?;
            parcels.learn(&number, parcel);
        }
        Ok(Self(parcels))
    }

    /// The parcels that a picture's name means: each ref's latest by that day, and those with its numbers.
    pub(super) fn parcels(&self, picture: &ReceiptPicture, came: Date) -> BTreeSet<i64> {
        let by_ref = picture.parcels.iter().filter_map(|parcel| self.0.by_ref(parcel, came));
        by_ref.chain(picture.tracking.iter().filter_map(|number| self.0.by_number(number))).collect()
    }
}

/// The latest day with that month and day, of the half year before the picture came, on which parcels were handed over
/// or are listed.
pub(super) fn day_named(db: &Connection, (month, day): (i8, i8), came: Date) -> Result<Option<String>, LedgerError> {
    let from = came.saturating_sub(HALF_A_YEAR.days());
    Ok(db.query_row(
        "SELECT max(day) FROM (
            SELECT handed_over_on AS day FROM parcels WHERE handed_over_on IS NOT NULL
            UNION SELECT listed_on FROM parcels WHERE state = 'listed')
         WHERE day LIKE '%-' || ?1 AND day BETWEEN ?2 AND ?3",
        [format!("{month:02}-{day:02}"), from.to_string(), came.to_string()],
        |row| row.get(0),
    )?)
}
