//! A rough guide to lime by texture and pH, printed where no buffer pH tells how much. It is words, never a rate.

use super::super::pending_rate::number;
use super::super::zone_context::ZoneContext;
use super::reading::{depth, in_water};
use crate::analyte::Analyte;
use crate::diagnosis::LayerSummary;
use crate::soil::limestone_by_texture;
use crate::units::{Length, MassPerArea};

/// From the least to the most ground limestone that the texture allows for; `None` where the pH gives none.
pub(super) fn guide(case: ZoneContext<'_>, ph: &LayerSummary) -> Option<String> {
    let numbers = &case.field.rulebook.numbers;
    let (target, reading) = (case.field.crop.target_ph, in_water(case, &ph.key)(ph.mean));
    let (least, most) = factors(case);
    let inches = if case.field.crop.is_tilled {
        numbers.mixing_depth_tilled
    } else {
        numbers.mixing_depth_untilled
    };
    let mixing = Length::from_metres(inches * 0.0254);
    let share = mixing.metres() / numbers.lime_factor_depth.metres();
    let lime = |factor| {
        let lime = limestone_by_texture(factor, reading, target).ok()?;
        Some(lime * share)
    };
    let (least, most) = (lime(least)?, lime(most)?);
    if most.kilograms_per_hectare() <= 0.0 {
        return None;
    }
    let units = case.field.settings.units;
    let show = |mass: MassPerArea| mass.show(units, 0);
    let amount = if least == most {
        format!("about {}", show(least))
    } else {
        format!("{} to {}", show(least), show(most))
    };
    Some(format!(
        "As a rough guide only, by texture and pH {} (United Kingdom liming factors, from memory): {amount} of ground limestone worked in {} in all, at most {} of it at first, then test again; no rate goes out on it",
        number(reading),
        depth(mixing, units),
        show(numbers.lime_first_dressing)
    ))
}

/// Least and most liming factor: the line between sand and clay at the measured clay; both ends where the texture is not known.
fn factors(case: ZoneContext<'_>) -> (MassPerArea, MassPerArea) {
    let numbers = &case.field.rulebook.numbers;
    let (sand, clay) = (numbers.lime_factor_sand, numbers.lime_factor_clay);
    let share = |analyte| {
        case.summary(&analyte, None)
            .map(|summary| summary.mean / 100.0)
    };
    let between = |way: f64| sand + (clay - sand) * way.clamp(0.0, 1.0);
    // Half a unit of the factor either side: the textures of the guide are classes, not a line.
    let way = match (share(Analyte::Clay), share(Analyte::Sand)) {
        (Some(clay), _) => Some(clay / 0.4),
        (None, Some(sand)) => Some(1.0 - sand),
        (None, None) => None,
    };
    way.map_or((sand, clay), |way| {
        (between(way - 0.25), between(way + 0.25))
    })
}
