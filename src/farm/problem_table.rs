use super::problem::Problem;
use crate::deliver::{OutputFile, csv_cell};

/// What is wrong with the fields that have no result, one row for each thing.
pub(super) const PROBLEMS: &str = "problems.csv";

/// The file.
pub(super) fn file(problems: &[Problem]) -> OutputFile {
    let mut text = "field_id,plan,code,what,file,row,column,way_out\n".to_owned();
    for problem in problems {
        let row = problem.row.map_or_else(String::new, |row| row.to_string());
        let cells = [
            csv_cell(&problem.id),
            csv_cell(&problem.plan),
            problem.code.to_string(),
            csv_cell(&problem.what),
            csv_cell(&problem.file),
            row,
            csv_cell(&problem.column),
            csv_cell(&problem.way_out),
        ];
        text.push_str(&(cells.join(",") + "\n"));
    }
    OutputFile::new(PROBLEMS, text)
}
