use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;

use serde::Serialize;

use super::file_form::{FileForm, NumberForm};
use super::fixed_or_auto::FixedOrAuto;
use super::past_settings::PastFolder;
use super::people::{Day, People};
use super::result_settings::ResultSettings;
use super::strip_settings::StripSettings;
use super::supply::Supply;
use crate::analyte::{Analyte, DepthRange, Method};
use crate::provenance::Place;
use crate::units::ProductRate;
use crate::units::{
    Area, DataSize, Length, MassPerArea, MoneyPerArea, MoneyPerMass, MoneyPerVolume, Speed,
    TimeSpan, UnitSystem, Volume, VolumeFlow, VolumePerArea,
};

/// A plan file, checked: every path relative to the plan, every unit resolved.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Settings {
    /// The name of the plan file itself.
    pub plan_file: PathBuf,
    /// Name of the field.
    pub field: String,
    /// Season, a calendar year.
    pub season: u16,
    /// Crop; the rulebook says which it knows.
    pub crop: String,
    /// The row that says it.
    #[serde(skip)]
    pub crop_row: Option<u32>,
    /// Units that results are printed in.
    pub units: UnitSystem,
    /// The field's boundary.
    pub boundary: BoundarySettings,
    /// Places where no product is put.
    pub keep_outs: Vec<KeepOut>,
    /// One entry per file of located results.
    pub points: Vec<PointsSettings>,
    /// Side of a grid cell.
    pub cell: Length,
    /// How surfaces are made.
    pub surface: SurfaceSettings,
    /// How zones are made.
    pub zones: ZoneSettings,
    /// What the planter and the controller can do.
    pub machine: MachineSettings,
    /// The user's rulebook file, laid over the built-in one.
    pub rules: Option<PathBuf>,
    /// Prices by product name, laid over the products' own.
    pub prices: Vec<(String, Price)>,
    /// What the crop sells for, United States dollars a kilogram, where the plan says it.
    pub crop_price: Option<f64>,
    /// Check strips, where the plan asks for them.
    pub strips: Option<StripSettings>,
    /// Files of results after emergence and harvest.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub results: Vec<ResultSettings>,
    /// Output folders of earlier seasons.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub past: Vec<PastFolder>,
    /// Most that may be spent.
    pub budget: Option<MoneyPerArea>,
    /// The consultant's word on single rates.
    pub overrides: Vec<Override>,
    /// Whether organic matter may stand in for organic carbon (`organic_carbon = "from organic matter"`).
    pub carbon_from_organic_matter: bool,
    /// What a result below the detection limit counts as.
    pub below_detection: BelowDetection,
    /// Bulk density of the sampled layer in g/cm³, where the user knows it; the trade's mass of soil otherwise.
    pub bulk_density: Option<f64>,
    /// Whose field it is and who reviewed it.
    pub people: People,
    /// Region, yield goals, shed and interest: what nutrient rates go by.
    pub supply: Supply,
    /// What the work may take of the machine.
    #[serde(skip_serializing_if = "WorkLimits::is_unset")]
    pub limits: WorkLimits,
    /// What the plan took from its farm file.
    #[serde(skip_serializing_if = "TakenFromFarm::is_nothing")]
    pub farm: TakenFromFarm,
}

/// What a plan took from its farm file.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct TakenFromFarm {
    /// The farm file as seen from the plan, where something was taken.
    pub file: Option<PathBuf>,
    /// Where what was taken stands in the farm file, by key of the plan.
    #[serde(skip)]
    pub places: BTreeMap<String, Place>,
    /// What the farm's budget has to do with the field.
    #[serde(skip)]
    pub budget: FarmBudget,
}

/// What a farm's budget has to do with a field.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum FarmBudget {
    /// Nothing.
    #[default]
    None,
    /// It asks what money would buy here.
    Asked,
    /// The field's limit is its share.
    Share,
}

impl TakenFromFarm {
    fn is_nothing(&self) -> bool {
        self.file.is_none()
    }
}

impl Settings {
    /// Where the plan names its crop.
    #[must_use]
    pub fn place_of_crop(&self) -> Place {
        let place = self.place_of("crop");
        match (place.row, self.crop_row) {
            (None, Some(row)) => place.at_row(row),
            _ => place,
        }
    }

    /// Where a key of the plan stands: in the farm file where it was taken from there, else in the plan.
    #[must_use]
    pub fn place_of(&self, key: &str) -> Place {
        match self.farm.places.get(key) {
            Some(place) => place.clone(),
            None => Place::file(self.plan_file.display().to_string()).at_key(key),
        }
    }
}

