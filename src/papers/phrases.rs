//! The words of the papers that travel, a file a language.
//!
//! Handed the text of `templates/words-XX.toml`; promises that every word is there and every place to fill in is known,
//! or the fault with file and line. Amounts follow Unicode CLDR through [`MoneyWords`], names of months are the file's.
//! Turned down: a message format with plurals and genders, since no sentence of these papers counts or declines; and
//! falling back to English for a word that is left out, which makes a paper of two languages.

use std::collections::BTreeSet;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::model::address::Country;
use crate::model::language::Language;
use crate::model::money::Money;

use super::fonts::Fonts;
use super::money::MoneyWords;
use super::words::DateWords;
use super::{PapersError, Templates, glyphs};

/// The words of every language.
pub(super) struct Tongues {
    de: Words,
    en: Words,
    es: Words,
    fr: Words,
    ja: Words,
    unreadable: BTreeSet<Language>,
}

/// Words and forms of one language, for one reader.
pub(super) struct Phrases<'a> {
    /// Which.
    pub(super) language: Language,
    /// All words, with their places still to be filled in.
    pub(super) words: &'a Words,
    money: MoneyWords,
}

/// A file of words.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(super) struct Words {
    pub(super) date: DateForm,
    pub(super) invoice: InvoiceWords,
    pub(super) note: NoteWords,
    pub(super) gift: GiftWords,
}

/// How a day is written.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(super) struct DateForm {
    long: String,
    months: [String; 12],
    first_day: String,
}

/// Words of an invoice. Those with places to fill in are filled by the view.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct InvoiceWords {
    /// Title, with the invoice's number: `Invoice 12`.
    pub title: String,
    /// Day of issue.
    pub issued: String,
    /// The seller's tax number; empty without one.
    pub tax_number: String,
    /// The seller's number for value added tax; empty without one.
    pub vat_number: String,
    /// Before the parcel's ref.
    pub parcel: String,
    /// Before the buyer.
    pub sold_to: String,
    /// Before the recipient, where that is another.
    pub sent_to: String,
    /// Before the order's number.
    pub order: String,
    /// Day of the order; empty where it isn't known.
    pub ordered: String,
    /// Day of supply.
    pub supplied: String,
    /// Head of the column of counts.
    pub count: String,
    /// Head of the column of articles.
    pub article: String,
    /// Head of the column of prices.
    pub each: String,
    /// Head of the column of amounts.
    pub amount: String,
    /// Before the sum of the goods.
    pub goods: String,
    /// Before the discount.
    pub discount: String,
    /// Before the postage.
    pub postage: String,
    /// Before a tax.
    pub tax: String,
    /// Before value added tax without a rate.
    pub vat: String,
    /// Before value added tax at a rate; filled in among the sums.
    pub vat_at: String,
    /// Before the amount that the tax is of.
    pub taxable: String,
    /// Before what the total holds beyond its parts.
    pub other: String,
    /// Before the total.
    pub total: String,
    /// That the total holds a tax; filled in among the remarks.
    pub tax_included: String,
    /// That the order came without prices.
    pub no_prices: String,
    /// Before what is in another parcel.
    pub elsewhere: String,
    /// The words that cash accounting needs.
    pub cash_accounting: String,
    /// Which of several parcels of one day this is.
    #[serde(default = "english_parcel_of")]
    pub part: String,
    /// That more of the order comes on another day.
    #[serde(default = "english_first_part")]
    pub first_part: String,
    /// Title of the paper of a later part.
    #[serde(default = "english_rest")]
    pub rest: String,
    /// Which invoice a later part belongs to.
    #[serde(default = "english_rest_of")]
    pub rest_of: String,
    /// Title of the paper of a later parcel of a split.
    #[serde(default = "english_part_of")]
    pub part_of: String,
    /// Which parcel of a split the invoice is in.
    #[serde(default = "english_invoice_in")]
    pub invoice_in: String,
}

// A home's own file of words from before these keys must not stop its morning.
fn english_first_part() -> String {
    "First part: the rest of the order follows.".to_owned()
}

fn english_rest() -> String {
    "Rest of order {number}".to_owned()
}

fn english_rest_of() -> String {
    "Later part of what invoice {number} of {date} charged; nothing more is to be paid.".to_owned()
}

fn english_part_of() -> String {
    "Parcel {part} of {of} of order {number}".to_owned()
}

fn english_invoice_in() -> String {
    "Invoice {number} is in parcel {part} ({parcel}); nothing more is to be paid.".to_owned()
}

fn english_parcel_of() -> String {
    "Parcel {part} of {of}.".to_owned()
}

fn english_elsewhere() -> String {
    "In another parcel:".to_owned()
}

