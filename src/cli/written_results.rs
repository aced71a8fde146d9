//! How a command ends that wrote a set of result files: a title, a few lines, the file to read; for machines the list of files
//! and the result itself.

use std::path::Path;

use serde::Serialize;

use super::color::Tone;
use super::page::Page;
use super::terminal::Terminal;
use crate::deliver::OutputFile;
use crate::error::{Failure, Outcome};

/// The result for machines: what every such command says, and what is its own.
#[derive(Debug, Serialize)]
struct WrittenRecord<R: Serialize> {
    outcome: Outcome,
    exit_code: u8,
    files: Vec<String>,
    #[serde(flatten)]
    result: R,
}

/// Files that were written into a folder.
pub(super) struct WrittenResults<'a> {
    /// The folder.
    pub out: &'a Path,
    /// The files, with their paths below it.
    pub files: &'a [OutputFile],
    /// The one that is there to be read.
    pub to_read: &'a str,
}

impl WrittenResults<'_> {
    /// Prints title and lines on a page of their own, or the record for machines.
    ///
    /// # Errors
    /// Where the terminal is gone.
    pub(super) fn print(
        &self,
        terminal: Terminal,
        outcome: Outcome,
        (title, lines): (String, impl IntoIterator<Item = String>),
        result: impl Serialize,
    ) -> Result<Outcome, Failure> {
        let mut page = Page::default();
        page.line(Tone::Strong, title);
        for line in lines {
            page.line(Tone::Plain, line);
        }
        let read = format!("read {}", self.out.join(self.to_read).display());
        page.line(Tone::Plain, read);
        let path = |file: &OutputFile| self.out.join(&file.path).display().to_string();
        let record = WrittenRecord {
            outcome,
            exit_code: outcome.code(),
            files: self.files.iter().map(path).collect(),
            result,
        };
        terminal.result(&page, &record)?;
        Ok(outcome)
    }

    /// A result file that holds JSON, as a value; nothing where there is no such file.
    pub(super) fn json(&self, path: &str) -> serde_json::Value {
        let file = self.files.iter().find(|file| file.path == path);
        file.and_then(|file| serde_json::from_slice(&file.bytes).ok())
            .unwrap_or_default()
    }
}
