//! Natural neighbours (Sibson 1981): at a place each of its neighbours counts by the area that a cell of its own would
//! take from theirs. Readings are met, and linear functions come back exactly, inside the hull of the positions.

use spade::{DelaunayTriangulation, HasPosition, Point2, PositionInTriangulation, Triangulation};

use crate::field::Sample;
use crate::field::readings::Reach;
use crate::geometry::Place;
use crate::numeric::exponential::bounded;
use crate::numeric::neighbours::vertex;

/// All places of readings at one height, and what was read there.
#[derive(Debug, Clone, Copy)]
struct Read {
    at: Point2<f64>,
    /// Sum and number of what was read, mW/cm².
    sum: f64,
    count: f64,
}

impl Read {
    fn mean(&self) -> f64 {
        self.sum / self.count
    }
}

impl HasPosition for Read {
    type Scalar = f64;

    fn position(&self) -> Point2<f64> {
        self.at
    }
}

type Mesh = DelaunayTriangulation<Read>;

/// A surface at each height that was read at three places or more, not on one line. Between two of them, and beyond,
/// the logarithm of irradiance is linear in height. Outside the hull of its positions a surface goes on as it is at
/// the nearest place of the hull.
#[derive(Debug, Clone)]
pub(in crate::field) struct NaturalNeighbour {
    /// By height, ascending, mm.
    layers: Vec<(f64, Mesh)>,
}

impl NaturalNeighbour {
    /// `None` where no height was read at three places that are not on one line.
    pub fn new(samples: &[Sample], reach: &Reach) -> Option<Self> {
        let mut reads: Vec<Vec<Read>> = vec![Vec::new(); reach.heights.len()];
        for sample in samples {
            reads[reach.height_block(sample.at.height)].push(Read {
                at: vertex(sample.at.point()),
                sum: sample.irradiance,
                count: 1.0,
            });
        }
        let layers = reach.heights.iter().zip(reads);
        let layers: Vec<(f64, Mesh)> = layers
            .filter_map(|(&height, reads)| Some((height, mesh(reads)?)))
            .collect();
        (!layers.is_empty()).then_some(Self { layers })
    }

    /// The field at places, mW/cm², into `out` of the same length.
    pub fn values(&self, places: &[Place], out: &mut [f64]) {
        let surfaces = self.layers.iter().map(|(_, mesh)| surface(mesh, places));
        let each: Vec<Vec<f64>> = surfaces.collect();
        for (i, (place, value)) in places.iter().zip(out).enumerate() {
            *value = self.between(place.height, |layer| each[layer][i]);
        }
    }

    fn between(&self, height: f64, at: impl Fn(usize) -> f64) -> f64 {
        let layers = &self.layers;
        if layers.len() == 1 {
            return at(0);
        }
        let above = layers.partition_point(|(h, _)| *h <= height);
        let low = above.saturating_sub(1).min(layers.len() - 2);
        let (from, to) = (layers[low].0, layers[low + 1].0);
        let part = (height - from) / (to - from);
        if part == 0.0 {
            return at(low);
        }
        let (a, b) = (at(low).ln(), at(low + 1).ln());
        bounded(a + part * (b - a)).exp()
    }

    /// What the other samples say at those with these indices; `None` when they no longer span any surface. The field
    /// is afterwards as it was.
    pub fn without(
        &mut self,
        samples: &[Sample],
        reach: &Reach,
        left_out: &[usize],
    ) -> Option<Vec<f64>> {
        let mut taken = Vec::with_capacity(left_out.len());
        for &i in left_out {
            let at = vertex(samples[i].at.point());
            let height = reach.heights[reach.height_block(samples[i].at.height)];
            let layer = self.layers.iter().position(|(h, _)| *h == height);
            let Some(layer) = layer else { continue };
            let mesh = &mut self.layers[layer].1;
            let Some(vertex) = mesh.locate_vertex(at).map(|v| v.fix()) else {
                continue;
            };
            taken.push((layer, *mesh.vertex(vertex).data()));
            if mesh.vertex(vertex).data().count > 1.5 {
                let read = mesh.vertex_data_mut(vertex);
                read.sum -= samples[i].irradiance;
                read.count -= 1.0;
            } else {
                mesh.remove(vertex);
            }
        }
        let spans = self
            .layers
            .iter()
            .all(|(_, mesh)| mesh.num_inner_faces() > 0);
        let predicted = spans.then(|| {
            let places: Vec<Place> = left_out.iter().map(|&i| samples[i].at).collect();
            let mut values = vec![0.0; places.len()];
            self.values(&places, &mut values);
            values
        });
        // An insertion at a place that is there replaces what is there: the first taken is the whole.
        for (layer, read) in taken.into_iter().rev() {
            self.layers[layer].1.insert(read).ok()?;
        }
        predicted
    }
}

