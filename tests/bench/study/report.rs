//! The table, and a row a station and method for whoever wants to look closer.

use std::fmt::Write as _;

use evenfield::numeric::quantile::quantile;

use crate::kinds::Kind;
use crate::methods::Method;
use crate::score::Score;

/// One method on one station.
pub struct Row {
    pub kind: Kind,
    pub seed: u64,
    pub method: Method,
    pub station: Option<About>,
    pub outcome: Result<Score, String>,
}

/// What a row says of its station, which may have failed.
#[derive(Clone, Copy)]
pub struct About {
    pub columns: usize,
    pub rows: usize,
    pub heights: usize,
    pub readings: usize,
    pub rim_percent: f64,
    pub coldest: f64,
    pub draw_seconds: f64,
}

/// The interval that holds a share with 95 % confidence (Wilson 1927).
fn wilson(hits: usize, n: usize) -> (f64, f64) {
    const Z: f64 = 1.959_963_985;
    let (hits, n) = (hits as f64, n as f64);
    let share = hits / n;
    let spread = Z * (share * (1.0 - share) / n + Z * Z / (4.0 * n * n)).sqrt();
    let (middle, whole) = (share + Z * Z / (2.0 * n), 1.0 + Z * Z / n);
    ((middle - spread) / whole, (middle + spread) / whole)
}

/// Aligned text: all kinds together first, then each.
pub fn table(rows: &[Row], kinds: &[Kind], methods: &[Method]) -> String {
    let mut text = format!(
        "{:<12} {:<9} {:>5} {:>5} | {:>7} {:>7} | {:>7} {:>7} {:>7} | {:>6} {:>15} {:>7} | {:>8}\n",
        "kind",
        "method",
        "n",
        "fail",
        "map 50",
        "map 90",
        "|e| 50",
        "e 95",
        "e worst",
        "holds",
        "95 % interval",
        "below",
        "fit ms"
    );
    let alone = kinds.iter().map(|&k| Some(k));
    let groups = (kinds.len() > 1).then_some(None).into_iter().chain(alone);
    for kind in groups {
        for &method in methods {
            let of_group = |row: &&Row| row.method == method && kind.is_none_or(|k| k == row.kind);
            let group: Vec<&Row> = rows.iter().filter(of_group).collect();
            line(&mut text, kind.map_or("all", Kind::name), method, &group);
        }
    }
    text
}

fn line(text: &mut String, kind: &str, method: Method, group: &[&Row]) {
    let scores: Vec<&Score> = group
        .iter()
        .filter_map(|r| r.outcome.as_ref().ok())
        .collect();
    let at = |values: &[f64], p: f64| {
        quantile(values, p).map_or_else(|| "-".to_owned(), |v| format!("{v:.2}"))
    };
    let maps: Vec<f64> = scores.iter().filter_map(|s| s.map_rms).collect();
    let errors: Vec<f64> = scores.iter().map(|s| s.coldest).collect();
    let sizes: Vec<f64> = errors.iter().map(|e| e.abs()).collect();
    let below: Vec<f64> = scores.iter().filter_map(|s| s.below).collect();
    let times: Vec<f64> = scores.iter().map(|s| 1e3 * s.fit_seconds).collect();
    let (holds, interval) = if below.is_empty() {
        ("-".to_owned(), "-".to_owned())
    } else {
        let hits = below.iter().filter(|b| **b >= 0.0).count();
        let (low, high) = wilson(hits, below.len());
        let share = 100.0 * hits as f64 / below.len() as f64;
        (
            format!("{share:.1}"),
            format!("{:.1} to {:.1}", 100.0 * low, 100.0 * high),
        )
    };
    let _ = writeln!(
        text,
        "{:<12} {:<9} {:>5} {:>5} | {:>7} {:>7} | {:>7} {:>7} {:>7} | {:>6} {:>15} {:>7} | {:>8}",
        kind,
        method.name(),
        scores.len(),
        group.len() - scores.len(),
        at(&maps, 0.5),
        at(&maps, 0.9),
        at(&sizes, 0.5),
        at(&errors, 0.95),
        at(&errors, 1.0),
        holds,
        interval,
        at(&below, 0.5),
        at(&times, 0.5),
    );
}

