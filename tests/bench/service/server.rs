//! The servers that are compared, each a process of its own on one core.

use std::{
    env,
    fs::{self, File},
    net::{Ipv4Addr, TcpListener},
    path::{Path, PathBuf},
    process::{Child, Command, Stdio},
    thread,
    time::{Duration, Instant},
};

use crate::{bare, peer::Peer, scratch, tickets};

/// What to do about a part that is missing.
pub(crate) const REMEDY: &str = "run ./tests/run, which installs it";
/// Where tickets go.
pub(crate) const EXPAND: &str = "/v1/expand";
/// What answers as soon as a server can answer at all.
pub(crate) const LIVE: &str = "/health/live";
/// The answer as a file.
pub(crate) const FILE: &str = "/answer.json";
/// How long a server may take to start.
const PATIENCE: Duration = Duration::from_mins(1);
/// Longest piece of nginx's constant: a word of its configuration is at most 4 KB long.
const PIECE: usize = 3_000;

/// The servers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    /// actix-web with a constant answer.
    Bare,
    /// nginx with a constant answer from its configuration.
    NginxReturn,
    /// nginx with a file.
    NginxFile,
    /// Node.js with Fastify, doing the job in a simple way.
    Fastify,
    /// This project's.
    Ours,
}

impl Kind {
    /// All but ours.
    pub(crate) const OTHERS: [Self; 4] =
        [Self::Bare, Self::NginxReturn, Self::NginxFile, Self::Fastify];

    /// Its name in tables.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Bare => "bare actix-web",
            Self::NginxReturn => "nginx, constant",
            Self::NginxFile => "nginx, file",
            Self::Fastify => "Fastify",
            Self::Ours => "Cupwright",
        }
    }

    /// The program with its arguments.
    fn command(self, port: u16, answer: &[u8]) -> (PathBuf, Vec<String>) {
        match self {
            Self::Bare => {
                let file = scratch().join("bare.json");
                fs::write(&file, answer).expect("a file for the answer");
                let bench = env::current_exe().expect("the bench itself");
                (bench, vec![bare::ROLE.to_owned(), port.to_string(), shown(&file)])
            }
            Self::NginxReturn | Self::NginxFile => (find("nginx"), nginx(self, port, answer)),
            Self::Fastify => {
                let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bench/fastify");
                assert!(folder.join("node_modules").exists(), "Fastify is missing: {REMEDY}");
                (find("node"), vec![shown(folder.join("server.mjs")), port.to_string()])
            }
            Self::Ours => (PathBuf::from(env!("CARGO_BIN_EXE_cupwright")), ours(port)),
        }
    }
}

/// A server; it is ended when this is dropped.
#[derive(Debug)]
pub(crate) struct Server {
    /// Which.
    pub(crate) kind: Kind,
    /// Where it listens.
    pub(crate) port: u16,
    /// The time from its start to its first answer.
    pub(crate) started_in: Duration,
    child: Child,
}

