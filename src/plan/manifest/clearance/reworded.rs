//! Orders that were told in two wordings.
//!
//! Handed a due order of which some lines were never told together; promises that of two wordings of one line never both
//! go without an answer, and that what came in two files goes whole where the total says that it is all of the order.
//! Which file came first decides nothing. Turned down: the latest telling alone, as an old export that is dropped late
//! would bring the old article back; and both, which sends one pin twice.

use std::collections::BTreeSet;

use rust_decimal::Decimal;

use crate::model::catalogue::Article;
use crate::model::day::HoldReason;
use crate::model::money::Money;
use crate::model::order::{Order, OrderLine};
use crate::model::reply::Reply;
use crate::model::sending::SendingId;
use crate::model::subject::Subject;
use crate::plan::snapshot::DueOrder;
use crate::plan::wording::costs_alike;

use super::{Desk, No};

/// The due order with each line once, and what to say of how that was told.
pub(super) struct OneWording {
    pub(super) due: DueOrder,
    pub(super) why: Vec<String>,
}

impl<'a> Desk<'a, '_> {
    /// The order in the one wording of its lines that is sure or was answered.
    pub(super) fn one_wording(&mut self, due: &DueOrder) -> Result<OneWording, No> {
        let mut lines = due.order.lines.clone();
        let mut why = Vec::new();
        // What is in parcels isn't among the lines, and the sums tell nothing then.
        let comes_to_total = comes_to_total(&due.order, &lines).filter(|_| due.already_in.is_empty());
        if comes_to_total == Some(true) {
            return Ok(OneWording { due: due.clone(), why });
        }
        for (one, other) in &due.rivals {
            let [Some(one), Some(other)] = [one, other].map(|key| lines.iter().find(|line| line.line == *key)) else {
                continue;
            };
            if let Some((gone, stays)) = self.replaced(due, one, other).filter(|_| comes_to_total == Some(false)) {
                why.push(format!(
                    "`{}` of another export goes as `{}`, by the order's total",
                    gone.words(),
                    stays.words()
                ));
                let gone = gone.line.clone();
                lines.retain(|line| line.line != gone);
            }
        }
        let sides = sides(&lines, due, comes_to_total);
        if let [_, _, ..] = sides.as_slice() {
            let keep = self.which_holds(&sides, due)?;
            let gone: BTreeSet<&String> = sides
                .iter()
                .zip(0..)
                .filter(|(_, place)| keep.is_some_and(|keep| keep != *place))
                .flat_map(|(side, _)| side.iter().map(|line| &line.line))
                .collect();
            let stay = lines.iter().filter(|line| !gone.contains(&line.line)).cloned().collect();
            lines = stay;
        }
        Ok(OneWording { due: DueOrder { order: Order { lines, ..due.order.clone() }, ..due.clone() }, why })
    }

    /// Of two lines that cost alike, the one that surely is the other: one article, or none of the catalogue's.
    fn replaced<'l>(
        &self,
        due: &DueOrder,
        one: &'l OrderLine,
        other: &'l OrderLine,
    ) -> Option<(&'l OrderLine, &'l OrderLine)> {
        if !costs_alike(one, other) || one.options != other.options {
            return None;
        }
        let article = |line: &OrderLine| self.known_article(line.code.as_deref(), &line.title);
        match (article(one), article(other)) {
            (Some(_), None) => Some((other, one)),
            (None, Some(_)) => Some((one, other)),
            (Some(a), Some(b)) if a.code == b.code => {
                Some(if due.untold.contains(&other.line) { (other, one) } else { (one, other) })
            }
            (Some(_), Some(_)) | (None, None) => None,
        }
    }

    /// The article that the words surely mean, by the catalogue or by an answer; nothing is asked.
    pub(super) fn known_article(&self, code: Option<&str>, title: &str) -> Option<&'a Article> {
        let catalogue = self.rules.catalogue;
        catalogue.find(code, title).ok().or_else(|| {
            let words = code.unwrap_or(title).to_owned();
            match self.questions.reply(&Subject::Article { words }) {
                Some(Reply::Article(code)) => catalogue.get(code),
                Some(_) | None => None,
            }
        })
    }

    /// The place of the side that holds, by the seller's answer; none where all do.
    fn which_holds(&mut self, sides: &[Vec<&OrderLine>], due: &DueOrder) -> Result<Option<usize>, No> {
        let id = &due.order.id;
        let labels = labels(sides);
        let all = if sides.len() == 2 { "both" } else { "all" };
        let portions = |side: &Vec<&OrderLine>| side.iter().map(|line| due.portion(line)).collect();
        let subject = Subject::Reworded { order: id.clone(), sides: sides.iter().map(portions).collect() };
        if let Some(Reply::Reworded(answer)) = self.questions.reply(&subject) {
            return Ok(labels.iter().position(|label| label == answer));
        }
        let now = |side: &Vec<&OrderLine>| side.iter().all(|line| !due.untold.contains(&line.line));
        let told = |latest: bool| {
            let some: Vec<String> = sides
                .iter()
                .zip(&labels)
                .filter(|(side, _)| now(side) == latest)
                .map(|(side, label)| counted(side, label))
                .collect();
            some.join(", or ")
        };
        let text = format!("{id} was told with {}, now with {}: which holds?", told(false), told(true));
        let choices = labels.into_iter().chain([all.to_owned()]).collect();
        self.questions.ask(subject, SendingId::from(id.clone()).into(), text.clone(), choices);
        Err(No::new(HoldReason::Question, text))
    }
}

