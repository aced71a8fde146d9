//! The ground of a finished run, read back from its prescription: zones and check strips as they were planned, and what the run says of each zone.

use std::collections::BTreeMap;

use ::geojson::{Feature, FeatureCollection, GeometryValue, JsonObject, Position};
use geo::algorithm::bool_ops::unary_union;
use geo::{BoundingRect, Coord, LineString, MapCoords, MultiPolygon, Polygon};

use super::columns::property_name;
use super::degrees::Spot;
use super::finished_run::FinishedRun;
use super::review::{FindingFacts, ZoneReview};
use crate::field::{Field, Grid, ProjectionError, WorkingCrs};
use crate::provenance::Place;
use crate::rulebook::{Factor, Rulebook};
use crate::season::{SeasonError, SeasonGround, SoilShort, StripGround, ZoneGround, ZoneRecord};
use crate::units::UnitSystem;
use crate::zones::{Zone, Zones};

/// The file that the ground is read from.
const PRESCRIPTION: &str = "prescription.geojson";
/// Most cells of the grid that maps are labelled on.
const MOST_CELLS: f64 = 4e6;
/// Side of a cell where the record does not say it, metres.
const CELL_M: f64 = 5.0;

/// Zones, strips and what the run says of them.
#[derive(Debug, Clone)]
pub struct RunGround {
    /// The field, as far as its prescription shows it.
    pub field: Field,
    /// Its zones.
    pub zones: Zones,
    /// Zones and strips that readings are laid on.
    pub season: SeasonGround,
    /// What the run says of each zone, by rising number.
    pub records: Vec<ZoneRecord>,
}

/// A piece of the prescription.
struct Piece {
    zone: u32,
    strip: Option<String>,
    area_m2: f64,
    properties: JsonObject,
    outline: MultiPolygon<f64>,
}

impl FinishedRun {
    /// The ground of the run.
    ///
    /// # Errors
    /// A prescription that is gone, was edited, or does not fit the record.
    pub fn ground(&self, rulebook: &Rulebook) -> Result<RunGround, SeasonError> {
        let edited = |what: String| SeasonError::EditedRun {
            folder: self.folder().display().to_string(),
            what,
        };
        let (bytes, is_same) = self
            .read(PRESCRIPTION)
            .map_err(|error| edited(error.to_string()))?;
        if is_same == Some(false) {
            return Err(edited(format!(
                "holds a \"{PRESCRIPTION}\" that was changed since it was written"
            )));
        }
        let collection: FeatureCollection = serde_json::from_slice(&bytes).map_err(|cause| {
            edited(format!(
                "holds a \"{PRESCRIPTION}\" that cannot be read ({cause})"
            ))
        })?;
        let pieces: Option<Vec<Piece>> = collection.features.iter().map(piece).collect();
        let pieces = pieces.filter(|pieces| !pieces.is_empty());
        let Some(pieces) = pieces else {
            return Err(edited(format!(
                "holds a \"{PRESCRIPTION}\" whose pieces have no zone or no outline"
            )));
        };
        let record = self.record();
        self.check_against_review(&pieces, &record.review)?;
        let crs = record.field.origin;
        let cell = record.field.cell_m.unwrap_or(CELL_M);
        let made = ground(&pieces, crs, cell).map_err(|cause| SeasonError::Projection {
            file: PRESCRIPTION.to_owned(),
            cause,
        })?;
        let (field, zones, season) = made;
        let units = record.settings.units;
        let records = record
            .review
            .iter()
            .zip(&season.zones)
            .map(|(review, zone)| zone_record(review, zone, &pieces, rulebook, units))
            .collect();
        Ok(RunGround {
            field,
            zones,
            season,
            records,
        })
    }

