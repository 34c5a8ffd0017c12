//! The light of one place, whole: map, year, plants, readings, cost.

use culture::{
    Estimate,
    light::{daily, reading::Gains},
};
use journal::{EntryRow, PlantFilter, PlantRow, PlantSort, Reader};
use serde::Serialize;
use texts::Texts;

use super::{
    cautions::cautions,
    described::{self, Described},
    model::{self, Guess, Model, Source},
    readings::{self, ReadingUsed, Readings},
    spot,
    wants::{self, Enough, Wants},
    words,
};
use crate::{
    AskError, Hand, NameText, Result,
    plant_page::display_name,
    said::{digits_for, number},
};

/// How far the light of a place is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    /// Nobody has described it.
    NotDescribed,
    /// It has neither window nor lamp.
    Dark,
    /// It has a window only, and the latitude of the house was never told.
    NeedsLatitude,
    /// It can be computed.
    Known,
}

/// An amount of light with its interval \[mol m⁻² d⁻¹\], and in words.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Amount {
    /// The best single number; none where only a range can be told.
    pub value: Option<f64>,
    /// One time out of ten it is below this.
    pub lower: f64,
    /// One time out of ten it is above this.
    pub upper: f64,
    /// The value as it is shown; the range again where there is none.
    pub shown: String,
    /// The range as it is shown.
    pub range: String,
}

/// A line of equal light.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LevelSaid {
    /// \[mol m⁻² d⁻¹\]
    pub value: f64,
    /// As it is shown.
    pub label: String,
    /// What it means, for a heavy line.
    pub meaning: Option<&'static str>,
}

/// The light of one month, on average over the place.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MonthOfLight {
    /// The month.
    pub name: &'static str,
    /// From lamps \[mol m⁻² d⁻¹\].
    pub lamps: f64,
    /// From the window \[mol m⁻² d⁻¹\].
    pub window: f64,
    /// Both.
    pub total: Amount,
    /// Hours of lamps, the longest \[h\].
    pub hours: f64,
    /// Minutes of direct sun on a cloudless day, where there are most \[min\].
    pub direct_minutes: f64,
}

/// A place under one way to take what nobody knows; one for each way.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LightCase {
    /// What is assumed, in words; empty where nothing has to be.
    pub assumed: String,
    /// Nodes from left to right.
    pub columns: usize,
    /// Nodes from back to front.
    pub rows: usize,
    /// Daily light at the nodes this month, row by row from the back, the outer ones on the edge
    /// \[mol m⁻² d⁻¹\].
    #[serde(skip)]
    pub values: Vec<f64>,
    /// Lines to draw.
    pub levels: Vec<LevelSaid>,
    /// Share of the place with light enough to flower this month.
    pub share: f64,
    /// On average over the place this month.
    pub mean: Amount,
    /// Twelve months, January first.
    pub months: Vec<MonthOfLight>,
    /// The first sentence.
    pub lede: String,
    /// The map as a table: five columns from left to right in three rows from the back.
    pub table: Vec<Vec<String>>,
    /// The brightest month with its light, as it is shown.
    pub brightest: String,
    /// The darkest month with its light, as it is shown.
    pub darkest: String,
}

/// What a plant on the place gets this month.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlantLight {
    /// Its mark on the map; none where nobody has said where it stands.
    pub mark: Option<usize>,
    /// Its number.
    pub number: i64,
    /// Its name.
    pub name: NameText,
    /// Where it stands \[cm from the left, from the back\].
    pub spot: Option<(f64, f64)>,
    /// What the light is enough for.
    pub enough: Option<Enough>,
    /// The same in words, as sure as it is.
    pub words: String,
    /// How much.
    pub light: Option<Amount>,
    /// What it wants.
    pub wants: Wants,
}

/// What the lamps of a place take from the wall.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Energy {
    /// In a month of thirty and a half days, this month's hours \[kWh\].
    pub kwh: (f64, f64),
    /// As it is shown.
    pub shown: String,
    /// Money, where a price is set, as it is shown.
    pub money: Option<String>,
}

