//! The air of a place in words.

use culture::air::stress_watch;
use texts::Texts;

use super::{DayAir, DayState, LEAST_DAYS, LitHow, PlaceAir, Usual};
use crate::{
    Bit, BitKind, Hand,
    said::{chance_words, day_words, digits_for, number, range_words},
};

fn bit(kind: BitKind, text: String) -> Bit {
    Bit { kind, text }
}

/// Cuts a sentence at its marks `{a}`, `{b}` … and puts values in place.
fn sentence(frame: &str, values: &[(&str, Vec<Bit>)]) -> Vec<Bit> {
    let mut out = Vec::new();
    let mut rest = frame;
    while let Some((before, after)) = rest.split_once('{') {
        let Some((mark, after)) = after.split_once('}') else { break };
        if !before.is_empty() {
            out.push(bit(BitKind::Plain, before.to_owned()));
        }
        if let Some((_, bits)) = values.iter().find(|v| v.0 == mark) {
            out.extend(bits.iter().cloned());
        }
        rest = after;
    }
    if !rest.is_empty() {
        out.push(bit(BitKind::Plain, rest.to_owned()));
    }
    out
}

fn usual_bits(usual: &Usual, with_unit: &dyn Fn(&str) -> String, t: Texts) -> Vec<Bit> {
    let digits = digits_for(Some(usual.upper - usual.lower));
    let value = number(usual.value, digits, t.lang());
    let range = range_words(usual.lower, usual.upper, digits, t.lang());
    vec![bit(BitKind::Value, with_unit(&value)), bit(BitKind::Interval, format!(" ({range})"))]
}

fn computed(text: String) -> Vec<Bit> {
    vec![bit(BitKind::Value, text)]
}

/// Writes sentences, basis, gaps and cautions.
pub(super) fn put_into_words(air: &mut PlaceAir, hand: &Hand) {
    let t = hand.texts();
    air.sentences = Vec::new();
    match (&air.by_day, &air.by_night) {
        (Some(day), Some(night)) => {
            let one = |u: &Usual| usual_bits(u, &|v| format!("{v} kPa"), t);
            let frame =
                t.t("The deficit at the leaves is usually {day} by day and {night} by night.");
            air.sentences.push(sentence(frame, &[("day", one(day)), ("night", one(night))]));
            verdict(air, t);
        }
        (Some(day), None) => {
            let frame = t.t("The deficit at the leaves is usually {day} by day.");
            air.sentences
                .push(sentence(frame, &[("day", usual_bits(day, &|v| format!("{v} kPa"), t))]));
            verdict(air, t);
        }
        _ => not_enough(air, t),
    }
    machine(air, t);
    dew(air, t);
    extremes(air, hand);
    basis(air, hand);
    gaps(air, t);
    cautions(air, t);
}

fn not_enough(air: &mut PlaceAir, t: Texts) {
    let frame = t.t("Dryness by day and by night: {value}.");
    let absent = vec![bit(BitKind::Absent, t.t("not enough yet").to_owned())];
    air.sentences.push(sentence(frame, &[("value", absent)]));
    air.gaps.push(t.f(
        "One day with 20 hours of readings is recorded, {need} are needed.|{n} days with 20 hours of readings are recorded, {need} are needed.",
        &[("n", &air.valued), ("need", &LEAST_DAYS)],
    ));
    air.gaps.push(if air.loggers.is_empty() {
        t.t("Hang a logger here and take its file in.").to_owned()
    } else {
        t.t("Read the logger again.").to_owned()
    });
}

fn verdict(air: &mut PlaceAir, t: Texts) {
    let days = |frame: &str, n: usize| {
        let count = t.f("one of {of} days|{n} of {of} days", &[("n", &n), ("of", &air.valued)]);
        sentence(frame, &[("days", computed(count))])
    };
    let found = if air.drier == 0 && air.wetter == 0 {
        sentence(t.t("By day the air was as wanted on all days."), &[])
    } else if air.drier >= air.wetter {
        days(t.t("By day the air was drier than wanted on {days}."), air.drier)
    } else {
        days(t.t("By day the air was moister than wanted on {days}."), air.wetter)
    };
    air.sentences.push(found);
    if air.by_day.is_some_and(|d| stress_watch(d.value)) {
        air.sentences.push(sentence(t.t("So dry by day, buds may drop: look at them."), &[]));
    }
}

