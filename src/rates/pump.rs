use crate::plan::Settings;
use crate::soil::{rate_of_flow, speed_for_rate};
use crate::units::{Length, Speed, UnitSystem, VolumeFlow, VolumePerArea};

/// What the machine can meter, L/ha, at the planned speed.
#[derive(Debug, Clone, Copy)]
pub(super) struct PumpRange {
    pub least: f64,
    pub most: f64,
}

impl PumpRange {
    /// The range of rates that the flows of the plan give at its speed; everything where that cannot be calculated.
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

/// The speed at which a flow gives a rate.
pub(super) fn speed_of(rate: f64, flow: VolumeFlow, row_spacing: Length) -> Option<Speed> {
    speed_for_rate(
        VolumePerArea::from_litres_per_hectare(rate),
        flow,
        row_spacing,
    )
    .ok()
}

pub(super) fn speed(speed: Speed, units: UnitSystem) -> String {
    speed.show(units, 1)
}
