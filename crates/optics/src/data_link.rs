//! Loss budget of a data link on a second fiber: lengths, joints and an Ethernet optical standard go in; pass or fail with
//! its margin comes out.

use beamstay_numerics::domain::in_range;

use crate::{OpticsError, hazard::Status};

/// An Ethernet optical interface on a pair of fibers (IEEE 802.3).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Interface {
    /// 10 Gbit/s, 850 nm, multimode (clause 52).
    TenGigabitSr(MultimodeGrade),
    /// 10 Gbit/s, 1310 nm, single mode, 10 km (clause 52).
    TenGigabitLr,
    /// 10 Gbit/s, 1550 nm, single mode, 40 km on an engineered link (clause 52).
    TenGigabitEr,
    /// 25 Gbit/s, 850 nm, multimode (clause 112).
    TwentyFiveGigabitSr(MultimodeGrade),
    /// 25 Gbit/s, 1310 nm, single mode, 10 km (clause 114).
    TwentyFiveGigabitLr,
}

/// Cabled multimode fiber grade (ISO/IEC 11801).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum MultimodeGrade {
    /// 62.5 µm.
    Om1,
    /// 50 µm, 500 MHz·km.
    Om2,
    /// 50 µm, 2000 MHz·km for lasers.
    Om3,
    /// 50 µm, 4700 MHz·km for lasers.
    Om4,
}

/// What an interface allows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Allowance {
    /// Longest link, m; set by dispersion as much as by loss.
    pub reach_m: f64,
    /// Largest loss from plug to plug, dB.
    pub loss_db: f64,
    /// Least loss, dB, below which the transmitter may overload the receiver; 0 if none is needed.
    pub least_loss_db: f64,
    /// Wavelength at which the loss counts, m.
    pub wavelength_m: f64,
    /// Attenuation of cabled fiber that the standards count with, dB/km.
    pub attenuation_db_per_km: f64,
    /// How well these figures are known.
    pub status: Status,
}

impl Interface {
    /// What the interface allows; `None` for a fiber grade that the standard does not list.
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::data_link::{Interface, MultimodeGrade};
    /// let allowance = Interface::TenGigabitSr(MultimodeGrade::Om3).allowance().unwrap();
    /// assert_eq!((allowance.reach_m, allowance.loss_db), (300.0, 2.6));
    /// assert!(Interface::TwentyFiveGigabitSr(MultimodeGrade::Om1).allowance().is_none());
    /// ```
    pub fn allowance(self) -> Option<Allowance> {
        use MultimodeGrade::{Om1, Om2, Om3, Om4};
        let multimode = |reach_m, loss_db, status| Allowance {
            reach_m,
            loss_db,
            least_loss_db: 0.0,
            wavelength_m: 850e-9,
            attenuation_db_per_km: 3.5,
            status,
        };
        let single_mode = |reach_m, loss_db, least_loss_db, wavelength_m, status| Allowance {
            reach_m,
            loss_db,
            least_loss_db,
            wavelength_m,
            attenuation_db_per_km: 0.4,
            status,
        };
        Some(match self {
            Self::TenGigabitSr(Om1) => multimode(33.0, 1.6, Status::FromMemory),
            Self::TenGigabitSr(Om2) => multimode(82.0, 1.8, Status::FromMemory),
            Self::TenGigabitSr(Om3) => multimode(300.0, 2.6, Status::Seen),
            Self::TenGigabitSr(Om4) => multimode(400.0, 2.9, Status::FromMemory),
            Self::TenGigabitLr => single_mode(10e3, 6.2, 0.0, 1310e-9, Status::Seen),
            Self::TenGigabitEr => single_mode(40e3, 11.0, 5.0, 1550e-9, Status::Seen),
            Self::TwentyFiveGigabitSr(Om3) => multimode(70.0, 1.8, Status::Seen),
            Self::TwentyFiveGigabitSr(Om4) => multimode(100.0, 1.9, Status::Seen),
            Self::TwentyFiveGigabitSr(Om1 | Om2) => return None,
            Self::TwentyFiveGigabitLr => single_mode(10e3, 6.3, 0.0, 1310e-9, Status::FromMemory),
        })
    }
}

/// A link as built.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Link {
    /// Length of fiber from plug to plug, m; all of it, also what lies on the drum.
    pub length_m: f64,
    /// Attenuation of the fiber, dB/km; `None` takes the limit of the cabling standard.
    pub attenuation_db_per_km: Option<f64>,
    /// Mated connector pairs between the plugs.
    pub connectors_count: u32,
    /// Loss of one pair, dB; 0.75 is the limit of the cabling standard.
    pub connector_loss_db: f64,
    /// Fusion splices.
    pub splices_count: u32,
    /// Loss of one splice, dB; 0.3 is the limit of the cabling standard.
    pub splice_loss_db: f64,
    /// Everything else, dB: rotary joint, bends, filters.
    pub other_loss_db: f64,
}

impl Link {
    /// Fiber with two connector pairs at the limits of the cabling standard.
    pub fn of_length_m(length_m: f64) -> Self {
        Self {
            length_m,
            attenuation_db_per_km: None,
            connectors_count: 2,
            connector_loss_db: 0.75,
            splices_count: 0,
            splice_loss_db: 0.3,
            other_loss_db: 0.0,
        }
    }
}

