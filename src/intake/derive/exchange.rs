use super::exchange_rows::{Complex, ExchangeRows};
use super::free_lime;
use super::layers::{at_depth, by_method, count, derived, find, has, list_rows, place, value};
use crate::analyte::{Analyte, DepthRange, LayerKey, Method};
use crate::intake::survey::{LayerColumn, PointTable};
use crate::remark::Remark;
use crate::soil::{Buffer, SoilError};
use crate::units::significant;

/// A laboratory's own CEC that differs by more than this share from the sum is remarked on (own).
const CAPACITY_TOLERANCE: f64 = 0.10;
/// A laboratory's own saturation that differs by more than these points is remarked on (own).
const SATURATION_TOLERANCE_POINTS: f64 = 5.0;

/// Least share of the cores whose acidity must be known for CEC and saturations to be derived where a buffer was run (own). The cores
/// without a buffer pH are the less acid ones: a map of the others alone would show too little calcium everywhere.
const LEAST_SHARE_KNOWN: f64 = 0.5;

const SATURATIONS: [Analyte; 5] = [
    Analyte::CalciumSaturation,
    Analyte::MagnesiumSaturation,
    Analyte::PotassiumSaturation,
    Analyte::SodiumSaturation,
    Analyte::HydrogenSaturation,
];

/// CEC and saturations of every depth that has calcium, magnesium and potassium by one extractant.
pub(super) fn add(table: &mut PointTable, remarks: &mut Vec<Remark>) {
    let mut new = Vec::new();
    for depth in depths_with_calcium(table) {
        let Some(complex) = gather(table, depth, remarks) else {
            continue;
        };
        let rows = complex.compute(table.row.len());
        let layers = layers_of(table, depth, &complex, &rows);
        remark_on(table, depth, &complex, &rows, !layers.is_empty(), remarks);
        new.extend(layers);
    }
    table.layers.extend(new);
}

fn depths_with_calcium(table: &PointTable) -> Vec<Option<DepthRange>> {
    let mut depths: Vec<Option<DepthRange>> = Vec::new();
    for layer in table
        .layers
        .iter()
        .filter(|layer| layer.key.analyte == Analyte::Calcium)
    {
        if !depths.contains(&layer.key.depth) {
            depths.push(layer.key.depth);
        }
    }
    depths
}

/// The layers of a depth; ammonium acetate, which displaces and does not dissolve acidly, before other extractants.
fn gather<'a>(
    table: &'a PointTable,
    depth: Option<DepthRange>,
    remarks: &mut Vec<Remark>,
) -> Option<Complex<'a>> {
    let of = |analyte: &Analyte| -> Vec<&'a LayerColumn> {
        table
            .layers
            .iter()
            .filter(|layer| layer.key.analyte == *analyte && layer.key.depth == depth)
            .collect()
    };
    let is_acetate =
        |method: Option<&Method>| method.is_some_and(|method| method.name() == "ammonium-acetate");
    let mut calcium = of(&Analyte::Calcium);
    calcium.sort_by_key(|layer| !is_acetate(layer.key.method.as_ref()));
    let by = |analyte: &Analyte, method: &Option<Method>| {
        find(table, analyte, depth, |other| other == method.as_ref())
    };
    let complete = calcium.iter().find_map(|calcium| {
        let method = &calcium.key.method;
        let cations = [
            *calcium,
            by(&Analyte::Magnesium, method)?,
            by(&Analyte::Potassium, method)?,
        ];
        Some((cations, by(&Analyte::Sodium, method)))
    });
    let Some((cations, sodium)) = complete else {
        remarks.extend(mixed_extractants(table, depth));
        return None;
    };
    let ph = free_lime::chosen(table, depth);
    let mut buffers: Vec<_> = of(&Analyte::BufferPh)
        .into_iter()
        .map(|layer| (layer, buffer_of(layer)))
        .collect();
    buffers.sort_by_key(|(_, buffer)| buffer.is_err());
    let own_capacity = find(table, &Analyte::CationExchangeCapacity, depth, |_| true);
    Some(Complex {
        cations,
        sodium,
        ph,
        buffer: buffers.into_iter().next(),
        own_capacity,
    })
}

/// The buffer that a layer's method names, where it has a formula for acidity.
fn buffer_of(layer: &LayerColumn) -> Result<Buffer, SoilError> {
    let buffer = Buffer::from_name(layer.key.method.as_ref().map_or("", Method::name))?;
    if buffer.has_acidity_formula() {
        Ok(buffer)
    } else {
        Err(SoilError::NoAcidityFormula {
            buffer: buffer.name(),
        })
    }
}

fn mixed_extractants(table: &PointTable, depth: Option<DepthRange>) -> Option<Remark> {
    let name = |analyte: &Analyte| {
        find(table, analyte, depth, |_| true).map(|layer| {
            format!(
                "{} ({})",
                layer.column,
                by_method(layer.key.method.as_ref())
            )
        })
    };
    let named = [
        name(&Analyte::Calcium)?,
        name(&Analyte::Magnesium)?,
        name(&Analyte::Potassium)?,
    ]
    .join(", ");
    let what = format!(
        "no CEC was computed{}: the cations come from different extractants: {named}",
        at_depth(depth)
    );
    Some(
        Remark::info("cations-of-different-extractants", what).at(place(
            table,
            find(table, &Analyte::Calcium, depth, |_| true)?,
            None,
        )),
    )
}

