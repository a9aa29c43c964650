//! The light of a plan: laser, path and receiver, and the laser setting that just meets a demand.

use beamstay_electrical::chiller::Chiller;
use beamstay_environment::fluid::Fluid;
use beamstay_optics::{
    OpticsError,
    connector::{Connection, ConnectionKind},
    data_link::{Budget, Interface, Link, MultimodeGrade, budget},
    fiber::{Attenuation, ComposedAttenuation, CoreProfile, Fiber, FiberParts, FiberPath, FiberRun},
    laser::{Conversion, Diodes, Laser, LaserOperation, WallPlug},
    launch::{Facet, Launch, Source},
    receiver::{
        ArrivingForBus, BandEdge, Cell, CellSpec, CooledSink, Draw, FinSink, FinSinkSpec, Receiver,
        ReceiverOperation, ReceiverSpec, Shares,
    },
};

use crate::{
    error::{At, PlanError},
    scenario::{
        self, CellMaterial, Cooling, DataInterface, LaserControl, LaserEfficiency, LightOnCells, Scenario,
        SinkMetal, SourceForm,
    },
    system::{
        converter,
        line::{TetherLine, kelvin},
        route::Route,
        surroundings::Surroundings,
    },
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

/// Laser, path and receiver.
#[derive(Debug, Clone)]
pub struct Light {
    /// The laser.
    pub laser: Laser,
    /// Temperature of its coolant, K.
    pub coolant_temp_k: f64,
    /// How it is set.
    pub control: LaserControl,
    /// Its chiller.
    pub chiller: Chiller,
    /// Air around chiller and drum, K.
    pub ambient_temp_k: f64,
    /// The way of the light.
    pub route: Route,
    /// The receiver.
    pub receiver: Receiver,
    /// The air that cools it.
    pub cooling: Cooling,
    /// Largest temperature of the cells, K.
    pub max_cell_temp_k: f64,
    /// Largest irradiance that may enter a cell, W/m², if the plan states one.
    pub max_irradiance_w_per_m2: Option<f64>,
    /// Loss budget of the data link on a second fiber, if there is one, and its length, m.
    pub data_link: Option<(Budget, f64)>,
}

/// The light with a demand on the bus.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lit {
    /// The laser as it is set.
    pub laser: LaserOperation,
    /// Power of the chiller, W.
    pub chiller_w: f64,
    /// Laser setting that just meets the demand, whatever the rating.
    pub setting: Setting,
    /// Most power at the bus, W.
    pub available_w: f64,
    /// The receiver with the demand drawn.
    pub drawn: ReceiverOperation,
    /// The receiver at its maximum power point under the same light.
    pub most: ReceiverOperation,
    /// The receiver with nothing drawn under the same light.
    pub lost: ReceiverOperation,
    /// Temperature that counts for the limit, K.
    pub limiting_temp_k: f64,
}

/// Laser setting that just meets a demand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Setting {
    /// The least that does.
    Found {
        /// Optical power of the laser, W.
        laser_w: f64,
    },
    /// No light does, up to ten times the rated power.
    NoneCloses {
        /// Most power at the bus, W.
        best_bus_w: f64,
        /// The demand, W.
        demand_w: f64,
    },
}

impl Setting {
    /// Optical power of the laser, W; none if no light meets the demand.
    pub fn laser_w(self) -> Option<f64> {
        match self {
            Self::Found { laser_w } => Some(laser_w),
            Self::NoneCloses { .. } => None,
        }
    }
}

impl Light {
    /// Builds the light that goes through a fiber.
    pub fn through_fiber(
        scenario: &Scenario,
        fiber: &scenario::Fiber,
        line: Option<&TetherLine>,
        surroundings: &Surroundings,
    ) -> Result<Self, PlanError> {
        Self::build(scenario, surroundings, |wavelength_m, _| {
            let path = FiberPath::new(parts(fiber)).at("/delivery/fiber")?;
            let run = FiberRun {
                wavelength_m,
                total_length_m: fiber.total_length_m,
                wound_length_m: 0.0,
                bend_radius_m: line.map(|line| line.winding.innermost_bend_radius_m()),
            };
            Route::fiber(path, run)
        })
        .and_then(|light| Ok(Self { data_link: data_link(fiber)?, ..light }))
    }

