//! Bare connections: requests byte by byte, and answers as they stand on the wire.

use std::{
    fmt::Write as _,
    io::{self, Read, Write},
    net::{Shutdown, TcpStream},
    time::{Duration, Instant},
};

use serde_json::Value;

/// How long an answer may take before it counts as missing.
const PATIENCE: Duration = Duration::from_secs(30);

/// A connection of its own.
pub(crate) struct Raw {
    stream: TcpStream,
    /// What has come and is not read yet.
    rest: Vec<u8>,
}

/// An answer.
#[derive(Clone, Debug)]
pub(crate) struct Told {
    pub(crate) status: u16,
    pub(crate) headers: Vec<(String, String)>,
    pub(crate) body: Vec<u8>,
}

impl Told {
    /// The value of a header, by its name in small letters.
    pub(crate) fn header(&self, name: &str) -> Option<&str> {
        let found = self.headers.iter().find(|(known, _)| known == name);
        found.map(|(_, value)| &**value)
    }

    /// Whether the connection ends with this answer.
    pub(crate) fn closes(&self) -> bool {
        self.header("connection").is_some_and(|value| value.eq_ignore_ascii_case("close"))
    }

    /// The problem that the answer is; its members are those of RFC 9457.
    #[track_caller]
    pub(crate) fn problem(&self, status: u16, name: &str) -> Value {
        let text = String::from_utf8_lossy(&self.body);
        assert_eq!(self.status, status, "{text}");
        assert_eq!(self.header("content-type"), Some("application/problem+json"));
        let problem: Value = serde_json::from_slice(&self.body).expect("JSON");
        assert_eq!(problem["type"], format!("/problems/{name}"), "{problem}");
        assert_eq!(problem["status"], status);
        assert!(problem["title"].is_string() && problem["detail"].is_string(), "{problem}");
        problem
    }

    #[track_caller]
    pub(crate) fn json(&self) -> Value {
        serde_json::from_slice(&self.body).expect("JSON")
    }
}

impl Raw {
    #[track_caller]
    pub(crate) fn to(address: &str) -> Self {
        let stream = TcpStream::connect(address).expect("a connection");
        stream.set_read_timeout(Some(PATIENCE)).expect("a time-out");
        stream.set_write_timeout(Some(PATIENCE)).expect("a time-out");
        stream.set_nodelay(true).expect("no delay");
        Self { stream, rest: Vec::new() }
    }

    /// Sends bytes; the other side may have had enough of them.
    pub(crate) fn send(&mut self, bytes: impl AsRef<[u8]>) -> io::Result<()> {
        self.stream.write_all(bytes.as_ref())
    }

    /// Says that nothing more will be sent.
    pub(crate) fn send_no_more(&self) {
        // The other side may have ended it already.
        let _ = self.stream.shutdown(Shutdown::Write);
    }

    /// The next answer, to a request of which the content is wanted; `None` where the connection
    /// ended instead.
    pub(crate) fn told(&mut self) -> Option<Told> {
        self.answer(true, PATIENCE).expect("an answer in time")
    }

    /// The next answer, to HEAD.
    pub(crate) fn told_of_head(&mut self) -> Option<Told> {
        self.answer(false, PATIENCE).expect("an answer in time")
    }

    /// The next answer within a time.
    ///
    /// * Errors: it did not come in time.
    pub(crate) fn told_within(&mut self, time: Duration) -> io::Result<Option<Told>> {
        self.answer(true, time)
    }

    fn answer(&mut self, with_content: bool, time: Duration) -> io::Result<Option<Told>> {
        let until = Instant::now() + time;
        let head = loop {
            if let Some(at) = self.rest.windows(4).position(|four| four == b"\r\n\r\n") {
                let head: Vec<u8> = self.rest.drain(..at + 4).collect();
                break String::from_utf8(head).expect("a head of text");
            }
            if !self.more(until)? {
                return Ok(None);
            }
        };
        let mut lines = head.lines();
        let first = lines.next().unwrap_or_default();
        let status: u16 = first
            .strip_prefix("HTTP/1.1 ")
            .and_then(|rest| rest.get(..3)?.parse().ok())
            .unwrap_or_else(|| panic!("no status line: {first:?}"));
        if status == 100 {
            return self.answer(with_content, time);
        }
        let headers: Vec<(String, String)> = lines
            .filter_map(|line| line.split_once(':'))
            .map(|(name, value)| (name.to_ascii_lowercase(), value.trim().to_owned()))
            .collect();
        let mut told = Told { status, headers, body: Vec::new() };
        if with_content && ![204, 304].contains(&status) {
            let length: usize =
                told.header("content-length").expect("a length").parse().expect("bytes");
            while self.rest.len() < length {
                if !self.more(until)? {
                    return Ok(None);
                }
            }
            told.body = self.rest.drain(..length).collect();
        }
        Ok(Some(told))
    }

    /// Reads what comes next; whether anything did.
    fn more(&mut self, until: Instant) -> io::Result<bool> {
        let left = until.saturating_duration_since(Instant::now());
        self.stream.set_read_timeout(Some(left.max(Duration::from_millis(1))))?;
        let mut part = [0; 16_384];
        match self.stream.read(&mut part) {
            Ok(0) => Ok(false),
            Ok(read) => {
                self.rest.extend_from_slice(&part[..read]);
                Ok(true)
            }
            Err(fault) if fault.kind() == io::ErrorKind::ConnectionReset => Ok(false),
            Err(fault) => Err(fault),
        }
    }

    /// Whether the other side ends the connection within a time; whatever it still says is dropped.
    pub(crate) fn ends_within(&mut self, time: Duration) -> bool {
        let until = Instant::now() + time;
        loop {
            self.rest.clear();
            match self.more(until) {
                Ok(true) => {}
                Ok(false) => return true,
                Err(_) => return false,
            }
        }
    }
}

/// A request with more lines of head, each ended, and with content of a stated length if any.
pub(crate) fn request(method: &str, path: &str, more: &str, content: &str) -> String {
    let length = match content.len() {
        0 => String::new(),
        length => format!("Content-Length: {length}\r\n"),
    };
    format!("{method} {path} HTTP/1.1\r\nHost: bar\r\n{more}{length}\r\n{content}")
}

/// A ticket posted to `/v1/expand`.
pub(crate) fn posted(ticket: &str) -> String {
    request("POST", "/v1/expand", "Content-Type: application/json\r\n", ticket)
}

/// A request whose content comes in chunks of `size`.
pub(crate) fn chunked(method: &str, path: &str, content: &str, size: usize) -> String {
    let mut whole = format!(
        "{method} {path} HTTP/1.1\r\nHost: bar\r\nContent-Type: application/json\r\n\
         Transfer-Encoding: chunked\r\n\r\n"
    );
    for chunk in content.as_bytes().chunks(size) {
        let chunk = std::str::from_utf8(chunk).expect("ASCII");
        let _ = write!(whole, "{:x}\r\n{chunk}\r\n", chunk.len());
    }
    whole.push_str("0\r\n\r\n");
    whole
}
