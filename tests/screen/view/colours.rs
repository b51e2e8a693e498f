//! Colours: enough contrast everywhere, and on the screen those of the scale.

use std::sync::Arc;

use eframe::egui::{self, Color32, Pos2, Theme, Ui, vec2};
use egui_kittest::Harness;
use evenfield::field::Raster;
use evenfield::gui::theme::{BACKING, contrast, install, look, plate, surroundings, visuals};
use evenfield::sheet::drawing::{Item, Role};

use super::beside::{show_bar, show_strip, strip};
use super::{SCALE, Seen, busy, drawing, outline, raster, rectangle};

/// Every role once: the compiler keeps `after` complete.
fn roles() -> impl Iterator<Item = Role> {
    let after = |role: &Role| {
        Some(match role {
            Role::Fixture => Role::Face,
            Role::Face => Role::Plate,
            Role::Plate => Role::Site,
            Role::Site => Role::KeepOut,
            Role::KeepOut => Role::Position,
            Role::Position => Role::Stop,
            Role::Stop => Role::Way,
            Role::Way => Role::Beneath,
            Role::Beneath => Role::Cut,
            Role::Cut => Role::Engraved,
            Role::Engraved => Role::Body,
            Role::Body => Role::Preview,
            Role::Preview => Role::Gap,
            Role::Gap => Role::Reading,
            Role::Reading => Role::ReadingLeftOut,
            Role::ReadingLeftOut => Role::Contour,
            Role::Contour => Role::Extrapolated,
            Role::Extrapolated => Role::Below,
            Role::Below => Role::NotProven,
            Role::NotProven => Role::Inside,
            Role::Inside => Role::Above,
            Role::Above => Role::Border,
            Role::Border => Role::Coldest,
            Role::Coldest => Role::Hottest,
            Role::Hottest => Role::Datum,
            Role::Datum => Role::Selected,
            Role::Selected => return None,
        })
    };
    std::iter::successors(Some(Role::Fixture), after)
}

#[test]
fn every_role_reads_in_both_themes_whatever_lies_below() {
    assert_eq!(roles().count(), 27);
    for theme in [Theme::Light, Theme::Dark] {
        for role in roles() {
            let look = look(role, theme);
            assert!(contrast(look.ink, look.halo) >= 7.0, "{role:?} {theme:?}");
            // a text's backing lets something through: the worst is the ink's own lightness
            let hidden = |below: Color32| {
                let mix = |a: u8, b: u8| {
                    (BACKING * f32::from(a) + (1.0 - BACKING) * f32::from(b)).round() as u8
                };
                Color32::from_gray(mix(look.halo.r(), below.r()))
            };
            for below in [Color32::BLACK, Color32::WHITE] {
                let ratio = contrast(look.ink, hidden(below));
                assert!(ratio >= 4.5, "{role:?} {theme:?} on {below:?}: {ratio}");
            }
            assert!(look.text_size >= 11.0 && look.width >= 1.0);
        }
        for grey in [surroundings(theme), plate(theme)] {
            assert!(
                grey.r() == grey.g() && grey.g() == grey.b(),
                "{grey:?} has a hue"
            );
        }
    }
}

#[test]
fn the_windows_own_text_reads_in_both_themes() {
    for theme in [Theme::Light, Theme::Dark] {
        let v = visuals(theme);
        assert_eq!(v.dark_mode, theme == Theme::Dark);
        for text in [
            v.text_color(),
            v.strong_text_color(),
            v.weak_text_color(),
            v.hyperlink_color,
            v.warn_fg_color,
            v.error_fg_color,
        ] {
            for ground in [
                v.panel_fill,
                v.window_fill,
                v.extreme_bg_color,
                v.faint_bg_color,
            ] {
                let ratio = contrast(text, ground);
                assert!(ratio >= 4.5, "{theme:?}: {text:?} on {ground:?} is {ratio}");
            }
        }
        for state in [&v.widgets.inactive, &v.widgets.hovered, &v.widgets.active] {
            assert!(contrast(state.fg_stroke.color, state.weak_bg_fill) >= 4.5);
        }
        assert!(contrast(v.selection.stroke.color, v.selection.bg_fill) >= 4.5);
    }
}

/// Everything beside each other, as in the program.
fn show_all(ui: &mut Ui, seen: &mut Seen) {
    egui::Panel::bottom("strip")
        .exact_size(180.0)
        .show(ui, |ui| {
            show_strip(ui, &strip(0.0).0, 12.0);
        });
    egui::Panel::right("bar")
        .exact_size(108.0)
        .show(ui, |ui| show_bar(ui, SCALE));
    egui::CentralPanel::default().show(ui, |ui| Seen::ui(ui, seen));
}

/// Needs graphics, software ones will do.
#[test]
#[ignore = "needs a graphics driver"]
fn what_is_seen_at_a_node_is_the_scales_colour() {
    for theme in [Theme::Light, Theme::Dark] {
        let map = raster(19, 13);
        let plain = drawing(vec![
            outline(rectangle(90.0, 60.0, 180.0, 120.0), Role::Fixture),
            Item::Field {
                raster: Arc::new(Raster {
                    extrapolated: vec![false; 19 * 13],
                    ..map.clone()
                }),
                scale: SCALE,
            },
        ]);
        let mut window = Harness::builder()
            .with_size(vec2(900.0, 640.0))
            .with_theme(theme)
            .build_ui_state(Seen::ui, Seen::of(plain));
        window.run();
        let image = window.render().expect("graphics");
        let seen = |at: Pos2| image.get_pixel(at.x as u32, at.y as u32).0;
        for (c, r) in [(2, 2), (9, 6), (16, 3), (5, 10)] {
            let node = map.node(c, r);
            let [red, green, blue] = SCALE.colour(map.irradiance[r * 19 + c]).expect("finite");
            assert_eq!(
                seen(window.state().place(node.x, node.y)),
                [red, green, blue, 255],
                "{node:?}"
            );
        }
        // just beyond the fixture nothing is tinted
        let grey = surroundings(theme).r();
        assert_eq!(
            seen(window.state().place(90.0, 123.0)),
            [grey, grey, grey, 255]
        );
        // the map is lighter to the back, which is up
        let x = window.state().place(90.0, 0.0).x;
        let green = |y: f64| seen(Pos2::new(x, window.state().place(0.0, y).y))[1];
        assert!(green(110.0) > green(60.0) && green(60.0) > green(10.0));

        let mut all = Harness::builder()
            .with_size(vec2(1180.0, 820.0))
            .with_theme(theme)
            .build_ui_state(show_all, Seen::of(busy()));
        install(&all.ctx);
        all.state_mut().chosen = Some(2);
        all.run();
        let image = all.render().expect("graphics");
        image
            .save(format!(
                "{}/view-{theme:?}.png",
                env!("CARGO_TARGET_TMPDIR")
            ))
            .expect("the folder for test output can be written");
    }
}
