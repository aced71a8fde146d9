//! `layers/*.tif`: each surface and its standard error as a GeoTIFF of 32-bit floats in the field's own plane, in compressed tiles.
//!
//! # Source
//! OGC GeoTIFF 1.1 (OGC 19-008r4): tags 33550, 33922, 34735 to 34737 and the keys below; GDAL's tags 42112 and 42113.

use std::io::{Cursor, Write};

use flate2::Compression;
use flate2::write::ZlibEncoder;
use rayon::prelude::*;
use tiff::TiffResult;
use tiff::encoder::{DirectoryEncoder, TiffEncoder, TiffKindStandard};
use tiff::tags::Tag;

use super::error::DeliverError;
use super::format_input::FormatInput;
use super::output_file::OutputFile;
use crate::field::{Grid, WorkingCrs};
use crate::surface::{Map, Surface};
use crate::text::Element;
use crate::units::UnitSystem;

/// What a cell without a value holds.
const NO_DATA: f32 = -9999.0;
/// Name of the plane in the citation keys; `|` ends it.
const PLANE_NAME: &str = "Transverse Mercator centred on the field (WGS 84)|";
/// Pixels on each side of a tile; the format wants a multiple of 16.
const TILE: usize = 256;
/// GDAL's own tag for an XML document of names and units.
const GDAL_METADATA: u16 = 42112;
/// With the predictor the bytes that vary little stand together: more effort saves a twentieth and takes twice as long.
const EFFORT: u32 = 1;
/// The predictor for floating point of Adobe Photoshop TIFF Technical Note 3.
const FLOAT_PREDICTOR: u16 = 3;

/// What a picture shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Shown {
    /// The layer's values.
    Values,
    /// The standard error of each.
    StandardError,
}

/// Two files per layer.
///
/// # Errors
/// Where the TIFF writer refuses a tag.
pub fn files(input: &FormatInput<'_>) -> Result<Vec<OutputFile>, DeliverError> {
    let stages = input.overview.stages;
    let (grid, crs) = (&stages.field.grid, &stages.field.crs);
    let surfaces = stages.surfaces.surfaces.par_iter();
    let pictures = surfaces.flat_map_iter(|surface| {
        [Shown::Values, Shown::StandardError].map(|shown| (surface, shown))
    });
    pictures
        .map(|(surface, shown)| {
            let bytes =
                geotiff(surface, shown, grid, crs).map_err(|cause| DeliverError::Package {
                    path: "layers",
                    cause: cause.to_string(),
                })?;
            Ok(OutputFile::new(path(surface, shown), bytes))
        })
        .collect()
}

/// Path of a surface's picture in the output folder.
fn path(surface: &Surface, shown: Shown) -> String {
    let end = match shown {
        Shown::Values => "",
        Shown::StandardError => "_standard_error",
    };
    format!("layers/{}{end}.tif", surface.key.slug())
}

fn geotiff(surface: &Surface, shown: Shown, grid: &Grid, crs: &WorkingCrs) -> TiffResult<Vec<u8>> {
    // Most of it is the deflated pixels, which take some three bytes each.
    let mut target = Cursor::new(Vec::with_capacity(3 * grid.cells.len() + TILE));
    let mut file = TiffEncoder::new(&mut target)?;
    let mut directory = file.image_directory()?;
    write_tiles(&mut directory, Pixels::new(surface, shown), grid)?;
    write_form(&mut directory, grid)?;
    write_place(&mut directory, grid, crs)?;
    let name = name(surface, shown);
    directory.write_tag(Tag::ImageDescription, name.as_str())?;
    directory.write_tag(
        Tag::Unknown(GDAL_METADATA),
        metadata(&name, &surface.unit).as_str(),
    )?;
    directory.write_tag(Tag::GdalNodata, "-9999")?;
    directory.finish()?;
    Ok(target.into_inner())
}

type Directory<'a, 'b> = DirectoryEncoder<'a, &'b mut Cursor<Vec<u8>>, TiffKindStandard>;

