//! Headers and state words without what varies from export to export.
//!
//! Handed what stands in a cell; promises its words without case, accents, punctuation, articles and the many ways
//! to write "number", and the currency that it names beside them. Two that fold alike are the same word of the
//! trade. Turned down: likeness by edit distance, by which "Order date" and "Order rate" are the same.

use unicode_normalization::UnicodeNormalization as _;
use unicode_normalization::char::is_combining_mark;

use crate::model::money::Currency;
use crate::model::text::one_line;

/// The words of a header.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct Folded {
    /// Small letters and digits of any script, without accents.
    pub(super) words: Vec<String>,
    /// What amounts below the header are in, where it says so: `Price (EUR)`.
    pub(super) currency: Option<Currency>,
}

impl Folded {
    /// The words in a row.
    pub(super) fn phrase(&self) -> String {
        self.words.join(" ")
    }
}

/// Ways to write "number" beside the name of what is numbered. "n" is only one beside another word.
const NUMBER: [&str; 10] = ["number", "no", "nr", "nbr", "num", "nummer", "numero", "numer", "id", "n"];
/// The same at the end of a compound.
const NUMBER_ENDINGS: [&str; 3] = ["nummer", "nr", "番号"];
/// Articles and prepositions that change nothing.
const LITTLE_WORDS: [&str; 38] = [
    "of", "the", "de", "du", "des", "d", "la", "le", "les", "l", "el", "los", "las", "del", "della", "dello", "dell",
    "delle", "dei", "di", "do", "da", "von", "der", "die", "das", "dem", "den", "vom", "van", "het", "au", "aux", "a",
    "al", "fur", "per", "s",
];
/// Units that stand in brackets behind a name.
const UNITS: [&str; 12] = ["g", "kg", "oz", "lb", "lbs", "mm", "cm", "in", "pcs", "stk", "szt", "円"];
/// Signs of currencies, which letters and digits are not.
const SIGNS: [&str; 12] = ["€", "$", "£", "¥", "zł", "zl", "kr", "us$", "円", "chf", "fr.", "税込"];

/// Folds a header or a state word.
pub(super) fn fold(text: &str) -> Folded {
    let mut currency = None;
    let composed: String = without_ordinal_points(&one_line(text)).nfkc().collect();
    let spaced = spaced(&joined_initials(&without_brackets(&composed, &mut currency)));
    let spaced =
        spaced.replace('#', " number ").replace('%', " percent ").replace('〒', " 郵便 ").replace(['&', '+'], " and ");
    let is_apart = |c: char| !c.is_alphanumeric() && !is_combining_mark(c);
    let as_written: Vec<&str> = spaced.split(is_apart).filter(|word| !word.is_empty()).collect();
    // `Preis in EUR`, `Total USD`. In small letters it is a word: `Mug cup`.
    let code = as_written.last().filter(|last| as_written.len() > 1 && last.bytes().all(|b| b.is_ascii_uppercase()));
    let code = code.filter(|code| code.len() == 3).and_then(|code| code.parse::<Currency>().ok());
    let words = as_written.iter().map(|word| word.to_lowercase());
    let mut words: Vec<String> = words.flat_map(|word| parted(&word)).map(|word| without_accents(&word)).collect();
    if code.is_some() {
        currency = currency.or(code);
        words.pop();
        words.pop_if(|word| matches!(word.as_str(), "in" | "en" | "w"));
    }
    // `Cena zł`: the one sign that is made of letters.
    words.pop_if(|word| as_written.len() > 1 && word == "zl");
    if let Some(at) = words.windows(2).position(|pair| pair == ["e", "mail"]) {
        words.splice(at..at + 2, ["email".to_owned()]);
    }
    if words.len() > 1 {
        for word in &mut words {
            if NUMBER.contains(&word.as_str()) {
                "number".clone_into(word);
            }
        }
        // `Ordine n.` is `numero ordine`.
        let (numbers, others): (Vec<String>, Vec<String>) = words.drain(..).partition(|word| word == "number");
        words = others;
        words.extend(numbers.into_iter().next());
    }
    // At the end they say that a day follows: "commandé le".
    let last = words.pop();
    words.retain(|word| !LITTLE_WORDS.contains(&word.as_str()));
    words.extend(last);
    Folded { words, currency }
}

/// `N.º` without the point, which would part the sign from its letter.
fn without_ordinal_points(text: &str) -> String {
    ["º", "ª", "°"].iter().fold(text.to_owned(), |text, sign| text.replace(&format!(".{sign}"), sign))
}

/// `C.P.` as one word: letters with a point behind each.
fn joined_initials(text: &str) -> String {
    let joined = text.split(' ').map(|word| {
        let letters: Vec<&str> = word.split('.').filter(|part| !part.is_empty()).collect();
        let is_initials = letters.len() > 1 && letters.iter().all(|part| part.chars().count() == 1);
        if is_initials { letters.concat() } else { word.to_owned() }
    });
    joined.collect::<Vec<_>>().join(" ")
}

/// Letters that Unicode takes for one with a mark lose it; a few others become what people write for them.
fn without_accents(word: &str) -> String {
    let plain = word.nfd().filter(|c| !is_combining_mark(*c)).collect::<String>();
    let spelt = [("ł", "l"), ("ß", "ss"), ("ø", "o"), ("æ", "ae"), ("œ", "oe")];
    spelt.iter().fold(plain, |word, (from, to)| word.replace(from, to))
}

/// A unit or currency in brackets is off; other words in them count like the rest.
fn without_brackets(text: &str, currency: &mut Option<Currency>) -> String {
    let mut kept = String::new();
    let mut rest = text;
    while let Some((before, inner, after)) = bracket(rest) {
        kept.push_str(before);
        let word = inner.trim().to_lowercase();
        if let Ok(code) = word.parse() {
            *currency = Some(code);
        } else if !UNITS.contains(&word.as_str()) && !SIGNS.contains(&word.as_str()) {
            kept.push(' ');
            kept.push_str(inner);
            kept.push(' ');
        }
        rest = after;
    }
    kept + rest
}

