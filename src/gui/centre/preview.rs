//! The pages that an export would write, to be looked at before: in the step Export they stand in the place of the plan
//! view.

use std::sync::Arc;

use eframe::egui::{
    Color32, ColorImage, Context, Image, Role as Spoken, ScrollArea, Stroke, StrokeKind,
    TextureHandle, TextureOptions, Ui, WidgetInfo, vec2,
};

use jiff::civil::Date;

use crate::assess::{Request, SurveyFit};
use crate::export::Arranged;
use crate::export::bundle::{self, Bundle, MadeOn, NoBundle, Sheets};
use crate::export::{Pixels, pixels};
use crate::files::{Paper, Preferences, Trail};
use crate::progress::Progress;
use crate::session::{ColourRanges, Same, Session};
use crate::sheet::page::PaperSize;
use crate::station::Station;
use crate::work::{Held, Latest, Wake};

/// Dots per inch: small print is read on a screen.
const DPI: f64 = 120.0;
/// A page is shown this wide at most, points.
const WIDEST: f32 = 900.0;
const AROUND: f32 = 10.0;

/// All that the pages are made of.
#[derive(Clone, PartialEq)]
struct PagesKey {
    station: Same<Station>,
    survey: Option<usize>,
    fit: Option<Fit>,
    height: f64,
    sheets: Sheets,
    arranged: Option<Same<Arranged>>,
    colours: ColourRanges,
    preferences: Preferences,
    today: Date,
    period: (Option<Date>, Option<Date>),
    trail: Same<Trail>,
}

/// The same as long as its field is.
#[derive(Clone)]
struct Fit(SurveyFit);

impl PartialEq for Fit {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.0.field, &other.0.field)
    }
}

/// A page that is looked at.
struct ShownPage {
    /// `Map of irradiance, page 1 of 3`.
    name: String,
    pixels: Pixels,
}

/// What was made last, and its textures.
#[derive(Default)]
pub(super) struct Preview {
    slot: Option<Latest<PagesKey, Arc<Vec<ShownPage>>>>,
    textures: Option<(Same<Vec<ShownPage>>, Vec<TextureHandle>)>,
}

/// Shows the pages of the sheets that are ticked.
pub(super) fn show(ui: &mut Ui, session: &Session, state: &mut Preview) {
    let sheets = session.sheets_to_write();
    let is_paper = sheets.map || sheets.plan || sheets.plate || sheets.sheet;
    if !(is_paper || sheets.placement || sheets.log) {
        ui.add_space(AROUND);
        ui.weak("Tick the map or the plan, and their pages are shown here before they are written");
        return;
    }
    let waker = ui.ctx().clone();
    let slot = state.slot.get_or_insert_with(|| {
        let wake: Wake = Arc::new(move || waker.request_repaint());
        Latest::new(wake)
    });
    let survey = session.survey().map(|(i, _)| i);
    let fit = session.answers().fit_for(session.station(), survey);
    let is_fitting = fit.is_some_and(Held::is_updating);
    let fit = fit.and_then(|fit| fit.current().cloned()).map(Fit);
    let key = PagesKey {
        station: Same(session.station().clone()),
        survey,
        fit,
        height: session.height(),
        // what is no page takes no part in it
        sheets: Sheets {
            readings: false,
            field: false,
            summary: false,
            // its pages are those of the others
            report: false,
            ..sheets
        },
        arranged: session.arranged().map(Same),
        colours: session.colours(),
        preferences: session.preferences().clone(),
        today: session.today(),
        period: session.period(),
        trail: Same(session.trail().clone()),
    };
    // the pages are made from the field that is on its way
    if !is_fitting {
        slot.ask(key.clone(), || {
            move |progress: &Progress| made(&key, progress)
        });
    }
    slot.collect();
    let held = slot.held();
    if let Held::Failed(why, _) = held {
        ui.label(why);
    }
    if is_fitting || held.is_updating() {
        ui.weak(match held.any() {
            Some(_) => "updating the pages",
            None => "Laying out the pages",
        });
    }
    let Some(pages) = held.any().cloned() else {
        return;
    };
    let textures = match state.textures.take() {
        Some((of, textures)) if Arc::ptr_eq(&of.0, &pages) => textures,
        _ => pages.iter().map(|page| texture(ui.ctx(), page)).collect(),
    };
    ScrollArea::both()
        .id_salt("pages")
        .auto_shrink([false, false])
        .show(ui, |ui| {
            let width = (ui.available_width() - 2.0 * AROUND).clamp(200.0, WIDEST);
            for (page, texture) in pages.iter().zip(&textures) {
                ui.add_space(AROUND);
                ui.horizontal(|ui| {
                    ui.add_space(AROUND);
                    let share = page.pixels.height as f32 / page.pixels.width as f32;
                    let size = vec2(width, width * share);
                    let shown = ui.add(Image::new((texture.id(), size)).fit_to_exact_size(size));
                    shown.widget_info(|| WidgetInfo::labeled(Spoken::Image, true, &page.name));
                    let rim = Stroke::new(1.0, ui.visuals().weak_text_color());
                    ui.painter()
                        .rect_stroke(shown.rect, 0.0, rim, StrokeKind::Outside);
                });
            }
            ui.add_space(AROUND);
        });
    state.textures = Some((Same(pages), textures));
}

fn texture(ctx: &Context, page: &ShownPage) -> TextureHandle {
    let size = [page.pixels.width as usize, page.pixels.height as usize];
    let image = if page.pixels.rgba.len() == 4 * size[0] * size[1] {
        ColorImage::from_rgba_unmultiplied(size, &page.pixels.rgba)
    } else {
        ColorImage::filled([1, 1], Color32::WHITE)
    };
    ctx.load_texture(&page.name, image, TextureOptions::LINEAR)
}

/// The pages as pixels; `None` when it was asked to stop.
fn made(key: &PagesKey, progress: &Progress) -> Option<Result<Arc<Vec<ShownPage>>, String>> {
    let wanted = Bundle {
        station: &key.station.0,
        request: Request {
            survey: key.survey,
            ..Request::default()
        },
        fit: key.fit.as_ref().map(|fit| &fit.0),
        map_height: Some(key.height),
        sheets: key.sheets,
        length: key.preferences.length_unit,
        irradiance: key.preferences.irradiance_unit,
        paper: match key.preferences.paper {
            Paper::A4 => PaperSize::A4,
            Paper::Letter => PaperSize::Letter,
        },
        colours: Default::default(),
        range: key.colours.irradiance,
        uncertainty_range: key.colours.uncertainty,
        arranged: key.arranged.as_ref().map(|a| &*a.0),
        made: MadeOn {
            today: key.today,
            trail: &key.trail.0,
            period: key.period,
        },
    };
    let documents = match bundle::documents(&wanted, progress) {
        Ok(documents) => documents,
        Err(NoBundle::Cancelled) => return None,
        Err(error) => return Some(Err(error.to_string())),
    };
    let mut seen = Vec::new();
    for document in documents {
        for (i, page) in document.pages.iter().enumerate() {
            progress.check().ok()?;
            match pixels(page, DPI) {
                Ok(pixels) => seen.push(ShownPage {
                    name: format!(
                        "{}, page {} of {}",
                        document.name,
                        i + 1,
                        document.pages.len()
                    ),
                    pixels,
                }),
                Err(error) => return Some(Err(error.to_string())),
            }
        }
    }
    Some(Ok(Arc::new(seen)))
}
