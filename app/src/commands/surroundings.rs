//! What core needs from this machine: clock, random numbers, the device's own file.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use chrono::{Local, Offset as _, Utc};
use gaugerod_core::register::Surroundings;
use gaugerod_core::time::{Clock, Timestamp};

/// The machine's clock and time zone.
pub struct SystemClock;

impl Clock for SystemClock {
    fn now(&self) -> Timestamp {
        let now = Utc::now();
        let offset_min = now.with_timezone(&Local).offset().fix().local_minus_utc() / 60;
        // A clock set before 1970 or after 9999 is no clock; the record then says 1970, which stands out.
        Timestamp::new(now.timestamp_millis(), offset_min).unwrap_or(Timestamp { utc_ms: 0, offset_min: 0 })
    }
}

/// The folder of this device's own settings: the one that was asked for, or this system's usual one.
///
/// # Errors
/// The system names no home folder.
pub fn settings_folder(asked: Option<PathBuf>) -> Result<PathBuf, String> {
    asked
        .or_else(|| {
            directories::ProjectDirs::from("", "", "gaugerod").map(|dirs| dirs.config_dir().to_owned())
        })
        .ok_or_else(|| "this system names no home folder: give --settings DIR".to_owned())
}

/// The folder where the demo lies unless one is named.
pub fn data_folder() -> Option<PathBuf> {
    directories::ProjectDirs::from("", "", "gaugerod").map(|dirs| dirs.data_dir().to_owned())
}

/// What core needs, with the settings in that folder, which is made if it is not there.
///
/// # Errors
/// The folder cannot be made.
pub fn surroundings(settings: &Path) -> Result<Surroundings, String> {
    std::fs::create_dir_all(settings)
        .map_err(|error| format!("the settings folder {} cannot be made: {error}", settings.display()))?;
    Ok(Surroundings {
        clock: Arc::new(SystemClock),
        rng: Box::new(rand_core::OsRng),
        device_file: device_file(settings),
        device_name: device_name(),
    })
}

/// The file of this device's own keys and marks, in the folder of its settings.
pub fn device_file(settings: &Path) -> PathBuf {
    settings.join("device")
}

/// What people call this device: its host name.
pub fn device_name() -> String {
    let named = std::fs::read_to_string("/etc/hostname").ok();
    let name = named.as_deref().map(str::trim).filter(|name| !name.is_empty()).unwrap_or("tablet");
    name.chars().filter(|c| !c.is_control()).take(60).collect()
}
