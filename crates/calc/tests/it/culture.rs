//! Air, evapotranspiration, feed and heat by their plain faces.

use std::collections::BTreeMap;

use calc::Found;
use serde_json::Value;

use crate::support::{Desk, bad, good};

/// Columns of a reference table by name, as text.
fn columns(text: &str) -> (Vec<String>, Vec<BTreeMap<String, String>>) {
    let mut lines = text.lines();
    let header: Vec<String> = lines.next().unwrap().split(',').map(str::to_owned).collect();
    let rows = lines
        .map(|l| header.iter().cloned().zip(l.split(',').map(str::to_owned)).collect())
        .collect();
    (header, rows)
}

fn pick(rows: &[BTreeMap<String, String>], names: &[&str]) -> String {
    let mut text = names.join(",") + "\n";
    for row in rows {
        let cells: Vec<&str> = names.iter().map(|n| row[*n].as_str()).collect();
        text += &(cells.join(",") + "\n");
    }
    text
}

fn list(found: &Found) -> &Vec<Value> {
    found.value().as_array().unwrap()
}

fn number(row: &Value, key: &str) -> f64 {
    row[key].as_f64().unwrap_or_else(|| panic!("{key} of {row}"))
}

fn near(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "{found}, expected {expected} ± {tolerance}");
}

fn refused(words: &[&str], parts: &[&str]) {
    let problem = bad(words);
    assert_eq!(problem.status, 2);
    for part in parts {
        assert!(problem.what.contains(part), "{} lacks {part}", problem.what);
    }
    assert!(!problem.next.is_empty());
}

#[test]
fn air_of_the_reference_grid() {
    let desk = Desk::new();
    let (_, rows) = columns(include_str!("../data/culture/humidity_open.csv"));
    let file = desk.table("a.csv", &pick(&rows, &["T_C", "RH_pct", "leaf_minus_air"]));
    let found = good(&["air", &file]);
    assert_eq!(list(&found).len(), 12);
    for (found, row) in list(&found).iter().zip(&rows) {
        let expected = |c: &str| row[c].parse::<f64>().unwrap();
        near(number(found, "es_kPa"), expected("es_tetens_kPa"), 1e-9);
        near(number(found, "vpd_kPa"), expected("VPD_tetens_kPa"), 1e-9);
        near(number(found, "leaf_vpd_kPa"), expected("leafVPD_tetens_kPa"), 1e-9);
        near(number(found, "dewpoint_C"), expected("dewpoint_C"), 0.1);
        near(number(found, "wetbulb_C"), expected("wetbulb_C"), 0.1);
        let absolute = expected("abs_humidity_g_m3");
        near(number(found, "absolute_g_m3"), absolute, 0.005 * absolute);
        near(number(found, "ea_kPa"), number(found, "es_kPa") * expected("RH_pct") / 100.0, 1e-12);
    }
}

#[test]
fn air_without_a_leaf_or_without_vapour_has_blanks() {
    let desk = Desk::new();
    let found = good(&["air", &desk.table("a.csv", "RH_pct,shelf,T_C\n0,B2,20\n")]);
    let row = &list(&found)[0];
    assert!(row["leaf_vpd_kPa"].is_null() && row["dewpoint_C"].is_null());
    assert_eq!(row["shelf"], "B2");
    assert_eq!(row["T_C"], 20);
}

#[test]
fn air_that_cannot_be_is_refused() {
    let desk = Desk::new();
    let file = |text: &str| desk.table("b.csv", text);
    refused(&["air", &file("T_C,RH_pct\n20,50\n20,140\n")], &["row 3", "RH_pct", "“140”", "100 %"]);
    refused(&["air", &file("T_C,RH_pct\n95,50\n")], &["row 2", "T_C", "“95”"]);
    refused(&["air", &file("T_C,RH_pct\n20,wet\n")], &["row 2", "RH_pct", "“wet”", "a number"]);
    refused(&["air", &file("T_C,RH_pct\n,50\n")], &["row 2", "T_C"]);
    refused(&["air", &file("T_C\n20\n")], &["row 1", "RH_pct"]);
    refused(&["air", &file("T_C,RH_pct,leaf_minus_air\n20,50,40\n")], &["leaf_minus_air", "“40”"]);
    refused(&["air", &file("T_C,RH_pct\n20,50\n"), "--pressure", "1013"], &["--pressure", "1013"]);
}

