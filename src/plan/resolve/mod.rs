//! What was typed becomes what is trusted: words, units, files and ranges are checked, defaults filled in, and
//! statements compared with each other. Every problem is noted; settings come out only where there is none.

mod boundary;
mod crop_yield;
mod form;
mod left_out;
mod machine;
mod money;
mod points;
mod results;
mod roles;
mod strips;
mod supply;
mod words;
mod zones;

use std::path::{Path, PathBuf};

use super::Purpose;
use super::defaults;
use super::file::{BoundaryTable, KeepOutTable, LimitsTable, PlanFile};
use super::homes;
use super::limits;
use super::past_settings;
use super::people;
use super::people::{Day, People};
use super::reading::{Document, TableReader, Typed};
use super::settings::{
    BelowDetection, BoundarySettings, KeepOut, PointsSettings, Settings, TakenFromFarm, WorkLimits,
};
use super::supply::{ShedTable, Stock};
use crate::files::Files;
use crate::remark::Remark;
use crate::toml_tree::Tree;
use crate::units::{Density, Length, Quantity, UnitSystem, Volume};
use words::Resolver;

/// Turns a plan as typed into settings; `None` where any problem was noted that leaves a gap.
pub(super) fn resolve(
    plan: &PlanFile,
    document: &Document,
    files: &Files,
    name: &Path,
    purpose: Purpose,
) -> (Option<Settings>, Vec<Remark>) {
    let resolver = Resolver::new(document, files);
    let settings = settings(plan, &resolver, name, purpose);
    (settings, resolver.into_remarks())
}

/// What a plan must say of the field.
struct Named {
    field: Option<String>,
    season: Option<u16>,
    crop: Option<String>,
    boundary: Option<BoundarySettings>,
}

impl Named {
    fn of(plan: &PlanFile, resolver: &Resolver<'_>) -> Self {
        let text = |written: &Typed<String>, key: &'static str, example: &'static str| {
            let written = resolver.required(written, &plan.place, key, example);
            written.map(|written| written.value.clone())
        };
        // In the order in which a plan that says nothing is told of it.
        let field = text(&plan.field, "field", "field = \"Alder Flat\" at the top");
        let season = season(plan, resolver);
        let crop = text(&plan.crop, "crop", "crop = \"corn\" at the top");
        let boundary = resolver.required(
            &plan.boundary,
            &plan.place,
            "boundary",
            "boundary = { file = \"boundary.geojson\" } at the top",
        );
        Self {
            field,
            season,
            crop,
            boundary: boundary.and_then(|written| self::boundary(&written.value, resolver)),
        }
    }
}

/// The tables of points; a layout is made before there are any.
fn points_for(
    plan: &PlanFile,
    purpose: Purpose,
    resolver: &Resolver<'_>,
) -> Option<Vec<PointsSettings>> {
    let is_bare = purpose == Purpose::Layout && !plan.points.is_written();
    if is_bare {
        return Some(Vec::new());
    }
    points::all(&plan.points, &plan.place, resolver)
}

/// The user's own rulebook.
fn rules(plan: &PlanFile, resolver: &Resolver<'_>) -> Option<PathBuf> {
    let rules = &plan.rules.given()?.value;
    resolver.required_file(&rules.file, &rules.place, "file = \"my-rules.toml\"")
}

/// Where organic carbon comes from, and what a result below detection counts as.
fn words_on_results(
    plan: &PlanFile,
    resolver: &Resolver<'_>,
) -> (Option<bool>, Option<BelowDetection>) {
    let carbon = resolver.word(
        &plan.organic_carbon,
        "a source of organic carbon",
        &[("from organic matter", true)],
    );
    let below_detection = resolver.word(
        &plan.below_detection,
        "a rule for results below detection",
        &BELOW_DETECTION,
    );
    (carbon, below_detection)
}

fn settings(
    plan: &PlanFile,
    resolver: &Resolver<'_>,
    name: &Path,
    purpose: Purpose,
) -> Option<Settings> {
    let units = units(plan, resolver);
    let named = Named::of(plan, resolver);
    let keep_outs = plan.keep_outs.iter().map(|table| keep_out(table, resolver));
    let keep_outs = keep_outs.flatten().collect();
    let points = points_for(plan, purpose, resolver);
    let cell = resolver.within(&plan.grid.cell, &limits::CELL);
    let surface = zones::surface(&plan.surface, resolver);
    let zones = zones::zones(&plan.zones, resolver);
    let machine = machine::machine(&plan.machine, units, resolver);
    let rules = rules(plan, resolver);
    let crop_name = plan.crop.given().map_or("", |crop| crop.value.as_str());
    let prices = money::prices(&plan.prices, &plan.crop, resolver);
    let crop_price = money::price_of_crop(&plan.prices, crop_name, resolver);
    let results = results::results(&plan.results, resolver);
    let strips = strips::strips(&plan.strips, crop_name, resolver);
    let budget = money::budget(&plan.budget, resolver);
    let overrides = money::overrides(&plan.overrides, resolver);
    let (carbon, below_detection) = words_on_results(plan, resolver);
    let bulk_density = bulk_density(&plan.bulk_density, resolver);
    Some(Settings {
        plan_file: name.to_owned(),
        field: named.field?,
        season: named.season?,
        crop: named.crop?,
        crop_row: plan.crop.given().and_then(|crop| crop.place.row),
        units,
        boundary: named.boundary?,
        keep_outs,
        points: points?,
        cell: cell.unwrap_or(defaults::CELL),
        surface,
        zones,
        machine,
        rules,
        prices,
        crop_price,
        budget,
        strips,
        results,
        past: past_settings::folders(&plan.past),
        overrides,
        carbon_from_organic_matter: carbon.unwrap_or(false),
        below_detection: below_detection.unwrap_or_default(),
        bulk_density,
        people: people::people(&plan.people),
        supply: supply::supply(plan, resolver),
        limits: work_limits(&plan.limits, resolver),
        farm: TakenFromFarm::default(),
    })
}

