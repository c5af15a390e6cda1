//! What is published of the papers' data: JSON Schemas of the manifest and of both views, and `templates/views.md`,
//! which tells the views field by field. All are made of the types and their doc comments.
//!
//! The tests compare what lies in the tree with what the types say. `WRITE_SCHEMAS=1 cargo test --lib
//! papers::schemas` writes it anew. Turned down: pages kept by hand, which a new field leaves behind.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;
use std::{env, fs};

use schemars::generate::SchemaSettings;
use schemars::transform::RecursiveTransform;
use schemars::{JsonSchema, Schema};
use serde_json::Value;

use super::manifest::form::Manifest;
use super::view::email::Letter;
use super::view::print::PrintPack;
use super::view::proof::ProofView;

/// JSON Schema draft 2020-12 of `T` as it is written.
fn schema<T: JsonSchema>(id: &str) -> Value {
    // "format": "uint32" and the like are schemars' own words.
    let plain = |schema: &mut Schema| {
        if schema.get("format").and_then(Value::as_str).is_some_and(|format| format != "date") {
            schema.remove("format");
        }
    };
    let settings =
        SchemaSettings::draft2020_12().for_serialize().with_transform(RecursiveTransform(plain)).into_generator();
    let mut schema = settings.into_root_schema_for::<T>();
    schema.insert("$id".to_owned(), Value::from(id));
    schema.to_value()
}

/// A field's type in words; a type of ours as a link to its table.
fn words(field: &Value) -> String {
    if let Some(name) = field["$ref"].as_str().and_then(|name| name.rsplit('/').next()) {
        return format!("[{name}](#{})", name.to_lowercase());
    }
    if let Some(either) = field["anyOf"].as_array() {
        let known: Vec<String> = either.iter().filter(|one| one["type"] != "null").map(words).collect();
        return format!("{}, or null", known.join(" or "));
    }
    match &field["type"] {
        Value::Array(types) => {
            let mut one = field.clone();
            one["type"] = types.iter().find(|kind| **kind != "null").cloned().unwrap_or_default();
            format!("{}, or null", words(&one))
        }
        Value::String(kind) => match kind.as_str() {
            "string" => "text".to_owned(),
            "integer" | "number" => "number".to_owned(),
            "boolean" => "true or false".to_owned(),
            "array" if field["prefixItems"].is_array() => "numbers".to_owned(),
            "array" => format!("list of {}", words(&field["items"])),
            other => panic!("a field of type {other}: {field}"),
        },
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::Object(_) => {
            panic!("a field without a type: {field}")
        }
    }
}

/// The first paragraph of a type's or field's doc comment, on one line.
fn says(of: &Value) -> String {
    let text = of["description"].as_str().unwrap_or_default();
    text.split("\n\n").next().unwrap_or_default().replace('\n', " ")
}

fn table(out: &mut String, properties: &Value) {
    out.push_str("\n| name | holds | is |\n|---|---|---|\n");
    for (name, field) in properties.as_object().into_iter().flatten() {
        if let Some(kind) = field["const"].as_str() {
            writeln!(out, "| `{name}` | text | `{kind}` |").unwrap();
        } else {
            assert!(!says(field).is_empty(), "`{name}` has no doc comment");
            writeln!(out, "| `{name}` | {} | {} |", words(field), says(field)).unwrap();
        }
    }
}

/// One type: its table; of one that is told apart by `kind`, what each kind is.
fn section(out: &mut String, name: &str, schema: &Value) {
    write!(out, "\n### {name}\n\n{}\n", says(schema)).unwrap();
    if let Some(kinds) = schema["oneOf"].as_array() {
        out.push_str("\n| `kind` | is |\n|---|---|\n");
        for kind in kinds {
            let word = kind["properties"]["kind"]["const"].as_str().unwrap();
            writeln!(out, "| `{word}` | a {}, with `kind` beside its names |", words(kind)).unwrap();
        }
    } else {
        table(out, &schema["properties"]);
    }
}

fn views() -> String {
    let mut out = String::from(
        "# What templates get\n\nEvery name of the three views, made of the program's own types by a test \
         (`src/papers/schemas.rs`).\nBeside it lie the same as JSON Schema: `email.schema.json`, \
         `print-pack.schema.json`, `proof.schema.json`. `sample.json` is the day on\nwhich `dawnpack check` tries templates.\n",
    );
    let mut shared = BTreeMap::new();
    let tops = [
        ("The email", "`subject.txt.hbs`, `dispatch.txt.hbs`, `dispatch.html.hbs`", schema::<Letter>("")),
        ("The print pack", "`dispatch.typ`, which reads it as `data.json`", schema::<PrintPack>("")),
        ("The proof", "`proof.typ`, which reads it as `data.json`", schema::<ProofView>("")),
    ];
    for (title, files, schema) in tops {
        write!(out, "\n## {title}\n\nFor {files}.\n").unwrap();
        table(&mut out, &schema["properties"]);
        for (name, inner) in schema["$defs"].as_object().into_iter().flatten() {
            if shared.insert(name.clone(), inner.clone()).is_none() {
                section(&mut out, name, inner);
            }
        }
    }
    out
}

fn compare(file: &str, made: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(file);
    if env::var_os("WRITE_SCHEMAS").is_some() {
        fs::write(&path, made).unwrap();
    }
    let kept = fs::read_to_string(&path).unwrap_or_default();
    assert!(
        kept == made,
        "{file} isn't what the types say; WRITE_SCHEMAS=1 cargo test --lib papers::schemas writes it"
    );
}

fn compare_schema<T: JsonSchema>(file: &str, id: &str) {
    compare(file, &(serde_json::to_string_pretty(&schema::<T>(id)).unwrap() + "\n"));
}

#[test]
fn the_published_schemas_are_what_the_types_say() {
    compare_schema::<Manifest>("examples/schemas/manifest.schema.json", "dawnpack/manifest/1");
    compare_schema::<Letter>("templates/email.schema.json", "dawnpack/templates/email");
    compare_schema::<PrintPack>("templates/print-pack.schema.json", "dawnpack/templates/print-pack");
    compare_schema::<ProofView>("templates/proof.schema.json", "dawnpack/templates/proof");
}

#[test]
fn the_page_of_the_views_is_what_the_types_say() {
    compare("templates/views.md", &views());
}
