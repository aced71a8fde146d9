//! What is known beside the readings: the run, the rulebook, the day of planting, the sprayer.

use super::ground::SeasonGround;
use crate::plan::{Day, Price};
use crate::rulebook::{Crop, Factor, Rulebook};
use crate::units::{UnitSystem, Volume, VolumePerArea};

/// What a zone of the run is short of, by its soil test.
#[derive(Debug, Clone, PartialEq)]
pub struct SoilShort {
    /// The factor.
    pub factor: Factor,
    /// Whether it limits; otherwise it was measured and is enough.
    pub is_short: bool,
    /// The run's finding, one sentence.
    pub sentence: String,
    /// 0 at the threshold to 1 at the rule's worst value.
    pub severity: f64,
}

/// What the run says of a zone.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ZoneRecord {
    /// Its number.
    pub number: u32,
    /// Area, m².
    pub area_m2: f64,
    /// What the soil test measured, factor by factor.
    pub soil: Vec<SoilShort>,
    /// The finding that closes the starter for want of carbon.
    pub carbon_gate: Option<String>,
    /// The finding that closes what carries salt.
    pub salt_gate: Option<String>,
    /// What the plan puts on the ground, by product of the rulebook, kg/ha or L/ha.
    pub applied: Vec<(String, f64)>,
}

/// What the user says of the season.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SeasonSettings {
    /// Day of planting.
    pub planted: Option<Day>,
    /// Plants wanted, per acre.
    pub population: Option<f64>,
    /// Whether the refractometer corrects for temperature itself.
    pub is_compensated: bool,
    /// Tank of the sprayer.
    pub tank: Option<Volume>,
    /// Water that the sprayer puts out, where it is not the rulebook's.
    pub water: Option<VolumePerArea>,
    /// What a unit of the crop sells for, United States dollars a kilogram.
    pub crop_price: Option<f64>,
    /// Yield that is aimed at, bushels per acre.
    pub yield_goal: Option<f64>,
}

/// All that readings are compared with.
#[derive(Debug, Clone, Copy)]
pub struct SeasonContext<'a> {
    /// The rulebook.
    pub rulebook: &'a Rulebook,
    /// The crop.
    pub crop: &'a Crop,
    /// The season.
    pub season: u16,
    /// Units that are printed.
    pub units: UnitSystem,
    /// Distance between rows, feet.
    pub row_spacing_ft: f64,
    /// Name of the field.
    pub field: &'a str,
    /// Folder of the run.
    pub folder: &'a str,
    /// Zones and strips.
    pub ground: &'a SeasonGround,
    /// What the run says of them, by rising number.
    pub zones: &'a [ZoneRecord],
    /// What the user says.
    pub settings: &'a SeasonSettings,
    /// Prices of the plan, laid over the rulebook's.
    pub prices: &'a [(String, Price)],
}

/// Acres of a hectare.
const ACRES: f64 = 2.471_053_814_671_653;

impl SeasonContext<'_> {
    /// Plants per area in words: "28,400 plants/ac".
    #[must_use]
    pub fn plants(&self, per_acre: f64) -> String {
        let (factor, unit) = self.plants_unit();
        format!("{} {unit}", thousands(per_acre * factor))
    }

    /// The number alone.
    #[must_use]
    pub fn plants_number(&self, per_acre: f64) -> String {
        thousands(per_acre * self.plants_unit().0)
    }

    /// What a plant per acre is in the printed unit, and the unit.
    #[must_use]
    pub fn plants_unit(&self) -> (f64, &'static str) {
        match self.units {
            UnitSystem::UnitedStates => (1.0, "plants/ac"),
            UnitSystem::Metric => (ACRES, "plants/ha"),
        }
    }
}

/// A number to the hundred, thousands set apart.
fn thousands(plants: f64) -> String {
    let whole = ((plants / 100.0).round() * 100.0).max(0.0) as u64;
    let text = whole.to_string();
    let mut out = String::new();
    for (at, digit) in text.chars().enumerate() {
        if at > 0 && (text.len() - at).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    out
}
