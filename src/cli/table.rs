//! The answer to a ticket as a table that a person reads.

use std::fmt::Write;

use anstyle::{AnsiColor, Style};
use serde_json::Value;

use super::{
    layout::{counted, hang},
    names::Names,
};
use crate::book::Bar;

const GOOD: Style = AnsiColor::Green.on_default().bold();
const ASK: Style = AnsiColor::Yellow.on_default().bold();
const BAD: Style = AnsiColor::Red.on_default().bold();
const QUIET: Style = Style::new().dimmed();

/// The whole answer, one paragraph a line of the ticket.
///
/// * `bar`: the site's bar, for the names of what the answer gives by id.
///
/// Colour is marked here and taken out where the output is no terminal.
pub(super) fn answer(answer: &Value, bar: Option<&Bar>) -> String {
    let mut out = String::new();
    let (book, site) = (&answer["book"], &answer["site"]);
    let _ = writeln!(
        out,
        "{QUIET}{} {} at {}, {}{QUIET:#}",
        text(&book["id"]),
        text(&book["version"]),
        text(&site["id"]),
        text(&answer["contract"])
    );
    let names = Names { bar, lang: text(&answer["lang"]) };
    for line in list(&answer["lines"]) {
        out.push('\n');
        match text(&line["verdict"]) {
            "accept" => accepted(&mut out, line, names),
            "ask" => asked(&mut out, line),
            _ => refused(&mut out, line),
        }
    }
    out.trim_end().to_owned()
}

fn text(value: &Value) -> &str {
    value.as_str().unwrap_or("–")
}

fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

fn accepted(out: &mut String, line: &Value, names: Names<'_>) {
    let (id, drink) = (text(&line["line"]), text(&line["canonical"]["drink"]));
    let price = &line["price"];
    let (amount, currency) = (text(&price["amount"]), text(&price["currency"]));
    let build = &line["build"];
    let name = build["name"].as_str().unwrap_or(drink);
    let count = &line["canonical"]["quantity"];
    let each = if *count == 1 { "" } else { " each" };
    let head = format!("{GOOD}{id}  accept{GOOD:#}  ");
    hang(out, &head, &format!("{count} × {name}, {amount} {currency}{each}"));
    if !build.is_null() {
        amounts(out, build, names);
        steps(out, build);
        allergens(out, &build["allergens"]);
        cautions(out, &build["cautions"]);
    }
    for notice in list(&line["notices"]) {
        hang(out, &format!("   {}: ", text(&notice["severity"])), text(&notice["text"]));
    }
}

fn amounts(out: &mut String, build: &Value, names: Names<'_>) {
    for change in list(&build["changes"]) {
        hang(out, "   ", text(change));
    }
    let vessel = &build["vessel"];
    let (cup, fill, brim) = (names.vessel(&vessel["id"]), &vessel["fill_ml"], &vessel["brim_ml"]);
    let serve = &build["serve"]["temperature_c"];
    row(out, "cup", &format!("{cup}, {fill} of {brim} mL, served at {serve} °C"));
    let coffee = &build["coffee"];
    if !coffee.is_null() {
        let (bean, pull) = (names.bean(&coffee["bean"]), names.pull(&coffee["pull"]));
        let halves = coffee["halves"].as_u64().and_then(|n| n.try_into().ok()).unwrap_or_default();
        let halves = counted(halves, "half", "halves");
        let (dose, yielded) = (&coffee["dose_g"], &coffee["yield_g"]);
        row(out, "coffee", &format!("{halves} {bean}, {pull}: {dose} g in, {yielded} g out"));
    }
    let milk = &build["milk"];
    if !milk.is_null() {
        let (cold, pour) = (&milk["cold_ml"], &milk["pour_ml"]);
        let kind = names.ingredient(&milk["ingredient"]);
        let mut said = format!("{kind}: pour {pour} mL (exactly {cold} mL)");
        if !milk["jug"].is_null() {
            let (c, mm) = (&milk["set_point_c"], &milk["foam_depth_mm"]);
            let jug = names.jug(&milk["jug"]);
            let _ = write!(said, " into {jug}, {c} °C, {mm} mm foam");
        }
        row(out, "milk", &said);
    }
    figures(out, build);
    let layers = list(&build["layers"]).iter();
    let layers: Vec<String> =
        layers.map(|layer| format!("{} {}", text(&layer["part"]), layer["ml"])).collect();
    row(out, "layers", &format!("{} mL", layers.join(" + ")));
}

