//! The token of a build: what its digest covers, in a few letters that can be read back, and the
//! squares in which a sticker shows it.
//!
//! A token counts in the lists of the book: a drink is its place among the drinks, a value its place
//! among those of its slot. Which book that is, it says by the first bits of its digest. Whoever
//! ordered the cup, and what they said of themselves, is not in it.
//!
//! Bits, the most significant first:
//!
//! | bits | what |
//! |---|---|
//! | 4 | form of the token: 1 |
//! | 4, 6 | contract, major and minor |
//! | 32, 24 | first bits of the digests of the book and of the site's sheet |
//! | 1, and 24 if it is set | whether there is an overlay, and the first bits of its digest |
//! | as many as the list takes | language, drink |
//! | for each modifier 1 that is set, then its own | place behind the modifier before; value or count |
//! | 1 that is not set | no further modifier; left out behind the last of the book |
//! | 20 | first bits of the build's digest: the same line of another book does not come to them |
//! | up to 7 that are not set | to the end of a byte |
//! | 24 | check |
//!
//! The bytes are written as base32 (RFC 4648, section 6) without padding.

mod bits;
mod line;
mod spelling;

pub use line::CodedLine;
pub use spelling::Unreadable;

use std::fmt;

use bits::{Bits, Reader};

use crate::{
    book::Bar,
    engine::Given,
    json::Digest,
    wire::{CONTRACT, build_digest},
};

/// Form of the token.
const FORM: u64 = 1;
const BOOK_BITS: u32 = 32;
const SITE_BITS: u32 = 24;
const OVERLAY_BITS: u32 = 24;
const SEAL_BITS: u32 = 20;

/// The token of a build.
///
/// * `modifiers`: in normal form.
/// * Result: `None` for what no build of this bar has, such as a drink that its book lacks.
///
/// ```
/// use cupwright::{demo, in_force::InForce, token::{Token, token}};
///
/// let held = InForce::load(&demo::book(), &demo::sites()).expect("the demo");
/// let bar = held.bar("bookshop").expect("a site");
/// let text = token(bar, "latte", &[], "en").expect("a token");
/// let read = Token::read(&text.to_lowercase()).expect("a whole token");
/// assert_eq!(read.line_at(bar).expect("a line").drink, "latte");
/// ```
pub fn token(bar: &Bar, drink: &str, modifiers: &[Given], lang: &str) -> Option<String> {
    let mut bits = Bits::default();
    let (major, minor) = CONTRACT.split_once('.')?;
    bits.push(FORM, 4)?;
    bits.push(major.parse().ok()?, 4)?;
    bits.push(minor.parse().ok()?, 6)?;
    bits.push(first_bits(&bar.book_digest, BOOK_BITS), BOOK_BITS)?;
    bits.push(first_bits(&bar.site_digest, SITE_BITS), SITE_BITS)?;
    bits.push(u64::from(bar.overlay_digest.is_some()), 1)?;
    if let Some(digest) = &bar.overlay_digest {
        bits.push(first_bits(digest, OVERLAY_BITS), OVERLAY_BITS)?;
    }
    line::write(&mut bits, bar, drink, modifiers, lang)?;
    let digest = build_digest(bar, drink, modifiers, lang);
    bits.push(first_bits(&digest, SEAL_BITS), SEAL_BITS)?;
    Some(spelling::spelt(bits.bytes()))
}

/// A token that was read; what it says of its line, only its book tells.
#[derive(Clone, Debug)]
pub struct Token {
    text: String,
    /// Contract, major and minor.
    pub contract: String,
    /// The book.
    pub book: Prefix,
    /// The site's sheet.
    pub site: Prefix,
    /// The overlay, if there was one.
    pub overlay: Option<Prefix>,
    rest: Reader,
}

/// How a digest begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Prefix {
    first: u64,
    width: u32,
}

impl Prefix {
    /// Whether the digest begins so.
    pub fn begins(self, digest: &Digest) -> bool {
        first_bits(digest, self.width) == self.first
    }
}

impl fmt::Display for Prefix {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let digits = usize::try_from(self.width / 4).unwrap_or_default();
        write!(out, "sha256:{:0digits$x}…", self.first)
    }
}

impl Token {
    /// Reads a token, in letters of either case.
    ///
    /// * Errors: why it cannot be read. One character that is another, or two neighbours that changed
    ///   places, are always told; of anything else one in 16 million is not.
    pub fn read(text: &str) -> Result<Self, Unreadable> {
        let text = text.to_ascii_uppercase();
        let mut rest = Reader::of(spelling::bytes_of(&text)?);
        let form = rest.take(4).ok_or(Unreadable::Short)?;
        if form != FORM {
            return Err(Unreadable::Form(form));
        }
        let mut take = |width| rest.take(width).ok_or(Unreadable::Short);
        let contract = format!("{}.{}", take(4)?, take(6)?);
        let mut prefix = |width| take(width).map(|first| Prefix { first, width });
        let (book, site) = (prefix(BOOK_BITS)?, prefix(SITE_BITS)?);
        let overlay = if prefix(1)?.first == 1 { Some(prefix(OVERLAY_BITS)?) } else { None };
        Ok(Self { text, contract, book, site, overlay, rest })
    }

    /// The token, in capital letters.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Whether `bar` is of the book that it names.
    pub fn is_of_book(&self, bar: &Bar) -> bool {
        self.book.begins(&bar.book_digest)
    }

    /// Whether `bar` has the site's sheet that it names.
    pub fn is_of_site(&self, bar: &Bar) -> bool {
        self.site.begins(&bar.site_digest)
    }

    /// Whether `bar` has the overlay that it names, or none where it names none.
    pub fn is_of_overlay(&self, bar: &Bar) -> bool {
        match (&self.overlay, &bar.overlay_digest) {
            (Some(prefix), Some(digest)) => prefix.begins(digest),
            (None, None) => true,
            (Some(_), None) | (None, Some(_)) => false,
        }
    }

    /// The line whose token this is at `bar`.
    ///
    /// * Result: `None` if it is of another book, sheet, overlay or contract, even where those begin
    ///   as its own do.
    pub fn line_at(&self, bar: &Bar) -> Option<CodedLine> {
        let line = line::read(&mut self.rest.clone(), bar)?;
        // Written again it must be the same: this holds its seal, and that it is written in one way
        // alone.
        let again = token(bar, &line.drink, &line.modifiers, &line.lang);
        (again.as_ref() == Some(&self.text)).then_some(line)
    }
}

/// The first bits of a digest, at most 64.
fn first_bits(digest: &Digest, width: u32) -> u64 {
    let first = digest.bytes().iter().take(8).fold(0, |all, byte| all << 8 | u64::from(*byte));
    first >> (64 - width)
}
