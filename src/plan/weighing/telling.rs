//! A finding of the scale, and a mass that was learnt, each in one sentence.
//!
//! Only what is worth a look is said in words; probabilities are in whole percent and never certain. Turned down: leaving
//! the words to the papers, which would have to know how explanations are ranked.

use std::fmt::Write;

use crate::model::scale::{Explanation, Finding, LearntMass, ScaleFinding};

/// `14 g lighter than expected (52 g, not 66 ± 3 g): likeliest one `GREY-LEDGE` short (74%), or one `BELL-BUOY` short
/// (22%)`. The spread is twice the standard deviation.
#[must_use]
pub fn tell(finding: &ScaleFinding) -> String {
    let (scale, expected) = (finding.scale.mass().as_f64(), finding.expected);
    let spread = (2.0 * expected.sd_g).ceil();
    let likeliest = &finding.likeliest;
    if likeliest.finding == Finding::AsPlanned {
        return format!("{scale:.0} g, as planned ({:.0} ± {spread:.0} g)", expected.mean_g);
    }
    let off = scale - expected.mean_g;
    let way = if off < 0.0 { "lighter" } else { "heavier" };
    let mut text = format!(
        "{:.0} g {way} than expected ({scale:.0} g, not {:.0} ± {spread:.0} g): likeliest {}",
        off.abs(),
        expected.mean_g,
        explanation(likeliest)
    );
    for way in &finding.also {
        let _ = write!(text, ", or {}", explanation(way));
    }
    text
}

fn explanation(way: &Explanation) -> String {
    let percent = (way.probability * 100.0).floor();
    let code = way.code.as_ref().map(|code| format!("one `{code}`")).unwrap_or_default();
    let what = match (way.finding, &way.with, &way.theirs) {
        (Finding::AsPlanned, ..) => "as planned".to_owned(),
        (Finding::OneShort, None, _) => format!("{code} short"),
        (Finding::OneShort, Some(with), _) => format!("{code} short, which lies in {with}"),
        (Finding::OneOver, None, _) => format!("{code} too many"),
        (Finding::OneOver, Some(with), _) => format!("{code} too many, which {with} lacks"),
        (Finding::Swapped, Some(with), Some(theirs)) => format!("{code} swapped with one `{theirs}` of {with}"),
        (Finding::Swapped, Some(with), None) => format!("changed places with {with}"),
        (Finding::Swapped, None, _) => "swapped".to_owned(),
        (Finding::Unexplained, ..) => "none of the usual slips".to_owned(),
    };
    format!("{what} ({percent:.0}%)")
}

/// `BELL-BUOY: 8.1 ± 0.1 g by 23 parcels, 7.4 g as it was written down`. The spread is one standard deviation.
impl std::fmt::Display for LearntMass {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (learnt, known) = (self.learnt, self.known);
        write!(
            f,
            "{}: {:.1} ± {:.1} g by {} parcels, {:.1} g as it was written down",
            self.thing, learnt.mean_g, learnt.sd_g, self.readings, known.mean_g
        )
    }
}

#[cfg(test)]
mod tests {
    use rust_decimal::dec;

    use super::*;
    use crate::model::catalogue::Code;
    use crate::model::mass::{Estimate, MassUnit, Weight};
    use crate::model::parcel::ParcelRef;
    use crate::model::scale::Thing;

    fn way(finding: Finding, code: Option<&str>, theirs: Option<&str>, with: bool, probability: f64) -> Explanation {
        let code_of = |code: &str| Code(code.to_owned());
        let with = with.then(|| ParcelRef("1125-02".to_owned()));
        Explanation { finding, code: code.map(code_of), theirs: theirs.map(code_of), with, probability }
    }

    fn found(likeliest: Explanation, also: Vec<Explanation>) -> String {
        tell(&ScaleFinding {
            parcel: ParcelRef("1125-01".to_owned()),
            planned: Estimate { mean_g: 66.0, sd_g: 1.4 },
            expected: Estimate { mean_g: 66.2, sd_g: 1.4 },
            scale: Weight::new(dec!(52), MassUnit::Gram),
            likeliest,
            also,
            chances: Vec::new(),
        })
    }

    #[test]
    fn every_explanation_has_its_words() {
        use Finding::{AsPlanned, OneOver, OneShort, Swapped, Unexplained};
        let short = way(OneShort, Some("A"), None, false, 0.748);
        let also = vec![way(OneShort, Some("B"), None, true, 0.2)];
        assert_eq!(
            found(short, also),
            "14 g lighter than expected (52 g, not 66 ± 3 g): likeliest one `A` short (74%), or one `B` short, which lies \
             in 1125-02 (20%)"
        );
        assert_eq!(found(way(AsPlanned, None, None, false, 0.9), Vec::new()), "52 g, as planned (66 ± 3 g)");
        for (way, words) in [
            (way(OneOver, Some("A"), None, false, 0.999), "one `A` too many (99%)"),
            (way(OneOver, Some("A"), None, true, 0.5), "one `A` too many, which 1125-02 lacks (50%)"),
            (way(Swapped, Some("A"), Some("B"), true, 0.5), "one `A` swapped with one `B` of 1125-02 (50%)"),
            (way(Swapped, None, None, true, 0.5), "changed places with 1125-02 (50%)"),
            (way(Unexplained, None, None, false, 0.5), "none of the usual slips (50%)"),
        ] {
            let told = found(way, Vec::new());
            assert_eq!(told, format!("14 g lighter than expected (52 g, not 66 ± 3 g): likeliest {words}"));
        }
    }

    #[test]
    fn a_learnt_mass_tells_its_evidence() {
        let learnt = LearntMass {
            thing: Thing::Mailer("A".to_owned()),
            known: Estimate { mean_g: 7.5, sd_g: 0.4 },
            learnt: Estimate { mean_g: 8.13, sd_g: 0.11 },
            readings: 23,
        };
        assert_eq!(learnt.to_string(), "mailer A: 8.1 ± 0.1 g by 23 parcels, 7.5 g as it was written down");
    }
}
