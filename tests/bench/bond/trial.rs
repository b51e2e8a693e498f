//! One simulated station with parts on it, assessed in all cases.

use evenfield::assess::{Request, Spots, SurveyFit, ToFit, ToSearch, assessed_area};
use evenfield::geometry::{Footprint, Point, Shape};
use evenfield::lamps::{AnyLamp, Face, Pane, Shadowed, Solid};
use evenfield::progress::Progress;
use evenfield::station::{
    AssessedArea, Bars, Bond, KeepOut, Lying, Pallet, Rim, SiteGroup, SiteLayout, Station,
    Substrate,
};

use crate::chance::Chance;
use crate::kinds::Kind;
use crate::study_station::{Condition, Drawn, Plan, Wrong, least};

/// What stands in the way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Case {
    Open,
    Clamp,
    Rim,
    Pockets,
    Tilted,
    Glass,
    Neighbours,
}

impl Case {
    pub const ALL: [Self; 7] = [
        Self::Open,
        Self::Clamp,
        Self::Rim,
        Self::Pockets,
        Self::Tilted,
        Self::Glass,
        Self::Neighbours,
    ];

    pub fn name(self) -> &'static str {
        match self {
            Self::Open => "in the open",
            Self::Clamp => "clamp beside the coldest part",
            Self::Rim => "rim 8 mm high",
            Self::Pockets => "pockets 5 mm deep",
            Self::Tilted => "tilted by 20 degrees",
            Self::Glass => "behind glass",
            Self::Neighbours => "parts 6 mm high side by side",
        }
    }
}

/// What came of one station in one case, mW/cm².
pub struct Row {
    pub kind: Kind,
    pub seed: u64,
    pub case: Case,
    pub truth: f64,
    pub estimate: f64,
    pub bound: f64,
    /// The bound with nothing in the way.
    pub open_bound: f64,
    pub said: bool,
}

impl Row {
    pub fn line(&self) -> String {
        format!(
            "{},{},{:?},{:.4},{:.4},{:.4},{:.4},{}",
            self.kind.name(),
            self.seed,
            self.case,
            self.truth,
            self.estimate,
            self.bound,
            self.open_bound,
            u8::from(self.said)
        )
    }
}

/// From one node to the next where the truth is looked for, mm.
const TRUTH_STEP: f64 = 3.0;
/// Heights are this much more than told where they are told wrong.
const WRONG: f64 = 1.2;

/// Parts in rows and columns well inside the fixture.
fn parts(chance: &mut Chance, fixture: &Footprint, height: f64) -> SiteGroup {
    const INSET: f64 = 5.0;
    let (width, depth) = fixture.shape.size();
    let (columns, rows) = (chance.whole(3, 5), chance.whole(2, 3));
    let pitch = |extent: f64, n: u32| (extent - 2.0 * INSET) / f64::from(n);
    let (px, py) = (pitch(width, columns), pitch(depth, rows));
    let gap = chance.between(3.0, 8.0);
    SiteGroup {
        name: "P-".into(),
        shape: Shape::Rectangle {
            width: px - gap,
            depth: py - gap,
        },
        turn: 0.0,
        height,
        top: None,
        bond: None,
        layout: SiteLayout::Grid {
            first: Point::new(INSET + 0.5 * px, INSET + 0.5 * py),
            columns,
            rows,
            pitch_x: px,
            pitch_y: py,
        },
    }
}

/// The truth of a case: what stands around each part, where its adhesive is, and how it lies.
struct Truth<'a> {
    lamp: &'a AnyLamp,
    height: f64,
    solids: Vec<Solid>,
    pane: Option<Pane>,
    hole: Option<f64>,
    tilt: Option<[f64; 3]>,
    /// Parts in its way are left out.
    clamp: Option<Footprint>,
}

impl Truth<'_> {
    /// The least over an outline; `solids` without the part itself.
    fn coldest(&self, outline: &Footprint, solids: Vec<Solid>) -> Option<f64> {
        let scene = Shadowed {
            solids,
            hole: self.hole.map(|depth| (outline.outline(), depth)),
            pane: self.pane,
        };
        let about = outline.middle();
        let value = |p: Point| {
            let normal = self.tilt.unwrap_or([0.0, 0.0, 1.0]);
            let down = (normal[0] * (p.x - about.x) + normal[1] * (p.y - about.y)) / normal[2];
            let face = Face {
                at: p.at_height(self.height - down),
                normal,
            };
            scene
                .irradiance(self.lamp.as_ref(), face)
                .unwrap_or(f64::NAN)
        };
        let nodes: Vec<(Point, f64)> = outline
            .lattice(TRUTH_STEP)
            .into_iter()
            .map(|p| (p, value(p)))
            .collect();
        if nodes.iter().any(|n| n.1.is_nan()) {
            return None;
        }
        Some(least(outline, TRUTH_STEP, nodes, value).1)
    }
}

