//! `layers/*.tif`: each surface and its doubt as a GeoTIFF of 32-bit floats in the field's own plane.
//!
//! # Source
//! OGC GeoTIFF 1.1 (OGC 19-008r4): tags 33550, 33922, 34735 to 34737 and the keys below; GDAL's tags 42112 and 42113.

use super::escape::markup;
use crate::analyte::LayerKey;
use crate::field::{Grid, WorkingCrs};
use crate::surface::{Map, Surface};
use crate::units::UnitSystem;

/// What a cell without a value holds.
const NO_DATA: f32 = -9999.0;
const PLANE_NAME: &str = "transverse Mercator on the field (WGS 84)|";

/// What a picture shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shown {
    /// The layer's values.
    Values,
    /// The standard error of each.
    StandardError,
}

/// Path of a surface's picture in the output folder.
#[must_use]
pub fn path(surface: &Surface, shown: Shown) -> String {
    let end = if shown == Shown::StandardError {
        "_doubt"
    } else {
        ""
    };
    format!("layers/{}{end}.tif", surface.key.slug())
}

/// The bytes of one picture.
#[must_use]
pub fn geotiff(surface: &Surface, shown: Shown, grid: &Grid, crs: &WorkingCrs) -> Vec<u8> {
    let pixels = pixels(surface, shown, grid);
    let mut tags = Tags::default();
    tags.longs(256, &[grid.columns as u32]);
    tags.longs(257, &[grid.rows as u32]);
    tags.shorts(258, &[32]);
    tags.shorts(259, &[1]);
    tags.shorts(262, &[1]);
    tags.text(270, &description(surface, shown));
    tags.offset_of_pixels(273);
    tags.shorts(277, &[1]);
    tags.longs(278, &[grid.rows as u32]);
    tags.longs(279, &[pixels.len() as u32]);
    tags.shorts(284, &[1]);
    tags.shorts(339, &[3]);
    tags.doubles(33550, &[grid.cell, grid.cell, 0.0]);
    tags.doubles(33922, &[0.0, 0.0, 0.0, grid.west, grid.north, 0.0]);
    tags.shorts(34735, &keys());
    tags.doubles(34736, &[crs.longitude, crs.latitude, 0.0, 0.0, 1.0]);
    tags.text(34737, PLANE_NAME);
    tags.text(42112, &metadata(&surface.key, &surface.unit));
    tags.text(42113, "-9999");
    tags.finish(&pixels)
}

/// Row by row from the north-west corner.
fn pixels(surface: &Surface, shown: Shown, grid: &Grid) -> Vec<u8> {
    let mut out = NO_DATA.to_le_bytes().repeat(grid.columns * grid.rows);
    let mut put = |cell: u32, value: f32| {
        if let Some(pixel) = out.get_mut(cell as usize * 4..cell as usize * 4 + 4) {
            pixel.copy_from_slice(&(if value.is_finite() { value } else { NO_DATA }).to_le_bytes());
        }
    };
    match &surface.map {
        Map::Drawn {
            values,
            standard_error,
        } => {
            let values = if shown == Shown::Values {
                values
            } else {
                standard_error
            };
            grid.cells
                .iter()
                .zip(values)
                .for_each(|(&cell, &value)| put(cell, value));
        }
        Map::Flat {
            value,
            standard_error,
            ..
        } => {
            let value = if shown == Shown::Values {
                *value
            } else {
                *standard_error
            } as f32;
            grid.cells.iter().for_each(|&cell| put(cell, value));
        }
    }
    out
}

fn description(surface: &Surface, shown: Shown) -> String {
    let what = surface.key.show(UnitSystem::Metric);
    let standard_error = if shown == Shown::StandardError {
        "standard error of "
    } else {
        ""
    };
    let flat = if matches!(surface.map, Map::Flat { .. }) {
        "; one value for the whole field"
    } else {
        ""
    };
    // The tag is ASCII by the standard.
    format!("{standard_error}{what}, {}{flat}", surface.unit)
        .chars()
        .map(|c| {
            if c.is_ascii() && !c.is_control() {
                c
            } else {
                '?'
            }
        })
        .collect()
}

/// GDAL's own metadata: the unit, so that a GIS program shows it.
fn metadata(key: &LayerKey, unit: &str) -> String {
    format!(
        "<GDALMetadata><Item name=\"UNITTYPE\" sample=\"0\" role=\"unittype\">{}</Item><Item name=\"DESCRIPTION\" sample=\"0\" role=\"description\">{}</Item></GDALMetadata>",
        markup(unit),
        markup(&key.slug())
    )
}

