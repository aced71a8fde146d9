use super::crop::Crop;
use super::listing::Line;
use super::{Basis, Rulebook};
use crate::units::decimal;

impl Rulebook {
    /// What decides by crop: target pH, seed salt, tolerance of salt, removal; and stand and row habit.
    pub(super) fn crop_lines(&self) -> Vec<Line> {
        self.crops.iter().flat_map(lines_of).collect()
    }
}

fn lines_of(crop: &Crop) -> Vec<Line> {
    let mut lines = sowing(crop);
    lines.extend(salt(crop));
    lines.extend(removal(crop));
    lines
}

fn line(crop: &Crop, key: &str, value: String, what: &str, basis: Basis, source: &str) -> Line {
    Line {
        key: format!("crop.{}.{key}", crop.name),
        value,
        unit: String::new(),
        what: what.to_owned(),
        basis,
        source: source.to_owned(),
        disputed: None,
    }
}

fn with_unit(line: Line, unit: &str) -> Line {
    Line {
        unit: unit.to_owned(),
        ..line
    }
}

fn sowing(crop: &Crop) -> Vec<Line> {
    let (ph, seed) = (decimal(crop.target_ph, 2), crop.seed_salt.name().to_owned());
    let (basis, source) = (crop.seed_salt_basis, &crop.seed_salt_source);
    let limit = "whose seed-safe limit of nitrogen plus potash holds";
    let (habit, practice) = (crop.row_habit.name().to_owned(), Basis::CommonPractice);
    let aim = "pH in water that lime aims at";
    let mut lines = vec![
        line(crop, "target_ph", ph, aim, crop.basis, &crop.source),
        line(crop, "seed_salt", seed, limit, basis, source),
        line(
            crop,
            "row_habit",
            habit,
            "how it is sown",
            practice,
            "usual practice",
        ),
    ];
    lines.extend(crop.stand.iter().map(|stand| {
        let plants = decimal(stand.plants_per_acre, 0);
        let what = "plants that give the full yield";
        let stand = line(crop, "stand", plants, what, Basis::Published, &stand.source);
        with_unit(stand, "plants/ac")
    }));
    lines
}

fn salt(crop: &Crop) -> Vec<Line> {
    let Some(salt) = &crop.salt else {
        return Vec::new();
    };
    let (from, slope) = (decimal(salt.threshold, 2), decimal(salt.slope, 2));
    let (basis, source) = (Basis::Published, &salt.source);
    let what = "conductivity of the saturated paste from which yield falls";
    let threshold = line(crop, "salt_threshold", from, what, basis, source);
    let what = "yield lost for each dS/m beyond";
    let slope = line(crop, "salt_slope", slope, what, basis, source);
    vec![with_unit(threshold, "dS/m"), with_unit(slope, "%")]
}

fn removal(crop: &Crop) -> Vec<Line> {
    let Some(removal) = &crop.removal else {
        return Vec::new();
    };
    let parts = [
        ("removal.phosphate", removal.phosphate),
        ("removal.potash", removal.potash),
        ("removal.sulfur", removal.sulfur),
    ];
    let what = "what the harvest takes off the field";
    let of = |(key, pounds): (&str, f64)| {
        let (basis, source) = (removal.basis, &removal.source);
        let line = line(crop, key, decimal(pounds, 4), what, basis, source);
        with_unit(line, &format!("lb/{}", crop.yield_unit))
    };
    let known = parts.into_iter().filter(|(_, pounds)| *pounds > 0.0);
    known.map(of).collect()
}
