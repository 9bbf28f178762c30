//! A person with a browser that runs scripts: headless Chromium.

use super::page::Page;
use super::scenario::PASSWORD;
use serde_json::{Value, json};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};
use tempfile::TempDir;
use thirtyfour::prelude::*;

/// How long a page or a file may take to be there.
const PATIENCE: Duration = Duration::from_secs(20);

/// A browser with a profile of its own.
#[derive(Debug)]
pub(crate) struct Browser {
    driver: WebDriver,
    server: Child,
    port: u16,
    address: String,
    folder: TempDir,
}

impl Browser {
    /// Starts a browser for the service at `address`; none, and a line that
    /// says so, on a machine without Chromium.
    pub(crate) async fn start(address: &str) -> Option<Browser> {
        for program in ["chromium", "chromedriver"] {
            if !super::has(program, "the stories in a browser") {
                return None;
            }
        }
        let folder = TempDir::with_prefix("roundel-browser-").expect("a temporary folder can be made");
        let (server, port) = start_driver();
        let mut options = DesiredCapabilities::chrome();
        for argument in [
            "--headless=new",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-dev-shm-usage",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--disable-quic",
            "--force-device-scale-factor=1",
            "--window-size=1280,900",
        ] {
            options.add_arg(argument).expect("an argument of ours");
        }
        options.add_arg(&format!("--user-data-dir={}", folder.path().join("profile").display())).expect("a path");
        let driver = WebDriver::new(format!("http://127.0.0.1:{port}"), options).await.expect("the browser starts");
        let browser = Browser { driver, server, port, address: address.to_owned(), folder };
        browser.prepare().await;
        Some(browser)
    }

    async fn prepare(&self) {
        std::fs::create_dir(self.downloads()).expect("a new folder");
        let folder = json!({ "behavior": "allow", "downloadPath": self.downloads() });
        self.command("Browser.setDownloadBehavior", folder).await;
        // Runs before any script of a page, whatever the page's policy says.
        let watch = "window.__faults = []; \
            addEventListener('securitypolicyviolation', (e) => __faults.push('policy: ' + e.violatedDirective + ' ' + e.blockedURI)); \
            addEventListener('error', (e) => __faults.push('script: ' + e.message)); \
            addEventListener('unhandledrejection', (e) => __faults.push('promise: ' + e.reason));";
        self.command("Page.addScriptToEvaluateOnNewDocument", json!({ "source": watch })).await;
        self.dark(false).await;
    }

    async fn command(&self, name: &str, parameters: Value) {
        self.driver.cdp().send_raw(name, parameters).await.unwrap_or_else(|error| panic!("{name}: {error}"));
    }

    pub(crate) fn downloads(&self) -> PathBuf {
        self.folder.path().join("downloads")
    }

    /// Closes the browser.
    pub(crate) async fn end(self) {
        self.driver.clone().quit().await.expect("the browser ends when it is told to");
    }

    /// Goes to a path of the service.
    pub(crate) async fn go(&self, path: &str) {
        self.visit(&format!("{}{path}", self.address)).await;
    }

    pub(crate) async fn visit(&self, url: &str) {
        self.driver.goto(url).await.unwrap_or_else(|error| panic!("{url}: {error}"));
        self.look_for_faults().await;
    }

    /// What a script returns.
    pub(crate) async fn run(&self, script: &str, arguments: Vec<Value>) -> Value {
        let answer = self.driver.execute(script, arguments).await;
        answer.unwrap_or_else(|error| panic!("{}: {error}", &script[..script.len().min(200)])).json().clone()
    }

    /// What a script hands to its last argument.
    pub(crate) async fn run_later(&self, script: &str, arguments: Vec<Value>) -> Value {
        let answer = self.driver.execute_async(script, arguments).await;
        answer.unwrap_or_else(|error| panic!("{}: {error}", &script[..script.len().min(200)])).json().clone()
    }

    /// The page as it stands, scripts having run.
    pub(crate) async fn page(&self) -> Page {
        let html = self.run("return document.documentElement.outerHTML", vec![]).await;
        Page::read(html.as_str().expect("a text"))
    }

    /// The path of the page, without its query.
    pub(crate) async fn path(&self) -> String {
        let path = self.run("return location.pathname", vec![]).await;
        path.as_str().expect("a text").to_owned()
    }

