//! What would close a plan: every stated value, set in the scenario, turns the verdict; one percent short of it does not.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

use beamstay_planner::{
    Document, Scenario, System, from_value, load,
    remedy::{Drift, DriftEnd, Lever, RemedyReport, remedy},
    study::complete,
};
use serde_json::json;

/// A plan: a scenario with numbers of it changed, whether it closes, and whether it is looked at where all are not asked for.
struct Plan(&'static str, &'static [(&'static str, f64)], Verdict, Run);

#[derive(PartialEq, Clone, Copy)]
enum Verdict {
    Closes,
    Fails,
}
use Verdict::{Closes, Fails};

#[derive(PartialEq, Clone, Copy)]
enum Run {
    Always,
    WithAll,
}
use Run::{Always, WithAll};

/// Every shipped scenario as it stands and broken, one of them so that no tether hangs.
const PLANS: [Plan; 25] = [
    Plan("beam-hover", &[], Closes, WithAll),
    Plan("beam-hover", &[("/site/wind/profile/power_law/speed_m_s", 25.0)], Fails, Always),
    Plan("beam-recharge", &[], Closes, WithAll),
    Plan("beam-recharge", &[("/ground/laser/rated_w", 700.0)], Fails, WithAll),
    Plan("bench-hover", &[], Closes, Always),
    Plan("bench-hover", &[("/ground/laser/rated_w", 120.0)], Fails, WithAll),
    Plan("breakwater-lookout", &[], Closes, Always),
    Plan("breakwater-lookout", &[("/payload/mass_kg", 2.4)], Fails, Always),
    Plan("breakwater-lookout", &[("/station/winch/drum_tension/drum_tension_n", 0.05)], Fails, WithAll),
    Plan("breakwater-year", &[], Closes, WithAll),
    Plan("breakwater-year", &[("/site/wind/profile/power_law/speed_m_s", 20.0)], Fails, WithAll),
    Plan("free-beam-loiter", &[], Closes, Always),
    Plan("free-beam-loiter", &[("/delivery/free_beam/visibility_km", 1.0)], Fails, Always),
    Plan("free-beam-loiter", &[("/ground/laser/rated_w", 400.0)], Fails, Always),
    Plan("harvest-market", &[], Closes, WithAll),
    Plan("harvest-market", &[("/payload/mass_kg", 6.0)], Fails, WithAll),
    Plan("quarry-watch", &[], Closes, WithAll),
    Plan("quarry-watch", &[("/payload/mass_kg", 2.5)], Fails, WithAll),
    Plan("reservoir-inspector", &[], Closes, WithAll),
    Plan("reservoir-inspector", &[("/ground/laser/rated_w", 150.0)], Fails, WithAll),
    Plan("reservoir-inspector", &[("/station/winch/paid_out/paid_out_m", 30.0)], Fails, WithAll),
    Plan("ridge-relay", &[], Closes, WithAll),
    Plan("ridge-relay", &[("/payload/mass_kg", 3.0)], Fails, WithAll),
    Plan("switchyard-sensor", &[], Closes, Always),
    Plan("switchyard-sensor", &[("/ground/laser/rated_w", 0.5)], Fails, Always),
];

impl Plan {
    fn name(&self) -> String {
        format!("{} with {:?}", self.0, self.1)
    }

    fn document(&self) -> Document {
        broken(self.0, self.1)
    }
}

/// The plans with a verdict that are looked at: all of them where `BEAMSTAY_PLANS` is `all`, those of which it names the scenario
/// where it is set, else a few.
fn plans(verdict: Verdict) -> Vec<&'static Plan> {
    let asked = std::env::var("BEAMSTAY_PLANS").ok();
    let is_looked_at = |plan: &&Plan| match asked.as_deref() {
        None => plan.3 == Always,
        Some(asked) => asked == "all" || asked == plan.0,
    };
    PLANS.iter().filter(|plan| plan.2 == verdict).filter(is_looked_at).collect()
}

/// The document with values changed, those that are left out written out first.
fn changed(document: &Document, changes: &[(&str, f64, bool)]) -> Scenario {
    let mut value = complete(&load(document).unwrap().scenario);
    for (pointer, number, whole) in changes {
        let number = if *whole { json!(*number as i64) } else { json!(number) };
        *value.pointer_mut(pointer).unwrap() = number;
    }
    from_value(&value).unwrap()
}

/// The verdict from the beginning, as `point` has it.
fn closes(document: &Document, changes: &[(&str, f64, bool)]) -> bool {
    let scenario = changed(document, changes);
    let Ok(system) = System::new(&scenario) else { return false };
    let Ok(place) = system.place(&scenario.station) else { return false };
    system.operate(&place).is_ok_and(|point| point.feasible)
}

fn is_whole(document: &Document, pointer: &str) -> bool {
    complete(&load(document).unwrap().scenario).pointer(pointer).unwrap().is_u64()
}

fn report(document: &Document) -> RemedyReport {
    remedy(document, &load(document).unwrap(), &|_, _| {}).unwrap()
}

fn broken(name: &str, changes: &[(&str, f64)]) -> Document {
    let path = format!("{}/../../scenarios/{name}.json", env!("CARGO_MANIFEST_DIR"));
    let mut document = Document::parse(&std::fs::read_to_string(path).unwrap()).unwrap();
    for (pointer, value) in changes {
        document.set(pointer, json!(value)).unwrap();
    }
    document
}

/// One percent back from `value` towards the present one, or one whole thing; not beyond the present one.
fn short_of(lever: &Lever, value: f64, whole: bool) -> f64 {
    let back = if whole { 1.0 } else { 0.01 * value.abs() };
    let short = value - (value - lever.from).signum() * back;
    if (short - lever.from) * (value - lever.from) < 0.0 { lever.from } else { short }
}

fn short_change<'a>(lever: &Lever, (pointer, value, whole): (&'a str, f64, bool)) -> (&'a str, f64, bool) {
    (pointer, short_of(lever, value, whole), whole)
}

