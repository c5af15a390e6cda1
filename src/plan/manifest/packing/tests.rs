//! From groups made by hand to parcels.

use jiff::civil::{Date, date};
use rust_decimal::{Decimal, dec};

use super::super::clearance::Deed;
use super::*;
use crate::model::calendar::{Holidays, WorkCalendar};
use crate::model::catalogue::{Catalogue, Code};
use crate::model::length::Length;
use crate::model::mailer::Mailer;
use crate::model::mass::{MassUnit, Weight};
use crate::model::order::{Order, OrderId, OrderLine, OrderState};
use crate::model::parcel::{For, Parcel, ParcelRef};
use crate::model::rates::{Destinations, Limits, Price, RateCard, Service, Shape, Tier};
use crate::model::recipient::Recipient;
use crate::model::rules::{PackingRules, PostageRules};
use crate::plan::snapshot::DueOrder;
use crate::plan::weighing::masses::Sealed;

const DAY: Date = date(2026, 11, 25);
const TODAY: Today = Today { date: DAY, hand_off: DAY };

fn mm(value: i64) -> Length {
    Length::from_mm(Decimal::from(value))
}

fn article(code: &str, kind: Kind, thickness: i64) -> Article {
    Article {
        code: Code(code.into()),
        title: code.into(),
        aliases: Vec::new(),
        kind,
        width: Some(mm(30)),
        height: Some(mm(30)),
        thickness: Some(mm(thickness)),
        mass: Some(Mass::from_g(dec!(8))),
        mass_sd: None,
        roll_share: dec!(1),
        card: None,
        contains: None,
        price: Some(Money::new(dec!(6), Currency::USD)),
        cost: None,
        on_hand: None,
        place: String::new(),
        customs_description: None,
        hs_code: None,
        origin: None,
    }
}

/// An order of `quantity` of one article, without a price of its own.
fn order(number: &str, code: &str, quantity: u32, currency: Currency) -> Clear {
    let recipient = Recipient {
        name: "Ines Okonjo".into(),
        company: None,
        lines: vec!["88 Tern Street Apt 4".into()],
        city: "Gullhaven".into(),
        region: "OR".into(),
        postal_code: "97099".into(),
        country: "US".parse().ok(),
        country_as_written: None,
        email: None,
    };
    let id = OrderId { source: "stall".into(), number: number.into() };
    let line = OrderLine {
        line: code.into(),
        code: Some(code.into()),
        title: code.into(),
        options: None,
        quantity,
        unit_price: None,
    };
    let item = Item {
        code: Code(code.into()),
        title: code.into(),
        quantity,
        kind: Kind::Pin,
        place: String::new(),
        for_: For::Order { order: id.clone(), line: code.into() },
        options: None,
        unit_value: Some(Money::new(dec!(6), Currency::USD)),
    };
    let order = Order {
        id,
        placed_at: Some(DAY),
        paid_at: Some(DAY),
        state: OrderState::Open,
        state_told: true,
        buyer: None,
        recipient: recipient.clone(),
        lines: vec![line],
        postage_charged: None,
        tax: None,
        discount: None,
        total: None,
        currency,
        gift: false,
        gift_message: None,
        note: None,
        ship_by: None,
        apart: false,
    };
    let due = DueOrder {
        order,
        ordered: BTreeMap::new(),
        never_listed: Vec::new(),
        lacks_invoice: false,
        all_lines: Vec::new(),
        already_in: Vec::new(),
        untold: Vec::new(),
        rivals: Vec::new(),
        formerly_in: Vec::new(),
        invoice: None,
    };
    Clear {
        deed: Deed::Order(Box::new(due)),
        recipient,
        items: vec![item],
        ship_by: DAY,
        hand_over_by: DAY,
        ship_by_why: String::new(),
        buyer: None,
        wish: None,
        why: Vec::new(),
        currency,
    }
}

fn card(limits: Limits) -> RateCard {
    let price = Price::Flat(Money::new(dec!(5.25), Currency::USD));
    let service = Service {
        code: "small".into(),
        title: "Small".into(),
        shape: Shape::Parcel,
        from: "US".parse().unwrap(),
        to: Destinations { named: ["US".parse().unwrap()].into(), elsewhere: false },
        tracked: true,
        days: None,
        tiers: vec![Tier { up_to: Weight::new(dec!(70), MassUnit::Pound), up_to_volume: None, price }],
        zones: BTreeMap::new(),
        limits,
        refuses: BTreeSet::new(),
        surcharges: Vec::new(),
        extras: Vec::new(),
        insurance: Vec::new(),
        declaration: None,
    };
    RateCard {
        file: "a.toml".into(),
        carrier: "Northline Post".into(),
        currency: Currency::USD,
        valid_from: date(2026, 7, 12),
        services: vec![service],
    }
}

