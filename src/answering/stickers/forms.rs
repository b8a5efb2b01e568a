//! Stickers in the forms in which they are sent.

use super::{CupSticker, TicketStickers};
use crate::{
    label::{
        Fault, Mark, Sheet,
        draw::{PwgType, pdf, pixels, png_bits, pwg, svg},
        plain,
    },
    wire::{Kind, Problem},
};

/// Most dots that pictures of one request have: some hundredths of a second's work.
const MOST_DOTS: i64 = 40_000_000;

/// A form of stickers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StickerForm {
    /// The layout.
    Json,
    /// One sticker as SVG.
    Svg,
    /// One sticker as PNG, one bit a dot.
    Png,
    /// All as PDF, a page each.
    Pdf,
    /// All as PWG raster, a page each.
    Pwg(PwgType),
    /// All as text.
    Text,
}

impl StickerForm {
    /// Its content type.
    pub const fn content_type(self) -> &'static str {
        match self {
            Self::Json => "application/json",
            Self::Svg => "image/svg+xml",
            Self::Png => "image/png",
            Self::Pdf => "application/pdf",
            Self::Pwg(_) => "image/pwg-raster",
            Self::Text => "text/plain; charset=utf-8",
        }
    }
}

impl TicketStickers {
    /// The stickers in a form.
    ///
    /// * Errors: a picture of more than one sticker; anything but the layout where a line has none,
    ///   for nothing else can say so.
    pub fn as_bytes(&self, form: StickerForm) -> Result<Vec<u8>, Problem> {
        if form != StickerForm::Json {
            self.all_accepted("; a `line` in the query takes another alone")?;
        }
        let pictures = matches!(form, StickerForm::Png | StickerForm::Pwg(_));
        if pictures && self.dots() > MOST_DOTS {
            let detail = format!(
                "{} stickers on this label have more than {} million dots; ask for fewer at once by \
                 `line` or `n`.",
                self.stickers.len(),
                MOST_DOTS / 1_000_000
            );
            return Err(Kind::NotDrawn.with(detail));
        }
        match form {
            StickerForm::Json => {
                serde_json::to_vec(&self.view()).map_err(|fault| Kind::Internal.with(fault))
            }
            StickerForm::Svg => Ok(svg(&self.only()?.sticker.sheet).into_bytes()),
            StickerForm::Png => drawn(self.only()?.png(self.label.dpi)),
            StickerForm::Pdf => drawn(pdf(&self.sheets())),
            StickerForm::Pwg(of) => drawn(self.raster(of)),
            StickerForm::Text => Ok(self.text().into_bytes()),
        }
    }

    /// Holds them to being those of every line that was asked for.
    ///
    /// * `else_what`: what can be asked for instead.
    /// * Errors: a line that is asked about or refused.
    pub(in super::super) fn all_accepted(&self, else_what: &str) -> Result<(), Problem> {
        if self.without.is_empty() {
            return Ok(());
        }
        let ids = self.without.iter().filter_map(|line| line["line"].as_str());
        let ids: Vec<&str> = ids.take(20).collect();
        let detail = format!(
            "No sticker for line {}: it is asked about or refused. `/v1/validate` and the layout \
             as JSON say why{else_what}.",
            ids.join(", ")
        );
        Err(Kind::NotAllAccepted.with(detail))
    }

    /// Dots of all its pictures.
    fn dots(&self) -> i64 {
        let side = |um: i64| um * i64::from(self.label.dpi) / 25_400;
        let count = i64::try_from(self.stickers.len()).unwrap_or(i64::MAX);
        (side(self.label.width) * side(self.label.height)).saturating_mul(count)
    }

    fn sheets(&self) -> Vec<Sheet> {
        self.stickers.iter().map(|one| one.sticker.sheet.clone()).collect()
    }

    /// The one sticker that was asked for.
    fn only(&self) -> Result<&CupSticker, Problem> {
        match self.stickers.as_slice() {
            [one] => Ok(one),
            all => {
                let detail = format!(
                    "A picture is of one sticker, and these are {}: say which by `n` and `part`, or \
                     take them as application/pdf or image/pwg-raster.",
                    all.len()
                );
                Err(Kind::NotAcceptable.with(detail))
            }
        }
    }

    fn raster(&self, of: PwgType) -> Result<Vec<u8>, Fault> {
        let sheets = self.stickers.iter().map(|one| &one.sticker.sheet);
        pwg(sheets, self.label.dpi, of, (self.label.width, self.label.height))
    }

    /// Every sticker as the lines that stand on it, with an empty line between two.
    fn text(&self) -> String {
        let lines = |one: &CupSticker| {
            let texts = one.sticker.sheet.marks.iter().filter_map(|mark| match mark {
                Mark::Text(text) => Some(plain(&text.run.text)),
                Mark::Shape(..) => None,
            });
            texts.map(|text| text + "\n").collect::<String>()
        };
        let all: Vec<String> = self.stickers.iter().map(lines).collect();
        all.join("\n")
    }
}

impl CupSticker {
    /// The sticker as PNG, one bit a dot.
    pub fn png(&self, dpi: u16) -> Result<Vec<u8>, Fault> {
        png_bits(&pixels(&self.sticker.sheet, dpi)?)
    }
}

fn drawn(bytes: Result<Vec<u8>, Fault>) -> Result<Vec<u8>, Problem> {
    bytes.map_err(|fault| Kind::NotDrawn.with(format_args!("The stickers: {fault}.")))
}
