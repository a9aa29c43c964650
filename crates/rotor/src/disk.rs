//! A rotor known by its diameter and a few averages: the actuator disk with losses.

use beamstay_environment::fluid::Fluid;
use beamstay_numerics::domain::in_range;

use crate::{
    disk_area_m2,
    error::RotorError,
    momentum,
    operation::{Inflow, Operation, check, check_stream},
};

/// Growth of profile power with advance ratio, 1 + 4.65 μ² (Bennett's value, quoted by Leishman, *Principles of Helicopter
/// Aerodynamics*, 2nd ed., section 5.5.2; from memory). It holds the work of the in-plane drag of the blades too: a
/// vehicle model that adds that force to its drag would count it twice.
pub const PROFILE_GROWTH: f64 = 4.65;

/// Induced power over that of the ideal disk for a usual rotor (common practice, no source; Leishman uses 1.15).
pub const DEFAULT_INDUCED_FACTOR: f64 = 1.15;

/// Thrust coefficient T/(ρA(ΩR)²) that the advance ratio is computed with where no speed law is given: the middle of
/// 0.0086 to 0.0167 of the four small propellers of the UIUC database used in the tests.
pub const DEFAULT_THRUST_COEFFICIENT: f64 = 0.0125;

/// How the losses in the blade sections are known.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum ProfileLoss {
    /// By the figure of merit in hover: what is left after the induced share is profile power, growing as T^1.5.
    FigureOfMerit(f64),
    /// By a mean drag coefficient of the blade sections: P₀ = ρ A σ C_d (ΩR)³/8. Needs solidity and a speed law.
    MeanDragCoefficient(f64),
}

/// How the speed of rotation follows from the thrust.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum SpeedLaw {
    /// Fixed pitch: the thrust coefficient T/(ρA(ΩR)²) keeps its hover value.
    ThrustCoefficient(f64),
    /// Governed speed, collective pitch: tip speed, m/s.
    TipSpeedMS(f64),
}

/// Inputs of a [`DiskRotor`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DiskRotorInputs {
    /// Diameter, m, 0.01 to 50.
    pub diameter_m: f64,
    /// Induced power over that of the ideal disk, 1 to 2.
    pub induced_factor: f64,
    /// Losses in the blade sections.
    pub profile: ProfileLoss,
    /// Speed of rotation, if it is to be known.
    pub speed: Option<SpeedLaw>,
    /// Blade area ÷ disk area, 0.005 to 1, if known.
    pub solidity: Option<f64>,
    /// Largest tip Mach number, hover, 0.05 to 0.95.
    pub max_tip_mach: f64,
    /// Largest blade loading CT/σ, 0.01 to 0.3.
    pub max_blade_loading: f64,
}

impl DiskRotorInputs {
    /// A rotor known by diameter and figure of merit; the rest as usual: induced factor 1.15, tip Mach to 0.7, blade loading to
    /// 0.16 (common practice, no source).
    pub fn with_figure_of_merit(diameter_m: f64, figure_of_merit: f64) -> Self {
        Self {
            diameter_m,
            induced_factor: DEFAULT_INDUCED_FACTOR,
            profile: ProfileLoss::FigureOfMerit(figure_of_merit),
            speed: None,
            solidity: None,
            max_tip_mach: 0.7,
            max_blade_loading: 0.16,
        }
    }
}

/// An actuator disk with induced and profile losses.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DiskRotor {
    inputs: DiskRotorInputs,
    area_m2: f64,
}

impl DiskRotor {
    /// Checks the inputs.
    ///
    /// # Errors
    /// [`RotorError::OutOfRange`] for a number outside its range, a figure of merit above 1/`induced_factor` (the profile power
    /// would be negative), or a mean drag coefficient without solidity or speed law (reported as a value of 0 or NaN).
    ///
    /// # Examples
    /// ```
    /// use beamstay_rotor::{DiskRotor, DiskRotorInputs};
    /// assert!(DiskRotor::new(DiskRotorInputs::with_figure_of_merit(0.4, 0.7)).is_ok());
    /// assert!(DiskRotor::new(DiskRotorInputs::with_figure_of_merit(0.4, 0.9)).is_err());
    /// ```
    pub fn new(inputs: DiskRotorInputs) -> Result<Self, RotorError> {
        in_range("rotor diameter", "m", inputs.diameter_m, 0.01, 50.0)?;
        in_range("induced factor", "", inputs.induced_factor, 1.0, 2.0)?;
        in_range("tip Mach limit", "", inputs.max_tip_mach, 0.05, 0.95)?;
        in_range("blade loading limit", "", inputs.max_blade_loading, 0.01, 0.3)?;
        if let Some(solidity) = inputs.solidity {
            in_range("solidity", "", solidity, 0.005, 1.0)?;
        }
        match inputs.speed {
            Some(SpeedLaw::ThrustCoefficient(ct)) => in_range("thrust coefficient", "", ct, 1e-4, 0.1)?,
            Some(SpeedLaw::TipSpeedMS(tip)) => in_range("tip speed", "m/s", tip, 1.0, 400.0)?,
            None => 0.0,
        };
        match inputs.profile {
            ProfileLoss::FigureOfMerit(fm) => {
                in_range("figure of merit", "", fm, 0.05, 1.0 / inputs.induced_factor)?;
            }
            ProfileLoss::MeanDragCoefficient(cd) => {
                in_range("mean drag coefficient", "", cd, 0.001, 1.0)?;
                in_range("solidity", "", inputs.solidity.unwrap_or(0.0), 0.005, 1.0)?;
                if inputs.speed.is_none() {
                    in_range("tip speed", "m/s", 0.0, 1.0, 400.0)?;
                }
            }
        }
        let area_m2 = disk_area_m2(inputs.diameter_m);
        Ok(Self { inputs, area_m2 })
    }