/// Strength, caffeine and energy, as far as they are known.
fn figures(out: &mut String, build: &Value) {
    let strength = &build["strength"];
    if !strength.is_null() {
        let (solids, extracted) =
            (&strength["solids_g_per_100ml"], &strength["extraction_yield_percent"]);
        let said = format!("{solids} g dissolved coffee in 100 mL, extraction yield {extracted} %");
        row(out, "strong", &said);
    }
    let caffeine = &build["caffeine"];
    if caffeine["high_mg"].as_i64().is_some_and(|mg| mg > 0) {
        // An estimate has no more digits than this.
        let tens = |end: &str| (caffeine[end].as_i64().unwrap_or_default() + 5) / 10 * 10;
        let [low, typical, high] = ["low_mg", "typical_mg", "high_mg"].map(tens);
        let said = format!("caffeine about {typical} mg ({low} to {high} mg, an estimate)");
        row(out, "has", &said);
    }
    let cup = &build["nutrition"]["per_cup"];
    if !cup["energy_kj"].is_null() {
        let (kj, kcal, sugars) = (&cup["energy_kj"], &cup["energy_kcal"], &cup["sugars_g"]);
        row(out, "feeds", &format!("{kj} kJ, {kcal} kcal, sugars {sugars} g"));
    }
}

/// What is measured, behind a label that stands in a column of its own.
fn row(out: &mut String, label: &str, said: &str) {
    hang(out, &format!("   {label:<6}  "), said);
}

/// The steps, in columns of their own and apart from the amounts.
fn steps(out: &mut String, build: &Value) {
    let steps = list(&build["steps"]);
    let widest = |key: &str, shown: fn(&Value) -> usize| {
        steps.iter().map(|step| shown(&step[key])).max().unwrap_or_default()
    };
    let numbers = widest("n", |n| n.to_string().len());
    let stations = widest("station", |station| text(station).chars().count());
    out.push('\n');
    for step in steps {
        let (n, station) = (&step["n"], text(&step["station"]));
        hang(out, &format!("   {n:>numbers$}  {station:<stations$}  "), text(&step["text"]));
    }
    out.push('\n');
}

fn allergens(out: &mut String, allergens: &Value) {
    let wording = &allergens["wording"];
    let contains = wording["contains"].as_str();
    hang(out, "   ", contains.unwrap_or("Ingredients contain: none named"));
    for sentence in ["may_contain", "shared_equipment"] {
        if let Some(sentence) = wording[sentence].as_str() {
            hang(out, "   ", sentence);
        }
    }
}

fn cautions(out: &mut String, cautions: &Value) {
    for one in list(cautions) {
        hang(out, "   ! ", text(&one["text"]));
    }
}

fn asked(out: &mut String, line: &Value) {
    let (id, question) = (text(&line["line"]), text(&line["question"]));
    let code = text(&line["code"]);
    hang(out, &format!("{ASK}{id}  ask{ASK:#}  "), &format!("{question}  {QUIET}{code}{QUIET:#}"));
    ways(out, &line["choices"], &line["none_because"]);
}

fn refused(out: &mut String, line: &Value) {
    let id = text(&line["line"]);
    let safety = if line["safety"] == true { " (safety)" } else { "" };
    let head = format!("{BAD}{id}  refuse{safety}{BAD:#}  ");
    for refusal in list(&line["refusals"]) {
        let (why, code) = (text(&refusal["text"]), text(&refusal["code"]));
        hang(out, &head, &format!("{why}  {QUIET}{code}{QUIET:#}"));
    }
    ways(out, &line["alternatives"], &line["none_because"]);
}

fn ways(out: &mut String, ways: &Value, none_because: &Value) {
    for way in list(ways) {
        hang(out, "   → ", text(&way["text"]));
    }
    if let Some(why) = none_because.as_str() {
        hang(out, "   → ", &format!("no alternative: {why}"));
    }
}