/// The pixels in tiles, row by row, and where each tile lies in the file.
fn write_tiles(
    directory: &mut Directory<'_, '_>,
    pixels: Pixels<'_>,
    grid: &Grid,
) -> TiffResult<()> {
    let (mut offsets, mut sizes) = (Vec::new(), Vec::new());
    let mut bytes = vec![0; TILE * TILE * 4];
    for top in (0..grid.rows).step_by(TILE) {
        for left in (0..grid.columns).step_by(TILE) {
            predicted(pixels, grid, (top, left), &mut bytes);
            let tile = deflated(&bytes);
            sizes.push(tile.len() as u32);
            offsets.push(directory.write_data(tile.as_slice())? as u32);
        }
    }
    directory.write_tag(Tag::TileOffsets, offsets.as_slice())?;
    directory.write_tag(Tag::TileByteCounts, sizes.as_slice())
}

/// The bytes of one tile as the predictor leaves them. What sticks out of the grid is blank.
fn predicted(pixels: Pixels<'_>, grid: &Grid, (top, left): (usize, usize), bytes: &mut [u8]) {
    let width = TILE.min(grid.columns - left);
    let mut line = [NO_DATA; TILE];
    for (row, target) in (top..).zip(bytes.chunks_exact_mut(TILE * 4)) {
        line.fill(NO_DATA);
        if row < grid.rows {
            let from = (row * grid.columns + left) as u32;
            let first = grid.cells.partition_point(|cell| *cell < from);
            let cells = grid.cells[first..].iter();
            let here = cells.take_while(|cell| **cell < from + width as u32);
            for (slot, cell) in (first..).zip(here) {
                line[(cell - from) as usize] = pixels.at(slot);
            }
        }
        predict(&line, target);
    }
}

fn deflated(bytes: &[u8]) -> Vec<u8> {
    let mut encoder = ZlibEncoder::new(Vec::with_capacity(bytes.len()), Compression::new(EFFORT));
    // Writing to memory cannot fail.
    let _ = encoder.write_all(bytes);
    encoder.finish().unwrap_or_default()
}

/// A line as its predictor leaves it: the highest byte of all values, then the next ones, each as its difference to the byte before.
fn predict(line: &[f32; TILE], target: &mut [u8]) {
    for (at, value) in line.iter().enumerate() {
        for (plane, byte) in value.to_be_bytes().into_iter().enumerate() {
            target[plane * TILE + at] = byte;
        }
    }
    let mut before = 0;
    for byte in target {
        let own = *byte;
        *byte = own.wrapping_sub(before);
        before = own;
    }
}

/// Size and form of the pixels: one band of 32-bit floats, deflated.
fn write_form(directory: &mut Directory<'_, '_>, grid: &Grid) -> TiffResult<()> {
    const DEFLATE: u16 = 8;
    const BLACK_IS_ZERO: u16 = 1;
    const FLOAT: u16 = 3;
    directory.write_tag(Tag::ImageWidth, grid.columns as u32)?;
    directory.write_tag(Tag::ImageLength, grid.rows as u32)?;
    directory.write_tag(Tag::TileWidth, TILE as u32)?;
    directory.write_tag(Tag::TileLength, TILE as u32)?;
    directory.write_tag(Tag::BitsPerSample, 32_u16)?;
    directory.write_tag(Tag::Compression, DEFLATE)?;
    directory.write_tag(Tag::Predictor, FLOAT_PREDICTOR)?;
    directory.write_tag(Tag::PhotometricInterpretation, BLACK_IS_ZERO)?;
    directory.write_tag(Tag::SamplesPerPixel, 1_u16)?;
    directory.write_tag(Tag::PlanarConfiguration, 1_u16)?;
    directory.write_tag(Tag::SampleFormat, FLOAT)
}

