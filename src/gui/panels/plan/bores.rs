//! The plate that locates the detector: how it is made, and how many it takes.

use eframe::egui::{Label, Ui};

use crate::geometry::Point;
use crate::gui::panels::Panel;
use crate::gui::panels::form::Form;
use crate::record::{too_near_in_words, troubles_in_words};
use crate::station::{Bores, Edit, LocatedBy, Plan, Station};
use crate::units::LengthUnit;

/// The key of its form.
const FORM: &str = "plan-bores";

/// The field that a finding about the bores leads to.
pub(super) fn key() -> String {
    format!("{FORM}/{CLEARANCE}")
}

const CLEARANCE: &str = "Bore wider by";

const WITH: [(bool, &str); 2] = [(false, "By hand"), (true, "By a plate with bores")];
const LOCATED: [(bool, &str); 2] = [(false, "Its edges"), (true, "Two pins")];

/// Of pins to begin with, mm (common practice, no source).
const PIN: f64 = 6.0;

pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let station = panel.session.station().clone();
    let unit = panel.session.preferences().length_unit;
    let plan = &station.plan;
    let mut form = Form::new(ui, panel, FORM, plan.clone(), &Edit::SetPlan);
    form.choose("Located", plan.bores.is_some(), &WITH, |plan, with| {
        plan.bores = with.then(|| plan.bores.unwrap_or_default());
    });
    let Some(bores) = plan.bores else {
        return;
    };
    form.length(CLEARANCE, bores.clearance, |plan, mm| {
        put(plan, |bores| bores.clearance = mm);
    });
    form.explain("Than the detector's body, of the diameter");
    form.length("Least between two", bores.web, |plan, mm| {
        put(plan, |bores| bores.web = mm);
    });
    let on_pins = matches!(bores.located, LocatedBy::Pins { .. });
    let begin = pins(&station);
    form.choose("Held in place by", on_pins, &LOCATED, |plan, on_pins| {
        put(plan, |bores| {
            bores.located = if on_pins { begin } else { LocatedBy::Edges };
        });
    });
    if let LocatedBy::Pins { diameter, at } = bores.located {
        form.length("Pin diameter", diameter, |plan, mm| {
            set_pins(plan, |diameter, _| *diameter = mm);
        });
        form.length("First pin x", at.0.x, |plan, mm| {
            set_pins(plan, |_, at| at.0.x = mm);
        });
        form.length("First pin y", at.0.y, |plan, mm| {
            set_pins(plan, |_, at| at.0.y = mm);
        });
        form.length("Second pin x", at.1.x, |plan, mm| {
            set_pins(plan, |_, at| at.1.x = mm);
        });
        form.length("Second pin y", at.1.y, |plan, mm| {
            set_pins(plan, |_, at| at.1.y = mm);
        });
    }
    let held = panel.session.answers().planning().figures();
    let Some(figures) = held.any() else {
        return;
    };
    ui.add_enabled_ui(held.current().is_some(), |ui| match &figures.plates {
        None => {}
        Some(Err(why)) => {
            ui.add(Label::new(format!("There is no plate: {why}")).wrap());
        }
        Some(Ok(plates)) => {
            ui.add(Label::new(count(plates, unit)).wrap());
            for trouble in troubles_in_words(&station, plates, unit) {
                ui.add(Label::new(trouble).wrap());
            }
            ui.weak(
                "The step Export writes its drawing for the workshop and a template at true scale",
            );
        }
    });
}

fn put(plan: &mut Plan, change: impl FnOnce(&mut Bores)) {
    if let Some(bores) = &mut plan.bores {
        change(bores);
    }
}

fn set_pins(plan: &mut Plan, change: impl FnOnce(&mut f64, &mut (Point, Point))) {
    if let Some(Bores {
        located: LocatedBy::Pins { diameter, at },
        ..
    }) = &mut plan.bores
    {
        change(diameter, at);
    }
}

/// Two pins near the front corners of what carries the plate.
fn pins(station: &Station) -> LocatedBy {
    let rim = station.plan.plate.map_or_else(
        || station.fixture.footprint().bounds(),
        |plate| plate.footprint().bounds(),
    );
    let inside = rim.grown(-1.5 * PIN);
    LocatedBy::Pins {
        diameter: PIN,
        at: (inside.min, Point::new(inside.max.x, inside.min.y)),
    }
}

/// How many plates it takes, and why.
fn count(plates: &crate::probing::plate::Plates, unit: LengthUnit) -> String {
    if plates.count() == 1 {
        return "One plate has all bores".to_owned();
    }
    let fewest = if plates.fewest {
        "; fewer won't do"
    } else {
        ""
    };
    format!(
        "{} plates{fewest}: the bores of {} would overlap or leave less than {} between them",
        plates.count(),
        too_near_in_words(plates),
        unit.show_with_unit(plates.bores.web)
    )
}
