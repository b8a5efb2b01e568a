//! Builds by their tokens: the address that a sticker shows, and what is behind it.

mod html;
mod line;

use self::line::cup_of;
use super::{
    respond::{Placed, Sent},
    text::paragraphs,
};
use crate::{
    book::Bar,
    engine::{Build, Line, Moment, Verdict, verdict},
    in_force::{Edition, Editions},
    json::Digest,
    token::{CodedLine, Token, token},
    wire::{
        Answer, BookStamp, CONTRACT, CONTRACT_NAME, CodedBuild, Kind, OverlayStamp, Problem,
        SiteStamp, Ticket, build_view,
    },
    words::Catalogue,
};

/// Digests that a problem names at most.
const MOST_NAMED: usize = 100;

/// The address that the code on a cup holds, in capital letters.
///
/// * `public_base`: the setting of that name.
/// * Result: `None` where an allergy was declared or something was overridden: such a cup is for one
///   guest, and is read off its sticker alone.
pub fn code_url(public_base: &str, bar: &Bar, build: &Build<'_>, lang: &str) -> Option<String> {
    let token = token_of(bar, build, lang)?;
    let base = public_base.trim_end_matches('/').to_ascii_uppercase();
    Some(format!("{base}/V1/B/{token}"))
}

fn token_of(bar: &Bar, build: &Build<'_>, lang: &str) -> Option<String> {
    if !build.declared.is_empty() || !build.order.waived.is_empty() {
        return None;
    }
    token(bar, &build.order.asked.id, &build.modifiers(), lang)
}

/// The token of each line of a ticket, by the line's id; none for a line that is not accepted, or
/// whose cup has no code.
///
/// * Errors: as for an answer.
pub fn tokens(
    editions: &Editions,
    ticket: Ticket,
    sent: &Sent,
) -> Result<Vec<(String, Option<String>)>, Problem> {
    let placed = Placed::of(editions, ticket, sent)?;
    let token = |line: &Line| match placed.verdict(line) {
        Verdict::Accept { build, .. } => token_of(placed.bar, &build, &placed.catalogue.lang),
        Verdict::Ask { .. } | Verdict::Refuse { .. } => None,
    };
    Ok(placed.lines.iter().map(|line| (line.id.clone(), token(line))).collect())
}

/// A build that was found by its token.
#[derive(Debug)]
pub struct Coded<'e> {
    token: Token,
    bar: &'e Bar,
    catalogue: &'e Catalogue,
    line: Line,
    verdict: Verdict<'e>,
}

/// Finds the build of a token among all editions that are held.
///
/// It is made as it was: what has run out since, or is out of season, does not matter for a cup that
/// there is.
///
/// * `text`: the token, in letters of either case.
/// * Errors: it is no token; or what its build was worked from is not held.
pub fn coded<'e>(editions: &'e Editions, text: &str) -> Result<Coded<'e>, Problem> {
    let token = Token::read(text).map_err(|fault| {
        Kind::UnreadableToken.with(format_args!("The token cannot be read: {fault}."))
    })?;
    let (edition, bar, found) = found(editions, &token)?;
    let catalogue = edition.held.catalogue(bar, Some(&found.lang));
    let catalogue =
        catalogue.map_err(|_| Kind::Internal.with("A language of the book is dumb."))?;
    let line = cup_of(bar, &found);
    let verdict = verdict(bar, &line, &Moment::default());
    let same = |build: &Build<'_>| {
        build.order.asked.id == *found.drink && build.modifiers() == found.modifiers
    };
    if !matches!(&verdict, Verdict::Accept { build, .. } if same(build)) {
        let detail = "The book is held, but this version of the service makes no such build of it.";
        return Err(Kind::BuildNotHeld.with(detail));
    }
    Ok(Coded { token, bar, catalogue, line, verdict })
}

