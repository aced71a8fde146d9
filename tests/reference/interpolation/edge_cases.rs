//! `idw_edge_cases.json`: what GDAL and gstat do where samples coincide or tie, and what we do instead (README.md says why).

use lowstave::surface::{Neighbourhood, inverse_distance};

use super::{json, pairs};

/// Ours where it differs from the file's `rule`, which breaks ties by the order of rows: case, point, value.
///
/// - 3 nearest at (10, 10): (10,0) and (0,10) are 10 m away; the two samples at the origin (mean 6) tie for third place at 14.14 m and share
///   it: (10/100 + 30/100 + 6/200) / (1/100 + 1/100 + 1/200) = 17.2. The file's rule takes the first of the two, 5, and finds 17.
/// - 1 nearest at (0, 0): the mean of both samples, 6.
/// - 1 nearest at (5, 0): the two samples at the origin and the one at (10, 0) are all 5 m away: (6 + 6 + 10) / 3.
/// - 1 nearest at (10, 10): (10, 0) and (0, 10) are both 10 m away: (10 + 30) / 2.
/// - 3 nearest at (5, 0): no tie, both samples at the origin and the one at (10, 0) have their say.
const OURS: [(usize, usize, f64); 4] =
    [(1, 6, 17.2), (2, 0, 6.0), (2, 2, 22.0 / 3.0), (2, 6, 20.0)];

#[test]
fn coincident_samples_are_averaged_and_ties_are_shared() {
    let content = json("idw_edge_cases.json");
    let raw: Vec<(f64, f64, f64)> = content["samples"]
        .as_array()
        .unwrap()
        .iter()
        .map(|s| {
            (
                s[0].as_f64().unwrap(),
                s[1].as_f64().unwrap(),
                s[2].as_f64().unwrap(),
            )
        })
        .collect();
    let mut differed = Vec::new();
    for (c, case) in content["cases"].as_array().unwrap().iter().enumerate() {
        let who = match (case["nearest"].as_u64(), case["radius"].as_f64()) {
            (Some(count), _) => Neighbourhood::Nearest(count as usize),
            (_, Some(radius)) => Neighbourhood::Within(radius),
            _ => Neighbourhood::All,
        };
        for (q, at) in pairs(&content["query"]).into_iter().enumerate() {
            let found = inverse_distance(&raw, at, 2.0, who);
            let rule = case["rule"][q].as_f64();
            let ours = OURS
                .iter()
                .find(|(case, query, _)| (*case, *query) == (c, q))
                .map_or(rule, |(_, _, value)| Some(*value));
            match (found, ours) {
                (Some(found), Some(ours)) => assert!(
                    (found - ours).abs() < 1e-12 * ours,
                    "{}, {at:?}: {found}, {ours}",
                    case["case"]
                ),
                (found, ours) => assert_eq!(found, ours, "{}, {at:?}", case["case"]),
            }
            if found
                .zip(rule)
                .is_some_and(|(found, rule)| (found - rule).abs() > 1e-9)
            {
                differed.push((c, q));
            }
        }
    }
    assert_eq!(
        differed,
        OURS.map(|(case, query, _)| (case, query)),
        "a listed difference that has gone is a change of rule"
    );
}
