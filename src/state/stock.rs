//! What has run out at each site, said during service.

use std::{
    collections::{BTreeMap, BTreeSet},
    io,
    sync::{PoisonError, RwLock, RwLockReadGuard},
};

use serde::{Deserialize, Serialize};

use super::{NoState, StateDir};

const FILE: &str = "stock-outs.json";
const SCHEMA: &str = "stock-outs/0.1.0";

/// Ingredients by site.
type BySite = BTreeMap<String, BTreeSet<String>>;

/// The file as it is kept.
#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Kept {
    schema: String,
    sites: BySite,
}

/// What has run out, kept in a state directory; without one nothing has, and nothing can be said.
#[derive(Debug, Default)]
pub struct StockOuts {
    folder: Option<StateDir>,
    sites: RwLock<BySite>,
}

impl StockOuts {
    /// What is kept in `folder`.
    ///
    /// * Errors: the file cannot be read, or is not what this program wrote.
    pub fn kept_in(folder: StateDir) -> Result<Self, NoState> {
        let path = folder.folder.join(FILE);
        let text = folder.read(FILE).map_err(|fault| NoState::Failed(path.clone(), fault))?;
        let sites = match text {
            None => BySite::new(),
            Some(text) => {
                let damaged = |why: String| NoState::Damaged(path.clone(), why);
                let kept: Kept =
                    serde_json::from_str(&text).map_err(|fault| damaged(fault.to_string()))?;
                if kept.schema != SCHEMA {
                    return Err(damaged(format!("`{}` is not `{SCHEMA}`", kept.schema)));
                }
                kept.sites
            }
        };
        Ok(Self { folder: Some(folder), sites: RwLock::new(sites) })
    }

    /// Whether anything can be said to have run out.
    pub fn is_kept(&self) -> bool {
        self.folder.is_some()
    }

    /// What has run out at a site, by ingredient id, sorted.
    pub fn at(&self, site: &str) -> Vec<String> {
        self.read().get(site).map(|all| all.iter().cloned().collect()).unwrap_or_default()
    }

    /// What has run out, by site; sites where nothing has are left out.
    pub fn all(&self) -> BTreeMap<String, Vec<String>> {
        self.read()
            .iter()
            .map(|(site, all)| (site.clone(), all.iter().cloned().collect()))
            .collect()
    }

    /// Says that an ingredient has run out at a site, or is there again.
    ///
    /// * Result: whether that changes anything.
    /// * Errors: it cannot be kept; then nothing has changed.
    pub fn set(&self, site: &str, ingredient: &str, gone: bool) -> io::Result<bool> {
        let Some(folder) = &self.folder else { return Err(io::ErrorKind::Unsupported.into()) };
        let mut sites = self.sites.write().unwrap_or_else(PoisonError::into_inner);
        let mut new = sites.clone();
        let here = new.entry(site.to_owned()).or_default();
        let changed =
            if gone { here.insert(ingredient.to_owned()) } else { here.remove(ingredient) };
        if !changed {
            return Ok(false);
        }
        new.retain(|_, all| !all.is_empty());
        let kept = Kept { schema: SCHEMA.to_owned(), sites: new };
        folder.write(FILE, &serde_json::to_string_pretty(&kept)?)?;
        *sites = kept.sites;
        Ok(true)
    }

    fn read(&self) -> RwLockReadGuard<'_, BySite> {
        self.sites.read().unwrap_or_else(PoisonError::into_inner)
    }
}
