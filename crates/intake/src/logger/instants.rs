//! From stamps to instants: the clocks of the house, one reading for each instant, gaps.

use super::{
    Gap, LoggerAsk, LoggerFile, LoggerOptions, LoggerQuestion, LoggerReading, RefusedRow, Why,
    stamp::Stamp,
    take::Raw,
    zone::{Clocks, Lies, seconds},
};

/// Limits of what a logger in a house can read \[°C\], \[%\]; common practice.
const TEMPERATURES: std::ops::RangeInclusive<f64> = -10.0..=60.0;
const HUMIDITIES: std::ops::RangeInclusive<f64> = 0.0..=105.0;
/// 2000-01-01: clocks that lost their battery begin before it.
const EARLIEST: i64 = 946_684_800;

pub(super) fn line_of(text: &str, row: u32) -> &str {
    text.split('\n').nth(row.saturating_sub(1) as usize).unwrap_or("").trim_end_matches('\r')
}

/// Looks lines up by their number; asked in rising order it walks the text once.
struct Lines<'t> {
    rest: std::iter::Zip<std::ops::RangeFrom<u32>, std::str::Split<'t, char>>,
}

impl<'t> Lines<'t> {
    fn new(text: &'t str) -> Self {
        Self { rest: (1u32..).zip(text.split('\n')) }
    }

    fn get(&mut self, row: u32) -> &'t str {
        self.rest.find(|(n, _)| *n == row).map_or("", |(_, l)| l.trim_end_matches('\r'))
    }
}

/// Puts readings on the line of instants.
pub(super) struct Instants<'o> {
    options: &'o LoggerOptions,
    text: &'o str,
    day_first: bool,
    pub(super) readings: Vec<LoggerReading>,
    pub(super) question: Option<LoggerQuestion>,
}

impl<'o> Instants<'o> {
    pub(super) fn new(options: &'o LoggerOptions, text: &'o str, day_first: bool) -> Self {
        Self { options, text, day_first, readings: Vec::new(), question: None }
    }

    pub(super) fn take(&mut self, mut raws: Vec<Raw>, is_f: bool, refused: &mut Vec<RefusedRow>) {
        let wall = |r: &Raw| match r.stamp {
            Stamp::Instant(s) => Some(s),
            s => s.civil(self.day_first).map(seconds),
        };
        // Some write the newest first.
        let ends = raws.iter().find_map(&wall).zip(raws.iter().rev().find_map(&wall));
        if ends.is_some_and(|(a, b)| a > b) {
            raws.reverse();
        }
        let choices = ["house", "standard"];
        let answer = self.options.answers.get("clock").filter(|a| choices.contains(&a.as_str()));
        if let Some(row) = clock_in_doubt(&raws, self.day_first, &self.options.zone) {
            self.question = Some(LoggerQuestion {
                key: "clock",
                ask: LoggerAsk::Clock,
                example: line_of(self.text, row).to_owned(),
                choices: choices.to_vec(),
                answer: answer.cloned(),
            });
        }
        let mut clocks = Clocks::new(&self.options.zone, answer.is_some_and(|a| a == "standard"));
        let mut house = Clocks::new(&self.options.zone, false);
        let mut bad: Vec<(u32, Why)> = Vec::new();
        let mut before = i64::MIN;
        self.readings.reserve(raws.len());
        for raw in &raws {
            let time = match instant(raw, self.day_first, &mut clocks, before) {
                Ok(time) if time >= EARLIEST && self.options.latest.is_none_or(|l| time <= l) => {
                    time
                }
                Ok(_) => {
                    bad.push((raw.row, Why::OutOfTime));
                    continue;
                }
                Err(why) => {
                    bad.push((raw.row, why));
                    continue;
                }
            };
            before = time;
            let (reading, impossible) = values(raw, time, house.east(time), is_f);
            if impossible {
                bad.push((raw.row, Why::Impossible));
            }
            self.readings.extend(reading);
        }
        bad.sort_unstable_by_key(|b| b.0);
        let mut lines = Lines::new(self.text);
        refused.extend(bad.into_iter().map(|(row, why)| RefusedRow {
            row,
            why,
            text: lines.get(row).to_owned(),
        }));
        self.readings.sort_by_key(|r| r.time);
    }
}

