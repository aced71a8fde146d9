//! A polynomial that stands for the way from degrees to the field's plane, where more points than PROJ has time for lie on one field.
//!
//! The plane is a transverse Mercator about its own middle meridian, so that east is odd and north is even in the longitude
//! from there. Over a field both are so smooth that a polynomial through 28 places agrees with PROJ to far less than a thousandth of a
//! millimetre; that is measured between these places each time, and where it does not hold PROJ does all the work.

use super::projection::{ProjectionError, WorkingCrs};

/// Powers of the squared longitude, and of the latitude.
const SQUARES: usize = 4;
const LATITUDES: usize = 7;
/// Farthest that the polynomial may lie from PROJ, metres. A tenth of a micrometre is far below what any coordinate is known to.
const CLOSE_M: f64 = 1e-7;
/// Places that are brought to the plane at once.
const LANES: usize = 8;
/// Places per side at which the two are compared.
const COMPARED: usize = 9;

/// Observations in one table from which on a projection polynomial is worth its making. Then all tables use it, so that results at one place stay at one.
pub(super) const MANY: usize = 20_000;
/// Share of the field's box that the projection polynomial reaches beyond it on each side: points on the headland and at the neighbour's are on it too.
const MARGIN: f64 = 0.1;

/// Coefficients by power of the squared longitude and of the latitude, both scaled to -1 to 1.
type Polynomial = [[f64; LATITUDES]; SQUARES];

/// The plane over a box of degrees.
pub(super) struct ProjectionPolynomial {
    middle_longitude: f64,
    middle_latitude: f64,
    /// Half the height of the box, degrees.
    half_height: f64,
    /// Half its width, degrees, squared.
    half_width_squared: f64,
    east: Polynomial,
    north: Polynomial,
}

impl ProjectionPolynomial {
    /// The projection polynomial of a field whose box in degrees is west, south, east, north. `None` where it does not agree with PROJ.
    ///
    /// # Errors
    /// Where PROJ cannot project a place of the box.
    pub(super) fn round(
        crs: &WorkingCrs,
        (west, south, east, north): (f64, f64, f64, f64),
    ) -> Result<Option<Self>, ProjectionError> {
        let (wide, high) = (MARGIN * (east - west), MARGIN * (north - south));
        Self::new(crs, (west - wide, south - high, east + wide, north + high))
    }

    fn new(
        crs: &WorkingCrs,
        (west, south, east, north): (f64, f64, f64, f64),
    ) -> Result<Option<Self>, ProjectionError> {
        let half_width = (east - crs.longitude)
            .abs()
            .max((west - crs.longitude).abs());
        let half_height = (north - south) / 2.0;
        if !(half_width > 0.0 && half_height > 0.0 && half_width < 1.0 && half_height < 1.0) {
            return Ok(None);
        }
        let (squares, latitudes) = (nodes::<SQUARES>(), nodes::<LATITUDES>());
        let mut projection_polynomial = Self {
            middle_longitude: crs.longitude,
            middle_latitude: f64::midpoint(south, north),
            half_height,
            half_width_squared: half_width * half_width,
            east: [[0.0; LATITUDES]; SQUARES],
            north: [[0.0; LATITUDES]; SQUARES],
        };
        let mut places = Vec::with_capacity(SQUARES * LATITUDES);
        for square in squares {
            let longitude =
                (f64::midpoint(square, 1.0) * projection_polynomial.half_width_squared).sqrt();
            places.extend(latitudes.map(|latitude| {
                (
                    crs.longitude + longitude,
                    projection_polynomial.middle_latitude + latitude * half_height,
                )
            }));
        }
        let degrees = places.clone();
        crs.project(&mut places)?;
        for (at, (metres, degrees)) in places.iter().zip(degrees).enumerate() {
            projection_polynomial.east[at / LATITUDES][at % LATITUDES] =
                metres.0 / (degrees.0 - crs.longitude);
            projection_polynomial.north[at / LATITUDES][at % LATITUDES] = metres.1;
        }
        for values in [
            &mut projection_polynomial.east,
            &mut projection_polynomial.north,
        ] {
            values
                .iter_mut()
                .for_each(|row| *row = through(latitudes, *row));
            (0..LATITUDES).for_each(|power| {
                let column = through(squares, std::array::from_fn(|row| values[row][power]));
                values
                    .iter_mut()
                    .zip(column)
                    .for_each(|(row, coefficient)| row[power] = coefficient);
            });
        }
        Ok(projection_polynomial
            .agrees(crs)?
            .then_some(projection_polynomial))
    }

    /// Whether the polynomial and PROJ agree all over the box.
    fn agrees(&self, crs: &WorkingCrs) -> Result<bool, ProjectionError> {
        let steps = || (0..COMPARED).map(|step| 2.0 * step as f64 / (COMPARED - 1) as f64 - 1.0);
        let half_width = self.half_width_squared.sqrt();
        let degrees: Vec<(f64, f64)> = steps()
            .flat_map(|x| steps().map(move |y| (x, y)))
            .map(|(x, y)| {
                (
                    self.middle_longitude + x * half_width,
                    self.middle_latitude + y * self.half_height,
                )
            })
            .collect();
        let mut places = degrees.clone();
        crs.project(&mut places)?;
        let off = |(place, degrees): (&(f64, f64), &(f64, f64))| {
            let (east, north) = self.metres(degrees.0, degrees.1);
            (east - place.0).abs().max((north - place.1).abs())
        };
        Ok(places
            .iter()
            .zip(&degrees)
            .map(off)
            .all(|off| off <= CLOSE_M))
    }

