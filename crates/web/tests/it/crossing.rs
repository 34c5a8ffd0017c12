//! Crosses on pages: a pair, a cross as a line, what takes with what, pollen in store, a season.

use super::support::House;

pub async fn shelf() -> House {
    let house = House::new();
    for name in ["Streptocarpus rexii", "Streptocarpus dunnii", "Begonia bowerae"] {
        let fields = [("name", name), ("came", "2023-03")];
        let done = house.post("/plants", &fields).await;
        assert_eq!(done.status, 303, "{}", done.text);
    }
    house
}

async fn pollinated(house: &House, flowers: &str, took: &str) {
    let fields = [("seed", "1"), ("pollen", "2"), ("flowers", flowers), ("when", "2025-09-01")];
    let done = house.post("/crosses/new", &fields).await;
    assert_eq!((done.status.as_u16(), done.to.as_str()), (303, "/crosses/1"), "{}", done.text);
    let seen = [
        ("about", "pollination"),
        ("n", "1"),
        ("kind", "pod_seen"),
        ("count", took),
        ("when", "2025-09-25"),
    ];
    let done = house.post("/crosses/1/log", &seen).await;
    assert_eq!(done.status, 303, "{}", done.text);
}

#[tokio::test]
async fn a_pair_tells_its_chance_with_its_basis_and_the_cautions_beside_it() {
    let house = shelf().await;
    let bare = house.get("/crosses/pair").await;
    assert_eq!(bare.status, 200);
    assert!(!bare.text.contains("Not tried here"));
    let before = house.get("/crosses/pair?seed=1&pollen=2&flowers=4&seedlings=3").await;
    assert_eq!(before.status, 200, "{}", before.text);
    for words in [
        "Not tried here in this direction.",
        "At least one pod of 4 flowers:",
        "At least 3 flowering seedlings:",
        "Mostly what was believed beforehand",
        "Protected cultivars.",
        "common practice, no source",
    ] {
        assert!(before.text.contains(words), "{words}: {}", before.text);
    }
    assert!(!before.text.contains(" style="), "an inline style");
    pollinated(&house, "15", "0").await;
    let after = house.get("/crosses/pair?seed=1&pollen=2").await.text;
    // 1 − 0.05^(1/15) is 0.181.
    assert!(after.contains("0 of 15 so far: up to 18 % would still fit"), "{after}");
    assert!(after.contains("one-sided, 95 %, with no belief beforehand"), "{after}");
    let wrong = house.get("/crosses/pair?seed=1&pollen=99").await;
    assert_eq!(wrong.status, 404, "{}", wrong.text);
    let wrong = house.get("/crosses/pair?seed=1&pollen=2&flowers=many").await;
    assert_eq!(wrong.status, 422, "{}", wrong.text);
}

#[tokio::test]
async fn a_cross_is_drawn_from_its_flowers_on_and_stands_in_the_table() {
    let house = shelf().await;
    pollinated(&house, "6", "2").await;
    let page = house.get("/crosses/1").await;
    assert_eq!(page.status, 200, "{}", page.text);
    for words in
        ["From flower to seedling", "flowers treated: 6", "class=\"inkfill\"", "cross of two"]
    {
        assert!(page.text.contains(words), "{words}: {}", page.text);
    }
    // Two pods hang: what may come of them is drawn in the other ink.
    assert!(page.text.contains("class=\"accfill\""), "{}", page.text);
    let table = house.get("/crosses/table").await.text;
    assert!(table.contains("2 of 6; "), "{table}");
    let list = house.get("/crosses").await.text;
    for path in ["/crosses/pair", "/crosses/plan", "/crosses/table", "/pollen"] {
        assert!(list.contains(&format!("href=\"{path}\"")), "{path}");
    }
}

#[tokio::test]
async fn others_count_only_with_their_failures_and_lines_of_descent_come_in() {
    let house = shelf().await;
    let table = "seed,pollen,pods,by\nStreptocarpus rexii,Streptocarpus dunnii,2,Marl House";
    let refused = house.post("/crosses/others", &[("table", table)]).await;
    assert_eq!(refused.status, 422);
    assert!(refused.text.contains("statements"), "{}", refused.text);
    let table =
        "seed,pollen,flowers,pods,by\nStreptocarpus rexii,Streptocarpus dunnii,9,2,Marl House";
    assert_eq!(house.post("/crosses/others", &[("table", table)]).await.status, 303);
    assert!(house.get("/crosses/table").await.text.contains("One line was brought in."));
    let done = house.post("/crosses/written", &[("text", "rexii/dunnii//bowerae")]).await;
    assert_eq!(done.status, 303, "{}", done.text);
    let page = house.get(&done.to).await;
    assert!(page.text.contains("Written as breeders do:"), "{}", page.text);
}

#[tokio::test]
async fn pollen_is_put_by_and_a_belief_is_changed_and_brought_back() {
    let house = shelf().await;
    let lot = [("plant", "2"), ("cold", "freezer"), ("place", "box"), ("when", "2025-11-01")];
    assert_eq!(house.post("/pollen", &lot).await.status, 303);
    let page = house.get("/pollen").await.text;
    assert!(page.contains("Streptocarpus") && page.contains("freezer, box"), "{page}");
    let wrong = house.post("/pollen", &[("plant", "two")]).await;
    assert_eq!(wrong.status, 422, "{}", wrong.text);
    let change = [("key", "ploidy"), ("to", "−0.5 ± 0.2")];
    assert_eq!(house.post("/crosses/beliefs", &change).await.status, 303);
    assert!(house.get("/crosses/beliefs").await.text.contains("changed by this house"));
    assert_eq!(house.post("/crosses/beliefs", &[("key", "ploidy"), ("to", "")]).await.status, 303);
    assert!(!house.get("/crosses/beliefs").await.text.contains("changed by this house"));
    assert_eq!(house.post("/crosses/beliefs", &[("key", "luck"), ("to", "1")]).await.status, 422);
}

