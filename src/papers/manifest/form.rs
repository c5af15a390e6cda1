//! The form of `manifest.json`, field by field: its JSON Schema is made of these types.
//!
//! Money is a decimal string, mass in grams to the tenth, length in millimetres, dates ISO 8601. Turned down: the
//! model's own types, which would tie readers outside to every change of a type inside.

use serde::Serialize;
use serde_json::Number;

/// A day, ISO 8601: `2026-11-25`.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(extend("format" = "date")))]
pub struct Day(pub String);

/// An exact decimal number: `4.10`.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(extend("pattern" = "^-?[0-9]+(\\.[0-9]+)?$")))]
pub struct Amount(pub String);

/// A day's plan: `dawnpack/manifest/1`.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Manifest {
    /// `dawnpack/manifest/1`. Fields may be added under this name, never dropped or renamed.
    pub schema: &'static str,
    /// Day of dispatch.
    pub date: Day,
    /// 1, or more for what came later on the same day.
    pub revision: u32,
    /// What sums are in, ISO 4217.
    pub currency: &'static str,
    /// New parcels, in packing order.
    pub parcels: Vec<Parcel>,
    /// Parcels of earlier days without a recorded hand-off. They are not among the parcels to pack.
    pub listed_earlier: Vec<Earlier>,
    /// Listed parcels that this plan takes off the list: they are unpacked, and what of them goes is due again.
    pub taken_off: Vec<TakenOff>,
    /// All that is held now.
    pub held: Vec<Held>,
    /// All open questions.
    pub questions: Vec<Question>,
    /// Rows and files refused since the manifest before.
    pub refused: Vec<Refused>,
    /// Files that wait in the inbox.
    pub waiting: Vec<Waiting>,
    /// Orders that were told otherwise since the manifest before.
    pub changed: Vec<Changed>,
    /// What reading files chose or mended since the manifest before.
    pub remarks: Vec<Remark>,
    /// Orders called off or paid back since the manifest before.
    pub called_off: Vec<CalledOff>,
    /// What the seller said, by command or by sheet, since the manifest before.
    pub said: Vec<Said>,
    /// Sealed parcels that weigh otherwise than planned, told once.
    pub scale: Vec<OnScale>,
    /// Masses that sealed parcels say should be put right; told on a week's first working day.
    pub masses: Vec<LearntMass>,
    /// Sums.
    pub totals: Totals,
}

/// Something that the seller said.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Said {
    /// When it was taken in: RFC 3339.
    pub at: String,
    /// `answered`, `held`, `released`, `cancelled`, `arrived`, and what of which, in words.
    pub text: String,
}

/// A parcel.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Parcel {
    /// What is written on it: `1125-01`.
    pub r#ref: String,
    /// Always false: a parcel is listed once.
    pub again: bool,
    /// Which part of how many, where what goes to one recipient needs several parcels: `[1, 2]`.
    pub part: Option<[u32; 2]>,
    /// To whom.
    pub recipient: Recipient,
    /// Orders that it answers: `stall:1001`.
    pub orders: Vec<String>,
    /// Trades that it answers: `T-0007`.
    pub trades: Vec<String>,
    /// What goes in.
    pub items: Vec<Item>,
    /// How it is wrapped.
    pub rolls: Vec<Roll>,
    /// Code of the mailer.
    pub mailer: String,
    /// Papers that go in: `invoice`, `note`, `gift`, `rest`.
    pub papers: Vec<&'static str>,
    /// The invoices among them.
    pub invoices: Vec<Invoice>,
    /// Orders of which this is a later part, and what it belongs to.
    pub belongs_to: Vec<Rest>,
    /// Expected mass.
    pub mass: Mass,
    /// Outer length, width and thickness, mm.
    pub size_mm: [Number; 3],
    /// Postage planned.
    pub postage: Postage,
    /// Value of the contents.
    pub value: Amount,
    /// Postage that was paid more than once and could be offered back.
    pub refund_offer: Option<Amount>,
    /// What a customs declaration needs; null at home.
    pub customs: Option<Customs>,
    /// Last day to hand over.
    pub ship_by: Day,
    /// The last day before it on which parcels are taken; null where they are on that day itself.
    pub hand_over_by: Option<Day>,
    /// That day is past.
    pub late: bool,
    /// What to heed.
    pub cautions: Vec<Caution>,
    /// How this came about, a sentence each.
    pub why: Vec<String>,
}

/// A recipient. The email stays out: no reader of a manifest needs it.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Recipient {
    /// Name.
    pub name: String,
    /// Company.
    pub company: Option<String>,
    /// Street lines.
    pub lines: Vec<String>,
    /// Town.
    pub city: String,
    /// State or region; may be empty.
    pub region: String,
    /// Postal code; may be empty.
    pub postal_code: String,
    /// Country, ISO 3166-1 alpha-2; null where it could not be read.
    pub country: Option<&'static str>,
    /// The country as the source wrote it, where it could not be read.
    pub country_as_written: Option<String>,
}

