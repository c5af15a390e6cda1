//! From a group that may share a parcel to parcels: rolls, mailer, mass, postage, papers.
//!
//! One parcel where one mailer and one service take it all; else as many pieces as they take, and the rest in
//! the next: "1 of 2". Two parcels are always the fewest, as one didn't take it all; where it comes to three, the
//! largest pieces are also tried first, and the fewer parcels taken. Turned down: splitting by order, which pays two
//! postages where one mailer was too full by a single pin.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use rust_decimal::Decimal;

use crate::model::catalogue::{Article, Contents, Kind};
use crate::model::customs::Declaration;
use crate::model::day::HoldReason;
use crate::model::mass::{Estimate, Mass};
use crate::model::money::{Currency, Money};
use crate::model::parcel::{Caution, For, Invoice, Item, MailerUsed, Paper, Parcel, ParcelRef, Piece, Postage, Rest};
use crate::model::scale::Confidence;
use crate::model::sending::SendingId;
use crate::model::subject::Subject;
use crate::plan::snapshot::Rules;
use crate::plan::{customs, mailers, postage, rolls, weighing};

use super::clearance::{Clear, Deed};
use super::questions::Questions;
use super::sharing::Shared;
use super::{NoParcel, hand_off_day};

/// An invoice has no number until its parcel has its place in the day.
pub(super) const UNNUMBERED: u32 = 0;

/// A piece and the place of its item in the group.
struct Unit<'a> {
    item: usize,
    article: &'a Article,
    piece: Piece,
}

/// Pieces with everything reckoned for them.
struct Packed<'m> {
    choice: mailers::Choice<'m>,
    /// How rolls and mailer came about.
    why: Vec<String>,
    mass: Estimate,
    postage: Postage,
    value: Money,
}

pub(super) fn pack(
    shared: &Shared,
    rules: &Rules<'_>,
    date: Date,
    taken: &mut BTreeMap<String, u32>,
    questions: &mut Questions<'_>,
) -> Result<Vec<Parcel>, NoParcel> {
    let group = shared.deeds.as_slice();
    let Some(first) = fullest(group) else { return Ok(Vec::new()) };
    let items: Vec<&Item> = group.iter().flat_map(|clear| &clear.items).collect();
    let units = units(&items, rules);
    declare(group, &items, rules, questions)?;
    let mut largest_first;
    let mut split = split(&units, &items, group, rules, date, taken)?;
    if split.parts.len() > 2 {
        largest_first = self::units(&items, rules);
        largest_first.sort_by_key(|unit| std::cmp::Reverse(unit.piece.width.mm() * unit.piece.height.mm()));
        if let Ok(other) = self::split(&largest_first, &items, group, rules, date, taken)
            && other.parts.len() < split.parts.len()
        {
            split = other;
        }
    }
    let Split { parts, taken: trial } = split;
    // Supplies are only counted down once the whole group is packed.
    *taken = trial;
    let count = u32::try_from(parts.len()).unwrap_or(u32::MAX);
    // A paper goes with the first part that carries anything of its order or trade.
    let mut papered = BTreeSet::new();
    let parcels = parts.into_iter().zip(1..).map(|((units, packed), part)| {
        let part = (count > 1).then_some((part, count));
        parcel(shared, first, &items, units, packed, part, rules, date, &mut papered)
    });
    Ok(parcels.collect())
}

/// A group in parcels, and what is taken of each mailer with them.
struct Split<'u, 'm> {
    parts: Vec<(&'u [Unit<'u>], Packed<'m>)>,
    taken: BTreeMap<String, u32>,
}

