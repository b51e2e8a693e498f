//! New surveys: empty, or with a row for every planned place.

use eframe::egui::{Button, Ui};
use jiff::civil::Date;

use super::Panel;
use super::readings::begin;
use crate::geometry::Place;
use crate::probing::{self, Route};
use crate::session::{Command, Step};
use crate::station::{Edit, Reading, Station, Survey};

/// A survey of today without readings, under a name that is free.
pub(super) fn new_survey(station: &Station, today: Date) -> Survey {
    station.new_survey(&format!("Survey {today}"), today)
}

/// A survey of today with a reading to be taken at every stop of the plan's route.
fn survey_from_plan(station: &Station, today: Date) -> Survey {
    let (readings, reference) = Route::of(station).rows();
    Survey {
        readings,
        reference,
        ..new_survey(station, today)
    }
}

/// A row to fill in for each place by its name, in the order of a route through them.
pub(super) fn rows(places: &[(String, Place)]) -> Vec<Reading> {
    let at: Vec<Place> = places.iter().map(|(_, at)| *at).collect();
    let row = |stop: usize| Reading {
        position: places[stop].0.clone(),
        ..Reading::new(places[stop].1, None)
    };
    probing::route(&at).into_iter().map(row).collect()
}

/// Adds a survey with a row for every planned place and goes to its readings.
pub(super) fn prepare(ui: &mut Ui, panel: &mut Panel<'_>) {
    let (station, today) = (panel.session.station(), panel.session.today());
    let any = panel.session.possible_sheets().plan;
    let button = Button::new("Prepare a survey from the plan");
    let pressed = ui
        .add_enabled(any, button)
        .on_hover_text(
            "Adds a survey with a row for every stop of the route, the visits of the reference position among them",
        )
        .on_disabled_hover_text("The plan has no positions or no heights yet")
        .clicked();
    if pressed {
        let survey = survey_from_plan(station, today);
        add(panel, survey);
    }
}

/// Adds a survey with rows to fill in and goes to its readings.
pub(super) fn add(panel: &mut Panel<'_>, survey: Survey) {
    panel.send(Command::Edit(Edit::AddSurvey(survey)));
    panel.send(Command::Go(Step::Readings));
    begin(&mut panel.state.readings);
}
