//! Colours, pens and text sizes of the window, light and dark. One table says how each [`Role`] of a
//! drawing looks on the screen; nothing else in the window picks a colour for it.
//!
//! What lies around the fixture is a neutral grey without hue, so that the map's colours read true.
//! Roles differ by form and pen first and by hue second. Every ink has a halo of the opposite
//! lightness, so a mark stays readable on the darkest and on the lightest colour of the map.

use eframe::egui::{Color32, Context, CornerRadius, FontId, Stroke, TextStyle, Theme, Visuals};

use crate::sheet::drawing::Role;

/// How one role looks on the screen. Lengths are in points of the screen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Look {
    /// Lines, marks and text.
    pub ink: Color32,
    /// Around lines and marks, and behind text.
    pub halo: Color32,
    /// Width of lines.
    pub width: f32,
    /// Length of dash and gap; `None`: drawn through.
    pub dash: Option<(f32, f32)>,
    /// Whether a closed path is hatched.
    pub hatched: bool,
    /// From the centre of a mark to its rim.
    pub radius: f32,
    /// Height of text.
    pub text_size: f32,
}

/// Points by which a halo is wider than its ink, on each side.
pub const HALO: f32 = 1.5;

/// Room kept for a scroll bar, in points.
const SCROLL_BAR: f32 = 8.0;

/// Height of the smallest text, in points.
const SMALL: f32 = 11.0;

/// How much the backing of a text hides of what is below it, 0 to 1.
pub const BACKING: f32 = 0.8;

/// The look of a role.
pub fn look(role: Role, theme: Theme) -> Look {
    // (light theme, dark theme): hue kept, lightness turned round
    let (light, dark) = match role {
        Role::Fixture | Role::Site | Role::Contour | Role::Datum => ([26, 26, 26], [240, 240, 240]),
        Role::Face | Role::Plate | Role::Body | Role::Beneath | Role::Cut | Role::Engraved => {
            ([68, 62, 78], [208, 202, 218])
        }
        Role::Preview => ([104, 14, 104], [244, 176, 250]),
        Role::Gap => ([96, 58, 0], [250, 206, 130]),
        Role::KeepOut => ([122, 30, 22], [255, 176, 164]),
        Role::Stop | Role::Way | Role::Position => ([12, 60, 122], [166, 208, 255]),
        Role::Reading => ([14, 76, 72], [160, 232, 222]),
        Role::Below | Role::NotProven | Role::Inside | Role::Above | Role::Border => {
            ([26, 26, 26], [240, 240, 240])
        }
        Role::ReadingLeftOut | Role::Extrapolated => ([78, 70, 56], [214, 206, 190]),
        Role::Coldest => ([8, 52, 106], [176, 214, 255]),
        Role::Hottest => ([118, 38, 0], [255, 196, 156]),
        Role::Selected => ([126, 0, 96], [255, 168, 232]),
    };
    let (ink, halo) = match theme {
        Theme::Light => (light, Color32::from_gray(250)),
        Theme::Dark => (dark, Color32::from_gray(20)),
    };
    let plain = Look {
        ink: Color32::from_rgb(ink[0], ink[1], ink[2]),
        halo,
        width: 1.5,
        dash: None,
        hatched: false,
        radius: 4.0,
        text_size: 12.0,
    };
    match role {
        Role::Fixture => Look {
            width: 2.0,
            ..plain
        },
        Role::Plate => Look {
            dash: Some((16.0, 4.0)),
            width: 1.0,
            ..plain
        },
        Role::Face => Look {
            dash: Some((10.0, 5.0)),
            width: 1.0,
            ..plain
        },
        Role::Body => Look {
            // quiet: there are as many as positions, and they lie over the sites
            dash: Some((2.0, 5.0)),
            width: 1.0,
            ..plain
        },
        Role::Way => Look {
            width: 1.0,
            ..plain
        },
        Role::Preview => Look {
            dash: Some((4.0, 3.0)),
            width: 1.2,
            ..plain
        },
        Role::Gap => Look {
            dash: Some((8.0, 4.0)),
            width: 1.2,
            text_size: 11.0,
            ..plain
        },
        Role::KeepOut => Look {
            hatched: true,
            ..plain
        },
        Role::Contour => Look {
            width: 1.0,
            text_size: 11.0,
            ..plain
        },
        Role::Extrapolated => Look {
            dash: Some((4.0, 4.0)),
            width: 1.0,
            text_size: 11.0,
            ..plain
        },
        Role::Below | Role::Above | Role::Inside => Look {
            width: 1.2,
            ..plain
        },
        Role::Border => Look {
            width: 2.0,
            ..plain
        },
        Role::NotProven => Look {
            dash: Some((4.0, 3.0)),
            width: 1.0,
            ..plain
        },
        Role::Coldest | Role::Hottest => Look {
            radius: 8.0,
            text_size: 13.0,
            ..plain
        },
        Role::Selected => Look {
            width: 2.5,
            radius: 8.0,
            ..plain
        },
        Role::Site
        | Role::Beneath
        | Role::Stop
        | Role::Cut
        | Role::Engraved
        | Role::Datum
        | Role::Position
        | Role::Reading
        | Role::ReadingLeftOut => plain,
    }
}

