//! The light of a place: map, plants, year; its description; moves.

use answers::{
    acts,
    light::{self, LightCase, LightTyped, MOST_LAMPS, PlaceLight, Standing, Typed},
};
use axum::{
    Form,
    extract::{Path, Query},
};
use drawing::{
    Above, Grid, Level, LightMap, MapWords, MonthLight, PlantMark, YearLight, YearWords,
};
use maud::{Markup, PreEscaped, html};
use texts::Texts;

use super::super::ask::{Answered, Ask, go};
use crate::{
    WebError,
    forms::{Sent, choice, field, line},
    layout::{Nav, title},
    markup,
};

/// The sections of a place's page about light.
pub(super) fn sections(light: &PlaceLight, t: Texts) -> Markup {
    html! {
        @if light.cases.is_empty() {
            section {
                h2 { (t.t("Daily light where the leaves are")) }
                p { (light.lede) }
                @for gap in &light.gaps { p.note { (gap) } }
                (ways_in(light, t))
            }
        } @else {
            @for (k, case) in light.cases.iter().enumerate() { (map(light, case, k, t)) }
            (plants(light, t))
            @for (k, case) in light.cases.iter().enumerate() { (year(light, case, k, t)) }
        }
    }
}

fn ways_in(light: &PlaceLight, t: Texts) -> Markup {
    let here = format!("/places/{}", light.place);
    html! {
        div class="n-row gap" {
            @match light.standing {
                Standing::NeedsLatitude => { a href="/house#light" { (t.t("Tell the latitude of the house")) } }
                Standing::NotDescribed | Standing::Dark => {
                    a href=(format!("{here}/light?preset=lamp")) { (t.t("One lamp over one shelf")) }
                    a href=(format!("{here}/light?preset=window")) { (t.t("One window")) }
                }
                Standing::Known => {}
            }
            a href=(format!("{here}/light")) { (t.t("Describe its window and lamps")) }
        }
    }
}

fn map(light: &PlaceLight, case: &LightCase, k: usize, t: Texts) -> Markup {
    let Some(d) = &light.described else { return html! {} };
    let levels: Vec<Level<'_>> = case
        .levels
        .iter()
        .map(|l| Level { value: l.value, label: &l.label, meaning: l.meaning })
        .collect();
    let lamps: Vec<Above> =
        light.lamps.iter().map(|l| Above { x: l[0], y: l[1], width: l[2], depth: l[3] }).collect();
    let readings: Vec<(f64, f64)> = light.readings.iter().map(|r| (r.x, r.y)).collect();
    let marks: Vec<(String, String, String)> = light
        .plants
        .iter()
        .filter_map(|p| {
            let href = format!("/plants/{}", p.number);
            Some((p.mark?.to_string(), format!("{} {}", p.name.plain, p.number), href))
        })
        .collect();
    let plants: Vec<PlantMark<'_>> = light
        .plants
        .iter()
        .filter_map(|p| p.spot)
        .zip(&marks)
        .map(|((x, y), (mark, name, href))| PlantMark { x, y, mark, name, href })
        .collect();
    let low = case.levels.first().map_or("", |l| l.label.as_str());
    let high = case.levels.last().map_or("", |l| l.label.as_str());
    let aria = t.f(
        "Daily light over the place as lines of equal light from {low} to {high} mol per square metre and day; plants marked: {plants}, readings: {readings}",
        &[("low", &low), ("high", &high), ("plants", &plants.len()), ("readings", &readings.len())],
    );
    let [left, middle, right] = &light.ends;
    let words = MapWords {
        left,
        middle,
        right,
        unit: "cm",
        aria: &aria,
        id: if k == 0 { "light" } else { "light-b" },
    };
    let drawn = LightMap {
        width: d.width,
        depth: d.depth,
        grid: Grid { columns: case.columns, rows: case.rows, values: &case.values },
        levels: &levels,
        lamps: &lamps,
        readings: &readings,
        plants: &plants,
    };
    let heavy = case.levels.iter().any(|l| l.meaning.is_some());
    html! {
        section class=(if k == 0 { "" } else { "sect" }) {
            h2 {
                (t.f("Daily light where the leaves are, {month}", &[("month", &light.month)]))
                @if !case.assumed.is_empty() { ". " (case.assumed) }
            }
            p.note {
                @if heavy { (t.t("Each heavy line says what the light is enough for on its brighter side; the numbers on the lines are")) }
                @else { (t.t("The numbers on the lines are")) }
                " " span.unit { "mol m⁻² d⁻¹" } ". "
                (t.t("Circles are plants; crosses are readings with the meter; dashed are the lamps. The back is above."))
            }
            div.gap { (PreEscaped(drawing::light_maps(&drawn, &words))) }
            details.more {
                summary { (t.t("The map as a table")) }
                table class="t num" {
                    caption.vh { (t.t("Daily light over the place, mol m⁻² d⁻¹")) }
                    thead { tr {
                        th scope="col" {} th scope="col" { (t.t("left")) } th scope="col" {} th scope="col" { (t.t("middle")) } th scope="col" {} th scope="col" { (t.t("right")) }
                    } }
                    tbody {
                        @for (name, row) in [t.t("back"), t.t("middle"), t.t("front")].iter().zip(&case.table) {
                            tr { th scope="row" { (name) } @for cell in row { td.c { (cell) } } }
                        }
                    }
                }
            }
        }
    }
}

