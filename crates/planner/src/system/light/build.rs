//! Laser, fiber and receiver of a scenario as the models take them: units converted once.

use beamstay_optics::{
    OpticsError,
    connector::{Connection, ConnectionKind},
    data_link::{Budget, Interface, Link, MultimodeGrade, budget},
    fiber::{Attenuation, ComposedAttenuation, CoreProfile, Fiber, FiberParts},
    laser::{Conversion, Diodes, Laser, WallPlug},
    launch::{Facet, Launch, Source},
    receiver::{BandEdge, Cell, CellSpec, FinSink, FinSinkSpec, Receiver, ReceiverSpec, Shares},
};

use crate::{
    error::{At, PlanError},
    scenario::{self, CellMaterial, DataInterface, LaserEfficiency, LightOnCells, SinkMetal, SourceForm},
    system::{converter, line::kelvin},
};

/// Coolant temperature at which a scenario states the laser's figures, °C.
const LASER_REFERENCE_C: f64 = 25.0;
/// Loss of efficiency of a laser known by one figure, 1/K: Wang et al. (Opt. Lett. 47, 3231, 2022), 81.10 % at 0 °C
/// and 75.36 % at 25 °C.
const WALL_PLUG_LOSS_PER_K: f64 = 0.00294;
/// Emissivity of anodised fins (common practice, no source).
const FIN_EMISSIVITY_RATIO: f64 = 0.85;
/// Speed between the fins over the speed that comes to them: air goes round an open sink (common practice, no source).
const CHANNEL_SPEED_RATIO: f64 = 0.7;
/// Photon energy above which the window layer takes the light, eV; far from every wavelength that a scenario may name.
const WINDOW_EV: f64 = 3.0;

/// Loss budget of the data link, whose fiber is as long as the one of the power.
pub(super) fn data_link(fiber: &scenario::Fiber) -> Result<Option<(Budget, f64)>, PlanError> {
    let Some(inputs) = &fiber.data_link else { return Ok(None) };
    let interface = match inputs.interface {
        DataInterface::TenGigabitSrOm1 => Interface::TenGigabitSr(MultimodeGrade::Om1),
        DataInterface::TenGigabitSrOm2 => Interface::TenGigabitSr(MultimodeGrade::Om2),
        DataInterface::TenGigabitSrOm3 => Interface::TenGigabitSr(MultimodeGrade::Om3),
        DataInterface::TenGigabitSrOm4 => Interface::TenGigabitSr(MultimodeGrade::Om4),
        DataInterface::TenGigabitLr => Interface::TenGigabitLr,
        DataInterface::TenGigabitEr => Interface::TenGigabitEr,
        DataInterface::TwentyFiveGigabitSrOm3 => Interface::TwentyFiveGigabitSr(MultimodeGrade::Om3),
        DataInterface::TwentyFiveGigabitSrOm4 => Interface::TwentyFiveGigabitSr(MultimodeGrade::Om4),
        DataInterface::TwentyFiveGigabitLr => Interface::TwentyFiveGigabitLr,
    };
    let link = Link {
        length_m: fiber.total_length_m,
        attenuation_db_per_km: inputs.attenuation_db_per_km,
        connectors_count: inputs.connectors_count,
        connector_loss_db: inputs.connector_loss_db,
        splices_count: inputs.splices_count,
        splice_loss_db: inputs.splice_loss_db,
        other_loss_db: inputs.other_loss_db,
    };
    let found = budget(interface, &link).at("/delivery/fiber/data_link")?;
    Ok(found.map(|budget| (budget, fiber.total_length_m)))
}

