//! The matrix as a page to print: black on white, the head of the table on every sheet.

use std::fmt::Write;

use super::Matrix;
use crate::{
    engine::phrase::Phrase,
    label::draw::escaped,
    wire::{AllergenMatrix, MatrixDrink, Recorded},
};

/// How the page looks. Words and weights tell the cells apart, never a colour.
const STYLE: &str = "\
@page { size: A4 landscape; margin: 10mm }
body { margin: 8px; color: #000; background: #fff; font: 9pt/1.25 sans-serif }
h1 { margin: 0 0 4pt; font-size: 14pt }
p, dl, ul { margin: 3pt 0; padding: 0 }
ul { list-style: none }
.stamps { display: flex; flex-wrap: wrap; gap: 0 14pt; font-size: 7.5pt; overflow-wrap: anywhere }
dl { display: flex; flex-wrap: wrap; gap: 2pt 14pt }
dt, dd { display: inline; margin: 0 }
table { border-collapse: collapse; width: 100%; table-layout: fixed; margin: 6pt 0 }
thead { display: table-header-group }
tr { break-inside: avoid }
th, td { border: 0.4pt solid #000; padding: 1pt 0; vertical-align: middle; text-align: center; \
font-size: 5.6pt; line-height: 1.1; overflow-wrap: break-word }
th { font-weight: normal }
thead th { height: 92pt; vertical-align: bottom }
thead th span { writing-mode: vertical-rl; transform: rotate(180deg); font-size: 7.5pt; \
text-align: left; max-height: 90pt }
thead th.drink, tbody th { width: 70pt; text-align: left; font-size: 8pt; padding: 1pt }
td.contained { border: 1.6pt solid #000 }
.contained, .may-be-contained { font-weight: bold }
.shared-equipment { font-style: italic }
@media print { body { margin: 0 } }
";

/// The matrix as a whole page (HTML), which needs nothing from elsewhere and runs nothing.
pub fn html(matrix: &Matrix<'_>) -> String {
    let AllergenMatrix { lang, at, site_name, not_made, legend, notes, .. } = &matrix.view;
    let title = matrix.say(Phrase::MatrixTitle);
    // Writing to a text cannot fail.
    let mut out = String::with_capacity(64 << 10);
    let full = format!("{title}: {site_name}, {at}");
    let _ = write!(
        out,
        "<!doctype html>\n<html lang=\"{}\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width\">\n<title>{}</title>\n\
         <style>\n{STYLE}</style>\n</head>\n<body>\n<h1>{}</h1>\n",
        escaped(lang),
        escaped(&full),
        escaped(&full),
    );
    list(&mut out, "stamps", &matrix.stamps());
    out.push_str("<dl>\n");
    for row in legend {
        let (word, text) = (escaped(&row.word), escaped(&row.text));
        let class = class_of(row.recorded);
        let _ = writeln!(out, "<div><dt class=\"{class}\">{word}</dt><dd>: {text}</dd></div>");
    }
    out.push_str("</dl>\n");
    table(&mut out, matrix);
    if !not_made.is_empty() {
        let names: Vec<&str> = not_made.iter().map(|one| one.name).collect();
        let told = matrix.told(Phrase::MatrixNotMade, &names.join(", "));
        let _ = writeln!(out, "<p>{}</p>", escaped(&told));
    }
    list(&mut out, "notes", notes);
    out.push_str("</body>\n</html>\n");
    out
}

fn list(out: &mut String, class: &str, all: &[String]) {
    let _ = writeln!(out, "<ul class=\"{class}\">");
    for one in all {
        let _ = writeln!(out, "<li>{}</li>", escaped(one));
    }
    out.push_str("</ul>\n");
}

fn table(out: &mut String, matrix: &Matrix<'_>) {
    let AllergenMatrix { allergens, drinks, .. } = &matrix.view;
    let drink = escaped(&matrix.say(Phrase::MatrixDrink));
    out.push_str("<table>\n<thead>\n<tr>");
    let _ = write!(out, "<th scope=\"col\" class=\"drink\">{drink}</th>");
    for one in allergens {
        let name = escaped(&one.name);
        let group = one.group.map(|group| format!("{}: ", escaped(group))).unwrap_or_default();
        let _ = write!(out, "<th scope=\"col\"><span>{group}<b>{name}</b></span></th>");
    }
    out.push_str("</tr>\n</thead>\n<tbody>\n");
    for MatrixDrink { name, recorded, .. } in drinks {
        let _ = write!(out, "<tr><th scope=\"row\">{}</th>", escaped(name));
        for one in allergens {
            let cell = recorded.get(one.id).copied().unwrap_or(Recorded::NothingRecorded);
            let (class, word) = (class_of(cell), escaped(&matrix.word(cell)));
            let _ = write!(out, "<td class=\"{class}\">{word}</td>");
        }
        out.push_str("</tr>\n");
    }
    out.push_str("</tbody>\n</table>\n");
}

const fn class_of(recorded: Recorded) -> &'static str {
    match recorded {
        Recorded::Contained => "contained",
        Recorded::MayBeContained => "may-be-contained",
        Recorded::SharedEquipment => "shared-equipment",
        Recorded::NothingRecorded => "nothing-recorded",
    }
}
