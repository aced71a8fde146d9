//! A layer without a map: a zone's own cores take back a limit that none of them is past, and never make one (all fields are invented).

use lowstave::analyte::Analyte;
use lowstave::diagnosis::Outcome;
use lowstave::rulebook::Rulebook;
use lowstave::surface::{Flat, Map};

use crate::made_zones::{Made, key, rate};

/// Two zones; a layer with one value for the field and cores that read this in each.
fn field(analyte: &Analyte, method: &str, unit: &str, mean: f64, cores: [&[f64]; 2]) -> Made {
    let layer = key(analyte.clone(), method, "0-6 in");
    let count = cores[0].len();
    let mut made = Made::new(&[10.0, 10.0])
        .layer(key(Analyte::BufferPh, "smp", "0-6 in"), "pH", &[6.3, 6.4])
        .doubtful_layer(layer.clone(), unit, &[mean, mean], 1e-4, count);
    let last = made.field.layers.last_mut().expect("the layer");
    last.values = cores.concat();
    let mut surfaces = made.surfaces.surfaces.iter_mut();
    let surface = surfaces.find(|s| s.key == layer).expect("the surface");
    surface.map = Map::Flat {
        value: mean,
        standard_error: 0.1,
        why: Flat::NoSkill,
    };
    made
}

fn acid(mean: f64, west: &[f64], east: &[f64]) -> Made {
    field(&Analyte::Ph, "water", "pH", mean, [west, east])
}

/// Lime of the zone that lies west and of the one that lies east, lb/ac.
fn lime(made: &Made, rulebook: &Rulebook) -> [f64; 2] {
    let prescription = made.prescribed_by(rulebook);
    [0, 1].map(|place| {
        let mut zones = prescription.zones.iter();
        let zone = zones.find(|zone| zone.zone == place).expect("the zone");
        rate(zone, "lime")
    })
}

const ACID: [f64; 6] = [5.3, 5.2, 5.4, 5.3, 5.3, 5.25];
const SOUND: [f64; 6] = [6.5, 6.45, 6.55, 6.5, 6.4, 6.6];

#[test]
fn no_lime_goes_out_where_none_of_the_zones_own_cores_asks_for_it() {
    let made = acid(5.91, &ACID, &SOUND);
    let rulebook = Rulebook::built_in();
    let [west, east] = lime(&made, &rulebook);
    assert!(west > 1_000.0, "{west}");
    assert!(east.abs() < 1e-9, "{east}");
    let diagnosis = made.diagnosis(&rulebook);
    let zone = diagnosis.zones.iter().find(|zone| zone.zone == 1);
    let finding = zone.and_then(|zone| zone.finding("acidity"));
    let finding = finding.expect("acidity");
    assert_eq!(finding.outcome, Outcome::Adequate);
    assert!((finding.value.expect("a value") - 6.5).abs() < 1e-9);
    assert!(finding.confidence < 0.01, "{}", finding.confidence);
    let remarks: Vec<_> = diagnosis
        .remarks
        .iter()
        .filter(|remark| remark.code == "own-cores-sound")
        .collect();
    let [remark] = remarks[..] else {
        panic!("{remarks:?}");
    };
    assert!(
        remark.what.contains("the field's mean is 5.91; none of the 6 cores here is below 6 (6.4 to 6.6), and their mean is 6.5"),
        "{}",
        remark.what
    );
}

/// No lime goes out in the east, which would undo rock phosphate; but rock is for acid ground, and by its own cores the east is none.
#[test]
fn what_is_for_acid_ground_alone_goes_by_the_zones_own_cores_too() {
    let mut made = acid(5.45, &ACID, &SOUND);
    made = made.layer(
        key(Analyte::Phosphorus, "mehlich-3", "0-6 in"),
        "ppm",
        &[8.0, 8.0],
    );
    let prescription = made.prescribed();
    for zone in &prescription.zones {
        let rock = rate(zone, "phosphate_rock");
        assert!(rock.abs() < 1e-9, "{rock} in the zone {}", zone.zone);
    }
    let flat = acid(5.45, &ACID[..5], &SOUND[..5]);
    let own = made.diagnosed();
    let east = own.iter().find(|zone| zone.zone == 1).expect("the zone");
    let ph = |zone: &lowstave::diagnosis::ZoneDiagnosis| {
        let mut layers = zone.profile.iter();
        let found = layers.find(|layer| layer.key.analyte == Analyte::Ph);
        found.map(|layer| layer.mean)
    };
    assert!((ph(east).expect("pH") - 6.5).abs() < 1e-9);
    for zone in flat.diagnosed() {
        assert_eq!(ph(&zone), Some(5.45));
    }
}

#[test]
fn one_core_that_asks_for_it_is_enough_to_leave_the_rate() {
    let mut east = SOUND;
    east[3] = 5.95;
    let [_, lime] = lime(&acid(5.91, &ACID, &east), &Rulebook::built_in());
    assert!(lime > 0.0);
}

#[test]
fn a_zones_own_cores_never_make_a_rate() {
    // The field's mean asks for nothing, and all cores in the west do.
    let made = acid(6.05, &ACID, &SOUND);
    assert_eq!(lime(&made, &Rulebook::built_in()), [0.0, 0.0]);
}

#[test]
fn from_how_many_places_cores_are_believed_is_the_rulebooks() {
    let five = acid(5.91, &ACID[..5], &SOUND[..5]);
    let built_in = Rulebook::built_in();
    assert!(lime(&five, &built_in)[1] > 0.0);
    let text = "[number.own_cores_from]\nvalue = 5\n";
    let looser = Rulebook::from_text(text, "mine.toml").expect("sound");
    assert!(lime(&five, &looser)[1].abs() < 1e-9);
    // Six results of one place are one place.
    let mut heap = acid(5.91, &ACID, &SOUND);
    heap.field.places[1].x[6..].fill(205.0);
    assert!(lime(&heap, &built_in)[1] > 0.0);
}

#[test]
fn what_salt_holds_back_stays_held_back() {
    let salty = [8.0; 6];
    let sweet = [0.8; 6];
    let salt = Analyte::ElectricalConductivity;
    let made = field(&salt, "paste", "dS/m", 4.4, [&salty, &sweet]);
    for zone in made.diagnosed() {
        let finding = zone.finding("salt").or_else(|| {
            let mut findings = zone.findings.iter();
            findings.find(|finding| finding.closes_product("starter"))
        });
        assert!(finding.is_some_and(|finding| finding.is_closing));
    }
}
