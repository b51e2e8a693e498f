//! The running program without its window: the document and its past, what is computed from it, what
//! is being asked and said. The window reads a [`Session`] and sends it [`Command`]s; one `match`
//! handles them. Nothing here reads a clock: the window says what day it is.

mod answers;
mod asking;
mod background;
mod bench;
mod change;
mod command;
mod disk;
mod history;
mod import;
mod keeper;
mod keeping;
mod logging;
mod looking;
mod notice;
mod placing;
mod planning;
mod profile;
mod question;
mod repeating;
mod settings;
mod standing;
mod steps;
mod upkeep;

pub use answers::{Answers, TrialsTold, Wanted};
pub use background::Same;
pub use bench::Awaited;
pub use change::Compared;
pub use command::{ACTIONS, Action, ActionText, Command, Reply};
pub use disk::{OpenFile, sample};
pub use history::{Gesture, History};
pub use import::{Filling, Import, Outcome};
pub use keeping::{Keep, LeftUnsaved};
pub use looking::{Along, ColourRanges, MapOf};
pub use notice::{Notice, Tone};
pub use placing::{Placing, PlacingAnswers};
pub use planning::{Gap, PlanFigures, Planning, Trial, Tried};
pub use profile::{Profile, ProfileLine};
pub use question::{Question, Wish};
pub use settings::SettingsFile;
pub use steps::{Step, StepState};

use std::sync::Arc;

use jiff::civil::{Date, DateTime};
use jiff::{Timestamp, ZonedDateTime};

use crate::assess::Answer;
use crate::assess::limits::Judged;
use crate::change::usual_pair;
use crate::export::Arranged;
use crate::export::bundle::Sheets;
use crate::files::{JournalLine, Preferences, Trail, TrailGap};
use crate::geometry::Point;
use crate::probing::plate::Plates;
use crate::station::{Checked, Edit, Finding, PlanLayout, Station, Survey, Where};
use crate::work::{Held, Wake};
use asking::Asking;
use disk::Disk;
use keeping::Keeping;
use looking::Looking;
use standing::Standing;

/// The running program.
pub struct Session {
    history: History,
    checked: Checked,
    findings: Arc<Vec<Finding>>,
    disk: Disk,
    keeping: Keeping,
    import: Option<Import>,
    wake: Wake,
    answers: Answers,
    standing: Standing,
    sheets: Sheets,
    arrangements: Vec<Arc<Arranged>>,
    preferences: Preferences,
    today: Date,
    clock: Option<ZonedDateTime>,
    looking: Looking,
    asking: Asking,
}

impl Session {
    /// A session on a station that has no file yet.
    pub fn new(station: Station, preferences: Preferences, today: Date, wake: Wake) -> Self {
        let station = Arc::new(station);
        let mut checked = Checked::default();
        let findings = Arc::new(checked.again(&station, preferences.units()));
        let mut session = Self {
            standing: Standing::new(
                &station,
                &station,
                None,
                Sheets::ALL,
                &findings,
                (false, false),
            ),
            sheets: Sheets::ALL,
            arrangements: Vec::new(),
            checked,
            findings,
            disk: Disk::new(station.clone(), wake.clone()),
            history: History::new(station),
            keeping: Keeping::default(),
            import: None,
            answers: Answers::new(&wake),
            preferences,
            today,
            clock: None,
            wake,
            looking: Looking::default(),
            asking: Asking::default(),
        };
        session.look_at_newest();
        session
    }

    /// A session on the built-in sample, which says so.
    pub fn on_sample(preferences: Preferences, today: Date, wake: Wake) -> Self {
        let mut session = Self::new(sample(), preferences, today, wake);
        session.disk.is_sample = true;
        session.looking.step = Step::Field;
        session.asking.notice = Some(sample_notice());
        session
    }

    // What the window reads.

    /// The document.
    pub fn station(&self) -> &Arc<Station> {
        self.history.now()
    }

    /// What is odd about it.
    pub fn findings(&self) -> &[Finding] {
        &self.findings
    }

