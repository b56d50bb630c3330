//! The card of a test spot as lines of text.
//!
//! Only layout: what is said and decided stands in the card.

use super::card::{Decision, SpotCard};
use super::spot::SwirlsLeft;

/// How the lines are marked up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CardStyle {
    /// Plain text.
    Plain,
    /// Markdown.
    Markdown,
}

/// Text safe inside a Markdown table or line.
fn escape(text: &str, style: CardStyle) -> String {
    // A line break in a name would end the row in either style.
    let one_line = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if style == CardStyle::Plain {
        return one_line;
    }
    let mut out = String::new();
    for c in one_line.chars() {
        if "\\`*_{}[]<>#|&~".contains(c) {
            out.push('\\');
        }
        out.push(c);
    }
    out
}

impl SpotCard {
    /// The card as lines, without line ends; see the example of [`SpotCard`].
    #[must_use]
    pub fn lines(&self, style: CardStyle) -> Vec<String> {
        let markdown = style == CardStyle::Markdown;
        let mut out = Vec::new();
        let title = |level: usize, text: &str, out: &mut Vec<String>| {
            if out.last().is_some_and(|l| !l.is_empty()) {
                out.push(String::new());
            }
            if markdown {
                out.push(format!("{} {text}", "#".repeat(level)));
                out.push(String::new());
            } else {
                out.push(if level == 1 { text.to_uppercase() } else { format!("{text}:") });
            }
        };
        title(1, "Test spot", &mut out);
        out.push(self.order_reason.to_owned());
        if let Some(a) = self.allowed_m {
            out.push(format!("Allowed removal on this panel: {:.1} µm in all.", a * 1e6));
        }
        title(2, "Order", &mut out);
        let row = |i: usize| {
            let t = &self.trials[i];
            let cut = t.predicted_cut_m.map_or_else(|| "unknown".to_owned(), |c| format!("{:.1} µm", c * 1e6));
            let note = if t.over_budget { "leave out: more than is allowed" } else { t.reason };
            [
                (i + 1).to_string(),
                escape(&t.pad, style),
                escape(&t.product, style),
                format!("{:.1} x", t.strength),
                cut,
                note.to_owned(),
            ]
        };
        let head = ["trial", "pad", "product", "strength", "predicted cut", "when"].map(str::to_owned);
        table(&head, &(0..self.trials.len()).map(row).collect::<Vec<_>>(), markdown, &mut out);
        title(2, "Each trial", &mut out);
        for (i, text) in self.instructions.iter().enumerate() {
            out.push(format!("{}. {text}", i + 1));
        }
        title(2, "What you see, and what next", &mut out);
        let open: Vec<usize> = (0..self.trials.len()).filter(|i| !self.trials[*i].over_budget).collect();
        let mut rows = Vec::new();
        for left in SwirlsLeft::ALL {
            for haze in [false, true] {
                rows.extend(self.answers(&open, left, haze));
            }
        }
        let head = ["swirls", "haze", "after trial", "verdict", "go to", "why"].map(str::to_owned);
        table(&head, &rows, markdown, &mut out);
        title(2, "Mind", &mut out);
        out.extend(self.cautions.iter().map(|c| format!("- {c}")));
        out
    }

    /// Rows for one look: trials after which the same is to be done share one, and a step to the trial next
    /// in the list is told as such.
    fn answers(&self, trials: &[usize], left: SwirlsLeft, haze: bool) -> Vec<[String; 6]> {
        let mut groups: Vec<(Vec<usize>, String, Decision)> = Vec::new();
        for (place, i) in trials.iter().enumerate() {
            let d = self.decide(*i, left, haze);
            let to = match d.next {
                None => String::new(),
                Some(n) if trials.get(place + 1) == Some(&n) => "the next trial".to_owned(),
                Some(n) if place > 0 && trials[place - 1] == n => "the trial before".to_owned(),
                Some(n) => format!("trial {}", n + 1),
            };
            match groups.iter_mut().find(|g| g.1 == to && g.2.verdict == d.verdict && g.2.reason == d.reason) {
                Some(g) => g.0.push(*i),
                None => groups.push((vec![*i], to, d)),
            }
        }
        groups
            .into_iter()
            .map(|(of, to, d)| {
                let after = if of.len() == trials.len() {
                    "any".to_owned()
                } else {
                    of.iter().map(|i| (i + 1).to_string()).collect::<Vec<_>>().join(", ")
                };
                let haze = if haze { "yes" } else { "no" };
                [left.words().to_owned(), haze.to_owned(), after, d.verdict.words().to_owned(), to, d.reason.to_owned()]
            })
            .collect()
    }
}

fn table<const N: usize>(head: &[String; N], rows: &[[String; N]], markdown: bool, out: &mut Vec<String>) {
    if markdown {
        out.push(format!("| {} |", head.join(" | ")));
        out.push(format!("|{}", "---|".repeat(N)));
        out.extend(rows.iter().map(|r| format!("| {} |", r.join(" | "))));
        return;
    }
    let width: [usize; N] =
        core::array::from_fn(|c| rows.iter().map(|r| r[c].chars().count()).fold(head[c].chars().count(), usize::max));
    for row in core::iter::once(head).chain(rows) {
        let mut line = String::from(" ");
        for (cell, w) in row.iter().zip(width) {
            line.push(' ');
            line.push_str(cell);
            line.extend(core::iter::repeat_n(' ', w - cell.chars().count() + 1));
        }
        out.push(line.trim_end().to_owned());
    }
}
