//! `lowstave desk [PLAN|FARM|FOLDER]`: the same work as a page in the browser, on this machine alone.

use std::path::PathBuf;
use std::process::{Command, Stdio};

use clap::Args;
use serde::Serialize;

use crate::cli::color::Tone;
use crate::cli::page::Page;
use crate::cli::terminal::Terminal;
use crate::desk;
use crate::error::{Failure, Outcome};

/// Arguments of `desk`.
#[derive(Debug, Args)]
pub struct DeskArguments {
    /// A plan file, a farm file, or a folder with one of them or with files that a plan is made from; the working folder unless said
    #[arg(value_name = "PLAN|FARM|FOLDER")]
    pub path: Option<PathBuf>,
    /// Print the address and open no browser
    #[arg(long)]
    pub no_open: bool,
    /// Port of this machine; a free one unless said
    #[arg(long, value_name = "NUMBER", default_value_t = 0)]
    pub port: u16,
}

/// The result for machines: said once, when the page can be asked.
#[derive(Debug, Serialize)]
struct DeskRecord<'a> {
    address: &'a str,
}

pub(super) fn run(arguments: &DeskArguments, terminal: Terminal) -> Result<Outcome, Failure> {
    desk::serve(arguments.path.as_deref(), arguments.port, |address| {
        let mut page = Page::default();
        page.line(Tone::Strong, format!("The desk is open at {address}"));
        page.line(
            Tone::Plain,
            "Only this machine can reach it. Stop it with Ctrl-C: the plan on the disk is all there is to keep.",
        );
        terminal.result(&page, &DeskRecord { address })?;
        if !arguments.no_open {
            open(address);
        }
        Ok(())
    })?;
    Ok(Outcome::Done)
}

/// Asks the system to open the address; where it does not, the address that was printed does.
fn open(address: &str) {
    let program = if cfg!(target_os = "macos") {
        "open"
    } else if cfg!(windows) {
        "explorer"
    } else {
        "xdg-open"
    };
    let nothing = Stdio::null;
    let mut command = Command::new(program);
    let command = command.arg(address).stdin(nothing()).stdout(nothing());
    drop(command.stderr(nothing()).spawn());
}
