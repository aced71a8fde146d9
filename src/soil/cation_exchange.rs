use super::error::within;
use super::{Buffer, Cation, SoilError};

/// Water pH from which exchangeable acidity is nil whatever the buffer column says.
///
/// # Source
/// Crop Files 1.04-132, "What is base saturation": its soil 2, pH 7.7, has 100 % base saturation.
pub const NEUTRAL_WATER_PH: f64 = 7.0;

/// Exchangeable acidity, or why there is none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Acidity {
    /// From a buffer pH by the buffer's own formula, or as the laboratory printed it, meq/100 g.
    Known(f64),
    /// Water pH is 7 or more: no acidity.
    AbsentAtNeutral,
    /// No buffer pH was run, or its buffer has no formula. It is never invented.
    Unknown,
}

impl Acidity {
    /// The acidity in meq/100 g; `None` where it is not known.
    #[must_use]
    pub fn meq(self) -> Option<f64> {
        match self {
            Self::Known(meq) => Some(meq),
            Self::AbsentAtNeutral => Some(0.0),
            Self::Unknown => None,
        }
    }
}

/// Exchangeable acidity of a soil from its pH in water and its buffer pH.
///
/// # Range
/// Water pH 2.5 to 11; buffer pH as at [`Buffer::acidity_meq`].
///
/// # Errors
/// [`SoilError`] outside the range. A buffer without a formula is [`Acidity::Unknown`], not an error.
///
/// # Source
/// [`Buffer::acidity_meq`], [`NEUTRAL_WATER_PH`].
pub fn exchangeable_acidity(
    water_ph: Option<f64>,
    buffer: Option<(Buffer, f64)>,
) -> Result<Acidity, SoilError> {
    if let Some(ph) = water_ph
        && within(ph, "pH in water", "", 2.5..=11.0, "a soil")? >= NEUTRAL_WATER_PH
    {
        return Ok(Acidity::AbsentAtNeutral);
    }
    match buffer {
        Some((buffer, buffer_ph)) if buffer.has_acidity_formula() => {
            buffer.acidity_meq(buffer_ph).map(Acidity::Known)
        }
        _ => Ok(Acidity::Unknown),
    }
}

/// The exchange complex: four bases and the acidity, in meq/100 g.
///
/// Its sum is not a fixed property of the soil: it rises after liming and fertilising. Sodium of a salty soil's solution
/// counts as exchangeable unless it is taken off first (see [`super::soluble_sodium_meq`]).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CationExchange {
    calcium_meq: f64,
    magnesium_meq: f64,
    potassium_meq: f64,
    sodium_meq: f64,
    acidity: Acidity,
}

impl CationExchange {
    /// From charges in meq/100 g.
    ///
    /// # Range
    /// Each 0 to 200 meq/100 g.
    ///
    /// # Errors
    /// [`SoilError`] outside the range.
    pub fn from_meq(
        calcium_meq: f64,
        magnesium_meq: f64,
        potassium_meq: f64,
        sodium_meq: f64,
        acidity: Acidity,
    ) -> Result<Self, SoilError> {
        let bounded =
            |meq, what| within(meq, what, "meq/100 g", 0.0..=200.0, "the exchange complex");
        bounded(acidity.meq().unwrap_or(0.0), "exchangeable acidity")?;
        Ok(Self {
            calcium_meq: bounded(calcium_meq, "calcium")?,
            magnesium_meq: bounded(magnesium_meq, "magnesium")?,
            potassium_meq: bounded(potassium_meq, "potassium")?,
            sodium_meq: bounded(sodium_meq, "sodium")?,
            acidity,
        })
    }

