//! The email's subject and its two bodies, through Handlebars.
//!
//! Handed a view and the templates; gives text. Strict mode: a name that the view lacks is an error, with the
//! template's line and the names that there are. Data is escaped in HTML, and can't break a line in text. Turned
//! down: one registry for both, since what is escaped for HTML reads badly in plain text.

use handlebars::{Handlebars, RenderError, RenderErrorReason, no_escape};
use serde_json::Value;

use crate::model::text::one_line;

use super::{PapersError, Templates, names, wrap};

/// Columns of the text body.
const COLUMNS: usize = 72;

/// Subject, text and HTML.
pub(super) struct Bodies {
    pub(super) subject: String,
    pub(super) text: String,
    pub(super) html: String,
}

/// Renders all three of `view`.
pub(super) fn bodies(view: &Value, templates: &Templates) -> Result<Bodies, PapersError> {
    let mut flat = view.clone();
    tidy(&mut flat);
    let subject = render("subject.txt.hbs", &flat, templates, true)?;
    let text = render("dispatch.txt.hbs", &flat, templates, true)?;
    let html = render("dispatch.html.hbs", &flat, templates, false)?;
    Ok(Bodies { subject: one_line(&subject), text: wrap::wrapped(&text, COLUMNS), html })
}

/// Every string on one line and without invisible characters: what came from outside can't start a line of its own
/// or turn the reading direction of the rest.
pub(super) fn tidy(value: &mut Value) {
    match value {
        Value::String(text) => *text = one_line(text),
        Value::Array(entries) => entries.iter_mut().for_each(tidy),
        Value::Object(fields) => fields.values_mut().for_each(tidy),
        Value::Null | Value::Bool(_) | Value::Number(_) => {}
    }
}

fn render(name: &str, view: &Value, templates: &Templates, plain: bool) -> Result<String, PapersError> {
    let mut registry = Handlebars::new();
    registry.set_strict_mode(true);
    if plain {
        registry.register_escape_fn(no_escape);
    }
    registry.register_template_string(name, templates.text(name)).map_err(|error| PapersError::Template {
        file: name.to_owned(),
        line: error.pos().map(|(line, _)| line),
        message: error.reason().to_string(),
        names: names::of(view),
    })?;
    registry.render(name, view).map_err(|error| PapersError::Template {
        file: name.to_owned(),
        line: error.line_no,
        message: explain(&error),
        names: names::of(view),
    })
}

fn explain(error: &RenderError) -> String {
    if let RenderErrorReason::MissingVariable(Some(name)) = error.reason() {
        format!("there is no `{name}` here")
    } else {
        error.reason().to_string()
    }
}