fn plants(light: &PlaceLight, t: Texts) -> Markup {
    let here = format!("/places/{}", light.place);
    let unplaced: Vec<_> = light.plants.iter().filter(|p| p.spot.is_none()).collect();
    html! {
        section.sect id="light" {
            div.cols {
                div {
                    @if light.plants.iter().any(|p| p.mark.is_some()) {
                        table class="t key stack" {
                            caption.vh { (t.t("What each plant gets")) }
                            colgroup { col; col; col; col; col; }
                            thead { tr {
                                th.no { (t.t("Mark")) } th { (t.t("Plant")) } th { (t.t("For this plant, usually")) }
                                th.r { span.unit { "mol m⁻² d⁻¹" } } th.r { (t.t("8 in 10")) }
                            } }
                            tbody {
                                @for p in light.plants.iter().filter(|p| p.mark.is_some()) {
                                    tr data-row {
                                        td class="no num" { (p.mark.unwrap_or_default()) }
                                        td.nm { (markup::linked(&p.name, p.number)) " " span.small { (p.number) } }
                                        td class="wd c" { (p.words) }
                                        td class="lt r num" { @if let Some(l) = &p.light { (l.shown) } }
                                        td class="iv8 lt r num" { @if let Some(l) = &p.light { (l.range) } }
                                    }
                                }
                            }
                        }
                    }
                    @if !unplaced.is_empty() {
                        details.more open[unplaced.len() <= 6] {
                            summary { (t.f("One plant without a spot|{n} plants without a spot", &[("n", &unplaced.len())])) }
                            form.form method="post" action=(format!("{here}/spots")) {
                                p.note { (t.t("Write centimetres from the left and from the back, such as 40, 15, or words such as left front.")) }
                                @for p in unplaced.iter().take(60) {
                                    label.line {
                                        span { (markup::linked(&p.name, p.number)) " " (p.number) }
                                        input name=(format!("spot-{}", p.number)) autocomplete="off";
                                    }
                                }
                                button.btn { (t.t("Put them there")) }
                            }
                        }
                    }
                }
                div {
                    @for sentence in &light.basis { p.note { (sentence) } }
                    @for r in &light.readings {
                        p.note {
                            (t.f("{date}: {typed} at {x}, {y} cm", &[("date", &r.date), ("typed", &r.typed), ("x", &r.x), ("y", &r.y)]))
                        }
                    }
                    @for gap in &light.gaps { p.note { (gap) } }
                    @if let Some(energy) = &light.energy {
                        p.note {
                            (t.t("The lamps take")) " " b { (energy.shown) }
                            @if let Some(money) = &energy.money { ", " (money) }
                            "."
                        }
                    }
                    @for (since, what) in &light.earlier {
                        p.note {
                            @if since.is_empty() { (t.f("Before that: {what}", &[("what", what)])) }
                            @else { (t.f("Since {date}: {what}", &[("date", since), ("what", what)])) }
                        }
                    }
                    div class="n-row gap" {
                        a href=(format!("{here}/light")) { (t.t("Change window and lamps")) }
                        a href=(format!("{here}/log?kind=reading")) { (t.t("Write a reading")) }
                        a href=(format!("{here}/what-if")) { (t.t("What if a plant stood here?")) }
                        a href=(format!("{here}/arrange")) { (t.t("Who stands where")) }
                        a href="/how/light" { (t.t("How this was computed")) }
                    }
                    @for caution in &light.cautions { p class="note caution gap" { (caution) } }
                }
            }
        }
    }
}

