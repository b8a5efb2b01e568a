//! `needs` and `fit` on the command line, held to what the library answers.

use serde_json::{Value, json};

use crate::cli::{complained, run, said, write};

#[test]
fn a_mix_in_csv_takes_what_the_same_mix_in_json_takes() {
    let folder = tempfile::tempdir().unwrap();
    let csv = "drink,modifiers,count,mean,standard_deviation\r\n\
               latte,milk=oat-drink; shots=+1,40,8,3.5\r\nespresso,,61,12,4\r\n";
    let csv = write(folder.path(), "mix.csv", csv);
    let mix = json!({ "site": "bookshop", "lang": "en", "days": 6,
        "forecast": { "lead_time_days": 3, "service_factor": 1.64 },
        "lines": [
            { "line": "2", "drink": "latte", "count": 40,
              "modifiers": [{ "id": "milk", "value": "oat-drink" }, { "id": "shots", "count": 1 }],
              "per_day": { "mean": 8, "standard_deviation": 3.5 } },
            { "line": "3", "drink": "espresso", "count": 61,
              "per_day": { "mean": 12, "standard_deviation": 4 } },
        ] });
    let flags = ["--site", "bookshop", "--lang", "en", "--days", "6"];
    let more = ["--lead-time-days", "3", "--service-factor", "1.64", "--json"];
    let by_csv = run(&[&["needs", &csv][..], &flags, &more].concat(), "");
    let by_json = run(&["needs", "--json"], &mix.to_string());
    assert_eq!((by_csv.status.code(), by_json.status.code()), (Some(0), Some(0)));
    let answer: Value = serde_json::from_str(&said(&by_json)).unwrap();
    assert_eq!(serde_json::from_str::<Value>(&said(&by_csv)).unwrap(), answer);
    assert_eq!(answer["cups"], 101);
    let table = said(&run(&["needs", "-"], &mix.to_string()));
    for part in
        ["101 cups in 6 days", "Oat drink", "par ", "before waste", "Espresso cup, here: 61"]
    {
        assert!(table.contains(part), "no `{part}` in\n{table}");
    }
    assert!(table.lines().all(|line| line.chars().count() <= 100), "{table}");
}

#[test]
fn each_cell_of_a_mix_that_is_wrong_is_named_and_left_out_lines_end_with_1() {
    let folder = tempfile::tempdir().unwrap();
    let csv =
        write(folder.path(), "mix.csv", "drink;modifiers;count\nlatte;milk=;1\n;;0\nlatte;;2\n");
    let output = run(&["needs", "--site", "bookshop", &csv], "");
    assert_eq!(output.status.code(), Some(3));
    let told = complained(&output);
    for part in ["2:2: ", "3:1: ", "3:3: ", "3 complaints"] {
        assert!(told.contains(part), "no `{part}` in\n{told}");
    }
    let output = run(&["needs", &csv], "");
    assert_eq!(output.status.code(), Some(3));
    assert!(complained(&output).contains("--site"));
    let refused =
        json!({ "site": "bookshop", "lines": [{ "line": "1", "drink": "tea", "count": 1 }] });
    let output = run(&["needs"], &refused.to_string());
    assert_eq!(output.status.code(), Some(1));
    assert!(said(&output).contains("unknown-drink"));
    let output = run(&["needs"], "{\"site\": \"bookshop\"");
    assert_eq!(output.status.code(), Some(3));
}

#[test]
fn fit_prints_a_table_or_the_answer_of_the_service() {
    let table = run(&["fit", "--site", "ferry-kiosk", "--lang", "en"], "");
    assert_eq!(table.status.code(), Some(0));
    let table = said(&table);
    for part in ["One purchase that would enable most", "Paper cup, large", "no-such-cup-here"] {
        assert!(table.contains(part), "no `{part}` in\n{table}");
    }
    assert!(table.lines().all(|line| line.chars().count() <= 100), "{table}");
    let json = run(&["fit", "--site", "ferry-kiosk", "--json"], "");
    let answer: Value = serde_json::from_str(&said(&json)).unwrap();
    assert_eq!((&answer["site"]["id"], &answer["lang"]), (&json!("ferry-kiosk"), &json!("en")));
    let unknown = run(&["fit", "--site", "moon"], "");
    assert_eq!(unknown.status.code(), Some(3));
    assert!(complained(&unknown).contains("bookshop"));
}
