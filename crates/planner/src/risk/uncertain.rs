//! The uncertain numbers of a scenario: found, checked and drawn.

use beamstay_numerics::{distribution::Distribution, sobol::MOST_DIMENSIONS};

use crate::{
    Scenario,
    diagnostic::{Diagnostic, Fault},
    document::Document,
    scenario::{InputDistribution, UncertainInput},
    study::{Input, complete},
};

/// Largest share of a distribution that may lie outside the range of its number.
pub const MOST_OUTSIDE_RATIO: f64 = 0.01;

/// An uncertain number with its distribution in its own unit.
#[derive(Debug, Clone, PartialEq)]
pub struct UncertainNumber {
    /// The number.
    pub input: Input,
    /// How it is distributed.
    pub distribution: Distribution,
}

impl UncertainNumber {
    /// The value that is not exceeded with `probability`, set to the end of the number's range where it lies outside, and
    /// whether it does.
    pub fn draw(&self, probability: f64) -> (f64, bool) {
        let drawn = self.distribution.quantile(probability);
        let low = self.input.min.unwrap_or(f64::MIN);
        let high = self.input.max.unwrap_or(f64::MAX);
        let value = drawn.clamp(low, high);
        (value, value != drawn)
    }

    /// Share of the distribution outside the range of the number.
    pub fn outside_ratio(&self) -> f64 {
        let below = self.input.min.map_or(0.0, |min| self.distribution.cumulative(min));
        let above = self.input.max.map_or(0.0, |max| 1.0 - self.distribution.cumulative(max));
        below + above
    }
}

/// The uncertain numbers of a scenario, in its order.
///
/// # Errors
/// Every fault of the part `uncertainty`: a pointer that leads nowhere or to no number, one that stands twice, a
/// distribution that is none or that lies outside the range of the number.
pub fn uncertain_numbers(scenario: &Scenario) -> Result<Vec<UncertainNumber>, Vec<Diagnostic>> {
    let Some(part) = &scenario.uncertainty else { return Ok(Vec::new()) };
    let values = complete(scenario);
    let (mut numbers, mut faults) = (Vec::<UncertainNumber>::new(), Vec::new());
    if 2 * part.inputs.len() > MOST_DIMENSIONS {
        let detail = format!("at most {} numbers may be uncertain", MOST_DIMENSIONS / 2);
        faults.push(Diagnostic::new("/uncertainty/inputs", Fault::Model { detail }));
    }
    for (index, uncertain) in part.inputs.iter().enumerate() {
        let place = format!("/uncertainty/inputs/{index}");
        let found = Input::find(&values, &uncertain.pointer)
            .map_err(|fault| Box::new(Diagnostic::new(format!("{place}/pointer"), fault.fault)))
            .and_then(|input| number(input, uncertain, &place));
        match found {
            Ok(number) if numbers.iter().any(|n| n.input.pointer == number.input.pointer) => {
                let detail = format!("{} stands here twice", number.input.pointer);
                faults.push(Diagnostic::new(format!("{place}/pointer"), Fault::Model { detail }));
            }
            Ok(number) => numbers.push(number),
            Err(fault) => faults.push(*fault),
        }
    }
    if faults.is_empty() { Ok(numbers) } else { Err(faults) }
}

/// One fault in the place of all those of uncertain numbers that a change of the document has left without a place: another way
/// of the power, set as a whole, has not the numbers of the one before.
pub(crate) fn left_without_place(
    document: &Document,
    scenario: &Scenario,
    faults: Vec<Diagnostic>,
) -> Vec<Diagnostic> {
    let inputs = scenario.uncertainty.as_ref().map_or(&[][..], |part| &part.inputs);
    let gone = |fault: &Diagnostic| {
        let index = fault.pointer.strip_prefix("/uncertainty/inputs/")?.strip_suffix("/pointer")?;
        let pointer = inputs.get(index.parse::<usize>().ok()?)?.pointer.as_str();
        let changed = document.change_around(pointer)?;
        matches!(fault.fault, Fault::PointerNotFound { .. }).then(|| (changed.to_owned(), pointer.to_owned()))
    };
    let Some((changed, _)) = faults.iter().find_map(gone) else { return faults };
    let lost: Vec<String> = faults.iter().filter_map(gone).map(|(_, pointer)| pointer).collect();
    let mut told: Vec<Diagnostic> = faults.into_iter().filter(|fault| gone(fault).is_none()).collect();
    let detail = format!(
        "the change of {changed} takes away what is called uncertain here: {}; change /uncertainty too, or set it to null",
        lost.join(", ")
    );
    told.insert(0, Diagnostic::new("/uncertainty", Fault::Model { detail }));
    told
}

fn number(input: Input, uncertain: &UncertainInput, place: &str) -> Result<UncertainNumber, Box<Diagnostic>> {
    let refuse =
        |at: &str, detail: String| Box::new(Diagnostic::new(format!("{place}{at}"), Fault::Model { detail }));
    let pointer = &input.pointer;
    if pointer.starts_with("/uncertainty") {
        return Err(refuse("/pointer", "a distribution cannot itself be uncertain".into()));
    }
    if input.whole {
        let detail = format!("{pointer} counts whole things; only a number in between has a distribution");
        return Err(refuse("/pointer", detail));
    }
    let Some(value) = input.value else {
        return Err(refuse("/pointer", format!("{pointer} has no value in this scenario; give it one")));
    };
    if uncertain.relative && value <= 0.0 {
        let detail =
            format!("{pointer} is {value}: multiples of it say nothing; write the distribution in its unit");
        return Err(refuse("/relative", detail));
    }
    let distribution = in_unit(&uncertain.distribution, uncertain.relative.then_some(value), value);
    distribution.check().map_err(|error| refuse("/distribution", error.to_string()))?;
    let number = UncertainNumber { input, distribution };
    let outside = number.outside_ratio();
    if outside > MOST_OUTSIDE_RATIO {
        return Err(refuse("/distribution", outside_words(&number, outside)));
    }
    Ok(number)
}

fn outside_words(number: &UncertainNumber, outside_ratio: f64) -> String {
    let input = &number.input;
    let bound = |value: Option<f64>, none: &str| value.map_or_else(|| none.to_owned(), |v| v.to_string());
    let space = if input.unit.is_empty() { "" } else { " " };
    format!(
        "{:.1} % of this distribution lies outside {} to {}{space}{}, the range of {}; 1 % may",
        100.0 * outside_ratio,
        bound(input.min, "minus infinity"),
        bound(input.max, "infinity"),
        input.unit,
        input.pointer
    )
}

/// The distribution with `factor` times its numbers; `value` where a middle is left out.
fn in_unit(distribution: &InputDistribution, factor: Option<f64>, value: f64) -> Distribution {
    let scaled = |number: f64| factor.map_or(number, |f| f * number);
    match *distribution {
        InputDistribution::Normal { mean, deviation } => {
            Distribution::Normal { mean: mean.map_or(value, scaled), deviation: scaled(deviation) }
        }
        InputDistribution::Uniform { low, high } => {
            Distribution::Uniform { low: scaled(low), high: scaled(high) }
        }
        InputDistribution::Triangular { low, mode, high } => Distribution::Triangular {
            low: scaled(low),
            mode: mode.map_or(value, scaled),
            high: scaled(high),
        },
        InputDistribution::Lognormal { median, log_deviation } => {
            Distribution::Lognormal { median: median.map_or(value, scaled), log_deviation }
        }
        InputDistribution::Weibull { scale, shape } => Distribution::Weibull { scale: scaled(scale), shape },
    }
}
