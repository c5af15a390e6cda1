//! The view model of the morning email: what only the seller can decide, then the parcels, then the rest.

use serde::Serialize;

use crate::model::day::{DayPlan, Refused};
use crate::model::parcel::Parcel;

use super::Look;
use super::money::MoneyWords;
use super::words::{self, DateWords};

/// Columns of the plain body.
const TEXT_WIDTH: usize = 72;

/// The email.
#[derive(Debug, Serialize)]
pub(super) struct Email {
    pub(super) subject: String,
    seller: String,
    date: DateWords,
    revision: Option<u32>,
    /// The day in one line.
    summary: String,
    decide: Vec<Decide>,
    urgent: Vec<String>,
    parcels: Vec<ParcelBlock>,
    held: Vec<HeldLine>,
    called_off: Vec<String>,
    refused: Vec<String>,
    waiting: Vec<String>,
    earlier: Vec<String>,
    supplies: Vec<String>,
    ahead: Vec<String>,
    missing: Vec<String>,
    totals: String,
    pack: String,
    sheet: String,
    /// The same, folded for the plain body.
    plain: Plain,
}

/// Long sentences folded to the width of the plain body.
#[derive(Debug, Serialize)]
struct Plain {
    decide: Vec<String>,
    urgent: Vec<String>,
    held: Vec<String>,
    rest: Vec<(String, Vec<String>)>,
}

#[derive(Debug, Serialize)]
struct Decide {
    id: String,
    text: String,
    choices: String,
}

#[derive(Debug, Serialize)]
struct ParcelBlock {
    r#ref: String,
    name: String,
    town: String,
    part: Option<String>,
    contents: Vec<String>,
    rolls: String,
    mailer: String,
    papers: String,
    declared: String,
    service: String,
    price: String,
    expect: String,
    weigh_first: bool,
    ship_by: String,
    late: bool,
    cautions: Vec<String>,
}

#[derive(Debug, Serialize)]
struct HeldLine {
    id: String,
    name: String,
    reason: &'static str,
    text: String,
    ship_by: Option<String>,
    near: bool,
}

