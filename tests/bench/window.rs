//! How long the window takes for a frame: laying out and painting into triangles, on the processor, without the
//! renderer that puts them on the screen.
//!
//! `cargo bench --bench window` prints a table; a further argument keeps the cases whose name contains it. Each frame
//! the pointer stands a little further, as somebody's hand moves it; `slides` also moves the map's height each frame and
//! says how old the map is that is shown; `verdict` says how long it is from a change to the verdict that follows, and what
//! processor time the questions take that it is made of.

use std::sync::Arc;
use std::time::{Duration, Instant};

use eframe::egui::{Event, pos2, vec2};
use egui_kittest::Harness;
use evenfield::assess::{Assessment, Request};
use evenfield::files::Preferences;
use evenfield::geometry::{Place, Point, Shape};
use evenfield::gui::App;
use evenfield::progress::Progress;
use evenfield::session::{Command, Keep, Session, Step, sample};
use evenfield::station::{Edit, LogEntry, Plan, PlanLayout, Position, Reading, Station, Survey};

type Window = Harness<'static, App>;

const FRAMES: usize = 60;

/// 200 x 150 mm under a face 100 mm up.
fn bare() -> Station {
    let shape = Shape::Rectangle {
        width: 200.0,
        depth: 150.0,
    };
    Station::new("Bench", shape, 100.0)
}

/// So many places spread evenly (the golden ratio's sequence).
fn places(n: usize) -> impl Iterator<Item = Point> {
    (0..n).map(|i| {
        let t = i as f64;
        Point::new(
            200.0 * (t * 0.618_033_988_749_895).fract(),
            150.0 * (t * 0.754_877_666_246_693).fract(),
        )
    })
}

fn planned(n: usize) -> Station {
    let mut station = bare();
    station.plan = Plan {
        heights: vec![20.0],
        layout: PlanLayout::ByHand(
            places(n)
                .enumerate()
                .map(|(i, at)| Position {
                    name: format!("P{}", i + 1),
                    at,
                })
                .collect(),
        ),
        ..Plan::begin()
    };
    station
}

/// A scan of so many readings at two heights.
fn scanned(n: usize) -> Station {
    let mut station = bare();
    let date = jiff::civil::date(2026, 3, 9);
    let readings = places(n)
        .enumerate()
        .map(|(i, p)| {
            let height = [10.0, 30.0][i % 2];
            let fall = ((p.x - 100.0).powi(2) + 1.5 * (p.y - 75.0).powi(2)) / 20_000.0;
            let ripple = 1.0 + 0.014 * (i as f64 * 2.399).sin();
            let irradiance = 90.0 * (0.01 * height - fall).exp() * ripple;
            Reading::new(Place::new(p.x, p.y, height), Some(irradiance))
        })
        .collect();
    station.surveys.push(
        Survey {
            name: "Scan".into(),
            date,
            operator: String::new(),
            radiometer: None,
            state: Default::default(),
            notes: String::new(),
            began: None,
            reference: None,
            readings,
        }
        .into(),
    );
    station
}

fn window(station: Station, step: Step) -> Window {
    let today = jiff::civil::date(2026, 3, 9);
    let mut session = Session::new(station, Preferences::default(), today, Arc::new(|| {}));
    session.handle(Command::Go(step));
    let mut window = Harness::builder()
        .with_size(vec2(1280.0, 800.0))
        .with_step_dt(1.0 / 60.0)
        .build_eframe(move |cc| App::of(&cc.egui_ctx, session));
    window.run_steps(5);
    let begun = Instant::now();
    while window.state().session().is_working() {
        std::thread::sleep(Duration::from_millis(10));
        window.step();
    }
    let waited = begun.elapsed().as_secs_f64();
    if waited > 0.5 {
        println!("  (fitted and answered in {waited:.1} s)");
    }
    window.run_steps(5);
    window
}

/// Median and longest of some frames, ms: laid out, made into triangles.
fn frames(window: &mut Window, mut before: impl FnMut(&mut Window, usize)) -> [(f64, f64); 2] {
    let (mut laid, mut made) = (Vec::new(), Vec::new());
    for frame in 0..FRAMES {
        before(window, frame);
        let at = pos2(200.0 + 3.0 * frame as f32, 300.0 + frame as f32);
        window.event(Event::PointerMoved(at));
        let start = Instant::now();
        window.step();
        laid.push(start.elapsed().as_secs_f64() * 1e3);
        let shapes = window.output().shapes.clone();
        let start = Instant::now();
        let triangles = window.ctx.tessellate(shapes, 1.0);
        made.push(start.elapsed().as_secs_f64() * 1e3);
        std::hint::black_box(triangles);
    }
    [laid, made].map(|mut ms| {
        ms.sort_by(f64::total_cmp);
        (ms[ms.len() / 2], ms[ms.len() - 1])
    })
}