fn instant(raw: &Raw, day_first: bool, clocks: &mut Clocks<'_>, before: i64) -> Result<i64, Why> {
    let (civil, east) = match raw.stamp {
        Stamp::Instant(s) => return Ok(s),
        Stamp::Civil { east, .. } => (raw.stamp.civil(day_first).ok_or(Why::NoTime)?, east),
    };
    let wall = seconds(civil);
    if let Some(east) = east {
        return Ok(wall - i64::from(east));
    }
    match clocks.lies(civil) {
        Lies::Once(east) => Ok(wall - i64::from(east)),
        Lies::Never => Err(Why::SkippedHour),
        // The hour that is there twice is passed through once, then again.
        Lies::Twice(first, second) => {
            let early = wall - i64::from(first);
            Ok(if early > before { early } else { wall - i64::from(second) })
        }
    }
}

fn values(raw: &Raw, time: i64, east: i32, is_f: bool) -> (Option<LoggerReading>, bool) {
    let to_c = |t: f64| {
        let f = raw.temperature_is_f.unwrap_or(is_f);
        if f { ((t - 32.0) / 1.8 * 1000.0).round() / 1000.0 } else { t }
    };
    let told = (raw.temperature.map(to_c), raw.humidity, raw.light);
    let temperature = told.0.filter(|t| TEMPERATURES.contains(t));
    let humidity = told.1.filter(|h| HUMIDITIES.contains(h));
    let light = told.2.filter(|l| (0.0..=200_000.0).contains(l));
    let impossible = temperature.is_none() && told.0.is_some()
        || humidity.is_none() && told.1.is_some()
        || light.is_none() && told.2.is_some();
    let any = temperature.is_some() || humidity.is_some() || light.is_some();
    let reading = LoggerReading { row: raw.row, time, east, temperature, humidity, light };
    (any.then_some(reading), impossible)
}

/// The row that shows that the logger's clock may not follow those of the house: times that the
/// clocks of the house skipped, or an hour passed once that they passed twice.
fn clock_in_doubt(raws: &[Raw], day_first: bool, zone: &jiff::tz::TimeZone) -> Option<u32> {
    let mut clocks = Clocks::new(zone, false);
    let mut skipped: Vec<u32> = Vec::new();
    let mut twice: Option<(u32, i64, bool)> = None;
    let mut before: Option<i64> = None;
    for raw in raws {
        let Stamp::Civil { east: None, .. } = raw.stamp else { return None };
        let Some(civil) = raw.stamp.civil(day_first) else { continue };
        let wall = seconds(civil);
        let near = before.is_some_and(|b| wall - b <= 7200);
        match clocks.lies(civil) {
            Lies::Never => skipped.push(raw.row),
            Lies::Twice(..) if twice.is_none() && near => twice = Some((raw.row, wall, true)),
            Lies::Twice(..) => {
                if let Some(t) = &mut twice {
                    t.2 &= before.is_some_and(|b| wall > b);
                    t.1 = wall;
                }
            }
            Lies::Once(_) => {
                // It came out of the hour without having gone back.
                if let Some((row, last, onward)) = twice.take()
                    && onward
                    && (1..=7200).contains(&(wall - last))
                {
                    return Some(row);
                }
            }
        }
        before = Some(wall);
    }
    (skipped.len() >= 2).then(|| skipped[0])
}

/// Keeps one reading of each instant.
pub(super) fn unique(readings: &mut Vec<LoggerReading>, text: &str, refused: &mut Vec<RefusedRow>) {
    let mut bad: Vec<(u32, Why)> = Vec::new();
    readings.dedup_by(|later, first| {
        if later.time != first.time {
            return false;
        }
        let same = (later.temperature, later.humidity, later.light)
            == (first.temperature, first.humidity, first.light);
        bad.push((later.row, if same { Why::Again } else { Why::SameTime }));
        true
    });
    bad.sort_unstable_by_key(|b| b.0);
    let mut lines = Lines::new(text);
    refused.extend(bad.into_iter().map(|(row, why)| RefusedRow {
        row,
        why,
        text: lines.get(row).to_owned(),
    }));
}

pub(super) fn gaps(out: &mut LoggerFile) {
    let mut steps: Vec<i64> = out.readings.windows(2).map(|w| w[1].time - w[0].time).collect();
    if steps.is_empty() {
        return;
    }
    let middle = steps.len() / 2;
    let step = *steps.select_nth_unstable(middle).1;
    out.step = Some(step);
    let longest = 7200.max(3 * step);
    out.gaps = out
        .readings
        .windows(2)
        .filter(|w| w[1].time - w[0].time > longest)
        .map(|w| Gap { from: w[0].time, to: w[1].time })
        .collect();
}
