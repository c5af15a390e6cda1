//! From a group that may share a parcel to parcels: rolls, mailer, mass, postage, papers.
//!
//! One parcel where one mailer and one service take it all; else as many pieces as they take, and the rest in
//! the next: "1 of 2". Two parcels are always the fewest, as one didn't take it all; where it comes to three, the
//! largest pieces are also tried first, and the fewer parcels taken. What is handed on is a [`Draft`] of each parcel,
//! which becomes one with its place in the day. Turned down: splitting by order, which pays two postages where one mailer
//! was too full by a single pin.

mod border;
mod draft;
mod worth;

use std::collections::{BTreeMap, BTreeSet};

use crate::model::catalogue::{Article, Code, Contents, Kind};
use crate::model::day::{Held, HoldReason, TakenOff};
use crate::model::mass::{Estimate, Mass};
use crate::model::money::{Currency, Money};
use crate::model::parcel::{Item, Piece, Postage};
use crate::model::sending::SendingId;
use crate::plan::snapshot::Rules;
use crate::plan::{mailers, postage, rolls, weighing};

use super::clearance::Clear;
use super::questions::Questions;
use super::sharing::Shared;
use super::{NoParcel, Round, Today};

pub(super) use draft::Draft;
use worth::Worth;

/// A piece and the place of its item in the group.
struct Unit<'a> {
    item: usize,
    article: &'a Article,
    piece: Piece,
}

/// Pieces with everything reckoned for them.
struct Packed<'a> {
    choice: mailers::Choice<'a>,
    /// How rolls and mailer came about.
    why: Vec<String>,
    mass: Estimate,
    postage: Postage,
    worth: Worth,
}

/// A group at the packing table.
struct Packer<'a> {
    shared: &'a Shared,
    /// Of several ways of writing the one recipient, the one that says most.
    first: &'a Clear,
    items: Vec<&'a Item>,
    /// What the group's values are in.
    currency: Currency,
    rules: &'a Rules<'a>,
    today: Today,
    /// Parcels that are unpacked today.
    taken_off: &'a [TakenOff],
}

/// The parcels of a group; `taken` counts the mailers that they take.
pub(super) fn pack<'a>(
    shared: &'a Shared,
    round: Round<'a>,
    taken: &mut BTreeMap<String, u32>,
    questions: &mut Questions<'_>,
) -> Result<Vec<Draft<'a>>, NoParcel> {
    let Some(packer) = Packer::of(shared, round) else { return Ok(Vec::new()) };
    packer.declare(questions)?;
    packer.pack(taken)
}

/// Of a group that can't go as it is: smaller groups that may, and what is held. An order or trade that can't go by
/// itself either is held alone, and the others go without it; where each can go by itself, each does.
pub(super) fn without_what_can_not_go(
    shared: Shared,
    no: &NoParcel,
    round: Round<'_>,
    taken: &BTreeMap<String, u32>,
    questions: &mut Questions<'_>,
) -> (Vec<Shared>, Vec<Held>) {
    let Shared { deeds, reasons } = shared;
    if let [only] = deeds.as_slice() {
        return (Vec::new(), vec![only.held(no.reason, no.text.clone())]);
    }
    let (mut go, mut held) = (Vec::new(), Vec::new());
    for clear in deeds {
        let alone = Shared { deeds: vec![clear], reasons: Vec::new() };
        let why_not = pack(&alone, round, &mut taken.clone(), questions).err();
        match why_not {
            None => go.extend(alone.deeds),
            Some(no) => held.extend(alone.deeds.iter().map(|clear| clear.held(no.reason, no.text.clone()))),
        }
    }
    let groups = if held.is_empty() {
        go.into_iter().map(|clear| Shared { deeds: vec![clear], reasons: Vec::new() }).collect()
    } else if go.is_empty() {
        Vec::new()
    } else {
        vec![Shared { deeds: go, reasons }]
    };
    (groups, held)
}

/// A group in parcels, and what is taken of each mailer with them.
struct Split<'u, 'a> {
    parts: Vec<(&'u [Unit<'a>], Packed<'a>)>,
    taken: BTreeMap<String, u32>,
}

impl<'a> Packer<'a> {
    /// `None` of a group of nothing.
    fn of(shared: &'a Shared, round: Round<'a>) -> Option<Self> {
        let Round { rules, today, taken_off } = round;
        let group = shared.deeds.as_slice();
        let first = fullest(group)?;
        let items = group.iter().flat_map(|clear| &clear.items).collect();
        // One group is in one currency.
        Some(Self { shared, first, items, currency: first.currency, rules, today, taken_off })
    }

