//! A rotor known by its blades: chord and pitch along the span, a section polar, blade-element momentum theory with
//! Prandtl's losses at tip and root.

mod element;
mod geometry;
mod section;
mod solve;
mod stream;

use std::f64::consts::FRAC_PI_2;

use beamstay_environment::fluid::Fluid;
use beamstay_numerics::domain::in_range;

use crate::{
    error::RotorError,
    momentum,
    operation::{Inflow, Operation, check, check_stream},
};

pub use geometry::BladeStation;
pub use section::{REFERENCE_REYNOLDS, Section};

use element::Start;
use geometry::Element;
use stream::{Blades, Warm};

/// Slowest turning that is looked at, over the fastest.
const IDLE_RATIO: f64 = 1e-3;
/// Streams weaker than this share of the hover induced velocity count as none, so that hover is the plain axial solution.
const STILL_RATIO: f64 = 1e-9;

/// How a rotor changes its thrust.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Control {
    /// Fixed pitch: by its speed, up to `max_speed_rad_s`, 1 to 1e5.
    Speed {
        /// Fastest turning, rad/s.
        max_speed_rad_s: f64,
    },
    /// Collective pitch at constant speed.
    Collective {
        /// Speed, rad/s, 1 to 1e5.
        speed_rad_s: f64,
        /// Least pitch added to the stations, rad, −π/2 or more.
        min_rad: f64,
        /// Largest pitch added to the stations, rad, to π/2.
        max_rad: f64,
    },
}

/// Inputs of a [`BladeRotor`].
#[derive(Debug, Clone, PartialEq)]
pub struct BladeRotorInputs {
    /// Diameter, m, 0.01 to 50.
    pub diameter_m: f64,
    /// Number of blades, 1 to 12.
    pub blade_count: u32,
    /// Chord and pitch from the first place with a section (0.01 to 0.8 of the radius) to the tip (0.9 to 1), 2 to 1000 rows.
    pub stations: Vec<BladeStation>,
    /// Polar of the section, one for the whole blade.
    pub section: Section,
    /// How the thrust is changed.
    pub control: Control,
    /// Largest Mach number of the advancing tip, 0.05 to 0.95.
    pub max_tip_mach: f64,
}

/// Rotor of blades, checked and cut into annuli.
///
/// Axial flow (hover and climb): each annulus is solved for its inflow angle; thrust and power are sums over them.
///
/// Any other stream: Glauert's theory (or the descent model of [`crate::vortex_ring`]) gives the mean induced velocity of the
/// thrust asked for. The induced velocities of the axial solution at the same speed are scaled to that mean, and the section forces
/// averaged over six places around the turn with the stream added. In the limit of no edgewise stream this is the axial solution.
/// Flapping, the fore-and-aft slope of the inflow and dynamic stall are left out. The work of the in-plane drag of the
/// blades is inside the profile power (as in [`crate::disk::PROFILE_GROWTH`]): do not add it to the drag of the vehicle.
#[derive(Debug, Clone, PartialEq)]
pub struct BladeRotor {
    inputs: BladeRotorInputs,
    elements: Vec<Element>,
    area_m2: f64,
    solidity: f64,
    /// Hover solutions of the annuli, thrust over density at 100 m/s tip speed and its growth with speed: first guesses.
    starts: Vec<Start>,
    thrust_at_100_m_s: f64,
    growth: f64,
    /// Pitch at 0.7 R from zero lift.
    lifting_pitch_rad: f64,
}

/// A rotor at a given speed: what a test stand would read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TestPoint {
    /// Thrust, N; negative beyond the zero-thrust advance ratio.
    pub thrust_n: f64,
    /// Shaft power, W; negative where the air drives the rotor.
    pub shaft_w: f64,
}

