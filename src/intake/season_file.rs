//! Files of the season: stand counts, days to emergence, Brix, tissue, weather. Their cells stay texts, because days, hours and parts of plants
//! stand among them; each is read where it is used, with its row and column in every error.

use std::collections::{BTreeMap, BTreeSet};
use std::io::Read;
use std::path::Path;

use super::columns::Header;
use super::columns::layout::find_layout;
use super::columns::nearest::require_named;
use super::columns::roles::RoleNames;
use super::error::IntakeError;
use super::formats::delimited::{RowError, RowReader, Unmarked, text_of};
use super::formats::read_shapes::read_shapes;
use super::formats::shapes::{LayerWish, Shapes, shape_format};
use super::formats::spreadsheet::sheet_text;
use super::read::is_spreadsheet;
use super::season_cells::{hour, not_a_number, plain_number};
use super::season_names::{SeasonColumn, recognised};
use super::source::{Source, place_of, read_whole};
use super::survey::InputFile;
use super::table::coordinates::is_degree_name;
use super::table::delimited::refuse_other_formats;
use super::table::shape_table::header_of_shapes;
use crate::files::Files;
use crate::plan::{Day, ResultKind, ResultSettings, SeasonRole};
use crate::provenance::Place;

/// Most rows of a file of the season; more are a yield monitor's by mistake.
const MOST_ROWS: usize = 200_000;
/// How much of a file is looked at to find its head.
const HEAD: usize = 1 << 17;

/// A row of a file.
#[derive(Debug, Clone)]
pub struct SeasonRow {
    /// Its row in the file, or the number of its shape.
    pub row: u32,
    /// Where it was read, in the file's own coordinates.
    pub at: Option<(f64, f64)>,
    cells: BTreeMap<SeasonRole, String>,
}

/// A file of the season, read.
#[derive(Debug, Clone)]
pub struct SeasonFile {
    /// The file.
    pub place: Place,
    /// What it holds.
    pub kinds: Vec<ResultKind>,
    /// CRS of its places, as text for PROJ; `None` where it has none.
    pub crs: Option<String>,
    /// The columns that were recognised.
    pub columns: Vec<SeasonColumn>,
    /// Columns that are not used.
    pub unused: Vec<String>,
    /// Its rows.
    pub rows: Vec<SeasonRow>,
    /// The file, for the record.
    pub inputs: Vec<InputFile>,
}

/// Reads a file of the season; `kind` is what the plan says of it, where it says it.
///
/// # Errors
/// A file that cannot be read or holds nothing of the season, columns that are not there, places that cannot be read.
pub fn read_season_file(
    files: &Files,
    result: &ResultSettings,
    kind: Option<ResultKind>,
) -> Result<SeasonFile, Vec<IntakeError>> {
    let mut inputs = Vec::new();
    let raw = if shape_format(&result.file).is_some() {
        shapes_of(files, &result.file, &mut inputs)
    } else {
        table_of(files, &result.file, &mut inputs)
    };
    let raw = raw.map_err(|error| vec![error])?;
    let place = place_of(&result.file);
    require_named(&place, &result.season_columns, &raw.header.names)?;
    let columns = recognised(&raw.header, &result.season_columns);
    let kinds = kinds_of(&columns, kind, &place, &raw.header.names)?;
    let used = |at: usize| columns.iter().any(|column| column.at == at);
    let coordinates = raw.coordinates;
    let unused = raw.header.names.iter().enumerate();
    let unused = unused.filter(|(at, name)| {
        !used(*at) && coordinates.is_none_or(|(x, y)| x != *at && y != *at) && !name.is_empty()
    });
    let unused = unused.map(|(_, name)| name.clone()).collect();
    let mut errors = Vec::new();
    let crs = crs_of(&raw, result, &place, &mut errors);
    let rows = raw
        .rows
        .iter()
        .map(|(row, point, cells)| SeasonRow {
            row: *row,
            at: point
                .or_else(|| placed(coordinates, *row, cells, &raw.header, &place, &mut errors)),
            cells: columns
                .iter()
                .filter_map(|column| {
                    let text = cells.get(column.at)?.trim();
                    (!text.is_empty()).then(|| (column.role, text.to_owned()))
                })
                .collect(),
        })
        .collect();
    if errors.is_empty() {
        Ok(SeasonFile {
            place,
            kinds,
            crs,
            columns,
            unused,
            rows,
            inputs,
        })
    } else {
        errors.truncate(MOST_ERRORS);
        Err(errors)
    }
}

