//! `time-to-event` with a fit by a formula.

use crate::support::{Desk, bad, good};

/// Remission times of Freireich 1963 as in Gehan 1965: (time, seen), control then 6-MP.
const CONTROL: [u32; 21] = [1, 22, 3, 12, 8, 17, 2, 11, 8, 12, 2, 5, 4, 15, 8, 23, 5, 11, 4, 1, 8];
const TREATED: [(u32, u8); 21] = [
    (10, 1),
    (7, 1),
    (32, 0),
    (23, 1),
    (22, 1),
    (6, 1),
    (16, 1),
    (34, 0),
    (32, 0),
    (25, 0),
    (11, 0),
    (20, 0),
    (19, 0),
    (6, 1),
    (17, 0),
    (35, 0),
    (6, 1),
    (13, 1),
    (9, 0),
    (6, 0),
    (10, 0),
];

pub fn remission() -> String {
    let mut text = "time,seen,treat\n".to_owned();
    for t in CONTROL {
        text += &format!("{t},1,control\n");
    }
    for (t, seen) in TREATED {
        text += &format!("{t},{seen},6-MP\n");
    }
    text
}

fn near(value: &serde_json::Value, expected: f64, what: &str) {
    let got = value.as_f64().unwrap_or_else(|| panic!("{what}: {value} is no number"));
    // The tolerance of the source: 1e-4 of the value or 1e-5.
    let tolerance = (1e-4 * expected.abs()).max(1e-5);
    assert!((got - expected).abs() <= tolerance, "{what}: {got} is not {expected}");
}

#[test]
fn weibull_of_the_remission_times() {
    // R survival 3.5.3 survreg, dist=weibull.
    let desk = Desk::new();
    let file = desk.table("r.csv", &remission());
    let rows = desk.table("new.csv", "treat\n6-MP\ncontrol\n");
    let words = [
        "time-to-event",
        &file,
        "--fit",
        "weibull",
        "--time",
        "time",
        "--event",
        "seen",
        "--terms",
        "treat",
        "--predict",
        &rows,
        "--quantiles",
        "0.1,0.5,0.9",
    ];
    let found = good(&words);
    let json = found.value();
    assert_eq!(json["fit"], "weibull");
    assert_eq!(json["n"], 42);
    assert_eq!(json["terms"][0]["term"], "(intercept)");
    assert!(json["terms"][0]["level"].is_null() && json["random_sd"].is_null());
    assert_eq!(
        (&json["terms"][1]["term"], &json["terms"][1]["level"]),
        (&"treat".into(), &"control".into())
    );
    near(&json["terms"][0]["estimate"], 3.515_686_946_495_82, "intercept");
    near(&json["terms"][1]["estimate"], -1.267_334_587_419_08, "treat");
    near(&json["terms"][1]["se"], 0.310_639_935_975_678, "se of treat");
    near(&json["scale"], 0.732_194_404_083_985, "scale");
    near(&json["log_scale"], -0.311_709_220_931_072, "log scale");
    near(&json["log_scale_se"], 0.147_291_882_577_643, "its se");
    near(&json["log_likelihood"], -106.579_491_581_564, "log-likelihood");
    near(&json["log_likelihood_null"], -116.405_406_979_648, "null");
    let control = &json["predictions"][1];
    assert_eq!(control["treat"], "control");
    near(&control["quantiles"][1]["estimate"], 7.242_697_006_991, "median");
    near(&control["quantiles"][1]["se"], 1.308_905_854_413, "its se");
    let (usual, next) = (&control["quantiles"][1], &control["next"]);
    let width = |v: &serde_json::Value| v["upper"].as_f64().unwrap() - v["lower"].as_f64().unwrap();
    assert!(width(next) > 3.0 * width(usual), "a single event varies more than the median");
    // Other reference: the same fit, seen from the other side.
    let turned = good(&[&words[..], &["--reference", "treat=control"]].concat());
    near(&turned.value()["terms"][1]["estimate"], 1.267_334_587_419_08, "turned round");
}

