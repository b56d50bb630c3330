//! Ordinary differential equations y' = f(t, y): the explicit Runge-Kutta pair of orders 5 and 4 of
//! J. R. Dormand and P. J. Prince, "A family of embedded Runge-Kutta formulae", J. Comp. Appl. Math. 6
//! (1980) 19-26, with its continuous extension of order 4 as printed in E. Hairer, S. P. Nørsett and
//! G. Wanner, "Solving Ordinary Differential Equations I", 2nd ed., Springer 1993, II.5 and II.6 (the
//! coefficients were written down from memory of those tables; the tests of order would fail with a
//! wrong digit).
//!
//! Not for stiff systems: where the fastest rate λ of the system is far above what the answer shows, the
//! steps stay near 3.3/λ and the work grows with λ. Nothing breaks; the step count says so.
//!
//! Units are the caller's: t in \[t\], a component of y in \[y\].

use super::root;
use core::ops::ControlFlow;

/// Knobs of the integration.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OdeSettings<const N: usize> {
    /// Error allowed in a step, relative to each component \[1\]. Default 1e-6.
    pub relative: f64,
    /// Error allowed in a step, absolute, in the unit of each component \[y\]; infinite leaves a component to
    /// follow the others. Default 1e-9.
    pub absolute: [f64; N],
    /// First step tried \[t\]; `None`, the default, guesses one from the size of y and its slopes.
    pub first_step: Option<f64>,
    /// Largest step \[t\]. Default infinite.
    pub largest_step: f64,
    /// Steps after which the integration gives up, rejected ones counted. Default 200 000.
    pub most_steps: usize,
}

impl<const N: usize> Default for OdeSettings<N> {
    fn default() -> Self {
        Self { relative: 1e-6, absolute: [1e-9; N], first_step: None, largest_step: f64::INFINITY, most_steps: 200_000 }
    }
}

/// One accepted step with its continuous extension.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step<const N: usize> {
    start: f64,
    length: f64,
    terms: [[f64; N]; 5],
}

impl<const N: usize> Step<N> {
    /// Where it starts \[t\].
    #[must_use]
    pub const fn start(&self) -> f64 {
        self.start
    }

    /// Where it ends \[t\].
    #[must_use]
    pub fn end(&self) -> f64 {
        self.start + self.length
    }

    /// The solution \[y\] at `t` within the step, of order 4; outside it the same polynomial goes on.
    #[must_use]
    pub fn at(&self, t: f64) -> [f64; N] {
        let x = (t - self.start) / self.length;
        let y = 1.0 - x;
        let c = &self.terms;
        core::array::from_fn(|i| c[0][i] + x * (c[1][i] + y * (c[2][i] + x * (c[3][i] + y * c[4][i]))))
    }
}

/// What an integration ended on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Run<const N: usize> {
    /// Where it ended \[t\]: the end asked for, or the place at which it was stopped.
    pub at: f64,
    /// The solution there \[y\].
    pub value: [f64; N],
    /// Steps accepted.
    pub accepted: usize,
    /// Steps tried again with a smaller length.
    pub rejected: usize,
    /// Evaluations of f.
    pub evaluations: usize,
}

/// Why an integration did not reach its end; each carries how far it came.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum OdeError<const N: usize> {
    /// The end does not lie after the start, or a knob is not a positive number.
    BadInput,
    /// f gives no finite number, however small the step.
    NotFinite {
        /// Last good place.
        at: f64,
        /// Solution there.
        value: [f64; N],
    },
    /// The step fell below what the place can resolve: the tolerance cannot be met.
    StepTooSmall {
        /// Last good place.
        at: f64,
        /// Solution there.
        value: [f64; N],
    },
    /// The bound on the number of steps was reached.
    TooManySteps {
        /// Last good place.
        at: f64,
        /// Solution there.
        value: [f64; N],
    },
}

