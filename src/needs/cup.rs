//! What one cup takes from the store: the build, read as amounts of ingredients.

use crate::{
    book::{Bar, Id, Ingredient, IngredientKind, Service, Vessel},
    engine::{
        Build,
        order::{CoffeeOrder, Draw},
        solve::{Baskets, Milk, PortionOf, Solved, mass_of},
    },
    units::{Density, Displacement, Mass, Volume},
};

/// So much of one ingredient.
#[derive(Clone, Copy, Debug)]
pub struct Taken<'b> {
    /// The ingredient.
    pub ingredient: &'b Ingredient,
    /// What the build has of it; the film in the jug is counted in.
    pub in_cup: Mass,
    /// The same by volume; nothing for what is not poured.
    pub in_cup_ml: Volume,
    /// What else is taken for the cup and thrown away: milk that the jug needs beyond the cup, and
    /// water that ground coffee keeps.
    pub beside: Mass,
    /// The same by volume.
    pub beside_ml: Volume,
}

/// Halves of one bean at one pull in one cup.
#[derive(Clone, Copy, Debug)]
pub struct Drawn<'b> {
    /// Extraction style, by id.
    pub extraction: &'b Id,
    /// Pull, by id.
    pub pull: &'b Id,
    /// What is ground.
    pub draw: Draw<'b>,
    /// How it is pulled when the cup is made by itself.
    pub baskets: Baskets,
}

/// Milk of one cup, steamed by itself.
#[derive(Clone, Copy, Debug)]
pub struct MilkUse<'b> {
    /// The milk.
    pub ingredient: &'b Ingredient,
    /// Whether it is steamed in a jug.
    pub steamed: bool,
    /// Cold milk for the cup, film included.
    pub cold: Volume,
    /// Of it, what stays in the jug as a film.
    pub film: Mass,
    /// What the jug needs beyond the cup.
    pub left_over: Volume,
}

/// Everything that one cup takes.
#[derive(Clone, Debug)]
pub struct CupUse<'b> {
    /// Coffee, bean by bean.
    pub draws: Vec<Drawn<'b>>,
    /// Milk.
    pub milk: Option<MilkUse<'b>>,
    /// Every ingredient but the coffee of `draws`, the milk too.
    pub taken: Vec<Taken<'b>>,
    /// The cup as it stands at the site.
    pub vessel: &'b Vessel,
    /// Way of serving.
    pub service: Service,
    /// Whether a lid goes on it.
    pub lid: bool,
}

/// What the build takes from the store.
///
/// ```
/// use cupwright::{demo, engine::{Line, Moment, build_line}, in_force::InForce, needs::use_of};
///
/// let held = InForce::load(&demo::book(), &demo::sites()).expect("the demo");
/// let bar = held.training_bar().expect("its bar");
/// let line = Line { drink: "latte".to_owned(), quantity: 1, ..Line::default() };
/// let build = build_line(bar, &line, &Moment::default()).expect("a latte");
/// let used = use_of(bar, &build);
/// assert_eq!(used.draws.len(), 1);
/// assert!(used.milk.is_some_and(|milk| milk.film == bar.site.film_g));
/// ```
pub fn use_of<'b>(bar: &'b Bar, build: &Build<'b>) -> CupUse<'b> {
    let (order, solved) = (&build.order, &build.solved);
    let milk = solved.milk.as_ref().map(|milk| milk_use(bar, milk));
    let mut taken = portions(bar, solved);
    taken.extend(milk.as_ref().map(|one| Taken {
        ingredient: one.ingredient,
        in_cup: weighed(one.ingredient, one.cold),
        in_cup_ml: one.cold,
        beside: weighed(one.ingredient, one.left_over),
        beside_ml: one.left_over,
    }));
    CupUse {
        draws: order.coffee.iter().flat_map(drawn).collect(),
        milk,
        taken,
        vessel: order.vessel.vessel,
        service: order.service,
        lid: order.takes_lid(bar),
    }
}

fn drawn<'a, 'b>(coffee: &'a CoffeeOrder<'b>) -> impl Iterator<Item = Drawn<'b>> + use<'a, 'b> {
    coffee.draws().map(|draw| Drawn {
        extraction: &coffee.extraction.id,
        pull: coffee.pull,
        baskets: Baskets::of(&draw),
        draw,
    })
}

fn milk_use<'b>(bar: &Bar, milk: &Milk<'b>) -> MilkUse<'b> {
    match milk {
        Milk::Steamed(milk) => MilkUse {
            ingredient: milk.ingredient,
            steamed: true,
            cold: milk.cold,
            film: bar.site.film_g,
            left_over: milk.left_over,
        },
        Milk::Cold(milk) => MilkUse {
            ingredient: milk.ingredient,
            steamed: false,
            cold: milk.volume,
            film: Mass::ZERO,
            left_over: Volume::ZERO,
        },
    }
}

/// A volume as it is weighed cold.
pub(super) fn weighed(ingredient: &Ingredient, volume: Volume) -> Mass {
    let water = Density::from_kg_m3(1_000.0);
    mass_of(volume, ingredient.density_kg_m3.unwrap_or(water))
}

/// Whether the ingredient is poured, so that its volume says something.
pub(super) fn is_poured(ingredient: &Ingredient) -> bool {
    let strained = matches!(ingredient.kind, IngredientKind::Leaf | IngredientKind::Coffee);
    ingredient.density_kg_m3.is_some() && !strained && ingredient.kind != IngredientKind::Ice
}

fn portions<'b>(bar: &'b Bar, solved: &Solved<'b>) -> Vec<Taken<'b>> {
    let mut all = Vec::with_capacity(solved.portions.len() + 1);
    for one in &solved.portions {
        let volume = if is_poured(one.ingredient) { one.volume } else { Volume::ZERO };
        all.push(Taken {
            ingredient: one.ingredient,
            in_cup: one.mass,
            in_cup_ml: volume,
            beside: Mass::ZERO,
            beside_ml: Volume::ZERO,
        });
        let PortionOf::Grounds(brew) = one.of else { continue };
        // What the grounds keep was poured too, and is in no cup.
        let keeps = one.ingredient.keeps_ml_g.map_or(0, Displacement::ul_g);
        let kept = Volume::from_ul(one.mass.scaled(keeps, 1_000).mg());
        let water = solved.portions.iter().find(|two| two.of == PortionOf::Brew(brew));
        all.extend(water.and_then(|water| bar.ingredient(&water.ingredient.id)).map(|water| {
            Taken {
                ingredient: water,
                in_cup: Mass::ZERO,
                in_cup_ml: Volume::ZERO,
                beside: weighed(water, kept),
                beside_ml: kept,
            }
        }));
    }
    all
}
