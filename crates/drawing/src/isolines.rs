//! A place seen from above, with its daily light as lines of equal light.

use std::fmt::Write;

use crate::contour::{Contour, Grid};
use crate::svg::{escape, num, safe_href};
use crate::width;

/// A line of equal light.
#[derive(Debug, Clone, Copy)]
pub struct Level<'a> {
    /// Its value, in the unit of the grid.
    pub value: f64,
    /// The value in words: "4".
    pub label: &'a str,
    /// What it means; makes the line heavy and stands along it: "enough to flower".
    pub meaning: Option<&'a str>,
}

/// A rectangle as seen from above \[cm\]: middle, width and depth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Above {
    /// Middle, from the left.
    pub x: f64,
    /// Middle, from the back.
    pub y: f64,
    /// Across.
    pub width: f64,
    /// From back to front.
    pub depth: f64,
}

/// A plant on the map.
#[derive(Debug, Clone, Copy)]
pub struct PlantMark<'a> {
    /// From the left \[cm\].
    pub x: f64,
    /// From the back \[cm\].
    pub y: f64,
    /// What stands in its circle.
    pub mark: &'a str,
    /// Its name, for a reader who rests on it.
    pub name: &'a str,
    /// Where it leads.
    pub href: &'a str,
}

/// What is drawn.
#[derive(Debug, Clone, Copy)]
pub struct LightMap<'a> {
    /// Width of the place \[cm, above 0\].
    pub width: f64,
    /// Depth of the place \[cm, above 0\].
    pub depth: f64,
    /// Light at its nodes.
    pub grid: Grid<'a>,
    /// The lines, the least first.
    pub levels: &'a [Level<'a>],
    /// Lamps over it.
    pub lamps: &'a [Above],
    /// Where a meter was held \[cm\].
    pub readings: &'a [(f64, f64)],
    /// Plants whose spot is known.
    pub plants: &'a [PlantMark<'a>],
}

/// The words of a map, in the reader's language.
#[derive(Debug, Clone, Copy)]
pub struct MapWords<'a> {
    /// Over the left end.
    pub left: &'a str,
    /// Over the middle; left out where there is no room.
    pub middle: &'a str,
    /// Over the right end.
    pub right: &'a str,
    /// The unit of the scale below.
    pub unit: &'a str,
    /// A sentence for screen readers.
    pub aria: &'a str,
    /// What distinguishes the names of its parts from those of other maps on the page.
    pub id: &'a str,
}

/// For which page a map is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Sheet {
    Wide,
    Narrow,
}

impl Sheet {
    const fn width(self) -> f64 {
        match self {
            Self::Wide => 1168.0,
            Self::Narrow => 328.0,
        }
    }

    /// No map is higher than this \[px\].
    const fn height(self) -> f64 {
        match self {
            Self::Wide => 440.0,
            Self::Narrow => 360.0,
        }
    }

    /// Radius of a plant's circle \[px\].
    const fn radius(self) -> f64 {
        match self {
            Self::Wide => 12.0,
            Self::Narrow => 9.5,
        }
    }
}

const TOP: f64 = 26.0;

struct Frame {
    sheet: Sheet,
    scale: f64,
    right: f64,
    bottom: f64,
}

/// A box that is taken \[px\]: left, top, right, bottom.
type Taken = [f64; 4];

impl Frame {
    fn new(map: &LightMap, sheet: Sheet) -> Self {
        let scale = ((sheet.width() - 2.0) / map.width).min(sheet.height() / map.depth);
        Self { sheet, scale, right: 1.0 + map.width * scale, bottom: TOP + map.depth * scale }
    }

    fn at(&self, (x, y): (f64, f64)) -> (f64, f64) {
        (1.0 + x * self.scale, TOP + y * self.scale)
    }

    /// A point of a line, from 0 to 1 both ways.
    fn of(&self, (x, y): (f64, f64)) -> (f64, f64) {
        (1.0 + x * (self.right - 1.0), TOP + y * (self.bottom - TOP))
    }

    fn holds(&self, [left, top, right, bottom]: Taken) -> bool {
        left >= 2.0 && right <= self.right - 1.0 && top >= TOP + 1.0 && bottom <= self.bottom - 1.0
    }
}

fn free(taken: &[Taken], [l, t, r, b]: Taken) -> bool {
    taken.iter().all(|o| r <= o[0] || l >= o[2] || b <= o[1] || t >= o[3])
}

fn around((x, y): (f64, f64), half_width: f64, half_height: f64) -> Taken {
    [x - half_width, y - half_height, x + half_width, y + half_height]
}

