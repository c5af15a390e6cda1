//! Every roll that some of a parcel's loose pieces can make.
//!
//! Pieces alike are interchangeable, so a roll is so many of each kind. Each roll is listed once, under its leader: of
//! the kinds on it the one that asks for the longest strip by itself. Thirty pins all unlike one another make 174,436
//! rolls of five or fewer, where no width forbids some; more than [`MOST`] are not listed, and the caller does without.

use super::least::{Filled, Kind, Micro, Strip};

/// Rolls that are listed at most.
const MOST: usize = 400_000;

/// A roll that can be made.
pub(super) struct Candidate {
    /// Area of its strip.
    pub(super) area: Micro,
    /// What it measures.
    pub(super) filled: Filled,
    /// Where its pieces stand in [`Candidates::kinds_of`]'s list.
    from: usize,
    to: usize,
}

/// All of them.
pub(super) struct Candidates {
    all: Vec<Candidate>,
    /// The kind of each piece, roll after roll: three of a kind stand there three times.
    pieces: Vec<usize>,
    /// For each kind, where the rolls that it leads begin.
    led: Vec<usize>,
}

impl Candidates {
    /// The rolls of `kinds`, which come by falling length of their own strip; `None` where there are more than are listed.
    pub(super) fn of(kinds: &[Kind], strip: &Strip) -> Option<Self> {
        let mut listing = Listing {
            kinds,
            strip,
            roll: Vec::new(),
            found: Self { all: Vec::new(), pieces: Vec::new(), led: Vec::new() },
        };
        for (leader, kind) in kinds.iter().enumerate() {
            listing.found.led.push(listing.found.all.len());
            listing.roll.push(leader);
            listing.extend(leader, strip.with(None, &kind.piece))?;
            listing.roll.pop();
        }
        Some(listing.found)
    }

    pub(super) fn all(&self) -> &[Candidate] {
        &self.all
    }

    /// The rolls that a kind leads, and the number of the first of them.
    pub(super) fn led_by(&self, kind: usize) -> (usize, &[Candidate]) {
        let start = self.led.get(kind).copied().unwrap_or(self.all.len());
        let end = self.led.get(kind + 1).copied().unwrap_or(self.all.len());
        (start, self.all.get(start..end).unwrap_or_default())
    }

    /// The kinds of a roll's pieces, rising; its leader is the first.
    pub(super) fn kinds_of(&self, candidate: &Candidate) -> &[usize] {
        self.pieces.get(candidate.from..candidate.to).unwrap_or_default()
    }
}

struct Listing<'a> {
    kinds: &'a [Kind],
    strip: &'a Strip,
    roll: Vec<usize>,
    found: Candidates,
}

impl Listing<'_> {
    /// Lists the roll as it is and with every choice of further pieces from kind `from` on.
    fn extend(&mut self, from: usize, filled: Filled) -> Option<()> {
        if self.found.all.len() >= MOST {
            return None;
        }
        let start = self.found.pieces.len();
        self.found.pieces.extend(&self.roll);
        let to = self.found.pieces.len();
        self.found.all.push(Candidate { area: self.strip.area(filled), filled, from: start, to });
        for (next, kind) in self.kinds.iter().enumerate().skip(from) {
            let more = self.strip.with(Some(filled), &kind.piece);
            let laid = self.roll.iter().rev().take_while(|laid| **laid == next).count();
            if laid < kind.places.len() && self.strip.fits(more) {
                self.roll.push(next);
                self.extend(next, more)?;
                self.roll.pop();
            }
        }
        Some(())
    }
}
