//! One thing that is wrong with a mesh or worth knowing: what, how often, where, how bad.

use core::fmt;

/// How much a finding matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Worth knowing; the heights are right all the same.
    Note,
    /// The heights may be wrong there.
    Warns,
    /// Nothing useful can be computed.
    Stops,
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Note => "note",
            Self::Warns => "warning",
            Self::Stops => "stop",
        })
    }
}

/// What a [`Finding`] is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum FindingKind {
    /// Parts that share no edge.
    SeveralParts,
    /// Open boundary loops inside a part.
    Holes,
    /// A part without an open boundary: a closed body.
    ClosedBody,
    /// A boundary that does not close.
    OpenChain,
    /// Edges shared by more than two triangles.
    CrowdedEdges,
    /// Neighbours whose corners run opposite ways.
    FlippedNeighbours,
    /// Triangles over the same three vertices.
    DuplicateTriangles,
    /// Triangles without area, or needles.
    DegenerateTriangles,
    /// Vertices that no triangle uses.
    UnusedVertices,
    /// Vertices in the same place.
    DuplicateVertices,
    /// A size that no panel has: the unit may be wrong.
    Size,
}

/// A finding with its places.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// What was found.
    pub kind: FindingKind,
    /// How much it matters.
    pub severity: Severity,
    /// How many of them there are in the whole mesh.
    pub count: usize,
    /// Numbers of the first few triangles, from 0.
    pub triangles: Vec<usize>,
    /// Places of the first few \[m\].
    pub places: Vec<[f64; 3]>,
    /// The finding in words, without its places.
    pub text: String,
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.severity, self.text)?;
        let more = |shown: usize| if shown < self.count { ", ..." } else { "" };
        if !self.places.is_empty() {
            let at: Vec<String> = self.places.iter().map(|p| place(*p)).collect();
            write!(f, "; at {} mm{}", at.join(", "), more(at.len()))?;
        }
        if !self.triangles.is_empty() {
            let numbers: Vec<String> = self.triangles.iter().map(ToString::to_string).collect();
            write!(f, "; triangles {}{}", numbers.join(", "), more(numbers.len()))?;
        }
        Ok(())
    }
}

/// A place in millimetres: `(x, y, z)`.
pub(super) fn place(p: [f64; 3]) -> String {
    // Adding 0 to a rounded 0 takes its sign away.
    let mm = p.map(|c| (crate::units::Length::from_m(c).mm() * 100.0).round() / 100.0 + 0.0);
    format!("({:.2}, {:.2}, {:.2})", mm[0], mm[1], mm[2])
}
