//! What stands between the service and a printer, and loses what it is told to lose.

use std::{
    io::{Read, Write},
    net::{Shutdown, TcpListener, TcpStream},
    sync::{Arc, Mutex},
    thread,
    time::Duration,
};

/// What becomes of a request.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Fate {
    /// It never arrives.
    Lost,
    /// Half of it arrives, then the connection breaks.
    Half,
    /// It arrives, and its answer is lost.
    AnswerLost,
}

/// Operations of IPP (RFC 8011, section 5.4.15).
pub(crate) const PRINT_JOB: u16 = 0x0002;
pub(crate) const CREATE_JOB: u16 = 0x0005;
pub(crate) const SEND_DOCUMENT: u16 = 0x0006;
pub(crate) const CANCEL_JOB: u16 = 0x0008;
pub(crate) const GET_PRINTER_ATTRIBUTES: u16 = 0x000b;
pub(crate) const GET_JOBS: u16 = 0x000a;

#[derive(Default)]
struct Told {
    /// What is still to be lost: of the next request of an operation, in this order.
    fates: Vec<(u16, Fate)>,
    seen: Vec<u16>,
    /// Operations that the printer does not own up to.
    hidden: Vec<u16>,
}

/// A proxy in front of a printer. It ends with the test program.
pub(crate) struct Proxy {
    told: Arc<Mutex<Told>>,
    port: u16,
}

impl Proxy {
    pub(crate) fn before(printer: u16) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
        let port = listener.local_addr().expect("its address").port();
        let told = Arc::<Mutex<Told>>::default();
        let shared = Arc::clone(&told);
        thread::spawn(move || {
            for stream in listener.incoming().map_while(Result::ok) {
                let told = Arc::clone(&shared);
                thread::spawn(move || pass(stream, printer, &told));
            }
        });
        Self { told, port }
    }

    /// The printer no longer says that it does this operation, as one that cannot does not.
    pub(crate) fn without(self, operation: u16) -> Self {
        self.told.lock().unwrap().hidden.push(operation);
        self
    }

    pub(crate) fn uri(&self) -> String {
        format!("ipp://127.0.0.1:{}/ipp/print", self.port)
    }

    /// The next request of this operation fares so.
    pub(crate) fn next(&self, operation: u16, fate: Fate) {
        self.told.lock().unwrap().fates.push((operation, fate));
    }

    /// How many requests of this operation came.
    pub(crate) fn count(&self, operation: u16) -> usize {
        self.told.lock().unwrap().seen.iter().filter(|one| **one == operation).count()
    }
}

/// Takes one request to the printer, and its answer back, or not.
fn pass(mut client: TcpStream, printer: u16, told: &Mutex<Told>) -> Option<()> {
    client.set_read_timeout(Some(Duration::from_secs(10))).ok()?;
    let (head, body) = request(&mut client)?;
    let operation = u16::from_be_bytes([*body.get(2)?, *body.get(3)?]);
    let fate = {
        let mut told = told.lock().unwrap();
        told.seen.push(operation);
        let at = told.fates.iter().position(|(one, _)| *one == operation);
        at.map(|at| told.fates.remove(at).1)
    };
    if fate == Some(Fate::Lost) {
        return None;
    }
    let mut upstream = TcpStream::connect(("127.0.0.1", printer)).ok()?;
    let rest = head.split_once("\r\n").expect("lines").1;
    let host = rest.lines().filter(|line| !line.to_ascii_lowercase().starts_with("host:"));
    let kept: String = host.flat_map(|line| [line, "\r\n"]).collect();
    let first = head.lines().next()?;
    let to = format!("{first}\r\nHost: localhost:{printer}\r\nConnection: close\r\n{kept}\r\n");
    upstream.write_all(to.as_bytes()).ok()?;
    if fate == Some(Fate::Half) {
        upstream.write_all(&body[..body.len() / 2]).ok()?;
        upstream.shutdown(Shutdown::Both).ok()?;
        return None;
    }
    upstream.write_all(&body).ok()?;
    // It ends the connection when it has answered and nothing more comes.
    upstream.shutdown(Shutdown::Write).ok()?;
    let mut answer = Vec::new();
    upstream.read_to_end(&mut answer).ok()?;
    if fate == Some(Fate::AnswerLost) {
        return None;
    }
    for hidden in &told.lock().unwrap().hidden {
        // A further value of an attribute: enum, no name, four bytes (RFC 8010, section 3.1.5).
        let [high, low] = hidden.to_be_bytes();
        let told = [0x23, 0, 0, 0, 4, 0, 0, high, low];
        if let Some(at) = answer.windows(told.len()).position(|bytes| bytes == told) {
            answer[at + 7..at + 9].copy_from_slice(&[0x7f, 0xff]);
        }
    }
    client.write_all(&answer).ok()
}

/// A request: its head without the empty line, and its body.
fn request(client: &mut TcpStream) -> Option<(String, Vec<u8>)> {
    let mut bytes = Vec::new();
    let mut part = [0; 4_096];
    loop {
        if let Some(end) = bytes.windows(4).position(|four| four == b"\r\n\r\n") {
            let head = String::from_utf8(bytes[..end].to_vec()).ok()?;
            let length = head.lines().find_map(|line| {
                let (name, value) = line.split_once(':')?;
                name.eq_ignore_ascii_case("content-length").then(|| value.trim().parse().ok())?
            });
            let length: usize = length?;
            let mut body = bytes.split_off(end + 4);
            let have = body.len();
            body.resize(length, 0);
            client.read_exact(&mut body[have..]).ok()?;
            return Some((head, body));
        }
        match client.read(&mut part) {
            Ok(0) | Err(_) => return None,
            Ok(length) => bytes.extend_from_slice(&part[..length]),
        }
    }
}