    /// The inputs it was made from.
    pub fn inputs(&self) -> &DiskRotorInputs {
        &self.inputs
    }

    /// Disk area, m².
    pub fn area_m2(&self) -> f64 {
        self.area_m2
    }

    /// The rotor at one thrust in one stream: induced power κ·T·v_i ([`momentum::induced_flow`]), profile power grown by
    /// 1 + 4.65 μ², axial power T·V_c. Holds for advance ratios to about 0.5; above that the growth law is a guess.
    ///
    /// # Errors
    /// [`RotorError::OutOfRange`] if thrust, stream or fluid are outside what the model is meant for. A thrust above
    /// [`Self::max_thrust_n`] is answered, not refused.
    ///
    /// # Examples
    /// ```
    /// use beamstay_rotor::{DiskRotor, DiskRotorInputs, Inflow};
    /// use beamstay_environment::fluid::Fluid;
    /// let air = Fluid { temperature_k: 288.15, pressure_pa: 101_325.0, density_kg_m3: 1.225,
    ///     dynamic_viscosity_pa_s: 1.789e-5, thermal_conductivity_w_per_m_k: 0.0253,
    ///     specific_heat_j_per_kg_k: 1005.0, speed_of_sound_m_s: 340.3 };
    /// let rotor = DiskRotor::new(DiskRotorInputs::with_figure_of_merit(1.0, 0.7))?;
    /// let hover = rotor.operate(9.80665, Inflow::HOVER, &air)?;
    /// assert!((hover.shaft_w - 22.138_75 / 0.7).abs() < 1e-4);
    /// # Ok::<(), beamstay_rotor::RotorError>(())
    /// ```
    pub fn operate(&self, thrust_n: f64, inflow: Inflow, fluid: &Fluid) -> Result<Operation, RotorError> {
        check(thrust_n, inflow, fluid)?;
        let density_kg_m3 = fluid.density_kg_m3;
        let kappa = self.inputs.induced_factor;
        let hover_m_s = momentum::hover_induced_velocity_m_s(thrust_n, self.area_m2, density_kg_m3);
        // Without thrust there is no induced flow; the floor keeps the ratios finite.
        let scale_m_s = hover_m_s.max(1e-9);
        let flow =
            momentum::induced_flow(inflow.axial_m_s / scale_m_s, inflow.edgewise_m_s / scale_m_s, kappa);
        let induced_w = thrust_n * hover_m_s * flow.induced_ratio;
        let ideal_w = thrust_n * hover_m_s;

        let tip_speed_m_s = self.tip_speed_m_s(thrust_n, density_kg_m3);
        let assumed_tip_m_s = tip_speed_m_s.unwrap_or_else(|| {
            (thrust_n / (density_kg_m3 * self.area_m2 * DEFAULT_THRUST_COEFFICIENT)).sqrt()
        });
        let profile_w = self.profile_w(ideal_w, assumed_tip_m_s, inflow.edgewise_m_s, density_kg_m3);
        let axial_w = thrust_n * inflow.axial_m_s;
        let shaft_w = induced_w + profile_w + axial_w;

        let speed_rad_s = tip_speed_m_s.map(|tip| tip / (0.5 * self.inputs.diameter_m)).filter(|s| *s > 0.0);
        let spent_w = induced_w + profile_w;
        Ok(Operation {
            thrust_n,
            induced_velocity_m_s: hover_m_s * flow.induced_ratio / kappa,
            induced_w,
            profile_w,
            axial_w,
            shaft_w,
            torque_n_m: speed_rad_s.map(|speed| shaft_w / speed),
            speed_rad_s,
            figure_of_merit: if spent_w > 0.0 { ideal_w / spent_w } else { 0.0 },
            regime: flow.regime,
            tip_mach: tip_speed_m_s.map(|tip| (tip + inflow.edgewise_m_s) / fluid.speed_of_sound_m_s),
            blade_loading: self.blade_loading(thrust_n, tip_speed_m_s, density_kg_m3),
        })
    }

