use serde::{Deserialize, Serialize};

use super::pieces::Lengths;
use super::runs::Run;
use crate::trial::machines::Machines;
use crate::trial::statistics::Blocks;

/// At most this part of a zone is given to checks.
const LARGEST_SHARE: f64 = 0.05;
/// A zone with fewer pieces is not judged.
const FEWEST_PIECES: usize = 2;
/// Fewer checks than this say nothing.
pub const FEWEST_CHECKS: usize = 2;

/// A check as it is laid.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Check {
    /// Name, printed and in the files: `check 1`.
    pub name: String,
    /// The pass that it begins at, from 0.
    pub position: usize,
    /// Where it lies along that pass.
    pub pieces: Vec<Run>,
}

/// Where the checks lie and where they could have lain.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Draw {
    /// The blocks, the rule and the seed.
    pub blocks: Blocks,
    /// The checks that were drawn, from left to right.
    pub checks: Vec<Check>,
    /// For every position, the pieces that a check there would have.
    pub positions: Vec<Vec<Run>>,
}

/// A zone with its area, in which checks are wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    /// Number of the zone.
    pub zone: u32,
    /// Its area, m².
    pub area_m2: f64,
    /// Among how many sets of strips the ground that it may give up is shared out.
    pub sets: usize,
}

impl Room {
    /// The most metres of checks of a width (metres) that the zone may give up.
    #[must_use]
    pub fn longest_m(&self, width_m: f64) -> f64 {
        LARGEST_SHARE * self.area_m2 / (width_m * self.sets.max(1) as f64)
    }
}

/// Draws one check in each of `count` blocks of positions. `sites` are the stretches of each position; only zones of `rooms` get pieces.
/// Where so many do not fit, fewer are drawn; `None` where not even two fit.
#[must_use]
pub fn draw(
    sites: &[Vec<Run>],
    rooms: &[Room],
    machines: &Machines,
    (count, shortest_m): (usize, f64),
    seed: u64,
) -> Option<Draw> {
    (FEWEST_CHECKS..=count)
        .rev()
        .find_map(|count| draw_exactly(sites, rooms, machines, (count, shortest_m), seed))
}

fn draw_exactly(
    sites: &[Vec<Run>],
    rooms: &[Room],
    machines: &Machines,
    (count, shortest_m): (usize, f64),
    seed: u64,
) -> Option<Draw> {
    let whole = Lengths {
        zones: rooms
            .iter()
            .map(|room| (room.zone, f64::INFINITY))
            .collect(),
        shortest_m,
    };
    let whole_pieces: Vec<Vec<Run>> = sites.iter().map(|runs| whole.pieces(runs)).collect();
    let blocks = Blocks {
        blocks: in_blocks(&whole_pieces, count)?,
        apart: machines.apart(),
        seed,
    };
    let drawn = blocks.draw()?;
    let width_m = 2.0 * machines.half_width();
    let pieces: Vec<(usize, &Run)> = drawn
        .iter()
        .flat_map(|&at| whole_pieces[at].iter().map(move |piece| (at, piece)))
        .collect();
    let shares = share_out_zones(&pieces, rooms, width_m, shortest_m);
    if shares.kept.is_empty() {
        return None;
    }
    let kept = shares.kept;
    let lengths = Lengths {
        zones: shares.longest_m,
        shortest_m,
    };
    let mut positions: Vec<Vec<Run>> = sites.iter().map(|runs| lengths.pieces(runs)).collect();
    let checks = drawn
        .iter()
        .enumerate()
        .map(|(at, &position)| {
            positions[position].retain(|piece| kept.contains(&(position, piece.zone)));
            Check {
                name: format!("check {}", at + 1),
                position,
                pieces: positions[position].clone(),
            }
        })
        .collect();
    Some(Draw {
        blocks,
        checks,
        positions,
    })
}

/// What the zones give to the checks.
#[derive(Default)]
struct ZoneShares {
    /// Zones that get pieces, and how long those may be.
    longest_m: Vec<(u32, f64)>,
    /// Which checks keep theirs, in which zone.
    kept: Vec<(usize, u32)>,
}

/// Shares the room of the zones out.
fn share_out_zones(
    pieces: &[(usize, &Run)],
    rooms: &[Room],
    width_m: f64,
    shortest_m: f64,
) -> ZoneShares {
    let mut shares = ZoneShares::default();
    for room in rooms {
        let on: Vec<(usize, f64)> = pieces
            .iter()
            .filter(|(_, piece)| piece.zone == room.zone)
            .map(|(at, piece)| (*at, piece.length()))
            .collect();
        let allowed_m = room.longest_m(width_m);
        if let Some((longest_m, positions)) = share_out(on, allowed_m, shortest_m) {
            shares.longest_m.push((room.zone, longest_m));
            shares
                .kept
                .extend(positions.into_iter().map(|at| (at, room.zone)));
        }
    }
    shares
}

/// How long the pieces in a zone may be and which checks keep theirs, so that all together are no longer than allowed. More pieces come before longer
/// ones. `None` where fewer than two fit: a zone that one check meets cannot be judged, and the product is not left out for nothing.
fn share_out(
    mut pieces: Vec<(usize, f64)>,
    allowed_m: f64,
    shortest_m: f64,
) -> Option<(f64, Vec<usize>)> {
    let fitting = ((allowed_m / shortest_m) as usize).min(pieces.len());
    if fitting < FEWEST_PIECES {
        return None;
    }
    pieces.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    pieces.truncate(fitting);
    Some((
        allowed_m / fitting as f64,
        pieces.into_iter().map(|(at, _)| at).collect(),
    ))
}

/// The positions that have a piece, in `count` blocks of equal number (the first ones longer by one where they do not divide).
fn in_blocks(positions: &[Vec<Run>], count: usize) -> Option<Vec<Vec<usize>>> {
    let eligible: Vec<usize> = (0..positions.len())
        .filter(|&at| !positions[at].is_empty())
        .collect();
    if eligible.len() < count {
        return None;
    }
    let (size, longer) = (eligible.len() / count, eligible.len() % count);
    let mut rest = eligible.as_slice();
    Some(
        (0..count)
            .map(|block| {
                let (these, others) = rest.split_at(size + usize::from(block < longer));
                rest = others;
                these.to_vec()
            })
            .collect(),
    )
}
