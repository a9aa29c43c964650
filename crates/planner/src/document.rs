//! A scenario as text: parsed once to a tree of values, with the place of every value in the text, and changed by
//! JSON Pointer (RFC 6901).

use std::{collections::BTreeMap, ops::Range};

use jsonc_parser::{CollectOptions, ParseOptions, ast, common::Ranged, parse_to_ast};
use serde_json::Value;

use crate::{
    diagnostic::{Diagnostic, Fault},
    nearest::nearest,
};

/// A parsed scenario text.
#[derive(Debug, Clone, PartialEq)]
pub struct Document {
    /// The values.
    pub value: Value,
    spans: BTreeMap<String, Range<usize>>,
    duplicates: Vec<Diagnostic>,
    changed: Vec<String>,
}

impl Document {
    /// Reads JSON text (RFC 8259; nothing beyond it).
    ///
    /// # Errors
    /// One [`Fault::Syntax`] with its place.
    pub fn parse(text: &str) -> Result<Self, Box<Diagnostic>> {
        let value: Value =
            serde_json::from_str(text).map_err(|error| Box::new(syntax_fault(text, &error)))?;
        let mut document =
            Self { value, spans: BTreeMap::new(), duplicates: Vec::new(), changed: Vec::new() };
        // The strict reader above has accepted the text, so this pass only adds places; where it should fail all
        // the same, faults are reported without a place rather than not at all.
        if let Ok(result) = parse_to_ast(text, &CollectOptions::default(), &strict())
            && let Some(root) = result.value
        {
            document.record(&root, String::new());
        }
        Ok(document)
    }

    /// A document made by a program, without text.
    pub fn from_value(value: Value) -> Self {
        Self { value, spans: BTreeMap::new(), duplicates: Vec::new(), changed: Vec::new() }
    }

    /// Faults of the text that the tree of values no longer shows: keys that stand twice.
    pub fn duplicate_keys(&self) -> &[Diagnostic] {
        &self.duplicates
    }

    /// Bytes of the value at `pointer`, or of the nearest value around it; none for what was changed after reading.
    pub fn span(&self, pointer: &str) -> Option<Range<usize>> {
        if self.was_changed(pointer) {
            return None;
        }
        let mut pointer = pointer;
        loop {
            if let Some(span) = self.spans.get(pointer) {
                return Some(span.clone());
            }
            pointer = &pointer[..pointer.rfind('/')?];
        }
    }

    /// Bytes of the key that names the value at `pointer`.
    pub fn key_span(&self, pointer: &str) -> Option<Range<usize>> {
        self.spans.get(&key_entry(pointer)).cloned()
    }

    /// Whether the value at `pointer`, or one around it, was changed after reading.
    pub fn was_changed(&self, pointer: &str) -> bool {
        self.change_around(pointer).is_some()
    }

    /// The change after reading that reaches `pointer`, if one does.
    pub(crate) fn change_around(&self, pointer: &str) -> Option<&str> {
        self.changed.iter().map(String::as_str).find(|changed| is_at_or_below(pointer, changed))
    }

    /// Replaces or adds the value at `pointer`, or leaves its key out if `new` is null; the parent must be there. The value loses
    /// its place in the text.
    ///
    /// # Errors
    /// [`Fault::PointerNotFound`] if the parent is not there or is neither object nor array.
    pub fn set(&mut self, pointer: &str, new: Value) -> Result<(), Box<Diagnostic>> {
        if !(new.is_null() && self.leave_out(pointer)) {
            set_value(&mut self.value, pointer, new)?;
        }
        self.spans.retain(|known, _| !is_at_or_below(known, pointer));
        self.changed.push(pointer.to_owned());
        Ok(())
    }

    /// Takes a key out of its object; whether it was there.
    fn leave_out(&mut self, pointer: &str) -> bool {
        let Some((parent, last)) = pointer.rsplit_once('/') else { return false };
        let object = self.value.pointer_mut(parent).and_then(Value::as_object_mut);
        object.is_some_and(|object| object.shift_remove(&unescape(last)).is_some())
    }

