//! Sentences as keys with gaps; what they say in a language stands elsewhere.

use crate::book::Words;

/// One row per sentence: variant, key.
macro_rules! phrases {
    ($($phrase:ident, $key:literal;)*) => {
        /// A sentence that a step, a notice or an alternative says.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[expect(missing_docs, reason = "each variant is the name of its key")]
        pub enum Phrase { $($phrase,)* }

        impl Phrase {
            /// All sentences.
            pub const ALL: &[Self] = &[$(Self::$phrase,)*];

            /// The key, by which catalogues and a book's own `phrases` name it.
            pub const fn key(self) -> &'static str {
                match self { $(Self::$phrase => $key,)* }
            }
        }
    };
}

phrases! {
    WarmCup, "step.warm-cup";
    DryWeigh, "step.dry-weigh";
    DryMeasure, "step.dry-measure";
    PasteWeigh, "step.paste-weigh";
    PasteMeasure, "step.paste-measure";
    PasteSift, "step.paste-sift";
    SteepWater, "step.steep-water";
    SteepMilk, "step.steep-milk";
    SteepStrain, "step.steep-strain";
    SteepLift, "step.steep-lift";
    PullHalf, "step.pull-half";
    PullDouble, "step.pull-double";
    PullSeveral, "step.pull-several";
    PullSingle, "step.pull-single";
    PullPlain, "step.pull-plain";
    PullSeveralHalf, "step.pull-several-half";
    InCoffeeWeigh, "step.in-coffee-weigh";
    InCoffeeMeasure, "step.in-coffee-measure";
    IntoCup, "step.into-cup";
    IntoJug, "step.into-jug";
    PourCoffee, "step.pour-coffee";
    KeepShare, "step.keep-share";
    PourCoffeeShare, "step.pour-coffee-share";
    CoffeeBeside, "step.coffee-beside";
    MilkBeside, "step.milk-beside";
    MilkBesideFoam, "step.milk-beside-foam";
    ColdMilkBeside, "step.cold-milk-beside";
    WaterBeside, "step.water-beside";
    MilkRests, "step.milk-rests";
    SealedPack, "step.sealed-pack";
    BrewCup, "step.brew-cup";
    BrewInto, "step.brew-into";
    BatchInto, "step.batch-into";
    BatchIntoHours, "step.batch-into-hours";
    Stir, "step.stir";
    StirThrough, "step.stir-through";
    StirWithMilk, "step.stir-with-milk";
    JugMilk, "step.jug-milk";
    JugMilkOver, "step.jug-milk-over";
    Steam, "step.steam";
    SteamFoam, "step.steam-foam";
    PourMilk, "step.pour-milk";
    PourMilkFoam, "step.pour-milk-foam";
    SpoonMilk, "step.spoon-milk";
    ColdMilk, "step.cold-milk";
    PourWater, "step.pour-water";
    PourColdWater, "step.pour-cold-water";
    PutIce, "step.put-ice";
    PutWeigh, "step.put-weigh";
    PutMeasure, "step.put-measure";
    TopWeigh, "step.top-weigh";
    TopMeasure, "step.top-measure";
    SideWeigh, "step.side-weigh";
    SideMeasure, "step.side-measure";
    LidOn, "step.lid-on";
    OfBook, "step.of-book";
    HandOver, "step.hand-over";
    HandOverLukewarm, "step.hand-over-lukewarm";
    HandOverHot, "step.hand-over-hot";
    AltSameCup, "alternative.same-cup";
    AltHalvesMore, "alternative.halves-more";
    AltHalvesFewer, "alternative.halves-fewer";
    AltCaffeineMore, "alternative.caffeine-more";
    AltCaffeineLess, "alternative.caffeine-less";
    SetPointReached, "set-point.reached";
    SetPointAboveCap, "set-point.above-cap";
    SetPointBelow, "set-point.below-range";
    SetPointNoMilk, "set-point.no-steamed-milk";
    SetPointNotMade, "set-point.not-made";
    AltPrice, "alternative.price";
    AltPriceSame, "alternative.price-same";
    AltConfirmed, "alternative.confirmed";
    NoticeNote, "notice.note-not-checked";
    NoticeOverride, "notice.override-not-taken";
    NoticeSpareHalf, "notice.spare-half";
    NoticeLeftOver, "notice.milk-left-over";
    NoticeCoffeeLeftOver, "notice.coffee-left-over";
    NoticeAllergyNotShared, "notice.allergy-declared";
    NoticeAllergyClean, "notice.allergy-after-full-clean";
    NoticeAllergyDedicated, "notice.allergy-dedicated";
    NoticeAskAbout, "notice.ask-about-ingredient";
    NoticeFoamBeside, "notice.foam-beside";
    NoticeOverridden, "notice.overridden";
    NoticeWithoutLid, "notice.hot-without-lid";
    NoticeWeaker, "notice.weaker-than-usual";
    NoticeStronger, "notice.stronger-than-usual";
    NoticeCaffeine, "notice.caffeine-above-guide";
    ViaWand, "via.wand";
    ViaJug, "via.jug";
    ViaCloth, "via.cloth";
    ViaWhisk, "via.whisk";
    ViaStrainer, "via.strainer";
    ViaGrinder, "via.grinder";
    FormValue, "form.value";
    FormCount, "form.count";
    FormAlone, "form.alone";
TillNothing, "till.nothing";
    TillNoDrink, "till.no-drink";
    TillTwice, "till.twice";
    MatrixTitle, "matrix.title";
    MatrixDrink, "matrix.drink";
    MatrixDay, "matrix.day";
    MatrixSite, "matrix.site";
    MatrixSheet, "matrix.sheet";
    MatrixRegion, "matrix.region";
    MatrixSource, "matrix.source";
    MatrixInForce, "matrix.in-force";
    MatrixReviewer, "matrix.reviewer";
    MatrixNoTable, "matrix.no-table";
    MatrixBook, "matrix.book";
    MatrixVersion, "matrix.version";
    MatrixDigest, "matrix.digest";
    MatrixContained, "matrix.contained";
    MatrixContainedMeans, "matrix.contained-means";
    MatrixMay, "matrix.may-be-contained";
    MatrixMayMeans, "matrix.may-be-contained-means";
    MatrixShared, "matrix.shared-equipment";
    MatrixSharedMeans, "matrix.shared-equipment-means";
    MatrixNothing, "matrix.nothing-recorded";
    MatrixNothingMeans, "matrix.nothing-recorded-means";
    MatrixLookedAt, "matrix.looked-at";
    MatrixNotMade, "matrix.not-made";
    MatrixUsual, "matrix.usual";
    MatrixStrongest, "matrix.strongest";
    MatrixAsk, "matrix.ask";
    LabelContain, "label.ingredients-contain";
    LabelMayContain, "label.may-contain";
    LabelShared, "label.shared-equipment";
    LabelAsk, "label.ask";
    LabelRefused, "label.refused";
    LabelSafety, "label.refused-safety";
    LabelOr, "label.or";
    LabelNote, "label.note";
    LabelAllergy, "label.allergy";
    LabelNoWay, "label.no-way-out";
    LabelReason, "label.reason";
    StickerCup, "sticker.cup-of-cups";
    StickerPart, "sticker.part";
    StickerHot, "sticker.hot";
    StickerClean, "sticker.after-full-clean";
    StickerDedicated, "sticker.dedicated";
    StickerOverride, "sticker.override";
    StickerReprint, "sticker.reprint";
    PrintUnreachable, "print.unreachable";
    PrintNotUnderstood, "print.not-understood";
    PrintLocked, "print.locked";
    PrintNoPath, "print.no-path";
    PrintUnsaid, "print.unsaid";
    PrintBusy, "print.busy";
    PrintNotAccepting, "print.not-accepting";
    PrintWrongMedia, "print.wrong-media";
    PrintNoForm, "print.no-form";
    PrintWrongDpi, "print.wrong-dpi";
    PrintNotMade, "print.not-made";
    PrintDeclined, "print.declined";
    PrintCancelled, "print.cancelled";
    PrintAborted, "print.aborted";
    PrintTooSlow, "print.too-slow";
    PrintAnswerLost, "print.answer-lost";
    PrintNotAsked, "print.not-asked";
    PrintSilent, "print.silent";
    PrintKept, "print.kept";
    PrintHalfOut, "print.half-out";
    PrintNotTried, "print.not-tried";
    PrintCoverOpen, "print.cover-open";
    PrintMediaEmpty, "print.media-empty";
    PrintMediaJam, "print.media-jam";
    PrintMediaNeeded, "print.media-needed";
    PrintSupplyEmpty, "print.supply-empty";
    PrintTrayMissing, "print.tray-missing";
    PrintOutputFull, "print.output-full";
    PrintTemperature, "print.temperature";
    PrintPaused, "print.paused";
    PrintNoConnection, "print.no-connection";
    PrintHeld, "print.held";
    PrintUnreadable, "print.unreadable";
    PrintOther, "print.other";
    FitVessel, "fit.vessel";
    FitOwnCup, "fit.own-cup";
    FitJug, "fit.jug";
    FitBean, "fit.bean";
    FitIngredient, "fit.ingredient";
    FitBasket, "fit.single-basket";
    FitWand, "fit.wand";
    FitTrainingOnly, "fit.training-bar-only";
    NeedsMilk, "needs.milk-by-cup";
    NeedsUsage, "needs.no-usage";
    NeedsLeftOut, "needs.left-out";
    ShotWithin, "shot.within-recipe";
    ShotNoRemedies, "shot.no-remedies";
    ShotDoseUnder, "shot.dose-under";
    ShotDoseOver, "shot.dose-over";
    ShotNothingCame, "shot.nothing-came";
    ShotChoked, "shot.choked";
    ShotGushing, "shot.gushing";
    ShotUneven, "shot.uneven";
    ShotYieldUnder, "shot.yield-under";
    ShotYieldOver, "shot.yield-over";
    ShotTooFast, "shot.too-fast";
    ShotTooSlow, "shot.too-slow";
    ShotStepTooLarge, "shot.step-too-large";
    ShotSour, "shot.sour";
    ShotBitter, "shot.bitter";
    ShotWeak, "shot.weak";
    ShotExtractionLow, "shot.extraction-low";
    ShotExtractionHigh, "shot.extraction-high";
    ShotTasteFine, "shot.taste-is-fine";
    ShotDisagree, "shot.taste-and-measure-differ";
    ShotAtLimit, "shot.recipe-at-limit";
    ShotMostAtOnce, "shot.most-at-once";
    ShotBeyond, "shot.beyond-settings-seen";
    ShotVeryFine, "shot.very-fine-grind";
    ShotStepRecent, "shot.step-recent";
    ShotStepTwo, "shot.step-two";
    ShotStepTooFew, "shot.step-too-few";
    ShotStepUnclear, "shot.step-unclear";
    ShotStepContrary, "shot.step-contrary";
    PageIn, "page.in";
    PageGrams, "page.grams";
    PageAllergens, "page.allergens";
    PageNothing, "page.nothing-recorded";
    PageAsk, "page.ask";
    PageCautions, "page.cautions";
    PageCaffeine, "page.caffeine";
    PageCaffeineAbout, "page.caffeine-about";
    PageCaffeineNone, "page.caffeine-none";
    PageCaffeineUnknown, "page.caffeine-unknown";
    PageDigest, "page.digest";
    CardFill, "card.fill";
    CardBrim, "card.brim";
    CardMillilitres, "card.millilitres";
    CardGrams, "card.grams";
    CardDegrees, "card.degrees";
    CardMillimetres, "card.millimetres";
    CardSeconds, "card.seconds";
    CardWindow, "card.window";
    CardCoffee, "card.coffee";
    CardMilkFoam, "card.milk-and-foam";
    CardFoam, "card.foam";
    CardWaterAt, "card.water-at";
    CardStirred, "card.stirred";
    CardIce, "card.ice";
    CardRoom, "card.room";
    CardOnTop, "card.on-top";
    CardBeside, "card.beside";
    CardCoffeeBeside, "card.coffee-beside";
    CardSealed, "card.sealed";
    CardDouble, "card.double";
    CardDoubles, "card.doubles";
    CardSingle, "card.single";
    CardDose, "card.dose";
    CardYield, "card.yield";
    CardTime, "card.time";
    CardOfIt, "card.of-it";
    CardJug, "card.jug";
    CardColdMark, "card.cold-mark";
    CardStands, "card.stands";
    CardSetPoint, "card.set-point";
    CardDepth, "card.depth";
    CardCold, "card.cold";
    CardWater, "card.water";
    CardPoured, "card.poured";
    CardDry, "card.dry";
    CardSteep, "card.steep";
    CardSteepMilk, "card.steep-milk";
    CardBrew, "card.brew";
    CardBrewed, "card.brewed";
    CardCup, "card.cup";
    CardServed, "card.served";
    CardAllows, "card.allows";
    CardAllowsFill, "card.allows-fill";
    CardAllowsHeat, "card.allows-heat";
    CardAllowsDepth, "card.allows-depth";
    CardStays, "card.stays";
    CardBuild, "card.build";
    CardScale, "card.scale";
    CardFigures, "card.figures";
    CardSteps, "card.steps";
    CardAllergens, "card.allergens";
    CardCautions, "card.cautions";
    CardEffective, "card.effective";
    CardNoRecord, "card.no-record";
    CardChart, "card.chart";
    CardLegendFoam, "card.legend-foam";
    CardLegendTea, "card.legend-tea";
    CardLegendPowder, "card.legend-powder";
    CardLegendSyrup, "card.legend-syrup";
    CardLegendThick, "card.legend-thick";
    CardCards, "card.cards";
    PartCoffee, "part.coffee";
    PartMilk, "part.milk";
    PartWater, "part.water";
    PartIce, "part.ice";
}

/// What fills a gap of a sentence.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Gap<'b> {
    /// A name of the book, in the reader's language.
    Name(&'b Words),
    /// A number in thousandths, shown with at most so many places.
    Number(i64, u32),
    /// A name of the book after a comma: what is said only where it is not the usual.
    Also(&'b Words),
    /// Another phrase, without gaps of its own.
    Say(Phrase),
    /// Equipment, in a list.
    Says([Option<Phrase>; 6]),
}

/// A sentence with its gaps filled.
pub type Gaps<'b> = Vec<(&'static str, Gap<'b>)>;
