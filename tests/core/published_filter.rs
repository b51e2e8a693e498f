//! The filter of the trend against state-space models of statsmodels and against least squares written out
//! (`tests/reference/upkeep.py`).

use evenfield::numeric::cholesky::Factor;
use evenfield::upkeep::trend::filter::{Kept, Process, Time, run, smooth};

use crate::published_upkeep::{AGEING, near, numbers, reference};

/// The log-likelihood without what a diffuse beginning leaves out, and the factors of the beginning and the slope.
fn likelihood(
    times: &[Time],
    columns: &[Vec<f64>],
    process: &Process,
) -> (f64, [f64; 2], [[f64; 2]; 2]) {
    let sums = run(times, columns, process, None);
    let cross = |i: usize, j: usize| sums.cross[3 * i + j];
    let determinant = cross(0, 0) * cross(1, 1) - cross(0, 1) * cross(0, 1);
    let inverse = [
        [cross(1, 1) / determinant, -cross(0, 1) / determinant],
        [-cross(0, 1) / determinant, cross(0, 0) / determinant],
    ];
    let factors = [0, 1].map(|i| inverse[i][0] * cross(0, 2) + inverse[i][1] * cross(1, 2));
    let squares = cross(2, 2) - factors[0] * cross(0, 2) - factors[1] * cross(1, 2);
    let n = sums.counted as f64;
    let log =
        -0.5 * (n * std::f64::consts::TAU.ln() + sums.log_determinant + determinant.ln() + squares);
    (log, factors, inverse)
}

/// Smoothed levels and their variances, all columns put together.
fn levels(times: &[Time], columns: &[Vec<f64>], process: &Process) -> Vec<(f64, f64)> {
    let (_, factors, inverse) = likelihood(times, columns, process);
    let mut kept = Kept::default();
    run(times, columns, process, Some(&mut kept));
    let smoothed = smooth(times, &kept);
    (smoothed.iter().enumerate())
        .map(|(t, at)| {
            let share = [0, 1].map(|j| columns[j][t] - at.levels[j]);
            let level = at.levels[2] + share[0] * factors[0] + share[1] * factors[1];
            let both: f64 = (0..2)
                .map(|i| {
                    (0..2)
                        .map(|j| share[i] * inverse[i][j] * share[j])
                        .sum::<f64>()
                })
                .sum();
            (level, at.variance + both)
        })
        .collect()
}

/// statsmodels 0.15.0, `UnobservedComponents` with a local level and a straight trend, exactly diffuse, fixed variances.
#[test]
fn a_structural_model_of_another_library() {
    let expected = &reference()["structural"];
    let process = Process {
        level: expected["level"].as_f64().expect("a number"),
        slope: 0.0,
        lasting: 0.0,
        days: 1.0,
        white: expected["white"].as_f64().expect("a number"),
    };
    // two times beyond the readings are forecasts
    let time = |t: usize| Time {
        clock: f64::from(u8::from(t > 0)),
        days: 1.0,
        together: 1.0,
        extra: 0.0,
        counts: t < AGEING.len(),
    };
    let times: Vec<Time> = (0..13).map(time).collect();
    let read = |t: usize| AGEING.get(t).map_or(0.0, |e| e.ln());
    let columns = [
        vec![1.0; 13],
        (0..13).map(|t| t as f64).collect(),
        (0..13).map(read).collect(),
    ];
    let (log, ..) = likelihood(&times, &columns, &process);
    near(
        "log-likelihood",
        log,
        expected["log_likelihood"].as_f64().expect("a number"),
        1e-9,
    );
    let found = levels(&times, &columns, &process);
    for (t, level) in numbers(&expected["levels"]).into_iter().enumerate() {
        near("level", found[t].0, level, 1e-9);
        near(
            "variance",
            found[t].1,
            numbers(&expected["variances"])[t],
            1e-7,
        );
    }
    for (t, forecast) in numbers(&expected["forecasts"]).into_iter().enumerate() {
        near("forecast", found[11 + t].0, forecast, 1e-9);
        let variance = numbers(&expected["forecast_variances"])[t];
        near(
            "its variance",
            found[11 + t].1 + process.white,
            variance,
            1e-7,
        );
    }
}

