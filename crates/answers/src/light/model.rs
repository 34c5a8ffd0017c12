//! From a description to the light at each point of a place.

use culture::light::{
    daily,
    day::YearDay,
    glass::WINDOW_DIRT,
    lamp::{self, DIRT_NEVER_WIPED, DIRT_WIPED, Emitter, Lamp, Leaf},
    reading::{Gains, LAMP_UNREAD, WINDOW_UNREAD},
    shelf::{self, Shelf},
    sky::ALBEDO,
    window::{self, MEAN_DAYS, Pose, Spot, Window},
};
use culture::{Spread, light::LightError};

use super::described::{Described, LampSaid, Side, View, WindowSaid};
use crate::{AskError, Result};

/// Watts at the plug for each metre of a lamp whose watts nobody knows, from and to \[W/m\]: common
/// practice, no source.
pub(crate) const WATTS_A_METRE: (f64, f64) = (10.0, 30.0);
/// Watts at the plug of a bulb of which nobody knows them, from and to \[W\]: common practice, no
/// source.
pub(crate) const WATTS_OF_A_BULB: (f64, f64) = (5.0, 15.0);
/// Up to which angle houses and trees hide the sky where nobody has said \[°\], and up to where it
/// might be when not even the view is known: common practice, no source.
pub(crate) const HOUSES: f64 = 25.0;
pub(crate) const TREES: f64 = 35.0;
pub(crate) const HIDDEN_AT_MOST: f64 = 45.0;

/// Nodes at which the light of a window is followed through the year; between them it is
/// interpolated.
const WINDOW_NODES: (usize, usize) = (11, 6);

/// How what nobody knows is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Guess {
    /// Nothing of weight is unknown.
    Known,
    /// All that is unknown is taken as dark as it may be.
    Dark,
    /// All that is unknown is taken as bright as it may be.
    Bright,
}

/// What gives light, with one uncertainty of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Source {
    /// Lamps of one make.
    Lamps,
    /// The window.
    Window,
}

struct Hung {
    lamp: Lamp,
    source: usize,
    reflected: f64,
    hours: [f64; 12],
}

struct Daylight {
    /// Daily light and minutes of direct sun in each month, for each node.
    nodes: Vec<[(f64, f64); 12]>,
}

/// The light of a place as computed, without readings.
pub(crate) struct Model {
    pub width: f64,
    pub depth: f64,
    pub sources: Vec<Source>,
    pub log_sds: Vec<f64>,
    pub latitude: Option<f64>,
    hung: Vec<Hung>,
    daylight: Option<Daylight>,
}

/// What arrives at a point.
#[derive(Debug, Clone)]
pub(crate) struct Point {
    /// Of each lamp while it is on \[µmol m⁻² s⁻¹\].
    lamps: Vec<f64>,
    /// Of the window, each month \[mol m⁻² d⁻¹\].
    window: [f64; 12],
}

pub(crate) fn refused(error: LightError) -> AskError {
    AskError::field("light", "of this place", error.to_string())
}

/// Whether something of weight is not known, so that one number would be a lie.
pub(crate) fn open_questions(d: &Described) -> bool {
    let lamps = d.lamps.iter().any(|l| l.watts.is_none() && l.ppf.is_none());
    let window = d
        .window
        .as_ref()
        .is_some_and(|w| w.direction.is_none() || hidden(w, Guess::Known).is_none());
    lamps || window
}

/// Up to which angle the sky is hidden; none when neither view nor angle is known.
fn hidden(w: &WindowSaid, guess: Guess) -> Option<f64> {
    match (w.angle, w.view, guess) {
        (Some(angle), ..) => Some(angle),
        (None, Some(View::Open), _) => Some(0.0),
        (None, Some(View::Houses), _) => Some(HOUSES),
        (None, Some(View::Trees), _) => Some(TREES),
        (None, None, Guess::Dark) => Some(HIDDEN_AT_MOST),
        (None, None, Guess::Bright) => Some(0.0),
        (None, None, Guess::Known) => None,
    }
}

/// Watts at the plug, as said or as guessed.
pub(crate) fn watts(lamp: &LampSaid, guess: Guess) -> f64 {
    let (low, high) = match lamp.beam {
        Some(_) => WATTS_OF_A_BULB,
        None => {
            let long = (lamp.width.max(lamp.depth) / 100.0).max(0.3);
            (WATTS_A_METRE.0 * long, WATTS_A_METRE.1 * long)
        }
    };
    lamp.watts.unwrap_or(match guess {
        Guess::Dark => low,
        Guess::Bright => high,
        Guess::Known => (low * high).sqrt(),
    })
}

