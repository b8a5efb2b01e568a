//! Build cards as SVG, PDF, PNG and pages: by the program, by the service, and by outside readers.

use std::{collections::BTreeSet, fs, sync::Arc};

use cupwright::{
    answering::{CardForm, CardWish, Sent, card_bytes, drink_card, ticket_card},
    config::Settings,
    http::{State, app},
    keys::KeyRing,
    label::{
        Mark,
        card::{Paper, drawn, html, stacked},
        draw,
    },
    state::StockOuts,
    wire::Ticket,
};
use serde_json::{Value, json};

use crate::{
    cards::{DEMO, card, printed, usual},
    cli::{run, said},
    support::{
        demo, edition, golden, text,
        tools::{debian, python, run as run_tool},
    },
};

/// Says what a drawing tells whoever cannot see it, as Python's own reader of XML finds it.
const READ: &str = "\
import sys, xml.dom.minidom as dom
for file in sys.argv[1:]:
    root = dom.parse(file).documentElement
    assert root.tagName == 'svg' and root.getAttribute('role') == 'img', file
    print(root.getElementsByTagName('desc')[0].firstChild.data)
";

/// Source: XML 1.0, by a reader that shares no code with this project.
#[test]
fn drawings_are_well_formed_and_say_everything_to_whoever_cannot_see_them() {
    let folder = tempfile::tempdir().unwrap();
    let bar = DEMO.bar("bookshop").unwrap();
    let (mut read, mut cards) = (python(), Vec::new());
    read.arg("-c").arg(READ);
    for build in usual(bar) {
        let card = card(bar, &build, "de");
        let sheet = stacked(&drawn(&card, Paper::A6).unwrap().sheets).unwrap();
        let file = folder.path().join(format!("{}.svg", build.order.asked.id));
        fs::write(&file, draw::svg(&sheet)).unwrap();
        read.arg(file);
        cards.push(card);
    }
    read.env("PYTHONIOENCODING", "utf-8");
    let told = run_tool(read);
    for card in &cards {
        // What the drink allows on request is left out where it would take a second page.
        for said in card.said().into_iter().filter(|said| card.allows.as_ref() != Some(said)) {
            assert!(told.contains(&said), "{}: {said}", card.title);
        }
    }
}

#[test]
fn pages_say_everything_as_text_and_need_nothing_from_elsewhere() {
    let bar = DEMO.bar("bookshop").unwrap();
    for build in usual(bar) {
        let card = card(bar, &build, "en");
        let page = html(&card).unwrap();
        // The name of SVG is no place from which anything is fetched.
        let page = page.replace("http://www.w3.org/2000/svg", "");
        for part in ["<script", "http", "src=", "url(", "@import", "<link"] {
            assert!(!page.contains(part), "{}: {part}", card.title);
        }
        let (before, after) = (page.find("</figure>").unwrap(), page.as_str());
        let text = &after[before..];
        for said in card.steps.iter().chain(&card.contains).chain(&card.may_contain) {
            let escaped = said.replace('\'', "&#39;");
            assert!(text.contains(&escaped), "{}: {said}", card.title);
        }
    }
}

/// Whatever a book says stands in a page as text.
#[test]
fn a_name_cannot_bring_markup_into_a_card() {
    let bar = DEMO.bar("bookshop").unwrap();
    let mut odd = card(bar, &usual(bar)[0], "en");
    odd.title = "<script>alert(1)</script>\"'&".to_owned();
    odd.steps[0] = "</li><b onclick='x'>".to_owned();
    let page = html(&odd).unwrap();
    assert!(!page.contains("<script") && !page.contains("<b onclick"));
    let sheet = drawn(&odd, Paper::A6).unwrap().sheets.remove(0);
    assert!(!draw::svg(&sheet).contains("<script"));
}

