//! The table, and a row a station and method for whoever wants to look closer.

use std::fmt::Write as _;

use evenfield::numeric::quantile::quantile;

use crate::intervals::clopper_pearson;
use crate::methods::Method;
use crate::score::{Detail, Score};
use crate::station::{Plan, Station, Wrong};

/// One method on one station as read by one plan.
pub struct Row {
    pub kind: String,
    /// Kinds that are alike.
    pub group: String,
    pub seed: u64,
    pub plan: Plan,
    pub wrong: Wrong,
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
    /// From the assessed height up to the face, mm.
    pub distance: f64,
    /// From one position to the next along x and y, mm.
    pub spacing: (f64, f64),
    pub draw_seconds: f64,
}

impl About {
    pub fn of(station: &Station, draw_seconds: f64) -> Self {
        let (width, depth) = station.fixture.shape.size();
        let apart =
            |extent: f64, n: usize| (extent - 2.0 * station.plan.inset()) / (n.max(2) - 1) as f64;
        Self {
            columns: station.columns,
            rows: station.rows,
            heights: station.heights.len(),
            readings: station.samples.len(),
            rim_percent: station.rim_percent,
            coldest: station.coldest,
            distance: station.face.height - station.assessed,
            spacing: (apart(width, station.columns), apart(depth, station.rows)),
            draw_seconds,
        }
    }
}

/// In the order in which they come.
fn each_once<T: PartialEq>(all: impl Iterator<Item = T>) -> Vec<T> {
    let mut found = Vec::new();
    for one in all {
        if !found.contains(&one) {
            found.push(one);
        }
    }
    found
}

/// Aligned text, a block for each thing that is wrong, each plan and each method: all kinds together, then groups, then
/// kinds.
pub fn table(rows: &[Row]) -> String {
    let mut text = format!(
        "{:<10} {:<7} {:<8} {:<15} {:>5} {:>4} | {:>6} {:>6} | {:>6} {:>6} {:>7} | {:>5} {:>13} {:>6} {:>6} {:>7} {:>6} | {:>6} | {:>6}\n",
        "wrong",
        "read",
        "method",
        "kind",
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
        "open",
        "said",
        "said 5",
        "places",
        "fit ms"
    );
    let kinds = each_once(rows.iter().map(|r| &r.kind));
    let of_group = |group: &str| {
        let members = rows.iter().filter(|r| r.group == group).map(|r| &r.kind);
        each_once(members).len()
    };
    let groups = each_once(rows.iter().map(|r| &r.group));
    let groups: Vec<&String> = groups
        .into_iter()
        .filter(|g| of_group(g) > 1 && of_group(g) < kinds.len())
        .collect();
    let blocks = each_once(rows.iter().map(|r| (r.wrong, r.plan, r.method)));
    for block in blocks {
        let here: Vec<&Row> = rows
            .iter()
            .filter(|r| (r.wrong, r.plan, r.method) == block)
            .collect();
        if kinds.len() > 1 {
            line(&mut text, "all", block, &here);
        }
        for group in &groups {
            let some: Vec<&Row> = here
                .iter()
                .copied()
                .filter(|r| r.group == **group)
                .collect();
            line(&mut text, &format!("({group})"), block, &some);
        }
        for kind in &kinds {
            let some: Vec<&Row> = here.iter().copied().filter(|r| r.kind == **kind).collect();
            line(&mut text, kind, block, &some);
        }
    }
    text
}

/// Limits are drawn evenly from so many percent below the true coldest spot up to it.
const LIMITS: f64 = 15.0;

/// Share of such limits that a bound so many percent below the truth leaves open.
fn left_open(below: f64) -> f64 {
    (below / LIMITS).clamp(0.0, 1.0)
}

