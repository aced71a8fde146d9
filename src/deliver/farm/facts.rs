//! What a farm's files need of a finished field: a few kilobytes that can be kept and sent. The outlines of its zones are those of its
//! `prescription.geojson` and are kept beside.

use serde::{Deserialize, Serialize};

use crate::deliver::columns::RateColumn;
use crate::deliver::degrees::{Part, Spot, from_plane};
use crate::deliver::error::DeliverError;
use crate::deliver::mix::sheet::{Measured, Purchase, exact_purchases};
use crate::deliver::overview::Overview;
use crate::deliver::review::{FirstSheet, Review, TestLine, WorthLine};
use crate::deliver::task_data::setpoint_steps;
use crate::rates::Recipe;
use crate::rulebook::PriceSource;
use crate::units::{Area, Metering, UnitSystem};

/// Outer ring and holes of a part: longitude and latitude, closed.
pub type Rings = Vec<Vec<[f64; 2]>>;

/// What a farm's files need of a finished field.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct FieldFacts {
    /// Units that the field is printed in.
    pub units: UnitSystem,
    /// Who grows the crop.
    pub grower: Option<String>,
    /// The farm, as the field's plan names it.
    pub farm: Option<String>,
    /// Width of a cell, metres.
    pub cell_m: f64,
    /// Workable area on the ellipsoid, square metres.
    pub workable_m2: f64,
    /// Outline of the workable area.
    pub boundary: Vec<Rings>,
    /// What its machine calls each piece of ground, in the order of the map; and the number of its zone.
    pub pieces: Vec<(String, u32)>,
    /// The products that go somewhere.
    pub products: Vec<ProductFacts>,
    /// What has to be bought, to the cent.
    pub purchases: Vec<PurchaseFacts>,
    /// The fillings of the tank.
    pub loads: Option<LoadFacts>,
    /// The first sheet.
    pub sheet: SheetFacts,
}

/// A product as a column of rates.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ProductFacts {
    /// Name in the rulebook.
    pub name: String,
    /// What people call it.
    pub label: String,
    /// One or two words for a narrow place.
    pub word: String,
    /// Property name: `gypsum_lb_ac`.
    pub column: String,
    /// Unit of its rates.
    pub unit: String,
    /// Decimals that show every rate in full.
    pub decimals: usize,
    /// Whether it is metered by volume.
    pub is_liquid: bool,
    /// One rate per piece.
    pub rates: Vec<f64>,
    /// The same in whole steps of ISO 11783.
    pub steps: Vec<i32>,
    /// Total over the field, kilograms or litres.
    pub total: f64,
}

/// Something to buy.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PurchaseFacts {
    /// Name in the rulebook.
    pub name: String,
    /// What people call it.
    pub label: String,
    /// Whether it is measured by volume.
    pub is_liquid: bool,
    /// Kilograms or litres.
    pub amount: f64,
    /// What it is bought in: name, and kilograms or litres.
    pub pack: Option<(String, f64)>,
    /// What the amount costs, United States dollars; nothing without a price.
    pub dollars: Option<f64>,
    /// Where the price comes from.
    pub price_source: PriceSource,
}

/// The fillings of the tank on a field.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LoadFacts {
    /// Name of the recipe.
    pub recipe: String,
    /// Ingredients in the order of addition, and whether each is measured by mass.
    pub ingredients: Vec<(String, bool)>,
    /// How many equal loads, litres in each, and kilograms or litres of each ingredient.
    pub loads: Vec<(u32, f64, Vec<f64>)>,
}

