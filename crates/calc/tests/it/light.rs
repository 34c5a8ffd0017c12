//! `sun`, `day`, `facade` and `panel` against reference values, and what they refuse.

use serde_json::Value;

use crate::support::{Desk, bad, good};

/// A cell of the first row.
fn cell(words: &[&str], column: &str) -> Value {
    let found = good(words);
    found.value()[0][column].clone()
}

#[track_caller]
fn near(found: &Value, expected: f64, tolerance: f64) {
    let number = found.as_f64().unwrap_or_else(|| panic!("{found} is no number"));
    assert!((number - expected).abs() <= tolerance, "found {number}, expected {expected}");
}

/// Asserts that a table is refused with status 2, naming row, column and value.
#[track_caller]
fn refused(calculator: &[&str], table: &str, parts: &[&str]) {
    let desk = Desk::new();
    let file = desk.table("t.csv", table);
    let words: Vec<&str> = calculator.iter().copied().chain([file.as_str()]).collect();
    let problem = bad(&words);
    assert_eq!(problem.status, 2);
    for part in parts {
        assert!(problem.what.contains(part), "{} lacks {part}", problem.what);
    }
    assert!(!problem.next.is_empty());
}

#[test]
fn the_sun_of_a_reference_grid() {
    // pvlib 0.16.1 spa_python.
    let desk = Desk::new();
    for utc in ["2024-06-21 12:00:00Z", "2024-06-21T12:00:00", "2024-06-21T14:00:00+02:00"] {
        let file = desk.table("s.csv", &format!("lat,lon,utc\n51.5,-0.13,{utc}\n"));
        near(&cell(&["sun", &file], "zenith"), 28.068_223_920_361_746, 1e-3);
        near(&cell(&["sun", &file], "azimuth"), 178.809_523_545_999, 1e-3);
    }
}

#[test]
fn the_day_by_number_and_by_date() {
    let desk = Desk::new();
    // FAO-56, examples 8 and 9.
    let file = desk.table("d.csv", "lat,doy\n-20,246\n");
    near(&cell(&["day", &file], "Ra_MJ"), 32.2, 0.05);
    near(&cell(&["day", &file], "N_h"), 11.7, 0.05);
    assert_eq!(cell(&["day", &file], "sunrise_utc"), Value::Null);
    // pvlib 0.16.1 spa_python.
    let file = desk.table("e.csv", "lat,lon,date\n51.5,-0.13,2024-06-21\n69.65,18.96,2024-12-21\n");
    near(&cell(&["day", &file], "hours_above_minus0p833"), 16.641_666_666_666_666, 0.06);
    near(&cell(&["day", &file], "hours_above_minus6"), 18.233_333_333_333_334, 0.06);
    let (rise, set) = (cell(&["day", &file], "sunrise_utc"), cell(&["day", &file], "sunset_utc"));
    assert!(rise.as_str().unwrap().starts_with("2024-06-21T03:43:"), "{rise}");
    assert!(set.as_str().unwrap().starts_with("2024-06-21T20:21:"), "{set}");
    // In the polar night there is no sunrise and no hour of sun, but some twilight.
    let found = good(&["day", &file]);
    let north = &found.value()[1];
    assert_eq!((&north["sunrise_utc"], &north["sunset_utc"]), (&Value::Null, &Value::Null));
    near(&north["hours_above_minus0p833"], 0.0, 1e-9);
    assert!(north["hours_above_minus6"].as_f64().unwrap() > 2.0);
}

#[test]
fn light_on_a_facade() {
    // pvlib 0.16.1, isotropic, albedo 0.2: London, 2024-03-20 10:05:31, window to the south.
    let desk = Desk::new();
    let file = desk.table(
        "f.csv",
        "zenith,azimuth,ghi,dni,dhi,window_azimuth\n\
         57.46288210620003,142.88987653954456,513.413487786231,807.8308010675992,\
         78.92502827064737,180\n",
    );
    near(&cell(&["facade", &file], "direct"), 543.110_979_623_439_9, 0.5);
    near(&cell(&["facade", &file], "sky"), 39.462_514_135_323_69, 0.5);
    near(&cell(&["facade", &file], "ground"), 51.341_348_778_623_1, 0.5);
    near(&cell(&["facade", &file], "total"), 633.914_842_537_386_7, 0.5);
    near(&cell(&["facade", &file, "--albedo", "0.4"], "ground"), 2.0 * 51.341_348_778, 0.5);
}

