//! A site's side: what a repository says, after every check that The Update Framework asks of a client.

use std::{
    collections::BTreeMap,
    path::{Path, PathBuf},
};

use tough::{
    ExpirationEnforcement, IntoVec as _, Limits, Repository, RepositoryLoader, TargetName,
    schema::Role as _,
};
use url::Url;

use super::{
    Expiries, Fault, Versions, kept::Kept, sign::wait, standing::OVERLAY, transport::Getter,
};

/// Most bytes of root, timestamp and snapshot: those of a roaster with thousands of sites have a tenth.
const SMALL: u64 = 256 * 1024;
/// Most bytes of targets, which have half a kilobyte for each document.
const TARGETS: u64 = 4 * 1024 * 1024;
/// Most roots that a site may have missed.
const ROOTS: u64 = 1024;

/// Where a repository is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Source {
    /// A folder.
    Folder(PathBuf),
    /// An address, of HTTP or HTTPS.
    Web(Url),
}

impl Source {
    /// An address if it begins like one, else a folder.
    ///
    /// * Errors: an address that is none.
    pub fn of(text: &str) -> Result<Self, String> {
        if !text.contains("://") {
            return Ok(Self::Folder(PathBuf::from(text)));
        }
        let url = Url::parse(text).map_err(|fault| fault.to_string())?;
        if !matches!(url.scheme(), "http" | "https") || url.query().is_some() {
            return Err("an address of HTTP or HTTPS without a query".to_owned());
        }
        Ok(Self::Web(url))
    }

    fn base(&self, part: &str) -> Result<Url, Fault> {
        let bad = |why: String| Fault::Unreached(format!("This is no repository: {why}"));
        match self {
            Self::Folder(path) => {
                let whole = std::fs::canonicalize(path).map_err(Fault::file(path))?;
                let url = Url::from_directory_path(whole.join(part));
                url.map_err(|()| bad(path.display().to_string()))
            }
            Self::Web(url) => {
                let text = format!("{}/{part}/", url.as_str().trim_end_matches('/'));
                Url::parse(&text).map_err(|fault| bad(fault.to_string()))
            }
        }
    }
}

/// A document that may be used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SeenDocument {
    /// What the roaster says of it, by name.
    pub said: BTreeMap<String, serde_json::Value>,
    /// The document.
    pub bytes: Vec<u8>,
}

/// What a site sees.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Seen {
    /// The versions in force.
    pub versions: Versions,
    /// When each expires.
    pub expiries: Expiries,
    /// The documents, by name.
    pub documents: BTreeMap<String, SeenDocument>,
}

/// Fetches everything that a repository has in force. Not to be called on a thread that runs an
/// asynchronous program.
///
/// * `trusted`: the bytes of a root that came by another way.
/// * `store`: the folder of what was seen before; without one, an old repository is not told from a
///   new one.
/// * Errors: anything that is not as it should be; then nothing of it is used.
pub fn fetch(source: &Source, trusted: &[u8], store: Option<&Path>) -> Result<Seen, Fault> {
    let getter = Getter::new()?;
    let bases = [source.base("metadata")?, source.base("targets")?];
    let Some(folder) = store else {
        return wait(all(bases, trusted.to_owned(), None, &getter));
    };
    let kept = Kept::open(folder)?;
    let start = kept.start(trusted)?;
    let work = kept.lend()?;
    let seen = wait(all(bases, start, Some(work.clone()), &getter));
    kept.take_over(&work)?;
    seen
}

async fn all(
    [metadata, targets]: [Url; 2],
    root: Vec<u8>,
    store: Option<PathBuf>,
    getter: &Getter,
) -> Result<Seen, Fault> {
    let limits = Limits {
        max_root_size: SMALL,
        max_targets_size: TARGETS,
        max_timestamp_size: SMALL,
        max_snapshot_size: SMALL,
        max_root_updates: ROOTS,
    };
    let mut loader = RepositoryLoader::new(&root, metadata, targets)
        .transport(getter.clone())
        .limits(limits)
        .expiration_enforcement(ExpirationEnforcement::Safe);
    if let Some(store) = store {
        loader = loader.datastore(store);
    }
    let repository = loader.load().await.map_err(|fault| refused(getter, &fault))?;
    let (versions, expiries) = in_force(&repository)?;
    let mut documents = BTreeMap::new();
    let names: Vec<TargetName> = repository.all_targets().map(|(name, _)| name.clone()).collect();
    for name in names {
        let (key, document) = document(&repository, &name, getter).await?;
        documents.insert(key, document);
    }
    Ok(Seen { versions, expiries, documents })
}

/// One document, used only after its last byte came and its digest is as signed.
async fn document(
    repository: &Repository,
    name: &TargetName,
    getter: &Getter,
) -> Result<(String, SeenDocument), Fault> {
    let gone = || Fault::Refused(format!("{} is signed by nobody who may.", name.raw()));
    let target = repository.targets().signed.find_target(name, false).map_err(|_| gone())?;
    let said = target.custom.iter().map(|(name, value)| (name.clone(), value.clone())).collect();
    let stream = repository.read_target(name).await.map_err(|fault| refused(getter, &fault))?;
    let bytes = stream.ok_or_else(gone)?.into_vec().await;
    let bytes = bytes.map_err(|fault| refused(getter, &fault))?;
    if bytes.len() as u64 != target.length {
        return Err(Fault::Refused(format!("{} has another length than is signed.", name.raw())));
    }
    Ok((name.raw().to_owned(), SeenDocument { said, bytes }))
}

fn in_force(repository: &Repository) -> Result<(Versions, Expiries), Fault> {
    let targets = &repository.targets().signed;
    // The crate passes over a delegated role that the snapshot does not name.
    let overlay = targets.delegated_targets(OVERLAY);
    let overlay =
        &overlay.map_err(|_| Fault::Refused("The overlay is held back.".to_owned()))?.signed;
    let (root, snapshot, timestamp) =
        (&repository.root().signed, &repository.snapshot().signed, &repository.timestamp().signed);
    let versions = Versions {
        root: root.version.get(),
        targets: targets.version.get(),
        overlay: overlay.version.get(),
        snapshot: snapshot.version.get(),
        timestamp: timestamp.version.get(),
    };
    let expiries = Expiries {
        root: root.expires(),
        targets: targets.expires(),
        overlay: overlay.expires(),
        snapshot: snapshot.expires(),
        timestamp: timestamp.expires(),
    };
    Ok((versions, expiries))
}

/// Why, in one line: the crate's errors hold those before them.
fn refused(getter: &Getter, fault: &tough::error::Error) -> Fault {
    let mut told = fault.to_string();
    let mut inner = std::error::Error::source(fault);
    while let Some(one) = inner {
        let text = one.to_string();
        if !told.contains(&text) {
            told = format!("{told}: {text}");
        }
        inner = one.source();
    }
    if getter.was_unreached() { Fault::Unreached(told) } else { Fault::Refused(told) }
}