fn year(light: &PlaceLight, case: &LightCase, k: usize, t: Texts) -> Markup {
    let months: Vec<MonthLight> = case
        .months
        .iter()
        .map(|m| MonthLight {
            lamps: m.lamps,
            total: m.total.value.unwrap_or_default(),
            lower: m.total.lower,
            upper: m.total.upper,
        })
        .collect();
    let letters: Vec<String> =
        case.months.iter().map(|m| m.name.chars().take(1).collect()).collect();
    let hours = case.months.first().map_or(0.0, |m| m.hours);
    let (from, to) = light.wanted;
    let wanted = t.f("{from} to {to}, wanted to flower", &[("from", &from), ("to", &to)]);
    let lamps = t.f("lamps, {hours} h", &[("hours", &hours)]);
    let aria = t.f(
        "Daily light month by month: brightest {brightest}, darkest {darkest} mol per square metre and day",
        &[("brightest", &case.brightest), ("darkest", &case.darkest)],
    );
    let words = YearWords {
        months: std::array::from_fn(|m| letters.get(m).map_or("", String::as_str)),
        wanted: &wanted,
        lamps: if hours > 0.0 { &lamps } else { "" },
        brightest: &case.brightest,
        darkest: &case.darkest,
        aria: &aria,
    };
    let drawn = YearLight { months: &months, wanted: Some(light.wanted) };
    html! {
        section.sect id=(if k == 0 { "year" } else { "year-b" }) {
            h2 {
                (t.t("The year, on average over the place"))
                @if !case.assumed.is_empty() { ". " (case.assumed) }
            }
            p.note { (t.t("Lamps are the dark line, daylight the pale bar above it, both together the dot; whiskers hold 8 in 10.")) " " span.unit { "mol m⁻² d⁻¹" } }
            div class="two gap" {
                div { (PreEscaped(drawing::year_lights(&drawn, &words))) }
                div {
                    table class="t num months" {
                        caption.vh { (t.t("Daily light month by month")) }
                        thead { tr {
                            th scope="col" { (t.t("Month")) } th.r scope="col" { (t.t("lamps")) } th.r scope="col" { (t.t("window")) }
                            th.r scope="col" { (t.t("both")) } th.r scope="col" { (t.t("8 in 10")) } th.r scope="col" { (t.t("direct sun, min")) }
                        } }
                        tbody {
                            @for m in &case.months {
                                tr {
                                    th scope="row" { (m.name) }
                                    td.r { (format!("{:.1}", m.lamps)) } td.r { (format!("{:.1}", m.window)) }
                                    td class="r c" { (m.total.shown) } td class="r c" { (m.total.range) } td.r { (format!("{:.0}", m.direct_minutes)) }
                                }
                            }
                        }
                    }
                    p class="note gap" { (t.t("Direct sun: the most that any spot gets on a cloudless day.")) }
                }
            }
        }
    }
}

/// A word that may be chosen, in the reader's language.
fn option(word: &str, t: Texts) -> &'static str {
    match word {
        "north" => t.t("north"),
        "north_east" => t.t("north-east"),
        "east" => t.t("east"),
        "south_east" => t.t("south-east"),
        "south" => t.t("south"),
        "south_west" => t.t("south-west"),
        "west" => t.t("west"),
        "north_west" => t.t("north-west"),
        "none" => t.t("no glass at all"),
        "single" => t.t("one pane"),
        "double" => t.t("two panes"),
        "coated" => t.t("two panes, coated against loss of heat"),
        "triple" => t.t("three panes"),
        "white_led" => t.t("white LED bulb, tube or strip"),
        "plant_bar" => t.t("LED bar or panel made for plants"),
        "red_rich" => t.t("LED fixture rich in red"),
        "sodium" => t.t("sodium lamp"),
        "open" => t.t("open"),
        "wood" => t.t("wood"),
        "white" => t.t("white paint"),
        "film" => t.t("reflecting film or mirrors"),
        "back" => t.t("back"),
        "left" => t.t("left"),
        "right" => t.t("right"),
        "front" => t.t("front"),
        "houses" => t.t("houses"),
        "trees" => t.t("trees"),
        _ => t.t("not known"),
    }
}

