//! What the layers of a tether are made of: density, modulus and strength from handbooks, each with its source and
//! how it is known, or the user's own numbers.

use beamstay_numerics::domain::{OutOfRange, in_range};

/// The three numbers that a cross-section needs of a material. Build one by [`Handbook::material`], or from a data
/// sheet by [`Material::new`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Material {
    /// Density of the solid, kg/m³.
    pub density_kg_m3: f64,
    /// Young's modulus along the line, Pa.
    pub youngs_modulus_pa: f64,
    /// Tensile stress at break, Pa; for glass the proof stress that every metre has survived.
    pub strength_pa: f64,
}

impl Material {
    /// A material of the user's own. Density 1 to 25000 kg/m³, modulus 0 to 2 TPa, strength 0 to 100 GPa; one without
    /// modulus or strength carries nothing.
    ///
    /// # Errors
    /// [`OutOfRange`] for a number outside its range.
    ///
    /// # Examples
    /// ```
    /// use beamstay_tether::material::Material;
    /// assert!(Material::new(1450.0, 120e9, 3.0e9).is_ok());
    /// assert!(Material::new(0.00145, 120e9, 3.0e9).is_err());
    /// ```
    pub fn new(density_kg_m3: f64, youngs_modulus_pa: f64, strength_pa: f64) -> Result<Self, OutOfRange> {
        let material = Self { density_kg_m3, youngs_modulus_pa, strength_pa };
        material.check()?;
        Ok(material)
    }

    /// Checks the ranges that [`Self::new`] states.
    ///
    /// # Errors
    /// [`OutOfRange`] for the first number outside its range.
    pub fn check(&self) -> Result<(), OutOfRange> {
        in_range("density of a layer", "kg/m³", self.density_kg_m3, 1.0, 25_000.0)?;
        in_range("Young's modulus of a layer", "Pa", self.youngs_modulus_pa, 0.0, 2e12)?;
        in_range("strength of a layer", "Pa", self.strength_pa, 0.0, 1e11)?;
        Ok(())
    }

    /// Strain at break if the material stays linear, strength over modulus; [`f64::MAX`] without modulus.
    ///
    /// # Examples
    /// ```
    /// use beamstay_tether::material::Handbook;
    /// let silica = Handbook::FusedSilica.material();
    /// assert!((silica.failure_strain() - 0.00958).abs() < 1e-5, "the proof test strains by about 1 %");
    /// ```
    pub fn failure_strain(&self) -> f64 {
        if self.youngs_modulus_pa > 0.0 {
            (self.strength_pa / self.youngs_modulus_pa).min(f64::MAX)
        } else {
            f64::MAX
        }
    }
}

/// How a handbook value is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Status {
    /// Read in a copy of the source.
    Seen,
    /// Recalled, the source not seen; typical of the trade, the grade may differ by 10 to 30 %.
    FromMemory,
}

/// Young's modulus of fused silica, Pa: 72 GPa within 3 % (73 in a material database, 72 in MIT course 3.22, 69.6 on
/// the NASA GSFC fiber reliability page). The growth of the modulus with strain is left out; below 1 % it is under
/// 3 %.
pub const SILICA_MODULUS_PA: f64 = 72e9;

/// Proof stress of telecommunication fiber, Pa: 100 kpsi (NASA GSFC; test method IEC 60793-1-30).
pub const PROOF_STRESS_100_KPSI_PA: f64 = 689.475_729_316_836e6;

