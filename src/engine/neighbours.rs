//! Alternatives and choices: the nearest lines that can be made, each proved by building it.

use std::collections::{BTreeSet, VecDeque};

use super::{
    build_line::{Build, build_line},
    line::{Given, Line, Moment, What},
    objection::{Code, Fix, Manner, Objection},
    order::price_of,
};
use crate::{
    book::{Bar, Cup, Modifier, Phase, Service},
    units::{Mass, Money},
};

/// Most alternatives that an answer offers.
const MOST: usize = 3;
/// Most changes of a line that are tried together.
const DEPTH: usize = 3;
/// Most lines that are built in the search for one answer.
const BUILDS: usize = 96;

/// A line that can be made, beside one that was not.
#[derive(Debug)]
pub struct Alternative<'b> {
    /// The complete line, in normal form.
    pub line: Line,
    /// What was changed: `drink`, or modifiers by id.
    pub changes: Vec<String>,
    /// Its build.
    pub build: Build<'b>,
    /// Against what was asked, where that much of it can be made.
    pub against: Option<Against>,
    /// Whether it needs the customer's word, which its line now carries.
    pub confirmed: bool,
}

/// How an alternative differs from what was asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Against {
    /// Whether it comes in the same vessel.
    pub same_cup: bool,
    /// Halves more, or fewer if negative.
    pub halves: i32,
    /// Price more, or less if negative.
    pub price: Money,
    /// Caffeine more, or less if negative, to the nearest ten milligrams; nothing where one of the two
    /// is not known.
    pub caffeine: Mass,
}

/// Why there is no alternative.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoneBecause {
    /// It is a matter of safety.
    Safety,
    /// Nothing like it can be made here.
    NothingSimilarHere,
    /// The book does not know what was asked for.
    UnknownId,
}

impl NoneBecause {
    /// As answers write it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Safety => "safety",
            Self::NothingSimilarHere => "nothing-similar-here",
            Self::UnknownId => "unknown-id",
        }
    }
}

/// At most three lines that can be made, ordered by fewest changes, price change, book order.
pub fn alternatives<'b>(
    bar: &'b Bar,
    line: &Line,
    moment: &Moment,
    objections: &[Objection],
) -> Result<Vec<Alternative<'b>>, NoneBecause> {
    // Ways out must not depend on the order in which the wishes were listed either.
    let mut sorted = in_book_order(bar, line);
    // What is offered must not lean on an override.
    sorted.override_reason = None;
    let of_sorted = build_line(bar, &sorted, moment).err();
    let (line, objections) = (&sorted, of_sorted.as_deref().unwrap_or(objections));
    let baseline = baseline(bar, line, moment, objections);
    let search =
        |withdraw| Search { bar, line, moment, withdraw, found: Vec::new() }.run(objections);
    let mut found = search(false);
    if found.is_empty() {
        found = search(true);
    }
    if found.is_empty() {
        found = plain(bar, line, moment);
    }
    for one in &mut found {
        one.against = baseline.as_ref().map(|before| before.against(bar, &one.build));
    }
    let rank = |one: &Alternative<'b>| {
        let price = one.against.map_or(Money::ZERO, |against| against.price);
        let position = bar.drink_position(&one.line.drink).unwrap_or(usize::MAX);
        // Another form of the drink is a greater change than another cup.
        let form = one.changes.iter().any(|id| is_form(bar, id));
        (one.changes.len() + usize::from(form), price, position)
    };
    // Stable, so that ways out keep the order in which the rules name them.
    found.sort_by_key(rank);
    found.truncate(MOST);
    if found.is_empty() {
        let unknown = |one: &Objection| {
            matches!(
                one.code,
                Code::UnknownDrink | Code::UnknownModifier | Code::UnknownValue | Code::UnknownDiet
            )
        };
        let why = if objections.iter().any(|one| one.safety) {
            NoneBecause::Safety
        } else if objections.iter().any(unknown) {
            NoneBecause::UnknownId
        } else {
            NoneBecause::NothingSimilarHere
        };
        return Err(why);
    }
    Ok(found)
}

fn is_form(bar: &Bar, id: &str) -> bool {
    bar.modifier(id).is_some_and(|(_, modifier)| modifier.phase() == Phase::Form)
}

