-- The photos and documents beside a register, schema 1. Frozen: a released migration is never edited (a test
-- holds its digest); what changes later comes as the next file.

-- Whose photos they are. One row, written when the file is made.
CREATE TABLE meta (
    only_row INTEGER PRIMARY KEY CHECK (only_row = 1),
    register BLOB NOT NULL CHECK (length(register) = 16)
) STRICT;

-- Originals as they came, under their SHA-256. bytes stands last so that the rest is read without it.
CREATE TABLE originals (
    sha256 BLOB NOT NULL UNIQUE CHECK (length(sha256) = 32),
    media_type TEXT NOT NULL CHECK (length(media_type) BETWEEN 3 AND 100),
    size INTEGER NOT NULL CHECK (size = length(bytes)),
    bytes BLOB NOT NULL
) STRICT;
CREATE TRIGGER originals_are_never_changed BEFORE UPDATE ON originals
BEGIN
    SELECT RAISE(ABORT, 'an original is never changed');
END;
CREATE TRIGGER originals_are_never_deleted BEFORE DELETE ON originals
BEGIN
    SELECT RAISE(ABORT, 'an original is never deleted');
END;
-- REPLACE deletes without the trigger above on a connection that has recursive triggers off.
CREATE TRIGGER originals_are_never_replaced BEFORE INSERT ON originals
WHEN EXISTS (SELECT 1 FROM originals WHERE sha256 = NEW.sha256 OR rowid = NEW.rowid)
BEGIN
    SELECT RAISE(ABORT, 'an original is never replaced');
END;
CREATE TRIGGER meta_is_never_changed BEFORE UPDATE ON meta
BEGIN
    SELECT RAISE(ABORT, 'whose photos these are never changes');
END;
CREATE TRIGGER meta_is_never_deleted BEFORE DELETE ON meta
BEGIN
    SELECT RAISE(ABORT, 'whose photos these are never changes');
END;

-- Smaller pictures made from photos. Derived, may be dropped at any time.
CREATE TABLE renditions (
    sha256 BLOB NOT NULL REFERENCES originals (sha256),
    kind TEXT NOT NULL CHECK (kind IN ('screen', 'thumbnail')),
    bytes_sha256 BLOB NOT NULL CHECK (length(bytes_sha256) = 32),
    bytes BLOB NOT NULL,
    PRIMARY KEY (sha256, kind)
) STRICT;
