//! How likely a word is a name misspelt, against that somebody is called so.
//!
//! Handed a name and a word one edit away, or two; promises the likelihoods of Fellegi and Sunter, "A Theory for Record
//! Linkage" (1969), for one [`Field`], given names or surnames: how often that very word comes of the name by slips at the
//! keyboard, against how often a second person behind the door has it for a name. The rarer a word is as a name, the
//! surer it is a slip (W. E. Winkler's matching by frequency, 1989, from memory); of a word that no list holds, its
//! letters say how rare it would be. The keyboard knows nothing of fields, so slips have one model; what differs is how
//! often people of two such names share a door, and which names there are ([`Odds`]). Turned down: asking about every
//! letter, as most slips are plain to see ("Hollh"); and a dictionary of common slips, which there is none of for names.

use std::collections::BTreeSet;

use super::spelling::Spelling;

/// What is known of a field before any word of it is read.
pub(super) struct Odds {
    /// And where the edit is one by which names vary from language to language, or from sister to sister ("Tiana",
    /// "Tiarna"), so many times more.
    pub(super) varied: f64,
    /// The share of people whose name is on no list.
    pub(super) unlisted: f64,
    /// No name that is on no list is more frequent.
    pub(super) most: f64,
}

/// How many times likelier a slip must be than a second person of that name.
///
/// At the door of one surname a seller has one person twice some ten times as often as two people (by hand); one name in
/// fifty is misspelt (by hand); and of a thousand merges none may be wrong. That is `1000 * 50 / 10`, and ten times as
/// much for families that name their children alike.
pub(super) const SURE: f64 = 65_536.0;

/// One field of names.
pub(super) struct Field {
    odds: Odds,
    spelling: Spelling,
}

impl Field {
    /// With the names in use.
    pub(super) fn new<'n>(odds: Odds, in_use: impl Iterator<Item = &'n str>) -> Self {
        Self { odds, spelling: Spelling::of(in_use) }
    }

    /// Whether `written` is `meant` misspelt by a single slip, `sure` times likelier than a name by itself.
    pub(super) fn is_likelier(&self, meant: &str, written: &str, sure: f64) -> bool {
        let slip = Edit::between(meant, written).slip();
        slip.is_some_and(|slip| self.is_sure(meant, written, slip, sure))
    }

    /// Whether it is by two slips, whatever word lay between them.
    pub(super) fn is_likelier_twice(&self, meant: &str, written: &str, sure: f64) -> bool {
        // No letter comes in by one slip to go out by the other.
        let ways = one_slip_from(meant, &written.chars().collect()).into_iter().filter_map(|between| {
            let (first, then) = (Edit::between(meant, &between).slip()?, Edit::between(&between, written).slip()?);
            Some(Slip {
                likelihood: ONE_MORE * first.likelihood * then.likelihood,
                is_how_names_vary: first.is_how_names_vary || then.is_how_names_vary,
            })
        });
        // Two ways to one word are as good as one: which of two slips came first says nothing.
        let likeliest = ways.max_by(|a, b| a.likelihood.total_cmp(&b.likelihood));
        likeliest.is_some_and(|slip| self.is_sure(meant, written, slip, sure))
    }

    fn is_sure(&self, meant: &str, written: &str, slip: Slip, sure: f64) -> bool {
        let Odds { varied, unlisted, most } = self.odds;
        let needed = if slip.is_how_names_vary { sure * varied } else { sure };
        let shortest = meant.chars().count().min(written.chars().count());
        // Two letters are too little to see a slip in.
        let name = self.spelling.share(written).filter(|_| shortest > 2);
        name.is_some_and(|name| slip.likelihood >= needed * (unlisted * name).min(most))
    }
}

/// A slip that was made.
#[derive(Clone, Copy)]
struct Slip {
    likelihood: f64,
    is_how_names_vary: bool,
}

/// Of the words with a slip, the share that has another (by hand).
const ONE_MORE: f64 = 0.1;

/// Of 100 slips, letters left out, too many, wrong, and turned round: J. J. Pollock and A. Zamora, "Automatic spelling
/// correction in scientific and scholarly text" (1984), from memory.
const LEFT_OUT: f64 = 0.34;
const TOO_MANY: f64 = 0.27;
const WRONG: f64 = 0.19;
const TURNED: f64 = 0.125;

