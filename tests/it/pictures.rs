//! The pictures of stickers that README shows are what the code draws.

use cupwright::{
    answering::{Sent, StickerForm, StickersAsked, ticket_stickers},
    wire::Ticket,
};

use crate::{
    lines::DEMO,
    support::{edition, golden, text},
};

/// Of each there is a ticket beside it.
const PICTURES: [&str; 3] = ["sticker-code", "sticker-changes", "sticker-allergy"];

#[test]
fn the_kept_pictures_of_stickers_are_what_the_code_draws() {
    let asked = StickersAsked {
        public_base: Some("https://cups.example".to_owned()),
        ..StickersAsked::default()
    };
    for name in PICTURES {
        let ticket: Ticket =
            serde_json::from_str(&text(&format!("tests/pictures/{name}.json"))).unwrap();
        let made = ticket_stickers(&edition(&DEMO), ticket, &Sent::default(), &asked).unwrap();
        let svg = String::from_utf8(made.as_bytes(StickerForm::Svg).unwrap()).unwrap();
        golden(&format!("tests/pictures/{name}.svg"), &(svg + "\n"));
    }
}
