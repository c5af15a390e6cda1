//! Bytes to model, with line-numbered refusals. Pure but for [`folder`].
//!
//! Handed the bytes of one file and what the home says of its sources; promises that every record is taken,
//! refused with its line, column, value and a mend, or skipped as no record at all. A file is known by what is in
//! it, never by its name. Turned down: mending what looks wrong on the way in, which would be guessing in silence.

mod cells;
mod columns;
mod dates;
mod decode;
mod delimited;
mod email;
mod entries;
pub mod folder;
mod habits;
mod items;
mod mojibake;
mod numbers;
mod order;
mod picture;
mod place;
mod postage;
mod quoted;
mod receipts;
mod sales;
mod sheets;
mod signs;
#[cfg(test)]
mod test_home;
mod trade_form;
mod trades;
mod values;
mod workbook;

use std::collections::{BTreeMap, BTreeSet};

use jiff::tz::TimeZone;

use crate::model::address::Country;
use crate::model::day::{Refused, Remark, Waiting};
use crate::model::drop::{ColumnMap, Content, DateOrder, MapKind, Reading, RefusedRow};
use crate::model::money::Currency;
use crate::model::order::OrderState;

use decode::{Decoded, Table, Text};

/// What reading needs of the home.
#[derive(Clone, Copy, Debug)]
pub struct ReadRules<'a> {
    /// The column maps.
    pub maps: &'a [ColumnMap],
    /// Where a day begins.
    pub time_zone: &'a TimeZone,
    /// What prices are in where the source doesn't say.
    pub currency: Currency,
    /// Where recipients live where the source doesn't say.
    pub country: Country,
    /// By a source's name, the order of day and month in its dates, as the seller answered.
    pub dates: &'a BTreeMap<String, DateOrder>,
}

/// Why a file as a whole could not be taken.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum ReadError {
    /// Never readable as it stands.
    Unreadable(Refused),
    /// May become readable: stays in the inbox.
    Waiting(Box<Waiting>),
}

fn unreadable(file: &str, reason: impl Into<String>) -> ReadError {
    let reason = reason.into();
    ReadError::Unreadable(Refused { file: file.to_owned(), line: None, column: None, value: None, reason })
}

/// Reads one file.
///
/// # Errors
/// [`ReadError`] where the file as a whole can't be taken.
pub fn read(file: &str, bytes: &[u8], rules: &ReadRules<'_>) -> Result<Reading, ReadError> {
    if let Some(picture) = picture::read(file, bytes) {
        return picture;
    }
    let mut reading = match decode::decode(file, bytes, rules.country)? {
        Decoded::Text(text) => read_text(file, &text, rules),
        Decoded::Email(text) if trades::looks_like_one(&text.text) => read_letter(file, &text, rules),
        Decoded::Email(text) => Err(unreadable(file, no_trade_in_mail(&text.text, bytes))),
        Decoded::Sheets(tables) => first_that_fits(file, tables, rules),
    }?;
    for text in mended_bytes(bytes, &reading) {
        reading.remarks.insert(0, Remark { file: file.to_owned(), line: None, column: None, text });
    }
    Ok(reading)
}

/// The lines of the trade confirmation with that partner, as a file has them; `None` where it holds none.
#[must_use]
pub fn confirmation_with(bytes: &[u8], partner: &str, country: Country) -> Option<Vec<String>> {
    match decode::decode("a confirmation", bytes, country).ok()? {
        Decoded::Text(text) | Decoded::Email(text) => trades::lines_with(&text.text, partner),
        Decoded::Sheets(_) => None,
    }
}

/// So many zero bytes behind a text are no padding of a record any more (common practice, no source).
const BLOCK: usize = 16;

/// What of the file's bytes was not taken as it stands.
fn mended_bytes(bytes: &[u8], reading: &Reading) -> Vec<String> {
    let mut told = Vec::new();
    if reading.encoding.ends_with(decode::ENCODED_TWICE) {
        told.push(
            "its letters were encoded twice by a program on the way, which was undone; look at a name or two"
                .to_owned(),
        );
    }
    let zeros = bytes.iter().rev().take_while(|byte| **byte == 0).count();
    if reading.delimiter.is_some() && zeros >= BLOCK {
        told.push(format!(
            "ends in {zeros} bytes of nothing, as after a power cut: rows may be lost under them, so export it again to \
             be sure"
        ));
    }
    told
}

