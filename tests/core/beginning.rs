//! A station that is only begun: what its plan starts from, how far its steps are said to be, and where the cross stands
//! while the document changes under it.

use std::sync::Arc;
use std::time::{Duration, Instant};

use evenfield::files::Preferences;
use evenfield::geometry::{Point, Shape};
use evenfield::session::{Along, Command, Session, Step, StepState};
use evenfield::station::{
    Edit, Fixture, Plan, PlanLayout, Radiometer, SiteGroup, SiteLayout, SourceKind, Station,
};
use evenfield::work::Held;
use jiff::civil::date;

fn session(station: Station) -> Session {
    Session::new(
        station,
        Preferences::default(),
        date(2026, 3, 9),
        Arc::new(|| {}),
    )
}

fn begun() -> Session {
    let shape = Shape::Rectangle {
        width: 200.0,
        depth: 150.0,
    };
    session(Station::new("New station", shape, 100.0))
}

fn on_sample() -> Session {
    Session::on_sample(Preferences::default(), date(2026, 11, 25), Arc::new(|| {}))
}

fn settle(session: &mut Session) {
    let begun = Instant::now();
    session.update();
    while session.is_working() {
        assert!(begun.elapsed() < Duration::from_secs(300), "it never ends");
        std::thread::sleep(Duration::from_millis(2));
        session.update();
    }
}

fn edit(session: &mut Session, edit: Edit) {
    session.handle(Command::Edit(edit));
}

fn site(height: f64) -> SiteGroup {
    SiteGroup {
        name: "Site".into(),
        shape: Shape::Circle { diameter: 20.0 },
        turn: 0.0,
        height,
        top: None,
        bond: None,
        layout: SiteLayout::Single {
            centre: Point::new(100.0, 75.0),
        },
    }
}

fn radiometer(name: &str) -> Radiometer {
    Radiometer::new(name, Shape::Circle { diameter: 16.0 })
}

fn plan(session: &Session) -> &Plan {
    &session.station().plan
}

#[test]
fn a_plan_begins_with_the_one_radiometer_and_the_bond_lines() {
    let mut session = begun();
    edit(&mut session, Edit::AddRadiometer(radiometer("R1")));
    edit(&mut session, Edit::AddSites(site(0.0)));
    edit(&mut session, Edit::SetSites(0, site(12.0)));
    assert_eq!(plan(&session).radiometer.as_deref(), Some("R1"));
    assert_eq!(plan(&session).heights, [12.0]);
    edit(&mut session, Edit::AddSites(site(4.0)));
    assert_eq!(plan(&session).heights, [4.0, 12.0]);
    session.handle(Command::Undo);
    assert_eq!(plan(&session).heights, [12.0], "one step");
    // a second radiometer is the person's choice
    edit(&mut session, Edit::AddRadiometer(radiometer("R2")));
    assert_eq!(plan(&session).radiometer.as_deref(), Some("R1"));

    // what the person typed stays, and so does none
    let typed = Plan {
        heights: vec![5.0, 20.0],
        radiometer: None,
        ..plan(&session).clone()
    };
    edit(&mut session, Edit::SetPlan(typed.clone()));
    edit(&mut session, Edit::SetSites(0, site(30.0)));
    edit(&mut session, Edit::AddRadiometer(radiometer("R3")));
    assert_eq!(*plan(&session), typed);
}

#[test]
fn a_plan_that_was_measured_by_stays_where_the_bond_line_was() {
    let mut session = begun();
    edit(&mut session, Edit::AddSites(site(12.0)));
    let survey = session.station().new_survey("S", date(2026, 3, 9));
    edit(&mut session, Edit::AddSurvey(survey));
    edit(&mut session, Edit::SetSites(0, site(14.0)));
    assert_eq!(plan(&session).heights, [12.0]);
}

