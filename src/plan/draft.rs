//! A plan file that `start` writes for the user to go on with: which lines, and how they look.

use std::fmt::Write as _;

/// Column at which remarks on the lines stand, where the line leaves room.
const REMARK_COLUMN: usize = 34;

/// How far a line can be trusted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Trust {
    /// It stands in the files.
    Said,
    /// It was concluded from them.
    Guessed,
    /// Somebody has to look at it.
    Look,
}

/// One key of a draft with its value.
#[derive(Debug, Clone, PartialEq)]
pub struct DraftLine {
    key: String,
    value: String,
    trust: Trust,
    note: String,
    is_comment: bool,
}

impl DraftLine {
    /// A key whose value is written as it stands: a number, a table.
    #[must_use]
    pub fn new(key: &str, value: impl Into<String>) -> Self {
        Self {
            key: key.to_owned(),
            value: value.into(),
            trust: Trust::Said,
            note: String::new(),
            is_comment: false,
        }
    }

    /// A key with a text.
    #[must_use]
    pub fn text(key: &str, text: &str) -> Self {
        Self::new(key, Self::quoted(text))
    }

    /// Says where the value comes from.
    #[must_use]
    pub fn because(mut self, trust: Trust, note: impl Into<String>) -> Self {
        self.trust = trust;
        self.note = note.into();
        self
    }

    /// A line that is ready to be taken out of its comment.
    #[must_use]
    pub fn as_comment(mut self) -> Self {
        self.is_comment = true;
        self
    }

    /// A text as TOML, in a form that may be a key too: on one line, between double quotes.
    #[must_use]
    pub fn quoted(text: &str) -> String {
        let mut out = String::from("\"");
        for c in text.chars() {
            match c {
                '"' | '\\' => out.extend(['\\', c]),
                c if c.is_control() => {
                    let _ = write!(out, "\\u{:04X}", u32::from(c));
                }
                c => out.push(c),
            }
        }
        out.push('"');
        out
    }

    fn write(&self, out: &mut String, indent: &str, key_width: usize) {
        let start = out.len();
        let mark = if self.is_comment { "# " } else { "" };
        let _ = write!(
            out,
            "{indent}{mark}{:<key_width$} = {}",
            self.key, self.value
        );
        let mark = match self.trust {
            Trust::Said => "",
            Trust::Guessed => "GUESS: ",
            Trust::Look => "LOOK: ",
        };
        if !self.note.is_empty() {
            let gap = REMARK_COLUMN.saturating_sub(out.len() - start).max(3);
            let _ = write!(out, "{:gap$}# {mark}{}", "", one_line(&self.note));
        }
        out.push('\n');
    }
}

/// One `[[points]]` table of a draft.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct PointsDraft {
    /// Its keys.
    pub lines: Vec<DraftLine>,
    /// What has to be said of the file as a whole.
    pub looks: Vec<String>,
    /// Every column of the file that no key names: read ones, and as comments those that are not.
    pub columns: Vec<DraftLine>,
    /// Some of its places, where their coordinate system is still to be found.
    pub unplaced: Vec<(f64, f64)>,
}

impl PointsDraft {
    /// Sets the coordinate system, behind `kind`.
    pub fn set_crs(&mut self, line: DraftLine) {
        let at = self
            .lines
            .iter()
            .position(|line| line.key == "kind")
            .map_or(0, |at| at + 1);
        self.lines.insert(at, line);
    }

    /// Exchanges the columns of east and north.
    pub fn swap_places(&mut self) {
        for line in &mut self.lines {
            match line.key.as_str() {
                "x" => line.key = String::from("y"),
                "y" => line.key = String::from("x"),
                _ => {}
            }
        }
    }

    fn write(&self, out: &mut String) {
        out.push_str("\n[[points]]\n");
        self.lines.iter().for_each(|line| line.write(out, "", 6));
        for look in &self.looks {
            let _ = writeln!(out, "# LOOK: {}", one_line(look));
        }
        if !self.columns.is_empty() {
            out.push_str("  [points.columns]           # GUESS: from the columns' names; take a line out of its comment to read it\n");
        }
        self.columns
            .iter()
            .for_each(|line| line.write(out, "  ", 0));
    }
}

/// A whole plan.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct PlanDraft {
    /// Keys at the top, the boundary among them.
    pub head: Vec<DraftLine>,
    /// What has to be said of the boundary.
    pub looks: Vec<String>,
    /// The files of points.
    pub points: Vec<PointsDraft>,
    /// Who it is for, where the files say it.
    pub people: Vec<DraftLine>,
}

impl PlanDraft {
    /// The text of the plan file.
    #[must_use]
    pub fn to_text(&self) -> String {
        let mut out = String::from(HEAD);
        self.head
            .iter()
            .for_each(|line| line.write(&mut out, "", 8));
        for look in &self.looks {
            let _ = writeln!(out, "# LOOK: {}", one_line(look));
        }
        self.points.iter().for_each(|table| table.write(&mut out));
        if self.points.is_empty() {
            out.push_str(NO_POINTS);
        }
        if !self.people.is_empty() {
            out.push_str("\n[people]\n");
            self.people
                .iter()
                .for_each(|line| line.write(&mut out, "", 6));
        }
        out.push_str(REST);
        out
    }
}

/// A remark on one line.
fn one_line(text: &str) -> String {
    text.chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect()
}

const HEAD: &str = "# A plan made from the files' own columns. Each line marked GUESS was not in the files: check it.
# `lowstave check` with this file prints what is read; `lowstave plan` makes the prescription.

";

const NO_POINTS: &str = r#"
# LOOK: no file of cores yet. `lowstave cores` with this file, --add and --pattern regular lays out the first places.
# [[points]]
# file  = "cores.csv"
# kind  = "cores"
"#;

/// What no file of the field says: the machine and the grid, with the usual values.
const REST: &str = r#"
# [[keep_out]]               # where no product is placed; one table for each
# file     = "creek.geojson"
# distance = "33 ft"         # buffer round it
# why      = "setback from water"

[grid]
cell = "5 m"

[zones]
count    = "auto"            # or a number
smallest = "0.5 ac"

[machine]                    # GUESS: none of this is in the files; set it to your own planter and controller
swath = "40 ft"
row_spacing = "30 in"
heading = 0                  # degrees from north
speed = "5 mph"
tank = "400 gal"
flow_per_row = ["0.03 gal/min", "0.30 gal/min"]   # what pump and orifice can meter

# [budget]
# limit = "60 USD/ac"
"#;
