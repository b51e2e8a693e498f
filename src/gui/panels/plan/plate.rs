//! How the plan is read: with the pallet in place, or with the pallet out on a plate.

use eframe::egui::{Label, Ui};

use super::super::Panel;
use crate::gui::panels::form::Form;
use crate::station::{Edit, Plan, Plate};

/// The key of its form.
const FORM: &str = "plan-plate";

/// The field that a finding about the plate leads to.
pub(super) fn key() -> String {
    format!("{FORM}/{WAY}")
}

const WAY: &str = "Read with";

const WAYS: [(bool, &str); 2] = [(false, "Pallet in place"), (true, "Pallet out, on a plate")];

pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let station = panel.session.station();
    let (plan, begin) = (&station.plan, station.plate_to_begin_with());
    let way = if plan.plate.is_some() {
        "The detector stands on a plate where the pallet would be, and may stand beyond the fixture's rim, so that the coldest spot lies between readings. Light thrown back by pallet and parts is not in such readings."
    } else {
        "The detector stands on the pallet. What lies beyond the outermost positions is not read, and the bound pays for it: under simulated lamps it lies 9 % below the coldest light in the median, read on the rim with the pallet out 3 %."
    };
    ui.add(Label::new(way).wrap());
    let mut form = Form::new(ui, panel, FORM, plan.clone(), &Edit::SetPlan);
    form.choose(WAY, plan.plate.is_some(), &WAYS, |plan, out| {
        plan.plate = out.then(|| plan.plate.unwrap_or(begin));
    });
    let Some(plate) = plan.plate else {
        return;
    };
    form.length("Plate corner x", plate.corner.x, |plan, x| {
        put(plan, |plate| plate.corner.x = x);
    });
    form.length("Plate corner y", plate.corner.y, |plan, y| {
        put(plan, |plate| plate.corner.y = y);
    });
    form.explain("The plate's front left corner, from the fixture's datum");
    form.length("Plate width", plate.width, |plan, mm| {
        put(plan, |plate| plate.width = mm);
    });
    form.length("Plate depth", plate.depth, |plan, mm| {
        put(plan, |plate| plate.depth = mm);
    });
}

fn put(plan: &mut Plan, change: impl FnOnce(&mut Plate)) {
    if let Some(plate) = &mut plan.plate {
        change(plate);
    }
}
