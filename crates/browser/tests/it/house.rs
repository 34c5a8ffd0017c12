//! A house of its own for each test: a record in a temporary folder, pages that serve it, and a
//! browser that looks at them.

use std::{
    error::Error,
    path::PathBuf,
    process::{Command, Stdio},
};

use serde_json::json;
use thirtyfour::{
    ChromiumLikeCapabilities as _, DesiredCapabilities, Key, LoggingPrefsLogLevel, TypingData,
    WebDriver, cdp::domains::network::NetworkConditions, prelude::*,
};
use tokio::{
    io::{AsyncBufReadExt as _, AsyncReadExt as _, AsyncWriteExt as _, BufReader},
    net::TcpStream,
};

/// What a test gives back.
pub type Outcome = Result<(), Box<dyn Error + Send + Sync>>;

/// How wide the window is.
#[derive(Debug, Clone, Copy)]
pub enum Screen {
    /// 1280 × 900 px.
    Desk,
    /// A telephone 320 px wide, the narrowest that is still in use.
    Phone,
}

/// A browser at a house's pages.
#[derive(Clone)]
pub struct House {
    pub browser: WebDriver,
    /// Address of the first page, without the stroke at its end.
    pub address: String,
}

/// Whether browser tests were switched off; says so.
fn switched_off() -> bool {
    let off = std::env::var_os("UMBEL_NO_BROWSER").is_some();
    if off {
        println!("not tested in a browser: UMBEL_NO_BROWSER is set");
    }
    off
}

fn found(names: &[&str], package: &str) -> PathBuf {
    let folders = std::env::var_os("PATH").unwrap_or_default();
    std::env::split_paths(&folders)
        .flat_map(|f| names.iter().map(move |n| f.join(n)))
        .find(|p| p.is_file())
        .unwrap_or_else(|| {
            panic!(
                "there is no {} here; install it (Debian: apt-get install {package}), let ./check \
                 do so as root, or set UMBEL_NO_BROWSER=1 to do without these tests",
                names.join(" or ")
            )
        })
}

/// Runs `test` in a house of its own. `demo` begins in the demo instead of an empty record.
pub async fn visit<F, Fut>(screen: Screen, demo: bool, test: F)
where
    F: FnOnce(House) -> Fut,
    Fut: Future<Output = Outcome> + Send + 'static,
{
    visit_with(screen, demo, &[], test).await;
}

/// The same, where the browser may complain of what the test does on purpose, such as cutting the
/// connection.
pub async fn visit_with<F, Fut>(screen: Screen, demo: bool, on_purpose: &[&str], test: F)
where
    F: FnOnce(House) -> Fut,
    Fut: Future<Output = Outcome> + Send + 'static,
{
    if switched_off() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let options = web::Options {
        collection: folder.path().join("collection.umbel"),
        demo,
        ..web::Options::default()
    };
    let running = web::serve(options).await.unwrap();
    let address = running.address.trim_end_matches('/').to_owned();
    let (stop, stopped) = tokio::sync::oneshot::channel::<()>();
    let server = tokio::spawn(running.run(async move {
        let _ = stopped.await;
    }));

    let profile = folder.path().join("profile");
    let (mut driver, port) = driver().await;
    let browser =
        WebDriver::new(format!("http://127.0.0.1:{port}"), capabilities(screen, &profile))
            .await
            .unwrap();
    // In a task of its own, so that the browser is closed also after a panic.
    let outcome = tokio::spawn(test(House { browser: browser.clone(), address })).await;
    let mut complaints = complaints(&browser).await;
    complaints.retain(|c| !on_purpose.iter().any(|p| c.contains(p)));
    browser.quit().await.unwrap();
    driver.kill().await.unwrap();
    drop(stop);
    server.abort();
    match outcome {
        Err(panic) => std::panic::resume_unwind(panic.into_panic()),
        Ok(Err(error)) => panic!("{error}"),
        Ok(Ok(())) => assert!(complaints.is_empty(), "the browser complains: {complaints:#?}"),
    }
}

/// Starts chromedriver on a free port.
async fn driver() -> (tokio::process::Child, u16) {
    let program = found(&["chromedriver"], "chromium-driver");
    let mut command = Command::new(program);
    command.arg("--port=0").stdout(Stdio::piped()).stderr(Stdio::null());
    let mut child = tokio::process::Command::from(command).kill_on_drop(true).spawn().unwrap();
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
    while let Some(line) = lines.next_line().await.unwrap() {
        let port = line.split("successfully on port ").nth(1);
        if let Some(port) = port.and_then(|p| p.trim_end_matches('.').parse().ok()) {
            // Its further words are read and dropped, so that it never waits for a reader.
            tokio::spawn(async move { while let Ok(Some(_)) = lines.next_line().await {} });
            return (child, port);
        }
    }
    panic!("chromedriver ended before it listened");
}

