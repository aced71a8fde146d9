//! Stage 8: zones by what they change. A line between zones that get the same treatment changes nothing on the ground, so it is
//! not drawn: neighbours with the same rates, the same products held back and the same first order become one zone, and what
//! limits it and what it gets is worked out anew.

mod treatment;

use crate::diagnosis::Diagnosis;
use crate::field::Grid;
use crate::plan::{Choice, Settings};
use crate::rates::Prescription;
use crate::remark::Remark;
use crate::zones::Zones;

/// Zones with what was worked out for them.
#[derive(Debug)]
pub struct Chosen {
    /// The zones that are worth drawing.
    pub zones: Zones,
    /// What limits each.
    pub diagnosis: Diagnosis,
    /// What each gets.
    pub prescription: Prescription,
    /// What this stage has to say.
    pub remarks: Vec<Remark>,
}

/// Joins neighbouring zones that get the same treatment. `carry` takes zones through diagnosis and rates; it is called again
/// until no two neighbours are treated alike. A plan that fixes the number of zones gets that number.
///
/// The consultant's own rates name zones by number, so they are set aside while zones are joined: the same zones and numbers
/// come out with and without them.
///
/// # Errors
/// Those of `carry`.
pub fn choose<E>(
    grid: &Grid,
    settings: &Settings,
    zones: Zones,
    mut carry: impl FnMut(&Zones, &Settings) -> Result<(Diagnosis, Prescription), E>,
) -> Result<Chosen, E> {
    let found = zones.zones.len();
    let mut zones = zones;
    if settings.zones.count == Choice::Auto {
        let without_overrides = Settings {
            overrides: Vec::new(),
            ..settings.clone()
        };
        for _ in 1..found {
            let (diagnosis, prescription) = carry(&zones, &without_overrides)?;
            let Some(groups) = treatment::alike(grid, &zones, &diagnosis, &prescription) else {
                break;
            };
            zones = zones.joined(&groups);
        }
    }
    let mut remarks = Vec::new();
    let left = zones.zones.len();
    if left < found {
        let (what, why) = words(found, left);
        zones.why = format!("{} {why}", zones.why);
        remarks.push(
            Remark::info("zones-treated-alike", what)
                .help("set zones.count to keep a number of zones"),
        );
    }
    let (diagnosis, prescription) = carry(&zones, settings)?;
    Ok(Chosen {
        zones,
        diagnosis,
        prescription,
        remarks,
    })
}

fn words(found: usize, left: usize) -> (String, String) {
    if left == 1 {
        return (
            format!(
                "the maps part the field into {found} zones, but all get the same treatment: it is one zone"
            ),
            format!("All {found} get the same treatment, so the field is one zone."),
        );
    }
    (
        format!(
            "the maps part the field into {found} zones; neighbours that get the same treatment are one, which leaves {left}"
        ),
        format!("Neighbours that get the same treatment are one zone, which leaves {left}."),
    )
}
