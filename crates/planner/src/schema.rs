//! The JSON Schema of a scenario, generated from its types, and the check of a document against it. Ranges, defaults,
//! meanings and units stand once, at the fields of the scenario; here they are only read.

use std::sync::OnceLock;

use serde_json::{Map, Value};

use crate::{
    diagnostic::{Diagnostic, Fault},
    document::{Document, escape},
    nearest::nearest,
    scenario::Scenario,
    units::unit_of_key,
};

/// JSON Schema (draft 2020-12) of a scenario. Every number carries its range and, as `x-unit`, its unit.
pub fn scenario_schema() -> &'static Value {
    static SCHEMA: OnceLock<Value> = OnceLock::new();
    SCHEMA.get_or_init(|| {
        let mut schema = schemars::schema_for!(Scenario).to_value();
        add_units(&mut schema);
        schema
    })
}

/// Writes `x-unit` beside every number whose key ends in a unit.
fn add_units(node: &mut Value) {
    match node {
        Value::Object(object) => {
            if let Some(Value::Object(properties)) = object.get_mut("properties") {
                for (key, property) in properties.iter_mut() {
                    if let (Some(unit), Some(property)) = (unit_of_key(key), property.as_object_mut()) {
                        property.insert("x-unit".into(), unit.into());
                    }
                }
            }
            object.values_mut().for_each(add_units);
        }
        Value::Array(array) => array.iter_mut().for_each(add_units),
        _ => {}
    }
}

/// A default that the document leaves to the program.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct DefaultUsed {
    /// Where the value would stand.
    pub pointer: String,
    /// The value taken.
    pub value: Value,
    /// Its unit, empty for none.
    pub unit: String,
    /// What it is and where it comes from.
    pub meaning: String,
}

/// What the check of a document found.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Checked {
    /// All faults.
    pub faults: Vec<Diagnostic>,
    /// All defaults taken.
    pub defaults: Vec<DefaultUsed>,
}

/// Checks a document against the schema and reports every fault at once.
pub fn check(document: &Document) -> Checked {
    let schema = scenario_schema();
    let mut walk = Walk { root: schema, document, checked: Checked::default() };
    walk.value(&document.value, schema, "");
    walk.checked.faults.extend_from_slice(document.duplicate_keys());
    walk.checked.faults.sort_by_key(|fault| fault.span.as_ref().map_or(usize::MAX, |s| s.start));
    walk.checked
}

struct Walk<'a> {
    root: &'a Value,
    document: &'a Document,
    checked: Checked,
}

