//! What the page is told of a farm.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::outline::{Outline, outlines};
use super::workshop::WorkedFarm;
use crate::deliver::TestLine;
use crate::farm::{FieldRecord, MoneyShare, Problem};
use crate::units::UnitSystem;

/// A farm with another budget.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FarmQuestion {
    /// What tells the saved farm file's state.
    pub farm: String,
    /// The budget that is tried.
    #[serde(default)]
    pub budget: TriedBudget,
}

/// A budget that is tried.
#[derive(Debug, Clone, Copy, PartialEq, Default, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum TriedBudget {
    /// What the farm file says.
    #[default]
    AsSaved,
    /// None: every field spends what it would spend alone.
    None,
    /// So many United States dollars for all fields.
    Dollars(f64),
}

/// The answer.
#[derive(Debug, Serialize)]
pub struct FarmAnswer {
    /// What tells the saved farm file's state.
    pub farm: String,
    /// Whether it is the saved farm's.
    pub is_saved: bool,
    /// Name of the farm.
    pub name: String,
    /// Money.
    pub budget: BudgetFacts,
    /// The fields with a result, in the order of the farm.
    pub fields: Vec<FieldFacts>,
    /// What is wrong with the others.
    pub problems: Vec<ProblemFacts>,
    /// What changed against the saved farm.
    pub difference: Vec<String>,
    /// The farm's own files.
    pub files: Vec<String>,
}

/// The farm's money, United States dollars; whole ones but for the limit, which is the plan's to the cent.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BudgetFacts {
    /// The most that may be spent; none without a budget for the whole farm.
    pub limit: Option<f64>,
    /// What the fields would spend without one.
    pub wanted: f64,
    /// What they spend.
    pub spent: f64,
    /// How many fields get less than they would spend.
    pub short: usize,
    /// What is to be said of it.
    pub says: Vec<String>,
}

/// A field in the list.
#[derive(Debug, Serialize)]
pub struct FieldFacts {
    /// Name in the farm.
    pub id: String,
    /// Name of the field.
    pub field: String,
    /// Crop.
    pub crop: String,
    /// Area with its unit.
    pub area: String,
    /// Area as a number, to sort by.
    pub hectares: f64,
    /// How many zones.
    pub zones: usize,
    /// What is done first.
    pub first: Option<String>,
    /// What to test first.
    pub test: Option<String>,
    /// Products and other work, whole dollars.
    pub cost: f64,
    /// The field's share of the farm's money, where it gets less than it would spend.
    pub granted: Option<f64>,
    /// Remarks that somebody should look at.
    pub looks: usize,
    /// Whether its plan is a file, so that it has a desk of its own.
    pub has_desk: bool,
    /// Its outline.
    pub outline: Option<Outline>,
}

/// Why a field has no result.
#[derive(Debug, Serialize)]
pub struct ProblemFacts {
    /// Name in the farm.
    pub id: String,
    /// What is wrong.
    pub what: String,
    /// The way out.
    pub help: String,
}

/// The facts of a farm that was worked on.
pub fn facts(
    worked: &WorkedFarm,
    (farm, is_saved): (&str, bool),
    has_desk: impl Fn(&str) -> bool,
) -> FarmAnswer {
    let (units, result) = (worked.farm.facts.units, &worked.result);
    let outlines = outlines(&result.records);
    let fields = result.records.iter().zip(outlines);
    FarmAnswer {
        farm: farm.to_owned(),
        is_saved,
        name: worked.farm.facts.farm.clone(),
        budget: budget(worked),
        fields: fields
            .map(|(record, outline)| {
                let granted = result.allotments.get(&record.row.id);
                let granted = granted.and_then(|allotment| allotment.cents);
                FieldFacts {
                    granted: granted.map(|cents| (cents as f64 / 100.0).floor()),
                    has_desk: has_desk(&record.row.plan),
                    ..field(record, units, outline)
                }
            })
            .collect(),
        problems: problems(&result.problems),
        difference: Vec::new(),
        files: result.files.clone(),
    }
}

fn field(record: &FieldRecord, units: UnitSystem, outline: Option<Outline>) -> FieldFacts {
    let (row, sheet) = (&record.row, &record.facts.sheet);
    let (area, unit) = match units {
        UnitSystem::Metric => (row.area_ha, "ha"),
        UnitSystem::UnitedStates => (row.area_ac, "ac"),
    };
    FieldFacts {
        id: row.id.clone(),
        field: row.field.clone(),
        crop: row.crop.clone(),
        area: format!("{area:.1} {unit}"),
        hectares: row.area_ha,
        zones: row.zones,
        first: sheet.orders.first().map(|order| order.order.clone()),
        test: sheet.tests.first().map(TestLine::text),
        cost: (row.cost_usd + row.work_usd).round(),
        granted: None,
        looks: row.looks.len(),
        has_desk: false,
        outline,
    }
}

fn problems(problems: &[Problem]) -> Vec<ProblemFacts> {
    let facts = |problem: &Problem| ProblemFacts {
        id: problem.id.clone(),
        what: problem.what.clone(),
        help: problem.way_out.clone(),
    };
    problems.iter().map(facts).collect()
}

fn budget(worked: &WorkedFarm) -> BudgetFacts {
    let records = worked.result.records.iter();
    // The sum of the cents, as the bill has it: the fields' whole dollars would add up to another.
    let cents = records.map(|record| record.facts.cents());
    let spent = cents.map(|(products, work)| products + work).sum::<i64>() as f64 / 100.0;
    let Some(money) = &worked.result.money else {
        return BudgetFacts {
            limit: None,
            wanted: spent.round(),
            spent: spent.round(),
            short: 0,
            says: Vec::new(),
        };
    };
    let dollars = |cents: u64| (cents as f64 / 100.0).round();
    BudgetFacts {
        limit: Some(money.limit as f64 / 100.0),
        wanted: dollars(money.wanted),
        spent: spent.round(),
        short: money.short,
        says: says(money),
    }
}

/// What the sheet of the farm says of its money too.
fn says(money: &MoneyShare) -> Vec<String> {
    let mut says = Vec::new();
    if money.decided > money.limit {
        says.push(format!(
            "Rates that were set by hand cost {} USD more than the limit; they are paid all the same.",
            (money.decided - money.limit).div_ceil(100)
        ));
    }
    let less = match money.short {
        0 => return says,
        1 => "One field gets less than it would spend alone".to_owned(),
        short => format!("{short} fields get less than they would spend alone"),
    };
    says.push(format!("{less}; the money goes where it relieves most."));
    says
}

/// What is done on each field, by its name: the field, the totals of its products, and whole dollars.
pub fn deeds(worked: &WorkedFarm) -> BTreeMap<String, (String, Vec<String>, f64)> {
    let records = worked.result.records.iter();
    records
        .map(|record| {
            let totals = record.facts.sheet.totals.clone();
            let cost = (record.row.cost_usd + record.row.work_usd).round();
            (
                record.row.id.clone(),
                (record.row.field.clone(), totals, cost),
            )
        })
        .collect()
}
