//! The map as an image.

use super::item::Ink;
use crate::field::Raster;
use crate::geometry::Point;
use crate::sheet::colour::ColourScale;
use crate::sheet::drawing::{Item, Role};
use crate::sheet::page::Placed;

/// One pixel a node, the node in its middle; the half pixels over the rim are cut off by the outline.
pub(super) fn image(placed: &Placed, raster: &Raster, scale: ColourScale, inks: &mut Vec<Ink>) {
    let (Ok(columns), Ok(rows)) = (u32::try_from(raster.columns), u32::try_from(raster.rows))
    else {
        return;
    };
    if columns == 0 || rows == 0 {
        return;
    }
    let outline = placed.drawing.items.iter().find_map(|item| match item {
        Item::Path {
            points,
            closed: true,
            role: Role::Fixture,
        } => Some(points.iter().map(|&p| placed.on_page(p)).collect()),
        _ => None,
    });
    let reach = raster.bounds();
    let half = Point::new(0.5 * raster.step_x, 0.5 * raster.step_y);
    let upper_left = placed.on_page(Point::new(reach.min.x - half.x, reach.max.y + half.y));
    let lower_right = placed.on_page(Point::new(reach.max.x + half.x, reach.min.y - half.y));
    let mut rgba = Vec::with_capacity(raster.irradiance.len() * 4);
    for row in (0..raster.rows).rev() {
        for column in 0..raster.columns {
            let own = raster.irradiance[row * raster.columns + column];
            let shown = if own.is_nan() && outline.is_some() {
                beside(raster, column, row)
            } else {
                own
            };
            rgba.extend(match scale.colour(shown) {
                Some([r, g, b]) => [r, g, b, 255],
                None => [0; 4],
            });
        }
    }
    let image = Ink::Image {
        at: upper_left,
        size: [
            lower_right[0] - upper_left[0],
            lower_right[1] - upper_left[1],
        ],
        columns,
        rows,
        rgba,
    };
    match outline {
        Some(outline) => inks.extend([Ink::Clip(outline), image, Ink::Unclip]),
        None => inks.push(image),
    }
}

/// For a node just outside the outline: what its nearest neighbour inside shows, so that the part of
/// its pixel that lies inside is not left white. NaN where no neighbour is inside.
fn beside(raster: &Raster, column: usize, row: usize) -> f64 {
    const NEAREST_FIRST: [(isize, isize); 8] = [
        (-1, 0),
        (1, 0),
        (0, -1),
        (0, 1),
        (-1, -1),
        (1, -1),
        (-1, 1),
        (1, 1),
    ];
    NEAREST_FIRST
        .iter()
        .filter_map(|&(dx, dy)| {
            let x = column
                .checked_add_signed(dx)
                .filter(|&x| x < raster.columns)?;
            let y = row.checked_add_signed(dy).filter(|&y| y < raster.rows)?;
            Some(raster.irradiance[y * raster.columns + x])
        })
        .find(|e| e.is_finite())
        .unwrap_or(f64::NAN)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::export::ink::drawing;

    fn image_of(raster: Raster, outline: Option<Role>) -> ([f64; 2], [f64; 2], Vec<u8>) {
        let bounds = raster.bounds();
        let mut items = vec![Item::Field {
            raster: std::sync::Arc::new(raster),
            scale: ColourScale {
                low: 0.0,
                high: 1.0,
                map: Default::default(),
            },
        }];
        items.extend(outline.map(|role| Item::Path {
            points: vec![
                bounds.min,
                Point::new(bounds.max.x, bounds.min.y),
                bounds.max,
            ],
            closed: true,
            role,
        }));
        let frame = crate::sheet::page::Frame {
            x: 10.0,
            y: 20.0,
            width: bounds.width() * 2.0,
            height: bounds.depth() * 2.0,
        };
        let mut painted = Vec::new();
        let placed = Placed {
            drawing: crate::sheet::drawing::Drawing { bounds, items },
            frame,
            scale: 2.0,
        };
        drawing(&placed, &mut painted);
        painted
            .into_iter()
            .find_map(|ink| match ink {
                Ink::Image { at, size, rgba, .. } => Some((at, size, rgba)),
                _ => None,
            })
            .expect("an image")
    }

    fn three_by_two() -> Raster {
        Raster {
            columns: 3,
            rows: 2,
            origin: Point::new(0.0, 0.0),
            step_x: 5.0,
            step_y: 10.0,
            height: 0.0,
            irradiance: vec![0.0, 1.0, f64::NAN, 1.0, f64::NAN, f64::NAN],
            uncertainty: vec![f64::NAN; 6],
            extrapolated: vec![false; 6],
        }
    }

    #[test]
    fn a_pixel_has_its_node_in_its_middle_and_the_back_row_comes_first() {
        let (at, size, rgba) = image_of(three_by_two(), None);
        // 10 mm x 10 mm at 2 : 1 and half a pixel around it
        assert_eq!((at, size), ([5.0, 10.0], [30.0, 40.0]));
        let pixel = |i: usize| &rgba[4 * i..4 * i + 4];
        assert_eq!(pixel(0), pixel(4), "both nodes of 1");
        assert_ne!(pixel(3), pixel(4));
        assert_eq!([pixel(1)[3], pixel(2)[3], pixel(5)[3]], [0, 0, 0]);
    }

    #[test]
    fn pixels_over_the_rim_are_filled_only_where_the_outline_cuts_them() {
        let (.., rgba) = image_of(three_by_two(), Some(Role::Fixture));
        let alpha: Vec<u8> = rgba.chunks(4).map(|p| p[3]).collect();
        assert_eq!(alpha, [255; 6]);
    }
}
