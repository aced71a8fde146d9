use super::*;

fn patch(label: u8, area: f64, value: f64, borders: &[(u32, f64)]) -> Patch {
    Patch {
        label,
        area,
        profile: vec![value],
        is_sliver: false,
        borders: borders.iter().copied().collect(),
    }
}

const CENTRES: [f64; 3] = [0.0, 1.0, 5.0];

fn merged(patches: Vec<Patch>, smallest: f64) -> Vec<u8> {
    let centres: Vec<Vec<f64>> = CENTRES.iter().map(|&c| vec![c]).collect();
    let count = patches.len() as u32;
    let mut merging = Merging::run(patches, smallest, &centres);
    (0..count).map(|patch| merging.label_of(patch)).collect()
}

#[test]
fn a_small_patch_goes_to_the_neighbour_it_resembles_not_to_the_one_with_the_longest_edge() {
    let patches = vec![
        patch(2, 100.0, 5.0, &[(1, 9.0)]),
        patch(1, 2.0, 1.2, &[(0, 9.0), (2, 1.0)]),
        patch(0, 100.0, 0.0, &[(1, 1.0)]),
    ];
    assert_eq!(merged(patches, 10.0), [2, 0, 0]);
}

#[test]
fn a_sliver_goes_to_the_neighbour_with_the_longest_edge() {
    let mut patches = vec![
        patch(2, 100.0, 5.0, &[(1, 9.0)]),
        patch(1, 2.0, 1.2, &[(0, 9.0), (2, 1.0)]),
        patch(0, 100.0, 0.0, &[(1, 1.0)]),
    ];
    patches[1].is_sliver = true;
    assert_eq!(merged(patches, 10.0), [2, 2, 0]);
}

#[test]
fn a_patch_without_neighbours_stays() {
    assert_eq!(merged(vec![patch(1, 2.0, 1.0, &[])], 10.0), [1]);
}

#[test]
fn small_patches_that_become_large_together_stay() {
    // 6 + 6 of zone 0 either side of 3 of zone 1: joined they are 15.
    let patches = vec![
        patch(0, 6.0, 0.0, &[(1, 1.0)]),
        patch(1, 3.0, 1.0, &[(0, 1.0), (2, 1.0)]),
        patch(0, 6.0, 0.0, &[(1, 1.0), (3, 1.0)]),
        patch(2, 90.0, 5.0, &[(2, 1.0)]),
    ];
    assert_eq!(merged(patches, 10.0), [0, 0, 0, 2]);
}
