//! Benches of the engine, each of which asserts its answer. Only ratios within one run mean
//! anything; DEVELOPERS.md says which, and `cargo bench` prints and asserts them after the timings.

#![allow(
    clippy::expect_used,
    clippy::print_stdout,
    missing_docs,
    reason = "a bench that cannot go on should say so at once, and its ratios are for people"
)]

use std::{
    hint::black_box,
    sync::Arc,
    time::{Duration, Instant},
};

use criterion::{Criterion, criterion_group, criterion_main};
use cupwright::{
    book::{Bar, BookDocument},
    demo,
    engine::{Build, Given, Line, Moment, Verdict, What, build_line, expand},
    in_force::InForce,
    wire::build_view,
};
use serde_json::Value;

fn line(drink: &str, modifiers: Vec<Given>) -> Line {
    Line { id: "1".to_owned(), drink: drink.to_owned(), quantity: 1, modifiers, ..Line::default() }
}

fn value(id: &str, value: &str) -> Given {
    Given { id: id.to_owned(), what: What::Value(value.to_owned()) }
}

fn count(id: &str, n: i32) -> Given {
    Given { id: id.to_owned(), what: What::Count(n) }
}

fn changed_latte() -> Line {
    line("latte", vec![value("milk", "oat-drink"), count("shots", 1), count("vanilla", 1)])
}

fn ticket() -> Vec<Line> {
    let oat = || value("milk", "oat-drink");
    vec![
        changed_latte(),
        line("flat-white", vec![]),
        line("cappuccino", vec![oat()]),
        line("espresso", vec![]),
        line("mocha", vec![value("size", "large")]),
        line("brewed-chai", vec![]),
        line("long-black", vec![]),
        line("babyccino", vec![]),
        line("iced-latte", vec![]),
        line("latte", vec![value("temperature", "extra-hot"), value("beans", "decaf")]),
    ]
}

fn held() -> InForce {
    InForce::load(&demo::book(), &demo::sites()).expect("the demo loads")
}

/// How many times the demo's drinks the large book holds.
const LARGE: usize = 50;

/// A training bar whose book holds the demo's drinks so many times, all but the first under other
/// ids.
fn bar_of(times: usize) -> Bar {
    let mut book: Value = serde_json::from_str(&demo::book().text).expect("the demo is JSON");
    let list = book["drinks"].as_array_mut().expect("a list of drinks");
    let own = list.clone();
    for n in own.len()..own.len() * times {
        let mut copy = own[n % own.len()].clone();
        copy["id"] = format!("copy-{n}").into();
        list.push(copy);
    }
    let drinks = list.len();
    let document = BookDocument::read("bench", &book.to_string()).expect("a right book");
    let bar = Bar::compile(&document, &document.training_bar(), None, None).expect("a bar");
    assert_eq!(bar.book.drinks.len(), drinks);
    bar
}

fn made<'b>(bar: &'b Bar, line: &Line) -> Build<'b> {
    build_line(bar, line, &Moment::default()).expect("it can be made")
}

fn one_line(c: &mut Criterion) {
    let held = held();
    let bar = Arc::clone(held.training_bar().expect("a training bar"));
    let line = changed_latte();
    c.bench_function("expand/one line", |b| {
        b.iter(|| {
            let build = made(black_box(&bar), black_box(&line));
            assert_eq!(build.solved.coffee.map(|coffee| coffee.halves), Some(2));
            build
        });
    });
    let build = made(&bar, &line);
    let catalogue = held.catalogue(&bar, Some("en")).expect("English");
    let view = build_view(&bar, &build, catalogue);
    c.bench_function("serialise/its build", |b| {
        b.iter(|| {
            let bytes = serde_json::to_vec(black_box(&view)).expect("a build is JSON");
            assert!(bytes.len() > 1_000);
            bytes
        });
    });
}

