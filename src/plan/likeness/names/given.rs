//! Given names in use, and what is one of them misspelt.
//!
//! Handed parts of names; promises that two names in use are never taken for one another, and that of what is no name
//! in use only that is taken for a slip which nobody would be called, or which is hidden in a long name. Turned down:
//! edits counted alone, which make one person of the sisters Talia and Taalia.

use std::collections::{BTreeSet, HashSet};
use std::sync::LazyLock;

use super::super::standard::{Digraphs, letters};

static GIVEN_NAMES: LazyLock<HashSet<&str>> =
    LazyLock::new(|| include_str!("given_names.txt").lines().filter(|line| !line.starts_with('#')).collect());

/// Three letters in a row, as some given name has them; its begin and end count as letters.
static IN_USE: LazyLock<HashSet<[char; 3]>> =
    LazyLock::new(|| GIVEN_NAMES.iter().flat_map(|name| threes(name)).collect());

/// What stands before and behind a name.
const EDGE: char = '_';

/// From so many letters on a slip within the name leaves it easily known again.
const LONG: usize = 7;

fn threes(name: &str) -> Vec<[char; 3]> {
    let letters: Vec<char> = [EDGE].into_iter().chain(name.chars()).chain([EDGE]).collect();
    letters.array_windows().copied().collect()
}

/// Whether it is among the given names in use that the program knows.
pub(super) fn is_given(part: &str) -> bool {
    GIVEN_NAMES.contains(part)
}

/// The given names in the first half of an email address, where they stand as words of their own.
#[must_use]
pub fn given_in(local: &str) -> BTreeSet<String> {
    let words = local.to_uppercase();
    let words = words.split(|c: char| !c.is_alphabetic());
    words.filter(|word| word.len() > 2 && is_given(word)).map(str::to_owned).collect()
}

/// Whether two parts one edit apart are one given name, one of them misspelt.
///
/// Two letters behind the first in the wrong order are a slip ("Benjmain"), but for two vowels ("Keira", "Kiera") and
/// the Y that wanders in names ("Taylah", "Talyah"). Else one must be a name in use, and the other hold three letters
/// in a row that no name has ("Jadk", "Hollh"), or be long and have slipped at a consonant in its midst ("Nichokas").
/// What reads like a name might be one: vowels, doubled ones above all ("Taalia"), H and R ("Tahlia", "Tiarna") and
/// what is dropped, first or last ("Kyle", "Kyee") tell too many names apart.
pub(super) fn is_misspelt(x: &str, y: &str) -> bool {
    let edit = Edit::between(x, y);
    let (name, other) = match (is_given(x), is_given(y)) {
        (true, false) => (x, y),
        (false, true) => (y, x),
        (false, false) => return edit.turns_round_a_consonant(),
        (true, true) => return false,
    };
    if edit.doubles_a_vowel() {
        return false;
    }
    let sounds_like_a_name = threes(other).iter().all(|three| IN_USE.contains(three));
    let (letters, left) = (name.chars().count(), other.chars().count());
    let in_the_midst = edit.is_inside && left >= letters && edit.is_at_a_consonant();
    !sounds_like_a_name
        || edit.turns_round_a_consonant()
        || in_the_midst && (letters >= LONG || letters + 1 >= LONG && edit.is_of_another_kind())
}

/// Whether they are spellings of one name with an umlaut: "Jürgen", "Juergen". Not å, which would make one of "Talia"
/// and "Taalia".
pub(super) fn is_umlaut(x: &str, y: &str) -> bool {
    let doubled = |text: &str| text.contains("AA");
    letters(x, Digraphs::Umlauts) == letters(y, Digraphs::Umlauts) && !doubled(x) && !doubled(y)
}

/// What differs between two parts one edit apart.
struct Edit {
    /// The letters that only one of them has there, of either.
    letters: [Vec<char>; 2],
    /// The letters before and behind.
    beside: [Option<char>; 2],
    /// Neither at the begin nor at the end.
    is_inside: bool,
}

impl Edit {
    fn between(x: &str, y: &str) -> Self {
        let (x, y): (Vec<char>, Vec<char>) = (x.chars().collect(), y.chars().collect());
        let front = x.iter().zip(&y).take_while(|(x, y)| x == y).count();
        let most = x.len().min(y.len()) - front;
        let back = x.iter().rev().zip(y.iter().rev()).take(most).take_while(|(x, y)| x == y).count();
        let middle = |all: &[char]| all.iter().skip(front).take(all.len() - front - back).copied().collect();
        let before = front.checked_sub(1).and_then(|at| x.get(at)).copied();
        let behind = x.get(x.len() - back).copied();
        Self { letters: [middle(&x), middle(&y)], beside: [before, behind], is_inside: front > 0 && back > 0 }
    }

    fn doubles_a_vowel(&self) -> bool {
        match &self.letters {
            [one, none] | [none, one] if none.is_empty() => {
                one.iter().any(|c| is_vowel(*c) && self.beside.contains(&Some(*c)))
            }
            [_, _] => false,
        }
    }

    /// Two letters behind the first changed places, one of them a consonant, and neither is a Y.
    fn turns_round_a_consonant(&self) -> bool {
        let [one, other] = &self.letters;
        let is_turned = one.len() == 2 && one.iter().eq(other.iter().rev());
        is_turned && self.beside[0].is_some() && !one.iter().all(|c| is_vowel(*c)) && !one.contains(&'Y')
    }

    /// A vowel for a consonant that is no half vowel, or the other way round.
    fn is_of_another_kind(&self) -> bool {
        match &self.letters {
            [x, y] => match (x.as_slice(), y.as_slice()) {
                ([x], [y]) => is_vowel(*x) != is_vowel(*y) && ![x, y].iter().any(|c| "JW".contains(**c)),
                (_, _) => false,
            },
        }
    }

    /// At one that isn't doubled and makes no other name of it by itself.
    fn is_at_a_consonant(&self) -> bool {
        let all = self.letters.iter().flatten();
        let doubled = self.letters.iter().any(Vec::is_empty) && all.clone().any(|c| self.beside.contains(&Some(*c)));
        !doubled && all.clone().any(|c| !is_vowel(*c) && !"HR".contains(*c))
    }
}

fn is_vowel(c: char) -> bool {
    "AEIOUY".contains(c)
}