    /// Whether the document was changed since it was saved, or its file may hold something else.
    pub fn is_changed(&self) -> bool {
        self.standing.is_changed() || self.disk.is_unsure()
    }

    /// What undo would take back, and what redo would make again.
    pub fn undo_names(&self) -> (Option<&str>, Option<&str>) {
        (self.history.undo_name(), self.history.redo_name())
    }

    /// What is computed from the document.
    pub fn answers(&self) -> &Answers {
        &self.answers
    }

    /// This person's settings.
    pub fn preferences(&self) -> &Preferences {
        &self.preferences
    }

    /// The step that is shown.
    pub fn step(&self) -> Step {
        self.looking.step
    }

    /// The survey that is shown.
    pub fn survey(&self) -> Option<(usize, &Survey)> {
        let index = self.looking.survey?;
        Some((index, self.station().survey_at(index)?))
    }

    /// The height of the map, mm. The step Limits has one of its own: that of the coldest part that is judged, until
    /// another is chosen there.
    pub fn height(&self) -> f64 {
        match self.looking.step {
            Step::Limits => (self.looking.height_in_limits)
                .or(self.deciding_height())
                .unwrap_or(self.looking.height),
            _ => self.looking.height,
        }
    }

    /// The height of the coldest part that is held against the lower limit, mm; `None` without a verdict.
    pub fn deciding_height(&self) -> Option<f64> {
        let judged = self.answers.answer().any()?.judged()?;
        Some(judged.coldest.at.height)
    }

    /// Whether the map of the step Limits follows the height of the coldest part.
    pub fn is_at_coldest(&self) -> bool {
        self.looking.height_in_limits.is_none()
    }

    /// Whether positions to measure next were asked for.
    pub fn is_proposing(&self) -> bool {
        self.looking.proposing
    }

    /// What the map is to show.
    pub fn map_of(&self) -> MapOf {
        match self.looking.map_of {
            MapOf::Brightness if self.looking.step != Step::Field => MapOf::Irradiance,
            shown => shown,
        }
    }

    /// Whether the map leaves out what stands in the light's way.
    pub fn is_in_the_open(&self) -> bool {
        self.looking.in_the_open
    }

    /// From where to where the colours of maps go where they are fixed.
    pub fn colours(&self) -> ColourRanges {
        self.looking.colours
    }

    /// Whether the height is being moved.
    pub fn is_sliding(&self) -> bool {
        self.looking.sliding
    }

    /// The cross on the plan.
    pub fn cross(&self) -> Option<Point> {
        self.looking.cross
    }

    /// The pattern of positions that is tried out beside the plan, and the raster.
    pub fn trial(&self) -> Trial {
        self.looking.trial
    }

    /// What is asked of a placement.
    pub fn placing(&self) -> Placing {
        (self.looking.placing.clone()).unwrap_or_else(|| Placing::begin(self.station()))
    }

    /// Whether the usable part of the pallet is drawn in this step: in the step Fixture only where somebody asked for it.
    pub fn shows_usable(&self) -> bool {
        let placing = self.looking.placing.as_ref();
        match self.looking.step {
            Step::Placement => placing.is_none_or(|placing| placing.usable),
            Step::Fixture => placing.is_some_and(|placing| placing.usable),
            _ => false,
        }
    }

    /// Arrangements that are kept side by side.
    pub fn arrangements(&self) -> &[Arc<Arranged>] {
        &self.arrangements
    }

    /// The arrangement that is looked at, once all of it is there: a kept one, else that which is asked for.
    pub fn arranged(&self) -> Option<Arc<Arranged>> {
        let kept = self
            .shown_arrangement()
            .and_then(|i| self.arrangements.get(i));
        let asked = || self.answers.placing().placed().current();
        kept.or_else(asked).cloned()
    }

    /// The arrangement that is seen: a kept one, else that which is asked for, the best so far until all of it is there.
    pub fn arrangement_seen(&self) -> Option<Arc<Arranged>> {
        let kept = self.shown_arrangement();
        let kept = kept.and_then(|i| self.arrangements.get(i).cloned());
        let is_asked = self.placing().go;
        let asked = || self.answers.placing().seen().filter(|_| is_asked);
        kept.or_else(asked)
    }

