//! The stickers of a ticket: what is said of each cup, laid out for the site's label printer.

mod content;
mod forms;
mod proof;

use content::{Cup, said};
use serde_json::Value;

use super::{
    coded::code_url,
    respond::{Placed, Sent},
};
use crate::{
    book::{Bar, Printer, StickerRules},
    engine::{Build, Line, Verdict},
    in_force::Editions,
    label::{
        Fault,
        sticker::{Code, Label, Sticker, stickers},
    },
    units::Length,
    wire::{
        BookStamp, Fault as BodyFault, Kind, LabelView, Problem, SiteStamp, StickerView,
        StickersAnswer, Ticket,
    },
};

pub use forms::StickerForm;
pub use proof::{DrinkFit, LabelOfSite, Unfit, labels_of, sold_fit, stickers_fit};

/// Which stickers of a ticket are wanted, and for which label.
#[derive(Clone, Debug, Default)]
pub struct StickersAsked {
    /// The site's printer, by id; its first if none is named.
    pub printer: Option<String>,
    /// The size of its labels, where it is not the printer's: width and height.
    pub size: Option<(Length, Length)>,
    /// Its dots per inch, where they are not the printer's.
    pub dpi: Option<u16>,
    /// Only those of this line.
    pub line: Option<String>,
    /// Only those of this cup of the ticket, from 1.
    pub n: Option<usize>,
    /// Only this one of a cup's stickers, from 1.
    pub part: Option<usize>,
    /// Whether they were printed before, which they then say.
    pub reprint: bool,
    /// Where builds can be asked for by their codes; without it, there is no code.
    pub public_base: Option<String>,
}

/// Reads the size of a label such as `58x40`: width and height in whole millimetres.
///
/// * Errors: another form, or a size that no sticker has.
pub fn label_size(text: &str) -> Result<(Length, Length), Problem> {
    let is_plain = |text: &&str| text.bytes().all(|byte| byte.is_ascii_digit());
    let mm = |text: &str| {
        let digits = Some(text).filter(is_plain).filter(|text| !text.starts_with('0'));
        digits.and_then(|digits| digits.parse::<i64>().ok())
    };
    let sides = text.split_once('x').and_then(|(width, height)| mm(width).zip(mm(height)));
    let fits =
        |(width, height): &(i64, i64)| (30..=210).contains(width) && (20..=300).contains(height);
    let um = |mm: i64| Length::from_um(mm * 1_000);
    sides.filter(fits).map(|(width, height)| (um(width), um(height))).ok_or_else(|| {
        let detail = "A label is given as width and height in millimetres, 30x20 to 210x300, such as \
                      `58x40`.";
        Kind::InvalidQuery.with(detail)
    })
}

/// The stickers of a ticket.
#[derive(Clone, Debug)]
pub struct TicketStickers {
    label: Label,
    printer: Option<String>,
    lang: String,
    book: BookStamp,
    site: SiteStamp,
    stickers: Vec<CupSticker>,
    without: Vec<Value>,
}

/// A sticker of one cup.
#[derive(Clone, Debug)]
pub struct CupSticker {
    /// Line of the ticket.
    pub line: String,
    /// Which of the ticket's cups, from 1.
    pub n: usize,
    /// How many cups the ticket has.
    pub of: usize,
    /// What is drawn.
    pub sticker: Sticker,
    boxed: Vec<char>,
    code_text: Option<String>,
}

/// Most stickers that are made at once.
pub const MOST_CUPS: usize = 100;

/// The stickers of a ticket's cups.
///
/// * Errors: as for an answer; no such printer, line, cup or part; more cups than are drawn at once;
///   a text that cannot be drawn without loss.
pub fn ticket_stickers(
    editions: &Editions,
    ticket: Ticket,
    sent: &Sent,
    asked: &StickersAsked,
) -> Result<TicketStickers, Problem> {
    let placed = Placed::of(editions, ticket, sent)?;
    let (printer, label) = label_of(placed.bar, asked)?;
    let cups: usize = placed.lines.iter().map(|line| cups_of(line.quantity)).sum();
    if cups > MOST_CUPS {
        let fault =
            BodyFault::at("/lines", format!("found {cups} cups; expected at most {MOST_CUPS}"));
        return Err(Kind::InvalidBody
            .with("So many stickers are not made at once.")
            .about([fault]));
    }
    let mut made = TicketStickers {
        label,
        printer,
        lang: placed.catalogue.lang.to_string(),
        book: BookStamp::of(placed.bar),
        site: SiteStamp {
            id: placed.bar.site.id.to_string(),
            digest: placed.bar.site_digest.to_string(),
        },
        stickers: Vec::new(),
        without: Vec::new(),
    };
    let verdicts: Vec<Verdict<'_>> = placed.lines.iter().map(|line| placed.verdict(line)).collect();
    let mut n = 0;
    for (at, (line, verdict)) in placed.lines.iter().zip(&verdicts).enumerate() {
        let is_wanted = asked.line.as_ref().is_none_or(|wanted| *wanted == line.id);
        let first = n;
        n += cups_of(line.quantity);
        match verdict {
            Verdict::Accept { build, .. } if is_wanted => {
                let wanted = (first..n).filter(|cup| asked.n.is_none_or(|n| n == cup + 1));
                for cup in wanted {
                    made.add(&placed, line, build, (cup + 1, cups), asked)?;
                }
            }
            Verdict::Accept { .. } => {}
            Verdict::Ask { .. } | Verdict::Refuse { .. } => {
                made.without.extend(placed.instead(at, line, verdict).filter(|_| is_wanted));
            }
        }
    }
    if made.stickers.is_empty() && made.without.is_empty() {
        let detail = format!("The ticket has {cups} cups on lines {}.", ids(&placed.lines));
        return Err(Kind::NoSticker.with(detail));
    }
    Ok(made)
}