    /// Whether a place lies in the box.
    #[inline]
    pub(super) fn holds(&self, longitude: f64, latitude: f64) -> bool {
        let from_middle = longitude - self.middle_longitude;
        from_middle * from_middle <= self.half_width_squared
            && (latitude - self.middle_latitude).abs() <= self.half_height
    }

    /// Brings columns of degrees to metres, in place, as far as they lie in the box; gives the indices of the others.
    pub(super) fn columns(&self, x: &mut [f64], y: &mut [f64]) -> Vec<usize> {
        let mut others = Vec::new();
        for (chunk, (x, y)) in x.chunks_mut(LANES).zip(y.chunks_mut(LANES)).enumerate() {
            let mut are_held = true;
            for (x, y) in x.iter().zip(&*y) {
                are_held &= self.holds(*x, *y);
            }
            if let (Some(x), Some(y), true) = (
                x.first_chunk_mut::<LANES>(),
                y.first_chunk_mut::<LANES>(),
                are_held,
            ) {
                (*x, *y) = self.lanes(*x, *y);
                continue;
            }
            for (at, (x, y)) in x.iter_mut().zip(y).enumerate() {
                if self.holds(*x, *y) {
                    (*x, *y) = self.metres(*x, *y);
                } else {
                    others.push(chunk * LANES + at);
                }
            }
        }
        others
    }

    /// The same as [`Self::metres`] for some places at once.
    #[inline]
    fn lanes(
        &self,
        longitude: [f64; LANES],
        latitude: [f64; LANES],
    ) -> ([f64; LANES], [f64; LANES]) {
        let from_middle = longitude.map(|longitude| longitude - self.middle_longitude);
        let square = from_middle
            .map(|from_middle| 2.0 * (from_middle * from_middle / self.half_width_squared) - 1.0);
        let latitude =
            latitude.map(|latitude| (latitude - self.middle_latitude) / self.half_height);
        let (mut east, north) = (
            values(&self.east, square, latitude),
            values(&self.north, square, latitude),
        );
        for (east, from_middle) in east.iter_mut().zip(from_middle) {
            *east *= from_middle;
        }
        (east, north)
    }

    /// Metres east and north of a place in the box.
    #[inline]
    pub(super) fn metres(&self, longitude: f64, latitude: f64) -> (f64, f64) {
        let from_middle = longitude - self.middle_longitude;
        let square = 2.0 * (from_middle * from_middle / self.half_width_squared) - 1.0;
        let latitude = (latitude - self.middle_latitude) / self.half_height;
        (
            from_middle * value(&self.east, square, latitude),
            value(&self.north, square, latitude),
        )
    }
}

#[inline]
fn value(polynomial: &Polynomial, square: f64, latitude: f64) -> f64 {
    let row = |row: &[f64; LATITUDES]| {
        row.iter()
            .rev()
            .fold(0.0, |sum, coefficient| sum * latitude + coefficient)
    };
    polynomial
        .iter()
        .rev()
        .fold(0.0, |sum, powers| sum * square + row(powers))
}

/// The same as [`value`] at some places at once, in the same order of sums and products.
#[inline]
fn values(polynomial: &Polynomial, square: [f64; LANES], latitude: [f64; LANES]) -> [f64; LANES] {
    let mut sum = [0.0; LANES];
    for powers in polynomial.iter().rev() {
        let mut row = [0.0; LANES];
        for coefficient in powers.iter().rev() {
            for lane in 0..LANES {
                row[lane] = row[lane] * latitude[lane] + coefficient;
            }
        }
        for lane in 0..LANES {
            sum[lane] = sum[lane] * square[lane] + row[lane];
        }
    }
    sum
}

/// Places between -1 and 1 at which a polynomial strays least from what it runs through (the zeros of a Chebyshev polynomial).
fn nodes<const N: usize>() -> [f64; N] {
    std::array::from_fn(|i| ((2 * i + 1) as f64 * std::f64::consts::PI / (2 * N) as f64).cos())
}

/// Coefficients, by rising power, of the polynomial through some values (Newton's divided differences, multiplied out).
fn through<const N: usize>(nodes: [f64; N], mut values: [f64; N]) -> [f64; N] {
    for order in 1..N {
        for i in (order..N).rev() {
            values[i] = (values[i] - values[i - 1]) / (nodes[i] - nodes[i - order]);
        }
    }
    let mut powers = [0.0; N];
    for i in (0..N).rev() {
        for power in (1..N).rev() {
            powers[power] = powers[power - 1] - nodes[i] * powers[power];
        }
        powers[0] = values[i] - nodes[i] * powers[0];
    }
    powers
}

#[cfg(test)]
#[path = "projection_polynomial_tests.rs"]
mod tests;
