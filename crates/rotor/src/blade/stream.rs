//! A whole rotor at one speed: annuli summed in axial flow, averaged around the turn in any other stream.

use beamstay_environment::fluid::Fluid;

use crate::{momentum, operation::Inflow};

use super::{
    element::{self, Solved, Start, Stream},
    geometry::{ELEMENT_COUNT, Element},
    section::{Condition, Section},
};

/// Largest factor between the inflow of the axial solution and that of the stream asked for.
const LARGEST_INFLOW_SCALE: f64 = 20.0;

/// Sine of 60°.
const SQRT_3_HALVES: f64 = 0.866_025_403_784_438_6;

/// What a rotor does at one speed.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Turning {
    pub thrust_n: f64,
    pub induced_w: f64,
    pub profile_w: f64,
}

/// A speed of rotation, and what the Reynolds numbers of all annuli share at it.
#[derive(Debug, Clone, Copy)]
struct Pace {
    speed_rad_s: f64,
    reynolds_per_m2: f64,
    drag_growth: f64,
}

/// Solutions of the annuli, kept from one speed to the next.
pub(crate) type Warm = [Option<Solved>; ELEMENT_COUNT];

/// The blades in one fluid and stream.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Blades<'a> {
    pub elements: &'a [Element],
    /// Hover solutions of the annuli to start from, at collective 0.
    pub starts: &'a [Start],
    pub section: &'a Section,
    pub disk_area_m2: f64,
    pub fluid: &'a Fluid,
    pub inflow: Inflow,
    /// Momentum theory's induced velocity of the thrust asked for in this stream, m/s; `None` in axial flow, where the
    /// annuli find their own.
    pub induced_m_s: Option<f64>,
}