/// The size of a change, worked out from the document: of a temperature over its value in kelvin, of an offset over the height
/// where that is more; none from 0.
fn change_ratio(document: &Document, lever: &Lever, value: f64) -> Option<f64> {
    let height_m = load(document).unwrap().scenario.station.height_m.abs();
    let over = match lever.pointer.as_str() {
        "/station/downwind_m" | "/station/crosswind_m" => lever.from.abs().max(height_m),
        _ if lever.unit == "°C" => lever.from + 273.15,
        _ => lever.from.abs(),
    };
    (over > 0.0).then(|| (value - lever.from).abs() / over)
}

/// That changes are ranked, the smallest first and those without a size last, and that each is as large as is told.
fn check_ranking(name: &str, document: &Document, changes: &[(&Lever, f64, Option<f64>)]) {
    let mut last = 0.0;
    for (lever, value, told) in changes {
        let size = change_ratio(document, lever, *value);
        assert_eq!(size.is_some(), told.is_some(), "{name}: {}", lever.pointer);
        let (size, told) = (size.unwrap_or(f64::INFINITY), told.map_or(f64::INFINITY, f64::abs));
        assert!(
            size == told || (size - told).abs() <= 1e-9 * size,
            "{name}: {} {size} {told}",
            lever.pointer
        );
        assert!(size >= last, "{name}: {} by {size} stands after {last}", lever.pointer);
        last = size;
    }
}

fn check_remedies(name: &str, document: &Document) -> RemedyReport {
    let report = report(document);
    assert!(!report.closes && report.drifts.is_empty(), "{name}");
    for remedy in &report.remedies {
        let pointer = remedy.lever.pointer.as_str();
        let whole = is_whole(document, pointer);
        for value in [Some(remedy.closes_at), remedy.other_side].into_iter().flatten() {
            assert!(
                closes(document, &[(pointer, value, whole)]),
                "{name}: {pointer} = {value} does not close"
            );
            let short = short_of(&remedy.lever, value, whole);
            assert!(!closes(document, &[(pointer, short, whole)]), "{name}: {pointer} = {short} closes too");
        }
    }
    for remedy in &report.remedies {
        let nearest = (remedy.closes_at - remedy.lever.from).abs();
        assert!(remedy.other_side.is_none_or(|value| (value - remedy.lever.from).abs() >= nearest), "{name}");
    }
    let ranked: Vec<_> = report.remedies.iter().map(|r| (&r.lever, r.closes_at, r.change_ratio)).collect();
    check_ranking(name, document, &ranked);
    assert!(
        report.no_remedy.windows(2).all(|two| two[0].least_margin_ratio >= two[1].least_margin_ratio),
        "{name}"
    );
    if let Some(pair) = &report.pair {
        let (first, second) = (pair.first.pointer.as_str(), pair.second.pointer.as_str());
        let (a, b) = (
            (first, pair.first_closes_at, is_whole(document, first)),
            (second, pair.second_closes_at, is_whole(document, second)),
        );
        assert!(closes(document, &[a, b]), "{name}: {a:?} and {b:?} do not close");
        assert!(
            !closes(document, &[a]) && !closes(document, &[b]),
            "{name}: one of {a:?} and {b:?} is enough"
        );
        for few in [[short_change(&pair.first, a), b], [a, short_change(&pair.second, b)]] {
            assert!(!closes(document, &few), "{name}: {few:?} close too");
        }
        let cost = change_ratio(document, &pair.first, a.1).unwrap()
            + change_ratio(document, &pair.second, b.1).unwrap();
        assert!((pair.change_ratio - cost).abs() <= 1e-9 * cost, "{name}: {} {cost}", pair.change_ratio);
    }
    report
}

