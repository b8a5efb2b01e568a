//! Stickers: legible by published rules, whole, and never with a word missing.

use std::{collections::BTreeSet, sync::Arc};

use cupwright::{
    answering::{
        LabelOfSite, Sent, StickerForm, StickersAsked, TicketStickers, labels_of, sold_fit,
        ticket_stickers,
    },
    demo as demo_files,
    engine::Line,
    label::{Mark, Text, draw::PwgType, sticker::cap_at},
    units::Length,
    wire::{Kind, Ticket, TicketLine},
};
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::{
    changed::{demo_book, demo_site, load},
    lines::{DEMO, Posted, posted},
    support::{answer_bytes, chance, edition},
};

/// A ticket of one line for somebody.
fn ticket(site: &str, lang: &str, name: &str, line: &Value) -> Ticket {
    let order = json!({ "ref": "A-217", "name": name, "at": "2026-11-25T14:05:00+01:00" });
    let ticket = json!({ "site": site, "lang": lang, "order": order, "lines": [line] });
    serde_json::from_value(ticket).unwrap()
}

fn stickers(ticket: Ticket, asked: &StickersAsked) -> TicketStickers {
    ticket_stickers(&edition(&DEMO), ticket, &Sent::default(), asked).unwrap()
}

fn label(width_mm: u16, height_mm: u16, dpi: u16) -> StickersAsked {
    let mm = |mm: u16| Length::from_um(i64::from(mm) * 1_000);
    let size = Some((mm(width_mm), mm(height_mm)));
    StickersAsked { size, dpi: Some(dpi), ..StickersAsked::default() }
}

/// The texts of each sticker, with the zone that each stands in.
fn texts(made: &TicketStickers) -> Vec<Vec<(&'static str, String)>> {
    let of = |one: &cupwright::wire::StickerView| {
        let zones = one.zones.iter();
        let lines =
            zones.flat_map(|zone| zone.lines.iter().map(|line| (zone.zone, line.text.clone())));
        lines.collect()
    };
    made.view().stickers.iter().map(of).collect()
}

/// Everything that is said, with single spaces, so that a sentence is found whatever lines it takes.
fn said(made: &TicketStickers) -> String {
    texts(made).concat().into_iter().map(|(_, text)| text).collect::<Vec<_>>().join(" ")
}

fn marks(made: &TicketStickers) -> Vec<Vec<&Text>> {
    fn text(mark: &Mark) -> Option<&Text> {
        match mark {
            Mark::Text(text) => Some(text),
            Mark::Shape(..) => None,
        }
    }
    made.stickers()
        .iter()
        .map(|one| one.sticker.sheet.marks.iter().filter_map(text).collect())
        .collect()
}

/// Source: ISO 9241-303:2011, 5.5.2 (before it ISO 9241-3:1992, 5.4): characters of 16 minutes of arc
/// at least, 20 to 22 preferred; from memory. Worked by hand: the tangent of 10′ is 0.0029089, so 60 cm
/// ask for 3.49 mm, 40 cm for 2.33, 80 cm for 4.65 and 100 cm for 5.82.
#[test]
fn letters_are_as_high_as_the_distance_asks_for() {
    for (cm, mm) in [(40, 2.327), (60, 3.491), (80, 4.654), (100, 5.818)] {
        let ours = f64::from(i32::try_from(cap_at(cm * 10_000, 20)).unwrap()) / 1_000.0;
        assert!((ours - mm).abs() < 0.002, "{cm} cm: {ours} mm");
    }
    assert_eq!(cap_at(600_000, 16), 2_793);
}

/// Sources: ISO 9241-303 as above for what is read from the site's distance; Regulation (EU) No
/// 1169/2011, Article 13(2) and Annex IV, for the 1.2 mm of a small x.
fn hold_legible(made: &TicketStickers) {
    let read_at = made.label().read_at;
    let dot = 25.4 / f64::from(made.label().dpi);
    for sticker in &made.view().stickers {
        let mut drink = f64::MAX;
        let mut others: f64 = 0.0;
        for zone in &sticker.zones {
            for line in &zone.lines {
                let (cap, x) = (line.cap_mm.mm(), line.x_height_mm.mm());
                assert!(x >= 1.2, "{}: {x} mm", line.text);
                assert!(x / dot >= 9.5, "{}: {} dots", line.text, x / dot);
                let least = match zone.zone {
                    "drink" | "allergy" if sticker.parts == 1 => 20,
                    "allergy" | "change" | "drink" | "stamp" => 16,
                    _ => 0,
                };
                let least = f64::from(i32::try_from(cap_at(read_at, least)).unwrap()) / 1_000.0;
                // A thousandth of a millimetre may be lost on the way through the size of an em.
                assert!(cap >= least - 0.002, "{} `{}`: {cap} mm", zone.zone, line.text);
                if zone.zone == "drink" {
                    drink = drink.min(cap);
                } else if zone.zone != "allergy" {
                    others = others.max(cap);
                }
            }
        }
        assert!(sticker.parts > 1 || drink >= others, "the drink is the largest");
    }
}