/// The newest edition and its bar of which the token is, and what it says there.
fn found<'e>(
    editions: &'e Editions,
    token: &Token,
) -> Result<(&'e Edition, &'e Bar, CodedLine), Problem> {
    if token.contract != CONTRACT {
        let detail = format!(
            "The build is of contract {}; this service makes those of {CONTRACT}.",
            token.contract
        );
        return Err(Kind::BuildNotHeld.with(detail));
    }
    let of_edition =
        |edition: &'e Edition| edition.held.bars.values().map(move |bar| (edition, &**bar));
    let all: Vec<(&Edition, &Bar)> =
        editions.all().flat_map(|edition| of_edition(edition)).collect();
    let book = |bar: &Bar| bar.book_digest.to_string();
    let all = narrowed(all, "book", token.book, |bar| token.is_of_book(bar), book)?;
    let sheet = |bar: &Bar| bar.site_digest.to_string();
    let all = narrowed(all, "site sheet", token.site, |bar| token.is_of_site(bar), sheet)?;
    let overlay = |bar: &Bar| named(bar.overlay_digest.as_ref());
    let wanted = token.overlay.map_or_else(|| named(None), |prefix| prefix.to_string());
    let all = narrowed(all, "overlay", wanted, |bar| token.is_of_overlay(bar), overlay)?;
    let here =
        |(edition, bar): &(&'e Edition, &'e Bar)| Some((*edition, *bar, token.line_at(bar)?));
    all.iter().find_map(here).ok_or_else(|| {
        let detail = "Book and site sheet begin as those that are held do, and are others.";
        Kind::BuildNotHeld.with(detail)
    })
}

fn named(digest: Option<&Digest>) -> String {
    digest.map_or_else(|| "none".to_owned(), ToString::to_string)
}

/// Those of `all` that fit.
///
/// * Errors: none does; the problem says what is needed and names what is held.
fn narrowed<'e>(
    all: Vec<(&'e Edition, &'e Bar)>,
    what: &str,
    wanted: impl std::fmt::Display,
    fits: impl Fn(&Bar) -> bool,
    digest: impl Fn(&Bar) -> String,
) -> Result<Vec<(&'e Edition, &'e Bar)>, Problem> {
    let (fit, others): (Vec<_>, Vec<_>) = all.into_iter().partition(|(_, bar)| fits(bar));
    if !fit.is_empty() {
        return Ok(fit);
    }
    let mut held: Vec<String> = Vec::new();
    for one in others.iter().map(|(_, bar)| digest(bar)) {
        if held.len() < MOST_NAMED && !held.contains(&one) {
            held.push(one);
        }
    }
    let detail = format!("The build needs the {what} {wanted}, which is not held.");
    Err(Kind::BuildNotHeld.with(detail).holding(held))
}

impl<'e> Coded<'e> {
    /// The site's bar that the build is of.
    pub fn bar(&self) -> &'e Bar {
        self.bar
    }

    /// The build.
    ///
    /// * Errors: never; what was found is accepted.
    fn build(&self) -> Result<&Build<'e>, Problem> {
        match &self.verdict {
            Verdict::Accept { build, .. } => Ok(build),
            Verdict::Ask { .. } | Verdict::Refuse { .. } => {
                Err(Kind::Internal.with("A build that was found is not accepted."))
            }
        }
    }

    /// The build with what it was worked from.
    pub fn view(&self) -> Result<CodedBuild<'_>, Problem> {
        let (bar, build) = (self.bar, self.build()?);
        Ok(CodedBuild {
            token: self.token.text().to_owned(),
            book: BookStamp::of(bar),
            overlay: bar.overlay_digest.map(|digest| OverlayStamp { digest: digest.to_string() }),
            site: SiteStamp { id: bar.site.id.to_string(), digest: bar.site_digest.to_string() },
            contract: CONTRACT_NAME,
            lang: self.catalogue.lang.to_string(),
            canonical: build.canonical(&self.line).into(),
            build: build_view(bar, build, self.catalogue),
        })
    }

    /// The same as JSON.
    pub fn json(&self) -> Result<Vec<u8>, Problem> {
        serde_json::to_vec(&self.view()?).map_err(|fault| Kind::Internal.with(fault))
    }

    /// The answer to its line.
    pub fn answer(&self) -> Answer<'_> {
        let verdicts = std::slice::from_ref(&self.verdict);
        let lines = std::slice::from_ref(&self.line);
        Answer::of(self.bar, lines, verdicts, self.catalogue, true)
    }

    /// The same as plain text of at most 42 columns.
    pub fn text(&self) -> String {
        paragraphs(self.bar, self.catalogue, &self.answer(), None)
    }

    /// A page for whoever reads the code on a cup, which needs nothing from elsewhere and runs
    /// nothing.
    pub fn html(&self) -> Result<String, Problem> {
        Ok(html::page(self.bar, self.catalogue, &self.view()?))
    }
}
