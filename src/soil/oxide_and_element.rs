/// A form in which fertilizer law and liming trade state an element. Elements are what the soil test gives;
/// the forms are for input and output.
///
/// # Source
/// Standard atomic weights (IUPAC, rounded): Ca 40.078, Mg 24.305, P 30.974, K 39.098, O 15.999, C 12.011.
/// Extension tables print P x 2.3, K x 1.2 and Mg x 1.6.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum StatedForm {
    /// `P2O5` for phosphorus.
    PhosphorusPentoxide,
    /// `K2O` for potassium.
    PotassiumOxide,
    /// `CaO` for calcium.
    CalciumOxide,
    /// `MgO` for magnesium.
    MagnesiumOxide,
    /// `CaCO3` for calcium.
    CalciumCarbonate,
}

const CALCIUM: f64 = 40.078;
const MAGNESIUM: f64 = 24.305;
const PHOSPHORUS: f64 = 30.973_762;
const POTASSIUM: f64 = 39.098_3;
const OXYGEN: f64 = 15.999;
const CARBON: f64 = 12.011;

impl StatedForm {
    /// Mass of the form that holds one unit of mass of the element: 2.2913 for P2O5, 1.2046 for K2O.
    #[must_use]
    pub fn per_element(self) -> f64 {
        match self {
            Self::PhosphorusPentoxide => (2.0 * PHOSPHORUS + 5.0 * OXYGEN) / (2.0 * PHOSPHORUS),
            Self::PotassiumOxide => (2.0 * POTASSIUM + OXYGEN) / (2.0 * POTASSIUM),
            Self::CalciumOxide => (CALCIUM + OXYGEN) / CALCIUM,
            Self::MagnesiumOxide => (MAGNESIUM + OXYGEN) / MAGNESIUM,
            Self::CalciumCarbonate => (CALCIUM + CARBON + 3.0 * OXYGEN) / CALCIUM,
        }
    }

    /// The element's share of the form's mass: 0.4364 for P2O5.
    #[must_use]
    pub fn element_share(self) -> f64 {
        1.0 / self.per_element()
    }
}
