//! A column map as far as it is certain, for a file that waits.
//!
//! Handed what matching settled and doubts; promises a `columns/NAME.toml` in which what is certain stands as it
//! is, and what isn't stands as comments with samples of each candidate, so that taking away a `#` finishes it.
//! Turned down: leaving the doubtful out, which makes the seller look up how a map is written.

use std::fmt::Write as _;

use crate::inbox::{ReadRules, dates, numbers};
use crate::model::day::Proposal;
use crate::model::drop::{DateOrder, SalesField};
use crate::model::order::OrderState;

use super::draft::Draft;
use super::fold::slug;
use super::grid::{Column, Grid};
use super::words::{Tells, What};

/// A map's text as it grows; writing to memory doesn't fail.
#[derive(Default)]
struct Map(String);

impl Map {
    fn line(&mut self, text: impl AsRef<str>) {
        let _infallible = writeln!(self.0, "{}", text.as_ref());
    }

    /// `order = "Ref"   # 1001 · 1002`, as a comment where it isn't certain.
    fn column(&mut self, grid: &Grid<'_>, field: &str, column: &Column, certain: bool) {
        let mut note = grid.samples(column).join(" · ");
        if column.header.is_empty() {
            self.line(format!(
                "# {field}: column {} could be it, which has no header; give it one   # {note}",
                column.letter()
            ));
            return;
        }
        if !grid.is_alone(column) {
            note = format!("column {} of several with this header; rename it   # {note}", column.letter());
        }
        let mark = if certain { "" } else { "# " };
        let line = format!("{mark}{field} = {}   # {note}", quoted(&column.header));
        self.line(line.trim_end().trim_end_matches('#').trim_end());
    }

    fn list(&mut self, headers: &[&str]) {
        let headers: Vec<String> = headers.iter().map(|header| quoted(header)).collect();
        self.line(format!("headers = [{}]   # a file with all of these is read by this map", headers.join(", ")));
    }
}

/// A TOML string.
fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

/// The fields that a sale can't be sent without.
const NEEDED: [SalesField; 7] = [
    SalesField::Order,
    SalesField::Name,
    SalesField::Address1,
    SalesField::City,
    SalesField::Code,
    SalesField::Title,
    SalesField::Quantity,
];

/// A map of kind `sales`.
pub(super) fn of_sales(file: &str, grid: &Grid<'_>, draft: &Draft, source: &str) -> Proposal {
    let mut map = Map::default();
    map.line(format!("# Proposed for {}.", crate::model::text::one_line(file)));
    map.line("# Where a line begins with #, it could not be told for certain: take the # away if the line is right.");
    for problem in &draft.problems {
        map.line(format!("# - {problem}"));
    }
    map.line(format!("name = {}", quoted(source)));
    map.line("kind = \"sales\"");
    let certain: Vec<&str> = NEEDED
        .iter()
        .filter_map(|field| draft.column(grid, *field))
        .filter(|column| grid.is_alone(column))
        .map(|column| column.header.as_str())
        .collect();
    map.list(&if certain.is_empty() { any_headers(grid) } else { certain });
    style(&mut map, draft);
    map.line("");
    map.line("[columns]");
    for field in SalesField::ALL {
        if let Some(column) = draft.column(grid, field) {
            map.column(grid, field.word(), column, true);
        } else if let Some(places) = draft.doubtful.get(&field) {
            for column in places.iter().filter_map(|place| grid.columns.get(*place)) {
                map.column(grid, field.word(), column, false);
            }
        } else if NEEDED.contains(&field) && !is_either(draft, field) {
            map.line(format!("# {} = \"\"   # none found; one of those below?", field.word()));
        }
    }
    let doubted = |place: usize| draft.doubtful.values().any(|places| places.contains(&place));
    let unread = grid
        .columns
        .iter()
        .filter(|column| !doubted(column.place) && !draft.chosen.values().any(|place| *place == column.place));
    for column in unread {
        let samples = grid.samples(column).join(" · ");
        if !(column.header.is_empty() && samples.is_empty()) {
            map.line(
                format!("# not read: {}   # {samples}", grid.name(column)).trim_end().trim_end_matches('#').trim_end(),
            );
        }
    }
    states(&mut map, grid, draft);
    Proposal { name: source.to_owned(), toml: map.0 }
}

/// Some headers, of those that stand once where there are any.
fn any_headers<'g>(grid: &'g Grid<'_>) -> Vec<&'g str> {
    let named = || grid.columns.iter().filter(|column| !column.header.is_empty());
    let alone: Vec<&str> =
        named().filter(|column| grid.is_alone(column)).map(|column| column.header.as_str()).take(3).collect();
    if alone.is_empty() { named().map(|column| column.header.as_str()).take(1).collect() } else { alone }
}

/// Of code and title, one is enough.
fn is_either(draft: &Draft, field: SalesField) -> bool {
    let items = [SalesField::Code, SalesField::Title];
    let known = |field: &SalesField| draft.chosen.contains_key(field) || draft.doubtful.contains_key(field);
    items.contains(&field) && items.iter().any(known)
}