    /// The kept arrangement that is shown instead of what is asked for.
    pub fn shown_arrangement(&self) -> Option<usize> {
        self.looking
            .arrangement
            .filter(|i| *i < self.arrangements.len())
    }

    /// Along which line through the cross the field is shown.
    pub fn along(&self) -> Along {
        self.looking.along
    }

    /// How far a step is.
    pub fn state_of(&self, step: Step) -> StepState {
        self.standing.state_of(step)
    }

    /// The sheets that the person wants exported.
    pub fn sheets(&self) -> Sheets {
        self.sheets
    }

    /// The first and the last day of the log that is shown on paper.
    pub fn period(&self) -> (Option<Date>, Option<Date>) {
        self.looking.period
    }

    /// The wanted sheets that can be made: what an export writes.
    pub fn sheets_to_write(&self) -> Sheets {
        let (wanted, possible) = (self.sheets, self.possible_sheets());
        Sheets {
            map: wanted.map && possible.map,
            plan: wanted.plan && possible.plan,
            plate: wanted.plate && possible.plate,
            sheet: wanted.sheet && possible.sheet,
            placement: wanted.placement && possible.placement,
            readings: wanted.readings && possible.readings,
            field: wanted.field && possible.field,
            summary: wanted.summary && possible.summary,
            log: wanted.log && possible.log,
            report: wanted.report && possible.report,
        }
    }

    /// The sheets that can be made of the document as it is: the plan and a station sheet with blanks as soon as there are
    /// positions, the readings as soon as there are rows, the others from readings that make a field.
    pub fn possible_sheets(&self) -> Sheets {
        let failed = matches!(self.answers.fit(), Held::Failed(..))
            || matches!(self.answers.answer(), Held::Failed(..));
        let read = |(_, survey): (usize, &Survey)| {
            let mut readings = survey.readings.iter();
            readings.any(|reading| reading.counted().is_some())
        };
        let field = !failed && self.survey().is_some_and(read);
        Sheets {
            map: field,
            plan: self.standing.is_planned(),
            plate: self.standing.is_planned() && Plates::are_drawn_of(self.station()),
            sheet: field || self.standing.is_planned(),
            placement: field,
            readings: self.survey().is_some_and(|(_, of)| !of.readings.is_empty()),
            field,
            summary: field,
            log: !self.station().upkeep().log.is_empty(),
            report: self.station().papers.is_some(),
        }
    }

    /// What there is to say.
    pub fn notice(&self) -> Option<&Notice> {
        self.asking.notice.as_ref()
    }

    /// The day, as the window said it.
    pub fn today(&self) -> Date {
        self.today
    }

    /// Which surveys are held against each other, earlier and later; `None`: there are not two.
    pub fn compared(&self) -> Option<(usize, usize)> {
        let count = self.station().surveys.len();
        (self.looking.compared)
            .filter(|(a, b)| a != b && *a < count && *b < count)
            .or_else(|| usual_pair(self.station()))
    }

    /// Whether the survey that is shown is read at the bench, stop by stop.
    pub fn is_at_bench(&self) -> bool {
        self.looking.at_bench && self.looking.step == Step::Readings && self.survey().is_some()
    }

    /// Whether the short check is wanted.
    pub fn wants_short_check(&self) -> bool {
        self.looking.short_check
    }

    /// Where a finding was clicked; given out once, to the panel that can show it.
    pub fn take_go_to(&mut self) -> Option<Where> {
        self.asking.go_to.take()
    }

    /// Where a finding was clicked, for panels that look before they take.
    pub fn go_to(&self) -> Option<&Where> {
        self.asking.go_to.as_ref()
    }

    /// Once a frame: takes in what has ended and asks for what is shown.
    pub fn update(&mut self) {
        self.collect_disk();
        self.collect_log();
        self.collect_keeping();
        if let Some(import) = &mut self.import {
            import.collect();
        }
        self.ask();
        if self.follow_coldest() {
            // the line is that through the cross where it is now
            self.ask();
        }
        self.stand();
    }