fn line(text: &mut String, kind: &str, block: (Wrong, Plan, Method), group: &[&Row]) {
    let (wrong, plan, method) = block;
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
    let covered = scores.iter().filter_map(|s| s.detail.as_ref());
    let covered: Vec<f64> = covered.map(|d| 100.0 * d.covered_below).collect();
    let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
    let percent = |values: &[f64], scale: f64| {
        if values.is_empty() || mean(values).is_nan() {
            "-".to_owned()
        } else {
            format!("{:.1}", scale * mean(values))
        }
    };
    let (holds, within) = if below.is_empty() {
        ("-".to_owned(), "-".to_owned())
    } else {
        let hits = below.iter().filter(|b| **b >= 0.0).count();
        let (low, high) = clopper_pearson(hits, below.len());
        let share = 100.0 * hits as f64 / below.len() as f64;
        (
            format!("{share:.1}"),
            format!("{:.1} to {:.1}", 100.0 * low, 100.0 * high),
        )
    };
    let details = || scores.iter().filter_map(|s| s.detail.as_ref());
    let undone: Vec<bool> = details().filter_map(|d| d.said).collect();
    let said = format!(
        "{}/{}",
        undone.iter().filter(|said| **said).count(),
        undone.len()
    );
    let at_5: Vec<f64> = details()
        .map(|d| f64::from(u8::from(d.said_at_5)))
        .collect();
    let open: Vec<f64> = below.iter().map(|b| left_open(*b)).collect();
    let _ = writeln!(
        text,
        "{:<10} {:<7} {:<8} {:<15} {:>5} {:>4} | {:>6} {:>6} | {:>6} {:>6} {:>7} | {:>5} {:>13} {:>6} {:>6} {:>7} {:>6} | {:>6} | {:>6.0}",
        wrong.name(),
        plan.name(),
        method.name(),
        kind,
        scores.len(),
        group.len() - scores.len(),
        at(&maps, 0.5),
        at(&maps, 0.9),
        at(&sizes, 0.5),
        at(&errors, 0.95),
        at(&errors, 1.0),
        holds,
        within,
        at(&below, 0.5),
        percent(&open, 100.0),
        said,
        percent(&at_5, 100.0),
        percent(&covered, 1.0),
        quantile(&times, 0.5).unwrap_or(0.0),
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
            let station = |r: &Row| (r.kind.clone(), r.seed, r.plan, r.wrong);
            let same = |other: &&Row| other.method == second && station(other) == station(row);
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
    let (low, high) = clopper_pearson(better, n);
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

/// What `auto` may do at worst over all kinds together, percent.
struct Floors {
    map: f64,
    coldest: f64,
    below: f64,
    not_holding: f64,
}

fn floors(plan: Plan) -> Floors {
    match plan {
        Plan::Inside => Floors {
            map: 1.5,
            coldest: 3.5,
            below: 13.0,
            not_holding: 10.0,
        },
        Plan::Rim => Floors {
            map: 1.5,
            coldest: 1.7,
            below: 5.0,
            not_holding: 8.0,
        },
        Plan::Around => Floors {
            map: 1.8,
            coldest: 2.2,
            below: 8.5,
            not_holding: 8.0,
        },
    }
}

/// What `auto` over all kinds together does worse than it should, plan by plan; nothing when all is well. The floors are
/// what many stations gave, with room for the chance of a few.
pub fn below_floors(rows: &[Row]) -> Vec<String> {
    let mut breaches = Vec::new();
    for plan in each_once(rows.iter().map(|r| r.plan)) {
        let scores: Vec<&Score> = rows
            .iter()
            .filter(|row| row.method == Method::Field(None) && row.plan == plan)
            .filter_map(|row| row.outcome.as_ref().ok())
            .collect();
        if scores.is_empty() {
            breaches.push(format!(
                "no station read {} was answered by auto",
                plan.name()
            ));
            continue;
        }
        let holding = scores.iter().filter(|s| s.below.is_some_and(|b| b >= 0.0));
        let holds = 100.0 * holding.count() as f64 / scores.len() as f64;
        let median = |values: Vec<f64>| quantile(&values, 0.5).unwrap_or(f64::INFINITY);
        let map = median(scores.iter().filter_map(|s| s.map_rms).collect());
        let coldest = median(scores.iter().map(|s| s.coldest.abs()).collect());
        let below = median(scores.iter().filter_map(|s| s.below).collect());
        let most = floors(plan);
        let mut at_most = |what: &str, value: f64, most: f64| {
            if value.is_nan() || value > most {
                let plan = plan.name();
                breaches.push(format!(
                    "read {plan}: {what} is {value:.2} %, floor {most} %"
                ));
            }
        };
        at_most("median error of the map", map, most.map);
        at_most("median error of the coldest spot", coldest, most.coldest);
        at_most(
            "the assured minimum's median distance below the truth",
            below,
            most.below,
        );
        at_most(
            "share of bounds that do not hold",
            100.0 - holds,
            most.not_holding,
        );
    }
    breaches
}

const COLUMNS: &str = "kind,group,seed,read,wrong,method,columns,rows,heights,readings,distance,spacing_x,spacing_y,\
    rim_percent,true_coldest,coldest,bound,uncertainty_percent,beyond,away,coldest_error,holds,below,map_rms,\
    covered_below,covered,places_uncertainty,ring_rms,left_out_rms,noise_percent,families,fit_seconds,draw_seconds,failure";

/// Comma-separated, a row a station and method; what is not there is left empty.
pub fn csv(rows: &[Row]) -> String {
    let mut text = format!("{COLUMNS}\n");
    for row in rows {
        let mut cells = vec![
            row.kind.clone(),
            row.group.clone(),
            row.seed.to_string(),
            row.plan.name().into(),
            row.wrong.name().into(),
            row.method.name().into(),
        ];
        match &row.station {
            Some(s) => {
                cells.extend([s.columns, s.rows, s.heights, s.readings].map(|n| n.to_string()));
                let figures = [
                    s.distance,
                    s.spacing.0,
                    s.spacing.1,
                    s.rim_percent,
                    s.coldest,
                ];
                cells.extend(figures.map(|v| format!("{v:.5}")));
            }
            None => cells.extend(std::iter::repeat_n(String::new(), 9)),
        }
        let shown = |v: Option<f64>| v.map_or_else(String::new, |v| format!("{v:.5}"));
        let truth = row.station.as_ref().map(|s| s.coldest);
        match &row.outcome {
            Ok(s) => {
                let d = s.detail.as_ref();
                let detail = |of: &dyn Fn(&Detail) -> Option<f64>| shown(d.and_then(of));
                let holds = s.below.map_or("", |b| if b >= 0.0 { "1" } else { "0" });
                let of_truth = |percent: f64| truth.map(|t| t * (1.0 + 0.01 * percent));
                cells.extend([
                    shown(of_truth(s.coldest)),
                    shown(s.below.and_then(|b| of_truth(-b))),
                    detail(&|d| d.uncertainty),
                    detail(&|d| Some(d.beyond)),
                    detail(&|d| Some(d.away)),
                    shown(Some(s.coldest)),
                    holds.into(),
                    shown(s.below),
                    shown(s.map_rms),
                    detail(&|d| Some(d.covered_below)),
                    detail(&|d| Some(d.covered)),
                    detail(&|d| Some(d.places_uncertainty)),
                    detail(&|d| d.ring),
                    detail(&|d| d.left_out),
                    detail(&|d| d.noise),
                    d.map_or_else(String::new, families),
                    shown(Some(s.fit_seconds)),
                ]);
            }
            Err(_) => cells.extend(std::iter::repeat_n(String::new(), 17)),
        }
        cells.push(shown(row.station.as_ref().map(|s| s.draw_seconds)));
        let failure = row.outcome.as_ref().err().map_or("", String::as_str);
        cells.push(failure.replace([',', '\n', '"'], " "));
        let _ = writeln!(text, "{}", cells.join(","));
    }
    text
}

/// `family:share:left out:ring` of each, with semicolons between.
fn families(detail: &Detail) -> String {
    let each = detail
        .families
        .iter()
        .map(|(family, share, left_out, ring)| {
            let ring = ring.map_or_else(String::new, |r| format!("{r:.3}"));
            format!("{family:?}:{share:.3}:{left_out:.3}:{ring}")
        });
    each.collect::<Vec<_>>().join(";")
}
