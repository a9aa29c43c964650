//! How the members of a cross-section share a tension and in which order they break.

use super::layer::{Elements, Ring, Room};

/// One load-bearing member, all numbers per unit strain of the line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Member {
    /// Layer of the cross-section that it belongs to, from 0.
    pub layer: usize,
    /// Force along the line for a strain of 1, N.
    pub stiffness_n: f64,
    /// Strain of the line at which it breaks.
    pub failure_strain: f64,
    /// Stress in it for a strain of 1 of the line, Pa.
    pub stress_per_strain_pa: f64,
    /// Whether it is glass.
    pub is_glass: bool,
}

impl Member {
    /// The member that a ring is; `None` if it carries nothing. A fiber at angle β to the line strains by ε cos²β and
    /// pulls along the line with E A ε cos³β.
    pub fn of_ring(layer: usize, ring: &Ring, room: &Room) -> Option<Self> {
        let (modulus_pa, strength_pa) = (ring.material.youngs_modulus_pa, ring.material.strength_pa);
        if !ring.carries_load || modulus_pa <= 0.0 || strength_pa <= 0.0 {
            return None;
        }
        let cos = ring.lay_angle_rad.cos();
        let stress_per_strain_pa = modulus_pa * cos * cos;
        Some(Self {
            layer,
            stiffness_n: stress_per_strain_pa * room.solid_area_m2 * cos,
            failure_strain: strength_pa * ring.strength_realization_ratio / stress_per_strain_pa,
            stress_per_strain_pa,
            is_glass: ring.part.is_glass(),
        })
    }

    /// A member of one element as a member of the line that holds `elements`.
    pub fn of_element(&self, layer: usize, elements: &Elements) -> Self {
        let cos = elements.lay_angle_rad.cos();
        let strain_ratio = cos * cos;
        Self {
            layer,
            stiffness_n: self.stiffness_n * f64::from(elements.count) * strain_ratio * cos,
            failure_strain: self.failure_strain / strain_ratio,
            stress_per_strain_pa: self.stress_per_strain_pa * strain_ratio,
            is_glass: self.is_glass,
        }
    }
}

/// Sum of the stiffnesses, N.
pub(super) fn total_stiffness_n(members: &[Member]) -> f64 {
    members.iter().map(|member| member.stiffness_n).sum()
}

/// Largest tension that some of the members still bear together: at each breaking strain in turn, what is left intact
/// carries that strain.
pub(super) fn breaking_load_n(members: &[Member]) -> f64 {
    let mut by_strain = members.to_vec();
    by_strain.sort_by(|a, b| b.failure_strain.total_cmp(&a.failure_strain));
    let mut intact_n = 0.0;
    let mut most_n: f64 = 0.0;
    for member in by_strain {
        intact_n += member.stiffness_n;
        most_n = most_n.max(intact_n * member.failure_strain);
    }
    most_n
}
