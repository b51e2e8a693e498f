//! Placement of a station's parts: counts in closed form, limits held, what is told of it.

use std::sync::{Arc, OnceLock};

use evenfield::assess::limits::{Scale, limits_of};
use evenfield::assess::{Request, SurveyFit, fit_survey};
use evenfield::geometry::{Footprint, Place, Point, Shape};
use evenfield::placement::{
    Bar, Bars, Bed, Best, Kind, Part, Passes, PresentSite, Surely, ToEven, ToLookAt, ToPlace,
    ToScan, ToShow, Wanted, Wish, asked, site_groups,
};
use evenfield::progress::Progress;
use evenfield::session::sample;
use evenfield::station::{Edit, Station};
use evenfield::units::Units;

fn fitted() -> &'static (Station, SurveyFit) {
    static MADE: OnceLock<(Station, SurveyFit)> = OnceLock::new();
    MADE.get_or_init(|| {
        let station = sample();
        let fit = fit_survey(&station, &Request::default(), &Progress::new()).expect("a field");
        (station, fit)
    })
}

fn rectangle(width: f64, depth: f64) -> Shape {
    Shape::Rectangle { width, depth }
}

/// A bed of that size without limits.
fn only_room(bed: Shape, part: Shape, clearance: f64, kind: Kind) -> ToPlace {
    let (width, depth) = bed.size();
    ToPlace {
        field: Arc::clone(&fitted().1.field),
        part: Part {
            shape: part,
            may_turn: false,
            clearance,
            tolerance: 0.0,
        },
        bed: Bed {
            outline: Footprint::new(bed, Point::new(0.5 * width, 0.5 * depth)),
            rim: 0.0,
            barred: Vec::new(),
            height: 20.0,
        },
        bars: Bars::none(),
        kind,
        wish: Wish::Most,
        surely: Surely::AllAtOnce,
        effort: 1,
        passes: Passes::once(),
    }
}

fn placed(ask: &ToPlace) -> evenfield::placement::Placed {
    let placed = ask
        .place(&mut |_| {}, &Progress::new())
        .expect("an arrangement");
    holds(ask, &placed);
    placed
}

/// Every part lies on the bed, clear of what stands there and of the others.
fn holds(ask: &ToPlace, placed: &evenfield::placement::Placed) {
    let covers: Vec<Footprint> = placed
        .sites
        .iter()
        .map(|s| ask.part.covers(s.centre, s.turned))
        .collect();
    let apart = ask.part.clearance - 1e-6;
    for (i, a) in covers.iter().enumerate() {
        assert!(
            ask.bed.outline.covers(a),
            "{:?} lies beside the bed",
            a.centre
        );
        assert!(ask.bed.barred.iter().all(|b| !a.overlaps(b)));
        for b in &covers[..i] {
            let (dx, dy) = (
                (a.centre.x - b.centre.x).abs(),
                (a.centre.y - b.centre.y).abs(),
            );
            let ((aw, ad), (bw, bd)) = (a.shape.size(), b.shape.size());
            let clear = match a.shape {
                Shape::Circle { diameter } => dx.hypot(dy) >= diameter + apart,
                _ => dx >= 0.5 * (aw + bw) + apart || dy >= 0.5 * (ad + bd) + apart,
            };
            assert!(clear, "{:?} and {:?}", a.centre, b.centre);
        }
    }
}

#[test]
fn rectangles_in_a_rectangle_as_many_as_the_closed_form_says() {
    // floor((W + g) / (w + g)) floor((D + g) / (d + g)): without turning no more fit, in rows or anywhere
    for (bed, part, gap, known) in [
        ((180.0, 120.0), (24.0, 18.0), 2.0, 7 * 6),
        ((200.0, 150.0), (24.0, 18.0), 2.0, 7 * 7),
        ((130.0, 78.0), (24.0, 24.0), 2.0, 5 * 3),
        ((128.0, 76.0), (24.0, 24.0), 2.0, 5 * 3),
        ((127.9, 76.0), (24.0, 24.0), 2.0, 4 * 3),
        ((100.0, 60.0), (33.3, 20.0), 0.0, 3 * 3),
    ] {
        let (bed, part) = (rectangle(bed.0, bed.1), rectangle(part.0, part.1));
        for kind in [Kind::Rows { shifted: false }, Kind::Free] {
            let placed = placed(&only_room(bed.clone(), part.clone(), gap, kind));
            assert_eq!(placed.sites.len(), known, "{bed:?} {part:?} {kind:?}");
            assert_eq!(
                placed.bound.map(|b| b.count),
                Some(known),
                "{bed:?} {part:?} {kind:?}"
            );
            assert!(placed.optimal && placed.confidence.is_none() && placed.proven);
        }
    }
}