/// `1 × PUFFIN`, where that is what the label says; else the label with how many pieces it stands for.
fn counted(side: &[&OrderLine], label: &str) -> String {
    match side {
        [line] if label.starts_with(line.words()) => format!("{} × {label}", line.quantity),
        _ => label.to_owned(),
    }
}

/// The lines that may be one another, parted into what was told together; fewer than two where nothing is in doubt.
fn sides<'l>(lines: &'l [OrderLine], due: &DueOrder, comes_to_total: Option<bool>) -> Vec<Vec<&'l OrderLine>> {
    let are_rivals = |a: &OrderLine, b: &OrderLine| {
        due.rivals
            .iter()
            .any(|(one, other)| (*one == a.line && *other == b.line) || (*one == b.line && *other == a.line))
    };
    // Where no total speaks against it, lines that differ in number and price are two lines of a list in two files.
    let may_be_one = |a: &OrderLine, b: &OrderLine| {
        let other_price = a.unit_price.zip(b.unit_price).is_some_and(|(a, b)| a != b);
        are_rivals(a, b) && (comes_to_total == Some(false) || a.quantity == b.quantity || !other_price)
    };
    let mut doubtful: Vec<&OrderLine> =
        lines.iter().filter(|line| lines.iter().any(|other| may_be_one(line, other))).collect();
    doubtful.sort_by(|a, b| a.line.cmp(&b.line));
    let mut sides: Vec<Vec<&OrderLine>> = Vec::new();
    for line in doubtful {
        match sides.iter_mut().find(|side| side.iter().all(|other| !are_rivals(line, other))) {
            Some(side) => side.push(line),
            None => sides.push(vec![line]),
        }
    }
    sides
}

/// A word or two for each side, all different: the shortest that are.
fn labels(sides: &[Vec<&OrderLine>]) -> Vec<String> {
    let more = |line: &OrderLine| {
        let more: Vec<&str> = [line.title.as_str(), line.options.as_deref().unwrap_or_default()]
            .into_iter()
            .filter(|text| !text.is_empty() && *text != line.words())
            .collect();
        if more.is_empty() { line.words().to_owned() } else { format!("{} ({})", line.words(), more.join(", ")) }
    };
    let ways: [&dyn Fn(&OrderLine) -> String; 3] =
        [&|line| line.words().to_owned(), &more, &|line| format!("{} x {} [{}]", line.quantity, more(line), line.line)];
    let mut labels = Vec::new();
    for way in ways {
        labels = sides.iter().map(|side| joined(side, way)).collect();
        let different: BTreeSet<String> = labels.iter().map(|label: &String| label.to_lowercase()).collect();
        if different.len() == labels.len() {
            break;
        }
    }
    labels
}

fn joined(side: &[&OrderLine], words: impl Fn(&OrderLine) -> String) -> String {
    side.iter().map(|line| words(line)).collect::<Vec<_>>().join(" and ")
}

/// Whether `lines` come to what was paid, with or without postage, tax and discount; nothing where that can't be told.
fn comes_to_total(order: &Order, lines: &[OrderLine]) -> Option<bool> {
    let total = order.total?;
    let goods = lines
        .iter()
        .try_fold(Money::zero(total.currency), |sum, line| sum.checked_add(line.unit_price?.times(line.quantity)))?;
    let part = |money: Option<Money>| money.map_or(Decimal::ZERO, |money| money.amount);
    let (postage, tax, off) = (part(order.postage_charged), part(order.tax), part(order.discount));
    let besides = |postage: Decimal, tax: Decimal, off: Decimal| goods.amount + postage + tax - off == total.amount;
    Some([postage, Decimal::ZERO].into_iter().any(|postage| {
        [tax, Decimal::ZERO]
            .into_iter()
            .any(|tax| [off, Decimal::ZERO].into_iter().any(|off| besides(postage, tax, off)))
    }))
}
