//! What has run out: said with a key, kept over a kill, and gone without a trace when it is back.

use std::{
    collections::{BTreeMap, BTreeSet},
    fs,
    path::PathBuf,
    sync::{
        Mutex,
        atomic::{AtomicBool, Ordering},
    },
    thread,
    time::Duration,
};

use cupwright::keys::{Key, Role};
use reqwest::{Method, StatusCode, blocking::Response, header};
use serde_json::{Value, json};
use tempfile::TempDir;

use crate::{
    cli::{complained, said, write},
    server::{Service, ends_by_itself, problem, ticket},
};

/// A folder with a file of keys and room for state, and the secrets of its keys.
struct Bench {
    folder: TempDir,
    till: String,
    elsewhere: String,
}

impl Bench {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let (till, one) = Key::new("front".into(), Role::Till, Vec::new());
        let (elsewhere, two) = Key::new("ferry".into(), Role::Admin, vec!["ferry-kiosk".into()]);
        let all = json!({ "schema": "service-keys/0.1.0", "keys": [one, two] });
        write(folder.path(), "keys.json", &all.to_string());
        Self { folder, till, elsewhere }
    }

    fn keys(&self) -> String {
        self.folder.path().join("keys.json").to_str().unwrap().to_owned()
    }

    fn state(&self) -> String {
        self.folder.path().join("state").to_str().unwrap().to_owned()
    }

    fn file(&self) -> PathBuf {
        self.folder.path().join("state/stock-outs.json")
    }

    /// What the file says has run out, by site.
    fn kept(&self) -> Value {
        let text = fs::read_to_string(self.file()).expect("the file is there");
        serde_json::from_str::<Value>(&text).expect("it is whole")["sites"].clone()
    }

    fn start(&self) -> Service {
        Service::start_with(&["--keys", &self.keys(), "--state", &self.state()])
    }

    /// Says at `site` that `ingredient` has run out (PUT) or is back (DELETE).
    fn say(&self, service: &Service, method: &Method, ingredient: &str, site: &str) -> Response {
        say(service, method, ingredient, site, Some(&format!("Bearer {}", self.till)))
    }
}

fn say(
    service: &Service,
    method: &Method,
    ingredient: &str,
    site: &str,
    authorization: Option<&str>,
) -> Response {
    let url = service.url(&format!("/v1/stock/{ingredient}?site={site}"));
    let mut request = service.client.request(method.clone(), url);
    if let Some(authorization) = authorization {
        request = request.header(header::AUTHORIZATION, authorization);
    }
    request.send().expect("an answer")
}

/// One latte with another milk.
fn latte(id: &str, milk: &str) -> Value {
    json!({ "line": id, "drink": "latte", "modifiers": [{ "id": "milk", "value": milk }] })
}

/// What a site answers, byte by byte, with the tags of what can be read.
fn answers(service: &Service, site: &str) -> BTreeMap<String, (Vec<u8>, Option<String>)> {
    let lines = json!([latte("1", "oat-drink"), { "line": "2", "drink": "flat-white" }]);
    let ticket = ticket(&json!({ "site": site, "lines": lines }));
    let paths = [format!("/v1/menu?site={site}"), format!("/v1/drinks/latte?site={site}")];
    let reads = paths.into_iter().map(|path| (service.get(&path), path));
    let posted = (service.post("/v1/expand", ticket.to_string()), "/v1/expand".to_owned());
    reads
        .chain([posted])
        .map(|(answer, path)| {
            assert_eq!(answer.status(), StatusCode::OK, "{path}");
            let tag =
                answer.headers().get(header::ETAG).map(|tag| tag.to_str().unwrap().to_owned());
            (path, (answer.bytes().unwrap().to_vec(), tag))
        })
        .collect()
}

/// What `/v1/book` says has run out.
fn shown(service: &Service) -> Value {
    service.get("/v1/book").json::<Value>().unwrap()["out_of_stock"].clone()
}

/// The lines that a site offers in place of those that are refused; the first must be refused so.
fn offered(service: &Service, ticket: &Value) -> Vec<Value> {
    let answer = service.expand(ticket);
    let line = &answer["lines"][0];
    assert_eq!(line["verdict"], "refuse", "{line:#}");
    assert_eq!(line["refusals"][0]["code"], "out-of-stock", "{line:#}");
    let offers = line["alternatives"].as_array().unwrap();
    assert!(!offers.is_empty(), "{line:#}");
    offers.iter().map(|one| one["line"].clone()).collect()
}

