//! One survey against another: the technician's station, which must come out as what it was built to be, and single changes of a
//! lamp whose truth is known.

use std::path::{Path, PathBuf};

use evenfield::assess::{NoAnswer, Request, SurveyFit, fit_survey};
use evenfield::change::{Bars, Calibration, Cause, Change, Harm, Mode, ToCompare, ToShorten};
use evenfield::geometry::{Footprint, Place, Point, Shape};
use evenfield::lamps::{Emitters, Errors, Lamp, Lobe, Reader};
use evenfield::progress::Progress;
use evenfield::record::ChangeRecord;
use evenfield::station::{Radiometer, Reading, SourceKind, Station, Survey};
use evenfield::units::LengthUnit;
use jiff::civil::date;

fn worn() -> Station {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("sample-maps/rain-gauge-funnels-worn-reflector.ron");
    evenfield::files::read(&path).expect("the sample").0
}

fn fit(station: &Station) -> SurveyFit {
    let request = Request {
        survey: Some(0),
        ..Request::default()
    };
    fit_survey(station, &request, &Progress::new()).expect("a field")
}

fn compare(station: &Station) -> Result<Change, NoAnswer> {
    ToCompare::of(station, 0, 1, Bars::default())?.compare(&fit(station), &Progress::new())
}

#[test]
fn the_technicians_lamp_has_faded_and_a_mirror_at_the_front_right_is_dull() {
    let station = worn();
    let change = compare(&station).expect("a change");
    // the lamp fades by 9 %, and the dull mirror takes some light from everywhere
    assert!(
        (-0.17..-0.12).contains(&change.common.change),
        "{:?}",
        change.common
    );
    assert_eq!(change.common.calibration, Calibration::Cancels);
    assert!(change.is_common_proven());
    let [zone] = &change.cold[..] else {
        panic!("{:?}", change.cold)
    };
    assert!(zone.centre.x > 93.0 && zone.centre.y < 47.0, "{zone:?}");
    assert!(zone.sites.contains(&"F-A3".to_owned()), "{zone:?}");
    assert!(zone.depth < -0.07 && zone.interval.1 < 0.0, "{zone:?}");
    let face = zone.face.expect("a part of the face");
    assert!(face.at.x > 70.0 && face.at.y < 70.0, "{face:?}");
    assert!(change.hot.is_empty(), "{:?}", change.hot);
    assert_eq!(change.may_be.first(), Some(&Cause::Lamp));
    let fading = change.fading.expect("hours are recorded");
    assert!(
        fading.per_100_h > 0.012 && fading.per_100_h < 0.025,
        "{fading:?}"
    );

    let record = ChangeRecord::new(&station, &change, [None, None], LengthUnit::Mm);
    assert!(
        record
            .judgement
            .contains("cold zone has appeared at the front right"),
        "{}",
        record.judgement
    );
    let touching = |s: &String| s.contains("lock out");
    assert!(
        record.next_steps.iter().any(touching),
        "who cleans a reflector is told to cut its supply"
    );
    golden(&serde_json::to_string_pretty(&record).expect("text"));
}

/// The record of the technician's change, to be read when it differs: `UPDATE_GOLDEN=1 cargo test --test core change`.
fn golden(text: &str) {
    let path: PathBuf = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden/change.json");
    if std::env::var_os("UPDATE_GOLDEN").is_some() {
        std::fs::write(&path, format!("{text}\n")).expect("the file can be written");
        return;
    }
    let kept = std::fs::read_to_string(&path).expect("the golden file is there");
    let (kept, now): (serde_json::Value, serde_json::Value) = (
        serde_json::from_str(&kept).expect("JSON"),
        serde_json::from_str(text).expect("JSON"),
    );
    assert!(
        alike(&kept, &now),
        "tests/golden/change.json is not what is said now; look at the difference"
    );
}