/// Draws the map for a wide page and for a phone.
#[must_use]
pub fn light_maps(map: &LightMap, words: &MapWords) -> String {
    let sound = map.grid.sound() && map.width > 0.0 && map.depth > 0.0;
    if !sound {
        return String::new();
    }
    let mut out = String::new();
    for sheet in [Sheet::Wide, Sheet::Narrow] {
        draw(&mut out, map, words, &Frame::new(map, sheet));
    }
    out
}

fn draw(out: &mut String, map: &LightMap, words: &MapWords, f: &Frame) {
    let (w, h) = (f.sheet.width(), f.bottom + 26.0);
    let class = if f.sheet == Sheet::Wide { "wide" } else { "narrow" };
    let _ = write!(
        out,
        r#"<svg class="{class}" width="{w}" height="{h}" viewBox="0 0 {w} {h}" role="img" aria-label="{}">"#,
        escape(words.aria),
        w = num(w),
        h = num(h)
    );
    let _ = write!(
        out,
        r#"<rect class="shelfedge" x="1" y="{}" width="{}" height="{}"/>"#,
        num(TOP),
        num(f.right - 1.0),
        num(f.bottom - TOP)
    );
    for lamp in map.lamps {
        rectangle(out, lamp, f);
    }
    let spots = spread(map.plants, f);
    let r = f.sheet.radius();
    let mut taken: Vec<Taken> = spots.iter().map(|s| around(*s, r + 1.0, r + 1.0)).collect();
    taken.extend(map.readings.iter().map(|p| around(f.at(*p), 6.0, 6.0)));
    let lines: Vec<Vec<Vec<(f64, f64)>>> =
        map.levels.iter().map(|level| drawn_lines(out, map, level, f)).collect();
    for (k, (level, lines)) in map.levels.iter().zip(&lines).enumerate() {
        if let Some(meaning) = level.meaning {
            let id = format!("{}-{class}-{k}", words.id);
            along(out, lines, meaning, &id, f, &mut taken);
        }
        value_label(out, lines, level.label, f, &mut taken);
    }
    for reading in map.readings {
        cross(out, f.at(*reading));
    }
    for (plant, (x, y)) in map.plants.iter().zip(&spots) {
        plant_mark(out, plant, (*x, *y), r);
    }
    edges(out, map, words, f);
    out.push_str("</svg>");
}

fn rectangle(out: &mut String, lamp: &Above, f: &Frame) {
    // A lamp may be larger than the place; what hangs over is cut, so that the drawing stays whole.
    let (x0, y0) = f.at((lamp.x - lamp.width / 2.0, lamp.y - lamp.depth / 2.0));
    let (x1, y1) = f.at((lamp.x + lamp.width / 2.0, lamp.y + lamp.depth / 2.0));
    let (x0, x1) = (x0.clamp(1.0, f.right), x1.clamp(1.0, f.right));
    let (y0, y1) = (y0.clamp(TOP, f.bottom), y1.clamp(TOP, f.bottom));
    let _ = write!(
        out,
        r#"<rect class="lamp" x="{}" y="{}" width="{}" height="{}"/>"#,
        num(x0),
        num(y0),
        num(x1 - x0),
        num(y1 - y0)
    );
}

/// Where the circles stand: at their spots, or beside them where two would cover each other.
fn spread(plants: &[PlantMark], f: &Frame) -> Vec<(f64, f64)> {
    let r = f.sheet.radius();
    let mut out: Vec<(f64, f64)> = Vec::with_capacity(plants.len());
    for plant in plants {
        let (x, y) = f.at((plant.x, plant.y));
        let home = (x.clamp(1.0 + r, f.right - r), y.clamp(TOP + r, f.bottom - r));
        let mut best = home;
        'rings: for ring in 0..8 {
            let steps = if ring == 0 { 1 } else { 8 };
            for step in 0..steps {
                let angle = std::f64::consts::TAU * f64::from(step) / 8.0;
                let away = f64::from(ring) * 2.1 * r;
                let spot = (home.0 + away * angle.cos(), home.1 + away * angle.sin());
                let inside = f.holds(around(spot, r, r)) || ring == 0;
                let clear = out.iter().all(|o| (o.0 - spot.0).hypot(o.1 - spot.1) >= 2.0 * r);
                if inside && clear {
                    best = spot;
                    break 'rings;
                }
            }
        }
        out.push(best);
    }
    out
}