#[test]
fn evapotranspiration_of_the_published_day() {
    // FAO-56 example 18: 3.88 mm, to 0.02.
    let desk = Desk::new();
    let case: Value =
        serde_json::from_str(include_str!("../data/culture/fao56_ex18.json")).unwrap();
    let i = &case["inputs"];
    let wind = number(&case["expected"]["full"], "u2");
    let radiation = number(&case["expected"]["full"], "Rs");
    let text = format!(
        "lat,doy,elev,tmax,tmin,rhmax,rhmin,u2,Rs_MJ\n{},{},{},{},{},{},{},{wind},{radiation}\n",
        i["lat"], i["doy"], i["elev"], i["tmax"], i["tmin"], i["rhmax"], i["rhmin"]
    );
    let found = good(&["evapotranspiration", &desk.table("e.csv", &text)]);
    near(number(&list(&found)[0], "ETo_mm"), 3.88, 0.02);
}

#[test]
fn evapotranspiration_refuses_what_cannot_be() {
    let desk = Desk::new();
    let header = "lat,doy,elev,tmax,tmin,rhmax,rhmin,u2,Rs_MJ\n";
    for (row, column, value) in [
        ("95,187,100,21.5,12.3,84,63,2,22", "lat", "95"),
        ("50,400,100,21.5,12.3,84,63,2,22", "doy", "400"),
        ("50,187,9000,21.5,12.3,84,63,2,22", "elev", "9000"),
        ("50,187,100,10,12.3,84,63,2,22", "tmax", "10"),
        ("50,187,100,21.5,-99,84,63,2,22", "tmin", "-99"),
        ("50,187,100,21.5,12.3,50,63,2,22", "rhmax", "50"),
        ("50,187,100,21.5,12.3,84,-3,2,22", "rhmin", "-3"),
        ("50,187,100,21.5,12.3,84,63,-2,22", "u2", "-2"),
        ("50,187,100,21.5,12.3,84,63,2,220", "Rs_MJ", "220"),
        ("50,187,100,21.5,12.3,84,63,2,sunny", "Rs_MJ", "sunny"),
    ] {
        let file = desk.table("e.csv", &format!("{header}{row}\n"));
        refused(&["evapotranspiration", &file], &["row 2", column, value]);
    }
}

#[test]
fn feed_of_the_reference_labels() {
    let desk = Desk::new();
    let (_, rows) = columns(include_str!("../data/culture/npk_open.csv"));
    let label = ["N_pct", "P2O5_pct", "K2O_pct"];
    let by_target = [&label[..], &["target_ppm_N"]].concat();
    let by_grams = [&label[..], &["g_per_L"]].concat();
    let both = [&label[..], &["g_per_L", "target_ppm_N"]].concat();
    for names in [by_target, by_grams, both] {
        let found = good(&["feed", &desk.table("f.csv", &pick(&rows, &names))]);
        assert_eq!(list(&found).len(), 5);
        for (found, row) in list(&found).iter().zip(&rows) {
            for (key, column) in [
                ("g_per_L", "g_per_L"),
                ("ppm_N", "target_ppm_N"),
                ("ppm_P", "ppm_P"),
                ("ppm_K", "ppm_K"),
            ] {
                let expected: f64 = row[column].parse().unwrap();
                near(number(found, key), expected, 1e-6 * expected);
            }
        }
    }
}

#[test]
fn several_fertilisers_in_one_tank_have_a_total() {
    // 300 mg/L N, half from calcium nitrate of 15 %, half from ammonium nitrate of 33 %.
    let desk = Desk::new();
    let file = desk.table(
        "t.csv",
        "tank,what,N_pct,P2O5_pct,K2O_pct,target_ppm_N\n\
         A,calcium nitrate,15,0,0,150\n\
         B,complete,20,20,20,100\n\
         A,ammonium nitrate,33,0,0,150\n",
    );
    let found = good(&["feed", &file]);
    let rows = list(&found);
    assert_eq!(rows.len(), 5);
    let totals: Vec<(&Value, f64, f64)> = rows
        .iter()
        .filter(|r| r["total"] == true)
        .map(|r| (&r["tank"], number(r, "ppm_N"), number(r, "g_per_L")))
        .collect();
    assert_eq!(totals.len(), 2);
    assert_eq!(*totals[0].0, "B");
    near(totals[0].1, 100.0, 1e-9);
    assert_eq!(*totals[1].0, "A");
    near(totals[1].1, 300.0, 1e-9);
    near(totals[1].2, 150.0 / 150.0 + 150.0 / 330.0, 1e-9);
}

