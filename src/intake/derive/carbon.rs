use super::free_lime;
use super::layers::{at_depth, by_method, count, derived, find, has, list_rows, place, value};
use crate::analyte::{Analyte, LayerKey, Method};
use crate::intake::survey::{LayerColumn, PointTable};
use crate::remark::Remark;
use crate::soil::{
    CarbonAndNitrogen, OrganicMatterFactor, RatioKind, carbon_nitrogen_ratio, organic_carbon_pct,
};
use crate::units::{decimal, significant};

/// A laboratory's own ratio that differs by more than this share from the one computed is remarked on (own).
const RATIO_TOLERANCE: f64 = 0.10;

/// Organic carbon from organic matter, for every depth that has the one and not the other.
pub(super) fn add_organic_carbon(table: &mut PointTable, remarks: &mut Vec<Remark>) {
    let factor = OrganicMatterFactor::Conventional;
    let mut new: Vec<LayerColumn> = Vec::new();
    for matter in table
        .layers
        .iter()
        .filter(|layer| layer.key.analyte == Analyte::OrganicMatter)
    {
        let depth = matter.key.depth;
        if has(table, &Analyte::OrganicCarbon, depth)
            || new.iter().any(|layer| layer.key.depth == depth)
        {
            continue;
        }
        let carbon = |&value: &f64| organic_carbon_pct(value, factor).unwrap_or(f64::NAN);
        let values: Vec<f64> = matter.values.iter().map(carbon).collect();
        let how = format!("{} / {}", matter.column, factor.value());
        let what = format!(
            "organic carbon{} of {} rows is organic matter ({}) / {}, as the plan asks: the conventional factor, which is too low for most soils \
             (Pribyl 2010)",
            at_depth(depth),
            count(&values),
            matter.column,
            factor.value()
        );
        let help = "have organic carbon measured; residue taken along with the core inflates organic matter";
        remarks.push(
            Remark::info("organic-carbon-from-organic-matter", what)
                .at(place(table, matter, None))
                .help(help),
        );
        let key = LayerKey::new(
            Analyte::OrganicCarbon,
            Some(Method::new("from-organic-matter")),
            depth,
        );
        new.push(derived(key, how, "%", values, &[matter]));
    }
    table.layers.extend(new);
}

/// A carbon and a nitrogen that may be divided, and the method of their ratio.
struct Pair<'a> {
    carbon: &'a LayerColumn,
    nitrogen: &'a LayerColumn,
    kind: RatioKind,
    method: Method,
}

/// C:N of every depth and kind of test that has carbon and nitrogen.
pub(super) fn add_ratios(table: &mut PointTable, free_lime_ph: f64, remarks: &mut Vec<Remark>) {
    let mut new = Vec::new();
    for pair in pairs(table) {
        let (values, calcareous) = ratios(table, &pair, free_lime_ph);
        if !calcareous.is_empty() {
            remarks.push(carbonate_remark(table, &pair, free_lime_ph, &calcareous));
        }
        if count(&values) == 0 {
            continue;
        }
        let depth = pair.carbon.key.depth;
        let same = |layer: &&LayerColumn| {
            layer.key.analyte == Analyte::CarbonNitrogenRatio
                && layer.key.depth == depth
                && layer
                    .key
                    .method
                    .as_ref()
                    .is_none_or(|method| *method == pair.method)
        };
        if let Some(own) = table.layers.iter().find(same) {
            remarks.extend(compare(table, own, &values, &pair));
            continue;
        }
        let what = format!(
            "C:N ({}){} of {} rows is {} / {}",
            pair.method,
            at_depth(depth),
            count(&values),
            pair.carbon.column,
            pair.nitrogen.column
        );
        remarks.push(Remark::info("derived-cn-ratio", what).at(place(table, pair.carbon, None)));
        let key = LayerKey::new(
            Analyte::CarbonNitrogenRatio,
            Some(pair.method.clone()),
            depth,
        );
        let how = format!("{} / {}", pair.carbon.column, pair.nitrogen.column);
        new.push(derived(
            key,
            how,
            "ratio",
            values,
            &[pair.carbon, pair.nitrogen],
        ));
    }
    table.layers.extend(new);
}

