use serde::{Deserialize, Serialize};

use super::balance_sheet::Balance;
use super::frontier::Point;
use crate::analyte::LayerKey;
use crate::diagnosis::NotKnown;
use crate::plan::Price;
use crate::remark::Remark;
use crate::rulebook::{Basis, Factor, Gate, Nutrient, PriceSource, ProductName, Weighed};
use crate::units::{Density, Mass, MassPerArea, MoneyPerArea, Volume, VolumePerArea};
use crate::units::{Metering, ProductRate};

/// What goes where. Zones stand in the order of their number.
#[derive(Debug, Clone, Serialize)]
pub struct Prescription {
    /// Products in the order of the output columns; the starter, where there is one, first.
    pub products: Vec<ProductUse>,
    /// The starter's recipe, where a starter is used.
    pub recipe: Option<Recipe>,
    /// One entry per zone, by rising number.
    pub zones: Vec<ZoneRates>,
    /// What to test first, what could change most first; said once for the field.
    pub test_first: Vec<TestFirst>,
    /// What the crops take and the products bring, where the plan names a yield.
    pub balance: Option<Balance>,
    /// What the budget allowed, where the plan sets one.
    pub budget: Option<BudgetOutcome>,
    /// What money would buy, with the plan's own budget as the limit.
    #[serde(skip)]
    pub offers: Offers,
    /// Cautions of the whole prescription: labels, dust, setbacks, certifier.
    pub cautions: Vec<String>,
    /// What this stage has to say.
    pub remarks: Vec<Remark>,
}

/// A product that the prescription uses somewhere or holds back everywhere.
#[derive(Debug, Clone, Serialize)]
pub struct ProductUse {
    /// Name in the rulebook, `[a-z][a-z0-9_]*`: `starter`, `gypsum`, `lime`.
    pub name: ProductName,
    /// What people call it.
    pub label: String,
    /// How it is metered.
    pub form: Metering,
    /// Price in force.
    pub price: Option<Price>,
    /// Where it comes from.
    #[serde(skip)]
    pub price_source: PriceSource,
    /// Mass per volume, for liquids.
    pub density: Option<Density>,
    /// Smallest step of the rate, in the unit of the form.
    pub step: ProductRate,
    /// Total over the field, mass of a dry product.
    pub total_mass: Mass,
    /// Total over the field, volume of a liquid one.
    pub total_volume: Volume,
    /// Size and name of the pack it is bought in, mass or volume as its form: `("2,000 lb tote", 907.2)` in kg or L.
    pub pack: Option<(String, f64)>,
    /// Whether it is meant as an organic input (the certifier decides).
    pub is_organic_input: bool,
    /// Cautions of this product.
    pub cautions: Vec<String>,
}

/// What goes into the tank.
#[derive(Debug, Clone, Serialize)]
pub struct Recipe {
    /// The product that is mixed by it.
    #[serde(skip)]
    pub product: ProductName,
    /// Name of the recipe.
    pub name: String,
    /// Ingredients in the order of addition.
    pub ingredients: Vec<Ingredient>,
    /// Mass per volume of the blend.
    pub density: Density,
    /// Least and most rate that the recipe is made for.
    pub range: (VolumePerArea, VolumePerArea),
    /// Nitrogen plus potash that touches the seed at the highest rate of the map, kg/ha.
    pub seed_salt: MassPerArea,
    /// Nitrogen plus potash that touches the seed in a litre of the blend, kg.
    pub seed_salt_per_litre: f64,
    /// The seed-safe limit it was compared with, kg/ha.
    pub seed_salt_limit: MassPerArea,
    /// Where the limit comes from.
    pub seed_salt_source: String,
    /// Notes for filling the tank: agitation, screens, jar test.
    pub notes: Vec<String>,
    /// Loads, full ones first.
    pub loads: Vec<Load>,
}

/// One ingredient of the recipe.
#[derive(Debug, Clone, Serialize)]
pub struct Ingredient {
    /// Product name in the rulebook.
    pub product: String,
    /// What people call it.
    pub label: String,
    /// Share of the blend by volume, 0 to 1 (dry ingredients: by the volume they displace).
    pub volume_share: f64,
    /// Mass in a litre of the blend, kg.
    pub kilograms_per_litre: f64,
    /// Total over the field, mass.
    pub total_mass: Mass,
    /// Total over the field, volume; zero for dry ingredients.
    pub total_volume: Volume,
    /// Whether it is measured by mass when mixing.
    pub is_dry: bool,
    /// Price in force; none where the blend has one as a whole.
    pub price: Option<Price>,
    /// Where it comes from.
    #[serde(skip)]
    pub price_source: PriceSource,
    /// Pack it is bought in, see [`ProductUse::pack`].
    pub pack: Option<(String, f64)>,
}

