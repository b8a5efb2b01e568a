//! Two replicas behind the balancer, restarted in turn under load: not one request is lost.

use std::{
    net::TcpListener,
    process::{Child, Command, ExitStatus, Stdio},
    sync::{
        Mutex,
        atomic::{AtomicBool, Ordering},
    },
    thread,
    time::{Duration, Instant},
};

use reqwest::{StatusCode, blocking::Client};
use serde_json::{Value, json};

use crate::{
    cli::program,
    support::{root, tools::run},
};

const PATIENCE: Duration = Duration::from_secs(30);

/// Notice and drain by default, and some time for a machine that is busy.
const ENDS_WITHIN: Duration = Duration::from_secs(2 + 20 + 5);

/// Time in which the balancer certainly sees that a replica is back: two checks and their time-outs.
const SEEN_WITHIN: Duration = Duration::from_secs(2);

const CLIENTS: usize = 8;

/// Time that a client waits between requests: all together stay below what one replica lets one
/// address ask.
const PAUSE: Duration = Duration::from_millis(60);

/// A process that is ended with the test, by its own id.
struct Ended(Child);

impl Drop for Ended {
    fn drop(&mut self) {
        // It may have ended already; then there is nothing to do.
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

impl Ended {
    /// Sends SIGTERM and waits for the end.
    fn terminate(&mut self) -> ExitStatus {
        let mut kill = Command::new("kill");
        kill.args(["-TERM", &self.0.id().to_string()]);
        run(kill);
        let began = Instant::now();
        loop {
            if let Some(status) = self.0.try_wait().expect("its state") {
                return status;
            }
            assert!(began.elapsed() < ENDS_WITHIN, "it does not end");
            thread::sleep(Duration::from_millis(20));
        }
    }
}

/// An address of loopback that was free a moment ago; a replica comes back to the same.
fn free_address() -> String {
    let free = TcpListener::bind("127.0.0.1:0").expect("a free port");
    free.local_addr().expect("an address").to_string()
}

fn client() -> Client {
    Client::builder().no_proxy().timeout(PATIENCE).build().expect("a client")
}

fn wait_until_ready(address: &str) {
    let (client, began) = (client(), Instant::now());
    let url = format!("http://{address}/health/ready");
    while !client.get(&url).send().is_ok_and(|answer| answer.status() == StatusCode::NO_CONTENT) {
        assert!(began.elapsed() < PATIENCE, "{address} does not get ready");
        thread::sleep(Duration::from_millis(20));
    }
}

fn replica(address: &str) -> Ended {
    let mut serve = program();
    serve.args(["serve", "--listen", address]).stdin(Stdio::null()).stdout(Stdio::null());
    let replica = Ended(serve.stderr(Stdio::null()).spawn().expect("the program starts"));
    wait_until_ready(address);
    replica
}

/// The balancer with the configuration that is shipped, on loopback.
fn balancer(front: &str, replicas: &[String; 2]) -> Ended {
    let mut start = Command::new("haproxy");
    start.args(["-db", "-f"]).arg(root("docker/haproxy.cfg"));
    start.env("CUPWRIGHT_FRONT", front);
    start.env("CUPWRIGHT_REPLICA_1", &replicas[0]).env("CUPWRIGHT_REPLICA_2", &replicas[1]);
    start.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    let remedy = "there is no haproxy: run ./tests/run, which installs it";
    let balancer = Ended(start.spawn().expect(remedy));
    wait_until_ready(front);
    balancer
}

/// A ticket whose answer is the same at any time.
fn ticket(number: usize) -> String {
    let drink = ["latte", "flat-white", "cappuccino", "espresso"][number % 4];
    let order = json!({ "at": "2026-11-25T14:05:00+01:00" });
    let line = json!({ "line": "1", "drink": drink });
    json!({ "site": "bookshop", "lang": "en", "order": order, "lines": [line] }).to_string()
}

/// What the clients have seen.
#[derive(Debug, Default)]
struct Seen {
    answers: usize,
    failures: Vec<String>,
}

/// Asks for the same ticket until `enough`, on one connection for as long as it is kept.
fn ask(front: &str, number: usize, enough: &AtomicBool, seen: &Mutex<Seen>) {
    let (client, ticket) = (client(), ticket(number));
    let url = format!("http://{front}/v1/expand");
    let mut first: Option<Value> = None;
    let began = Instant::now();
    while !enough.load(Ordering::Relaxed) && began.elapsed() < PATIENCE * 6 {
        let request = client.post(&url).header("Content-Type", "application/json");
        let answer = request.body(ticket.clone()).send().and_then(|answer| {
            let status = answer.status();
            answer.json::<Value>().map(|body| (status, body))
        });
        let failure = match answer {
            Ok((StatusCode::OK, body)) if first.as_ref().is_none_or(|first| *first == body) => {
                first.get_or_insert(body);
                None
            }
            Ok((status, body)) => Some(format!("{status}: {body}")),
            Err(fault) => Some(format!("{fault:?}")),
        };
        let mut seen = seen.lock().unwrap();
        seen.answers += usize::from(failure.is_none());
        seen.failures.extend(failure);
        drop(seen);
        thread::sleep(PAUSE);
    }
}

/// Ends each replica in turn under load, brings it back, and asserts that no client noticed.
fn restart_in_turn(end: impl Fn(&mut Ended)) {
    let (front, addresses) = (free_address(), [free_address(), free_address()]);
    let mut replicas = addresses.each_ref().map(|address| replica(address));
    let _balancer = balancer(&front, &addresses);
    let (enough, seen) = (AtomicBool::new(false), Mutex::new(Seen::default()));
    let mut answers = Vec::new();
    thread::scope(|scope| {
        // Whatever happens below, the clients stop.
        let _stop = Stop(&enough);
        for number in 0..CLIENTS {
            let (front, enough, seen) = (&*front, &enough, &seen);
            scope.spawn(move || ask(front, number, enough, seen));
        }
        thread::sleep(SEEN_WITHIN);
        for (replica_now, address) in replicas.iter_mut().zip(&addresses) {
            answers.push(seen.lock().unwrap().answers);
            end(replica_now);
            // For a while there is only the other one.
            thread::sleep(Duration::from_secs(1));
            *replica_now = replica(address);
            thread::sleep(SEEN_WITHIN);
        }
        answers.push(seen.lock().unwrap().answers);
    });
    let Seen { answers: all, failures } = seen.into_inner().unwrap();
    let lost = failures.len();
    assert!(failures.is_empty(), "{lost} are lost beside {all}, first: {}", failures[0]);
    let went_on = answers.windows(2).all(|pair| pair[1] - pair[0] > 20);
    assert!(went_on, "the load went on throughout: {answers:?}");
}

#[test]
fn not_one_request_is_lost_while_each_replica_is_restarted_in_turn() {
    restart_in_turn(|replica| {
        assert_eq!(replica.terminate().code(), Some(0), "it ends well");
    });
}

/// A replica that is killed tells nobody; what it leaves unanswered is asked of the other.
#[test]
fn not_one_request_is_lost_when_a_replica_dies_without_a_word() {
    restart_in_turn(|replica| {
        replica.0.kill().expect("it was running");
        assert_eq!(replica.0.wait().expect("its end").code(), None, "it was killed");
    });
}

/// Tells the clients that it is enough, however the test goes on.
struct Stop<'e>(&'e AtomicBool);

impl Drop for Stop<'_> {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
    }
}
