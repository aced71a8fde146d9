//! What is drawn is what was tested: a field of four plain quarters, acid in the west and short of phosphorus in the south, as it lies and mirrored.
//! Invented. Found by one who had not seen the code: half of the short ground got nothing, and a mirrored field got another bill.

use lowstave::engine::Run;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::hidden_ground::{HIGH, WIDE, rate_at, run};

const COLUMNS: &str = "ph = { is = \"ph\", method = \"water\" }\nbph = { is = \"buffer_ph\", method = \"smp\" }\n\
                       p = { is = \"p\", method = \"mehlich-3\", unit = \"ppm\" }\nk = { is = \"k\", method = \"ammonium-acetate\", unit = \"ppm\" }\n\
                       [yield_goal]\ncorn = \"180 bu/ac\"\n";

/// Normal noise enough for a field: the sum of three even draws.
fn noise(random: &mut ChaCha8Rng, deviation: f64) -> f64 {
    let draws = (0..3).map(|_| random.random_range(-1.0..1.0));
    draws.sum::<f64>() * deviation
}

fn quarters(seed: u64, is_mirrored: (bool, bool)) -> Run {
    let random = std::cell::RefCell::new(ChaCha8Rng::seed_from_u64(seed));
    run(COLUMNS, "ph,bph,p,k", |x, y, _| {
        let random = &mut *random.borrow_mut();
        let is_east = (x > WIDE / 2.0) != is_mirrored.0;
        let is_north = (y > HIGH / 2.0) != is_mirrored.1;
        let ph = if is_east { 6.7 } else { 5.5 } + noise(random, 0.12);
        let buffer = if is_east { 6.9 } else { 6.5 } + noise(random, 0.05);
        let phosphorus = if is_north { 45.0 } else { 10.0 } * (1.0 + noise(random, 0.1));
        format!(
            "{ph:.2},{buffer:.2},{phosphorus:.1},{:.0}",
            190.0 + noise(random, 12.0)
        )
    })
}

#[test]
fn each_quarter_gets_what_it_needs_wherever_it_lies() {
    for seed in 1..=4 {
        for is_mirrored in [(false, false), (true, false), (false, true)] {
            let found = quarters(seed, is_mirrored);
            for (east, north) in [(0.25, 0.25), (0.75, 0.25), (0.25, 0.75), (0.75, 0.75)] {
                let at = (east * WIDE, north * HIGH);
                let (is_acid, is_short) = (
                    (east < 0.5) != is_mirrored.0,
                    (north < 0.5) != is_mirrored.1,
                );
                let (lime, phosphate) = (
                    rate_at(&found, at, "lime"),
                    rate_at(&found, at, "bone_meal"),
                );
                assert!(
                    (lime > 0.0) == is_acid && (phosphate > 0.0) == is_short,
                    "seed {seed}, mirrored {is_mirrored:?}, at {at:?}: lime {lime}, bone meal {phosphate}; {}",
                    found.zones().why
                );
            }
        }
    }
}
