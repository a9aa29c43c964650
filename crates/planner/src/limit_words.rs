//! The words for each limit: its name, what it guards against, and which input to change first when it binds.

use crate::limit::LimitCode;

/// The words for one limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Words {
    /// Name in a table.
    pub name: &'static str,
    /// What it guards against.
    pub meaning: &'static str,
    /// What to change first.
    pub advice: &'static str,
}

const fn words(name: &'static str, meaning: &'static str, advice: &'static str) -> Words {
    Words { name, meaning, advice }
}

impl LimitCode {
    /// Every limit there is.
    pub const ALL: [Self; 44] = [
        Self::Power,
        Self::LaserPower,
        Self::LightPeak,
        Self::CellTemperature,
        Self::CellIrradiance,
        Self::BandEdge,
        Self::SpillOver,
        Self::ConverterPower,
        Self::ThrustReserve,
        Self::Tilt,
        Self::TiltInGust,
        Self::Thrust,
        Self::MotorPower,
        Self::BusVoltage,
        Self::MotorCurrent,
        Self::WindingTemperature,
        Self::RotorsLost,
        Self::DescentRate,
        Self::LoadFactor,
        Self::AxialInflow,
        Self::ShaftPower,
        Self::Stall,
        Self::Headway,
        Self::DrumTension,
        Self::TetherReach,
        Self::BreakingLoad,
        Self::Strain,
        Self::GlassStress,
        Self::GlassStressInGust,
        Self::GlassStressOnDrum,
        Self::BendRadius,
        Self::DrumElevation,
        Self::Clearance,
        Self::LineOnGround,
        Self::LineLength,
        Self::DrumCapacity,
        Self::DrumTemperature,
        Self::RamanThreshold,
        Self::BrillouinThreshold,
        Self::DataLinkLoss,
        Self::DataLinkLength,
        Self::LineTransfer,
        Self::LineTemperature,
        Self::PowerInGust,
    ];

    /// Stable text of the code, as in JSON.
    pub fn code(self) -> String {
        serde_json::to_value(self).ok().and_then(|v| v.as_str().map(str::to_owned)).unwrap_or_default()
    }

