//! Cyrillic and Greek addresses in Latin letters.
//!
//! Handed upper case text without diacritics ([`super::fold::letters`]) and a country; promises Latin letters in which
//! the address in its own letters and each usual way of writing it in ours are equal. The tables are those of the
//! country's own romanisation (Russia and its neighbours BGN/PCGN 1947; Ukraine resolution 55 of 2010; Bulgaria the
//! transliteration act of 2009; Serbia and its neighbours their own Latin alphabet; Greece ELOT 743; from memory),
//! and what the several systems write differently (Y, I and J; KH and H; TS and C) is then made one. That joins a few
//! names which differ by such a letter only. Turned down: a crate that romanises, since each knows one system, and
//! people write in all of them.

/// Which table a country's letters are read by.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Script {
    Russian,
    Ukrainian,
    Bulgarian,
    Serbian,
    Greek,
}

fn script_of(country: &str) -> Option<Script> {
    Some(match country {
        "RU" | "KZ" | "KG" | "TJ" => Script::Russian,
        "UA" | "BY" => Script::Ukrainian,
        "BG" => Script::Bulgarian,
        "RS" | "ME" | "BA" | "MK" => Script::Serbian,
        "GR" | "CY" => Script::Greek,
        _ => return None,
    })
}

/// The text in Latin letters; as it came where the country writes in other ones.
pub(super) fn romanised(text: String, country: &str) -> String {
    let Some(script) = script_of(country) else { return text };
    let own: Vec<char> = if script == Script::Greek { text.chars().collect() } else { worded(&text).chars().collect() };
    let mut latin = String::with_capacity(text.len());
    let mut place = 0;
    while let Some(c) = own.get(place) {
        let next = own.get(place + 1).copied().unwrap_or(' ');
        let before = place.checked_sub(1).and_then(|place| own.get(place)).copied().unwrap_or(' ');
        if script == Script::Greek
            && let Some(pair) = greek_pair(before, *c, next, own.get(place + 2).copied().unwrap_or(' '))
        {
            latin.push_str(pair);
            place += 2;
            continue;
        }
        match if script == Script::Greek { greek(*c, before) } else { cyrillic(*c, script) } {
            Some(letters) => latin.push_str(letters),
            None => latin.push(*c),
        }
        place += 1;
    }
    if script == Script::Serbian {
        // "Đ" is D here already, and DJ where a keyboard lacks it.
        return latin.replace("DJ", "D");
    }
    one_system(&latin, script)
}

/// Short Cyrillic words that would be read otherwise in Latin letters: СТР. is a building, "str." a street; А/Я and А/С
/// are post office boxes.
fn worded(text: &str) -> String {
    let mut words = String::with_capacity(text.len());
    for piece in text.split_inclusive(|c: char| !c.is_alphabetic() && c != '/') {
        let word = piece.trim_end_matches(|c: char| !c.is_alphabetic());
        let said = match word {
            "СТР" | "СТРОЕНИЕ" => "STROEN",
            "А/Я" | "А/С" | "A/YA" | "A/S" => "PO BOX",
            _ => word,
        };
        words.push_str(said);
        words.push_str(piece.get(word.len()..).unwrap_or_default());
    }
    words
}

/// What the systems write differently, in one way.
fn one_system(latin: &str, script: Script) -> String {
    let mut text = latin.replace(['Y', 'J'], "I");
    let pairs: &[(&str, &str)] = if script == Script::Greek {
        &[("KH", "H"), ("CH", "H"), ("PH", "F"), ("KS", "X")]
    } else {
        // "IE" and "IO" are Е and Ё behind a vowel or a soft letter.
        &[("KH", "H"), ("TS", "C"), ("IE", "E"), ("IO", "E")]
    };
    while text.contains("II") {
        text = text.replace("II", "I");
    }
    for (usual, one) in pairs {
        text = text.replace(usual, one);
    }
    text
}

