//! Values taken where a scenario is silent. Each is named at its field, with its source.

/// Declares one function per default, as serde wants it.
macro_rules! defaults {
    ($($name:ident: $type:ty = $value:expr;)*) => {
        $(pub(super) fn $name() -> $type { $value })*
    };
}

defaults! {
    reference_height_m: f64 = 10.0;
    shear_exponent: f64 = 1.0 / 7.0;
    floor_height_m: f64 = 0.5;
    gust_ratio: f64 = 1.45;
    water_temperature_c: f64 = 10.0;
    coolant_temperature_c: f64 = 20.0;
    wavelength_drift_nm_per_k: f64 = 0.3;
    linewidth_nm: f64 = 2.0;
    coefficient_of_performance: f64 = 3.0;
    packing_allowance_ratio: f64 = 0.1;
    exit_height_m: f64 = 0.5;
    drum_heat_transfer_w_per_m2_k: f64 = 10.0;
    drum_conductivity_w_per_m_k: f64 = 0.25;
    coating_max_temperature_c: f64 = 85.0;
    series_resistance_change_per_k: f64 = 0.002;
    tangential_coefficient: f64 = 0.02;
    one: f64 = 1.0;
    data_connectors_count: u32 = 2;
    data_connector_loss_db: f64 = 0.75;
    data_splice_loss_db: f64 = 0.3;
    visibility_km: f64 = 23.0;
    pointing_jitter_urad: f64 = 20.0;
    tracking_efficiency_ratio: f64 = 0.99;
    wake_fraction_ratio: f64 = 0.5;
    charge_efficiency_ratio: f64 = 0.95;
    depth_of_discharge_ratio: f64 = 0.8;
    max_c_rate_count: f64 = 10.0;
    pack_specific_energy_wh_per_kg: f64 = 150.0;
    break_load_factor: f64 = 5.0;
    proof_stress_mpa: f64 = 689.475_7;
    thrust_reserve_ratio: f64 = 1.3;
    min_drum_elevation_deg: f64 = 5.0;
    min_clearance_m: f64 = 0.0;
    power_reserve_ratio: f64 = 0.05;
    sheave_radius_mm: f64 = 150.0;
    jacket_bend_ratio: f64 = 20.0;
    battery_untouched_ratio: f64 = 0.2;
    max_spill_over_ratio: f64 = 0.5;
    induced_factor: f64 = beamstay_rotor::disk::DEFAULT_INDUCED_FACTOR;
    thrust_coefficient: f64 = beamstay_rotor::disk::DEFAULT_THRUST_COEFFICIENT;
    max_tip_mach_ratio: f64 = 0.7;
    drag_exponent: f64 = 0.2;
    rotor_drag_s_per_m: f64 = beamstay_vehicle::defaults::ROTOR_DRAG_S_PER_M;
    guard_drag_coefficient: f64 = 1.2;
    max_winding_c: f64 = 120.0;
    launch_margin_ratio: f64 = 0.15;
    launch_good_hours_count: u32 = 2;
    launch_charge_ratio: f64 = 0.9;
    recovery_rate_m_s: f64 = 1.5;
    decision_time_s: f64 = 5.0;
    max_descent_rate_m_s: f64 = 5.0;
    vortex_ring_share_ratio: f64 = 0.8;
    landing_hover_s: f64 = 120.0;
}
