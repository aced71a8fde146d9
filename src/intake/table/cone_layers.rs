//! Layers of cone index: one for each depth mark or slice of marks, and the largest reading of each push.

use std::sync::Arc;

use crate::analyte::{Analyte, DepthRange, LayerKey, Method};
use crate::remark::Remark;
use crate::units::{Length, UnitSystem};

use crate::intake::columns::cone_roles::ConeForm;
use crate::intake::context::Context;
use crate::intake::survey::LayerColumn;

/// Above this many marks the layers are slices of several marks.
const MOST_MARK_LAYERS: usize = 12;

/// One layer per mark (or slice of marks), and the maximum over the whole depth. `is_refused` says of each push whether the soil refused it.
pub(in crate::intake) fn profile_layers(
    form: &ConeForm,
    marks: &[Length],
    kilopascals: &[f64],
    is_refused: &[bool],
    context: &mut Context<'_>,
) -> Vec<LayerColumn> {
    let width = marks.len();
    let (Some(first), Some(last)) = (marks.first(), marks.last()) else {
        return Vec::new();
    };
    let edges = slices(marks);
    if edges.len() < marks.iter().filter(|mark| mark.metres() > 0.0).count() {
        let what = format!(
            "{width} depth marks: the layers are the means of {} slices; the profiles are kept in full",
            edges.len()
        );
        context
            .remarks
            .push(Remark::info("cone-slices", what).at(context.place()));
    }
    let mut layers = Vec::new();
    let mut top = Length::ZERO;
    for bottom in edges {
        let inside: Vec<usize> = (0..width)
            .filter(|at| {
                marks.get(*at).is_some_and(|mark| {
                    mark.metres() > top.metres() && mark.metres() <= bottom.metres()
                })
            })
            .collect();
        let values = kilopascals
            .chunks(width)
            .map(|push| mean(inside.iter().filter_map(|at| push.get(*at))))
            .collect();
        let name = slice_name(form, &inside, marks, context.rules.units);
        layers.extend(
            DepthRange::new(top, bottom).map(|depth| layer("profile", Some(depth), name, values)),
        );
        top = bottom;
    }
    let pushes = kilopascals.chunks(width).zip(is_refused);
    let largest = pushes
        .map(|(push, is_refused)| largest_reading(push, *is_refused))
        .collect();
    let name = format!(
        "largest of {width} readings from {} to {}",
        first.as_depth(context.rules.units),
        last.as_depth(context.rules.units)
    );
    layers.extend(
        DepthRange::new(Length::ZERO, *last)
            .map(|depth| layer("profile-maximum", Some(depth), name.into(), largest)),
    );
    layers
}

/// The largest reading of a push; that of one that ended at a stone or on purpose is not that of its whole depth, and unknown.
fn largest_reading(push: &[f64], is_refused: bool) -> f64 {
    if !is_refused && push.last().is_some_and(|reading| reading.is_nan()) {
        f64::NAN
    } else {
        push.iter().copied().fold(f64::NAN, f64::max)
    }
}

fn slice_name(form: &ConeForm, inside: &[usize], marks: &[Length], units: UnitSystem) -> Arc<str> {
    match (form, inside) {
        (ConeForm::Wide(named), [at]) => {
            let near = |depth: &Length| {
                marks
                    .get(*at)
                    .is_some_and(|mark| (mark.metres() - depth.metres()).abs() < 1e-4)
            };
            named
                .iter()
                .find(|(_, _, depth)| near(depth))
                .map_or_else(|| "reading".into(), |(_, name, _)| Arc::clone(name))
        }
        (ConeForm::Long { .. }, [at]) => {
            let depth = marks.get(*at).copied().unwrap_or(Length::ZERO);
            format!("reading at {}", depth.as_depth(units)).into()
        }
        _ => format!("mean of {} readings", inside.len()).into(),
    }
}

pub(in crate::intake) fn layer(
    method: &str,
    depth: Option<DepthRange>,
    column: Arc<str>,
    values: Vec<f64>,
) -> LayerColumn {
    let key = LayerKey::new(Analyte::ConeIndex, Some(Method::new(method)), depth);
    LayerColumn {
        key,
        column,
        unit: "kPa".into(),
        values,
        qualified: Vec::new(),
        derived: false,
    }
}

fn mean<'a>(values: impl Iterator<Item = &'a f64>) -> f64 {
    let finite: Vec<f64> = values.copied().filter(|v| v.is_finite()).collect();
    if finite.is_empty() {
        f64::NAN
    } else {
        finite.iter().sum::<f64>() / finite.len() as f64
    }
}

/// Lower edges of the layers: each mark, or slices of 3 in (7.5 cm where the marks are metric) where there are many.
fn slices(marks: &[Length]) -> Vec<Length> {
    let below: Vec<Length> = marks
        .iter()
        .copied()
        .filter(|mark| mark.metres() > 0.0)
        .collect();
    let (Some(last), true) = (below.last().copied(), below.len() > MOST_MARK_LAYERS) else {
        return below;
    };
    let is_inches = below
        .iter()
        .all(|mark| ((mark.metres() / 0.0127).round() * 0.0127 - mark.metres()).abs() < 2e-4);
    let step = if is_inches { 0.0762 } else { 0.075 };
    let count = ((last.metres() / step) - 1e-6).ceil().max(1.0) as usize;
    (1..=count.min(64))
        .map(|n| {
            if n == count {
                last
            } else {
                Length::from_metres(step * n as f64)
            }
        })
        .collect()
}
