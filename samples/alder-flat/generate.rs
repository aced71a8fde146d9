//! Makes the files of the invented field Alder Flat: boundary, creek, soil cores, cone pushes.
//!
//! Nothing here was measured. Farm, field, laboratory and results are made up so that every factor the program knows
//! shows somewhere. Only exact arithmetic is used (no sines, no logarithms), so that the bytes are the same everywhere.
//!
//! ```text
//! cargo run --example generate_alder_flat            writes beside this file
//! ```
#![allow(
    clippy::print_stdout,
    clippy::new_without_default,
    dead_code,
    missing_docs
)]

use std::fmt::Write as _;
use std::path::Path;
use std::{fs, io};

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng as _, SeedableRng as _};

const SEED: u64 = 20_261_014;
/// The invented field's centre and the size of a degree there, in metres (WGS 84 at 44.2 degrees north).
const CENTRE: Point = Point(-95.8712, 44.2138);
const METRES_PER_DEGREE: Point = Point(79_930.0, 111_110.0);
const MARK: &str = "invented: no such farm, field or laboratory";
pub const CONE_DEPTHS_IN: [u32; 7] = [2, 4, 6, 9, 12, 15, 18];

/// East and north of the field's centre in metres, or longitude and latitude.
#[derive(Clone, Copy)]
pub struct Point(pub f64, pub f64);

fn main() -> io::Result<()> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/alder-flat");
    for (name, text) in files() {
        fs::write(folder.join(name), text)?;
        println!("samples/alder-flat/{name}");
    }
    Ok(())
}

/// All files, name and text.
#[must_use]
pub fn files() -> Vec<(&'static str, String)> {
    let field = FieldShape::new();
    vec![
        ("boundary.geojson", field.boundary_geojson()),
        ("creek.geojson", field.creek_geojson()),
        ("cores.csv", cores_csv(&field)),
        ("cone.csv", cone_csv(&field)),
    ]
}

// ---------------------------------------------------------------------------------------------------- shape

pub struct FieldShape {
    outline: Vec<Point>,
    waterway: Vec<Point>,
    creek: Vec<Point>,
}

impl FieldShape {
    #[allow(clippy::too_many_lines, reason = "a table: a line for each layer")]
    #[must_use]
    pub fn new() -> Self {
        // Roads west and north; a wood lot bites into the south-west corner; a creek bends along the east.
        let wood_lot = [
            (-430.0, -150.0),
            (-372.0, -176.0),
            (-318.0, -196.0),
            (-292.0, -262.0),
            (-304.0, -330.0),
            (-318.0, -392.0),
        ];
        let south = [
            (-318.0, -392.0),
            (-180.0, -398.0),
            (-40.0, -404.0),
            (70.0, -412.0),
            (150.0, -404.0),
        ];
        let bank = [
            (150.0, -404.0),
            (232.0, -372.0),
            (296.0, -318.0),
            (318.0, -240.0),
            (296.0, -160.0),
            (306.0, -80.0),
            (362.0, -18.0),
            (424.0, 52.0),
            (446.0, 140.0),
            (428.0, 226.0),
            (436.0, 310.0),
            (430.0, 396.0),
        ];
        let mut outline = vec![Point(-430.0, 396.0)];
        for run in [&wood_lot[..], &south[..], &bank[..]] {
            outline.extend(
                curve(run, 7)
                    .into_iter()
                    .skip(usize::from(run[0] != wood_lot[0])),
            );
        }
        // The creek keeps 3 to 16 m from the field's edge, so that its setback cuts in at some bends only.
        let off = [
            14.0, 9.0, 3.0, 4.0, 12.0, 16.0, 8.0, 3.0, 5.0, 11.0, 14.0, 16.0,
        ];
        let creek: Vec<_> = bank
            .iter()
            .zip(off)
            .map(|(p, off)| (p.0 + off * 0.9, p.1 - off * 0.45))
            .collect();
        let spine = curve(
            &[
                (-150.0, 236.0),
                (-92.0, 150.0),
                (8.0, 84.0),
                (64.0, -6.0),
                (112.0, -104.0),
                (196.0, -196.0),
            ],
            5,
        );
        Self {
            outline,
            waterway: ribbon(&spine, 7.0, 11.0),
            creek: curve(&creek, 7),
        }
    }

