//! The halo of scratches under a lamp: its limits, its balance, and its density of facets by a plain sum.

use trochoid::finish::{
    FinishError, Halo, Marking, PointLight, ScratchSpread, Scratches, WAVELENGTH_M, facet_density, halo, reflectance,
    scatter,
};
use trochoid::removal::{Grid, Orientation};
use trochoid::{Angle, Length};

const TURN: f64 = core::f64::consts::TAU;

fn place(x: f64, y: f64, z: f64) -> [Length; 3] {
    [x, y, z].map(Length::from_m)
}

fn one_way(anisotropy: f64, direction_rad: f64) -> Orientation {
    Orientation { anisotropy, direction_rad }
}

fn nm(n: f64) -> Length {
    Length::from_m(n * 1e-9)
}

fn gauss(v: f64, sd: f64) -> f64 {
    (-0.5 * (v / sd).powi(2)).exp() / (sd * TURN.sqrt())
}

/// The integral over all directions by a plain sum of the closed form; `anisotropy` below 1.
fn density_slow(slope: (f64, f64), o: &Orientation, (across, along): (f64, f64)) -> f64 {
    let n = 40_000;
    let a = o.anisotropy;
    (0..n)
        .map(|k| {
            let phi = 0.5 * TURN * (f64::from(k) + 0.5) / f64::from(n);
            let f = (1.0 - a * a) / (1.0 + a * a - 2.0 * a * (2.0 * (phi - o.direction_rad)).cos());
            let (sin, cos) = phi.sin_cos();
            let (u, v) = (slope.0 * cos + slope.1 * sin, slope.1 * cos - slope.0 * sin);
            f * gauss(v, across) * gauss(u, along) / f64::from(n)
        })
        .sum()
}

#[test]
fn the_density_of_facets_is_that_of_a_plain_sum() {
    let spread = ScratchSpread::new(0.25, 0.02).unwrap();
    // The stated accuracy: 2e-3 of the largest, 1e-2 where the peak of the directions falls into few of the 64 bins.
    for (anisotropy, allowed) in [(0.0, 2e-3), (0.3, 2e-3), (0.9, 2e-3), (0.99, 1e-2)] {
        let o = one_way(anisotropy, 0.7);
        for steep in [0.0, 0.01, 0.05, 0.2, 0.6] {
            let at = |k: u32| {
                let psi = TURN * f64::from(k) / 24.0 + 0.1;
                (steep * psi.cos(), steep * psi.sin())
            };
            let slow: Vec<f64> = (0..24).map(|k| density_slow(at(k), &o, (0.25, 0.02))).collect();
            let most = slow.iter().copied().fold(0.0, f64::max);
            for (k, s) in (0..24).zip(&slow) {
                let fast = facet_density(at(k), &o, &spread);
                assert!((fast - s).abs() < allowed * most, "A {anisotropy}, slope {steep}, {k}: {fast} {s}");
            }
        }
    }
    // One direction only: the product of two Gaussians, along x wide across the scratch.
    let o = one_way(1.0, 0.25 * TURN);
    for slope in [(0.0, 0.0), (0.2, 0.0), (0.2, 0.02), (0.1, -0.04)] {
        let exact = gauss(slope.0, 0.25) * gauss(slope.1, 0.02);
        let got = facet_density(slope, &o, &spread);
        // All in one bin, at its very direction: rounding only.
        assert!((got - exact).abs() < 1e-12 * gauss(0.0, 0.25) * gauss(0.0, 0.02), "{slope:?}: {got} {exact}");
    }
}

#[test]
fn facets_sum_to_the_scratched_area() {
    let spread = ScratchSpread::new(0.25, 0.02).unwrap();
    for anisotropy in [0.0, 0.5, 0.95] {
        let o = one_way(anisotropy, 0.3);
        let (rings, spokes) = (600, 240);
        let mut sum = 0.0;
        for i in 0..rings {
            // Out to six deviations, finer at the middle.
            let share = (f64::from(i) + 0.5) / f64::from(rings);
            let steep = 1.5 * share * share;
            let width = 1.5 * 2.0 * share / f64::from(rings);
            for k in 0..spokes {
                let psi = TURN * (f64::from(k) + 0.5) / f64::from(spokes);
                let p = facet_density((steep * psi.cos(), steep * psi.sin()), &o, &spread);
                sum += p * steep * width * TURN / f64::from(spokes);
            }
        }
        // The stated accuracy of the density.
        assert!((sum - 1.0).abs() < 1e-2, "A {anisotropy}: {sum}");
    }
}

