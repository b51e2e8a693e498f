//! Parts placed on one simulated station, held against the true field.

use std::sync::Arc;
use std::time::Instant;

use evenfield::assess::limits::Scale;
use evenfield::assess::{Request, fit_survey};
use evenfield::field::Fitted;
use evenfield::geometry::{Place, Shape};
use evenfield::placement::{
    Bar, Bars, Bed, Kind as Arrangement, Part, Passes, Surely, ToPlace, Wish,
};
use evenfield::progress::Progress;

use crate::chance::Chance;
use crate::kinds::Kind;
use crate::study_station::{Condition, Drawn, Plan, Station, Wrong};

/// One way of asking, and what came of it.
#[derive(Debug, Clone)]
pub struct Arranged {
    /// Given as 95 %; of the others: given at all.
    pub given: bool,
    pub count: usize,
    /// Parts that in truth lie outside the limits.
    pub outside: usize,
    pub seconds: f64,
}

/// A station.
pub struct Row {
    pub kind: Kind,
    pub plan: Plan,
    pub seed: u64,
    pub ways: Vec<Arranged>,
}

impl Row {
    pub fn line(&self) -> String {
        let each = self.ways.iter().map(|a| {
            let given = u8::from(a.given);
            format!("{given} {} {} {:.2}", a.count, a.outside, a.seconds)
        });
        let ways: Vec<String> = each.collect();
        format!(
            "{} {} {}: {}",
            self.kind.name(),
            self.seed,
            self.plan.name(),
            ways.join(" | ")
        )
    }
}

/// A way of asking: how parts are arranged, and how sure.
pub type Way = (Arrangement, Surely);

/// How parts are arranged, by name.
pub fn arrangement(name: &str) -> Option<Arrangement> {
    match name {
        "rows" => Some(Arrangement::Rows { shifted: true }),
        "free" => Some(Arrangement::Free),
        _ => None,
    }
}

/// How sure, by name.
pub fn surely(name: &str) -> Option<Surely> {
    match name {
        "all" => Some(Surely::AllAtOnce),
        "alone" => Some(Surely::EachAlone),
        "plain" => Some(Surely::PlainField),
        _ => None,
    }
}

/// The field that is made of a station's readings.
pub fn fitted(station: &Station) -> Result<Arc<Fitted>, String> {
    let request = Request {
        survey: Some(0),
        height: Some(station.assessed),
        family: None,
    };
    let document = station.document();
    let fit = fit_survey(&document, &request, &Progress::new()).map_err(|e| e.to_string())?;
    Ok(fit.field)
}

/// Places parts every way and looks at them. A part is drawn with sides of a twelfth to a sixth of the fixture's; the lower
/// limit such that it leaves 35 to 90 % of the true field, the upper one such that it leaves 75 % to all of it, or far away
/// in one case of three.
pub fn trial(kind: Kind, seed: u64, plan: Plan, ways: &[Way]) -> Result<Row, String> {
    let drawn = Drawn::new(kind, Condition::Main, seed)?;
    let station = drawn.station(plan, Wrong::Nothing);
    let field = fitted(&station)?;
    let mut chance = Chance::new(seed, 0x91_ace + kind as u64);
    let (width, depth) = station.fixture.shape.size();
    let side =
        |chance: &mut Chance, extent: f64| (extent * chance.between(1.0 / 12.0, 1.0 / 6.0)).round();
    let (w, d) = (side(&mut chance, width), side(&mut chance, depth));
    let shape = if chance.happens(0.3) {
        Shape::Circle { diameter: w.min(d) }
    } else {
        Shape::Rectangle { width: w, depth: d }
    };
    let mut true_values: Vec<f64> = station.map.iter().map(|m| m.1).collect();
    true_values.sort_by(f64::total_cmp);
    let share = |p: f64| true_values[((true_values.len() - 1) as f64 * p) as usize];
    let lower = share(chance.between(0.10, 0.65));
    let upper = if chance.happens(0.33) {
        2.0 * share(1.0)
    } else {
        share(chance.between(0.75, 1.0)).max(1.1 * lower)
    };
    let bar = |value: f64| Bar {
        value,
        scale: Scale::Relative,
    };
    let mut ask = ToPlace {
        field,
        part: Part {
            shape,
            may_turn: chance.happens(0.5),
            clearance: chance.between(0.0, 3.0),
            tolerance: chance.between(0.0, 0.5),
        },
        bed: Bed {
            outline: station.fixture.clone(),
            rim: 0.0,
            barred: Vec::new(),
            height: station.assessed,
        },
        bars: Bars {
            lower: Some(bar(lower)),
            upper: Some(bar(upper)),
            ..Bars::none()
        },
        kind: Arrangement::Free,
        wish: Wish::Most,
        surely: Surely::AllAtOnce,
        effort: 1,
        passes: Passes::once(),
    };
    let mut out = Vec::new();
    for &(arrangement, surely) in ways {
        (ask.kind, ask.surely) = (arrangement, surely);
        let begun = Instant::now();
        let placed = ask
            .arrange(&Progress::new())
            .map_err(|e| format!("{e:?}"))?;
        let seconds = begun.elapsed().as_secs_f64();
        let outside = placed.sites.iter().filter(|site| {
            let covers = ask.part.covers(site.centre, site.turned);
            let inside = |at: Place| (lower..=upper).contains(&drawn.irradiance(at));
            !covers
                .lattice(1.5)
                .into_iter()
                .all(|p| inside(p.at_height(station.assessed)))
        });
        out.push(Arranged {
            given: placed.proven || surely != Surely::AllAtOnce,
            count: placed.sites.len(),
            outside: outside.count(),
            seconds,
        });
    }
    Ok(Row {
        kind,
        plan,
        seed,
        ways: out,
    })
}
