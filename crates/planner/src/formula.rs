//! Models that a scenario uses, where their formulas come from, and what they are held against.

use serde::Serialize;

use crate::scenario::{Arrangement, Delivery, Drive, Gust, Rotor, Scenario, Vehicle, WindProfile};

/// A model, its source and how far it can be trusted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Formula {
    /// The model.
    pub model: &'static str,
    /// Author, year, equation; or how it is known.
    pub source: &'static str,
    /// Whether it is held against anything outside.
    pub standing: Standing,
    /// Groups of published checks that hold it, as in `docs/validation.md`.
    pub checks: &'static [&'static str],
}

/// Whether a model is held against anything outside the program.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Standing {
    /// By published values, or by a computation of somebody else's program.
    Checked,
    /// By nothing: no published value was found.
    Unvalidated,
    /// It is what the scenario says, no model.
    Given,
}

const fn checked(model: &'static str, source: &'static str, checks: &'static [&'static str]) -> Formula {
    Formula { model, source, standing: Standing::Checked, checks }
}

const fn unvalidated(model: &'static str, source: &'static str) -> Formula {
    Formula { model, source, standing: Standing::Unvalidated, checks: &[] }
}

const fn given(model: &'static str, source: &'static str) -> Formula {
    Formula { model, source, standing: Standing::Given, checks: &[] }
}

/// The models that a scenario uses.
pub fn formulas(scenario: &Scenario) -> Vec<Formula> {
    let mut list = vec![checked(
        "air",
        "U.S. Standard Atmosphere 1976 (geopotential), temperature offset at standard pressure; viscosity by Sutherland",
        &["environment.standard_atmosphere", "environment.air"],
    )];
    list.push(match scenario.site.wind.profile {
        WindProfile::Uniform { .. } => given("wind over height", "the same at every height, as given"),
        WindProfile::PowerLaw { .. } => {
            checked("wind over height", "power law of Hellman", &["environment.profile.power_law"])
        }
        WindProfile::Logarithmic { .. } => checked(
            "wind over height",
            "logarithmic law, neutral, no displacement height",
            &["environment.profile.logarithmic"],
        ),
    });
    list.push(match scenario.site.wind.gust {
        Gust::Factor { .. } => given("gust", "factor on the mean, as given"),
        Gust::ExtremeOperatingGust { .. } => checked(
            "gust",
            "IEC 61400-1 edition 3 (2005), extreme operating gust",
            &["environment.operating_gust"],
        ),
        Gust::Dryden { .. } => {
            checked("gust", "MIL-F-8785C (1980), 3.7.3.4, low altitude", &["environment.dryden"])
        }
    });
    if matches!(scenario.delivery, Delivery::Fiber(_) | Delivery::Copper(_)) {
        list.push(checked(
            "tether shape",
            "cable in a steady flow by the cross-flow principle (Hoerner 1965; Pode 1951 has the same normal law); elastic line after Irvine 1981; on the ground after Jonkman 2007, from memory", &["tether.reference", "tether.catenary", "tether_closed.uniform", "tether_closed.on_ground"],
        ));
    }
    if matches!(scenario.delivery, Delivery::Fiber(_)) {
        list.extend([
            checked("glass stress", "E r/R plus strain of the line; allowed share of proof by load duration (Corning AEN 21; Glaesemann and Gulati 1991, from memory)", &["tether_section.limits"]),
            checked("bend loss on the drum", "Gloge, Appl. Opt. 11, 2506 (1972); one-time, all modes equally filled", &["optics_path.bend"]),
            checked("Raman and Brillouin thresholds", "Smith, Appl. Opt. 11, 2489 (1972)", &["optics_path.limits"]),
        ]);
    }
    if matches!(scenario.delivery, Delivery::Fiber(_) | Delivery::FreeBeam(_)) {
        list.extend([
            checked("cells", "single-diode equation; saturation current by De Soto, Klein and Beckman 2006; gap by Varshni", &["receiver.diode", "receiver.cell", "receiver.whole"]),
            checked("heat sink", "parallel-plate channel by Teertstra, Yovanovich and Culham; natural convection by Churchill and Chu", &["receiver.channel", "receiver.natural", "receiver.sink"]),
        ]);
    }
    vehicle(scenario, &mut list);
    list
}

fn vehicle(scenario: &Scenario, list: &mut Vec<Formula>) {
    let multirotor = match &scenario.vehicle {
        Vehicle::Multirotor(multirotor) => multirotor,
        Vehicle::FixedWing(_) => {
            return list.push(checked(
                "wing",
                "parabolic polar (Anderson, Introduction to Flight)",
                &["vehicle.polar", "vehicle.wing_level", "vehicle.loiter"],
            ));
        }
        Vehicle::Underwater(_) => {
            return list.push(checked("thrusters", "momentum theory in water", &["vehicle.underwater"]));
        }
        Vehicle::FixedLoad(_) => return list.push(given("load", "as given")),
    };
    list.push(match multirotor.rotor {
        Rotor::Disk { .. } => checked(
            "rotors",
            "momentum theory with Glauert's inflow (ARC R&M 1111, 1926); profile power grows with 1 + 4.65 mu² (Bennett; from memory)", &["rotor.glauert", "rotor.momentum", "rotor.disk", "vehicle.multirotor_hover", "vehicle.edgewise_flight"],
        ),
        Rotor::Blade { .. } => checked(
            "rotors",
            "blade elements with momentum theory, one angle per annulus after Ning (2014), Prandtl's losses; Glauert's mean inflow in wind; section fitted to four propellers of the UIUC database unless given", &["rotor.propeller", "rotor.untwisted"],
        ),
        Rotor::Table { .. } => unvalidated(
            "rotors",
            "readings of a test stand, interpolated monotonically, scaled with density; in wind the induced share follows Glauert's inflow",
        ),
    });
    list.push(checked(
        "descent",
        "Leishman's fit and Castles and Gray's measurements (NACA TN-2474, 1951); vortex ring boundary by Johnson (NASA/TP-2005-213477)", &["rotor.vortex_ring", "vehicle.descent"],
    ));
    list.push(unvalidated(
        "rotor drag",
        "k T V in the plane of the rotors; default k from the constants of an open flight simulator (RotorS, 2016)",
    ));
    if matches!(multirotor.drive, Drive::Motor { .. }) {
        list.push(checked(
            "motors",
            "first-order direct-current motor (Drela, MIT 2007; title from memory)",
            &["rotor.motor"],
        ));
    }
    if matches!(multirotor.arrangement, Arrangement::CoaxialPairs { .. }) {
        list.push(checked(
            "coaxial pairs",
            "interference by distance after Harrington (NACA TN-2318, 1951)",
            &["rotor.coaxial"],
        ));
    }
    if scenario.limits.rotors_lost.is_some() {
        list.push(checked(
            "rotors lost",
            "controllability by Du, Quan, Yang and Cai (2015)",
            &["vehicle.rotor_out"],
        ));
    }
}
