//! Keep-outs that miss the field: how far off they lie, and which slip would explain it.

use geo::{
    BoundingRect, CoordsIter, Distance, Euclidean, Geometry, Haversine, MultiPolygon, Point, Rect,
};

use super::FieldError;
use super::observations::compass;
use super::projection::{ToDegrees, WorkingCrs};
use crate::intake::AreaShape;
use crate::plan::KeepOut;
use crate::provenance::Place;
use crate::units::UnitSystem;

/// Farthest that a keep-out which misses the field may lie from it, metres (own). A creek, road or well beside the field is
/// nearer; what lies farther off belongs to another field, or its coordinates are wrong.
pub(super) const FARTHEST_MISS_M: f64 = 1_000.0;
/// The same in degrees of latitude, rounded up.
const FARTHEST_MISS_DEGREES: f64 = 0.01;
/// Most vertices that are tried for each slip.
const TRIED: usize = 2_000;
/// Systems whose codes are a family and a zone of the universal grid: WGS 84 north and south, NAD 83, ETRS 89.
const ZONE_FAMILIES: [&str; 4] = ["EPSG:326", "EPSG:327", "EPSG:269", "EPSG:258"];

/// The field, as far as a keep-out needs to know it.
pub(super) struct Neighbourhood<'a> {
    /// The field's plane.
    pub crs: &'a WorkingCrs,
    /// The boundary's bounding box in degrees.
    pub bounds: Rect<f64>,
    /// The system of the boundary's file.
    pub boundary_crs: &'a str,
    /// What distances are printed in.
    pub units: UnitSystem,
}

/// A slip that may have been made, and the turn that would undo it.
struct Slip {
    crs: String,
    turn: fn(f64, f64) -> (f64, f64),
    words: String,
}