/// The first sheet in short.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct SheetFacts {
    /// Crop, season and area.
    pub about: Vec<String>,
    /// What is done first.
    pub orders: Vec<OrderFacts>,
    /// What to test first.
    pub tests: Vec<TestLine>,
    /// What check strips can show.
    pub checks: Vec<String>,
    /// What varying the rates is worth.
    pub worth: Vec<WorthLine>,
    /// What to buy.
    pub buy: Vec<String>,
    /// Remarks that change a decision, each with its way out.
    pub before_you_drive: Vec<(String, Option<String>)>,
    /// How many more remarks there are.
    pub more_remarks: usize,
    /// Units of area and of cost by area.
    pub unit_names: (String, String),
    /// The zones: number, position of its order, area, order, one rate per product, cost by area.
    pub rows: Vec<RowFacts>,
    /// Total of each product.
    pub totals: Vec<String>,
    /// Whole United States dollars of products and of other work.
    pub money: (i64, i64),
    /// What of both is at prices that nobody gave.
    pub guessed: i64,
    /// The same in words.
    pub money_line: String,
    /// The field's own budget, whole United States dollars, and whether it left out something that is recommended.
    #[serde(default)]
    pub own_budget: Option<(i64, bool)>,
}

/// What is done first in some zones of a field.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OrderFacts {
    /// Its letter on the field's own sheet.
    pub letter: String,
    /// What is done.
    pub order: String,
    /// Where.
    pub place: String,
    /// Square metres.
    pub area_m2: f64,
    /// Whether nothing needs to be done.
    pub is_nothing: bool,
}

/// A zone on the first sheet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RowFacts {
    /// Its number.
    pub zone: u32,
    /// Position of what is done first.
    pub order_at: usize,
    /// Its area as printed.
    pub area: String,
    /// What is done first.
    pub order: String,
    /// One rate per product as printed.
    pub rates: Vec<String>,
    /// Cost of products and work by area as printed.
    pub cost: String,
}

/// Dollars in whole cents.
pub(super) fn cents(dollars: f64) -> i64 {
    (dollars * 100.0).round() as i64
}

impl FieldFacts {
    /// Cents of products and of other work, as the farm's bill counts them.
    #[must_use]
    pub fn cents(&self) -> (i64, i64) {
        let lines = self.purchases.iter().filter_map(|line| line.dollars);
        (lines.map(cents).sum(), self.sheet.money.1 * 100)
    }

    pub(in crate::deliver) fn new(
        overview: &Overview<'_>,
        review: &Review,
    ) -> Result<Self, DeliverError> {
        let stages = overview.stages;
        let field = stages.field;
        let outline = from_plane(&field.crs, &field.workable).map_err(|cause| {
            DeliverError::Inconsistent {
                what: cause.to_string(),
            }
        })?;
        let people = &stages.settings.people;
        let pieces = overview.pieces.iter().map(|piece| {
            let zone = overview.zones[piece.place].number;
            (piece.name(zone), zone)
        });
        let columns = overview.columns.iter().enumerate();
        let used = columns.filter(|(_, column)| column.is_used);
        Ok(Self {
            units: overview.units,
            grower: people.grower.clone(),
            farm: people.farm.clone(),
            cell_m: field.grid.cell,
            workable_m2: field.workable_m2,
            boundary: outline.iter().map(rings).collect(),
            pieces: pieces.collect(),
            products: used
                .map(|(at, column)| product(overview, at, column))
                .collect(),
            purchases: exact_purchases(stages.prescription)
                .iter()
                .map(purchase)
                .collect(),
            loads: stages.prescription.recipe.as_ref().map(loads),
            sheet: sheet(overview, &review.first),
        })
    }
}

fn rings(part: &Part) -> Rings {
    let ring = |spots: &Vec<Spot>| {
        let closed = spots.iter().chain(spots.first());
        closed
            .map(|spot| [spot.longitude(), spot.latitude()])
            .collect()
    };
    std::iter::once(&part.outer)
        .chain(&part.holes)
        .map(ring)
        .collect()
}

/// The part again, in the very same steps.
pub(super) fn part(rings: &Rings) -> Part {
    let ring = |places: &Vec<[f64; 2]>| -> Vec<Spot> {
        let open = places.split_last().map_or(&[][..], |(_, open)| open);
        open.iter()
            .map(|&[lon, lat]| Spot::from_degrees(lon, lat))
            .collect()
    };
    let mut all = rings.iter().map(ring);
    Part {
        outer: all.next().unwrap_or_default(),
        holes: all.collect(),
    }
}

