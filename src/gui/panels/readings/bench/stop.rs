//! Where to put the detector now, and what to do with the lamp.

use eframe::egui::{Key, Label, RichText, Ui};

use super::super::super::Panel;
use super::value::short_name;
use crate::probing::spacer;
use crate::station::{Reading, SourceKind, Survey};
use crate::units::fixed;

/// Where to put the detector now.
pub(super) fn place(ui: &mut Ui, panel: &Panel<'_>, survey: &Survey, row: usize) {
    let (reading, mm) = (
        &survey.readings[row],
        panel.session.preferences().length_unit,
    );
    ui.add_space(6.0);
    ui.horizontal(|ui| {
        let name = short_name(reading, row);
        ui.label(RichText::new(name).size(44.0).strong());
        ui.vertical(|ui| {
            ui.add_space(4.0);
            ui.label(RichText::new(format!("x {}", mm.show_with_unit(reading.x))).size(19.0));
            ui.label(RichText::new(format!("y {}", mm.show_with_unit(reading.y))).size(19.0));
        });
    });
    let radiometer = survey
        .radiometer
        .as_ref()
        .or(panel.session.station().plan_radiometer());
    let on = radiometer.map(|r| spacer(reading.height, r.sensing_plane));
    let height = mm.show_with_unit(reading.height);
    let stand = match on {
        Some(Some(0.0)) => format!("On the base: its sensing plane is at {height}"),
        Some(Some(block)) => format!(
            "On the {} spacer: its sensing plane is at {height}",
            mm.show_with_unit(block)
        ),
        Some(None) => format!("Its sensing plane can't be brought down to {height}"),
        None => format!("Its sensing plane at {height}"),
    };
    ui.label(RichText::new(stand).size(16.0));
    let before = row.checked_sub(1).and_then(|i| survey.readings.get(i));
    if before.is_some_and(|b| (b.height - reading.height).abs() > 1e-3) {
        ui.label(RichText::new("Change the spacer: another height begins here").strong());
    }
    if reading.repeat > 1 {
        ui.label(format!("Reading {} of this place", reading.repeat));
    }
}

/// What to do with the lamp, and never past an interlock.
pub(super) fn steps(ui: &mut Ui, panel: &mut Panel<'_>, reading: &Reading) {
    let is_led = panel.session.station().source.kind == SourceKind::LedPanel;
    let there = match reading.position.as_str() {
        "" => "in place".to_owned(),
        name => format!("to {name}"),
    };
    let cycle = if is_led {
        format!(
            "LEDs off, then open · detector {there} · close the shield · switch on · after the delay hold the value · switch off"
        )
    } else {
        format!(
            "Shutter closed, then open the shield · detector {there} · close the shield · open the shutter · when the value stands hold it · close the shutter"
        )
    };
    ui.add(Label::new(RichText::new(cycle).weak()).wrap());
    let bench = &mut panel.state.entry.bench;
    ui.horizontal(|ui| {
        let now = ui.input(|i| i.time);
        let left = bench.ends.map(|ends| ends - now);
        let label = if is_led { "Delay" } else { "Exposure" };
        ui.label(label);
        let drag = eframe::egui::DragValue::new(&mut bench.delay)
            .range(0.0..=600.0)
            .speed(0.5)
            .suffix(" s");
        ui.add(drag);
        let begins = ui
            .button("Start (F4)")
            .on_hover_text("Counts down from switch-on, or from the shutter's opening")
            .clicked()
            || ui.input_mut(|i| i.consume_key(Default::default(), Key::F4));
        if begins {
            bench.ends = Some(now + bench.delay);
            ui.ctx().request_repaint();
        } else if let Some(left) = left {
            if left > 0.0 {
                ui.label(
                    RichText::new(format!("{} s", fixed(left, 0)))
                        .size(20.0)
                        .strong(),
                );
                ui.ctx()
                    .request_repaint_after(std::time::Duration::from_millis(200));
            } else {
                ui.label(RichText::new("Hold the value now").size(20.0).strong());
            }
        }
    });
}
