//! The email's subject and its two bodies, through Handlebars.
//!
//! Handed a view and the templates; gives text. Strict mode: a name that the view lacks is an error, with the
//! template's line and the names that there are. Data is escaped in HTML, and can't break a line in text. A template
//! reaches nothing but its view: no file, no other template, no log. Turned down: one registry for both, since what is escaped for HTML reads badly in plain text.

use handlebars::{Handlebars, RenderError, RenderErrorReason, Template, no_escape};
use serde_json::Value;

use crate::model::text::one_line;

use super::{PapersError, Templates, names, scopes, wrap};

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
    let fault = |line, message: String, place: Option<&str>| PapersError::Template {
        file: name.to_owned(),
        line,
        message,
        names: place.map_or_else(|| names::of(view), |place| names::at(view, place)),
    };
    let template = Template::compile_with_name(templates.text(name), name.to_owned())
        .map_err(|error| fault(error.pos().map(|(line, _)| line), error.reason().to_string(), None))?;
    if let Some(found) = scopes::forbidden(&template, !plain) {
        return Err(fault(Some(found.line), found.message, None));
    }
    let mut registry = Handlebars::new();
    registry.set_strict_mode(true);
    // It would write into the program's own log.
    registry.unregister_helper("log");
    if plain {
        registry.register_escape_fn(no_escape);
    }
    registry.register_template(name, template.clone());
    registry.render(name, view).map_err(|error| {
        let place = error.line_no.zip(error.column_no).map(|(line, column)| scopes::place(&template, line, column));
        fault(error.line_no, explain(&error), place.as_deref())
    })
}

fn explain(error: &RenderError) -> String {
    if let RenderErrorReason::MissingVariable(Some(name)) = error.reason() {
        format!("there is no `{name}` here")
    } else if let RenderErrorReason::HelperNotFound(name) = error.reason() {
        format!("there is no `{name}` here, nor a helper of that name")
    } else {
        error.reason().to_string()
    }
}
