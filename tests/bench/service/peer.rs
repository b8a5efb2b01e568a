//! A client of one connection: HTTP/1.1 with keep-alive, of answers with a length.

use std::{
    io::{self, BufRead, BufReader, Read, Write},
    net::{Ipv4Addr, TcpStream},
    time::Duration,
};

/// How long an answer may take before it counts as stuck; a server under Callgrind is slow.
const PATIENCE: Duration = Duration::from_mins(1);

/// One connection.
pub(crate) struct Peer {
    stream: BufReader<TcpStream>,
}

/// What came back.
#[derive(Debug)]
pub(crate) struct Answered {
    /// The status.
    pub(crate) status: u16,
    /// The body.
    pub(crate) body: Vec<u8>,
}

impl Peer {
    /// Connects to `port` of this machine.
    pub(crate) fn connect(port: u16) -> io::Result<Self> {
        let stream = TcpStream::connect((Ipv4Addr::LOCALHOST, port))?;
        stream.set_read_timeout(Some(PATIENCE))?;
        stream.set_nodelay(true)?;
        Ok(Self { stream: BufReader::new(stream) })
    }

    /// Asks and waits for the answer.
    pub(crate) fn ask(&mut self, method: &str, path: &str, body: &str) -> io::Result<Answered> {
        self.stream.get_mut().write_all(request(method, path, body).as_bytes())?;
        self.answer()
    }

    /// Posts several bodies at once and waits for all answers (RFC 9112, section 9.3.2).
    pub(crate) fn post_all(&mut self, path: &str, bodies: &[String]) -> io::Result<Vec<Answered>> {
        let all: String = bodies.iter().map(|body| request("POST", path, body)).collect();
        self.stream.get_mut().write_all(all.as_bytes())?;
        bodies.iter().map(|_| self.answer()).collect()
    }

    fn answer(&mut self) -> io::Result<Answered> {
        let broken = || io::Error::from(io::ErrorKind::UnexpectedEof);
        let mut line = String::new();
        self.stream.read_line(&mut line)?;
        let status = line.split(' ').nth(1).and_then(|text| text.parse().ok());
        let status = status.ok_or_else(broken)?;
        let mut length = 0;
        loop {
            line.clear();
            self.stream.read_line(&mut line)?;
            let Some((name, value)) = line.split_once(':') else { break };
            if name.eq_ignore_ascii_case("content-length") {
                length = value.trim().parse().map_err(|_| broken())?;
            }
        }
        let mut body = vec![0; length];
        self.stream.read_exact(&mut body)?;
        Ok(Answered { status, body })
    }
}

fn request(method: &str, path: &str, body: &str) -> String {
    let about = if body.is_empty() {
        String::new()
    } else {
        format!("Content-Type: application/json\r\nContent-Length: {}\r\n", body.len())
    };
    format!("{method} {path} HTTP/1.1\r\nHost: localhost\r\n{about}\r\n{body}")
}
