//! Which part of the lamp's face light went missing from.

use super::told::OnFace;
use crate::field::Face;
use crate::geometry::{Bounds, Place, Point};

/// Cells of the face along each side.
const CELLS: usize = 12;
/// Rounds of the solver: each lowers what is left by a steady share.
const ROUNDS: usize = 150;

/// Light of a Lambertian patch on a level plane over that of the same patch straight above at 1 mm: cosines at both ends, inverse
/// squares (Lambert's law; any radiometry handbook).
pub fn reaches(at: Place, from: Point, face_height: f64) -> f64 {
    let h = (face_height - at.height).max(1.0);
    let r2 = at.point().distance(from).powi(2) + h * h;
    h * h / (r2 * r2)
}

/// The part of the face whose light is missing, from how much is missing where: losses in mW/cm² at places, the irradiance
/// before, and its relative uncertainty. Patches can only have lost light (non-negative least squares by coordinates). `None`
/// where nothing is missing.
pub fn on_face(
    places: &[Place],
    before: &[f64],
    lost: &[f64],
    face: &Face,
    fixture: Bounds,
) -> Option<OnFace> {
    let bounds = face.outline.as_ref().map_or(fixture, |o| o.bounds());
    let patch = |i: usize| {
        let along =
            |n: usize, from: f64, length: f64| from + length * (n as f64 + 0.5) / CELLS as f64;
        Point::new(
            along(i % CELLS, bounds.min.x, bounds.width()),
            along(i / CELLS, bounds.min.y, bounds.depth()),
        )
    };
    let on = |p: Point| face.outline.as_ref().is_none_or(|o| o.contains(p));
    let patches: Vec<Point> = (0..CELLS * CELLS).map(patch).filter(|p| on(*p)).collect();
    let rows: Vec<Vec<f64>> = patches
        .iter()
        .map(|&p| {
            let each = places.iter().zip(before);
            each.map(|(&at, e)| reaches(at, p, face.height) / e)
                .collect()
        })
        .collect();
    let mut left: Vec<f64> = lost.iter().zip(before).map(|(l, e)| l / e).collect();
    let squares: Vec<f64> = rows.iter().map(|r| r.iter().map(|k| k * k).sum()).collect();
    let mut missing = vec![0.0; patches.len()];
    for _ in 0..ROUNDS {
        for j in 0..patches.len() {
            let slope: f64 = rows[j].iter().zip(&left).map(|(k, l)| k * l).sum();
            let next = (missing[j] + slope / squares[j]).max(0.0);
            let step = next - missing[j];
            if step != 0.0 {
                missing[j] = next;
                left.iter_mut()
                    .zip(&rows[j])
                    .for_each(|(l, k)| *l -= step * k);
            }
        }
    }
    let all: f64 = missing.iter().sum();
    // as bright as an even face that gives the mean of what was read before
    let even: f64 = (0..places.len())
        .map(|i| rows.iter().map(|r| r[i]).sum::<f64>())
        .sum::<f64>()
        / places.len() as f64;
    let whole = patches.len() as f64 / even;
    if all.is_nan() || all <= 1e-3 * whole {
        return None;
    }
    let mean = |of: fn(&Point) -> f64| {
        patches
            .iter()
            .zip(&missing)
            .map(|(p, m)| m * of(p))
            .sum::<f64>()
            / all
    };
    let at = Point::new(mean(|p| p.x), mean(|p| p.y));
    let part = face.outline.as_ref().map(|_| {
        let middle = bounds.centre();
        (
            (at.x - middle.x) / (0.5 * bounds.width()),
            (at.y - middle.y) / (0.5 * bounds.depth()),
        )
    });
    Some(OnFace {
        at,
        share: all / whole,
        part,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Footprint, Shape};

    #[test]
    fn a_dark_patch_is_found_where_it_is() {
        let outline = Footprint::new(
            Shape::Rectangle {
                width: 120.0,
                depth: 120.0,
            },
            Point::new(60.0, 60.0),
        );
        let face = Face {
            height: 70.0,
            outline: Some(outline.clone()),
        };
        let places: Vec<Place> = outline
            .lattice(20.0)
            .into_iter()
            .map(|p| p.at_height(20.0))
            .collect();
        // an even face by a fine sum, and a dark spot: nothing of the solver's own lattice
        let fine = outline.lattice(3.0);
        let before: Vec<f64> = places
            .iter()
            .map(|&at| fine.iter().map(|&p| reaches(at, p, 70.0)).sum())
            .collect();
        let dark: Vec<Point> = fine
            .iter()
            .copied()
            .filter(|p| p.distance(Point::new(87.0, 34.0)) < 12.0)
            .collect();
        let lost: Vec<f64> = places
            .iter()
            .map(|&at| dark.iter().map(|&p| reaches(at, p, 70.0)).sum())
            .collect();
        let found = on_face(&places, &before, &lost, &face, outline.bounds()).expect("a patch");
        assert!(found.at.distance(Point::new(87.0, 34.0)) < 4.0, "{found:?}");
        let share = dark.len() as f64 / fine.len() as f64;
        assert!(
            (found.share / share - 1.0).abs() < 0.35,
            "{found:?} {share}"
        );
        let none = vec![0.0; places.len()];
        assert_eq!(
            on_face(&places, &before, &none, &face, outline.bounds()),
            None
        );
    }
}
