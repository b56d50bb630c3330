//! The same bits on any number of threads.

use crate::properties::uniform;
use crate::support::{free_tool, linear_pad, quadric, setup};
use trochoid::contact::ContactSettings;
use trochoid::math::reduce::{map_indexed, with_threads};
use trochoid::spin::{Setup, StallSettings, spin_state, stall_limits};

fn job(i: usize) -> Setup {
    let u = |j: u64, low: f64, high: f64| uniform(i as u64, j, low, high);
    setup(
        free_tool(u(0, 4.0, 20.0), u(1, 2500.0, 6000.0), u(2, 0.01, 0.1), 1e-4),
        linear_pad(u(3, 75.0, 170.0), u(4, 4e5, 2e6)),
        0.35,
        u(5, 10.0, 50.0),
        quadric(u(6, -3.0, 3.0), u(7, -3.0, 3.0), u(8, -90.0, 90.0)),
    )
}

fn solves() -> Vec<[u64; 5]> {
    map_indexed(40, |i| {
        let s = job(i);
        let state = spin_state(&s, s.patch(), &ContactSettings::default()).unwrap();
        let limits = stall_limits(&s, &StallSettings { scan: 16, ..StallSettings::default() }, 1.0).unwrap();
        [
            state.spin.to_bits(),
            state.contact.heave_m.to_bits(),
            state.sums.speed_w.to_bits(),
            limits.sphere.map_or(0, |c| c.at.to_bits()),
            limits.along_panel.map_or(0, |c| c.error.to_bits()),
        ]
    })
}

#[test]
fn the_same_bits_on_one_two_three_and_eight_threads() {
    let one = with_threads(1, solves);
    assert!(one.iter().any(|r| r[3] != 0) && one.iter().any(|r| r[4] != 0), "limits are among the results");
    for threads in [2, 3, 8] {
        assert_eq!(one, with_threads(threads, solves), "{threads} threads");
    }
    // And once more: nothing is left behind by a first run.
    assert_eq!(one, solves());
}
