//! Which names a view has, for the messages of templates that ask for others.

use std::collections::BTreeMap;

use serde_json::Value;

/// The view's names, grouped by where they stand: `at the top: date, parcels; in parcels: ref, name`.
pub(super) fn of(view: &Value) -> String {
    let mut groups = BTreeMap::new();
    gather("", view, &mut groups);
    let mut lines = Vec::new();
    if let Some(top) = groups.remove("") {
        lines.push(format!("at the top: {top}"));
    }
    lines.extend(groups.into_iter().map(|(place, names)| format!("in {place}: {names}")));
    lines.join("; ")
}

/// The names in one place: `in parcels: ref, name`; where there are none, what an entry there is.
pub(super) fn at(view: &Value, place: &str) -> String {
    let mut groups = BTreeMap::new();
    gather("", view, &mut groups);
    let names = groups.get(place).map_or("only {{this}}", String::as_str);
    if place.is_empty() { format!("at the top: {names}") } else { format!("in {place}: {names}") }
}

fn gather(place: &str, value: &Value, groups: &mut BTreeMap<String, String>) {
    match value {
        Value::Object(fields) => {
            let mut names: Vec<&str> = fields.keys().map(String::as_str).collect();
            names.sort_unstable();
            // Entries of a list may differ in kind; the longest set of names is told.
            let names = names.join(", ");
            let known = groups.entry(place.to_owned()).or_default();
            if names.len() > known.len() {
                *known = names;
            }
            for (name, inner) in fields {
                let place = if place.is_empty() { name.clone() } else { format!("{place}.{name}") };
                gather(&place, inner, groups);
            }
        }
        Value::Array(entries) => entries.iter().for_each(|entry| gather(place, entry, groups)),
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_told_where_they_stand() {
        let view = serde_json::json!({ "date": { "iso": "" }, "parcels": [{ "ref": "" }], "lang": "en" });
        assert_eq!(of(&view), "at the top: date, lang, parcels; in date: iso; in parcels: ref");
        assert_eq!(at(&view, "parcels"), "in parcels: ref");
        assert_eq!(at(&view, ""), "at the top: date, lang, parcels");
        assert_eq!(at(&view, "lang"), "in lang: only {{this}}");
    }
}
