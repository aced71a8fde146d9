//! Stage tests: deliver, through its front doors. The formats have a test program of their own, `tests/deliver/`.

#[path = "../deliver/invented_case.rs"]
mod invented_case;

use invented_case::Invented;
use lowstave::deliver::{DeliverError, DeliverOptions, Delivery, TaskDataForm, prepare};
use lowstave::units::{Mass, Volume};

use super::made_threads::on_threads;

fn delivered(invented: &Invented) -> Delivery {
    prepare(&invented.case(), &DeliverOptions::default()).expect("the invented case fits together")
}

#[test]
fn every_file_of_the_contract_is_there_and_listed_in_the_record() {
    let delivery = delivered(&Invented::small());
    let expected = [
        "prescription.geojson",
        "maps.gpkg",
        "report.txt",
        "details.txt",
        "report.html",
        "controller/shapefile/zones.shp",
        "controller/shapefile/zones.prj",
        "controller/shapefile/starter_gal_ac.dbf",
        "controller/shapefile/gypsum_lb_ac.shx",
        "controller/shapefile/lime_lb_ac.cpg",
        "controller/taskdata.zip",
        "mix.csv",
        "mix.txt",
        "layers/ph_water_0-15.2cm.tif",
        "layers/ph_water_0-15.2cm_standard_error.tif",
        "run.json",
    ];
    for path in expected {
        assert!(
            delivery.get(path).is_some_and(|bytes| !bytes.is_empty()),
            "{path} is missing"
        );
    }
    let record: serde_json::Value =
        serde_json::from_slice(delivery.get("run.json").unwrap()).unwrap();
    let listed: Vec<&str> = record["files"]
        .as_array()
        .unwrap()
        .iter()
        .filter_map(|file| file["path"].as_str())
        .collect();
    let mut written: Vec<&str> = delivery
        .files
        .iter()
        .map(|file| file.path.as_str())
        .filter(|path| *path != "run.json")
        .collect();
    written.sort_unstable();
    assert_eq!(listed, written);
}

#[test]
fn the_same_case_gives_the_same_bytes_on_any_number_of_threads() {
    let invented = Invented::small();
    let on = |threads: usize| on_threads(threads, || delivered(&invented));
    let one = on(1);
    assert_eq!(one, on(2));
    assert_eq!(one, on(8));
}

#[test]
fn only_the_timings_change_when_the_run_took_longer() {
    let mut invented = Invented::small();
    let quick = delivered(&invented);
    invented.timings[0].1 = 99.0;
    let slow = delivered(&invented);
    for (a, b) in quick.files.iter().zip(&slow.files) {
        assert_eq!(a.path, b.path);
        if a.path == "run.json" {
            let without = |bytes: &[u8]| {
                let mut record: serde_json::Value = serde_json::from_slice(bytes).unwrap();
                record
                    .as_object_mut()
                    .unwrap()
                    .remove("timings")
                    .expect("the record has timings");
                record
            };
            assert_ne!(a.bytes, b.bytes);
            assert_eq!(without(&a.bytes), without(&b.bytes));
        } else {
            assert_eq!(a.bytes, b.bytes, "{}", a.path);
        }
    }
}

#[test]
fn a_total_that_is_not_the_sum_over_the_zones_is_not_delivered() {
    let mut invented = Invented::small();
    let total = invented.prescription.products[1].total_mass;
    invented.prescription.products[1].total_mass = total + Mass::from_kilograms(0.4);
    assert!(
        prepare(&invented.case(), &DeliverOptions::default()).is_ok(),
        "less than a pound is rounding"
    );
    invented.prescription.products[1].total_mass = total + Mass::from_kilograms(0.6);
    let error = prepare(&invented.case(), &DeliverOptions::default()).unwrap_err();
    assert!(
        matches!(&error, DeliverError::Inconsistent { what } if what.contains("gypsum")),
        "{error}"
    );
    assert!(!error.is_input_fault());
}

#[test]
fn stages_that_contradict_each_other_are_not_delivered() {
    let refused = |change: fn(&mut Invented)| {
        let mut invented = Invented::small();
        change(&mut invented);
        matches!(
            prepare(&invented.case(), &DeliverOptions::default()),
            Err(DeliverError::Inconsistent { .. })
        )
    };
    assert!(!refused(|_| ()));
    assert!(
        refused(|case| case.prescription.zones.swap(0, 1)),
        "zones out of order"
    );
    assert!(
        refused(|case| drop(case.diagnosis.zones.pop())),
        "a zone without a diagnosis"
    );
    assert!(
        refused(|case| drop(case.prescription.zones[2].rates.pop())),
        "a zone without a rate"
    );
    assert!(
        refused(|case| case.prescription.products[0].total_volume = Volume::ZERO),
        "no total"
    );
    assert!(
        refused(|case| case.zones.of_cell[7] = 99),
        "a cell in no zone"
    );
    assert!(
        refused(|case| case.zones.of_cell.truncate(9)),
        "a cell left over"
    );
    assert!(
        refused(|case| case.zones.zones[1].area_m2 = f64::NAN),
        "a zone without an area"
    );
}

#[test]
fn the_summary_says_what_the_map_says() {
    let delivery = delivered(&Invented::small());
    let summary = &delivery.summary;
    assert_eq!(
        (summary.field.as_str(), summary.season, summary.zones.len()),
        ("Invented Field", 2027, 3)
    );
    assert_eq!(summary.zones[0].limit_1, Some("carbon"));
    assert_eq!(summary.zones[1].rates["starter_gal_ac"], 4.3);
    assert_eq!((summary.looks, summary.guesses, summary.notes), (1, 1, 2));
    assert!(
        (summary.area_ac - summary.zones.iter().map(|zone| zone.area_ac).sum::<f64>()).abs() < 1e-3
    );
    let json = serde_json::to_value(summary).unwrap();
    assert_eq!(json["zones"][2]["rates"]["lime_lb_ac"], 2_260.0);
}

#[test]
fn metric_units_change_names_numbers_and_reports() {
    let delivery = delivered(&Invented::metric());
    assert!(
        delivery
            .get("controller/shapefile/starter_l_ha.shp")
            .is_some()
    );
    let text = String::from_utf8(delivery.get("prescription.geojson").unwrap().to_vec()).unwrap();
    assert!(
        text.contains("\"starter_l_ha\":40.5,\"gypsum_kg_ha\":0,\"lime_kg_ha\":0"),
        "{text}"
    );
    let report = String::from_utf8(delivery.get("details.txt").unwrap().to_vec()).unwrap();
    assert!(report.contains("kg/ha") && !report.contains("lb/ac"));
}

#[test]
fn a_grid_replaces_the_polygons_when_it_is_asked_for() {
    let invented = Invented::small();
    let options = DeliverOptions {
        task_data: TaskDataForm::Grid,
        ..DeliverOptions::default()
    };
    let grid = prepare(&invented.case(), &options).unwrap();
    assert_ne!(
        grid.get("controller/taskdata.zip"),
        delivered(&invented).get("controller/taskdata.zip")
    );
}
