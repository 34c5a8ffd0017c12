//! Labels, stocks, conductivity, blending.

use culture::{
    Estimate,
    feed::{
        Label, Nitrogen, PhDirection, RATES, SOLUBILITIES, Spoon, StockProblem, Water,
        alkalinity_in_meq, blend_share, calcium_magnesium, cations_to_conductivity, check_stock,
        compare, ec25, label_slope, mixed, monthly_mass, ounces_per_100_gallons,
        ounces_per_gallon_of_stock, ppm_from_conductivity, ppm_from_ounces_in_100_gallons,
        scaled_by_light, stock_strength, tank,
    },
};
use proptest::prelude::*;

use crate::support::{json, near, near_rel, number, table};

fn npk(n: f64, p: f64, k: f64) -> Label {
    Label::npk(n, p, k).unwrap()
}

const GALLON: f64 = 3.785_411_784;

#[test]
fn the_table_of_labels() {
    let rows = table(include_str!("../data/feed/npk_open.csv"));
    assert_eq!(rows.len(), 5);
    for row in rows {
        let label = npk(row["N_pct"], row["P2O5_pct"], row["K2O_pct"]);
        let target = row["target_ppm_N"];
        let grams = label.for_nitrogen(target).unwrap();
        near_rel(grams, row["g_per_L"], 1e-6);
        let found = label.at(grams);
        near_rel(found.nitrogen, target, 1e-6);
        near_rel(found.phosphorus, row["ppm_P"], 1e-6);
        near_rel(found.potassium, row["ppm_K"], 1e-6);
        // The factors that the trade prints, 0.44 and 0.83, are the same within 1 %.
        near_rel(found.phosphorus, 10.0 * grams * row["P2O5_pct"] * 0.44, 0.01);
        near_rel(found.potassium, 10.0 * grams * row["K2O_pct"] * 0.83, 0.01);
        let exact = ounces_per_100_gallons(target, row["N_pct"], true).unwrap();
        near_rel(exact, row["oz_per_100gal_exact"], 1e-6);
        near_rel(exact / 100.0, row["oz_per_gal"], 1e-6);
        near_rel(grams * GALLON, row["g_per_gal"], 1e-6);
        let rule = ounces_per_100_gallons(target, row["N_pct"], false).unwrap();
        near_rel(rule, row["oz_per_100gal_factor75"], 1e-6);
        near_rel(rule, exact, 0.002);
    }
}

#[test]
fn printed_examples_of_extension_services() {
    let case = json(include_str!("../data/feed/published_extension.json"));
    let rows = case["inputs"]["rows"].as_array().unwrap();
    let found = [
        ounces_per_100_gallons(200.0, 20.0, false).unwrap(),
        ounces_per_100_gallons(200.0, 15.0, false).unwrap(),
        ppm_from_ounces_in_100_gallons(15.0, 1.0),
        ounces_per_100_gallons(250.0, 15.0, false).unwrap(),
        ounces_per_gallon_of_stock(200.0, 20.0, 100.0).unwrap(),
        ounces_per_gallon_of_stock(200.0, 20.0, 200.0).unwrap(),
        ounces_per_100_gallons(100.0, 20.0, false).unwrap() * 0.05,
        npk(20.0, 20.0, 20.0).for_nitrogen(200.0).unwrap(),
        npk(20.0, 20.0, 20.0).for_nitrogen(200.0).unwrap() * GALLON,
    ];
    assert_eq!(rows.len(), found.len());
    for (row, found) in rows.iter().zip(found) {
        near(found, number(row, "/a"), number(row, "/tol"));
    }
    // hotcoffee.org growfaq 1419: 0.55 g/L of 13-0-44 and 0.37 g/L of 12-62-0: 116 N, 101 P,
    // 201 K, with factors of two digits.
    let mix = tank(&[(npk(13.0, 0.0, 44.0), 0.55), (npk(12.0, 62.0, 0.0), 0.37)]);
    near(mix.nitrogen, 116.0, 0.5);
    near(mix.phosphorus, 101.0, 1.5);
    near(mix.potassium, 201.0, 1.0);
}

