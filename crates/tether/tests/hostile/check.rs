//! Whether a shape is one: forces and geometry summed again from the flow itself, by a rule that does not know the solver's
//! nodes.

use beamstay_environment::Flow;
use beamstay_numerics::{constants::STANDARD_GRAVITY_M_S2, quadrature::GaussLegendre};
use beamstay_tether::{Line, Shape};
use nalgebra::{SVector, Vector3};

use super::case::{AnyFlow, Asked, Case};

/// Allowed in the sums, relative to the largest tension and to the length. Ends are asked for to 1e-6; the sums see what is open
/// between the nodes too, which is larger.
const CLOSES: f64 = 1e-5;
/// How well the sums are made.
const SUMMED: f64 = 1e-9;
/// Halvings of a panel of the sums.
const HALVINGS: u32 = 40;
/// Pieces of a line in which a crossing of a kink is looked for.
const CROSSINGS: u32 = 500;
/// Panels at the start.
const PANELS: u32 = 64;

/// Load and change of place per unstretched metre, in one.
type Rates = SVector<f64, 6>;

/// Says what is wrong with a shape.
pub fn faults(case: &Case, shape: &Shape) -> Option<String> {
    let told = [
        shape.drum_tension_n(),
        shape.top_tension_n(),
        shape.max_tension().0,
        shape.paid_out_m(),
        shape.stretched_m(),
        shape.error_estimate_ratio(),
        shape.clearance_m(-1.0, 0.0),
        shape.sag_perp_m(),
    ];
    if told.iter().any(|number| !number.is_finite()) {
        return Some(format!("not finite: {told:?}"));
    }
    as_asked(case, shape).or_else(|| forces(case, shape)).or_else(|| on_the_ground(case, shape))
}

fn as_asked(case: &Case, shape: &Shape) -> Option<String> {
    let missed_m = (shape.point(shape.paid_out_m()) - case.vehicle_m).norm();
    if missed_m > 2e-6 * shape.paid_out_m() {
        return Some(format!("ends {missed_m:.1e} m beside the vehicle"));
    }
    let (asked, given) = match case.asked {
        Asked::Length(length_m) => (length_m, shape.paid_out_m()),
        Asked::DrumTension(tension_n) => (tension_n, shape.drum_tension_n()),
    };
    ((given / asked - 1.0).abs() > 3e-6).then(|| format!("{given} instead of {asked}"))
}

/// Forces close over the whole line and geometry and forces over each part that does not lie.
fn forces(case: &Case, shape: &Shape) -> Option<String> {
    let scale_n = shape.max_tension().0;
    let ends_n = shape.force_on_vehicle_n() + shape.force_at_drum_n();
    let open_n = (ends_n - shape.load_on_line_n()).norm();
    if open_n > 1e-6 * scale_n {
        return Some(format!("forces open by {:.1e}", open_n / scale_n));
    }
    let length_m = shape.paid_out_m();
    let parts = shape
        .lying()
        .map_or([(0.0, length_m), (0.0, 0.0)], |lying| [(0.0, lying.from_m), (lying.to_m, length_m)]);
    parts.into_iter().filter(|(from_m, to_m)| to_m - from_m > 1e-9 * length_m).find_map(|(from_m, to_m)| {
        let sum = summed(case, shape, from_m, to_m);
        let load_n = shape.force_n(from_m) - shape.force_n(to_m);
        let way_m = shape.point(to_m) - shape.point(from_m);
        let open = (
            (sum.fixed_rows::<3>(0) - load_n).norm() / scale_n,
            (sum.fixed_rows::<3>(3) - way_m).norm() / length_m,
        );
        (open.0 > CLOSES || open.1 > CLOSES).then(|| {
            format!("force open by {:.1e}, geometry by {:.1e} of {from_m} to {to_m} m", open.0, open.1)
        })
    })
}

fn on_the_ground(case: &Case, shape: &Shape) -> Option<String> {
    let ground = case.ground?;
    let length_m = shape.paid_out_m();
    if shape.clearance_m(ground.height_m, 0.0) < -2e-5 * length_m {
        return Some("under the ground".to_owned());
    }
    let lying = shape.lying()?;
    let lying_m = lying.length_m();
    if !(0.0..=length_m * (1.0 + 1e-9)).contains(&lying_m) || lying.loose_m > lying_m * (1.0 + 1e-9) + 1e-9 {
        return Some(format!("{lying:?} of {length_m} m"));
    }
    let lift_off_n = shape.force_n((lying.to_m + 1e-9 * length_m).min(length_m));
    // Where the line is taut it lifts off level.
    (lying.loose_m <= 0.0 && lying_m > 1e-3 * length_m && lift_off_n.z.abs() > 1e-3 * shape.max_tension().0)
        .then(|| format!("lifts off with {lift_off_n:?}"))
}

