//! The winds in which a plan that closes still closes, its station as it stands: the verdict of a point is one of its own
//! wind only.

use serde::Serialize;

use crate::{
    limit::{LimitCode, tightest},
    operate::Solved,
    scenario::{Scenario, Vehicle},
    system::{Place, System, surroundings::Stream},
};

/// Step of the search over the wind of the plan, and over the least wind that is stepped from.
const STEP_RATIO: f64 = 0.1;
/// Least wind that steps are taken of, m/s.
const LEAST_WIND_M_S: f64 = 5.0;
/// Strongest wind that is looked at, m/s: nothing flies there.
const STRONGEST_M_S: f64 = 40.0;
/// How well an end is known, m/s.
const END_M_S: f64 = 0.05;

/// Mean winds around that of the plan in which it closes. The gust follows each by the site's rule.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Winds {
    /// Wind of the plan at the station, m/s.
    pub stated_m_s: f64,
    /// The calmest mean wind at the station down to which the plan closes, m/s; 0 if it does in calm air.
    pub from_m_s: f64,
    /// What breaks in less wind; none in calm air, or if nothing can be computed there.
    pub breaks_below: Option<LimitCode>,
    /// The strongest mean wind up to which the plan closes, m/s.
    pub to_m_s: f64,
    /// What breaks in more wind; none at the strongest looked at, or if nothing can be computed there.
    pub breaks_above: Option<LimitCode>,
}

/// The winds around that of a plan in which it closes; none for a plan that does not close, for what does not fly, and where no
/// wind of another speed can be made. Outwards in steps of a tenth of the wind to the first that breaks a limit, which is
/// then brought to a twentieth of a metre per second: a break narrower than a step may be missed.
pub(crate) fn winds(system: &System, scenario: &Scenario, place: &Place, solved: &Solved) -> Option<Winds> {
    let flies = matches!(scenario.vehicle, Vehicle::Multirotor(_) | Vehicle::FixedWing(_));
    if !solved.point.feasible || !flies || !matches!(system.surroundings.mean, Stream::Air(_)) {
        return None;
    }
    let stated_m_s = system.surroundings.mean.speed_m_s(place.position_m.z);
    let mut scenario = Scenario { uncertainty: None, ..scenario.clone() };
    // What the profile makes of one metre per second at its reference height.
    *scenario.site.wind.profile.speed_mut_m_s() = 1.0;
    let unit = System::new(&scenario).ok()?.surroundings.mean.speed_m_s(place.position_m.z);
    if unit.is_nan() || unit <= 0.0 {
        return None;
    }
    let mut probe = Probe { scenario, unit, place: *place, solved };
    let (from_m_s, breaks_below) = probe.end(stated_m_s, 0.0);
    let (to_m_s, breaks_above) = probe.end(stated_m_s, STRONGEST_M_S.max(stated_m_s));
    Some(Winds { stated_m_s, from_m_s, breaks_below, to_m_s, breaks_above })
}

/// The plan in other winds.
struct Probe<'a> {
    scenario: Scenario,
    /// Wind at the station over that at the reference height of the profile.
    unit: f64,
    place: Place,
    solved: &'a Solved,
}

impl Probe<'_> {
    /// What breaks in a mean wind at the station: nothing, a limit, or what cannot be told.
    fn breaks(&mut self, wind_m_s: f64) -> Option<Option<LimitCode>> {
        *self.scenario.site.wind.profile.speed_mut_m_s() = wind_m_s / self.unit;
        let Ok(system) = System::new(&self.scenario) else { return Some(None) };
        let point = system
            .solve_for_search(&self.place, Some(self.solved))
            .or_else(|_| system.solve_for_search(&self.place, None));
        match point {
            Ok(solved) if solved.point.feasible => None,
            Ok(solved) => Some(tightest(&solved.point.limits).map(|row| row.code)),
            Err(_) => Some(None),
        }
    }

    /// The last wind on the way to `end_m_s` in which the plan closes, and what breaks beyond it.
    fn end(&mut self, stated_m_s: f64, end_m_s: f64) -> (f64, Option<LimitCode>) {
        let step_m_s = STEP_RATIO * stated_m_s.max(LEAST_WIND_M_S);
        let steps_count = ((end_m_s - stated_m_s).abs() / step_m_s).ceil().min(1e3) as u32;
        let mut closes_m_s = stated_m_s;
        for step in 1..=steps_count {
            let wind_m_s = stated_m_s + (end_m_s - stated_m_s) * f64::from(step) / f64::from(steps_count);
            match self.breaks(wind_m_s) {
                None => closes_m_s = wind_m_s,
                Some(code) => return self.bisect(closes_m_s, wind_m_s, code),
            }
        }
        (closes_m_s, None)
    }

    fn bisect(
        &mut self,
        mut closes_m_s: f64,
        mut breaks_m_s: f64,
        mut code: Option<LimitCode>,
    ) -> (f64, Option<LimitCode>) {
        for _ in 0..20 {
            if (breaks_m_s - closes_m_s).abs() <= END_M_S {
                break;
            }
            let middle_m_s = 0.5 * (closes_m_s + breaks_m_s);
            match self.breaks(middle_m_s) {
                None => closes_m_s = middle_m_s,
                Some(broken) => (breaks_m_s, code) = (middle_m_s, broken),
            }
        }
        (closes_m_s, code)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Document, load, point_report};

    const BREAKWATER: &str = include_str!("../../../scenarios/breakwater-lookout.json");

    fn document(changes: &[(&str, serde_json::Value)]) -> Document {
        let mut document = Document::parse(BREAKWATER).unwrap();
        for (pointer, value) in changes {
            document.set(pointer, value.clone()).unwrap();
        }
        document
    }

    fn told(document: &Document) -> Option<Winds> {
        point_report(document, &load(document).unwrap()).unwrap().winds
    }

    /// The plan closes inside the ends that are told and not beyond them, computed from the beginning.
    #[test]
    fn the_plan_closes_between_the_ends_and_not_beyond() {
        let winds = told(&document(&[])).unwrap();
        let speed = "/site/wind/profile/power_law/speed_m_s";
        let at_reference = |wind_m_s: f64| {
            let stated = document(&[]).value.pointer(speed).unwrap().as_f64().unwrap();
            wind_m_s * stated / winds.stated_m_s
        };
        let closes = |wind_m_s: f64| {
            let document = document(&[(speed, at_reference(wind_m_s).into())]);
            point_report(&document, &load(&document).unwrap()).unwrap().point.feasible
        };
        assert!(closes(winds.from_m_s) && closes(winds.to_m_s), "{winds:?}");
        assert!(winds.from_m_s < winds.stated_m_s && winds.stated_m_s < winds.to_m_s, "{winds:?}");
        assert!(winds.from_m_s > 0.1 && !closes(winds.from_m_s - 0.1) && !closes(0.0), "{winds:?}");
        assert!(!closes(winds.to_m_s + 0.1), "{winds:?}");
        assert!(winds.breaks_below.is_some() && winds.breaks_above.is_some(), "{winds:?}");
    }

    #[test]
    fn a_plan_that_does_not_close_has_no_winds() {
        assert_eq!(told(&document(&[("/payload/mass_kg", 3.0.into())])), None);
    }
}
