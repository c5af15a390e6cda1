//! The typefaces of the print pack: those that are compiled in, and for letters that they lack, the seller's own and
//! the system's.
//!
//! Handed the letters that a pack prints; promises that what the built-in typefaces have is set in those and so has
//! the same bytes on every machine. Only for letters that they lack is the home's `fonts/` looked into, and only for
//! what is still lacking the system's typefaces. Turned down: handing typst all that a machine has, which lets the
//! shape of a Greek name depend on what else is installed; and compiling in a typeface for every script (some 20 MB
//! for Chinese, Japanese and Korean alone).

use std::cmp::Reverse;
use std::collections::BTreeSet;
use std::path::Path;
use std::sync::{Arc, LazyLock};

use serde::Serialize;
use typst::text::{Font, FontBook, FontFlags, FontInfo, FontStyle, FontWeight};
use typst::utils::LazyHash;
use typst_kit::fonts::{FontPath, FontSource, FontStore};

/// The compiled-in families for running text, in the order in which they are asked for a letter.
const TEXT: [&str; 3] = ["Libertinus Serif", "New Computer Modern", "DejaVu Sans Mono"];
/// The same for refs and codes.
const MONO: [&str; 3] = ["DejaVu Sans Mono", "Libertinus Serif", "New Computer Modern"];
/// Typefaces made to show a box, or nothing, for every letter there is: they would hide what is missing.
const BLANK: [&str; 4] = ["Last Resort", "LastResort", "Adobe Blank", "AdobeBlank"];

/// Families by name, as the templates hand them to typst.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub(super) struct Families {
    /// For running text.
    pub(super) text: Vec<String>,
    /// For refs and codes.
    pub(super) mono: Vec<String>,
}

/// What a pack is set in.
pub(super) struct Fonts {
    store: FontStore,
    /// Codepoints that the compiled-in families have.
    built_in: Arc<BTreeSet<u32>>,
    /// Typefaces taken besides, in the order in which they are asked.
    besides: Vec<FontInfo>,
}

static BUILT_IN: LazyLock<Arc<Fonts>> = LazyLock::new(|| {
    let mut store = FontStore::new();
    store.extend(typst_kit::fonts::embedded());
    let mut built_in = BTreeSet::new();
    let mut index = 0;
    while let Some(info) = store.book().info(index) {
        if TEXT.contains(&info.family.as_str()) {
            built_in.extend(info.coverage.iter());
        }
        index += 1;
    }
    Arc::new(Fonts { store, built_in: Arc::new(built_in), besides: Vec::new() })
});

impl Fonts {
    /// Those that are compiled in.
    pub(super) fn built_in() -> Arc<Self> {
        Arc::clone(&BUILT_IN)
    }

    /// For `letters`: those compiled in, and with a `folder` what it and then the system have of the letters that are
    /// lacking. Nothing is read where nothing is lacking.
    pub(super) fn for_letters(letters: &BTreeSet<char>, folder: Option<&Path>) -> Arc<Self> {
        let built_in = Self::built_in();
        let mut lacking: BTreeSet<char> = letters.iter().copied().filter(|c| !built_in.has(*c)).collect();
        let Some(folder) = folder.filter(|_| !lacking.is_empty()) else { return built_in };
        let mut chosen = Vec::new();
        choose(&sorted(typst_kit::fonts::scan(folder)), &mut lacking, &mut chosen);
        if !lacking.is_empty() {
            choose(&sorted(typst_kit::fonts::system()), &mut lacking, &mut chosen);
        }
        Self::with(chosen)
    }

    fn with(chosen: Vec<(Font, FontInfo)>) -> Arc<Self> {
        if chosen.is_empty() {
            return Self::built_in();
        }
        let mut store = FontStore::new();
        store.extend(typst_kit::fonts::embedded());
        let besides = chosen.iter().map(|(_, info)| info.clone()).collect();
        store.extend(chosen);
        Arc::new(Self { store, built_in: Arc::clone(&BUILT_IN.built_in), besides })
    }

    /// Whether some family has `c`. Private use says nothing to anybody else, and the archival standards forbid it.
    pub(super) fn has(&self, c: char) -> bool {
        let private = matches!(c, '\u{E000}'..='\u{F8FF}' | '\u{F0000}'..='\u{10FFFF}');
        let code = u32::from(c);
        !private
            && (c == ' '
                || self.built_in.contains(&code)
                || self.besides.iter().any(|info| info.coverage.contains(code)))
    }

    /// Whether it is more than what is compiled in.
    pub(super) fn has_more(&self) -> bool {
        !self.besides.is_empty()
    }

    /// Names of the families taken besides that `text` is set in.
    pub(super) fn used_for(&self, text: &str) -> Vec<&str> {
        let mut names: Vec<&str> = Vec::new();
        for c in text.chars().filter(|c| !self.built_in.contains(&u32::from(*c))) {
            let first = self.besides.iter().find(|info| info.coverage.contains(u32::from(c)));
            names.extend(first.map(|info| info.family.as_str()).filter(|name| !names.contains(name)));
        }
        names
    }