    /// Builds the light that goes through the air.
    pub fn through_air(
        scenario: &Scenario,
        beam: &scenario::FreeBeam,
        surroundings: &Surroundings,
    ) -> Result<Self, PlanError> {
        Self::build(scenario, surroundings, |wavelength_m, receiver| {
            Route::beam(beam, receiver, wavelength_m)
        })
    }

    fn build(
        scenario: &Scenario,
        surroundings: &Surroundings,
        route: impl FnOnce(f64, &scenario::Receiver) -> Result<Route, PlanError>,
    ) -> Result<Self, PlanError> {
        let source = scenario
            .ground
            .laser
            .as_ref()
            .ok_or_else(|| PlanError::needs("/ground", "light", "\"laser\" in ground"))?;
        let receiver = scenario
            .receiver
            .as_ref()
            .ok_or_else(|| PlanError::needs("", "light", "\"receiver\" in the scenario"))?;
        let laser = laser(source)?;
        let coolant_temp_k = kelvin(source.coolant_temperature_c);
        let idle = laser.operate(0.0, coolant_temp_k).at("/ground/laser")?;
        Ok(Self {
            laser,
            coolant_temp_k,
            control: source.control,
            chiller: Chiller::fixed(scenario.ground.chiller.coefficient_of_performance)
                .at("/ground/chiller")?,
            ambient_temp_k: surroundings.ground_air.temperature_k,
            route: route(idle.wavelength_m, receiver)?,
            receiver: build_receiver(receiver)?,
            cooling: receiver.cooling,
            max_cell_temp_k: kelvin(receiver.cells.max_temperature_c),
            max_irradiance_w_per_m2: receiver.cells.max_irradiance_w_per_cm2.map(|w_per_cm2| 1e4 * w_per_cm2),
            data_link: None,
        })
    }

    /// Mass of the receiver, kg.
    pub fn receiver_mass_kg(&self) -> f64 {
        self.receiver.mass().total_kg()
    }

    /// Photon energy over the gap of the cells at `cell_temp_k`.
    pub fn band_edge_ratio(&self, cell_temp_k: f64) -> f64 {
        let energy_ev = beamstay_optics::receiver::balance::photon_energy_ev(self.route.wavelength_m());
        energy_ev / self.receiver.spec().cell.spec().band.gap_ev(cell_temp_k)
    }

    /// The sink in the air that comes to it: `wake_m_s` at the disks, `stream_m_s` past the vehicle.
    pub fn cooled(&self, fluid: &Fluid, wake_m_s: f64, stream_m_s: f64) -> Result<CooledSink, OpticsError> {
        self.receiver.spec().sink.cooled_by(fluid, self.cooling_speed_m_s(wake_m_s, stream_m_s))
    }

    /// Speed of the air that comes to the sink, m/s.
    pub(crate) fn cooling_speed_m_s(&self, wake_m_s: f64, stream_m_s: f64) -> f64 {
        let speed_m_s = match self.cooling {
            Cooling::Wake { fraction_ratio } => fraction_ratio * wake_m_s,
            Cooling::Stream { fraction_ratio } => fraction_ratio * stream_m_s,
            Cooling::Still {} => 0.0,
        };
        speed_m_s.min(200.0)
    }

    /// Most power at the bus that the laser can give, W.
    pub(crate) fn available_w(&self, cooled: &CooledSink, path_ratio: f64) -> Result<f64, OpticsError> {
        let arriving_w = self.laser.rated_optical_w * path_ratio;
        match self.control {
            LaserControl::Steady => {
                let wavelength_m = self.route.wavelength_m();
                Ok(self.receiver.operate(arriving_w, wavelength_m, cooled, Draw::MaximumPower)?.bus_w)
            }
            LaserControl::DimmedToDemand => self.most_bus_w(cooled, path_ratio),
        }
    }