fn report(case: &str, window: &mut Window, before: impl FnMut(&mut Window, usize)) {
    let [laid, made] = frames(window, before);
    println!(
        "{case:<44} laid out {:>6.2} ms (at most {:>6.2}), triangles {:>6.2} ms (at most {:>6.2})",
        laid.0, laid.1, made.0, made.1
    );
}

fn main() {
    let kept = std::env::args().skip(1).find(|a| !a.starts_with("--"));
    let wanted = |case: &str| {
        kept.as_ref()
            .is_none_or(|kept| case.contains(kept.as_str()))
    };
    if wanted("first sample, verdict") {
        verdicts("first sample, verdict");
        questions("first sample, verdict");
    }
    for n in [100, 10_000] {
        let case = format!("{n} positions, plan view");
        if wanted(&case) {
            report(&case, &mut window(planned(n), Step::Plan), |_, _| {});
        }
    }
    for n in [365, 10_000] {
        let case = format!("{n} log entries, step Upkeep");
        if wanted(&case) {
            report(&case, &mut window(logged(n), Step::Upkeep), |_, _| {});
        }
        let case = format!("{n} log entries, one more");
        if wanted(&case) {
            log_one_more(&case, &mut window(logged(n), Step::Upkeep));
        }
    }
    for n in [147, 20_000, 100_000] {
        for step in [Step::Readings, Step::Field] {
            let case = format!("{n} readings, step {}", step.name());
            if wanted(&case) {
                report(&case, &mut window(scanned(n), step), |_, _| {});
            }
        }
        let case = format!("{n} readings, the height slides");
        if wanted(&case) {
            let mut shown = window(scanned(n), Step::Field);
            slide(&case, &mut shown);
        }
        let case = format!("{n} readings, one is changed");
        if wanted(&case) {
            change(&case, &mut window(scanned(n), Step::Readings));
        }
    }
}

/// A log of so many entries, one every thirteen hours.
fn logged(n: usize) -> Station {
    let mut station = bare();
    let entries = (0..n).map(|i| {
        let at = jiff::civil::date(2010, 1, 1).at(8, 0, 0, 0);
        let span = jiff::Span::new().hours(13 * i as i64);
        let at = at.checked_add(span).expect("a day");
        let value = 100.0 * (-1e-5 * i as f64).exp() * (1.0 + 0.005 * (2.4 * i as f64).sin());
        LogEntry::new(at, value)
    });
    let entries = entries.collect();
    let name = String::new();
    let edit = Edit::AddToLog { entries, name };
    station.apply(edit).expect("sound");
    station
}

/// How long a further entry takes until the window can go on, and until it is undone.
fn log_one_more(case: &str, window: &mut Window) {
    let (mut made, mut undone) = (Vec::new(), Vec::new());
    for day in 1..=12 {
        let at = jiff::civil::date(2026, 2, day).at(8, 0, 0, 0);
        let entries = vec![LogEntry::new(at, 90.0)];
        let name = String::new();
        let edit = Command::Edit(Edit::AddToLog { entries, name });
        for (command, times) in [(edit, &mut made), (Command::Undo, &mut undone)] {
            let begun = Instant::now();
            window.state_mut().handle(command);
            times.push(begun.elapsed().as_secs_f64() * 1e3);
            window.step();
        }
    }
    for times in [&mut made, &mut undone] {
        times.sort_by(f64::total_cmp);
    }
    println!(
        "{case:<44} logged in {:>6.2} ms, undone in {:>6.2} ms",
        made[made.len() / 2],
        undone[undone.len() / 2]
    );
}

/// A frame of the screen.
const FRAME: Duration = Duration::from_micros(16_667);

/// From a changed safety factor, and a changed reading, to the verdict that follows.
fn verdicts(case: &str) {
    let mut window = window(sample(), Step::Limits);
    let mut say = |what: &str, edit: &dyn Fn(&Station, usize) -> Edit| {
        let (mut frames, mut taken) = (Vec::new(), Vec::new());
        for round in 0..12 {
            let edit = edit(window.state().session().station(), round);
            let begun = Instant::now();
            window.state_mut().handle(Command::Edit(edit));
            let mut count = 0;
            while window.state().session().judged().is_none() {
                let frame = Instant::now();
                window.step();
                count += 1;
                if window.state().session().judged().is_none() {
                    std::thread::sleep(FRAME.saturating_sub(frame.elapsed()));
                }
            }
            taken.push(begun.elapsed().as_secs_f64() * 1e3);
            frames.push(count);
            while window.state().session().is_working() {
                window.step();
                std::thread::sleep(FRAME);
            }
        }
        frames.sort_unstable();
        taken.sort_by(f64::total_cmp);
        println!(
            "{case:<44} {what}: judged after {} frames (at most {}), {:.0} ms (at most {:.0})",
            frames[frames.len() / 2],
            frames[frames.len() - 1],
            taken[taken.len() / 2],
            taken[taken.len() - 1]
        );
    };
    say("safety factor", &|station, round| {
        let mut limits = station.limits.clone().expect("the sample has limits");
        limits.safety_factor_percent = 40.0 + round as f64;
        Edit::SetLimits(limits)
    });
    say("reading", &|station, round| {
        let mut reading = station.surveys[0].readings[7].clone();
        let change = 1.0 + 1e-3 * (1.0 + round as f64);
        reading.irradiance = reading.irradiance.map(|e| e * change);
        Edit::SetReadings {
            survey: 0,
            row: 7,
            readings: vec![reading],
            name: "type irradiance".into(),
        }
    });
}

