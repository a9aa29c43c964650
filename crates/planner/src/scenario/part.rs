//! Parts of a scenario, read again one by one from a tree of values: a search that changes a few numbers thousands of times
//! reads no more than the parts in which they stand.

use serde::de::DeserializeOwned;
use serde_json::Value;

use super::{Delivery, Scenario, Vehicle, WindProfile};
use crate::tree::Route;

impl WindProfile {
    /// The speed at the reference height, m/s.
    pub(crate) fn speed_mut_m_s(&mut self) -> &mut f64 {
        match self {
            Self::Uniform { speed_m_s }
            | Self::PowerLaw { speed_m_s, .. }
            | Self::Logarithmic { speed_m_s, .. } => speed_m_s,
        }
    }
}

/// A part of a scenario that models are built from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u16)]
pub(crate) enum Part {
    Site = 1,
    Ground = 2,
    Delivery = 4,
    Receiver = 8,
    Vehicle = 16,
    Payload = 32,
    Battery = 64,
    Station = 128,
    Limits = 256,
}

/// Some of the parts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Parts(u16);

impl Parts {
    /// With one more.
    pub fn with(self, part: Part) -> Self {
        Self(self.0 | part as u16)
    }

    /// Whether one of these is among them.
    pub fn any(self, parts: &[Part]) -> bool {
        parts.iter().any(|part| self.0 & *part as u16 != 0)
    }

    /// Whether there are none.
    pub fn is_empty(self) -> bool {
        self.0 == 0
    }
}

/// What of a scenario is read again in one go: a part, or a piece of one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Piece {
    Site,
    Wind,
    TemperatureOffset,
    Ground,
    Delivery,
    FiberTether,
    Attenuation,
    Receiver,
    Cells,
    Sink,
    Cooling,
    Vehicle,
    Rotor,
    Drive,
    Payload,
    Battery,
    Station,
    Limits,
}

/// What must be read again after a number changed, and where it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Target {
    piece: Piece,
    route: Route,
}

impl Scenario {
    /// What must be read again after the number at `pointer` changed in the tree of a scenario of these kinds. None if it stands in
    /// no part that models are built from.
    pub(crate) fn target(&self, tree: &Value, pointer: &str) -> Option<Target> {
        let mut steps = pointer.split('/').skip(1);
        let (first, second, third) = (steps.next()?, steps.next()?, steps.next().unwrap_or_default());
        let (piece, depth) = self.piece(first, second, third)?;
        let end = pointer.match_indices('/').nth(depth).map_or(pointer.len(), |(end, _)| end);
        Some(Target { piece, route: Route::find(tree, &pointer[..end])? })
    }

    /// The piece in which a pointer with these first steps stands, and how many steps lead to it.
    fn piece(&self, first: &str, second: &str, third: &str) -> Option<(Piece, usize)> {
        Some(match (first, second, third) {
            ("site", "wind", _) => (Piece::Wind, 2),
            ("site", "temperature_offset_k", _) => (Piece::TemperatureOffset, 2),
            ("site", ..) => (Piece::Site, 1),
            ("delivery", _, "tether") if self.has_fiber() => (Piece::FiberTether, 3),
            ("delivery", _, "attenuation") if self.has_fiber() => (Piece::Attenuation, 3),
            ("delivery", ..) => (Piece::Delivery, 1),
            ("receiver", "cells", _) if self.receiver.is_some() => (Piece::Cells, 2),
            ("receiver", "sink", _) if self.receiver.is_some() => (Piece::Sink, 2),
            ("receiver", "cooling", _) if self.receiver.is_some() => (Piece::Cooling, 2),
            ("receiver", ..) => (Piece::Receiver, 1),
            ("vehicle", _, "rotor") if self.has_rotors() => (Piece::Rotor, 3),
            ("vehicle", _, "drive") if self.has_rotors() => (Piece::Drive, 3),
            ("vehicle", ..) => (Piece::Vehicle, 1),
            ("ground", ..) => (Piece::Ground, 1),
            ("payload", ..) => (Piece::Payload, 1),
            ("battery", ..) => (Piece::Battery, 1),
            ("station", ..) => (Piece::Station, 1),
            ("limits", ..) => (Piece::Limits, 1),
            _ => return None,
        })
    }

    fn has_fiber(&self) -> bool {
        matches!(self.delivery, Delivery::Fiber(_))
    }

    fn has_rotors(&self) -> bool {
        matches!(self.vehicle, Vehicle::Multirotor(_))
    }

    /// Reads a target again from the tree of a scenario of the same kinds, of which only numbers were changed; the part in which
    /// it stands. None if the tree is of other kinds.
    pub(crate) fn read_again(&mut self, tree: &Value, target: &Target) -> Option<Part> {
        let value = target.route.at(tree)?;
        match target.piece {
            Piece::Site => read(&mut self.site, value, Part::Site),
            Piece::Wind => read(&mut self.site.wind, value, Part::Site),
            Piece::TemperatureOffset => read(&mut self.site.temperature_offset_k, value, Part::Site),
            Piece::Ground => read(&mut self.ground, value, Part::Ground),
            Piece::Delivery => read(&mut self.delivery, value, Part::Delivery),
            Piece::FiberTether | Piece::Attenuation => self.read_fiber(value, target.piece),
            Piece::Receiver => read(&mut self.receiver, value, Part::Receiver),
            Piece::Cells | Piece::Sink | Piece::Cooling => self.read_receiver(value, target.piece),
            Piece::Vehicle => read(&mut self.vehicle, value, Part::Vehicle),
            Piece::Rotor | Piece::Drive => self.read_multirotor(value, target.piece),
            Piece::Payload => read(&mut self.payload, value, Part::Payload),
            Piece::Battery => read(&mut self.battery, value, Part::Battery),
            Piece::Station => read(&mut self.station, value, Part::Station),
            Piece::Limits => read(&mut self.limits, value, Part::Limits),
        }
    }

    fn read_fiber(&mut self, value: &Value, piece: Piece) -> Option<Part> {
        let Delivery::Fiber(fiber) = &mut self.delivery else { return None };
        match piece {
            Piece::FiberTether => read(&mut fiber.tether, value, Part::Delivery),
            _ => read(&mut fiber.attenuation, value, Part::Delivery),
        }
    }

    fn read_receiver(&mut self, value: &Value, piece: Piece) -> Option<Part> {
        let receiver = self.receiver.as_mut()?;
        match piece {
            Piece::Cells => read(&mut receiver.cells, value, Part::Receiver),
            Piece::Sink => read(&mut receiver.sink, value, Part::Receiver),
            _ => read(&mut receiver.cooling, value, Part::Receiver),
        }
    }

    fn read_multirotor(&mut self, value: &Value, piece: Piece) -> Option<Part> {
        let Vehicle::Multirotor(craft) = &mut self.vehicle else { return None };
        match piece {
            Piece::Rotor => read(&mut craft.rotor, value, Part::Vehicle),
            _ => read(&mut craft.drive, value, Part::Vehicle),
        }
    }
}

/// Puts what a value says in `place`, and hands the part on.
fn read<T: DeserializeOwned>(place: &mut T, value: &Value, part: Part) -> Option<Part> {
    *place = T::deserialize(value).ok()?;
    Some(part)
}