    /// Meets `demand_w` at the bus as far as the laser goes.
    pub fn meet(&self, demand_w: f64, cooled: &CooledSink, path_ratio: f64) -> Result<Lit, OpticsError> {
        let rated_w = self.laser.rated_optical_w;
        let at = |emitted_w: f64, draw| {
            self.receiver.operate(emitted_w * path_ratio, self.route.wavelength_m(), cooled, draw)
        };
        let (setting, found) = self.setting(demand_w, cooled, path_ratio)?;
        let within = setting.laser_w().filter(|w| *w <= rated_w);
        let emitted_w = match self.control {
            LaserControl::Steady => rated_w,
            LaserControl::DimmedToDemand => within.unwrap_or(rated_w),
        };
        let most = match found.filter(|_| self.control == LaserControl::DimmedToDemand && within.is_some()) {
            Some(operation) => operation,
            None => at(emitted_w, Draw::MaximumPower)?,
        };
        let drawn = at(emitted_w, Draw::Bus(demand_w))?;
        let lost = at(emitted_w, Draw::Nothing)?;
        let available_w = match self.control {
            LaserControl::Steady => most.bus_w,
            LaserControl::DimmedToDemand => self.most_bus_w(cooled, path_ratio)?,
        };
        let laser = self.laser.operate(emitted_w, self.coolant_temp_k)?;
        let limiting_temp_k = match self.control {
            LaserControl::Steady => lost.hottest_cell_temp_k,
            LaserControl::DimmedToDemand => drawn.hottest_cell_temp_k,
        };
        Ok(Lit {
            chiller_w: self.chiller.electrical_w(laser.heat_w, self.coolant_temp_k, self.ambient_temp_k),
            laser,
            setting,
            available_w,
            drawn,
            most,
            lost,
            limiting_temp_k,
        })
    }

    /// Laser setting that just meets `demand_w`, looked for up to ten times the rating, so that a plan that misses can
    /// say by how much; with the receiver at that setting, all drawn.
    fn setting(
        &self,
        demand_w: f64,
        cooled: &CooledSink,
        path_ratio: f64,
    ) -> Result<(Setting, Option<ReceiverOperation>), OpticsError> {
        let mut best_bus_w = 0.0;
        let ceiling_w = (self.laser.rated_optical_w * path_ratio).clamp(0.0, 1e5);
        for ceiling_w in [ceiling_w, 10.0 * ceiling_w] {
            if ceiling_w <= 0.0 {
                break;
            }
            let found =
                self.receiver.arriving_for_bus(demand_w, self.route.wavelength_m(), cooled, ceiling_w)?;
            match found {
                ArrivingForBus::Found { arriving_w, operation } => {
                    return Ok((Setting::Found { laser_w: arriving_w / path_ratio }, Some(operation)));
                }
                ArrivingForBus::NoneCloses { best_bus_w: bus_w, at_arriving_w } => {
                    best_bus_w = bus_w;
                    // A peak below the ceiling: more light only makes it worse.
                    if at_arriving_w < 0.99 * ceiling_w {
                        break;
                    }
                }
            }
        }
        Ok((Setting::NoneCloses { best_bus_w, demand_w }, None))
    }

    /// Most power at the bus with the laser set anywhere up to its rating and the cells no hotter than allowed.
    fn most_bus_w(&self, cooled: &CooledSink, path_ratio: f64) -> Result<f64, OpticsError> {
        let (wavelength_m, ceiling_w) = (self.route.wavelength_m(), self.laser.rated_optical_w * path_ratio);
        let at = |arriving_w| self.receiver.operate(arriving_w, wavelength_m, cooled, Draw::MaximumPower);
        let full = at(ceiling_w)?;
        if full.hottest_cell_temp_k <= self.max_cell_temp_k && at(0.99 * ceiling_w)?.bus_w <= full.bus_w {
            return Ok(full.bus_w);
        }
        let allowed_w = self.receiver.arriving_at_temperature(
            self.max_cell_temp_k,
            wavelength_m,
            cooled,
            Draw::MaximumPower,
            ceiling_w,
        )?;
        let best_w = self.receiver.peak(wavelength_m, cooled, allowed_w);
        Ok(at(best_w)?.bus_w.max(at(allowed_w)?.bus_w))
    }
}

/// Loss budget of the data link, whose fiber is as long as the one of the power.
fn data_link(fiber: &scenario::Fiber) -> Result<Option<(Budget, f64)>, PlanError> {
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

fn laser(source: &scenario::Laser) -> Result<Laser, PlanError> {
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

fn parts(fiber: &scenario::Fiber) -> FiberParts {
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

fn build_receiver(spec: &scenario::Receiver) -> Result<Receiver, PlanError> {
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
