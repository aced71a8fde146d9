//! The program as it serves a folder, and requests to it over a plain connection.

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

use serde_json::{Value, json};
use tempfile::TempDir;

/// A desk that is stopped when it is dropped.
pub struct Desk {
    child: Child,
    pub address: String,
    pub port: u16,
    pub token: String,
    /// Lives as long as the desk.
    own: Option<TempDir>,
    pub folder: PathBuf,
}

impl Drop for Desk {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// What came back.
#[derive(Debug)]
pub struct Reply {
    pub status: u16,
    pub head: String,
    pub body: Vec<u8>,
}

impl Reply {
    pub fn json(&self) -> Value {
        serde_json::from_slice(&self.body)
            .unwrap_or_else(|error| panic!("{error}: {}", String::from_utf8_lossy(&self.body)))
    }

    /// The answer of a request that has to be done.
    pub fn done(&self) -> Value {
        let text = String::from_utf8_lossy(&self.body);
        assert_eq!(self.status, 200, "{text}");
        self.json()
    }
}

impl Desk {
    /// The desk of an invented small field.
    pub fn of_small_field() -> Self {
        let folder = tempfile::tempdir().unwrap();
        super::small_field::write(folder.path());
        let path = folder.path().to_owned();
        Self::own(folder, &path)
    }

    /// The desk of a folder without a plan.
    pub fn of_files() -> Self {
        let folder = tempfile::tempdir().unwrap();
        super::small_field::write_files(folder.path());
        let path = folder.path().to_owned();
        Self::own(folder, &path)
    }

    fn own(folder: TempDir, path: &Path) -> Self {
        let mut desk = Self::of(path);
        desk.own = Some(folder);
        desk
    }

    /// The desk of any plan or folder.
    pub fn of(path: &Path) -> Self {
        let mut command = Command::new(env!("CARGO_BIN_EXE_lowstave"));
        command.args(["desk", "--no-open", "--json"]).arg(path);
        Self::started(command, path)
    }

    /// The desk that a command starts.
    pub fn started(mut command: Command, path: &Path) -> Self {
        let mut child = command
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut said = String::new();
        let mut lines = BufReader::new(child.stdout.take().unwrap());
        while !said.trim_end().ends_with('}') {
            assert!(lines.read_line(&mut said).unwrap() > 0, "it ended: {said}");
        }
        let said: Value = serde_json::from_str(&said).unwrap();
        let address = said["address"].as_str().unwrap().to_owned();
        let rest = address.strip_prefix("http://127.0.0.1:").unwrap();
        let (port, token) = rest.split_once("/?token=").unwrap();
        let folder = if path.is_dir() {
            path.to_owned()
        } else {
            path.parent().unwrap().to_owned()
        };
        Self {
            child,
            port: port.parse().unwrap(),
            token: token.to_owned(),
            address: address.clone(),
            own: None,
            folder,
        }
    }

    /// The number of its process.
    pub fn id(&self) -> u32 {
        self.child.id()
    }

    pub fn kill(&mut self) {
        let _ = self.child.kill();
        self.child.wait().unwrap();
    }

    /// A request with headers of its own; nothing is added but the length.
    pub fn raw(&self, line: &str, headers: &[(&str, &str)], body: &[u8]) -> Reply {
        self.try_raw(line, headers, body).unwrap()
    }

    pub fn try_raw(
        &self,
        line: &str,
        headers: &[(&str, &str)],
        body: &[u8],
    ) -> std::io::Result<Reply> {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port))?;
        let mut head = format!("{line} HTTP/1.1\r\nConnection: close\r\n");
        for (name, value) in headers {
            head += &format!("{name}: {value}\r\n");
        }
        if !headers.iter().any(|(name, _)| *name == "Content-Length") {
            head += &format!("Content-Length: {}\r\n", body.len());
        }
        stream.write_all(head.as_bytes())?;
        stream.write_all(b"\r\n")?;
        stream.write_all(body)?;
        let mut all = Vec::new();
        stream.read_to_end(&mut all)?;
        let end = all.windows(4).position(|part| part == b"\r\n\r\n");
        let end = end.ok_or_else(|| std::io::Error::other("no reply came back"))?;
        let head = String::from_utf8_lossy(&all[..end]).into_owned();
        let body = all[end + 4..].to_vec();
        let status = head.split(' ').nth(1).unwrap().parse().unwrap();
        let body = if head.to_lowercase().contains("transfer-encoding: chunked") {
            unchunked(&body)
        } else {
            body
        };
        Ok(Reply { status, head, body })
    }

    /// The headers of the page's own requests.
    pub fn own_headers(&self) -> Vec<(&'static str, String)> {
        vec![
            ("Host", format!("127.0.0.1:{}", self.port)),
            ("Origin", format!("http://127.0.0.1:{}", self.port)),
            ("Cookie", format!("desk-{}={}", self.port, self.token)),
        ]
    }

    /// A request of the page, from a window.
    pub fn ask(&self, window: &str, line: &str, body: &[u8]) -> Reply {
        self.try_ask(window, line, body).unwrap()
    }

    pub fn try_ask(&self, window: &str, line: &str, body: &[u8]) -> std::io::Result<Reply> {
        let own = self.own_headers();
        let mut headers: Vec<(&str, &str)> = own.iter().map(|(n, v)| (*n, v.as_str())).collect();
        headers.push(("x-desk-window", window));
        self.try_raw(line, &headers, body)
    }

    pub fn get(&self, address: &str) -> Reply {
        self.ask("test", &format!("GET {address}"), b"")
    }

    pub fn post(&self, address: &str, value: &Value) -> Reply {
        let body = serde_json::to_vec(value).unwrap();
        self.ask("test", &format!("POST {address}"), &body)
    }

    /// What tells the state of the plan on the disk.
    pub fn plan(&self) -> String {
        let state = self.get("/api/state").done();
        state["plan"].as_str().expect("there is a plan").to_owned()
    }

    /// The answer to the saved plan with changes.
    pub fn answer(&self, changes: &Value) -> Reply {
        self.post(
            "/api/answer",
            &json!({"plan": self.plan(), "changes": changes, "with_texts": true}),
        )
    }

    pub fn plan_text(&self) -> String {
        std::fs::read_to_string(self.folder.join("plan.toml")).unwrap()
    }
}

fn unchunked(body: &[u8]) -> Vec<u8> {
    let (mut rest, mut whole) = (body, Vec::new());
    while let Some(end) = rest.windows(2).position(|pair| pair == b"\r\n") {
        let size = std::str::from_utf8(&rest[..end]).unwrap();
        let size = usize::from_str_radix(size.trim(), 16).unwrap();
        if size == 0 {
            break;
        }
        whole.extend_from_slice(&rest[end + 2..end + 2 + size]);
        rest = &rest[end + 4 + size..];
    }
    whole
}
