//! One way sized for the demand that it makes itself.

use beamstay_electrical::{Converter, ConverterSpec};
use beamstay_environment::flow::Flow;
use beamstay_numerics::{constants::STANDARD_GRAVITY_M_S2, minimum};
use nalgebra::Vector3;

use super::{CopperChoice, Kind, copper, own_parts};
use crate::{
    error::{At, PlanError},
    from_value,
    scenario::{Delivery, Scenario},
    system::{System, Way, craft::Acting, route::Route, surroundings::Stream},
};

/// Line paid out over height: some sag and lean.
const PAID_OUT_RATIO: f64 = 1.05;
/// Line on the drum beyond that.
const SPARE_RATIO: f64 = 1.1;
/// Rounds of the loop between mass and demand.
const ROUNDS: u32 = 60;
const TOLERANCE: f64 = 1e-9;
/// Greatest height looked at, m.
pub(super) const HIGHEST_M: f64 = 3000.0;
/// Ground converter of a copper line, output over input (judgement).
const GROUND_CONVERTER_RATIO: f64 = 0.93;
/// Charger of a battery on the ground, and the battery's own round trip (0.90, 2019 study of vertical take-off).
const BATTERY_WALL_RATIO: f64 = 0.9 * 0.9;
/// Share of the battery's energy that may be used, and energy per mass of a pack, Wh/kg.
const PACK_WH_PER_KG: f64 = 150.0;
/// Largest battery over everything else that is looked at.
const LARGEST_BATTERY: f64 = 6.0;

/// Parts where the plan has none: the shipped examples.
const FIBER_EXAMPLE: &str = include_str!("../../../../scenarios/breakwater-lookout.json");
const BEAM_EXAMPLE: &str = include_str!("../../../../scenarios/beam-hover.json");

/// Light of one kind: what a watt at the bus weighs and costs.
#[derive(Debug, Clone, Copy)]
struct LightParts {
    receiver_kg_per_w: f64,
    /// Bus over wall at its own height, m.
    efficiency_ratio: f64,
    at_height_m: f64,
    /// Loss of power per metre beyond that height, 1/m.
    loss_per_m: f64,
    /// Line, kg/m and m; zeros without one.
    line: (f64, f64),
}

/// Everything that sizing needs.
pub(super) struct Bench {
    scenario: Scenario,
    system: System,
    gust: Stream,
    pub bare_mass_kg: f64,
    fiber: LightParts,
    beam: LightParts,
}

/// A way sized.
#[derive(Debug, Clone)]
pub(super) struct Sized {
    pub demand_w: f64,
    pub wall_w: f64,
    pub source_mass_kg: f64,
    pub line_mass_kg: f64,
    pub line_diameter_m: f64,
    pub thrust_ratio: f64,
    pub thrust_reserve_ratio: f64,
    pub endurance_min: Option<f64>,
    pub copper: Option<CopperChoice>,
    /// Why it does not hold; empty if it does.
    pub reason: String,
}

/// The aircraft with a mass and a line.
struct Held {
    demand_w: f64,
    thrust_n: f64,
    reserve_ratio: f64,
}

impl Bench {
    pub fn new(scenario: &Scenario) -> Result<Self, PlanError> {
        let system = System::new(scenario)?;
        let z_m = scenario.station.height_m - system.surroundings.exit_height_m;
        let gust = system.surroundings.gust_at(z_m)?;
        let masses = system.masses;
        Ok(Self {
            bare_mass_kg: masses.empty_kg + masses.payload_kg,
            fiber: light_parts(scenario, Kind::Fiber, FIBER_EXAMPLE)?,
            beam: light_parts(scenario, Kind::FreeBeam, BEAM_EXAMPLE)?,
            scenario: scenario.clone(),
            system,
            gust,
        })
    }