#[test]
fn circles_lie_closer_in_shifted_rows() {
    // rows of 5 and 4 of diameter 20, sqrt(3)/2 times the diameter apart: 5 rows in 90 mm, 4 straight ones
    let bed = rectangle(100.0, 90.0);
    let part = Shape::Circle { diameter: 20.0 };
    let straight = placed(&only_room(
        bed.clone(),
        part.clone(),
        0.0,
        Kind::Rows { shifted: false },
    ));
    let shifted = placed(&only_room(
        bed.clone(),
        part.clone(),
        0.0,
        Kind::Rows { shifted: true },
    ));
    let free = placed(&only_room(bed, part, 0.0, Kind::Free));
    assert_eq!((straight.sites.len(), shifted.sites.len()), (20, 23));
    assert!(free.sites.len() >= 23 && free.bound.is_some_and(|b| b.count >= free.sites.len()));
}

#[test]
fn turning_helps_where_it_is_known_to() {
    // the pinwheel: four of 2 x 3 in 5 x 5, two without turning
    let mut ask = only_room(
        rectangle(50.0, 50.0),
        rectangle(20.0, 30.0),
        0.0,
        Kind::Free,
    );
    assert_eq!(placed(&ask).sites.len(), 2);
    ask.part.may_turn = true;
    let four = placed(&ask);
    assert_eq!((four.sites.len(), four.optimal), (4, true));
    assert_eq!(four.sites.iter().filter(|s| s.turned).count(), 2);
}

/// The sample's fixture with limits that leave a part of it.
fn limited(kind: Kind) -> ToPlace {
    let (station, fit) = fitted();
    let wanted = Wanted {
        part: Some(Part {
            shape: rectangle(24.0, 18.0),
            may_turn: true,
            clearance: 2.0,
            tolerance: 0.3,
        }),
        kind,
        height: Some(20.0),
        ..Wanted::default()
    };
    let limits = limits_of(station, Units::default());
    let mut ask = asked(station, fit, limits.as_ref(), &wanted, Units::default()).ask;
    let middle = ask.bed.outline.middle().at_height(20.0);
    let e = fit
        .field
        .irradiance(&[middle], &Progress::new())
        .expect("a field")[0];
    let bar = |value| {
        Some(Bar {
            value,
            scale: Scale::Relative,
        })
    };
    ask.bars = Bars {
        lower: bar(0.75 * e),
        upper: bar(1.3 * e),
        ..Bars::none()
    };
    ask
}

#[test]
fn every_part_lies_inside_the_limits_and_all_of_them_at_once() {
    let mut counts = Vec::new();
    for kind in [
        Kind::Rows { shifted: false },
        Kind::Rows { shifted: true },
        Kind::Free,
    ] {
        let ask = limited(kind);
        let found = placed(&ask);
        let (lower, upper) = (
            ask.bars.lower.expect("one").value,
            ask.bars.upper.expect("one").value,
        );
        assert!(!found.sites.is_empty());
        assert!(
            found.proven && found.confidence.is_some_and(|c| c >= 0.95),
            "{:?}",
            found.confidence
        );
        let count = found.sites.len();
        assert!(found.bound.is_some_and(|b| b.count >= count));
        assert!(found.alone.is_some_and(|n| n >= count) && found.plain >= found.alone);
        for site in &found.sites {
            assert!(site.coldest >= lower && site.hottest <= upper);
            assert!(
                site.assured
                    .is_some_and(|a| a >= lower && a <= site.coldest)
            );
            assert!(site.alone.is_some_and(|alone| alone >= 0.95));
        }
        let mut ranks: Vec<usize> = found.sites.iter().map(|s| s.rank).collect();
        ranks.sort_unstable();
        assert_eq!(ranks, (1..=count).collect::<Vec<_>>());
        let first = found
            .sites
            .iter()
            .find(|s| s.rank == 1)
            .expect("a first one");
        assert!(found.sites.iter().all(|s| s.coldest <= first.coldest));
        counts.push(count);
    }
    assert!(
        counts[1] >= counts[0] && counts[2] >= counts[0],
        "{counts:?}"
    );
}

