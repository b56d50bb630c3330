//! The display list as PNG bytes.
//!
//! Drawn through the plotters bitmap backend at three times the size and averaged
//! down, because its fills are not smoothed; in bands of rows, so that a large
//! page needs no large buffer.

use plotters_backend::{BackendCoord, DrawingBackend};
use plotters_bitmap::BitMapBackend;
use plotters_bitmap::bitmap_pixel::RGBPixel;

use super::canvas::{Area, Bitmap, Canvas, Item, Lettering, Photo, Place, circle, clip_polygon};
use super::svg::{Ink, Script};
use super::theme::Colour;
use super::{MAX_PIXELS, PlotError, SCALES, check_size};

/// Samples of a pixel in each direction.
const SAMPLES: usize = 3;
/// Bytes of one band of rows.
const BAND_BYTES: usize = 24_000_000;
/// Samples beyond a band that shapes are cut at.
const BEYOND: f64 = 8.0;

fn failed(e: &dyn std::fmt::Display) -> PlotError {
    PlotError::Backend(e.to_string())
}

/// Renders and encodes.
pub(crate) fn png_bytes(canvas: &Canvas, scale: f64) -> Result<Vec<u8>, PlotError> {
    if !(scale >= SCALES.0 && scale <= SCALES.1) {
        return Err(PlotError::Range {
            what: "PNG scale".into(),
            value: scale,
            allowed: format!("from {} to {}", SCALES.0, SCALES.1),
        });
    }
    let (width, height) = ((canvas.width * scale).round(), (canvas.height * scale).round());
    check_size("pixels of a PNG", width * height, MAX_PIXELS)?;
    let size = ((width as usize).max(1), (height as usize).max(1));
    let band = (BAND_BYTES / (size.0 * 3 * SAMPLES * SAMPLES)).max(8);
    let pixels = rows_in_bands(canvas, size, scale, band)?;
    encode(size.0, size.1, png::ColorType::Rgb, None, &pixels)
}

/// RGB pixels of a picture of `size`, drawn `band` rows at a time.
pub(crate) fn rows_in_bands(
    canvas: &Canvas,
    (columns, rows): (usize, usize),
    scale: f64,
    band: usize,
) -> Result<Vec<u8>, PlotError> {
    let fine_columns = columns * SAMPLES;
    let mut pixels = Vec::with_capacity(columns * rows * 3);
    let mut buffer = Vec::new();
    for first in (0..rows).step_by(band.max(1)) {
        let count = band.max(1).min(rows - first);
        buffer.clear();
        buffer.resize(fine_columns * count * SAMPLES * 3, 255);
        let size = (fine_columns as u32, (count * SAMPLES) as u32);
        {
            let backend =
                BitMapBackend::<RGBPixel>::with_buffer_and_format(&mut buffer, size).map_err(|e| failed(&e))?;
            let mut brush = Brush {
                backend,
                factor: scale * SAMPLES as f64,
                shift: (first * SAMPLES) as f64,
                view: Area::new(-BEYOND, -BEYOND, f64::from(size.0) + BEYOND, f64::from(size.1) + BEYOND),
            };
            for item in &canvas.items {
                brush.paint(item, canvas)?;
            }
            brush.backend.present().map_err(|e| failed(&e))?;
        }
        average(&buffer, columns, count, &mut pixels);
    }
    Ok(pixels)
}

/// Averages blocks of samples into pixels.
fn average(fine: &[u8], columns: usize, rows: usize, pixels: &mut Vec<u8>) {
    let stride = columns * SAMPLES * 3;
    let share = (SAMPLES * SAMPLES) as u32;
    for row in 0..rows {
        for column in 0..columns {
            for channel in 0..3 {
                let mut sum = share / 2;
                for y in 0..SAMPLES {
                    for x in 0..SAMPLES {
                        let at = (row * SAMPLES + y) * stride + (column * SAMPLES + x) * 3;
                        sum += u32::from(fine[at + channel]);
                    }
                }
                pixels.push((sum / share) as u8);
            }
        }
    }
}

struct Brush<'a> {
    backend: BitMapBackend<'a, RGBPixel>,
    factor: f64,
    shift: f64,
    view: Area,
}

