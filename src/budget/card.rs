//! The card of a test spot: what to try in which order, how, and what to do after each look.
//!
//! Data and rules; the text is made in [`super::card_text`]. The rules are common practice without a
//! source, put into our own words.

use super::error::BudgetError;
use super::interval::microns;
use super::spot::SwirlsLeft;
use crate::equipment::within;
use crate::units::Length;

/// How bad the defects are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Severity {
    /// Fine swirls under a strong light only.
    Light,
    /// Swirls plain to see.
    Moderate,
    /// Deep marks all over, etching, sanding marks.
    Heavy,
}

/// A pad and a product at hand.
#[derive(Debug, Clone, PartialEq)]
pub struct Combination {
    /// Pad name.
    pub pad: String,
    /// Product name.
    pub product: String,
    /// Removal coefficient of the pairing [1/Pa].
    pub preston_per_pa: f64,
    /// Friction power over friction coefficient at the step, ⟨∫ p|v| dA⟩ \[W\]: cut volume a second is the
    /// coefficient times this.
    pub sliding_power_w: f64,
    /// Cut that the spot's passes are predicted to take, where it is known.
    pub predicted_cut: Option<Length>,
}

impl Combination {
    /// Volume cut a second, k_p ⟨∫ p|v| dA⟩ [m³/s]: what the order goes by where not every cut is known.
    #[must_use]
    pub fn aggressiveness(&self) -> f64 {
        self.preston_per_pa * self.sliding_power_w
    }
}

/// One trial of the card.
#[derive(Debug, Clone, PartialEq)]
pub struct Trial {
    /// Place in the list of combinations given.
    pub combination: usize,
    /// Pad name.
    pub pad: String,
    /// Product name.
    pub product: String,
    /// Predicted cut over that of the mildest combination \[1\]; volume cut a second over its, where not every
    /// cut is known.
    pub strength: f64,
    /// Predicted cut \[m\].
    pub predicted_cut_m: Option<f64>,
    /// Whether the predicted cut is more than is allowed: leave this trial out.
    pub over_budget: bool,
    /// Why it stands at its place.
    pub reason: &'static str,
}

/// What to do after a look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Use this combination.
    Good,
    /// Try the next stronger one.
    Stronger,
    /// Try the next milder one.
    Milder,
    /// Follow with a finishing step.
    Refine,
    /// Not to be corrected with what is at hand and allowed.
    NotCorrectable,
}

impl Verdict {
    /// The short word of the table.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Good => "good",
            Self::Stronger => "go stronger",
            Self::Milder => "go milder",
            Self::Refine => "refine",
            Self::NotCorrectable => "not correctable",
        }
    }
}

/// What follows from a look at one trial.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Decision {
    /// What to do.
    pub verdict: Verdict,
    /// The trial to go to, as a place in [`SpotCard::trials`].
    pub next: Option<usize>,
    /// Why, in words.
    pub reason: &'static str,
}

/// A test-spot card.
///
/// # Example
/// ```
/// use trochoid::Length;
/// use trochoid::budget::{CardStyle, Combination, Severity, SpotCard, SwirlsLeft, Verdict};
/// let with = |product: &str, um: f64| Combination { pad: "foam".to_owned(), product: product.to_owned(),
///     preston_per_pa: 2e-11, sliding_power_w: 80.0, predicted_cut: Some(Length::from_um(um)) };
/// let at_hand = [with("cutting", 3.0), with("finishing", 1.0), with("grinding", 12.0)];
/// let card = SpotCard::new(&at_hand, Severity::Moderate, 4, Some(Length::from_um(8.0)))?;
/// // Mildest first: 1, 3 and 12 µm; the last is more than the 8 µm allowed and is never proposed.
/// assert_eq!(card.trials.iter().map(|t| t.combination).collect::<Vec<_>>(), [1, 0, 2]);
/// assert!((card.trials[1].strength - 3.0).abs() < 1e-12 && card.trials[2].over_budget);
/// assert_eq!(card.decide(0, SwirlsLeft::Half, false).next, Some(1));
/// assert_eq!(card.decide(1, SwirlsLeft::Half, false).verdict, Verdict::NotCorrectable);
/// assert!(card.lines(CardStyle::Plain).iter().any(|l| l.contains("8.0 µm")));
/// # Ok::<(), trochoid::budget::BudgetError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct SpotCard {
    /// How bad the defects are.
    pub severity: Severity,
    /// Trials in the order to try them.
    pub trials: Vec<Trial>,
    /// Why this order.
    pub order_reason: &'static str,
    /// Passes of each trial.
    pub passes: u32,
    /// What may go \[m\].
    pub allowed_m: Option<f64>,
    /// What to do before, at and after each trial, in order.
    pub instructions: Vec<String>,
    /// What to mind.
    pub cautions: Vec<&'static str>,
}

