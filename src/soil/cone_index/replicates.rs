use crate::soil::SoilError;
use crate::units::Pressure;

/// One reading of a push at one depth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ConeReading {
    /// A number within the gauge's range.
    Measured(Pressure),
    /// The gauge's end: more than this, a stone perhaps. Never taken as the number itself.
    OverRange(Pressure),
}

impl ConeReading {
    fn kilopascals(self) -> f64 {
        match self {
            Self::Measured(pressure) | Self::OverRange(pressure) => pressure.kilopascals(),
        }
    }
}

/// Median of the pushes at one place and depth. An over-range reading counts as above every measured one; where the middle falls on
/// one, the median is itself over range.
///
/// With an even count the mean of the middle two is taken, unless one of them is over range.
///
/// # Range
/// At least one push; three to five within a few feet are advised.
///
/// # Errors
/// [`SoilError::NotEnoughData`] without a push, [`SoilError::NotANumber`] where a reading is none.
///
/// # Source
/// Median of replicates: Duiker 2002, Penn State Agronomy Facts 63 (practice, from memory); censoring: own.
pub fn median_of_replicates(pushes: &[ConeReading]) -> Result<ConeReading, SoilError> {
    if pushes.iter().any(|push| !push.kilopascals().is_finite()) {
        return Err(SoilError::NotANumber {
            quantity: "a cone reading",
        });
    }
    let is_over = |push: &ConeReading| matches!(push, ConeReading::OverRange(_));
    let mut sorted = pushes.to_vec();
    sorted.sort_by(|a, b| {
        is_over(a)
            .cmp(&is_over(b))
            .then(a.kilopascals().total_cmp(&b.kilopascals()))
    });
    let half = sorted.len() / 2;
    match (
        sorted.get(half),
        half.checked_sub(1).and_then(|below| sorted.get(below)),
    ) {
        (None, _) => Err(SoilError::NotEnoughData {
            what: "the median of the pushes",
            found: 0,
            needed: 1,
        }),
        (Some(ConeReading::Measured(upper)), Some(ConeReading::Measured(lower)))
            if sorted.len().is_multiple_of(2) =>
        {
            Ok(ConeReading::Measured((*lower + *upper) * 0.5))
        }
        (Some(middle), _) => Ok(*middle),
    }
}
