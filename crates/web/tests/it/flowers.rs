//! Flowers on pages: a plant's, those of a month, and two that are to meet.

use super::{crossing::shelf, support::House};

async fn flowering() -> House {
    let house = shelf().await;
    for (plant, part, month) in
        [(1, "1", "03"), (1, "2", "04"), (1, "3", "05"), (1, "4", "06"), (2, "1", "05")]
    {
        let (from, to) = (format!("2025-{month}-02"), format!("2025-{month}-09"));
        let opened = [("kind", "opened"), ("which", "new"), ("part", "flower"), ("when", &from)];
        let ended = [("kind", "ended"), ("which", part), ("how", "dropped"), ("when", &to)];
        for fields in [&opened, &ended] {
            let done = house.post(&format!("/plants/{plant}/log"), &fields[..]).await;
            assert_eq!(done.status, 303, "{}", done.text);
        }
    }
    house
}

#[tokio::test]
async fn the_flowers_of_a_plant_as_curve_months_and_weeks() {
    let house = flowering().await;
    let page = house.get("/plants/1/flowers").await;
    assert_eq!(page.status, 200, "{}", page.text);
    for words in [
        "How long its flowers last",
        "days since opening",
        "In flower by month",
        "The next twelve weeks",
        "Clones side by side",
        "no difference shown",
        "80 % interval",
    ] {
        assert!(page.text.contains(words), "{words}: {}", page.text);
    }
    assert!(!page.text.contains(" style="), "an inline style");
    // Four lines of life in each of the two drawings.
    assert_eq!(page.text.matches(r#"circle class="iv-p""#).count(), 8);
    let bare = house.get("/plants/3/flowers").await;
    assert_eq!(bare.status, 200, "{}", bare.text);
    assert!(bare.text.contains("not enough yet"), "{}", bare.text);
    assert!(!bare.text.contains("days since opening"), "no curve of nothing");
    assert_eq!(house.get("/plants/99/flowers").await.status, 404);
    // The plant's own page leads there, and an entry is seen at once.
    assert!(house.get("/plants/1").await.text.contains("/plants/1/flowers"));
    let opened = [("kind", "opened"), ("which", "new"), ("part", "flower"), ("when", "2025-09-01")];
    assert_eq!(house.post("/plants/1/log", &opened).await.status, 303);
    let page = house.get("/plants/1/flowers").await.text;
    assert_eq!(page.matches(r#"circle class="iv-p""#).count(), 8);
    assert!(page.contains("Five flowers") || page.contains("5 flowers"), "{page}");
}

#[tokio::test]
async fn a_month_and_two_that_are_to_meet() {
    let house = flowering().await;
    let page = house.get("/flowers?month=2026-05").await;
    assert_eq!(page.status, 200, "{}", page.text);
    assert!(page.text.contains("May 2026") && page.text.contains("/plants/1"), "{}", page.text);
    assert!(!page.text.contains("/plants/3\""), "never seen in flower");
    assert_eq!(house.get("/flowers?month=May").await.status, 422);
    let met = house.get("/crosses/pair?seed=1&pollen=2").await.text;
    assert!(met.contains("They are in flower together for a day or more"), "{met}");
    let not = house.get("/crosses/pair?seed=1&pollen=3").await.text;
    assert!(not.contains("no flower was ever written down"), "{not}");
    let plan = house.get("/crosses/plan").await.text;
    assert!(plan.contains("Both in flower") && plan.contains("together: "), "{plan}");
}