/// Equal but for what processors round otherwise.
fn alike(a: &serde_json::Value, b: &serde_json::Value) -> bool {
    use serde_json::Value;
    match (a, b) {
        (Value::Number(a), Value::Number(b)) => {
            let (a, b) = (a.as_f64().unwrap_or(0.0), b.as_f64().unwrap_or(0.0));
            (a - b).abs() <= 1e-3 + 1e-3 * a.abs()
        }
        (Value::Array(a), Value::Array(b)) => {
            a.len() == b.len() && a.iter().zip(b).all(|(a, b)| alike(a, b))
        }
        (Value::Object(a), Value::Object(b)) => {
            a.len() == b.len() && a.iter().all(|(k, v)| b.get(k).is_some_and(|w| alike(v, w)))
        }
        _ => a == b,
    }
}

const FACE_HEIGHT: f64 = 80.0;

/// A panel that is changed place by place.
struct Changed<'a> {
    panel: &'a Emitters,
    by: &'a dyn Fn(Place) -> f64,
}

impl Lamp for Changed<'_> {
    fn seen(&self, at: Place, slant: f64) -> f64 {
        self.panel.seen(at, slant) * (self.by)(at)
    }
    fn face_height(&self) -> f64 {
        FACE_HEIGHT
    }
}

/// A station of 7 x 5 positions at two heights read twice; the second round under what is said of it.
fn station(by: &dyn Fn(Place) -> f64, really: &dyn Fn(Place) -> Place, seed: u64) -> Station {
    let outline = Shape::Rectangle {
        width: 180.0,
        depth: 120.0,
    };
    let face = Footprint::new(outline.clone(), Point::new(90.0, 60.0));
    let panel = Emitters::scattered(
        &face,
        FACE_HEIGHT,
        (10, 7),
        Lobe::flat_window(),
        40_000.0,
        (0.1, 0.05),
        5,
    );
    let mut station = Station::new("bench", outline, FACE_HEIGHT);
    station.source.face = Some(face);
    station.source.kind = SourceKind::LedPanel;
    for (i, seed) in [(0, 900 + seed), (1, 1900 + seed)] {
        let mut survey = station.new_survey(["One", "Two"][i], date(2026, 3 + i as i8, 9));
        survey.radiometer = Some(Radiometer {
            band: "350 to 450 nm".into(),
            expanded_uncertainty_percent: Some(5.0),
            ..Radiometer::new("R1", Shape::Circle { diameter: 12.0 })
        });
        let mut reader = Reader::new(
            Errors {
                aperture: 0.0,
                ..Errors::careful()
            },
            seed,
        );
        let one = |_: Place| 1.0;
        let lamp = Changed {
            panel: &panel,
            by: if i == 0 { &one } else { by },
        };
        for height in [10.0, 30.0] {
            for n in 0..35 {
                let at = Place::new(
                    10.0 + 26.667 * f64::from(n % 7),
                    10.0 + 25.0 * f64::from(n / 7),
                    height,
                );
                let stood = reader.set_down(if i == 0 { at } else { really(at) });
                let mut reading = Reading::new(at, Some(reader.read(&lamp, stood, 0.0)));
                reading.position = format!("P{n}");
                survey.readings.push(reading);
            }
        }
        station.surveys.push(survey.into());
    }
    station
}

#[test]
fn ageing_alone_is_no_zone_and_what_could_be_seen_is_said() {
    let change = compare(&station(&|_| 0.85, &|p| p, 1)).expect("a change");
    assert!(change.cold.is_empty() && change.hot.is_empty());
    let (low, high) = change.common.interval;
    assert!(
        low < -0.15 && -0.15 < high && high - low < 0.03,
        "{:?}",
        change.common
    );
    let smallest = change.smallest.expect("enough positions");
    assert!(smallest.loss > 0.05 && smallest.loss < 0.15, "{smallest:?}");
}