fn cyrillic(c: char, script: Script) -> Option<&'static str> {
    let special = match (script, c) {
        (Script::Ukrainian, 'Г') | (Script::Serbian, 'Х') => "H",
        (Script::Bulgarian, 'Щ') => "SHT",
        (Script::Bulgarian, 'Ъ') => "A",
        (Script::Serbian, 'Ж') => "Z",
        (Script::Serbian, 'Ч' | 'Ћ' | 'Ц') => "C",
        (Script::Serbian, 'Ш') => "S",
        (Script::Russian | Script::Ukrainian | Script::Bulgarian | Script::Serbian | Script::Greek, _) => "",
    };
    if !special.is_empty() {
        return Some(special);
    }
    Some(match c {
        'А' => "A",
        'Б' => "B",
        'В' => "V",
        'Г' | 'Ґ' => "G",
        'Д' | 'Ђ' => "D",
        'Е' | 'Э' => "E",
        'Є' => "IE",
        'Ж' => "ZH",
        'З' => "Z",
        'И' | 'І' => "I",
        'Ј' => "J",
        'К' => "K",
        'Л' => "L",
        'Љ' => "LJ",
        'М' => "M",
        'Н' => "N",
        'Њ' => "NJ",
        'О' => "O",
        'П' => "P",
        'Р' => "R",
        'С' => "S",
        'Т' => "T",
        'У' => "U",
        'Ф' => "F",
        'Х' => "KH",
        'Ц' => "TS",
        'Ч' => "CH",
        'Џ' => "DZ",
        'Ш' => "SH",
        'Щ' => "SHCH",
        'Ъ' | 'Ь' => "",
        'Ы' => "Y",
        'Ю' => "IU",
        'Я' => "IA",
        _ => return None,
    })
}

/// Two letters that are read together.
fn greek_pair(before: char, c: char, next: char, after: char) -> Option<&'static str> {
    // Before these, and at the end, υ is an F.
    let voiceless = !after.is_alphabetic() || "ΘΚΞΠΣΤΦΧΨ".contains(after);
    Some(match (c, next) {
        ('Ο', 'Υ') => "OU",
        ('Α', 'Υ') => {
            if voiceless {
                "AF"
            } else {
                "AV"
            }
        }
        ('Ε', 'Υ') => {
            if voiceless {
                "EF"
            } else {
                "EV"
            }
        }
        ('Γ', 'Γ') => "NG",
        ('Γ', 'Ξ') => "NX",
        ('Γ', 'Χ') => "NCH",
        ('Μ', 'Π') if !before.is_alphabetic() => "B",
        _ => return None,
    })
}

fn greek(c: char, before: char) -> Option<&'static str> {
    Some(match c {
        'Α' => "A",
        // "12Β" is 12B: behind a figure it is the letter's place in the alphabet.
        'Β' => {
            if before.is_ascii_digit() {
                "B"
            } else {
                "V"
            }
        }
        'Γ' => "G",
        'Δ' => "D",
        'Ε' => "E",
        'Ζ' => "Z",
        'Η' | 'Ι' => "I",
        'Θ' => "TH",
        'Κ' => "K",
        'Λ' => "L",
        'Μ' => "M",
        'Ν' => "N",
        'Ξ' => "X",
        'Ο' | 'Ω' => "O",
        'Π' => "P",
        'Ρ' => "R",
        'Σ' => "S",
        'Τ' => "T",
        'Υ' => "Y",
        'Φ' => "F",
        'Χ' => "CH",
        'Ψ' => "PS",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::super::fold::{Digraphs, letters};
    use super::*;

    // Systems named above, from memory.
    #[test]
    fn every_usual_way_of_writing_a_name_in_latin_letters_is_one() {
        for (country, ways) in [
            ("RU", &["Чайки", "Chayki", "Chaiki", "Chajki", "CHAIKI"][..]),
            ("RU", &["Щёлкова", "Щелкова", "Shchyolkova", "Shchelkova"]),
            ("RU", &["Хвостовская", "Khvostovskaya", "Hvostovskaja"]),
            ("RU", &["Цаплина", "Tsaplina", "Caplina"]),
            ("RU", &["Ельцова", "Yel'tsova", "Eltsova"]),
            ("UA", &["Голуба", "Holuba"]),
            ("UA", &["вулиця", "vulytsia", "vulytsya"]),
            ("BG", &["Щъркел", "Shtarkel"]),
            ("RS", &["Ђачка Жабља", "Đačka Žablja", "Djacka Zablja"]),
            ("GR", &["Γλάρου", "Glarou", "ΓΛΑΡΟΥ"]),
            ("GR", &["Ευαγγελίου", "Evangeliou"]),
            ("GR", &["Μπότσαρη", "Botsari"]),
            ("GR", &["Χελιδόνι", "Chelidoni", "Khelidoni", "Helidoni"]),
        ] {
            let one = |text: &str| romanised(letters(text, Digraphs::Letters).replace('\'', ""), country);
            for way in ways {
                assert_eq!(one(way), one(ways[0]), "{country} {way}");
            }
        }
        let plain = |text: &str| romanised(text.to_owned(), "RU");
        assert_ne!(plain("ЧАИКИ"), plain("ГАИКИ"));
        assert_eq!(romanised("MÖWE".into(), "DE"), "MÖWE");
    }
}
