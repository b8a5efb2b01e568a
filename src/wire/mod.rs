//! The contract: every type that goes over the wire, problems, and digests. No rules of the trade.

mod allergens;
mod answer;
mod answer_line;
mod build;
mod cautions;
mod coded;
mod cost;
mod digest;
mod explain;
mod figures;
mod fit;
mod identify;
mod list;
mod matrix;
mod menu;
mod needs;
mod prints;
mod problem;
mod reach;
mod shot;
mod stickers;
mod strength;
mod ticket;
mod till;

pub use allergens::{AllergenWording, AllergensView, SharedView, allergens_view};
pub use answer::{AllergensOfOrder, Answer, BookStamp, OverlayStamp, SiteStamp};
pub use answer_line::{
    AcceptedLine, AllergyView, AlternativeView, AnswerLine, AskedLine, NoticeView, PriceView,
    RefusalView, RefusedLine, answer_line,
};
pub use build::{BuildView, PartView, StepView, Thousandths, build_view};
pub use cautions::{CautionRow, CautionView, CautionsList, caution_views};
pub use coded::CodedBuild;
pub use cost::{
    CostItemView, CostLineView, CostTotalView, CostView, CostsAnswer, ModifierCostView, ROUNDING,
};
pub use digest::{build_digest, build_id, digested};
pub use explain::{ExplainedLine, Explanation, FactorView, FigureView, OriginView};
pub use figures::{CaffeineView, MissingView, NutrientsView, NutritionView, StrengthView};
pub use fit::{FitAnswer, FitCounts, FitCup, FitDrink, FitPurchase, FitRefusal, FitValue};
pub use identify::{CupTicket, DifferenceView, DrinksNear, MeasureView, NearView, PullView};
pub use list::{
    BookInForce, CupView, DrinkBuilds, DrinkRow, DrinksList, NotTaken, SiteRow, SitesList,
    StockView,
};
pub use matrix::{AllergenMatrix, LegendRow, MatrixAllergen, MatrixDrink, Recorded, TableStamp};
pub use menu::{
    CountsView, CupRef, ExclusionView, Menu, MenuDrink, MenuModifier, MenuValue, NamedView, NotNow,
    NumbersView, Offer,
};
pub use needs::{
    NeedsAnswer, NeedsBean, NeedsClass, NeedsForecast, NeedsIngredient, NeedsLine, NeedsLineView,
    NeedsMilk, NeedsPar, NeedsPerDay, NeedsPulls, NeedsRequest, NeedsVessel,
};
pub use prints::{PassedOver, PrintAnswer, PrintedSticker};
pub use problem::{Fault, Kind, Problem};
pub use reach::{SetPointLine, SetPoints};
pub use shot::{
    AdviceView, ExtractionView, JudgedView, RecentShot, RemarkView, ShotAnswer, ShotTicket,
    StepSize, TasteWord,
};
pub use stickers::{LabelView, StickerView, StickersAnswer, TextView, ZoneView};
pub use strength::{StrengthRow, StrengthTable};
pub use ticket::{
    LineView, ModifierView, OrderInfo, Pin, Ticket, TicketLine, TicketModifier, TicketValue,
};
pub use till::{ButtonView, TillMapView};

/// Version of the build contract, major and minor: what the digest covers.
pub const CONTRACT: &str = "0.1";
/// The contract as answers name it.
pub const CONTRACT_NAME: &str = "drink-build/0.1";
/// Schema of a build, with its full version.
pub const BUILD_SCHEMA: &str = "drink-build/0.1.0";