/// The email of a plan; `missing` are texts that the print pack has no letters for.
pub(super) fn view(plan: &DayPlan, look: &Look<'_>, missing: &[String]) -> Email {
    let money = MoneyWords::english_in(look.seller.country);
    let date = DateWords::from(plan.date);
    let parcels = words::count(plan.parcels.len(), "parcel", "parcels");
    let postage = money.write(plan.totals.postage);
    let late = plan.parcels.iter().filter(|parcel| parcel.late).count();
    let needs = plan.questions.len() + plan.refused.len() + plan.waiting.len() + late;
    let need = match needs {
        0 => "nothing needs you".to_owned(),
        1 => "1 thing needs you".to_owned(),
        many => format!("{many} things need you"),
    };
    let revised = if plan.revision > 1 { format!(" (revision {})", plan.revision) } else { String::new() };
    let subject = format!("{}{revised}: {parcels}, {need}, postage {postage}", date.short);
    let decide: Vec<Decide> = plan
        .questions
        .iter()
        .map(|question| Decide {
            id: question.id.to_string(),
            text: sentence(&question.text),
            choices: question.choices.join(" | "),
        })
        .collect();
    let urgent = urgent(plan);
    let held: Vec<HeldLine> = plan
        .held
        .iter()
        .map(|held| HeldLine {
            id: held.id.clone(),
            name: held.name.clone(),
            reason: words::hold(held.reason),
            text: sentence(&held.text),
            ship_by: held.ship_by.map(|day| DateWords::from(day).short),
            near: held.ship_by.is_some_and(|day| day <= plan.date),
        })
        .collect();
    let ahead = ahead(plan, &money);
    let refused: Vec<String> = plan.refused.iter().map(refused_line).collect();
    let waiting: Vec<String> = plan.waiting.iter().map(|file| format!("{}: {}", file.file, file.why)).collect();
    let called_off: Vec<String> = plan.called_off.iter().map(|(id, state)| format!("{id}: {state}")).collect();
    let earlier: Vec<String> = plan
        .listed_earlier
        .iter()
        .map(|earlier| format!("{} for {}, listed {}", earlier.r#ref, earlier.name, DateWords::from(earlier.listed).short))
        .collect();
    let supplies: Vec<String> =
        plan.supplies_low.iter().map(|supply| format!("mailer {} ({}): {} left", supply.code, supply.title, supply.left)).collect();
    let file = |stem: &str, ending: &str| match plan.revision {
        1 => format!("{stem}.{ending}"),
        later => format!("{stem}-r{later}.{ending}"),
    };
    let missing: Vec<String> = missing
        .iter()
        .map(|text| format!("no font has all letters of \"{}\"; write it on the paper by hand", words::shortened(text, 60)))
        .collect();
    let totals = format!("{parcels}, {}, postage {postage}, {}", words::count(usize::try_from(plan.totals.items).unwrap_or(0), "piece", "pieces"), words::grams(plan.totals.mass_g));
    let sections = [
        ("Called off", &called_off),
        ("Could not be read", &refused),
        ("Waiting in the inbox", &waiting),
        ("Listed earlier, hand-off not recorded: do not pack again", &earlier),
        ("Supplies running low", &supplies),
        ("Postage changes ahead", &ahead),
        ("Letters missing on paper", &missing),
    ];
    let plain = Plain {
        decide: decide
            .iter()
            .map(|decide| {
                let choices = if decide.choices.is_empty() { String::new() } else { format!(" [{}]", decide.choices) };
                folded(&format!("{}  {}{choices}", decide.id, decide.text), "  ", "          ")
            })
            .collect(),
        urgent: urgent.iter().map(|line| folded(line, "  ", "    ")).collect(),
        held: held.iter().map(|held| folded(&format!("{} {}: {}", held.id, held.name, held.text), "  ", "    ")).collect(),
        rest: sections
            .into_iter()
            .filter(|(_, lines)| !lines.is_empty())
            .map(|(heading, lines)| (heading.to_owned(), lines.iter().map(|line| folded(line, "  ", "    ")).collect()))
            .collect(),
    };
    Email {
        summary: summary(plan, &need),
        subject,
        seller: look.seller.name.clone(),
        date,
        revision: (plan.revision > 1).then_some(plan.revision),
        decide,
        urgent,
        parcels: plan.parcels.iter().map(|parcel| block(parcel, look, &money)).collect(),
        held,
        called_off,
        refused,
        waiting,
        earlier,
        supplies,
        ahead,
        missing,
        totals,
        pack: file("dispatch", "pdf"),
        sheet: file("handoff", "csv"),
        plain,
    }
}

fn summary(plan: &DayPlan, need: &str) -> String {
    if plan.parcels.is_empty() {
        let why = if plan.held.is_empty() {
            "no order or trade is due".to_owned()
        } else {
            format!("{} held, as told below", words::count(plan.held.len(), "order or trade is", "orders and trades are"))
        };
        return format!("Nothing to send today: {why}.");
    }
    format!("{} to pack, {need}.", words::count(plan.parcels.len(), "parcel", "parcels"))
}

fn urgent(plan: &DayPlan) -> Vec<String> {
    let late = plan.parcels.iter().filter(|parcel| parcel.late);
    let due = plan.parcels.iter().filter(|parcel| !parcel.late && parcel.ship_by == plan.date);
    let held = plan.held.iter().filter(|held| held.ship_by.is_some_and(|day| day <= plan.date));
    late.map(|parcel| format!("{} for {} is late: it was due {}", parcel.r#ref, parcel.recipient.name, DateWords::from(parcel.ship_by).short))
        .chain(due.map(|parcel| format!("{} for {} is due today", parcel.r#ref, parcel.recipient.name)))
        .chain(held.map(|held| format!("{} for {} is due and held: {}", held.id, held.name, words::hold(held.reason))))
        .collect()
}

fn ahead(plan: &DayPlan, money: &MoneyWords) -> Vec<String> {
    let mut lines: Vec<String> = plan
        .parcels
        .iter()
        .filter_map(|parcel| {
            let change = parcel.postage.change_ahead.as_ref()?;
            let from = DateWords::from(change.from).short;
            let (now, then) = (money.write(parcel.postage.price), money.write(change.price));
            Some(format!("{} to {}: {now} now, {then} from {from}", parcel.postage.service_title, parcel.postage.declared))
        })
        .collect();
    lines.sort();
    lines.dedup();
    lines
}

fn refused_line(refused: &Refused) -> String {
    let mut place = refused.file.clone();
    place.extend(refused.line.map(|line| format!(", line {line}")));
    place.extend(refused.column.as_ref().map(|column| format!(", {column}")));
    match &refused.value {
        Some(value) => format!("{place}: \"{}\" {}", words::shortened(value, 60), refused.reason),
        None => format!("{place}: {}", refused.reason),
    }
}

fn block(parcel: &Parcel, look: &Look<'_>, money: &MoneyWords) -> ParcelBlock {
    let pieces = |item: &crate::model::parcel::Item| format!("{} × {}", item.quantity, words::shortened(&item.title, 60));
    let papers: Vec<String> = parcel.papers.iter().map(|paper| words::paper(*paper).to_owned()).collect();
    ParcelBlock {
        r#ref: parcel.r#ref.0.clone(),
        name: words::shortened(&parcel.recipient.name, 60),
        town: words::town(&parcel.recipient, look.seller.country),
        part: parcel.part.map(|(this, of)| format!("{this} of {of}")),
        contents: parcel.items.iter().map(pieces).collect(),
        rolls: words::count(parcel.rolls.len(), "roll", "rolls"),
        mailer: parcel.mailer.code.clone(),
        papers: words::and_list(&papers),
        declared: parcel.postage.declared.to_string(),
        service: parcel.postage.service_title.clone(),
        price: money.write(parcel.postage.price),
        expect: words::expected(parcel.mass, parcel.postage.declared.unit),
        weigh_first: parcel.postage.weigh_first,
        ship_by: DateWords::from(parcel.ship_by).short,
        late: parcel.late,
        cautions: parcel.cautions.iter().map(|caution| sentence(&caution.text)).collect(),
    }
}

fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(|first| first.to_uppercase().to_string()).unwrap_or_default();
    format!("{first}{}", letters.as_str())
}

/// Folded at spaces to the width of the plain body; a word that is longer stands on a line of its own.
fn folded(text: &str, first: &str, further: &str) -> String {
    let mut lines = Vec::new();
    let mut line = first.to_owned();
    let mut empty = true;
    for word in text.split_whitespace() {
        if !empty && line.chars().count() + 1 + word.chars().count() > TEXT_WIDTH {
            lines.push(std::mem::replace(&mut line, further.to_owned()));
            empty = true;
        }
        if !empty {
            line.push(' ');
        }
        line.push_str(word);
        empty = false;
    }
    lines.push(line);
    lines.join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::papers::{Page, Templates, sample};

    #[test]
    fn the_plain_body_keeps_within_its_columns() {
        let (seller, plan) = sample::day().unwrap();
        let templates = Templates::built_in();
        let look = Look { seller: &seller, page: Page::A4, templates: &templates };
        let text = templates.render("dispatch.txt.hbs", &view(&plan, &look, &[])).unwrap();
        for line in text.lines() {
            assert!(line.chars().count() <= TEXT_WIDTH, "{line}");
        }
    }

    #[test]
    fn a_day_with_nothing_says_so_and_why() {
        let (seller, mut plan) = sample::day().unwrap();
        plan.parcels.clear();
        let templates = Templates::built_in();
        let look = Look { seller: &seller, page: Page::A4, templates: &templates };
        assert!(view(&plan, &look, &[]).summary.starts_with("Nothing to send today: "));
    }

    #[test]
    fn what_people_write_stays_text() {
        let (seller, mut plan) = sample::day().unwrap();
        plan.parcels[0].recipient.name = "<script>{{seller}}".into();
        let templates = Templates::built_in();
        let look = Look { seller: &seller, page: Page::A4, templates: &templates };
        let html = templates.render("dispatch.html.hbs", &view(&plan, &look, &[])).unwrap();
        assert!(html.contains("&lt;script&gt;{{seller}}") && !html.contains("<script"), "{html}");
    }
}
