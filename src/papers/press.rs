//! The print pack, through typst.
//!
//! Handed a view; gives a tagged PDF whose bytes depend on nothing else. The templates see one file, `data.json`,
//! and one another: no directory, package, network or clock. Data stays data: typst shows strings and never reads
//! them as markup. Turned down: drawing pages by hand with a PDF library, which has no line breaking, tables or
//! tags.

use std::collections::HashMap;

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

use super::glyphs::{self, FONTS};
use super::view::print::PrintPack;
use super::{PapersError, Templates, names};

const MAIN: &str = "dispatch.typ";
const DATA: &str = "data.json";

/// The PDF of `pack`.
pub(super) fn print(pack: &PrintPack, date: Date, templates: &Templates) -> Result<Vec<u8>, PapersError> {
    print_with(MAIN, serde_json::to_value(pack).map_err(PapersError::view)?, HashMap::new(), date, templates)
}

/// The PDF that the template `main` makes of a view, and of pictures by the names that the view gives them.
pub(super) fn print_with(
    main: &str,
    mut view: Value,
    pictures: HashMap<String, Vec<u8>>,
    date: Date,
    templates: &Templates,
) -> Result<Vec<u8>, PapersError> {
    glyphs::printable(&mut view);
    let desk = Desk::new(main, &view, pictures, date, templates)?;
    let document =
        typst::compile::<PagedDocument>(&desk).output.map_err(|errors| desk.fault(errors.as_slice(), &view))?;
    let write = |standards: &[PdfStandard]| {
        let options = options(&view, date, standards)?;
        typst_pdf::pdf(&document, &options).map_err(|errors| desk.fault(errors.as_slice(), &view))
    };
    // PDF/UA-1 and PDF/A-2a as a rule. Some scripts can't be mapped back to their letters as those standards ask;
    // such a pack is printed all the same, tagged, and claims neither.
    let pdf = write(&[PdfStandard::Ua_1, PdfStandard::A_2a]).or_else(|_| write(&[]));
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
    /// `data.json` and the pictures.
    files: HashMap<FileId, Bytes>,
    date: Date,
}

impl Desk {
    fn new(
        main: &str,
        view: &Value,
        pictures: HashMap<String, Vec<u8>>,
        date: Date,
        templates: &Templates,
    ) -> Result<Self, PapersError> {
        let json = serde_json::to_vec(view).map_err(PapersError::view)?;
        let mut sources = HashMap::new();
        for (name, text) in templates.iter() {
            let id = file(name)?;
            sources.insert(id, Source::new(id, text.to_owned()));
        }
        let mut files = HashMap::from([(file(DATA)?, Bytes::new(json))]);
        for (name, bytes) in pictures {
            files.insert(file(&name)?, Bytes::new(bytes));
        }
        Ok(Self { library: LazyHash::new(Library::default()), main: file(main)?, sources, files, date })
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
        FONTS.book()
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
        FONTS.font(index)
    }

    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        at_midnight(self.date)
    }
}

fn absent(id: FileId) -> FileError {
    FileError::NotFound(id.get().vpath().get_without_slash().into())
}