#[test]
fn what_has_run_out_is_refused_until_it_is_back_and_a_kill_does_not_change_that() {
    let bench = Bench::new();
    let service = bench.start();
    let (before, ferry) = (answers(&service, "bookshop"), answers(&service, "ferry-kiosk"));
    assert_eq!(shown(&service), json!({}));
    let told = bench.say(&service, &Method::PUT, "oat-drink", "bookshop");
    assert_eq!(told.status(), StatusCode::OK);
    let told: Value = told.json().unwrap();
    assert_eq!(told, json!({ "site": "bookshop", "out_of_stock": ["oat-drink"] }));
    let file = fs::read(bench.file()).unwrap();
    let again = bench.say(&service, &Method::PUT, "oat-drink", "bookshop");
    assert_eq!(again.json::<Value>().unwrap(), told, "saying it twice is the same");
    assert_eq!(fs::read(bench.file()).unwrap(), file);
    let oat = ticket(&json!({ "lines": [latte("1", "oat-drink")] }));
    let check = |service: &Service| {
        for line in offered(service, &oat) {
            let answer = service.expand(&ticket(&json!({ "lines": [line] })));
            assert_eq!(answer["lines"][0]["verdict"], "accept", "{answer:#}");
        }
        let now = answers(service, "bookshop");
        let (menu, posted) = ("/v1/menu?site=bookshop", "/v1/expand");
        assert_ne!(now[posted], before[posted]);
        assert_ne!(now[menu].0, before[menu].0);
        assert_ne!(now[menu].1, before[menu].1, "another menu has another tag");
        assert_eq!(answers(service, "ferry-kiosk"), ferry, "another site still has it");
        assert_eq!(shown(service), json!({ "bookshop": ["oat-drink"] }));
    };
    check(&service);
    service.kill();
    let service = bench.start();
    check(&service);
    let told = bench.say(&service, &Method::DELETE, "oat-drink", "bookshop");
    assert_eq!(told.json::<Value>().unwrap()["out_of_stock"], json!([]));
    assert_eq!(answers(&service, "bookshop"), before, "byte for byte as it was");
    assert_eq!(shown(&service), json!({}));
    let again = bench.say(&service, &Method::DELETE, "oat-drink", "bookshop");
    assert_eq!(again.status(), StatusCode::OK, "saying it twice is the same");
    service.kill();
    assert_eq!(answers(&bench.start(), "bookshop"), before, "and so after a kill");
}

#[test]
fn a_reader_of_the_menu_who_has_the_old_one_is_sent_the_new_one() {
    let bench = Bench::new();
    let service = bench.start();
    let path = "/v1/menu?site=bookshop&lang=en";
    let ask = |tag: &str| {
        let request = service.client.get(service.url(path)).header(header::IF_NONE_MATCH, tag);
        request.send().unwrap()
    };
    let old = service.get(path).headers()[header::ETAG].to_str().unwrap().to_owned();
    assert_eq!(ask(&old).status(), StatusCode::NOT_MODIFIED);
    bench.say(&service, &Method::PUT, "oat-drink", "bookshop");
    let menu = ask(&old);
    assert_eq!(menu.status(), StatusCode::OK);
    let menu: Value = menu.json().unwrap();
    assert_eq!(menu["out_of_stock"], json!(["oat-drink"]));
    let latte = menu["drinks"].as_array().unwrap().iter().find(|one| one["id"] == "latte").unwrap();
    let milk = latte["modifiers"].as_array().unwrap().iter().find(|one| one["id"] == "milk");
    let values = milk.expect("other milks are left")["values"].as_array().unwrap().clone();
    assert!(!values.contains(&json!("oat-drink")) && values.contains(&json!("skimmed-milk")));
    bench.say(&service, &Method::DELETE, "oat-drink", "bookshop");
    assert_eq!(ask(&old).status(), StatusCode::NOT_MODIFIED, "the old one is the new one again");
}

