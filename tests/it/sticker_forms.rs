//! The forms of stickers, held to programs that read them and share no code with what writes them.

use std::{
    fs,
    path::{Path, PathBuf},
    process::Command,
};

use reqwest::header;
use serde_json::{Value, json};
use tempfile::TempDir;

use crate::{
    server::{Service, problem},
    support::tools::{self, python, tool_file},
};

fn ticket() -> Value {
    json!({ "site": "bookshop", "lang": "en",
        "order": { "ref": "A-217", "name": "Ada", "at": "2026-11-25T14:05:00+01:00" },
        "lines": [
            { "line": "1", "drink": "latte", "quantity": 2,
              "modifiers": [{ "id": "milk", "value": "oat-drink" }] },
            { "line": "2", "drink": "dry-cappuccino",
              "modifiers": [{ "id": "service", "value": "takeaway" }], "note": "for Bo" },
        ] })
}

struct Drawn {
    service: Service,
    folder: TempDir,
}

impl Drawn {
    fn start() -> Self {
        let service = Service::start_at("127.0.0.1:0", &["--public-base", "https://cups.example"]);
        Self { service, folder: tempfile::tempdir().unwrap() }
    }

    fn ask(&self, query: &str, accept: &str) -> reqwest::blocking::Response {
        let url = self.service.url(&format!("/v1/stickers{query}"));
        let request = self.service.client.post(url).header(header::ACCEPT, accept);
        request.json(&ticket()).send().unwrap()
    }

    /// A form as a file.
    fn file(&self, query: &str, accept: &str, name: &str) -> PathBuf {
        let told = self.ask(query, accept);
        assert_eq!(told.status(), 200, "{accept}");
        let kind = told.headers()[header::CONTENT_TYPE].to_str().unwrap().to_owned();
        assert!(kind.starts_with(accept), "{kind}");
        let path = self.folder.path().join(name);
        fs::write(&path, told.bytes().unwrap()).unwrap();
        path
    }

    fn layout(&self, query: &str) -> Value {
        self.ask(query, "application/json").json().unwrap()
    }
}

/// A black and white picture: its width, and whether each dot is black.
#[derive(PartialEq, Eq)]
struct Bits {
    width: usize,
    black: Vec<bool>,
}

/// Reads a PNG (the crate `png`, which also writes; its reading is what is relied on here).
fn png_bits(path: &Path) -> Bits {
    let mut decoder = png::Decoder::new(std::io::BufReader::new(fs::File::open(path).unwrap()));
    decoder.set_transformations(png::Transformations::normalize_to_color8());
    let mut reader = decoder.read_info().unwrap();
    let mut buffer = vec![0; reader.output_buffer_size().unwrap()];
    let frame = reader.next_frame(&mut buffer).unwrap();
    let channels = frame.line_size / usize::try_from(frame.width).unwrap();
    let black = buffer[..frame.buffer_size()].chunks(channels).map(|dot| dot[0] < 128).collect();
    Bits { width: usize::try_from(frame.width).unwrap(), black }
}

fn raster(path: &Path) -> Vec<Value> {
    let mut reader = python();
    reader.arg(tool_file("raster.py")).arg(path);
    serde_json::from_str(&tools::run(reader)).unwrap()
}

fn raster_bits(page: &Value) -> Bits {
    let width = usize::try_from(page["head"]["width"].as_u64().unwrap()).unwrap();
    let rows = page["rows"].as_array().unwrap().iter();
    let black = rows.flat_map(|row| row.as_str().unwrap().bytes().map(|bit| bit == b'1')).collect();
    Bits { width, black }
}

/// Sources: CUPS's reader of PWG raster, through libcups; PWG 5102.4-2012 for what its head must say;
/// ISO/IEC 15948 for the PNG.
#[test]
fn png_and_both_pwg_rasters_have_the_same_dots() {
    let drawn = Drawn::start();
    let one = raster(&drawn.file("", "image/pwg-raster", "black.pwg"));
    let grey = raster(&drawn.file("?raster=sgray_8", "image/pwg-raster", "grey.pwg"));
    assert_eq!((one.len(), grey.len()), (3, 3), "a page for each cup");
    for (at, (one, grey)) in one.iter().zip(&grey).enumerate() {
        let png = drawn.file(&format!("?n={}", at + 1), "image/png", &format!("{at}.png"));
        let bytes = fs::read(&png).unwrap();
        // 58 and 40 mm at 203 dots per inch: 463.5 and 319.7 dots.
        assert_eq!(&bytes[16..26], [0, 0, 1, 208, 0, 0, 1, 64, 1, 0], "464 × 320, one bit, grey");
        let per_metre = bytes.windows(4).position(|four| four == b"pHYs").unwrap() + 4;
        assert_eq!(&bytes[per_metre..per_metre + 4], 7_992_u32.to_be_bytes(), "203 ÷ 0.0254");
        let dots = png_bits(&png);
        assert!(dots.black.iter().filter(|black| **black).count() > 3_000, "there is ink");
        assert!(dots == raster_bits(one), "page {at} of black_1");
        assert!(dots == raster_bits(grey), "page {at} of sgray_8");
        let head = &one["head"];
        assert_eq!(
            (&head["class"], &head["name"]),
            (&json!("PwgRaster"), &json!("custom_58x40mm_58x40mm"))
        );
        assert_eq!((&head["pages"], &head["copies"]), (&json!(3), &json!(1)));
    }
}

