//! Who is let in, from where, and under which name.

use std::net::SocketAddr;

use axum::{
    Router,
    body::{Body, to_bytes},
    extract::connect_info::MockConnectInfo,
    http::{HeaderMap, Method, Request, StatusCode, header},
};
use jiff::Timestamp;
use journal::Journal;
use tower::ServiceExt as _;
use web::{App, Options, Peer, WebError, router};

pub const HERE: &str = "localhost:7411";
pub const NAME: &str = "umbel.local";
pub const PASSCODE: &str = "four words of moss";
const PHONE: [u8; 4] = [192, 168, 1, 23];

/// A house open to phones, asked from any address.
pub struct House {
    pub folder: tempfile::TempDir,
    pub app: App,
}

pub struct Answer {
    pub status: StatusCode,
    pub headers: HeaderMap,
    pub text: String,
}

impl Answer {
    pub fn header(&self, name: header::HeaderName) -> &str {
        self.headers.get(name).and_then(|v| v.to_str().ok()).unwrap_or("")
    }

    pub fn to(&self) -> &str {
        self.header(header::LOCATION)
    }

    /// Name and value of the cookie that was set.
    pub fn cookie(&self) -> String {
        self.header(header::SET_COOKIE).split(';').next().unwrap_or("").to_owned()
    }
}

/// A request in the making.
pub struct Knock {
    pub from: [u8; 4],
    pub encrypted: bool,
    pub method: Method,
    pub path: String,
    pub host: Option<&'static str>,
    pub headers: Vec<(header::HeaderName, String)>,
    pub body: String,
}

pub fn get(path: &str) -> Knock {
    Knock {
        from: PHONE,
        encrypted: false,
        method: Method::GET,
        path: path.to_owned(),
        host: Some(NAME),
        headers: Vec::new(),
        body: String::new(),
    }
}

pub fn post(path: &str, body: &str) -> Knock {
    let form = "application/x-www-form-urlencoded".to_owned();
    Knock { method: Method::POST, body: body.to_owned(), ..get(path) }
        .with(header::CONTENT_TYPE, form)
}

impl Knock {
    pub fn here(mut self) -> Self {
        self.from = [127, 0, 0, 1];
        self.host = Some(HERE);
        self
    }

    pub fn host(mut self, host: Option<&'static str>) -> Self {
        self.host = host;
        self
    }

    pub fn with(mut self, name: header::HeaderName, value: String) -> Self {
        self.headers.push((name, value));
        self
    }

    /// Over an encrypted connection; before the origin is told.
    pub fn encrypted(mut self) -> Self {
        self.encrypted = true;
        for (name, value) in &mut self.headers {
            if *name == header::ORIGIN {
                *value = value.replace("http://", "https://");
            }
        }
        self
    }

    /// As a browser sends a form of a page of this house.
    pub fn own(self) -> Self {
        let origin = format!("http://{}", self.host.unwrap_or(""));
        self.with(header::ORIGIN, origin)
    }
}

impl House {
    pub fn new() -> Self {
        Self::at(Some("2025-11-21T18:00:00Z".parse().unwrap()), tempfile::tempdir().unwrap())
    }

    pub fn at(clock: Option<Timestamp>, folder: tempfile::TempDir) -> Self {
        Self::opened(clock, folder, true)
    }

    /// `plain` as the option of that name.
    pub fn opened(clock: Option<Timestamp>, folder: tempfile::TempDir, plain: bool) -> Self {
        let options = Options {
            collection: folder.path().join("house.umbel"),
            phones: true,
            plain,
            hosts: vec![HERE.to_owned(), NAME.to_owned()],
            clock,
            ..Options::default()
        };
        let app = App::open(&options).unwrap();
        Self { folder, app }
    }

    /// A house whose passcode was set on its own machine.
    pub async fn with_passcode() -> Self {
        let house = Self::new();
        let set = house.send(set_passcode(PASSCODE)).await;
        assert_eq!((set.status, set.to()), (StatusCode::SEE_OTHER, "/house"));
        house
    }

    pub fn pages(&self, from: [u8; 4], encrypted: bool) -> Router {
        let peer = Peer { address: SocketAddr::from((from, 50_000)), encrypted };
        router(self.app.clone()).layer(MockConnectInfo(peer))
    }

