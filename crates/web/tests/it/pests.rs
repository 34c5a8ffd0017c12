//! Pests on their page, on plants and places, and from a damaged leaf.

use super::support::House;

async fn sill() -> House {
    let house = House::new();
    for name in ["Begonia bowerae", "Begonia maculata"] {
        let fields = [("name", name), ("place", "kitchen sill"), ("came", "2024-03")];
        let done = house.post("/plants", &fields).await;
        assert_eq!(done.status, 303, "{}", done.text);
    }
    house
}

#[tokio::test]
async fn a_find_stands_on_every_page_and_one_tap_writes_the_look() {
    let house = sill().await;
    let seen = [("kind", "pest_seen"), ("pest", "mealybug"), ("when", "2025-11-10")];
    assert_eq!(house.post("/plants/1/log", &seen).await.status, 303);
    for path in ["/pests", "/plants/1", "/places/1"] {
        let page = house.get(path).await;
        assert_eq!(page.status, 200, "{path}: {}", page.text);
        assert!(page.text.contains("Mealybug, kitchen sill, since 10 Nov"), "{path}");
        assert!(page.text.contains("almost certainly, 95 %"), "{path}");
        assert!(page.text.contains("The label is the law."), "{path}");
        assert!(!page.text.contains(" style="), "{path}: an inline style");
    }
    // The neighbour is named to be looked at; its own page does not say that it has anything.
    assert!(house.get("/pests").await.text.contains("days at the same place, kitchen sill"));
    assert!(house.get("/plants/2").await.text.contains("is near it"));
    let look = [("kind", "clean"), ("looked_for", "mealybug"), ("back", "/pests")];
    let done = house.post("/plants/1/log", &look).await;
    assert_eq!((done.status.as_u16(), done.to.as_str()), (303, "/pests"));
    assert!(house.get("/pests").await.text.contains("One clean look since."));
    let away = [("kind", "clean"), ("back", "//elsewhere.example/")];
    assert_eq!(house.post("/plants/2/log", &away).await.to, "/");
    assert_eq!(house.get("/how/pests").await.status, 200);
}

#[tokio::test]
async fn from_a_damaged_leaf_what_was_sprayed_is_one_link_away() {
    let house = sill().await;
    let treated = [("kind", "treated"), ("unknown_product", "yes"), ("when", "2025-11-01")];
    assert_eq!(house.post("/places/1/log", &treated).await.status, 303);
    let damage = [("kind", "damage_seen"), ("damage", "burnt_edge"), ("when", "2025-11-09")];
    assert_eq!(house.post("/plants/1/log", &damage).await.status, 303);
    let page = house.get("/plants/1").await.text;
    assert!(page.contains("one treatment had reached it"), "{page}");
    let link = page.split("/plants/1/sprayed?entry=").nth(1).unwrap();
    let entry = link.split('"').next().unwrap();
    let list = house.get(&format!("/plants/1/sprayed?entry={entry}")).await;
    assert_eq!(list.status, 200);
    for words in
        ["8 days before", "The product is not known.", "on kitchen sill, while it stood there"]
    {
        assert!(list.text.contains(words), "{words}: {}", list.text);
    }
    let before = house.get("/plants/1/sprayed?before=2025-10-20").await.text;
    assert!(before.contains("No treatment is recorded"), "{before}");
}
