//! What is wrong with an input, where, and what to try: typed, so that a program can match it, and with one text for
//! a person. Rendering with source lines is the command line's work.

use std::{fmt, ops::Range};

/// One fault of an input.
#[derive(Debug, Clone, PartialEq)]
pub struct Diagnostic {
    /// What is wrong.
    pub fault: Fault,
    /// JSON Pointer (RFC 6901) of the value at fault; empty for the whole document.
    pub pointer: String,
    /// Bytes of the document at fault, where the document has such a place.
    pub span: Option<Range<usize>>,
}

/// The kinds of fault, with their numbers.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Fault {
    /// The text is not JSON.
    Syntax {
        /// What the reader expected, in its own words.
        detail: String,
    },
    /// A number that is not finite, or too large to be held.
    NotFinite {
        /// What stands there.
        found: String,
    },
    /// A value of another JSON type.
    WrongType {
        /// What stands there.
        found: &'static str,
        /// What is wanted.
        expected: String,
    },
    /// A number outside its range.
    OutOfRange {
        /// Name of the quantity: the key without its unit.
        quantity: String,
        /// The number found.
        value: f64,
        /// Smallest allowed.
        min: Option<f64>,
        /// Largest allowed.
        max: Option<f64>,
        /// Unit of the three, empty for a pure number.
        unit: String,
    },
    /// A key that is not known at this place.
    UnknownKey {
        /// The key found.
        key: String,
        /// The nearest known key, if one is near.
        suggestion: Option<String>,
        /// All keys known here.
        known: Vec<String>,
    },
    /// A key that must be there is not.
    MissingKey {
        /// The key.
        key: String,
        /// What it is, first sentence of its description.
        meaning: String,
    },
    /// A key stands twice in one object.
    DuplicateKey {
        /// The key.
        key: String,
    },
    /// A choice that is not one of the known ones.
    UnknownChoice {
        /// The choice found, or what stands in its place.
        found: String,
        /// The nearest known choice, if one is near.
        suggestion: Option<String>,
        /// All choices.
        known: Vec<String>,
    },
    /// Parts of the scenario that do not go together.
    Conflict(Conflict),
    /// A model refused its inputs.
    Model {
        /// The model's own words.
        detail: String,
    },
    /// A JSON Pointer given on the command line leads nowhere.
    PointerNotFound {
        /// The part of the pointer that exists.
        found_up_to: String,
        /// The next step, which does not.
        missing: String,
        /// The nearest key there, if one is near.
        suggestion: Option<String>,
    },
    /// An assignment on the command line that is not `/pointer=value`.
    BadAssignment {
        /// The assignment as it was given.
        text: String,
    },
    /// A range on the command line that is not of a form that a study takes.
    BadSpan {
        /// The range as it was given.
        text: String,
    },
    /// A goal that is not of the form `max:name` or `min:name`.
    BadGoal {
        /// The goal as it was given.
        text: String,
    },
    /// A goal that is an input which the search may not change.
    GoalNotFree {
        /// The input.
        pointer: String,
    },
    /// A result that no study knows.
    UnknownOutput {
        /// The name as it was given.
        name: String,
        /// The nearest known name, if one is near.
        suggestion: Option<String>,
    },
}

/// Parts of a scenario that do not go together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Conflict {
    /// A part that this kind of delivery or vehicle needs is missing.
    Needs {
        /// The part that needs it.
        part: &'static str,
        /// The part that is missing.
        needed: &'static str,
    },
    /// Two parts that exclude each other.
    Excludes {
        /// The one.
        part: &'static str,
        /// The other.
        other: &'static str,
    },
}

impl Diagnostic {
    /// A fault at a pointer, its place in the text not yet known.
    pub fn new(pointer: impl Into<String>, fault: Fault) -> Self {
        Self { fault, pointer: pointer.into(), span: None }
    }