/// Less than this over the trial before is no step up: a look cannot tell two such cuts apart (assumed).
const NO_STEP_UP: f64 = 1.1;

const ORDER_MILD: &str = "Mildest first: film taken off does not come back, so the least that clears the marks is the answer. Stop at the \
     first trial that does.";
const ORDER_STRONG: &str = "Strongest first: on marks this deep the mild trials would only cost film and time. If the first trial clears \
     them all, the next one shows whether less would have done.";

impl SpotCard {
    /// A card for the combinations at hand; see the example of [`SpotCard`].
    ///
    /// Mildest first by the predicted cut, or strongest first for heavy defects. A combination whose predicted cut is more
    /// than `allowed` is marked and never proposed by [`SpotCard::decide`].
    ///
    /// # Errors
    /// No combination or more than 100; a coefficient outside 1e-18 to 1e-6 per pascal, a power outside
    /// 1e-6 to 1e5 W; names that are empty or longer than 100 characters; passes outside 1 to 100.
    pub fn new(
        combinations: &[Combination],
        severity: Severity,
        passes: u32,
        allowed: Option<Length>,
    ) -> Result<Self, BudgetError> {
        if combinations.is_empty() {
            return Err(BudgetError::TooFew { what: "a test-spot card", have: 0, need: 1 });
        }
        if combinations.len() > 100 {
            return Err(BudgetError::TooMuch {
                what: "combinations of a card",
                value: combinations.len() as f64,
                most: 100.0,
            });
        }
        within("passes", f64::from(passes), 1.0, 100.0, "passes")?;
        if let Some(a) = allowed {
            microns("allowed_um", a, 0.0, 1000.0)?;
        }
        for c in combinations {
            for (what, name) in [("pad", &c.pad), ("product", &c.product)] {
                if name.trim().is_empty() || name.chars().count() > 100 {
                    return Err(BudgetError::Name { what, value: name.chars().take(100).collect() });
                }
            }
            within("preston_per_pa", c.preston_per_pa, 1e-18, 1e-6, "1/Pa")?;
            within("sliding_power_w", c.sliding_power_w, 1e-6, 1e5, "W")?;
            if let Some(cut) = c.predicted_cut {
                microns("predicted_cut_um", cut, 0.0, 5000.0)?;
            }
        }
        // What a trial takes off its spot is what makes it strong: a small pad cuts less a second than a
        // large one, but deeper.
        let known = combinations.iter().all(|c| c.predicted_cut.is_some_and(|cut| cut.m() > 0.0));
        let power = |c: &Combination| match c.predicted_cut {
            Some(cut) if known => cut.m(),
            _ => c.aggressiveness(),
        };
        let mut order: Vec<usize> = (0..combinations.len()).collect();
        // A stable sort: combinations alike keep the order in which they were given.
        order.sort_by(|a, b| power(&combinations[*a]).total_cmp(&power(&combinations[*b])));
        let mildest = power(&combinations[order[0]]);
        let strong_first = severity == Severity::Heavy;
        if strong_first {
            order.reverse();
        }
        let last = order.len() - 1;
        let stronger = |before: usize, c: usize| power(&combinations[c]) > NO_STEP_UP * power(&combinations[before]);
        let trials = order
            .iter()
            .enumerate()
            .map(|(i, c)| {
                let of = &combinations[*c];
                let cut = of.predicted_cut.map(Length::m);
                Trial {
                    combination: *c,
                    pad: of.pad.clone(),
                    product: of.product.clone(),
                    strength: power(of) / mildest,
                    predicted_cut_m: cut,
                    over_budget: match (cut, allowed) {
                        (Some(cut), Some(a)) => cut > a.m(),
                        _ => false,
                    },
                    reason: match (strong_first, i) {
                        (false, 0) => "the mildest at hand",
                        (false, i) if !stronger(order[i - 1], order[i]) => {
                            "hardly stronger than the one before: for another finish, not for more cut"
                        }
                        (false, i) if i == last => "the strongest at hand, only if all before fall short",
                        (false, _) => "only if the one before falls short",
                        (true, 0) => "the strongest at hand: the marks are deep",
                        (true, _) => "only to see whether less would do",
                    },
                }
            })
            .collect();
        let mut cautions = vec![
            "Read the film before and after. Where a reading is thin or odd, do the spot elsewhere.",
            "One spot speaks for one paint: a repaired panel and a plastic part each need their own.",
            "Stay off edges and body lines; the film is thinner there than beside them.",
            "Keep the surface cooler than the hand can bear to rest on.",
            "A mark that catches a fingernail is deeper than polishing should follow.",
        ];
        if allowed.is_some_and(|a| a.m() <= 0.0) {
            cautions.insert(0, "The budget of this panel is spent: any trial takes film that should stay.");
        }
        Ok(Self {
            severity,
            trials,
            order_reason: if strong_first { ORDER_STRONG } else { ORDER_MILD },
            passes,
            allowed_m: allowed.map(Length::m),
            instructions: instructions(passes),
            cautions,
        })
    }

