//! Which map is seen.

use crate::field::Map;
use crate::session::{MapOf, Session, Step};
use crate::sheet::against::Against;
use crate::sheet::colour::ColourScale;
use crate::sheet::picture::Layers;
use crate::work::Held;

fn usable(session: &Session) -> Option<&Against> {
    let held = session.answers().placing().usable();
    held.any().map(|usable| &**usable)
}

/// The map that is seen, and the one against the limits where that is to be seen.
#[derive(Clone, Copy)]
pub(super) struct Shown<'a> {
    pub map: Option<(&'a Map, ColourScale)>,
    pub of: MapOf,
    pub against: Option<&'a Against>,
}

impl<'a> Shown<'a> {
    /// What is wanted, as far as it is there: until another map is, and where there is none, that of irradiance.
    pub fn of(
        session: &'a Session,
        irradiance: Option<&'a Map>,
        layers: Layers,
        against: bool,
    ) -> Self {
        let answers = session.answers();
        let other = match session.map_of() {
            MapOf::Irradiance => None,
            MapOf::Uncertainty => Some(answers.uncertainty()),
            MapOf::Brightness => Some(answers.brightness()),
        };
        let other = match other {
            Some(Held::Failed(..)) | None => None,
            Some(held) => held.any().filter(|_| layers.map),
        };
        let against = match session.step() {
            Step::Limits if against && layers.map && irradiance.is_some() => {
                answers.against().any()
            }
            // the usable part of the pallet
            Step::Placement if layers.map && session.shows_usable() => usable(session),
            Step::Fixture if session.shows_usable() => usable(session),
            _ => None,
        };
        let (map, of) = match other.filter(|_| against.is_none()) {
            Some(other) => (Some(other), session.map_of()),
            None => (irradiance, MapOf::Irradiance),
        };
        let fixed = session.colours().of(of);
        let map = map.filter(|_| layers.map || layers.contours);
        let scale = |map: &Map| ColourScale::over(map.raster.range(), fixed, Default::default());
        Self {
            map: map.and_then(|map| Some((map, scale(map)?))),
            of,
            against,
        }
    }
}