/// Hours that a lamp has been on up to a day \[days since 1970-01-01\].
fn used(said: &LampSaid, day: i64) -> f64 {
    let new = said.new.as_deref().and_then(|d| dates::Edtf::parse(d).ok());
    let new = new.and_then(|d| d.earliest()).map(|d| i64::from(dates::to_days(d)));
    let mean = (said.hours + said.summer_hours.unwrap_or(said.hours)) / 2.0;
    new.map_or(0.0, |new| (day - new).max(0) as f64 * mean)
}

impl Model {
    /// The light of a place as it is on a day \[days since 1970-01-01\]. A window without a latitude
    /// of the house is left out.
    pub fn build(
        d: &Described,
        guess: Guess,
        latitude: Option<f64>,
        day: i64,
    ) -> std::result::Result<Self, LightError> {
        let mut model = Self {
            width: d.width,
            depth: d.depth,
            sources: Vec::new(),
            log_sds: Vec::new(),
            latitude,
            hung: Vec::new(),
            daylight: None,
        };
        for said in &d.lamps {
            let source = model.source_of(said, d);
            if source == model.sources.len() {
                model.sources.push(Source::Lamps);
                model.log_sds.push(unread(said));
            }
            model.hang(d, said, guess, day, source)?;
        }
        if let (Some(said), Some(latitude)) = (&d.window, latitude) {
            model.sources.push(Source::Window);
            model.log_sds.push(WINDOW_UNREAD.value);
            model.daylight = Some(model.through(said, guess, latitude)?);
        }
        Ok(model)
    }

    /// Which source a lamp belongs to: lamps of one make are wrong by the same factor.
    pub fn source_of(&self, lamp: &LampSaid, d: &Described) -> usize {
        let make = |l: &LampSaid| (l.kind.clone(), l.watts, l.ppf);
        let mut makes = Vec::new();
        for said in &d.lamps {
            if make(said) == make(lamp) {
                return makes.len();
            }
            if !makes.contains(&make(said)) {
                makes.push(make(said));
            }
        }
        makes.len()
    }

    fn hang(
        &mut self,
        d: &Described,
        said: &LampSaid,
        guess: Guess,
        day: i64,
        source: usize,
    ) -> std::result::Result<(), LightError> {
        let dirt = if said.dusty { DIRT_NEVER_WIPED } else { DIRT_WIPED }.value;
        let flux = match said.ppf {
            Some(ppf) => {
                let left = lamp::aged(used(said, day), lamp::HOURS_TO_NINE_TENTHS.value)?;
                ppf * left * dirt
            }
            None => lamp::photon_flux(said.kind(), watts(said, guess), used(said, day), dirt)?,
        };
        let emitter = match said.beam {
            Some(beam) => Emitter::Bulb { beam },
            None => Emitter::Panel { width: said.width / 100.0, length: said.depth / 100.0 },
        };
        let x = said.x.unwrap_or(d.width / 2.0) / 100.0;
        let y = said.y.unwrap_or(d.depth / 2.0) / 100.0;
        let lamp = Lamp::new(emitter, flux, [x, y, said.height / 100.0])?;
        let shelf =
            Shelf { across: (0.0, d.width / 100.0), along: (0.0, d.depth / 100.0), height: 0.0 };
        let map = shelf::map(&[lamp], &shelf, (24, 12), d.walls.of_shelf())?;
        let hours = std::array::from_fn(|month| said.hours_in(month + 1));
        self.hung.push(Hung { lamp, source, reflected: map.reflected, hours });
        Ok(())
    }