/// The new layers of a depth: only what the table has not, and only with at least one result.
fn layers_of(
    table: &PointTable,
    depth: Option<DepthRange>,
    complex: &Complex<'_>,
    rows: &ExchangeRows,
) -> Vec<LayerColumn> {
    let mut new = NewLayers {
        table,
        depth,
        inputs: complex.inputs(),
        layers: Vec::new(),
    };
    let is_representative = is_representative(complex, rows);
    if is_representative {
        let (analyte, how) = (Analyte::CationExchangeCapacity, how_capacity(complex));
        new.add(analyte, Some("sum"), how, "meq/100 g", &rows.capacity);
    }
    if complex.own_capacity.is_none() && !rows.without_acidity.is_empty() {
        let analyte = Analyte::Covariate("sum of bases".into());
        let how = how_bases(complex);
        new.add(analyte, None, how, "meq/100 g", &rows.bases);
    }
    if complex.own_capacity.is_some() || is_representative {
        add_saturations(&mut new, complex, rows);
    }
    new.layers
}

/// The layers that a table gets at a depth.
struct NewLayers<'a> {
    table: &'a PointTable,
    depth: Option<DepthRange>,
    inputs: Vec<&'a LayerColumn>,
    layers: Vec<LayerColumn>,
}

impl NewLayers<'_> {
    fn add(
        &mut self,
        analyte: Analyte,
        method: Option<&str>,
        how: String,
        unit: &str,
        values: &[f64],
    ) {
        if !has(self.table, &analyte, self.depth) && count(values) > 0 {
            let key = LayerKey::new(analyte, method.map(Method::new), self.depth);
            let layer = derived(key, how, unit, values.to_vec(), &self.inputs);
            self.layers.push(layer);
        }
    }
}

fn add_saturations(new: &mut NewLayers<'_>, complex: &Complex<'_>, rows: &ExchangeRows) {
    let whole = complex.own_capacity.map_or_else(
        || "the sum of cations".to_owned(),
        |layer| layer.column.to_string(),
    );
    let parts = complex
        .cations
        .into_iter()
        .map(Some)
        .chain([complex.sodium, None]);
    for ((analyte, values), part) in SATURATIONS.into_iter().zip(&rows.saturations).zip(parts) {
        // Sodium that nobody measured is left out of the sum; a saturation of nil would claim that it was looked for.
        if analyte == Analyte::SodiumSaturation && complex.sodium.is_none() {
            continue;
        }
        let part = part.map_or_else(|| "acidity".to_owned(), |layer| layer.column.to_string());
        let how = format!("{part} as a share of {whole}");
        new.add(analyte, Some("calculated"), how, "%", values);
    }
}

/// Whether the cores with a known acidity may speak for the table: all of them, or enough of them where a buffer was run.
fn is_representative(complex: &Complex<'_>, rows: &ExchangeRows) -> bool {
    let (known, all) = (count(&rows.capacity), count(&rows.bases));
    let has_buffer = complex
        .buffer
        .as_ref()
        .is_some_and(|(_, buffer)| buffer.is_ok());
    known == all || (has_buffer && known as f64 >= LEAST_SHARE_KNOWN * all as f64)
}

fn how_bases(complex: &Complex<'_>) -> String {
    complex
        .cations
        .into_iter()
        .chain(complex.sodium)
        .map(|layer| layer.column.as_ref())
        .collect::<Vec<_>>()
        .join(" + ")
}

fn how_capacity(complex: &Complex<'_>) -> String {
    let acidity = match &complex.buffer {
        Some((layer, Ok(buffer))) if buffer.is_by_volume() => {
            format!(
                "acidity from {} ({}, per volume of soil: the cations should be by volume too)",
                layer.column,
                buffer.name()
            )
        }
        Some((layer, Ok(buffer))) => format!("acidity from {} ({})", layer.column, buffer.name()),
        _ => "no acidity at pH 7 and more".to_owned(),
    };
    format!("{} + {acidity}", how_bases(complex))
}

