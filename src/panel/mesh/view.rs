//! A mesh seen from above as a height map, with an account of what the heights cannot hold.
//!
//! Nothing is repaired: undercuts, double layers and steep walls are counted and told.

use super::border::{around, inside, length, signed_area, straightened};
use super::edges::EdgeTable;
use super::extend::extend;
use super::raster::{Grid, Layers, cover};
use super::{PlanFrame, TriangleMesh, Up, dot, norm};
use crate::equipment::within;
use crate::error::RangeError;
use crate::panel::{HeightMap, MAX_CORNERS, MAX_NODES, Outline};
use crate::units::Angle;

/// Nodes kept free beyond each side of the box.
const MARGIN: usize = 2;
/// Corners of the outline left out lie within this of it, m: far below any pad's or scanner's accuracy.
const STRAIGHT: f64 = 1e-6;
/// A hole narrower than this share of a step is a slit: twice its area over its length.
const SLIT: f64 = 0.01;
/// Slope from which a face is called steep: the plan shows a quarter of its true length.
const STEEP_DEG: f64 = 75.0;

/// How a mesh is turned into heights: numerical knobs, checked by [`MeshView::of`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeshView {
    /// Which way of the mesh points out of the paint; the mean normal unless set.
    pub up: Up,
    /// Distance of neighbouring nodes \[m\]; 1 mm unless set, 0.01 mm to 1 m.
    pub step: f64,
}

impl Default for MeshView {
    /// Up by the mean normal, nodes of 1 mm.
    fn default() -> Self {
        Self { up: Up::Auto, step: 1e-3 }
    }
}

/// Where the outline of a [`MeshPanel`] comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OutlineSource {
    /// The open boundary loops of the mesh, laid into the plan.
    MeshBoundary,
    /// The border of the covered nodes, half a step beyond them: the mesh is not a single sheet.
    CoveredNodes,
}

/// A mesh as a height map, with what the heights could not hold.
#[derive(Debug, Clone, PartialEq)]
pub struct MeshPanel {
    /// Heights over the plan, and the outline with its holes.
    pub heights: HeightMap,
    /// The way from the mesh into the plan and back.
    pub frame: PlanFrame,
    /// Nodes that the mesh covers.
    pub covered_nodes: usize,
    /// Of these, nodes that more than one layer covers (over 1 µm apart); the uppermost is taken.
    pub layered_nodes: usize,
    /// Share of the mesh's area that faces away from up \[1\].
    pub facing_away_share: f64,
    /// Share of the mesh's area that faces up and is steeper than 75° \[1\].
    pub steep_share: f64,
    /// Where the outline comes from.
    pub outline_source: OutlineSource,
    /// Holes left out of the outline because they are slits: narrower than a hundredth of a step.
    pub slits: usize,
    /// All of this in words, where it is worth saying.
    pub notes: Vec<String>,
}

impl MeshPanel {
    /// Place of each vertex of the mesh in plan and height \[m\]: the place where a result on the height
    /// map is read for that vertex.
    #[must_use]
    pub fn plan_of(&self, mesh: &TriangleMesh) -> Vec<[f64; 3]> {
        mesh.vertices().iter().map(|p| self.frame.to_plan(*p)).collect()
    }

    /// Reads a field over the nodes (row by row) back onto the vertices of the mesh, bilinear; NaN for a
    /// vertex that lies under the uppermost layer by more than `depth` \[m\], or beyond the nodes.
    ///
    /// See the example of [`MeshView::of`].
    ///
    /// # Errors
    /// A field with another number of values than the height map has nodes.
    pub fn read_back(&self, mesh: &TriangleMesh, values: &[f64], depth: f64) -> Result<Vec<f64>, RangeError> {
        let h = &self.heights;
        if values.len() != h.heights().len() {
            let allowed = format!("{}, one for each node", h.heights().len());
            return Err(RangeError::new("field values", values.len() as f64, "", allowed));
        }
        let ((x0, y0), (nx, ny)) = (h.origin(), h.count());
        let (x1, y1) = h.node(nx - 1, ny - 1);
        let read = |q: &[f64; 3]| {
            let beyond = q[0] < x0 || q[0] > x1 || q[1] < y0 || q[1] > y1;
            let hidden = h.height_at(q[0], q[1]) - q[2] > depth;
            if beyond || hidden { f64::NAN } else { h.read(values, q[0], q[1]) }
        };
        Ok(self.plan_of(mesh).iter().map(read).collect())
    }
}

