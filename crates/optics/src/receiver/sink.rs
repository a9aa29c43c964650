//! A fin heat sink in the wake of a rotor or in still air: heat out, temperature, mass. Straight fins after F. P. Incropera and others,
//! *Fundamentals of Heat and Mass Transfer*, ch. 3; between them P. Teertstra and others (2000) in a stream, A. Bar-Cohen and W. M. Rohsenow (1984)
//! without; areas and masses by geometry.

use super::heat;
use crate::OpticsError;
use beamstay_environment::fluid::Fluid;
use beamstay_numerics::constants::{STANDARD_GRAVITY_M_S2, STEFAN_BOLTZMANN_W_PER_M2_K4};
use beamstay_numerics::domain::in_range;

/// Hottest sink the search looks at, K; far beyond any metal.
const HOTTEST_K: f64 = 1e7;

/// Geometry and metal of a heat sink with straight fins along the air; [`FinSink::new`] checks it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FinSinkSpec {
    /// Width across the air, m; 1e-3 to 100.
    pub width_m: f64,
    /// Length along the air, m; 1e-3 to 100.
    pub length_m: f64,
    /// Thickness of the base, m; 1e-5 to 0.2.
    pub base_thickness_m: f64,
    /// Fins; 0 is a flat plate cooled on one face, otherwise 2 to 100,000, with a gap left between them.
    pub fins_count: u32,
    /// Height of a fin above the base, m; 1e-4 to 1. Unused without fins.
    pub fin_height_m: f64,
    /// Thickness of a fin, m; 1e-5 to 0.1. Unused without fins.
    pub fin_thickness_m: f64,
    /// Conductivity of the metal, W/(m·K); 0.1 to 3000.
    pub conductivity_w_per_m_k: f64,
    /// Density of the metal, kg/m³; 100 to 25,000.
    pub density_kg_m3: f64,
    /// Emissivity of its outer faces; 0 to 1.
    pub emissivity_ratio: f64,
    /// Speed between the fins over the speed that comes to them; 0 to 1. 1 for a ducted sink; air that can go
    /// round an open one does: 0.5 to 0.8 (common practice, no source).
    pub channel_speed_ratio: f64,
}

impl FinSinkSpec {
    /// A light aluminium sink: 1.5 mm base, fins 0.4 mm thick with gaps of about 3 mm, `fin_height_m` high, channel speed
    /// 0.7 of the wake, emissivity 0.85 (anodised); 6063 alloy with 200 W/(m·K) and 2700 kg/m³.
    pub fn aluminium(width_m: f64, length_m: f64, fin_height_m: f64) -> Self {
        let (fin_thickness_m, gap_m) = (0.0004, 0.003);
        let pitches = ((width_m - fin_thickness_m) / (fin_thickness_m + gap_m)).round();
        Self {
            width_m,
            length_m,
            base_thickness_m: 0.0015,
            fins_count: pitches.clamp(1.0, 99_999.0) as u32 + 1,
            fin_height_m,
            fin_thickness_m,
            conductivity_w_per_m_k: 200.0,
            density_kg_m3: 2700.0,
            emissivity_ratio: 0.85,
            channel_speed_ratio: 0.7,
        }
    }
}

/// A checked heat sink.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FinSink {
    spec: FinSinkSpec,
}

impl FinSink {
    /// Checks the geometry.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] outside the ranges of [`FinSinkSpec`] or if the fins leave no gap.
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::receiver::sink::{FinSink, FinSinkSpec};
    /// let sink = FinSink::new(FinSinkSpec::aluminium(0.10, 0.10, 0.02))?;
    /// assert!((sink.mass_kg() - 0.105).abs() < 0.002);
    /// # Ok::<(), beamstay_optics::OpticsError>(())
    /// ```
    pub fn new(spec: FinSinkSpec) -> Result<Self, OpticsError> {
        in_range("heat sink width", "m", spec.width_m, 1e-3, 100.0)?;
        in_range("heat sink length", "m", spec.length_m, 1e-3, 100.0)?;
        in_range("heat sink base thickness", "m", spec.base_thickness_m, 1e-5, 0.2)?;
        in_range("heat sink conductivity", "W/(m·K)", spec.conductivity_w_per_m_k, 0.1, 3000.0)?;
        in_range("heat sink density", "kg/m³", spec.density_kg_m3, 100.0, 25_000.0)?;
        in_range("heat sink emissivity", "", spec.emissivity_ratio, 0.0, 1.0)?;
        in_range("channel speed ratio", "", spec.channel_speed_ratio, 0.0, 1.0)?;
        if spec.fins_count > 0 {
            let fins = f64::from(spec.fins_count);
            in_range("fins", "", fins, 2.0, 1e5)?;
            in_range("fin height", "m", spec.fin_height_m, 1e-4, 1.0)?;
            in_range("fin thickness", "m", spec.fin_thickness_m, 1e-5, 0.1)?;
            let smallest_gap_m = 1e-5;
            let most_m = (spec.width_m - smallest_gap_m * (fins - 1.0)) / fins;
            in_range("fin thickness", "m", spec.fin_thickness_m, 1e-5, most_m)?;
        }
        Ok(Self { spec })
    }

