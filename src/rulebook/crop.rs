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
}

impl Crop {
    pub(super) fn read(entry: &mut Entry<'_>) -> Self {
        let classes = [
            ("corn", SeedSaltClass::Corn),
            ("soybean", SeedSaltClass::Soybean),
        ];
        Self {
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
