//! Roughness lengths of terrain for the logarithmic wind profile.

/// Davenport's terrain classes as revised by J. Wieringa, *Updating the Davenport roughness classification*, J. Wind Eng.
/// Ind. Aerodyn. 41-44 (1992), 357-368.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[non_exhaustive]
pub enum Terrain {
    /// Open water, tidal flat, snow, with 5 km of free fetch.
    Sea,
    /// Featureless land: beach, ice, fallow land.
    Smooth,
    /// Level country with grass and a few low obstacles.
    Open,
    /// Low crops or plants, obstacles 20 heights apart.
    RoughlyOpen,
    /// Tall crops, obstacles 15 heights apart.
    Rough,
    /// Orchards, bushes, scattered buildings 10 heights apart.
    VeryRough,
    /// Wood or suburb of even height.
    Skimming,
    /// City centre, irregular forest.
    Chaotic,
}

impl Terrain {
    /// All classes, smoothest first.
    pub const ALL: [Self; 8] = [
        Self::Sea,
        Self::Smooth,
        Self::Open,
        Self::RoughlyOpen,
        Self::Rough,
        Self::VeryRough,
        Self::Skimming,
        Self::Chaotic,
    ];

    /// Roughness length, m. For the last two, heights count from about two thirds of the obstacle height, which the profile
    /// here does not model: treat results below three obstacle heights as unknown.
    ///
    /// # Examples
    /// ```
    /// assert_eq!(beamstay_environment::roughness::Terrain::Open.roughness_m(), 0.03);
    /// ```
    pub fn roughness_m(self) -> f64 {
        match self {
            Self::Sea => 0.0002,
            Self::Smooth => 0.005,
            Self::Open => 0.03,
            Self::RoughlyOpen => 0.1,
            Self::Rough => 0.25,
            Self::VeryRough => 0.5,
            Self::Skimming => 1.0,
            Self::Chaotic => 2.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn classes_rise() {
        assert!(Terrain::ALL.windows(2).all(|pair| pair[0].roughness_m() < pair[1].roughness_m()));
    }
}
