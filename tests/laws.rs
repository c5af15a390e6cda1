//! Laws that hold for any drops: nothing is lost, nothing is sent twice, the order of drops doesn't matter.

use std::collections::{BTreeMap, BTreeSet};

use dawnpack::model::day::DayPlan;
use dawnpack::run::{self, Files, When};
use jiff::civil::date;
use proptest::prelude::*;

use crate::desk::{Desk, NOW};

#[derive(Clone, Debug)]
struct Line {
    order: u32,
    code: &'static str,
    quantity: u32,
}

const HEAD: &str = "Slip,Taken on,Paid on,Standing,For whom,Door,Town,State,ZIP,Land,Pin code,How many,Each\n";
const CODES: [&str; 6] = ["PUFFIN", "EIDER", "LIGHTSHIP-9", "NO-SUCH-PIN", "OYSTERCATCHER", "HARBOUR-LAMP"];
const STATES: [&str; 4] = ["settled", "owing", "called off", "refunded"];

/// The rows of an order; who buys and how it stands follows from its number.
fn rows(lines: &[&Line]) -> String {
    let row = |line: &&Line| {
        let (buyer, state) = (line.order % 3, STATES[usize::try_from(line.order % 7 % 4).unwrap()]);
        format!(
            "{},11/23/2026,11/23/2026,{state},Buyer {buyer},{buyer} Heron Way,Brackwater,MA,01999,US,{},{},9.00\n",
            line.order, line.code, line.quantity
        )
    };
    lines.iter().map(row).collect()
}

fn plan(files: &[String]) -> (Desk, DayPlan) {
    let home = Desk::new();
    let when: When = NOW.parse().unwrap();
    let mut desk = run::Desk::open(&home.home(), &when).unwrap();
    for (number, text) in files.iter().enumerate() {
        // One at a time, so that the order is the one given.
        home.drop(&format!("drop-{number}.csv"), text.as_bytes());
        run::take_in(&mut desk, Files::Move, None).unwrap();
    }
    let (_, plan) = run::dry_run(&mut desk, date(2026, 11, 25)).unwrap();
    (home, plan)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn every_line_ends_in_one_place_whatever_the_order_of_drops(
        lines in prop::collection::vec((1_u32..12, 0_usize..6, 1_u32..4), 1..25),
        subset in any::<u32>(),
    ) {
        let mut seen = BTreeSet::new();
        let lines: Vec<Line> = lines
            .into_iter()
            .map(|(order, code, quantity)| Line { order, code: CODES[code], quantity })
            .filter(|line| seen.insert((line.order, line.code)))
            .collect();
        let part = |keep: bool| -> String {
            let some: Vec<&Line> = lines.iter().filter(|line| (subset >> line.order & 1 == 1) == keep).collect();
            format!("{HEAD}{}", rows(&some))
        };
        let all = format!("{HEAD}{}", rows(&lines.iter().collect::<Vec<_>>()));
        let (_home, first) = plan(&[part(true), part(false), all.clone()]);
        let (_other, second) = plan(&[all, part(false), part(true), part(false)]);
        prop_assert_eq!(&first, &second);

        let mut packed: BTreeMap<(String, String), u32> = BTreeMap::new();
        for item in first.parcels.iter().flat_map(|parcel| &parcel.items) {
            *packed.entry((item.for_.id().to_string(), item.code.0.clone())).or_default() += item.quantity;
        }
        for line in &lines {
            let id = format!("stall:{}", line.order);
            let in_parcel = packed.get(&(id.clone(), line.code.to_owned())).copied();
            let held = first.held.iter().filter(|held| held.id.to_string() == id).count();
            let off = first.called_off.iter().filter(|(off, _)| off.to_string() == id).count();
            let places = usize::from(in_parcel.is_some()) + held + off;
            prop_assert_eq!(places, 1, "{:?} is in {} places", line, places);
            if let Some(quantity) = in_parcel {
                prop_assert_eq!(quantity, line.quantity);
            }
        }
        prop_assert_eq!(first.totals.items, packed.values().sum::<u32>());
    }
}

/// An order's state only moves on: an old export dropped late brings no cancelled order back, whichever came first.
#[test]
fn an_old_export_brings_no_cancelled_order_back() {
    let row = |state: &str| {
        format!("{HEAD}7,11/23/2026,11/23/2026,{state},Ines,1 Quay,Brackwater,MA,01999,US,PUFFIN,1,9.00\n")
    };
    let (_home, late) = plan(&[row("called off"), row("settled")]);
    let (_other, early) = plan(&[row("settled"), row("called off")]);
    assert_eq!(late, early);
    assert!(
        late.parcels.is_empty() && late.called_off == [("stall:7".parse().unwrap(), "cancelled".to_owned())],
        "{late:?}"
    );
}
