//! The tether of a plan as the person who designs it wants to see it: what its layers carry, what the glass may bear and bears,
//! what the flow does to it, how it lies on the drum and what it does when it is cut.

use beamstay_environment::flow::Flow;
use beamstay_numerics::constants::STANDARD_GRAVITY_M_S2;
use beamstay_tether::{
    Line,
    cross_section::{CrossSection, Figure, Part, Provenance},
    cut::{self, Cut, broadside_speed_m_s, cut_reach, end_on_speed_m_s, kinetic_energy_j_per_m},
    limits::{LoadDuration, bend_stress_pa, least_glass_bend_radius_m},
    strumming::{shedding_frequency_hz, strouhal_number, strumming_bend_radius_m},
};
use serde::Serialize;

use crate::{
    Loaded,
    error::{At, PlanError},
    point::{OperatingPoint, TetherPoint},
    scenario::{self, Construction, Delivery, Scenario},
    system::{
        System,
        line::{TetherLine, section},
        surroundings::Stream,
    },
};

/// A tether in its parts.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TetherDetail {
    /// Mass, diameter, stiffness and strength, and which of them were measured.
    pub figures: Vec<FigureRow>,
    /// The layers, from the inside out; none for a line that was measured as a whole.
    pub layers: Vec<LayerRow>,
    /// Strain at the largest tension in the mean wind.
    pub strain_ratio: f64,
    /// Strain at the largest tension in the gust.
    pub strain_in_gust_ratio: f64,
    /// The glass; absent for a line without.
    pub glass: Option<GlassDetail>,
    /// What the flow does at the height of the vehicle.
    pub drag: DragDetail,
    /// What is on the drum.
    pub drum: DrumDetail,
    /// The line cut; absent in water, where nothing falls.
    pub cut: Option<CutDetail>,
}

/// A figure of the line.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FigureRow {
    /// What it is.
    pub name: &'static str,
    /// The figure that counts, in [`Self::unit`].
    pub value: f64,
    /// Unit.
    pub unit: &'static str,
    /// Whether it was measured on the finished line.
    pub measured: bool,
    /// What the layers give, where they give one.
    pub computed: Option<f64>,
    /// Measured less computed, over computed; absent unless both are known.
    pub deviation_ratio: Option<f64>,
}

/// One layer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LayerRow {
    /// What it is for.
    pub part: &'static str,
    /// What it is made of.
    pub material: &'static str,
    /// Diameter over it, mm.
    pub outer_diameter_mm: f64,
    /// Its mass, g/m.
    pub mass_g_per_m: f64,
    /// Its share of the tension; 0 for a layer that carries none.
    pub load_share_ratio: f64,
    /// What it carries at the largest tension in the mean wind, N.
    pub load_n: f64,
    /// The same in the gust, N.
    pub load_in_gust_n: f64,
}

/// The glass.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GlassDetail {
    /// Its diameter, µm.
    pub diameter_um: f64,
    /// Its proof stress, MPa.
    pub proof_stress_mpa: f64,
    /// Tension at which the straight glass reaches the proof stress, N.
    pub tension_at_proof_n: f64,
    /// Where it is stressed.
    pub places: Vec<GlassPlace>,
    /// What it may bear, by how long.
    pub allowed: Vec<AllowedStress>,
}

/// Stress in the glass at one place: pull and bend add at its outer side.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct GlassPlace {
    /// Where.
    pub place: &'static str,
    /// Bend radius there in the mean wind, mm.
    pub bend_radius_mm: f64,
    /// Stress by the pull in the mean wind, MPa.
    pub axial_mpa: f64,
    /// Stress by the bend in the mean wind, MPa.
    pub bend_mpa: f64,
    /// Both in the mean wind, MPa.
    pub total_mpa: f64,
    /// Both in the gust, MPa.
    pub in_gust_mpa: f64,
}

/// Allowed stress by how long it lasts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct AllowedStress {
    /// How long: seconds, hours, years, counted over all flights.
    pub duration: &'static str,
    /// What of the plan is held against it.
    pub counts_for: &'static str,
    /// Share of the proof stress.
    pub share_of_proof_ratio: f64,
    /// Stress, MPa.
    pub stress_mpa: f64,
    /// Tension at which the straight glass reaches it, N.
    pub straight_tension_n: f64,
    /// Least bend radius without pull, mm.
    pub least_bend_radius_mm: f64,
    /// Where the share comes from, and how it is known.
    pub source: &'static str,
}