impl<'a> Walk<'a> {
    /// Follows `$ref` and the wrapper that an optional field has.
    fn resolve(&self, schema: &'a Value) -> &'a Value {
        let mut schema = schema;
        for _ in 0..8 {
            if let Some(target) = schema.get("$ref").and_then(Value::as_str) {
                match self.root.pointer(target.trim_start_matches('#')) {
                    Some(found) => schema = found,
                    None => return schema,
                }
            } else if let Some(options) = schema.get("anyOf").and_then(Value::as_array) {
                match options.iter().find(|o| o.get("type").and_then(Value::as_str) != Some("null")) {
                    Some(found) => schema = found,
                    None => return schema,
                }
            } else {
                return schema;
            }
        }
        schema
    }

    fn fault(&mut self, pointer: &str, at_key: bool, fault: Fault) {
        let mut diagnostic = Diagnostic::new(pointer, fault);
        let key_span = if at_key { self.document.key_span(pointer) } else { None };
        diagnostic.span = key_span.or_else(|| self.document.span(pointer)).map(|span| {
            // A whole object would fill the screen: its opening bracket will do.
            let whole = matches!(diagnostic.fault, Fault::MissingKey { .. }) && pointer.is_empty();
            if whole { span.start..span.start + 1 } else { span }
        });
        self.checked.faults.push(diagnostic);
    }

    fn value(&mut self, value: &Value, field: &'a Value, pointer: &str) {
        let schema = self.resolve(field);
        if let Some(choices) = schema.get("oneOf").and_then(Value::as_array) {
            return self.choice(value, choices, pointer);
        }
        let expected = expected_type(schema);
        if !has_type(value, expected) {
            let expected = describe_expected(expected, field);
            return self.fault(pointer, false, Fault::WrongType { found: type_name(value), expected });
        }
        match value {
            Value::Object(object) => self.object(object, schema, pointer),
            Value::Array(array) => {
                if let Some(items) = schema.get("items") {
                    for (index, element) in array.iter().enumerate() {
                        self.value(element, items, &format!("{pointer}/{index}"));
                    }
                }
                self.length(array.len(), schema, pointer);
            }
            Value::Number(number) => self.number(number.as_f64(), field, schema, pointer),
            Value::String(text) => self.word(text, schema, pointer),
            _ => {}
        }
    }

    fn object(&mut self, object: &Map<String, Value>, schema: &'a Value, pointer: &str) {
        let empty = Map::new();
        let mut meant: Vec<String> = Vec::new();
        let properties = schema.get("properties").and_then(Value::as_object);
        for (key, value) in object {
            let child = format!("{pointer}/{}", escape(key));
            match properties.and_then(|p| p.get(key)) {
                Some(field) => self.value(value, field, &child),
                None => {
                    let known = properties.unwrap_or(&empty);
                    let suggestion = nearest(key, known.keys().map(String::as_str)).map(str::to_owned);
                    let known = known.keys().cloned().collect();
                    meant.extend(suggestion.clone());
                    self.fault(&child, true, Fault::UnknownKey { key: key.clone(), suggestion, known });
                }
            }
        }
        for key in
            schema.get("required").and_then(Value::as_array).into_iter().flatten().filter_map(Value::as_str)
        {
            // A key that is only misspelt is one fault, not two.
            if !object.contains_key(key) && !meant.iter().any(|m| m == key) {
                let meaning =
                    properties.and_then(|p| p.get(key)).map(|f| self.meaning(f)).unwrap_or_default();
                self.fault(pointer, true, Fault::MissingKey { key: key.into(), meaning });
            }
        }
        for (key, field) in properties.into_iter().flatten() {
            if !object.contains_key(key) {
                self.note_default(field, &format!("{pointer}/{key}"));
            }
        }
    }

    /// Notes the default of a field that is left out; for an object, each of its parts.
    fn note_default(&mut self, field: &'a Value, pointer: &str) {
        let Some(value) = field.get("default") else { return };
        if value.is_null() {
            return;
        }
        let schema = self.resolve(field);
        if let (Value::Object(parts), Some(Value::Object(properties))) = (value, schema.get("properties")) {
            for (key, part) in parts {
                if let Some(property) = properties.get(key).filter(|_| !part.is_null() && !part.is_object()) {
                    self.push_default(property, part, &format!("{pointer}/{key}"));
                }
            }
        } else {
            self.push_default(field, value, pointer);
        }
    }

    fn push_default(&mut self, field: &'a Value, value: &Value, pointer: &str) {
        self.checked.defaults.push(DefaultUsed {
            pointer: pointer.to_owned(),
            value: value.clone(),
            unit: unit_of_field(field).to_owned(),
            meaning: self.meaning(field),
        });
    }

    fn meaning(&self, field: &'a Value) -> String {
        let text = field.get("description").or_else(|| self.resolve(field).get("description"));
        text.and_then(Value::as_str).unwrap_or_default().replace('\n', " ")
    }

    fn number(&mut self, value: Option<f64>, field: &'a Value, schema: &'a Value, pointer: &str) {
        let Some(value) = value else { return };
        let bound = |key: &str| field.get(key).or_else(|| schema.get(key)).and_then(Value::as_f64);
        let (min, max) = (bound("minimum"), bound("maximum"));
        if min.is_some_and(|m| value < m) || max.is_some_and(|m| value > m) {
            let key = pointer.rsplit('/').next().unwrap_or_default();
            let unit = unit_of_field(field).to_owned();
            let quantity = quantity_name(key);
            self.fault(pointer, false, Fault::OutOfRange { quantity, value, min, max, unit });
        }
    }

    fn length(&mut self, count: usize, schema: &'a Value, pointer: &str) {
        let bound = |key: &str| schema.get(key).and_then(Value::as_u64).map(|n| n as f64);
        let (min, max) = (bound("minItems"), bound("maxItems"));
        let value = count as f64;
        if min.is_some_and(|m| value < m) || max.is_some_and(|m| value > m) {
            let key = pointer.rsplit('/').next().unwrap_or_default();
            let quantity = format!("number of entries in {}", quantity_name(key));
            self.fault(pointer, false, Fault::OutOfRange { quantity, value, min, max, unit: String::new() });
        }
    }

    fn word(&mut self, text: &str, schema: &'a Value, pointer: &str) {
        let Some(known) = schema.get("enum").and_then(Value::as_array) else { return };
        let known: Vec<&str> = known.iter().filter_map(Value::as_str).collect();
        if !known.contains(&text) {
            self.unknown_choice(format!("\"{text}\""), text, &known, pointer);
        }
    }

    fn unknown_choice(&mut self, found: String, word: &str, known: &[&str], pointer: &str) {
        self.unknown_choice_at(false, found, word, known, pointer);
    }

    fn unknown_choice_at(&mut self, at_key: bool, found: String, word: &str, known: &[&str], pointer: &str) {
        let suggestion = nearest(word, known.iter().copied()).map(str::to_owned);
        let known = known.iter().map(|k| (*k).to_owned()).collect();
        self.fault(pointer, at_key, Fault::UnknownChoice { found, suggestion, known });
    }

    /// An enum tagged outside: `"name"` for a choice without parts, `{"name": {...}}` for one with parts.
    fn choice(&mut self, value: &Value, choices: &'a [Value], pointer: &str) {
        let tagged: Vec<(&'a str, Option<&'a Value>)> = choices.iter().flat_map(variants).collect();
        let known: Vec<&str> = tagged.iter().map(|(name, _)| *name).collect();
        let find = |name: &str| tagged.iter().find(|(known, _)| *known == name).map(|(_, inner)| *inner);
        match value {
            Value::String(name) => match find(name) {
                Some(None) => {}
                Some(Some(_)) => self.fault(
                    pointer,
                    false,
                    Fault::WrongType {
                        found: "text",
                        expected: format!("an object like {{\"{name}\": {{…}}}}"),
                    },
                ),
                None => self.unknown_choice(format!("\"{name}\""), name, &known, pointer),
            },
            Value::Object(object) if object.len() == 1 => {
                for (name, inner) in object {
                    let child = format!("{pointer}/{}", escape(name));
                    match find(name) {
                        Some(Some(schema)) => self.value(inner, schema, &child),
                        Some(None) => self.fault(
                            pointer,
                            false,
                            Fault::WrongType { found: "an object", expected: format!("the word \"{name}\"") },
                        ),
                        None => self.unknown_choice_at(true, format!("\"{name}\""), name, &known, &child),
                    }
                }
            }
            Value::Object(object) => {
                let found = format!("with {} keys where exactly one belongs", object.len());
                self.unknown_choice(found, "", &known, pointer);
            }
            other => {
                let expected = format!("one of {}", known.join(", "));
                self.fault(pointer, false, Fault::WrongType { found: type_name(other), expected });
            }
        }
    }
}

/// What the schema says of one number.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct NumberField {
    pub unit: String,
    pub meaning: String,
    pub min: Option<f64>,
    pub max: Option<f64>,
    pub whole: bool,
}