#[test]
fn every_shipped_scenario_is_asked_both_ways() {
    let directory = concat!(env!("CARGO_MANIFEST_DIR"), "/../../scenarios");
    let files = std::fs::read_dir(directory).unwrap().map(|entry| entry.unwrap().path());
    let shipped = files.filter(|path| path.extension().is_some_and(|extension| extension == "json"));
    let mut count = 0;
    for path in shipped {
        count += 1;
        for verdict in [Closes, Fails] {
            let asked =
                PLANS.iter().any(|plan| path.ends_with(format!("{}.json", plan.0)) && plan.2 == verdict);
            assert!(asked, "{path:?}");
        }
    }
    assert!(count >= 11, "{count}");
}

#[test]
fn stated_remedies_turn_the_verdict() {
    for plan in plans(Fails) {
        let found = check_remedies(&plan.name(), &plan.document());
        println!(
            "{}: {} inputs close it, {} do not, pair {}, {} points",
            plan.name(),
            found.remedies.len(),
            found.no_remedy.len(),
            found.pair.is_some(),
            found.evaluations_count
        );
        assert!(!found.remedies.is_empty(), "{}: no remedy at all", plan.name());
    }
}

#[test]
fn two_broken_limits_need_two_changes() {
    let changes = [("/delivery/fiber/total_length_m", 98.0), ("/payload/mass_kg", 1.5)];
    let document = broken("breakwater-lookout", &changes);
    let report = check_remedies("breakwater-lookout, twice broken", &document);
    assert!(report.pair.is_some());
    assert!(
        report.remedies.iter().all(|r| r.lever.pointer != changes[0].0 && r.lever.pointer != changes[1].0)
    );
}

/// A motor too weak for a balance hides that the air is too thick for the light: the pair is found through the stage that is
/// missing.
#[test]
fn a_weak_motor_in_haze_needs_two_changes() {
    let changes = [("/vehicle/fixed_wing/max_shaft_w", 60.0), ("/delivery/free_beam/visibility_km", 1.0)];
    let document = broken("free-beam-loiter", &changes);
    let plan = load(&document).unwrap().scenario;
    let system = System::new(&plan).unwrap();
    let point = system.operate(&system.place(&plan.station).unwrap()).unwrap();
    assert!(point.vehicle.is_none(), "{:?}", point.vehicle);
    let report = check_remedies("free-beam-loiter, weak in haze", &document);
    assert!(report.pair.is_some(), "{:?}", report.remedies);
}

#[test]
fn stated_drifts_turn_the_verdict() {
    let plans = plans(Closes);
    assert!(!plans.is_empty());
    for plan in plans {
        let (name, document) = (plan.name(), plan.document());
        let report = report(&document);
        assert!(report.closes && report.remedies.is_empty() && report.pair.is_none(), "{name}");
        let ends = report.drifts.iter().flat_map(|drift| [drift.down, drift.up]).flatten().count();
        println!("{name}: {} inputs, {ends} ends, {} points", report.drifts.len(), report.evaluations_count);
        assert!(ends > 0, "{name}");
        for drift in &report.drifts {
            for end in [drift.down, drift.up].into_iter().flatten() {
                check_end(&name, &document, &drift.lever, end);
            }
        }
        check_drift_ranking(&name, &document, &report);
    }
}

/// That a plan closes up to an end and one percent before it, and not beyond it.
fn check_end(name: &str, document: &Document, lever: &Lever, end: DriftEnd) {
    let pointer = lever.pointer.as_str();
    let whole = is_whole(document, pointer);
    let short = short_of(lever, end.breaks_at, whole);
    for (value, holds) in [(end.closes_to, true), (short, true), (end.breaks_at, false)] {
        assert_eq!(closes(document, &[(pointer, value, whole)]), holds, "{name}: {pointer} = {value}");
    }
    let gap = (end.breaks_at - end.closes_to).abs();
    assert!(gap <= if whole { 1.0 } else { 0.006 * end.breaks_at.abs() }, "{name}: {pointer} {end:?}");
}

/// That drifts are ranked by their nearer end.
fn check_drift_ranking(name: &str, document: &Document, report: &RemedyReport) {
    let size = |end: &DriftEnd| end.change_ratio.map_or(f64::MAX, f64::abs);
    let nearer = |drift: &'_ Drift| {
        [drift.down, drift.up].into_iter().flatten().min_by(|a, b| size(a).total_cmp(&size(b)))
    };
    let ranked: Vec<_> = report
        .drifts
        .iter()
        .filter_map(|drift| nearer(drift).map(|end| (&drift.lever, end.breaks_at, end.change_ratio)))
        .collect();
    check_ranking(name, document, &ranked);
    // Those that may go anywhere come last.
    assert!(report.drifts.iter().skip(ranked.len()).all(|drift| drift.down.is_none() && drift.up.is_none()));
}
