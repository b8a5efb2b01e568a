//! Metrics, as those who read them have them: both text forms, their linter, and a real scrape.

use std::{
    collections::BTreeSet,
    fs,
    io::Write as _,
    process::{Child, Command, Stdio},
    sync::{Arc, mpsc::channel},
    thread,
    time::{Duration, Instant},
};

use actix_web::{HttpServer, dev::ServerHandle, rt::System, web::Data};
use cupwright::{
    config::Settings,
    http::{State, app, document},
    keys::{Key, KeyRing, Role},
    state::StockOuts,
};
use jiff::Timestamp;
use reqwest::{Url, blocking::Client, header};
use serde_json::{Value, json};
use tempfile::TempDir;

use crate::{
    observed::{Observed, PATIENCE, free_port, series},
    server::ticket,
    support::{demo, tools::tool_file},
};

const OPEN: &str = "application/openmetrics-text; version=1.0.0; charset=utf-8";
const PLAIN: &str = "text/plain; version=0.0.4; charset=utf-8";

/// A program of Debian's `prometheus`.
fn program(name: &str) -> Command {
    Command::new(tool_file(&format!("prometheus/usr/bin/{name}")))
}

/// The metrics as a reader gets them who sends this `Accept`: media type and text.
fn read(service: &Observed, accept: &str) -> (String, String) {
    let request = service.client.get(service.url("/metrics")).header(header::ACCEPT, accept);
    let answer = request.send().expect("an answer");
    assert_eq!(answer.status(), 200, "{accept}");
    let kind = answer.headers()[header::CONTENT_TYPE].to_str().unwrap().to_owned();
    (kind, answer.text().expect("text"))
}

/// Tickets whose lines are known to be accepted, asked about and refused.
fn tickets(service: &Observed) {
    let line = |id: &str, drink: &str, modifiers: Value| json!({ "line": id, "drink": drink, "modifiers": modifiers });
    let lines = json!([
        line("1", "latte", json!([])),
        line("2", "latte", json!([])),
        line("3", "flat-white", json!([{ "id": "size", "value": "large" }])),
        line("4", "long-black", json!([{ "id": "milk", "value": "oat-drink" }])),
    ]);
    for _ in 0..5 {
        service.expand(&ticket(&json!({ "lines": lines })));
    }
    let answer: Value = service.expand(&ticket(&json!({ "lines": lines })));
    let verdicts = ["accept", "accept", "refuse", "ask"];
    let told = answer["lines"].as_array().unwrap().iter().map(|line| &line["verdict"]);
    assert!(told.eq(verdicts.iter()), "{answer}");
    assert_eq!(service.get("/v1/drinks/none-such").status(), 404);
}

/// What those tickets come to, by series.
fn caused(service: &Observed) -> Vec<(String, &'static str)> {
    let book = service.book();
    let [id, version, digest] =
        ["id", "version", "digest"].map(|name| book[name].as_str().unwrap());
    let of = |name: &str, labels: &str| format!("cupwright_{name}{{{labels}}}");
    let expand = "method=\"POST\",route=\"/v1/expand\",status=\"200\"";
    let none_such = "method=\"GET\",route=\"/v1/drinks/{id}\",status=\"404\"";
    vec![
        (of("requests_total", expand), "6"),
        (of("requests_total", none_such), "1"),
        (of("request_seconds_count", "route=\"/v1/expand\""), "6"),
        (of("request_seconds_bucket", "le=\"+Inf\",route=\"/v1/expand\""), "6"),
        (of("lines_total", "verdict=\"accept\""), "12"),
        (of("lines_total", "verdict=\"ask\""), "6"),
        (of("lines_total", "verdict=\"refuse\""), "6"),
        (of("builds_total", "from=\"made\""), "1"),
        (of("builds_total", "from=\"kept\""), "11"),
        (of("refusals_total", "code=\"no-such-cup\""), "6"),
        (of("refusals_total", "code=\"nothing-to-replace\""), "6"),
        (of("book_info", &format!("id=\"{id}\",version=\"{version}\",digest=\"{digest}\"")), "1"),
        ("cupwright_sites".to_owned(), "5"),
    ]
}

