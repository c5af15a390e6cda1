//! Questions of a plan: asked once, numbered in the order they come up, answered from the ledger.

use std::collections::BTreeMap;

use crate::model::day::{Question, QuestionId, QuestionKind};
use crate::plan::snapshot::Asked;

/// The questions of one plan.
pub(super) struct Questions<'a> {
    asked: &'a BTreeMap<(QuestionKind, String), Asked>,
    next: u32,
    open: BTreeMap<(QuestionKind, String), Question>,
}

impl<'a> Questions<'a> {
    /// `next` is the number of the first question that is new.
    pub(super) const fn new(asked: &'a BTreeMap<(QuestionKind, String), Asked>, next: u32) -> Self {
        Self { asked, next, open: BTreeMap::new() }
    }

    /// The seller's answer, where the question was asked before and answered.
    pub(super) fn answer(&self, kind: QuestionKind, key: &str) -> Option<&'a str> {
        self.asked.get(&(kind, key.to_owned()))?.answer.as_deref()
    }

    /// Asks, or adds `about` to the question where it is open already.
    pub(super) fn ask(&mut self, kind: QuestionKind, key: &str, about: &str, text: String, choices: Vec<String>) {
        let index = (kind, key.to_owned());
        if let Some(open) = self.open.get_mut(&index) {
            if !open.about.iter().any(|known| known == about) {
                open.about.push(about.to_owned());
            }
            return;
        }
        let id = self.asked.get(&index).map_or_else(
            || {
                let id = QuestionId(self.next);
                self.next += 1;
                id
            },
            |asked| asked.id,
        );
        let question = Question { id, kind, key: key.to_owned(), about: vec![about.to_owned()], text, choices };
        self.open.insert(index, question);
    }

    /// Those without an answer, by number.
    pub(super) fn open(self) -> Vec<Question> {
        let mut open: Vec<Question> = self.open.into_values().collect();
        open.sort_by_key(|question| question.id);
        open
    }
}