/// Words of a thank-you note.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct NoteWords {
    /// Thanks by name.
    pub thanks: String,
    /// What was swapped and when it was agreed.
    pub opening: String,
    /// Before what is still to come.
    pub awaited: String,
    /// Last words.
    pub closing: String,
    /// Before the trade's number.
    pub trade: String,
    /// Before the parcel's ref.
    pub parcel: String,
    /// Which of several parcels of one day this is; empty where it is the only one.
    #[serde(default = "english_parcel_of")]
    pub part: String,
    /// Before what is in another parcel.
    #[serde(default = "english_elsewhere")]
    pub elsewhere: String,
}

/// Words of a gift's slip.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct GiftWords {
    /// Before the name of whom it is for.
    pub present_for: String,
    /// From whom; empty where nobody is named.
    pub from: String,
    /// Who packed it.
    pub packed_by: String,
    /// The order's number.
    pub order: String,
    /// Before the parcel's ref.
    pub parcel: String,
    /// Which of several parcels of one day this is; empty where it is the only one.
    #[serde(default = "english_parcel_of")]
    pub part: String,
    /// Before what is in another parcel.
    #[serde(default = "english_elsewhere")]
    pub elsewhere: String,
}

/// The keys with places to fill in, and which. Any other brace in a file is a slip.
const PLACES: [(&str, &str, &[&str]); 21] = [
    ("date", "long", &["day", "month", "year"]),
    ("invoice", "title", &["number"]),
    ("invoice", "issued", &["date"]),
    ("invoice", "tax_number", &["number"]),
    ("invoice", "vat_number", &["number"]),
    ("invoice", "ordered", &["date"]),
    ("invoice", "supplied", &["date"]),
    ("invoice", "vat_at", &["rate"]),
    ("invoice", "tax_included", &["amount"]),
    ("invoice", "part", &["part", "of"]),
    ("invoice", "rest", &["number"]),
    ("invoice", "rest_of", &["number", "date"]),
    ("invoice", "part_of", &["part", "of", "number"]),
    ("invoice", "invoice_in", &["number", "part", "parcel"]),
    ("note", "thanks", &["name"]),
    ("note", "opening", &["date"]),
    ("note", "part", &["part", "of"]),
    ("gift", "from", &["name"]),
    ("gift", "packed_by", &["name"]),
    ("gift", "order", &["number"]),
    ("gift", "part", &["part", "of"]),
];

impl Tongues {
    /// Those of `templates`.
    ///
    /// # Errors
    /// Where a file can't be read as words, with its line.
    pub(super) fn of(templates: &Templates) -> Result<Self, PapersError> {
        let words = |language: Language| {
            let file = format!("words-{language}.toml");
            read(&file, templates.text(&file))
        };
        Ok(Self {
            de: words(Language::De)?,
            en: words(Language::En)?,
            es: words(Language::Es)?,
            fr: words(Language::Fr)?,
            ja: words(Language::Ja)?,
            unreadable: BTreeSet::new(),
        })
    }

    /// With English in place of `languages`, whose letters no typeface has.
    pub(super) fn without(self, languages: &BTreeSet<Language>) -> Self {
        Self { unreadable: languages.clone(), ..self }
    }

    /// The languages whose words `fonts` can't show.
    pub(super) fn unreadable(&self, fonts: &Fonts) -> Result<BTreeSet<Language>, PapersError> {
        let mut unreadable = BTreeSet::new();
        for language in Language::ALL {
            let mut letters = BTreeSet::new();
            glyphs::letters(&serde_json::to_value(self.words(language)).map_err(PapersError::view)?, &mut letters);
            if letters.iter().any(|c| !fonts.has(*c)) {
                unreadable.insert(language);
            }
        }
        Ok(unreadable)
    }

    fn words(&self, language: Language) -> &Words {
        match language {
            Language::De => &self.de,
            Language::En => &self.en,
            Language::Es => &self.es,
            Language::Fr => &self.fr,
            Language::Ja => &self.ja,
        }
    }

    /// For a reader in `country`; amounts in English papers have the signs of the seller's own country, `home`, as
    /// the rest of the pack has them.
    pub(super) fn phrases(&self, language: Language, country: Option<Country>, home: Country) -> Phrases<'_> {
        let language = if self.unreadable.contains(&language) { Language::En } else { language };
        let words = self.words(language);
        let money = match language {
            Language::En => MoneyWords::english_in(home),
            Language::De | Language::Es | Language::Fr | Language::Ja => {
                MoneyWords::in_language(language, country.unwrap_or(home))
            }
        };
        Phrases { language, words, money }
    }
}

impl Phrases<'_> {
    /// A day in this language, the same whether the place for it is short or long.
    pub(super) fn date(&self, date: Date) -> DateWords {
        let form = &self.words.date;
        let month =
            usize::try_from(date.month() - 1).ok().and_then(|at| form.months.get(at)).map_or("", String::as_str);
        let day = if date.day() == 1 { form.first_day.clone() } else { date.day().to_string() };
        let long = fill(&form.long, &[("day", &day), ("month", month), ("year", &date.year().to_string())]);
        DateWords { iso: date.to_string(), short: long.clone(), medium: long.clone(), long }
    }

    /// An amount in this language.
    pub(super) fn money(&self, money: Money) -> String {
        self.money.write(money)
    }
}

