//! Wishes that buyers write into their notes: that an order goes in a parcel of its own.
//!
//! Handed a note as it was written; promises the words that plainly wish it, in the languages of the exports, or the
//! words that may. A note that says that there is no need for it wishes nothing. Turned down: the word "separate" alone,
//! as "two separate gifts, one parcel is fine" wishes the contrary; and reading no notes at all, by which the wish stands
//! on the packing card of the very parcel that ignores it.

use super::likeness::folded;

/// Plain words for it, folded: lower case, signs as spaces. In order: English, German, French, Spanish, Italian, Dutch,
/// Polish, Portuguese, Swedish. From memory of how buyers write; no source.
const PLAIN: [&str; 84] = [
    "ship separately",
    "ship it separately",
    "ship this separately",
    "ship them separately",
    "ship these separately",
    "shipped separately",
    "send separately",
    "send it separately",
    "send this separately",
    "send them separately",
    "sent separately",
    "post separately",
    "post it separately",
    "posted separately",
    "mail separately",
    "mailed separately",
    "pack separately",
    "packed separately",
    "ship by itself",
    "ship on its own",
    "separate parcel",
    "separate parcels",
    "separate package",
    "separate packages",
    "separate box",
    "separate envelope",
    "separate mailer",
    "separate shipment",
    "separate shipping",
    "its own parcel",
    "its own package",
    "own parcel",
    "don t combine",
    "do not combine",
    "not combine shipping",
    "not combined",
    "getrennt versenden",
    "getrennt verschicken",
    "getrennt schicken",
    "getrennt senden",
    "getrennt verpacken",
    "getrennter versand",
    "separat versenden",
    "separat verschicken",
    "separat schicken",
    "separat senden",
    "separat verpacken",
    "einzeln versenden",
    "einzeln verschicken",
    "eigenes paket",
    "eigenem paket",
    "separates paket",
    "separaten paket",
    "extra paket",
    "nicht zusammen versenden",
    "nicht zusammen verschicken",
    "envoyer séparément",
    "expédier séparément",
    "envoyez séparément",
    "envoi séparé",
    "colis séparé",
    "colis séparés",
    "ne pas regrouper",
    "ne pas grouper",
    "enviar por separado",
    "envíen por separado",
    "envío por separado",
    "paquete aparte",
    "paquete separado",
    "paquetes separados",
    "spedire separatamente",
    "pacco separato",
    "pacchi separati",
    "apart verzenden",
    "apart versturen",
    "apart pakket",
    "aparte pakket",
    "wysłać osobno",
    "wysłać oddzielnie",
    "osobnej paczce",
    "osobna paczka",
    "enviar separadamente",
    "skicka separat",
    "skickas separat",
];

/// Words that may wish it in a sentence that none of [`PLAIN`] knows.
const PERHAPS: [&str; 22] = [
    "separate",
    "separately",
    "seperate",
    "seperately",
    "getrennt",
    "getrennte",
    "separat",
    "separate",
    "séparément",
    "separement",
    "séparé",
    "separado",
    "separada",
    "separadamente",
    "separatamente",
    "separato",
    "apart",
    "osobno",
    "oddzielnie",
    "osobna",
    "combine",
    "別々",
];

/// Words that turn a wish round where they stand right before it.
const NOT: [&str; 28] = [
    "no",
    "not",
    "don t",
    "dont",
    "needn t",
    "never",
    "without",
    "unnecessary",
    "nicht",
    "kein",
    "keine",
    "keinen",
    "nie",
    "ohne",
    "pas",
    "sans",
    "inutile",
    "ne",
    "sin",
    "non",
    "senza",
    "niet",
    "geen",
    "zonder",
    "bez",
    "não",
    "sem",
    "inte",
];

/// Most words between one of [`NOT`] and the wish that it turns round ("don't have to ship separately"); further away it
/// may belong to something else, and is asked.
const NEAR: usize = 2;

