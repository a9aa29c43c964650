//! The light of a plan as a laser engineer wants to see it: what each model on the way says, with its source.

use beamstay_optics::{
    Fate, OpticsError,
    beam::{
        BeamRun, FreeBeamPath, SpreadModel, Turbulence, VisibilityModel, extinction::haze_db_per_km, gas,
    },
    fiber::{FiberPath, FiberRun},
    receiver::balance::photon_energy_ev,
    silica::rayleigh_floor_db_per_km,
};
use serde::Serialize;

use crate::{
    Loaded,
    error::{At, PlanError},
    point::OperatingPoint,
    scenario::{Delivery, Scenario},
    system::{
        System, Way,
        light::Light,
        route::{BeamSight, Route, clear_area},
    },
};

/// One number on the way of the light.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DetailRow {
    /// Part of the way that it belongs to.
    pub part: &'static str,
    /// What it is.
    pub name: &'static str,
    /// Value in [`Self::unit`].
    pub value: f64,
    /// Unit, empty for a pure number.
    pub unit: &'static str,
    /// Where it comes from or what to mind, empty if nothing.
    pub note: &'static str,
}

/// Rows under construction.
struct Rows(Vec<DetailRow>);

impl Rows {
    fn add(
        &mut self,
        part: &'static str,
        name: &'static str,
        value: f64,
        unit: &'static str,
        note: &'static str,
    ) {
        self.0.push(DetailRow { part, name, value, unit, note });
    }
}

/// What the models of the light say at a solved point; empty without light.
///
/// # Errors
/// As [`System::new`], and [`PlanError::Refused`] for a number that a model refuses.
pub fn light_detail(loaded: &Loaded, point: &OperatingPoint) -> Result<Vec<DetailRow>, PlanError> {
    let system = System::new(&loaded.scenario)?;
    let (Way::Light(light), Some(of_point)) = (&system.way, &point.light) else { return Ok(Vec::new()) };
    let mut rows = Rows(Vec::new());
    let laser_w = of_point.laser_w;
    laser_rows(light, laser_w, &mut rows).at("/ground/laser")?;
    let paid_out_m = point.tether.map_or(0.0, |tether| tether.paid_out_m);
    let wound_m = system.line.as_ref().map_or(0.0, |line| (line.total_length_m - paid_out_m).max(0.0));
    let sight = match (of_point.range_m, of_point.incidence_deg, of_point.beam_elevation_deg) {
        (Some(range_m), Some(incidence_deg), Some(elevation_deg)) => Some(BeamSight {
            range_m,
            incidence_rad: incidence_deg.to_radians(),
            elevation_rad: elevation_deg.to_radians(),
            spill_ratio: of_point.spill_over_w.unwrap_or(0.0) / laser_w.max(f64::MIN_POSITIVE),
        }),
        _ => None,
    };
    match (&light.route, sight) {
        (Route::Fiber { path, run, .. }, _) => {
            let run = FiberRun { wound_length_m: wound_m, ..*run };
            fiber_rows(light, path, &run, laser_w, &mut rows).at("/delivery/fiber")?;
            if let Some(line) = &system.line {
                let heat = path
                    .drum_heat(laser_w, &run, &line.wound_pack(light.ambient_temp_k))
                    .at("/ground/drum")?;
                rows.add(
                    "drum",
                    "heat in the wound fiber",
                    heat.total_w(),
                    "W",
                    "scattered light is absorbed there too",
                );
                rows.add(
                    "drum",
                    "hottest layer",
                    celsius(heat.hottest_temp_k),
                    "°C",
                    "innermost, steady state",
                );
            }
        }
        (Route::Beam { path, wavelength_m, .. }, Some(sight)) => {
            let run = BeamRun {
                incidence_rad: sight.incidence_rad,
                ..BeamRun::facing(*wavelength_m, sight.range_m)
            };
            air_rows(path, &run, &mut rows).at("/delivery/free_beam")?;
            spot_rows(path, &run, laser_w, &mut rows).at("/delivery/free_beam")?;
        }
        (Route::Beam { .. }, None) => {}
    }
    receiver_rows(&loaded.scenario, light, point, &mut rows);
    let way = light.route.itemise(laser_w, wound_m, sight).at("/delivery")?;
    let step = |code: &str| point.power.iter().find(|row| row.code == code).map_or(0.0, |row| row.loss_w);
    let heat_w = way.loss_w_to(Fate::Heat) + step("cells") + step("converter");
    rows.add("light in all", "from the laser", laser_w, "W", "");
    rows.add("light in all", "to the bus", of_point.bus_w, "W", "");
    rows.add("light in all", "heat", heat_w, "W", "joints, drum, optics, cells, converter");
    rows.add(
        "light in all",
        "reflected",
        way.loss_w_to(Fate::Reflected) + step("reflection"),
        "W",
        "facets, receiver",
    );
    let scattered_w = way.loss_w_to(Fate::Scattered);
    rows.add(
        "light in all",
        "scattered on the way",
        scattered_w,
        "W",
        "or absorbed: the models do not part the two",
    );
    rows.add("light in all", "past the receiver", way.loss_w_to(Fate::Past), "W", "");
    data_rows(light, &mut rows);
    Ok(rows.0)
}

