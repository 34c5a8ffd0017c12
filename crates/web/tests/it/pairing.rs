//! Pairing by a square, and the devices that are known.

use axum::http::{StatusCode, header};

use crate::door::{House, encoded, get, knock, post};

#[tokio::test]
async fn a_code_lets_one_device_in_once() {
    let house = House::with_passcode().await;
    let code = house.code("helper", "Mara").await;
    assert_eq!(code.len(), 14, "three groups of four: {code}");
    let plain = code.replace(' ', "");
    // Looking at the page, as programs that look ahead at links do, uses nothing up.
    for _ in 0..2 {
        let page = house.send(get(&format!("/PAIR/{plain}"))).await;
        assert_eq!(page.status, StatusCode::OK);
        assert!(page.text.contains(&code), "{}", page.text);
    }
    let pair = |code: &str, from: u8| {
        let mut sent = post("/pair", &format!("code={}", encoded(code))).own();
        sent.from = [192, 168, 1, from];
        house.send(sent)
    };
    let came = pair(&code.to_lowercase(), 31).await;
    assert_eq!((came.status, came.to()), (StatusCode::SEE_OTHER, "/"), "{}", came.text);
    for flag in ["; HttpOnly", "; SameSite=Strict", "; Path=/"] {
        assert!(came.header(header::SET_COOKIE).contains(flag));
    }
    let again = pair(&code, 32).await;
    assert_eq!(again.status, StatusCode::FORBIDDEN, "used up");
    assert!(again.text.contains("used already"), "{}", again.text);
    assert_eq!(again.cookie(), "");
    let known = house.send(get("/plants").with(header::COOKIE, came.cookie())).await;
    assert_eq!(known.status, StatusCode::OK);
    let kept = house.app.journal().setting("pairings").unwrap().unwrap();
    assert_eq!(kept, "[]");
}

#[tokio::test]
async fn a_code_is_kept_as_a_hash() {
    let house = House::with_passcode().await;
    let plain = house.code("helper", "Mara").await.replace(' ', "");
    let kept = house.app.journal().setting("pairings").unwrap().unwrap();
    assert!(!kept.contains(&plain) && kept.contains("Mara"), "{kept}");
}

#[tokio::test]
async fn a_code_runs_out_after_five_minutes() {
    for (instant, expected) in [
        ("2025-11-21T18:04:59Z", StatusCode::SEE_OTHER),
        ("2025-11-21T18:05:00Z", StatusCode::FORBIDDEN),
    ] {
        let house = House::with_passcode().await;
        let code = house.code("guest", "Mara's father").await;
        let House { folder, app } = house;
        drop(app);
        let later = House::at(Some(instant.parse().unwrap()), folder);
        let came = later.send(post("/pair", &format!("code={}", encoded(&code))).own()).await;
        assert_eq!(came.status, expected, "{instant}");
    }
}

/// Codes are guessed no faster than passcodes: one count for both.
#[tokio::test]
async fn wrong_codes_wait_as_wrong_passcodes_do() {
    let house = House::with_passcode().await;
    let code = house.code("helper", "Mara").await;
    let wrong = house.send(post("/pair", "code=234567892345").own()).await;
    assert_eq!(wrong.status, StatusCode::FORBIDDEN);
    assert_eq!(wrong.header(header::RETRY_AFTER), "1");
    let early = house.send(post("/pair", &format!("code={}", encoded(&code))).own()).await;
    assert_eq!(early.status, StatusCode::TOO_MANY_REQUESTS, "the right one must wait as well");
    let passcode = house.send(knock(crate::door::PASSCODE, "/")).await;
    assert_eq!(passcode.status, StatusCode::TOO_MANY_REQUESTS);
    // Being too early did not use the code up.
    let mut other = post("/pair", &format!("code={}", encoded(&code))).own();
    other.from = [192, 168, 1, 99];
    assert_eq!(house.send(other).await.status, StatusCode::SEE_OTHER);
}

