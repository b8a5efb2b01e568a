//! `stickers`: what is stuck on a ticket's cups.

use std::{
    io::{self, IsTerminal, Write},
    path::{Path, PathBuf},
};

use anstream::{eprintln, println};

use super::{
    Outcome,
    load::Files,
    ticket::{Given, given, tell},
    writing::{replace, unwritten},
};
use crate::{
    answering::{StickerForm, StickersAsked, label_size, ticket_stickers},
    config::public_base,
    label::draw::PwgType,
    wire::Problem,
};

/// Which stickers, and in which form.
#[derive(Debug, clap::Args)]
pub(super) struct StickerArgs {
    /// The ticket; standard input if not given or `-`.
    #[arg(value_name = "FILE")]
    ticket: Option<PathBuf>,
    /// Form in which to give them; a picture is of one sticker.
    #[arg(long, default_value = "text",
          value_parser = ["text", "json", "svg", "png", "pdf", "pwg", "pwg-grey"])]
    format: String,
    /// File to write them to; standard output if not given.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// The site's printer, by id; its first if not given.
    #[arg(long)]
    printer: Option<String>,
    /// A label of another size than the printer's, in millimetres, such as 58x40.
    #[arg(long, value_name = "WxH")]
    label: Option<String>,
    /// Other dots per inch than the printer's.
    #[arg(long, value_parser = clap::value_parser!(u16).range(100..=1200))]
    dpi: Option<u16>,
    /// Only the stickers of this line.
    #[arg(long)]
    line: Option<String>,
    /// Only those of this cup of the ticket, from 1.
    #[arg(long)]
    n: Option<usize>,
    /// Only this one of a cup's stickers, from 1.
    #[arg(long)]
    part: Option<usize>,
    /// They were printed before, and say so.
    #[arg(long)]
    reprint: bool,
    /// Where builds can be asked for by their 2-D codes, for sites that want them, such as
    /// `https://cups.example`; without it no sticker has one.
    #[arg(long, value_name = "URL", env = "CUPWRIGHT_PUBLIC_BASE", value_parser = base)]
    public_base: Option<String>,
}

/// Draws the stickers and writes them.
pub(super) fn stickers(files: &Files, args: StickerArgs) -> Outcome {
    let Given { editions, sent, ticket } = match given(files, args.ticket.as_deref()) {
        Ok(given) => given,
        Err(outcome) => return outcome,
    };
    let (form, out) = (form(&args.format), args.out.clone());
    let is_json = form == StickerForm::Json;
    let made = asked(args).and_then(|asked| {
        let made = ticket_stickers(&editions, ticket?, &sent, &asked)?;
        Ok((made.as_bytes(form)?, made.is_whole()))
    });
    match made {
        Ok((bytes, is_whole)) => {
            let bytes = if is_json { pretty(bytes) } else { bytes };
            let written = write(out.as_deref(), &bytes);
            if written == Outcome::Done && !is_whole { Outcome::NotAllAccepted } else { written }
        }
        Err(problem) => {
            tell(&problem, "ticket");
            Outcome::Complaints
        }
    }
}

fn asked(args: StickerArgs) -> Result<StickersAsked, Problem> {
    let StickerArgs { printer, label, dpi, line, n, part, reprint, public_base, .. } = args;
    let size = label.as_deref().map(label_size).transpose()?;
    Ok(StickersAsked { printer, size, dpi, line, n, part, reprint, public_base })
}

/// Where codes lead, as the command line takes it.
pub(super) fn base(text: &str) -> Result<String, &'static str> {
    public_base(text).ok_or("an address such as https://cups.example")
}

fn form(name: &str) -> StickerForm {
    match name {
        "json" => StickerForm::Json,
        "svg" => StickerForm::Svg,
        "png" => StickerForm::Png,
        "pdf" => StickerForm::Pdf,
        "pwg" => StickerForm::Pwg(PwgType::Black1),
        "pwg-grey" => StickerForm::Pwg(PwgType::Sgray8),
        _ => StickerForm::Text,
    }
}

fn pretty(bytes: Vec<u8>) -> Vec<u8> {
    let value: Option<serde_json::Value> = serde_json::from_slice(&bytes).ok();
    value.map_or(bytes, |value| format!("{value:#}\n").into_bytes())
}

/// Writes to a file, or to standard output unless that would fill a terminal with bytes.
fn write(out: Option<&Path>, bytes: &[u8]) -> Outcome {
    if let Some(path) = out {
        return match replace(path, bytes) {
            Ok(()) => {
                println!("{}", path.display());
                Outcome::Done
            }
            Err(fault) => unwritten(path, &fault),
        };
    }
    let mut stdout = io::stdout();
    if stdout.is_terminal() && std::str::from_utf8(bytes).is_err() {
        eprintln!("These are bytes and no text: name a file by `--out`, or send them on.");
        return Outcome::Failed;
    }
    match stdout.write_all(bytes).and_then(|()| stdout.flush()) {
        Ok(()) => Outcome::Done,
        Err(fault) => unwritten(Path::new("standard output"), &fault),
    }
}
