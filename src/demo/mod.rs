//! The demo: an invented roaster's book and four invented sites, compiled in.

use crate::in_force::Source;

macro_rules! site {
    ($name:literal) => {
        ($name, include_str!(concat!("sites/", $name)))
    };
}

/// The demo book.
pub fn book() -> Source {
    Source { name: "demo/book.json".to_owned(), text: include_str!("book.json").to_owned() }
}

/// The sheets of the demo's tills.
pub fn tills() -> Vec<Source> {
    let (name, text) = site!("bookshop.till.csv");
    vec![Source { name: format!("demo/sites/{name}"), text: text.to_owned() }]
}

/// A made-up Saturday of 1,000 cups, as a sales mix.
pub const fn saturday() -> &'static str {
    include_str!("saturday.csv")
}

/// The sheets of the demo's sites.
pub fn sites() -> Vec<Source> {
    let all = [
        site!("bookshop.json"),
        site!("ferry-kiosk.json"),
        site!("hospital-foyer.json"),
        site!("takeaway-window.json"),
    ];
    let source = |(name, text): (&str, &str)| Source {
        name: format!("demo/sites/{name}"),
        text: text.to_owned(),
    };
    all.into_iter().map(source).collect()
}