fn solid(footprint: &Footprint, top: f64) -> Solid {
    Solid {
        plan: footprint.outline(),
        top,
    }
}

/// The rim as four bars.
fn bars(fixture: &Footprint, thickness: f64, top: f64) -> Vec<Solid> {
    let (width, depth) = fixture.shape.size();
    let bar = |x: f64, y: f64, width: f64, depth: f64| {
        let shape = Shape::Rectangle { width, depth };
        solid(&Footprint::new(shape, Point::new(x, y)), top)
    };
    let t = thickness;
    vec![
        bar(0.5 * width, 0.5 * t, width, t),
        bar(0.5 * width, depth - 0.5 * t, width, t),
        bar(0.5 * t, 0.5 * depth, t, depth),
        bar(width - 0.5 * t, 0.5 * depth, t, depth),
    ]
}

fn assessed(fit: &SurveyFit, document: &Station) -> Result<(Spots, bool), String> {
    let request = Request::of_survey(0);
    let assessed = assessed_area(document, &request).map_err(|e| e.to_string())?;
    let survey = &document.surveys[0];
    let search = ToSearch::of(document, survey, &assessed);
    let spots = Spots::of(&fit.field, &search, &Progress::new()).map_err(|e| e.to_string())?;
    let said = spots.bond.as_ref().is_some_and(|bond| bond.hangs > 0.01);
    Ok((spots, said))
}