/// Sum of the load, N, and of the way, m, from one unstretched length to another.
fn summed(case: &Case, shape: &Shape, from_m: f64, to_m: f64) -> Rates {
    let rule = GaussLegendre::<8>::new();
    let panel = |lo: f64, hi: f64| {
        rule.nodes().iter().zip(rule.weights()).fold(Rates::zeros(), |sum, (x, weight)| {
            let s_m = 0.5 * (lo + hi) + 0.5 * (hi - lo) * x;
            sum + 0.5 * (hi - lo) * *weight * rates(&case.line, &case.flow, shape, s_m)
        })
    };
    let scale = (SUMMED * shape.max_tension().0, SUMMED * shape.paid_out_m());
    edges_m(case, shape, from_m, to_m).windows(2).fold(Rates::zeros(), |sum, edge_m| {
        let (lo, hi) = (edge_m[0], edge_m[1]);
        // Halved once in any case: where whole and halves miss the same bend they agree.
        let middle = 0.5 * (lo + hi);
        let halves = [(lo, middle), (middle, hi)];
        sum + halves
            .map(|(lo, hi)| halved(&panel, lo, hi, panel(lo, hi), scale, HALVINGS))
            .iter()
            .sum::<Rates>()
    })
}

/// Where the panels of a sum end: even ones, shorter ones towards both ends and the slackest place, where a line may bend within a
/// hair, and where the line crosses a kink of the flow, at which whole and halves of a panel may agree and both be wrong.
fn edges_m(case: &Case, shape: &Shape, from_m: f64, to_m: f64) -> Vec<f64> {
    let slack_m = slackest_m(shape);
    let mut edges_m: Vec<f64> =
        (0..=PANELS).map(|i| from_m + (to_m - from_m) * f64::from(i) / f64::from(PANELS)).collect();
    for near_m in (1..=9).map(|k| (to_m - from_m) * 10_f64.powi(-k)) {
        edges_m.extend([from_m + near_m, to_m - near_m, slack_m - near_m, slack_m + near_m]);
    }
    for kink_m in case.flow.kink_heights_m() {
        let over_m = |s_m: f64| shape.point(s_m).z - kink_m;
        for i in 0..CROSSINGS {
            let at_m = |i: u32| from_m + (to_m - from_m) * f64::from(i) / f64::from(CROSSINGS);
            let (mut lo, mut hi) = (at_m(i), at_m(i + 1));
            let below = over_m(lo) < 0.0;
            if below == (over_m(hi) < 0.0) {
                continue;
            }
            for _ in 0..50 {
                let middle = 0.5 * (lo + hi);
                if (over_m(middle) < 0.0) == below { lo = middle } else { hi = middle }
            }
            edges_m.push(lo);
        }
    }
    edges_m.retain(|edge_m| (from_m..=to_m).contains(edge_m));
    edges_m.sort_by(f64::total_cmp);
    edges_m
}

/// Where the tension is least, m.
fn slackest_m(shape: &Shape) -> f64 {
    let at_m = |i: u32| shape.paid_out_m() * f64::from(i) / 200.0;
    let least = (0..=200).min_by(|a, b| shape.tension_n(at_m(*a)).total_cmp(&shape.tension_n(at_m(*b))));
    let least = least.unwrap_or(0);
    let (mut lo, mut hi) = (at_m(least.max(1) - 1), at_m((least + 1).min(200)));
    for _ in 0..60 {
        let (a, b) = (lo + (hi - lo) / 3.0, hi - (hi - lo) / 3.0);
        if shape.tension_n(a) < shape.tension_n(b) { hi = b } else { lo = a }
    }
    0.5 * (lo + hi)
}

/// The sum over a panel, halved until halves and whole agree.
fn halved(
    panel: &impl Fn(f64, f64) -> Rates,
    lo: f64,
    hi: f64,
    whole: Rates,
    scale: (f64, f64),
    left: u32,
) -> Rates {
    let middle = 0.5 * (lo + hi);
    let (first, second) = (panel(lo, middle), panel(middle, hi));
    let off = first + second - whole;
    if left == 0 || (off.fixed_rows::<3>(0).norm() < scale.0 && off.fixed_rows::<3>(3).norm() < scale.1) {
        return first + second;
    }
    halved(panel, lo, middle, first, scale, left - 1) + halved(panel, middle, hi, second, scale, left - 1)
}

/// Weight and flow by the cross-flow principle, and (1 + T/EA) t, written down here once more.
fn rates(line: &Line, flow: &AnyFlow, shape: &Shape, s_m: f64) -> Rates {
    let (force_n, sample) = (shape.force_n(s_m), flow.at(shape.point(s_m).z));
    let tangent = force_n.try_normalize(0.0).unwrap_or_else(Vector3::z);
    let stretch = 1.0 + line.axial_stiffness_n.map_or(0.0, |ea| force_n.norm() / ea);
    let along = sample.velocity_m_s.dot(&tangent);
    let across = sample.velocity_m_s - along * tangent;
    let reynolds = sample.density_kg_m3 * across.norm() * line.diameter_m / sample.dynamic_viscosity_pa_s;
    let half = 0.5 * sample.density_kg_m3 * line.diameter_m;
    let normal = if across.norm() > 0.0 {
        half * line.normal_drag.coefficient(reynolds) * across.norm() * across
    } else {
        Vector3::zeros()
    };
    let rubbing = half * line.tangential_coefficient * along.abs() * along * tangent;
    let displaced = sample.density_kg_m3 * line.buoyancy_area_m2;
    let weight = (line.mass_kg_per_m - displaced) * STANDARD_GRAVITY_M_S2 * Vector3::z();
    let load = stretch * (normal + rubbing) - weight;
    let way = stretch * tangent;
    Rates::from_iterator(load.iter().chain(way.iter()).copied())
}
