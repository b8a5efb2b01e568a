//! Cells that are changed: exactly that becomes of the book, and every fault is told by its cell.

use cupwright::tables::{Changes, Table};
use serde_json::{Value, json};

use super::{Open, different, lettered, letters, text_of};
use crate::changed::{demo_book, pointer, put, take_out};

#[test]
fn a_changed_cell_changes_its_field_and_nothing_else() {
    let mut open = Open::demo();
    let base = open.base.clone();
    let mut tried = 0;
    for table in Table::ALL {
        let cells = open.table(table).clone();
        let keys = ["id", "drink", "service", "size"];
        for row in (1..cells.len()).step_by(5) {
            for (column, name) in cells[0].iter().enumerate() {
                let was = &cells[row][column];
                if keys.contains(&name.as_str()) || was.is_empty() || was.starts_with(['[', '{']) {
                    continue;
                }
                let cell = match was.as_str() {
                    "true" => "false".to_owned(),
                    "false" => "true".to_owned(),
                    _ if name != "price" && was.parse::<f64>().is_ok() => "0.125".to_owned(),
                    text => format!("{text}9"),
                };
                open.table(table)[row][column].clone_from(&cell);
                let (back, changes) = open.merged();
                let at = different(&base, &back, "");
                assert_eq!(at.len(), 1, "{table:?} row {row} {name}: {at:?}");
                assert!(at[0].ends_with(&format!("/{}", name.replace('.', "/"))), "{at:?} {name}");
                let wanted = match base.pointer(&at[0]).expect("a field of the book") {
                    Value::Array(_) => cell.split("; ").collect(),
                    Value::String(_) => Value::from(cell.trim_start_matches('\'')),
                    _ => serde_json::from_str(&cell).expect("a number or a truth"),
                };
                assert_eq!(back.pointer(&at[0]), Some(&wanted), "{at:?}");
                assert_eq!(changes, Changes { fields: 1, ..Changes::default() });
                open.table(table)[row][column].clone_from(was);
                tried += 1;
            }
        }
    }
    assert!(tried > 150, "only {tried} cells were tried");
}

#[test]
fn an_emptied_cell_takes_its_field_out_and_the_object_that_is_left_without_any() {
    let mut open = Open::demo();
    for bound in ["min", "max"] {
        let name = format!("envelope.set_point_c.{bound}");
        open.cell(Table::Drinks, &["latte"], &name).clear();
    }
    let (back, _) = open.merged();
    let mut wanted = demo_book();
    take_out(&mut wanted, "/drinks/latte/envelope/set_point_c");
    assert_eq!(back.to_string(), wanted.to_string());
}

#[test]
fn a_price_is_a_text_whatever_a_spreadsheet_made_of_it() {
    let mut open = Open::demo();
    let cell = open.cell(Table::Cups, &["double-espresso", "here"], "price");
    assert_eq!(*cell, "3.10");
    *cell = "3.1".to_owned();
    let (back, changes) = open.merged();
    let at = pointer(&back, "/drinks/double-espresso/cups/here/regular/price");
    assert_eq!(back.pointer(&at), Some(&json!("3.1")));
    assert_eq!(changes.fields, 1);
    assert_eq!(open.complaints(), [""; 0]);
}