#[test]
fn what_the_ticket_says_has_run_out_and_what_is_kept_add_up() {
    let bench = Bench::new();
    let service = bench.start();
    bench.say(&service, &Method::PUT, "oat-drink", "bookshop");
    let lines = json!([latte("1", "oat-drink"), latte("2", "skimmed-milk")]);
    let verdicts = |out: Value| -> Vec<Value> {
        let answer = service.expand(&ticket(&json!({ "lines": lines, "out_of_stock": out })));
        let lines = answer["lines"].as_array().unwrap().clone();
        lines.iter().map(|one| one["verdict"].clone()).collect()
    };
    assert_eq!(verdicts(json!([])), ["refuse", "accept"]);
    assert_eq!(verdicts(json!(["skimmed-milk"])), ["refuse", "refuse"]);
    assert_eq!(verdicts(json!(["oat-drink"])), ["refuse", "accept"], "said by both is said once");
    let both = ticket(&json!({ "lines": lines, "out_of_stock": ["skimmed-milk"] }));
    for line in offered(&service, &both) {
        let line = line.to_string();
        assert!(!line.contains("oat-drink") && !line.contains("skimmed-milk"), "{line}");
    }
    assert_eq!(shown(&service), json!({ "bookshop": ["oat-drink"] }), "a ticket keeps nothing");
}

#[test]
fn a_second_process_does_not_get_the_same_state_and_says_why() {
    let bench = Bench::new();
    let first = bench.start();
    let second = ends_by_itself(&["--state", &bench.state()]);
    assert_eq!(second.status.code(), Some(4), "{}", complained(&second));
    let told = complained(&second);
    assert!(told.contains(&bench.state()) && told.contains("in use by another process"), "{told}");
    assert_eq!(said(&second), "", "nothing was started");
    assert_eq!(first.get("/health/ready").status(), StatusCode::NO_CONTENT, "the first goes on");
    first.kill();
    drop(bench.start());
}

#[test]
fn a_damaged_file_is_told_with_its_path_and_nothing_is_started() {
    let bench = Bench::new();
    let service = bench.start();
    bench.say(&service, &Method::PUT, "oat-drink", "bookshop");
    service.kill();
    let good = fs::read(bench.file()).unwrap();
    let half = good[..good.len() / 2].to_vec();
    let other =
        String::from_utf8(good.clone()).unwrap().replace("stock-outs/0.1.0", "stock-outs/9.0.0");
    let more = String::from_utf8(good.clone()).unwrap().replacen('{', "{\"more\": 1,", 1);
    for bytes in [
        half,
        other.into_bytes(),
        more.into_bytes(),
        Vec::new(),
        b"[]".to_vec(),
        b"{\"schema\": \"\xff\"}".to_vec(),
        b"{\"schema\": \"stock-outs/0.1.0\", \"sites\": {\"bookshop\": \"oat-drink\"}}".to_vec(),
    ] {
        fs::write(bench.file(), &bytes).unwrap();
        let output = ends_by_itself(&["--keys", &bench.keys(), "--state", &bench.state()]);
        let told = complained(&output);
        assert_eq!(output.status.code(), Some(4), "{told}");
        assert!(told.contains(bench.file().to_str().unwrap()), "{told}");
        assert_eq!(said(&output), "", "nothing was started");
        assert_eq!(fs::read(bench.file()).unwrap(), bytes, "and nothing was touched");
    }
    fs::write(bench.file(), good).unwrap();
    assert_eq!(
        shown(&bench.start()),
        json!({ "bookshop": ["oat-drink"] }),
        "the good one is taken"
    );
}

#[test]
fn a_half_written_file_that_was_left_behind_does_no_harm() {
    let bench = Bench::new();
    let service = bench.start();
    bench.say(&service, &Method::PUT, "oat-drink", "bookshop");
    service.kill();
    let beside = bench.file().with_extension("json.new");
    fs::write(&beside, "{\"schema\": \"stock-outs/0.1.0\", \"sites\": {\"bookshop\": [\"ho")
        .unwrap();
    let service = bench.start();
    assert_eq!(shown(&service), json!({ "bookshop": ["oat-drink"] }));
    let told = bench.say(&service, &Method::PUT, "honey", "bookshop");
    assert_eq!(told.status(), StatusCode::OK);
    service.kill();
    assert_eq!(bench.kept(), json!({ "bookshop": ["honey", "oat-drink"] }));
    assert_eq!(shown(&bench.start()), bench.kept());
}

