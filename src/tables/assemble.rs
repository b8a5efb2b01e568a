//! A book made of another book and of the rows of its tables.

use std::collections::{HashMap, HashSet};

use serde_json::{Map, Value};

use super::{
    TableComplaint,
    complaint::quoted,
    record::put_all,
    rows::{Record, Rows},
    shape::Shape,
    table::Table,
};

/// The tables, in the order of [`Table::ALL`].
#[derive(Debug)]
pub(super) struct Sheets(pub(super) [Rows; 4]);

impl Sheets {
    /// One of the tables.
    pub(super) fn of(&self, table: Table) -> &Rows {
        let [drinks, cups, parts, ingredients] = &self.0;
        match table {
            Table::Drinks => drinks,
            Table::Cups => cups,
            Table::Parts => parts,
            Table::Ingredients => ingredients,
        }
    }

    /// The book that the tables make of `base`: its lists are the rows, in their order; what is in
    /// no table, and every field without a column, stays as it is.
    pub(super) fn over(&self, base: &Value) -> Value {
        let mut book = base.clone();
        let cups = by_drink(self.of(Table::Cups));
        let parts = by_drink(self.of(Table::Parts));
        let drinks = self.list(base, Table::Drinks, |old, drink, id| {
            let none = Vec::new();
            let of_drink = cups.get(id).unwrap_or(&none);
            drink.insert("cups".to_owned(), self.cups(&old["cups"], of_drink));
            let of_drink = parts.get(id).unwrap_or(&none);
            drink.insert("parts".to_owned(), self.parts(&old["parts"], of_drink));
        });
        book["drinks"] = drinks;
        book["ingredients"] = self.list(base, Table::Ingredients, |_, _, _| {});
        book
    }

    /// A list of the book, a record for each row.
    ///
    /// * `rest`: puts in what stands in other tables; it is given the record as it was, the record,
    ///   and its id.
    fn list(
        &self,
        base: &Value,
        table: Table,
        rest: impl Fn(&Value, &mut Map<String, Value>, &str),
    ) -> Value {
        let rows = self.of(table);
        let name = if table == Table::Drinks { "drinks" } else { "ingredients" };
        let known = by_id(&base[name]);
        let made = rows.records.iter().map(|row| {
            let id = row.key[0].as_str();
            let old = known.get(id).copied().unwrap_or(&Value::Null);
            let mut record = self.record(table, old, row);
            rest(old, &mut record, id);
            finished(record, old, table)
        });
        made.collect()
    }

    /// The cup table of a drink; ways of serving that were without a cup stay so.
    fn cups(&self, old: &Value, rows: &[&Record]) -> Value {
        let mut cups = old.as_object().cloned().unwrap_or_default();
        let listed = |service: &str, size: &str| {
            rows.iter().any(|row| row.key[1] == service && row.key[2] == size)
        };
        cups.retain(|service, sizes| {
            let Some(sizes) = sizes.as_object_mut().filter(|sizes| !sizes.is_empty()) else {
                return true;
            };
            sizes.retain(|size, _| listed(service, size));
            !sizes.is_empty()
        });
        for row in rows {
            let [service, size] = [&row.key[1], &row.key[2]];
            let was = &old[service.as_str()][size.as_str()];
            let cup = finished(self.record(Table::Cups, was, row), was, Table::Cups);
            cups.entry(service.clone()).or_insert_with(|| Value::Object(Map::new()));
            if let Some(sizes) = cups.get_mut(service).and_then(Value::as_object_mut) {
                sizes.insert(size.clone(), cup);
            }
        }
        Value::Object(cups)
    }

    /// The parts of a drink, in the order of their rows.
    fn parts(&self, old: &Value, rows: &[&Record]) -> Value {
        let known = by_id(old);
        let made = rows.iter().map(|row| {
            let was = known.get(row.key[1].as_str()).copied().unwrap_or(&Value::Null);
            finished(self.record(Table::Parts, was, row), was, Table::Parts)
        });
        made.collect()
    }

    /// A record as its row says, over what it was.
    fn record(&self, table: Table, old: &Value, row: &Record) -> Map<String, Value> {
        let mut record = old.as_object().cloned().unwrap_or_default();
        put_all(&mut record, &self.of(table).columns, &row.cells);
        record
    }
}

/// A record as a value; the fields of a new one stand in the order of the schema.
fn finished(mut record: Map<String, Value>, old: &Value, table: Table) -> Value {
    if old.is_null() {
        in_order(&mut record, &table.shape());
    }
    Value::Object(record)
}

fn in_order(record: &mut Map<String, Value>, shape: &Shape<'_>) {
    for name in shape.fields() {
        if let Some(value) = record.shift_remove(name) {
            record.insert(name.to_owned(), value);
        }
    }
    // Fields that the schema does not name were left in front.
    let named = shape.fields();
    let own: Vec<String> =
        record.keys().filter(|name| !named.contains(&name.as_str())).cloned().collect();
    for name in own {
        if let Some(value) = record.shift_remove(&name) {
            record.insert(name, value);
        }
    }
}

/// A complaint for each row that belongs to a drink without a row of its own.
///
/// * `drinks`: the table of drinks; `rows`: one whose rows each name a drink.
pub(super) fn orphans(drinks: &Rows, rows: &Rows) -> Vec<TableComplaint> {
    let known: HashSet<&str> = drinks.records.iter().map(|row| row.key[0].as_str()).collect();
    let mut faults = Vec::new();
    for row in &rows.records {
        let id = row.key[0].as_str();
        if id.is_empty() || known.contains(id) {
            continue;
        }
        let near = known.iter().map(|known| (strsim::jaro_winkler(known, id), *known));
        let near = near.filter(|(likeness, _)| *likeness > 0.8);
        let near = near.max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(a.1)));
        let near = near.map(|(_, id)| format!(", such as `{id}`")).unwrap_or_default();
        let expected = format!("a drink that has a row in {}{near}", drinks.file);
        let here = rows.cell(row.number, rows.key[0]);
        faults.push(TableComplaint::at(here, quoted(id), expected));
    }
    faults
}

/// The first record with each id.
fn by_id(list: &Value) -> HashMap<&str, &Value> {
    let mut all = HashMap::new();
    for record in list.as_array().into_iter().flatten() {
        if let Some(id) = record["id"].as_str() {
            all.entry(id).or_insert(record);
        }
    }
    all
}

fn by_drink(rows: &Rows) -> HashMap<&str, Vec<&Record>> {
    let mut all: HashMap<&str, Vec<&Record>> = HashMap::new();
    for row in &rows.records {
        all.entry(row.key[0].as_str()).or_default().push(row);
    }
    all
}
