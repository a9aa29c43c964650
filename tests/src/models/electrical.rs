//! Models of the area `electrical`.

use beamstay_electrical::{
    Battery, BatterySpec, Chiller, Conductor, ConductorClass, Convection, Converter, ConverterSpec, Cooling,
    DeratingTable, Generator, GroundLoad, GroundSupply, LineDemand, Metal, OpenCircuitCurve, Plastic,
    WallRule,
    chiller::{carnot_cop_ratio, cop_ratio_from_eer},
    conductor::{gauge_diameter_m, iec_60228_resistance_ohm_per_m},
    cooling::AirFilm,
    endurance::{BEST_BATTERY_MASS_RATIO, Hover, duty_cycle, peukert_time},
    generator::LITRE_PER_US_GALLON,
    insulation,
    load::constant_power_load,
    optimum::{best_voltage, line_at_voltage, priced_source, self_lift_limit_m, self_lifting_line},
};
use serde_json::Value;

use super::number;

/// See [`super::compute`].
pub(super) fn compute(model: &str, inputs: &Value) -> Option<f64> {
    let (part, output) = model.split_once('.')?;
    match part {
        "conductor" => conductor(output, inputs),
        "metal" => metal_ratio(output, inputs),
        "load" => load(output, inputs),
        "line_demand" => line_demand(output, inputs),
        "priced_source" => priced(output, inputs),
        "self_lift" => self_lift(output, inputs),
        "insulation" => insulation_fact(output, inputs),
        "cooling" => cooling(output, inputs),
        "drum" => drum(output, inputs),
        "converter" => converter(output, inputs),
        "cell" => cell(output, inputs),
        "battery" => battery(output, inputs),
        "hover" => hover(output, inputs),
        "duty_cycle" => duty(output, inputs),
        "peukert" => peukert(output, inputs),
        "generator" => generator(output, inputs),
        "chiller" => chiller(output, inputs),
        "supply" => supply(output, inputs),
        _ => None,
    }
}

fn kelvin(inputs: &Value, key: &str) -> Option<f64> {
    Some(number(inputs, key)? + 273.15)
}

fn metal(inputs: &Value) -> Option<Metal> {
    match inputs.get("metal").and_then(Value::as_str).unwrap_or("copper") {
        "copper" => Some(Metal::COPPER),
        "aluminium" => Some(Metal::ALUMINIUM),
        "copper_clad_aluminium_10" => Some(Metal::COPPER_CLAD_ALUMINIUM_10),
        "copper_clad_aluminium_15" => Some(Metal::COPPER_CLAD_ALUMINIUM_15),
        _ => None,
    }
}

fn gauge(inputs: &Value) -> Option<i32> {
    i32::try_from(inputs.get("gauge")?.as_i64()?).ok()
}

fn conductor(output: &str, inputs: &Value) -> Option<f64> {
    match output {
        "gauge_diameter_mm" => Some(gauge_diameter_m(gauge(inputs)?).ok()? * 1e3),
        "gauge_area_mm2" => Some(Conductor::gauge(metal(inputs)?, gauge(inputs)?).ok()?.area_m2() * 1e6),
        "gauge_mass_kg_per_km" => {
            Some(Conductor::gauge(metal(inputs)?, gauge(inputs)?).ok()?.mass_kg_per_m() * 1e3)
        }
        "gauge_resistance_ohm_per_km" => {
            let wire = Conductor::gauge(metal(inputs)?, gauge(inputs)?).ok()?;
            Some(wire.resistance_ohm_per_m(kelvin(inputs, "temperature_c")?) * 1e3)
        }
        "iec_60228_resistance_ohm_per_km" => {
            let (area_m2, class) = nominal(inputs)?;
            Some(iec_60228_resistance_ohm_per_m(area_m2, class)? * 1e3)
        }
        "iec_60228_over_ideal_ratio" => {
            let (area_m2, class) = nominal(inputs)?;
            let wire = Conductor::iec_60228(area_m2, class).ok()?;
            Some(wire.resistance_ohm_per_m(293.15) * area_m2 / Metal::COPPER.resistivity_ohm_m)
        }
        _ => None,
    }
}

fn nominal(inputs: &Value) -> Option<(f64, ConductorClass)> {
    let class = match inputs.get("class")?.as_i64()? {
        1 | 2 => ConductorClass::Fixed,
        5 | 6 => ConductorClass::Flexible,
        _ => return None,
    };
    Some((number(inputs, "nominal_area_mm2")? * 1e-6, class))
}