/// The light of a place.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlaceLight {
    /// The place.
    pub place: i64,
    /// What it is called.
    pub name: String,
    /// How far its light is known.
    pub standing: Standing,
    /// Size, lamps and window in one line.
    pub over: String,
    /// The first sentence.
    pub lede: String,
    /// The description.
    pub described: Option<Described>,
    /// Since when, in words; empty for always.
    pub since: String,
    /// Earlier descriptions: since when, and what.
    pub earlier: Vec<(String, String)>,
    /// The month that the map shows.
    pub month: &'static str,
    /// What stands at its left end, over its middle and at its right end.
    pub ends: [String; 3],
    /// Lamps as seen from above: middle from the left and from the back, width and depth \[cm\].
    pub lamps: Vec<[f64; 4]>,
    /// One case, or two where something of weight is not known.
    pub cases: Vec<LightCase>,
    /// What is wanted here to flower: that of most plants \[mol m⁻² d⁻¹\].
    pub wanted: (f64, f64),
    /// Plants in the order of their marks, those without a spot last.
    pub plants: Vec<PlantLight>,
    /// Readings that were used.
    pub readings: Vec<ReadingUsed>,
    /// On what it rests, in sentences.
    pub basis: Vec<String>,
    /// What is missing.
    pub gaps: Vec<String>,
    /// What to look at before acting.
    pub cautions: Vec<&'static str>,
    /// What the lamps cost.
    pub energy: Option<Energy>,
}

/// Nodes across a map; its rows follow from its shape.
const ACROSS: usize = 45;

/// A place as far as its light goes, ready to be asked about points.
pub(crate) struct Lit {
    pub described: Described,
    pub since: Option<i64>,
    pub ways: Vec<(Guess, Model, Option<Gains>, Readings)>,
    pub standing: Standing,
}

impl Lit {
    /// The light of a place as it is on a day; none where nobody has described it.
    pub fn read(
        reader: &Reader<'_>,
        place: i64,
        entries: &[EntryRow],
        hand: &Hand,
    ) -> Result<Option<Self>> {
        let history = described::history(reader, place)?;
        let today = hand.today_number();
        let Some(dated) = described::on_day(&history, today) else { return Ok(None) };
        let latitude = model::latitude(reader)?;
        let d = dated.described.clone();
        let standing = match (&d.window, d.lamps.is_empty(), latitude) {
            (None, true, _) => Standing::Dark,
            (Some(_), true, None) => Standing::NeedsLatitude,
            _ => Standing::Known,
        };
        let guesses: &[Guess] =
            if model::open_questions(&d) { &[Guess::Dark, Guess::Bright] } else { &[Guess::Known] };
        let mut ways = Vec::new();
        if standing == Standing::Known {
            for guess in guesses {
                let model = Model::build(&d, *guess, latitude, today).map_err(model::refused)?;
                let readings = readings::of_place(entries, &d, &model, dated.from, hand.lang);
                let gains = readings::fitted(&model, &readings);
                ways.push((*guess, model, gains, readings));
            }
        }
        Ok(Some(Self { since: dated.from, described: d, ways, standing }))
    }

    /// Daily light at a point in a month under each way to take what is not known.
    pub fn at(&self, (x, y): (f64, f64), month: usize) -> Vec<Estimate> {
        let one = |(_, model, gains, _): &(Guess, Model, Option<Gains>, Readings)| {
            light(gains.as_ref(), &model.daily(&model.point(x, y), month))
        };
        self.ways.iter().map(one).collect()
    }

    /// The most minutes of direct sun at a point in a month, over all ways.
    pub fn direct_minutes(&self, (x, y): (f64, f64), month: usize) -> f64 {
        self.ways.iter().map(|w| w.1.direct_minutes(x, y, month)).fold(0.0, f64::max)
    }

    /// The middle of the place \[cm\].
    pub fn middle(&self) -> (f64, f64) {
        (self.described.width / 2.0, self.described.depth / 2.0)
    }
}

pub(crate) fn light(gains: Option<&Gains>, computed: &[f64]) -> Estimate {
    gains.map_or_else(|| Estimate::exact(computed.iter().sum()), |g| g.light(computed))
}

/// An amount under each way as one: a number with its interval, or a range over both.
pub(crate) fn amount(ways: &[Estimate], hand: &Hand) -> Option<Amount> {
    let (first, last) = (ways.first()?, ways.last()?);
    let lower = first.lower.min(last.lower);
    let upper = first.upper.max(last.upper);
    let digits = digits_for(Some(upper - lower));
    let range = crate::said::range_words(lower, upper, digits, hand.lang);
    let value = (ways.len() == 1).then_some(first.value);
    let shown = value.map_or_else(|| range.clone(), |v| number(v, digits.max(1), hand.lang));
    Some(Amount { value, lower, upper, shown, range })
}

