//! Reading the book and the sheets from files, or taking the demo.

use std::{
    fs,
    path::{Path, PathBuf},
};

use anstream::eprintln;

use super::Outcome;
use crate::{
    demo,
    in_force::{InForce, Source},
};

/// Where the documents are.
#[derive(Debug)]
pub(super) struct Files {
    pub(super) book: Option<PathBuf>,
    pub(super) sites: Option<PathBuf>,
}

impl Files {
    /// Loads what is named; complaints and failures are printed.
    pub(super) fn load(&self) -> Result<InForce, Outcome> {
        let (book, sites) = self.sources().map_err(|(path, fault)| {
            eprintln!("Cannot read {}: {fault}", path.display());
            Outcome::Failed
        })?;
        InForce::load(&book, &sites).map_err(|faulty| {
            let count: usize = faulty.iter().map(|one| one.all.len()).sum();
            for complaints in faulty {
                eprintln!("{complaints}");
            }
            eprintln!("{count} complaint(s). Nothing was loaded.");
            Outcome::Complaints
        })
    }

    fn sources(&self) -> Result<(Source, Vec<Source>), (PathBuf, std::io::Error)> {
        let book = match &self.book {
            Some(path) => read(path)?,
            None => demo::book(),
        };
        let sites = match (&self.sites, &self.book) {
            (Some(folder), _) => sheets(folder)?,
            (None, None) => demo::sites(),
            (None, Some(_)) => Vec::new(),
        };
        Ok((book, sites))
    }
}

fn read(path: &Path) -> Result<Source, (PathBuf, std::io::Error)> {
    let text = fs::read_to_string(path).map_err(|fault| (path.to_owned(), fault))?;
    Ok(Source { name: path.display().to_string(), text })
}

/// The `.json` files of a folder, in the order of their names.
fn sheets(folder: &Path) -> Result<Vec<Source>, (PathBuf, std::io::Error)> {
    let at = |fault| (folder.to_owned(), fault);
    let mut paths = Vec::new();
    for entry in fs::read_dir(folder).map_err(at)? {
        let path = entry.map_err(at)?.path();
        if path.extension().is_some_and(|extension| extension == "json") {
            paths.push(path);
        }
    }
    paths.sort();
    paths.iter().map(|path| read(path)).collect()
}
