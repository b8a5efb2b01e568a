//! Answers that are lost on the way: a sticker is never printed twice, and where nobody can know, that
//! is said.

use cupwright::print::{Order, Prints, Stage, Standing, Trouble};

use crate::{
    prints::{came, keyed, only, order, outcome, over, queue, target},
    support::{
        printer::{Printer, until},
        proxy::{CREATE_JOB, Fate, GET_JOBS, PRINT_JOB, Proxy, SEND_DOCUMENT},
    },
};

/// Makes a printer one that makes a job only with its document, as the least of printers does
/// (RFC 8011, section 4.2.1).
fn plain(printer: &Printer) -> Proxy {
    Proxy::before(printer.port()).without(CREATE_JOB)
}

fn through(proxy: &Proxy, text: &'static str) -> Order {
    order(&[target("till", &proxy.uri())], &[text])
}

fn printed(prints: &Prints, order: Order) -> Standing {
    let standing = only(outcome(prints, order));
    assert_eq!(standing.stage, Stage::Printed, "{standing:?}");
    standing
}

#[test]
fn a_lost_answer_to_a_new_job_is_found_by_its_name_and_one_is_printed() {
    for fate in [Fate::AnswerLost, Fate::Lost, Fate::Half] {
        let printer = Printer::start();
        let proxy = Proxy::before(printer.port());
        proxy.next(CREATE_JOB, fate);
        printed(&queue(), through(&proxy, "one"));
        assert_eq!(came(&printer), ["one"], "{fate:?}");
        assert!(proxy.count(GET_JOBS) >= 1, "it was looked for");
    }
}

#[test]
fn a_lost_answer_to_a_document_is_found_by_the_job_and_one_is_printed() {
    for fate in [Fate::AnswerLost, Fate::Lost] {
        let printer = Printer::start();
        let proxy = Proxy::before(printer.port());
        proxy.next(SEND_DOCUMENT, fate);
        printed(&queue(), through(&proxy, "one"));
        assert_eq!(came(&printer), ["one"], "{fate:?}");
    }
}

#[test]
fn a_lost_answer_of_a_printer_that_makes_jobs_at_once_is_looked_for_by_name() {
    let printer = Printer::start();
    let proxy = plain(&printer);
    proxy.next(PRINT_JOB, Fate::AnswerLost);
    printed(&queue(), through(&proxy, "one"));
    assert_eq!((came(&printer), proxy.count(PRINT_JOB)), (vec!["one"], 1));
    // It has shown that it keeps what is over, so what it does not list it does not have.
    proxy.next(PRINT_JOB, Fate::Lost);
    printed(&queue(), through(&proxy, "two"));
    assert_eq!((came(&printer), proxy.count(PRINT_JOB)), (vec!["one", "two"], 3));
}

#[test]
fn where_nobody_can_know_that_is_said_and_nothing_is_sent_again() {
    // The one lists no jobs; the other none that are over, as one does that forgets them.
    for lists in [false, true] {
        let (printer, other) = (Printer::start(), Printer::start());
        let proxy = plain(&printer);
        let proxy = if lists { proxy } else { proxy.without(GET_JOBS) };
        proxy.next(PRINT_JOB, Fate::Lost);
        let targets = [target("till", &proxy.uri()), target("bar", &other.uri())];
        let standing = only(outcome(&queue(), order(&targets, &["one"])));
        assert_eq!(standing.stage, Stage::Unknown);
        assert_eq!(standing.trouble, Some(Trouble::AnswerLost));
        assert_eq!((proxy.count(PRINT_JOB), came(&printer).len(), came(&other).len()), (1, 0, 0));
    }
}

#[test]
fn a_key_that_came_to_an_earlier_process_prints_nothing_again() {
    let (printer, other) = (Printer::start(), Printer::start());
    let targets = [target("till", &printer.uri()), target("bar", &other.uri())];
    let stickers = || keyed(7, order(&targets, &["one", "two"]));
    let view = outcome(&queue(), stickers());
    assert!(view.sheets.iter().all(|(_, standing)| standing.stage == Stage::Printed));
    // Another queue knows nothing but the key.
    let again = outcome(&queue(), stickers());
    assert!(again.sheets.iter().all(|(_, standing)| standing.stage == Stage::Printed));
    assert_eq!((came(&printer), came(&other).len()), (vec!["one", "two"], 0));
    // Nor does one that is still being printed, nor one that went to the other printer.
    printer.hold();
    let first = queue();
    let held = first.take(keyed(8, order(&targets[..1], &["three"]))).expect("room");
    until("it prints", || only(first.view(&held.view.id).expect("kept")).stage == Stage::Printing);
    let second = queue();
    let same = second.take(keyed(8, order(&targets, &["three"]))).expect("room");
    until("it is found", || {
        only(second.view(&same.view.id).expect("kept")).stage == Stage::Printing
    });
    printer.let_go();
    assert_eq!(only(over(&second, &same.view.id)).stage, Stage::Printed);
    assert_eq!((came(&printer), came(&other).len()), (vec!["one", "two", "three"], 0));
    let reversed = [targets[1].clone(), targets[0].clone()];
    printed(&queue(), keyed(8, order(&reversed, &["three"])));
    assert_eq!(came(&other).len(), 0);
}

#[test]
fn a_job_that_an_earlier_process_left_without_its_document_keeps_nobody_waiting() {
    let printer = Printer::start();
    let proxy = Proxy::before(printer.port());
    // The first process is gone after it made the job.
    for _ in 0..20 {
        proxy.next(SEND_DOCUMENT, Fate::Lost);
    }
    let first = queue();
    let left = first.take(keyed(9, through(&proxy, "one"))).expect("room");
    until("it was made", || proxy.count(SEND_DOCUMENT) > 0);
    let direct = order(&[target("till", &printer.uri())], &["one"]);
    printed(&queue(), keyed(9, direct));
    assert_eq!(came(&printer), ["one"]);
    let _ = over(&first, &left.view.id);
    assert_eq!(came(&printer), ["one"], "nor does the first print it then");
}