    /// Largest thrust, N, that keeps the tip Mach number (fixed pitch) or the blade loading (governed speed) within its limit;
    /// `None` if the inputs do not tell.
    pub fn max_thrust_n(&self, inflow: Inflow, fluid: &Fluid) -> Option<f64> {
        check_stream(inflow, fluid).ok()?;
        let disk = fluid.density_kg_m3 * self.area_m2;
        match self.inputs.speed? {
            SpeedLaw::ThrustCoefficient(ct) => {
                let tip = self.inputs.max_tip_mach * fluid.speed_of_sound_m_s - inflow.edgewise_m_s;
                Some(ct * disk * tip.max(0.0).powi(2))
            }
            SpeedLaw::TipSpeedMS(tip) => {
                self.inputs.solidity.map(|s| self.inputs.max_blade_loading * s * disk * tip * tip)
            }
        }
    }

    fn tip_speed_m_s(&self, thrust_n: f64, density_kg_m3: f64) -> Option<f64> {
        self.inputs.speed.map(|law| match law {
            SpeedLaw::ThrustCoefficient(ct) => (thrust_n / (density_kg_m3 * self.area_m2 * ct)).sqrt(),
            SpeedLaw::TipSpeedMS(tip) => tip,
        })
    }

    fn profile_w(&self, ideal_w: f64, tip_m_s: f64, edgewise_m_s: f64, density_kg_m3: f64) -> f64 {
        let hover_w = match (self.inputs.profile, self.inputs.solidity) {
            (ProfileLoss::FigureOfMerit(fm), _) => ideal_w * (1.0 / fm - self.inputs.induced_factor).max(0.0),
            (ProfileLoss::MeanDragCoefficient(cd), solidity) => {
                density_kg_m3 * self.area_m2 * solidity.unwrap_or(0.0) * cd * tip_m_s.powi(3) / 8.0
            }
        };
        // P₀ μ² = P₀ V²/(ΩR)²; without rotation there is no profile power to grow.
        if tip_m_s > 0.0 {
            hover_w * (1.0 + PROFILE_GROWTH * (edgewise_m_s / tip_m_s).powi(2))
        } else {
            hover_w
        }
    }