    async fn find(&self, css: &str) -> WebElement {
        match self.driver.query(By::Css(css.to_owned())).first().await {
            Ok(element) => element,
            Err(_) => panic!("{} has no {css}: {}", self.path().await, self.page().await.problems()),
        }
    }

    /// Types a text into a field, in the place of what stood there.
    pub(crate) async fn type_into(&self, name: &str, text: &str) {
        let field = self.find(&format!("[name='{name}']")).await;
        match field.attr("type").await.ok().flatten().as_deref() {
            // What keys do in these depends on the language of the browser.
            Some("date" | "time") => {
                self.run("arguments[0].value = arguments[1]", vec![field.to_json().expect("an element"), json!(text)])
                    .await;
            }
            _ => {
                field.clear().await.expect("a field can be emptied");
                field.send_keys(text).await.expect("a field can be typed into");
            }
        }
    }

    pub(crate) async fn choose(&self, name: &str, value: &str) {
        self.find(&format!("select[name='{name}'] option[value='{value}']")).await.click().await.expect("an option");
    }

    /// Signs in as somebody whose password is that of everybody.
    pub(crate) async fn sign_in(&self, email: &str) {
        self.forget().await;
        self.go("/sign-in").await;
        self.enter_sign_in(email).await;
    }

    /// Fills the form of signing in that is shown.
    pub(crate) async fn enter_sign_in(&self, email: &str) {
        self.type_into("email", email).await;
        self.type_into("password", PASSWORD).await;
        self.press("form[action='/sign-in'] button").await;
    }

    /// Presses keys, wherever the focus is.
    pub(crate) async fn keys(&self, keys: &str) {
        self.driver.action_chain().send_keys(keys).perform().await.expect("keys can be pressed");
    }

    /// Goes with the tab key until the focus is on what `script` says yes to;
    /// `it` is the element.
    pub(crate) async fn tab_to(&self, script: &str) {
        let here = format!("const it = document.activeElement; return Boolean({script})");
        for _ in 0..400 {
            self.keys("\u{E004}").await;
            if self.run(&here, vec![]).await == json!(true) {
                return;
            }
        }
        panic!("the tab key does not lead to {script} on {}", self.path().await);
    }

    /// Goes to a field with the tab key, and types in the place of what stood there.
    pub(crate) async fn key_in(&self, name: &str, text: &str) {
        self.tab_to(&format!("it.name === '{name}'")).await;
        let is_list = self.run("return document.activeElement.tagName === 'SELECT'", vec![]).await == json!(true);
        if is_list {
            self.keys(text).await;
        } else {
            // Control and A choose everything that stands there.
            let all = self.driver.action_chain().key_down(Key::Control).send_keys("a").key_up(Key::Control);
            all.perform().await.expect("keys can be pressed");
            self.keys(text).await;
        }
    }

    /// Presses a button or a link with the keyboard, and waits for the page.
    pub(crate) async fn enter_on(&self, script: &str) {
        self.tab_to(script).await;
        self.run("window.__left = false", vec![]).await;
        self.keys("\u{E007}").await;
        self.arrive(script).await;
    }

    /// Cuts the connection to the network, or gives it back.
    pub(crate) async fn online(&self, on: bool) {
        let network = json!({ "offline": !on, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1 });
        self.command("Network.enable", json!({})).await;
        self.command("Network.emulateNetworkConditions", network).await;
    }

    /// Runs pages with or without their scripts from now on.
    pub(crate) async fn scripts(&self, on: bool) {
        self.command("Emulation.setScriptExecutionDisabled", json!({ "value": !on })).await;
    }

    /// Presses what leads to another page, and waits until that is there.
    pub(crate) async fn press(&self, css: &str) {
        let button = self.find(css).await;
        self.run("window.__left = false", vec![]).await;
        button.scroll_into_view().await.expect("it can be seen");
        button.click().await.unwrap_or_else(|error| panic!("{css} cannot be pressed: {error}"));
        self.arrive(css).await;
    }