    /// Stable code, explained in `docs/errors.md`.
    pub fn code(&self) -> &'static str {
        match self.fault {
            Fault::Syntax { .. } => "E0101",
            Fault::WrongType { .. } => "E0102",
            Fault::OutOfRange { .. } => "E0103",
            Fault::UnknownKey { .. } => "E0104",
            Fault::MissingKey { .. } => "E0105",
            Fault::UnknownChoice { .. } => "E0106",
            Fault::DuplicateKey { .. } => "E0107",
            Fault::NotFinite { .. } => "E0108",
            Fault::Conflict(_) => "E0201",
            Fault::Model { .. } => "E0301",
            Fault::PointerNotFound { .. } => "E0401",
            Fault::BadAssignment { .. } => "E0402",
            Fault::BadSpan { .. } => "E0403",
            Fault::UnknownOutput { .. } => "E0404",
            Fault::BadGoal { .. } => "E0405",
            Fault::GoalNotFree { .. } => "E0406",
        }
    }

    /// One thing to try.
    pub fn help(&self) -> String {
        match &self.fault {
            Fault::NotFinite { .. } => {
                "write a finite number; leave an optional key out where there is none".into()
            }
            Fault::Syntax { detail } if detail.starts_with("EOF") => {
                "the text ends too early; is the file cut off, or a bracket or quote not closed?".into()
            }
            Fault::Syntax { detail } if detail.starts_with("recursion") => {
                "brackets may stand 128 deep; a scenario needs ten".into()
            }
            Fault::Syntax { .. } => {
                "JSON has no comments and no trailing commas; strings and keys stand in double quotes".into()
            }
            Fault::WrongType { found: "text", expected } if expected.starts_with("a number") => {
                "write the number without quotes and without its unit: the key carries the unit".into()
            }
            Fault::WrongType { expected, .. } => format!("write {expected} here"),
            Fault::OutOfRange { value, min, max, unit, .. } => range_help(*value, *min, *max, unit),
            Fault::UnknownKey { key, suggestion: Some(known), .. } if stem(key) == stem(known) => {
                format!("every key ends in its unit; write \"{known}\" and convert the number")
            }
            Fault::UnknownKey { suggestion: Some(known), .. } => format!("did you mean \"{known}\"?"),
            Fault::UnknownKey { known, .. } => format!("known here: {}", known.join(", ")),
            Fault::MissingKey { key, meaning } => format!("add \"{key}\": {meaning}"),
            Fault::DuplicateKey { key } => format!("keep one \"{key}\" and delete the other"),
            Fault::UnknownChoice { suggestion: Some(known), .. } => format!("did you mean \"{known}\"?"),
            Fault::UnknownChoice { known, .. } => format!("choose one of {}", known.join(", ")),
            Fault::Conflict(Conflict::Needs { needed, .. }) => format!("add {needed}"),
            Fault::Conflict(Conflict::Excludes { part, other }) => {
                format!("keep {part} or {other}, not both")
            }
            Fault::Model { .. } => {
                "change the value named above; `beamstay schema` lists every key with its range".into()
            }
            Fault::PointerNotFound { suggestion: Some(known), found_up_to, .. } => {
                format!("did you mean {found_up_to}/{known}?")
            }
            Fault::PointerNotFound { .. } => "`beamstay schema` lists every key".into(),
            Fault::BadAssignment { .. } => "write it like --set /payload/mass_kg=1.2".into(),
            Fault::BadSpan { .. } => {
                "write /payload/mass_kg=0..2, with the number of values /payload/mass_kg=0..2:21, or the values 0.5,1,2".into()
            }
            Fault::BadGoal { .. } => {
                "write max: or min: and an input or a result, like max:/station/height_m or min:wall_w".into()
            }
            Fault::GoalNotFree { pointer } => format!("add --free {pointer}=lo..hi"),
            Fault::UnknownOutput { suggestion: Some(known), .. } => format!("did you mean {known}?"),
            Fault::UnknownOutput { .. } => "`beamstay sweep --outputs` lists every result".into(),
        }
    }
}

/// Key without its last part, the unit.
fn stem(key: &str) -> &str {
    key.split_once('_').map_or(key, |_| key.rsplit_once('_').map_or(key, |(stem, _)| stem))
}

