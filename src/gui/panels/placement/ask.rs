//! What is asked: part, clearances, arrangement, how many.

use eframe::egui::Ui;

use super::super::Panel;
use super::super::numbers::{irradiance_text, length_text, parse_count};
use crate::geometry::Shape;
use crate::gui::widgets::field_row::{FieldRow, choice};
use crate::placement::{Best, Kind, Part, Wish, part_of};
use crate::session::Placing;
use crate::units::{IrradianceUnit, LengthUnit, parse_number};

const SHAPES: [(bool, &str); 2] = [(false, "Rectangle"), (true, "Circle")];

const KINDS: [(Kind, &str); 3] = [
    (Kind::Rows { shifted: false }, "Rows and columns"),
    (Kind::Rows { shifted: true }, "Rows, shifted too"),
    (Kind::Free, "Anywhere"),
];

const WISHES: [(Option<Best>, &str); 3] = [
    (None, "As many as fit"),
    (Some(Best::Coldest), "So many, coldest highest"),
    (Some(Best::LeastRange), "So many, most alike"),
];

/// How many times as long as usual is searched for more parts anywhere.
const EFFORTS: [(usize, &str); 3] = [
    (1, "As usual"),
    (10, "Ten times as long"),
    (100, "A hundred times as long"),
];

/// A count to begin with where one is wanted.
const FIRST_COUNT: usize = 8;

pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>, placing: &mut Placing) {
    let preferences = panel.session.preferences();
    let (unit, light) = (preferences.length_unit, preferences.irradiance_unit);
    let station = panel.session.station();
    let wanted = &mut placing.wanted;
    let mut part = wanted.part.clone().unwrap_or_else(|| part_of(station));
    shape(ui, &mut part, unit);
    length(ui, "Clearance", unit, &mut part.clearance, true);
    length(ui, "Tolerance of place", unit, &mut part.tolerance, true);
    if matches!(part.shape, Shape::Rectangle { .. }) {
        ui.checkbox(&mut part.may_turn, "May be turned by 90 degrees");
    }
    wanted.part = Some(part);
    length(ui, "Rim left free", unit, &mut wanted.rim, true);
    if let Some(height) = (FieldRow {
        key: "placement Bond line",
        label: "Bond-line height",
        unit: unit.symbol(),
        shown: &wanted
            .height
            .map_or_else(String::new, |h| length_text(unit, h)),
    })
    .optional_number(ui)
    {
        wanted.height = height.map(|h| unit.to_mm(h));
    }
    ui.weak("Empty: that of the sites");
    limit(ui, "Lower limit", light, &mut wanted.instead[0]);
    limit(ui, "Upper limit", light, &mut wanted.instead[1]);
    ui.weak("Empty: those of the step Limits");
    if let Some(kind) = choice(ui, "placement Kind", "Arrangement", wanted.kind, &KINDS) {
        wanted.kind = kind;
    }
    how_many(ui, &mut wanted.wish);
    if (wanted.kind, wanted.wish) == (Kind::Free, Wish::Most)
        && let Some(effort) = choice(ui, "placement Search", "Search", wanted.effort, &EFFORTS)
    {
        wanted.effort = effort;
    }
    if !station.sites.is_empty() {
        let shown = wanted.locked.join(" ");
        let names: Vec<String> = station.all_sites().into_iter().map(|s| s.name).collect();
        let typed = FieldRow {
            key: "placement Locked",
            label: "Sites that stay",
            unit: "",
            shown: &shown,
        }
        .read_text(ui, |text| locked(text, &names));
        if let Some(typed) = typed {
            wanted.locked = typed;
        }
        ui.weak("Names with commas or blanks between; others are placed beside them");
    }
}

