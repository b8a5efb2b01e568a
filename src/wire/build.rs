//! A build as the contract shows it: amounts rounded to what a bar can measure.

use serde::Serialize;
use utoipa::ToSchema;

use super::{
    BUILD_SCHEMA,
    allergens::{AllergensView, allergens_view},
    cautions::{CautionView, caution_views},
    digest::{build_digest, build_id},
    figures::{CaffeineView, NutritionView, StrengthView, nutrition_view},
};
use crate::{
    book::{Bar, Part, Service, Stage},
    engine::{
        Build,
        derive::{Step, liquid, rule},
        order::{CoffeeOrder, Draw, Order},
        solve::{Baskets, Coffee, LayerOf, Listed, Milk, PortionOf, Solved, listed},
    },
    units::{Length, Mass, Quotient, Span, Temperature, Volume},
    words::{self, Catalogue},
};

/// The exact recipe of one cup.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct BuildView<'a> {
    /// `drink-build/` and the version of this schema.
    pub schema: &'static str,
    /// Name-based UUID of the digest.
    #[schema(format = "uuid")]
    pub build_id: String,
    /// SHA-256 over what the build was worked from.
    #[schema(pattern = "^sha256:[0-9a-f]{64}$")]
    pub digest: String,
    /// The drink, by id.
    pub drink: &'a str,
    /// Its name.
    pub name: &'a str,
    /// What is different from the book, in the order of a sticker.
    pub changes: Vec<String>,
    /// The cup.
    pub vessel: VesselView<'a>,
    /// Way of serving.
    pub service: Service,
    /// Size, by id.
    pub size: &'a str,
    /// Coffee; null without any.
    pub coffee: Option<CoffeeView<'a>>,
    /// Milk; null without any.
    pub milk: Option<MilkView<'a>>,
    /// Grams of liquid milk in the cup, condensate included, for each gram of coffee; null without
    /// both in the cup.
    pub milk_ratio: Option<Quotient>,
    /// Water of the water part.
    pub water: WaterView,
    /// Ice.
    pub ice: IceView,
    /// Everything that goes in, on or beside the cup, in pour order.
    pub parts: Vec<PartView<'a>>,
    /// What the fill consists of; sums to the fill within 1 mL.
    pub layers: Vec<LayerView<'a>>,
    /// The work, in order.
    pub steps: Vec<StepView>,
    /// As served.
    pub serve: ServeView,
    /// How strong the coffee is; null without coffee in the cup, or where the book does not say how
    /// much dissolves.
    pub strength: Option<StrengthView>,
    /// Caffeine; null where the book does not say what its coffee holds.
    pub caffeine: Option<CaffeineView>,
    /// What it feeds; null where the site's region has no rule.
    pub nutrition: Option<NutritionView<'a>>,
    /// Allergens.
    pub allergens: AllergensView<'a>,
    /// Cautions that concern this cup; local codes and licensed practice come first.
    pub cautions: Vec<CautionView<'a>>,
    /// What it was worked from.
    pub worked_from: WorkedFrom,
}

/// The cup of a build.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct VesselView<'a> {
    /// Vessel, by id.
    pub id: &'a str,
    /// Volume to the serving line of this build.
    pub fill_ml: Volume,
    /// Volume to the edge.
    pub brim_ml: Volume,
}

/// Halves of one bean.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct DrawView<'a> {
    /// Bean, by id.
    pub bean: &'a str,
    /// Halves of it in the cup.
    pub halves: i32,
    /// Dry coffee for those halves.
    pub dose_g: Mass,
    /// Coffee from those halves.
    pub yield_g: Mass,
    /// Double baskets pulled.
    pub doubles: i32,
    /// Single baskets pulled.
    pub singles: i32,
    /// Halves pulled that are not in this cup.
    pub spare_halves: i32,
}

