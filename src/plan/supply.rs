//! What nutrient rates go by: the region whose tables hold, the yield goal, what stands in the shed, the interest on money.

use serde::Serialize;

use super::read_texts::read_texts;
use super::reading::{TableReader, Typed, Written};
use crate::provenance::Place;
use crate::units::{Mass, MassPerArea, Volume};

/// Region, yield goals, shed and interest of a plan.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Supply {
    /// The pack of regional rules; national numbers where absent.
    pub region: Option<String>,
    /// Yield goal of each crop that the plan names.
    pub yield_goals: Vec<(String, YieldGoal)>,
    /// What was harvested last, by crop.
    pub last_harvests: Vec<(String, YieldGoal)>,
    /// What may be used; everything that is meant as an organic input where absent.
    pub shed: Option<Shed>,
    /// Most dry products of the nutrient mix that are spread over the field in a season.
    pub passes: Option<u8>,
    /// Interest, percent a year.
    pub interest: Option<f64>,
    /// Rows of the plan in which names stand that the rulebook has to know, by key.
    #[serde(skip)]
    pub rows: Vec<(String, u32)>,
}

/// A yield that is aimed at.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum YieldGoal {
    /// Bushels per acre.
    BushelsPerAcre(f64),
    /// Mass per area.
    Mass(MassPerArea),
}

/// What is on hand or allowed.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Shed {
    /// The products that may be used.
    pub products: Vec<String>,
    /// How much of a product there is, kilograms or litres.
    pub on_hand: Vec<(String, Stock)>,
    /// The user's own analysis: product, and percent of each part.
    pub analysis: Vec<(String, Vec<(String, f64)>)>,
    /// Where in the plan it stands.
    pub place: Option<Place>,
}

/// An amount on hand.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Stock {
    /// Of a dry product.
    Mass(Mass),
    /// Of a liquid.
    Volume(Volume),
}

impl Stock {
    /// Whether there is nothing of it.
    #[must_use]
    pub fn is_none(self) -> bool {
        match self {
            Self::Mass(mass) => mass <= Mass::ZERO,
            Self::Volume(volume) => volume <= Volume::ZERO,
        }
    }
}

/// Names and texts as typed.
type WrittenPairs = Vec<(Written<String>, Written<String>)>;

/// `[shed]` as typed.
#[derive(Default)]
pub(super) struct ShedTable {
    pub place: Option<Place>,
    pub products: Typed<Vec<String>>,
    pub on_hand: Vec<(Written<String>, Written<String>)>,
    pub analysis: Vec<(String, WrittenPairs)>,
}

impl ShedTable {
    pub(super) fn read(mut table: TableReader<'_>) -> Self {
        let texts = |table: Option<TableReader<'_>>, wanted: &str| {
            table
                .map(|table| read_texts(&table, wanted))
                .unwrap_or_default()
        };
        let read = Self {
            place: Some(table.place()),
            products: table.texts("products", "products = [\"gypsum\", \"poultry_litter\"]"),
            on_hand: texts(
                table
                    .table(
                        "on_hand",
                        "on_hand = { poultry_litter = \"40 ton\" }, amounts by product",
                    )
                    .into_given(),
                "an amount such as \"40 ton\" or \"500 gal\"",
            ),
            analysis: read_analyses(&mut table),
        };
        table.finish();
        read
    }
}

fn read_analyses(table: &mut TableReader<'_>) -> Vec<(String, WrittenPairs)> {
    let wanted =
        "[shed.analysis.poultry_litter] and below it lines such as nitrogen = \"62 lb/ton\"";
    let Some(analyses) = table.table("analysis", wanted).into_given() else {
        return Vec::new();
    };
    let entries = analyses.entries().into_iter();
    entries
        .filter_map(|(product, item)| {
            let Some(parts) = item.as_table() else {
                item.refuse(wanted);
                return None;
            };
            let parts = read_texts(&parts, "a content such as \"3.1 %\" or \"62 lb/ton\"");
            Some((product.value, parts))
        })
        .collect()
}