#[test]
fn the_same_question_has_the_same_answer() {
    let ask = limited(Kind::Free);
    assert_eq!(placed(&ask), placed(&ask));
}

#[test]
fn of_so_many_the_best_ones() {
    let most = placed(&limited(Kind::Rows { shifted: false }));
    let mut ask = limited(Kind::Rows { shifted: false });
    ask.wish = Wish::Count(4, Best::Coldest);
    let brightest = placed(&ask);
    ask.wish = Wish::Count(4, Best::LeastRange);
    let alike = placed(&ask);
    assert_eq!((brightest.sites.len(), alike.sites.len()), (4, 4));
    assert!(brightest.coldest() >= most.coldest());
    let range = |p: &evenfield::placement::Placed| p.hottest().zip(p.coldest()).map(|(h, c)| h / c);
    // offsets are put on round figures at the end, which may cost some thousandths
    let nearly = |p| range(p).map(|r| 1.008 * r);
    assert!(
        range(&alike) <= nearly(&brightest),
        "{:?} {:?}",
        range(&alike),
        range(&brightest)
    );
    assert!(range(&alike) <= range(&most));
    ask.wish = Wish::Count(500, Best::Coldest);
    assert!(
        placed(&ask).sites.len() < 500,
        "fewer than wanted are what fits"
    );
}

#[test]
fn what_stands_on_the_bed_is_kept_clear_of() {
    let mut ask = limited(Kind::Rows { shifted: false });
    let without = placed(&ask).sites.len();
    let middle = ask.bed.outline.middle();
    ask.bed
        .barred
        .push(Footprint::new(Shape::Circle { diameter: 30.0 }, middle));
    ask.bed.rim = 5.0;
    assert!(placed(&ask).sites.len() <= without);
}

#[test]
fn first_answers_come_on_the_way_and_work_can_be_stopped() {
    let ask = limited(Kind::Free);
    let mut told = 0;
    let progress = Progress::new();
    let stopped = ask.place(
        &mut |so_far| {
            assert!(so_far.so_far && !so_far.proven);
            told += 1;
            progress.cancel();
        },
        &progress,
    );
    assert_eq!(told, 1);
    assert!(stopped.is_err());
}

#[test]
fn other_heights_remedies_and_present_sites_are_told() {
    let (_, fit) = fitted();
    let progress = Progress::new();
    let ask = limited(Kind::Rows { shifted: false });
    let before = placed(&ask);
    let scan = ToScan {
        ask: ask.clone(),
        heights: fit.heights.clone(),
        face_height: 75.0,
    };
    let heights = scan.scan(&progress).expect("heights");
    assert_eq!(heights.rows.iter().filter(|r| r.in_use).count(), 1);
    let best = heights.best.expect("a best one");
    let counts: Vec<usize> = heights.rows.iter().map(|r| r.placed.sites.len()).collect();
    assert_eq!(counts.iter().max(), Some(&counts[best]));

    let even = ToEven {
        ask: ask.clone(),
        before: before.clone(),
        leds: Some((20.0, 20.0)),
    };
    let remedies = even.even(&progress).expect("remedies");
    assert_eq!(remedies.each.len(), 3);

    let usable = ToShow {
        field: ask.field,
        part: ask.part,
        bed: ask.bed,
        bars: ask.bars,
    };
    let usable = usable.usable(&progress).expect("a map");
    assert!(usable.margins.iter().flatten().any(|m| m.inside >= 0.0));
    assert!(
        usable.margins.iter().any(Option::is_none),
        "no room at the rim"
    );
}

/// The sample's own part, held against a lower limit that some of its sites fall short of.
fn own(locked: &[String]) -> ToPlace {
    let (station, fit) = fitted();
    let limits = limits_of(station, Units::default());
    let wanted = Wanted {
        instead: [Some(90.0), None],
        locked: locked.to_vec(),
        ..Wanted::default()
    };
    asked(station, fit, limits.as_ref(), &wanted, Units::default()).ask
}