    /// The values it was built from.
    pub fn spec(&self) -> &FinSinkSpec {
        &self.spec
    }

    /// Mass of base and fins, kg.
    pub fn mass_kg(&self) -> f64 {
        let s = &self.spec;
        let fins_m3 = f64::from(s.fins_count) * s.fin_height_m * s.fin_thickness_m * s.length_m;
        let fins_m3 = if s.fins_count == 0 { 0.0 } else { fins_m3 };
        s.density_kg_m3 * (s.width_m * s.length_m * s.base_thickness_m + fins_m3)
    }

    /// Gap between two fins, m; 0 for a flat plate.
    pub fn gap_m(&self) -> f64 {
        let s = &self.spec;
        if s.fins_count < 2 {
            return 0.0;
        }
        let fins = f64::from(s.fins_count);
        (s.width_m - fins * s.fin_thickness_m) / (fins - 1.0)
    }

    /// Area of all fin faces and of the base between them, m².
    pub fn wetted_areas_m2(&self) -> (f64, f64) {
        let s = &self.spec;
        if s.fins_count < 2 {
            return (0.0, s.width_m * s.length_m);
        }
        let fins = f64::from(s.fins_count);
        (2.0 * fins * s.fin_height_m * s.length_m, (fins - 1.0) * self.gap_m() * s.length_m)
    }

    /// Area that sees the surroundings, m²: the plane of the fin tips and the two outer fins. Inner fins see each other.
    fn radiating_m2(&self) -> f64 {
        let s = &self.spec;
        let sides_m2 = if s.fins_count == 0 { 0.0 } else { 2.0 * s.fin_height_m * s.length_m };
        s.width_m * s.length_m + sides_m2
    }

    /// Conductance of a surface coefficient with the fins it is on, W/K: `h·(η·A_fins + A_base)`.
    pub fn conductance_w_per_k(&self, coefficient_w_per_m2_k: f64) -> f64 {
        let s = &self.spec;
        let (fins_m2, base_m2) = self.wetted_areas_m2();
        let efficiency = if s.fins_count == 0 {
            0.0
        } else {
            heat::fin_efficiency_ratio(
                coefficient_w_per_m2_k,
                s.conductivity_w_per_m_k,
                s.fin_thickness_m,
                s.fin_height_m,
            )
        };
        coefficient_w_per_m2_k * (efficiency * fins_m2 + base_m2)
    }

    /// The sink in a fluid: everything that does not depend on its temperature is worked out once.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] if the speed is outside 0 to 200 m/s or a property of the fluid is not that of a gas or
    /// liquid: temperature 100 to 600 K, density 1e-6 to 3000 kg/m³, viscosity 1e-7 to 1 Pa·s, conductivity 1e-3 to
    /// 10 W/(m·K), specific heat 100 to 20,000 J/(kg·K).
    pub fn cooled_by(&self, fluid: &Fluid, air_speed_m_s: f64) -> Result<CooledSink, OpticsError> {
        in_range("cooling air speed", "m/s", air_speed_m_s, 0.0, 200.0)?;
        let t_k = in_range("fluid temperature", "K", fluid.temperature_k, 100.0, 600.0)?;
        let rho = in_range("fluid density", "kg/m³", fluid.density_kg_m3, 1e-6, 3000.0)?;
        let mu = in_range("fluid viscosity", "Pa·s", fluid.dynamic_viscosity_pa_s, 1e-7, 1.0)?;
        let k = in_range("fluid conductivity", "W/(m·K)", fluid.thermal_conductivity_w_per_m_k, 1e-3, 10.0)?;
        let cp =
            in_range("fluid specific heat", "J/(kg·K)", fluid.specific_heat_j_per_kg_k, 100.0, 20_000.0)?;
        let (nu_m2_s, prandtl) = (mu / rho, mu * cp / k);
        let s = &self.spec;
        let gap_m = self.gap_m();
        let forced_w_per_m2_k = if s.fins_count < 2 {
            let reynolds = air_speed_m_s * s.length_m / nu_m2_s;
            heat::plate_nusselt(reynolds, prandtl) * k / s.length_m
        } else {
            let reynolds = s.channel_speed_ratio * air_speed_m_s * gap_m / nu_m2_s * gap_m / s.length_m;
            heat::channel_nusselt(reynolds, prandtl) * k / gap_m
        };
        let mut cooled = CooledSink {
            sink: *self,
            ambient_k: t_k,
            forced_w_per_k: self.conductance_w_per_k(forced_w_per_m2_k),
            conductivity_w_per_m_k: k,
            prandtl_factor: heat::prandtl_factor(prandtl),
            rayleigh_per_m3_k: STANDARD_GRAVITY_M_S2 * prandtl / (nu_m2_s * nu_m2_s),
            // A liquid expands less than a gas, 1e-4 per kelvin in cold sea water and more in warm.
            liquid_expansion_per_k: if rho > 100.0 { Some(1e-4) } else { None },
            radiation_w_per_k4: s.emissivity_ratio * STEFAN_BOLTZMANN_W_PER_M2_K4 * self.radiating_m2(),
            forced_rules_below_k: t_k,
        };
        // Natural convection grows with the excess: where it is still the smaller one hot, it need not be worked out below.
        let hot_k = t_k + 300.0;
        if cooled.natural_w_per_k(hot_k) <= cooled.forced_w_per_k {
            cooled.forced_rules_below_k = hot_k;
        }
        Ok(cooled)
    }
}

