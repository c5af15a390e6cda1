//! What speaks against a service: shape, contents, sizes, and the seller's own rules.

use super::{Above, Ask};
use crate::model::length::{Length, Size};
use crate::model::mass::Mass;
use crate::model::rates::{Limits, Service, Shape};
use crate::plan::postage::extras;

/// Every reason why `service` may not take it; none where it may.
pub(super) fn against(service: &Service, mass: Mass, ask: &Ask<'_>) -> Vec<String> {
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
    sizes(&service.limits, ask.size, &mut why);
    if let Some(most) = service.limits.max_mass.filter(|most| mass > *most) {
        why.push(format!("{} g, at most {} g", mass.g().round_dp(1).normalize(), most.g().normalize()));
    }
    if let Some(most) = service.limits.max_value {
        match ask.is_above(most) {
            Above::Yes => why.push(format!("worth {}, at most {}", ask.value.plain(), most.plain())),
            Above::CannotTell => {
                why.push(format!(
                    "carries at most {} {}; the value is in {}",
                    most.plain(),
                    most.currency,
                    ask.value.currency
                ));
            }
            Above::No => {}
        }
    }
    sellers_rules(service, ask, &mut why);
    why
}

fn sizes(limits: &Limits, size: Size, why: &mut Vec<String>) {
    let stood = stood(size);
    let mut over = |value: Length, most: Option<Length>, what: &str| {
        if let Some(most) = most.filter(|most| value > *most) {
            why.push(format!("{what} {} mm, at most {} mm", value.mm().normalize(), most.mm().normalize()));
        }
    };
    over(stood.length, limits.max_length, "length");
    over(stood.width, limits.max_width, "width");
    over(stood.thickness, limits.max_thickness, "thickness");
    over(length_plus_girth(stood), limits.max_length_plus_girth, "length plus girth");
    over(stood.length + stood.width + stood.thickness, limits.max_sum, "length plus width plus thickness");
    let mut under = |value: Length, least: Option<Length>, what: &str| {
        if let Some(least) = least.filter(|least| value < *least) {
            why.push(format!("{what} {} mm, at least {} mm", value.mm().normalize(), least.mm().normalize()));
        }
    };
    under(stood.length, limits.min_length, "length");
    under(stood.width, limits.min_width, "width");
    under(stood.thickness, limits.min_thickness, "thickness");
}

/// What `[postage]` of dawnpack.toml asks for. Where the value is in another currency than a rule, it can't be told
/// whether it is above: tracking is asked for then, since it costs nothing but the choice; signature and insurance
/// are the seller's to decide, and the plan says so.
fn sellers_rules(service: &Service, ask: &Ask<'_>, why: &mut Vec<String>) {
    let rules = ask.rules;
    if let Some(limit) = rules.tracked_above.filter(|limit| !service.tracked && ask.is_above(*limit) != Above::No) {
        why.push(format!("has no tracking, which your rule asks for above {}", limit.plain()));
    }
    let unsigned = || !service.extras.iter().any(|extra| extra.code == extras::SIGNATURE);
    if let Some(limit) = rules.signature_above.filter(|limit| ask.is_above(*limit) == Above::Yes && unsigned()) {
        why.push(format!("offers no signature, which your rule asks for above {}", limit.plain()));
    }
    if let Some(limit) = rules.insure_above.filter(|limit| ask.is_above(*limit) == Above::Yes) {
        let rule = format!("your rule asks for the whole value above {}", limit.plain());
        match service.insurance.last() {
            None => why.push(format!("offers no insurance, and {rule}")),
            Some(last) if ask.value.amount > last.up_to.amount => {
                why.push(format!("its insurance ends at {}, and {rule}", last.up_to.plain()));
            }
            Some(_) => {}
        }
    }
    // Abroad, customs adds days that nobody promises.
    if let Some(most) = rules.max_days.filter(|_| ask.to == ask.from) {
        match service.days {
            None => why.push(format!("says no delivery days, and your rule asks for at most {most}")),
            Some(days) if days > most => {
                why.push(format!("takes up to {days} days, and your rule asks for at most {most}"));
            }
            Some(_) => {}
        }
    }
}

/// A tall box has its length upright: limits speak of the longest, the middle and the shortest side.
pub(super) fn stood(size: Size) -> Size {
    let mut sides = [size.length, size.width, size.thickness];
    sides.sort_unstable();
    let [thickness, width, length] = sides;
    Size { length, width, thickness }
}

/// Of a size that is [`stood`]: the length and the way round across it.
pub(super) fn length_plus_girth(stood: Size) -> Length {
    stood.length + (stood.width + stood.thickness) * 2
}
