//! Months and weekdays, as words.
//!
//! Handed a word of a date; promises the month or the weekdays that it can mean in the languages of the exports.
//! Turned down: one language a source, which no export says of itself.

use unicode_normalization::{UnicodeNormalization as _, char::is_combining_mark};

/// Small letters without accents, in English, German, French, Spanish, Dutch, Italian and Polish, the last with the
/// genitive that dates are written in (CLDR, month names of the Gregorian calendar, wide, in both forms; from memory).
/// What shortens a name is read too, from three letters on, and further on what does so in another way.
const MONTHS: [&[&str]; 12] = [
    &["january", "januar", "janner", "janvier", "enero", "januari", "gennaio", "styczen", "stycznia"],
    &["february", "februar", "feber", "fevrier", "febrero", "februari", "febbraio", "luty", "lutego"],
    &["march", "marz", "maerz", "mrz", "mars", "marzo", "maart", "mrt", "marzec", "marca"],
    &["april", "avril", "abril", "aprile", "kwiecien", "kwietnia"],
    &["may", "mai", "mayo", "mei", "maggio", "maj", "maja"],
    &["june", "juni", "juin", "junio", "giugno", "czerwiec", "czerwca"],
    &["july", "juli", "juillet", "julio", "luglio", "lipiec", "lipca"],
    &["august", "aout", "agosto", "augustus", "sierpien", "sierpnia"],
    &["september", "septembre", "septiembre", "setiembre", "settembre", "wrzesien", "wrzesnia"],
    &["october", "oktober", "octobre", "octubre", "ottobre", "pazdziernik", "pazdziernika"],
    &["november", "novembre", "noviembre", "listopad", "listopada"],
    &["december", "dezember", "decembre", "diciembre", "dicembre", "grudzien", "grudnia"],
];

/// As [`MONTHS`], Monday first, with the short forms of two letters and the Japanese signs.
const WEEKDAYS: [&[&str]; 7] = [
    &["monday", "montag", "lundi", "lunes", "maandag", "lunedi", "poniedzialek", "mo", "ma", "pn", "月"],
    &["tuesday", "dienstag", "mardi", "martes", "dinsdag", "martedi", "wtorek", "di", "tu", "wt", "火"],
    &["wednesday", "mittwoch", "mercredi", "miercoles", "woensdag", "mercoledi", "sroda", "mi", "wo", "we", "sr", "水"],
    &["thursday", "donnerstag", "jeudi", "jueves", "donderdag", "giovedi", "czwartek", "do", "th", "cz", "木"],
    &["friday", "freitag", "vendredi", "viernes", "vrijdag", "venerdi", "piatek", "fr", "vr", "pt", "金"],
    &["saturday", "samstag", "sonnabend", "samedi", "sabado", "zaterdag", "sabato", "sobota", "sa", "za", "so", "土"],
    &["sunday", "sonntag", "dimanche", "domingo", "zondag", "domenica", "niedziela", "su", "so", "zo", "nd", "日"],
];

/// Words that stand in a date and say nothing.
const FILLERS: [&str; 13] = ["of", "the", "on", "de", "del", "den", "der", "am", "le", "el", "il", "dnia", "dne"];

/// What a word is in a date.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Word {
    /// 1 to 12.
    Month(i8),
    /// Those that it can mean, 0 for Monday: `so` is Sunday in one language and Saturday in another.
    Weekday(Vec<usize>),
    /// `mar` is March or Tuesday.
    Either(i8, Vec<usize>),
    Filler,
}

fn folded(word: &str) -> String {
    let plain: String = word.nfkd().filter(|c| !is_combining_mark(*c)).collect();
    plain.to_lowercase().replace('ł', "l")
}

fn answering(names: &[&[&str]], word: &str) -> Vec<usize> {
    let whole = |all: &[&str]| all.contains(&word);
    let short = |all: &[&str]| word.chars().count() >= 3 && all.iter().any(|name| name.starts_with(word));
    let places = |fits: &dyn Fn(&[&str]) -> bool| -> Vec<usize> {
        names.iter().enumerate().filter(|(_, all)| fits(all)).map(|(place, _)| place).collect()
    };
    Some(places(&whole)).filter(|found| !found.is_empty()).unwrap_or_else(|| places(&short))
}

