//! Makes the INVENTED farm Three Alders: for each field a plan, an outline and soil cores. Nothing here was measured; no such farm exists.
//!
//!     cargo run --example generate_three_alders
//!
//! Exact arithmetic only, so that it writes the same bytes on every machine.

use std::fmt::Write as _;

/// What is the matter with a field.
pub struct Field {
    /// Its folder.
    pub folder: String,
    /// Its name.
    pub name: String,
    crop: &'static str,
    /// Lines of its plan that set what the farm says otherwise.
    own: &'static str,
    /// South-west corner, degrees.
    corner: (f64, f64),
    /// pH in the south-west, and what is added to the east and to the north.
    ph: (f64, f64, f64),
    /// Phosphorus in the same way, ppm.
    phosphorus: (f64, f64, f64),
    seed: u64,
}

/// Size of a field, degrees: about 340 by 330 m.
const WIDTH: f64 = 0.004;
const HEIGHT: f64 = 0.003;
/// Cores along a side.
const SIDE: u32 = 6;

/// The three fields of the sample.
#[must_use]
pub fn fields() -> Vec<Field> {
    let field = |folder: &str, name: &str, crop, own, corner, ph, phosphorus, seed| Field {
        folder: folder.to_owned(),
        name: name.to_owned(),
        crop,
        own,
        corner,
        ph,
        phosphorus,
        seed,
    };
    vec![
        field(
            "creek",
            "Creek Bottom",
            "corn",
            "",
            (-83.6200, 40.9000),
            (5.2, 1.4, 0.1),
            (34.0, -4.0, 6.0),
            11,
        ),
        field(
            "home",
            "Home Forty",
            "corn",
            "",
            (-83.6120, 40.9000),
            (6.4, 0.3, -0.2),
            (9.0, 4.0, 24.0),
            12,
        ),
        field(
            "knoll",
            "Knoll",
            "soybean",
            "\n[machine]\ntank = \"200 gal\"    # the small planter; all else as the farm says\n",
            (-83.6120, 40.9060),
            (5.6, 0.2, 1.5),
            (40.0, 3.0, -3.0),
            13,
        ),
    ]
}

/// A field of a larger farm, for tests: as the first one, a little further north-east and with other soil.
#[allow(dead_code, reason = "the sample has three fields, tests have more")]
#[must_use]
pub fn another(number: u32) -> Field {
    let step = f64::from(number);
    let [mut field, ..] = <[Field; 3]>::try_from(fields()).unwrap_or_else(|_| unreachable!());
    field.folder = format!("f{number:03}");
    field.name = format!("Field {number}");
    field.corner = (-83.70 + 0.008 * step, 41.0);
    field.ph.0 += 0.1 * f64::from(number % 7);
    field.ph.1 -= 0.3 * f64::from(number % 5);
    field.seed = 100 + u64::from(number);
    field
}

impl Field {
    /// Name and text of each file, below the farm's folder.
    #[must_use]
    pub fn files(&self) -> Vec<(String, String)> {
        let path = |name: &str| format!("{}/{name}", self.folder);
        vec![
            (path("plan.toml"), self.plan()),
            (path("boundary.geojson"), self.boundary()),
            (path("cores.csv"), self.cores()),
        ]
    }

    fn plan(&self) -> String {
        format!(
            "# INVENTED: no such field. What is not said here stands in ../farm.toml.\n\
             field    = \"{}\"\n\
             crop     = \"{}\"\n\
             boundary = {{ file = \"boundary.geojson\" }}\n\
             \n\
             [[points]]\n\
             file   = \"cores.csv\"\n\
             kind   = \"cores\"\n\
             crs    = \"EPSG:4326\"\n\
             x      = \"lon\"\n\
             y      = \"lat\"\n\
             id     = \"core\"\n\
             depth  = \"0-6 in\"\n\
             ignore = [\"origin\"]\n\
             \n  \
               [points.columns]\n  \
               \"pH\"           = {{ is = \"ph\", method = \"water\" }}\n  \
               \"BpH\"          = {{ is = \"buffer_ph\", method = \"smp\" }}\n  \
               \"P ppm\"        = {{ is = \"p\", method = \"mehlich-3\", unit = \"ppm\" }}\n  \
               \"K ppm\"        = {{ is = \"k\", method = \"ammonium-acetate\", unit = \"ppm\" }}\n  \
               \"Ca ppm\"       = {{ is = \"ca\", method = \"ammonium-acetate\", unit = \"ppm\" }}\n  \
               \"Mg ppm\"       = {{ is = \"mg\", method = \"ammonium-acetate\", unit = \"ppm\" }}\n  \
               \"Na ppm\"       = {{ is = \"na\", method = \"ammonium-acetate\", unit = \"ppm\" }}\n  \
               \"EC dS/m\"      = {{ is = \"ec\", method = \"paste\", unit = \"dS/m\" }}\n  \
               \"CEC meq/100g\" = {{ is = \"cec\", method = \"sum\", unit = \"meq/100g\" }}\n{}",
            self.name, self.crop, self.own
        )
    }