    #[must_use]
    pub fn contains(&self, p: Point) -> bool {
        ring_contains(&self.outline, p) && !ring_contains(&self.waterway, p)
    }

    /// Inside, and this far from every edge.
    fn contains_with_margin(&self, p: Point, margin: f64) -> bool {
        let clear = |ring: &[Point]| {
            (0..ring.len())
                .all(|i| distance_to_segment(p, ring[i], ring[(i + 1) % ring.len()]) >= margin)
        };
        self.contains(p) && clear(&self.outline) && clear(&self.waterway)
    }

    fn boundary_geojson(&self) -> String {
        let hole: Vec<Point> = self.waterway.iter().rev().copied().collect();
        let rings = format!("[{}, {}]", ring_text(&self.outline), ring_text(&hole));
        feature_collection(
            "Alder Flat",
            "the hole is a grassed waterway",
            "Polygon",
            &rings,
        )
    }

    fn creek_geojson(&self) -> String {
        let line: Vec<String> = self.creek.iter().map(|p| position(*p)).collect();
        feature_collection(
            "Alder Creek",
            "centre line of the creek",
            "LineString",
            &format!("[{}]", line.join(", ")),
        )
    }
}

fn feature_collection(name: &str, note: &str, kind: &str, coordinates: &str) -> String {
    format!(
        "{{\n\"type\": \"FeatureCollection\",\n\"features\": [\n{{\"type\": \"Feature\", \"properties\": {{\"name\": \"{name}\", \"origin\": \"{MARK}\", \
         \"note\": \"{note}\"}},\n \"geometry\": {{\"type\": \"{kind}\", \"coordinates\": {coordinates}}}}}\n]\n}}\n"
    )
}

fn ring_text(ring: &[Point]) -> String {
    let closed: Vec<String> = ring
        .iter()
        .chain(ring.first())
        .map(|p| position(*p))
        .collect();
    format!("[{}]", closed.join(", "))
}

fn position(p: Point) -> String {
    let Point(lon, lat) = to_degrees(p);
    format!("[{lon:.7}, {lat:.7}]")
}

#[must_use]
pub fn to_degrees(p: Point) -> Point {
    Point(
        CENTRE.0 + p.0 / METRES_PER_DEGREE.0,
        CENTRE.1 + p.1 / METRES_PER_DEGREE.1,
    )
}

/// A Catmull-Rom curve through the points, both ends included.
fn curve(through: &[(f64, f64)], steps: u32) -> Vec<Point> {
    let at = |i: isize| through[i.clamp(0, through.len() as isize - 1) as usize];
    let mut points = Vec::new();
    for i in 0..through.len() as isize - 1 {
        let (a, b, c, d) = (at(i - 1), at(i), at(i + 1), at(i + 2));
        for step in 0..steps {
            let t = f64::from(step) / f64::from(steps);
            let blend = |a: f64, b: f64, c: f64, d: f64| {
                0.5 * (2.0 * b
                    + (c - a) * t
                    + (2.0 * a - 5.0 * b + 4.0 * c - d) * t * t
                    + (3.0 * b - a - 3.0 * c + d) * t * t * t)
            };
            points.push(Point(blend(a.0, b.0, c.0, d.0), blend(a.1, b.1, c.1, d.1)));
        }
    }
    let last = at(through.len() as isize - 1);
    points.push(Point(last.0, last.1));
    points
}

/// A strip along a line, its half width growing from one end to the other, counter-clockwise.
fn ribbon(spine: &[Point], from: f64, to: f64) -> Vec<Point> {
    let side = |sign: f64| -> Vec<Point> {
        (0..spine.len())
            .map(|i| {
                let (a, b) = (
                    spine[i.saturating_sub(1)],
                    spine[(i + 1).min(spine.len() - 1)],
                );
                let (dx, dy) = (b.0 - a.0, b.1 - a.1);
                let width = sign * (from + (to - from) * i as f64 / (spine.len() - 1) as f64)
                    / (dx * dx + dy * dy).sqrt();
                Point(spine[i].0 + dy * width, spine[i].1 - dx * width)
            })
            .collect()
    };
    let mut ring = side(1.0);
    ring.extend(side(-1.0).into_iter().rev());
    ring
}