/// Flow, strumming and ice at the height of the vehicle.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct DragDetail {
    /// Speed of the mean flow, m/s.
    pub speed_m_s: f64,
    /// Reynolds number of the line across it.
    pub reynolds: f64,
    /// Drag coefficient across the line, strumming and ice included.
    pub coefficient: f64,
    /// Drag on a metre square to the flow, N/m.
    pub drag_n_per_m: f64,
    /// Weight of a metre, ice included and buoyancy taken off, N/m.
    pub weight_n_per_m: f64,
    /// What strumming multiplies the drag by; 1 where it is off.
    pub amplification_ratio: f64,
    /// Frequency at which vortices leave a line square to the flow, Hz; absent where there is no vortex street.
    pub shedding_hz: Option<f64>,
    /// Amplitude of the strumming over the diameter; 0 where it is off or only its drag is given.
    pub strumming_amplitude_ratio: f64,
    /// Bend radius of the strumming line at that frequency and the tension at the vehicle, m; absent without an amplitude.
    pub strumming_bend_radius_m: Option<f64>,
    /// Stress that this bend adds in the glass, MPa; absent without an amplitude or without glass. No limit counts it.
    pub strumming_stress_mpa: Option<f64>,
    /// Mass of the ice, g/m.
    pub ice_g_per_m: f64,
    /// Diameter with the ice, mm.
    pub iced_diameter_mm: f64,
}

/// The line on the drum.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct DrumDetail {
    /// Layers that fit.
    pub layers_count: u64,
    /// Length that fits, m.
    pub capacity_m: f64,
    /// All the line there is, m.
    pub line_m: f64,
    /// Mass of all the line, kg.
    pub line_kg: f64,
    /// Innermost bend radius, mm.
    pub innermost_bend_radius_mm: f64,
    /// Diameter over the line with all of it wound, mm; absent if it does not fit.
    pub full_diameter_mm: Option<f64>,
    /// Length that stays wound at this point, m.
    pub stays_wound_m: f64,
    /// Its mass, kg.
    pub stays_wound_kg: f64,
    /// Layer from which the line leaves at this point, 1 on the barrel; absent if it does not fit.
    pub leaves_layer: Option<u64>,
    /// Diameter over the line at this point, mm; absent if it does not fit.
    pub diameter_mm: Option<f64>,
    /// Pull of the same torque at this point over that with all the line wound; absent if it does not fit.
    pub pull_gain_ratio: Option<f64>,
}

/// The line cut.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CutDetail {
    /// Where its pieces can come down.
    pub cases: Vec<CutCase>,
    /// Speed of a piece that falls broadside, m/s.
    pub broadside_m_s: f64,
    /// Energy of a metre at that speed, J/m.
    pub broadside_j_per_m: f64,
    /// Speed of a piece that falls end on, m/s: no more than free fall from the vehicle.
    pub end_on_m_s: f64,
    /// Energy of a metre at that speed, J/m.
    pub end_on_j_per_m: f64,
    /// Energy that the tension has stored in the strain of the hanging line in the gust, J: what whips.
    pub stored_j: f64,
    /// What to mind.
    pub caution: &'static str,
}

/// A cut at one place.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CutCase {
    /// Where.
    pub place: &'static str,
    /// The same along the line from the drum, m.
    pub at_m: f64,
    /// Radius about the drum that the piece on it sweeps, m.
    pub attached_radius_m: f64,
    /// Radius about the drum for the other piece, if the vehicle lets go of it where it is, m.
    pub loose_radius_m: f64,
    /// How far the wind carries that piece, m.
    pub loose_drift_m: f64,
}

/// The tether of a scenario at its solved point; none where none hangs.
///
/// # Errors
/// As [`System::new`], and [`PlanError::Refused`] for a number that a model refuses.
pub fn tether_detail(loaded: &Loaded, point: &OperatingPoint) -> Result<Option<TetherDetail>, PlanError> {
    let system = System::new(&loaded.scenario)?;
    let (Some(line), Some(mean), Some(gust)) = (&system.line, &point.tether, &point.tether_in_gust) else {
        return Ok(None);
    };
    let Some((tether, pointer)) = tether_of(&loaded.scenario) else { return Ok(None) };
    let section = section(&tether.construction, pointer)?;
    Ok(Some(TetherDetail {
        figures: figures(&section),
        layers: layers(&section, &tether.construction, mean, gust),
        strain_ratio: mean.max_tension_n / line.axial_stiffness_n,
        strain_in_gust_ratio: gust.max_tension_n / line.axial_stiffness_n,
        glass: glass(&system, line, mean, gust)?,
        drag: drag(&system, line, tether, loaded.scenario.station.height_m, mean).at(pointer)?,
        drum: drum(line, mean),
        cut: cut_detail(&system, line, &loaded.scenario, mean, gust)?,
    }))
}

