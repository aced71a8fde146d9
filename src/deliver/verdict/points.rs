//! `verdict.gpkg`: every record of the harvest, kept or left out, with the reason.

use super::{SetFacts, VerdictInput};
use crate::deliver::degrees::Spot;
use crate::deliver::error::DeliverError;
use crate::deliver::geopackage::{
    Cell, Column, Feature, Features, Kind, Shape, Style, Table, bytes_of,
};
use crate::deliver::output_file::OutputFile;
use crate::trial::harvest::Fate;

/// The file.
///
/// # Errors
/// Where a place cannot be brought to degrees, or SQLite refuses the table.
pub fn file(input: &VerdictInput, _sets: &[SetFacts]) -> Result<OutputFile, DeliverError> {
    let failed = |cause: String| DeliverError::Package {
        path: "verdict.gpkg",
        cause,
    };
    let frame = input.harvest.sets.first().map(|set| set.set.machines.frame);
    let mut places: Vec<(f64, f64)> = input
        .points
        .iter()
        .map(|point| frame.map_or((0.0, 0.0), |frame| frame.place(point.along, point.across)))
        .collect();
    input
        .facts
        .origin
        .unproject(&mut places)
        .map_err(|cause| failed(cause.to_string()))?;
    let cleaned = &input.harvest.cleaned;
    let feature = |at: usize| {
        let (lon, lat) = places[at];
        let fate = cleaned.fates.get(at).copied().unwrap_or(Fate::NoYield);
        let yields = cleaned
            .yields
            .get(at)
            .copied()
            .filter(|value| value.is_finite());
        let pass = cleaned.passes.get(at).copied().unwrap_or_default();
        Feature {
            shape: Shape::Point(Spot::from_degrees(lon, lat)),
            cells: vec![
                Cell::Whole(i64::from(fate == Fate::Kept)),
                Cell::Text(fate.words().into()),
                yields.map_or(Cell::Empty, Cell::Number),
                Cell::Whole(i64::from(pass)),
                Cell::Whole(i64::from(input.points[at].treatment)),
            ],
        }
    };
    let table = Table {
        name: "harvest",
        description: "Records of the yield monitor: kept, or left out and why".to_owned(),
        kind: Kind::Point,
        columns: vec![
            Column::new("is_kept", "BOOLEAN"),
            Column::new("why", "TEXT"),
            Column::new("yield_kg_ha", "DOUBLE").titled("yield at trade moisture, kg/ha"),
            Column::new("pass", "INTEGER"),
            Column::new("strips", "INTEGER").titled("0: no strip; else which set of strips"),
        ],
        features: Features::Made(places.len(), &feature),
        style: Style::of_cores(),
    };
    let bytes = bytes_of(&[table], input.facts.season).map_err(failed)?;
    Ok(OutputFile::new("verdict.gpkg", bytes))
}
