//! Numbers that come out of an operating point, each by one name for sweeps, goals, uncertainty and figures.

use std::sync::OnceLock;

use serde::Serialize;
use serde_json::Value;

use super::Input;
use crate::{
    diagnostic::{Diagnostic, Fault},
    limit::{LimitCode, LimitRow},
    nearest::nearest,
    point::{LightPoint, OperatingPoint, TetherPoint, VehiclePoint},
    study::standing_of,
};

/// A number that comes out.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Output {
    /// Its name; ends in its unit.
    pub name: String,
    /// Its unit, empty for a pure number.
    pub unit: &'static str,
    /// What it is.
    pub meaning: String,
    #[serde(skip)]
    source: Source,
}

/// Where an output comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Source {
    Field(Field),
    Margin(LimitCode),
    MarginRatio(LimitCode),
}

/// A field of the operating point.
#[derive(Debug, Clone, Copy)]
struct Field(fn(&OperatingPoint) -> Option<f64>);

impl PartialEq for Field {
    /// Outputs are told apart by name.
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

impl Output {
    /// The output of this name.
    ///
    /// # Errors
    /// [`Fault::UnknownOutput`] with the nearest name.
    pub fn find(name: &str) -> Result<&'static Self, Box<Diagnostic>> {
        outputs().iter().find(|output| output.name == name).ok_or_else(|| {
            let suggestion = nearest(name, outputs().iter().map(|o| o.name.as_str())).map(str::to_owned);
            Box::new(Diagnostic::new("", Fault::UnknownOutput { name: name.to_owned(), suggestion }))
        })
    }

    /// The output of a point, in its unit; none where the point does not have it.
    pub fn of(&self, point: &OperatingPoint) -> Option<f64> {
        let row = |code| point.limits.iter().find(|row: &&LimitRow| row.code == code);
        let value = match self.source {
            Source::Field(field) => field.0(point),
            Source::Margin(code) => row(code).map(|row| row.margin),
            Source::MarginRatio(code) => row(code).and_then(|row| row.margin_ratio),
        };
        // The largest number stands for "none does" in a limit's row.
        value.filter(|v| v.is_finite() && v.abs() < f64::MAX)
    }

    /// The name in words, without its unit.
    pub fn words(&self) -> String {
        crate::schema::quantity_name(&self.name)
    }
}

/// An input or an output: what a search may maximise and a sweep may show.
#[derive(Debug, Clone, PartialEq)]
pub enum Quantity {
    /// A number of the scenario.
    Input(Box<Input>),
    /// A number of the operating point.
    Output(&'static Output),
}

impl Quantity {
    /// Reads the name of an output or, from its slash on, the pointer of an input.
    ///
    /// # Errors
    /// As [`Input::find`] and [`Output::find`].
    pub fn find(complete: &Value, text: &str) -> Result<Self, Box<Diagnostic>> {
        if text.starts_with('/') {
            Ok(Self::Input(Box::new(Input::find(complete, text)?)))
        } else {
            Ok(Self::Output(Output::find(text)?))
        }
    }

    /// Name of the output or pointer of the input.
    pub fn name(&self) -> &str {
        match self {
            Self::Input(input) => &input.pointer,
            Self::Output(output) => &output.name,
        }
    }

    /// Its unit, empty for a pure number.
    pub fn unit(&self) -> &str {
        match self {
            Self::Input(input) => &input.unit,
            Self::Output(output) => output.unit,
        }
    }

    /// It in words, without its unit.
    pub fn words(&self) -> String {
        match self {
            Self::Input(input) => input.pointer.rsplit('/').take(2).collect::<Vec<_>>().join(" of "),
            Self::Output(output) => output.words(),
        }
    }
}

/// Every output there is.
pub fn outputs() -> &'static [Output] {
    static OUTPUTS: OnceLock<Vec<Output>> = OnceLock::new();
    OUTPUTS.get_or_init(|| {
        let mut list: Vec<Output> = fields()
            .into_iter()
            .map(|(name, unit, meaning, field)| Output {
                name: name.to_owned(),
                unit,
                meaning: meaning.to_owned(),
                source: Source::Field(Field(field)),
            })
            .collect();
        for code in LimitCode::ALL {
            let (unit, ending) = unit_of_margin(code);
            let (stem, name) = (code.code(), code.words().name);
            list.push(Output {
                name: format!("{stem}_margin{ending}"),
                unit,
                meaning: format!("what is left of the limit \"{name}\""),
                source: Source::Margin(code),
            });
            list.push(Output {
                name: format!("{stem}_margin_ratio"),
                unit: "",
                meaning: format!("what is left of the limit \"{name}\" over its bound; none where that is 0"),
                source: Source::MarginRatio(code),
            });
        }
        list
    })
}

