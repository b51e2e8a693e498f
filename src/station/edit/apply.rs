//! How an edit is made: everything is looked at before anything is changed.
//!
//! A change of frozen limits is put on record by [`Station::apply_on`], which is told the day; no edit can take the record
//! away. A plan whose heights are those it began with follows the bond lines until there is a survey; the first radiometer is
//! taken for it.

use super::{Edit, Refused};
use jiff::civil::Date;

use crate::geometry::Point;
use crate::station::frozen::Terms;
use crate::station::limits::{Change, Frozen, Limits};
use crate::station::numbers::{self, Fault};
use crate::station::sound::count_of_sites;
use crate::station::trials::Wrong;
use crate::station::{Plan, PlanLayout, Plate, Radiometer, Reading, SiteGroup, Station, Survey};

impl Refused {
    fn new(what: impl std::fmt::Display, mend: impl std::fmt::Display) -> Self {
        Self(format!("{what}; {mend}"))
    }
}

impl From<Fault> for Refused {
    fn from((what, mend): Fault) -> Self {
        Self::new(what, mend)
    }
}

impl From<(&str, Fault)> for Refused {
    fn from((_, fault): (&str, Fault)) -> Self {
        fault.into()
    }
}

fn there<T>(all: &[T], index: usize, what: &str) -> Result<(), Refused> {
    if index < all.len() {
        Ok(())
    } else {
        Err(Refused::new(
            format_args!("there is no {what} {}", index.saturating_add(1)),
            "choose another one",
        ))
    }
}

fn replace<T>(all: &mut [T], index: usize, what: &str, item: T) -> Result<(), Refused> {
    there(all, index, what)?;
    all[index] = item;
    Ok(())
}

fn remove<T>(all: &mut Vec<T>, index: usize, what: &str) -> Result<T, Refused> {
    there(all, index, what)?;
    Ok(all.remove(index))
}

/// All but the one at an index.
fn without<T>(all: &[T], index: usize) -> impl Iterator<Item = &T> {
    let (before, after) = all.split_at(index.min(all.len()));
    before.iter().chain(after.iter().skip(1))
}

/// Whether a name may be taken; `others` are those of the rest.
fn name_free<'a>(
    what: &str,
    name: &str,
    mut others: impl Iterator<Item = &'a String>,
) -> Result<(), Refused> {
    if name.trim().is_empty() {
        Err(Refused::new(
            format_args!("the {what} has no name"),
            "give it one",
        ))
    } else if others.any(|other| other == name) {
        Err(Refused::new(
            format_args!("there is a {what} called {name} already"),
            "choose another name",
        ))
    } else {
        Ok(())
    }
}

fn sound_readings(readings: &[Reading]) -> Result<(), Refused> {
    Ok(readings.iter().try_for_each(Reading::sound)?)
}

const SITES: &str = "group of sites";
const KEEP_OUT: &str = "keep-out";
const RADIOMETER: &str = "radiometer";
const SURVEY: &str = "survey";

impl Station {
    /// Makes the change.
    ///
    /// # Errors
    /// [`Refused`] when a number is not finite or can't be, a size is not above zero, a name that
    /// must be unique is taken or empty, or an index points at nothing. The station is then as it
    /// was.
    pub fn apply(&mut self, edit: Edit) -> Result<(), Refused> {
        self.apply_on(edit, None)
    }

    /// As [`apply`](Self::apply), on a day: a change of frozen limits is put on record with it.
    ///
    /// # Errors
    /// As [`apply`](Self::apply).
    pub fn apply_on(&mut self, edit: Edit, day: Option<Date>) -> Result<(), Refused> {
        let before = Terms::frozen(self);
        let begun = (
            self.heights_to_begin_with(),
            self.layout_to_begin_with(),
            self.plate_to_begin_with(),
        );
        self.make(edit, day)?;
        self.plan_begins_again(&begun.0, &begun.1, begun.2);
        if let Some(before) = before {
            self.put_on_record(&before, day);
        }
        Ok(())
    }