impl BladeRotor {
    /// Checks the inputs and cuts the blade into annuli.
    ///
    /// # Errors
    /// [`RotorError::OutOfRange`] for a number outside its range, [`RotorError::Table`] if the stations do not rise from hub to
    /// tip.
    pub fn new(inputs: BladeRotorInputs) -> Result<Self, RotorError> {
        in_range("rotor diameter", "m", inputs.diameter_m, 0.01, 50.0)?;
        in_range("blade count", "", f64::from(inputs.blade_count), 1.0, 12.0)?;
        in_range("tip Mach limit", "", inputs.max_tip_mach, 0.05, 0.95)?;
        in_range("blade station count", "", inputs.stations.len() as f64, 0.0, 1000.0)?;
        inputs.section.check()?;
        check_control(&inputs.control)?;
        let tip_radius_m = 0.5 * inputs.diameter_m;
        let elements =
            geometry::elements(&inputs.stations, inputs.blade_count, tip_radius_m, &inputs.section)?;
        let area_m2 = std::f64::consts::PI * tip_radius_m * tip_radius_m;
        let solidity = elements.iter().map(|e| e.chord_m * e.span_m).sum::<f64>() / area_m2;
        let starts = elements.iter().map(|e| element::blind_start(e, e.pitch_rad)).collect();
        let (_, pitch_rad) = geometry::interpolate(&inputs.stations, 0.7);
        let lifting_pitch_rad = pitch_rad - inputs.section.zero_lift_rad;
        let mut rotor = Self {
            inputs,
            elements,
            area_m2,
            solidity,
            starts,
            thrust_at_100_m_s: 1.0,
            growth: 2.0,
            lifting_pitch_rad,
        };
        rotor.learn_starts();
        Ok(rotor)
    }

    /// The inputs it was made from.
    pub fn inputs(&self) -> &BladeRotorInputs {
        &self.inputs
    }

    /// Disk area, m².
    pub fn area_m2(&self) -> f64 {
        self.area_m2
    }

    /// Blade area (from the first station to the tip) over disk area.
    pub fn solidity(&self) -> f64 {
        self.solidity
    }

    /// The rotor at one thrust in one stream, speed (or collective) solved to 1e-7 of thrust and power.
    ///
    /// A thrust below what the rotor makes at a thousandth of its top speed is answered with the powers of that speed.
    ///
    /// # Errors
    /// [`RotorError::OutOfRange`] if thrust, stream or fluid are outside what the model is meant for;
    /// [`RotorError::ThrustAboveLimit`] and [`RotorError::ThrustBelowLimit`] if the control does not reach the thrust.
    ///
    /// # Examples
    /// ```
    /// use beamstay_environment::fluid::Fluid;
    /// use beamstay_rotor::{BladeRotor, BladeRotorInputs, BladeStation, Control, Inflow, Section};
    /// let air = Fluid { temperature_k: 288.15, pressure_pa: 101_325.0, density_kg_m3: 1.225,
    ///     dynamic_viscosity_pa_s: 1.789e-5, thermal_conductivity_w_per_m_k: 0.0253,
    ///     specific_heat_j_per_kg_k: 1005.0, speed_of_sound_m_s: 340.3 };
    /// let station = |radius_ratio, chord_ratio, pitch_rad| BladeStation { radius_ratio, chord_ratio, pitch_rad };
    /// let rotor = BladeRotor::new(BladeRotorInputs {
    ///     diameter_m: 0.254,
    ///     blade_count: 2,
    ///     stations: vec![station(0.15, 0.109, 0.368), station(0.3, 0.176, 0.421), station(0.55, 0.226, 0.268),
    ///         station(0.8, 0.179, 0.163), station(1.0, 0.042, 0.088)],
    ///     section: Section::SMALL_PROPELLER,
    ///     control: Control::Speed { max_speed_rad_s: 800.0 },
    ///     max_tip_mach: 0.7,
    /// })?;
    /// let hover = rotor.operate(4.64, Inflow::HOVER, &air)?;
    /// // A propeller much like this one turned at 5147 rpm (539 rad/s) and took 40.9 W on the stand.
    /// assert!((hover.speed_rad_s.unwrap() / 539.0 - 1.0).abs() < 0.1);
    /// assert!((hover.shaft_w / 40.9 - 1.0).abs() < 0.15);
    /// # Ok::<(), beamstay_rotor::RotorError>(())
    /// ```
    pub fn operate(&self, thrust_n: f64, inflow: Inflow, fluid: &Fluid) -> Result<Operation, RotorError> {
        check(thrust_n, inflow, fluid)?;
        let hover_m_s =
            momentum::hover_induced_velocity_m_s(thrust_n, self.area_m2, fluid.density_kg_m3).max(1e-9);
        let ratio = |speed_m_s: f64| speed_m_s / hover_m_s;
        let flow = momentum::induced_flow(ratio(inflow.axial_m_s), ratio(inflow.edgewise_m_s), 1.0);
        let axial_flow = inflow.axial_m_s >= 0.0 && ratio(inflow.edgewise_m_s) <= STILL_RATIO;
        let induced_m_s = hover_m_s * flow.induced_ratio;
        let blades = self.blades(fluid, inflow, (!axial_flow).then_some(induced_m_s));
        let through_m_s = inflow.axial_m_s + induced_m_s;
        let (speed_rad_s, turning) = solve::reach(self, &blades, thrust_n, through_m_s)?;

        let axial_w = thrust_n * inflow.axial_m_s;
        let spent_w = turning.induced_w + turning.profile_w;
        let shaft_w = spent_w + axial_w;
        let tip_m_s = 0.5 * speed_rad_s * self.inputs.diameter_m;
        Ok(Operation {
            thrust_n,
            induced_velocity_m_s: induced_m_s,
            induced_w: turning.induced_w,
            profile_w: turning.profile_w,
            axial_w,
            shaft_w,
            torque_n_m: Some(shaft_w / speed_rad_s),
            speed_rad_s: Some(speed_rad_s),
            figure_of_merit: if spent_w > 0.0 { thrust_n * hover_m_s / spent_w } else { 0.0 },
            regime: flow.regime,
            tip_mach: Some((tip_m_s + inflow.edgewise_m_s) / fluid.speed_of_sound_m_s),
            blade_loading: Some(
                thrust_n / (fluid.density_kg_m3 * self.area_m2 * self.solidity * tip_m_s * tip_m_s),
            ),
        })
    }

