//! The light of places: described, computed, read, compared, and who stands where.

use std::f64::consts::TAU;

use answers::{
    acts::{self, EntryInput, HouseTyped, NewPlant, Target},
    climate,
    light::{self, ArrangeTyped, LightTyped, PlaceLight, Standing, Typed},
};
use journal::{Journal, Known, SubjectKind};
use serde_json::{Map, json};

use crate::house::{hand, open};

fn typed(pairs: &[(&str, &str)]) -> Typed {
    pairs.iter().map(|(k, v)| ((*k).to_owned(), (*v).to_owned())).collect()
}

/// A shelf of 30 × 30 cm under a panel of the same size 30 cm above it, which gives 44 µmol/s by
/// its label.
fn panel(changed: &[(&str, &str)]) -> LightTyped {
    let mut lamp = typed(&[
        ("kind", "plant_bar"),
        ("ppf", "44"),
        ("width", "30"),
        ("depth", "30"),
        ("height", "30"),
        ("hours", "12"),
    ]);
    lamp.extend(typed(changed));
    LightTyped { place: typed(&[("width", "30"), ("depth", "30 cm")]), lamps: vec![lamp] }
}

fn window(pairs: &[(&str, &str)]) -> LightTyped {
    let mut place =
        typed(&[("width", "100"), ("depth", "20"), ("sill", "-15"), ("window", "unknown")]);
    place.extend(typed(pairs));
    LightTyped { place, lamps: Vec::new() }
}

fn house(latitude: &str) -> (tempfile::TempDir, Journal, answers::Hand) {
    let (folder, journal) = open();
    let hand = hand();
    acts::add_place(&journal, &hand, "shelf").unwrap();
    let where_it_is = HouseTyped { latitude: Some(latitude.to_owned()), ..HouseTyped::default() };
    acts::set_house(&journal, &where_it_is).unwrap();
    (folder, journal, hand)
}

fn plant(journal: &Journal, hand: &answers::Hand, name: &str, spot: &str) -> i64 {
    let new = NewPlant {
        name: Some(name.to_owned()),
        came: Some(dates::Edtf::parse("2024-03").unwrap()),
        place: Some("shelf".to_owned()),
        ..NewPlant::default()
    };
    let number = acts::add_plant(journal, hand, &new).unwrap().numbers[0];
    if !spot.is_empty() {
        acts::put_on_spots(journal, hand, 1, &[(number, spot.to_owned())]).unwrap();
    }
    number
}

fn reading(journal: &Journal, hand: &answers::Hand, flux: &str, spot: &str, when: &str) {
    let mut detail = Map::new();
    detail.insert("photon_flux".to_owned(), json!(flux));
    if !spot.is_empty() {
        detail.insert("spot".to_owned(), json!(spot));
    }
    let input = EntryInput {
        kind: "reading".to_owned(),
        when: when.to_owned(),
        known: Known::Seen,
        detail,
        ..EntryInput::default()
    };
    acts::log(journal, hand, &[Target::Numbered(SubjectKind::Place, 1)], &input).unwrap();
}

fn ask(journal: &Journal, hand: &answers::Hand) -> PlaceLight {
    journal.read(|r| Ok(light::place_light(r, 1, hand))).unwrap().unwrap()
}

/// By hand: exitance 44 · 0.95/0.09 µmol m⁻² s⁻¹ (five in a hundred lost to dust), times the factor
/// of a square of 30 cm at 30 cm, four corners with A = B = 1/2; twelve hours.
fn by_hand() -> f64 {
    let a = 0.5_f64;
    let root = (1.0 + a * a).sqrt();
    let corner = 2.0 * (a / root) * (a / root).atan() / TAU;
    44.0 * 0.95 / 0.09 * 4.0 * corner * 12.0 * 0.0036
}

