//! Heights of a board from a photograph of its side: points that were clicked become readings.
//!
//! Marks of known distance and the floor line must lie in the plane of the board's near edge, because the map from the
//! picture is that of a plane. Lens distortion is not corrected. Where the picture has enough contrast, edges near the clicks
//! take the place of the clicks.

mod edge;
mod plane;

use overbend::curve::PlaneCurve;
use overbend::job::{Datum, Ends, LengthAlong, Origin, Reading, Readings, Smoothing, StationsAlong};
use overbend::numeric::robust_std_dev;
use overbend::rocker::measured::{Fit, FitOptions, fit};
use overbend::units::{Dimension, LengthUnit, MM_PER_INCH, Quantity, parse_quantity, plain};
use serde::Deserialize;
use serde_json::{Value, json};

use plane::{Plane, Point, distance, minus};

/// A photograph with what was clicked in it, in pixels from its upper left corner, y down.
#[derive(Debug, Deserialize)]
pub struct Photo {
    /// Two marks, or the four corners of a rectangle in the order in which one walks around it.
    marks: Vec<Point>,
    /// Distance of the first two marks.
    distance: String,
    /// Distance of the second and the third of four marks.
    side: String,
    /// The straight line that heights are counted from, two points at least.
    floor: Vec<Point>,
    /// The base from the tail's end to the tip's, four points at least.
    base: Vec<Point>,
    /// Length of the board along its base, mm, as the document has it: stations are stretched to it.
    length_mm: f64,
    /// `mm` or `in`.
    unit: String,
    /// Brightness, 0 to 255, along the lines that an earlier answer asked for under `across`, in the same order; empty
    /// where the clicks themselves count.
    #[serde(default)]
    brightness: Vec<Vec<f64>>,
}

/// Lines across the base and across the floor line on which an edge is looked for.
const BASE_LINES: usize = 80;
const FLOOR_LINES: usize = 120;
/// The floor line is traced where the base is so many pixels away, beyond the reach of the search; and on so many lines at least.
const CLEAR_PX: f64 = 1.5 * edge::REACH_PX as f64;
const FEWEST_FLOOR_LINES: usize = 8;
/// Readings that come out at most: what a careful shop reads by hand.
const MOST_READINGS: usize = 15;
/// Standard error of a click, pixels (from experience, no source).
const CLICK_PX: f64 = 2.0;
/// Standard error that all of a traced edge has alike, pixels: blur and the search give a tenth in computed pictures, a real
/// edge is rounder (from experience, no source).
const EDGE_PX: f64 = 0.25;
/// Floor points further off the line than this many standard deviations are left out.
const STANDS_OUT: f64 = 3.0;
/// Most points of one kind.
const MOST_POINTS: usize = 500;
/// How much longer or shorter than in the document a board may come out, as a part of it; more is a wrong distance or end.
const OTHER_LENGTH: f64 = 0.02;
/// Fewest points of the base.
const FEWEST: usize = 4;

/// The readings with their error, or under `wrong` what is to be done first.
pub(crate) fn read(photo: &Photo) -> Value {
    readings(photo).unwrap_or_else(|wrong| json!({ "wrong": wrong }))
}

fn readings(photo: &Photo) -> Result<Value, String> {
    let plane = plane_of(photo)?;
    let clicked = Seen::new(&plane, &photo.floor, &photo.base)?;
    let base_px = clicked.base_px(BASE_LINES);
    let mut across = lines_across(&base_px);
    // Beside the board's contact the search would take its base for the floor.
    let clear = |[x, y, ..]: &[f64; 4]| base_px.iter().all(|p| distance(*p, [*x, *y]) > CLEAR_PX);
    across.extend(lines_across(&clicked.floor_px(FLOOR_LINES)).into_iter().filter(clear));
    let (base, floor) = traced(photo, &across);
    let ends = (photo.base[0], photo.base[photo.base.len() - 1]);
    let seen = match (&base, &floor) {
        (None, None) => clicked,
        _ => Seen::between(&plane, floor.as_ref().unwrap_or(&photo.floor), base.as_ref().unwrap_or(&photo.base), ends)?,
    };
    let mut answer = seen.in_words(photo, floor.is_some());
    answer["across"] = json!(across);
    answer["reach"] = json!(edge::REACH_PX);
    answer["traced"] = json!({ "base": base.is_some(), "floor": floor.is_some() });
    Ok(answer)
}

