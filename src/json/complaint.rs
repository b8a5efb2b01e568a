//! What is wrong with a document, where, and what would be right.

use std::fmt;

use super::place::{Place, places_of};

/// One fault of a document.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Complaint {
    /// JSON Pointer (RFC 6901) to the value at fault; empty for the whole document.
    pub pointer: String,
    /// Line and column of that value; `None` when the document is not a text, as after resolving.
    pub place: Option<Place>,
    /// What stands there.
    pub found: String,
    /// What should stand there.
    pub expected: String,
}

impl Complaint {
    /// A complaint whose place is filled in later, from the text of the document.
    pub fn at(
        pointer: impl Into<String>,
        found: impl Into<String>,
        expected: impl Into<String>,
    ) -> Self {
        Self {
            pointer: pointer.into(),
            place: None,
            found: found.into(),
            expected: expected.into(),
        }
    }
}

impl fmt::Display for Complaint {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(Place { line, column }) = self.place {
            write!(out, "{line}:{column}: ")?;
        }
        let pointer = if self.pointer.is_empty() { "(document)" } else { &self.pointer };
        write!(out, "{pointer}: found {}; expected {}", self.found, self.expected)
    }
}

/// Every fault of one document, in the order of its text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Complaints {
    /// The file, or another name by which people know the document.
    pub document: String,
    /// The faults; never empty in an error.
    pub all: Vec<Complaint>,
}

impl Complaints {
    /// Collects `all` for the document called `document`, placing each in `text` and sorting them.
    pub fn placed(document: &str, text: &str, mut all: Vec<Complaint>) -> Self {
        let open = |one: &&mut Complaint| one.place.is_none();
        let pointers: Vec<String> =
            all.iter_mut().filter(open).map(|one| one.pointer.clone()).collect();
        let places = places_of(text, &pointers);
        for (complaint, place) in all.iter_mut().filter(open).zip(places) {
            complaint.place = Some(place);
        }
        all.sort_by(|a, b| (a.place, &a.pointer).cmp(&(b.place, &b.pointer)));
        all.dedup();
        Self { document: document.to_owned(), all }
    }
}

impl fmt::Display for Complaints {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (at, complaint) in self.all.iter().enumerate() {
            let gap = if at == 0 { "" } else { "\n" };
            write!(out, "{gap}{}:{complaint}", self.document)?;
        }
        Ok(())
    }
}

impl std::error::Error for Complaints {}

/// A value as it is quoted in a complaint: whole if short, else its beginning.
pub(super) fn shortened(text: &str) -> String {
    const LONGEST: usize = 60;
    if text.chars().count() <= LONGEST {
        return text.to_owned();
    }
    format!("{}…", text.chars().take(LONGEST).collect::<String>())
}
