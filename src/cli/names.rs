//! The names of a site's things, which an answer gives by id.

use serde_json::Value;

use crate::book::{Bar, Words};

/// The names as they hold at one site, in the language of an answer.
#[derive(Clone, Copy, Debug)]
pub(super) struct Names<'a> {
    /// The site; without it, a thing goes by its id.
    pub(super) bar: Option<&'a Bar>,
    /// Language of the names.
    pub(super) lang: &'a str,
}

impl<'a> Names<'a> {
    /// The cup, be it the book's or the site's own.
    pub(super) fn vessel(self, id: &'a Value) -> &'a str {
        self.named(id, |bar, id| {
            let own = bar.site.vessels.iter().filter_map(|one| one.replaced_by.as_ref());
            let mut all = own.chain(&bar.book.vessels);
            all.find(|vessel| *vessel.id == *id).map(|vessel| &vessel.names)
        })
    }

    /// The jug.
    pub(super) fn jug(self, id: &'a Value) -> &'a str {
        self.named(id, |bar, id| {
            let jug = bar.jugs.iter().find(|one| *one.jug.id == *id);
            jug.map(|one| &one.jug.names)
        })
    }

    /// The bean.
    pub(super) fn bean(self, id: &'a Value) -> &'a str {
        self.named(id, |bar, id| bar.bean(id).map(|bean| &bean.names))
    }

    /// The pull.
    pub(super) fn pull(self, id: &'a Value) -> &'a str {
        self.named(id, |bar, id| {
            bar.book.pulls.iter().find(|pull| *pull.id == *id).map(|pull| &pull.names)
        })
    }

    /// The ingredient.
    pub(super) fn ingredient(self, id: &'a Value) -> &'a str {
        self.named(id, |bar, id| bar.ingredient(id).map(|ingredient| &ingredient.names))
    }

    fn named(self, id: &'a Value, find: impl Fn(&'a Bar, &str) -> Option<&'a Words>) -> &'a str {
        let id = id.as_str().unwrap_or("–");
        let words = self.bar.and_then(|bar| find(bar, id));
        words.map_or(id, |words| words.in_lang(self.lang))
    }
}
