use crate::soil::SoilError;

/// How moist the soil was when the cone was pushed, as the operator noted it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SoilMoisture {
    /// At field capacity: what the limits are made for.
    FieldCapacity,
    /// Drier: readings are upper bounds.
    Dry,
    /// Wetter: readings are lower bounds.
    Wet,
    /// Nothing was noted, or nothing that is understood.
    Unknown,
}

impl SoilMoisture {
    /// The word.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::FieldCapacity => "moist",
            Self::Dry => "dry",
            Self::Wet => "wet",
            Self::Unknown => "unknown",
        }
    }

    /// Reads an operator's note. Words of dryness win over "field capacity" ("drier than field capacity").
    #[must_use]
    pub fn from_note(note: Option<&str>) -> Self {
        let note = note.unwrap_or("").to_lowercase();
        let says = |words: &[&str]| words.iter().any(|word| note.contains(word));
        if says(&[
            "dry",
            "drier",
            "drought",
            "below field capacity",
            "under field capacity",
        ]) {
            Self::Dry
        } else if says(&[
            "wet",
            "saturated",
            "soggy",
            "above field capacity",
            "over field capacity",
        ]) {
            Self::Wet
        } else if says(&["field capacity", "field-capacity", "moist"]) {
            Self::FieldCapacity
        } else {
            Self::Unknown
        }
    }

    /// What the reader must know; `None` at field capacity. Readings are never corrected for moisture: published corrections did not
    /// always hold.
    ///
    /// # Source
    /// Moisture acts on the cone index several times as strongly as bulk density: Heege (ed.) 2013, "Precision in Crop Farming", Springer. Corrections: Busscher et
    /// al. 1997, Soil Tillage Res. 43:205-217.
    #[must_use]
    pub const fn caution(self) -> Option<&'static str> {
        match self {
            Self::FieldCapacity => None,
            Self::Dry => Some(
                "pushed in soil drier than field capacity: the readings are upper bounds; push again when it is moist",
            ),
            Self::Wet => Some(
                "pushed in soil wetter than field capacity: the readings are lower bounds; push again at field capacity",
            ),
            Self::Unknown => Some(
                "soil moisture at the push was not noted: the limits hold at field capacity only",
            ),
        }
    }
}

/// Whether cone readings of two dates may be compared: only where both were pushed at field capacity.
///
/// # Errors
/// [`SoilError::NotComparable`] where either was not, or the moisture was not noted.
///
/// # Source
/// As [`SoilMoisture::caution`].
pub fn comparable_dates(before: SoilMoisture, after: SoilMoisture) -> Result<(), SoilError> {
    if before == SoilMoisture::FieldCapacity && after == SoilMoisture::FieldCapacity {
        return Ok(());
    }
    Err(SoilError::NotComparable {
        what: "cone index",
        found: format!("a push in {} soil", before.name()),
        wanted: format!("comparison with a push in {} soil", after.name()),
        help: "push both times at field capacity and note the moisture",
    })
}
