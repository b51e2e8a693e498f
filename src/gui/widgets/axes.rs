//! Ticks of an axis that is laid out in one unit and read in another.

use std::ops::RangeInclusive;

use egui_plot::{GridInput, GridMark, Plot};

use crate::units::fixed;

/// A plot that is only looked at: nothing moves it, and it shows no coordinates of its own.
pub fn still(plot: Plot<'_>) -> Plot<'_> {
    plot.show_x(false)
        .show_y(false)
        .allow_drag(false)
        .allow_zoom(false)
        .allow_scroll(false)
        .allow_boxed_zoom(false)
        .allow_axis_zoom_drag(false)
        .allow_double_click_reset(false)
}

/// Ticks at round numbers of a unit (1, 2 or 5 times a power of ten), at least `apart` points of the
/// screen from each other. `size` is how much one of the unit is in the axis' own measure: 25.4 for
/// inches on an axis in millimetres.
pub fn ticks(size: f64, apart: f64) -> impl Fn(GridInput) -> Vec<GridMark> {
    move |input| {
        // egui_plot's least step stands for 8 points, the least spacing of its grid
        let step = round_up(input.base_step_size / 8.0 * apart / size) * size;
        let (first, last) = (
            (input.bounds.0 / step).ceil(),
            (input.bounds.1 / step).floor(),
        );
        if !(step > 0.0 && last - first < 1000.0) {
            return Vec::new();
        }
        (0..=(last - first).max(-1.0) as i64)
            .take_while(|_| last >= first)
            .map(|i| GridMark {
                value: (first + i as f64) * step,
                step_size: step,
            })
            .collect()
    }
}

/// The text of a tick from [`ticks`]: its value in the unit, with the decimals of the step.
pub fn tick_text(size: f64) -> impl Fn(GridMark, &RangeInclusive<f64>) -> String {
    move |mark, _| fixed(mark.value / size, decimals(mark.step_size / size))
}

/// Decimals that tell numbers apart that are `step` from each other.
pub fn decimals(step: f64) -> usize {
    // a step of 2.5 needs one more than its size says
    (0..=6)
        .find(|&d| {
            let scaled = step * 10f64.powi(d);
            (scaled - scaled.round()).abs() < 1e-6 * scaled.abs()
        })
        .unwrap_or(6) as usize
}

/// The least of 1, 2 and 5 times a power of ten that is not below `x`.
fn round_up(x: f64) -> f64 {
    let power = 10f64.powf(x.log10().floor());
    [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|m| m * power)
        .find(|&s| s >= x * (1.0 - 1e-9))
        .unwrap_or(x)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_in_the_unit_that_is_read() {
        // 1 mm a point, so ticks at least 60 mm apart: 2.36 inches or more
        let input = || GridInput {
            bounds: (-10.0, 400.0),
            base_step_size: 8.0,
        };
        let text = |size: f64| -> Vec<String> {
            let text = tick_text(size);
            ticks(size, 60.0)(input())
                .into_iter()
                .map(|m| text(m, &(0.0..=1.0)))
                .collect()
        };
        assert_eq!(text(1.0), ["0", "100", "200", "300", "400"]);
        assert_eq!(text(25.4), ["0", "5", "10", "15"]);
    }

    #[test]
    fn a_range_without_a_tick_and_a_mad_one_have_none() {
        for bounds in [(1.0, 2.0), (f64::NAN, 1.0), (0.0, f64::INFINITY)] {
            let marks = ticks(1.0, 60.0)(GridInput {
                bounds,
                base_step_size: 8.0,
            });
            assert!(marks.is_empty(), "{bounds:?} {marks:?}");
        }
    }

    #[test]
    fn decimals_tell_steps_apart() {
        for (step, wanted) in [
            (20.0, 0),
            (1.0, 0),
            (2.5, 1),
            (0.5, 1),
            (0.25, 2),
            (0.002, 3),
        ] {
            assert_eq!(decimals(step), wanted, "{step}");
        }
    }
}
