use super::*;

fn style_of(cells: &[&str]) -> Result<NumberStyle, String> {
    let mut signs = Signs::default();
    for (at, cell) in cells.iter().enumerate() {
        signs.row = at as u32 + 2;
        let _ = signs.number(cell, NumberStyle::Point);
    }
    signs
        .style(&Place::file("f"))
        .map_err(|error| error.to_string())
}

#[test]
fn one_telling_cell_decides_for_the_column() {
    assert_eq!(style_of(&["12,5", "1,234"]), Ok(NumberStyle::Comma));
    assert_eq!(style_of(&["1.234,5", "12"]), Ok(NumberStyle::Comma));
    assert_eq!(
        style_of(&["1,234.5", "1,234"]),
        Ok(NumberStyle::PointWithCommaGroups)
    );
    assert_eq!(
        style_of(&["1,234,567"]),
        Ok(NumberStyle::PointWithCommaGroups)
    );
    assert_eq!(
        style_of(&["987.5", "1,234"]),
        Ok(NumberStyle::PointWithCommaGroups)
    );
    assert_eq!(style_of(&["0,123"]), Ok(NumberStyle::Comma));
    assert_eq!(style_of(&["6.5", "1234"]), Ok(NumberStyle::Point));
}

#[test]
fn a_column_of_groups_of_three_is_not_guessed() {
    assert!(style_of(&["1,234", "2,345", "987"]).is_err_and(|text| text.contains("row 2")));
}

#[test]
fn cells_that_contradict_each_other_are_an_error() {
    assert!(style_of(&["12,5", "6.55"]).is_err());
    assert!(style_of(&["12,5", "1,234.5"]).is_err());
}

#[test]
fn numbers_are_read_in_the_style_of_their_column() {
    let read = |text: &str, style| Signs::default().number(text, style);
    assert_eq!(read("1.234,5", NumberStyle::Comma), Some(1234.5));
    assert_eq!(read("12,5", NumberStyle::Comma), Some(12.5));
    assert_eq!(read("-1.234", NumberStyle::Comma), Some(-1234.0));
    assert_eq!(
        read("1,234.5", NumberStyle::PointWithCommaGroups),
        Some(1234.5)
    );
    assert_eq!(read("12,34.5", NumberStyle::PointWithCommaGroups), None);
    assert_eq!(read("6.5", NumberStyle::Comma), None);
}