/// What an amount is enough for, in words; both ends where they differ.
pub(crate) fn enough_words(ways: &[Estimate], wants: &Wants, t: Texts) -> (Enough, String) {
    let all: Vec<(Enough, String)> = ways.iter().map(|w| wants::said(w, wants, t)).collect();
    match (all.first(), all.last()) {
        (Some(low), Some(high)) if low.1 != high.1 => {
            (low.0, t.f("{low} to {high}", &[("low", &low.1), ("high", &high.1)]))
        }
        (Some(one), _) => one.clone(),
        _ => (Enough::Dark, String::new()),
    }
}

/// A plant of a place and where on it the plant stands \[cm\], if somebody said.
pub(crate) type OnPlace = (PlantRow, Option<(f64, f64)>);

/// Living plants of a place with the spot of each, as far as it was said.
pub(crate) fn standing_here(
    reader: &Reader<'_>,
    place: &journal::PlaceRow,
    size: Option<(f64, f64)>,
) -> Result<Vec<OnPlace>> {
    let filter = PlantFilter {
        place: Some(place.number),
        state: Some("alive".to_owned()),
        ..PlantFilter::default()
    };
    let mut out = Vec::new();
    for plant in reader.plants(&filter, PlantSort::Name, 0, 1000)?.rows {
        let spot = match size {
            Some(size) => spot_of(reader, plant.id, place, size)?,
            None => None,
        };
        out.push((plant, spot));
    }
    Ok(out)
}

/// Where a plant stands on a place: the spot that was said last since it came there.
pub(crate) fn spot_of(
    reader: &Reader<'_>,
    plant: i64,
    place: &journal::PlaceRow,
    (width, depth): (f64, f64),
) -> Result<Option<(f64, f64)>> {
    let here = place.uid.to_string();
    let entries = reader.entries_of_kinds(plant, &["placed"])?;
    let stay = entries
        .iter()
        .rev()
        .take_while(|e| e.detail.get("place").and_then(|v| v.as_str()) == Some(here.as_str()));
    for entry in stay {
        if let Some(words) = entry.detail.get("spot").and_then(|v| v.as_str()) {
            return Ok(spot::read(words, width, depth));
        }
    }
    Ok(None)
}

/// The place of this number.
pub(crate) fn need_place(reader: &Reader<'_>, number: i64) -> Result<journal::PlaceRow> {
    reader.place(number)?.ok_or_else(|| AskError::NotThere {
        kind: "place",
        which: number.to_string(),
        next: "the list of places shows which there are",
    })
}

/// The light of a place.
///
/// # Errors
/// If there is no such place, its description cannot be computed with, or the record cannot be read.
pub fn place_light(reader: &Reader<'_>, number: i64, hand: &Hand) -> Result<PlaceLight> {
    let place = need_place(reader, number)?;
    let t = hand.texts();
    let entries = reader.entries_about(place.id, usize::MAX)?;
    let lit = Lit::read(reader, place.id, &entries, hand)?;
    let size = lit.as_ref().map(|l| (l.described.width, l.described.depth));
    let here = standing_here(reader, &place, size)?;
    let wanted = wanted_here(&here);
    let month = model::month_of(hand.today_number());
    let mut out = PlaceLight {
        place: number,
        name: place.name.clone(),
        standing: lit.as_ref().map_or(Standing::NotDescribed, |l| l.standing),
        over: lit.as_ref().map(|l| words::over(&l.described, t)).unwrap_or_default(),
        lede: String::new(),
        described: lit.as_ref().map(|l| l.described.clone()),
        since: String::new(),
        earlier: Vec::new(),
        month: words::month(month, t),
        ends: lit.as_ref().map(|l| words::ends(&l.described, t)).unwrap_or_default(),
        lamps: lit.as_ref().map(|l| from_above(&l.described)).unwrap_or_default(),
        cases: Vec::new(),
        wanted: (wanted.flower_from, wanted.flower_to),
        plants: Vec::new(),
        readings: Vec::new(),
        basis: Vec::new(),
        gaps: Vec::new(),
        cautions: Vec::new(),
        energy: None,
    };
    out.lede = match out.standing {
        Standing::NotDescribed => t.t("Nobody has described the light here yet."),
        Standing::Dark => t.t("Dark, as described: neither a window nor a lamp. Is there one?"),
        Standing::NeedsLatitude => {
            t.t("The light of its window cannot be told before the latitude of the house is known.")
        }
        Standing::Known => "",
    }
    .to_owned();
    let Some(lit) = lit else { return Ok(out) };
    dated(reader, &mut out, place.id, &lit, hand)?;
    for way in &lit.ways {
        out.cases.push(case(way, &lit.described, &wanted, month, hand));
    }
    if let Some(first) = out.cases.first() {
        let brightest = out.cases.last().filter(|_| out.cases.len() > 1);
        out.lede = match brightest {
            Some(last) => t.f(
                "What is not known here makes a great difference. {dark}: {low} {bright}: {high}",
                &[
                    ("dark", &first.assumed),
                    ("low", &first.lede),
                    ("bright", &last.assumed),
                    ("high", &last.lede),
                ],
            ),
            None => first.lede.clone(),
        };
    }
    out.plants = plants(&here, &lit, month, hand);
    out.energy = energy(reader, &lit, month, hand)?;
    if let Some((_, model, gains, readings)) = lit.ways.first() {
        out.readings = readings.used.clone();
        basis(&mut out, model, gains.as_ref(), readings, month, hand);
    }
    gaps(&mut out, &lit, model::latitude(reader)?.is_some(), hand);
    out.cautions = cautions(&lit, t);
    Ok(out)
}