#[test]
fn lamp_and_eye_mirror_where_they_must() {
    // Lamp and eye in one place: the facet faces them, its slope is the distance over the height.
    let light = PointLight::new(place(0.2, 0.3, 0.5), place(0.2, 0.3, 0.5)).unwrap();
    let f = light.facet((0.3, 0.3));
    assert!((f.slope.0 + 0.2).abs() < 1e-12 && f.slope.1.abs() < 1e-12, "{f:?}");
    assert!((f.cos_incidence - 1.0).abs() < 1e-12 && (f.cos_facet - 1.0 / 1.04_f64.sqrt()).abs() < 1e-12);
    // Elsewhere: the mirror image is where the slope is nil, and incidence is as for a mirror.
    let light = PointLight::new(place(0.0, 0.0, 0.4), place(0.6, 0.0, 0.8)).unwrap();
    let at = light.mirror_place();
    assert!((at.0 - 0.2).abs() < 1e-12 && at.1.abs() < 1e-12, "{at:?}");
    let f = light.facet(at);
    assert!(f.slope.0.abs() < 1e-12 && (f.cos_incidence - f.cos_light).abs() < 1e-12, "{f:?}");
    for bad in [place(0.0, 0.0, 0.0), place(0.0, 0.0, f64::NAN), place(30.0, 0.0, 1.0)] {
        assert!(
            PointLight::new(bad, place(0.0, 0.0, 1.0)).is_err() && PointLight::new(place(0.0, 0.0, 1.0), bad).is_err()
        );
    }
    assert!(PointLight::new(place(0.0, 0.0, -1.0), place(0.0, 0.0, 1.0)).unwrap_err().to_string().contains("0.05"));
    assert!(ScratchSpread::new(0.0, 0.02).is_err() && ScratchSpread::new(0.2, 1.0).is_err());
}

#[test]
fn what_is_thrown_aside_is_what_the_scatter_law_says() {
    // By hand: R = 4 %, S = 5.0864 % at 10 nm, facets at slope 0 of spreads 0.25 and 0.02:
    // π · 0.04 · 0.050864/(4 · 2π · 0.25 · 0.02) = 0.050864.
    let spread = ScratchSpread::new(0.25, 0.02).unwrap();
    let above = PointLight::new(place(0.0, 0.0, 1.0), place(0.0, 0.0, 1.0)).unwrap();
    let marks = |rms: f64, o: Orientation| Marking { scratches: Scratches::Dense(nm(rms)), orientation: o };
    let got = above.luminance_factor((0.0, 0.0), &[marks(10.0, one_way(0.0, 0.0))], 1.5, &spread).unwrap();
    assert!((got - 0.050_864).abs() < 1e-4, "{got}");
    // Light under a lamp straight above, caught by an eye all over the half space: R·S, and no more.
    let narrow = ScratchSpread::new(0.03, 0.02).unwrap();
    for o in [one_way(0.0, 0.0), one_way(0.8, 0.4)] {
        let (rings, spokes) = (300, 120);
        let mut caught = 0.0;
        for i in 0..rings {
            let theta = 0.45 * (f64::from(i) + 0.5) / f64::from(rings);
            for k in 0..spokes {
                let phi = TURN * (f64::from(k) + 0.5) / f64::from(spokes);
                let eye = place(theta.sin() * phi.cos(), theta.sin() * phi.sin(), theta.cos());
                let light = PointLight::new(place(0.0, 0.0, 1.0), eye).unwrap();
                let beta = light.luminance_factor((0.0, 0.0), &[marks(10.0, o)], 1.5, &narrow).unwrap();
                let solid = theta.sin() * 0.45 / f64::from(rings) * TURN / f64::from(spokes);
                caught += beta * theta.cos() * solid * 2.0 / TURN;
            }
        }
        let thrown = reflectance(1.5, Angle::from_deg(0.0)).unwrap()
            * scatter(nm(10.0), Angle::from_deg(0.0), Length::from_m(WAVELENGTH_M)).unwrap().share;
        // S falls with cos² of the incidence, by some 1e-3 over these facets; the density is good to 1e-2.
        assert!((caught / thrown - 1.0).abs() < 1e-2, "{o:?}: {caught} {thrown}");
    }
    // Layers: two like layers scatter as one of √2 the roughness; single scratches add, and hide what is under them.
    let o = one_way(0.2, 0.0);
    let one = above.luminance_factor((0.05, 0.0), &[marks(14.142_135_623_730_951, o)], 1.5, &spread).unwrap();
    let two = above.luminance_factor((0.05, 0.0), &[marks(10.0, o), marks(10.0, o)], 1.5, &spread).unwrap();
    assert!((one / two - 1.0).abs() < 1e-12, "{one} {two}");
    let single = |area: f64| Marking { scratches: Scratches::Single(area), orientation: o };
    let mixed = above.luminance_factor((0.05, 0.0), &[marks(10.0, o), single(0.1)], 1.5, &spread).unwrap();
    let (alone, fine) = (
        above.luminance_factor((0.05, 0.0), &[single(0.1)], 1.5, &spread).unwrap(),
        above.luminance_factor((0.05, 0.0), &[marks(10.0, o)], 1.5, &spread).unwrap(),
    );
    assert!((mixed - alone - 0.9 * fine).abs() < 1e-12, "{mixed} {alone} {fine}");
    // Refused: more scratches than area, marks beyond the scatter law.
    let many = above.luminance_factor((0.0, 0.0), &[single(0.7), single(0.6)], 1.5, &spread);
    assert!(many.unwrap_err().to_string().contains("0 to 1"));
    let matt = above.luminance_factor((0.0, 0.0), &[marks(100.0, o)], 1.5, &spread);
    assert!(matches!(matt, Err(FinishError::TooRough { .. })));
}