/// statsmodels' state-space smoother with the transitions of the continuous model at uneven times, and numpy with the covariance
/// written out: two readings at one time, a gap of a month, some not read, the last two as forecasts.
#[test]
fn a_continuous_model_in_another_library() {
    let expected = &reference()["continuous"];
    let list = |name: &str| numbers(&expected[name]);
    let (days, clock, read, missing) = (list("days"), list("clock"), list("read"), list("missing"));
    let [level, slope, lasting, lasts, white] = list("process")[..] else {
        panic!("five numbers");
    };
    let process = Process {
        level,
        slope,
        lasting,
        days: lasts,
        white,
    };
    let times: Vec<Time> = (0..days.len())
        .map(|t| Time {
            clock: clock[t],
            days: days[t],
            together: 1.0,
            extra: 0.0,
            counts: !missing.contains(&(t as f64)),
        })
        .collect();
    let mut along = 0.0;
    let clocks: Vec<f64> = (0..days.len())
        .map(|t| {
            along += if t > 0 { clock[t] } else { 0.0 };
            along
        })
        .collect();
    let columns = [vec![1.0; days.len()], clocks, read];
    let (log, factors, inverse) = likelihood(&times, &columns, &process);
    near(
        "log-likelihood",
        log,
        expected["log_likelihood"].as_f64().expect("a number"),
        1e-9,
    );
    let found = levels(&times, &columns, &process);
    for (t, (level, variance)) in list("levels")
        .into_iter()
        .zip(list("variances"))
        .enumerate()
    {
        near("level", found[t].0, level, 1e-8);
        near("variance", found[t].1, variance, 1e-6);
    }
    // where it stands at the end: level and slope, with their covariance
    let sums = run(&times, &columns, &process, None);
    let row = |i: usize| -> [f64; 2] {
        let own = [
            f64::from(u8::from(i == 0)),
            if i == 0 { along } else { 1.0 },
        ];
        [0, 1].map(|j| own[j] - sums.states[j][i])
    };
    let end = list("end");
    for i in 0..2 {
        let mean = sums.states[2][i] + row(i)[0] * factors[0] + row(i)[1] * factors[1];
        near("end", mean, end[i], 1e-7);
        for j in 0..2 {
            let mut covariance = sums.covariance[i][j];
            for (a, x) in row(i).iter().enumerate() {
                for (b, y) in row(j).iter().enumerate() {
                    covariance += x * inverse[a][b] * y;
                }
            }
            let known = numbers(&expected["end_covariance"][i])[j];
            near("covariance", covariance, known, 1e-6);
        }
    }
}

/// A step's and a single reading's weights are those of generalised least squares with the covariance written out.
#[test]
fn looking_back_is_least_squares() {
    let process = Process {
        level: 0.1,
        slope: 0.05,
        lasting: 0.7,
        days: 3.0,
        white: 0.4,
    };
    let n = 9;
    let times: Vec<Time> = (0..n)
        .map(|t| Time {
            clock: 0.5 + 0.1 * (t % 3) as f64,
            days: 1.0 + (t % 2) as f64,
            together: 1.0 + (t % 4) as f64,
            extra: 0.02 * t as f64,
            counts: true,
        })
        .collect();
    // V, by what each pair of times has in common
    let mut at = vec![(0.0, 0.0); n];
    for t in 1..n {
        at[t] = (at[t - 1].0 + times[t].clock, at[t - 1].1 + times[t].days);
    }
    let v = |i: usize, j: usize| {
        let (a, b) = (at[i].0.min(at[j].0), at[i].0.max(at[j].0));
        let walk = process.level * a + process.slope * (a * a * b / 2.0 - a * a * a / 6.0);
        let noise = process.lasting * (-(at[i].1 - at[j].1).abs() / process.days).exp();
        let own = if i == j {
            process.white / times[i].together + times[i].extra
        } else {
            0.0
        };
        walk + noise + own
    };
    let matrix = faer::Mat::from_fn(n, n, v);
    let inverse = Factor::of(matrix.as_ref()).expect("positive").inverse();
    let y: Vec<f64> = (0..n).map(|t| ((t * t) % 7) as f64 - 3.0).collect();
    let form = |x: &dyn Fn(usize) -> f64, z: &dyn Fn(usize) -> f64| -> f64 {
        (0..n)
            .map(|i| (0..n).map(|j| x(i) * inverse[(i, j)] * z(j)).sum::<f64>())
            .sum()
    };
    let mut kept = Kept::default();
    let sums = run(&times, std::slice::from_ref(&y), &process, Some(&mut kept));
    near("yᵀ V⁻¹ y", sums.cross[0], form(&|t| y[t], &|t| y[t]), 1e-10);
    for (t, at) in smooth(&times, &kept).iter().enumerate() {
        let step = |i: usize| f64::from(u8::from(i >= t));
        let single = |i: usize| f64::from(u8::from(i == t));
        near("step", at.step[0], form(&step, &|i| y[i]), 1e-9);
        near("its weight", at.step_weight, form(&step, &step), 1e-9);
        near("single", at.single[0], form(&single, &|i| y[i]), 1e-9);
        near("its weight", at.single_weight, form(&single, &single), 1e-9);
    }
}
