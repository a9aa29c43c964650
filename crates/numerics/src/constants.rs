//! Exact constants of the SI and the agreed ones of the trade.

/// Standard acceleration of gravity, m/s² (3rd CGPM, 1901; exact by convention).
pub const STANDARD_GRAVITY_M_S2: f64 = 9.806_65;

/// Speed of light in vacuum, m/s (SI, exact).
pub const SPEED_OF_LIGHT_M_S: f64 = 299_792_458.0;

/// Planck constant, J·s (SI, exact).
pub const PLANCK_J_S: f64 = 6.626_070_15e-34;

/// Elementary charge, C (SI, exact).
pub const ELEMENTARY_CHARGE_C: f64 = 1.602_176_634e-19;

/// Boltzmann constant, J/K (SI, exact).
pub const BOLTZMANN_J_PER_K: f64 = 1.380_649e-23;

/// Stefan-Boltzmann constant, W/(m²·K⁴) (derived from the exact SI constants).
pub const STEFAN_BOLTZMANN_W_PER_M2_K4: f64 = 5.670_374_419e-8;

/// Zero of the Celsius scale, K (exact).
pub const ZERO_CELSIUS_K: f64 = 273.15;
