//! `cards`: the build cards of a site, its wall chart, and a page that shows them all.

use std::{
    fmt::Write as _,
    fs, io,
    path::{Path, PathBuf},
};

use anstream::{eprintln, println};

use super::{
    Outcome,
    layout::counted,
    load::{Files, bar_of},
    progress::progress,
    writing::{replace, unwritten},
};
use crate::{
    answering::{CardForm, CardSet, CardSetWish, card_bytes, card_set},
    label::{
        card::{Card, Paper, chart},
        draw::{escaped, pdf, svg},
    },
    wire::{Kind, Problem},
};

/// Which cards, and where to.
#[derive(Debug, clap::Args)]
pub(super) struct CardsArgs {
    /// The site, by id.
    #[arg(long)]
    site: String,
    /// Language; the site's first if not given.
    #[arg(long)]
    lang: Option<String>,
    /// Paper.
    #[arg(long, value_parser = ["a6", "a4"], default_value = "a6")]
    paper: String,
    /// Form of the cards.
    #[arg(long, value_parser = ["svg", "pdf", "png", "html"], default_value = "svg")]
    format: String,
    /// A card for every cup of each drink, beside that for its usual one.
    #[arg(long)]
    every_cup: bool,
    /// One drink only, by id.
    #[arg(long, value_name = "DRINK")]
    drink: Option<String>,
    /// Day from which they are in force, such as 2026-11-25, to be printed on them.
    #[arg(long, value_name = "DAY")]
    effective: Option<String>,
    /// Folder to write them into; files of these names that are there are replaced.
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
}

/// Why cards are not written.
enum Unmade {
    Told(Problem),
    Unwritten(PathBuf, io::Error),
}

impl From<Problem> for Unmade {
    fn from(problem: Problem) -> Self {
        Self::Told(problem)
    }
}

/// Writes the cards.
pub(super) fn cards(files: &Files, args: &CardsArgs) -> Outcome {
    let held = match files.load() {
        Ok(held) => held,
        Err(outcome) => return outcome,
    };
    let bar = match bar_of(&held, &args.site) {
        Ok(bar) => bar,
        Err(outcome) => return outcome,
    };
    let wish = CardSetWish {
        lang: args.lang.as_deref(),
        only: args.drink.as_deref(),
        every_cup: args.every_cup,
        effective: args.effective.as_deref(),
    };
    let made = card_set(&held, bar, wish).map_err(Unmade::from);
    let written = made.and_then(|set| write(&set, args));
    match written {
        Ok(outcome) => outcome,
        Err(Unmade::Told(problem)) => {
            eprintln!("{}: {}", problem.title, problem.detail);
            Outcome::Complaints
        }
        Err(Unmade::Unwritten(path, fault)) => unwritten(&path, &fault),
    }
}

fn write(set: &CardSet, args: &CardsArgs) -> Result<Outcome, Unmade> {
    let paper = Paper::of(&args.paper).unwrap_or(Paper::A6);
    let form = CardForm::of(&args.format).unwrap_or(CardForm::Svg);
    fs::create_dir_all(&args.out).map_err(|fault| Unmade::Unwritten(args.out.clone(), fault))?;
    let put = |name: &str, bytes: &[u8]| {
        let path = args.out.join(name);
        replace(&path, bytes).map_err(|fault| Unmade::Unwritten(path, fault))
    };
    let bar = progress(set.cards.len());
    let (mut written, mut failed) = (Vec::new(), Vec::new());
    for (name, card) in &set.cards {
        bar.set_message(card.title.clone());
        match card_bytes(card, paper, form) {
            Ok(bytes) => {
                let file = format!("{name}.{}", form.ending());
                put(&file, &bytes)?;
                written.push((file, card));
            }
            Err(problem) => failed.push(format!("{}: {}", card.title, problem.detail)),
        }
        bar.inc(1);
    }
    bar.finish_and_clear();
    if args.drink.is_none() {
        let sheet = chart(&set.chart);
        let sheet = sheet.map_err(|fault| Kind::NotDrawn.with(fault))?;
        put("chart.svg", svg(&sheet).as_bytes())?;
        put("chart.pdf", &pdf(&[sheet]).map_err(|fault| Kind::Internal.with(fault))?)?;
        put("index.html", index(set, &written, form).as_bytes())?;
    }
    tell(set, &args.out, &failed);
    Ok(if failed.is_empty() { Outcome::Done } else { Outcome::Complaints })
}

fn tell(set: &CardSet, out: &Path, failed: &[String]) {
    for (name, why) in &set.not_made {
        eprintln!("{name}: {why}");
    }
    for one in failed {
        eprintln!("{one}");
    }
    let made = counted(set.cards.len() - failed.len(), "card", "cards");
    println!("{made} in {}", out.display());
}

const STYLE: &str = "\
body { margin: 16px; color: #000; background: #fff; font: 16px/1.4 sans-serif }
ul { list-style: none; padding: 0; display: flex; flex-wrap: wrap; gap: 16px }
img { display: block; width: 260px; border: 1px solid #000 }
";

/// A page that shows them all.
///
/// * `written`: the cards that were written, each with its file.
fn index(set: &CardSet, written: &[(String, &Card)], form: CardForm) -> String {
    let CardSet { title, chart, .. } = set;
    // Writing to a text cannot fail.
    let mut out = String::new();
    let _ = write!(
        out,
        "<!doctype html>\n<html lang=\"{2}\">\n<head>\n<meta charset=\"utf-8\">\n\
         <title>{0}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n<h1>{0}</h1>\n\
         <p><a href=\"chart.svg\">{1}</a> · <a href=\"chart.pdf\">PDF</a></p>\n<ul>\n",
        escaped(title),
        escaped(&chart.title),
        escaped(&chart.lang),
    );
    for (file, card) in written {
        let name = escaped(&card.title);
        let _ = match form {
            CardForm::Svg | CardForm::Png => writeln!(
                out,
                "<li><a href=\"{file}\"><img src=\"{file}\" alt=\"{name}\">{name}</a></li>"
            ),
            CardForm::Pdf | CardForm::Html => {
                writeln!(out, "<li><a href=\"{file}\">{name}: {}</a></li>", escaped(&card.cup))
            }
        };
    }
    out.push_str("</ul>\n</body>\n</html>\n");
    out
}
