//! Decisions about the finish: refine or leave, fewer passes at the edges, and the choice of steps
//! against trying everything by hand.

use crate::finish::{abrading, compounding, finishing, ln, nm, um};
use trochoid::Length;
use trochoid::equipment::{Hardness, Paint};
use trochoid::finish::*;

#[test]
fn refine_dark_and_soft_leave_light_and_hard() {
    let decide = |hardness: Hardness, lightness: f64| {
        let paint = Paint::default().with_hardness(hardness).unwrap().with_lightness(lightness).unwrap();
        let now = Surface::smooth().worked(compounding(hardness).marks().unwrap(), ln(3.0, 0.3));
        let step = (finishing(hardness).marks().unwrap(), ln(0.8, 0.3));
        refine_decision(&now, &paint, CLEAR_COAT_INDEX, 0.9, Some(step)).unwrap()
    };
    let dark = decide(Hardness::Soft, 3.0);
    assert_eq!(dark.verdict, Verdict::Refine);
    assert_eq!(dark.step_helps, Some(true));
    assert!(dark.reason.contains("soft paint") && dark.reason.contains("lightness 3"), "{}", dark.reason);
    assert!(dark.after_m.unwrap().best < dark.now_m.best);
    assert_eq!(decide(Hardness::Hard, 95.0).verdict, Verdict::Leave);
    assert_eq!(decide(Hardness::Medium, 60.0).verdict, Verdict::LookFirst);
    // Lighter paint never needs refining more.
    let rank = |v: Verdict| match v {
        Verdict::Refine => 2,
        Verdict::LookFirst => 1,
        Verdict::Leave => 0,
    };
    for h in [Hardness::Soft, Hardness::Medium, Hardness::Hard] {
        let ranks: Vec<i32> = (0..=20).map(|i| rank(decide(h, 5.0 * f64::from(i)).verdict)).collect();
        assert!(ranks.windows(2).all(|w| w[1] <= w[0]), "{h:?}: {ranks:?}");
    }
    // A step as coarse as the one before helps nothing, and the words say so.
    let paint = Paint::default();
    let fine = Surface::smooth().worked(finishing(Hardness::Medium).marks().unwrap(), ln(1.0, 0.3));
    let coarse = (compounding(Hardness::Medium).marks().unwrap(), ln(1.0, 0.3));
    let d = refine_decision(&fine, &paint, 1.5, 0.9, Some(coarse)).unwrap();
    assert_eq!(d.step_helps, Some(false));
    assert!(d.reason.contains("finer product"), "{}", d.reason);
}

#[test]
fn edges_get_fewer_passes() {
    let rule = EdgeRule::default();
    assert_eq!([0, 1, 2, 3, 4, 5].map(|n| rule.passes(n)), [0, 0, 1, 1, 2, 2]);
    assert!((rule.cut_factor(4) - 0.5).abs() < 1e-15 && rule.cut_factor(0).abs() < 1e-15);
    let third = EdgeRule::new(1.0 / 3.0, Length::from_mm(30.0)).unwrap();
    assert_eq!((third.passes(3), third.passes(u32::MAX) <= u32::MAX / 3 + 1), (1, true));
    assert_eq!(EdgeRule::new(1.0, Length::from_mm(0.0)).unwrap().passes(7), 7);
    assert!(EdgeRule::new(1.5, Length::from_mm(30.0)).is_err() && EdgeRule::new(0.5, Length::from_mm(-1.0)).is_err());
}

fn candidates() -> Vec<Candidate> {
    let make = |name: &str, cut_um: f64, marks: Marks, max_passes: u32| Candidate {
        name: name.into(),
        cut_per_pass: ln(cut_um, 0.25),
        marks,
        max_passes,
    };
    let soft = Hardness::Medium;
    vec![
        make("compound", 0.6, compounding(soft).marks().unwrap(), 6),
        make("polish", 0.3, abrading(1.5, 2.5, Face::CuttingFoam, soft).marks().unwrap(), 6),
        make("finish", 0.1, finishing(soft).marks().unwrap(), 6),
    ]
}

fn target(correction: f64, rough_nm: f64) -> Target {
    Target {
        depths: ln(0.8, 0.6),
        correction,
        measure: Measure::Optical,
        visible: um(0.2),
        roughness: nm(rough_nm),
        confidence: 0.8,
        max_steps: 2,
    }
}

/// Every ordered choice of one or two steps, written out; the best by steps, passes, cut.
fn by_hand(s: &Surface, c: &[Candidate], t: &Target, may_go: f64) -> Option<StepPlan> {
    let mut plans = Vec::new();
    for a in 0..c.len() {
        for p in 1..=c[a].max_passes {
            plans.push(vec![PlannedStep { candidate: a, passes: p }]);
            for b in (0..c.len()).filter(|b| *b != a) {
                for q in 1..=c[b].max_passes {
                    plans.push(vec![PlannedStep { candidate: a, passes: p }, PlannedStep { candidate: b, passes: q }]);
                }
            }
        }
    }
    let mut good: Vec<StepPlan> = plans
        .iter()
        .map(|steps| evaluate(s, c, steps, t).unwrap())
        .filter(|p| p.cut_m.high <= may_go && p.correction.low >= t.correction && p.roughness_m.high <= t.roughness.m())
        .collect();
    let key = |p: &StepPlan| (p.steps.len(), p.steps.iter().map(|s| s.passes).sum::<u32>());
    good.sort_by(|a, b| key(a).cmp(&key(b)).then(a.cut_m.high.total_cmp(&b.cut_m.high)));
    good.into_iter().next()
}