/// Ingredients of the demo book, which need not be on the site's sheet.
const SHARED: [&str; 4] = ["oat-drink", "almond-drink", "honey", "matcha"];
const OWN: [&str; 6] =
    ["cinnamon", "green-tea", "white-tea", "ice-cream", "nutmeg", "orange-syrup"];

#[test]
fn many_who_speak_at_once_leave_a_file_that_says_what_the_service_says() {
    let bench = Bench::new();
    let service = bench.start();
    bench.say(&service, &Method::PUT, "sugar", "ferry-kiosk");
    let done = AtomicBool::new(false);
    thread::scope(|scope| {
        let reader = scope.spawn(|| {
            let mut seen = BTreeSet::new();
            while !done.load(Ordering::Relaxed) {
                // Whoever reads the file at any time finds it whole.
                seen.insert(bench.kept().to_string());
            }
            seen.len()
        });
        let speakers: Vec<_> = OWN
            .into_iter()
            .enumerate()
            .map(|(n, own)| {
                let (bench, service) = (&bench, &service);
                scope.spawn(move || {
                    for turn in 0..12 {
                        let method = if turn % 2 == 0 { Method::PUT } else { Method::DELETE };
                        let shared = SHARED[(n + turn) % SHARED.len()];
                        for ingredient in [own, shared] {
                            let told = bench.say(service, &method, ingredient, "bookshop");
                            assert_eq!(told.status(), StatusCode::OK);
                            let told: Value = told.json().unwrap();
                            let out = told["out_of_stock"].as_array().unwrap();
                            // Nobody else speaks of it, so what was said of it stands.
                            let gone = method == Method::PUT;
                            assert!(ingredient != own || out.contains(&json!(own)) == gone);
                        }
                    }
                    bench.say(service, &Method::PUT, own, "bookshop");
                })
            })
            .collect();
        for one in speakers {
            one.join().unwrap();
        }
        done.store(true, Ordering::Relaxed);
        assert!(reader.join().unwrap() > 1, "the reader saw it change");
    });
    let (kept, shown) = (bench.kept(), shown(&service));
    assert_eq!(kept, shown, "memory and file say the same");
    let here: Vec<&str> =
        kept["bookshop"].as_array().unwrap().iter().map(|one| one.as_str().unwrap()).collect();
    assert!(OWN.iter().all(|one| here.contains(one)), "{here:?}");
    assert!(here.iter().all(|one| OWN.contains(one) || SHARED.contains(one)), "{here:?}");
    assert_eq!(kept["ferry-kiosk"], json!(["sugar"]));
}

/// Whoever was told that it is kept can rely on it; what was being said is kept or not, never half.
#[test]
fn a_kill_in_the_middle_of_it_loses_nothing_that_was_confirmed() {
    let bench = Bench::new();
    for round in 0..4_u64 {
        let service = bench.start();
        let url = service.url("/v1/stock/");
        let authorization = format!("Bearer {}", bench.till);
        let began: BTreeSet<String> = shown(&service)["bookshop"]
            .as_array()
            .into_iter()
            .flatten()
            .map(|one| one.as_str().unwrap().to_owned())
            .collect();
        // What was confirmed, and what is being said.
        let said = Mutex::new((began, String::new()));
        let client = service.client.clone();
        thread::scope(|scope| {
            let speaker = scope.spawn(|| {
                for ingredient in SHARED.iter().chain(&OWN).cycle() {
                    let gone = !said.lock().unwrap().0.contains(*ingredient);
                    (*ingredient).clone_into(&mut said.lock().unwrap().1);
                    let method = if gone { Method::PUT } else { Method::DELETE };
                    let request =
                        client.request(method, format!("{url}{ingredient}?site=bookshop"));
                    let told = request.header(header::AUTHORIZATION, &authorization).send();
                    if !told.is_ok_and(|told| told.status() == StatusCode::OK) {
                        return;
                    }
                    let mut said = said.lock().unwrap();
                    if gone {
                        said.0.insert((*ingredient).to_owned());
                    } else {
                        said.0.remove(*ingredient);
                    }
                }
            });
            thread::sleep(Duration::from_millis(150 + 37 * round));
            service.kill();
            speaker.join().unwrap();
        });
        let (confirmed, last) = said.into_inner().unwrap();
        assert!(!last.is_empty(), "something was said");
        let service = bench.start();
        let kept: BTreeSet<String> =
            serde_json::from_value(shown(&service)["bookshop"].clone()).unwrap_or_default();
        let differ: Vec<&String> = kept.symmetric_difference(&confirmed).collect();
        assert!(differ.iter().all(|one| **one == last), "{differ:?} beside `{last}`");
        service.kill();
    }
}