#[test]
fn examples_computed_from_the_stated_formula() {
    let found = npk(20.0, 20.0, 20.0).at(1.0);
    near(found.nitrogen, 200.0, 1e-9);
    near(found.phosphorus, 87.0, 0.5);
    near(found.potassium, 166.0, 0.5);
    let label = npk(13.0, 3.0, 15.0);
    let grams = label.for_nitrogen(100.0).unwrap();
    near(grams, 0.77, 0.005);
    near(label.at(grams).phosphorus, 10.0, 0.1);
    near(label.at(grams).potassium, 96.0, 0.5);
    near(stock_strength(100.0, 13.0, 100.0).unwrap(), 76.9, 0.05);
    near(monthly_mass(50.0, 0.2, 4.0), monthly_mass(200.0, 0.2, 1.0), 1e-12);
    // Michigan State University table: stock for 100 mg/L of 20 % N, 6.75 and 13.5 oz, which
    // the rule of 75 gives as 6.67 and 13.3.
    near(ounces_per_gallon_of_stock(100.0, 20.0, 100.0).unwrap(), 6.75, 0.1);
    near(ounces_per_gallon_of_stock(100.0, 20.0, 200.0).unwrap(), 13.5, 0.2);
}

#[test]
fn conductivity_of_the_label_and_the_water() {
    let case = json(include_str!("../data/feed/ec_label.json"));
    let slope = label_slope(Some((100.0, 0.64))).unwrap();
    near(slope.value, number(&case, "/inputs/slope_mS_per_ppmN"), 1e-12);
    for (i, water) in [0.0, 0.35, 0.6].into_iter().enumerate() {
        for (j, ppm) in [50.0, 100.0, 200.0].into_iter().enumerate() {
            let expected = number(&case, &format!("/expected/ec/{i}/{j}"));
            near(mixed(water, ppm, &slope).value, expected, 1e-6);
            near(ppm_from_conductivity(expected, water, slope.value), ppm, 1e-6);
        }
    }
    let unknown = label_slope(None).unwrap();
    assert!(unknown.lower < unknown.value && unknown.value < unknown.upper);
    let off = compare(0.5, mixed(0.1, 100.0, &slope)).unwrap();
    assert!(off.off && off.residual < -20.0);
    assert!(!compare(0.7, mixed(0.1, 100.0, &slope)).unwrap().off);
    assert!(label_slope(Some((0.0, 1.0))).is_err());
}

#[test]
fn conductivity_at_25_degrees() {
    // Formula of instrument manuals (Greisinger G 7500, 6.5.2): LF_ref = LF / (1 + 2 % (T − 25)).
    near(ec25(1.0, 15.0, Some(0.02)).unwrap().value, 1.25, 1e-12);
    near(ec25(1.413, 25.0, None).unwrap().value, 1.413, 1e-12);
    let usual = ec25(1.0, 18.0, None).unwrap();
    assert!(usual.lower < usual.value && usual.value < usual.upper);
    // USDA Handbook 60, table 15 (from memory): 1.112 at 20 °C, 1.163 at 18 °C; the straight line
    // is within 0.2 and 0.1 %.
    near_rel(ec25(1.0, 20.0, None).unwrap().value, 1.112, 0.002);
    near_rel(usual.value, 1.163, 0.001);
    assert!(ec25(1.0, 60.0, None).is_err() && ec25(1.0, 20.0, Some(2.0)).is_err());
}

#[test]
fn a_report_whose_cations_and_conductivity_agree() {
    // 80 Ca, 12 Mg, 23 Na: 3.99 + 0.99 + 1.00 = 5.98 meq/L, about 0.6 mS/cm.
    let found = cations_to_conductivity(80.0, 12.0, 23.0, 0.0);
    near(found.value, 0.598, 0.002);
    assert!(found.lower < 0.55 && found.upper > 0.62);
}

#[test]
fn blending() {
    let share = blend_share(60.0, 220.0, 5.0).unwrap();
    near(share, 0.256, 0.0005);
    let tap = Water { alkalinity: 220.0, conductivity: 0.65, calcium: 80.0, ..Water::default() };
    let rain = Water { alkalinity: 5.0, conductivity: 0.03, ..Water::default() };
    let blend = tap.blended(share, &rain).unwrap();
    near(blend.alkalinity, 60.0, 1e-9);
    near(blend.conductivity, 0.19, 0.002);
    near(alkalinity_in_meq(50.0), 1.0, 1e-12);
    assert!(blend_share(300.0, 220.0, 5.0).is_err() && blend_share(5.0, 5.0, 5.0).is_err());
    let soft = calcium_magnesium(20.0, 0.0);
    assert!(
        soft.little_calcium && soft.little_magnesium && soft.unbalanced && soft.ratio.is_none()
    );
    let good = calcium_magnesium(75.0, 25.0);
    assert!(!good.little_calcium && !good.unbalanced);
}

