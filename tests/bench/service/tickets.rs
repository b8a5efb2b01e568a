//! The tickets: many that differ in their builds, and every one of which can be made.

/// Shapes of a line: what differs but for the temperature.
pub(crate) const SHAPES: usize = 96;
/// Of those, the first so many come round in the loads that repeat.
pub(crate) const REPEATED: usize = 64;
/// Temperatures, a thousandth of a degree apart, in which tickets differ.
pub(crate) const TEMPERATURES: usize = 24_000;
/// The lowest of them, in thousandths of a degree Celsius.
pub(crate) const LOW: usize = 40_000;
/// Tickets that can be told apart; each of their lines is in no other of them.
pub(crate) const DISTINCT: usize = SHAPES * TEMPERATURES;
/// Lines of a long ticket.
pub(crate) const LONG: usize = 100;

const MILKS: [&str; 3] = ["oat-drink", "whole-milk", "skimmed-milk"];
const SERVICES: [&str; 2] = ["here", "takeaway"];
const SUGARS: [&str; 2] = ["sugar", "brown-sugar"];

/// A line of `drink`; an `@` stands where its temperature is to be.
fn line(id: usize, drink: &str, shape: usize) -> String {
    let milk = MILKS[shape % 3];
    let service = SERVICES[shape / 3 % 2];
    let sticks = 1 + shape / 6 % 4;
    let vanilla = shape / 24 % 2 == 1;
    let sugar = SUGARS[shape / 48 % 2];
    let mut modifiers = vec![
        format!(r#"{{"id":"milk","value":"{milk}"}}"#),
        format!(r#"{{"id":"service","value":"{service}"}}"#),
        r#"{"id":"temperature","value":@}"#.to_owned(),
        format!(r#"{{"id":"{sugar}","count":{sticks}}}"#),
    ];
    if vanilla {
        modifiers.push(r#"{"id":"vanilla","count":1}"#.to_owned());
    }
    if drink == "latte" {
        modifiers.push(r#"{"id":"shots","count":1}"#.to_owned());
    }
    let modifiers = modifiers.join(",");
    format!(r#"{{"line":"{id}","drink":"{drink}","modifiers":[{modifiers}]}}"#)
}

fn ticket(lines: &[String]) -> String {
    format!(r#"{{"site":"bookshop","lang":"en","lines":[{}]}}"#, lines.join(","))
}

/// A latte with a shot more, and a flat white.
fn two(shape: usize) -> String {
    ticket(&[line(1, "latte", shape), line(2, "flat-white", shape)])
}

/// The `n`-th of a list of bodies that come round; each time round another temperature stands in
/// it. `load.lua` does the same.
pub(crate) fn nth(bodies: &[String], n: usize) -> String {
    let thousandths = LOW + n / bodies.len() % TEMPERATURES;
    bodies[n % bodies.len()].replace('@', &degrees(thousandths))
}

fn degrees(thousandths: usize) -> String {
    format!("{}.{:03}", thousandths / 1_000, thousandths % 1_000)
}

/// A temperature of its own for each shape.
fn steady(body: &str, shape: usize) -> String {
    body.replace('@', &degrees(50_125 + 125 * shape))
}

/// Two lines, in every shape, without their temperatures.
pub(crate) fn open() -> Vec<String> {
    (0..SHAPES).map(two).collect()
}

/// Two lines, for a load that repeats.
pub(crate) fn repeated() -> Vec<String> {
    (0..REPEATED).map(|shape| steady(&two(shape), shape)).collect()
}

/// One line, for a load that repeats: the latte.
pub(crate) fn single() -> Vec<String> {
    (0..REPEATED).map(|shape| steady(&ticket(&[line(1, "latte", shape)]), shape)).collect()
}

/// A hundred lines, lattes and flat whites in turn, for a load that repeats.
pub(crate) fn long() -> Vec<String> {
    let one = |first: usize, at: usize| {
        let shape = (first + at / 2) % REPEATED;
        let drink = if at.is_multiple_of(2) { "latte" } else { "flat-white" };
        steady(&line(at + 1, drink, shape), shape)
    };
    let lines = |first| (0..LONG).map(|at| one(first, at)).collect::<Vec<_>>();
    (0..REPEATED).step_by(8).map(|first| ticket(&lines(first))).collect()
}
