//! A day's papers: the print pack, the email's bodies, the manifest and the sheets.
//!
//! Handed a recorded plan and the seller's look; gives bytes by file name, the same for the same plan. Money, mass
//! and dates become text here and nowhere else. Turned down: writing the files, which belongs to the room that
//! knows where they go and that they were recorded first.

use std::collections::BTreeMap;

use crate::model::day::{DayPlan, Proposal};
use crate::model::rules::Seller;
use crate::model::scale::Sheet;

mod fonts;
mod glyphs;
mod language;
mod letter;
mod manifest;
pub mod money;
mod names;
mod phrases;
mod press;
mod proof;
mod said;
mod sample;
mod scan;
#[cfg(test)]
mod schemas;
mod scopes;
mod sheets;
mod templates;
pub mod view;
pub mod words;
mod workbook;
pub mod wrap;

pub use glyphs::typefaces;
pub use manifest::{form as manifest_form, manifest_json};
pub use proof::{Kept, Proof, proof};
pub use templates::Templates;

/// Why papers can't be made: always a fault of a template or of this program, never of a day's data.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PapersError {
    /// A file of the home's `templates/` that no paper is made from.
    #[error("`{name}` is no template; the templates are `{known}`: rename it, or take it out of `templates/`")]
    UnknownTemplate {
        /// Its name.
        name: String,
        /// The names there are.
        known: String,
    },
    /// A template asks for what isn't there, or can't be read.
    #[error("`{file}`{}: {message}; the names there are: {names}", .line.map(|line| format!(" line {line}")).unwrap_or_default())]
    Template {
        /// The template.
        file: String,
        /// Its line, from 1.
        line: Option<usize>,
        /// What is wrong.
        message: String,
        /// The names of the view, by place.
        names: String,
    },
    /// The PDF can't be written.
    #[error("the print pack could not be made: {0}")]
    Print(String),
    /// A sheet can't be written.
    #[error("a sheet could not be written: {0}")]
    Sheet(String),
    /// The view or the sample doesn't fit.
    #[error("the papers' data could not be laid out: {0}")]
    View(String),
}

impl PapersError {
    #[expect(clippy::needless_pass_by_value, reason = "as `map_err` hands it over")]
    fn view(error: serde_json::Error) -> Self {
        Self::View(error.to_string())
    }
}

/// A larger print pack doesn't go with the email, in bytes: with a third more as base64 it stays below the 20 to 25 MB
/// that mail servers take. Common practice, no source.
const MOST_ENCLOSED: usize = 12 << 20;

/// How papers look.
#[derive(Clone, Copy)]
pub struct Look<'a> {
    /// Who sends.
    pub seller: &'a Seller,
    /// What is printed on.
    pub page: Sheet,
    /// The templates.
    pub templates: &'a Templates,
}

/// A day's papers.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct DayPapers {
    /// The email's subject: one line.
    pub subject: String,
    /// The email's text body, at most 72 columns.
    pub text: String,
    /// The email's HTML body.
    pub html: String,
    /// The print pack.
    pub pdf: Vec<u8>,
    /// Every file of the day, by name.
    pub files: BTreeMap<String, Vec<u8>>,
    /// Names of those that go with the email.
    pub attached: Vec<String>,
    /// Words that the print pack's fonts could not show, a line a parcel; the email tells them too.
    pub missing: Vec<String>,
}

