//! Looking at a file of readings before it is imported: how it was understood, and the choices that
//! correct it.

use eframe::egui::{
    self, ComboBox, Context, Grid, Id, Label, Modal, RichText, ScrollArea, TextStyle, Ui,
};

use super::widgets::field_row::FieldRow;
use super::widgets::list::{self, open_on};
use crate::files::{
    Block, Cut, DecimalMark, Encoding, Layout, List, Raw, USES, Understanding, Use,
};
use crate::session::{Command, Import, Outcome, Session};
use crate::station::Survey;
use crate::units::LengthUnit;

/// Rows of the file that are shown, and the letters of a cell.
const SHOWN_ROWS: usize = 9;
const SHOWN_LETTERS: usize = 24;
/// Columns that are shown.
const SHOWN_COLUMNS: usize = 40;
/// Faults that are listed.
const SHOWN_FAULTS: usize = 100;
/// Rows among which the header can be chosen.
const HEADER_AMONG: usize = 30;

/// Shows the file that is looked at, if there is one.
pub fn show(ctx: &Context, session: &Session, commands: &mut Vec<Command>) {
    let Some(import) = session.import() else {
        return;
    };
    let unit = session.preferences().length_unit;
    let room = ctx.content_rect().size();
    let modal = Modal::new(Id::unique("import readings")).show(ctx, |ui| {
        ui.set_width((room.x - 80.0).min(960.0));
        let name = import.path.file_name().unwrap_or_default();
        ui.heading(format!("Import readings from {}", name.display()));
        ui.add_space(4.0);
        let mut wanted = import.understanding.clone();
        // with large text what is understood scrolls, so that what is wrong with it and the buttons are seen
        let faults = faults_height(room.y);
        ScrollArea::vertical()
            .id_salt("import understood")
            .max_height((room.y - faults - 150.0).max(90.0))
            .show(ui, |ui| {
                ui.horizontal_wrapped(|ui| {
                    cut(ui, import, commands);
                    decimal(ui, &mut wanted, import.raw.how_cut().is_some());
                    layout(ui, &import.raw, &mut wanted);
                });
                if let Some(why) = &import.not_cut {
                    ui.colored_label(ui.visuals().error_fg_color, why);
                }
                ui.add_space(4.0);
                match &mut wanted.layout {
                    Layout::List(list) => self::list(ui, &import.raw, list, unit),
                    Layout::Blocks(_) => blocks(ui, &import.raw, &mut wanted, unit),
                }
            });
        ui.add_space(6.0);
        let ready = outcome(ui, import, room.y);
        let shown = session.survey().filter(|_| ready);
        if let (Some(filling), Some((_, survey))) = (import.filling(), shown) {
            ui.add(
                Label::new(filling.in_words(
                    &survey.name,
                    false,
                    session.preferences().length_unit,
                ))
                .wrap(),
            );
        }
        ui.add_space(8.0);
        ui.horizontal(|ui| {
            let fill = (ready && import.filling().is_some())
                .then(|| session.survey())
                .flatten()
                .map(|(_, survey)| {
                    ui.button(format!("Fill in the rows of {}", short(&survey.name)))
                });
            if fill.as_ref().is_some_and(egui::Response::clicked) {
                commands.push(Command::FillFromImport);
            }
            let import = ui.add_enabled(ready, egui::Button::new("Import as a new survey"));
            let cancel = ui.button("Cancel");
            if import.clicked() {
                commands.push(Command::FinishImport);
            }
            if cancel.clicked() {
                commands.push(Command::GiveUpImport);
            }
            let nothing = ui.memory(|memory| memory.focused().is_none());
            if nothing {
                let first = fill.unwrap_or(if ready { import } else { cancel });
                first.request_focus();
            }
        });
        if wanted != import.understanding {
            commands.push(Command::Understand(wanted));
        }
    });
    if modal.should_close() {
        commands.push(Command::GiveUpImport);
    }
}

/// One of a few things to choose from, with its label before it.
fn choose<T: PartialEq + Clone>(
    ui: &mut Ui,
    label: &str,
    now: &mut T,
    name: impl Fn(&T) -> String,
    all: impl IntoIterator<Item = T>,
) {
    let said = ui.label(label);
    let named: Vec<(T, String)> = all
        .into_iter()
        .map(|option| (option.clone(), name(&option)))
        .collect();
    list::list(ui, ("import", label), now, &named).labelled_by(said.id);
}

/// How a text is cut into cells.
fn cut(ui: &mut Ui, import: &Import, commands: &mut Vec<Command>) {
    let Some(now) = import.raw.how_cut() else {
        return;
    };
    let mut wanted: Cut = now;
    choose(
        ui,
        "Encoding",
        &mut wanted.encoding,
        |e| e.name().into(),
        Encoding::ALL,
    );
    let name = |separator: &char| match separator {
        '\t' => "tab".to_owned(),
        ';' => "semicolon".to_owned(),
        _ => "comma".to_owned(),
    };
    choose(
        ui,
        "Separator",
        &mut wanted.separator,
        name,
        [',', ';', '\t'],
    );
    if wanted != now {
        commands.push(Command::CutImport(wanted));
    }
}

