//! What can be typed: the only file that names clap.

use std::ffi::OsString;
use std::num::NonZeroUsize;
use std::path::PathBuf;

use clap::error::ErrorKind;
use clap::{Args, CommandFactory, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;

use super::color::ColorChoice;
use crate::plan::Day;
use crate::units::{DataSize, Quantity as _, UnitSystem, Volume, VolumePerArea};

const EXIT_CODES: &str = "\
Exit codes:
  0  done
  1  done, but something needs your eye (a remark of level \"look\")
  2  the input cannot be used; nothing was written
  3  the program or the disk failed; nothing was left half-written";

/// Soil cores and cone readings in; management zones, a starter and amendment rate for each with its reasons, and the
/// files a rate controller reads, out.
#[derive(Debug, Parser)]
#[command(name = "lowstave", version, after_help = EXIT_CODES, max_term_width = 100, subcommand_required = true, arg_required_else_help = false)]
pub struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
    /// How to talk.
    #[command(flatten)]
    pub talk: TalkArguments,
}

/// Options of every command.
#[derive(Debug, Clone, Args)]
pub struct TalkArguments {
    /// Print the summary as JSON for machines
    #[arg(long, global = true, help_heading = "Options of every command")]
    pub json: bool,
    /// Print no remarks and no progress on stderr; errors still are
    #[arg(long, short, global = true, help_heading = "Options of every command")]
    pub quiet: bool,
    /// When to use colors; "auto" means on a terminal, unless `NO_COLOR` is set
    #[arg(
        long,
        global = true,
        value_name = "WHEN",
        value_enum,
        default_value_t,
        help_heading = "Options of every command"
    )]
    pub color: ColorChoice,
    /// Number of threads; one for each core unless said. The result does not depend on it
    #[arg(
        long,
        global = true,
        value_name = "COUNT",
        help_heading = "Options of every command"
    )]
    pub threads: Option<NonZeroUsize>,
    /// Most memory that the work may take, such as "4 GB"; three quarters of what is free unless said
    #[arg(
        long,
        global = true,
        value_name = "SIZE",
        value_parser = memory,
        help_heading = "Options of every command"
    )]
    pub memory: Option<DataSize>,
}

fn memory(text: &str) -> Result<DataSize, String> {
    match DataSize::parse(text) {
        Ok(size) if size > DataSize::ZERO => Ok(size),
        Ok(_) => Err("write more than nothing, such as \"4 GB\"".to_owned()),
        Err(error) => Err(error.to_string()),
    }
}

/// One command.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Write a commented plan file from the files' own columns
    #[command(
        after_help = "Example:\n  lowstave start alder-flat --boundary boundary.geojson --points cores.csv cone.csv"
    )]
    Start(StartArguments),
    /// Read everything; print what was found, what is wrong and what was guessed
    #[command(after_help = "Example:\n  lowstave check samples/alder-flat/plan.toml")]
    Check(CheckArguments),
    /// Make zones and rates, and write all files
    #[command(after_help = format!("Example:\n  lowstave plan samples/alder-flat/plan.toml --out alder-flat\n\n{EXIT_CODES}"))]
    Plan(PlanArguments),
    /// Print one zone's reasons in full, from a finished run
    #[command(after_help = "Example:\n  lowstave explain alder-flat --zone 1")]
    Explain(ExplainArguments),
    /// In season: stand, emergence and leaf-sap Brix by zone, and the leaf feeds that follow
    #[command(
        after_help = format!("Examples:\n  lowstave follow alder-flat --results stand.csv brix.csv --planted 2027-04-28 --population 32000\n  lowstave follow alder-flat --plan samples/alder-flat/plan.toml --results leaves.csv --tank \"500 gal\"\n\n{EXIT_CODES}")
    )]
    Follow(FollowArguments),
    /// After harvest: say whether what the check strips left out paid, zone by zone
    #[command(
        after_help = format!("Example:\n  lowstave verdict alder-flat --results harvest.csv\n\n{EXIT_CODES}")
    )]
    Verdict(VerdictArguments),
    /// Propose places for further cores, in walking order, as GeoJSON and GPX
    #[command(
        after_help = "Examples:\n  lowstave cores samples/alder-flat/plan.toml --add 8 --out sites\n  lowstave cores samples/alder-flat/plan.toml --add 40 --pattern triangular --out sites"
    )]
    Cores(CoresArguments),
    /// Print the thresholds in force, each with its source, or check a rulebook file
    #[command(
        after_help = "Examples:\n  lowstave rulebook show\n  lowstave rulebook show my-rules.toml\n  lowstave rulebook check my-rules.toml"
    )]
    Rulebook(RulebookArguments),
    /// Print a script that completes commands and options in a shell
    #[command(
        after_help = "Example:\n  lowstave completions bash > ~/.local/share/bash-completion/completions/lowstave"
    )]
    Completions {
        /// The shell
        #[arg(value_name = "SHELL", value_enum)]
        shell: Shell,
    },
    /// Print the manual page, of the program or of one command
    #[command(after_help = "Example:\n  lowstave manual plan | man -l -")]
    Manual {
        /// The command; the program as a whole unless said
        #[arg(value_name = "COMMAND")]
        command: Option<String>,
    },
}