/// Makes all papers of `plan`.
///
/// # Errors
/// Where a template of `look` is at fault.
pub fn day(plan: &DayPlan, look: &Look<'_>) -> Result<DayPapers, PapersError> {
    let name = |stem: &str, ending: &str| file_name(stem, ending, plan.revision);
    let press::Printed { pdf, missing } = press::day(plan, look)?;
    let proposed: BTreeMap<String, Vec<u8>> = plan
        .waiting
        .iter()
        .filter_map(|waiting| waiting.proposal.as_ref())
        .map(|proposal| (proposed_file(proposal, plan.revision), proposal.toml.clone().into_bytes()))
        .collect();
    let pack = name("dispatch", "pdf");
    let fits = pdf.len() <= MOST_ENCLOSED;
    // A pack without parcels is nothing to print, and a sheet without rows nothing to fill in.
    let to_print = fits && !plan.parcels.is_empty();
    let sheets = [
        (!plan.parcels.is_empty(), name("handoff", "csv")),
        (!plan.parcels.is_empty(), name("handoff", "xlsx")),
        (!plan.questions.is_empty(), name("questions", "csv")),
        (!plan.expected.is_empty(), name("incoming", "csv")),
    ];
    let sheets = sheets.into_iter().filter_map(|(has_rows, name)| has_rows.then_some(name));
    let attached: Vec<String> =
        to_print.then(|| pack.clone()).into_iter().chain(sheets).chain(proposed.keys().cloned()).collect();
    let left_out = (!fits).then_some(view::email::LeftOut { file: pack, bytes: pdf.len() });
    let letter = view::email::letter(plan, look, &missing, attached.clone(), left_out.as_ref());
    let bodies = letter::bodies(&serde_json::to_value(letter).map_err(PapersError::view)?, look.templates)?;
    let mut json = serde_json::to_vec_pretty(&manifest_json(plan)).map_err(PapersError::view)?;
    json.push(b'\n');
    let files = [
        (name("dispatch", "pdf"), pdf.clone()),
        (name("dispatch", "html"), bodies.html.clone().into_bytes()),
        (name("dispatch", "txt"), bodies.text.clone().into_bytes()),
        (name("manifest", "json"), json),
        (name("manifest", "csv"), sheets::manifest(plan)?),
        (name("handoff", "csv"), sheets::handoff(plan)?),
        (name("handoff", "xlsx"), sheets::handoff_workbook(plan)?),
        (name("incoming", "csv"), sheets::incoming(plan)?),
        (name("questions", "csv"), sheets::questions(plan)?),
    ];
    let files = files.into_iter().chain(proposed).collect();
    Ok(DayPapers { subject: bodies.subject, text: bodies.text, html: bodies.html, pdf, files, attached, missing })
}

/// The file of a day in which a column map is proposed.
fn proposed_file(proposal: &Proposal, revision: u32) -> String {
    file_name(&format!("columns-{}", proposal.name), "toml", revision)
}

