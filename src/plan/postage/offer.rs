//! One service's word on one parcel: its price, or every reason why not.

use std::fmt::Write;

use super::{Ask, Offer};
use crate::model::length::{Length, Size};
use crate::model::mass::Mass;
use crate::model::money::Money;
use crate::model::rates::{Price, RateCard, Service, Shape};

/// What `service` of `card` says to a parcel of `mass`. All that speaks against it is told, not only the first.
pub(super) fn of(card: &RateCard, service: &Service, mass: Mass, ask: &Ask<'_>) -> Offer {
    let mut offer = Offer {
        carrier: card.carrier.clone(),
        service: service.code.clone(),
        title: service.title.clone(),
        lawful: false,
        price: None,
        tier: None,
        zone: None,
        tracked: service.tracked,
        why: Vec::new(),
    };
    if !goes_there(card, service, ask) {
        offer.why.push(format!("does not go to {}", ask.to));
        return offer;
    }
    offer.why = out_of_bounds(service, mass, ask);
    offer.zone = zone(service, ask.postal_code);
    let Some(tier) = service.tiers.iter().find(|tier| mass <= tier.up_to.mass()) else {
        offer.why.push(match service.tiers.last() {
            Some(last) => format!("over its last tier of {}", last.up_to),
            None => "has no tiers".to_owned(),
        });
        return offer;
    };
    let price = match &tier.price {
        Price::Flat(price) => Ok(*price),
        Price::ByZone(prices) => match &offer.zone {
            Some(zone) => {
                prices.get(zone).copied().ok_or_else(|| format!("up to {} it has no price for zone {zone}", tier.up_to))
            }
            None if ask.postal_code.trim().is_empty() => Err("goes by zone, and there is no postal code".to_owned()),
            None => Err(format!("no zone for postal code `{}`", ask.postal_code)),
        },
    };
    match price {
        Ok(price) => {
            let (price, with) = with_extras(service, price, ask);
            offer.price = Some(price);
            offer.tier = Some(tier.up_to);
            offer.lawful = offer.why.is_empty();
            if offer.lawful {
                let mut why = format!("up to {}", tier.up_to);
                if let Some(zone) = &offer.zone {
                    let _ = write!(why, ", zone {zone}");
                }
                offer.why.push(format!("{why}: {}", price.plain()));
                offer.why.extend(with);
            }
        }
        Err(reason) => offer.why.push(reason),
    }
    offer
}

/// `"*"` is every country that no other service of the card names, and not the one it is posted in.
fn goes_there(card: &RateCard, service: &Service, ask: &Ask<'_>) -> bool {
    let named = || card.services.iter().any(|other| other.to.named.contains(&ask.to));
    service.to.named.contains(&ask.to) || (service.to.elsewhere && ask.to != service.from && !named())
}

/// The zone of the longest prefix that the postal code starts with. Spaces, hyphens and case don't count: codes are
/// written with and without them.
fn zone(service: &Service, postal_code: &str) -> Option<String> {
    let bare = |code: &str| code.chars().filter(|c| c.is_alphanumeric()).collect::<String>().to_uppercase();
    let code = bare(postal_code);
    let fits = service.zones.iter().filter(|(prefix, _)| code.starts_with(&bare(prefix)));
    fits.max_by_key(|(prefix, _)| bare(prefix).len()).map(|(_, zone)| zone.clone())
}

/// Extras that the card buys unasked above a value. Insurance isn't among them: it is never bought in silence.
fn with_extras(service: &Service, price: Money, ask: &Ask<'_>) -> (Money, Vec<String>) {
    let mut with = Vec::new();
    let sum = service.extras.iter().fold(price, |sum, extra| {
        let above = extra.above_value.filter(|above| above.currency == ask.value.currency);
        match above.filter(|above| ask.value.amount > above.amount).zip(sum.checked_add(extra.price)) {
            Some((above, more)) => {
                with.push(format!(
                    "with {} for {}, as its value is above {}",
                    extra.code,
                    extra.price.plain(),
                    above.plain()
                ));
                more
            }
            None => sum,
        }
    });
    (sum, with)
}

fn out_of_bounds(service: &Service, mass: Mass, ask: &Ask<'_>) -> Vec<String> {
    let mut why = Vec::new();
    match service.shape {
        Shape::Letter | Shape::Flat if ask.pins => {
            why.push("pins are rigid and uneven: parcel only, never a letter or flat".to_owned());
        }
        Shape::Letter | Shape::Flat | Shape::Parcel => {}
    }
    for contents in service.refuses.intersection(ask.contains) {
        why.push(format!("does not carry {}", contents.code()));
    }
    // A tall box has its length upright: limits speak of the longest, the middle and the shortest side.
    let mut sides = [ask.size.length, ask.size.width, ask.size.thickness];
    sides.sort_unstable();
    let [thickness, width, length] = sides;
    let limits = &service.limits;
    let mut over = |value: Length, most: Option<Length>, what: &str| {
        if let Some(most) = most.filter(|most| value > *most) {
            why.push(format!("{what} {} mm, at most {} mm", value.mm().normalize(), most.mm().normalize()));
        }
    };
    over(length, limits.max_length, "length");
    over(width, limits.max_width, "width");
    over(thickness, limits.max_thickness, "thickness");
    over(length + girth(Size { length, width, thickness }), limits.max_length_plus_girth, "length plus girth");
    over(length + width + thickness, limits.max_sum, "length plus width plus thickness");
    let mut under = |value: Length, least: Option<Length>, what: &str| {
        if let Some(least) = least.filter(|least| value < *least) {
            why.push(format!("{what} {} mm, at least {} mm", value.mm().normalize(), least.mm().normalize()));
        }
    };
    under(length, limits.min_length, "length");
    under(width, limits.min_width, "width");
    if let Some(most) = limits.max_mass.filter(|most| mass > *most) {
        why.push(format!("{} g, at most {} g", mass.g().round_dp(1).normalize(), most.g().normalize()));
    }
    why
}

/// The way round, across the length.
fn girth(size: Size) -> Length {
    (size.width + size.thickness) * 2
}
