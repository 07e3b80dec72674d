//! The points of a sweep: evenly spaced axes and their product.

/// Evenly spaced values from a start to an end, both reached exactly.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Axis {
    start: f64,
    end: f64,
    count: usize,
}

/// Why there is no such axis or grid. Values are in the unit that the axis was given in.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum GridError {
    /// An end, or the distance between the ends, is not finite.
    #[error("could not build an axis: from {start} to {end}, needs finite ends a finite distance apart")]
    NotFinite {
        /// Start asked for.
        start: f64,
        /// End asked for.
        end: f64,
    },
    /// No values at all.
    #[error("could not build an axis: 0 values, needs 1 or more")]
    NoValues,
    /// The values do not all differ.
    #[error(
        "could not build an axis: {count} values from {start} to {end} do not all differ; one value needs equal ends, more need ends apart"
    )]
    ValuesCoincide {
        /// Start asked for.
        start: f64,
        /// End asked for.
        end: f64,
        /// Number of values asked for.
        count: usize,
    },
    /// The number of points is too large to count.
    #[error("could not build a grid: its {axes} axes have more than {} points together", usize::MAX)]
    TooManyPoints {
        /// Number of axes.
        axes: usize,
    },
}

impl Axis {
    /// An axis of `count` values from `start` to `end`, in any one unit; `end` may lie below `start`.
    ///
    /// # Errors
    /// A [`GridError`] when an end is not finite, when there is no value, when one value is asked for between different
    /// ends, or when the values are closer than an f64 can tell apart.
    ///
    /// # Examples
    /// ```
    /// use study::Axis;
    /// let axis = Axis::build(1.0, 2.0, 5)?;
    /// assert_eq!(axis.values().collect::<Vec<_>>(), [1.0, 1.25, 1.5, 1.75, 2.0]);
    /// # Ok::<(), study::GridError>(())
    /// ```
    pub fn build(start: f64, end: f64, count: usize) -> Result<Axis, GridError> {
        if !(start.is_finite() && end.is_finite() && ((end - start) * count as f64).is_finite()) {
            return Err(GridError::NotFinite { start, end });
        }
        if count == 0 {
            return Err(GridError::NoValues);
        }
        let differ = if count == 1 {
            start == end
        } else {
            // Two steps of one ulp keep rounded neighbours apart.
            let largest = start.abs().max(end.abs());
            (end - start).abs() / (count - 1) as f64 >= 2.0 * (largest.next_up() - largest)
        };
        if differ { Ok(Axis { start, end, count }) } else { Err(GridError::ValuesCoincide { start, end, count }) }
    }

    /// Number of values.
    pub fn count(&self) -> usize {
        self.count
    }

    /// Value number `place`, from 0, in the unit of the axis.
    ///
    /// # Panics
    /// When there is no such value.
    pub fn value(&self, place: usize) -> f64 {
        assert!(place < self.count, "an axis of {} values has no value number {place}", self.count);
        if place == 0 {
            self.start
        } else if place == self.count - 1 {
            self.end
        } else {
            // One division, so that 0 to 1 in 11 values gives the doubles nearest to 0.1, 0.2, ...
            self.start + (self.end - self.start) * place as f64 / (self.count - 1) as f64
        }
    }

    /// All values in order.
    pub fn values(&self) -> impl ExactSizeIterator<Item = f64> + '_ {
        (0..self.count).map(|place| self.value(place))
    }
}

/// The product of several axes: every combination of their values, the last axis changing fastest.
#[derive(Clone, Debug, PartialEq)]
pub struct Grid {
    axes: Vec<Axis>,
    count: usize,
}

impl Grid {
    /// A grid over `axes`. Without axes it has one point, which has no values.
    ///
    /// # Errors
    /// [`GridError::TooManyPoints`] when the number of points does not fit a `usize`.
    ///
    /// # Examples
    /// ```
    /// use study::{Axis, Grid};
    /// let grid = Grid::build(vec![Axis::build(0.0, 1.0, 2)?, Axis::build(5.0, 7.0, 3)?])?;
    /// assert_eq!(grid.count(), 6);
    /// assert_eq!(grid.point(1), [0.0, 6.0]);
    /// assert_eq!(grid.point(3), [1.0, 5.0]);
    /// # Ok::<(), study::GridError>(())
    /// ```
    pub fn build(axes: Vec<Axis>) -> Result<Grid, GridError> {
        let count = axes
            .iter()
            .try_fold(1_usize, |count, axis| count.checked_mul(axis.count))
            .ok_or(GridError::TooManyPoints { axes: axes.len() })?;
        Ok(Grid { axes, count })
    }

    /// The axes, slowest first.
    pub fn axes(&self) -> &[Axis] {
        &self.axes
    }

