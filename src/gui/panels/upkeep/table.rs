//! The log as a table, newest first: only the rows in view are laid out, however many there are.

use eframe::egui::{
    Align, Label, Layout, RichText, ScrollArea, Sense, TextEdit, TextStyle, Ui, vec2,
};

use super::super::{Panel, heading};
use crate::record::upkeep_words::{moment_words, standing_words};
use crate::record::{log_row, stands_out};
use crate::session::Command;
use crate::station::{Edit, LogEntry, Upkeep};
use crate::upkeep::Daily;

/// Rows that are in view at once.
const ROWS: f32 = 9.0;
/// Widths of day, reading, on the limits' scale and radiometer, as shares of what there is; the rest says how it stands.
const SHARES: [f32; 4] = [0.26, 0.13, 0.24, 0.16];

/// What the columns are, and what they say.
const HEADINGS: [(&str, &str); 5] = [
    ("When", "Day and time, by the clock on the wall"),
    ("Read", "As the radiometer showed it"),
    (
        "On scale",
        "On the scale that the limits belong to; \u{b1} what carrying it there adds (k = 2)",
    ),
    ("Radiometer", "With which it was read"),
    (
        "Stands",
        "Inside or outside the limits, or why it is kept as a note",
    ),
];

pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>, upkeep: &Upkeep) {
    let count = upkeep.log.len();
    if count == 0 {
        return;
    }
    let symbol = panel.session.preferences().irradiance_unit.symbol();
    let entries = if count == 1 { "entry" } else { "entries" };
    heading(ui, &format!("Log: {count} {entries}, {symbol}"));
    let held = panel.session.answers().daily();
    let daily = held.current().cloned();
    let units = panel.session.preferences().units();
    let review = panel.session.answers().review().any().cloned();
    row(ui, |ui, i| {
        let (name, tip) = HEADINGS[i];
        let label = Label::new(RichText::new(name).strong()).truncate();
        ui.add(label).on_hover_text(tip);
    });
    let height = ui.text_style_height(&TextStyle::Body) + 6.0;
    let mut area = ScrollArea::vertical()
        .id_salt("rows of the log")
        .auto_shrink([false, true])
        .min_scrolled_height(ROWS * height)
        .max_height(ROWS * height);
    if std::mem::take(&mut panel.state.upkeep.scroll)
        && let Some(chosen) = panel.state.upkeep.chosen
    {
        let at = count.saturating_sub(chosen + 1) as f32 * (height + ui.spacing().item_spacing.y);
        area = area.vertical_scroll_offset((at - 3.0 * height).max(0.0));
    }
    let mut clicked = None;
    area.show_rows(ui, height, count, |ui, rows| {
        for from_end in rows {
            let index = count - 1 - from_end;
            let Some(entry) = upkeep.log.get(index) else {
                continue;
            };
            let cells = cells(
                entry,
                index,
                daily.as_deref(),
                upkeep,
                units,
                review.as_deref(),
            );
            let is_chosen = panel.state.upkeep.chosen == Some(index);
            let out = daily
                .as_ref()
                .and_then(|d| d.rows.get(index))
                .is_some_and(|row| stands_out(&row.standing));
            let (rect, response) =
                ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::click());
            if is_chosen {
                ui.painter()
                    .rect_filled(rect, 2.0, ui.visuals().selection.bg_fill);
            } else if response.hovered() || response.has_focus() {
                let fill = ui.visuals().widgets.hovered.weak_bg_fill;
                ui.painter().rect_filled(rect, 2.0, fill);
            }
            response.widget_info(|| {
                eframe::egui::WidgetInfo::selected(
                    eframe::egui::Role::Button,
                    true,
                    is_chosen,
                    cells.join(", "),
                )
            });
            if response.clicked() {
                clicked = Some(index);
            }
            let colour = if is_chosen {
                ui.visuals().selection.stroke.color
            } else {
                ui.visuals().text_color()
            };
            let mut inside = ui.new_child(
                eframe::egui::UiBuilder::new()
                    .max_rect(rect)
                    .layout(Layout::left_to_right(Align::Center)),
            );
            row(&mut inside, |ui, i| {
                let mut text = RichText::new(&cells[i]).color(colour);
                if i == 4 && out {
                    text = text.strong();
                }
                ui.add(
                    Label::new(text)
                        .truncate()
                        .selectable(false)
                        .sense(Sense::empty()),
                );
            });
        }
    });
    if let Some(index) = clicked {
        let upkeep = &mut panel.state.upkeep;
        upkeep.chosen = (upkeep.chosen != Some(index)).then_some(index);
        upkeep.reason.clear();
    }
    chosen(ui, panel, upkeep);
}