    fn through(
        &self,
        said: &WindowSaid,
        guess: Guess,
        latitude: f64,
    ) -> std::result::Result<Daylight, LightError> {
        let clearness = window::usual_clearness(latitude)?;
        let mut glass = Window {
            direction: 0.0,
            width: said.width / 100.0,
            height: said.height / 100.0,
            glazing: said.glazing(),
            net_curtain: said.curtain,
            dirt: WINDOW_DIRT.value,
            obstruction: hidden(said, guess).unwrap_or(HIDDEN_AT_MOST / 2.0),
            albedo: ALBEDO.value,
            sky: 1.0,
        };
        let middle = self.before(said, self.width / 2.0, self.depth / 2.0);
        glass.direction = match said.degrees() {
            Some(degrees) => degrees,
            None => {
                let mut found: Option<(f64, f64)> = None;
                for eighth in 0..8 {
                    let direction = f64::from(eighth) * 45.0;
                    let turned = Window { direction, ..glass };
                    let year = window::year(&turned, &middle, latitude, &clearness)?;
                    let sum: f64 = year.iter().map(window::Indoors::dli).sum();
                    let better = found.is_none_or(|(_, best)| match guess {
                        Guess::Dark => sum < best,
                        _ => sum > best,
                    });
                    if better {
                        found = Some((direction, sum));
                    }
                }
                found.map_or(0.0, |f| f.0)
            }
        };
        let (columns, rows) = WINDOW_NODES;
        let mut nodes = Vec::with_capacity(columns * rows);
        for row in 0..rows {
            for column in 0..columns {
                let x = self.width * column as f64 / (columns - 1) as f64;
                let y = self.depth * row as f64 / (rows - 1) as f64;
                let year = window::year(&glass, &self.before(said, x, y), latitude, &clearness)?;
                let month =
                    |m: usize| year.get(m).map_or((0.0, 0.0), |i| (i.dli(), i.direct_minutes));
                nodes.push(std::array::from_fn(month));
            }
        }
        Ok(Daylight { nodes })
    }

    /// Where a point of the place \[cm\] is before the glass.
    fn before(&self, w: &WindowSaid, x: f64, y: f64) -> Spot {
        let (away, sideways) = match w.side {
            Side::Back => (y, self.width / 2.0 - x),
            Side::Front => (self.depth - y, x - self.width / 2.0),
            Side::Left => (x, y - self.depth / 2.0),
            Side::Right => (self.width - x, self.depth / 2.0 - y),
        };
        Spot {
            // A leaf that touches the glass still has a leaf's thickness to it.
            distance: ((w.distance + away) / 100.0).max(0.01),
            sill: w.sill / 100.0,
            sideways: sideways / 100.0,
            pose: Pose::Flat,
        }
    }

    /// What arrives at a point \[cm\].
    pub fn point(&self, x: f64, y: f64) -> Point {
        let at = [x / 100.0, y / 100.0, 0.0];
        let lamps = self.hung.iter().map(|h| h.lamp.ppfd(at, Leaf::FLAT) + h.reflected).collect();
        let mut window = [0.0; 12];
        if let Some(daylight) = &self.daylight {
            for (node, weight) in self.nodes_around(x, y) {
                for (sum, month) in window.iter_mut().zip(&daylight.nodes[node]) {
                    *sum += weight * month.0;
                }
            }
        }
        Point { lamps, window }
    }

    /// The four nodes of the window's grid around a point, with their weights.
    fn nodes_around(&self, x: f64, y: f64) -> [(usize, f64); 4] {
        let (columns, rows) = WINDOW_NODES;
        let place = |at: f64, whole: f64, n: usize| {
            let scaled = (at / whole).clamp(0.0, 1.0) * (n - 1) as f64;
            let first = (scaled.floor() as usize).min(n - 2);
            (first, scaled - first as f64)
        };
        let (c, u) = place(x, self.width, columns);
        let (r, v) = place(y, self.depth, rows);
        let node = |c: usize, r: usize| r * columns + c;
        [
            (node(c, r), (1.0 - u) * (1.0 - v)),
            (node(c + 1, r), u * (1.0 - v)),
            (node(c, r + 1), (1.0 - u) * v),
            (node(c + 1, r + 1), u * v),
        ]
    }

    /// Minutes of direct sun at a point on a cloudless day of a month \[1 to 12\].
    pub fn direct_minutes(&self, x: f64, y: f64, month: usize) -> f64 {
        let Some(daylight) = &self.daylight else { return 0.0 };
        self.nodes_around(x, y).iter().map(|(n, w)| w * daylight.nodes[*n][month - 1].1).sum()
    }

    /// The most minutes of direct sun anywhere on the place, in a month.
    pub fn most_direct_minutes(&self, month: usize) -> f64 {
        let nodes = self.daylight.iter().flat_map(|d| &d.nodes);
        nodes.map(|n| n[month - 1].1).fold(0.0, f64::max)
    }