    fn record(&mut self, node: &ast::Value<'_>, pointer: String) {
        let range = node.range();
        match node {
            ast::Value::Object(object) => {
                for property in &object.properties {
                    let name = property.name.as_str();
                    let child = format!("{pointer}/{}", escape(name));
                    let name_range = property.name.range();
                    let key_span = name_range.start..name_range.end;
                    if self.spans.contains_key(&child) {
                        let mut fault =
                            Diagnostic::new(child.clone(), Fault::DuplicateKey { key: name.to_owned() });
                        fault.span = Some(key_span.clone());
                        self.duplicates.push(fault);
                    }
                    self.spans.insert(key_entry(&child), key_span);
                    self.record(&property.value, child);
                }
            }
            ast::Value::Array(array) => {
                for (index, element) in array.elements.iter().enumerate() {
                    self.record(element, format!("{pointer}/{index}"));
                }
            }
            _ => {}
        }
        self.spans.insert(pointer, range.start..range.end);
    }
}

/// Puts `new` at `pointer` in `root`. The last step may be a new key of an object, or `-` or the next index of an
/// array.
///
/// # Errors
/// [`Fault::PointerNotFound`] if an earlier step is not there.
pub fn set_value(root: &mut Value, pointer: &str, new: Value) -> Result<(), Box<Diagnostic>> {
    if pointer.is_empty() {
        *root = new;
        return Ok(());
    }
    let Some((parent_pointer, last)) = pointer.rsplit_once('/') else {
        return Err(Box::new(Diagnostic::new(pointer, Fault::BadAssignment { text: pointer.into() })));
    };
    let last = unescape(last);
    let missing = |root: &Value| {
        let (found_up_to, missing, keys) = first_missing(root, pointer);
        let suggestion = nearest(&missing, keys.iter().map(String::as_str)).map(str::to_owned);
        Box::new(Diagnostic::new(pointer, Fault::PointerNotFound { found_up_to, missing, suggestion }))
    };
    if root.pointer(parent_pointer).is_none() {
        return Err(missing(root));
    }
    match root.pointer_mut(parent_pointer) {
        Some(Value::Object(object)) => {
            object.insert(last, new);
            Ok(())
        }
        Some(Value::Array(array)) => {
            let index = if last == "-" { Some(array.len()) } else { last.parse().ok() };
            match index {
                Some(index) if index < array.len() => array[index] = new,
                Some(index) if index == array.len() => array.push(new),
                _ => return Err(missing(root)),
            }
            Ok(())
        }
        _ => Err(missing(root)),
    }
}

/// Longest part of `pointer` that exists, the step after it, and the keys known there.
fn first_missing(root: &Value, pointer: &str) -> (String, String, Vec<String>) {
    let (mut at, mut found) = (root, String::new());
    for step in pointer.split('/').skip(1) {
        let name = unescape(step);
        let next = match at {
            Value::Object(object) => object.get(&name),
            Value::Array(array) => name.parse::<usize>().ok().and_then(|i| array.get(i)),
            _ => None,
        };
        match next {
            Some(value) => {
                at = value;
                found = format!("{found}/{step}");
            }
            None => {
                let keys = at.as_object().map(|o| o.keys().cloned().collect()).unwrap_or_default();
                return (found, name, keys);
            }
        }
    }
    (found, String::new(), Vec::new())
}

/// One step of a JSON Pointer from a key.
pub fn escape(key: &str) -> String {
    key.replace('~', "~0").replace('/', "~1")
}

/// The key that one step of a JSON Pointer names.
pub(crate) fn unescape(step: &str) -> String {
    step.replace("~1", "/").replace("~0", "~")
}

/// Where the place of a key is kept beside the places of values; no JSON Pointer starts like this.
fn key_entry(pointer: &str) -> String {
    format!("key {pointer}")
}

fn is_at_or_below(known: &str, pointer: &str) -> bool {
    let known = known.strip_prefix("key ").unwrap_or(known);
    known == pointer || known.strip_prefix(pointer).is_some_and(|rest| rest.starts_with('/'))
}

fn strict() -> ParseOptions {
    ParseOptions {
        allow_comments: false,
        allow_loose_object_property_names: false,
        allow_trailing_commas: false,
        allow_missing_commas: false,
        allow_single_quoted_strings: false,
        allow_hexadecimal_numbers: false,
        allow_unary_plus_numbers: false,
        allow_bare_decimal_point_numbers: false,
        allow_non_finite_numbers: false,
        allow_extended_string_escapes: false,
    }
}