/// The key directory: (key, place, count, value) in rising order.
fn keys() -> Vec<u16> {
    const USER_DEFINED: u16 = 32767;
    const DOUBLES: u16 = 34736;
    let entries: [[u16; 4]; 14] = [
        [1024, 0, 1, 1],
        [1025, 0, 1, 1],
        [1026, 34737, PLANE_NAME.len() as u16, 0],
        [2048, 0, 1, 4326],
        [2054, 0, 1, 9102],
        [3072, 0, 1, USER_DEFINED],
        [3074, 0, 1, USER_DEFINED],
        [3075, 0, 1, 1],
        [3076, 0, 1, 9001],
        [3080, DOUBLES, 1, 0],
        [3081, DOUBLES, 1, 1],
        [3082, DOUBLES, 1, 2],
        [3083, DOUBLES, 1, 3],
        [3092, DOUBLES, 1, 4],
    ];
    [[1, 1, 0, entries.len() as u16]]
        .into_iter()
        .chain(entries)
        .flatten()
        .collect()
}

/// The tags of a picture, in rising order.
#[derive(Debug, Default)]
struct Tags {
    entries: Vec<Entry>,
}

#[derive(Debug)]
struct Entry {
    tag: u16,
    kind: u16,
    count: u32,
    /// `None` for the offset of the pixels, which is known last.
    data: Option<Vec<u8>>,
}

impl Tags {
    fn push(&mut self, tag: u16, kind: u16, count: usize, data: Option<Vec<u8>>) {
        self.entries.push(Entry {
            tag,
            kind,
            count: count as u32,
            data,
        });
    }

    fn text(&mut self, tag: u16, text: &str) {
        let mut bytes = text.as_bytes().to_vec();
        bytes.push(0);
        self.push(tag, 2, bytes.len(), Some(bytes));
    }

    fn shorts(&mut self, tag: u16, values: &[u16]) {
        self.push(
            tag,
            3,
            values.len(),
            Some(
                values
                    .iter()
                    .flat_map(|value| value.to_le_bytes())
                    .collect(),
            ),
        );
    }

    fn longs(&mut self, tag: u16, values: &[u32]) {
        self.push(
            tag,
            4,
            values.len(),
            Some(
                values
                    .iter()
                    .flat_map(|value| value.to_le_bytes())
                    .collect(),
            ),
        );
    }

    fn doubles(&mut self, tag: u16, values: &[f64]) {
        self.push(
            tag,
            12,
            values.len(),
            Some(
                values
                    .iter()
                    .flat_map(|value| value.to_le_bytes())
                    .collect(),
            ),
        );
    }

    fn offset_of_pixels(&mut self, tag: u16) {
        self.push(tag, 4, 1, None);
    }

    /// Header, directory, long values, pixels.
    fn finish(self, pixels: &[u8]) -> Vec<u8> {
        let directory_end = 8 + 2 + self.entries.len() * 12 + 4;
        let long_bytes: usize = self
            .entries
            .iter()
            .filter_map(|entry| entry.data.as_ref())
            .map(|data| padded(data.len()))
            .sum();
        let pixel_offset = (directory_end + long_bytes) as u32;
        let mut out = Vec::with_capacity(pixel_offset as usize + pixels.len());
        out.extend(*b"II\x2A\0");
        out.extend(8_u32.to_le_bytes());
        out.extend((self.entries.len() as u16).to_le_bytes());
        let mut long_values: Vec<u8> = Vec::with_capacity(long_bytes);
        for entry in &self.entries {
            out.extend(entry.tag.to_le_bytes());
            out.extend(entry.kind.to_le_bytes());
            out.extend(entry.count.to_le_bytes());
            match &entry.data {
                None => out.extend(pixel_offset.to_le_bytes()),
                Some(data) if data.len() <= 4 => out.extend(
                    data.iter()
                        .copied()
                        .chain(std::iter::repeat_n(0, 4 - data.len())),
                ),
                Some(data) => {
                    out.extend(((directory_end + long_values.len()) as u32).to_le_bytes());
                    long_values.extend(data);
                    long_values.resize(padded(long_values.len()), 0);
                }
            }
        }
        out.extend(0_u32.to_le_bytes());
        long_values.resize(long_bytes, 0);
        out.extend(long_values);
        out.extend(pixels);
        out
    }
}

/// Values start at even offsets.
fn padded(bytes: usize) -> usize {
    bytes.next_multiple_of(2)
}
