//! How two books differ in what the tables show.

use std::collections::HashMap;

use serde_json::Value;

use super::{export::records, table::Table};

/// How much the tables changed of a book.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Changes {
    /// Fields of records that both books have; a list is one field.
    pub fields: usize,
    /// Rows that are new.
    pub added: usize,
    /// Rows that are gone.
    pub removed: usize,
    /// Rows of lists that stand in another place among those that both books have.
    pub moved: usize,
}

impl Changes {
    /// What is different in `new` against `old`, both books.
    pub(super) fn between(old: &Value, new: &Value) -> Self {
        let mut all = Self::default();
        for table in Table::ALL {
            all.count(table, &keyed(old, table), &keyed(new, table));
        }
        all
    }

    fn count(&mut self, table: Table, old: &[(Vec<&str>, &Value)], new: &[(Vec<&str>, &Value)]) {
        let before: HashMap<&[&str], &Value> =
            old.iter().map(|(key, record)| (key.as_slice(), *record)).collect();
        let after: HashMap<&[&str], &Value> =
            new.iter().map(|(key, record)| (key.as_slice(), *record)).collect();
        for (key, record) in new {
            match before.get(key.as_slice()) {
                Some(was) => self.fields += different(was, record, table.apart()),
                None => self.added += 1,
            }
        }
        self.removed += old.iter().filter(|(key, _)| !after.contains_key(key.as_slice())).count();
        if table == Table::Cups {
            // Cups are no list: their order says nothing.
            return;
        }
        let kept = old.iter().filter(|(key, _)| after.contains_key(key.as_slice()));
        let left = new.iter().filter(|(key, _)| before.contains_key(key.as_slice()));
        let at = |rows: &mut dyn Iterator<Item = &(Vec<&str>, &Value)>| places(table, rows);
        let (kept, left) = (at(&mut kept.into_iter()), at(&mut left.into_iter()));
        self.moved += left.iter().filter(|(key, at)| kept.get(*key) != Some(at)).count();
    }
}

/// The place of each row within its list: the whole table, or the parts of one drink.
fn places(
    table: Table,
    rows: &mut dyn Iterator<Item = &(Vec<&str>, &Value)>,
) -> HashMap<Vec<String>, usize> {
    let mut next: HashMap<Vec<String>, usize> = HashMap::new();
    let owned = |words: &[&str]| words.iter().map(ToString::to_string).collect::<Vec<_>>();
    rows.map(|(key, _)| {
        let list = next.entry(owned(&key[..table.place().len()])).or_default();
        *list += 1;
        (owned(key), *list)
    })
    .collect()
}

/// The records of a table, each with what tells it from the others.
fn keyed(book: &Value, table: Table) -> Vec<(Vec<&str>, &Value)> {
    let own = &table.key()[table.place().len()..];
    records(book, table)
        .into_iter()
        .map(|(mut place, record)| {
            place.extend(own.iter().map(|name| record[*name].as_str().unwrap_or_default()));
            (place, record)
        })
        .collect()
}

/// How many fields differ, those in fields counted one by one.
fn different(old: &Value, new: &Value, apart: &[&str]) -> usize {
    let (Some(before), Some(after)) = (old.as_object(), new.as_object()) else {
        return usize::from(old != new);
    };
    let here = |name: &&String| !apart.contains(&name.as_str());
    let gone = before.iter().filter(|(name, _)| here(name) && !after.contains_key(*name));
    let gone: usize = gone.map(|(_, value)| size(value)).sum();
    let rest = after.iter().filter(|(name, _)| here(name));
    let rest: usize = rest
        .map(|(name, value)| {
            before.get(name).map_or_else(|| size(value), |was| different(was, value, &[]))
        })
        .sum();
    gone + rest
}

/// How many fields a value is.
fn size(value: &Value) -> usize {
    let members = value.as_object().filter(|members| !members.is_empty());
    members.map_or(1, |members| members.values().map(size).sum())
}
