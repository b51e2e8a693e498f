//! The scale of the map's colours, upright beside it: unit on top, values at the side, and where the
//! coldest and the hottest spot lie on it.

use eframe::egui::{
    Align2, Color32, FontId, Mesh, Rect, Response, Role as Spoken, Sense, Shape, StrokeKind, Ui,
    WidgetInfo, pos2, vec2,
};

use super::axes::decimals;
use crate::gui::paint::mark;
use crate::gui::theme::look;
use crate::sheet::colour::{ColourScale, LeftOut};
use crate::sheet::drawing::{MarkForm, Role};
use crate::units::{IrradianceUnit, fixed};

/// What the colours stand for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// Irradiance, said in this unit.
    Irradiance(IrradianceUnit),
    /// Expanded uncertainty (k = 2), percent.
    Uncertainty,
    /// Brightness of the lamp's face over its mean.
    Brightness,
    /// Local change, percent.
    Change,
}

impl Quantity {
    fn head(self) -> &'static str {
        match self {
            Self::Irradiance(unit) => unit.symbol(),
            Self::Uncertainty => "±, % (k = 2)",
            Self::Brightness => "of mean",
            Self::Change => "local, %",
        }
    }

    /// A value of the map as it is said.
    fn in_unit(self, value: f64) -> f64 {
        match self {
            Self::Irradiance(unit) => unit.from_mw_cm2(value),
            Self::Uncertainty | Self::Brightness | Self::Change => value,
        }
    }
}

/// A colour bar to be shown.
#[derive(Debug, Clone, Copy)]
pub struct ColourBar<'a> {
    /// The map's.
    pub scale: ColourScale,
    /// Where a value is written, as the map has it, upwards.
    pub ticks: &'a [f64],
    /// What the values are.
    pub quantity: Quantity,
    /// Whether the map has values beyond the scale.
    pub left_out: LeftOut,
    /// Of the coldest spot, mW/cm².
    pub coldest: Option<f64>,
    /// Of the hottest spot, mW/cm².
    pub hottest: Option<f64>,
}

/// Room for the marks on the left, the bar itself, and the values, points of the screen.
const COLUMNS: [f32; 3] = [18.0, 18.0, 56.0];
/// Colour steps of the bar.
const STEPS: usize = 128;

