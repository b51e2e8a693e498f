//! This person's settings: what changes how things are shown and no answer. A settings file that is
//! broken costs the settings, never the start of the program.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::{Drive, FileError, save};
use crate::units::{IrradianceUnit, LengthUnit, Units};

const FILE: &str = "settings.ron";

/// Recent files that are remembered.
const MOST_RECENT: usize = 12;

/// Light or dark.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Theme {
    /// As the desktop says.
    #[default]
    System,
    /// Dark on light.
    Light,
    /// Light on dark.
    Dark,
}

/// The paper that sheets are made for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Paper {
    /// 210 mm x 297 mm.
    #[default]
    A4,
    /// 8.5 in x 11 in.
    Letter,
}

/// This person's settings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Preferences {
    /// Of lengths, shown and typed.
    pub length_unit: LengthUnit,
    /// Of irradiance, shown and typed.
    pub irradiance_unit: IrradianceUnit,
    /// Light or dark.
    pub theme: Theme,
    /// How large the window's text and buttons are, 1 being the usual; from [`Self::SCALES`]' first to its last.
    pub interface_scale: f32,
    /// For sheets.
    pub paper: Paper,
    /// Station files, the latest first.
    pub recent: Vec<PathBuf>,
}

impl Default for Preferences {
    fn default() -> Self {
        Self {
            length_unit: LengthUnit::default(),
            irradiance_unit: IrradianceUnit::default(),
            theme: Theme::default(),
            interface_scale: 1.0,
            paper: Paper::default(),
            recent: Vec::new(),
        }
    }
}

impl Preferences {
    /// The least and the greatest [`interface_scale`](Self::interface_scale).
    pub const SCALES: [f32; 2] = [0.5, 3.0];

    /// Both units.
    pub fn units(&self) -> Units {
        Units {
            length: self.length_unit,
            irradiance: self.irradiance_unit,
        }
    }

    /// Makes text and buttons larger by so many tenths of the usual size, or smaller, as far as there are sizes.
    pub fn scale_interface(&mut self, tenths: i32) {
        let [least, most] = Self::SCALES;
        let now = (10.0 * self.interface_scale).round();
        self.interface_scale = ((now + tenths as f32) / 10.0).clamp(least, most);
    }

    /// The settings kept in that folder; defaults when there are none yet. When they can't be read,
    /// defaults and a note for the person.
    pub fn load(folder: &Path) -> (Self, Option<String>) {
        let path = folder.join(FILE);
        let unread = |why: &str| {
            let note = format!(
                "your settings could not be read ({why}), so the usual ones are in use; {} is replaced when settings change",
                path.display()
            );
            (Self::default(), Some(note))
        };
        match fs::read_to_string(&path) {
            Ok(text) => match ron::from_str::<Self>(text.trim_start_matches('\u{feff}')) {
                Ok(read) => (read.sensible(), None),
                Err(error) => {
                    let start = error.span.start;
                    unread(&format!("line {}, column {}", start.line, start.col))
                }
            },
            Err(error) if error.kind() == io::ErrorKind::NotFound => (Self::default(), None),
            Err(error) if error.kind() == io::ErrorKind::InvalidData => unread("it is not text"),
            Err(_) => unread("the file can't be opened"),
        }
    }

    /// Keeps the settings in that folder, which is made when it is not there.
    ///
    /// # Errors
    /// When the folder or the file can't be written.
    pub fn save(&self, drive: &Drive, folder: &Path) -> Result<(), FileError> {
        (drive.make_folder(folder))
            .map_err(|e| FileError::system(folder, "the folder could not be made", &e))?;
        let path = folder.join(FILE);
        let pretty = ron::ser::PrettyConfig::new().new_line("\n");
        let text = ron::ser::to_string_pretty(&self.clone().sensible(), pretty).map_err(|_| {
            FileError::new(
                "your settings could not be put into a file",
                "clear the list of recent files",
            )
            .of(&path)
        })?;
        save::replace(drive, &path, text.as_bytes(), false)
    }

    /// Puts a file first in the list of recent ones.
    pub fn remember(&mut self, file: &Path) {
        self.recent.retain(|known| known != file);
        self.recent.insert(0, file.to_owned());
        self.recent.truncate(MOST_RECENT);
    }

    fn sensible(mut self) -> Self {
        self.interface_scale = if self.interface_scale.is_finite() {
            self.interface_scale.clamp(Self::SCALES[0], Self::SCALES[1])
        } else {
            1.0
        };
        // a path that is not text can't be kept in a text file
        self.recent.retain(|path| path.to_str().is_some());
        self.recent.truncate(MOST_RECENT);
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn settings_come_back() {
        let folder = tempfile::tempdir().expect("a folder");
        let inner = folder.path().join("made");
        assert_eq!(Preferences::load(&inner), (Preferences::default(), None));
        let mut settings = Preferences {
            length_unit: LengthUnit::Inch,
            theme: Theme::Dark,
            interface_scale: 1.25,
            paper: Paper::Letter,
            ..Preferences::default()
        };
        for i in 0..20 {
            settings.remember(Path::new(&format!("/maps/{}.ron", i % 15)));
        }
        assert_eq!(settings.recent.len(), 12);
        assert_eq!(settings.recent[0], Path::new("/maps/4.ron"));
        settings.save(&Drive::default(), &inner).expect("saved");
        settings
            .save(&Drive::default(), &inner)
            .expect("saved again");
        assert_eq!(Preferences::load(&inner), (settings, None));
        assert_eq!(fs::read_dir(&inner).expect("listed").count(), 1);
    }

    #[test]
    fn the_scale_goes_by_tenths_to_its_ends() {
        let mut settings = Preferences {
            interface_scale: 1.24,
            ..Preferences::default()
        };
        settings.scale_interface(1);
        assert_eq!(settings.interface_scale, 1.3);
        settings.scale_interface(-2);
        assert_eq!(settings.interface_scale, 1.1);
        settings.scale_interface(-40);
        assert_eq!(settings.interface_scale, 0.5);
        settings.scale_interface(100);
        assert_eq!(settings.interface_scale, 3.0);
    }

    #[test]
    fn a_broken_settings_file_costs_only_the_settings() {
        let folder = tempfile::tempdir().expect("a folder");
        for bytes in [&b"(theme: Purple)"[..], b"\xff\xfe", b"(", b"12"] {
            fs::write(folder.path().join(FILE), bytes).expect("written");
            let (settings, note) = Preferences::load(folder.path());
            assert_eq!(settings, Preferences::default());
            assert!(note.is_some(), "{bytes:?}");
        }
    }

    #[test]
    fn settings_of_another_version_are_read_as_far_as_they_go() {
        let folder = tempfile::tempdir().expect("a folder");
        let text = "(theme: Dark, colour_of_the_moon: 3, interface_scale: 900)";
        fs::write(folder.path().join(FILE), text).expect("written");
        let (settings, note) = Preferences::load(folder.path());
        assert_eq!((settings.theme, note), (Theme::Dark, None));
        assert_eq!(settings.interface_scale, 3.0);
    }
}
