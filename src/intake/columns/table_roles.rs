//! Which column of a table is what: coordinates, sample name, depth, results; wide or long.

use crate::analyte::{DepthRange, Meaning, meaning_of, plain_name};
use crate::plan::{Depths, PointKind};
use crate::remark::Remark;

use crate::intake::columns::cone_roles::{ConeRoles, cone_roles};
use crate::intake::columns::named::named;
use crate::intake::columns::result_unit::check_per_area;
use crate::intake::columns::results::result_columns;
use crate::intake::columns::roles::{self, RoleNames};
use crate::intake::columns::unused::note_the_rest;
use crate::intake::columns::{Header, ResultColumn};
use crate::intake::context::Context;
use crate::intake::error::IntakeError;

/// Where the sampling depth of a row comes from.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::intake) enum DepthRole {
    /// Nowhere.
    Unknown,
    /// One for all rows.
    Fixed(DepthRange),
    /// A column of texts, with the unit of bare numbers.
    Text(usize, Option<String>),
    /// Two columns of numbers and the metres in their unit.
    Pair(usize, usize, f64),
    /// Rows that hold nothing but a depth, which is that of the rows below.
    Sections,
}

/// A long table: one result per row.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::intake) struct LongRoles {
    /// Column of analyte names.
    pub analyte: usize,
    /// Column of results.
    pub value: usize,
    /// Column of units.
    pub unit: Option<usize>,
    /// Column of methods.
    pub method: Option<usize>,
    /// Column of qualifiers.
    pub qualifier: Option<usize>,
}

impl LongRoles {
    fn columns(&self) -> impl Iterator<Item = usize> {
        let rest = [self.unit, self.method, self.qualifier];
        [self.analyte, self.value]
            .into_iter()
            .chain(rest.into_iter().flatten())
    }
}

/// What the columns are.
#[derive(Debug, Clone)]
pub(in crate::intake) struct TableRoles {
    /// East or longitude.
    pub x: Option<usize>,
    /// North or latitude.
    pub y: Option<usize>,
    /// Sample name.
    pub id: Option<usize>,
    /// Depth.
    pub depth: DepthRole,
    /// Results of a wide table.
    pub results: Vec<ResultColumn>,
    /// The long form, where the table has it.
    pub long: Option<LongRoles>,
    /// The readings of a cone.
    pub cone: Option<ConeRoles>,
    /// Columns that are spoken for.
    pub claimed: Vec<usize>,
}

/// Finds the roles; what cannot be settled is noted as errors in the context.
pub(in crate::intake) fn table_roles(
    header: &Header,
    context: &mut Context<'_>,
    has_geometry: bool,
) -> TableRoles {
    let mut claimed = Vec::new();
    let (x, y) = if has_geometry {
        (Some(0), Some(1))
    } else {
        coordinates(header, context)
    };
    claimed.extend(x.iter().chain(&y));
    let id = id_column(header, context, &claimed);
    claimed.extend(id);
    let cone = if context.settings.kind == PointKind::Cone {
        cone_roles(header, context, &mut claimed)
    } else {
        None
    };
    let depth = if cone.is_some() {
        DepthRole::Unknown
    } else {
        depth_role(header, context, &mut claimed)
    };
    let long = if cone.is_some() {
        None
    } else {
        long_roles(header, context, &claimed)
    };
    let results = if let Some(long) = &long {
        claimed.extend(long.columns());
        note_the_rest(header, context, &claimed);
        Vec::new()
    } else {
        result_columns(header, context, &mut claimed)
    };
    check_depths(context, &results, &depth);
    TableRoles {
        x,
        y,
        id,
        depth,
        results,
        long,
        cone,
        claimed,
    }
}

/// Whether the depth that results need is known.
fn check_depths(context: &mut Context<'_>, results: &[ResultColumn], depth: &DepthRole) {
    let is_unknown = *depth == DepthRole::Unknown;
    for result in results {
        let has_depth = result.depth.is_some() || !is_unknown;
        check_per_area(
            context,
            &result.name,
            &result.analyte,
            &result.unit,
            has_depth,
        );
    }
    if is_unknown
        && context.settings.kind == PointKind::Cores
        && results.iter().any(|result| result.depth.is_none())
    {
        let remark = Remark::warning(
            "depth-not-given",
            "the sampling depth is not known; rules that hold for a depth cannot be met",
        )
        .at(context.place());
        context.remarks.push(remark.help(
            "add depth = \"0-6 in\" (or the depth that was sampled) to this [[points]] table",
        ));
    }
}

