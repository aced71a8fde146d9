//! The choice stage: zones that get the same treatment are one; those that differ stay apart.

use geo::{Area, Validation};
use lowstave::analyte::Analyte::{BufferPh, Ph};
use lowstave::choice::{Chosen, choose};
use lowstave::diagnosis::diagnose;
use lowstave::plan::Choice;
use lowstave::rates::prescribe;
use lowstave::rulebook::Rulebook;
use lowstave::zones::{Zones, delineate};

use crate::made_zone_fields::numbered;
use crate::made_zones::{Made, rate};

fn chosen(made: &Made) -> Chosen {
    let rulebook = Rulebook::built_in();
    let (field, surfaces) = (&made.field, &made.surfaces);
    choose(
        &field.grid,
        &made.settings,
        made.zones.clone(),
        |zones, settings| -> Result<_, String> {
            let diagnosis = diagnose(settings, field, surfaces, zones, &rulebook)
                .map_err(|errors| format!("{errors:?}"))?;
            let rates = prescribe(settings, field, surfaces, zones, &diagnosis, &rulebook)
                .map_err(|errors| format!("{errors:?}"))?;
            Ok((diagnosis, rates))
        },
    )
    .unwrap()
}

/// Four zones in a row, the second and third acid.
fn acid_in_the_middle() -> Made {
    Made::new(&[10.0; 4])
        .sound()
        .with(Ph, &[6.6, 5.0, 5.0, 6.6])
        .with(BufferPh, &[6.8, 6.2, 6.2, 6.8])
}

#[test]
fn neighbours_that_get_the_same_treatment_are_one_zone_and_others_stay_apart() {
    let made = acid_in_the_middle();
    let chosen = chosen(&made);
    // The first and the last are treated alike, but they are not neighbours.
    assert_eq!(chosen.zones.zones.len(), 3, "{}", chosen.zones.why);
    let first_cells: Vec<u16> = chosen.zones.of_cell.iter().step_by(16).copied().collect();
    assert_eq!(first_cells, [0, 1, 1, 2]);
    let limed: Vec<f64> = chosen
        .prescription
        .zones
        .iter()
        .map(|zone| rate(zone, "lime"))
        .collect();
    assert_eq!(
        limed.iter().filter(|rate| **rate > 0.0).count(),
        1,
        "{limed:?}"
    );
    let areas: f64 = chosen.zones.zones.iter().map(|zone| zone.area_m2).sum();
    assert!((areas - 400_000.0).abs() < 1e-6);
    assert_eq!(chosen.remarks[0].code, "zones-treated-alike");
}

#[test]
fn a_field_that_is_treated_alike_everywhere_is_one_zone() {
    let chosen = chosen(
        &Made::new(&[10.0; 5])
            .sound()
            .with(Ph, &[6.5, 6.6, 6.7, 6.8, 6.9]),
    );
    assert_eq!(chosen.zones.zones.len(), 1);
    assert!(
        chosen.zones.why.contains("the field is one zone"),
        "{}",
        chosen.zones.why
    );
    assert_eq!(chosen.prescription.zones.len(), 1);
}

#[test]
fn a_plan_that_fixes_the_number_of_zones_gets_it() {
    let made = acid_in_the_middle().settings(|settings| settings.zones.count = Choice::Fixed(4));
    let chosen = chosen(&made);
    assert_eq!(chosen.zones.zones.len(), 4);
    assert!(chosen.remarks.is_empty());
}

/// The zones of a drawn field, those of a group joined.
fn joined(zones: &Zones, groups: &[u16]) -> Zones {
    let joined = zones.joined(groups);
    for zone in &joined.zones {
        assert!(zone.shape.is_valid(), "{:?}", zone.shape);
        assert!(zone.lonlat.is_valid());
    }
    joined
}

#[test]
fn joined_zones_still_tile_the_field_without_a_rounded_vertex() {
    let mut seen = 0;
    for number in 0..12 {
        let (field, surfaces, settings) = numbered(number);
        let Ok(zones) = delineate(&field, &surfaces, &settings) else {
            continue;
        };
        let count = zones.zones.len();
        if count < 2 {
            continue;
        }
        seen += 1;
        let whole: f64 = zones
            .zones
            .iter()
            .map(|zone| zone.shape.unsigned_area())
            .sum();
        let pairs: Vec<u16> = (0..count).map(|zone| zone as u16 / 2).collect();
        for groups in [vec![0; count], pairs] {
            let joined = joined(&zones, &groups);
            let area: f64 = joined
                .zones
                .iter()
                .map(|zone| zone.shape.unsigned_area())
                .sum();
            assert!(
                (area - whole).abs() < 1e-4,
                "field {number}: {area}, {whole}"
            );
            let kinds = groups.iter().max().unwrap() + 1;
            assert_eq!(joined.zones.len(), usize::from(kinds));
        }
        let one = joined(&zones, &vec![0; count]);
        let off = one.zones[0].shape.unsigned_area() - field.workable.unsigned_area();
        assert!(off.abs() < 1e-3, "field {number}: {off}");
    }
    assert!(seen >= 5, "{seen}");
}
