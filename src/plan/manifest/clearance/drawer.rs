//! What is left in the drawer, and for whom it is kept.
//!
//! Promises that the last pieces go by date: what an older order or trade waits for is kept for it while it waits for
//! more, and a younger one gets it only by the seller's answer. Turned down: giving them to whoever can go today, by
//! which an order for two pieces never goes as long as others come for one.

use std::collections::BTreeMap;

use crate::model::catalogue::{Article, Code};
use crate::model::day::HoldReason;
use crate::model::parcel::Item;
use crate::model::reply::{self, Reply};
use crate::model::sending::SendingId;
use crate::model::subject::Subject;

use super::{Desk, No, Wanted};

/// Pieces of counted articles, after what is promised and what this plan takes.
#[derive(Clone, Default)]
pub(super) struct Drawer {
    free: BTreeMap<Code, u32>,
    kept: Vec<Kept>,
}

#[derive(Clone)]
struct Kept {
    whose: SendingId,
    code: Code,
    count: u32,
}

impl Desk<'_, '_> {
    fn free(&self, article: &Article) -> Option<u32> {
        let on_hand = article.on_hand?;
        let promised = self.snapshot.promised.get(&article.code).copied().unwrap_or(0);
        Some(self.left.free.get(&article.code).copied().unwrap_or_else(|| on_hand.saturating_sub(promised)))
    }

    /// Takes all of `found`, or nothing.
    pub(super) fn take_stock(&mut self, id: &SendingId, found: &[(&Wanted<'_>, &Article)]) -> Result<(), No> {
        let mut need: BTreeMap<&Code, (u32, &Article)> = BTreeMap::new();
        for (want, article) in found {
            need.entry(&article.code).or_insert((0, *article)).0 += want.quantity;
        }
        let mut after = self.left.clone();
        for (code, (quantity, article)) in need {
            let Some(free) = self.free(article) else { continue };
            after.free.insert(code.clone(), free.saturating_sub(quantity));
            let mut lacks = quantity.saturating_sub(free);
            for kept in after.kept.iter_mut().filter(|kept| kept.code == *code && kept.whose != *id) {
                if self.questions.reply(&before(id, &kept.whose)) == Some(&Reply::Before(reply::Before::Send)) {
                    let taken = lacks.min(kept.count);
                    (lacks, kept.count) = (lacks - taken, kept.count - taken);
                }
            }
            if lacks > 0 {
                return Err(self.not_enough(id, code, quantity, free, &after));
            }
        }
        self.left = after;
        Ok(())
    }

    /// Why there are not enough; where there would be without what is kept for others, whether it goes before them is
    /// asked once.
    fn not_enough(&mut self, id: &SendingId, code: &Code, quantity: u32, free: u32, drawer: &Drawer) -> No {
        let others = |kept: &&Kept| kept.code == *code && kept.whose != *id && kept.count > 0;
        let whose: Vec<&Kept> = drawer.kept.iter().filter(others).collect();
        let kept: u32 = whose.iter().map(|kept| kept.count).sum();
        if whose.is_empty() || free + kept < quantity {
            let text = format!(
                "needs {quantity} × `{code}`, {} left; goes once on_hand in catalogue.csv is counted up",
                free + kept
            );
            return No::new(HoldReason::Stock, text);
        }
        let others: Vec<String> = whose.iter().map(|kept| kept.whose.to_string()).collect();
        let others = others.join(", ");
        let mut waits = "goes once on_hand in catalogue.csv is counted up, or by your answer";
        for kept in &whose {
            let subject = before(id, &kept.whose);
            if self.questions.reply(&subject).is_some() {
                waits = "you said that it waits; goes once on_hand in catalogue.csv is counted up";
                continue;
            }
            let text = format!(
                "{id} needs {quantity} × `{code}`, and what is left is kept for {}, which came before it and waits for \
                 more: send {id} first?",
                kept.whose
            );
            self.questions.ask(subject, id.clone().into(), text, reply::Before::choices());
        }
        let text = format!(
            "needs {quantity} × `{code}`, and the last {kept} are kept for {others}, which came before it; {waits}"
        );
        No::new(HoldReason::Stock, text)
    }

    /// Keeps what there is of what `id` waits for: of what it wants and `goes` doesn't hold, the articles of which there
    /// are not enough. What is there in full is free for whom all is there for.
    pub(super) fn keep(&mut self, id: &SendingId, wanted: &[Wanted<'_>], goes: &[Item]) {
        let mut needs: BTreeMap<&Code, (u32, &Article)> = BTreeMap::new();
        for want in wanted.iter().filter(|want| !goes.iter().any(|item| item.for_ == want.for_)) {
            if let Some(article) = self.known_article(want.code, want.title) {
                needs.entry(&article.code).or_insert((0, article)).0 += want.quantity;
            }
        }
        for (code, (need, article)) in needs {
            let Some(free) = self.free(article).filter(|free| (1..need).contains(free)) else { continue };
            self.left.free.insert(code.clone(), 0);
            self.left.kept.push(Kept { whose: id.clone(), code: code.clone(), count: free });
        }
    }
}

/// The question whether `id` goes before `older`.
fn before(id: &SendingId, older: &SendingId) -> Subject {
    Subject::Before { younger: id.clone(), older: older.clone() }
}
