//! What stands beside the plan view: the height strip and the colour bar.

use eframe::egui::{Key, Modifiers, Pos2, Ui, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;
use evenfield::gui::widgets::colour_bar::{ColourBar, Quantity};
use evenfield::gui::widgets::strip::{Strip, StripPoint};
use evenfield::sheet::colour::ColourScale;
use evenfield::units::{IrradianceUnit, LengthUnit};

use super::SCALE;

pub fn strip(height: f64) -> (Vec<StripPoint>, f64) {
    let curve = (0..=40)
        .map(f64::from)
        .map(|h| StripPoint {
            at: h,
            irradiance: 60.0 + 0.6 * h,
            band: Some((59.0 + 0.57 * h, 61.0 + 0.63 * h)),
            extrapolated: !(5.0..=30.0).contains(&h),
        })
        .collect();
    (curve, height)
}

pub fn show_strip(ui: &mut Ui, curve: &[StripPoint], height: f64) -> Option<f64> {
    Strip {
        id_salt: "strip",
        title: "Irradiance against height at 92, 60 mm",
        axis: "height",
        stroke: "height of the map",
        curve,
        measured: &[5.0, 15.0, 25.0],
        readings: &[(5.0, 63.2), (15.0, 68.8), (25.0, 75.1)],
        chosen: height,
        ends: (0.0, 40.0),
        length: LengthUnit::Mm,
        unit: IrradianceUnit::MilliwattPerCm2,
    }
    .show(ui)
}

#[test]
fn the_height_is_chosen_on_the_strip() {
    let mut window = Harness::builder()
        .with_size(vec2(700.0, 220.0))
        .build_ui_state(
            |ui, (curve, height): &mut (Vec<StripPoint>, f64)| {
                if let Some(new) = show_strip(ui, curve, *height) {
                    *height = new;
                }
            },
            strip(12.0),
        );
    window.run();
    let name = "Irradiance against height at 92, 60 mm; height of the map, mm";
    let area = window.get_by_label(name).rect();
    let click = |window: &mut Harness<'_, (Vec<StripPoint>, f64)>, at: Pos2| {
        window.hover_at(at);
        window.run();
        window.drag_at(at);
        window.run();
        window.drop_at(at);
        window.run();
        window.state().1
    };
    // the strip spans the heights that can be chosen with a margin of a twentieth on each side
    let middle = click(&mut window, area.center());
    assert!((middle - 20.0).abs() < 0.1, "{middle}");
    let quarter = area.left_center() + vec2(0.25 * area.width(), 0.0);
    let lower = click(&mut window, quarter);
    assert!((8.0..=10.0).contains(&lower), "{lower}");
    assert_eq!(
        click(&mut window, area.right_center() - vec2(2.0, 0.0)),
        40.0
    );

    window.drag_at(area.center());
    window.run();
    window.hover_at(quarter);
    window.run();
    assert!((window.state().1 - lower).abs() < 0.1);
    window.drop_at(quarter);
    window.run();

    window.state_mut().1 = 20.0;
    window.get_by_label(name).focus();
    window.run();
    window.key_press(Key::ArrowLeft);
    window.run();
    assert_eq!(window.state().1, 19.0);
    window.key_press_modifiers(Modifiers::SHIFT, Key::ArrowRight);
    window.run();
    assert_eq!(window.state().1, 29.0);
}

#[test]
fn a_strip_with_nothing_to_show_is_no_trouble() {
    let mut window = Harness::new_ui(|ui| {
        show_strip(ui, &[], f64::NAN);
    });
    window.run();
}

pub fn show_bar(ui: &mut Ui, scale: ColourScale) {
    ColourBar {
        scale,
        ticks: &[60.0, 70.0, 80.0, 90.0, 100.0],
        quantity: Quantity::Irradiance(IrradianceUnit::WattPerM2),
        left_out: scale.left_out((60.0, 100.0)),
        coldest: Some(61.0),
        hottest: Some(94.0),
    }
    .show(ui);
}

#[test]
fn the_colour_bar_says_its_range() {
    let mut window = Harness::new_ui(|ui| show_bar(ui, SCALE));
    window.run();
    window.get_by_label(
        "Colours of irradiance from 600.0 to 1000 W/m², coldest spot 610.0, hottest spot 940.0",
    );
    let narrow = ColourScale {
        low: 70.0,
        high: 90.0,
        ..SCALE
    };
    let mut window = Harness::new_ui(move |ui| show_bar(ui, narrow));
    window.run();
    window.get_by_label_contains(
        "Parts of the map are below and above that and have the darkest and the lightest colour",
    );
    for end in [60.0, f64::NAN] {
        let scale = ColourScale { high: end, ..SCALE };
        Harness::new_ui(move |ui| show_bar(ui, scale)).run();
    }
}