/// Arguments of `follow`.
#[derive(Debug, Args)]
pub struct FollowArguments {
    /// Output folder of the `plan` run whose zones and strips were read
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,
    /// Readings: plant counts, days to emergence, Brix, contents of leaves, weather; CSV, spreadsheet, GeoJSON or shapefile
    #[arg(long, value_name = "FILE", num_args = 1..)]
    pub results: Vec<PathBuf>,
    /// Plan file whose [[results]], prices and rulebook are read too
    #[arg(long, value_name = "PLAN")]
    pub plan: Option<PathBuf>,
    /// Day of planting, such as 2027-04-28, where no column says it
    #[arg(long, value_name = "DAY", value_parser = day)]
    pub planted: Option<Day>,
    /// Plants wanted, an acre or a hectare as the run's units say, where no column says it
    #[arg(long, value_name = "COUNT", value_parser = population, allow_hyphen_values = true)]
    pub population: Option<f64>,
    /// The refractometer corrects for temperature itself
    #[arg(long)]
    pub compensated: bool,
    /// Water that the sprayer puts out, such as "15 gal/ac"; the rulebook's for each feed unless said
    #[arg(long, value_name = "RATE", value_parser = water, allow_hyphen_values = true)]
    pub water: Option<VolumePerArea>,
    /// Tank of the sprayer, such as "500 gal", for the loads of the mix sheet
    #[arg(long, value_name = "VOLUME", value_parser = tank, allow_hyphen_values = true)]
    pub tank: Option<Volume>,
    /// Folder to write into; DIR unless said
    #[arg(long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,
    /// Replace earlier results of the season even where their files were edited since
    #[arg(long)]
    pub force: bool,
}

fn day(text: &str) -> Result<Day, String> {
    Day::parse(text).ok_or_else(|| "write a day such as 2027-04-28".to_owned())
}

/// Most water of a sprayer, L/ha: 500 gal/ac, and a little for the rounding of its unit.
const MOST_WATER: f64 = 4_677.0;
/// Tanks of sprayers, litres.
const TANKS: std::ops::RangeInclusive<f64> = 1.0..=100_000.0;

fn population(text: &str) -> Result<f64, String> {
    let plants = text.replace(',', "").parse::<f64>().ok();
    let is_possible = |plants: &f64| (1_000.0..=12_500_000.0).contains(plants);
    plants
        .filter(is_possible)
        .ok_or_else(|| "write all digits of the plants wanted, such as 32000".to_owned())
}