fn metal_ratio(output: &str, inputs: &Value) -> Option<f64> {
    let metal = metal(inputs)?;
    match output {
        "mass_ratio_to_copper" => Some(metal.mass_ratio_to(&Metal::COPPER)),
        "diameter_ratio_to_copper" => Some(metal.diameter_ratio_to(&Metal::COPPER)),
        "resistance_ratio" => Some(metal.resistance_ratio(kelvin(inputs, "temperature_c")?)),
        "conductivity_iacs_ratio" => Some(Metal::COPPER.resistivity_ohm_m / metal.resistivity_ohm_m),
        _ => None,
    }
}

fn load(output: &str, inputs: &Value) -> Option<f64> {
    let wire = Conductor::gauge(Metal::COPPER, gauge(inputs)?).ok()?;
    let resistance_ohm = 2.0 * number(inputs, "length_m")? * wire.resistance_ohm_per_m(293.15);
    if output == "loop_resistance_ohm" {
        return Some(resistance_ohm);
    }
    let load_w = number(inputs, "load_w").unwrap_or(0.0);
    let load = constant_power_load(number(inputs, "source_voltage_v")?, resistance_ohm, load_w);
    match output {
        "limit_w" => Some(load.limit_w),
        "current_a" => Some(load.stable?.current_a),
        "load_voltage_v" => Some(load.stable?.load_voltage_v),
        "loss_w" => Some(load.stable?.loss_w),
        "efficiency_ratio" => Some(load.stable?.efficiency_ratio()),
        "rejected_current_a" => Some(load.unstable?.current_a),
        "rejected_load_voltage_v" => Some(load.unstable?.load_voltage_v),
        "rejected_efficiency_ratio" => Some(load.unstable?.efficiency_ratio()),
        _ => None,
    }
}

fn demand(inputs: &Value) -> Option<LineDemand> {
    Some(LineDemand {
        length_m: number(inputs, "length_m")?,
        load_w: number(inputs, "load_w")?,
        metal: metal(inputs)?,
        conductor_temp_k: kelvin(inputs, "conductor_temperature_c")?,
    })
}

fn line_demand(output: &str, inputs: &Value) -> Option<f64> {
    let demand = demand(inputs)?;
    let drop_ratio = number(inputs, "drop_ratio")?;
    match output {
        "area_mm2" => Some(demand.area_m2(number(inputs, "source_voltage_v")?, drop_ratio).ok()? * 1e6),
        "metal_mass_kg" => {
            Some(demand.metal_mass_kg(demand.area_m2(number(inputs, "source_voltage_v")?, drop_ratio).ok()?))
        }
        _ => {
            let least_wall_m = number(inputs, "least_wall_mm")? * 1e-3;
            let rule = WallRule::new(insulation::ul_style_10390_stress_v_per_m(), least_wall_m).ok()?;
            let line = match number(inputs, "source_voltage_v") {
                Some(voltage_v) => line_at_voltage(&demand, voltage_v, drop_ratio, Plastic::ETFE, rule),
                None => best_voltage(&demand, drop_ratio, Plastic::ETFE, rule, 1e5),
            }
            .ok()?;
            match output {
                "insulated_area_mm2" => Some(line.area_m2 * 1e6),
                "wall_mm" => Some(line.wall_m * 1e3),
                "insulated_mass_kg" => Some(line.mass_kg()),
                "insulated_metal_mass_kg" => Some(line.metal_mass_kg),
                "best_voltage_v" => Some(line.source_voltage_v),
                _ => None,
            }
        }
    }
}

fn priced(output: &str, inputs: &Value) -> Option<f64> {
    let price = number(inputs, "price_kg_per_w")?;
    let best = priced_source(&demand(inputs)?, number(inputs, "source_voltage_v")?, price).ok()?;
    match output {
        "mass_scale_kg" => Some(best.mass_scale_kg),
        "price_ratio" => Some(best.price_ratio),
        "drop_ratio" => Some(best.drop_ratio),
        "area_mm2" => Some(best.area_m2 * 1e6),
        "metal_mass_kg" => Some(best.metal_mass_kg),
        "source_w" => Some(best.source_w),
        _ => None,
    }
}

