//! Zones and sections of a real panel in the printable report.

use super::answer::{kind, reason};
use super::words::{fixed, minutes, percent};
use crate::plan::{SurfaceWork, ZoneKind};
use crate::units::{AngularRate, Length};
use maud::{Markup, html};

fn place(at: (f64, f64)) -> String {
    format!("x {} mm, y {} mm", fixed(Length::from_m(at.0).mm(), 0), fixed(Length::from_m(at.1).mm(), 0))
}

/// Zones where the settings should change, each with its first change and what it does when the panel is
/// worked again.
pub(super) fn zones(w: &SurfaceWork) -> Markup {
    let list: Vec<_> = w.zones.zones.iter().enumerate().filter(|(_, z)| z.kind != ZoneKind::Flat).collect();
    html! {
        @if list.is_empty() {
            p { "No zone of this panel asks for other settings." }
        } @else {
            table.cards role="table" {
                caption { "Zones that ask for other settings" }
                thead role="rowgroup" {
                    tr role="row" {
                        @for c in ["Zone", "Where it is worst", "Change", "Worked again with it"] {
                            th role="columnheader" scope="col" { (c) }
                        }
                    }
                }
                tbody role="rowgroup" {
                    @for (i, z) in list {
                        @let check = w.checks.iter().find(|c| c.zone == i);
                        tr role="row" {
                            th role="rowheader" scope="row" { (i + 1) " " (z.kind.name().replace('_', " ")) }
                            td role="cell" data-label="Where it is worst" {
                                (place(z.worst_at))
                                @if let Some(s) = z.least_spin { ", " (fixed(AngularRate::from_rad_s(s).rpm(), 0)) " rpm" }
                                ", up to " (fixed(z.peak_pressure_pa / 1e3, 1)) " kPa"
                            }
                            td role="cell" data-label="Change" {
                                @match z.change() {
                                    Some(c) => { b { (kind(c)) } ": " (reason(c)) },
                                    None => "nothing that was tried helps here",
                                }
                            }
                            td role="cell" data-label="Worked again with it" {
                                @match check {
                                    Some(c) if c.peak_pressure_pa.1 <= 0.0 => "the pad centre no longer comes there",
                                    Some(c) => {
                                        "stalled for " (percent(c.stalled_share.1)) " of the time (before "
                                        (percent(c.stalled_share.0)) "), up to " (fixed(c.peak_pressure_pa.1 / 1e3, 1))
                                        " kPa (before " (fixed(c.peak_pressure_pa.0 / 1e3, 1)) ")"
                                        @if !c.helps { b { "; not enough" } }
                                    },
                                    None => "not tried",
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Sections in the order of work.
pub(super) fn sections(w: &SurfaceWork) -> Markup {
    html! {
        @if !w.sections.is_empty() {
            table.plain {
                caption { "Sections in the order of work" }
                tbody {
                    @for s in &w.sections {
                        tr {
                            th scope="row" { "Section " (s.section.number()) }
                            td {
                                (fixed(s.section.area(), 3)) " m², " (minutes(s.time_s))
                                @if let Some(c) = s.cut { ", " (fixed(1e6 * c.mean, 2)) " µm on average" }
                                @if s.stalled_share > 0.0 { ", stalled for " (percent(s.stalled_share)) " of the time" }
                            }
                        }
                    }
                }
            }
        }
    }
}
