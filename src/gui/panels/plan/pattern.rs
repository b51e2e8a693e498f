//! Patterns of positions: tried out beside the plan, and in it only when they are taken.

use eframe::egui::{Button, Label, Ui};

use super::super::Panel;
use super::super::numbers::{length_text, parse_count};
use super::change::change;
use crate::gui::widgets::field_row::{FieldRow, choice};
use crate::probing::{FINEST_RASTER, Made, Pattern, beside};
use crate::session::{Command, Trial, Tried};
use crate::station::{PlanLayout, Station};
use crate::units::{LengthUnit, parse_number};
use crate::work::Held;

/// Along the rim until another one is typed, mm.
const SPACING: f64 = 20.0;

/// Which pattern.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Around,
    Staggered,
    Rings,
    Sites,
    Rim,
}

const KINDS: [(Option<Kind>, &str); 6] = [
    (None, "None"),
    (Some(Kind::Around), "Around what is assessed"),
    (Some(Kind::Staggered), "Staggered rows"),
    (Some(Kind::Rings), "Rings"),
    (Some(Kind::Sites), "One at each site"),
    (Some(Kind::Rim), "Around the rim"),
];

impl Kind {
    fn of(pattern: &Pattern) -> Self {
        match pattern {
            Pattern::Around { .. } => Self::Around,
            Pattern::Staggered { .. } => Self::Staggered,
            Pattern::Rings { .. } => Self::Rings,
            Pattern::Sites => Self::Sites,
            Pattern::Rim { .. } => Self::Rim,
        }
    }

    /// What a pattern of this kind begins with.
    fn begin(self, station: &Station) -> Pattern {
        match self {
            Self::Around => Pattern::around(station),
            Self::Staggered => {
                let body = station.plan_radiometer().map_or(0.0, |r| {
                    let (width, depth) = r.body.size();
                    0.5 * width.max(depth)
                });
                let (columns, rows, margin) = match station.plan.layout {
                    PlanLayout::Grid {
                        columns,
                        rows,
                        margin,
                    } => (columns.max(2), rows, margin),
                    PlanLayout::ByHand(_) => (5, 5, 10.0),
                };
                Pattern::Staggered {
                    columns,
                    rows,
                    margin: f64::max(margin, body),
                }
            }
            Self::Rings => Pattern::rings_for(station),
            Self::Sites => Pattern::Sites,
            Self::Rim => Pattern::Rim { spacing: SPACING },
        }
    }
}

pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let station = panel.session.station().clone();
    let unit = panel.session.preferences().length_unit;
    let now = panel.session.trial();
    let mut trial = now;
    let kind = trial.pattern.as_ref().map(Kind::of);
    if let Some(kind) = choice(ui, "pattern Kind", "Pattern", kind, &KINDS) {
        trial.pattern = kind.map(|kind| kind.begin(&station));
    }
    if let Some(pattern) = trial.pattern {
        trial.pattern = Some(fields(ui, pattern, unit));
    }
    let typed = length(ui, "Snap grid", trial.raster, unit);
    put(&mut trial.raster, typed);
    ui.weak("Patterns and dragged positions lie on it; 0 for none");
    if trial != now {
        panel.send(Command::Try(trial));
    }
    if trial.pattern.is_some() {
        outcome(ui, panel, unit);
    }
}

/// The fields of a pattern; the pattern with what was typed.
fn fields(ui: &mut Ui, mut pattern: Pattern, unit: LengthUnit) -> Pattern {
    match &mut pattern {
        Pattern::Around {
            columns,
            rows,
            beyond,
            staggered,
        } => {
            put(columns, count(ui, "Pattern columns", *columns));
            put(rows, count(ui, "Pattern rows", *rows));
            put(beyond, length(ui, "Beyond the area", *beyond, unit));
            ui.checkbox(staggered, "Every second row moved by half a step");
            ui.weak("The outermost positions lie on the bounds of the assessed area and its corners, or so far beyond; most of them need the pallet out");
        }
        Pattern::Staggered {
            columns,
            rows,
            margin,
        } => {
            put(columns, count(ui, "Pattern columns", *columns));
            put(rows, count(ui, "Pattern rows", *rows));
            put(margin, length(ui, "Pattern margin", *margin, unit));
        }
        Pattern::Rings {
            centre,
            rings,
            first,
            radius,
        } => {
            put(rings, count(ui, "Number of rings", *rings));
            put(first, count(ui, "Positions on the first", *first));
            put(radius, length(ui, "Outermost radius", *radius, unit));
            let at = *centre;
            put(&mut centre.x, length(ui, "Rings' centre x", at.x, unit));
            put(&mut centre.y, length(ui, "Rings' centre y", at.y, unit));
        }
        Pattern::Sites => {
            ui.weak("As near to each site's middle as body and keep-outs allow");
        }
        Pattern::Rim { spacing } => {
            put(spacing, length(ui, "Spacing", *spacing, unit));
            ui.weak("As near to the rim as the detector's body allows");
        }
    }
    pattern
}

