//! What is looked at in the running program: lines through the cross, the map of uncertainty, fixed colours. Held
//! against the field itself.

use std::sync::Arc;
use std::time::{Duration, Instant};

use evenfield::export::bundle::Sheets;
use evenfield::field::Fitted;
use evenfield::files::Preferences;
use evenfield::geometry::{Place, Point, Shape};
use evenfield::progress::Progress;
use evenfield::session::{Along, Command, MapOf, Profile, Session};
use evenfield::sheet::drawing::{Item, Role};
use evenfield::sheet::picture::{Layers, Picture};
use evenfield::station::{Edit, Family, Settings};
use evenfield::units::IrradianceUnit;
use evenfield::work::Held;
use jiff::civil::date;

fn on_sample() -> Session {
    Session::on_sample(Preferences::default(), date(2026, 11, 25), Arc::new(|| {}))
}

/// Lets all background work end.
fn settle(session: &mut Session) {
    let begun = Instant::now();
    session.update();
    while session.is_working() {
        assert!(begun.elapsed() < Duration::from_secs(300), "it never ends");
        std::thread::sleep(Duration::from_millis(2));
        session.update();
    }
}

fn field(session: &Session) -> Arc<Fitted> {
    session
        .answers()
        .fit()
        .current()
        .expect("a fit")
        .field
        .clone()
}

fn profile(session: &Session) -> Profile {
    session
        .answers()
        .profile()
        .current()
        .expect("a line")
        .clone()
}

#[test]
fn a_section_is_the_field_along_the_line_at_the_height_of_the_map() {
    let mut session = on_sample();
    settle(&mut session);
    let bounds = session.station().fixture.footprint().bounds();
    let cross = Point::new(0.3 * bounds.max.x, 0.6 * bounds.max.y);
    session.handle(Command::SetCross(cross));
    for height in [4.0, 21.5] {
        session.handle(Command::SetHeight {
            height,
            sliding: false,
        });
        for (along, length) in [(Along::X, bounds.width()), (Along::Y, bounds.depth())] {
            session.handle(Command::ShowAlong(along));
            settle(&mut session);
            let shown = profile(&session);
            assert_eq!(shown.line.along, along);
            let (first, last) = (shown.values[0].0, shown.values[shown.values.len() - 1].0);
            assert!((last - first - length).abs() < 1e-9, "from side to side");
            let place = |at: f64| match along {
                Along::X => Place::new(at, cross.y, height),
                Along::Y => Place::new(cross.x, at, height),
                Along::Height => unreachable!("not asked for"),
            };
            for (at, said) in &shown.values {
                let there = field(&session).at(&[place(*at)], &Progress::new());
                let there = there.expect("not cancelled")[0];
                let said = said.expect("all of a rectangle has a field");
                assert!((said.irradiance / there.irradiance - 1.0).abs() < 1e-9);
                let (u, v) = (said.uncertainty, there.uncertainty);
                assert!((u.expect("one") / v.expect("one") - 1.0).abs() < 1e-6);
                assert_eq!(said.extrapolated, there.extrapolated);
            }
        }
    }
    session.handle(Command::ShowAlong(Along::Height));
    settle(&mut session);
    let upwards = profile(&session);
    let (height, said) = upwards.values[20];
    let there = field(&session).at(&[cross.at_height(height)], &Progress::new());
    let there = there.expect("not cancelled")[0].irradiance;
    assert!((said.expect("a field").irradiance / there - 1.0).abs() < 1e-9);
}

#[test]
fn a_section_has_no_values_outside_the_fixture() {
    let mut session = on_sample();
    let mut fixture = session.station().fixture.clone();
    fixture.shape = Shape::Circle { diameter: 120.0 };
    session.handle(Command::Edit(Edit::SetFixture(fixture)));
    let footprint = session.station().fixture.footprint();
    let (centre, radius) = (footprint.centre, 60.0);
    session.handle(Command::SetCross(Point::new(centre.x, centre.y + 36.0)));
    session.handle(Command::ShowAlong(Along::X));
    settle(&mut session);
    for (x, said) in profile(&session).values {
        // half of the chord 36 mm off the middle of a disk of radius 60 mm is 48 mm (Pythagoras)
        let inside = (x - centre.x).abs() <= 48.0 + 1e-6;
        assert_eq!(said.is_some(), inside, "{x} of {radius}");
    }
}

#[test]
fn readings_are_near_a_section_in_space() {
    let mut session = on_sample();
    session.handle(Command::SetCross(Point::new(50.0, 40.0)));
    session.handle(Command::ShowAlong(Along::X));
    session.handle(Command::SetHeight {
        height: 10.0,
        sliding: false,
    });
    settle(&mut session);
    let line = profile(&session).line;
    assert!((line.distance(Place::new(7.0, 43.0, 14.0)) - 5.0).abs() < 1e-12);
    assert_eq!(line.of(Place::new(7.0, 43.0, 14.0)), 7.0);
}