fn celsius(temperature_k: f64) -> f64 {
    temperature_k - beamstay_numerics::constants::ZERO_CELSIUS_K
}

fn laser_rows(light: &Light, laser_w: f64, rows: &mut Rows) -> Result<(), OpticsError> {
    let operation = light.laser.operate(laser_w, light.coolant_temp_k)?;
    let part = "laser";
    let nominal_nm = 1e9 * light.laser.wavelength_m;
    rows.add(part, "wavelength at 25 °C coolant", nominal_nm, "nm", "");
    rows.add(part, "wavelength at its coolant", 1e9 * operation.wavelength_m, "nm", "drift of the scenario");
    rows.add(part, "coolant", celsius(light.coolant_temp_k), "°C", "");
    let efficiency = operation.optical_w / operation.electrical_w.max(f64::MIN_POSITIVE);
    rows.add(part, "light over electrical power, driver counted", efficiency, "", "");
    if let Some(current_a) = operation.current_a {
        rows.add(part, "diode current", current_a, "A", "");
    }
    Ok(())
}

fn fiber_rows(
    light: &Light,
    path: &FiberPath,
    run: &FiberRun,
    laser_w: f64,
    rows: &mut Rows,
) -> Result<(), OpticsError> {
    let parts = path.parts();
    let (fiber, wavelength_m, part) = (&parts.fiber, run.wavelength_m, "fiber");
    let input_w = laser_w * path.fiber_input_ratio(wavelength_m)?;
    rows.add(part, "V number", fiber.v_number(wavelength_m)?, "", "");
    if !fiber.is_single_mode(wavelength_m)? {
        rows.add(part, "modes, both polarisations", fiber.modes_count(wavelength_m)?, "", "V²/2");
        let filling = fiber.filling_beam_quality_m2_ratio(wavelength_m)?;
        rows.add(part, "M² that just fills it", filling, "", "étendue of core and aperture");
    }
    let floor = rayleigh_floor_db_per_km(wavelength_m)?;
    rows.add(part, "attenuation", fiber.attenuation_db_per_km(wavelength_m)?, "dB/km", "");
    rows.add(part, "Rayleigh floor", floor, "dB/km", "less is refused (0.7/λ⁴, Agrawal)");
    if let Some(radius_m) = run.bend_radius_m {
        rows.add(part, "innermost bend on the drum, radius", 1e3 * radius_m, "mm", "");
        rows.add(
            part,
            "modes that bend keeps",
            beamstay_optics::fiber::bend::kept_modes_ratio(fiber, radius_m, wavelength_m)?,
            "",
            "Gloge 1972; once, not per turn; all modes taken as full: an under-filled launch loses far less",
        );
    }
    let peak_w_per_m2 = parts.launch.source.peak_intensity_w_per_m2(fiber, laser_w)?;
    rows.add(
        part,
        "peak on the input facet",
        1e-10 * peak_w_per_m2,
        "MW/cm²",
        "clean facets stand GW/cm²; dirt does not",
    );
    let core_w_per_m2 = fiber.mean_intensity_w_per_m2(input_w, wavelength_m)?;
    rows.add(
        part,
        "mean in the core",
        1e-10 * core_w_per_m2,
        "MW/cm²",
        "a fuse may run from about 1 (Kurokawa 2012)",
    );
    let limits = path.power_limits(run, light.laser.linewidth_m)?;
    rows.add(part, "Raman threshold", limits.raman_threshold_w, "W", "Smith 1972; within a factor of two");
    rows.add(
        part,
        "Brillouin threshold",
        limits.brillouin_threshold_w,
        "W",
        "Smith 1972; at the laser's linewidth",
    );
    Ok(())
}

fn air_rows(path: &FreeBeamPath, run: &BeamRun, rows: &mut Rows) -> Result<(), OpticsError> {
    let (air, part) = (path.parts().air, "air");
    let haze = |model| haze_db_per_km(air.visibility_m, run.wavelength_m, model);
    rows.add(part, "haze, Kruse", haze(VisibilityModel::Kruse)?, "dB/km", "");
    rows.add(part, "haze, Kim", haze(VisibilityModel::Kim)?, "dB/km", "the larger of the two counts");
    let gas_db_per_km = match air.gas_db_per_km {
        Some(given) => given,
        None => gas::absorption_db_per_km(run.wavelength_m)?,
    };
    rows.add(
        part,
        "water vapour and oxygen",
        gas_db_per_km,
        "dB/km",
        "LOWTRAN7, largest of six atmospheres in the band",
    );
    rows.add(part, "all together", air.extinction_db_per_km(run.wavelength_m)?, "dB/km", "");
    let turbulence = path.parts().turbulence;
    let rytov = turbulence.rytov_variance(run.range_m, run.wavelength_m)?;
    rows.add(part, "Rytov variance", rytov, "", "weak turbulence below 1");
    if let Some(coherence_m) = turbulence.spherical_coherence_m(run.range_m, run.wavelength_m)? {
        rows.add(part, "coherence diameter, spherical wave", 1e3 * coherence_m, "mm", "");
    }
    Ok(())
}

