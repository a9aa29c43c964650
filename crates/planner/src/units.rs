//! The unit that the end of a key stands for: one table for messages, schema and reports.

/// Endings of keys and the units they stand for, longest first where one ends in another.
const UNITS: &[(&str, &str)] = &[
    ("_n_m", "N·m"),
    ("_db_per_km", "dB/km"),
    ("_deg_per_m", "°/m"),
    ("_g_per_m", "g/m"),
    ("_kg_per_m", "kg/m"),
    ("_kg_m3", "kg/m³"),
    ("_nm_per_k", "nm/K"),
    ("_k_per_w", "K/W"),
    ("_w_per_m_k", "W/(m·K)"),
    ("_w_per_a", "W/A"),
    ("_w_per_kg", "W/kg"),
    ("_wh_per_kg", "Wh/kg"),
    ("_rpm_per_v", "rpm/V"),
    ("_l_per_h", "L/h"),
    ("_l_per_kwh", "L/kWh"),
    ("_s_per_m", "s/m"),
    ("_per_k", "1/K"),
    ("_per_rad", "1/rad"),
    ("_m_s", "m/s"),
    ("_rad_s", "rad/s"),
    ("_mm2", "mm²"),
    ("_cm2", "cm²"),
    ("_m2", "m²"),
    ("_a_per_cm2", "A/cm²"),
    ("_w_per_cm2", "W/cm²"),
    ("_w_m2", "W/m²"),
    ("_mrad", "mrad"),
    ("_urad", "µrad"),
    ("_m_2_3", "m^(-2/3)"),
    ("_ohm_cm2", "Ω·cm²"),
    ("_mohm", "mΩ"),
    ("_ohm", "Ω"),
    ("_gpa", "GPa"),
    ("_mpa", "MPa"),
    ("_hpa", "hPa"),
    ("_pa", "Pa"),
    ("_ah", "Ah"),
    ("_wh", "Wh"),
    ("_min", "min"),
    ("_deg", "°"),
    ("_rpm", "rpm"),
    ("_km", "km"),
    ("_um", "µm"),
    ("_nm", "nm"),
    ("_mm", "mm"),
    ("_cm", "cm"),
    ("_kg", "kg"),
    ("_db", "dB"),
    ("_hz", "Hz"),
    ("_ev", "eV"),
    ("_kw", "kW"),
    ("_ms", "ms"),
    ("_c", "°C"),
    ("_g", "g"),
    ("_h", "h"),
    ("_k", "K"),
    ("_l", "L"),
    ("_m", "m"),
    ("_n", "N"),
    ("_s", "s"),
    ("_v", "V"),
    ("_w", "W"),
    ("_a", "A"),
    ("_j", "J"),
];

/// Key without its unit, and the unit; `None` for a pure number.
///
/// # Examples
/// ```
/// use beamstay_planner::units::split_unit;
/// assert_eq!(split_unit("drum_tension_n"), Some(("drum_tension", "N")));
/// assert_eq!(split_unit("rotor_count"), None);
/// ```
pub fn split_unit(key: &str) -> Option<(&str, &'static str)> {
    UNITS
        .iter()
        .filter_map(|(ending, unit)| key.strip_suffix(ending).map(|stem| (stem, *unit)))
        .filter(|(stem, _)| !stem.is_empty())
        .min_by_key(|(stem, _)| stem.len())
}

/// Unit that the end of a key stands for.
pub fn unit_of_key(key: &str) -> Option<&'static str> {
    split_unit(key).map(|(_, unit)| unit)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_longest_ending_wins() {
        assert_eq!(unit_of_key("mass_kg_per_m"), Some("kg/m"));
        assert_eq!(unit_of_key("drift_nm_per_k"), Some("nm/K"));
        assert_eq!(unit_of_key("speed_m_s"), Some("m/s"));
        assert_eq!(unit_of_key("torque_n_m"), Some("N·m"));
        assert_eq!(unit_of_key("temperature_offset_k"), Some("K"));
    }
}
