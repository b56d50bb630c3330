//! What was chosen gets its map, limits and heat; passes are corrected where the map says so.

use super::Vehicle;
use super::choose::{Chosen, Kit};
use super::zones::Zone;
use crate::Error;
use crate::equipment::Substrate;
use crate::job::model::{Job, Step};
use crate::job::pads::{heat_of, thermal_task};
use crate::math::reduce::map_indexed;
use crate::motion::{PathOptions, Pattern};
use crate::panel::Panel;
use crate::plan::vehicle::{Goal, PassWork, Phase, ZoneTask, goal_of, over_probability};
use crate::plan::{PaintStep, StepHeat, StepPlan, StepTask, plan_step};
use crate::spin::{AtHand, Setup, StallSettings};
use crate::units::{AngularRate, Force, Length, Speed};
use std::collections::HashMap;
use std::sync::Arc;

/// A step with its plan and heat.
#[derive(Debug, Clone)]
pub(super) struct Worked {
    pub(super) step: Step,
    pub(super) task: StepTask,
    pub(super) plan: StepPlan,
    pub(super) heat: Option<StepHeat>,
}

/// Everything that a round of planning shares.
pub(super) struct Shop<'a> {
    pub(super) job: &'a Job,
    pub(super) vehicle: &'a Vehicle,
    pub(super) kits: &'a [Kit],
    pub(super) zones: &'a [Zone],
    pub(super) labels: &'a [String],
    pub(super) settings: &'a StallSettings,
    pub(super) goal: &'a Goal,
    pub(super) drag: &'a (dyn Fn(&str) -> (f64, f64) + Sync),
}

/// Plans that were made already, by what they rest on.
pub(super) type Made = HashMap<String, Arc<Worked>>;

/// A zone's phase that is to be worked.
pub(super) type Item = (usize, Phase);

/// What the paint sees of a worked step.
pub(super) fn paint_step(plan: &StepPlan, name: &str, work: &PassWork, pairing: usize) -> PaintStep {
    let cut = plan.cut.map_or(plan.state.cut_per_pass_m * plan.passes as f64, |c| c.mean);
    PaintStep { cut_m: if plan.state.run.sticks { 0.0 } else { cut }, ..work.paint_step(name, pairing) }
}

/// A number for what shares one removal coefficient: a pad with a product on a paint.
pub(super) fn pairing_number(job: &Job, paint: Option<&str>, pad: usize, product: usize) -> usize {
    let paint = paint.and_then(|n| job.paints.iter().position(|p| p.name == n)).map_or(0, |p| p + 1);
    (paint * job.pads.len() + pad) * job.products.len() + product
}