fn read(file: &str, text: &str) -> Result<Words, PapersError> {
    let line = |at: usize| text.get(..at).map(|before| before.matches('\n').count() + 1);
    let fault = |line: Option<usize>, message: String, names: &str| PapersError::Template {
        file: file.to_owned(),
        line,
        message,
        names: names.to_owned(),
    };
    let words: Words = toml::from_str(text).map_err(|error| {
        let at = error.span().and_then(|span| line(span.start));
        fault(at, error.message().trim().to_owned(), "those of the built-in file")
    })?;
    let table: toml::Table = toml::from_str(text).unwrap_or_default();
    for (section, key, text_of) in strings(&table) {
        let known = PLACES.iter().find(|(a, b, _)| *a == section && *b == key).map_or(&[][..], |p| p.2);
        if let Some(place) = places(text_of).find(|place| !known.contains(place)) {
            let at = text.find(text_of).and_then(line);
            let names = if known.is_empty() { "none".to_owned() } else { format!("{{{}}}", known.join("}, {")) };
            return Err(fault(at, format!("`{section}.{key}` has `{{{place}}}`, which nothing fills in"), &names));
        }
    }
    Ok(words)
}

fn strings(table: &toml::Table) -> impl Iterator<Item = (&str, &str, &str)> {
    table.iter().flat_map(|(section, inner)| {
        let inner = inner.as_table().into_iter().flatten();
        inner.filter_map(move |(key, value)| Some((section.as_str(), key.as_str(), value.as_str()?)))
    })
}

/// What stands in braces.
fn places(text: &str) -> impl Iterator<Item = &str> {
    text.split('{').skip(1).filter_map(|rest| rest.split_once('}')).map(|(place, _)| place)
}

/// `pattern` with its places filled. What is filled in is not looked at again: a name that holds braces keeps them.
pub(super) fn fill(pattern: &str, values: &[(&str, &str)]) -> String {
    let mut out = String::new();
    let mut rest = pattern;
    while let Some((before, after)) = rest.split_once('{') {
        out.push_str(before);
        let filled = after
            .split_once('}')
            .and_then(|(place, tail)| values.iter().find(|(name, _)| *name == place).map(|(_, value)| (*value, tail)));
        if let Some((value, tail)) = filled {
            out.push_str(value);
            rest = tail;
        } else {
            out.push('{');
            rest = after;
        }
    }
    out.push_str(rest);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn with(file: &str, from: &str, to: &str) -> String {
        let text = Templates::built_in().text(file).replace(from, to);
        let templates = Templates::with_overrides([(file.to_owned(), text)].into()).unwrap();
        Tongues::of(&templates).err().map(|fault| fault.to_string()).unwrap_or_default()
    }

    #[test]
    fn a_fault_in_a_file_of_words_is_told_with_its_line() {
        assert_eq!(
            with("words-de.toml", "thanks = ", "tanks = "),
            "`words-de.toml` line 48: unknown field `tanks`, expected one of `thanks`, `opening`, `awaited`, `closing`, \
             `trade`, `parcel`, `part`, `elsewhere`; the names there are: those of the built-in file"
        );
        assert_eq!(
            with("words-fr.toml", "Merci, {name}", "Merci, {nom}"),
            "`words-fr.toml` line 48: `note.thanks` has `{nom}`, which nothing fills in; the names there are: {name}"
        );
        assert!(with("words-es.toml", "\"enero\", ", "").starts_with("`words-es.toml` line "));
        assert_eq!(with("words-ja.toml", "合計", "総計"), "");
    }

    #[test]
    fn what_is_filled_in_is_not_filled_again() {
        assert_eq!(
            fill("Thank you, {name}! {x} {", &[("name", "{name} {date}"), ("date", "no")]),
            "Thank you, {name} {date}! {x} {"
        );
    }

    /// Unicode CLDR's long dates, as computed by Babel; the file's head says how.
    const DATES: &str =
        include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/standards/data/date_long_vectors.csv"));

    #[test]
    fn days_are_written_as_cldr_has_them() {
        let tongues = Tongues::of(&Templates::built_in()).unwrap();
        let home: Country = "US".parse().unwrap();
        let mut rows = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(DATES.as_bytes());
        let mut read = 0;
        for row in rows.records() {
            let row = row.unwrap();
            let language: Language = row[0].split('_').next().unwrap().parse().unwrap();
            let written = tongues.phrases(language, None, home).date(row[1].parse().unwrap()).long;
            // French: `1er`, as its grammar has it for the first of a month; CLDR's pattern has no such form.
            let expected = if language == Language::Fr {
                row[2].replacen("1 ", "1er ", usize::from(row[1].ends_with("-01")))
            } else {
                row[2].to_owned()
            };
            assert_eq!(written, expected, "{} {}", &row[0], &row[1]);
            read += 1;
        }
        assert_eq!(read, 65);
    }
}