    pub async fn send(&self, knock: Knock) -> Answer {
        let mut request = Request::builder().method(knock.method).uri(&knock.path);
        if let Some(host) = knock.host {
            request = request.header(header::HOST, host);
        }
        for (name, value) in &knock.headers {
            request = request.header(name, value);
        }
        let request = request.body(Body::from(knock.body)).unwrap();
        let response = self.pages(knock.from, knock.encrypted).oneshot(request).await.unwrap();
        let (head, body) = response.into_parts();
        let bytes = to_bytes(body, usize::MAX).await.unwrap();
        Answer {
            status: head.status,
            headers: head.headers,
            text: String::from_utf8_lossy(&bytes).into_owned(),
        }
    }

    /// A code for a phone in the hands of this role, as the owner's screen shows it.
    pub async fn code(&self, role: &str, name: &str) -> String {
        let body = format!("role={role}&name={}", encoded(name));
        let shown = self.send(post("/house/phones/pair", &body).here().own()).await;
        assert_eq!(shown.status, StatusCode::OK, "{}", shown.text);
        let at = shown.text.find("and type the code").unwrap();
        let typed = &shown.text[at..][..shown.text[at..].find("</dd>").unwrap()];
        typed.rsplit('>').next().unwrap().to_owned()
    }

    /// A phone that was paired in the hands of this role: its cookie.
    pub async fn paired(&self, role: &str, name: &str) -> String {
        let code = self.code(role, name).await;
        let came = self.send(post("/pair", &format!("code={}", encoded(&code))).own()).await;
        assert_eq!((came.status, came.to()), (StatusCode::SEE_OTHER, "/"), "{}", came.text);
        came.cookie()
    }

    /// A phone that gave the passcode: its cookie.
    pub async fn let_in(&self) -> String {
        let let_in = self.send(knock(PASSCODE, "/")).await;
        assert_eq!(let_in.status, StatusCode::SEE_OTHER, "{}", let_in.text);
        let_in.cookie()
    }
}

pub fn encoded(text: &str) -> String {
    text.bytes().map(|b| format!("%{b:02X}")).collect()
}

pub fn knock(passcode: &str, to: &str) -> Knock {
    post("/door", &format!("passcode={}&to={}", encoded(passcode), encoded(to))).own()
}

pub fn set_passcode(passcode: &str) -> Knock {
    let words = encoded(passcode);
    post("/house/passcode", &format!("passcode={words}&again={words}")).here().own()
}

#[tokio::test]
async fn another_host_is_refused_before_anything_else() {
    let house = House::with_passcode().await;
    let hosts =
        [Some("evil.example"), Some("umbel.local.evil.example"), Some("umbel.local:99"), Some("")];
    for host in hosts.into_iter().chain([None]) {
        for knock in [get("/"), get("/door"), get("/static/umbel.css")] {
            let answer = house.send(knock.host(host)).await;
            assert_eq!(answer.status, StatusCode::MISDIRECTED_REQUEST, "{host:?}");
        }
    }
    let upper = house.send(get("/door").host(Some("UMBEL.LOCAL"))).await;
    assert_eq!(upper.status, StatusCode::OK, "labels hold the name in upper case");
}