fn units(plan: &PlanFile, resolver: &Resolver<'_>) -> UnitSystem {
    let units = resolver.word(
        &plan.units,
        "a system of units",
        &[
            ("us", UnitSystem::UnitedStates),
            ("metric", UnitSystem::Metric),
        ],
    );
    units.unwrap_or_default()
}

/// What a farm's own files need of the tables that its fields take.
pub(super) struct FarmValues {
    pub units: UnitSystem,
    pub tank: Option<Volume>,
    pub people: People,
}

/// Checks the tables of a farm file as those of a plan are checked; what is wrong is noted in the document.
pub(super) fn farm_values(plan: &PlanFile, document: &Document, files: &Files) -> FarmValues {
    let resolver = Resolver::new(document, files);
    // No field is made of it: a farm file is checked with all that a plan is checked for.
    let _ = settings(plan, &resolver, Path::new(&*document.file), Purpose::Layout);
    let units = units(
        plan,
        &Resolver::new(&Document::new("", homes::home_of), files),
    );
    let tank = plan.machine.tank.given();
    FarmValues {
        units,
        tank: tank.and_then(|text| Volume::parse(&text.value).ok()),
        people: people::people(&plan.people),
    }
}

/// The stock of a farm's shed, from a tree that holds `on_hand` alone.
pub(super) fn farm_stock(shed: &Tree, document: &Document) -> Vec<(String, Stock)> {
    let files = Files::memory::<&str, &str>([]);
    let table = ShedTable::read(TableReader::root(document, shed));
    let resolver = Resolver::new(document, &files);
    supply::stocks(&table, &resolver)
}

const BELOW_DETECTION: [(&str, BelowDetection); 4] = [
    ("half", BelowDetection::Half),
    ("limit", BelowDetection::Limit),
    ("zero", BelowDetection::Zero),
    ("missing", BelowDetection::Missing),
];

fn season(plan: &PlanFile, resolver: &Resolver<'_>) -> Option<u16> {
    let season = resolver.required(
        &plan.season,
        &plan.place,
        "season",
        "season = 2027 at the top",
    )?;
    let year = u16::try_from(season.value)
        .ok()
        .filter(|year| (FIRST_YEAR..=2100).contains(year));
    if year.is_none() {
        resolver.out_of_range(&season.place, season.value, "a year from 1950 to 2100");
    }
    year
}

fn boundary(table: &BoundaryTable, resolver: &Resolver<'_>) -> Option<BoundarySettings> {
    let file = resolver.required_file(&table.file, &table.place, "file = \"boundary.geojson\"");
    let choose = table
        .choose
        .given()
        .and_then(|choose| boundary::choice(&choose.value, resolver));
    Some(BoundarySettings {
        file: file?,
        crs: plain(&table.crs),
        choose,
        layer: plain(&table.layer),
        place: table.place.clone(),
    })
}

fn keep_out(table: &KeepOutTable, resolver: &Resolver<'_>) -> Option<KeepOut> {
    let file = resolver.required_file(&table.file, &table.place, "file = \"creek.geojson\"");
    let distance = resolver
        .within(&table.distance, &limits::SETBACK)
        .unwrap_or(Length::ZERO);
    let why = plain(&table.why).unwrap_or_else(|| "no reason given".to_owned());
    Some(KeepOut {
        file: file?,
        crs: plain(&table.crs),
        distance,
        why,
        place: table.place.clone(),
    })
}

/// From loose organic soil to the density of the mineral grains themselves.
const BULK_DENSITIES: std::ops::RangeInclusive<f64> = 0.05..=2.65;

fn bulk_density(typed: &Typed<String>, resolver: &Resolver<'_>) -> Option<f64> {
    let density: Density = resolver.quantity(typed)?;
    let is_possible = BULK_DENSITIES.contains(&density.stored());
    if let (false, Some(written)) = (is_possible, typed.given()) {
        resolver.out_of_range(&written.place, &written.value, "0.05 g/cm3 to 2.65 g/cm3");
    }
    is_possible.then(|| density.stored())
}

fn work_limits(table: &LimitsTable, resolver: &Resolver<'_>) -> WorkLimits {
    WorkLimits {
        memory: resolver.positive(&table.memory),
        disk: resolver.positive(&table.disk),
        time: resolver.positive(&table.time),
    }
}

/// The first year that a plan may speak of.
const FIRST_YEAR: u16 = 1950;

/// A day as typed, where there is one.
fn day(typed: &Typed<toml::value::Datetime>) -> Option<Day> {
    typed
        .given()
        .and_then(|written| Day::from_toml(written.value))
}

/// A text as typed, where there is one.
fn plain(typed: &Typed<String>) -> Option<String> {
    typed.given().map(|written| written.value.clone())
}
