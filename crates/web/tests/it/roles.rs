//! Every route by every role.

use std::collections::BTreeSet;

use axum::http::{Method, StatusCode, header};
use web::roles::{May, Role, may, table};

use crate::door::{House, Knock, PASSCODE, get, post};

/// A route that nobody gave a thought to would be the owner's alone; better that somebody does.
#[test]
fn every_route_stands_in_the_table_of_roles_and_nothing_else_does() {
    let routes: BTreeSet<(String, String)> =
        web::routes().into_iter().map(|(m, p)| (m.to_owned(), p)).collect();
    let said: Vec<(String, String)> =
        table().map(|(m, p, _)| (m.to_owned(), p.to_owned())).collect();
    let once: BTreeSet<(String, String)> = said.iter().cloned().collect();
    assert_eq!(said.len(), once.len(), "a route stands in the table twice");
    let missing: Vec<_> = routes.difference(&once).collect();
    assert!(missing.is_empty(), "say in crates/web/src/roles.rs who may ask for {missing:?}");
    let gone: Vec<_> = once.difference(&routes).collect();
    assert!(gone.is_empty(), "no such routes: {gone:?}");
    assert!(routes.len() > 80, "{} routes were looked at", routes.len());
}

/// A request for a route, with something in each gap of its path.
fn asked(method: &str, path: &str) -> Knock {
    let filled: Vec<&str> =
        path.split('/').map(|part| if part.starts_with('{') { "1" } else { part }).collect();
    let path = filled.join("/");
    match method {
        "GET" => get(&path),
        _ => post(&path, "").own(),
    }
}

async fn by_role(role: Role) {
    let house = House::with_passcode().await;
    let (mut allowed, mut refused) = (0, 0);
    for (n, (method, path)) in web::routes().into_iter().enumerate() {
        // A wrong code makes whoever sent it wait; pairing has tests of its own.
        if path == "/pair" {
            continue;
        }
        // Each with a device of its own: some routes end devices.
        let cookie = house.paired(role.as_str(), &format!("Mara {n}")).await;
        let sent = asked(method, &path).with(header::COOKIE, cookie);
        let answer = house.send(sent).await;
        let expected = match may(method, &path).unwrap() {
            May::Anyone => true,
            May::From(least) => role >= least,
            May::Here => false,
        };
        let (status, text) = (answer.status, &answer.text);
        if expected {
            allowed += 1;
            assert_ne!(status, StatusCode::FORBIDDEN, "{role:?} {method} {path}: {text}");
        } else {
            refused += 1;
            assert_eq!(status, StatusCode::FORBIDDEN, "{role:?} {method} {path}: {text}");
            assert!(text.contains("This device may not do that"), "{method} {path}: {text}");
        }
        if house.app.in_demo() {
            house.app.leave_demo();
        }
    }
    assert!(allowed > 20 && refused > 1, "{role:?}: {allowed} allowed, {refused} refused");
}

#[tokio::test]
async fn what_a_guest_may() {
    by_role(Role::Guest).await;
}

#[tokio::test]
async fn what_a_helper_may() {
    by_role(Role::Helper).await;
}

#[tokio::test]
async fn what_an_owner_may() {
    by_role(Role::Owner).await;
}

#[tokio::test]
async fn a_stranger_gets_nothing_but_the_door() {
    let house = House::with_passcode().await;
    let before = house.app.journal().projection_text().unwrap();
    for (method, path) in web::routes() {
        let answer = house.send(asked(method, &path)).await;
        if may(method, &path) == Some(May::Anyone) {
            continue;
        }
        let expected = if method == "GET" { StatusCode::SEE_OTHER } else { StatusCode::FORBIDDEN };
        assert_eq!(answer.status, expected, "{method} {path}");
        assert!(method != "GET" || answer.to().starts_with("/door?to="), "{path}");
    }
    assert_eq!(house.app.journal().projection_text().unwrap(), before);
}

/// What decides about the record as a whole, named one by one: the table above could be wrong.
#[tokio::test]
async fn a_helper_logs_and_does_not_decide() {
    let house = House::with_passcode().await;
    house.send(post("/plants", "name=Begonia+venosa").here().own()).await;
    let cookie = house.paired("helper", "Mara").await;
    let send = |method: Method, path: &str, body: &str| {
        let knock = if method == Method::GET { get(path) } else { post(path, body).own() };
        house.send(knock.with(header::COOKIE, cookie.clone()))
    };
    for (path, body) in [
        ("/plants", "name=Begonia+nova"),
        ("/plants/1/name", "name=Begonia+nova"),
        ("/house", "who=Mara"),
        ("/house/backup", ""),
        ("/house/export", ""),
        ("/house/passcode", "passcode=abcdefgh&again=abcdefgh"),
        ("/house/name", "name=other.local"),
        ("/house/phones/pair", "role=owner"),
        ("/house/phones/forget", ""),
        ("/house/phones/end", "id=00000000"),
        ("/restore", ""),
        ("/import", ""),
        ("/demo/in", ""),
    ] {
        let answer = send(Method::POST, path, body).await;
        assert_eq!(answer.status, StatusCode::FORBIDDEN, "{path}: {}", answer.text);
    }
    let logged = send(Method::POST, "/plants/1/says", "is=dry").await;
    assert_eq!((logged.status, logged.to()), (StatusCode::SEE_OTHER, "/plants/1"));
    let last = house.app.journal().read(|r| r.last_operation()).unwrap().unwrap();
    assert_eq!(last.who, "Mara", "what a helper writes stands under the helper's name");
}

#[tokio::test]
async fn a_helper_undoes_the_helpers_own() {
    let house = House::with_passcode().await;
    house.send(post("/plants", "name=Begonia+venosa").here().own()).await;
    let last = || house.app.journal().read(|r| r.last_operation()).unwrap().unwrap();
    let added = last().uid;
    let (mara, otto) = (house.paired("helper", "Mara").await, house.paired("helper", "Otto").await);
    let says = post("/plants/1/says", "is=dry").own();
    house.send(says.with(header::COOKIE, mara.clone())).await;
    let dry = last().uid;
    let undo = |op: journal::Uid, cookie: &str, more: &str| {
        let sent = post("/undo", &format!("op={op}{more}")).own();
        house.send(sent.with(header::COOKIE, cookie.to_owned()))
    };
    assert_eq!(undo(added, &mara, "").await.status, StatusCode::FORBIDDEN, "the owner's");
    let both = undo(added, &mara, "&together=yes").await;
    assert_eq!(both.status, StatusCode::FORBIDDEN, "her own rests on it, it itself is not hers");
    assert_eq!(undo(dry, &otto, "").await.status, StatusCode::FORBIDDEN, "another helper's");
    let page = house.send(get("/history").with(header::COOKIE, otto.clone())).await;
    assert!(!page.text.contains("action=\"/undo\""), "nothing there is his to undo");
    assert!(last().uid == dry, "nothing was undone");
    assert_eq!(undo(dry, &mara, "").await.status, StatusCode::SEE_OTHER);
    assert!(last().uid == added);
}

/// Who reads over a shoulder which name is taken cannot take it.
#[tokio::test]
async fn names_are_told_apart() {
    let house = House::with_passcode().await;
    house.send(post("/house", "who=Ines&language=en").here().own()).await;
    house.paired("helper", "Mara").await;
    for (role, name) in [("helper", "mara "), ("guest", "INES"), ("helper", ""), ("queen", "X")] {
        let body = format!("role={role}&name={name}");
        let answer = house.send(post("/house/phones/pair", &body).here().own()).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{role} {name}");
    }
    assert!(!PASSCODE.is_empty());
}
