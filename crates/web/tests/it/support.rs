//! A house with pages, and a browser without a window.

use axum::{
    Router,
    body::{Body, to_bytes},
    http::{Request, StatusCode, header},
};
use tower::ServiceExt as _;
use web::{App, Options, router};

const HOST: &str = "localhost:7411";

/// Pages over an empty record in a folder of their own.
pub struct House {
    pub folder: tempfile::TempDir,
    pub app: App,
    pages: Router,
}

/// An answer of a page.
pub struct Answer {
    pub status: StatusCode,
    pub to: String,
    pub text: String,
}

impl House {
    pub fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let options = Options {
            collection: folder.path().join("house.umbel"),
            hosts: vec![HOST.to_owned()],
            clock: Some("2025-11-21T18:00:00Z".parse().unwrap()),
            ..Options::default()
        };
        let app = App::open(&options).unwrap();
        Self { folder, pages: router(app.clone()), app }
    }

    async fn send(&self, request: Request<Body>) -> Answer {
        let response = self.pages.clone().oneshot(request).await.unwrap();
        let status = response.status();
        let to = response
            .headers()
            .get(header::LOCATION)
            .and_then(|v| v.to_str().ok())
            .unwrap_or("")
            .to_owned();
        let bytes = to_bytes(response.into_body(), usize::MAX).await.unwrap();
        Answer { status, to, text: String::from_utf8_lossy(&bytes).into_owned() }
    }

    pub async fn get(&self, path: &str) -> Answer {
        let request = Request::get(path).header(header::HOST, HOST).body(Body::empty()).unwrap();
        self.send(request).await
    }

    pub async fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let body: Vec<String> =
            fields.iter().map(|(k, v)| format!("{}={}", encoded(k), encoded(v))).collect();
        let request = Request::post(path)
            .header(header::HOST, HOST)
            .header(header::ORIGIN, format!("http://{HOST}"))
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .body(Body::from(body.join("&")))
            .unwrap();
        self.send(request).await
    }

    /// Sends files: field, name and content of each.
    pub async fn upload(&self, path: &str, files: &[(&str, &str, &[u8])]) -> Answer {
        let mut body = Vec::new();
        for (field, name, content) in files {
            let head = format!(
                "--cut\r\nContent-Disposition: form-data; name=\"{field}\"; filename=\"{name}\"\r\n\r\n"
            );
            body.extend(head.as_bytes());
            body.extend(*content);
            body.extend(b"\r\n");
        }
        body.extend(b"--cut--\r\n");
        let request = Request::post(path)
            .header(header::HOST, HOST)
            .header(header::ORIGIN, format!("http://{HOST}"))
            .header(header::CONTENT_TYPE, "multipart/form-data; boundary=cut")
            .body(Body::from(body))
            .unwrap();
        self.send(request).await
    }
}

fn encoded(text: &str) -> String {
    text.bytes()
        .map(|b| {
            if b.is_ascii_alphanumeric() { char::from(b).to_string() } else { format!("%{b:02X}") }
        })
        .collect()
}
