//! The layers put over each other: default, file, environment, flags.

use std::{
    collections::BTreeMap,
    ffi::{OsStr, OsString},
    path::PathBuf,
};

use super::{
    file, reach::reachable_by_others, setting::Setting, settings::Settings, table::SETTINGS,
};
use crate::json::{Complaint, Complaints, Place};

/// A file of settings, as it was read.
#[derive(Clone, Debug)]
pub struct File {
    /// Where it lies; paths in it are relative to its folder.
    pub path: PathBuf,
    /// Its text.
    pub text: String,
}

/// What there is besides the defaults.
pub struct Layers<'a> {
    /// The file, if one is named.
    pub file: Option<&'a File>,
    /// The environment variable of a name.
    pub variable: &'a dyn Fn(&str) -> Option<OsString>,
    /// What each flag says, by its name without dashes.
    pub flags: &'a BTreeMap<&'static str, Vec<OsString>>,
}

/// Where a value comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Whence {
    /// Nobody gave it.
    Default,
    /// The file, at this place.
    File(Place),
    /// The environment variable of the setting.
    Variable,
    /// The flag of the setting.
    Flag,
}

/// Settings, where each of them comes from, and everything that is wrong with them.
#[derive(Clone, Debug)]
pub struct Configured {
    /// The settings; what is at fault keeps the value of the layer below.
    pub settings: Settings,
    /// The file, if one is named.
    pub file: Option<String>,
    /// Where each of [`SETTINGS`] comes from, in their order.
    pub whence: Vec<Whence>,
    /// Every fault, by document: the file, a variable, or a flag.
    pub faults: Vec<Complaints>,
}

impl Configured {
    /// Puts the layers over each other.
    pub fn of(layers: &Layers<'_>) -> Self {
        let name = layers.file.map(|file| file.path.display().to_string());
        let whence = vec![Whence::Default; SETTINGS.len()];
        let mut this = Self { settings: Settings::default(), file: name, whence, faults: vec![] };
        if let Some(file) = layers.file {
            let read = file::read(file, &mut this.settings, &mut this.whence);
            this.blame(&file.path.display().to_string(), read);
        }
        for (at, setting) in SETTINGS.iter().enumerate() {
            if let Some(text) = (layers.variable)(setting.variable).filter(|text| !text.is_empty())
            {
                this.put(at, &parts(setting, &text), Whence::Variable);
            }
            if let Some(given) = layers.flags.get(setting.flag) {
                this.put(at, given, Whence::Flag);
            }
        }
        this.judge_reach();
        this
    }

    /// Every setting with where it comes from.
    pub fn rows(&self) -> impl Iterator<Item = (&'static Setting, Whence)> {
        SETTINGS.iter().zip(self.whence.iter().copied())
    }

    /// Where a setting comes from, as people name it.
    pub fn named(&self, setting: &Setting, whence: Whence) -> String {
        match whence {
            Whence::Default => "default".to_owned(),
            Whence::File(_) => self.file.clone().unwrap_or_default(),
            Whence::Variable => setting.variable.to_owned(),
            Whence::Flag => format!("--{}", setting.flag),
        }
    }

    fn put(&mut self, at: usize, given: &[OsString], whence: Whence) {
        let setting = &SETTINGS[at];
        let mut settings = self.settings.clone();
        let faults = setting.set(&mut settings, given);
        if faults.is_empty() {
            (self.settings, self.whence[at]) = (settings, whence);
        }
        let complaint = |(found, expected)| Complaint::at(setting.pointer(), found, expected);
        let faults = faults.into_iter().map(complaint).collect();
        self.blame(&self.named(setting, whence), faults);
    }

    /// Adds complaints about a document.
    fn blame(&mut self, document: &str, mut all: Vec<Complaint>) {
        if let Some(there) = self.faults.iter_mut().find(|there| there.document == *document) {
            there.all.append(&mut all);
        } else if !all.is_empty() {
            self.faults.push(Complaints { document: document.to_owned(), all });
        }
        for one in &mut self.faults {
            one.all.sort_by(|a, b| (a.place, &a.pointer).cmp(&(b.place, &b.pointer)));
        }
    }

    /// Complains about an address that others can reach while nothing says who may ask; not where
    /// what would say so is itself at fault.
    fn judge_reach(&mut self) {
        let Settings { keys, listen, .. } = &self.settings;
        let guarded = keys.is_some() || listen.open || !reachable_by_others(listen.address);
        let mut told = self.faults.iter().flat_map(|one| &one.all);
        if guarded || told.any(|one| one.pointer == "/keys" || one.pointer == "/listen/open") {
            return;
        }
        let found = format!("`{}`, which others can reach, and no keys", listen.address);
        let of_address = self.rows().find(|(setting, _)| setting.path == "listen.address");
        let Some((setting, whence)) = of_address else { return };
        let expected = "a loopback address such as `127.0.0.1:8080`, or a file of keys (`keys` in \
                        the file, --keys, CUPWRIGHT_KEYS), or leave to take requests without a key \
                        (`open = true` under `[listen]`, --open, CUPWRIGHT_OPEN=true)";
        let place = match whence {
            Whence::File(place) => Some(place),
            Whence::Default | Whence::Variable | Whence::Flag => None,
        };
        let complaint = Complaint { place, ..Complaint::at(setting.pointer(), found, expected) };
        self.blame(&self.named(setting, whence), vec![complaint]);
    }
}

/// The elements of a list, which commas part in the environment; else the text as it is.
fn parts(setting: &Setting, text: &OsStr) -> Vec<OsString> {
    match text.to_str().filter(|_| setting.is_list()) {
        Some(text) => {
            let parts = text.split(',').map(str::trim).filter(|part| !part.is_empty());
            parts.map(OsString::from).collect()
        }
        None => vec![text.to_owned()],
    }
}
