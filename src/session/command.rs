//! What the window asks of the session, and the table of commands that menus, shortcuts and the
//! command search are made from.

use std::path::PathBuf;

use jiff::civil::Date;

use super::history::Gesture;
use super::looking::{Along, MapOf};
use super::placing::Placing;
use super::planning::Trial;
use super::steps::Step;
use crate::export::bundle::Sheets;
use crate::files::{Cut, Preferences, Understanding};
use crate::geometry::Point;
use crate::station::{Edit, Where};

/// Everything that can be asked of the session; one `match` handles it.
#[derive(Debug, Clone, PartialEq)]
pub enum Command {
    /// Change the document.
    Edit(Edit),
    /// Change the document as part of a gesture, so that one undo takes the whole gesture back.
    Drag(Edit, Gesture),
    /// Take back what the gesture has changed so far, without a step of undo.
    GiveUp(Gesture),
    /// Take the last change back.
    Undo,
    /// Make it again.
    Redo,
    /// Begin an empty station.
    New,
    /// Open the built-in sample.
    OpenSample,
    /// Open a station file.
    Open(PathBuf),
    /// Save where it came from; a station without a file asks for one.
    Save,
    /// Save under another name.
    SaveAs {
        /// Where; `.ron` is added when there is no extension.
        path: PathBuf,
        /// Whether a file that is there may be replaced.
        replace: bool,
    },
    /// The person gave no path to save at: what was to follow the save does not.
    NoSavePath,
    /// Look at a readings file, to import it.
    Import(PathBuf),
    /// Understand the file that is looked at otherwise.
    Understand(Understanding),
    /// Cut the text that is looked at otherwise into cells.
    CutImport(Cut),
    /// Import what is looked at as a new survey.
    FinishImport,
    /// Fill in the empty rows of the shown survey from what is looked at.
    FillFromImport,
    /// Import nothing.
    GiveUpImport,
    /// Export these sheets from now on.
    ChooseSheets(Sheets),
    /// Show this period of the log on paper: its first and its last day.
    ChoosePeriod(Option<Date>, Option<Date>),
    /// Write the chosen sheets into a folder, as far as they can be made; it is made when it is not there, and files that
    /// are there are asked about.
    Export(PathBuf),
    /// Look whether somebody else has changed the file; to be sent when the window is come back to.
    LookAtFile,
    /// Stop the export that runs.
    CancelExport,
    /// Leave the program.
    Quit,
    /// Answer the open question.
    Reply(Reply),
    /// Show a step.
    Go(Step),
    /// Show where a finding is.
    GoTo(Where),
    /// Show another survey.
    ShowSurvey(usize),
    /// Show the map at another height; in the step Limits only there.
    SetHeight {
        /// mm above the fixture's base.
        height: f64,
        /// Whether it is still moving.
        sliding: bool,
    },
    /// Hold one survey against another: earlier and later.
    Compare(usize, usize),
    /// Read the survey at the bench, stop by stop, or no longer.
    ReadAtBench(bool),
    /// Work out what recalibrations touch, and keep that up to date.
    FindTouched,
    /// Put the readings of a file into the irradiance log.
    ImportLog(PathBuf),
    /// Work out the short check of the earlier survey, and keep that up to date.
    FindShortCheck,
    /// In the step Limits: show the map at the height of the coldest part that is judged.
    HeightOfColdest,
    /// Put the cross there, or where the fixture is nearest: the field is shown along a line through it.
    SetCross(Point),
    /// Show the field along this line through the cross.
    ShowAlong(Along),
    /// Try this pattern of positions out beside the plan, on this raster; the document stays as it is.
    Try(Trial),
    /// Ask this of a placement, or stop asking; the document stays as it is.
    Place(Box<Placing>),
    /// Keep the arrangement that was found beside others.
    KeepArrangement,
    /// Keep one no longer.
    DropArrangement(usize),
    /// Show a kept one; `None`: what is asked for.
    ShowArrangement(Option<usize>),
    /// Work out where to measure next, and keep that up to date.
    ProposeNext,
    /// Let the map show this.
    ShowMapOf(MapOf),
    /// Let the map leave out what stands in the light's way, or not.
    ShowInTheOpen(bool),
    /// Give every map of irradiance the same colours, from and to these mW/cm², or every map of uncertainty, percent;
    /// `None`: each its own. A range that does not ascend changes nothing.
    FixColours(MapOf, Option<[f64; 2]>),
    /// Take other settings of this person.
    Prefer(Preferences),
    /// The notice was read.
    DismissNotice,
}