/// A table if a map or one of the program's own sheets fits it, or if its columns can be matched; else a trade
/// confirmation if it holds one: the note of an order may well speak of a trade.
fn read_text(file: &str, text: &Text<'_>, rules: &ReadRules<'_>) -> Result<Reading, ReadError> {
    let mut first_error = None;
    let mut may_be_matched = true;
    // Whether a delimiter is the right one shows in the headers it makes; a map by any of them wins over a match.
    let delimiters = delimited::delimiters(text);
    for delimiter in &delimiters {
        // By another delimiter its quotes may be whole; if by none, that is told below.
        let Ok(table) = delimited::table(file, text, *delimiter) else { continue };
        let is_table = is_table(&table);
        match read_by_map(file, table, rules) {
            Ok(Known::Read(reading)) => return Ok(*reading),
            Err(error) if is_table => {
                may_be_matched = false;
                first_error = first_error.or(Some(error));
            }
            Ok(Known::No(_)) | Err(_) => {}
        }
    }
    for delimiter in delimiters.iter().filter(|_| may_be_matched) {
        let table = delimited::table(file, text, *delimiter);
        // A text without a delimiter is no table, and no map could make it one.
        if table.as_ref().is_ok_and(|table| !is_table(table)) {
            continue;
        }
        match table.and_then(|table| read_by_match(file, table, rules)) {
            Ok(reading) => return Ok(reading),
            Err(error) if is_proposed(&error) => return Err(error),
            Err(error) => first_error = first_error.or(Some(error)),
        }
    }
    if trades::looks_like_one(&text.text) {
        return read_letter(file, text, rules);
    }
    Err(first_error.unwrap_or_else(|| unreadable(file, no_trade(&text.text, "this text"))))
}

fn is_table(table: &Table) -> bool {
    table.rows.iter().any(|row| row.cells.len() > 1)
}

fn read_letter(file: &str, text: &Text<'_>, rules: &ReadRules<'_>) -> Result<Reading, ReadError> {
    if text.text.len() > trades::LONGEST_LETTER {
        return Err(unreadable(file, "is too long for a trade confirmation; save the one message that holds it"));
    }
    if trades::count(&text.text) > trades::MOST_TRADES {
        let most = trades::MOST_TRADES;
        return Err(unreadable(
            file,
            format!("holds more than {most} trade confirmations; drop them in several files"),
        ));
    }
    Ok(trades::read(file, text, rules))
}

/// An export that comes with a message may be any of several: whoever drops it says which.
fn no_trade_in_mail(text: &str, bytes: &[u8]) -> String {
    let attached = email::attached(bytes);
    match attached.as_slice() {
        [] => no_trade(text, "the saved email"),
        [one] => {
            format!("the saved email holds no trade confirmation, but `{one}` comes with it: save that, and drop it")
        }
        several => format!(
            "the saved email holds no trade confirmation, but {} files come with it, `{}`: save the one you mean, and \
             drop it",
            several.len(),
            several.join("`, `")
        ),
    }
}

fn no_trade(text: &str, what: &str) -> String {
    let hint = trades::nearly_one(text).map_or_else(String::new, |line| format!(" (`{line}` is not it)"));
    format!(
        "{what} holds no trade confirmation, which begins with a line `Trade with: NAME`{hint}; mend it, or drop the export itself"
    )
}