    /// The record's zones must say what the prescription says, which carries a checksum.
    fn check_against_review(
        &self,
        pieces: &[Piece],
        review: &[ZoneReview],
    ) -> Result<(), SeasonError> {
        let edited = |what: String| SeasonError::EditedRun {
            folder: self.folder().display().to_string(),
            what,
        };
        let zones: Vec<&Piece> = pieces
            .iter()
            .filter(|piece| piece.strip.is_none())
            .collect();
        let text = |piece: &Piece, key: &str| {
            let value = piece.properties.get(key);
            value.and_then(|value| value.as_str().map(str::to_owned))
        };
        let fits = |(piece, review): (&&Piece, &ZoneReview)| {
            piece.zone == review.zone
                && text(piece, "reason").as_deref() == Some(review.reason.as_str())
                && text(piece, "limit_1") == review.limits.first().map(|limit| limit.factor.clone())
        };
        if zones.len() == review.len() && zones.iter().zip(review).all(fits) {
            return Ok(());
        }
        Err(edited(format!(
            "holds a run.json whose zones are not those of its \"{PRESCRIPTION}\": one of them was edited or is of another run"
        )))
    }

    /// Refuses a plan of another field, crop or season.
    ///
    /// # Errors
    /// Where one of them differs from the run's.
    pub fn require_plan(
        &self,
        plan: &str,
        (field, crop, season): (&str, &str, u16),
    ) -> Result<(), SeasonError> {
        let own = &self.record().settings;
        let other = |what: String| SeasonError::OtherField {
            place: Place::file(plan),
            what,
            folder: self.folder().display().to_string(),
            field: own.field.clone(),
        };
        if field != own.field {
            return Err(other(format!("the plan is of the field \"{field}\"")));
        }
        if crop != own.crop {
            return Err(other(format!(
                "the plan's crop is {crop}, the run's is {}",
                own.crop
            )));
        }
        if season != own.season {
            return Err(other(format!(
                "the plan's season is {season}, the run's is {}",
                own.season
            )));
        }
        Ok(())
    }
}

/// A feature as a piece; `None` where it has no zone or no outline.
fn piece(feature: &Feature) -> Option<Piece> {
    let properties = feature.properties.clone()?;
    let zone = u32::try_from(properties.get("zone")?.as_u64()?).ok()?;
    let strip = properties.get("strip").and_then(|name| name.as_str());
    let hectares = properties.get("area_ha")?.as_f64()?;
    let GeometryValue::MultiPolygon { coordinates } = &feature.geometry.as_ref()?.value else {
        return None;
    };
    let ring = |positions: &Vec<Position>| -> LineString<f64> {
        let place = |position: &Position| {
            let place = position.as_slice();
            Some(Coord {
                x: *place.first()?,
                y: *place.get(1)?,
            })
        };
        LineString::new(positions.iter().filter_map(place).collect())
    };
    let polygons = coordinates.iter().filter_map(|rings| {
        let (outer, holes) = rings.split_first()?;
        Some(Polygon::new(ring(outer), holes.iter().map(ring).collect()))
    });
    Some(Piece {
        zone,
        strip: strip.map(str::to_owned),
        area_m2: hectares * 10_000.0,
        outline: MultiPolygon::new(polygons.collect()),
        properties,
    })
}

/// The corners of a ring in whole steps, in any order and direction.
fn corners(ring: &LineString<f64>) -> Vec<Spot> {
    let mut spots: Vec<Spot> = ring
        .coords()
        .map(|c| Spot::from_degrees(c.x, c.y))
        .collect();
    spots.sort_unstable();
    spots.dedup();
    spots
}

/// An outline without the holes that are strips.
fn without_strips(outline: &MultiPolygon<f64>, strips: &[Vec<Spot>]) -> MultiPolygon<f64> {
    let polygons = outline.iter().map(|polygon| {
        let holes = polygon
            .interiors()
            .iter()
            .filter(|hole| !strips.contains(&corners(hole)))
            .cloned();
        Polygon::new(polygon.exterior().clone(), holes.collect())
    });
    MultiPolygon::new(polygons.collect())
}