fn bracket(text: &str) -> Option<(&str, &str, &str)> {
    let (before, rest) = text.split_once(['(', '['])?;
    let (inner, after) = rest.split_once([')', ']'])?;
    Some((before, inner, after))
}

/// `orderNumber` and `SKUCode` as two words each, `Address1` as well.
fn spaced(text: &str) -> String {
    let letters: Vec<char> = text.chars().collect();
    let mut out = String::new();
    for (place, c) in letters.iter().copied().enumerate() {
        let before = place.checked_sub(1).and_then(|place| letters.get(place)).copied().unwrap_or(' ');
        let after = letters.get(place + 1).copied().unwrap_or(' ');
        let hump = c.is_uppercase() && (before.is_lowercase() || (before.is_uppercase() && after.is_lowercase()));
        // `注文No.`, where only the second word has cases.
        let scripts = c.is_ascii_alphabetic() && is_japanese(before) || is_japanese(c) && before.is_ascii_alphabetic();
        let digits = before.is_alphabetic() && c.is_ascii_digit() || before.is_ascii_digit() && c.is_alphabetic();
        if hump || scripts || digits {
            out.push(' ');
        }
        out.push(c);
    }
    out
}

/// Kana and the characters most words are written with (Unicode, blocks; from memory).
const fn is_japanese(c: char) -> bool {
    matches!(c, '\u{3040}'..='\u{30FF}' | '\u{4E00}'..='\u{9FFF}')
}

/// `bestellnummer` as two words; Japanese words without their polite and joining letters.
fn parted(word: &str) -> Vec<String> {
    let word = word.replace('の', "");
    let word = ["お", "ご", "御"].iter().find_map(|polite| word.strip_prefix(polite)).unwrap_or(&word);
    let ending = NUMBER_ENDINGS.iter().find_map(|ending| word.strip_suffix(ending));
    match ending {
        Some(stem) if !stem.is_empty() => vec![stem.to_owned(), "number".to_owned()],
        Some(_) => vec!["number".to_owned()],
        None => vec![word.to_owned()],
    }
}

/// A name of letters, digits and hyphens: small letters of any script, accents kept.
pub(super) fn slug(text: &str) -> String {
    let composed: String = one_line(text).nfkc().collect();
    let words = spaced(&composed).to_lowercase();
    let words: Vec<&str> = words.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    words.join("-")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spellings_of_one_header_fold_alike() {
        for (spellings, folded) in [
            (
                &["Order number", "ORDER_NO", "orderNumber", "Order #", "Order-ID", "order nr.", "Ｏｒｄｅｒ　Ｎｏ"][..],
                "order number",
            ),
            (&["Bestellnummer", "Bestell-Nr.", "BESTELLNR", "bestell_nummer"], "bestell number"),
            (
                &[
                    "Numéro de commande",
                    "N° commande",
                    "numero commande",
                    "Nº de commande",
                    "N.º de commande",
                    "Commande n°",
                    "Commande n.",
                ],
                "commande number",
            ),
            (&["C.P.", "CP", "c. p."][..2], "cp"),
            (&["I.V.A.", "IVA"], "iva"),
            (&["〒"], "郵便"),
            (&["Straße", "STRASSE", "strasse"], "strasse"),
            (&["注文番号", "ご注文番号", "注文の番号", "注文No.", "ご注文ID"], "注文 number"),
            (&["E-mail", "eMail", "e mail", "Email"], "email"),
            (&["Postage & packing", "postage + packing", "Postage and Packing"], "postage and packing"),
            (&["Address1", "address_1", "Address (1)"], "address 1"),
            (&["SKUCode", "sku code"], "sku code"),
            (&["Weight (g)", "weight [kg]"], "weight"),
            (&["Łódź"], "lodz"),
            (&["Tax %"], "tax percent"),
        ] {
            for spelling in spellings {
                assert_eq!(fold(spelling).phrase(), folded, "{spelling}");
            }
        }
    }

    #[test]
    fn a_currency_beside_the_name_is_told_apart_from_it() {
        for text in ["Preis (EUR)", "Preis in EUR", "Preis EUR", "preis [eur]"] {
            let folded = fold(text);
            assert_eq!(
                (folded.phrase().as_str(), folded.currency.map(Currency::code)),
                ("preis", Some("EUR")),
                "{text}"
            );
        }
        assert_eq!(fold("Preis (€)"), Folded { words: vec!["preis".into()], currency: None });
        // In small letters they are a word, even where a currency has that code: Cuba's, Albania's, Peru's.
        for text in ["Mug cup", "Ship to all", "Brass pen", "Gilt Top"] {
            assert_eq!((fold(text).currency, fold(text).words.len()), (None, text.split(' ').count()), "{text}");
        }
        assert_eq!(fold("Mug (cup)").currency.map(Currency::code), Some("CUP"));
        assert_eq!(fold("Cena zł").phrase(), "cena");
        // Three letters alone are a word.
        assert_eq!(fold("EUR").currency, None);
        assert_eq!(fold("Name (delivery)").phrase(), "name delivery");
    }

    #[test]
    fn a_slug_keeps_the_letters_of_its_script() {
        for (text, name) in [
            ("Order number", "order-number"),
            ("orderNumber", "order-number"),
            ("注文番号", "注文番号"),
            ("Numéro de commande", "numéro-de-commande"),
            (" Order: |#| ", "order"),
        ] {
            assert_eq!(slug(text), name);
        }
    }
}
