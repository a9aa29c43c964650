//! Numbers of a scenario that a study may change, found by JSON Pointer in the scenario with its defaults written out.

use serde::Serialize;
use serde_json::Value;

use crate::{
    diagnostic::{Diagnostic, Fault},
    schema::number_at,
};

/// Largest number of values of one range.
const MOST_VALUES: usize = 100_000;

/// A number of the scenario.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Input {
    /// Where it stands (RFC 6901).
    pub pointer: String,
    /// Its unit, empty for a pure number.
    pub unit: String,
    /// What it is.
    pub meaning: String,
    /// Smallest value that a scenario takes.
    pub min: Option<f64>,
    /// Largest value that a scenario takes.
    pub max: Option<f64>,
    /// Whether it counts whole things.
    pub whole: bool,
    /// Value in the scenario, or its default; none for an optional number that is left out.
    pub value: Option<f64>,
}

impl Input {
    /// The number at `pointer` of a scenario with its defaults written out ([`super::complete`]).
    ///
    /// # Errors
    /// The same faults as for a changed value: a pointer that leads nowhere, or to what is not a number.
    pub fn find(complete: &Value, pointer: &str) -> Result<Self, Box<Diagnostic>> {
        let found = number_at(complete, pointer)?;
        Ok(Self {
            pointer: pointer.to_owned(),
            unit: found.unit,
            meaning: found.meaning,
            min: found.min,
            max: found.max,
            whole: found.whole,
            value: complete.pointer(pointer).and_then(Value::as_f64),
        })
    }

    /// Checks that the scenario takes `value` here.
    ///
    /// # Errors
    /// [`Fault::OutOfRange`], or [`Fault::NotFinite`].
    pub fn check(&self, value: f64) -> Result<(), Box<Diagnostic>> {
        if !value.is_finite() {
            let found = value.to_string();
            return Err(Box::new(Diagnostic::new(self.pointer.clone(), Fault::NotFinite { found })));
        }
        if self.min.is_some_and(|m| value < m) || self.max.is_some_and(|m| value > m) {
            let fault = Fault::OutOfRange {
                quantity: self.name(),
                value,
                min: self.min,
                max: self.max,
                unit: self.unit.clone(),
            };
            return Err(Box::new(Diagnostic::new(self.pointer.clone(), fault)));
        }
        Ok(())
    }

    /// The key in words, without its unit.
    pub fn name(&self) -> String {
        crate::schema::quantity_name(self.key())
    }

    /// The last step of the pointer.
    pub fn key(&self) -> &str {
        self.pointer.rsplit('/').next().unwrap_or_default()
    }
}

/// An input and the values that it takes in a study.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Span {
    /// The input.
    pub input: Input,
    /// Smallest value.
    pub lo: f64,
    /// Largest value.
    pub hi: f64,
    /// How many values, if it was said.
    pub count: Option<usize>,
    /// The values themselves, where they were listed one by one.
    pub listed: Option<Vec<f64>>,
}

impl Span {
    /// A span of an input.
    ///
    /// # Errors
    /// A bound that the scenario does not take.
    pub fn new(input: Input, lo: f64, hi: f64) -> Result<Self, Box<Diagnostic>> {
        input.check(lo)?;
        input.check(hi)?;
        Ok(Self { input, lo, hi, count: None, listed: None })
    }

    /// Reads `/pointer=lo..hi`, `/pointer=lo..hi:count` or `/pointer=a,b,c` for a scenario with its defaults written out.
    ///
    /// # Errors
    /// As [`Input::find`] and [`Input::check`], and [`Fault::BadSpan`] for a text of another form.
    pub fn parse(complete: &Value, text: &str) -> Result<Self, Box<Diagnostic>> {
        let bad = || Box::new(Diagnostic::new("", Fault::BadSpan { text: text.to_owned() }));
        let (pointer, values) = text.split_once('=').filter(|(p, _)| p.starts_with('/')).ok_or_else(bad)?;
        let input = Input::find(complete, pointer)?;
        let number = |word: &str| word.trim().parse::<f64>().ok().filter(|v| v.is_finite()).ok_or_else(bad);
        let Some((lo, rest)) = values.split_once("..") else {
            let listed = values.split(',').map(number).collect::<Result<Vec<f64>, _>>()?;
            let lo = listed.iter().copied().fold(f64::INFINITY, f64::min);
            let hi = listed.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            return Ok(Self { listed: Some(listed), ..Self::new(input, lo, hi)? });
        };
        let (hi, count) = match rest.split_once(':') {
            Some((hi, count)) => {
                let count = count.trim().parse::<usize>().ok().filter(|n| (2..=MOST_VALUES).contains(n));
                (hi, Some(count.ok_or_else(bad)?))
            }
            None => (rest, None),
        };
        let (lo, hi) = (number(lo)?, number(hi)?);
        if lo >= hi {
            return Err(bad());
        }
        Ok(Self { count, ..Self::new(input, lo, hi)? })
    }

