//! One setting: its names, what it is for, and the field that holds it.

use std::ffi::{OsStr, OsString};

use serde_json::Value;

use super::{
    field::{Field, Kind},
    settings::Settings,
    web,
};

/// One setting, as the file, the environment and the command line name it.
#[derive(Debug)]
pub struct Setting {
    /// Its key in the file, behind the name of its section: `limits.at_once`.
    pub path: &'static str,
    /// Its flag, without dashes.
    pub flag: &'static str,
    /// What stands for its value in help, such as `FILE`.
    pub stands: &'static str,
    /// Its environment variable.
    pub variable: &'static str,
    /// What it is for, in a sentence or two.
    pub about: &'static str,
    /// A value as a file may give it, other than the default.
    pub sample: &'static str,
    pub(super) field: fn(&mut Settings) -> Field<'_>,
}

impl Setting {
    /// Its section in the file; empty for the top.
    pub fn section(&self) -> &'static str {
        self.path.split_once('.').map_or("", |(section, _)| section)
    }

    /// Its key within its section.
    pub fn key(&self) -> &'static str {
        self.path.split_once('.').map_or(self.path, |(_, key)| key)
    }

    /// JSON Pointer (RFC 6901) to its value in the file.
    pub fn pointer(&self) -> String {
        format!("/{}", self.path.replace('.', "/"))
    }

    /// Whether it is a list, so that its flag may be given several times.
    pub fn is_list(&self) -> bool {
        self.kind() == Kind::Texts
    }

    /// Whether it is yes or no, so that its flag needs no value.
    pub fn is_switch(&self) -> bool {
        self.kind() == Kind::Boolean
    }

    /// Whether it is a path.
    pub fn is_path(&self) -> bool {
        matches!((self.field)(&mut Settings::default()), Field::Path(_))
    }

    /// Its value in `settings`; times are seconds, and what is not set is null.
    pub fn value(&self, settings: &Settings) -> Value {
        (self.field)(&mut settings.clone()).value()
    }

    /// Whether `text` can be its value, or one element of it.
    ///
    /// * Errors: what was found and what is expected.
    pub fn check(&self, text: &OsStr) -> Result<(), (String, String)> {
        let mut settings = Settings::default();
        self.set(&mut settings, &[text.to_owned()]).pop().map_or(Ok(()), Err)
    }

    /// Sets it to `given`, of which only a list takes more than one.
    ///
    /// * Result: what was found and what is expected, for each that could not be taken.
    pub(super) fn set(&self, settings: &mut Settings, given: &[OsString]) -> Vec<(String, String)> {
        let mut field = (self.field)(settings);
        field.begin();
        let untaken: Vec<_> = given.iter().filter(|one| !field.take(one)).collect();
        let expected = field.expected();
        let found = |one: &OsString| web::shown(&one.to_string_lossy(), "`");
        untaken.into_iter().map(|one| (found(one), expected.clone())).collect()
    }

    pub(super) fn kind(&self) -> Kind {
        (self.field)(&mut Settings::default()).kind()
    }
}
