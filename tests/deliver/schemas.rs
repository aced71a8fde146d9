//! `run.json` and the properties of `prescription.geojson` against the published schemas, by the `jsonschema` crate.

use serde_json::Value;

use super::{Invented, delivered, text_of};

pub fn schema(name: &str) -> Value {
    let path = format!("{}/docs/schema/{name}", env!("CARGO_MANIFEST_DIR"));
    serde_json::from_str(&std::fs::read_to_string(&path).expect("the schema is in docs/schema"))
        .expect("the schema is JSON")
}

pub fn faults(schema: &Value, value: &Value) -> Vec<String> {
    let validator = jsonschema::validator_for(schema).expect("the schema is a schema");
    validator
        .iter_errors(value)
        .map(|error| format!("{}: {error}", error.instance_path()))
        .collect()
}

#[test]
fn the_record_of_a_run_follows_its_schema() {
    let schema = schema("run.schema.json");
    for invented in [Invented::small(), Invented::metric()] {
        let record: Value =
            serde_json::from_str(&text_of(&delivered(&invented), "run.json")).unwrap();
        assert_eq!(faults(&schema, &record), Vec::<String>::new());
    }
}

#[test]
fn the_properties_of_every_zone_follow_their_schema() {
    let schema = schema("prescription.schema.json");
    for invented in [Invented::small(), Invented::metric()] {
        let map: Value =
            serde_json::from_str(&text_of(&delivered(&invented), "prescription.geojson")).unwrap();
        assert_eq!(faults(&schema, &map), Vec::<String>::new());
    }
}

#[test]
fn the_schemas_refuse_what_is_not_a_result() {
    let (run, map) = (
        schema("run.schema.json"),
        schema("prescription.schema.json"),
    );
    let delivery = delivered(&Invented::small());
    let record: Value = serde_json::from_str(&text_of(&delivery, "run.json")).unwrap();
    for key in record.as_object().unwrap().keys() {
        let mut without = record.clone();
        without.as_object_mut().unwrap().remove(key);
        assert!(
            !faults(&run, &without).is_empty(),
            "{key} may not be missing"
        );
    }
    let zones: Value = serde_json::from_str(&text_of(&delivery, "prescription.geojson")).unwrap();
    let spoil = |key: &str, value: Value| {
        let mut zones = zones.clone();
        zones["features"][0]["properties"][key] = value;
        faults(&map, &zones)
    };
    assert!(spoil("zone", 1.into()).is_empty());
    for (key, value) in [
        ("zone", 0.into()),
        ("confidence", 1.2.into()),
        ("limit_1", "weather".into()),
        ("gypsum_lb_ac", Value::Null),
        ("reason", 3.into()),
    ] {
        assert!(!spoil(key, value).is_empty(), "{key}");
    }
}
