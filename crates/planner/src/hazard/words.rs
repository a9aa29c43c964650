//! What the hazard figures take for granted, what they leave out, and who decides.

use crate::scenario::{Delivery, Focus, Scenario};

/// Who decides.
pub(super) const DECIDES: &str = "Planning figures only. The laser safety officer decides, with the text of the standard in hand; \
the aviation authority decides on every beam that leaves the ground and on every aircraft.";

/// What the figures take for granted.
pub(super) fn assumptions(scenario: &Scenario, shut_off: bool) -> Vec<&'static str> {
    let mut list = vec![
        "All the rated power of the laser comes out, whatever its setting; no loss in fiber, optics or air is credited.",
        "Every source is a point and the irradiance on its axis is compared, not averaged over a pupil: no relief.",
        "Of the rules of 2014 and of 2007 the stricter counts at each point; of several formulas the longest distance. What is \
         known from memory only is marked so, and only ever lengthens a distance.",
        "The light is invisible: no blink, so 0.25 s is no time base. 10 s, 100 s and 30,000 s give the same distances.",
        "Limits that would rise with longer exposure are held at their lowest for all shorter ones.",
        "Eye with optics: irradiance times 51 (50 mm objective, 7 mm pupil), losses in the glass not credited.",
    ];
    match &scenario.delivery {
        Delivery::Fiber(_) => list.push(
            "The broken end shines with the narrowest cone that fiber, launch and the bend on the drum leave: narrow light is \
             dangerous farther. A loose end lies anywhere the paid-out line reaches.",
        ),
        Delivery::FreeBeam(beam) => {
            if beam.focus == Focus::AtReceiver {
                list.push("The focus follows the vehicle; a fault may leave it anywhere, so the farthest one counts.");
            }
            list.push(
                "Past the receiver goes at least 4 % of the light (assumed): real beams have wider wings than a Gaussian and \
                 edges scatter.",
            );
            list.push("The beam may be turned anywhere: stops and interlocks of the director are not credited.");
        }
        _ => {}
    }
    if shut_off {
        list.push(
            "The distances with shut-off hold only if it works after any single fault and needs a person to reset it. Below \
             1400 nm they shrink only as the eighth root of the time.",
        );
    }
    list
}

/// What the figures leave out.
pub(super) fn outside(scenario: &Scenario) -> Vec<&'static str> {
    let mut list = vec![
        "pulsed or modulated light, and wavelengths outside 700 to 1800 nm",
        "fire, fume, and burns from hot parts; damage to cameras and sensors",
        "curved surfaces that focus; optics larger than 50 mm",
        "classes 1M, 1C, 2 and 2M, and everything that the product standard asks beside distances: labels, key, interlocks",
        "IEC 60825-2 and -12 exclude systems built to carry power: guidance only",
        "the falling aircraft and line",
    ];
    match scenario.delivery {
        Delivery::Fiber(_) => {
            list.push("light that leaves the fiber sideways at a tight bend or a fuse");
            list.push("the lasers of a data link on a second fiber");
        }
        Delivery::FreeBeam(_) => {
            list.push(
                "scintillation: turbulence can raise the irradiance at a point several times over the mean",
            );
            list.push("pilots, passengers and satellites: the aviation authority and the operators of satellites decide");
            list.push("beam profiles with a peak above the Gaussian's: use the measured peak");
        }
        _ => {}
    }
    list
}