    /// Where the parts of a way come from.
    pub fn parts(&self, kind: Kind) -> &'static str {
        match kind {
            Kind::Copper => "sized here: voltage, conductor and insulation",
            Kind::Battery => "sized here: the mass that stays up longest",
            kind if own_parts(&self.scenario, kind) => "those of the plan, scaled to the demand",
            _ => "those of a shipped example, scaled to the demand",
        }
    }

    /// The aircraft at a height with a mass on board and a line below it.
    fn hold(
        &self,
        height_m: f64,
        source_kg: f64,
        line: Option<(f64, f64)>,
        payload_w: f64,
    ) -> Result<Held, String> {
        let balance = |stream: &Stream| {
            let pull_n = line.map_or(Vector3::zeros(), |line| pull_n(stream, height_m, line));
            let acting = Acting {
                mass_kg: self.bare_mass_kg + source_kg,
                position_m: Vector3::new(0.0, 0.0, height_m),
                stream,
                tether_pull_n: pull_n,
            };
            self.system.craft.balance(&acting).map_err(|error| error.to_string())
        };
        let (mean, gust) = (balance(&self.system.surroundings.mean)?, balance(&self.gust)?);
        let reserve_ratio = gust.point.thrust_reserve_ratio.unwrap_or(f64::MAX);
        Ok(Held {
            demand_w: self.system.craft.demand_w(&mean) + payload_w,
            thrust_n: mean.point.thrust_n,
            reserve_ratio,
        })
    }

    /// A way sized for a height and a payload power.
    pub fn size(&self, kind: Kind, height_m: f64, payload_w: f64) -> Result<Sized, PlanError> {
        match kind {
            Kind::Battery => self.battery(height_m, payload_w),
            kind => self.fed(kind, height_m, payload_w),
        }
    }

    fn fed(&self, kind: Kind, height_m: f64, payload_w: f64) -> Result<Sized, PlanError> {
        let paid_out_m = PAID_OUT_RATIO * height_m;
        let mut sized = unsized_way();
        let mut demand_w = match self.hold(height_m, 0.0, None, payload_w) {
            Ok(held) => held.demand_w,
            Err(reason) => return Ok(Sized { reason, ..sized }),
        };
        let reserved = 1.0 + self.scenario.limits.power_reserve_ratio;
        for _ in 0..ROUNDS {
            let line = self.feed(kind, height_m, reserved * demand_w, &mut sized)?;
            let held = match self.hold(height_m, sized.source_mass_kg, line, payload_w) {
                Ok(held) => held,
                Err(reason) => return Ok(Sized { reason, ..sized }),
            };
            sized.line_mass_kg = line.map_or(0.0, |(kg_per_m, _)| kg_per_m * paid_out_m);
            sized.line_diameter_m = line.map_or(0.0, |(_, diameter_m)| diameter_m);
            sized.thrust_ratio = held.thrust_n / (self.bare_mass_kg * STANDARD_GRAVITY_M_S2);
            sized.thrust_reserve_ratio = held.reserve_ratio;
            sized.demand_w = held.demand_w;
            if !held.demand_w.is_finite() || held.reserve_ratio < 1.0 {
                break;
            }
            let change = (held.demand_w - demand_w).abs();
            demand_w = held.demand_w;
            if change <= TOLERANCE * demand_w {
                break;
            }
        }
        sized.wall_w = self.wall_w(kind, height_m, &sized);
        sized.reason = self.short_of_thrust(&sized);
        Ok(sized)
    }

    /// Source and line for a power at the bus: the line's mass per length and diameter.
    fn feed(
        &self,
        kind: Kind,
        height_m: f64,
        bus_w: f64,
        sized: &mut Sized,
    ) -> Result<Option<(f64, f64)>, PlanError> {
        match kind {
            Kind::Fiber => {
                sized.source_mass_kg = self.fiber.receiver_kg_per_w * bus_w;
                Ok(Some(self.fiber.line))
            }
            Kind::FreeBeam => {
                sized.source_mass_kg = self.beam.receiver_kg_per_w * bus_w;
                Ok(None)
            }
            _ => {
                let converter = converter(bus_w)?;
                sized.source_mass_kg = converter.mass_kg();
                let length_m = PAID_OUT_RATIO * SPARE_RATIO * height_m;
                let own_n = sized.copper.map_or(0.0, |c| c.mass_kg_per_m())
                    * PAID_OUT_RATIO
                    * height_m
                    * STANDARD_GRAVITY_M_S2;
                let pull_n = own_n + 20.0;
                let factored_n = self.scenario.limits.break_load_factor * pull_n;
                let choice = copper::line(length_m, converter.input_w(bus_w), factored_n)?;
                sized.copper = Some(choice);
                Ok(Some((choice.mass_kg_per_m(), choice.diameter_m)))
            }
        }
    }

    fn wall_w(&self, kind: Kind, height_m: f64, sized: &Sized) -> f64 {
        let light = |parts: &LightParts| {
            let beyond = (-parts.loss_per_m * (height_m - parts.at_height_m)).exp();
            sized.demand_w / (parts.efficiency_ratio * beyond).max(1e-9)
        };
        match (kind, &sized.copper) {
            (Kind::Fiber, _) => light(&self.fiber),
            (Kind::FreeBeam, _) => light(&self.beam),
            (Kind::Copper, Some(choice)) => {
                let input_w = converter(sized.demand_w).map_or(sized.demand_w, |c| c.input_w(sized.demand_w));
                (input_w + choice.loss_w) / GROUND_CONVERTER_RATIO
            }
            _ => 0.0,
        }
    }

    fn short_of_thrust(&self, sized: &Sized) -> String {
        let asked = self.scenario.limits.thrust_reserve_ratio;
        if sized.thrust_reserve_ratio < asked {
            format!("thrust reserve {:.2} in the gust where {asked:.2} is asked", sized.thrust_reserve_ratio)
        } else {
            String::new()
        }
    }

    /// The battery that stays up longest with the thrust reserve asked for.
    fn battery(&self, height_m: f64, payload_w: f64) -> Result<Sized, PlanError> {
        let usable_wh_per_kg = PACK_WH_PER_KG * (1.0 - self.scenario.limits.battery_untouched_ratio);
        let asked = self.scenario.limits.thrust_reserve_ratio;
        let minutes = |battery_kg: f64| match self.hold(height_m, battery_kg, None, payload_w) {
            Ok(held) if held.reserve_ratio >= asked => 60.0 * battery_kg * usable_wh_per_kg / held.demand_w,
            // Too heavy: the less so, the better.
            Ok(held) => held.reserve_ratio - asked - 1.0,
            Err(_) => -1e6,
        };
        let best = minimum::brent(|kg| -minutes(kg), 1e-3, LARGEST_BATTERY * self.bare_mass_kg, 1e-6);
        let mut sized = unsized_way();
        sized.source_mass_kg = best.x;
        match self.hold(height_m, best.x, None, payload_w) {
            Ok(held) => {
                sized.demand_w = held.demand_w;
                sized.thrust_ratio = held.thrust_n / (self.bare_mass_kg * STANDARD_GRAVITY_M_S2);
                sized.thrust_reserve_ratio = held.reserve_ratio;
                sized.wall_w = held.demand_w / BATTERY_WALL_RATIO;
                sized.endurance_min = Some((-best.f).max(0.0));
                // The optimum sits on the thrust reserve where the aircraft cannot lift its best battery.
                sized.reason =
                    if best.f < 0.0 { String::new() } else { "no battery leaves the thrust reserve".into() };
            }
            Err(reason) => sized.reason = reason,
        }
        Ok(sized)
    }

    /// Greatest height at which a way still holds, and what stops it.
    pub fn height_limit(&self, kind: Kind, payload_w: f64) -> Result<(Option<f64>, String), PlanError> {
        let reason_at = |height_m: f64| self.size(kind, height_m, payload_w).map(|sized| sized.reason);
        let (mut holds_m, mut fails_m) = (1.0, HIGHEST_M);
        let first = reason_at(holds_m)?;
        if !first.is_empty() {
            return Ok((None, first));
        }
        let last = reason_at(fails_m)?;
        if last.is_empty() {
            let beyond = match kind {
                Kind::FreeBeam => "; whether the beam can be pointed and kept small so far is not counted",
                _ => "",
            };
            return Ok((Some(fails_m), format!("nothing that weighs, up to {HIGHEST_M:.0} m{beyond}")));
        }
        let mut by = last;
        for _ in 0..24 {
            let middle_m = 0.5 * (holds_m + fails_m);
            let reason = reason_at(middle_m)?;
            if reason.is_empty() {
                holds_m = middle_m;
            } else {
                (fails_m, by) = (middle_m, reason);
            }
        }
        Ok((Some(holds_m), by))
    }
}

