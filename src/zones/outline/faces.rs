//! The faces of a drawing: which zone each is, and which are too small or too thin to stay.

use std::collections::BTreeMap;

use super::drawing::{Cycles, Drawing, INSIDE, OUT};
use super::lattice::{Bounds, Point, encloses};
use crate::zones::merging::{Merging, Patch};
use crate::zones::union_find::UnionFind;

/// A connected piece of the drawing.
#[derive(Debug, Clone)]
pub(super) struct Face {
    /// Its outer ring and its holes.
    pub rings: Vec<Vec<Point>>,
    /// Zone, or `OUT`; `INSIDE` where no line between zones bounds it.
    pub label: u8,
    /// Square lattice units.
    pub area: f64,
    /// Length of all its rings, lattice units.
    pub perimeter: f64,
}

/// All faces but the unbounded one.
pub(super) struct Faces {
    pub faces: Vec<Face>,
    /// Face of each cycle; `None` for the unbounded face.
    pub of_cycle: Vec<Option<u32>>,
}

/// Groups cycles into faces and reads each one's label from the longer part of its edges.
pub(super) fn find(drawing: &Drawing, cycles: &Cycles) -> Faces {
    let component = components(drawing);
    let component_of = |cycle: usize| component[drawing.origin(cycles.members[cycle][0]) as usize];
    let rings: Vec<Vec<Point>> = cycles
        .members
        .iter()
        .map(|members| drawing.ring(members))
        .collect();
    let outer: Vec<usize> = (0..rings.len())
        .filter(|&cycle| cycles.areas[cycle] > 0)
        .collect();
    let boxes: Vec<Bounds> = outer
        .iter()
        .map(|&cycle| Bounds::new(&rings[cycle]))
        .collect();
    let mut of_cycle: Vec<Option<u32>> = vec![None; rings.len()];
    for (face, &cycle) in outer.iter().enumerate() {
        of_cycle[cycle] = Some(face as u32);
    }
    for cycle in (0..rings.len()).filter(|&cycle| cycles.areas[cycle] <= 0) {
        let point = rings[cycle][0];
        let holders = (0..outer.len()).filter(|&face| {
            let is_near =
                boxes[face].holds(point) && component_of(outer[face]) != component_of(cycle);
            is_near && encloses([rings[outer[face]].as_slice()], point.place(1.0))
        });
        of_cycle[cycle] = holders
            .min_by_key(|&face| cycles.areas[outer[face]])
            .map(|face| face as u32);
    }
    let faces = gather(drawing, cycles, &of_cycle, rings, outer.len());
    Faces { faces, of_cycle }
}

fn gather(
    drawing: &Drawing,
    cycles: &Cycles,
    of_cycle: &[Option<u32>],
    rings: Vec<Vec<Point>>,
    count: usize,
) -> Vec<Face> {
    let mut faces = vec![
        Face {
            rings: Vec::new(),
            label: INSIDE,
            area: 0.0,
            perimeter: 0.0
        };
        count
    ];
    let mut lengths: Vec<BTreeMap<u8, f64>> = vec![BTreeMap::new(); count];
    for (cycle, ring) in rings.into_iter().enumerate() {
        let Some(face) = of_cycle[cycle].map(|face| face as usize) else {
            continue;
        };
        for &half in &cycles.members[cycle] {
            let length = drawing.length(half as usize / 2);
            faces[face].perimeter += length;
            if drawing.left(half) != INSIDE {
                *lengths[face].entry(drawing.left(half)).or_default() += length;
            }
        }
        faces[face].area += cycles.areas[cycle] as f64 / 2.0;
        faces[face].rings.push(ring);
    }
    for (face, lengths) in faces.iter_mut().zip(&lengths) {
        let longest = lengths
            .iter()
            .max_by(|a, b| a.1.total_cmp(b.1).then(b.0.cmp(a.0)));
        face.label = longest.map_or(INSIDE, |(label, _)| *label);
    }
    faces
}

