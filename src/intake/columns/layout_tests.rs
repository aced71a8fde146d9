use super::*;

fn layout(text: &str) -> Layout {
    find_layout(text.as_bytes(), &[], 0).expect("a layout")
}

#[test]
fn the_separator_is_the_one_that_cuts_rows_alike() {
    assert_eq!(
        layout("id;lon;lat;pH\n1;10,5;50,5;6,5\n2;10,6;50,6;6,7\n")
            .dialect
            .separator,
        b';'
    );
    assert_eq!(
        layout("id\tlon\tlat\tpH\n1\t10.5\t50.5\t6.5\n")
            .dialect
            .separator,
        b'\t'
    );
    assert_eq!(
        layout("id|lon|lat|pH\n1|10.5|50.5|6.5\n").dialect.separator,
        b'|'
    );
    assert_eq!(
        layout("sep=;\nid;lon;lat\n1;1,5;2,5\n").dialect.separator,
        b';'
    );
}

#[test]
fn title_lines_stand_above_the_header_and_units_below() {
    let found = layout(
        "Example Lab\nSample report, 12 samples\n\nid,lon,lat,pH,K\nUNITS,deg,deg,-,ppm\nA1,-97.1,41.2,6.5,120\n",
    );
    assert_eq!(
        (found.header_row, found.units_row, found.last_head_row),
        (4, Some(5), 5)
    );
    assert_eq!(found.header.names.len(), 5);
}

#[test]
fn a_row_of_results_is_not_a_units_row() {
    assert_eq!(layout("id,lon,lat,pH\nA1,-97.1,41.2,6.5\n").units_row, None);
    assert_eq!(layout("id,lon,lat,pH\nA1,,,ND\n").units_row, None);
}

#[test]
fn a_row_of_methods_and_a_row_of_units_are_read_together() {
    let found = layout(
        "Sample ID,Soil pH,Buffer pH,P,K\n,1:1,SMP,Bray P1,\n,,,ppm,ppm\nA1,6.5,6.8,12,120\n",
    );
    assert_eq!((found.units_row, found.last_head_row), (Some(2), 3));
    let said: Vec<_> = (0..5).map(|at| found.header.unit(at)).collect();
    assert_eq!(
        said,
        [
            None,
            Some("1:1"),
            Some("SMP"),
            Some("Bray P1 ppm"),
            Some("ppm")
        ]
    );
}

#[test]
fn the_header_is_looked_for_below_the_rows_that_are_skipped() {
    let text = "lon,lat,pH\nsee below,,\nlon,lat,K\n-97.1,41.2,120\n";
    let found = find_layout(text.as_bytes(), &[], 2).expect("a layout");
    assert_eq!((found.header_row, found.header.name(2)), (3, "K"));
}

#[test]
fn depths_above_the_names_belong_to_the_columns_below_them() {
    let found = layout(
        "Lab report,,,,,,\n,,,0-15 cm,,15-30 cm,\nid,lon,lat,pH,K,pH,K\nA1,-97.1,41.2,6.5,120,6.3,90\n",
    );
    let names: Vec<&str> = found.header.names.iter().map(String::as_str).collect();
    assert_eq!(
        names,
        [
            "id",
            "lon",
            "lat",
            "pH 0-15 cm",
            "K 0-15 cm",
            "pH 15-30 cm",
            "K 15-30 cm"
        ]
    );
    // One depth alone is a title.
    let found = layout("Cores of 0-15 cm,0-15 cm,,,\nid,lon,lat,pH,K\nA1,-97.1,41.2,6.5,120\n");
    assert_eq!(found.header.names[3], "pH");
}
