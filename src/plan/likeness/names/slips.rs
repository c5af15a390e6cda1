//! How likely a word is a name misspelt, against that somebody is called so.
//!
//! Handed a name in use and a word one edit away that is none; promises the likelihoods of Fellegi and Sunter, "A Theory
//! for Record Linkage" (1969), for this one field: how often that very word comes of the name by a slip at the keyboard,
//! against how often a second person behind the door has it for a name. The rarer a word is as a name, the surer it is
//! a slip (W. E. Winkler's matching by frequency, 1989, from memory); of a word that no list holds, its letters say how
//! rare it would be. Turned down: asking about every letter, as most slips are plain to see ("Hollh"); and a dictionary
//! of common slips, which there is none of for names.

use std::sync::LazyLock;

use super::given;

/// How many times likelier the slip must be: at the door of one surname a seller has one person twice some ten times as
/// often as two people (by hand); one given name in fifty is misspelt (by hand); and of a thousand merges none may be
/// wrong. That is `1000 * 50 / 10`, and ten times as much for families that name their children alike.
const SURE: f64 = 65_536.0;

/// And where the edit is one by which names vary from language to language, or from sister to sister ("Tiana",
/// "Tiarna"), so many times more (by hand).
const VARIED: f64 = 64.0;

/// The share of people whose given name is on no list: 0.1 % by the lists' own source, a hundredfold for whom that
/// source doesn't see (by hand).
const UNLISTED: f64 = 0.1;

/// No name that is on no list is more frequent: what 500 of the 348 million children have that were counted is on one.
const MOST: f64 = 500.0 / 348e6;

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

/// Whether `written` is more surely `meant` misspelt than a name by itself.
pub(super) fn is_likelier(meant: &str, written: &str) -> bool {
    let edit = Edit::between(meant, written);
    let (Some(slip), Some(name)) = (edit.likelihood(), spelt(written)) else { return false };
    let needed = if edit.is_how_names_vary() { SURE * VARIED } else { SURE };
    // Two letters are too little to see a slip in.
    edit.length > 2 && written.len() > 2 && slip >= needed * (UNLISTED * name).min(MOST)
}

/// What must be done to the first of two words to get the second, one edit away.
pub(super) struct Edit {
    /// The letters in which they differ, of either.
    letters: [Vec<char>; 2],
    /// The letters before and behind those.
    beside: [Option<char>; 2],
    /// Of the first word.
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

/// A letter's place; 0 stands for the begin and the end.
fn place(letter: u8) -> Option<usize> {
    letter.is_ascii_uppercase().then(|| usize::from(letter - b'A') + 1)
}

const PLACES: usize = 27;

/// How often letters follow on one another in the given names in use, each name counted once.
struct Letters {
    three: Vec<f64>,
    /// Of two, what follows them.
    two: Vec<f64>,
    /// Of two, wherever they stand; and of one, what follows it.
    pair: Vec<f64>,
    one: Vec<f64>,
}

static IN_USE: LazyLock<Letters> = LazyLock::new(|| {
    let mut letters = Letters {
        three: vec![0.0; PLACES * PLACES * PLACES],
        two: vec![0.0; PLACES * PLACES],
        pair: vec![0.0; PLACES * PLACES],
        one: vec![0.0; PLACES],
    };
    for [a, b, c] in given::all().filter_map(threes).flatten() {
        add(&mut letters.three, (a * PLACES + b) * PLACES + c);
        add(&mut letters.two, a * PLACES + b);
        add(&mut letters.pair, b * PLACES + c);
        add(&mut letters.one, b);
    }
    letters
});

fn add(counts: &mut [f64], at: usize) {
    if let Some(count) = counts.get_mut(at) {
        *count += 1.0;
    }
}

/// Each three letters in a row, with its begin twice and its end; none where it has other letters than A to Z.
fn threes(word: &str) -> Option<Vec<[usize; 3]>> {
    let letters: Option<Vec<usize>> = word.bytes().map(place).collect();
    let whole: Vec<usize> = [0, 0].into_iter().chain(letters?).chain([0]).collect();
    Some(whole.array_windows().copied().collect())
}

/// How often a given name is spelt like this, as far as its letters tell: the product of how often each follows on the
/// two before it. What is seldom counted leans on the letter before alone.
fn spelt(word: &str) -> Option<f64> {
    let at = |counts: &[f64], at: usize| counts.get(at).copied().unwrap_or(0.0);
    let letters = &*IN_USE;
    let follows = |[a, b, c]: [usize; 3]| {
        let after_one = (at(&letters.pair, b * PLACES + c) + 0.5) / (at(&letters.one, b) + 0.5 * 27.0);
        let after_two = a * PLACES + b;
        (at(&letters.three, after_two * PLACES + c) + 5.0 * after_one) / (at(&letters.two, after_two) + 5.0)
    };
    Some(threes(word)?.into_iter().map(follows).product())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_is_told_from_a_name() {
        for (meant, written) in [
            ("JACK", "JADK"),
            ("HOLLY", "HOLLH"),
            ("NICHOLAS", "NICHOKAS"),
            ("DOMINIC", "DOMINCI"),
            ("BENJAMIN", "BENJAYMIN"),
            ("CHARLOTTE", "CHAROTTE"),
            ("LAUREN", "LAURDN"),
        ] {
            assert!(is_likelier(meant, written), "{meant} {written}");
        }
        for (meant, written) in [
            ("ALICE", "ALUCE"),
            ("TALIA", "TAALIA"),
            ("DANIEL", "DANJEL"),
            ("SARAH", "SAAH"),
            ("MARY", "MHARY"),
            ("INDIANA", "INDYANA"),
            ("KYLE", "KYLEH"),
            ("TAHLIA", "TAALIA"),
            ("ZOE", "ZO"),
            ("ZOE", "ZOH"),
        ] {
            assert!(!is_likelier(meant, written), "{meant} {written}");
        }
    }

    #[test]
    fn likelihoods_add_up_to_no_more_than_one() {
        let word = "MARTIN";
        let letters = || 'A'..='Z';
        let mut all = std::collections::BTreeSet::new();
        for at in 0..=word.len() {
            let (head, tail) = word.split_at(at);
            for letter in letters() {
                all.insert(format!("{head}{letter}{tail}"));
                if let Some(rest) = tail.get(1..) {
                    all.extend([format!("{head}{letter}{rest}"), format!("{head}{rest}")]);
                }
            }
            if let (Some(first), Some(second), Some(rest)) = (tail.get(..1), tail.get(1..2), tail.get(2..)) {
                all.insert(format!("{head}{second}{first}{rest}"));
            }
        }
        all.remove(word);
        let sum: f64 = all.iter().filter_map(|written| Edit::between(word, written).likelihood()).sum();
        assert!((0.7..1.0).contains(&sum), "{sum}");
        let names: f64 = ["ANNA", "MARIA", "JACK"].into_iter().filter_map(spelt).sum();
        assert!((1e-6..1e-2).contains(&names), "{names}");
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
