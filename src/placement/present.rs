//! The sites as they are: which fall short, and what moving those would give.

use super::cells::{Cell, Level, Room, cell, offsets};
use super::ready::{JUDGE, Ready};
use super::sure::Sure;
use super::{CONFIDENCE, Kind, Site, ToPlace, Unplaceable, Wish};
use crate::geometry::{Footprint, Point};
use crate::progress::{Cancelled, Progress};
use crate::station::Station;

/// The question, and the sites as they are: all of the part and the bond line that are asked about.
#[derive(Debug, Clone, PartialEq)]
pub struct ToLookAt {
    /// The question; of its sites only those that stay stand on its bed.
    pub ask: ToPlace,
    /// Each of them.
    pub sites: Vec<There>,
    /// Those of another size or bond line: they are left where they are.
    pub others: Vec<Footprint>,
}

/// A site on the fixture.
#[derive(Debug, Clone, PartialEq)]
pub struct There {
    /// Its name.
    pub name: String,
    /// Its middle.
    pub centre: Point,
    /// It is turned by 90 degrees.
    pub turned: bool,
    /// It stays where it is, whatever comes.
    pub stays: bool,
}

/// A site as it is.
#[derive(Debug, Clone, PartialEq)]
pub struct PresentSite {
    /// Its name.
    pub name: String,
    /// It stays where it is, whatever comes.
    pub stays: bool,
    /// Its figures.
    pub site: Site,
    /// It lies inside the limits with 95 % confidence, by itself.
    pub holds: bool,
    /// It lies on the bed, clear of what stands there.
    pub has_room: bool,
}

impl PresentSite {
    /// It holds and has room.
    pub fn is_good(&self) -> bool {
        self.holds && self.has_room
    }
}

/// What is said of all parts together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Together {
    /// With what confidence all lie inside the limits at once; `None` without limits or joint draws.
    pub confidence: Option<f64>,
    /// One-sided 95 % lower bound of the coldest, relative, mW/cm².
    pub assured: Option<f64>,
    /// One-sided 95 % upper bound of the hottest.
    pub at_most: Option<f64>,
}

/// All of them.
#[derive(Debug, Clone, PartialEq)]
pub struct Present {
    /// In the order of the fixture.
    pub sites: Vec<PresentSite>,
    /// So many more have another size or bond line, and are not looked at.
    pub others: usize,
    /// As they are.
    pub now: Together,
    /// Those that fall short, and are not to stay, placed elsewhere: the best places for as many of them as there are. `None`
    /// where none falls short.
    pub moved: Option<Moved>,
}

/// Sites that fall short placed elsewhere, the others left where they are.
#[derive(Debug, Clone, PartialEq)]
pub struct Moved {
    /// Their places.
    pub sites: Vec<Site>,
    /// So many of them have no place.
    pub without: usize,
    /// All parts then, those that were left where they are among them.
    pub then: Together,
}

/// Bond lines nearer than this are one, mm.
const SAME_HEIGHT: f64 = 0.05;