pub(super) fn laser(source: &scenario::Laser) -> Result<Laser, PlanError> {
    let conversion = match source.efficiency {
        LaserEfficiency::WallPlug { efficiency_ratio } => {
            Conversion::WallPlug(WallPlug { efficiency_ratio, efficiency_loss_per_k: WALL_PLUG_LOSS_PER_K })
        }
        LaserEfficiency::ThresholdSlope {
            threshold_a,
            slope_w_per_a,
            turn_on_v,
            series_resistance_ohm,
            threshold_temperature_k,
            slope_temperature_k,
            diodes_count,
        } => {
            let count = f64::from(diodes_count);
            Conversion::Diodes(Diodes {
                emitters_in_series_count: diodes_count,
                threshold_a,
                threshold_characteristic_temp_k: threshold_temperature_k,
                slope_w_per_a: slope_w_per_a / count,
                slope_characteristic_temp_k: slope_temperature_k,
                turn_on_voltage_v: turn_on_v / count,
                series_resistance_ohm: series_resistance_ohm / count,
                rated_current_a: 1e5,
            })
        }
    };
    let laser = Laser {
        rated_optical_w: source.rated_w,
        wavelength_m: 1e-9 * source.wavelength_nm,
        wavelength_drift_nm_per_k: source.drift_nm_per_k,
        linewidth_m: 1e-9 * source.linewidth_nm,
        reference_coolant_temp_k: kelvin(LASER_REFERENCE_C),
        conversion,
        driver_efficiency_ratio: 1.0 / (1.0 + source.driver_loss_ratio),
    };
    laser.check().at("/ground/laser")?;
    Ok(laser)
}

pub(super) fn parts(fiber: &scenario::Fiber) -> FiberParts {
    let launch = &fiber.launch;
    let facet = match launch.face_reflectance_ratio {
        Some(reflectance_ratio) => Facet::Coated { reflectance_ratio },
        None => Facet::Bare,
    };
    let spot_diameter_m = 1e-6 * launch.spot_diameter_um;
    let source = match launch.source {
        SourceForm::Uniform => {
            Source::Uniform { spot_diameter_m, numerical_aperture: launch.source_numerical_aperture }
        }
        SourceForm::Gaussian { beam_quality_m2 } => {
            Source::Gaussian { spot_diameter_m, beam_quality_m2_ratio: beam_quality_m2 }
        }
    };
    let connection = |c: &scenario::Connection| Connection {
        kind: match c.kind {
            scenario::ConnectionKind::Connector => ConnectionKind::Connector,
            scenario::ConnectionKind::Splice => ConnectionKind::Splice,
            scenario::ConnectionKind::RotaryJoint => ConnectionKind::RotaryJoint,
        },
        loss: beamstay_optics::connector::Loss { loss_db: c.loss_db },
    };
    FiberParts {
        launch: Launch { source, facet },
        ground_connections: fiber.ground_connections.iter().map(connection).collect(),
        fiber: Fiber {
            core_diameter_m: 1e-6 * fiber.core_diameter_um,
            cladding_diameter_m: 1e-6 * fiber.cladding_diameter_um,
            numerical_aperture: fiber.numerical_aperture,
            profile: CoreProfile::Step,
            attenuation: match fiber.attenuation {
                scenario::Attenuation::Measured { attenuation_db_per_km } => {
                    Attenuation::Measured { attenuation_db_per_km }
                }
                scenario::Attenuation::Composed { rayleigh_db_per_km, constant_db_per_km } => {
                    Attenuation::Composed(ComposedAttenuation {
                        rayleigh_db_um4_per_km: rayleigh_db_per_km,
                        constant_db_per_km,
                        ..ComposedAttenuation::low_hydroxyl_silica()
                    })
                }
            },
            coating_temp_limit_k: kelvin(fiber.coating_max_temperature_c),
        },
        aircraft_connections: fiber.aircraft_connections.iter().map(connection).collect(),
        output_facet: facet,
    }
}

/// Mass of a receiver as it stands in a scenario, kg.
///
/// # Errors
/// [`PlanError::Refused`] for a part that its model does not take.
pub(crate) fn receiver_mass_kg(spec: &scenario::Receiver) -> Result<f64, PlanError> {
    Ok(build_receiver(spec)?.mass().total_kg())
}