impl Blades<'_> {
    /// Thrust and powers at `speed_rad_s` > 0, the pitch raised by `collective_rad`.
    pub(crate) fn turn(&self, speed_rad_s: f64, collective_rad: f64, warm: &mut Warm) -> Turning {
        let axial_m_s = self.inflow.axial_m_s.max(0.0);
        let pace = self.pace(speed_rad_s);
        let mut sum = Turning::default();
        for ((element, start), kept) in self.elements.iter().zip(self.starts).zip(warm.iter_mut()) {
            let stream = self.stream(element, &pace, collective_rad, axial_m_s);
            let start = match kept {
                Some(solved) => solved.start,
                None => {
                    let lifting_rad = element.pitch_rad + collective_rad - self.section.zero_lift_rad;
                    element::climb_start(*start, lifting_rad, axial_m_s / stream.tangential_m_s)
                }
            };
            let solved = element::solve(element, self.section, &stream, start);
            let pressure = 0.5 * self.fluid.density_kg_m3 * element.chord_m * element.span_m;
            let force = pressure * solved.speed_m_s * solved.speed_m_s;
            sum.thrust_n += force * solved.normal_coefficient;
            sum.induced_w += force
                * (solved.normal_coefficient * solved.axial_induced_m_s
                    + solved.tangential_coefficient * solved.swirl_m_s);
            sum.profile_w += force * solved.drag_coefficient * solved.speed_m_s;
            *kept = Some(solved);
        }
        match self.induced_m_s {
            None => sum,
            Some(wanted_m_s) => {
                let scale = self.inflow_scale(sum.thrust_n, axial_m_s, wanted_m_s);
                self.turn_in_stream(&pace, collective_rad, scale, warm)
            }
        }
    }

    fn stream(&self, element: &Element, pace: &Pace, collective_rad: f64, axial_m_s: f64) -> Stream {
        let tangential_m_s = pace.speed_rad_s * element.radius_m;
        Stream {
            axial_m_s,
            tangential_m_s,
            pitch_rad: element.pitch_rad + collective_rad,
            condition: self.condition(element, pace),
        }
    }

    fn condition(&self, element: &Element, pace: &Pace) -> Condition {
        let mach = pace.speed_rad_s * element.radius_m / self.fluid.speed_of_sound_m_s;
        let reynolds = pace.reynolds_per_m2 * element.radius_m * element.chord_m;
        self.section.condition(element.drag_growth * pace.drag_growth, reynolds, mach)
    }

    fn pace(&self, speed_rad_s: f64) -> Pace {
        let reynolds_per_m2 = self.fluid.density_kg_m3 * speed_rad_s / self.fluid.dynamic_viscosity_pa_s;
        let exponent = self.section.drag_exponent;
        let drag_growth = if exponent > 0.0 { reynolds_per_m2.max(1e-9).powf(-exponent) } else { 1.0 };
        Pace { speed_rad_s, reynolds_per_m2, drag_growth }
    }

    /// Factor on the induced velocities of the axial solution that makes their mean that of the stream asked for.
    fn inflow_scale(&self, axial_thrust_n: f64, axial_m_s: f64, wanted_m_s: f64) -> f64 {
        let hover_m_s = momentum::hover_induced_velocity_m_s(
            axial_thrust_n.max(0.0),
            self.disk_area_m2,
            self.fluid.density_kg_m3,
        )
        .max(1e-6);
        let axial_induced_m_s = hover_m_s * momentum::climb_ratio(axial_m_s / hover_m_s);
        (wanted_m_s / axial_induced_m_s.max(1e-9)).min(LARGEST_INFLOW_SCALE)
    }

    /// Mean over a turn with the inflow of the axial solution, scaled. Uniform around the turn, so the fore and aft halves of the disk
    /// mirror each other and three sines stand for six places.
    fn turn_in_stream(&self, pace: &Pace, collective_rad: f64, scale: f64, warm: &Warm) -> Turning {
        let edgewise_m_s = self.inflow.edgewise_m_s;
        let mut sum = Turning::default();
        let sines = [0.0, SQRT_3_HALVES, -SQRT_3_HALVES];
        for (element, kept) in self.elements.iter().zip(warm) {
            let Some(axial) = kept else { continue };
            let condition = &axial.condition;
            let (induced_m_s, swirl_m_s) = (scale * axial.axial_induced_m_s, scale * axial.swirl_m_s);
            let up_m_s = self.inflow.axial_m_s + induced_m_s;
            let weight = 0.5 / 3.0 * self.fluid.density_kg_m3 * element.chord_m * element.span_m;
            for sine in sines {
                let along_m_s = pace.speed_rad_s * element.radius_m - swirl_m_s + edgewise_m_s * sine;
                let spanwise_squared = edgewise_m_s * edgewise_m_s * (1.0 - sine * sine);
                let speed_squared = up_m_s * up_m_s + along_m_s * along_m_s;
                let attack_rad = element.pitch_rad + collective_rad - up_m_s.atan2(along_m_s);
                let (lift, drag) =
                    condition.coefficients(self.section, wrapped(attack_rad), element.rotation_share);
                let speed_m_s = speed_squared.sqrt();
                let (lift_n, drag_n) = (weight * speed_m_s * lift, weight * speed_m_s * drag);
                let thrust_n = lift_n * along_m_s - drag_n * up_m_s;
                let torque_force_n = lift_n * up_m_s + drag_n * along_m_s;
                sum.thrust_n += thrust_n;
                sum.induced_w += thrust_n * induced_m_s + torque_force_n * swirl_m_s;
                let full_squared = speed_squared + spanwise_squared;
                sum.profile_w += weight * drag * full_squared * full_squared.sqrt();
            }
        }
        sum
    }
}

/// The same angle in −π to π.
fn wrapped(angle_rad: f64) -> f64 {
    use std::f64::consts::{PI, TAU};
    if angle_rad > PI {
        angle_rad - TAU
    } else if angle_rad < -PI {
        angle_rad + TAU
    } else {
        angle_rad
    }
}

#[cfg(test)]
mod tests {
    use super::wrapped;
    use std::f64::consts::PI;

    #[test]
    fn an_angle_is_wrapped_into_half_a_turn_either_way() {
        for turns in [-1.0, 0.0, 1.0] {
            for angle_rad in [-3.0, -1.0, 0.0, 0.5, 3.0] {
                let found = wrapped(angle_rad + turns * 2.0 * PI);
                assert!((found - angle_rad).abs() < 1e-14, "{angle_rad} and {turns} turns: {found}");
            }
        }
    }
}
