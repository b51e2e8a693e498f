//! A plan that is read with the pallet out, on a plate: what may stand where, and what is said of it.

use evenfield::geometry::{Footprint, Point, Shape};
use evenfield::station::{
    Bars, Edit, KeepOut, LedArray, Pallet, PlanLayout, Plate, Position, Reading, Source,
    SourceKind, Station, Where,
};
use jiff::civil::date;

const FIXTURE: Shape = Shape::Rectangle {
    width: 180.0,
    depth: 120.0,
};
const BEYOND: Point = Point { x: -8.0, y: 60.0 };
const ON_THE_POST: Point = Point { x: 90.0, y: 60.0 };

fn post() -> KeepOut {
    let footprint = Footprint::new(Shape::Circle { diameter: 20.0 }, ON_THE_POST);
    KeepOut::new("Post", footprint, Bars::Both)
}

/// A plan with one position beyond the rim and one on a keep-out, and a survey read there.
fn station(plate: bool, pallet: Pallet) -> Station {
    let mut station = Station::new("bench", FIXTURE, 75.0);
    station.keep_outs = vec![post()];
    let position = |name: &str, at| Position {
        name: name.into(),
        at,
    };
    let positions = vec![position("A1", BEYOND), position("A2", ON_THE_POST)];
    let read = |name: &str, at: Point| Reading {
        position: name.into(),
        ..Reading::new(at.at_height(20.0), Some(50.0))
    };
    let readings = vec![read("A1", BEYOND), read("A2", ON_THE_POST)];
    station.plan.layout = PlanLayout::ByHand(positions);
    station.plan.plate = plate.then(|| station.plate_to_begin_with());
    let mut survey = station.new_survey("Round", date(2026, 3, 9));
    survey.state.pallet = pallet;
    survey.readings = readings;
    station.surveys = vec![survey.into()];
    station
}

/// Places of what is odd about positions and readings.
fn odd(station: &Station) -> Vec<Where> {
    let places = station.check().into_iter().map(|found| found.place);
    places
        .filter(|place| matches!(place, Where::Position(_) | Where::Reading(..)))
        .collect()
}

#[test]
fn beyond_the_rim_is_odd_only_with_the_pallet_in_place() {
    let in_place = station(false, Pallet::Loaded);
    assert_eq!(
        odd(&in_place),
        [
            Where::Position(0),
            Where::Position(1),
            Where::Reading(0, 0),
            Where::Reading(0, 1)
        ]
    );
    assert_eq!(odd(&station(true, Pallet::Out)), []);
    // what the survey does not say is as the plan is read
    assert_eq!(odd(&station(true, Pallet::NotSaid)), []);
    // one that was read with the pallet in place was not read on the plate
    assert_eq!(
        odd(&station(true, Pallet::Empty)),
        [Where::Reading(0, 0), Where::Reading(0, 1)]
    );
    // of a plate that nobody described nothing is known
    assert_eq!(
        odd(&station(false, Pallet::Out)),
        [Where::Position(0), Where::Position(1)]
    );
}

#[test]
fn what_stays_with_the_pallet_out_bars_detectors_there_too() {
    let mut station = station(true, Pallet::Out);
    assert!(station.can_sit(ON_THE_POST) && !station.can_sit_on_pallet(ON_THE_POST));
    station.keep_outs[0].stays = true;
    assert!(!station.can_sit(ON_THE_POST));
    assert_eq!(odd(&station), [Where::Position(1), Where::Reading(0, 1)]);
}

#[test]
fn beyond_the_plate_is_said() {
    let mut station = station(true, Pallet::Out);
    station.plan.plate = Some(Plate {
        corner: Point::new(-5.0, -5.0),
        width: 190.0,
        depth: 130.0,
    });
    let said: Vec<String> = station.check().into_iter().map(|f| f.what).collect();
    assert!(
        said.iter()
            .any(|what| what == "position A1 at -8, 60 mm is outside the plate"),
        "{said:?}"
    );
    assert_eq!(odd(&station), [Where::Position(0), Where::Reading(0, 0)]);
}