/// Names of sites; those with blanks in them stand between commas.
fn locked(text: &str, names: &[String]) -> Result<Vec<String>, String> {
    let by_comma: Vec<&str> = text
        .split(',')
        .map(str::trim)
        .filter(|n| !n.is_empty())
        .collect();
    let known = |name: &&str| names.iter().any(|n| n == name);
    let all = if by_comma.iter().all(known) {
        by_comma
    } else {
        text.split([',', ' '])
            .map(str::trim)
            .filter(|n| !n.is_empty())
            .collect()
    };
    match all.iter().find(|name| !known(name)) {
        Some(name) => Err(format!(
            "There is no site '{name}'; type names of the fixture's sites"
        )),
        None => Ok(all.into_iter().map(str::to_owned).collect()),
    }
}

fn shape(ui: &mut Ui, part: &mut Part, unit: LengthUnit) {
    let is_circle = matches!(part.shape, Shape::Circle { .. });
    if let Some(circle) = choice(ui, "placement Shape", "Part", is_circle, &SHAPES) {
        let (width, depth) = part.shape.size();
        part.shape = if circle {
            Shape::Circle {
                diameter: width.min(depth),
            }
        } else {
            Shape::Rectangle { width, depth }
        };
    }
    match &mut part.shape {
        Shape::Circle { diameter } => length(ui, "Part diameter", unit, diameter, false),
        Shape::Rectangle { width, depth } => {
            length(ui, "Part width", unit, width, false);
            length(ui, "Part depth", unit, depth, false);
        }
        // a polygon is never asked about: the part begins as the rectangle around it
        Shape::Polygon { .. } => {}
    }
}

fn length(ui: &mut Ui, label: &str, unit: LengthUnit, mm: &mut f64, may_be_zero: bool) {
    let typed = FieldRow {
        key: &format!("placement {label}"),
        label,
        unit: unit.symbol(),
        shown: &length_text(unit, *mm),
    }
    .read(ui, |text| {
        let value = unit.to_mm(parse_number(text).map_err(|e| e.to_string())?);
        match value {
            v if v > 1e4 => Err("That is too large; type a smaller number".to_owned()),
            v if v > 0.0 || v == 0.0 && may_be_zero => Ok(v),
            _ if may_be_zero => Err("Type a number that is not below zero".to_owned()),
            _ => Err("Type a number above zero".to_owned()),
        }
    });
    if let Some(typed) = typed {
        *mm = typed;
    }
}

fn limit(ui: &mut Ui, label: &str, unit: IrradianceUnit, value: &mut Option<f64>) {
    let typed = FieldRow {
        key: &format!("placement {label}"),
        label,
        unit: unit.symbol(),
        shown: &value.map_or_else(String::new, |v| irradiance_text(unit, v)),
    }
    .optional_number(ui);
    if let Some(typed) = typed {
        *value = typed.map(|v| unit.to_mw_cm2(v)).filter(|v| *v > 0.0);
    }
}

fn how_many(ui: &mut Ui, wish: &mut Wish) {
    let (count, best) = match *wish {
        Wish::Most => (FIRST_COUNT, None),
        Wish::Count(n, best) => (n, Some(best)),
    };
    if let Some(picked) = choice(ui, "placement Wish", "How many", best, &WISHES) {
        *wish = picked.map_or(Wish::Most, |best| Wish::Count(count, best));
    }
    if let Wish::Count(n, _) = wish {
        let typed = FieldRow {
            key: "placement Count",
            label: "Parts wanted",
            unit: "",
            shown: &n.to_string(),
        }
        .read(ui, |text| {
            let count = parse_count(text)?;
            if count > 2000 {
                Err("Type 2000 or fewer".to_owned())
            } else {
                Ok(count as usize)
            }
        });
        if let Some(typed) = typed {
            *n = typed;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::locked;

    #[test]
    fn names_have_commas_or_blanks_between_them() {
        let names = ["A1", "A2", "Holder A1"].map(str::to_owned);
        assert_eq!(locked("A1 A2", &names), Ok(vec!["A1".into(), "A2".into()]));
        assert_eq!(
            locked("Holder A1, A2", &names),
            Ok(vec!["Holder A1".into(), "A2".into()])
        );
        assert_eq!(locked(" ", &names), Ok(vec![]));
        assert!(locked("A3", &names).is_err());
    }
}