/// Some of an article.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Item {
    /// Article code.
    pub code: String,
    /// Title.
    pub title: String,
    /// How many.
    pub quantity: u32,
    /// `pin`, `carded`, `flat`, `other`.
    pub kind: &'static str,
    /// The order or trade that it goes for.
    pub r#for: String,
    /// Options the buyer chose.
    pub options: Option<String>,
    /// Shelf or drawer; may be empty.
    pub place: String,
}

/// One roll.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Roll {
    /// A code for each piece, as they lie on the strip.
    pub codes: Vec<String>,
    /// Width and length of the strip to cut, mm.
    pub wrap_mm: [Number; 2],
    /// Length, width and thickness when rolled, mm.
    pub size_mm: [Number; 3],
    /// Where to fold, from the strip's start, mm.
    pub folds_mm: Vec<Number>,
}

/// An invoice.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Invoice {
    /// Its number, counted up over the years.
    pub number: u32,
    /// The order.
    pub order: String,
    /// Day of issue.
    pub issued_on: Day,
}

/// What an order's later part belongs to.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Rest {
    /// The order.
    pub order: String,
    /// Number of the invoice that came with an earlier part; null where none did.
    pub invoice: Option<u32>,
    /// Parcels that earlier parts are in.
    pub after: Vec<String>,
}

/// An estimate of a mass.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Mass {
    /// Expected, g.
    pub mean_g: f64,
    /// Its standard deviation, g.
    pub sd_g: f64,
}

/// Postage planned.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Postage {
    /// Carrier.
    pub carrier: String,
    /// Code of the service.
    pub service: String,
    /// Weight to buy postage for.
    pub declared: Weight,
    /// Price.
    pub price: Amount,
    /// Zone, where the rate card has zones.
    pub zone: Option<String>,
    /// To weigh before buying: the estimate straddles a tier's edge.
    pub weigh_first: bool,
    /// That edge.
    pub edge: Option<Weight>,
    /// The next best service.
    pub next_best: Option<NextBest>,
    /// The price after the next rate card comes into force, where it is known.
    pub change_ahead: Option<ChangeAhead>,
    /// The price without what is bought with it and without surcharges.
    pub base: Option<Amount>,
    /// What is bought with it: a signature, insurance, surcharges.
    pub bought: Vec<Bought>,
}

/// Something bought with the postage.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Bought {
    /// `extra`, `insurance`, `surcharge`.
    pub what: &'static str,
    /// Its code on the rate card.
    pub code: String,
    /// Its price.
    pub price: Amount,
    /// Of insurance, the value up to which the carrier's band reaches.
    pub up_to: Option<Amount>,
}

/// A weight as postage is sold by it.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Weight {
    /// Decimal number.
    pub value: Amount,
    /// `g`, `kg`, `oz`, `lb`.
    pub unit: &'static str,
}

/// A service that was not chosen.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct NextBest {
    /// Its code.
    pub service: String,
    /// Its price.
    pub price: Amount,
}

/// A price that changes.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct ChangeAhead {
    /// First day of the new price.
    pub from: Day,
    /// The new price.
    pub price: Amount,
    /// How much dearer that is; below zero where it is cheaper, null where the two are in two currencies.
    pub difference: Option<Amount>,
}

/// What a customs declaration says.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Customs {
    /// The form to fill in: `cn22` or `cn23`.
    pub form: &'static str,
    /// Why that one.
    pub form_why: String,
    /// `sale-of-goods` or `other`; never a gift.
    pub category: &'static str,
    /// What the form asks for beside the category.
    pub explanation: Option<String>,
    /// Article by article.
    pub items: Vec<CustomsItem>,
    /// Sum of the net masses, g.
    pub net_g: f64,
    /// Sum of the values.
    pub value: Amount,
    /// Expected mass of the sealed parcel, g.
    pub gross_g: Option<f64>,
    /// Postage and what is bought with it.
    pub postal_charges: Option<Amount>,
}

/// One article of a declaration.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct CustomsItem {
    /// Detailed description.
    pub description: String,
    /// How many.
    pub quantity: u32,
    /// Net mass of all of them, g.
    pub net_g: f64,
    /// Value of all of them.
    pub value: Amount,
    /// Harmonized System heading.
    pub hs_code: Option<String>,
    /// Country of origin, ISO 3166-1 alpha-2.
    pub origin: Option<String>,
}

/// What to heed.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Caution {
    /// Which, such as `button-cell`.
    pub code: String,
    /// In a sentence.
    pub text: String,
}

/// A parcel of an earlier day without a recorded hand-off.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Earlier {
    /// Its old ref.
    pub r#ref: String,
    /// When it was listed.
    pub listed: Day,
    /// To whom.
    pub name: String,
    /// Last day to hand over; null in plans of versions that didn't note it.
    pub ship_by: Option<Day>,
    /// The last day on or before it on which parcels are taken.
    pub hand_over_by: Option<Day>,
    /// That day is past.
    pub late: bool,
    /// Why it doesn't go as it lies there, such as `do not send: see Q-0003`.
    pub heed: Option<String>,
}

