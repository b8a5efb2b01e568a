//! What somebody can do who stands between the roaster and a site, or who has stolen a key.

use std::{fs, io::Write as _, path::PathBuf};

use cupwright::rollout::{Document, KeyFolder, Lasting, Passphrase, Publication, publish};
use jiff::{SignedDuration, Timestamp};

use super::place::Place;

/// Both refuse, and say why; the words are each client's own.
#[track_caller]
fn refused(place: &Place, words: [&str; 2]) {
    let both = place.both().expect_err("it is refused");
    for (told, word) in both.iter().zip(words) {
        assert!(told.contains(word), "`{word}` is in: {told}");
    }
}

/// The file of the book among the targets.
fn book(place: &Place) -> PathBuf {
    let all = fs::read_dir(place.repository().join("targets")).unwrap();
    let mut all = all.map(|entry| entry.unwrap().path());
    all.find(|path| path.to_str().unwrap().ends_with(".book.json")).unwrap()
}

#[test]
fn a_document_with_another_byte_is_refused() {
    let place = Place::published();
    let mut bytes = fs::read(book(&place)).unwrap();
    let at = bytes.len() / 2;
    bytes[at] ^= 1;
    fs::write(book(&place), bytes).unwrap();
    refused(&place, ["ash mismatch", "does not match"]);
}

#[test]
fn a_document_that_goes_on_is_refused() {
    let place = Place::published();
    fs::OpenOptions::new().append(true).open(book(&place)).unwrap().write_all(b" ").unwrap();
    refused(&place, ["exceeded", "length"]);
}

#[test]
fn a_document_that_ends_early_is_refused() {
    let place = Place::published();
    let bytes = fs::read(book(&place)).unwrap();
    fs::write(book(&place), &bytes[..bytes.len() - 1]).unwrap();
    refused(&place, ["ash mismatch", "length"]);
}

#[test]
fn metadata_of_which_a_word_is_changed_are_refused() {
    for (name, was, is) in [
        ("timestamp.json", "\"version\": 1", "\"version\": 2"),
        ("1.snapshot.json", "\"version\": 1", "\"version\": 2"),
        ("1.targets.json", "\"kind\": \"book\"", "\"kind\": \"boot\""),
        ("1.overlay.json", "\"targets\": {}", "\"targets\":{}"),
    ] {
        let place = Place::published();
        let text = fs::read_to_string(place.metadata(name)).unwrap();
        let changed = text.replacen(was, is, 1);
        assert_ne!(text, changed, "{name}");
        fs::write(place.metadata(name), changed).unwrap();
        let both = place.both().expect_err(name);
        let words = if name == "timestamp.json" {
            ["ignature threshold", "was signed by 0/1"]
        } else {
            ["ash mismatch", "LengthOrHashMismatch"]
        };
        for (told, word) in both.iter().zip(words) {
            assert!(told.contains(word), "{name}: {told}");
        }
    }
}

/// White space outside of what is signed breaks no signature, so only the limit refuses it.
#[test]
fn metadata_beyond_their_size_are_refused() {
    let place = Place::published();
    let mut file =
        fs::OpenOptions::new().append(true).open(place.metadata("timestamp.json")).unwrap();
    file.write_all(&vec![b' '; 200 * 1024]).unwrap();
    place.both_of("other").expect("it is within the limit");
    file.write_all(&vec![b' '; 100 * 1024]).unwrap();
    refused(&place, ["exceeded", "exceeding"]);
    let place = Place::published();
    fs::write(place.metadata("2.root.json"), vec![b' '; 300 * 1024]).unwrap();
    refused(&place, ["exceeded", "exceeding"]);
}

