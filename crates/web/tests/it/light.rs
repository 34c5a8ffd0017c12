//! The light of a place on its page: described in a form, drawn, asked about.

use crate::support::House;

const LAMP: [(&str, &str); 9] = [
    ("width", "120"),
    ("depth", "45"),
    ("lamp0-kind", "plant_bar"),
    ("lamp0-watts", "22"),
    ("lamp0-width", "90"),
    ("lamp0-depth", "3"),
    ("lamp0-height", "26"),
    ("lamp0-hours", "13"),
    ("lamp1-kind", ""),
];

async fn shelf() -> House {
    let house = House::new();
    house.post("/places", &[("name", "north shelf")]).await;
    for name in ["Streptocarpus rexii", "Begonia bowerae"] {
        house.post("/plants", &[("name", name), ("place", "north shelf")]).await;
    }
    house
}

#[tokio::test]
async fn a_shelf_is_described_drawn_and_asked_about() {
    let house = shelf().await;
    let bare = house.get("/places/1").await.text;
    assert!(bare.contains("Nobody has described the light here yet."), "{bare}");
    let form = house.get("/places/1/light?preset=lamp").await.text;
    assert!(form.contains(r#"name="lamp0-watts" value="22""#), "{form}");
    let sent = house.post("/places/1/light", &LAMP).await;
    assert_eq!((sent.status.as_u16(), sent.to.as_str()), (303, "/places/1"));
    let page = house.get("/places/1").await.text;
    for words in [
        "120 × 45 cm, one lamp of 22 W at the plug",
        "Daily light where the leaves are, November",
        r#"class="iso idx""#,
        "2 plants without a spot",
        "The year, on average over the place",
        "The map as a table",
        "kWh a month",
        "residual-current breaker",
    ] {
        assert!(page.contains(words), "{words} is not on the page");
    }
    assert!(!page.contains("style=\""), "an inline style");
    let sent = house.post("/places/1/spots", &[("spot-1", "60, 20"), ("spot-2", "")]).await;
    assert_eq!(sent.status.as_u16(), 303, "{}", sent.text);
    let page = house.get("/places/1").await.text;
    assert!(page.contains(r#"class="pm""#) && page.contains("One plant without a spot"));
    let wrong = house.post("/places/1/spots", &[("spot-2", "on the moon")]).await;
    assert_eq!(wrong.status.as_u16(), 422);
    assert!(wrong.text.contains("is no spot on a place of 120 × 45 cm"), "{}", wrong.text);
    let what_if = house.get("/places/1/what-if?plant=2&spot=left%20back").await.text;
    assert!(what_if.contains("mol m⁻² d⁻¹"), "{what_if}");
    let order = house.get("/places/1/arrange?moves=1").await.text;
    assert!(order.contains("Plants considered: 1;"), "{order}");
    assert_eq!(house.get("/how/light").await.status.as_u16(), 200);
}

#[tokio::test]
async fn the_latitude_is_asked_once_and_a_wrong_one_is_told() {
    let house = shelf().await;
    let window = [("width", "100"), ("depth", "20"), ("window", "south"), ("view", "open")];
    house.post("/places/1/light", &window).await;
    let page = house.get("/places/1").await.text;
    assert!(page.contains("Tell the latitude of the house"), "{page}");
    let wrong = house.post("/house/where", &[("latitude", "120"), ("longitude", "")]).await;
    assert_eq!(wrong.status.as_u16(), 422);
    assert!(wrong.text.contains("lies outside"), "{}", wrong.text);
    let sent = house.post("/house/where", &[("latitude", "53,5 N"), ("longitude", "10")]).await;
    assert_eq!(sent.status.as_u16(), 303, "{}", sent.text);
    assert!(house.get("/house").await.text.contains(r#"name="latitude" value="53.5""#));
    let page = house.get("/places/1").await.text;
    assert!(page.contains("south window behind it"), "{page}");
    assert!(page.contains("direct sun, min"), "{page}");
}