/// Processor time of this program so far, ms, where the system says it in hundredths of a second.
fn processor_ms() -> Option<f64> {
    let stat = std::fs::read_to_string("/proc/self/stat").ok()?;
    let fields: Vec<&str> = stat.rsplit_once(')')?.1.split_whitespace().collect();
    let ticks = |i: usize| fields.get(i)?.parse::<f64>().ok();
    Some(10.0 * (ticks(11)? + ticks(12)?))
}

/// Processor time of field, answer, and what hangs on its verdict, of the first sample, a mean over some rounds.
fn questions(case: &str) {
    const ROUNDS: usize = 10;
    let (station, request, progress) = (sample(), Request::default(), Progress::new());
    let show = |e: f64| format!("{e:.1}");
    let mut sums = [0.0; 3];
    for _ in 0..ROUNDS {
        let mut last = processor_ms().unwrap_or(f64::NAN);
        let mut took = |i: usize| {
            let now = processor_ms().unwrap_or(f64::NAN);
            sums[i] += now - last;
            last = now;
        };
        let fit = evenfield::assess::fit_survey(&station, &request, &progress).expect("a field");
        took(0);
        let assessed = Assessment::of_fit(fit, &station, &request, &progress).expect("an answer");
        took(1);
        let outlook = assessed.outlook(&station, &show, &progress);
        took(2);
        std::hint::black_box(outlook.expect("an outlook"));
    }
    let [fit, answer, outlook] = sums.map(|sum| sum / ROUNDS as f64);
    println!(
        "{case:<44} processor time: field {fit:.0} ms, answer {answer:.0} ms, what hangs on it {outlook:.0} ms"
    );
}

/// What the window waits for when one reading is changed, and when that is undone: made, kept in the journal and laid
/// out again. The field that follows is worked out elsewhere.
fn change(case: &str, window: &mut Window) {
    let folder = std::env::temp_dir().join(format!("evenfield-bench-{}", std::process::id()));
    window.state_mut().keep_in(Keep {
        folder: folder.clone(),
        run: "bench".into(),
        who: String::new(),
    });
    window.run_steps(5);
    let (mut changed, mut undone) = (Vec::new(), Vec::new());
    for round in 0..12 {
        let station = window.state().session().station();
        let row = station.surveys[0].readings.len() / 2 + round;
        let mut reading = station.surveys[0].readings[row].clone();
        reading.irradiance = Some(50.0 + round as f64);
        let edit = Edit::SetReadings {
            survey: 0,
            row,
            readings: vec![reading],
            name: "type irradiance".into(),
        };
        for (command, taken) in [
            (Command::Edit(edit), &mut changed),
            (Command::Undo, &mut undone),
        ] {
            let begun = Instant::now();
            window.state_mut().handle(command);
            window.step();
            taken.push(begun.elapsed().as_secs_f64() * 1e3);
            window.run_steps(2);
        }
    }
    // a journal that can't be taken away is in the folder of temporary files, and does no harm there
    std::fs::remove_dir_all(folder).ok();
    let said = [changed, undone].map(|mut ms| {
        ms.sort_by(f64::total_cmp);
        (ms[ms.len() / 2], ms[ms.len() - 1])
    });
    println!(
        "{case:<44} made in {:>6.1} ms (at most {:>6.1}), undone in {:>6.1} ms (at most {:>6.1})",
        said[0].0, said[0].1, said[1].0, said[1].1
    );
}

/// The height moves by half a millimetre a frame of a sixtieth of a second: how old is the map that is shown?
fn slide(case: &str, window: &mut Window) {
    let mut last = Instant::now();
    let mut fresh = Vec::new();
    let mut raster = None;
    for frame in 0..120 {
        let height = 10.0 + 0.15 * frame as f64;
        let command = Command::SetHeight {
            height,
            sliding: true,
        };
        window.state_mut().handle(command);
        let begun = Instant::now();
        window.step();
        let map = window.state().session().answers().map().any();
        let now = map.map(|map| Arc::as_ptr(&map.raster));
        if now != raster {
            raster = now;
            fresh.push(last.elapsed().as_secs_f64() * 1e3);
            last = Instant::now();
        }
        std::thread::sleep(FRAME.saturating_sub(begun.elapsed()));
    }
    fresh.push(last.elapsed().as_secs_f64() * 1e3);
    fresh.sort_by(f64::total_cmp);
    println!(
        "{case:<44} {} maps in 120 frames, a new one after {:.0} ms in the median, at most {:.0}",
        fresh.len() - 1,
        fresh[fresh.len() / 2],
        fresh[fresh.len() - 1]
    );
}
