//! Asking on which day a parcel was handed over, where its sheets say several.
//!
//! Handed parcels whose sheets disagree; promises one question each till it is answered, or till the sheets agree. Until
//! then the earliest day holds. Turned down: the day of the sheet that was written later, in silence, by which a slip of
//! the hand moved the days on which claims open and close.

use crate::model::subject::Subject;
use crate::plan::snapshot::{Snapshot, ToldTwice};

use super::questions::Questions;

/// Asks of each parcel.
pub(super) fn ask(snapshot: &Snapshot, questions: &mut Questions<'_>) {
    for ToldTwice { parcel, name, holds, days } in &snapshot.told_twice {
        let subject = Subject::HandOff { parcel: parcel.clone(), days: days.clone() };
        let Some((first, later)) = days.split_first().filter(|_| questions.reply(&subject).is_none()) else { continue };
        let later: Vec<String> = later.iter().map(ToString::to_string).collect();
        let text = format!(
            "{} for {name} was handed over on {first} by one sheet, and on {} by another: which day was it? {first} \
             counts till you say",
            parcel.parcel,
            later.join(" and on ")
        );
        let choices: Vec<String> = days.iter().map(ToString::to_string).collect();
        for id in holds {
            questions.ask(subject.clone(), id.clone().into(), text.clone(), choices.clone());
        }
    }
}
