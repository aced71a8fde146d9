use super::*;

#[test]
fn the_built_in_catalogue_knows_every_named_analyte_and_no_other() {
    let catalogue = Catalogue::built_in();
    for analyte in Analyte::NAMED {
        assert!(catalogue.entry(analyte).is_some(), "{analyte} has no entry");
    }
    assert_eq!(catalogue.entries().count(), Analyte::NAMED.len());
}

#[test]
fn each_entry_has_its_canonical_unit_at_factor_one_and_ordered_ranges() {
    let catalogue = Catalogue::built_in();
    for (analyte, entry) in catalogue.entries() {
        let unit = catalogue.canonical_unit(&analyte);
        assert_eq!(
            catalogue.conversion(&analyte, unit, ""),
            Ok(Conversion::Factor(1.0)),
            "{analyte} in {unit}"
        );
        assert!(
            entry.possible.0 <= entry.plausible.0
                && entry.plausible.0 < entry.plausible.1
                && entry.plausible.1 <= entry.possible.1
        );
    }
}

#[test]
fn units_are_read_in_the_ways_that_labs_write_them() {
    let catalogue = Catalogue::built_in();
    for (analyte, unit, factor) in [
        (Analyte::Calcium, "mg.kg", 1.0),
        (Analyte::Calcium, "MEQ / 100 G", 200.39),
        (Analyte::CationExchangeCapacity, "cmol(+)/kg", 1.0),
        (Analyte::ElectricalConductivity, "µS/cm", 0.001),
        (Analyte::ConeIndex, "MPa", 1000.0),
        (Analyte::OrganicMatter, "g/kg", 0.1),
    ] {
        assert_eq!(
            catalogue.conversion(&analyte, unit, ""),
            Ok(Conversion::Factor(factor)),
            "{analyte} in {unit}"
        );
    }
}

#[test]
fn an_oxide_is_turned_into_its_element_only_when_the_unit_says_so() {
    let catalogue = Catalogue::built_in();
    let Ok(Conversion::Factor(factor)) = catalogue.conversion(&Analyte::Phosphorus, "ppm P2O5", "")
    else {
        panic!("accepted")
    };
    assert!((factor - 1.0 / 2.2914).abs() < 1e-12);
    assert!(matches!(
        catalogue.conversion(&Analyte::Potassium, "lb/ac K2O", ""),
        Ok(Conversion::PerArea(_))
    ));
}

#[test]
fn a_volume_unit_of_a_nutrient_is_refused_as_such() {
    assert_eq!(
        Catalogue::built_in().conversion(&Analyte::Phosphorus, "mg/dm3", ""),
        Err(UnitRefusal::PerVolume)
    );
}

#[test]
fn bushels_need_a_crop_with_a_known_weight() {
    let catalogue = Catalogue::built_in();
    // 1 bu/ac of corn is 56 lb/ac x 1.12085 = 62.77 kg/ha.
    let Ok(Conversion::Factor(factor)) = catalogue.conversion(&Analyte::Yield, "bu/ac", "corn")
    else {
        panic!("accepted")
    };
    assert!((factor - 62.767_66).abs() < 1e-4);
    assert!(matches!(
        catalogue.conversion(&Analyte::Yield, "bu/ac", "teff"),
        Err(UnitRefusal::Bushels(_))
    ));
}