/// Lamps as seen from above.
fn from_above(d: &Described) -> Vec<[f64; 4]> {
    let one = |l: &described::LampSaid| {
        let (x, y) = (l.x.unwrap_or(d.width / 2.0), l.y.unwrap_or(d.depth / 2.0));
        [x, y, l.width, l.depth]
    };
    d.lamps.iter().map(one).collect()
}

/// Since when the light is as described, and how it was before.
fn dated(
    reader: &Reader<'_>,
    out: &mut PlaceLight,
    place: i64,
    lit: &Lit,
    hand: &Hand,
) -> Result<()> {
    let say = |day: Option<i64>| -> String {
        let date = day.and_then(|d| i32::try_from(d).ok()).and_then(dates::from_days);
        date.map(|d| dates::say(&dates::Edtf::from_day(d), hand.lang, None)).unwrap_or_default()
    };
    out.since = say(lit.since);
    let t = hand.texts();
    for earlier in described::history(reader, place)?.iter().rev() {
        if earlier.from < lit.since {
            out.earlier.push((say(earlier.from), words::over(&earlier.described, t)));
        }
    }
    Ok(())
}

/// What most plants of a place want.
fn wanted_here(here: &[(PlantRow, Option<(f64, f64)>)]) -> Wants {
    let mut counted: Vec<(Wants, usize)> = Vec::new();
    for (plant, _) in here {
        let wants = Wants::of_genus(&plant.genus);
        match counted.iter_mut().find(|c| c.0 == wants) {
            Some(c) => c.1 += 1,
            None => counted.push((wants, 1)),
        }
    }
    let most = counted.into_iter().max_by_key(|c| c.1);
    most.map_or_else(|| Wants::of_genus("Streptocarpus"), |c| c.0)
}