/// The coffee of a build.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct CoffeeView<'a> {
    /// Bean, by id; it may be a mixture.
    pub bean: &'a str,
    /// What is ground for it, bean by bean: two where a mixture is not here as one.
    pub draws: Vec<DrawView<'a>>,
    /// Pull, by id.
    pub pull: &'a str,
    /// Halves in the cup.
    pub halves: i32,
    /// Dry coffee for those halves.
    pub dose_g: Mass,
    /// Coffee from those halves.
    pub yield_g: Mass,
    /// Of it, what goes into the cup.
    pub in_cup_g: Mass,
    /// Of it, what is left over.
    pub left_over_g: Mass,
    /// Yield over dose, in thousandths.
    #[schema(value_type = f64)]
    pub ratio: Thousandths,
    /// Time window of the pull.
    pub time_s: SecondsView,
    /// Double baskets pulled.
    pub doubles: i32,
    /// Single baskets pulled.
    pub singles: i32,
    /// Halves pulled that are not in this cup.
    pub spare_halves: i32,
}

/// A plain number with at most three decimal places.
#[derive(Clone, Copy, Debug)]
pub struct Thousandths(pub i64);

impl Serialize for Thousandths {
    fn serialize<S: serde::Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
        Mass::from_mg(self.0).serialize(out)
    }
}

/// A time window.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct SecondsView {
    /// Shortest.
    pub min: Span,
    /// Longest.
    pub max: Span,
}

/// The milk of a build.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct MilkView<'a> {
    /// Milk, by ingredient id.
    pub ingredient: &'a str,
    /// Cold milk that the cup needs.
    pub cold_ml: Volume,
    /// Mark to which it is poured.
    pub pour_ml: Volume,
    /// Milk that stays over.
    pub left_over_ml: Volume,
    /// Jug, by id; null for milk poured cold.
    pub jug: Option<&'a str>,
    /// Wand, by id; null for milk poured cold.
    pub wand: Option<&'a str>,
    /// Milk poured, gas included.
    pub textured_ml: Volume,
    /// Depth of foam at the serving line.
    pub foam_depth_mm: Length,
    /// Gas in it.
    pub gas_ml: Volume,
    /// Steam that condenses into it.
    pub condensate_g: Mass,
    /// Set-point; null for milk poured cold.
    pub set_point_c: Option<Temperature>,
    /// Time under steam.
    pub steam_s: Span,
}

/// The water of a build.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct WaterView {
    /// Volume; 0 without any.
    pub ml: Volume,
    /// Temperature as poured; null without any.
    pub temperature_c: Option<Temperature>,
    /// `first` if it goes in before the coffee, else `last`; null without any.
    pub when: Option<&'static str>,
}

/// The ice of a build.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct IceView {
    /// Mass; 0 without any.
    pub g: Mass,
    /// Of it, what has melted once the drink is made.
    pub melted_g: Mass,
}

/// One ingredient of a build.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct PartView<'a> {
    /// Ingredient, by id.
    pub ingredient: &'a str,
    /// Mass.
    pub g: Mass,
    /// Room in the cup, or beside it.
    pub ml: Volume,
    /// When and where it goes.
    pub stage: Stage,
}

/// One layer of the fill.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct LayerView<'a> {
    /// `coffee`, `milk`, `foam-gas`, `water`, `ice`, or the id of a part or modifier.
    pub part: &'a str,
    /// Volume.
    pub ml: Volume,
}

/// One step.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct StepView {
    /// Number, from 1.
    pub n: usize,
    /// `bench`, `group`, `wand`, `water`, `cold`, `steep`, `brew` or `pass`.
    pub station: &'static str,
    /// What to do.
    pub text: String,
    /// Timer; null without one.
    pub seconds: Option<Span>,
    /// Later steps that can run beside it.
    pub r#while: Vec<usize>,
}

/// The drink as served.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct ServeView {
    /// Temperature.
    pub temperature_c: Temperature,
    /// Of the fill, liquid: without the gas of foam and without ice that is still whole.
    pub liquid_ml: Volume,
}

/// Digests of what a build was worked from.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct WorkedFrom {
    /// Of the book.
    pub book: String,
    /// Of the overlay; null without one.
    pub overlay: Option<String>,
    /// Of the site's sheet.
    pub site: String,
}

fn tenth_ml(volume: Volume) -> Volume {
    volume.to_nearest(Volume::from_ul(100))
}

fn tenth_g(mass: Mass) -> Mass {
    mass.to_nearest(Mass::from_mg(100))
}