#[test]
fn a_shelf_gets_what_is_computed_by_hand() {
    let (_folder, journal, hand) = house("");
    acts::describe_light(&journal, &hand, 1, &panel(&[]), "").unwrap();
    plant(&journal, &hand, "Streptocarpus 'Wet Sleeve'", "15, 15");
    let found = ask(&journal, &hand);
    let light = found.plants[0].light.as_ref().unwrap();
    // A closed form on both sides: 1e-9.
    assert!((light.value.unwrap() - by_hand()).abs() < 1e-9, "{light:?} {}", by_hand());
    // Worked in the notes of the calculator: 117 µmol m⁻² s⁻¹ under the middle, before dust.
    assert!((by_hand() / 0.95 / 12.0 / 0.0036 - 117.0).abs() < 0.5);
    assert_eq!(found.standing, Standing::Known);
    assert_eq!((found.cases.len(), found.plants[0].mark), (1, Some(1)));
    assert!(found.lede.starts_with("Light enough to flower on"), "{}", found.lede);
    assert!(found.lede.contains("all year, from the lamps alone"), "{}", found.lede);
    assert_eq!(found.over, "30 × 30 cm, one lamp by its label");
}

#[test]
fn what_nobody_knows_gives_two_cases_and_nothing_is_dark() {
    let (_folder, journal, hand) = house("52");
    assert_eq!(ask(&journal, &hand).standing, Standing::NotDescribed);
    let nothing = LightTyped { place: typed(&[("width", "30")]), lamps: Vec::new() };
    acts::describe_light(&journal, &hand, 1, &nothing, "").unwrap();
    let dark = ask(&journal, &hand);
    assert_eq!((dark.standing, dark.cases.len()), (Standing::Dark, 0));
    assert!(dark.lede.starts_with("Dark, as described"), "{}", dark.lede);
    acts::describe_light(&journal, &hand, 1, &panel(&[("ppf", "")]), "").unwrap();
    plant(&journal, &hand, "Begonia listada", "15, 15");
    let two = ask(&journal, &hand);
    assert_eq!(two.cases.len(), 2);
    assert_eq!(two.cases[0].assumed, "If the lamp takes 3 W");
    assert_eq!(two.cases[1].assumed, "If the lamp takes 9 W");
    let light = two.plants[0].light.as_ref().unwrap();
    assert_eq!(light.value, None, "a number where only a range can be told");
    assert!(light.upper / light.lower > 3.0);
    assert!(two.gaps.iter().any(|g| g.contains("Read the watts")), "{:?}", two.gaps);
}

#[test]
fn a_window_needs_a_latitude_and_an_unknown_direction_spans_all_of_them() {
    let (_folder, journal, hand) = house("");
    acts::describe_light(&journal, &hand, 1, &window(&[("view", "open")]), "").unwrap();
    assert_eq!(ask(&journal, &hand).standing, Standing::NeedsLatitude);
    let told = HouseTyped { latitude: Some("52 N".to_owned()), ..HouseTyped::default() };
    acts::set_house(&journal, &told).unwrap();
    let unknown = ask(&journal, &hand);
    assert_eq!(unknown.cases.len(), 2);
    let june = |p: &PlaceLight, case: usize| p.cases[case].months[5].total.value.unwrap();
    let (low, high) = (june(&unknown, 0), june(&unknown, 1));
    assert!(high > 1.3 * low, "{low} {high}");
    for direction in light::DIRECTIONS {
        let said = window(&[("view", "open"), ("window", direction)]);
        acts::describe_light(&journal, &hand, 1, &said, "").unwrap();
        let known = ask(&journal, &hand);
        assert_eq!(known.cases.len(), 1);
        let whole: f64 = known.cases[0].months.iter().map(|m| m.total.value.unwrap()).sum();
        let ends = [0, 1]
            .map(|c| unknown.cases[c].months.iter().map(|m| m.total.value.unwrap()).sum::<f64>());
        // The darkest and brightest direction are found by the year at the middle, so 2 % of slack.
        assert!(whole >= 0.98 * ends[0] && whole <= 1.02 * ends[1], "{direction} {whole} {ends:?}");
    }
    let hidden = window(&[("window", "south")]);
    acts::describe_light(&journal, &hand, 1, &hidden, "").unwrap();
    let open_or_not = ask(&journal, &hand);
    assert_eq!(open_or_not.cases.len(), 2);
    assert!(open_or_not.cases[0].assumed.contains("45°"), "{}", open_or_not.cases[0].assumed);
    assert!(june(&open_or_not, 0) < june(&open_or_not, 1));
}

