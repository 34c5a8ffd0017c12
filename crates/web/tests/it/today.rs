//! Today: what is tapped there is written, once, and what is put off comes back.

use journal::SubjectKind;
use serde_json::Value;

use super::support::House;

/// Two plants on a sill, the first with two pests.
async fn sill() -> House {
    let house = House::new();
    for name in ["Begonia bowerae", "Begonia maculata"] {
        let fields = [("name", name), ("place", "kitchen sill"), ("came", "2024-03")];
        let done = house.post("/plants", &fields).await;
        assert_eq!(done.status, 303, "{}", done.text);
    }
    for (pest, when) in [("mealybug", "2025-11-10"), ("thrips", "2025-11-11")] {
        let seen = [("kind", "pest_seen"), ("pest", pest), ("when", when)];
        assert_eq!(house.post("/plants/1/log", &seen).await.status, 303);
    }
    house
}

/// Kinds of the entries of a plant, newest first, with what they say.
fn entries(house: &House, plant: i64) -> Vec<(String, Value)> {
    let read = house.app.journal().read(|r| {
        let row = r.subject_numbered(SubjectKind::Plant, plant)?.unwrap();
        r.entries_about(row.id, 100)
    });
    let entries = read.unwrap().into_iter();
    entries.map(|e| (e.kind, Value::Object(e.detail))).collect()
}

/// The hidden fields of the line that says these words.
fn fields(page: &str, words: &str) -> Vec<(String, String)> {
    let line = page.split("<li data-row>").find(|l| l.contains(words)).unwrap();
    let form = line.split("</form>").next().unwrap();
    let hidden = form.split("<input type=\"hidden\" name=\"").skip(1);
    let pair = |h: &str| {
        let (name, rest) = h.split_once("\" value=\"").unwrap();
        (name.to_owned(), rest.split('"').next().unwrap().to_owned())
    };
    hidden.map(pair).collect()
}

async fn send(house: &House, path: &str, fields: &[(String, String)], more: (&str, &str)) -> u16 {
    let mut all: Vec<(&str, &str)> = fields.iter().map(|(k, v)| (&**k, &**v)).collect();
    all.push(more);
    house.post(path, &all).await.status.as_u16()
}

#[tokio::test]
async fn a_look_is_one_tap() {
    let house = sill().await;
    for (found, kind) in [("moist", "checked"), ("wet", "checked"), ("dry", "watered")] {
        let before = entries(&house, 2).len();
        let done =
            house.post("/today/look", &[("plant", "2"), ("found", found), ("place", "1")]).await;
        assert_eq!((done.status.as_u16(), done.to.as_str()), (303, "/#place-1"));
        let now = entries(&house, 2);
        assert_eq!(now.len(), before + 1);
        assert_eq!((now[0].0.as_str(), &now[0].1["found"]), (kind, &Value::from(found)));
    }
    let before = entries(&house, 2).len();
    for wrong in [[("plant", "2"), ("found", "soaked")], [("plant", "two"), ("found", "dry")]] {
        let refused = house.post("/today/look", &wrong).await;
        assert_eq!(refused.status, 422, "{}", refused.text);
    }
    let gone = house.post("/today/look", &[("plant", "99"), ("found", "dry")]).await;
    assert!(gone.status.is_client_error(), "{}", gone.status);
    assert_eq!(entries(&house, 2).len(), before, "nothing was written");
}

#[tokio::test]
async fn of_two_troubles_of_one_plant_each_is_done_and_put_off_by_itself() {
    let house = sill().await;
    let page = house.get("/").await.text;
    assert!(!page.contains("{}"), "a name is missing in a line");
    let (bugs, thrips) = (fields(&page, "look_again mealybug"), fields(&page, "look_again thrips"));
    assert_ne!(bugs, thrips);

    assert_eq!(send(&house, "/today/put-off", &bugs, ("days", "7")).await, 303);
    let page = house.get("/").await.text;
    assert!(page.contains("One line is put off"), "{page}");
    let line = page.split("<li data-row>").find(|l| l.contains("look_again mealybug")).unwrap();
    assert!(line.contains("put off to 28 Nov"), "{line}");
    let other = page.split("<li data-row>").find(|l| l.contains("look_again thrips")).unwrap();
    assert!(!other.contains("put off to"), "{other}");
    for wrong in ["0", "soon", "400"] {
        assert_eq!(send(&house, "/today/put-off", &thrips, ("days", wrong)).await, 422, "{wrong}");
    }

    let before = entries(&house, 1).len();
    assert_eq!(send(&house, "/today/done", &thrips, ("which", "9")).await, 422);
    assert_eq!(send(&house, "/today/done", &thrips, ("which", "0")).await, 303);
    let now = entries(&house, 1);
    assert_eq!(now.len(), before + 1);
    assert_eq!((now[0].0.as_str(), &now[0].1["looked_for"]), ("clean", &Value::from("thrips")));
    let page = house.get("/").await.text;
    let line = page.split("<li data-row>").find(|l| l.contains("look_again mealybug")).unwrap();
    assert!(line.contains("put off to 28 Nov"), "what is put off stays so: {line}");

    // Putting off is a step like any other, and can be taken back.
    let gone: Vec<(String, String)> =
        [("kind", "plant"), ("number", "1"), ("key", "look_again aphid")]
            .map(|(k, v)| (k.to_owned(), v.to_owned()))
            .to_vec();
    assert_eq!(send(&house, "/today/put-off", &gone, ("days", "1")).await, 422);
    let steps = house.app.journal().read(|r| r.operations(10)).unwrap();
    assert!(steps.iter().any(|o| o.act == "put_off"), "{steps:?}");
}

#[tokio::test]
async fn days_of_rounds_are_kept_for_all_places_or_one() {
    let house = sill().await;
    let fields = [("name", "Begonia luxurians"), ("place", "bench"), ("came", "2024-03")];
    let done = house.post("/plants", &fields).await;
    assert_eq!(done.status, 303, "{}", done.text);
    let kept = house.post("/today/rounds", &[("wed", "1"), ("sat", "1")]).await;
    assert_eq!((kept.status.as_u16(), kept.to.as_str()), (303, "/"));
    // 21 November 2025 is a Friday.
    assert!(house.get("/").await.text.contains("Rounds on Wednesday and Saturday"));
    let kept = house.post("/today/rounds", &[("place", "2"), ("fri", "1")]).await;
    assert_eq!((kept.status.as_u16(), kept.to.as_str()), (303, "/places/2"));
    let rounds = |place: i64| {
        let read = house.app.journal().read(|r| {
            let row = r.subject_numbered(SubjectKind::Place, place)?.unwrap();
            r.claimed(row.id, "rounds")
        });
        read.unwrap().unwrap_or_default()
    };
    assert_eq!(rounds(1), serde_json::json!(["wed", "sat"]));
    assert_eq!(rounds(2), serde_json::json!(["fri"]));
    let none = house.post("/today/rounds", &[]).await;
    assert_eq!(none.status, 303);
    assert!(!house.get("/").await.text.contains("Rounds on"));
}