#[tokio::test]
async fn a_season_is_planned_within_its_pots_and_says_what_it_does_not_know() {
    let house = shelf().await;
    pollinated(&house, "6", "4").await;
    let page = house.get("/crosses/plan?pots=24&crosses=2").await;
    assert_eq!(page.status, 200, "{}", page.text);
    for words in [
        "24 pots, at most 2 crosses",
        "No trait was named",
        "The one pollination that would teach most:",
        "½ Streptocarpus",
        "Protected cultivars.",
    ] {
        assert!(page.text.contains(words), "{words}: {}", page.text);
    }
    for (asked, named) in [("pots=2", "pots"), ("crosses=0", "crosses"), ("plants=77", "77")] {
        let wrong = house.get(&format!("/crosses/plan?{asked}")).await;
        assert!(matches!(wrong.status.as_u16(), 404 | 422), "{asked}: {}", wrong.status);
        assert!(wrong.text.contains(named), "{asked}: {}", wrong.text);
    }
    assert_eq!(house.get("/how/season").await.status, 200);
    assert_eq!(house.get("/how/cross_chance").await.status, 200);
}

/// Two parents of which the genes of a trait are known: Vv × vv shows it in one half (Mendel 1866).
#[tokio::test]
async fn what_bears_on_crosses_is_kept_and_taken_back() {
    let house = shelf().await;
    for (plant, genes) in [("1", "variegation vV"), ("2", "variegation vv")] {
        let fields = [("ploidy", "4x"), ("section", "Rexii"), ("genes", genes)];
        let done = house.post(&format!("/plants/{plant}/breeding"), &fields).await;
        assert_eq!(done.status, 303, "{}", done.text);
    }
    let form = house.get("/plants/1/breeding").await.text;
    assert!(form.contains(r#"value="variegation Vv""#) && form.contains(r#"value="4""#), "{form}");
    let pair = house.get("/crosses/pair?seed=1&pollen=2").await.text;
    assert!(pair.contains("variegation, Vv × vv: ½ show it; raise 5 for one without it"), "{pair}");
    let plan = house.get("/crosses/plan?pots=24").await.text;
    assert!(plan.contains("½ show it") && plan.contains("Pots over time"), "{plan}");
    let wrong = [("genes", "variegation Vw")];
    assert_eq!(house.post("/plants/1/breeding", &wrong).await.status, 422);
    // An emptied line takes back what was said.
    let fields = [("ploidy", ""), ("section", "Rexii"), ("genes", "")];
    assert_eq!(house.post("/plants/1/breeding", &fields).await.status, 303);
    let pair = house.get("/crosses/pair?seed=1&pollen=2").await.text;
    assert!(!pair.contains("show it"), "{pair}");
}

#[tokio::test]
async fn a_tag_carries_the_number_of_its_cross_and_leads_back() {
    let house = shelf().await;
    pollinated(&house, "3", "1").await;
    let page = house.get("/crosses/1").await.text;
    assert!(page.contains("/crosses/1/tags.pdf?n=1"), "{page}");
    let pdf = house.get("/crosses/1/tags.pdf?n=1&count=3").await;
    assert_eq!(pdf.status, 200);
    assert!(pdf.text.starts_with("%PDF"));
    assert_eq!(house.get("/crosses/1/tags.pdf?n=7").await.status, 404);
    assert_eq!(house.get("/crosses/9/tags.pdf").await.status, 404);
    for address in ["/X-1", "/find?q=x-1"] {
        let led = house.get(address).await;
        assert_eq!((led.status.as_u16(), led.to.as_str()), (303, "/crosses/1"), "{address}");
    }
}

/// The form offers pollen in store and takes what was done to the flower; a helper may write it.
#[tokio::test]
async fn a_pollination_with_pollen_from_store() {
    let house = shelf().await;
    let put_by = [("plant", "2"), ("cold", "fridge"), ("when", "2025-08-20")];
    assert_eq!(house.post("/pollen", &put_by).await.status, 303);
    let form = house.get("/crosses/new?seed=1&pollen=2&flowers=4").await.text;
    for words in ["Pollen from store", r#"name="flowers" value="4""#, "anthers taken out before"] {
        assert!(form.contains(words), "{words}: {form}");
    }
    let fields = [
        ("seed", "1"),
        ("pollen", "2"),
        ("lot", "1"),
        ("flowers", "4"),
        ("emasculated", "yes"),
        ("when", "2025-09-01"),
    ];
    let done = house.post("/crosses/new", &fields).await;
    assert_eq!((done.status.as_u16(), done.to.as_str()), (303, "/crosses/1"), "{}", done.text);
    assert!(house.get("/plants/1").await.text.contains("/crosses/new?seed=1"));
    assert_eq!(
        house.post("/crosses/new", &[("seed", "1"), ("pollen", "2"), ("lot", "x")]).await.status,
        422
    );
}
