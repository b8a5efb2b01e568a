//! Set-points for wanted temperatures: what is found serves the drink as it was wanted, and nothing
//! above a milk's cap is ever found.

use cupwright::{
    engine::{
        Given, Line, Moment, What, build_line,
        reach::{Reach, reach},
        solve::Milk,
    },
    units::{Figure, Temperature},
    wire::TicketLine,
};
use proptest::prelude::*;
use serde_json::json;

use crate::{
    lines::{DEMO, posted},
    support::chance::cases,
};

fn line_of(value: &serde_json::Value) -> Line {
    serde_json::from_value::<TicketLine>(value.clone()).unwrap().into()
}

/// The same line with its milk at a set-point.
fn at(line: &Line, set_point: Temperature) -> Line {
    let mut with = line.clone();
    with.modifiers.retain(|one| one.id != "temperature");
    let what = What::Number(Figure::from_thousandths(set_point.mc()));
    with.modifiers.push(Given { id: "temperature".to_owned(), what });
    with
}

proptest! {
    #![proptest_config(cases(192))]

    #[test]
    fn what_is_found_serves_the_drink_as_it_was_wanted(there in posted(), wanted in 30_000..80_000_i64) {
        let bar = &DEMO.bars[there.site.as_str()];
        let (line, moment) = (line_of(&there.line()), Moment::default());
        let wanted = Temperature::from_mc(wanted);
        let Ok(found) = reach(bar, &line, &moment, wanted) else { return Ok(()) };
        let (set_point, serve) = match found {
            Reach::At { set_point, serve } => {
                // A tenth of a degree in the jug is less than that in the cup.
                prop_assert!((serve.mc() - wanted.mc()).abs() <= 100, "{found:?} for {wanted}");
                (set_point, serve)
            }
            Reach::TooHot { most, serve } => {
                prop_assert!(serve < wanted);
                (most, serve)
            }
            Reach::TooCool { least, serve } => {
                prop_assert!(serve > wanted);
                (least, serve)
            }
            Reach::NoSteamedMilk => return Ok(()),
        };
        let build = build_line(bar, &at(&line, set_point), &moment).expect("it can be made so");
        prop_assert_eq!(build.solved.serve, serve);
        let Some(Milk::Steamed(milk)) = &build.solved.milk else { panic!("steamed milk") };
        prop_assert!(milk.set_point <= milk.ingredient.steaming.as_ref().unwrap().cap_c);
    }
}

#[test]
fn a_temperature_out_of_reach_names_the_hottest_that_is_allowed() {
    let bar = &DEMO.bars["bookshop"];
    let latte = line_of(&json!({ "line": "1", "drink": "latte" }));
    let wanted = Temperature::from_c(80.0);
    let found = reach(bar, &latte, &Moment::default(), wanted).unwrap();
    let cap = bar.ingredient("whole-milk").unwrap().steaming.as_ref().unwrap().cap_c;
    assert!(matches!(found, Reach::TooHot { most, .. } if most <= cap), "{found:?}, cap {cap}");
    let black = line_of(&json!({ "line": "1", "drink": "long-black" }));
    assert_eq!(reach(bar, &black, &Moment::default(), wanted).unwrap(), Reach::NoSteamedMilk);
}