#[test]
fn a_patch_is_found_where_it_is() {
    let middle = Point::new(50.0, 70.0);
    let by = |p: Place| {
        let r = p.point().distance(middle) / 22.0;
        0.9 * (1.0 - 0.12 * (-r * r).exp())
    };
    let change = compare(&station(&by, &|p| p, 2)).expect("a change");
    let [zone] = &change.cold[..] else {
        panic!("{:?}", change.cold)
    };
    assert!(zone.centre.distance(middle) < 20.0, "{zone:?}");
    assert!(
        zone.interval.0 < -0.12 && -0.12 < zone.interval.1,
        "{zone:?}"
    );
}

#[test]
fn a_round_read_too_high_is_named_and_is_no_wear() {
    // 5 mm are named in three pairs of four (tests/bench/change.md), and are no wear in any case
    let raised = |by: f64| move |p: Place| Place::new(p.x, p.y, p.height + by);
    let change = compare(&station(&|_| 1.0, &raised(5.0), 3)).expect("a change");
    assert!(change.cold.is_empty() && change.hot.is_empty());
    let change = compare(&station(&|_| 1.0, &raised(10.0), 3)).expect("a change");
    assert!(change.cold.is_empty() && change.hot.is_empty());
    let height = change.named().find(|s| s.mode == Mode::Height);
    let height = height.expect("10 mm are named");
    assert!(
        (height.by - 10.0).abs() < 3.0 * height.uncertainty + 0.5,
        "{height:?}"
    );
    assert_eq!(change.may_be.first(), Some(&Cause::Distance));
}

#[test]
fn another_pair_is_not_the_lamp_and_another_band_is_nothing_to_compare() {
    let mut two = station(&|_| 0.98, &|p| p, 4);
    let change_pair = |two: &mut Station, what: &dyn Fn(&mut Radiometer)| {
        let mut survey: Survey = (*two.surveys[1]).clone();
        survey.radiometer.iter_mut().for_each(what);
        two.surveys[1] = survey.into();
    };
    change_pair(&mut two, &|r| r.name = "R2".into());
    let change = compare(&two).expect("a change");
    assert!(matches!(change.common.calibration, Calibration::Counts(_)));
    assert!(
        !change.is_common_proven(),
        "2 % lies within both calibrations: {:?}",
        change.common
    );
    assert_eq!(change.may_be.first(), Some(&Cause::Radiometer));
    assert!(change.fading.is_none());
    change_pair(&mut two, &|r| r.band = "250 to 300 nm".into());
    let refused = compare(&two).expect_err("other bands");
    assert!(
        refused.to_string().contains("can't be compared by number"),
        "{refused}"
    );
}

#[test]
fn the_common_change_is_that_of_all_logarithms() {
    // geometric mean of ratios without a model: numpy.exp(numpy.mean(numpy.log(after / before))) is this sum
    let two = station(&|_| 0.85, &|p| p, 5);
    let logs: Vec<f64> = (two.surveys[0].readings.iter().zip(&two.surveys[1].readings))
        .map(|(a, b)| (b.irradiance.unwrap_or(1.0) / a.irradiance.unwrap_or(1.0)).ln())
        .collect();
    let plain = (logs.iter().sum::<f64>() / logs.len() as f64).exp_m1();
    let change = compare(&two).expect("a change");
    assert!(
        (change.common.change - plain).abs() < 0.004,
        "{} {plain}",
        change.common.change
    );
}

#[test]
fn other_positions_are_compared_through_the_field() {
    let mut two = station(&|_| 0.9, &|p| p, 6);
    let mut survey: Survey = (*two.surveys[1]).clone();
    survey.readings.retain(|r| r.height == 10.0);
    for reading in &mut survey.readings {
        // as if read between the old positions, under the truth of the old survey's field
        reading.position.clear();
        reading.x = (reading.x + 9.0).min(170.0);
    }
    let places: Vec<Place> = survey.readings.iter().map(Reading::place).collect();
    let field = fit(&two).field;
    let there = field
        .irradiance(&places, &Progress::new())
        .expect("not cancelled");
    for (reading, e) in survey.readings.iter_mut().zip(there) {
        reading.irradiance = Some(0.9 * e);
    }
    two.surveys[1] = survey.into();
    let change = compare(&two).expect("a change");
    assert!(change.through_field >= 28, "{}", change.through_field);
    let (low, high) = change.common.interval;
    assert!(low < -0.1 && -0.1 < high, "{:?}", change.common);
    assert!(change.cold.is_empty() && change.hot.is_empty());
}

