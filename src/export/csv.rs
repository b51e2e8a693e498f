//! Tables for other programs.

use crate::field::Raster;
use crate::files::csv_cell;
use crate::record::{PlacementRecord, PlanRecord};

/// A field on its nodes: `x_mm,y_mm,height_mm,irradiance_mw_cm2,uncertainty_mw_cm2,extrapolated`, one
/// line a node from the front left to the back right; nodes outside the outline are left out. The
/// uncertainty is a standard uncertainty (k = 1), empty where there is none; `extrapolated` is `true`
/// beyond the outermost positions and wherever else the readings do not reach, or `false`.
pub fn field_csv(raster: &Raster) -> String {
    let mut text =
        String::from("x_mm,y_mm,height_mm,irradiance_mw_cm2,uncertainty_mw_cm2,extrapolated\n");
    for row in 0..raster.rows {
        for column in 0..raster.columns {
            let i = row * raster.columns + column;
            if !raster.irradiance[i].is_finite() {
                continue;
            }
            let at = raster.node(column, row);
            let uncertainty = if raster.uncertainty[i].is_finite() {
                number(raster.uncertainty[i])
            } else {
                String::new()
            };
            text.push_str(&format!(
                "{},{},{},{},{uncertainty},{}\n",
                number(at.x),
                number(at.y),
                number(raster.height),
                number(raster.irradiance[i]),
                raster.extrapolated[i]
            ));
        }
    }
    text
}

/// The parts of an arrangement in the order in which a pallet is filled; `x_mm`, `y_mm`: the middle of each, from the datum.
/// Bounds are one-sided, 95 %, each part for itself; empty where there are none.
pub fn placement_csv(placement: &PlacementRecord) -> String {
    let mut text = String::from(
        "rank,x_mm,y_mm,turned,height_mm,coldest_mw_cm2,assured_mw_cm2,hottest_mw_cm2,at_most_mw_cm2\n",
    );
    let maybe = |value: Option<f64>| value.map_or_else(String::new, number);
    let mut sites: Vec<_> = placement.sites.iter().collect();
    sites.sort_by_key(|s| s.rank);
    for s in sites {
        text.push_str(&format!(
            "{},{},{},{},{},{},{},{},{}\n",
            s.rank,
            number(s.x_mm),
            number(s.y_mm),
            s.turned,
            number(placement.height_mm),
            number(s.coldest_mw_cm2),
            maybe(s.assured_mw_cm2),
            number(s.hottest_mw_cm2),
            maybe(s.at_most_mw_cm2),
        ));
    }
    text
}

/// The stops of a plan in the order of its route, with an empty column for the readings: filled in, it can be imported.
/// `number` is that of the plan's drawings and no other stop's; `spacer_mm` is empty where it is not known or none helps,
/// `reference_visit` where it is none, `plate` where the round is made without one; `planned_minute` is when it is read by the
/// times of the cycle.
pub fn plan_csv(plan: &PlanRecord) -> String {
    let mut text = String::from(
        "number,position,x_mm,y_mm,height_mm,working_distance_mm,spacer_mm,radiometer,irradiance_mw_cm2,repeat,minute,excluded,note,reference_visit,plate,planned_minute\n",
    );
    let radiometer = csv_cell(plan.radiometer.as_deref().unwrap_or_default());
    for stop in &plan.positions {
        text.push_str(&format!(
            "{},{},{},{},{},{},{},{radiometer},,{},,,,{},{},{:.1}\n",
            stop.number,
            csv_cell(&stop.position),
            number(stop.x_mm),
            number(stop.y_mm),
            number(stop.height_mm),
            number(stop.working_distance_mm),
            stop.spacer_mm.map_or_else(String::new, number),
            stop.reference_visit.unwrap_or(1),
            stop.reference_visit
                .map_or_else(String::new, |n| n.to_string()),
            stop.plate.map_or_else(String::new, |n| n.to_string()),
            stop.minute,
        ));
    }
    text
}

/// A number to a millionth, without trailing zeros.
fn number(value: f64) -> String {
    let rounded = (value * 1e6).round() / 1e6;
    // adding zero takes the sign from a negative one
    format!(
        "{}",
        if rounded.is_finite() {
            rounded + 0.0
        } else {
            value
        }
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Point, Shape};
    use crate::station::{PlanLayout, Position, Radiometer, Station};

    #[test]
    fn nodes_outside_are_left_out_and_no_uncertainty_is_empty() {
        let raster = Raster {
            columns: 2,
            rows: 2,
            origin: Point::new(0.0, 0.0),
            step_x: 0.1,
            step_y: 2.0,
            height: 20.0,
            irradiance: vec![80.0, 81.25, f64::NAN, 90.123_456_78],
            uncertainty: vec![0.5, f64::NAN, f64::NAN, 0.25],
            extrapolated: vec![false, true, false, false],
        };
        assert_eq!(
            field_csv(&raster),
            "x_mm,y_mm,height_mm,irradiance_mw_cm2,uncertainty_mw_cm2,extrapolated\n\
             0,0,20,80,0.5,false\n0.1,0,20,81.25,,true\n0.1,2,20,90.123457,0.25,false\n"
        );
    }

    #[test]
    fn a_name_is_never_a_formula() {
        let mut station = Station::new("s", Shape::Circle { diameter: 50.0 }, 75.0);
        let names = ["=1+1", "a,\"b\"", "-3"];
        station.plan.layout = PlanLayout::ByHand(
            names
                .map(|name| Position {
                    name: name.to_owned(),
                    at: Point::new(25.0, 25.0),
                })
                .to_vec(),
        );
        station.plan.heights = vec![40.0, 20.0];
        let text = plan_csv(&PlanRecord::new(&station));
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines.len(), 1 + 2 * 3);
        assert_eq!(lines[1], "1,'=1+1,25,25,20,55,,,,1,,,,,,0.5");
        assert_eq!(lines[2], "2,\"a,\"\"b\"\"\",25,25,20,55,,,,1,,,,,,0.9");
        assert!(lines[3].starts_with("3,'-3,"));
        // the next height goes on with the numbers
        assert!(lines[4].starts_with("4,'=1+1,25,25,40,35,"));
        let mut radiometer = Radiometer::new("-R, 1", Shape::Circle { diameter: 20.0 });
        radiometer.sensing_plane = 22.5;
        station.radiometers.push(radiometer);
        station.plan.radiometer = Some("-R, 1".into());
        let text = plan_csv(&PlanRecord::new(&station));
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines[1], "1,'=1+1,25,25,20,55,,\"'-R, 1\",,1,,,,,,0.5");
        assert_eq!(lines[4], "4,'=1+1,25,25,40,35,17.5,\"'-R, 1\",,1,,,,,,2.8");
    }
}