/// As many pieces in each parcel as it takes, in their order.
fn split<'u, 'm>(
    units: &'u [Unit<'u>],
    items: &[&Item],
    group: &[Clear],
    rules: &Rules<'m>,
    date: Date,
    taken: &BTreeMap<String, u32>,
) -> Result<Split<'u, 'm>, NoParcel> {
    let mut split = Split { parts: Vec::new(), taken: taken.clone() };
    let mut rest = units;
    while !rest.is_empty() {
        let (count, packed) = most(rest, items, group, rules, date, &split.taken)?;
        *split.taken.entry(packed.choice.mailer.code.clone()).or_default() += 1;
        let (these, others) = rest.split_at(count);
        split.parts.push((these, packed));
        rest = others;
    }
    Ok(split)
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

fn units<'a>(items: &[&Item], rules: &Rules<'a>) -> Vec<Unit<'a>> {
    let mut units = Vec::new();
    for (index, item) in items.iter().enumerate() {
        // Clearance found each article with its sizes and mass; what it didn't find never comes here.
        let Some(article) = rules.catalogue.get(&item.code) else { continue };
        let Some(piece) = piece(article) else { continue };
        for _ in 0..item.quantity {
            units.push(Unit { item: index, article, piece: piece.clone() });
        }
    }
    units
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

/// The largest number of leading pieces that make one parcel, and that parcel. Fewer pieces always fit where
/// more do, so the edge is found by halving.
fn most<'m>(
    units: &[Unit<'_>],
    items: &[&Item],
    group: &[Clear],
    rules: &Rules<'m>,
    date: Date,
    taken: &BTreeMap<String, u32>,
) -> Result<(usize, Packed<'m>), NoParcel> {
    let attempt = |count: usize| try_pack(&units[..count], items, group, rules, date, taken);
    let (mut fits, mut best) = match attempt(units.len()) {
        Ok(packed) => return Ok((units.len(), packed)),
        Err(_) => (1, attempt(1)?),
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

fn try_pack<'m>(
    units: &[Unit<'_>],
    items: &[&Item],
    group: &[Clear],
    rules: &Rules<'m>,
    date: Date,
    taken: &BTreeMap<String, u32>,
) -> Result<Packed<'m>, NoParcel> {
    let no = |text: String| NoParcel { reason: HoldReason::NoService, text };
    let pieces: Vec<Piece> = units.iter().map(|unit| unit.piece.clone()).collect();
    let Some(first) = fullest(group) else { return Err(no("nothing to pack".to_owned())) };
    let value = value(units, items, group, rules);
    let contains: BTreeSet<Contents> = units.iter().filter_map(|unit| unit.article.contains).collect();
    let posted = |choice: &mailers::Choice<'m>| {
        let contents = weighing::Contents {
            pieces: &pieces,
            rolls: &choice.rolls,
            mailer: choice.mailer,
            sheets: u32::try_from(group.len()).unwrap_or(u32::MAX),
            reused_tape: choice.mailer.reused,
        };
        let mass = weighing::estimate(&contents, rules.packing);
        let ask = postage::Ask {
            mass,
            size: choice.size,
            pins: units.iter().any(|unit| unit.article.kind != Kind::Flat),
            contains: &contains,
            from: rules.country,
            to: first.recipient.country.unwrap_or(rules.country),
            postal_code: &first.recipient.postal_code,
            value,
            day: hand_off_day(rules, date),
            declare_with: rules.packing.declare_with,
            rules: rules.postage,
        };
        postage::planned(&ask, rules.cards).map(|postage| (mass, postage))
    };
    let ranked = mailers::rank(&pieces, rules.packing, rules.mailers, taken);
    let mut none = None;
    let mut best: Option<(usize, &mailers::Choice<'m>, Estimate, Postage)> = None;
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
            Err(no_service) => none = none.or(Some(no_service.to_string())),
        }
    }
    let packed = best.map(|(place, choice, mass, postage)| {
        let mut why = rolls::why(&choice.rolls, &pieces, rules.packing);
        why.extend(ranked.why(place));
        Packed { choice: choice.clone(), why, mass, postage, value }
    });
    packed.ok_or_else(|| {
        no(none.unwrap_or_else(|| {
            "no mailer on hand takes it; add a larger one to mailers.csv, or count on_hand up".to_owned()
        }))
    })
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

