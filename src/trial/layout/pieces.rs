use super::runs::Run;
use crate::trial::contrasts::TRIM;

/// How long a piece of a check is in each zone.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Lengths {
    /// Number of the zone, and the longest piece there, metres. A zone that is not listed gets no piece.
    pub zones: Vec<(u32, f64)>,
    /// Shortest piece, metres.
    pub shortest_m: f64,
}

impl Lengths {
    /// The longest piece in a zone; `None` where it gets none.
    #[must_use]
    pub fn of(&self, zone: u32) -> Option<f64> {
        self.zones.iter().find(|z| z.0 == zone).map(|z| z.1)
    }

    /// The pieces of a check on its runs: of each zone the longest run, its middle where it is longer than allowed, none where it is
    /// too short.
    #[must_use]
    pub fn pieces(&self, runs: &[Run]) -> Vec<Run> {
        let mut pieces: Vec<Run> = self
            .zones
            .iter()
            .filter_map(|&(zone, longest_m)| {
                let run = longest(runs, zone).filter(|run| run.length() >= self.shortest_m)?;
                let spare = (run.length() - longest_m).max(0.0);
                Some(Run {
                    zone,
                    from_m: run.from_m + 0.5 * spare,
                    to_m: run.to_m - 0.5 * spare,
                })
            })
            .collect();
        pieces.sort_by(|a, b| a.from_m.total_cmp(&b.from_m));
        pieces
    }
}

fn longest(runs: &[Run], zone: u32) -> Option<&Run> {
    runs.iter().filter(|run| run.zone == zone).max_by(|a, b| {
        a.length()
            .total_cmp(&b.length())
            .then(b.from_m.total_cmp(&a.from_m))
    })
}

/// The shortest piece of which a length is left after both ends are trimmed, metres.
#[must_use]
pub fn with_trimmed_ends(length_m: f64) -> f64 {
    length_m + 2.0 * TRIM
}