fn words_of(list: &[&str], t: Texts) -> Vec<(String, String)> {
    list.iter().map(|w| ((*w).to_owned(), option(w, t).to_owned())).collect()
}

/// The form that describes the light of a place.
pub(crate) async fn light_form(
    ask: Ask,
    Path(number): Path<i64>,
    Query(sent): Query<Sent>,
) -> Answered {
    let t = ask.t();
    let found = ask.read(|r| Ok(light::place_light(r, number, &ask.hand)?))?;
    let preset = light::Described::preset(field(&sent, "preset"));
    let shown = preset.or(found.described).map(|d| light::typed_of(&d)).unwrap_or_default();
    let value = |key: &str| shown.place.get(key).map_or("", String::as_str);
    let empty = Typed::new();
    let lamps = shown.lamps.iter().chain(std::iter::once(&empty)).take(MOST_LAMPS);
    let mut directions = words_of(&light::DIRECTIONS, t);
    let mut views = words_of(&light::VIEWS, t);
    directions.extend(words_of(&["unknown"], t));
    views.extend(words_of(&["unknown"], t));
    let over = html! { a href=(format!("/places/{number}")) { (found.name) } };
    let body = html! {
        (title(&over, &html! { (t.t("Its window and lamps")) }, Some(t.t("What is left open is taken as usual; what nobody knows is better left unknown than guessed."))))
        div.n-row {
            a href=(format!("/places/{number}/light?preset=lamp")) { (t.t("Begin with one lamp over one shelf")) }
            a href=(format!("/places/{number}/light?preset=window")) { (t.t("Begin with one window")) }
        }
        form class="form gap" method="post" {
            h2 { (t.t("Size")) }
            (line(t.t("From left to right"), "width", value("width"), t.t("in cm unless you write another unit")))
            (line(t.t("From back to front"), "depth", value("depth"), ""))
            (choice(t.t("At its sides"), "walls", &words_of(&light::WALLS, t), value("walls")))
            h2 { (t.t("Window")) }
            (choice(t.t("It looks"), "window", &directions, value("window")))
            (choice(t.t("Seen from the front it is at the"), "side", &words_of(&light::SIDES, t), value("side")))
            (line(t.t("Glass, width"), "glass_width", value("glass_width"), ""))
            (line(t.t("Glass, height"), "glass_height", value("glass_height"), ""))
            (line(t.t("From the glass to the nearest edge"), "distance", value("distance"), ""))
            (line(t.t("Lower edge of the glass above the leaves"), "sill", value("sill"), t.t("negative when the leaves stand higher")))
            (choice(t.t("Kind of glass"), "glass", &words_of(&light::GLASS, t), value("glass")))
            (choice(t.t("Seen outside"), "view", &views, value("view")))
            (line(t.t("They hide the sky up to"), "angle", value("angle"), t.t("degrees above the horizon; a hand at arm's length is about 20")))
            label.tick { input type="checkbox" name="curtain" value="yes" checked[value("curtain") == "yes"]; (t.t("a net curtain hangs before it")) }
            @for (k, lamp) in lamps.enumerate() {
                @let of = |key: &str| lamp.get(key).map_or("", String::as_str);
                @let key = |key: &str| format!("lamp{k}-{key}");
                h2 { @if lamp.is_empty() { (t.t("One more lamp")) } @else { (t.f("Lamp {n}", &[("n", &(k + 1))])) } }
                (choice(t.t("Kind"), &key("kind"), &words_of(&light::LAMPS, t), of("kind")))
                (line(t.t("Watts at the plug"), &key("watts"), of("watts"), t.t("empty when not known: then there are two cases")))
                (line(t.t("Photons by the label"), &key("ppf"), of("ppf"), t.t("µmol/s, only where the label says so")))
                (line(t.t("Width of what shines"), &key("width"), of("width"), ""))
                (line(t.t("Depth of what shines"), &key("depth"), of("depth"), ""))
                (line(t.t("Beam of a bulb with a lens"), &key("beam"), of("beam"), t.t("full angle in degrees; empty for bars and panels")))
                (line(t.t("Above the leaves"), &key("height"), of("height"), ""))
                (line(t.t("Its middle from the left"), &key("x"), of("x"), t.t("empty for the middle of the place")))
                (line(t.t("Its middle from the back"), &key("y"), of("y"), ""))
                (line(t.t("Hours a day"), &key("hours"), of("hours"), ""))
                (line(t.t("Hours a day from April to September"), &key("summer_hours"), of("summer_hours"), t.t("empty when the same")))
                (line(t.t("New since"), &key("new"), of("new"), t.t("a date, as vague as you like")))
                label.tick { input type="checkbox" name=(key("dusty")) value="yes" checked[of("dusty") == "yes"]; (t.t("it is never wiped")) }
            }
            h2 { (t.t("Since when")) }
            (line(t.t("It is so since"), "since", "", t.t("empty: the first description holds always, a later one from today")))
            button.btn.main { (t.t("Keep")) }
        }
    };
    ask.show(Nav::Places, t.t("Its window and lamps"), &body)
}

