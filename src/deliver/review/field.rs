use crate::deliver::overview::Overview;
use crate::surface::Map;
use crate::units::{Area, Length, MoneyPerArea, Quantity, UnitSystem};

use super::money::Money;
use crate::deliver::numbers::{file_name, grouped};
use crate::text::capital;

/// Field, area, files, cost: pairs of a word and what there is to say.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FieldFacts {
    /// `Alder Flat: corn, 2027`.
    pub title: String,
    /// The facts, in order.
    pub rows: Vec<(String, String)>,
}

impl FieldFacts {
    pub(super) fn new(overview: &Overview<'_>) -> Self {
        let settings = overview.stages.settings;
        let mut rows = vec![("Area".to_owned(), area_line(overview))];
        rows.extend(kept_out_line(overview).map(|line| ("Kept out".to_owned(), line)));
        rows.push(("Observations".to_owned(), observation_line(overview)));
        rows.push(("Maps".to_owned(), map_line(overview)));
        rows.push(("Zones".to_owned(), zone_line(overview)));
        rows.push(("Products".to_owned(), cost_line(overview)));
        rows.push(("Money".to_owned(), Money::new(overview).line()));
        rows.extend(
            overview
                .stages
                .prescription
                .budget
                .as_ref()
                .map(|budget| ("Budget".to_owned(), budget_line(budget, overview.units))),
        );
        Self {
            title: format!("{}: {}, {}", settings.field, settings.crop, settings.season),
            rows,
        }
    }
}

fn both(area: Area, system: UnitSystem) -> String {
    let text = |unit: &str| {
        format!(
            "{} {unit}",
            grouped(area.in_unit(unit).unwrap_or_default(), 1)
        )
    };
    match system {
        UnitSystem::UnitedStates => format!("{} ({})", text("ac"), text("ha")),
        UnitSystem::Metric => format!("{} ({})", text("ha"), text("ac")),
    }
}

fn area_line(overview: &Overview<'_>) -> String {
    let field = overview.stages.field;
    let whole = both(Area::from_square_metres(field.area_m2), overview.units);
    let workable = both(Area::from_square_metres(field.workable_m2), overview.units);
    if (field.area_m2 - field.workable_m2).abs() < 1.0 {
        whole
    } else {
        format!("{workable} workable of {whole} inside the boundary")
    }
}

fn kept_out_line(overview: &Overview<'_>) -> Option<String> {
    let settings = overview.stages.settings;
    let lines: Vec<String> = settings
        .keep_outs
        .iter()
        .zip(&overview.stages.field.kept_out)
        .map(|(keep_out, taken)| {
            let show = |square_metres: f64| {
                Area::from_square_metres(square_metres).show(overview.units, 1)
            };
            let ground = format!(
                "{} of {} asked",
                show(taken.inside_m2),
                show(taken.covered_m2)
            );
            let distance = keep_out.distance;
            let buffer = if distance > Length::ZERO {
                format!(" with {} round it", distance.show(overview.units, 1))
            } else {
                String::new()
            };
            let file = keep_out.file.display().to_string();
            format!("{}: {ground} ({}{buffer})", keep_out.why, file_name(&file))
        })
        .collect();
    (!lines.is_empty()).then(|| lines.join("; "))
}

fn observation_line(overview: &Overview<'_>) -> String {
    let lines = overview.stages.field.places.iter().map(|places| {
        let (all, outside) = (places.x.len(), places.outside.len());
        let kind = match places.kind {
            crate::plan::PointKind::Cores => "samples of cores",
            crate::plan::PointKind::Cone => "cone pushes",
            crate::plan::PointKind::Readings => "readings",
        };
        let spots = distinct(places);
        let spots = if spots < all {
            format!(" at {} places", grouped(spots as f64, 0))
        } else {
            String::new()
        };
        let left_out = if outside > 0 {
            format!(", {outside} of them outside and not used")
        } else {
            String::new()
        };
        format!(
            "{} {kind}{spots} in {}{left_out}",
            grouped(all as f64, 0),
            file_name(&places.file)
        )
    });
    let text = lines.collect::<Vec<_>>().join("; ");
    if text.is_empty() {
        "none".to_owned()
    } else {
        text
    }
}