    /// Thrust and shaft power at a given speed (rad/s, 0.01 to 1e5) and collective (rad, −π/2 to π/2; 0 for fixed pitch) in axial
    /// flow, `axial_m_s` ≥ 0: what a test stand or wind tunnel reads.
    ///
    /// # Errors
    /// [`RotorError::OutOfRange`].
    pub fn test_point(
        &self,
        speed_rad_s: f64,
        collective_rad: f64,
        axial_m_s: f64,
        fluid: &Fluid,
    ) -> Result<TestPoint, RotorError> {
        check_stream(Inflow::axial(axial_m_s), fluid)?;
        in_range("axial inflow", "m/s", axial_m_s, 0.0, crate::operation::MAX_STREAM_M_S)?;
        in_range("rotor speed", "rad/s", speed_rad_s, 0.01, 1e5)?;
        in_range("collective", "rad", collective_rad, -FRAC_PI_2, FRAC_PI_2)?;
        let blades = self.blades(fluid, Inflow::axial(axial_m_s), None);
        let turning = blades.turn(speed_rad_s, collective_rad, &mut Warm::default());
        Ok(TestPoint {
            thrust_n: turning.thrust_n,
            shaft_w: turning.induced_w + turning.profile_w + turning.thrust_n * axial_m_s,
        })
    }

    /// Largest thrust in this stream, N: at the fastest turning that the control and the tip Mach limit allow, or at the best
    /// collective. `None` if stream or fluid are outside the model.
    pub fn max_thrust_n(&self, inflow: Inflow, fluid: &Fluid) -> Option<f64> {
        check_stream(inflow, fluid).ok()?;
        solve::max_thrust_n(self, inflow, fluid)
    }

    fn blades<'a>(&'a self, fluid: &'a Fluid, inflow: Inflow, induced_m_s: Option<f64>) -> Blades<'a> {
        Blades {
            elements: &self.elements,
            starts: &self.starts,
            section: &self.inputs.section,
            disk_area_m2: self.area_m2,
            fluid,
            inflow,
            induced_m_s,
        }
    }

