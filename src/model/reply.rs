//! What the seller can answer to each kind of question, as types.
//!
//! A word that was said becomes one of these at the ledger's wall; the choices that a question shows are made from
//! the same lists. Turned down: words compared where they are needed, by which every word but one meant no.

use std::collections::BTreeSet;
use std::fmt;
use std::str::FromStr;

use jiff::civil::Date;

use super::catalogue::Code;
use super::subject::Subject;

/// A word that is no answer to its question.
#[derive(Debug, thiserror::Error, PartialEq, Eq)]
#[error("`{0}` is no answer to this question")]
pub struct NoReply(pub String);

/// An enum of answers that are one word each.
macro_rules! replies {
    ($(#[$about:meta])* $name:ident { $($(#[$doc:meta])* $variant:ident = $word:literal,)+ }) => {
        $(#[$about])*
        #[derive(Clone, Copy, PartialEq, Eq, Debug)]
        pub enum $name {
            $($(#[$doc])* $variant,)+
        }

        impl $name {
            /// All of them, in the order they are offered.
            pub const ALL: &[Self] = &[$(Self::$variant),+];

            /// The word that is shown and said.
            #[must_use]
            pub const fn word(self) -> &'static str {
                match self {
                    $(Self::$variant => $word,)+
                }
            }

            /// The words of all of them.
            #[must_use]
            pub fn choices() -> Vec<String> {
                Self::ALL.iter().map(ToString::to_string).collect()
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(self.word())
            }
        }

        impl FromStr for $name {
            type Err = NoReply;

            fn from_str(word: &str) -> Result<Self, Self::Err> {
                Self::ALL.iter().copied().find(|one| one.word() == word).ok_or_else(|| NoReply(word.to_owned()))
            }
        }
    };
}

replies! {
    /// Whether an order is the one that was known before.
    SameOrder {
        /// It is.
        Same = "same",
        /// It is one of its own.
        Another = "another",
    }
}

replies! {
    /// How a source writes its dates.
    Dates {
        /// The day before the month.
        DayFirst = "day-first",
        /// The month before the day.
        MonthFirst = "month-first",
    }
}

replies! {
    /// Where something goes that could go in an open parcel.
    OpenParcel {
        /// Packed anew with what lies in it.
        WithIt = "with-it",
        /// In a parcel of its own.
        Apart = "apart",
    }
}

replies! {
    /// Whether a part goes before the rest.
    Part {
        /// It does.
        Part = "part",
        /// It waits for all.
        Wait = "wait",
    }
}

replies! {
    /// Whether what was added after an order was listed goes too.
    Changed {
        /// It does.
        Send = "send",
        /// It doesn't.
        Leave = "leave",
    }
}

replies! {
    /// What goes of an order that was paid back in part.
    PartRefunded {
        /// All of it.
        All = "all",
        /// What its latest export still has.
        StillListed = "still-listed",
        /// Nothing more.
        Leave = "leave",
    }
}

replies! {
    /// What becomes of listed parcels of which something no longer holds.
    OnTheTable {
        /// They are taken off the list, and what of them still goes is packed anew.
        PackAnew = "pack-anew",
        /// They went with what was called off.
        Went = "went",
        /// They go as they lie there.
        Leave = "leave",
    }
}

replies! {
    /// Whether a buyer's words ask for a parcel of its own.
    Wish {
        /// They do.
        Apart = "apart",
        /// They don't.
        Together = "together",
    }
}

replies! {
    /// Whether something goes before what is older.
    Before {
        /// It does.
        Send = "send",
        /// It waits.
        Wait = "wait",
    }
}

/// What to make of an address.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Address {
    /// This postal code, or state, is the right one.
    Mended(String),
    /// Nothing is sent there as it stands.
    Leave,
}

/// The word for an address that stays as it is.
const LEAVE: &str = "leave";

impl fmt::Display for Address {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Mended(place) => f.write_str(place),
            Self::Leave => f.write_str(LEAVE),
        }
    }
}

impl From<&str> for Address {
    fn from(word: &str) -> Self {
        if word == LEAVE { Self::Leave } else { Self::Mended(word.to_owned()) }
    }
}

/// Of which hand-off a picture is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum ReceiptPicture {
    /// That of this day.
    Of(Date),
    /// Of none.
    None,
}

/// The word for a picture of no hand-off.
const NONE: &str = "none";

impl fmt::Display for ReceiptPicture {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Of(day) => day.fmt(f),
            Self::None => f.write_str(NONE),
        }
    }
}

impl FromStr for ReceiptPicture {
    type Err = NoReply;

    fn from_str(word: &str) -> Result<Self, Self::Err> {
        if word == NONE {
            return Ok(Self::None);
        }
        word.parse().map(Self::Of).map_err(|_| NoReply(word.to_owned()))
    }
}

