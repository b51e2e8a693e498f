//! Where the positions are: in rows and columns, or each put by hand.

use eframe::egui::{Id, ScrollArea, Ui};

use super::super::numbers::{length_text, parse_count};
use super::super::{Panel, Thing, would_take, would_take_length};
use super::change::change;
use crate::geometry::Point;
use crate::gui::widgets::field_row::{FieldRow, choice};
use crate::probing::{BEFORE, free_place};
use crate::station::{Edit, Plan, PlanLayout, Position, Station};
use crate::units::parse_number;

/// Rows and columns that take the place of positions put by hand.
const FIRST_GRID: PlanLayout = PlanLayout::Grid {
    columns: 5,
    rows: 5,
    margin: 10.0,
};

/// Height of the list of positions, in points.
const LIST_HEIGHT: f32 = 160.0;

pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let station = panel.session.station().clone();
    let layout = &station.plan.layout;
    let is_grid = matches!(layout, PlanLayout::Grid { .. });
    let kinds = [(true, "Rows and columns"), (false, "By hand")];
    match choice(ui, "plan Layout", "Layout", is_grid, &kinds) {
        Some(true) => set(panel, FIRST_GRID),
        Some(false) => by_hand(panel),
        None => {}
    }
    match layout {
        &PlanLayout::Grid {
            columns,
            rows,
            margin,
        } => grid(ui, panel, columns, rows, margin),
        PlanLayout::ByHand(positions) => list(ui, panel, positions),
    }
}

fn set(panel: &mut Panel<'_>, layout: PlanLayout) {
    change(panel, |plan| plan.layout = layout);
}

/// Every position stays where it is and can be moved alone from now on.
fn by_hand(panel: &mut Panel<'_>) {
    let positions = panel.session.station().positions();
    set(panel, PlanLayout::ByHand(positions));
}

fn grid(ui: &mut Ui, panel: &mut Panel<'_>, columns: u32, rows: u32, margin: f64) {
    let station = panel.session.station().clone();
    let unit = panel.session.preferences().length_unit;
    let layout = |columns, rows, margin| PlanLayout::Grid {
        columns,
        rows,
        margin,
    };
    let edit = |layout| {
        Edit::SetPlan(Plan {
            layout,
            ..station.plan.clone()
        })
    };
    let count = |ui: &mut Ui, key, label, value: u32, with: &dyn Fn(u32) -> PlanLayout| {
        FieldRow {
            key,
            label,
            unit: "",
            shown: &value.to_string(),
        }
        .read(ui, |text| {
            let layout = with(parse_count(text)?);
            would_take(&station, edit(layout.clone()))?;
            Ok(layout)
        })
    };
    let by_columns = count(ui, "plan Columns", "Columns", columns, &|n| {
        layout(n, rows, margin)
    });
    let by_rows = count(ui, "plan Rows", "Rows", rows, &|n| {
        layout(columns, n, margin)
    });
    let by_margin = FieldRow {
        key: "plan Margin",
        label: "Margin",
        unit: unit.symbol(),
        shown: &length_text(unit, margin),
    }
    .read(ui, |text| {
        let mm = unit.to_mm(parse_number(text).map_err(|e| e.to_string())?);
        let layout = layout(columns, rows, mm);
        would_take_length(&station, edit(layout.clone()), unit, mm, text.trim())?;
        Ok(layout)
    });
    if let Some(layout) = by_columns.or(by_rows).or(by_margin) {
        set(panel, layout);
    }
    ui.weak("Margin: from the rim to the outermost positions");
    let button = ui.button("Place by hand from here").on_hover_text(
        "Every position stays where it is and can then be moved, named and deleted alone",
    );
    if button.clicked() {
        by_hand(panel);
    }
}