/// The view of a build in a language.
pub fn build_view<'a>(
    bar: &'a Bar,
    build: &'a Build<'a>,
    catalogue: &'a Catalogue,
) -> BuildView<'a> {
    let Build { order, solved, changes, allergens, steps, declared: _ } = build;
    let digest = build_digest(bar, &order.asked.id, &build.modifiers(), &catalogue.lang);
    let said =
        |change: &crate::engine::derive::Change<'_>| words::sticker(catalogue, &change.sticker);
    BuildView {
        schema: BUILD_SCHEMA,
        build_id: build_id(&digest).to_string(),
        digest: digest.to_string(),
        drink: &order.asked.id,
        name: order.asked.names.in_lang(&catalogue.lang),
        changes: changes.iter().map(said).collect(),
        vessel: VesselView {
            id: &order.vessel.vessel.id,
            fill_ml: tenth_ml(solved.fill),
            brim_ml: order.capacity.unwrap_or(order.vessel.vessel.brim_ml),
        },
        service: order.service,
        size: order.size,
        coffee: solved.coffee.zip(order.coffee.as_ref()).map(coffee_view),
        milk: solved.milk.as_ref().map(milk_view),
        milk_ratio: build
            .milk_ratio()
            .map(|ratio| ratio.to_nearest(Quotient::from_thousandths(100))),
        water: water_view(order, solved),
        ice: ice_view(solved),
        parts: part_views(order, solved),
        layers: solved.layers.iter().map(layer_view).collect(),
        steps: steps.iter().enumerate().map(|(at, step)| step_view(catalogue, at, step)).collect(),
        serve: ServeView {
            temperature_c: solved.serve.to_nearest(Temperature::from_mc(1_000)),
            liquid_ml: tenth_ml(liquid(solved)),
        },
        strength: build.strength().map(StrengthView::from),
        caffeine: build.caffeine(bar).map(CaffeineView::from),
        nutrition: rule(bar).map(|rule| {
            let (fed, in_cup) = (build.fed(rule), build.fed_in_cup(rule));
            nutrition_view(rule, &fed, &in_cup, liquid(solved))
        }),
        allergens: allergens_view(bar, allergens, catalogue),
        cautions: caution_views(&build.cautions(bar), catalogue),
        worked_from: WorkedFrom {
            book: bar.book_digest.to_string(),
            overlay: bar.overlay_digest.map(|digest| digest.to_string()),
            site: bar.site_digest.to_string(),
        },
    }
}

fn coffee_view<'a>((coffee, order): (Coffee, &'a CoffeeOrder<'a>)) -> CoffeeView<'a> {
    let Coffee { halves, doubles, singles, spare_halves, dose, pulled, in_cup, volume: _, time } =
        coffee;
    CoffeeView {
        bean: &order.bean.id,
        draws: order.draws().map(draw_view).collect(),
        pull: order.pull,
        halves,
        dose_g: tenth_g(dose),
        yield_g: tenth_g(pulled),
        in_cup_g: tenth_g(in_cup),
        left_over_g: tenth_g(coffee.left_over()),
        ratio: Thousandths(pulled.scaled(1_000, dose.mg()).mg()),
        time_s: SecondsView { min: time.min, max: time.max },
        doubles,
        singles,
        spare_halves,
    }
}