fn ten_lines(c: &mut Criterion) {
    let held = held();
    let bar = Arc::clone(held.training_bar().expect("a training bar"));
    let lines = ticket();
    c.bench_function("expand/ten lines", |b| {
        b.iter(|| {
            let verdicts = expand(black_box(&bar), black_box(&lines), &Moment::default());
            assert!(verdicts.iter().all(|one| matches!(one, Verdict::Accept { .. })));
            verdicts.len()
        });
    });
}

fn large_book(c: &mut Criterion) {
    for times in [1, LARGE] {
        let bar = bar_of(times);
        let drinks = bar.book.drinks.len();
        let line = changed_latte();
        c.bench_function(&format!("expand/one line/{drinks} drinks"), |b| {
            b.iter(|| {
                let build = made(black_box(&bar), black_box(&line));
                assert_eq!(build.solved.coffee.map(|coffee| coffee.halves), Some(2));
                build
            });
        });
    }
}

/// Whether time is taken; `cargo bench -- --test` and test runners only try each call once.
fn timed() -> bool {
    let asked = |flag: &str| std::env::args().any(|one| one == flag);
    asked("--bench") && !asked("--test")
}

/// A named call to be timed.
type Run<'a> = (&'a str, Box<dyn FnMut() + 'a>);

/// The shortest of several runs of `n` calls; short runs taken in turn see the same neighbours.
fn shortest(runs: &mut [Run<'_>]) -> Vec<Duration> {
    const TURNS: usize = 40;
    const CALLS: usize = 500;
    let (turns, calls) = if timed() { (TURNS, CALLS) } else { (1, 1) };
    let mut best = vec![Duration::MAX; runs.len()];
    for _ in 0..turns {
        for (at, (_, call)) in runs.iter_mut().enumerate() {
            let start = Instant::now();
            (0..calls).for_each(|_| call());
            best[at] = best[at].min(start.elapsed());
        }
    }
    best
}

/// Most that expanding a line takes, as a share of serialising its build.
const EXPANDING: f64 = 1.0;
/// Most that the size of a book adds to a line, as a ratio of two books.
const GROWING: f64 = 1.2;

/// Prints the two ratios that are promised, and holds them to their bounds.
fn ratios(_: &mut Criterion) {
    let held = held();
    let bar = Arc::clone(held.training_bar().expect("a training bar"));
    let line = changed_latte();
    let build = made(&bar, &line);
    let catalogue = held.catalogue(&bar, Some("en")).expect("English");
    let view = build_view(&bar, &build, catalogue);
    let (small, large) = (bar_of(1), bar_of(LARGE));
    let times = shortest(&mut [
        ("expand", Box::new(|| drop(black_box(made(&bar, &line))))),
        ("serialise", Box::new(|| drop(black_box(serde_json::to_vec(&view))))),
        ("demo", Box::new(|| drop(black_box(made(&small, &line))))),
        ("large", Box::new(|| drop(black_box(made(&large, &line))))),
    ]);
    if !timed() {
        return;
    }
    let ratio = |a: usize, b: usize| times[a].as_secs_f64() / times[b].as_secs_f64();
    let (expanding, growing) = (ratio(0, 1), ratio(3, 2));
    println!("\nratio: expand one line / serialise its build   {expanding:.2} (promised < 1)");
    println!("ratio: a book {LARGE} times as large / the demo's   {growing:.2} (promised <= 1.2)");
    assert!(
        expanding < EXPANDING,
        "expanding a line takes {expanding:.3} of serialising its build ({:?} of {:?}); promised: \
         less than {EXPANDING}",
        times[0],
        times[1]
    );
    assert!(
        growing <= GROWING,
        "a line takes {growing:.3} times as long in a book {LARGE} times as large ({:?} \
         and {:?}); promised: at most {GROWING}",
        times[3],
        times[2]
    );
}

criterion_group!(engine, one_line, ten_lines, large_book, ratios);
criterion_main!(engine);