/// Unit of a limit's margin and the ending of its name. A margin of temperature is a difference.
fn unit_of_margin(code: LimitCode) -> (&'static str, &'static str) {
    match code {
        LimitCode::Power
        | LimitCode::LaserPower
        | LimitCode::LightPeak
        | LimitCode::ConverterPower
        | LimitCode::ShaftPower
        | LimitCode::MotorPower
        | LimitCode::RamanThreshold
        | LimitCode::BrillouinThreshold
        | LimitCode::LineTransfer
        | LimitCode::PowerInGust => ("W", "_w"),
        LimitCode::CellTemperature
        | LimitCode::DrumTemperature
        | LimitCode::LineTemperature
        | LimitCode::WindingTemperature => ("K", "_k"),
        LimitCode::CellIrradiance => ("W/cm²", "_w_per_cm2"),
        LimitCode::DataLinkLoss => ("dB", "_db"),
        LimitCode::BusVoltage => ("V", "_v"),
        LimitCode::MotorCurrent => ("A", "_a"),
        LimitCode::BandEdge
        | LimitCode::Strain
        | LimitCode::SpillOver
        | LimitCode::ThrustReserve
        | LimitCode::RotorsLost
        | LimitCode::LoadFactor
        | LimitCode::Stall => ("", ""),
        LimitCode::Tilt | LimitCode::TiltInGust | LimitCode::DrumElevation => ("°", "_deg"),
        LimitCode::AxialInflow | LimitCode::Headway | LimitCode::DescentRate => ("m/s", "_m_s"),
        LimitCode::DrumTension | LimitCode::BreakingLoad | LimitCode::Thrust => ("N", "_n"),
        LimitCode::TetherReach
        | LimitCode::BendRadius
        | LimitCode::Clearance
        | LimitCode::LineOnGround
        | LimitCode::LineLength
        | LimitCode::DataLinkLength
        | LimitCode::DrumCapacity => ("m", "_m"),
        LimitCode::GlassStress | LimitCode::GlassStressInGust | LimitCode::GlassStressOnDrum => {
            ("MPa", "_mpa")
        }
    }
}