/// Source: ISO 32000 by Poppler, which shares no code with this project: pages have the size of the
/// paper, and every word of the allergens is found as text.
#[test]
fn a_pdf_has_the_size_of_its_paper_and_its_words_as_text() {
    let folder = tempfile::tempdir().unwrap();
    let bar = DEMO.bar("bookshop").unwrap();
    for (paper, size) in [(Paper::A6, "297.638 x 419.528 pts"), (Paper::A4, "595.276 x 841.89 pts")]
    {
        for build in usual(bar).iter().take(30) {
            let card = card(bar, build, "de");
            let file = folder.path().join("card.pdf");
            fs::write(&file, card_bytes(&card, paper, CardForm::Pdf).unwrap()).unwrap();
            let mut info = debian("pdfinfo");
            info.arg(&file);
            let about = run_tool(info);
            assert!(about.contains(size), "{about}");
            let mut words = debian("pdftotext");
            words.arg(&file).arg("-");
            let text = run_tool(words);
            for said in card.contains.iter().chain(&card.may_contain) {
                for word in said.split_whitespace() {
                    assert!(text.contains(word), "{}: {word} is not in\n{text}", card.title);
                }
            }
        }
    }
}

/// Source: ISO/IEC 15948: width and height stand in the first chunk, dots per metre in `pHYs`.
#[test]
fn a_png_has_the_dots_of_its_paper() {
    let bar = DEMO.bar("bookshop").unwrap();
    let wish = CardWish { lang: Some("en".to_owned()), ..CardWish::default() };
    let card = drink_card(&DEMO, bar, "espresso", &wish, &Sent::default()).unwrap();
    for (paper, width, height) in [(Paper::A6, 1_240, 1_748), (Paper::A4, 1_240, 1_754)] {
        let bytes = card_bytes(&card, paper, CardForm::Png).unwrap();
        let number = |at: usize| u32::from_be_bytes(bytes[at..at + 4].try_into().unwrap());
        assert_eq!((number(16), number(20)), (width, height));
        // Grey, eight bits.
        assert_eq!((bytes[24], bytes[25]), (8, 0));
    }
}

/// A barista who makes a cup from its card alone must see what was declared, and what to do for it.
#[test]
fn what_was_declared_stands_on_the_card_of_a_line_in_every_form() {
    let mut ticket: Value =
        serde_json::from_str(&text("tests/pictures/sticker-allergy.json")).unwrap();
    ticket["lines"][0]["note"] = json!("two \u{202e}lids");
    for (lang, wanted) in [
        ("en", ["ALLERGY: MILK", "full clean of", "NOTE (not checked): two lids"]),
        ("de", ["ALLERGIE: MILCH", "vollständig", "NOTIZ (ungeprüft): two lids"]),
    ] {
        ticket["lang"] = json!(lang);
        let card = |ticket: &Value| {
            let ticket: Ticket = serde_json::from_value(ticket.clone()).unwrap();
            ticket_card(
                &edition(&crate::lines::DEMO),
                ticket,
                None,
                &CardWish::default(),
                &Sent::default(),
            )
        };
        let made = card(&ticket).unwrap();
        assert_eq!(made.asked.allergy.as_deref(), Some(wanted[0]));
        let squeezed = |text: &str| text.split_whitespace().collect::<String>();
        for paper in [Paper::A6, Paper::A4] {
            let sheets = drawn(&made, paper).unwrap().sheets;
            // A page that lies alone must not lack the allergy.
            for sheet in &sheets {
                let first = sheet.marks.iter().find_map(|mark| match mark {
                    Mark::Text(text) => Some(text.run.text.clone()),
                    Mark::Shape(..) => None,
                });
                assert_eq!(first.as_deref(), Some(wanted[0]), "{paper:?}");
            }
            let pdf = pdf_text(&card_bytes(&made, paper, CardForm::Pdf).unwrap());
            let svg = card_bytes(&made, paper, CardForm::Svg).unwrap();
            let svg = String::from_utf8(svg).unwrap();
            for said in wanted {
                assert!(squeezed(&printed(&sheets)).contains(&squeezed(said)), "{paper:?}, {said}");
                assert!(squeezed(&pdf).contains(&squeezed(said)), "{said} is not in\n{pdf}");
                assert!(svg.contains(said), "{said}");
            }
        }
        let page = html(&made).unwrap();
        for said in wanted {
            assert!(page.contains(said), "{said}");
        }
        assert!(page.find(wanted[0]) < page.find("<h1>"));
        // The picture differs by it.
        let mut plain = ticket.clone();
        plain["lines"][0]["allergies"] = json!([]);
        let png = |ticket| card_bytes(&card(ticket).unwrap(), Paper::A6, CardForm::Png).unwrap();
        assert_ne!(png(&ticket), png(&plain));
    }
}

