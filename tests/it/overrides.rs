//! Overrides: a reasoned one by a key with that right accepts what is no matter of safety, and nothing
//! else.

use cupwright::{
    engine::{Line, Moment, Verdict, build_line, verdict},
    wire::TicketLine,
};
use proptest::prelude::*;

use crate::{
    lines::{DEMO, Posted, posted},
    support::chance::cases,
};

fn line(there: &Posted, reason: Option<&str>) -> Line {
    let posted: TicketLine = serde_json::from_value(there.line()).unwrap();
    Line { override_reason: reason.map(str::to_owned), note: None, ..Line::from(posted) }
}

fn judged(there: &Posted, reason: Option<&str>, may_override: bool) -> Verdict<'static> {
    let moment = Moment { may_override, ..Moment::default() };
    verdict(&DEMO.bars[there.site.as_str()], &line(there, reason), &moment)
}

proptest! {
    #![proptest_config(cases(384))]

    #[test]
    fn an_override_accepts_what_may_be_waived_and_says_so(there in posted()) {
        let plain = judged(&there, None, true);
        let over = judged(&there, Some("agreed with the lead"), true);
        match (&plain, &over) {
            (Verdict::Accept { build, .. }, Verdict::Accept { build: other, .. }) => {
                prop_assert!(other.order.waived.is_empty(), "nothing is waived where nothing is refused");
                prop_assert_eq!(build.order.price, other.order.price);
            }
            (_, Verdict::Accept { build, notices, .. }) => {
                prop_assert!(!build.order.waived.is_empty());
                prop_assert!(build.order.waived.iter().all(|one| !one.safety && one.code.is_waivable()));
                prop_assert!(notices.iter().any(|one| one.notice.as_str() == "overridden"));
            }
            (Verdict::Accept { .. }, _) => prop_assert!(false, "an override refuses {:?}", there),
            (Verdict::Refuse { .. } | Verdict::Ask { .. }, Verdict::Refuse { objections, alternatives }) => {
                prop_assert!(objections.iter().any(|one| one.safety || !one.code.is_waivable()));
                // What is offered leans on no override.
                for offer in alternatives.iter().flatten() {
                    prop_assert!(offer.line.override_reason.is_none());
                    let bar = &DEMO.bars[there.site.as_str()];
                    prop_assert!(build_line(bar, &offer.line, &Moment::default()).is_ok());
                }
            }
            (_, Verdict::Ask { .. }) => {}
        }
    }

    #[test]
    fn safety_is_never_overridden(there in posted()) {
        if let Verdict::Refuse { objections, .. } = judged(&there, None, true)
            && objections.iter().any(|one| one.safety)
        {
            let over = judged(&there, Some("a very good reason"), true);
            prop_assert!(matches!(over, Verdict::Refuse { .. }), "{:?}", there);
        }
    }

    #[test]
    fn without_the_right_or_a_reason_nothing_is_overridden(there in posted()) {
        let accepted = |verdict: Verdict<'_>| matches!(verdict, Verdict::Accept { .. });
        let plain = accepted(judged(&there, None, false));
        prop_assert_eq!(accepted(judged(&there, Some("please"), false)), plain);
        prop_assert_eq!(accepted(judged(&there, None, true)), plain);
    }
}
