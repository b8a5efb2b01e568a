//! Bytes as letters, and the check that tells a slip.

use data_encoding::BASE32_NOPAD;

/// Letters that are read at most; a token of every modifier of a large book has fewer.
const LONGEST: usize = 512;
/// Bytes of the check.
const CHECK: usize = 3;

/// Why a token cannot be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Unreadable {
    /// Something in it is no letter of base32, or it is too long or too short to be one.
    #[error(
        "it is not written in the letters A to Z and 2 to 7, or has not as many as a token has"
    )]
    Letters,
    /// Its check does not come to what it says.
    #[error("its check does not fit: a letter is wrong, missing, or in another place")]
    Check,
    /// It ends early.
    #[error("it ends early")]
    Short,
    /// It is of a form that this program does not know.
    #[error("it is of form {0}; this program reads form 1")]
    Form(u64),
}

/// The bytes with their check, as letters.
pub(super) fn spelt(mut bytes: Vec<u8>) -> String {
    let check = check(&bytes);
    bytes.extend(check);
    BASE32_NOPAD.encode(&bytes)
}

/// The bytes without their check.
///
/// * `text`: in capital letters.
/// * Errors: it is no base32, or the check does not fit.
pub(super) fn bytes_of(text: &str) -> Result<Vec<u8>, Unreadable> {
    if text.len() > LONGEST {
        return Err(Unreadable::Letters);
    }
    let mut bytes = BASE32_NOPAD.decode(text.as_bytes()).map_err(|_| Unreadable::Letters)?;
    let body = bytes.len().checked_sub(CHECK).ok_or(Unreadable::Letters)?;
    let given = bytes.split_off(body);
    if check(&bytes)[..] == given[..] { Ok(bytes) } else { Err(Unreadable::Check) }
}

/// The check: CRC-24, turned over, since zeros behind a plain one would fit too.
fn check(bytes: &[u8]) -> [u8; CHECK] {
    crc24(bytes).map(|byte| !byte)
}

/// CRC-24 (RFC 9580, section 6.1.1), the high byte first.
///
/// It tells every change that lies within 24 neighbouring bits, and so every character that is
/// another and every two neighbours that changed places, which a part of a hash would not for
/// certain.
fn crc24(bytes: &[u8]) -> [u8; CHECK] {
    const START: u32 = 0x00b7_04ce;
    const POLYNOMIAL: u32 = 0x0186_4cfb;
    let crc = bytes.iter().fold(START, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte) << 16, |crc, _| {
            let next = crc << 1;
            if next & 0x0100_0000 == 0 { next } else { next ^ POLYNOMIAL }
        })
    });
    let [_, high, middle, low] = crc.to_be_bytes();
    [high, middle, low]
}

#[cfg(test)]
mod tests {
    use super::{Unreadable, bytes_of, crc24, spelt};

    /// Sources: RFC 9580, section 6.1.1 for the algorithm; the value for these nine digits as
    /// catalogues of CRCs list it for CRC-24/OPENPGP, from memory.
    #[test]
    fn the_check_is_that_of_rfc_9580() {
        assert_eq!(crc24(b"123456789"), [0x21, 0xcf, 0x02]);
        assert_eq!(crc24(b""), [0xb7, 0x04, 0xce]);
    }

    #[test]
    fn bytes_are_read_back_and_anything_else_is_told() {
        let text = spelt(b"a cup".to_vec());
        assert_eq!(bytes_of(&text), Ok(b"a cup".to_vec()));
        for odd in ["", "A", "AAAA", "AA=A", "a cup", "é", &text.to_lowercase(), &"A".repeat(520)]
        {
            assert_eq!(bytes_of(odd), Err(Unreadable::Letters), "{odd}");
        }
        for behind in ["AAAAAAAA", "AAAAAAAAAAAAAAAA"] {
            assert_eq!(bytes_of(&format!("{text}{behind}")), Err(Unreadable::Check), "{behind}");
        }
        // Bits that belong to no byte are not zero, so nobody spelt it.
        for behind in ["77777777", &text] {
            assert_eq!(bytes_of(&format!("{text}{behind}")), Err(Unreadable::Letters), "{behind}");
        }
        assert_eq!(bytes_of(&text.replace(&text[..1], "Z")), Err(Unreadable::Check));
    }
}
