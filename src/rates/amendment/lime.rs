//! Lime from the buffer's own rule. Water pH decides whether, buffer pH decides how much; the need is averaged over the zone's
//! cells, because the need of the average soil is not the average need.

use super::super::Aim;
use super::super::nutrients::is_open;
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

/// Names in the rulebook.
const CALCITIC: &str = "lime";
const DOLOMITIC: &str = "dolomitic_lime";

/// Calcitic or dolomitic lime; the one that the zone's magnesium does not call for is left out.
pub(super) fn pending(case: ZoneContext<'_>) -> Vec<PendingRate> {
    let is_deep = acidity(case).is_some();
    if !is_deep && case.limit(Factor::SurfaceAcidity).is_none() {
        return Vec::new();
    }
    let (name, why) = kind(case);
    let Some(product) = case.field.rulebook.product(name) else {
        return Vec::new();
    };
    let pending = super::pending_rate(case, name, &[], || {
        let mut need = if is_deep {
            need(case, product)
        } else {
            for_the_surface(case, product)
        };
        need.steps.extend(why);
        need
    });
    pending.into_iter().collect()
}

/// Which lime, with the reason where it is not plain: by the zone's magnesium, but where only the other lime may be used, that one. Acid ground is
/// worse off without lime than with the second best.
fn kind(case: ZoneContext<'_>) -> (&'static str, Option<String>) {
    let magnesium = case
        .summary(&Analyte::Magnesium, None)
        .map(|summary| summary.mean);
    let short_below = case.field.rulebook.numbers.dolomitic_below_magnesium;
    let product = |name| case.field.rulebook.product(name);
    let may_be_used = |name| product(name).is_some_and(|lime| is_open(case.field, lime));
    let is_short = lime_kind(magnesium, short_below) == LimeKind::Dolomitic;
    if is_short && product(DOLOMITIC).is_some() {
        if may_be_used(CALCITIC) && !may_be_used(DOLOMITIC) {
            let why = "calcitic, because dolomitic lime is not in the shed: magnesium stays short";
            return (CALCITIC, Some(why.to_owned()));
        }
        let have = number(magnesium.unwrap_or_default());
        let why = case.told(|| {
            format!(
                "dolomitic, because magnesium is {have} ppm, below {} ppm",
                number(short_below)
            )
        });
        return (DOLOMITIC, Some(why));
    }
    // More magnesium would make a limit of it worse.
    let is_harmful = case.limit(Factor::MagnesiumExcess).is_some();
    if may_be_used(DOLOMITIC) && !may_be_used(CALCITIC) && !is_harmful {
        let why = "dolomitic, because calcitic lime is not in the shed; magnesium is not short: do not stay with it for years";
        return (DOLOMITIC, Some(why.to_owned()));
    }
    (CALCITIC, None)
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
        let layer = finding.layer.as_ref()?;
        // One value for the whole field has no part of it: what the finding says of the zone holds.
        let mut profile = case.diagnosis.profile.iter();
        let summary = profile.find(|summary| summary.key == *layer)?;
        (!summary.is_flat && summary.range.0 < own).then_some(finding)
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
    Need::new(rate, vec![step])
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

fn average_need(case: ZoneContext<'_>, product: &Product, basis: &Basis<'_>) -> Need {
    let dressing = Dressing::of(case, product, basis);
    let cells = dressing.cells();
    if cells.weight <= 0.0 {
        return Need::unknown(cells.refusal.map_or_else(
            || "no cell with pH and what tells how much lime".to_owned(),
            |error| error.to_string(),
        ));
    }
    let rate = cells.sum / cells.weight;
    Need {
        rate,
        note: dressing.no_lime(rate),
        steps: dressing.steps(&cells, rate),
        at_least: cells
            .below
            .map(|below| dressing.at_least(cells.all, &below)),
        aim: Some(Aim {
            layer: basis.ph.clone(),
            from: cells.before / cells.weight,
            to: cells.after / cells.weight,
        }),
        ..Need::default()
    }
}

/// What the lime of a zone is calculated with.
struct Dressing<'a> {
    case: ZoneContext<'a>,
    product: &'a Product,
    basis: &'a Basis<'a>,
    /// How deep it is worked in.
    mixing: Length,
    /// The threshold from which a cell needs none.
    threshold: Option<f64>,
}