#[test]
fn a_step_is_not_done_by_buttons_alone() {
    let mut session = begun();
    let fixture = |session: &Session| session.state_of(Step::Fixture);
    assert_eq!(session.state_of(Step::Plan), StepState::Empty);
    edit(&mut session, Edit::AddSites(site(0.0)));
    edit(&mut session, Edit::AddRadiometer(radiometer("R1")));
    assert_eq!(fixture(&session), StepState::InWork, "nothing was typed");
    let mut known = radiometer("R1");
    known.sensing_plane = 6.0;
    known.expanded_uncertainty_percent = Some(5.0);
    edit(&mut session, Edit::SetRadiometer(0, known));
    assert_eq!(fixture(&session), StepState::InWork, "what shines?");
    let mut source = session.station().source.clone();
    source.kind = SourceKind::LedPanel;
    edit(&mut session, Edit::SetSource(source));
    assert_ne!(fixture(&session), StepState::InWork);

    // nobody has planned anything yet: the plan's heights are those of the bond lines, 5 x 5 is what each begins with
    edit(&mut session, Edit::SetSites(0, site(20.0)));
    assert_eq!(fixture(&session), StepState::Done);
    assert_eq!(session.state_of(Step::Plan), StepState::InWork);
    let mut own = plan(&session).clone();
    own.layout = PlanLayout::Grid {
        columns: 6,
        rows: 4,
        margin: 14.0,
    };
    edit(&mut session, Edit::SetPlan(own));
    assert_eq!(session.state_of(Step::Plan), StepState::Done);
    assert_eq!(session.state_of(Step::Field), StepState::Empty);
}

#[test]
fn the_field_is_done_only_with_the_answer_of_this_very_document() {
    let mut session = on_sample();
    assert_eq!(session.state_of(Step::Field), StepState::InWork);
    settle(&mut session);
    assert_eq!(session.state_of(Step::Field), StepState::Done);
    let (survey, of) = session.survey().expect("a survey");
    let mut readings = vec![of.readings[0].clone()];
    readings[0].irradiance = readings[0].irradiance.map(|e| 0.9 * e);
    let change = Edit::SetReadings {
        survey,
        row: 0,
        readings,
        name: "type irradiance".into(),
    };
    edit(&mut session, change);
    assert_eq!(session.state_of(Step::Field), StepState::InWork, "at once");
    assert!(session.answer().is_none() && session.judged().is_none());
    session.update();
    assert_eq!(session.state_of(Step::Field), StepState::InWork);
    assert!(session.answers().answer().current().is_none());
    assert!(
        session.answers().answer().any().is_some(),
        "the old one stays"
    );
    assert!(session.answers().profile().current().is_none());
    settle(&mut session);
    assert_eq!(session.state_of(Step::Field), StepState::Done);
}

#[test]
fn the_cross_stands_at_the_coldest_spot_until_it_is_put_elsewhere() {
    let mut session = on_sample();
    settle(&mut session);
    let coldest = |session: &Session| {
        let answer = session.answer().expect("an answer");
        answer.coldest.at.point()
    };
    let first = coldest(&session);
    assert_eq!(session.cross(), Some(first));
    // parts only where it is brighter
    let keep = SiteGroup {
        layout: SiteLayout::Single {
            centre: session.station().fixture.footprint().middle(),
        },
        ..session.station().sites[0].clone()
    };
    edit(&mut session, Edit::SetSites(0, keep));
    for _ in 1..session.station().sites.len() {
        edit(&mut session, Edit::RemoveSites(1));
    }
    settle(&mut session);
    assert_ne!(coldest(&session), first);
    assert_eq!(session.cross(), Some(coldest(&session)));
    let through = |session: &Session| {
        let profile = session.answers().profile().current().expect("a line");
        profile.line.through
    };
    assert_eq!(through(&session), coldest(&session));

    // a click far outside is one at the rim, and the fixture takes the cross with it
    let bounds = session.station().fixture.footprint().bounds();
    session.handle(Command::SetCross(Point::new(1e4, 20.0)));
    assert_eq!(session.cross(), Some(Point::new(bounds.max.x, 20.0)));
    let mut fixture = session.station().fixture.clone();
    fixture.shape = Shape::Circle { diameter: 90.0 };
    edit(&mut session, Edit::SetFixture(fixture));
    for along in Along::ALL {
        session.handle(Command::ShowAlong(along));
        settle(&mut session);
        let at = through(&session);
        assert_eq!(session.cross(), Some(at));
        let outline = session.station().fixture.footprint();
        assert!(outline.contains(at), "{at:?}");
        session.handle(Command::SetCross(Point::new(0.0, 0.0)));
    }
}

