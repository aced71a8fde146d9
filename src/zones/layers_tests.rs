use super::*;

/// Maps of some analytes, of which the first three have one pattern and the last another.
fn drawn(keys: &[LayerKey]) -> Vec<Chosen<'_>> {
    let pattern = |at: usize| -> Vec<f32> {
        let cells = 0..400_usize;
        let value = |cell: usize| match at {
            3 => (cell % 20) as f32,
            // The same up to scale and sign.
            _ => (cell / 20) as f32 * [1.0, -30.0, 0.2][at] + 7.0,
        };
        cells.map(value).collect()
    };
    let chosen = |(at, key)| Chosen {
        key,
        weight: 1.0,
        values: Cow::Owned(pattern(at)),
        efficiency: 0.5,
    };
    keys.iter().enumerate().map(chosen).collect()
}

fn keys() -> Vec<LayerKey> {
    let analytes = [
        Analyte::Ph,
        Analyte::Calcium,
        Analyte::CationExchangeCapacity,
        Analyte::Phosphorus,
    ];
    let key = |analyte| LayerKey {
        analyte,
        method: None,
        depth: None,
    };
    analytes.into_iter().map(key).collect()
}

#[test]
fn layers_of_one_pattern_share_one_say() {
    let keys = keys();
    let mut drawn = drawn(&keys);
    let says = shared_says(&drawn);
    for (own, wanted) in says.iter().zip([3.0, 3.0, 3.0, 1.0]) {
        assert!((own - wanted).abs() < 1e-3, "{says:?}");
    }
    weigh_by_skill(&mut drawn);
    let together: f64 = drawn[..3].iter().map(|layer| layer.weight).sum();
    assert!((together - drawn[3].weight).abs() < 1e-3);
}