#[test]
fn sites_that_fall_short_are_told_and_moved_beside_the_others() {
    let (station, _) = fitted();
    let look = |locked: &[String]| {
        let look = ToLookAt::of(station, &own(locked), locked);
        look.look(&Progress::new()).expect("sites")
    };
    let present = look(&[]);
    // lids have a bond line of their own
    let all = station.all_sites();
    assert_eq!(present.sites.len() + present.others, all.len());
    let bodies = all.iter().filter(|s| s.height == own(&[]).bed.height);
    assert_eq!(present.sites.len(), bodies.count());
    let short: Vec<&PresentSite> = present.sites.iter().filter(|s| !s.is_good()).collect();
    assert!(!short.is_empty() && short.len() < present.sites.len());
    assert!(
        present.now.confidence.is_some_and(|c| c < 0.95),
        "{:?}",
        present.now
    );
    let moved = present.moved.as_ref().expect("some fall short");
    assert_eq!(moved.sites.len() + moved.without, short.len());
    // all of those that are moved lie clear of those that are left
    let part = own(&[]).part;
    for to in &moved.sites {
        let covers = part.covers(to.centre, to.turned);
        for left in present.sites.iter().filter(|s| s.is_good()) {
            assert!(!covers.overlaps(&part.covers(left.site.centre, left.site.turned)));
        }
    }
    assert!(moved.then.confidence > present.now.confidence);

    // what stays is told like the others, and moved nowhere, however short it falls
    let stays = short[0].name.clone();
    let with = look(std::slice::from_ref(&stays));
    let same = with
        .sites
        .iter()
        .find(|s| s.name == stays)
        .expect("it is told");
    assert!(same.stays && !same.is_good());
    let moved = with.moved.map_or(0, |m| m.sites.len() + m.without);
    assert_eq!(moved, short.len() - 1);
}

/// Turned at half time what parts get is the mean of two places: for a field that is even about the middle it is the same.
#[test]
fn a_turned_pallet_gets_the_mean_of_both_places() {
    let mut ask = limited(Kind::Rows { shifted: false });
    ask.passes = Passes::turned(ask.bed.outline.middle());
    let found = placed(&ask);
    let field = &fitted().1.field;
    let middle = ask.bed.outline.middle();
    let site = found.sites.first().expect("a part");
    let covers = ask.part.covers(site.centre, site.turned);
    let mean = |p: Point| {
        let q = Point::new(2.0 * middle.x - p.x, 2.0 * middle.y - p.y);
        let both: [Place; 2] = [p.at_height(20.0), q.at_height(20.0)];
        field
            .irradiance(&both, &Progress::new())
            .expect("a field")
            .iter()
            .sum::<f64>()
            / 2.0
    };
    let least = covers
        .lattice(2.5)
        .into_iter()
        .map(mean)
        .fold(f64::INFINITY, f64::min);
    assert!(
        (least / site.coldest - 1.0).abs() < 1e-3,
        "{least} {}",
        site.coldest
    );
}

#[test]
fn an_arrangement_becomes_sites_in_one_edit() {
    let (station, _) = fitted();
    for kind in [Kind::Rows { shifted: false }, Kind::Free] {
        let ask = limited(kind);
        let found = placed(&ask);
        let groups = site_groups(&found, &ask.part, 20.0, &|name| name == "P1");
        let mut changed = Station::clone(station);
        changed.apply(Edit::ArrangeSites(groups)).expect("sites");
        let sites = changed.all_sites();
        assert_eq!(sites.len(), found.sites.len());
        let mut names: Vec<&str> = sites.iter().map(|s| s.name.as_str()).collect();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), sites.len(), "each has its own name");
        for site in &found.sites {
            let there =
                |s: &&evenfield::station::Site| s.footprint.centre.distance(site.centre) < 1e-6;
            assert!(sites.iter().any(|s| there(&s)), "{:?}", site.centre);
        }
    }
}