    /// From ppm (mg/kg), in the order calcium, magnesium, potassium, sodium; all of one extractant.
    ///
    /// # Errors
    /// [`SoilError`] outside the range of [`Cation::meq_from_ppm`].
    ///
    /// # Source
    /// Crop Files 1.04-132, "What is base saturation".
    ///
    /// # Example
    /// ```
    /// use lowstave::soil::{Acidity, Buffer, CationExchange, exchangeable_acidity};
    /// let acidity = exchangeable_acidity(Some(5.4), Some((Buffer::Smp, 6.4))).unwrap();
    /// let soil = CationExchange::from_ppm([1_200.0, 180.0, 156.0, 23.0], acidity).unwrap();
    /// assert!((soil.cation_exchange_capacity_meq().unwrap() - 15.2).abs() < 1e-9);
    /// let whole = soil.base_saturation_pct().unwrap() + soil.acidity_pct().unwrap();
    /// assert!((whole - 100.0).abs() < 1e-9);
    /// ```
    pub fn from_ppm(
        [calcium, magnesium, potassium, sodium]: [f64; 4],
        acidity: Acidity,
    ) -> Result<Self, SoilError> {
        Self::from_meq(
            Cation::Calcium.meq_from_ppm(calcium)?,
            Cation::Magnesium.meq_from_ppm(magnesium)?,
            Cation::Potassium.meq_from_ppm(potassium)?,
            Cation::Sodium.meq_from_ppm(sodium)?,
            acidity,
        )
    }

    /// From lb/ac on 2,000,000 lb of soil, in the order calcium, magnesium, potassium, sodium.
    ///
    /// # Errors
    /// [`SoilError`] outside the range of [`Cation::meq_from_pounds_per_acre`].
    ///
    /// # Source
    /// Clemson University Agricultural Service Laboratory, "CEC calculations".
    pub fn from_pounds_per_acre(
        [calcium, magnesium, potassium, sodium]: [f64; 4],
        acidity: Acidity,
    ) -> Result<Self, SoilError> {
        Self::from_meq(
            Cation::Calcium.meq_from_pounds_per_acre(calcium)?,
            Cation::Magnesium.meq_from_pounds_per_acre(magnesium)?,
            Cation::Potassium.meq_from_pounds_per_acre(potassium)?,
            Cation::Sodium.meq_from_pounds_per_acre(sodium)?,
            acidity,
        )
    }

    /// Charge of one base, meq/100 g.
    #[must_use]
    pub fn base_meq(&self, cation: Cation) -> f64 {
        match cation {
            Cation::Calcium => self.calcium_meq,
            Cation::Magnesium => self.magnesium_meq,
            Cation::Potassium => self.potassium_meq,
            Cation::Sodium => self.sodium_meq,
        }
    }

    /// The acidity that went in.
    #[must_use]
    pub fn acidity(&self) -> Acidity {
        self.acidity
    }

    /// Sum of the four bases, meq/100 g: a lower bound of the CEC where the acidity is not known.
    #[must_use]
    pub fn sum_of_bases_meq(&self) -> f64 {
        self.calcium_meq + self.magnesium_meq + self.potassium_meq + self.sodium_meq
    }

    /// Cation exchange capacity by summation, meq/100 g; `None` where the acidity is not known.
    ///
    /// # Source
    /// Clemson University Agricultural Service Laboratory, "CEC calculations": CEC = Ca + Mg + K + Na + H.
    #[must_use]
    pub fn cation_exchange_capacity_meq(&self) -> Option<f64> {
        self.acidity
            .meq()
            .map(|acidity| self.sum_of_bases_meq() + acidity)
    }

    /// Share of the exchange complex held by one base, %; `None` where the capacity is not known or nil.
    #[must_use]
    pub fn saturation_pct(&self, cation: Cation) -> Option<f64> {
        self.share_pct(self.base_meq(cation))
    }

    /// Share held by the four bases together, %.
    #[must_use]
    pub fn base_saturation_pct(&self) -> Option<f64> {
        self.share_pct(self.sum_of_bases_meq())
    }

    /// Share held by the acidity, %; with [`Self::base_saturation_pct`] it makes 100.
    #[must_use]
    pub fn acidity_pct(&self) -> Option<f64> {
        self.share_pct(self.acidity.meq()?)
    }

    fn share_pct(&self, meq: f64) -> Option<f64> {
        let capacity = self.cation_exchange_capacity_meq()?;
        (capacity > 0.0).then(|| 100.0 * meq / capacity)
    }
}
