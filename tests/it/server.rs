//! The service as a process of its own: what it prints, what it answers, and how it ends.

use std::{
    collections::BTreeSet,
    io::{BufRead, BufReader, Read, Write},
    net::TcpStream,
    process::{Child, ChildStderr, Command, ExitStatus, Output, Stdio},
    sync::{
        Mutex,
        mpsc::{Receiver, channel},
    },
    thread,
    time::{Duration, Instant},
};

use reqwest::{
    StatusCode,
    blocking::{Client, Response},
    header,
};
use serde_json::{Value, json};

use crate::{cli::program, support::demo as in_force};

/// How long anything may take before it counts as stuck.
const PATIENCE: Duration = Duration::from_mins(1);

/// A service of its own; it is ended when the test ends, however that is.
pub(crate) struct Service {
    child: Child,
    printed: Mutex<Receiver<String>>,
    address: String,
    pub(crate) client: Client,
}

impl Drop for Service {
    fn drop(&mut self) {
        // It may have ended already; then there is nothing to do.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Service {
    /// Starts a service with the demo on a free port.
    pub(crate) fn start() -> Self {
        Self::start_with(&[])
    }

    /// Starts a service on a free port with more arguments.
    pub(crate) fn start_with(more: &[&str]) -> Self {
        Self::start_at("127.0.0.1:0", more)
    }

    /// Starts a service on a free port of an address.
    pub(crate) fn start_at(address: &str, more: &[&str]) -> Self {
        Self::start_by(program().args(["serve", "--listen", address]).args(more))
    }

    /// Starts a service by a command.
    pub(crate) fn start_by(command: &mut Command) -> Self {
        let mut child = command
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .spawn()
            .expect("the program starts");
        let stdout = BufReader::new(child.stdout.take().expect("a pipe"));
        let (told, printed) = channel();
        thread::spawn(move || {
            for line in stdout.lines().map_while(Result::ok) {
                if told.send(line).is_err() {
                    break;
                }
            }
        });
        let client = Client::builder().no_proxy().timeout(PATIENCE).build().expect("a client");
        let printed = Mutex::new(printed);
        let mut service = Self { child, printed, address: String::new(), client };
        let first = service.line();
        let address = first.rsplit_once("http://").expect("its address").1;
        service.address = address.replace("0.0.0.0", "127.0.0.1");
        service
    }

    /// Ends it as a loss of power would: by SIGKILL, with no time to tidy up.
    pub(crate) fn kill(mut self) {
        self.child.kill().expect("it was running");
        self.child.wait().expect("it has ended");
    }

    /// The id of its process.
    pub(crate) fn process(&self) -> u32 {
        self.child.id()
    }

    /// Address and port at which it is reached.
    pub(crate) fn address(&self) -> &str {
        &self.address
    }

    /// What it writes to standard error, if the command pipes that.
    pub(crate) fn stderr(&mut self) -> Option<ChildStderr> {
        self.child.stderr.take()
    }

    /// Waits until it ends by itself.
    pub(crate) fn ended(&mut self) -> ExitStatus {
        let began = Instant::now();
        loop {
            if let Some(status) = self.child.try_wait().expect("its state") {
                return status;
            }
            assert!(began.elapsed() < PATIENCE, "it does not end");
            thread::sleep(Duration::from_millis(10));
        }
    }

    /// What it has printed and nobody has read yet.
    pub(crate) fn printed(&self) -> Vec<String> {
        self.printed.lock().unwrap().try_iter().collect()
    }

    /// The next line that it prints.
    fn line(&self) -> String {
        self.printed.lock().unwrap().recv_timeout(PATIENCE).expect("it prints another line")
    }

    pub(crate) fn url(&self, path: &str) -> String {
        format!("http://{}{path}", self.address)
    }

    pub(crate) fn get(&self, path: &str) -> Response {
        self.client.get(self.url(path)).send().expect("an answer")
    }

    pub(crate) fn post(&self, path: &str, body: impl Into<reqwest::blocking::Body>) -> Response {
        let request =
            self.client.post(self.url(path)).header(header::CONTENT_TYPE, "application/json");
        request.body(body).send().expect("an answer")
    }

    /// The answer of 200 to a ticket.
    pub(crate) fn expand(&self, ticket: &Value) -> Value {
        let answer = self.post("/v1/expand", ticket.to_string());
        assert_eq!(answer.status(), StatusCode::OK);
        assert_eq!(kind(&answer), "application/json");
        answer.json().expect("JSON")
    }

    /// The faults, as pointers, of a body that is refused with 422.
    pub(crate) fn faults(&self, body: &str) -> Vec<Value> {
        let problem = problem(self.post("/v1/expand", body.to_owned()), 422, "invalid-body");
        let faults = problem["errors"].as_array().expect("errors").clone();
        assert!(!faults.is_empty(), "{body}");
        for fault in &faults {
            assert!(fault["detail"].as_str().is_some_and(|detail| !detail.is_empty()), "{fault}");
            assert!(
                fault["line"].as_u64().is_some() && fault["column"].as_u64().is_some(),
                "{fault}"
            );
        }
        faults.iter().map(|fault| fault["pointer"].clone()).collect()
    }
}

/// What a service says that ends by itself instead of serving.
pub(crate) fn ends_by_itself(more: &[&str]) -> Output {
    let mut child = program()
        .args(["serve", "--listen", "127.0.0.1:0"])
        .args(more)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    let began = Instant::now();
    while child.try_wait().expect("its state").is_none() {
        if began.elapsed() > PATIENCE {
            let _ = child.kill();
            panic!("it serves with {more:?}");
        }
        thread::sleep(Duration::from_millis(20));
    }
    child.wait_with_output().expect("its output")
}

/// The media type of an answer.
pub(crate) fn kind(answer: &Response) -> String {
    let kind = answer.headers().get(header::CONTENT_TYPE).expect("a media type");
    kind.to_str().expect("text").to_owned()
}

/// The problem that an answer is; its members are those of RFC 9457.
#[track_caller]
pub(crate) fn problem(answer: Response, status: u16, name: &str) -> Value {
    assert_eq!(answer.status().as_u16(), status);
    assert_eq!(kind(&answer), "application/problem+json");
    let problem: Value = answer.json().expect("JSON");
    assert_eq!(problem["type"], format!("/problems/{name}"));
    assert_eq!(problem["status"], status);
    assert!(problem["title"].is_string() && problem["detail"].is_string(), "{problem}");
    problem
}

/// A ticket for one latte at the bookshop with more fields.
pub(crate) fn ticket(more: &Value) -> Value {
    let mut ticket =
        json!({"site": "bookshop", "lang": "en", "lines": [{"line": "1", "drink": "latte"}]});
    for (name, value) in more.as_object().expect("fields") {
        ticket[name] = value.clone();
    }
    ticket
}

#[test]
fn the_request_that_is_printed_is_accepted_when_it_is_posted() {
    let service = Service::start();
    let begin = "    -d '";
    let line = (0..20).map(|_| service.line()).find(|line| line.starts_with(begin));
    let line = line.expect("a request to try");
    let body = line.trim_start_matches(begin).trim_end_matches('\'');
    let ticket: Value = serde_json::from_str(body).expect("a ticket");
    let answer = service.expand(&ticket);
    assert_eq!(answer["lines"][0]["verdict"], "accept");
    let asked = ticket["lines"][0]["modifiers"].as_array().expect("a changed drink");
    assert_eq!(asked.len(), 2, "another milk and a shot more: {ticket}");
    let build = &answer["lines"][0]["build"];
    assert!(build["milk"].is_object() && build["coffee"].is_object(), "{build}");
    assert_eq!(build["changes"].as_array().map(Vec::len), Some(2), "{build}");
    let shown: Vec<String> =
        (0..99).map(|_| service.line()).take_while(|line| line != "  …").collect();
    let shown: Vec<&str> = shown.iter().filter_map(|line| line.strip_prefix("  ")).collect();
    assert!(shown.len() > 10);
    let bare = |text: &str| text.split_whitespace().collect::<String>();
    let (shown, whole) = (bare(&shown.concat()), bare(&answer.to_string()));
    assert!(whole.starts_with(&shown), "what is printed is how the answer begins:\n{shown}");
    assert!(shown.contains("\"coffee\":{"), "and it comes to the amounts:\n{shown}");
}

#[test]
fn every_read_answers_and_is_not_sent_again_to_a_reader_who_has_it() {
    let (service, held) = (Service::start(), in_force());
    for path in ["/health/live", "/health/ready"] {
        assert_eq!(service.get(path).status(), StatusCode::NO_CONTENT);
    }
    let paths = [
        "/v1/drinks",
        "/v1/drinks?site=takeaway-window&lang=en",
        "/v1/drinks/latte",
        "/v1/drinks/espresso?site=bookshop&lang=de",
        "/v1/sites",
        "/v1/book",
        "/openapi.json",
    ];
    for path in paths {
        let answer = service.get(path);
        assert_eq!(
            (answer.status(), &*kind(&answer)),
            (StatusCode::OK, "application/json"),
            "{path}"
        );
        let tag = answer.headers()[header::ETAG].to_str().unwrap().to_owned();
        assert!(
            tag.starts_with('"') && tag.ends_with('"'),
            "a strong tag (RFC 9110, section 8.8.3)"
        );
        let caching = answer.headers().get(header::CACHE_CONTROL).cloned();
        assert!(answer.json::<Value>().expect("JSON").is_object());
        for known in [tag.clone(), format!("W/{tag}"), format!("\"other\", {tag}"), "*".to_owned()]
        {
            let request =
                service.client.get(service.url(path)).header(header::IF_NONE_MATCH, &known);
            let again = request.send().expect("an answer");
            assert_eq!(again.status(), StatusCode::NOT_MODIFIED, "{path} with {known}");
            assert_eq!(again.headers()[header::ETAG], *tag);
            // RFC 9110, section 15.4.5: a 304 has the Cache-Control that the 200 would have had.
            assert_eq!(again.headers().get(header::CACHE_CONTROL), caching.as_ref(), "{path}");
            assert_eq!(again.bytes().expect("no body").len(), 0);
        }
        let request =
            service.client.get(service.url(path)).header(header::IF_NONE_MATCH, "\"other\"");
        assert_eq!(request.send().expect("an answer").status(), StatusCode::OK, "{path}");
    }
    let book: Value = service.get("/v1/book").json().unwrap();
    assert_eq!(book["digest"], held.digest().to_string());
    assert_eq!(book["held"], json!([held.digest().to_string()]));
    let sites: Value = service.get("/v1/sites").json().unwrap();
    let ids: Vec<&str> =
        sites["sites"].as_array().unwrap().iter().map(|one| one["id"].as_str().unwrap()).collect();
    assert_eq!(ids, held.bars.keys().map(|id| &**id).collect::<Vec<_>>());
}

#[test]
fn lists_and_drinks_are_those_of_the_site_in_the_language_asked_for() {
    let (service, held) = (Service::start(), in_force());
    let list: Value = service.get("/v1/drinks").json().unwrap();
    assert_eq!(list["drinks"].as_array().unwrap().len(), held.book().drinks.len());
    assert_eq!(list["lang"], "en", "the training bar's first language");
    let named = |path: &str| -> Value {
        service.get(path).json::<Value>().unwrap()["drink"]["name"].clone()
    };
    assert_eq!(named("/v1/drinks/espresso"), "Espresso");
    assert_eq!(named("/v1/drinks/espresso?site=takeaway-window"), "Short black");
    assert_eq!(named("/v1/drinks/hot-chocolate?site=bookshop"), "Heiße Schokolade");
    assert_eq!(named("/v1/drinks/hot-chocolate?site=bookshop&lang=en"), "Hot chocolate");
    let drink: Value = service.get("/v1/drinks/latte?site=ferry-kiosk").json().unwrap();
    let (cups, lines) =
        (drink["drink"]["cups"].as_array().unwrap(), drink["lines"].as_array().unwrap());
    assert_eq!(cups.len(), lines.len(), "a verdict for each cup");
    let verdicts: BTreeSet<&str> =
        lines.iter().map(|line| line["verdict"].as_str().unwrap()).collect();
    assert_eq!(verdicts, BTreeSet::from(["accept", "refuse"]), "the kiosk has paper cups alone");
}

#[test]
fn validate_gives_the_verdicts_of_expand_without_the_builds() {
    let service = Service::start();
    let lines = json!([
        {"line": "1", "drink": "latte"},
        {"line": "2", "drink": "flat-white", "modifiers": [{"id": "size", "value": "large"}]},
        {"line": "3", "drink": "long-black", "modifiers": [{"id": "milk", "value": "oat-drink"}]},
    ]);
    let ticket = ticket(&json!({"lines": lines}));
    let mut full = service.expand(&ticket);
    let verdicts: Vec<Value> =
        full["lines"].as_array().unwrap().iter().map(|line| line["verdict"].clone()).collect();
    assert_eq!(verdicts, ["accept", "refuse", "ask"]);
    assert!(full["lines"][0]["build"].is_object());
    let answer = service.post("/v1/validate", ticket.to_string());
    assert_eq!(answer.status(), StatusCode::OK);
    full["lines"][0].as_object_mut().unwrap().shift_remove("build");
    assert_eq!(answer.json::<Value>().unwrap(), full);
}

#[test]
fn what_no_route_takes_is_a_problem_of_its_own() {
    let service = Service::start();
    problem(service.get("/"), 404, "not-found");
    problem(service.get("/v1/drinks/latte/steps"), 404, "not-found");
    problem(service.get("/v1/drinks/latte-royal"), 404, "unknown-drink");
    problem(service.get("/v1/drinks?color=blue"), 400, "invalid-query");
    problem(service.get("/v1/drinks?lang=xx"), 400, "invalid-query");
    problem(service.get("/v1/drinks/latte?lang=xx"), 400, "invalid-query");
    for (site, answer) in [
        ("moon", service.get("/v1/drinks/latte?site=moon")),
        ("moon", service.post("/v1/expand", ticket(&json!({"site": "moon"})).to_string())),
        ("", service.post("/v1/expand", ticket(&json!({"site": ""})).to_string())),
    ] {
        let problem = problem(answer, 404, "unknown-site");
        let detail = problem["detail"].as_str().unwrap();
        assert!(detail.contains(&format!("`{site}`")), "{detail}");
        assert!(in_force().bars.keys().all(|id| detail.contains(&**id)), "every site: {detail}");
    }
    for (method, path, allowed) in [
        ("DELETE", "/v1/expand", "POST"),
        ("GET", "/v1/expand", "POST"),
        ("PUT", "/v1/validate", "POST"),
        ("POST", "/v1/drinks", "GET"),
        ("PATCH", "/v1/drinks/latte", "GET"),
        ("POST", "/v1/book", "GET"),
    ] {
        let method = method.parse::<reqwest::Method>().unwrap();
        let answer = service.client.request(method, service.url(path)).send().unwrap();
        let allow = answer.headers()[header::ALLOW].to_str().unwrap().to_owned();
        assert!(allow.split(", ").any(|one| one == allowed), "{path} allows {allow}");
        problem(answer, 405, "method-not-allowed");
    }
}

/// Source: RFC 9110, section 9.1: every general-purpose server answers GET and HEAD; section 9.3.2:
/// HEAD is GET without the content.
#[test]
fn whatever_can_be_read_answers_to_head_too() {
    let service = Service::start();
    for path in ["/v1/book", "/v1/drinks", "/v1/drinks/latte", "/v1/sites", "/openapi.json"] {
        let (get, head) =
            (service.get(path), service.client.head(service.url(path)).send().unwrap());
        assert_eq!(head.status(), StatusCode::OK, "HEAD {path}");
        assert_eq!(head.headers().get(header::ETAG), get.headers().get(header::ETAG));
        assert_eq!(head.bytes().unwrap().len(), 0);
    }
    let live = service.client.head(service.url("/health/live")).send().unwrap();
    assert_eq!(live.status(), StatusCode::NO_CONTENT, "HEAD is what many probes send");
}

#[test]
fn a_body_has_up_to_one_mebibyte_and_a_larger_one_breaks_nothing() {
    const MOST: usize = 1 << 20;
    let service = Service::start();
    let mut body = ticket(&json!({})).to_string();
    body.push_str(&" ".repeat(MOST - body.len()));
    assert_eq!(
        service.post("/v1/expand", body.clone()).status(),
        StatusCode::OK,
        "the limit itself is allowed"
    );
    for chunked in [false, true] {
        let mut stream = TcpStream::connect(&service.address).expect("a connection");
        stream.set_read_timeout(Some(PATIENCE)).unwrap();
        let length = if chunked {
            "Transfer-Encoding: chunked".to_owned()
        } else {
            format!("Content-Length: {}", MOST + 1)
        };
        let head = format!(
            "POST /v1/expand HTTP/1.1\r\nHost: bar\r\nContent-Type: application/json\r\n{length}\r\n\r\n"
        );
        let content = if chunked {
            format!("{:x}\r\n{body} \r\n0\r\n\r\n", MOST + 1)
        } else {
            format!("{body} ")
        };
        let next = "GET /health/live HTTP/1.1\r\nHost: bar\r\nConnection: close\r\n\r\n";
        // The service may close before everything is sent; what it has said then still arrives.
        let sent = stream.write_all(format!("{head}{content}{next}").as_bytes());
        let (mut said, mut more) = (Vec::new(), [0; 4096]);
        while let Ok(read @ 1..) = stream.read(&mut more) {
            said.extend_from_slice(&more[..read]);
        }
        let said = String::from_utf8(said).expect("text");
        assert!(
            said.starts_with("HTTP/1.1 413 "),
            "chunked: {chunked}, sent: {sent:?}, said: {said:?}"
        );
        assert!(
            said.contains("application/problem+json") && said.contains("/problems/body-too-large"),
            "{said}"
        );
        let after = said.matches("HTTP/1.1 ").count();
        assert!(
            after == 1 || said.contains("HTTP/1.1 204 "),
            "closed, or the next is answered: {said}"
        );
    }
    assert_eq!(
        service.post("/v1/expand", body).status(),
        StatusCode::OK,
        "and the service goes on"
    );
}

#[test]
fn eight_readers_at_once_get_equal_bytes() {
    let service = Service::start();
    let ticket = ticket(&json!({"order": {"at": "2026-11-25T14:05:00+01:00"}, "lines": [
        {"line": "1", "drink": "latte", "modifiers": [{"id": "milk", "value": "oat-drink"}]},
        {"line": "2", "drink": "flat-white", "modifiers": [{"id": "size", "value": "large"}]},
    ]}));
    let body = ticket.to_string();
    let first = service.post("/v1/expand", body.clone()).bytes().unwrap();
    thread::scope(|scope| {
        for _ in 0..8 {
            scope.spawn(|| {
                for _ in 0..50 {
                    let answer = service.post("/v1/expand", body.clone());
                    assert_eq!(answer.status(), StatusCode::OK);
                    assert_eq!(answer.bytes().unwrap(), first);
                }
            });
        }
    });
}

#[test]
fn a_request_to_terminate_ends_the_service_in_good_order() {
    let mut service = Service::start();
    assert_eq!(service.get("/health/live").status(), StatusCode::NO_CONTENT);
    let asked = Command::new("kill").args(["-TERM", &service.child.id().to_string()]).status();
    assert!(asked.expect("`kill` is there").success());
    assert_eq!(service.ended().code(), Some(0), "it ends by itself and says that all is well");
    assert!(TcpStream::connect(&service.address).is_err(), "nobody listens any more");
}

/// Source: RFC 9110, section 15.5.9 (from memory): 408 for a request that is not complete in time.
#[test]
fn a_body_that_does_not_come_is_not_waited_for() {
    let service = Service::start();
    let mut stream = TcpStream::connect(&service.address).expect("a connection");
    stream.set_read_timeout(Some(PATIENCE)).expect("a time-out");
    let head = "POST /v1/expand HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\n\
        Content-Length: 50\r\n\r\n{\"site\":";
    stream.write_all(head.as_bytes()).expect("the head is sent");
    let mut told = [0; 2_048];
    let length = stream.read(&mut told).expect("an answer although the body is missing");
    let told = String::from_utf8_lossy(&told[..length]).into_owned();
    assert!(told.starts_with("HTTP/1.1 408"), "{told}");
    assert!(told.contains("application/problem+json"), "{told}");
}