/// All cases of one station; with `wrong` all heights are more than told.
pub fn trial(kind: Kind, seed: u64, wrong: bool) -> Result<Vec<Row>, String> {
    let drawn = Drawn::new(kind, Condition::Main, seed)?;
    let station = drawn.station(Plan::Around, Wrong::Nothing);
    let (lamp, _) = drawn.read_by();
    let mut chance = Chance::new(seed, 0xb0d + kind as u64);
    let height = station.assessed;
    let mut document = station.document();
    document.settings.area = AssessedArea::Sites;
    document.surveys[0].state.pallet = Pallet::Out;
    let group = parts(&mut chance, &station.fixture, height);
    document.sites = vec![group.clone()];
    // one by one, so that a part in a clamp's way can be left out
    let alone = |name: &str, at: Point| SiteGroup {
        name: name.to_owned(),
        layout: SiteLayout::Single { centre: at },
        ..group.clone()
    };
    let singles = document.all_sites();
    document.sites = (singles.iter())
        .map(|s| alone(&s.name, s.footprint.centre))
        .collect();
    let fit = ToFit::of(&document, &Request::of_survey(0))
        .and_then(|to_fit| to_fit.fit(&Progress::new()))
        .map_err(|e| e.to_string())?;
    let sites = document.all_sites();
    let bare = |hole: Option<f64>| Truth {
        lamp,
        height,
        solids: Vec::new(),
        pane: None,
        hole,
        tilt: None,
        clamp: None,
    };
    let real = if wrong { WRONG } else { 1.0 };
    let (spots, _) = assessed(&fit, &document)?;
    let open_bound = spots.coldest.1.at_least.ok_or("no bound")?;
    // the part that is coldest in truth, and where
    let coldest_of = |truth: &Truth<'_>| -> Result<(usize, f64), String> {
        let mut best = (0, f64::INFINITY);
        let clear = |s: &Footprint| truth.clamp.as_ref().is_none_or(|c| !c.overlaps(s));
        for (i, site) in sites
            .iter()
            .enumerate()
            .filter(|(_, s)| clear(&s.footprint))
        {
            let value = truth.coldest(&site.footprint, truth.solids.clone());
            let value = value.ok_or("its lamp does not tell its beams")?;
            if value < best.1 {
                best = (i, value);
            }
        }
        Ok(best)
    };
    let (cold, open_truth) = coldest_of(&bare(None))?;
    let mut rows = Vec::new();
    for case in Case::ALL {
        let mut told = document.clone();
        let truth = match case {
            Case::Open => open_truth,
            Case::Clamp => {
                let (width, depth) = group.shape.size();
                let part = sites[cold].footprint.centre;
                let (w, d) = (chance.between(8.0, 16.0), chance.between(4.0, 8.0));
                let gap = chance.between(2.0, 8.0);
                let side = if chance.happens(0.5) { 1.0 } else { -1.0 };
                let (at, shape) = if chance.happens(0.5) {
                    let x = part.x + side * (0.5 * width + gap + 0.5 * d);
                    let y = part.y + chance.between(-0.5, 0.5) * depth;
                    (Point::new(x, y), Shape::Rectangle { width: d, depth: w })
                } else {
                    let y = part.y + side * (0.5 * depth + gap + 0.5 * d);
                    let x = part.x + chance.between(-0.5, 0.5) * width;
                    (Point::new(x, y), Shape::Rectangle { width: w, depth: d })
                };
                let above = chance.between(3.0, 12.0);
                let clamp = Footprint::new(shape, at);
                told.keep_outs.push(KeepOut {
                    height: Some(height + above),
                    ..KeepOut::new("Clamp", clamp.clone(), Bars::Both)
                });
                told.sites.retain(|s| {
                    let site = Footprint::new(s.shape.clone(), s.first_centre());
                    !clamp.overlaps(&site)
                });
                let truth = Truth {
                    clamp: Some(clamp.clone()),
                    solids: vec![solid(&clamp, height + real * above)],
                    ..bare(None)
                };
                coldest_of(&truth)?.1
            }
            Case::Rim => {
                let (thickness, above) = (chance.between(2.0, 4.0), 8.0);
                told.fixture.rim = Some(Rim {
                    height: height + above,
                    thickness,
                });
                let truth = Truth {
                    solids: bars(&station.fixture, thickness, height + real * above),
                    ..bare(None)
                };
                coldest_of(&truth)?.1
            }
            Case::Pockets => {
                let (width, depth) = group.shape.size();
                let shape = if chance.happens(0.5) {
                    Shape::Circle {
                        diameter: chance.between(0.8, 0.95) * width.min(depth),
                    }
                } else {
                    Shape::Rectangle {
                        width: chance.between(0.8, 0.95) * width,
                        depth: chance.between(0.8, 0.95) * depth,
                    }
                };
                let bond = Some(Bond {
                    lies: Lying::Pocket {
                        shape: shape.clone(),
                        depth: 5.0,
                    },
                    behind: None,
                });
                told.sites.iter_mut().for_each(|s| s.bond = bond.clone());
                let truth = bare(Some(5.0 * real));
                let mut coldest = f64::INFINITY;
                for site in &sites {
                    let pocket = Footprint::new(shape.clone(), site.footprint.centre);
                    let value = truth.coldest(&pocket, Vec::new()).ok_or("no beams")?;
                    coldest = coldest.min(value);
                }
                coldest
            }
            Case::Tilted => {
                let (angle, towards): (f64, f64) = (20.0, chance.between(0.0, 360.0));
                // a tilt is no height: told as it is
                let bond = Some(Bond {
                    lies: Lying::Tilted { angle, towards },
                    behind: None,
                });
                told.sites.iter_mut().for_each(|s| s.bond = bond.clone());
                let (sin, cos) = angle.to_radians().sin_cos();
                let (sin_to, cos_to) = towards.to_radians().sin_cos();
                let truth = Truth {
                    tilt: Some([sin * cos_to, sin * sin_to, cos]),
                    ..bare(None)
                };
                coldest_of(&truth)?.1
            }
            Case::Glass => {
                let pane = Pane {
                    thickness: chance.between(1.0, 5.0),
                    index: 1.5,
                    absorption: chance.between(0.0, 0.03),
                };
                let straight = 0.923 * (-pane.absorption * pane.thickness).exp();
                // as somebody measures it, to 2 % (k = 2)
                let percent = 100.0 * straight * (1.0 + 0.01 * chance.normal());
                let bond = Some(Bond {
                    lies: Lying::Level,
                    behind: Some(Substrate {
                        percent: percent.min(100.0),
                        uncertainty_percent: 2.0,
                        index: 1.5,
                        thickness: pane.thickness,
                    }),
                });
                told.sites.iter_mut().for_each(|s| s.bond = bond.clone());
                let truth = Truth {
                    pane: Some(pane),
                    ..bare(None)
                };
                coldest_of(&truth)?.1
            }
            Case::Neighbours => {
                let above = 6.0;
                told.sites
                    .iter_mut()
                    .for_each(|s| s.top = Some(height + above));
                let truth = bare(None);
                let mut coldest = f64::INFINITY;
                for (i, site) in sites.iter().enumerate() {
                    let others = sites.iter().enumerate().filter(|(j, _)| *j != i);
                    let others = others.map(|(_, s)| solid(&s.footprint, height + real * above));
                    let value = truth.coldest(&site.footprint, others.collect());
                    coldest = coldest.min(value.ok_or("no beams")?);
                }
                coldest
            }
        };
        let (spots, said) = assessed(&fit, &told)?;
        rows.push(Row {
            kind,
            seed,
            case,
            truth,
            estimate: spots.coldest.1.irradiance,
            bound: spots.coldest.1.at_least.unwrap_or(f64::NAN),
            open_bound,
            said,
        });
    }
    Ok(rows)
}