/// Materials of fiber and cable making. Yarns have the modulus and strength of bare yarn where a table of it was seen;
/// single filaments and impregnated strands are stiffer and stronger (aramid 49: 135 GPa and 3.62 GPa in Kim and Mai,
/// Table 5.10). The softer yarn leaves more of the load on the glass, which is the cautious side. Laid into a cable
/// yarn loses some strength again (see `strength_realization_ratio` of a layer).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Handbook {
    /// Core and cladding glass; strength is the 100 kpsi proof stress.
    FusedSilica,
    /// Secondary (outer, hard) coating.
    Acrylate,
    /// Primary (inner, soft) coating.
    SoftAcrylate,
    /// Coating for hot fibers.
    Polyimide,
    /// Soft coating and buffer.
    Silicone,
    /// Buffer and wire insulation: ethylene tetrafluoroethylene.
    Etfe,
    /// Wire insulation: fluorinated ethylene propylene.
    Fep,
    /// Tight buffer: polyamide 12.
    Polyamide12,
    /// Jacket: thermoplastic polyurethane.
    Polyurethane,
    /// Jacket: high-density polyethylene.
    Polyethylene,
    /// Jacket: soft polyvinyl chloride.
    PolyvinylChloride,
    /// Aramid yarn of standard modulus (grade 29).
    AramidStandard,
    /// Aramid yarn of high modulus (grade 49), the usual strength member.
    AramidHighModulus,
    /// Aramid yarn of ultra-high modulus (grade 149).
    AramidUltraHighModulus,
    /// Gel-spun polyethylene yarn of ultra-high molecular weight; creeps under load, softens above 70 °C.
    Uhmwpe,
    /// PBO yarn, high modulus; ages in light and damp.
    PboHighModulus,
    /// PBO yarn as spun.
    PboAsSpun,
    /// Liquid-crystal polyester yarn; hardly creeps.
    LiquidCrystalPolyester,
    /// Steel messenger wire, galvanised.
    SteelWire,
    /// Annealed copper wire; yields far below its breaking strain.
    Copper,
    /// Hard-drawn aluminium wire.
    Aluminium,
}

/// A row of the table: name, density kg/m³, modulus Pa, strength Pa, status, source.
type Row = (&'static str, f64, f64, f64, Status, &'static str);

/// Bare yarn, converted from kg/mm².
const YARN_TABLE: &str = "public table of industrial yarns by a maker of aramid (density, strength, modulus)";
const FILAMENT_TABLE: &str =
    "J.-K. Kim and Y.-W. Mai, Engineered Interfaces in Fiber Reinforced Composites, Table 5.10 (filament)";
const YARN_REVIEW: &str = "modulus: Sci. Rep. 11, 8705 (2021), Table 1; density and strength from memory";
const TRADE: &str = "typical of the trade, from memory";

impl Handbook {
    /// Every entry, in the order of the enum.
    pub const ALL: [Self; 21] = [
        Self::FusedSilica,
        Self::Acrylate,
        Self::SoftAcrylate,
        Self::Polyimide,
        Self::Silicone,
        Self::Etfe,
        Self::Fep,
        Self::Polyamide12,
        Self::Polyurethane,
        Self::Polyethylene,
        Self::PolyvinylChloride,
        Self::AramidStandard,
        Self::AramidHighModulus,
        Self::AramidUltraHighModulus,
        Self::Uhmwpe,
        Self::PboHighModulus,
        Self::PboAsSpun,
        Self::LiquidCrystalPolyester,
        Self::SteelWire,
        Self::Copper,
        Self::Aluminium,
    ];

