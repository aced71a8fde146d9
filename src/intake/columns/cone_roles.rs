//! Which columns of a cone file hold what: wide by depth mark, long by depth, or one maximum per push.

use std::sync::Arc;

use crate::analyte::{Analyte, plain_name};
use crate::remark::Remark;
use crate::units::{Length, decimal};

use crate::intake::columns::Header;
use crate::intake::columns::named::named;
use crate::intake::columns::reading_column::{
    column_mark, newtons, pressure, readings_by_unit, unit_in_file,
};
use crate::intake::columns::roles;
use crate::intake::context::Context;
use crate::intake::error::IntakeError;

/// The columns of a cone file.
#[derive(Debug, Clone)]
pub(in crate::intake) struct ConeRoles {
    /// How the readings stand.
    pub form: ConeForm,
    /// kPa in one of the file's unit.
    pub kilopascals: f64,
    /// The unit as written.
    pub unit: Arc<str>,
}

/// How the readings stand.
#[derive(Debug, Clone)]
pub(in crate::intake) enum ConeForm {
    /// One row per push, one column per depth mark: index, name, depth.
    Wide(Vec<(usize, Arc<str>, Length)>),
    /// One row per reading.
    Long {
        /// Column of the depth.
        depth: usize,
        /// Metres in its unit.
        metres: f64,
        /// Column of the reading.
        value: usize,
    },
    /// One number per push: the largest reading.
    Maximum(usize),
}

/// Finds the columns of a cone file.
pub(in crate::intake) fn cone_roles(
    header: &Header,
    context: &mut Context<'_>,
    claimed: &mut Vec<usize>,
) -> Option<ConeRoles> {
    let planned: Vec<(String, Length)> = context
        .settings
        .cone
        .as_ref()
        .map(|cone| cone.depths.clone())
        .unwrap_or_default();
    let form = if planned.is_empty() {
        guess_form(header, context, claimed)?
    } else {
        planned_form(header, context, &planned)
    };
    match &form {
        ConeForm::Wide(marks) => claimed.extend(marks.iter().map(|(at, _, _)| *at)),
        ConeForm::Long { depth, value, .. } => claimed.extend([*depth, *value]),
        ConeForm::Maximum(at) => claimed.push(*at),
    }
    let (kilopascals, unit) = unit_of(header, context, &form)?;
    Some(ConeRoles {
        form,
        kilopascals,
        unit,
    })
}

fn planned_form(
    header: &Header,
    context: &mut Context<'_>,
    planned: &[(String, Length)],
) -> ConeForm {
    let mut marks: Vec<(usize, Arc<str>, Length)> = planned
        .iter()
        .filter_map(|(name, depth)| {
            Some((
                named(header, context, name, "depths")?,
                Arc::from(name.as_str()),
                *depth,
            ))
        })
        .collect();
    marks.sort_by(|a, b| a.2.metres().total_cmp(&b.2.metres()));
    ConeForm::Wide(marks)
}

fn guess_form(header: &Header, context: &mut Context<'_>, claimed: &[usize]) -> Option<ConeForm> {
    let free = |at: &usize| !claimed.contains(at);
    let (depth, value) = long_columns(header, context, &free);
    if let (Some(depth), Some(value)) = (depth, value) {
        let name = header.name(depth).to_owned();
        let Some(metres) = long_depth_unit(header, context, depth) else {
            context.errors.push(cone_error(
                context,
                &name,
                "the depth has no unit",
                "add depth_unit = \"in\" (or \"cm\") to this [[points]] table",
            ));
            return None;
        };
        let what = format!(
            "one reading per row: depth in \"{name}\", reading in \"{}\"",
            header.name(value)
        );
        context
            .remarks
            .push(Remark::assumption("cone-columns-guessed", what).at(context.place()));
        return Some(ConeForm::Long {
            depth,
            metres,
            value,
        });
    }
    let marks: Vec<(usize, f64, Option<f64>)> = (0..header.names.len())
        .filter(free)
        .filter_map(|at| column_mark(header, at).map(|(number, metres)| (at, number, metres)))
        .collect();
    if marks.len() >= 2 {
        return wide_guess(header, context, &marks);
    }
    if let Some(at) = header
        .find_role(&roles::RoleNames::built_in().maximum)
        .filter(free)
    {
        let what = format!(
            "\"{}\" taken as the largest reading of each push; a profile cannot be made of it",
            header.name(at)
        );
        context
            .remarks
            .push(Remark::assumption("cone-columns-guessed", what).at(context.place()));
        return Some(ConeForm::Maximum(at));
    }
    let help = "name the columns: depths = { \"d2\" = \"2 in\", \"d4\" = \"4 in\" }";
    let place = context.place();
    context.errors.push(IntakeError::Cone {
        place,
        what: "no columns of cone readings were found".to_owned(),
        help: help.to_owned(),
    });
    None
}

