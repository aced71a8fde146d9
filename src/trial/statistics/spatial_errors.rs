use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

/// A linear model whose errors are alike where places are near: `variance × [(1 - nugget) exp(-distance / range) + nugget at distance 0]`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spatial {
    /// Distance over which the likeness falls to 1/e, metres.
    pub range_m: f64,
    /// Share of the variance that is not shared with any other place, 0 to 1.
    pub nugget: f64,
    /// Standard deviation of an error, unit of the yields.
    pub sigma: f64,
    /// Log of the restricted likelihood.
    pub log_likelihood: f64,
}

/// Coefficients with standard errors that know of the spatial likeness.
#[derive(Debug, Clone, PartialEq)]
pub struct SpatialFit {
    /// Covariance of the errors, by restricted maximum likelihood.
    pub spatial: Spatial,
    /// Least squares coefficients.
    pub least_squares: Vec<f64>,
    /// Their standard errors if all points were independent: far too small.
    pub naive_errors: Vec<f64>,
    /// Their standard errors under the covariance: `(X'X)^-1 X'VX (X'X)^-1`.
    pub spatial_errors: Vec<f64>,
    /// Generalised least squares coefficients.
    pub generalised: Vec<f64>,
    /// Their standard errors.
    pub generalised_errors: Vec<f64>,
}

/// Fits a linear model by least squares and its spatial covariance by restricted maximum likelihood.
///
/// # Shape
/// `yields` and `places` n values, `design` n × p with p below n. `None` where the design has dependent columns or places are too few.
///
/// # Source
/// Standard error: Cho, J.B. et al. 2021. Agronomy 11:2042. Restricted likelihood: Patterson, H.D. and Thompson, R. 1971. Biometrika
/// 58:545-554, with the variance profiled out.
#[must_use]
pub fn spatial_errors(
    yields: &[f64],
    design: &DMatrix<f64>,
    places: &[(f64, f64)],
) -> Option<SpatialFit> {
    let model = Model::new(yields, design, places)?;
    let (log_range, odds) = model.best()?;
    let fit = model.at(log_range, odds)?;
    let inverse = Cholesky::new(design.tr_mul(design))?.inverse();
    let least_squares = &inverse * design.tr_mul(&model.yields);
    let residuals = &model.yields - design * &least_squares;
    let freedom = (yields.len() - design.ncols()) as f64;
    let naive = residuals.norm_squared() / freedom;
    let covariance = model.correlation(log_range, odds) * (fit.sigma * fit.sigma);
    let sandwich = &inverse * design.tr_mul(&(covariance * design)) * &inverse;
    let roots = |matrix: &DMatrix<f64>, factor: f64| -> Vec<f64> {
        matrix
            .diagonal()
            .iter()
            .map(|v| (v * factor).sqrt())
            .collect()
    };
    Some(SpatialFit {
        spatial: Spatial {
            range_m: log_range.exp(),
            nugget: nugget(odds),
            sigma: fit.sigma,
            log_likelihood: fit.log_likelihood,
        },
        least_squares: least_squares.iter().copied().collect(),
        naive_errors: roots(&inverse, naive),
        spatial_errors: roots(&sandwich, 1.0),
        generalised: fit.coefficients.iter().copied().collect(),
        generalised_errors: roots(&fit.inverse, fit.sigma * fit.sigma),
    })
}

/// The nugget's share from its log odds: any number is allowed.
fn nugget(odds: f64) -> f64 {
    1.0 / (1.0 + (-odds).exp())
}

struct Model<'a> {
    yields: DVector<f64>,
    design: &'a DMatrix<f64>,
    /// Distances between places, metres.
    distances: DMatrix<f64>,
}

/// The fit at one covariance.
struct Fit {
    log_likelihood: f64,
    sigma: f64,
    coefficients: DVector<f64>,
    /// `(X'R^-1 X)^-1`.
    inverse: DMatrix<f64>,
}

impl<'a> Model<'a> {
    fn new(yields: &[f64], design: &'a DMatrix<f64>, places: &[(f64, f64)]) -> Option<Self> {
        let n = yields.len();
        if n != design.nrows() || n != places.len() || n <= design.ncols() + 1 {
            return None;
        }
        let distance = |a: usize, b: usize| {
            let ((x, y), (u, v)) = (places[a], places[b]);
            (x - u).hypot(y - v)
        };
        Some(Self {
            yields: DVector::from_column_slice(yields),
            design,
            distances: DMatrix::from_fn(n, n, distance),
        })
    }

