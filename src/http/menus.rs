//! Menus that were made, each until something of it changes.

use std::{
    collections::HashMap,
    sync::{Mutex, PoisonError},
};

use crate::{
    answering::Sent,
    book::Bar,
    in_force::{Edition, moment},
    wire::Problem,
};

/// What a menu depends on: the edition, what has run out, and which drinks are out of season.
type Depends = (u64, Vec<String>, Vec<String>);

/// A menu as bytes, and what it depends on.
type Made = (Depends, Vec<u8>);

/// The last menu of each site in each language; a book has few of both.
#[derive(Debug, Default)]
pub(crate) struct Menus(Mutex<HashMap<(String, String), Made>>);

impl Menus {
    /// Lets go of all, as when another book comes into force.
    pub(super) fn clear(&self) {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).clear();
    }

    /// The menu that was made, if nothing of it has changed, or a new one by `make`.
    pub(super) fn get(
        &self,
        edition: &Edition,
        bar: &Bar,
        lang: Option<&str>,
        sent: &Sent,
        make: impl FnOnce() -> Result<Vec<u8>, Problem>,
    ) -> Result<Vec<u8>, Problem> {
        let Ok(moment) = moment(bar, &sent.out_of_stock, None, sent.now) else { return make() };
        // A menu of an earlier edition may be done only after all were let go of.
        let depends = (edition.number, moment.out_of_stock, moment.out_of_season);
        let key = (bar.site.id.to_string(), lang.unwrap_or_default().to_owned());
        let held = |menus: &HashMap<_, Made>| {
            menus.get(&key).filter(|(of, _)| *of == depends).map(|(_, bytes)| bytes.clone())
        };
        if let Some(bytes) = held(&self.0.lock().unwrap_or_else(PoisonError::into_inner)) {
            return Ok(bytes);
        }
        // Made without the lock, so that a slow menu holds up no other.
        let bytes = make()?;
        let mut menus = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        menus.insert(key, (depends, bytes.clone()));
        Ok(bytes)
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use jiff::Timestamp;

    use super::Menus;
    use crate::{
        answering::Sent,
        demo,
        in_force::{Editions, InForce},
    };

    #[test]
    fn a_menu_that_is_done_after_another_book_came_into_force_is_not_taken_for_one_of_that() {
        let held = Arc::new(InForce::load(&demo::book(), &demo::sites()).expect("the demo"));
        let first = Editions::of(Arc::clone(&held), Timestamp::UNIX_EPOCH);
        let second = first.followed_by(Arc::clone(&held), Timestamp::UNIX_EPOCH, 3);
        let (menus, sent) = (Menus::default(), Sent::default());
        let bar = held.training_bar().expect("a bar");
        let get = |editions: &Editions, made: &str, is_late: bool| {
            let make = || {
                if is_late {
                    menus.clear();
                }
                Ok(made.as_bytes().to_vec())
            };
            menus.get(editions.now(), bar, None, &sent, make).expect("a menu")
        };
        assert_eq!(get(&first, "old", true), b"old");
        assert_eq!(get(&second, "new", false), b"new");
        assert_eq!(get(&second, "never", false), b"new", "it is kept");
    }
}
