//! How long all sites of a pallet of 48 parts take with twelve things standing among them.

use std::time::Instant;

use evenfield::assess::{Request, Spots, ToFit, ToSearch, assessed_area};
use evenfield::geometry::{Footprint, Place, Point, Shape};
use evenfield::lamps::{Emitters, Lamp, Lobe};
use evenfield::progress::Progress;
use evenfield::station::{Bars, KeepOut, Pallet, Reading, Rim, SiteGroup, SiteLayout, Station};
use jiff::civil::date;

/// The station: 200 x 150 mm, 8 x 6 parts that stand 6 mm above their bonds, ten clamps, two posts, a rim.
pub fn station() -> Station {
    let shape = Shape::Rectangle {
        width: 200.0,
        depth: 150.0,
    };
    let mut station = Station::new("Speed", shape, 90.0);
    let face = Footprint::new(
        Shape::Rectangle {
            width: 190.0,
            depth: 140.0,
        },
        Point::new(100.0, 75.0),
    );
    let lamp = Emitters::scattered(
        &face,
        90.0,
        (12, 9),
        Lobe::domed(),
        40_000.0,
        (0.1, 0.05),
        7,
    );
    station.source.face = Some(face);
    station.sites = vec![SiteGroup {
        name: "P-".into(),
        shape: Shape::Rectangle {
            width: 16.0,
            depth: 14.0,
        },
        turn: 0.0,
        height: 10.0,
        top: Some(16.0),
        bond: None,
        layout: SiteLayout::Grid {
            first: Point::new(16.0, 16.0),
            columns: 8,
            rows: 6,
            pitch_x: 24.0,
            pitch_y: 23.6,
        },
    }];
    station.keep_outs = (0..12)
        .map(|i| {
            let at = Point::new(
                28.0 + 48.0 * f64::from(i % 4),
                28.0 + 47.2 * f64::from(i / 4),
            );
            let clamp = Footprint::new(Shape::Circle { diameter: 6.0 }, at);
            KeepOut {
                height: Some(22.0 + f64::from(i)),
                ..KeepOut::new(format!("Clamp {i}"), clamp, Bars::Both)
            }
        })
        .collect();
    station.fixture.rim = Some(Rim {
        height: 18.0,
        thickness: 4.0,
    });
    let mut survey = station.new_survey("Round", date(2026, 3, 9));
    survey.state.pallet = Pallet::Out;
    for height in [5.0, 15.0, 30.0] {
        for i in 0..49 {
            let along = |k: i32, extent: f64| -10.0 + (extent + 20.0) * f64::from(k) / 6.0;
            let at = Place::new(along(i % 7, 200.0), along(i / 7, 150.0), height);
            survey
                .readings
                .push(Reading::new(at, Some(lamp.irradiance(at))));
        }
    }
    station.surveys.push(survey.into());
    station
}

/// Prints the seconds of the median of several runs.
pub fn measure() {
    let with = station();
    let mut without = with.clone();
    without.keep_outs.clear();
    without.fixture.rim = None;
    without.sites[0].top = None;
    let request = Request::of_survey(0);
    let to_fit = ToFit::of(&with, &request).expect("a survey");
    let fit = to_fit.fit(&Progress::new()).expect("a field");
    for (what, station) in [("in the open", &without), ("at the bond", &with)] {
        let assessed = assessed_area(station, &request).expect("sites");
        let search = ToSearch::of(station, &station.surveys[0], &assessed);
        let mut seconds: Vec<f64> = (0..7)
            .map(|_| {
                let start = Instant::now();
                Spots::of(&fit.field, &search, &Progress::new()).expect("spots");
                start.elapsed().as_secs_f64()
            })
            .collect();
        seconds.sort_by(f64::total_cmp);
        println!("{what}: {:.3} s", seconds[3]);
    }
}