    /// The values, evenly spaced unless they were listed; `count` of them unless the span says how many. Those of an input
    /// that counts whole things are rounded, each kept once.
    pub fn values(&self, count: usize) -> Vec<f64> {
        if let Some(listed) = &self.listed {
            return listed.clone();
        }
        let steps = self.count.unwrap_or(count).max(2) - 1;
        let at = |i: usize| {
            let share = i as f64 / steps as f64;
            let value = if i == steps { self.hi } else { self.lo + (self.hi - self.lo) * share };
            if self.input.whole { value.round() } else { value }
        };
        let mut values: Vec<f64> = (0..=steps).map(at).collect();
        values.dedup();
        values
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Document, load, study::complete};

    fn tree() -> Value {
        let text = include_str!("../../../../scenarios/breakwater-lookout.json");
        complete(&load(&Document::parse(text).unwrap()).unwrap().scenario)
    }

    #[test]
    fn an_input_knows_unit_range_and_value() {
        let input = Input::find(&tree(), "/payload/mass_kg").unwrap();
        assert_eq!((input.unit.as_str(), input.min, input.max), ("kg", Some(0.0), Some(5000.0)));
        assert_eq!(input.value, Some(0.9));
        assert_eq!(input.name(), "mass");
    }

    #[test]
    fn a_default_is_an_input_too() {
        let input = Input::find(&tree(), "/limits/thrust_reserve_ratio").unwrap();
        assert_eq!(input.value, Some(1.3));
        let input = Input::find(&tree(), "/receiver/sink/fins_count").unwrap();
        assert!(input.whole);
        let input = Input::find(&tree(), "/site/relative_humidity_ratio").unwrap();
        assert_eq!(input.value, None);
    }

    #[test]
    fn what_is_no_number_is_refused_with_a_hint() {
        let fault = |pointer| Input::find(&tree(), pointer).unwrap_err();
        assert_eq!(fault("/payload/mas_kg").help(), "did you mean /payload/mass_kg?");
        assert_eq!(fault("/paylod/mass_kg").help(), "did you mean /payload?");
        assert_eq!(fault("/payload").to_string(), "found an object where a number belongs");
        assert_eq!(fault("/title").to_string(), "found text where a number belongs");
        assert_eq!(fault("/vehicle/fixed_wing/wing_area_m2").code(), "E0401");
        assert_eq!(fault("").code(), "E0102");
    }

    #[test]
    fn spans_are_read_and_checked() {
        let span = Span::parse(&tree(), "/payload/mass_kg=0..1:5").unwrap();
        assert_eq!(span.values(3), vec![0.0, 0.25, 0.5, 0.75, 1.0]);
        let span = Span::parse(&tree(), "/station/downwind_m=-20..20").unwrap();
        assert_eq!(span.values(3), vec![-20.0, 0.0, 20.0]);
        let span = Span::parse(&tree(), "/payload/mass_kg=0.2,0.9,0.5").unwrap();
        assert_eq!(span.values(3), vec![0.2, 0.9, 0.5]);
        let span = Span::parse(&tree(), "/receiver/sink/fins_count=10..12:9").unwrap();
        assert_eq!(span.values(3), vec![10.0, 11.0, 12.0]);
        for text in [
            "/payload/mass_kg=1..0:5",
            "/payload/mass_kg=0..1:1",
            "payload=0..1",
            "/payload/mass_kg=x",
            "/payload/mass_kg=0..1:nan",
            "/payload/mass_kg=",
        ] {
            assert_eq!(Span::parse(&tree(), text).unwrap_err().code(), "E0403", "{text}");
        }
        assert_eq!(Span::parse(&tree(), "/payload/mass_kg=-1..1").unwrap_err().code(), "E0103");
    }
}