pub(super) fn build_receiver(spec: &scenario::Receiver) -> Result<Receiver, PlanError> {
    let sink = FinSink::new(sink_spec(&spec.sink)).at("/receiver/sink")?;
    let receiver = Receiver::new(ReceiverSpec {
        cell: Cell::new(cell_spec(&spec.cells)).at("/receiver/cells")?,
        series_count: spec.cells.series_count,
        parallel_count: spec.cells.parallel_count,
        shares: shares(spec).at("/receiver/light")?,
        reflection_ratio: spec.reflection_ratio,
        sink,
        junction_to_sink_k_per_w: spec.sink.junction_to_base_k_per_w,
        tracking_efficiency_ratio: spec.tracking_efficiency_ratio,
        converter: converter(&spec.converter, "/receiver/converter")?,
        optics_kg: spec.optics_kg,
        housing_kg: spec.housing_kg,
    })
    .at("/receiver")?;
    match spec.cells.bypass_forward_v {
        Some(forward_v) => receiver.with_bypass_diodes(forward_v).at("/receiver/cells/bypass_forward_v"),
        None => Ok(receiver),
    }
}

fn shares(spec: &scenario::Receiver) -> Result<Option<Shares>, OpticsError> {
    match &spec.light {
        LightOnCells::Even {} => Ok(None),
        LightOnCells::Shares { share_ratios } => Shares::in_proportion(share_ratios).map(Some),
        LightOnCells::OffsetSpot { cell_radius_ratio, offset_ratio } => {
            Shares::pie_sectors(spec.cells.series_count as usize, *cell_radius_ratio, 1.0, *offset_ratio)
                .map(Some)
        }
    }
}

fn cell_spec(cells: &scenario::Cells) -> CellSpec {
    CellSpec {
        area_m2: 1e-4 * cells.area_cm2,
        band: match cells.material {
            CellMaterial::GalliumArsenide => BandEdge::GALLIUM_ARSENIDE,
            CellMaterial::Silicon => BandEdge::SILICON,
            CellMaterial::IndiumGalliumArsenide => BandEdge::INDIUM_GALLIUM_ARSENIDE,
        },
        window_ev: WINDOW_EV,
        quantum_efficiency_ratio: cells.quantum_efficiency_ratio,
        reference_temperature_k: kelvin(25.0),
        saturation_a_per_m2: 1e4 * cells.saturation_a_per_cm2,
        ideality: cells.ideality,
        series_ohm_m2: 1e-4 * cells.series_resistance_ohm_cm2,
        series_change_per_k: cells.series_resistance_change_per_k,
        shunt_ohm_m2: 1e-4 * cells.shunt_resistance_ohm_cm2,
        shunt_change_per_k: cells.shunt_resistance_change_per_k,
        irradiance_limit_w_per_m2: cells.max_irradiance_w_per_cm2.map_or(1e9, |w_per_cm2| 1e4 * w_per_cm2),
        mass_kg_per_m2: 10.0 * cells.mass_g_per_cm2,
    }
}

fn sink_spec(sink: &scenario::Sink) -> FinSinkSpec {
    let fins = f64::from(sink.fins_count);
    let (conductivity_w_per_m_k, density_kg_m3) = match sink.metal {
        SinkMetal::Aluminium => (200.0, 2700.0),
        SinkMetal::Copper => (390.0, 8960.0),
    };
    FinSinkSpec {
        width_m: 1e-3 * (fins * sink.thickness_mm + (fins - 1.0) * sink.gap_mm),
        length_m: 1e-3 * sink.length_mm,
        base_thickness_m: 1e-3 * sink.base_thickness_mm,
        fins_count: sink.fins_count,
        fin_height_m: 1e-3 * sink.height_mm,
        fin_thickness_m: 1e-3 * sink.thickness_mm,
        conductivity_w_per_m_k,
        density_kg_m3,
        emissivity_ratio: FIN_EMISSIVITY_RATIO,
        channel_speed_ratio: CHANNEL_SPEED_RATIO,
    }
}