fn decimal(ui: &mut Ui, wanted: &mut Understanding, is_text: bool) {
    if !is_text {
        // a workbook keeps numbers as numbers
        return;
    }
    let name = |mark: &Option<DecimalMark>| match mark {
        None => "as found".to_owned(),
        Some(DecimalMark::Point) => "point, 12.5".to_owned(),
        Some(DecimalMark::Comma) => "comma, 12,5".to_owned(),
    };
    let all = [None, Some(DecimalMark::Point), Some(DecimalMark::Comma)];
    choose(ui, "Decimal mark", &mut wanted.decimal, name, all);
}

/// A list or blocks; which sheet, which header.
fn layout(ui: &mut Ui, raw: &Raw, wanted: &mut Understanding) {
    let mut is_list = matches!(wanted.layout, Layout::List(_));
    let before = is_list;
    let name = |is_list: &bool| {
        let text = if *is_list {
            "one reading a row"
        } else {
            "blocks, x across and y down"
        };
        text.to_owned()
    };
    choose(ui, "Layout", &mut is_list, name, [true, false]);
    if is_list != before {
        wanted.layout = if is_list {
            Layout::List(List::under(raw, 0, Some(0), None))
        } else {
            Layout::Blocks(crate::files::Blocks::find(raw))
        };
    }
    let Layout::List(list) = &mut wanted.layout else {
        return;
    };
    let (mut sheet, mut header) = (list.sheet, list.header);
    let names = raw.sheet_names();
    if names.len() > 1 {
        let name = |i: &usize| names.get(*i).map_or_else(String::new, |n| (*n).to_owned());
        choose(ui, "Sheet", &mut sheet, name, 0..names.len());
    }
    let name = |header: &Option<usize>| match header.and_then(|row| raw.row(list.sheet, row)) {
        Some((line, _)) => format!("line {line}"),
        None => "no header".to_owned(),
    };
    let rows = (0..raw.rows(sheet).min(HEADER_AMONG)).map(Some);
    choose(ui, "Header", &mut header, name, rows.chain([None]));
    if (sheet, header) != (list.sheet, list.header) {
        let header = if sheet == list.sheet { header } else { Some(0) };
        *list = List::under(raw, sheet, header, list.height);
    }
}

/// The first rows with what is taken from each column above them.
fn list(ui: &mut Ui, raw: &Raw, list: &mut List, unit: LengthUnit) {
    let needs_height =
        !(list.columns.iter()).any(|column| column.field() == Some(crate::files::Field::Height));
    if needs_height {
        height(
            ui,
            "height of all readings",
            "Height of all readings",
            &mut list.height,
            unit,
        );
    }
    let columns = raw.columns(list.sheet).min(SHOWN_COLUMNS);
    let shown = list.columns.len().max(columns).min(SHOWN_COLUMNS);
    list.columns
        .resize(list.columns.len().max(shown), Use::Nothing);
    ScrollArea::horizontal()
        .id_salt("import rows")
        .show(ui, |ui| {
            Grid::new("import rows")
                .striped(true)
                .spacing([10.0, 3.0])
                .show(ui, |ui| {
                    ui.weak("Line");
                    for (i, column) in list.columns.iter_mut().enumerate().take(shown) {
                        let named = format!("Column {}", i + 1);
                        let combo = ComboBox::from_id_salt(("import column", i))
                            .selected_text(column.name())
                            .width(112.0)
                            .show_ui(ui, |ui| {
                                for (name, of) in USES {
                                    let row = ui.selectable_label(column == of, *name);
                                    open_on(ui, &row, column == of);
                                    if row.clicked() {
                                        *column = *of;
                                        ui.close();
                                    }
                                }
                            });
                        let text = format!("{named}: {}", column.name());
                        combo.response.widget_info(|| {
                            egui::WidgetInfo::labeled(egui::Role::ComboBox, true, &text)
                        });
                    }
                    ui.end_row();
                    let begin = list.header.unwrap_or(list.first);
                    rows(ui, raw, list.sheet, begin, list.first, shown);
                });
        });
    let count = raw.rows(list.sheet).saturating_sub(list.first);
    ui.weak(format!(
        "{count} rows under the header; above each column stands what is taken from it"
    ));
}

/// Some rows of a sheet as they stand in the file, those before `body` strong.
fn rows(ui: &mut Ui, raw: &Raw, sheet: usize, begin: usize, body: usize, columns: usize) {
    for row in begin..(begin + SHOWN_ROWS).min(raw.rows(sheet)) {
        let Some((line, cells)) = raw.row(sheet, row) else {
            break;
        };
        ui.weak(line.to_string());
        for cell in cells.take(columns) {
            let text = RichText::new(short(cell)).text_style(TextStyle::Small);
            let text = if row < body { text.strong() } else { text };
            ui.add(Label::new(text).extend());
        }
        ui.end_row();
    }
}

fn short(text: &str) -> String {
    let mut short: String = text.chars().take(SHOWN_LETTERS).collect();
    if short.len() < text.len() {
        short += "…";
    }
    short
}