fn machine(air: &mut PlaceAir, t: Texts) {
    let Some(m) = &air.machine else { return };
    let litres = |u: &Usual| usual_bits(u, &|v| t.f("one litre|{n} litres", &[("n", &v)]), t);
    if m.litres.value > 0.0 {
        let frame = t.t("Water into this air, {litres} a day, would bring it back.");
        air.sentences.push(sentence(frame, &[("litres", litres(&m.litres))]));
        return;
    }
    let out = Usual { value: -m.litres.value, lower: -m.litres.upper, upper: -m.litres.lower };
    let frame = t.t("Water taken out of this air, {litres} a day, would bring it back.");
    let mut said = sentence(frame, &[("litres", litres(&out))]);
    if let Some(size) = m.size {
        let size = computed(number(size, 0, t.lang()));
        said.push(bit(BitKind::Plain, " ".to_owned()));
        let frame = t.t("That is a dehumidifier of {size} litres by its box.");
        said.extend(sentence(frame, &[("size", size)]));
    }
    if let Some(kelvin) = m.warming {
        let degrees = computed(format!("{} K", number(kelvin, 1, t.lang())));
        said.push(bit(BitKind::Plain, " ".to_owned()));
        said.extend(sentence(t.t("It would warm the room by {degrees}."), &[("degrees", degrees)]));
    }
    air.sentences.push(said);
}

fn dew(air: &mut PlaceAir, t: Texts) {
    let Some(d) = &air.dew else { return };
    let u = &d.hours_a_week;
    let hours = if u.upper < 0.25 {
        computed(t.t("none").to_owned())
    } else {
        usual_bits(u, &|v| t.f("one hour a week|{n} hours a week", &[("n", &v)]), t)
    };
    let frame = t.t("Dew on the glass: usually {hours}; next: {tonight}.");
    let tonight = computed(t.f("tonight, {chance}", &[("chance", &chance_words(d.tonight, t))]));
    air.sentences.push(sentence(frame, &[("hours", hours), ("tonight", tonight)]));
}

/// The coldest and the hottest of the four weeks, where they are beyond the limits.
fn extremes(air: &mut PlaceAir, hand: &Hand) {
    let t = hand.texts();
    let cold = air.days.iter().filter_map(|d| Some((d.coldest?, d.day)));
    let cold = cold.min_by(|a, b| a.0.total_cmp(&b.0)).filter(|c| c.0 < air.settings.cold_limit());
    let heat = air.days.iter().filter_map(|d| Some((d.warmest?, d.day)));
    let heat = heat.max_by(|a, b| a.0.total_cmp(&b.0)).filter(|c| c.0 > air.settings.heat_limit());
    let told = [
        (cold, t.t("Too cold: {degrees} on {day}."), air.settings.cold_limit()),
        (heat, t.t("Too hot: {degrees} on {day}."), air.settings.heat_limit()),
    ];
    for (found, frame, limit) in told {
        let Some((degrees, day)) = found else { continue };
        let degrees = computed(format!("{} °C", number(degrees, 1, t.lang())));
        let day = vec![bit(BitKind::Plain, day_words(day, hand))];
        let mut said = sentence(frame, &[("degrees", degrees), ("day", day)]);
        let limit = t.f("The limit is {limit} °C.", &[("limit", &number(limit, 0, t.lang()))]);
        said.push(bit(BitKind::Plain, format!(" {limit}")));
        air.sentences.push(said);
    }
}