#[test]
fn few_positions_say_what_they_can() {
    let mut two = station(&|_| 0.9, &|p| p, 7);
    let mut survey: Survey = (*two.surveys[1]).clone();
    survey.readings.truncate(5);
    two.surveys[1] = survey.into();
    let change = compare(&two).expect("a change");
    let (low, high) = change.common.interval;
    assert!(
        low < -0.1 && -0.1 < high && change.smallest.is_none(),
        "{:?}",
        change.common
    );
    let record = ChangeRecord::new(&two, &change, [None, None], LengthUnit::Mm);
    assert!(
        record.judgement.contains("can't be told"),
        "{}",
        record.judgement
    );
    let mut none: Survey = (*two.surveys[1]).clone();
    none.readings.clear();
    two.surveys[1] = none.into();
    assert!(matches!(compare(&two), Err(NoAnswer::Missing(_))));
    assert!(ToCompare::of(&two, 0, 0, Bars::default()).is_err());
    assert!(ToCompare::of(&two, 0, 7, Bars::default()).is_err());
}

#[test]
fn the_short_check_finds_what_it_promises() {
    // rates with their intervals stand in tests/bench/change.md; here one of each
    let two = station(&|_| 1.0, &|p| p, 8);
    let asked = ToShorten::of(&two, 0, Harm::default(), Bars::default()).expect("a survey");
    let check = asked
        .shorten(&fit(&two), &Progress::new())
        .expect("a check");
    assert!(
        check.positions.len() >= 8 && check.positions.len() < check.of,
        "{check:?}"
    );
    assert!(check.loss > 0.1 && check.loss < 0.35, "{check:?}");
    let only = |mut of: Station| {
        let mut survey: Survey = (*of.surveys[1]).clone();
        let is_of = |r: &Reading| check.positions.iter().any(|(_, at)| *at == r.place());
        survey.readings.retain(is_of);
        of.surveys[1] = survey.into();
        compare(&of).expect("a change")
    };
    let nothing = only(station(&|_| 0.95, &|p| p, 9));
    assert!(nothing.cold.is_empty() && nothing.hot.is_empty());
    // so much less below a dark part of the face, by Lambert's cosines and the inverse squares
    let (under, loss) = (Point::new(60.0, 45.0), check.loss);
    let dark = |p: Place| {
        let h2 = (FACE_HEIGHT - p.height).powi(2);
        0.95 * (1.0 - loss * (h2 / (p.point().distance(under).powi(2) + h2)).powi(2))
    };
    let found = only(station(&dark, &|p| p, 10));
    assert!(
        found
            .cold
            .iter()
            .any(|z| z.centre.distance(under) < check.diameter),
        "{:?}",
        found.cold
    );
    if check.tells.contains(&Mode::Height) {
        let raised = |p: Place| Place::new(p.x, p.y, p.height + 8.0);
        let named = only(station(&|_| 0.95, &raised, 11));
        assert!(
            named.named().any(|s| s.mode == Mode::Height),
            "{:?}",
            named.set_up
        );
    }
}