#[test]
fn one_reading_narrows_the_range_and_moves_it() {
    let (_folder, journal, hand) = house("");
    acts::describe_light(&journal, &hand, 1, &panel(&[("ppf", ""), ("watts", "20")]), "").unwrap();
    plant(&journal, &hand, "Streptocarpus rexii", "15, 15");
    let amount = |p: &PlaceLight| p.plants[0].light.clone().unwrap();
    let before = amount(&ask(&journal, &hand));
    reading(&journal, &hand, "150 µmol", "", "2025-11-01");
    let unused = ask(&journal, &hand);
    assert_eq!(amount(&unused), before, "a reading that says not where was used");
    assert!(unused.gaps.iter().any(|g| g.contains("does not say where it was taken")));
    reading(&journal, &hand, "150 µmol", "15, 15", "2025-11-02");
    let read = ask(&journal, &hand);
    let after = amount(&read);
    let width = |a: &light::Amount| (a.upper / a.lower).ln();
    // 0.35 before, 0.061 after: 5.7 times.
    assert!(width(&before) / width(&after) > 5.0, "{before:?} {after:?}");
    assert!(read.basis.iter().any(|b| b.contains("times as wide")), "{:?}", read.basis);
    assert_eq!(read.readings.len(), 1);
    // 150 µmol for twelve hours are 6.48 mol; the description pulls it by 3 % at most.
    assert!((after.value.unwrap() - 6.48).abs() < 0.2, "{after:?}");
}

#[test]
fn a_change_of_lamps_is_history() {
    let (_folder, journal, hand) = house("");
    acts::describe_light(&journal, &hand, 1, &panel(&[]), "").unwrap();
    acts::describe_light(&journal, &hand, 1, &panel(&[("hours", "6")]), "2025-11-11").unwrap();
    let found = ask(&journal, &hand);
    assert_eq!(found.since, "11 November 2025");
    assert_eq!(found.earlier.len(), 1);
    let day = |d: &str| i64::from(dates::to_days(d.parse::<jiff::civil::Date>().unwrap()));
    let days = journal
        .read(|r| {
            let place = r.place(1)?.unwrap().id;
            Ok(climate::days(r, place, day("2025-11-01"), day("2025-11-20")))
        })
        .unwrap()
        .unwrap();
    let light: Vec<f64> = days.iter().map(|d| d.light.unwrap()).collect();
    assert_eq!(light.len(), 20);
    // Twice the hours, twice the light; rounding only.
    assert!((light[0] / light[19] - 2.0).abs() < 1e-9);
    assert!((light[9] - light[0]).abs() < 1e-9 && (light[10] - light[19]).abs() < 1e-9);
    assert!(light[0] < by_hand(), "the mean of a shelf is less than its middle");
}

#[test]
fn what_is_typed_wrong_is_told_with_the_next_step() {
    let (_folder, journal, hand) = house("");
    let told = |typed: &LightTyped| {
        acts::describe_light(&journal, &hand, 1, typed, "").unwrap_err().to_string()
    };
    assert!(told(&panel(&[("watts", "many")])).contains("is not a number"));
    assert!(told(&panel(&[("hours", "25")])).contains("outside 0 to 24"));
    assert!(told(&panel(&[("colour", "pink")])).contains("known are kind, watts"));
    assert!(told(&window(&[("window", "upwards")])).contains("write one of them"));
    let n = plant(&journal, &hand, "Begonia rex", "");
    let put = |spot: &str| acts::put_on_spots(&journal, &hand, 1, &[(n, spot.to_owned())]);
    assert!(put("15, 15").unwrap_err().to_string().contains("describe its light first"));
    acts::describe_light(&journal, &hand, 1, &panel(&[]), "").unwrap();
    assert!(put("90, 15").unwrap_err().to_string().contains("no spot on a place of 30 × 30 cm"));
    assert!(put("left front").is_ok());
    assert_eq!(ask(&journal, &hand).plants[0].spot, Some((5.0, 25.0)));
}