#[test]
fn without_a_place_to_keep_it_nothing_can_be_said() {
    let bench = Bench::new();
    let service = Service::start_with(&["--keys", &bench.keys()]);
    for method in [Method::PUT, Method::DELETE] {
        let told = bench.say(&service, &method, "oat-drink", "bookshop");
        let problem = problem(told, 409, "no-state-here");
        assert!(problem["detail"].as_str().unwrap().contains("--state"), "{problem}");
    }
    let oat = service.expand(&ticket(&json!({ "lines": [latte("1", "oat-drink")] })));
    assert_eq!(oat["lines"][0]["verdict"], "accept");
}

/// Source: RFC 6750, section 3, and RFC 9110, section 11.6.1: a challenge names the scheme and at
/// least one parameter; `invalid_token` and `insufficient_scope` are of section 3.1.
#[test]
fn a_request_without_the_right_key_is_challenged_and_changes_nothing() {
    let bench = Bench::new();
    let service = bench.start();
    let bearer = |secret: &str| format!("Bearer {secret}");
    let upper = bench.till.to_uppercase();
    for (authorization, status, name, challenge) in [
        (None, 401, "unauthorized", "Bearer realm=\"cupwright\""),
        (Some(bearer("nobody")), 401, "unauthorized", "error=\"invalid_token\""),
        (Some(bearer("")), 401, "unauthorized", "error=\"invalid_token\""),
        (Some(bearer(&upper)), 401, "unauthorized", "error=\"invalid_token\""),
        (Some(format!("Basic {}", bench.till)), 401, "unauthorized", "error=\"invalid_token\""),
        (Some(bench.till.clone()), 401, "unauthorized", "error=\"invalid_token\""),
        (Some(bearer(&bench.elsewhere)), 403, "forbidden", "error=\"insufficient_scope\""),
    ] {
        for method in [Method::PUT, Method::DELETE] {
            let told = say(&service, &method, "oat-drink", "bookshop", authorization.as_deref());
            let header = told.headers().get(header::WWW_AUTHENTICATE).cloned();
            let header = header.unwrap_or_else(|| panic!("no challenge to {authorization:?}"));
            let header = header.to_str().unwrap();
            assert!(header.starts_with("Bearer realm="), "{header}");
            assert!(header.contains(challenge), "{header} for {authorization:?}");
            let problem = problem(told, status, name).to_string();
            assert!(!problem.contains(&bench.till) && !problem.contains(&bench.elsewhere));
        }
    }
    assert_eq!(shown(&service), json!({}));
    assert!(!bench.file().exists(), "nothing was written");
    // The scheme is the same in any case (RFC 9110, section 11.1).
    let lower = format!("bearer {}", bench.till);
    let told = say(&service, &Method::PUT, "oat-drink", "bookshop", Some(&lower));
    assert_eq!(told.status(), StatusCode::OK);
}

#[test]
fn what_the_book_or_the_service_does_not_have_cannot_run_out() {
    let bench = Bench::new();
    let service = bench.start();
    let put = |ingredient: &str, site: &str| bench.say(&service, &Method::PUT, ingredient, site);
    problem(put("unicorn-milk", "bookshop"), 404, "unknown-ingredient");
    problem(put("oat-drink", "moon"), 404, "unknown-site");
    let url = service.url("/v1/stock/oat-drink");
    let authorization = format!("Bearer {}", bench.till);
    let request = service.client.put(url).header(header::AUTHORIZATION, authorization);
    problem(request.send().unwrap(), 400, "invalid-query");
    assert_eq!(shown(&service), json!({}));
}