#[test]
fn all_surveys_make_a_history_and_enough_of_them_a_trend() {
    let mut all = station(&|_| 0.96, &|p| p, 12);
    let later = |by: f64, seed: u64, hours: f64, month: i8| {
        let mut survey: Survey = (*station(&move |_| by, &|p| p, seed).surveys[1]).clone();
        survey.name = format!("After {hours} h");
        survey.date = date(2026, month, 9);
        survey.state.lamp_hours = Some(hours);
        survey
    };
    for (i, hours) in [(0, 100.0), (1, 300.0)] {
        let mut survey: Survey = (*all.surveys[i]).clone();
        survey.state.lamp_hours = Some(hours);
        all.surveys[i] = survey.into();
    }
    let history = |of: &Station| {
        evenfield::change::History::of(of, 0, Bars::default(), &[fit(of)], &Progress::new())
            .expect("a history")
    };
    all.surveys.push(later(0.92, 13, 500.0, 5).into());
    let three = history(&all);
    assert_eq!((three.seen.len(), three.trend), (3, None));
    all.surveys.push(later(0.88, 14, 700.0, 6).into());
    let mut unread = later(0.5, 15, 900.0, 7);
    unread.readings.clear();
    all.surveys.push(unread.into());
    let four = history(&all);
    assert_eq!((four.seen.len(), four.left_out.len()), (4, 1));
    assert!(four.seen[0].common.is_none());
    for (seen, truth) in four.seen[1..].iter().zip([-0.04, -0.08, -0.12]) {
        let (low, high) = seen.common.expect("against the baseline").interval;
        assert!(low < truth + 0.005 && truth - 0.005 < high, "{seen:?}");
        let (least, most) = seen.nonuniformity.bounds.expect("draws");
        assert!(
            least < most && (least..=most).contains(&seen.nonuniformity.value),
            "{seen:?}"
        );
    }
    assert!(four.seen[3].coldest.value < four.seen[0].coldest.value);
    let trend = four.trend.expect("four");
    // ln 0.88 over 600 h
    assert!((trend.rate + 0.021).abs() < 0.005, "{trend:?}");
    assert!(
        trend.interval.0 < -0.021 && -0.021 < trend.interval.1,
        "{trend:?}"
    );
}

#[test]
fn what_happened_since_the_baseline_asks_for_a_new_one() {
    let two = station(&|_| 0.95, &|p| p, 16);
    let asks = |with: &dyn Fn(&mut Station)| {
        let mut two = two.clone();
        with(&mut two);
        let change = compare(&two).expect("a change");
        let record = ChangeRecord::new(&two, &change, [None, None], LengthUnit::Mm);
        let asks = |w: &String| w.contains("take a whole survey");
        record.warnings.into_iter().filter(asks).collect::<Vec<_>>()
    };
    let second = |with: &dyn Fn(&mut Survey)| {
        asks(&|two: &mut Station| {
            let mut survey: Survey = (*two.surveys[1]).clone();
            with(&mut survey);
            two.surveys[1] = survey.into();
        })
    };
    assert_eq!(asks(&|_| {}), Vec::<String>::new());
    let said = |asked: Vec<String>, part: &str| {
        assert!(asked.len() == 1 && asked[0].contains(part), "{asked:?}");
    };
    said(
        asks(&|two| {
            for (i, lamp) in [(0, "L1"), (1, "L2")] {
                let mut survey: Survey = (*two.surveys[i]).clone();
                survey.state.lamp_serial = lamp.into();
                two.surveys[i] = survey.into();
            }
        }),
        "lamp was changed",
    );
    said(second(&|s| s.state.in_the_way = "quartz".into()), "Window");
    said(
        asks(&|two| {
            use evenfield::station::Pallet;
            for (i, pallet) in [(0, Pallet::Empty), (1, Pallet::Loaded)] {
                let mut survey: Survey = (*two.surveys[i]).clone();
                survey.state.pallet = pallet;
                two.surveys[i] = survey.into();
            }
        }),
        "pallet",
    );
    said(
        second(&|s| s.radiometer.iter_mut().for_each(|r| r.name = "R2".into())),
        "pair",
    );
    said(second(&|s| s.date = date(2027, 6, 1)), "days older");
    said(
        second(&|s| s.state.face_height = Some(FACE_HEIGHT + 2.0)),
        "height",
    );
    let dirty = asks(&|two| {
        let by = |p: Place| {
            let r = p.point().distance(Point::new(50.0, 70.0)) / 22.0;
            1.0 - 0.15 * (-r * r).exp()
        };
        two.surveys[1] = station(&by, &|p| p, 2).surveys[1].clone();
    });
    said(dirty, "pattern has changed");
}