    /// Asks for what is shown.
    fn ask(&mut self) {
        let station = self.history.now().clone();
        let placing = match self.looking.step {
            Step::Placement => Some(self.placing()),
            // while sites are moved the usable part of the pallet is seen, where somebody asked for it
            Step::Fixture if self.shows_usable() => Some(self.placing()),
            _ => None,
        };
        self.answers.update(Wanted {
            station: &station,
            findings: &self.findings,
            survey: self.looking.survey,
            height: self.height(),
            sliding: self.looking.sliding,
            in_the_open: self.looking.in_the_open,
            cross: self.looking.cross,
            along: self.looking.along,
            next: self.looking.proposing && self.looking.step == Step::Field,
            map_of: self.map_of(),
            units: self.preferences.units(),
            outlook: matches!(self.looking.step, Step::Limits | Step::Upkeep),
            upkeep: (self.looking.step == Step::Upkeep).then_some(self.today),
            touched: self.looking.touched,
            compared: (self.compared()).filter(|_| self.looking.step == Step::Change),
            short_check: self.looking.short_check,
            repeat: self.looking.step == Step::Readings,
            at_bench: self.is_at_bench(),
            trial: (self.looking.step == Step::Plan).then_some(self.looking.trial),
            placing: placing.as_ref(),
            arranging: self.looking.step == Step::Placement,
        });
    }

    /// Puts a cross that nobody has put where the coldest spot is now; whether it was elsewhere.
    fn follow_coldest(&mut self) -> bool {
        if self.looking.cross_chosen {
            return false;
        }
        let coldest = self.answer().map(|answer| answer.coldest.at.point());
        let is_new = coldest.is_some() && self.looking.cross != coldest;
        self.looking.cross = coldest.or(self.looking.cross);
        is_new
    }

    /// Looks at how the document stands, after anything that may have changed it.
    fn stand(&mut self) {
        let possible = self.possible_sheets();
        // a station without log or record misses nothing
        let wanted = Sheets {
            log: self.sheets.log && possible.log,
            report: self.sheets.report && possible.report,
            ..self.sheets
        };
        self.standing.renew(
            self.history.now(),
            self.disk.saved(),
            self.disk.exported(),
            wanted,
            &self.findings,
            (self.answer().is_some(), self.judged().is_some()),
        );
    }

    /// The answer, of this very document and the survey that is shown.
    pub fn answer(&self) -> Option<&Answer> {
        let answer = self
            .answers
            .answer_of(self.station(), self.looking.survey)?;
        Some(&**answer)
    }

    /// The field held against the limits, of this very document.
    pub fn judged(&self) -> Option<&Judged> {
        let answer = self.answer()?;
        answer.judged.as_ref()?.as_ref().ok()
    }

    /// Whether anything is being worked on.
    pub fn is_working(&self) -> bool {
        let answers = &self.answers;
        answers.is_updating() || answers.is_looking_further() || self.is_at_files()
    }

    // What the window asks for.

    /// Says what day it is: what is frozen, begun or logged from now on has this date.
    pub fn set_today(&mut self, today: Date) {
        self.today = today;
    }

    /// Says what time it is: what is saved from now on says so in its trail, what is logged is of that time.
    pub fn set_now(&mut self, now: ZonedDateTime) {
        self.clock = Some(now);
    }

    /// The time by the clock on the wall, whole minutes; noon of the day where nobody has said the time.
    pub fn now(&self) -> DateTime {
        let Some(clock) = &self.clock else {
            return self.today.at(12, 0, 0, 0);
        };
        let now = clock.datetime();
        now.date().at(now.hour(), now.minute(), 0, 0)
    }

    /// When something is saved.
    fn saved_at(&self) -> Timestamp {
        let clock = self.clock.as_ref().map(ZonedDateTime::timestamp);
        clock.unwrap_or(Timestamp::UNIX_EPOCH)
    }

    /// What does not fit in the trail of the document's file, as it was when it was opened or saved.
    pub fn gaps(&self) -> &[TrailGap] {
        self.disk.gaps()
    }

    /// Who saved the document when, as its file says.
    pub fn trail(&self) -> &Arc<Trail> {
        self.disk.trail()
    }

