//! Photos and documents: their original bytes under their SHA-256, and the smaller pictures made from them.
//!
//! An original is committed here before the entry that names it is appended: an entry never names what is not
//! there. (The other way round, an original without entry is harmless.)

use rusqlite::{Connection, OptionalExtension as _, params};

use super::read::count;
use super::{Reader, Store, StoreError, photos_path};
use crate::ids::Sha256Digest;
use crate::photo::{PhotoFacts, RenditionKind, Renditions};

/// The most bytes of a document (a certificate, a delivery note).
pub const MOST_DOCUMENT_BYTES: u64 = 25_000_000;

/// What is known of an original without reading it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OriginalFacts {
    /// Its name.
    pub sha256: Sha256Digest,
    /// Its media type as it was handed in, `image/jpeg`.
    pub media_type: String,
    /// Its length in bytes.
    pub size: u64,
}

impl Reader {
    fn photos(&self) -> Result<&Connection, StoreError> {
        self.photos.as_ref().ok_or_else(|| StoreError::PhotosMissing { path: photos_path(&self.path) })
    }

    /// Whether the photos file is there.
    pub fn has_photos_file(&self) -> bool {
        self.photos.is_some()
    }

    /// Media type and size of a photo or document; `None` if it is not here.
    pub fn original(&self, sha256: Sha256Digest) -> Result<Option<OriginalFacts>, StoreError> {
        let sql = "SELECT media_type, size FROM originals WHERE sha256 = ?1";
        let mut statement = self.photos()?.prepare_cached(sql)?;
        let facts = statement.query_row([sha256.0], |row| {
            Ok(OriginalFacts { sha256, media_type: row.get(0)?, size: count(row, 1)? })
        });
        Ok(facts.optional()?)
    }

    /// All photos and documents, sorted by their names.
    pub fn originals(&self) -> Result<Vec<OriginalFacts>, StoreError> {
        let sql = "SELECT sha256, media_type, size FROM originals ORDER BY sha256";
        let mut statement = self.photos()?.prepare_cached(sql)?;
        let rows = statement.query_map([], |row| {
            Ok(OriginalFacts {
                sha256: Sha256Digest(row.get(0)?),
                media_type: row.get(1)?,
                size: count(row, 2)?,
            })
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// The bytes of a photo or document as they came. They are not hashed again here; whoever proves something
    /// with them does that.
    ///
    /// # Errors
    /// [`StoreError::NoOriginal`] if it is not here.
    pub fn original_bytes(&self, sha256: Sha256Digest) -> Result<Vec<u8>, StoreError> {
        let sql = "SELECT bytes FROM originals WHERE sha256 = ?1";
        let mut statement = self.photos()?.prepare_cached(sql)?;
        let bytes = statement.query_row([sha256.0], |row| row.get(0)).optional()?;
        bytes.ok_or(StoreError::NoOriginal { sha256 })
    }

    /// A smaller picture; `None` if it was not made or was thrown away, or is damaged: then it is made again.
    pub fn rendition(
        &self,
        sha256: Sha256Digest,
        kind: RenditionKind,
    ) -> Result<Option<Vec<u8>>, StoreError> {
        let sql = "SELECT bytes, bytes_sha256 FROM renditions WHERE sha256 = ?1 AND kind = ?2";
        let mut statement = self.photos()?.prepare_cached(sql)?;
        let found = statement
            .query_row(params![sha256.0, kind.as_str()], |row| {
                Ok((row.get::<_, Vec<u8>>(0)?, row.get::<_, [u8; 32]>(1)?))
            })
            .optional()?;
        Ok(found.and_then(|(bytes, digest)| (Sha256Digest::of(&bytes).0 == digest).then_some(bytes)))
    }
}

impl Store {
    /// Stores a photo that was taken in. Durable when it returns; `false` if it was here already.
    ///
    /// # Errors
    /// [`StoreError::OtherBytes`] if the bytes are not those that the facts were read from.
    pub fn put_photo(&mut self, bytes: &[u8], facts: &PhotoFacts) -> Result<bool, StoreError> {
        self.put_original(bytes, facts.sha256, facts.media_type.as_str())
    }

    /// Stores a document. Durable when it returns. The media type is what the document is called, not proved.
    ///
    /// # Errors
    /// [`StoreError::DocumentSize`] if it is empty or larger than [`MOST_DOCUMENT_BYTES`].
    pub fn put_document(&mut self, bytes: &[u8], media_type: &str) -> Result<Sha256Digest, StoreError> {
        if !(1..=MOST_DOCUMENT_BYTES).contains(&(bytes.len() as u64)) {
            return Err(StoreError::DocumentSize { bytes: bytes.len() as u64, most: MOST_DOCUMENT_BYTES });
        }
        let sha256 = Sha256Digest::of(bytes);
        self.put_original(bytes, sha256, media_type)?;
        Ok(sha256)
    }

    /// Stores an original under its name, whatever it is: how photos of a bundle are taken over.
    pub fn put_original(
        &mut self,
        bytes: &[u8],
        stated: Sha256Digest,
        media_type: &str,
    ) -> Result<bool, StoreError> {
        let found = Sha256Digest::of(bytes);
        if found != stated {
            return Err(StoreError::OtherBytes { stated, found });
        }
        let photos = self.photos()?;
        // One statement is one transaction, so two writers cannot both insert it.
        let sql = "INSERT INTO originals (sha256, media_type, size, bytes)
                   SELECT ?1, ?2, ?3, ?4 WHERE NOT EXISTS (SELECT 1 FROM originals WHERE sha256 = ?1)";
        let mut statement = photos.prepare_cached(sql)?;
        let size = i64::try_from(bytes.len()).unwrap_or(i64::MAX);
        Ok(statement.execute(params![found.0, media_type, size, bytes])? == 1)
    }

    /// Stores both smaller pictures of a photo that is here.
    pub fn put_renditions(&mut self, sha256: Sha256Digest, made: &Renditions) -> Result<(), StoreError> {
        for kind in RenditionKind::ALL {
            self.put_rendition(sha256, kind, made.of(kind))?;
        }
        Ok(())
    }

    /// Stores one smaller picture of a photo that is here, in place of an earlier one.
    pub fn put_rendition(
        &mut self,
        sha256: Sha256Digest,
        kind: RenditionKind,
        bytes: &[u8],
    ) -> Result<(), StoreError> {
        let sql = "INSERT INTO renditions (sha256, kind, bytes_sha256, bytes) VALUES (?1, ?2, ?3, ?4)
                   ON CONFLICT (sha256, kind) DO UPDATE
                   SET bytes_sha256 = excluded.bytes_sha256, bytes = excluded.bytes";
        let mut statement = self.photos()?.prepare_cached(sql)?;
        let digest = Sha256Digest::of(bytes).0;
        statement.execute(params![sha256.0, kind.as_str(), digest, bytes])?;
        Ok(())
    }

    /// Throws all smaller pictures away.
    pub fn drop_renditions(&mut self) -> Result<(), StoreError> {
        self.photos()?.execute("DELETE FROM renditions", [])?;
        Ok(())
    }
}
