//! Keys: who may change what is true at a site, and who may override.
//!
//! The service holds digests of keys, never keys. A key is 244 random bits, so a plain SHA-256 of it
//! cannot be guessed back, and comparing digests tells nothing of a key by its timing.

use std::sync::LazyLock;

use serde::{Deserialize, Serialize};
use subtle::ConstantTimeEq as _;
use utoipa::ToSchema;

use crate::{
    book::Id,
    json::{Complaint, Complaints, Digest, Limits, SchemaCheck, read_structure},
};

static SCHEMA: LazyLock<SchemaCheck> = LazyLock::new(|| SchemaCheck::of::<KeysDocument>(true));

/// The keys that the service takes, as a JSON document.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct KeysDocument {
    /// `service-keys/` and the version of this schema.
    #[schema(pattern = "^service-keys/0\\.1\\.[0-9]+$")]
    pub schema: String,
    /// The keys.
    #[schema(max_items = 1000)]
    pub keys: Vec<Key>,
}

/// One key.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Key {
    /// Id, by which logs and people name it.
    pub id: Id,
    /// What its holder may do.
    pub role: Role,
    /// Digest of the key.
    #[schema(pattern = "^sha256:[0-9a-f]{64}$")]
    pub digest: String,
    /// Sites for which it holds; all without any.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub sites: Vec<Id>,
}

/// What the holder of a key may do; each role may do what those before it may.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// Say what has run out.
    Till,
    /// Override refusals that are no matter of safety.
    Trainer,
    /// Everything.
    Admin,
}

impl Role {
    /// As documents write it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Till => "till",
            Self::Trainer => "trainer",
            Self::Admin => "admin",
        }
    }
}

/// The keys that the service takes; none at all without a document.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct KeyRing {
    keys: Vec<Key>,
    /// The document, for complaints that come later: its name and its text.
    source: (String, String),
}

impl KeyRing {
    /// Reads the document of keys.
    ///
    /// * Errors: every complaint at once, with line and column.
    pub fn read(name: &str, text: &str) -> Result<Self, Complaints> {
        let placed = |all| Complaints::placed(name, text, all);
        let read =
            read_structure(text, Limits::DOCUMENT, &SCHEMA).map_err(|one| placed(vec![one]))?;
        if !read.complaints.is_empty() {
            return Err(placed(read.complaints.into_iter().map(unquoted).collect()));
        }
        let document = KeysDocument::deserialize(&read.value).map_err(|fault| {
            placed(vec![Complaint::at("", fault.to_string(), "the published schema")])
        })?;
        let keys = document.keys;
        let mut complaints = Vec::new();
        for (at, key) in keys.iter().enumerate() {
            let twice = |field: &str, found: String| {
                Complaint::at(format!("/keys/{at}/{field}"), found, "each key once")
            };
            if keys[..at].iter().any(|other| other.id == key.id) {
                complaints.push(twice("id", format!("`{}` a second time", key.id)));
            }
            if keys[..at].iter().any(|other| other.digest == key.digest) {
                complaints.push(twice("digest", "a digest a second time".to_owned()));
            }
        }
        let source = (name.to_owned(), text.to_owned());
        if complaints.is_empty() { Ok(Self { keys, source }) } else { Err(placed(complaints)) }
    }

    /// Complaints about sites that keys name and that are not there.
    pub fn strangers(&self, known: impl Fn(&str) -> bool) -> Option<Complaints> {
        let mut all = Vec::new();
        for (at, key) in self.keys.iter().enumerate() {
            for (n, site) in key.sites.iter().enumerate().filter(|(_, site)| !known(site)) {
                let here = format!("/keys/{at}/sites/{n}");
                all.push(Complaint::at(here, format!("`{site}`"), "the id of a site"));
            }
        }
        let (name, text) = &self.source;
        (!all.is_empty()).then(|| Complaints::placed(name, text, all))
    }

    /// Whether there is no key at all.
    pub fn is_empty(&self) -> bool {
        self.keys.is_empty()
    }

    /// The key whose secret this is. Every key is compared, and each to its end, so that the time
    /// that it takes tells neither which is known nor how much of a digest was met.
    pub fn key(&self, secret: &str) -> Option<&Key> {
        let digest = digest_of(secret);
        let same = |key: &Key| bool::from(key.digest.as_bytes().ct_eq(digest.as_bytes()));
        self.keys.iter().fold(None, |known, key| if same(key) { Some(key) } else { known })
    }

    /// How many keys there are.
    pub fn count(&self) -> usize {
        self.keys.len()
    }
}

impl Key {
    /// Whether it holds at the site.
    pub fn holds_at(&self, site: &str) -> bool {
        self.sites.is_empty() || self.sites.iter().any(|one| *one == *site)
    }

    /// A new key: its secret, which is nowhere kept, and what the document holds of it.
    pub fn new(id: Id, role: Role, sites: Vec<Id>) -> (String, Self) {
        let [first, second] = [uuid::Uuid::new_v4(), uuid::Uuid::new_v4()];
        let secret = format!("{}{}", first.simple(), second.simple());
        let digest = digest_of(&secret);
        (secret, Self { id, role, digest, sites })
    }
}

/// The complaint without what it quotes of the document, which may be a key by mistake; only what
/// names roles, ids and sites is quoted.
fn unquoted(complaint: Complaint) -> Complaint {
    let names = ["/schema", "/id", "/role"].iter().any(|end| complaint.pointer.ends_with(end));
    let quotes = complaint.found.starts_with(['"', '[', '{']);
    if !quotes || names || complaint.pointer.contains("/sites/") {
        return complaint;
    }
    Complaint { found: "a value that is not shown, since it may be a key".to_owned(), ..complaint }
}

fn digest_of(secret: &str) -> String {
    Digest::of_bytes(secret.as_bytes()).to_string()
}