    /// The words for it.
    pub const fn words(self) -> Words {
        match self {
            Self::Power => words(
                "power at the bus",
                "power that the delivery can put on the bus, against the demand and its reserve",
                "less payload or height, more laser, or more or cooler cells",
            ),
            Self::LaserPower => words(
                "laser power",
                "optical power that just meets the demand, against the rating of the laser",
                "more rated laser power, or less demand",
            ),
            Self::LightPeak => words(
                "power under any light",
                "most power at the bus up to ten times the rated laser power: beyond its peak more light only heats the cells",
                "less demand, more or cooler cells; no laser power closes it",
            ),
            Self::CellTemperature => words(
                "cell temperature",
                "hottest the cells get: with the load lost if the laser stays on, otherwise with the demand drawn",
                "larger heat sink, or let the laser follow the demand and trip (dimmed_to_demand)",
            ),
            Self::CellIrradiance => words(
                "cell irradiance",
                "light that enters the brightest cell over its area",
                "larger or more cells, or light spread more evenly (homogeniser)",
            ),
            Self::BandEdge => words(
                "photon energy over band edge",
                "a warm laser drifts to longer waves, a cold cell's edge to shorter: they can miss each other",
                "shorter laser wavelength, or cooler laser",
            ),
            Self::SpillOver => words(
                "light past the receiver",
                "light of a free beam that misses the receiver and goes on",
                "larger receiver, larger ground aperture, or better beam quality",
            ),
            Self::ConverterPower => words(
                "converter output",
                "load of the converter on board against its rating",
                "converter of higher rating",
            ),
            Self::ThrustReserve => words(
                "thrust reserve in the gust",
                "largest thrust over the thrust that the gust asks for",
                "less payload, or stronger rotors",
            ),
            Self::Tilt => words(
                "tilt in the mean wind",
                "lean of the vehicle against drag and tether",
                "less tether tension, thinner tether, or another offset",
            ),
            Self::TiltInGust => words(
                "tilt in the gust",
                "lean of the vehicle against drag and tether in the gust",
                "less tether tension, thinner tether, or another offset",
            ),
            Self::Thrust => words(
                "thrust",
                "thrust that the balance of forces asks for, against the largest that the rotors or thrusters can make",
                "less payload, less tether tension, or stronger rotors",
            ),
            Self::MotorPower => words(
                "motor shaft power in the gust",
                "shaft power of all motors in the gust, against their continuous rating",
                "stronger motors, larger rotors, or less payload",
            ),
            Self::BusVoltage => words(
                "voltage for the rotor speed",
                "voltage that the motors need for their speed in the gust, against the bus: above it they cannot turn faster",
                "more bus voltage, motors with more speed per volt, or larger rotors",
            ),
            Self::MotorCurrent => words(
                "motor current in the gust",
                "current of one motor in the gust, against its limit or that of the controller",
                "motors with less speed per volt, or less payload",
            ),
            Self::WindingTemperature => words(
                "motor winding",
                "steady temperature of the winding if the gust lasted, against its insulation",
                "larger or better cooled motors, or less payload",
            ),
            Self::RotorsLost => words(
                "thrust with rotors lost",
                "thrust that the remaining rotors can make, held as asked, over the thrust needed; 0 where they cannot be held so",
                "more rotors, or stronger ones",
            ),
            Self::DescentRate => words(
                "descent against vortex ring",
                "planned rate of descent, against 0.8 of that at which the vortex ring state begins in calm air",
                "slower descent",
            ),
            Self::LoadFactor => words(
                "load factor in the turn",
                "lift over weight on the circle, against what the wing may carry",
                "wider circle",
            ),
            Self::AxialInflow => words(
                "air through the rotors",
                "the air must come from above: a rotor that the wind drives from below is a windmill, not a lift",
                "station less far downwind, or less drum tension",
            ),
            Self::ShaftPower => words(
                "shaft power",
                "power that the rotors need; at zero the wind would drive them",
                "station less far downwind",
            ),
            Self::Stall => words(
                "airspeed over stall",
                "airspeed in the turn over the stall speed there",
                "wider circle, less mass, or more airspeed",
            ),
            Self::Headway => words(
                "airspeed against the wind",
                "airspeed against the wind at the height of the circle, so that the circle can be flown at all",
                "more airspeed, or lower height",
            ),
            Self::DrumTension => words(
                "drum tension",
                "tension at the drum against the least with which the line hangs free between drum and vehicle; where it may lie, against the least that holds it",
                "more drum tension",
            ),
            Self::TetherReach => words(
                "length paid out",
                "length against the straight distance to the vehicle",
                "more length, or a nearer station",
            ),
            Self::BreakingLoad => words(
                "tension in the gust",
                "largest tension anywhere along the line in the gust, against the breaking load over its factor",
                "stronger line, less drum tension, or a winch that gives way (holds_tension)",
            ),
            Self::Strain => words(
                "strain in the gust",
                "largest tension anywhere along the line in the gust over the axial stiffness, against what the plan allows",
                "stiffer line, less drum tension, or a winch that gives way (holds_tension)",
            ),
            Self::GlassStress => words(
                "glass stress in the mean wind",
                "largest axial plus bending stress in the glass, against the share of the proof stress for long loads",
                "more strength yarn, larger sheaves, or less drum tension",
            ),
            Self::GlassStressInGust => words(
                "glass stress in the gust",
                "largest axial plus bending stress in the glass, against the share of the proof stress for seconds",
                "more strength yarn, larger sheaves, or a winch that gives way",
            ),
            Self::GlassStressOnDrum => words(
                "glass stress on the drum",
                "bending on the innermost layer plus drum tension, against the share of the proof stress for long loads",
                "larger drum core, or thinner glass",
            ),
            Self::BendRadius => words(
                "smallest bend radius",
                "smallest radius on drum, sheave, outlet and in the air, against the rule for the cable",
                "larger drum core or sheaves",
            ),
            Self::DrumElevation => words(
                "elevation at the drum",
                "angle of the line over the horizontal where it leaves the drum; not asked of a line that may lie on the ground and does",
                "more drum tension, or a station nearer overhead",
            ),
            Self::Clearance => words(
                "clearance of the line",
                "lowest point of the line over ground beyond the first 2 m; 0 where it lies there",
                "more drum tension, or a higher drum exit",
            ),
            Self::LineOnGround => words(
                "line on the ground",
                "length that lies on the ground, in the mean wind or in the gust, against what the plan allows: a line that is dragged is worn, stepped on and driven over",
                "more drum tension or less length, a higher drum exit, or allow it (max_length_on_ground_m)",
            ),
            Self::LineLength => words(
                "line paid out",
                "length paid out, in the mean wind or in the gust, against all the line there is",
                "longer line, less height, or more drum tension",
            ),
            Self::DrumCapacity => words(
                "line on the drum",
                "all the line against what the drum holds",
                "wider drum or larger flanges",
            ),
            Self::DrumTemperature => words(
                "drum temperature",
                "hottest layer of the wound fiber, against the limit of its coating",
                "shorter fiber, less laser, or a cooled drum",
            ),
            Self::RamanThreshold => words(
                "light against Raman threshold",
                "light in the fiber against the power at which Raman scattering sets in",
                "larger core, or shorter fiber",
            ),
            Self::BrillouinThreshold => words(
                "light against Brillouin threshold",
                "light in the fiber against the power at which Brillouin scattering sets in",
                "broader laser line, larger core, or shorter fiber",
            ),
            Self::DataLinkLoss => words(
                "loss of the data link",
                "fiber, connectors and splices of the second fiber, against the budget of its optical interface",
                "fewer or better joints, or an interface with a larger budget",
            ),
            Self::DataLinkLength => words(
                "length of the data link",
                "all the second fiber, on the drum too, against the reach of its interface with these joints",
                "shorter fiber, a better grade of fiber, or an interface of longer reach",
            ),
            Self::LineTransfer => words(
                "power over the line",
                "power asked of the line against the most it can carry, V²/(4R)",
                "more voltage, or more copper",
            ),
            Self::LineTemperature => words(
                "wire temperature",
                "hottest wire in the air or on the drum, against its insulation",
                "more copper, more voltage, or a cooled drum",
            ),
            Self::PowerInGust => words(
                "power in the gust",
                "power of the delivery and the battery together, against the demand in the gust",
                "a battery that can give more, or more laser",
            ),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_limit_has_its_words_and_its_own_code() {
        let mut codes: Vec<String> = LimitCode::ALL.iter().map(|c| c.code()).collect();
        assert!(codes.iter().all(|c| !c.is_empty()));
        codes.sort();
        codes.dedup();
        assert_eq!(codes.len(), LimitCode::ALL.len());
        let words: Vec<Words> = LimitCode::ALL.iter().map(|c| c.words()).collect();
        assert!(words.iter().all(|w| !w.name.is_empty() && !w.meaning.is_empty() && !w.advice.is_empty()));
    }
}
