//! The starter's rate: open or closed, how much, and inside every limit: the recipe's range, seed-safe salt, what the pump can meter
//! at the planned speed, and what the planter may carry on tight ground.

use super::blend::Blend;
use super::pending_rate::{PendingRate, cut, number};
use super::rounding::{down_to_step, up_to_step};
use super::zone_context::ZoneContext;
use crate::analyte::Analyte;
use crate::diagnosis::{Finding, Outcome};
use crate::plan::Settings;
use crate::remark::Remark;
use crate::rulebook::{Crop, Factor, Metering, Rulebook, SeedSaltClass};
use crate::soil::{
    SeedCrop, SeedSaltLimit, SeedSaltTable, Seedbed, TextureClass, flow_per_outlet, rate_of_flow,
    speed_for_rate, texture_class,
};
use crate::units::{MassPerArea, Speed, UnitSystem, VolumePerArea};

/// What the machine can meter, L/ha, at the planned speed.
#[derive(Debug, Clone, Copy)]
pub(super) struct PumpRange {
    pub least: f64,
    pub most: f64,
}

impl PumpRange {
    /// The range of rates that the flows of the plan give at its speed; everything where that cannot be reckoned.
    pub fn from_settings(settings: &Settings) -> Self {
        let machine = &settings.machine;
        let rate = |flow| {
            rate_of_flow(flow, machine.speed, machine.row_spacing)
                .map(VolumePerArea::litres_per_hectare)
        };
        match (rate(machine.flow_per_row.0), rate(machine.flow_per_row.1)) {
            (Ok(least), Ok(most)) => Self { least, most },
            _ => Self {
                least: 0.0,
                most: f64::INFINITY,
            },
        }
    }
}

/// The seed-safe limit of a zone.
pub(super) struct SeedSafe {
    pub limit: SeedSaltLimit,
    pub ground: &'static str,
    pub caution: Option<String>,
}

/// Nitrogen plus potash that the seed bears here; unknown texture takes the sandy column.
pub(super) fn seed_safe(case: ZoneContext<'_>) -> Result<SeedSafe, String> {
    let crop = match case.bench.crop.seed_salt {
        SeedSaltClass::Corn => SeedCrop::Corn,
        SeedSaltClass::Soybean => SeedCrop::Soybean,
    };
    let numbers = &case.bench.rulebook.numbers;
    let light = || {
        case.summary(&Analyte::CationExchangeCapacity, None)
            .map(|summary| summary.mean < numbers.sandy_below_cec)
    };
    let is_sandy = sandy_by_texture(case).or_else(light);
    let seedbed = if is_sandy == Some(false) {
        Seedbed::MediumToFine
    } else {
        Seedbed::SandyDryOrCold
    };
    let caution = (is_sandy.is_none() && crop == SeedCrop::Corn).then(|| {
        "neither sand nor CEC is known: the seed-safe limit of sandy ground is used".to_owned()
    });
    let limit = SeedSaltTable::Kansas.limit(crop, seedbed, case.bench.settings.machine.row_spacing);
    let ground = if seedbed == Seedbed::MediumToFine {
        "medium to fine"
    } else {
        "sandy, dry or cold"
    };
    limit
        .map(|limit| SeedSafe {
            limit,
            ground,
            caution,
        })
        .map_err(|error| error.to_string())
}

/// Whether the texture is sandy: by the class where clay is known too, else by sand alone; `None` where sand is not known.
fn sandy_by_texture(case: ZoneContext<'_>) -> Option<bool> {
    let mean = |analyte| case.summary(&analyte, None).map(|summary| summary.mean);
    let sand = mean(Analyte::Sand)?;
    let class = mean(Analyte::Clay)
        .and_then(|clay| texture_class(sand, (100.0 - sand - clay).max(0.0), clay).ok());
    Some(class.map_or(
        sand >= case.bench.rulebook.numbers.sandy_from_sand,
        TextureClass::is_sandy,
    ))
}