#[test]
fn a_cloudless_day_on_a_facade() {
    // pvlib 0.16.1, Ineichen-Perez with a turbidity of 3: Denver, 2024-03-20, window to the north.
    let desk = Desk::new();
    let file = desk.table(
        "f.csv",
        "lat,lon,date,window_azimuth,turbidity,albedo\n39.74,-105.18,2024-03-20,0,3,0.2\n",
    );
    let found = good(&["facade", &file, "--daily"]);
    let row = &found.value()[0];
    near(&row["sky"], 1.514_354_862_682_961_3, 0.03);
    near(&row["ground"], 2.029_376_810_959_754, 0.04);
    near(&row["total"], 3.543_742_071_107_34, 0.07);
    near(&row["horizontal_MJ"], 20.293_768_109_597_54, 0.4);
    near(&row["beam_MJ"], 30.356_548_008_950_433, 0.6);
    // Without columns the options hold.
    let bare = desk.table("g.csv", "lat,lon,date,window_azimuth\n39.74,-105.18,2024-03-20,0\n");
    let same = cell(&["facade", &bare, "--daily"], "total");
    assert_eq!(same, row["total"]);
    let hazy = cell(&["facade", &bare, "--daily", "--turbidity", "6"], "beam_MJ");
    assert!(hazy.as_f64().unwrap() < row["beam_MJ"].as_f64().unwrap());
}

#[test]
fn light_under_a_panel() {
    // Closed form of the reference, checked there by integration.
    let desk = Desk::new();
    let file = desk.table(
        "p.csv",
        "width_m,length_m,photon_flux_umol_s,x_m,y_m,z_m\n1.2,0.3,400,0.5,0.1,0.45\n",
    );
    near(&cell(&["panel", &file], "view_factor"), 0.184_595_965_529_234_46, 1e-7);
    near(&cell(&["panel", &file], "ppfd"), 205.106_628_365_816_08, 1e-4);
}

#[test]
fn what_cannot_be_is_refused_with_its_place() {
    let sun = "lat,lon,utc\n";
    refused(&["sun"], &format!("{sun}95,0,2024-01-01T00:00:00Z\n"), &["row 2", "lat", "“95”"]);
    refused(&["sun"], &format!("{sun}5,200,2024-01-01T00:00:00Z\n"), &["row 2", "lon", "“200”"]);
    refused(&["sun"], &format!("{sun}5,0,noon\n"), &["row 2", "column utc", "“noon”"]);
    refused(&["sun"], "lat,lon\n5,5\n", &["utc"]);
    refused(&["day"], "lat,doy\n5,1\n5,400\n", &["row 3", "column doy", "“400”"]);
    refused(&["day"], "lat,doy\n5,1.5\n", &["row 2", "column doy", "“1.5”"]);
    refused(&["day"], "lat,lon,date\n5,5,2023-02-29\n", &["row 2", "column date", "2023-02-29"]);
    let face = "zenith,azimuth,ghi,dni,dhi,window_azimuth\n";
    refused(&["facade"], &format!("{face}50,0,-5,0,0,0\n"), &["row 2", "column ghi", "“-5”"]);
    refused(&["facade"], &format!("{face}50,0,5,0,x,0\n"), &["row 2", "column dhi", "“x”"]);
    refused(&["facade"], &format!("{face}190,0,5,0,0,0\n"), &["row 2", "column zenith", "“190”"]);
    refused(&["facade", "--albedo", "1.5"], &format!("{face}50,0,5,0,0,0\n"), &["--albedo 1.5"]);
    let daily = "lat,lon,date,window_azimuth,turbidity\n";
    refused(
        &["facade", "--daily"],
        &format!("{daily}5,5,2024-01-01,0,40\n"),
        &["row 2", "column turbidity", "“40”"],
    );
    refused(&["facade", "--daily"], &format!("{daily}5,5,Jan,0,3\n"), &["column date", "“Jan”"]);
    let panel = "width_m,length_m,photon_flux_umol_s,x_m,y_m,z_m\n";
    refused(&["panel"], &format!("{panel}0,1,5,0,0,1\n"), &["row 2", "column width_m", "“0”"]);
    refused(&["panel"], &format!("{panel}1,1,-5,0,0,1\n"), &["column photon_flux_umol_s", "“-5”"]);
    refused(&["panel"], &format!("{panel}1,1,5,0,0,0\n"), &["row 2", "column z_m", "“0”"]);
    refused(&["panel"], &format!("{panel}1,1,5,0,0,\n"), &["row 2", "column z_m", "“”"]);
}
