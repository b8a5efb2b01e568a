//! `check --stickers`: whether every sticker has room on its label, tried and measured.

use std::{
    fs,
    path::{Path, PathBuf},
    sync::{
        Mutex, PoisonError,
        atomic::{AtomicUsize, Ordering},
    },
    thread,
};

use anstream::{eprintln, println};

use super::{
    Outcome,
    load::{Files, complain},
    mix_csv,
    progress::progress,
    writing::unwritten,
};
use crate::{
    answering::{DrinkFit, LabelOfSite, Unfit, labels_of, sold_fit, stickers_fit},
    demo,
    engine::Line,
    in_force::InForce,
    label::{
        Fault,
        draw::{pixels, png_bits},
        sticker::Label,
    },
    needs::Sale,
    wire::NeedsLine,
};

/// What is tried beside every drink.
#[derive(Debug, Default, clap::Args)]
pub(super) struct StickerCheck {
    /// Try whether the stickers of every drink with every modifier have room on the sites' labels.
    #[arg(long)]
    pub(super) stickers: bool,
    /// A sales mix as CSV, of which the share is told that takes one sticker a cup; a made-up Saturday
    /// with the demo book.
    #[arg(long, value_name = "FILE", requires = "stickers")]
    mix: Option<PathBuf>,
    /// Folder for pictures of the most crowded stickers of each label.
    #[arg(long, value_name = "DIR", requires = "stickers")]
    pictures: Option<PathBuf>,
}

/// A label with how everything fits on it.
struct Tried<'a> {
    at: LabelOfSite<'a>,
    fit: DrinkFit,
}

/// Tries everything and prints what does not fit, where and by how much.
pub(super) fn check(files: &Files, held: &InForce, asked: &StickerCheck) -> Outcome {
    let sold = match sold(files, held, asked) {
        Ok(sold) => sold,
        Err(outcome) => return outcome,
    };
    let labels: Vec<LabelOfSite<'_>> =
        held.bars.values().flat_map(|bar| labels_of(held, bar)).collect();
    if labels.is_empty() {
        println!("No site has a label printer.");
        return Outcome::Done;
    }
    let tried = tried(&labels);
    for one in &tried {
        print_label(one);
    }
    for at in labels.iter().filter(|_| !sold.is_empty()) {
        print_sold(*at, &sold);
    }
    if let Some(folder) = &asked.pictures
        && let Err(outcome) = picture(folder, &tried)
    {
        return outcome;
    }
    let failed = tried.iter().flat_map(|one| &one.fit.unfit).any(|one| one.takes.is_none());
    if failed { Outcome::Complaints } else { Outcome::Done }
}

/// The lines of the mix, with how often each is sold.
fn sold(
    files: &Files,
    held: &InForce,
    asked: &StickerCheck,
) -> Result<Vec<(Line, usize)>, Outcome> {
    let (name, text) = match &asked.mix {
        Some(path) => {
            let text = fs::read_to_string(path).map_err(|fault| {
                eprintln!("Cannot read the mix {}: {fault}", path.display());
                Outcome::Failed
            })?;
            (path.display().to_string(), text)
        }
        None if files.book.is_none() => {
            ("a made-up Saturday".to_owned(), demo::saturday().to_owned())
        }
        None => return Ok(Vec::new()),
    };
    let lines = mix_csv::lines(&name, &text).map_err(|complaints| complain(&[complaints]))?;
    let lines = lines.into_iter().map(serde_json::from_value::<NeedsLine>);
    let lines: Vec<NeedsLine> = lines.collect::<Result<_, _>>().map_err(|fault| {
        eprintln!("The mix {name} cannot be read: {fault}");
        Outcome::Complaints
    })?;
    let is_known = |id: &str| held.book().drinks.iter().any(|drink| *drink.id == *id);
    let unknown: Vec<&NeedsLine> = lines.iter().filter(|line| !is_known(&line.drink)).collect();
    for line in &unknown {
        eprintln!("{name}, line {}: the book has no drink `{}`", line.line, line.drink);
    }
    if !unknown.is_empty() {
        return Err(Outcome::Complaints);
    }
    let sale = |line: NeedsLine| {
        let Sale { line, count, per_day: _ } = Sale::from(line);
        (line, usize::try_from(count).unwrap_or(usize::MAX))
    };
    Ok(lines.into_iter().map(sale).collect())
}