#[test]
fn an_override_is_stamped_on_the_card_of_its_line() {
    let ticket = json!({"site": "bookshop", "lang": "en", "lines": [{"line": "1",
        "drink": "cappuccino", "modifiers": [{"id": "foam", "value": "none"}],
        "override": "agreed"}]});
    let ticket: Ticket = serde_json::from_value(ticket).unwrap();
    let sent = Sent { may_override: true, ..Sent::default() };
    let made =
        ticket_card(&edition(&crate::lines::DEMO), ticket, None, &CardWish::default(), &sent)
            .unwrap();
    assert!(made.asked.stamps == ["OVERRIDE"] && !made.asked.notices.is_empty());
    assert!(printed(&drawn(&made, Paper::A6).unwrap().sheets).starts_with("OVERRIDE"));
    assert!(html(&made).unwrap().contains("<p class=\"framed\">OVERRIDE</p>"));
}

/// The text of a PDF, by Poppler.
fn pdf_text(bytes: &[u8]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("card.pdf");
    fs::write(&file, bytes).unwrap();
    let mut words = debian("pdftotext");
    words.arg("-layout").arg(&file).arg("-");
    run_tool(words)
}

fn picture(drink: &str) -> String {
    let bar = DEMO.bar("bookshop").unwrap();
    let wish = CardWish { lang: Some("en".to_owned()), ..CardWish::default() };
    let card = drink_card(&DEMO, bar, drink, &wish, &Sent::default()).unwrap();
    String::from_utf8(card_bytes(&card, Paper::A6, CardForm::Svg).unwrap()).unwrap()
}

/// README shows these.
#[test]
fn the_kept_pictures_are_what_the_code_draws() {
    for drink in ["flat-white", "iced-latte"] {
        golden(&format!("tests/pictures/card-{drink}.svg"), &picture(drink));
    }
}

#[test]
fn the_program_writes_a_card_for_each_drink_with_a_chart_and_a_page() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("cards");
    let out_text = out.to_str().unwrap();
    let args = ["cards", "--site", "bookshop", "--lang", "en", "--out", out_text];
    let told = said(&run(&args, ""));
    assert!(told.contains("cards in"), "{told}");
    let names: BTreeSet<String> = fs::read_dir(&out)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    assert!(names.len() >= 47, "{names:?}");
    for name in ["chart.svg", "chart.pdf", "index.html", "affogato.svg", "iced-coffee.svg"] {
        assert!(names.contains(name), "{name}");
    }
    assert_eq!(fs::read_to_string(out.join("flat-white.svg")).unwrap(), picture("flat-white"));
    let index = fs::read_to_string(out.join("index.html")).unwrap();
    for name in names.iter().filter(|name| name.contains(".svg")) {
        assert!(index.contains(&format!("href=\"{name}\"")), "{name}");
    }
    let more = [&args[..], &["--drink", "latte", "--every-cup", "--format", "html"]].concat();
    assert!(run(&more, "").status.success());
    assert!(out.join("latte-takeaway-large.html").exists());
    for wrong in [["--effective", "soon"], ["--drink", "nonsense"]] {
        let wrong = run(&[&args[..], &wrong].concat(), "");
        assert_eq!(wrong.status.code(), Some(3));
    }
}

