//! Coffee: doses, yields, baskets, ratios.

use super::{
    Scene,
    figure::{Factor, Figure, amount, asked, book, figure, number},
};
use crate::{
    book::ExtractionRow,
    engine::{
        order::{CoffeeOrder, Draw},
        solve::{Baskets, Milk},
    },
};

/// The path of a recipe's row.
pub(super) fn row(how: &CoffeeOrder<'_>, row: &ExtractionRow) -> String {
    format!("/extractions/{}/rows/{}/{}/{}", how.extraction.id, row.bean, row.pull, row.halves)
}

/// The baskets of a draw: how many of which row give its halves.
pub(super) fn shares<'b>(draw: &Draw<'b>) -> Vec<(&'b ExtractionRow, f64)> {
    let halves = f64::from(draw.halves);
    match draw.single {
        Some(single) => {
            let whole = f64::from(draw.halves / 2);
            let doubles = (draw.halves > 1).then_some((draw.double, whole));
            doubles.into_iter().chain([(single, 1.0)]).collect()
        }
        None => vec![(draw.double, halves / 2.0)],
    }
}

/// A field of each row, by its baskets.
fn of_rows(
    at: String,
    how: &CoffeeOrder<'_>,
    draws: &[Draw<'_>],
    field: &str,
    value: fn(&ExtractionRow) -> f64,
) -> Figure {
    let mut sum = Figure::new(at, "g", 0.1).by("baskets × the recipe of each");
    for (one, share) in draws.iter().flat_map(shares) {
        let path = format!("{}/{field}", row(how, one));
        sum = sum.plus([number("baskets", share), book(path, value(one), "g")]);
    }
    sum
}

fn count(at: String, what: &str, n: i32) -> Figure {
    Figure::new(at, "", 0.0).plus([number(what, f64::from(n))]).by("a count")
}

fn counts(at: &str, halves: (i32, &Factor), baskets: &Baskets, all: &mut Vec<Figure>) {
    let Baskets { doubles, singles, .. } = *baskets;
    let own = halves.1.clone();
    let law = "halves of the cup table, and what the line asks for";
    all.push(Figure::new(format!("{at}/halves"), "", 0.0).plus([own]).by(law));
    all.push(count(format!("{at}/doubles"), "double baskets for them", doubles));
    all.push(count(format!("{at}/singles"), "single baskets for them", singles));
    let spare = Figure::new(format!("{at}/spare_halves"), "", 0.0)
        .plus([
            number("halves of a double", 2.0),
            figure(&format!("{at}/doubles"), f64::from(doubles), ""),
        ])
        .plus([figure(&format!("{at}/singles"), f64::from(singles), "")])
        .less([figure(&format!("{at}/halves"), f64::from(halves.0), "")]);
    all.push(spare.by("halves pulled less halves in the cup"));
}

pub(super) fn figures(scene: Scene<'_, '_>, all: &mut Vec<Figure>) {
    let Scene { build, .. } = scene;
    let Some((coffee, how)) = build.solved.coffee.zip(build.order.coffee.as_ref()) else { return };
    let draws: Vec<Draw<'_>> = how.draws().collect();
    for (n, draw) in draws.iter().enumerate() {
        let at = format!("/coffee/draws/{n}");
        let own = number("halves of this bean", f64::from(draw.halves));
        counts(&at, (draw.halves, &own), &Baskets::of(draw), all);
        let one = std::slice::from_ref(draw);
        all.push(of_rows(format!("{at}/dose_g"), how, one, "dose_g", |row| row.dose_g.g()));
        all.push(of_rows(format!("{at}/yield_g"), how, one, "yield_g", |row| row.yield_g.g()));
    }
    let of_cup = f64::from(build.order.cup.halves);
    let halves = if coffee.halves == i32::from(build.order.cup.halves) {
        book(format!("{}/halves", scene.row()), of_cup, "")
    } else {
        asked("count", f64::from(coffee.halves), "")
    };
    let baskets = Baskets {
        doubles: coffee.doubles,
        singles: coffee.singles,
        spare_halves: coffee.spare_halves,
        dose: coffee.dose,
        pulled: coffee.pulled,
        time: coffee.time,
    };
    counts("/coffee", (coffee.halves, &halves), &baskets, all);
    all.push(of_rows("/coffee/dose_g".to_owned(), how, &draws, "dose_g", |row| row.dose_g.g()));
    all.push(of_rows("/coffee/yield_g".to_owned(), how, &draws, "yield_g", |row| row.yield_g.g()));
    let pulled = || figure("/coffee/yield_g", coffee.pulled.g(), "g");
    let share = how.share.share();
    let share_of = |share: f64| match scene.by(|effect| effect.coffee_share.is_some()) {
        Some(id) => asked(id, share, ""),
        None => number("all of it", share),
    };
    all.push(Figure::new("/coffee/in_cup_g", "g", 0.1).plus([pulled(), share_of(share)]));
    let in_cup = figure("/coffee/in_cup_g", coffee.in_cup.g(), "g");
    all.push(Figure::new("/coffee/left_over_g", "g", 0.1).plus([pulled()]).less([in_cup.clone()]));
    let dose = figure("/coffee/dose_g", coffee.dose.g(), "g");
    let ratio = Figure::new("/coffee/ratio", "", 0.001).plus([pulled(), dose.under()]);
    all.push(ratio.by("yield ÷ dose"));
    if build.milk_ratio().is_some() {
        let milk = build.solved.milk.as_ref().map_or(0.0, |milk| match milk {
            Milk::Steamed(milk) => milk.in_cup.g(),
            Milk::Cold(milk) => milk.mass.g(),
        });
        let milk = amount("milk in the cup, condensate included", milk, "g");
        let ratio = Figure::new("/milk_ratio", "", 0.1).plus([milk, in_cup.under()]);
        all.push(ratio.by("liquid milk in the cup ÷ coffee in the cup"));
    }
    let windows = || draws.iter().flat_map(shares).map(|(one, _)| one);
    for (end, value) in [("min", coffee.time.min), ("max", coffee.time.max)] {
        let of = |one: &ExtractionRow| if end == "min" { one.time_s.min } else { one.time_s.max };
        let Some(from) = windows().find(|one| of(one) == value) else { continue };
        let path = format!("{}/time_s/{end}", row(how, from));
        let window = Figure::new(format!("/coffee/time_s/{end}"), "s", 0.0);
        all.push(window.plus([book(path, value.s(), "s")]).by("the widest window of the recipes"));
    }
}