/// Columns of depth and reading of a long file: the plan's (`depth_column`, and a column that is `cone_index`), else by name.
fn long_columns(
    header: &Header,
    context: &mut Context<'_>,
    free: &dyn Fn(&usize) -> bool,
) -> (Option<usize>, Option<usize>) {
    let depth = match context.settings.depths.clone() {
        crate::plan::Depths::Column { column, .. } => {
            named(header, context, &column, "depth_column")
        }
        _ => header
            .find_role(&roles::RoleNames::built_in().depth)
            .filter(free),
    };
    let planned = context
        .settings
        .columns
        .iter()
        .find(|(_, meaning)| meaning.analyte == Analyte::ConeIndex)
        .map(|(name, _)| Arc::clone(name));
    let value = match planned {
        Some(name) => named(header, context, &name, "cone_index"),
        None => header
            .find_role(&roles::RoleNames::built_in().resistance)
            .or_else(|| readings_by_unit(header))
            .filter(free),
    };
    (depth, value)
}

fn wide_guess(
    header: &Header,
    context: &mut Context<'_>,
    marks: &[(usize, f64, Option<f64>)],
) -> Option<ConeForm> {
    let plan_unit = depth_unit_of_plan(context);
    let shared = marks
        .iter()
        .find_map(|(_, _, metres)| *metres)
        .or(plan_unit);
    let Some(shared) = shared else {
        let error = marks_without_unit(header, context, marks);
        context.errors.push(error);
        return None;
    };
    let mut found: Vec<(usize, Arc<str>, Length)> = marks
        .iter()
        .map(|(at, number, metres)| {
            (
                *at,
                Arc::from(header.name(*at)),
                roles::mark_length(*number, metres.unwrap_or(shared)),
            )
        })
        .collect();
    found.sort_by(|a, b| a.2.metres().total_cmp(&b.2.metres()));
    let remark = marks_remark(&found).at(context.place());
    context.remarks.push(remark);
    Some(ConeForm::Wide(found))
}

fn marks_without_unit(
    header: &Header,
    context: &Context<'_>,
    marks: &[(usize, f64, Option<f64>)],
) -> IntakeError {
    let list: Vec<String> = marks
        .iter()
        .take(3)
        .map(|(at, number, _)| format!("\"{}\" = \"{} in\"", header.name(*at), decimal(*number, 3)))
        .collect();
    let first = marks.first().map_or("", |(at, _, _)| header.name(*at));
    let help = format!(
        "say it in the plan, for example depths = {{ {} }}",
        list.join(", ")
    );
    cone_error(context, first, "depth marks without a unit", &help)
}

fn marks_remark(marks: &[(usize, Arc<str>, Length)]) -> Remark {
    let list: Vec<String> = marks
        .iter()
        .map(|(_, name, depth)| {
            format!("\"{name}\" = \"{} cm\"", decimal(depth.metres() * 100.0, 2))
        })
        .collect();
    let what = format!("{} depth marks read from the columns' names", marks.len());
    Remark::assumption("cone-columns-guessed", what).help(format!(
        "say so in the plan: depths = {{ {} }}",
        list.join(", ")
    ))
}

fn depth_unit_of_plan(context: &Context<'_>) -> Option<f64> {
    match &context.settings.depths {
        crate::plan::Depths::Column {
            unit: Some(unit), ..
        }
        | crate::plan::Depths::TopAndBottom { unit, .. } => roles::length_unit(unit),
        _ => None,
    }
}

fn long_depth_unit(header: &Header, context: &Context<'_>, at: usize) -> Option<f64> {
    let in_name = roles::without_unit(&plain_name(header.name(at)))
        .1
        .and_then(|unit| roles::length_unit(&unit));
    depth_unit_of_plan(context)
        .or(in_name)
        .or_else(|| roles::length_unit(header.unit(at)?))
}

fn cone_error(context: &Context<'_>, column: &str, what: &str, help: &str) -> IntakeError {
    IntakeError::Cone {
        place: context.column(column),
        what: what.to_owned(),
        help: help.to_owned(),
    }
}