    fn make(&mut self, edit: Edit, day: Option<Date>) -> Result<(), Refused> {
        match edit {
            Edit::Rename(name) => self.name = name,
            Edit::SetNotes(notes) => self.notes = notes,
            Edit::SetSource(source) => {
                source.sound()?;
                self.source = source;
            }
            Edit::SetFixture(fixture) => {
                fixture.sound()?;
                self.fixture = fixture;
            }
            Edit::AddSites(group) => {
                self.sites_may_be(self.sites.len(), &group)?;
                self.sites.push(group);
            }
            Edit::SetSites(index, group) => {
                self.sites_may_be(index, &group)?;
                replace(&mut self.sites, index, SITES, group)?;
            }
            Edit::RemoveSites(index) => {
                remove(&mut self.sites, index, SITES)?;
            }
            Edit::ArrangeSites(groups) => {
                groups.iter().try_for_each(SiteGroup::sound)?;
                count_of_sites(groups.iter())?;
                self.sites = groups;
            }
            Edit::MoveSites(index, by) => {
                there(&self.sites, index, SITES)?;
                let moved = moved(self.sites[index].clone(), by);
                moved.sound()?;
                self.sites[index] = moved;
            }
            Edit::AddKeepOut(keep_out) => {
                keep_out.sound()?;
                self.keep_outs.push(keep_out);
            }
            Edit::SetKeepOut(index, keep_out) => {
                keep_out.sound()?;
                replace(&mut self.keep_outs, index, KEEP_OUT, keep_out)?;
            }
            Edit::RemoveKeepOut(index) => {
                remove(&mut self.keep_outs, index, KEEP_OUT)?;
            }
            Edit::AddRadiometer(radiometer) => {
                self.radiometer_may_be(self.radiometers.len(), &radiometer)?;
                if self.radiometers.is_empty() && self.plan.radiometer.is_none() {
                    // the only one there is will be what one measures with
                    self.plan.radiometer = Some(radiometer.name.clone());
                }
                self.radiometers.push(radiometer);
            }
            Edit::SetRadiometer(index, radiometer) => {
                there(&self.radiometers, index, RADIOMETER)?;
                self.radiometer_may_be(index, &radiometer)?;
                let name = radiometer.name.clone();
                let before = std::mem::replace(&mut self.radiometers[index], radiometer);
                self.upkeep_follows(&before.name, &name);
                self.plan_follows(&before.name, Some(name));
            }
            Edit::RemoveRadiometer(index) => {
                let gone = remove(&mut self.radiometers, index, RADIOMETER)?;
                self.plan_follows(&gone.name, None);
            }
            Edit::SetPlan(plan) => {
                plan.sound()?;
                self.plan = plan;
            }
            Edit::MovePosition(index, to) => {
                numbers::point("position", to)?;
                let mut positions = self.positions();
                there(&positions, index, "position")?;
                positions[index].at = to;
                self.plan.layout = PlanLayout::ByHand(positions);
            }
            Edit::AddPosition { position, survey } => {
                if let Some(survey) = survey {
                    there(&self.surveys, survey, SURVEY)?;
                }
                let mut positions = self.positions();
                if positions.iter().any(|p| p.name == position.name) {
                    return Err(Refused(format!(
                        "The plan has a position {} already; choose another name",
                        position.name
                    )));
                }
                positions.push(position);
                let plan = Plan {
                    layout: PlanLayout::ByHand(positions),
                    ..self.plan.clone()
                };
                plan.sound()?;
                if let (Some(survey), PlanLayout::ByHand(positions)) = (survey, &plan.layout)
                    && let Some(position) = positions.last()
                {
                    let rows = plan.heights.iter().map(|&h| Reading {
                        position: position.name.clone(),
                        ..Reading::new(position.at.at_height(h), None)
                    });
                    self.surveys[survey].readings.extend(rows);
                }
                self.plan = plan;
            }
            Edit::AddSurvey(survey) => {
                self.survey_may_be(self.surveys.len(), &survey)?;
                sound_readings(&survey.readings)?;
                self.surveys.push(survey.into());
            }
            Edit::SetSurveyDetails(index, mut survey) => {
                there(&self.surveys, index, SURVEY)?;
                self.survey_may_be(index, &survey)?;
                survey.readings = std::mem::take(&mut self.surveys[index].readings);
                let before = self.surveys[index].name.clone();
                self.repeat_follows(&before, Some(&survey.name));
                self.surveys[index] = survey.into();
            }
            Edit::RemoveSurvey(index) => {
                let gone = remove(&mut self.surveys, index, SURVEY)?;
                self.repeat_follows(&gone.name, None);
            }
            Edit::InsertReadings {
                survey,
                row,
                readings,
            } => {
                there(&self.surveys, survey, SURVEY)?;
                sound_readings(&readings)?;
                let rows = &mut self.surveys[survey].readings;
                let row = row.min(rows.len());
                rows.splice(row..row, readings);
            }
            Edit::SetReadings {
                survey,
                row,
                readings,
                name: _,
            } => {
                there(&self.surveys, survey, SURVEY)?;
                sound_readings(&readings)?;
                let rows = &mut self.surveys[survey].readings;
                if row > rows.len() {
                    return Err(no_row(row));
                }
                let end = row.saturating_add(readings.len()).min(rows.len());
                rows.splice(row..end, readings);
            }
            Edit::RemoveReadings { survey, rows } => {
                there(&self.surveys, survey, SURVEY)?;
                let readings = &mut self.surveys[survey].readings;
                let mut keep = vec![true; readings.len()];
                for &row in &rows {
                    *keep.get_mut(row).ok_or_else(|| no_row(row))? = false;
                }
                let mut keep = keep.into_iter();
                readings.retain(|_| keep.next() != Some(false));
            }
            Edit::SetRepeat(study) => {
                self.repeat = study.filter(|study| !study.rounds.is_empty());
            }
            Edit::SetSettings(settings) => {
                settings
                    .sound()
                    .map_err(|(_, fault)| Refused::from(fault))?;
                self.settings = settings;
            }
            Edit::SetLimits(mut limits) => {
                limits.sound()?;
                let (frozen, record) = match self.limits.take() {
                    Some(before) => (before.frozen, before.record),
                    None => (None, Vec::new()),
                };
                limits.frozen = frozen;
                limits.record = record;
                self.limits = Some(limits);
            }
            Edit::RemoveLimits => {
                let limits = there_are_limits(&mut self.limits)?;
                if limits.frozen.is_some() || !limits.record.is_empty() {
                    return Err(Refused::new(
                        "the limits were frozen, and what was changed since is on record",
                        "change them instead of removing them",
                    ));
                }
                self.limits = None;
            }
            Edit::FreezeLimits => {
                let readings = self.readings_entered();
                let limits = there_are_limits(&mut self.limits)?;
                if limits.frozen.is_none() {
                    limits.frozen = Some(Frozen { on: day, readings });
                    let again = !limits.record.is_empty();
                    limits.record.extend(again.then(|| Change {
                        on: day,
                        what: "frozen again".to_owned(),
                    }));
                }
            }
            Edit::ThawLimits => {
                let limits = there_are_limits(&mut self.limits)?;
                if limits.frozen.take().is_some() {
                    limits.record.push(Change {
                        on: day,
                        what: "set free to be changed".to_owned(),
                    });
                }
            }
            Edit::SetTrials { trials, name: _ } => {
                if let Some(trials) = &trials {
                    trials
                        .sound()
                        .map_err(|(wrong, (what, mend))| match wrong {
                            Wrong::Field(_) => Refused::new(what, mend),
                            Wrong::Part(row) => {
                                Refused::new(format_args!("row {}: {what}", row + 1), mend)
                            }
                        })?;
                }
                self.trials = trials.map(|trials| *trials);
            }
            Edit::SetExposure(exposure) => {
                if let Some(exposure) = &exposure {
                    exposure.sound()?;
                }
                self.exposure = exposure;
            }
            Edit::AddToLog { entries, name: _ } => self.add_to_log(entries)?,
            Edit::SetInLog(index, entry) => self.set_in_log(index, entry)?,
            Edit::RemoveFromLog(rows) => self.remove_from_log(rows)?,
            Edit::SetUpkeep { upkeep, name: _ } => self.set_upkeep(*upkeep)?,
            Edit::SetPapers(papers) => self.papers = Some(papers),
        }
        Ok(())
    }

