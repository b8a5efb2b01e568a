//! What a reader of CSV passes over: which row a record is in, and quotes that end wrongly.

/// A fault of the quotes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    /// A cell in quotes that no quote ends.
    Unended,
    /// Text between the quote that ends a cell and the next delimiter.
    AfterEnd,
}

/// A text with its records counted.
#[derive(Debug, Default, PartialEq, Eq)]
pub struct Scan {
    /// The row of each record, from 1; blank lines are rows without a record.
    pub rows: Vec<usize>,
    /// Faults, each with the row and the column, from 1, of its cell.
    pub faults: Vec<(usize, usize, Fault)>,
}

/// Where the scan is in a cell.
#[derive(Clone, Copy, PartialEq, Eq)]
enum At {
    Start,
    Plain,
    Quoted,
    /// Behind a quote that ends the cell, or that is the first half of a doubled one.
    Quote,
}

/// What may stand between the cells of a row.
pub(super) const DELIMITERS: [u8; 3] = [b',', b';', b'\t'];

/// The delimiter of a text: of comma, semicolon and tab the one that is most often in its first
/// record, outside quotes; the comma where there is none.
pub fn delimiter(text: &str) -> u8 {
    let mut counts = DELIMITERS.map(|delimiter| (delimiter, 0));
    let mut quoted = false;
    for byte in text.trim_start_matches(['\r', '\n']).bytes() {
        match byte {
            b'"' => quoted = !quoted,
            b'\r' | b'\n' if !quoted => break,
            _ if quoted => {}
            _ => counts.iter_mut().filter(|(one, _)| *one == byte).for_each(|(_, n)| *n += 1),
        }
    }
    // Of equals the first stays, which is the comma.
    let most = counts.into_iter().reduce(|best, one| if one.1 > best.1 { one } else { best });
    most.map_or(b',', |(delimiter, _)| delimiter)
}

/// Counts the records of `text` as RFC 4180 has them, and finds the faults of its quotes.
pub fn scan(text: &str, delimiter: u8) -> Scan {
    let mut found = Scan::default();
    let (mut row, mut column, mut at) = (1, 1, At::Start);
    let mut began = (row, column);
    let mut bytes = text.bytes().peekable();
    let mut blank = true;
    while let Some(byte) = bytes.next() {
        let ends_line = at != At::Quoted && (byte == b'\r' || byte == b'\n');
        if ends_line {
            if byte == b'\r' && bytes.peek() == Some(&b'\n') {
                bytes.next();
            }
            if !blank {
                found.rows.push(row);
            }
            (row, column, at, blank) = (row + 1, 1, At::Start, true);
            continue;
        }
        blank = false;
        at = match (at, byte) {
            (At::Quoted, b'"') => At::Quote,
            (At::Quoted, _) | (At::Quote, b'"') => At::Quoted,
            (At::Start, b'"') => {
                began = (row, column);
                At::Quoted
            }
            (_, byte) if byte == delimiter => {
                column += 1;
                At::Start
            }
            (At::Quote, _) => {
                found.faults.push((row, column, Fault::AfterEnd));
                At::Plain
            }
            (At::Start | At::Plain, _) => At::Plain,
        };
    }
    if !blank {
        found.rows.push(row);
    }
    if at == At::Quoted {
        found.faults.push((began.0, began.1, Fault::Unended));
    }
    found
}

#[cfg(test)]
mod tests {
    use super::{Fault, Scan, delimiter, scan};

    #[test]
    fn the_delimiter_is_that_of_the_first_record() {
        assert_eq!(delimiter("a;b;c\n1,2,3"), b';');
        assert_eq!(delimiter("a\tb"), b'\t');
        assert_eq!(delimiter("\"a;b;c\",d"), b',');
        assert_eq!(delimiter("a"), b',');
    }

    #[test]
    fn rows_are_those_of_a_spreadsheet_and_wrong_quotes_are_found() {
        let rows = scan("a,b\r\n\r\n\"1\n2\",\"\"\"\"\n3,4", b',');
        assert_eq!(rows, Scan { rows: vec![1, 3, 4], faults: Vec::new() });
        let wrong = scan("a,b\n\"1\"x,2\n3,\"4\n5,6", b',');
        assert_eq!(wrong.faults, [(2, 1, Fault::AfterEnd), (3, 2, Fault::Unended)]);
    }
}
