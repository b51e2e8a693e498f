//! Why a verdict is as it is, in plain sentences.

use super::{Judged, Scale, Verdict, down, up};
use crate::assess::Answer;
use crate::assess::no_bound::no_bound;
use crate::assess::warnings::missed;
use crate::station::{GoverningRule, named};

impl Judged {
    /// Why the verdict is as it is: plain sentences, with irradiances as `show` says them.
    pub fn reasons(&self, show: &dyn Fn(f64) -> String) -> Vec<String> {
        let mut said = Vec::new();
        let allowed = |used: bool| if used { ", allowances taken off," } else { "" };
        let c = &self.coldest;
        let limit = show(c.limit.value);
        let left = down(self.allowances);
        said.push(match (c.bounds.at_least, c.bounds.at_most) {
            (_, Some(most)) if most < c.limit.value => format!(
                "The coldest spot is at most {} with 95 % confidence, below the lower limit {limit}",
                show(most)
            ),
            (Some(least), _) if least * left >= c.limit.value => format!(
                "The assured minimum {}{} is at or above the lower limit {limit}",
                show(least * left),
                allowed(left < 1.0)
            ),
            (Some(least), Some(most)) => format!(
                "The lower limit {limit} can neither be called met nor missed: with 95 % confidence the coldest spot is above {}{} and below {}",
                show(least * left),
                allowed(left < 1.0).trim_end_matches(','),
                show(most)
            ),
            _ => self.no_bound("coldest", c.limit.scale),
        });
        if let Some(h) = &self.hottest {
            let limit = show(h.limit.value);
            let grown = up(self.allowances);
            said.push(match (h.bounds.at_least, h.bounds.at_most) {
                (Some(least), _) if least > h.limit.value => format!(
                    "The hottest spot is at least {} with 95 % confidence, above the upper limit {limit}",
                    show(least)
                ),
                (_, Some(most)) if most * grown <= h.limit.value => format!(
                    "The assured maximum {}{} is at or below the upper limit {limit}",
                    show(most * grown),
                    if grown > 1.0 { ", the allowance put on," } else { "" }
                ),
                (Some(least), Some(most)) => format!(
                    "The upper limit {limit} can neither be called met nor missed: with 95 % confidence the hottest spot is above {} and below {}",
                    show(least),
                    show(most * grown)
                ),
                _ => self.no_bound("hottest", h.limit.scale),
            });
        }
        match self.rule {
            GoverningRule::ColdestReading => said.push(
                "The coldest reading alone governs: it can fail a limit and never prove that one is met"
                    .to_owned(),
            ),
            GoverningRule::LowerOfReadingAndSpot => {
                let figure = self.reading.0.min(c.estimate);
                if figure * left < c.limit.value && self.verdict == Verdict::NotProven {
                    said.push(format!(
                        "By the rule the lower of coldest reading and coldest spot counts too: {}",
                        show(figure)
                    ));
                }
            }
            GoverningRule::AssuredMinimum => {}
        }
        said.extend(self.flattery(show));
        if self.verdict == Verdict::Meets {
            said.extend(self.less_sure.clone());
        }
        if self.verdict == Verdict::NotProven {
            said.extend(self.misses.map(missed));
        }
        match self.added {
            0 => {}
            1 => said.push("One of the readings was added to settle the verdict".to_owned()),
            n => said.push(format!(
                "{n} of the readings were added to settle the verdict"
            )),
        }
        said
    }

    fn no_bound(&self, which: &str, scale: Scale) -> String {
        if scale == Scale::Absolute && !self.calibrated {
            format!(
                "There is no absolute bound of the {which} spot: the uncertainty of the radiometer's calibration is not known; choose the survey's radiometer, and enter it from its certificate"
            )
        } else {
            format!(
                "There is no bound of the {which} spot: {}",
                no_bound(self.family, self.unproven_at_bond)
            )
        }
    }

    /// That the coldest reading would pass and the coldest spot does not; `None` where it is not so.
    pub fn flattery(&self, show: &dyn Fn(f64) -> String) -> Option<String> {
        self.reading_flatters.then(|| {
            format!(
                "The coldest reading, {} at {}, would pass; the coldest spot, {}, does not: the reading flatters the parts by {:.0} %",
                show(self.reading.0),
                named("position", &self.reading.1),
                show(self.coldest.estimate),
                100.0 * (self.reading.0 / self.coldest.estimate - 1.0)
            )
        })
    }

    /// The verdict of a site of the answer.
    pub fn of_site(&self, answer: &Answer, site: &str) -> Option<Verdict> {
        let index = answer.sites.iter().position(|s| s.site == site)?;
        self.sites.get(index).copied()
    }
}
