//! Printing over IPP to a real printer: what arrives, what is the matter, and nothing twice.

use std::{
    io::Write as _,
    net::TcpListener,
    sync::Arc,
    thread,
    time::{Duration, Instant},
};

use cupwright::{
    book::Media,
    print::{
        Address, Document, Dots, Form, Order, Pace, Prints, Reason, Refused, Sheet, Stage,
        Standing, Target, Trouble, View, Which,
    },
    units::Length,
};

use crate::support::{
    printer::{PATIENCE, Printer, description, until},
    proxy::{CANCEL_JOB, Proxy},
};

/// Short enough for tests, long enough for a busy machine.
pub(crate) fn pace() -> Pace {
    Pace {
        connect: Duration::from_secs(2),
        answer: Duration::from_secs(5),
        look: Duration::from_millis(30),
        patience: Duration::from_millis(600),
        silence: Duration::from_millis(800),
        settle: Duration::from_millis(300),
        resent: Duration::from_mins(10),
        within: Duration::from_secs(3),
    }
}

/// A document that says in which form it was wanted.
pub(crate) struct Saying(pub(crate) &'static str);

/// What a document of these tests says in a form.
pub(crate) fn said(text: &str, form: Form) -> Vec<u8> {
    format!("RaS2 {form:?} {text}\n").repeat(700).into_bytes()
}

impl Document for Saying {
    fn in_form(&self, form: Form) -> Result<Vec<u8>, String> {
        Ok(said(self.0, form))
    }
}

pub(crate) const RASTER: Form = Form::PwgRaster { dpi: 203, dots: Dots::Black };

fn label(width_mm: f64, height_mm: f64) -> Media {
    Media { width_mm: Length::from_mm(width_mm), height_mm: Length::from_mm(height_mm) }
}

pub(crate) fn target(printer: &str, uri: &str) -> Target {
    Target {
        printer: printer.into(),
        address: Address::read(uri).expect("an address"),
        media: label(58.0, 40.0),
        dpi: 203,
    }
}

pub(crate) fn queue() -> Prints {
    Prints::new(20, pace(), |_, _| {})
}

pub(crate) fn order(targets: &[Target], documents: &[&'static str]) -> Order {
    let sheet = |(n, text): (usize, &&'static str)| Sheet {
        which: Which { line: "1".to_owned(), cup: [n, documents.len()], part: [1, 1] },
        document: Box::new(Saying(text)),
    };
    Order {
        key: None,
        asked: [0; 32],
        reprint: false,
        site: "bookshop".to_owned(),
        lang: "en".to_owned(),
        targets: Arc::from(targets),
        sheets: (1..).zip(documents).map(sheet).collect(),
    }
}

/// The same, under a key of its sender's.
pub(crate) fn keyed(key: u8, order: Order) -> Order {
    Order { key: Some([key; 32]), ..order }
}

/// How a print ends.
#[track_caller]
pub(crate) fn outcome(prints: &Prints, order: Order) -> View {
    let taken = prints.take(order).expect("there is room");
    over(prints, &taken.view.id)
}

#[track_caller]
pub(crate) fn over(prints: &Prints, id: &uuid::Uuid) -> View {
    let began = Instant::now();
    loop {
        let view = prints.view(id).expect("it is kept");
        if view.is_over() {
            return view;
        }
        assert!(began.elapsed() < PATIENCE, "it is not over: {view:?}");
        thread::sleep(Duration::from_millis(10));
    }
}

/// Where its only sticker stands.
pub(crate) fn only(view: View) -> Standing {
    let [(_, standing)]: [_; 1] = view.sheets.try_into().expect("one sticker");
    standing
}

#[test]
fn stickers_arrive_byte_for_byte_in_the_form_that_the_printer_takes_and_in_their_order() {
    let printer = Printer::start();
    let view = outcome(&queue(), order(&[target("till", &printer.uri())], &["one", "two", "two"]));
    for (at, (which, standing)) in view.sheets.iter().enumerate() {
        assert_eq!((&*which.line, which.cup), ("1", [at + 1, 3]));
        assert_eq!((standing.stage, &standing.trouble), (Stage::Printed, &None), "{standing:?}");
    }
    assert_eq!(came(&printer), ["one", "two", "two"], "two alike are two");
    assert!(printer.documents().iter().all(|(ending, _)| ending == "pwg"));
}

/// What the documents that came say; each must be what was sent, byte for byte.
#[track_caller]
pub(crate) fn came(printer: &Printer) -> Vec<&'static str> {
    let known = ["one", "two", "three", "again"];
    let text_of = |bytes: &[u8]| {
        let forms = [RASTER, Form::Pdf, Form::Png { dpi: 203 }];
        let found = known.iter().find(|text| forms.iter().any(|form| said(text, *form) == bytes));
        *found.expect("what was sent, byte for byte")
    };
    printer.documents().iter().map(|(_, bytes)| text_of(bytes)).collect()
}

fn end_of(printer: &Printer) -> Standing {
    only(outcome(&queue(), order(&[target("till", &printer.uri())], &["one"])))
}

fn without(names: &[&str]) -> String {
    let text = description();
    let lines = text.lines().filter(|line| !names.iter().any(|name| line.contains(name)));
    lines.collect::<Vec<_>>().join("\n")
}

/// PWG 5100.14, section 6.2.3, has printers take PWG raster; one that does not gets PDF, else PNG.
#[test]
fn the_form_is_the_best_that_the_printer_takes() {
    let formats = |all: &str| {
        format!(
            "{}\nATTR mimeMediaType document-format-supported {all}\n",
            without(&["document-format"])
        )
    };
    let cases = [
        (formats("\"image/png\",\"application/pdf\""), Some("pdf")),
        (formats("\"image/png\",\"image/urf\""), Some("png")),
        (without(&["pwg-raster-document-resolution"]), Some("pdf")),
        (formats("\"image/urf\",\"image/jpeg\""), None),
    ];
    for (description, ending) in cases {
        // It says further down that it takes PWG raster, which it does not then.
        let printer = Printer::of(&description);
        let standing = end_of(&printer);
        match ending {
            Some(ending) => {
                assert_eq!(standing.stage, Stage::Printed, "{ending} {standing:?}");
                assert_eq!(standing.stage, Stage::Printed, "{standing:?}");
                assert_eq!((came(&printer), &*printer.documents()[0].0), (vec!["one"], ending));
            }
            None => assert_eq!(standing.trouble, Some(Trouble::NoForm)),
        }
    }
}

#[test]
fn labels_of_another_size_are_told_with_both_sizes_and_nothing_is_sent() {
    let text = description().replace("58x40", "62x100").replace("5800", "6200");
    let printer = Printer::of(&text.replace("dimension 4000", "dimension 10000"));
    let standing = end_of(&printer);
    let (wanted, found) = (label(58.0, 40.0), label(62.0, 100.0));
    assert_eq!(standing.trouble, Some(Trouble::WrongMedia { wanted, found }));
    assert_eq!((standing.stage, came(&printer).len()), (Stage::Failed, 0));
}

#[test]
fn a_printer_that_is_busy_is_waited_for_and_then_another_prints() {
    let (printer, other) = (Printer::start(), Printer::start());
    printer.hold();
    let (first, second) = (queue(), queue());
    let targets = [target("till", &printer.uri()), target("bar", &other.uri())];
    let held = first.take(order(&targets[..1], &["one"])).expect("room");
    until("it prints", || came(&printer) == ["one"]);
    let waiting = second.take(order(&targets[..1], &["two"])).expect("room");
    until("it waits", || {
        let standing = only(second.view(&waiting.view.id).expect("kept"));
        standing.stage == Stage::Waiting && standing.trouble == Some(Trouble::Busy)
    });
    let moved = only(outcome(&queue(), order(&targets, &["three"])));
    assert_eq!((moved.stage, moved.printer), (Stage::Printed, Some("bar".into())));
    assert_eq!(moved.passed, [("till".into(), Trouble::Busy)]);
    assert_eq!(came(&other), ["three"]);
    printer.let_go();
    assert_eq!(only(over(&first, &held.view.id)).stage, Stage::Printed);
    assert_eq!(only(over(&second, &waiting.view.id)).stage, Stage::Printed);
    assert_eq!(came(&printer), ["one", "two"]);
}

#[test]
fn no_labels_and_an_open_cover_are_told_and_another_printer_prints() {
    for (state, reason) in
        [("media-empty-error", Reason::MediaEmpty), ("cover-open-error", Reason::CoverOpen)]
    {
        let (printer, other) = (Printer::start(), Printer::start());
        printer.says(&format!("STATE: +{state}"));
        assert_eq!(end_of(&printer).stage, Stage::Printed, "only then something is the matter");
        let alone = end_of(&printer);
        assert_eq!(alone.stage, Stage::Failed);
        let matter = alone.trouble.expect("a reason");
        assert!(matter.reasons().contains(&reason), "{matter:?}");
        let targets = [target("till", &printer.uri()), target("bar", &other.uri())];
        let moved = only(outcome(&queue(), order(&targets, &["two"])));
        assert_eq!((moved.stage, moved.printer), (Stage::Printed, Some("bar".into())));
        assert_eq!(moved.passed, [("till".into(), matter)]);
        assert_eq!((came(&printer), came(&other)), (vec!["one"], vec!["two"]));
    }
}

#[test]
fn a_printer_that_gives_a_job_up_is_passed_over_and_one_that_is_gone_too() {
    let (mut printer, other) = (Printer::start(), Printer::start());
    printer.ends_with(1);
    let targets = [target("till", &printer.uri()), target("bar", &other.uri())];
    let moved = only(outcome(&queue(), order(&targets, &["one"])));
    assert_eq!((moved.stage, moved.printer.clone()), (Stage::Printed, Some("bar".into())));
    assert!(matches!(moved.passed[..], [(_, Trouble::Aborted(_))]), "{moved:?}");
    printer.kill();
    let moved = outcome(&queue(), order(&targets, &["two", "three"]));
    for (_, standing) in &moved.sheets {
        assert_eq!(standing.passed, [("till".into(), Trouble::Unreachable)]);
        assert_eq!(standing.stage, Stage::Printed);
    }
    assert_eq!(came(&other), ["one", "two", "three"]);
    let began = Instant::now();
    let alone = end_of(&printer);
    assert_eq!((alone.stage, alone.trouble), (Stage::Failed, Some(Trouble::Unreachable)));
    assert!(began.elapsed() < pace().within, "nobody waits for one that is not there");
}

#[test]
fn a_printer_that_is_lost_with_a_sticker_leaves_it_unknown_and_nobody_prints_it_again() {
    let (mut printer, other) = (Printer::start(), Printer::start());
    printer.hold();
    let prints = queue();
    let targets = [target("till", &printer.uri()), target("bar", &other.uri())];
    let taken = prints.take(order(&targets, &["one"])).expect("room");
    until("it prints", || {
        only(prints.view(&taken.view.id).expect("kept")).stage == Stage::Printing
    });
    printer.kill();
    let standing = only(over(&prints, &taken.view.id));
    assert_eq!((standing.stage, standing.trouble), (Stage::Unknown, Some(Trouble::Silent)));
    assert_eq!(came(&other).len(), 0);
    // Another job of that number is not taken for it.
    printer.let_go();
    printer.restart();
    let taken = prints.take(order(&targets[..1], &["two"])).expect("room");
    assert_eq!(only(over(&prints, &taken.view.id)).stage, Stage::Printed);
}

/// Something that is the matter while a job is printed: it is waited for, then the job is taken back.
#[test]
fn a_job_that_a_printer_gives_back_goes_to_another_and_one_that_it_keeps_goes_nowhere() {
    for gives_back in [true, false] {
        let (printer, other) = (Printer::start(), Printer::start());
        let proxy = Proxy::before(printer.port());
        printer.says("STATE: +cover-open-error");
        printer.hold();
        let prints = queue();
        let targets = [target("till", &proxy.uri()), target("bar", &other.uri())];
        let taken = prints.take(order(&targets, &["one"])).expect("room");
        let matter = Trouble::Matter(vec![Reason::CoverOpen]);
        until("it is told", || {
            let standing = only(prints.view(&taken.view.id).expect("kept"));
            standing.stage == Stage::Printing && standing.trouble.as_ref() == Some(&matter)
        });
        until("it is to be taken back", || proxy.count(CANCEL_JOB) > 0);
        // This printer ends a job that is taken back with its command, and not before.
        if gives_back {
            printer.let_go();
        }
        let standing = only(over(&prints, &taken.view.id));
        if gives_back {
            assert_eq!((standing.stage, standing.printer), (Stage::Printed, Some("bar".into())));
            assert_eq!(standing.passed, [("till".into(), matter)]);
            assert_eq!(came(&other), ["one"]);
        } else {
            let kept = Some(Trouble::Kept(vec![Reason::CoverOpen]));
            assert_eq!((standing.stage, standing.trouble), (Stage::Unknown, kept));
            assert_eq!(came(&other).len(), 0);
        }
    }
}

#[test]
fn one_key_stands_for_one_print_and_the_queue_has_an_end() {
    let printer = Printer::start();
    printer.hold();
    let prints = Prints::new(3, pace(), |_, _| {});
    let targets = [target("till", &printer.uri())];
    let first = prints.take(keyed(1, order(&targets, &["one"]))).expect("room");
    let again = prints.take(keyed(1, order(&targets, &["one"]))).expect("the same");
    assert_eq!((again.view.id, again.again, first.again), (first.view.id, true, false));
    let other = Order { asked: [9; 32], ..keyed(1, order(&targets, &["two"])) };
    assert_eq!(prints.take(other), Err(Refused::OtherBody));
    assert_eq!(prints.take(order(&targets, &["two"; 4])), Err(Refused::TooMany(3)));
    let second = prints.take(keyed(2, order(&targets, &["two", "two"]))).expect("room");
    assert_eq!(prints.take(order(&targets, &["three"])), Err(Refused::Full));
    printer.let_go();
    over(&prints, &first.view.id);
    over(&prints, &second.view.id);
    assert_eq!(only(outcome(&prints, order(&targets, &["three"]))).stage, Stage::Printed);
    let again = prints.take(keyed(1, order(&targets, &["one"]))).expect("the same");
    assert_eq!(
        (again.view.id, only(over(&prints, &again.view.id)).stage),
        (first.view.id, Stage::Printed)
    );
    assert_eq!(came(&printer), ["one", "two", "two", "three"]);
}

/// Who answers every request in drops, and never to its end.
fn dripping() -> String {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let port = listener.local_addr().unwrap().port();
    thread::spawn(move || {
        for mut stream in listener.incoming().map_while(Result::ok) {
            thread::spawn(move || {
                let head = "HTTP/1.1 200 OK\r\nContent-Type: application/ipp\r\n\
                            Transfer-Encoding: chunked\r\n\r\n";
                let mut sent = stream.write_all(head.as_bytes());
                while sent.is_ok() {
                    thread::sleep(Duration::from_millis(100));
                    sent = stream.write_all(b"1\r\n\x01\r\n");
                }
            });
        }
    });
    format!("ipp://127.0.0.1:{port}/ipp/print")
}

#[test]
fn a_printer_that_answers_in_drops_holds_nobody_up() {
    let prints = Prints::new(20, Pace { answer: Duration::from_secs(1), ..pace() }, |_, _| {});
    let drops = target("till", &dripping());
    let standing = only(outcome(&prints, order(std::slice::from_ref(&drops), &["one"])));
    assert_eq!(standing.stage, Stage::Failed, "{standing:?}");
    // Another with the same labels prints it.
    let printer = Printer::start();
    let both = [drops, target("bar", &printer.uri())];
    let standing = only(outcome(&prints, order(&both, &["two"])));
    assert_eq!(standing.stage, Stage::Printed, "{standing:?}");
    assert_eq!(came(&printer), ["two"]);
}
