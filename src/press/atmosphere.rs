//! How hard the air presses.

/// Pressure of the standard atmosphere at sea level, MPa (ISO 2533, section 2.1: 101 325 Pa).
const SEA_LEVEL_MPA: f64 = 0.101_325;
/// Its temperature there, K (ISO 2533).
const SEA_LEVEL_K: f64 = 288.15;
/// How it cools with geopotential altitude, K/m (ISO 2533, up to 11 km).
const LAPSE_K_PER_M: f64 = 0.0065;
/// Exponent g M/(R L) from the same standard's constants.
const EXPONENT: f64 = 5.255_88;
/// Radius of the earth that turns geometric into geopotential altitude, m (ISO 2533).
const EARTH_M: f64 = 6_356_766.0;

/// Altitudes for which the formula holds, m: the lowest layer of ISO 2533 begins at -5 km.
const HEIGHTS_M: std::ops::RangeInclusive<f64> = -5_000.0..=11_000.0;

/// Pressure of the standard atmosphere at an altitude, MPa; weather moves it by some 3 %. Holds from -5 km to
/// 11 km; beyond it is not a number, which every use of a pressure refuses.
pub fn atmosphere_mpa(altitude_m: f64) -> f64 {
    if !HEIGHTS_M.contains(&altitude_m) {
        return f64::NAN;
    }
    let geopotential = EARTH_M * altitude_m / (EARTH_M + altitude_m);
    SEA_LEVEL_MPA * libm::pow(1.0 - LAPSE_K_PER_M * geopotential / SEA_LEVEL_K, EXPONENT)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pressures_are_those_of_iso_2533() {
        // ISO 2533, table of pressure over geometric altitude, Pa; printed to the last digit.
        let table = [
            (0.0, 101_325.0),
            (500.0, 95_461.0),
            (1000.0, 89_876.0),
            (1500.0, 84_560.0),
            (2000.0, 79_501.0),
            (2500.0, 74_692.0),
            (3000.0, 70_121.0),
        ];
        for (altitude, pascal) in table {
            let found = 1e6 * atmosphere_mpa(altitude);
            assert!((found - pascal).abs() <= 0.6, "{found} Pa at {altitude} m is not {pascal} Pa");
        }
    }

    #[test]
    fn full_vacuum_at_sea_level_is_14_7_psi() {
        // Common practice, no source; printed to a tenth.
        let psi = 1e6 * atmosphere_mpa(0.0) / crate::units::PA_PER_PSI;
        assert!((psi - 14.7).abs() < 0.05, "{psi}");
    }
}
