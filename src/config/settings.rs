//! What may be set, with defaults that suit one café on one small machine.

use std::{
    net::{IpAddr, Ipv4Addr, SocketAddr},
    path::PathBuf,
    time::Duration,
};

use ipnet::IpNet;

/// Everything that can be set.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Settings {
    /// The book; the compiled-in demo if not given.
    pub book: Option<PathBuf>,
    /// Folder with the sites' sheets.
    pub sites: Option<PathBuf>,
    /// Whether a change of the book or of a sheet is taken up by itself.
    pub watch: bool,
    /// Books that are kept for pinned tickets, the one in force among them; 1 to 20.
    pub held_books: usize,
    /// Folder in which to keep what is said during service.
    pub state: Option<PathBuf>,
    /// File of keys.
    pub keys: Option<PathBuf>,
    /// Address under which guests reach the service, such as `https://cups.example`: what the codes
    /// on cups begin with; there are none without.
    pub public_base: Option<String>,
    /// Where to listen, and to whom.
    pub listen: Listen,
    /// Limits.
    pub limits: Limits,
    /// Stickers that are printed.
    pub prints: Queue,
    /// How to stop.
    pub stop: Stop,
    /// What is logged.
    pub log: Log,
    /// Where traces go.
    pub traces: Traces,
}

/// Where to listen, and to whom.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Listen {
    /// Address and port.
    pub address: SocketAddr,
    /// Whether requests without a key are taken on an address that others can reach.
    pub open: bool,
    /// Whether a build is read by the token on its cup without a key, even where nothing else is.
    pub open_builds: bool,
    /// Threads that answer; 0 is one for each core.
    pub workers: usize,
    /// Networks whose word about the client's address (`X-Forwarded-For`) is taken.
    pub trusted_proxies: Vec<IpNet>,
    /// Origins whose pages may read answers (CORS); none if empty.
    pub allowed_origins: Vec<String>,
}

/// Limits of what is taken at once.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Requests that are worked on at once; one more is told to come again.
    pub at_once: usize,
    /// Connections that are open at once.
    pub connections: usize,
    /// Time for the head of a request.
    pub head_within: Duration,
    /// Time for the body of a request.
    pub body_within: Duration,
    /// Requests a second for each key, or each address without one; 0 is no limit.
    pub requests_per_s: u32,
    /// Requests that may come at once before that limit counts.
    pub burst: u32,
    /// Room for finished builds, in mebibytes; 0 keeps none.
    pub cache_mb: usize,
}

/// Stickers on their way to printers.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Queue {
    /// Stickers that may wait or be under way at once.
    pub queue: usize,
    /// How long one may take, from its turn on, until it is given up or taken back.
    pub within: Duration,
}

/// How to stop when asked to terminate.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stop {
    /// How long to go on answering while telling everybody to go elsewhere.
    pub notice: Duration,
    /// How long to wait after that for what is under way.
    pub within: Duration,
}

/// What is logged.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Log {
    /// The least severe level: `error`, `warn`, `info`, `debug` or `trace`.
    pub level: String,
    /// How a record is written.
    pub form: LogForm,
    /// Which requests get a record.
    pub requests: Logged,
}

/// How a record of the log is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LogForm {
    /// One JSON object a line.
    Json,
    /// One line for people.
    Text,
}

/// Which requests get a record in the log.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Logged {
    /// Every one.
    All,
    /// Those that were answered with a problem.
    Failed,
    /// None.
    None,
}

/// Where traces go.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Traces {
    /// Address of a receiver of OTLP over HTTP, such as `http://127.0.0.1:4318`; none are sent
    /// without.
    pub otlp: Option<String>,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            book: None,
            sites: None,
            watch: false,
            held_books: 3,
            state: None,
            keys: None,
            public_base: None,
            listen: Listen {
                address: SocketAddr::new(IpAddr::V4(Ipv4Addr::LOCALHOST), 8080),
                open: false,
                open_builds: false,
                workers: 0,
                trusted_proxies: Vec::new(),
                allowed_origins: Vec::new(),
            },
            limits: Limits {
                at_once: 256,
                connections: 4_096,
                head_within: Duration::from_secs(5),
                body_within: Duration::from_secs(10),
                requests_per_s: 200,
                burst: 400,
                cache_mb: 32,
            },
            prints: Queue { queue: 500, within: Duration::from_mins(1) },
            stop: Stop { notice: Duration::from_secs(2), within: Duration::from_secs(20) },
            log: Log { level: "info".to_owned(), form: LogForm::Json, requests: Logged::Failed },
            traces: Traces::default(),
        }
    }
}