fn remark_on(
    table: &PointTable,
    depth: Option<DepthRange>,
    complex: &Complex<'_>,
    rows: &ExchangeRows,
    is_new: bool,
    remarks: &mut Vec<Remark>,
) {
    let [calcium, ..] = complex.cations;
    let note = |code, what: String| Remark::info(code, what).at(place(table, calcium, None));
    if is_new {
        let sodium = if complex.sodium.is_none() {
            "; sodium was not measured and counts as nil"
        } else {
            ""
        };
        let whole = match complex.own_capacity {
            Some(layer) => format!(
                "saturations{} are shares of the file's CEC ({})",
                at_depth(depth),
                layer.column
            ),
            None if is_representative(complex, rows) => {
                format!(
                    "CEC and saturations{} of {} rows are {}",
                    at_depth(depth),
                    count(&rows.capacity),
                    how_capacity(complex)
                )
            }
            None => format!(
                "the sum of bases{} of {} rows is {}",
                at_depth(depth),
                count(&rows.bases),
                how_bases(complex)
            ),
        };
        let by = by_method(calcium.key.method.as_ref());
        remarks.push(note(
            "derived-cation-exchange",
            format!("{whole}; cations by {by}{sodium}"),
        ));
    }
    remarks.extend(acidity_remark(table, depth, complex, rows));
    remarks.extend(over_full_remark(table, complex, rows));
    if let (Some(complaint), Some(&first)) = (&rows.complaint, rows.refused.first()) {
        let what = format!(
            "CEC could not be computed in {}: {complaint}",
            list_rows(table, &rows.refused)
        );
        remarks.push(
            Remark::warning("cation-exchange-out-of-range", what).at(place(
                table,
                calcium,
                Some(first),
            )),
        );
    }
    remarks.extend(compare_with_own(table, complex, rows));
}

fn acidity_remark(
    table: &PointTable,
    depth: Option<DepthRange>,
    complex: &Complex<'_>,
    rows: &ExchangeRows,
) -> Option<Remark> {
    if rows.without_acidity.is_empty() || complex.own_capacity.is_some() {
        return None;
    }
    let (why, layer, help) = match &complex.buffer {
        Some((layer, Err(problem))) => (
            problem.to_string(),
            *layer,
            "name the buffer in the plan (smp, sikora, adams-evans, moore-sikora, mehlich-north-carolina)",
        ),
        Some((layer, Ok(_))) => (
            "no usable buffer pH there".to_owned(),
            *layer,
            "ask the laboratory for the buffer pH of these cores, or for its own CEC",
        ),
        None => (
            "no buffer pH column".to_owned(),
            complex.cations[0],
            "ask the laboratory for the buffer pH, or for its own CEC",
        ),
    };
    let where_left_out = if is_representative(complex, rows) {
        "there"
    } else {
        "for all cores, since the rest would not speak for them"
    };
    let what = format!(
        "the acidity is not known in {} ({why}): the sum of bases{} is only a lower bound of the CEC there. CEC and saturations were left out \
         {where_left_out}",
        list_rows(table, &rows.without_acidity),
        at_depth(depth)
    );
    Some(
        Remark::warning("cec-without-acidity", what)
            .at(place(table, layer, None))
            .help(help),
    )
}

fn over_full_remark(
    table: &PointTable,
    complex: &Complex<'_>,
    rows: &ExchangeRows,
) -> Option<Remark> {
    let own = complex.own_capacity?;
    let first = *rows.over_full.first()?;
    let what = format!(
        "calcium, magnesium, potassium and sodium add up to more than the file's CEC in {}: saturations were left out there",
        list_rows(table, &rows.over_full)
    );
    let help =
        "check the units of the cations and of the CEC; free lime and dissolved salt also do this";
    Some(
        Remark::warning("bases-above-cec", what)
            .at(place(table, own, Some(first)))
            .help(help),
    )
}

/// A remark where the laboratory's own CEC, or else a saturation of its own, is far from the computed one.
fn compare_with_own(
    table: &PointTable,
    complex: &Complex<'_>,
    rows: &ExchangeRows,
) -> Option<Remark> {
    let depth = complex.cations[0].key.depth;
    let capacity = complex.own_capacity.and_then(|own| {
        let is_off = |theirs: f64, ours: f64| (theirs - ours).abs() > CAPACITY_TOLERANCE * ours;
        differing(table, own, &rows.capacity, is_off, "more than 10 %")
    });
    capacity.or_else(|| {
        SATURATIONS
            .iter()
            .zip(&rows.saturations)
            .find_map(|(analyte, ours)| {
                let own = find(table, analyte, depth, |_| true)?;
                let is_off =
                    |theirs: f64, ours: f64| (theirs - ours).abs() > SATURATION_TOLERANCE_POINTS;
                differing(table, own, ours, is_off, "more than 5 points")
            })
    })
}

fn differing(
    table: &PointTable,
    own: &LayerColumn,
    computed: &[f64],
    is_off: impl Fn(f64, f64) -> bool,
    by_how_much: &str,
) -> Option<Remark> {
    let off: Vec<usize> = (0..computed.len())
        .filter(
            |&row| matches!((value(own, row), computed.get(row)), (Some(theirs), Some(&ours)) if ours.is_finite() && is_off(theirs, ours)),
        )
        .collect();
    let first = *off.first()?;
    let what = format!(
        "the file's {} ({}) is {by_how_much} off the one computed from cations and buffer pH in {}: {} against {} first. The file's value is used",
        own.key.analyte.label(),
        own.column,
        list_rows(table, &off),
        significant(value(own, first)?, 3),
        significant(*computed.get(first)?, 3)
    );
    let help = "check the buffer's name, the extractant and the units (ppm or lb/ac) in the plan; a CEC by displacement differs too";
    Some(
        Remark::warning("laboratory-value-differs", what)
            .at(place(table, own, Some(first)))
            .help(help),
    )
}