fn unsized_way() -> Sized {
    Sized {
        demand_w: 0.0,
        wall_w: 0.0,
        source_mass_kg: 0.0,
        line_mass_kg: 0.0,
        line_diameter_m: 0.0,
        thrust_ratio: 0.0,
        thrust_reserve_ratio: 0.0,
        endurance_min: None,
        copper: None,
        reason: String::new(),
    }
}

fn converter(bus_w: f64) -> Result<Converter, PlanError> {
    Converter::new(ConverterSpec::airborne(bus_w.clamp(1.0, 1e7))).at("/delivery/copper/converter")
}

/// Pull of a line that hangs straight down in a wind: its weight and half of its drag.
pub(super) fn pull_n(
    stream: &Stream,
    height_m: f64,
    (mass_kg_per_m, diameter_m): (f64, f64),
) -> Vector3<f64> {
    let length_m = PAID_OUT_RATIO * height_m;
    let (mut drag_n, pieces) = (Vector3::zeros(), 16);
    for i in 0..pieces {
        let z_m = height_m * (f64::from(i) + 0.5) / f64::from(pieces);
        let sample = stream.at(z_m);
        let speed_m_s = sample.velocity_m_s.norm();
        let fluid = stream.fluid_at(z_m);
        let reynolds = fluid.density_kg_m3 * speed_m_s * diameter_m / fluid.dynamic_viscosity_pa_s;
        // White's fit for a cylinder across the stream.
        let coefficient = 1.0 + 10.0 * reynolds.max(1.0).powf(-2.0 / 3.0);
        let per_m = 0.5 * fluid.density_kg_m3 * coefficient * diameter_m * speed_m_s;
        drag_n += per_m * height_m / f64::from(pieces) * sample.velocity_m_s;
    }
    0.5 * drag_n - Vector3::new(0.0, 0.0, mass_kg_per_m * length_m * STANDARD_GRAVITY_M_S2)
}

