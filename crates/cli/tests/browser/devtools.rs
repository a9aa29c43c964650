//! A headless Chromium, driven by the DevTools protocol over a pipe: JSON messages, each ended by a NUL.

use std::{
    env, fs,
    io::{BufRead, BufReader, Write},
    path::{Path, PathBuf},
    process::{Child, ChildStdin, Command, Stdio},
    sync::mpsc::{Receiver, channel},
    thread,
    time::Duration,
};

use serde_json::{Value, json};

/// How long an answer may take, s; a busy machine starts a browser slowly.
const PATIENCE_S: u64 = 60;

/// A browser with one page.
pub struct Browser {
    child: Child,
    input: ChildStdin,
    messages: Receiver<Value>,
    session: Option<String>,
    last_id: u64,
    /// What the browser told unasked, in order.
    pub events: Vec<Value>,
    profile: PathBuf,
}

impl Browser {
    /// Starts the browser, with its profile in a folder of its own.
    pub fn start(profile: PathBuf) -> Self {
        let program = env::var("BEAMSTAY_CHROMIUM").unwrap_or_else(|_| "chromium".into());
        let found = Command::new(&program).arg("--version").stderr(Stdio::null()).output();
        assert!(
            found.is_ok_and(|output| output.status.success()),
            "`{program}` does not start: install the package chromium, or name a Chromium by BEAMSTAY_CHROMIUM"
        );
        let _ = fs::remove_dir_all(&profile);
        // Chromium reads from descriptor 3 and writes to 4; a shell puts our pipes there.
        let mut child = Command::new("sh")
            .args(["-c", "exec \"$0\" \"$@\" 3<&0 4>&1 </dev/null >/dev/null 2>/dev/null", &program])
            .args(["--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"])
            .args(["--disable-background-networking", "--no-first-run", "--remote-debugging-pipe"])
            .arg(format!("--user-data-dir={}", profile.display()))
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let (input, output) = (child.stdin.take().unwrap(), child.stdout.take().unwrap());
        let (sender, messages) = channel();
        thread::spawn(move || {
            let mut output = BufReader::new(output);
            let mut bytes = Vec::new();
            while output.read_until(0, &mut bytes).is_ok_and(|count| count > 0) {
                bytes.pop();
                if sender.send(serde_json::from_slice(&bytes).unwrap()).is_err() {
                    break;
                }
                bytes.clear();
            }
        });
        let mut browser =
            Self { child, input, messages, session: None, last_id: 0, events: Vec::new(), profile };
        let target = browser.call("Target.createTarget", json!({"url": "about:blank"}));
        let attach = json!({"targetId": target["targetId"], "flatten": true});
        let attached = browser.call("Target.attachToTarget", attach);
        browser.session = Some(attached["sessionId"].as_str().unwrap().to_owned());
        for domain in ["Page", "Runtime", "Log", "Network"] {
            browser.call(&format!("{domain}.enable"), json!({}));
        }
        browser
    }

    fn next(&mut self) -> Value {
        self.messages
            .recv_timeout(Duration::from_secs(PATIENCE_S))
            .expect("the browser ended or is silent for a minute")
    }

    /// Calls a method of the protocol.
    pub fn call(&mut self, method: &str, parameters: Value) -> Value {
        self.last_id += 1;
        let mut message = json!({"id": self.last_id, "method": method, "params": parameters});
        if let Some(session) = &self.session {
            message["sessionId"] = json!(session);
        }
        self.input.write_all(format!("{message}\0").as_bytes()).unwrap();
        loop {
            let mut answer = self.next();
            if answer["id"] == self.last_id {
                assert!(answer["error"].is_null(), "{method}: {}", answer["error"]);
                return answer["result"].take();
            }
            self.events.push(answer);
        }
    }

    /// Opens a file and waits until it is loaded. What was told before is forgotten.
    pub fn open(&mut self, file: &Path) {
        self.events.clear();
        let url = format!("file://{}", file.canonicalize().unwrap().display());
        self.call("Page.navigate", json!({"url": url}));
        while !self.told("Page.loadEventFired") {
            let event = self.next();
            self.events.push(event);
        }
    }

    /// Whether an event of this name has come.
    pub fn told(&self, method: &str) -> bool {
        self.events.iter().any(|event| event["method"] == method)
    }

    /// The value of an expression in the page.
    pub fn value(&mut self, expression: &str) -> Value {
        let parameters = json!({"expression": expression, "returnByValue": true, "awaitPromise": true});
        let mut answer = self.call("Runtime.evaluate", parameters);
        assert!(answer["exceptionDetails"].is_null(), "{expression}\n{}", answer["exceptionDetails"]);
        answer["result"]["value"].take()
    }

    /// Presses a key.
    pub fn press(&mut self, key: &str, code: u32) {
        for kind in ["rawKeyDown", "keyUp"] {
            let parameters = json!({"type": kind, "key": key, "code": key, "windowsVirtualKeyCode": code});
            self.call("Input.dispatchKeyEvent", parameters);
        }
    }

    /// Shows the page on a screen of this width.
    pub fn width(&mut self, width_px: u32) {
        let size = json!({"width": width_px, "height": 800, "deviceScaleFactor": 1, "mobile": false});
        self.call("Emulation.setDeviceMetricsOverride", size);
    }

    /// Shows the page on a medium, `screen` or `print`, in a light or dark scheme.
    pub fn medium(&mut self, medium: &str, scheme: &str) {
        let features = json!([{"name": "prefers-color-scheme", "value": scheme}]);
        self.call("Emulation.setEmulatedMedia", json!({"media": medium, "features": features}));
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        let close = json!({"id": self.last_id + 1, "method": "Browser.close"});
        let asked = self.input.write_all(format!("{close}\0").as_bytes());
        // It closes the pipe when it ends; one that does not is killed.
        while asked.is_ok() && self.messages.recv_timeout(Duration::from_secs(5)).is_ok() {}
        let _ = self.child.kill();
        let _ = self.child.wait();
        let _ = fs::remove_dir_all(&self.profile);
    }
}
