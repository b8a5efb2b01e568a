//! Processes that are killed at any moment: what is published stays whole.

use std::{
    env,
    io::{BufRead as _, BufReader},
    process::{Command, Stdio},
    thread::sleep,
    time::Duration,
};

use super::place::Place;
use crate::cli::complained;

/// How often each is killed; `CUPWRIGHT_KILLS=200` for more.
fn kills() -> u64 {
    env::var("CUPWRIGHT_KILLS").ok().and_then(|n| n.parse().ok()).unwrap_or(10)
}

/// A number below `end`, another each time.
fn chance(end: u64) -> u64 {
    u64::try_from(uuid::Uuid::new_v4().as_u128() % u128::from(end)).unwrap()
}

/// Starts a command and kills it: a while after it began to write its n-th file.
fn kill(mut command: Command, file: u64, after: Duration) {
    let mut child =
        command.stdout(Stdio::null()).stderr(Stdio::piped()).spawn().expect("it starts");
    let told = BufReader::new(child.stderr.take().expect("a pipe"));
    for line in told.lines().map_while(Result::ok) {
        if line.starts_with(&format!("{file} of ")) {
            break;
        }
    }
    sleep(after);
    // SIGKILL; it may have ended before.
    let _ = child.kill();
    let _ = child.wait();
}

#[test]
fn a_publication_that_is_killed_leaves_the_old_or_the_new_and_is_completed_by_another() {
    let place = Place::published();
    let mut now = "1.1.0".to_owned();
    for n in 0..kills() {
        let next = format!("2.{n}.0");
        let book = place.book(&next);
        // Eleven files at most are written; some are there already, and told of all the same.
        let file = 1 + chance(11);
        let after = Duration::from_micros(chance(8_000));
        kill(place.publishing(&["--book", &book]), file, after);
        let seen =
            place.both().unwrap_or_else(|told| panic!("killed at {file} + {after:?}: {told:?}"));
        let version = seen["book.json"]["said"]["version"].as_str().unwrap();
        assert!(version == now || version == next, "{version} is neither {now} nor {next}");
        if n % 3 == 0 {
            let output = place.publish_with(&["--book", &book]);
            assert_eq!(output.status.code(), Some(0), "{}", complained(&output));
            assert_eq!(place.both().unwrap()["book.json"]["said"]["version"], *next);
            now = next;
        } else {
            now = version.to_owned();
        }
    }
}

#[test]
fn a_site_that_is_killed_while_it_looks_does_not_forget_what_it_saw() {
    let place = Place::published();
    place.copy_to("old");
    place.renew(&[]);
    place.ours("seen").unwrap();
    for _ in 0..kills() {
        place.renew(&[]);
        let mut site = place
            .looking("seen")
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("it starts");
        sleep(Duration::from_micros(chance(200_000)));
        // SIGKILL; it may have ended before.
        let _ = site.kill();
        let _ = site.wait();
    }
    place.copy_to("new");
    place.put_back("old");
    let told = place.ours("seen").expect_err("it saw a newer one");
    assert!(told.contains("imestamp"), "{told}");
    place.put_back("new");
    place.ours("seen").unwrap();
}

#[test]
fn a_renewal_that_is_killed_leaves_the_old_or_the_new() {
    let place = Place::published();
    for n in 0..kills() {
        // Every other one signs a snapshot too.
        let days = if n % 2 == 0 { "7" } else { "300" };
        let file = 1 + chance(2);
        let after = Duration::from_micros(chance(8_000));
        kill(place.renewing(&["--snapshot-days", days]), file, after);
        place.both().unwrap_or_else(|told| panic!("killed at {file} + {after:?}: {told:?}"));
    }
    let output = place.renew(&[]);
    assert_eq!(output.status.code(), Some(0), "{}", complained(&output));
    place.both().unwrap();
}