    /// Does what is asked.
    pub fn handle(&mut self, command: Command) {
        self.obey(command);
        self.stand();
    }

    fn obey(&mut self, command: Command) {
        match command {
            Command::Edit(edit) => self.edit(edit, None),
            Command::Drag(edit, gesture) => self.edit(edit, Some(gesture)),
            Command::GiveUp(gesture) => {
                if self.go_over(|history| history.give_up(gesture)) {
                    // what was said of the gesture is not so any more
                    self.asking.notice.take_if(|notice| notice.text == BY_HAND);
                }
            }
            Command::Undo => {
                self.go_over(History::undo);
            }
            Command::Redo => {
                self.go_over(History::redo);
            }
            Command::New | Command::OpenSample | Command::Open(_) | Command::Quit => {
                self.leave_for(command);
            }
            Command::Save => self.save(),
            Command::SaveAs { path, replace } => self.save_as(path, replace),
            Command::NoSavePath => self.save_nowhere(),
            Command::Import(path) => self.look_into(path),
            Command::Understand(understanding) => {
                if let Some(import) = &mut self.import {
                    import.understand(understanding);
                }
            }
            Command::CutImport(cut) => {
                if let Some(import) = &mut self.import {
                    import.cut(cut);
                }
            }
            Command::FinishImport => self.finish_import(),
            Command::FillFromImport => self.fill_from_import(),
            Command::GiveUpImport => self.put_import_away(),
            Command::ChooseSheets(sheets) => self.sheets = sheets,
            Command::ChoosePeriod(from, to) => self.looking.period = (from, to),
            Command::Export(folder) => self.export(folder),
            Command::CancelExport => self.disk.cancel_export(),
            Command::LookAtFile => self.disk.look_at_file(),
            Command::Reply(reply) => self.reply(reply),
            Command::Go(step) => self.looking.step = step,
            Command::GoTo(place) => {
                self.looking.step = Step::of(&place);
                if let Where::Survey(survey, _) | Where::Reading(survey, _) = place {
                    self.show_survey(survey);
                }
                self.asking.go_to = Some(place);
            }
            Command::ShowSurvey(index) => self.show_survey(index),
            Command::SetHeight { height, sliding } => {
                if height.is_finite() && self.looking.step == Step::Limits {
                    self.looking.height_in_limits = Some(height);
                } else if height.is_finite() {
                    self.looking.height = height;
                    self.looking.height_chosen = true;
                }
                self.looking.sliding = sliding;
            }
            Command::Compare(from, to) => self.looking.compared = Some((from, to)),
            Command::ReadAtBench(on) => self.looking.at_bench = on,
            Command::FindShortCheck => self.looking.short_check = true,
            Command::FindTouched => self.looking.touched = true,
            Command::ImportLog(path) => self.disk.read_log(path),
            Command::HeightOfColdest => self.looking.height_in_limits = None,
            Command::ProposeNext => self.looking.proposing = true,
            Command::ShowMapOf(what) => self.looking.map_of = what,
            Command::ShowInTheOpen(open) => self.looking.in_the_open = open,
            Command::FixColours(what, range) => self.looking.colours.fix(what, range),
            Command::SetCross(point) => {
                if point.x.is_finite() && point.y.is_finite() {
                    let fixture = self.station().fixture.footprint();
                    self.looking.cross = Some(fixture.nearest_inside(point));
                    self.looking.cross_chosen = true;
                }
            }
            Command::ShowAlong(along) => self.looking.along = along,
            Command::Try(trial) => self.looking.trial = trial,
            Command::Place(placing) => {
                self.looking.placing = Some(*placing);
                self.looking.arrangement = None;
            }
            Command::KeepArrangement => {
                let found = self.answers.placing().placed().current().cloned();
                let new =
                    found.filter(|found| !self.arrangements.iter().any(|a| Arc::ptr_eq(a, found)));
                self.arrangements.extend(new);
            }
            Command::DropArrangement(index) => {
                if index < self.arrangements.len() {
                    self.arrangements.remove(index);
                    self.looking.arrangement = None;
                }
            }
            Command::ShowArrangement(which) => self.looking.arrangement = which,
            Command::Prefer(preferences) => {
                self.preferences = preferences;
                self.look_for_findings();
            }
            Command::DismissNotice => self.asking.notice = None,
        }
    }

