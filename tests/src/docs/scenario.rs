//! `docs/scenario.md`.

use serde_json::Value;

use super::row;
use crate::schema::required_keys;

/// The page: one section for each part of a scenario, in the order of its name.
pub fn page() -> String {
    let schema = beamstay_planner::schema::scenario_schema();
    let mut text = String::from(
        "# Scenario reference\n\nGenerated from the code; do not edit. A scenario is one JSON document (RFC 8259: no comments). Every key \
         of a number ends in its unit. Unknown keys are errors. A part that offers a choice is written `{\"choice\": {…}}`, or \
         `\"choice\"` where the choice has no parts of its own. Any number can be changed from the command line by its JSON \
         Pointer: `--set /payload/mass_kg=1.2`. `beamstay new` prints a scenario that runs.\n\n## The document\n\n",
    );
    properties(&mut text, schema);
    let definitions = schema.get("$defs").and_then(Value::as_object).into_iter().flatten();
    for (name, definition) in definitions {
        text.push_str(&format!("\n## {name}\n\n"));
        if let Some(meaning) = definition.get("description").and_then(Value::as_str) {
            text.push_str(&format!("{}\n\n", one_line(meaning)));
        }
        match definition.get("oneOf").and_then(Value::as_array) {
            Some(choices) => choices.iter().for_each(|choice| self::choice(&mut text, choice)),
            None => properties(&mut text, definition),
        }
    }
    text
}

fn choice(text: &mut String, choice: &Value) {
    let meaning = choice.get("description").and_then(Value::as_str).map(one_line).unwrap_or_default();
    if let Some(name) = choice.get("const").and_then(Value::as_str) {
        text.push_str(&format!("- `\"{name}\"`: {meaning}\n"));
        return;
    }
    for name in choice.get("enum").and_then(Value::as_array).into_iter().flatten().filter_map(Value::as_str) {
        text.push_str(&format!("- `\"{name}\"`: {meaning}\n"));
    }
    for (name, inner) in choice.get("properties").and_then(Value::as_object).into_iter().flatten() {
        text.push_str(&format!("\n### `{name}`\n\n{meaning}\n\n"));
        match reference(inner) {
            Some(target) => text.push_str(&format!("Parts: see {}.\n", link(target))),
            None => properties(text, inner),
        }
    }
}

fn properties(text: &mut String, schema: &Value) {
    let Some(fields) = schema.get("properties").and_then(Value::as_object).filter(|f| !f.is_empty()) else {
        text.push_str("No parts of its own.\n");
        return;
    };
    let required = required_keys(schema);
    row(text, &["key", "value", "default", "meaning"]);
    row(text, &["---", "---", "---", "---"]);
    for (key, field) in fields {
        let default = if required.contains(&key.as_str()) {
            "required".to_owned()
        } else {
            match field.get("default") {
                None | Some(Value::Null) => "none".to_owned(),
                Some(Value::Object(_)) => "all defaults".to_owned(),
                Some(value) => format!("`{value}`"),
            }
        };
        let meaning = field.get("description").and_then(Value::as_str).map(one_line).unwrap_or_default();
        row(text, &[&format!("`{key}`"), &kind(field), &default, &meaning]);
    }
}

/// What may stand there, in words.
fn kind(field: &Value) -> String {
    if let Some(target) = reference(field) {
        return link(target);
    }
    if let Some(items) = field.get("items") {
        return format!("list of {}", reference(items).map_or_else(|| kind(items), link));
    }
    let unit = field.get("x-unit").and_then(Value::as_str).map(|unit| format!(" {unit}")).unwrap_or_default();
    let bound = |key| field.get(key).and_then(Value::as_f64);
    match (bound("minimum"), bound("maximum")) {
        (Some(min), Some(max)) => format!("{min} to {max}{unit}"),
        _ => match field.get("type") {
            Some(Value::String(name)) if name == "string" => "text".into(),
            _ => "value".into(),
        },
    }
}

/// The definition that a field refers to, also through the wrapper of an optional field.
fn reference(field: &Value) -> Option<&str> {
    let direct = field.get("$ref").and_then(Value::as_str);
    let wrapped = || field.get("anyOf")?.as_array()?.iter().find_map(|option| option.get("$ref")?.as_str());
    direct.or_else(wrapped).and_then(|target| target.rsplit('/').next())
}

fn link(name: &str) -> String {
    format!("[{name}](#{})", name.to_lowercase())
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
