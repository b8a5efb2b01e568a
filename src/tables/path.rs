//! Names of columns: the path to a field within its record, as in `envelope.foam_depth_mm.min`.

use std::fmt;

/// The fields on the way from a record to a value.
///
/// Written with dots between them; a dot or a backslash inside a field's name has a backslash
/// before it.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) struct Path(pub(super) Vec<String>);

impl Path {
    /// The path that a column's name writes.
    pub(super) fn of_name(name: &str) -> Self {
        let mut fields = vec![String::new()];
        let mut letters = name.chars();
        while let Some(letter) = letters.next() {
            match (letter, fields.last_mut()) {
                ('.', _) => fields.push(String::new()),
                ('\\', Some(field)) => field.extend(letters.next()),
                (_, Some(field)) => field.push(letter),
                (_, None) => {}
            }
        }
        Self(fields)
    }

    /// Whether this path leads to `other` or to something around it.
    pub(super) fn leads_to(&self, other: &[String]) -> bool {
        other.starts_with(&self.0)
    }
}

impl fmt::Display for Path {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (at, field) in self.0.iter().enumerate() {
            let dot = if at == 0 { "" } else { "." };
            write!(out, "{dot}{}", field.replace('\\', r"\\").replace('.', r"\."))?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::Path;

    #[test]
    fn a_name_says_which_path_it_is() {
        for fields in [vec!["names", "en"], vec!["x-a.b", r"c\d", ""], vec![r"x-\."]] {
            let path = Path(fields.into_iter().map(str::to_owned).collect());
            assert_eq!(Path::of_name(&path.to_string()), path);
        }
        let path = Path(vec!["names".to_owned(), "en".to_owned()]);
        assert_eq!(path.to_string(), "names.en");
    }
}