#[test]
fn an_older_repository_is_refused_by_whoever_saw_the_newer_one() {
    let place = Place::published();
    place.copy_to("old");
    place.publish();
    place.copy_to("middle");
    assert_eq!(place.renew(&[]).status.code(), Some(0));
    place.both().unwrap();
    for older in ["middle", "old"] {
        place.put_back(older);
        refused(&place, ["imestamp", "must be >="]);
    }
    place.both_of("stranger").expect("who saw nothing cannot know");
}

#[test]
fn a_snapshot_that_the_key_on_line_takes_back_is_refused_by_whoever_saw_the_newer_one() {
    let place = Place::published();
    place.publish();
    place.both().unwrap();
    place.forge("back", &place.key("online"), false);
    refused(&place, ["targets", "targets.json"]);
}

#[test]
fn files_of_two_publications_do_not_mix() {
    let place = Place::published();
    let old = fs::read(place.metadata("1.targets.json")).unwrap();
    place.publish();
    fs::write(place.metadata("2.targets.json"), old).unwrap();
    refused(&place, ["ash mismatch", "does not match"]);
    let place = Place::published();
    let old = fs::read(place.metadata("1.snapshot.json")).unwrap();
    place.publish();
    fs::write(place.metadata("2.snapshot.json"), old).unwrap();
    refused(&place, ["ash mismatch", "does not match"]);
}

#[test]
fn the_key_on_line_cannot_change_a_recipe() {
    let place = Place::published();
    place.both().unwrap();
    place.forge("recipe", &place.key("online"), false);
    refused(&place, ["ignature threshold", "targets was signed by 0/1"]);
    place.both_of("stranger").expect_err("nor for who saw nothing");
}

#[test]
fn the_key_on_line_cannot_hold_the_overlay_back() {
    let place = Place::published();
    place.forge("drop", &place.key("online"), false);
    refused(&place, ["The overlay is held back", "overlay"]);
}

#[test]
fn the_key_of_the_overlay_cannot_change_a_recipe() {
    let place = Place::published();
    place.forge("recipe", &place.key("overlay"), true);
    refused(&place, ["ignature threshold", "was signed by 0/1"]);
}

#[test]
fn another_roasters_key_is_refused() {
    let (place, other) = (Place::published(), Place::new());
    place.forge("timestamp", &other.key("online"), false);
    refused(&place, ["ignature threshold", "was signed by 0/1"]);
    let trusted = other.at("keys/1.root.json");
    let told = place.ours_trusting("stranger", &trusted).expect_err("another root was trusted");
    assert!(told.contains("ignature threshold"), "{told}");
}

#[test]
fn a_root_that_one_key_of_two_has_signed_is_refused() {
    let place = Place::published();
    place.both().unwrap();
    place.forge("root", &place.key("root-1"), true);
    refused(&place, ["ignature threshold", "was signed by 1/2"]);
}

/// The clock of our client is the system's, so what is old must be signed in the past.
#[test]
fn a_repository_that_nobody_renews_is_refused() {
    let place = Place::new();
    let keys = KeyFolder::look(place.folder.path().join("keys").as_path()).unwrap();
    let passphrase = Passphrase::new(&fs::read_to_string(place.at("passphrase")).unwrap()).unwrap();
    let documents = [Document {
        name: "book.json".to_owned(),
        kind: "book",
        id: "old".to_owned(),
        version: None,
        digest: String::new(),
        min_reader: None,
        bytes: b"{}".to_vec(),
    }];
    let days = |n: i64| SignedDuration::from_hours(24 * n);
    // The day of the timestamp, then the week of the snapshot, then the rest, each over in turn.
    for (ago, lasting, of) in [
        (days(2), Lasting::default(), "imestamp"),
        (days(8), Lasting { timestamp: days(99), ..Lasting::default() }, "napshot"),
        (
            days(91),
            Lasting { timestamp: days(99), snapshot: days(99), ..Lasting::default() },
            "argets",
        ),
    ] {
        let publication = Publication {
            keys: &keys,
            passphrase: &passphrase,
            documents: &documents,
            lasting,
            now: Timestamp::now() - ago,
            dry: false,
        };
        publish(&place.repository(), &publication).unwrap().write(|_, _, _| ()).unwrap();
        let both = place.both().expect_err("it is too old");
        for told in both {
            assert!(told.contains("expired") && told.contains(of), "{of}: {told}");
        }
    }
}