#[test]
fn what_cannot_be_fitted_is_said_with_its_status() {
    let desk = Desk::new();
    let open = desk.table("open.csv", "left,right\n3,\n4,\n");
    let refused = bad(&["time-to-event", &open, "--fit", "weibull"]);
    assert_eq!(refused.status, 3);
    assert!(refused.what.contains("none of the 2 records"), "{}", refused.what);
    let zero = desk.table("zero.csv", "left,right\n3,5\n0,0\n");
    let refused = bad(&["time-to-event", &zero, "--fit", "weibull"]);
    assert_eq!(refused.status, 2);
    for part in ["row 3", "right", "“0”"] {
        assert!(refused.what.contains(part), "{}", refused.what);
    }
    let words = ["time-to-event", &zero, "--fit", "weibull"];
    assert!(bad(&[&words[..], &["--by", "left"]].concat()).next.contains("--terms"));
    let refused = bad(&[&words[..], &["--misread", "0.7"]].concat());
    assert!(refused.what.contains("below 0.5"), "{}", refused.what);
    let refused = bad(&[&words[..], &["--terms", "mix"]].concat());
    assert!(refused.what.contains("mix"), "{}", refused.what);
    // One group without any event: its effect has no end.
    let text = "left,right,mix\n1,2,bark\n2,3,bark\n3,5,bark\n4,,peat\n6,,peat\n";
    let apart = desk.table("apart.csv", text);
    let refused = bad(&["time-to-event", &apart, "--fit", "weibull", "--terms", "mix"]);
    assert_eq!(refused.status, 3);
    assert!(refused.what.contains("mix = peat"), "{}", refused.what);
    // Every record allows the same time: no spread.
    let same = desk.table("same.csv", "left,right\n1,4\n2,5\n3,\n");
    let refused = bad(&["time-to-event", &same, "--fit", "lognormal"]);
    assert!(refused.what.contains("scale goes to 0"), "{}", refused.what);
    assert_eq!(refused.status, 3);
    // A row to predict with a level that the fit has not seen.
    let seen = desk.table(
        "seen.csv",
        "left,right,mix\n1,2,bark\n2,3,bark\n4,6,bark\n3,5,peat\n6,9,peat\n4,,peat\n",
    );
    let new = desk.table("new.csv", "mix\nclay\n");
    let words = ["time-to-event", &seen, "--fit", "weibull", "--terms", "mix", "--predict", &new];
    let refused = bad(&words);
    assert!(refused.what.contains("clay") && refused.status == 2, "{}", refused.what);
}

#[test]
fn litters_as_a_random_intercept() {
    // Two trays whose seeds differ, so that the variance is not 0; and trays that agree too well.
    let desk = Desk::new();
    let mut text = "left,right,tray\n".to_owned();
    for (tray, from) in [("a", 3), ("b", 9), ("c", 5), ("d", 14), ("e", 4), ("f", 8)] {
        for more in 0..5 {
            text += &format!("{},{},{tray}\n", from + more, from + more + 2);
        }
    }
    let file = desk.table("t.csv", &text);
    let rows = desk.table("new.csv", "tray\nd\nz\n");
    let words =
        ["time-to-event", &file, "--fit", "lognormal", "--random", "tray", "--predict", &rows];
    let found = good(&words);
    let json = found.value();
    let sd = json["random_sd"].as_f64().unwrap();
    assert!((0.2..1.0).contains(&sd), "{sd}");
    assert_eq!(json["random"][0]["boundary"], false);
    assert_eq!(json["random"][0]["levels"].as_array().unwrap().len(), 6);
    let gain = json["log_likelihood"].as_f64().unwrap()
        - json["log_likelihood_no_random"].as_f64().unwrap();
    assert!(gain > 3.0, "{gain}");
    let number = |row: usize, key: &str| json["predictions"][row]["next"][key].as_f64().unwrap();
    let median = &json["predictions"][0]["quantiles"][1]["estimate"];
    assert!(median.as_f64().unwrap() > 12.0, "tray d is late: {median}");
    let width = |row: usize| (number(row, "upper") / number(row, "lower")).ln();
    assert!(width(1) > 1.5 * width(0), "a tray not seen before varies more");
    let refused = bad(&[&words[..], &["--cure"]].concat());
    assert!(refused.what.contains("--cure"), "{}", refused.what);

    let mut alike = "left,right,tray\n".to_owned();
    for tray in ["a", "b", "c", "d"] {
        for (left, right) in [(3, 5), (5, 7), (7, 9), (9, 12)] {
            alike += &format!("{left},{right},{tray}\n");
        }
    }
    let file = desk.table("alike.csv", &alike);
    let found = good(&["time-to-event", &file, "--fit", "weibull", "--random", "tray"]);
    assert_eq!(found.value()["random"][0]["boundary"], true);
    assert!(found.value()["random"][0]["se"].is_null());
    assert_eq!(found.value()["random_sd"], 0.0);
}

