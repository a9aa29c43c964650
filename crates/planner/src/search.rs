//! The best plan: which values of the free inputs make a goal best while every limit holds, what binds there and what
//! giving way would be worth.

mod around;
mod defaults;
mod target;

use serde::Serialize;
use serde_json::Value;

pub(crate) use defaults::{DOWNWIND, PAYLOAD, TENSION};
pub use defaults::{default_free, default_goals, station_free};
pub(crate) use target::margins_of;
pub use target::{Counter, Free, Target};

use crate::{
    Loaded, Scenario, System,
    diagnostic::{Diagnostic, Fault},
    document::Document,
    error::PlanError,
    limit::LimitCode,
    optimise::{Finish, Found, Settings, best},
    point::OperatingPoint,
    study::{Input, Provenance, Quantity, Span, Study, Watch, complete, standing_of},
};

/// Margin kept off every limit that binds: a hundred times what two solutions of one point differ by.
const KEPT_OFF: f64 = 1e-6;

/// Whether a goal is to be large or small.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Sense {
    /// Large.
    Max,
    /// Small.
    Min,
}

/// What a search is for.
#[derive(Debug, Clone, PartialEq)]
pub struct Goal {
    /// Large or small.
    pub sense: Sense,
    /// Of what.
    pub quantity: Quantity,
    /// What that is multiplied with, if anything.
    pub times: Option<Quantity>,
}

impl Goal {
    /// Reads `max:name`, `min:/pointer`, or a product of two, `max:/payload/mass_kg*/station/height_m`.
    ///
    /// # Errors
    /// [`Fault::BadGoal`], and those of [`Quantity::find`].
    pub fn parse(complete: &Value, text: &str) -> Result<Self, Box<Diagnostic>> {
        let (sense, name) = match text.split_once(':') {
            Some(("max", name)) => (Sense::Max, name),
            Some(("min", name)) => (Sense::Min, name),
            _ => return Err(Box::new(Diagnostic::new("", Fault::BadGoal { text: text.to_owned() }))),
        };
        let (name, times) = match name.split_once('*') {
            Some((name, times)) => (name, Some(Quantity::find(complete, times)?)),
            None => (name, None),
        };
        Ok(Self { sense, quantity: Quantity::find(complete, name)?, times })
    }

    /// As it is written on the command line.
    pub fn text(&self) -> String {
        let sense = match self.sense {
            Sense::Max => "max",
            Sense::Min => "min",
        };
        match &self.times {
            Some(times) => format!("{sense}:{}*{}", self.quantity.name(), times.name()),
            None => format!("{sense}:{}", self.quantity.name()),
        }
    }

    /// Its unit, empty for a pure number.
    pub fn unit(&self) -> String {
        let unit = self.quantity.unit();
        match self.times.as_ref().map(Quantity::unit) {
            Some(times) if !unit.is_empty() && !times.is_empty() => format!("{unit}·{times}"),
            Some(times) => format!("{unit}{times}"),
            None => unit.to_owned(),
        }
    }

    /// Inputs that it consists of.
    pub fn inputs(&self) -> impl Iterator<Item = &Input> {
        [Some(&self.quantity), self.times.as_ref()].into_iter().flatten().filter_map(|q| match q {
            Quantity::Input(input) => Some(input.as_ref()),
            Quantity::Output(_) => None,
        })
    }
}

/// What to search.
#[derive(Debug, Clone, PartialEq)]
pub struct Question {
    /// What for.
    pub goal: Goal,
    /// What may be changed and between which bounds.
    pub free: Vec<Span>,
    /// Seed of the samples.
    pub seed: u64,
}