    /// Fastest turning that the tip Mach limit allows, rad/s.
    fn mach_limit_rad_s(&self, inflow: Inflow, fluid: &Fluid) -> f64 {
        let tip_m_s = self.inputs.max_tip_mach * fluid.speed_of_sound_m_s - inflow.edgewise_m_s;
        tip_m_s.max(0.0) / (0.5 * self.inputs.diameter_m)
    }

    /// Solves hover at two speeds in standard air, for the first guesses of later calls.
    fn learn_starts(&mut self) {
        let fluid = Fluid {
            temperature_k: 288.15,
            pressure_pa: 101_325.0,
            density_kg_m3: 1.225,
            dynamic_viscosity_pa_s: 1.79e-5,
            thermal_conductivity_w_per_m_k: 0.025,
            specific_heat_j_per_kg_k: 1005.0,
            speed_of_sound_m_s: 340.3,
        };
        let per_tip_speed = 2.0 / self.inputs.diameter_m;
        let (fast_rad_s, slow_rad_s) = (100.0 * per_tip_speed, 50.0 * per_tip_speed);
        let mut warm = Warm::default();
        let blades = self.blades(&fluid, Inflow::HOVER, None);
        let slow_n = blades.turn(slow_rad_s, 0.0, &mut warm).thrust_n;
        let fast_n = blades.turn(fast_rad_s, 0.0, &mut warm).thrust_n;
        let exponent = (fast_n / slow_n).log2();
        self.growth = if exponent.is_finite() { exponent.clamp(1.5, 3.0) } else { 2.0 };
        self.thrust_at_100_m_s = (fast_n / fluid.density_kg_m3).max(1e-9);
        for (start, solved) in self.starts.iter_mut().zip(warm.iter().flatten()) {
            *start = solved.start;
        }
    }

    /// First guess of the speed, rad/s: T = T₁₀₀ (ΩR/100 m/s)^m in hover, then the inflow angle at 0.7 R changed from that of hover to
    /// that of the stream, T ∝ Ω² (θ₀ − w/(0.7 ΩR)) with the pitch from zero lift θ₀ and the throughflow w.
    fn guess_rad_s(&self, thrust_n: f64, through_m_s: f64, density_kg_m3: f64) -> f64 {
        let load = thrust_n / (density_kg_m3 * self.thrust_at_100_m_s);
        let hover_rad_s = 200.0 / self.inputs.diameter_m * load.powf(1.0 / self.growth);
        let radius_m = 0.35 * self.inputs.diameter_m;
        let hover_m_s = momentum::hover_induced_velocity_m_s(thrust_n, self.area_m2, density_kg_m3);
        let lifting_rad = self.lifting_pitch_rad;
        let attack_rad = lifting_rad - hover_m_s / (radius_m * hover_rad_s);
        if attack_rad <= 0.02 || hover_rad_s <= 0.0 {
            return hover_rad_s;
        }
        let half = 0.5 * through_m_s / (radius_m * lifting_rad);
        half + (half * half + hover_rad_s * hover_rad_s * attack_rad / lifting_rad).sqrt()
    }

    /// Growth of thrust with the square of the speed at a throughflow that does not change with it, as an exponent.
    fn growth_at(&self, speed_rad_s: f64, fixed_through_m_s: f64) -> f64 {
        let angle_rad = fixed_through_m_s / (0.35 * self.inputs.diameter_m * speed_rad_s.max(1e-9));
        let attack_rad = self.lifting_pitch_rad - angle_rad;
        let extra = if attack_rad > 0.02 { 0.5 * angle_rad / attack_rad } else { 1.0 };
        (0.5 * self.growth + extra).clamp(0.7, 2.0)
    }
}

fn check_control(control: &Control) -> Result<(), RotorError> {
    match *control {
        Control::Speed { max_speed_rad_s } => {
            in_range("largest rotor speed", "rad/s", max_speed_rad_s, 1.0, 1e5)?;
        }
        Control::Collective { speed_rad_s, min_rad, max_rad } => {
            in_range("rotor speed", "rad/s", speed_rad_s, 1.0, 1e5)?;
            in_range("least collective", "rad", min_rad, -FRAC_PI_2, FRAC_PI_2)?;
            in_range("largest collective", "rad", max_rad, min_rad, FRAC_PI_2)?;
        }
    }
    Ok(())
}