    fn group(&self) -> &'a [Clear] {
        &self.shared.deeds
    }

    fn pack(self, taken: &mut BTreeMap<String, u32>) -> Result<Vec<Draft<'a>>, NoParcel> {
        let units = self.units();
        let mut largest_first;
        let mut split = self.split(&units, taken)?;
        if split.parts.len() > 2 {
            largest_first = self.units();
            largest_first.sort_by_key(|unit| std::cmp::Reverse(unit.piece.width.mm() * unit.piece.height.mm()));
            if let Ok(other) = self.split(&largest_first, taken)
                && other.parts.len() < split.parts.len()
            {
                split = other;
            }
        }
        let Split { parts, taken: trial } = split;
        // Supplies are only counted down once the whole group is packed.
        *taken = trial;
        let count = u32::try_from(parts.len()).unwrap_or(u32::MAX);
        // Each part has a paper for each order and trade in it; the invoice goes with the first.
        let mut begun = BTreeSet::new();
        let drafts = parts.into_iter().zip(1..).map(|((units, packed), part)| {
            let part = (count > 1).then_some((part, count));
            Draft::of(&self, units, packed, part, &mut begun)
        });
        Ok(drafts.collect())
    }

    /// As many pieces in each parcel as it takes, in their order.
    fn split<'u>(&self, units: &'u [Unit<'a>], taken: &BTreeMap<String, u32>) -> Result<Split<'u, 'a>, NoParcel> {
        let mut split = Split { parts: Vec::new(), taken: taken.clone() };
        let mut rest = units;
        while !rest.is_empty() {
            let (count, packed) = self.most(rest, &split.taken)?;
            *split.taken.entry(packed.choice.mailer.code.clone()).or_default() += 1;
            let (these, others) = rest.split_at(count);
            split.parts.push((these, packed));
            rest = others;
        }
        Ok(split)
    }

    fn units(&self) -> Vec<Unit<'a>> {
        let mut units = Vec::new();
        for (index, item) in self.items.iter().enumerate() {
            // Clearance found each article with its sizes and mass; what it didn't find never comes here.
            let Some(article) = self.rules.catalogue.get(&item.code) else { continue };
            let Some(piece) = piece(article) else { continue };
            for _ in 0..item.quantity {
                units.push(Unit { item: index, article, piece: piece.clone() });
            }
        }
        units
    }

    /// The papers that go with `units`: one for each order and trade among them.
    fn sheets(&self, units: &[Unit<'_>]) -> u32 {
        let ids = units.iter().filter_map(|unit| Some(self.items.get(unit.item)?.for_.id()));
        u32::try_from(ids.collect::<BTreeSet<SendingId>>().len()).unwrap_or(u32::MAX)
    }

    /// The largest number of leading pieces that make one parcel, and that parcel. Where one fits, the edge is found by
    /// halving; where one is too little, as of a service that asks for a least thickness, from all of them down. Turned
    /// down: all numbers of pieces where one fits as well, for a service that a few pieces are too heavy for and still too
    /// thin for the next: hours for a large group, to save a parcel by a set of rate cards that nobody has.
    fn most(&self, units: &[Unit<'a>], taken: &BTreeMap<String, u32>) -> Result<(usize, Packed<'a>), NoParcel> {
        let attempt = |count: usize| self.attempt(&units[..count], taken);
        if let Ok(packed) = attempt(units.len()) {
            return Ok((units.len(), packed));
        }
        let (mut fits, mut best) = match attempt(1) {
            Ok(one) => (1, one),
            Err(Unfit::Mailer(code)) => return Err(Unfit::Mailer(code).into()),
            Err(no) => {
                let fewer = (2..units.len()).rev().find_map(|count| Some((count, attempt(count).ok()?)));
                return fewer.ok_or_else(|| no.into());
            }
        };
        let mut too_many = units.len();
        while too_many - fits > 1 {
            let middle = usize::midpoint(fits, too_many);
            match attempt(middle) {
                Ok(packed) => (fits, best) = (middle, packed),
                Err(_) => too_many = middle,
            }
        }
        Ok((fits, best))
    }

    /// All of `units` in one parcel, in the mailer that comes cheapest with its postage.
    fn attempt(&self, units: &[Unit<'a>], taken: &BTreeMap<String, u32>) -> Result<Packed<'a>, Unfit> {
        let rules = self.rules;
        let pieces: Vec<Piece> = units.iter().map(|unit| unit.piece.clone()).collect();
        let sheets = self.sheets(units);
        let worth = Worth::of(units, &self.items, self.currency);
        let contains: BTreeSet<Contents> = contents(units);
        let posted = |choice: &mailers::Choice<'a>| {
            let mailer = choice.mailer;
            let contents = weighing::Contents { pieces: &pieces, rolls: &choice.rolls, mailer, sheets };
            let mass = weighing::estimate(&contents, rules.packing);
            let ask = postage::Ask {
                mass,
                size: choice.size,
                pins: units.iter().any(|unit| unit.article.kind != Kind::Flat),
                contains: &contains,
                from: rules.country,
                to: self.first.recipient.country.unwrap_or(rules.country),
                postal_code: &self.first.recipient.postal_code,
                value: worth.known,
                day: self.today.hand_off,
                declare_with: rules.packing.declare_with,
                rules: rules.postage,
            };
            let postage = postage::planned(&ask, rules.cards).map_err(|none| none.to_string())?;
            // The day's postage is one sum.
            match Money::sum([postage.price], rules.currency) {
                Ok(_) => Ok((mass, postage)),
                Err(other) => Err(format!("`{}` costs postage that can't be summed: {other}", postage.service)),
            }
        };
        let ranked = mailers::rank(&pieces, rules.packing, rules.mailers, taken);
        let mut none = None;
        let mut best: Option<(usize, &mailers::Choice<'a>, Estimate, Postage)> = None;
        for (place, choice) in ranked.choices.iter().enumerate() {
            match posted(choice) {
                Ok((mass, postage)) => {
                    let is_best = best
                        .as_ref()
                        .is_none_or(|(_, before, _, paid)| cheaper((choice, &postage), (before, paid), rules.currency));
                    if is_best {
                        best = Some((place, choice, mass, postage));
                    }
                }
                Err(no_service) => none = none.or(Some(no_service)),
            }
        }
        let Some((place, choice, mass, postage)) = best else {
            let code = units.first().map(|unit| unit.article.code.clone());
            return Err(none.map_or(Unfit::Mailer(code), Unfit::Service));
        };
        let mut why = rolls::why(&choice.rolls, &pieces, rules.packing);
        why.extend(ranked.why(place));
        Ok(Packed { choice: choice.clone(), why, mass, postage, worth })
    }
}

fn contents(units: &[Unit<'_>]) -> BTreeSet<Contents> {
    units.iter().filter_map(|unit| unit.article.contains).collect()
}

/// Of several ways of writing one recipient, the one that says most: a flat's number that another left out.
fn fullest(group: &[Clear]) -> Option<&Clear> {
    let letters = |clear: &Clear| {
        let to = &clear.recipient;
        let parts = to.lines.iter().chain(&to.company).chain([&to.name, &to.city, &to.region, &to.postal_code]);
        parts.map(|part| part.chars().filter(|c| c.is_alphanumeric()).count()).sum::<usize>()
    };
    group.iter().reduce(|most, clear| if letters(clear) > letters(most) { clear } else { most })
}

fn piece(article: &Article) -> Option<Piece> {
    let (width, height) = article.face()?;
    Some(Piece {
        code: article.code.clone(),
        kind: article.kind,
        width,
        height,
        thickness: article.thickness?,
        share: article.roll_share,
        mass: article.mass?,
        mass_sd: article.mass_sd.unwrap_or(Mass::ZERO),
    })
}

/// Why pieces don't make one parcel.
enum Unfit {
    /// No mailer on hand takes them, the first of which is this article: nor will it take more.
    Mailer(Option<Code>),
    /// A mailer does, and no service takes that; why.
    Service(String),
}

impl From<Unfit> for NoParcel {
    fn from(unfit: Unfit) -> Self {
        let text = match unfit {
            Unfit::Mailer(code) => format!(
                "no mailer on hand takes {}; add a larger one to mailers.csv, or count on_hand up",
                code.map_or_else(|| "it".to_owned(), |code| format!("`{code}`"))
            ),
            Unfit::Service(why) => why,
        };
        Self { reason: HoldReason::NoService, text }
    }
}

/// Whether a mailer with its postage comes to less than another that is ranked before it. Postage in another
/// currency than mailers cost can't be summed with them, and the rank stands.
fn cheaper(a: (&mailers::Choice<'_>, &Postage), b: (&mailers::Choice<'_>, &Postage), currency: Currency) -> bool {
    let sum = |(choice, postage): (&mailers::Choice<'_>, &Postage)| {
        // Where nothing says what mailers cost, postage alone decides.
        let cost = choice.cost.amount();
        (cost.is_none(), cost.unwrap_or_default() + postage.price.amount)
    };
    [a.1, b.1].iter().all(|postage| postage.price.currency == currency) && sum(a) < sum(b)
}

#[cfg(test)]
mod tests;
