//! No output in any language says that something is absent, or that it can do no harm.
//!
//! A trade name of a pack may say what is not in it, such as lactose-free milk and sugar-free syrup in
//! the demo: that is what the pack is called, lactose and sugar are no allergens of the book, and the
//! milk is among the allergens of every cup that it goes into. Words that guests write in notes are
//! read by the program and not said by it, so `note_words` are left out.

use std::fs;

use cupwright::{
    answering::{Asked, Sent, matrix, matrix_csv, matrix_html, matrix_text},
    http::document,
};
use serde_json::{Value, json};

use crate::{
    lines::DEMO,
    support::{answer_to, root, text},
};

/// Trade names that are exempt, in the languages of the demo, in lower case.
const TRADE_NAMES: [&str; 7] = [
    "lactose-free milk",
    "lactose-free cow's milk",
    "laktosefreie kuhmilch",
    "laktosefreie milch",
    "sugar-free",
    "vanille zuckerfrei",
    // Ids of the same packs, which stand for them in documents and answers.
    "lactose-free-milk",
];

/// The first claim in a text, with what stands around it.
fn claim(said: &str) -> Option<String> {
    let mut said = said.to_lowercase();
    for name in TRADE_NAMES {
        said = said.replace(name, "…");
    }
    let words: Vec<&str> = said
        .split(|c: char| !c.is_alphanumeric() && c != '-')
        .filter(|word| !word.is_empty())
        .collect();
    let never = [
        "safe",
        "safely",
        "harmless",
        "risk-free",
        "sicher",
        "sichere",
        "sicheren",
        "sicheres",
        "unbedenklich",
        "unbedenkliche",
        "ungefährlich",
        "gefahrlos",
        "bedenkenlos",
        "risikofrei",
        "traces-free",
        "spurenfrei",
    ];
    let pairs = [["free", "from"], ["free", "of"], ["frei", "von"]];
    for (at, word) in words.iter().enumerate() {
        let is_pair = pairs.iter().any(|pair| words[at..].starts_with(pair));
        let bare = word.trim_end_matches(['e', 'r', 's', 'n', 'm']);
        let compound = word.ends_with("-free") || (bare.ends_with("frei") && bare != "frei");
        if never.contains(word) || is_pair || compound {
            let from = at.saturating_sub(6);
            return Some(words[from..(at + 4).min(words.len())].join(" "));
        }
    }
    None
}

fn held(place: &str, said: &str) {
    if let Some(found) = claim(said) {
        panic!("{place} says: {found}");
    }
}

#[test]
fn a_claim_is_seen_and_a_trade_name_is_none() {
    for said in [
        "This drink is free from milk.",
        "Dairy-free!",
        "allergen-free",
        "It is safe for you",
        "Frei von Nüssen",
        "allergenfrei",
        "eine glutenfreie Tasse",
        "nussfreies Getränk",
        "laktosefrei",
        "lactose-free",
        "Das ist unbedenklich.",
        "Das ist sicher.",
    ] {
        assert!(claim(said).is_some(), "{said}");
    }
    for said in [
        "Ingredients contain: Milk",
        "LACTOSE-FREE MILK",
        "2 SUGAR-FREE VANILLA",
        "Laktosefreie Kuhmilch",
        "a matter of safety",
        "NICHT GEMACHT, AUS SICHERHEIT",
        "Free text of a guest",
    ] {
        assert_eq!(claim(said), None, "{said}");
    }
}

#[test]
fn no_sentence_no_document_and_no_page_of_the_contract_makes_a_claim() {
    for lang in ["en", "de"] {
        held(lang, &text(&format!("src/words/{lang}.json")));
    }
    let mut book: Value = serde_json::from_str(&cupwright::demo::book().text).unwrap();
    book.as_object_mut().unwrap().remove("note_words");
    held("the demo book", &book.to_string());
    for source in cupwright::demo::sites() {
        held(&source.name, &source.text);
    }
    held("the contract", &document().to_json().unwrap());
    for page in ["src/cli/starter/book.json", "openapi/problems.tsv", "openapi/codes.tsv"] {
        held(page, &text(page));
    }
}

/// What a guest wrote is shown as a quotation.
fn without_quotations(said: &str) -> String {
    let mut out = String::new();
    let mut rest = said;
    while let Some(from) = rest.find(['“', '„']) {
        out.push_str(&rest[..from]);
        let quoted = &rest[from..];
        let end = quoted.char_indices().skip(1).find(|(_, c)| matches!(c, '”' | '“'));
        rest = end.map_or("", |(at, c)| &quoted[at + c.len_utf8()..]);
    }
    out + rest
}

#[test]
fn no_answer_of_any_case_makes_a_claim() {
    let mut looked_at = 0;
    for folder in fs::read_dir(root("tests/contract")).unwrap() {
        for case in fs::read_dir(folder.unwrap().path()).unwrap() {
            let path = case.unwrap().path();
            let mut case: Value =
                serde_json::from_str(&fs::read_to_string(&path).unwrap()).unwrap();
            let mut body = case["response"]["body"].take();
            let lines = body.get_mut("lines").and_then(Value::as_array_mut);
            for line in lines.into_iter().flatten() {
                // The note is the guest's own.
                if let Some(canonical) = line["canonical"].as_object_mut() {
                    canonical.remove("note");
                }
            }
            // The document as the roaster wrote it has the guests' words in it.
            if body.get("note_words").is_some() {
                continue;
            }
            held(&path.display().to_string(), &without_quotations(&body.to_string()));
            looked_at += 1;
        }
    }
    assert!(looked_at > 80, "only {looked_at} answers were looked at");
}

#[test]
fn no_cup_of_any_site_makes_a_claim_whatever_allergy_is_declared() {
    for (site, bar) in &DEMO.bars {
        for lang in &bar.site.languages {
            let drinks = bar.book.drinks.iter().map(|drink| drink.id.to_string());
            let lines: Vec<Value> = drinks
                .enumerate()
                .map(|(n, drink)| {
                    let allergies = [json!([]), json!(["milk"]), json!(["fish", "tree-nuts"])];
                    let allergies = &allergies[n % 3];
                    json!({"line": format!("{n}"), "drink": drink, "allergies": allergies})
                })
                .collect();
            let ticket = json!({"site": **site, "lang": **lang, "lines": lines});
            let told = answer_to(&DEMO, &ticket, Asked::Builds, &Sent::default());
            held(&format!("{site} in {}", &**lang), &without_quotations(&told.to_string()));
            let made = matrix(&DEMO, bar, Some(lang), Some("2026-11-25"), Sent::default().now);
            let made = made.unwrap();
            let json = serde_json::to_string(&made.view).unwrap();
            for form in [matrix_html(&made), matrix_csv(&made), matrix_text(&made), json] {
                held(&format!("the matrix of {site} in {}", &**lang), &form);
            }
            let list = cupwright::answering::cautions(&DEMO, bar, Some(lang)).unwrap();
            held(&format!("the cautions of {site}"), &serde_json::to_string(&list).unwrap());
        }
    }
}