/// Nothing leaves its label, and no two lines meet.
fn hold_apart(made: &TicketStickers) {
    let label = made.label();
    for texts in marks(made) {
        let all: Vec<_> = texts.iter().map(|text| text.extent()).collect();
        for (at, (left, top, right, bottom)) in all.iter().enumerate() {
            let what = &texts[at].run.text;
            assert!(*left >= 0 && *top >= 0, "{what}");
            assert!(*right <= label.width && *bottom <= label.height, "{what}");
            for (l, t, r, b) in &all[at + 1..] {
                let meet = left < r && l < right && top < b && t < bottom;
                assert!(!meet, "{what} meets another line");
            }
        }
    }
    for sticker in &made.view().stickers {
        for zone in &sticker.zones {
            let Some(code) = sticker.zones.iter().find(|zone| zone.zone == "code") else {
                continue;
            };
            if zone.zone == "code" {
                continue;
            }
            for line in &zone.lines {
                let right = line.x_mm.mm() + line.width_mm.mm();
                let clear = right <= code.x_mm.mm() || line.baseline_mm.mm() <= code.y_mm.mm();
                assert!(clear, "`{}` reaches into the code", line.text);
            }
        }
    }
}

/// The words of an accepted answer that no sticker may lack.
fn wanted(answer: &Value) -> BTreeSet<String> {
    let build = &answer["build"];
    let mut all: BTreeSet<String> = BTreeSet::new();
    for key in ["contains", "may_contain", "shared_equipment"] {
        all.extend(build["allergens"]["wording"][key].as_str().map(str::to_owned));
    }
    all.extend(build["changes"].as_array().unwrap().iter().map(|one| one.as_str().unwrap().into()));
    all
}

fn hold_whole(made: &TicketStickers, answer: &Value, line: &Posted) {
    // A word may be broken where it is wider than the label.
    let bare = |text: &str| text.replace([' ', '·'], "");
    let said = bare(&said(made));
    for one in wanted(answer) {
        assert!(said.contains(&bare(&one)), "`{one}` is not on {said}");
    }
    let stickers = texts(made);
    for sticker in &stickers {
        let zones: BTreeSet<&str> = sticker.iter().map(|(zone, _)| *zone).collect();
        assert!(zones.contains("drink") && zones.contains("who"), "{sticker:?}");
        assert_eq!(zones.contains("allergy"), !line.allergies.is_empty(), "{sticker:?}");
    }
    if let Some(note) = line.note {
        assert!(said.contains(&bare(note)), "`{note}` is not on {said}");
    }
}

proptest! {
    #![proptest_config(chance::cases(300))]

    #[test]
    fn every_sticker_is_whole_legible_and_in_its_place(
        line in posted(),
        size in prop::sample::select(&[(58, 40, 203), (60, 40, 300), (50, 30, 203), (40, 60, 300)]),
        name in prop::sample::select(&["Ada", "Maximiliane-Charlotte von und zu Altdorf", "Ωμέγα", ""]),
    ) {
        let (width, height, dpi) = size;
        for lang in &DEMO.bars[line.site.as_str()].site.languages {
            let bytes = answer_bytes(&DEMO, &line.site, lang, &line.line());
            let answer: Value = serde_json::from_slice(&bytes).unwrap();
            prop_assume!(answer["verdict"] == "accept");
            let ticket = ticket(&line.site, lang, name, &line.line());
            let made = stickers(ticket, &label(width, height, dpi));
            // Out of season on the ticket's day.
            prop_assume!(made.is_whole());
            hold_legible(&made);
            hold_apart(&made);
            hold_whole(&made, &answer, &line);
        }
    }
}

