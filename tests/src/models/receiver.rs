//! Models of the area `receiver`.

use beamstay_electrical::{Converter, ConverterSpec, cooling};
use beamstay_environment::fluid::Fluid;
use beamstay_optics::{
    decibel,
    receiver::{
        BandEdge, Cell, CellSpec, Diode, DiodeSpec, Draw, FinSink, FinSinkSpec, Receiver, ReceiverSpec,
        Shares, UnevenArray, balance, heat, pie::pie_fractions,
    },
};
use serde_json::Value;
use std::f64::consts::PI;

use super::number;

/// See [`super::compute`].
pub(super) fn compute(model: &str, inputs: &Value) -> Option<f64> {
    let (part, output) = model.split_once('.')?;
    match part {
        "diode" => diode(output, inputs),
        "balance" => balanced(output, inputs),
        "band" => band_edge(output, inputs),
        "cell" => cell(output, inputs),
        "string" => string(output, inputs),
        "pie" => pie(output, inputs),
        "plate" => plate(output, inputs),
        "channel" => channel(output, inputs),
        "fin" => fin(output, inputs),
        "sink" => sink(output, inputs),
        "natural" => natural(output, inputs),
        "cylinder" => cylinder(output, inputs),
        "radiation" => radiation(output, inputs),
        "spreading" => spreading(output, inputs),
        "whole" => whole(output, inputs),
        _ => None,
    }
}

fn numbers(inputs: &Value, key: &str) -> Option<Vec<f64>> {
    inputs.get(key)?.as_array()?.iter().map(Value::as_f64).collect()
}

fn metres(inputs: &Value, key_mm: &str) -> Option<f64> {
    Some(1e-3 * number(inputs, key_mm)?)
}

fn kelvin(inputs: &Value, key_c: &str) -> Option<f64> {
    Some(273.15 + number(inputs, key_c)?)
}

fn diode_of(inputs: &Value, photocurrent_a: f64) -> Option<Diode> {
    Diode::new(DiodeSpec {
        photocurrent_a,
        saturation_current_a: number(inputs, "saturation_current_a")?,
        ideality: number(inputs, "ideality")?,
        series_resistance_ohm: number(inputs, "series_resistance_ohm")?,
        shunt_resistance_ohm: number(inputs, "shunt_resistance_ohm")?,
        cells_in_series: number(inputs, "cells_in_series").unwrap_or(1.0) as u32,
        temperature_k: number(inputs, "temperature_k")?,
    })
    .ok()
}

fn diode(output: &str, inputs: &Value) -> Option<f64> {
    let diode = diode_of(inputs, number(inputs, "photocurrent_a")?)?;
    let best = diode.maximum_power();
    match output {
        "short_circuit_a" => Some(diode.short_circuit_a()),
        "open_circuit_v" => Some(diode.open_circuit_v()),
        "maximum_power_w" => Some(best.power_w),
        "maximum_power_a" => Some(best.current_a),
        "maximum_power_v" => Some(best.voltage_v),
        "fill_factor_ratio" => Some(best.power_w / (diode.short_circuit_a() * diode.open_circuit_v())),
        "efficiency_ratio" => Some(best.power_w / number(inputs, "optical_power_w")?),
        _ => None,
    }
}

fn band(inputs: &Value) -> Option<BandEdge> {
    match inputs.get("band")?.as_str()? {
        "gallium_arsenide" => Some(BandEdge::GALLIUM_ARSENIDE),
        "silicon" => Some(BandEdge::SILICON),
        _ => None,
    }
}