/// The most litres per hectare whose nitrogen plus potash the seed bears; without bound where the blend has none.
pub(super) fn seed_safe_rate(blend: &Blend<'_>, limit: MassPerArea) -> f64 {
    if blend.seed_salt() > 0.0 {
        limit.kilograms_per_hectare() / blend.seed_salt()
    } else {
        f64::INFINITY
    }
}

/// The starter's pending rate in a zone, with the zone's cautions.
pub(super) fn pending(
    case: ZoneContext<'_>,
    blend: &Blend<'_>,
    pump: PumpRange,
) -> (PendingRate, Vec<String>) {
    let mut pending = PendingRate::nothing(Rulebook::STARTER, Metering::Liquid);
    let mut cautions = Vec::new();
    let crop = case.bench.crop;
    if !crop.takes_starter {
        pending.note = Some(format!("no furrow is opened for {}", crop.label));
        return (pending, cautions);
    }
    if let Some(gate) = gate(case, blend) {
        // Nobody is told to try salt on salty ground.
        let is_worth_a_strip = gate.blocks.iter().any(|closed| closed == Rulebook::STARTER);
        let what = case.show(blend.recipe.usual.litres_per_hectare(), Metering::Liquid);
        let strip = if is_worth_a_strip {
            format!("; to see for yourself, lay a check strip at {what}")
        } else {
            String::new()
        };
        pending.hold_back(format!("held back, because {}{strip}", gate.sentence));
        return (pending, cautions);
    }
    let safe = match seed_safe(case) {
        Ok(safe) => safe,
        Err(why) => {
            pending.hold_back(format!("no seed-safe limit can be told: {why}"));
            return (pending, cautions);
        }
    };
    cautions.extend(safe.caution.clone());
    if case.limit(Factor::Air).is_some() {
        cautions.push(weight_caution(case, blend));
    }
    pending.needed = wanted(case, blend, &mut pending.steps);
    let rate = limited(case, blend, pump, &safe, &mut pending);
    settle(case, blend, pump, rate, &mut pending);
    (pending, cautions)
}

/// The finding that closes the starter here: by its name, or by the salt that the blend carries.
pub(super) fn gate<'a>(case: ZoneContext<'a>, blend: &Blend<'_>) -> Option<&'a Finding> {
    case.closed_by(Rulebook::STARTER, blend.seed_salt() > 0.0)
}

/// Usual rate, and more of it where what the starter answers is short.
fn wanted(case: ZoneContext<'_>, blend: &Blend<'_>, steps: &mut Vec<String>) -> f64 {
    let (usual, most) = (
        blend.recipe.usual.litres_per_hectare(),
        blend.recipe.most.litres_per_hectare(),
    );
    let answered: Option<&Finding> = blend
        .recipe
        .answers
        .iter()
        .filter_map(|factor| case.limit(*factor))
        .max_by(|a, b| {
            a.severity
                .total_cmp(&b.severity)
                .then_with(|| b.factor.cmp(&a.factor))
        });
    let show = |rate| case.show(rate, Metering::Liquid);
    let Some(finding) = answered else {
        steps.push(format!(
            "nothing that the starter answers is short: the usual {}",
            show(usual)
        ));
        return usual;
    };
    let rate = usual + (most - usual) * finding.severity;
    steps.push(format!(
        "{} + ({} - {}) x severity {} of {} = {}",
        show(usual),
        show(most),
        show(usual),
        number(finding.severity),
        finding.factor.name(),
        show(rate)
    ));
    rate
}

/// The rate under all upper limits.
fn limited(
    case: ZoneContext<'_>,
    blend: &Blend<'_>,
    pump: PumpRange,
    safe: &SeedSafe,
    pending: &mut PendingRate,
) -> f64 {
    let units = case.bench.settings.units;
    let steps = &mut pending.steps;
    let mut rate = pending.needed;
    if case.limit(Factor::Air).is_some() {
        let tight = blend.recipe.most_on_tight_ground.litres_per_hectare();
        rate = cut(
            rate,
            tight,
            |limit| format!("at most {limit} where the ground is tight, to keep weight off it"),
            steps,
            case,
        );
    }
    let limit = safe.limit.nitrogen_plus_potash;
    let why = |shown: String| {
        format!(
            "at most {shown}: nitrogen plus potash beside the seed stays under {} ({})",
            limit.show(units, 1),
            safe.limit.source
        )
    };
    rate = cut(rate, seed_safe_rate(blend, limit), why, steps, case);
    cut(
        rate,
        pump.most,
        |limit| {
            format!(
                "at most {limit}: what the pump meters at {}",
                speed(case.bench.settings.machine.speed, units)
            )
        },
        steps,
        case,
    )
}

