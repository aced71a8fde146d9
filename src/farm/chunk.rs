//! Chunks: files that hold the results of some fields each. Which chunk a field is in follows from its name alone, so that a field more or
//! less moves no other. A chunk is complete or not there; it may be made twice.

use std::collections::BTreeMap;
use std::io::{Read as _, Write as _};
use std::path::{Path, PathBuf};

use flate2::Compression;
use flate2::read::GzDecoder;
use flate2::write::GzEncoder;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::error::FarmError;
use super::problem::Problem;
use super::record::FieldRecord;
use super::recorded::Seen;
use crate::files::{Files, sha256};

/// Folder of the chunks in the output folder.
pub(super) const PARTS: &str = "parts";
/// Version of the chunks' form.
const FORM: u32 = 3;
/// Largest chunk that is read.
const LARGEST: u64 = 1 << 30;
/// Most that a chunk may unpack to.
const LARGEST_UNPACKED: u64 = 4 << 30;

/// Few fields a chunk, so that little is lost where the work is stopped; not more chunks than a folder takes well.
const FIELDS_A_CHUNK: usize = 16;
const LEAST_CHUNKS: usize = 64;
const MOST_CHUNKS: usize = 4_096;

/// How many chunks a farm of so many fields is kept in.
pub(super) fn chunks_for(fields: usize) -> u32 {
    let wanted = fields.div_ceil(FIELDS_A_CHUNK).min(MOST_CHUNKS);
    wanted.max(LEAST_CHUNKS.min(fields)).max(1) as u32
}

/// The chunk of a field.
pub(super) fn chunk_of(id: &str, chunks: u32) -> u32 {
    let hash = Sha256::digest(id.as_bytes());
    let number = hash
        .iter()
        .take(8)
        .fold(0, |sum: u64, byte| sum << 8 | u64::from(*byte));
    (number % u64::from(chunks.max(1))) as u32
}

/// SHA-256 of what decides a result beside the inputs: version, built-in rulebook and coordinate systems of the program.
pub(super) fn program() -> String {
    let own = [
        env!("CARGO_PKG_VERSION"),
        &crate::rulebook::built_in_sha256(),
        crate::field::PROJ_DATABASE.sha256,
    ];
    sha256(own.join("\n").as_bytes())
}

/// What came of a field.
#[derive(Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(super) enum FieldResult {
    /// It has a result.
    Done(Box<FieldRecord>),
    /// It has none.
    Problems(Vec<Problem>),
}

impl FieldResult {
    /// The gravest code of its problems; `None` where it has a result.
    pub(super) fn code(&self) -> Option<u8> {
        match self {
            Self::Done(_) => None,
            Self::Problems(problems) => problems.iter().map(|problem| problem.code).max(),
        }
    }
}

/// A line of a chunk: one field.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct Line {
    /// The field.
    pub id: String,
    /// What it was made of.
    pub seen: Seen,
    /// What came of it.
    pub result: FieldResult,
}

impl Line {
    /// The line as text. It is kept as text, so that a chunk that is read and written again has the same bytes.
    pub(super) fn text(&self) -> Result<String, FarmError> {
        serde_json::to_string(self).map_err(|cause| FarmError::Chunk {
            path: PathBuf::from(&self.id),
            cause: cause.to_string(),
        })
    }
}

/// What makes chunks of different runs fit together.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Head {
    form: u32,
    /// [`program`] of the run.
    program: String,
    /// What the farm says for all fields.
    farm: String,
    chunk: u32,
    of: u32,
    fields: usize,
}

impl Head {
    pub(super) fn new(farm: &str, chunk: u32, of: u32, fields: usize) -> Self {
        Self {
            form: FORM,
            program: program(),
            farm: farm.to_owned(),
            chunk,
            of,
            fields,
        }
    }

    /// Whether it was made by this version of the program.
    pub(super) fn is_of_this_program(&self) -> bool {
        self.program == program()
    }

    /// Whether another chunk was made by the same program from the same farm.
    pub(super) fn fits(&self, other: &Self) -> bool {
        let same = Self {
            fields: other.fields,
            ..self.clone()
        };
        same == *other
    }
}

/// The path of a chunk below the output folder.
pub(super) fn path(chunk: u32) -> PathBuf {
    Path::new(PARTS).join(format!("chunk-{chunk:05}.json.gz"))
}

/// The bytes of a chunk; the lines by name of the field.
pub(super) fn bytes(head: &Head, lines: &BTreeMap<String, String>) -> Result<Vec<u8>, FarmError> {
    let failed = |cause: String| FarmError::Chunk {
        path: path(head.chunk),
        cause,
    };
    let head_text = serde_json::to_string(head).map_err(|cause| failed(cause.to_string()))?;
    let mut packed = GzEncoder::new(Vec::new(), Compression::fast());
    let written = std::iter::once(&head_text)
        .chain(lines.values())
        .try_for_each(|line| {
            packed
                .write_all(line.as_bytes())
                .and_then(|()| packed.write_all(b"\n"))
        });
    written
        .and_then(|()| packed.finish())
        .map_err(|cause| failed(cause.to_string()))
}

/// A chunk as it was written.
pub(super) struct Chunk {
    pub head: Head,
    /// The lines by name of the field.
    pub lines: BTreeMap<String, (String, Line)>,
}

/// Reads a chunk; `None` where it is not there.
pub(super) fn read(out: &Files, chunk: u32) -> Result<Option<Chunk>, FarmError> {
    let path = path(chunk);
    if !out.is_file(&path) {
        return Ok(None);
    }
    let unpacked = out.read(&path, LARGEST).and_then(|packed| {
        let mut text = String::new();
        GzDecoder::new(packed.as_slice())
            .take(LARGEST_UNPACKED)
            .read_to_string(&mut text)?;
        Ok(text)
    });
    let parsed = unpacked
        .map_err(|cause| cause.to_string())
        .and_then(|text| parsed(&text));
    let found = parsed.map_err(|cause| FarmError::Chunk {
        path: path.clone(),
        cause,
    })?;
    if found.head.form != FORM || found.lines.len() != found.head.fields {
        let cause = "it is not a chunk of this version".to_owned();
        return Err(FarmError::Chunk { path, cause });
    }
    Ok(Some(found))
}

fn parsed(text: &str) -> Result<Chunk, String> {
    let mut lines = text.lines();
    let head: Head = serde_json::from_str(lines.next().unwrap_or_default())
        .map_err(|cause| format!("its first line: {cause}"))?;
    let line = |text: &str| -> Result<_, String> {
        let line: Line = serde_json::from_str(text).map_err(|cause| cause.to_string())?;
        Ok((line.id.clone(), (text.to_owned(), line)))
    };
    Ok(Chunk {
        head,
        lines: lines.map(line).collect::<Result<_, _>>()?,
    })
}
