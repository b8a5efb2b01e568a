//! Stickers as a layout: what stands where, for whoever prints it by other means.

use serde::Serialize;
use serde_json::Value;
use utoipa::ToSchema;

use super::{BookStamp, SiteStamp};
use crate::{
    label::{
        Face, Mark, Text, plain,
        sticker::{CodePlace, Label, Sticker, ZoneBox},
    },
    units::Length,
};

/// The stickers of a ticket, laid out.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct StickersAnswer {
    /// The book in force.
    pub book: BookStamp,
    /// The site.
    pub site: SiteStamp,
    /// Language of the stickers.
    pub lang: String,
    /// The printer that they are laid out for, by id; null for a label that was asked for by size.
    pub printer: Option<String>,
    /// The label.
    pub label: LabelView,
    /// The stickers, in the order of the ticket; those of one cup follow each other.
    pub stickers: Vec<StickerView>,
    /// Lines that are asked about or refused, and so have no sticker, each as `/v1/validate` answers
    /// it.
    #[schema(value_type = Vec<Object>)]
    pub without: Vec<Value>,
}

/// A label.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct LabelView {
    /// Width.
    pub width_mm: Length,
    /// Height.
    pub height_mm: Length,
    /// Dots per inch.
    pub dpi: u16,
    /// Distance from which drink, changes and allergies are read.
    pub read_at_mm: Length,
}

/// One sticker.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct StickerView {
    /// Line of the ticket.
    pub line: String,
    /// Which of the ticket's cups it is, from 1.
    pub n: usize,
    /// How many cups the ticket has.
    pub of: usize,
    /// Which of the cup's stickers it is, from 1.
    pub part: usize,
    /// How many stickers the cup has: what has no room on one is on the next.
    pub parts: usize,
    /// What became of the 2-D code: `here`, or `no-room` where leaving it out keeps the cup on fewer
    /// stickers; null where there is none.
    pub code: Option<&'static str>,
    /// What can be read from the code; null where it is not on this sticker.
    pub code_text: Option<String>,
    /// Characters of name, reference or note that the font lacks; an empty box stands for each.
    pub boxed: Vec<String>,
    /// What stands on it, from top to bottom; on one of several, `who` may stand in two places.
    pub zones: Vec<ZoneView>,
}

/// A zone of a sticker; places are from its upper left corner.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct ZoneView {
    /// What stands there: `allergy`, `stamp`, `drink`, `cup`, `procedure`, `change`, `note`, `who`, `hot`,
    /// `allergens` or `code`.
    pub zone: &'static str,
    /// Left edge.
    pub x_mm: Length,
    /// Upper edge.
    pub y_mm: Length,
    /// Width.
    pub width_mm: Length,
    /// Height.
    pub height_mm: Length,
    /// Its lines.
    pub lines: Vec<TextView>,
}

/// A line of text.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct TextView {
    /// The text.
    pub text: String,
    /// Left end.
    pub x_mm: Length,
    /// Its baseline.
    pub baseline_mm: Length,
    /// Width, as the font measures it.
    pub width_mm: Length,
    /// Height of its capitals.
    pub cap_mm: Length,
    /// Height of a small x.
    pub x_height_mm: Length,
    /// Whether it is bold.
    pub bold: bool,
}

impl From<Label> for LabelView {
    fn from(label: Label) -> Self {
        let Label { width, height, dpi, read_at, held_at: _, margin: _ } = label;
        Self {
            width_mm: Length::from_um(width),
            height_mm: Length::from_um(height),
            dpi,
            read_at_mm: Length::from_um(read_at),
        }
    }
}

impl StickerView {
    /// The view of a cup's sticker.
    ///
    /// * `n`, `of`: which of the ticket's cups, from 1, and how many there are.
    pub fn of(
        line: &str,
        (n, of): (usize, usize),
        boxed: &[char],
        code_text: Option<&str>,
        sticker: &Sticker,
    ) -> Self {
        let Sticker { sheet, zones, part, parts, code } = sticker;
        let texts = sheet.marks.iter().filter_map(|mark| match mark {
            Mark::Text(text) => Some(text),
            Mark::Shape(..) => None,
        });
        let texts: Vec<&Text> = texts.collect();
        let (code, code_text) = match code {
            CodePlace::Here => (Some("here"), code_text.map(str::to_owned)),
            CodePlace::NoRoom => (Some("no-room"), None),
            CodePlace::None => (None, None),
        };
        Self {
            line: line.to_owned(),
            n,
            of,
            part: *part,
            parts: *parts,
            code,
            code_text,
            boxed: boxed.iter().map(char::to_string).collect(),
            zones: zones.iter().map(|zone| zone_view(zone, &texts)).collect(),
        }
    }
}

fn zone_view(zone: &ZoneBox, texts: &[&Text]) -> ZoneView {
    let ZoneBox { zone, x, y, width, height, lines } = zone;
    ZoneView {
        zone: zone.as_str(),
        x_mm: Length::from_um(*x),
        y_mm: Length::from_um(*y),
        width_mm: Length::from_um(*width),
        height_mm: Length::from_um(*height),
        lines: lines.iter().filter_map(|at| texts.get(*at)).map(|text| text_view(text)).collect(),
    }
}

fn text_view(text: &Text) -> TextView {
    let Text { run, em, x, baseline } = text;
    TextView {
        text: plain(&run.text),
        x_mm: Length::from_um(*x),
        baseline_mm: Length::from_um(*baseline),
        width_mm: Length::from_um(run.width(*em)),
        cap_mm: Length::from_um(run.face.cap(*em)),
        x_height_mm: Length::from_um(run.face.x_height(*em)),
        bold: run.face == Face::Bold,
    }
}
