//! The air of a place: from the upload of a logger's file to chart, answers and back.

use super::support::House;

/// Three weeks of half hours up to the clock of the house, with a day that is missing.
fn file() -> String {
    let mut out = "time,temperature °C,humidity %\n".to_owned();
    for day in (1..=20).filter(|d| *d != 9) {
        for half in 0..48 {
            let wave = f64::from(day * 48 + half).sin();
            let clock = format!("2025-11-{day:02}T{:02}:{:02}:00Z", half / 2, half % 2 * 30);
            out.push_str(&format!("{clock},{:.1},{:.1}\n", 22.0 + wave, 45.0 + wave));
        }
    }
    out.push_str("2025-11-20T23:45:00Z,-127,60\n*** <b>low</b> ***\n");
    out
}

async fn shelf(house: &House) {
    assert_eq!(house.post("/places", &[("name", "north shelf")]).await.status, 303);
}

#[tokio::test]
async fn a_file_goes_from_upload_to_chart_and_back() {
    let house = House::new();
    shelf(&house).await;
    let before = house.get("/places/1").await;
    assert!(before.text.contains("not enough yet"), "{}", before.text);
    let taken =
        house.upload("/places/1/readings", &[("file", "hygro.csv", file().as_bytes())]).await;
    assert_eq!(taken.status, 303, "{}", taken.text);
    let page = house.get(&taken.to).await;
    assert!(page.text.contains("Write 913 readings"), "{}", page.text);
    assert!(page.text.contains("a value that cannot be: 1"), "{}", page.text);
    assert!(page.text.contains("&lt;b&gt;low") && !page.text.contains("<b>low"), "lines are inert");
    assert!(!page.text.contains(" style="));
    let entries = || house.app.journal().read(|r| r.all_loggers()).unwrap().len();
    assert_eq!(entries(), 0, "looking wrote something");

    let done = house.post(&format!("{}/write", taken.to), &[]).await;
    assert_eq!(done.to, "/places/1#air", "{}", done.text);
    assert_eq!(entries(), 1);
    let page = house.get("/places/1").await.text;
    assert!(page.contains("<svg class=\"wide air\"") && page.contains("wanted by day"));
    assert!(page.contains("drier than wanted on"), "{page}");
    assert!(page.contains("The same as a table"));
    let air = house.get("/places/1/air").await.text;
    assert!(air.contains("*** &lt;b&gt;low&lt;/b&gt; ***"), "refused lines can be seen again");

    // The same file again adds nothing.
    let again =
        house.upload("/places/1/readings", &[("file", "hygro.csv", file().as_bytes())]).await;
    assert!(house.get(&again.to).await.text.contains("Nothing new to write"));

    // What is said about the room brings the litres and their cautions.
    let said = [("volume", "20"), ("glass", "double"), ("outside", "2")];
    assert_eq!(house.post("/places/1/air", &said).await.to, "/places/1#air");
    let page = house.get("/places/1").await.text;
    assert!(page.contains("litres") && page.contains("White dust.") && page.contains("tonight,"));
    let wrong = house.post("/places/1/air", &[("volume", "large")]).await;
    assert!(wrong.status.is_client_error() && wrong.text.contains("large"), "{}", wrong.text);

    let op = house.app.journal().read(|r| r.operations(10)).unwrap();
    let import = op.iter().find(|o| o.act == "readings").unwrap().uid.to_string();
    assert_eq!(house.post("/undo", &[("op", &import), ("back", "/places/1")]).await.status, 303);
    assert_eq!(entries(), 0);
}

#[tokio::test]
async fn what_is_ambiguous_is_asked_and_an_answer_is_shown_before_it_is_written() {
    let house = House::new();
    shelf(&house).await;
    let text = "time,temp C,rh\n05/06/2025 10:00,20,50\n05/06/2025 11:00,21,52\n";
    let draft = house.upload("/places/1/readings", &[("file", "x.csv", text.as_bytes())]).await.to;
    let page = house.get(&draft).await.text;
    assert!(page.contains("Which stands first, the day or the month?"), "{page}");
    assert!(!page.contains(&format!("{draft}/write")), "nothing can be written yet");
    let pressed = house.post(&format!("{draft}/write"), &[("date_order", "month_first")]).await;
    assert_eq!(pressed.to, draft);
    assert!(house.get(&draft).await.text.contains("Write 2 readings"));
    let bad =
        house.upload("/places/1/readings", &[("file", "y.csv", b"name,count\nBegonia,4\n")]).await;
    assert!(bad.status.is_client_error() && bad.text.contains("holds no readings"), "{}", bad.text);
    // A name of a draft is never a path.
    assert_eq!(house.get("/places/1/readings/..%2F..%2Fhouse").await.status, 404);
}

#[tokio::test]
async fn the_offset_of_a_logger_is_kept_by_salt_and_by_another_beside_it() {
    let house = House::new();
    shelf(&house).await;
    for logger in ["a", "b"] {
        let files = [("file", "h.csv", file().into_bytes()), ("logger", "", logger.into())];
        let files: Vec<(&str, &str, &[u8])> =
            files.iter().map(|(f, n, c)| (*f, *n, c.as_slice())).collect();
        let draft = house.upload("/places/1/readings", &files).await;
        assert_eq!(draft.status, 303, "{}", draft.text);
        house.post(&format!("{}/write", draft.to), &[]).await;
    }
    let corrected = |name: &str| {
        let all = house.app.journal().read(|r| r.all_loggers()).unwrap();
        all.iter().find(|l| l.name == name).unwrap().correction
    };
    let salt = [("logger", "a"), ("humidity", "72.3"), ("temperature", "25")];
    assert_eq!(house.post("/places/1/air/salt", &salt).await.to, "/places/1/air");
    assert!((corrected("a").humidity - 3.0).abs() < 1e-9);
    let beside = [("logger", "b"), ("against", "a"), ("from", "2025-11-02"), ("to", "2025-11-05")];
    let kept = house.post("/places/1/air/compare", &beside).await;
    assert_eq!(kept.to, "/places/1/air", "{}", kept.text);
    // Both files are alike.
    assert_eq!(corrected("b").humidity, 0.0);
    let wrong = house.post("/places/1/air/salt", &[("logger", "a"), ("humidity", "wet")]).await;
    assert!(wrong.status.is_client_error());
}