fn ground(
    pieces: &[Piece],
    crs: WorkingCrs,
    cell: f64,
) -> Result<(Field, Zones, SeasonGround), ProjectionError> {
    let strips: Vec<&Piece> = pieces
        .iter()
        .filter(|piece| piece.strip.is_some())
        .collect();
    let rings: Vec<Vec<Spot>> = strips
        .iter()
        .flat_map(|strip| strip.outline.iter())
        .map(|polygon| corners(polygon.exterior()))
        .collect();
    let mut zones: Vec<(u32, Zone)> = Vec::new();
    for piece in pieces.iter().filter(|piece| piece.strip.is_none()) {
        let lonlat = without_strips(&piece.outline, &rings);
        let of_strips: f64 = strips
            .iter()
            .filter(|strip| strip.zone == piece.zone)
            .map(|strip| strip.area_m2)
            .sum();
        zones.push((
            piece.zone,
            Zone {
                shape: on_plane(&lonlat, crs)?,
                lonlat,
                area_m2: piece.area_m2 + of_strips,
            },
        ));
    }
    zones.sort_by_key(|(number, _)| *number);
    let season = SeasonGround {
        zones: zones
            .iter()
            .map(|(number, zone)| ZoneGround {
                number: *number,
                area_m2: zone.area_m2,
                shape: zone.shape.clone(),
            })
            .collect(),
        strips: strip_grounds(&strips, crs)?,
    };
    let zones: Vec<Zone> = zones.into_iter().map(|(_, zone)| zone).collect();
    let (grid, of_cell) = grid(&zones, cell);
    let field = field(crs, &zones, grid);
    let zones = Zones {
        of_cell,
        zones,
        layers: Vec::new(),
        components: Vec::new(),
        drawn: Vec::new(),
        undrawn: Vec::new(),
        tried: Vec::new(),
        why: String::new(),
        remarks: Vec::new(),
    };
    Ok((field, zones, season))
}

fn strip_grounds(strips: &[&Piece], crs: WorkingCrs) -> Result<Vec<StripGround>, ProjectionError> {
    let mut grounds = Vec::new();
    for strip in strips {
        for polygon in on_plane(&strip.outline, crs)? {
            grounds.push(StripGround {
                name: strip.strip.clone().unwrap_or_default(),
                zone: strip.zone,
                shape: polygon,
            });
        }
    }
    Ok(grounds)
}

/// An outline in degrees on the field's plane.
fn on_plane(
    lonlat: &MultiPolygon<f64>,
    crs: WorkingCrs,
) -> Result<MultiPolygon<f64>, ProjectionError> {
    lonlat.try_map_coords(|c| {
        let mut place = [(c.x, c.y)];
        crs.project(&mut place)?;
        let [(x, y)] = place;
        Ok(Coord { x, y })
    })
}

fn field(crs: WorkingCrs, zones: &[Zone], grid: Grid) -> Field {
    let polygons: Vec<Polygon<f64>> = zones.iter().flat_map(|zone| zone.shape.0.clone()).collect();
    let workable = unary_union(&polygons);
    let area: f64 = zones.iter().map(|zone| zone.area_m2).sum();
    Field {
        crs,
        boundary: workable.clone(),
        workable,
        kept_out: Vec::new(),
        area_m2: area,
        workable_m2: area,
        grid,
        places: Vec::new(),
        layers: Vec::new(),
        cones: Vec::new(),
        remarks: Vec::new(),
    }
}

