use super::*;

/// The verdict on a table of three columns.
fn verdict(rows: &[(&str, bool)]) -> Verdict {
    let header = Header::new(
        &["id".to_owned(), "Ca".to_owned(), "Mg".to_owned()],
        Vec::new(),
        Vec::new(),
    );
    let mut seen = LastRow::new(&header);
    for (number, (text, is_open)) in rows.iter().enumerate() {
        let mut cells = Vec::new();
        let mut from = 0_u32;
        for piece in text.split(',') {
            cells.push((from, from + piece.len() as u32));
            from += piece.len() as u32 + 1;
        }
        let mut row = Row::new(number as u32 + 2, text.as_bytes(), &cells);
        row.is_open = *is_open;
        seen.take(&row);
    }
    seen.last
        .as_ref()
        .map_or(Verdict::Whole, |last| seen.verdict(last))
}

const ABOVE: [(&str, bool); 3] = [
    ("A1,1800,526", false),
    ("A2,1750,498", false),
    ("A3,1690,510", false),
];

fn after(last: &str, is_open: bool) -> Verdict {
    verdict(&[&ABOVE[..], &[(last, is_open)]].concat())
}

#[test]
fn a_last_row_without_line_end_and_with_fewer_or_shorter_cells_is_cut_off() {
    for last in ["A4,1700,5", "A4,1700,", "A4,1700", "A4,17", "A4"] {
        assert!(
            matches!(after(last, true), Verdict::Cut(_)),
            "{last}: {:?}",
            after(last, true)
        );
    }
}

#[test]
fn a_last_row_that_is_like_those_above_is_whole_with_or_without_a_line_end() {
    assert_eq!(after("A4,1700,530", true), Verdict::Whole);
    assert_eq!(after("A4,1700,5", false), Verdict::Whole);
    assert_eq!(after("All results on dry soil", true), Verdict::Whole);
}

#[test]
fn a_short_last_row_is_usual_where_others_are_as_short() {
    let ragged = [
        ("A1,1800", false),
        ("A2,1750,498", false),
        ("A3,1700", true),
    ];
    assert_eq!(verdict(&ragged), Verdict::Whole);
}

#[test]
fn a_number_that_lacks_the_decimals_of_all_others_is_cut_off() {
    let above = [
        ("A1,1,10.25", false),
        ("A2,1,9.50", false),
        ("A3,1,9.75", false),
    ];
    let last = |text| verdict(&[&above[..], &[(text, true)]].concat());
    assert!(matches!(last("A4,1,12.5"), Verdict::Cut(_)));
    assert_eq!(last("A4,1,12.50"), Verdict::Whole);
}
