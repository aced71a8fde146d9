//! Check strips: formulas against R and published tables, see README.md.

mod las_rosas;
mod tables;
mod toy;
mod uniformity;

fn close(found: f64, wanted: f64, tolerance: f64) {
    assert!(
        (found - wanted).abs() <= tolerance,
        "{found} is not {wanted} to {tolerance}"
    );
}