/// A heat sink in its fluid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CooledSink {
    sink: FinSink,
    ambient_k: f64,
    forced_w_per_k: f64,
    conductivity_w_per_m_k: f64,
    prandtl_factor: f64,
    rayleigh_per_m3_k: f64,
    liquid_expansion_per_k: Option<f64>,
    radiation_w_per_k4: f64,
    /// Up to this base temperature the stream carries more than natural convection.
    forced_rules_below_k: f64,
}

impl CooledSink {
    /// Temperature of the fluid, K.
    pub fn ambient_k(&self) -> f64 {
        self.ambient_k
    }

    /// Conductance by the air stream alone, W/K.
    pub fn forced_w_per_k(&self) -> f64 {
        self.forced_w_per_k
    }

    /// Conductance by natural convection alone at base temperature `sink_k`, W/K, fins and length upright.
    pub fn natural_w_per_k(&self, sink_k: f64) -> f64 {
        let excess_k = sink_k - self.ambient_k;
        if excess_k.is_nan() || excess_k <= 0.0 {
            return 0.0;
        }
        let s = &self.sink.spec;
        let film_k = self.ambient_k + 0.5 * excess_k;
        let expansion_per_k = self.liquid_expansion_per_k.unwrap_or(1.0 / film_k);
        let per_m3 = self.rayleigh_per_m3_k * expansion_per_k * excess_k;
        let rayleigh = per_m3 * s.length_m.powi(3);
        let plate = heat::vertical_plate_natural_nusselt_with(rayleigh, self.prandtl_factor)
            * self.conductivity_w_per_m_k
            / s.length_m;
        let gap_m = self.sink.gap_m();
        let coefficient = if gap_m > 0.0 {
            let channel = per_m3 * gap_m.powi(3) * gap_m / s.length_m;
            plate.min(heat::vertical_channel_natural_nusselt(channel) * self.conductivity_w_per_m_k / gap_m)
        } else {
            plate
        };
        self.sink.conductance_w_per_k(coefficient)
    }

    /// Whether at base temperature `sink_k` it is known without looking that the stream carries more than natural convection.
    pub(super) fn is_forced(&self, sink_k: f64) -> bool {
        sink_k <= self.forced_rules_below_k
    }

    /// Conductance by convection at base temperature `sink_k`, W/K: the larger of forced and natural. They are not added, as
    /// the wake of a rotor blows down while warm air rises.
    pub fn convection_w_per_k(&self, sink_k: f64) -> f64 {
        if self.is_forced(sink_k) {
            return self.forced_w_per_k;
        }
        self.forced_w_per_k.max(self.natural_w_per_k(sink_k))
    }

    /// Heat that leaves at base temperature `sink_k`, W: convection and radiation to surroundings at the temperature of the
    /// fluid. The sun on the sink is not in it. 0 at and below the temperature of the fluid.
    pub fn dissipated_w(&self, sink_k: f64) -> f64 {
        self.dissipated_with_slope(sink_k).0
    }

