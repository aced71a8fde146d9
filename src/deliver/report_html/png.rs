//! Small pictures inside the report: PNG with a palette of 256 colours, the first of them transparent.

use std::io::Write;

use flate2::write::ZlibEncoder;
use flate2::{Compression, Crc};

use crate::deliver::colours::Colour;

/// A `data:` address of a picture; each pixel is an index into the palette, row by row from the top.
#[must_use]
pub fn data_address(width: usize, pixels: &[u8], palette: &[Colour]) -> String {
    format!(
        "data:image/png;base64,{}",
        base64(&png(width, pixels, palette))
    )
}

fn png(width: usize, pixels: &[u8], palette: &[Colour]) -> Vec<u8> {
    let height = pixels.len() / width.max(1);
    let mut out = Vec::with_capacity(pixels.len() / 4 + 1_024);
    out.extend(b"\x89PNG\r\n\x1a\n");
    let mut header = Vec::with_capacity(13);
    header.extend((width as u32).to_be_bytes());
    header.extend((height as u32).to_be_bytes());
    // 8 bits, palette, deflate, no filter method but the standard's, not interlaced.
    header.extend([8, 3, 0, 0, 0]);
    push_chunk(&mut out, *b"IHDR", &header);
    push_chunk(&mut out, *b"PLTE", &palette.concat());
    push_chunk(&mut out, *b"tRNS", &[0]);
    push_chunk(&mut out, *b"IDAT", &deflated(width, pixels));
    push_chunk(&mut out, *b"IEND", &[]);
    out
}

fn push_chunk(out: &mut Vec<u8>, name: [u8; 4], data: &[u8]) {
    out.extend((data.len() as u32).to_be_bytes());
    let mut check = Crc::new();
    check.update(&name);
    check.update(data);
    out.extend(name);
    out.extend(data);
    out.extend(check.sum().to_be_bytes());
}

/// Each row starts with its filter: none.
fn deflated(width: usize, pixels: &[u8]) -> Vec<u8> {
    let rows: Vec<u8> = pixels
        .chunks(width.max(1))
        .flat_map(|row| std::iter::once(0).chain(row.iter().copied()))
        .collect();
    let mut encoder = ZlibEncoder::new(Vec::new(), Compression::new(3));
    // Writing to memory cannot fail.
    let _ = encoder.write_all(&rows);
    encoder.finish().unwrap_or_default()
}

/// Base 64 with padding (RFC 4648, section 4).
#[must_use]
pub fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for chunk in bytes.chunks(3) {
        let bits = (0..3).fold(0_u32, |bits, at| {
            (bits << 8) | u32::from(chunk.get(at).copied().unwrap_or(0))
        });
        for at in 0..4 {
            let letter = LETTERS[(bits >> (18 - 6 * at)) as usize & 63];
            out.push(if at > chunk.len() {
                '='
            } else {
                letter as char
            });
        }
    }
    out
}