/// Two records alike but for what rounding makes of figures.
fn alike(a: &serde_json::Value, b: &serde_json::Value, at: &str) {
    use serde_json::Value;
    match (a, b) {
        (Value::Number(x), Value::Number(y)) => {
            let (x, y) = (x.as_f64().expect("a number"), y.as_f64().expect("a number"));
            assert!(
                (x - y).abs() <= 2e-3 * x.abs().max(1.0),
                "{at}: {x} and {y}"
            );
        }
        (Value::Array(x), Value::Array(y)) => {
            assert_eq!(x.len(), y.len(), "{at}");
            x.iter()
                .zip(y)
                .enumerate()
                .for_each(|(i, (x, y))| alike(x, y, &format!("{at}[{i}]")));
        }
        (Value::Object(x), Value::Object(y)) => {
            let keys = |of: &serde_json::Map<String, Value>| of.keys().cloned().collect::<Vec<_>>();
            assert_eq!(keys(x), keys(y), "{at}");
            x.iter()
                .for_each(|(key, x)| alike(x, &y[key], &format!("{at}.{key}")));
        }
        _ => assert_eq!(a, b, "{at}"),
    }
}

fn program(arguments: &[&str]) -> std::process::Output {
    std::process::Command::new(env!("CARGO_BIN_EXE_evenfield"))
        .args(arguments)
        .env_remove("DISPLAY")
        .env_remove("WAYLAND_DISPLAY")
        .env_remove("WAYLAND_SOCKET")
        .output()
        .expect("the program runs")
}

const SAMPLE: &str = concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/sample-maps/rain-gauge-pallet-three-columns.ron"
);

/// `tests/golden/place.json`: what the command line says of the line designer's sample.
#[test]
fn the_record_stays_as_it_is() {
    let told = program(&[
        "place",
        SAMPLE,
        "--part",
        "24x18",
        "--turn",
        "--present",
        "--json",
    ]);
    assert_eq!(
        told.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&told.stderr)
    );
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/golden/place.json");
    if std::env::var_os("UPDATE_GOLDEN").is_some() {
        std::fs::write(path, &told.stdout).expect("the golden file can be written");
    }
    let golden = std::fs::read(path).expect("the golden file is there");
    let [golden, told] =
        [&golden, &told.stdout].map(|text| serde_json::from_slice(text).expect("JSON"));
    alike(&golden, &told, "place");
    for key in ["count", "upper_bound", "arrangement", "sites", "warnings"] {
        assert!(told.get(key).is_some(), "{key}");
    }
    let site = &told["sites"][0];
    for key in [
        "x_mm",
        "y_mm",
        "turned",
        "coldest_mw_cm2",
        "assured_mw_cm2",
        "hottest_mw_cm2",
    ] {
        assert!(site.get(key).is_some(), "{key}");
    }
}

#[test]
fn what_can_not_be_placed_is_said_with_status_2() {
    for (arguments, said) in [
        (vec!["--part", "500x500"], "does not fit on the fixture"),
        (vec!["--part", "1x1", "--clearance", "0"], "More than 3000"),
        (vec!["--part", "24"], "width x depth"),
        (vec!["--part", "24x18", "--lower", "-3"], "above 0"),
        (vec!["--part", "24x18", "--rim", "nan"], "number"),
        (
            vec!["--part", "24x18", "--lock", "Z9"],
            "there is no site 'Z9'",
        ),
    ] {
        let told = program(&[&["place", SAMPLE], &arguments[..]].concat());
        let error = String::from_utf8_lossy(&told.stderr).into_owned();
        assert_eq!(told.status.code(), Some(2), "{arguments:?}");
        assert!(error.contains(said), "{arguments:?}: {error}");
        assert!(told.stdout.is_empty());
    }
}

#[test]
fn the_placement_is_exported() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().to_string_lossy().into_owned();
    let told = program(&["export", SAMPLE, "--out", &out, "--only", "placement"]);
    assert_eq!(
        told.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&told.stderr)
    );
    let read = |name: &str| std::fs::read(folder.path().join(name)).expect("the file is there");
    assert!(read("placement.pdf").starts_with(b"%PDF"));
    let csv = String::from_utf8(read("placement.csv")).expect("text");
    let parts = csv.lines().count() - 1;
    assert!(csv.starts_with("rank,x_mm,y_mm,turned,") && parts > 3);
    let dxf = String::from_utf8(read("placement.dxf")).expect("text");
    assert!(dxf.contains("AC1009"));
    assert_eq!(dxf.matches("\nPOINT\n").count(), parts);
}
