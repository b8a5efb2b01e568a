//! The numbers of the work with their tolerances, row by row.

use super::{
    content::{Say, places},
    section::portions,
};
use crate::{
    book::{Bar, BrewPart, ExtractionRow, IngredientKind, Part, SteepPart},
    engine::{
        Build,
        order::{CoffeeOrder, Draw},
        phrase::{Gap, Phrase},
        solve::{Baskets, ColdMilk, Milk, PortionOf, SteamedMilk},
    },
    label::card::{Figure, Row},
    units::{Temperature, Volume},
};

/// The rows of a build, in the order of the work.
pub(super) fn figures(bar: &Bar, build: &Build<'_>, say: &Say<'_>) -> Vec<Row> {
    let (order, solved) = (&build.order, &build.solved);
    let mut rows = Vec::new();
    for part in order.parts() {
        match part {
            Part::Steep(steep) => rows.push(leaf(build, steep, say)),
            Part::Brew(brew) => rows.push(brewed(build, brew, say)),
            Part::Water(_) => rows.extend(water(build, part.id(), say)),
            Part::Coffee(_)
            | Part::Milk(_)
            | Part::Ice(_)
            | Part::Ingredient(_)
            | Part::Paste(_) => {}
        }
    }
    for draw in order.coffee.iter().flat_map(CoffeeOrder::draws) {
        rows.extend(coffee(&draw, say));
    }
    rows.extend(solved.milk.as_ref().map(|milk| match milk {
        Milk::Steamed(milk) => steamed(milk, bar.site.pour_mark_ml, say),
        Milk::Cold(milk) => cold(milk, say),
    }));
    rows.push(cup(build, say));
    rows
}

fn figure(value: String, name: String) -> Figure {
    Figure { value, name }
}

/// The baskets of one bean: each that is pulled for this cup has its own recipe.
fn coffee(draw: &Draw<'_>, say: &Say<'_>) -> Vec<Row> {
    let Baskets { doubles, singles, spare_halves, pulled, .. } = Baskets::of(draw);
    let bean = ("bean", Gap::Name(&draw.bean.names));
    let mut rows = Vec::new();
    if doubles > 0 {
        let n = ("n", Gap::Number(i64::from(doubles) * 1_000, 0));
        let phrase = if doubles == 1 { Phrase::CardDouble } else { Phrase::CardDoubles };
        let mut row = basket(say.told(phrase, &[n, bean]), draw.double, say);
        if spare_halves > 0 {
            let value = say.number(Phrase::CardGrams, pulled.mg());
            row.figures.push(figure(value, say.plain(Phrase::CardOfIt)));
        }
        rows.push(row);
    }
    if let Some(single) = draw.single.filter(|_| singles > 0) {
        rows.push(basket(say.told(Phrase::CardSingle, &[bean]), single, say));
    }
    rows
}

fn basket(name: String, recipe: &ExtractionRow, say: &Say<'_>) -> Row {
    let by = |tolerance: i64| [("by", Gap::Number(tolerance, 1))];
    let window = [
        ("min", Gap::Number(recipe.time_s.min.ms(), 0)),
        ("max", Gap::Number(recipe.time_s.max.ms(), 0)),
    ];
    let figures = vec![
        figure(
            say.number(Phrase::CardGrams, recipe.dose_g.mg()),
            say.told(Phrase::CardDose, &by(recipe.dose_tolerance_g.mg())),
        ),
        figure(
            say.number(Phrase::CardGrams, recipe.yield_g.mg()),
            say.told(Phrase::CardYield, &by(recipe.yield_tolerance_g.mg())),
        ),
        figure(say.told(Phrase::CardWindow, &window), say.plain(Phrase::CardTime)),
    ];
    Row { name, figures }
}

fn steamed(milk: &SteamedMilk<'_>, mark: Volume, say: &Say<'_>) -> Row {
    let jug =
        [("milk", Gap::Name(&milk.ingredient.names)), ("jug", Gap::Name(&milk.jug.jug.names))];
    let mut figures = vec![
        figure(say.ml(milk.pour), say.plain(Phrase::CardColdMark)),
        figure(say.ml(milk.stands_at(mark)), say.plain(Phrase::CardStands)),
        figure(
            say.number(Phrase::CardDegrees, milk.set_point.mc()),
            say.plain(Phrase::CardSetPoint),
        ),
    ];
    if milk.foam_depth.um() > 0 {
        let depth = [("n", Gap::Number(milk.foam_depth.um(), 0))];
        figures
            .push(figure(say.told(Phrase::CardMillimetres, &depth), say.plain(Phrase::CardDepth)));
    }
    Row { name: say.told(Phrase::CardJug, &jug), figures }
}

fn cold(milk: &ColdMilk<'_>, say: &Say<'_>) -> Row {
    let name = milk.ingredient.names.in_lang(&say.catalogue.lang).to_owned();
    Row { name, figures: vec![figure(say.ml(milk.pour), say.plain(Phrase::CardCold))] }
}

fn water(build: &Build<'_>, id: &str, say: &Say<'_>) -> Option<Row> {
    let of = |one: &PortionOf<'_>| matches!(one, PortionOf::Water(own) if ***own == *id);
    let one = build.solved.portions.iter().find(|one| of(&one.of))?;
    let name = one.ingredient.names.in_lang(&say.catalogue.lang).to_owned();
    let degrees = say.number(Phrase::CardDegrees, one.at.mc());
    let figures = vec![
        figure(say.ml(one.volume), say.plain(Phrase::CardWater)),
        figure(degrees, say.plain(Phrase::CardPoured)),
    ];
    Some(Row { name, figures })
}

