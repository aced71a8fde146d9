//! Lime from the buffer's own rule. Water pH decides whether, buffer pH decides how much; the need is averaged over the zone's
//! cells, because the need of the average soil is not the average need.

use super::super::pending_rate::{Need, PendingRate, number};
use super::super::zone_context::ZoneContext;
use super::reading::{depth, in_water};
use super::texture_guide;
use crate::analyte::{Analyte, LayerKey, Method};
use crate::diagnosis::{Finding, LayerSummary, Outcome};
use crate::rulebook::{Factor, Product};
use crate::soil::{AcidSoil, LimeKind, LimeNeed, LimeQuality, LimeRule, SoilError, lime_kind};
use crate::units::Metering;
use crate::units::{Length, UnitSystem, decimal};

/// What the rulebook calls the acidity that a laboratory prints, beside its buffers.
const PRINTED_ACIDITY: &str = "exchangeable-acidity";

/// Calcitic or dolomitic lime; the one that the zone's magnesium does not call for is left out.
pub(super) fn pending(case: ZoneContext<'_>) -> Vec<PendingRate> {
    let is_deep = acidity(case).is_some();
    if !is_deep && case.limit(Factor::SurfaceAcidity).is_none() {
        return Vec::new();
    }
    let magnesium = case
        .summary(&Analyte::Magnesium, None)
        .map(|summary| summary.mean);
    let short_below = case.field.rulebook.numbers.dolomitic_below_magnesium;
    let name = match lime_kind(magnesium, short_below) {
        LimeKind::Dolomitic if case.field.rulebook.product("dolomitic_lime").is_some() => {
            "dolomitic_lime"
        }
        _ => "lime",
    };
    let Some(product) = case.field.rulebook.product(name) else {
        return Vec::new();
    };
    let pending = super::pending_rate(case, name, &[], || {
        let mut need = if is_deep {
            need(case, product)
        } else {
            for_the_surface(case, product)
        };
        if name == "dolomitic_lime" {
            let have = number(magnesium.unwrap_or_default());
            need.steps.push(format!(
                "dolomitic, because magnesium is {have} ppm, below {} ppm",
                number(short_below)
            ));
        }
        need
    });
    pending.into_iter().collect()
}

/// The finding of acidity that asks for lime: the limiting one, or one that is adequate on average where part of the zone's cells is
/// past its threshold. A yes or no of the mean would undo the need of half a zone.
fn acidity(case: ZoneContext<'_>) -> Option<&Finding> {
    case.limit(Factor::Acidity).or_else(|| {
        let mut findings = case.diagnosis.findings.iter();
        let finding = findings.find(|finding| {
            finding.factor == Factor::Acidity && finding.outcome == Outcome::Adequate
        })?;
        let own = threshold(finding)?;
        let mut cells = case.cells(&[finding.layer.as_ref()?]).into_iter();
        cells.any(|(_, value)| value[0] < own).then_some(finding)
    })
}

/// The threshold that each cell is compared with: that of a measured pH. What was inferred has none of its own.
fn threshold(finding: &Finding) -> Option<f64> {
    let is_ph = finding
        .layer
        .as_ref()
        .is_some_and(|layer| layer.analyte == Analyte::Ph);
    (is_ph && finding.inferred.is_none()).then_some(finding.threshold)
}

/// A light dressing for a surface that is acid over a plough layer that is not.
fn for_the_surface(case: ZoneContext<'_>, product: &Product) -> Need {
    let pure = case.field.rulebook.numbers.surface_lime;
    let effective = product.effective_neutralizing_value;
    if effective <= 0.0 {
        return Need::refused(format!("{} takes off no acid", product.label));
    }
    let rate = pure.kilograms_per_hectare() / (effective / 100.0);
    let step = format!(
        "the top inches are acid and the plough layer is not: {} of pure fine lime on the surface, {} % effective: {}",
        pure.show(case.field.settings.units, 0),
        number(effective),
        case.show(rate, Metering::Dry)
    );
    Need {
        rate,
        steps: vec![step],
        ..Need::default()
    }
}

/// What tells how much lime: pH with a buffer's pH, or with the acidity that the laboratory prints, and the rule that goes with it.
struct Basis<'a> {
    ph: &'a LayerKey,
    acidity: &'a LayerKey,
    rule: LimeRule,
}

fn need(case: ZoneContext<'_>, product: &Product) -> Need {
    let depth = acidity(case).and_then(|f| f.layer.as_ref()?.depth);
    let Some(ph) = case.summary(&Analyte::Ph, depth) else {
        return Need::unknown("no pH in water of the topsoil");
    };
    if is_organic_soil(case) {
        return Need::unknown(format!(
            "an organic soil, above {} % organic matter: the equations are made for mineral soil and do not hold; ask your laboratory for its rate to pH {}",
            number(case.field.rulebook.numbers.organic_soil_from),
            number(case.field.rulebook.numbers.organic_target_ph)
        ));
    }
    match basis(case, ph) {
        Ok(basis) => average_need(case, product, &basis),
        Err(why) => Need::unknown(match texture_guide::guide(case, ph) {
            Some(guide) => format!("{why}. {guide}"),
            None => why,
        }),
    }
}

/// Whether the zone's soil holds so much organic matter that it counts as organic.
fn is_organic_soil(case: ZoneContext<'_>) -> bool {
    let from = case.field.rulebook.numbers.organic_soil_from;
    case.summary(&Analyte::OrganicMatter, None)
        .is_some_and(|summary| summary.mean >= from)
}

