//! The light of a plan: laser, path and receiver, and the laser setting that just meets a demand.

use beamstay_electrical::chiller::Chiller;
use beamstay_environment::fluid::Fluid;
use beamstay_optics::{
    OpticsError,
    data_link::Budget,
    fiber::{FiberPath, FiberRun},
    laser::{Laser, LaserOperation},
    receiver::{ArrivingForBus, CooledSink, Draw, Receiver, ReceiverOperation},
};

use crate::{
    error::{At, PlanError},
    scenario::{self, Cooling, LaserControl, Scenario},
    system::{
        line::{TetherLine, kelvin},
        route::Route,
        surroundings::Surroundings,
    },
};

mod build;

pub(crate) use build::receiver_mass_kg;
use build::{build_receiver, data_link, laser, parts};

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
#[non_exhaustive]
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
        let full = self.full(cooled, path_ratio)?;
        match self.control {
            LaserControl::Steady => Ok(full.bus_w),
            LaserControl::DimmedToDemand => self.most_bus_w(&full, cooled),
        }
    }

    /// The receiver at maximum power with the laser at its rating.
    fn full(&self, cooled: &CooledSink, path_ratio: f64) -> Result<ReceiverOperation, OpticsError> {
        let arriving_w = self.laser.rated_optical_w * path_ratio;
        self.receiver.operate(arriving_w, self.route.wavelength_m(), cooled, Draw::MaximumPower)
    }

    /// Meets `demand_w` at the bus as far as the laser goes.
    pub fn meet(&self, demand_w: f64, cooled: &CooledSink, path_ratio: f64) -> Result<Lit, OpticsError> {
        let (rated_w, wavelength_m) = (self.laser.rated_optical_w, self.route.wavelength_m());
        let full = self.full(cooled, path_ratio)?;
        let (setting, found) = self.setting(demand_w, cooled, path_ratio)?;
        let dimmed = setting
            .laser_w()
            .zip(found)
            .filter(|(laser_w, _)| self.control == LaserControl::DimmedToDemand && *laser_w <= rated_w);
        let (emitted_w, most) = dimmed.unwrap_or((rated_w, full));
        let drawn = self.receiver.drawn_under(&most, demand_w, wavelength_m, cooled)?;
        let lost = self.receiver.operate(most.arriving_w, wavelength_m, cooled, Draw::Nothing)?;
        let (available_w, limiting_temp_k) = match self.control {
            LaserControl::Steady => (full.bus_w, lost.hottest_cell_temp_k),
            LaserControl::DimmedToDemand => (self.most_bus_w(&full, cooled)?, drawn.hottest_cell_temp_k),
        };
        let laser = self.laser.operate(emitted_w, self.coolant_temp_k)?;
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
        let ceiling_w = 10.0 * (self.laser.rated_optical_w * path_ratio).clamp(0.0, 1e5);
        if ceiling_w <= 0.0 {
            return Ok((Setting::NoneCloses { best_bus_w: 0.0, demand_w }, None));
        }
        let wavelength_m = self.route.wavelength_m();
        Ok(match self.receiver.arriving_for_bus(demand_w, wavelength_m, cooled, ceiling_w)? {
            ArrivingForBus::Found { arriving_w, operation } => {
                (Setting::Found { laser_w: arriving_w / path_ratio }, Some(operation))
            }
            ArrivingForBus::NoneCloses { best_bus_w, .. } => {
                (Setting::NoneCloses { best_bus_w, demand_w }, None)
            }
        })
    }

    /// Most power at the bus with the laser set anywhere up to its rating, where the receiver is as `full`, and the cells no
    /// hotter than allowed.
    fn most_bus_w(&self, full: &ReceiverOperation, cooled: &CooledSink) -> Result<f64, OpticsError> {
        let (receiver, wavelength_m) = (&self.receiver, self.route.wavelength_m());
        let allowed =
            receiver.at_temperature(self.max_cell_temp_k, full, wavelength_m, cooled, Draw::MaximumPower)?;
        Ok(receiver.peak_below(&allowed, wavelength_m, cooled)?.bus_w.max(allowed.bus_w))
    }
}
