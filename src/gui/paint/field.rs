//! The map as a texture: one pixel a node, its centre on the node.

use std::sync::Arc;

use eframe::egui::{
    Color32, ColorImage, Context, Id, Mesh, Shape, TextureHandle, TextureOptions, epaint::Vertex,
    pos2,
};

use super::Canvas;
use crate::field::Raster;
use crate::geometry::Point;
use crate::sheet::colour::ColourScale;
use crate::sheet::drawing::Role;

/// What was made of a raster and a scale, kept from frame to frame. It holds the raster, so that
/// another one can never stand at the same address meanwhile.
#[derive(Clone)]
struct Kept {
    raster: Arc<Raster>,
    scale: ColourScale,
    texture: TextureHandle,
    extrapolated: Arc<[[Point; 2]]>,
}

/// Paints the map with the hatch over its extrapolated parts. Nodes without a value are clear.
/// Colours of nodes are not blended: what is seen at a node is the scale's colour of its value.
pub fn paint(canvas: &Canvas<'_>, raster: &Arc<Raster>, scale: ColourScale, id: Id) {
    let Some(kept) = kept(canvas.painter.ctx(), raster, scale, id) else {
        return;
    };
    let covered = raster.bounds();
    let (Some(a), Some(b)) = (canvas.place(covered.min), canvas.place(covered.max)) else {
        return;
    };
    let (x, u) = span(a.x, b.x, raster.columns);
    let (y, v) = span(a.y, b.y, raster.rows);
    let mut mesh = Mesh::with_texture(kept.texture.id());
    // The plan's y goes up, the texture's first row is the front: corners are named, not sorted.
    let white = Color32::WHITE;
    for (i, j) in [(0, 0), (1, 0), (1, 1), (0, 1)] {
        mesh.vertices.push(Vertex {
            pos: pos2(x[i], y[j]),
            uv: pos2(u[i], v[j]),
            color: white,
        });
    }
    mesh.add_triangle(0, 1, 2);
    mesh.add_triangle(0, 2, 3);
    canvas.painter.add(Shape::mesh(mesh));

    let edges = kept
        .extrapolated
        .iter()
        .filter_map(|[a, b]| Some([canvas.place(*a)?, canvas.place(*b)?]));
    canvas.hatch(edges, &canvas.look(Role::Extrapolated));
}

/// Ends of the quad on the screen and in the texture along one axis. The map ends at its outermost
/// nodes, through the middle of their pixels; a single node has nothing to end at and shows a pixel
/// of the least width that can be seen.
fn span(first: f32, last: f32, nodes: usize) -> ([f32; 2], [f32; 2]) {
    if nodes < 2 {
        return ([first - 3.0, first + 3.0], [0.0, 1.0]);
    }
    let half = 0.5 / nodes as f32;
    ([first, last], [half, 1.0 - half])
}

fn kept(ctx: &Context, raster: &Arc<Raster>, scale: ColourScale, id: Id) -> Option<Kept> {
    let old = ctx.data(|data| data.get_temp::<Kept>(id));
    if let Some(old) = old
        && Arc::ptr_eq(&old.raster, raster)
        && old.scale == scale
    {
        return Some(old);
    }
    let most = ctx.input(|i| i.max_texture_side);
    let new = Kept {
        raster: Arc::clone(raster),
        scale,
        texture: ctx.load_texture("map", image(raster, scale, most)?, TextureOptions::NEAREST),
        extrapolated: outline(raster).into(),
    };
    ctx.data_mut(|data| data.insert_temp(id, new.clone()));
    Some(new)
}

/// The texture's pixels, first row in front. A raster finer than the graphics take shows every so
/// many-th node; one whose vectors do not fit its size shows nothing.
fn image(raster: &Raster, scale: ColourScale, most: usize) -> Option<ColorImage> {
    let (columns, rows) = (raster.columns, raster.rows);
    let nodes = columns.checked_mul(rows)?;
    if nodes == 0 || raster.irradiance.len() != nodes {
        return None;
    }
    let (w, h) = (columns.min(most.max(1)), rows.min(most.max(1)));
    // the node nearest to the middle of pixel i of n
    let node = |i: usize, n: usize, nodes: usize| (2 * i + 1) * nodes / (2 * n);
    let pixels = (0..h)
        .flat_map(|j| (0..w).map(move |i| (i, j)))
        .map(|(i, j)| raster.irradiance[node(j, h, rows) * columns + node(i, w, columns)])
        .map(|e| {
            scale
                .colour(e)
                .map_or(Color32::TRANSPARENT, |[r, g, b]| Color32::from_rgb(r, g, b))
        })
        .collect();
    Some(ColorImage::new([w, h], pixels))
}