    /// Daily light at a point in a month \[1 to 12\], of each source \[mol m⁻² d⁻¹\].
    pub fn daily(&self, point: &Point, month: usize) -> Vec<f64> {
        let mut out = vec![0.0; self.sources.len()];
        for (hung, ppfd) in self.hung.iter().zip(&point.lamps) {
            // Cannot fail: both were checked when the lamp was hung.
            out[hung.source] += daily::dli(*ppfd, hung.hours[month - 1]).unwrap_or(0.0);
        }
        if let Some(k) = self.sources.iter().position(|s| *s == Source::Window) {
            out[k] = point.window[month - 1];
        }
        out
    }

    /// The first month with the same light everywhere: without a window, months of the same hours.
    pub fn first_like(&self, month: usize) -> usize {
        let same = |m: &usize| self.hung.iter().all(|h| h.hours[m - 1] == h.hours[month - 1]);
        if self.daylight.is_some() { month } else { (1..month).find(same).unwrap_or(month) }
    }

    /// The mean of [`Self::daily`] over the place, each month.
    pub fn mean_daily(&self) -> Vec<[f64; 12]> {
        let (columns, rows) = (8, 5);
        let mut out = vec![[0.0; 12]; self.sources.len()];
        for row in 0..rows {
            for column in 0..columns {
                let x = self.width * (column as f64 + 0.5) / columns as f64;
                let y = self.depth * (row as f64 + 0.5) / rows as f64;
                let point = self.point(x, y);
                for month in 1..=12 {
                    for (sum, light) in out.iter_mut().zip(self.daily(&point, month)) {
                        sum[month - 1] += light / (columns * rows) as f64;
                    }
                }
            }
        }
        out
    }

    /// What a meter would show at a point at an hour of the day \[µmol m⁻² s⁻¹\], of each source,
    /// with lamps or daylight left out as asked. Daylight runs over the day as half a sine whose
    /// noon is at twelve; by how much a day differs is part of what is known of a window.
    pub fn instant(
        &self,
        point: &Point,
        month: usize,
        hour: f64,
        (lamps, daylight): (bool, bool),
    ) -> Vec<f64> {
        let mut out = vec![0.0; self.sources.len()];
        if lamps {
            for (hung, ppfd) in self.hung.iter().zip(&point.lamps) {
                out[hung.source] += ppfd;
            }
        }
        let window = self.sources.iter().position(|s| *s == Source::Window);
        if let (Some(k), Some(latitude), true) = (window, self.latitude, daylight) {
            // Cannot fail: the latitude was used for the window already.
            let length = YearDay::new(latitude, MEAN_DAYS[month - 1])
                .map_or(12.0, culture::light::day::YearDay::daylight_hours);
            let phase = std::f64::consts::PI * (hour - 12.0) / length.max(1.0);
            let shape = if phase.abs() < std::f64::consts::FRAC_PI_2 { phase.cos() } else { 0.0 };
            let noon = point.window[month - 1] * 1e6 * std::f64::consts::FRAC_PI_2
                / (length.max(1.0) * 3600.0);
            out[k] = noon * shape;
        }
        out
    }

    /// What is known of the sources before any reading; none where there is no source.
    pub fn unread(&self) -> std::result::Result<Gains, LightError> {
        Gains::unread(&self.log_sds)
    }
}

/// Standard deviation of the log of a lamp's light before any reading: less where its label tells
/// its photons.
fn unread(said: &LampSaid) -> f64 {
    match (said.ppf, LAMP_UNREAD.spread) {
        (Some(_), Spread::Range(low, _)) => low,
        _ => LAMP_UNREAD.value,
    }
}

/// The latitude of the house \[° north\], where it was told.
///
/// # Errors
/// If the record cannot be read.
pub(crate) fn latitude(reader: &journal::Reader<'_>) -> Result<Option<f64>> {
    Ok(reader.setting("latitude")?.and_then(|l| l.parse().ok()))
}

/// The month of a day \[1 to 12\].
pub(crate) fn month_of(day: i64) -> usize {
    let date = i32::try_from(day).ok().and_then(dates::from_days);
    date.and_then(|d| usize::try_from(d.month()).ok()).unwrap_or(1)
}