/// What lies beside the seed at the rate, against what the seed bears.
pub(super) fn tell_what_it_supplies(
    case: ZoneContext<'_>,
    blend: &Blend<'_>,
    pending: &mut PendingRate,
) {
    let Some(safe) = seed_safe(case).ok().filter(|_| pending.amount > 0.0) else {
        return;
    };
    let units = case.bench.settings.units;
    let show = |kilograms: f64| {
        MassPerArea::from_kilograms_per_hectare(pending.amount * kilograms).show(units, 2)
    };
    let limit = safe.limit.nitrogen_plus_potash.show(units, 1);
    let parts: Vec<String> = blend
        .supplies
        .iter()
        .map(|(name, kilograms)| format!("{} {}", name.replace('_', " "), show(*kilograms)))
        .collect();
    pending.steps.push(format!("brings {}", parts.join(", ")));
    let beside = format!(
        "nitrogen plus potash beside the seed: {}, safe up to {limit} on {} ground ({})",
        show(blend.seed_salt()),
        safe.ground,
        safe.limit.source
    );
    pending.steps.push(beside);
}

fn weight_caution(case: ZoneContext<'_>, blend: &Blend<'_>) -> String {
    let units = case.bench.settings.units;
    let tank = case.bench.settings.machine.tank;
    let mass = crate::soil::weight(
        tank,
        crate::units::Density::from_kilograms_per_litre(blend.density),
    );
    format!(
        "the ground is tight: a full tank of {} weighs {}; fill less here and keep off while it is wet",
        tank.show(units, 0),
        mass.show(units, 0)
    )
}

/// Rounds the rate into the window of recipe and pump, or says why nothing fits.
fn settle(
    case: ZoneContext<'_>,
    blend: &Blend<'_>,
    pump: PumpRange,
    rate: f64,
    pending: &mut PendingRate,
) {
    let units = case.bench.settings.units;
    let show = |rate| case.show(rate, Metering::Liquid);
    let recipe_least = blend.recipe.least.litres_per_hectare();
    let least = recipe_least.max(pump.least);
    let step = case.bench.steps.liquid;
    if rate <= 0.0 {
        return pending.hold_back("the seed of this crop bears no nitrogen and no potash beside it, and the recipe brings some: place it away from the seed, or use a recipe without".to_owned());
    }
    // A hair, so that a limit given in other units does not close the window.
    if rate < least * (1.0 - 1e-9) {
        if pump.least > rate && rate >= recipe_least {
            let faster = suggest(case, rate, true);
            return pending.hold_back(format!(
                "the pump meters no less than {} at {}, but {} is the most here{faster}",
                show(pump.least),
                speed(case.bench.settings.machine.speed, units),
                show(rate)
            ));
        }
        let slower = if pump.most < recipe_least {
            suggest(case, recipe_least, false)
        } else {
            String::new()
        };
        return pending.hold_back(format!(
            "the recipe is made for {} and more, but {} is the most here{slower}",
            show(recipe_least),
            show(rate)
        ));
    }
    let down = down_to_step(rate, step);
    let settled = if down >= least * (1.0 - 1e-9) {
        down
    } else {
        up_to_step(least, step)
    };
    if settled > rate * (1.0 + 1e-9) {
        return pending.hold_back(format!(
            "no step of {} lies between {} and {}",
            show(step),
            show(least),
            show(rate)
        ));
    }
    if (settled - rate).abs() > 1e-9 * rate {
        pending.steps.push(format!(
            "rounded down to the step of {}: {}",
            show(step),
            show(settled)
        ));
    }
    pending.amount = settled;
}