fn coordinates(header: &Header, context: &mut Context<'_>) -> (Option<usize>, Option<usize>) {
    let (planned_x, planned_y) = (context.settings.x.clone(), context.settings.y.clone());
    let names = RoleNames::built_in();
    let mut find = |planned: Option<String>, names: &[String], role: &str| {
        if let Some(name) = planned {
            named(header, context, &name, role)
        } else {
            let found = header.find_coordinate(names)?;
            let name = header.name(found).to_owned();
            let remark = Remark::assumption(
                "coordinates-guessed",
                format!("taken as {role}, because of its name"),
            )
            .at(context.column(&name));
            context
                .remarks
                .push(remark.help(format!("say {role} = \"{name}\" in the plan")));
            Some(found)
        }
    };
    (
        find(planned_x, &names.x, "x"),
        find(planned_y, &names.y, "y"),
    )
}

fn id_column(header: &Header, context: &mut Context<'_>, claimed: &[usize]) -> Option<usize> {
    if let Some(name) = context.settings.id.clone() {
        return named(header, context, &name, "id");
    }
    // A million sensor readings need no names; a file without coordinates needs them to find its places.
    if context.settings.kind == PointKind::Readings && !claimed.is_empty() {
        return None;
    }
    let planned = |at: usize| {
        context
            .settings
            .columns
            .iter()
            .any(|(name, _)| header.find(name) == Some(at))
    };
    header
        .find_role(&RoleNames::built_in().id)
        .filter(|at| !claimed.contains(at) && !planned(*at))
}

fn depth_role(header: &Header, context: &mut Context<'_>, claimed: &mut Vec<usize>) -> DepthRole {
    let is_open = matches!(context.settings.depths, Depths::Fixed(_) | Depths::Unknown);
    if is_open && let Some(first) = header.sample.iter().find_map(|row| section_depth(row)) {
        let what = format!(
            "rows that hold nothing but a depth ({}) give the depth of the rows below them",
            first.as_written()
        );
        let remark = Remark::assumption("depth-from-rows", what).at(context.place());
        context
            .remarks
            .push(remark.help("give each row its depth in a column of its own"));
        return DepthRole::Sections;
    }
    match context.settings.depths.clone() {
        Depths::Fixed(depth) => DepthRole::Fixed(depth),
        Depths::Column { column, unit } => match named(header, context, &column, "depth_column") {
            Some(at) => {
                claimed.push(at);
                let unit = unit
                    .or_else(|| roles::without_unit(&plain_name(header.name(at))).1)
                    .or_else(|| header.unit(at).map(str::to_owned));
                DepthRole::Text(at, unit)
            }
            None => DepthRole::Unknown,
        },
        Depths::TopAndBottom { top, bottom, unit } => {
            let found = (
                named(header, context, &top, "top"),
                named(header, context, &bottom, "bottom"),
            );
            let (Some(top), Some(bottom)) = found else {
                return DepthRole::Unknown;
            };
            claimed.extend([top, bottom]);
            match roles::length_unit(&unit) {
                Some(metres) => DepthRole::Pair(top, bottom, metres),
                None => no_depth_unit(context, header.name(top)),
            }
        }
        Depths::Unknown if context.settings.kind == PointKind::Cores => {
            guess_depth(header, context, claimed)
        }
        Depths::Unknown => DepthRole::Unknown,
    }
}

/// The depth that a row holds and nothing else.
fn section_depth(row: &[String]) -> Option<DepthRange> {
    let mut filled = row.iter().filter(|cell| !cell.trim().is_empty());
    let (Some(only), None) = (filled.next(), filled.next()) else {
        return None;
    };
    DepthRange::parse(only, None).ok()
}

fn no_depth_unit(context: &mut Context<'_>, column: &str) -> DepthRole {
    context.errors.push(IntakeError::Depth {
        place: context.column(column),
        what: "the depth has no unit".to_owned(),
        help: "add depth_unit = \"in\" (or \"cm\") to this [[points]] table".to_owned(),
    });
    DepthRole::Unknown
}

