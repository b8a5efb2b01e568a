//! Proof of a book: every drink can be made at the training bar, and every worked example holds.

use serde_json::Value;

use crate::{
    book::{Aside, Bar, Example, ExampleLine, ExampleValue, Expected, Near},
    engine::{Given, Line, Moment, What, objection::Objection, verdict},
    json::{Complaint, child},
    wire::answer_line,
    words::{self, Catalogue, Speech},
};

/// Everything that the book promises and does not keep.
///
/// * `bar`: the book's training bar.
/// * `aside`: what was left out of the bar's book, since it is complained about or made of
///   something that is. What depends on it is not judged.
pub(super) fn complaints(bar: &Bar, speech: &Speech, aside: &Aside) -> Vec<Complaint> {
    let own = bar.site.languages.first().and_then(|lang| speech.in_lang(lang));
    let plain = own.is_none().then(Catalogue::plain);
    let Some(catalogue) = own.or(plain.as_ref()) else { return Vec::new() };
    let proof = Proof { bar, catalogue, aside, own: own.is_some() };
    let mut all = Vec::new();
    for (at, drink) in bar.book.drinks.iter().enumerate() {
        for (service, sizes) in &drink.cups {
            for (size, cup) in sizes {
                let capacity = bar.usual_capacity(*service, &cup.vessel);
                let line = Line::standard(&drink.id, service.as_str(), size, capacity);
                if proof.depends(&line) {
                    continue;
                }
                if let Err(objections) = crate::engine::build_line(bar, &line, &Moment::default()) {
                    let pointer = format!("/drinks/{at}/cups/{}/{size}", service.as_str());
                    all.extend(objections.iter().map(|one| not_made(catalogue, &pointer, one)));
                }
            }
        }
    }
    for (at, example) in bar.book.examples.iter().enumerate() {
        proof.example(&format!("/examples/{at}"), example, &mut all);
    }
    all
}

/// What a proof needs.
struct Proof<'a> {
    bar: &'a Bar,
    catalogue: &'a Catalogue,
    aside: &'a Aside,
    /// Whether the sentences are those of the bar's own language.
    own: bool,
}

impl Proof<'_> {
    /// Whether what the line names was left out.
    fn depends(&self, line: &Line) -> bool {
        let mut modifiers = line.modifiers.iter();
        self.aside.may_hold("drinks", &line.drink)
            || modifiers.any(|given| self.aside.may_hold("modifiers", &given.id))
    }

    /// Whether what is expected at `pointer` can be judged although something was left out.
    fn judges(&self, pointer: &str, expected: &Expected) -> bool {
        let text = matches!(expected, Expected::Exact(Value::String(_)));
        let sentences = self.own && !self.aside.touches("phrases");
        let head = ["id", "version", "names"].iter().any(|field| self.aside.touches(field));
        let allergens = pointer.split('/').any(|segment| segment == "allergens");
        let cautions = pointer.split('/').nth(1) == Some("cautions");
        !(text && (head || !sentences))
            && !(allergens && self.aside.touches("ingredients"))
            && !(cautions && self.aside.touches("cautions"))
    }

    fn example(&self, here: &str, example: &Example, all: &mut Vec<Complaint>) {
        let line = line_of(&example.line);
        let wanted = match example.expect.get("verdict") {
            Some(Expected::Exact(Value::String(verdict))) => verdict.as_str(),
            Some(Expected::Exact(_) | Expected::Near(_)) | None => "accept",
        };
        let harmless = ["cautions", "examples", "regions", "phrases", "id", "version", "names"];
        let mut fields = self.aside.fields();
        let ways_out_differ = fields.any(|field| !harmless.contains(&field));
        if self.depends(&line) || (wanted != "accept" && ways_out_differ) {
            return;
        }
        let judged = verdict(self.bar, &line, &Moment::default());
        let view = answer_line(self.bar, &line.id, 0, &judged, self.catalogue, true);
        let answer = serde_json::to_value(view).unwrap_or_default();
        let accepted = answer["verdict"] == "accept";
        let root = if accepted { &answer["build"] } else { &answer };
        if answer["verdict"] != wanted {
            let why = answer["refusals"][0]["text"].as_str().or(answer["question"].as_str());
            let why = why.unwrap_or("made as asked");
            let found = format!("verdict {} ({why})", answer["verdict"]);
            let wanted = format!("verdict \"{wanted}\"");
            all.push(Complaint::at(child(here, "expect"), found, wanted));
            return;
        }
        let expect = example.expect.iter();
        let expect = expect.filter(|(pointer, expected)| self.judges(pointer, expected));
        compare(root, expect, here, all);
    }
}

fn not_made(catalogue: &Catalogue, pointer: &str, objection: &Objection) -> Complaint {
    let found = format!("{}: {}", objection.code.as_str(), words::objection(catalogue, objection));
    Complaint::at(pointer, found, "a cup that the training bar can make")
}

/// Compares what stands at each pointer with what is expected there.
fn compare<'a>(
    root: &Value,
    expect: impl Iterator<Item = (&'a String, &'a Expected)>,
    here: &str,
    all: &mut Vec<Complaint>,
) {
    for (pointer, expected) in expect.filter(|(pointer, _)| *pointer != "verdict") {
        let place = child(&child(here, "expect"), pointer);
        let Some(found) = root.pointer(pointer) else {
            all.push(Complaint::at(place, "nothing there", "a pointer into the answer"));
            continue;
        };
        match expected {
            Expected::Near(Near { value, tolerance }) => {
                let near = found.as_f64().is_some_and(|found| (found - value).abs() <= *tolerance);
                if !near {
                    let wanted = format!("{value} give or take {tolerance}");
                    all.push(Complaint::at(place, found.to_string(), wanted));
                }
            }
            Expected::Exact(value) => {
                let same_number = found
                    .as_f64()
                    .zip(value.as_f64())
                    .is_some_and(|(a, b)| a.to_bits() == b.to_bits());
                if found != value && !same_number {
                    all.push(Complaint::at(place, found.to_string(), value.to_string()));
                }
            }
        }
    }
}

fn line_of(line: &ExampleLine) -> Line {
    let ExampleLine { drink, modifiers, confirmed } = line;
    let given = modifiers.iter().map(|one| Given {
        id: one.id.clone(),
        what: match (&one.value, one.count) {
            (Some(ExampleValue::Id(value)), _) => What::Value(value.to_string()),
            (Some(ExampleValue::Number(number)), _) => What::Number(*number),
            (None, Some(count)) => What::Count(count),
            (None, None) => What::Flag,
        },
    });
    Line {
        id: "1".to_owned(),
        drink: drink.clone(),
        quantity: 1,
        modifiers: given.collect(),
        confirmed: confirmed.iter().map(ToString::to_string).collect(),
        ..Line::default()
    }
}
