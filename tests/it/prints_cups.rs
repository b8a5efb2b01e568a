//! Printers that speak no IPP, or are on a cable, through a queue of a real CUPS.

use std::{io::Read as _, net::TcpListener, thread};

use cupwright::print::{Form, Pace, Stage, Trouble};

use crate::{
    prints::{came, keyed, only, order, outcome, pace, queue, said, target},
    support::{cups::Cups, printer::Printer},
};

use cupwright::print::Prints;

/// A queue takes its time: it looks at the device now and then.
fn patient() -> Prints {
    let pace = Pace { within: std::time::Duration::from_secs(15), ..pace() };
    Prints::new(20, pace, |_, _| {})
}

/// A raw device at a port is what CUPS calls `socket`; a printer on a cable is one of the same kind.
#[test]
fn a_raw_printer_gets_every_byte_through_a_queue() {
    let device = TcpListener::bind("127.0.0.1:0").expect("a port");
    let port = device.local_addr().expect("its address").port();
    let cups = Cups::start();
    let uri = cups.queue("raw", &format!("socket://127.0.0.1:{port}"), "raw");
    let reader = thread::spawn(move || {
        let mut bytes = Vec::new();
        let (mut stream, _) = device.accept().expect("a connection");
        stream.read_to_end(&mut bytes).expect("a document");
        bytes
    });
    let prints = patient();
    let standing = only(outcome(&prints, keyed(1, order(&[target("till", &uri)], &["one"]))));
    assert_eq!(standing.stage, Stage::Printed, "{standing:?}");
    let bytes = reader.join().expect("it is read");
    assert!(bytes == said("one", Form::Pdf), "a queue without a driver tells of no raster");
    // The queue remembers it, so a process that is started again does not print it again.
    let again = only(outcome(&patient(), keyed(1, order(&[target("till", &uri)], &["one"]))));
    assert_eq!(again.stage, Stage::Printed);
}

#[test]
fn a_queue_in_front_of_an_ipp_printer_tells_its_labels_and_passes_documents_on() {
    let printer = Printer::start();
    let cups = Cups::start();
    let pass = cups.queue("pass", &printer.uri(), "raw");
    let standing = only(outcome(&patient(), order(&[target("till", &pass)], &["one"])));
    assert_eq!(standing.stage, Stage::Printed, "{standing:?}");
    assert_eq!(came(&printer), ["one"]);
    // What the printer says of its labels is known through the queue.
    let known = cups.queue("known", &printer.uri(), "everywhere");
    let mut wide = target("till", &known);
    wide.media.width_mm = cupwright::units::Length::from_mm(70.0);
    let standing = only(outcome(&queue(), order(&[wide], &["two"])));
    assert!(matches!(standing.trouble, Some(Trouble::WrongMedia { .. })), "{standing:?}");
    assert_eq!(came(&printer), ["one"]);
}
