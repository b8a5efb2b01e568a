//! What can be asked on the command line.

use std::path::PathBuf;

use clap::{Parser, Subcommand};

use super::{
    cards::CardsArgs, flags::Flags, needs::NeedsArgs, posted::PostedArgs, print::PrintArgs,
    rollout::RolloutCommand, sticker_check::StickerCheck, stickers::StickerArgs,
};
use crate::book::Id;

const AFTER: &str = "\
Without a command it serves the book on 127.0.0.1:8080; without a book, the demo.

Exit codes:
  0  done; every line of a ticket is accepted
  1  a line of the ticket is asked about or refused, a till's sheet is not all right, or a sticker
     is not printed or not known to be
  2  the command line is at fault
  3  a book, a site's sheet, a ticket or a table has complaints; all of them are printed; or a
     repository is refused
  4  a file cannot be read or written, a key cannot be opened, state cannot be kept, an address
     cannot be bound, or a printer or a repository cannot be reached

Examples:
  cupwright serve --listen 127.0.0.1:9000
  cupwright expand ticket.json
  cupwright --book book.json --sites sites/ check";

const BOOK: &str = "The book; the compiled-in demo if not given [env: CUPWRIGHT_BOOK]";
const SITES: &str = "Folder with the sites' sheets, one `.json` each; the demo's if no book is \
                     given [env: CUPWRIGHT_SITES]";

/// The version, and the commit that it is built from.
const VERSION: &str = concat!(env!("CARGO_PKG_VERSION"), " (", env!("CUPWRIGHT_BUILT_FROM"), ")");

