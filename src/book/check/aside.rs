//! What is set aside of a document that has faults, so that everything else can still be judged.

use std::{
    borrow::Cow,
    collections::{BTreeMap, BTreeSet},
    sync::LazyLock,
};

use serde_json::{Value, json};

use crate::json::{Complaint, segments};

/// What stands in for a field of a book that cannot be judged; nothing is told of it.
pub(in crate::book) static OF_BOOK: LazyLock<Value> = LazyLock::new(|| {
    json!({
        "schema": "drink-book/0.1.0", "id": "unread", "version": "0.0.0", "names": {},
        "languages": [], "currency": "XXX", "currency_places": 2, "caution_hot_above_c": 50,
        "allergens": [], "diets": [],
        "services": [], "sizes": [], "materials": [], "textures": [], "ingredients": [],
        "beans": [], "pulls": [], "extractions": [], "vessels": [], "jugs": [], "drinks": [],
        "modifiers": [], "regions": [], "training_bar": *OF_SITE,
    })
});

/// What stands in for a field of a site's sheet.
pub(in crate::book) static OF_SITE: LazyLock<Value> = LazyLock::new(|| {
    json!({
        "schema": "drink-site/0.1.0", "id": "unread", "names": {}, "region": "unread",
        "languages": [], "time_zone": "UTC", "default_service": "here", "vessels": [], "jugs": [],
        "stock": [], "baskets": [], "groups": 1, "wands": [], "grinders": [],
        "steam": {"pressure_bar_abs": 2, "dryness": 1}, "pour_mark_ml": 5, "film_g": 0,
        "allergy_route": "none",
    })
});

/// Lists whose elements are named only as ways out and exclusions: a record that names one of
/// these can be proved without it.
const ONLY_POINTED_AT: [&str; 2] = ["drinks", "modifiers"];

/// What is set aside of a document: whole fields, and single elements of its lists.
///
/// The ids of elements set aside stay known, so that nobody is told that they are missing.
#[derive(Clone, Debug, Default)]
pub struct Aside {
    fields: BTreeSet<String>,
    elements: BTreeMap<String, BTreeMap<usize, Value>>,
    /// Lists in which something is set aside whose id cannot be read.
    open: BTreeSet<String>,
    /// Whether what is built from the elements set aside is to be found, by their missing ids.
    forgets: bool,
}