/// Source: Ghostscript's own writer of PWG raster, given our PDF of the same label.
#[test]
fn the_head_of_a_raster_says_what_ghostscript_says_of_the_same_label() {
    let drawn = Drawn::start();
    let ours = raster(&drawn.file("", "image/pwg-raster", "ours.pwg"));
    let pdf = drawn.file("", "application/pdf", "ours.pdf");
    let theirs = drawn.folder.path().join("theirs.pwg");
    let mut writer = Command::new("gs");
    writer.args(["-q", "-dBATCH", "-dNOPAUSE", "-dSAFER", "-sDEVICE=pwgraster", "-r203x203"]);
    writer.args(["-dcupsColorSpace=3", "-dcupsBitsPerColor=1"]);
    writer.arg(format!("-sOutputFile={}", theirs.display())).arg(&pdf);
    tools::run(writer);
    let theirs = raster(&theirs);
    assert_eq!(ours.len(), theirs.len());
    for key in [
        "class",
        "cross_feed_dpi",
        "feed_dpi",
        "width_pt",
        "height_pt",
        "bits_per_color",
        "bits_per_pixel",
        "color_order",
        "color_space",
        "colors",
    ] {
        assert_eq!(ours[0]["head"][key], theirs[0]["head"][key], "{key}");
    }
    for key in ["width", "height"] {
        let (ours, theirs) =
            (ours[0]["head"][key].as_i64().unwrap(), theirs[0]["head"][key].as_i64().unwrap());
        assert!((ours - theirs).abs() <= 1, "{key}: {ours}, {theirs}");
    }
}

/// The share of black dots of either picture that the other has within one dot.
fn agreement(a: &Bits, b: &Bits) -> f64 {
    let near = |bits: &Bits, x: usize, y: usize| {
        (-1..=1_isize).any(|dy| {
            (-1..=1_isize).any(|dx| {
                let (x, y) = (x.checked_add_signed(dx), y.checked_add_signed(dy));
                let at = x.zip(y).filter(|(x, _)| *x < bits.width);
                at.is_some_and(|(x, y)| bits.black.get(y * bits.width + x) == Some(&true))
            })
        })
    };
    let share = |of: &Bits, other: &Bits| {
        let black = of.black.iter().enumerate().filter(|(_, black)| **black);
        let all: Vec<bool> =
            black.map(|(at, _)| near(other, at % of.width, at / of.width)).collect();
        let met = all.iter().filter(|met| **met).count();
        f64::from(u32::try_from(met).unwrap()) / f64::from(u32::try_from(all.len().max(1)).unwrap())
    };
    share(a, b).min(share(b, a))
}

/// Sources: poppler and librsvg, which draw the PDF and the SVG by code and fonts of their own.
#[test]
fn pdf_and_svg_look_like_the_png_when_others_draw_them() {
    let drawn = Drawn::start();
    let png = png_bits(&drawn.file("?n=3", "image/png", "ours.png"));
    let pdf = drawn.file("?n=3", "application/pdf", "ours.pdf");
    let mut drawer = Command::new("pdftoppm");
    let by_poppler = drawn.folder.path().join("poppler");
    drawer.args(["-r", "203", "-png", "-gray", "-singlefile"]).arg(&pdf).arg(&by_poppler);
    tools::run(drawer);
    let by_poppler = png_bits(&by_poppler.with_extension("png"));
    assert!(agreement(&png, &by_poppler) > 0.98, "{}", agreement(&png, &by_poppler));
    let svg = drawn.file("?n=3", "image/svg+xml", "ours.svg");
    let by_librsvg = drawn.folder.path().join("librsvg.png");
    let mut drawer = Command::new("rsvg-convert");
    drawer.args(["--dpi-x", "203", "--dpi-y", "203", "--background-color", "white", "--output"]);
    drawer.arg(&by_librsvg).arg(&svg);
    tools::run(drawer);
    let by_librsvg = png_bits(&by_librsvg);
    assert!(agreement(&png, &by_librsvg) > 0.98, "{}", agreement(&png, &by_librsvg));
}