/// Methods against each other on the same stations: the mean quantile score of their bounds, which is smallest for the true
/// 5 % quantile (Gneiting & Raftery 2007, eq. 40), in percent of the truth, and how often the first one's is the smaller.
pub fn pair(rows: &[Row], first: Method, second: Method) -> Option<String> {
    const TAIL: f64 = 0.05;
    let loss = |below: f64| {
        if below >= 0.0 {
            TAIL * below
        } else {
            (TAIL - 1.0) * below
        }
    };
    let of = |row: &Row| -> Option<f64> { Some(loss(row.outcome.as_ref().ok()?.below?)) };
    let losses: Vec<(f64, f64)> = rows
        .iter()
        .filter(|row| row.method == first)
        .filter_map(|row| {
            let same = |other: &&Row| {
                other.method == second && other.kind == row.kind && other.seed == row.seed
            };
            Some((of(row)?, of(rows.iter().find(same)?)?))
        })
        .collect();
    let n = losses.len();
    if n < 2 {
        return None;
    }
    let mean = |each: &dyn Fn(&(f64, f64)) -> f64| losses.iter().map(each).sum::<f64>() / n as f64;
    let gain = mean(&|l| l.1 - l.0);
    let spread = mean(&|l| (l.1 - l.0 - gain).powi(2)).sqrt() / ((n - 1) as f64).sqrt();
    let better = losses.iter().filter(|l| l.0 < l.1).count();
    let (low, high) = wilson(better, n);
    let (one, other) = (first.name(), second.name());
    Some(format!(
        "bounds of {one} and {other} on {n} stations: mean score {:.3} and {:.3}, {one} better by {gain:.3} (standard error \
         {spread:.3}), and on {:.0} % of the stations ({:.0} to {:.0})\n",
        mean(&|l| l.0),
        mean(&|l| l.1),
        100.0 * better as f64 / n as f64,
        100.0 * low,
        100.0 * high,
    ))
}

/// What `auto` over all kinds together does worse than it should; nothing when all is well. The floors are what 400
/// stations a kind gave, with room for the chance of a few.
pub fn below_floors(rows: &[Row]) -> Vec<String> {
    let scores: Vec<&Score> = rows
        .iter()
        .filter(|row| row.method == Method::Field(None))
        .filter_map(|row| row.outcome.as_ref().ok())
        .collect();
    if scores.is_empty() {
        return vec!["no station was answered by auto".into()];
    }
    let holding = scores.iter().filter(|s| s.below.is_some_and(|b| b >= 0.0));
    let holds = 100.0 * holding.count() as f64 / scores.len() as f64;
    let median = |values: Vec<f64>| quantile(&values, 0.5).unwrap_or(f64::INFINITY);
    let map = median(scores.iter().filter_map(|s| s.map_rms).collect());
    let coldest = median(scores.iter().map(|s| s.coldest.abs()).collect());
    let below = median(scores.iter().filter_map(|s| s.below).collect());
    let mut breaches = Vec::new();
    let mut at_most = |what: &str, value: f64, most: f64| {
        if value.is_nan() || value > most {
            breaches.push(format!("{what} is {value:.2} %, floor {most} %"));
        }
    };
    at_most("median error of the map", map, 1.2);
    at_most("median error of the coldest spot", coldest, 2.2);
    at_most(
        "the assured minimum's median distance below the truth",
        below,
        5.0,
    );
    at_most("share of bounds that do not hold", 100.0 - holds, 13.0);
    breaches
}

/// Comma-separated, a row a station and method; what is not there is left empty.
pub fn csv(rows: &[Row]) -> String {
    let mut text = String::from(
        "seed,kind,columns,rows,heights,readings,rim_percent,true_coldest,method,map_rms,coldest_error,holds,below,\
         fit_seconds,draw_seconds,failure\n",
    );
    for row in rows {
        let _ = write!(text, "{},{},", row.seed, row.kind.name());
        let drawn = match &row.station {
            Some(s) => {
                let _ = write!(
                    text,
                    "{},{},{},{},{:.3},{:.5},",
                    s.columns, s.rows, s.heights, s.readings, s.rim_percent, s.coldest
                );
                format!("{:.4}", s.draw_seconds)
            }
            None => {
                text.push_str(",,,,,,");
                String::new()
            }
        };
        let _ = match &row.outcome {
            Ok(s) => {
                let shown = |v: Option<f64>| v.map_or_else(String::new, |v| format!("{v:.5}"));
                let holds = s.below.map_or("", |b| if b >= 0.0 { "1" } else { "0" });
                writeln!(
                    text,
                    "{},{},{:.5},{holds},{},{:.5},{drawn},",
                    row.method.name(),
                    shown(s.map_rms),
                    s.coldest,
                    shown(s.below),
                    s.fit_seconds
                )
            }
            Err(failure) => {
                let plain = failure.replace([',', '\n', '"'], " ");
                writeln!(text, "{},,,,,,{drawn},{plain}", row.method.name())
            }
        };
    }
    text
}
