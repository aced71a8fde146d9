//! Nitrogen plus potash that the seed bears in a zone.

use super::blend::Blend;
use super::zone_context::ZoneContext;
use crate::analyte::Analyte;
use crate::rulebook::SeedSaltClass;
use crate::soil::{
    SeedCrop, SeedSaltLimit, SeedSaltTable, Seedbed, TextureClass, may_be_sandy, texture_class,
};
use crate::units::MassPerArea;

/// The seed-safe limit of a zone.
pub(super) struct SeedSafe {
    pub limit: SeedSaltLimit,
    pub ground: &'static str,
    pub caution: Option<String>,
}

/// Nitrogen plus potash that the seed bears here; unknown texture takes the sandy column.
pub(super) fn seed_safe(case: ZoneContext<'_>) -> Result<SeedSafe, String> {
    let crop = match case.field.crop.seed_salt {
        SeedSaltClass::Corn => SeedCrop::Corn,
        SeedSaltClass::Soybean => SeedCrop::Soybean,
    };
    let numbers = &case.field.rulebook.numbers;
    let light = || {
        case.summary(&Analyte::CationExchangeCapacity, None)
            .map(|summary| summary.mean < numbers.sandy_below_cec)
    };
    let is_sandy = sandy_by_texture(case).or_else(light);
    let (seedbed, ground) = if is_sandy == Some(false) {
        (Seedbed::MediumToFine, "medium to fine")
    } else {
        (Seedbed::SandyDryOrCold, "sandy, dry or cold")
    };
    let caution = (is_sandy.is_none() && crop == SeedCrop::Corn).then(|| {
        "neither sand nor CEC is known: the seed-safe limit of sandy ground is used".to_owned()
    });
    let spacing = case.field.settings.machine.row_spacing;
    let limit = SeedSaltTable::Kansas
        .limit(crop, seedbed, spacing)
        .map_err(|error| error.to_string())?;
    Ok(SeedSafe {
        limit,
        ground,
        caution,
    })
}

/// Whether the texture is sandy: by the class where sand and clay are known, else by either alone; `None` where they do not tell.
pub(super) fn sandy_by_texture(case: ZoneContext<'_>) -> Option<bool> {
    let mean = |analyte| case.summary(&analyte, None).map(|summary| summary.mean);
    let clay = mean(Analyte::Clay);
    let Some(sand) = mean(Analyte::Sand) else {
        return clay.filter(|clay| !may_be_sandy(*clay)).map(|_| false);
    };
    let class =
        clay.and_then(|clay| texture_class(sand, (100.0 - sand - clay).max(0.0), clay).ok());
    Some(class.map_or(
        sand >= case.field.rulebook.numbers.sandy_from_sand,
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
