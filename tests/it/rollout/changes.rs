//! Keys that change, and sites that were away meanwhile.

use std::fs;

use super::place::Place;
use crate::cli::complained;

#[track_caller]
fn rotated(place: &Place, which: &str) {
    let output = place.rotate(which);
    assert_eq!(output.status.code(), Some(0), "{which}: {}", complained(&output));
}

#[test]
fn a_site_that_missed_two_of_three_new_roots_follows_them() {
    let place = Place::published();
    place.both_of("away").unwrap();
    place.both().unwrap();
    for (n, which) in ["root-1", "online", "targets"].into_iter().enumerate() {
        rotated(&place, which);
        place.publish();
        let ours = place.ours("seen").unwrap();
        assert_eq!(ours["versions"]["root"], n as u64 + 2);
        place.both().unwrap();
        if n == 0 {
            place.both_of("away").unwrap();
        }
    }
    assert_eq!(place.ours("away").unwrap()["versions"]["root"], 4);
    place.both_of("away").unwrap();
    place.both_of("stranger").unwrap();
    // One that went through all of them does not go back behind the newest.
    place.copy_to("newest");
    for version in [3, 4] {
        fs::remove_file(place.metadata(&format!("{version}.root.json"))).unwrap();
    }
    place.both().expect("it has seen them, and what is signed is signed by their keys");
    let ours = place.ours("seen").unwrap();
    assert_eq!(ours["versions"]["root"], 4);
}

#[test]
fn a_root_is_never_gone_below() {
    let place = Place::published();
    place.copy_to("old");
    rotated(&place, "online");
    place.publish();
    place.both().unwrap();
    // The repository before, as whoever stole the old key on line would show it.
    place.put_back("old");
    let both = place.both().expect_err("the key was replaced");
    assert!(both[0].contains("ignature threshold"), "{}", both[0]);
    assert!(both[1].contains("was signed by 0/1"), "{}", both[1]);
}

#[test]
fn what_is_signed_while_a_key_changes_holds_before_and_after_the_new_root() {
    for which in ["online", "targets", "root-2", "overlay", "expiry"] {
        let place = Place::published();
        place.both().unwrap();
        rotated(&place, which);
        place.publish();
        place.copy_to("after");
        // As if the publication had been killed before its last file.
        let root = place.metadata("2.root.json");
        if root.exists() {
            fs::remove_file(root).unwrap();
        }
        place.both().unwrap_or_else(|told| panic!("{which}, before the root: {told:?}"));
        place.put_back("after");
        place.both().unwrap_or_else(|told| panic!("{which}, after it: {told:?}"));
        // The old key is no longer needed.
        place.publish();
        place.both().unwrap();
    }
}

#[test]
fn renewing_brings_a_new_key_on_line_out_and_waits_for_whoever_signs_documents() {
    let place = Place::published();
    place.both().unwrap();
    rotated(&place, "online");
    let output = place.renew(&[]);
    assert_eq!(output.status.code(), Some(0), "{}", complained(&output));
    assert!(place.metadata("2.root.json").exists());
    place.both().unwrap();
    rotated(&place, "targets");
    let output = place.renew(&[]);
    assert_eq!(output.status.code(), Some(0), "{}", complained(&output));
    assert!(complained(&output).contains("Root 3 waits"), "{}", complained(&output));
    assert!(!place.metadata("3.root.json").exists());
    place.both().unwrap();
    place.publish();
    place.both().unwrap();
    assert_eq!(place.ours("seen").unwrap()["versions"]["root"], 3);
}

#[test]
fn a_lost_root_key_is_replaced_by_the_other_two_and_two_lost_ones_are_not() {
    let place = Place::published();
    let [first, second] = ["root-1", "root-2"].map(|name| place.key(name));
    fs::remove_file(&first).unwrap();
    rotated(&place, "root-1");
    place.publish();
    place.both().unwrap();
    fs::remove_file(second).unwrap();
    fs::remove_file(place.key("root-3")).unwrap();
    let output = place.rotate("root-2");
    assert_eq!(output.status.code(), Some(4));
    assert!(complained(&output).contains("Two of the root's keys"), "{}", complained(&output));
    place.both().unwrap();
}

#[test]
fn a_lost_repository_is_made_again_with_a_new_key_on_line() {
    let place = Place::published();
    for _ in 0..2 {
        place.publish();
    }
    place.both().unwrap();
    fs::remove_dir_all(place.repository()).unwrap();
    place.publish();
    place.both().expect_err("its versions are lower than those that were seen");
    fs::remove_dir_all(place.repository()).unwrap();
    rotated(&place, "online");
    place.publish();
    place.both().expect("with a new key, versions count anew");
}