type FieldRow = (&'static str, &'static str, &'static str, fn(&OperatingPoint) -> Option<f64>);

fn tether(point: &OperatingPoint, read: impl Fn(&TetherPoint) -> f64) -> Option<f64> {
    point.tether.as_ref().map(read)
}

fn in_gust(point: &OperatingPoint, read: impl Fn(&TetherPoint) -> f64) -> Option<f64> {
    point.tether_in_gust.as_ref().map(read)
}

fn vehicle(point: &OperatingPoint, read: impl Fn(&VehiclePoint) -> f64) -> Option<f64> {
    point.vehicle.as_ref().map(read)
}

fn light(point: &OperatingPoint, read: impl Fn(&LightPoint) -> f64) -> Option<f64> {
    point.light.as_ref().map(read)
}

fn fields() -> Vec<FieldRow> {
    vec![
        ("margin_w", "W", "power available at the bus less the demand", |p| p.margin_w),
        (
            "margin_ratio",
            "",
            "least margin of all limits over its bound, squashed below 0; continuous where a stage is missing",
            |p| Some(standing_of(p).level),
        ),
        ("feasible", "", "1 if every limit holds, else 0", |p| Some(f64::from(u8::from(p.feasible)))),
        ("demand_w", "W", "power that vehicle and payload draw from the bus in the mean wind", |p| {
            p.demand_w
        }),
        ("available_w", "W", "power that the delivery can put on the bus", |p| p.available_w),
        ("wall_w", "W", "power that the ground station draws", |p| p.wall_w),
        ("laser_setting_w", "W", "optical power of the laser that just meets the demand", |p| {
            p.laser_setting_w
        }),
        ("battery_min", "min", "how long the battery alone meets the demand", |p| p.battery_min),
        ("airborne_mass_kg", "kg", "mass in the air, tether not counted", |p| Some(p.masses.total_kg())),
        ("receiver_mass_kg", "kg", "mass of the receiver, or of the converter of a copper line", |p| {
            Some(p.masses.receiver_kg)
        }),
        ("battery_mass_kg", "kg", "mass of the battery", |p| Some(p.masses.battery_kg)),
        ("paid_out_m", "m", "length paid out, unstretched", |p| tether(p, |t| t.paid_out_m)),
        ("drum_tension_n", "N", "tension at the drum", |p| tether(p, |t| t.drum_tension_n)),
        ("top_tension_n", "N", "tension at the vehicle", |p| tether(p, |t| t.top_tension_n)),
        ("max_tension_n", "N", "largest tension in the mean wind", |p| tether(p, |t| t.max_tension_n)),
        ("max_tension_in_gust_n", "N", "largest tension in the gust", |p| in_gust(p, |t| t.max_tension_n)),
        ("drum_elevation_deg", "°", "elevation of the tether at the drum", |p| {
            tether(p, |t| t.drum_elevation_deg)
        }),
        ("lowest_point_m", "m", "lowest point of the tether over ground", |p| {
            tether(p, |t| t.lowest_point_m)
        }),
        ("on_ground_m", "m", "length of the tether that lies on the ground", |p| {
            tether(p, |t| t.on_ground_m)
        }),
        (
            "touchdown_distance_m",
            "m",
            "distance from the drum at which the tether touches down; absent where it hangs free",
            |p| Some(p.tether?.lies?.touchdown_distance_m),
        ),
        ("min_bend_radius_m", "m", "smallest bend radius in the air", |p| tether(p, |t| t.min_bend_radius_m)),
        ("pull_down_n", "N", "downward part of the tether's pull on the vehicle", |p| {
            tether(p, |t| -t.force_on_vehicle_n[2])
        }),
        ("thrust_n", "N", "thrust of all rotors in the mean wind", |p| vehicle(p, |v| v.thrust_n)),
        ("tilt_deg", "°", "tilt in the mean wind; of a wing, bank", |p| vehicle(p, |v| v.tilt_deg)),
        ("tilt_in_gust_deg", "°", "tilt in the gust", |p| p.vehicle_in_gust.map(|v| v.tilt_deg)),
        ("airspeed_m_s", "m/s", "speed of the air past the vehicle", |p| vehicle(p, |v| v.airspeed_m_s)),
        ("axial_inflow_m_s", "m/s", "air through the rotors from above", |p| {
            vehicle(p, |v| v.axial_inflow_m_s)
        }),
        ("shaft_w", "W", "shaft power", |p| vehicle(p, |v| v.shaft_w)),
        ("electrical_w", "W", "power of the controllers from the bus", |p| vehicle(p, |v| v.electrical_w)),
        ("body_drag_n", "N", "drag of the body", |p| vehicle(p, |v| v.body_drag_n)),
        ("thrust_reserve_in_gust_ratio", "", "largest thrust over thrust in the gust", |p| {
            p.vehicle_in_gust.and_then(|v| v.thrust_reserve_ratio)
        }),
        ("laser_w", "W", "optical power of the laser as it is set", |p| light(p, |l| l.laser_w)),
        ("launched_w", "W", "optical power behind the launch", |p| light(p, |l| l.launched_w)),
        ("arriving_w", "W", "optical power at the receiver", |p| light(p, |l| l.arriving_w)),
        ("path_ratio", "", "arriving over laser power", |p| light(p, |l| l.path_ratio)),
        ("cell_temp_c", "°C", "temperature of the cells with the demand drawn", |p| {
            light(p, |l| l.cell_temp_c)
        }),
        (
            "cell_temp_load_lost_c",
            "°C",
            "temperature of the cells with nothing drawn under the same light",
            |p| light(p, |l| l.cell_temp_load_lost_c),
        ),
        ("cells_w", "W", "electrical power of the cells", |p| light(p, |l| l.cells_w)),
        ("cell_efficiency_ratio", "", "cells' power over arriving light", |p| {
            light(p, |l| l.cell_efficiency_ratio)
        }),
        (
            "receiver_specific_power_w_per_kg",
            "W/kg",
            "most power at the bus over the mass of the receiver",
            |p| light(p, |l| l.receiver_specific_power_w_per_kg),
        ),
        ("range_m", "m", "length of a free beam's way", |p| p.light.and_then(|l| l.range_m)),
        ("spill_over_w", "W", "light of a free beam that passes beside the receiver", |p| {
            p.light.and_then(|l| l.spill_over_w)
        }),
        ("drum_temp_c", "°C", "temperature of the hottest layer on the drum", |p| {
            p.light.and_then(|l| l.drum_temp_c)
        }),
        ("line_loss_w", "W", "heat in a copper line", |p| p.line.map(|l| l.loss_w)),
        ("line_current_a", "A", "current in a copper line", |p| p.line.map(|l| l.current_a)),
        ("system_efficiency_ratio", "", "demand over wall power", |p| {
            Some(p.demand_w? / p.wall_w.filter(|w| *w > 0.0)?)
        }),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Document, System, load, units::unit_of_key};

    #[test]
    fn names_are_unique_and_end_in_their_unit() {
        for (index, output) in outputs().iter().enumerate() {
            assert!(outputs()[..index].iter().all(|o| o.name != output.name), "{}", output.name);
            assert_eq!(unit_of_key(&output.name).unwrap_or_default(), output.unit, "{}", output.name);
        }
    }

    #[test]
    fn a_slip_is_mended() {
        let fault = Output::find("cell_tmp_c").unwrap_err();
        assert_eq!((fault.code(), fault.help().as_str()), ("E0404", "did you mean cell_temp_c?"));
        assert!(Output::find("colour").unwrap_err().help().contains("--outputs"));
    }

    #[test]
    fn figures_of_the_gust_are_not_those_of_the_mean_wind() {
        let text = include_str!("../../../../scenarios/breakwater-lookout.json");
        let scenario = load(&Document::parse(text).unwrap()).unwrap().scenario;
        let system = System::new(&scenario).unwrap();
        let point = system.operate(&system.place(&scenario.station).unwrap()).unwrap();
        let of = |name: &str| Output::find(name).unwrap().of(&point).unwrap();
        let (mean, gust) = (point.tether.unwrap(), point.tether_in_gust.unwrap());
        assert_eq!(of("max_tension_n"), mean.max_tension_n);
        assert_eq!(of("max_tension_in_gust_n"), gust.max_tension_n);
        assert!(gust.max_tension_n > mean.max_tension_n);
        assert_eq!(of("tilt_in_gust_deg"), point.vehicle_in_gust.unwrap().tilt_deg);
    }

    #[test]
    fn margins_carry_the_unit_of_their_rows() {
        for text in [
            include_str!("../../../../scenarios/breakwater-lookout.json"),
            include_str!("../../../../scenarios/harvest-market.json"),
            include_str!("../../../../scenarios/free-beam-loiter.json"),
            include_str!("../../../../scenarios/reservoir-inspector.json"),
        ] {
            let scenario = load(&Document::parse(text).unwrap()).unwrap().scenario;
            let system = System::new(&scenario).unwrap();
            let point = system.operate(&system.place(&scenario.station).unwrap()).unwrap();
            for row in &point.limits {
                let unit = if row.unit == "°C" { "K" } else { row.unit };
                assert_eq!(unit_of_margin(row.code).0, unit, "{:?}", row.code);
                let (_, ending) = unit_of_margin(row.code);
                let output = Output::find(&format!("{}_margin{ending}", row.code.code())).unwrap();
                assert_eq!(output.of(&point), Some(row.margin));
            }
        }
    }
}
