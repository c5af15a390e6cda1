//! Whatever the style a table is written in, the orders are the same.

use std::collections::BTreeMap;

use proptest::prelude::*;
use rust_decimal::Decimal;

use crate::inbox::test_home::{order_book, orders, read_with};
use crate::model::drop::{ColumnMap, DateOrder};

/// What the orders of a table are, as far as its style could change it.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
struct Sale {
    number: u32,
    name: String,
    postal_code: String,
    country: &'static str,
    day: (i16, i8, i8),
    items: Vec<(String, u32, i64)>,
}

#[derive(Clone, Debug)]
struct Style {
    delimiter: char,
    decimal: char,
    group: &'static str,
    money: &'static str,
    dates: DateOrder,
    day: usize,
    quantity: &'static str,
    key: &'static str,
    listed: bool,
    beside: bool,
    turn: usize,
}

fn sale() -> impl Strategy<Value = Sale> {
    let place = prop::sample::select(vec![
        ("04999", "US"),
        ("97099", "US"),
        ("01067", "DE"),
        ("26133", "DE"),
        ("08001", "ES"),
        ("1010", "AT"),
        ("", "AE"),
    ]);
    let item = ("[A-Z]{2}-[0-9]{2}", 1_u32..40, 1_i64..400_000);
    let day = (2020_i16..2030, 1_i8..13, 1_i8..29);
    (1_u32..100_000, "[A-ZÉŁ][a-zéł]{1,6} [A-Z][a-z']{1,8}", place, day, prop::collection::vec(item, 1..4)).prop_map(
        |(number, name, (code, country), day, items)| Sale {
            number,
            name,
            postal_code: code.to_owned(),
            country,
            day,
            items,
        },
    )
}

fn style() -> impl Strategy<Value = Style> {
    let one = (
        prop::sample::select(vec![',', ';', '\t', '|']),
        prop::sample::select(vec!['.', ',']),
        prop::sample::select(vec!["", "x", " ", "\u{A0}", "\u{202F}", "'", "\u{2019}"]),
        prop::sample::select(vec!["n", "$n", "n $", "USD n", "US$ n"]),
        prop::sample::select(vec![DateOrder::Dmy, DateOrder::Mdy, DateOrder::Ymd]),
        0_usize..6,
    );
    let two = (
        prop::sample::select(vec!["n", "n.0", "nx", "n pcs", "×n", "n Stück", " n "]),
        prop::sample::select(vec!["n", "n.0", "'n", "=\"n\"", "n\u{200B}"]),
        any::<bool>(),
        any::<bool>(),
        0_usize..7,
    );
    (one, two).prop_map(|((delimiter, decimal, group, money, dates, day), (quantity, key, listed, beside, turn))| {
        Style { delimiter, decimal, group, money, dates, day, quantity, key, listed, beside, turn }
    })
}

impl Style {
    fn amount(&self, cents: i64) -> String {
        let mark = match (self.group, self.decimal) {
            ("x", ',') => ".",
            ("x", _) => ",",
            (group, _) => group,
        };
        let whole = (cents / 100).to_string();
        let groups: Vec<String> =
            whole.as_bytes().rchunks(3).rev().map(|group| String::from_utf8_lossy(group).into_owned()).collect();
        self.money.replace('n', &format!("{}{}{:02}", groups.join(mark), self.decimal, cents % 100))
    }

    fn day(&self, (y, m, d): (i16, i8, i8)) -> String {
        let at = jiff::civil::date(y, m, d);
        let serial = at.since(jiff::civil::date(1899, 12, 30)).unwrap().get_days();
        match (self.day, self.dates) {
            (0, _) => serial.to_string(),
            (1, _) => format!("{serial}.75"),
            (2, _) => at.to_string(),
            (3, _) => format!("{y}年{m}月{d}日"),
            (_, DateOrder::Dmy) => format!("{d}.{m}.{y} 08:15"),
            (_, DateOrder::Mdy) => format!("{m}/{d}/{y} 8:15 AM"),
            (_, DateOrder::Ymd) => format!("{y}-{m:02}-{d:02}T08:15:00"),
        }
    }

