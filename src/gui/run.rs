//! Opening the window: on which renderer, and what to say when it can't be opened.

use std::ffi::OsString;
use std::path::PathBuf;
use std::process::ExitCode;

use eframe::{NativeOptions, Renderer, egui};

use super::app::{App, Start};
use crate::files::who;
use crate::session::Keep;

/// The variables that name folders: for settings alone, and for all that is kept of this person.
const CONFIG_VARIABLE: &str = "EVENFIELD_CONFIG";
const STATE_VARIABLE: &str = "EVENFIELD_STATE";

/// OpenGL is on every Linux, in software where there is no GPU; elsewhere the system has one of its own.
#[cfg(target_os = "linux")]
const RENDERER: Renderer = Renderer::Glow;
#[cfg(not(target_os = "linux"))]
const RENDERER: Renderer = Renderer::Wgpu;

/// Opens the window on a station file, or on the sample, and stays until it is closed.
pub fn run(station: Option<PathBuf>) -> ExitCode {
    #[cfg(target_os = "linux")]
    if !display_named() {
        return no_display();
    }
    match open(station) {
        Ok(()) => ExitCode::SUCCESS,
        // The event loop itself failed.
        Err(error @ (eframe::Error::WinitEventLoop(_) | eframe::Error::Winit(_))) => {
            eprintln!(
                "The window could not be opened: {}; mend that, or {WITHOUT}",
                reason(&error.to_string())
            );
            ExitCode::from(2)
        }
        Err(error) => {
            eprintln!(
                "The window can't be drawn on this display ({}); update its graphics driver, or {WITHOUT}",
                reason(&error.to_string())
            );
            ExitCode::from(2)
        }
    }
}

/// What can be done without a window.
const WITHOUT: &str = "use 'evenfield export' to write the map and the plan without a window";

/// What the window system says, without which library heard it in which of its lines.
fn reason(whole: &str) -> &str {
    const LABELS: [&str; 6] = [
        "app creation error: ",
        "winit error: ",
        "winit EventLoopError: ",
        "glutin error: ",
        "egui_glow: ",
        "WGPU error: ",
    ];
    let label = LABELS.iter().find_map(|label| whole.strip_prefix(label));
    let said = label.or(whole.split_once(". Error: ").map(|(_, rest)| rest));
    let said = said.unwrap_or(whole);
    let within = said.strip_prefix("os error at ");
    let said = within
        .and_then(|rest| rest.split_once(": "))
        .map_or(said, |(_, rest)| rest);
    said.trim().trim_end_matches('.')
}

/// Whether the session says where windows go; asking the window system without one would panic in it
/// on some machines.
#[cfg(target_os = "linux")]
fn display_named() -> bool {
    ["DISPLAY", "WAYLAND_DISPLAY", "WAYLAND_SOCKET"]
        .iter()
        .any(|name| std::env::var_os(name).is_some_and(|v| !v.is_empty()))
}

fn no_display() -> ExitCode {
    eprintln!("There is no display to open a window on; {WITHOUT}");
    ExitCode::from(2)
}

fn open(station: Option<PathBuf>) -> eframe::Result<()> {
    let options = NativeOptions {
        renderer: RENDERER,
        // The colour on the screen is the colour in the legend.
        dithering: false,
        viewport: egui::ViewportBuilder::default()
            .with_title("Evenfield")
            .with_app_id("evenfield")
            .with_inner_size([1280.0, 800.0])
            .with_min_inner_size([900.0, 600.0])
            .with_icon(icon()),
        ..NativeOptions::default()
    };
    let start = Start {
        station,
        folder: config_folder(),
        keep: keep(),
    };
    eframe::run_native(
        "evenfield",
        options,
        Box::new(move |cc| Ok(Box::new(App::new(&cc.egui_ctx, start)))),
    )
}

/// Where this person's settings are kept, recent stations among them. One folder takes both these and what is not saved,
/// where `EVENFIELD_STATE` names one; `EVENFIELD_CONFIG` names one for the settings alone.
fn config_folder() -> Option<PathBuf> {
    use etcetera::BaseStrategy;
    let named = [CONFIG_VARIABLE, STATE_VARIABLE].map(std::env::var_os);
    first_named(named).or_else(|| {
        let base = etcetera::choose_base_strategy().ok()?;
        Some(base.config_dir().join("evenfield"))
    })
}

/// The first folder that is named; an empty name names none.
fn first_named<const N: usize>(names: [Option<OsString>; N]) -> Option<PathBuf> {
    let mut names = names.into_iter().flatten();
    names.find(|name| !name.is_empty()).map(PathBuf::from)
}

/// Where what is not saved is kept, and for whom.
fn keep() -> Option<Keep> {
    use etcetera::BaseStrategy;
    let named = first_named([std::env::var_os(STATE_VARIABLE)]);
    let folder = named.or_else(|| {
        let base = etcetera::choose_base_strategy().ok()?;
        let state = base.state_dir().unwrap_or_else(|| base.data_dir());
        Some(state.join("evenfield"))
    })?;
    let since = std::time::SystemTime::UNIX_EPOCH.elapsed();
    let since = since.map_or(0, |since| since.as_nanos());
    Some(Keep {
        folder: folder.join("unsaved"),
        run: format!("{}-{since}", std::process::id()),
        who: who(|name| std::env::var(name).ok()),
    })
}

/// The icon, drawn here: a map from dim to bright over a dark plate.
fn icon() -> egui::IconData {
    const SIDE: usize = 64;
    let scale = crate::sheet::colour::ColourScale {
        low: 0.0,
        high: 1.0,
        map: Default::default(),
    };
    let mut rgba = Vec::with_capacity(4 * SIDE * SIDE);
    for y in 0..SIDE {
        for x in 0..SIDE {
            let (u, v) = (x as f64 / SIDE as f64 - 0.42, y as f64 / SIDE as f64 - 0.55);
            let value = (1.1 - 1.9 * u.hypot(v)).clamp(0.0, 1.0);
            // bands, as contours cut them
            let banded = (value * 6.0).floor() / 6.0;
            let [r, g, b] = scale.colour(banded).unwrap_or([0; 3]);
            rgba.extend([r, g, b, 255]);
        }
    }
    egui::IconData {
        rgba,
        width: SIDE as u32,
        height: SIDE as u32,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn why_a_window_can_not_be_opened_is_said_without_its_libraries() {
        let said = "winit error: os error at /src/linux/mod.rs:788: Failed to open X11 display";
        assert_eq!(reason(said), "Failed to open X11 display");
        let said = "winit EventLoopError: os error at mod.rs:7: the pipe: gone.";
        assert_eq!(reason(said), "the pipe: gone");
        let said = "Found no glutin configs matching the template: T { a: 1 }. Error: none";
        assert_eq!(reason(said), "none");
        assert_eq!(reason("no such thing"), "no such thing");
    }

    #[test]
    fn one_folder_takes_settings_and_journals_unless_another_is_named_for_the_settings() {
        let named = |config: &str, state: &str| {
            first_named([config, state].map(|name| Some(OsString::from(name))))
        };
        assert_eq!(named("", "/state"), Some("/state".into()));
        assert_eq!(named("/config", "/state"), Some("/config".into()));
        assert_eq!(named("", ""), None);
        assert_eq!(
            first_named([None, Some("/state".into())]),
            Some("/state".into())
        );
    }
}
