//! What a plan promises: targets reached, remedies that speak of what is at hand, ranges that are as
//! wide as what is known, orders that a practitioner expects.

#![cfg(feature = "cli")]

use crate::cli::{SMALL, edited, run_on};
use crate::contract::state;
use serde_json::Value;

fn number(v: &Value, at: &str) -> f64 {
    v.pointer(at).and_then(Value::as_f64).unwrap_or_else(|| panic!("no number at {at}: {v}"))
}

#[test]
fn a_target_cut_is_reached_or_said_to_be_out_of_reach() {
    // Passes one way and the other cut differently, so the proportion alone falls short at times.
    for target in [0.5, 1.3, 1.9, 2.2, 3.1, 4.05] {
        let text = edited(SMALL, &[("passes = 2", &format!("passes = 3\ntarget_cut_um = {target}"))]);
        let plan = run_on(&text, &["plan", "--json"]).json();
        let mean = number(&plan, "/steps/0/cut_um/mean");
        assert!(mean >= target, "{target}: {mean} in {} passes", plan["steps"][0]["passes"]);
        assert_eq!(plan["steps"][0]["target_out_of_reach"], false);
    }
    let far = edited(SMALL, &[("passes = 2", "passes = 2\ntarget_cut_um = 199.0")]);
    let plan = run_on(&far, &["plan", "--json"]).json();
    assert_eq!(plan["steps"][0]["target_out_of_reach"], true);
}

#[test]
fn remedies_use_what_the_pad_and_product_do_together() {
    // The pairing makes the compound drag; its bare number is lower, but it is the product in use.
    let text = edited(
        SMALL,
        &[
            ("curvature_per_m = -0.5", "curvature_per_m = -2.0"),
            (
                "[panel.door]",
                "[product.slick]\nfriction = 0.12\npreston_per_pa = 1.0e-11\n\
                 [pairing.one]\npad = \"wide\"\nproduct = \"compound\"\nfriction = 0.55\n[panel.door]",
            ),
            ("friction = 0.35", "friction = 0.20"),
        ],
    );
    let v = state(&text);
    assert_eq!(v["spin"]["stalled"], true);
    let drag = v["remedies"].as_array().unwrap().iter().find(|r| r["kind"] == "less_drag_product").unwrap();
    let reason = drag["reason"].as_str().unwrap();
    assert!(!reason.contains("`compound`"), "the product in use is no remedy: {reason}");
    assert!(drag["value"].is_null() || reason.contains("`slick`") || reason.contains("at most"), "{reason}");
}

#[test]
fn a_count_that_nothing_bounds_gives_no_narrow_range() {
    // 698 turns in 10 s at 4200 orbits a minute: half a turn more is nearly the orbit itself.
    let text = edited(
        SMALL,
        &[(
            "[pad.wide]",
            "[tool.long.counted_spin]\nturns = 699.9\nseconds = 10.0\nforce_n = 35.0\npad = \"wide\"\nproduct = \"compound\"\n[pad.wide]",
        )],
    );
    let v = state(&text);
    let (low, high) = (number(&v, "/spin/spin_rpm_range/0"), number(&v, "/spin/spin_rpm_range/1"));
    assert!(high > low, "{low} {high}");
    // With a drag without bound the pad goes round with the orbit.
    assert!((high - 4200.0).abs() < 1e-6, "rounding of the unit: {high}");
}

#[test]
fn a_wider_range_of_drag_is_a_wider_range_of_spin() {
    let counted = edited(
        SMALL,
        &[(
            "[pad.wide]",
            "[tool.long.counted_spin]\nturns = 20\nseconds = 10.0\nforce_n = 35.0\npad = \"wide\"\nproduct = \"compound\"\n[pad.wide]",
        )],
    );
    let width = |v: &Value| number(v, "/spin/spin_rpm_range/1") / number(v, "/spin/spin_rpm_range/0");
    let (known, unknown) = (state(&counted), state(SMALL));
    assert!(width(&known) < width(&unknown), "{} {}", width(&known), width(&unknown));
    // The count was made on a flat: there the calibrated pad turns as counted, 120 rpm.
    let flat = state(&edited(&counted, &[("shape = \"sphere\"\ncurvature_per_m = -0.5", "shape = \"flat\"")]));
    assert!((number(&flat, "/spin/spin_rpm") - 120.0).abs() < 1e-3, "root tolerance 1e-8 rad/s, quadrature 1e-6");
}
