//! Services that are watched while they run: their log, their metrics, and signals to them.

use std::{
    collections::BTreeMap,
    fs,
    io::{BufRead as _, BufReader},
    net::TcpListener,
    ops::{Deref, DerefMut},
    path::{Path, PathBuf},
    process::{Command, Stdio},
    sync::{Arc, Mutex},
    thread::{self, JoinHandle},
    time::{Duration, Instant},
};

use serde_json::{Value, json};
use tempfile::TempDir;

use crate::{
    cli::{complained, program, run},
    server::Service,
};

/// How long anything may take before it counts as stuck.
pub(crate) const PATIENCE: Duration = Duration::from_mins(1);

/// A service whose log is kept.
pub(crate) struct Observed {
    service: Service,
    log: Arc<Mutex<Vec<String>>>,
    reader: Option<JoinHandle<()>>,
}

impl Deref for Observed {
    type Target = Service;

    fn deref(&self) -> &Service {
        &self.service
    }
}

impl DerefMut for Observed {
    fn deref_mut(&mut self) -> &mut Service {
        &mut self.service
    }
}

impl Observed {
    /// Starts a service on a free port with more arguments.
    pub(crate) fn start(more: &[&str]) -> Self {
        let mut command = program();
        command.args(["serve", "--listen", "127.0.0.1:0"]).args(more).stderr(Stdio::piped());
        let mut service = Service::start_by(&mut command);
        let stderr = BufReader::new(service.stderr().expect("a pipe"));
        let log = Arc::new(Mutex::new(Vec::new()));
        let kept = Arc::clone(&log);
        let reader = thread::spawn(move || {
            for line in stderr.lines().map_while(Result::ok) {
                kept.lock().unwrap().push(line);
            }
        });
        Self { service, log, reader: Some(reader) }
    }

    /// Every line of its log so far; all of them once it has ended.
    pub(crate) fn log(&mut self) -> Vec<String> {
        if self.reader.as_ref().is_some_and(JoinHandle::is_finished) {
            self.reader.take().map(JoinHandle::join);
        }
        self.log.lock().unwrap().clone()
    }

    /// Its log so far, of which every line must be a JSON object.
    #[track_caller]
    pub(crate) fn records(&mut self) -> Vec<Value> {
        let record = |line: &String| {
            let record: Value = serde_json::from_str(line)
                .unwrap_or_else(|fault| panic!("no JSON in the log: {fault}: {line}"));
            assert!(record.is_object(), "{record}");
            record
        };
        self.log().iter().map(record).collect()
    }

    /// Waits until `wanted` holds.
    #[track_caller]
    pub(crate) fn until(&mut self, what: &str, mut wanted: impl FnMut(&mut Self) -> bool) {
        let began = Instant::now();
        while !wanted(self) {
            assert!(began.elapsed() < PATIENCE, "not in time: {what}\n{:#?}", self.log());
            thread::sleep(Duration::from_millis(10));
        }
    }

    /// Sends it a signal, by name.
    pub(crate) fn signal(&self, name: &str) {
        signal(self.process(), name);
    }

    /// Tells it to terminate; how it ends, and how long that takes. Its log is then complete.
    pub(crate) fn terminate(&mut self) -> (Option<i32>, Duration) {
        let began = Instant::now();
        self.signal("TERM");
        self.over(began)
    }

    /// Waits until it has ended; how, and how long that took since `began`.
    pub(crate) fn over(&mut self, began: Instant) -> (Option<i32>, Duration) {
        let code = self.ended().code();
        let took = began.elapsed();
        self.reader.take().map(JoinHandle::join);
        (code, took)
    }

    /// Its counts and gauges now, by series, as they are written.
    pub(crate) fn metrics(&self) -> BTreeMap<String, String> {
        series(&self.get("/metrics").text().expect("text"))
    }

    /// One count; one that is not there has counted nothing.
    pub(crate) fn count(&self, name: &str) -> u64 {
        self.metrics().get(name).map_or(0, |count| count.parse().expect("a count"))
    }