fn crowded() -> Value {
    json!({ "line": "1", "drink": "cappuccino", "allergies": ["milk"], "note": "for Bo by the door",
        "modifiers": [
            { "id": "milk", "value": "oat-drink" }, { "id": "cocoa", "value": "off" },
            { "id": "shots", "count": 1 }, { "id": "service", "value": "takeaway" },
            { "id": "temperature", "value": "extra-hot" }, { "id": "sugar", "count": 2 },
        ] })
}

#[test]
fn what_has_no_room_goes_to_a_second_sticker_with_the_allergy_on_it() {
    let made = stickers(ticket("hospital-foyer", "en", "Ada", &crowded()), &label(50, 30, 203));
    let all = texts(&made);
    assert!(all.len() > 1, "{all:?}");
    for (at, sticker) in all.iter().enumerate() {
        let which = format!("sticker {}/{}", at + 1, all.len());
        assert_eq!(sticker[0], ("allergy", "ALLERGY: MILK".to_owned()));
        assert!(sticker.iter().any(|(_, text)| text.starts_with(&which)), "{sticker:?}");
    }
    assert!(said(&made).contains("Made on shared equipment with: Milk"), "{}", said(&made));
}

#[test]
fn a_name_can_neither_leave_its_place_nor_turn_what_stands_around_it() {
    let line = json!({ "line": "1", "drink": "latte" });
    let made = stickers(
        ticket("bookshop", "en", "Bo\u{202e}\nALLERGY\u{2066} 茶", &line),
        &StickersAsked::default(),
    );
    let who: Vec<String> = texts(&made)
        .concat()
        .into_iter()
        .filter(|(zone, _)| *zone == "who")
        .map(|one| one.1)
        .collect();
    assert_eq!(who.join(" "), "Bo ALLERGY □ · A-217 · 1 of 1 14:05");
    assert_eq!(made.view().stickers[0].boxed, ["茶"]);
    // Markup stays text, in every form that has any.
    let made =
        stickers(ticket("bookshop", "en", "<b>&\"Bo\"</b>", &line), &StickersAsked::default());
    let svg = String::from_utf8(made.as_bytes(StickerForm::Svg).unwrap()).unwrap();
    assert!(svg.contains("&lt;b&gt;&amp;&quot;Bo&quot;&lt;/b&gt;"));
    assert!(!svg.contains("<b>"));
}

/// RFC 3339 writes times at one place of the text, ISO 8601 at several; both are taken.
#[test]
fn the_time_is_that_of_its_sender_s_clock_however_it_is_written() {
    for (at, time) in [
        ("2026-11-25T14:05:00+01:00", "14:05"),
        ("2026-11-25t06:07:08.5z", "06:07"),
        ("20261125T140500Z", "14:05"),
        ("+002026-11-25T14:05:00Z", "14:05"),
    ] {
        let ticket = json!({ "site": "bookshop", "lang": "en", "order": { "at": at },
            "lines": [{ "line": "1", "drink": "latte" }] });
        let made = stickers(serde_json::from_value(ticket).unwrap(), &StickersAsked::default());
        assert!(said(&made).contains(&format!("1 of 1 · {time}")), "{at}: {}", said(&made));
    }
}

/// Source: the Unicode Bidirectional Algorithm (UAX #9): letters of a script that runs from right to
/// left are seen in that order, and such a line begins at the right.
#[test]
fn names_that_run_from_right_to_left_do() {
    let line = json!({ "line": "1", "drink": "latte" });
    let made = stickers(ticket("bookshop", "en", "דנה", &line), &StickersAsked::default());
    let all = marks(&made);
    let who = all[0].iter().find(|text| text.run.text.contains("דנה")).unwrap();
    let own = who.run.text.find('ד').unwrap();
    let places: Vec<usize> = who
        .run
        .glyphs
        .iter()
        .filter(|glyph| "דנה".contains(&who.run.text[glyph.text.clone()]))
        .map(|glyph| glyph.text.start - own)
        .collect();
    assert_eq!(places, [4, 2, 0]);
    // What stands beside it is in its own order, and none of its marks is told.
    assert_eq!(
        texts(&made)[0].iter().find(|(zone, _)| *zone == "who").unwrap().1,
        "דנה · A-217 · 1 of 1 · 14:05"
    );
    let digits: Vec<usize> = who
        .run
        .glyphs
        .iter()
        .filter(|glyph| who.run.text[glyph.text.clone()].chars().all(|c| c.is_ascii_digit()))
        .map(|glyph| glyph.text.start)
        .collect();
    assert!(digits.is_sorted(), "{digits:?}");
}