fn guess_depth(header: &Header, context: &mut Context<'_>, claimed: &mut Vec<usize>) -> DepthRole {
    let planned = |at: &usize| {
        context
            .settings
            .columns
            .iter()
            .any(|(name, _)| header.find(name) == Some(*at))
    };
    let free = |at: &usize| !claimed.contains(at) && !planned(at);
    let pair = RoleNames::built_in()
        .top_and_bottom
        .iter()
        .find_map(|(top, bottom)| {
            Some((
                header.find_role(&[top]).filter(free)?,
                header.find_role(&[bottom]).filter(free)?,
            ))
        });
    if let Some((top, bottom)) = pair {
        let unit = [top, bottom]
            .iter()
            .find_map(|at| column_length_unit(header, *at));
        claimed.extend([top, bottom]);
        let (top_name, bottom_name) = (header.name(top).to_owned(), header.name(bottom).to_owned());
        let Some(metres) = unit else {
            return no_depth_unit(context, &top_name);
        };
        let remark = Remark::assumption(
            "depth-guessed",
            format!("\"{top_name}\" and \"{bottom_name}\" taken as the sampling depth"),
        );
        context
            .remarks
            .push(remark.at(context.place()).help(format!(
                "say top = \"{top_name}\" and bottom = \"{bottom_name}\" in the plan"
            )));
        return DepthRole::Pair(top, bottom, metres);
    }
    let Some(at) = header.find_role(&RoleNames::built_in().depth).filter(free) else {
        return DepthRole::Unknown;
    };
    claimed.push(at);
    let name = header.name(at).to_owned();
    let unit = roles::without_unit(&plain_name(&name))
        .1
        .filter(|unit| roles::is_length_unit(unit))
        .or_else(|| header.unit(at).map(str::to_owned));
    let remark = Remark::assumption(
        "depth-guessed",
        format!("\"{name}\" taken as the sampling depth"),
    )
    .at(context.column(&name));
    context
        .remarks
        .push(remark.help(format!("say depth_column = \"{name}\" in the plan")));
    DepthRole::Text(at, unit)
}

fn column_length_unit(header: &Header, at: usize) -> Option<f64> {
    roles::without_unit(&plain_name(header.name(at)))
        .1
        .and_then(|unit| roles::length_unit(&unit))
        .or_else(|| roles::length_unit(header.unit(at)?))
}

/// A table with a column of analyte names and a column of results, unless the plan names columns of the header.
fn long_roles(header: &Header, context: &mut Context<'_>, claimed: &[usize]) -> Option<LongRoles> {
    let free = |at: &usize| !claimed.contains(at);
    let names = RoleNames::built_in();
    let analyte = header.find_role(&names.analyte).filter(free)?;
    let value = header
        .find_role(&names.value)
        .filter(|at| free(at) && *at != analyte)?;
    if context
        .settings
        .columns
        .iter()
        .any(|(name, _)| header.find(name).is_some())
    {
        return None;
    }
    if !names_an_analyte(header, context, analyte) {
        return None;
    }
    let remark = Remark::assumption(
        "long-table",
        format!(
            "one result per row: analytes in \"{}\", results in \"{}\"",
            header.name(analyte),
            header.name(value)
        ),
    );
    context.remarks.push(
        remark
            .at(context.place())
            .help("name the analytes under [points.columns] as they stand in the column"),
    );
    let role = |names: &[String]| {
        header
            .find_role(names)
            .filter(|at| free(at) && *at != analyte && *at != value)
    };
    Some(LongRoles {
        analyte,
        value,
        unit: role(&names.unit),
        method: role(&names.method),
        qualifier: role(&names.qualifier),
    })
}

/// Whether one of a column's first cells is the name of an analyte, to the plan or to the catalogue.
fn names_an_analyte(header: &Header, context: &Context<'_>, column: usize) -> bool {
    let is_planned = |cell: &str| {
        context
            .settings
            .columns
            .iter()
            .any(|(name, _)| name.trim() == cell.trim())
    };
    header
        .sample
        .iter()
        .filter_map(|row| row.get(column))
        .filter(|cell| !cell.trim().is_empty())
        .any(|cell| is_planned(cell) || meaning_of(cell) != Meaning::Unknown)
}