fn ring_contains(ring: &[Point], p: Point) -> bool {
    let crosses = |i: usize| {
        let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
        (a.1 > p.1) != (b.1 > p.1) && p.0 < (b.0 - a.0) * (p.1 - a.1) / (b.1 - a.1) + a.0
    };
    (0..ring.len()).filter(|i| crosses(*i)).count() % 2 == 1
}

fn distance_to_segment(p: Point, a: Point, b: Point) -> f64 {
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let t = (((p.0 - a.0) * dx + (p.1 - a.1) * dy) / (dx * dx + dy * dy)).clamp(0.0, 1.0);
    let (ex, ey) = (p.0 - a.0 - t * dx, p.1 - a.1 - t * dy);
    (ex * ex + ey * ey).sqrt()
}

// ---------------------------------------------------------------------------------------------------- chance

pub struct Chance(ChaCha8Rng);

impl Chance {
    /// One stream per purpose, so that a change to one file leaves the others as they are.
    fn new(stream: u64) -> Self {
        Self::seeded(SEED, stream)
    }

    /// The same of another seed.
    #[must_use]
    pub fn seeded(seed: u64, stream: u64) -> Self {
        let mut generator = ChaCha8Rng::seed_from_u64(seed);
        generator.set_stream(stream);
        Self(generator)
    }

    fn uniform(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Mean 0, standard deviation 1, near enough to normal: twelve uniform numbers less six.
    pub fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.uniform()).sum::<f64>() - 6.0
    }
}

/// A smooth random field, mean 0 and standard deviation 1: white noise on a lattice, averaged with a bell of finite reach.
/// Two places further apart than about 1.2 times the reach have next to nothing in common.
struct Smooth {
    noise: Vec<f64>,
    reach: f64,
}

impl Smooth {
    const STEP: f64 = 40.0;
    const SIDE: usize = 48;

    fn new(stream: u64, reach: f64) -> Self {
        let mut chance = Chance::new(stream);
        Self {
            noise: (0..Self::SIDE * Self::SIDE)
                .map(|_| chance.normal())
                .collect(),
            reach,
        }
    }

    fn at(&self, p: Point) -> f64 {
        let half = Self::SIDE as f64 / 2.0;
        let (mut sum, mut squares) = (0.0, 0.0);
        for (i, noise) in self.noise.iter().enumerate() {
            let (x, y) = (
                (i % Self::SIDE) as f64 - half,
                (i / Self::SIDE) as f64 - half,
            );
            let (dx, dy) = (x * Self::STEP - p.0, y * Self::STEP - p.1);
            let near = 1.0 - (dx * dx + dy * dy) / (self.reach * self.reach);
            if near > 0.0 {
                sum += near * near * noise;
                squares += near * near * near * near;
            }
        }
        sum / squares.sqrt()
    }
}

/// A place of its own kind: 1 in the middle of an ellipse, 0 outside, smooth between.
fn patch(p: Point, centre: (f64, f64), reach: (f64, f64)) -> f64 {
    let (dx, dy) = ((p.0 - centre.0) / reach.0, (p.1 - centre.1) / reach.1);
    ease((1.0 - dx * dx - dy * dy) / 0.65)
}

