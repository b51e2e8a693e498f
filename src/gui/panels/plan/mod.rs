//! The plan's panel: where to measure, at which heights and with what.

mod bores;
mod change;
mod figures;
mod layout;
mod pattern;
mod plate;
mod round;

use eframe::egui::{Context, Label, Ui};

use super::cautions::cautions;
use super::prepare::prepare;
use super::{Panel, Thing, heading, sample_link, would_take};
use crate::gui::widgets::field_row::{FieldRow, choice, jump_to};
use crate::station::{Edit, Plan, PlanLayout, Where};
use crate::units::{LengthUnit, parse_number};

use change::change;

/// Shows the panel.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let station = panel.session.station().clone();
    ui.add(Label::new("The plan says where the detector goes, so that every survey is read at the same places in the same order.").wrap());
    if station.surveys.is_empty() {
        sample_link(ui, panel);
    }
    cautions(ui);
    heading(ui, "How it is read");
    plate::show(ui, panel);
    heading(ui, "Detector and heights");
    radiometer(ui, panel);
    if station.radiometers.is_empty() {
        ui.add(Label::new("The station has no radiometer yet. Add one in the Fixture step, so that spacers are known.").wrap());
    }
    heights(ui, panel);
    heading(ui, "Positions");
    layout::show(ui, panel);
    heading(ui, "Make a pattern");
    pattern::show(ui, panel);
    heading(ui, "Round");
    round::show(ui, panel);
    heading(ui, "Locating the detector");
    bores::show(ui, panel);
    heading(ui, "What the plan comes to");
    let unit = panel.session.preferences().length_unit;
    figures::show(ui, panel.session, unit);
    heading(ui, "What it can show");
    figures::prospect(ui, panel, unit);
    ui.add_space(8.0);
    prepare(ui, panel);
}

/// Brings the person to where a finding about the plan is; whether it was one.
pub fn jump(ctx: &Context, panel: &mut Panel<'_>) -> bool {
    match panel.session.go_to() {
        Some(Where::Plan("Plate")) => jump_to(ctx, &plate::key()),
        Some(Where::Plan("Bores")) => jump_to(ctx, &bores::key()),
        Some(Where::Plan(field)) if round::key(field).is_some() => {
            jump_to(ctx, &round::key(field).unwrap_or_default());
        }
        Some(Where::Plan(field)) => jump_to(ctx, &format!("plan {field}")),
        Some(Where::Position(index)) => {
            panel.state.chosen = Some(Thing::Position(*index));
            let field = match panel.session.station().plan.layout {
                PlanLayout::Grid { .. } => "plan Margin",
                PlanLayout::ByHand(_) => "plan position x",
            };
            jump_to(ctx, field);
        }
        _ => return false,
    }
    true
}

fn radiometer(ui: &mut Ui, panel: &mut Panel<'_>) {
    let station = panel.session.station();
    let current = station.plan.radiometer.as_deref();
    let mut options = vec![(None, "none")];
    options.extend(
        station
            .radiometers
            .iter()
            .map(|r| (Some(r.name.as_str()), r.name.as_str())),
    );
    // one that the station no longer has is still what the plan says
    if !options.iter().any(|(name, _)| *name == current) {
        options.extend(current.map(|name| (Some(name), name)));
    }
    let picked = choice(ui, "plan Radiometer", "Radiometer", current, &options);
    if let Some(name) = picked.map(|name| name.map(str::to_owned)) {
        change(panel, |plan| plan.radiometer = name);
    }
}

fn heights(ui: &mut Ui, panel: &mut Panel<'_>) {
    let unit = panel.session.preferences().length_unit;
    let old = panel.session.station().plan.heights.clone();
    let shown: Vec<String> = old.iter().map(|h| unit.show(*h)).collect();
    let field = FieldRow {
        key: "plan Heights",
        label: "Heights",
        unit: unit.symbol(),
        shown: &shown.join(" "),
    };
    let station = panel.session.station();
    let read = |text: &str| {
        let heights = parse_heights(text, &old, unit)?;
        let plan = Plan {
            heights: heights.clone(),
            ..station.plan.clone()
        };
        would_take(station, Edit::SetPlan(plan))?;
        Ok(heights)
    };
    if let Some(heights) = field.read(ui, read) {
        change(panel, |plan| plan.heights = heights);
    }
    ui.weak("Of the sensing plane above the base; blanks between them");
}

/// Heights in mm from numbers with blanks or semicolons between them. A number shown before and left
/// as it was is the height it stood for, to its last digit.
fn parse_heights(text: &str, old: &[f64], unit: LengthUnit) -> Result<Vec<f64>, String> {
    let heights: Vec<f64> = text
        .split(|c: char| c == ';' || c.is_whitespace())
        .filter(|part| !part.is_empty())
        .map(|part| {
            let kept = old.iter().find(|h| unit.show(**h) == part);
            match kept {
                Some(&height) => Ok(height),
                None => parse_number(part)
                    .map(|v| unit.to_mm(v))
                    .map_err(|e| e.to_string()),
            }
        })
        .collect::<Result<_, _>>()?;
    if heights.is_empty() {
        return Err("A plan needs a height; type one or more, such as 5 20 40".into());
    }
    Ok(heights)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn heights_have_blanks_or_semicolons_between_them() {
        let read = |text| parse_heights(text, &[], LengthUnit::Mm);
        assert_eq!(read(" 5;12,5  40.25 "), Ok(vec![5.0, 12.5, 40.25]));
        assert!(read("5 x").is_err());
        assert!(read(" ; ").is_err());
        assert_eq!(parse_heights("1", &[], LengthUnit::Inch), Ok(vec![25.4]));
    }

    #[test]
    fn a_height_left_alone_is_not_rounded() {
        let exact = 100.0 / 3.0;
        let shown = LengthUnit::Mm.show(exact);
        let read = parse_heights(&format!("{shown} 50"), &[exact], LengthUnit::Mm);
        assert_eq!(read, Ok(vec![exact, 50.0]));
    }
}
