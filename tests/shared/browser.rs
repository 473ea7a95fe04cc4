//! A browser without a window, driven over a pair of pipes by its own protocol (Chrome `DevTools`).

use serde_json::{Value, json};
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::thread::sleep;
use std::time::Duration;
use tempfile::TempDir;

/// Names under which a browser may be installed.
const NAMES: [&str; 4] = ["chromium", "chromium-browser", "google-chrome", "chrome"];

/// The browser, by `PERCHLINE_BROWSER` or on the path. Without one the test says so and passes,
/// but never where CI runs it.
pub(crate) fn found() -> Option<PathBuf> {
    let given = std::env::var_os("PERCHLINE_BROWSER").map(PathBuf::from);
    let path = std::env::var_os("PATH").unwrap_or_default();
    let places = || std::env::split_paths(&path);
    let on_path = || {
        let all = NAMES.iter().flat_map(|name| places().map(move |place| place.join(name)));
        all.into_iter().find(|file| file.is_file())
    };
    let browser = given.or_else(on_path);
    if browser.is_none() {
        assert!(std::env::var_os("CI").is_none(), "no browser: install chromium");
        eprintln!("NOT TESTED: no browser; install chromium or set PERCHLINE_BROWSER");
    }
    browser
}

/// A page open in a browser.
pub(crate) struct Page {
    browser: Child,
    to: ChildStdin,
    from: BufReader<ChildStdout>,
    count: u64,
    session: Option<String>,
    /// Everything the browser reported unasked.
    events: Vec<Value>,
    _profile: TempDir,
}

impl Drop for Page {
    fn drop(&mut self) {
        // It may have ended by itself.
        let _ended = self.browser.kill();
        let _waited = self.browser.wait();
    }
}

impl Page {
    /// Opens `file` in a window of this size, in a light scheme.
    pub(crate) fn open(browser: &Path, file: &Path, size: [u32; 2]) -> Self {
        let profile = TempDir::new().unwrap();
        // The protocol goes over the third and fourth pipe; what the browser says itself, nowhere.
        let mut child = Command::new("sh")
            .arg("-c")
            .arg("exec \"$0\" \"$@\" 3<&0 4>&1 0</dev/null 1>/dev/null 2>/dev/null")
            .arg(browser)
            .args(["--headless=new", "--no-sandbox", "--disable-gpu", "--hide-scrollbars"])
            .args(["--remote-debugging-pipe", "--no-first-run", "--disable-dev-shm-usage"])
            .arg(format!("--user-data-dir={}", profile.path().display()))
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let (to, from) = (child.stdin.take().unwrap(), child.stdout.take().unwrap());
        let mut page = Self {
            browser: child,
            to,
            from: BufReader::new(from),
            count: 0,
            session: None,
            events: Vec::new(),
            _profile: profile,
        };
        let target = page.ask("Target.createTarget", &json!({"url": "about:blank"}));
        let attached = page.ask(
            "Target.attachToTarget",
            &json!({"targetId": target["targetId"], "flatten": true}),
        );
        page.session = Some(attached["sessionId"].as_str().unwrap().to_owned());
        for domain in ["Page", "Runtime", "Log", "Network"] {
            page.ask(&format!("{domain}.enable"), &json!({}));
        }
        page.resize(size);
        page.scheme("light");
        let url = format!("file://{}", file.display());
        page.ask("Page.navigate", &json!({"url": url}));
        for _ in 0..2400 {
            if page.says("document.readyState === 'complete' && !!globalThis.perchline") == true {
                return page;
            }
            sleep(Duration::from_millis(25));
        }
        panic!("the page does not come alive: {:?}", page.complaints());
    }

