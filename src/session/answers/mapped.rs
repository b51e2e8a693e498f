//! Maps of a fitted field, and the field along a line.

use std::sync::Arc;

use super::wanted::Wanted;
use crate::assess::limits::{Judged, Line};
use crate::assess::{SurveyFit, ToSearch};
use crate::field::{Fitted, Map, Raster};
use crate::geometry::{Point, Shape};
use crate::progress::Progress;
use crate::session::background::Same;
use crate::session::looking::{Along, MapOf};
use crate::session::profile::{Profile, ProfileLine};
use crate::sheet::against::Against;
use crate::station::{Shared, Station};
use crate::work::{Latest, Wake};

/// Nodes along the longer side of a map against the limits: uncertainties take their time.
const AGAINST: usize = 110;
/// Nodes along the longer side of a map while the height slides.
const COARSE: usize = 48;

#[derive(Debug, Clone, PartialEq)]
pub(super) struct MapKey {
    field: Same<Fitted>,
    outline: Shape,
    height: f64,
    nodes: usize,
    /// What stands in the light's way, and where bonds are; `None`: in the open.
    search: Option<Shared<ToSearch>>,
}

impl MapKey {
    /// Of the height that is wanted, with `fine` nodes along the longer side when it is at rest.
    fn of(fit: &SurveyFit, wanted: &Wanted<'_>, fine: usize) -> Self {
        Self {
            field: Same(fit.field.clone()),
            outline: wanted.station.fixture.shape.clone(),
            height: wanted.height,
            nodes: if wanted.sliding { COARSE } else { fine },
            search: None,
        }
    }

    /// A coarse map is soon there: while the height slides each is shown, and the next one asked for.
    fn is_let_end_for(&self, next: &Self) -> bool {
        self.nodes == COARSE && next.nodes == COARSE && self.field == next.field
    }
}

#[derive(Debug, Clone, PartialEq)]
pub(super) struct ProfileKey {
    field: Same<Fitted>,
    line: ProfileLine,
    outline: Shape,
}

#[derive(Debug, Clone, PartialEq)]
pub(super) struct AgainstKey {
    map: MapKey,
    lower: Line,
    upper: Option<Line>,
    calibration: Option<f64>,
}

/// The slots.
pub(super) struct Mapped {
    pub map: Latest<MapKey, Map>,
    pub profile: Latest<ProfileKey, Profile>,
    pub against: Latest<AgainstKey, Against>,
    pub brightness: Latest<Same<Fitted>, Map>,
    pub uncertainty: Latest<MapKey, Map>,
}

impl Mapped {
    pub(super) fn new(wake: &Wake) -> Self {
        Self {
            map: Latest::new(wake.clone()),
            profile: Latest::new(wake.clone()),
            against: Latest::long(wake.clone()),
            brightness: Latest::new(wake.clone()),
            uncertainty: Latest::long(wake.clone()),
        }
    }

    pub(super) fn collect(&mut self) {
        self.map.collect();
        self.profile.collect();
        self.against.collect();
        self.brightness.collect();
        self.uncertainty.collect();
    }

    pub(super) fn forget(&mut self) {
        self.map.forget();
        self.profile.forget();
        self.against.forget();
        self.brightness.forget();
        self.uncertainty.forget();
    }

    /// Asks for the maps of a field that are wanted, and for the line through the cross.
    pub(super) fn ask(
        &mut self,
        fit: &SurveyFit,
        wanted: &Wanted<'_>,
        search: Option<&Shared<ToSearch>>,
    ) {
        self.ask_map(fit, wanted, search);
        if let Some(cross) = wanted.cross {
            self.ask_profile(fit, wanted, cross);
        }
        match wanted.map_of {
            MapOf::Irradiance => {}
            MapOf::Uncertainty => self.ask_uncertainty(fit, wanted),
            MapOf::Brightness => self.ask_brightness(fit),
        }
    }