fn balanced(output: &str, inputs: &Value) -> Option<f64> {
    let of = |key: &str| number(inputs, key);
    match output {
        "ideal_responsivity_a_per_w" => {
            return Some(balance::ideal_responsivity_a_per_w(1e-9 * of("wavelength_nm")?));
        }
        "radiative_saturation_a_per_cm2" => {
            return balance::radiative_saturation_a_per_m2(of("gap_ev")?, of("temperature_k")?)
                .ok()
                .map(|density| 1e-4 * density);
        }
        "open_circuit_slope_mv_per_k" => {
            let (voltage_v, gap_ev) = (of("open_circuit_v")?, of("gap_at_zero_ev")?);
            let slope = balance::open_circuit_slope_v_per_k(voltage_v, gap_ev, 3.0, of("temperature_k")?);
            return Some(1e3 * slope);
        }
        "ideal_fill_factor_ratio" => {
            let (voltage_v, ideality) = (of("open_circuit_v")?, of("ideality")?);
            return Some(balance::ideal_fill_factor_ratio(voltage_v, ideality, of("temperature_k")?));
        }
        _ => {}
    }
    let temperature_k = of("temperature_k")?;
    let gap_ev = match of("gap_ev") {
        Some(gap_ev) => gap_ev,
        None => band(inputs)?.gap_ev(temperature_k),
    };
    let (wavelength_m, irradiance) = (1e-9 * of("wavelength_nm")?, 1e4 * of("irradiance_w_per_cm2")?);
    let at = |gap_ev: f64, temperature_k: f64| {
        let emission = of("emission_ratio")?;
        balance::limit_performance(gap_ev, temperature_k, wavelength_m, irradiance, emission).ok()
    };
    let limit = at(gap_ev, temperature_k)?;
    // Changes from this temperature to a warmer one.
    if let Some(to_k) = of("to_temperature_k") {
        let (warm, rise_k) = (at(band(inputs)?.gap_ev(to_k), to_k)?, to_k - temperature_k);
        return match output {
            "open_circuit_slope_mv_per_k_between" => {
                Some(1e3 * (warm.open_circuit_v - limit.open_circuit_v) / rise_k)
            }
            "efficiency_slope_percent_per_k" => {
                Some(100.0 * (warm.efficiency_ratio / limit.efficiency_ratio - 1.0) / rise_k)
            }
            _ => None,
        };
    }
    match output {
        "efficiency_ratio" => Some(limit.efficiency_ratio),
        "open_circuit_v" => Some(limit.open_circuit_v),
        "fill_factor_ratio" => Some(limit.fill_factor_ratio),
        _ => None,
    }
}

fn band_edge(output: &str, inputs: &Value) -> Option<f64> {
    let gap_ev = band(inputs)?.gap_ev(kelvin(inputs, "temperature_c")?);
    match output {
        "edge_nm" => Some(1e9 * balance::photon_energy_ev(1.0) / gap_ev),
        "photon_over_gap_ratio" => {
            Some(balance::photon_energy_ev(1e-9 * number(inputs, "wavelength_nm")?) / gap_ev)
        }
        _ => None,
    }
}

fn cell(output: &str, inputs: &Value) -> Option<f64> {
    let cell = Cell::new(CellSpec { shunt_ohm_m2: 1e12, ..CellSpec::gallium_arsenide(1e-4) }).ok()?;
    let current_a = number(inputs, "current_a_per_cm2").unwrap_or(1.0);
    let open_v = |temperature_k: f64| {
        let entering_w = current_a / cell.responsivity_a_per_w(780e-9, temperature_k);
        Some(cell.diode(entering_w, 780e-9, temperature_k).ok()?.open_circuit_v())
    };
    let from_k = number(inputs, "temperature_k")?;
    match output {
        "open_circuit_v" => open_v(from_k),
        "efficiency_ratio" => {
            // The cell with its own resistances, all light on it counted.
            let irradiance_w_per_m2 = 1e4 * number(inputs, "irradiance_w_per_cm2")?;
            let cell = Cell::new(CellSpec::gallium_arsenide(1e-4)).ok()?;
            let lit = cell.diode(1e-4 * irradiance_w_per_m2, 1e-9 * number(inputs, "wavelength_nm")?, from_k);
            Some(lit.ok()?.maximum_power().power_w / (1e-4 * irradiance_w_per_m2))
        }
        "open_circuit_slope_mv_per_k" => {
            let to_k = number(inputs, "to_temperature_k")?;
            Some(1e3 * (open_v(to_k)? - open_v(from_k)?) / (to_k - from_k))
        }
        _ => None,
    }
}

fn string(output: &str, inputs: &Value) -> Option<f64> {
    let photocurrents_a = numbers(inputs, "photocurrents_a")?;
    let cell = diode_of(inputs, photocurrents_a.iter().sum())?;
    let shares = Shares::in_proportion(&photocurrents_a).ok()?;
    let array = UnevenArray::new(&cell, &shares, photocurrents_a.len(), None).ok()?;
    let best = array.maximum_power();
    let equal = || {
        let equal_a = numbers(inputs, "equal_photocurrents_a")?;
        let cell = diode_of(inputs, equal_a.iter().sum())?;
        let shares = Shares::in_proportion(&equal_a).ok()?;
        let array = UnevenArray::new(&cell, &shares, equal_a.len(), None).ok()?;
        Some((array.maximum_power().power_w, equal_a[0]))
    };
    match output {
        "weakest_over_mean_ratio" => Some(shares.weakest_ratio() * photocurrents_a.len() as f64),
        "open_circuit_v" => Some(array.open_circuit().voltage_v),
        "maximum_power_a" => Some(best.current_a),
        "maximum_power_v" => Some(best.voltage_v),
        "maximum_power_w" => Some(best.power_w),
        "over_equal_ratio" => Some(best.power_w / equal()?.0),
        "weakest_rule_w" => {
            let (equal_w, equal_a) = equal()?;
            Some(equal_w * photocurrents_a.iter().copied().fold(f64::INFINITY, f64::min) / equal_a)
        }
        _ => None,
    }
}