/// Of letters too many, the share that doubles one and the share that is beside one on the keyboard; any is the rest
/// (by hand).
const DOUBLED: f64 = 0.4;
const TOO_MANY_BESIDE: f64 = 0.3;

/// Of wrong letters, the share that is beside the right one on the keyboard: J. T. Grudin, "Error patterns in novice
/// and skilled transcription typing" (1983), from memory.
const WRONG_BESIDE: f64 = 0.6;

/// First letters are as seldom wrong, measured by any other: E. J. Yannakoudakis and D. Fawthrop, "The rules of
/// spelling errors" (1983), from memory.
const FIRST: f64 = 0.125;

/// Letters of the alphabet.
const LETTERS: f64 = 26.0;

/// All words that a single slip makes of it, with letters out of `alphabet`.
fn one_slip_from(word: &str, alphabet: &BTreeSet<char>) -> BTreeSet<String> {
    let mut all = BTreeSet::new();
    for (at, _) in word.char_indices().chain([(word.len(), ' ')]) {
        let (head, tail) = word.split_at(at);
        let mut rest = tail.chars();
        let first = rest.next();
        for letter in alphabet {
            all.insert(format!("{head}{letter}{tail}"));
            if first.is_some() {
                all.insert(format!("{head}{letter}{}", rest.as_str()));
            }
        }
        if let Some(first) = first {
            all.insert(format!("{head}{}", rest.as_str()));
            if let Some(second) = rest.next() {
                all.insert(format!("{head}{second}{first}{}", rest.as_str()));
            }
        }
    }
    all.remove(word);
    all
}

/// What must be done to the first of two words to get the second, one edit away.
pub(super) struct Edit {
    /// The letters in which they differ, of either.
    letters: [Vec<char>; 2],
    /// The letters before and behind those.
    beside: [Option<char>; 2],
    /// Letters of the first word.
    length: usize,
}

impl Edit {
    pub(super) fn between(x: &str, y: &str) -> Self {
        let (x, y): (Vec<char>, Vec<char>) = (x.chars().collect(), y.chars().collect());
        let front = x.iter().zip(&y).take_while(|(x, y)| x == y).count();
        let most = x.len().min(y.len()) - front;
        let back = x.iter().rev().zip(y.iter().rev()).take(most).take_while(|(x, y)| x == y).count();
        let middle = |all: &[char]| all.iter().skip(front).take(all.len() - front - back).copied().collect();
        let before = front.checked_sub(1).and_then(|at| x.get(at)).copied();
        let behind = x.get(x.len() - back).copied();
        Self { letters: [middle(&x), middle(&y)], beside: [before, behind], length: x.len() }
    }

    fn slip(&self) -> Option<Slip> {
        Some(Slip { likelihood: self.likelihood()?, is_how_names_vary: self.is_how_names_vary() })
    }

    /// The likelihood of this slip, if any is made in the word; none where it is no single slip.
    fn likelihood(&self) -> Option<f64> {
        let [x, y] = &self.letters;
        let place = 1.0 / count(self.length);
        let likelihood = match (x.as_slice(), y.as_slice()) {
            // Whichever of two was left out.
            ([left], []) => LEFT_OUT * place * if self.is_beside(*left) { 2.0 } else { 1.0 },
            ([], [more]) => {
                let way = if self.is_beside(*more) {
                    DOUBLED
                } else if self.beside.iter().flatten().any(|near| are_keys_side_by_side(*near, *more)) {
                    TOO_MANY_BESIDE / 5.0
                } else {
                    (1.0 - DOUBLED - TOO_MANY_BESIDE) / LETTERS
                };
                TOO_MANY * way / count(self.length + 1)
            }
            ([right], [wrong]) => {
                let way = if are_keys_side_by_side(*right, *wrong) {
                    WRONG_BESIDE / count(('A'..='Z').filter(|key| are_keys_side_by_side(*right, *key)).count())
                } else {
                    (1.0 - WRONG_BESIDE) / (LETTERS - 1.0)
                };
                WRONG * way * place
            }
            ([_, _], [_, _]) if x.iter().eq(y.iter().rev()) => TURNED / count(self.length - 1),
            (_, _) => return None,
        };
        Some(if self.beside[0].is_some() { likelihood } else { likelihood * FIRST })
    }

    fn is_beside(&self, letter: char) -> bool {
        self.beside.contains(&Some(letter))
    }