fn value(units: &[Unit<'_>], items: &[&Item], group: &[Clear], rules: &Rules<'_>) -> Money {
    units
        .iter()
        .filter_map(|unit| items.get(unit.item)?.unit_value)
        .fold(Money::zero(currency(group, rules)), |sum, value| sum.checked_add(value).unwrap_or(sum))
}

/// Whether a parcel abroad can be declared; asked once for the whole group, before anything is packed.
fn declare(group: &[Clear], items: &[&Item], rules: &Rules<'_>, questions: &mut Questions<'_>) -> Result<(), NoParcel> {
    if !group.iter().any(|clear| goes_abroad(clear, rules)) {
        return Ok(());
    }
    let Err(missing) = declaration(group, items.iter().copied(), rules) else { return Ok(()) };
    let text = missing.join("; ");
    for clear in group {
        let subject = Subject::Customs { lacks: text.clone() };
        questions.ask(subject, clear.id().into(), format!("for customs: {text}"), Vec::new());
    }
    Err(NoParcel { reason: HoldReason::Question, text: format!("goes abroad, and the declaration lacks: {text}") })
}

fn goes_abroad(clear: &Clear, rules: &Rules<'_>) -> bool {
    clear.recipient.country.is_some_and(|country| country != rules.country)
}

/// The declaration of `items`, which are all of a group's or those of one of its parcels.
fn declaration<'i>(
    group: &[Clear],
    items: impl Iterator<Item = &'i Item>,
    rules: &Rules<'_>,
) -> Result<Declaration, Vec<String>> {
    let contents: Vec<customs::Content<'_>> = items
        .filter_map(|item| {
            let deed = match item.for_ {
                For::Order { .. } => customs::Deed::Sale,
                For::Trade { .. } => customs::Deed::Trade,
            };
            let article = rules.catalogue.get(&item.code)?;
            Some(customs::Content { article, quantity: item.quantity, unit_value: item.unit_value, deed })
        })
        .collect();
    customs::declaration(&contents, currency(group, rules))
}

/// The declaration of a packed parcel, on the form that its value asks for.
fn on_its_form(
    declaration: Declaration,
    mass: Estimate,
    postage: &Postage,
    rules: &Rules<'_>,
    date: Date,
) -> Declaration {
    let (form, form_why) = customs::choose(&customs::Choice {
        value: declaration.value,
        gross: postage::heaviest(mass, rules.packing.declare_with),
        sdr: rules.postage.sdr,
        day: hand_off_day(rules, date),
        service: postage.customs_form,
    });
    Declaration { form, form_why, gross_g: Some(mass.mean_g), postal_charges: Some(postage.price), ..declaration }
}

fn currency(group: &[Clear], rules: &Rules<'_>) -> Currency {
    group.first().map_or(rules.currency, |clear| clear.currency)
}

