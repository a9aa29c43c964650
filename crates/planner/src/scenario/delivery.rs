//! The way the power takes from the ground to the vehicle.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{defaults, tether::Tether};

/// The way the power takes: exactly one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
#[non_exhaustive]
pub enum Delivery {
    /// Light through a fiber that is also the tether.
    Fiber(Box<Fiber>),
    /// Light through free air.
    FreeBeam(Box<FreeBeam>),
    /// Direct current through a pair of wires that is also the tether.
    Copper(Box<Copper>),
    /// Nothing: the vehicle lives on its battery.
    None {},
}

/// Light through a fiber that is also the tether.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Fiber {
    /// Diameter of the core that carries the light.
    #[schemars(range(min = 4.0, max = 2000.0))]
    pub core_diameter_um: f64,
    /// Diameter of the glass.
    #[schemars(range(min = 50.0, max = 3000.0))]
    pub cladding_diameter_um: f64,
    /// Numerical aperture.
    #[schemars(range(min = 0.03, max = 0.6))]
    pub numerical_aperture: f64,
    /// Loss per length.
    pub attenuation: Attenuation,
    /// All the fiber, on the drum and in the air. The light crosses all of it.
    #[schemars(range(min = 1.0, max = 20000.0))]
    pub total_length_m: f64,
    /// How the light enters.
    pub launch: Launch,
    /// Connectors and splices on the ground, before the drum.
    #[serde(default)]
    #[schemars(length(max = 32))]
    pub ground_connections: Vec<Connection>,
    /// Connectors and splices on the vehicle.
    #[serde(default)]
    #[schemars(length(max = 32))]
    pub aircraft_connections: Vec<Connection>,
    /// Largest temperature of the coating. Default 85 °C, telecom acrylate, long term (Chien and Kozlov 2014).
    #[serde(default = "defaults::coating_max_temperature_c")]
    #[schemars(range(min = 20.0, max = 800.0))]
    pub coating_max_temperature_c: f64,
    /// Proof stress of the glass. Default 689 MPa, that is 100 kpsi.
    #[serde(default = "defaults::proof_stress_mpa")]
    #[schemars(range(min = 50.0, max = 5000.0))]
    pub proof_stress_mpa: f64,
    /// The line around the fiber.
    pub tether: Tether,
    /// Data link on a second fiber in the line, as long as the first. Left out, none is checked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub data_link: Option<DataLink>,
}

/// A data link on a second fiber, checked against the loss budget of its optical interface.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DataLink {
    /// Optical interface of Ethernet (IEEE 802.3).
    pub interface: DataInterface,
    /// Attenuation of the second fiber; left out, what the cabling standard counts with: 3.5 dB/km at 850 nm, 0.4 dB/km for
    /// single mode.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.1, max = 1000.0))]
    pub attenuation_db_per_km: Option<f64>,
    /// Mated pairs of connectors between the plugs. Default 2.
    #[serde(default = "defaults::data_connectors_count")]
    #[schemars(range(min = 0, max = 1000))]
    pub connectors_count: u32,
    /// Loss of one pair. Default 0.75 dB, the largest allowed by ISO/IEC 14763-3:2024.
    #[serde(default = "defaults::data_connector_loss_db")]
    #[schemars(range(min = 0.0, max = 20.0))]
    pub connector_loss_db: f64,
    /// Splices. Default 0.
    #[serde(default)]
    #[schemars(range(min = 0, max = 1000))]
    pub splices_count: u32,
    /// Loss of one splice. Default 0.3 dB (TIA-568.3, from memory).
    #[serde(default = "defaults::data_splice_loss_db")]
    #[schemars(range(min = 0.0, max = 20.0))]
    pub splice_loss_db: f64,
    /// Everything else: rotary joint, bends, attenuator. Default 0 dB.
    #[serde(default)]
    #[schemars(range(min = 0.0, max = 100.0))]
    pub other_loss_db: f64,
}

