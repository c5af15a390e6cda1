//! What is paid on top of a tier's price: surcharges, a signature, insurance.
//!
//! Handed a service and a parcel; promises each thing with its price and the reason it is there. Nothing is bought
//! that neither the rate card nor the seller's rules ask for, and insurance only ever by the seller's rule, from the
//! card's bands. What a band covers is the carrier's to say, so the lines say "insurance up to", and no more.

use rust_decimal::Decimal;

use super::{Above, Ask, bounds, offer};
use crate::model::mass::Mass;
use crate::model::money::Money;
use crate::model::parcel::{Bought, BoughtKind};
use crate::model::rates::{InsuranceBand, Service, Surcharge, When};

/// The code by which a rate card names the extra that `signature_above` buys.
pub(super) const SIGNATURE: &str = "signature";
const INSURANCE: &str = "insurance";

/// All that is on top, and a line on each.
#[derive(Default)]
pub(super) struct OnTop {
    pub(super) bought: Vec<Bought>,
    pub(super) why: Vec<String>,
}

impl OnTop {
    fn add(&mut self, what: BoughtKind, code: &str, price: Money, up_to: Option<Money>, why: String) {
        self.bought.push(Bought { what, code: code.to_owned(), price, up_to });
        self.why.push(why);
    }
}

pub(super) fn of(service: &Service, mass: Mass, ask: &Ask<'_>) -> OnTop {
    let mut on_top = OnTop::default();
    for surcharge in surcharges(service, mass, ask) {
        let why = format!("surcharge {}: {}", surcharge.code, surcharge.price.plain());
        on_top.add(BoughtKind::Surcharge, &surcharge.code, surcharge.price, None, why);
    }
    let signature_rule = ask.rules.signature_above.filter(|limit| ask.is_above(*limit) == Above::Yes);
    for extra in &service.extras {
        let by_card = extra.above_value.filter(|limit| ask.is_above(*limit) == Above::Yes);
        let by_rule = signature_rule.filter(|_| extra.code == SIGNATURE);
        let reason = match (by_card, by_rule) {
            (Some(limit), _) => format!("as its value is above {}", limit.plain()),
            (None, Some(limit)) => format!("by your rule above {}", limit.plain()),
            (None, None) => continue,
        };
        let why = format!("with {} for {}, {reason}", extra.code, extra.price.plain());
        on_top.add(BoughtKind::Extra, &extra.code, extra.price, None, why);
    }
    insure(service, ask, &mut on_top);
    on_top
}

/// Those that apply, of each code the first.
fn surcharges<'s>(service: &'s Service, mass: Mass, ask: &Ask<'_>) -> Vec<&'s Surcharge> {
    let mut found: Vec<&Surcharge> = Vec::new();
    for surcharge in service.surcharges.iter().filter(|surcharge| applies(&surcharge.when, mass, ask)) {
        if !found.iter().any(|other| other.code == surcharge.code) {
            found.push(surcharge);
        }
    }
    found
}

fn applies(when: &When, mass: Mass, ask: &Ask<'_>) -> bool {
    let size = bounds::stood(ask.size);
    // Length by width, without a division: a side of nothing has no ratio.
    let against = |ratio: Decimal| (size.length.mm(), ratio * size.width.mm());
    let code = offer::bare(ask.postal_code);
    when.over_length.is_none_or(|least| size.length > least)
        && when.over_width.is_none_or(|least| size.width > least)
        && when.over_thickness.is_none_or(|least| size.thickness > least)
        && when.over_length_plus_girth.is_none_or(|least| bounds::length_plus_girth(size) > least)
        && when.over_volume.is_none_or(|least| size.volume() > least)
        && when.over_mass.is_none_or(|least| mass > least)
        && when.ratio_under.map(against).is_none_or(|(length, bound)| length < bound)
        && when.ratio_over.map(against).is_none_or(|(length, bound)| length > bound)
        && (when.contains.is_empty() || !when.contains.is_disjoint(ask.contains))
        && (when.prefixes.is_empty() || when.prefixes.iter().any(|prefix| code.starts_with(&offer::bare(prefix))))
        && (when.countries.is_empty() || when.countries.contains(&ask.to))
        && when.from.is_none_or(|from| ask.day >= from)
        && when.to.is_none_or(|to| ask.day <= to)
}

/// By the seller's rule the lowest band that holds the whole value; else the highest that costs nothing, which is part
/// of the service.
fn insure(service: &Service, ask: &Ask<'_>, on_top: &mut OnTop) {
    let asked = ask.rules.insure_above.filter(|limit| ask.is_above(*limit) == Above::Yes);
    let bands = &service.insurance;
    if let Some((limit, band)) = asked.and_then(|limit| Some((limit, band(bands, ask.value)?))) {
        let (price, up_to) = (band.1, band.0.up_to.plain());
        let why = if price.amount.is_zero() {
            format!("insurance up to {up_to} comes with it; the carrier's terms decide")
        } else {
            format!(
                "with insurance up to {up_to} for {}, by your rule above {}; the carrier's terms decide",
                price.plain(),
                limit.plain()
            )
        };
        on_top.add(BoughtKind::Insurance, INSURANCE, price, Some(band.0.up_to), why);
    } else if let Some(band) = bands.iter().rfind(|band| band.price.amount.is_zero() && band.steps.is_none()) {
        let why = format!("insurance up to {} comes with it; the carrier's terms decide", band.up_to.plain());
        on_top.add(BoughtKind::Insurance, INSURANCE, band.price, Some(band.up_to), why);
    }
}

/// The band that holds `value`, and what it costs there; `None` above the last.
pub(in crate::plan) fn band(bands: &[InsuranceBand], value: Money) -> Option<(&InsuranceBand, Money)> {
    let place =
        bands.iter().position(|band| band.up_to.currency == value.currency && value.amount <= band.up_to.amount)?;
    let band = bands.get(place)?;
    let Some(steps) = band.steps else { return Some((band, band.price)) };
    let edge =
        place.checked_sub(1).and_then(|before| bands.get(before)).map_or(Decimal::ZERO, |before| before.up_to.amount);
    // Every step that is begun is paid.
    let begun = (value.amount - edge).checked_div(steps.each.amount)?.ceil();
    let more = Money::new(steps.price.amount.checked_mul(begun)?, steps.price.currency);
    Some((band, band.price.checked_add(more)?))
}