/// What a watt of light costs, from the plan or from a shipped example.
fn light_parts(scenario: &Scenario, kind: Kind, example: &str) -> Result<LightParts, PlanError> {
    let own = own_parts(scenario, kind);
    let scenario = if own {
        scenario.clone()
    } else {
        let value = serde_json::from_str(example).at("")?;
        from_value(&value).map_err(PlanError::Refused)?
    };
    let system = System::new(&scenario)?;
    let point = system.operate(&system.place(&scenario.station)?)?;
    let available_w = point.available_w.unwrap_or(0.0);
    let own_wall_w = (point.wall_w.unwrap_or(0.0) - system.housekeeping_w).max(1e-9);
    let demand_w = point.demand_w.unwrap_or(0.0);
    let loss_per_m = match (&scenario.delivery, &system.way) {
        (Delivery::Fiber(_), Way::Light(light)) => match &light.route {
            Route::Fiber { path, .. } => {
                let wavelength_m = light.route.wavelength_m();
                let db_per_km =
                    path.parts().fiber.attenuation_db_per_km(wavelength_m).at("/delivery/fiber")?;
                1e-3 * db_per_km * std::f64::consts::LN_10 / 10.0
            }
            Route::Beam { .. } => 0.0,
        },
        // Koschmieder: contrast falls to 2 % over the visibility; what a longer beam spills is not in it.
        (Delivery::FreeBeam(beam), _) => 3.912 / (1e3 * beam.visibility_km),
        _ => 0.0,
    };
    Ok(LightParts {
        receiver_kg_per_w: point.masses.receiver_kg / available_w.max(1e-9),
        efficiency_ratio: (demand_w / own_wall_w).clamp(1e-6, 1.0),
        at_height_m: scenario.station.height_m,
        loss_per_m,
        line: system.line.as_ref().map_or((0.0, 0.0), |l| (l.line.mass_kg_per_m, l.line.diameter_m)),
    })
}
