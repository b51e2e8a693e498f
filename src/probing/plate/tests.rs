use super::*;
use crate::station::{KeepOut, PlanLayout, Plate, Radiometer, Reference};

fn station(columns: u32, rows: u32, body: f64) -> Station {
    let fixture = Shape::Rectangle {
        width: 180.0,
        depth: 120.0,
    };
    let mut station = Station::new("s", fixture, 90.0);
    let body = Shape::Circle { diameter: body };
    station.radiometers.push(Radiometer::new("R", body));
    station.plan.radiometer = Some("R".into());
    station.plan.layout = PlanLayout::Grid {
        columns,
        rows,
        margin: 20.0,
    };
    station
}

fn plates(station: &Station) -> Plates {
    Plates::of(station).expect("plates")
}

#[test]
fn bores_are_as_much_wider_than_the_body_as_is_asked_for() {
    let mut station = station(4, 3, 25.0);
    station.plan.bores = Some(Bores {
        clearance: 0.4,
        ..Bores::default()
    });
    let made = plates(&station);
    assert_eq!(
        (made.count(), made.too_near.len(), made.fewest),
        (1, 0, true)
    );
    for (opening, position) in made.openings.iter().zip(station.positions()) {
        assert_eq!(opening.shape, Shape::Circle { diameter: 25.4 });
        assert_eq!(opening.centre, position.at);
    }
    assert_eq!(made.troubles, []);
    // all names and the plate's own
    assert_eq!(made.engraved(0).len(), 12 + 1);
}

#[test]
fn bores_too_near_to_one_another_are_on_two_plates() {
    // 28 mm apart, bores of 30.5 mm: each second position of a row, and of each second row
    let mut station = station(6, 3, 30.0);
    let made = plates(&station);
    assert!(!made.too_near.is_empty() && made.fewest);
    assert_eq!(made.count(), 2);
    for on in made.shared() {
        for (i, a) in on.iter().enumerate() {
            for b in &on[i + 1..] {
                let apart = made.positions[*a].at.distance(made.positions[*b].at);
                assert!(apart - 30.5 >= 3.0 - 1e-9, "{apart}");
            }
        }
    }
    let mut all = made.shared().concat();
    all.sort_unstable();
    assert!(all.into_iter().eq(0..18));
    // the reference's plate comes first, and it has its bore on the other one only where there is room
    let name = made.positions[made.shared()[1][0]].name.clone();
    station.plan.reference = Some(Reference {
        position: name.clone(),
        height: 0.0,
        every: None,
    });
    let made = plates(&station);
    let reference = made.shared()[0][0];
    assert_eq!(made.positions[reference].name, name);
    assert!(made.holds(0, reference) && !made.holds(1, reference));
}

#[test]
fn no_name_lies_on_a_bore_or_over_the_edge() {
    for (columns, rows) in [(4, 3), (6, 3), (9, 7)] {
        let made = plates(&station(columns, rows, 24.0));
        for plate in 0..made.count() {
            for text in made.engraved(plate) {
                let half = 0.5 * 0.9 * text.size * text.text.len() as f64;
                let frame = Footprint::new(
                    Shape::Rectangle {
                        width: 2.0 * half,
                        depth: text.size,
                    },
                    text.at,
                );
                assert!(made.outline.covers(&frame), "{text:?}");
                for i in made.bored(plate) {
                    assert!(!made.openings[i].overlaps(&frame), "{text:?}");
                }
            }
        }
    }
}

#[test]
fn what_is_wrong_is_said() {
    let mut station = station(3, 3, 25.0);
    station.plan.layout = PlanLayout::Grid {
        columns: 3,
        rows: 3,
        margin: 14.0,
    };
    let post = Footprint::new(Shape::Circle { diameter: 10.0 }, Point::new(110.0, 60.0));
    station
        .keep_outs
        .push(KeepOut::new("Post", post, Bars::Both));
    station.plan.bores = Some(Bores {
        located: LocatedBy::Pins {
            diameter: 6.0,
            at: (Point::new(14.0, 32.0), Point::new(179.0, 60.0)),
        },
        ..Bores::default()
    });
    let made = plates(&station);
    // a bore of 25.5 mm leaves 1.25 mm to the edge
    let edge = |t: &&Trouble| matches!(t, Trouble::Edge(_, left) if (left - 1.25).abs() < 1e-9);
    assert_eq!(made.troubles.iter().filter(edge).count(), 8);
    // 20 mm from the middle, half a bore and half an opening of 12 mm between them
    let near =
        |t: &Trouble| matches!(t, Trouble::KeepOut(4, 0, left) if (left - 1.25).abs() < 1e-9);
    assert!(made.troubles.iter().any(near), "{:?}", made.troubles);
    let pin = |t: &Trouble| matches!(t, Trouble::Pin(0, 0, left) if (left - 2.25).abs() < 1e-9);
    assert!(made.troubles.iter().any(pin), "{:?}", made.troubles);
    assert!(made.troubles.contains(&Trouble::PinOutside(1)));
    // with the pallet out the post goes with it, and the plate reaches beyond the rim
    station.plan.plate = Some(Plate {
        corner: Point::new(-25.0, -25.0),
        width: 230.0,
        depth: 170.0,
    });
    let made = plates(&station);
    assert_eq!(made.cut_outs, []);
    assert!(
        !made
            .troubles
            .iter()
            .any(|t| matches!(t, Trouble::Edge(..) | Trouble::PinOutside(_)))
    );
}

#[test]
fn without_a_body_or_positions_there_is_none() {
    let mut without = station(3, 3, 20.0);
    without.plan.layout = PlanLayout::ByHand(Vec::new());
    assert_eq!(Plates::of(&without), Err(NoPlate::NoPositions));
    let mut without = station(3, 3, 20.0);
    without.plan.radiometer = None;
    assert_eq!(Plates::of(&without), Err(NoPlate::NoBody));
    assert_eq!(
        Plates::of(&station(25, 25, 1.0)),
        Err(NoPlate::TooMany(625))
    );
}