fn plane_of(photo: &Photo) -> Result<Plane, String> {
    let all = [&photo.marks, &photo.floor, &photo.base];
    if all.iter().any(|points| points.len() > MOST_POINTS || points.iter().flatten().any(|v| !v.is_finite()))
        || photo.length_mm.is_nan()
        || photo.length_mm <= 0.0
    {
        return Err("These points cannot be used. Take them out and click again.".to_owned());
    }
    let bare = unit_of(photo);
    let length = |typed: &str, of: &str| match parse_quantity(typed, Dimension::Length, bare) {
        Ok(mm) if mm > 0.0 => Ok(mm),
        _ => Err(format!("Type the distance of {of} ({}).", Dimension::Length.units())),
    };
    match photo.marks[..] {
        [a, b] => Plane::of_two([a, b], length(&photo.distance, "the two marks")?)
            .ok_or_else(|| "The two marks lie on each other. Click marks that are far apart.".to_owned()),
        [a, b, c, d] => {
            let sides = (length(&photo.distance, "marks 1 and 2")?, length(&photo.side, "marks 2 and 3")?);
            Plane::of_four([a, b, c, d], sides).ok_or_else(|| {
                "The four marks are no rectangle seen from the side. Click its corners in the order in which one walks \
                 around it."
                    .to_owned()
            })
        }
        _ => Err("Click two marks whose distance you know, or the four corners of a rectangle.".to_owned()),
    }
}

fn unit_of(photo: &Photo) -> LengthUnit {
    if photo.unit == "in" { LengthUnit::Inch { denominator: 64 } } else { LengthUnit::Millimetre }
}

/// Points of base and floor on their edges; `None` for one whose edge is not clear.
fn traced(photo: &Photo, across: &[[f64; 4]]) -> (Option<Vec<Point>>, Option<Vec<Point>>) {
    if photo.brightness.len() != across.len() || photo.brightness.iter().flatten().any(|v| !v.is_finite()) {
        return (None, None);
    }
    let of = |range: std::ops::Range<usize>| {
        let offsets = edge::edges(&photo.brightness[range.clone()])?;
        let moved = across[range].iter().zip(offsets).filter_map(|([x, y, nx, ny], offset)| {
            let offset = offset?;
            Some([x + offset * nx, y + offset * ny])
        });
        Some(moved.collect())
    };
    let lines = BASE_LINES.min(across.len());
    let enough = across.len() >= lines + FEWEST_FLOOR_LINES;
    (of(0..lines), if enough { of(lines..across.len()) } else { None })
}

/// Middles and directions of the lines across a path: x, y, and a unit vector, pixels.
fn lines_across(path: &[Point]) -> Vec<[f64; 4]> {
    let line = |i: usize| {
        let [dx, dy] = minus(path[(i + 1).min(path.len() - 1)], path[i.saturating_sub(1)]);
        let length = libm::hypot(dx, dy).max(f64::MIN_POSITIVE);
        [path[i][0], path[i][1], -dy / length, dx / length]
    };
    (0..path.len()).map(line).collect()
}

/// A board in the picture: coordinates along the floor line and above it, and the smooth curve through its base.
struct Seen {
    plane: Plane,
    /// The foot of the tail's end on the floor line, and unit vectors along the line and upward, mm in the plane.
    origin: Point,
    along: Point,
    up: Point,
    /// First and last point of the floor line, mm along it.
    floor_from_to_mm: (f64, f64),
    floor_points: usize,
    floor_scatter_mm: f64,
    fit: Fit,
}

impl Seen {
    fn new(plane: &Plane, floor: &[Point], base: &[Point]) -> Result<Self, String> {
        if floor.len() < 2 {
            return Err("Click the floor line at two places, far apart; more make it surer.".to_owned());
        }
        if base.len() < FEWEST {
            return Err(
                "Click along the base from the tail's end to the tip's end; about ten points are good.".to_owned()
            );
        }
        Self::between(plane, floor, base, (base[0], base[base.len() - 1]))
    }

