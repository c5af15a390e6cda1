//! `columns/NAME.toml`: how one source's exports are read.
//!
//! Handed the text of one column map; promises fields and states that this program knows, each with a header, or
//! every fault of the map. Turned down: taking the source's name from the file's, where renaming a file would
//! make the same orders new ones.

use std::collections::BTreeMap;

use crate::model::drop::{ColumnMap, DateOrder, MapKind, SalesField};
use crate::model::order::OrderState;

use super::fault::{Fault, suggestion};
use super::keys::{self, Source, Table};
use super::repeats::repeats;

/// Fields of a table of postage bought.
const POSTAGE: [&str; 8] = ["tracking", "parcel", "bought_at", "price", "service", "mass", "name", "postal_code"];
/// Fields of acceptance receipts.
const RECEIPTS: [&str; 7] = ["tracking", "parcel", "accepted_at", "place", "price", "mass", "postal_code"];

pub(super) fn read(file: &str, text: &str, faults: &mut Vec<Fault>) -> Option<ColumnMap> {
    let source = Source { file, text };
    let parsed = keys::parse(source, faults)?;
    let table = Table::root(source, &parsed);
    table.only(&["name", "kind", "headers", "dates", "decimal", "mass_unit", "currency", "columns", "states"], faults);
    let name = table.must("name", "write a short name for the source", faults).and_then(|item| {
        let name = item.text(faults)?;
        if name.contains([':', '|', ' ']) {
            faults
                .push(item.fault("holds a colon, bar or space; it is the first half of every order's id: use letters"));
        }
        Some(name.to_owned())
    });
    let kind = match table.get("kind") {
        Some(item) => item.word(&["sales", "postage", "receipts"], faults),
        None => Some(MapKind::Sales),
    };
    let headers = table.must("headers", "name the headers that tell this source", faults).and_then(|item| {
        let headers = item.texts(faults)?;
        if headers.is_empty() {
            faults.push(item.fault("is empty; name the headers that tell this source"));
        }
        Some(headers)
    });
    let dates = table.get("dates").map_or(Some(DateOrder::Ymd), |item| item.word(&["dmy", "mdy", "ymd"], faults));
    let decimal = table.get("decimal").map_or(Some('.'), |item| match item.text(faults)? {
        "." => Some('.'),
        "," => Some(','),
        _ => {
            faults.push(item.fault(keys::one_of(&[".", ","])));
            None
        }
    });
    let mass_unit = of_entries(&table, "mass_unit", kind, faults).and_then(|item| item.parsed(faults));
    let currency = of_entries(&table, "currency", kind, faults).and_then(|item| item.parsed(faults));
    let states = states(&table, kind, faults);
    let (sales, entries) = fields(&table, kind?, faults)?;
    Some(ColumnMap {
        name: name?,
        kind: kind?,
        headers: headers?,
        dates: dates?,
        decimal: decimal?,
        sales,
        entries,
        mass_unit,
        currency,
        states,
    })
}

/// A key that only maps of postage and receipts have; a sales export says its currency in a column.
fn of_entries<'t>(
    table: &Table<'t>,
    key: &str,
    kind: Option<MapKind>,
    faults: &mut Vec<Fault>,
) -> Option<keys::Item<'t>> {
    match kind {
        Some(MapKind::Postage | MapKind::Receipts) | None => table.get(key),
        Some(MapKind::Sales) => {
            let needless = table
                .get(key)
                .map(|item| item.fault("is of no use here; only maps of postage and receipts have it, so remove it"));
            faults.extend(needless);
            None
        }
    }
}

fn states(table: &Table<'_>, kind: Option<MapKind>, faults: &mut Vec<Fault>) -> BTreeMap<String, OrderState> {
    let Some(states) = table.get("states").and_then(|item| item.table(faults)) else { return BTreeMap::new() };
    match kind {
        Some(MapKind::Sales) | None => {}
        Some(MapKind::Postage | MapKind::Receipts) => {
            faults.push(table.fault("states", "is of no use here; only orders have states, so remove it"));
        }
    }
    let items = states.items();
    items.into_iter().filter_map(|(word, item)| Some((word.to_owned(), item.parsed(faults)?))).collect()
}

type Fields = (BTreeMap<SalesField, String>, BTreeMap<String, String>);

fn fields(table: &Table<'_>, kind: MapKind, faults: &mut Vec<Fault>) -> Option<Fields> {
    let columns = table.must("columns", "add [columns] with our field = their header", faults)?.table(faults)?;
    let known: &[&str] = match kind {
        MapKind::Sales => &SalesField::ALL.map(SalesField::word),
        MapKind::Postage => &POSTAGE,
        MapKind::Receipts => &RECEIPTS,
    };
    let (mut sales, mut entries) = (BTreeMap::new(), BTreeMap::new());
    for (field, item) in columns.items() {
        let Some(header) = item.text(faults) else { continue };
        if !known.contains(&field) {
            faults.push(item.fault(format!("stands for an unknown field; {}", suggestion(field, known))));
            continue;
        }
        let sale = SalesField::ALL.into_iter().find(|known| known.word() == field);
        match (kind, sale) {
            (MapKind::Sales, Some(field)) => {
                sales.insert(field, header.to_owned());
            }
            (MapKind::Sales | MapKind::Postage | MapKind::Receipts, _) => {
                entries.insert(field.to_owned(), header.to_owned());
            }
        }
    }
    let day = match kind {
        MapKind::Sales => None,
        MapKind::Postage => Some("bought_at"),
        MapKind::Receipts => Some("accepted_at"),
    };
    if let Some(day) = day
        && ["tracking", "parcel", day].iter().all(|field| !entries.contains_key(*field))
    {
        let mend = format!("is missing, and so are parcel and {day}; name the header of one of them");
        faults.push(columns.fault("tracking", mend));
    }
    if kind == MapKind::Sales {
        if !sales.contains_key(&SalesField::Order) {
            faults.push(columns.fault("order", "is missing; name the header of that column"));
        }
        for (field, word, other, instead) in [
            (SalesField::Name, "name", SalesField::Buyer, "buyer"),
            (SalesField::Code, "code", SalesField::Title, "title"),
        ] {
            if !sales.contains_key(&field) && !sales.contains_key(&other) {
                let mend = format!("is missing, and so is {instead}; name the header of one of them");
                faults.push(columns.fault(word, mend));
            }
        }
    }
    Some((sales, entries))
}