/// The one sheet that holds something by a map or that is the program's own, else the one whose columns can be
/// matched. Two that do wait, since orders of the other would be lost without a word; one that looks like orders and
/// can't be read is told.
fn first_that_fits(file: &str, tables: Vec<Table>, rules: &ReadRules<'_>) -> Result<Reading, ReadError> {
    let mut read: Vec<(usize, Reading)> = Vec::new();
    let mut errors = Vec::new();
    let mut unknown = Vec::new();
    for (place, table) in (1..).zip(tables) {
        match read_by_map(file, table, rules) {
            Ok(Known::Read(reading)) => read.push((place, *reading)),
            Ok(Known::No(table)) => unknown.push((place, table)),
            Err(error) => errors.push((place, error)),
        }
    }
    // A sheet that a map fits and can't read is of that map's source: no other is read in its stead.
    if errors.is_empty() || !read.is_empty() {
        for (place, table) in unknown {
            match read_by_match(file, table, rules) {
                Ok(reading) => read.push((place, reading)),
                Err(error) => errors.push((place, error)),
            }
        }
    }
    let holding: Vec<String> =
        read.iter().filter(|(_, reading)| holds_records(reading)).map(|(place, _)| place.to_string()).collect();
    if let [others @ .., last] = holding.as_slice()
        && !others.is_empty()
    {
        let both = if others.len() == 1 { "both" } else { "all" };
        let why = format!(
            "its sheets {} and {last} (empty ones aside) {both} hold orders; save each as a file of its own",
            others.join(", ")
        );
        return Err(ReadError::Waiting(Box::new(Waiting::new(file, why))));
    }
    let chosen = read.iter().position(|(_, reading)| holds_records(reading)).unwrap_or(0);
    if let Some((_, mut reading)) = read.into_iter().nth(chosen) {
        reading.remarks.splice(0..0, errors.iter().filter_map(|(place, error)| unread_sheet(file, *place, error)));
        return Ok(reading);
    }
    // Of several sheets, the one that looks like orders tells what is missing.
    let proposed = errors.iter().position(|(_, error)| is_proposed(error)).unwrap_or(0);
    let empty = || unreadable(file, "the spreadsheet is empty; export it again");
    Err(errors.into_iter().nth(proposed).map_or_else(empty, |(_, error)| error))
}

fn holds_records(reading: &Reading) -> bool {
    reading.rows.taken + reading.rows.refused > 0
}

/// What to say of a sheet beside the one that was read; nothing of notes and sums.
fn unread_sheet(file: &str, place: usize, error: &ReadError) -> Option<Remark> {
    let why = match error {
        ReadError::Waiting(waiting) => &waiting.why,
        ReadError::Unreadable(refused) => &refused.reason,
    };
    let text = format!("its sheet {place} (empty ones aside) is not read: {why}");
    is_told(error).then(|| Remark { file: file.to_owned(), line: None, column: None, text })
}

/// Whether it is more than that nothing in it is known.
fn is_told(error: &ReadError) -> bool {
    is_proposed(error)
        || matches!(error, ReadError::Waiting(waiting) if !waiting.why.starts_with(columns::NOTHING_FITS))
}

fn is_proposed(error: &ReadError) -> bool {
    matches!(error, ReadError::Waiting(waiting) if waiting.proposal.is_some())
}

/// What became of a table.
enum Known {
    Read(Box<Reading>),
    /// It is none of the program's sheets, and no map has anything to do with it.
    No(Table),
}

fn read_by_map(file: &str, mut table: Table, rules: &ReadRules<'_>) -> Result<Known, ReadError> {
    if let Some((sheet, header)) = sheets::find(&table) {
        return Ok(Known::Read(Box::new(sheets::read(file, &table, sheet, &header, rules))));
    }
    let Some((map, header)) = columns::fitting(file, &table, rules.maps)? else { return Ok(Known::No(table)) };
    table.write_numbers_with(map.decimal);
    match map.kind {
        MapKind::Sales => Ok(Known::Read(Box::new(sales::read(file, &table, map, &header, rules)))),
        MapKind::Postage => Ok(Known::Read(Box::new(postage::read(file, &table, map, &header, rules)))),
        MapKind::Receipts => Ok(Known::Read(Box::new(receipts::read(file, &table, map, &header, rules)))),
    }
}