    const fn row(self) -> Row {
        use Status::{FromMemory, Seen};
        let silica_source =
            "modulus: mean of three, MIT 3.22; proof stress: NASA GSFC, fiber assembly reliability";
        match self {
            Self::FusedSilica => {
                let (modulus, proof) = (SILICA_MODULUS_PA, PROOF_STRESS_100_KPSI_PA);
                ("fused silica", 2203.0, modulus, proof, Seen, silica_source)
            }
            Self::Acrylate => ("acrylate", 1150.0, 1.0e9, 30e6, FromMemory, TRADE),
            Self::SoftAcrylate => ("soft acrylate", 1100.0, 1.0e6, 1.0e6, FromMemory, TRADE),
            Self::Polyimide => ("polyimide", 1420.0, 2.5e9, 230e6, FromMemory, TRADE),
            Self::Silicone => ("silicone", 1100.0, 2.0e6, 6e6, FromMemory, TRADE),
            Self::Etfe => ("ETFE", 1720.0, 0.8e9, 45e6, FromMemory, TRADE),
            Self::Fep => ("FEP", 2150.0, 0.5e9, 23e6, FromMemory, TRADE),
            Self::Polyamide12 => ("polyamide 12", 1020.0, 1.4e9, 50e6, FromMemory, TRADE),
            Self::Polyurethane => ("polyurethane", 1200.0, 30e6, 35e6, FromMemory, TRADE),
            Self::Polyethylene => ("polyethylene", 950.0, 0.9e9, 25e6, FromMemory, TRADE),
            Self::PolyvinylChloride => ("polyvinyl chloride", 1350.0, 15e6, 15e6, FromMemory, TRADE),
            Self::AramidStandard => ("aramid 29", 1440.0, 73.3e9, 2.94e9, Seen, YARN_TABLE),
            Self::AramidHighModulus => ("aramid 49", 1450.0, 104.9e9, 2.98e9, Seen, YARN_TABLE),
            Self::AramidUltraHighModulus => ("aramid 149", 1470.0, 186e9, 3.44e9, Seen, FILAMENT_TABLE),
            Self::Uhmwpe => ("UHMWPE", 980.0, 86.3e9, 2.84e9, Seen, YARN_TABLE),
            Self::PboHighModulus => ("PBO high modulus", 1560.0, 270e9, 5.8e9, FromMemory, YARN_REVIEW),
            Self::PboAsSpun => ("PBO as spun", 1540.0, 180e9, 5.8e9, FromMemory, TRADE),
            Self::LiquidCrystalPolyester => {
                ("liquid-crystal polyester", 1410.0, 74.5e9, 3.23e9, Seen, YARN_TABLE)
            }
            Self::SteelWire => ("steel wire", 7850.0, 200e9, 1.2e9, FromMemory, TRADE),
            Self::Copper => ("copper", 8890.0, 117e9, 220e6, FromMemory, TRADE),
            Self::Aluminium => ("aluminium", 2703.0, 69e9, 160e6, FromMemory, TRADE),
        }
    }

    /// The numbers of the entry.
    ///
    /// # Examples
    /// ```
    /// use beamstay_tether::material::Handbook;
    /// assert_eq!(Handbook::AramidHighModulus.material().youngs_modulus_pa, 104.9e9);
    /// ```
    pub const fn material(self) -> Material {
        let (_, density_kg_m3, youngs_modulus_pa, strength_pa, _, _) = self.row();
        Material { density_kg_m3, youngs_modulus_pa, strength_pa }
    }

    /// The name in the words of the trade.
    pub const fn name(self) -> &'static str {
        self.row().0
    }

    /// How the numbers are known; the worst of the three.
    pub const fn status(self) -> Status {
        self.row().4
    }

    /// Where the numbers come from.
    pub const fn source(self) -> &'static str {
        self.row().5
    }

    /// The entry of a [`Self::name`], if there is one.
    ///
    /// # Examples
    /// ```
    /// use beamstay_tether::material::Handbook;
    /// assert_eq!(Handbook::named("aramid 49"), Some(Handbook::AramidHighModulus));
    /// assert_eq!(Handbook::named("unobtainium"), None);
    /// ```
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|entry| entry.name() == name)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_entry_is_valid_and_has_a_name_of_its_own() {
        for (i, entry) in Handbook::ALL.into_iter().enumerate() {
            entry.material().check().unwrap();
            assert!(!entry.source().is_empty());
            assert_eq!(Handbook::named(entry.name()), Some(entry));
            assert_eq!(entry as usize, i, "ALL holds {entry:?} once and in order");
        }
    }

    #[test]
    fn each_number_has_its_own_guard() {
        let good = Handbook::Copper.material();
        assert!(Material { density_kg_m3: 0.99, ..good }.check().is_err());
        assert!(Material { density_kg_m3: 25_001.0, ..good }.check().is_err());
        assert!(Material { youngs_modulus_pa: 2.01e12, ..good }.check().is_err());
        assert!(Material { youngs_modulus_pa: f64::NAN, ..good }.check().is_err());
        assert!(Material { strength_pa: -1.0, ..good }.check().is_err());
        assert!(Material { strength_pa: f64::INFINITY, ..good }.check().is_err());
    }
}
