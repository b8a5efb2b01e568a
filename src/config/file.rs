//! The file of settings: TOML, with every fault at its line and column.

use std::{ffi::OsString, ops::Range, path::Path};

use toml::{
    Spanned,
    de::{DeInteger, DeTable, DeValue},
};

use super::{
    configured::{File, Whence},
    field::Kind,
    setting::Setting,
    settings::Settings,
    table::SETTINGS,
    web,
};
use crate::json::{Complaint, Place, child};

/// Most bytes of a file of settings; the example has some five thousand.
const LONGEST: usize = 64 << 10;
/// Most faults that are told of one file; whoever wrote it mends these first.
const MOST: usize = 200;

/// Sets what the file gives, notes that it did, and tells every fault of the file.
pub(super) fn read(file: &File, settings: &mut Settings, whence: &mut [Whence]) -> Vec<Complaint> {
    let text = &file.text;
    if text.len() > LONGEST {
        let found = format!("{} bytes", text.len());
        return vec![Complaint {
            place: Some(Place { line: 1, column: 1 }),
            ..Complaint::at("", found, format!("at most {LONGEST} bytes of settings"))
        }];
    }
    let (root, faults) = DeTable::parse_recoverable(text);
    let mut syntax: Vec<Complaint> = Vec::new();
    for fault in faults.into_iter().take(MOST) {
        let place = Place::of_offset(text, fault.span().map_or(0, |span| span.start));
        let (found, expected) = (fault.message().to_owned(), "a TOML text (TOML 1.1)");
        syntax.push(Complaint { place: Some(place), ..Complaint::at("", found, expected) });
    }
    // What the parser makes of a line that is no TOML says nothing about the settings.
    let broken = syntax.iter().filter_map(|one| one.place).map(|place| place.line).collect();
    let folder = file.path.parent().unwrap_or(Path::new(""));
    let mut reader = Reader { text, folder, broken, settings, whence, complaints: syntax };
    reader.table("", root.get_ref());
    reader.complaints
}

struct Reader<'a> {
    text: &'a str,
    folder: &'a Path,
    /// Lines that are no TOML.
    broken: Vec<usize>,
    settings: &'a mut Settings,
    whence: &'a mut [Whence],
    complaints: Vec<Complaint>,
}

impl Reader<'_> {
    /// Reads the top, whose `section` is empty, or one section.
    fn table(&mut self, section: &str, table: &DeTable<'_>) {
        for (key, value) in table {
            let name = key.get_ref().as_ref();
            let known = |one: &Setting| one.section() == section && one.key() == name;
            if let Some(at) = SETTINGS.iter().position(known) {
                self.setting(at, value);
            } else if section.is_empty() && SETTINGS.iter().any(|one| one.section() == name) {
                if let DeValue::Table(inner) = value.get_ref() {
                    self.table(name, inner);
                } else {
                    let expected = format!("a section `[{name}]` with {}", keys_of(name));
                    self.blame(&child("", name), value.span(), None, expected);
                }
            } else {
                let around = if section.is_empty() { String::new() } else { child("", section) };
                let found = format!("the key `{}`", web::shown(name, ""));
                let expected = format!("a known key: {}", like(section, name));
                self.blame(&child(&around, name), key.span(), Some(found), expected);
            }
        }
    }

    /// Takes the value of a setting, or leaves it as it was if there is a complaint about it.
    fn setting(&mut self, at: usize, value: &Spanned<DeValue<'_>>) {
        let place = Place::of_offset(self.text, value.span().start);
        let (before, complaints) = (self.settings.clone(), self.complaints.len());
        self.value(&SETTINGS[at], value);
        if self.complaints.len() > complaints || self.broken.contains(&place.line) {
            *self.settings = before;
        } else {
            self.whence[at] = Whence::File(place);
        }
    }

    fn value(&mut self, setting: &Setting, value: &Spanned<DeValue<'_>>) {
        (setting.field)(self.settings).begin();
        match (setting.kind(), value.get_ref()) {
            (Kind::Texts, DeValue::Array(elements)) => {
                for (n, element) in elements.iter().enumerate() {
                    self.one(setting, &child(&setting.pointer(), n), element);
                }
            }
            (Kind::Texts, _) => {
                let expected = (setting.field)(self.settings).expected();
                let expected = format!("a list in brackets; an element is {expected}");
                self.blame(&setting.pointer(), value.span(), None, expected);
            }
            (Kind::Text | Kind::Boolean | Kind::Integer | Kind::Decimal, _) => {
                self.one(setting, &setting.pointer(), value);
            }
        }
    }

    /// Takes one value, or one element of a list.
    fn one(&mut self, setting: &Setting, pointer: &str, value: &Spanned<DeValue<'_>>) {
        let text = text_of(setting.kind(), value.get_ref());
        let mut field = (setting.field)(self.settings);
        let expected = field.expected();
        let Some(text) = text else {
            let expected = match (setting.kind(), value.get_ref()) {
                (Kind::Text | Kind::Texts, _) => format!("a text in quotes: {expected}"),
                (_, DeValue::String(_)) => format!("{expected}, without quotes"),
                _ => expected,
            };
            self.blame(pointer, value.span(), None, expected);
            return;
        };
        let text = if setting.is_path() && !text.is_empty() {
            self.folder.join(text).into_os_string()
        } else {
            OsString::from(text)
        };
        if !field.take(&text) {
            self.blame(pointer, value.span(), None, expected);
        }
    }

    /// * `found`: what is said of the value; its own text if nothing else is.
    fn blame(&mut self, pointer: &str, at: Range<usize>, found: Option<String>, expected: String) {
        if self.complaints.len() >= MOST {
            return;
        }
        let place = Place::of_offset(self.text, at.start);
        if self.broken.contains(&place.line) {
            return;
        }
        let own = || web::shown(self.text.get(at).unwrap_or_default(), "");
        let found = found.unwrap_or_else(own);
        let complaint = Complaint::at(pointer, found, expected);
        self.complaints.push(Complaint { place: Some(place), ..complaint });
    }
}

