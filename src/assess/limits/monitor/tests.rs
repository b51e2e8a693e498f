use super::super::terms::Line;
use super::*;

fn terms(lower: f64, upper: Option<f64>, scale: Scale) -> Terms {
    let line = |value| Line {
        value,
        written: value,
        scale,
    };
    Terms {
        least: lower,
        least_from: String::new(),
        exposure_s: None,
        effective_s: None,
        safety_factor_percent: 0.0,
        lower: line(lower),
        upper: upper.map(line),
        warnings: Vec::new(),
    }
}

const NONE: Allowances = Allowances {
    until_check_percent: 0.0,
    reload_percent: 0.0,
};

/// Draws in which monitor, coldest and hottest go up and down together, as the lamp's level does.
fn together() -> (Vec<f64>, Vec<f64>, Vec<f64>) {
    let mut level = Normals::new(5, 0);
    let levels: Vec<f64> = (0..4000).map(|_| (0.05 * level.draw()).exp()).collect();
    let times = |e: f64| levels.iter().map(|l| e * l).collect();
    (times(100.0), times(80.0), times(120.0))
}

#[test]
fn what_monitor_and_extremes_have_in_common_cancels() {
    let (monitor, coldest, hottest) = together();
    let drawn = Drawn {
        monitor: &monitor,
        coldest: &coldest,
        hottest: &hottest,
        noise: 0.0,
        scale: None,
    };
    let terms = terms(80.0, Some(144.0), Scale::Relative);
    let w = window(&drawn, &terms, NONE, Kept::Adjusted).expect("a window");
    // ratios are 1.25 and 5/6 in every draw, whatever the level
    assert!((w.least - 100.0).abs() < 1e-9 && (w.most.expect("a most") - 120.0).abs() < 1e-9);
    assert!((w.set.expect("a setting") - 110.0).abs() < 1e-9);
    let fading = window(&drawn, &terms, NONE, Kept::OnlyFades).expect("a window");
    assert!((fading.set.expect("a setting") - 118.0).abs() < 1e-9);
    // bounds that were found apart would be 5 % x 1.645 x sqrt 2 wider
    let apart = quantile(&monitor, 0.95).expect("draws") / quantile(&coldest, 0.05).expect("draws");
    assert!(80.0 * apart > 115.0, "{apart}");
}

#[test]
fn a_reading_in_the_window_keeps_the_coldest_part_above_in_95_of_100() {
    let mut z = Normals::new(9, 0);
    let n = 20_000;
    let mut draw = |mean: f64, spread: f64, common: &[f64]| -> Vec<f64> {
        common
            .iter()
            .map(|c| mean * (c + spread * z.draw()).exp())
            .collect()
    };
    let mut level = Normals::new(9, 1);
    let common: Vec<f64> = (0..n).map(|_| 0.03 * level.draw()).collect();
    let (monitor, coldest, hottest) = (
        draw(100.0, 0.005, &common),
        draw(80.0, 0.02, &common),
        draw(120.0, 0.01, &common),
    );
    let noise = 0.012;
    let drawn = Drawn {
        monitor: &monitor,
        coldest: &coldest,
        hottest: &hottest,
        noise,
        scale: None,
    };
    let w = window(
        &drawn,
        &terms(80.0, Some(200.0), Scale::Relative),
        NONE,
        Kept::Adjusted,
    )
    .expect("a window");
    // ratio of daily reading to coldest: 1.25 exp(N(0, 0.005² + 0.02² + 0.012²))
    let u = (0.005f64.powi(2) + 0.02f64.powi(2) + noise * noise).sqrt();
    let wanted = 80.0 * 1.25 * (1.6449 * u).exp();
    assert!(
        (w.least / wanted - 1.0).abs() < 0.002,
        "{} {wanted}",
        w.least
    );
    let u = (0.005f64.powi(2) + 0.01f64.powi(2) + noise * noise).sqrt();
    let wanted = 200.0 / 1.2 * (-1.6449 * u).exp();
    assert!((w.most.expect("a most") / wanted - 1.0).abs() < 0.002);
}

#[test]
fn allowances_and_the_scale_error_make_the_window_smaller() {
    let (monitor, coldest, hottest) = together();
    let scale = scale_draws(0.025, monitor.len());
    let drawn = Drawn {
        monitor: &monitor,
        coldest: &coldest,
        hottest: &hottest,
        noise: 0.0,
        scale: Some(&scale),
    };
    let plain = window(
        &drawn,
        &terms(80.0, Some(144.0), Scale::Relative),
        NONE,
        Kept::Adjusted,
    )
    .expect("a window");
    let allowances = Allowances {
        until_check_percent: 5.0,
        reload_percent: 2.0,
    };
    let allowed = window(
        &drawn,
        &terms(80.0, Some(144.0), Scale::Relative),
        allowances,
        Kept::Adjusted,
    )
    .expect("a window");
    assert!((allowed.least - plain.least / (0.95 * 0.98)).abs() < 1e-9);
    assert!((allowed.most.expect("most") - plain.most.expect("most") / 1.02).abs() < 1e-9);
    let absolute = window(
        &drawn,
        &terms(80.0, Some(144.0), Scale::Absolute),
        NONE,
        Kept::Adjusted,
    )
    .expect("a window");
    // 1 / (1 - 1.645 x 0.025) = 1.043
    assert!(
        (absolute.least / plain.least - 1.043).abs() < 0.003,
        "{absolute:?}"
    );
    let unknown = Drawn {
        scale: None,
        ..drawn
    };
    assert!(
        window(
            &unknown,
            &terms(80.0, None, Scale::Absolute),
            NONE,
            Kept::Adjusted
        )
        .is_err_and(|why| why.contains("certificate"))
    );
}

#[test]
fn an_empty_window_has_no_setting_and_one_without_an_upper_limit_no_end() {
    let (monitor, coldest, hottest) = together();
    let drawn = Drawn {
        monitor: &monitor,
        coldest: &coldest,
        hottest: &hottest,
        noise: 0.0,
        scale: None,
    };
    let empty = window(
        &drawn,
        &terms(80.0, Some(110.0), Scale::Relative),
        NONE,
        Kept::Adjusted,
    )
    .expect("a window");
    assert!(!empty.is_open() && empty.set.is_none());
    let open = window(
        &drawn,
        &terms(80.0, None, Scale::Relative),
        NONE,
        Kept::Adjusted,
    )
    .expect("a window");
    assert!(open.is_open() && open.most.is_none() && open.set.is_none());
}

#[test]
fn a_window_is_written_inside_itself() {
    let w = Window {
        least: 100.2,
        most: Some(120.7),
        set: Some(118.65),
    };
    let written = w.written();
    assert_eq!((written.least, written.most), (101.0, Some(120.0)));
    assert_eq!(written.set, Some(119.0));
}
