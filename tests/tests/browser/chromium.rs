//! Drives Chromium: by its command line, and over a pipe in the words of the Chrome `DevTools` Protocol.

use std::fs::{File, OpenOptions};
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, Command, Output, Stdio};

use serde_json::{Value, json};

const NEEDED: &str = "these tests need Chromium: install Debian's package `chromium`, or leave them out";

/// Chromium by itself fetches nothing, and keeps a profile of its own in the folder.
fn options(folder: &Path) -> Vec<String> {
    let mut options: Vec<String> = [
        "--headless=new",
        "--no-sandbox",
        "--disable-gpu",
        "--hide-scrollbars",
        "--enable-logging=stderr",
        "--disable-background-networking",
        "--disable-component-update",
        "--no-first-run",
    ]
    .map(str::to_owned)
    .into();
    options.push(format!("--user-data-dir={}", folder.join("profile").display()));
    options
}

/// Runs Chromium to its end.
pub fn chromium(folder: &Path, arguments: &[&str]) -> Output {
    Command::new("chromium").args(options(folder)).args(arguments).output().expect(NEEDED)
}

/// The address of a file in a folder.
pub fn address(folder: &Path, page: &str) -> String {
    format!("file://{}/{page}", folder.display())
}

/// A browser with one page in it.
pub struct Browser {
    child: Child,
    to: File,
    from: BufReader<File>,
    session: Option<String>,
    asked: u64,
    /// What the page said in between: requests, console, exceptions.
    events: Vec<Value>,
}

impl Browser {
    /// Starts one; its profile and its pipes are in the folder.
    pub fn start(folder: &Path) -> Self {
        let pipes = ["to", "from"].map(|name| folder.join(name));
        for pipe in &pipes {
            let _ = std::fs::remove_file(pipe);
            assert!(Command::new("mkfifo").arg(pipe).status().expect("mkfifo is there").success());
        }
        // The protocol's pipes are the file descriptors 3 and 4, which a shell can set.
        let child = Command::new("sh")
            .args(["-c", "to=$1 from=$2; shift 2; exec chromium \"$@\" 3<\"$to\" 4>\"$from\"", "sh"])
            .args(&pipes)
            .arg("--remote-debugging-pipe")
            .args(options(folder))
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("a shell can be started");
        let to = OpenOptions::new().write(true).open(&pipes[0]).expect("the pipe can be opened");
        let from = BufReader::new(File::open(&pipes[1]).expect("the pipe can be opened"));
        let mut browser = Self { child, to, from, session: None, asked: 0, events: Vec::new() };
        let target = browser.ask("Target.createTarget", &json!({ "url": "about:blank" }));
        let attach = json!({ "targetId": target["targetId"], "flatten": true });
        let session =
            browser.ask("Target.attachToTarget", &attach)["sessionId"].as_str().expect("a session").to_owned();
        browser.session = Some(session);
        for domain in ["Page.enable", "Network.enable", "Runtime.enable", "Log.enable"] {
            browser.ask(domain, &json!({}));
        }
        browser
    }

    /// Gives a command and waits for its answer.
    pub fn ask(&mut self, method: &str, parameters: &Value) -> Value {
        self.asked += 1;
        let mut message = json!({ "id": self.asked, "method": method, "params": parameters });
        if let Some(session) = &self.session {
            message["sessionId"] = json!(session);
        }
        self.to.write_all(format!("{message}\0").as_bytes()).expect(NEEDED);
        loop {
            let answer = self.next();
            if answer["id"] == self.asked {
                assert!(answer["error"].is_null(), "{method}: {}", answer["error"]);
                return answer["result"].clone();
            }
            self.events.push(answer);
        }
    }

    fn next(&mut self) -> Value {
        let mut bytes = Vec::new();
        let read = self.from.read_until(0, &mut bytes).expect("the pipe can be read");
        assert!(read > 1, "{NEEDED}");
        bytes.pop();
        serde_json::from_slice(&bytes).expect("the protocol is JSON")
    }

    /// Opens a page and waits until it is loaded.
    pub fn open(&mut self, url: &str) {
        self.events.clear();
        self.ask("Page.navigate", &json!({ "url": url }));
        while !self.events.iter().any(|event| event["method"] == "Page.loadEventFired") {
            let event = self.next();
            self.events.push(event);
        }
    }

    /// The window's width in pixels of CSS.
    pub fn width(&mut self, width: u32) {
        let size = json!({ "width": width, "height": 900, "deviceScaleFactor": 1, "mobile": false });
        self.ask("Emulation.setDeviceMetricsOverride", &size);
    }

    /// For what it is shown: `screen` or `print`, on a `dark` or `light` ground.
    pub fn medium(&mut self, media: &str, scheme: &str) {
        let features = json!([{ "name": "prefers-color-scheme", "value": scheme }]);
        self.ask("Emulation.setEmulatedMedia", &json!({ "media": media, "features": features }));
    }

    /// What an expression comes to in the page; a promise is waited for. The page's own policy does not bind it.
    pub fn value(&mut self, expression: &str) -> Value {
        let parameters = json!({ "expression": expression, "awaitPromise": true, "returnByValue": true });
        let answer = self.ask("Runtime.evaluate", &parameters);
        assert!(answer["exceptionDetails"].is_null(), "{}", answer["exceptionDetails"]);
        answer["result"]["value"].clone()
    }

    /// What the page asked for beside itself and pictures that stand in it, and what the console said, since it was opened.
    pub fn asked_and_complained(&self) -> (Vec<String>, Vec<String>) {
        let (mut asked, mut complained) = (Vec::new(), Vec::new());
        for event in &self.events {
            let parameters = &event["params"];
            match event["method"].as_str() {
                Some("Network.requestWillBeSent") => {
                    let url = parameters["request"]["url"].as_str().unwrap_or_default();
                    if parameters["type"] != "Document" && !url.starts_with("data:") {
                        asked.push(url.to_owned());
                    }
                }
                Some("Runtime.consoleAPICalled" | "Runtime.exceptionThrown" | "Log.entryAdded") => {
                    complained.push(parameters.to_string());
                }
                _ => {}
            }
        }
        (asked, complained)
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        // Best effort: its profile goes away with the folder.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
