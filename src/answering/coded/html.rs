//! The page behind the code on a cup, for the phone of whoever reads it.

use std::fmt::Write;

use crate::{
    book::Bar,
    engine::phrase::{Gap, Phrase},
    label::draw::escaped,
    wire::{AllergenWording, BuildView, CaffeineView, CodedBuild, PartView},
    words::{self, Catalogue},
};

/// How the page looks: one narrow column, dark where the reader's phone is.
const STYLE: &str = "\
:root { color-scheme: light dark; --paper: #fbf7f1; --ink: #2b211a; --line: #d9cdbf; \
--mark: #7a3e12 }
@media (prefers-color-scheme: dark) { :root { --paper: #1d1814; --ink: #f1e8dd; --line: #4a3f35; \
--mark: #f0b27a } }
body { margin: 0; background: var(--paper); color: var(--ink); font: 1.05rem/1.45 sans-serif }
main { max-width: 30rem; margin: 0 auto; padding: 1.25rem; overflow-wrap: anywhere }
h1 { margin: 0; font-size: 2rem; line-height: 1.15 }
h2 { margin: 1.5rem 0 .4rem; padding-top: .7rem; border-top: 1px solid var(--line); \
font-size: 1rem; color: var(--mark) }
p { margin: .35rem 0 }
ul { margin: .35rem 0; padding: 0; list-style: none }
.changes { display: flex; flex-wrap: wrap; gap: .4rem; margin: .8rem 0 0 }
.changes li { padding: .1rem .6rem; border: 2px solid var(--mark); border-radius: .4rem; \
font-weight: bold }
.allergens p { font-weight: bold }
.allergens p.ask { font-weight: normal }
.cautions li { margin: .35rem 0; padding-left: .8rem; border-left: 4px solid var(--mark) }
table { width: 100%; border-collapse: collapse }
th, td { padding: .15rem 0; text-align: left; font-weight: normal }
td { text-align: right; white-space: nowrap }
footer { margin-top: 1.5rem; padding-top: .7rem; border-top: 1px solid var(--line); \
font-size: .75rem }
";

/// The page (HTML), which needs nothing from elsewhere and runs nothing.
pub(super) fn page(bar: &Bar, catalogue: &Catalogue, coded: &CodedBuild<'_>) -> String {
    let build = &coded.build;
    let site = bar.site.names.in_lang(&catalogue.lang);
    // Writing to a text cannot fail.
    let mut out = String::with_capacity(8 << 10);
    let _ = write!(
        out,
        "<!doctype html>\n<html lang=\"{}\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width\">\n<title>{}, {}</title>\n\
         <style>\n{STYLE}</style>\n</head>\n<body>\n<main>\n<h1>{}</h1>\n<p>{}</p>\n",
        escaped(&catalogue.lang),
        escaped(build.name),
        escaped(site),
        escaped(build.name),
        escaped(&[cup(bar, catalogue, build), site.to_owned()].join(" · ")),
    );
    list(&mut out, "changes", build.changes.iter().map(String::as_str));
    let page = Page { bar, catalogue };
    page.allergens(&mut out, &build.allergens.wording);
    if !build.cautions.is_empty() {
        page.heading(&mut out, Phrase::PageCautions);
        list(&mut out, "cautions", build.cautions.iter().map(|one| one.text));
    }
    page.heading(&mut out, Phrase::PageIn);
    page.parts(&mut out, &build.parts);
    page.heading(&mut out, Phrase::PageCaffeine);
    let _ = writeln!(out, "<p>{}</p>", escaped(&page.caffeine(build.caffeine)));
    page.made_from(&mut out, coded);
    out.push_str("</main>\n</body>\n</html>\n");
    out
}

/// Way of serving and size, by name.
fn cup(bar: &Bar, catalogue: &Catalogue, build: &BuildView<'_>) -> String {
    let service = bar.book.services.iter().find(|row| row.id == build.service);
    let size = bar.size(build.size);
    let names = service.map(|row| &row.names).into_iter().chain(size.map(|row| &row.names));
    let names: Vec<&str> = names.map(|names| names.in_lang(&catalogue.lang)).collect();
    names.join(", ")
}

/// A list; nothing where there is nothing in it.
fn list<'a>(out: &mut String, class: &str, all: impl Iterator<Item = &'a str>) {
    let mut all = all.peekable();
    if all.peek().is_none() {
        return;
    }
    let _ = writeln!(out, "<ul class=\"{class}\">");
    for one in all {
        let _ = writeln!(out, "<li>{}</li>", escaped(one));
    }
    out.push_str("</ul>\n");
}

/// What the page speaks with.
struct Page<'a> {
    bar: &'a Bar,
    catalogue: &'a Catalogue,
}

