use super::drags::{handles, moved};
use super::*;
use crate::files::Preferences;
use crate::geometry::{Footprint, Shape};
use crate::station::{Bars, KeepOut};

fn polygon(points: &[(f64, f64)]) -> Shape {
    let corners: Vec<Point> = points.iter().map(|&(x, y)| Point::new(x, y)).collect();
    Shape::Polygon {
        corners: corners.into(),
    }
}

fn session() -> Session {
    let outline = polygon(&[(0.0, 0.0), (180.0, 0.0), (180.0, 120.0), (0.0, 120.0)]);
    let mut station = Station::new("Tray", outline, 75.0);
    station.keep_outs.push(KeepOut {
        name: "Clamp".into(),
        footprint: Footprint {
            shape: polygon(&[(-10.0, 0.0), (10.0, 0.0), (0.0, 8.0)]),
            centre: Point::new(50.0, 50.0),
            turn: 90.0,
        },
        bars: Bars::Both,
        height: None,
        stays: false,
    });
    let today = jiff::civil::date(2026, 3, 9);
    Session::new(station, Preferences::default(), today, Arc::new(|| {}))
}

/// Drags a handle through places, each a frame.
fn drag(session: &mut Session, state: &mut CentreState, target: Thing, way: &[(f64, f64)]) {
    for (i, &(x, y)) in way.iter().enumerate() {
        let phase = match i {
            0 => Phase::Started,
            _ if i + 1 == way.len() => Phase::Done,
            _ => Phase::Moving,
        };
        let at = Point::new(x, y);
        let mut commands = Vec::new();
        moved(
            session.station(),
            &mut state.gesture,
            Drag { target, at, phase },
            &mut commands,
        );
        commands.into_iter().for_each(|c| session.handle(c));
    }
}

#[test]
fn corners_of_polygons_can_be_dragged_each_as_one_step() {
    let (mut session, mut state) = (session(), CentreState::default());
    session.handle(Command::Go(Step::Fixture));
    let before = session.station().clone();
    let all = handles(&session);
    assert_eq!(all.len(), 1 + 4 + 3);
    let third = all.iter().find(|h| h.key == Thing::FixtureCorner(2));
    assert_eq!(third.map(|h| h.at), Some(Point::new(180.0, 120.0)));

    let way = [(175.0, 115.0), (150.0, 100.0), (140.0, 90.0)];
    drag(&mut session, &mut state, Thing::FixtureCorner(2), &way);
    let corners = session.station().fixture.footprint().corners();
    assert_eq!(corners[2], Point::new(140.0, 90.0));
    assert_eq!(corners[1], Point::new(180.0, 0.0));
    let undo = session.undo_names().0;
    assert_eq!(undo, Some("change outline of the fixture"));

    // turned by a right angle, a corner goes where it is put
    let corner = Thing::KeepOutCorner(0, 2);
    drag(
        &mut session,
        &mut state,
        corner,
        &[(44.0, 50.0), (30.0, 52.0)],
    );
    let keep_out = session.station().keep_outs[0].footprint.corners();
    assert!(keep_out[2].distance(Point::new(30.0, 52.0)) < 1e-9);
    assert!(keep_out[0].distance(Point::new(50.0, 40.0)) < 1e-9);

    session.handle(Command::Undo);
    session.handle(Command::Undo);
    assert_eq!(*session.station(), before);
    assert_eq!(session.undo_names().0, None);
}

/// A block of parts is dragged by any of them, as a whole and as one step.
#[test]
fn a_block_of_sites_is_dragged_by_any_of_its_parts() {
    use crate::station::{SiteGroup, SiteLayout};
    let (mut session, mut state) = (session(), CentreState::default());
    session.handle(Command::Go(Step::Fixture));
    let group = SiteGroup {
        name: "S-".into(),
        shape: Shape::Rectangle {
            width: 20.0,
            depth: 12.0,
        },
        turn: 0.0,
        height: 5.0,
        top: None,
        bond: None,
        layout: SiteLayout::Grid {
            first: Point::new(40.0, 30.0),
            columns: 3,
            rows: 2,
            pitch_x: 30.0,
            pitch_y: 20.0,
        },
    };
    session.handle(Command::Edit(crate::station::Edit::AddSites(group)));
    let parts = drags::parts(&session);
    assert_eq!(
        parts.len(),
        5,
        "all but the first, which has a handle already"
    );
    let last = parts.last().copied().expect("parts");
    assert_eq!(
        (last.at, last.key),
        (Point::new(100.0, 50.0), (0, [60.0, 20.0]))
    );
    assert_eq!(last.body.half, [0.5 * 20.0, 0.5 * 12.0]);
    // as the plan view says it: the part's own place
    let way = [(101.0, 50.0), (110.0, 54.0), (112.0, 55.0)].map(|(x, y)| (x - 60.0, y - 20.0));
    drag(&mut session, &mut state, Thing::Sites(0), &way);
    let sites = session.station().all_sites();
    assert_eq!(sites[0].footprint.centre, Point::new(52.0, 35.0));
    assert_eq!(sites[5].footprint.centre, Point::new(112.0, 55.0));
    session.handle(Command::Undo);
    assert_eq!(
        session.station().all_sites()[0].footprint.centre,
        Point::new(40.0, 30.0)
    );
}

#[test]
fn a_corner_over_another_side_stays_where_it_could_be() {
    let (mut session, mut state) = (session(), CentreState::default());
    let way = [(60.0, 60.0), (-50.0, 50.0)];
    drag(&mut session, &mut state, Thing::FixtureCorner(2), &way);
    let corners = session.station().fixture.footprint().corners();
    assert_eq!(corners[2], Point::new(60.0, 60.0));
    let said = session.notice().map(|n| n.text.to_string());
    assert!(said.is_some_and(|text| text.contains("crosses itself")));
}

#[test]
fn each_move_by_a_key_is_a_step_of_its_own() {
    let (mut session, mut state) = (session(), CentreState::default());
    session.handle(Command::Go(Step::Fixture));
    let before = session.station().clone();
    let target = Thing::KeepOut(0);
    drag(
        &mut session,
        &mut state,
        target,
        &[(51.0, 50.0), (60.0, 50.0)],
    );
    let dragged = session.station().clone();
    for x in [61.0, 62.0] {
        let drag = Drag {
            target,
            at: Point::new(x, 50.0),
            phase: Phase::ByKey,
        };
        let mut commands = Vec::new();
        moved(session.station(), &mut state.gesture, drag, &mut commands);
        commands.into_iter().for_each(|c| session.handle(c));
    }
    let at = |session: &Session| session.station().keep_outs[0].footprint.centre.x;
    assert_eq!(at(&session), 62.0);
    session.handle(Command::Undo);
    assert_eq!(at(&session), 61.0);
    session.handle(Command::Undo);
    assert_eq!(*session.station(), dragged);
    session.handle(Command::Undo);
    assert_eq!(*session.station(), before);
}
