//! Answers that are lost on the way: a sticker is never printed twice, and where nobody can know, that
//! is said.

use std::{
    io::{Read as _, Write as _},
    net::TcpListener,
    thread,
    time::Duration,
};

use cupwright::print::{Order, Pace, Prints, Stage, Standing, Trouble};

use crate::{
    prints::{came, keyed, only, order, outcome, over, pace, queue, target},
    support::{
        printer::{Printer, until},
        proxy::{
            CREATE_JOB, Fate, GET_JOBS, GET_PRINTER_ATTRIBUTES, PRINT_JOB, Proxy, SEND_DOCUMENT,
        },
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
fn a_key_of_an_earlier_process_with_other_stickers_prints_them() {
    let printer = Printer::start();
    let targets = [target("till", &printer.uri())];
    printed(&queue(), keyed(7, order(&targets, &["one"])));
    printed(&queue(), Order { asked: [1; 32], ..keyed(7, order(&targets, &["two"])) });
    printed(&queue(), Order { asked: [1; 32], ..keyed(7, order(&targets, &["two"])) });
    assert_eq!(came(&printer), ["one", "two"]);
}

#[test]
fn what_a_printer_may_have_that_cannot_be_asked_is_unknown_until_somebody_has_looked() {
    let (mut printer, other) = (Printer::start(), Printer::start());
    let targets = [target("till", &printer.uri()), target("bar", &other.uri())];
    let stickers = || keyed(7, order(&targets, &["one", "two"]));
    outcome(&queue(), stickers());
    assert_eq!(came(&printer), ["one", "two"]);
    printer.kill();
    let reversed = [targets[1].clone(), targets[0].clone()];
    for again in [stickers(), keyed(7, order(&reversed, &["one", "two"]))] {
        for (_, standing) in outcome(&queue(), again).sheets {
            assert_eq!(
                (standing.stage, standing.trouble),
                (Stage::Unknown, Some(Trouble::NotAsked))
            );
            assert_eq!(standing.printer, Some("till".into()));
        }
    }
    assert_eq!(came(&other).len(), 0, "nobody else prints it");
    printed(&queue(), Order { reprint: true, ..keyed(8, order(&targets, &["again"])) });
    // Long after its start, a process is sent no key of an earlier one.
    let late = Prints::new(20, Pace { resent: Duration::ZERO, ..pace() }, |_, _| {});
    printed(&late, keyed(9, order(&targets, &["three"])));
    assert_eq!(came(&other), ["again", "three"]);
}

#[test]
fn a_lost_answer_about_jobs_or_abilities_is_asked_for_again() {
    let (printer, other) = (Printer::start(), Printer::start());
    let proxy = Proxy::before(printer.port());
    proxy.next(GET_JOBS, Fate::AnswerLost);
    proxy.next(GET_PRINTER_ATTRIBUTES, Fate::Lost);
    let targets = [target("till", &proxy.uri()), target("bar", &other.uri())];
    let standing = printed(&queue(), keyed(7, order(&targets, &["one"])));
    assert_eq!((standing.printer, standing.passed.len()), (Some("till".into()), 0));
    assert_eq!((came(&printer), came(&other).len()), (vec!["one"], 0));
}

#[test]
fn who_wants_a_password_and_who_is_no_printer_is_told_so() {
    let answers = [
        ("401 Unauthorized", Trouble::Locked),
        ("403 Forbidden", Trouble::Locked),
        ("404 Not Found", Trouble::NoPath),
        ("405 Method Not Allowed", Trouble::NotUnderstood),
    ];
    for (answer, trouble) in answers {
        let uri = answering(answer);
        let standing = only(outcome(&queue(), order(&[target("till", &uri)], &["one"])));
        assert_eq!((standing.stage, standing.trouble), (Stage::Failed, Some(trouble)), "{answer}");
    }
}

/// A server that gives one request this status.
fn answering(status: &'static str) -> String {
    let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
    let port = listener.local_addr().expect("its address").port();
    thread::spawn(move || {
        let (mut stream, _) = listener.accept().expect("a request");
        let mut bytes = [0; 4_096];
        assert!(stream.read(&mut bytes).expect("a request") > 0);
        let answer = format!("HTTP/1.1 {status}\r\nContent-Length: 0\r\nConnection: close\r\n\r\n");
        stream.write_all(answer.as_bytes()).expect("it is read");
        // Whatever is still to come of the request is taken, or the connection is reset.
        let _ = stream.read_to_end(&mut Vec::new());
    });
    format!("ipp://127.0.0.1:{port}/ipp/print")
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