fn pie(output: &str, inputs: &Value) -> Option<f64> {
    let sectors = number(inputs, "sectors_count")?;
    let fractions = pie_fractions(
        sectors as usize,
        metres(inputs, "cell_radius_mm")?,
        metres(inputs, "spot_radius_mm")?,
        metres(inputs, "offset_mm")?,
    )
    .ok()?;
    let weakest = fractions[..sectors as usize].iter().copied().fold(f64::INFINITY, f64::min);
    (output == "weakest_times_count_ratio").then_some(sectors * weakest)
}

fn fluid(inputs: &Value) -> Option<Fluid> {
    Some(Fluid {
        temperature_k: kelvin(inputs, "air_temperature_c").unwrap_or(303.15),
        pressure_pa: 101_325.0,
        density_kg_m3: number(inputs, "density_kg_m3")?,
        dynamic_viscosity_pa_s: number(inputs, "viscosity_pa_s")?,
        thermal_conductivity_w_per_m_k: number(inputs, "conductivity_w_per_m_k")?,
        specific_heat_j_per_kg_k: number(inputs, "specific_heat_j_per_kg_k")?,
        speed_of_sound_m_s: 343.0,
    })
}

fn prandtl(fluid: &Fluid) -> f64 {
    fluid.dynamic_viscosity_pa_s * fluid.specific_heat_j_per_kg_k / fluid.thermal_conductivity_w_per_m_k
}

fn reynolds(fluid: &Fluid, speed_m_s: f64, length_m: f64) -> f64 {
    speed_m_s * length_m * fluid.density_kg_m3 / fluid.dynamic_viscosity_pa_s
}

fn plate(output: &str, inputs: &Value) -> Option<f64> {
    let fluid = fluid(inputs)?;
    let length_m = number(inputs, "length_m")?;
    let reynolds = reynolds(&fluid, number(inputs, "speed_m_s")?, length_m);
    let nusselt = heat::plate_nusselt(reynolds, prandtl(&fluid));
    let coefficient = nusselt * fluid.thermal_conductivity_w_per_m_k / length_m;
    match output {
        "reynolds" => Some(reynolds),
        "nusselt" => Some(nusselt),
        "turbulent_nusselt" => Some(heat::plate_turbulent_nusselt(reynolds, prandtl(&fluid))),
        "coefficient_w_per_m2_k" => Some(coefficient),
        "heat_w_per_m" => Some(coefficient * length_m * number(inputs, "excess_k")?),
        _ => None,
    }
}

fn channel(output: &str, inputs: &Value) -> Option<f64> {
    let fluid = fluid(inputs)?;
    let (gap_m, length_m) = (metres(inputs, "gap_mm")?, metres(inputs, "length_mm")?);
    let reynolds = reynolds(&fluid, number(inputs, "speed_m_s")?, gap_m) * gap_m / length_m;
    match output {
        "reynolds" => Some(reynolds),
        "nusselt" => Some(heat::channel_nusselt(reynolds, prandtl(&fluid))),
        _ => None,
    }
}

fn fin(output: &str, inputs: &Value) -> Option<f64> {
    let ratio = heat::fin_efficiency_ratio(
        number(inputs, "coefficient_w_per_m2_k")?,
        number(inputs, "conductivity_w_per_m_k")?,
        metres(inputs, "thickness_mm")?,
        metres(inputs, "height_mm")?,
    );
    (output == "efficiency_ratio").then_some(ratio)
}