#[test]
fn a_second_print_and_an_override_say_so() {
    let line = json!({ "line": "1", "drink": "cappuccino", "override": "agreed",
        "modifiers": [{ "id": "foam", "value": "none" }] });
    let sent = Sent { may_override: true, ..Sent::default() };
    let asked = StickersAsked { reprint: true, ..StickersAsked::default() };
    let ticket = ticket("bookshop", "en", "Ada", &line);
    let made = ticket_stickers(&edition(&DEMO), ticket, &sent, &asked).unwrap();
    let all = texts(&made).concat();
    assert!(all.contains(&("stamp", "REPRINT".to_owned())), "{all:?}");
    assert!(all.contains(&("stamp", "OVERRIDE".to_owned())), "{all:?}");
}

#[test]
fn cups_are_counted_over_the_ticket_and_equal_ones_are_stickers_each() {
    let lines = json!([
        { "line": "a", "drink": "latte", "quantity": 2 },
        { "line": "b", "drink": "flat-white" },
    ]);
    let ticket = || -> Ticket {
        serde_json::from_value(json!({ "site": "bookshop", "lang": "en", "lines": lines })).unwrap()
    };
    let view = stickers(ticket(), &StickersAsked::default()).view();
    let places: Vec<_> =
        view.stickers.iter().map(|one| (one.line.as_str(), one.n, one.of)).collect();
    assert_eq!(places, [("a", 1, 3), ("a", 2, 3), ("b", 3, 3)]);
    let asked = StickersAsked { line: Some("b".to_owned()), ..StickersAsked::default() };
    let only = stickers(ticket(), &asked).view();
    assert_eq!((only.stickers.len(), only.stickers[0].n), (1, 3));
    let asked = StickersAsked { n: Some(4), ..StickersAsked::default() };
    let none = ticket_stickers(&edition(&DEMO), ticket(), &Sent::default(), &asked).unwrap_err();
    assert_eq!(none.kind, Kind::NoSticker.with("").kind);
}

#[test]
fn a_label_too_small_for_a_line_is_said_and_nothing_is_drawn() {
    let ticket = ticket("hospital-foyer", "de", "Ada", &crowded());
    let told = ticket_stickers(&edition(&DEMO), ticket, &Sent::default(), &label(30, 20, 203));
    let problem = told.unwrap_err();
    assert_eq!(problem.kind, Kind::NotDrawn.with("").kind);
    assert!(problem.detail.contains("30 × 20 mm"), "{}", problem.detail);
}

/// `茶` is in no face of `DejaVu Sans`.
#[test]
fn a_letter_of_the_book_that_the_font_lacks_is_named_and_nothing_is_drawn() {
    let mut book = demo_book();
    let latte = book["drinks"].as_array_mut().unwrap();
    let latte = latte.iter_mut().find(|one| one["id"] == "latte").unwrap();
    latte["names"]["en"] = "Latte 茶".into();
    let editions = edition(&Arc::new(load(&book, &[demo_site("bookshop")]).unwrap()));
    let line = json!({ "line": "1", "drink": "latte" });
    let asked = StickersAsked::default();
    let ticket = ticket("bookshop", "en", "Ada", &line);
    let told = ticket_stickers(&editions, ticket, &Sent::default(), &asked).unwrap_err();
    assert_eq!(told.kind, Kind::NotDrawn.with("").kind);
    assert!(told.detail.contains("`茶` (U+8336)"), "{}", told.detail);
}

#[test]
fn so_many_cups_and_so_many_dots_are_not_drawn_at_once() {
    let line = json!({ "line": "1", "drink": "latte", "quantity": 99 });
    let more = json!({ "line": "2", "drink": "latte", "quantity": 2 });
    let of = |lines: &Value| -> Ticket {
        serde_json::from_value(json!({ "site": "bookshop", "lines": lines })).unwrap()
    };
    let (editions, sent) = (edition(&DEMO), Sent::default());
    let asked = StickersAsked::default();
    let told = ticket_stickers(&editions, of(&json!([line, more])), &sent, &asked).unwrap_err();
    assert_eq!((told.kind, &*told.errors[0].pointer), (Kind::InvalidBody.with("").kind, "/lines"));
    assert!(ticket_stickers(&editions, of(&json!([line])), &sent, &asked).is_ok());
    // 210 × 297 mm have 8.7 million dots at 300 to the inch, and 34.8 million at 600.
    let one = json!([{ "line": "1", "drink": "latte" }]);
    for (dpi, is_drawn) in [(300, true), (600, false)] {
        let made = ticket_stickers(&editions, of(&one), &sent, &label(210, 297, dpi)).unwrap();
        for form in [StickerForm::Png, StickerForm::Pwg(PwgType::Black1)] {
            let drawn = made.as_bytes(form);
            assert_eq!(drawn.is_ok(), is_drawn, "{dpi} dpi: {drawn:?}");
        }
    }
}

