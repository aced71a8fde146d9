//! Region, yield goals, shed and interest, checked.

use super::words::Resolver;
use crate::plan::error::PlanError;
use crate::plan::file::PlanFile;
use crate::plan::reading::Written;
use crate::plan::supply::{Shed, ShedTable, Stock, Supply, YieldGoal};
use crate::units::{Mass, MassPerArea, Quantity, Volume, split_number_and_unit};

/// What the plan says of region, goals, shed and interest.
pub(super) fn supply(plan: &PlanFile, resolver: &Resolver<'_>) -> Supply {
    let interest = plan.budget.given().and_then(|budget| {
        let written = budget.value.interest.given()?;
        let is_possible = (0.0..=40.0).contains(&written.value);
        if !is_possible {
            resolver.out_of_range(&written.place, written.value, "0 to 40 percent a year");
        }
        is_possible.then_some(written.value)
    });
    let passes = plan.machine.passes.given().and_then(|written| {
        let passes = u8::try_from(written.value).ok();
        let possible = passes.filter(|passes| (1..=4).contains(passes));
        if possible.is_none() {
            resolver.out_of_range(&written.place, written.value, "1 to 4 passes");
        }
        possible
    });
    Supply {
        region: plan.region.given().map(|written| written.value.clone()),
        yield_goals: yields(&plan.yield_goals, resolver),
        last_harvests: yields(&plan.last_harvests, resolver),
        shed: plan
            .shed
            .place
            .is_some()
            .then(|| shed(&plan.shed, resolver)),
        passes,
        interest,
        rows: rows(plan),
    }
}

/// The rows of the names that the rulebook has to know.
fn rows(plan: &PlanFile) -> Vec<(String, u32)> {
    let crops = |table: &'static str, yields: &[(Written<String>, Written<String>)]| {
        let row = move |(crop, _): &(Written<String>, Written<String>)| {
            Some((format!("{table}.{}", crop.value), crop.place.row?))
        };
        yields.iter().filter_map(row).collect::<Vec<_>>()
    };
    let mut rows = crops("yield_goal", &plan.yield_goals);
    rows.extend(crops("last_harvest", &plan.last_harvests));
    rows.extend(crops("shed.on_hand", &plan.shed.on_hand));
    let products = plan.shed.products.given();
    rows.extend(products.and_then(|list| Some(("shed.products".to_owned(), list.place.row?))));
    let region = plan.region.given();
    rows.extend(region.and_then(|region| Some(("region".to_owned(), region.place.row?))));
    rows
}

fn yields(
    written: &[(Written<String>, Written<String>)],
    resolver: &Resolver<'_>,
) -> Vec<(String, YieldGoal)> {
    let written = written.iter();
    written
        .filter_map(|(crop, text)| Some((crop.value.clone(), yield_goal(text, resolver)?)))
        .collect()
}

/// No crop of the field yields more, kg/ha: above the heaviest potatoes and beets.
const MOST_YIELD: f64 = 200_000.0;
/// No grain yields more bushels per acre.
const MOST_BUSHELS: f64 = 700.0;

fn yield_goal(text: &Written<String>, resolver: &Resolver<'_>) -> Option<YieldGoal> {
    let split = split_number_and_unit(&text.value);
    let goal = match split {
        Some((bushels, "bu/ac" | "bu/acre")) => Some(YieldGoal::BushelsPerAcre(bushels)),
        Some((hundredweight, "cwt/ac" | "cwt/acre")) => Some(YieldGoal::Mass(
            MassPerArea::parse(&format!("{} lb/ac", hundredweight * 100.0)).ok()?,
        )),
        _ => match MassPerArea::parse(&text.value) {
            Ok(mass) => Some(YieldGoal::Mass(mass)),
            Err(cause) => {
                resolver.note(PlanError::Unit {
                    place: text.place.clone(),
                    cause,
                });
                None
            }
        },
    }?;
    let is_possible = match goal {
        YieldGoal::BushelsPerAcre(bushels) => bushels > 0.0 && bushels <= MOST_BUSHELS,
        YieldGoal::Mass(mass) => {
            let mass = mass.kilograms_per_hectare();
            mass > 0.0 && mass <= MOST_YIELD
        }
    };
    if !is_possible {
        let allowed = "more than 0, at most 700 bu/ac or 200 t/ha (such as \"180 bu/ac\", \"5 ton/ac\", \"350 cwt/ac\", \"9 tonne/ha\")";
        resolver.out_of_range(&text.place, &text.value, allowed);
    }
    is_possible.then_some(goal)
}

fn shed(table: &ShedTable, resolver: &Resolver<'_>) -> Shed {
    let products = table.products.given();
    if let Some(empty) = products.filter(|list| list.value.is_empty()) {
        resolver.contradiction(
            &empty.place,
            "a shed from which nothing may be used",
            "name the products that may be used, or take products out of [shed]",
        );
    }
    Shed {
        products: products
            .map(|written| written.value.clone())
            .unwrap_or_default(),
        on_hand: stocks(table, resolver),
        analysis: table
            .analysis
            .iter()
            .map(|(product, parts)| {
                let parts = parts.iter().filter_map(|(name, text)| {
                    Some((name.value.clone(), content(text, resolver)?))
                });
                (product.clone(), parts.collect())
            })
            .collect(),
        place: table.place.clone(),
    }
}

/// Amounts on hand by product.
pub(super) fn stocks(table: &ShedTable, resolver: &Resolver<'_>) -> Vec<(String, Stock)> {
    let stocks = table.on_hand.iter();
    stocks
        .filter_map(|(name, text)| Some((name.value.clone(), stock(text, resolver)?)))
        .collect()
}

fn stock(text: &Written<String>, resolver: &Resolver<'_>) -> Option<Stock> {
    let stock = Volume::parse(&text.value)
        .map(Stock::Volume)
        .or_else(|_| Mass::parse(&text.value).map(Stock::Mass));
    let amount = match &stock {
        Ok(Stock::Mass(mass)) => mass.kilograms(),
        Ok(Stock::Volume(volume)) => volume.litres(),
        Err(_) => 0.0,
    };
    match stock {
        Ok(stock) if amount >= 0.0 => Some(stock),
        Ok(_) => {
            resolver.out_of_range(&text.place, &text.value, "0 or more");
            None
        }
        Err(cause) => {
            resolver.note(PlanError::Unit {
                place: text.place.clone(),
                cause,
            });
            None
        }
    }
}

/// Percent of a part: `"3.1 %"`, `"62 lb/ton"`, `"31 kg/tonne"`.
fn content(text: &Written<String>, resolver: &Resolver<'_>) -> Option<f64> {
    let percent = split_number_and_unit(&text.value).and_then(|(number, unit)| {
        let factor = match unit {
            "%" => 1.0,
            "lb/ton" => 0.05,
            "kg/tonne" | "kg/t" | "g/kg" => 0.1,
            _ => return None,
        };
        Some(number * factor)
    });
    let possible = percent.filter(|percent| (0.0..=100.0).contains(percent));
    if possible.is_none() {
        let allowed =
            "a content of 0 to 100 %, such as \"3.1 %\", \"62 lb/ton\" or \"31 kg/tonne\"";
        resolver.out_of_range(&text.place, &text.value, allowed);
    }
    possible
}
