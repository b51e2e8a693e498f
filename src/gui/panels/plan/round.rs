//! How the round is made: its order, the reference position, what a reading takes.

use eframe::egui::{CollapsingHeader, Ui};

use crate::gui::panels::Panel;
use crate::gui::panels::form::Form;
use crate::station::{Cycle, Edit, Plan, Position};

/// The key of its form.
const FORM: &str = "plan-round";

/// The field that a finding leads to, where it is one of these.
pub(super) fn key(field: &str) -> Option<String> {
    let label = match field {
        "Order" => ORDER,
        "Start" => START,
        "Reference" => REFERENCE,
        "Reference height" => HEIGHT,
        _ => return None,
    };
    Some(format!("{FORM}/{label}"))
}

const ORDER: &str = "Order";
const START: &str = "Begin at";
const WITH: &str = "Drift is seen";
const REFERENCE: &str = "Reference position";
const HEIGHT: &str = "Reference height";

const ORDERS: [(bool, &str); 2] = [(false, "Height by height"), (true, "Position by position")];
const SEEN: [(bool, &str); 2] = [(false, "Nowhere"), (true, "At a reference position")];

pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let station = panel.session.station().clone();
    let (plan, positions) = (&station.plan, station.positions());
    let middle = station.fixture.footprint().middle();
    let mut form = Form::new(ui, panel, FORM, plan.clone(), &Edit::SetPlan);
    if plan.heights.len() > 1 {
        form.choose(ORDER, plan.positions_first, &ORDERS, |plan, first| {
            plan.positions_first = first;
        });
    }
    form.text_by(
        START,
        plan.start.as_deref().unwrap_or_default(),
        |text| match text {
            "" => Ok(None),
            text => named(&positions, text).map(Some),
        },
        |plan, start| plan.start = start,
    );
    form.explain("Name of a position; empty: front left");
    let begin = plan.reference_to_begin_with(&positions, middle);
    form.choose(WITH, plan.reference.is_some(), &SEEN, |plan, seen| {
        plan.reference = plan.reference.take().or(begin).filter(|_| seen);
    });
    if let Some(reference) = &plan.reference {
        form.text_by(
            REFERENCE,
            &reference.position,
            |text| named(&positions, text),
            |plan, name| {
                if let Some(reference) = &mut plan.reference {
                    reference.position = name;
                }
            },
        );
        form.length(HEIGHT, reference.height, |plan, mm| {
            if let Some(reference) = &mut plan.reference {
                reference.height = mm;
            }
        });
        form.optional_count(
            "Also after every",
            "readings",
            reference.every,
            |plan, every| {
                if let Some(reference) = &mut plan.reference {
                    reference.every = every;
                }
            },
        );
        form.explain("It is read at the start, at the end and at each change of height, always at this one height: what changes there is drift");
    }
    CollapsingHeader::new("What a reading takes")
        .id_salt("plan cycle")
        .show(ui, |ui| cycle(ui, panel, plan));
}

/// Finds a position by its name, upper or lower case.
fn named(positions: &[Position], text: &str) -> Result<String, String> {
    let text = text.trim();
    let exact = positions.iter().find(|p| p.name == text);
    let found = exact.or_else(|| {
        let like = |p: &&Position| p.name.eq_ignore_ascii_case(text);
        positions.iter().find(like)
    });
    match found {
        Some(position) => Ok(position.name.clone()),
        None => Err(format!(
            "The plan has no position '{text}'; type the name of one that it has"
        )),
    }
}

fn cycle(ui: &mut Ui, panel: &mut Panel<'_>, plan: &Plan) {
    let now = plan.cycle();
    let mut form = Form::new(ui, panel, FORM, plan.clone(), &Edit::SetPlan);
    form.explain(
        "Under a lamp with shutter and interlock; usual times, to be replaced by your own",
    );
    type Put = fn(&mut Cycle, f64);
    let steps: [(&str, f64, Put); 7] = [
        ("Open the shield", now.open, |c, s| c.open = s),
        ("Place the detector", now.place, |c, s| c.place = s),
        ("Shut the shield", now.close, |c, s| c.close = s),
        ("Settle", now.settle, |c, s| c.settle = s),
        ("Expose", now.expose, |c, s| c.expose = s),
        ("Read and write", now.read, |c, s| c.read = s),
        ("Change spacer or plate", now.change, |c, s| c.change = s),
    ];
    for (label, seconds, put) in steps {
        form.number(label, "s", seconds, |plan, s| {
            let mut cycle = plan.cycle();
            put(&mut cycle, s);
            plan.cycle = Some(cycle).filter(|cycle| *cycle != Cycle::USUAL);
        });
    }
}
