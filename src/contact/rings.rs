//! Load rings: the azimuth mean of the pressure on quadrature rings around the tool axis, each with
//! the phases at which the orbiting face covers it.

use super::{ContactSettings, PressureField};
use crate::math::quadrature::{Ends, rule};
use crate::motion::ArcPoint;
use crate::motion::Face;
use core::f64::consts::PI;

/// One ring of panel points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ring {
    /// Distance from the tool axis \[m\].
    pub rho: f64,
    /// Area that the ring stands for \[m²\].
    pub area: f64,
    /// Azimuth mean of the pressure \[Pa\], before cover and backing.
    pub pressure: f64,
    /// Share of the ring that is pressed \[1\].
    pub touching: f64,
    /// Where its phases start in the list of arcs; `None` when it is always covered and backed.
    arcs: Option<(usize, usize)>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Segment {
    low: f64,
    high: f64,
    ends: Ends,
    covered: bool,
    first: usize,
    count: usize,
    nodes: usize,
}

/// The rings of one contact solution: a quadrature of the load of a pad held square.
///
/// ```text
/// ⟨∫ p … dA⟩ = Σ area x pressure x ⟨… over the covered phases⟩      one term a ring
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Rings {
    face: Face,
    field: PressureField,
    segments: Vec<Segment>,
    rings: Vec<Ring>,
    arcs: Vec<ArcPoint>,
    radial_nodes: usize,
    arc_nodes: usize,
}

/// Radial pieces between the breaks of the face, with the contact's own breaks put in.
pub(crate) fn pieces(face_breaks: &[f64], contact_breaks: &[f64], mut f: impl FnMut(f64, f64, bool, bool, f64)) {
    for w in face_breaks.windows(2) {
        let (low, high) = (w[0], w[1]);
        let slack = 1e-9 * (high - low);
        let mut from = low;
        let mut split_from = false;
        for &b in contact_breaks.iter().filter(|b| **b > low + slack && **b < high - slack) {
            if b - from <= slack {
                continue;
            }
            f(from, b, split_from, true, (b - from) / (high - low));
            from = b;
            split_from = true;
        }
        f(from, high, split_from, false, (high - from) / (high - low));
    }
}

/// Nodes of a piece that is `share` of a whole one: a shorter piece needs fewer for the same error.
pub(crate) fn piece_nodes(nodes: usize, share: f64) -> usize {
    let fewer = (nodes as f64 * share.clamp(0.0, 1.0).sqrt()).ceil();
    // Rounded up from a number between 0 and `nodes`.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let fewer = fewer as usize;
    fewer.max(nodes.div_ceil(2)).min(nodes)
}

/// Spread of the nodes of a piece. Cover has square-root corners at its own breaks; so has the
/// azimuth mean of an anisotropic contact at its breaks.
#[allow(clippy::fn_params_excessive_bools)] // two facts about the piece, two about its ends
pub(crate) fn spread(covered: bool, orbit: f64, anisotropic: bool, from_contact: bool, to_contact: bool) -> Ends {
    let cover = !covered && orbit > 0.0;
    Ends::from_flags(
        (cover && !from_contact) || (anisotropic && from_contact),
        (cover && !to_contact) || (anisotropic && to_contact),
    )
}

impl Rings {
    pub(crate) fn build(
        face: &Face,
        field: &PressureField,
        face_breaks: &[f64],
        contact_breaks: &[f64],
        settings: &ContactSettings,
    ) -> Self {
        let mut out = Self {
            face: *face,
            field: field.clone(),
            segments: Vec::new(),
            rings: Vec::new(),
            arcs: Vec::new(),
            radial_nodes: settings.radial_nodes,
            arc_nodes: settings.arc_nodes,
        };
        let anisotropic = !field.isotropic();
        pieces(face_breaks, contact_breaks, |low, high, from_contact, to_contact, share| {
            // Nothing is pressed in a piece whose middle is not: the breaks are the edges.
            if field.ring(0.5 * (low + high)).pressure <= 0.0 {
                return;
            }
            let covered = face.always_covered(low, high);
            let ends = spread(covered, face.orbit(), anisotropic, from_contact, to_contact);
            let first = out.rings.len();
            let nodes = piece_nodes(out.radial_nodes, share);
            fill(face, field, (low, high), ends, covered, nodes, out.arc_nodes, &mut out.rings, &mut out.arcs);
            out.segments.push(Segment { low, high, ends, covered, first, count: out.rings.len() - first, nodes });
        });
        out
    }