    fn correlation(&self, log_range: f64, odds: f64) -> DMatrix<f64> {
        let (range, shared) = (log_range.exp(), 1.0 - nugget(odds));
        let mut correlation = self.distances.map(|d| shared * (-d / range).exp());
        correlation.fill_diagonal(1.0);
        correlation
    }

    /// The restricted likelihood with the variance at its best, and what goes with it.
    fn at(&self, log_range: f64, odds: f64) -> Option<Fit> {
        let root: Cholesky<f64, Dyn> = Cholesky::new(self.correlation(log_range, odds))?;
        let lower = root.l_dirty();
        let design = lower.solve_lower_triangular(self.design)?;
        let yields = lower.solve_lower_triangular(&self.yields)?;
        let normal = Cholesky::new(design.tr_mul(&design))?;
        let coefficients = normal.solve(&design.tr_mul(&yields));
        let square = (&yields - &design * &coefficients).norm_squared();
        let freedom = (self.yields.len() - self.design.ncols()) as f64;
        let variance = square / freedom;
        let log_determinant =
            |l: &DMatrix<f64>| 2.0 * l.diagonal().iter().map(|v| v.ln()).sum::<f64>();
        let log_likelihood = -0.5
            * (freedom * ((std::f64::consts::TAU * variance).ln() + 1.0)
                + log_determinant(lower)
                + log_determinant(normal.l_dirty()));
        (log_likelihood.is_finite() && variance > 0.0).then(|| Fit {
            log_likelihood,
            sigma: variance.sqrt(),
            coefficients,
            inverse: normal.inverse(),
        })
    }

    /// Log range and log odds of the nugget with the largest restricted likelihood.
    fn best(&self) -> Option<(f64, f64)> {
        let longest = self.distances.max();
        if longest <= 0.0 {
            return None;
        }
        let height = |place: [f64; 2]| {
            // Ranges of a millimetre or a thousand fields are no covariances of a field.
            let is_inside = (-7.0..7.0 + longest.ln()).contains(&place[0]) && place[1].abs() < 12.0;
            if is_inside {
                self.at(place[0], place[1])
                    .map_or(f64::NEG_INFINITY, |fit| fit.log_likelihood)
            } else {
                f64::NEG_INFINITY
            }
        };
        let start = [(longest / 8.0).ln(), -1.0];
        let best = climb(start, height);
        height(best).is_finite().then_some((best[0], best[1]))
    }
}

/// The top of a smooth hill over two numbers by the downhill simplex, upside down.
///
/// # Source
/// Nelder, J.A. and Mead, R. 1965. Computer Journal 7:308-313, with their factors 1, 2, 1/2, 1/2.
fn climb(start: [f64; 2], height: impl Fn([f64; 2]) -> f64) -> [f64; 2] {
    const MOST_STEPS: usize = 120;
    const CLOSE: f64 = 1e-7;
    let measured = |place: [f64; 2]| (place, height(place));
    let mut corners = [
        measured(start),
        measured([start[0] + 0.7, start[1]]),
        measured([start[0], start[1] + 1.0]),
    ];
    for _ in 0..MOST_STEPS {
        corners.sort_by(|a, b| b.1.total_cmp(&a.1));
        if corners[0].1 - corners[2].1 < CLOSE {
            break;
        }
        let [best, second, worst] = corners;
        let middle = [
            0.5 * (best.0[0] + second.0[0]),
            0.5 * (best.0[1] + second.0[1]),
        ];
        let along = |factor: f64| {
            measured([
                middle[0] + factor * (worst.0[0] - middle[0]),
                middle[1] + factor * (worst.0[1] - middle[1]),
            ])
        };
        let mirrored = along(-1.0);
        if mirrored.1 > best.1 {
            let further = along(-2.0);
            corners[2] = if further.1 > mirrored.1 {
                further
            } else {
                mirrored
            };
        } else if mirrored.1 > second.1 {
            corners[2] = mirrored;
        } else {
            let nearer = along(if mirrored.1 > worst.1 { -0.5 } else { 0.5 });
            if nearer.1 > worst.1.max(mirrored.1) {
                corners[2] = nearer;
            } else {
                for corner in &mut corners[1..] {
                    *corner = measured([
                        0.5 * (corner.0[0] + best.0[0]),
                        0.5 * (corner.0[1] + best.0[1]),
                    ]);
                }
            }
        }
    }
    corners.sort_by(|a, b| b.1.total_cmp(&a.1));
    corners[0].0
}
