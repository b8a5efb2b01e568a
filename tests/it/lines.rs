//! Random lines for the demo's bars: any drink, any modifiers, fitting or not.

use std::{
    collections::BTreeMap,
    sync::{Arc, LazyLock},
};

use cupwright::{
    book::{Bar, Modifier, Phase},
    engine::{Line, Moment, build_line},
    in_force::InForce,
    wire::TicketLine,
};
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::support::{answer, demo};

/// The demo, loaded once.
pub(crate) static DEMO: LazyLock<Arc<InForce>> = LazyLock::new(|| Arc::new(demo()));

/// The answer of a demo site to a line.
pub(crate) fn answer_to(site: &str, line: &Value) -> Value {
    answer(&DEMO, site, line)
}

/// A line for a site.
#[derive(Clone, Debug)]
pub(crate) struct Posted {
    pub(crate) site: String,
    pub(crate) drink: String,
    pub(crate) modifiers: Vec<Value>,
    pub(crate) diets: Vec<&'static str>,
    pub(crate) confirmed: Vec<&'static str>,
    pub(crate) allergies: Vec<&'static str>,
    pub(crate) note: Option<&'static str>,
}

impl Posted {
    /// The line as a client would post it.
    pub(crate) fn line(&self) -> Value {
        let mut line = json!({
            "line": "7",
            "drink": self.drink,
            "modifiers": self.modifiers,
            "diets": self.diets,
            "confirmed": self.confirmed,
            "allergies": self.allergies,
        });
        if let Some(note) = self.note {
            line["note"] = note.into();
        }
        line
    }

    /// The line with other modifiers.
    pub(crate) fn with(&self, modifiers: Vec<Value>) -> Self {
        Self { modifiers, ..self.clone() }
    }
}

/// Every way to give each modifier of a bar's book once: each value, and a few degrees and counts.
pub(crate) fn ways(bar: &Bar) -> Vec<Value> {
    let of_cup = |id: &str| -> Vec<String> {
        match id {
            "service" => bar.book.services.iter().map(|row| row.id.as_str().to_owned()).collect(),
            _ => bar.book.sizes.iter().map(|row| row.id.to_string()).collect(),
        }
    };
    let way = |modifier: &Modifier| -> Vec<Value> {
        let id = modifier.id();
        match modifier {
            Modifier::Slot(slot) if slot.millilitres.is_some() => {
                [220, 300, 400, 700].map(|ml| json!({ "id": id, "value": ml })).to_vec()
            }
            Modifier::Slot(slot) if slot.phase == Phase::Cup => {
                of_cup(id).iter().map(|value| json!({ "id": id, "value": value })).collect()
            }
            Modifier::Slot(slot) => {
                let named = slot.values.iter().map(|one| json!({ "id": id, "value": one.id }));
                let celsius = slot.celsius.iter().flat_map(|_| [44, 55, 63, 66, 71]);
                named.chain(celsius.map(|c| json!({ "id": id, "value": c }))).collect()
            }
            Modifier::Counter(_) => [-1, 1, 2, 3].map(|n| json!({ "id": id, "count": n })).to_vec(),
            Modifier::Flag(_) => vec![json!({ "id": id })],
        }
    };
    bar.book.modifiers.iter().flat_map(way).collect()
}

/// For each site and drink, the ways that the drink takes by themselves.
static FITTING: LazyLock<BTreeMap<(String, String), Vec<Value>>> = LazyLock::new(|| {
    let mut all = BTreeMap::new();
    for (site, bar) in &DEMO.bars {
        let ways = ways(bar);
        for drink in &bar.book.drinks {
            let fits = |way: &&Value| {
                let line = json!({ "line": "1", "drink": drink.id, "modifiers": [way] });
                let line: TicketLine = serde_json::from_value(line).unwrap();
                build_line(bar, &Line::from(line), &Moment::default()).is_ok()
            };
            let fitting: Vec<Value> = ways.iter().filter(fits).cloned().collect();
            all.insert((site.to_string(), drink.id.to_string()), fitting);
        }
    }
    all
});

/// A site and a drink, and the ways that fit them.
fn places() -> impl Strategy<Value = (String, String, Vec<Value>)> {
    let places: Vec<_> = FITTING
        .iter()
        .map(|((site, drink), ways)| (site.clone(), drink.clone(), ways.clone()))
        .collect();
    prop::sample::select(places)
}

/// Any modifier, whether or not a drink takes it, and now and then one that no book has.
fn any_modifier(site: &str) -> BoxedStrategy<Value> {
    let ways = ways(&DEMO.bars[site]);
    let celsius = (300_i32..=900)
        .prop_map(|tenths| json!({ "id": "temperature", "value": f64::from(tenths) / 10.0 }));
    let counters: Vec<String> = DEMO
        .book()
        .modifiers
        .iter()
        .filter(|one| matches!(one, Modifier::Counter(_)))
        .map(|one| one.id().to_string())
        .collect();
    let counts = (prop::sample::select(counters), -3..=5_i32)
        .prop_map(|(id, count)| json!({ "id": id, "count": count }));
    let odd = prop::sample::select(vec![
        json!({ "id": "vanila", "count": 1 }),
        json!({ "id": "foam", "value": "mor" }),
        json!({ "id": "shots", "value": "double" }),
        json!({ "id": "spoon", "count": 2 }),
        json!({ "id": "size", "value": "vast" }),
    ]);
    let known = prop::sample::select(ways);
    prop_oneof![24 => known, 3 => counts, 2 => celsius, 1 => odd].boxed()
}

/// A line of up to six modifiers, most of which fit its drink, some of them given again.
pub(crate) fn posted() -> impl Strategy<Value = Posted> {
    let with_modifiers = |(site, drink, ways): (String, String, Vec<Value>)| {
        // A drink that the site cannot make at all takes nothing.
        let fitting =
            if ways.is_empty() { any_modifier(&site) } else { prop::sample::select(ways).boxed() };
        let fitting = prop::collection::vec(fitting, 0..5);
        let unfit = prop::collection::vec(any_modifier(&site), 0..6);
        let modifiers = prop_oneof![3 => fitting, 2 => unfit];
        (
            Just(site),
            Just(drink),
            modifiers,
            prop::collection::vec(any::<prop::sample::Index>(), 0..2),
        )
    };
    let diets =
        prop_oneof![9 => Just(vec![]), 1 => Just(vec!["vegan"]), 1 => Just(vec!["vegetarian"])];
    let confirmed = prop_oneof![
        4 => Just(vec![]),
        1 => Just(vec!["shots"]),
        1 => Just(vec!["over-12-months"]),
    ];
    let allergies = prop_oneof![
        12 => Just(vec![]),
        1 => Just(vec!["milk"]),
        1 => Just(vec!["tree-nuts", "soya"]),
        1 => Just(vec!["honey"]),
    ];
    let note = prop_oneof![
        12 => Just(None),
        1 => Just(Some("by the window")),
        1 => Just(Some("no dairy pls")),
        1 => Just(Some("xtra hot")),
    ];
    let said = (diets, confirmed, allergies, note);
    (places().prop_flat_map(with_modifiers), said).prop_map(
        |((site, drink, mut modifiers, again), (diets, confirmed, allergies, note))| {
            for index in again {
                if !modifiers.is_empty() {
                    modifiers.push(modifiers[index.index(modifiers.len())].clone());
                }
            }
            Posted { site, drink, modifiers, diets, confirmed, allergies, note }
        },
    )
}
