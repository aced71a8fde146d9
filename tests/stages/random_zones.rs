//! Many random zones (invented), the same for the same seed.

use lowstave::analyte::Analyte::{self, *};
use lowstave::units::UnitSystem;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::made_zones::{Made, key};

/// A layer that a laboratory may or may not give: analyte, methods, unit, least and most value.
const LAYERS: &[(Analyte, &[&str], &str, f64, f64)] = &[
    (
        CarbonNitrogenRatio,
        &["water-extract", "combustion"],
        "ratio",
        5.0,
        25.0,
    ),
    (OrganicMatter, &["loi"], "%", 0.3, 6.0),
    (OrganicCarbon, &["combustion"], "%", 0.1, 3.0),
    (Ph, &["water", "water", "water", "cacl2"], "pH", 4.3, 9.4),
    (
        BufferPh,
        &["smp", "sikora", "adams-evans", "woodruff"],
        "pH",
        5.6,
        7.4,
    ),
    (
        Phosphorus,
        &["mehlich-3", "bray-1", "olsen", "bray-2"],
        "ppm",
        1.0,
        140.0,
    ),
    (CalciumSaturation, &["calculated"], "%", 25.0, 85.0),
    (
        Calcium,
        &["mehlich-3", "ammonium-acetate"],
        "ppm",
        100.0,
        4_000.0,
    ),
    (MagnesiumSaturation, &["calculated"], "%", 2.0, 45.0),
    (Magnesium, &["ammonium-acetate"], "ppm", 10.0, 500.0),
    (SodiumSaturation, &["calculated"], "%", 0.0, 70.0),
    (SodiumAdsorptionRatio, &["paste"], "ratio", 0.0, 60.0),
    (ElectricalConductivity, &["paste", "1:1"], "dS/m", 0.1, 14.0),
    (CationExchangeCapacity, &["sum"], "meq/100 g", 1.0, 40.0),
    (
        Potassium,
        &["mehlich-3", "ammonium-acetate"],
        "ppm",
        20.0,
        300.0,
    ),
    (Sulfur, &["mehlich-3"], "ppm", 1.0, 20.0),
    (Boron, &["mehlich-3", "hot-water"], "ppm", 0.05, 2.0),
    (Zinc, &["mehlich-3", "dtpa"], "ppm", 0.1, 4.0),
    (Sand, &["hydrometer"], "%", 10.0, 90.0),
];

pub(crate) const CROPS: [&str; 5] = ["corn", "soybean", "wheat", "pasture", "cover_crop"];

/// A field of so many random zones.
pub(crate) fn random_field(seed: u64, zones: usize) -> Made {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let hectares: Vec<f64> = (0..zones).map(|_| random.random_range(0.2..40.0)).collect();
    let mut made = Made::new(&hectares);
    made.settings.crop = CROPS[random.random_range(0..CROPS.len())].into();
    made.settings.units = if random.random_bool(0.5) {
        UnitSystem::UnitedStates
    } else {
        UnitSystem::Metric
    };
    for (analyte, methods, unit, least, most) in LAYERS {
        if random.random_bool(0.25) {
            continue;
        }
        let values: Vec<f64> = (0..zones)
            .map(|_| random.random_range(*least..*most))
            .collect();
        let method = methods[random.random_range(0..methods.len())];
        made = made.layer(key(analyte.clone(), method, "0-6 in"), unit, &values);
    }
    if random.random_bool(0.6) {
        let pushes: Vec<Vec<Vec<f64>>> = (0..zones)
            .map(|_| {
                let level = random.random_range(60.0..260.0);
                (0..random.random_range(1..6))
                    .map(|_| {
                        (0..6)
                            .map(|_| level * random.random_range(0.7..1.8))
                            .collect()
                    })
                    .collect()
            })
            .collect();
        let borrowed: Vec<Vec<&[f64]>> = pushes
            .iter()
            .map(|zone| zone.iter().map(Vec::as_slice).collect())
            .collect();
        let zones: Vec<&[&[f64]]> = borrowed.iter().map(Vec::as_slice).collect();
        made = made.pushes(&zones, Some("moist"));
    }
    made
}