#[test]
fn rows_are_added_taken_out_and_put_in_another_order() {
    let mut open = Open::demo();
    let mut wanted = demo_book();
    // A drink like the cortado, in front of everything.
    let mut drink = wanted.pointer(&pointer(&wanted, "/drinks/cortado")).unwrap().clone();
    drink["id"] = json!("short-cortado");
    for table in [Table::Drinks, Table::Cups, Table::Parts] {
        let rows: Vec<_> =
            open.table(table).iter().filter(|row| row[0] == "cortado").cloned().collect();
        for (at, mut row) in rows.into_iter().enumerate() {
            row[0] = "short-cortado".to_owned();
            open.table(table).insert(1 + at, row);
        }
    }
    wanted["drinks"].as_array_mut().unwrap().insert(0, drink);
    // A cup less, and then a way of serving less.
    let gone = open.row(Table::Cups, &["latte", "own", "small"]);
    open.table(Table::Cups).remove(gone);
    take_out(&mut wanted, "/drinks/latte/cups/own/small");
    let gone = open.row(Table::Cups, &["espresso", "takeaway"]);
    open.table(Table::Cups).remove(gone);
    take_out(&mut wanted, "/drinks/espresso/cups/takeaway");
    // Parts in another order.
    let at = open.row(Table::Parts, &["americano"]);
    open.table(Table::Parts).swap(at, at + 1);
    let parts = pointer(&wanted, "/drinks/americano/parts");
    wanted.pointer_mut(&parts).unwrap().as_array_mut().unwrap().swap(0, 1);
    let (back, changes) = open.merged();
    assert_eq!(different(&wanted, &back, ""), [""; 0]);
    assert_eq!(back["drinks"], wanted["drinks"]);
    let order = |book: &Value| {
        let drink = book["drinks"][0].as_object().expect("a drink");
        drink.keys().cloned().collect::<Vec<_>>()
    };
    assert_eq!(order(&back), order(&wanted), "fields of a new drink stand as in the schema");
    let new = open.tables.iter().flat_map(|(_, cells)| cells);
    let added = new.filter(|row| row[0] == "short-cortado").count();
    assert_eq!(changes, Changes { fields: 0, added, removed: 2, moved: 2 });
}

#[test]
fn a_column_that_is_not_there_leaves_its_fields_alone() {
    let mut open = Open::demo();
    let column = open.column(Table::Drinks, "remainder");
    open.table(Table::Drinks).iter_mut().for_each(|row| drop(row.remove(column)));
    assert_eq!(open.merged().0, demo_book());
}

#[test]
fn a_column_for_a_field_that_no_record_had_can_be_added() {
    let mut open = Open::demo();
    let row = open.row(Table::Drinks, &["latte"]);
    for (at, cells) in open.table(Table::Drinks).iter_mut().enumerate() {
        let cell = if at == row { "mocha" } else { "" };
        cells.push(if at == 0 { "neighbours.no-steam" } else { cell }.to_owned());
    }
    let mut wanted = demo_book();
    put(&mut wanted, "/drinks/latte/neighbours/no-steam", json!("mocha"));
    assert_eq!(open.merged().0, wanted);
}

/// Changes tables, and holds what is complained about to `wanted`, all of it and in this order;
/// `{row}` stands for the row that was changed, and `?` for the letters of the column behind it.
#[track_caller]
fn told(change: impl Fn(&mut Open) -> usize, wanted: &[&str]) {
    let mut open = Open::demo();
    let row = change(&mut open) + 1;
    let wanted: Vec<String> =
        wanted.iter().map(|line| lettered(&line.replace("{row}", &row.to_string()))).collect();
    assert_eq!(open.complaints(), wanted);
}

/// Sets one cell and says in which row it is, from 0.
fn set(open: &mut Open, table: Table, key: &[&str], name: &str, cell: &str) -> usize {
    let row = open.row(table, key);
    cell.clone_into(open.cell(table, key, name));
    row
}