/// A slip of a factor of ten, a hundred, a thousand or a million is the commonest cause: try it.
fn range_help(value: f64, min: Option<f64>, max: Option<f64>, unit: &str) -> String {
    let fits = |v: f64| min.is_none_or(|m| v >= m) && max.is_none_or(|m| v <= m);
    let units = if unit.is_empty() { "a pure number".into() } else { format!("in {unit}") };
    let guess = [0.1, 0.01, 10.0, 100.0, 1e-3, 1e3, 1e-6, 1e6, -1.0]
        .into_iter()
        .map(|f| value * f)
        .find(|v| fits(*v));
    match guess {
        Some(guess) if value != 0.0 => format!("the value is {units}; was {guess} meant?"),
        _ => format!("the value is {units}"),
    }
}

impl fmt::Display for Diagnostic {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.fault {
            Fault::Syntax { detail } => write!(f, "this is not JSON: {detail}"),
            Fault::NotFinite { found } => write!(f, "{found} is not a finite number"),
            Fault::WrongType { found, expected } => write!(f, "found {found} where {expected} belongs"),
            Fault::OutOfRange { quantity, value, min, max, unit } => {
                let space = if unit.is_empty() { "" } else { " " };
                write!(f, "{quantity} {value}{space}{unit} is outside ")?;
                match (min, max) {
                    (Some(min), Some(max)) => write!(f, "{min} to {max}{space}{unit}"),
                    (Some(min), None) => write!(f, "{min}{space}{unit} and more"),
                    (None, Some(max)) => write!(f, "{max}{space}{unit} and less"),
                    (None, None) => write!(f, "its range"),
                }
            }
            Fault::UnknownKey { key, .. } => write!(f, "unknown key \"{key}\""),
            Fault::MissingKey { key, .. } => write!(f, "missing key \"{key}\""),
            Fault::DuplicateKey { key } => write!(f, "key \"{key}\" stands twice"),
            Fault::UnknownChoice { found, .. } => write!(f, "unknown choice {found}"),
            Fault::Conflict(Conflict::Needs { part, needed }) => write!(f, "{part} needs {needed}"),
            Fault::Conflict(Conflict::Excludes { part, other }) => write!(f, "{part} excludes {other}"),
            Fault::Model { detail } => f.write_str(detail),
            Fault::PointerNotFound { found_up_to, missing, .. } => {
                let place = if found_up_to.is_empty() { "the scenario" } else { found_up_to };
                write!(f, "{place} has no \"{missing}\"")
            }
            Fault::BadAssignment { text } => write!(f, "\"{text}\" is not of the form /pointer=value"),
            Fault::BadSpan { text } => write!(f, "\"{text}\" is not a range of an input"),
            Fault::BadGoal { text } => write!(f, "\"{text}\" is not a goal"),
            Fault::GoalNotFree { pointer } => write!(f, "the goal {pointer} is not free"),
            Fault::UnknownOutput { name, .. } => write!(f, "there is no result \"{name}\""),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn out_of_range(value: f64) -> Diagnostic {
        Diagnostic::new(
            "/tether/diameter_mm",
            Fault::OutOfRange {
                quantity: "diameter".into(),
                value,
                min: Some(0.5),
                max: Some(30.0),
                unit: "mm".into(),
            },
        )
    }

    #[test]
    fn a_range_fault_stands_alone_and_guesses_the_slip() {
        let fault = out_of_range(80.0);
        assert_eq!(fault.to_string(), "diameter 80 mm is outside 0.5 to 30 mm");
        assert_eq!(fault.help(), "the value is in mm; was 8 meant?");
    }

    #[test]
    fn no_guess_where_no_slip_fits() {
        assert_eq!(out_of_range(0.0).help(), "the value is in mm");
        assert_eq!(out_of_range(f64::MAX).help(), "the value is in mm");
    }

    #[test]
    fn a_wrong_unit_is_told_from_a_wrong_name() {
        let unknown = |key: &str, known: &str| {
            Diagnostic::new(
                "",
                Fault::UnknownKey { key: key.into(), suggestion: Some(known.into()), known: vec![] },
            )
            .help()
        };
        assert!(unknown("diameter_cm", "diameter_mm").contains("ends in its unit"));
        assert_eq!(unknown("diametre_mm", "diameter_mm"), "did you mean \"diameter_mm\"?");
    }
}
