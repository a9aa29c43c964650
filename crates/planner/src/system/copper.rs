//! The copper line of a plan: converters at both ends, heat in the air and on the drum.

use beamstay_electrical::{
    Conductor, Converter, Cooling, DeliveryOperation, Line, LineSurroundings, Metal, Outcome, Stranding,
    Wall, WallRule, Winding, converter::ConverterSpec, insulation::Plastic, line::CopperDelivery,
};

use beamstay_numerics::constants::ZERO_CELSIUS_K;

use crate::{
    error::{At, PlanError},
    limit::{LimitCode, LimitRow},
    point::LinePoint,
    scenario,
    system::{converter, line::TetherLine},
};

/// A copper line.
#[derive(Debug, Clone, PartialEq)]
pub struct CopperWay {
    delivery: CopperDelivery,
    winding: Option<Winding>,
    ground_air_k: f64,
    elevation_m: f64,
}

/// A line with a demand on the bus.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fed {
    /// Most power at the bus, W.
    pub available_w: f64,
    /// The whole way at work; none if the demand cannot be served.
    pub operation: Option<DeliveryOperation>,
    /// Power asked of the line at the vehicle's end, W.
    pub load_w: f64,
    /// Most the line can carry, W.
    pub limit_w: f64,
}

impl CopperWay {
    pub(super) fn new(
        copper: &scenario::Copper,
        line: Option<&TetherLine>,
        ground_air_k: f64,
        elevation_m: f64,
    ) -> Result<Self, PlanError> {
        let here = "/delivery/copper";
        let conductor =
            Conductor::new(Metal::COPPER, 1e-6 * copper.conductor_area_mm2, Stranding::CONCENTRIC)
                .at(&format!("{here}/conductor_area_mm2"))?;
        let wall_m = WallRule::default().wall_m(copper.voltage_v);
        let wall = Wall::new(Plastic::ETFE, wall_m).at(&format!("{here}/voltage_v"))?;
        let ground = Converter::new(ConverterSpec {
            efficiency_at_rated_ratio: copper.ground_converter_efficiency_ratio,
            standby_w: 0.0,
            resistive_share_ratio: 0.0,
            ..ConverterSpec::airborne(copper.converter.rated_w)
        })
        .at(&format!("{here}/ground_converter_efficiency_ratio"))?;
        let winding = line.map(|line| copper_winding(line, copper.total_length_m)).transpose()?;
        Ok(Self {
            delivery: CopperDelivery {
                ground,
                line: Line::new(conductor, wall, copper.total_length_m, copper.voltage_v).at(here)?,
                airborne: converter(&copper.converter, &format!("{here}/converter"))?,
            },
            winding,
            ground_air_k,
            elevation_m,
        })
    }

    /// Mass of the converter on board, kg.
    pub fn airborne_mass_kg(&self) -> f64 {
        self.delivery.airborne.mass_kg()
    }

    /// Feeds `demand_w` at the bus with `paid_out_m` in a wind of `wind_m_s`.
    pub fn feed(&self, demand_w: f64, paid_out_m: f64, air_k: f64, wind_m_s: f64) -> Result<Fed, PlanError> {
        let here = "/delivery/copper";
        let mut air = Cooling::in_wind(air_k, wind_m_s.min(100.0)).at(here)?;
        air.elevation_m = self.elevation_m.max(0.0);
        let surroundings = LineSurroundings {
            paid_out_length_m: paid_out_m,
            air,
            drum_ambient_temp_k: self.ground_air_k,
            drum_rise_k_per_w: self.winding.as_ref().map_or(0.0, Winding::rise_k_per_w),
        };
        let outcome = self.delivery.operate(demand_w, &surroundings).at(here)?;
        let load_w = self.delivery.airborne.input_w(demand_w);
        let operation = outcome.served().copied();
        let limit_w = match outcome {
            Outcome::Served(served) => served.line.power_transfer_limit_w,
            Outcome::PowerTransfer { limit_w, .. } => limit_w,
            Outcome::Heat { current_a } => current_a * self.delivery.line.source_voltage_v(),
        };
        let most_w = self.delivery.airborne.output_w(limit_w);
        Ok(Fed {
            available_w: most_w.min(self.delivery.airborne.rated_output_w()),
            operation,
            load_w,
            limit_w,
        })
    }

    /// The line as it is handed out.
    pub fn point(fed: &Fed) -> Option<LinePoint> {
        let operation = fed.operation?;
        let line = operation.line;
        Some(LinePoint {
            loop_resistance_ohm: if line.current_a > 0.0 {
                line.loss_w() / (line.current_a * line.current_a)
            } else {
                0.0
            },
            current_a: line.current_a,
            voltage_at_vehicle_v: line.load_voltage_v,
            loss_w: line.loss_w(),
            most_power_w: fed.limit_w,
            hanging_temp_c: line.hanging_temp_k - ZERO_CELSIUS_K,
            drum_temp_c: line.drum_temp_k - ZERO_CELSIUS_K,
        })
    }

    /// Limits of the line.
    pub fn limits(&self, fed: &Fed, rows: &mut Vec<LimitRow>) {
        rows.push(LimitRow::at_most(LimitCode::LineTransfer, fed.load_w, fed.limit_w, "W"));
        let rated_w = self.delivery.airborne.rated_output_w();
        let bus_w = fed.operation.map_or(0.0, |o| o.bus_w);
        rows.push(LimitRow::at_most(LimitCode::ConverterPower, bus_w, rated_w, "W"));
        if let Some(operation) = fed.operation {
            let hottest_k = operation.line.hanging_temp_k.max(operation.line.drum_temp_k);
            let allowed_c = Plastic::ETFE.max_temp_k - ZERO_CELSIUS_K;
            rows.push(LimitRow::at_most(
                LimitCode::LineTemperature,
                hottest_k - ZERO_CELSIUS_K,
                allowed_c,
                "°C",
            ));
        }
    }
}

/// The drum with all the line on it: the hottest case.
fn copper_winding(line: &TetherLine, total_length_m: f64) -> Result<Winding, PlanError> {
    let wound = line.winding.wound(total_length_m, 0.0).at("/ground/drum")?;
    let core_radius_m = 5e-4 * line.drum.core_diameter_mm;
    Winding {
        core_radius_m,
        outer_radius_m: (0.5 * wound.outer_diameter_m).max(core_radius_m),
        width_m: 1e-3 * line.drum.width_mm,
        conductivity_w_per_m_k: line.drum.conductivity_w_per_m_k,
        surface_coefficient_w_per_m2_k: line.drum.heat_transfer_w_per_m2_k,
    }
    .check()
    .at("/ground/drum")
}