#[test]
fn feed_from_conductivity() {
    // Michigan State University Extension: 100 mg/L shows 0.64 mS/cm; with water of 0.35, 0.99.
    let desk = Desk::new();
    let file = desk.table(
        "ec.csv",
        "label_ppm,label_ec,water_ec,measured_ec,ec,T_C,coefficient\n\
         100,0.64,0.35,0.99,1.0,25,\n200,1.28,0.6,1.24,1.0,20,0.02\n",
    );
    let found = good(&["feed", &file]);
    for row in list(&found) {
        near(number(row, "ppm_from_ec"), 100.0, 1e-6);
    }
    near(number(&list(&found)[0], "ec25"), 1.0, 1e-12);
    near(number(&list(&found)[1], "ec25"), 1.0 / 0.9, 1e-12);
}

#[test]
fn a_column_without_its_partners_is_only_repeated() {
    let desk = Desk::new();
    let found = good(&["feed", &desk.table("f.csv", "N_pct,g_per_L,ec\n20,1,1.4\n")]);
    let row = &list(&found)[0];
    assert!(row.get("ec25").is_none() && row["ppm_P"].is_null());
    near(number(row, "ec"), 1.4, 0.0);
    near(number(row, "ppm_N"), 200.0, 1e-9);
}

#[test]
fn feed_that_cannot_be_is_refused() {
    let desk = Desk::new();
    let label = "N_pct,P2O5_pct,K2O_pct,g_per_L,target_ppm_N\n";
    let feed = |text: &str| desk.table("f.csv", &format!("{label}{text}\n"));
    refused(&["feed", &feed("120,0,0,1,")], &["row 2", "N_pct", "“120”"]);
    refused(&["feed", &feed("20,-1,0,1,")], &["P2O5_pct", "“-1”"]);
    refused(&["feed", &feed("20,0,101,1,")], &["K2O_pct", "“101”"]);
    refused(&["feed", &feed("50,50,50,1,")], &["row 2", "sum of the label"]);
    refused(&["feed", &feed("20,20,20,-1,")], &["g_per_L", "“-1”"]);
    refused(&["feed", &feed("0,20,20,,100")], &["N_pct", "“0”"]);
    refused(&["feed", &feed("20,20,20,,-5")], &["target_ppm_N", "“-5”"]);
    refused(&["feed", &feed("20,20,20,2,200")], &["g_per_L", "“2”", "1 g/L"]);
    refused(&["feed", &feed("20,20,20,,")], &["row 2", "g_per_L"]);
    refused(&["feed", &desk.table("x.csv", "name\nA\n")], &["row 1", "N_pct"]);
    refused(
        &["feed", &desk.table("x.csv", "label_ppm,label_ec,measured_ec\n100,1,1\n")],
        &["row 1", "label_ppm, label_ec, water_ec, measured_ec"],
    );
    let ec = "label_ppm,label_ec,water_ec,measured_ec\n";
    refused(&["feed", &desk.table("e.csv", &format!("{ec}0,1,0,1\n"))], &["label_ppm", "“0”"]);
    refused(&["feed", &desk.table("e.csv", &format!("{ec}100,0,0,1\n"))], &["label_ec", "“0”"]);
    refused(&["feed", &desk.table("e.csv", &format!("{ec}100,1,-1,1\n"))], &["water_ec", "“-1”"]);
    let thin = desk.table("e.csv", &format!("{ec}100,1,0.8,0.7\n"));
    refused(&["feed", &thin], &["measured_ec", "“0.7”", "0.8 mS/cm"]);
    let percent = desk.table("c.csv", "ec,T_C,coefficient\n1,20,2\n");
    refused(&["feed", &percent], &["coefficient", "“2”"]);
    refused(&["feed", &desk.table("c.csv", "ec,T_C\n1,90\n")], &["T_C", "“90”"]);
    refused(&["feed", &desk.table("c.csv", "ec,T_C\n-1,20\n")], &["row 2", "column ec", "“-1”"]);
}