/// A halo on 400 x 400 mm, lamp and eye half a metre above its middle.
fn seen(markings: &[Marking]) -> Halo {
    let light = PointLight::new(place(0.2, 0.2, 0.5), place(0.2, 0.2, 0.5)).unwrap();
    let grid = Grid::over((0.4, 0.4), 4e-3).unwrap();
    halo(&light, &grid, 1.5, &ScratchSpread::default(), |_| markings.to_vec()).unwrap()
}

#[test]
fn every_way_gives_a_ring_one_way_a_bar_none_darkness() {
    let dark = seen(&[]);
    assert!(dark.luminance_factor.iter().all(|v| v.abs() < 1e-300) && dark.streak.is_none(), "no scratches, no light");
    let marks = |o: Orientation| seen(&[Marking { scratches: Scratches::Dense(nm(20.0)), orientation: o }]);
    let at = |h: &Halo, column: usize, row: usize| {
        let (nx, _) = h.grid.count();
        h.luminance_factor[row * nx + column]
    };
    let ring = marks(one_way(0.0, 0.0));
    assert!(ring.streak.unwrap() < 1e-3, "a square of cells is even: {:?}", ring.streak);
    // As bright to the side as below, and less further out.
    let (side, below, out) = (at(&ring, 75, 50), at(&ring, 50, 75), at(&ring, 95, 50));
    // Cells beside the middle by half their size.
    assert!((side / below - 1.0).abs() < 0.01 && out < side && out > 0.0, "{side} {below} {out}");
    // Scratches along x throw light up and down: a bar along y, in which all the light of the ring gathers.
    let bar = marks(one_way(1.0, 0.0));
    // The bar is 0.02 wide at slopes from 0.06 on: cos 2ψ falls short of 1 by 2 (0.02/0.06)² there, less further out.
    assert!(bar.streak.unwrap() > 0.9 && bar.banding.unwrap() > 1.0, "{:?} {:?}", bar.streak, bar.banding);
    assert!(ring.banding.unwrap() < 1e-9, "{:?}", ring.banding);
    assert!(at(&bar, 50, 75) > 5.0 * below && at(&bar, 75, 50) < 1e-6 * below);
    // Both halos hold the same light, the density is only turned: but the square cuts off a tenth of either,
    // not quite the same tenth.
    let sum = |h: &Halo| h.luminance_factor.iter().sum::<f64>();
    assert!((sum(&bar) / sum(&ring) - 1.0).abs() < 0.15, "{} {}", sum(&bar), sum(&ring));
    // Between them, in order; and a finer mark is darker.
    let half = marks(one_way(0.5, 0.0)).streak.unwrap();
    assert!((half - 0.5).abs() < 0.05, "the streak is the anisotropy where the ring is wide: {half}");
    let fine = seen(&[Marking { scratches: Scratches::Dense(nm(5.0)), orientation: one_way(0.0, 0.0) }]);
    // S ∝ σ² for smooth marks: 16; with the exponential 1 − exp(−0.209) at 20 nm 9 to 10 % less.
    let ratio = ring.mean.unwrap() / fine.mean.unwrap();
    assert!((14.0..16.0).contains(&ratio), "{ratio}");
}