/// `None` for any other word, and for `jui`, which shortens two months.
pub(super) fn word(word: &str) -> Option<Word> {
    let word = folded(word);
    if FILLERS.contains(&word.as_str()) {
        return Some(Word::Filler);
    }
    let weekdays = answering(&WEEKDAYS, word.strip_suffix("曜日").or(word.strip_suffix('曜')).unwrap_or(&word));
    let months = answering(&MONTHS, &word);
    let month = match months.as_slice() {
        [one] => i8::try_from(one + 1).ok(),
        [] | [_, _, ..] => None,
    };
    match (month, weekdays.is_empty()) {
        (Some(month), true) => Some(Word::Month(month)),
        (Some(month), false) => Some(Word::Either(month, weekdays)),
        (None, false) => Some(Word::Weekday(weekdays)),
        (None, true) => None,
    }
}

/// Whether a word of the text can be nothing but a month.
pub(super) fn has_month(text: &str) -> bool {
    split(text).any(|word| matches!(word, Word::Month(_)))
}

fn split(text: &str) -> impl Iterator<Item = Word> {
    // `25th` is no Thursday.
    text.split(|c: char| !c.is_alphanumeric()).filter_map(word)
}

/// All of a text, with the words between figures and marks that mean nothing left out. Where a month stands there,
/// a word that is a month or a weekday is the weekday.
pub(super) fn words(text: &str) -> Vec<Word> {
    let has_month = has_month(text);
    let settled = |word| match word {
        Word::Either(_, weekdays) if has_month => Word::Weekday(weekdays),
        Word::Either(month, _) => Word::Month(month),
        Word::Month(_) | Word::Weekday(_) | Word::Filler => word,
    };
    split(text).map(settled).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    // CLDR, abbreviated month names; from memory.
    #[test]
    fn months_are_known_short_and_long_in_every_language() {
        for (number, all) in [
            (1, &["Jan", "JANUARY", "janv", "ene", "gen", "sty", "Jänner", "stycznia"][..]),
            (3, &["Mrz", "mrt", "März", "mars", "marca"]),
            (5, &["May", "mai", "mei", "mag", "maja"]),
            (6, &["jun", "juin", "giu", "cze", "czerwca"]),
            (7, &["jul", "juil", "lug", "lip", "lipca"]),
            (8, &["août", "ago", "aug", "sie"]),
            (9, &["sept", "set", "wrz", "wrzesień"]),
            (10, &["okt", "ott", "paź", "października"]),
            (12, &["Dez", "déc", "dic", "gru"]),
        ] {
            for name in all {
                assert_eq!(word(name), Some(Word::Month(number)), "{name}");
            }
        }
        for either in ["mar", "Mär"] {
            assert_eq!(word(either), Some(Word::Either(3, vec![1])));
        }
        for other in ["jui", "ma y", "x", "", "nove mber", "novembers", "T", "Z", "pm"] {
            assert_eq!(word(other), None, "{other}");
        }
    }

    #[test]
    fn weekdays_are_known_and_one_short_form_is_two_of_them() {
        for (place, all) in [
            (0, &["Mon", "lun", "Mo", "pon", "maandag", "月曜日"][..]),
            (2, &["Wed", "mié", "mer", "Mi", "woe", "śr", "水"]),
            (4, &["Fri", "ven", "vie", "piątek", "vr"]),
        ] {
            for name in all {
                assert_eq!(word(name), Some(Word::Weekday(vec![place])), "{name}");
            }
        }
        assert_eq!(word("So"), Some(Word::Weekday(vec![5, 6])));
    }

    #[test]
    fn no_two_months_share_a_name() {
        for (place, names) in MONTHS.iter().enumerate() {
            for name in *names {
                assert_eq!(answering(&MONTHS, name), [place], "{name}");
                assert_eq!(folded(name), *name);
            }
        }
    }
}