/// The tether of a scenario and where it stands.
fn tether_of(scenario: &Scenario) -> Option<(&scenario::Tether, &'static str)> {
    match &scenario.delivery {
        Delivery::Fiber(fiber) => Some((&fiber.tether, "/delivery/fiber/tether")),
        Delivery::Copper(copper) => Some((&copper.tether, "/delivery/copper/tether")),
        Delivery::FreeBeam(_) | Delivery::None {} => None,
    }
}

fn figures(section: &CrossSection) -> Vec<FigureRow> {
    let row = |name, figure: Figure, factor: f64, unit| {
        let measured = figure.provenance == Provenance::Measured;
        FigureRow {
            name,
            value: factor * figure.value,
            unit,
            measured,
            computed: figure.computed.map(|computed| factor * computed),
            deviation_ratio: (measured && figure.computed.is_some()).then(|| figure.deviation_ratio()),
        }
    };
    let mut rows =
        vec![row("mass", section.mass(), 1e3, "g/m"), row("diameter", section.outer_diameter(), 1e3, "mm")];
    rows.extend(section.axial_stiffness().map(|figure| row("axial stiffness", figure, 1e-3, "kN")));
    rows.extend(section.breaking_load().map(|figure| row("breaking load", figure, 1.0, "N")));
    rows
}

fn layers(
    section: &CrossSection,
    construction: &Construction,
    mean: &TetherPoint,
    gust: &TetherPoint,
) -> Vec<LayerRow> {
    let Construction::Layers { layers, .. } = construction else { return Vec::new() };
    let rows = section.layers().iter().zip(layers).map(|(summary, layer)| LayerRow {
        part: match layer.material {
            // Strands are laid as yarn is.
            scenario::Material::Copper | scenario::Material::Aluminium => part_words(Part::Conductor),
            _ => part_words(summary.part),
        },
        material: material_words(&layer.material),
        outer_diameter_mm: 1e3 * summary.outer_diameter_m,
        mass_g_per_m: 1e3 * summary.mass_kg_per_m,
        load_share_ratio: summary.load_share_ratio,
        load_n: summary.load_share_ratio * mean.max_tension_n,
        load_in_gust_n: summary.load_share_ratio * gust.max_tension_n,
    });
    rows.collect()
}

fn part_words(part: Part) -> &'static str {
    match part {
        Part::Core => "core",
        Part::Cladding => "glass",
        Part::Coating => "coating",
        Part::Buffer => "buffer",
        Part::Strength => "strength member",
        Part::Jacket => "jacket",
        Part::Conductor => "conductor",
        Part::Insulation => "insulation",
        Part::DataFiber => "data fiber",
        Part::Filler => "filler",
    }
}

fn material_words(material: &scenario::Material) -> &'static str {
    match material {
        scenario::Material::Silica => "silica",
        scenario::Material::Acrylate => "acrylate",
        scenario::Material::Etfe => "ETFE",
        scenario::Material::Polyimide => "polyimide",
        scenario::Material::Aramid => "aramid",
        scenario::Material::Uhmwpe => "UHMWPE",
        scenario::Material::Pbo => "PBO",
        scenario::Material::Polyurethane => "polyurethane",
        scenario::Material::Copper => "copper",
        scenario::Material::Aluminium => "aluminium",
        scenario::Material::Own { .. } => "the user's own",
    }
}