fn water(text: &str) -> Result<VolumePerArea, String> {
    let most = VolumePerArea::from_litres_per_hectare(MOST_WATER);
    match VolumePerArea::parse(text) {
        Ok(rate) if rate > VolumePerArea::ZERO && rate <= most => Ok(rate),
        Ok(_) => Err("write what a sprayer puts out, such as \"15 gal/ac\"; possible: more than nothing, up to 500 gal/ac".to_owned()),
        Err(error) => Err(error.to_string()),
    }
}

fn tank(text: &str) -> Result<Volume, String> {
    match Volume::parse(text) {
        Ok(volume) if TANKS.contains(&volume.litres()) => Ok(volume),
        Ok(_) => Err(
            "write the tank of a sprayer, such as \"500 gal\"; possible: 1 L to 100,000 L"
                .to_owned(),
        ),
        Err(error) => Err(error.to_string()),
    }
}

/// Arguments of `verdict`.
#[derive(Debug, Args)]
pub struct VerdictArguments {
    /// Output folder of the `plan` run whose strips were planted; several folders with their verdicts are pooled
    #[arg(value_name = "DIR", num_args = 1.., required = true)]
    pub folders: Vec<PathBuf>,
    /// The yield monitor's records: CSV, GeoJSON or shapefile
    #[arg(long, value_name = "FILE", num_args = 1..)]
    pub results: Vec<PathBuf>,
    /// Plan file whose [[results]] say what the columns are
    #[arg(long, value_name = "PLAN")]
    pub plan: Option<PathBuf>,
    /// Folder to write into; DIR, the last of several, unless said
    #[arg(long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,
    /// Replace an earlier verdict even where its files were edited since
    #[arg(long)]
    pub force: bool,
}

/// The script that completes commands and options in a shell.
#[must_use]
pub fn completions(shell: Shell) -> Vec<u8> {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Arguments::command(), "lowstave", &mut script);
    script
}

/// The manual page of the program or of one command; `None` where there is no such command.
#[must_use]
pub fn manual(command: Option<&str>) -> Option<Vec<u8>> {
    let mut program = Arguments::command();
    program.build();
    let page = match command {
        None => program,
        Some(name) => program.find_subcommand(name)?.clone(),
    };
    let mut text = Vec::new();
    // A page in memory is written whole, or the machine has no memory left.
    clap_mangen::Man::new(page).render(&mut text).ok()?;
    Some(text)
}

/// The names of the commands, for those who misspell one.
#[must_use]
pub fn command_names() -> String {
    let names: Vec<String> = Arguments::command()
        .get_subcommands()
        .map(|command| command.get_name().to_owned())
        .collect();
    names.join(", ")
}

/// Arguments of `start`.
#[derive(Debug, Args)]
pub struct StartArguments {
    /// Folder that the plan file is written to, as DIR/plan.toml
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,
    /// The field's boundary: GeoJSON or shapefile
    #[arg(long, value_name = "FILE")]
    pub boundary: PathBuf,
    /// Files of cores, cone pushes or readings: CSV, GeoJSON or shapefile; none for a field that is still to be sampled
    #[arg(long, value_name = "FILE", num_args = 1..)]
    pub points: Vec<PathBuf>,
    /// Overwrite a plan file that is there already
    #[arg(long)]
    pub force: bool,
}

/// Arguments of `check`.
#[derive(Debug, Args)]
pub struct CheckArguments {
    /// The plan file
    #[arg(value_name = "PLAN")]
    pub plan: PathBuf,
}

/// Arguments of `plan`.
#[derive(Debug, Args)]
pub struct PlanArguments {
    /// The plan file
    #[arg(value_name = "PLAN")]
    pub plan: PathBuf,
    /// Folder for the results; an earlier result there is replaced, anything else is not
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    /// Replace an earlier result even where its files were edited since
    #[arg(long)]
    pub force: bool,
    /// Write the controller's task data as a grid of rates instead of zone polygons
    #[arg(long)]
    pub grid: bool,
}