fn read_by_match(file: &str, mut table: Table, rules: &ReadRules<'_>) -> Result<Reading, ReadError> {
    let found = columns::matched(file, &table, rules)?;
    table.write_numbers_with(found.map.decimal);
    let mut reading = sales::read(file, &table, &found.map, &found.header, rules);
    hold_unpaid(&mut reading, &found.unpaid);
    reading.matched = Some(found.matched);
    reading.remarks.insert(0, found.remark);
    Ok(reading)
}

/// Marks orders as unpaid that are open by their words. Numbers are alike here where they are to a spreadsheet.
fn hold_unpaid(reading: &mut Reading, unpaid: &BTreeSet<String>) {
    let whole = |number: &str| values::without_fraction(number).unwrap_or(number).to_owned();
    let Content::Sales(orders) = &mut reading.content else { return };
    let unpaid: BTreeSet<String> = unpaid.iter().map(|number| whole(number)).collect();
    let open = orders.iter_mut().filter(|order| order.state == OrderState::Open);
    for order in open.filter(|order| unpaid.contains(&whole(&order.id.number))) {
        order.state = OrderState::Unpaid;
    }
}

/// Header of the column that refused rows get, which is passed over when they are read again.
const REASON: &str = "reason";

/// What was refused, as it stood, to be mended and dropped again: ending of its name, and bytes. `None` where
/// nothing was.
///
/// Rows of a table become `NAME.refused.csv`, with their reason in a last column, which the map passes over when it
/// reads them again. What was refused is refused again while nobody has mended it: the header stands again between
/// rows that it stood between, and cells that lost what showed them to be wrong are marked
/// ([`cells`](crate::model::drop::RefusedRow::cells)). Trade confirmations become `NAME.refused.txt`, each below its
/// reason.
#[must_use]
pub fn refused_rows(reading: &Reading) -> Option<(&'static str, Vec<u8>)> {
    let given_back: Vec<&RefusedRow> = reading.refused.iter().filter(|row| !row.cells.is_empty()).collect();
    if given_back.is_empty() {
        return None;
    }
    if let Content::Trades(_) = reading.content {
        let block = |row: &&RefusedRow| {
            let why = row.why.told_at(row.why.place_within());
            format!("# {why}\n{}\n", row.cells.join("\n"))
        };
        let blocks: Vec<String> = given_back.iter().map(block).collect();
        return Some(("txt", blocks.join("\n").into_bytes()));
    }
    let mut csv = csv::WriterBuilder::new()
        .delimiter(reading.delimiter.and_then(|c| u8::try_from(c).ok()).unwrap_or(b','))
        .from_writer(Vec::new());
    // A row with a cell too many keeps it, in a column without a name.
    let longest = given_back.iter().map(|row| row.cells.len()).max().unwrap_or(0);
    let width = reading.headers.len().max(longest);
    let mut write = |cells: &[String], last: &str| {
        let padded = (0..width).map(|i| cells.get(i).map_or("", String::as_str));
        // Writing to memory doesn't fail.
        csv.write_record(padded.chain([last])).is_ok()
    };
    let mut written = write(&reading.headers, REASON);
    let mut last = None;
    for row in given_back {
        let is_between = |line: &u64| last < Some(*line) && Some(*line) < row.why.line;
        if last.is_some() && reading.headers_again.iter().any(is_between) {
            written &= write(&reading.headers, REASON);
        }
        last = row.why.line;
        written &= write(&row.cells, &row.why.reason);
    }
    csv.into_inner().ok().filter(|_| written).map(|bytes| ("csv", bytes))
}

#[cfg(test)]
mod tests {
    use super::test_home::{order_book, orders, read_with, rules};
    use super::{ReadError, first_that_fits};
    use crate::inbox::decode::{Row, Table};
    use crate::model::drop::{ColumnMap, Reading};

    /// The sheets of a workbook, cells set apart by commas.
    fn book(sheets: &[&str], maps: &[ColumnMap]) -> Result<Reading, ReadError> {
        let row = |(line, text): (u64, &str)| Row {
            line,
            cells: text.split(',').map(str::to_owned).collect(),
            numbers: Vec::new(),
        };
        let table = |text: &&str| Table {
            rows: (1..).zip(text.lines()).map(row).collect(),
            encoding: "spreadsheet".into(),
            delimiter: None,
        };
        first_that_fits("a.xlsx", sheets.iter().map(table).collect(), &rules(maps))
    }