    fn ask_map(&mut self, fit: &SurveyFit, wanted: &Wanted<'_>, search: Option<&Shared<ToSearch>>) {
        let mut key = MapKey::of(fit, wanted, Map::FINE);
        let shaded = search.filter(|s| s.standing.is_some() && !wanted.in_the_open);
        key.search = shaded.cloned();
        let outline = wanted.station.fixture.footprint();
        let MapKey {
            field,
            height,
            nodes,
            search,
            ..
        } = key.clone();
        // what stands there may be dragged: each picture that was begun is shown
        let dragged = |running: &MapKey| {
            running.field == key.field && running.search.is_some() && key.search.is_some()
        };
        let kept = |running: &MapKey| running.is_let_end_for(&key) || dragged(running);
        self.map.ask_after(kept, key.clone(), || {
            move |progress: &Progress| {
                // None: cancelled
                if let Some(of) = &search
                    && let Some(standing) = &of.standing
                {
                    let at_bond = standing.at_bond(&field.0);
                    let (bonds, over) = ((&at_bond, &of.areas[..]), (&outline, height));
                    return Map::at_bonds(&field.0, bonds, over, nodes, progress)
                        .ok()
                        .map(Ok);
                }
                Map::of(&field.0, &outline, height, nodes, progress)
                    .ok()
                    .map(Ok)
            }
        });
    }

    fn ask_brightness(&mut self, fit: &SurveyFit) {
        let field = fit.field.clone();
        self.brightness.ask(Same(fit.field.clone()), || {
            move |_: &Progress| {
                let none = "This model knows nothing of the lamp; choose the source-aware one";
                Some(
                    field
                        .brightness()
                        .map(Map::without_contours)
                        .ok_or(none.into()),
                )
            }
        });
    }

    fn ask_uncertainty(&mut self, fit: &SurveyFit, wanted: &Wanted<'_>) {
        let key = MapKey::of(fit, wanted, AGAINST);
        let outline = wanted.station.fixture.footprint();
        let MapKey {
            field,
            height,
            nodes,
            ..
        } = key.clone();
        let kept = |running: &MapKey| running.is_let_end_for(&key);
        self.uncertainty.ask_after(kept, key.clone(), || {
            move |progress: &Progress| {
                let none = "This model does not say how far off it may be; \
                            choose source-aware or a kriging, which do";
                let map = Map::of_uncertainty(&field.0, &outline, height, nodes, progress).ok()?;
                Some(map.ok_or(none.into()))
            }
        });
    }

    /// Asks for the map against the limits.
    pub(super) fn ask_against(
        &mut self,
        fit: &SurveyFit,
        wanted: &Wanted<'_>,
        judged: &Judged,
        calibration: Option<f64>,
    ) {
        let terms = judged.terms.clone();
        let key = AgainstKey {
            map: MapKey::of(fit, wanted, AGAINST),
            lower: terms.lower.clone(),
            upper: terms.upper.clone(),
            calibration,
        };
        let outline = wanted.station.fixture.footprint();
        let MapKey {
            field,
            height,
            nodes,
            ..
        } = key.map.clone();
        let kept = |running: &AgainstKey| running.map.is_let_end_for(&key.map);
        self.against.ask_after(kept, key.clone(), || {
            move |progress: &Progress| {
                let bounds = outline.bounds();
                let step = bounds.width().max(bounds.depth()) / nodes as f64;
                let raster = Raster::of(&field.0, &outline, height, step, progress).ok()?;
                Some(Ok(Against::new(&raster, &outline, &terms, calibration)))
            }
        });
    }

    fn ask_profile(&mut self, fit: &SurveyFit, wanted: &Wanted<'_>, cross: Point) {
        let station: &Arc<Station> = wanted.station;
        let outline = station.fixture.footprint();
        let mut line = ProfileLine::across(wanted.along, cross, wanted.height, &outline);
        if wanted.along == Along::Height {
            let Some(ends) = heights_shown(fit, station) else {
                return;
            };
            // the same at every height of the map
            (line.ends, line.height) = (ends, 0.0);
        }
        let key = ProfileKey {
            field: Same(fit.field.clone()),
            line,
            outline: station.fixture.shape.clone(),
        };
        let field = fit.field.clone();
        // soon there: a cross or a height that moves shows each that was begun
        let kept = |running: &ProfileKey| running.field == key.field;
        self.profile.ask_after(kept, key.clone(), || {
            move |progress: &Progress| Profile::of(&field, line, &outline, progress).ok().map(Ok)
        });
    }
}

/// The heights of a height profile: a little beyond the measured ones, never up to the face, where the law of
/// distance ends.
fn heights_shown(fit: &SurveyFit, station: &Station) -> Option<[f64; 2]> {
    let (&low, &high) = (fit.heights.first()?, fit.heights.last()?);
    let face = station.survey_at(fit.survey)?.face_height(station);
    let span = (high - low).max(10.0);
    let top = (high + 0.75 * span).min(face - 1.0).max(high);
    let bottom = (low - 0.75 * span).max(0.0).min(low);
    Some([bottom, top])
}