#[test]
fn each_fault_of_a_cell_is_told_by_file_row_letter_and_name() {
    told(
        |open| set(open, Table::Cups, &["latte", "here", "regular"], "halves", "two"),
        &["cups.csv: row {row}, column ? (halves): found `two`; expected a whole number"],
    );
    told(
        |open| set(open, Table::Drinks, &["latte"], "envelope.fill_ml.min", "12,5"),
        &[
            "drinks.csv: row {row}, column ? (envelope.fill_ml.min): found `12,5`; expected a number \
           with a point, such as 12.5",
        ],
    );
    told(
        |open| set(open, Table::Cups, &["latte", "here", "regular"], "service", "heer"),
        &[
            "cups.csv: row {row}, column B (service): found `heer`; expected one of here, takeaway, own",
        ],
    );
    told(
        |open| set(open, Table::Cups, &["latte", "here", "regular"], "drink", "lattee"),
        &[
            "cups.csv: row {row}, column A (drink): found `lattee`; expected a drink that has a row in \
           drinks.csv, such as `latte`",
        ],
    );
    told(
        |open| set(open, Table::Parts, &["latte", "milk"], "drink", "nobodys"),
        &[
            "parts.csv: row {row}, column A (drink): found `nobodys`; expected a drink that has a row \
           in drinks.csv",
        ],
    );
    told(
        |open| {
            set(open, Table::Parts, &["brewed-chai", "chai"], "stages", "[{\"with_milk\": maybe}]")
        },
        &[
            "parts.csv: row {row}, column ? (stages): found `[{\"with_milk\": maybe}]`; expected a list \
           as JSON",
        ],
    );
    told(
        |open| {
            let row = open.row(Table::Drinks, &["latte"]);
            open.table(Table::Drinks)[row][0].clear();
            // Without an id, its cups and parts have no drink either; they go too.
            for table in [Table::Cups, Table::Parts] {
                open.table(table).retain(|row| row[0] != "latte");
            }
            row
        },
        &[
            "drinks.csv: row {row}, column A (id): found nothing; expected a text, since `id` tells the \
           rows apart",
        ],
    );
}

#[test]
fn each_fault_of_rows_and_columns_is_told_at_once() {
    let mut open = Open::demo();
    let again = open.row(Table::Cups, &["latte", "here", "regular"]);
    let row = open.table(Table::Cups)[again].clone();
    open.table(Table::Cups).push(row);
    let last = open.table(Table::Cups).len();
    for (at, cells) in open.table(Table::Ingredients).iter_mut().enumerate() {
        cells.push(if at == 0 { "stored" } else { "" }.to_owned());
        cells.push(if at == 0 { "names.en" } else { "" }.to_owned());
        cells.push(if at == 1 { "stray" } else { "" }.to_owned());
    }
    let id = open.column(Table::Parts, "id");
    open.table(Table::Parts)[0][id] = "x-id".to_owned();
    let width = open.table(Table::Parts)[0].len();
    set(&mut open, Table::Drinks, &["latte"], "envelope.safety", "perhaps");
    let safety = open.row(Table::Drinks, &["latte"]) + 1;
    let ingredients = open.table(Table::Ingredients)[0].len();
    let wanted = [
        lettered(&format!(
            "drinks.csv: row {safety}, column ? (envelope.safety): found `perhaps`; expected true or false"
        )),
        format!(
            "cups.csv: row {last}, column C (size): found `latte here regular` a second time, after row {}; \
             expected a cup of a drink once",
            again + 1
        ),
        format!(
            "parts.csv: row 1, column {}: found no column `id`; expected it, since it tells the rows apart",
            letters(width + 1)
        ),
        format!(
            "ingredients.csv: row 1, column {} (stored): found `stored`; expected the path of a field of an \
             ingredient, such as `stored_c`",
            letters(ingredients - 2)
        ),
        format!(
            "ingredients.csv: row 1, column {} (names.en): found `names.en` a second time; expected each \
             column once",
            letters(ingredients - 1)
        ),
        format!(
            "ingredients.csv: row 1, column {}: found no name of a column; expected a name, since the column \
             is not empty",
            letters(ingredients)
        ),
    ];
    assert_eq!(open.complaints(), wanted);
}

