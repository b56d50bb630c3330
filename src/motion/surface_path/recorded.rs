//! Paths from files: a polyline of one's own, and a hand's recorded way.
//!
//! Both are taken as they are: nothing keeps them off tape or out of the inset, only off the ground
//! beyond the panel's edges. [`PathReport::length_off_work`](super::PathReport) says how far they ran
//! where nothing is to be worked.

use super::ground::{Ground, OPEN, between};
use super::lines::refined;
use super::table::{Row, Table};
use super::{MAX_WAYPOINTS, PathError, SurfaceLine, SurfacePath, SurfacePathOptions, Waypoint};
use crate::equipment::within;
use crate::panel::Surface;

/// What holds along a path from a file where it does not say otherwise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Steady {
    /// Feed along the surface [m/s] (0.1 mm/s to 10 m/s).
    pub feed: f64,
    /// The step's force, to which the file's forces are held \[N\] (0.1 N to 1 kN).
    pub force: f64,
}

impl Steady {
    fn check(&self) -> Result<(), PathError> {
        within("feed_mm_s", self.feed * 1e3, 0.1, 10_000.0, "mm/s")?;
        within("force_n", self.force, 0.1, 1000.0, "N")?;
        Ok(())
    }
}

const PLACE: f64 = 1e6; // 1 km in mm
const FORCE: f64 = 1e4;

/// A place on the way and the distance gone to it.
type Place = ((f64, f64), f64);

/// A row as a place with what holds there.
struct Stop {
    at: (f64, f64),
    force_share: f64,
}

/// The place of a row, refused where the pad is on and off the panel.
fn stop(row: &Row<'_>, surface: &Surface, columns: (usize, usize, usize), force: f64) -> Result<Stop, PathError> {
    let x = row.number(columns.0, -PLACE, PLACE)?.unwrap_or_default();
    let y = row.number(columns.1, -PLACE, PLACE)?.unwrap_or_default();
    let at = (x * 1e-3, y * 1e-3);
    let force_share = row.number(columns.2, 0.0, FORCE)?.map_or(1.0, |f| f / force);
    if force_share > 0.0 && surface.heights().edge_distance_at(at.0, at.1) < -1e-6 {
        let (low, high) = surface.heights().outline().bounds();
        let allowed = format!(
            "a place on the panel, which lies within x {:.1} to {:.1} mm and y {:.1} to {:.1} mm",
            low.0 * 1e3,
            high.0 * 1e3,
            low.1 * 1e3,
            high.1 * 1e3
        );
        return Err(row.whole(&format!("x {x} mm, y {y} mm"), allowed));
    }
    Ok(Stop { at, force_share })
}

struct Writer<'a> {
    ground: Ground<'a>,
    distance: f64,
    waypoints: Vec<Waypoint>,
    lines: Vec<SurfaceLine>,
    lifts: usize,
}

impl<'a> Writer<'a> {
    fn new(surface: &'a Surface, options: &SurfacePathOptions) -> Self {
        Self {
            ground: Ground { surface, sides: OPEN, inset: 0.0 },
            distance: options.waypoint_distance,
            waypoints: Vec::new(),
            lines: Vec::new(),
            lifts: 0,
        }
    }

    fn push(&mut self, w: Waypoint) -> Result<(), PathError> {
        if self.waypoints.len() >= MAX_WAYPOINTS {
            return Err(PathError::TooManyWaypoints { allowed: MAX_WAYPOINTS });
        }
        self.waypoints.push(w);
        Ok(())
    }

    /// Places from `a` to `b` on the surface, `b` included, with the distance gone at each.
    fn places(&self, a: &Stop, b: &Stop, row: &Row<'_>) -> Result<Vec<Place>, PathError> {
        let on = a.force_share > 0.0 && b.force_share > 0.0;
        if !on {
            return Ok(vec![(b.at, self.ground.length(a.at, b.at))]);
        }
        let fine = refined(&[a.at, b.at], 0.2 * self.distance);
        let rough: f64 = fine.windows(2).map(|w| self.ground.length(w[0], w[1])).sum();
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped
        let pieces = ((rough / self.distance - 1e-9).ceil().clamp(1.0, 2.0 * MAX_WAYPOINTS as f64)) as usize;
        // Even in plan within one straight piece, and so finer than asked for where it climbs unevenly.
        let longest = fine.windows(2).map(|w| self.ground.length(w[0], w[1])).fold(0.0, f64::max);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped
        let pieces = pieces.max(
            ((longest * (fine.len() - 1) as f64 / self.distance - 1e-9).ceil().clamp(1.0, 2.0 * MAX_WAYPOINTS as f64))
                as usize,
        );
        let mut out = Vec::with_capacity(pieces.min(MAX_WAYPOINTS));
        let (mut at, mut gone) = (a.at, 0.0);
        for i in 1..=pieces {
            let p = if i == pieces { b.at } else { between(a.at, b.at, i as f64 / pieces as f64) };
            if self.ground.surface.heights().edge_distance_at(p.0, p.1) < -1e-6 {
                let value = format!("the way leaves the panel at x {:.1} mm, y {:.1} mm", p.0 * 1e3, p.1 * 1e3);
                return Err(row.whole(&value, "a way from the row before that stays on the panel".into()));
            }
            if out.len() > MAX_WAYPOINTS {
                return Err(PathError::TooManyWaypoints { allowed: MAX_WAYPOINTS });
            }
            gone += self.ground.length(at, p);
            at = p;
            out.push((p, gone));
        }
        Ok(out)
    }