/// Edges around the nodes that are extrapolated and have a value, each node a cell from half way to
/// its neighbours, ended where the map ends. Neighbouring edges on one line are joined.
fn outline(raster: &Raster) -> Vec<[Point; 2]> {
    let (columns, rows) = (raster.columns, raster.rows);
    let inside = |c: Option<usize>, r: Option<usize>| {
        let (Some(c), Some(r)) = (c, r) else {
            return false;
        };
        let node = r * columns + c;
        c < columns
            && r < rows
            && raster.extrapolated.get(node).copied().unwrap_or(false)
            && raster.irradiance.get(node).is_some_and(|e| e.is_finite())
    };
    let covered = raster.bounds();
    let corner = |c: usize, r: usize| {
        let x = raster.origin.x + (c as f64 - 0.5) * raster.step_x;
        let y = raster.origin.y + (r as f64 - 0.5) * raster.step_y;
        Point::new(
            x.max(covered.min.x).min(covered.max.x),
            y.max(covered.min.y).min(covered.max.y),
        )
    };
    let mut edges = Vec::new();
    for r in 0..=rows {
        runs(
            columns,
            |c| inside(Some(c), r.checked_sub(1)) != inside(Some(c), Some(r)),
            |from, to| edges.push([corner(from, r), corner(to, r)]),
        );
    }
    for c in 0..=columns {
        runs(
            rows,
            |r| inside(c.checked_sub(1), Some(r)) != inside(Some(c), Some(r)),
            |from, to| edges.push([corner(c, from), corner(c, to)]),
        );
    }
    edges
}

/// Calls `each` with start and end of every run of indices below `n` for which `of` holds.
fn runs(n: usize, of: impl Fn(usize) -> bool, mut each: impl FnMut(usize, usize)) {
    let mut start = None;
    for i in 0..=n {
        match (start, i < n && of(i)) {
            (None, true) => start = Some(i),
            (Some(from), false) => {
                each(from, i);
                start = None;
            }
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::colour::ColourMap;

    fn raster(
        columns: usize,
        rows: usize,
        irradiance: Vec<f64>,
        extrapolated: Vec<bool>,
    ) -> Raster {
        Raster {
            columns,
            rows,
            origin: Point::new(0.0, 0.0),
            step_x: 2.0,
            step_y: 2.0,
            height: 0.0,
            uncertainty: vec![f64::NAN; irradiance.len()],
            irradiance,
            extrapolated,
        }
    }

    const SCALE: ColourScale = ColourScale {
        low: 0.0,
        high: 10.0,
        map: ColourMap::Cividis,
    };

    #[test]
    fn a_pixel_is_its_nodes_colour_and_nothing_where_there_is_no_value() {
        let r = raster(
            3,
            2,
            vec![0.0, 1.0, 2.0, 3.0, f64::NAN, 5.0],
            vec![false; 6],
        );
        let image = image(&r, SCALE, 2048).expect("an image");
        assert_eq!(image.size, [3, 2]);
        for (pixel, e) in image.pixels.iter().zip(&r.irradiance) {
            let wanted = SCALE
                .colour(*e)
                .map_or(Color32::TRANSPARENT, |[r, g, b]| Color32::from_rgb(r, g, b));
            assert_eq!(*pixel, wanted);
        }
    }

    #[test]
    fn a_raster_beyond_the_graphics_is_thinned_evenly() {
        let r = raster(9, 1, (0..9).map(f64::from).collect(), vec![false; 9]);
        let image = image(&r, SCALE, 3).expect("an image");
        let wanted: Vec<_> = [1.0, 4.0, 7.0]
            .map(|e| SCALE.colour(e).expect("finite"))
            .map(|[r, g, b]| Color32::from_rgb(r, g, b))
            .into();
        assert_eq!(image.pixels, wanted);
    }

    #[test]
    fn a_raster_that_does_not_fit_its_size_shows_nothing() {
        assert!(image(&raster(3, 3, vec![1.0; 8], vec![]), SCALE, 64).is_none());
        assert!(image(&raster(0, 3, vec![], vec![]), SCALE, 64).is_none());
        assert!(outline(&raster(2, 2, vec![1.0; 4], vec![])).is_empty());
    }

    #[test]
    fn the_outline_of_extrapolated_nodes_is_joined_and_ends_with_the_map() {
        // the two right columns of a 4 x 3 raster
        let mask = (0..12).map(|i| i % 4 >= 2).collect();
        let edges = outline(&raster(4, 3, vec![1.0; 12], mask));
        let p = Point::new;
        for wanted in [
            [p(3.0, 0.0), p(6.0, 0.0)],
            [p(3.0, 4.0), p(6.0, 4.0)],
            [p(3.0, 0.0), p(3.0, 4.0)],
            [p(6.0, 0.0), p(6.0, 4.0)],
        ] {
            assert!(edges.contains(&wanted), "{wanted:?} is not in {edges:?}");
        }
        assert_eq!(edges.len(), 4);
    }
}
