//! How a file of points is written, where the user says it: decimal sign, words for no result, rows above the header, sheet or layer, and
//! the unit and method of columns that do not say theirs.

use serde::Serialize;

use crate::analyte::{Analyte, Catalogue, Method};

/// How numbers are written, in one file or one column.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct NumberForm {
    /// The decimal sign, `.` or `,`; looked for in the cells where it is not said.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub decimal: Option<char>,
    /// The sign between thousands: `,`, `.`, a blank or an apostrophe.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub thousands: Option<char>,
    /// Texts that mean that there is no result.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub na: Vec<String>,
}

/// How a file of points is written.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct FileForm {
    /// Its numbers.
    #[serde(flatten)]
    pub numbers: NumberForm,
    /// Rows at the top that are passed over before the header is looked for.
    #[serde(skip_serializing_if = "is_none")]
    pub skip_rows: u32,
    /// Sheet of a spreadsheet, or layer of a GeoPackage.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sheet: Option<String>,
    /// Unit of the results that do not say theirs and can be measured in it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// Method of the results that do not say theirs and know it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub method: Option<Method>,
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "serde asks for a reference"
)]
fn is_none(rows: &u32) -> bool {
    *rows == 0
}

impl FileForm {
    /// The file's unit, for an analyte whose column says none and that is measured per mass, per area or in percent.
    #[must_use]
    pub fn unit_for(&self, analyte: &Analyte) -> Option<String> {
        let catalogue = Catalogue::built_in();
        let is_bare = catalogue.conversion(analyte, "", "").is_ok();
        let takes = |unit: &String| catalogue.conversion(analyte, unit, "").is_ok();
        self.unit.clone().filter(|unit| !is_bare && takes(unit))
    }

    /// The file's method, for an analyte that is tested by it.
    #[must_use]
    pub fn method_for(&self, analyte: &Analyte) -> Option<Method> {
        let entry = Catalogue::built_in().entry(analyte)?;
        let knows = |method: &Method| entry.method_names().any(|name| name == method.name());
        self.method.clone().filter(knows)
    }
}
