//! A card as a page (HTML): the section as a drawing, everything else as text. It needs nothing from
//! elsewhere and runs nothing.

use std::fmt::Write;

use super::{
    content::{Card, Figure, Row},
    page::section_sheet,
};
use crate::label::{
    Fault,
    draw::{escaped, svg},
};

/// How the page looks: black on white, without a colour.
const STYLE: &str = "\
@page { size: A4; margin: 14mm }
body { margin: 16px auto; padding: 0 16px; max-width: 720px; color: #000; background: #fff; \
font: 17px/1.4 sans-serif }
h1 { margin: 0; font-size: 2.2em; line-height: 1.1 }
h2 { margin: 20px 0 6px; font-size: 1.05em; border-top: 1px solid #000; padding-top: 10px }
p { margin: 4px 0 }
.framed { font-size: 1.5em; font-weight: bold; border: 3px solid #000; padding: 6px 12px; \
margin: 0 0 10px }
.told, .scalds { font-weight: bold }
.changes { font-size: 1.3em; font-weight: bold }
figure { margin: 16px 0 0 }
figure svg { width: 100%; max-width: 600px; height: auto }
table { border-collapse: collapse; width: 100% }
th { text-align: left; font-weight: normal; width: 24% }
th, td { vertical-align: top; padding: 3px 12px 3px 0 }
td b { display: block; font-size: 1.35em; line-height: 1.15 }
td span { font-size: 0.82em }
ol { margin: 0; padding-left: 1.6em }
li { margin: 5px 0; padding-left: 0.3em }
li::marker { font-weight: bold }
.allergens { border: 3px solid #000; padding: 8px 12px; margin-top: 20px }
.allergens h2 { margin: 0; border: 0; padding: 0 }
.contains { font-weight: bold; font-size: 1.15em }
.small { font-size: 0.8em }
table, li, .allergens, figure { break-inside: avoid }
@media print { body { margin: 0; padding: 0; max-width: none } figure svg { width: 120mm } }
";

/// The card as a page.
///
/// * Errors: a character that the font lacks.
pub fn html(card: &Card) -> Result<String, Fault> {
    let Card { lang, title, cup, changes, figures, steps, contains, may_contain, .. } = card;
    let (sheet, ratio) = section_sheet(card)?;
    let headings = &card.headings;
    // Writing to a text cannot fail.
    let mut out = String::with_capacity(96 << 10);
    let _ = write!(
        out,
        "<!doctype html>\n<html lang=\"{}\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width\">\n<title>{}</title>\n\
         <style>\n{STYLE}</style>\n</head>\n<body>\n",
        escaped(lang),
        escaped(title),
    );
    for text in card.asked.framed() {
        paragraph(&mut out, "framed", text);
    }
    let _ = writeln!(out, "<h1>{}</h1>", escaped(title));
    paragraph(&mut out, "cup", cup);
    if !changes.is_empty() {
        paragraph(&mut out, "changes", &changes.join(" · "));
    }
    for text in card.asked.told() {
        paragraph(&mut out, "told", text);
    }
    let _ = writeln!(out, "<figure>{}</figure>", svg(&sheet));
    paragraphs(&mut out, "small", card.stirred.as_slice());
    let _ = writeln!(out, "<h2>{}</h2>\n<table>", escaped(&headings.figures));
    for row in figures {
        write_row(&mut out, row);
    }
    let _ = writeln!(out, "</table>\n<h2>{}</h2>\n<ol>", escaped(&headings.steps));
    for step in steps {
        let _ = writeln!(out, "<li>{}</li>", escaped(step));
    }
    let heading = escaped(&headings.allergens);
    let _ = writeln!(out, "</ol>\n<section class=\"allergens\">\n<h2>{heading}</h2>");
    paragraphs(&mut out, "contains", contains);
    paragraphs(&mut out, "may", may_contain);
    out.push_str("</section>\n");
    if !card.scalds.is_empty() || !card.cautions.is_empty() {
        let _ = writeln!(out, "<h2>{}</h2>", escaped(&headings.cautions));
        paragraphs(&mut out, "scalds", &card.scalds);
        paragraphs(&mut out, "caution", &card.cautions);
    }
    paragraphs(&mut out, "small", card.allows.as_slice());
    let scale = format!("{} {}", headings.section, ratio.said());
    let stamps: Vec<&str> = card.stamps.iter().map(String::as_str).chain([&*scale]).collect();
    paragraph(&mut out, "small", &stamps.join(" · "));
    out.push_str("</body>\n</html>\n");
    Ok(out)
}

fn paragraphs(out: &mut String, class: &str, texts: &[String]) {
    for text in texts {
        paragraph(out, class, text);
    }
}

fn paragraph(out: &mut String, class: &str, text: &str) {
    let _ = writeln!(out, "<p class=\"{class}\">{}</p>", escaped(text));
}

fn write_row(out: &mut String, Row { name, figures }: &Row) {
    let _ = write!(out, "<tr><th scope=\"row\">{}</th>", escaped(name));
    for Figure { value, name } in figures {
        let (value, name) = (escaped(value), escaped(name));
        let _ = write!(out, "<td><b>{value}</b> <span>{name}</span></td>");
    }
    out.push_str("</tr>\n");
}