/// Five cells beside each other.
fn row(ui: &mut Ui, mut cell: impl FnMut(&mut Ui, usize)) {
    ui.horizontal(|ui| {
        let gap = ui.spacing().item_spacing.x;
        let width = ui.available_width() - 4.0 * gap - 6.0;
        let height = ui.text_style_height(&TextStyle::Body);
        let mut left = width;
        for i in 0..5 {
            let wide = SHARES.get(i).map_or(left, |share| share * width);
            left -= wide;
            let layout = match i {
                1 | 2 => Layout::right_to_left(Align::Center),
                _ => Layout::left_to_right(Align::Center),
            };
            ui.allocate_ui_with_layout(vec2(wide.max(10.0), height), layout, |ui| {
                ui.set_min_width(wide.max(10.0));
                cell(ui, i);
            });
        }
    });
}

fn cells(
    entry: &LogEntry,
    index: usize,
    daily: Option<&Daily>,
    upkeep: &Upkeep,
    units: crate::units::Units,
    review: Option<&crate::upkeep::Review>,
) -> [String; 5] {
    // a review of this very log says it all
    if let (Some(review), Some(daily)) = (review, daily)
        && review.daily == *daily
        && let Some([at, read, carried, radiometer, .., stands]) =
            log_row(review, upkeep, index, units)
    {
        return [at, read, carried, radiometer, stands];
    }
    let stands = daily.and_then(|daily| daily.rows.get(index));
    let stands = stands.map_or_else(String::new, |row| {
        standing_words(&row.standing, entry.set_aside.as_deref())
    });
    [
        moment_words(entry.at),
        units.irradiance.show(entry.irradiance, None),
        String::new(),
        entry.radiometer.clone(),
        stands,
    ]
}

/// What can be done with the chosen entry.
fn chosen(ui: &mut Ui, panel: &mut Panel<'_>, upkeep: &Upkeep) {
    let Some(index) = panel.state.upkeep.chosen else {
        return;
    };
    let Some(entry) = upkeep.log.get(index) else {
        panel.state.upkeep.chosen = None;
        return;
    };
    let unit = panel.session.preferences().irradiance_unit;
    ui.horizontal_wrapped(|ui| {
        ui.label(format!("Entry of {}:", moment_words(entry.at)));
        if ui.button("Change...").clicked() {
            let show = |e: f64| unit.exact(e);
            panel.state.upkeep.entry.take(index, entry, show);
        }
        if ui.button("Delete").clicked() {
            panel.state.upkeep.chosen = None;
            panel
                .commands
                .push(Command::Edit(Edit::RemoveFromLog(vec![index])));
        }
        match &entry.set_aside {
            Some(_) => {
                if ui.button("Count it again").clicked() {
                    let entry = LogEntry {
                        set_aside: None,
                        ..entry.clone()
                    };
                    panel
                        .commands
                        .push(Command::Edit(Edit::SetInLog(index, entry)));
                }
            }
            None => {
                let reason = &mut panel.state.upkeep.reason;
                let field = TextEdit::singleline(reason)
                    .hint_text("why")
                    .desired_width(130.0);
                let label = ui.label("or").id;
                ui.add(field).labelled_by(label);
                let can = !reason.trim().is_empty();
                let button = ui.add_enabled(can, eframe::egui::Button::new("Set it aside"));
                if button.clicked() {
                    let entry = LogEntry {
                        set_aside: Some(reason.trim().to_owned()),
                        ..entry.clone()
                    };
                    panel
                        .commands
                        .push(Command::Edit(Edit::SetInLog(index, entry)));
                }
            }
        }
    });
}