/// What the cells of a zone need.
#[derive(Default)]
struct CellNeeds {
    /// Share of the zone that the sum is of.
    weight: f64,
    /// Share by rate in kg/ha.
    sum: f64,
    /// Share by pH before.
    before: f64,
    /// Share by pH once the whole need has worked.
    after: f64,
    all: usize,
    /// Cells that are not past the threshold.
    sound: usize,
    refused: usize,
    /// Why the first one was refused.
    refusal: Option<SoilError>,
    /// Cells whose buffer pH lies below the rule's range: they count as its least.
    below: Option<Outside>,
    /// Cells whose buffer pH lies above it: they count as its most.
    above: Option<Outside>,
}

/// Cells outside of a rule's range.
#[derive(Debug, Clone, Copy)]
struct Outside {
    cells: usize,
    /// The end of the range.
    end: f64,
    /// The value that lies farthest out.
    farthest: f64,
}

impl Outside {
    /// Counts a cell in.
    fn with(so_far: Option<Self>, buffer_ph: f64, end: f64) -> Self {
        let before = so_far.unwrap_or(Self {
            cells: 0,
            end,
            farthest: buffer_ph,
        });
        let is_farther = (buffer_ph - end).abs() > (before.farthest - end).abs();
        Self {
            cells: before.cells + 1,
            farthest: if is_farther {
                buffer_ph
            } else {
                before.farthest
            },
            ..before
        }
    }
}

impl CellNeeds {
    /// Counts a cell whose buffer pH lies outside of the rule's range.
    fn outside(&mut self, buffer_ph: f64, end: f64) {
        let side = if buffer_ph < end {
            &mut self.below
        } else {
            &mut self.above
        };
        *side = Some(Outside::with(*side, buffer_ph, end));
    }

    /// Counts the pH of a cell before and after.
    fn moves(&mut self, share: f64, (before, after): (f64, f64)) {
        self.before += share * before;
        self.after += share * after;
    }
}

impl<'a> Dressing<'a> {
    fn of(case: ZoneContext<'a>, product: &'a Product, basis: &'a Basis<'a>) -> Self {
        let numbers = &case.field.rulebook.numbers;
        let inches = if case.field.crop.is_tilled {
            numbers.mixing_depth_tilled
        } else {
            numbers.mixing_depth_untilled
        };
        Self {
            case,
            product,
            basis,
            mixing: Length::from_metres(inches * 0.0254),
            threshold: acidity(case)
                .filter(|finding| finding.layer.as_ref() == Some(basis.ph))
                .and_then(threshold),
        }
    }

    /// The needs of the cells; a cell that is not past the threshold counts as no need.
    fn cells(&self) -> CellNeeds {
        let (case, basis) = (self.case, self.basis);
        let is_printed = basis.acidity.analyte == Analyte::ExchangeableAcidity;
        let quality = LimeQuality::Effective {
            pct: self.product.effective_neutralizing_value,
        };
        let in_water = in_water(case, basis.ph);
        let mut needs = CellNeeds::default();
        for (share, [ph, acidity]) in case.cells([basis.ph, basis.acidity]) {
            needs.all += 1;
            if self.threshold.is_some_and(|own| ph >= own) {
                (needs.weight, needs.sound) = (needs.weight + share, needs.sound + 1);
                needs.moves(share, (ph, ph));
                continue;
            }
            let soil = AcidSoil {
                water_ph: in_water(ph),
                buffer_ph: (!is_printed).then_some(acidity),
                printed_acidity_meq: is_printed.then_some(acidity),
                target_ph: case.field.crop.target_ph,
            };
            let need = within_range(basis.rule, &soil);
            let rate =
                need.and_then(|(need, end)| Ok((need.of_product(self.mixing, quality)?, end)));
            match rate {
                Ok((rate, end)) => {
                    if let Some(end) = end {
                        needs.outside(acidity, end);
                    }
                    needs.weight += share;
                    needs.sum += share * rate.kilograms_per_hectare();
                    needs.moves(share, (ph, case.field.crop.target_ph.max(ph)));
                }
                Err(error) => {
                    needs.refused += 1;
                    needs.refusal.get_or_insert(error);
                }
            }
        }
        needs
    }

