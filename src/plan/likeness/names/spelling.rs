//! How often a name is spelt so, as far as its letters tell.
//!
//! Handed the names in use of one field; promises a share for any word of A to Z, so that of two words on no list the one
//! with the odder letters is the rarer. Turned down: one table for given names and surnames, whose letters follow on
//! one another otherwise ("Wsz" begins no given name).

/// A letter's place; 0 stands for the begin and the end.
fn place(letter: u8) -> Option<usize> {
    letter.is_ascii_uppercase().then(|| usize::from(letter - b'A') + 1)
}

const PLACES: usize = 27;

/// How often letters follow on one another in the names in use, each name counted once.
pub(super) struct Spelling {
    three: Vec<f64>,
    /// Of two, what follows them.
    two: Vec<f64>,
    /// Of two, wherever they stand; and of one, what follows it.
    pair: Vec<f64>,
    one: Vec<f64>,
}

impl Spelling {
    /// Of the names in use.
    pub(super) fn of<'n>(names: impl Iterator<Item = &'n str>) -> Self {
        let mut letters = Self {
            three: vec![0.0; PLACES * PLACES * PLACES],
            two: vec![0.0; PLACES * PLACES],
            pair: vec![0.0; PLACES * PLACES],
            one: vec![0.0; PLACES],
        };
        for [a, b, c] in names.filter_map(threes).flatten() {
            add(&mut letters.three, (a * PLACES + b) * PLACES + c);
            add(&mut letters.two, a * PLACES + b);
            add(&mut letters.pair, b * PLACES + c);
            add(&mut letters.one, b);
        }
        letters
    }

    /// The share of names that are spelt like this: the product of how often each letter follows on the two before it.
    /// What is seldom counted leans on the letter before alone. None where a letter is none of A to Z.
    pub(super) fn share(&self, word: &str) -> Option<f64> {
        let at = |counts: &[f64], at: usize| counts.get(at).copied().unwrap_or(0.0);
        let follows = |[a, b, c]: [usize; 3]| {
            let after_one = (at(&self.pair, b * PLACES + c) + 0.5) / (at(&self.one, b) + 0.5 * 27.0);
            let after_two = a * PLACES + b;
            (at(&self.three, after_two * PLACES + c) + 5.0 * after_one) / (at(&self.two, after_two) + 5.0)
        };
        Some(threes(word)?.into_iter().map(follows).product())
    }
}

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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn odder_letters_are_rarer_and_shares_add_up_to_less_than_one() {
        let spelling = Spelling::of(["ANNA", "HANNA", "JOHANNA", "ANN", "MARIA", "MARIANNE"].into_iter());
        let share = |word: &str| spelling.share(word).unwrap_or(0.0);
        assert!(share("ANNA") > 10.0 * share("ANNQ"), "{} {}", share("ANNA"), share("ANNQ"));
        let letters = || 'A'..='Z';
        let twos = letters().flat_map(|a| letters().map(move |b| format!("{a}{b}")));
        let sum: f64 = twos.map(|word| share(&word)).sum();
        assert!((0.0001..0.5).contains(&sum), "{sum}");
        assert_eq!(spelling.share("ANN4"), None);
    }
}