/// The rule that goes with what the laboratory gives, or why there is none.
fn basis<'a>(case: ZoneContext<'a>, ph: &'a LayerSummary) -> Result<Basis<'a>, String> {
    let rules = case.field.lime_rules;
    let region = case.field.settings.supply.region.as_deref();
    let acidity = case.summary(&Analyte::ExchangeableAcidity, ph.key.depth);
    let buffer = case.summary(&Analyte::BufferPh, ph.key.depth);
    let printed = acidity.and_then(|acidity| {
        let rule = rules.for_buffer(PRINTED_ACIDITY, region).ok()?;
        Some(Basis {
            ph: &ph.key,
            acidity: &acidity.key,
            rule,
        })
    });
    let Some(buffer) = buffer else {
        return printed.ok_or_else(|| {
            "no buffer pH: water pH tells whether lime is needed, only buffer pH tells how much; have it run".to_owned()
        });
    };
    let method = buffer.key.method.as_ref();
    let rule = rules.for_buffer(method.map_or("", Method::name), region);
    match (rule, printed) {
        (Ok(rule), _) => Ok(Basis {
            ph: &ph.key,
            acidity: &buffer.key,
            rule,
        }),
        (Err(_), Some(printed)) => Ok(printed),
        (Err(why), None) => Err(why),
    }
}

#[expect(
    clippy::too_many_lines,
    reason = "one calculation, told step by step for the reader of the rate"
)]
fn average_need(case: ZoneContext<'_>, product: &Product, basis: &Basis<'_>) -> Need {
    let (rule, keys) = (basis.rule, [basis.ph, basis.acidity]);
    let is_printed = basis.acidity.analyte == Analyte::ExchangeableAcidity;
    let crop = case.field.crop;
    let numbers = &case.field.rulebook.numbers;
    let inches = if crop.is_tilled {
        numbers.mixing_depth_tilled
    } else {
        numbers.mixing_depth_untilled
    };
    let mixing = Length::from_metres(inches * 0.0254);
    let quality = LimeQuality::Effective {
        pct: product.effective_neutralizing_value,
    };
    let in_water = in_water(case, keys[0]);
    let own = acidity(case)
        .filter(|finding| finding.layer.as_ref() == Some(keys[0]))
        .and_then(threshold);
    let (mut weight, mut sum, mut refused, mut cells) = (0.0, 0.0, 0usize, 0usize);
    let mut sound = 0usize;
    let mut refusal = None;
    for (share, values) in case.cells(&keys) {
        cells += 1;
        let [ph, acidity] = values[..] else {
            continue;
        };
        if own.is_some_and(|own| ph >= own) {
            (weight, sound) = (weight + share, sound + 1);
            continue;
        }
        let soil = AcidSoil {
            water_ph: in_water(ph),
            buffer_ph: (!is_printed).then_some(acidity),
            printed_acidity_meq: is_printed.then_some(acidity),
            target_ph: crop.target_ph,
        };
        match within_range(rule, &soil).and_then(|need| need.of_product(mixing, quality)) {
            Ok(rate) => {
                weight += share;
                sum += share * rate.kilograms_per_hectare();
            }
            Err(error) => {
                refused += 1;
                refusal.get_or_insert(error);
            }
        }
    }
    if weight <= 0.0 {
        return Need::unknown(refusal.map_or_else(
            || "no cell with pH and what tells how much lime".to_owned(),
            |error| error.to_string(),
        ));
    }
    let rate = sum / weight;
    let mut steps = vec![format!(
        "lime to pH {} by {}{}, {} % effective, worked in {}, averaged over {cells} cell(s): {}",
        decimal(crop.target_ph, 2),
        rule.source(),
        sampled(basis.ph, rule, case.field.settings.units),
        number(product.effective_neutralizing_value),
        depth(mixing, case.field.settings.units),
        case.show(rate, Metering::Dry)
    )];
    if let Some(own) = own.filter(|_| sound > 0) {
        steps.push(format!(
            "{sound} of these cells are not below the threshold of {} and count as no need",
            number(own)
        ));
    }
    if refused > 0 {
        let why = refusal.map(|error| error.to_string()).unwrap_or_default();
        steps.push(format!(
            "{refused} cell(s) cannot be calculated and are left out of the average: {why}"
        ));
    }
    Need {
        rate,
        steps,
        ..Need::default()
    }
}

/// What is said where the cores are not as deep as the layer that the rule is for.
fn sampled(ph: &LayerKey, rule: LimeRule, units: UnitSystem) -> String {
    let Some(cores) = ph.depth else {
        return String::new();
    };
    if (cores.bottom() - rule.depth()).metres().abs() < 0.013 {
        return String::new();
    }
    format!(
        ", which is for a layer of {} (the cores are {}; acidity is taken as the same in both, and the rate is scaled to the depth worked in)",
        depth(rule.depth(), units),
        cores.show(units)
    )
}

/// The need of a soil; one whose buffer pH lies outside the rule's range is calculated at the range's end, which errs to less lime.
fn within_range(rule: LimeRule, soil: &AcidSoil) -> Result<LimeNeed, SoilError> {
    match rule.need(soil) {
        Err(SoilError::OutOfRange {
            quantity: "buffer pH",
            least,
            most,
            ..
        }) => rule.need(&AcidSoil {
            buffer_ph: soil.buffer_ph.map(|ph| ph.clamp(least, most)),
            ..*soil
        }),
        other => other,
    }
}

/// Calcium in all the lime that is needed, this season's and later ones'.
pub(super) fn calcium_kg_ha(case: ZoneContext<'_>, pending: &[PendingRate]) -> f64 {
    pending
        .iter()
        .filter(|pending| pending.amount > 0.0)
        .filter_map(|pending| {
            Some(
                pending.needed
                    * case
                        .field
                        .rulebook
                        .product(&pending.product)?
                        .analysis
                        .calcium
                    / 100.0,
            )
        })
        .sum()
}
