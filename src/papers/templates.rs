//! The built-in templates, and the seller's own in their place.
//!
//! Handed the files of the home's `templates/`, by name; promises that every name is one that is used. Turned down:
//! merging parts of a template, since whoever overrides a file should see all of it.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use crate::model::scale::Sheet;

use super::{Look, PapersError, letter, press, proof, sample};

macro_rules! built_in {
    ($($name:literal),* $(,)?) => {
        /// Name and text of each, by name.
        const BUILT_IN: &[(&str, &str)] =
            &[$(($name, include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/templates/", $name)))),*];
    };
}

built_in![
    "customs.typ",
    "dispatch.html.hbs",
    "dispatch.txt.hbs",
    "dispatch.typ",
    "gift.typ",
    "hand-off.typ",
    "invoice.typ",
    "look.typ",
    "note.typ",
    "packing-card.typ",
    "pick-list.typ",
    "proof.typ",
    "subject.txt.hbs",
    "words-de.toml",
    "words-en.toml",
    "words-es.toml",
    "words-fr.toml",
    "words-ja.toml",
];

/// Texts of all templates.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Templates {
    texts: BTreeMap<String, String>,
    fonts: Option<PathBuf>,
}

impl Templates {
    /// Those compiled in.
    #[must_use]
    pub fn built_in() -> Self {
        Self {
            texts: BUILT_IN.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())).collect(),
            fonts: None,
        }
    }

    /// Those compiled in, with the seller's own files in place of those of the same name.
    ///
    /// # Errors
    /// [`PapersError::UnknownTemplate`] for a name that no paper is made from.
    pub fn with_overrides(files: BTreeMap<String, String>) -> Result<Self, PapersError> {
        let mut templates = Self::built_in();
        for (name, text) in files {
            match templates.texts.get_mut(&name) {
                Some(built_in) => *built_in = text,
                None => {
                    return Err(PapersError::UnknownTemplate {
                        name,
                        known: Self::names().collect::<Vec<_>>().join(", "),
                    });
                }
            }
        }
        Ok(templates)
    }

    /// With the typefaces in `folder` for letters that the built-in ones lack.
    #[must_use]
    pub fn with_fonts(self, folder: PathBuf) -> Self {
        Self { fonts: Some(folder), ..self }
    }

    /// The folder of the seller's own typefaces.
    pub(super) fn fonts(&self) -> Option<&Path> {
        self.fonts.as_deref()
    }

    /// The names, in order.
    pub fn names() -> impl Iterator<Item = &'static str> {
        BUILT_IN.iter().map(|(name, _)| *name)
    }

    /// Name and text of each, in order of name.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &str)> {
        self.texts.iter().map(|(name, text)| (name.as_str(), text.as_str()))
    }

    /// The text of one; empty for a name that is none.
    pub(super) fn text(&self, name: &str) -> &str {
        self.texts.get(name).map_or("", String::as_str)
    }

    /// Renders each with a sample day that has every kind of parcel and paper, with a second list of it, and with a
    /// day that has none.
    ///
    /// # Errors
    /// One for each template at fault, with its line and the names that exist.
    pub fn check(&self) -> Result<(), Vec<PapersError>> {
        let (seller, plan) = sample::day().map_err(|error| vec![error])?;
        let mut faults = Vec::new();
        for plan in [sample::empty(&plan), sample::later(&plan), plan] {
            let look = Look { seller: &seller, page: Sheet::A4, templates: self };
            faults.extend(press::day(&plan, &look).err());
            faults.extend(
                serde_json::to_value(sample::letter(&plan, &look))
                    .map_err(PapersError::view)
                    .and_then(|view| letter::bodies(&view, self))
                    .err(),
            );
        }
        faults.extend(proof::try_out(self).err());
        faults.sort_by_key(ToString::to_string);
        faults.dedup();
        if faults.is_empty() { Ok(()) } else { Err(faults) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn with(name: &str, text: &str) -> Templates {
        Templates::with_overrides([(name.to_owned(), text.to_owned())].into()).unwrap()
    }

    fn faults(templates: &Templates) -> String {
        templates.check().unwrap_err().iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
    }

    #[test]
    fn the_built_in_ones_are_sound() {
        assert_eq!(Templates::built_in().check(), Ok(()));
    }

    #[test]
    fn an_unknown_name_is_told_with_the_known_ones() {
        let error = Templates::with_overrides([("invoce.typ".to_owned(), String::new())].into()).unwrap_err();
        assert!(
            error.to_string().starts_with("`invoce.typ` is no template; the templates are `customs.typ, "),
            "{error}"
        );
    }

    #[test]
    fn a_wrong_name_is_told_with_file_line_and_the_names_there_are() {
        let said = faults(&with("dispatch.txt.hbs", "Hello\n{{#each parcels}}{{colour}}{{/each}}\n"));
        assert!(said.contains("`dispatch.txt.hbs` line 2: there is no `colour` here"), "{said}");
        assert!(said.contains("; the names there are: in parcels: answers, by, contents, heed, "), "{said}");
        assert!(!said.contains("in held:") && said.lines().count() == 1, "{said}");
        let said = faults(&with("dispatch.txt.hbs", "{{#if revision}}\n{{nosuch}}{{/if}}\n"));
        assert!(said.contains("`dispatch.txt.hbs` line 2: there is no `nosuch` here"), "only on a second list: {said}");
        let said = faults(&with("note.typ", "#let note(paper, day) = [\n  Dear #paper.nmae\n]\n"));
        assert!(said.contains("`note.typ` line 2: "), "{said}");
        assert!(said.contains("nmae") && said.contains("in slips"), "{said}");
    }

    /// Handlebars has no helper for any of this: what isn't a name of the view is an error.
    #[test]
    fn a_template_of_the_email_reaches_only_its_view() {
        let hostile = [
            "{{read \"/etc/passwd\"}}",
            "{{include \"note.typ\"}}",
            "{{log \"x\"}}",
            "{{env.HOME}}",
            "{{> note.typ}}",
            "{{> dispatch.txt.hbs}}",
            "{{#*inline \"a\"}}{{> a}}{{/inline}}{{> a}}",
            "{{constructor}}",
            "{{{questions.constructor}}}",
        ];
        let (seller, plan) = sample::day().unwrap();
        for name in ["subject.txt.hbs", "dispatch.txt.hbs", "dispatch.html.hbs"] {
            for text in hostile {
                let templates = with(name, &format!("one\n{text}"));
                let look = Look { seller: &seller, page: Sheet::A4, templates: &templates };
                let view = serde_json::to_value(sample::letter(&plan, &look)).unwrap();
                let said = letter::bodies(&view, &templates).map(|_| ()).unwrap_err().to_string();
                assert!(said.contains(&format!("`{name}` line 2: ")), "{text}: {said}");
            }
        }
        assert!(faults(&with("dispatch.html.hbs", "{{{seller}}}")).contains("write `{{seller}}`"));
    }

    #[test]
    fn a_template_of_the_pack_reaches_no_file_package_or_network() {
        let (seller, plan) = sample::day().unwrap();
        for reach in [
            "#read(\"/etc/passwd\")",
            "#read(\"../../etc/passwd\")",
            "#read(\"../dawnpack.toml\")",
            "#read(\"words-en.toml\")",
            "#read(\"sample.json\")",
            "#json(\"/manifest.json\")",
            "#csv(\"catalogue.csv\")",
            "#toml(\"dawnpack.toml\")",
            "#bibliography(\"x.bib\")",
            "#import \"@preview/tablex:0.0.8\": *",
            "#import \"@local/mine:1.0.0\": *",
            "#import \"../look.typ\": mono",
            "#include \"/home/x.typ\"",
            "#image(\"../x.png\")",
            "#image(\"https://example.org/x.png\")",
            "#plugin(\"x.wasm\")",
        ] {
            let templates = with("note.typ", &format!("#let note(paper, day) = [{reach}]\n"));
            let look = Look { seller: &seller, page: Sheet::A4, templates: &templates };
            let said = press::day(&plan, &look).map(|_| ()).unwrap_err().to_string();
            assert!(said.contains("`note.typ` line 1: "), "{reach}: {said}");
        }
    }
}
