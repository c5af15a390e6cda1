//! One service's word on one parcel: its price, or every reason why not.

use std::fmt::Write;

use super::{Ask, Offer, bounds, extras};
use crate::model::mass::Mass;
use crate::model::money::Money;
use crate::model::rates::{Price, RateCard, Service, Tier};

/// What `service` of `card` says to a parcel of `mass`. All that speaks against it is told, not only the first.
pub(super) fn of(card: &RateCard, service: &Service, mass: Mass, ask: &Ask<'_>) -> Offer {
    let mut offer = Offer {
        carrier: card.carrier.clone(),
        service: service.code.clone(),
        title: service.title.clone(),
        serves: true,
        lawful: false,
        price: None,
        base: None,
        bought: Vec::new(),
        tier: None,
        zone: None,
        tracked: service.tracked,
        days: service.days,
        customs_form: service.declaration,
        why: Vec::new(),
    };
    if let Some(elsewhere) = not_on_this_way(card, service, ask) {
        offer.serves = false;
        offer.why.push(elsewhere);
        return offer;
    }
    offer.why = bounds::against(service, mass, ask);
    offer.zone = zone(service, ask.postal_code);
    let priced = tier(service, mass, ask).and_then(|tier| Ok((tier, price(tier, &offer, ask)?)));
    let (tier, base) = match priced {
        Ok(priced) => priced,
        Err(reason) => {
            offer.why.push(reason);
            return offer;
        }
    };
    let on_top = extras::of(service, mass, ask);
    let Some(price) = on_top.bought.iter().try_fold(base, |sum, bought| sum.checked_add(bought.price)) else {
        offer.why.push("its prices add up to more than can be reckoned with".to_owned());
        return offer;
    };
    offer.price = Some(price);
    offer.base = Some(base);
    offer.tier = Some(tier.up_to);
    offer.lawful = offer.why.is_empty();
    if offer.lawful {
        offer.why = price_lines(tier, &offer, base, on_top.why, price);
    }
    offer.bought = on_top.bought;
    offer
}

fn price_lines(tier: &Tier, offer: &Offer, base: Money, on_top: Vec<String>, price: Money) -> Vec<String> {
    let mut line = format!("up to {}", tier.up_to);
    if let Some(volume) = tier.up_to_volume {
        let _ = write!(line, " and {} l", volume.litres().round_dp(2).normalize());
    }
    if let Some(zone) = &offer.zone {
        let _ = write!(line, ", zone {zone}");
    }
    let _ = write!(line, ": {}", base.plain());
    let sum = (price != base).then(|| format!("in all {}", price.plain()));
    std::iter::once(line).chain(on_top).chain(sum).collect()
}

/// Why the service doesn't go from here to there at all. `"*"` is every country that no other service posted here of
/// the card names, and not the one it is posted in.
fn not_on_this_way(card: &RateCard, service: &Service, ask: &Ask<'_>) -> Option<String> {
    if service.from != ask.from {
        return Some(format!("is posted in {}, and you post in {}", service.from, ask.from));
    }
    let from_here = || card.services.iter().filter(|other| other.from == ask.from);
    let named = || from_here().any(|other| other.to.named.contains(&ask.to));
    let goes = service.to.named.contains(&ask.to) || (service.to.elsewhere && ask.to != service.from && !named());
    (!goes).then(|| format!("does not go to {}", ask.to))
}

/// The first tier that holds mass and, where the price goes by volume, box.
fn tier<'s>(service: &'s Service, mass: Mass, ask: &Ask<'_>) -> Result<&'s Tier, String> {
    let volume = ask.size.volume();
    let holds_box = |tier: &Tier| tier.up_to_volume.is_none_or(|most| volume <= most);
    let by_mass = |tier: &&Tier| mass <= tier.up_to.mass();
    service.tiers.iter().filter(by_mass).find(|tier| holds_box(tier)).ok_or_else(|| match service.tiers.last() {
        Some(last) if mass > last.up_to.mass() => format!("over its last tier of {}", last.up_to),
        Some(last) => match last.up_to_volume {
            Some(most) => format!("larger than its last tier of {} l", most.litres().round_dp(2).normalize()),
            None => format!("over its last tier of {}", last.up_to),
        },
        None => "has no tiers".to_owned(),
    })
}

fn price(tier: &Tier, offer: &Offer, ask: &Ask<'_>) -> Result<Money, String> {
    match (&tier.price, &offer.zone) {
        (Price::Flat(price), _) => Ok(*price),
        (Price::ByZone(prices), Some(zone)) => {
            prices.get(zone).copied().ok_or_else(|| format!("up to {} it has no price for zone {zone}", tier.up_to))
        }
        (Price::ByZone(_), None) if ask.postal_code.trim().is_empty() => {
            Err("goes by zone, and there is no postal code".to_owned())
        }
        (Price::ByZone(_), None) => Err(format!("no zone for postal code `{}`", ask.postal_code)),
    }
}

/// The zone of the longest prefix that the postal code starts with.
fn zone(service: &Service, postal_code: &str) -> Option<String> {
    let code = bare(postal_code);
    let fits = service.zones.iter().filter(|(prefix, _)| code.starts_with(&bare(prefix)));
    fits.max_by_key(|(prefix, _)| bare(prefix).len()).map(|(_, zone)| zone.clone())
}

/// Spaces, hyphens and case don't count: codes are written with and without them.
pub(super) fn bare(code: &str) -> String {
    code.chars().filter(|c| c.is_alphanumeric()).collect::<String>().to_uppercase()
}
