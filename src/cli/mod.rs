//! The command line: the same book, the same tickets, without a server.

mod allergens;
mod args;
mod cards;
mod check;
mod config;
mod costs;
mod explain;
mod fit;
mod flags;
mod identify;
mod key;
mod layout;
mod load;
mod mix_csv;
mod names;
mod needs;
mod needs_table;
mod posted;
mod print;
mod progress;
mod reload;
mod rollout;
mod sample;
mod serve;
mod set_points;
mod shot;
mod starter;
mod sticker_check;
mod stickers;
mod stopping;
mod strength;
mod table;
mod tables;
mod ticket;
mod till_map;
mod token;
mod watching;
mod writing;

use std::process::ExitCode;

pub use args::Args;
use args::{Command, ConfigCommand, TableCommand};

/// How a run ended, as an exit code.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// Done; every line of a ticket is accepted.
    Done = 0,
    /// A line of the ticket is asked about or refused, or a sticker is not known to be printed.
    NotAllAccepted = 1,
    /// A book, a sheet, a ticket or a table has complaints, or a repository is refused.
    Complaints = 3,
    /// A file cannot be read or written, a key cannot be opened, an address cannot be bound, or a
    /// printer or a repository not be reached.
    Failed = 4,
}

impl From<Outcome> for ExitCode {
    fn from(outcome: Outcome) -> Self {
        Self::from(outcome as u8)
    }
}

/// Runs what `args` ask for.
pub fn run(args: Args) -> Outcome {
    let Args { book, sites, command } = args;
    let command = command.unwrap_or_else(|| Command::Serve(flags::Flags::default()));
    let everywhere = [("book", book.clone()), ("sites", sites.clone())];
    let files = load::Files {
        book: book.or_else(|| config::path_in("CUPWRIGHT_BOOK")),
        sites: sites.or_else(|| config::path_in("CUPWRIGHT_SITES")),
    };
    match command {
        Command::Serve(flags) => match config::settings(&flags.and(everywhere)) {
            Ok(settings) => serve::serve(&settings),
            Err(outcome) => outcome,
        },
        Command::Config(ConfigCommand::Check { flags, json }) => {
            config::check(&flags.and(everywhere), json)
        }
        Command::Config(ConfigCommand::Example) => config::example(),
        Command::Key { id, role, site, into } => key::key(&id, &role, &site, into.as_deref()),
        Command::TillMap { site, sheet, draft, json } => {
            till_map::till_map(&files, &site, sheet.as_deref(), draft, json)
        }
        Command::Allergens { site, lang, at, format } => {
            allergens::allergens(&files, &site, lang.as_deref(), at.as_deref(), &format)
        }
        Command::Cards(args) => cards::cards(&files, &args),
        Command::Cautions { site, lang, json } => {
            allergens::site_cautions(&files, &site, lang.as_deref(), json)
        }
        Command::Expand(ticket) => ticket::answer_ticket(&files, &ticket, true),
        Command::Token { of: Some(ticket), .. } => token::write(&files, &ticket),
        Command::Token { token, json, of: None } => {
            token::read(&files, &token.unwrap_or_default(), json)
        }
        Command::Validate(ticket) => ticket::answer_ticket(&files, &ticket, false),
        Command::Explain { ticket, figure, json } => {
            explain::explain(&files, ticket.as_deref(), &figure, json)
        }
        Command::Stickers(args) => stickers::stickers(&files, args),
        Command::Print(args) => print::print(&files, args),
        Command::Strength { site, all, json } => {
            strength::strength(&files, site.as_deref(), all, json)
        }
        Command::SetPoint { ticket, serve_c, json } => {
            set_points::find(&files, ticket.as_deref(), serve_c, json)
        }
        Command::Costs { ticket, json } => costs::costs(&files, ticket.as_deref(), json),
        Command::Fit { site, lang, json } => fit::show(&files, &site, lang.as_deref(), json),
        Command::Needs(args) => needs::work_out(&files, &args),
        Command::Shot(posted) => shot::shot(&files, &posted),
        Command::Identify(posted) => identify::identify(&files, &posted),
        Command::Check { fields, pairs, stickers } => {
            check::check(&files, fields, pairs, &stickers)
        }
        Command::Table(TableCommand::Export { folder }) => tables::export(&files, &folder),
        Command::Table(TableCommand::Import { folder, out }) => {
            tables::import(&files, &folder, out.as_deref())
        }
        Command::Rollout(command) => rollout::rollout(&files, command),
        Command::New { folder } => starter::new(&folder),
    }
}
