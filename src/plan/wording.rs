//! Whether two lines of an order are one in two wordings.
//!
//! Handed two lines as their source wrote them at two times; promises that only what no seller would look at twice is
//! taken for one line: letters' case, spaces and signs, and a code beside the title or not. All else is asked
//! (`manifest::clearance`). Turned down: likeness by letters, as `GULL-RED` and `GULL-BED` may be two articles; and the
//! same code with another title, which may be another variant of one article.

use crate::model::order::OrderLine;

use super::likeness::folded;

/// Whether `one` and `other` are surely one line. Its price counts where the words don't say it all.
#[must_use]
pub fn is_one_line(one: &OrderLine, other: &OrderLine) -> bool {
    let options = |line: &OrderLine| line.options.as_deref().map(folded).unwrap_or_default();
    if options(one) != options(other) {
        return false;
    }
    let (title, other_title) = (folded(&one.title), folded(&other.title));
    match (one.code.as_deref().map(folded), other.code.as_deref().map(folded)) {
        (Some(a), Some(b)) => a == b && title == other_title,
        (None, None) => title == other_title,
        (Some(code), None) => is_named(&code, &title, &other_title) && costs_alike(one, other),
        (None, Some(code)) => is_named(&code, &other_title, &title) && costs_alike(one, other),
    }
}

/// Whether what has no code has the other's title, or its code for a title.
fn is_named(code: &str, title: &str, without_code: &str) -> bool {
    without_code == title || (title.is_empty() && without_code == code)
}

/// Whether what both say of the article agrees; what one leaves out contradicts nothing.
#[must_use]
pub fn agree(one: &OrderLine, other: &OrderLine) -> bool {
    fn same(one: Option<&str>, other: Option<&str>) -> bool {
        let said = |text: Option<&str>| text.map(folded).filter(|text| !text.is_empty());
        said(one).zip(said(other)).is_none_or(|(a, b)| a == b)
    }
    same(one.code.as_deref(), other.code.as_deref())
        && same(Some(&one.title), Some(&other.title))
        && same(one.options.as_deref(), other.options.as_deref())
}

/// As many, for as much where both say it.
#[must_use]
pub fn costs_alike(one: &OrderLine, other: &OrderLine) -> bool {
    one.quantity == other.quantity && one.unit_price.zip(other.unit_price).is_none_or(|(a, b)| a == b)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(code: Option<&str>, title: &str, options: Option<&str>, quantity: u32) -> OrderLine {
        OrderLine {
            line: "k".into(),
            code: code.map(str::to_owned),
            title: title.into(),
            options: options.map(str::to_owned),
            quantity,
            unit_price: None,
        }
    }

    #[test]
    fn case_spaces_signs_and_a_codes_presence_make_no_other_line() {
        let puffin = line(Some("PUFFIN"), "Puffin", None, 1);
        for (other, one) in [
            (line(Some("puffin"), "puffin ", None, 2), true),
            (line(None, "Puffin", None, 1), true),
            (line(None, "Puffin", None, 2), false),
            (line(Some("PUFFIN"), "Atlantic puffin", None, 1), false),
            (line(Some("PUFFIN"), "Puffin", Some("red"), 1), false),
            (line(Some("GANNET"), "Puffin", None, 1), false),
            (line(None, "", None, 1), false),
        ] {
            assert_eq!(is_one_line(&puffin, &other), one, "{other:?}");
            assert_eq!(is_one_line(&other, &puffin), one, "{other:?}, turned");
        }
        assert!(is_one_line(&line(Some("BELL-BUOY"), "", None, 1), &line(None, "bell buoy", None, 1)));
    }
}
