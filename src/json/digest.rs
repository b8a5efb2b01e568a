//! Digests: SHA-256 over the canonical form of RFC 8785.

use std::fmt;

use serde::{Serialize, Serializer};
use serde_json::Value;
use sha2::{Digest as _, Sha256};

/// A SHA-256 digest, written `sha256:` and 64 hexadecimal digits.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Digest([u8; 32]);

impl Digest {
    /// The digest of a JSON value's canonical form.
    pub fn of(value: &Value) -> Self {
        Self::of_bytes(&canonical_bytes(value))
    }

    /// The digest of bytes as they are.
    pub fn of_bytes(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }

    /// The 32 bytes.
    pub const fn bytes(&self) -> &[u8; 32] {
        &self.0
    }
}

/// The canonical form of RFC 8785: sorted members, shortest numbers, no white space.
///
/// Integers beyond 2⁵³ have no exact form there; documents of ours never hold them, since every
/// number is bounded by its schema.
pub fn canonical_bytes(value: &Value) -> Vec<u8> {
    serde_json_canonicalizer::to_vec(value).unwrap_or_default()
}

impl fmt::Display for Digest {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str("sha256:")?;
        self.0.iter().try_for_each(|byte| write!(out, "{byte:02x}"))
    }
}

impl fmt::Debug for Digest {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, out)
    }
}

impl Serialize for Digest {
    fn serialize<S: Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
        out.collect_str(self)
    }
}
