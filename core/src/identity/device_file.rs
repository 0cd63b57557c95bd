//! The device file: what a device knows that must not lie in the register. Per register its writing identity, its
//! key, the secret that PINs are joined with, how far its chain had come, wrong PINs, sealed keys, and what was
//! typed but not yet booked.
//!
//! One line of heading with the digest of the rest, then canonical JSON. Written whole: a temporary file of its
//! own, flushed, renamed over the old one, so that a reader needs no lock and sees the old or the new file. Writers
//! take turns by a lock file beside it.
//!
//! Never here: the register's data, a path of its own choosing, a repair of a damaged file.

use std::collections::BTreeMap;
use std::fs::{self, File, OpenOptions};
use std::io::{self, Read as _, Write as _};
use std::path::{Path, PathBuf};

use serde::{Deserialize, Deserializer, Serialize, Serializer};
use zeroize::Zeroizing;

use super::keys::{DeviceKey, SigningIdentity};
use super::pin_count::PinCount;
use super::sealed_key::{DeviceSecret, SealedKey};
use crate::ids::{DeviceId, PersonId, RegisterId, Sha256Digest};
use crate::record::canonical;
use crate::record::header::Mark;

/// The most bytes of a device file that is read.
pub const MOST_DEVICE_FILE_BYTES: u64 = 8 << 20;
const HEADING: &str = "gaugerod device file 1 ";

/// Why a device file cannot be read or written.
#[derive(Debug, thiserror::Error)]
pub enum DeviceFileFault {
    /// The disk did not do what was asked.
    #[error("the device file {path} cannot be {action}")]
    Disk {
        /// The file.
        path: PathBuf,
        /// What was being done.
        action: &'static str,
        /// Why not.
        source: io::Error,
    },
    /// Not a device file, or one of a newer program.
    #[error("{path} is no device file of this program, or one of a newer version")]
    Foreign {
        /// The file.
        path: PathBuf,
    },
    /// A device file whose contents are not the ones it was written with.
    #[error("the device file {path} is cut short or damaged; it was left as it is")]
    Damaged {
        /// The file.
        path: PathBuf,
    },
    /// More than a device file holds.
    #[error("the device file {path} would be larger than 8 MiB")]
    Size {
        /// The file.
        path: PathBuf,
    },
}

/// All of a device file.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DeviceFile {
    /// What this device is in each register.
    pub registers: BTreeMap<RegisterId, DeviceInRegister>,
}

/// What a device is and has in one register.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DeviceInRegister {
    /// Its writing identity.
    pub device: DeviceId,
    /// Its key: plain, in a file that only its owner can read.
    #[serde(with = "device_key_hex")]
    pub device_key: DeviceKey,
    /// The secret that every PIN is joined with.
    #[serde(with = "device_secret_hex")]
    pub secret: DeviceSecret,
    /// How far its chain had come when it last wrote.
    pub mark: Option<Mark>,
    /// Wrong PINs of each person.
    pub pin_counts: BTreeMap<PersonId, PinCount>,
    /// Each person's key on this device.
    pub sealed_keys: BTreeMap<PersonId, SealedKey>,
    /// What was typed and not yet booked, by a name of the screen's choosing.
    #[serde(with = "pairs")]
    pub drafts: BTreeMap<String, String>,
}

impl DeviceInRegister {
    /// A device that has written nothing yet.
    pub fn new(device: DeviceId, device_key: DeviceKey, secret: DeviceSecret) -> Self {
        Self {
            device,
            device_key,
            secret,
            mark: None,
            pin_counts: BTreeMap::new(),
            sealed_keys: BTreeMap::new(),
            drafts: BTreeMap::new(),
        }
    }
}

/// Whether a register is an older copy than the one this device last wrote: its chain ends before the mark, or
/// another entry stands where the mark was. The device then needs a new writing identity, or its chain would fork.
///
/// A register *ahead* of the mark is none: the mark is written after the entry, and power may fail between.
pub fn restored_copy(head_in_register: Option<Mark>, mark: Option<Mark>) -> bool {
    match (head_in_register, mark) {
        (_, None) => false,
        (None, Some(_)) => true,
        (Some(head), Some(mark)) => head.seq < mark.seq || (head.seq == mark.seq && head.id != mark.id),
    }
}

impl DeviceFile {
    /// Reads the file; `None` where there is none yet. Takes no lock.
    pub fn read(path: &Path) -> Result<Option<Self>, DeviceFileFault> {
        let disk = |source| DeviceFileFault::Disk { path: path.to_owned(), action: "read", source };
        let file = match File::open(path) {
            Ok(file) => file,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(disk(error)),
        };
        let mut bytes = Zeroizing::new(Vec::new());
        file.take(MOST_DEVICE_FILE_BYTES + 1).read_to_end(&mut bytes).map_err(disk)?;
        Self::from_bytes(&bytes, path).map(Some)
    }

    /// Reads, changes and writes in one turn: window and command line take turns. The change sees an empty file
    /// where there is none yet. Where the change refuses, nothing is written.
    pub fn update<T, E: From<DeviceFileFault>>(
        path: &Path,
        change: impl FnOnce(&mut Self) -> Result<T, E>,
    ) -> Result<T, E> {
        let _turn = take_turn(path)?;
        let mut file = Self::read(path)?.unwrap_or_default();
        let result = change(&mut file)?;
        file.write(path)?;
        Ok(result)
    }

