//! What a plan comes to: how many readings, how dense, what goes under the detector.

use std::sync::Arc;

use eframe::egui::{Label, Ui};

use crate::geometry::Point;
use crate::numeric::neighbours::{largest_gap, median_spacing};
use crate::probing;
use crate::station::Station;
use crate::units::LengthUnit;

/// Figures of the plan, worked out once for a document.
#[derive(Debug, Default)]
pub struct Figures {
    of: Option<Arc<Station>>,
    positions: usize,
    spacing: Option<f64>,
    gap: Option<(Point, f64)>,
}

impl Figures {
    /// Works them out when the document is another one.
    pub(super) fn renew(&mut self, station: &Arc<Station>) {
        if self.of.as_ref().is_some_and(|of| Arc::ptr_eq(of, station)) {
            return;
        }
        let points: Vec<Point> = station.positions().iter().map(|p| p.at).collect();
        *self = Self {
            of: Some(station.clone()),
            positions: points.len(),
            spacing: median_spacing(&points),
            gap: largest_gap(&station.fixture.footprint(), &points),
        };
    }

    /// Middle and radius of the largest gap, mm.
    pub(super) fn gap(&self) -> Option<(Point, f64)> {
        self.gap
    }

    pub(super) fn show(&self, ui: &mut Ui, station: &Station, unit: LengthUnit) {
        let mut say = |text: String| ui.add(Label::new(text).wrap());
        let heights = &station.plan.heights;
        let count = |n: usize, one: &str| format!("{n} {one}{}", if n == 1 { "" } else { "s" });
        let (positions, at_heights) = (
            count(self.positions, "position"),
            count(heights.len(), "height"),
        );
        let readings = count(self.positions * heights.len(), "reading");
        let make = if self.positions == 1 { "makes" } else { "make" };
        say(format!("{positions} at {at_heights} {make} {readings}"));
        if let Some(spacing) = self.spacing {
            say(format!("Median spacing {}", unit.show_with_unit(spacing)));
        }
        if let Some((at, radius)) = self.gap {
            say(format!(
                "Largest gap: radius {} around {}, {}",
                unit.show_with_unit(radius),
                unit.show(at.x),
                unit.show(at.y)
            ));
        }
        let radiometer = station.plan_radiometer();
        for &height in heights {
            let spacer = match radiometer {
                None => "spacer not known without a radiometer".to_owned(),
                Some(r) => match probing::spacer(height, r.sensing_plane) {
                    Some(0.0) => "no spacer".to_owned(),
                    Some(spacer) => format!("spacer {}", unit.show_with_unit(spacer)),
                    None => format!(
                        "out of reach, the sensing plane sits {} up",
                        unit.show_with_unit(r.sensing_plane)
                    ),
                },
            };
            say(format!(
                "At {}: working distance {}, {spacer}",
                unit.show_with_unit(height),
                unit.show_with_unit(station.source.face_height - height)
            ));
        }
        say("Route: height by height from the lowest up, row by row from the front left, there and back. The plan sheet numbers the stops.".into());
    }
}