/// Carbon and nitrogen of one extract; organic carbon before total carbon, which counts carbonate.
fn pairs(table: &PointTable) -> Vec<Pair<'_>> {
    let mut pairs: Vec<Pair<'_>> = Vec::new();
    for nitrogen in &table.layers {
        let depth = nitrogen.key.depth;
        let found = match nitrogen.key.analyte {
            Analyte::WaterNitrogen => {
                let same_extract = |method: Option<&Method>| method == nitrogen.key.method.as_ref();
                find(table, &Analyte::WaterCarbon, depth, same_extract).map(|carbon| {
                    (
                        carbon,
                        RatioKind::WaterExtract,
                        Method::new("water-extract"),
                    )
                })
            }
            Analyte::TotalNitrogen => find(table, &Analyte::OrganicCarbon, depth, |_| true)
                .map(|carbon| (carbon, RatioKind::Organic, bulk_method(carbon)))
                .or_else(|| {
                    find(table, &Analyte::TotalCarbon, depth, |_| true)
                        .map(|carbon| (carbon, RatioKind::Total, bulk_method(carbon)))
                }),
            _ => None,
        };
        if let Some((carbon, kind, method)) = found
            && !pairs
                .iter()
                .any(|pair| pair.method == method && pair.carbon.key.depth == depth)
        {
            pairs.push(Pair {
                carbon,
                nitrogen,
                kind,
                method,
            });
        }
    }
    pairs
}

/// A ratio of bulk carbon carries the carbon's test; dry combustion where the file names none.
fn bulk_method(carbon: &LayerColumn) -> Method {
    carbon
        .key
        .method
        .clone()
        .unwrap_or_else(|| Method::new("combustion"))
}

/// The ratios, and the rows left out because total carbon counts their carbonate.
fn ratios(table: &PointTable, pair: &Pair<'_>, free_lime_ph: f64) -> (Vec<f64>, Vec<usize>) {
    let ph = free_lime::chosen(table, pair.carbon.key.depth);
    let nitrogen_kind = if pair.kind == RatioKind::WaterExtract {
        RatioKind::WaterExtract
    } else {
        RatioKind::Total
    };
    let mut calcareous = Vec::new();
    let values = (0..table.row.len())
        .map(|row| {
            let (Some(carbon), Some(nitrogen)) =
                (value(pair.carbon, row), value(pair.nitrogen, row))
            else {
                return f64::NAN;
            };
            if pair.kind == RatioKind::Total
                && ph
                    .and_then(|ph| value(ph, row))
                    .is_some_and(|ph| ph >= free_lime_ph)
            {
                calcareous.push(row);
                return f64::NAN;
            }
            let sample = CarbonAndNitrogen {
                carbon,
                carbon_kind: pair.kind,
                nitrogen,
                nitrogen_kind,
            };
            carbon_nitrogen_ratio(&sample).unwrap_or(f64::NAN)
        })
        .collect();
    (values, calcareous)
}

fn carbonate_remark(
    table: &PointTable,
    pair: &Pair<'_>,
    free_lime_ph: f64,
    rows: &[usize],
) -> Remark {
    let what = format!(
        "no C:N was made of total carbon ({}) in {}: pH is {} or more there and total carbon counts carbonate",
        pair.carbon.column,
        list_rows(table, rows),
        decimal(free_lime_ph, 2)
    );
    Remark::warning("carbonate-in-total-carbon", what)
        .at(place(table, pair.carbon, rows.first().copied()))
        .help("have organic carbon measured on these cores")
}

/// A remark where the laboratory's own ratio is far from the one that follows from its carbon and nitrogen.
fn compare(
    table: &PointTable,
    own: &LayerColumn,
    computed: &[f64],
    pair: &Pair<'_>,
) -> Option<Remark> {
    let is_off = |(row, ours): (usize, &f64)| {
        let theirs = value(own, row)?;
        (ours.is_finite() && (theirs - ours).abs() > RATIO_TOLERANCE * ours.abs())
            .then_some((row, theirs, *ours))
    };
    let off: Vec<(usize, f64, f64)> = computed.iter().enumerate().filter_map(is_off).collect();
    let &(first, theirs, ours) = off.first()?;
    let rows: Vec<usize> = off.iter().map(|(row, ..)| *row).collect();
    let what = format!(
        "the file's C:N ({}, {}) is more than 10 % off {} / {} in {}: {} against {} first. The file's value is used",
        own.column,
        by_method(own.key.method.as_ref()),
        pair.carbon.column,
        pair.nitrogen.column,
        list_rows(table, &rows),
        significant(theirs, 3),
        significant(ours, 3)
    );
    let help = "say in the plan which test this C:N comes from (water-extract, combustion), or leave the column out";
    Some(
        Remark::warning("laboratory-value-differs", what)
            .at(place(table, own, Some(first)))
            .help(help),
    )
}