    /// Names of the families taken besides, in the order in which they are asked.
    fn besides(&self) -> Vec<&str> {
        let mut names: Vec<&str> = Vec::new();
        for info in &self.besides {
            if !names.contains(&info.family.as_str()) {
                names.push(&info.family);
            }
        }
        names
    }

    /// The families in the order in which they are asked for a letter.
    pub(super) fn families(&self) -> Families {
        let all = |first: [&str; 3]| first.into_iter().chain(self.besides()).map(str::to_owned).collect();
        Families { text: all(TEXT), mono: all(MONO) }
    }

    /// All of them, as typst wants them.
    pub(super) fn book(&self) -> &LazyHash<FontBook> {
        self.store.book()
    }

    /// One of them.
    pub(super) fn font(&self, index: usize) -> Option<Font> {
        self.store.font(index)
    }
}

/// A directory is listed in any order; the choice must not hang on it.
fn sorted(found: impl Iterator<Item = (FontPath, FontInfo)>) -> Vec<(FontPath, FontInfo)> {
    let mut found: Vec<_> =
        found.filter(|(_, info)| !BLANK.iter().any(|blank| info.family.starts_with(blank))).collect();
    found.sort_by(|(a, _), (b, _)| (&a.path, a.index).cmp(&(&b.path, b.index)));
    found
}

/// Takes families into `chosen`, always the one that has most of what is `lacking`, until none helps.
fn choose(found: &[(FontPath, FontInfo)], lacking: &mut BTreeSet<char>, chosen: &mut Vec<(Font, FontInfo)>) {
    let east = east_asian(lacking);
    let mut unreadable: BTreeSet<usize> = BTreeSet::new();
    loop {
        let covered = |info: &FontInfo| lacking.iter().filter(|c| info.coverage.contains(u32::from(**c))).count();
        let best = found
            .iter()
            .enumerate()
            .filter(|(at, _)| !unreadable.contains(at))
            .map(|(at, (_, info))| (covered(info), at, info))
            .filter(|(covered, ..)| *covered > 0)
            .min_by_key(|(covered, at, info)| {
                let plain = info.variant.style == FontStyle::Normal && info.variant.weight == FontWeight::REGULAR;
                let mono = info.flags.contains(FontFlags::MONOSPACE);
                (Reverse(*covered), !info.family.ends_with(east), !plain, mono, info.family.clone(), *at)
            });
        let Some((_, at, info)) = best else { return };
        match found.get(at).and_then(|(path, _)| path.load()) {
            Some(font) => {
                lacking.retain(|c| !info.coverage.contains(u32::from(*c)));
                chosen.push((font, info.clone()));
                chosen.extend(bold(found, info));
            }
            // A broken file is passed over like one that isn't there.
            None => {
                unreadable.insert(at);
            }
        }
    }
}

/// The bold of the same family, for names, where there is one.
fn bold(found: &[(FontPath, FontInfo)], regular: &FontInfo) -> Option<(Font, FontInfo)> {
    let (path, info) = found
        .iter()
        .filter(|(_, info)| info.family == regular.family && info.variant.style == regular.variant.style)
        .find(|(_, info)| info.variant.weight == FontWeight::BOLD && info.variant.weight > regular.variant.weight)?;
    Some((path.load()?, info.clone()))
}

/// How the families of Noto and Source Han that share their letters across China, Japan and Korea end their names
/// for the shapes that fit: Han letters beside kana are Japanese, beside hangul Korean.
fn east_asian(letters: &BTreeSet<char>) -> &'static str {
    let any = |first: char, last: char| letters.range(first..=last).next().is_some();
    if any('\u{3040}', '\u{30FF}') {
        "JP"
    } else if any('\u{AC00}', '\u{D7AF}') {
        "KR"
    } else if any('\u{3400}', '\u{9FFF}') {
        "SC"
    } else {
        "\u{0}"
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_compiled_in_is_asked_first_and_nothing_else_is_read_for_it() {
        let letters = "Zoë Łukasz Ωμέγα Жук שלום عمر 2 × ☐".chars().collect();
        let fonts = Fonts::for_letters(&letters, Some(Path::new("/")));
        assert!(!fonts.has_more());
        assert_eq!(fonts.families().text, TEXT);
        assert!(!fonts.has('\u{E000}') && !fonts.has('山'));
    }

    #[test]
    fn a_folder_with_files_that_are_no_typefaces_gives_none() {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("broken.ttf"), b"\x00\x01\x00\x00 no").unwrap();
        let mut lacking = ['山'].into();
        let mut chosen = Vec::new();
        choose(&sorted(typst_kit::fonts::scan(folder.path())), &mut lacking, &mut chosen);
        assert!(chosen.is_empty() && lacking.contains(&'山'));
    }
}
