//! Digests: SHA-256 over the canonical form of RFC 8785.

use std::fmt;

use serde::{Serialize, Serializer};
use serde_json::Value;
use sha2::{Digest as _, Sha256};

/// How every digest begins.
const KIND: &[u8] = b"sha256:";
/// How long every digest is.
const TEXT: usize = KIND.len() + 64;

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

    /// The digest as it is written. Every build holds several, so it is made without the formatter.
    pub fn text(&self) -> [u8; TEXT] {
        const DIGITS: &[u8; 16] = b"0123456789abcdef";
        let mut text = [0; TEXT];
        let (kind, digits) = text.split_at_mut(KIND.len());
        kind.copy_from_slice(KIND);
        for (pair, byte) in digits.chunks_exact_mut(2).zip(self.0) {
            pair[0] = DIGITS[usize::from(byte >> 4)];
            pair[1] = DIGITS[usize::from(byte & 15)];
        }
        text
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
        out.write_str(std::str::from_utf8(&self.text()).unwrap_or_default())
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