/// Whoever can make the next root fail to come could hold a site at an old one.
#[test]
fn only_a_next_root_that_is_not_there_is_the_end_of_the_roots() {
    let mut place = Place::published();
    for status in [500, 503, 429] {
        place.serve(&format!("location = /metadata/2.root.json {{ return {status}; }}"));
        refused(&place, [&status.to_string(), &status.to_string()]);
    }
    for status in [403, 410] {
        place.serve(&format!("location = /metadata/2.root.json {{ return {status}; }}"));
        let told = place.ours("seen").expect_err("only 404 is the end");
        assert!(told.contains(&status.to_string()), "{told}");
    }
    place.serve("location = /metadata/2.root.json { return 200 'not a root'; }");
    refused(&place, ["root", "JSON"]);
    place.serve("");
    place.both().unwrap();
}

/// Whoever can write to the web server's folder, and has no key.
#[test]
fn versions_that_none_of_our_keys_signed_count_for_nothing() {
    let place = Place::published();
    place.both().unwrap();
    for role in ["targets", "snapshot", "overlay"] {
        let whole = fs::read_to_string(place.metadata(&format!("1.{role}.json"))).unwrap();
        let made_up = whole.replacen("\"version\": 1", &format!("\"version\": {}", u64::MAX), 1);
        fs::write(place.metadata(&format!("{}.{role}.json", u64::MAX)), made_up).unwrap();
    }
    place.publish();
    place.both().unwrap();
    assert_eq!(place.ours("seen").unwrap()["versions"]["targets"], 2);
    let whole = fs::read_to_string(place.metadata("timestamp.json")).unwrap();
    let made_up = whole.replacen("\"version\": 2", &format!("\"version\": {}", u64::MAX), 1);
    fs::write(place.metadata("timestamp.json"), made_up).unwrap();
    for output in [place.publish_with(&[]), place.renew(&[])] {
        assert_eq!(output.status.code(), Some(3));
        let told = crate::cli::complained(&output);
        assert!(told.contains("none of these keys has signed this"), "{told}");
    }
    fs::write(place.metadata("timestamp.json"), whole).unwrap();
    place.both().unwrap();
}

#[test]
fn a_publication_does_not_go_on_without_the_overlay_that_is_in_force() {
    let place = Place::published();
    fs::remove_file(place.metadata("1.overlay.json")).unwrap();
    let output = place.publish_with(&[]);
    assert_eq!(output.status.code(), Some(3), "{}", crate::cli::complained(&output));
}

#[test]
fn our_client_follows_nobody_elsewhere() {
    let mut place = Place::published();
    place.serve("location = /metadata/timestamp.json { return 302 /metadata/other.json; }");
    fs::copy(place.metadata("timestamp.json"), place.metadata("other.json")).unwrap();
    let told = place.ours("seen").expect_err("it is elsewhere");
    assert!(told.contains("302"), "{told}");
}

#[test]
fn what_was_seen_and_is_damaged_lets_nothing_through() {
    let place = Place::published();
    place.copy_to("old");
    place.publish();
    place.ours("seen").unwrap();
    place.put_back("old");
    let kept = place.folder.path().join("seen-ours/timestamp.json");
    let whole = fs::read(&kept).unwrap();
    fs::write(&kept, &whole[..whole.len() / 2]).unwrap();
    let told = place.ours("seen").expect_err("it is damaged");
    assert!(told.contains("damaged"), "{told}");
    fs::write(&kept, whole).unwrap();
    let told = place.ours("seen").expect_err("it is older");
    assert!(told.contains("imestamp"), "{told}");
}