    /// Heat that leaves, W, and its derivative by base temperature, W/K; natural convection is taken to grow with the power
    /// 5/4 of the excess, which is near enough for the steps of a search.
    pub(super) fn dissipated_with_slope(&self, sink_k: f64) -> (f64, f64) {
        let excess_k = (sink_k - self.ambient_k).max(0.0);
        let convection = self.convection_w_per_k(sink_k);
        let power = if convection > self.forced_w_per_k { 1.25 } else { 1.0 };
        let squares = sink_k * sink_k + self.ambient_k * self.ambient_k;
        let radiation = self.radiation_w_per_k4 * squares * (sink_k + self.ambient_k);
        let slope_w_per_k = power * convection + 4.0 * self.radiation_w_per_k4 * sink_k.powi(3);
        ((convection + radiation) * excess_k, slope_w_per_k)
    }

    /// Base temperature at which `heat_w` leaves, K; held at 1e7 K where even that is not enough.
    pub fn temperature_k(&self, heat_w: f64) -> f64 {
        if heat_w.is_nan() || heat_w <= 0.0 {
            return self.ambient_k;
        }
        let (mut lo, mut hi) = (self.ambient_k, HOTTEST_K);
        let forced_k = self.ambient_k + heat_w / self.forced_w_per_k.max(1e-300);
        let mut t_k = forced_k.min(self.by_radiation_k(heat_w));
        if t_k >= HOTTEST_K {
            if self.dissipated_w(HOTTEST_K) <= heat_w {
                return HOTTEST_K;
            }
            t_k = HOTTEST_K;
        }
        // A Newton step from above, then secants, in a bracket.
        let (mut before_k, mut before_w) = (t_k, 0.0);
        for round in 0..200 {
            let (shed_w, newton_w_per_k) = self.dissipated_with_slope(t_k);
            let secant_w_per_k = (shed_w - before_w) / (t_k - before_k);
            let slope_w_per_k = if round == 0 { newton_w_per_k } else { secant_w_per_k };
            (before_k, before_w) = (t_k, shed_w);
            if shed_w > heat_w {
                hi = t_k;
            } else {
                lo = t_k;
            }
            let newton_k = t_k - (shed_w - heat_w) / slope_w_per_k;
            let next_k = if newton_k >= lo && newton_k <= hi { newton_k } else { 0.5 * (lo + hi) };
            let step_k = (next_k - t_k).abs();
            t_k = next_k;
            if step_k <= 1e-7 * (t_k - self.ambient_k) + 2.0 * f64::EPSILON * t_k {
                break;
            }
        }
        t_k
    }

    /// Heat that leaves a source at `source_k` through `resistance_k_per_w` and this sink, W; none at and below the temperature of
    /// the fluid, or if it is not found.
    pub(super) fn shed_below_w(&self, source_k: f64, resistance_k_per_w: f64) -> Option<f64> {
        let mut sink_k = source_k;
        // Newton's method from above: what the base would have the source at rises faster the hotter it is.
        for _ in 0..40 {
            let (shed_w, slope_w_per_k) = self.dissipated_with_slope(sink_k);
            let over_k = sink_k + shed_w * resistance_k_per_w - source_k;
            if over_k.abs() <= 4.0 * f64::EPSILON * source_k {
                return (shed_w > 0.0).then_some(shed_w);
            }
            sink_k -= over_k / (1.0 + slope_w_per_k * resistance_k_per_w);
        }
        None
    }

    /// The temperature if only radiation were there, K.
    fn by_radiation_k(&self, heat_w: f64) -> f64 {
        if self.radiation_w_per_k4 > 0.0 {
            (self.ambient_k.powi(4) + heat_w / self.radiation_w_per_k4).sqrt().sqrt()
        } else {
            HOTTEST_K
        }
    }

    /// Excess of the base over the fluid per heat at `heat_w`, K/W; at zero heat that of an excess of one kelvin.
    pub fn resistance_k_per_w(&self, heat_w: f64) -> f64 {
        if heat_w > 0.0 {
            (self.temperature_k(heat_w) - self.ambient_k) / heat_w
        } else {
            1.0 / self.dissipated_w(self.ambient_k + 1.0).max(f64::MIN_POSITIVE)
        }
    }

    /// Resistance through the base from a source of `source_m2` under its middle, K/W ([`heat::spreading_k_per_w`]).
    pub fn spreading_k_per_w(&self, source_m2: f64, sink_k: f64) -> f64 {
        let s = &self.sink.spec;
        let base_m2 = s.width_m * s.length_m;
        let per_m2 = self.convection_w_per_k(sink_k) / base_m2;
        let radius_m = |area_m2: f64| (area_m2 / std::f64::consts::PI).sqrt();
        heat::spreading_k_per_w(
            radius_m(source_m2),
            radius_m(base_m2),
            s.base_thickness_m,
            s.conductivity_w_per_m_k,
            per_m2.max(1e-3),
        )
    }
}