impl MeshView {
    /// Turns a mesh into heights on a grid: the uppermost layer over each node.
    ///
    /// The lower corner of the mesh's box becomes the origin, so that plan and heights start at 0; two
    /// nodes are kept beyond each side. The outline is the mesh's own boundary where the mesh is a
    /// single sheet seen from above, else the border of the covered nodes. Heights off the panel are a
    /// smooth continuation.
    ///
    /// # Errors
    /// A step outside 0.01 mm to 1 m, a plan that needs more than [`MAX_NODES`] nodes or is narrower
    /// than two steps, triangles that overlap so often that the work would not end, a mesh that covers
    /// no node, normals that cancel for [`Up::Auto`].
    ///
    /// # Example
    /// ```
    /// use trochoid::panel::mesh::{MeshView, TriangleMesh};
    /// # fn main() -> Result<(), trochoid::RangeError> {
    /// // A square of 100 mm with one side 20 mm higher than the other. Up is its own normal, so in plan it is
    /// // level and as long as it is: √(100² + 20²) = 101.98 mm.
    /// let corners = vec![[0.0, 0.0, 0.0], [0.1, 0.0, 0.02], [0.1, 0.1, 0.02], [0.0, 0.1, 0.0]];
    /// let mesh = TriangleMesh::new(corners, vec![[0, 1, 2], [0, 2, 3]])?;
    /// let panel = MeshView::default().of(&mesh)?;
    /// assert!((panel.heights.outline().bounds().1.0 - 0.10198).abs() < 1e-5);
    /// assert!(panel.heights.height_at(0.05, 0.05).abs() < 1e-12 && panel.layered_nodes == 0);
    /// // Any field over the nodes comes back to the four vertices; here the heights themselves.
    /// let back = panel.read_back(&mesh, panel.heights.heights(), 1e-3)?;
    /// assert!(back.len() == 4 && back.iter().all(|z| z.abs() < 1e-12));
    /// # Ok(())
    /// # }
    /// ```
    pub fn of(&self, mesh: &TriangleMesh) -> Result<MeshPanel, RangeError> {
        within("height map step", self.step * 1e3, 0.01, 1000.0, "mm")?;
        let frame = PlanFrame::of(mesh, self.up)?;
        let grid = self.grid(mesh, &frame)?;
        let placed: Vec<[f64; 3]> = mesh.vertices().iter().map(|p| frame.to_plan(*p)).collect();
        let corners = mesh.triangles().iter().map(|t| t.map(|v| placed[v as usize]));
        let Layers { mut top, covered, layered } = cover(&grid, corners)?;
        if covered == 0 {
            let rule = "1 or more: the mesh is seen edge on, or finer than the step";
            return Err(RangeError::new("nodes covered by the mesh", 0.0, "", rule));
        }
        let on: Vec<bool> = top.iter().map(|z| z.is_finite()).collect();
        let (facing_away_share, steep_share) = slopes(mesh, &frame);
        let (outline, outline_source, slits) = outline(mesh, &placed, &grid, &on, layered)?;
        extend(grid.count, &mut top);
        let heights = HeightMap::new(grid.origin, grid.step, grid.count, top, outline)?;
        let mut out = MeshPanel {
            heights,
            frame,
            covered_nodes: covered,
            layered_nodes: layered,
            facing_away_share,
            steep_share,
            outline_source,
            slits,
            notes: Vec::new(),
        };
        out.notes = notes(&out);
        Ok(out)
    }

    fn grid(&self, mesh: &TriangleMesh, frame: &PlanFrame) -> Result<Grid, RangeError> {
        let mut size = (0.0_f64, 0.0_f64);
        for v in mesh.triangles().iter().flatten() {
            let p = frame.to_plan(mesh.vertices()[*v as usize]);
            size = (size.0.max(p[0]), size.1.max(p[1]));
        }
        let narrow = size.0.min(size.1);
        if narrow < 2.0 * self.step {
            let allowed =
                format!("at least two steps of {} mm: is the unit right, and which way is up?", self.step * 1e3);
            return Err(RangeError::new("narrow side of the plan", narrow * 1e3, "mm", allowed));
        }
        let count = |l: f64| (l / self.step - 1e-6).ceil() + 1.0 + 2.0 * MARGIN as f64;
        let (nx, ny) = (count(size.0), count(size.1));
        if nx * ny > MAX_NODES as f64 {
            let allowed = format!(
                "at most {MAX_NODES}: a plan of {:.0} x {:.0} mm needs a step of {:.2} mm or more",
                size.0 * 1e3,
                size.1 * 1e3,
                (size.0 * size.1 / MAX_NODES as f64).sqrt() * 1e3
            );
            return Err(RangeError::new("height map nodes", nx * ny, "", allowed));
        }
        let off = -(MARGIN as f64) * self.step;
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // positive and bounded above
        Ok(Grid { origin: (off, off), step: self.step, count: (nx as usize, ny as usize) })
    }
}