/// Turns drink orders into exact builds.
#[derive(Debug, Parser)]
#[command(name = "cupwright", version = VERSION, about, after_help = AFTER)]
pub struct Args {
    #[arg(long, global = true, value_name = "FILE", help = BOOK)]
    pub(super) book: Option<PathBuf>,
    #[arg(long, global = true, value_name = "DIR", help = SITES)]
    pub(super) sites: Option<PathBuf>,
    #[command(subcommand)]
    pub(super) command: Option<Command>,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Serve HTTP.
    #[command(after_help = SERVE_EXAMPLES)]
    Serve(Flags),
    /// Check the settings of `serve` with all that they name, or print a file to start from.
    #[command(subcommand, after_help = CONFIG_EXAMPLES)]
    Config(ConfigCommand),
    /// Make a key of the service: its secret, shown once, and the record for the file of keys.
    #[command(after_help = "Example:\n  \
        cupwright key --id front-till --role till --site bookshop --into keys.json")]
    Key {
        /// Id by which people and logs name it.
        #[arg(long, value_parser = an_id)]
        id: String,
        /// What its holder may do.
        #[arg(long, value_parser = ["till", "trainer", "admin"])]
        role: String,
        /// Site for which it holds; all if none is given. Give it several times for several.
        #[arg(long, value_parser = an_id)]
        site: Vec<String>,
        /// File of keys to put the record into; it is made if it is not there. Without it the record
        /// is printed.
        #[arg(long, value_name = "FILE")]
        into: Option<PathBuf>,
    },
    /// Check the sheet of a site's till, or draft one.
    #[command(after_help = "Examples:\n  cupwright till-map --site bookshop\n  \
        cupwright till-map --site bookshop --draft > bookshop.till.csv\n  \
        cupwright till-map --site bookshop my-sheet.csv")]
    TillMap {
        /// The site, by id.
        #[arg(long)]
        site: String,
        /// A sheet to check, CSV or JSON; the one that is loaded with the site if not given.
        #[arg(value_name = "FILE")]
        sheet: Option<PathBuf>,
        /// Print a first sheet as CSV: a button for each cup and each modifier.
        #[arg(long, conflicts_with = "sheet")]
        draft: bool,
        /// Print the check as JSON.
        #[arg(long, conflicts_with = "draft")]
        json: bool,
    },
    /// Print the drinks of a site by allergens.
    #[command(after_help = "Examples:\n  cupwright allergens --site bookshop --lang en\n  \
        cupwright allergens --site bookshop --format html > allergens.html")]
    Allergens {
        /// The site, by id.
        #[arg(long)]
        site: String,
        /// Language; the site's first if not given.
        #[arg(long)]
        lang: Option<String>,
        /// The day that is printed on it, such as 2026-11-25; today at the site if not given.
        #[arg(long, value_name = "DAY")]
        at: Option<String>,
        /// Form in which to print it.
        #[arg(long, value_parser = ["table", "csv", "html", "json"], default_value = "table")]
        format: String,
    },
    /// Print the cautions of a site: for its bench, and with its cups.
    #[command(after_help = "Example:\n  cupwright cautions --site bookshop --lang en")]
    Cautions {
        /// The site, by id.
        #[arg(long)]
        site: String,
        /// Language; the site's first if not given.
        #[arg(long)]
        lang: Option<String>,
        /// Print them as JSON.
        #[arg(long)]
        json: bool,
    },
    /// Write build cards for a site's drinks, with a section of each cup, and a wall chart.
    #[command(
        after_help = "Examples:\n  cupwright cards --site bookshop --lang en --out cards\n  \
        cupwright cards --site bookshop --paper a4 --format pdf --out cards"
    )]
    Cards(CardsArgs),
    /// Answer a ticket with builds.
    #[command(after_help = "Examples:\n  cupwright expand ticket.json\n  \
        echo '{\"site\":\"bookshop\",\"lines\":[{\"line\":\"1\",\"drink\":\"latte\"}]}' | cupwright expand")]
    Expand(TicketArgs),
    /// Answer a ticket with verdicts alone.
    #[command(after_help = "Example:\n  cupwright validate --json ticket.json")]
    Validate(TicketArgs),
    /// Read the token on a cup back: the line in normal form, and its build.
    #[command(after_help = TOKEN_EXAMPLES)]
    Token {
        /// The token, or the address that ends with it; letters of either case.
        #[arg(value_name = "TOKEN", required_unless_present = "of")]
        token: Option<String>,
        /// Print the build as JSON, as the service gives it.
        #[arg(long)]
        json: bool,
        /// Print the tokens of a ticket's lines instead, one a line; `-` is standard input.
        #[arg(long, value_name = "FILE", conflicts_with_all = ["token", "json"])]
        of: Option<PathBuf>,
    },
    /// Explain the figures of a ticket's builds: the terms that come to each, and where they come from.
    #[command(after_help = "Examples:\n  cupwright explain ticket.json\n  \
        cupwright explain --figure /milk/cold_ml --figure /caffeine ticket.json")]
    Explain {
        /// The ticket; standard input if not given or `-`.
        #[arg(value_name = "FILE")]
        ticket: Option<PathBuf>,
        /// Pointer of a figure, or of what figures stand in; all if not given.
        #[arg(long, value_name = "POINTER")]
        figure: Vec<String>,
        /// Print the explanation as JSON.
        #[arg(long)]
        json: bool,
    },
    /// Lay out and draw the stickers of a ticket's cups.
    #[command(after_help = STICKER_EXAMPLES)]
    Stickers(StickerArgs),
    /// Print the stickers of a ticket's cups, and say what becomes of them.
    #[command(after_help = "Examples:\n  cupwright print ticket.json\n  \
        cupwright print --printer bar --reprint ticket.json")]
    Print(PrintArgs),
    /// Compare how strong each drink is at each site, those that differ most from the book first.
    #[command(after_help = "Example:\n  cupwright strength --site bookshop")]
    Strength {
        /// One site only, by id.
        #[arg(long)]
        site: Option<String>,
        /// List cups that do not differ too.
        #[arg(long)]
        all: bool,
        /// Print the comparison as JSON.
        #[arg(long)]
        json: bool,
    },
    /// Find the set-point of the milk with which drinks are served at a wanted temperature.
    #[command(after_help = "Example:\n  cupwright set-point --serve-c 58 ticket.json")]
    SetPoint {
        /// The ticket; standard input if not given or `-`.
        #[arg(value_name = "FILE")]
        ticket: Option<PathBuf>,
        /// Temperature of the drinks as served, °C.
        #[arg(long, value_name = "C", value_parser = degrees)]
        serve_c: f64,
        /// Print the answer as JSON.
        #[arg(long)]
        json: bool,
    },
    /// Work out what a ticket costs its site, item by item, beside its prices.
    #[command(after_help = "Example:\n  cupwright costs ticket.json")]
    Costs {
        /// The ticket; standard input if not given or `-`.
        #[arg(value_name = "FILE")]
        ticket: Option<PathBuf>,
        /// Print the answer as JSON instead of a table.
        #[arg(long)]
        json: bool,
    },
    /// Show what a site cannot make or offer, and the one purchase that would enable most.
    #[command(after_help = "Example:\n  cupwright fit --site ferry-kiosk")]
    Fit {
        /// The site, by id.
        #[arg(long)]
        site: String,
        /// Language of the texts; the site's first if not given.
        #[arg(long)]
        lang: Option<String>,
        /// Print the answer as JSON instead of a table.
        #[arg(long)]
        json: bool,
    },
    /// Work out what a sales mix takes: baskets, coffee, milk, ingredients, cups, par levels.
    #[command(after_help = NEEDS_EXAMPLES)]
    Needs(NeedsArgs),
    /// Hold a pulled shot to its recipe, and say the one change to make.
    #[command(after_help = "Example:\n  \
        echo '{\"site\":\"bookshop\",\"bean\":\"house\",\"pull\":\"standard\",\"dose_g\":19,\"yield_g\":38,\"time_s\":22}' | cupwright shot")]
    Shot(PostedArgs),
    /// Name the drinks that amounts in a cup are nearest to.
    #[command(after_help = "Example:\n  \
        echo '{\"site\":\"bookshop\",\"halves\":2,\"milk_ml\":105,\"foam_depth_mm\":5}' | cupwright identify")]
    Identify(PostedArgs),
    /// Check the book and the sheets, and prove the worked examples.
    #[command(after_help = "Examples:\n  cupwright --book book.json --sites sites/ check\n  \
        cupwright check --fields\n  cupwright check --pairs\n  \
        cupwright check --stickers --pictures pictures/")]
    Check {
        /// List each field that a site or its region replaces, and the layer it comes from.
        #[arg(long)]
        fields: bool,
        /// Try every pair of modifiers on every drink at every site, and print how the verdicts fall.
        #[arg(long)]
        pairs: bool,
        #[command(flatten)]
        stickers: StickerCheck,
    },
    /// Lay the book's drinks, cups, parts and ingredients out as tables, or read them back.
    #[command(subcommand, after_help = TABLE_EXAMPLES)]
    Table(TableCommand),
    /// Sign the book and the sheets, put them into a repository, and see what sites see of it.
    #[command(
        subcommand,
        after_help = "Examples:\n  cupwright rollout keys new our-keys\n  \
        cupwright rollout publish --keys our-keys --out repository\n  \
        cupwright rollout verify repository --trust our-keys/1.root.json"
    )]
    Rollout(RolloutCommand),
    /// Write a small book, a site's sheet and a ticket to start from.
    #[command(after_help = "Example:\n  cupwright new our-standards")]
    New {
        /// Folder to write them into; no file that is there is touched.
        #[arg(value_name = "DIR")]
        folder: PathBuf,
    },
}