/// Number of the connected part of the drawing that each vertex lies in.
fn components(drawing: &Drawing) -> Vec<u32> {
    let mut groups = UnionFind::new(drawing.points.len());
    for edge in &drawing.edges {
        groups.unite(edge.a, edge.b);
    }
    (0..drawing.points.len() as u32)
        .map(|vertex| groups.root(vertex))
        .collect()
}

/// What may not stay a face of its own.
pub(super) struct Limits<'a> {
    /// Least area, square lattice units.
    pub smallest: f64,
    /// Least mean width (twice the area by the perimeter), lattice units.
    pub thinnest: f64,
    /// Centre of each label in the features.
    pub centres: &'a [Vec<f64>],
}

impl Faces {
    /// Gives faces that are too small to the neighbour they resemble most, and those too thin to the neighbour with the longest
    /// common edge; the label of each face.
    pub fn merged(&self, drawing: &Drawing, cycles: &Cycles, limits: &Limits<'_>) -> Vec<u8> {
        let mut patches: Vec<Patch> = self.faces.iter().map(|face| patch(face, limits)).collect();
        for edge in 0..drawing.edges.len() {
            let side = |half: usize| {
                self.of_cycle[cycles.of[half] as usize]
                    .filter(|&face| self.faces[face as usize].label != OUT)
            };
            if let (Some(left), Some(right)) = (side(2 * edge), side(2 * edge + 1))
                && left != right
            {
                *patches[left as usize].borders.entry(right).or_default() += drawing.length(edge);
                *patches[right as usize].borders.entry(left).or_default() += drawing.length(edge);
            }
        }
        let mut merging = Merging::run(patches, limits.smallest, limits.centres);
        (0..self.faces.len() as u32)
            .map(|face| merging.label_of(face))
            .collect()
    }

    /// Writes the final labels onto the edges and drops those that part nothing any more.
    pub fn write(&self, labels: &[u8], drawing: &mut Drawing, cycles: &Cycles) {
        let label = |half: usize| {
            self.of_cycle[cycles.of[half] as usize].map_or(OUT, |face| labels[face as usize])
        };
        for (index, edge) in drawing.edges.iter_mut().enumerate() {
            (edge.left, edge.right) = (label(2 * index), label(2 * index + 1));
        }
        drawing.edges.retain(|edge| edge.left != edge.right);
    }
}

fn patch(face: &Face, limits: &Limits<'_>) -> Patch {
    let is_sliver = face.label != OUT && 2.0 * face.area < limits.thinnest * face.perimeter;
    Patch {
        label: face.label,
        area: if face.label == OUT {
            f64::INFINITY
        } else {
            face.area
        },
        profile: limits
            .centres
            .get(face.label as usize)
            .cloned()
            .unwrap_or_default(),
        is_sliver,
        borders: BTreeMap::new(),
    }
}

impl Face {
    /// A place well inside: the middle of the widest stretch on a level through it.
    pub fn inner_place(&self) -> (f64, f64) {
        let mut levels: Vec<i64> = self.rings.iter().flatten().map(|point| point.y).collect();
        levels.sort_unstable();
        levels.dedup();
        let widest = levels.windows(2).max_by_key(|pair| pair[1] - pair[0]);
        let Some(y) = widest.map(|pair| (pair[0] as f64).midpoint(pair[1] as f64)) else {
            return (0.0, 0.0);
        };
        let mut crossings = Vec::new();
        for ring in &self.rings {
            for (from, to) in ring.iter().zip(ring.iter().cycle().skip(1)) {
                let ((ax, ay), (bx, by)) = (from.place(1.0), to.place(1.0));
                if (ay > y) != (by > y) {
                    crossings.push((bx - ax) * (y - ay) / (by - ay) + ax);
                }
            }
        }
        crossings.sort_by(f64::total_cmp);
        let stretch = crossings
            .chunks_exact(2)
            .max_by(|a, b| (a[1] - a[0]).total_cmp(&(b[1] - b[0])));
        (stretch.map_or(0.0, |s| s[0].midpoint(s[1])), y)
    }
}
