//! Reading the book and the sheets from files, or taking the demo.

use std::{
    fs::{self, File},
    io::{self, Read},
    path::{Path, PathBuf},
    sync::Arc,
};

use anstream::eprintln;

use super::{Outcome, layout::counted};
use crate::{
    book::Bar,
    demo,
    in_force::{InForce, Source},
    json::{Complaint, Complaints, Limits, Place},
};

/// Where the documents are.
#[derive(Clone, Debug)]
pub(super) struct Files {
    pub(super) book: Option<PathBuf>,
    pub(super) sites: Option<PathBuf>,
}

/// What was read, and is not judged yet.
pub(super) struct Documents {
    pub(super) book: Source,
    pub(super) sites: Vec<Source>,
    pub(super) tills: Vec<Source>,
}

impl Documents {
    /// Loads it.
    ///
    /// * Errors: every complaint.
    pub(super) fn load(&self) -> Result<InForce, Unloaded> {
        InForce::load(&self.book, &self.sites)
            .and_then(|held| held.with_tills(&self.tills))
            .map_err(Unloaded::Faulty)
    }
}

/// Why a document was not taken.
enum Untaken {
    /// It cannot be read.
    Unreadable(PathBuf, io::Error),
    /// It is larger than any document may be.
    TooLarge(Complaints),
}

/// Why documents were not taken.
pub(super) enum Unloaded {
    /// One cannot be read.
    Unreadable(PathBuf, io::Error),
    /// There are complaints.
    Faulty(Vec<Complaints>),
}

impl From<Untaken> for Unloaded {
    fn from(why: Untaken) -> Self {
        match why {
            Untaken::Unreadable(path, fault) => Self::Unreadable(path, fault),
            Untaken::TooLarge(complaints) => Self::Faulty(vec![complaints]),
        }
    }
}

impl Unloaded {
    /// Says why on standard error.
    pub(super) fn tell(&self) -> Outcome {
        match self {
            Self::Unreadable(path, fault) => {
                eprintln!("Cannot read {}: {fault}", path.display());
                Outcome::Failed
            }
            Self::Faulty(all) => complain(all),
        }
    }

    /// Each reason in words, without the folder that a document lies in.
    pub(super) fn reasons(&self) -> Vec<String> {
        let file =
            |path: &Path| path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        match self {
            Self::Unreadable(path, fault) => vec![format!("{}: {fault}", file(path))],
            Self::Faulty(all) => {
                let told = |one: &Complaints| {
                    let name = file(Path::new(&one.document));
                    let each = one.all.iter().map(move |complaint| format!("{name}: {complaint}"));
                    each.collect::<Vec<_>>()
                };
                all.iter().flat_map(told).collect()
            }
        }
    }
}

impl Files {
    /// Loads what is named; complaints and failures are printed.
    pub(super) fn load(&self) -> Result<InForce, Outcome> {
        self.try_load().map_err(|why| why.tell())
    }

    /// Loads what is named.
    ///
    /// * Errors: a file cannot be read, or every complaint about what was read.
    pub(super) fn try_load(&self) -> Result<InForce, Unloaded> {
        self.documents()?.load()
    }

    /// Reads what is named, and judges nothing.
    ///
    /// * Errors: a file cannot be read, or is larger than any document may be.
    pub(super) fn documents(&self) -> Result<Documents, Unloaded> {
        let book = match &self.book {
            Some(path) => read(path)?,
            None => demo::book(),
        };
        let (sites, tills) = match (&self.sites, &self.book) {
            (Some(folder), _) => (documents(folder, is_sheet)?, documents(folder, is_till)?),
            (None, None) => (demo::sites(), demo::tills()),
            (None, Some(_)) => (Vec::new(), Vec::new()),
        };
        Ok(Documents { book, sites, tills })
    }

    /// The files in the folder of the sites that are loaded, those of tills last.
    ///
    /// * Errors: the folder cannot be read.
    pub(super) fn sheets(&self) -> io::Result<Vec<PathBuf>> {
        let Some(folder) = &self.sites else { return Ok(Vec::new()) };
        let mut sheets = listed(folder, is_sheet)?;
        sheets.extend(listed(folder, is_till)?);
        Ok(sheets)
    }