fn case(
    (guess, model, gains, _): &(Guess, Model, Option<Gains>, Readings),
    d: &Described,
    wanted: &Wants,
    month: usize,
    hand: &Hand,
) -> LightCase {
    let t = hand.texts();
    let rows = ((ACROSS as f64 * d.depth / d.width).round() as usize).clamp(11, ACROSS);
    let mut values = Vec::with_capacity(ACROSS * rows);
    let mut shares = wanted.steps().map(|(enough, least)| (enough, least, [0.0; 12]));
    let mut weights = 0.0;
    for row in 0..rows {
        for column in 0..ACROSS {
            let x = d.width * column as f64 / (ACROSS - 1) as f64;
            let y = d.depth * row as f64 / (rows - 1) as f64;
            let point = model.point(x, y);
            values.push(light(gains.as_ref(), &model.daily(&point, month)).value);
            // A node on the edge stands for half of a cell.
            let half = |k: usize, n: usize| if k == 0 || k + 1 == n { 0.5 } else { 1.0 };
            let weight = half(row, rows) * half(column, ACROSS);
            weights += weight;
            for number in (1..=12).filter(|n| model.first_like(*n) == *n) {
                let value = light(gains.as_ref(), &model.daily(&point, number)).value;
                for (_, least, year) in &mut shares {
                    year[number - 1] += if value >= *least { weight } else { 0.0 };
                }
            }
        }
    }
    for (_, _, year) in &mut shares {
        for number in 1..=12 {
            year[number - 1] = year[model.first_like(number) - 1];
        }
    }
    let shares = shares.map(|(enough, _, year)| (enough, year.map(|s| s / weights)));
    let months = months(model, gains.as_ref(), d, hand);
    let mean = months[month - 1].total.clone();
    let part = |m: &MonthOfLight| m.window / (m.window + m.lamps).max(f64::MIN_POSITIVE);
    let total = |m: &MonthOfLight| m.window + m.lamps;
    let darkest = months.iter().enumerate().min_by(|a, b| total(a.1).total_cmp(&total(b.1)));
    let darkest = darkest.map_or((12, Enough::Dark), |(k, m)| (k + 1, wanted.enough(total(m))));
    let named = |m: Option<&MonthOfLight>| {
        m.map(|m| format!("{} {}", m.name, m.total.shown)).unwrap_or_default()
    };
    let brightest = months.iter().max_by(|a, b| total(a).total_cmp(&total(b)));
    let (brightest, darkest_named) = (named(brightest), named(months.get(darkest.0 - 1)));
    let lede = words::lede(&words::Lede {
        shares,
        window: model
            .sources
            .contains(&Source::Window)
            .then(|| std::array::from_fn(|k| part(&months[k]))),
        lamps: !d.lamps.is_empty(),
        darkest,
        texts: &t,
    });
    LightCase {
        assumed: assumed(*guess, d, hand),
        columns: ACROSS,
        rows,
        levels: levels(&values, wanted, hand),
        table: table(&values, rows, hand),
        brightest,
        darkest: darkest_named,
        share: shares[0].1[month - 1],
        values,
        mean,
        months,
        lede,
    }
}

/// Five by three points of the map, in words.
fn table(values: &[f64], rows: usize, hand: &Hand) -> Vec<Vec<String>> {
    let most = values.iter().copied().fold(0.0, f64::max);
    let digits = digits_for(Some(most / 4.0)).max(1);
    let at = |k: usize, of: usize, n: usize| (k * (n - 1)) / of;
    let row = |r: usize| {
        let one = |c: usize| values[at(r, 2, rows) * ACROSS + at(c, 4, ACROSS)];
        (0..5).map(|c| number(one(c), digits, hand.lang)).collect()
    };
    (0..3).map(row).collect()
}

fn months(model: &Model, gains: Option<&Gains>, d: &Described, hand: &Hand) -> Vec<MonthOfLight> {
    let means = model.mean_daily();
    let one = |month: usize| {
        let computed: Vec<f64> = means.iter().map(|m| m[month - 1]).collect();
        let of = |source: Source| {
            let kept: Vec<f64> = model
                .sources
                .iter()
                .zip(&computed)
                .map(|(s, v)| if *s == source { *v } else { 0.0 })
                .collect();
            light(gains, &kept).value
        };
        let total = light(gains, &computed);
        MonthOfLight {
            name: words::month(month, hand.texts()),
            lamps: of(Source::Lamps),
            window: of(Source::Window),
            // One way only, so there is one.
            total: amount(&[total], hand).unwrap_or_else(|| none(hand)),
            hours: d.lamps.iter().map(|l| l.hours_in(month)).fold(0.0, f64::max),
            direct_minutes: model.most_direct_minutes(month),
        }
    };
    (1..=12).map(one).collect()
}

fn none(hand: &Hand) -> Amount {
    let zero = number(0.0, 0, hand.lang);
    Amount { value: Some(0.0), lower: 0.0, upper: 0.0, shown: zero.clone(), range: zero }
}