/// The grey around the fixture in the plan view.
pub fn surroundings(theme: Theme) -> Color32 {
    Color32::from_gray(match theme {
        Theme::Light => 176,
        Theme::Dark => 84,
    })
}

/// The fixture where there is no map.
pub fn plate(theme: Theme) -> Color32 {
    Color32::from_gray(match theme {
        Theme::Light => 222,
        Theme::Dark => 52,
    })
}

/// Gives both themes of a window our colours; which of the two shows stays as it is.
pub fn install(ctx: &Context) {
    for theme in [Theme::Light, Theme::Dark] {
        ctx.set_visuals_of(theme, visuals(theme));
    }
    ctx.all_styles_mut(|style| {
        let small = FontId::proportional(SMALL);
        style.text_styles.insert(TextStyle::Small, small);
        // scroll bars stand beside what they scroll, not over it
        style.spacing.scroll.floating_allocated_width = SCROLL_BAR;
    });
}

/// The colours of panels, fields and buttons: egui's own set, calmed to near-neutral greys with one
/// blue for what is chosen, and text dark or light enough everywhere.
pub fn visuals(theme: Theme) -> Visuals {
    let grey = Color32::from_gray;
    let (mut v, panel, field, text, weak, chosen, on_chosen, link, warn, error) = match theme {
        Theme::Light => (
            Visuals::light(),
            grey(242),
            grey(255),
            grey(28),
            grey(88),
            Color32::from_rgb(188, 212, 240),
            Color32::from_rgb(8, 40, 84),
            Color32::from_rgb(16, 78, 150),
            Color32::from_rgb(128, 72, 0),
            Color32::from_rgb(160, 24, 16),
        ),
        Theme::Dark => (
            Visuals::dark(),
            grey(32),
            grey(20),
            grey(228),
            grey(168),
            Color32::from_rgb(34, 72, 116),
            Color32::from_rgb(228, 240, 255),
            Color32::from_rgb(140, 190, 250),
            Color32::from_rgb(240, 186, 96),
            Color32::from_rgb(255, 142, 128),
        ),
    };
    v.panel_fill = panel;
    v.window_fill = panel;
    // every second row of a table
    v.faint_bg_color = match theme {
        Theme::Light => grey(233),
        Theme::Dark => grey(40),
    };
    v.extreme_bg_color = field;
    v.text_edit_bg_color = Some(field);
    v.weak_text_color = Some(weak);
    v.hyperlink_color = link;
    v.warn_fg_color = warn;
    v.error_fg_color = error;
    v.selection.bg_fill = chosen;
    v.selection.stroke = Stroke::new(1.5, on_chosen);
    let widgets = &mut v.widgets;
    // what has the keyboard is told by its outline; its ground stays light, or dark, enough for weak text too
    let ground = grey(match theme {
        Theme::Light => 214,
        Theme::Dark => 56,
    });
    (widgets.active.bg_fill, widgets.active.weak_bg_fill) = (ground, ground);
    widgets.active.bg_stroke = Stroke::new(1.5, on_chosen);
    for state in [
        &mut widgets.noninteractive,
        &mut widgets.inactive,
        &mut widgets.hovered,
        &mut widgets.active,
        &mut widgets.open,
    ] {
        state.fg_stroke.color = text;
        state.corner_radius = CornerRadius::same(3);
    }
    v
}

/// Contrast of two opaque colours, 1 to 21 (WCAG 2.2, "contrast ratio"); text wants 4.5.
pub fn contrast(a: Color32, b: Color32) -> f64 {
    // relative luminance (WCAG 2.2, from IEC 61966-2-1)
    let luminance = |c: Color32| {
        let linear = |u: u8| {
            let u = f64::from(u) / 255.0;
            if u <= 0.04045 {
                u / 12.92
            } else {
                ((u + 0.055) / 1.055).powf(2.4)
            }
        };
        0.2126 * linear(c.r()) + 0.7152 * linear(c.g()) + 0.0722 * linear(c.b())
    };
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_has_the_keyboard_is_legible_in_both_themes() {
        for theme in [Theme::Light, Theme::Dark] {
            let v = visuals(theme);
            let active = v.widgets.active;
            let weak = v.weak_text_color.expect("ours");
            for ground in [active.bg_fill, active.weak_bg_fill] {
                for ink in [active.fg_stroke.color, weak, v.hyperlink_color] {
                    let contrast = contrast(ink, ground);
                    assert!(
                        contrast >= 4.5,
                        "{theme:?}: {ink:?} on {ground:?} is {contrast:.1}"
                    );
                }
                // its outline tells it from the panel (WCAG 2.2, 1.4.11: 3 to 1)
                assert!(contrast(active.bg_stroke.color, v.panel_fill) >= 3.0);
            }
        }
    }
}