/// Shares of the area that face away and that are steep.
fn slopes(mesh: &TriangleMesh, frame: &PlanFrame) -> (f64, f64) {
    let up = frame.rotation()[2];
    let least = Angle::from_deg(STEEP_DEG).rad().cos();
    let (mut all, mut away, mut steep) = (0.0, 0.0, 0.0);
    for t in 0..mesh.triangles().len() {
        let a = mesh.area_vector(t);
        let (area, rise) = (norm(a), dot(a, up));
        all += area;
        if rise < 0.0 {
            away += area;
        } else if rise < least * area {
            steep += area;
        }
    }
    if all > 0.0 { (away / all, steep / all) } else { (0.0, 0.0) }
}

type Found = (Outline, OutlineSource, usize);

/// The mesh's boundary where it tells the covered nodes from the others, else their border.
fn outline(
    mesh: &TriangleMesh,
    placed: &[[f64; 3]],
    grid: &Grid,
    on: &[bool],
    layered: usize,
) -> Result<Found, RangeError> {
    let edges = EdgeTable::new(mesh, 0);
    let loops = edges.loops(mesh);
    if layered == 0 && edges.crowded.0 == 0 && !loops.is_empty() && loops.iter().all(|l| l.closed) {
        let mut kept = Vec::new();
        let mut slits = 0;
        for l in &loops {
            let plan: Vec<(f64, f64)> = l.vertices.iter().map(|v| placed[*v as usize]).map(|p| (p[0], p[1])).collect();
            let plan = straightened(&plan, STRAIGHT);
            let wide = 2.0 * signed_area(&plan).abs();
            if plan.len() < 3 || wide <= SLIT * grid.step * length(&plan) {
                slits += 1;
            } else {
                kept.push(plan);
            }
        }
        let corners: usize = kept.iter().map(Vec::len).sum();
        if !kept.is_empty() && corners <= MAX_CORNERS && agrees(grid, on, &kept) {
            return Ok((Outline::new(kept)?, OutlineSource::MeshBoundary, slits));
        }
    }
    Ok((Outline::new(around(grid, on, 0.5))?, OutlineSource::CoveredNodes, 0))
}

/// Whether the loops hold the nodes that are covered, but for nodes right at the border.
fn agrees(grid: &Grid, on: &[bool], loops: &[Vec<(f64, f64)>]) -> bool {
    let nx = grid.count.0;
    let held = inside(grid, loops);
    held.iter().zip(on).enumerate().all(|(n, (held, is))| {
        // The grid's rim is never covered, so every covered node has four neighbours.
        let rim = n % nx == 0 || n % nx == nx - 1 || n < nx || n + nx >= on.len();
        held == is || (!rim && [n - 1, n + 1, n - nx, n + nx].iter().any(|m| on[*m] != *is))
    })
}

fn notes(p: &MeshPanel) -> Vec<String> {
    let mut out = Vec::new();
    if p.layered_nodes > 0 {
        out.push(format!(
            "{} of {} nodes are covered by more than one layer: the uppermost is taken",
            p.layered_nodes, p.covered_nodes
        ));
    }
    if p.facing_away_share > 0.0 {
        out.push(format!(
            "{:.2} % of the mesh's area faces away from up: it is turned under, or its corners run the wrong way",
            100.0 * p.facing_away_share
        ));
    }
    if p.steep_share > 0.0 {
        out.push(format!(
            "{:.2} % of the mesh's area is steeper than {STEEP_DEG}°: heights over a plan hold it poorly",
            100.0 * p.steep_share
        ));
    }
    if p.outline_source == OutlineSource::CoveredNodes {
        out.push(format!(
            "the mesh is not a single sheet seen from above: free edges are those of the covered nodes, within half a step of {} mm",
            p.heights.step() * 1e3
        ));
    }
    if p.slits > 0 {
        out.push(format!("{} hole(s) narrower than a hundredth of a step are not taken as free edges", p.slits));
    }
    out
}
