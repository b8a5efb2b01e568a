//! Names of jobs: by them a sticker is found again, at a printer that may have it already.

use sha2::{Digest as _, Sha256};

use super::queue::{Digested, Sheet, Which};

/// Bytes of a digest that stand in the name of a job.
const NAMED_BY: usize = 8;
/// Characters with which a name is one sticker's alone: those digits and the stroke after them.
const TELLING: usize = 2 * NAMED_BY + 1;

/// What stands for an order in the names of its jobs: the same sender's key with other stickers is
/// another order.
pub(super) fn order_digest(key: &Digested, asked: &Digested) -> Digested {
    Sha256::new().chain_update(key).chain_update(asked).finalize().into()
}

/// The names of jobs: part of a digest, which of the order's lines, which of its cups, and of a cup
/// with several stickers which of these. Nothing of it is a sender's word.
///
/// The digest is each sticker's own, so that a name of which a printer keeps the beginning alone still
/// is one sticker's.
///
/// * `of`: what stands for the order.
pub(super) fn job_names(of: &[u8], sheets: &[Sheet]) -> Vec<String> {
    let mut lines: Vec<&str> = Vec::new();
    let mut names = Vec::with_capacity(sheets.len());
    for Sheet { which, .. } in sheets {
        let Which { line, cup: [n, cups], part: [part, parts] } = which;
        if !lines.contains(&line.as_str()) {
            lines.push(line);
        }
        let at = lines.iter().position(|one| one == line).unwrap_or_default();
        let place = format!("{}/{n} of {cups}", at + 1);
        let place = if *parts > 1 { format!("{place}/{part} of {parts}") } else { place };
        let digest: Digested =
            Sha256::new().chain_update(of).chain_update(&place).finalize().into();
        let first = digest.first_chunk::<NAMED_BY>().copied().unwrap_or_default();
        names.push(format!("{:016x}/{place}", u64::from_be_bytes(first)));
    }
    names
}

/// What a name that a printer lists says of ours.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Named {
    /// It is ours, cut short or not.
    Ours,
    /// Too little of it is listed to say.
    Hidden,
    /// It is another's.
    Other,
}

/// Compares a name that a printer lists with ours: some printers cut names short.
pub(super) fn named(listed: &str, ours: &str) -> Named {
    let is_cut = ours.starts_with(listed);
    if listed.starts_with(ours) || (is_cut && listed.len() >= TELLING) {
        Named::Ours
    } else if is_cut {
        Named::Hidden
    } else {
        Named::Other
    }
}

#[cfg(test)]
mod tests {
    use super::{Named, job_names, named, order_digest};
    use crate::print::{Document, Form, Sheet, Which};

    struct Nothing;

    impl Document for Nothing {
        fn in_form(&self, _: Form) -> Result<Vec<u8>, String> {
            Err(String::new())
        }
    }

    fn names(of: &[u8]) -> Vec<String> {
        let sheet = |line: &str, cup, part| Sheet {
            which: Which { line: line.to_owned(), cup, part },
            document: Box::new(Nothing),
        };
        let sheets = [
            sheet("Maria", [1, 3], [1, 1]),
            sheet("Maria", [2, 3], [1, 1]),
            sheet("x", [3, 3], [1, 2]),
            sheet("x", [3, 3], [2, 2]),
        ];
        job_names(of, &sheets)
    }

    #[test]
    fn a_job_is_named_by_a_digest_of_its_own_and_by_numbers() {
        let names = names(&[0xab; 32]);
        let places = ["/1/1 of 3", "/1/2 of 3", "/2/3 of 3/1 of 2", "/2/3 of 3/2 of 2"];
        for (at, (name, place)) in names.iter().zip(places).enumerate() {
            let (digest, rest) = name.split_at(16);
            assert!(digest.bytes().all(|one| one.is_ascii_hexdigit()), "{name}");
            assert_eq!(rest, place);
            assert!(!names[..at].iter().any(|other| other.starts_with(digest)), "{names:?}");
        }
    }

    #[test]
    fn one_key_with_other_stickers_is_another_name() {
        let of = |asked| names(&order_digest(&[7; 32], &[asked; 32]));
        assert_eq!(of(1), of(1));
        assert!(of(1).iter().all(|name| !of(2).contains(name)));
    }

    #[test]
    fn a_name_that_a_printer_cuts_short_is_ours_as_long_as_its_digest_is_there() {
        let ours = "abababababababab/1/1 of 3";
        for cut in [25, 20, 17] {
            assert_eq!(named(&ours[..cut], ours), Named::Ours, "{cut}");
        }
        for cut in [16, 1, 0] {
            assert_eq!(named(&ours[..cut], ours), Named::Hidden, "{cut}");
        }
        assert_eq!(named("abababababababab/1/2 of 3", ours), Named::Other);
        assert_eq!(named("invoice", ours), Named::Other);
    }
}
