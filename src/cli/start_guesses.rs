//! What `start` guessed of depths and units and nobody has confirmed: told as long as its mark stands in the plan.

use crate::plan::Settings;
use crate::provenance::Place;
use crate::remark::Remark;

/// The marks of `start`.
const MARKS: [&str; 2] = ["# GUESS: ", "# LOOK: GUESS"];
/// What stands in the note where the file says no unit.
const NO_UNIT: &str = "does not say the unit";

/// One remark for each guessed depth, unit and list of columns that are left out, from the plan's text.
#[must_use]
pub fn remarks(plan: &str, settings: &Settings) -> Vec<Remark> {
    let mut table = None;
    let mut remarks = Vec::new();
    for line in plan.lines().map(str::trim) {
        if line.starts_with('[') {
            // Columns of a table of points stand below it.
            if line.starts_with("[[points]]") {
                table = Some(table.map_or(0, |at: usize| at + 1));
            } else if !line.starts_with("[points") {
                break;
            }
            continue;
        }
        if let Some(points) = table.and_then(|at| settings.points.get(at)) {
            let place = Place::file(points.file.display().to_string());
            remarks.extend(remark(line).map(|remark| remark.at(place)));
        }
    }
    remarks
}

/// What is to say of one line of a plan.
fn remark(line: &str) -> Option<Remark> {
    let (key, rest) = line.split_once('=').filter(|_| !line.starts_with('#'))?;
    let mark = MARKS.iter().find_map(|mark| rest.find(mark))?;
    let (value, note) = rest.split_at(mark);
    let note = note
        .trim_start_matches("# LOOK: ")
        .trim_start_matches("# ")
        .trim_start_matches("GUESS")
        .trim_start_matches([':', ' ']);
    let (key, value) = (key.trim(), value.trim());
    let code = match key {
        "depth_unit" => "depth-unit-assumed",
        "depths" if note.contains(NO_UNIT) => "depth-unit-assumed",
        "unit" if note.contains(NO_UNIT) => "cone-unit-assumed",
        "depth" => "depth-assumed",
        "ignore" => "columns-ignored",
        _ => return None,
    };
    let what = format!("{key} = {value} is a guess of start ({note})");
    let help =
        format!("correct {key} in the plan, or, where it is right, take the mark behind it away");
    Some(Remark::assumption(code, what).help(help))
}

#[cfg(test)]
mod tests {
    use super::remark;

    #[test]
    fn a_guess_is_told_as_long_as_its_mark_stands() {
        let code = |line: &str| remark(line).map(|remark| remark.code);
        let guessed = "depth_unit = \"cm\"   # GUESS: the file does not say the unit: cm is taken";
        assert_eq!(code(guessed), Some("depth-unit-assumed"));
        assert_eq!(code("depth_unit = \"cm\""), None);
        assert_eq!(
            code("depth  = \"0-30 cm\"   # LOOK: GUESS for \"Mg\", whose names say no depth"),
            Some("depth-assumed")
        );
        assert_eq!(
            code("ignore = [\"P\"]   # GUESS: left out"),
            Some("columns-ignored")
        );
        assert_eq!(
            code("depths = { \"5\" = \"5 cm\" }   # GUESS: because of the columns' names"),
            None
        );
        assert_eq!(code("# depth = \"6 in\"   # GUESS: x"), None);
    }
}
