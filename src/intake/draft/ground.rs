//! Where a field lies, as far as that can be known without a projection.

use geo::BoundingRect;

use crate::intake::formats::shapes::Shapes;

/// How far outside the boundary's box a point may stand, as a share of the box (own).
const MARGIN: f64 = 0.05;

/// The box round a boundary, in its own coordinate system.
#[derive(Debug, Clone)]
pub(in crate::intake) struct Ground {
    /// The boundary's system.
    pub crs: String,
    low: (f64, f64),
    high: (f64, f64),
}

impl Ground {
    /// Of the shapes of a boundary; `None` where they have no extent or no known system.
    pub(in crate::intake) fn from_shapes(shapes: &Shapes) -> Option<Self> {
        let by_format = shapes.is_degrees_by_format.then(|| "EPSG:4326".to_owned());
        let crs = shapes.crs.clone().or(by_format)?;
        let boxes = shapes
            .list
            .iter()
            .filter_map(|shape| shape.geometry.as_ref()?.bounding_rect());
        let whole = boxes.reduce(|a, b| {
            geo::Rect::new(
                (a.min().x.min(b.min().x), a.min().y.min(b.min().y)),
                (a.max().x.max(b.max().x), a.max().y.max(b.max().y)),
            )
        })?;
        Some(Self {
            crs,
            low: whole.min().x_y(),
            high: whole.max().x_y(),
        })
    }

    /// The corners of the box.
    pub(in crate::intake) fn corners(&self) -> [(f64, f64); 2] {
        [self.low, self.high]
    }

    /// Whether it lies where depths are given in centimetres: anywhere but in the United States and Canada, as far as its system tells.
    pub(in crate::intake) fn is_metric(&self) -> bool {
        let Some(code) = self.crs.strip_prefix("EPSG:") else {
            return false;
        };
        let (x, y) = (
            f64::midpoint(self.low.0, self.high.0),
            f64::midpoint(self.low.1, self.high.1),
        );
        match code.parse::<u32>() {
            // Degrees: east of the Atlantic, or south of the southernmost of the United States (Hawaii apart).
            Ok(4_326 | 4_258) => x > -30.0 || (y < 24.5 && x > -154.0),
            // UTM north from zone 26 on and all of UTM south; national grids of Europe.
            Ok(32_626..=32_660 | 32_701..=32_760 | 25_826..=25_838) => true,
            Ok(2_154 | 27_700 | 28_992 | 31_370 | 31_466..=31_469 | 5_676..=5_679) => true,
            Ok(4_647 | 5_649 | 5_650) => true,
            _ => false,
        }
    }

    /// How many points stand inside the box or beside it.
    pub(in crate::intake) fn count_inside(&self, points: &[(f64, f64)]) -> usize {
        let margin = (
            (self.high.0 - self.low.0) * MARGIN,
            (self.high.1 - self.low.1) * MARGIN,
        );
        let is_inside = |(x, y): &&(f64, f64)| {
            (self.low.0 - margin.0..=self.high.0 + margin.0).contains(x)
                && (self.low.1 - margin.1..=self.high.1 + margin.1).contains(y)
        };
        points.iter().filter(is_inside).count()
    }
}