/// The name is half of every order's id, so two maps of one name would mix two sources' orders.
pub(super) fn one_map_a_name(maps: &[(String, ColumnMap)], faults: &mut Vec<Fault>) {
    for ((other, _), (file, map)) in repeats(maps, |(_, map)| Some(map.name.as_str())) {
        faults.push(Fault {
            what: "key `name`".to_owned(),
            value: Some(map.name.clone()),
            ..Fault::file(file, format!("is the name of {other} too; rename one"))
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::mass::MassUnit;
    use crate::model::money::Currency;

    fn read_map(text: &str) -> (Option<ColumnMap>, Vec<String>) {
        let mut faults = Vec::new();
        let map = read("columns/a.toml", text, &mut faults);
        (map, faults.iter().map(Fault::to_string).collect())
    }

    #[test]
    fn every_field_of_the_list_is_a_field() {
        let fields = SalesField::ALL.map(|field| format!("{0} = \"H {0}\"", field.word())).join("\n");
        let (map, faults) = read_map(&format!("name = \"a\"\nheaders = [\"H order\"]\n[columns]\n{fields}"));
        assert_eq!(faults, [] as [&str; 0]);
        assert_eq!(map.unwrap().sales.len(), SalesField::ALL.len());
    }

    #[test]
    fn every_fault_of_a_map_is_told() {
        let (map, faults) = read_map(
            "name = \"a:b\"\nheaders = []\ndates = \"us\"\ndecimal = \";\"\n[columns]\norder = \"Slip\"\n\
             adress1 = \"Door\"\nquantity = \"\"\n[states]\n\"paid\" = \"done\"\n",
        );
        assert!(map.is_none());
        assert_eq!(
            faults,
            [
                "columns/a.toml, line 1, key `name`: `a:b` holds a colon, bar or space; it is the first half of every \
                 order's id: use letters",
                "columns/a.toml, line 2, key `headers`: `[]` is empty; name the headers that tell this source",
                "columns/a.toml, line 3, key `dates`: `us` is none of the words that can stand here; write dmy, mdy or ymd",
                "columns/a.toml, line 4, key `decimal`: `;` is none of the words that can stand here; write . or ,",
                "columns/a.toml, line 10, key `states.paid`: `done` is not a state; write open, unpaid, cancelled, refunded, part-refunded or sent",
                "columns/a.toml, line 7, key `columns.adress1`: `Door` stands for an unknown field; did you mean \
                 `address1`?",
                "columns/a.toml, line 8, key `columns.quantity`: is empty; fill it in",
                "columns/a.toml, line 5, key `columns.name`: is missing, and so is buyer; name the header of one of them",
                "columns/a.toml, line 5, key `columns.code`: is missing, and so is title; name the header of one of them",
            ]
        );
    }

    #[test]
    fn maps_of_postage_and_receipts_have_keys_and_needs_of_their_own() {
        let (map, faults) = read_map(
            "name = \"a\"\nkind = \"postage\"\nheaders = [\"L\"]\nmass_unit = \"oz\"\ncurrency = \"EUR\"\n[columns]\n\
             tracking = \"L\"\nmass = \"M\"\n",
        );
        assert_eq!(faults, [] as [&str; 0]);
        let map = map.unwrap();
        assert_eq!((map.mass_unit, map.currency.map(Currency::code)), (Some(MassUnit::Ounce), Some("EUR")));
        let (_, faults) = read_map(
            "name = \"a\"\nkind = \"receipts\"\nheaders = [\"L\"]\nmass_unit = \"stone\"\n[columns]\nprice = \"P\"\n",
        );
        assert_eq!(
            faults,
            [
                "columns/a.toml, line 4, key `mass_unit`: `stone` is not a unit of mass; write g, kg, oz or lb",
                "columns/a.toml, line 5, key `columns.tracking`: is missing, and so are parcel and accepted_at; name the \
                 header of one of them",
            ]
        );
        let (_, faults) = read_map(
            "name = \"a\"\nheaders = [\"L\"]\nmass_unit = \"g\"\n[columns]\norder = \"O\"\nname = \"N\"\ntitle = \"T\"\n",
        );
        assert!(faults[0].contains("`g` is of no use here; only maps of postage and receipts have it"), "{faults:?}");
    }

    #[test]
    fn two_maps_of_one_name_are_a_fault() {
        let text = "name = \"a\"\nheaders = [\"H\"]\n[columns]\norder = \"O\"\nname = \"N\"\ntitle = \"T\"\n";
        let map = read_map(text).0.unwrap();
        let mut faults = Vec::new();
        one_map_a_name(&[("columns/a.toml".into(), map.clone()), ("columns/b.toml".into(), map)], &mut faults);
        let expected = "columns/b.toml, key `name`: `a` is the name of columns/a.toml too; rename one";
        assert_eq!(faults.iter().map(Fault::to_string).collect::<Vec<_>>(), [expected]);
    }
}