/// Stages after the first: node, weights of the slopes before it.
const STAGES: [(f64, [f64; 6]); 6] = [
    (1.0 / 5.0, [1.0 / 5.0, 0.0, 0.0, 0.0, 0.0, 0.0]),
    (3.0 / 10.0, [3.0 / 40.0, 9.0 / 40.0, 0.0, 0.0, 0.0, 0.0]),
    (4.0 / 5.0, [44.0 / 45.0, -56.0 / 15.0, 32.0 / 9.0, 0.0, 0.0, 0.0]),
    (8.0 / 9.0, [19372.0 / 6561.0, -25360.0 / 2187.0, 64448.0 / 6561.0, -212.0 / 729.0, 0.0, 0.0]),
    (1.0, [9017.0 / 3168.0, -355.0 / 33.0, 46732.0 / 5247.0, 49.0 / 176.0, -5103.0 / 18656.0, 0.0]),
    (1.0, [35.0 / 384.0, 0.0, 500.0 / 1113.0, 125.0 / 192.0, -2187.0 / 6784.0, 11.0 / 84.0]),
];
/// Fifth-order weights less fourth-order ones.
const ERROR: [f64; 7] =
    [71.0 / 57600.0, 0.0, -71.0 / 16695.0, 71.0 / 1920.0, -17253.0 / 339200.0, 22.0 / 525.0, -1.0 / 40.0];
/// Weights of the last term of the continuous extension.
const DENSE: [f64; 7] = [
    -12715105075.0 / 11282082432.0,
    0.0,
    87487479700.0 / 32700410799.0,
    -10690763975.0 / 1880347072.0,
    701980252875.0 / 199316789632.0,
    -1453857185.0 / 822651844.0,
    69997945.0 / 29380423.0,
];

fn combine<const N: usize>(slopes: &[[f64; N]], weights: &[f64]) -> [f64; N] {
    core::array::from_fn(|i| slopes.iter().zip(weights).map(|(k, w)| w * k[i]).sum())
}

fn norm<const N: usize>(v: &[f64; N], scale: &[f64; N]) -> f64 {
    (v.iter().zip(scale).map(|(v, s)| (v / s) * (v / s)).sum::<f64>() / N as f64).sqrt()
}