#[test]
fn stocks_that_do_not_dissolve_or_settle() {
    let problems = check_stock(&[("potassium nitrate", 300.0), ("calcium nitrate", 500.0)]);
    assert_eq!(problems.len(), 1);
    assert!(matches!(problems[0], StockProblem::TooStrong { most, .. } if most == 209.0));
    let mixed = check_stock(&[
        ("calcium nitrate", 50.0),
        ("ammonium sulphate", 50.0),
        ("monopotassium phosphate", 50.0),
    ]);
    assert_eq!(mixed, [StockProblem::CalciumWithSulphate, StockProblem::CalciumWithPhosphate]);
    assert!(check_stock(&[("calcium nitrate", 50.0), ("potassium nitrate", 50.0)]).is_empty());
    let unknown = check_stock(&[("blue crystals", 250.0)]);
    assert!(matches!(unknown[..], [StockProblem::MayNotDissolve { .. }]));
    assert_eq!(SOLUBILITIES.iter().filter(|s| s.calcium).count(), 1);
}

#[test]
fn spoons_spread() {
    let found = Spoon::level_teaspoon().nitrogen(&npk(20.0, 20.0, 20.0), 1.0, 5.0).unwrap();
    near(found.value, 220.0, 1e-9);
    near(found.lower, 164.0, 1e-9);
    near(found.upper, 276.0, 1e-9);
    assert!(Spoon::level_teaspoon().nitrogen(&npk(20.0, 0.0, 0.0), 1.0, 0.0).is_err());
}

#[test]
fn forms_of_nitrogen() {
    let urea = Nitrogen { nitrate: 6.0, ammonium: 4.0, urea: 10.0 };
    near(urea.urea_share(), 50.0, 1e-9);
    near(urea.ammoniacal_share(), 70.0, 1e-9);
    assert!(urea.slow_without_microbes());
    assert_eq!(urea.ph_direction(), PhDirection::Down);
    let nitrate = Nitrogen { nitrate: 12.0, ammonium: 1.0, urea: 0.0 };
    assert!(!nitrate.slow_without_microbes());
    assert_eq!(nitrate.ph_direction(), PhDirection::Up);
}

#[test]
fn less_light_less_feed() {
    near(scaled_by_light(100.0, 2.0, 5.0).unwrap(), 40.0, 1e-12);
    near(scaled_by_light(100.0, 9.0, 5.0).unwrap(), 100.0, 1e-12);
    assert!(scaled_by_light(100.0, 2.0, 0.0).is_err());
    assert!(RATES.iter().all(|r| (30.0..=150.0).contains(&r.nitrogen.value)));
}

#[test]
fn labels_that_cannot_be_are_refused() {
    assert!(Label::npk(101.0, 0.0, 0.0).is_err());
    assert!(Label::npk(40.0, 40.0, 40.0).is_err());
    assert!(npk(0.0, 20.0, 20.0).for_nitrogen(100.0).is_err());
    assert!(npk(20.0, 20.0, 20.0).for_nitrogen(-1.0).is_err());
    assert!(stock_strength(100.0, 20.0, 0.5).is_err());
    assert!(compare(1.0, Estimate::exact(0.0)).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn a_tank_is_the_sum_and_the_amount_comes_back(
        n in 1.0..30.0_f64, p in 0.0..30.0_f64, k in 0.0..30.0_f64, target in 1.0..500.0_f64,
    ) {
        let label = npk(n, p, k);
        let grams = label.for_nitrogen(target).unwrap();
        prop_assert!((label.at(grams).nitrogen - target).abs() < 1e-9 * target);
        let twice = tank(&[(label, grams), (label, grams)]);
        prop_assert!((twice.potassium - label.at(2.0 * grams).potassium).abs() < 1e-9);
        // An injector brings the stock back to what was wanted.
        let stock = stock_strength(target, n, 100.0).unwrap();
        prop_assert!((label.at(stock / 100.0).nitrogen - target).abs() < 1e-9 * target);
    }

    #[test]
    fn a_blend_is_between_its_waters(wanted in 20.0..200.0_f64) {
        let share = blend_share(wanted, 220.0, 5.0).unwrap();
        prop_assert!((0.0..=1.0).contains(&share));
        prop_assert!((share * 220.0 + (1.0 - share) * 5.0 - wanted).abs() < 1e-9);
    }
}