impl Shop<'_> {
    /// A number for what shares one removal coefficient: pad, product and paint.
    pub(super) fn pairing_of(&self, zone: usize, kit: usize) -> usize {
        let (k, panel) = (self.kits[kit], &self.vehicle.panels[self.zones[zone].panel]);
        pairing_number(self.job, panel.paint_name.as_deref(), k.pad, k.product)
    }

    /// The step that a choice comes to.
    fn step(&self, (zone, phase): Item, kit: usize, work: &PassWork) -> Result<Step, Error> {
        let (job, v, z, k) = (self.job, self.vehicle, &self.zones[zone], self.kits[kit]);
        let panel = &v.panels[z.panel];
        let (tool, pad, product) = (&job.tools[k.tool], &job.pads[k.pad], &job.products[k.product]);
        let pairing = job.pairing(&pad.name, &product.name, panel.paint_name.as_deref());
        let pairing = pairing.unwrap_or(crate::equipment::Pairing::of(product.item));
        let rate = AngularRate::from_rad_s(work.setting.rate);
        let rated = if work.setting.rate > 0.0 { tool.item.clone().at_rate(rate)? } else { tool.item.clone() };
        let force = Force::from_n(work.setting.force_n);
        let setup = Setup::new(rated, pad.item.clone(), pairing.product(), z.patch, force)?;
        let rectangle = Panel::new(z.patch, Length::from_m(z.size_m.0), Length::from_m(z.size_m.1))?
            .with_incline(panel.panel.incline())?;
        let weight = tool.item.mass().map(|m| rectangle.weight_share(m).n());
        Ok(Step {
            name: format!("{}, {}", self.labels[zone], phase.word()),
            tool_name: tool.name.clone(),
            pad_name: pad.name.clone(),
            product_name: product.name.clone(),
            panel_name: self.labels[zone].clone(),
            paint_name: panel.paint_name.clone(),
            pairing_name: None,
            speed_setting: setup.tool().speed_scale().and_then(|s| s.setting_at(setup.tool().rate())),
            setup,
            panel: rectangle,
            real_panel: None,
            surface: None,
            defects: panel.defects.clone(),
            grain: v.products[k.product].grain,
            face: v.pads[k.pad].face,
            roughness: None,
            film: v.products[k.product].film,
            drops: None,
            core_limit: v.pads[k.pad].core_limit,
            clean_every: v.pads[k.pad].clean_every,
            paint: panel.paint,
            pairing,
            hand_force_n: weight.map(|w| force.n() - w),
            feed: Speed::from_m_s(work.feed),
            overlap: v.operator.overlap(),
            passes: work.passes,
            phases: Vec::new(),
            pattern: Pattern::Crosshatch,
            pattern_name: "crosshatch",
            path_options: PathOptions::default(),
            target_cut: None,
        })
    }

    /// What a plan rests on; two zones that agree in it have the same plan.
    fn key(&self, (zone, _): Item, kit: usize, work: &PassWork) -> String {
        let z = &self.zones[zone];
        let panel = &self.vehicle.panels[z.panel];
        let (a, b) = z.patch.principal();
        let bits: Vec<u64> = [
            a,
            b,
            z.patch.axis().rad(),
            z.size_m.0,
            z.size_m.1,
            panel.panel.incline().rad(),
            work.setting.rate,
            work.setting.force_n,
            work.feed,
        ]
        .iter()
        .map(|v| v.to_bits())
        .collect();
        format!(
            "{kit} {} {bits:x?} {:?} {:?}",
            work.passes,
            panel.paint_name,
            panel.paint.substrate() == Substrate::Plastic
        )
    }

    /// Plans the items that are not planned yet, with their heat, side by side.
    pub(super) fn work(&self, items: &[Item], chosen: &[Chosen], made: &mut Made) -> Result<(), Error> {
        let mut todo: Vec<(String, Item)> = Vec::new();
        for item in items {
            let Some((kit, work)) = chosen[item.0].of(item.1) else { continue };
            let key = self.key(*item, *kit, work);
            if !made.contains_key(&key) && !todo.iter().any(|(k, _)| *k == key) {
                todo.push((key, *item));
            }
        }
        let fresh = map_indexed(todo.len(), |n| {
            let item = todo[n].1;
            let Some((kit, work)) = chosen[item.0].of(item.1) else { return Ok(None) };
            let step = self.step(item, *kit, work)?;
            let task = step.task(self.vehicle.cell, (self.drag)(&step.tool_name));
            let mut plan = plan_step(&task, &AtHand::default(), self.settings)?;
            let heat = heat_of(self.job, &step, &task, &mut plan)?;
            Ok::<_, Error>(Some(Worked { step, task, plan, heat }))
        });
        for ((key, _), worked) in todo.into_iter().zip(fresh) {
            if let Some(w) = worked? {
                made.insert(key, Arc::new(w));
            }
        }
        Ok(())
    }

    /// The plan of an item, under the names of the first zone that had it.
    pub(super) fn found<'m>(&self, item: Item, chosen: &[Chosen], made: &'m Made) -> Option<&'m Worked> {
        let (kit, work) = chosen[item.0].of(item.1)?;
        made.get(&self.key(item, *kit, work)).map(AsRef::as_ref)
    }

    /// The plan of an item, under its own names.
    pub(super) fn worked(&self, item: Item, chosen: &[Chosen], made: &Made) -> Result<Option<Worked>, Error> {
        let Some((kit, work)) = chosen[item.0].of(item.1) else { return Ok(None) };
        let Some(found) = self.found(item, chosen, made) else { return Ok(None) };
        let mut own = Worked::clone(found);
        own.step = self.step(item, *kit, work)?;
        Ok(Some(own))
    }

    /// Corrects the passes of a zone by what its maps say; whether anything changed.
    ///
    /// Fewer where the chance of going over the budget is more than may be, one more where the low end of
    /// the cut misses the goal and the budget has room.
    pub(super) fn correct_passes(
        &self,
        zone: usize,
        task: &ZoneTask,
        chosen: &mut [Chosen],
        made: &Made,
    ) -> Result<bool, Error> {
        let may = 1.0 - self.goal.confidence;
        let mut steps: Vec<(Phase, f64, usize, PaintStep)> = Vec::new();
        for phase in [Phase::Cut, Phase::Refine] {
            let Some(w) = self.found((zone, phase), chosen, made) else { continue };
            let Some((kit, work)) = chosen[zone].of(phase) else { continue };
            let seen = paint_step(&w.plan, phase.word(), work, self.pairing_of(zone, *kit));
            steps.push((phase, seen.cut_m / w.plan.passes.max(1) as f64, w.plan.passes, seen));
        }
        let over = |steps: &[(Phase, f64, usize, PaintStep)]| -> Result<f64, Error> {
            let mut all = task.done.clone();
            all.extend(steps.iter().map(|(_, per, n, s)| PaintStep { cut_m: per * *n as f64, ..s.clone() }));
            Ok(over_probability(&all, &task.clear, &task.policy)?)
        };
        let before: Vec<usize> = steps.iter().map(|s| s.2).collect();
        // Each turn takes a pass away, so this ends.
        while over(&steps)? > may {
            let most =
                steps.iter_mut().filter(|s| s.2 > 0).max_by(|a, b| (a.2 as f64 * a.1).total_cmp(&(b.2 as f64 * b.1)));
            match most {
                Some(s) => s.2 -= 1,
                None => break,
            }
        }
        let reached = chosen[zone].cut.as_ref().is_some_and(|(_, w)| w.short.is_none());
        if steps.iter().map(|s| s.2).collect::<Vec<_>>() == before
            && reached
            && let Some((_, _, needed)) = goal_of(task, self.goal)?
            && let Some(at) = steps.iter().position(|s| s.0 == Phase::Cut && s.1 > 0.0)
        {
            let z = crate::math::distribution::normal_quantile(self.goal.confidence);
            let low = |s: &(Phase, f64, usize, PaintStep)| s.1 * s.2 as f64 * (-z * s.3.ln_sd).exp();
            let done: f64 = task.done.iter().map(|s| s.cut_m * (-z * s.ln_sd).exp()).sum();
            // A thousandth of the goal is no pass.
            if low(&steps[at]) + done < 0.999 * needed && steps[at].2 < self.goal.most_passes {
                steps[at].2 += 1;
                if over(&steps)? > may {
                    steps[at].2 -= 1;
                }
            }
        }
        let mut changed = false;
        for (phase, _, passes, _) in &steps {
            let slot = chosen[zone].of_mut(*phase);
            let Some((_, work)) = slot else { continue };
            if work.passes != *passes {
                changed = true;
                if *passes == 0 {
                    *slot = None;
                } else {
                    work.passes = *passes;
                }
            }
        }
        Ok(changed)
    }

    /// Largest friction power that the zone stands, where its plan is too hot: the power of the plan
    /// brought down to where paint and pad keep their limits, in proportion to the rise.
    pub(super) fn power_for(&self, w: &Worked) -> Option<f64> {
        // Power and rise are not quite in proportion over a plate that loses heat.
        const SLACK: f64 = 0.97;
        let (h, air) = (w.heat.as_ref()?, self.job.ambient.temperature.c());
        let paint = (h.peak.surface.c(), thermal_task(self.job, &w.step).paint_limit.c());
        let core = (h.core_after_section.c(), w.step.core_limit.c());
        let mut most: Option<f64> = None;
        for (is, limit) in [paint, core] {
            if is > limit && limit > air {
                let watts = SLACK * w.plan.state.friction_w * (limit - air) / (is - air);
                most = Some(most.map_or(watts, |m: f64| m.min(watts)));
            }
        }
        most
    }
}