fn spot_rows(path: &FreeBeamPath, run: &BeamRun, laser_w: f64, rows: &mut Rows) -> Result<(), OpticsError> {
    let part = "spot";
    let spot = path.footprint(laser_w, run)?;
    rows.add(part, "1/e² radius by optics alone", spot.vacuum_radius_m, "m", "M², aperture and focus");
    let spread = |model| {
        let turbulence = Turbulence { spread: model, ..path.parts().turbulence };
        turbulence.long_term_radius_m(spot.vacuum_radius_m, run.range_m, run.wavelength_m)
    };
    let andrews_m = spread(SpreadModel::AndrewsPhillips)?;
    rows.add(part, "in turbulence, Andrews and Phillips", andrews_m, "m", "holds the wander");
    rows.add(
        part,
        "in turbulence, coherence length",
        spread(SpreadModel::CoherenceLength)?,
        "m",
        "the larger of the two counts",
    );
    rows.add(part, "with pointing jitter", spot.mean_radius_m, "m", "");
    rows.add(part, "share on the receiver", spot.captured_w / spot.arriving_w.max(f64::MIN_POSITIVE), "", "");
    rows.add(part, "mean peak", 1e-4 * spot.mean_peak_irradiance_w_per_m2, "W/cm²", "");
    rows.add(
        part,
        "peak at moments",
        1e-4 * spot.instant_peak_irradiance_w_per_m2,
        "W/cm²",
        "neither spread nor wandering; scintillation can exceed it",
    );
    Ok(())
}

fn receiver_rows(scenario: &Scenario, light: &Light, point: &OperatingPoint, rows: &mut Rows) {
    let (Some(of_point), Some(inputs)) = (&point.light, &scenario.receiver) else { return };
    let (part, spec) = ("receiver", light.receiver.spec());
    let edge_nm = |celsius: f64| {
        let gap_ev = spec.cell.spec().band.gap_ev(celsius + beamstay_numerics::constants::ZERO_CELSIUS_K);
        1e9 * photon_energy_ev(1.0) / gap_ev
    };
    let cold_c = of_point.cell_temp_c.min(celsius(light.ambient_temp_k));
    rows.add(
        part,
        "band edge of the cold cells",
        edge_nm(cold_c),
        "nm",
        "the laser must stay below it (Varshni)",
    );
    rows.add(part, "band edge with the demand drawn", edge_nm(of_point.cell_temp_c), "nm", "");
    let cells_m2 = light.receiver.cells_count() * spec.cell.spec().area_m2;
    let entering_w = of_point.arriving_w * (1.0 - spec.reflection_ratio);
    rows.add(part, "mean on the cells", 1e-4 * entering_w / cells_m2, "W/cm²", "");
    if let Some(aperture) = &inputs.aperture
        && matches!(scenario.delivery, Delivery::FreeBeam(_))
    {
        let clear_m2 = clear_area(aperture).area_m2();
        rows.add(part, "concentration, clear area over cells", clear_m2 / cells_m2, "", "");
    }
    if let Some(shares) = &spec.shares {
        let even = 1.0 / shares.ratios().len() as f64;
        rows.add(part, "brightest cell over even light", shares.brightest_ratio() / even, "", "");
        let weakest = shares.weakest_ratio() / even;
        rows.add(part, "weakest cell over even light", weakest, "", "solved as a real string");
    }
    rows.add(part, "power drawn over the most", spec.tracking_efficiency_ratio, "", "power-point tracking");
    let mass = light.receiver.mass();
    for (name, kg) in [
        ("mass of cells", mass.cells_kg),
        ("mass of optics", mass.optics_kg),
        ("mass of heat sink", mass.sink_kg),
        ("mass of converter", mass.converter_kg),
        ("mass of housing", mass.housing_kg),
        ("mass in all", mass.total_kg()),
    ] {
        rows.add(part, name, kg, "kg", "");
    }
    rows.add(
        part,
        "specific power",
        of_point.receiver_specific_power_w_per_kg,
        "W/kg",
        "common practice, no source: about 800 large in free air, 100 to 300 small on a fiber",
    );
}

fn data_rows(light: &Light, rows: &mut Rows) {
    let Some((budget, length_m)) = &light.data_link else { return };
    let part = "data link";
    rows.add(part, "length, as the line's", *length_m, "m", "");
    rows.add(part, "loss", budget.loss_db, "dB", "");
    let status = match budget.allowance.status {
        beamstay_optics::hazard::Status::Seen => "IEEE 802.3, seen",
        _ => "IEEE 802.3, from memory",
    };
    rows.add(part, "allowed", budget.allowance.loss_db, "dB", status);
    let verdict = if budget.passes { "passes" } else { "FAILS" };
    rows.add(part, "margin", budget.margin_db, "dB", verdict);
    rows.add(part, "longest with these joints", budget.longest_m, "m", "reach or loss, whichever ends first");
    if budget.attenuator_db > 0.0 {
        rows.add(part, "attenuator to put in", budget.attenuator_db, "dB", "or the receiver is overloaded");
    }
}
