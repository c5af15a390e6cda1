//! The built-in templates, and the seller's own in their place.
//!
//! Handed the files of the home's `templates/`, by name; promises that every name is one that is used. Turned down:
//! merging parts of a template, since whoever overrides a file should see all of it.

use std::collections::BTreeMap;

use super::{Look, Page, PapersError, letter, press, proof, sample, view};

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
];

/// Texts of all templates.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Templates {
    texts: BTreeMap<String, String>,
}

impl Templates {
    /// Those compiled in.
    #[must_use]
    pub fn built_in() -> Self {
        Self { texts: BUILT_IN.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())).collect() }
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

    /// Renders each with a sample day that has every kind of parcel and paper, and with a day that has none.
    ///
    /// # Errors
    /// One for each template at fault, with its line and the names that exist.
    pub fn check(&self) -> Result<(), Vec<PapersError>> {
        let (seller, plan) = sample::day().map_err(|error| vec![error])?;
        let mut faults = Vec::new();
        for plan in [sample::empty(&plan), plan] {
            let look = Look { seller: &seller, page: Page::A4, templates: self };
            faults.extend(press::print(&view::print::pack(&plan, &look), plan.date, self).err());
            let view = view::email::letter(&plan, &look, &["a line".to_owned()], vec!["dispatch.pdf".to_owned()]);
            faults.extend(
                serde_json::to_value(view)
                    .map_err(PapersError::view)
                    .and_then(|view| letter::bodies(&view, self))
                    .err(),
            );
        }
        faults.extend(proof::try_out(self).err());
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
        assert!(said.contains("in parcels: answers, contents"), "{said}");
        let said = faults(&with("note.typ", "#let note(paper, day) = [\n  Dear #paper.nmae\n]\n"));
        assert!(said.contains("`note.typ` line 2: "), "{said}");
        assert!(said.contains("nmae") && said.contains("in slips"), "{said}");
    }

    #[test]
    fn templates_reach_no_file_package_or_network() {
        for reach in ["#read(\"/etc/passwd\")", "#import \"@preview/tablex:0.0.8\": *", "#image(\"../x.png\")"] {
            let text = format!("#let note(paper, day) = [{reach}]\n");
            assert!(faults(&with("note.typ", &text)).contains("`note.typ` line 1: "), "{reach}");
        }
    }

    #[test]
    fn the_readme_tells_every_name() {
        fn keys(value: &serde_json::Value, told: &dyn Fn(&str)) {
            match value {
                serde_json::Value::Object(fields) => fields.iter().for_each(|(key, inner)| {
                    told(key);
                    keys(inner, told);
                }),
                serde_json::Value::Array(entries) => entries.iter().for_each(|entry| keys(entry, told)),
                serde_json::Value::Null
                | serde_json::Value::Bool(_)
                | serde_json::Value::Number(_)
                | serde_json::Value::String(_) => {}
            }
        }
        let readme = include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/templates/README.md"));
        let told = |key: &str| {
            let forms = [format!("`{key}`"), format!("`{key}[]`"), format!(".{key}[]`"), format!(" {key}: ")];
            assert!(forms.iter().any(|form| readme.contains(form.as_str())), "`{key}` is not in templates/README.md");
        };
        let (seller, plan) = sample::day().unwrap();
        let templates = Templates::built_in();
        let look = Look { seller: &seller, page: Page::A4, templates: &templates };
        keys(&serde_json::to_value(view::print::pack(&plan, &look)).unwrap(), &told);
        keys(&proof::view_of_all(&look).unwrap(), &told);
        keys(&serde_json::to_value(view::email::letter(&plan, &look, &[], Vec::new())).unwrap(), &told);
    }
}