/// A height in the person's unit; empty when it is not known.
fn height(ui: &mut Ui, key: &str, label: &str, height: &mut Option<f64>, unit: LengthUnit) {
    let shown = height.map(|mm| unit.show(mm)).unwrap_or_default();
    let row = FieldRow {
        key: &format!("import {key}"),
        label,
        unit: unit.symbol(),
        shown: &shown,
    };
    if let Some(typed) = row.optional_number(ui) {
        *height = typed.map(|number| unit.to_mm(number));
    }
}

/// The blocks that were found with their heights, and the units of all.
fn blocks(ui: &mut Ui, raw: &Raw, wanted: &mut Understanding, unit: LengthUnit) {
    let Layout::Blocks(found) = &mut wanted.layout else {
        return;
    };
    let size = |named: &'static str| {
        move |(name, of): &(&'static str, Use)| match of {
            Use::Is(_, size) => name.strip_prefix(named).map(|unit| (unit, *size)),
            _ => None,
        }
    };
    let lengths: Vec<(&str, f64)> = USES.iter().filter_map(size("x, ")).collect();
    let irradiances: Vec<(&str, f64)> = USES.iter().filter_map(size("irradiance, ")).collect();
    let name_of = |sizes: &[(&'static str, f64)], size: &Option<f64>| {
        let known = size.and_then(|size| sizes.iter().find(|(_, of)| *of == size));
        known.map_or("not known", |(name, _)| name).to_owned()
    };
    ui.horizontal(|ui| {
        let all = lengths.iter().map(|(_, size)| Some(*size));
        choose(
            ui,
            "Unit of x and y",
            &mut found.length,
            |s| name_of(&lengths, s),
            all,
        );
        let all = irradiances.iter().map(|(_, size)| Some(*size));
        let name = |s: &Option<f64>| name_of(&irradiances, s);
        choose(ui, "Unit of irradiance", &mut found.irradiance, name, all);
    });
    let (sheet, begin) = (found.blocks.first()).map_or((0, 0), |b| (b.sheet, b.row));
    ScrollArea::horizontal()
        .id_salt("import rows")
        .show(ui, |ui| {
            Grid::new("import rows")
                .striped(true)
                .spacing([10.0, 3.0])
                .show(ui, |ui| {
                    rows(ui, raw, sheet, begin, begin + 1, SHOWN_COLUMNS)
                });
        });
    ScrollArea::vertical()
        .id_salt("import blocks")
        .max_height(150.0)
        .show(ui, |ui| {
            for (i, block) in found.blocks.iter_mut().enumerate() {
                ui.add_space(4.0);
                ui.label(said(raw, block));
                let key = format!("height of block {i}");
                height(
                    ui,
                    &key,
                    &format!("Height of block {}", i + 1),
                    &mut block.height,
                    unit,
                );
            }
        });
}

/// Where a block is and how large.
fn said(raw: &Raw, block: &Block) -> String {
    let line = |row| raw.row(block.sheet, row).map_or(0, |(line, _)| line);
    let across = raw.row(block.sheet, block.row);
    let across = across.map_or(0, |(_, cells)| {
        cells.skip(1).filter(|c| !c.is_empty()).count()
    });
    let names = raw.sheet_names();
    let sheet = names.get(block.sheet).filter(|name| !name.is_empty());
    let sheet = sheet.map_or_else(String::new, |name| format!(" of sheet '{name}'"));
    format!(
        "Lines {} to {}{sheet}: {across} x {} places",
        line(block.row),
        line(block.end.saturating_sub(1)),
        block.end.saturating_sub(block.row + 1)
    )
}

/// The height of the list of what can't be read, in a window of that height, points.
fn faults_height(room: f32) -> f32 {
    (0.25 * room).max(80.0)
}

/// What the understanding gives; whether it can be imported.
fn outcome(ui: &mut Ui, import: &Import, room: f32) -> bool {
    let held = import.outcome();
    let Some(found): Option<&Outcome> = held.any() else {
        ui.weak("Reading");
        return false;
    };
    match found {
        Ok(table) => {
            let rows = Survey::rows_in_words(&table.readings);
            ui.label(format!("{rows} can be imported"));
            if !table.ignored.is_empty() {
                ui.add(Label::new(format!("Not used: {}", table.ignored.join(", "))).wrap());
            }
        }
        Err(errors) => {
            let what = match errors.len() {
                1 => "One thing can't be read".to_owned(),
                n => format!("{n} things can't be read"),
            };
            ui.colored_label(
                ui.visuals().error_fg_color,
                format!(
                    "{what}. Nothing is imported until the choices above or the file are mended"
                ),
            );
            ScrollArea::vertical()
                .id_salt("import faults")
                .max_height(faults_height(room))
                .show(ui, |ui| {
                    for error in errors.iter().take(SHOWN_FAULTS) {
                        ui.add(Label::new(error.to_string()).wrap());
                    }
                    if errors.len() > SHOWN_FAULTS {
                        ui.weak(format!("and {} more", errors.len() - SHOWN_FAULTS));
                    }
                });
        }
    }
    held.current().is_some_and(Result::is_ok)
}
