//! What the core is handed from this machine: its clock with the local offset, random numbers of the operating
//! system, and the files that belong to this device. The only place in the program that reads them.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use chrono::{Local, Offset as _};
use gaugerod_core::identity::Cost;
use gaugerod_core::register::Surroundings;
use gaugerod_core::time::{Clock, Timestamp};
use rand_core::OsRng;

/// The limits that a new register begins with.
pub const LIMITS: &str = include_str!("../../assets/limits.toml");
/// The plan of work that a new register begins with.
pub const PLAN: &str = include_str!("../../assets/hold-points.toml");

/// The machine's own clock. It is not trusted: what it says stands in the record as what this device believed.
#[derive(Debug, Clone, Copy, Default)]
pub struct MachineClock;

impl Clock for MachineClock {
    fn now(&self) -> Timestamp {
        let now = Local::now();
        let offset_min = now.offset().fix().local_minus_utc() / 60;
        let epoch = Timestamp { utc_ms: 0, offset_min: 0 };
        // A clock set before 1970 or after 9999 is noted as 1970: the record's order does not rest on clocks.
        Timestamp::new(now.timestamp_millis(), offset_min).unwrap_or(epoch)
    }
}

/// The device file in the program's own folder.
pub fn device_file(settings: &Path) -> PathBuf {
    settings.join("device.json")
}

/// What people call this device: the machine's name, or `tablet` where it has none.
pub fn device_name() -> String {
    let named = std::fs::read_to_string("/etc/hostname").unwrap_or_default();
    let named: String = named.trim().chars().filter(|c| !c.is_control()).take(60).collect();
    if named.is_empty() { "tablet".to_owned() } else { named }
}

/// Hands out what a register needs from outside, each time one is opened.
#[derive(Clone)]
pub struct Machine {
    /// The clock.
    pub clock: Arc<dyn Clock>,
    /// The device file.
    pub device_file: PathBuf,
    /// What people call this device.
    pub device_name: String,
    /// Work factors of sealed keys: less than [`Cost::STANDING`] in tests and for the invented demo only.
    pub cost: Cost,
}

impl Machine {
    /// This machine, with the program's own folder `settings`.
    pub fn with_settings(settings: &Path) -> Self {
        Self {
            clock: Arc::new(MachineClock),
            device_file: device_file(settings),
            device_name: device_name(),
            cost: Cost::STANDING,
        }
    }

    /// What one register is opened with.
    pub fn surroundings(&self) -> Surroundings {
        Surroundings {
            clock: Arc::clone(&self.clock),
            rng: Box::new(OsRng),
            device_file: self.device_file.clone(),
            device_name: self.device_name.clone(),
        }
    }
}