    /// The text of the book alone; failures are printed.
    pub(super) fn book(&self) -> Result<Source, Outcome> {
        self.book.as_ref().map_or_else(|| Ok(demo::book()), |path| source(path))
    }
}

/// The text of a document; failures are printed.
pub(super) fn source(path: &Path) -> Result<Source, Outcome> {
    try_source(path).map_err(|why| why.tell())
}

/// The text of a document.
pub(super) fn try_source(path: &Path) -> Result<Source, Unloaded> {
    Ok(read(path)?)
}

/// Prints complaints about documents and how many there are.
pub(super) fn complain(faulty: &[Complaints]) -> Outcome {
    for complaints in faulty {
        eprintln!("{complaints}");
    }
    let count = faulty.iter().map(|one| one.all.len()).sum();
    eprintln!("{}. Nothing was loaded.", counted(count, "complaint", "complaints"));
    Outcome::Complaints
}

/// The bytes of `source`; of one over the limit no more than tell that it is.
pub(super) fn within(source: impl Read, limits: Limits) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    let most = u64::try_from(limits.bytes).unwrap_or(u64::MAX);
    source.take(most.saturating_add(1)).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// Reads a document. Its length is looked at first, and again while reading, since what is no plain
/// file does not tell one.
fn read(path: &Path) -> Result<Source, Untaken> {
    let at = |fault| Untaken::Unreadable(path.to_owned(), fault);
    let file = File::open(path).map_err(at)?;
    let most = Limits::DOCUMENT.bytes;
    let length = file.metadata().map_err(at)?.len();
    let fits = usize::try_from(length).is_ok_and(|length| length <= most);
    if !fits {
        return Err(too_large(path, &format!("{length} bytes")));
    }
    let bytes = within(file, Limits::DOCUMENT).map_err(at)?;
    if bytes.len() > most {
        return Err(too_large(path, "more bytes"));
    }
    let text = String::from_utf8(bytes)
        .map_err(|fault| at(io::Error::new(io::ErrorKind::InvalidData, fault)))?;
    Ok(Source { name: path.display().to_string(), text })
}

fn too_large(path: &Path, found: &str) -> Untaken {
    let expected = format!("at most {} bytes", Limits::DOCUMENT.bytes);
    let start = Place { line: 1, column: 1 };
    let complaint = Complaint { place: Some(start), ..Complaint::at("", found, expected) };
    Untaken::TooLarge(Complaints { document: path.display().to_string(), all: vec![complaint] })
}

/// Whether a file name is that of a site's sheet: `.json`, and not of a till.
fn is_sheet(name: &str) -> bool {
    Path::new(name).extension().is_some_and(|end| end == "json") && !is_till(name)
}

/// Whether a file name is that of a till's sheet: `SITE.till.csv` or `SITE.till.json`.
fn is_till(name: &str) -> bool {
    name.ends_with(".till.csv") || name.ends_with(".till.json")
}

/// What the files of a folder that are `wanted` hold.
fn documents(folder: &Path, wanted: fn(&str) -> bool) -> Result<Vec<Source>, Untaken> {
    let paths = listed(folder, wanted);
    let paths = paths.map_err(|fault| Untaken::Unreadable(folder.to_owned(), fault))?;
    paths.iter().map(|path| read(path)).collect()
}

/// The files of a folder that are `wanted`, in the order of their names.
fn listed(folder: &Path, wanted: fn(&str) -> bool) -> io::Result<Vec<PathBuf>> {
    let mut paths = Vec::new();
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        if entry.file_name().to_str().is_some_and(wanted) {
            paths.push(entry.path());
        }
    }
    paths.sort();
    Ok(paths)
}

/// The bar of a site.
///
/// * Errors: there is none; which there are has been printed.
pub(super) fn bar_of<'h>(held: &'h InForce, site: &str) -> Result<&'h Arc<Bar>, Outcome> {
    held.bar(site).ok_or_else(|| {
        let known: Vec<&str> = held.bars.keys().map(|id| &**id).collect();
        eprintln!("There is no site `{site}`. Sites: {}.", known.join(", "));
        Outcome::Complaints
    })
}
