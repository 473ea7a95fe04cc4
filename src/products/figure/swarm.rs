//! Points of one row or column spread apart, so that each is seen: same input, same picture.

/// How far each of several points moves aside, millimetres, so that points of `size` keep clear of
/// each other within `room` on either side; where there is no room left, to where it is covered
/// least. `places` are along the scale, each with how far what it carries reaches back along it.
pub(super) fn swarm(places: &[(f64, f64)], size: f64, room: f64) -> Vec<f64> {
    let step = 0.25 * size;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few steps")]
    let steps = (room / step).floor().max(0.0) as usize;
    let mut placed: Vec<(f64, f64, f64)> = Vec::new();
    for &(along, reach) in places {
        let clear = |aside: f64| {
            let apart = placed.iter().map(|&(other, reached, beside)| {
                let nearest = (other - reached - along).max(along - reach - other).max(0.0);
                nearest.hypot(beside - aside)
            });
            apart.fold(f64::INFINITY, f64::min)
        };
        let asides = (0..=2 * steps).map(|at| {
            let reach = step * at.div_ceil(2) as f64;
            if at % 2 == 0 { reach } else { -reach }
        });
        let mut best = (0.0, f64::NEG_INFINITY);
        for aside in asides {
            let clear = clear(aside);
            if clear > best.1 + 1e-9 {
                best = (aside, clear);
            }
            if clear >= 0.95 * size {
                break;
            }
        }
        placed.push((along, reach, best.0));
    }
    placed.into_iter().map(|(_, _, aside)| aside).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_alike_lie_side_by_side_and_no_two_in_one_place() {
        let asides = swarm(&[(5.0, 0.0), (5.0, 0.0), (5.0, 0.0), (9.0, 0.0)], 1.5, 3.0);
        assert!(asides[3].abs() < 1e-9);
        assert!((asides[0] - asides[1]).abs() >= 1.4 && (asides[1] - asides[2]).abs() >= 1.4);
        let mut crowd = swarm(&[(0.0, 0.0); 9], 1.4, 1.8);
        crowd.sort_by(f64::total_cmp);
        crowd.dedup_by(|a, b| (*a - *b).abs() < 0.1);
        assert!(crowd.len() >= 7 && crowd.iter().all(|aside| aside.abs() <= 1.8), "{crowd:?}");
    }
}
