//! Feed and potting as pages.

use axum::http::StatusCode;

use crate::support::House;

#[tokio::test]
async fn a_feed_is_kept_and_a_can_worked_out() {
    let house = House::new();
    let empty = house.get("/feed").await;
    assert_eq!(empty.status, StatusCode::OK);
    assert!(empty.text.contains("No feed is on the shelf yet"));
    let feed = [
        ("what", "feed"),
        ("name", "orchid feed"),
        ("label", "13-3-15"),
        ("at", "100 0.7"),
        ("scoop", "2"),
    ];
    assert_eq!(house.post("/feed", &feed).await.to, "/feed");
    let water = [("what", "water"), ("name", "tap"), ("kind", "tap"), ("conductivity", "0.65")];
    assert_eq!(house.post("/feed", &water).await.to, "/feed");
    let page = house.get("/feed?feed=1&nitrogen=100&water=2&litres=5").await.text;
    for words in ["3.85 g", "1.35 mS/cm", "Keep feed locked away.", "your own scoop"] {
        assert!(page.contains(words), "{words}: {page}");
    }
    // What was typed stays in the form when it cannot be read, and is named.
    let wrong = house.get("/feed?feed=1&nitrogen=much").await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(wrong.text.contains("much"), "{}", wrong.text);
    let form = house.get("/feed/1").await.text;
    assert!(form.contains("13-3-15") && form.contains("100 0.7"), "{form}");
    assert_eq!(house.post("/feed/1", &[("do", "gone")]).await.to, "/feed");
    assert!(!house.get("/feed").await.text.contains("13–3–15"));
}

#[tokio::test]
async fn a_mix_is_kept_and_a_plan_made() {
    let house = House::new();
    let plant = [("name", "Streptocarpus rexii"), ("came", "2015-03")];
    assert_eq!(house.post("/plants", &plant).await.status, StatusCode::SEE_OTHER);
    let material = [("what", "material"), ("name", "bark"), ("price", "10 EUR for 50 L")];
    assert_eq!(house.post("/potting", &material).await.to, "/potting");
    let mix = [
        ("what", "mix"),
        ("name", "open mix"),
        ("recipe", "bark 4, perlite 3"),
        ("volume", "600"),
        ("filled", "400"),
        ("drained", "200"),
        ("height", "9"),
    ];
    assert_eq!(house.post("/potting", &mix).await.to, "/potting");
    let page = house.get("/potting?n=1&mix=open+mix&pot=1+L").await.text;
    for words in ["1.18 L", "by your test at the sink", "0.13 EUR", "wear a mask"] {
        assert!(page.contains(words), "{words}: {page}");
    }
    let none = house.get("/potting?n=one").await;
    assert_eq!(none.status, StatusCode::UNPROCESSABLE_ENTITY);
    let growth = [("growth", "resting")];
    assert_eq!(house.post("/plants/1/wish", &growth).await.to, "/plants/1");
    let page = house.get("/plants/1").await.text;
    assert!(page.contains("feed it now: it rests"), "{page}");
    for key in ["feed", "salts", "repot"] {
        assert_eq!(house.get(&format!("/how/{key}")).await.status, StatusCode::OK);
    }
}