/// The square holds the address that is printed beside it, with the code.
#[tokio::test]
async fn the_square_holds_the_address_of_the_house() {
    let house = House::with_passcode().await;
    let shown = house.send(post("/house/phones/pair", "role=helper&name=Mara").here().own()).await;
    let at = shown.text.find("and type the code").unwrap();
    let code: String =
        shown.text[at..].split("</dd>").next().unwrap().rsplit('>').next().unwrap().into();
    let address = format!("HTTP://UMBEL.LOCAL/PAIR/{}", code.replace(' ', ""));
    let square = printing::Square::of(&address).unwrap().svg();
    assert!(shown.text.contains(&square), "{}", shown.text);
    assert!(shown.text.contains("can write into the record"), "the caution");
    // What leads there is drawn once and never again.
    let house_page = house.send(get("/house").here()).await;
    assert!(!house_page.text.contains(&code));
}

#[tokio::test]
async fn a_device_that_was_ended_is_out_at_once() {
    let house = House::with_passcode().await;
    let (one, two) = (house.paired("helper", "Mara").await, house.paired("guest", "Otto").await);
    let plants = |cookie: &str| get("/plants").with(header::COOKIE, cookie.to_owned());
    let page = house.send(get("/house").here()).await;
    for said in ["Mara", "Otto", "Last seen", "2025-11-21"] {
        assert!(page.text.contains(said), "{said}");
    }
    let ids: Vec<&str> =
        page.text.split("name=\"id\" value=\"").skip(1).map(|rest| &rest[..8]).collect();
    assert_eq!(ids.len(), 2, "{}", page.text);
    let ended = house.send(post("/house/phones/end", &format!("id={}", ids[0])).here().own()).await;
    assert_eq!(ended.to(), "/house#phones");
    assert_eq!(house.send(plants(&one)).await.status, StatusCode::SEE_OTHER, "ended");
    assert_eq!(house.send(plants(&two)).await.status, StatusCode::OK, "the other stays");
    let again = house.send(post("/house/phones/end", &format!("id={}", ids[0])).here().own()).await;
    assert_eq!(again.status, StatusCode::UNPROCESSABLE_ENTITY);

    // Ended by another program that has the record open, as the command does.
    let (record, _) = journal::Journal::open(house.folder.path().join("house.umbel")).unwrap();
    assert_eq!(web::Devices(&record).end_all().unwrap(), 1);
    assert_eq!(house.send(plants(&two)).await.status, StatusCode::SEE_OTHER);
}

/// Scanned by a device that is known, a square gives it another role, and its old token is gone.
#[tokio::test]
async fn a_known_device_is_paired_anew() {
    let house = House::with_passcode().await;
    let before = house.paired("guest", "Otto").await;
    let says = |cookie: &str| {
        let sent = post("/plants/1/says", "is=dry").own();
        house.send(sent.with(header::COOKIE, cookie.to_owned()))
    };
    assert_eq!(says(&before).await.status, StatusCode::FORBIDDEN);
    let code = house.code("helper", "Otto Moss").await;
    let sent = post("/pair", &format!("code={}", encoded(&code))).own();
    let came = house.send(sent.with(header::COOKIE, before.clone())).await;
    assert_eq!(came.status, StatusCode::SEE_OTHER, "{}", came.text);
    assert_eq!(
        says(&came.cookie()).await.status,
        StatusCode::NOT_FOUND,
        "no such plant, but allowed"
    );
    let old = house.send(get("/plants").with(header::COOKIE, before)).await;
    assert_eq!(old.status, StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn only_an_open_house_pairs_and_only_with_a_passcode() {
    let house = House::new();
    let asked = || post("/house/phones/pair", "role=helper&name=Mara").here().own();
    let refused = house.send(asked()).await;
    assert_eq!(refused.status, StatusCode::CONFLICT, "no passcode: {}", refused.text);
    assert!(refused.text.contains("no passcode has been set"), "{}", refused.text);
}

/// Restoring replaces an empty record, and only an empty one, also while the demo is looked at.
#[tokio::test]
async fn the_demo_does_not_hide_the_own_record_from_restoring() {
    let house = House::new();
    house.send(post("/plants", "name=Begonia+venosa").here().own()).await;
    let backup = house.folder.path().join("copy.umbel-backup");
    house.app.journal().back_up(&backup).unwrap();
    house.app.enter_demo().unwrap();
    let refused = house.app.restore(&backup);
    assert!(refused.is_err(), "the own record holds a plant");
    house.app.leave_demo();
    assert_eq!(house.app.journal().read(|r| r.totals()).unwrap().0, 1);
}
