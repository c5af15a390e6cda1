//! A day for trying templates on: one of everything that a paper can show. It stands in the record's own form, so
//! that it can't drift from it.

use crate::model::day::DayPlan;
use crate::model::rules::Seller;

/// A seller and a plan. `None` only if the built-in record no longer fits the types, which a test would tell.
pub(super) fn day() -> Option<(Seller, DayPlan)> {
    serde_json::from_str(include_str!("sample.json")).ok()
}

#[cfg(test)]
mod tests {
    #[test]
    fn the_record_fits_the_types() {
        let (_, plan) = super::day().unwrap();
        assert!(plan.parcels.len() >= 3 && !plan.listed_earlier.is_empty() && !plan.expected.is_empty());
    }
}
