//! The station sheet says what the verdict says.

use std::path::Path;

use evenfield::assess::limits::Window;
use evenfield::assess::{Assessment, Request};
use evenfield::export::bundle::{Bundle, MadeOn, Sheets, documents};
use evenfield::progress::Progress;
use evenfield::sheet::colour::ColourMap;
use evenfield::sheet::page::{PageItem, PaperSize};
use evenfield::station::Station;
use evenfield::units::{IrradianceUnit, LengthUnit};

fn sample(name: &str) -> Station {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-maps");
    evenfield::files::read(&path.join(name))
        .expect("a sample")
        .0
}

/// The lines of text on the only document, and its number of pages.
fn written(station: &Station, irradiance: IrradianceUnit) -> (Vec<String>, usize) {
    let bundle = Bundle {
        station,
        request: Request::default(),
        fit: None,
        map_height: None,
        sheets: Sheets::parse("sheet").expect("a sheet"),
        length: LengthUnit::Mm,
        irradiance,
        arranged: None,
        paper: PaperSize::A4,
        colours: ColourMap::Cividis,
        range: None,
        uncertainty_range: None,
        made: MadeOn {
            today: jiff::civil::date(2026, 11, 28),
            trail: &Default::default(),
            period: (None, None),
        },
    };
    let made = documents(&bundle, &Progress::new()).expect("a document");
    let [document] = &made[..] else {
        panic!("{} documents", made.len())
    };
    let texts = document.pages.iter().flat_map(|page| &page.items);
    let texts = texts.filter_map(|item| match item {
        PageItem::Text { text, .. } => Some(text.clone()),
        _ => None,
    });
    (texts.collect(), document.pages.len())
}

#[test]
fn a_station_that_meets_is_told_what_must_be_read_and_where() {
    let station = sample("rain-gauge-pallet-three-columns.ron");
    let progress = Progress::new();
    let assessed = Assessment::of(&station, &Request::default(), &progress).expect("an answer");
    let outlook = assessed
        .outlook(&station, &|e| format!("{e}"), &progress)
        .expect("not stopped")
        .expect("limits");
    let monitor = outlook.monitor.expect("a monitor position");
    let window = monitor.window.as_ref().map(Window::written);
    let window = window.expect("a window");
    let unit = IrradianceUnit::MilliwattPerCm2;
    let (said, pages) = written(&station, unit);
    assert_eq!(pages, 1);
    let most = window.most.expect("an upper end");
    let wanted = format!(
        "The radiometer must read {} to {}",
        unit.exact(window.least),
        unit.exact_with_unit(most)
    );
    assert!(said.contains(&wanted), "{wanted}: {said:?}");
    let all = said.join(" ");
    assert!(all.contains(&format!("position {}", monitor.name)));
    assert!(!all.contains("Not for production"));
    // the same in the reader's unit
    let (said, _) = written(&station, IrradianceUnit::WattPerM2);
    assert!(
        said.iter()
            .any(|line| line.starts_with("The radiometer must read") && line.ends_with("W/m²"))
    );
}

#[test]
fn a_station_that_fails_is_not_released_by_its_sheet() {
    let station = sample("rain-gauge-pallet.ron");
    let (said, _) = written(&station, IrradianceUnit::MilliwattPerCm2);
    assert!(
        said.join(" ").contains(
            "Not for production: by the survey named above the station fails its limits."
        )
    );
    assert!(
        said.contains(&"The radiometer must read".to_owned()),
        "no range is promised"
    );
}