/// Every drink on every label, on all cores.
fn tried<'a>(labels: &[LabelOfSite<'a>]) -> Vec<Tried<'a>> {
    let work: Vec<(usize, &str)> = labels
        .iter()
        .enumerate()
        .flat_map(|(place, at)| at.bar.drink_ids().map(move |drink| (place, &**drink)))
        .collect();
    let bar = progress(work.len());
    let next = AtomicUsize::new(0);
    let all = labels.iter().map(|at| Tried { at: *at, fit: DrinkFit::default() }).collect();
    let all: Mutex<Vec<Tried<'a>>> = Mutex::new(all);
    let threads = thread::available_parallelism().map_or(1, usize::from);
    thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                while let Some((place, drink)) = work.get(next.fetch_add(1, Ordering::Relaxed)) {
                    let Some(at) = labels.get(*place) else { break };
                    let fit = stickers_fit(*at, drink);
                    let mut all = all.lock().unwrap_or_else(PoisonError::into_inner);
                    if let Some(one) = all.get_mut(*place) {
                        one.fit.add(fit);
                    }
                    bar.inc(1);
                }
            });
        }
    });
    bar.finish_and_clear();
    let mut all = all.into_inner().unwrap_or_else(PoisonError::into_inner);
    for one in &mut all {
        // Threads end in any order, and what is printed must not tell.
        one.fit.unfit.sort_by(|a, b| {
            let key = |one: &Unfit| (one.takes.is_some(), -one.over);
            key(a).cmp(&key(b)).then_with(|| a.order.cmp(&b.order))
        });
    }
    all
}

fn name(at: LabelOfSite<'_>) -> String {
    let Label { width, height, dpi, .. } = at.label;
    let lang = &at.catalogue.lang;
    format!("{}, {lang}, {} × {} mm, {dpi} dpi", at.bar.site.id, width / 1_000, height / 1_000)
}

/// Orders that are told of for each label.
const TOLD: usize = 3;

/// Orders that cannot be drawn, and are told of for each label.
const MOST_TOLD: usize = 20;

fn print_label(one: &Tried<'_>) {
    let Tried { at, fit } = one;
    let [single, two, three, more] = fit.orders;
    println!(
        "{}: {} orders with at most one modifier: {single} take one sticker a cup, {two} two, \
         {three} three, {more} more; {} with all that goes together take at most {}",
        name(*at),
        fit.all(),
        fit.crowded,
        fit.most
    );
    let failed = fit.unfit.iter().filter(|one| one.takes.is_none()).count();
    if failed > MOST_TOLD {
        println!("  {failed} cannot be drawn; the first {MOST_TOLD} of them:");
    }
    for one in fit.unfit.iter().take(failed.clamp(TOLD, MOST_TOLD)) {
        let Unfit { order, over, takes, fault, .. } = one;
        let over = format!("{}.{}", over / 1_000, over % 1_000 / 100);
        match (takes, fault) {
            (Some(takes), _) => println!("  {takes} stickers, {over} mm too high for one: {order}"),
            (None, fault) => println!("  NOT DRAWN: {order}: {}", fault.as_deref().unwrap_or("")),
        }
    }
}

/// The share of what is sold that takes one sticker a cup: on the site's label, and on two usual ones.
fn print_sold(at: LabelOfSite<'_>, sold: &[(Line, usize)]) {
    let all: usize = sold.iter().map(|(_, count)| count).sum();
    let usual = [(58_000, 40_000), (60_000, 40_000)];
    let usual = usual.map(|(width, height)| Label { width, height, ..at.label });
    for label in std::iter::once(at.label).chain(usual.into_iter().filter(|one| *one != at.label)) {
        let at = LabelOfSite { label, ..at };
        let fit = sold_fit(at, sold);
        let (single, made) = (fit.orders[0], fit.all());
        let tenths = single * 1_000 / made.max(1);
        println!(
            "{}: of {all} cups sold {made} are made here; {}.{} % of them take one sticker",
            name(at),
            tenths / 10,
            tenths % 10
        );
    }
}

/// Writes the most crowded stickers as pictures.
fn picture(folder: &Path, tried: &[Tried<'_>]) -> Result<(), Outcome> {
    fs::create_dir_all(folder).map_err(|fault| unwritten(folder, &fault))?;
    for Tried { at, fit } in tried {
        let Label { width, height, dpi, .. } = at.label;
        let (site, lang) = (&at.bar.site.id, &at.catalogue.lang);
        let label = format!("{}x{}-{dpi}", width / 1_000, height / 1_000);
        for (n, one) in fit.unfit.iter().take(TOLD).enumerate() {
            for (part, sheet) in one.sheets.iter().enumerate() {
                let name = format!("{site}-{lang}-{label}-{}-{}.png", n + 1, part + 1);
                let path = folder.join(name);
                let drawn = pixels(sheet, dpi).and_then(|dots| png_bits(&dots));
                let bytes = drawn.map_err(|fault: Fault| {
                    eprintln!("Cannot draw {}: {fault}", path.display());
                    Outcome::Failed
                })?;
                fs::write(&path, bytes).map_err(|fault| unwritten(&path, &fault))?;
            }
        }
    }
    println!("Pictures of the most crowded: {}", folder.display());
    Ok(())
}