/// How a question is answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reply {
    /// Save first, or replace the file.
    Yes,
    /// Discard the changes and go on.
    No,
    /// Leave everything as it is.
    Cancel,
}

/// The commands of menus, shortcuts and the command search.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Action {
    /// [`Command::New`].
    New,
    /// Ask for a file, then [`Command::Open`].
    Open,
    /// [`Command::OpenSample`].
    OpenSample,
    /// [`Command::Save`].
    Save,
    /// Ask for a file, then [`Command::SaveAs`].
    SaveAs,
    /// Ask for a file, then [`Command::Import`].
    Import,
    /// Ask for a folder, then [`Command::Export`].
    Export,
    /// As [`Action::Open`], with a path that is typed instead of the system's dialog.
    OpenTyped,
    /// As [`Action::SaveAs`], with a typed path.
    SaveAsTyped,
    /// As [`Action::Import`], with a typed path.
    ImportTyped,
    /// As [`Action::Export`], with a typed path.
    ExportTyped,
    /// Ask for a file, then [`Command::ImportLog`].
    ImportLog,
    /// As [`Action::ImportLog`], with a typed path.
    ImportLogTyped,
    /// [`Command::Undo`].
    Undo,
    /// [`Command::Redo`].
    Redo,
    /// Show the step of that index in [`Step::ALL`].
    Step(usize),
    /// Lengths in the other unit.
    ToggleLengthUnit,
    /// Irradiance in the next unit.
    NextIrradianceUnit,
    /// Light or dark.
    ToggleTheme,
    /// Text and buttons a step larger.
    LargerInterface,
    /// Text and buttons a step smaller.
    SmallerInterface,
    /// Text and buttons of the usual size.
    UsualInterface,
    /// Show the whole fixture.
    FitView,
    /// Bring the keyboard to the next part of the window.
    NextPane,
    /// Bring it to the one before.
    PreviousPane,
    /// Open the command search.
    FindCommand,
    /// [`Command::Quit`].
    Quit,
}

/// One row of the table of commands.
#[derive(Debug, Clone, Copy)]
pub struct ActionText {
    /// Which command.
    pub action: Action,
    /// As menus and buttons say it.
    pub text: &'static str,
    /// One sentence of what it does.
    pub tip: &'static str,
    /// Key names with `+` between, `Ctrl` meaning the platform's command key; empty without.
    pub keys: &'static str,
}

macro_rules! actions {
    ($($action:expr, $text:literal, $tip:literal, $keys:literal;)*) => {
        &[$(ActionText { action: $action, text: $text, tip: $tip, keys: $keys },)*]
    };
}