const TOKEN_EXAMPLES: &str = "Examples:\n  cupwright token --of ticket.json\n  \
    cupwright token CAIUKAQDA4CQ…\n  cupwright token HTTPS://CUPS.EXAMPLE/V1/B/CAIUKAQDA4CQ…";

const NEEDS_EXAMPLES: &str = "\
A mix in CSV has the columns drink,modifiers,count, and mean,standard_deviation for a forecast.

Examples:
  cupwright needs mix.json
  cupwright needs --site bookshop --days 6 mix.csv
  cupwright needs --site bookshop --lead-time-days 3 --service-factor 1.64 mix.csv";

const STICKER_EXAMPLES: &str = "\
Examples:
  cupwright stickers ticket.json
  cupwright stickers --format pdf --out stickers.pdf ticket.json
  cupwright stickers --format png --label 58x40 --n 1 --out sticker.png ticket.json";

const SERVE_EXAMPLES: &str = "\
A flag goes before an environment variable, that before the file, and the file before the default.

Examples:
  cupwright serve --listen 127.0.0.1:9000
  cupwright serve --config cupwright.toml --log-form text";

const CONFIG_EXAMPLES: &str = "Examples:\n  cupwright config example > cupwright.toml\n  \
    cupwright config check --config cupwright.toml";