/// A heat sink and its ratio of conductance: what is not given out by the sink itself follows from its conductance.
fn sink(output: &str, inputs: &Value) -> Option<f64> {
    let fluid = fluid(inputs)?;
    let fins = number(inputs, "fins_count")?;
    let (gap_m, thickness_m) = (metres(inputs, "gap_mm")?, metres(inputs, "thickness_mm")?);
    let sink = FinSink::new(FinSinkSpec {
        width_m: fins * thickness_m + (fins - 1.0) * gap_m,
        length_m: metres(inputs, "length_mm")?,
        base_thickness_m: metres(inputs, "base_thickness_mm")?,
        fins_count: fins as u32,
        fin_height_m: metres(inputs, "height_mm")?,
        fin_thickness_m: thickness_m,
        conductivity_w_per_m_k: number(inputs, "conductivity_metal_w_per_m_k")?,
        density_kg_m3: 2700.0,
        emissivity_ratio: number(inputs, "emissivity_ratio")?,
        channel_speed_ratio: 1.0,
    })
    .ok()?;
    let forced_w_per_k = sink.cooled_by(&fluid, number(inputs, "speed_m_s")?).ok()?.forced_w_per_k();
    let (fins_m2, base_m2) = sink.wetted_areas_m2();
    let reynolds = reynolds(&fluid, number(inputs, "speed_m_s")?, gap_m) * gap_m / sink.spec().length_m;
    let nusselt = heat::channel_nusselt(reynolds, prandtl(&fluid));
    let coefficient = nusselt * fluid.thermal_conductivity_w_per_m_k / gap_m;
    match output {
        "fin_area_m2" => Some(fins_m2),
        "base_area_m2" => Some(base_m2),
        "forced_k_per_w" => Some(1.0 / forced_w_per_k),
        "fin_efficiency_ratio" => Some((forced_w_per_k / coefficient - base_m2) / fins_m2),
        "channel_reynolds" => Some(reynolds),
        "nusselt" => Some(nusselt),
        "coefficient_w_per_m2_k" => Some(coefficient),
        _ => None,
    }
}

fn flat_plate(length_m: f64, emissivity_ratio: f64) -> Option<FinSink> {
    let spec = FinSinkSpec { fins_count: 0, emissivity_ratio, ..FinSinkSpec::aluminium(1.0, length_m, 0.01) };
    FinSink::new(spec).ok()
}

fn natural(output: &str, inputs: &Value) -> Option<f64> {
    let fluid = fluid(inputs)?;
    let (hot_k, cold_k) = (kelvin(inputs, "surface_temperature_c")?, kelvin(inputs, "air_temperature_c")?);
    let length_m = number(inputs, "length_m")?;
    let kinematic = fluid.dynamic_viscosity_pa_s / fluid.density_kg_m3;
    let expansion_per_k = 2.0 / (hot_k + cold_k);
    let rayleigh = 9.80665 * expansion_per_k * (hot_k - cold_k) * length_m.powi(3) * prandtl(&fluid)
        / (kinematic * kinematic);
    match output {
        "plate_rayleigh" => Some(rayleigh),
        "plate_nusselt" => Some(heat::vertical_plate_natural_nusselt(rayleigh, prandtl(&fluid))),
        "plate_heat_w_per_m2" => {
            let still = flat_plate(length_m, 0.0)?.cooled_by(&fluid, 0.0).ok()?;
            Some(still.dissipated_w(hot_k) / length_m)
        }
        _ => None,
    }
}

/// A thin cylinder, such as a fiber in the open: laws of the crate `electrical`, air as given.
fn cylinder(output: &str, inputs: &Value) -> Option<f64> {
    let fluid = fluid(inputs)?;
    let diameter_m = metres(inputs, "diameter_mm")?;
    let coefficient = |nusselt: f64| nusselt * fluid.thermal_conductivity_w_per_m_k / diameter_m;
    if output == "cross_flow_nusselt" {
        let reynolds = reynolds(&fluid, number(inputs, "speed_m_s")?, diameter_m);
        return Some(cooling::churchill_bernstein(reynolds, prandtl(&fluid)));
    }
    let film_k = kelvin(inputs, "air_temperature_c")? + 0.5 * number(inputs, "excess_k")?;
    let kinematic = fluid.dynamic_viscosity_pa_s / fluid.density_kg_m3;
    let rayleigh = 9.80665 / film_k * number(inputs, "excess_k")? * diameter_m.powi(3) * prandtl(&fluid)
        / (kinematic * kinematic);
    let natural = coefficient(cooling::churchill_chu(rayleigh, prandtl(&fluid)));
    match output {
        "natural_w_per_m2_k" => Some(natural),
        "open_fiber_rise_k" => {
            let absorbed_per_m = decibel::per_m_of_db_per_km(number(inputs, "attenuation_db_per_km")?);
            Some(number(inputs, "power_w")? * absorbed_per_m / (PI * diameter_m * natural))
        }
        _ => None,
    }
}