#[test]
fn wrong_quotes_and_rows_of_another_length_are_told() {
    let open = Open::demo();
    let complaints = |change: &dyn Fn(&str) -> String| {
        let texts = open.texts(|cells| {
            let text = text_of(cells, ',', "\n");
            if cells[0].contains(&"price".to_owned()) { change(&text) } else { text }
        });
        super::lines(&cupwright::tables::merge(&open.base, texts).err().unwrap_or_default())
    };
    // The second cell of the third row.
    let third = |text: &str, change: &dyn Fn(&str) -> String| {
        let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
        lines[2] = change(&lines[2]);
        lines.join("\n")
    };
    let unended = complaints(&|text| third(text, &|line| line.replacen(',', ",\"", 1)));
    let wanted = "cups.csv: row 3, column B (service): found a quote that nothing ends; expected a \
                  second quote behind the cell";
    assert!(unended.contains(&wanted.to_owned()), "{unended:?}");
    let behind = complaints(&|text| third(text, &|line| line.replacen(',', ",\"a\"b,", 1)));
    let wanted = "cups.csv: row 3, column B (service): found text behind the quote that ends the cell; \
                  expected each quote inside a cell doubled";
    assert!(behind.contains(&wanted.to_owned()), "{behind:?}");
    let count = open.tables[1].1[0].len();
    let short =
        complaints(&|text| third(text, &|line| line.rsplit_once(',').unwrap().0.to_owned()));
    let wanted = format!(
        "cups.csv: row 3, column {} ({}): found {} cells in the row; expected {count}, one for each \
         name in row 1",
        letters(count),
        open.tables[1].1[0][count - 1],
        count - 1
    );
    assert_eq!(short, [wanted]);
    let long = complaints(&|text| third(text, &|line| format!("{line},,more")));
    let wanted = format!(
        "cups.csv: row 3, column {}: found {} cells in the row; expected {count}, one for each name in \
         row 1",
        letters(count + 1),
        count + 2
    );
    assert_eq!(long, [wanted]);
    let empty = complaints(&|_| String::new());
    assert_eq!(
        empty,
        [
            "cups.csv: row 1, column A: found an empty table; expected the names of its columns in row 1"
        ]
    );
}

#[test]
fn a_fault_of_the_book_is_told_by_the_cell_it_comes_from() {
    let at = |path: &str| pointer(&demo_book(), path);
    let cup = at("/drinks/latte/cups/here/regular");
    told(
        |open| set(open, Table::Cups, &["latte", "here", "regular"], "vessel", "glass-26"),
        &[&format!(
            "cups.csv: row {{row}}, column ? (vessel): {cup}/vessel: found `glass-26`, which the book does \
             not have; expected the id of a vessel of the book, such as `glass-260`"
        )],
    );
    let drink = at("/drinks/mocha");
    told(
        |open| set(open, Table::Drinks, &["mocha"], "season.from", "11-15"),
        &[&format!(
            "drinks.csv: row {{row}}, column ? (season.from): {drink}/season: found no field `to`; \
             expected the field `to`, which is required"
        )],
    );
}

#[test]
fn a_drink_that_is_gone_is_told_wherever_it_is_named_by_cell_or_by_pointer() {
    let mut open = Open::demo();
    for table in [Table::Drinks, Table::Cups, Table::Parts] {
        open.table(table).retain(|row| row[0] != "latte");
    }
    let column = open.column(Table::Drinks, "neighbours.more-fill");
    let cells = open.table(Table::Drinks);
    let row = cells.iter().position(|row| row[column] == "latte").expect("a neighbour") + 1;
    let told = open.complaints();
    let by_cell =
        lettered(&format!("drinks.csv: row {row}, column ? (neighbours.more-fill): /drinks/"));
    assert!(told.iter().any(|one| one.starts_with(&by_cell)), "{told:?}");
    let by_pointer = |one: &&String| one.starts_with("/modifiers/");
    let first = told.iter().position(|one| by_pointer(&one)).expect("a modifier names the latte");
    assert!(told[first..].iter().all(|one| by_pointer(&one)), "they come last: {told:?}");
    assert!(told.iter().all(|one| one.contains("found `latte`, which the book does not have")));
}
