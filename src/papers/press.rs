//! The print pack, through typst.
//!
//! Handed a plan and its look; gives a tagged PDF whose bytes depend on nothing else, but for letters that the
//! built-in typefaces lack: those are set in what the home's `fonts/` or the machine has. The templates see two files,
//! `data.json` and `fonts.json`, and one another: no directory, package, network or clock. Data stays data: typst
//! shows strings and never reads them as markup. Turned down: drawing pages by hand with a PDF library, which has no line breaking, tables or
//! tags.

use std::collections::{BTreeSet, HashMap};
use std::path::Path;
use std::sync::Arc;

use jiff::civil::Date;
use serde_json::Value;
use typst::diag::{FileError, FileResult, SourceDiagnostic};
use typst::foundations::{Bytes, Datetime, Duration, Smart};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World, WorldExt};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards, Timestamp};

use crate::model::day::DayPlan;
use crate::model::language::Language;

use super::fonts::Fonts;
use super::phrases::Tongues;
use super::view::print::{self, PrintPack};
use super::{Look, PapersError, Templates, glyphs, names};

const MAIN: &str = "dispatch.typ";
const DATA: &str = "data.json";
const FAMILIES: &str = "fonts.json";

/// A day's print pack.
pub(super) struct Printed {
    /// The PDF.
    pub(super) pdf: Vec<u8>,
    /// Words that no typeface could show, a line a parcel.
    pub(super) missing: Vec<String>,
}

/// The print pack of `plan`.
///
/// # Errors
/// Where a template of `look` is at fault.
pub(super) fn day(plan: &DayPlan, look: &Look<'_>) -> Result<Printed, PapersError> {
    let meant = print::pack(plan, look)?;
    in_fonts(&serde_json::to_value(&meant).map_err(PapersError::view)?, look.templates, |fonts| {
        let tongues = Tongues::of(look.templates)?;
        let unreadable = tongues.unreadable(fonts)?;
        let mut pack = print::in_tongues(plan, look, &tongues.without(&unreadable));
        for (card, parcel) in pack.cards.iter_mut().zip(&plan.parcels) {
            card.unshown = glyphs::unshown(parcel, fonts);
        }
        let pdf = print(&pack, plan.date, look.templates, fonts)?;
        let mut missing = glyphs::missing(plan, fonts);
        missing.extend(in_english(&meant, &pack, fonts));
        Ok(Printed { pdf, missing })
    })
}

/// What `set` makes in the typefaces that the letters of `view` need. A typeface of the machine that can't be embedded must
/// not stop a morning: then in the built-in ones.
fn in_fonts<T>(
    view: &Value,
    templates: &Templates,
    set: impl Fn(&Arc<Fonts>) -> Result<T, PapersError>,
) -> Result<T, PapersError> {
    let mut letters = BTreeSet::new();
    glyphs::letters(view, &mut letters);
    let fonts = Fonts::for_letters(&letters, templates.fonts());
    set(&fonts).or_else(|error| if fonts.has_more() { set(&Fonts::built_in()) } else { Err(error) })
}

/// The parcels whose papers were to be in a language that no typeface shows, a line each with the remedy.
fn in_english(meant: &PrintPack, printed: &PrintPack, fonts: &Fonts) -> Vec<String> {
    let mut said = Vec::new();
    for (meant, printed) in meant.slips.iter().zip(&printed.slips) {
        if meant.lang() == printed.lang() {
            continue;
        }
        let name = meant.lang().parse().map_or("another language", Language::name);
        let mut letters = BTreeSet::new();
        if let Ok(view) = serde_json::to_value(meant) {
            glyphs::letters(&view, &mut letters);
        }
        let remedy = glyphs::remedy(letters.into_iter().filter(|c| !fonts.has(*c)));
        let line = format!("{}: its papers are in English, not {name}: {remedy}", meant.parcel());
        if !said.contains(&line) {
            said.push(line);
        }
    }
    said
}

/// The PDF of `pack`.
fn print(pack: &PrintPack, date: Date, templates: &Templates, fonts: &Arc<Fonts>) -> Result<Vec<u8>, PapersError> {
    let view = serde_json::to_value(pack).map_err(PapersError::view)?;
    set(MAIN, view, HashMap::new(), date, templates, fonts)
}

/// The PDF that the template `main` makes of a view, and of pictures by the names that the view gives them.
///
/// # Errors
/// Where the template is at fault.
pub(super) fn print_with(
    main: &str,
    view: &Value,
    pictures: &HashMap<String, Vec<u8>>,
    date: Date,
    templates: &Templates,
) -> Result<Vec<u8>, PapersError> {
    in_fonts(view, templates, |fonts| set(main, view.clone(), pictures.clone(), date, templates, fonts))
}