fn glass(
    system: &System,
    line: &TetherLine,
    mean: &TetherPoint,
    gust: &TetherPoint,
) -> Result<Option<GlassDetail>, PlanError> {
    if line.glass_diameter_m <= 0.0 {
        return Ok(None);
    }
    let sheave_m = 1e-3 * system.limits.sheave_radius_mm;
    let drum_m = line.winding.innermost_bend_radius_m();
    let spots = [
        ("innermost on the drum", (drum_m, mean.drum_tension_n), (drum_m, gust.drum_tension_n)),
        ("sheave at the drum", (sheave_m, mean.drum_tension_n), (sheave_m, gust.drum_tension_n)),
        ("outlet at the vehicle", (sheave_m, mean.top_tension_n), (sheave_m, gust.top_tension_n)),
        (
            "in the air",
            (mean.min_bend_radius_m, mean.max_tension_n),
            (gust.min_bend_radius_m, gust.max_tension_n),
        ),
    ];
    let bend_mpa = |radius_m: f64| -> Result<f64, PlanError> {
        Ok(1e-6 * bend_stress_pa(line.glass_diameter_m, radius_m).at("/limits/sheave_radius_mm")?)
    };
    let axial_mpa = |tension_n: f64| 1e-6 * line.glass_stress_pa(tension_n);
    let mut places = Vec::with_capacity(spots.len());
    for (place, in_mean, in_gust) in spots {
        let (axial, bend) = (axial_mpa(in_mean.1), bend_mpa(in_mean.0)?);
        places.push(GlassPlace {
            place,
            bend_radius_mm: 1e3 * in_mean.0,
            axial_mpa: axial,
            bend_mpa: bend,
            total_mpa: axial + bend,
            in_gust_mpa: axial_mpa(in_gust.1) + bend_mpa(in_gust.0)?,
        });
    }
    let tension_per_pa = line.axial_stiffness_n / beamstay_tether::material::SILICA_MODULUS_PA;
    let mut allowed = Vec::with_capacity(3);
    for (duration, words, source) in [
        (LoadDuration::Seconds, "seconds", "Glaesemann and Gulati 1991 and later notes; from memory"),
        (LoadDuration::Hours, "hours", "Glaesemann and Gulati 1991 and later notes; from memory"),
        (LoadDuration::Years, "years", "AEN 21 rev. 6, 2006; NASA GSFC, safety coefficient 5; both seen"),
    ] {
        let share = duration.allowed_fraction_of_proof();
        let stress_pa = share * line.proof_stress_pa;
        let least_m = least_glass_bend_radius_m(0.0, line.glass_diameter_m, line.proof_stress_pa, duration)
            .at("/delivery/fiber/proof_stress_mpa")?;
        allowed.push(AllowedStress {
            duration: words,
            counts_for: match duration {
                LoadDuration::Seconds => "the gust",
                LoadDuration::Years if line.duration == LoadDuration::Years => "the mean wind and the drum",
                LoadDuration::Years => "the drum",
                LoadDuration::Hours if line.duration == LoadDuration::Hours => "the mean wind",
                LoadDuration::Hours => "",
            },
            share_of_proof_ratio: share,
            stress_mpa: 1e-6 * stress_pa,
            straight_tension_n: stress_pa * tension_per_pa,
            least_bend_radius_mm: 1e3 * least_m.unwrap_or(f64::MAX),
            source,
        });
    }
    Ok(Some(GlassDetail {
        diameter_um: 1e6 * line.glass_diameter_m,
        proof_stress_mpa: 1e-6 * line.proof_stress_pa,
        tension_at_proof_n: line.proof_stress_pa * tension_per_pa,
        places,
        allowed,
    }))
}

fn drag(
    system: &System,
    line: &TetherLine,
    tether: &scenario::Tether,
    height_m: f64,
    mean: &TetherPoint,
) -> Result<DragDetail, PlanError> {
    let z_m = height_m - system.surroundings.exit_height_m;
    let sample = system.surroundings.mean.at(z_m);
    let (speed_m_s, iced) = (sample.velocity_m_s.norm(), &line.line);
    let reynolds_of = |diameter_m: f64| {
        sample.density_kg_m3 * speed_m_s * diameter_m / sample.dynamic_viscosity_pa_s.max(f64::MIN_POSITIVE)
    };
    let half_n_per_m = 0.5 * sample.density_kg_m3 * iced.diameter_m * speed_m_s * speed_m_s;
    let coefficient = iced.normal_drag.coefficient(reynolds_of(iced.diameter_m));
    let shedding_hz = strouhal_number(reynolds_of(iced.diameter_m))
        .and_then(|strouhal| shedding_frequency_hz(strouhal, speed_m_s, iced.diameter_m))
        .ok();
    let amplitude_ratio = tether.strumming_amplitude_ratio;
    let bend_m = shedding_hz.filter(|_| amplitude_ratio > 0.0).and_then(|hz| {
        let amplitude_m = amplitude_ratio * iced.diameter_m;
        strumming_bend_radius_m(amplitude_m, hz, mean.top_tension_n, iced.mass_kg_per_m).ok()
    });
    let stress_mpa = bend_m
        .filter(|_| line.glass_diameter_m > 0.0)
        .and_then(|radius_m| Some(1e-6 * bend_stress_pa(line.glass_diameter_m, radius_m).ok()?));
    Ok(DragDetail {
        speed_m_s,
        reynolds: reynolds_of(iced.diameter_m),
        coefficient,
        drag_n_per_m: half_n_per_m * coefficient,
        weight_n_per_m: (iced.mass_kg_per_m - sample.density_kg_m3 * iced.buoyancy_area_m2)
            * STANDARD_GRAVITY_M_S2,
        amplification_ratio: iced.normal_drag.amplification_ratio(),
        shedding_hz,
        strumming_amplitude_ratio: amplitude_ratio,
        strumming_bend_radius_m: bend_m,
        strumming_stress_mpa: stress_mpa,
        ice_g_per_m: 1e3 * (iced.mass_kg_per_m - line.bare_mass_kg_per_m),
        iced_diameter_mm: 1e3 * iced.diameter_m,
    })
}