#[expect(clippy::too_many_arguments, reason = "one place where all that was reckoned for a parcel meets")]
fn parcel(
    shared: &Shared,
    first: &Clear,
    items: &[&Item],
    units: &[Unit<'_>],
    packed: Packed<'_>,
    part: Option<(u32, u32)>,
    rules: &Rules<'_>,
    date: Date,
    papered: &mut BTreeSet<SendingId>,
) -> Parcel {
    let group = shared.deeds.as_slice();
    let mut counts: BTreeMap<usize, u32> = BTreeMap::new();
    for unit in units {
        *counts.entry(unit.item).or_default() += 1;
    }
    let items: Vec<Item> = counts
        .into_iter()
        .filter_map(|(index, quantity)| items.get(index).map(|item| Item { quantity, ..(*item).clone() }))
        .collect();
    let here = |clear: &&Clear| items.iter().any(|item| item.for_.id() == clear.id());
    let deeds: Vec<&Clear> = group.iter().filter(here).collect();
    let papering: Vec<&Clear> = deeds.iter().copied().filter(|clear| papered.insert(clear.id())).collect();
    let soonest = deeds.iter().min_by_key(|clear| clear.hand_over_by).copied().unwrap_or(first);
    let customs = goes_abroad(first, rules)
        .then(|| declaration(group, items.iter(), rules).ok())
        .flatten()
        .map(|declaration| on_its_form(declaration, packed.mass, &packed.postage, rules, date));
    let contains: BTreeSet<Contents> = units.iter().filter_map(|unit| unit.article.contains).collect();
    let mut why = why(&deeds, &shared.reasons, soonest, &packed, part, rules.packing.declare_with);
    why.extend(customs.iter().map(|declared| format!("customs: {}, as {}", declared.form.title(), declared.form_why)));
    let mut cautions = cautions(&contains, customs.is_some(), &deeds);
    cautions.extend(value_not_compared(packed.value, rules));
    Parcel {
        r#ref: ParcelRef(String::new()),
        recipient: first.recipient.clone(),
        orders: deeds.iter().filter_map(|clear| clear.order().cloned()).collect(),
        trades: deeds.iter().filter_map(|clear| clear.trade()).collect(),
        papers: papering.iter().map(|clear| clear.paper()).collect::<BTreeSet<Paper>>().into_iter().collect(),
        invoices: papering.iter().filter_map(|clear| clear.invoice(date)).collect(),
        rests: papering.iter().filter_map(|clear| clear.rest()).collect(),
        items,
        part,
        rolls: packed.choice.rolls,
        mailer: MailerUsed {
            code: packed.choice.mailer.code.clone(),
            title: packed.choice.mailer.title.clone(),
            reused: packed.choice.mailer.reused,
        },
        mass: packed.mass,
        size: packed.choice.size,
        postage: packed.postage,
        value: packed.value,
        cautions,
        customs,
        ship_by: soonest.ship_by,
        hand_over_by: (soonest.hand_over_by != soonest.ship_by).then_some(soonest.hand_over_by),
        late: soonest.hand_over_by < hand_off_day(rules, date),
        refund_offer: refund_offer(&deeds, part),
        why,
    }
}

/// What buyers paid for postage beyond the largest single charge, where several orders share one parcel. Of an order
/// in several parcels the charge counts with the first.
fn refund_offer(deeds: &[&Clear], part: Option<(u32, u32)>) -> Option<Money> {
    if part.is_some_and(|(this, _)| this > 1) {
        return None;
    }
    // What was charged for an order counts with its first part, whichever day that went.
    let first_parts = deeds.iter().filter(|clear| clear.rest().is_none());
    let charged: Vec<Money> = first_parts.filter_map(|clear| clear.order()?.postage_charged).collect();
    let largest = charged.iter().copied().max_by(|a, b| a.amount.cmp(&b.amount))?;
    let all = charged.iter().skip(1).try_fold(*charged.first()?, |sum, charge| sum.checked_add(*charge))?;
    let twice = all.amount - largest.amount;
    (twice > Decimal::ZERO).then(|| Money::new(twice, largest.currency))
}

fn cautions(contains: &BTreeSet<Contents>, abroad: bool, deeds: &[&Clear]) -> Vec<Caution> {
    let mut cautions: Vec<Caution> = contains
        .iter()
        .map(|contents| Caution {
            code: contents.code().to_owned(),
            text: match contents {
                Contents::ButtonCell => {
                    "holds a button cell: dangerous if swallowed, keep from children; carriers restrict batteries, \
                     check the carrier's current rules before posting"
                }
                Contents::Magnet => {
                    "holds a magnet: dangerous if swallowed, keep from children and pacemakers; carriers restrict \
                     magnets by air, check the carrier's current rules before posting"
                }
            }
            .to_owned(),
        })
        .collect();
    let formerly: BTreeSet<&String> = deeds.iter().flat_map(|clear| clear.formerly_in()).collect();
    if !formerly.is_empty() {
        let refs: Vec<&str> = formerly.into_iter().map(String::as_str).collect();
        cautions.push(Caution {
            code: "packed-anew".to_owned(),
            text: format!(
                "lay in {} before, which is cancelled: unpack that, and throw its card and papers away",
                refs.join(" and ")
            ),
        });
    }
    if abroad {
        cautions.push(Caution {
            code: "customs".to_owned(),
            text: "goes abroad: check the declaration against the carrier's current rules and the law there; a sale \
                   is never declared a gift"
                .to_owned(),
        });
    }
    cautions
}

/// Signature and insurance aren't bought on a comparison that can't be made: the seller is told.
fn value_not_compared(value: Money, rules: &Rules<'_>) -> Option<Caution> {
    let limits = [rules.postage.signature_above, rules.postage.insure_above];
    let limit = limits.into_iter().flatten().find(|limit| limit.currency != value.currency)?;
    Some(Caution {
        code: "value-currency".to_owned(),
        text: format!(
            "worth {} {}, which can't be compared with your rules in {}: decide on a signature and insurance yourself",
            value.plain(),
            value.currency,
            limit.currency
        ),
    })
}

fn why(
    deeds: &[&Clear],
    reasons: &[String],
    soonest: &Clear,
    packed: &Packed<'_>,
    part: Option<(u32, u32)>,
    declare_with: Confidence,
) -> Vec<String> {
    let mut why = Vec::new();
    if let [_, _, ..] = deeds {
        let ids: Vec<String> = deeds.iter().map(|clear| clear.id().to_string()).collect();
        why.push(format!("together: {} are for one recipient", ids.join(", ")));
        why.extend(reasons.iter().cloned());
    }
    if let Some((part, of)) = part {
        why.push(format!("part {part} of {of}: one mailer or service doesn't take it all"));
    }
    why.extend(packed.why.iter().cloned());
    why.extend(weighing::tiers::why(packed.mass, &packed.postage, declare_with));
    why.extend(packed.postage.why.iter().cloned());
    why.push(soonest.ship_by_why.clone());
    for clear in deeds {
        why.extend(clear.wish.iter().map(|words| format!("{} by itself: the note says \"{words}\"", clear.id())));
        why.extend(clear.why.iter().cloned());
    }
    why
}

impl Clear {
    /// An order of which a part went before has its invoice already: its later part says which.
    fn paper(&self) -> Paper {
        match &self.deed {
            Deed::Order(due) if due.order.gift => Paper::Gift,
            Deed::Order(due) if due.already_in.is_empty() => Paper::Invoice,
            Deed::Order(_) => Paper::Rest,
            Deed::Trade(_) => Paper::Note,
        }
    }

    /// What its order's later part belongs to, where a part of it went before.
    fn rest(&self) -> Option<Rest> {
        match &self.deed {
            Deed::Order(due) if !due.already_in.is_empty() => {
                Some(Rest { order: due.order.id.clone(), invoice: due.invoice.clone(), after: due.already_in.clone() })
            }
            Deed::Order(_) | Deed::Trade(_) => None,
        }
    }

    /// The invoice it has, or one still without its number: a number is given out once.
    fn invoice(&self, issued_on: Date) -> Option<Invoice> {
        match &self.deed {
            Deed::Order(due) if self.paper() == Paper::Invoice => {
                let new = || Invoice { number: UNNUMBERED, order: due.order.id.clone(), issued_on };
                Some(due.invoice.clone().unwrap_or_else(new))
            }
            Deed::Order(_) | Deed::Trade(_) => None,
        }
    }

    /// Cancelled parcels that it lay in.
    fn formerly_in(&self) -> &[String] {
        match &self.deed {
            Deed::Order(due) => &due.formerly_in,
            Deed::Trade(due) => &due.formerly_in,
        }
    }

    fn order(&self) -> Option<&crate::model::order::Order> {
        match &self.deed {
            Deed::Order(due) => Some(&due.order),
            Deed::Trade(_) => None,
        }
    }

    fn trade(&self) -> Option<(crate::model::trade::TradeId, crate::model::trade::Trade)> {
        match &self.deed {
            Deed::Trade(due) => Some((due.id, due.trade.clone())),
            Deed::Order(_) => None,
        }
    }
}