#[test]
fn a_new_survey_is_read_as_the_plan_is() {
    let pallet = |plate| {
        let survey = station(plate, Pallet::Empty).new_survey("Next", date(2026, 3, 10));
        survey.state.pallet
    };
    assert_eq!(
        (pallet(false), pallet(true)),
        (Pallet::NotSaid, Pallet::Out)
    );
}

#[test]
fn edits_of_these_parts_say_what_they_do() {
    let mut station = station(false, Pallet::Empty);
    let plan = station.plan.clone();
    let plate = station.plate_to_begin_with();
    let with = |plate| {
        Edit::SetPlan(evenfield::station::Plan {
            plate,
            ..plan.clone()
        })
    };
    let said = |station: &Station, edit: &Edit| edit.name(station);
    assert_eq!(
        said(&station, &with(Some(plate))),
        "read the plan with the pallet out"
    );
    station.apply(with(Some(plate))).expect("sound");
    let wider = Plate {
        width: 300.0,
        ..plate
    };
    assert_eq!(
        said(&station, &with(Some(wider))),
        "change plate of the plan"
    );
    assert_eq!(
        said(&station, &with(None)),
        "read the plan with the pallet in place"
    );
    let higher = KeepOut {
        height: Some(35.0),
        ..post()
    };
    assert_eq!(
        said(&station, &Edit::SetKeepOut(0, higher)),
        "change height of keep-out Post"
    );
    let rows = Source {
        array: Some(LedArray {
            columns: 4,
            rows: 3,
            pitch_x: 20.0,
            pitch_y: 25.0,
        }),
        ..station.source.clone()
    };
    assert_eq!(said(&station, &Edit::SetSource(rows)), "add rows of LEDs");
}

#[test]
fn sizes_that_cannot_be_are_refused() {
    let mut station = station(true, Pallet::Out);
    let before = station.clone();
    let mut plan = station.plan.clone();
    plan.plate = Some(Plate {
        corner: Point::default(),
        width: 0.0,
        depth: 50.0,
    });
    let refused = station.apply(Edit::SetPlan(plan)).expect_err("no width");
    assert_eq!(
        refused.to_string(),
        "the width of the plate is 0; type a number above zero"
    );
    let flat = KeepOut {
        height: Some(-1.0),
        ..post()
    };
    assert!(station.apply(Edit::SetKeepOut(0, flat)).is_err());
    assert_eq!(station, before);
}

#[test]
fn what_does_not_fit_the_lamp_is_said() {
    let mut station = station(true, Pallet::Out);
    station.source.face = Some(Footprint::new(FIXTURE, Point::new(90.0, 60.0)));
    station.source.array = Some(LedArray {
        columns: 12,
        rows: 2,
        pitch_x: 20.0,
        pitch_y: 20.0,
    });
    station.keep_outs[0].height = Some(80.0);
    let found = station.check();
    let said = |place: Where| {
        let here = found.iter().filter(|f| f.place == place);
        here.map(|f| f.what.as_str()).collect::<Vec<_>>()
    };
    assert_eq!(
        said(Where::Source("Rows of LEDs")),
        ["the LEDs reach over 220 x 20 mm, the face is 180 x 120 mm"]
    );
    assert_eq!(
        said(Where::Source("Kind")),
        ["rows and columns of LEDs are given, and the source is no LED panel"]
    );
    assert_eq!(
        said(Where::KeepOut(0)),
        ["keep-out Post is 80 mm high and reaches up to the face at 75 mm"]
    );
    station.source.kind = SourceKind::LedPanel;
    station.source.array = station.source.array.map(|array| LedArray {
        pitch_x: 15.0,
        ..array
    });
    station.keep_outs[0].height = Some(30.0);
    let left = station.check();
    assert!(
        left.iter()
            .all(|f| !matches!(f.place, Where::Source(_) | Where::KeepOut(_))),
        "{left:?}"
    );
}
