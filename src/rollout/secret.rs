//! Secret keys: Ed25519 in PKCS #8 (RFC 8410), in PEM; those off line are encrypted by PBES2 (RFC
//! 8018) with scrypt (RFC 7914) and AES-256-CBC, so that OpenSSL reads them too.

use std::{fmt, path::Path};

use aws_lc_rs::{
    rand::{self, SystemRandom},
    signature::Ed25519KeyPair,
};
use pkcs8::{
    EncryptedPrivateKeyInfoRef, LineEnding, PrivateKeyInfoRef, SecretDocument,
    pkcs5::{pbes2::Parameters, scrypt::Params},
};
use tough::{
    async_trait,
    key_source::KeySource,
    schema::{
        decoded::{Decoded, Hex},
        key::Key,
    },
    sign::Sign,
};

use super::Fault;

/// The id of a key, as metadata name it.
pub(super) type KeyId = Decoded<Hex>;

const PLAIN: &str = "PRIVATE KEY";
const LOCKED: &str = "ENCRYPTED PRIVATE KEY";

/// What opens the keys that are kept off line.
#[derive(Clone)]
pub struct Passphrase(String);

impl Passphrase {
    /// Fewest characters.
    pub const LEAST: usize = 12;

    /// A passphrase.
    ///
    /// * Errors: it is shorter than [`Self::LEAST`] characters.
    pub fn new(text: &str) -> Result<Self, Fault> {
        if text.chars().count() < Self::LEAST {
            let why = format!("A passphrase has at least {} characters.", Self::LEAST);
            return Err(Fault::Key(why));
        }
        Ok(Self(text.to_owned()))
    }
}

impl fmt::Debug for Passphrase {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str("Passphrase")
    }
}

/// A secret key in memory, which is overwritten when it is dropped.
#[derive(Clone)]
pub(super) struct Secret(SecretDocument);

impl Secret {
    /// A new key.
    pub(super) fn new() -> Result<Self, Fault> {
        let made = Ed25519KeyPair::generate_pkcs8v1(&SystemRandom::new());
        let made = made.map_err(|_| unmade("the system gives no chance"))?;
        SecretDocument::try_from(made.as_ref()).map(Self).map_err(unmade)
    }

    fn pair(&self) -> Result<Ed25519KeyPair, Fault> {
        let pair = Ed25519KeyPair::from_pkcs8(self.0.as_bytes());
        pair.map_err(|_| Fault::Key("This is no Ed25519 key.".to_owned()))
    }

    /// The public key.
    pub(super) fn public(&self) -> Result<Key, Fault> {
        Ok(self.pair()?.tuf_key())
    }

    /// As it is kept on line: for whoever can read the file.
    pub(super) fn plain(&self) -> Result<String, Fault> {
        self.0.to_pem(PLAIN, LineEnding::LF).map(|pem| pem.to_string()).map_err(unmade)
    }

    /// As it is kept off line: for whoever has the file and the passphrase.
    pub(super) fn locked(&self, passphrase: &Passphrase) -> Result<String, Fault> {
        let (mut salt, mut start) = ([0; 16], [0; 16]);
        rand::fill(&mut salt).and_then(|()| rand::fill(&mut start)).map_err(unmade)?;
        // OWASP's least for scrypt, in the form whose memory OpenSSL allows: N = 2^14, r = 8, p = 5.
        let cost = Params::new(14, 8, 5).map_err(unmade)?;
        let how = Parameters::generate_scrypt_aes256cbc(cost, &salt, start).map_err(unmade)?;
        let plain = PrivateKeyInfoRef::try_from(self.0.as_bytes()).map_err(unmade)?;
        let locked = plain.encrypt_with_params(how, &passphrase.0).map_err(unmade)?;
        locked.to_pem(LOCKED, LineEnding::LF).map(|pem| pem.to_string()).map_err(unmade)
    }

    /// Reads a key from its file.
    ///
    /// * Errors: it is no key, or the passphrase is missing or another.
    pub(super) fn read(
        path: &Path,
        text: &str,
        passphrase: Option<&Passphrase>,
    ) -> Result<Self, Fault> {
        let told = |why: &str| Fault::Key(format!("{}: {why}.", path.display()));
        let (label, document) =
            SecretDocument::from_pem(text).map_err(|_| told("this is no key in PEM"))?;
        match label {
            PLAIN => Ok(Self(document)),
            LOCKED => {
                let passphrase = passphrase
                    .ok_or_else(|| told("this key is off line, and needs its passphrase"))?;
                let locked = EncryptedPrivateKeyInfoRef::try_from(document.as_bytes())
                    .map_err(|_| told("this is no encrypted key"))?;
                locked
                    .decrypt(&passphrase.0)
                    .map(Self)
                    .map_err(|_| told("another passphrase opens this key"))
            }
            _ => Err(told("this is no key in PEM")),
        }
    }
}

fn unmade(why: impl fmt::Display) -> Fault {
    Fault::Key(format!("A key cannot be made: {why}."))
}

/// The id of a public key.
pub(super) fn id_of(key: &Key) -> Result<KeyId, Fault> {
    key.key_id().map_err(unmade)
}

/// An id in hexadecimal digits.
pub(super) fn hex(id: &KeyId) -> String {
    data_encoding::HEXLOWER.encode(id)
}

impl fmt::Debug for Secret {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str("Secret")
    }
}

type Failed = Box<dyn std::error::Error + Send + Sync + 'static>;

#[async_trait]
impl KeySource for Secret {
    async fn as_sign(&self) -> Result<Box<dyn Sign>, Failed> {
        Ok(Box::new(self.pair()?))
    }

    async fn write(&self, _value: &str, _key_id: &str) -> Result<(), Failed> {
        Err("keys are written by their folder alone".into())
    }
}