/// What is assumed under a way, in words.
fn assumed(guess: Guess, d: &Described, hand: &Hand) -> String {
    let t = hand.texts();
    if guess == Guess::Known {
        return String::new();
    }
    let dark = guess == Guess::Dark;
    let mut parts = Vec::new();
    if let Some(lamp) = d.lamps.iter().find(|l| l.watts.is_none() && l.ppf.is_none()) {
        let watts = number(model::watts(lamp, guess), 0, hand.lang);
        let words = t.f("if the lamp takes {watts} W", &[("watts", &watts)]);
        parts.push(words);
    }
    if let Some(window) = &d.window {
        match (window.direction.is_none(), dark) {
            (true, true) => parts.push(t.t("if the window looks where it is darkest").to_owned()),
            (true, false) => {
                parts.push(t.t("if the window looks where it is brightest").to_owned());
            }
            _ => {}
        }
        match (window.view.is_none() && window.angle.is_none(), dark) {
            (true, true) => parts.push(t.f(
                "if houses hide the sky up to {angle}°",
                &[("angle", &number(model::HIDDEN_AT_MOST, 0, hand.lang))],
            )),
            (true, false) => parts.push(t.t("if nothing hides the sky").to_owned()),
            _ => {}
        }
    }
    let mut words = parts.join(t.t(" and "));
    if let Some(first) = words.get(..1).map(str::to_uppercase) {
        words.replace_range(..1, &first);
    }
    words
}

/// Lines to draw: round numbers, and the limits of the classes with their meaning.
fn levels(values: &[f64], wanted: &Wants, hand: &Hand) -> Vec<LevelSaid> {
    let least = values.iter().copied().fold(f64::INFINITY, f64::min);
    let most = values.iter().copied().fold(0.0, f64::max);
    let t = hand.texts();
    let inside = |v: f64| v > least && v < most;
    let mut out: Vec<LevelSaid> = wanted
        .steps()
        .into_iter()
        .filter(|s| inside(s.1))
        .map(|(enough, value)| LevelSaid {
            value,
            label: number(value, 1, hand.lang),
            meaning: Some(enough.words(t)),
        })
        .collect();
    let step = [0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0];
    let step = step.into_iter().find(|s| (most - least) / s <= 7.0).unwrap_or(20.0);
    let mut k = (least / step).ceil().max(1.0);
    while k * step < most {
        let value = k * step;
        if inside(value) && out.iter().all(|l| (l.value - value).abs() > 0.3 * step) {
            let digits = usize::from(step < 1.0) + usize::from(step < 0.1);
            let label = number(value, digits, hand.lang);
            out.push(LevelSaid { value, label, meaning: None });
        }
        k += 1.0;
    }
    out.sort_by(|a, b| a.value.total_cmp(&b.value));
    out
}

fn plants(
    here: &[(PlantRow, Option<(f64, f64)>)],
    lit: &Lit,
    month: usize,
    hand: &Hand,
) -> Vec<PlantLight> {
    let t = hand.texts();
    let mut out: Vec<PlantLight> = here
        .iter()
        .map(|(plant, spot)| {
            let wants = Wants::of_genus(&plant.genus);
            let ways = spot.map(|s| lit.at(s, month)).unwrap_or_default();
            let said = (!ways.is_empty()).then(|| enough_words(&ways, &wants, t));
            PlantLight {
                mark: None,
                number: plant.number,
                name: display_name(&plant.name, None, hand),
                spot: *spot,
                enough: said.as_ref().map(|s| s.0),
                words: said.map(|s| s.1).unwrap_or_default(),
                light: amount(&ways, hand),
                wants,
            }
        })
        .collect();
    out.sort_by_key(|p| p.spot.is_none());
    for (k, plant) in out.iter_mut().enumerate() {
        plant.mark = plant.spot.map(|_| k + 1);
    }
    out
}

fn energy(reader: &Reader<'_>, lit: &Lit, month: usize, hand: &Hand) -> Result<Option<Energy>> {
    let t = hand.texts();
    let sum = |guess: Guess| -> f64 {
        let one = |lamp: &described::LampSaid| {
            // Cannot fail: both were checked when they were typed.
            daily::energy(model::watts(lamp, guess), lamp.hours_in(month), 30.5).unwrap_or(0.0)
        };
        lit.described.lamps.iter().map(one).sum()
    };
    let kwh = (sum(Guess::Dark), sum(Guess::Bright));
    if kwh.1 <= 0.0 {
        return Ok(None);
    }
    let digits = usize::from(kwh.1 < 10.0);
    let range = |price: f64, digits: usize| {
        crate::said::range_words(kwh.0 * price, kwh.1 * price, digits, hand.lang)
    };
    let shown = t.f("{n} kWh a month", &[("n", &range(1.0, digits))]);
    let money = match reader.setting("price_per_kwh")?.as_deref().map(crate::acts::light::price_of)
    {
        Some(Some((price, currency))) => {
            let sum = range(price, 2);
            Some(t.f("{sum} {currency} a month", &[("sum", &sum), ("currency", &currency)]))
        }
        _ => None,
    };
    Ok(Some(Energy { kwh, shown, money }))
}

