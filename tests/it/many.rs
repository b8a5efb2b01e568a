//! A great many lines: what is offered in place of them can be made, and every pair of modifiers comes
//! to a verdict.

use std::{collections::BTreeMap, thread};

use cupwright::{
    engine::{Line, Moment, Verdict, build_line, neighbours::Alternative, verdict},
    in_force::{Mix, mix_of, ways},
    wire::TicketLine,
};
use proptest::{
    strategy::{Strategy, ValueTree},
    test_runner::{Config, RngAlgorithm, TestRng, TestRunner},
};

use crate::lines::{DEMO, posted};

/// Lines in all.
const LINES: usize = 100_000;
/// Threads that share them; each has a seed of its own.
const THREADS: usize = 4;

/// How many lines came to each verdict, and how many ways out were built.
#[derive(Default)]
struct Tally {
    verdicts: BTreeMap<&'static str, usize>,
    offered: usize,
}

/// Builds each way out again by itself: it must be accepted, and stand in normal form.
fn prove(line: &Line, offers: &[Alternative<'_>], site: &str) -> usize {
    let bar = &DEMO.bars[site];
    for offer in offers {
        let build = build_line(bar, &offer.line, &Moment::default())
            .unwrap_or_else(|_| panic!("{:?} is offered for {line:?}", offer.line));
        assert_eq!(build.canonical(&offer.line), offer.line, "offered for {line:?}");
        assert!(
            line.allergies.iter().all(|one| offer.line.allergies.contains(one)),
            "an allergy is lost: {:?} for {line:?}",
            offer.line
        );
    }
    offers.len()
}

fn share(seed: usize) -> Tally {
    let mut bytes = [0; 32];
    bytes[..8].copy_from_slice(&seed.to_le_bytes());
    let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &bytes);
    let mut runner = TestRunner::new_with_rng(Config::default(), rng);
    let strategy = posted();
    let mut tally = Tally::default();
    for _ in 0..LINES / THREADS {
        let there = strategy.new_tree(&mut runner).unwrap().current();
        let posted: TicketLine = serde_json::from_value(there.line()).unwrap();
        let line = Line::from(posted);
        let (name, offers) =
            match verdict(&DEMO.bars[there.site.as_str()], &line, &Moment::default()) {
                Verdict::Accept { .. } => ("accepted", None),
                Verdict::Ask { choices, .. } => ("asked", Some(choices)),
                Verdict::Refuse { alternatives, .. } => ("refused", Some(alternatives)),
            };
        *tally.verdicts.entry(name).or_default() += 1;
        if let Some(Ok(offers)) = offers {
            tally.offered += prove(&line, &offers, &there.site);
        }
    }
    tally
}

/// L19, over a hundred thousand lines.
#[test]
fn every_alternative_and_choice_of_a_hundred_thousand_lines_can_be_made() {
    let shares: Vec<Tally> = thread::scope(|scope| {
        let all: Vec<_> = (0..THREADS).map(|seed| scope.spawn(move || share(seed))).collect();
        all.into_iter().map(|one| one.join().unwrap()).collect()
    });
    let mut all = Tally::default();
    for one in shares {
        all.offered += one.offered;
        for (name, n) in one.verdicts {
            *all.verdicts.entry(name).or_default() += n;
        }
    }
    eprintln!("{LINES} lines: {:?}, {} ways out", all.verdicts, all.offered);
    assert_eq!(all.verdicts.values().sum::<usize>(), LINES);
    for name in ["accepted", "asked", "refused"] {
        let n = all.verdicts.get(name).copied().unwrap_or_default();
        assert!(n * 100 >= LINES, "only {n} of {LINES} lines are {name}");
    }
    assert!(all.offered * 4 > LINES, "only {} ways out", all.offered);
}

/// Every pair of modifiers on every drink at every site.
#[test]
fn every_pair_of_modifiers_on_every_drink_at_every_site_comes_to_a_verdict() {
    let mut all = Mix::default();
    for bar in DEMO.bars.values() {
        let ways = ways(bar);
        let pairs = ways.len() * (ways.len() - 1) / 2;
        for drink in bar.drink_ids() {
            let mix = mix_of(bar, drink, &ways);
            assert_eq!(mix.lines(), pairs, "{drink} at {}", bar.site.id);
            all.add(mix);
        }
    }
    eprintln!("{all:?}");
    let book = DEMO.book();
    let pairs = book.modifiers.len() * (book.modifiers.len() - 1) / 2;
    assert_eq!(all.lines(), pairs * book.drinks.len() * DEMO.bars.len());
    assert!(all.accepted * 20 > all.lines(), "{all:?}");
    assert!(all.asked * 200 > all.lines(), "{all:?}");
    assert!(all.codes.len() >= 20, "{all:?}");
}

/// The demo covers the bar: so many drinks, each to drink here and to take away, with worked examples.
#[test]
fn the_demo_covers_the_bar() {
    let book = DEMO.book();
    assert!(book.drinks.len() >= 44, "{} drinks", book.drinks.len());
    assert!(book.modifiers.len() >= 40, "{} modifiers", book.modifiers.len());
    assert!(book.regions.len() >= 2 && book.languages.len() >= 2);
    for drink in &book.drinks {
        let examples = book.examples.iter().filter(|one| one.line.drink == *drink.id).count();
        assert!(examples >= 2, "{} has {examples} worked examples", drink.id);
        let cups: Vec<&str> = drink
            .cups
            .iter()
            .filter(|(_, sizes)| !sizes.is_empty())
            .map(|(service, _)| service.as_str())
            .collect();
        assert!(cups.contains(&"here") && cups.contains(&"takeaway"), "{}: {cups:?}", drink.id);
        assert_eq!(drink.names.0.len(), book.languages.len(), "{}", drink.id);
        let bounded = drink.envelope.fill_ml.is_some();
        assert!(bounded, "{} has no bounds of its fill", drink.id);
        assert!(!drink.neighbours.is_empty() || drink.envelope.safety, "{}", drink.id);
    }
    let seasons = book.drinks.iter().filter(|drink| drink.season.is_some()).count();
    assert!(seasons >= 3, "{seasons} seasonal drinks");
}