/// Most errors of one kind that are told.
const MOST_ERRORS: usize = 10;

/// A row as it stands: its number, its point where the format gives one, its cells.
type RawRow = (u32, Option<(f64, f64)>, Vec<String>);

/// A file before its columns are known.
struct RawTable {
    header: Header,
    rows: Vec<RawRow>,
    /// Columns of the easting and northing.
    coordinates: Option<(usize, usize)>,
    crs: Option<String>,
}

fn table_of(
    files: &Files,
    file: &Path,
    inputs: &mut Vec<InputFile>,
) -> Result<RawTable, IntakeError> {
    let place = place_of(file);
    let plain = plain_text(files, file, inputs)?;
    let head = plain.get(..HEAD).unwrap_or(&plain);
    refuse_other_formats(head, &place)?;
    let layout = find_layout(head, &[], 0).ok_or_else(|| IntakeError::Nothing {
        place: place.clone(),
        what: "no row with column names was found; the first row of a table names its columns"
            .to_owned(),
    })?;
    let mut reader = RowReader::new(&plain[..], layout.dialect);
    let mut rows = Vec::new();
    loop {
        let row = match reader.next_row() {
            Ok(Some(row)) => row,
            Ok(None) => break,
            Err(error) => return Err(cut(&place, error)),
        };
        if row.number <= layout.last_head_row || row.is_blank() {
            continue;
        }
        if rows.len() >= MOST_ROWS {
            return Err(IntakeError::OverLimit {
                place,
                what: "the number of rows".to_owned(),
                limit: MOST_ROWS.to_string(),
            });
        }
        let cells = (0..row.len()).map(|at| text_of(row.cell(at)).0.into_owned());
        rows.push((row.number, None, cells.collect()));
    }
    if rows.is_empty() {
        let what = "there is no row under the column names".to_owned();
        return Err(IntakeError::Nothing { place, what });
    }
    let names = RoleNames::built_in();
    let x = layout.header.find_coordinate(&names.x);
    let y = layout.header.find_coordinate(&names.y);
    Ok(RawTable {
        header: layout.header,
        rows,
        coordinates: x.zip(y),
        crs: None,
    })
}

/// The text of a table file, of a spreadsheet that of its sheet, without marks of its encoding.
fn plain_text(
    files: &Files,
    file: &Path,
    inputs: &mut Vec<InputFile>,
) -> Result<Vec<u8>, IntakeError> {
    let place = place_of(file);
    let mut bytes = read_whole(files, file, inputs)?;
    if is_spreadsheet(file) {
        bytes = sheet_text(&bytes, None, &place)?.text;
    }
    let mut plain = Vec::with_capacity(bytes.len());
    Source::Bytes(&bytes)
        .open()
        .and_then(Unmarked::new)
        .and_then(|mut reader| reader.read_to_end(&mut plain))
        .map_err(|cause| IntakeError::Unreadable { place, cause })?;
    Ok(plain)
}

fn cut(place: &Place, error: RowError) -> IntakeError {
    let (row, what) = match error {
        RowError::Io(cause) => {
            return IntakeError::Unreadable {
                place: place.clone(),
                cause,
            };
        }
        RowError::TooLong(row) => (row, "the row is too long"),
        RowError::TooManyCells(row) => (row, "the row has too many cells"),
        RowError::OpenQuote(row) => (row, "a quote is opened here and never closed"),
    };
    IntakeError::Malformed {
        place: place.clone().at_row(row),
        format: "a table of text",
        what: what.to_owned(),
    }
}

