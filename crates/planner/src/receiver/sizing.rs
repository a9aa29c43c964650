//! Receivers of one mass: what grows with what, and the height of the fins that leaves most.

use std::sync::atomic::{AtomicU64, Ordering};

use beamstay_numerics::constants::ZERO_CELSIUS_K;
use beamstay_optics::receiver::Draw;

use super::ReceiverPoint;
use crate::{
    PlanError, Scenario, System,
    limit::LimitCode,
    operate::Hanging,
    point::VehiclePoint,
    scenario::{Aperture, LaserControl, Receiver},
    system::{Place, Way, route::clear_area},
};

/// Heights of fins that are tried, mm.
const FIN_HEIGHTS_MM: (f64, f64) = (1.5, 150.0);
/// Heights of the first pass.
const HEIGHTS_COUNT: usize = 8;
/// Passes that halve the distance between heights.
const REFINEMENTS: usize = 4;
/// Steps to the size that has the mass.
const SIZE_STEPS: usize = 24;

/// A receiver and what it does.
#[derive(Debug, Clone, PartialEq)]
pub struct Sized {
    /// As it stands in a scenario.
    pub receiver: Receiver,
    /// What it does.
    pub point: ReceiverPoint,
}

/// A plan on which receivers are tried. The tether hangs the same whatever the receiver weighs.
pub struct Bench {
    scenario: Scenario,
    receiver: Receiver,
    place: Place,
    hanging: Hanging,
    /// Mass of the receiver as stated, kg.
    pub stated_kg: f64,
    /// Demand with a receiver without mass, W.
    pub demand_without_mass_w: f64,
    evaluations_count: AtomicU64,
}

impl Bench {
    /// A plan with its receiver.
    ///
    /// # Errors
    /// [`PlanError`] as of a point, or if the vehicle finds no balance even with a receiver without mass.
    pub fn new(scenario: &Scenario, receiver: &Receiver) -> Result<Self, PlanError> {
        let mut system = System::new(scenario)?;
        let place = system.place(&scenario.station)?;
        let hanging = system.hang(&place, None)?;
        let stated_kg = system.masses.receiver_kg;
        system.masses.receiver_kg = 0.0;
        let demand_without_mass_w = system.operate_on(&place, &hanging)?.demand_w.ok_or_else(|| {
            PlanError::model("/vehicle", "the plan has no balance even without the receiver's mass")
        })?;
        Ok(Self {
            scenario: scenario.clone(),
            receiver: receiver.clone(),
            place,
            hanging,
            stated_kg,
            demand_without_mass_w,
            evaluations_count: AtomicU64::new(1),
        })
    }

    /// Points computed.
    pub fn evaluations_count(&self) -> u64 {
        self.evaluations_count.load(Ordering::Relaxed)
    }

    /// The receiver as stated.
    pub fn stated(&self) -> Option<ReceiverPoint> {
        self.point(&self.receiver)
    }

    /// What a receiver does; none where the plan has no balance, a model refuses it, or steady light would overheat its cells.
    fn point(&self, receiver: &Receiver) -> Option<ReceiverPoint> {
        self.evaluations_count.fetch_add(1, Ordering::Relaxed);
        let scenario = Scenario { receiver: Some(receiver.clone()), ..self.scenario.clone() };
        let system = System::new(&scenario).ok()?;
        let point = system.operate_on(&self.place, &self.hanging).ok()?;
        let (delivered_w, demand_w, lit) = (point.available_w?, point.demand_w?, point.light?);
        let full_light_c = self.cells_in_full_light_c(&system, &point.vehicle?, lit.path_ratio)?;
        let steady = matches!(scenario.ground.laser.as_ref()?.control, LaserControl::Steady);
        if steady && point.limits.iter().any(|row| row.code == LimitCode::CellTemperature && !row.ok) {
            return None;
        }
        let carrying_w = demand_w - self.demand_without_mass_w;
        let cells = f64::from(receiver.cells.series_count) * f64::from(receiver.cells.parallel_count);
        Some(ReceiverPoint {
            mass_kg: system.masses.receiver_kg,
            delivered_w,
            carrying_w,
            net_w: delivered_w - carrying_w,
            margin_w: delivered_w - demand_w,
            marginal_w_per_g: None,
            cells_area_cm2: cells * receiver.cells.area_cm2,
            aperture_m2: receiver.aperture.as_ref().map(|aperture| clear_area(aperture).area_m2()),
            fins_count: receiver.sink.fins_count,
            fin_height_mm: receiver.sink.height_mm,
            converter_rated_w: receiver.converter.rated_w,
            cell_temp_c: full_light_c.min(receiver.cells.max_temperature_c),
            dimmed_for_heat: full_light_c > receiver.cells.max_temperature_c,
        })
    }