#[test]
fn the_map_of_uncertainty_is_twice_the_standard_uncertainty_in_percent() {
    let mut session = on_sample();
    session.handle(Command::ShowMapOf(MapOf::Uncertainty));
    settle(&mut session);
    let map = session.answers().uncertainty().current().expect("a map");
    let raster = &map.raster;
    assert!(!map.levels.is_empty() && !map.contours.is_empty());
    let field = field(&session);
    let mut seen = 0;
    for row in (0..raster.rows).step_by(9) {
        for column in (0..raster.columns).step_by(7) {
            let shown = raster.irradiance[row * raster.columns + column];
            if !shown.is_finite() {
                continue;
            }
            let place = raster.node(column, row).at_height(session.height());
            let there = field.at(&[place], &Progress::new()).expect("not cancelled")[0];
            let wanted = 200.0 * there.uncertainty.expect("one") / there.irradiance;
            assert!((shown / wanted - 1.0).abs() < 0.02, "{shown} for {wanted}");
            seen += 1;
        }
    }
    assert!(seen > 30, "{seen}");

    session.handle(Command::Edit(Edit::SetSettings(Settings {
        family: Some(Family::InverseDistance),
        ..session.station().settings.clone()
    })));
    settle(&mut session);
    match session.answers().uncertainty() {
        Held::Failed(why, _) => assert!(why.contains("does not say how far off"), "{why}"),
        other => panic!(
            "a family without uncertainty has no map of it: {:?}",
            other.any().is_some()
        ),
    }
}

#[test]
fn a_range_of_colours_that_does_not_rise_changes_nothing() {
    let mut session = on_sample();
    session.handle(Command::FixColours(MapOf::Irradiance, Some([60.0, 90.0])));
    session.handle(Command::FixColours(MapOf::Uncertainty, Some([0.0, 8.0])));
    for range in [
        [90.0, 60.0],
        [60.0, 60.0],
        [f64::NAN, 60.0],
        [60.0, f64::INFINITY],
    ] {
        session.handle(Command::FixColours(MapOf::Irradiance, Some(range)));
        assert_eq!(session.colours().irradiance, Some([60.0, 90.0]));
    }
    session.handle(Command::FixColours(MapOf::Irradiance, None));
    assert_eq!(session.colours().irradiance, None);
    assert_eq!(session.colours().of(MapOf::Uncertainty), Some([0.0, 8.0]));
}

#[test]
fn what_is_exported_has_the_colours_that_are_seen() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut session = on_sample();
    session.handle(Command::FixColours(MapOf::Irradiance, Some([60.0, 90.0])));
    session.handle(Command::FixColours(MapOf::Uncertainty, Some([0.5, 8.0])));
    session.handle(Command::ChooseSheets(
        Sheets::parse("map").expect("a sheet"),
    ));
    settle(&mut session);
    session.handle(Command::Export(folder.path().to_owned()));
    settle(&mut session);
    let said: String = (1..9)
        .map(|page| match page {
            1 => "map.svg".to_owned(),
            more => format!("map-{more}.svg"),
        })
        .filter_map(|name| std::fs::read_to_string(folder.path().join(name)).ok())
        .flat_map(|svg| {
            let texts = svg.split("<text").skip(1).map(|text| {
                let text = text.split_once('>').map_or("", |(_, text)| text);
                text.split('<').next().unwrap_or_default().to_owned()
            });
            texts.collect::<Vec<_>>()
        })
        .collect::<Vec<_>>()
        .join(" ");
    for wanted in [
        "The colours go from 60.00 to 90.00 mW/cm², whatever the map.",
        "Part of the map is above that",
        "The colours go from 0.5 to 8.0 %, whatever the map.",
    ] {
        assert!(said.contains(wanted), "{wanted}: {said}");
    }
}

#[test]
fn readings_are_written_beside_their_marks_repeats_together() {
    let mut session = on_sample();
    let (survey, of) = session.survey().expect("a survey");
    let mut first = of.readings[0].clone();
    first.irradiance = Some(81.25);
    let mut again = first.clone();
    again.irradiance = Some(80.5);
    let height = first.height;
    let removed = (1..of.readings.len()).collect();
    session.handle(Command::Edit(Edit::RemoveReadings {
        survey,
        rows: removed,
    }));
    session.handle(Command::Edit(Edit::SetReadings {
        survey,
        row: 0,
        readings: vec![first, again],
        name: "two at one place".into(),
    }));
    let texts = |numbers: bool, height: f64| -> Vec<String> {
        let picture = Picture {
            station: session.station(),
            survey: Some(survey),
            height: Some(height),
            map: None,
            unit: IrradianceUnit::WattPerM2,
            contours: &[],
            against: None,
            proposed: &[],
            answer: None,
            layers: Layers {
                map: false,
                contours: false,
                face: false,
                sites: false,
                keep_outs: false,
                positions: false,
                bodies: false,
                readings: true,
                numbers,
                spots: false,
            },
        };
        let items = picture.drawing(&|_| String::new()).items.into_iter();
        let label = |item| match item {
            Item::Label {
                text,
                role: Role::Reading,
                ..
            } => Some(text),
            _ => None,
        };
        items.filter_map(label).collect()
    };
    assert_eq!(texts(true, height), ["812.5, 805"]);
    assert!(texts(false, height).is_empty());
    assert!(texts(true, height + 5.0).is_empty());
}