#[tokio::test]
async fn a_form_of_another_site_is_refused() {
    let house = House::new();
    let origins = ["http://evil.example", "null", "http://localhost", "http://localhost:7411.evil"];
    for origin in origins {
        let theme = post("/theme", "theme=dark").here();
        let answer = house.send(theme.with(header::ORIGIN, origin.to_owned())).await;
        assert_eq!(answer.status, StatusCode::FORBIDDEN, "{origin}");
        assert!(answer.text.contains("another site"), "{}", answer.text);
    }
    let silent = house.send(post("/theme", "theme=dark").here()).await;
    assert_eq!(silent.status, StatusCode::FORBIDDEN, "neither Origin nor Sec-Fetch-Site");
    let site = header::HeaderName::from_static("sec-fetch-site");
    for (said, expected) in [
        ("cross-site", StatusCode::FORBIDDEN),
        ("same-site", StatusCode::FORBIDDEN),
        ("none", StatusCode::FORBIDDEN),
        ("same-origin", StatusCode::SEE_OTHER),
    ] {
        let knock = post("/theme", "theme=dark").here().with(site.clone(), said.to_owned());
        assert_eq!(house.send(knock).await.status, expected, "{said}");
    }
    let own = house.send(post("/theme", "theme=dark").here().own()).await;
    assert_eq!(own.status, StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn asking_for_a_page_changes_nothing() {
    let house = House::new();
    let added = post("/plants", "name=Begonia+venosa&count=1").here().own();
    house.send(added).await;
    let journal = house.app.journal();
    let settings = || {
        ["who", "language", "house", "passcode", "sessions", "pairings", "last_backup", "theme"]
            .map(|key| journal.setting(key).unwrap())
    };
    let before = (journal.projection_text().unwrap(), settings());
    let files = || std::fs::read_dir(house.folder.path()).unwrap().count();
    let files_before = files();
    for path in [
        "/",
        "/begin",
        "/demo/in",
        "/demo/out",
        "/restore",
        "/plants",
        "/plants/new",
        "/plants/1",
        "/plants/1/log",
        "/places",
        "/keepers",
        "/crosses",
        "/import",
        "/left-over",
        "/names",
        "/show",
        "/labels",
        "/labels?n=1",
        "/find?q=begonia",
        "/keys",
        "/history",
        "/undo",
        "/house",
        "/house/backup",
        "/house/export",
        "/house/passcode?passcode=abcdefgh&again=abcdefgh",
        "/house/name?name=other.local",
        "/house/phones/forget",
        "/door?passcode=abcdefgh",
        "/door/leave",
        "/PAIR/234567892345",
        "/nowhere",
    ] {
        let answer = house.send(get(path).here()).await;
        assert_ne!(answer.status, StatusCode::INTERNAL_SERVER_ERROR, "{path}");
        assert_eq!((journal.projection_text().unwrap(), settings()), before, "{path}");
    }
    assert_eq!(files(), files_before);
}

#[tokio::test]
async fn without_a_passcode_no_other_device_gets_a_page() {
    let house = House::new();
    for path in ["/", "/door", "/plants", "/house"] {
        let answer = house.send(get(path)).await;
        assert_eq!(answer.status, StatusCode::FORBIDDEN, "{path}");
        assert!(answer.text.contains("no passcode"), "{}", answer.text);
    }
    let answer = house.send(knock("", "/")).await;
    assert_eq!(answer.status, StatusCode::FORBIDDEN);
    assert_eq!(answer.cookie(), "");
    let here = house.send(get("/house").here()).await;
    assert_eq!(here.status, StatusCode::OK);
    assert!(here.text.contains("Phones at the shelf"));
}

#[tokio::test]
async fn a_stranger_is_led_to_the_door_and_from_there_to_the_plant() {
    let house = House::with_passcode().await;
    house.send(post("/plants", "name=Begonia+secreta").here().own()).await;
    let scanned = house.send(get("/K7QD3M?from=label")).await;
    assert_eq!(scanned.status, StatusCode::SEE_OTHER);
    assert_eq!(scanned.to(), "/door?to=%2FK7QD3M%3Ffrom%3Dlabel");
    let door = house.send(get(scanned.to())).await;
    assert_eq!(door.status, StatusCode::OK);
    assert!(door.text.contains(r#"name="to" value="/K7QD3M?from=label""#), "{}", door.text);
    assert!(!door.text.contains("secreta"), "the door says nothing of the record");
    let asset = house.send(get("/static/umbel.css")).await;
    assert_eq!(asset.status, StatusCode::OK);

    let let_in = house.send(knock(PASSCODE, "/K7QD3M?from=label")).await;
    assert_eq!((let_in.status, let_in.to()), (StatusCode::SEE_OTHER, "/K7QD3M?from=label"));
    let set = let_in.header(header::SET_COOKIE);
    for flag in ["; HttpOnly", "; SameSite=Strict", "; Path=/", "; Max-Age=7776000"] {
        assert!(set.contains(flag), "{set}");
    }
    let cookie = let_in.cookie();
    assert_eq!(cookie.len(), "door=".len() + 64, "256 bits in hexadecimal");
    let plants = house.send(get("/plants").with(header::COOKIE, format!("theme=dark; {cookie}")));
    assert_eq!(plants.await.status, StatusCode::OK);

    // What is kept is no key: neither passcode nor token stand in the record.
    let journal = house.app.journal();
    let kept = journal.setting("sessions").unwrap().unwrap();
    assert!(!kept.contains(&cookie["door=".len()..]));
    assert!(journal.setting("passcode").unwrap().unwrap().starts_with("$argon2id$"));
}

#[tokio::test]
async fn the_door_leads_to_own_pages_only() {
    let house = House::with_passcode().await;
    for to in ["//evil.example", "http://evil.example", "/\\evil.example", "/\t/evil.example", ""] {
        let let_in = house.send(knock(PASSCODE, to)).await;
        assert_eq!((let_in.status, let_in.to()), (StatusCode::SEE_OTHER, "/"), "{to:?}");
    }
}

/// Who cannot be placed is nobody's friend: an open house takes no request for its own.
#[tokio::test]
async fn without_an_address_an_open_house_asks_for_the_passcode() {
    let house = House::with_passcode().await;
    let request = Request::get("/plants").header(header::HOST, HERE).body(Body::empty()).unwrap();
    let answer = router(house.app.clone()).oneshot(request).await.unwrap();
    assert_eq!(answer.status(), StatusCode::SEE_OTHER);
    assert_eq!(answer.headers()[header::LOCATION], "/door?to=%2Fplants");
}

#[tokio::test]
async fn a_stranger_cannot_send_much() {
    let house = House::with_passcode().await;
    let answer = house.send(knock(&"x".repeat(10_000), "/")).await;
    assert_eq!(answer.status, StatusCode::PAYLOAD_TOO_LARGE);
}

#[tokio::test]
async fn a_form_of_a_stranger_is_not_taken() {
    let house = House::with_passcode().await;
    let before = house.app.journal().projection_text().unwrap();
    for cookie in ["door=", "door=0123", "other=1"] {
        let sent = post("/plants", "name=Begonia+venosa").own();
        let answer = house.send(sent.with(header::COOKIE, cookie.to_owned())).await;
        assert_eq!(answer.status, StatusCode::FORBIDDEN, "{cookie}");
    }
    assert_eq!(house.app.journal().projection_text().unwrap(), before);
}

/// One second passes in this test: the wait is real.
#[tokio::test]
async fn wrong_passcodes_wait_longer_each_time() {
    let house = House::with_passcode().await;
    let wrong = house.send(knock("four words of fern", "/")).await;
    assert_eq!(wrong.status, StatusCode::FORBIDDEN);
    assert_eq!(wrong.header(header::RETRY_AFTER), "1");
    assert!(wrong.text.contains("in one second"), "{}", wrong.text);
    assert_eq!(wrong.cookie(), "");
    let early = house.send(knock(PASSCODE, "/")).await;
    assert_eq!(early.status, StatusCode::TOO_MANY_REQUESTS, "even the right one must wait");
    assert_eq!(early.cookie(), "");
    let other = Knock { from: [192, 168, 1, 24], ..knock(PASSCODE, "/") };
    assert_eq!(house.send(other).await.status, StatusCode::SEE_OTHER, "others need not wait");
    tokio::time::sleep(std::time::Duration::from_millis(1010)).await;
    let wrong = house.send(knock("four words of fern", "/")).await;
    assert_eq!(wrong.header(header::RETRY_AFTER), "2");
    assert!(wrong.text.contains("in 2 seconds"), "{}", wrong.text);
}

#[tokio::test]
async fn phones_leave_are_forgotten_and_run_out() {
    let house = House::with_passcode().await;
    let plants = |cookie: &str| get("/plants").with(header::COOKIE, cookie.to_owned());
    let (one, two) = (house.let_in().await, house.let_in().await);
    let leave = post("/door/leave", "").own().with(header::COOKIE, one.clone());
    let left = house.send(leave).await;
    assert!(left.header(header::SET_COOKIE).contains("Max-Age=0"));
    assert_eq!(house.send(plants(&one)).await.status, StatusCode::SEE_OTHER);
    assert_eq!(house.send(plants(&two)).await.status, StatusCode::OK);

    house.send(post("/house/phones/forget", "").here().own()).await;
    assert_eq!(house.send(plants(&two)).await.status, StatusCode::SEE_OTHER);

    let three = house.let_in().await;
    house.send(set_passcode("another passcode")).await;
    assert_eq!(house.send(plants(&three)).await.status, StatusCode::SEE_OTHER, "changed");
    house.send(set_passcode(PASSCODE)).await;

    let four = house.let_in().await;
    let House { folder, app } = house;
    drop(app);
    let day_89 = House::at(Some("2026-02-18T18:00:00Z".parse().unwrap()), folder);
    assert_eq!(day_89.send(plants(&four)).await.status, StatusCode::OK, "survives a restart");
    let House { folder, app } = day_89;
    drop(app);
    let day_90 = House::at(Some("2026-02-19T18:00:00Z".parse().unwrap()), folder);
    assert_eq!(day_90.send(plants(&four)).await.status, StatusCode::SEE_OTHER, "has run out");
}

#[tokio::test]
async fn passcodes_that_are_not_taken() {
    let house = House::new();
    let long = "x".repeat(201);
    for (body, why) in [
        ("passcode=short&again=short".to_owned(), "at least 8"),
        ("passcode=longenough&again=longenouhg".to_owned(), "same twice"),
        (format!("passcode={long}&again={long}"), "at most 200"),
    ] {
        let answer = house.send(post("/house/passcode", &body).here().own()).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(answer.text.contains(why), "{}", answer.text);
        assert!(!answer.text.contains("longenough"), "a secret is not shown");
    }
    assert_eq!(house.app.journal().setting("passcode").unwrap(), None);
}

#[tokio::test]
async fn who_comes_in_is_decided_on_this_machine_only() {
    let house = House::with_passcode().await;
    let cookie = house.let_in().await;
    for (path, body) in [
        ("/house/passcode", "passcode=abcdefgh&again=abcdefgh"),
        ("/house/passcode", "act=take+away"),
        ("/house/name", "name=other.local&stale=yes"),
    ] {
        let sent = post(path, body).own().with(header::COOKIE, cookie.clone());
        assert_eq!(house.send(sent).await.status, StatusCode::FORBIDDEN, "{path}");
    }
    let page = house.send(get("/house").with(header::COOKIE, cookie.clone())).await;
    assert!(page.text.contains("Leave on this device"));
    assert!(!page.text.contains("New passcode"));
    house.send(post("/house/passcode", "act=take+away").here().own()).await;
    let after = house.send(get("/plants").with(header::COOKIE, cookie)).await;
    assert_eq!(after.status, StatusCode::FORBIDDEN, "without a passcode nobody is known");
}

#[tokio::test]
async fn the_demo_keeps_the_door_of_the_own_record() {
    let house = House::with_passcode().await;
    let cookie = house.let_in().await;
    house.app.enter_demo().unwrap();
    assert_eq!(house.send(get("/plants")).await.status, StatusCode::SEE_OTHER);
    let known = house.send(get("/plants").with(header::COOKIE, cookie)).await;
    assert_eq!(known.status, StatusCode::OK);
    let in_demo = house.let_in().await;
    house.app.leave_demo();
    let known = house.send(get("/plants").with(header::COOKIE, in_demo)).await;
    assert_eq!(known.status, StatusCode::OK);
}

#[tokio::test]
async fn the_name_of_the_house_is_chosen_once() {
    let house = House::new();
    let name = |name: &str, more: &str| {
        post("/house/name", &format!("name={}{more}", encoded(name))).here().own()
    };
    let kept = || house.app.journal().setting("house").unwrap();
    let bad = house.send(name("my house", "")).await;
    assert_eq!(bad.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(bad.text.contains("does not end in .local"), "{}", bad.text);
    assert_eq!(house.send(name("glasshouse.local", "")).await.to(), "/house");
    assert_eq!(kept().as_deref(), Some("GLASSHOUSE.LOCAL"), "without plants, without a question");

    house.send(post("/plants", "name=Begonia+venosa").here().own()).await;
    assert_eq!(house.app.journal().read(|r| r.totals()).unwrap().0, 1);
    let warned = house.send(name("sill.local", "")).await;
    assert_eq!(warned.status, StatusCode::CONFLICT);
    assert!(warned.text.contains("lead to GLASSHOUSE.LOCAL"), "{}", warned.text);
    assert_eq!(kept().as_deref(), Some("GLASSHOUSE.LOCAL"));
    assert_eq!(house.send(name("sill.local", "&stale=yes")).await.to(), "/house");
    assert_eq!(kept().as_deref(), Some("SILL.LOCAL"));
}

#[tokio::test]
async fn every_answer_says_what_a_page_may_load() {
    let house = House::with_passcode().await;
    for knock in [
        get("/house").here(),
        get("/nowhere").here(),
        get("/static/umbel.css"),
        get("/door"),
        get("/plants"),
        get("/").host(Some("evil.example")),
        post("/theme", "theme=dark"),
    ] {
        let path = knock.path.clone();
        let answer = house.send(knock).await;
        let policy = answer.header(header::CONTENT_SECURITY_POLICY);
        assert!(policy.contains("default-src 'none'"), "{path}: {policy}");
        assert!(policy.contains("script-src 'self'"), "{path}: {policy}");
        assert!(!policy.contains("unsafe"), "{path}: {policy}");
        for written in ["<script>", " style=\"", " onclick=", "javascript:"] {
            assert!(!answer.text.contains(written), "{path}: {written}");
        }
    }
}

fn options(folder: &tempfile::TempDir, phones: bool) -> Options {
    Options { collection: folder.path().join("house.umbel"), phones, ..Options::default() }
}

#[tokio::test]
async fn without_a_passcode_it_listens_on_this_machine_only() {
    let folder = tempfile::tempdir().unwrap();
    let refused = web::serve(options(&folder, true)).await.err().unwrap();
    assert!(matches!(refused, WebError::NoPasscode), "{refused}");
    assert!(refused.to_string().contains("set one on the page House"), "{refused}");
    let running = web::serve(options(&folder, false)).await.unwrap();
    let sockets = running.listens_on().unwrap();
    assert!(!sockets.is_empty());
    assert!(sockets.iter().all(|s| s.ip().is_loopback()), "{sockets:?}");
}

#[tokio::test]
async fn with_a_passcode_but_unasked_it_listens_on_this_machine_only() {
    let house = House::with_passcode().await;
    let running = web::serve(options(&house.folder, false)).await.unwrap();
    assert!(running.listens_on().unwrap().iter().all(|s| s.ip().is_loopback()));
}

/// Over real sockets, from this machine; that phones reach it is for a real network to show.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn with_a_passcode_and_asked_it_listens_for_phones() {
    use std::io::{Read as _, Write as _};

    let folder = tempfile::tempdir().unwrap();
    {
        let (journal, _) = Journal::open(folder.path().join("house.umbel")).unwrap();
        journal.set_setting("passcode", "$argon2id$unreadable").unwrap();
        journal.set_setting("house", "GLASSHOUSE.LOCAL").unwrap();
    }
    let running = web::serve(options(&folder, true)).await.unwrap();
    let sockets = running.listens_on().unwrap();
    assert!(sockets.iter().all(|s| s.ip().is_unspecified()), "{sockets:?}");
    assert!(
        sockets.iter().any(|s| s.port() == 80)
            || running.notes.iter().any(|n| n.contains("port 80")),
        "{:?}",
        running.notes
    );
    let port = sockets[0].port();
    let (stop, stopped) = tokio::sync::oneshot::channel::<()>();
    let served = tokio::spawn(running.run(async move {
        let _ = stopped.await;
    }));
    for (host, expected) in [
        (format!("localhost:{port}"), "HTTP/1.1 200"),
        (format!("GLASSHOUSE.LOCAL:{port}"), "HTTP/1.1 200"),
        ("evil.example".to_owned(), "HTTP/1.1 421"),
    ] {
        let mut socket = std::net::TcpStream::connect(("127.0.0.1", port)).unwrap();
        let request = format!("GET /keys HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n");
        socket.write_all(request.as_bytes()).unwrap();
        let mut answer = String::new();
        socket.read_to_string(&mut answer).unwrap();
        assert!(answer.starts_with(expected), "{host}: {answer}");
    }
    stop.send(()).unwrap();
    served.await.unwrap().unwrap();
}