/// A series with its labels in the order of their names.
fn sorted(series: &str) -> String {
    let Some((name, labels)) = series.split_once('{') else { return series.to_owned() };
    let mut labels: Vec<&str> = labels.trim_end_matches('}').split("\",").collect();
    for label in &mut labels {
        *label = label.trim_end_matches('"');
    }
    labels.sort_unstable();
    format!("{name}{{{}\"}}", labels.join("\","))
}

/// Sources: Prometheus exposition formats, text format 0.0.4; OpenMetrics 1.0, sections "Overall
/// structure", "Counter" and "Histogram".
#[test]
fn both_text_forms_have_the_same_samples_and_their_own_headings() {
    let service = Observed::start(&[]);
    tickets(&service);
    let (kind, open) = read(&service, "application/openmetrics-text");
    assert_eq!(kind, OPEN);
    let (kind, plain) = read(&service, "text/plain");
    assert_eq!(kind, PLAIN);
    assert!(open.ends_with("\n# EOF\n") && open.matches("# EOF").count() == 1);
    assert!(!plain.contains("# EOF") && plain.ends_with('\n'));
    let lines = |text: &str| -> BTreeSet<String> {
        let samples = text.lines().filter(|line| !line.starts_with('#'));
        // The requests for the metrics themselves are in the second and not in the first.
        samples.filter(|line| !line.contains("/metrics")).map(str::to_owned).collect()
    };
    assert_eq!(lines(&open), lines(&plain));
    for (text, counter) in [(&open, "cupwright_lines"), (&plain, "cupwright_lines_total")] {
        for heading in [format!("# TYPE {counter} counter"), format!("# HELP {counter} ")] {
            assert!(text.lines().any(|line| line.starts_with(&heading)), "{heading}:\n{text}");
        }
    }
    let all = series(&plain);
    let all: Vec<(String, &str)> =
        all.iter().map(|(name, value)| (sorted(name), &**value)).collect();
    for (name, value) in caused(&service) {
        assert!(all.contains(&(sorted(&name), value)), "{name} is {value}:\n{plain}");
    }
    let buckets = plain.lines().filter(|line| {
        line.starts_with("cupwright_request_seconds_bucket{") && line.contains("/v1/expand")
    });
    let counts: Vec<f64> =
        buckets.map(|line| line.rsplit_once(' ').unwrap().1.parse().unwrap()).collect();
    assert!(
        counts.len() > 5 && counts.is_sorted(),
        "each bucket holds those before it: {counts:?}"
    );
}

/// What readers send: Prometheus 2.42 and 3 (from memory), a browser, and nothing.
#[test]
fn each_reader_gets_the_form_that_it_asks_for() {
    let service = Observed::start(&[]);
    let second = "application/openmetrics-text;version=1.0.0,\
        application/openmetrics-text;version=0.0.1;q=0.75,text/plain;version=0.0.4;q=0.5,*/*;q=0.1";
    let third = "application/openmetrics-text;version=1.0.0;escaping=allow-utf-8;q=0.5,\
        application/openmetrics-text;version=0.0.1;q=0.4,\
        text/plain;version=1.0.0;escaping=allow-utf-8;q=0.3,text/plain;version=0.0.4;q=0.2,/;q=0.1";
    for (accept, expected) in [
        (second, OPEN),
        (third, OPEN),
        ("text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8", PLAIN),
        ("*/*", PLAIN),
    ] {
        assert_eq!(read(&service, accept).0, expected, "{accept}");
    }
    let text = service.get("/metrics");
    assert_eq!(text.headers()[header::CONTENT_TYPE], PLAIN);
    let times = ["book_in_force_since", "book_checked"];
    for time in times.map(|name| format!("cupwright_{name}_timestamp_seconds")) {
        let now = Timestamp::now().as_duration().as_secs_f64();
        let at = service.time(&time);
        assert!(at <= now && at > now - 2.0 * PATIENCE.as_secs_f64(), "{time} {at} before {now}");
    }
}

