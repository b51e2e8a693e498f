//! The pictures of a change: both fields on one scale, and the local change.

use std::sync::Arc;

use crate::change::Change;
use crate::field::{Map, Raster, contours, round_levels};
use crate::geometry::{Footprint, Point};
use crate::sheet::colour::{ColourMap, ColourScale};
use crate::sheet::drawing::{Drawing, Item, Role};
use crate::sheet::picture::{Layers, Picture, level_text};
use crate::station::Station;
use crate::units::IrradianceUnit;

/// Values beside a colour bar, about.
const TICKS: usize = 8;

const LAYERS: Layers = Layers {
    map: true,
    contours: true,
    ..Layers::FIXTURE
};

/// Colours of the local change: as far to one side as to the other, at least a whole practical threshold.
pub fn scale(change: &Change) -> Option<ColourScale> {
    let (low, high) = change.map.as_ref()?.range()?;
    let most = low
        .abs()
        .max(high.abs())
        .max(100.0 * change.bars.worth)
        .ceil();
    Some(ColourScale {
        low: -most,
        high: most,
        map: ColourMap::Change,
    })
}

/// The pictures of a change.
#[derive(Debug, Clone)]
pub struct Pictures {
    /// The earlier and the later field.
    pub fields: [Arc<Drawing>; 2],
    /// The colours of both.
    pub scale: ColourScale,
    /// Values of their contours, mW/cm².
    pub levels: Vec<f64>,
    /// The local change, and its colours; `None` where nothing can be said place by place.
    pub local: Option<(Arc<Drawing>, ColourScale)>,
}

/// Both fields on one scale, and the local change; irradiance is written in a unit.
pub fn pictures(
    station: &Station,
    change: &Change,
    maps: [&Map; 2],
    unit: IrradianceUnit,
) -> Pictures {
    let ranges = maps.iter().filter_map(|m| m.raster.range());
    let range = ranges.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)));
    let (low, high) = range.unwrap_or((0.0, 0.0));
    let scale = ColourScale {
        low,
        high,
        map: ColourMap::default(),
    };
    let levels = round_levels(low, high, TICKS);
    let text = level_text(&levels, unit);
    let field = |map: &Map, survey: usize| {
        let lines = contours(&map.raster, &levels);
        let picture = Picture {
            map: Some((&map.raster, scale)),
            unit,
            contours: &lines,
            ..bare(station, survey, map.raster.height)
        };
        Arc::new(picture.drawing(&text))
    };
    let (from, to) = change.surveys;
    Pictures {
        fields: [field(maps[0], from), field(maps[1], to)],
        scale,
        local: difference(station, change)
            .map(Arc::new)
            .zip(self::scale(change)),
        levels,
    }
}

/// What lies on the fixture, without a map.
fn bare(station: &Station, survey: usize, height: f64) -> Picture<'_> {
    Picture {
        survey: Some(survey),
        height: Some(height),
        ..Picture::bare(station, LAYERS)
    }
}

/// The local change in percent over what lies on the fixture: strong colours where it is significant, pale ones elsewhere, lines
/// around zones. `None` where nothing can be said place by place.
pub fn difference(station: &Station, change: &Change) -> Option<Drawing> {
    let (raster, scale) = (change.map.as_ref()?, scale(change)?);
    let mut drawing = bare(station, change.surveys.1, change.height).drawing(&|_| String::new());
    let fine = Fine::of(raster, &station.fixture.footprint());
    let field = |value: &dyn Fn(usize) -> f64, map: ColourMap| Item::Field {
        raster: Arc::new(fine.raster(raster, value)),
        scale: ColourScale { map, ..scale },
    };
    let mut items = vec![field(&|i| raster.irradiance[i], ColourMap::ChangeMuted)];
    let is_marked = |i: usize| change.significant.get(i).copied().unwrap_or(false);
    if change.significant.iter().any(|m| *m) {
        // painters carry a rim's colour outwards, so what is pale keeps a value that has no colour
        let strong = |i: usize| match raster.irradiance[i] {
            v if is_marked(i) || v.is_nan() => v,
            _ => f64::INFINITY,
        };
        items.push(field(&strong, ColourMap::Change));
    }
    let lines = change
        .cold
        .iter()
        .chain(&change.hot)
        .flat_map(|z| &z.outline);
    let lines = lines.map(|points| Item::Path {
        points: points.clone(),
        closed: false,
        role: Role::Border,
    });
    items.append(&mut drawing.items);
    items.extend(lines);
    drawing.items = items;
    Some(drawing)
}

/// Nodes so fine that cells end where a slanting outline does, and which cell each shows.
struct Fine {
    columns: usize,
    rows: usize,
    origin: Point,
    step: f64,
    cells: Vec<Option<usize>>,
}

impl Fine {
    fn of(raster: &Raster, outline: &Footprint) -> Self {
        let b = outline.bounds();
        let step = (b.width().max(b.depth()) / Map::FINE as f64).max(1e-3);
        let count = |length: f64| (length / step).ceil() as usize + 1;
        let (columns, rows) = (count(b.width()), count(b.depth()));
        let cell = |v: f64, from: f64, step: f64, n: usize| {
            (((v - from) / step).round().max(0.0) as usize).min(n - 1)
        };
        let shows = |p: Point| {
            let column = cell(p.x, raster.origin.x, raster.step_x, raster.columns);
            let row = cell(p.y, raster.origin.y, raster.step_y, raster.rows);
            let around = (row.saturating_sub(1)..=(row + 1).min(raster.rows - 1)).flat_map(|r| {
                let columns = column.saturating_sub(1)..=(column + 1).min(raster.columns - 1);
                columns.map(move |c| (r, c))
            });
            // the middle of a cell on the rim may lie outside: then its neighbour speaks for what of it lies inside
            [(row, column)]
                .into_iter()
                .chain(around)
                .map(|(r, c)| r * raster.columns + c)
                .find(|&i| raster.irradiance[i].is_finite())
        };
        let origin = b.min;
        let nodes = (0..columns * rows).map(|i| {
            let (column, row) = ((i % columns) as f64, (i / columns) as f64);
            let p = Point::new(origin.x + step * column, origin.y + step * row);
            outline.contains(p).then(|| shows(p)).flatten()
        });
        Self {
            columns,
            rows,
            origin,
            step,
            cells: nodes.collect(),
        }
    }

    fn raster(&self, of: &Raster, value: &dyn Fn(usize) -> f64) -> Raster {
        Raster {
            columns: self.columns,
            rows: self.rows,
            origin: self.origin,
            step_x: self.step,
            step_y: self.step,
            height: of.height,
            irradiance: self
                .cells
                .iter()
                .map(|c| c.map_or(f64::NAN, value))
                .collect(),
            uncertainty: Vec::new(),
            extrapolated: Vec::new(),
        }
    }
}

/// Values beside the colours of the local change, percent.
pub fn local_ticks(scale: ColourScale) -> Vec<f64> {
    round_levels(scale.low, scale.high, TICKS)
}