impl Drop for Server {
    fn drop(&mut self) {
        // It may have ended already; then there is nothing to do.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Server {
    /// Starts a server on one core and waits until it answers.
    ///
    /// * `answer`: what those give that always give the same.
    pub(crate) fn start(kind: Kind, answer: &[u8], core: usize) -> Self {
        Self::start_under(&[], kind, answer, core)
    }

    /// The same under another program, which becomes the process.
    pub(crate) fn start_under(wrapper: &[&str], kind: Kind, answer: &[u8], core: usize) -> Self {
        let port = free_port();
        let (program, arguments) = kind.command(port, answer);
        let log = scratch().join(format!("{}.log", kind.name()));
        let log_file = File::create(&log).expect("a file for what it says");
        let mut command = Command::new(find("taskset"));
        command.args(["-c", &core.to_string()]).args(wrapper).arg(program).args(arguments);
        command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(log_file);
        for (name, _) in env::vars_os().filter(|(name, _)| shown(name).starts_with("CUPWRIGHT_")) {
            command.env_remove(name);
        }
        let start = Instant::now();
        let mut child = command.spawn().expect("taskset starts");
        let fault = loop {
            let answered = Peer::connect(port).and_then(|mut peer| peer.ask("GET", LIVE, ""));
            match answered {
                Ok(answer) if answer.status == 204 => break None,
                Ok(answer) => break Some(format!("it answers {}", answer.status)),
                Err(_) if child.try_wait().is_ok_and(|ended| ended.is_some()) => {
                    break Some("it ended".to_owned());
                }
                Err(_) if start.elapsed() > PATIENCE => {
                    break Some("it does not answer".to_owned());
                }
                Err(_) => thread::sleep(Duration::from_micros(200)),
            }
        };
        let server = Self { kind, port, started_in: start.elapsed(), child };
        if let Some(fault) = fault {
            drop(server);
            let said = fs::read_to_string(log).unwrap_or_default();
            panic!("{} does not start: {fault}\n{said}", kind.name());
        }
        server
    }

    /// The id of its process.
    pub(crate) fn pid(&self) -> u32 {
        self.child.id()
    }

    /// Tells it to stop, and waits until it has.
    pub(crate) fn stop(mut self) {
        let told = Command::new("sh").args(["-c", &format!("kill -TERM {}", self.pid())]).status();
        assert!(told.is_ok_and(|status| status.success()), "it cannot be told to stop");
        self.child.wait().expect("it ends");
    }
}

/// The answer of middling length to the tickets of two lines that repeat.
pub(crate) fn usual_answer(ours: &Server) -> Vec<u8> {
    let mut peer = Peer::connect(ours.port).expect("it listens");
    let mut answers: Vec<Vec<u8>> = tickets::repeated()
        .iter()
        .map(|ticket| {
            let answer = peer.ask("POST", EXPAND, ticket).expect("an answer");
            assert_eq!(answer.status, 200, "{ticket}");
            answer.body
        })
        .collect();
    answers.sort_by_key(Vec::len);
    let middle = answers.len() / 2;
    answers.swap_remove(middle)
}

/// A port that nobody listens on just now.
fn free_port() -> u16 {
    let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).expect("a free port");
    listener.local_addr().expect("its number").port()
}

/// Arguments of ours: one worker and no limit of requests, where the program knows of these.
fn ours(port: u16) -> Vec<String> {
    let mut help = Command::new(env!("CARGO_BIN_EXE_cupwright"));
    let help = help.args(["serve", "--help"]).output().expect("it tells its options");
    let help = String::from_utf8_lossy(&help.stdout).into_owned();
    let mut arguments = vec!["serve".to_owned(), format!("--listen=127.0.0.1:{port}")];
    for (option, value) in [("--workers", 1), ("--requests-per-s", 0)] {
        if help.contains(option) {
            arguments.push(format!("{option}={value}"));
        }
    }
    arguments
}

/// Arguments of nginx, with a folder of its own for a configuration and for the answer as a file.
fn nginx(kind: Kind, port: u16, answer: &[u8]) -> Vec<String> {
    let folder = scratch().join(format!("{kind:?}"));
    fs::create_dir_all(&folder).expect("a folder for nginx");
    fs::write(folder.join(FILE.trim_start_matches('/')), answer).expect("the answer as a file");
    let filler = "x".repeat(answer.len());
    let piece = |(at, text): (usize, &[u8])| {
        let value = String::from_utf8_lossy(text);
        (format!("    set $piece{at} {value};\n"), format!("$piece{at}"))
    };
    let (pieces, names): (String, String) =
        filler.as_bytes().chunks(PIECE).enumerate().map(piece).unzip();
    let whole = include_str!("nginx.conf")
        .replace("{folder}", &shown(&folder))
        .replace("{port}", &port.to_string())
        .replace("{pieces}", pieces.trim_end())
        .replace("{names}", &names);
    let file = folder.join("nginx.conf");
    fs::write(&file, whole).expect("the configuration");
    vec!["-p".into(), shown(&folder), "-e".into(), "stderr".into(), "-c".into(), shown(&file)]
}

fn shown(text: impl AsRef<std::ffi::OsStr>) -> String {
    text.as_ref().to_string_lossy().into_owned()
}

/// A program by its name; those of administrators are not on everybody's path.
pub(crate) fn find(program: &str) -> PathBuf {
    let path = env::var_os("PATH").unwrap_or_default();
    let folders = env::split_paths(&path).chain([PathBuf::from("/usr/sbin")]);
    let found = folders.map(|folder| folder.join(program)).find(|file| file.is_file());
    found.unwrap_or_else(|| panic!("`{program}` is missing: {REMEDY}"))
}
