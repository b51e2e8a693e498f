//! This person's settings on their way to the disk. One thread writes them, so that the latest is what stays; a slow disk
//! holds nothing up but the end of the program.

use std::path::PathBuf;
use std::sync::mpsc::{Sender, channel};
use std::thread::JoinHandle;

use crate::files::{Drive, Preferences};

/// Where the settings of this person are kept.
pub struct SettingsFile {
    changes: Option<Sender<Preferences>>,
    thread: Option<JoinHandle<()>>,
}

impl SettingsFile {
    /// Keeps settings in that folder.
    pub fn new(drive: Drive, folder: PathBuf) -> Self {
        let (changes, received) = channel::<Preferences>();
        let started = std::thread::Builder::new()
            .name("settings".into())
            .spawn(move || {
                while let Ok(first) = received.recv() {
                    let latest = received.try_iter().last().unwrap_or(first);
                    // a lost setting is no loss of work
                    if let Err(error) = latest.save(&drive, &folder) {
                        log::warn!("{error}");
                    }
                }
            });
        if let Err(error) = &started {
            log::error!("no thread could be started: {error}");
        }
        Self {
            changes: Some(changes),
            thread: started.ok(),
        }
    }

    /// Keeps them as they are now.
    pub fn keep(&self, preferences: Preferences) {
        if let Some(changes) = &self.changes {
            // without its thread they are not kept, which was said
            let _ = changes.send(preferences);
        }
    }
}

impl Drop for SettingsFile {
    fn drop(&mut self) {
        self.changes = None;
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicU64, Ordering};
    use std::time::Duration;

    use super::*;
    use crate::files::Touch;

    #[test]
    fn the_latest_stays_though_the_first_takes_longest() {
        let folder = tempfile::tempdir().expect("a folder");
        let written = AtomicU64::new(0);
        let drive = Drive::watched(move |touch, _| {
            if touch == Touch::Write {
                let before = written.fetch_add(1, Ordering::SeqCst);
                std::thread::sleep(Duration::from_millis(30 / (1 + before)));
            }
            Ok(())
        });
        let file = SettingsFile::new(drive, folder.path().to_owned());
        let mut settings = Preferences::default();
        for _ in 0..5 {
            settings.scale_interface(1);
            file.keep(settings.clone());
            std::thread::sleep(Duration::from_millis(3));
        }
        drop(file);
        assert_eq!(Preferences::load(folder.path()), (settings, None));
    }
}