/// Optical interface of Ethernet with the grade of its fiber.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum DataInterface {
    /// 10GBASE-SR, 850 nm, OM1 fiber.
    TenGigabitSrOm1,
    /// 10GBASE-SR, 850 nm, OM2 fiber.
    TenGigabitSrOm2,
    /// 10GBASE-SR, 850 nm, OM3 fiber.
    TenGigabitSrOm3,
    /// 10GBASE-SR, 850 nm, OM4 fiber.
    TenGigabitSrOm4,
    /// 10GBASE-LR, 1310 nm, single mode, 10 km.
    TenGigabitLr,
    /// 10GBASE-ER, 1550 nm, single mode, 40 km; a short link needs an attenuator.
    TenGigabitEr,
    /// 25GBASE-SR, 850 nm, OM3 fiber.
    TwentyFiveGigabitSrOm3,
    /// 25GBASE-SR, 850 nm, OM4 fiber.
    TwentyFiveGigabitSrOm4,
    /// 25GBASE-LR, 1310 nm, single mode, 10 km.
    TwentyFiveGigabitLr,
}

/// Loss of a fiber per length.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
#[non_exhaustive]
pub enum Attenuation {
    /// Measured at the wavelength of the laser. Below the Rayleigh floor it is refused.
    Measured {
        /// Loss per length.
        #[schemars(range(min = 0.05, max = 100.0))]
        attenuation_db_per_km: f64,
    },
    /// Rayleigh scattering, the two absorption edges and a constant.
    Composed {
        /// Rayleigh coefficient at 1 µm: 0.7 to 0.9 for silica, 1.3 with germania.
        #[schemars(range(min = 0.6, max = 3.0))]
        rayleigh_db_per_km: f64,
        /// What does not depend on wavelength: imperfections, cabling.
        #[schemars(range(min = 0.0, max = 20.0))]
        constant_db_per_km: f64,
    },
}

/// How the light enters the fiber.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Launch {
    /// Diameter of the spot on the face.
    #[schemars(range(min = 2.0, max = 5000.0))]
    pub spot_diameter_um: f64,
    /// Numerical aperture of the light that arrives.
    #[schemars(range(min = 0.001, max = 0.9))]
    pub source_numerical_aperture: f64,
    /// Form of spot and angle.
    #[serde(default)]
    pub source: SourceForm,
    /// Reflection of either end of the fiber; left out, bare glass by Fresnel.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0, max = 0.2))]
    pub face_reflectance_ratio: Option<f64>,
}

/// Form of a spot and of its angles.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
#[non_exhaustive]
pub enum SourceForm {
    /// Even disk and cone, as from another fiber.
    #[default]
    Uniform,
    /// Gaussian: the spot is measured at 1/e² of its peak, and its angle follows from the beam quality, not from
    /// `source_numerical_aperture`.
    Gaussian {
        /// Beam quality M²; 1 is the limit of physics.
        #[schemars(range(min = 1.0, max = 2000.0))]
        beam_quality_m2: f64,
    },
}

/// A connector or splice.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Connection {
    /// What it is.
    pub kind: ConnectionKind,
    /// Loss; at most 0.75 dB for a mated pair and 0.3 dB for a splice by ISO/IEC 14763-3:2024.
    #[schemars(range(min = 0.0, max = 10.0))]
    pub loss_db: f64,
}

/// What joins two pieces of fiber.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum ConnectionKind {
    /// A mated pair of connectors.
    Connector,
    /// A splice.
    Splice,
    /// A rotary joint at the drum.
    RotaryJoint,
}