#[test]
fn an_older_line_is_never_taken_for_that_of_what_is_there_now() {
    let mut session = on_sample();
    settle(&mut session);
    assert!(session.answers().profile().current().is_some());
    // without readings there is no field, and nothing is seen of the one there was
    let (survey, of) = session.survey().expect("a survey");
    let rows = (0..of.readings.len()).collect();
    edit(&mut session, Edit::RemoveReadings { survey, rows });
    settle(&mut session);
    assert!(matches!(session.answers().profile(), Held::Failed(_, None)));
    assert!(matches!(session.answers().answer(), Held::Failed(_, None)));
    assert!(session.answers().map().any().is_none());
    assert_eq!(session.state_of(Step::Field), StepState::Empty);
    // another document shows nothing of this one
    let mut session = on_sample();
    settle(&mut session);
    session.handle(Command::New);
    assert!(session.answers().profile().any().is_none());
    assert!(session.answers().map().any().is_none());
    assert_eq!(session.cross(), None);
}

#[test]
fn an_empty_survey_shows_no_map_of_another_one_and_undoing_a_paste_takes_the_map_along() {
    let mut session = on_sample();
    settle(&mut session);
    let shows_any = |session: &Session| {
        let answers = session.answers();
        answers.map().any().is_some() || answers.answer().any().is_some()
    };
    assert!(shows_any(&session));
    let readings = session.survey().expect("a survey").1.readings.clone();
    let empty = session.station().new_survey("Morning", date(2026, 3, 9));
    edit(&mut session, Edit::AddSurvey(empty));
    session.update();
    assert!(!shows_any(&session), "at once");
    settle(&mut session);
    assert!(!shows_any(&session));

    let survey = session.survey().expect("the new one").0;
    let paste = Edit::InsertReadings {
        survey,
        row: 0,
        readings,
    };
    edit(&mut session, paste);
    settle(&mut session);
    assert!(shows_any(&session));
    session.handle(Command::Undo);
    settle(&mut session);
    assert!(!shows_any(&session));
}

#[test]
fn a_prefix_that_would_run_into_the_letter_has_a_blank_behind_it() {
    let name = |prefix: &str| {
        let group = SiteGroup {
            name: prefix.into(),
            ..site(0.0)
        };
        group.name_in(1, 2)
    };
    assert_eq!(name("Holder"), "Holder B3");
    assert_eq!(name("Tray 2"), "Tray 2 B3");
    assert_eq!(name("S-"), "S-B3");
    assert_eq!(name("Holder "), "Holder B3");
    assert_eq!(name(""), "B3");
}

#[test]
fn a_new_station_is_read_around_the_parts_until_somebody_says_otherwise() {
    let mut session = begun();
    session.handle(Command::New);
    let margin = |session: &Session| match session.station().plan.layout {
        PlanLayout::Grid { margin, .. } => margin,
        PlanLayout::ByHand(_) => f64::NAN,
    };
    let plan = session.station().plan.clone();
    assert_eq!(plan.plate, Some(session.station().plate_to_begin_with()));
    assert_eq!(margin(&session), 0.0);
    assert_eq!(session.state_of(Step::Plan), StepState::Empty);
    // the plate follows the fixture as the positions do
    let wider = Fixture {
        name: String::new(),
        shape: Shape::Rectangle {
            width: 260.0,
            depth: 150.0,
        },
        rim: None,
        reflectance_percent: None,
    };
    edit(&mut session, Edit::SetFixture(wider));
    let station = session.station();
    assert_eq!(station.plan.plate, Some(station.plate_to_begin_with()));
    let positions = station.positions();
    assert!(positions.iter().any(|p| p.at == Point::new(260.0, 150.0)));
    assert!(positions.iter().all(|p| station.can_sit(p.at)));
    // with the pallet in place they keep off its rim again
    let in_place = Plan {
        plate: None,
        ..station.plan.clone()
    };
    edit(&mut session, Edit::SetPlan(in_place));
    assert_eq!(margin(&session), 10.0);
}