    /// The piece from the last waypoint to `b`; `time` gives the time gone at a share of its length.
    fn piece(
        &mut self,
        a: &Stop,
        b: &Stop,
        places: &[Place],
        pass: usize,
        time: impl Fn(f64) -> f64,
    ) -> Result<(), PathError> {
        let on = a.force_share > 0.0 && b.force_share > 0.0;
        let start = self.waypoints.last().map_or(0.0, |w| w.time_s);
        let whole = places.last().map_or(0.0, |p| p.1);
        for (i, (at, gone)) in places.iter().enumerate() {
            let share = if whole > 0.0 { gone / whole } else { (i + 1) as f64 / places.len() as f64 };
            let force_share = a.force_share + share * (b.force_share - a.force_share);
            self.push(Waypoint { at: *at, time_s: start + time(share), force_share, pass })?;
        }
        if on {
            if self.lines.last().is_none_or(|l| l.points.is_empty() || l.pass != pass) {
                self.open(a.at, pass);
            }
            if let Some(line) = self.lines.last_mut() {
                line.points.extend(places.iter().map(|p| p.0));
            }
        } else {
            self.lifts += usize::from(a.force_share > 0.0);
            // An empty line marks that the pad is off.
            if self.lines.last().is_some_and(|l| !l.points.is_empty()) {
                self.lines.push(SurfaceLine { points: Vec::new(), pass });
            }
        }
        Ok(())
    }

    fn open(&mut self, at: (f64, f64), pass: usize) {
        self.lines.retain(|l| !l.points.is_empty());
        self.lines.push(SurfaceLine { points: vec![at], pass });
    }

    fn done(mut self) -> SurfacePath {
        self.lines.retain(|l| !l.points.is_empty());
        SurfacePath::finish(self.ground.surface, self.waypoints, self.lines, self.lifts, Vec::new(), Vec::new())
    }
}

impl SurfacePath {
    /// A polyline from the text of a file with the header `x_mm,y_mm[,feed_mm_s][,force_n][,pass]`.
    ///
    /// Feed and force hold at a row and run linearly over the length to the next; the pad is off on both
    /// sides of a row with force 0. Passes count from 1 and do not fall. `file` names the file in errors.
    ///
    /// ```text
    /// t = (L/f0) ln(1 + x)/x,   x = f1/f0 − 1      from feed f0 to f1 [m/s] over a length L [m]
    /// ```
    ///
    /// # Errors
    /// A header or cell that cannot be used (with its line), a row with the pad on that is off the
    /// panel or reached across a gap in it, two rows running at one place, fewer than 2 rows or more than
    /// [`MAX_ROWS`](super::MAX_ROWS), more than [`MAX_WAYPOINTS`](super::MAX_WAYPOINTS).
    ///
    /// # Example
    /// ```
    /// use trochoid::motion::{Steady, SurfacePath, SurfacePathOptions};
    /// use trochoid::panel::{HeightMap, Surface};
    /// # fn main() -> Result<(), Box<dyn std::error::Error>> {
    /// let flat = Surface::new(HeightMap::from_function((0.0, 0.0), (0.4, 0.3), 0.01, |_, _| 0.0)?);
    /// let (steady, options) = (Steady { feed: 0.04, force: 35.0 }, SurfacePathOptions::default());
    /// // From 40 to 80 mm/s over 200 mm: (0.2/0.04) ln 2 = 3.4657 s.
    /// let text = "x_mm,y_mm,feed_mm_s\n100,150,40\n300,150,80\n";
    /// let path = SurfacePath::from_polyline_csv(&flat, "way.csv", text, steady, &options)?;
    /// assert!((path.time() - 3.4657).abs() < 5e-5);
    /// # Ok(())
    /// # }
    /// ```
    pub fn from_polyline_csv(
        surface: &Surface,
        file: &str,
        text: &str,
        steady: Steady,
        options: &SurfacePathOptions,
    ) -> Result<Self, PathError> {
        steady.check()?;
        options.check()?;
        let table = Table::read(file, text, &["x_mm", "y_mm", "feed_mm_s", "force_n", "pass"], 2)?;
        let mut out = Writer::new(surface, options);
        let mut last: Option<(Stop, f64, usize)> = None;
        for i in 0..table.len() {
            let row = table.row(i)?;
            let here = stop(&row, surface, (0, 1, 3), steady.force)?;
            let feed = row.number(2, 0.1, 1e4)?.map_or(steady.feed, |f| f * 1e-3);
            let pass = match row.number(4, 1.0, 1000.0)? {
                #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 1 to 1000
                Some(p) if p.fract().abs() < 1e-12 => p as usize - 1,
                Some(_) => return Err(row.wrong(4, "a whole number from 1 to 1000".into())),
                None => 0,
            };
            let Some((before, from_feed, from_pass)) = last else {
                out.push(Waypoint { at: here.at, time_s: 0.0, force_share: here.force_share, pass })?;
                last = Some((here, feed, pass));
                continue;
            };
            if pass < from_pass {
                return Err(row.wrong(4, format!("{} or more: passes do not fall", from_pass + 1)));
            }
            if super::ground::distance(before.at, here.at) < 1e-9 {
                let value = format!("x {} mm, y {} mm", here.at.0 * 1e3, here.at.1 * 1e3);
                return Err(row.whole(&value, "another place than the row before".into()));
            }
            let places = out.places(&before, &here, &row)?;
            let whole = places.last().map_or(0.0, |p| p.1);
            // Feed linear in the length: the time is the integral of its inverse.
            let x = feed / from_feed - 1.0;
            let time = |share: f64| {
                let stretch = if (x * share).abs() < 1e-9 { 1.0 } else { (x * share).ln_1p() / (x * share) };
                whole / from_feed * share * stretch
            };
            out.piece(&before, &here, &places, pass, time)?;
            last = Some((here, feed, pass));
        }
        Ok(out.done())
    }