/// Describes the light of a place.
pub(crate) async fn describe(
    ask: Ask,
    Path(number): Path<i64>,
    Form(sent): Form<Sent>,
) -> Answered {
    let mut typed = LightTyped { place: Typed::new(), lamps: vec![Typed::new(); MOST_LAMPS] };
    for (key, value) in &sent {
        let lamp = key.strip_prefix("lamp").and_then(|rest| rest.split_once('-'));
        match lamp.and_then(|(k, key)| Some((k.parse::<usize>().ok()?, key))) {
            Some((k, key)) => {
                if let Some(lamp) = typed.lamps.get_mut(k) {
                    lamp.insert(key.to_owned(), value.clone());
                }
            }
            None => {
                typed.place.insert(key.clone(), value.clone());
            }
        }
    }
    acts::describe_light(&ask.journal(), &ask.hand, number, &typed, field(&sent, "since"))
        .map_err(|e| ask.failed(e))?;
    go(&format!("/places/{number}"))
}

/// Puts plants on their spots.
pub(crate) async fn spots(ask: Ask, Path(number): Path<i64>, Form(sent): Form<Sent>) -> Answered {
    let mut list: Vec<(i64, i64, String)> = sent
        .iter()
        .filter(|(_, spot)| !spot.trim().is_empty())
        .filter_map(|(key, spot)| {
            let plant = key.strip_prefix("spot-")?;
            // Without a place of its own a plant goes to a spot of this one.
            let place = field(&sent, &format!("place-{plant}")).parse().unwrap_or(number);
            Some((plant.parse().ok()?, place, spot.clone()))
        })
        .collect();
    list.sort_unstable();
    acts::put_at_places(&ask.journal(), &ask.hand, &list).map_err(|e| ask.failed(e))?;
    go(&format!("/places/{number}#light"))
}

/// What a move of a plant to this place would do.
pub(crate) async fn what_if(
    ask: Ask,
    Path(number): Path<i64>,
    Query(sent): Query<Sent>,
) -> Answered {
    let t = ask.t();
    let typed = field(&sent, "plant");
    let plant = match typed.trim_start_matches('#') {
        "" => None,
        n => Some(n.parse::<i64>().map_err(|_| {
            ask.failed(WebError::form("plant", n, "is not the number of a plant; write its number"))
        })?),
    };
    let tender = field(&sent, "tender") == "yes";
    let spot = field(&sent, "spot");
    let (name, found) = ask.read(|r| {
        let name = r.place(number)?.map(|p| p.name).unwrap_or_default();
        let found =
            plant.map(|p| light::what_if(r, p, number, spot, tender, &ask.hand)).transpose()?;
        Ok((name, found))
    })?;
    let over = html! { a href=(format!("/places/{number}")) { (name) } };
    let body = html! {
        (title(&over, &html! { (t.t("What if a plant stood here?")) }, None))
        form.form method="get" {
            (line(t.t("Plant"), "plant", typed, t.t("its number")))
            (line(t.t("Spot"), "spot", spot, t.t("such as 40, 15 or left front; empty for the middle")))
            label.tick { input type="checkbox" name="tender" value="yes" checked[tender]; (t.t("its leaves are variegated or velvet")) }
            button.btn.main { (t.t("Look")) }
        }
        @if let Some(w) = &found {
            section.sect {
                h2 { (markup::name(&w.name)) " " (w.plant) }
                div.row {
                    div {
                        p class="say c" { (w.sentence) }
                        @if !w.danger.is_empty() { p.gap { (w.danger) } }
                        @if w.steps.len() > 1 {
                            table class="t num gap" {
                                caption.vh { (t.t("Steps")) }
                                thead { tr { th scope="col" { (t.t("From")) } th.r scope="col" { span.unit { "mol m⁻² d⁻¹" } } } }
                                tbody { @for s in &w.steps { tr { td { (s.date) } td class="r c" { (s.light) } } } }
                            }
                        }
                    }
                    div { @for c in &w.cautions { p class="note caution" { (c) } } }
                }
            }
        }
    };
    ask.show(Nav::Places, t.t("What if a plant stood here?"), &body)
}