fn ease(t: f64) -> f64 {
    let t = t.clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

// ---------------------------------------------------------------------------------------------------- soil

/// What is the matter where, each 0 to 1.
pub struct Trouble {
    pub acid: f64,
    knoll: f64,
    outlet: f64,
    flat: f64,
    worn: f64,
    sour_top: f64,
    pub sandy: f64,
    pub lane: f64,
}

impl Trouble {
    #[must_use]
    pub fn at(p: Point) -> Self {
        let flat = patch(p, (40.0, -275.0), (250.0, 185.0));
        Self {
            acid: patch(p, (-250.0, -165.0), (245.0, 225.0)) * (1.0 - 0.8 * flat),
            knoll: patch(p, (290.0, 225.0), (190.0, 165.0)),
            outlet: patch(p, (215.0, -262.0), (165.0, 165.0)),
            flat,
            worn: patch(p, (-290.0, 165.0), (260.0, 215.0)),
            sour_top: patch(p, (10.0, 110.0), (250.0, 235.0)),
            sandy: patch(p, (300.0, 10.0), (190.0, 150.0)),
            lane: ease((p.1 - 262.0) / 70.0),
        }
    }
}

/// The smooth part of everything that was "measured".
pub struct Soil {
    texture: Smooth,
    reaction: Smooth,
    humus: Smooth,
    ratio: Smooth,
    phosphate: Smooth,
    potash: Smooth,
    magnesium: Smooth,
    density: Smooth,
}

impl Soil {
    #[must_use]
    pub fn new() -> Self {
        let smooth = |stream, reach| Smooth::new(stream, reach);
        Self {
            texture: smooth(11, 330.0),
            reaction: smooth(12, 270.0),
            humus: smooth(13, 300.0),
            ratio: smooth(14, 280.0),
            phosphate: smooth(15, 260.0),
            potash: smooth(16, 280.0),
            magnesium: smooth(17, 300.0),
            density: smooth(18, 240.0),
        }
    }
}

/// One row of the laboratory's table, numbers as printed.
pub struct Analysis {
    pub ph: f64,
    pub buffer_ph: Option<f64>,
    pub organic_matter: f64,
    pub water_extract: Option<(f64, f64)>,
    pub p: f64,
    pub k: f64,
    pub ca: f64,
    pub mg: f64,
    pub na: f64,
    pub sulfur_boron_zinc: Option<(f64, f64, f64)>,
    pub ec: f64,
    pub cec: f64,
}

/// Share of the exchange sites that hold bases, by pH in water: 100 % from pH 7, about 53 % at pH 5 (invented curve).
fn base_saturation(ph: f64) -> f64 {
    let short = (7.0 - ph).max(0.0);
    (1.0 - 0.14 * short - 0.0475 * short * short).max(0.2)
}

#[must_use]
pub fn round_to(value: f64, step: f64) -> f64 {
    (value / step).round() * step
}

impl Soil {
    #[allow(clippy::too_many_lines, reason = "a table: a line for each analyte")]
    pub fn analysis(&self, p: Point, is_surface: bool, chance: &mut Chance) -> Analysis {
        let trouble = Trouble::at(p);
        let mut noise = |deviation: f64| deviation * chance.normal();
        let stratified = if is_surface {
            0.08 + 0.75 * trouble.sour_top
        } else {
            0.0
        };
        let ph = 6.48 + 0.2 * self.reaction.at(p) - 0.95 * trouble.acid
            + 1.65 * trouble.knoll
            + 1.42 * trouble.outlet
            - 0.1 * trouble.sandy;
        let ph = round_to((ph - stratified + noise(0.17)).clamp(4.9, 8.3), 0.1);
        let organic_matter =
            3.7 + 0.5 * self.humus.at(p) + 0.2 * self.texture.at(p) + 0.7 * trouble.flat
                - 1.1 * trouble.knoll;
        let organic_matter =
            (organic_matter - 1.0 * trouble.sandy - 0.5 * trouble.worn + noise(0.38)).max(1.2);
        let sites = 19.5 + 2.4 * self.texture.at(p) + 3.5 * trouble.flat + 3.5 * trouble.knoll
            - 6.0 * trouble.sandy
            + noise(1.5);
        let sites = (sites + if is_surface { 0.9 } else { 0.0 }).max(7.5);
        // Laboratory arithmetic backwards: acidity from an SMP buffer is 12 x (7 - buffer pH) meq/100 g.
        let buffer_ph = (ph < 7.0).then(|| {
            round_to(
                7.0 - sites * (1.0 - base_saturation(ph)) / 12.0 + noise(0.015),
                0.01,
            )
        });
        let acidity = buffer_ph.map_or(0.0, |buffer| (12.0 * (7.0 - buffer)).max(0.0));
        let bases = sites - acidity;
        let mg = 0.125
            + 0.012 * self.magnesium.at(p)
            + 0.165 * trouble.flat
            + 0.02 * trouble.outlet
            + noise(0.017);
        let mg = round_to(mg * sites * 120.0, 1.0);
        let k = (158.0 + 16.0 * self.potash.at(p) + 8.0 * self.texture.at(p)
            - 66.0 * trouble.sandy
            + noise(19.0))
        .max(40.0);
        let k = round_to(if is_surface { k * 1.35 } else { k }, 1.0);
        let salts = trouble.outlet * (1.0 + noise(0.2));
        let na = round_to(
            (21.0 + 3.0 * self.texture.at(p) + noise(4.0)).max(6.0)
                + 230.0 * sites * 0.19 * salts.max(0.0),
            1.0,
        );
        let ca = round_to(
            (bases - mg / 120.0 - k / 390.0 - na / 230.0).max(1.0) * 200.0,
            10.0,
        );
        let phosphate =
            (31.0 + 4.5 * self.phosphate.at(p) - 18.0 * trouble.acid - 13.0 * trouble.knoll
                + noise(5.0))
            .max(4.0);
        let ratio = 18.2 + 0.65 * self.ratio.at(p) - 5.4 * trouble.worn + noise(0.9);
        let carbon = round_to((54.0 * organic_matter + noise(18.0)).max(40.0), 1.0);
        let sulfur = 6.8 + noise(1.5);
        let boron = 0.78 + 0.06 * self.humus.at(p) - 0.6 * trouble.sandy + noise(0.11);
        let zinc = 1.45 + 0.18 * self.humus.at(p) - 1.3 * trouble.knoll + noise(0.22);
        Analysis {
            ph,
            buffer_ph,
            organic_matter: organic_matter * if is_surface { 1.22 } else { 1.0 },
            water_extract: (!is_surface).then(|| (carbon, carbon / ratio)),
            p: phosphate * if is_surface { 1.45 } else { 1.0 },
            k,
            ca,
            mg,
            na,
            sulfur_boron_zinc: (!is_surface).then_some((sulfur, boron, zinc)),
            ec: (0.62
                + 0.05 * self.texture.at(p)
                + 6.2 * salts * if is_surface { 1.1 } else { 1.0 }
                + noise(0.1))
            .max(0.15),
            cec: ca / 200.0 + mg / 120.0 + k / 390.0 + na / 230.0 + acidity,
        }
    }

    /// Cone index in psi at each depth mark.
    pub fn push(&self, p: Point, chance: &mut Chance) -> [f64; 7] {
        let trouble = Trouble::at(p);
        let base = [72.0, 98.0, 118.0, 150.0, 176.0, 196.0, 212.0];
        let pan = [35.0, 75.0, 205.0, 255.0, 85.0, 25.0, 10.0];
        let tight = [92.0, 96.0, 82.0, 40.0, 15.0, 5.0, 0.0];
        let whole_push = 1.0 + 0.1 * self.density.at(p) + 0.09 * chance.normal();
        std::array::from_fn(|i| {
            let soil =
                base[i] + pan[i] * trouble.lane + tight[i] * trouble.flat.max(trouble.outlet);
            round_to(
                (soil * whole_push * (1.0 + 0.11 * chance.normal())).max(20.0),
                5.0,
            )
        })
    }
}

// ---------------------------------------------------------------------------------------------------- files

/// Points on a jittered grid, in walking order: west to east on one row, east to west on the next.
#[must_use]
pub fn walk(
    field: &FieldShape,
    spacing: f64,
    jitter: f64,
    margin: f64,
    chance: &mut Chance,
) -> Vec<Point> {
    let steps = (1_000.0 / spacing) as i32;
    let mut points = Vec::new();
    for row in 0..steps {
        let mut line: Vec<Point> = (0..steps)
            .map(|column| {
                let shift = if row % 2 == 0 { 0.0 } else { spacing / 2.0 };
                let x = -480.0
                    + shift
                    + f64::from(column) * spacing
                    + (2.0 * chance.uniform() - 1.0) * jitter;
                Point(
                    x,
                    440.0 - f64::from(row) * spacing + (2.0 * chance.uniform() - 1.0) * jitter,
                )
            })
            .filter(|p| field.contains_with_margin(*p, margin))
            .collect();
        if row % 2 == 1 {
            line.reverse();
        }
        points.extend(line);
    }
    points
}

/// A value under the reporting limit is printed as the laboratory does it: `<0.3`.
fn at_least(value: f64, limit: f64, decimals: usize) -> String {
    if value < limit {
        format!("<{limit:.decimals$}")
    } else {
        format!("{value:.decimals$}")
    }
}

fn cores_csv(field: &FieldShape) -> String {
    let (soil, mut places, mut chance) = (Soil::new(), Chance::new(1), Chance::new(2));
    let mut text = String::from(
        "core,lon,lat,from_in,to_in,pH,BpH,OM %,WEOC ppm,WEON ppm,P ppm,K ppm,Ca ppm,Mg ppm,Na ppm,S ppm,B ppm,Zn ppm,EC dS/m,CEC meq/100g,origin\n",
    );
    for (i, p) in walk(field, 95.0, 17.0, 14.0, &mut places)
        .into_iter()
        .enumerate()
    {
        let Point(lon, lat) = to_degrees(p);
        for is_surface in [true, false] {
            let row = soil.analysis(p, is_surface, &mut chance);
            let depth = if is_surface { "0,2" } else { "0,6" };
            let _ = write!(text, "AF{:02},{lon:.7},{lat:.7},{depth},", i + 1);
            write_analysis(&mut text, &row, i);
        }
    }
    text
}

/// The analysis of one sample. Cores 17 and 44 ran short of soil for the water extract, core 29 for the traces.
pub fn write_analysis(text: &mut String, row: &Analysis, core: usize) {
    let buffer = row.buffer_ph.map_or(String::new(), |b| format!("{b:.2}"));
    let extract = row
        .water_extract
        .filter(|_| core != 16 && core != 43)
        .map_or(",".to_owned(), |(c, n)| format!("{c:.0},{n:.1}"));
    let traces =
        row.sulfur_boron_zinc
            .filter(|_| core != 28)
            .map_or(",,".to_owned(), |(s, b, zn)| {
                format!(
                    "{},{},{}",
                    at_least(s, 5.0, 0),
                    at_least(b, 0.3, 2),
                    at_least(zn, 0.2, 2)
                )
            });
    let _ = writeln!(
        text,
        "{:.1},{buffer},{:.1},{extract},{:.0},{:.0},{:.0},{:.0},{:.0},{traces},{:.2},{:.1},invented",
        row.ph, row.organic_matter, row.p, row.k, row.ca, row.mg, row.na, row.ec, row.cec
    );
}

fn cone_csv(field: &FieldShape) -> String {
    let (soil, mut places, mut chance) = (Soil::new(), Chance::new(3), Chance::new(4));
    let marks: Vec<String> = CONE_DEPTHS_IN.iter().map(|d| format!("d{d}")).collect();
    let mut text = format!("push,lon,lat,{},note,origin\n", marks.join(","));
    for (i, p) in walk(field, 61.5, 12.0, 9.0, &mut places)
        .into_iter()
        .enumerate()
    {
        let Point(lon, lat) = to_degrees(p);
        let readings = soil.push(p, &mut chance);
        // Every 31st push or so met a stone: what lies below is blank, not soft.
        let stopped_at = (i % 31 == 12).then_some(3 + i % 3);
        let cells: Vec<String> = readings
            .iter()
            .enumerate()
            .map(|(j, v)| {
                if stopped_at.is_some_and(|at| j >= at) {
                    String::new()
                } else {
                    format!("{v:.0}")
                }
            })
            .collect();
        let note = stopped_at.map_or(String::new(), |at| {
            format!("stone below {} in", CONE_DEPTHS_IN[at - 1])
        });
        let _ = writeln!(
            text,
            "C{:03},{lon:.7},{lat:.7},{},{note},invented",
            i + 1,
            cells.join(",")
        );
    }
    text
}