fn leaf(build: &Build<'_>, steep: &SteepPart, say: &Say<'_>) -> Row {
    let (mut name, mut figures) = (String::new(), Vec::new());
    for one in portions(build, &steep.id) {
        if let PortionOf::Leaf(_) = one.of {
            one.ingredient.names.in_lang(&say.catalogue.lang).clone_into(&mut name);
            let grams = say.number(Phrase::CardGrams, one.mass.mg());
            figures.push(figure(grams, say.plain(Phrase::CardDry)));
        } else if let PortionOf::LeafWater(_) = one.of {
            let at = [("c", Gap::Number(one.at.mc(), 0))];
            figures.push(figure(say.ml(one.volume), say.told(Phrase::CardWaterAt, &at)));
        }
    }
    for stage in &steep.stages {
        let phrase = if stage.with_milk { Phrase::CardSteepMilk } else { Phrase::CardSteep };
        let seconds = say.number(Phrase::CardSeconds, stage.time.ms());
        figures.push(figure(seconds, say.plain(phrase)));
    }
    Row { name, figures }
}

fn brewed(build: &Build<'_>, brew: &BrewPart, say: &Say<'_>) -> Row {
    let (mut name, mut figures) = (String::new(), Vec::new());
    let for_itself = brew.batch_holds.is_none();
    for one in portions(build, &brew.id) {
        if let PortionOf::Grounds(_) = one.of {
            one.ingredient.names.in_lang(&say.catalogue.lang).clone_into(&mut name);
            if for_itself {
                let grams = say.number(Phrase::CardGrams, one.mass.mg());
                figures.push(figure(grams, say.plain(Phrase::CardDry)));
            }
        } else if let PortionOf::Brew(_) = one.of {
            figures.push(figure(say.ml(one.volume), say.plain(Phrase::CardBrewed)));
        }
    }
    if for_itself {
        let degrees = say.number(Phrase::CardDegrees, brew.water_c.mc());
        figures.push(figure(degrees, say.plain(Phrase::CardWater)));
        let seconds = say.number(Phrase::CardSeconds, brew.time.ms());
        figures.push(figure(seconds, say.plain(Phrase::CardBrew)));
    }
    Row { name, figures }
}

/// How full, and how hot it is served.
fn cup(build: &Build<'_>, say: &Say<'_>) -> Row {
    let solved = &build.solved;
    let mut figures = vec![figure(say.ml(solved.fill), say.plain(Phrase::CardFill))];
    if !is_frozen_in(build) {
        let served = solved.serve.to_nearest(Temperature::from_mc(1_000));
        let degrees = say.number(Phrase::CardDegrees, served.mc());
        figures.push(figure(degrees, say.plain(Phrase::CardServed)));
    }
    let ice = solved.portions.iter().filter(|one| matches!(one.of, PortionOf::Ice(_)));
    let ice: i64 = ice.map(|one| one.mass.mg()).sum();
    if ice > 0 {
        let grams = [("n", Gap::Number(ice, places(ice)))];
        let name = say.plain(Phrase::PartIce);
        figures.insert(0, figure(say.told(Phrase::CardGrams, &grams), name));
    }
    Row { name: say.plain(Phrase::CardCup), figures }
}

/// Whether something frozen goes in: what is worked out for such a cup is where it would end, and
/// nobody serves it there.
fn is_frozen_in(build: &Build<'_>) -> bool {
    let mut inside = build.solved.portions.iter().filter(|one| !one.is_beside());
    inside.any(|one| {
        let is_ice = matches!(one.of, PortionOf::Ice(_));
        is_ice || one.ingredient.kind == IngredientKind::Ice || one.at < Temperature::from_mc(0)
    })
}

/// What the drink allows when a guest asks for another, in one sentence; none where the book says
/// nothing of it.
pub(super) fn allowed(build: &Build<'_>, say: &Say<'_>) -> Option<String> {
    let (order, solved) = (&build.order, &build.solved);
    let envelope = &order.drink.envelope;
    let told = |phrase, min: i64, max: i64| {
        say.told(phrase, &[("min", Gap::Number(min, 0)), ("max", Gap::Number(max, 0))])
    };
    // More than the cup holds is not to be had in it.
    let brim = order.capacity.unwrap_or(order.vessel.vessel.brim_ml);
    let fill = envelope.fill_ml.filter(|range| range.min < range.max.min(brim));
    let mut all: Vec<String> = Vec::new();
    all.extend(
        fill.map(|range| told(Phrase::CardAllowsFill, range.min.ul(), range.max.min(brim).ul())),
    );
    if let Some(Milk::Steamed(_)) = &solved.milk {
        // The milk's own cap binds before the drink's bound.
        let cap = order.milk.as_ref().and_then(|milk| milk.steamed).map(|(how, _)| how.cap_c);
        let capped = |most: Temperature| cap.map_or(most, |cap| cap.min(most));
        all.extend(
            envelope
                .set_point_c
                .map(|range| told(Phrase::CardAllowsHeat, range.min.mc(), capped(range.max).mc())),
        );
        all.extend(
            envelope
                .foam_depth_mm
                .map(|range| told(Phrase::CardAllowsDepth, range.min.um(), range.max.um())),
        );
    }
    (!all.is_empty()).then(|| format!("{}: {}", say.plain(Phrase::CardAllows), all.join("; ")))
}
