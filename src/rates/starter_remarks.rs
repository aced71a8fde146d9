//! What is to be said of the starter over the whole field, from the rates that passed the last gate.

use super::blend::Blend;
use super::pump::{speed, speed_of};
use super::rounding::show;
use super::zone_context::FieldContext;
use crate::remark::Remark;
use crate::rulebook::SeedSaltClass;
use crate::soil::flow_per_outlet;
use crate::units::Metering;
use crate::units::VolumePerArea;

/// What could not be judged in a zone that gets starter.
#[derive(Debug, Clone, Copy)]
pub(super) struct OpenGates {
    /// Carbon.
    pub carbon: bool,
    /// Salt, though it was measured.
    pub salt: bool,
}

/// The remarks; `rates` are the starter's rates of the zones, L/ha.
pub(super) fn remarks(
    field: &FieldContext<'_>,
    blend: &Blend<'_>,
    rates: &[f64],
    open: OpenGates,
) -> Vec<Remark> {
    let is_applied = rates.iter().any(|rate| *rate > 0.0);
    let carbon = (open.carbon && is_applied).then(|| {
        Remark::warning(
            "carbon-not-measured",
            "C:N was not tested, so the starter was not held back for it",
        )
        .help("have carbon and nitrogen tested, C:N of the water extract, 0-6 in")
    });
    let salt = (open.salt && is_applied).then(|| {
        Remark::warning(
            "salt-not-known",
            "EC was measured, but not so that it tells whether the ground is salty: the starter was not held back for it",
        )
        .help("name the method of the EC in the plan, or have the EC of a saturated paste run, before the starter goes beside the seed")
    });
    salt.into_iter()
        .chain(seed_salt(field, blend))
        .chain(pump_range(field, blend))
        .chain(carbon)
        .chain(extreme_flows(field, rates))
        .collect()
}

fn seed_salt(field: &FieldContext<'_>, blend: &Blend<'_>) -> Option<Remark> {
    let crop = field.crop;
    let bears_none =
        crop.seed_salt == SeedSaltClass::Soybean && blend.seed_salt() > 0.0 && crop.takes_starter;
    bears_none.then(|| {
        let what = format!(
            "{} bears no nitrogen and no potash in the furrow, and the recipe brings both: the starter is 0",
            crop.label
        );
        Remark::warning("seed-salt", what).help(
            "place the starter away from the seed, or lay a recipe without nitrogen and potash over the rulebook",
        )
    })
}

/// A pump that meters nothing of what the recipe is made for.
fn pump_range(field: &FieldContext<'_>, blend: &Blend<'_>) -> Option<Remark> {
    let (machine, units, pump) = (&field.settings.machine, field.settings.units, field.pump);
    let (least, most) = (
        blend.recipe.least.litres_per_hectare(),
        blend.recipe.most.litres_per_hectare(),
    );
    if pump.least <= most && pump.most >= least {
        return None;
    }
    let (flow, rate) = if pump.least > most {
        (machine.flow_per_row.0, most)
    } else {
        (machine.flow_per_row.1, least)
    };
    let help = speed_of(rate, flow, machine.row_spacing).map_or_else(
        || "other orifices".to_owned(),
        |fit| format!("plant at {} or fit other orifices", speed(fit, units)),
    );
    let show = |rate| show(rate, Metering::Liquid, units);
    let what = format!(
        "at {} the pump meters {} to {}, outside the recipe's {} to {}",
        speed(machine.speed, units),
        show(pump.least),
        show(pump.most),
        show(least),
        show(most)
    );
    Some(Remark::warning("pump-range", what).help(help))
}

/// The lowest and the highest flow per row of the map.
fn extreme_flows(field: &FieldContext<'_>, rates: &[f64]) -> Option<Remark> {
    let (machine, units) = (&field.settings.machine, field.settings.units);
    let applied = || rates.iter().copied().filter(|rate| *rate > 0.0);
    let (lowest, highest) = (applied().reduce(f64::min)?, applied().reduce(f64::max)?);
    let flow = |rate| {
        let rate = VolumePerArea::from_litres_per_hectare(rate);
        flow_per_outlet(rate, machine.speed, machine.row_spacing).ok()
    };
    let at = speed(machine.speed, units);
    let (lowest, highest) = (flow(lowest)?.show(units, 3), flow(highest)?.show(units, 3));
    let what = if lowest == highest {
        format!("the starter flows at {highest} per row at {at}")
    } else {
        format!("the starter flows at {lowest} to {highest} per row at {at}")
    };
    Some(Remark::info("flow-per-row", what))
}
