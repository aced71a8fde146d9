//! Files of results.

use super::words::Resolver;
use super::{FIRST_YEAR, day};
use crate::plan::reading::Written;
use crate::plan::result_settings::{ResultKind, ResultSettings, YieldRole};
use crate::plan::results_table::{ResultColumn, ResultsTable};
use crate::plan::season_role::SeasonRole;

/// The results of a plan, in its order.
pub(super) fn results(tables: &[ResultsTable], resolver: &Resolver<'_>) -> Vec<ResultSettings> {
    tables
        .iter()
        .filter_map(|table| one(table, resolver))
        .collect()
}

fn one(table: &ResultsTable, resolver: &Resolver<'_>) -> Option<ResultSettings> {
    let file = resolver.required_file(&table.file, &table.place, "file = \"harvest.csv\"");
    resolver.required(&table.kind, &table.place, "kind", "kind = \"yield\"");
    let kind = resolver.word(&table.kind, "a kind of results", &ResultKind::WORDS);
    if kind == Some(ResultKind::Applied) {
        resolver.required(
            &table.product,
            &table.place,
            "product",
            "product = \"starter\"",
        );
    }
    let season = table.season.given().and_then(|season| {
        let year = u16::try_from(season.value).ok();
        let year = year.filter(|year| (FIRST_YEAR..=2100).contains(year));
        if year.is_none() {
            resolver.out_of_range(&season.place, season.value, "a year from 1950 to 2100");
        }
        year
    });
    let is_of_season = kind.is_some_and(ResultKind::is_of_season);
    let (of_yield, of_season): (Vec<_>, Vec<_>) = table.columns.iter().partition(|_| !is_of_season);
    Some(ResultSettings {
        season,
        date: day(&table.date),
        file: file?,
        product: table.product.given().map(|product| product.value.clone()),
        kind: kind?,
        crs: table.crs.given().map(|crs| crs.value.clone()),
        columns: of_yield
            .into_iter()
            .filter_map(|column| said(column, resolver))
            .collect(),
        season_columns: of_season
            .into_iter()
            .filter_map(|column| said_of_season(column, resolver))
            .collect(),
        place: table.place.clone(),
    })
}

/// A column with what it is and its unit.
pub(super) fn said(
    (name, column): &(Written<String>, ResultColumn),
    resolver: &Resolver<'_>,
) -> Option<(String, YieldRole, Option<String>)> {
    resolver.required(&column.is, &column.place, "is", "is = \"flow\"");
    let role = resolver.word(&column.is, "a column of results", &YieldRole::WORDS)?;
    let unit = column.unit.given().map(|unit| unit.value.clone());
    Some((name.value.clone(), role, unit))
}

/// The same of a file of the season.
fn said_of_season(
    (name, column): &(Written<String>, ResultColumn),
    resolver: &Resolver<'_>,
) -> Option<(String, SeasonRole, Option<String>)> {
    resolver.required(&column.is, &column.place, "is", "is = \"count\"");
    let role = resolver.word(&column.is, "a column of results", &SeasonRole::WORDS)?;
    let unit = column.unit.given().map(|unit| unit.value.clone());
    Some((name.value.clone(), role, unit))
}