    /// How many reloads have ended so.
    pub(crate) fn reloads(&self, outcome: &str) -> u64 {
        self.count(&format!("cupwright_reloads_total{{outcome=\"{outcome}\"}}"))
    }

    /// One point in time, in seconds since the epoch of Unix.
    pub(crate) fn time(&self, name: &str) -> f64 {
        self.metrics()[name].parse().expect("a number")
    }

    /// What it says of the book in force.
    pub(crate) fn book(&self) -> Value {
        self.get("/v1/book").json().expect("JSON")
    }
}

/// Sends a process a signal, by name.
pub(crate) fn signal(process: u32, name: &str) {
    let sent = Command::new("kill").args([&format!("-{name}"), &process.to_string()]).status();
    assert!(sent.expect("`kill` is there").success(), "{name} to {process}");
}

/// The samples of a text of metrics, by series.
pub(crate) fn series(text: &str) -> BTreeMap<String, String> {
    let samples = text.lines().filter(|line| !line.starts_with('#'));
    samples
        .map(|line| {
            let (series, value) = line.rsplit_once(' ').expect("a sample");
            assert!(value.parse::<f64>().is_ok(), "{line}");
            (series.to_owned(), value.to_owned())
        })
        .collect()
}

/// A port that nobody listens at.
pub(crate) fn free_port() -> u16 {
    TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port()
}

/// Small standards in a folder of their own, which a service reads and a test changes.
pub(crate) struct Standards {
    folder: TempDir,
}

impl Standards {
    pub(crate) fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let output = run(&["new", folder.path().join("ours").to_str().unwrap()], "");
        assert_eq!(output.status.code(), Some(0), "{}", complained(&output));
        Self { folder }
    }

    /// The folder around them, for whatever else a test keeps.
    pub(crate) fn folder(&self) -> &Path {
        self.folder.path()
    }

    pub(crate) fn book(&self) -> PathBuf {
        self.folder.path().join("ours/book.json")
    }

    pub(crate) fn sites(&self) -> PathBuf {
        self.folder.path().join("ours/sites")
    }

    pub(crate) fn sheet(&self) -> PathBuf {
        self.sites().join("first-site.json")
    }

    /// Starts a service with them and more arguments.
    pub(crate) fn serve(&self, more: &[&str]) -> Observed {
        let (book, sites) = (self.book(), self.sites());
        let own = ["--book", book.to_str().unwrap(), "--sites", sites.to_str().unwrap()];
        Observed::start(&[&own[..], more].concat())
    }

    /// The book as its `n`th edition: another version, and a latte of another price.
    pub(crate) fn book_text(&self, n: u32) -> String {
        let mut book: Value = read(&self.book());
        book["version"] = json!(format!("0.1.{n}"));
        let drinks = book["drinks"].as_array_mut().expect("drinks");
        let latte = drinks.iter_mut().find(|one| one["id"] == "latte").expect("a latte");
        latte["cups"]["here"]["regular"]["price"] = json!(format!("3.{:02}", n % 100));
        format!("{book:#}")
    }

    /// The site's sheet as its `n`th edition: its large latte to go has another price.
    pub(crate) fn sheet_text(&self, n: u32) -> String {
        let mut sheet: Value = read(&self.sheet());
        let price = "/drinks/latte/cups/takeaway/large/price";
        sheet["replace"][price] = json!(format!("5.{:02}", n % 100));
        format!("{sheet:#}")
    }

    /// Puts the `n`th edition of book and sheet in place, each whole at once.
    pub(crate) fn edition(&self, n: u32) {
        replace(&self.book(), &self.book_text(n));
        replace(&self.sheet(), &self.sheet_text(n));
    }
}

fn read(path: &Path) -> Value {
    serde_json::from_str(&fs::read_to_string(path).expect("a file")).expect("JSON")
}

/// Writes a file beside another and puts it in its place.
pub(crate) fn replace(path: &Path, text: &str) {
    let beside = path.with_extension("new");
    fs::write(&beside, text).expect("it is written");
    fs::rename(&beside, path).expect("it is renamed");
}