impl ToLookAt {
    /// The sites of a station that have the part's size, at the height of the bed.
    pub fn of(station: &Station, ask: &ToPlace, locked: &[String]) -> Self {
        let (width, depth) = ask.part.shape.size();
        let alike = |a: f64, b: f64| (a - b).abs() < 1e-6;
        let mut others = Vec::new();
        let mut sites = Vec::new();
        for site in station.all_sites() {
            let bounds = site.footprint.bounds();
            let (w, d) = (bounds.width(), bounds.depth());
            let straight = alike(w, width) && alike(d, depth);
            let turned = !straight && alike(w, depth) && alike(d, width);
            if !(straight || turned) || (site.height - ask.bed.height).abs() > SAME_HEIGHT {
                others.push(site.footprint);
                continue;
            }
            sites.push(There {
                stays: locked.contains(&site.name),
                name: site.name,
                centre: bounds.centre(),
                turned,
            });
        }
        Self {
            sites,
            others,
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
                others: self.others.len(),
                now: Together::of(None, false),
                moved: None,
            });
        }
        let ready = Ready::of(&self.ask, progress)?;
        let held = !self.ask.bars.is_none();
        let places: Vec<(Point, bool)> = self.sites.iter().map(|s| (s.centre, s.turned)).collect();
        let (figures, sure) = self.figures(&ready, &places, 0x9e5e, progress)?;
        let room = Room::new(&self.ask.part, &self.ask.bed);
        let sites: Vec<PresentSite> = (self.sites.iter())
            .filter_map(|there| {
                let at = |s: &&Site| s.centre == there.centre && s.turned == there.turned;
                let site = figures.iter().find(at)?;
                Some(PresentSite {
                    name: there.name.clone(),
                    stays: there.stays,
                    holds: !held || site.alone.is_some_and(|alone| alone >= CONFIDENCE),
                    // what stays stands on the bed itself
                    has_room: there.stays || room.has(there.centre, there.turned),
                    site: site.clone(),
                })
            })
            .collect();
        progress.set(0.3);
        let short = sites.iter().filter(|s| !s.is_good() && !s.stays).count();
        let moved = if short == 0 {
            None
        } else {
            Some(self.moved(&ready, &sites, short, progress)?)
        };
        Ok(Present {
            sites,
            others: self.others.len(),
            now: Together::of(sure.as_ref(), held),
            moved,
        })
    }

    /// Figures in the order of places on the pallet, and what joint draws say of all of them.
    fn figures(
        &self,
        ready: &Ready<'_>,
        places: &[(Point, bool)],
        seed: u64,
        progress: &Progress,
    ) -> Result<(Vec<Site>, Option<Sure>), Cancelled> {
        let level = Level::of(&self.ask.bars);
        let parts: Vec<(Point, bool, Cell)> = (places.iter())
            .map(|&(centre, turned)| {
                let offsets = offsets(&self.ask.part, turned, 100);
                (centre, turned, cell(centre, &offsets, &ready.light, level))
            })
            .collect();
        let sure = ready.judge().sure(places, seed, JUDGE, progress)?;
        Ok((ready.figures(&parts, sure.as_ref(), progress)?, sure))
    }

    fn moved(
        &self,
        ready: &Ready<'_>,
        sites: &[PresentSite],
        short: usize,
        progress: &Progress,
    ) -> Result<Moved, Unplaceable> {
        let mut ask = self.ask.clone();
        let left = || sites.iter().filter(|s| s.is_good() || s.stays);
        let covers = |s: &PresentSite| self.ask.part.covers(s.site.centre, s.site.turned);
        ask.bed
            .barred
            .extend(left().map(covers).collect::<Vec<Footprint>>());
        ask.bed.barred.extend(self.others.iter().cloned());
        ask.kind = Kind::Free;
        ask.wish = Wish::Most;
        let mut found = ask.arrange(&progress.part())?.sites;
        // as many as fall short, the brightest
        found.retain(|s| s.rank <= short);
        let of = |s: &Site| (s.centre, s.turned);
        let all: Vec<(Point, bool)> = left()
            .map(|s| of(&s.site))
            .chain(found.iter().map(of))
            .collect();
        // judged together with those that were left, by draws of their own
        let sure = if all.is_empty() {
            None
        } else {
            ready.judge().sure(&all, 0x9e5f, JUDGE, progress)?
        };
        Ok(Moved {
            without: short - found.len().min(short),
            then: Together::of(sure.as_ref(), !self.ask.bars.is_none()),
            sites: found,
        })
    }
}

impl Together {
    fn of(sure: Option<&Sure>, held: bool) -> Self {
        Self {
            confidence: sure.filter(|_| held).map(|s| s.all),
            assured: sure.map(|s| s.extremes.0),
            at_most: sure.map(|s| s.extremes.1),
        }
    }
}
