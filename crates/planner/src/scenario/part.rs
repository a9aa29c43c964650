//! Parts of a scenario, read again one by one from a tree of values: a search that changes a few numbers thousands of times
//! reads no more than the parts in which they stand.

use serde::de::DeserializeOwned;
use serde_json::Value;

use super::{Delivery, Scenario, Vehicle, WindProfile};

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

impl Scenario {
    /// Reads the part in which `pointer` stands again from the tree of a scenario of the same kinds, of which only numbers were
    /// changed. None if it stands in no part that models are built from, or the tree is of other kinds.
    pub(crate) fn read_again(&mut self, tree: &Value, pointer: &str) -> Option<Part> {
        let mut steps = pointer.split('/').skip(1);
        let (first, second, third) = (steps.next()?, steps.next()?, steps.next().unwrap_or_default());
        match first {
            "site" => self.read_site(tree, second).map(|()| Part::Site),
            "delivery" => self.read_delivery(tree, third).map(|()| Part::Delivery),
            "receiver" => self.read_receiver(tree, second).map(|()| Part::Receiver),
            "vehicle" => self.read_vehicle(tree, third).map(|()| Part::Vehicle),
            "ground" => read(&mut self.ground, tree, &["ground"]).map(|()| Part::Ground),
            "payload" => read(&mut self.payload, tree, &["payload"]).map(|()| Part::Payload),
            "battery" => read(&mut self.battery, tree, &["battery"]).map(|()| Part::Battery),
            "station" => read(&mut self.station, tree, &["station"]).map(|()| Part::Station),
            "limits" => read(&mut self.limits, tree, &["limits"]).map(|()| Part::Limits),
            _ => None,
        }
    }

    fn read_site(&mut self, tree: &Value, key: &str) -> Option<()> {
        match key {
            "wind" => read(&mut self.site.wind, tree, &["site", "wind"]),
            "temperature_offset_k" => read(&mut self.site.temperature_offset_k, tree, &["site", key]),
            _ => read(&mut self.site, tree, &["site"]),
        }
    }

    fn read_delivery(&mut self, tree: &Value, key: &str) -> Option<()> {
        match (&mut self.delivery, key) {
            (Delivery::Fiber(fiber), "tether") => read(&mut fiber.tether, tree, &["delivery", "fiber", key]),
            (Delivery::Fiber(fiber), "attenuation") => {
                read(&mut fiber.attenuation, tree, &["delivery", "fiber", key])
            }
            (delivery, _) => read(delivery, tree, &["delivery"]),
        }
    }

    fn read_receiver(&mut self, tree: &Value, key: &str) -> Option<()> {
        match (&mut self.receiver, key) {
            (Some(receiver), "cells") => read(&mut receiver.cells, tree, &["receiver", key]),
            (Some(receiver), "sink") => read(&mut receiver.sink, tree, &["receiver", key]),
            (Some(receiver), "cooling") => read(&mut receiver.cooling, tree, &["receiver", key]),
            (receiver, _) => read(receiver, tree, &["receiver"]),
        }
    }

    fn read_vehicle(&mut self, tree: &Value, key: &str) -> Option<()> {
        match (&mut self.vehicle, key) {
            (Vehicle::Multirotor(craft), "rotor") => {
                read(&mut craft.rotor, tree, &["vehicle", "multirotor", key])
            }
            (Vehicle::Multirotor(craft), "drive") => {
                read(&mut craft.drive, tree, &["vehicle", "multirotor", key])
            }
            (vehicle, _) => read(vehicle, tree, &["vehicle"]),
        }
    }
}

/// Puts what stands at the end of `steps` in `place`.
fn read<T: DeserializeOwned>(place: &mut T, tree: &Value, steps: &[&str]) -> Option<()> {
    let value = steps.iter().try_fold(tree, |value, step| value.get(step))?;
    *place = T::deserialize(value).ok()?;
    Some(())
}
