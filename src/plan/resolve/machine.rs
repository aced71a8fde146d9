//! What the planter and the controller can do.

use crate::plan::defaults;
use crate::plan::file::MachineTable;
use crate::plan::limits;
use crate::plan::reading::{Typed, Written};
use crate::plan::settings::MachineSettings;
use crate::remark::Remark;
use crate::units::{Length, Quantity, UnitSystem, VolumeFlow, decimal};

use super::words::Resolver;

pub(super) fn machine(
    table: &MachineTable,
    units: UnitSystem,
    resolver: &Resolver<'_>,
) -> MachineSettings {
    let machine = MachineSettings {
        swath: resolver
            .within(&table.swath, &limits::SWATH)
            .unwrap_or(defaults::SWATH),
        row_spacing: resolver
            .within(&table.row_spacing, &limits::ROW_SPACING)
            .unwrap_or(defaults::ROW_SPACING),
        heading: heading(&table.heading, resolver).unwrap_or(defaults::HEADING),
        speed: resolver
            .within(&table.speed, &limits::SPEED)
            .unwrap_or(defaults::SPEED),
        tank: resolver
            .within(&table.tank, &limits::TANK)
            .unwrap_or(defaults::TANK),
        flow_per_row: flow_per_row(&table.flow_per_row, resolver)
            .unwrap_or((defaults::LEAST_FLOW, defaults::MOST_FLOW)),
        liquid_step: resolver.within(&table.liquid_step, &limits::LIQUID_STEP),
        dry_step: resolver.within(&table.dry_step, &limits::DRY_STEP),
    };
    if let (Some(swath), Some(_)) = (table.swath.given(), table.row_spacing.given())
        && machine.row_spacing > machine.swath
    {
        let what = format!(
            "rows stand {} apart, wider than the swath of {}",
            spacing(machine.row_spacing, units),
            machine.swath.show(units, 2)
        );
        resolver.contradiction(
            &swath.place,
            what,
            "swath is the width of a pass, row_spacing the distance between two rows",
        );
    }
    remark_on_defaults(table, &machine, units, resolver);
    machine
}

fn heading(typed: &Typed<f64>, resolver: &Resolver<'_>) -> Option<f64> {
    let written = typed.given()?;
    if !(-360.0..=360.0).contains(&written.value) {
        resolver.out_of_range(
            &written.place,
            written.value,
            "0 to 360 degrees clockwise from north",
        );
        return None;
    }
    Some(written.value.rem_euclid(360.0))
}

fn flow_per_row(
    typed: &Typed<Vec<String>>,
    resolver: &Resolver<'_>,
) -> Option<(VolumeFlow, VolumeFlow)> {
    let written = typed.given()?;
    let [least, most] = written.value.as_slice() else {
        let help = "write the least and the most, such as [\"0.03 gal/min\", \"0.30 gal/min\"]";
        resolver.contradiction(
            &written.place,
            format!("flow_per_row has {} values", written.value.len()),
            help,
        );
        return None;
    };
    let flow = |text: &String| Written {
        value: text.clone(),
        place: written.place.clone(),
    };
    let (least, most): (Option<VolumeFlow>, Option<VolumeFlow>) = (
        resolver.not_negative_in(&flow(least)),
        resolver.within_in(&flow(most), &limits::MOST_FLOW),
    );
    let (least, most) = (least?, most?);
    if least.stored() >= most.stored() {
        resolver.contradiction(
            &written.place,
            "the least flow is not less than the most",
            "write the least first, then the most",
        );
        return None;
    }
    Some((least, most))
}

/// A distance between rows as people say it: `30 in`, `75 cm`.
fn spacing(distance: Length, units: UnitSystem) -> String {
    let unit = match units {
        UnitSystem::UnitedStates => "in",
        UnitSystem::Metric => "cm",
    };
    format!(
        "{} {unit}",
        decimal(distance.in_unit(unit).unwrap_or_default(), 1)
    )
}

/// Says which of the machine's values were taken from common practice, since rates and caps hang on them.
fn remark_on_defaults(
    table: &MachineTable,
    machine: &MachineSettings,
    units: UnitSystem,
    resolver: &Resolver<'_>,
) {
    let (least, most) = machine.flow_per_row;
    let assumed: Vec<String> = [
        (!table.swath.is_written()).then(|| format!("swath {}", machine.swath.show(units, 1))),
        (!table.row_spacing.is_written())
            .then(|| format!("row_spacing {}", spacing(machine.row_spacing, units))),
        (!table.heading.is_written()).then(|| format!("heading {}", decimal(machine.heading, 0))),
        (!table.speed.is_written()).then(|| format!("speed {}", machine.speed.show(units, 1))),
        (!table.tank.is_written()).then(|| format!("tank {}", machine.tank.show(units, 0))),
        (!table.flow_per_row.is_written()).then(|| {
            format!(
                "flow_per_row {} to {}",
                least.show(units, 2),
                most.show(units, 2)
            )
        }),
    ]
    .into_iter()
    .flatten()
    .collect();
    if !assumed.is_empty() {
        let what = format!(
            "The plan does not say all of [machine]; common practice was taken: {}.",
            assumed.join(", ")
        );
        let remark = Remark::assumption("machine-assumed", what)
            .help("Write the planter's own values in [machine]; caps and rates hang on them.");
        resolver.remark(remark);
    }
}
