use serde::Serialize;

/// What a column of a file of the season is: counts, days to emergence, Brix, tissue, weather.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum SeasonRole {
    /// Number of the zone, where no place is given.
    Zone,
    /// Name of the check strip.
    Strip,
    /// Name of the field.
    Field,
    /// The crop.
    Crop,
    /// Day of the reading.
    Date,
    /// Hour of the reading.
    Time,
    /// Day of planting.
    Planted,
    /// Plants that were wanted, for each area.
    Population,
    /// Plants counted.
    Count,
    /// Length of row on which they were counted.
    RowLength,
    /// Distance between rows.
    RowSpacing,
    /// Diameter of the hoop in which they were counted.
    Hoop,
    /// Days from planting to emergence.
    Days,
    /// Growing degree days (F) from planting to emergence.
    DegreeDays,
    /// Day of emergence.
    EmergedOn,
    /// Share of the plants that came late, percent.
    LateShare,
    /// Weeks that they came late.
    LateWeeks,
    /// Part of the plant.
    Part,
    /// Temperature of the sap on the prism.
    Temperature,
    /// Whether the instrument corrects for temperature itself.
    Compensated,
    /// The refractometer's reading.
    Brix,
    /// Round of readings.
    Round,
    /// The plant that was read.
    Plant,
    /// Who read.
    Person,
    /// Highest temperature of the day.
    Highest,
    /// Lowest temperature of the day.
    Lowest,
    /// Phosphorus in tissue.
    Phosphorus,
    /// Potassium in tissue.
    Potassium,
    /// Calcium in tissue.
    Calcium,
    /// Magnesium in tissue.
    Magnesium,
    /// Sulfur in tissue.
    Sulfur,
    /// Zinc in tissue.
    Zinc,
    /// Manganese in tissue.
    Manganese,
    /// Boron in tissue.
    Boron,
    /// Iron in tissue.
    Iron,
}

impl SeasonRole {
    /// Every role with its word in the plan.
    pub const WORDS: [(&'static str, Self); 35] = [
        ("zone", Self::Zone),
        ("strip", Self::Strip),
        ("field", Self::Field),
        ("crop", Self::Crop),
        ("date", Self::Date),
        ("time", Self::Time),
        ("planted", Self::Planted),
        ("population", Self::Population),
        ("count", Self::Count),
        ("row_length", Self::RowLength),
        ("row_spacing", Self::RowSpacing),
        ("hoop", Self::Hoop),
        ("days", Self::Days),
        ("degree_days", Self::DegreeDays),
        ("emerged_on", Self::EmergedOn),
        ("late_share", Self::LateShare),
        ("late_weeks", Self::LateWeeks),
        ("part", Self::Part),
        ("temperature", Self::Temperature),
        ("compensated", Self::Compensated),
        ("brix", Self::Brix),
        ("round", Self::Round),
        ("plant", Self::Plant),
        ("person", Self::Person),
        ("highest", Self::Highest),
        ("lowest", Self::Lowest),
        ("p", Self::Phosphorus),
        ("k", Self::Potassium),
        ("ca", Self::Calcium),
        ("mg", Self::Magnesium),
        ("s", Self::Sulfur),
        ("zn", Self::Zinc),
        ("mn", Self::Manganese),
        ("b", Self::Boron),
        ("fe", Self::Iron),
    ];

    /// What is measured in tissue.
    pub const TISSUE: [Self; 9] = [
        Self::Phosphorus,
        Self::Potassium,
        Self::Calcium,
        Self::Magnesium,
        Self::Sulfur,
        Self::Zinc,
        Self::Manganese,
        Self::Boron,
        Self::Iron,
    ];

    /// Its word in the plan.
    #[must_use]
    pub fn name(self) -> &'static str {
        word_of(&Self::WORDS, self)
    }
}

/// The word of a value in a list of words.
pub(super) fn word_of<T: Copy + PartialEq>(words: &[(&'static str, T)], value: T) -> &'static str {
    let mut words = words.iter();
    words
        .find(|(_, known)| *known == value)
        .map_or("", |(word, _)| word)
}
