//! One element of a sweep. The nodes lie side by side in arrays of a fixed width, so that the compiler handles several at
//! once; lanes without a node have a slope of zero and add nothing.

#![allow(clippy::needless_range_loop, reason = "lanes run over several arrays at once")]

use beamstay_environment::flow::Flow;
use nalgebra::Vector3;

use super::{
    gauss::{Rule, rule},
    load::weight_n_per_m,
    mesh::Element,
    relax::{Grid, Problem, Sums},
};

/// One number per lane and axis.
type Axes<const W: usize> = [[f64; W]; 3];

/// Pull at the nodes of an element.
struct Pulls<const W: usize> {
    tension_n: [f64; W],
    tangent: Axes<W>,
    stretch_ratio: [f64; W],
}

/// Flow at the nodes of an element.
struct Stream<const W: usize> {
    velocity_m_s: Axes<W>,
    density_kg_m3: [f64; W],
    viscosity_pa_s: [f64; W],
}

impl<const N: usize> Grid<N> {
    /// Heights, loads and forces on element `e`, and its part in the sums.
    #[inline]
    pub(super) fn sweep_element(&mut self, problem: &Problem<'_, impl Flow>, e: usize, sums: &mut Sums) {
        match self.mesh.elements()[e].order {
            0..=4 => self.sweep_lanes::<4>(problem, e, sums),
            5..=8 => self.sweep_lanes::<8>(problem, e, sums),
            9..=12 => self.sweep_lanes::<12>(problem, e, sums),
            _ => self.sweep_lanes::<16>(problem, e, sums),
        }
    }

    fn sweep_lanes<const W: usize>(&mut self, problem: &Problem<'_, impl Flow>, e: usize, sums: &mut Sums) {
        let element = self.mesh.elements()[e];
        let rule = rule(element.order);
        let (force_n, slope_m) = self.gather::<W>(&element);
        let pulls = Pulls::new(&force_n, problem.compliance_per_n);
        let climb_m = std::array::from_fn(|i| slope_m[i] * pulls.stretch_ratio[i] * pulls.tangent[2][i]);
        let z_m = integral(rule, element.order, &climb_m, sums.position_m.z);
        let stream = self.stream::<W>(problem, &element, &z_m);
        let load = self.load(problem, &element, &pulls, &stream);
        let load_n: Axes<W> = load.map(|axis| {
            let part = std::array::from_fn(|i| slope_m[i] * axis[i]);
            integral(rule, element.order, &part, 0.0)
        });
        let from_n = sums.load_n;
        let renewed_n: Axes<W> =
            std::array::from_fn(|axis| std::array::from_fn(|i| -from_n[axis] - load_n[axis][i]));
        for i in 0..element.order {
            let node = element.first + i;
            self.next_n[node] = Vector3::new(renewed_n[0][i], renewed_n[1][i], renewed_n[2][i]);
        }
        let weight_m: [f64; W] = std::array::from_fn(|i| slope_m[i] * rule.weights[i]);
        sums.add(problem.compliance_per_n, &weight_m, &pulls, &load, &force_n, &renewed_n);
    }

    /// Forces and slopes of the nodes of an element; in the other lanes a unit force and no slope.
    fn gather<const W: usize>(&self, element: &Element) -> (Axes<W>, [f64; W]) {
        let mut force_n = [[0.0; W], [0.0; W], [1.0; W]];
        let mut slope_m = [0.0; W];
        let span_m = self.length_m * element.span_ratio;
        for (i, node) in element.nodes().enumerate().take(W) {
            for axis in 0..3 {
                force_n[axis][i] = self.force_n[node][axis];
            }
            slope_m[i] = span_m * self.share[node].1;
        }
        (force_n, slope_m)
    }

    /// Asks the flow at the nodes.
    fn stream<const W: usize>(
        &mut self,
        problem: &Problem<'_, impl Flow>,
        element: &Element,
        z_m: &[f64; W],
    ) -> Stream<W> {
        let mut stream =
            Stream { velocity_m_s: [[0.0; W]; 3], density_kg_m3: [0.0; W], viscosity_pa_s: [1.0; W] };
        for (i, node) in element.nodes().enumerate().take(W) {
            let sample = problem.flow.at(z_m[i]);
            self.z_m[node] = z_m[i];
            self.velocity_m_s[node] = sample.velocity_m_s;
            for axis in 0..3 {
                stream.velocity_m_s[axis][i] = sample.velocity_m_s[axis];
            }
            stream.density_kg_m3[i] = sample.density_kg_m3;
            stream.viscosity_pa_s[i] = sample.dynamic_viscosity_pa_s;
        }
        self.flow_evaluations_count += element.order as u32;
        stream
    }