    /// The board whose ends were clicked at `ends`, with a base through the points `base`.
    fn between(plane: &Plane, floor: &[Point], base: &[Point], ends: (Point, Point)) -> Result<Self, String> {
        let beyond = || "A point lies beyond the horizon of the four marks. Check the marks.".to_owned();
        let all =
            |points: &[Point]| points.iter().map(|p| plane.map(*p)).collect::<Option<Vec<Point>>>().ok_or_else(beyond);
        let (floor, base) = (all(floor)?, all(base)?);
        let ends = all(&[ends.0, ends.1])?;
        let (through, along, scatter_mm) = line(&floor, minus(ends[1], ends[0]))
            .ok_or_else(|| "The points of the floor line lie on each other. Click them far apart.".to_owned())?;
        let mut up = [-along[1], along[0]];
        let dot = |a: Point, b: Point| a[0] * b[0] + a[1] * b[1];
        if base.iter().map(|p| dot(minus(*p, through), up)).sum::<f64>() < 0.0 {
            up = [-up[0], -up[1]];
        }
        let from_mm = dot(minus(ends[0], through), along);
        let origin = [through[0] + from_mm * along[0], through[1] + from_mm * along[1]];
        let on_line = |p: &Point| [dot(minus(*p, origin), along), dot(minus(*p, origin), up)];
        let floor_x = floor.iter().map(|p| on_line(p)[0]);
        Ok(Self {
            plane: *plane,
            origin,
            along,
            up,
            floor_from_to_mm: (
                floor_x.clone().fold(f64::INFINITY, f64::min),
                floor_x.fold(f64::NEG_INFINITY, f64::max),
            ),
            floor_points: floor.len(),
            floor_scatter_mm: scatter_mm,
            fit: smooth(base.iter().map(on_line).collect(), distance(ends[0], ends[1]))?,
        })
    }

    /// The pixel of a point along the floor line and above it, mm.
    fn pixel(&self, [x, z]: Point) -> Option<Point> {
        let [(ox, ax, ux), (oy, ay, uy)] = [0, 1].map(|i| (self.origin[i], self.along[i], self.up[i]));
        self.plane.inverse().map([ox + x * ax + z * ux, oy + x * ay + z * uy])
    }

    /// Points of the smooth base, evenly spaced, away from its ends, as pixels.
    fn base_px(&self, count: usize) -> Vec<Point> {
        let (from, to) = self.fit.curve.range_mm();
        let start_x = self.fit.curve.at(from).point.x;
        let at = |i: usize| self.fit.curve.at(from + (to - from) * (i as f64 + 0.5) / count as f64).point;
        (0..count).filter_map(|i| self.pixel([at(i).x - start_x, at(i).y])).collect()
    }

    fn floor_px(&self, count: usize) -> Vec<Point> {
        let (from, to) = self.floor_from_to_mm;
        (0..count).filter_map(|i| self.pixel([from + (to - from) * (i as f64 + 0.5) / count as f64, 0.0])).collect()
    }

    /// Size of a pixel at the board's middle, mm.
    fn pixel_mm(&self) -> f64 {
        let middle = 0.5 * self.fit.curve.range_mm().1;
        let across = self.pixel([middle, 0.0]).zip(self.pixel([middle + 1.0, 0.0]));
        across.map_or(0.0, |(a, b)| 1.0 / distance(a, b))
    }

    /// Standard errors, mm: of a reading by itself, and of a height above the floor line.
    fn errors_mm(&self, photo: &Photo, floor_traced: bool, readings: usize) -> (f64, f64) {
        let click_mm = CLICK_PX * self.pixel_mm();
        let used = self.fit.rows.iter().filter(|r| r.used()).count().max(1);
        // So many points were averaged into one reading.
        let own = self.fit.error_mm * (readings as f64 / used as f64).sqrt();
        let known_mm = |typed: &str| parse_quantity(typed, Dimension::Length, unit_of(photo)).unwrap_or(f64::INFINITY);
        let side_mm = if photo.marks.len() == 4 { known_mm(&photo.side) } else { f64::INFINITY };
        let shortest_mm = known_mm(&photo.distance).min(side_mm);
        let scale = click_mm * 2.0_f64.sqrt() / shortest_mm * rms(self.fit.rows.iter().map(|r| r.fitted_mm));
        // Stations are counted from the click at the tail's end, and the base slopes.
        let station = click_mm * rms(self.fit.rows.iter().map(|r| libm::tan(self.fit.curve.at(r.s_mm).angle_rad)));
        let reading = libm::hypot(libm::hypot(libm::hypot(own, scale), station), EDGE_PX * self.pixel_mm());
        let point = if floor_traced { self.floor_scatter_mm } else { click_mm };
        // A straight line through n points has this mean error along them.
        let floor = point * (2.0 / self.floor_points as f64).sqrt();
        (reading, libm::hypot(reading, floor))
    }

