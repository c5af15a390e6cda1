//! A day's papers: the print pack, the email's bodies, the manifest and the sheets.
//!
//! Handed a recorded plan and the seller's look; gives bytes by file name, the same for the same plan. Money, mass
//! and dates become text here and nowhere else. Turned down: writing the files, which belongs to the room that
//! knows where they go and that they were recorded first.

use std::collections::BTreeMap;

use crate::model::day::DayPlan;
use crate::model::rules::Seller;

mod glyphs;
mod letter;
mod manifest;
pub mod money;
mod names;
mod press;
mod sample;
mod sheets;
mod templates;
pub mod view;
pub mod words;
mod wrap;

pub use manifest::manifest_json;
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
    // By value, as `map_err` hands it over.
    #[allow(clippy::needless_pass_by_value)]
    fn view(error: serde_json::Error) -> Self {
        Self::View(error.to_string())
    }
}

/// The sheet that is printed on.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Page {
    /// 210 × 297 mm (ISO 216).
    A4,
    /// 8.5 × 11 in (ANSI/ASME Y14.1).
    Letter,
}

/// How papers look.
#[derive(Clone, Copy)]
pub struct Look<'a> {
    /// Who sends.
    pub seller: &'a Seller,
    /// What is printed on.
    pub page: Page,
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
    /// Words that the print pack's fonts could not show, a line a parcel; the email tells them too.
    pub missing: Vec<String>,
}

/// Makes all papers of `plan`.
///
/// # Errors
/// Where a template of `look` is at fault.
pub fn day(plan: &DayPlan, look: &Look<'_>) -> Result<DayPapers, PapersError> {
    let name = |stem: &str, ending: &str| file_name(stem, ending, plan.revision);
    let missing = glyphs::missing(plan);
    let pdf = press::print(&view::print::pack(plan, look), plan.date, look.templates)?;
    let attached = vec![name("dispatch", "pdf"), name("handoff", "csv")];
    let letter = view::email::letter(plan, look, &missing, attached);
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
        (name("incoming", "csv"), sheets::incoming(plan)?),
        (name("questions", "csv"), sheets::questions(plan)?),
    ];
    Ok(DayPapers { subject: bodies.subject, text: bodies.text, html: bodies.html, pdf, files: files.into(), missing })
}

/// `manifest.json`; `manifest-r2.json` for the second list of a day, so that what was printed stays as printed.
fn file_name(stem: &str, ending: &str, revision: u32) -> String {
    if revision > 1 { format!("{stem}-r{revision}.{ending}") } else { format!("{stem}.{ending}") }
}