/// `None` when all places are on one line.
fn mesh(mut reads: Vec<Read>) -> Option<Mesh> {
    let key = |r: &Read| (r.at.x, r.at.y);
    reads.sort_by(|a, b| {
        let by_place = a.at.x.total_cmp(&b.at.x).then(a.at.y.total_cmp(&b.at.y));
        by_place.then(a.sum.total_cmp(&b.sum))
    });
    let means = reads.chunk_by(|a, b| key(a) == key(b)).map(|same| Read {
        at: same[0].at,
        sum: same.iter().map(|r| r.sum).sum(),
        count: same.len() as f64,
    });
    let mesh = Mesh::bulk_load(means.collect()).ok()?;
    (mesh.num_inner_faces() > 0).then_some(mesh)
}

/// The surface of one height at places, whatever their height.
fn surface(mesh: &Mesh, places: &[Place]) -> Vec<f64> {
    let neighbours = mesh.natural_neighbor();
    let value = |place: &Place| {
        let at = vertex(place.point());
        let inside = !matches!(
            mesh.locate(at),
            PositionInTriangulation::OutsideOfConvexHull(_)
        );
        let found = inside.then(|| neighbours.interpolate(|v| v.data().mean(), at));
        found.flatten().unwrap_or_else(|| on_hull(mesh, at))
    };
    places.iter().map(value).collect()
}

/// At the nearest place of the hull, where only the ends of its edge are neighbours.
fn on_hull(mesh: &Mesh, at: Point2<f64>) -> f64 {
    let mut nearest = (f64::INFINITY, f64::NAN);
    for edge in mesh.convex_hull() {
        let (from, to) = (edge.from(), edge.to());
        let along = edge.project_point(at).relative_position().clamp(0.0, 1.0);
        let distance = edge.distance_2(at);
        if distance < nearest.0 {
            let (a, b) = (from.data().mean(), to.data().mean());
            nearest = (distance, a + along * (b - a));
        }
    }
    nearest.1
}

#[cfg(test)]
mod tests {
    use super::*;

    fn samples() -> Vec<Sample> {
        let mut out = Vec::new();
        for i in 0..25_u16 {
            let (x, y) = (f64::from(i % 5) * 20.0, f64::from(i / 5) * 15.0);
            for height in [10.0, 30.0] {
                out.push(Sample {
                    at: Place::new(x, y, height),
                    irradiance: 40.0 + 0.3 * x - 0.2 * y + height + f64::from(i * i % 7),
                    position: usize::from(i),
                    minute: None,
                });
            }
        }
        out.push(out[8]);
        out
    }

    #[test]
    fn readings_are_met_and_the_hull_goes_on() {
        let samples = samples();
        let field = NaturalNeighbour::new(&samples, &Reach::of(&samples)).expect("a field");
        let mut out = [0.0];
        for s in &samples {
            field.values(&[s.at], &mut out);
            assert!((out[0] - s.irradiance).abs() < 1e-9, "{s:?} {out:?}");
        }
        field.values(&[Place::new(-30.0, 15.0, 10.0)], &mut out);
        assert!((out[0] - samples[10].irradiance).abs() < 1e-9, "{out:?}");
    }

    #[test]
    fn leaving_out_is_what_a_field_without_says_and_leaves_it_as_it_was() {
        let samples = samples();
        let reach = Reach::of(&samples);
        let whole = NaturalNeighbour::new(&samples, &reach).expect("a field");
        let mut field = whole.clone();
        let probe = Place::new(33.0, 21.0, 17.0);
        let (mut before, mut after) = ([0.0], [0.0]);
        whole.values(&[probe], &mut before);
        // A position inside, one with repeats, a corner, a repeat alone.
        for left_out in [vec![24, 25], vec![8, 9, 50], vec![0, 1], vec![50]] {
            let said = field.without(&samples, &reach, &left_out).expect("others");
            let kept = (0..samples.len()).filter(|i| !left_out.contains(i));
            let rest: Vec<Sample> = kept.map(|i| samples[i]).collect();
            let other = NaturalNeighbour::new(&rest, &reach).expect("a field");
            for (&i, value) in left_out.iter().zip(&said) {
                let mut wanted = [0.0];
                other.values(&[samples[i].at], &mut wanted);
                assert!((value - wanted[0]).abs() < 1e-9, "{left_out:?}");
            }
            field.values(&[probe], &mut after);
            assert!((after[0] - before[0]).abs() < 1e-9);
        }
    }

    #[test]
    fn nothing_where_all_is_on_a_line() {
        let line: Vec<Sample> = (0..9)
            .map(|i| Sample {
                at: Place::new(f64::from(i) * 10.0, f64::from(i) * 20.0, 5.0),
                irradiance: 20.0,
                position: i as usize,
                minute: None,
            })
            .collect();
        assert!(NaturalNeighbour::new(&line, &Reach::of(&line)).is_none());
    }
}