#[test]
fn the_choice_of_steps_is_the_best_of_all() {
    let marred = Surface::marked(Marks::new(ln(0.8, 0.3), 0.0).unwrap());
    let starts = [marred, Surface::smooth()];
    let all = candidates();
    let mut lengths = Vec::new();
    for start in &starts {
        for correction in [0.5, 0.8, 0.9, 0.97] {
            for rough in [8.0, 15.0, 40.0] {
                for may_go in [1.0, 2.5, 6.0] {
                    let t = target(correction, rough);
                    let budget = Interval { low: may_go * 1e-6, best: may_go * 1e-6, high: 9e-6, level: 0.9 };
                    let got = choose_steps(start, &all, &t, budget).unwrap();
                    match (got, by_hand(start, &all, &t, may_go * 1e-6)) {
                        (StepChoice::Plan(p), Some(slow)) => {
                            assert_eq!(p, slow);
                            lengths.push(p.steps.len());
                        }
                        (StepChoice::None(why), None) => {
                            assert!(!why.is_empty());
                            lengths.push(0);
                        }
                        (got, slow) => panic!("{correction} {rough} {may_go}: {got:?} {slow:?}"),
                    }
                }
            }
        }
    }
    // The cases reach every kind of answer: none, one step, two steps.
    assert!([0, 1, 2].iter().all(|n| lengths.contains(n)), "{lengths:?}");
}

#[test]
fn why_there_is_no_plan() {
    let start = Surface::smooth();
    let all = candidates();
    let budget = |low: f64| Interval { low: low * 1e-6, best: low * 1e-6, high: 20e-6, level: 0.9 };
    let why = |t: &Target, b: Interval| match choose_steps(&start, &all, t, b).unwrap() {
        StepChoice::None(why) => why,
        StepChoice::Plan(p) => panic!("{p:?}"),
    };
    // Not enough paint: more paint or less correction would each do.
    let reasons = why(&target(0.9, 40.0), budget(0.3));
    assert!(reasons.iter().any(|r| matches!(r, NoPlan::Budget { needs_m, may_go_m } if needs_m > may_go_m)));
    assert!(reasons.iter().any(|r| matches!(r, NoPlan::Correction { reaches, asked } if reaches < asked)));
    // What it says it needs does it, and a hair less does not.
    let needs = reasons
        .iter()
        .find_map(|r| match r {
            NoPlan::Budget { needs_m, .. } => Some(*needs_m * 1e6),
            _ => None,
        })
        .unwrap();
    // 1e-9: the unit goes to µm and back.
    let with = |f: f64| choose_steps(&start, &all, &target(0.9, 40.0), budget(needs * f)).unwrap();
    assert!(matches!(with(1.0 + 1e-9), StepChoice::Plan(_)) && matches!(with(1.0 - 1e-9), StepChoice::None(_)));
    // Too fine for any of them.
    let reasons = why(&target(0.5, 0.5), budget(15.0));
    assert!(matches!(reasons[..], [NoPlan::Finish { reaches_m, allowed_m }] if reaches_m > allowed_m), "{reasons:?}");
    assert_eq!(why(&target(0.99, 0.5), budget(0.3)), vec![NoPlan::SeveralAtOnce]);
}

#[test]
fn the_search_is_bounded_and_checks_its_input() {
    let start = Surface::smooth();
    let budget = Interval { low: 5e-6, best: 6e-6, high: 7e-6, level: 0.9 };
    let t = target(0.5, 40.0);
    assert!(choose_steps(&start, &[], &t, budget).is_err());
    let mut many: Vec<Candidate> = (0..8).map(|_| candidates()[0].clone()).collect();
    for c in &mut many {
        c.max_passes = 50;
    }
    let wide = Target { max_steps: 4, ..t };
    // 8·7·6·5·50⁴ is over 1e10: refused before any work.
    assert!(
        matches!(choose_steps(&start, &many, &wide, budget), Err(FinishError::TooManyPlans { plans, .. }) if plans > 1e10)
    );
    many.push(candidates()[0].clone());
    assert!(choose_steps(&start, &many, &t, budget).is_err());
    let mut idle = candidates();
    idle[0].max_passes = 0;
    assert!(choose_steps(&start, &idle, &t, budget).is_err());
    for bad in [
        Target { correction: 1.0, ..t },
        Target { confidence: 0.2, ..t },
        Target { max_steps: 0, ..t },
        Target { roughness: nm(f64::NAN), ..t },
    ] {
        assert!(choose_steps(&start, &candidates(), &bad, budget).is_err());
    }
    let turned = Interval { low: 5e-6, best: 4e-6, high: 3e-6, level: 0.9 };
    assert!(choose_steps(&start, &candidates(), &t, turned).is_err());
    assert!(evaluate(&start, &candidates(), &[PlannedStep { candidate: 3, passes: 1 }], &t).is_err());
}