    /// The hottest cell with the laser at its rating and the most power drawn, °C.
    fn cells_in_full_light_c(&self, system: &System, vehicle: &VehiclePoint, path_ratio: f64) -> Option<f64> {
        let Way::Light(light) = &system.way else { return None };
        let fluid = system.surroundings.mean.fluid_at(self.place.position_m.z);
        let cooled = light.cooled(&fluid, vehicle.wake_m_s, vehicle.airspeed_m_s).ok()?;
        let arriving_w = light.laser.rated_optical_w * path_ratio;
        let wavelength_m = light.route.wavelength_m();
        let at = light.receiver.operate(arriving_w, wavelength_m, &cooled, Draw::MaximumPower).ok()?;
        Some(at.hottest_cell_temp_k - ZERO_CELSIUS_K)
    }

    /// The receiver of at most `mass_kg` that leaves most, within the mass of one fin.
    pub fn best_of_mass(&self, mass_kg: f64) -> Option<Sized> {
        let (low, high) = (FIN_HEIGHTS_MM.0.ln(), FIN_HEIGHTS_MM.1.ln());
        let mut step = (high - low) / (HEIGHTS_COUNT - 1) as f64;
        let mut best: Option<(f64, Sized)> = None;
        let keep = |ln_mm: f64, best: &mut Option<(f64, Sized)>| {
            if let Some(sized) = self.of_mass(mass_kg, ln_mm.exp())
                && best.as_ref().is_none_or(|(_, known)| sized.point.net_w > known.point.net_w)
            {
                *best = Some((ln_mm, sized));
            }
        };
        for i in 0..HEIGHTS_COUNT {
            keep(low + step * i as f64, &mut best);
        }
        for _ in 0..REFINEMENTS {
            step *= 0.5;
            let middle = best.as_ref()?.0;
            keep((middle - step).max(low), &mut best);
            keep((middle + step).min(high), &mut best);
        }
        best.map(|(_, sized)| sized)
    }

    /// The receiver with fins of a height that has the mass: its size and the rating of its converter.
    fn of_mass(&self, mass_kg: f64, fin_height_mm: f64) -> Option<Sized> {
        // The converter is rated for what is delivered, which the size decides: both settle together.
        let converter = &self.receiver.converter;
        // Not so much to begin with that the converter alone has the mass.
        let lightest_w = 0.3 * mass_kg * converter.rated_w / converter.mass_kg.max(1e-9);
        let mut rated_w = converter.rated_w.min(lightest_w);
        let mut found = None;
        for _ in 0..4 {
            let size_ratio = self.size_of_mass(mass_kg, fin_height_mm, rated_w)?;
            let receiver = self.sized(size_ratio, fin_height_mm, rated_w);
            let point = self.point(&receiver)?;
            let change = (point.delivered_w / rated_w - 1.0).abs();
            rated_w = point.delivered_w.clamp(0.1, 1e5);
            found = Some(Sized { receiver, point });
            if change < 2e-3 {
                break;
            }
        }
        found
    }

    /// The largest size whose mass is at most `mass_kg`.
    fn size_of_mass(&self, mass_kg: f64, fin_height_mm: f64, rated_w: f64) -> Option<f64> {
        let mass = |ratio: f64| mass_kg_of(&self.sized(ratio, fin_height_mm, rated_w));
        let (mut low, mut high) = (1e-3, 1e3);
        if mass(low) > mass_kg {
            return None;
        }
        for _ in 0..SIZE_STEPS {
            let middle = f64::sqrt(low * high);
            if mass(middle) <= mass_kg { low = middle } else { high = middle }
        }
        Some(low)
    }

    /// The stated receiver `ratio` times as large, with other fins and another converter.
    fn sized(&self, ratio: f64, fin_height_mm: f64, rated_w: f64) -> Receiver {
        let mut receiver = self.receiver.clone();
        let side = ratio.sqrt();
        receiver.cells.area_cm2 *= ratio;
        match &mut receiver.aperture {
            None => {}
            Some(Aperture::Round { diameter_m }) => *diameter_m *= side,
            Some(Aperture::Square { side_m }) => *side_m *= side,
            Some(Aperture::Ring { outer_diameter_m, inner_diameter_m }) => {
                *outer_diameter_m *= side;
                *inner_diameter_m *= side;
            }
        }
        let fins = f64::from(receiver.sink.fins_count) * ratio;
        receiver.sink.fins_count = fins.round().clamp(2.0, 2000.0) as u32;
        receiver.sink.height_mm = fin_height_mm;
        receiver.sink.junction_to_base_k_per_w /= ratio;
        receiver.optics_kg *= ratio;
        receiver.housing_kg *= ratio;
        let converter = &mut receiver.converter;
        let grows = rated_w / converter.rated_w;
        converter.mass_kg *= grows;
        converter.standby_w *= grows;
        converter.rated_w = rated_w;
        receiver
    }
}

/// Mass of a receiver, kg, by its model; infinite if the model refuses it.
fn mass_kg_of(receiver: &Receiver) -> f64 {
    crate::system::light::receiver_mass_kg(receiver).unwrap_or(f64::INFINITY)
}