    /// Sends a command and waits for its answer.
    pub(crate) fn ask(&mut self, method: &str, parameters: &Value) -> Value {
        self.count += 1;
        let mut message = json!({"id": self.count, "method": method, "params": parameters});
        if let Some(session) = &self.session {
            message["sessionId"] = Value::from(session.as_str());
        }
        self.to.write_all(format!("{message}\0").as_bytes()).unwrap();
        self.to.flush().unwrap();
        loop {
            let mut bytes = Vec::new();
            self.from.read_until(0, &mut bytes).unwrap();
            assert_eq!(bytes.pop(), Some(0), "the browser is gone");
            let mut answer: Value = serde_json::from_slice(&bytes).unwrap();
            if answer["id"] == self.count {
                assert!(answer["error"].is_null(), "{method}: {}", answer["error"]);
                return answer["result"].take();
            }
            self.events.push(answer);
        }
    }

    /// What an expression comes to in the page.
    pub(crate) fn says(&mut self, expression: &str) -> Value {
        let wanted = json!({"expression": expression, "returnByValue": true, "awaitPromise": true});
        let mut answer = self.ask("Runtime.evaluate", &wanted);
        let failed = &answer["exceptionDetails"];
        assert!(failed.is_null(), "{expression}: {failed:#}");
        answer["result"]["value"].take()
    }

    pub(crate) fn resize(&mut self, [width, height]: [u32; 2]) {
        let size =
            json!({"width": width, "height": height, "deviceScaleFactor": 1, "mobile": false});
        self.ask("Emulation.setDeviceMetricsOverride", &size);
        self.drawn();
    }

    /// Light or dark, as the reader prefers.
    pub(crate) fn scheme(&mut self, scheme: &str) {
        let feature = json!({"name": "prefers-color-scheme", "value": scheme});
        self.ask("Emulation.setEmulatedMedia", &json!({"features": [feature]}));
        self.drawn();
    }

    /// Waits until the page has been drawn anew.
    pub(crate) fn drawn(&mut self) {
        self.says(
            "new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => \
             setTimeout(() => done(true), 0))))",
        );
    }

    /// Presses a key and lets it go.
    pub(crate) fn press(&mut self, key: &str) {
        let text = if key.chars().count() == 1 { key } else { "" };
        for kind in ["keyDown", "keyUp"] {
            let text = if kind == "keyDown" { text } else { "" };
            self.ask("Input.dispatchKeyEvent", &json!({"type": kind, "key": key, "text": text}));
        }
        self.drawn();
    }

    /// One event of the mouse.
    pub(crate) fn mouse(&mut self, kind: &str, [x, y]: [f64; 2], held: bool) {
        let event = json!({
            "type": kind, "x": x, "y": y, "button": if held { "left" } else { "none" },
            "buttons": u8::from(held), "clickCount": u8::from(kind != "mouseMoved"),
        });
        self.ask("Input.dispatchMouseEvent", &event);
    }

    /// What the console, a failing script or a request brought up, the page itself left out.
    pub(crate) fn complaints(&mut self) -> Vec<String> {
        self.drawn();
        let mut pages = 0;
        let complaint = |event: &Value| {
            let method = event["method"].as_str().unwrap_or_default();
            if method == "Network.requestWillBeSent" {
                let url = event["params"]["request"]["url"].as_str().unwrap_or_default();
                pages += usize::from(url.starts_with("file:"));
                return (!(url.starts_with("data:") || url.starts_with("file:") && pages == 1))
                    .then(|| format!("asks for {url}"));
            }
            let speaks = ["Runtime.consoleAPICalled", "Runtime.exceptionThrown", "Log.entryAdded"];
            let stops = method == "Page.javascriptDialogOpening";
            (stops || speaks.contains(&method)).then(|| event.to_string())
        };
        self.events.iter().filter_map(complaint).collect()
    }

    /// Keeps a picture of the window where `PERCHLINE_PICTURES` says, to be looked at.
    pub(crate) fn picture(&mut self, name: &str) {
        let Some(folder) = std::env::var_os("PERCHLINE_PICTURES") else { return };
        let picture = self.ask("Page.captureScreenshot", &json!({"format": "png"}));
        let path = Path::new(&folder).join(format!("{name}.png.base64"));
        std::fs::write(path, picture["data"].as_str().unwrap()).unwrap();
    }
}
