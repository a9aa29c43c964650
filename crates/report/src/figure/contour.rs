//! Lines of equal value over a map, by straight lines across triangles.

/// A round step that divides the values up to `most` in about five.
pub(super) fn step(most: f64) -> Option<f64> {
    if !(most.is_finite() && most > 0.0) {
        return None;
    }
    let rough = most / 5.0;
    let tens = 10.0_f64.powf(rough.log10().floor());
    [1.0, 2.0, 5.0, 10.0].into_iter().map(|by| by * tens).find(|step| *step >= rough)
}

/// A straight piece of a line.
pub(super) type Piece = [(f64, f64); 2];

/// Pieces of the line on which a value is `level`, between the places of a grid; a triangle with a place that has no value
/// has none.
pub(super) fn pieces(
    xs: &[f64],
    ys: &[f64],
    value: &dyn Fn(usize, usize) -> Option<f64>,
    level: f64,
) -> Vec<Piece> {
    let corner = |i: usize, j: usize| Some(((xs[i], ys[j]), value(i, j)?));
    let mut found = Vec::new();
    for i in 1..xs.len() {
        for j in 1..ys.len() {
            let (a, b) = (corner(i - 1, j - 1), corner(i, j));
            for other in [corner(i, j - 1), corner(i - 1, j)] {
                if let (Some(a), Some(b), Some(other)) = (a, b, other) {
                    found.extend(across(&[a, b, other], level));
                }
            }
        }
    }
    found
}

/// The piece across a triangle of places with their values.
fn across(corners: &[((f64, f64), f64); 3], level: f64) -> Option<Piece> {
    let crossing = |from: usize, to: usize| {
        let ((a, value_a), (b, value_b)) = (corners[from], corners[to]);
        if (value_a < level) == (value_b < level) {
            return None;
        }
        let share = (level - value_a) / (value_b - value_a);
        Some((a.0 + share * (b.0 - a.0), a.1 + share * (b.1 - a.1)))
    };
    let mut places = [crossing(0, 1), crossing(1, 2), crossing(2, 0)].into_iter().flatten();
    Some([places.next()?, places.next()?])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_of_a_plane_lie_on_it_and_stop_where_a_value_is_missing() {
        let axis: Vec<f64> = (0..6).map(f64::from).collect();
        let value = |i: usize, j: usize| (i < 5 || j < 5).then(|| 2.0 * axis[i] + axis[j]);
        let found = pieces(&axis, &axis, &value, 7.5);
        assert!(found.len() >= 8, "{}", found.len());
        assert!(found.iter().flatten().all(|(x, y)| (2.0 * x + y - 7.5).abs() < 1e-12));
        assert!(
            pieces(&axis, &axis, &value, 15.0).is_empty() && pieces(&axis, &axis, &value, -1.0).is_empty()
        );
        assert!(!pieces(&axis, &axis, &value, 13.5).is_empty());
    }

    #[test]
    fn steps_are_round_and_about_five() {
        assert_eq!([432.0, 100.0, 9.0, 0.31].map(step), [Some(100.0), Some(20.0), Some(2.0), Some(0.1)]);
        assert_eq!((step(0.0), step(f64::NAN)), (None, None));
    }
}