fn self_lift(output: &str, inputs: &Value) -> Option<f64> {
    let (voltage_v, drop_ratio) = (number(inputs, "source_voltage_v")?, number(inputs, "drop_ratio")?);
    let lift = number(inputs, "lift_power_w_per_kg")?;
    if output == "limit_m" {
        return self_lift_limit_m(&Metal::COPPER, 293.15, voltage_v, drop_ratio, lift).ok();
    }
    let line = self_lifting_line(&demand(inputs)?, voltage_v, drop_ratio, lift).ok()??;
    match output {
        "gain_ratio" => Some(line.gain_ratio),
        "load_w" => Some(line.load_w),
        "area_mm2" => Some(line.area_m2 * 1e6),
        "metal_mass_kg" => Some(line.metal_mass_kg),
        _ => None,
    }
}

fn insulation_fact(output: &str, inputs: &Value) -> Option<f64> {
    let over_strength = |stress: f64| insulation::PTFE_SHORT_TIME_STRENGTH_V_PER_M / stress;
    match output {
        "ul_stress_kv_per_mm" => Some(insulation::ul_style_10390_stress_v_per_m() * 1e-6),
        "iec_stress_kv_per_mm" => Some(insulation::iec_60502_stress_v_per_m() * 1e-6),
        "ul_strength_margin_ratio" => Some(over_strength(insulation::ul_style_10390_stress_v_per_m())),
        "iec_strength_margin_ratio" => Some(over_strength(insulation::iec_60502_stress_v_per_m())),
        "wall_mm" => Some(WallRule::default().wall_m(number(inputs, "voltage_v")?) * 1e3),
        _ => None,
    }
}

/// The air of a case: temperatures in °C, everything else as named.
fn air(inputs: &Value) -> Option<Cooling> {
    let convection = match inputs.get("convection").and_then(Value::as_str).unwrap_or("ieee_738") {
        "ieee_738" => Convection::Ieee738,
        "churchill" => Convection::Churchill,
        _ => return None,
    };
    let sine = number(inputs, "sun_angle_deg").unwrap_or(90.0).to_radians().sin();
    let sun = number(inputs, "sun_w_per_m2").unwrap_or(0.0) * sine;
    Cooling {
        ambient_temp_k: kelvin(inputs, "air_temperature_c")?,
        wind_m_s: number(inputs, "wind_m_s")?,
        wind_angle_rad: number(inputs, "wind_angle_deg").unwrap_or(90.0).to_radians(),
        elevation_m: 0.0,
        emissivity_ratio: number(inputs, "emissivity_ratio")?,
        absorbed_sun_w_per_m2: sun * number(inputs, "absorptivity_ratio").unwrap_or(0.0),
        convection,
    }
    .check()
    .ok()
}

fn cooling(output: &str, inputs: &Value) -> Option<f64> {
    let air = air(inputs)?;
    let diameter_m = number(inputs, "diameter_mm")? * 1e-3;
    if output == "surface_temperature_c" {
        return Some(self_heated_k(&air, diameter_m, inputs)? - 273.15);
    }
    let surface_k = kelvin(inputs, "surface_temperature_c")?;
    let film = AirFilm::at(surface_k, air.ambient_temp_k, air.elevation_m);
    let heat_w_per_m = air.heat_w_per_m(diameter_m, surface_k);
    match output {
        "film_density_kg_m3" => Some(film.density_kg_m3),
        "film_viscosity_pa_s" => Some(film.dynamic_viscosity_pa_s),
        "film_conductivity_w_per_m_k" => Some(film.thermal_conductivity_w_per_m_k),
        "reynolds" => Some(air.reynolds(diameter_m, surface_k)),
        "forced_low_wind_w_per_m" => Some(air.forced_ieee_w_per_m(diameter_m, surface_k).0),
        "forced_high_wind_w_per_m" => Some(air.forced_ieee_w_per_m(diameter_m, surface_k).1),
        "free_w_per_m" => Some(air.free_ieee_w_per_m(diameter_m, surface_k)),
        "radiation_w_per_m" => Some(air.radiation_w_per_m(diameter_m, surface_k)),
        "sun_w_per_m" => Some(air.sun_w_per_m(diameter_m)),
        "heat_w_per_m" => Some(heat_w_per_m),
        "nusselt" => Some(air.nusselt_churchill(diameter_m, surface_k)),
        "rating_a" => Some((heat_w_per_m / number(inputs, "resistance_ohm_per_m")?).sqrt()),
        "gauge_rating_a" => {
            let wire = Conductor::gauge(Metal::COPPER, gauge(inputs)?).ok()?;
            Some((heat_w_per_m / wire.resistance_ohm_per_m(surface_k)).sqrt())
        }
        _ => None,
    }
}