/// The answer to one question.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Answer {
    /// The goal as it is written on the command line.
    pub goal: String,
    /// Its unit.
    pub goal_unit: String,
    /// Whether any feasible point was found.
    pub feasible: bool,
    /// Value of the goal at the best point; absent where it could not be computed.
    pub value: Option<f64>,
    /// Level of the least feasible limit: its margin ratio where all hold.
    pub margin_ratio: f64,
    /// The limit nearest or most broken at the point.
    pub tightest: Option<LimitCode>,
    /// The free inputs at the best point, or at the least infeasible one.
    pub free: Vec<FreeValue>,
    /// Limits and bounds that hold the goal back, the dearest first.
    pub binding: Vec<Binding>,
    /// Whether nothing holds it back: the best point lies inside all limits and bounds.
    pub interior: bool,
    /// Length paid out there, m.
    pub paid_out_m: Option<f64>,
    /// Points computed.
    pub evaluations_count: usize,
    /// Local searches made.
    pub starts_count: usize,
    /// Local searches that ended at this goal, to one part in a thousand.
    pub agreeing_count: usize,
    /// Seed of the samples.
    pub seed: u64,
    /// The point.
    pub point: Option<OperatingPoint>,
}

/// A free input at the best point.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FreeValue {
    /// Which input.
    pub pointer: String,
    /// Its unit.
    pub unit: String,
    /// Its value there, in [`Self::unit`] like the rest.
    pub value: f64,
    /// Lower bound of the search.
    pub lo: f64,
    /// Upper bound of the search.
    pub hi: f64,
    /// Least and largest value, the others chosen anew, that still give 99 % of the goal; absent for the goal itself.
    pub within_one_percent: Option<(f64, f64)>,
}

/// What holds the goal back.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Binding {
    /// The limit, if it is one.
    pub limit: Option<LimitCode>,
    /// The bound of a free input, if it is one.
    pub bound: Option<Bound>,
    /// What the goal gains when the limit or bound gives way by one percent of itself, everything chosen anew; absent for
    /// one of 0.
    pub gain_per_percent: Option<f64>,
}

/// A bound of a free input.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Bound {
    /// Which input.
    pub pointer: String,
    /// Whether the upper one.
    pub upper: bool,
    /// The bound.
    pub value: f64,
}

/// Answers with their provenance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SearchReport {
    /// Scenario and program.
    #[serde(flatten)]
    pub provenance: Provenance,
    /// One answer per goal.
    pub answers: Vec<Answer>,
}

/// Answers several questions about a scenario; `watch` hears how many are done.
///
/// # Errors
/// [`PlanError::Refused`] if parts of the scenario do not go together.
pub fn search_report(
    document: &Document,
    loaded: &Loaded,
    questions: &[Question],
    watch: Watch<'_>,
) -> Result<SearchReport, PlanError> {
    let all = questions.len() as u64;
    let mut answers = Vec::with_capacity(questions.len());
    for (done, question) in questions.iter().enumerate() {
        watch(done as u64, all);
        answers.push(search(loaded, question)?);
    }
    Ok(SearchReport { provenance: Provenance::of(document, loaded), answers })
}

/// Answers one question about a scenario.
///
/// # Errors
/// As [`search_report`].
pub fn search(loaded: &Loaded, question: &Question) -> Result<Answer, PlanError> {
    let system = System::new(&loaded.scenario)?;
    let free: Vec<Free> = question.free.iter().map(|span| Free::new(span.clone(), &system)).collect();
    let study = Study::new(&loaded.scenario, free.iter().map(|f| f.span.input.clone()).collect())?;
    let target = || Target::new(&study, &free, &question.goal);
    let first = first(&system, &loaded.scenario, &free);
    let settings = Settings {
        finish: Finish { backoff: KEPT_OFF, ..Finish::default() },
        ..Settings::for_dimensions(free.len(), question.seed)
    };
    let counter = target::Counter::default();
    let found = best(|| target().counted(&counter), free.len(), first, &settings);
    let found = around::with_less_fiber(&mut target().counted(&counter), found, &settings.finish);
    let (found, values, point) =
        around::standing_alone(|| target().counted(&counter), found, &settings.finish);
    Ok(answer(question, &study, &free, (found, values, point), &counter))
}

/// Where the scenario stands in the unit cube, if it is there.
fn first(system: &System, scenario: &Scenario, free: &[Free]) -> Option<Vec<f64>> {
    let slack_ratio = || {
        let place = system.place(&scenario.station).ok()?;
        let hanging = system.hang(&place, None).ok()?;
        Some(hanging.tethers()?.mean.paid_out_m() / place.position_m.norm() - 1.0)
    };
    let unit = free
        .iter()
        .map(|f| if f.is_slack() { f.unit_of_slack(slack_ratio()?) } else { f.unit(f.span.input.value?) })
        .collect::<Option<Vec<f64>>>()?;
    unit.iter().all(|u| (0.0..=1.0).contains(u)).then_some(unit)
}