/// On what the light rests: the description, readings, and what plants want.
fn basis(
    out: &mut PlaceLight,
    model: &Model,
    gains: Option<&Gains>,
    readings: &Readings,
    month: usize,
    hand: &Hand,
) {
    let t = hand.texts();
    match (readings.used.len(), gains, model.unread()) {
        (n, Some(gains), Ok(unread)) if n > 0 => {
            let means: Vec<f64> = model.mean_daily().iter().map(|m| m[month - 1]).collect();
            let log_width = |e: Estimate| (e.upper / e.lower).ln();
            let times = log_width(unread.light(&means)) / log_width(gains.light(&means)).max(1e-9);
            out.basis.push(t.f(
                "Modelled from the description, then set by one reading.|Modelled from the description, then set by {n} readings.",
                &[("n", &n)],
            ));
            if times >= 1.2 {
                out.basis.push(t.f(
                    "Without them the range would be {times} times as wide.",
                    &[("times", &number(times, 1, hand.lang))],
                ));
            }
            for odd in readings.used.iter().filter(|r| r.surprise.abs() > 3.0) {
                out.gaps.push(t.f(
                    "The reading of {date}, {typed}, is far from what was computed for that spot ({computed} µmol m⁻² s⁻¹): look for a wrong unit or a lamp that was off.",
                    &[
                        ("date", &odd.date),
                        ("typed", &odd.typed),
                        ("computed", &number(odd.computed, 0, hand.lang)),
                    ],
                ));
            }
        }
        _ => out.basis.push(t.t("Modelled from the description alone.").to_owned()),
    }
    out.basis.push(t.t("What each plant wants is common practice, by its genus.").to_owned());
    let notes = [
        (readings.nowhere, t.f(
            "One reading does not say where it was taken and was not used.|{n} readings do not say where they were taken and were not used.",
            &[("n", &readings.nowhere)],
        )),
        (readings.before, t.f(
            "One reading is older than these lamps and was not used.|{n} readings are older than this light and were not used.",
            &[("n", &readings.before)],
        )),
        (readings.useless, t.f(
            "One reading could not be compared: no light was computed for it, or its colour does not allow lux.|{n} readings could not be compared: no light was computed for them, or its colour does not allow lux.",
            &[("n", &readings.useless)],
        )),
    ];
    out.gaps.extend(notes.into_iter().filter(|n| n.0 > 0).map(|n| n.1));
}

fn gaps(out: &mut PlaceLight, lit: &Lit, latitude: bool, hand: &Hand) {
    let t = hand.texts();
    let d = &lit.described;
    if lit.standing == Standing::Known && out.readings.is_empty() {
        out.gaps.push(t.t("One reading with a lux meter at leaf height, with the spot where it was taken, would halve the range or better.").to_owned());
    }
    if d.lamps.iter().any(|l| l.watts.is_none() && l.ppf.is_none()) {
        out.gaps.push(t.t("Read the watts at the plug, or the label: until then there are two cases, not one number.").to_owned());
    }
    if let Some(window) = &d.window {
        if window.direction.is_none() {
            out.gaps.push(
                t.t("Say where the window looks; until then the range runs over all directions.")
                    .to_owned(),
            );
        }
        if window.view.is_none() && window.angle.is_none() {
            out.gaps.push(t.t("Say what is seen outside; until then the range runs from open sky to houses close by.").to_owned());
        }
        if !latitude {
            out.gaps.push(t.t("The latitude of the house is not known; it is asked once, under House. Until then the window counts for nothing here.").to_owned());
        }
    }
    let unplaced = out.plants.iter().filter(|p| p.spot.is_none()).count();
    if unplaced > 0 {
        out.gaps.push(t.f(
            "Nobody has said where on it one plant stands.|Nobody has said where on it {n} plants stand.",
            &[("n", &unplaced)],
        ));
    }
}