/// Temperature of a wire that is warmed by its own current, wall left aside, found by repetition.
fn self_heated_k(air: &Cooling, diameter_m: f64, inputs: &Value) -> Option<f64> {
    let wire = Conductor::gauge(Metal::COPPER, gauge(inputs)?).ok()?;
    let current_a = number(inputs, "current_a")?;
    (0..100).try_fold(air.ambient_temp_k, |temp_k, _| {
        air.surface_temp_k(diameter_m, current_a * current_a * wire.resistance_ohm_per_m(temp_k))
    })
}

fn drum(output: &str, inputs: &Value) -> Option<f64> {
    let table = match output {
        "iec_60204_factor_ratio" => DeratingTable::Iec60204,
        "vde_0298_factor_ratio" => DeratingTable::Vde0298,
        _ => return None,
    };
    table.factor_ratio(u32::try_from(inputs.get("layers_count")?.as_u64()?).ok()?)
}

fn converter(output: &str, inputs: &Value) -> Option<f64> {
    let spec = ConverterSpec::airborne(number(inputs, "rated_output_w")?);
    let converter = Converter::new(spec).ok()?;
    match output {
        "airborne_efficiency_ratio" => Some(converter.efficiency_ratio(converter.rated_output_w())),
        "airborne_specific_power_kw_per_kg" => Some(converter.rated_output_w() / converter.mass_kg() * 1e-3),
        _ => None,
    }
}

fn cell(output: &str, inputs: &Value) -> Option<f64> {
    let curve = OpenCircuitCurve::polymer();
    match output {
        "open_circuit_v" => Some(curve.voltage_v(number(inputs, "state_of_charge")?)),
        "mean_open_circuit_v" => {
            let (from, to) = (number(inputs, "from")?, number(inputs, "to")?);
            Some(curve.integral_v(from, to) / (to - from))
        }
        "series_resistance_ohm" => {
            let spec = BatterySpec { cell_resistance_ohm: 0.07446, ..BatterySpec::polymer(1e4, 1) };
            Some(Battery::new(spec).ok()?.resistance_ohm(number(inputs, "state_of_charge")?))
        }
        _ => None,
    }
}

fn battery(output: &str, inputs: &Value) -> Option<f64> {
    let spec = BatterySpec {
        cell_capacity_coulomb: 3600.0 * number(inputs, "capacity_ah")?,
        cell_resistance_ohm: 1e-3 * number(inputs, "cell_resistance_mohm")?,
        low_charge_rise_ratio: 0.0,
        floor_ratio: number(inputs, "floor_ratio").unwrap_or(0.0),
        cutoff_v: number(inputs, "cutoff_v").unwrap_or(0.0),
        max_discharge_per_h: 200.0,
        ..BatterySpec::polymer(1e6, 6)
    };
    let battery = Battery::new(spec).ok()?;
    if output == "power_transfer_limit_w" {
        return Some(battery.terminal(number(inputs, "state_of_charge")?, 0.0).limit_w);
    }
    if let Some(surplus_w) = number(inputs, "surplus_w") {
        let start = number(inputs, "state_of_charge")?;
        let step = battery.step(start, -surplus_w, number(inputs, "duration_s")?).ok()?;
        return match output {
            "charged_state_of_charge" => Some(step.state_of_charge),
            "charged_taken_j" => Some(step.taken_j),
            _ => None,
        };
    }
    let discharge = battery.discharge(1.0, number(inputs, "power_w")?).ok()?;
    match output {
        "duration_min" => Some(discharge.duration_s / 60.0),
        "first_current_a" => Some(discharge.first_current_a),
        "last_current_a" => Some(discharge.last_current_a),
        "delivered_wh" => Some(discharge.delivered_j / 3600.0),
        "end_state_of_charge" => Some(discharge.end_state_of_charge),
        _ => None,
    }
}