impl Page<'_> {
    fn say(&self, phrase: Phrase) -> String {
        words::gaps(self.catalogue, phrase, &[])
    }

    fn heading(&self, out: &mut String, phrase: Phrase) {
        let _ = writeln!(out, "<h2>{}</h2>", escaped(&self.say(phrase)));
    }

    /// The three answers, each by itself, and what none of them says.
    fn allergens(&self, out: &mut String, wording: &AllergenWording) {
        let AllergenWording { contains, may_contain, shared_equipment } = wording;
        self.heading(out, Phrase::PageAllergens);
        out.push_str("<div class=\"allergens\">\n");
        let said = [contains, may_contain, shared_equipment].into_iter().flatten();
        let mut said: Vec<String> = said.cloned().collect();
        if said.is_empty() {
            said.push(self.say(Phrase::PageNothing));
        }
        for sentence in said {
            let _ = writeln!(out, "<p>{}</p>", escaped(&sentence));
        }
        let ask = escaped(&self.say(Phrase::PageAsk));
        let _ = writeln!(out, "<p class=\"ask\">{ask}</p>\n</div>");
    }

    fn parts(&self, out: &mut String, parts: &[PartView<'_>]) {
        out.push_str("<table>\n");
        for part in parts {
            let names = self.bar.ingredient(part.ingredient).map(|one| &one.names);
            let name = names.map_or(part.ingredient, |names| names.in_lang(&self.catalogue.lang));
            let grams = [("g", Gap::Number(part.g.mg(), 1))];
            let grams = words::gaps(self.catalogue, Phrase::PageGrams, &grams);
            let (name, grams) = (escaped(name), escaped(&grams));
            let _ = writeln!(out, "<tr><th scope=\"row\">{name}</th><td>{grams}</td></tr>");
        }
        out.push_str("</table>\n");
    }

    /// Caffeine in tens of milligrams where it is more than a few, outwards: an estimate has no more
    /// digits than that, and never ends below what it may be.
    fn caffeine(&self, caffeine: Option<CaffeineView>) -> String {
        let Some(CaffeineView { low_mg, typical_mg, high_mg }) = caffeine else {
            return self.say(Phrase::PageCaffeineUnknown);
        };
        if high_mg == 0 {
            return self.say(Phrase::PageCaffeineNone);
        }
        let step = if low_mg >= 20 { 10 } else { 1 };
        let whole = |mg: i64| Gap::Number(mg * 1_000, 0);
        let gaps = [
            ("low", whole(low_mg / step * step)),
            ("typical", whole((typical_mg + step / 2) / step * step)),
            ("high", whole((high_mg + step - 1) / step * step)),
        ];
        words::gaps(self.catalogue, Phrase::PageCaffeineAbout, &gaps)
    }

    fn made_from(&self, out: &mut String, coded: &CodedBuild<'_>) {
        let rows = [
            (Phrase::MatrixVersion, format!("{} {}", coded.book.id, coded.book.version)),
            (Phrase::MatrixDigest, coded.book.digest.clone()),
            (Phrase::MatrixSheet, coded.site.digest.clone()),
            (Phrase::PageDigest, coded.build.digest.clone()),
        ];
        out.push_str("<footer>\n");
        for (label, said) in rows {
            let _ = writeln!(out, "<p>{}: {}</p>", escaped(&self.say(label)), escaped(&said));
        }
        out.push_str("</footer>\n");
    }
}
