//! The commands: what each is called, what its help says, and the file that does it. A new command is a line in each of the three
//! lists here, and a file of its own.

mod check;
mod cores;
#[cfg(feature = "desk")]
mod desk;
mod explain;
pub(super) mod farm;
mod follow;
mod manual;
mod plan;
mod rulebook;
mod start;
mod verdict;

use std::ffi::OsString;
use std::path::Path;

use clap::error::ErrorKind;
use clap::{CommandFactory as _, Parser, Subcommand};
use clap_complete::Shell;

use crate::cli::common_options::CommonOptions;
use crate::cli::interrupt::Interrupt;
use crate::cli::machine;
use crate::cli::terminal::Terminal;
use crate::error::{Failure, Outcome};

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
    /// Its options beside the command's own.
    #[command(flatten)]
    pub common: CommonOptions,
}

/// One command.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Write a commented plan file from the files' own columns
    #[command(
        after_help = "Example:\n  lowstave start alder-flat --boundary boundary.geojson --points cores.csv cone.csv"
    )]
    Start(start::StartArguments),
    /// Read everything; print what was found, what is wrong and what was guessed
    #[command(after_help = "Example:\n  lowstave check samples/alder-flat/plan.toml")]
    Check(check::CheckArguments),
    /// Make zones and rates, and write all files
    #[command(after_help = format!("Example:\n  lowstave plan samples/alder-flat/plan.toml --out alder-flat\n\n{EXIT_CODES}"))]
    Plan(plan::PlanArguments),
    /// Print one zone's reasons in full, from a finished run
    #[command(after_help = "Example:\n  lowstave explain alder-flat --zone 1")]
    Explain(explain::ExplainArguments),
    /// In season: stand, emergence and leaf-sap Brix by zone, and the leaf feeds that follow
    #[command(
        after_help = format!("Examples:\n  lowstave follow alder-flat --results stand.csv brix.csv --planted 2027-04-28 --population 32000\n  lowstave follow alder-flat --plan samples/alder-flat/plan.toml --results leaves.csv --tank \"500 gal\"\n\n{EXIT_CODES}")
    )]
    Follow(follow::FollowArguments),
    /// After harvest: say whether what the check strips left out paid, zone by zone
    #[command(
        after_help = format!("Example:\n  lowstave verdict alder-flat --results harvest.csv\n\n{EXIT_CODES}")
    )]
    Verdict(verdict::VerdictArguments),
    /// Propose places for further cores, in walking order, as GeoJSON and GPX
    #[command(
        after_help = "Examples:\n  lowstave cores samples/alder-flat/plan.toml --add 8 --out sites\n  lowstave cores samples/alder-flat/plan.toml --add 40 --pattern triangular --out sites"
    )]
    Cores(cores::CoresArguments),
    /// Make zones and rates for every field of a farm: one set of tables, side by side, resumable
    #[command(
        after_help = format!("Examples:\n  lowstave farm samples/three-alders/farm.toml --out three-alders\n  lowstave farm farm.toml --out out --resume\n  lowstave farm farm.toml --out out --part 2/4\n  lowstave farm join out\n\n{EXIT_CODES}")
    )]
    Farm(farm::FarmArguments),
    /// Print the thresholds in force, each with its source, or check a rulebook file
    #[command(
        after_help = "Examples:\n  lowstave rulebook show\n  lowstave rulebook show my-rules.toml\n  lowstave rulebook check my-rules.toml"
    )]
    Rulebook(rulebook::RulebookArguments),
    /// Open the page in the browser: begin, see, try, say why and take, on this machine alone
    #[cfg(feature = "desk")]
    #[command(
        after_help = "Examples:\n  lowstave desk samples/alder-flat/plan.toml\n  lowstave desk my-field --no-open"
    )]
    Desk(desk::DeskArguments),
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

/// Does what was asked for.
///
/// # Errors
/// Those of the command.
pub(super) fn run(
    arguments: &Arguments,
    terminal: Terminal,
    interrupt: &Interrupt,
) -> Result<Outcome, Failure> {
    let grant = |out: Option<&Path>| machine::grant(arguments.common.memory, out);
    match &arguments.command {
        Command::Start(arguments) => start::run(arguments, terminal, interrupt),
        Command::Check(arguments) => check::run(arguments, terminal, grant),
        Command::Plan(arguments) => plan::run(arguments, terminal, interrupt, grant),
        Command::Explain(arguments) => explain::run(arguments, terminal),
        Command::Follow(arguments) => follow::run(arguments, terminal, interrupt),
        Command::Verdict(arguments) => verdict::run(arguments, terminal, interrupt),
        Command::Farm(arguments) => farm::run(arguments, terminal, interrupt, grant),
        Command::Completions { shell } => {
            manual::completions(*shell, Arguments::command(), terminal)
        }
        Command::Manual { command } => {
            manual::run(command.as_deref(), Arguments::command(), terminal)
        }
        #[cfg(feature = "desk")]
        Command::Desk(arguments) => desk::run(arguments, terminal),
        Command::Cores(arguments) => cores::run(arguments, terminal, interrupt, grant),
        Command::Rulebook(arguments) => rulebook::run(arguments, terminal),
    }
}
