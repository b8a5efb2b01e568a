//! The answer to a ticket as a table that a person reads.

use std::fmt::Write;

use anstyle::{AnsiColor, Style};
use serde_json::Value;

const GOOD: Style = AnsiColor::Green.on_default().bold();
const ASK: Style = AnsiColor::Yellow.on_default().bold();
const BAD: Style = AnsiColor::Red.on_default().bold();
const QUIET: Style = Style::new().dimmed();

/// The whole answer, one paragraph a line of the ticket.
///
/// Colour is marked here and taken out where the output is no terminal.
pub(super) fn answer(answer: &Value) -> String {
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
    for line in list(&answer["lines"]) {
        out.push('\n');
        match text(&line["verdict"]) {
            "accept" => accepted(&mut out, line),
            "ask" => {
                let (id, question) = (text(&line["line"]), text(&line["question"]));
                let code = text(&line["code"]);
                let _ = writeln!(out, "{ASK}{id}  ask{ASK:#}  {question}  {QUIET}{code}{QUIET:#}");
                ways(&mut out, &line["choices"], &line["none_because"]);
            }
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

fn ids(value: &Value) -> String {
    let names: Vec<&str> = list(value).iter().map(text).collect();
    if names.is_empty() { "none named".to_owned() } else { names.join(", ") }
}

fn accepted(out: &mut String, line: &Value) {
    let (id, drink) = (text(&line["line"]), text(&line["canonical"]["drink"]));
    let price = &line["price"];
    let (amount, currency) = (text(&price["amount"]), text(&price["currency"]));
    let build = &line["build"];
    let name = build["name"].as_str().unwrap_or(drink);
    let count = &line["canonical"]["quantity"];
    let _ = writeln!(out, "{GOOD}{id}  accept{GOOD:#}  {count} × {name}  {amount} {currency}");
    if !build.is_null() {
        amounts(out, build);
        steps(out, build);
        allergens(out, &build["allergens"]);
    }
    for notice in list(&line["notices"]) {
        let _ = writeln!(out, "   {}: {}", text(&notice["severity"]), text(&notice["text"]));
    }
}

fn amounts(out: &mut String, build: &Value) {
    for change in list(&build["changes"]) {
        let _ = writeln!(out, "   {}", text(change));
    }
    let vessel = &build["vessel"];
    let (vessel_id, fill, brim) = (text(&vessel["id"]), &vessel["fill_ml"], &vessel["brim_ml"]);
    let serve = &build["serve"]["temperature_c"];
    let _ = writeln!(out, "   cup      {vessel_id}, {fill} of {brim} mL, served at {serve} °C");
    let coffee = &build["coffee"];
    if !coffee.is_null() {
        let (halves, bean, pull) =
            (&coffee["halves"], text(&coffee["bean"]), text(&coffee["pull"]));
        let (dose, yielded) = (&coffee["dose_g"], &coffee["yield_g"]);
        let _ = writeln!(
            out,
            "   coffee   {halves} half(s) {bean}, {pull}: {dose} g in, {yielded} g out"
        );
    }
    let milk = &build["milk"];
    if !milk.is_null() {
        let (kind, cold, pour) = (text(&milk["ingredient"]), &milk["cold_ml"], &milk["pour_ml"]);
        let _ = write!(out, "   milk     {kind}: pour {pour} mL (exactly {cold})");
        if let Some(jug) = milk["jug"].as_str() {
            let (c, mm) = (&milk["set_point_c"], &milk["foam_depth_mm"]);
            let _ = write!(out, " into {jug}, {c} °C, {mm} mm foam");
        }
        out.push('\n');
    }
    let layers = list(&build["layers"]).iter();
    let layers: Vec<String> =
        layers.map(|layer| format!("{} {}", text(&layer["part"]), layer["ml"])).collect();
    let _ = writeln!(out, "   layers   {} mL", layers.join(" + "));
}

fn steps(out: &mut String, build: &Value) {
    for step in list(&build["steps"]) {
        let (n, station, what) = (&step["n"], text(&step["station"]), text(&step["text"]));
        let _ = writeln!(out, "   {n:>2} {station:<6} {what}");
    }
}

fn allergens(out: &mut String, allergens: &Value) {
    let _ = writeln!(out, "   Ingredients contain: {}", ids(&allergens["ingredients"]));
    if !list(&allergens["may_contain"]).is_empty() {
        let _ = writeln!(out, "   Packs say may contain: {}", ids(&allergens["may_contain"]));
    }
    let shared = list(&allergens["shared_equipment"]);
    if !shared.is_empty() {
        let names: Vec<&str> = shared.iter().map(|one| text(&one["allergen"])).collect();
        let _ = writeln!(out, "   Made on shared equipment with: {}", names.join(", "));
    }
}

fn refused(out: &mut String, line: &Value) {
    let id = text(&line["line"]);
    let safety = if line["safety"] == true { " (safety)" } else { "" };
    for refusal in list(&line["refusals"]) {
        let (why, code) = (text(&refusal["text"]), text(&refusal["code"]));
        let _ = writeln!(out, "{BAD}{id}  refuse{safety}{BAD:#}  {why}  {QUIET}{code}{QUIET:#}");
    }
    ways(out, &line["alternatives"], &line["none_because"]);
}

fn ways(out: &mut String, ways: &Value, none_because: &Value) {
    for way in list(ways) {
        let _ = writeln!(out, "   → {}", text(&way["text"]));
    }
    if let Some(why) = none_because.as_str() {
        let _ = writeln!(out, "   → no alternative: {why}");
    }
}