    /// Columns turned by some places, rows of orders and what stands beside them.
    fn table(&self, sales: &[Sale]) -> Vec<Vec<String>> {
        let head = ["Ref", "Name", "ZIP", "Land", "Taken on", "Pin", "Qty", "Each"];
        let mut rows = vec![head.map(str::to_owned).to_vec()];
        for sale in sales {
            let start = |items: String, quantity: String, each: String| {
                vec![
                    self.key.replace('n', &sale.number.to_string()),
                    sale.name.clone(),
                    sale.postal_code.trim_start_matches('0').to_owned(),
                    sale.country.to_owned(),
                    self.day(sale.day),
                    items,
                    quantity,
                    each,
                ]
            };
            if self.listed && sale.items.len() > 1 {
                let all: Vec<String> = sale.items.iter().map(|(code, count, _)| format!("{count} x {code}")).collect();
                rows.push(start(all.join("; "), String::new(), String::new()));
            } else {
                for (code, count, cents) in &sale.items {
                    rows.push(start(code.clone(), self.quantity.replace('n', &count.to_string()), self.amount(*cents)));
                }
            }
            if self.beside {
                rows.push(vec![String::new(); head.len()]);
            }
        }
        if self.beside {
            rows.push(["Total:", "", "", "", "", "", "99", "1"].map(str::to_owned).to_vec());
            rows.push(["Exported on some day", "", "", "", "", "", "", ""].map(str::to_owned).to_vec());
        }
        for row in &mut rows {
            row.rotate_left(self.turn);
        }
        rows
    }
}

fn written(rows: &[Vec<String>], delimiter: char) -> Vec<u8> {
    let mut csv = csv::WriterBuilder::new().delimiter(u8::try_from(delimiter).unwrap()).from_writer(Vec::new());
    for row in rows {
        csv.write_record(row).unwrap();
    }
    csv.into_inner().unwrap()
}

proptest! {
    #[test]
    fn any_table_in_any_style_reads_back_as_the_same_orders(
        sales in prop::collection::vec(sale(), 1..7),
        style in style(),
    ) {
        // An order has one number, and a line of it its own code.
        let sales: BTreeMap<u32, Sale> = sales.into_iter().map(|sale| (sale.number, sale)).collect();
        let mut sales: Vec<Sale> = sales.into_values().collect();
        for sale in &mut sales {
            sale.items.sort();
            sale.items.dedup_by(|one, other| one.0 == other.0);
        }
        let map = ColumnMap { decimal: style.decimal, dates: style.dates, ..order_book() };
        let rows = style.table(&sales);
        let reading = read_with(&written(&rows, style.delimiter), &[map]).unwrap();
        prop_assert_eq!(&reading.refused, &[], "{:?}", style);
        let counts = reading.rows;
        prop_assert_eq!(counts.read, counts.taken + counts.refused + counts.skipped);
        prop_assert_eq!(counts.read, rows.len() as u64 - 1);
        let mut read: Vec<Sale> = orders(&reading)
            .iter()
            .map(|order| {
                let day = order.placed_at.unwrap();
                let cents = |amount: Decimal| i64::try_from((amount * Decimal::from(100)).normalize().mantissa()).unwrap();
                let items = order.lines.iter().map(|line| {
                    // A list has no prices of its own.
                    let cents = line.unit_price.map_or(0, |price| cents(price.amount.round_dp(2)));
                    (line.code.clone().unwrap(), line.quantity, cents)
                });
                Sale {
                    number: order.id.number.parse().unwrap(),
                    name: order.recipient.name.clone(),
                    postal_code: order.recipient.postal_code.clone(),
                    country: order.recipient.country.unwrap().code(),
                    day: (day.year(), day.month(), day.day()),
                    items: items.collect(),
                }
            })
            .collect();
        read.sort();
        let without_prices = |mut sale: Sale| {
            if style.listed && sale.items.len() > 1 {
                sale.items.iter_mut().for_each(|item| item.2 = 0);
            }
            sale
        };
        let mut expected: Vec<Sale> = sales.into_iter().map(without_prices).collect();
        expected.sort();
        prop_assert_eq!(read, expected, "{:?}", style);
    }
}