fn list(ui: &mut Ui, panel: &mut Panel<'_>, positions: &[Position]) {
    let unit = panel.session.preferences().length_unit;
    let chosen = match panel.state.chosen {
        Some(Thing::Position(i)) if i < positions.len() => Some(i),
        _ => None,
    };
    let row_height = ui.spacing().interact_size.y;
    // One that was chosen or dragged on the plan view is brought into view.
    let seen = Id::unique("position in view");
    let is_new = chosen.is_some() && ui.data(|data| data.get_temp(seen)) != chosen;
    ui.data_mut(|data| match chosen {
        Some(chosen) => {
            data.insert_temp(seen, chosen);
        }
        None => data.remove::<usize>(seen),
    });
    let mut area = ScrollArea::vertical();
    if let Some(i) = chosen.filter(|_| is_new) {
        let step = row_height + ui.spacing().item_spacing.y;
        area = area.vertical_scroll_offset((i as f32 * step - 0.5 * LIST_HEIGHT).max(0.0));
    }
    area.id_salt("positions by hand")
        .max_height(LIST_HEIGHT)
        .show_rows(ui, row_height, positions.len(), |ui, rows| {
            for i in rows {
                let p = &positions[i];
                let text = format!(
                    "{}  at {}, {} {}",
                    p.name,
                    unit.show(p.at.x),
                    unit.show(p.at.y),
                    unit.symbol()
                );
                if ui.selectable_label(chosen == Some(i), text).clicked() {
                    panel.state.chosen = Some(Thing::Position(i));
                    ui.data_mut(|data| data.insert_temp(seen, i));
                }
            }
        });
    ui.horizontal(|ui| {
        if ui.button("Add position").clicked() {
            let station = panel.session.station();
            let at = free_place(station, positions);
            let mut all = positions.to_vec();
            all.push(Position {
                name: free_name(station, positions),
                at,
            });
            panel.state.chosen = Some(Thing::Position(positions.len()));
            set(panel, PlanLayout::ByHand(all));
        }
        if let Some(i) = chosen
            && ui.button("Delete position").clicked()
        {
            let mut all = positions.to_vec();
            all.remove(i);
            panel.state.chosen = None;
            set(panel, PlanLayout::ByHand(all));
        }
    });
    match chosen {
        Some(i) => chosen_position(ui, panel, positions, i),
        None if positions.is_empty() => {
            ui.weak("No positions yet. Add one, or choose rows and columns.");
        }
        None => {
            ui.weak("Choose a position here or in the plan view to change it.");
        }
    }
}

fn chosen_position(ui: &mut Ui, panel: &mut Panel<'_>, positions: &[Position], index: usize) {
    let unit = panel.session.preferences().length_unit;
    let old = &positions[index];
    let length = |ui: &mut Ui, key, label, value| {
        FieldRow {
            key,
            label,
            unit: unit.symbol(),
            shown: &length_text(unit, value),
        }
        .number(ui)
        .map(|v| unit.to_mm(v))
    };
    let name = FieldRow {
        key: "plan position name",
        label: "Position name",
        unit: "",
        shown: &old.name,
    }
    .text(ui);
    let x = length(ui, "plan position x", "Position x", old.at.x);
    let y = length(ui, "plan position y", "Position y", old.at.y);
    if name.is_some() || x.is_some() || y.is_some() {
        let mut all = positions.to_vec();
        all[index] = Position {
            name: name.unwrap_or_else(|| old.name.clone()),
            at: Point::new(x.unwrap_or(old.at.x), y.unwrap_or(old.at.y)),
        };
        change(panel, |plan| {
            plan.renamed(&old.name, &all[index].name);
            plan.layout = PlanLayout::ByHand(all);
        });
    }
}

/// A name that no position has, and no site.
fn free_name(station: &Station, positions: &[Position]) -> String {
    let sites = station.all_sites();
    let is_free = |name: &String| {
        positions.iter().all(|p| p.name != *name) && sites.iter().all(|s| s.name != *name)
    };
    (positions.len() + 1..)
        .map(|n| format!("{BEFORE}{n}"))
        .find(is_free)
        .unwrap_or_default()
}