/// The most that the work may take of the machine; the engine's own limits where absent.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct WorkLimits {
    /// Memory.
    pub memory: Option<DataSize>,
    /// Size of all result files.
    pub disk: Option<DataSize>,
    /// Time.
    pub time: Option<TimeSpan>,
}

impl WorkLimits {
    fn is_unset(&self) -> bool {
        *self == Self::default()
    }
}

/// The rule for using a result such as `<0.5`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Default)]
#[serde(rename_all = "kebab-case")]
pub enum BelowDetection {
    /// Half the limit (common practice).
    #[default]
    Half,
    /// The limit itself.
    Limit,
    /// Zero.
    Zero,
    /// Not used at all.
    Missing,
}

/// Where the boundary is.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BoundarySettings {
    /// GeoJSON, shapefile, zip of one, KML, KMZ, GeoPackage or GeoParquet.
    pub file: PathBuf,
    /// CRS as text for PROJ, where the file does not say it.
    pub crs: Option<String>,
    /// Which of several shapes are the field.
    pub choose: Option<FieldChoice>,
    /// Layer of a GeoPackage.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub layer: Option<String>,
    /// Where in the plan file this stands.
    pub place: Place,
}

/// Which of several shapes in a file are the field.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FieldChoice {
    /// Those whose attribute has this value.
    Attribute(String, String),
    /// The one of this number, from 1.
    Number(u32),
    /// All of them together.
    All,
}

/// An area, line or point where no product is put.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KeepOut {
    /// GeoJSON or shapefile.
    pub file: PathBuf,
    /// CRS as text for PROJ, where the file does not say it.
    pub crs: Option<String>,
    /// Width of the buffer round it.
    pub distance: Length,
    /// Why, printed in the report.
    pub why: String,
    /// Where in the plan file this stands.
    pub place: Place,
}

/// What a file of points holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum PointKind {
    /// Laboratory results of soil cores.
    Cores,
    /// Cone penetrometer pushes.
    Cone,
    /// Other located readings: sensors, stand counts, Brix, yield.
    Readings,
}

/// One file of located results.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PointsSettings {
    /// A table, a spreadsheet or a file of shapes.
    pub file: PathBuf,
    /// What it holds.
    pub kind: PointKind,
    /// CRS as text for PROJ, where the file does not say it.
    pub crs: Option<String>,
    /// Column of the easting or longitude (CSV only).
    pub x: Option<String>,
    /// Column of the northing or latitude (CSV only).
    pub y: Option<String>,
    /// Column of the sample's name.
    pub id: Option<String>,
    /// Where the sampling depth is found.
    pub depths: Depths,
    /// What the user said of the columns, in the order of the plan.
    pub columns: Vec<(Arc<str>, ColumnMeaning)>,
    /// Columns that are not to be read as results.
    pub ignore: Vec<String>,
    /// Samples that are not used, each with the reason.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub leave_out: Vec<LeftOut>,
    /// How the file is written.
    #[serde(flatten)]
    pub reading: FileForm,
    /// For cone files: unit, depth marks, moisture.
    pub cone: Option<ConeSettings>,
    /// Who analysed the samples.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub laboratory: Option<String>,
    /// The day on which the samples were taken.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sampled: Option<Day>,
    /// Where in the plan file this table stands.
    pub place: Place,
}

/// A sample that is not used.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LeftOut {
    /// Which it is.
    pub sample: Sample,
    /// Why, printed with the remarks.
    pub why: String,
    /// Where in the plan file this stands.
    pub place: Place,
}

/// One sample of a file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Sample {
    /// All rows of this name.
    Core(String),
    /// The row of this number, the header's being 1.
    Row(u32),
}

/// Where the sampling depth of a table is found.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Depths {
    /// The plan says nothing.
    Unknown,
    /// One depth for the whole file.
    Fixed(DepthRange),
    /// A column with text such as `0-6 in`; a bare `0-6` takes the unit.
    Column {
        /// Column name.
        column: String,
        /// Unit of bare numbers.
        unit: Option<String>,
    },
    /// Two columns of numbers.
    TopAndBottom {
        /// Column of the upper edge.
        top: String,
        /// Column of the lower edge.
        bottom: String,
        /// Unit of both.
        unit: String,
    },
}