fn shapes_of(
    files: &Files,
    file: &Path,
    inputs: &mut Vec<InputFile>,
) -> Result<RawTable, IntakeError> {
    let shapes: Shapes = read_shapes(files, file, LayerWish::Points, inputs)?;
    let header = header_of_shapes(&shapes);
    let by_format = shapes.is_degrees_by_format.then(|| "EPSG:4326".to_owned());
    let mut rows = Vec::new();
    for shape in &shapes.list {
        let mut cells = vec![String::new(); header.names.len()];
        for (name, value) in &shape.attributes {
            if let Some(at) = header.find(name) {
                cells[at].clone_from(value);
            }
        }
        rows.push((shape.number, shape.point(), cells));
    }
    Ok(RawTable {
        header,
        rows,
        coordinates: None,
        crs: shapes.crs.or(by_format),
    })
}

/// What a file holds, by its columns; what the plan says must be among it.
fn kinds_of(
    columns: &[SeasonColumn],
    said: Option<ResultKind>,
    place: &Place,
    names: &[String],
) -> Result<Vec<ResultKind>, Vec<IntakeError>> {
    let has = |role: SeasonRole| columns.iter().any(|column| column.role == role);
    let emerges = [
        SeasonRole::Days,
        SeasonRole::DegreeDays,
        SeasonRole::EmergedOn,
        SeasonRole::LateShare,
    ];
    let holds = [
        (ResultKind::Stand, has(SeasonRole::Count)),
        (ResultKind::Emergence, emerges.into_iter().any(has)),
        (ResultKind::Brix, has(SeasonRole::Brix)),
        (
            ResultKind::Weather,
            has(SeasonRole::Highest) && has(SeasonRole::Lowest),
        ),
    ];
    let mut kinds: Vec<ResultKind> = holds
        .into_iter()
        .filter(|(_, holds)| *holds)
        .map(|(kind, _)| kind)
        .collect();
    if kinds.is_empty() && SeasonRole::TISSUE.into_iter().any(has) {
        kinds.push(ResultKind::Tissue);
    }
    if kinds.is_empty() || said.is_some_and(|kind| !kinds.contains(&kind)) {
        let wanted = said.map_or(
            "a column of plant counts, of days to emergence, of Brix, of contents of leaves (zn, mn, b, mg), or of the day's highest and lowest temperature".to_owned(),
            |kind| format!("a column for kind = \"{}\": {}", kind.name(), column_of(kind)),
        );
        let names: Vec<String> = names
            .iter()
            .take(20)
            .map(|name| format!("\"{name}\""))
            .collect();
        return Err(vec![IntakeError::Nothing {
            place: place.clone(),
            what: format!(
                "there is not {wanted}; its columns are {}. Name them as docs/the-plan-file.md lists, or say what they are under [results.columns] of the plan",
                names.join(", ")
            ),
        }]);
    }
    Ok(said.map_or(kinds, |kind| vec![kind]))
}

/// The column that a kind needs, in words.
fn column_of(kind: ResultKind) -> &'static str {
    match kind {
        ResultKind::Stand => "plant counts (count)",
        ResultKind::Emergence => {
            "days or growing degree days to emergence, or the day (emerged on)"
        }
        ResultKind::Brix => "refractometer readings (brix)",
        ResultKind::Tissue => "contents of leaves (zn, mn, b, mg)",
        ResultKind::Weather => "the day's highest and lowest temperature",
        _ => "what the season's files hold",
    }
}

/// The system of the places; longitude and latitude are taken for degrees on WGS 84.
fn crs_of(
    raw: &RawTable,
    result: &ResultSettings,
    place: &Place,
    errors: &mut Vec<IntakeError>,
) -> Option<String> {
    if let Some(crs) = result.crs.clone().or_else(|| raw.crs.clone()) {
        return Some(crs);
    }
    let (x, y) = raw.coordinates?;
    let (x, y) = (raw.header.name(x), raw.header.name(y));
    if is_degree_name(x) && is_degree_name(y) {
        return Some("EPSG:4326".to_owned());
    }
    errors.push(IntakeError::CoordinateSystem {
        place: place.clone(),
        what: format!("the coordinate system of \"{x}\" and \"{y}\" is not known"),
        help: "name the columns lon and lat, or add crs = \"EPSG:...\" to its [[results]] table in the plan".to_owned(),
    });
    None
}

