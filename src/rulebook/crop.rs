use super::Basis;
use super::reader::Entry;

/// How a crop's seed takes salt beside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SeedSaltClass {
    /// Corn and crops that take as much.
    Corn,
    /// No nitrogen and no potash beside the seed in rows.
    Soybean,
}

impl SeedSaltClass {
    /// The word of the rulebook file.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Corn => "corn",
            Self::Soybean => "soybean",
        }
    }
}

/// How a crop is usually sown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RowHabit {
    /// In rows wide enough to drive between.
    Rows,
    /// Drilled in narrow rows.
    Drilled,
    /// Standing for years, no furrow is opened.
    Standing,
}

impl RowHabit {
    /// The word of the rulebook file.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Rows => "rows",
            Self::Drilled => "drilled",
            Self::Standing => "standing",
        }
    }
}

/// The stand from which a crop gives its full yield.
#[derive(Debug, Clone)]
pub struct FullStand {
    /// Plants per acre.
    pub plants_per_acre: f64,
    /// Where the number comes from.
    pub source: String,
}

/// A crop that the rulebook knows.
#[derive(Debug, Clone)]
pub struct Crop {
    /// Name in the rulebook.
    pub name: String,
    /// What people call it.
    pub label: String,
    /// Other names that a plan may use.
    pub also: Vec<String>,
    /// pH in water that lime aims at.
    pub target_ph: f64,
    /// How its seed takes salt.
    pub seed_salt: SeedSaltClass,
    /// Whether a starter in the furrow fits how it is sown.
    pub takes_starter: bool,
    /// Whether amendments can be worked in before sowing.
    pub is_tilled: bool,
    /// What the target rests on.
    pub basis: Basis,
    /// Where it comes from.
    pub source: String,
    /// What the seed's salt class rests on.
    pub seed_salt_basis: Basis,
    /// Where that comes from.
    pub seed_salt_source: String,
    /// The unit that its yield is told in, per acre: bu, ton, cwt or lb.
    pub yield_unit: String,
    /// Pounds of a unit of its yield; 0 where nothing is known.
    pub pounds_per_unit: f64,
    /// How it is usually sown.
    pub row_habit: RowHabit,
    /// The stand from which it gives its full yield; where published.
    pub stand: Option<FullStand>,
    /// What a unit of its yield takes off the field.
    pub removal: Option<Removal>,
    /// Salt that it bears.
    pub salt: Option<SaltTolerance>,
}

/// What a unit of yield takes off the field, pounds.
#[derive(Debug, Clone)]
pub struct Removal {
    /// P2O5.
    pub phosphate: f64,
    /// K2O.
    pub potash: f64,
    /// Sulfur.
    pub sulfur: f64,
    /// What the numbers rest on.
    pub basis: Basis,
    /// Where they come from.
    pub source: String,
}

impl Removal {
    fn read(entry: &mut Entry<'_>) -> Self {
        let mut pounds = |key| entry.number_in(key, 0.0..=200.0, "0 to 200 lb", 0.0);
        let (phosphate, potash, sulfur) = (pounds("phosphate"), pounds("potash"), pounds("sulfur"));
        Self {
            phosphate,
            potash,
            sulfur,
            basis: entry.basis("basis"),
            source: entry.text(
                "source",
                "name the publication, or say whose practice it is",
            ),
        }
    }
}

/// The straight line of Maas and Hoffman: yield falls by so much for each dS/m past a threshold.
#[derive(Debug, Clone)]
pub struct SaltTolerance {
    /// Conductivity of the saturated paste from which yield falls, dS/m.
    pub threshold: f64,
    /// Percent of yield for each dS/m beyond.
    pub slope: f64,
    /// Where the numbers come from.
    pub source: String,
}

impl Crop {
    pub(super) fn read(entry: &mut Entry<'_>) -> Self {
        let classes = [
            ("corn", SeedSaltClass::Corn),
            ("soybean", SeedSaltClass::Soybean),
        ];
        let has_salt = entry.has("salt_threshold");
        let salt = SaltTolerance {
            threshold: entry.number_in("salt_threshold", 0.5..=20.0, "0.5 to 20 dS/m", 4.0),
            slope: entry.number_in("salt_slope", 0.5..=50.0, "0.5 to 50 percent", 10.0),
            source: entry.maybe_text("salt_source").unwrap_or_default(),
        };
        let habits = [RowHabit::Rows, RowHabit::Drilled, RowHabit::Standing];
        let row_habit = entry.word(
            "row_habit",
            &habits.map(|habit| (habit.name(), habit)),
            Some(RowHabit::Rows),
        );
        let has_stand = entry.has("stand");
        let stand = FullStand {
            plants_per_acre: entry.number_in("stand", 1_000.0..=5e6, "1000 to 5000000 plants", 1e5),
            source: entry.maybe_text("stand_source").unwrap_or_default(),
        };
        let yield_unit = entry.word(
            "yield_unit",
            &[("bu", "bu"), ("ton", "ton"), ("cwt", "cwt"), ("lb", "lb")],
            Some("lb"),
        );
        Self {
            yield_unit: yield_unit.to_owned(),
            pounds_per_unit: entry.number_in("pounds_per_unit", 0.0..=4_000.0, "0 to 4000 lb", 0.0),
            row_habit,
            stand: has_stand.then_some(stand),
            removal: entry.table("removal", Removal::read),
            salt: has_salt.then_some(salt),
            name: entry.name.to_owned(),
            label: entry.text("label", "write what people call the crop"),
            also: entry.texts("also"),
            target_ph: entry.required_in(
                "target_ph",
                "write the pH in water that lime aims at",
                4.0..=8.0,
                "4 to 8",
            ),
            seed_salt: entry.word("seed_salt", &classes, None),
            takes_starter: entry.flag_or("takes_starter", true),
            is_tilled: entry.flag_or("is_tilled", true),
            basis: entry.basis("basis"),
            source: entry.text(
                "source",
                "name the publication, or say whose practice it is",
            ),
            seed_salt_basis: entry.basis("seed_salt_basis"),
            seed_salt_source: entry.text(
                "seed_salt_source",
                "name the publication, or say whose practice it is",
            ),
        }
    }
}
