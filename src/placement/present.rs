//! The sites as they are: which fall short, and what moving those would give.

use super::cells::{Cell, Level, Room, cell, offsets};
use super::ready::Ready;
use super::{CONFIDENCE, Kind, Placed, ToPlace, Unplaceable, Wish};
use crate::geometry::{Footprint, Point};
use crate::progress::Progress;
use crate::station::Station;

/// The question, and the sites as they are: all of the part that is asked about.
#[derive(Debug, Clone, PartialEq)]
pub struct ToLookAt {
    /// The question; its bed without these sites.
    pub ask: ToPlace,
    /// Name, centre, and whether it is turned by 90 degrees.
    pub sites: Vec<(String, Point, bool)>,
}

/// A site as it is.
#[derive(Debug, Clone, PartialEq)]
pub struct PresentSite {
    /// Its name.
    pub name: String,
    /// Its figures.
    pub site: super::Site,
    /// It lies inside the limits with 95 % confidence, by itself.
    pub holds: bool,
    /// It lies on the bed, clear of what stands there.
    pub has_room: bool,
}

/// All of them.
#[derive(Debug, Clone, PartialEq)]
pub struct Present {
    /// In the order of the fixture.
    pub sites: Vec<PresentSite>,
    /// With what confidence all lie inside at once.
    pub confidence: Option<f64>,
    /// Those that fall short placed elsewhere, the others left where they are: places for as many of them as there are,
    /// with the confidence for the moved ones alone; `None` where none falls short.
    pub moved: Option<Placed>,
}

impl ToLookAt {
    /// The sites of a station that have the part's size, those that are locked left out: these stay whatever comes.
    pub fn of(station: &Station, ask: &ToPlace, locked: &[String]) -> Self {
        let (width, depth) = ask.part.shape.size();
        let alike = |a: f64, b: f64| (a - b).abs() < 1e-6;
        let sites = station.all_sites().into_iter().filter_map(|site| {
            let bounds = site.footprint.bounds();
            let (w, d) = (bounds.width(), bounds.depth());
            let turned = match (
                alike(w, width) && alike(d, depth),
                alike(w, depth) && alike(d, width),
            ) {
                (true, _) => false,
                (_, true) => true,
                _ => return None,
            };
            let free = !locked.contains(&site.name);
            free.then_some((site.name, bounds.centre(), turned))
        });
        Self {
            sites: sites.collect(),
            ask: ask.clone(),
        }
    }

    /// Looks at them.
    ///
    /// # Errors
    /// As of the question itself.
    pub fn look(&self, progress: &Progress) -> Result<Present, Unplaceable> {
        if self.sites.is_empty() {
            return Ok(Present {
                sites: Vec::new(),
                confidence: None,
                moved: None,
            });
        }
        let ready = Ready::of(&self.ask, progress)?;
        let room = Room::new(&self.ask.part, &self.ask.bed);
        let level = Level::of(&self.ask.bars);
        let parts: Vec<(Point, bool, Cell)> = (self.sites.iter())
            .map(|(_, centre, turned)| {
                let offsets = offsets(&self.ask.part, *turned, 100);
                (
                    *centre,
                    *turned,
                    cell(*centre, &offsets, &ready.light, level),
                )
            })
            .collect();
        let places: Vec<(Point, bool)> = parts.iter().map(|p| (p.0, p.1)).collect();
        let sure = ready.judge().sure(&places, 0x9e5e, 1000, progress)?;
        let held = !self.ask.bars.is_none();
        // figures come in the order of the places on the pallet
        let figures = ready.figures(&parts, sure.as_ref(), progress)?;
        let sites: Vec<PresentSite> = (self.sites.iter())
            .filter_map(|(name, centre, turned)| {
                let site = figures
                    .iter()
                    .find(|s| s.centre == *centre && s.turned == *turned)?;
                Some(PresentSite {
                    name: name.clone(),
                    holds: !held || site.alone.is_some_and(|alone| alone >= CONFIDENCE),
                    has_room: room.has(*centre, *turned),
                    site: site.clone(),
                })
            })
            .collect();
        progress.set(0.3);
        let short = sites.iter().filter(|s| !(s.holds && s.has_room)).count();
        let moved = if short == 0 {
            None
        } else {
            let mut ask = self.ask.clone();
            let stay = sites.iter().filter(|s| s.holds && s.has_room);
            let stay = stay.map(|s| self.ask.part.covers(s.site.centre, s.site.turned));
            ask.bed.barred.extend(stay.collect::<Vec<Footprint>>());
            ask.kind = Kind::Free;
            ask.wish = Wish::Most;
            let mut found = ask.place(&mut |_| {}, &progress.part())?;
            // as many as fall short, the brightest
            found.sites.retain(|s| s.rank <= short);
            found.bound = None;
            Some(found)
        };
        Ok(Present {
            sites,
            confidence: sure.filter(|_| held).map(|s| s.all),
            moved,
        })
    }
}
