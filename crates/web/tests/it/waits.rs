//! Entries that waited on a phone for the connection count once.

use axum::http::{HeaderName, StatusCode, header};

use crate::door::{Answer, House, Knock, post};

const OP: &str = "01994f2e-7a30-7c11-8d2e-0123456789ab";

fn with_op(knock: Knock, op: &str, day: &str) -> Knock {
    knock
        .own()
        .with(HeaderName::from_static("x-umbel-op"), op.to_owned())
        .with(HeaderName::from_static("x-umbel-day"), day.to_owned())
}

/// Where the page is to lead on: what says that the form was taken.
fn to(answer: &Answer) -> &str {
    answer.headers.get("x-umbel-to").and_then(|v| v.to_str().ok()).unwrap_or("")
}

/// A house with a plant at a place, and a helper's cookie.
async fn house() -> (House, String) {
    let house = House::with_passcode().await;
    house.send(post("/plants", "name=Begonia+venosa&place=Shelf").here().own()).await;
    let cookie = house.paired("helper", "Mara").await;
    (house, cookie)
}

fn operations(house: &House) -> usize {
    house.app.journal().read(|r| r.operations(1000)).unwrap().len()
}

#[tokio::test]
async fn a_form_that_arrives_twice_counts_once_and_is_answered_the_same() {
    let (house, cookie) = house().await;
    let mut ops = (1..).map(|n| format!("01994f2e-7a30-7c11-8d2e-{n:012x}"));
    for (path, body) in [
        ("/plants/1/says", "is=dry"),
        ("/plants/1/log", "kind=weighed&weight=412+g"),
        ("/places/1/round", ""),
        ("/places/1/log", "kind=note&note=draught"),
        ("/today/look", "plant=1&found=moist&place=1"),
        ("/plants/log", "kind=note&note=looked+at&filter=&count=1"),
    ] {
        let op = ops.next().unwrap();
        let before = operations(&house);
        let send = || {
            let sent = with_op(post(path, body), &op, "2025-11-21");
            house.send(sent.with(header::COOKIE, cookie.clone()))
        };
        let first = send().await;
        assert_eq!(first.status, StatusCode::OK, "{path}: {}", first.text);
        assert!(to(&first).starts_with('/'), "{path}: {:?} {}", first.headers, first.text);
        assert_eq!(operations(&house), before + 1, "{path}");
        for _ in 0..2 {
            let again = send().await;
            assert_eq!((again.status, to(&again).is_empty()), (StatusCode::OK, false), "{path}");
        }
        assert_eq!(operations(&house), before + 1, "{path} was counted twice");
        let op: journal::Uid = op.parse().unwrap();
        let row = house.app.journal().read(|r| r.operation(op)).unwrap();
        assert_eq!(row.map(|o| o.who).as_deref(), Some("Mara"), "{path}");
    }
}

/// Two forms of one content are two entries where the person meant two: it is the identifier that
/// counts. (That they look alike is asked about, as ever.)
#[tokio::test]
async fn another_identifier_is_another_entry() {
    let (house, cookie) = house().await;
    let before = operations(&house);
    for n in 1..=2 {
        let op = format!("01994f2e-7a30-7c11-8d2e-{n:012x}");
        let sent = with_op(post("/plants/1/says", "is=dry"), &op, "2025-11-21");
        house.send(sent.with(header::COOKIE, cookie.clone())).await;
    }
    assert_eq!(operations(&house), before + 2);
}

#[tokio::test]
async fn an_open_date_means_the_day_on_which_the_form_was_filled_in() {
    let (house, cookie) = house().await;
    let journal = house.app.journal();
    let last_day = || {
        let plant = journal.read(|r| r.plant(1)).unwrap().unwrap();
        let entries = journal.read(|r| r.entries_about(plant.id, 10)).unwrap();
        entries.iter().map(|e| e.happened.as_str().to_owned()).collect::<Vec<_>>()
    };
    for (n, (day, expected)) in [
        ("2025-11-18", "2025-11-18"),
        // Neither a day to come nor one that no phone waits for, nor words.
        ("2025-11-23", "2025-11-21"),
        ("2025-01-01", "2025-11-21"),
        ("soon", "2025-11-21"),
    ]
    .into_iter()
    .enumerate()
    {
        let op = format!("01994f2e-7a30-7c11-8d2e-{n:012x}");
        let sent = with_op(post("/plants/1/says", "is=moist"), &op, day);
        let before = last_day();
        house.send(sent.with(header::COOKIE, cookie.clone())).await;
        let mut after = last_day();
        for day in &before {
            after.remove(after.iter().position(|d| d == day).unwrap());
        }
        assert_eq!(after, [expected], "filled in on {day}");
    }
}

#[tokio::test]
async fn what_is_refused_says_why_and_may_be_sent_again() {
    let (house, cookie) = house().await;
    let send = |body: &str| {
        let sent = with_op(post("/plants/1/log", body), OP, "2025-11-21");
        house.send(sent.with(header::COOKIE, cookie.clone()))
    };
    let before = operations(&house);
    let wrong = send("kind=weighed&weight=heavy").await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY, "{}", wrong.text);
    assert_eq!(to(&wrong), "");
    assert!(wrong.text.contains("heavy"), "{}", wrong.text);
    assert_eq!(operations(&house), before);
    let right = send("kind=weighed&weight=412+g").await;
    assert_eq!(to(&right), "/plants/1", "the same identifier, put right");
    // Possible, but odd: asked back, nothing written, and the answer counts under its identifier.
    let odd_op = "01994f2e-7a30-7c11-8d2e-00000000000f";
    for (body, taken) in
        [("kind=weighed&weight=412+g", false), ("kind=weighed&weight=412+g&sure=yes", true)]
    {
        let sent = with_op(post("/plants/1/log", body), odd_op, "2025-11-21");
        let answer = house.send(sent.with(header::COOKIE, cookie.clone())).await;
        assert_eq!(!to(&answer).is_empty(), taken, "{body}: {}", answer.text);
    }
}

#[tokio::test]
async fn identifiers_that_are_not_taken() {
    let (house, cookie) = house().await;
    let before = operations(&house);
    for op in [
        "",
        "7",
        "00000000-0000-0000-0000-000000000000",
        // Version 4.
        "f47ac10b-58cc-4372-a567-0e02b2c3d479",
        // Made in the year 2200.
        "0699cc2b-2800-7c11-8d2e-0123456789ab",
    ] {
        let sent = with_op(post("/plants/1/says", "is=dry"), op, "2025-11-21");
        let answer = house.send(sent.with(header::COOKIE, cookie.clone())).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{op}: {}", answer.text);
    }
    assert_eq!(operations(&house), before);
}

/// An identifier opens no door: roles and cookies are asked for first.
#[tokio::test]
async fn what_waited_is_taken_from_known_hands_only() {
    let (house, _) = house().await;
    let stranger = house.send(with_op(post("/plants/1/says", "is=dry"), OP, "2025-11-21")).await;
    assert_eq!(stranger.status, StatusCode::FORBIDDEN);
    let guest = house.paired("guest", "Otto").await;
    let sent = with_op(post("/plants/1/says", "is=dry"), OP, "2025-11-21");
    let answer = house.send(sent.with(header::COOKIE, guest)).await;
    assert_eq!((answer.status, to(&answer)), (StatusCode::FORBIDDEN, ""));
}