/// The value as a variable or a flag would give it, if it is of the right kind.
fn text_of(kind: Kind, value: &DeValue<'_>) -> Option<String> {
    match (kind, value) {
        (Kind::Text | Kind::Texts, DeValue::String(text)) => Some(text.clone().into_owned()),
        (Kind::Boolean, DeValue::Boolean(on)) => Some(on.to_string()),
        (Kind::Integer | Kind::Decimal, DeValue::Integer(number)) => Some(decimal(number)),
        (Kind::Decimal, DeValue::Float(number)) => Some(number.as_str().to_owned()),
        _ => None,
    }
}

/// An integer in digits, however it is written; one beyond all bounds as it stands.
fn decimal(number: &DeInteger<'_>) -> String {
    let read = i128::from_str_radix(number.as_str(), number.radix());
    read.map_or_else(|_| number.to_string(), |number| number.to_string())
}

/// What an unknown key may have meant: the same key elsewhere, a key that is like it, or else
/// whatever there is.
fn like(section: &str, key: &str) -> String {
    if let Some(elsewhere) = SETTINGS.iter().find(|one| one.key() == key) {
        return placed(elsewhere);
    }
    let near = |known: &str| strsim::jaro_winkler(known, key);
    let nearest = |all: &mut dyn Iterator<Item = &'static str>| {
        let close = all.filter(|known| near(known) > 0.8);
        close.max_by(|a, b| near(a).total_cmp(&near(b)).then(b.cmp(a)))
    };
    let here = || SETTINGS.iter().filter(|one| one.section() == section);
    if let Some(known) = nearest(&mut here().map(Setting::key)) {
        return format!("`{known}`");
    }
    if section.is_empty()
        && let Some(known) = nearest(&mut SETTINGS.iter().map(Setting::section))
    {
        return format!("the section `[{known}]`");
    }
    let known = nearest(&mut SETTINGS.iter().map(Setting::key));
    let known = known.and_then(|known| SETTINGS.iter().find(|one| one.key() == known));
    known.map_or_else(|| keys_of(section), placed)
}

/// A key with where it belongs.
fn placed(setting: &Setting) -> String {
    match setting.section() {
        "" => format!("`{}` at the top, before every section", setting.key()),
        section => format!("`{}` under `[{section}]`", setting.key()),
    }
}

fn keys_of(section: &str) -> String {
    let keys = SETTINGS.iter().filter(|one| one.section() == section);
    keys.map(|one| format!("`{}`", one.key())).collect::<Vec<_>>().join(", ")
}