/// What a column is, in the user's words.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ColumnMeaning {
    /// The analyte.
    pub analyte: Analyte,
    /// The test method.
    pub method: Option<Method>,
    /// The unit as written; checked against the catalogue at intake.
    pub unit: Option<String>,
    /// Depth of this column alone, where the file has one column per depth.
    pub depth: Option<DepthRange>,
    /// Whether this holds even where the column's name says something else.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub sure: bool,
    /// How its numbers are written, where they differ from the file's.
    #[serde(flatten)]
    pub numbers: NumberForm,
    /// Where in the plan file this stands.
    pub place: Place,
}

/// What it means that a push ends above the others.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum BlankBelow {
    /// The soil refused it: it is hard there.
    #[default]
    Refused,
    /// Nobody pushed further: nothing is known there.
    NotPushed,
}

/// What a cone file needs said.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ConeSettings {
    /// Unit of the readings: a pressure, or a force (`N`, `kgf`, `lbf`) with the cone's base area.
    pub unit: String,
    /// Base area of the cone in mm², needed for forces only.
    pub base_area_mm2: Option<f64>,
    /// Column and depth of each reading, shallow to deep.
    pub depths: Vec<(String, Length)>,
    /// What the operator noted of the soil's moisture.
    pub moisture: Option<String>,
    /// What it means that a push has no reading below some depth while others have.
    pub blank_below: BlankBelow,
}

/// How surfaces are made.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct SurfaceSettings {
    /// Power of the inverse distance.
    pub power: FixedOrAuto<f64>,
    /// How many nearest observations.
    pub neighbours: FixedOrAuto<usize>,
}

/// How zones are found.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Default)]
#[serde(rename_all = "kebab-case")]
pub enum ZoneMethod {
    /// k-means.
    #[default]
    KMeans,
    /// Fuzzy c-means with this fuzziness exponent (more than 1).
    FuzzyCMeans {
        /// Fuzziness exponent m.
        exponent: f64,
    },
}

/// How zones are made.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ZoneSettings {
    /// How many.
    pub count: FixedOrAuto<usize>,
    /// Layers that shape the zones, by analyte name with an optional weight; every layer whose map has skill where absent.
    pub layers: Option<Vec<(Analyte, f64)>>,
    /// Smallest patch.
    pub smallest: Area,
    /// Algorithm.
    pub method: ZoneMethod,
    /// Seed of the random starts.
    pub seed: u64,
    /// How far a zone's outline may move when it is smoothed; half a cell where absent.
    pub tolerance: Option<Length>,
    /// Whether correlated layers are turned into principal components first.
    pub components: bool,
    /// What the lines between zones look like.
    pub shape: ZoneShape,
}

/// What the lines between zones look like.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Default)]
#[serde(rename_all = "kebab-case")]
pub enum ZoneShape {
    /// Smoothed lines that follow the maps.
    #[default]
    Smooth,
    /// Rectangles along the direction of travel: one swath wide, two swaths long.
    AlongPasses,
}

/// What the planter and the controller can do.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MachineSettings {
    /// Working width.
    pub swath: Length,
    /// Distance between rows.
    pub row_spacing: Length,
    /// Direction of travel, degrees clockwise from north.
    pub heading: f64,
    /// Planting speed.
    pub speed: Speed,
    /// Tank on the planter.
    pub tank: Volume,
    /// Least and most flow per row that pump and orifice can meter.
    pub flow_per_row: (VolumeFlow, VolumeFlow),
    /// Step of the liquid rate that the controller takes.
    pub liquid_step: Option<VolumePerArea>,
    /// Step of the dry rate that the spreader takes.
    pub dry_step: Option<MassPerArea>,
}

/// A price in the unit that the product is sold in.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Price {
    /// Per mass, for dry products.
    PerMass(MoneyPerMass),
    /// Per volume, for liquids.
    PerVolume(MoneyPerVolume),
}

/// The consultant's word on one rate in one zone.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Override {
    /// Zone number as printed; 0 where a place says which zone.
    pub zone: u32,
    /// Longitude and latitude of a place in the zone.
    pub at: Option<(f64, f64)>,
    /// Corners of a place that is drawn, longitude and latitude, without the first again at the end: it becomes a zone of its own. Empty
    /// where a number or a place says which zone.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub inside: Vec<(f64, f64)>,
    /// Product name.
    pub product: String,
    /// The rate wanted.
    pub rate: ProductRate,
    /// Why, printed with the rate.
    pub why: String,
    /// Whether it may pass the hard safety caps.
    pub force: bool,
    /// Where in the plan file this stands.
    pub place: Place,
}

impl Override {
    /// Whether a number says which zone is meant.
    #[must_use]
    pub fn is_by_number(&self) -> bool {
        self.at.is_none() && self.inside.is_empty()
    }
}