#[test]
fn a_clock_and_priors() {
    let desk = Desk::new();
    // The same pots by days and, at double speed from the first day on, by a clock: every time is
    // doubled, so the intercept grows by ln 2 and nothing else changes.
    let text = "subject,left,right\na,3,4\na,4,6\nb,5,7\nb,2,3\na,6,\nb,,2\n";
    let file = desk.table("p.csv", text);
    let clock = desk.table("c.csv", "subject,day,rate\na,0,2\nb,0,2\n");
    let plain = good(&["time-to-event", &file, "--fit", "weibull"]);
    let fast = good(&["time-to-event", &file, "--fit", "weibull", "--clock", &clock]);
    let number = |f: &calc::Found, key: &str| f.value()[key].as_f64().unwrap();
    let intercept = |f: &calc::Found| f.value()["terms"][0]["estimate"].as_f64().unwrap();
    assert!((intercept(&fast) - intercept(&plain) - 2f64.ln()).abs() < 1e-6);
    assert!((number(&fast, "scale") - number(&plain, "scale")).abs() < 1e-6);
    let slow = desk.table("s.csv", "subject,day,rate\na,0,0\n");
    let refused = bad(&["time-to-event", &file, "--fit", "weibull", "--clock", &slow]);
    assert!(refused.what.contains("row 2") && refused.what.contains("rate"), "{}", refused.what);

    let prior = desk.table(
        "prior.json",
        r#"{"coefficients":[{"term":"(intercept)","mean":1.5,"sd":0.1}],
            "scale":{"gamma":{"shape":2,"rate":5}}}"#,
    );
    let words = ["time-to-event", &file, "--fit", "weibull", "--prior", &prior];
    let found = good(&words);
    let b = &found.value()["terms"][0];
    let mean = b["estimate"].as_f64().unwrap();
    let between = (intercept(&plain).min(1.5)..intercept(&plain).max(1.5)).contains(&mean);
    assert!(between, "{mean} lies between the prior and the records");
    assert!(b["information"].as_f64().unwrap() > 0.0 && b["se"].as_f64().unwrap() < 0.1);
    let wrong = desk
        .table("wrong.json", r#"{"coefficients":[{"term":"mix","level":"bark","mean":0,"sd":1}]}"#);
    let refused = bad(&["time-to-event", &file, "--fit", "weibull", "--prior", &wrong]);
    assert!(refused.what.contains("mix"), "{}", refused.what);
    let negative = desk.table("negative.json", r#"{"scale":{"half_normal":{"scale":-1}}}"#);
    let refused = bad(&["time-to-event", &file, "--fit", "weibull", "--prior", &negative]);
    assert!(refused.what.contains("-1") && refused.status == 2, "{}", refused.what);
}

#[test]
fn a_share_that_never_roots_and_misread_looks() {
    let desk = Desk::new();
    // 20 cuttings root within five weeks, 12 are still green on day 90.
    let mut text = "left,right\n".to_owned();
    for (left, right, n) in [(14, 21, 5), (21, 28, 9), (28, 35, 6)] {
        text += &format!("{left},{right}\n").repeat(n);
    }
    let file = desk.table("long.csv", &(text.clone() + &"90,\n".repeat(12)));
    let words = ["time-to-event", &file, "--fit", "lognormal", "--cure", "--quantiles", "0.5,0.9"];
    let found = good(&words);
    let cure = &found.value()["cure"];
    assert_eq!(cure["identified"], true);
    let row = &found.value()["predictions"][0];
    // With a plateau the share is that of the rooted: 20 of 32.
    assert!((row["ever"].as_f64().unwrap() - 0.625).abs() < 1e-3);
    assert!(row["quantiles"][0]["estimate"].is_number());
    // Nine in ten never root.
    assert!(row["quantiles"][1]["estimate"].is_null() && row["next"]["upper"].is_null());
    // Nobody was followed beyond the last event: not told apart.
    let file = desk.table("end.csv", &(text.clone() + &"35,\n".repeat(12)));
    let found = good(&["time-to-event", &file, "--fit", "lognormal", "--cure"]);
    let cure = &found.value()["cure"];
    assert_eq!((&cure["identified"], &cure["open_beyond"]), (&false.into(), &0.into()));
    // Looked at for the last time while rooting went on: all may root, and the share has no optimum.
    let file = desk.table("short.csv", &(text + &"28,\n".repeat(12)));
    let refused = bad(&["time-to-event", &file, "--fit", "lognormal", "--cure"]);
    assert_eq!(refused.status, 3);
    assert!(refused.what.contains("the share that ever has the event"), "{}", refused.what);
    let words = ["time-to-event", &file, "--fit", "lognormal", "--misread", "0.05"];
    let misread = good(&words);
    assert_eq!(misread.value()["misread"]["rate"], 0.05);
    assert!(misread.value()["misread"]["se"].is_null());
    assert!(misread.value()["scale"].as_f64().unwrap() > 0.0);
}
