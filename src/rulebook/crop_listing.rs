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
    let line =
        |key: &str, value: String, unit: &str, what: &str, basis: Basis, source: &str| Line {
            key: format!("crop.{}.{key}", crop.name),
            value,
            unit: unit.to_owned(),
            what: what.to_owned(),
            basis,
            source: source.to_owned(),
            disputed: None,
        };
    let mut lines = vec![
        line(
            "target_ph",
            decimal(crop.target_ph, 2),
            "",
            "pH in water that lime aims at",
            crop.basis,
            &crop.source,
        ),
        line(
            "seed_salt",
            crop.seed_salt.name().to_owned(),
            "",
            "whose seed-safe limit of nitrogen plus potash holds",
            crop.seed_salt_basis,
            &crop.seed_salt_source,
        ),
        line(
            "row_habit",
            crop.row_habit.name().to_owned(),
            "",
            "how it is sown",
            Basis::CommonPractice,
            "usual practice",
        ),
    ];
    if let Some(stand) = &crop.stand {
        let what = "plants that give the full yield";
        let plants = decimal(stand.plants_per_acre, 0);
        lines.push(line(
            "stand",
            plants,
            "plants/ac",
            what,
            Basis::Published,
            &stand.source,
        ));
    }
    if let Some(salt) = &crop.salt {
        let what = "conductivity of the saturated paste from which yield falls";
        let (from, slope) = (decimal(salt.threshold, 2), decimal(salt.slope, 2));
        lines.push(line(
            "salt_threshold",
            from,
            "dS/m",
            what,
            Basis::Published,
            &salt.source,
        ));
        let what = "yield lost for each dS/m beyond";
        lines.push(line(
            "salt_slope",
            slope,
            "%",
            what,
            Basis::Published,
            &salt.source,
        ));
    }
    if let Some(removal) = &crop.removal {
        let unit = format!("lb/{}", crop.yield_unit);
        let parts = [
            ("phosphate", removal.phosphate),
            ("potash", removal.potash),
            ("sulfur", removal.sulfur),
        ];
        for (part, pounds) in parts.into_iter().filter(|(_, pounds)| *pounds > 0.0) {
            let key = format!("removal.{part}");
            let what = "what the harvest takes off the field";
            let (basis, source) = (removal.basis, removal.source.as_str());
            lines.push(line(&key, decimal(pounds, 4), &unit, what, basis, source));
        }
    }
    lines
}