/// What to do with settings.
#[derive(Debug, Subcommand)]
pub(super) enum ConfigCommand {
    /// Print every setting with where it comes from, and whether `serve` would start.
    ///
    /// Settings, keys, book and sheets are read as `serve` reads them, and every complaint is told.
    /// No address is bound and no state is touched, so it can run beside a service.
    #[command(after_help = "Example:\n  cupwright config check --config cupwright.toml")]
    Check {
        #[command(flatten)]
        flags: Flags,
        /// Print it as JSON.
        #[arg(long)]
        json: bool,
    },
    /// Print a file of settings with every default and what each is for.
    #[command(after_help = "Example:\n  cupwright config example > cupwright.toml")]
    Example,
}

const TABLE_EXAMPLES: &str = "Examples:\n  cupwright --book book.json table export tables/\n  \
    cupwright --book book.json table import tables/ --out book.json";

/// What to do with tables.
#[derive(Debug, Subcommand)]
pub(super) enum TableCommand {
    /// Write drinks.csv, cups.csv, parts.csv and ingredients.csv (RFC 4180, UTF-8).
    #[command(after_help = "Example:\n  cupwright --book book.json table export tables/")]
    Export {
        /// Folder to write them into; tables of these names that are there are replaced.
        #[arg(value_name = "DIR")]
        folder: PathBuf,
    },
    /// Read the four tables over the book and print or write the new book.
    ///
    /// The rows are the drinks, cups, parts and ingredients of the new book; whatever is in no
    /// table stays as it is in the book. An empty cell is a field that is not there.
    #[command(after_help = "Example:\n  \
        cupwright --book book.json table import tables/ --out book.json")]
    Import {
        /// Folder with the four tables.
        #[arg(value_name = "DIR")]
        folder: PathBuf,
        /// File to write the new book to; standard output if not given.
        #[arg(long, value_name = "FILE")]
        out: Option<PathBuf>,
    },
}

/// Which ticket, and how to show the answer.
#[derive(Debug, clap::Args)]
pub(super) struct TicketArgs {
    /// The ticket; standard input if not given or `-`.
    #[arg(value_name = "FILE")]
    pub(super) ticket: Option<PathBuf>,
    /// Print the answer as JSON instead of a table.
    #[arg(long, conflicts_with = "text")]
    pub(super) json: bool,
    /// Print it as plain text of at most 42 columns, one cup a paragraph.
    #[arg(long)]
    pub(super) text: bool,
}

/// Degrees Celsius at which drinks are served.
fn degrees(text: &str) -> Result<f64, &'static str> {
    let degrees = text.parse().ok().filter(|degrees: &f64| (20.0..=90.0).contains(degrees));
    degrees.ok_or("degrees Celsius from 20 to 90, such as 58")
}

/// An id of a key or a site, as the file of keys takes it.
fn an_id(text: &str) -> Result<String, &'static str> {
    if Id::fits(text) {
        Ok(text.to_owned())
    } else {
        Err("an id in kebab-case, such as `front-till`")
    }
}
