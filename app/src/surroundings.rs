//! What registers are opened with, again and again, by the window's worker: the machine's own things, or a test's.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use gaugerod_core::identity::Cost;
use gaugerod_core::register::Surroundings;
use gaugerod_core::time::Clock;
use rand_core::OsRng;

use crate::commands::surroundings::{SystemClock, device_file, device_name};

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
            clock: Arc::new(SystemClock),
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
