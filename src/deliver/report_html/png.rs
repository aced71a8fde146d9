//! Small pictures inside the report: PNG with a palette of 256 colours, the first of them transparent.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use png::{BitDepth, ColorType, Compression, Encoder, EncodingError};

use crate::deliver::colours::Colour;

/// A `data:` address of a picture; each pixel is an index into the palette, row by row from the top.
#[must_use]
pub fn data_address(width: usize, pixels: &[u8], palette: &[Colour]) -> String {
    // Only a picture without pixels cannot be encoded; it is left out.
    let bytes = encoded(width, pixels, palette).unwrap_or_default();
    format!("data:image/png;base64,{}", base64(&bytes))
}

/// Base 64 with padding (RFC 4648, section 4).
#[must_use]
pub fn base64(bytes: &[u8]) -> String {
    STANDARD.encode(bytes)
}

fn encoded(width: usize, pixels: &[u8], palette: &[Colour]) -> Result<Vec<u8>, EncodingError> {
    let height = pixels.len() / width.max(1);
    let mut bytes = Vec::with_capacity(pixels.len() / 4 + 1_024);
    let mut encoder = Encoder::new(&mut bytes, width as u32, height as u32);
    encoder.set_color(ColorType::Indexed);
    encoder.set_depth(BitDepth::Eight);
    encoder.set_palette(palette.concat());
    encoder.set_trns(vec![0]);
    encoder.set_compression(Compression::Balanced);
    let mut writer = encoder.write_header()?;
    writer.write_image_data(pixels)?;
    writer.finish()?;
    Ok(bytes)
}