fn answer(
    question: &Question,
    study: &Study,
    free: &[Free],
    (found, values, point): (Found, Vec<f64>, Option<OperatingPoint>),
    counter: &target::Counter,
) -> Answer {
    let mut target = Target::new(study, free, &question.goal).counted(counter);
    let standing = point.as_ref().map(standing_of);
    let feasible = found.trial.is_feasible();
    let (binding, ranges) = if feasible {
        (around::binding(&mut target, &found), around::ranges(&mut target, &found))
    } else {
        (Vec::new(), vec![None; free.len()])
    };
    let free_values = free
        .iter()
        .zip(&values)
        .zip(ranges)
        .map(|((f, value), within_one_percent)| FreeValue {
            pointer: f.span.input.pointer.clone(),
            unit: f.span.input.unit.clone(),
            value: *value,
            lo: f.span.lo,
            hi: f.span.hi,
            within_one_percent,
        })
        .collect();
    let sign = target.sign();
    Answer {
        goal: question.goal.text(),
        goal_unit: question.goal.unit(),
        feasible,
        value: found.trial.is_complete().then_some(sign * found.trial.goal),
        margin_ratio: standing.map_or(crate::study::NOTHING_COMPUTED, |s| s.level),
        tightest: standing.and_then(|s| s.code),
        interior: feasible && binding.is_empty(),
        binding,
        free: free_values,
        paid_out_m: point.as_ref().and_then(|p| p.tether).map(|t| t.paid_out_m),
        evaluations_count: counter.count(),
        starts_count: found.starts_count,
        agreeing_count: found.agreeing_count,
        seed: question.seed,
        point,
    }
}

/// The questions that are asked when none is: the greatest height, the heaviest payload, and the two together, each with
/// the station chosen for it; for a vehicle in water the greatest depth.
///
/// # Errors
/// None for a scenario that was read.
pub fn default_questions(loaded: &Loaded, seed: u64) -> Result<Vec<Question>, Box<Diagnostic>> {
    let complete = complete(&loaded.scenario);
    default_goals(&loaded.scenario)
        .iter()
        .map(|(goal, pointers)| {
            Ok(Question {
                goal: Goal::parse(&complete, goal)?,
                free: default_free(&loaded.scenario, &complete, pointers)?,
                seed,
            })
        })
        .collect()
}

/// A question with given goal and free inputs, each left to its default where it is not given.
///
/// # Errors
/// A fault of any text.
pub fn question(
    loaded: &Loaded,
    goal: &str,
    free: &[String],
    seed: u64,
) -> Result<Question, Vec<Diagnostic>> {
    let complete = complete(&loaded.scenario);
    let mut faults = Vec::new();
    let goal = Goal::parse(&complete, goal).map_err(|f| faults.push(*f)).ok();
    let mut spans: Vec<Span> = free
        .iter()
        .filter_map(|text| Span::parse(&complete, text).map_err(|f| faults.push(*f)).ok())
        .collect();
    let Some(goal) = goal.filter(|_| faults.is_empty()) else { return Err(faults) };
    if spans.is_empty() {
        let mut pointers: Vec<&str> = goal.inputs().map(|input| input.pointer.as_str()).collect();
        for pointer in station_free(&loaded.scenario) {
            if !pointers.contains(&pointer) {
                pointers.push(pointer);
            }
        }
        spans = default_free(&loaded.scenario, &complete, &pointers).map_err(|f| vec![*f])?;
    }
    let fixed = goal.inputs().find(|input| !spans.iter().any(|s| s.input.pointer == input.pointer));
    if let Some(input) = fixed {
        return Err(vec![Diagnostic::new("", Fault::GoalNotFree { pointer: input.pointer.clone() })]);
    }
    Ok(Question { goal, free: spans, seed })
}

/// Input at a pointer, for callers that hold a scenario.
pub(crate) fn input(complete: &Value, pointer: &str) -> Result<Input, Box<Diagnostic>> {
    Input::find(complete, pointer)
}