    fn from_bytes(bytes: &[u8], path: &Path) -> Result<Self, DeviceFileFault> {
        let foreign = || DeviceFileFault::Foreign { path: path.to_owned() };
        let damaged = || DeviceFileFault::Damaged { path: path.to_owned() };
        if !bytes.starts_with(HEADING.as_bytes()) {
            // A beginning of the heading is our own file, cut short; anything else is somebody else's.
            let cut_short = HEADING.as_bytes().starts_with(bytes);
            return Err(if cut_short { damaged() } else { foreign() });
        }
        let text = std::str::from_utf8(bytes).map_err(|_| damaged())?;
        let (heading, body) = text.split_once('\n').ok_or_else(damaged)?;
        if heading[HEADING.len()..] != Sha256Digest::of(body.as_bytes()).to_hex() {
            return Err(damaged());
        }
        // The digest holds, so what does not read is not damage but another version's.
        let value = canonical::decode(body).map_err(|_| foreign())?;
        serde_json::from_value(value).map_err(|_| foreign())
    }

    fn to_bytes(&self, path: &Path) -> Result<Zeroizing<Vec<u8>>, DeviceFileFault> {
        let size = || DeviceFileFault::Size { path: path.to_owned() };
        let value = serde_json::to_value(self).expect("BUG: a device file is plain text and numbers");
        let body = Zeroizing::new(canonical::encode(&value).map_err(|_| size())?);
        let digest = Sha256Digest::of(body.as_bytes());
        let bytes = Zeroizing::new(format!("{HEADING}{digest}\n{}", *body).into_bytes());
        if bytes.len() as u64 > MOST_DEVICE_FILE_BYTES { Err(size()) } else { Ok(bytes) }
    }

    fn write(&self, path: &Path) -> Result<(), DeviceFileFault> {
        let disk = |source| DeviceFileFault::Disk { path: path.to_owned(), action: "written", source };
        let bytes = self.to_bytes(path)?;
        let fresh = beside(path, ".new");
        // Left over from a power failure; ours alone, since writers take turns.
        match fs::remove_file(&fresh) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(disk(error)),
            _ => {}
        }
        let mut file = owner_only().write(true).create_new(true).open(&fresh).map_err(disk)?;
        file.write_all(&bytes).and_then(|()| file.sync_all()).map_err(disk)?;
        drop(file);
        fs::rename(&fresh, path).map_err(disk)?;
        sync_folder(path).map_err(disk)
    }
}

/// Whether others than the owner can read the file: to be pointed out. Always false where the system has no such
/// rights.
pub fn others_can_read(path: &Path) -> io::Result<bool> {
    let metadata = fs::metadata(path)?;
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        Ok(metadata.permissions().mode() & 0o077 != 0)
    }
    #[cfg(not(unix))]
    {
        let _ = metadata;
        Ok(false)
    }
}

fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    PathBuf::from(name)
}

fn owner_only() -> OpenOptions {
    #[cfg_attr(not(unix), allow(unused_mut))]
    let mut options = OpenOptions::new();
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt as _;
        options.mode(0o600);
    }
    options
}

/// The lock lasts as long as the file that is returned stays open; the system gives it up with the process.
fn take_turn(path: &Path) -> Result<File, DeviceFileFault> {
    let disk = |source| DeviceFileFault::Disk { path: path.to_owned(), action: "locked", source };
    let file =
        owner_only().create(true).truncate(false).write(true).open(beside(path, ".lock")).map_err(disk)?;
    file.lock().map_err(disk)?;
    Ok(file)
}

/// Without this a power failure may bring the old name back. Only Unix lets a folder be flushed.
fn sync_folder(path: &Path) -> io::Result<()> {
    #[cfg(unix)]
    {
        let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
        File::open(folder)?.sync_all()?;
    }
    #[cfg(not(unix))]
    let _ = path;
    Ok(())
}

mod device_key_hex {
    use super::{Deserialize, Deserializer, DeviceKey, Serializer, SigningIdentity, Zeroizing};

    pub fn serialize<S: Serializer>(key: &DeviceKey, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&Zeroizing::new(hex::encode(key.secret().as_slice())))
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<DeviceKey, D::Error> {
        let text = Zeroizing::new(String::deserialize(deserializer)?);
        let bytes = Zeroizing::new(hex::decode(text.as_bytes()).map_err(serde::de::Error::custom)?);
        let key = SigningIdentity::from_secret(&bytes).map_err(serde::de::Error::custom)?;
        Ok(DeviceKey::from(key))
    }
}

mod device_secret_hex {
    use super::{Deserialize, Deserializer, DeviceSecret, Serializer, Zeroizing};

    pub fn serialize<S: Serializer>(secret: &DeviceSecret, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&Zeroizing::new(hex::encode(secret.bytes())))
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<DeviceSecret, D::Error> {
        let text = Zeroizing::new(String::deserialize(deserializer)?);
        let mut bytes = Zeroizing::new([0; 32]);
        hex::decode_to_slice(text.as_bytes(), bytes.as_mut_slice()).map_err(serde::de::Error::custom)?;
        Ok(DeviceSecret::from_bytes(*bytes))
    }
}

/// Names of drafts may hold any characters, which keys of canonical objects may not: a list of pairs.
mod pairs {
    use super::{BTreeMap, Deserialize, Deserializer, Serializer};

    pub fn serialize<S: Serializer>(
        map: &BTreeMap<String, String>,
        serializer: S,
    ) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(map)
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(d: D) -> Result<BTreeMap<String, String>, D::Error> {
        Ok(Vec::<(String, String)>::deserialize(d)?.into_iter().collect())
    }
}

#[cfg(test)]
#[path = "device_file_tests.rs"]
mod tests;