/// One filling of the planter's tank, or several equal ones.
#[derive(Debug, Clone, Serialize)]
pub struct Load {
    /// How many such loads.
    pub count: u32,
    /// Volume of the blend in the tank.
    pub volume: Volume,
    /// Mass of the blend.
    pub mass: Mass,
    /// Amount of each ingredient: litres of a liquid, kilograms of a dry one, in the recipe's order.
    pub amounts: Vec<f64>,
}

/// The rates of one zone.
#[derive(Debug, Clone, Serialize)]
pub struct ZoneRates {
    /// The number that people see.
    pub number: u32,
    /// Index into `Zones::zones`.
    pub zone: usize,
    /// One rate per product, in the order of `Prescription::products`.
    pub rates: Vec<Rate>,
    /// The first thing to do here, an order in plain words.
    pub do_first: String,
    /// The factors that could not be judged here, what may limit most first.
    pub not_known: Vec<NotKnown>,
    /// Fixes of measured limits and tests of unknown ones, in the order in which they should be done.
    pub fixes: Vec<Fix>,
    /// One sentence with value, threshold and unit: why this zone gets what it gets.
    pub reason: String,
    /// Cost of all products at these rates.
    pub cost: MoneyPerArea,
    /// Cautions of this zone.
    pub cautions: Vec<String>,
    /// The needs that these rates do not reach by a tenth or more.
    #[serde(skip)]
    pub unmet: Vec<UnmetNeed>,
}

/// A need of a nutrient that the rates of a zone do not reach.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UnmetNeed {
    /// Which.
    pub nutrient: Nutrient,
    /// What the zone needs.
    pub wanted: MassPerArea,
    /// What its rates leave of that.
    pub left: MassPerArea,
}

/// One product in one zone.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Rate {
    /// Product name.
    pub product: ProductName,
    /// What is applied this season.
    pub amount: ProductRate,
    /// What the chemistry asks for in all, before caps and rounding; equal to `amount` where nothing was cut.
    pub needed: ProductRate,
    /// How the rate was reached, in sentences: formula with numbers, caps that cut it, rounding.
    pub steps: Vec<String>,
    /// Why it is zero although something is needed, or wanted although nothing is: gate, too small to spread, override.
    pub note: Option<String>,
    /// Further seasons that the rest is spread over.
    pub seasons_after: u8,
    /// The consultant's reason, where the rate is the consultant's.
    pub overridden: Option<String>,
    /// What became of the consultant's rate, where it does not go out as it was set.
    #[serde(skip)]
    pub cut: Option<CutWord>,
    /// Rate that a check strip could try, where nothing is applied and trying does no harm.
    pub strip: Option<ProductRate>,
    /// The lowest cap on it in this zone; `None` where nothing caps it.
    pub cap: Option<RateCap>,
    /// The least that can be applied in this zone: recipe, pump, spreader.
    #[serde(skip)]
    pub least: Option<(ProductRate, String)>,
    /// One line where research disputes the rule that asks for it: say it beside the rate.
    pub disputed: Option<String>,
    /// What decided whether it goes out at all, where a gate was asked.
    #[serde(skip)]
    pub gate: Option<Gate>,
    /// What the whole need aims at, where its chemistry says a number.
    #[serde(skip)]
    pub aim: Option<Aim>,
    /// What the farm's own trials say of it under this gate.
    #[serde(rename = "own_trials", skip_serializing_if = "Option::is_none")]
    pub own: Option<OwnWord>,
}

/// A consultant's rate that a cap cut or that does not go out.
#[derive(Debug, Clone, PartialEq)]
pub struct CutWord {
    /// What was set.
    pub asked: ProductRate,
    /// What became of it: "cut to 4 gal/ac: the ground is tight".
    pub what: String,
}

/// What the farm's own trials say of a rate, and whether they decide it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OwnWord {
    /// The trials weighed with what was thought beforehand.
    pub weighed: Weighed,
    /// One line with the numbers.
    pub line: String,
    /// Whether they open a gate that would be closed.
    pub opens: bool,
    /// Whether they close a gate that would be open.
    pub closes: bool,
}

/// What a rate is to bring about in a zone.
#[derive(Debug, Clone, PartialEq)]
pub struct Aim {
    /// The layer that it moves.
    pub layer: LayerKey,
    /// The zone's mean before.
    pub from: f64,
    /// The zone's mean once the whole need is applied and has worked.
    pub to: f64,
}

/// The most of a product in a zone.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RateCap {
    /// The most.
    pub most: ProductRate,
    /// Why, to complete "at most 6 gal/ac: ...".
    pub why: String,
}