fn basis(air: &mut PlaceAir, hand: &Hand) {
    let t = hand.texts();
    let Some(logger) = &air.logger else { return };
    let (first, last) = super::four_weeks_of(air.last_day);
    air.basis.push(t.f(
        "Measured here by the logger {logger}, {a} to {b}.",
        &[("logger", logger), ("a", &day_words(first, hand)), ("b", &day_words(last, hand))],
    ));
    let (from, to) = (number(air.lit.from, 1, t.lang()), number(air.lit.to, 1, t.lang()));
    let hours: &[(&str, &dyn std::fmt::Display)] = &[("a", &from), ("b", &to)];
    air.basis.push(match air.lit.how {
        LitHow::Said => t.f("Day is from {a} to {b} o'clock.", hours),
        LitHow::Lamps => t.f(
            "Day is taken from {a} to {b} o'clock: the hours of the lamps, from seven on.",
            hours,
        ),
        LitHow::Sun => t.f("Day is from sunrise to sunset, around {a} to {b} o'clock.", hours),
        LitHow::Assumed => t.f(
            "Day is taken from {a} to {b} o'clock, since nobody said when the lamps are on.",
            hours,
        ),
    });
    air.basis.push(t.f(
        "Wanted: {a} to {b} kPa, for {purpose}. Common practice, no source.",
        &[
            ("a", &number(air.wanted.least, 1, t.lang())),
            ("b", &number(air.wanted.most, 1, t.lang())),
            ("purpose", &purpose_words(air.wanted.purpose, t)),
        ],
    ));
    if air.machine.is_some() {
        let changes = air.settings.air_changes.unwrap_or(super::machine::AIR_CHANGES);
        air.basis.push(t.f(
            "A room of {volume} m³ whose air is renewed {changes} times an hour; the plants there give off about {litres} litres a day already, by common practice.",
            &[
                ("volume", &number(air.settings.volume.unwrap_or(0.0), 1, t.lang())),
                ("changes", &number(changes, 1, t.lang())),
                ("litres", &number(air.machine.map_or(0.0, |m| m.plants), 1, t.lang())),
            ],
        ));
    }
    if let Some(dew) = &air.dew {
        air.basis.push(if dew.measured {
            t.t("Outside by the logger that hangs there.").to_owned()
        } else {
            t.f(
                "Outside taken as {degrees} °C in every night, as was said.",
                &[("degrees", &number(dew.outside, 0, t.lang()))],
            )
        });
    }
    if let Some(row) = air.loggers.iter().find(|l| Some(&l.name) == air.logger.as_ref()) {
        let c = row.correction;
        if c.humidity != 0.0 || c.temperature != 0.0 {
            air.basis.push(t.f(
                "{temperature} K and {humidity} % points are added to its readings, as it was found to be off.",
                &[
                    ("temperature", &number(c.temperature, 2, t.lang())),
                    ("humidity", &number(c.humidity, 1, t.lang())),
                ],
            ));
        } else {
            air.basis.push(
                t.t("The logger was not compared with another: its humidity may be 3 points off.")
                    .to_owned(),
            );
        }
    }
}

fn gaps(air: &mut PlaceAir, t: Texts) {
    if air.loggers.is_empty() {
        return;
    }
    let count = |keep: fn(&DayAir) -> bool| air.days.iter().filter(|d| keep(d)).count();
    let none = count(|d| d.state == DayState::None);
    let flat = count(|d| d.state == DayState::Flat);
    if none > 0 {
        air.gaps.push(t.f("One day without a record.|{n} days without a record.", &[("n", &none)]));
    }
    if flat > 0 {
        air.gaps.push(t.f(
            "On one day the logger did not change for hours; it is left out.|On {n} days the logger did not change for hours; they are left out.",
            &[("n", &flat)],
        ));
    }
    if air.settings.volume.is_none() && (air.drier > 0 || air.wetter > 0) {
        air.gaps.push(
            t.t("Say how large the room is, and it is said what a machine would have to do.")
                .to_owned(),
        );
    }
    if air.settings.glass.is_none()
        || air.settings.outside.is_none() && air.settings.outside_place.is_none()
    {
        air.gaps.push(t.t("Say which window there is and how cold nights are outside, and dew on the glass is told.").to_owned());
    }
}

fn cautions(air: &mut PlaceAir, t: Texts) {
    let Some(m) = &air.machine else { return };
    let mut add = |lead: &str, check: &str| air.cautions.push((lead.to_owned(), check.to_owned()));
    // What takes water out throws none into the air.
    if m.litres.value > 0.0 {
        add(
            t.t("White dust."),
            t.t("Ultrasonic humidifiers throw what is dissolved in the water onto leaves and into lungs: give them rain water or demineralised water."),
        );
        add(
            t.t("Germs."),
            t.t("Standing warm water breeds germs that travel in droplets: empty, clean and dry a humidifier every week."),
        );
    }
    add(
        t.t("Water and lamps."),
        t.t("Keep plugs above the splash line, use a residual-current device, and fittings rated for damp rooms."),
    );
}

/// For what a band of deficit is, in words.
#[must_use]
pub fn purpose_words(purpose: &str, t: Texts) -> &'static str {
    match purpose {
        "cuttings" => t.t("cuttings without roots and seedlings just pricked out"),
        "rooted" => t.t("cuttings with roots"),
        "thick" => t.t("thick-leaved epiphytes"),
        _ => t.t("thin-leaved aroids, begonias and gesneriads"),
    }
}
