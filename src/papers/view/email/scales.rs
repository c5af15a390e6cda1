//! What the scale says, one line for each thing to look at.
//!
//! Handed findings; gives the likeliest slip and at most one other in words, and two parcels that tell of each other in
//! one line. Every explanation with its probability stands in the manifest. Turned down: percentages up here, which
//! nobody weighs at half past six.

use crate::model::scale::{Explanation, Finding, ScaleFinding};

/// What to do about it.
const LOOK: &str = "Look before it goes; if it has gone, tell the recipient.";

/// One finding, or two that speak of each other.
pub(super) fn line(finding: &ScaleFinding, other: Option<&ScaleFinding>) -> String {
    match other {
        Some(other) => format!(
            "{} is {} and {} {}: something of the one probably lies in the other. {LOOK}",
            finding.parcel,
            off(finding),
            other.parcel,
            off(other)
        ),
        None => format!("{} is {}: {}. {LOOK}", finding.parcel, off(finding), slip(finding)),
    }
}

/// `8 g light`.
fn off(finding: &ScaleFinding) -> String {
    let off = finding.scale.mass().as_f64() - finding.expected.mean_g;
    format!("{:.0} g {}", off.abs(), if off < 0.0 { "light" } else { "heavy" })
}

fn ways(finding: &ScaleFinding) -> impl Iterator<Item = &Explanation> {
    std::iter::once(&finding.likeliest).chain(&finding.also)
}

/// `probably one “PUFFIN” is missing, or one “GREY-LEDGE”`.
fn slip(finding: &ScaleFinding) -> String {
    let word = finding.likeliest.finding;
    let alike = ways(finding).filter(|way| way.finding == word).filter_map(|way| way.code.as_ref());
    let codes: Vec<String> = alike.take(2).map(|code| format!("one “{code}”")).collect();
    let (first, or) = match codes.as_slice() {
        [] => return "no usual slip explains it".to_owned(),
        [one] => (one, String::new()),
        [one, other, ..] => (one, format!(", or {other}")),
    };
    match word {
        Finding::OneShort => format!("probably {first} is missing{or}"),
        Finding::OneOver => format!("probably {first} is too many{or}"),
        Finding::Swapped => format!("probably {first} was swapped{or}"),
        Finding::AsPlanned | Finding::Unexplained => "no usual slip explains it".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use rust_decimal::Decimal;

    use super::*;
    use crate::model::catalogue::Code;
    use crate::model::mass::{Estimate, MassUnit, Weight};
    use crate::model::parcel::ParcelRef;
    use crate::plan::manifest;

    fn lines(findings: &[ScaleFinding]) -> Vec<String> {
        manifest::weighed(findings).into_iter().map(|(finding, other)| line(finding, other)).collect()
    }

    fn way(finding: Finding, code: &str, with: Option<&str>) -> Explanation {
        let with = with.map(|with| ParcelRef(with.to_owned()));
        Explanation { finding, code: Some(Code(code.to_owned())), theirs: None, with, probability: 0.5 }
    }

    fn found(parcel: &str, scale: i64, ways: &[Explanation]) -> ScaleFinding {
        let (likeliest, also) = ways.split_first().unwrap();
        let expected = Estimate { mean_g: 42.0, sd_g: 1.5 };
        ScaleFinding {
            parcel: ParcelRef(parcel.to_owned()),
            planned: expected,
            expected,
            scale: Weight::new(Decimal::from(scale), MassUnit::Gram),
            likeliest: likeliest.clone(),
            also: also.to_vec(),
            chances: Vec::new(),
        }
    }

    #[test]
    fn a_slip_is_told_with_what_is_as_likely() {
        let short =
            [way(Finding::OneShort, "A", None), way(Finding::OneShort, "B", None), way(Finding::OneShort, "C", None)];
        assert_eq!(
            lines(&[found("1125-01", 34, &short)]),
            [
                "1125-01 is 8 g light: probably one “A” is missing, or one “B”. Look before it goes; if it has gone, tell the \
              recipient."
            ]
        );
        let over = found("1125-02", 50, &[way(Finding::OneOver, "A", None)]);
        assert!(lines(&[over])[0].contains("8 g heavy: probably one “A” is too many. "));
        let strange = found("1125-02", 90, &[way(Finding::Unexplained, "A", None)]);
        assert!(lines(&[strange])[0].contains("48 g heavy: no usual slip explains it. "));
    }

    #[test]
    fn two_parcels_that_tell_of_each_other_take_one_line() {
        let light =
            found("1125-04", 34, &[way(Finding::OneShort, "A", None), way(Finding::Swapped, "A", Some("1125-08"))]);
        let heavy = found("1125-08", 50, &[way(Finding::OneOver, "A", None)]);
        let alone = found("1125-09", 50, &[way(Finding::OneOver, "B", None)]);
        let lines = lines(&[light, heavy, alone]);
        assert_eq!(lines.len(), 2);
        assert!(
            lines[0].starts_with(
                "1125-04 is 8 g light and 1125-08 8 g heavy: something of the one probably lies in the other."
            ),
            "{lines:?}"
        );
    }
}