fn hover(output: &str, inputs: &Value) -> Option<f64> {
    if output == "best_battery_mass_ratio" {
        return Some(BEST_BATTERY_MASS_RATIO);
    }
    let hover = Hover {
        disk_area_m2: number(inputs, "disk_area_m2")?,
        density_kg_m3: number(inputs, "density_kg_m3")?,
        efficiency_ratio: number(inputs, "efficiency_ratio")?,
    };
    let (other_kg, battery_kg) = (number(inputs, "other_mass_kg")?, number(inputs, "battery_mass_kg")?);
    match output {
        "power_w" => hover.power_w(other_kg + battery_kg).ok(),
        "battery_time_min" => {
            let usable_j_per_kg = 3600.0 * number(inputs, "usable_wh_per_kg")?;
            Some(hover.battery_time_s(other_kg, battery_kg, usable_j_per_kg).ok()? / 60.0)
        }
        _ => None,
    }
}

fn duty(output: &str, inputs: &Value) -> Option<f64> {
    let cycle = duty_cycle(
        number(inputs, "flight_w")?,
        number(inputs, "supply_w")?,
        number(inputs, "rest_w")?,
        number(inputs, "round_trip_ratio")?,
    )
    .ok()??;
    match output {
        "rest_ratio" => Some(cycle.rest_ratio),
        "duty_ratio" => Some(cycle.duty_ratio),
        "rest_min" => Some(cycle.rest_ratio * number(inputs, "flight_min")?),
        "battery_wh" => Some(cycle.battery_w * number(inputs, "flight_min")? / 60.0),
        _ => None,
    }
}

fn peukert(output: &str, inputs: &Value) -> Option<f64> {
    let rated_j = 3600.0 * number(inputs, "capacity_ah")? * number(inputs, "voltage_v")?;
    let time = peukert_time(rated_j, 3600.0, number(inputs, "exponent")?, number(inputs, "power_w")?).ok()?;
    match output {
        "law_h" => Some(time.law_s / 3600.0),
        "clamped_h" => Some(time.clamped_s / 3600.0),
        _ => None,
    }
}

fn generator(output: &str, inputs: &Value) -> Option<f64> {
    let set = match number(inputs, "no_load_gal_per_h") {
        Some(no_load) => Generator::new(
            1200.0,
            no_load * LITRE_PER_US_GALLON,
            number(inputs, "slope_gal_per_kwh")? * LITRE_PER_US_GALLON,
        ),
        None => Generator::new(
            50e3,
            number(inputs, "no_load_l_per_h_per_kw")? * 50.0,
            number(inputs, "slope_l_per_kwh")?,
        ),
    }
    .ok()?;
    let load_w = number(inputs, "load_kw")? * 1e3;
    match output {
        "fuel_l_per_h" => Some(set.fuel_l_per_h(load_w)),
        "specific_fuel_l_per_kwh" => set.specific_fuel_l_per_kwh(load_w),
        "no_load_share_ratio" => Some(set.fuel_l_per_h(0.0) / set.fuel_l_per_h(load_w)),
        _ => None,
    }
}

fn chiller(output: &str, inputs: &Value) -> Option<f64> {
    if output == "cop_of_eer_ratio" {
        return Some(cop_ratio_from_eer(number(inputs, "eer_btu_per_wh")?));
    }
    let (coolant_k, ambient_k) =
        (kelvin(inputs, "coolant_temperature_c")?, kelvin(inputs, "ambient_temperature_c")?);
    match output {
        "carnot_cop_ratio" => Some(carnot_cop_ratio(coolant_k, ambient_k)),
        "small_air_cooled_cop_ratio" => Some(Chiller::small_air_cooled().cop_ratio(coolant_k, ambient_k)),
        "large_air_cooled_cop_ratio" => Some(Chiller::large_air_cooled().cop_ratio(coolant_k, ambient_k)),
        "large_water_cooled_cop_ratio" => Some(Chiller::large_water_cooled().cop_ratio(coolant_k, ambient_k)),
        _ => None,
    }
}

fn supply(output: &str, inputs: &Value) -> Option<f64> {
    let light_w = number(inputs, "light_w")?;
    let load_w = light_w / number(inputs, "wall_plug_ratio")?;
    let supply = GroundSupply {
        driver: Converter::ideal(),
        chiller: Chiller::fixed(number(inputs, "cop_ratio")?).ok()?,
        chiller_cools_driver: true,
        housekeeping_w: 0.0,
    };
    let load = GroundLoad {
        load_w,
        coolant_heat_w: load_w - light_w,
        coolant_temp_k: 293.15,
        ambient_temp_k: 308.15,
    };
    let wall = supply.wall(&load).ok()?;
    match output {
        "wall_w" => Some(wall.wall_w),
        "chiller_w" => Some(wall.chiller_w),
        _ => None,
    }
}