fn product(overview: &Overview<'_>, at: usize, column: &RateColumn<'_>) -> ProductFacts {
    let product = column.product;
    let pieces = || overview.pieces.iter();
    ProductFacts {
        name: product.name.to_string(),
        label: product.label.clone(),
        word: product.name.words(),
        column: column.name.clone(),
        unit: column.unit.to_owned(),
        decimals: column.decimals,
        is_liquid: product.form == Metering::Liquid,
        rates: pieces().map(|piece| piece.rates[at]).collect(),
        steps: pieces()
            .map(|piece| setpoint_steps(overview, column, piece))
            .collect(),
        total: match product.form {
            Metering::Liquid => product.total_volume.litres(),
            Metering::Dry => product.total_mass.kilograms(),
        },
    }
}

fn purchase((name, purchase): &(String, Purchase<'_>)) -> PurchaseFacts {
    PurchaseFacts {
        name: name.clone(),
        label: purchase.label.to_owned(),
        is_liquid: matches!(purchase.amount, Measured::Volume(_)),
        amount: purchase.amount.stored(),
        pack: purchase.pack.cloned(),
        dollars: purchase.dollars,
        price_source: purchase.price_source,
    }
}

fn loads(recipe: &Recipe) -> LoadFacts {
    let ingredients = recipe.ingredients.iter();
    let loads = recipe.loads.iter().filter(|load| load.count > 0);
    LoadFacts {
        recipe: recipe.name.clone(),
        ingredients: ingredients
            .map(|ingredient| (ingredient.label.clone(), ingredient.is_dry))
            .collect(),
        loads: loads
            .map(|load| (load.count, load.volume.litres(), load.amounts.clone()))
            .collect(),
    }
}

/// The budget that the plan sets, or the farm file for each area alike; not a share of the farm's.
fn own_budget(overview: &Overview<'_>, first: &FirstSheet) -> Option<(i64, bool)> {
    let limit = first.money.budget.filter(|_| !first.money.is_share)?;
    let mut fixes = overview.zones.iter().flat_map(|view| &view.rates.fixes);
    Some((limit, fixes.any(|fix| fix.left_out)))
}

fn sheet(overview: &Overview<'_>, first: &FirstSheet) -> SheetFacts {
    let area = |zones: &[usize]| -> f64 {
        let areas = zones.iter().map(|&place| overview.zones[place].area());
        areas.map(Area::square_metres).sum()
    };
    let rows = first.table.rows.iter().map(|row| RowFacts {
        zone: row.zone,
        order_at: row.treatment,
        area: row.area.clone(),
        order: row.order.clone(),
        rates: row.rates.clone(),
        cost: row.cost.clone(),
    });
    let orders = first.treatments.iter().map(|treatment| OrderFacts {
        letter: treatment.letter.clone(),
        order: treatment.order.clone(),
        place: treatment.place.clone(),
        area_m2: area(&treatment.zones),
        is_nothing: treatment.is_nothing,
    });
    let before = first.before_you_drive.iter();
    SheetFacts {
        about: first.about.clone(),
        orders: orders.collect(),
        tests: first.tests.clone(),
        checks: first.checks.clone(),
        worth: first.worth.clone(),
        buy: first.buy_lines(),
        before_you_drive: before
            .map(|remark| (remark.summary(), remark.help.clone()))
            .collect(),
        more_remarks: first.more_remarks,
        unit_names: (
            first.table.area_unit.to_owned(),
            first.table.cost_unit.to_owned(),
        ),
        rows: rows.collect(),
        totals: first.table.totals.clone(),
        money: (first.money.products, first.money.work),
        guessed: first.money.guessed,
        money_line: first.money.line(),
        own_budget: own_budget(overview, first),
    }
}
