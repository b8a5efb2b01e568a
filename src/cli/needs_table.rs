//! What a sales mix takes, laid out for a screen.

use serde_json::Value;

use super::layout::{counted, hang};

fn text<'a>(value: &'a Value, field: &str) -> &'a str {
    value[field].as_str().unwrap_or_default()
}

fn each<'a>(value: &'a Value, field: &str) -> impl Iterator<Item = &'a Value> {
    value[field].as_array().into_iter().flatten()
}

/// A number with at most one place.
fn number(value: &Value) -> String {
    let shown = format!("{:.1}", value.as_f64().unwrap_or_default());
    shown.strip_suffix(".0").map_or(shown.clone(), str::to_owned)
}

/// An amount by mass, and by volume where it is poured.
fn amount(of: &Value, mass: &str, volume: &str) -> String {
    let grams = format!("{} g", number(&of[mass]));
    if of[volume].is_number() { format!("{grams}, {} mL", number(&of[volume])) } else { grams }
}

/// The whole answer as tables.
pub(super) fn table(answer: &Value) -> String {
    let mut out = String::new();
    let n = |field: &str| answer[field].as_u64().and_then(|n| usize::try_from(n).ok()).unwrap_or(0);
    let period = answer["period"].as_str().map(|name| format!(", {name}")).unwrap_or_default();
    let (cups, days) = (counted(n("cups"), "cup", "cups"), counted(n("days"), "day", "days"));
    hang(&mut out, "", &format!("{}{period}: {cups} in {days}", text(&answer["site"], "id")));
    for note in answer["notes"].as_array().into_iter().flatten() {
        hang(&mut out, "  ", note.as_str().unwrap_or_default());
    }
    for line in each(answer, "lines").filter(|line| line["counted"] == false) {
        let head = format!("  not counted: {} ", text(line, "line"));
        let (drink, why) = (text(line, "drink"), text(line, "text"));
        hang(&mut out, &head, &format!("{drink}: {why} ({})", text(line, "code")));
    }
    coffee(&mut out, answer);
    milk(&mut out, answer);
    ingredients(&mut out, answer);
    vessels(&mut out, answer);
    out
}

fn coffee(out: &mut String, answer: &Value) {
    let mut heading = "\nCoffee\n";
    for class in each(answer, "coffee") {
        out.push_str(std::mem::take(&mut heading));
        let head = format!("  {}, {}: ", text(class, "name"), text(class, "pull"));
        let pulls = |of: &Value| {
            let spare = number(&of["spare_halves"]);
            let (doubles, singles) = (number(&of["doubles"]), number(&of["singles"]));
            format!("{doubles} doubles, {singles} singles, {spare} halves thrown away")
        };
        let halves = number(&class["halves"]);
        let (paired, alone) = (pulls(&class["paired"]), pulls(&class["alone"]));
        let said = format!("{halves} halves; paired {paired}; each cup by itself {alone}");
        hang(out, &head, &said);
    }
    for bean in each(answer, "beans") {
        let grams = |field: &str| format!("{} g", number(&bean[field]));
        let head = format!("  {}: ", text(bean, "name"));
        let said = format!(
            "{} with halves paired ({} in baskets, {} purged, {} to dial in); {} each cup by itself",
            grams("used_paired_g"),
            grams("dry_paired_g"),
            grams("purge_paired_g"),
            grams("dial_in_g"),
            grams("used_alone_g"),
        );
        hang(out, &head, &said);
    }
}

fn milk(out: &mut String, answer: &Value) {
    let mut heading = "\nMilk, cold\n";
    for milk in each(answer, "milk") {
        out.push_str(std::mem::take(&mut heading));
        let head = format!("  {}: ", text(milk, "name"));
        let (poured, left) = (amount(milk, "poured_g", "poured_ml"), &milk["left_over_ml"]);
        let said = format!(
            "{poured} for {} cups; of it {} g stay as film and {} mL are left over",
            number(&milk["cups"]),
            number(&milk["film_g"]),
            number(left),
        );
        hang(out, &head, &said);
    }
}

fn ingredients(out: &mut String, answer: &Value) {
    let mut heading = "\nIngredients\n";
    for one in each(answer, "ingredients") {
        out.push_str(std::mem::take(&mut heading));
        let head = format!("  {:<32} ", text(one, "name"));
        let mut said = vec![format!("used {}", amount(one, "used_g", "used_ml"))];
        if one["waste_share"].is_number() {
            said.push(format!("before waste {}", amount(one, "bought_g", "bought_ml")));
        }
        if one["par"].is_object() {
            let par = &one["par"];
            let capped = par["capped_by_shelf_life"] == true;
            let why = if capped { " (held down by its shelf life)" } else { "" };
            said.push(format!("par {}{why}", amount(par, "level_g", "level_ml")));
        }
        hang(out, &head, &said.join("; "));
    }
    let (water, ice) = (number(&answer["water_ml"]), number(&answer["ice_g"]));
    hang(out, "  ", &format!("Water {water} mL, ice {ice} g"));
}

fn vessels(out: &mut String, answer: &Value) {
    let mut heading = "\nCups\n";
    for one in each(answer, "vessels") {
        out.push_str(std::mem::take(&mut heading));
        let head = format!("  {}, {}: ", text(one, "name"), text(one, "service"));
        let lids = number(&one["lids"]);
        hang(out, &head, &format!("{} cups, {lids} lids", number(&one["cups"])));
    }
}