    /// A recorded way from the text of a file with the header `time_s,x_mm,y_mm[,force_n]`.
    ///
    /// The pad runs evenly from row to row; it may stand still. Times start anywhere and rise strictly.
    /// Without forces the pad is on throughout at `force`, the step's \[N\].
    ///
    /// # Errors
    /// As [`SurfacePath::from_polyline_csv`], and a time that does not rise or a hand faster than 10 m/s.
    ///
    /// # Example
    /// ```
    /// use trochoid::motion::{SurfacePath, SurfacePathOptions};
    /// use trochoid::panel::{HeightMap, Surface};
    /// # fn main() -> Result<(), Box<dyn std::error::Error>> {
    /// let flat = Surface::new(HeightMap::from_function((0.0, 0.0), (0.4, 0.3), 0.01, |_, _| 0.0)?);
    /// // 100 mm in two seconds, then a second on the spot.
    /// let text = "time_s,x_mm,y_mm\n3,100,150\n5,200,150\n6,200,150\n";
    /// let path = SurfacePath::from_recorded_csv(&flat, "hand.csv", text, 35.0, &SurfacePathOptions::default())?;
    /// assert!((path.time() - 3.0).abs() < 1e-12 && (path.length() - 0.1).abs() < 1e-12);
    /// # Ok(())
    /// # }
    /// ```
    pub fn from_recorded_csv(
        surface: &Surface,
        file: &str,
        text: &str,
        force: f64,
        options: &SurfacePathOptions,
    ) -> Result<Self, PathError> {
        within("force_n", force, 0.1, 1000.0, "N")?;
        options.check()?;
        let table = Table::read(file, text, &["time_s", "x_mm", "y_mm", "force_n"], 3)?;
        let mut out = Writer::new(surface, options);
        let mut last: Option<(Stop, f64)> = None;
        for i in 0..table.len() {
            let row = table.row(i)?;
            let time = row.number(0, -1e6, 1e6)?.unwrap_or_default();
            let here = stop(&row, surface, (1, 2, 3), force)?;
            let Some((before, then)) = last else {
                out.push(Waypoint { at: here.at, time_s: 0.0, force_share: here.force_share, pass: 0 })?;
                last = Some((here, time));
                continue;
            };
            let took = time - then;
            // A nanosecond is below any clock of a recording.
            if took < 1e-9 {
                return Err(row.wrong(0, format!("above {then}: times rise strictly")));
            }
            let places = out.places(&before, &here, &row)?;
            let speed = places.last().map_or(0.0, |p| p.1) / took;
            if speed > 10.0 {
                let allowed = format!("later: the hand would run at {speed:.1} m/s, at most 10 m/s");
                return Err(row.wrong(0, allowed));
            }
            out.piece(&before, &here, &places, 0, |share| took * share)?;
            last = Some((here, time));
        }
        Ok(out.done())
    }
}
