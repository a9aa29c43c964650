//! Models that a scenario uses and where their formulas come from.

use serde::Serialize;

use crate::scenario::{Arrangement, Delivery, Drive, Gust, Rotor, Scenario, Vehicle, WindProfile};

/// A model and its source.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Formula {
    /// The model.
    pub model: &'static str,
    /// Author, year, equation; or how it is known.
    pub source: &'static str,
}

const fn formula(model: &'static str, source: &'static str) -> Formula {
    Formula { model, source }
}

/// The models that a scenario uses.
pub fn formulas(scenario: &Scenario) -> Vec<Formula> {
    let mut list = vec![formula(
        "air",
        "U.S. Standard Atmosphere 1976 (geopotential), temperature offset at standard pressure; viscosity by Sutherland",
    )];
    list.push(match scenario.site.wind.profile {
        WindProfile::Uniform { .. } => formula("wind over height", "the same at every height, as given"),
        WindProfile::PowerLaw { .. } => formula("wind over height", "power law of Hellman"),
        WindProfile::Logarithmic { .. } => {
            formula("wind over height", "logarithmic law, neutral, no displacement height")
        }
    });
    list.push(match scenario.site.wind.gust {
        Gust::Factor { .. } => formula("gust", "factor on the mean, as given"),
        Gust::ExtremeOperatingGust { .. } => {
            formula("gust", "IEC 61400-1 edition 3 (2005), extreme operating gust")
        }
        Gust::Dryden { .. } => formula("gust", "MIL-F-8785C (1980), 3.7.3.4, low altitude"),
    });
    if matches!(scenario.delivery, Delivery::Fiber(_) | Delivery::Copper(_)) {
        list.push(formula(
            "tether shape",
            "cable in a steady flow by the cross-flow principle (Hoerner 1965; Pode 1951 has the same normal law); elastic line after Irvine 1981",
        ));
    }
    if matches!(scenario.delivery, Delivery::Fiber(_)) {
        list.extend([
            formula("glass stress", "E r/R plus strain of the line; allowed share of proof by load duration (Corning AEN 21; Glaesemann and Gulati 1991, from memory)"),
            formula("bend loss on the drum", "Gloge, Appl. Opt. 11, 2506 (1972); one-time, all modes equally filled"),
            formula("Raman and Brillouin thresholds", "Smith, Appl. Opt. 11, 2489 (1972)"),
        ]);
    }
    if matches!(scenario.delivery, Delivery::Fiber(_) | Delivery::FreeBeam(_)) {
        list.extend([
            formula("cells", "single-diode equation; saturation current by De Soto, Klein and Beckman 2006; gap by Varshni"),
            formula("heat sink", "parallel-plate channel by Teertstra, Yovanovich and Culham; natural convection by Churchill and Chu"),
        ]);
    }
    vehicle(scenario, &mut list);
    list
}

fn vehicle(scenario: &Scenario, list: &mut Vec<Formula>) {
    let multirotor = match &scenario.vehicle {
        Vehicle::Multirotor(multirotor) => multirotor,
        Vehicle::FixedWing(_) => {
            return list.push(formula("wing", "parabolic polar (Anderson, Introduction to Flight)"));
        }
        Vehicle::Underwater(_) => return list.push(formula("thrusters", "momentum theory in water")),
        Vehicle::FixedLoad(_) => return list.push(formula("load", "as given")),
    };
    list.push(match multirotor.rotor {
        Rotor::Disk { .. } => formula(
            "rotors",
            "momentum theory with Glauert's inflow (ARC R&M 1111, 1926); profile power grows with 1 + 4.65 mu² (Bennett; from memory)",
        ),
        Rotor::Blade { .. } => formula(
            "rotors",
            "blade elements with momentum theory, one angle per annulus after Ning (2014), Prandtl's losses; Glauert's mean inflow in wind; section fitted to four propellers of the UIUC database unless given",
        ),
        Rotor::Table { .. } => formula(
            "rotors",
            "readings of a test stand, interpolated monotonically, scaled with density; in wind the induced share follows Glauert's inflow",
        ),
    });
    list.push(formula(
        "descent",
        "Leishman's fit and Castles and Gray's measurements (NACA TN-2474, 1951); vortex ring boundary by Johnson (NASA/TP-2005-213477)",
    ));
    list.push(formula(
        "rotor drag",
        "k T V in the plane of the rotors; default k from the constants of an open flight simulator (RotorS, 2016)",
    ));
    if matches!(multirotor.drive, Drive::Motor { .. }) {
        list.push(formula("motors", "first-order direct-current motor (Drela, MIT 2007; title from memory)"));
    }
    if matches!(multirotor.arrangement, Arrangement::CoaxialPairs { .. }) {
        list.push(formula("coaxial pairs", "interference by distance after Harrington (NACA TN-2318, 1951)"));
    }
    if scenario.limits.rotors_lost.is_some() {
        list.push(formula("rotors lost", "controllability by Du, Quan, Yang and Cai (2015)"));
    }
}