#[test]
fn one_drink_is_one_drink_and_an_unknown_one_is_told_with_those_that_are_known() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("cards");
    let args = ["cards", "--site", "bookshop", "--out", out.to_str().unwrap(), "--drink"];
    assert!(run(&[&args[..], &["espresso"]].concat(), "").status.success());
    let names: Vec<_> = fs::read_dir(&out).unwrap().map(|one| one.unwrap().file_name()).collect();
    assert_eq!(names, ["espresso.svg"]);
    let wrong = run(&[&args[..], &["nonsense"]].concat(), "");
    let told = String::from_utf8(wrong.stderr).unwrap();
    assert!(told.contains("`nonsense` is none of ") && told.contains("flat-white"), "{told}");
}

/// Source: RFC 9110, section 12.5.1: the reader gets the form that it would rather have.
#[actix_web::test]
async fn the_service_draws_each_form_by_accept() {
    use actix_web::{test, web::Data};

    let held = Arc::new(demo());
    let state = State::new(held, KeyRing::default(), StockOuts::default(), Settings::default());
    let service = test::init_service(app(Data::new(state))).await;
    let forms: [(&str, &str, &[u8]); 5] = [
        ("*/*", "image/svg+xml", b"<svg"),
        ("image/svg+xml", "image/svg+xml", b"<svg"),
        ("application/pdf", "application/pdf", b"%PDF"),
        ("image/png", "image/png", b"\x89PNG"),
        ("text/html, */*;q=0.1", "text/html; charset=utf-8", b"<!doctype html>"),
    ];
    let path = "/v1/drinks/latte/card?site=bookshop&lang=en&service=takeaway&size=large&paper=a4\
                &effective=2026-11-25";
    let ticket = json!({"site": "bookshop", "lang": "en", "lines": [
        {"line": "1", "drink": "flat-white"},
        {"line": "2", "drink": "latte", "modifiers": [{"id": "milk", "value": "oat-drink"}],
         "note": "for the shelf"},
    ], "order": {"name": "Zebulon"}});
    for (accept, kind, begins) in forms {
        let read = test::TestRequest::get().uri(path);
        let post = test::TestRequest::post().uri("/v1/cards?line=2&paper=a6").set_json(&ticket);
        for request in [read, post] {
            let request = request.insert_header(("accept", accept)).to_request();
            let response = test::call_service(&service, request).await;
            assert_eq!(response.status(), 200);
            let header =
                |name: &str| response.headers().get(name).unwrap().to_str().unwrap().to_owned();
            assert_eq!([header("content-type"), header("vary")], [kind, "accept"]);
            let body = test::read_body(response).await;
            assert!(body.starts_with(begins), "{accept}");
            assert!(!String::from_utf8_lossy(&body).contains("Zebulon"));
        }
    }
    let drawn = test::TestRequest::post().uri("/v1/cards?line=2").set_json(&ticket).to_request();
    let drawn = test::call_and_read_body(&service, drawn).await;
    let drawn = String::from_utf8(drawn.to_vec()).unwrap();
    assert!(drawn.contains("OAT MILK") && drawn.contains("Oats"));
    for (path, accept, status) in [
        (path, "text/csv", 406),
        ("/v1/drinks/latte/card?site=bookshop&paper=a5", "*/*", 400),
        ("/v1/drinks/latte/card?site=bookshop&service=there", "*/*", 400),
        ("/v1/drinks/latte/card?site=bookshop&effective=2026-13-01", "*/*", 400),
        ("/v1/drinks/latte/card?site=bookshop&lang=fr", "*/*", 400),
        ("/v1/drinks/latte/card?site=bookshop&size=huge", "*/*", 404),
        ("/v1/drinks/water/card?site=bookshop", "*/*", 404),
        ("/v1/drinks/latte/card?site=nowhere", "*/*", 404),
        ("/v1/drinks/latte/card?site=bookshop&service=own&size=small", "*/*", 200),
    ] {
        let request = test::TestRequest::get().uri(path).insert_header(("accept", accept));
        let response = test::call_service(&service, request.to_request()).await;
        assert_eq!(response.status(), status, "{path}");
    }
}