/// All commands with their text, tip and keys.
pub const ACTIONS: &[ActionText] = actions![
    Action::New, "New station", "Begin an empty station", "Ctrl+N";
    Action::Open, "Open...", "Open a station file", "Ctrl+O";
    Action::OpenSample, "Open the sample", "Open the worked sample station", "";
    Action::Save, "Save", "Save the station to its file", "Ctrl+S";
    Action::SaveAs, "Save as...", "Save the station under another name", "Ctrl+Shift+S";
    Action::Import, "Import readings...", "Look at a CSV, TSV or XLSX file of readings and import it as a new survey", "Ctrl+I";
    Action::Export, "Export...", "Write the map, the plan and the record into a folder", "Ctrl+E";
    Action::ImportLog, "Import a log...", "Put the readings of a CSV, TSV or XLSX file into the irradiance log", "";
    Action::OpenTyped, "Open by typed path...", "Open a station file without the system's file dialog", "";
    Action::SaveAsTyped, "Save as by typed path...", "Save the station without the system's file dialog", "";
    Action::ImportTyped, "Import readings by typed path...", "Look at a file of readings without the system's file dialog", "";
    Action::ExportTyped, "Export by typed path...", "Write into a folder without the system's file dialog", "";
    Action::ImportLogTyped, "Import a log by typed path...", "Put the readings of a file into the irradiance log without the system's file dialog", "";
    Action::Undo, "Undo", "Take the last change back", "Ctrl+Z";
    Action::Redo, "Redo", "Make the change again that was taken back", "Ctrl+Y";
    Action::Step(0), "Go to Fixture", "Source, fixture, sites, keep-outs, radiometers", "Ctrl+1";
    Action::Step(1), "Go to Plan", "Where to measure", "Ctrl+2";
    Action::Step(2), "Go to Readings", "What was read", "Ctrl+3";
    Action::Step(3), "Go to Field", "The map and its answers", "Ctrl+4";
    Action::Step(4), "Go to Limits", "What the parts need, and the verdict", "Ctrl+5";
    Action::Step(5), "Go to Placement", "Where parts may lie, and how many", "Ctrl+6";
    Action::Step(6), "Go to Change", "One survey against another", "Ctrl+7";
    Action::Step(7), "Go to Upkeep", "Daily readings, radiometers and lamps over time, and the record", "Ctrl+8";
    Action::Step(8), "Go to Export", "Sheets and files", "Ctrl+9";
    Action::ToggleLengthUnit, "Switch mm and inch", "Show lengths in the other unit", "Ctrl+L";
    Action::NextIrradianceUnit, "Switch irradiance unit", "Show irradiance in mW/cm², W/cm² or W/m²", "Ctrl+U";
    Action::ToggleTheme, "Switch light and dark", "Show the window in the other theme", "Ctrl+D";
    Action::LargerInterface, "Larger text and buttons", "Show everything in the window a tenth larger", "Ctrl+Plus";
    Action::SmallerInterface, "Smaller text and buttons", "Show everything in the window a tenth smaller", "Ctrl+Minus";
    Action::UsualInterface, "Usual size of text and buttons", "Show everything in the window at 100 %", "Ctrl+0";
    Action::FitView, "Fit the view", "Show the whole fixture in the plan view", "Ctrl+F";
    Action::NextPane, "Next part of the window", "Bring the keyboard to the next of top bar, steps, forms and picture", "F6";
    Action::PreviousPane, "Previous part of the window", "Bring the keyboard to the one before of top bar, steps, forms and picture", "Shift+F6";
    Action::FindCommand, "Find a command", "Search all commands by name", "Ctrl+K";
    Action::Quit, "Quit", "Leave the program", "Ctrl+Q";
];

impl Action {
    /// The command's row in the table.
    pub fn text(self) -> &'static ActionText {
        ACTIONS
            .iter()
            .find(|row| row.action == self)
            .unwrap_or(&ACTIONS[0])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_commands_share_keys_or_text() {
        for (i, a) in ACTIONS.iter().enumerate() {
            for b in &ACTIONS[i + 1..] {
                assert!(
                    a.keys.is_empty() || a.keys != b.keys,
                    "{} {}",
                    a.text,
                    b.text
                );
                assert_ne!(a.text, b.text);
                assert_ne!(a.action, b.action);
            }
        }
    }

    #[test]
    fn every_step_has_a_command() {
        for i in 0..Step::ALL.len() {
            let row = Action::Step(i).text();
            assert!(row.text.ends_with(Step::ALL[i].name()));
        }
    }

    #[test]
    fn texts_keep_the_rules_of_wording() {
        for row in ACTIONS {
            assert!(
                !row.text.ends_with('.') || row.text.ends_with("..."),
                "{}",
                row.text
            );
            assert!(!row.tip.ends_with('.'), "{}", row.tip);
        }
    }
}