/// `manifest.json`; `manifest-r2.json` for the second list of a day, so that what was printed stays as printed.
fn file_name(stem: &str, ending: &str, revision: u32) -> String {
    if revision > 1 { format!("{stem}-r{revision}.{ending}") } else { format!("{stem}.{ending}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    const HOSTILE: &str =
        "{{x}} #eval(\"1\") <script>alert(1)</script> $x$ *b* `r` @ref \\ \u{202E}txt\r\nBcc: a@example.org";

    fn made(plan: &DayPlan, seller: &Seller, page: Sheet) -> DayPapers {
        let templates = Templates::built_in();
        day(plan, &Look { seller, page, templates: &templates }).unwrap()
    }

    #[test]
    fn a_day_has_its_files_and_the_same_bytes_each_time() {
        let (seller, plan) = sample::day().unwrap();
        let papers = made(&plan, &seller, Sheet::A4);
        let names: Vec<&str> = papers.files.keys().map(String::as_str).collect();
        let expected = [
            "columns-order-no.toml",
            "dispatch.html",
            "dispatch.pdf",
            "dispatch.txt",
            "handoff.csv",
            "handoff.xlsx",
            "incoming.csv",
            "manifest.csv",
            "manifest.json",
            "questions.csv",
        ];
        assert_eq!(names, expected);
        assert_eq!(papers, made(&plan, &seller, Sheet::A4));
        assert_ne!(papers.pdf, made(&plan, &seller, Sheet::Letter).pdf);
        assert_eq!(papers.subject, "Wed 25 Nov: 3 parcels, 2 late, 7 things need you, postage $26.90");
    }

    #[test]
    fn a_print_pack_too_large_for_the_post_is_told_first_and_not_sent() {
        let (seller, plan) = sample::day().unwrap();
        let templates = Templates::built_in();
        let look = Look { seller: &seller, page: Sheet::A4, templates: &templates };
        let left_out = view::email::LeftOut { file: "dispatch.pdf".to_owned(), bytes: 20_534_400 };
        let letter = view::email::letter(&plan, &look, &[], Vec::new(), Some(&left_out));
        let line = "dispatch.pdf is too large to send (21 MB): print it from outbox/2026-11-25.";
        assert_eq!(letter.chores.last().map(String::as_str), Some(line));
        assert_eq!(made(&plan, &seller, Sheet::A4).attached.first().map(String::as_str), Some("dispatch.pdf"));
    }

    #[test]
    fn a_second_list_of_a_day_takes_names_of_its_own() {
        let (seller, mut plan) = sample::day().unwrap();
        plan.revision = 2;
        let papers = made(&plan, &seller, Sheet::A4);
        assert!(papers.files.keys().all(|name| name.contains("-r2.")), "{:?}", papers.files.keys());
        assert!(papers.text.contains("questions-r2.csv") && papers.text.contains("dispatch-r2.pdf"), "{}", papers.text);
    }

    #[test]
    fn the_pack_claims_the_archival_and_accessible_standards() {
        let (seller, plan) = sample::day().unwrap();
        let papers = made(&plan, &seller, Sheet::A4);
        let has = |needle: &str| papers.pdf.windows(needle.len()).any(|bytes| bytes == needle.as_bytes());
        assert!(has("pdfuaid") && has("pdfaid"));
    }

    #[test]
    fn a_day_with_nothing_says_why() {
        let (seller, plan) = sample::day().unwrap();
        let papers = made(&sample::empty(&plan), &seller, Sheet::A4);
        assert_eq!(papers.subject, "Wed 25 Nov: nothing to send");
        assert!(papers.text.contains("Nothing to send: no order or trade is open."), "{}", papers.text);
        let mut held = plan;
        held.parcels.clear();
        assert!(
            made(&held, &seller, Sheet::A4).text.contains("Nothing to send: 2 held, 2 open questions, 1 file waits")
        );
    }

    #[test]
    fn hostile_names_are_printed_as_they_are() {
        let (seller, mut plan) = sample::day().unwrap();
        let parcel = &mut plan.parcels[0];
        parcel.recipient.name = HOSTILE.to_owned();
        parcel.orders[0].recipient.name = HOSTILE.to_owned();
        parcel.trades[0].1.with.name = HOSTILE.to_owned();
        parcel.items[0].title = HOSTILE.to_owned();
        let papers = made(&plan, &seller, Sheet::A4);
        assert!(papers.text.contains("{{x}} #eval(\"1\") <script>"), "{}", papers.text);
        assert!(!papers.text.lines().any(|line| line.trim_start().starts_with("Bcc:")), "{}", papers.text);
        assert!(!papers.html.contains("<script") && papers.html.contains("&lt;script&gt;"));
        assert!(!papers.html.contains('\u{202E}') && !papers.subject.contains('\n'));
    }

    #[test]
    fn ten_thousand_characters_are_printed_too() {
        let (seller, mut plan) = sample::day().unwrap();
        plan.parcels[0].recipient.name = "Ж".repeat(10_000);
        plan.parcels[1].orders[0].recipient.name = "word ".repeat(2_000);
        let papers = made(&plan, &seller, Sheet::Letter);
        assert!(papers.text.lines().all(|line| line.chars().count() <= 72));
        // Whole among the parcels to pack, and shortened among the late ones.
        assert_eq!(papers.text.matches('Ж').count(), 10_059);
    }

    #[test]
    fn scripts_without_a_font_are_told_and_scripts_that_break_a_standard_still_print() {
        let (seller, mut plan) = sample::day().unwrap();
        plan.parcels[0].recipient.name = "山田 太郎".to_owned();
        plan.parcels[1].recipient.name = "عمر بن الخطاب שלום 😀".to_owned();
        let papers = made(&plan, &seller, Sheet::A4);
        assert_eq!(papers.missing.len(), 2, "{:?}", papers.missing);
        assert!(papers.html.contains("山田 太郎") && papers.text.contains("TO COMPLETE BY HAND"));
    }

    /// Every word of the view, but for the forms of a day and the ids that a body tells in another way.
    #[test]
    fn both_bodies_tell_the_same() {
        fn leaves(at: &str, value: &serde_json::Value, told: &mut Vec<(String, String)>) {
            match value {
                serde_json::Value::String(text) => told.push((at.to_owned(), text.clone())),
                serde_json::Value::Array(entries) => entries.iter().for_each(|entry| leaves(at, entry, told)),
                serde_json::Value::Object(fields) => {
                    fields.iter().for_each(|(key, inner)| leaves(&format!("{at}.{key}"), inner, told));
                }
                serde_json::Value::Null | serde_json::Value::Bool(_) | serde_json::Value::Number(_) => {}
            }
        }
        let squeezed = |text: &str| text.split_whitespace().collect::<String>();
        let (seller, plan) = sample::day().unwrap();
        let templates = Templates::built_in();
        let look = Look { seller: &seller, page: Sheet::A4, templates: &templates };
        for plan in [sample::later(&plan), sample::empty(&plan), plan] {
            let view = serde_json::to_value(sample::letter(&plan, &look)).unwrap();
            let bodies = letter::bodies(&view, &templates).unwrap();
            let text = squeezed(&bodies.text);
            let html = html_escaped_back(&bodies.html);
            let mut told = Vec::new();
            leaves("", &view, &mut told);
            for (at, word) in told {
                let form_of_a_day = [".iso", ".medium", ".short", ".long"].iter().any(|form| at.ends_with(form));
                let on_a_day_with_parcels = plan.parcels.is_empty() && at.matches('.').count() == 1;
                if form_of_a_day
                    || on_a_day_with_parcels
                    || [".lang", ".questions.choices_words"].contains(&at.as_str())
                {
                    continue;
                }
                assert!(text.contains(&squeezed(&word)), "{at} `{word}` isn't in the text:\n{}", bodies.text);
                assert!(squeezed(&html).contains(&squeezed(&word)), "{at} `{word}` isn't in the HTML");
            }
        }
    }

    /// The words of an HTML body without its tags.
    fn html_escaped_back(html: &str) -> String {
        let body = html.split_once("<body").map_or(html, |(_, body)| body);
        let words: String = body.split('<').map(|part| part.split_once('>').map_or(part, |(_, words)| words)).collect();
        ["&lt;<", "&gt;>", "&quot;\"", "&#x27;'", "&#x3D;=", "&#x60;`", "&nbsp; ", "&amp;&"].iter().fold(
            words,
            |words, pair| {
                let (escaped, letter) = pair.split_at(pair.len() - 1);
                words.replace(escaped, letter)
            },
        )
    }

    #[test]
    fn the_text_body_is_narrow_and_the_html_has_its_headings_in_order() {
        let (seller, plan) = sample::day().unwrap();
        let papers = made(&plan, &seller, Sheet::A4);
        for line in papers.text.lines() {
            assert!(line.chars().count() <= 72, "{line}");
        }
        let levels: Vec<char> = papers
            .html
            .split("<h")
            .skip(1)
            .filter_map(|rest| rest.chars().next())
            .filter(char::is_ascii_digit)
            .collect();
        assert_eq!(levels.first(), Some(&'1'));
        assert!(levels.windows(2).all(|pair| pair[1] as u32 <= pair[0] as u32 + 1), "{levels:?}");
        for remote in ["http", "src=", "href=", "url(", "@import", "<script", "<img"] {
            assert!(!papers.html.contains(remote), "{remote}");
        }
        assert!(papers.html.contains("<html lang=\"en\">"));
    }
}