    /// The load of [`super::load::load_n_per_m`] in all lanes.
    fn load<const W: usize>(
        &mut self,
        problem: &Problem<'_, impl Flow>,
        element: &Element,
        pulls: &Pulls<W>,
        stream: &Stream<W>,
    ) -> Axes<W> {
        let line = problem.line;
        let (v, t) = (&stream.velocity_m_s, &pulls.tangent);
        let along: [f64; W] =
            std::array::from_fn(|i| v[0][i] * t[0][i] + v[1][i] * t[1][i] + v[2][i] * t[2][i]);
        let across: Axes<W> =
            std::array::from_fn(|axis| std::array::from_fn(|i| v[axis][i] - along[i] * t[axis][i]));
        let speed: [f64; W] = std::array::from_fn(|i| {
            (across[0][i] * across[0][i] + across[1][i] * across[1][i] + across[2][i] * across[2][i]).sqrt()
        });
        let (density, viscosity) = (&stream.density_kg_m3, &stream.viscosity_pa_s);
        let factor: [f64; W] = match line.normal_drag.constant_coefficient() {
            Some(coefficient) => std::array::from_fn(|i| coefficient * speed[i]),
            None => std::array::from_fn(|i| {
                line.normal_drag.force_factor(speed[i], density[i], line.diameter_m, viscosity[i])
            }),
        };
        let scale: [f64; W] =
            std::array::from_fn(|i| 0.5 * line.diameter_m * density[i] * pulls.stretch_ratio[i]);
        let normal: [f64; W] = std::array::from_fn(|i| scale[i] * factor[i]);
        let friction: [f64; W] =
            std::array::from_fn(|i| scale[i] * line.tangential_coefficient * along[i].abs() * along[i]);
        let mut load: Axes<W> = std::array::from_fn(|axis| {
            std::array::from_fn(|i| normal[i] * across[axis][i] + friction[i] * t[axis][i])
        });
        for i in 0..W {
            load[2][i] -= weight_n_per_m(line, density[i]);
        }
        if let Some((share, easy)) = problem.blend {
            for (axis, values) in load.iter_mut().enumerate() {
                for value in values {
                    *value = share * *value + (1.0 - share) * easy[axis];
                }
            }
        }
        for (i, node) in element.nodes().enumerate().take(W) {
            self.load_n_per_m[node] = Vector3::new(load[0][i], load[1][i], load[2][i]);
        }
        load
    }
}

impl<const W: usize> Pulls<W> {
    fn new(force_n: &Axes<W>, compliance_per_n: f64) -> Self {
        let tension_n: [f64; W] = std::array::from_fn(|i| {
            let square =
                force_n[0][i] * force_n[0][i] + force_n[1][i] * force_n[1][i] + force_n[2][i] * force_n[2][i];
            square.sqrt().max(f64::MIN_POSITIVE)
        });
        let inverse: [f64; W] = std::array::from_fn(|i| 1.0 / tension_n[i]);
        Self {
            tension_n,
            tangent: std::array::from_fn(|axis| std::array::from_fn(|i| force_n[axis][i] * inverse[i])),
            stretch_ratio: std::array::from_fn(|i| 1.0 + compliance_per_n * tension_n[i]),
        }
    }
}

/// `from` plus the integral from the start of the element to each node.
#[inline]
fn integral<const W: usize>(rule: &Rule, order: usize, values: &[f64; W], from: f64) -> [f64; W] {
    let mut sum = [from; W];
    for j in 0..order.min(W) {
        let share = &rule.integral[j];
        for i in 0..W {
            sum[i] += share[i] * values[j];
        }
    }
    sum
}

/// Sum over the lanes, four side by side; the width is a multiple of four.
#[inline]
fn total<const W: usize>(value: impl Fn(usize) -> f64) -> f64 {
    let mut part = [0.0; 4];
    for four in 0..W / 4 {
        for k in 0..4 {
            part[k] += value(4 * four + k);
        }
    }
    (part[0] + part[2]) + (part[1] + part[3])
}

impl Sums {
    /// Adds an element: M = w [(1/T + 1/EA) I − ttᵀ/T] with the quadrature weights w.
    fn add<const W: usize>(
        &mut self,
        compliance_per_n: f64,
        weight_m: &[f64; W],
        pulls: &Pulls<W>,
        load: &Axes<W>,
        force_n: &Axes<W>,
        renewed_n: &Axes<W>,
    ) {
        let t = &pulls.tangent;
        let turn: [f64; W] = std::array::from_fn(|i| weight_m[i] / pulls.tension_n[i]);
        let all: [f64; W] = std::array::from_fn(|i| turn[i] + weight_m[i] * compliance_per_n);
        let trace = total::<W>(|i| all[i]);
        for a in 0..3 {
            for b in a..3 {
                let product = total::<W>(|i| turn[i] * t[a][i] * t[b][i]);
                let entry = if a == b { trace - product } else { -product };
                self.flexibility_m_per_n[(a, b)] += entry;
                if a != b {
                    self.flexibility_m_per_n[(b, a)] += entry;
                }
            }
        }
        let along: [f64; W] = std::array::from_fn(|i| {
            turn[i] * (t[0][i] * renewed_n[0][i] + t[1][i] * renewed_n[1][i] + t[2][i] * renewed_n[2][i])
        });
        for a in 0..3 {
            // M·(the force as it is) = w T/EA t = w (stretch − 1) t.
            let by_length = total::<W>(|i| all[i] * renewed_n[a][i] - along[i] * t[a][i]);
            let held = total::<W>(|i| weight_m[i] * compliance_per_n * force_n[a][i]);
            self.by_length_m[a] += by_length;
            self.shift_m[a] += by_length - held;
            self.position_m[a] += total::<W>(|i| weight_m[i] * pulls.stretch_ratio[i] * t[a][i]);
            self.load_n[a] += total::<W>(|i| weight_m[i] * load[a][i]);
        }
        self.stretched_m += total::<W>(|i| weight_m[i] * pulls.stretch_ratio[i]);
    }
}
