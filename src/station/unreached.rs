//! Bond lines to which a detector's sensing plane can't be brought: its body has a thickness, and no spacer makes it less.

use super::{Radiometer, Station};

/// A bond line below the lowest place of the sensing plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unreached {
    /// Which group of sites.
    pub group: usize,
    /// Of the bond line above the fixture's base, mm.
    pub height: f64,
    /// Of the sensing plane, the detector on the base, mm.
    pub lowest: f64,
    /// So much more is read there than lies at the bond line, percent, where light falls off with the square of the distance
    /// from the face: an estimate, and for a large face an upper one. `None`: the sensing plane is not below the face.
    pub more_percent: Option<f64>,
}

impl Unreached {
    /// So much higher the source must be for the survey, so that the sensing plane is as far from its face as the bond line
    /// is later, mm.
    pub fn raise(&self) -> f64 {
        self.lowest - self.height
    }
}

/// Inverse square of the distance from the face (common practice for a source seen from far; no source).
fn more_percent(face: f64, height: f64, lowest: f64) -> Option<f64> {
    let (far, near) = (face - height, face - lowest);
    (near > 0.0).then(|| 100.0 * ((far / near).powi(2) - 1.0))
}

impl Station {
    /// The bond lines that the sensing plane of this radiometer can't be brought down to, one a height, the lowest first; none
    /// while the face is not above them.
    pub fn unreached(&self, radiometer: &Radiometer) -> Vec<Unreached> {
        const SAME: f64 = 1e-3;
        let (lowest, face) = (radiometer.sensing_plane, self.source.face_height);
        let sites = self.sites.iter().enumerate();
        let mut all: Vec<Unreached> = sites
            .filter(|(_, group)| group.height < lowest - SAME && group.height < face)
            .map(|(group, sites)| Unreached {
                group,
                height: sites.height,
                lowest,
                more_percent: more_percent(face, sites.height, lowest),
            })
            .collect();
        all.sort_by(|a, b| a.height.total_cmp(&b.height));
        all.dedup_by(|b, a| b.height - a.height <= SAME);
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Point, Shape};
    use crate::station::{SiteGroup, SiteLayout};

    #[test]
    fn a_thick_detector_reads_more_than_lies_at_a_low_bond() {
        let mut station = Station::new("s", Shape::Circle { diameter: 100.0 }, 100.0);
        for height in [5.0, 0.0, 5.0, 12.0] {
            station.sites.push(SiteGroup {
                name: "S".into(),
                shape: Shape::Circle { diameter: 10.0 },
                turn: 0.0,
                height,
                top: None,
                bond: None,
                layout: SiteLayout::Single {
                    centre: Point::new(50.0, 50.0),
                },
            });
        }
        let mut radiometer = Radiometer::new("R", Shape::Circle { diameter: 20.0 });
        assert_eq!(station.unreached(&radiometer), []);
        radiometer.sensing_plane = 10.0;
        let all = station.unreached(&radiometer);
        let seen: Vec<_> = all.iter().map(|u| (u.group, u.height, u.raise())).collect();
        assert_eq!(seen, [(1, 0.0, 10.0), (0, 5.0, 5.0)]);
        // (100 / 90)² and (95 / 90)²
        let more: Vec<f64> = all.iter().filter_map(|u| u.more_percent).collect();
        assert!((more[0] - 23.456_790).abs() < 1e-6 && (more[1] - 11.419_753).abs() < 1e-6);
        radiometer.sensing_plane = 100.0;
        assert!(
            station
                .unreached(&radiometer)
                .iter()
                .all(|u| u.more_percent.is_none())
        );
    }
}
