//! The layers by the `tiff` crate (an independent reader).

use std::io::Cursor;

use lowstave::surface::Map;
use tiff::decoder::{Decoder, DecodingResult};
use tiff::tags::Tag;

use super::{Invented, delivered};

fn read(bytes: &[u8]) -> (u32, u32, Vec<f32>, Vec<f64>) {
    let mut decoder = Decoder::new(Cursor::new(bytes.to_vec())).expect("a TIFF");
    let (width, height) = decoder.dimensions().expect("its size");
    let tie = decoder
        .get_tag_f64_vec(Tag::ModelTiepointTag)
        .expect("its corner");
    let DecodingResult::F32(values) = decoder.read_image().expect("its values") else {
        panic!("32-bit floats")
    };
    (width, height, values, tie)
}

#[test]
fn cells_hold_the_surface_from_the_north_west_corner() {
    let invented = Invented::small();
    let delivery = delivered(&invented);
    let grid = &invented.field.grid;
    for (path, is_standard_error) in [
        ("layers/ph_water_0-15.2cm.tif", false),
        ("layers/ph_water_0-15.2cm_standard_error.tif", true),
    ] {
        let (width, height, pixels, tie) = read(delivery.get(path).unwrap());
        assert_eq!((width as usize, height as usize), (grid.columns, grid.rows));
        assert_eq!(tie, [0.0, 0.0, 0.0, grid.west, grid.north, 0.0]);
        let surface = invented
            .surfaces
            .surfaces
            .iter()
            .find(|surface| surface.key.slug() == "ph_water_0-15.2cm")
            .unwrap();
        let Map::Drawn {
            values,
            standard_error,
        } = &surface.map
        else {
            panic!("drawn")
        };
        let expected = if is_standard_error {
            standard_error
        } else {
            values
        };
        for (&cell, value) in grid.cells.iter().zip(expected) {
            // Standard errors have five digits.
            let part = if is_standard_error { 1e-5 } else { 0.0 };
            let off = (pixels[cell as usize] - *value).abs();
            assert!(off <= part * value.abs(), "{off} off {value}");
        }
        let blank = pixels.iter().filter(|value| **value == -9999.0).count();
        assert_eq!(
            blank,
            grid.columns * grid.rows - grid.cells.len(),
            "every other cell is no-data"
        );
    }
}

#[test]
fn a_layer_without_skill_is_one_value() {
    let invented = Invented::small();
    let (_, _, pixels, _) = read(
        delivered(&invented)
            .get("layers/ca_pct_ammonium-acetate_0-15.2cm.tif")
            .unwrap(),
    );
    assert!(
        pixels
            .iter()
            .all(|value| *value == 61.3 || *value == -9999.0)
    );
    assert_eq!(
        pixels.iter().filter(|value| **value == 61.3).count(),
        invented.field.grid.cells.len()
    );
}

#[test]
fn the_name_of_a_layer_stays_inside_its_tag_and_its_file_inside_the_folder() {
    let mut invented = Invented::small();
    let name = "../../</Item><Item name=\"x\"> & \u{1b}[31m";
    let key = lowstave::analyte::LayerKey::new(
        lowstave::analyte::Analyte::Covariate(name.into()),
        None,
        None,
    );
    invented.surfaces.surfaces[0].key = key.clone();
    let delivery = delivered(&invented);
    assert!(delivery.files.iter().all(|file| {
        file.path
            .split('/')
            .all(|part| part != ".." && !part.is_empty())
    }));
    let bytes = delivery
        .get(&format!("layers/{}.tif", key.slug()))
        .expect("one file in the folder of layers");
    let mut decoder = Decoder::new(Cursor::new(bytes.to_vec())).expect("a TIFF");
    // Tag 42112 is GDAL's own metadata, an XML document.
    let metadata = decoder
        .get_tag_ascii_string(Tag::Unknown(42112))
        .expect("its metadata");
    assert_eq!(metadata.matches("<Item ").count(), 2, "{metadata}");
    let description = decoder
        .get_tag_ascii_string(Tag::ImageDescription)
        .expect("its description");
    assert!(
        description.chars().all(|c| c.is_ascii() && !c.is_control()),
        "{description}"
    );
}