#[test]
fn a_move_to_more_light_goes_by_steps() {
    let (_folder, journal, hand) = house("");
    acts::describe_light(&journal, &hand, 1, &panel(&[("hours", "4")]), "").unwrap();
    acts::add_place(&journal, &hand, "bright").unwrap();
    acts::describe_light(&journal, &hand, 2, &panel(&[]), "").unwrap();
    let n = plant(&journal, &hand, "Streptocarpus rexii", "15, 15");
    let ask = |tender: bool, place: i64| {
        journal.read(|r| Ok(light::what_if(r, n, place, "15, 15", tender, &hand))).unwrap().unwrap()
    };
    let there = ask(false, 2);
    assert_eq!(there.times.as_deref(), Some("3"));
    // Three times as much: 1.5³ is more, 1.5² is less.
    assert_eq!(there.steps.len(), 3);
    assert_eq!(there.steps[1].day - there.steps[0].day, 14);
    assert!(there.danger.contains("in danger of bleaching"), "{}", there.danger);
    assert!(there.sentence.contains("3 times as much"), "{}", there.sentence);
    // 1.25⁵ = 3.05.
    assert_eq!(ask(true, 2).steps.len(), 5);
    let same = ask(false, 1);
    assert_eq!(same.steps.len(), 0);
    assert!(same.danger.starts_with("Nothing unusual"));
}

#[test]
fn plants_change_places_when_that_helps_and_never_more_than_asked() {
    let (_folder, journal, hand) = house("");
    let mut long = panel(&[("x", "20"), ("width", "20"), ("depth", "20"), ("height", "15")]);
    long.place = typed(&[("width", "120"), ("depth", "30")]);
    acts::describe_light(&journal, &hand, 1, &long, "").unwrap();
    let begonia = plant(&journal, &hand, "Begonia bowerae", "20, 15");
    let climber = plant(&journal, &hand, "Dischidia ovata", "60, 15");
    let arranged = |limit: usize, free: &[&str]| {
        let typed = ArrangeTyped {
            places: vec![1],
            free: free.iter().map(|s| (*s).to_owned()).collect(),
            limit,
            ..ArrangeTyped::default()
        };
        journal.read(|r| Ok(light::arrange(r, &typed, &hand))).unwrap().unwrap()
    };
    let far = ["115, 25"];
    assert!(arranged(0, &far).moves.is_empty());
    let one = arranged(1, &["35, 15"]);
    assert_eq!(one.moves.iter().map(|m| m.plant).collect::<Vec<_>>(), [climber]);
    assert!(one.proven);
    let swapped = arranged(2, &far);
    let mut moved: Vec<i64> = swapped.moves.iter().map(|m| m.plant).collect();
    moved.sort_unstable();
    assert_eq!(moved, [begonia, climber]);
    assert!(swapped.moves.iter().all(|m| !m.reason.is_empty()));
}

#[test]
fn lamps_cost_what_they_take() {
    let (_folder, journal, hand) = house("");
    acts::describe_light(&journal, &hand, 1, &panel(&[("ppf", ""), ("watts", "22")]), "").unwrap();
    let energy = ask(&journal, &hand).energy.unwrap();
    // 22 W · 12 h · 30.5 d.
    assert!((energy.kwh.0 - 8.052).abs() < 1e-9 && energy.kwh.0 == energy.kwh.1);
    assert_eq!((energy.shown.as_str(), energy.money), ("8.1 kWh a month", None));
    let price = HouseTyped { price: Some("0,50 €".to_owned()), ..HouseTyped::default() };
    acts::set_house(&journal, &price).unwrap();
    assert_eq!(ask(&journal, &hand).energy.unwrap().money.as_deref(), Some("4.03 EUR a month"));
}