impl Neighbourhood<'_> {
    /// Whether a shape in degrees is so far off that it need not be looked at on the plane.
    pub(super) fn misses(&self, degrees: &Geometry<f64>) -> bool {
        let wide = self.widened();
        degrees.bounding_rect().is_none_or(|bounds| {
            bounds.max().x < wide.min().x
                || bounds.min().x > wide.max().x
                || bounds.max().y < wide.min().y
                || bounds.min().y > wide.max().y
        })
    }

    /// The error for a keep-out that lies elsewhere, where a slip explains it.
    pub(super) fn elsewhere(
        &self,
        source: &AreaShape<Geometry<f64>>,
        wanted: &KeepOut,
        distance: Option<(String, &'static str)>,
    ) -> Option<FieldError> {
        let slip = self.slip(source)?;
        Some(elsewhere(source, wanted, distance, slip.words))
    }

    /// The error for a keep-out that certainly lies elsewhere.
    pub(super) fn certainly_elsewhere(
        &self,
        source: &AreaShape<Geometry<f64>>,
        wanted: &KeepOut,
        degrees: &Geometry<f64>,
    ) -> FieldError {
        let distance = self.off(degrees);
        self.elsewhere(source, wanted, Some(distance.clone()))
            .unwrap_or_else(|| {
                let words = "no lost sign, other zone or change of axes would put it there: check its crs, or take it out \
                             of the plan if it is of another field";
                elsewhere(source, wanted, Some(distance), words.to_owned())
            })
    }

    fn widened(&self) -> Rect<f64> {
        let middle = self.bounds.center().y.to_radians().cos().max(0.01);
        let (east, north) = (FARTHEST_MISS_DEGREES / middle, FARTHEST_MISS_DEGREES);
        let (low, high) = (self.bounds.min(), self.bounds.max());
        Rect::new(
            (low.x - east, low.y - north),
            (high.x + east, high.y + north),
        )
    }

    /// How far off a shape in degrees lies, in words, and in which direction.
    fn off(&self, degrees: &Geometry<f64>) -> (String, &'static str) {
        let centre = Point(self.bounds.center());
        let nearest = degrees
            .coords_iter()
            .map(|at| (Haversine.distance(centre, Point(at)), at))
            .min_by(|a, b| a.0.total_cmp(&b.0));
        let Some((metres, at)) = nearest else {
            return ("nowhere".to_owned(), "north");
        };
        let distance = match self.units {
            UnitSystem::Metric => format!("{:.0} km", (metres / 1_000.0).ceil()),
            UnitSystem::UnitedStates => format!("{:.0} mi", (metres / 1_609.344).ceil()),
        };
        (distance, compass(at.x - centre.x(), at.y - centre.y()))
    }

    /// The first slip that would put a vertex of the shape at the field.
    fn slip(&self, source: &AreaShape<Geometry<f64>>) -> Option<Slip> {
        let step = source.shape.coords_count().div_ceil(TRIED).max(1);
        let vertices: Vec<_> = source.shape.coords_iter().step_by(step).collect();
        let wide = self.widened();
        self.slips(&source.crs).into_iter().find(|slip| {
            ToDegrees::from(&slip.crs).is_ok_and(|way| {
                vertices.iter().any(|at| {
                    let (x, y) = (slip.turn)(at.x, at.y);
                    way.point(x, y).is_ok_and(|(x, y)| {
                        (wide.min().x..=wide.max().x).contains(&x)
                            && (wide.min().y..=wide.max().y).contains(&y)
                    })
                })
            })
        })
    }

    fn slips(&self, crs: &str) -> Vec<Slip> {
        let slip = |crs: &str, turn: fn(f64, f64) -> (f64, f64), words: &str| Slip {
            crs: crs.to_owned(),
            turn,
            words: words.to_owned(),
        };
        let as_written: fn(f64, f64) -> (f64, f64) = |x, y| (x, y);
        let mut slips = vec![
            slip(
                crs,
                |x, y| (-x, y),
                "the minus sign of its west longitudes is lost: with it, it lies at the field",
            ),
            slip(
                crs,
                |x, y| (x, -y),
                "the minus sign of its south latitudes is lost: with it, it lies at the field",
            ),
            slip(
                crs,
                |x, y| (y, x),
                "its x and y are swapped: changed round, it lies at the field",
            ),
            slip(
                crs,
                |x, y| (-y, x),
                "its x and y are swapped and the minus sign of west is lost",
            ),
        ];
        let others = [self.boundary_crs.to_owned(), "EPSG:4326".to_owned()];
        for other in others.into_iter().chain(self.zones(crs)) {
            if other != crs {
                let words = format!(
                    "its coordinates are not in {crs} but in {other}: write crs = \"{other}\" in this keep_out"
                );
                slips.push(slip(&other, as_written, &words));
            }
        }
        slips
    }

    /// The systems of the same family as a code that stand for the field's own zone and its neighbours.
    fn zones(&self, crs: &str) -> Vec<String> {
        let Some(family) = ZONE_FAMILIES
            .into_iter()
            .find(|family| crs.len() == family.len() + 2 && crs.starts_with(family))
        else {
            return Vec::new();
        };
        let own = ((self.bounds.center().x + 180.0) / 6.0).floor() as i32 + 1;
        [own, own - 1, own + 1]
            .into_iter()
            .filter(|zone| (1..=60).contains(zone))
            .map(|zone| format!("{family}{zone:02}"))
            .collect()
    }
}

/// The error for a keep-out that lies elsewhere.
fn elsewhere(
    source: &AreaShape<Geometry<f64>>,
    wanted: &KeepOut,
    distance: Option<(String, &'static str)>,
    cause: String,
) -> FieldError {
    let off = distance.map_or(String::new(), |(distance, direction)| {
        format!(", {distance} to the {direction}")
    });
    FieldError::KeepOutElsewhere {
        place: Place::file(source.file.clone()),
        why: wanted.why.clone(),
        off,
        cause,
    }
}

/// Metres from the vertices of a shape to the boundary, both on the plane; 0 where one lies inside.
pub(super) fn distance_m(plane: &Geometry<f64>, boundary: &MultiPolygon<f64>) -> f64 {
    let near = |at| Euclidean.distance(&Point(at), boundary);
    let step = plane.coords_count().div_ceil(TRIED).max(1);
    plane
        .coords_iter()
        .step_by(step)
        .map(near)
        .fold(f64::INFINITY, f64::min)
}
