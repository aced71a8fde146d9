//! Filled columns become layers: one per depth, with what is odd about each column said.

use std::sync::Arc;

use crate::analyte::{Analyte, Catalogue, DepthRange};
use crate::order_statistics::rising;
use crate::remark::Remark;
use crate::units::significant;

use crate::intake::context::Context;
use crate::intake::survey::{LayerColumn, Qualifier};
use crate::intake::table::result_column::{Filling, counts_as, mistaken_unit};
use crate::intake::table::row_depth::{NO_DEPTH, RowDepths};
use crate::intake::table::tally::RowTally;

/// The layers of all columns.
pub(in crate::intake) fn layers_of(
    columns: Vec<Filling>,
    depths: &RowDepths,
    rows: usize,
    numbers: &[u32],
    context: &mut Context<'_>,
) -> Vec<LayerColumn> {
    let mut layers: Vec<LayerColumn> = Vec::new();
    for mut column in columns {
        column.values.resize(rows, f64::NAN);
        context.errors.extend(column.take_errors());
        remark_on_column(&column, numbers, context);
        let found = split_by_depth(column, depths);
        for layer in found {
            match layers.iter_mut().find(|other| other.key == layer.key) {
                Some(other) => merge(other, layer, numbers, context),
                None => layers.push(layer),
            }
        }
    }
    layers
}

fn split_by_depth(mut column: Filling, depths: &RowDepths) -> Vec<LayerColumn> {
    let make = |column: &Filling,
                depth: Option<DepthRange>,
                values: Vec<f64>,
                qualified: Vec<(u32, Qualifier)>| LayerColumn {
        key: column.spec.key(depth),
        column: Arc::clone(&column.spec.name),
        unit: Arc::clone(&column.spec.unit.canonical),
        values,
        qualified,
        derived: false,
    };
    let has_any = |values: &[f64], qualified: &[(u32, Qualifier)]| {
        !qualified.is_empty() || values.iter().any(|v| v.is_finite())
    };
    if column.spec.depth.is_some() || !depths.is_by_row() {
        let (values, qualified) = (
            std::mem::take(&mut column.values),
            std::mem::take(&mut column.qualified),
        );
        return if has_any(&values, &qualified) {
            vec![make(&column, depths.fixed(), values, qualified)]
        } else {
            Vec::new()
        };
    }
    let mut layers = Vec::new();
    let all = depths
        .depths
        .iter()
        .copied()
        .map(Some)
        .enumerate()
        .map(|(at, depth)| (at as u8, depth))
        .chain([(NO_DEPTH, None)]);
    for (index, depth) in all {
        let is_own = |at: usize| depths.of_row.get(at) == Some(&index);
        let values: Vec<f64> = column
            .values
            .iter()
            .enumerate()
            .map(|(at, v)| if is_own(at) { *v } else { f64::NAN })
            .collect();
        let qualified: Vec<(u32, Qualifier)> = column
            .qualified
            .iter()
            .copied()
            .filter(|(at, _)| is_own(*at as usize))
            .collect();
        if has_any(&values, &qualified) {
            layers.push(make(&column, depth, values, qualified));
        }
    }
    layers
}

/// Two columns of one meaning after all (a long table with two spellings): results of the second fill the gaps of the first.
fn merge(into: &mut LayerColumn, from: LayerColumn, numbers: &[u32], context: &mut Context<'_>) {
    let mut clashes = RowTally::default();
    for ((to, value), row) in into.values.iter_mut().zip(&from.values).zip(numbers) {
        if to.is_finite() && value.is_finite() {
            clashes.add(*row);
        } else if to.is_nan() {
            *to = *value;
        }
    }
    into.qualified.extend(from.qualified);
    into.qualified.sort_by_key(|(at, _)| *at);
    into.qualified.dedup_by_key(|(at, _)| *at);
    let what = format!(
        "\"{}\" and \"{}\" are both {}: read as one layer",
        into.column, from.column, into.key
    );
    context
        .remarks
        .push(Remark::assumption("columns-joined", what).at(context.column(&from.column)));
    let place = context.column(&from.column);
    context.remarks.extend(clashes.remark(|rows| {
        let what = format!(
            "{} a result in both; that of \"{}\" is used",
            rows.do_it("has", "have"),
            into.column
        );
        let remark = Remark::warning("two-results", what).at(place);
        remark.help("leave one of them out with ignore")
    }));
}

