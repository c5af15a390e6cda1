//! Questions of a plan: asked once, numbered in the order they come up, answered from the ledger.

use std::collections::BTreeMap;

use crate::model::day::{About, Question, QuestionId};
use crate::model::reply::Reply;
use crate::model::subject::Subject;
use crate::plan::snapshot::Asked;

/// The questions of one plan.
pub(super) struct Questions<'a> {
    asked: &'a BTreeMap<Subject, Asked>,
    next: u32,
    open: BTreeMap<Subject, Question>,
}

impl<'a> Questions<'a> {
    /// `next` is the number of the first question that is new.
    pub(super) const fn new(asked: &'a BTreeMap<Subject, Asked>, next: u32) -> Self {
        Self { asked, next, open: BTreeMap::new() }
    }

    /// The seller's answer, where the question was asked before and answered.
    pub(super) fn reply(&self, subject: &Subject) -> Option<&'a Reply> {
        self.asked.get(subject)?.reply.as_ref()
    }

    /// All that were asked before, with their answers.
    pub(super) fn replies(&self) -> impl Iterator<Item = (&'a Subject, &'a Reply)> {
        self.asked.iter().filter_map(|(subject, asked)| Some((subject, asked.reply.as_ref()?)))
    }

    /// Asks, or adds `about` to the question where it is open already.
    pub(super) fn ask(&mut self, subject: Subject, about: About, text: String, choices: Vec<String>) {
        if let Some(open) = self.open.get_mut(&subject) {
            if !open.about.contains(&about) {
                open.about.push(about);
            }
            return;
        }
        let id = self.asked.get(&subject).map_or_else(
            || {
                let id = QuestionId(self.next);
                self.next += 1;
                id
            },
            |asked| asked.id,
        );
        let question = Question { id, subject: subject.clone(), about: vec![about], text, choices };
        self.open.insert(subject, question);
    }

    /// Those without an answer, by number.
    pub(super) fn open(self) -> Vec<Question> {
        let mut open: Vec<Question> = self.open.into_values().collect();
        open.sort_by_key(|question| question.id);
        open
    }
}