    /// Two letters behind the first changed places, one of them a consonant, and neither is the Y that wanders in names
    /// ("Taylah", "Talyah").
    pub(super) fn turns_round_a_consonant(&self) -> bool {
        let [one, other] = &self.letters;
        let is_turned = one.len() == 2 && one.iter().eq(other.iter().rev());
        is_turned && self.beside[0].is_some() && !one.iter().all(|c| is_vowel(*c)) && !one.contains(&'Y')
    }

    /// Whether names in use vary like this (from looking at the lists): vowels, letters of one sound, doubled ones, H, an
    /// R or N behind a vowel, a vowel at the end, or the end left out.
    fn is_how_names_vary(&self) -> bool {
        let [x, y] = &self.letters;
        let [before, behind] = self.beside;
        match (x.as_slice(), y.as_slice()) {
            ([x], [y]) => is_soft(*x) && is_soft(*y) || sound_alike(*x, *y) || behind.is_none() && is_vowel(*y),
            ([one], []) | ([], [one]) => {
                let by_a_vowel = before.is_some_and(is_vowel) || behind.is_some_and(is_vowel);
                self.is_beside(*one)
                    || matches!(one, 'H' | 'Y')
                    || is_vowel(*one) && (before.is_none() || behind.is_none())
                    || behind.is_none() && y.is_empty()
                    || matches!(one, 'I' | 'E' | 'O') && by_a_vowel
                    || matches!(one, 'R' | 'N') && before.is_some_and(is_vowel)
            }
            (x, _) => x.iter().all(|c| is_vowel(*c)) || x.contains(&'Y') || x.contains(&'H') && behind.is_none(),
        }
    }
}

fn count(things: usize) -> f64 {
    u32::try_from(things.max(1)).map_or(f64::from(u32::MAX), f64::from)
}

fn is_vowel(c: char) -> bool {
    "AEIOUY".contains(c)
}

/// A vowel, or the H that makes one long: "Tahlia", "Taalia".
fn is_soft(c: char) -> bool {
    is_vowel(c) || c == 'H'
}

/// Letters that stand for one sound in some language, or for two that are taken for one another.
fn sound_alike(x: char, y: char) -> bool {
    ["IJY", "CKQX", "SZX", "UVW", "GJ", "FV", "BP", "DT", "MN", "LR"]
        .iter()
        .any(|all| all.contains(x) && all.contains(y))
}

/// The rows of keys, and by how many quarters of a key each is set in.
const ROWS: [(&str, usize); 3] = [("QWERTYUIOP", 0), ("ASDFGHJKL", 1), ("ZXCVBNM", 3)];

/// Whether two keys touch.
fn are_keys_side_by_side(x: char, y: char) -> bool {
    let place = |key: char| {
        let mut rows = (0_usize..).zip(ROWS);
        rows.find_map(|(row, (keys, inset))| keys.find(key).map(|at| (row, 4 * at + inset)))
    };
    match (place(x), place(y)) {
        (Some(x), Some(y)) => x != y && x.0.abs_diff(y.0) <= 1 && x.1.abs_diff(y.1) <= 4,
        (None, _) | (_, None) => false,
    }
}

#[cfg(test)]
mod tests {
    use strsim::damerau_levenshtein;

    use super::*;

    #[test]
    fn likelihoods_add_up_to_no_more_than_one() {
        let word = "MARTIN";
        let all = one_slip_from(word, &('A'..='Z').collect());
        let sum: f64 = all.iter().filter_map(|written| Edit::between(word, written).likelihood()).sum();
        assert!((0.7..1.0).contains(&sum), "{sum}");
    }

    #[test]
    fn all_words_a_slip_away_are_made() {
        let all = one_slip_from("LEE", &('A'..='Z').collect());
        for slip in ["LE", "EE", "LLEE", "ELE", "LEEX", "XEE"] {
            assert!(all.contains(slip), "{slip}");
        }
        assert!(!all.contains("LEE") && all.iter().all(|word| damerau_levenshtein("LEE", word) == 1), "{all:?}");
    }

    #[test]
    fn keys_touch_both_ways() {
        for (key, touching) in [('S', "AWEDZX"), ('J', "HUIKNM"), ('P', "OL")] {
            let found: String = ('A'..='Z').filter(|other| are_keys_side_by_side(key, *other)).collect();
            let mut expected: Vec<char> = touching.chars().collect();
            expected.sort_unstable();
            assert_eq!(found, String::from_iter(expected), "{key}");
        }
    }
}