fn syntax_fault(text: &str, error: &serde_json::Error) -> Diagnostic {
    let full = error.to_string();
    let detail = full.rsplit_once(" at line ").map_or(full.as_str(), |(detail, _)| detail);
    let start = byte_at(text, error.line(), error.column());
    let token = token_around(text, start);
    let word = &text[token.clone()];
    let (fault, span) =
        if detail == "number out of range" || NOT_NUMBERS.contains(&word.trim_start_matches('-')) {
            (Fault::NotFinite { found: word.to_owned() }, token)
        } else {
            let end = text[start..].chars().next().map_or(start, |c| start + c.len_utf8());
            (Fault::Syntax { detail: detail.to_owned() }, start..end)
        };
    Diagnostic { span: Some(span), ..Diagnostic::new("", fault) }
}

/// Words that other notations have for what is not a finite number.
const NOT_NUMBERS: [&str; 6] = ["NaN", "nan", "Infinity", "infinity", "inf", "Inf"];

/// Bytes of the letters, digits and signs around a byte.
fn token_around(text: &str, byte: usize) -> Range<usize> {
    let part = |c: char| c.is_ascii_alphanumeric() || matches!(c, '+' | '-' | '.');
    let start = text[..byte]
        .rfind(|c| !part(c))
        .map_or(0, |i| i + text[i..].chars().next().map_or(1, char::len_utf8));
    let end = text[byte..].find(|c| !part(c)).map_or(text.len(), |i| byte + i);
    start..end
}

/// Byte at a line and byte column as `serde_json` counts them (both from 1; column 0 is the line's end before).
fn byte_at(text: &str, line: usize, column: usize) -> usize {
    let line_start: usize = text.split_inclusive('\n').take(line.saturating_sub(1)).map(str::len).sum();
    let mut byte = (line_start + column.saturating_sub(1)).min(text.len());
    while !text.is_char_boundary(byte) {
        byte -= 1;
    }
    byte
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn every_value_and_key_has_its_place() {
        let text = "{\"a\": {\"b\": [1, 2.5]}}";
        let document = Document::parse(text).unwrap();
        let at = |p: &str| &text[document.span(p).unwrap()];
        assert_eq!(at("/a/b/1"), "2.5");
        assert_eq!(at("/a/b"), "[1, 2.5]");
        assert_eq!(at("/a/missing"), "{\"b\": [1, 2.5]}");
        assert_eq!(&text[document.key_span("/a/b").unwrap()], "\"b\"");
    }

    #[test]
    fn beyond_ascii_places_are_bytes_of_the_text() {
        let text = "{\"título\": \"ñandú\", \"x\": tru}";
        let fault = Document::parse(text).unwrap_err();
        assert_eq!(&text[fault.span.unwrap()], "}");
    }

    #[test]
    fn a_key_that_stands_twice_is_reported() {
        let document = Document::parse("{\"a\": 1, \"a\": 2}").unwrap();
        assert_eq!(document.duplicate_keys().len(), 1);
        assert_eq!(document.duplicate_keys()[0].span, Some(9..12));
    }

    #[test]
    fn comments_and_nan_are_not_json() {
        for text in ["{} // x", "{\"a\": NaN}", "{\"a\": 1,}", "{\"a\": 1e400}", "", "[", "\u{feff}{}"] {
            assert!(Document::parse(text).is_err(), "{text}");
        }
    }

    #[test]
    fn what_is_not_finite_is_named() {
        for (text, found) in
            [("{\"a\": NaN}", "NaN"), ("{\"a\": -Infinity}", "-Infinity"), ("{\"a\": 1e400}", "1e400")]
        {
            let fault = Document::parse(text).unwrap_err();
            assert_eq!(fault.fault, Fault::NotFinite { found: found.into() });
            assert_eq!(&text[fault.span.unwrap()], found);
        }
    }

    #[test]
    fn set_replaces_adds_and_refuses() {
        let mut document = Document::parse("{\"a\": {\"b\": 1}, \"c\": [1]}").unwrap();
        document.set("/a/b", json!(-5)).unwrap();
        document.set("/a/new", json!(2)).unwrap();
        document.set("/c/1", json!(7)).unwrap();
        assert_eq!(document.value, json!({"a": {"b": -5, "new": 2}, "c": [1, 7]}));
        assert_eq!(document.span("/a/b"), None);
        assert!(document.was_changed("/a/b") && !document.was_changed("/a"));
        let fault = document.set("/aa/b", json!(1)).unwrap_err();
        assert_eq!(fault.to_string(), "the scenario has no \"aa\"");
        assert_eq!(fault.help(), "did you mean /a?");
        document.set("/a/new", Value::Null).unwrap();
        assert_eq!(document.value["a"], json!({"b": -5}));
        assert!(document.set("/c/9", json!(1)).is_err());
        assert!(document.set("no slash", json!(1)).is_err());
    }
}