fn draw_view(draw: Draw<'_>) -> DrawView<'_> {
    let Baskets { doubles, singles, spare_halves, dose, pulled, time: _ } = Baskets::of(&draw);
    DrawView {
        bean: &draw.bean.id,
        halves: draw.halves,
        dose_g: tenth_g(dose),
        yield_g: tenth_g(pulled),
        doubles,
        singles,
        spare_halves,
    }
}

fn milk_view<'a>(milk: &'a Milk<'a>) -> MilkView<'a> {
    match milk {
        Milk::Steamed(milk) => MilkView {
            ingredient: &milk.ingredient.id,
            cold_ml: tenth_ml(milk.cold),
            pour_ml: tenth_ml(milk.pour),
            left_over_ml: tenth_ml(milk.left_over),
            jug: Some(&milk.jug.jug.id),
            wand: Some(&milk.wand.id),
            textured_ml: tenth_ml(milk.textured),
            foam_depth_mm: milk.foam_depth.to_nearest(Length::from_um(100)),
            gas_ml: tenth_ml(milk.gas),
            condensate_g: tenth_g(milk.condensate),
            set_point_c: Some(milk.set_point),
            steam_s: milk.time.to_nearest(Span::from_ms(1_000)),
        },
        Milk::Cold(milk) => MilkView {
            ingredient: &milk.ingredient.id,
            cold_ml: tenth_ml(milk.volume),
            pour_ml: tenth_ml(milk.pour),
            left_over_ml: Volume::ZERO,
            jug: None,
            wand: None,
            textured_ml: tenth_ml(milk.volume),
            foam_depth_mm: Length::ZERO,
            gas_ml: Volume::ZERO,
            condensate_g: Mass::ZERO,
            set_point_c: None,
            steam_s: Span::ZERO,
        },
    }
}

fn water_view(order: &Order<'_>, solved: &Solved<'_>) -> WaterView {
    let water = solved.portions.iter().find(|one| matches!(one.of, PortionOf::Water(_)));
    let Some(water) = water else {
        return WaterView { ml: Volume::ZERO, temperature_c: None, when: None };
    };
    let place = |wanted: fn(&Part) -> bool| order.parts().position(wanted);
    let (coffee, own) = (
        place(|part| matches!(part, Part::Coffee(_))),
        place(|part| matches!(part, Part::Water(_))),
    );
    let first = coffee.is_none() || own < coffee;
    WaterView {
        ml: tenth_ml(water.volume),
        temperature_c: Some(water.at),
        when: Some(if first { "first" } else { "last" }),
    }
}

fn ice_view(solved: &Solved<'_>) -> IceView {
    let ice = solved.portions.iter().filter(|one| matches!(one.of, PortionOf::Ice(_)));
    let ice: Mass = ice.map(|one| one.mass).sum();
    IceView { g: tenth_g(ice), melted_g: tenth_g(solved.melted) }
}

fn part_views<'a>(order: &'a Order<'a>, solved: &'a Solved<'a>) -> Vec<PartView<'a>> {
    let view = |one: Listed<'_, 'a>| match one {
        Listed::Coffee => {
            let (coffee, how) = solved.coffee.zip(order.coffee.as_ref())?;
            Some(PartView {
                ingredient: &how.bean.ingredient,
                g: tenth_g(coffee.in_cup),
                ml: tenth_ml(coffee.volume),
                stage: stage_of(order, &how.part.id, "coffee"),
            })
        }
        Listed::Milk => {
            let part = order.parts().find_map(Part::as_milk)?;
            let milk = solved.milk.as_ref()?;
            Some(milk_part(milk, stage_of(order, &part.id, "milk")))
        }
        Listed::Portion(one) => Some(PartView {
            ingredient: &one.ingredient.id,
            g: tenth_g(one.mass),
            ml: tenth_ml(one.volume),
            stage: one.stage,
        }),
    };
    listed(order, solved).into_iter().filter_map(view).collect()
}

/// Where coffee or milk goes: into the cup, or beside it where the customer says so.
fn stage_of(order: &Order<'_>, part: &str, kind: &str) -> Stage {
    if order.is_aside(part, kind) { Stage::Side } else { Stage::Pour }
}

fn milk_part<'a>(milk: &'a Milk<'a>, stage: Stage) -> PartView<'a> {
    let mass = match milk {
        Milk::Steamed(milk) => milk.in_cup,
        Milk::Cold(milk) => milk.mass,
    };
    PartView {
        ingredient: &milk.ingredient().id,
        g: tenth_g(mass),
        ml: tenth_ml(milk.textured()),
        stage,
    }
}

fn layer_view<'a>(layer: &'a crate::engine::solve::Layer<'a>) -> LayerView<'a> {
    let part = match layer.of {
        LayerOf::Coffee => "coffee",
        LayerOf::Milk => "milk",
        LayerOf::FoamGas => "foam-gas",
        LayerOf::Water(_) => "water",
        LayerOf::Ice(_) => "ice",
        LayerOf::Ingredient(id) => id,
    };
    LayerView { part, ml: tenth_ml(layer.volume) }
}

fn step_view(catalogue: &Catalogue, at: usize, step: &Step<'_>) -> StepView {
    let Step { station, phrase, gaps, time, beside } = step;
    StepView {
        n: at + 1,
        station: station.as_str(),
        text: words::gaps(catalogue, *phrase, gaps),
        seconds: time.map(|time| time.to_nearest(Span::from_ms(1_000))),
        r#while: beside.clone(),
    }
}