    /// The trial next in strength that the budget allows: the mildest that is a step up, or the strongest
    /// milder one.
    fn neighbour(&self, trial: usize, stronger: bool) -> Option<usize> {
        let here = self.trials.get(trial)?.strength;
        let open = self.trials.iter().enumerate().filter(|(_, t)| !t.over_budget);
        if stronger {
            open.filter(|(_, t)| t.strength > NO_STEP_UP * here)
                .min_by(|a, b| a.1.strength.total_cmp(&b.1.strength))
                .map(|t| t.0)
        } else {
            open.filter(|(_, t)| t.strength < here).max_by(|a, b| a.1.strength.total_cmp(&b.1.strength)).map(|t| t.0)
        }
    }

    /// What to do after looking at `trial` (a place in [`SpotCard::trials`]; one beyond the list counts
    /// as the last). The answers are the classes that the calibration takes. See the example of [`SpotCard`].
    #[must_use]
    pub fn decide(&self, trial: usize, left: SwirlsLeft, haze: bool) -> Decision {
        let trial = trial.min(self.trials.len().saturating_sub(1));
        let to = |verdict, next, reason| Decision { verdict, next, reason };
        match left {
            SwirlsLeft::Most | SwirlsLeft::Half => match self.neighbour(trial, true) {
                Some(next) => to(Verdict::Stronger, Some(next), "too much is left: a stronger trial on a fresh spot"),
                None => to(
                    Verdict::NotCorrectable,
                    None,
                    "nothing stronger is at hand or allowed: agree on how much may stay, or have it repainted",
                ),
            },
            SwirlsLeft::None | SwirlsLeft::Few if haze => match self.neighbour(trial, false) {
                Some(milder) => to(
                    Verdict::Refine,
                    Some(milder),
                    "the marks are down but this trial leaves its own haze: follow it with a milder, finer step",
                ),
                None => to(
                    Verdict::Refine,
                    None,
                    "the marks are down but haze is left by the mildest at hand: a finer product or a softer pad is wanted",
                ),
            },
            SwirlsLeft::None if self.severity == Severity::Heavy => match self.neighbour(trial, false) {
                Some(next) => to(
                    Verdict::Milder,
                    Some(next),
                    "all gone with the strong one: see whether a milder one does it too",
                ),
                None => to(Verdict::Good, None, "clear and free of haze with the mildest at hand"),
            },
            SwirlsLeft::None => to(Verdict::Good, None, "clear and free of haze: use this for the panel"),
            SwirlsLeft::Few => to(
                Verdict::Good,
                self.neighbour(trial, true),
                "what is left is deeper than this cut: good enough as a rule, stronger only where every mark must go",
            ),
        }
    }
}

fn instructions(passes: u32) -> Vec<String> {
    [
        "Wash and dry the panel; take off bonded dirt, or it will scratch.".to_owned(),
        "Choose a spot a few hand widths across on a flat part that shows the usual marks; read the film there."
            .to_owned(),
        "Tape off one half of the spot. The taped half stays as it is and is what you compare with.".to_owned(),
        "Prime a fresh pad: spread product thinly over its whole face. On a pad in use a few drops are enough."
            .to_owned(),
        format!(
            "Work the open half: {passes} passes at the settings planned for the panel, each pass covering it once. Do \
             not change force, speed or feed on the way."
        ),
        "Wipe with panel wipe. Oils and fillers in a product can hide marks that are still there.".to_owned(),
        "Take off the tape, look under an inspection light from several sides, then again in daylight or shade."
            .to_owned(),
        "Compare both sides of the tape line: how many of the swirls are left, and is there a haze that was not \
         there?"
            .to_owned(),
        "Read the film again at the same places and write both down, with the passes done.".to_owned(),
        "For the next trial take a fresh spot and a clean pad, not the spot just worked.".to_owned(),
    ]
    .into()
}
