//! What the patterns of the map against the limits mean.

use eframe::egui::{Rect, Sense, Stroke, StrokeKind, Ui, pos2, vec2};

use crate::assess::limits::Class;
use crate::gui::theme::look;
use crate::session::{Session, Step};
use crate::sheet::against::Against;
use crate::sheet::drawing::Role;
use crate::station::SiteGroup;

/// Shows the four classes, brightest on top, and at which height the map is.
pub(super) fn show(ui: &mut Ui, session: &Session) {
    ui.add_space(4.0);
    ui.label("With 95 % confidence");
    for class in Class::ALL.into_iter().rev() {
        ui.add_space(6.0);
        let (rect, response) = ui.allocate_exact_size(vec2(44.0, 26.0), Sense::hover());
        swatch(ui, rect, class);
        ui.label(class.words());
        response.on_hover_text(tip(class));
    }
    if session.step() != Step::Limits {
        ui.add_space(10.0);
        ui.weak("Where the middle of a part is, that part alone; no colour: no room");
        return;
    }
    ui.add_space(10.0);
    let unit = session.preferences().length_unit;
    let height = session.height();
    let at = unit.show_with_unit(height);
    if session.is_at_coldest() {
        ui.weak(format!("At {at}, the height of the coldest part"));
    } else {
        ui.weak(format!("At {at}, as chosen"));
    }
    let sites = &session.station().sites;
    let here = |group: &SiteGroup| (group.height - height).abs() < 0.05;
    if !sites.is_empty() && !sites.iter().any(here) {
        ui.label("No part lies at this height");
    }
}

fn tip(class: Class) -> &'static str {
    match class {
        Class::Below => "Below the lower limit",
        Class::NotProven => "Neither inside nor outside the limits with confidence",
        Class::Inside => "At or above the lower and at or below the upper limit",
        Class::Above => "Above the upper limit",
    }
}

fn swatch(ui: &Ui, rect: Rect, class: Class) {
    let number = Class::ALL.iter().position(|c| *c == class).unwrap_or(0);
    let [r, g, b] = Against::scale().colour(number as f64).unwrap_or([128; 3]);
    let painter = ui.painter_at(rect);
    painter.rect_filled(rect, 0.0, eframe::egui::Color32::from_rgb(r, g, b));
    let role = match class {
        Class::Below => Role::Below,
        Class::NotProven => Role::NotProven,
        Class::Inside => Role::Inside,
        Class::Above => Role::Above,
    };
    let look = look(role, ui.theme());
    let stroke = |a, b| {
        painter.line_segment([a, b], Stroke::new(3.0, look.halo.gamma_multiply(0.55)));
        painter.line_segment([a, b], Stroke::new(look.width, look.ink));
    };
    let gap = 9.0;
    let count = (rect.width() / gap) as i32 + 4;
    for i in -3..count {
        let x = rect.left() + i as f32 * gap;
        match class {
            Class::Below => {
                let y = rect.top() + (i + 3) as f32 * gap;
                stroke(pos2(rect.left(), y), pos2(rect.right(), y));
            }
            Class::NotProven => stroke(pos2(x, rect.bottom()), pos2(x + rect.height(), rect.top())),
            Class::Above => {
                stroke(pos2(x, rect.bottom()), pos2(x + rect.height(), rect.top()));
                stroke(pos2(x, rect.top()), pos2(x + rect.height(), rect.bottom()));
            }
            Class::Inside => {}
        }
    }
    let rim = Stroke::new(1.0, ui.visuals().text_color());
    painter.rect_stroke(rect, 0.0, rim, StrokeKind::Inside);
}