fn ids(lines: &[Line]) -> String {
    let ids: Vec<&str> = lines.iter().take(20).map(|line| line.id.as_str()).collect();
    ids.join(", ")
}

fn cups_of(quantity: u32) -> usize {
    usize::try_from(quantity).unwrap_or_default()
}

/// Dots per inch where neither anybody nor a printer says how many.
const USUAL_DPI: u16 = 203;

/// The label that stickers are laid out for, and the printer that has it: the one that is named, or the
/// site's first unless a size is given.
fn label_of(bar: &Bar, asked: &StickersAsked) -> Result<(Option<String>, Label), Problem> {
    let printer = match (&asked.printer, asked.size) {
        (None, Some(_)) => None,
        (id, _) => Some(printer_of(bar, id.as_deref())?),
    };
    let own = printer.map(|one| (one.media.width_mm, one.media.height_mm));
    // One of the two is there: without a size there is a printer.
    let (width, height) = asked.size.or(own).unwrap_or_default();
    let StickerRules { read_at_mm, held_at_mm, margin_mm, code: _ } = bar.site.stickers;
    let label = Label {
        width: width.um(),
        height: height.um(),
        dpi: asked.dpi.or(printer.map(|one| one.dpi)).unwrap_or(USUAL_DPI),
        read_at: read_at_mm.um(),
        held_at: held_at_mm.um(),
        margin: margin_mm.um(),
    };
    Ok((printer.map(|one| one.id.to_string()), label))
}

/// The site's printer of this id, or its first.
pub(super) fn printer_of<'b>(bar: &'b Bar, id: Option<&str>) -> Result<&'b Printer, Problem> {
    let printers = &bar.site.printers;
    let found = match id {
        Some(id) => printers.iter().find(|one| *one.id == *id),
        None => printers.first(),
    };
    found.ok_or_else(|| {
        let known: Vec<&str> = printers.iter().map(|one| &*one.id).collect();
        let detail = match (id, known.is_empty()) {
            (_, true) => "The site's sheet has no `printers`; name a `label`.".to_owned(),
            (id, false) => {
                format!("`{}` is none of {}.", id.unwrap_or_default(), known.join(", "))
            }
        };
        Kind::NoPrinter.with(detail)
    })
}

impl TicketStickers {
    fn add(
        &mut self,
        placed: &Placed<'_>,
        line: &Line,
        build: &Build<'_>,
        (n, of): (usize, usize),
        asked: &StickersAsked,
    ) -> Result<(), Problem> {
        let Placed { bar, catalogue, order, .. } = placed;
        let (info, reprint) = (order.as_ref(), asked.reprint);
        let said = said(Cup { bar, catalogue, info, line, place: (n, of), reprint }, build);
        let mut content = said.content;
        let base = asked.public_base.as_deref().filter(|_| bar.site.stickers.code);
        let url = base.and_then(|base| code_url(base, bar, build, &catalogue.lang));
        content.code = url.and_then(|url| Code::of(&url, self.label.dpi));
        let set = stickers(&content, self.label).map_err(|fault| not_drawn(&line.id, &fault))?;
        let wanted = set.into_iter().filter(|one| asked.part.is_none_or(|part| part == one.part));
        self.stickers.extend(wanted.map(|sticker| CupSticker {
            line: line.id.clone(),
            n,
            of,
            sticker,
            boxed: said.boxed.clone(),
            code_text: content.code.as_ref().map(|code| code.text.clone()),
        }));
        Ok(())
    }

    /// The layout.
    pub fn view(&self) -> StickersAnswer {
        let Self { label, printer, lang, book, site, stickers, without, .. } = self;
        let view = |one: &CupSticker| {
            let CupSticker { line, n, of, sticker, boxed, code_text } = one;
            StickerView::of(line, (*n, *of), boxed, code_text.as_deref(), sticker)
        };
        StickersAnswer {
            book: book.clone(),
            site: site.clone(),
            lang: lang.clone(),
            printer: printer.clone(),
            label: LabelView::from(*label),
            stickers: stickers.iter().map(view).collect(),
            without: without.clone(),
        }
    }

    /// The stickers, those of one cup after each other.
    pub fn stickers(&self) -> &[CupSticker] {
        &self.stickers
    }

    /// Whether every line that was asked for has its stickers.
    pub fn is_whole(&self) -> bool {
        self.without.is_empty()
    }

    /// Their language, and the stickers themselves.
    pub(super) fn into_parts(self) -> (String, Vec<CupSticker>) {
        (self.lang, self.stickers)
    }

    /// The label that they are laid out for.
    pub const fn label(&self) -> Label {
        self.label
    }
}

/// The problem of a sticker that cannot be drawn without loss.
fn not_drawn(line: &str, fault: &Fault) -> Problem {
    let remedy = match fault {
        Fault::NoRoom { .. } => " Name a printer with larger labels, or shorten what is said.",
        Fault::NoGlyph { .. } => " Say it in the book with other letters.",
        Fault::Leaves { .. } | Fault::Unwritten(_) => "",
    };
    Kind::NotDrawn.with(format_args!("The sticker of line `{line}`: {fault}.{remedy}"))
}