fn remark_on_column(column: &Filling, numbers: &[u32], context: &mut Context<'_>) {
    let place = context.column(&column.spec.name);
    context.remarks.extend(column.no_numbers.remark(&place));
    context.remarks.extend(column.coded.remark(|rows| {
        let what = format!(
            "{} a logger's code for no reading (such as -9999): taken as missing",
            rows.do_it("holds", "hold")
        );
        let remark = Remark::warning("missing-code", what).at(place.clone());
        remark.help("leave such cells empty")
    }));
    let count = column
        .values
        .iter()
        .filter(|value| value.is_finite())
        .count();
    if count == 0 && column.qualified.is_empty() {
        context.remarks.push(
            Remark::info(
                "column-empty",
                "the column holds no result: no layer is made of it",
            )
            .at(place),
        );
        return;
    }
    remark_on_qualifiers(column, numbers, context);
    let can_be_zero = matches!(column.spec.analyte, Analyte::Covariate(_));
    if !can_be_zero
        && count > 2
        && column
            .values
            .iter()
            .all(|value| value.is_nan() || *value == 0.0)
    {
        let what = "every result is 0: a lab may write 0 where nothing was tested".to_owned();
        context.remarks.push(
            Remark::warning("all-zero", what)
                .at(place)
                .help("leave the column out with ignore if it was not tested"),
        );
    } else if column.odd.count() > 0 {
        remark_on_range(column, context);
    }
}

fn remark_on_qualifiers(column: &Filling, numbers: &[u32], context: &mut Context<'_>) {
    let count =
        |test: fn(&Qualifier) -> bool| column.qualified.iter().filter(|(_, q)| test(q)).count();
    let below = count(|q| matches!(q, Qualifier::Below(_)));
    let unknown = count(|q| matches!(q, Qualifier::BelowUnknown));
    let above = count(|q| matches!(q, Qualifier::Above(_)));
    let estimated = count(|q| matches!(q, Qualifier::Estimated));
    let mut parts = Vec::new();
    if below > 0 {
        let rule = match counts_as(&column.spec.analyte, context.rules.below_detection) {
            crate::plan::BelowDetection::Half => "half the limit is used",
            crate::plan::BelowDetection::Limit => "the limit is used",
            crate::plan::BelowDetection::Zero => "0 is used",
            crate::plan::BelowDetection::Missing => "not used",
        };
        parts.push(format!("{below} below a limit ({rule})"));
    }
    if unknown > 0 {
        parts.push(format!(
            "{unknown} below a limit that the file does not give (not used)"
        ));
    }
    if above > 0 {
        parts.push(format!(
            "{above} above the range of the test (the limit is used)"
        ));
    }
    if estimated > 0 {
        parts.push(format!("{estimated} estimated (used)"));
    }
    if parts.is_empty() {
        return;
    }
    let first = column
        .qualified
        .first()
        .and_then(|(at, _)| numbers.get(*at as usize))
        .copied();
    let place = context.column(&column.spec.name);
    let place = first.map_or_else(|| place.clone(), |row| place.clone().at_row(row));
    let remark = Remark::info(
        "qualified-results",
        format!("results with a qualifier: {}", parts.join(", ")),
    )
    .at(place);
    let remark = if below > 0 {
        remark.help("below_detection in the plan sets the rule")
    } else {
        remark
    };
    context.remarks.push(remark);
}

/// Results outside the plausible range, and the unit that would explain them.
fn remark_on_range(column: &Filling, context: &mut Context<'_>) {
    let Some(entry) = Catalogue::built_in().entry(&column.spec.analyte) else {
        return;
    };
    let place = context.column(&column.spec.name);
    let unit = &column.spec.unit.canonical;
    let finite = rising(&column.values);
    let Some(&median) = finite.get(finite.len() / 2) else {
        return;
    };
    let is_odd = |value: f64| value < entry.plausible.0 || value > entry.plausible.1;
    let declared = column
        .spec
        .unit
        .factor(None, 1.0)
        .filter(|factor| *factor > 0.0);
    if is_odd(median)
        && let Some(factor) = declared
        && let Some(other) = mistaken_unit(&column.spec.analyte, median / factor, entry.plausible)
    {
        let label = column.spec.analyte.label();
        let what = format!(
            "the median, {} {unit}, is not usual for {label}; read as {other} it would be",
            significant(median, 4)
        );
        let first = other.split(" or ").next().unwrap_or(&other);
        let help = format!("if the column holds {other}, say so in the plan: unit = \"{first}\"");
        context
            .remarks
            .push(Remark::warning("unit-mistake", what).at(place).help(help));
        return;
    }
    let show = |value: f64| significant(value, 4);
    let what = format!(
        "{} outside the usual {} to {} {unit} (found {} to {})",
        column.odd.show(),
        show(entry.plausible.0),
        show(entry.plausible.1),
        show(finite.first().copied().unwrap_or(median)),
        show(finite.last().copied().unwrap_or(median)),
    );
    context.remarks.push(
        Remark::warning("unusual-value", what)
            .at(place)
            .help("check these rows; they are used as they stand"),
    );
}
