//! Projections: what was reckoned from the entries of a subject, kept beside a digest of the heads that it covers,
//! so that opening a register need not reckon again what has not moved.
//!
//! Never the only place of anything: dropped, they are reckoned again to the same bytes.

use rusqlite::{Row, TransactionBehavior, params};

use super::read::{blob, subject_from_text, subject_text};
use super::{Reader, Store, StoreError};
use crate::ids::Sha256Digest;
use crate::record::Subject;

/// One projection of one subject.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Projection {
    /// What kind of projection, `plot-summary`.
    pub name: String,
    /// Whose.
    pub subject: Subject,
    /// A digest of the heads that it covers, as [`super::Heads::digest_of`] or
    /// [`super::Heads::digest_with_site`] gives it.
    pub covered: Sha256Digest,
    /// What was reckoned: JSON or whatever the reckoner likes.
    pub body: String,
}

pub(super) const SELECT: &str = "SELECT name, subject, covered, body, body_sha256 FROM projections";

/// Reads one row of [`SELECT`]; `None` if its bytes are not those that were written.
pub(super) fn projection(row: &Row<'_>) -> Result<Option<Projection>, StoreError> {
    let place = "a projection";
    let text = |index: usize| -> Result<Option<String>, StoreError> {
        let bytes = row.get_ref(index)?.as_bytes().unwrap_or_default();
        Ok(std::str::from_utf8(bytes).ok().map(str::to_owned))
    };
    let (Some(name), Some(subject), Some(body)) = (text(0)?, text(1)?, text(3)?) else {
        return Ok(None);
    };
    let Ok(subject) = subject_from_text(&subject) else {
        return Ok(None);
    };
    let found = Projection { name, subject, covered: Sha256Digest(blob(row, 2, place)?), body };
    let digest: [u8; 32] = blob(row, 4, place)?;
    Ok((digest_of(&found) == digest).then_some(found))
}

fn digest_of(projection: &Projection) -> [u8; 32] {
    // The digest also stands for name, subject and cover, so that none of them can decay unseen.
    let text = format!(
        "{}\n{}\n{}\n{}",
        projection.name,
        subject_text(&projection.subject),
        projection.covered,
        projection.body
    );
    Sha256Digest::of(text.as_bytes()).0
}

impl Reader {
    /// One projection; `None` if there is none, or its bytes are damaged: then it is reckoned again.
    pub fn projection(&self, name: &str, subject: &Subject) -> Result<Option<Projection>, StoreError> {
        let sql = format!("{SELECT} WHERE name = ?1 AND subject = ?2");
        let mut statement = self.register.prepare_cached(&sql)?;
        let mut rows = statement.query(params![name, subject_text(subject)])?;
        rows.next()?.map_or(Ok(None), projection)
    }

    /// All sound projections of a name, in one reading.
    pub fn projections(&self, name: &str) -> Result<Vec<Projection>, StoreError> {
        let sql = format!("{SELECT} WHERE name = ?1");
        let mut statement = self.register.prepare_cached(&sql)?;
        let mut rows = statement.query([name])?;
        let mut found = Vec::new();
        while let Some(row) = rows.next()? {
            found.extend(projection(row)?);
        }
        Ok(found)
    }
}

impl Store {
    /// Writes projections in place of earlier ones of the same name and subject, all or none.
    pub fn put_projections(&mut self, projections: &[Projection]) -> Result<(), StoreError> {
        let transaction = self.reader.register.transaction_with_behavior(TransactionBehavior::Immediate)?;
        {
            let mut statement = transaction.prepare_cached(
                "INSERT INTO projections (name, subject, covered, body, body_sha256)
                 VALUES (?1, ?2, ?3, ?4, ?5)
                 ON CONFLICT (name, subject) DO UPDATE SET
                 covered = excluded.covered, body = excluded.body, body_sha256 = excluded.body_sha256",
            )?;
            for projection in projections {
                statement.execute(params![
                    projection.name,
                    subject_text(&projection.subject),
                    projection.covered.0,
                    projection.body,
                    digest_of(projection)
                ])?;
            }
        }
        transaction.commit()?;
        Ok(())
    }

    /// Throws all projections away; they are reckoned again when they are needed.
    pub fn drop_projections(&mut self) -> Result<(), StoreError> {
        self.reader.register.execute("DELETE FROM projections", [])?;
        Ok(())
    }
}