/// Who stands where.
pub(crate) async fn arrange(
    ask: Ask,
    Path(number): Path<i64>,
    Query(sent): Query<Sent>,
) -> Answered {
    let t = ask.t();
    let numbers = |key: &str| -> Vec<i64> {
        let typed = field(&sent, key).replace([',', ';', '#'], " ");
        typed.split_whitespace().filter_map(|n| n.parse().ok()).collect()
    };
    let limit = field(&sent, "moves");
    let typed = light::ArrangeTyped {
        places: std::iter::once(number)
            .chain(numbers("with").into_iter().filter(|n| *n != number))
            .collect(),
        plants: numbers("plants"),
        free: field(&sent, "free")
            .split(';')
            .map(str::trim)
            .filter(|s| !s.is_empty())
            .map(str::to_owned)
            .collect(),
        limit: limit.parse().unwrap_or(3),
    };
    let (name, found) = ask.read(|r| {
        let name = r.place(number)?.map(|p| p.name).unwrap_or_default();
        Ok((name, light::arrange(r, &typed, &ask.hand)?))
    })?;
    let over = html! { a href=(format!("/places/{number}")) { (name) } };
    let body = html! {
        (title(&over, &html! { (t.t("Who stands where")) }, Some(&found.sentence)))
        form.form method="get" {
            (line(t.t("No more moves than"), "moves", &typed.limit.to_string(), ""))
            (line(t.t("Plants that may move"), "plants", field(&sent, "plants"), t.t("numbers; empty for all here whose spot is known")))
            (line(t.t("And the plants of places"), "with", field(&sent, "with"), t.t("numbers of places whose light is described; empty for this one only")))
            (line(t.t("Free spots"), "free", field(&sent, "free"), t.t("such as 90, 20; 110, 10; empty to have some proposed")))
            button.btn.main { (t.t("Look")) }
        }
        section.sect {
            @if !found.moves.is_empty() {
                form method="post" action=(format!("/places/{number}/spots")) {
                    table class="t stack" {
                        thead { tr {
                            th { (t.t("Plant")) } th { (t.t("From")) } th { (t.t("To")) } th { (t.t("Why")) } th.r { span.unit { "mol m⁻² d⁻¹" } }
                        } }
                        tbody {
                            @for m in &found.moves {
                                tr {
                                    td { (markup::linked(&m.name, m.plant)) " " span.small { (m.plant) } input type="hidden" name=(format!("spot-{}", m.plant)) value=(m.spot); input type="hidden" name=(format!("place-{}", m.plant)) value=(m.place); }
                                    td.num { (m.from) } td.num { (m.to) }
                                    td.c { (m.reason) @if !m.way.is_empty() { "; " (m.way) } }
                                    td class="r num c" { (m.now.shown) " → " (m.then.shown) }
                                }
                            }
                        }
                    }
                    p.gap { button.btn { (t.t("They stand there now")) } }
                }
            }
            p.note { (t.f("Plants considered: {plants}; free spots: {free}.", &[("plants", &found.plants), ("free", &found.free)])) }
            @if found.without_spot > 0 {
                p.note { (t.f("One plant is left out: nobody has said where it stands.|{n} plants are left out: nobody has said where they stand.", &[("n", &found.without_spot)])) }
            }
            @if !found.proven { p.note { (t.t("The search was cut short: there may be a better order.")) } }
        }
    };
    ask.show(Nav::Places, t.t("Who stands where"), &body)
}