    /// Number of points.
    pub fn count(&self) -> usize {
        self.count
    }

    /// Values of point number `index`, from 0, one per axis in the order and unit of the axes.
    ///
    /// # Panics
    /// When there is no such point.
    pub fn point(&self, index: usize) -> Vec<f64> {
        let mut point = vec![0.0; self.axes.len()];
        self.write_point(index, &mut point);
        point
    }

    /// As [`Grid::point`], into storage of one value per axis.
    ///
    /// # Panics
    /// When there is no such point, or `point` has another length than there are axes.
    pub fn write_point(&self, index: usize, point: &mut [f64]) {
        assert!(index < self.count, "a grid of {} points has no point number {index}", self.count);
        assert_eq!(point.len(), self.axes.len(), "a point has one value per axis");
        let mut rest = index;
        for (axis, value) in self.axes.iter().zip(point).rev() {
            *value = axis.value(rest % axis.count);
            rest /= axis.count;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_are_exact_and_values_keep_their_order() {
        for (start, end, count) in [(0.1, 0.7, 7), (-3.3, 1.1, 1000), (5.0, -5.0, 64), (1e-300, 1e300, 3)] {
            let axis = Axis::build(start, end, count).unwrap();
            let values: Vec<f64> = axis.values().collect();
            assert_eq!((values[0], values[count - 1], values.len()), (start, end, count));
            let rising = end > start;
            assert!(values.windows(2).all(|pair| (pair[1] > pair[0]) == rising && pair[1] != pair[0]));
        }
    }

    #[test]
    fn tenths_are_the_nearest_doubles() {
        let values: Vec<f64> = Axis::build(0.0, 1.0, 11).unwrap().values().collect();
        assert_eq!(values, [0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0]);
    }

    #[test]
    fn axes_at_the_edge_of_precision_are_strictly_ordered_or_refused() {
        let mut built = 0;
        for ulps in 1..200_u64 {
            let end = f64::from_bits(1.0_f64.to_bits() + ulps);
            for count in 2..40 {
                match Axis::build(1.0, end, count) {
                    Ok(axis) => {
                        built += 1;
                        let values: Vec<f64> = axis.values().collect();
                        assert!(values.windows(2).all(|pair| pair[0] < pair[1]), "{ulps} ulps, {count} values");
                    }
                    Err(error) => assert_eq!(error, GridError::ValuesCoincide { start: 1.0, end, count }),
                }
            }
        }
        assert!(built > 1000, "{built}");
    }

    #[test]
    fn impossible_axes_are_refused() {
        let nan = Axis::build(f64::NAN, 1.0, 3);
        assert!(matches!(nan, Err(GridError::NotFinite { .. })), "{nan:?}");
        let far = Axis::build(-1e308, 1e308, 3);
        assert!(matches!(far, Err(GridError::NotFinite { .. })), "{far:?}");
        assert_eq!(Axis::build(0.0, 1.0, 0), Err(GridError::NoValues));
        assert_eq!(Axis::build(2.0, 2.0, 4), Err(GridError::ValuesCoincide { start: 2.0, end: 2.0, count: 4 }));
        assert_eq!(
            Axis::build(1.0, 2.0, 1).unwrap_err().to_string(),
            "could not build an axis: 1 values from 1 to 2 do not all differ; one value needs equal ends, more need ends apart"
        );
        assert!(Axis::build(2.0, 2.0, 1).is_ok());
    }

    #[test]
    fn the_last_axis_changes_fastest() {
        let axes = [(0.0, 1.0, 2), (10.0, 30.0, 3), (5.0, 5.0, 1), (0.25, 0.75, 2)];
        let axes: Vec<Axis> =
            axes.iter().map(|(start, end, count)| Axis::build(*start, *end, *count).unwrap()).collect();
        let grid = Grid::build(axes.clone()).unwrap();
        // The definition: nested loops.
        let mut nested = Vec::new();
        for first in axes[0].values() {
            for second in axes[1].values() {
                for third in axes[2].values() {
                    for fourth in axes[3].values() {
                        nested.push(vec![first, second, third, fourth]);
                    }
                }
            }
        }
        let points: Vec<Vec<f64>> = (0..grid.count()).map(|index| grid.point(index)).collect();
        assert_eq!(points, nested);
    }

    #[test]
    fn a_grid_without_axes_is_one_point_and_one_too_large_is_refused() {
        let empty = Grid::build(Vec::new()).unwrap();
        assert_eq!((empty.count(), empty.point(0)), (1, Vec::new()));
        let long = Axis::build(0.0, 1.0, 1 << 40).unwrap();
        assert_eq!(Grid::build(vec![long, long]), Err(GridError::TooManyPoints { axes: 2 }));
    }
}