/// Where the picture lies.
fn write_place(directory: &mut Directory<'_, '_>, grid: &Grid, crs: &WorkingCrs) -> TiffResult<()> {
    let corner = [0.0, 0.0, 0.0, grid.west, grid.north, 0.0];
    let projection = [crs.longitude, crs.latitude, 0.0, 0.0, 1.0];
    directory.write_tag(Tag::ModelPixelScaleTag, &[grid.cell, grid.cell, 0.0][..])?;
    directory.write_tag(Tag::ModelTiepointTag, &corner[..])?;
    directory.write_tag(Tag::GeoKeyDirectoryTag, keys().as_slice())?;
    directory.write_tag(Tag::GeoDoubleParamsTag, &projection[..])?;
    directory.write_tag(Tag::GeoAsciiParamsTag, PLANE_NAME)
}

/// The values of the grid's cells.
#[derive(Clone, Copy)]
enum Pixels<'a> {
    Each(&'a [f32]),
    /// Standard errors: five digits say all that is known of them, and take less room.
    EachRounded(&'a [f32]),
    One(f32),
}

impl<'a> Pixels<'a> {
    fn new(surface: &'a Surface, shown: Shown) -> Self {
        match (&surface.map, shown) {
            (Map::Drawn { values, .. }, Shown::Values) => Self::Each(values),
            (Map::Drawn { standard_error, .. }, Shown::StandardError) => {
                Self::EachRounded(standard_error)
            }
            (Map::Flat { value, .. }, Shown::Values) => Self::One(*value as f32),
            (Map::Flat { standard_error, .. }, Shown::StandardError) => {
                Self::One(*standard_error as f32)
            }
        }
    }

    fn at(self, slot: usize) -> f32 {
        let value = match self {
            Self::Each(values) => values[slot],
            Self::EachRounded(values) => rounded(values[slot]),
            Self::One(value) => value,
        };
        if value.is_finite() { value } else { NO_DATA }
    }
}

/// A number with 16 of the 24 bits of its fraction: within 1 in 100,000 of it.
fn rounded(value: f32) -> f32 {
    const DROPPED: u32 = 8;
    let half = 1 << (DROPPED - 1);
    f32::from_bits(value.to_bits().saturating_add(half) >> DROPPED << DROPPED)
}

/// Name of the picture's only band. The tag is ASCII by the standard.
fn name(surface: &Surface, shown: Shown) -> String {
    let what = surface.key.show(UnitSystem::Metric);
    let start = match shown {
        Shown::Values => "",
        Shown::StandardError => "standard error of ",
    };
    let flat = if matches!(surface.map, Map::Flat { .. }) {
        "; one value for the whole field"
    } else {
        ""
    };
    let name = format!("{start}{what}, {}{flat}", surface.unit);
    let is_plain = |c: char| c.is_ascii() && !c.is_control();
    name.chars()
        .map(|c| if is_plain(c) { c } else { '?' })
        .collect()
}

/// GDAL's own metadata: name and unit of the band, so that a GIS program shows them.
fn metadata(name: &str, unit: &str) -> String {
    let item = |key: &str, role: &str, text: &str| {
        Element::new("Item")
            .with("name", key)
            .with("sample", 0)
            .with("role", role)
            .saying(text)
    };
    Element::new("GDALMetadata")
        .holding([
            item("UNITTYPE", "unittype", unit),
            item("DESCRIPTION", "description", name),
        ])
        .on_one_line()
}

/// The key directory: (key, place, count, value) in rising order.
fn keys() -> Vec<u16> {
    const USER_DEFINED: u16 = 32767;
    const DOUBLES: u16 = 34736;
    let entries: [[u16; 4]; 15] = [
        [1024, 0, 1, 1],
        [1025, 0, 1, 1],
        [1026, 34737, PLANE_NAME.len() as u16, 0],
        [2048, 0, 1, 4326],
        [2054, 0, 1, 9102],
        [3072, 0, 1, USER_DEFINED],
        [3073, 34737, PLANE_NAME.len() as u16, 0],
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
