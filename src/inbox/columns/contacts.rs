//! To whom it goes: whose name, and whose address.
//!
//! Handed the columns of names and addresses; promises those of the recipient, all of one address, and who bought.
//! What belongs to the bill is never an address to send to. Turned down: filling the gaps of one address from the
//! other, which makes a third that nobody lives at.

use crate::model::drop::SalesField;

use super::draft::{Draft, Pick, pick};
use super::grid::{Column, Grid};
use super::words::{Meaning, What, Whose};

/// Parts of an address besides its first line.
const PARTS: [SalesField; 7] = [
    SalesField::City,
    SalesField::PostalCode,
    SalesField::Region,
    SalesField::Country,
    SalesField::Company,
    SalesField::Address2,
    SalesField::Address3,
];

/// Settles all of it.
pub(super) fn settle(grid: &mut Grid<'_>, draft: &mut Draft) {
    leave_out_last_names(grid);
    leave_out_things(grid, draft);
    let street = What::Field(SalesField::Address1);
    let address = pick(grid, street, |_, meaning| meaning.whose != Whose::Bill);
    let whose = whose_of(grid, &address, street);
    draft.settle(grid, SalesField::Address1, address);
    if draft.doubtful.contains_key(&SalesField::Address1) || whose.is_some() {
        parts(grid, draft, whose.unwrap_or(Whose::Unsaid));
    } else if let Some((column, _)) = grid.of_meaning(street).next() {
        draft.problems.push(format!(
            "`{}` is the address of the bill, which need not be where it goes; if it is, say so in the map",
            column.header
        ));
        draft.doubt(SalesField::Address1, vec![column.place]);
        for field in PARTS {
            let places: Vec<usize> = grid.of_meaning(What::Field(field)).map(|(column, _)| column.place).collect();
            if !places.is_empty() {
                draft.doubt(field, places);
            }
        }
    } else {
        parts(grid, draft, Whose::Unsaid);
    }
    whole_address(grid, draft);
    house_number(grid, draft);
    names(grid, draft, whose);
    let email = pick(grid, What::Field(SalesField::Email), |_, _| true);
    draft.settle(grid, SalesField::Email, email);
}

fn whose_of(grid: &Grid<'_>, pick: &Pick, what: What) -> Option<Whose> {
    let place = match pick {
        Pick::None => return None,
        Pick::One(place) => place,
        Pick::Many(places) => places.first()?,
    };
    grid.columns.get(*place)?.means(what).map(|meaning| meaning.whose)
}

/// Whether there is a second street, of somebody less likely to be the recipient.
fn has_second(grid: &Grid<'_>, whose: Whose, first: Whose) -> bool {
    let mut streets = grid.of_meaning(What::Field(SalesField::Address1));
    whose != first && streets.any(|(_, meaning)| meaning.whose == whose)
}

/// The rest of the address, whose first line is that of `whose`.
fn parts(grid: &Grid<'_>, draft: &mut Draft, whose: Whose) {
    for field in PARTS {
        let what = What::Field(field);
        let found = pick(grid, what, |_, meaning| {
            meaning.whose != Whose::Bill && (meaning.whose >= whose || !has_second(grid, meaning.whose, whose))
        });
        let other = grid.of_meaning(what).find(|(_, meaning)| meaning.whose != Whose::Bill);
        let needed = matches!(field, SalesField::City | SalesField::PostalCode | SalesField::Country);
        if let (Pick::None, Some((other, _)), true) = (&found, other, needed) {
            draft.problems.push(format!(
                "`{}` belongs to another address than the one to send to; say in the map whether it holds for both",
                other.header
            ));
            draft.doubt(field, vec![other.place]);
            continue;
        }
        draft.settle(grid, field, found);
    }
}

/// A column `Name` beside one of first names holds the last names, unless its cells have the first names too.
fn leave_out_last_names(grid: &mut Grid<'_>) {
    let name = What::Field(SalesField::Name);
    let partial: Vec<(usize, Whose)> = {
        let parts: Vec<(&Column, Meaning)> =
            [What::FirstName, What::LastName].into_iter().flat_map(|what| grid.of_meaning(what)).collect();
        let names = grid.of_meaning(name).filter(|(column, meaning)| {
            let beside = parts.iter().filter(|(_, part)| part.whose == meaning.whose);
            beside.clone().next().is_some() && !beside.clone().any(|(part, _)| holds(grid, column, part))
        });
        names.map(|(column, meaning)| (column.place, meaning.whose)).collect()
    };
    for (place, whose) in partial {
        if let Some(column) = grid.columns.get_mut(place) {
            column.meanings.retain(|meaning| (meaning.what, meaning.whose) != (name, whose));
            column.meanings.push(Meaning { what: What::LastName, whose, plain: true });
        }
    }
}

/// Whether the cells of one column hold those of the other, and more, in most rows that have both.
fn holds(grid: &Grid<'_>, whole: &Column, part: &Column) -> bool {
    let (mut does, mut not) = (0_usize, 0_usize);
    for row in &grid.rows {
        if let (Some(whole), Some(part)) = (Grid::cell(row, whole), Grid::cell(row, part)) {
            let inside = whole.to_lowercase().contains(&part.to_lowercase()) && whole.len() > part.len();
            *if inside { &mut does } else { &mut not } += 1;
        }
    }
    does > not
}

