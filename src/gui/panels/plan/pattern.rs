//! Patterns of positions: tried out beside the plan, and in it only when they are taken.

use std::sync::Arc;

use eframe::egui::{Label, Ui};

use super::super::Panel;
use super::super::numbers::{length_text, parse_count};
use super::change;
use crate::geometry::Point;
use crate::gui::widgets::field_row::{FieldRow, choice};
use crate::numeric::neighbours::largest_gap;
use crate::probing::{FINEST_RASTER, Made, Pattern, beside};
use crate::station::{PlanLayout, Position, Station};
use crate::units::{LengthUnit, parse_number};

/// Of the raster until another one is typed, mm.
const RASTER: f64 = 0.5;
/// Along the rim until another one is typed, mm.
const SPACING: f64 = 20.0;

/// Which pattern.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Staggered,
    Rings,
    Sites,
    Rim,
}

const KINDS: [(Option<Kind>, &str); 5] = [
    (None, "None"),
    (Some(Kind::Staggered), "Staggered rows"),
    (Some(Kind::Rings), "Rings"),
    (Some(Kind::Sites), "One at each site"),
    (Some(Kind::Rim), "Around the rim"),
];

impl Kind {
    fn of(pattern: &Pattern) -> Self {
        match pattern {
            Pattern::Staggered { .. } => Self::Staggered,
            Pattern::Rings { .. } => Self::Rings,
            Pattern::Sites => Self::Sites,
            Pattern::Rim { .. } => Self::Rim,
        }
    }

    /// What a pattern of this kind begins with.
    fn begin(self, station: &Station) -> Pattern {
        match self {
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

/// What is seen of the plan on the plan view beside its positions.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Overlay {
    /// Positions that are tried out.
    pub positions: Vec<Position>,
    /// Middle and radius of the largest gap, mm: of what is tried out, else of the plan.
    pub gap: Option<(Point, f64)>,
}

/// The pattern that is tried out, and the raster; never saved.
#[derive(Debug)]
pub struct Trial {
    pattern: Option<Pattern>,
    raster: f64,
    /// What it comes to, kept as long as it holds.
    tried: Option<Tried>,
    overlay: Arc<Overlay>,
}

#[derive(Debug)]
struct Tried {
    of: Arc<Station>,
    pattern: Option<Pattern>,
    raster: f64,
    /// What it makes, or why it makes nothing.
    made: Result<Made, String>,
}

impl Default for Trial {
    fn default() -> Self {
        Self {
            pattern: None,
            raster: RASTER,
            tried: None,
            overlay: Arc::default(),
        }
    }
}

impl Trial {
    /// On whole multiples of it positions come to lie, mm; `None`: anywhere.
    pub fn raster(&self) -> Option<f64> {
        Some(self.raster).filter(|mesh| *mesh > 0.0)
    }

    /// What is to be seen of it on the plan view.
    pub fn overlay(&self) -> &Arc<Overlay> {
        &self.overlay
    }

    /// Works it out when the document or the pattern is another one; `gap` is that of the plan.
    fn renew(&mut self, station: &Arc<Station>, gap: Option<(Point, f64)>) {
        let (pattern, raster) = (self.pattern, self.raster);
        let holds =
            |t: &Tried| Arc::ptr_eq(&t.of, station) && t.pattern == pattern && t.raster == raster;
        if self.tried.as_ref().is_some_and(holds) {
            return;
        }
        let made = match pattern {
            None => Ok(Made::default()),
            Some(pattern) => pattern.make(station, self.raster()),
        };
        let positions = made
            .as_ref()
            .map_or_else(|_| Vec::new(), |made| made.positions.clone());
        let points: Vec<Point> = positions.iter().map(|p| p.at).collect();
        let gap = match points[..] {
            [] => gap,
            _ => largest_gap(&station.fixture.footprint(), &points),
        };
        self.overlay = Arc::new(Overlay { positions, gap });
        self.tried = Some(Tried {
            of: station.clone(),
            pattern,
            raster,
            made,
        });
    }
}

pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let station = panel.session.station().clone();
    let unit = panel.session.preferences().length_unit;
    let trial = &mut panel.state.pattern;
    let kind = trial.pattern.as_ref().map(Kind::of);
    if let Some(kind) = choice(ui, "pattern Kind", "Pattern", kind, &KINDS) {
        trial.pattern = kind.map(|kind| kind.begin(&station));
    }
    if let Some(pattern) = trial.pattern {
        trial.pattern = Some(fields(ui, pattern, unit));
    }
    let typed = length(ui, "Raster", trial.raster, unit);
    put(&mut trial.raster, typed);
    ui.weak("Patterns and dragged positions lie on it; 0 for none");
    trial.renew(&station, panel.state.plan.gap());
    if panel.state.pattern.pattern.is_some() {
        outcome(ui, panel, unit);
    }
}

/// The fields of a pattern; the pattern with what was typed.
fn fields(ui: &mut Ui, mut pattern: Pattern, unit: LengthUnit) -> Pattern {
    match &mut pattern {
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
        if label == "Raster" && mm > 0.0 && mm < FINEST_RASTER {
            let least = unit.show_with_unit(FINEST_RASTER);
            return Err(format!("Type 0 for no raster, or {least} or more"));
        }
        Ok(mm)
    })
}

/// What the pattern comes to, and the buttons that take it.
fn outcome(ui: &mut Ui, panel: &mut Panel<'_>, unit: LengthUnit) {
    let Some(tried) = &panel.state.pattern.tried else {
        return;
    };
    let Made {
        positions,
        left_out,
        beside_site,
    } = match &tried.made {
        Ok(made) => made.clone(),
        Err(why) => {
            let colour = ui.visuals().warn_fg_color;
            ui.add(Label::new(eframe::egui::RichText::new(why).color(colour)).wrap());
            return;
        }
    };
    let mut text = match positions.len() {
        1 => "This pattern: 1 position".to_owned(),
        n => format!("This pattern: {n} positions"),
    };
    if let Some((at, radius)) = panel.state.pattern.overlay.gap {
        text += &format!(
            ", largest gap: radius {} around {}, {}",
            unit.show_with_unit(radius),
            unit.show(at.x),
            unit.show(at.y)
        );
    }
    ui.add(Label::new(text).wrap());
    if left_out > 0 {
        let text = match left_out {
            1 => "1 place is left out: no room of its own for the detector".to_owned(),
            n => format!("{n} places are left out: no room of their own for the detector"),
        };
        ui.add(Label::new(text).wrap());
    }
    if beside_site > 0 {
        let text = match beside_site {
            1 => "1 lies beside its site, as near as the detector can sit".to_owned(),
            n => format!("{n} lie beside their sites, as near as the detector can sit"),
        };
        ui.add(Label::new(text).wrap());
    }
    let mut taken = None;
    ui.horizontal_wrapped(|ui| {
        let replace = ui
            .button("Use these positions")
            .on_hover_text("They take the place of the plan's positions");
        if replace.clicked() {
            taken = Some(positions.clone());
        }
        let add = ui
            .button("Add them to the plan")
            .on_hover_text("Beside the plan's positions, but for those that coincide");
        if add.clicked() {
            taken = Some(beside(&panel.session.station().positions(), &positions));
        }
    });
    if let Some(positions) = taken {
        panel.state.pattern.pattern = None;
        panel.state.chosen = None;
        change(panel, |plan| plan.layout = PlanLayout::ByHand(positions));
    }
}