/// Integrates y' = f(t, y) from `start` at `from` to `to`, in steps whose estimated error stays within
/// the tolerance; `keep` sees each accepted step and may stop the integration at a place within it.
///
/// # Accuracy
/// Order 5 (the error of a step is that of the fourth-order formula, so it is estimated from above);
/// the error at the end is of the size of the tolerance times the number of time constants passed.
/// Six evaluations a step, accepted or not.
///
/// # Errors
/// [`OdeError`], with the last good place and the solution there.
///
/// # Example
/// ```
/// use core::ops::ControlFlow;
/// use trochoid::math::ode::{OdeSettings, integrate};
/// let settings = OdeSettings { relative: 1e-9, absolute: [1e-12], ..OdeSettings::default() };
/// let run = integrate(|_, y| [-y[0]], (0.0, [1.0]), 1.0, &settings, |_| ControlFlow::Continue(()));
/// assert!(run.is_ok_and(|r| (r.value[0] - 0.367879441).abs() < 1e-8)); // 1/e
/// ```
///
/// # References
/// Dormand and Prince (1980); Hairer, Nørsett and Wanner (1993), II.4 to II.6.
pub fn integrate<const N: usize>(
    mut f: impl FnMut(f64, &[f64; N]) -> [f64; N],
    (from, start): (f64, [f64; N]),
    to: f64,
    settings: &OdeSettings<N>,
    mut keep: impl FnMut(&Step<N>) -> ControlFlow<f64>,
) -> Result<Run<N>, OdeError<N>> {
    let span = to - from;
    let positive = |x: f64| x > 0.0;
    let sound = positive(span)
        && span.is_finite()
        && positive(settings.relative)
        && settings.absolute.iter().all(|a| positive(*a))
        && positive(settings.largest_step)
        && settings.first_step.is_none_or(positive)
        && start.iter().all(|v| v.is_finite());
    if !sound {
        return Err(OdeError::BadInput);
    }
    let scale = |a: &[f64; N], b: &[f64; N]| -> [f64; N] {
        core::array::from_fn(|i| settings.absolute[i] + settings.relative * a[i].abs().max(b[i].abs()))
    };
    let (mut t, mut y) = (from, start);
    let mut k = [[0.0; N]; 7];
    k[0] = f(t, &y);
    let mut run = Run { at: t, value: y, accepted: 0, rejected: 0, evaluations: 1 };
    let mut h = match settings.first_step {
        Some(h) => h,
        None => {
            let s = scale(&y, &y);
            let (size, speed) = (norm(&y, &s), norm(&k[0], &s));
            let h0 = if size < 1e-5 || speed < 1e-5 { 1e-6 * span } else { 0.01 * size / speed };
            let near: [f64; N] = core::array::from_fn(|i| y[i] + h0 * k[0][i]);
            let slope = f(t + h0, &near);
            run.evaluations += 1;
            let bend = norm(&core::array::from_fn(|i| (slope[i] - k[0][i]) / h0), &s);
            let fastest = speed.max(bend);
            let h1 = if fastest <= 1e-15 { h0.max(1e-3 * span) } else { (0.01 / fastest).powf(0.2) };
            // A slope that is no number leaves the guess to the steps themselves.
            if h1.is_finite() { h1.min(100.0 * h0) } else { h0.min(1e-3 * span) }
        }
    };
    let mut last_error: f64 = 1e-4;
    let mut refused = false;
    while t < to {
        h = h.min(settings.largest_step);
        // No sliver is left for the last step.
        let last = t + 1.01 * h >= to;
        if last {
            h = to - t;
        }
        if run.accepted + run.rejected >= settings.most_steps {
            return Err(OdeError::TooManySteps { at: t, value: y });
        }
        let mut next = y;
        for (stage, (node, weights)) in STAGES.iter().enumerate() {
            let slope = combine(&k[..=stage], weights);
            next = core::array::from_fn(|i| y[i] + h * slope[i]);
            k[stage + 1] = f(t + node * h, &next);
            run.evaluations += 1;
        }
        let miss = combine(&k, &ERROR);
        let error = norm(&core::array::from_fn(|i| h * miss[i]), &scale(&y, &next));
        // A component that follows must still be a number.
        let finite = error.is_finite() && next.iter().all(|v| v.is_finite());
        if !finite || error > 1.0 {
            run.rejected += 1;
            refused = true;
            h *= if finite { (0.9 * error.powf(-0.2)).max(0.2) } else { 0.1 };
            if h <= 16.0 * f64::EPSILON * t.abs().max(f64::EPSILON * span) {
                return Err(if finite {
                    OdeError::StepTooSmall { at: t, value: y }
                } else {
                    OdeError::NotFinite { at: t, value: y }
                });
            }
            continue;
        }
        let change: [f64; N] = core::array::from_fn(|i| next[i] - y[i]);
        let bow: [f64; N] = core::array::from_fn(|i| h * k[0][i] - change[i]);
        let twist: [f64; N] = core::array::from_fn(|i| change[i] - h * k[6][i] - bow[i]);
        let tail = combine(&k, &DENSE);
        let step = Step { start: t, length: h, terms: [y, change, bow, twist, core::array::from_fn(|i| h * tail[i])] };
        run.accepted += 1;
        if let ControlFlow::Break(at) = keep(&step) {
            run.at = at;
            run.value = step.at(at);
            return Ok(run);
        }
        t = if last { to } else { t + h };
        y = next;
        k[0] = k[6];
        // Proportional-integral control of the step, the book's II.4 (0.04 and 0.2 − 0.75·0.04).
        let grow = 0.9 * error.max(1e-10).powf(-0.17) * last_error.powf(0.04);
        h *= grow.clamp(0.2, if refused { 1.0 } else { 10.0 });
        last_error = error.max(1e-4);
        refused = false;
    }
    run.at = t;
    run.value = y;
    Ok(run)
}

/// A change of sign of a function of the solution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SignChange {
    /// Where \[t\].
    pub at: f64,
    /// From negative to not negative.
    pub rising: bool,
}