impl ColourBar<'_> {
    /// Shows the bar over the height there is.
    pub fn show(&self, ui: &mut Ui) -> Response {
        let font = FontId::proportional(look(Role::Contour, ui.theme()).text_size + 1.0);
        let line = ui.fonts_mut(|f| f.row_height(&font));
        let size = vec2(COLUMNS.iter().sum(), ui.available_height().max(4.0 * line));
        let (whole, response) = ui.allocate_exact_size(size, Sense::hover());
        response.widget_info(|| {
            WidgetInfo::labeled(Spoken::Image, ui.is_enabled(), self.description())
        });
        let response = match self.left_out.words() {
            Some(beyond) => response.on_hover_text(beyond),
            None => response,
        };
        if !ui.is_rect_visible(whole) {
            return response;
        }
        let bar = Rect::from_min_max(
            pos2(whole.left() + COLUMNS[0], whole.top() + 2.0 * line),
            pos2(
                whole.left() + COLUMNS[0] + COLUMNS[1],
                whole.bottom() - line,
            ),
        );
        let painter = ui.painter_at(whole);
        let text = ui.visuals().text_color();
        painter.text(
            pos2(bar.left(), whole.top()),
            Align2::LEFT_TOP,
            self.quantity.head(),
            font.clone(),
            text,
        );
        painter.add(Shape::mesh(self.gradient(bar)));
        painter.rect_stroke(bar, 0.0, (1.0, text), StrokeKind::Outside);
        for (is_left_out, y, anchor, said) in [
            (
                self.left_out.above,
                bar.top() - 1.0,
                Align2::LEFT_BOTTOM,
                "and above",
            ),
            (
                self.left_out.below,
                bar.bottom() + 1.0,
                Align2::LEFT_TOP,
                "and below",
            ),
        ] {
            if is_left_out {
                painter.text(pos2(bar.left(), y), anchor, said, font.clone(), text);
            }
        }

        let places = self.decimals();
        let mut free_below = f32::INFINITY;
        for &tick in self.ticks {
            let Some(y) = self.y(bar, tick) else { continue };
            painter.hline(bar.right()..=bar.right() + 4.0, y, (1.0, text));
            // upwards: each value needs its line clear of the one below
            if y + 0.5 * line <= free_below {
                painter.text(
                    pos2(bar.right() + 7.0, y),
                    Align2::LEFT_CENTER,
                    fixed(self.quantity.in_unit(tick), places),
                    font.clone(),
                    text,
                );
                free_below = y - 0.5 * line;
            }
        }
        for (value, form, role) in [
            (self.coldest, MarkForm::TriangleDown, Role::Coldest),
            (self.hottest, MarkForm::TriangleUp, Role::Hottest),
        ] {
            if let Some(y) = value.and_then(|e| self.y(bar, e)) {
                let look = look(role, ui.theme());
                painter.hline(bar.x_range(), y, (look.width + 2.0, look.halo));
                painter.hline(bar.x_range(), y, (look.width, look.ink));
                painter.extend(mark(pos2(bar.left() - 9.0, y), form, &look));
            }
        }
        response
    }

    /// Where a value lies on the bar; `None` beyond its ends or where the scale has no width.
    fn y(&self, bar: Rect, irradiance: f64) -> Option<f32> {
        let t = (irradiance - self.scale.low) / (self.scale.high - self.scale.low);
        // room for rounding: a spot at the scale's very end is on it
        (-1e-9..=1.0 + 1e-9)
            .contains(&t)
            .then(|| bar.bottom() - t as f32 * bar.height())
    }

    fn gradient(&self, bar: Rect) -> Mesh {
        let mut mesh = Mesh::default();
        let step = bar.height() / STEPS as f32;
        for i in 0..STEPS {
            let t = (i as f64 + 0.5) / STEPS as f64;
            let value = self.scale.low + t * (self.scale.high - self.scale.low);
            let bottom = bar.bottom() - i as f32 * step;
            if let Some([r, g, b]) = self.scale.colour(value) {
                mesh.add_colored_rect(
                    Rect::from_x_y_ranges(bar.x_range(), bottom - step..=bottom),
                    Color32::from_rgb(r, g, b),
                );
            }
        }
        mesh
    }

    /// Decimals of the values: those that their least spacing needs.
    fn decimals(&self) -> usize {
        let spacing = self
            .ticks
            .windows(2)
            .map(|w| self.quantity.in_unit(w[1] - w[0]))
            .fold(f64::INFINITY, f64::min);
        match self.ticks {
            [only] => match self.quantity {
                Quantity::Irradiance(unit) => unit.decimals(*only, None),
                Quantity::Uncertainty => 1,
                Quantity::Brightness => 2,
                Quantity::Change => 0,
            },
            _ => decimals(spacing),
        }
    }

    fn description(&self) -> String {
        let ends = |decimals| [self.scale.low, self.scale.high].map(|v| fixed(v, decimals));
        let unit = match self.quantity {
            Quantity::Irradiance(unit) => unit,
            Quantity::Uncertainty => {
                let [low, high] = ends(1);
                return format!("Colours of the uncertainty (k = 2) from {low} to {high} %");
            }
            Quantity::Brightness => {
                let [low, high] = ends(2);
                return format!(
                    "Colours of the lamp's brightness from {low} to {high} of its mean"
                );
            }
            Quantity::Change => {
                let [low, high] = ends(0);
                return format!("Colours of the local change from {low} to {high} %");
            }
        };
        let say = |e: f64| unit.show(e, None);
        let mut words = format!(
            "Colours of irradiance from {} to {} {}",
            say(self.scale.low),
            say(self.scale.high),
            unit.symbol()
        );
        for (name, value) in [("coldest", self.coldest), ("hottest", self.hottest)] {
            if let Some(value) = value {
                words += &format!(", {name} spot {}", say(value));
            }
        }
        if let Some(beyond) = self.left_out.words() {
            words += &format!(". {beyond}");
        }
        words
    }
}