#[test]
fn a_cup_for_a_declared_allergy_has_no_code() {
    let asked = StickersAsked {
        public_base: Some("https://cups.example".to_owned()),
        ..label(60, 60, 203)
    };
    let code = |allergies: &Value| {
        let line = json!({ "line": "1", "drink": "espresso", "allergies": allergies });
        let made = stickers(ticket("takeaway-window", "en", "Ada", &line), &asked);
        let view = made.view();
        (view.stickers[0].code, view.stickers[0].code_text.is_some())
    };
    assert_eq!(code(&json!([])), (Some("here"), true));
    assert_eq!(code(&json!(["honey"])), (None, false));
}

/// A made-up Saturday of 1,000 cups: at least 95 % take one sticker on both usual sizes, at every site
/// and in its first language.
#[test]
fn nearly_every_cup_of_a_saturday_takes_one_sticker() {
    let rows: Vec<Vec<&str>> =
        demo_files::saturday().lines().skip(1).map(|row| row.split(',').collect()).collect();
    let count = |row: &Vec<&str>| row[2].parse::<usize>().unwrap();
    assert_eq!(rows.iter().map(count).sum::<usize>(), 1_000);
    let lines: Vec<(Line, usize)> = rows.iter().map(|row| (sold(row), count(row))).collect();
    for bar in DEMO.bars.values() {
        let at = labels_of(&DEMO, bar)[0];
        for (width, height) in [(58_000, 40_000), (60_000, 40_000)] {
            let label = cupwright::label::sticker::Label { width, height, ..at.label };
            let fit = sold_fit(LabelOfSite { label, ..at }, &lines);
            let (single, all) = (fit.orders[0], fit.all());
            assert!(all > 500, "{}: only {all} of them are made", bar.site.id);
            assert!(single * 100 >= all * 95, "{}: {single} of {all}", bar.site.id);
        }
    }
}

/// The line of a row of the mix.
fn sold(row: &[&str]) -> Line {
    let modifier = |text: &str| match text.split_once('=') {
        Some((id, count)) if count.starts_with('+') => {
            json!({ "id": id, "count": count[1..].parse::<i32>().unwrap() })
        }
        Some((id, value)) => json!({ "id": id, "value": value }),
        None => json!({ "id": text }),
    };
    let modifiers: Vec<Value> =
        row[1].split(';').filter(|text| !text.is_empty()).map(modifier).collect();
    let line = json!({ "line": "1", "drink": row[0], "modifiers": modifiers });
    Line::from(serde_json::from_value::<TicketLine>(line).unwrap())
}

/// What is measured is what is drawn: the ink of each line, found in the picture, lies where its layout
/// says.
#[test]
fn ink_lies_where_the_layout_says() {
    for dpi in [203, 300] {
        let line = json!({ "line": "1", "drink": "latte", "modifiers": [{ "id": "milk", "value": "oat-drink" }] });
        let made = stickers(ticket("hospital-foyer", "en", "Ada", &line), &label(58, 40, dpi));
        let sheet = &made.stickers()[0].sticker.sheet;
        let dots = cupwright::label::draw::pixels(sheet, dpi).unwrap();
        let um = |dots: usize| i64::try_from(dots).unwrap() * 25_400 / i64::from(dpi);
        let width = usize::try_from(dots.width).unwrap();
        let slack = 2 * 25_400 / i64::from(dpi);
        for text in &marks(&made)[0] {
            let (left, top, right, bottom) = text.extent();
            let inside = dots.cover.iter().enumerate().filter(|(at, cover)| {
                let (x, y) = (um(at % width), um(at / width));
                **cover >= 128
                    && (top - slack..=bottom + slack).contains(&y)
                    && (left - slack..=right + slack).contains(&x)
            });
            let reach = inside.map(|(at, _)| um(at % width));
            let (least, most) = reach.fold((i64::MAX, 0), |(l, r), x| (l.min(x), r.max(x)));
            assert!((least - left).abs() <= 4 * slack, "{}: {least} from {left}", text.run.text);
            assert!((most - right).abs() <= 4 * slack, "{}: {most} to {right}", text.run.text);
        }
    }
}