    fn blade_loading(&self, thrust_n: f64, tip_m_s: Option<f64>, density_kg_m3: f64) -> Option<f64> {
        let (solidity, tip) = (self.inputs.solidity?, tip_m_s?);
        (tip > 0.0).then(|| thrust_n / (density_kg_m3 * self.area_m2 * solidity * tip * tip))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixtures::AIR;

    fn governed() -> DiskRotorInputs {
        DiskRotorInputs {
            profile: ProfileLoss::MeanDragCoefficient(0.012),
            speed: Some(SpeedLaw::TipSpeedMS(120.0)),
            solidity: Some(0.05),
            ..DiskRotorInputs::with_figure_of_merit(0.8, 0.7)
        }
    }

    #[test]
    fn figure_of_merit_holds_at_every_thrust_and_density() {
        let rotor = DiskRotor::new(DiskRotorInputs::with_figure_of_merit(0.4, 0.65)).unwrap();
        for thrust_n in [0.1, 3.0, 200.0] {
            for density_kg_m3 in [0.7, 1.225] {
                let o = rotor.operate(thrust_n, Inflow::HOVER, &Fluid { density_kg_m3, ..AIR }).unwrap();
                assert!((o.figure_of_merit - 0.65).abs() < 1e-12);
            }
        }
    }

    #[test]
    fn no_thrust_leaves_the_blade_drag_of_a_governed_rotor() {
        let o = DiskRotor::new(governed()).unwrap().operate(0.0, Inflow::HOVER, &AIR).unwrap();
        let area_m2 = std::f64::consts::PI * 0.16;
        let expected_w = 1.225 * area_m2 * 0.05 * 0.012 * 120.0_f64.powi(3) / 8.0;
        assert!((o.shaft_w - expected_w).abs() < 1e-9 && o.induced_w == 0.0 && o.figure_of_merit == 0.0);
    }

    #[test]
    fn profile_power_grows_with_advance_ratio() {
        let rotor = DiskRotor::new(governed()).unwrap();
        let hover = rotor.operate(20.0, Inflow::HOVER, &AIR).unwrap();
        let edge = Inflow { axial_m_s: 0.0, edgewise_m_s: 24.0 };
        let o = rotor.operate(20.0, edge, &AIR).unwrap();
        assert!((o.profile_w / hover.profile_w - (1.0 + 4.65 * 0.04)).abs() < 1e-12);
        assert!((o.tip_mach.unwrap() - 144.0 / 340.3).abs() < 1e-12);
    }

    #[test]
    fn windmill_gives_power_to_the_shaft() {
        let rotor = DiskRotor::new(DiskRotorInputs::with_figure_of_merit(0.4, 0.8)).unwrap();
        let v = rotor.operate(10.0, Inflow::HOVER, &AIR).unwrap().induced_velocity_m_s;
        let o = rotor.operate(10.0, Inflow::axial(-4.0 * v), &AIR).unwrap();
        assert!(o.shaft_w < 0.0 && o.regime == crate::Regime::Windmill);
    }

    #[test]
    fn thrust_limits_follow_their_law() {
        let limit = DiskRotor::new(governed()).unwrap().max_thrust_n(Inflow::HOVER, &AIR).unwrap();
        let o = DiskRotor::new(governed()).unwrap().operate(limit, Inflow::HOVER, &AIR).unwrap();
        assert!((o.blade_loading.unwrap() - 0.16).abs() < 1e-12);
        let fixed = DiskRotorInputs {
            speed: Some(SpeedLaw::ThrustCoefficient(0.015)),
            ..DiskRotorInputs::with_figure_of_merit(0.4, 0.65)
        };
        let rotor = DiskRotor::new(fixed).unwrap();
        let limit = rotor.max_thrust_n(Inflow::HOVER, &AIR).unwrap();
        let o = rotor.operate(limit, Inflow::HOVER, &AIR).unwrap();
        assert!((o.tip_mach.unwrap() - 0.7).abs() < 1e-12);
        let free = DiskRotor::new(DiskRotorInputs::with_figure_of_merit(0.4, 0.65)).unwrap();
        assert_eq!(free.max_thrust_n(Inflow::HOVER, &AIR), None);
    }

    #[test]
    fn each_input_is_checked() {
        let good = governed();
        assert!(DiskRotor::new(good).is_ok());
        let bad = [
            DiskRotorInputs { diameter_m: 0.0, ..good },
            DiskRotorInputs { induced_factor: 0.99, ..good },
            DiskRotorInputs { max_tip_mach: 1.0, ..good },
            DiskRotorInputs { max_blade_loading: 0.0, ..good },
            DiskRotorInputs { solidity: Some(1.1), ..good },
            DiskRotorInputs { solidity: None, ..good },
            DiskRotorInputs { speed: None, ..good },
            DiskRotorInputs { speed: Some(SpeedLaw::TipSpeedMS(0.0)), ..good },
            DiskRotorInputs { speed: Some(SpeedLaw::ThrustCoefficient(0.2)), ..good },
            DiskRotorInputs { profile: ProfileLoss::MeanDragCoefficient(0.0), ..good },
            DiskRotorInputs { profile: ProfileLoss::FigureOfMerit(1.0 / 1.15 + 1e-9), ..good },
            DiskRotorInputs { profile: ProfileLoss::FigureOfMerit(f64::NAN), ..good },
        ];
        for inputs in bad {
            assert!(DiskRotor::new(inputs).is_err(), "{inputs:?}");
        }
        let rotor = DiskRotor::new(good).unwrap();
        for (thrust_n, axial_m_s, edgewise_m_s) in
            [(-1.0, 0.0, 0.0), (2e6, 0.0, 0.0), (1.0, 301.0, 0.0), (1.0, 0.0, -1.0), (f64::NAN, 0.0, 0.0)]
        {
            assert!(rotor.operate(thrust_n, Inflow { axial_m_s, edgewise_m_s }, &AIR).is_err());
        }
        assert!(rotor.operate(1.0, Inflow::HOVER, &Fluid { density_kg_m3: 0.0, ..AIR }).is_err());
    }

    #[test]
    fn an_edgewise_stream_takes_from_the_tip_speed_that_is_left() {
        let mut inputs = DiskRotorInputs::with_figure_of_merit(0.4, 0.7);
        inputs.speed = Some(SpeedLaw::ThrustCoefficient(0.0125));
        let rotor = DiskRotor::new(inputs).unwrap();
        let most_n =
            |edgewise_m_s: f64| rotor.max_thrust_n(Inflow { edgewise_m_s, ..Inflow::HOVER }, &AIR).unwrap();
        let tip_m_s = inputs.max_tip_mach * AIR.speed_of_sound_m_s;
        assert!((most_n(0.1 * tip_m_s) / most_n(0.0) - 0.81).abs() < 1e-12);
    }
}