/// Source: poppler's `pdfinfo` and `pdftotext`. 58 × 40 mm are 164.409 × 113.386 points of 1/72 inch.
#[test]
fn pdf_pages_are_as_large_as_the_label_and_every_word_can_be_found_in_them() {
    let drawn = Drawn::start();
    let pdf = drawn.file("", "application/pdf", "ours.pdf");
    let mut info = Command::new("pdfinfo");
    info.args(["-f", "1", "-l", "3"]).arg(&pdf);
    let info = tools::run(info);
    for page in 1..=3 {
        let size = info.lines().find(|line| line.starts_with(&format!("Page    {page} size:")));
        let size = size.unwrap_or_else(|| panic!("{info}"));
        let numbers: Vec<f64> =
            size.split_whitespace().filter_map(|word| word.parse().ok()).collect();
        assert!((numbers[1] - 164.409).abs() < 0.01, "{size}");
        assert!((numbers[2] - 113.386).abs() < 0.01, "{size}");
    }
    let mut text = Command::new("pdftotext");
    text.args(["-layout"]).arg(&pdf).arg("-");
    let text = tools::run(text);
    let layout = drawn.layout("");
    for sticker in layout["stickers"].as_array().unwrap() {
        for line in sticker["zones"]
            .as_array()
            .unwrap()
            .iter()
            .flat_map(|zone| zone["lines"].as_array().unwrap())
        {
            for word in line["text"].as_str().unwrap().split_whitespace() {
                assert!(text.contains(word), "`{word}` is not in {text}");
            }
        }
    }
}

/// Sources: ZXing-C++ and `zbarimg` read what is printed: the picture, and the raster as CUPS reads it.
#[test]
fn two_readers_read_the_code_off_a_sticker_and_its_address_leads_to_the_same_build() {
    let drawn = Drawn::start();
    for label in ["", "&label=60x40&dpi=300"] {
        let layout = drawn.layout(&format!("?n=1{label}"));
        let url = layout["stickers"][0]["code_text"].as_str().expect("a code").to_owned();
        let png = drawn.file(&format!("?n=1{label}"), "image/png", "code.png");
        let mut reader = python();
        reader.arg(tool_file("codes.py")).arg(&png);
        let read: Value = serde_json::from_str(&tools::run(reader)).unwrap();
        assert_eq!(read[0]["text"], url, "ZXing-C++");
        let mut reader = Command::new("zbarimg");
        reader.args(["--quiet", "--raw", "--nodbus"]).arg(&png);
        assert_eq!(tools::run(reader).trim_end(), url, "ZBar");
        let path = url.strip_prefix("HTTPS://CUPS.EXAMPLE").expect("the public base");
        let answer: Value = drawn.service.get(path).json().unwrap();
        let expanded = drawn.service.expand(&ticket());
        assert_eq!(answer["build"]["digest"], expanded["lines"][0]["build"]["digest"]);
    }
    // Nothing of the customer is in it.
    let layout = drawn.layout("?n=3");
    let third = &layout["stickers"][0];
    let text = third["code_text"].as_str().unwrap_or_default().to_uppercase();
    assert!(!text.contains("ADA") && !text.contains("217"), "{text}");
}

#[test]
fn what_cannot_be_given_in_a_form_is_said() {
    let drawn = Drawn::start();
    for kind in ["image/png", "image/svg+xml"] {
        problem(drawn.ask("", kind), 406, "not-acceptable");
        assert_eq!(drawn.ask("?n=2", kind).status(), 200);
    }
    problem(drawn.ask("", "image/webp"), 406, "not-acceptable");
    problem(drawn.ask("?n=9", "application/pdf"), 404, "no-sticker");
    problem(drawn.ask("?line=9", "application/pdf"), 404, "no-sticker");
    problem(drawn.ask("?printer=none", "application/pdf"), 404, "no-printer");
    for query in ["?label=58", "?label=58x400", "?label=9x9", "?dpi=99", "?label=058x40", "?n=0x1"]
    {
        problem(drawn.ask(query, "application/pdf"), 400, "invalid-query");
    }
    let mut refused = ticket();
    refused["lines"][1]["modifiers"] = json!([{ "id": "foam", "value": "none" }]);
    let ask = |kind: &str, query: &str| {
        let url = drawn.service.url(&format!("/v1/stickers{query}"));
        drawn.service.client.post(url).header(header::ACCEPT, kind).json(&refused).send().unwrap()
    };
    problem(ask("application/pdf", ""), 422, "not-all-accepted");
    let layout: Value = ask("application/json", "").json().unwrap();
    assert_eq!(layout["without"][0]["line"], "2");
    assert_eq!(layout["without"][0]["verdict"], "refuse");
    assert_eq!(layout["stickers"].as_array().unwrap().len(), 2);
    assert_eq!(ask("application/pdf", "?line=1").status(), 200);
}
