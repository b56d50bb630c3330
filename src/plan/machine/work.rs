//! A machine over the steps of a vehicle: energy, packs, air, and the life of its bearings under all loads.

use super::assess::MachineState;
use super::rating_life::{RatingLife, life_of_shares};
use super::supply::SupplyDraw;
use crate::units::{Energy, Time, Volume};

/// What the work on one vehicle takes, and what the bearings live in such work.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MachineWork {
    /// Time of work.
    pub work: Time,
    /// Electric energy, of the compressor where air feeds the tool; `None` where a step tells no power.
    pub energy: Option<Energy>,
    /// Packs, or charges of one, a part counting as a whole \[1\]; `None` unless all steps run on batteries.
    pub packs: Option<f64>,
    /// Free air; `None` unless all steps run on air.
    pub free_air: Option<Volume>,
    /// Life at 90 % of the front and the rear spindle bearing in hours of work, the pads as described.
    pub spindle: Option<[Time; 2]>,
    /// The same with the pads at their heaviest.
    pub spindle_wet: Option<[Time; 2]>,
    /// The same of the pad bearing that lives shorter.
    pub pad: Option<Time>,
}

/// Adds up the steps of one machine, each with its time; `work` stretches them to another time of work.
///
/// ```text
/// 1/L = Σ (t_i/t)/L_i        t_i time of a step in a work of t [s], L_i life under its load [h] (Palmgren, Miner)
/// ```
///
/// `None` without a time above zero.
///
/// # Assumptions and valid range
/// A step's load is steady over its time; stretched time keeps the shares of the steps.
///
/// # Example
/// ```
/// use trochoid::plan::machine::{Mains, MachineDescription, Supply, machine_state, machine_work};
/// # use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// let tool = Tool::geared(Length::from_mm(12.0), AngularRate::from_rad_s(400.0), 0.0)?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), foam)?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// let supply = Some(Supply::Mains(Mains::new(230.0, 0.5)?));
/// let machine = MachineDescription { supply, ..MachineDescription::default() };
/// let at_work = machine_state(&setup, &machine, &Default::default())?;
/// // 29.4 W at the shaft are 58.8 W from the mains: in a minute, stretched to two, 7056 J.
/// let work = machine_work(&[(&at_work, Time::from_min(1.0))], Some(Time::from_min(2.0)));
/// assert!(work.and_then(|w| w.energy).is_some_and(|e| (e.j() - 7056.0).abs() < 2.0));
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn machine_work(steps: &[(&MachineState, Time)], work: Option<Time>) -> Option<MachineWork> {
    let own: f64 = steps.iter().map(|s| s.1.s()).sum();
    if !(own > 0.0 && own.is_finite()) {
        return None;
    }
    let work_s = work.map_or(own, Time::s);
    let times: Vec<f64> = steps.iter().map(|s| s.1.s() * work_s / own).collect();
    let sum = |of: &dyn Fn(&SupplyDraw, f64) -> Option<f64>| -> Option<f64> {
        steps.iter().zip(&times).map(|((s, _), t)| s.supply.as_ref().and_then(|d| of(d, *t))).sum()
    };
    let packs = sum(&|d, t| match d {
        SupplyDraw::Battery(b) => Some(t / b.per_pack.s()),
        _ => None,
    });
    let free_air = sum(&|d, t| match d {
        SupplyDraw::Air(a) => Some(a.free_air_per_s.m3() * t),
        _ => None,
    });
    let life = |of: &dyn Fn(&MachineState) -> Option<RatingLife>| -> Option<Time> {
        let shares: Option<Vec<(f64, Time)>> =
            steps.iter().zip(&times).map(|((s, _), t)| of(s).map(|l| (*t, l.l10))).collect();
        life_of_shares(&shares?)
    };
    let both = |of: &dyn Fn(&MachineState) -> Option<[RatingLife; 2]>| {
        life(&|s| of(s).map(|b| b[0])).zip(life(&|s| of(s).map(|b| b[1]))).map(|(a, b)| [a, b])
    };
    let shorter = |(a, b): (RatingLife, Option<RatingLife>)| b.filter(|b| b.l10 < a.l10).unwrap_or(a);
    Some(MachineWork {
        work: Time::from_s(work_s),
        energy: sum(&|d, t| Some(d.energy(Time::from_s(t)).j())).map(Energy::from_j),
        // A relative 1e-9 forgives the rounding of a time that fits exactly.
        packs: packs.map(|n| (n * (1.0 - 1e-9)).ceil()),
        free_air: free_air.map(Volume::from_m3),
        spindle: both(&|s| s.spindle),
        spindle_wet: both(&|s| s.spindle_wet),
        pad: life(&|s| s.pad.map(shorter)),
    })
}
