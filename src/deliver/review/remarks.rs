use crate::deliver::numbers::file_name;
use crate::provenance::Place;
use crate::remark::Remark;
use crate::text::capital;

/// Most places that are named in one line on the first sheet.
const MOST_LINES: usize = 1;

/// Remarks of one kind that have the same way out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RemarkFacts {
    /// The word that is printed for the level.
    pub level: &'static str,
    code: &'static str,
    /// Where and what, one line each.
    pub lines: Vec<String>,
    /// What the user can do.
    pub help: Option<String>,
}

/// Remarks that tell of the data or of how a map was made, but change nothing that is done on the ground.
const CHANGE_NOTHING: [&str; 5] = [
    "no-map",
    "spatial-outlier",
    "spatial-outliers",
    "few-points",
    "crs-accuracy",
];

/// Remarks that tell of ground where one rate is known to be wrong.
const OF_WRONG_GROUND: [&str; 4] = [
    "cores-differ",
    "cores-against-map",
    "methods-apart",
    "cores-of-another-depth",
];

/// Remarks that tell of ground where a limit should hold back what goes out there.
const OF_A_GATE: [&str; 1] = ["cores-past-gate"];

/// Remarks that tell of a rate which is not the calculated one, or of money.
const OF_A_RATE: [&str; 8] = [
    "override-forced",
    "override-cut",
    "override-against-gate",
    "rate-cut",
    "over-budget",
    "more-than-on-hand",
    "no-rate",
    "dear-season",
];

impl RemarkFacts {
    /// Whether it may change what is done in the field.
    #[must_use]
    pub fn changes_a_decision(&self) -> bool {
        !CHANGE_NOTHING.contains(&self.code)
    }

    /// Where it stands on the first sheet: what should be held back somewhere, rates that were forced, cut or opened and money that is not
    /// there, one rate on ground that differs, then the rest.
    #[must_use]
    pub fn rank(&self) -> usize {
        let first: [&[&str]; 3] = [&OF_A_GATE, &OF_A_RATE, &OF_WRONG_GROUND];
        let found = first.iter().position(|codes| codes.contains(&self.code));
        found.unwrap_or(first.len())
    }

    /// The first sentence of the first of its lines, and how many more lines there are.
    #[must_use]
    pub fn summary(&self) -> String {
        let line = self.lines.first().map_or("", String::as_str);
        let first = line.split(". ").next().unwrap_or(line);
        match self.lines.len().saturating_sub(MOST_LINES) {
            0 => first.to_owned(),
            more => format!("{first} (and {more} more like it)"),
        }
    }
}

/// "cores.csv, row 4, column \"pH\": ", without the folders of somebody's machine.
fn where_it_is(place: &Place) -> String {
    let named = Place {
        file: file_name(&place.file).into(),
        ..place.clone()
    };
    format!("{named}: ")
}

/// Remarks of the same kind with the same way out stand together, where the first of them stands.
#[must_use]
pub fn remark_facts(remarks: &[&Remark]) -> Vec<RemarkFacts> {
    let mut facts: Vec<RemarkFacts> = Vec::new();
    for remark in remarks {
        let place = remark.place.as_ref().map(where_it_is);
        let line = format!("{}{}", place.unwrap_or_default(), capital(&remark.what));
        let help = remark.help.as_ref().map(|help| capital(help));
        let same = facts
            .iter_mut()
            .find(|known| known.code == remark.code && known.help == help && help.is_some());
        match same {
            Some(known) => known.lines.push(line),
            None => facts.push(RemarkFacts {
                level: remark.level.name(),
                code: remark.code,
                lines: vec![line],
                help,
            }),
        }
    }
    facts
}