/// Result of a loss budget.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Budget {
    /// Loss of the link, dB.
    pub loss_db: f64,
    /// Allowed loss less loss, dB; negative fails.
    pub margin_db: f64,
    /// Longest fiber with these joints, m: where reach or loss ends it.
    pub longest_m: f64,
    /// Attenuator to put in so that the receiver is not overloaded, dB; 0 if none is needed.
    pub attenuator_db: f64,
    /// Whether the link is within reach and loss.
    pub passes: bool,
    /// What was allowed.
    pub allowance: Allowance,
}

/// Loss budget of `link` for `interface`; `None` if the standard does not list the fiber grade.
///
/// Loss = attenuation × length + connectors + splices + other. It passes with a margin of 0 or more within reach. Losses of
/// joints are limits, so the real margin is larger; ageing and repair are not in it.
///
/// # Errors
/// [`OpticsError::OutOfRange`] for a length outside 0 to 100 km, an attenuation outside 0.1 to 1000 dB/km, a joint outside 0
/// to 20 dB, more than 1000 joints, or another loss outside 0 to 100 dB.
///
/// # Examples
/// ```
/// use beamstay_optics::data_link::{Interface, Link, MultimodeGrade, budget};
/// let found = budget(Interface::TenGigabitSr(MultimodeGrade::Om3), &Link::of_length_m(300.0)).unwrap().unwrap();
/// assert!(found.passes);
/// assert!((found.margin_db - 0.05).abs() < 1e-9);
/// ```
pub fn budget(interface: Interface, link: &Link) -> Result<Option<Budget>, OpticsError> {
    let Some(allowance) = interface.allowance() else {
        return Ok(None);
    };
    let attenuation_db_per_km = link.attenuation_db_per_km.unwrap_or(allowance.attenuation_db_per_km);
    in_range("fiber length", "m", link.length_m, 0.0, 1e5)?;
    in_range("fiber attenuation", "dB/km", attenuation_db_per_km, 0.1, 1e3)?;
    let joints_db = joints_db(link)?;
    let loss_db = attenuation_db_per_km * link.length_m / 1e3 + joints_db;
    let margin_db = allowance.loss_db - loss_db;
    let by_loss_m = 1e3 * (allowance.loss_db - joints_db).max(0.0) / attenuation_db_per_km;
    Ok(Some(Budget {
        loss_db,
        margin_db,
        longest_m: by_loss_m.min(allowance.reach_m),
        attenuator_db: (allowance.least_loss_db - loss_db).max(0.0),
        passes: margin_db >= 0.0 && link.length_m <= allowance.reach_m,
        allowance,
    }))
}

fn joints_db(link: &Link) -> Result<f64, OpticsError> {
    let connectors_count = f64::from(link.connectors_count);
    let splices_count = f64::from(link.splices_count);
    in_range("number of connectors", "", connectors_count, 0.0, 1e3)?;
    in_range("number of splices", "", splices_count, 0.0, 1e3)?;
    in_range("connector loss", "dB", link.connector_loss_db, 0.0, 20.0)?;
    in_range("splice loss", "dB", link.splice_loss_db, 0.0, 20.0)?;
    in_range("other loss", "dB", link.other_loss_db, 0.0, 100.0)?;
    Ok(connectors_count * link.connector_loss_db + splices_count * link.splice_loss_db + link.other_loss_db)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn lr(link: &Link) -> Budget {
        budget(Interface::TenGigabitLr, link).unwrap().unwrap()
    }

    #[test]
    fn reach_ends_a_link_that_has_loss_to_spare() {
        let link = Link { attenuation_db_per_km: Some(0.2), ..Link::of_length_m(10_001.0) };
        assert!(lr(&link).margin_db > 2.0 && !lr(&link).passes);
        assert!(lr(&Link { length_m: 10_000.0, ..link }).passes);
    }

    #[test]
    fn a_short_extended_reach_link_needs_an_attenuator() {
        let found = budget(Interface::TenGigabitEr, &Link::of_length_m(100.0)).unwrap().unwrap();
        assert!((found.attenuator_db - 3.46).abs() < 1e-9 && found.passes);
        assert!(lr(&Link::of_length_m(100.0)).attenuator_db.abs() < f64::MIN_POSITIVE);
    }

    #[test]
    fn bad_links_are_refused() {
        let good = Link::of_length_m(100.0);
        let refused = |link: Link| budget(Interface::TenGigabitLr, &link).is_err();
        assert!(refused(Link { length_m: f64::NAN, ..good }));
        assert!(refused(Link { attenuation_db_per_km: Some(0.0), ..good }));
        assert!(refused(Link { connectors_count: 1001, ..good }));
        assert!(refused(Link { connector_loss_db: -0.1, ..good }));
        assert!(refused(Link { other_loss_db: f64::INFINITY, ..good }));
        let om1 = Interface::TwentyFiveGigabitSr(MultimodeGrade::Om1);
        assert_eq!(budget(om1, &good), Ok(None));
    }

    proptest! {
        #[test]
        fn prop_the_longest_link_is_the_border(joints in 0..6u32, splices in 0..6u32, attenuation in 0.2..4.0f64) {
            let at = |length_m: f64| Link {
                attenuation_db_per_km: Some(attenuation),
                connectors_count: joints,
                splices_count: splices,
                ..Link::of_length_m(length_m)
            };
            let longest_m = lr(&at(0.0)).longest_m;
            prop_assert!(!lr(&at(longest_m + 1.0)).passes);
            if longest_m > 1.0 {
                prop_assert!(lr(&at(longest_m - 1.0)).passes);
            }
        }
    }
}
