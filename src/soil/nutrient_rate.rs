use super::SoilError;
use super::error::within;

/// A published equation of a nutrient rate:
/// `constant + per_yield Y + per_test X + per_test_and_yield X Y + per_test_squared X² + per_organic_matter OM`.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct RateEquation {
    /// Rate at a test and a yield of zero.
    pub constant: f64,
    /// For each unit of yield.
    pub per_yield: f64,
    /// For each unit of the soil test.
    pub per_test: f64,
    /// For each unit of test times yield.
    pub per_test_and_yield: f64,
    /// For each unit of the test squared.
    pub per_test_squared: f64,
    /// For each percent of organic matter.
    pub per_organic_matter: f64,
}

impl RateEquation {
    /// The rate, in the unit of the coefficients; never less than nothing, and nothing from the first zero on: past its vertex a
    /// parabola would climb again.
    ///
    /// # Units
    /// As the table is printed: the test in ppm or as an index, the yield in the crop's trade unit per acre.
    ///
    /// # Range
    /// Test 0 to 100,000; yield 0 to 250,000; organic matter 0 to 100 %.
    ///
    /// # Errors
    /// [`SoilError`] outside the range.
    ///
    /// # Source
    /// The equation's own; the clamp at the first zero: own.
    ///
    /// # Example
    /// ```
    /// use lowstave::soil::RateEquation;
    /// // North Carolina, table 2.4, equation 14.
    /// let equation = RateEquation { constant: 150.0, per_test: -2.75, per_test_squared: 0.0116, ..RateEquation::default() };
    /// assert!((equation.rate(50.0, 0.0, 0.0).unwrap() - 41.5).abs() < 1e-9);
    /// assert_eq!(equation.rate(200.0, 0.0, 0.0), Ok(0.0));
    /// ```
    pub fn rate(&self, test: f64, yield_goal: f64, organic_matter: f64) -> Result<f64, SoilError> {
        let rule = "a nutrient table";
        let x = within(test, "the soil test", "", 0.0..=100_000.0, rule)?;
        let y = within(yield_goal, "the yield", "", 0.0..=250_000.0, rule)?;
        let matter = within(organic_matter, "organic matter", "%", 0.0..=100.0, rule)?;
        let (at_zero, slope, bend) = self.in_test(y, matter);
        let is_past = first_zero(at_zero, slope, bend).is_some_and(|zero| x >= zero);
        let rate = at_zero + slope * x + bend * x * x;
        Ok(if is_past { 0.0 } else { rate.max(0.0) })
    }

    /// Value at a test of zero, slope and bend at a yield.
    fn in_test(&self, y: f64, matter: f64) -> (f64, f64, f64) {
        (
            self.constant + self.per_yield * y + self.per_organic_matter * matter,
            self.per_test + self.per_test_and_yield * y,
            self.per_test_squared,
        )
    }

    /// Whether the equation asks for a yield.
    #[must_use]
    pub fn needs_yield(&self) -> bool {
        self.per_yield != 0.0 || self.per_test_and_yield != 0.0
    }

    /// Whether the equation asks for organic matter.
    #[must_use]
    pub fn needs_organic_matter(&self) -> bool {
        self.per_organic_matter != 0.0
    }
}

/// The first test at which `a + b x + c x²` is zero, or the vertex of a parabola that opens upward where that comes first.
fn first_zero(a: f64, b: f64, c: f64) -> Option<f64> {
    if a <= 0.0 {
        return Some(0.0);
    }
    if c == 0.0 {
        return (b < 0.0).then(|| -a / b);
    }
    let inside = b * b - 4.0 * a * c;
    let root = (inside >= 0.0).then(|| {
        let root = inside.sqrt();
        let pair = [(-b - root) / (2.0 * c), (-b + root) / (2.0 * c)];
        let rising = pair.into_iter().filter(|x| *x > 0.0);
        rising.fold(f64::INFINITY, f64::min)
    });
    let vertex = (c > 0.0 && b < 0.0).then(|| -b / (2.0 * c));
    [root, vertex].into_iter().flatten().reduce(f64::min)
}

/// The parts of a rate that builds a soil test up and maintains it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct BuildAndMaintain {
    /// What lifts the test, a year.
    pub build: f64,
    /// What the crop takes, and what the table adds to it, a year.
    pub maintain: f64,
}

/// Build-up below the critical level, removal up to the maintenance limit, nothing above.
///
/// `build = (critical - test) x per ppm and year`, `maintain = removal + addition`.
///
/// # Units
/// Test and levels in ppm of one extractant; masses in the unit of `per_ppm`, per year.
///
/// # Range
/// Test 0 to 10,000 ppm.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Form of the Tri-State Fertilizer Recommendations (E-2567, 1995; Bulletin 974, 2020), from memory: no drawdown since 2020.
pub fn build_and_maintain(
    test: f64,
    (critical, limit): (f64, f64),
    per_ppm: f64,
    removal: f64,
) -> Result<BuildAndMaintain, SoilError> {
    let test = within(
        test,
        "the soil test",
        "ppm",
        0.0..=10_000.0,
        "a build-up table",
    )?;
    if test > limit {
        return Ok(BuildAndMaintain::default());
    }
    Ok(BuildAndMaintain {
        build: (critical - test).max(0.0) * per_ppm,
        maintain: removal,
    })
}

/// The rate of a table of steps: each begins at its value and holds to the next, on the unrounded test.
#[must_use]
pub fn rate_of_steps(steps: &[(f64, f64)], test: f64) -> f64 {
    steps
        .iter()
        .rev()
        .find(|(from, _)| test >= *from)
        .map_or(0.0, |(_, rate)| *rate)
}