    const NOTES: &str = "Back on Monday\nAsk Ines";
    const SUMS: &str = "Title,Quantity\nGull,3\nPuffin,1";
    const MAPPED: &str = "Ref,Name,Pin,Qty\n1,Ines,GULL,1";
    const MATCHED: &str = "Order number,Recipient,Street,City,Title,Quantity\n7,Bo,1 Quay,Fogport,Gull,2";

    #[test]
    fn of_a_workbook_the_one_sheet_with_orders_is_read() {
        let maps = [order_book()];
        for (sheets, maps) in [
            (&[NOTES, MAPPED, SUMS][..], &maps[..]),
            (&[NOTES, MATCHED, SUMS], &[]),
            // A sheet of the month that has no order yet.
            (&["Ref,Name,Pin,Qty", MAPPED], &maps),
            (&["Order number,Recipient,Street,City,Title,Quantity", MATCHED], &[]),
        ] {
            let reading = book(sheets, maps).unwrap();
            assert_eq!((orders(&reading).len(), reading.rows.taken), (1, 1), "{sheets:?}");
        }
        let empty = book(&["Ref,Name,Pin,Qty"], &maps).unwrap();
        assert_eq!(orders(&empty).len(), 0);
    }

    #[test]
    fn a_workbook_of_two_sheets_with_orders_waits() {
        for (sheets, maps) in [
            (&[MAPPED, "Ref,Name,Pin,Qty\n2,Bo,GULL,1"][..], &[order_book()][..]),
            (&[MAPPED, "Ref,Name,Pin,Qty\n2,Bo,GULL,many"], &[order_book()]),
            (&[MAPPED, MATCHED], &[order_book()]),
            (&[MATCHED, MATCHED], &[]),
        ] {
            let Err(ReadError::Waiting(waiting)) = book(sheets, maps) else { panic!("{sheets:?}") };
            assert_eq!(
                waiting.why,
                "its sheets 1 and 2 (empty ones aside) both hold orders; save each as a file of its own"
            );
        }
    }

    #[test]
    fn a_file_that_comes_with_an_email_is_named() {
        let part = |name: &str| {
            format!(
                "--b\r\nContent-Type: text/csv; name=\"{name}\"\r\nContent-Disposition: attachment; filename=\"{name}\"\r\n\r\na,b\r\n1,2\r\n"
            )
        };
        let mail = |parts: &str| {
            format!(
                "From: ines@example.net\r\nTo: owner@example.org\r\nDate: Wed, 25 Nov 2026 08:00:00 -0500\r\nMIME-Version: 1.0\r\n\
                 Content-Type: multipart/mixed; boundary=b\r\n\r\n--b\r\nContent-Type: text/plain\r\n\r\nHere you are.\r\n{parts}--b--\r\n"
            )
        };
        for (parts, names) in [
            (part("orders.csv"), "but `orders.csv` comes with it: save that"),
            (
                part("one.csv") + &part("two.csv"),
                "but 2 files come with it, `one.csv`, `two.csv`: save the one you mean",
            ),
            (String::new(), "mend it, or drop the export itself"),
        ] {
            let Err(ReadError::Unreadable(why)) = read_with(mail(&parts).as_bytes(), &[]) else { panic!() };
            assert!(why.reason.contains(names), "{}", why.reason);
        }
    }

    #[test]
    fn a_second_sheet_that_looks_like_orders_and_is_not_read_is_told() {
        let reading =
            book(&[MAPPED, "Order number,Street,City,Title\n1,1 Quay,Fogport,Gull"], &[order_book()]).unwrap();
        let told = &reading.remarks[0].text;
        assert!(told.starts_with("its sheet 2 (empty ones aside) is not read: no column map fits it"), "{told}");
        assert_eq!(book(&[MAPPED, NOTES, SUMS], &[order_book()]).unwrap().remarks, []);
    }
}