/// Which groups of a question are one recipient.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum SameRecipient {
    /// All.
    Together,
    /// None with any other.
    Apart,
    /// These, counted from 1; the others are apart. Written `1+3`.
    These(BTreeSet<usize>),
}

/// The words for all and for none.
const TOGETHER: &str = "together";
const APART: &str = "apart";

impl fmt::Display for SameRecipient {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Together => f.write_str(TOGETHER),
            Self::Apart => f.write_str(APART),
            Self::These(groups) => {
                let groups: Vec<String> = groups.iter().map(ToString::to_string).collect();
                f.write_str(&groups.join("+"))
            }
        }
    }
}

impl FromStr for SameRecipient {
    type Err = NoReply;

    fn from_str(word: &str) -> Result<Self, Self::Err> {
        match word {
            TOGETHER => Ok(Self::Together),
            APART => Ok(Self::Apart),
            some => match some.split('+').map(str::parse).collect::<Result<BTreeSet<usize>, _>>() {
                Ok(groups) if groups.len() > 1 => Ok(Self::These(groups)),
                Ok(_) | Err(_) => Err(NoReply(word.to_owned())),
            },
        }
    }
}

/// An answer, with the kind of question it is to.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Reply {
    /// The words of a line mean this article.
    Article(Code),
    /// To a doubtful address.
    Address(Address),
    /// To who is who.
    SameRecipient(SameRecipient),
    /// To what was added after an order was listed.
    Changed(Changed),
    /// To what is left of an order that was paid back in part.
    PartRefunded(PartRefunded),
    /// To dates that may be two days.
    Dates(Dates),
    /// To a number that came for somebody else.
    ReusedNumber(SameOrder),
    /// To two orders of two sources.
    SameOrder(SameOrder),
    /// To something that could go in an open parcel.
    OpenParcel(OpenParcel),
    /// To listed parcels of which something no longer holds.
    OnTheTable(OnTheTable),
    /// To a part that could go before the rest.
    Part(Part),
    /// To an order in several wordings: the words of the one that holds, or `both` or `all`.
    Reworded(String),
    /// To a note that may ask for a parcel of its own.
    Wish(Wish),
    /// To something that could go before what is older.
    Before(Before),
    /// To a hand-off that was told with several days.
    HandOff(Date),
    /// To a picture of a receipt.
    ReceiptPicture(ReceiptPicture),
}

impl Reply {
    /// Reads one of the choices of a question about `subject`.
    ///
    /// # Errors
    /// [`NoReply`] where it is none; what is missing in a file of the home is answered there, and takes no word.
    pub fn read(subject: &Subject, word: &str) -> Result<Self, NoReply> {
        Ok(match subject {
            Subject::Article { .. } => Self::Article(Code(word.to_owned())),
            Subject::Address { .. } => Self::Address(word.into()),
            Subject::SameRecipient { .. } => Self::SameRecipient(word.parse()?),
            Subject::Changed { .. } => Self::Changed(word.parse()?),
            Subject::PartRefunded { .. } => Self::PartRefunded(word.parse()?),
            Subject::Dates { .. } => Self::Dates(word.parse()?),
            Subject::ReusedNumber { .. } => Self::ReusedNumber(word.parse()?),
            Subject::SameOrder { .. } => Self::SameOrder(word.parse()?),
            Subject::OpenParcel { .. } => Self::OpenParcel(word.parse()?),
            Subject::OnTheTable { .. } => Self::OnTheTable(word.parse()?),
            Subject::Part { .. } => Self::Part(word.parse()?),
            Subject::Reworded { .. } => Self::Reworded(word.to_owned()),
            Subject::Wish { .. } => Self::Wish(word.parse()?),
            Subject::Before { .. } => Self::Before(word.parse()?),
            Subject::HandOff { .. } => Self::HandOff(word.parse().map_err(|_| NoReply(word.to_owned()))?),
            Subject::ReceiptPicture { .. } => Self::ReceiptPicture(word.parse()?),
            Subject::Mass { .. } | Subject::Customs { .. } => return Err(NoReply(word.to_owned())),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn some_of_several_groups_are_one_and_a_single_group_says_nothing() {
        let these = |groups: &[usize]| Ok(SameRecipient::These(groups.iter().copied().collect()));
        for (word, read) in [("1+3", these(&[1, 3])), ("together", Ok(SameRecipient::Together)), ("2", Err(()))] {
            assert_eq!(word.parse::<SameRecipient>().map_err(drop), read, "{word}");
        }
    }

    #[test]
    fn a_word_of_another_question_is_no_answer() {
        let dates = Subject::Dates { source: "stall".into() };
        assert_eq!(Reply::read(&dates, "day-first"), Ok(Reply::Dates(Dates::DayFirst)));
        assert_eq!(Reply::read(&dates, "same"), Err(NoReply("same".into())));
        let mass = Subject::Mass { article: Code("GULL".into()) };
        assert!(Reply::read(&mass, "12").is_err());
    }
}