/// The place of a row of a table.
fn placed(
    coordinates: Option<(usize, usize)>,
    row: u32,
    cells: &[String],
    header: &Header,
    place: &Place,
    errors: &mut Vec<IntakeError>,
) -> Option<(f64, f64)> {
    let (x, y) = coordinates?;
    let mut number = |at: usize| {
        let text = cells.get(at).map_or("", |cell| cell.trim());
        if text.is_empty() {
            return None;
        }
        let found = plain_number(text);
        if found.is_none() {
            errors.push(not_a_number(
                place.clone().at_row(row).in_column(header.name(at)),
                text,
            ));
        }
        found
    };
    number(x).zip(number(y))
}

/// The place of a row and all that it says.
type Fingerprint<'a> = (Option<(u64, u64)>, &'a BTreeMap<SeasonRole, String>);

impl SeasonFile {
    /// The column of a role.
    #[must_use]
    pub fn column(&self, role: SeasonRole) -> Option<&SeasonColumn> {
        self.columns.iter().find(|column| column.role == role)
    }

    /// Numbers of rows that are copies of an earlier one. Where neither a place nor a plant is named, two of the same are not told from a copy
    /// and stay.
    #[must_use]
    pub fn copies(&self) -> Vec<u32> {
        let mut seen: BTreeSet<Fingerprint<'_>> = BTreeSet::new();
        let mut copies = Vec::new();
        for row in &self.rows {
            let is_known_place = row.at.is_some() || row.cells.contains_key(&SeasonRole::Plant);
            let at = row.at.map(|(x, y)| (x.to_bits(), y.to_bits()));
            if is_known_place && !seen.insert((at, &row.cells)) {
                copies.push(row.row);
            }
        }
        copies
    }

    /// Where a cell stands.
    #[must_use]
    pub fn place_of(&self, row: &SeasonRow, role: SeasonRole) -> Place {
        let place = self.place.clone().at_row(row.row);
        match self.column(role) {
            Some(column) => place.in_column(column.name.as_str()),
            None => place,
        }
    }
}

impl SeasonRow {
    /// The text of a cell; `None` of an empty one.
    #[must_use]
    pub fn text(&self, role: SeasonRole) -> Option<&str> {
        self.cells.get(&role).map(String::as_str)
    }

    /// The number of a cell; `None` of an empty one.
    ///
    /// # Errors
    /// Where something else stands there.
    pub fn number(&self, file: &SeasonFile, role: SeasonRole) -> Result<Option<f64>, IntakeError> {
        let Some(text) = self.text(role) else {
            return Ok(None);
        };
        let found = plain_number(text);
        found
            .map(Some)
            .ok_or_else(|| not_a_number(file.place_of(self, role), text))
    }

    /// The number of a cell, and whether it is less than that: `<5` is what a laboratory writes under what it can see.
    ///
    /// # Errors
    /// Where something else stands there.
    pub fn number_or_less(
        &self,
        file: &SeasonFile,
        role: SeasonRole,
    ) -> Result<Option<(f64, bool)>, IntakeError> {
        let under = self.text(role).and_then(|text| text.strip_prefix('<'));
        if let Some(number) = under.and_then(plain_number) {
            return Ok(Some((number, true)));
        }
        Ok(self.number(file, role)?.map(|number| (number, false)))
    }

    /// The day of a cell; `None` of an empty one.
    ///
    /// # Errors
    /// Where no day stands there.
    pub fn day(&self, file: &SeasonFile, role: SeasonRole) -> Result<Option<Day>, IntakeError> {
        let Some(text) = self.text(role) else {
            return Ok(None);
        };
        Day::parse(text)
            .map(Some)
            .ok_or_else(|| IntakeError::NotADay {
                place: file.place_of(self, role),
                text: crate::text::shorten(text),
            })
    }

    /// The hour of day of a cell, 0 to 24; `None` of an empty one.
    ///
    /// # Errors
    /// Where no hour stands there.
    pub fn hour(&self, file: &SeasonFile, role: SeasonRole) -> Result<Option<f64>, IntakeError> {
        let Some(text) = self.text(role) else {
            return Ok(None);
        };
        hour(text).map(Some).ok_or_else(|| IntakeError::NotAnHour {
            place: file.place_of(self, role),
            text: crate::text::shorten(text),
        })
    }
}
