//! Connectors, splices and rotary joints: a list of losses in dB in, the transmitted ratio out.

use beamstay_numerics::domain::in_range;

use crate::{OpticsError, decibel};

/// What joins two fibers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum ConnectionKind {
    /// Mated pair of connectors; at most 0.75 dB in ISO/IEC 14763-3:2024.
    Connector,
    /// Fusion or mechanical splice; at most 0.3 dB in TIA-568.3.
    Splice,
    /// Rotary joint between a turning drum and the ground.
    RotaryJoint,
}

/// One joint on the light's way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Connection {
    /// What it is.
    pub kind: ConnectionKind,
    /// What it costs.
    pub loss: Loss,
}

/// An insertion loss, dB.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Loss {
    /// 10 log₁₀(in/out), dB; 0 to 100.
    pub loss_db: f64,
}

impl Connection {
    /// A joint with a measured or allowed loss.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] if the loss is not 0 to 100 dB.
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::connector::{Connection, ConnectionKind};
    /// let connector = Connection::new(ConnectionKind::Connector, 0.5)?;
    /// assert!((connector.transmission_ratio() - 0.891_250_9).abs() < 1e-7);
    /// # Ok::<(), beamstay_optics::OpticsError>(())
    /// ```
    pub fn new(kind: ConnectionKind, loss_db: f64) -> Result<Self, OpticsError> {
        let connection = Self { kind, loss: Loss { loss_db } };
        connection.check()?;
        Ok(connection)
    }

    /// The largest loss that ISO/IEC 14763-3:2024 allows a mated pair of connectors: 0.75 dB.
    pub fn worst_connector() -> Self {
        Self { kind: ConnectionKind::Connector, loss: Loss { loss_db: 0.75 } }
    }

    /// The largest loss that TIA-568.3 allows a splice: 0.3 dB.
    pub fn worst_splice() -> Self {
        Self { kind: ConnectionKind::Splice, loss: Loss { loss_db: 0.3 } }
    }

    /// Whether the loss is finite and 0 to 100 dB.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    pub fn check(&self) -> Result<(), OpticsError> {
        in_range("connection loss", "dB", self.loss.loss_db, 0.0, 100.0)?;
        Ok(())
    }

    /// Power out per power in.
    pub fn transmission_ratio(&self) -> f64 {
        decibel::ratio_of_loss(self.loss.loss_db)
    }
}

/// Loss of several joints together, dB: decibels add.
///
/// # Examples
/// ```
/// use beamstay_optics::connector::{total_loss_db, Connection};
/// let joints = [Connection::worst_connector(), Connection::worst_connector(), Connection::worst_splice()];
/// assert!((total_loss_db(&joints) - 1.8).abs() < 1e-12);
/// ```
pub fn total_loss_db(connections: &[Connection]) -> f64 {
    connections.iter().map(|connection| connection.loss.loss_db).sum()
}

/// Power out per power in of several joints in a row.
///
/// # Examples
/// ```
/// use beamstay_optics::connector::{transmission_ratio, Connection, ConnectionKind};
/// let joints = [Connection::new(ConnectionKind::Splice, 0.1)?, Connection::new(ConnectionKind::Connector, 0.4)?];
/// assert!((transmission_ratio(&joints) - 10_f64.powf(-0.05)).abs() < 1e-12);
/// # Ok::<(), beamstay_optics::OpticsError>(())
/// ```
pub fn transmission_ratio(connections: &[Connection]) -> f64 {
    decibel::ratio_of_loss(total_loss_db(connections))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gain_and_not_a_number_are_refused() {
        for loss_db in [-0.01, 100.1, f64::NAN, f64::INFINITY] {
            assert!(Connection::new(ConnectionKind::Splice, loss_db).is_err(), "{loss_db}");
        }
        assert!(Connection::new(ConnectionKind::Splice, 0.0).is_ok());
        assert!(Connection::new(ConnectionKind::RotaryJoint, 100.0).is_ok());
    }

    #[test]
    fn ratios_multiply_where_decibels_add() {
        let joints = [Connection::worst_connector(), Connection::worst_splice()];
        let product: f64 = joints.iter().map(Connection::transmission_ratio).product();
        assert!((product - transmission_ratio(&joints)).abs() < 1e-15);
        assert!((transmission_ratio(&[]) - 1.0).abs() < f64::EPSILON);
    }
}