fn set(
    main: &str,
    mut view: Value,
    pictures: HashMap<String, Vec<u8>>,
    date: Date,
    templates: &Templates,
    fonts: &Arc<Fonts>,
) -> Result<Vec<u8>, PapersError> {
    glyphs::printable(&mut view, fonts);
    let desk = Desk::new(main, &view, pictures, date, templates, Arc::clone(fonts))?;
    let document =
        typst::compile::<PagedDocument>(&desk).output.map_err(|errors| desk.fault(errors.as_slice(), &view))?;
    let write = |standards: &[PdfStandard]| {
        let options = options(&view, date, standards)?;
        typst_pdf::pdf(&document, &options).map_err(|errors| desk.fault(errors.as_slice(), &view))
    };
    // PDF/UA-1 and PDF/A-2a as a rule. Some scripts can't be mapped back to their letters as those standards ask;
    // such a pack is printed all the same, tagged, and claims neither.
    let pdf = write(&[PdfStandard::Ua_1, PdfStandard::A_2a]).or_else(|fault| {
        tracing::info!(%fault, "the print pack claims no standard");
        write(&[])
    });
    // Else the memoised layouts of every day stay in memory for as long as the program runs.
    typst::comemo::evict(0);
    pdf
}

fn options(view: &Value, date: Date, standards: &[PdfStandard]) -> Result<PdfOptions, PapersError> {
    let title = view.get("title").and_then(Value::as_str).unwrap_or_default();
    Ok(PdfOptions {
        ident: Smart::Custom(format!("dawnpack {title}")),
        creator: Smart::Custom(Some("dawnpack".to_owned())),
        timestamp: at_midnight(date).map(Timestamp::new_utc),
        page_ranges: None,
        standards: PdfStandards::new(standards).map_err(|error| PapersError::Print(error.message().to_string()))?,
        tagged: true,
        pretty: false,
    })
}

fn at_midnight(date: Date) -> Option<Datetime> {
    let (month, day) = (u8::try_from(date.month()).ok()?, u8::try_from(date.day()).ok()?);
    Datetime::from_ymd_hms(date.year().into(), month, day, 0, 0, 0)
}

/// All that typst sees.
struct Desk {
    library: LazyHash<Library>,
    main: FileId,
    sources: HashMap<FileId, Source>,
    /// `data.json`, `fonts.json` and the pictures.
    files: HashMap<FileId, Bytes>,
    fonts: Arc<Fonts>,
    date: Date,
}

impl Desk {
    fn new(
        main: &str,
        view: &Value,
        pictures: HashMap<String, Vec<u8>>,
        date: Date,
        templates: &Templates,
        fonts: Arc<Fonts>,
    ) -> Result<Self, PapersError> {
        let json = serde_json::to_vec(view).map_err(PapersError::view)?;
        let families = serde_json::to_vec(&fonts.families()).map_err(PapersError::view)?;
        let mut sources = HashMap::new();
        for (name, text) in
            templates.iter().filter(|(name, _)| Path::new(name).extension().is_some_and(|end| end == "typ"))
        {
            let id = file(name)?;
            sources.insert(id, Source::new(id, text.to_owned()));
        }
        let mut files = HashMap::from([(file(DATA)?, Bytes::new(json)), (file(FAMILIES)?, Bytes::new(families))]);
        for (name, bytes) in pictures {
            files.insert(file(&name)?, Bytes::new(bytes));
        }
        Ok(Self { library: LazyHash::new(Library::default()), main: file(main)?, sources, files, fonts, date })
    }

    /// The first error that lies in a template, with its line and the names there are.
    fn fault(&self, errors: &[SourceDiagnostic], view: &Value) -> PapersError {
        let placed = errors.iter().find_map(|error| {
            let id = error.span.id()?;
            let source = self.sources.get(&id)?;
            let line = self.range(error.span).and_then(|range| source.lines().byte_to_line(range.start));
            Some(PapersError::Template {
                file: id.get().vpath().get_without_slash().to_owned(),
                line: line.map(|line| line + 1),
                message: error.message.to_string(),
                names: names::of(view),
            })
        });
        placed.unwrap_or_else(|| {
            let said: Vec<String> = errors.iter().map(|error| error.message.to_string()).collect();
            PapersError::Print(said.join("; "))
        })
    }
}

fn file(name: &str) -> Result<FileId, PapersError> {
    let path = VirtualPath::new(name).map_err(|_| PapersError::Print(format!("`{name}` can't name a template")))?;
    Ok(RootedPath::new(VirtualRoot::Project, path).intern())
}

impl World for Desk {
    fn library(&self) -> &LazyHash<Library> {
        &self.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        self.fonts.book()
    }

    fn main(&self) -> FileId {
        self.main
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        self.sources.get(&id).cloned().ok_or_else(|| absent(id))
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        self.files.get(&id).cloned().ok_or_else(|| absent(id))
    }

    fn font(&self, index: usize) -> Option<Font> {
        self.fonts.font(index)
    }

    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        at_midnight(self.date)
    }
}

fn absent(id: FileId) -> FileError {
    FileError::NotFound(id.get().vpath().get_without_slash().into())
}