    /// Goes over what was done, back or forth; whether there was anything.
    fn go_over(&mut self, way: impl FnOnce(&mut History) -> bool) -> bool {
        let before = self.station().clone();
        let went = way(&mut self.history);
        if went {
            self.changed();
            self.keep_other(&before);
        }
        went
    }

    fn edit(&mut self, edit: Edit, gesture: Option<Gesture>) {
        let adds_survey = matches!(edit, Edit::AddSurvey(_));
        let leaves_rows = matches!(edit, Edit::MovePosition(..))
            && matches!(self.station().plan.layout, PlanLayout::Grid { .. });
        match self.history.apply(edit.clone(), gesture, self.today) {
            Ok(true) => {
                self.keep(JournalLine::Edit(Box::new(edit), gesture, self.today));
                self.changed();
                if leaves_rows {
                    self.asking.notice = Some(Notice::done(BY_HAND));
                }
                if adds_survey {
                    self.show_survey(self.station().surveys.len().saturating_sub(1));
                }
            }
            Ok(false) => {}
            Err(refused) => self.asking.notice = Some(Notice::trouble(refused.to_string())),
        }
    }

    fn changed(&mut self) {
        self.look_for_findings();
        if self
            .looking
            .survey
            .is_none_or(|i| i >= self.station().surveys.len())
        {
            self.looking.survey = self.station().newest_survey();
        }
        if !self.looking.height_chosen {
            self.looking.height = self.usual_height();
        }
        if let Some(cross) = self.looking.cross {
            // a fixture that became smaller takes the cross with it
            self.looking.cross = Some(self.station().fixture.footprint().nearest_inside(cross));
        }
    }

    /// What is odd, said in this person's units.
    fn look_for_findings(&mut self) {
        let units = self.preferences.units();
        self.findings = Arc::new(self.checked.again(self.history.now(), units));
    }

    /// Where the parts are; without parts, where the newest readings are, or will be.
    fn usual_height(&self) -> f64 {
        let station = self.station();
        let of_sites = station.sites.first().map(|group| group.height);
        let of_readings = || {
            let survey = station.survey_at(self.looking.survey?)?;
            crate::assess::heights_of(survey).first().copied()
        };
        of_sites
            .or_else(of_readings)
            .or(station.plan.heights.first().copied())
            .unwrap_or(0.0)
    }

    /// Another document has come: look at its newest survey, at the height where its parts are.
    fn look_at_newest(&mut self) {
        // nothing of another document is shown as an older picture of this one
        self.answers = Answers::new(&self.wake);
        self.looking.survey = self.station().newest_survey();
        self.looking.height_chosen = false;
        self.looking.height_in_limits = None;
        self.looking.cross = None;
        self.looking.cross_chosen = false;
        self.looking.trial.pattern = None;
        self.looking.placing = None;
        self.looking.arrangement = None;
        self.arrangements.clear();
        self.looking.proposing = false;
        self.looking.compared = None;
        self.looking.short_check = false;
        self.looking.touched = false;
        self.looking.period = (None, None);
        self.looking.map_of = MapOf::default();
        self.looking.colours = ColourRanges::default();
        self.changed();
    }

    fn show_survey(&mut self, index: usize) {
        if index < self.station().surveys.len() {
            self.looking.survey = Some(index);
        }
    }

    fn take_document(&mut self, station: Arc<Station>, step: Step) {
        self.history = History::new(station);
        self.looking.step = step;
        self.look_at_newest();
        self.begin_journal();
    }
}

/// What is said when one position of rows and columns was moved.
const BY_HAND: &str = "The positions are placed by hand from now on: one of them has left its rows and columns. Undo brings these back";

/// What the sample is.
fn sample_notice() -> Notice {
    Notice::done(
        "This is the worked sample: try anything on it, or begin your own station with File, New station",
    )
}