fn capabilities(screen: Screen, profile: &std::path::Path) -> thirtyfour::ChromeCapabilities {
    let mut wanted = DesiredCapabilities::chrome();
    let chromium = found(&["chromium", "chromium-browser", "google-chrome"], "chromium");
    wanted.set_binary(&chromium.display().to_string()).unwrap();
    for word in [
        "--headless=new",
        // In a container there is neither a sandbox for root nor much shared memory.
        "--no-sandbox",
        "--disable-dev-shm-usage",
        "--disable-gpu",
        "--lang=en-GB",
        "--accept-lang=en-GB",
        "--window-size=1280,900",
        "--no-first-run",
        "--disable-background-networking",
        "--disable-component-update",
    ] {
        wanted.add_arg(word).unwrap();
    }
    wanted.add_arg(&format!("--user-data-dir={}", profile.display())).unwrap();
    wanted.set_browser_log_level(LoggingPrefsLogLevel::All).unwrap();
    if matches!(screen, Screen::Phone) {
        let metrics = json!({"width": 320, "height": 640, "pixelRatio": 2.0, "touch": true});
        wanted
            .add_experimental_option("mobileEmulation", json!({"deviceMetrics": metrics}))
            .unwrap();
    }
    wanted
}

/// Errors on the console, refused styles and scripts among them.
async fn complaints(browser: &WebDriver) -> Vec<String> {
    let log = browser.browser_log().await.unwrap();
    log.into_iter()
        .filter(|l| l.level == "SEVERE" || l.message.contains("Content Security Policy"))
        .map(|l| l.message)
        .collect()
}

impl House {
    /// Goes to a page of the house.
    pub async fn go(&self, path: &str) -> Outcome {
        self.browser.goto(format!("{}{path}", self.address)).await?;
        Ok(())
    }

    /// The element that a selector names first; waits for a page that is still loading.
    pub async fn one(&self, css: &str) -> Result<WebElement, Box<dyn Error + Send + Sync>> {
        let found = self.browser.query(By::Css(css)).first().await;
        found.map_err(|e| format!("no {css} on the page: {e}").into())
    }

    /// How many elements a selector names.
    pub async fn count(&self, css: &str) -> Result<usize, Box<dyn Error + Send + Sync>> {
        Ok(self.browser.find_all(By::Css(css)).await?.len())
    }

    /// Presses what a selector names first, and waits for the next page.
    pub async fn press(&self, css: &str) -> Outcome {
        let element = self.one(css).await?;
        self.browser.execute("window.umbelSame = true", vec![]).await?;
        element.scroll_into_view().await?;
        element.click().await?;
        for _ in 0..600 {
            let same = self
                .browser
                .execute(
                    "return window.umbelSame === true || document.readyState !== 'complete'",
                    vec![],
                )
                .await;
            if same.ok().and_then(|s| s.json().as_bool()) == Some(false) {
                return Ok(());
            }
            tokio::time::sleep(std::time::Duration::from_millis(100)).await;
        }
        Err(format!("no next page after pressing {css}").into())
    }

    /// Cuts the page off from the house, or joins it again.
    pub async fn cut_off(&self, offline: bool) -> Outcome {
        let cdp = self.browser.cdp();
        cdp.network().enable().await?;
        let conditions = NetworkConditions { offline, ..NetworkConditions::new() };
        cdp.network().emulate_network_conditions(conditions).await?;
        Ok(())
    }

    /// Sends a form beside the browser; answers with head and page as they came.
    pub async fn post(
        &self,
        path: &str,
        headers: &[(&str, &str)],
        form: &str,
    ) -> Result<String, Box<dyn Error + Send + Sync>> {
        let host = self.address.trim_start_matches("http://");
        let own: String = headers.iter().map(|(k, v)| format!("{k}: {v}\r\n")).collect();
        let head = format!(
            "POST {path} HTTP/1.1\r\nHost: {host}\r\nOrigin: {}\r\n{own}Connection: close\r\n\
             Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n",
            self.address,
            form.len()
        );
        let mut line = TcpStream::connect(host).await?;
        line.write_all(head.as_bytes()).await?;
        line.write_all(form.as_bytes()).await?;
        let mut answer = String::new();
        line.read_to_string(&mut answer).await?;
        Ok(answer)
    }

    /// Goes by the Tab key to what a selector names, from where the keyboard is.
    pub async fn tab_to(&self, css: &str) -> Outcome {
        for _ in 0..200 {
            let there = self
                .browser
                .execute(
                    "return document.activeElement.matches(arguments[0])",
                    vec![serde_json::json!(css)],
                )
                .await?;
            if there.json().as_bool() == Some(true) {
                return Ok(());
            }
            self.browser.action_chain().send_keys(Key::Tab).perform().await?;
        }
        Err(format!("the keyboard does not come to {css}").into())
    }

    /// Types at the place where the keyboard is.
    pub async fn keys(&self, keys: impl Into<TypingData>) -> Outcome {
        self.browser.action_chain().send_keys(keys).perform().await?;
        Ok(())
    }

    /// Waits until a script gives true.
    pub async fn until(&self, script: &str) -> Outcome {
        for _ in 0..300 {
            let is = self.browser.execute(script, vec![]).await;
            if is.ok().and_then(|s| s.json().as_bool()) == Some(true) {
                return Ok(());
            }
            tokio::time::sleep(std::time::Duration::from_millis(100)).await;
        }
        Err(format!("never true: {script}").into())
    }

    /// What stands on the page.
    pub async fn text(&self) -> Result<String, Box<dyn Error + Send + Sync>> {
        Ok(self.one("main").await?.text().await?)
    }

    /// What a script gives back.
    pub async fn script(
        &self,
        script: &str,
    ) -> Result<serde_json::Value, Box<dyn Error + Send + Sync>> {
        Ok(self.browser.execute(script, vec![]).await?.json().clone())
    }

    /// The path of the page that is open.
    pub async fn path(&self) -> Result<String, Box<dyn Error + Send + Sync>> {
        Ok(self.browser.current_url().await?.path().to_owned())
    }
}
