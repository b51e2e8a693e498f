//! What the bounds of a station are made from, as a line of JSON: what its families say by themselves at some places and
//! beside them, what they said of readings that they had not seen, the truth, and the bound as it is now. With it the
//! figures by which bounds are widened are looked for without making a fit again (`tests/reference/widths.py`).

use evenfield::field::Predicted;
use evenfield::geometry::Place;
use evenfield::progress::Progress;
use serde_json::{Value, json};

use crate::methods::{fitted, of_field, settings};
use crate::station::Station;

/// Columns and rows of the map that are looked at, at most; its rim among them.
const COLUMNS: usize = 12;
const ROWS: usize = 9;

/// # Errors
/// In words: why there is none.
pub fn line(kind: &str, group: &str, station: &Station) -> Result<String, String> {
    let settings = settings(station, None);
    let fitted = fitted(&settings, &station.samples)?;
    let answer = of_field(station, &fitted, 0.0).map_err(|_| "cancelled".to_owned())?;
    let more = answer.more.ok_or("no field")?;
    let (mut places, mut truth): (Vec<Place>, Vec<f64>) = some_of(&station.map).into_iter().unzip();
    places.push(station.coldest_at.at_height(station.assessed));
    truth.push(station.coldest);
    let (means, covariance) = fitted.of_families(&places).ok_or("no joint draws")?;
    let read: Vec<Place> = station.samples.iter().map(|s| s.at).collect();
    let (said, _) = fitted.of_families(&read).ok_or("no joint draws")?;
    let foretold = fitted.foretold().ok_or("nothing was left out")?;
    let pairs = |all: &[Predicted]| -> Vec<Value> {
        all.iter().map(|(i, e)| json!([i, short(*e)])).collect()
    };
    let irradiance = fitted
        .irradiance(&places, &Progress::new())
        .map_err(|_| "cancelled".to_owned())?;
    let coldest = more.at;
    let line = json!({
        "kind": kind, "group": group, "seed": station.seed, "read": station.plan.name(),
        "face": station.face.height, "mirrors": settings.mirrors, "noise": fitted.noise(),
        "height": station.assessed, "true_coldest": station.coldest,
        "coldest": answer.coldest, "coldest_at": [coldest.x, coldest.y], "bound": answer.assured,
        "misses": fitted.misses(),
        "shares": more.families.iter().map(|f| json!([format!("{:?}", f.0), f.1])).collect::<Vec<_>>(),
        "samples": station.samples.iter().map(|s| json!([s.at.x, s.at.y, s.at.height, short(s.irradiance), s.position])).collect::<Vec<_>>(),
        "said": said.iter().map(|v| short(*v)).collect::<Vec<_>>(),
        "places": places.iter().map(|p| json!([short(p.x), short(p.y)])).collect::<Vec<_>>(),
        "truth": truth.iter().map(|v| short(*v)).collect::<Vec<_>>(),
        "field": irradiance.iter().map(|v| short(*v)).collect::<Vec<_>>(),
        "means": means.iter().map(|v| short(*v)).collect::<Vec<_>>(),
        "covariance": covariance.iter().map(|v| short(*v)).collect::<Vec<_>>(),
        "left_out": pairs(&foretold.positions), "ring": pairs(&foretold.ring),
    });
    Ok(line.to_string())
}

/// Six digits are more than enough, and half of the file.
fn short(value: f64) -> f64 {
    format!("{value:.5e}").parse().unwrap_or(value)
}

/// Nodes of the map spread over its columns and rows.
fn some_of(map: &[(Place, f64)]) -> Vec<(Place, f64)> {
    let lines = |of: &dyn Fn(&Place) -> f64, most: usize| {
        let mut all: Vec<f64> = map.iter().map(|(at, _)| of(at)).collect();
        all.sort_by(f64::total_cmp);
        all.dedup();
        let n = all.len();
        let most = most.min(n).max(2);
        let each = (0..most).map(|i| all[(i * (n - 1) + (most - 1) / 2) / (most - 1)]);
        each.collect::<Vec<f64>>()
    };
    let (xs, ys) = (lines(&|p| p.x, COLUMNS), lines(&|p| p.y, ROWS));
    let on = |at: &Place| xs.contains(&at.x) && ys.contains(&at.y);
    map.iter().copied().filter(|(at, _)| on(at)).collect()
}
