//! Encrypted connections, with the house's own certificate.

use std::{
    io::{Read as _, Write as _},
    sync::Arc,
};

use axum::http::{StatusCode, header};
use tokio::{
    io::{AsyncReadExt as _, AsyncWriteExt as _},
    net::TcpStream,
};
use tokio_rustls::{
    TlsConnector,
    rustls::{
        ClientConfig, RootCertStore,
        crypto::ring,
        pki_types::{CertificateDer, ServerName, pem::PemObject as _},
    },
};
use web::Options;

use crate::door::{House, PASSCODE, get, knock, post};

/// A client that trusts this certificate alone.
fn trusting(certificate: CertificateDer<'static>) -> TlsConnector {
    let mut roots = RootCertStore::empty();
    roots.add(certificate).unwrap();
    let config = ClientConfig::builder_with_provider(Arc::new(ring::default_provider()))
        .with_safe_default_protocol_versions()
        .unwrap()
        .with_root_certificates(roots)
        .with_no_client_auth();
    TlsConnector::from(Arc::new(config))
}

/// A handshake, and a page through it; also that the plain page of this machine stays where it is.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_handshake_answers_under_the_name_of_the_house() {
    let folder = tempfile::tempdir().unwrap();
    let collection = folder.path().join("house.umbel");
    {
        let (journal, _) = journal::Journal::open(&collection).unwrap();
        journal.set_setting("passcode", "$argon2id$unreadable").unwrap();
        journal.set_setting("house", "GLASSHOUSE.LOCAL").unwrap();
    }
    let options = Options { collection, phones: true, ..Options::default() };
    let running = web::serve(options).await.unwrap();
    let port = running.listens_on().unwrap()[0].port();
    let pem = std::fs::read(folder.path().join("house.certificate.pem")).unwrap();
    let certificate = CertificateDer::from_pem_slice(&pem).unwrap();
    let notes = running.notes.join("\n");
    assert!(notes.contains("fingerprint (SHA-256) must be "), "{notes}");
    let (stop, stopped) = tokio::sync::oneshot::channel::<()>();
    let served = tokio::spawn(running.run(async move {
        let _ = stopped.await;
    }));

    let name = ServerName::try_from("glasshouse.local").unwrap();
    let socket = TcpStream::connect(("127.0.0.1", port)).await.unwrap();
    let mut secure = trusting(certificate).connect(name, socket).await.unwrap();
    let host = format!("glasshouse.local:{port}");
    let request = format!("GET /keys HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n");
    secure.write_all(request.as_bytes()).await.unwrap();
    let mut answer = Vec::new();
    secure.read_to_end(&mut answer).await.unwrap();
    let answer = String::from_utf8_lossy(&answer);
    assert!(answer.starts_with("HTTP/1.1 200"), "{answer}");

    let mut plain = std::net::TcpStream::connect(("127.0.0.1", port)).unwrap();
    let request =
        format!("GET /keys HTTP/1.1\r\nHost: localhost:{port}\r\nConnection: close\r\n\r\n");
    plain.write_all(request.as_bytes()).unwrap();
    let mut answer = String::new();
    plain.read_to_string(&mut answer).unwrap();
    assert!(answer.starts_with("HTTP/1.1 200"), "{answer}");
    stop.send(()).unwrap();
    served.await.unwrap().unwrap();
}

fn encrypted_house() -> House {
    let clock = Some("2025-11-21T18:00:00Z".parse().unwrap());
    House::opened(clock, tempfile::tempdir().unwrap(), false)
}

#[tokio::test]
async fn a_phone_on_a_plain_connection_is_led_to_the_encrypted_one() {
    let house = encrypted_house();
    house.send(crate::door::set_passcode(PASSCODE)).await;
    let label = house.send(get("/K7QD3M?from=label")).await;
    assert_eq!(label.status, StatusCode::TEMPORARY_REDIRECT);
    assert_eq!(label.to(), "https://umbel.local:443/K7QD3M?from=label");
    let passcode = house.send(knock(PASSCODE, "/")).await;
    assert_eq!(passcode.status, StatusCode::FORBIDDEN, "not even looked at");
    assert_eq!(passcode.cookie(), "");
    assert!(passcode.text.contains("unencrypted"), "{}", passcode.text);
    let here = house.send(get("/house").here()).await;
    assert_eq!(here.status, StatusCode::OK, "this machine needs none");
    assert!(here.text.contains("the house's own certificate"), "{}", here.text);
}

#[tokio::test]
async fn cookies_of_an_encrypted_connection_are_secure_and_stay_there() {
    let house = encrypted_house();
    house.send(crate::door::set_passcode(PASSCODE)).await;
    let came = house.send(knock(PASSCODE, "/").encrypted()).await;
    assert_eq!(came.status, StatusCode::SEE_OTHER, "{}", came.text);
    let set = came.header(header::SET_COOKIE);
    for flag in ["__Host-door=", "; Secure", "; HttpOnly", "; SameSite=Strict", "; Path=/"] {
        assert!(set.contains(flag), "{set}");
    }
    assert!(!set.contains("Domain"), "{set}");
    let cookie = came.cookie();
    let known = get("/plants").encrypted().with(header::COOKIE, cookie.clone());
    assert_eq!(house.send(known).await.status, StatusCode::OK);
    // Under the name of a plain connection it is nobody's.
    let plain_name = cookie.replace("__Host-door", "door");
    let renamed = get("/plants").encrypted().with(header::COOKIE, plain_name);
    assert_eq!(house.send(renamed).await.status, StatusCode::SEE_OTHER);
    // A form of the same name over a plain page is another site's.
    let mixed = post("/theme", "theme=dark").encrypted().with(header::COOKIE, cookie);
    let mixed = mixed.with(header::ORIGIN, "http://umbel.local".to_owned());
    assert_eq!(house.send(mixed).await.status, StatusCode::FORBIDDEN);
}

#[tokio::test]
async fn a_plain_house_says_what_that_risks() {
    let house = House::with_passcode().await;
    let page = house.send(get("/house").here()).await;
    assert!(page.text.contains("Not encrypted, as was chosen."), "{}", page.text);
    assert!(page.text.contains("the passcode too"), "{}", page.text);
}