fn style(map: &mut Map, draft: &Draft) {
    match (draft.dates, &draft.dates_asked) {
        (Some(order), _) if draft.has_days => map.line(format!(
            "dates = \"{}\"",
            match order {
                DateOrder::Dmy => "dmy",
                DateOrder::Mdy => "mdy",
                DateOrder::Ymd => "ymd",
            }
        )),
        (Some(_), _) => {}
        (None, Some((asked, [day_first, month_first]))) => {
            map.line(format!("# dates = \"dmy\"   # {} is {day_first}", asked.value));
            map.line(format!("# dates = \"mdy\"   # {} is {month_first}", asked.value));
        }
        (None, None) => map.line("# dates = \"dmy\"   # or \"mdy\", or \"ymd\""),
    }
    match draft.decimal {
        Some(sign) => map.line(format!("decimal = \"{sign}\"")),
        None => map.line("# decimal = \",\"   # or \".\""),
    }
}

fn states(map: &mut Map, grid: &Grid<'_>, draft: &Draft) {
    if draft.states.is_empty() && draft.unknown_states.is_empty() {
        return;
    }
    map.line("");
    map.line("[states]");
    for (word, state) in &draft.states {
        map.line(format!("{} = \"{}\"", quoted(word), state.word()));
    }
    let words = [
        OrderState::Open,
        OrderState::Unpaid,
        OrderState::Cancelled,
        OrderState::Refunded,
        OrderState::PartRefunded,
        OrderState::Sent,
    ];
    let words = words.map(OrderState::word).join(", ");
    for (word, place) in &draft.unknown_states {
        let header = grid.names(&[*place]);
        map.line(format!("# {} = \"\"   # of {header}; one of {words}", quoted(word)));
    }
}

/// Dates and decimal sign of such a table, where all of a column's cells leave one.
fn entry_style(map: &mut Map, grid: &Grid<'_>, day: Option<&Column>, price: Option<&Column>, rules: &ReadRules<'_>) {
    let days: Vec<String> = day.map(|column| grid.cells(column).collect()).unwrap_or_default();
    match dates::order_of(&days, rules.time_zone) {
        Some(DateOrder::Dmy) => map.line("dates = \"dmy\""),
        Some(DateOrder::Mdy) => map.line("dates = \"mdy\""),
        Some(DateOrder::Ymd) => map.line("dates = \"ymd\""),
        None => map.line("# dates = \"dmy\"   # or \"mdy\", or \"ymd\""),
    }
    let prices: Vec<String> = price.map(|column| grid.cells(column).collect()).unwrap_or_default();
    let fits = |sign| prices.iter().all(|cell| numbers::amount(cell, sign).is_some());
    match (fits('.'), fits(',')) {
        (true, false) => map.line("decimal = \".\""),
        (false, true) => map.line("decimal = \",\""),
        (true, true) | (false, false) => map.line("# decimal = \",\"   # or \".\""),
    }
}

/// A map of postage bought or of receipts.
pub(super) fn of_entries(file: &str, grid: &Grid<'_>, rules: &ReadRules<'_>) -> Proposal {
    let first = |whats: &[What]| whats.iter().find_map(|what| grid.of_meaning(*what).next()).map(|(column, _)| column);
    let accepted = first(&[What::AcceptedAt]);
    let (kind, day) = if accepted.is_some() { ("receipts", "accepted_at") } else { ("postage", "bought_at") };
    let tracking = first(&[What::Tells(Tells::Tracking)]);
    let day_column = accepted.or_else(|| first(&[What::BoughtAt, What::Field(SalesField::PlacedAt)]));
    let prices = [SalesField::PostageCharged, SalesField::UnitPrice, SalesField::Total, SalesField::LineTotal];
    let (price, mass) = (first(&prices.map(What::Field)), first(&[What::Mass]));
    let mut fields = vec![
        ("tracking", tracking),
        (day, day_column),
        ("price", price),
        ("mass", mass),
        ("postal_code", first(&[What::Field(SalesField::PostalCode)])),
    ];
    if accepted.is_none() {
        fields.push(("service", first(&[What::Service])));
        fields.push(("name", first(&[What::Field(SalesField::Name)])));
    }
    let name = tracking.map(|column| slug(&column.header)).filter(|name| !name.is_empty());
    let name = name.unwrap_or_else(|| kind.to_owned());
    let mut map = Map::default();
    map.line(format!("# Proposed for {}; look it through.", crate::model::text::one_line(file)));
    map.line(format!("name = {}", quoted(&name)));
    map.line(format!("kind = \"{kind}\"   # or \"{}\"", if kind == "postage" { "receipts" } else { "postage" }));
    let found = fields.iter().filter_map(|(_, column)| *column).filter(|column| grid.is_alone(column));
    let headers: Vec<&str> = found.take(3).map(|column| column.header.as_str()).collect();
    map.list(&if headers.is_empty() { any_headers(grid) } else { headers });
    entry_style(&mut map, grid, day_column, price, rules);
    if mass.is_some_and(|column| grid.cells(column).any(|cell| !cell.contains(char::is_alphabetic))) {
        map.line("# mass_unit = \"g\"   # what a mass without a unit is in: g, kg, oz or lb");
    }
    map.line("");
    map.line("[columns]");
    for (field, column) in fields {
        if let Some(column) = column {
            map.column(grid, field, column, grid.is_alone(column));
        }
    }
    Proposal { name, toml: map.0 }
}