    /// The corner and the size with one corner of the field cut off.
    fn boundary(&self) -> String {
        let spot = |u: f64, v: f64| {
            format!(
                "[{:.6},{:.6}]",
                self.corner.0 + u * WIDTH,
                self.corner.1 + v * HEIGHT
            )
        };
        let ring = [
            (0.0, 0.0),
            (1.0, 0.0),
            (1.0, 0.8),
            (0.8, 1.0),
            (0.0, 1.0),
            (0.0, 0.0),
        ];
        let ring: Vec<String> = ring.iter().map(|(u, v)| spot(*u, *v)).collect();
        format!(
            "{{\"type\":\"FeatureCollection\",\"features\":[{{\"type\":\"Feature\",\"properties\":{{\"name\":\"{}\",\"origin\":\"invented\"}},\"geometry\":{{\"type\":\"Polygon\",\"coordinates\":[[{}]]}}}}]}}\n",
            self.name,
            ring.join(",")
        )
    }

    fn cores(&self) -> String {
        let mut text =
            "core,lon,lat,pH,BpH,P ppm,K ppm,Ca ppm,Mg ppm,Na ppm,EC dS/m,CEC meq/100g,origin\n"
                .to_owned();
        let mut chance = Chance(self.seed);
        let mut number = 0;
        for row in 0..SIDE {
            for column in 0..SIDE {
                let [u, v] = [column, row]
                    .map(|at| (f64::from(at) + 0.3 + 0.4 * chance.next()) / f64::from(SIDE));
                // The corner that the outline cuts off.
                if u + v > 1.72 {
                    continue;
                }
                number += 1;
                let line = self.core(number, (u, v), &mut chance);
                text.push_str(&line);
            }
        }
        text
    }

    fn core(&self, number: u32, (u, v): (f64, f64), chance: &mut Chance) -> String {
        let noise = |size: f64, chance: &mut Chance| size * (chance.next() - 0.5);
        let ph = self.ph.0 + self.ph.1 * u + self.ph.2 * v + noise(0.15, chance);
        let (p0, east, north) = self.phosphorus;
        let phosphorus = (p0 + east * u + north * v + noise(3.0, chance)).max(3.0);
        let cec = 14.0 + 5.0 * u * v + noise(0.4, chance);
        let buffer = 6.95 - 0.33 * (6.9 - ph).max(0.0);
        let acid = (12.0 * (7.0 - buffer)).max(0.0);
        let (potassium, magnesium, sodium) = (0.022 * cec, 0.16 * cec, 0.008 * cec);
        let calcium = (cec - acid - potassium - magnesium - sodium).max(1.0);
        let ec = 0.45 + noise(0.1, chance);
        let mut line = String::new();
        let sum = calcium + acid + potassium + magnesium + sodium;
        let buffer = if ph < 6.9 {
            format!("{buffer:.2}")
        } else {
            String::new()
        };
        let sum = if buffer.is_empty() { sum - acid } else { sum };
        let _ = writeln!(
            line,
            "C{number:02},{:.6},{:.6},{ph:.1},{buffer},{phosphorus:.0},{:.0},{:.0},{:.0},{:.0},{ec:.2},{sum:.1},invented",
            self.corner.0 + u * WIDTH,
            self.corner.1 + v * HEIGHT,
            potassium * 391.0,
            calcium * 200.4,
            magnesium * 121.6,
            sodium * 230.0,
        );
        line
    }
}

/// Numbers from 0 to 1 that look like chance (Numerical Recipes' quick generator of 64 bits, Knuth's constants).
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> f64 {
        const STEP: u64 = 6_364_136_223_846_793_005;
        self.0 = self
            .0
            .wrapping_mul(STEP)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 40) as f64 / (1u64 << 24) as f64
    }
}

/// Writes the files beside this one.
#[allow(dead_code, reason = "tests take the files alone")]
fn main() -> std::io::Result<()> {
    let here = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/three-alders");
    for (name, text) in fields().iter().flat_map(Field::files) {
        let path = here.join(name);
        std::fs::create_dir_all(path.parent().unwrap_or(&here))?;
        std::fs::write(path, text)?;
    }
    Ok(())
}