    /// What is said where a buffer pH lies below the rule's range: the true need is not known, and is no less.
    fn at_least(&self, all: usize, below: &Outside) -> String {
        let end = number(below.end);
        self.case.told(|| {
            let farthest = number(below.farthest);
            let part = if below.cells < all {
                format!(", in {} of {all} cells (down to {farthest})", below.cells)
            } else {
                format!(" (down to {farthest})")
            };
            format!(
                "the buffer pH lies below {end}, the least that the rule is made for{part}; it counts as {end}, so the whole need is at least this and may be more"
            )
        })
    }

    /// Why nothing is spread on ground that is too acid by its pH and needs no lime by its buffer.
    fn no_lime(&self, rate: f64) -> Option<String> {
        let finding = self.case.limit(Factor::Acidity).filter(|_| rate <= 0.0)?;
        let target = self.case.field.crop.target_ph;
        let teller = if self.basis.acidity.analyte == Analyte::ExchangeableAcidity {
            "the acidity that the laboratory prints"
        } else {
            "the buffer pH"
        };
        Some(self.case.told(|| {
            format!(
                "the pH is below {}, but by {teller} no lime is needed to pH {}: weakly buffered ground, whose pH a little lime moves far; none is spread. Have both tested again before the next crop, and ask your agronomist whether a light dressing pays",
                number(finding.threshold),
                number(target)
            )
        }))
    }

    /// The calculation in words.
    fn steps(&self, cells: &CellNeeds, rate: f64) -> Vec<String> {
        let (case, rule) = (self.case, self.basis.rule);
        let mut steps = vec![format!(
            "lime to pH {} by {}{}, {} % effective, worked in {}, averaged over {} cell(s): {}",
            decimal(case.field.crop.target_ph, 2),
            rule.source(),
            sampled(self.basis.ph, rule, case.field.settings.units),
            number(self.product.effective_neutralizing_value),
            depth(self.mixing, case.field.settings.units),
            cells.all,
            case.show(rate, Metering::Dry)
        )];
        if let Some(own) = self.threshold.filter(|_| cells.sound > 0) {
            steps.push(format!(
                "{} of these cells are not below the threshold of {} and count as no need",
                cells.sound,
                number(own)
            ));
        }
        if let Some(below) = &cells.below {
            steps.push(self.at_least(cells.all, below));
        }
        if let Some(above) = cells.above.filter(|_| rate > 0.0) {
            steps.push(format!(
                "{} cell(s) have a buffer pH up to {}, above the {} that the rule is made for; they count as {}, so their need is at most this",
                above.cells,
                number(above.farthest),
                number(above.end),
                number(above.end)
            ));
        }
        if cells.refused > 0 {
            let why = cells.refusal.as_ref().map(ToString::to_string);
            steps.push(format!(
                "{} cell(s) cannot be calculated and are left out of the average: {}",
                cells.refused,
                why.unwrap_or_default()
            ));
        }
        steps
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

/// The need of a soil; one whose buffer pH lies outside the rule's range is calculated at the range's end, which comes with it: below the range
/// the true need is more, above it less, and the steps say so.
fn within_range(rule: LimeRule, soil: &AcidSoil) -> Result<(LimeNeed, Option<f64>), SoilError> {
    match rule.need(soil) {
        Err(SoilError::OutOfRange {
            quantity: "buffer pH",
            found,
            least,
            most,
            ..
        }) => {
            let end = if found < least { least } else { most };
            let at_end = AcidSoil {
                buffer_ph: Some(end),
                ..*soil
            };
            Ok((rule.need(&at_end)?, Some(end)))
        }
        other => Ok((other?, None)),
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