fn put<T>(value: &mut T, typed: Option<T>) {
    if let Some(typed) = typed {
        *value = typed;
    }
}

fn count(ui: &mut Ui, label: &str, now: u32) -> Option<u32> {
    FieldRow {
        key: &format!("pattern {label}"),
        label,
        unit: "",
        shown: &now.to_string(),
    }
    .read(ui, parse_count)
}

fn length(ui: &mut Ui, label: &str, mm: f64, unit: LengthUnit) -> Option<f64> {
    FieldRow {
        key: &format!("pattern {label}"),
        label,
        unit: unit.symbol(),
        shown: &length_text(unit, mm),
    }
    .read(ui, |text| {
        let value = parse_number(text).map_err(|e| e.to_string())?;
        if value < 0.0 && !label.starts_with("Rings'") {
            return Err("Type a number that is not below zero".into());
        }
        let mm = unit.to_mm(value);
        if label == "Snap grid" && mm > 0.0 && mm < FINEST_RASTER {
            let least = unit.show_with_unit(FINEST_RASTER);
            return Err(format!("Type 0 for no snap grid, or {least} or more"));
        }
        Ok(mm)
    })
}

/// What the pattern comes to, and the buttons that take it. While another one is made the last one stays, marked, and is
/// not taken for it.
fn outcome(ui: &mut Ui, panel: &mut Panel<'_>, unit: LengthUnit) {
    let held = panel.session.answers().planning().tried();
    if let Held::Failed(why, _) = held {
        let colour = ui.visuals().warn_fg_color;
        ui.add(Label::new(eframe::egui::RichText::new(why).color(colour)).wrap());
        return;
    }
    let tried = held.any().cloned();
    let is_current = held.current().is_some();
    if let Some(tried) = &tried {
        ui.add_enabled_ui(is_current, |ui| say(ui, tried, unit));
    }
    if !is_current {
        ui.weak("Working out the pattern");
    }
    let Some(tried) = tried else {
        return;
    };
    let positions = &tried.made.positions;
    let mut taken = None;
    ui.horizontal_wrapped(|ui| {
        let wait = "As soon as the pattern is worked out";
        let replace = ui
            .add_enabled(is_current, Button::new("Use these positions"))
            .on_hover_text("They take the place of the plan's positions")
            .on_disabled_hover_text(wait);
        if replace.clicked() {
            taken = Some(positions.clone());
        }
        let add = ui
            .add_enabled(is_current, Button::new("Add them to the plan"))
            .on_hover_text("Beside the plan's positions, but for those that coincide")
            .on_disabled_hover_text(wait);
        if add.clicked() {
            taken = Some(beside(&panel.session.station().positions(), positions));
        }
    });
    if let Some(positions) = taken {
        panel.send(Command::Try(Trial {
            pattern: None,
            ..panel.session.trial()
        }));
        panel.state.chosen = None;
        change(panel, |plan| plan.layout = PlanLayout::ByHand(positions));
    }
}

/// What it comes to in sentences.
fn say(ui: &mut Ui, tried: &Tried, unit: LengthUnit) {
    let Made {
        positions,
        left_out,
        beside_site,
    } = &tried.made;
    let mut text = match positions.len() {
        1 => "This pattern: 1 position".to_owned(),
        n => format!("This pattern: {n} positions"),
    };
    if let Some((at, radius)) = tried.gap {
        text += &format!(
            ", largest gap: radius {} around {}, {}",
            unit.show_with_unit(radius),
            unit.show(at.x),
            unit.show(at.y)
        );
    }
    ui.add(Label::new(text).wrap());
    let left_out = match left_out {
        0 => None,
        1 => Some("1 place is left out: no room of its own for the detector".to_owned()),
        n => Some(format!(
            "{n} places are left out: no room of their own for the detector"
        )),
    };
    let beside_site = match beside_site {
        0 => None,
        1 => Some("1 lies beside its site, as near as the detector can sit".to_owned()),
        n => Some(format!(
            "{n} lie beside their sites, as near as the detector can sit"
        )),
    };
    for text in left_out.into_iter().chain(beside_site) {
        ui.add(Label::new(text).wrap());
    }
}