    fn in_words(&self, photo: &Photo, floor_traced: bool) -> Value {
        let unit = unit_of(photo);
        let (divisor, places) = if photo.unit == "in" { (MM_PER_INCH, 4) } else { (1.0, 2) };
        let typed = |mm: f64| plain(mm / divisor, places);
        let (from, to) = self.fit.curve.range_mm();
        let as_stated = ((to - from) / photo.length_mm - 1.0).abs() <= OTHER_LENGTH;
        let length_mm = if as_stated { photo.length_mm } else { to - from };
        let shown = |mm: f64| Quantity::length(mm).text(unit);
        let caution = format!(
            "The document's board is {} long, this one {}: check the distance of the marks, and that the base was clicked \
             from end to end.",
            shown(photo.length_mm),
            shown(to - from)
        );
        let count = self.fit.rows.len().min(MOST_READINGS);
        let line = |i: usize| {
            let share = i as f64 / (count - 1) as f64;
            format!("{}, {}", typed(share * length_mm), typed(self.fit.curve.at(from + share * (to - from)).point.y))
        };
        let lines: Vec<String> = (0..count).map(line).collect();
        let (own_mm, height_mm) = self.errors_mm(photo, floor_traced, count);
        json!({
            "readings": lines.join("\n"),
            "error": typed(own_mm),
            "height_error": Quantity::fine(height_mm).text(unit),
            "length": shown(to - from),
            "caution": if as_stated { String::new() } else { caution },
            "curve": self.base_px(BASE_LINES),
            "line": self.floor_px(2),
        })
    }
}

/// Root mean square of at least one value.
fn rms(values: impl ExactSizeIterator<Item = f64>) -> f64 {
    let count = values.len() as f64;
    (values.map(|v| v * v).sum::<f64>() / count).sqrt()
}

/// A straight line through points, along `toward` as far as that goes: a point on it, its direction, and the scatter of the
/// points about it. Least squares, and again without the points that stand out.
fn line(points: &[Point], toward: Point) -> Option<(Point, Point, f64)> {
    let [dx, dy] = minus(*points.last()?, *points.first()?);
    let sense = if dx * toward[0] + dy * toward[1] < 0.0 { -1.0 } else { 1.0 };
    let length = libm::hypot(dx, dy);
    let mut used = points.to_vec();
    let mut along = [sense * dx / length, sense * dy / length];
    let mut through = points[0];
    let mut scatter = 0.0;
    for _ in 0..2 {
        let n = used.len() as f64;
        let mean = [0, 1].map(|i| used.iter().map(|p| p[i]).sum::<f64>() / n);
        let off = |p: &Point, along: Point| plane::cross(along, minus(*p, mean));
        let x = |p: &Point| (p[0] - mean[0]) * along[0] + (p[1] - mean[1]) * along[1];
        let slope =
            used.iter().map(|p| x(p) * off(p, along)).sum::<f64>() / used.iter().map(|p| x(p).powi(2)).sum::<f64>();
        let norm = libm::hypot(1.0, slope);
        along = [(along[0] - slope * along[1]) / norm, (along[1] + slope * along[0]) / norm];
        through = mean;
        scatter = robust_std_dev(&used.iter().map(|p| off(p, along)).collect::<Vec<_>>());
        let near = |p: &Point| off(p, along).abs() <= STANDS_OUT * scatter.max(1e-9);
        used = if used.len() > FEWEST { used.into_iter().filter(near).collect() } else { used };
    }
    [along[0], along[1], scatter].iter().all(|v| v.is_finite()).then_some((through, along, scatter))
}

/// The smoothest curve that agrees with points along the floor line and above it, between ends so far apart, mm.
fn smooth(mut points: Vec<Point>, length_mm: f64) -> Result<Fit, String> {
    points.sort_by(|a, b| a[0].total_cmp(&b[0]));
    let readings = Readings {
        readings: points.iter().map(|p| Reading { station_mm: p[0], height_mm: p[1] }).collect(),
        file: None,
        datum: Datum::Straightedge,
        along: StationsAlong::Datum,
        origin: Origin::Tail,
        error_mm: None,
        smoothing: Smoothing::Likelihood,
        excluded: Vec::new(),
    };
    let options =
        FitOptions { length_mm, length_along: LengthAlong::Straight, ends: Ends::Free, path: "photograph".to_owned() };
    fit(&readings, &options).map_err(|_| {
        "No smooth curve goes through the points of the base. Click along it from the tail's end to the tip's end, with no gap \
         longer than a quarter of it."
            .to_owned()
    })
}

#[cfg(test)]
mod tests;