/// Light through free air. People, aircraft and satellites in and beside the beam are at risk.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FreeBeam {
    /// Diameter of the last optic on the ground.
    #[schemars(range(min = 1.0, max = 5000.0))]
    pub aperture_diameter_mm: f64,
    /// Radius of the beam at that optic, at 1/e² of the peak.
    #[schemars(range(min = 0.5, max = 2500.0))]
    pub beam_radius_mm: f64,
    /// Beam quality M²; 1 is the limit of physics.
    #[schemars(range(min = 1.0, max = 1000.0))]
    pub beam_quality_m2: f64,
    /// Where the beam is narrowest.
    #[serde(default)]
    pub focus: Focus,
    /// Jitter of the pointing, one standard deviation in each axis. Default 20 µrad (from memory).
    #[serde(default = "defaults::pointing_jitter_urad")]
    #[schemars(range(min = 0.0, max = 10000.0))]
    pub pointing_jitter_urad: f64,
    /// Loss in the optics on the ground.
    #[serde(default)]
    #[schemars(range(min = 0.0, max = 20.0))]
    pub optics_loss_db: f64,
    /// Meteorological visibility. Default 23 km, clear.
    #[serde(default = "defaults::visibility_km")]
    #[schemars(range(min = 0.03, max = 300.0))]
    pub visibility_km: f64,
    /// Strength of the turbulence at the ground, the refractive structure constant. Default 0, none; 1e-15 is weak,
    /// 1e-13 strong.
    #[serde(default)]
    #[schemars(range(min = 0.0, max = 0.0000000001))]
    pub structure_constant_m_2_3: f64,
    /// Which published law says how turbulence widens the beam. Default the wider of the two.
    #[serde(default)]
    pub turbulence_model: TurbulenceModel,
    /// Which published law says how haze depends on the wavelength. Default the larger loss of the two.
    #[serde(default)]
    pub visibility_model: VisibilityModel,
    /// Absorption by water vapour and other gases, which visibility does not see. Left out, the largest loss per band of
    /// 10 nm in six standard atmospheres at sea level (LOWTRAN7): 1.14 dB/km at 976 nm, 6.53 dB/km at 936 nm. Give it for a
    /// dry or high site, or for a narrow line between two absorption lines.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0, max = 1000.0))]
    pub gas_absorption_db_per_km: Option<f64>,
}

/// How turbulence widens a beam.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum TurbulenceModel {
    /// The wider of the two.
    #[default]
    Larger,
    /// Andrews and Phillips, by the Rytov variance: within 0.4 % in radius in weak turbulence, 10 % low in strong.
    AndrewsPhillips,
    /// By the coherence length of a spherical wave: 1 to 2 % low in weak turbulence, 6 % high in strong.
    CoherenceLength,
}

/// How haze depends on the wavelength.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum VisibilityModel {
    /// The larger loss of the two.
    #[default]
    Larger,
    /// Kruse (1962).
    Kruse,
    /// Kim, McArthur and Korevaar (2001): as Kruse above 6 km, fog below 0.5 km dims all colours alike.
    Kim,
}

/// Where the beam is narrowest.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Focus {
    /// At the optic on the ground: collimated.
    #[default]
    AtAperture,
    /// At the receiver.
    AtReceiver,
}

/// Direct current through a pair of wires that is also the tether. High voltage: it kills.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Copper {
    /// Voltage at the ground end.
    #[schemars(range(min = 12.0, max = 10000.0))]
    pub voltage_v: f64,
    /// Copper area of one of the two wires.
    #[schemars(range(min = 0.005, max = 100.0))]
    pub conductor_area_mm2: f64,
    /// All the line, on the drum and in the air. The current flows through all of it.
    #[schemars(range(min = 1.0, max = 20000.0))]
    pub total_length_m: f64,
    /// The converter on board, high voltage to bus.
    pub converter: Converter,
    /// The converter on the ground, mains to high voltage: output over input.
    #[schemars(range(min = 0.5, max = 1.0))]
    pub ground_converter_efficiency_ratio: f64,
    /// The line around the wires.
    pub tether: Tether,
}

/// A converter on board.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Converter {
    /// Largest output.
    #[schemars(range(min = 0.1, max = 100000.0))]
    pub rated_w: f64,
    /// Output over input at the rated output.
    #[schemars(range(min = 0.5, max = 0.999))]
    pub efficiency_ratio: f64,
    /// What it takes with nothing drawn.
    #[serde(default)]
    #[schemars(range(min = 0.0, max = 1000.0))]
    pub standby_w: f64,
    /// Mass with heat sink, filter and case.
    #[schemars(range(min = 0.0, max = 1000.0))]
    pub mass_kg: f64,
}
