//! Lamps over one another: how each has faded since it was put in, and how long the next one lasts.

use eframe::egui::{Color32, Grid, Role as Speaks, Sense, Stroke, Ui, Vec2, WidgetInfo};
use egui_plot::{Line, LineStyle, Plot, PlotPoint, PlotPoints};

use super::super::{Panel, heading_of};
use super::common::wrapped;
use crate::gui::theme::look;
use crate::gui::widgets::axes;
use crate::record::upkeep_words as words;
use crate::sheet::drawing::Role;
use crate::station::{Happened, Upkeep};
use crate::units::fixed;
use crate::upkeep::{day_of, moment_of};

/// Height of the picture, points.
const HEIGHT: f32 = 150.0;

pub(super) fn show(ui: &mut Ui, panel: &Panel<'_>, upkeep: &Upkeep) {
    let held = panel.session.answers().review();
    let Some(review) = held.any() else { return };
    let Ok(trend) = &review.fading.trend else {
        return;
    };
    if trend.lamps.is_empty() {
        return;
    }
    heading_of(ui, "Lamps", held.is_updating());
    let units = panel.session.preferences().units();
    Grid::new("lamps")
        .num_columns(5)
        .spacing([14.0, 3.0])
        .striped(true)
        .show(ui, |ui| {
            for heading in ["Since", "Serial", "By", "First level", "Fading a month"] {
                ui.strong(heading);
            }
            ui.end_row();
            for lamp in &trend.lamps {
                let since = moment_of(lamp.since).map(|at| at.date().to_string());
                ui.label(since.unwrap_or_default());
                let changed = upkeep.events.iter().find_map(|event| match &event.what {
                    Happened::LampChanged { serial, .. } if day_of(event.at) == lamp.since => {
                        Some((serial.as_str(), event.by.as_str()))
                    }
                    _ => None,
                });
                let (serial, by) = changed.unwrap_or(("not noted", ""));
                ui.label(serial);
                ui.label(by);
                let first = lamp.levels.first();
                ui.label(first.map_or_else(String::new, |level| {
                    (units.irradiance).show_with_unit(level.station, None)
                }));
                ui.label(match &lamp.slope {
                    Ok(slope) => words::signed_percent(slope.per_month.value, 2),
                    Err(_) => "not known yet".to_owned(),
                });
                ui.end_row();
            }
        });
    let (curves, by_hours) = (&review.fading.curves, review.fading.by_hours);
    let ink = look(Role::Fixture, ui.theme()).ink;
    let shown = axes::still(Plot::new("lamps over one another"))
        .height(HEIGHT)
        .auto_bounds(true)
        .include_x(0.0)
        .set_margin_fraction(Vec2::new(0.02, 0.06))
        .sense(Sense::hover())
        .x_axis_label(if by_hours {
            "lamp hours since it was put in"
        } else {
            "days since it was put in"
        })
        .y_axis_label("% of the first level")
        .x_grid_spacer(axes::ticks(1.0, 80.0))
        .y_grid_spacer(axes::ticks(0.01, 30.0))
        .x_axis_formatter(axes::tick_text(1.0))
        .y_axis_formatter(axes::tick_text(0.01))
        .show(ui, |plot| {
            for (i, curve) in curves.iter().enumerate() {
                let points: Vec<PlotPoint> = (curve.points.iter())
                    .map(|(at, share)| PlotPoint::new(*at, *share))
                    .collect();
                let line = Line::new(format!("lamp {}", i + 1), PlotPoints::Owned(points));
                // the present one is drawn through, former ones are told apart by their dashes
                let style = match (curve.changed, i % 3) {
                    (false, _) => LineStyle::Solid,
                    (true, 0) => LineStyle::Dashed { length: 9.0 },
                    (true, 1) => LineStyle::Dashed { length: 4.0 },
                    (true, _) => LineStyle::Dotted { spacing: 5.0 },
                };
                let width = if curve.changed { 1.0 } else { 2.0 };
                let ink: Color32 = ink;
                plot.line(line.stroke(Stroke::new(width, ink)).style(style));
            }
        });
    let said = format!(
        "{} lamps over one another, each against its first level",
        curves.len()
    );
    (shown.response).widget_info(|| WidgetInfo::labeled(Speaks::Image, true, &said));
    if let (Some(life), Some(share)) = (&review.fading.life, review.fading.share) {
        wrapped(ui, &words::life_words(life, share, by_hours));
    }
    ui.weak(format!(
        "The last line, drawn through, is the present lamp; the least at the monitor position is {} % of what is set",
        review.fading.share.map_or_else(|| "?".to_owned(), |s| fixed(100.0 * s, 0))
    ));
}
