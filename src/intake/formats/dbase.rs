//! dBase III tables (the `.dbf` of a shapefile) to text.

use encoding_rs::{Encoding, UTF_8, WINDOWS_1252};

use crate::provenance::Place;

use crate::intake::error::IntakeError;

/// Most fields of a table.
const MOST_FIELDS: usize = 1_024;

/// One row.
#[derive(Debug, Clone, Default)]
pub(in crate::intake) struct DbaseRow {
    /// Names and trimmed texts.
    pub fields: Vec<(String, String)>,
    /// Whether the row is marked as deleted.
    pub is_deleted: bool,
}

struct Field {
    name: String,
    kind: u8,
    width: usize,
}

/// All rows of a table.
pub(in crate::intake) fn rows(
    bytes: &[u8],
    cpg: Option<&[u8]>,
    place: &Place,
) -> Result<Vec<DbaseRow>, IntakeError> {
    let malformed = |what: &str| IntakeError::Malformed {
        place: place.clone(),
        format: "a dBase table (.dbf)",
        what: what.to_owned(),
    };
    let number = |at: usize, count: usize| -> Option<usize> {
        Some(
            bytes
                .get(at..at + count)?
                .iter()
                .rev()
                .fold(0_usize, |sum, byte| (sum << 8) | usize::from(*byte)),
        )
    };
    let (Some(count), Some(head), Some(width)) = (number(4, 4), number(8, 2), number(10, 2)) else {
        return Err(malformed("it is shorter than a header"));
    };
    let encoding = encoding_of(cpg, bytes.get(29).copied());
    let fields = fields_of(bytes, head, encoding);
    if fields.is_empty() || fields.len() > MOST_FIELDS || width == 0 {
        return Err(malformed("no fields"));
    }
    if fields.iter().map(|field| field.width).sum::<usize>() + 1 > width {
        return Err(malformed("the fields are wider than a row"));
    }
    let data = bytes.get(head..).unwrap_or_default();
    let rows = data.chunks_exact(width).take(count).map(|row| DbaseRow {
        is_deleted: row.first() == Some(&b'*'),
        fields: values_of(row, &fields, encoding),
    });
    Ok(rows.collect())
}

fn fields_of(bytes: &[u8], head: usize, encoding: &'static Encoding) -> Vec<Field> {
    let descriptors = bytes.get(32..head.min(bytes.len())).unwrap_or_default();
    descriptors
        .chunks_exact(32)
        .take_while(|descriptor| descriptor.first() != Some(&0x0D))
        .take(MOST_FIELDS + 1)
        .map(|descriptor| {
            let name = descriptor.get(..11).unwrap_or_default();
            let name = name.split(|byte| *byte == 0).next().unwrap_or_default();
            let byte = |at: usize| descriptor.get(at).copied().unwrap_or(0);
            let kind = byte(11);
            // A character field may be wider than 255: its width then runs over the place of the decimals.
            let width = usize::from(byte(16))
                + if kind == b'C' {
                    usize::from(byte(17)) << 8
                } else {
                    0
                };
            Field {
                name: encoding
                    .decode_without_bom_handling(name)
                    .0
                    .trim()
                    .to_owned(),
                kind,
                width,
            }
        })
        .collect()
}

fn values_of(row: &[u8], fields: &[Field], encoding: &'static Encoding) -> Vec<(String, String)> {
    let mut at = 1;
    let mut out = Vec::with_capacity(fields.len());
    for field in fields {
        let cell = row.get(at..at + field.width).unwrap_or_default();
        at += field.width;
        out.push((field.name.clone(), value_of(cell, field.kind, encoding)));
    }
    out
}

fn value_of(cell: &[u8], kind: u8, encoding: &'static Encoding) -> String {
    match kind {
        b'I' if cell.len() == 4 => cell
            .try_into()
            .map(i32::from_le_bytes)
            .map_or_else(|_| String::new(), |number| number.to_string()),
        b'B' | b'O' if cell.len() == 8 => cell
            .try_into()
            .map(f64::from_le_bytes)
            .map_or_else(|_| String::new(), |number| number.to_string()),
        _ => {
            let text = encoding.decode_without_bom_handling(cell).0;
            let text = text.trim_matches(|c: char| c.is_whitespace() || c == '\0');
            if matches!(kind, b'N' | b'F') && text.starts_with('*') {
                String::new()
            } else {
                text.to_owned()
            }
        }
    }
}

/// `.cpg` first, then the language byte, else Windows-1252 (which holds ISO-8859-1).
fn encoding_of(cpg: Option<&[u8]>, language: Option<u8>) -> &'static Encoding {
    let label = cpg.map(|cpg| String::from_utf8_lossy(cpg).trim().to_ascii_lowercase());
    let label = label.map(|label| match label.as_str() {
        "utf8" | "65001" => "utf-8".to_owned(),
        digits if digits.len() == 4 && digits.starts_with("125") => format!("windows-{digits}"),
        digits if digits.starts_with("8859") => format!(
            "iso-8859-{}",
            digits
                .trim_start_matches("8859")
                .trim_start_matches(['-', '_'])
        ),
        other => other.to_owned(),
    });
    if let Some(known) = label.and_then(|label| Encoding::for_label(label.as_bytes())) {
        return known;
    }
    match language {
        Some(0xF0) => UTF_8,
        _ => WINDOWS_1252,
    }
}
