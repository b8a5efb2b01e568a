//! Settings: which layer is taken, the example, and who can reach an address.

use std::{collections::BTreeMap, ffi::OsString, path::Path, process::Output};

use cupwright::config::{
    Configured, File, Layers, LogForm, Logged, SETTINGS, Setting, Settings, example,
    reachable_by_others,
};
use serde_json::{Value, json};

use crate::cli::{complained, program, run, said, write};

/// One setting: its names, the field that holds it, and what each layer gives with what comes of it.
struct Row {
    path: &'static str,
    flag: &'static str,
    variable: &'static str,
    read: fn(&Settings) -> Value,
    default: Value,
    /// As the file, the environment and the command line write it.
    given: [(&'static str, Value); 3],
}

fn row(
    [path, flag, variable]: [&'static str; 3],
    read: fn(&Settings) -> Value,
    default: Value,
    given: [(&'static str, Value); 3],
) -> Row {
    Row { path, flag, variable, read, default, given }
}

fn top() -> Vec<Row> {
    let path = |path: &str| json!(path);
    vec![
        row(
            ["book", "book", "CUPWRIGHT_BOOK"],
            |all| json!(all.book),
            Value::Null,
            [("'a.json'", path("conf/a.json")), ("b.json", path("b.json")), ("c", path("c"))],
        ),
        row(
            ["sites", "sites", "CUPWRIGHT_SITES"],
            |all| json!(all.sites),
            Value::Null,
            [("'/a'", path("/a")), ("b, c", path("b, c")), ("c", path("c"))],
        ),
        row(
            ["watch", "watch", "CUPWRIGHT_WATCH"],
            |all| json!(all.watch),
            json!(false),
            [("true", json!(true)), ("false", json!(false)), ("true", json!(true))],
        ),
        row(
            ["held_books", "held-books", "CUPWRIGHT_HELD_BOOKS"],
            |all| json!(all.held_books),
            json!(3),
            [("1", json!(1)), ("2", json!(2)), ("20", json!(20))],
        ),
        row(
            ["state", "state", "CUPWRIGHT_STATE"],
            |all| json!(all.state),
            Value::Null,
            [("'../s'", path("conf/../s")), ("t", path("t")), ("u", path("u"))],
        ),
        row(
            ["keys", "keys", "CUPWRIGHT_KEYS"],
            |all| json!(all.keys),
            Value::Null,
            [("'k'", path("conf/k")), ("l", path("l")), ("m", path("m"))],
        ),
        row(
            ["public_base", "public-base", "CUPWRIGHT_PUBLIC_BASE"],
            |all| json!(all.public_base),
            Value::Null,
            [
                ("'https://Cups.Example/'", json!("https://cups.example")),
                ("http://b.example:81/c", json!("http://b.example:81/c")),
                ("HTTPS://D.EXAMPLE", json!("https://d.example")),
            ],
        ),
    ]
}

fn listening() -> Vec<Row> {
    vec![
        row(
            ["listen.address", "listen", "CUPWRIGHT_LISTEN"],
            |all| json!(all.listen.address),
            json!("127.0.0.1:8080"),
            [
                ("'127.0.0.1:1'", json!("127.0.0.1:1")),
                ("[::1]:2", json!("[::1]:2")),
                ("127.0.0.3:3", json!("127.0.0.3:3")),
            ],
        ),
        row(
            ["listen.open", "open", "CUPWRIGHT_OPEN"],
            |all| json!(all.listen.open),
            json!(false),
            [("true", json!(true)), ("false", json!(false)), ("true", json!(true))],
        ),
        row(
            ["listen.open_builds", "open-builds", "CUPWRIGHT_OPEN_BUILDS"],
            |all| json!(all.listen.open_builds),
            json!(false),
            [("true", json!(true)), ("false", json!(false)), ("true", json!(true))],
        ),
        row(
            ["listen.workers", "workers", "CUPWRIGHT_WORKERS"],
            |all| json!(all.listen.workers),
            json!(0),
            [("1_024", json!(1024)), ("3", json!(3)), ("4", json!(4))],
        ),
        row(
            ["listen.trusted_proxies", "trusted-proxy", "CUPWRIGHT_TRUSTED_PROXIES"],
            |all| {
                all.listen
                    .trusted_proxies
                    .iter()
                    .map(ToString::to_string)
                    .collect::<Vec<_>>()
                    .into()
            },
            json!([]),
            [
                ("['10.1.2.3/8', 'fd00::/8']", json!(["10.0.0.0/8", "fd00::/8"])),
                ("192.0.2.7 , ::1", json!(["192.0.2.7/32", "::1/128"])),
                ("192.0.2.0/24,198.51.100.0/24", json!(["192.0.2.0/24", "198.51.100.0/24"])),
            ],
        ),
        row(
            ["listen.allowed_origins", "allowed-origin", "CUPWRIGHT_ALLOWED_ORIGINS"],
            |all| json!(all.listen.allowed_origins),
            json!([]),
            [
                ("['https://a.example']", json!(["https://a.example"])),
                ("http://b.example:81,http://c", json!(["http://b.example:81", "http://c"])),
                ("https://d.example", json!(["https://d.example"])),
            ],
        ),
    ]
}

fn limits() -> Vec<Row> {
    let count = |texts: [&'static str; 3], values: [u64; 3]| {
        [0, 1, 2].map(|at| (texts[at], json!(values[at])))
    };
    vec![
        row(
            ["limits.at_once", "at-once", "CUPWRIGHT_AT_ONCE"],
            |all| json!(all.limits.at_once),
            json!(256),
            count(["0x10", "17", "18"], [16, 17, 18]),
        ),
        row(
            ["limits.connections", "connections", "CUPWRIGHT_CONNECTIONS"],
            |all| json!(all.limits.connections),
            json!(4096),
            count(["21", "22", "23"], [21, 22, 23]),
        ),
        row(
            ["limits.head_within_s", "head-within-s", "CUPWRIGHT_HEAD_WITHIN_S"],
            |all| json!(all.limits.head_within.as_millis()),
            json!(5_000),
            count(["0.1", "2", "300.000"], [100, 2_000, 300_000]),
        ),
        row(
            ["limits.body_within_s", "body-within-s", "CUPWRIGHT_BODY_WITHIN_S"],
            |all| json!(all.limits.body_within.as_millis()),
            json!(10_000),
            count(["1", "1.25", "1.001"], [1_000, 1_250, 1_001]),
        ),
        row(
            ["limits.requests_per_s", "requests-per-s", "CUPWRIGHT_REQUESTS_PER_S"],
            |all| json!(all.limits.requests_per_s),
            json!(200),
            count(["0", "31", "32"], [0, 31, 32]),
        ),
        row(
            ["limits.burst", "burst", "CUPWRIGHT_BURST"],
            |all| json!(all.limits.burst),
            json!(400),
            count(["41", "42", "43"], [41, 42, 43]),
        ),
        row(
            ["limits.cache_mb", "cache-mb", "CUPWRIGHT_CACHE_MB"],
            |all| json!(all.limits.cache_mb),
            json!(32),
            count(["0", "51", "52"], [0, 51, 52]),
        ),
        row(
            ["prints.queue", "prints-queue", "CUPWRIGHT_PRINTS_QUEUE"],
            |all| json!(all.prints.queue),
            json!(500),
            count(["61", "62", "63"], [61, 62, 63]),
        ),
        row(
            ["prints.within_s", "prints-within-s", "CUPWRIGHT_PRINTS_WITHIN_S"],
            |all| json!(all.prints.within.as_millis()),
            json!(60_000),
            count(["1.5", "2", "600"], [1_500, 2_000, 600_000]),
        ),
        row(
            ["stop.notice_s", "stop-notice-s", "CUPWRIGHT_STOP_NOTICE_S"],
            |all| json!(all.stop.notice.as_millis()),
            json!(2_000),
            count(["0.5", "0", "3"], [500, 0, 3_000]),
        ),
        row(
            ["stop.within_s", "stop-within-s", "CUPWRIGHT_STOP_WITHIN_S"],
            |all| json!(all.stop.within.as_millis()),
            json!(20_000),
            count(["600", "0.001", "7"], [600_000, 1, 7_000]),
        ),
    ]
}

fn telling() -> Vec<Row> {
    let form = |all: &Settings| match all.log.form {
        LogForm::Json => json!("json"),
        LogForm::Text => json!("text"),
    };
    let requests = |all: &Settings| match all.log.requests {
        Logged::All => json!("all"),
        Logged::Failed => json!("failed"),
        Logged::None => json!("none"),
    };
    vec![
        row(
            ["log.level", "log-level", "CUPWRIGHT_LOG_LEVEL"],
            |all| json!(all.log.level),
            json!("info"),
            [("'warn'", json!("warn")), ("debug", json!("debug")), ("trace", json!("trace"))],
        ),
        row(
            ["log.form", "log-form", "CUPWRIGHT_LOG_FORM"],
            form,
            json!("json"),
            [("'text'", json!("text")), ("json", json!("json")), ("text", json!("text"))],
        ),
        row(
            ["log.requests", "log-requests", "CUPWRIGHT_LOG_REQUESTS"],
            requests,
            json!("failed"),
            [("'all'", json!("all")), ("none", json!("none")), ("failed", json!("failed"))],
        ),
        row(
            ["traces.otlp", "otlp", "CUPWRIGHT_OTLP"],
            |all| json!(all.traces.otlp),
            Value::Null,
            [
                ("'http://127.0.0.1:1'", json!("http://127.0.0.1:1")),
                ("https://b.example/x", json!("https://b.example/x")),
                ("http://[::1]:4318", json!("http://[::1]:4318")),
            ],
        ),
    ]
}

fn rows() -> Vec<Row> {
    let rows: Vec<Row> = [top(), listening(), limits(), telling()].into_iter().flatten().collect();
    let names = |one: &Row| [one.path, one.flag, one.variable];
    let known: Vec<_> = SETTINGS.iter().map(|one| [one.path, one.flag, one.variable]).collect();
    assert_eq!(rows.iter().map(names).collect::<Vec<_>>(), known, "a row for every setting");
    rows
}

/// Settings of a file, variables and flags.
pub(crate) fn configured(
    file: &str,
    variables: &[(&str, &str)],
    flags: &[(&'static str, &str)],
) -> Configured {
    let file = File { path: Path::new("conf/our.toml").to_owned(), text: file.to_owned() };
    let variable = |name: &str| {
        variables.iter().find(|(known, _)| *known == name).map(|(_, text)| OsString::from(text))
    };
    let given = |text: &str| text.split(',').map(OsString::from).collect::<Vec<_>>();
    let flags: BTreeMap<_, _> = flags.iter().map(|(name, text)| (*name, given(text))).collect();
    Configured::of(&Layers { file: Some(&file), variable: &variable, flags: &flags })
}

/// The complaints of `configured`, one a line.
pub(crate) fn told(configured: &Configured) -> Vec<String> {
    let told = configured.faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n");
    told.lines().map(str::to_owned).collect()
}

/// The line of a file that sets one thing.
fn in_file(path: &str, text: &str) -> String {
    match path.split_once('.') {
        Some((section, key)) => format!("[{section}]\n{key} = {text}\n"),
        None => format!("{path} = {text}\n"),
    }
}

#[test]
fn each_setting_is_taken_from_flag_before_variable_before_file_before_default() {
    let all = rows();
    for row in &all {
        let [file, variable, flag] = &row.given;
        let text = in_file(row.path, file.0);
        let (variables, flags) = ([(row.variable, variable.0)], [(row.flag, flag.0)]);
        for (layers, wanted, whence) in [
            (configured("", &[], &[]), &row.default, "default"),
            (configured(&text, &[], &[]), &file.1, "conf/our.toml"),
            (configured(&text, &variables, &[]), &variable.1, row.variable),
            (configured(&text, &variables, &flags), &flag.1, &format!("--{}", row.flag)),
            (configured("", &variables, &[]), &variable.1, row.variable),
            (configured("", &[], &flags), &flag.1, &format!("--{}", row.flag)),
        ] {
            assert_eq!(told(&layers), [""; 0], "{}", row.path);
            assert_eq!((row.read)(&layers.settings), *wanted, "{} from {whence}", row.path);
            for (other, (setting, from)) in all.iter().zip(layers.rows()) {
                let named = layers.named(setting, from);
                if other.path == row.path {
                    assert_eq!(named, whence, "{}", row.path);
                } else {
                    let value = (other.read)(&layers.settings);
                    assert_eq!(value, other.default, "{} beside {}", other.path, row.path);
                    assert_eq!(named, "default", "{} beside {}", other.path, row.path);
                }
            }
        }
    }
}

/// What `config check --json` prints, beside how it ended.
pub(crate) fn checked(output: &Output) -> Value {
    serde_json::from_slice(&output.stdout)
        .unwrap_or_else(|fault| panic!("{fault}: {}{}", said(output), complained(output)))
}

#[test]
fn the_program_takes_every_setting_from_each_layer_and_names_the_layer() {
    let folder = tempfile::tempdir().unwrap();
    let rows = rows();
    let (sections, top): (Vec<&Row>, Vec<&Row>) =
        rows.iter().partition(|one| one.path.contains('.'));
    let top = top.iter().map(|one| in_file(one.path, one.given[0].0));
    // A dotted key stands for the section and can be written anywhere at the top.
    let dotted = sections.iter().map(|one| format!("{} = {}\n", one.path, one.given[0].0));
    let text = top.chain(dotted).collect::<Vec<_>>().concat();
    write(folder.path(), "conf/our.toml", &text);
    for layer in 0..=3_usize {
        let mut program = program();
        program.current_dir(folder.path()).args(["config", "check", "--json"]);
        if layer > 0 {
            program.args(["--config", "conf/our.toml"]);
        }
        for one in rows.iter().filter(|_| layer > 1) {
            program.env(one.variable, one.given[1].0);
        }
        for one in rows.iter().filter(|_| layer > 2) {
            for value in one.given[2].0.split(',') {
                program.arg(format!("--{}={value}", one.flag));
            }
        }
        let output = program.output().expect("the program runs");
        // The files that are named are not there, unless none is named.
        assert_eq!(output.status.code(), Some(if layer > 0 { 4 } else { 0 }));
        let checked = checked(&output);
        assert_eq!(checked["complaints"], json!([]));
        for one in &rows {
            let seconds = one.path.ends_with("_s") && !one.path.contains("_per_");
            let wanted = layer.checked_sub(1).map_or(&one.default, |at| &one.given[at].1);
            let shown = &checked["settings"][one.path];
            if seconds {
                let milliseconds = shown["value"].as_f64().unwrap() * 1_000.0;
                assert!((milliseconds - wanted.as_f64().unwrap()).abs() < 1e-6, "{shown}");
            } else {
                assert_eq!(shown["value"], *wanted, "{}", one.path);
            }
            let flag = format!("--{}", one.flag);
            let (from, name) = [
                ("default", Value::Null),
                ("file", json!("conf/our.toml")),
                ("environment", json!(one.variable)),
                ("flag", json!(flag)),
            ][layer]
                .clone();
            assert_eq!(shown["from"], from, "{}", one.path);
            assert_eq!(shown.get("name").cloned().unwrap_or_default(), name, "{}", one.path);
            assert_eq!(shown.get("line").is_some(), layer == 1, "{}", one.path);
        }
    }
}

#[test]
fn a_switch_is_undone_by_a_flag_and_an_empty_variable_is_as_if_it_were_not_there() {
    let folder = tempfile::tempdir().unwrap();
    let file = write(folder.path(), "our.toml", "watch = true\nheld_books = 7\n");
    let mut program = program();
    program.args(["config", "check", "--json", "--watch=false", "--open"]);
    program.env("CUPWRIGHT_CONFIG", &file).env("CUPWRIGHT_HELD_BOOKS", "");
    let output = program.output().expect("the program runs");
    assert_eq!(output.status.code(), Some(0), "{}", complained(&output));
    let settings = &checked(&output)["settings"];
    assert_eq!(settings["watch"]["value"], json!(false));
    assert_eq!(settings["listen.open"]["value"], json!(true));
    let held = json!({"value": 7, "from": "file", "name": file, "line": 2});
    assert_eq!(settings["held_books"], held);
}

#[test]
fn the_example_is_exactly_the_defaults_and_each_line_that_is_not_set_can_be() {
    let output = run(&["config", "example"], "");
    assert_eq!(output.status.code(), Some(0));
    let text = said(&output);
    assert_eq!(text, example());
    let read = configured(&text, &[], &[]);
    assert_eq!(told(&read), [""; 0]);
    assert_eq!(read.settings, Settings::default());
    let keys: Vec<&str> = SETTINGS.iter().map(Setting::key).collect();
    let set = |line: &str| keys.iter().any(|key| line.starts_with(&format!("# {key} = ")));
    let lines = text.lines().map(|line| if set(line) { &line[2..] } else { line });
    let read = configured(&lines.collect::<Vec<_>>().join("\n"), &[], &[]);
    assert_eq!(told(&read), [""; 0]);
    for (setting, from) in read.rows() {
        assert_eq!(read.named(setting, from), "conf/our.toml", "{} is in it", setting.path);
        let sample = in_file(setting.path, setting.sample);
        let sampled = configured(&sample, &[], &[]);
        let other = setting.value(&sampled.settings) != setting.value(&Settings::default());
        assert!(other && sampled.faults.is_empty(), "{sample} is a value of its own");
    }
}

/// Sources: RFC 1122, section 3.2.1.3 (127/8 is loopback, 0.0.0.0 is this host); RFC 4291, sections
/// 2.5.2, 2.5.3 and 2.5.5.2 (`::`, `::1`, IPv4 in IPv6).
#[test]
fn an_address_that_others_can_reach_needs_keys_or_a_word_that_it_is_open() {
    for (address, reachable) in [
        ("127.0.0.1:8080", false),
        ("127.9.9.9:8080", false),
        ("[::1]:8080", false),
        ("[::ffff:127.0.0.1]:8080", false),
        ("0.0.0.0:8080", true),
        ("192.0.2.1:8080", true),
        ("[::]:8080", true),
        ("[::ffff:0.0.0.0]:8080", true),
        ("[2001:db8::1]:8080", true),
    ] {
        assert_eq!(reachable_by_others(address.parse().unwrap()), reachable, "{address}");
        let alone = told(&configured("", &[("CUPWRIGHT_LISTEN", address)], &[]));
        assert_eq!(alone.len(), usize::from(reachable), "{address}: {alone:?}");
        let listen = ("CUPWRIGHT_LISTEN", address);
        for guard in ["keys = 'k.json'", "[listen]\nopen = true", "keys = 'k'\nlisten.open = true"]
        {
            assert_eq!(told(&configured(guard, &[listen], &[])), [""; 0], "{address} with {guard}");
        }
    }
    let file = configured("[listen]\naddress = '0.0.0.0:80'", &[], &[]);
    let told = told(&file);
    let wanted = "conf/our.toml:2:11: /listen/address: found `0.0.0.0:80`, which others can reach";
    assert!(told[0].starts_with(wanted), "{told:?}");
    let output = run(&["serve", "--listen", "0.0.0.0:0"], "");
    assert_eq!(output.status.code(), Some(3));
    let told = complained(&output);
    for part in ["--listen:/listen/address: ", "`0.0.0.0:0`", "--keys", "`open = true`", "--open"] {
        assert!(told.contains(part), "`{part}` in: {told}");
    }
}
