//! What stands where in a Handlebars template: which list a name is looked up in, and what a template may not hold.
//!
//! Handed a compiled template. Turned down: reading its text with a scanner of our own, since handlebars hands out
//! what it parsed.

use handlebars::Template;
use handlebars::template::{HelperTemplate, TemplateElement};

/// A thing that a template may not hold, and its line from 1.
pub(super) struct Forbidden {
    pub(super) line: usize,
    pub(super) message: String,
}

/// The first thing that `template` may not hold. A partial could call itself for ever; and where `escaped`, what came
/// from outside is put in as text, never as markup.
pub(super) fn forbidden(template: &Template, escaped: bool) -> Option<Forbidden> {
    let mut found = None;
    walk(template, &[], &mut |element, (line, _), _| {
        let message = if let TemplateElement::HtmlExpression(helper) = element {
            let name = helper.name.as_name().unwrap_or("…");
            escaped.then(|| {
                format!(
                    "`{{{{{{{name}}}}}}}` would put a buyer's words into the page as markup; write `{{{{{name}}}}}`"
                )
            })
        } else {
            let borrows = matches!(
                element,
                TemplateElement::PartialExpression(_)
                    | TemplateElement::PartialBlock(_)
                    | TemplateElement::DecoratorExpression(_)
                    | TemplateElement::DecoratorBlock(_)
            );
            borrows.then(|| "a template stands alone: write out what `{{> …}}` or `{{#* …}}` would bring in".to_owned())
        };
        if let Some(message) = message {
            found.get_or_insert(Forbidden { line, message });
        }
    });
    found
}

/// The list or group that names at this line and column are looked up in, such as `parcels`; empty at the top.
pub(super) fn place(template: &Template, line: usize, column: usize) -> String {
    let mut place = String::new();
    walk(template, &[], &mut |_, at, scope| {
        if at == (line, column) {
            place = scope.join(".");
        }
    });
    place
}

type Visit<'v> = dyn FnMut(&TemplateElement, (usize, usize), &[String]) + 'v;

fn walk(template: &Template, scope: &[String], visit: &mut Visit<'_>) {
    for (element, at) in template.elements.iter().zip(&template.mapping) {
        visit(element, (at.0, at.1), scope);
        if let TemplateElement::HelperBlock(helper) = element {
            let inner = inner(helper, scope);
            if let Some(template) = &helper.template {
                walk(template, &inner, visit);
            }
            if let Some(otherwise) = &helper.inverse {
                walk(otherwise, scope, visit);
            }
        }
    }
}

/// Inside `{{#each parcels}}` names are those of a parcel.
fn inner(helper: &HelperTemplate, scope: &[String]) -> Vec<String> {
    let mut inner = scope.to_vec();
    let changes = matches!(helper.name.as_name(), Some("each" | "with"));
    let Some(path) = helper.params.first().filter(|_| changes).and_then(|param| param.as_name()) else {
        return inner;
    };
    for step in path.split(['.', '/']).filter(|step| !matches!(*step, "" | "this")) {
        inner.push(step.to_owned());
    }
    if path.starts_with("../") {
        inner = inner.into_iter().skip(scope.len()).collect();
    }
    inner
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_is_the_list_it_stands_in() {
        let text = "{{a}}\n{{#each parcels}}{{b}}\n{{#each heed}}{{c}}{{/each}}\n{{else}}{{d}}\n{{/each}}";
        let template = Template::compile(text).unwrap();
        let places: Vec<String> = [(1, 1), (2, 18), (3, 15), (4, 9)]
            .into_iter()
            .map(|(line, column)| place(&template, line, column))
            .collect();
        assert_eq!(places, ["", "parcels", "parcels.heed", ""]);
    }

    #[test]
    fn markup_from_outside_and_partials_are_told_with_their_line() {
        let said = |text: &str, escaped| {
            forbidden(&Template::compile(text).unwrap(), escaped).map(|found| (found.line, found.message))
        };
        let (line, message) = said("x\n{{#if a}}\n{{{name}}}{{/if}}", true).unwrap();
        assert_eq!((line, message.contains("write `{{name}}`")), (3, true), "{message}");
        assert!(said("{{{name}}}", false).is_none());
        assert_eq!(said("\n{{#*inline \"a\"}}{{> a}}{{/inline}}{{> a}}", false).unwrap().0, 2);
        assert!(said("{{#each a}}{{this}}{{/each}}", true).is_none());
    }
}