/// Draws the lines of a level and hands them back in pixels, the longest first.
fn drawn_lines(out: &mut String, map: &LightMap, level: &Level, f: &Frame) -> Vec<Vec<(f64, f64)>> {
    let class = if level.meaning.is_some() { "iso idx" } else { "iso" };
    let contours = map.grid.contours(level.value);
    let mut lines = Vec::with_capacity(contours.len());
    for contour in contours {
        let points: Vec<(f64, f64)> = contour.points.iter().map(|p| f.of(*p)).collect();
        let _ = write!(out, r#"<path class="{class}" d="{}"/>"#, smooth(&contour, &points));
        let mut points = points;
        if contour.closed {
            points.extend(points.first().copied());
        }
        lines.push(points);
    }
    lines
}

fn pair((x, y): (f64, f64)) -> String {
    format!("{} {}", num(x), num(y))
}

fn between(a: (f64, f64), b: (f64, f64)) -> (f64, f64) {
    ((a.0 + b.0) / 2.0, (a.1 + b.1) / 2.0)
}

/// A smooth path: through the middles between the points, bent towards each point.
fn smooth(contour: &Contour, points: &[(f64, f64)]) -> String {
    let n = points.len();
    let (Some(first), Some(last)) = (points.first(), points.last()) else { return String::new() };
    if n < 3 {
        return format!("M{}L{}", pair(*first), pair(*last));
    }
    let mut d = String::new();
    if contour.closed {
        d.push_str(&format!("M{}", pair(between(*last, *first))));
        for k in 0..n {
            let next = points[(k + 1) % n];
            d.push_str(&format!("Q{} {}", pair(points[k]), pair(between(points[k], next))));
        }
        d.push('Z');
    } else {
        d.push_str(&format!("M{}L{}", pair(*first), pair(between(points[0], points[1]))));
        for k in 1..n - 1 {
            let to = between(points[k], points[k + 1]);
            d.push_str(&format!("Q{} {}", pair(points[k]), pair(to)));
        }
        d.push_str(&format!("L{}", pair(*last)));
    }
    d
}

/// Writes words along the longest line, where it is long enough and least bent; else beside it.
fn along(
    out: &mut String,
    lines: &[Vec<(f64, f64)>],
    meaning: &str,
    id: &str,
    f: &Frame,
    taken: &mut Vec<Taken>,
) {
    let wanted = width::sans(meaning) * 1.12 + 12.0;
    let best = lines
        .iter()
        .flat_map(|line| stretches(line, wanted))
        .filter_map(|stretch| {
            let boxes: Vec<Taken> = stretch.iter().map(|p| around(*p, 9.0, 11.0)).collect();
            let clear = boxes.iter().all(|b| free(taken, *b));
            let inside = stretch.iter().all(|p| f.holds(around(*p, 2.0, 12.0)));
            (clear && inside).then(|| (bend(&stretch), stretch, boxes))
        })
        .min_by(|a, b| a.0.total_cmp(&b.0));
    let Some((_, mut stretch, boxes)) = best else {
        value_label(out, lines, meaning, f, taken);
        return;
    };
    taken.extend(boxes);
    // Words run from left to right.
    if stretch.first().map_or(0.0, |p| p.0) > stretch.last().map_or(0.0, |p| p.0) {
        stretch.reverse();
    }
    let path: Vec<String> = stretch.iter().map(|p| pair(*p)).collect();
    let _ = write!(
        out,
        r##"<path id="{id}" class="rim" d="M{}"/><text class="c halo" dy="-6"><textPath href="#{id}" startOffset="50%" text-anchor="middle">{}</textPath></text>"##,
        path.join("L"),
        escape(meaning),
        id = escape(id)
    );
}

/// Pieces of a line of at least this length \[px\], one from each point on.
fn stretches(line: &[(f64, f64)], wanted: f64) -> Vec<Vec<(f64, f64)>> {
    let mut out = Vec::new();
    for start in 0..line.len() {
        let mut length = 0.0;
        for k in start + 1..line.len() {
            length += (line[k].0 - line[k - 1].0).hypot(line[k].1 - line[k - 1].1);
            if length >= wanted {
                out.push(line[start..=k].to_vec());
                break;
            }
        }
    }
    out
}

/// How much a line turns, and how far it is from lying level.
fn bend(line: &[(f64, f64)]) -> f64 {
    let directions: Vec<f64> =
        line.windows(2).map(|p| (p[1].1 - p[0].1).atan2(p[1].0 - p[0].0)).collect();
    let turned: f64 = directions
        .windows(2)
        .map(|d| {
            let turn = (d[1] - d[0]).abs() % std::f64::consts::TAU;
            turn.min(std::f64::consts::TAU - turn)
        })
        .sum();
    let (first, last) = (line[0], line[line.len() - 1]);
    let level = (last.1 - first.1).abs() / (last.0 - first.0).abs().max(1.0);
    turned + 0.3 * level.min(3.0)
}

/// Writes a value on its line, at the first point along it where there is room.
fn value_label(
    out: &mut String,
    lines: &[Vec<(f64, f64)>],
    label: &str,
    f: &Frame,
    taken: &mut Vec<Taken>,
) {
    if label.is_empty() {
        return;
    }
    let half = width::sans(label) / 2.0 + 3.0;
    // Low on the right first: there the eye looks for a scale.
    let mut points: Vec<(f64, f64)> = lines.iter().flatten().copied().collect();
    let rank = |p: &(f64, f64)| (p.1 - 0.72 * f.bottom).abs() - 0.2 * p.0;
    points.sort_by(|a, b| rank(a).total_cmp(&rank(b)));
    let room = points.into_iter().find(|p| {
        let own = around(*p, half, 9.0);
        f.holds(own) && free(taken, own)
    });
    let Some(at) = room else { return };
    taken.push(around(at, half, 9.0));
    let _ = write!(
        out,
        r#"<text class="c halo num" x="{}" y="{}" text-anchor="middle">{}</text>"#,
        num(at.0),
        num(at.1 + 5.0),
        escape(label)
    );
}

fn cross(out: &mut String, (x, y): (f64, f64)) {
    let _ = write!(
        out,
        r#"<path class="read" d="M{} {y}H{}M{x} {}V{}"/>"#,
        num(x - 5.0),
        num(x + 5.0),
        num(y - 5.0),
        num(y + 5.0),
        x = num(x),
        y = num(y)
    );
}

fn plant_mark(out: &mut String, plant: &PlantMark, (x, y): (f64, f64), r: f64) {
    let class = if r < 10.0 { "k num tiny" } else { "k num" };
    let circle = format!(
        r#"<title>{}</title><circle class="pm" cx="{}" cy="{}" r="{}"/><text class="{class}" x="{}" y="{}" text-anchor="middle">{}</text>"#,
        escape(plant.name),
        num(x),
        num(y),
        num(r),
        num(x),
        num(y + 5.0),
        escape(plant.mark)
    );
    match safe_href(plant.href) {
        Some(href) if !plant.href.is_empty() => {
            let _ = write!(out, r#"<a href="{href}">{circle}</a>"#);
        }
        _ => {
            let _ = write!(out, "<g>{circle}</g>");
        }
    }
}

/// What stands around the map: its ends, and a scale below.
fn edges(out: &mut String, map: &LightMap, words: &MapWords, f: &Frame) {
    let (left, right) = (width::sans(words.left), width::sans(words.right));
    let whole = f.right - 1.0;
    let both = left + right + 16.0 <= whole;
    let _ = write!(out, r#"<text x="1" y="17">{}</text>"#, escape(words.left));
    if both {
        let _ = write!(
            out,
            r#"<text x="{}" y="17" text-anchor="end">{}</text>"#,
            num(f.right),
            escape(words.right)
        );
    }
    let middle = width::sans(words.middle) / 2.0 + 16.0;
    if middle + left.max(right) <= whole / 2.0 {
        let _ = write!(
            out,
            r#"<text x="{}" y="17" text-anchor="middle">{}</text>"#,
            num((1.0 + f.right) / 2.0),
            escape(words.middle)
        );
    }
    let step = scale_step(map.width, if f.sheet == Sheet::Wide { 5.0 } else { 2.0 });
    let mut at = 0.0;
    while at < map.width - step * 0.3 {
        tick(out, f, at, if at == 0.0 { "start" } else { "middle" }, &num(at));
        at += step;
    }
    tick(out, f, map.width, "end", &format!("{} {}", num(map.width), words.unit));
}

fn tick(out: &mut String, f: &Frame, at: f64, anchor: &str, text: &str) {
    let x = num(f.at((at, 0.0)).0);
    let _ = write!(
        out,
        r#"<line class="axis" x1="{x}" x2="{x}" y1="{}" y2="{}"/><text class="num" x="{x}" y="{}" text-anchor="{anchor}">{}</text>"#,
        num(f.bottom),
        num(f.bottom + 5.0),
        num(f.bottom + 20.0),
        escape(text)
    );
}

/// A round step \[cm\] of which at most so many fit.
fn scale_step(width: f64, most: f64) -> f64 {
    let rough = width / most;
    [5.0, 10.0, 20.0, 30.0, 50.0, 100.0, 200.0, 500.0]
        .into_iter()
        .find(|s| *s >= rough)
        .unwrap_or(1000.0)
}