/// Arguments of `explain`.
#[derive(Debug, Args)]
pub struct ExplainArguments {
    /// Folder of a finished run, as given to --out
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,
    /// Number of the zone, as printed on the map
    #[arg(long, value_name = "NUMBER")]
    pub zone: u32,
}

/// Arguments of `cores`.
#[derive(Debug, Args)]
pub struct CoresArguments {
    /// The plan file
    #[arg(value_name = "PLAN")]
    pub plan: PathBuf,
    /// How many places; a pattern gives about as many
    #[arg(long, value_name = "COUNT")]
    pub add: usize,
    /// A first layout instead of the places where another core cuts the uncertainty of the maps most
    #[arg(long, value_name = "PATTERN", value_enum)]
    pub pattern: Option<Pattern>,
    /// Folder for sites.geojson and sites.gpx
    #[arg(long, value_name = "DIR", default_value = ".")]
    pub out: PathBuf,
    /// Replace the two files where they exist
    #[arg(long)]
    pub force: bool,
}

/// The pattern of a sampling layout.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum Pattern {
    /// Squares with a random start
    Regular,
    /// Equilateral triangles with a random start
    Triangular,
    /// At random in each zone, in proportion to its area, at least two in each
    Zones,
}

/// Arguments of `rulebook`.
#[derive(Debug, Args)]
pub struct RulebookArguments {
    /// What to do with it; shows the built-in rulebook unless said
    #[command(subcommand)]
    pub action: Option<RulebookAction>,
}

/// What to do with the rulebook.
#[derive(Debug, Clone, Subcommand)]
pub enum RulebookAction {
    /// Print every threshold with its basis and source
    Show {
        /// A rulebook file to lay over the built-in one
        #[arg(value_name = "FILE")]
        file: Option<PathBuf>,
        /// Units of the rates and prices
        #[arg(long, value_name = "SYSTEM", value_enum, default_value_t)]
        units: UnitsArgument,
        /// Only entries whose key or words hold this
        #[arg(long, value_name = "WORD")]
        only: Option<String>,
        /// The region whose rules are laid over it
        #[arg(long, value_name = "NAME")]
        region: Option<String>,
    },
    /// List the regions, what the rules of each hold and what they lack
    Regions,
    /// Read a rulebook file and say what is wrong with it, or what it changes
    Check {
        /// The rulebook file
        #[arg(value_name = "FILE")]
        file: PathBuf,
        /// The region whose rules lie below it
        #[arg(long, value_name = "NAME")]
        region: Option<String>,
    },
}

/// A system of units, as named in the plan file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub enum UnitsArgument {
    /// Acres, gallons, pounds.
    #[default]
    Us,
    /// Hectares, litres, kilograms.
    Metric,
}

impl From<UnitsArgument> for UnitSystem {
    fn from(units: UnitsArgument) -> Self {
        match units {
            UnitsArgument::Us => Self::UnitedStates,
            UnitsArgument::Metric => Self::Metric,
        }
    }
}

impl ValueEnum for ColorChoice {
    fn value_variants<'a>() -> &'a [Self] {
        &[Self::Auto, Self::Always, Self::Never]
    }

    fn to_possible_value(&self) -> Option<clap::builder::PossibleValue> {
        Some(clap::builder::PossibleValue::new(self.name()))
    }
}

/// Reads the command line; where it holds no command, prints why (or the help that was asked for) and gives the exit code.
///
/// # Errors
/// The exit code: 0 where help or version was asked for, 2 otherwise.
pub fn parse(arguments: impl IntoIterator<Item = OsString>) -> Result<Arguments, u8> {
    Arguments::try_parse_from(arguments).map_err(|stop| {
        // Where the stream is gone there is nobody left to tell.
        let _ = stop.print();
        match stop.kind() {
            ErrorKind::DisplayHelp | ErrorKind::DisplayVersion => 0,
            _ => 2,
        }
    })
}