/// Words that make a wish depend on something.
const IF: [&str; 10] = ["if", "unless", "maybe", "instead", "wenn", "falls", "vielleicht", "si", "se", "als"];

/// Words by which a clause says that it isn't needed.
const NEEDLESS: [&str; 9] = [
    "no need",
    "not necessary",
    "not needed",
    "don t need",
    "not have to",
    "nicht nötig",
    "nicht notwendig",
    "pas besoin",
    "pas nécessaire",
];

/// How a clause stands to the wish.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Standing {
    Wishes,
    May,
    Declines,
    Silent,
}

/// The words of a note that plainly wish the order to go by itself.
#[must_use]
pub fn plain(note: &str) -> Option<String> {
    clauses(note).find(|clause| standing(clause) == Standing::Wishes)
}

/// The words of a note that may wish it, and neither plainly do nor plainly don't.
#[must_use]
pub fn perhaps(note: &str) -> Option<String> {
    if plain(note).is_some() {
        return None;
    }
    clauses(note).find(|clause| standing(clause) == Standing::May)
}

/// Parts of a note between the signs that end a thought, as they were written.
fn clauses(note: &str) -> impl Iterator<Item = String> + '_ {
    note.split(['.', ',', ';', '!', '?', '\n', '(', ')', ':', '。', '、'])
        .flat_map(|part| part.split(" but "))
        .map(|clause| clause.trim().to_owned())
        .filter(|clause| !clause.is_empty())
}

fn standing(clause: &str) -> Standing {
    let words = format!(" {} ", folded(clause));
    let has = |some: &[&str], words: &str| some.iter().any(|word| words.contains(&format!(" {word} ")));
    let known = PLAIN.iter().find_map(|wish| words.find(&format!(" {wish} ")));
    let Some(before) = known.and_then(|at| words.get(..=at)) else {
        let may = has(&PERHAPS, &words) && !has(&NEEDLESS, &words);
        return if may { Standing::May } else { Standing::Silent };
    };
    if has(&NEEDLESS, &words) || has(&NOT, &last_words(before, NEAR)) {
        Standing::Declines
    } else if has(&NOT, before) || has(&IF, before) {
        Standing::May
    } else {
        Standing::Wishes
    }
}

/// The last of the words that may turn a wish round, with `between` more: two-word ones count as the folding parts them.
fn last_words(before: &str, between: usize) -> String {
    let words: Vec<&str> = before.split_whitespace().collect();
    let from = words.len().saturating_sub(between + 2);
    format!(" {} ", words.get(from..).unwrap_or_default().join(" "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plain_wishes_are_known_in_the_languages_of_the_exports() {
        for note in [
            "please SHIP SEPARATELY",
            "Hi! Could this go in a separate parcel?",
            "Bitte getrennt versenden.",
            "Merci d'envoyer séparément",
            "Not a gift, please ship separately",
            "Por favor, enviar por separado",
            "graag apart verzenden",
            "Do not combine with my other order",
        ] {
            assert!(plain(note).is_some(), "{note}");
            assert_eq!(perhaps(note), None, "{note}");
        }
    }

    #[test]
    fn a_wish_turned_round_is_none() {
        for note in [
            "no need to ship separately",
            "You don't have to send separately",
            "bitte nicht getrennt versenden",
            "pas besoin d'envoyer séparément",
            "mint backs please",
            "a separation gift",
        ] {
            assert_eq!((plain(note), perhaps(note)), (None, None), "{note}");
        }
    }

    #[test]
    fn what_may_be_a_wish_is_neither() {
        for note in [
            "no rush whatever you do please ship separately",
            "if it is the same price ship separately",
            "these are for separate people",
            "keep the two orders separate",
            "can you combine with order 12?",
        ] {
            assert_eq!(plain(note), None, "{note}");
            assert!(perhaps(note).is_some(), "{note}");
        }
    }
}