/// `line` with its modifiers in the order of the book, and those of one slot by their values.
fn in_book_order(bar: &Bar, line: &Line) -> Line {
    let mut sorted = line.clone();
    sorted.modifiers.sort_by_cached_key(|one| {
        let position = bar.modifier(&one.id).map_or(usize::MAX, |(position, _)| position);
        (position, one.id.clone(), format!("{:?}", one.what))
    });
    sorted
}

/// The last way out: the drink as the book has it, in the cup asked for or else in its usual one.
fn plain<'b>(bar: &'b Bar, line: &Line, moment: &Moment) -> Vec<Alternative<'b>> {
    let in_cup = line.modifiers.iter().filter(|one| one.is_of_cup()).cloned().collect();
    let mut search = Search { bar, line, moment, withdraw: true, found: Vec::new() };
    for modifiers in [in_cup, Vec::new()] {
        let reduced = Line { modifiers, ..line.clone() };
        if let Ok(build) = build_line(bar, &reduced, moment) {
            search.offer(&reduced, build);
            break;
        }
    }
    search.found
}

/// What was asked, as far as it can be made, with the price of all of it.
struct Baseline<'b> {
    build: Build<'b>,
    price: Money,
    /// Whether it comes in the cup that was asked for.
    as_asked: bool,
}

/// The line without the modifiers at fault, or else its cup alone, or the plain drink; what was
/// left out still counts in the price, so that an alternative is compared with what was asked.
fn baseline<'b>(
    bar: &'b Bar,
    line: &Line,
    moment: &Moment,
    objections: &[Objection],
) -> Option<Baseline<'b>> {
    let at_fault =
        |one: &&Given| objections.iter().any(|objection| objection.modifiers.contains(&one.id));
    // What has nothing to act on would never have been charged.
    let idle = |one: &Given| {
        objections.iter().any(|objection| {
            let nothing = matches!(objection.code, Code::NotApplicable | Code::NothingToReplace);
            nothing && objection.modifiers.contains(&one.id)
        })
    };
    let with = |keep: &dyn Fn(&&Given) -> bool| Line {
        diets: Vec::new(),
        allergies: Vec::new(),
        note: None,
        modifiers: line.modifiers.iter().filter(keep).cloned().collect(),
        ..line.clone()
    };
    let tries = [
        with(&|one| one.is_of_cup() || !at_fault(one)),
        with(&|one| !at_fault(one)),
        with(&|one| one.is_of_cup()),
        with(&|_| false),
    ];
    tries.iter().find_map(|reduced| {
        let build = build_line(bar, reduced, moment).ok()?;
        let left_out = line.modifiers.iter().enumerate().filter(|(at, one)| {
            // Of two values for one slot only the first counts; it cannot have both.
            let slot = matches!(one.what, What::Value(_) | What::Number(_));
            let again = slot && line.modifiers[..*at].iter().any(|before| before.id == one.id);
            !again && !idle(one) && !reduced.modifiers.contains(one)
        });
        let extra: Money = left_out.map(|(_, one)| asked_price(bar, one, build.order.cup)).sum();
        let mut of_cup = line.modifiers.iter().filter(|one| one.is_of_cup());
        let as_asked = of_cup.all(|one| reduced.modifiers.contains(one));
        Some(Baseline { price: build.order.price + extra, build, as_asked })
    })
}

/// What a modifier as given adds to the price; nothing if the book does not know it.
fn asked_price(bar: &Bar, given: &Given, in_cup: &Cup) -> Money {
    match (bar.modifier(&given.id), &given.what) {
        (Some((_, Modifier::Slot(slot))), What::Value(id)) => {
            let value = slot.values.iter().find(|value| value.id == id.as_str());
            value.map_or(Money::ZERO, |value| price_of(bar, slot, value, in_cup))
        }
        (Some((_, Modifier::Counter(counter))), What::Count(n)) => {
            counter.price_delta_each.times((*n).into())
        }
        (Some((_, Modifier::Flag(flag))), What::Flag) => flag.price_delta,
        _ => Money::ZERO,
    }
}