impl RateCap {
    /// What is said of a rate that a cap cuts: "6 gal/ac is cut to 4 gal/ac: the ground is tight".
    #[must_use]
    pub fn cut_words(asked: &str, cut: &str, why: &str) -> String {
        format!("{asked} is cut to {cut}: {why}")
    }

    /// What is said of a rate that does not go out: "6 gal/ac is not applied: less does not spread evenly".
    #[must_use]
    pub fn refused_words(asked: &str, why: &str) -> String {
        format!("{asked} is not applied: {why}")
    }

    /// What is said where a gate holds a product back, with the check strip that is offered.
    #[must_use]
    pub fn held_back_words(why: &str, strip: Option<&str>) -> String {
        Self::with_strip(&format!("held back, because {why}"), strip)
    }

    /// A reason with the check strip that is offered, where one is.
    #[must_use]
    pub fn with_strip(why: &str, strip: Option<&str>) -> String {
        let strip = strip.map_or_else(String::new, |rate| {
            format!("; to see for yourself, lay a check strip at {rate}")
        });
        format!("{why}{strip}")
    }
}

/// A test that would tell what is not known, said once for the field.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TestFirst {
    /// What is to be done, in the imperative: "have buffer pH run".
    pub test: String,
    /// The factor that it tells of.
    pub factor: Factor,
    /// Why it is asked for, one sentence.
    pub why: String,
    /// Numbers of the zones that wait for it, rising.
    pub zones: Vec<u32>,
    /// What it decides: "how much lime", "whether salt limits".
    pub decides: String,
    /// The product whose rate it decides, where it decides one.
    pub product: Option<ProductName>,
    /// Severity that hangs on it, weighed by the chance of it, 0 to 1.
    pub severity: f64,
    /// Money that hangs on it over those zones, United States dollars: the dearest fix at its cap.
    pub dollars: f64,
    /// What one sample usually costs, United States dollars.
    pub dollars_a_sample: Option<f64>,
}

/// One way to mend a finding.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Fix {
    /// Name in the rulebook.
    pub name: String,
    /// What is done, in the imperative: "Spread gypsum".
    pub what: String,
    /// The factor it mends.
    pub factor: Factor,
    /// The product it uses, where it is a product.
    pub product: Option<ProductName>,
    /// Whether it is a test of what is not known; a test is never weighed against the budget.
    pub is_test: bool,
    /// Cost.
    pub cost: MoneyPerArea,
    /// Years that it works.
    pub years: f64,
    /// What the cost comes to in each of these years, with interest.
    pub cost_a_year: MoneyPerArea,
    /// Effort, 1 easy to 5 hard.
    pub effort: f64,
    /// Seasons until it works.
    pub seasons: f64,
    /// Severity of the finding that it mends.
    pub severity: f64,
    /// Severity per cost and effort, what the order goes by.
    pub score: f64,
    /// The arithmetic of the score, for the report.
    pub arithmetic: String,
    /// What must come first, where something must.
    pub after: Vec<String>,
    /// What cost, effort and time rest on.
    pub basis: Basis,
    /// Whether the budget left it out.
    pub left_out: bool,
}

/// What the budget allowed.
#[derive(Debug, Clone, Serialize)]
pub struct BudgetOutcome {
    /// The limit.
    pub limit: MoneyPerArea,
    /// What is spent on average over the field.
    pub spent: MoneyPerArea,
    /// What was left out, in words.
    pub left_out: Vec<String>,
    /// What the next money would buy.
    pub next: Option<String>,
    /// Whether the limit is what the farm's budget holds for the field.
    #[serde(skip)]
    pub is_share: bool,
}

/// What money and stock would do on the field: what a farm's budget and its shed are shared out by.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Offers {
    /// The consultant's own rates, which are paid first, cents.
    pub decided_cents: u64,
    /// What is spent where no farm sets a limit, cents.
    pub spent_cents: u64,
    /// What each cost beside the consultant's rates buys at best.
    pub frontier: Vec<Point>,
    /// The most that a choice on the field can lose because the frontier was thinned.
    pub loss: u64,
    /// Products that feed the crop and are taken from the farm's shed.
    pub stock: Vec<StockOffer>,
}

/// What the stock of a product would do on the field.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StockOffer {
    /// Product name.
    pub product: String,
    /// What the consultant's own rates take, grams or millilitres.
    pub decided: u64,
    /// What the field takes in all, grams or millilitres.
    pub used: u64,
    /// What each amount beside the consultant's rates does at best; the amounts stand where a frontier of money has cents.
    pub frontier: Vec<Point>,
}