impl Brush<'_> {
    fn fine(&self, p: Place) -> Place {
        (p.0 * self.factor, p.1 * self.factor - self.shift)
    }

    fn fine_area(&self, area: &Area) -> Area {
        let (left, top) = self.fine((area.left, area.top));
        let (right, bottom) = self.fine((area.right, area.bottom));
        Area::new(left, top, right, bottom)
    }

    fn paint(&mut self, item: &Item, canvas: &Canvas) -> Result<(), PlotError> {
        match item {
            Item::Line { points, width, colour } => {
                let ink = Ink { colour: *colour, alpha: 1.0, width: 1 };
                self.line(points, width * self.factor, &ink)
            }
            Item::Fill { points, colour, alpha } => {
                let ink = Ink { colour: *colour, alpha: *alpha, width: 1 };
                let points: Vec<Place> = points.iter().map(|p| self.fine(*p)).collect();
                self.polygon(&points, &ink)
            }
            Item::Block { area, colour, alpha } => {
                let area = self.fine_area(area);
                if !area.overlaps(&self.view) {
                    return Ok(());
                }
                let ink = Ink { colour: *colour, alpha: *alpha, width: 1 };
                self.backend
                    .draw_rect(whole((area.left, area.top)), whole((area.right, area.bottom)), &ink, true)
                    .map_err(|e| failed(&e))
            }
            Item::Text { place, text, lettering } => self.text(*place, text, *lettering, canvas),
            Item::Picture { area, bitmap } => {
                let area = self.fine_area(area);
                let colour = |at: usize| bitmap.palette[usize::from(bitmap.cells[at])];
                self.picture(&area, (bitmap.columns, bitmap.rows), colour)
            }
            Item::Photo { area, photo } => {
                let area = self.fine_area(area);
                let colour = |at: usize| (photo.pixels[3 * at], photo.pixels[3 * at + 1], photo.pixels[3 * at + 2]);
                self.picture(&area, (photo.columns, photo.rows), colour)
            }
        }
    }

    fn text(&mut self, place: Place, text: &str, lettering: Lettering, canvas: &Canvas) -> Result<(), PlotError> {
        let place = self.fine(place);
        let em = lettering.em * self.factor;
        let reach = if lettering.upward { canvas.fonts.width(text, em, lettering.bold) } else { 0.0 } + 2.0 * em;
        if place.1 + reach < self.view.top || place.1 - reach > self.view.bottom {
            return Ok(());
        }
        let script = Script { lettering: Lettering { em, ..lettering }, fonts: canvas.fonts };
        self.backend.draw_text(text, &script, whole(place)).map_err(|e| failed(&e))
    }

    /// One quadrilateral a segment and a disc a joint: the backend's own wide
    /// lines leave holes where a line crosses itself.
    fn line(&mut self, points: &[Place], width: f64, ink: &Ink) -> Result<(), PlotError> {
        // The backend fills to the last pixel inclusive, which widens by about one.
        let half = (0.5 * (width - 0.8)).max(0.4);
        for (i, pair) in points.windows(2).enumerate() {
            let (a, b) = (self.fine(pair[0]), self.fine(pair[1]));
            let reach = half + 2.0;
            if a.1.max(b.1) + reach < self.view.top || a.1.min(b.1) - reach > self.view.bottom {
                continue;
            }
            let length = (b.0 - a.0).hypot(b.1 - a.1);
            if length < 1e-9 {
                continue;
            }
            let (nx, ny) = (-(b.1 - a.1) / length * half, (b.0 - a.0) / length * half);
            self.polygon(
                &[(a.0 + nx, a.1 + ny), (b.0 + nx, b.1 + ny), (b.0 - nx, b.1 - ny), (a.0 - nx, a.1 - ny)],
                ink,
            )?;
            if i > 0 && half > 1.2 {
                self.polygon(&circle(a, half), ink)?;
            }
        }
        Ok(())
    }

    fn polygon(&mut self, points: &[Place], ink: &Ink) -> Result<(), PlotError> {
        let shape = clip_polygon(points, self.view);
        if shape.len() < 3 {
            return Ok(());
        }
        self.backend.fill_polygon(shape.into_iter().map(whole), ink).map_err(|e| failed(&e))
    }

    /// Nearest cell for each sample, painted in runs of one colour.
    fn picture(
        &mut self,
        area: &Area,
        (columns, rows): (usize, usize),
        colour: impl Fn(usize) -> Colour,
    ) -> Result<(), PlotError> {
        let (left, right) = (area.left.round(), area.right.round());
        let (top, bottom) = (area.top.round(), area.bottom.round());
        let size = self.backend.get_size();
        let first = top.max(0.0) as i32;
        let last = bottom.min(f64::from(size.1)) as i32;
        let edge = |c: usize| (left + (right - left) * c as f64 / columns as f64).round() as i32;
        for y in first..last {
            let row = (f64::from(y) + 0.5 - top) / (bottom - top) * rows as f64;
            let row = (row.max(0.0) as usize).min(rows - 1);
            let mut column = 0;
            while column < columns {
                let run = colour(row * columns + column);
                let start = column;
                while column < columns && colour(row * columns + column) == run {
                    column += 1;
                }
                let ink = Ink { colour: run, alpha: 1.0, width: 1 };
                self.backend.draw_rect((edge(start), y), (edge(column), y + 1), &ink, true).map_err(|e| failed(&e))?;
            }
        }
        Ok(())
    }
}

fn whole(p: Place) -> BackendCoord {
    (p.0.round() as i32, p.1.round() as i32)
}

/// A palette picture as PNG bytes.
pub(crate) fn palette_png(bitmap: &Bitmap) -> Result<Vec<u8>, PlotError> {
    let palette: Vec<u8> = bitmap.palette.iter().flat_map(|c| [c.0, c.1, c.2]).collect();
    encode(bitmap.columns, bitmap.rows, png::ColorType::Indexed, Some(palette), &bitmap.cells)
}

/// A picture in full colour as PNG bytes.
pub(crate) fn photo_png(photo: &Photo) -> Result<Vec<u8>, PlotError> {
    encode(photo.columns, photo.rows, png::ColorType::Rgb, None, &photo.pixels)
}

fn encode(
    columns: usize,
    rows: usize,
    colour: png::ColorType,
    palette: Option<Vec<u8>>,
    data: &[u8],
) -> Result<Vec<u8>, PlotError> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, columns as u32, rows as u32);
    encoder.set_color(colour);
    encoder.set_depth(png::BitDepth::Eight);
    if let Some(palette) = palette {
        encoder.set_palette(palette);
    }
    let mut writer = encoder.write_header().map_err(|e| failed(&e))?;
    writer.write_image_data(data).map_err(|e| failed(&e))?;
    writer.finish().map_err(|e| failed(&e))?;
    Ok(bytes)
}