impl Baseline<'_> {
    fn against(&self, bar: &Bar, after: &Build<'_>) -> Against {
        let typical = |build: &Build<'_>| build.caffeine(bar).map(|caffeine| caffeine.typical);
        let caffeine =
            typical(after).zip(typical(&self.build)).map(|(after, before)| after - before);
        let halves = |build: &Build<'_>| build.solved.coffee.map_or(0, |coffee| coffee.halves);
        Against {
            same_cup: self.as_asked
                && self.build.order.vessel.vessel.id == after.order.vessel.vessel.id,
            halves: halves(after) - halves(&self.build),
            price: after.order.price - self.price,
            caffeine: caffeine.unwrap_or_default().to_nearest(Mass::from_mg(10)),
        }
    }
}

/// A breadth-first search over ways out: one change before two.
struct Search<'a, 'b> {
    bar: &'b Bar,
    line: &'a Line,
    moment: &'a Moment,
    /// Whether wishes may be taken back.
    withdraw: bool,
    found: Vec<Alternative<'b>>,
}

impl<'b> Search<'_, 'b> {
    fn run(mut self, objections: &[Objection]) -> Vec<Alternative<'b>> {
        if changes_needed(objections) > DEPTH {
            return self.found;
        }
        let mut seen: Vec<Line> = vec![self.line.clone()];
        let mut open: VecDeque<(usize, Line)> =
            self.ways(self.line, objections).into_iter().map(|line| (1, line)).collect();
        let mut deepest = DEPTH;
        while let Some((depth, line)) = open.pop_front() {
            if depth > deepest || seen.len() > BUILDS {
                break;
            }
            if seen.contains(&line) {
                continue;
            }
            seen.push(line.clone());
            match build_line(self.bar, &line, self.moment) {
                Ok(build) => {
                    self.offer(&line, build);
                    if self.found.len() >= MOST {
                        // Deeper lines change more, so they would rank behind these.
                        deepest = depth;
                    }
                }
                Err(objections) if depth + changes_needed(&objections) <= DEPTH => {
                    let ways = self.ways(&line, &objections);
                    open.extend(ways.into_iter().map(|line| (depth + 1, line)));
                }
                Err(_) => {}
            }
        }
        self.found
    }

    fn offer(&mut self, line: &Line, build: Build<'b>) {
        let canonical = build.canonical(line);
        if self.found.iter().any(|one| one.line == canonical) {
            return;
        }
        let changes = changed(self.line, line);
        let confirmed = line.confirmed.len() > self.line.confirmed.len();
        self.found.push(Alternative { line: canonical, changes, build, against: None, confirmed });
    }

    /// Every line that is one way out away from `line`.
    fn ways(&self, line: &Line, objections: &[Objection]) -> Vec<Line> {
        // While a line is refused, what would only be asked is not yet worth a way out.
        let refused = objections.iter().any(|one| one.manner == Manner::Refuse);
        let weighty = objections.iter().filter(|one| !refused || one.manner == Manner::Refuse);
        let mut all = Vec::new();
        for objection in weighty {
            let drink = self.bar.drink(&line.drink);
            let neighbour = objection
                .toward
                .as_deref()
                .zip(drink)
                .and_then(|(key, drink)| drink.neighbours.get(key).cloned().map(Fix::Drink));
            // On another drink a wish may have nothing left to act on; then it goes without saying.
            let other_drink = line.drink != self.line.drink;
            let may_withdraw = self.withdraw || other_drink;
            let open = |fix: &&Fix| may_withdraw || !matches!(fix, Fix::Withdraw(_));
            let fixes = neighbour.iter().chain(&objection.fixes).filter(open);
            all.extend(fixes.filter_map(|fix| applied(self.bar, line, fix)));
        }
        all
    }
}

/// Changes without which no way leads out, at least 1: one for each modifier that cannot even be
/// read, since no other drink, cup or modifier makes it readable.
fn changes_needed(objections: &[Objection]) -> usize {
    let unreadable = objections.iter().filter(|one| {
        matches!(
            one.code,
            Code::UnknownModifier
                | Code::UnknownValue
                | Code::WrongForm
                | Code::TwoValues
                | Code::ValueOutOfRange
        )
    });
    let ids: BTreeSet<&String> = unreadable.flat_map(|one| &one.modifiers).collect();
    ids.len().max(1)
}