fn radiation(output: &str, inputs: &Value) -> Option<f64> {
    let fluid = fluid(inputs)?;
    let (hot_k, cold_k) = (kelvin(inputs, "surface_temperature_c")?, kelvin(inputs, "air_temperature_c")?);
    let shed = |emissivity_ratio: f64| {
        let still = flat_plate(1.0, emissivity_ratio)?.cooled_by(&fluid, 0.0).ok()?;
        Some(still.dissipated_w(hot_k))
    };
    let heat_w_per_m2 = shed(number(inputs, "emissivity_ratio")?)? - shed(0.0)?;
    match output {
        "heat_w_per_m2" => Some(heat_w_per_m2),
        "coefficient_w_per_m2_k" => Some(heat_w_per_m2 / (hot_k - cold_k)),
        _ => None,
    }
}

fn spreading(output: &str, inputs: &Value) -> Option<f64> {
    let k_per_w = heat::spreading_k_per_w(
        number(inputs, "source_radius_m")?,
        number(inputs, "plate_radius_m")?,
        number(inputs, "thickness_m")?,
        number(inputs, "conductivity_w_per_m_k")?,
        number(inputs, "coefficient_w_per_m2_k")?,
    );
    (output == "k_per_w").then_some(k_per_w)
}

fn receiver(inputs: &Value) -> Option<Receiver> {
    let of = |key: &str| number(inputs, key);
    let area_m2 = 1e-4 * of("area_cm2")?;
    let mut cell = match inputs.get("cell")?.as_str()? {
        "gallium_arsenide" => CellSpec::gallium_arsenide(area_m2),
        "silicon" => CellSpec::silicon(area_m2),
        _ => return None,
    };
    cell.mass_kg_per_m2 = of("cell_mass_kg_per_m2").unwrap_or(cell.mass_kg_per_m2);
    let mut sink = FinSinkSpec::aluminium(of("sink_width_m")?, of("sink_length_m")?, of("fin_height_m")?);
    sink.fins_count = of("fins_count").map_or(sink.fins_count, |count| count as u32);
    sink.fin_thickness_m = metres(inputs, "fin_thickness_mm").unwrap_or(sink.fin_thickness_m);
    sink.base_thickness_m = metres(inputs, "base_thickness_mm").unwrap_or(sink.base_thickness_m);
    let mut converter = ConverterSpec::airborne(of("converter_rated_w")?);
    converter.specific_power_w_per_kg = of("converter_w_per_kg").unwrap_or(converter.specific_power_w_per_kg);
    Receiver::new(ReceiverSpec {
        cell: Cell::new(cell).ok()?,
        series_count: of("series_count")? as u32,
        parallel_count: of("parallel_count")? as u32,
        shares: None,
        reflection_ratio: of("reflection_ratio")?,
        sink: FinSink::new(sink).ok()?,
        junction_to_sink_k_per_w: of("junction_to_sink_k_per_w")?,
        tracking_efficiency_ratio: of("tracking_efficiency_ratio")?,
        converter: Converter::new(converter).ok()?,
        optics_kg: of("optics_kg").unwrap_or(0.0),
        housing_kg: of("housing_kg").unwrap_or(0.0),
    })
    .ok()
}

fn whole(output: &str, inputs: &Value) -> Option<f64> {
    let receiver = receiver(inputs)?;
    let cooling = receiver.spec().sink.cooled_by(&fluid(inputs)?, number(inputs, "air_speed_m_s")?).ok()?;
    let draw = match number(inputs, "draw_bus_w") {
        Some(bus_w) => Draw::Bus(bus_w),
        None if inputs.get("draw").is_some() => Draw::Nothing,
        None => Draw::MaximumPower,
    };
    let (arriving_w, wavelength_m) = (number(inputs, "arriving_w")?, 1e-9 * number(inputs, "wavelength_nm")?);
    let operation = receiver.operate(arriving_w, wavelength_m, &cooling, draw).ok()?;
    match output {
        "cell_temp_k" => Some(operation.cell_temp_k),
        "cells_w" => Some(operation.cells_w),
        "bus_w" => Some(operation.bus_w),
        "specific_power_w_per_kg" => Some(receiver.specific_power_w_per_kg(&operation)),
        _ => None,
    }
}