    /// Waits until another page is there.
    async fn arrive(&self, css: &str) {
        let until = Instant::now() + PATIENCE;
        let arrived = "return window.__left === undefined && document.readyState === 'complete'";
        loop {
            // Between two pages there is none to ask.
            let answer = self.driver.execute(arrived, vec![]).await;
            if answer.is_ok_and(|answer| answer.json() == &json!(true)) {
                break;
            }
            assert!(Instant::now() < until, "{css} led nowhere");
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
        self.look_for_faults().await;
    }

    /// Chooses a file and sends the form that it is in.
    pub(crate) async fn upload(&self, action: &str, name: &str, text: &str) {
        let file = self.folder.path().join(name);
        std::fs::write(&file, text).expect("a temporary file can be written");
        let form = format!("form[action='{action}']");
        let path = file.to_str().expect("a path of ours");
        self.find(&format!("{form} input[type=file]")).await.send_keys(path).await.expect("a file can be chosen");
        self.press(&format!("{form} button")).await;
    }

    /// Presses a link to a file; the file, once it is there as a whole.
    pub(crate) async fn download(&self, css: &str) -> Vec<u8> {
        let link = self.find(css).await;
        link.scroll_into_view().await.expect("it can be seen");
        link.click().await.expect("a link can be pressed");
        let until = Instant::now() + PATIENCE;
        loop {
            if let Some(file) = finished(&self.downloads()) {
                let bytes = std::fs::read(&file).expect("a file that was written");
                std::fs::remove_file(&file).expect("a file of ours");
                return bytes;
            }
            assert!(Instant::now() < until, "{css} gave no file");
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
    }

    /// Nothing was blocked by the policy, and no script failed.
    async fn look_for_faults(&self) {
        let faults = self.run("return window.__faults || []", vec![]).await;
        assert_eq!(faults, json!([]), "on {}", self.path().await);
    }

    /// Sets the width of the window, in CSS pixels.
    pub(crate) async fn width(&self, pixels: u32) {
        let size = json!({ "width": pixels, "height": 900, "deviceScaleFactor": 1, "mobile": false });
        self.command("Emulation.setDeviceMetricsOverride", size).await;
    }

    /// Sets whether the person prefers dark pages.
    pub(crate) async fn dark(&self, dark: bool) {
        let value = if dark { "dark" } else { "light" };
        // A page that still scrolls cannot be pressed where it was looked at.
        let features = json!([
            { "name": "prefers-color-scheme", "value": value },
            { "name": "prefers-reduced-motion", "value": "reduce" },
        ]);
        let features = json!({ "features": features });
        self.command("Emulation.setEmulatedMedia", features).await;
    }

    /// Forgets all cookies.
    pub(crate) async fn forget(&self) {
        self.command("Network.clearBrowserCookies", json!({})).await;
    }

    /// A picture of the page, for a person who looks into a failure.
    #[allow(dead_code, reason = "called by hand while a test is being mended")]
    pub(crate) async fn picture(&self, file: &Path) {
        self.driver.screenshot(file).await.expect("a picture");
    }
}

impl Drop for Browser {
    /// Also when a test has failed, no browser is left running.
    fn drop(&mut self) {
        if let Ok(mut driver) = TcpStream::connect(("127.0.0.1", self.port)) {
            let session = self.driver.session_id();
            let end = format!("DELETE /session/{session} HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n");
            let _ = driver.set_read_timeout(Some(PATIENCE));
            let _ = driver.write_all(end.as_bytes());
            let _ = driver.read_to_end(&mut Vec::new());
        }
        let _ = self.server.kill();
        let _ = self.server.wait();
    }
}

/// A driver on a port that it chose itself. It ends at once where somebody else took
/// that port in the meantime; then the next one tries.
fn start_driver() -> (Child, u16) {
    let mut tried = std::iter::repeat_with(try_driver).take(5);
    tried.find_map(|driver| driver).expect("chromedriver says on which port it is")
}

fn try_driver() -> Option<(Child, u16)> {
    let mut server = Command::new("chromedriver")
        .arg("--port=0")
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("the program was asked for its version before");
    let output = BufReader::new(server.stdout.take().expect("it is piped"));
    let port = output.lines().map_while(Result::ok).find_map(|line| {
        let port = line.split("started successfully on port ").nth(1)?;
        port.trim_end_matches('.').parse().ok()
    });
    if port.is_none() {
        let _ = server.kill();
        let _ = server.wait();
    }
    Some((server, port?))
}

/// A file that is no longer being written.
fn finished(folder: &Path) -> Option<PathBuf> {
    let entries = std::fs::read_dir(folder).expect("a folder of ours");
    let paths: Vec<PathBuf> = entries.map(|entry| entry.expect("an entry").path()).collect();
    let partial = paths.iter().any(|path| path.extension().is_some_and(|e| e == "crdownload"));
    paths.into_iter().find(|path| path.extension().is_some_and(|e| e == "pdf" || e == "json")).filter(|_| !partial)
}