/// The number at `pointer` of a scenario with its defaults written out.
///
/// # Errors
/// [`Fault::PointerNotFound`], or [`Fault::WrongType`] for what is not a number.
pub(crate) fn number_at(complete: &Value, pointer: &str) -> Result<NumberField, Box<Diagnostic>> {
    let document = Document::from_value(Value::Null);
    let walk = Walk { root: scenario_schema(), document: &document, checked: Checked::default() };
    let (mut field, mut value, mut found) = (walk.root, Some(complete), String::new());
    for step in pointer.split('/').skip(1) {
        let name = crate::document::unescape(step);
        let schema = walk.resolve(field);
        let Some(inner) = walk.child(schema, value, &name) else {
            let known = walk.children(schema, value);
            let suggestion = nearest(&name, known.iter().map(String::as_str)).map(str::to_owned);
            let fault = Fault::PointerNotFound { found_up_to: found, missing: name, suggestion };
            return Err(Box::new(Diagnostic::new(pointer, fault)));
        };
        field = inner;
        value = value.and_then(|v| match v {
            Value::Array(list) => name.parse::<usize>().ok().and_then(|i| list.get(i)),
            other => other.get(&name),
        });
        found = format!("{found}/{step}");
    }
    let schema = walk.resolve(field);
    let expected = expected_type(schema);
    if !matches!(expected, "number" | "integer") {
        let found = match value {
            Some(value) => type_name(value),
            None => "nothing",
        };
        return Err(Box::new(Diagnostic::new(
            pointer,
            Fault::WrongType { found, expected: "a number".into() },
        )));
    }
    let bound = |key: &str| field.get(key).or_else(|| schema.get(key)).and_then(Value::as_f64);
    Ok(NumberField {
        unit: unit_of_field(field).to_owned(),
        meaning: walk.meaning(field),
        min: bound("minimum"),
        max: bound("maximum"),
        whole: expected == "integer",
    })
}