/// Changes of sign of `g(t, y)` within a step, in order, each located to `tolerance` \[t\].
///
/// The step is looked at in `parts` equal parts (0 counts as 1); two changes within one part stay unseen.
/// Zero counts as not negative.
///
/// # Accuracy
/// `tolerance` on the continuous extension, which is of order 4 itself. A part whose root cannot be
/// bracketed, because `g` gives no number, is told at its end.
///
/// # Example
/// ```
/// use core::ops::ControlFlow;
/// use trochoid::math::ode::{OdeSettings, integrate, sign_changes};
/// // y' = 2 from −3: through zero at t = 1.5.
/// let mut found = Vec::new();
/// let run = integrate(|_, _| [2.0], (0.0, [-3.0]), 4.0, &OdeSettings::default(), |step| {
///     found.extend(sign_changes(step, 4, 1e-12, |_, y| y[0]));
///     ControlFlow::Continue(())
/// });
/// assert!(run.is_ok() && found.len() == 1);
/// assert!(found[0].rising && (found[0].at - 1.5).abs() < 1e-10);
/// ```
pub fn sign_changes<const N: usize>(
    step: &Step<N>,
    parts: u32,
    tolerance: f64,
    mut g: impl FnMut(f64, &[f64; N]) -> f64,
) -> Vec<SignChange> {
    let mut out = Vec::new();
    let mut at = |t: f64| (t, g(t, &step.at(t)));
    let mut before = at(step.start());
    for part in 1..=parts.max(1) {
        let here = at(step.start() + step.length * f64::from(part) / f64::from(parts.max(1)));
        if (before.1 >= 0.0) != (here.1 >= 0.0) {
            let found = root::bracketed(|t| at(t).1, before, here, tolerance);
            out.push(SignChange { at: found.map_or(here.0, |r| r.x), rising: here.1 >= 0.0 });
        }
        before = here;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    const GO: fn(&Step<2>) -> ControlFlow<f64> = |_| ControlFlow::Continue(());

    /// A swinging mass with a known answer: y = (cos t², −2t sin t²).
    fn swing(t: f64, y: &[f64; 2]) -> [f64; 2] {
        [y[1], y[1] / t - 4.0 * t * t * y[0]]
    }

    fn exact(t: f64) -> f64 {
        (t * t).cos()
    }

    fn from_one(to: f64, settings: &OdeSettings<2>, keep: impl FnMut(&Step<2>) -> ControlFlow<f64>) -> Run<2> {
        integrate(swing, (1.0, [exact(1.0), -2.0 * 1f64.sin()]), to, settings, keep).unwrap()
    }

    fn fixed(h: f64) -> OdeSettings<2> {
        OdeSettings { relative: 1e9, first_step: Some(h), largest_step: h, ..OdeSettings::default() }
    }

    #[test]
    fn the_order_is_five() {
        let miss = |h: f64| (from_one(3.0, &fixed(h), GO).value[0] - exact(3.0)).abs();
        for h in [0.02, 0.01] {
            // 32 for order 5; 26 to 40 leaves room for the next term of the error at these steps.
            let ratio = miss(h) / miss(0.5 * h);
            assert!((26.0..40.0).contains(&ratio), "{h}: {ratio}");
        }
    }

    #[test]
    fn one_step_is_good_to_order_six_at_its_end_and_five_inside() {
        let local = |h: f64, share: f64| {
            let mut miss = f64::NAN;
            from_one(1.0 + h, &fixed(h), |s| {
                let t = 1.0 + share * h;
                miss = (s.at(t)[0] - exact(t)).abs();
                ControlFlow::Continue(())
            });
            miss
        };
        // Local errors h⁶ and h⁵: ratios 64 and 32, with the next term's share of about h.
        let (end, inside) = (local(0.02, 1.0) / local(0.01, 1.0), local(0.02, 0.37) / local(0.01, 0.37));
        assert!((55.0..75.0).contains(&end), "{end}");
        assert!((27.0..38.0).contains(&inside), "{inside}");
    }

    #[test]
    fn the_error_follows_the_tolerance_over_decades() {
        let mut last = f64::INFINITY;
        for decade in 3..12 {
            let relative = 10f64.powi(-decade);
            let settings = OdeSettings { relative, absolute: [relative; 2], ..OdeSettings::default() };
            let mut inside: f64 = 0.0;
            let run = from_one(5.0, &settings, |s| {
                for part in 0..8 {
                    let t = s.start() + (s.end() - s.start()) * f64::from(part) / 8.0;
                    inside = inside.max((s.at(t)[0] - exact(t)).abs());
                }
                ControlFlow::Continue(())
            });
            let miss = (run.value[0] - exact(5.0)).abs();
            // 24 rad of swing: errors of the steps add up to some tens of tolerances, amplitude 1.
            assert!(miss < 100.0 * relative && inside < 100.0 * relative, "{decade}: {miss:.1e} {inside:.1e}");
            assert!(inside < 0.5 * last, "{decade}: a decade of tolerance buys at least a factor 2");
            last = inside;
            assert_eq!(run.evaluations, 2 + 6 * (run.accepted + run.rejected), "the last slope is used again");
        }
    }

    #[test]
    fn sign_changes_are_found_where_they_are() {
        let settings = OdeSettings { relative: 1e-10, absolute: [1e-10; 2], ..OdeSettings::default() };
        let mut found = Vec::new();
        from_one(4.0, &settings, |s| {
            found.extend(sign_changes(s, 4, 1e-12, |_, y| y[0]));
            ControlFlow::Continue(())
        });
        // cos t² = 0 at t² = π/2, 3π/2, ...: the first is a fall.
        let expected: Vec<f64> = (0..5).map(|i| ((f64::from(i) + 0.5) * core::f64::consts::PI).sqrt()).collect();
        assert_eq!(found.len(), 5);
        for (i, (f, e)) in found.iter().zip(&expected).enumerate() {
            // The solution's own error, about 1e-9 by then, over its slope of at least 2.
            assert!((f.at - e).abs() < 1e-8, "{} {e}", f.at);
            assert_eq!(f.rising, i % 2 == 1);
        }
    }

    #[test]
    fn it_stops_where_it_is_told() {
        let run = from_one(4.0, &OdeSettings::default(), |s| {
            if s.end() >= 2.0 { ControlFlow::Break(2.0) } else { ControlFlow::Continue(()) }
        });
        assert!((run.at - 2.0).abs() < 1e-15 && (run.value[0] - exact(2.0)).abs() < 1e-4, "tolerance 1e-6 a step");
    }

    #[test]
    fn what_cannot_be_integrated_is_refused_with_the_best_value() {
        let go = |_: &Step<1>| ControlFlow::Continue(());
        let settings = OdeSettings::<1>::default();
        // y' = y² from 1 has a pole at t = 1.
        match integrate(|_, y| [y[0] * y[0]], (0.0, [1.0]), 2.0, &settings, go) {
            Err(
                OdeError::StepTooSmall { at, value }
                | OdeError::NotFinite { at, value }
                | OdeError::TooManySteps { at, value },
            ) => {
                assert!((at - 1.0).abs() < 1e-4 && value[0] > 1e4, "{at} {}", value[0]);
            }
            other => panic!("{other:?}"),
        }
        let nan = integrate(|t, _| [if t > 0.5 { f64::NAN } else { 1.0 }], (0.0, [0.0]), 1.0, &settings, go);
        assert!(matches!(nan, Err(OdeError::NotFinite { at, value })
            if (at - 0.5).abs() < 1e-6 && (value[0] - at).abs() < 1e-9));
        let few = OdeSettings { most_steps: 3, largest_step: 0.1, ..settings };
        assert!(matches!(
            integrate(|_, _| [1.0], (0.0, [0.0]), 1.0, &few, go),
            Err(OdeError::TooManySteps { at, .. }) if at < 0.4
        ));
        for (to, relative, start) in [(0.0, 1e-6, 0.0), (f64::NAN, 1e-6, 0.0), (1.0, 0.0, 0.0), (1.0, 1e-6, f64::NAN)] {
            let bad = OdeSettings { relative, ..settings };
            assert_eq!(integrate(|_, _| [1.0], (0.0, [start]), to, &bad, go), Err(OdeError::BadInput));
        }
    }
}