/// How many different places there are. Of a million places only those are sorted whose mark in a table of bits is another's too.
fn distinct(places: &crate::field::Places) -> usize {
    // Sixteen bits for each place, two megabytes at most.
    let bits = (16 * places.x.len().clamp(4, 1 << 20))
        .next_power_of_two()
        .ilog2();
    let spots = || {
        places
            .x
            .iter()
            .zip(&places.y)
            .map(|(x, y)| (x.to_bits(), y.to_bits()))
    };
    let mark = |(x, y): (u64, u64)| {
        let hash =
            ((x ^ y.rotate_left(29)).wrapping_mul(0x9E37_79B9_7F4A_7C15) >> (64 - bits)) as usize;
        (hash / 64, 1_u64 << (hash % 64))
    };
    let mut seen = vec![(0_u64, 0_u64); (1 << bits) / 64];
    for (word, bit) in spots().map(mark) {
        let (once, twice) = &mut seen[word];
        *twice |= *once & bit;
        *once |= bit;
    }
    let is_alone = |spot: &(u64, u64)| {
        let (word, bit) = mark(*spot);
        seen[word].1 & bit == 0
    };
    let mut shared: Vec<(u64, u64)> = spots().filter(|spot| !is_alone(spot)).collect();
    let alone = places.x.len() - shared.len();
    shared.sort_unstable();
    shared.dedup();
    alone + shared.len()
}

fn map_line(overview: &Overview<'_>) -> String {
    let surfaces = &overview.stages.surfaces.surfaces;
    let drawn = surfaces
        .iter()
        .filter(|surface| matches!(surface.map, Map::Drawn { .. }))
        .count();
    let cell = Length::from_metres(overview.stages.field.grid.cell).show(overview.units, 1);
    let flat = surfaces.len() - drawn;
    let rest = match flat {
        0 => String::new(),
        1 => "; 1 layer is not supported as a map and has one value for the field".to_owned(),
        n => format!("; {n} layers are not supported as maps and have one value for the field"),
    };
    format!(
        "{drawn} drawn on {} cells of {cell}{rest}",
        grouped(overview.stages.field.grid.cells.len() as f64, 0)
    )
}

/// The number of zones, and what was measured that shaped them; depths, methods and weights stand with the zone counts.
fn zone_line(overview: &Overview<'_>) -> String {
    let mut names: Vec<String> = overview
        .stages
        .zones
        .layers
        .iter()
        .map(|(key, _)| key.analyte.label())
        .collect();
    names.dedup();
    let shaped = if names.is_empty() {
        String::new()
    } else {
        format!(", shaped by {}", names.join(", "))
    };
    format!("{}{shaped}", overview.zones.len())
}

fn cost_line(overview: &Overview<'_>) -> String {
    let total = Money::new(overview).products as f64;
    let area: Area = overview
        .zones
        .iter()
        .map(super::super::zone_view::ZoneView::area)
        .sum();
    let hectares = area.in_unit("ha").unwrap_or_default();
    let mean = MoneyPerArea::from_dollars_per_hectare(if hectares > 0.0 {
        total / hectares
    } else {
        0.0
    });
    let unpriced: Vec<&str> = overview
        .columns
        .iter()
        .filter(|c| c.product.price.is_none() && c.rates.iter().any(|r| *r > 0.0))
        .map(|c| c.product.label.as_str())
        .collect();
    let gap = if unpriced.is_empty() {
        String::new()
    } else {
        format!(
            "; without a price, and not counted: {}",
            unpriced.join(", ")
        )
    };
    let per = MoneyPerArea::unit_in(overview.units);
    format!(
        "{} USD of products for the field, {} {per} on average{gap}",
        grouped(total, 0),
        grouped(mean.number_in(overview.units), 2)
    )
}

fn budget_line(budget: &crate::rates::BudgetOutcome, system: UnitSystem) -> String {
    let left_out = match budget.left_out.len() {
        0 => "nothing left out".to_owned(),
        1 => "1 fix left out".to_owned(),
        n => format!("{n} fixes left out"),
    };
    format!(
        "{} of {} spent; {left_out}",
        budget.spent.show(system, 2),
        budget.limit.show(system, 2)
    )
}

/// What the budget left out and what more money would buy.
pub(super) fn budget_lines(overview: &Overview<'_>) -> Vec<String> {
    let outcome = overview.stages.prescription.budget.as_ref();
    let Some(budget) = outcome else {
        return Vec::new();
    };
    let next = budget
        .next
        .as_ref()
        .map(|next| format!("Next, with more money: {next}"));
    budget
        .left_out
        .iter()
        .map(|line| capital(line))
        .chain(next)
        .collect()
}
