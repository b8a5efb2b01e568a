//! Printing a ticket's stickers: to which printers, as what, and what became of them in words.

use std::borrow::Cow;

use super::{
    respond::{Sent, unknown_site},
    stickers::{CupSticker, StickersAsked, printer_of, ticket_stickers},
};
use crate::{
    book::{Bar, Media, Printer},
    engine::phrase::{Gap, Phrase},
    in_force::{Editions, InForce},
    label::{
        Fault, Sheet as Drawn,
        draw::{PwgType, pdf, pixels, png_bits, pwg},
        sticker::Label,
    },
    print::{
        Address, Digested, Document, Dots, Form, Order, Reason, Refused, Sheet, Target, Trouble,
        View, Which,
    },
    units::Length,
    wire::{Kind, PassedOver, PrintAnswer, PrintedSticker, Problem, Ticket},
    words::{self, Catalogue},
};

/// How a ticket's stickers are to be printed.
#[derive(Clone, Debug)]
pub struct PrintAsked {
    /// The site's printer, by id; its first with an address if none is named.
    pub printer: Option<String>,
    /// Whether they were printed before, which they then say.
    pub reprint: bool,
    /// Where builds can be asked for by their codes; without it, stickers have no code.
    pub public_base: Option<String>,
    /// Digest of the sender's own key for this request.
    pub key: Option<Digested>,
    /// Digest of everything that was asked.
    pub asked: Digested,
}

/// The stickers of a ticket, ready for the queue.
///
/// * Errors: as for stickers; a line that is not accepted; a printer without an address.
pub fn print_order(
    editions: &Editions,
    ticket: Ticket,
    sent: &Sent,
    asked: &PrintAsked,
) -> Result<Order, Problem> {
    let held = &editions.now().held;
    let bar = held.bar(&ticket.site).ok_or_else(|| unknown_site(held, &ticket.site))?;
    let first = first_printer(bar, asked.printer.as_deref())?;
    // A ticket may be pinned to an earlier edition; the labels are those that are in the printer today.
    let wanted = StickersAsked {
        size: Some((first.media.width_mm, first.media.height_mm)),
        dpi: Some(first.dpi),
        reprint: asked.reprint,
        public_base: asked.public_base.clone(),
        ..StickersAsked::default()
    };
    let made = ticket_stickers(editions, ticket, sent, &wanted)?;
    made.all_accepted("")?;
    let label = made.label();
    let (lang, stickers) = made.into_parts();
    let sheets = stickers.into_iter().map(|one| sheet(one, label)).collect();
    Ok(Order {
        key: asked.key,
        asked: asked.asked,
        reprint: asked.reprint,
        site: bar.site.id.to_string(),
        lang,
        targets: targets(bar, first).into(),
        sheets,
    })
}

/// The printer that is asked first.
///
/// * Errors: none of this id; none with an address.
fn first_printer<'b>(bar: &'b Bar, id: Option<&str>) -> Result<&'b Printer, Problem> {
    let with_address = bar.site.printers.iter().find(|one| one.uri.is_some());
    let printer = match (id, with_address) {
        (None, Some(printer)) => printer,
        _ => printer_of(bar, id)?,
    };
    if printer.uri.as_deref().and_then(Address::read).is_some() {
        return Ok(printer);
    }
    let at = bar.site.printers.iter().position(|one| one.id == printer.id).unwrap_or_default();
    let detail = format!(
        "The sheet of `{}` does not say where `{}` takes jobs: give `/printers/{at}/uri`, such as \
         `ipp://printer.example/ipp/print`.",
        bar.site.id, printer.id
    );
    Err(Kind::NoPrinterAddress.with(detail))
}

/// The printers that may print what is laid out for `first`: itself, those of its station, then all
/// others of the site, if their labels are of the same size.
fn targets(bar: &Bar, first: &Printer) -> Vec<Target> {
    let rank = |one: &Printer| match () {
        () if one.id == first.id => 0,
        () if one.station.is_some() && one.station == first.station => 1,
        () => 2,
    };
    let same = bar.site.printers.iter().filter(|one| one.media == first.media);
    let mut all: Vec<(i32, Target)> = same
        .filter_map(|one| {
            let address = Address::read(one.uri.as_deref()?)?;
            let Printer { id, media, dpi, .. } = one;
            Some((rank(one), Target { printer: id.clone(), address, media: *media, dpi: *dpi }))
        })
        .collect();
    all.sort_by_key(|(rank, _)| *rank);
    all.into_iter().map(|(_, target)| target).collect()
}