/// kPa in one of the file's unit. A force needs the cone's base area.
fn unit_of(header: &Header, context: &mut Context<'_>, form: &ConeForm) -> Option<(f64, Arc<str>)> {
    let columns = reading_columns(form);
    let said = columns
        .iter()
        .map(|at| (*at, unit_in_file(header, *at)))
        .collect::<Vec<_>>();
    if let Some(error) = two_units(header, context, &said) {
        context.errors.push(error);
        return None;
    }
    let (column, in_file) = said
        .into_iter()
        .find(|(_, unit)| unit.is_some())
        .unwrap_or((columns.first().copied().unwrap_or(0), None));
    let planned = planned_unit(context);
    let column = header.name(column);
    if let (Some(planned), Some(found)) = (&planned, &in_file)
        && let Some(error) = two_pressures(context, column, planned, found)
    {
        context.errors.push(error);
        return None;
    }
    let Some(unit) = planned.or(in_file) else {
        let help = "add unit = \"psi\" (or kPa, MPa, N) to this [[points]] table";
        let error = cone_error(context, column, "the readings have no unit", help);
        context.errors.push(error);
        return None;
    };
    match kilopascals_in(context, column, &unit) {
        Ok(factor) => Some((factor, unit.into())),
        Err(error) => {
            context.errors.push(error);
            None
        }
    }
}

/// The unit that the plan says.
fn planned_unit(context: &Context<'_>) -> Option<String> {
    context
        .settings
        .cone
        .as_ref()
        .map(|cone| cone.unit.trim().to_owned())
        .filter(|unit| !unit.is_empty())
}

fn reading_columns(form: &ConeForm) -> Vec<usize> {
    match form {
        ConeForm::Wide(marks) => marks.iter().map(|(at, _, _)| *at).collect(),
        ConeForm::Long { value, .. } => vec![*value],
        ConeForm::Maximum(at) => vec![*at],
    }
}

/// Plan and file that say different units of pressure.
fn two_pressures(
    context: &Context<'_>,
    column: &str,
    planned: &str,
    found: &str,
) -> Option<IntakeError> {
    let (one, other) = (pressure(planned)?, pressure(found)?);
    ((one / other - 1.0).abs() > 1e-6).then(|| IntakeError::UnitConflict {
        place: context.column(column),
        one: planned.to_owned(),
        one_from: "in the plan",
        other: found.to_owned(),
        other_from: "in the file",
        help: "",
    })
}

/// kPa in a unit of pressure, or in one of force on the cone's base area.
fn kilopascals_in(context: &Context<'_>, column: &str, unit: &str) -> Result<f64, IntakeError> {
    if let Some(factor) = pressure(unit) {
        return Ok(factor);
    }
    let cone = context.settings.cone.as_ref();
    match (newtons(unit), cone.and_then(|cone| cone.base_area_mm2)) {
        (Some(newtons), Some(area)) if area > 0.0 => Ok(newtons * 1_000.0 / area),
        (Some(_), _) => {
            let what = format!("a force in {unit} needs the base area of the cone");
            let help = "add base_area = \"323 mm2\" (20.27 mm cone) or \"130 mm2\" (12.83 mm cone), as on the tip that was used";
            Err(cone_error(context, column, &what, help))
        }
        (None, _) => Err(IntakeError::UnknownUnit {
            place: context.column(column),
            unit: unit.to_owned(),
            analyte: "cone index".to_owned(),
            allowed: "psi, kPa, MPa, bar, kgf/cm2, or N, kgf, lbf with the cone's base area"
                .to_owned(),
        }),
    }
}

/// Two columns of readings whose names say different units.
fn two_units(
    header: &Header,
    context: &Context<'_>,
    said: &[(usize, Option<String>)],
) -> Option<IntakeError> {
    let factors: Vec<(usize, &String, f64)> = said
        .iter()
        .filter_map(|(at, unit)| Some((*at, unit.as_ref()?, pressure(unit.as_ref()?)?)))
        .collect();
    let (first_at, first, factor) = factors.first()?;
    let (at, other, _) = factors
        .iter()
        .find(|(_, _, other)| (other / factor - 1.0).abs() > 1e-6)?;
    Some(IntakeError::Cone {
        place: context.column(header.name(*at)),
        what: format!(
            "the readings are in {other} here and in {first} in \"{}\"",
            header.name(*first_at)
        ),
        help: "give all readings of a file in one unit, or split the file".to_owned(),
    })
}
