use super::*;

fn cut(text: &str, separator: u8) -> Vec<(u32, Vec<String>)> {
    let mut rows = RowReader::new(
        text.as_bytes(),
        Dialect {
            separator,
            line_end: b'\n',
        },
    );
    let mut out = Vec::new();
    while let Some(row) = rows.next_row().expect("rows") {
        out.push((
            row.number,
            (0..row.len())
                .map(|at| String::from_utf8_lossy(row.cell(at)).into_owned())
                .collect(),
        ));
    }
    out
}

fn own(cells: &[&str]) -> Vec<String> {
    cells.iter().map(|cell| (*cell).to_owned()).collect()
}

#[test]
fn plain_rows_are_cut_at_the_separator_and_numbered_by_line() {
    assert_eq!(
        cut("a,b\r\n1,2\n\n3,\n", b','),
        [
            (1, own(&["a", "b"])),
            (2, own(&["1", "2"])),
            (3, own(&[""])),
            (4, own(&["3", ""]))
        ]
    );
}

#[test]
fn a_quoted_cell_may_hold_separators_quotes_and_line_breaks() {
    let rows = cut("a,\"x, \"\"y\"\"\nz\",c\nd,e,f", b',');
    assert_eq!(
        rows,
        [
            (1, own(&["a", "x, \"y\"\nz", "c"])),
            (3, own(&["d", "e", "f"]))
        ]
    );
}

#[test]
fn an_inch_mark_in_an_unquoted_cell_is_an_ordinary_sign() {
    assert_eq!(
        cut("C1,0-6\",7.1\n", b','),
        [(1, own(&["C1", "0-6\"", "7.1"]))]
    );
}

#[test]
fn a_quote_that_is_never_closed_is_an_error_of_its_row() {
    let mut rows = RowReader::new(
        "a,b\n1,\"2\n3,4\n".as_bytes(),
        Dialect {
            separator: b',',
            line_end: b'\n',
        },
    );
    assert!(rows.next_row().expect("first row").is_some());
    assert!(matches!(rows.next_row(), Err(RowError::OpenQuote(2))));
}

#[test]
fn rows_longer_than_the_limit_are_refused_without_reading_on() {
    let mut rows = RowReader::new(
        io::repeat(b'x'),
        Dialect {
            separator: b',',
            line_end: b'\n',
        },
    );
    assert!(matches!(rows.next_row(), Err(RowError::TooLong(1))));
}

#[test]
fn rows_that_cross_the_buffer_come_out_whole() {
    let text: String = (0..60_000)
        .map(|n| format!("{n},{},\"q{n}\"\n", n * 2))
        .collect();
    let rows = cut(&text, b',');
    assert_eq!(rows.len(), 60_000);
    assert!(
        rows.iter()
            .enumerate()
            .all(|(n, (number, cells))| *number == n as u32 + 1 && cells[2] == format!("q{n}"))
    );
}