#[test]
fn a_column_called_like_a_calculated_one_gives_way() {
    let desk = Desk::new();
    let file = desk.table("o.csv", "N_pct,g_per_L,ppm_N\n20,1,999\n");
    assert_eq!(good(&["feed", &file]).value()[0]["ppm_N"], 200.0);
    let file = desk.table("a.csv", "T_C,RH_pct,vpd_kPa\n20,100,7\n");
    assert_eq!(good(&["air", &file]).value()[0]["vpd_kPa"], 0.0);
}

#[test]
fn heat_at_a_constant_temperature() {
    // Tetranychus urticae: 146.5 degree-days above 12.5 °C are 15.4 days at 22 °C.
    let desk = Desk::new();
    let text: String = (0..=20).map(|d| format!("{d},22\n")).collect();
    let file = desk.table("h.csv", &format!("time,T_C\n{text}"));
    let found = good(&["heat", &file, "--base", "12.5", "--needed", "146.5"]);
    let rows = list(&found);
    near(number(&rows[20], "degree_days"), 190.0, 1e-9);
    assert!(rows[15]["reached"].is_null());
    near(number(&rows[16], "reached"), 146.5 / 9.5, 1e-9);
    near(number(&rows[20], "reached"), 146.5 / 9.5, 1e-9);
    let found = good(&["heat", &file, "--base", "12.5", "--upper", "20"]);
    near(number(&list(&found)[20], "degree_days"), 150.0, 1e-9);
    assert!(list(&found)[0].get("reached").is_none());
}

#[test]
fn heat_between_dates() {
    let desk = Desk::new();
    let file = desk.table(
        "d.csv",
        "T_C,time\n20,2026-03-01T00:00\n20,2026-03-01T12:00\n20,2026-03-03T12:00\n",
    );
    let found = good(&["heat", &file, "--base", "10", "--needed", "20"]);
    let rows = list(&found);
    near(number(&rows[1], "degree_days"), 5.0, 1e-9);
    assert_eq!(rows[2]["reached"], "2026-03-03T00:00:00");
    // Over the end of summer time: two hours, not one.
    let file =
        desk.table("z.csv", "T_C,time\n34,2026-10-25T02:30+02:00\n34,2026-10-25T03:30+01:00\n");
    let found = good(&["heat", &file, "--base", "10", "--needed", "1"]);
    near(number(&list(&found)[1], "degree_days"), 2.0, 1e-9);
    assert_eq!(list(&found)[1]["reached"], "2026-10-25T01:30:00Z");
    // The triangle method: from 10 to 20 °C above a base of 15 is a quarter of 5 on the mean.
    let file = desk.table("m.csv", "time,T_C\n0,10\n0.5,20\n1,10\n");
    let found = good(&["heat", &file, "--base", "15"]);
    near(number(&list(&found)[2], "degree_days"), 1.25, 1e-9);
}

#[test]
fn heat_that_cannot_be_is_refused() {
    let desk = Desk::new();
    let heat = |text: &str, more: &[&str]| {
        let file = desk.table("h.csv", &format!("time,T_C\n{text}\n"));
        let words: Vec<String> = ["heat", &file].iter().chain(more).map(|w| (*w).into()).collect();
        words
    };
    let check = |text: &str, more: &[&str], parts: &[&str]| {
        let words = heat(text, more);
        refused(&words.iter().map(String::as_str).collect::<Vec<_>>(), parts);
    };
    let base = ["--base", "10"];
    check("2,20\n1,20", &base, &["row 3", "column time", "“1”"]);
    check("1,20\n1,20", &base, &["row 3", "column time"]);
    check("1,20\nmonday,20", &base, &["row 3", "“monday”", "a time"]);
    check("1,20\n2026-03-01,20", &base, &["row 3", "as the one in the first row"]);
    check("1,20\n2,120", &base, &["row 3", "T_C", "“120”"]);
    check("1,20\n2,", &base, &["row 3", "T_C"]);
    check("1,20", &["--base", "10", "--upper", "5"], &["--upper", "“5”"]);
    check("1,20", &["--base", "90"], &["--base", "“90”"]);
    check("1,20", &["--base", "10", "--needed", "-5"], &["--needed"]);
    check("1,20", &[], &["--base"]);
}