/// A speed at which the pump meets a rate.
fn suggest(case: ZoneContext<'_>, rate: f64, at_least_flow: bool) -> String {
    let machine = &case.bench.settings.machine;
    let flow = if at_least_flow {
        machine.flow_per_row.0
    } else {
        machine.flow_per_row.1
    };
    match speed_for_rate(
        VolumePerArea::from_litres_per_hectare(rate),
        flow,
        machine.row_spacing,
    ) {
        Ok(found) => format!("; at {} it fits", speed(found, case.bench.settings.units)),
        Err(_) => String::new(),
    }
}

pub(super) fn speed(speed: Speed, units: UnitSystem) -> String {
    speed.show(units, 1)
}

/// What is to be said of the starter over the whole field.
pub(super) fn remarks(
    settings: &Settings,
    crop: &Crop,
    blend: &Blend<'_>,
    pending: &[&PendingRate],
    any_unknown_gate: bool,
) -> Vec<Remark> {
    let mut remarks = Vec::new();
    if crop.seed_salt == SeedSaltClass::Soybean && blend.seed_salt() > 0.0 && crop.takes_starter {
        remarks.push(
            Remark::warning(
                "seed-salt",
                format!("{} bears no nitrogen and no potash in the furrow, and the recipe brings both: the starter is 0", crop.label),
            )
            .help("place the starter away from the seed, or lay a recipe without nitrogen and potash over the rulebook"),
        );
    }
    let pump = PumpRange::from_settings(settings);
    let (least, most) = (
        blend.recipe.least.litres_per_hectare(),
        blend.recipe.most.litres_per_hectare(),
    );
    if pump.least > most || pump.most < least {
        let at = speed(settings.machine.speed, settings.units);
        let show = |rate| super::rounding::show(rate, Metering::Liquid, settings.units);
        let (flow, rate) = if pump.least > most {
            (settings.machine.flow_per_row.0, most)
        } else {
            (settings.machine.flow_per_row.1, least)
        };
        let fit = speed_for_rate(
            VolumePerArea::from_litres_per_hectare(rate),
            flow,
            settings.machine.row_spacing,
        );
        let help = fit.map_or_else(
            |_| "other orifices".to_owned(),
            |fit| {
                format!(
                    "plant at {} or fit other orifices",
                    speed(fit, settings.units)
                )
            },
        );
        let what = format!(
            "at {at} the pump meters {} to {}, outside the recipe's {} to {}",
            show(pump.least),
            show(pump.most),
            show(least),
            show(most)
        );
        remarks.push(Remark::warning("pump-range", what).help(help));
    }
    if any_unknown_gate && pending.iter().any(|pending| pending.amount > 0.0) {
        remarks.push(
            Remark::warning(
                "carbon-not-measured",
                "the starter is open although no C:N by a method that the rulebook takes is known",
            )
            .help("have carbon and nitrogen tested, C:N of the water extract, 0-6 in"),
        );
    }
    let highest = pending
        .iter()
        .map(|pending| pending.amount)
        .fold(0.0, f64::max);
    if let Ok(flow) = flow_per_outlet(
        VolumePerArea::from_litres_per_hectare(highest),
        settings.machine.speed,
        settings.machine.row_spacing,
    ) && highest > 0.0
    {
        let at = speed(settings.machine.speed, settings.units);
        remarks.push(Remark::info(
            "flow-per-row",
            format!(
                "the highest starter rate is {} per row at {at}",
                flow.show(settings.units, 3)
            ),
        ));
    }
    remarks
}

/// Whether a gate of the starter could not be judged in a zone.
pub(super) fn has_unknown_gate(case: ZoneContext<'_>) -> bool {
    case.diagnosis.findings.iter().any(|finding| {
        matches!(
            finding.outcome,
            Outcome::NotMeasured | Outcome::NotComparable
        ) && finding
            .blocks
            .iter()
            .any(|closed| closed == Rulebook::STARTER)
    })
}