fn packed(article: Article, deepest: i64, limits: Limits, deeds: Vec<Clear>) -> Vec<Parcel> {
    let catalogue = Catalogue::new([article]);
    let mailers = [Mailer {
        code: "A".into(),
        title: "small".into(),
        inner_width: mm(110),
        inner_length: mm(160),
        max_thickness: mm(deepest),
        tare: Mass::from_g(dec!(9)),
        cost: None,
        on_hand: None,
        reused: false,
    }];
    let calendar = WorkCalendar { work_days: [true; 7], holidays: Holidays::None, away: Vec::new() };
    let cards = [card(limits)];
    let rules = Rules {
        catalogue: &catalogue,
        mailers: &mailers,
        cards: &cards,
        packing: &PackingRules::USUAL,
        postage: &PostageRules::NONE,
        calendar: &calendar,
        post: &calendar,
        handling_days: 2,
        past_cut_off: None,
        currency: Currency::USD,
        country: "US".parse().unwrap(),
    };
    let asked = BTreeMap::new();
    let mut questions = Questions::new(&asked, 1);
    let shared = Shared { deeds, reasons: Vec::new() };
    let round = Round { rules: &rules, today: TODAY, taken_off: &[] };
    let drafts = pack(&shared, round, &mut BTreeMap::new(), &mut questions).map_err(|no| no.text).unwrap();
    let (mut invoice, numbers) = (7, 1..);
    drafts.into_iter().zip(numbers).fold(Vec::new(), |mut parcels, (draft, number)| {
        parcels.push(draft.numbered(ParcelRef::new(DAY, number), &mut invoice, &parcels));
        parcels
    })
}

/// The catalogue is priced in dollars: it doesn't say what was paid in euros, and nothing is worth nothing in silence.
#[test]
fn a_value_that_lacks_something_says_so() {
    let eur: Currency = "EUR".parse().unwrap();
    let parcels = packed(article("BELL", Kind::Pin, 10), 35, Limits::default(), vec![order("1", "BELL", 2, eur)]);
    let [parcel] = parcels.as_slice() else { panic!("{parcels:?}") };
    assert_eq!(parcel.value, Money::zero(eur));
    let said: Vec<(&str, &str)> =
        parcel.cautions.iter().map(|caution| (caution.code.as_str(), caution.text.as_str())).collect();
    assert_eq!(
        said,
        [(
            "value-unknown",
            "its value of 0.00 EUR lacks `BELL` (6.00 USD in catalogue.csv), of which no price in EUR is known: where a \
             value is asked for, write it by hand, and decide on a signature and insurance yourself"
        )]
    );
    let deeds = vec![order("1", "BELL", 2, Currency::USD)];
    let parcels = packed(article("BELL", Kind::Pin, 10), 35, Limits::default(), deeds);
    assert_eq!((parcels[0].value.plain().as_str(), parcels[0].cautions.len()), ("12.00", 0));
}

/// Each part has a paper for each order in it, and is planned with what is printed for it, as the scale's readings are
/// compared with that.
#[test]
fn each_part_is_planned_with_the_paper_that_goes_with_it() {
    let deeds = ["1", "2", "3"].map(|number| order(number, "BELL", 30, Currency::USD)).into();
    let parcels = packed(article("BELL", Kind::Pin, 10), 35, Limits::default(), deeds);
    assert!(parcels.len() > 3, "{}", parcels.len());
    let invoices: Vec<u32> = parcels.iter().flat_map(|parcel| &parcel.invoices).map(|invoice| invoice.number).collect();
    assert_eq!(invoices, [7, 8, 9]);
    for parcel in &parcels {
        let sealed = Sealed::of(parcel, &PackingRules::USUAL);
        let whole = sealed.packing.mean_g + 9.0 + 8.0 * f64::from(parcel.pieces());
        assert!((parcel.mass.mean_g - whole).abs() < 1e-9, "{} planned, {whole} printed", parcel.mass.mean_g);
    }
}

/// By hand: a bag 30 deep takes six flat things of 5; the service asks for 12, which is three of them. Of thirteen a
/// single one is too thin, all are too many: six, then seven are left, of which six go and one stays too thin.
#[test]
fn where_one_piece_is_too_thin_more_are_tried() {
    let limits = || Limits { min_thickness: Some(mm(12)), ..Limits::default() };
    let flats = |quantity| vec![order("1", "PRINT", quantity, Currency::USD)];
    let counts = |quantity| -> Vec<u32> {
        packed(article("PRINT", Kind::Flat, 5), 30, limits(), flats(quantity)).iter().map(Parcel::pieces).collect()
    };
    assert_eq!(counts(12), [6, 6]);
    assert_eq!(counts(15), [6, 6, 3]);
}
