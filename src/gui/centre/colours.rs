//! The colour bar beside the map, and from and to where its colours go.

use eframe::egui::containers::menu::{MenuButton, MenuConfig};
use eframe::egui::{Frame, Panel as Side, PopupCloseBehavior, Ui};

use crate::assess::Answer;
use crate::field::{Map, round_levels};
use crate::gui::panels::numbers::number_text;
use crate::gui::widgets::colour_bar::{ColourBar, Quantity};
use crate::gui::widgets::field_row::FieldRow;
use crate::session::{Command, MapOf, Session};
use crate::sheet::colour::ColourScale;
use crate::units::{IrradianceUnit, fixed as fixed_text, parse_number};

/// Values beside the bar of a fixed range, about.
const TICKS: usize = 8;

/// Shows the bar of a map with its colours and what it is of, with the choice of the range; of a map of irradiance also
/// where it is coldest and hottest.
pub(super) fn show(
    ui: &mut Ui,
    session: &Session,
    (map, scale, of): (&Map, ColourScale, MapOf),
    spots: Option<&Answer>,
    commands: &mut Vec<Command>,
) {
    let unit = session.preferences().irradiance_unit;
    let ends = match of {
        MapOf::Irradiance => Some(Ends::Irradiance(unit)),
        MapOf::Uncertainty => Some(Ends::Percent),
        MapOf::Brightness => None,
    };
    let range = session.colours().of(of);
    if let Some(ends) = ends {
        Side::bottom("colour range")
            .show_separator_line(false)
            .frame(Frame::NONE)
            .show(ui, |ui| {
                if let Some(range) = choice(ui, range, scale, ends) {
                    commands.push(Command::FixColours(of, range));
                }
            });
    }
    let fixed = range.map(|[low, high]| round_levels(low, high, TICKS));
    let spots = spots.filter(|_| of == MapOf::Irradiance);
    let bar = ColourBar {
        scale,
        ticks: fixed.as_ref().unwrap_or(&map.levels),
        quantity: match of {
            MapOf::Irradiance => Quantity::Irradiance(unit),
            MapOf::Uncertainty => Quantity::Uncertainty,
            MapOf::Brightness => Quantity::Brightness,
        },
        left_out: (map.raster.range()).map_or_else(Default::default, |v| scale.left_out(v)),
        coldest: spots.map(|a| a.coldest.irradiance),
        hottest: spots.map(|a| a.hottest.irradiance),
    };
    bar.show(ui);
}

/// In what the ends of a range are said and typed.
#[derive(Debug, Clone, Copy)]
enum Ends {
    Irradiance(IrradianceUnit),
    /// Of uncertainty.
    Percent,
}

impl Ends {
    fn symbol(self) -> &'static str {
        match self {
            Self::Irradiance(unit) => unit.symbol(),
            Self::Percent => "%",
        }
    }

    /// A value of the map as it is said.
    fn said(self, value: f64) -> f64 {
        match self {
            Self::Irradiance(unit) => unit.from_mw_cm2(value),
            Self::Percent => value,
        }
    }

    /// What was said as a value of the map.
    fn meant(self, value: f64) -> f64 {
        match self {
            Self::Irradiance(unit) => unit.to_mw_cm2(value),
            Self::Percent => value,
        }
    }

    /// How many decimals an end has in a map that goes up to a value.
    fn decimals(self, high: f64) -> usize {
        match self {
            Self::Irradiance(unit) => unit.decimals(high, None),
            Self::Percent => 2,
        }
    }

    /// What there is to say of it.
    fn tip(self) -> &'static str {
        match self {
            Self::Irradiance(_) => "From and to which irradiance the colours go",
            Self::Percent => "From and to which uncertainty the colours go",
        }
    }
}

/// The button that says how the range is chosen, and opens the choice; what was chosen.
fn choice(
    ui: &mut Ui,
    fixed: Option<[f64; 2]>,
    scale: ColourScale,
    ends: Ends,
) -> Option<Option<[f64; 2]>> {
    let mut chosen = None;
    let name = if fixed.is_some() {
        "Fixed"
    } else {
        "Automatic"
    };
    let stays = MenuConfig::new().close_behavior(PopupCloseBehavior::CloseOnClickOutside);
    let (button, _) = MenuButton::new(name).config(stays).ui(ui, |ui| {
        ui.set_width(330.0);
        ui.strong("Colours of the map");
        let own = ui.radio(fixed.is_none(), "Automatic: each map from its least to its greatest");
        if own.clicked() {
            chosen = Some(None);
        }
        let same = ui.radio(fixed.is_some(), "Fixed: the same for every map, to compare surveys");
        let now = [scale.low, scale.high];
        let shown = match fixed {
            Some(range) => range.map(|e| number_text(ends.said(e))),
            None => now.map(|e| fixed_text(ends.said(e), ends.decimals(e))),
        };
        if same.clicked() && fixed.is_none() {
            chosen = Some(Some(rounded(now, ends)));
        }
        for (i, label) in ["From", "To"].into_iter().enumerate() {
            let row = FieldRow {
                key: &format!("colours of the map/{label}"),
                label,
                unit: ends.symbol(),
                shown: &shown[i],
            };
            let typed = row.read(ui, |text| {
                let mut range = now;
                range[i] = ends.meant(parse_number(text).map_err(|e| e.to_string())?);
                match (range[0] < range[1], i) {
                    (true, _) => Ok(range),
                    (false, 0) => Err(format!("The range has to rise: type less than {}, or change To first", shown[1])),
                    (false, _) => Err(format!("The range has to rise: type more than {}, or change From first", shown[0])),
                }
            });
            if let Some(range) = typed {
                chosen = Some(Some(range));
            }
        }
        ui.weak("Values beyond the range have the colours of its ends. A map that is exported has the same range");
    });
    button
        .on_hover_text(ends.tip())
        .accessible_name(format!("Colour range: {}", name.to_lowercase()));
    chosen
}

/// A range that holds another one and ends at numbers of about three digits as they are said.
fn rounded([low, high]: [f64; 2], said: Ends) -> [f64; 2] {
    let decimals = said.decimals(low.abs().max(high.abs())).saturating_sub(1);
    let steps = 10f64.powi(decimals as i32);
    // the same number as typing it would give
    let end = |steps_up: f64| said.meant(steps_up / steps);
    let [low, high] = [low, high].map(|e| said.said(e) * steps);
    let (low, high) = (low.floor(), high.ceil());
    [end(low), end(if high > low { high } else { low + 1.0 })]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_range_is_rounded_outwards_in_the_unit() {
        let unit = Ends::Irradiance(IrradianceUnit::MilliwattPerCm2);
        assert_eq!(rounded([1.23, 8.91], Ends::Percent), [1.2, 9.0]);
        assert_eq!(rounded([61.2345, 94.11], unit), [61.2, 94.2]);
        assert_eq!(rounded([110.4, 120.0], unit), [110.0, 120.0]);
        assert_eq!(rounded([80.0, 80.0], unit), [80.0, 80.1]);
        let [low, high] = rounded(
            [61.2345, 94.11],
            Ends::Irradiance(IrradianceUnit::WattPerCm2),
        );
        assert!((low - 61.2).abs() < 1e-9 && (high - 94.2).abs() < 1e-9);
    }
}
