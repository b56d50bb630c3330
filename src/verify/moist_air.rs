//! Moist air: saturation pressure, dew point, order of the deficits.

use super::{Check, Group};
use crate::units::Temperature;
use crate::wear::{MoistAir, saturation_pressure, saturation_pressure_magnus};

fn air(t_c: f64, humidity: f64) -> Option<MoistAir> {
    MoistAir::new(Temperature::from_c(t_c), humidity).ok()
}

/// Largest relative difference of the two forms from 0 to 50 °C, in steps of 0.1 K; NaN if one of them
/// refuses.
fn magnus_deviation() -> f64 {
    let mut worst = 0.0_f64;
    for i in 0..=500 {
        let t = Temperature::from_c(f64::from(i) / 10.0);
        match (saturation_pressure_magnus(t), saturation_pressure(t)) {
            (Ok(magnus), Ok(exact)) => worst = worst.max((magnus.pa() / exact.pa() - 1.0).abs()),
            _ => return f64::NAN,
        }
    }
    100.0 * worst
}

pub(super) fn checks() -> Vec<Check> {
    let mut saturation =
        Group::published("Moist air", "Wagner and Pruss (1993), IAPWS SR1-86, as tabulated from their equation", "Pa");
    // Half the last printed digit.
    for (t, p) in [(0.0, 611.21), (10.0, 1228.11), (20.0, 2339.19), (30.0, 4246.92), (40.0, 7385.11)] {
        let got = saturation_pressure(Temperature::from_c(t)).map_or(f64::NAN, crate::units::Pressure::pa);
        saturation.add(format!("saturation pressure at {t} °C"), p, got, 5e-3);
    }
    let mut magnus = Group::computed(
        "Moist air",
        "Magnus form of the WMO-No. 8 against Wagner and Pruss (1993): within 0.32 %",
        "%",
    );
    // Where they differ most, at 28 °C, evaluated apart from this crate; half the last digit. So two forms that
    // agree too well fail as well.
    magnus.add("largest difference, 0 to 50 °C in steps of 0.1 K", 0.3126, magnus_deviation(), 5e-5);
    let mut dew = Group::published("Moist air", "Magnus form of the WMO-No. 8, inverted", "°C");
    // Half the last printed digit.
    for (t, humidity, expected) in [(20.0, 0.5, 9.255), (25.0, 0.5, 13.852)] {
        let got = air(t, humidity).and_then(|a| a.dew_point().ok()).map_or(f64::NAN, Temperature::c);
        dew.add(format!("dew point of {t} °C at humidity {humidity}"), expected, got, 5e-4);
    }
    let mut order =
        Group::computed("Moist air", "order of the vapour-pressure deficits: 30/30 % > 20/50 % > 20/80 %", "pairs");
    let deficits: Vec<f64> = [(30.0, 0.3), (20.0, 0.5), (20.0, 0.8)]
        .iter()
        .map(|(t, h)| air(*t, *h).and_then(|a| a.deficit().ok()).map_or(f64::NAN, crate::units::Pressure::pa))
        .collect();
    // A NaN is in no order, so it counts for none.
    let pairs = deficits.windows(2).filter(|w| w[0] > w[1]).count();
    // Pairs are whole: anything below one tells them apart.
    order.add("pairs in order", 2.0, pairs as f64, 0.1);
    let mut all = saturation.checks;
    all.extend(magnus.checks);
    all.extend(dew.checks);
    all.extend(order.checks);
    all
}
