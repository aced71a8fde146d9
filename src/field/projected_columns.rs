//! Whole columns of coordinates brought to the field's plane, on all threads.

use rayon::prelude::*;

use super::projection::{ProjectionError, Route, ToDegrees, WorkingCrs};
use super::projection_polynomial::ProjectionPolynomial;

/// Fewer points than this are not worth a thread, since each thread makes a transformer of its own.
const SMALLEST_PIECE: usize = 20_000;

impl WorkingCrs {
    /// Columns of coordinates in any system to metres east and north, in place. Long columns are shared out
    /// to the threads; each point is converted by itself, so the result does not depend on their number. Where there is a projection polynomial, the
    /// points on it are brought from degrees to the plane by it.
    pub(super) fn project_columns(
        &self,
        crs: &str,
        x: &mut [f64],
        y: &mut [f64],
        projection_polynomial: Option<&ProjectionPolynomial>,
    ) -> Result<Route, ProjectionError> {
        if x.len() <= SMALLEST_PIECE {
            return self.project_piece(crs, (x, y), projection_polynomial);
        }
        let piece = x
            .len()
            .div_ceil(rayon::current_num_threads().max(1))
            .max(SMALLEST_PIECE);
        let pieces = x.par_chunks_mut(piece).zip(y.par_chunks_mut(piece));
        let routes: Vec<Route> = pieces
            .map(|piece| self.project_piece(crs, piece, projection_polynomial))
            .collect::<Result<_, ProjectionError>>()?;
        match routes.into_iter().next() {
            Some(route) => Ok(route),
            None => Ok(ToDegrees::from(crs)?.route()),
        }
    }

    /// Brings a table's places from its own system to metres east and north, in place.
    ///
    /// # Errors
    /// Where the system is not known or a place cannot be projected.
    pub fn project_table(
        &self,
        crs: &str,
        x: &mut [f64],
        y: &mut [f64],
    ) -> Result<(), ProjectionError> {
        self.project_columns(crs, x, y, None).map(|_| ())
    }

    fn project_piece(
        &self,
        crs: &str,
        (x, y): (&mut [f64], &mut [f64]),
        projection_polynomial: Option<&ProjectionPolynomial>,
    ) -> Result<Route, ProjectionError> {
        let degrees = ToDegrees::from(crs)?;
        for (x, y) in x.iter_mut().zip(&mut *y) {
            (*x, *y) = degrees.point(*x, *y)?;
        }
        let others: Vec<usize> = match projection_polynomial {
            Some(projection_polynomial) => projection_polynomial.columns(x, y),
            None => (0..x.len()).collect(),
        };
        if others.is_empty() {
            return Ok(degrees.route());
        }
        self.with_plane(|plane| {
            for at in others {
                (x[at], y[at]) = plane.to_metres(x[at], y[at])?;
            }
            Ok(degrees.route())
        })
    }
}
