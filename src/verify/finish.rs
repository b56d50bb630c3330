//! Gloss, haze and scatter; grit sizes; what a fingertip feels; the laws of defects in closed form.

use super::{Check, Group};
use crate::finish::{GlossAngle, luminance_factor};
use crate::finish::{
    Grit, GritSystem, LogNormal, STANDARD_INDEX, WAVELENGTH_M, correction, felt_by_fingertip, haze, reflectance,
    scatter, smooth_gloss,
};
use crate::units::{Angle, Length};

fn or_nan<E>(value: Result<f64, E>) -> f64 {
    value.unwrap_or(f64::NAN)
}

const ANGLES: [(GlossAngle, &str); 3] =
    [(GlossAngle::Twenty, "20"), (GlossAngle::Sixty, "60"), (GlossAngle::EightyFive, "85")];

fn optics(out: &mut Vec<Check>) {
    let mut mirror = Group::published("Gloss", "Fresnel's equations, black glass of ISO 2813 (2014)", "");
    for ((at, deg), expected) in ANGLES.into_iter().zip([0.0490781, 0.1000560, 0.6191482]) {
        let got = or_nan(reflectance(STANDARD_INDEX, at.angle()));
        mirror.add(format!("reflectance, n 1.567, {deg} degrees"), expected, got, 5e-8);
    }
    let mut scale = Group::published("Gloss", "scale of ISO 2813 (2014): black glass of index 1.567 reads 100", "GU");
    // 82.0452, 89.1368 and 98.9746 in arithmetic of 40 digits.
    for ((at, deg), expected) in ANGLES.into_iter().zip([82.05, 89.14, 98.97]) {
        scale.add(format!("n 1.50, {deg} degrees"), expected, or_nan(smooth_gloss(1.5, at)), 5e-3);
        scale.add(format!("n 1.567, {deg} degrees"), 100.0, or_nan(smooth_gloss(STANDARD_INDEX, at)), 1e-10);
    }
    let mut bias = Group::published("Gloss", "published definition of ASTM D4039, G60 - G20", "GU");
    let smooth = haze(1.5, Length::from_m(0.0)).ok().flatten();
    bias.add("haze reading of a perfect surface, n 1.50", 7.09, smooth.map_or(f64::NAN, |h| h.reading), 5e-3);
    let seen = smooth.map_or(f64::NAN, |h| h.from_scatter());
    // Two differences of the same numbers: a few roundings of 90.
    bias.add("haze of its roughness", 0.0, seen, 1e-12);
    let mut share = Group::published("Gloss", "Davies (1954); Bennett and Porteus (1961)", "");
    for (deg, expected) in [(0.0, 0.050864), (20.0, 0.045050), (60.0, 0.012966)] {
        let s = scatter(Length::from_m(10e-9), Angle::from_deg(deg), Length::from_m(WAVELENGTH_M));
        share.add(format!("scattered share, 10 nm, 550 nm, {deg} degrees"), expected, or_nan(s.map(|s| s.share)), 5e-7);
    }
    for g in [mirror, scale, bias, share] {
        out.extend(g.checks);
    }
}

fn grits(out: &mut Vec<Check>) {
    let size = |system, number| or_nan(Grit::new(system, number).map(|g| g.size().um()));
    let mut fepa = Group::published("Grit", "FEPA P, ISO 6344-3 (1998)", "µm");
    fepa.add("P2500", 8.4, size(GritSystem::FepaP, 2500), 0.05);
    let mut jis = Group::published("Grit", "JIS R 6001 (1987), electrical resistance method", "µm");
    for (number, expected) in [(2000, 6.7), (3000, 4.0), (8000, 1.2)] {
        jis.add(format!("#{number}"), expected, size(GritSystem::JisR6001, number), 0.05);
    }
    out.extend(fepa.checks);
    out.extend(jis.checks);
}

fn senses(out: &mut Vec<Check>) {
    let mut finger = Group::computed("Fingertip", "Johansson and LaMotte (1983): 0.85 µm, SD 0.22", "");
    // Φ(0), Φ(1) and Φ(−1) with more digits than the table of the handbook.
    for (um, expected) in [(0.85, 0.5), (1.07, 0.8413447), (0.63, 0.1586553)] {
        finger.add(format!("share who feel {um} µm"), expected, or_nan(felt_by_fingertip(Length::from_um(um))), 5e-8);
    }
    let mut light = Group::published("Lightness", "published definition of CIE 1976 L*", "");
    // L* = 50: ((50 + 16)/116)³; L* = 8 is where the straight line begins: (6/29)³.
    for (l, expected) in [(50.0, 0.1841865), (8.0, 0.0088565), (100.0, 1.0)] {
        light.add(format!("luminance factor, L* {l}"), expected, or_nan(luminance_factor(l)), 5e-8);
    }
    out.extend(finger.checks);
    out.extend(light.checks);
}

fn defects(out: &mut Vec<Check>) {
    let mut g = Group::own("Defects", "own closed forms: a cut of the median, and the mean above a level", "");
    let median = 1e-6;
    let half = LogNormal::new(median, 0.5)
        .and_then(|d| correction(&d, Length::from_m(median), Length::from_um(0.2)).map(|c| c.removed));
    g.add("share removed by a cut of the median depth", 0.5, or_nan(half), 1e-12);
    // E[max(X − 1, 0)] at median 1 and spread s: exp(s²/2)Φ(s) − 1/2, s = 0.5: 1.1331485·0.6914625 − 0.5.
    let above = LogNormal::new(median, 0.5).map(|d| d.mean_above(median) / median);
    g.add("mean depth above the median over the median", 0.2835297, or_nan(above), 5e-7);
    out.extend(g.checks);
}

pub(super) fn checks() -> Vec<Check> {
    let mut out = Vec::new();
    optics(&mut out);
    grits(&mut out);
    senses(&mut out);
    defects(&mut out);
    out
}