impl<'a> Walk<'a> {
    /// Schema of the part `name` of a value that is there.
    fn child(&self, schema: &'a Value, value: Option<&Value>, name: &str) -> Option<&'a Value> {
        let value = value.filter(|v| !v.is_null())?;
        if let Some(choices) = schema.get("oneOf").and_then(Value::as_array) {
            let chosen = value.get(name).is_some();
            let mut tagged = choices.iter().flat_map(variants).filter(|(known, _)| chosen && *known == name);
            return tagged.next().and_then(|(_, inner)| inner);
        }
        match value {
            Value::Array(list) => name
                .parse::<usize>()
                .ok()
                .filter(|index| *index < list.len())
                .and_then(|_| schema.get("items")),
            _ => schema.get("properties").and_then(|p| p.get(name)),
        }
    }

    /// Names of the parts that a value has or may have.
    fn children(&self, schema: &Value, value: Option<&Value>) -> Vec<String> {
        let of_value = || value.and_then(Value::as_object).map(|o| o.keys().cloned().collect::<Vec<_>>());
        match schema.get("properties").and_then(Value::as_object) {
            Some(properties) => properties.keys().cloned().collect(),
            None => of_value().unwrap_or_default(),
        }
    }
}

/// Names of one entry of `oneOf`, each with the schema of its parts if it has any.
fn variants(choice: &Value) -> Vec<(&str, Option<&Value>)> {
    if let Some(name) = choice.get("const").and_then(Value::as_str) {
        return vec![(name, None)];
    }
    if let Some(names) = choice.get("enum").and_then(Value::as_array) {
        return names.iter().filter_map(Value::as_str).map(|name| (name, None)).collect();
    }
    match choice.get("properties").and_then(Value::as_object) {
        Some(properties) => properties.iter().map(|(name, inner)| (name.as_str(), Some(inner))).collect(),
        None => Vec::new(),
    }
}

fn unit_of_field(field: &Value) -> &str {
    field.get("x-unit").and_then(Value::as_str).unwrap_or_default()
}

/// The key in words, without its unit: `drum_tension_n` is `drum tension`.
pub(crate) fn quantity_name(key: &str) -> String {
    let stem = match crate::units::split_unit(key) {
        Some((stem, _)) => stem,
        None => key,
    };
    stem.replace('_', " ")
}

/// The JSON type a schema asks for; an optional field's `null` is not counted.
fn expected_type(schema: &Value) -> &str {
    match schema.get("type") {
        Some(Value::String(name)) => name,
        Some(Value::Array(names)) => {
            names.iter().filter_map(Value::as_str).find(|n| *n != "null").unwrap_or("any")
        }
        _ => "any",
    }
}

fn has_type(value: &Value, expected: &str) -> bool {
    match expected {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "number" => value.is_number(),
        "integer" => value.as_u64().is_some() || value.as_i64().is_some(),
        "boolean" => value.is_boolean(),
        _ => true,
    }
}

fn describe_expected(expected: &str, field: &Value) -> String {
    let unit = unit_of_field(field);
    match expected {
        "object" => "an object".into(),
        "array" => "a list".into(),
        "string" => "text".into(),
        "integer" => "a whole number".into(),
        "boolean" => "true or false".into(),
        _ if unit.is_empty() => "a number".into(),
        _ => format!("a number in {unit}"),
    }
}

fn type_name(value: &Value) -> &'static str {
    match value {
        Value::Null => "null",
        Value::Bool(_) => "true or false",
        Value::Number(_) => "a number",
        Value::String(_) => "text",
        Value::Array(_) => "a list",
        Value::Object(_) => "an object",
    }
}