/// A `Name` without an owner that is that of the thing: another within most orders of several rows, or the same at
/// several addresses.
fn leave_out_things(grid: &mut Grid<'_>, draft: &Draft) {
    let name = What::Field(SalesField::Name);
    let things: Vec<usize> = grid
        .of_meaning(name)
        .filter(|(column, meaning)| {
            meaning.whose == Whose::Unsaid && !meaning.plain && is_of_things(grid, draft, column)
        })
        .map(|(column, _)| column.place)
        .collect();
    for place in things {
        if let Some(column) = grid.columns.get_mut(place) {
            column.meanings.retain(|meaning| meaning.what != name);
            column.meanings.push(Meaning { what: What::Field(SalesField::Title), whose: Whose::Unsaid, plain: false });
        }
    }
}

fn is_of_things(grid: &Grid<'_>, draft: &Draft, name: &Column) -> bool {
    use std::collections::{BTreeMap, BTreeSet};
    let order = draft.column(grid, SalesField::Order);
    let street = grid.of_meaning(What::Field(SalesField::Address1)).map(|(column, _)| column).next();
    let mut of_order: BTreeMap<String, Vec<String>> = BTreeMap::new();
    let mut at: BTreeMap<String, (usize, BTreeSet<String>)> = BTreeMap::new();
    for row in &grid.rows {
        let Some(name) = Grid::cell(row, name).map(|name| name.to_lowercase()) else { continue };
        if let Some(order) = order.and_then(|order| Grid::cell(row, order)) {
            of_order.entry(order).or_default().push(name.clone());
        }
        if let Some(street) = street.and_then(|street| Grid::cell(row, street)) {
            let (rows, streets) = at.entry(name).or_default();
            *rows += 1;
            streets.insert(street.to_lowercase());
        }
    }
    let several: Vec<&Vec<String>> = of_order.values().filter(|names| names.len() > 1).collect();
    let differ = several.iter().filter(|names| names.iter().any(|name| Some(name) != names.first())).count();
    let everywhere: usize = at.values().filter(|(_, streets)| streets.len() > 1).map(|(rows, _)| rows).sum();
    let rows: usize = at.values().map(|(rows, _)| rows).sum();
    differ * 2 > several.len() || everywhere * 2 > rows
}

/// A column that may hold the whole address is a street line only where town and code have columns of their own and
/// it doesn't repeat them.
fn whole_address(grid: &Grid<'_>, draft: &mut Draft) {
    let street = What::Field(SalesField::Address1);
    let Some(column) = draft.column(grid, SalesField::Address1) else { return };
    let Some(meaning) = column.means(street) else { return };
    let own = [SalesField::City, SalesField::PostalCode].map(|field| draft.column(grid, field));
    let whole = match own {
        [Some(city), Some(code)] => holds(grid, column, city) && holds(grid, column, code),
        [Some(city), None] => !meaning.plain || holds(grid, column, city),
        [None, _] => !meaning.plain,
    };
    if whole {
        draft.problems.push(format!(
            "`{}` looks like the whole address, and street, town and postal code each need a column; export them apart",
            column.header
        ));
        draft.doubt(SalesField::Address1, vec![column.place]);
    }
}

/// A street whose number stands in another column is half an address line, which a map can't join.
fn house_number(grid: &Grid<'_>, draft: &mut Draft) {
    let Some(street) = draft.column(grid, SalesField::Address1) else { return };
    let whose = street.means(What::Field(SalesField::Address1)).map(|meaning| meaning.whose);
    let mut numbers = grid.of_meaning(What::HouseNumber).filter(|(_, meaning)| Some(meaning.whose) == whose);
    let Some((number, _)) = numbers.find(|(column, _)| grid.cells(column).next().is_some()) else { return };
    if !holds(grid, street, number) {
        draft.problems.push(format!(
            "the house number stands apart from the street, in `{}`; export both in one column, or have it as a second line",
            number.header
        ));
        draft.doubt(SalesField::Address2, vec![number.place]);
    }
}

/// The recipient's name, and the buyer's where it is another column.
fn names(grid: &Grid<'_>, draft: &mut Draft, address: Option<Whose>) {
    let what = What::Field(SalesField::Name);
    let found = pick(grid, what, |_, meaning| meaning.whose != Whose::Bill);
    let whose = whose_of(grid, &found, what);
    let parts: Vec<(&Column, Meaning)> = [What::FirstName, What::LastName]
        .into_iter()
        .flat_map(|part| grid.of_meaning(part))
        .filter(|(_, part)| part.whose != Whose::Bill && Some(part.whose) > whose)
        .collect();
    if !parts.is_empty() {
        let mut places: Vec<usize> = parts.iter().map(|(column, _)| column.place).collect();
        places.sort_unstable();
        draft
            .problems
            .push(format!("the recipient's name is in parts ({}); export it whole in one column", grid.names(&places)));
        draft.doubt(SalesField::Name, places);
    } else if let (Some(whose), Some(address)) = (whose, address)
        && whose < address
        && has_second(grid, whose, address)
        && let Pick::One(place) = found
    {
        let header = grid.columns.get(place).map(|column| column.header.as_str()).unwrap_or_default();
        draft.problems.push(format!(
            "`{header}` stands with another address than the one to send to; say in the map whether it is the recipient"
        ));
        draft.doubt(SalesField::Name, vec![place]);
    } else {
        draft.settle(grid, SalesField::Name, found);
    }
    let name = draft.chosen.get(&SalesField::Name).copied();
    let bought = |meaning: Meaning| matches!(meaning.whose, Whose::Buyer | Whose::Bill);
    match pick(grid, what, |column, meaning| bought(meaning) && Some(column.place) != name) {
        Pick::None => {}
        Pick::One(place) => {
            draft.chosen.insert(SalesField::Buyer, place);
        }
        // Who bought decides nothing; it is only good to know.
        Pick::Many(places) => {
            draft.asides.push(format!("{} could each be who bought, and none is read", grid.names(&places)));
        }
    }
}
