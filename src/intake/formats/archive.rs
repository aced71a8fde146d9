//! A zip that holds the parts of one file of shapes, with limits on what is unpacked.

use std::collections::BTreeMap;
use std::io::{Cursor, Read};

use zip::ZipArchive;

use crate::provenance::Place;

use crate::intake::error::IntakeError;
use crate::intake::source::LARGEST_WHOLE;

/// Most files in such a zip.
const MOST_FILES: usize = 1_000;

/// An opened zip.
pub(in crate::intake) struct Archive<'b> {
    zip: ZipArchive<Cursor<&'b [u8]>>,
    /// Names without those that systems add by themselves.
    names: Vec<String>,
    place: &'b Place,
}

impl<'b> Archive<'b> {
    /// Opens the bytes of a zip.
    pub(in crate::intake) fn open(bytes: &'b [u8], place: &'b Place) -> Result<Self, IntakeError> {
        let zip = ZipArchive::new(Cursor::new(bytes))
            .map_err(|error| malformed(place, error.to_string()))?;
        if zip.len() > MOST_FILES {
            return Err(IntakeError::OverLimit {
                place: place.clone(),
                what: "the number of files in the zip".to_owned(),
                limit: "1,000".to_owned(),
            });
        }
        let is_own = |name: &String| {
            !name.contains("__MACOSX") && !name.rsplit('/').next().unwrap_or("").starts_with('.')
        };
        let names = zip
            .file_names()
            .filter_map(|name| Some(name.ok()?.into_owned()))
            .filter(is_own)
            .collect();
        Ok(Self { zip, names, place })
    }

    /// The name, less its extension, of the one file with an extension.
    pub(in crate::intake) fn only_one(&self, extension: &str) -> Result<String, IntakeError> {
        let mut stems: Vec<String> = self
            .names
            .iter()
            .filter_map(|name| split(name))
            .filter(|(_, own)| own == extension)
            .map(|(stem, _)| stem)
            .collect();
        stems.sort();
        match stems.as_slice() {
            [one] => Ok(one.clone()),
            [] => Err(malformed(
                self.place,
                format!("there is no .{extension} file in it"),
            )),
            several => Err(IntakeError::Choice {
                place: self.place.clone(),
                what: format!(
                    "the zip holds several .{extension} files ({})",
                    several.join(", ")
                ),
                help: "zip the one that is wanted by itself".to_owned(),
            }),
        }
    }

    /// The bytes of the files of a name, by extension.
    pub(in crate::intake) fn take(
        &mut self,
        stem: &str,
        extensions: &[&str],
    ) -> Result<BTreeMap<String, Vec<u8>>, IntakeError> {
        let mut parts = BTreeMap::new();
        let mut room = LARGEST_WHOLE;
        for name in self.names.clone() {
            let wanted = split(&name).filter(|(own, extension)| {
                own.eq_ignore_ascii_case(stem) && extensions.contains(&extension.as_str())
            });
            if let Some((_, extension)) = wanted {
                let bytes = self.unpack(&name, room)?;
                room -= bytes.len() as u64;
                parts.insert(extension, bytes);
            }
        }
        Ok(parts)
    }

    fn unpack(&mut self, name: &str, room: u64) -> Result<Vec<u8>, IntakeError> {
        let file = self
            .zip
            .by_name(name)
            .map_err(|error| malformed(self.place, error.to_string()))?;
        let mut bytes = Vec::new();
        file.take(room + 1)
            .read_to_end(&mut bytes)
            .map_err(|error| malformed(self.place, format!("{name}: {error}")))?;
        if bytes.len() as u64 > room {
            return Err(IntakeError::OverLimit {
                place: self.place.clone(),
                what: "the unpacked size".to_owned(),
                limit: format!("{LARGEST_WHOLE} bytes"),
            });
        }
        Ok(bytes)
    }
}

/// A name and its extension in lower case.
fn split(name: &str) -> Option<(String, String)> {
    name.rsplit_once('.')
        .map(|(stem, extension)| (stem.to_owned(), extension.to_ascii_lowercase()))
}

fn malformed(place: &Place, what: String) -> IntakeError {
    IntakeError::Malformed {
        place: place.clone(),
        format: "a zip file",
        what,
    }
}