fn drum(line: &TetherLine, mean: &TetherPoint) -> DrumDetail {
    let (total_m, winding) = (line.total_length_m, &line.winding);
    let full = winding.wound(total_m, 0.0).ok();
    let now = winding.wound(total_m, mean.paid_out_m.clamp(0.0, total_m)).ok();
    let stays_wound_m = (total_m - mean.paid_out_m).max(0.0);
    DrumDetail {
        layers_count: winding.layers_count(),
        capacity_m: winding.capacity_m(),
        line_m: total_m,
        line_kg: line.bare_mass_kg_per_m * total_m,
        innermost_bend_radius_mm: 1e3 * winding.innermost_bend_radius_m(),
        full_diameter_mm: full.map(|wound| 1e3 * wound.outer_diameter_m),
        stays_wound_m,
        stays_wound_kg: line.bare_mass_kg_per_m * stays_wound_m,
        leaves_layer: now.map(|wound| wound.outermost_layer),
        diameter_mm: now.map(|wound| 1e3 * wound.outer_diameter_m),
        pull_gain_ratio: full.zip(now).map(|(full, now)| full.lever_radius_m / now.lever_radius_m),
    }
}

fn cut_detail(
    system: &System,
    line: &TetherLine,
    scenario: &Scenario,
    mean: &TetherPoint,
    gust: &TetherPoint,
) -> Result<Option<CutDetail>, PlanError> {
    let Stream::Air(_) = &system.surroundings.mean else { return Ok(None) };
    let station = &scenario.station;
    let (height_m, exit_m) = (station.height_m.max(0.0), system.surroundings.exit_height_m);
    let air = system.surroundings.mean.fluid_at(0.5 * height_m - exit_m);
    let blows = system.surroundings.gust_at(height_m - exit_m)?;
    let wind_m_s = (0..=20)
        .map(|i| blows.speed_m_s(height_m * f64::from(i) / 20.0 - exit_m))
        .fold(0.0, f64::max)
        .min(100.0);
    let (density, viscosity) = (air.density_kg_m3, air.dynamic_viscosity_pa_s);
    let falling: &Line = &line.line;
    let mut cases = Vec::with_capacity(3);
    for (place, share) in [("at the drum", 0.0), ("half-way", 0.5), ("at the vehicle", 1.0)] {
        let cut = Cut {
            paid_out_length_m: mean.paid_out_m,
            cut_at_m: share * mean.paid_out_m,
            vehicle_height_m: height_m,
            vehicle_distance_m: station.downwind_m.hypot(station.crosswind_m),
            wind_speed_m_s: wind_m_s,
        };
        let reach = cut_reach(falling, &cut, density, viscosity).at("/station")?;
        cases.push(CutCase {
            place,
            at_m: cut.cut_at_m,
            attached_radius_m: reach.attached_radius_m,
            loose_radius_m: reach.loose_radius_m,
            loose_drift_m: reach.loose_drift_m,
        });
    }
    let broadside_m_s = broadside_speed_m_s(falling, density, viscosity).at("/delivery")?;
    // A line without tangential drag has no bound; free fall from the height stands in for it.
    let end_on_m_s = end_on_speed_m_s(falling, density)
        .unwrap_or(f64::MAX)
        .min((2.0 * STANDARD_GRAVITY_M_S2 * height_m).sqrt());
    let energy = |speed_m_s: f64| kinetic_energy_j_per_m(falling.mass_kg_per_m, speed_m_s).at("/delivery");
    Ok(Some(CutDetail {
        cases,
        broadside_m_s,
        broadside_j_per_m: energy(broadside_m_s)?,
        end_on_m_s,
        end_on_j_per_m: energy(end_on_m_s)?,
        // The largest tension all along is more than there is.
        stored_j: 0.5 * gust.max_tension_n * gust.max_tension_n / line.axial_stiffness_n * gust.paid_out_m,
        caution: cut::CAUTION,
    }))
}