/// Cells over the zones, each with the zone that its centre lies in.
fn grid(zones: &[Zone], cell: f64) -> (Grid, Vec<u16>) {
    let all = MultiPolygon::new(zones.iter().flat_map(|zone| zone.shape.0.clone()).collect());
    let (low, high) = all
        .bounding_rect()
        .map_or(((0.0, 0.0), (1.0, 1.0)), |rect| {
            ((rect.min().x, rect.min().y), (rect.max().x, rect.max().y))
        });
    let (width, height) = (high.0 - low.0, high.1 - low.1);
    let least = (width * height / MOST_CELLS).sqrt();
    let cell = cell.max(least).max(0.1);
    let columns = (width / cell).ceil().max(1.0) as usize;
    let rows = (height / cell).ceil().max(1.0) as usize;
    let mut owner: BTreeMap<u32, u16> = BTreeMap::new();
    for row in 0..rows {
        let y = high.1 - (row as f64 + 0.5) * cell;
        for (at, zone) in zones.iter().enumerate() {
            for pair in crossings(&zone.shape, y).chunks_exact(2) {
                let from = ((pair[0] - low.0) / cell - 0.5).ceil().max(0.0) as usize;
                let to = ((pair[1] - low.0) / cell - 0.5).floor();
                for column in from..=(to.max(-1.0) + 0.0) as usize {
                    if to >= from as f64 && column < columns {
                        owner.insert((row * columns + column) as u32, at as u16);
                    }
                }
            }
        }
    }
    let grid = Grid {
        west: low.0,
        north: high.1,
        cell,
        columns,
        rows,
        share: vec![1.0; owner.len()],
        cells: owner.keys().copied().collect(),
    };
    (grid, owner.into_values().collect())
}

/// Where a level line crosses the rings of a shape, from west to east.
fn crossings(shape: &MultiPolygon<f64>, y: f64) -> Vec<f64> {
    let rings = shape
        .iter()
        .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()));
    let mut found: Vec<f64> = rings
        .flat_map(LineString::lines)
        .filter(|line| (line.start.y > y) != (line.end.y > y))
        .map(|line| {
            let share = (y - line.start.y) / (line.end.y - line.start.y);
            line.start.x + share * (line.end.x - line.start.x)
        })
        .collect();
    found.sort_by(f64::total_cmp);
    found
}

fn zone_record(
    review: &ZoneReview,
    zone: &ZoneGround,
    pieces: &[Piece],
    rulebook: &Rulebook,
    units: UnitSystem,
) -> ZoneRecord {
    let factor = |finding: &FindingFacts| {
        let mut all = Factor::ALL.into_iter();
        all.find(|factor| factor.name() == finding.factor)
    };
    let sentence = |finding: &FindingFacts| {
        let plain = finding.sentence.trim_end_matches('.');
        format!("{}.", crate::text::capital(plain))
    };
    let measured = review.limits.iter().chain(&review.others);
    let soil = measured.filter_map(|finding| {
        let is_short = match finding.outcome.as_str() {
            "limiting" => true,
            "adequate" => false,
            _ => return None,
        };
        Some(SoilShort {
            factor: factor(finding)?,
            is_short,
            sentence: sentence(finding),
            severity: finding.severity,
        })
    });
    let gate = |wanted: &str, of: Option<Factor>| {
        let closes = |finding: &&FindingFacts| {
            finding.blocks.iter().any(|name| name == wanted)
                && of.is_none_or(|of| factor(finding) == Some(of))
        };
        let mut findings = review.limits.iter().chain(&review.others);
        findings.find(closes).map(sentence)
    };
    ZoneRecord {
        number: zone.number,
        area_m2: zone.area_m2,
        soil: soil.collect(),
        carbon_gate: gate(Rulebook::STARTER, Some(Factor::Carbon)),
        salt_gate: gate(Rulebook::SALT_CARRYING, None),
        applied: applied(zone.number, pieces, rulebook, units),
    }
}

/// What the plan puts on a zone, by product, kg/ha or L/ha.
fn applied(
    zone: u32,
    pieces: &[Piece],
    rulebook: &Rulebook,
    units: UnitSystem,
) -> Vec<(String, f64)> {
    let own = pieces
        .iter()
        .find(|piece| piece.zone == zone && piece.strip.is_none());
    let Some(own) = own else {
        return Vec::new();
    };
    let products = rulebook.products.iter().filter_map(|product| {
        let (factor, unit) = product.metering.rate_unit(units);
        let rate = own.properties.get(&property_name(&product.name, unit))?;
        Some((product.name.clone(), rate.as_f64()? * factor))
    });
    products.filter(|(_, rate)| *rate > 0.0).collect()
}
