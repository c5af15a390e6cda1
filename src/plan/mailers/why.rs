//! How a mailer came about, in the short lines that every parcel carries.

use rust_decimal::Decimal;

use super::{Choice, Cost, Ranked};
use crate::model::mailer::Mailer;
use crate::model::money::Money;

impl Ranked<'_> {
    /// Why the choice in this place was taken: the first for its cost, another as postage made up for it.
    #[must_use]
    pub fn why(&self, place: usize) -> Vec<String> {
        let (Some(taken), Some(first)) = (self.choices.get(place), self.choices.first()) else { return Vec::new() };
        let code = &taken.mailer.code;
        let load = load(taken);
        let main = if place > 0 {
            let dearer = dearer(first, taken).map_or_else(
                || format!("{} is no dearer, but no service takes it for as little", first.mailer.code),
                |by| format!("{} would cost {by} less, but no service takes it for as little", first.mailer.code),
            );
            format!("mailer {code}: with postage the cheapest that takes {load}; {dearer}")
        } else if let Some(next) = self.choices.get(1) {
            let reason = match (taken.cost, next.cost) {
                (Cost::Known(_), Cost::Known(_)) => match dearer(taken, next) {
                    Some(by) => format!("the cheapest that takes {load}; {} would cost {by} more", next.mailer.code),
                    None if taken.wrap < next.wrap => {
                        format!("takes {load}; {} costs as much and needs more wrap", next.mailer.code)
                    }
                    None => format!("takes {load}; {} costs as much", next.mailer.code),
                },
                (Cost::Known(_), Cost::Reckoned(_) | Cost::Unknown) => {
                    format!("takes {load}; the cost of {} isn't in mailers.csv", next.mailer.code)
                }
                (Cost::Reckoned(_) | Cost::Unknown, _) => {
                    format!(
                        "takes {load}; what it costs isn't in mailers.csv, and the next, {}, comes after it by size",
                        next.mailer.code
                    )
                }
            };
            format!("mailer {code}: {reason}")
        } else {
            format!("mailer {code}: the only one on hand that takes {load}")
        };
        let missed = |mailer: &&Mailer| format!("mailer {} would come first, but none is left", mailer.code);
        std::iter::once(main).chain(self.used_up.iter().map(missed)).collect()
    }
}

fn load(choice: &Choice<'_>) -> String {
    let what = match choice.rolls.len() {
        0 => "flat things".to_owned(),
        1 => "1 roll".to_owned(),
        rolls => format!("{rolls} rolls"),
    };
    let layers = if choice.layers > 1 { format!(", in {} layers", choice.layers) } else { String::new() };
    format!(
        "{what} ({} of {} mm thick{layers})",
        choice.size.thickness.mm().round_dp(1).normalize(),
        choice.mailer.max_thickness.mm().normalize()
    )
}

/// By how much `b` costs more than `a`, where both are known and it does.
fn dearer(a: &Choice<'_>, b: &Choice<'_>) -> Option<String> {
    let (a, b) = (a.mailer.cost?, b.mailer.cost?);
    let more = b.amount - a.amount;
    (more > Decimal::ZERO).then(|| Money::new(more, b.currency).plain())
}