/// A sticker as a document; the words of its line are in what is drawn alone.
struct Paper {
    drawn: Drawn,
    label: Label,
}

impl Document for Paper {
    fn in_form(&self, form: Form) -> Result<Vec<u8>, String> {
        let Self { drawn, label } = self;
        let made = match form {
            Form::PwgRaster { dpi, dots } => {
                let of = match dots {
                    Dots::Black => PwgType::Black1,
                    Dots::Grey => PwgType::Sgray8,
                };
                let one = std::slice::from_ref(drawn).iter();
                pwg(one, dpi, of, (label.width, label.height))
            }
            Form::Pdf => pdf(std::slice::from_ref(drawn)),
            Form::Png { dpi } => pixels(drawn, dpi).and_then(|pixels| png_bits(&pixels)),
        };
        made.map_err(|fault| without_words(&fault))
    }
}

/// What is wrong with a drawing, without the text that it is about, which may be a customer's.
fn without_words(fault: &Fault) -> String {
    match fault {
        Fault::NoGlyph { char, .. } => {
            format!("The font has no character U+{:04X}.", u32::from(*char))
        }
        Fault::NoRoom { width_mm, height_mm, .. } => {
            format!("A text has no room on a label of {width_mm} × {height_mm} mm.")
        }
        Fault::Leaves { .. } => "A text leaves its place.".to_owned(),
        Fault::Unwritten(why) => format!("It cannot be written: {why}."),
    }
}

fn sheet(cup: CupSticker, label: Label) -> Sheet {
    let CupSticker { line, n, of, sticker, .. } = cup;
    let which = Which { line, cup: [n, of], part: [sticker.part, sticker.parts] };
    Sheet { which, document: Box::new(Paper { drawn: sticker.sheet, label }) }
}

/// The problem of stickers that were not taken.
pub fn not_taken(refused: Refused) -> Problem {
    match refused {
        Refused::Full => Kind::PrintsFull.with(
            "Send it again when some are printed. The queue is in memory, as large as `prints.queue` \
             says.",
        ),
        Refused::TooMany(most) => {
            let detail = format!("At most {most} stickers are taken at once, as `prints.queue` says.");
            Kind::InvalidBody.with(detail)
        }
        Refused::NoThread => Kind::Internal.with(
            "The system gives no further thread to print with. Nothing was taken.",
        ),
        Refused::OtherBody => Kind::KeyForOther.with(
            "This Idempotency-Key came before with another ticket, printer or `reprint`. Give each \
             print a key of its own.",
        ),
    }
}

/// How a print stands, in the language of its ticket, or in English where the book has lost that.
pub fn print_answer(held: &InForce, view: View) -> PrintAnswer {
    let bar = held.bar(&view.site);
    let found = bar.and_then(|bar| held.catalogue(bar, Some(&view.lang)).ok());
    let catalogue = found.map_or_else(|| Cow::Owned(Catalogue::plain()), Cow::Borrowed);
    let catalogue = catalogue.as_ref();
    let over = view.is_over();
    let View { id, site, sheets, .. } = view;
    let stickers = sheets.into_iter().map(|(which, standing)| {
        let Which { line, cup: [n, of], part: [part, parts] } = which;
        let trouble = standing.trouble.as_ref();
        let passed = standing.passed.iter().map(|(printer, why)| PassedOver {
            printer: printer.to_string(),
            reason: why.as_str(),
            text: said(catalogue, why),
        });
        PrintedSticker {
            line,
            n,
            of,
            part,
            parts,
            state: standing.stage.as_str(),
            printer: standing.printer.as_ref().map(ToString::to_string),
            reason: trouble.map(Trouble::as_str),
            matters: trouble
                .map_or(&[][..], Trouble::reasons)
                .iter()
                .map(|one| one.as_str())
                .collect(),
            text: trouble.map(|why| said(catalogue, why)),
            passed_over: passed.collect(),
        }
    });
    let stickers = stickers.collect();
    let lang = catalogue.lang.to_string();
    PrintAnswer { print_id: id.to_string(), site, lang, kept_in: "memory", over, stickers }
}