    fn sites_may_be(&self, index: usize, group: &SiteGroup) -> Result<(), Refused> {
        group.sound()?;
        Ok(count_of_sites(without(&self.sites, index).chain([group]))?)
    }

    fn radiometer_may_be(&self, index: usize, radiometer: &Radiometer) -> Result<(), Refused> {
        radiometer.sound()?;
        let others = without(&self.radiometers, index).map(|r| &r.name);
        name_free(RADIOMETER, &radiometer.name, others)
    }

    fn survey_may_be(&self, index: usize, survey: &Survey) -> Result<(), Refused> {
        survey.details_sound()?;
        let others = without(&self.surveys, index).map(|s| &s.name);
        name_free(SURVEY, &survey.name, others)
    }

    /// A plan whose heights are those it began with follows the bond lines, and one whose positions or plate are follows
    /// the outline, until something is measured by it.
    fn plan_begins_again(&mut self, heights: &[f64], layout: &PlanLayout, plate: Plate) {
        if !self.surveys.is_empty() {
            return;
        }
        if self.plan.heights == heights {
            self.plan.heights = self.heights_to_begin_with();
        }
        if self.plan.plate == Some(plate) {
            self.plan.plate = Some(self.plate_to_begin_with());
        }
        if self.plan.layout == *layout {
            self.plan.layout = self.layout_to_begin_with();
        }
    }

    /// The plan names the radiometer that it is made for: another name, or none, unless a second
    /// radiometer goes by the old one.
    fn plan_follows(&mut self, old: &str, new: Option<String>) {
        let still_there = self.radiometers.iter().any(|r| r.name == old);
        if self.plan.radiometer.as_deref() == Some(old) && !still_there {
            self.plan.radiometer = new;
        }
    }
}

fn there_are_limits(limits: &mut Option<Box<Limits>>) -> Result<&mut Limits, Refused> {
    limits
        .as_deref_mut()
        .ok_or_else(|| Refused::new("there are no limits", "set them first"))
}

fn moved(mut group: SiteGroup, by: Point) -> SiteGroup {
    group.move_by(by.x, by.y);
    group
}

fn no_row(row: usize) -> Refused {
    Refused::new(
        format_args!("there is no row {}", row.saturating_add(1)),
        "choose another one",
    )
}
