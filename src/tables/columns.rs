//! Which columns a table has: every field that the schema names, and every key that a record uses.

use serde_json::Value;

use super::{cell, path::Path, shape::Shape, table::Table};

/// Most levels of fields that get columns without any record using them.
const DEEPEST: usize = 6;

/// The columns of a table as a tree of fields, in the order in which they are to stand.
#[derive(Debug, Default)]
pub(super) struct Columns {
    /// Whether there is a column for this very place.
    here: bool,
    below: Vec<(String, Columns)>,
}

impl Columns {
    /// A column for each field that the schema names, fields of fields included.
    pub(super) fn of_schema(table: Table) -> Self {
        let mut columns = Self::default();
        columns.add_fields(&table.shape(), table.apart(), DEEPEST);
        columns
    }

    fn add_fields(&mut self, shape: &Shape<'_>, apart: &[&str], left: usize) {
        for name in shape.fields() {
            let Some(field) = shape.field(name).filter(|_| !apart.contains(&name)) else {
                continue;
            };
            let below = self.child(name);
            if left > 0 && field.has_fields() {
                below.add_fields(&field, &[], left - 1);
            } else {
                below.here = true;
            }
        }
    }

    /// Adds a column for `path`, if there is none yet.
    pub(super) fn add(&mut self, path: &Path) {
        let mut at = self;
        for field in &path.0 {
            at = at.child(field);
        }
        at.here = true;
    }

    fn child(&mut self, name: &str) -> &mut Self {
        let known = self.below.iter().position(|(field, _)| field == name);
        let at = known.unwrap_or_else(|| {
            self.below.push((name.to_owned(), Self::default()));
            self.below.len() - 1
        });
        &mut self.below[at].1
    }

    /// The paths of all columns; one for a whole object stands before those of its fields.
    pub(super) fn paths(&self) -> Vec<Path> {
        let mut all = Vec::new();
        self.collect(&mut Vec::new(), &mut all);
        all
    }

    fn collect(&self, at: &mut Vec<String>, all: &mut Vec<Path>) {
        if self.here {
            all.push(Path(at.clone()));
        }
        for (name, below) in &self.below {
            at.push(name.clone());
            below.collect(at, all);
            at.pop();
        }
    }
}

/// The cells of a record, each with the path of its column, in the order of the record.
///
/// An object whose fields the schema describes is spread over columns, unless it is empty.
///
/// * `shape`: that of the table's records.
pub(super) fn cells_of(record: &Value, table: Table, shape: &Shape<'_>) -> Vec<(Path, String)> {
    let mut all = Vec::new();
    for (name, value) in record.as_object().into_iter().flatten() {
        if !table.apart().contains(&name.as_str()) {
            let field = shape.field(name).unwrap_or_else(Shape::any);
            spread(value, &field, &mut vec![name.clone()], &mut all);
        }
    }
    all
}

fn spread(value: &Value, shape: &Shape<'_>, at: &mut Vec<String>, all: &mut Vec<(Path, String)>) {
    let members = value.as_object().filter(|members| !members.is_empty() && shape.has_fields());
    let Some(members) = members else {
        all.push((Path(at.clone()), cell::write(value, shape)));
        return;
    };
    for (name, member) in members {
        at.push(name.clone());
        spread(member, &shape.field(name).unwrap_or_else(Shape::any), at, all);
        at.pop();
    }
}
