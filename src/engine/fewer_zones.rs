use crate::plan::{FixedOrAuto, Settings};
use crate::zones::Zones;

/// What is said instead of "as the plan says" where fewer zones could be drawn than the plan asks for.
pub(super) fn fewer_than_asked(settings: &Settings, zones: &Zones) -> Option<String> {
    let drawn = zones.zones.len();
    match settings.zones.count {
        FixedOrAuto::Fixed(asked) if drawn < asked && !zones.layers.is_empty() => {
            let are = if drawn == 1 { "zone" } else { "zones" };
            Some(format!(
                "{drawn} {are}: the plan asks for {asked}, and no more could be drawn."
            ))
        }
        _ => None,
    }
}
