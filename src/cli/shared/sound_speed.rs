//! How fast sound goes from loudspeaker to ear.

/// In air at 20 °C, m/s (textbook value, from memory).
pub const IN_AIR_M_S: f64 = 343.0;
/// In fresh water at 20 °C, m/s (textbook value, from memory).
pub const IN_WATER_M_S: f64 = 1482.0;