impl Aside {
    /// Sets aside each field of `document`, or each element of a field that is a list, in which a
    /// complaint stands.
    ///
    /// * `stand_in`: a value for each field that the document must have.
    /// * Result: what is left, the document itself where nothing is set aside; and what is not.
    pub(in crate::book) fn of<'v>(
        document: &'v Value,
        complaints: &[Complaint],
        stand_in: &Value,
    ) -> (Cow<'v, Value>, Self) {
        let mut aside = Self::default();
        let Some(members) = document.as_object().filter(|_| !complaints.is_empty()) else {
            return (Cow::Borrowed(document), aside);
        };
        for complaint in complaints {
            aside.take(document, &complaint.pointer);
        }
        let needed = stand_in.as_object().into_iter().flat_map(|fields| fields.keys());
        aside.fields.extend(needed.filter(|field| !members.contains_key(*field)).cloned());
        let mut left = members.clone();
        for (list, gone) in &aside.elements {
            if let Some(Value::Array(all)) = left.get_mut(list) {
                let mut at = 0..;
                all.retain(|_| at.next().is_none_or(|at| !gone.contains_key(&at)));
            }
        }
        for field in &aside.fields {
            match stand_in.get(field) {
                Some(value) => left.insert(field.clone(), value.clone()),
                None => left.shift_remove(field),
            };
        }
        (Cow::Owned(Value::Object(left)), aside)
    }

    /// Sets aside what holds the value at `pointer`.
    fn take(&mut self, document: &Value, pointer: &str) {
        let mut path = segments(pointer);
        let Some(field) = path.next() else { return };
        let at = path.next().and_then(|at| at.parse::<usize>().ok());
        let element = at.and_then(|at| Some((at, document[&*field].as_array()?.get(at)?)));
        let Some((at, element)) = element else {
            self.open.insert(field.clone().into_owned());
            self.fields.insert(field.into_owned());
            return;
        };
        if !element["id"].is_string() || path.next().is_some_and(|inner| inner == "id") {
            self.open.insert(field.clone().into_owned());
        }
        self.elements.entry(field.into_owned()).or_default().insert(at, element.clone());
    }

    /// The same, but what is made of an element set aside has complaints, and so can be set aside
    /// too. A drink and a modifier that are only pointed at stay known.
    pub(in crate::book) fn forgetting(self) -> Self {
        Self { forgets: true, ..self }
    }

    /// Whether nothing is set aside.
    pub fn is_empty(&self) -> bool {
        self.fields.is_empty() && self.elements.is_empty()
    }

    /// How many fields and elements are set aside.
    pub(in crate::book) fn count(&self) -> usize {
        self.fields.len() + self.elements.values().map(BTreeMap::len).sum::<usize>()
    }

    /// The fields in which something is set aside.
    pub fn fields(&self) -> impl Iterator<Item = &str> {
        self.fields.iter().chain(self.elements.keys()).map(String::as_str)
    }

    /// Whether the field, or a part of it, is set aside.
    pub fn touches(&self, field: &str) -> bool {
        self.fields.contains(field) || self.elements.contains_key(field)
    }

    /// Whether the whole field is set aside.
    pub(in crate::book) fn is_whole(&self, field: &str) -> bool {
        self.fields.contains(field)
    }

    /// Whether the element `id` of a list is set aside, or may be.
    pub fn may_hold(&self, list: &str, id: &str) -> bool {
        self.open.contains(list) || self.elements(list).any(|one| one["id"] == id)
    }

    /// The elements of a list that are set aside, as they are written.
    pub(super) fn elements(&self, list: &str) -> impl Iterator<Item = &Value> {
        self.elements.get(list).into_iter().flat_map(BTreeMap::values)
    }

    /// The ids of a list that stay known although their elements are set aside.
    pub(super) fn ids(&self, list: &str) -> impl Iterator<Item = &str> {
        let known = !self.forgets || ONLY_POINTED_AT.contains(&list);
        self.elements(list).filter(move |_| known).filter_map(|one| one["id"].as_str())
    }

    /// Whether an id that the list does not have may be that of an element set aside.
    pub(super) fn is_open(&self, list: &str) -> bool {
        let known = !self.forgets || ONLY_POINTED_AT.contains(&list);
        known && self.open.contains(list)
    }

    /// Complaints about what is left, as complaints about the whole document: positions in lists
    /// are those as written, and nothing is told of a field or a list that is not there in full.
    pub fn of_whole(&self, complaints: Vec<Complaint>) -> Vec<Complaint> {
        if self.is_empty() {
            return complaints;
        }
        complaints.into_iter().filter_map(|one| self.as_written(one)).collect()
    }

    fn as_written(&self, mut complaint: Complaint) -> Option<Complaint> {
        let mut path = complaint.pointer.splitn(4, '/').skip(1);
        let field = path.next().unwrap_or_default();
        if self.fields.contains(field) {
            return None;
        }
        let Some(gone) = self.elements.get(field) else { return Some(complaint) };
        let mut at = path.next()?.parse::<usize>().ok()?;
        for before in gone.keys() {
            if *before <= at {
                at += 1;
            }
        }
        let rest = path.next().map(|rest| format!("/{rest}")).unwrap_or_default();
        complaint.pointer = format!("/{field}/{at}{rest}");
        Some(complaint)
    }
}

#[cfg(test)]
mod tests {
    use serde::Deserialize;
    use serde_json::json;

    use super::{Aside, OF_BOOK, OF_SITE};
    use crate::{
        book::types::{Book, Site},
        json::Complaint,
    };

    #[test]
    fn what_stands_in_can_be_read() {
        Book::deserialize(&*OF_BOOK).expect("a book in which nothing stands");
        Site::deserialize(&*OF_SITE).expect("a sheet in which nothing stands");
    }

    #[test]
    fn an_element_set_aside_moves_no_pointer_and_leaves_its_id() {
        let document = json!({"sizes": [{"id": "a"}, {"id": "b"}, {"id": "c"}], "version": 1});
        let at = |pointer: &str| Complaint::at(pointer, "", "");
        let faults = [at("/sizes/0/names"), at("/sizes/1"), at("/version")];
        let (left, aside) = Aside::of(&document, &faults, &json!({"version": "0"}));
        assert_eq!(*left, json!({"sizes": [{"id": "c"}], "version": "0"}));
        assert_eq!(aside.ids("sizes").collect::<Vec<_>>(), ["a", "b"]);
        let told = aside.of_whole(vec![at("/sizes/0/id"), at("/sizes"), at("/version")]);
        assert_eq!(told, [at("/sizes/2/id")]);
    }
}