/// What is the matter, as a sentence or several.
fn said(catalogue: &Catalogue, trouble: &Trouble) -> String {
    let say = |phrase| words::gaps(catalogue, phrase, &[]);
    let each = |reasons: &[Reason]| -> Vec<String> {
        reasons.iter().map(|reason| say(reason_phrase(*reason))).collect()
    };
    match trouble {
        Trouble::Matter(reasons) => each(reasons).join(" "),
        Trouble::Aborted(reasons) => {
            let first = vec![say(Phrase::PrintAborted)];
            first.into_iter().chain(each(reasons)).collect::<Vec<_>>().join(" ")
        }
        Trouble::Kept(reasons) => {
            let first = vec![say(Phrase::PrintKept)];
            first.into_iter().chain(each(reasons)).collect::<Vec<_>>().join(" ")
        }
        Trouble::WrongMedia { wanted, found } => wrong_media(catalogue, *wanted, *found),
        Trouble::Declined(status) => {
            let n = Gap::Number(i64::from(*status) * 1_000, 0);
            words::gaps(catalogue, Phrase::PrintDeclined, &[("n", n)])
        }
        Trouble::Unreachable => say(Phrase::PrintUnreachable),
        Trouble::NotUnderstood => say(Phrase::PrintNotUnderstood),
        Trouble::Locked => say(Phrase::PrintLocked),
        Trouble::NoPath => say(Phrase::PrintNoPath),
        Trouble::Unsaid => say(Phrase::PrintUnsaid),
        Trouble::WrongDpi { wanted, found } => {
            let n = |dpi: u16| Gap::Number(i64::from(dpi) * 1_000, 0);
            let gaps = [("dpi", n(*wanted)), ("found_dpi", n(*found))];
            words::gaps(catalogue, Phrase::PrintWrongDpi, &gaps)
        }
        Trouble::NotAsked => say(Phrase::PrintNotAsked),
        Trouble::Busy => say(Phrase::PrintBusy),
        Trouble::NotAccepting => say(Phrase::PrintNotAccepting),
        Trouble::NoForm => say(Phrase::PrintNoForm),
        Trouble::NotMade(why) => format!("{} {why}", say(Phrase::PrintNotMade)),
        Trouble::Cancelled => say(Phrase::PrintCancelled),
        Trouble::TooSlow => say(Phrase::PrintTooSlow),
        Trouble::AnswerLost => say(Phrase::PrintAnswerLost),
        Trouble::Silent => say(Phrase::PrintSilent),
        Trouble::HalfOut => say(Phrase::PrintHalfOut),
        Trouble::NotTried => say(Phrase::PrintNotTried),
    }
}

fn wrong_media(catalogue: &Catalogue, wanted: Media, found: Media) -> String {
    let mm = |length: Length| Gap::Number(length.um(), 1);
    let gaps = [
        ("width", mm(wanted.width_mm)),
        ("height", mm(wanted.height_mm)),
        ("found_width", mm(found.width_mm)),
        ("found_height", mm(found.height_mm)),
    ];
    words::gaps(catalogue, Phrase::PrintWrongMedia, &gaps)
}

const fn reason_phrase(reason: Reason) -> Phrase {
    match reason {
        Reason::CoverOpen => Phrase::PrintCoverOpen,
        Reason::MediaEmpty => Phrase::PrintMediaEmpty,
        Reason::MediaJam => Phrase::PrintMediaJam,
        Reason::MediaNeeded => Phrase::PrintMediaNeeded,
        Reason::SupplyEmpty => Phrase::PrintSupplyEmpty,
        Reason::TrayMissing => Phrase::PrintTrayMissing,
        Reason::OutputFull => Phrase::PrintOutputFull,
        Reason::Temperature => Phrase::PrintTemperature,
        Reason::Paused => Phrase::PrintPaused,
        Reason::NoConnection => Phrase::PrintNoConnection,
        Reason::Held => Phrase::PrintHeld,
        Reason::Unreadable => Phrase::PrintUnreadable,
        Reason::Other => Phrase::PrintOther,
    }
}