    /// The same load on seven tenths of the nodes.
    pub(crate) fn fewer(&self) -> Self {
        let settings = ContactSettings {
            radial_nodes: self.radial_nodes,
            arc_nodes: self.arc_nodes,
            ..ContactSettings::default()
        }
        .fewer();
        let mut contact_breaks = Vec::new();
        self.field.breaks(&self.field.knots(), &mut contact_breaks);
        Self::build(&self.face, &self.field.fewer(), &self.face.breaks(), &contact_breaks, &settings)
    }

    /// The orbiting face.
    #[must_use]
    pub const fn face(&self) -> &Face {
        &self.face
    }

    /// The pressure field over the panel.
    #[must_use]
    pub const fn field(&self) -> &PressureField {
        &self.field
    }

    /// The rings, in no order that means anything; rings without pressure are left out.
    #[must_use]
    pub fn rings(&self) -> &[Ring] {
        &self.rings
    }

    /// Calls `f` for every ring with its phases; `None` stands for a ring that is always covered.
    ///
    /// Where the sliding speed vanishes at a panel distance `still`, the piece that holds it is
    /// split there and its nodes crowded, so that the corner costs no accuracy.
    pub(crate) fn visit(&self, still: Option<f64>, mut f: impl FnMut(&Ring, Option<&[ArcPoint]>)) {
        let (mut rings, mut arcs) = (Vec::new(), Vec::new());
        for s in &self.segments {
            let length = s.high - s.low;
            let near = still.filter(|r| *r > s.low - 0.25 * length && *r < s.high + 0.25 * length);
            let left = matches!(s.ends, Ends::Left | Ends::Both);
            let right = matches!(s.ends, Ends::Right | Ends::Both);
            rings.clear();
            arcs.clear();
            let mut refill = |low: f64, high: f64, ends: Ends| {
                let nodes = piece_nodes(s.nodes, (high - low) / length);
                fill(
                    &self.face,
                    &self.field,
                    (low, high),
                    ends,
                    s.covered,
                    nodes,
                    self.arc_nodes,
                    &mut rings,
                    &mut arcs,
                );
            };
            match near {
                Some(r) if r > s.low && r < s.high => {
                    refill(s.low, r, Ends::from_flags(left, true));
                    refill(r, s.high, Ends::from_flags(true, right));
                }
                Some(r) if r >= s.high && !right => refill(s.low, s.high, Ends::from_flags(left, true)),
                Some(r) if r <= s.low && !left => refill(s.low, s.high, Ends::from_flags(true, right)),
                _ => {
                    for ring in &self.rings[s.first..s.first + s.count] {
                        f(ring, ring.arcs.map(|(a, b)| &self.arcs[a..b]));
                    }
                }
            }
            for ring in &rings {
                f(ring, ring.arcs.map(|(a, b)| &arcs[a..b]));
            }
        }
    }

    /// Gauss nodes an arc of phases.
    pub(crate) const fn arc_nodes(&self) -> usize {
        self.arc_nodes
    }
}

#[allow(clippy::too_many_arguments)] // the pieces of one loop body, split out to serve both builders
fn fill(
    face: &Face,
    field: &PressureField,
    (low, high): (f64, f64),
    ends: Ends,
    covered: bool,
    radial_nodes: usize,
    arc_nodes: usize,
    rings: &mut Vec<Ring>,
    arcs: &mut Vec<ArcPoint>,
) {
    let span = high - low;
    for q in rule(radial_nodes, ends) {
        let rho = low + span * q.x;
        let mean = field.ring(rho);
        let range = if covered {
            None
        } else {
            let start = arcs.len();
            face.arcs(rho, arc_nodes, arcs);
            Some((start, arcs.len()))
        };
        rings.push(Ring {
            rho,
            area: 2.0 * PI * rho * q.w * span,
            pressure: mean.pressure,
            touching: mean.touching,
            arcs: range,
        });
    }
}
