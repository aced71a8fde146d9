use crate::soil::SoilError;
use crate::units::{Length, Pressure};

/// A slice of a push in which the cone index is above the limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HardLayer {
    /// Where it begins.
    pub top: LayerTop,
    /// Where it ends.
    pub bottom: LayerBottom,
    /// Greatest cone index in it.
    pub greatest: Pressure,
}

/// Where a hard layer begins.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LayerTop {
    /// Interpolated between two depth marks.
    At(Length),
    /// The first mark is above the limit already: a tight surface, top not seen above this depth.
    AtOrAbove(Length),
}

/// Where a hard layer ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LayerBottom {
    /// Interpolated between two depth marks.
    At(Length),
    /// Bottom not reached: the record ends above the limit at this depth.
    NotReached(Length),
}

impl LayerTop {
    /// The depth, seen or at most.
    #[must_use]
    pub const fn depth(self) -> Length {
        match self {
            Self::At(depth) | Self::AtOrAbove(depth) => depth,
        }
    }
}

/// The hard layers of one push, shallow to deep.
///
/// A layer begins where the cone index rises above the limit and ends where it falls back to it, each by a straight line between depth
/// marks. A reading equal to the limit is not above it.
///
/// # Shape
/// `depths` and `cone_index` run together, shallow to deep; a reading that is not a number ends the record (the push did not reach).
///
/// # Errors
/// [`SoilError::NotEnoughData`] without a reading or where the two differ in length; [`SoilError::NotANumber`] where depths do not rise.
///
/// # Source
/// Cornell University, certified crop adviser study resource, performance objective 35: record where the reading rises above 300 psi and where it falls below.
///
/// # Example
/// ```
/// use lowstave::soil::{LayerBottom, LayerTop, hard_layers};
/// use lowstave::units::{Length, Pressure};
/// let depths = [3.0, 6.0, 9.0, 12.0, 15.0].map(|inches| Length::from_metres(inches * 0.0254));
/// let psi = [150.0, 250.0, 350.0, 320.0, 280.0].map(|psi| Pressure::from_kilopascals(psi * 6.894757));
/// let layers = hard_layers(&depths, &psi, Pressure::from_kilopascals(300.0 * 6.894757)).unwrap();
/// let LayerTop::At(top) = layers[0].top else { panic!() };
/// let LayerBottom::At(bottom) = layers[0].bottom else { panic!() };
/// assert!((top.metres() / 0.0254 - 7.5).abs() < 1e-9 && (bottom.metres() / 0.0254 - 13.5).abs() < 1e-9);
/// ```
pub fn hard_layers(
    depths: &[Length],
    cone_index: &[Pressure],
    limit: Pressure,
) -> Result<Vec<HardLayer>, SoilError> {
    let marks = marks(depths, cone_index)?;
    let limit = limit.kilopascals();
    let mut layers: Vec<HardLayer> = Vec::new();
    let mut open: Option<HardLayer> = None;
    let mut above: Option<(f64, f64)> = None;
    for &(depth, pressure) in &marks {
        open = match (open, pressure > limit) {
            (None, false) => None,
            (None, true) => Some(HardLayer {
                top: above.map_or(LayerTop::AtOrAbove(metres(depth)), |mark| {
                    LayerTop::At(crossing(mark, (depth, pressure), limit))
                }),
                bottom: LayerBottom::NotReached(metres(depth)),
                greatest: Pressure::from_kilopascals(pressure),
            }),
            (Some(layer), true) => Some(HardLayer {
                bottom: LayerBottom::NotReached(metres(depth)),
                greatest: Pressure::from_kilopascals(pressure.max(layer.greatest.kilopascals())),
                ..layer
            }),
            (Some(layer), false) => {
                let bottom = above.map_or(metres(depth), |mark| {
                    crossing(mark, (depth, pressure), limit)
                });
                layers.push(HardLayer {
                    bottom: LayerBottom::At(bottom),
                    ..layer
                });
                None
            }
        };
        above = Some((depth, pressure));
    }
    layers.extend(open);
    Ok(layers)
}

/// Depth in metres and kPa, up to the first reading that is not a number.
fn marks(depths: &[Length], cone_index: &[Pressure]) -> Result<Vec<(f64, f64)>, SoilError> {
    if depths.len() != cone_index.len() || depths.is_empty() {
        let what = "a push with one reading for each depth mark";
        return Err(SoilError::NotEnoughData {
            what,
            found: cone_index.len(),
            needed: depths.len().max(1),
        });
    }
    let rises = depths
        .windows(2)
        .all(|pair| matches!(pair, [upper, lower] if upper.metres() < lower.metres()));
    if !rises || !depths.iter().all(|depth| depth.metres().is_finite()) {
        return Err(SoilError::NotANumber {
            quantity: "a depth mark below the one before it",
        });
    }
    let pairs = depths
        .iter()
        .zip(cone_index)
        .map(|(depth, pressure)| (depth.metres(), pressure.kilopascals()));
    Ok(pairs
        .take_while(|(_, pressure)| pressure.is_finite())
        .collect())
}

fn crossing(
    (from, from_pressure): (f64, f64),
    (to, to_pressure): (f64, f64),
    limit: f64,
) -> Length {
    metres(from + (to - from) * (limit - from_pressure) / (to_pressure - from_pressure))
}

fn metres(depth: f64) -> Length {
    Length::from_metres(depth)
}

/// How deep to loosen: 1 in below the layer's bottom; `None` where the bottom was not reached. Only in soil dry enough to shatter.
///
/// # Source
/// Duiker 2002, Penn State Agronomy Facts 63, from memory.
#[must_use]
pub fn loosening_depth(layer: &HardLayer) -> Option<Length> {
    match layer.bottom {
        LayerBottom::At(depth) => Some(depth + Length::from_metres(0.0254)),
        LayerBottom::NotReached(_) => None,
    }
}