#[test]
fn the_linter_of_prometheus_has_nothing_to_say() {
    let service = Observed::start(&[]);
    tickets(&service);
    let (_, text) = read(&service, "text/plain");
    let mut lint = program("promtool")
        .args(["check", "metrics"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("it starts");
    lint.stdin.take().expect("a pipe").write_all(text.as_bytes()).expect("it reads");
    let output = lint.wait_with_output().expect("it ends");
    let said = [output.stdout, output.stderr].map(|said| String::from_utf8(said).expect("text"));
    assert!(output.status.success() && said.iter().all(String::is_empty), "{said:?}\n{text}");
}

#[test]
fn whatever_senders_make_up_adds_no_series() {
    let service = Observed::start(&["--requests-per-s", "0"]);
    for n in 0..2_000 {
        let get = |path: String| service.client.get(service.url(&path));
        let post = |ticket: Value| {
            let request = service.client.post(service.url("/v1/expand")).body(ticket.to_string());
            request.header(header::CONTENT_TYPE, "application/json")
        };
        let method = reqwest::Method::from_bytes(format!("M{n}").as_bytes()).unwrap();
        let request = match n % 8 {
            0 => get(format!("/made/up/{n}")),
            1 => service.client.request(method, service.url("/v1/book")),
            2 => get(format!("/v1/drinks/drink-{n}")),
            3 => get(format!("/v1/menu?site=site-{n}&lang=l{n}")),
            4 => post(ticket(&json!({ "site": format!("site-{n}") }))),
            5 => post(ticket(&json!({ "lang": format!("x{n}") }))),
            6 => post(ticket(
                &json!({ "lines": [{ "line": format!("{n}"), "drink": format!("d-{n}") }] }),
            )),
            _ => get("/v1/sites".to_owned()).bearer_auth(format!("key-{n}")),
        };
        request.send().expect("an answer");
    }
    let all = service.metrics();
    let counted = all.iter().filter(|(name, _)| name.starts_with("cupwright_requests_total"));
    let asked: u64 = counted.map(|(_, count)| count.parse::<u64>().expect("a count")).sum();
    assert!(asked >= 2_000, "every one is counted");
    let paths = serde_json::to_value(document()).unwrap()["paths"].clone();
    let routes = paths.as_object().unwrap().keys().map(String::as_str).chain(["/docs/", "other"]);
    let routes: BTreeSet<&str> = routes.collect();
    let methods = BTreeSet::from(["GET", "HEAD", "POST", "PUT", "DELETE", "OPTIONS", "other"]);
    let label = |name: &str, label: &str| -> Option<String> {
        let value = name.split_once(&format!("{label}=\""))?.1;
        value.split_once('"').map(|(value, _)| value.to_owned())
    };
    for name in all.keys() {
        assert!(label(name, "route").is_none_or(|one| routes.contains(&*one)), "{name}");
        assert!(label(name, "method").is_none_or(|one| methods.contains(&*one)), "{name}");
    }
    assert!(all.len() < 200, "{} series: {:#?}", all.len(), all.keys());
}

/// A service within this process that wants a key of everybody, although it is reached on loopback.
struct Closed {
    address: String,
    handle: ServerHandle,
}

impl Closed {
    fn start(keys: KeyRing) -> Self {
        let mut settings = Settings::default();
        // An address of documentation (RFC 5737): not loopback, so everybody needs a key.
        settings.listen.address = "192.0.2.1:80".parse().unwrap();
        let (told, listening) = channel();
        thread::spawn(move || {
            System::new().block_on(async move {
                let held = Arc::new(demo());
                let state = Data::new(State::new(held, keys, StockOuts::default(), settings));
                let server = HttpServer::new(move || app(state.clone()));
                let server = server.workers(1).disable_signals().bind("127.0.0.1:0").unwrap();
                let address = server.addrs()[0].to_string();
                let server = server.run();
                told.send((address, server.handle())).unwrap();
                server.await.unwrap();
            });
        });
        let (address, handle) = listening.recv_timeout(PATIENCE).expect("it listens");
        Self { address, handle }
    }
}

impl Drop for Closed {
    fn drop(&mut self) {
        drop(self.handle.stop(false));
    }
}

/// A Prometheus of its own; it ends when the test does.
struct Prometheus {
    child: Child,
    address: String,
    client: Client,
    _folder: TempDir,
}

impl Drop for Prometheus {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Prometheus {
    /// Scrapes targets, each a name, an address and a key.
    fn start(targets: &[(&str, &str, Option<&str>)]) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let job = |(name, address, key): &(&str, &str, Option<&str>)| {
            let mut job = json!({ "job_name": name, "static_configs": [{ "targets": [address] }] });
            if let Some(key) = key {
                job["authorization"] = json!({ "type": "Bearer", "credentials": key });
            }
            job
        };
        let jobs: Vec<Value> = targets.iter().map(job).collect();
        let global = json!({ "scrape_interval": "250ms", "scrape_timeout": "250ms" });
        // What is JSON is YAML too.
        let config = json!({ "global": global, "scrape_configs": jobs }).to_string();
        fs::write(folder.path().join("prometheus.yml"), config).unwrap();
        let address = format!("127.0.0.1:{}", free_port());
        let child = program("prometheus")
            .arg(format!("--config.file={}", folder.path().join("prometheus.yml").display()))
            .arg(format!("--storage.tsdb.path={}", folder.path().join("data").display()))
            .arg(format!("--web.listen-address={address}"))
            .arg("--log.level=error")
            .stdin(Stdio::null())
            .spawn()
            .expect("it starts");
        let client = Client::builder().no_proxy().timeout(PATIENCE).build().unwrap();
        Self { child, address, client, _folder: folder }
    }

    /// The value of an expression, as it is written; none while there is none.
    fn value(&self, expression: &str) -> Option<String> {
        let url = format!("http://{}/api/v1/query", self.address);
        let url = Url::parse_with_params(&url, [("query", expression)]).expect("an address");
        let answer = self.client.get(url).send().ok()?;
        let answer: Value = answer.json().ok()?;
        Some(answer["data"]["result"][0]["value"][1].as_str()?.to_owned())
    }

    /// Waits until an expression has a value; that value.
    #[track_caller]
    fn known(&self, expression: &str) -> String {
        let began = Instant::now();
        loop {
            if let Some(value) = self.value(expression) {
                return value;
            }
            assert!(began.elapsed() < PATIENCE, "no value for {expression}");
            thread::sleep(Duration::from_millis(50));
        }
    }
}

#[test]
fn a_prometheus_scrapes_it_with_a_key_where_one_is_wanted_and_has_the_same_counts() {
    let (secret, key) = Key::new("watch".into(), Role::Till, Vec::new());
    let document = json!({ "schema": "service-keys/0.1.0", "keys": [key] }).to_string();
    let closed = Closed::start(KeyRing::read("keys.json", &document).unwrap());
    let service = Observed::start(&[]);
    tickets(&service);
    let prometheus = Prometheus::start(&[
        ("open", service.address(), None),
        ("with-key", &closed.address, Some(&secret)),
        ("other-key", &closed.address, Some("00000000")),
        ("without-key", &closed.address, None),
    ]);
    for (job, up) in [("open", "1"), ("with-key", "1"), ("other-key", "0"), ("without-key", "0")] {
        let began = Instant::now();
        let expression = format!("up{{job=\"{job}\"}}");
        // The first scrape may be before its time is up.
        while prometheus.known(&expression) != up {
            assert!(began.elapsed() < PATIENCE, "{expression} is not {up}");
            thread::sleep(Duration::from_millis(50));
        }
    }
    for (name, value) in caused(&service) {
        let expression = match name.strip_suffix('}') {
            Some(name) => format!("{name},job=\"open\"}}"),
            None => format!("{name}{{job=\"open\"}}"),
        };
        assert_eq!(prometheus.known(&expression), value, "{expression}");
    }
    let since = "time() - cupwright_book_in_force_since_timestamp_seconds{job=\"open\"}";
    let age: f64 = prometheus.known(since).parse().expect("a number");
    assert!(age > 0.0 && age < 2.0 * PATIENCE.as_secs_f64(), "{age} s");
    let half = "histogram_quantile(0.5, sum by (le) \
        (cupwright_request_seconds_bucket{job=\"open\",route=\"/v1/expand\"}))";
    let half: f64 = prometheus.known(half).parse().expect("a number");
    assert!(half > 0.0 && half < 2.5, "{half} s");
    let client = Client::builder().no_proxy().build().unwrap();
    let bare = client.get(format!("http://{}/metrics", closed.address)).send().unwrap();
    assert_eq!(bare.status(), 401, "it does want a key");
}