/// A listed parcel that is taken off the list.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct TakenOff {
    /// Its ref.
    pub r#ref: String,
    /// When it was listed.
    pub listed: Day,
    /// To whom.
    pub name: String,
    /// Why.
    pub why: String,
    /// Orders and trades that lay in it.
    pub holds: Vec<String>,
}

/// An order or trade that is held.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Held {
    /// `stall:1002` or `T-0003`.
    pub id: String,
    /// For whom.
    pub name: String,
    /// `unpaid`, `theirs-first`, `stock`, `address`, `article`, `mass`, `no-service`, `seller`, `question`.
    pub reason: &'static str,
    /// Why, in a sentence, and what would release it.
    pub text: String,
    /// When it is released by itself, where it is.
    pub until: Option<Day>,
    /// Last day to hand over, where it is known.
    pub ship_by: Option<Day>,
}

/// A question.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Question {
    /// `Q-0003`.
    #[cfg_attr(test, schemars(extend("pattern" = "^Q-[0-9]{4,}$")))]
    pub id: String,
    /// What it is about, such as `same-recipient`.
    pub kind: &'static str,
    /// Orders and trades that wait for it.
    pub about: Vec<String>,
    /// The question.
    pub text: String,
    /// Answers it takes; empty where a file of the home is to be mended.
    pub choices: Vec<String>,
}

/// A row or file that could not be read.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Refused {
    /// File name as dropped.
    pub file: String,
    /// First line of the record, the file's first being 1; null for the whole file.
    pub line: Option<u64>,
    /// Header of the column, where one is to blame.
    pub column: Option<String>,
    /// What stood there.
    pub value: Option<String>,
    /// What is wrong and what to do.
    pub reason: String,
}

/// A file that waits in the inbox.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Waiting {
    /// Its name.
    pub file: String,
    /// Why, and what would let it in.
    pub why: String,
    /// Name of the column map that is proposed for it, where one is.
    pub proposal: Option<String>,
}

/// An order told otherwise than before.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Changed {
    /// `stall:1002`.
    pub id: String,
    /// To whom it goes.
    pub name: String,
    /// What is other than before, a line each.
    pub what: Vec<String>,
    /// The parcel it is in, where it is in one.
    pub parcel: Option<String>,
    /// Whether that parcel was handed over.
    pub handed_over: bool,
}

/// What reading a file chose or mended.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Remark {
    /// File name as dropped.
    pub file: String,
    /// First line of the record; null for the whole file.
    pub line: Option<u64>,
    /// Header of the column, where it is about one.
    pub column: Option<String>,
    /// What was done.
    pub text: String,
}

/// An order called off or paid back.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct CalledOff {
    /// `stall:1007`.
    pub id: String,
    /// The recipient's name.
    pub name: String,
    /// `cancelled` or `refunded`.
    pub state: &'static str,
    /// Parcels that it lies in and that are not handed over: they must not go.
    pub listed_in: Vec<String>,
    /// Parcels that it went in all the same, or went in before; told once.
    pub went_in: Vec<Went>,
}

/// A parcel that went.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Went {
    /// Its ref.
    pub r#ref: String,
    /// Day of hand-off.
    pub on: Day,
}

/// What the scale says of a sealed parcel.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct OnScale {
    /// Its ref.
    pub parcel: String,
    /// Mass that its manifest expected, g.
    pub planned_g: f64,
    /// Standard deviation of what was to be expected on the scale, g.
    pub sd_g: f64,
    /// What the scale showed, g.
    pub scale_g: f64,
    /// The likeliest explanation: `one-short`, `one-over`, `swapped`, `unexplained`.
    pub reading: &'static str,
    /// Article that it is about, where it is about one.
    pub code: Option<String>,
    /// The parcel it was swapped with, where it was.
    pub with: Option<String>,
    /// The same in a sentence, with the other explanations that can't be told apart from it.
    pub text: String,
}

/// A mass that sealed parcels taught.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct LearntMass {
    /// Article code, or `mailer` and the mailer's code.
    pub code: String,
    /// As the seller's file has it, g.
    pub mass_g: f64,
    /// Its standard deviation, g.
    pub mass_sd_g: f64,
    /// As the parcels have it, g.
    pub learnt_g: f64,
    /// Its standard deviation, g.
    pub learnt_sd_g: f64,
    /// Parcels that taught it.
    pub readings: u32,
}

/// Sums over the parcels.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Totals {
    /// How many.
    pub parcels: u32,
    /// Pieces in them.
    pub items: u32,
    /// Postage.
    pub postage: Amount,
    /// Expected mass, g.
    pub mass_g: f64,
}
