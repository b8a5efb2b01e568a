//! The cells of a row put into a record.

use serde_json::{Map, Value};

use super::{cell, path::Path, rows::Column};

/// A field's text, and the value that it says; `None` where the cell is empty.
type Said = (String, Option<Value>);

/// Puts what the cells say into `record`: each field of a column becomes what its cell says, and
/// goes where its cell is empty. Fields without a column stay as they are, and so does a value that
/// is the same number or has the same cell, however the document writes it.
///
/// * `columns`: those of whole objects before those inside them.
/// * `cells`: one for each column.
pub(super) fn put_all(record: &mut Map<String, Value>, columns: &[Column], cells: &[Said]) {
    let mut emptied: Vec<&[String]> = Vec::new();
    for (column, (text, value)) in columns.iter().zip(cells) {
        let path = &column.path.0;
        match value {
            Some(value) => {
                let same = at(record, path).is_some_and(|there| {
                    same_number(there, value) || cell::write(there, &column.shape) == *text
                });
                let whole = value.as_object().is_some_and(Map::is_empty)
                    && column.shape.has_fields()
                    && at(record, path).is_some_and(Value::is_object);
                if !same && !whole {
                    put(record, path, value.clone());
                }
            }
            None if goes(record, &column.path, &column.shape) => {
                take(record, path);
                emptied.extend((1..path.len()).map(|length| &path[..length]));
            }
            None => {}
        }
    }
    // An object whose last field went goes too, the innermost first, unless a cell says `{}`.
    emptied.sort_by_key(|path| std::cmp::Reverse(path.len()));
    for path in emptied {
        let own = columns.iter().zip(cells).find(|(column, _)| column.path.0 == path);
        let stays = own.is_some_and(|(_, (_, value))| value.is_some());
        let empty = at(record, path).is_some_and(|there| *there == Value::Object(Map::new()));
        if empty && !stays {
            take(record, path);
        }
    }
}

/// Whether an empty cell takes away what stands at its path: anything but an object whose fields
/// have columns of their own.
fn goes(record: &Map<String, Value>, path: &Path, shape: &super::shape::Shape<'_>) -> bool {
    at(record, &path.0).is_some_and(|there| {
        let members = there.as_object().filter(|members| !members.is_empty());
        members.is_none() || !shape.has_fields()
    })
}

/// Whether both are one number, written with a fraction once and without it once.
fn same_number(a: &Value, b: &Value) -> bool {
    (a.is_f64() != b.is_f64())
        && a.as_f64().zip(b.as_f64()).is_some_and(|(a, b)| a.total_cmp(&b).is_eq())
}

fn at<'r>(record: &'r Map<String, Value>, path: &[String]) -> Option<&'r Value> {
    let (first, rest) = path.split_first()?;
    rest.iter().try_fold(record.get(first)?, |value, field| value.get(field))
}

fn put(record: &mut Map<String, Value>, path: &[String], value: Value) {
    let Some((first, rest)) = path.split_first() else { return };
    if rest.is_empty() {
        record.insert(first.clone(), value);
        return;
    }
    let below = record.entry(first.clone()).or_insert(Value::Null);
    if !below.is_object() {
        *below = Value::Object(Map::new());
    }
    if let Value::Object(members) = below {
        put(members, rest, value);
    }
}

fn take(record: &mut Map<String, Value>, path: &[String]) {
    let Some((last, before)) = path.split_last() else { return };
    let mut members = Some(record);
    for field in before {
        members = members.and_then(|members| members.get_mut(field)).and_then(Value::as_object_mut);
    }
    if let Some(members) = members {
        members.shift_remove(last);
    }
}