/// `line` with one way out taken; `None` if that changes nothing.
fn applied(bar: &Bar, line: &Line, fix: &Fix) -> Option<Line> {
    let mut new = line.clone();
    let set = |new: &mut Line, id: &str, what: What| {
        let at = new.modifiers.iter().position(|one| one.id == id).unwrap_or(new.modifiers.len());
        new.modifiers.retain(|one| one.id != id);
        let at = at.min(new.modifiers.len());
        new.modifiers.insert(at, Given { id: id.to_owned(), what });
    };
    match fix {
        Fix::Drink(id) => id.to_string().clone_into(&mut new.drink),
        Fix::Drop(id) | Fix::Withdraw(id) | Fix::Count(id, 0) => {
            new.modifiers.retain(|one| *id != one.id.as_str());
            without_capacity(&mut new);
        }
        Fix::Set(id, value) => {
            set(&mut new, id, What::Value(value.to_string()));
            without_capacity(&mut new);
        }
        Fix::SetNumber(id, n) => set(&mut new, id, What::Number(*n)),
        Fix::Count(id, n) => set(&mut new, id, What::Count(*n)),
        Fix::Instead { of, by } => {
            let flag = matches!(bar.modifier(by), Some((_, Modifier::Flag(_))));
            for one in new.modifiers.iter_mut().filter(|one| *of == one.id.as_str()) {
                by.to_string().clone_into(&mut one.id);
                if flag {
                    one.what = What::Flag;
                }
            }
        }
        Fix::Confirm(id) => {
            if !new.confirmed.iter().any(|one| *id == one.as_str()) {
                new.confirmed.push(id.to_string());
            }
        }
        Fix::Allergy(id) => declare(&mut new.allergies, id),
        Fix::Diet(id) => declare(&mut new.diets, id),
        Fix::Note(note) => new.note.clone_from(note),
        Fix::Add(id, count) => {
            let what = count.map_or(What::Flag, What::Count);
            let given = Given { id: id.to_string(), what };
            // A flag counts once; counts are summed.
            if count.is_some() || !new.modifiers.contains(&given) {
                new.modifiers.push(given);
            }
        }
        Fix::All(fixes) => {
            for fix in fixes {
                new = applied(bar, &new, fix).unwrap_or(new);
            }
        }
    }
    (new != *line).then_some(new)
}

/// Declares something once.
fn declare(list: &mut Vec<String>, id: &str) {
    if !list.iter().any(|one| one == id) {
        list.push(id.to_owned());
    }
}

/// Takes the capacity of an own cup out of a line that has no own cup any more.
fn without_capacity(line: &mut Line) {
    let own = Service::Own.as_str();
    let is_own = |one: &Given| one.id == "service" && one.what == What::Value(own.to_owned());
    if !line.modifiers.iter().any(is_own) {
        line.modifiers.retain(|one| one.id != "capacity");
    }
}

/// What differs between two lines: `drink`, modifiers by id, and other fields, each once.
fn changed(before: &Line, after: &Line) -> Vec<String> {
    // What a line asks of one modifier: distinct values, and the sum of its counts.
    let asked = |line: &Line, id: &str| {
        let (mut values, mut sum) = (Vec::new(), 0_i32);
        for one in line.modifiers.iter().filter(|one| one.id == id) {
            if let What::Count(n) = &one.what {
                sum = sum.saturating_add(*n);
            } else if !values.contains(&one.what) {
                values.push(one.what.clone());
            }
        }
        (values, sum)
    };
    let mut changes = Vec::new();
    if before.drink != after.drink {
        changes.push("drink".to_owned());
    }
    for one in before.modifiers.iter().chain(&after.modifiers) {
        if !changes.contains(&one.id) && asked(before, &one.id) != asked(after, &one.id) {
            changes.push(one.id.clone());
        }
    }
    let fields = [
        ("allergies", before.allergies != after.allergies),
        ("diets", before.diets != after.diets),
        ("confirmed", before.confirmed != after.confirmed),
        ("note", before.note != after.note),
    ];
    changes.extend(
        fields.into_iter().filter(|(_, differs)| *differs).map(|(name, _)| name.to_owned()),
    );
    changes
}
