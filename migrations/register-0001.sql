-- The register of a site, schema 1. Frozen: a released migration is never edited (a test holds its digest);
-- what changes later comes as the next file.

-- What the register is. One row, written when it is made.
CREATE TABLE meta (
    only_row INTEGER PRIMARY KEY CHECK (only_row = 1),
    register BLOB NOT NULL CHECK (length(register) = 16),
    site TEXT NOT NULL CHECK (length(site) BETWEEN 1 AND 200)
) STRICT;

-- The record. header, payload and the signatures are what counts; device to utc_ms repeat the header's fields
-- for searching, written once from it. Neither (device, seq) nor prev is unique: a chain that forked is kept in
-- both branches. arrival counts up in the order in which entries came to this file and means nothing elsewhere.
-- row_sha256 finds decay of a stored row; it proves nothing.
CREATE TABLE entries (
    arrival INTEGER PRIMARY KEY,
    id BLOB NOT NULL UNIQUE CHECK (length(id) = 32),
    header TEXT NOT NULL,
    payload TEXT NOT NULL,
    device_signature BLOB NOT NULL CHECK (length(device_signature) = 64),
    person_signature BLOB CHECK (length(person_signature) = 64),
    device BLOB NOT NULL CHECK (length(device) = 16),
    seq INTEGER NOT NULL CHECK (seq >= 1),
    prev BLOB CHECK (length(prev) = 32),
    subject TEXT NOT NULL CHECK (subject = 'site' OR subject GLOB 'plot/?*'),
    subject_prev BLOB CHECK (length(subject_prev) = 32),
    kind TEXT NOT NULL,
    utc_ms INTEGER NOT NULL,
    row_sha256 BLOB NOT NULL CHECK (length(row_sha256) = 32)
) STRICT;
CREATE INDEX entries_of_subject ON entries (subject, arrival);
CREATE INDEX entries_of_device ON entries (device, seq);
CREATE INDEX entries_after ON entries (prev) WHERE prev IS NOT NULL;
CREATE INDEX entries_after_on_subject ON entries (subject_prev) WHERE subject_prev IS NOT NULL;

-- These guard against bugs; signatures guard against people.
CREATE TRIGGER entries_are_never_changed BEFORE UPDATE ON entries
BEGIN
    SELECT RAISE(ABORT, 'a recorded entry is never changed');
END;
CREATE TRIGGER entries_are_never_deleted BEFORE DELETE ON entries
BEGIN
    SELECT RAISE(ABORT, 'a recorded entry is never deleted');
END;
-- REPLACE deletes without the trigger above on a connection that has recursive triggers off.
CREATE TRIGGER entries_are_never_replaced BEFORE INSERT ON entries
WHEN EXISTS (SELECT 1 FROM entries WHERE id = NEW.id OR arrival = NEW.arrival)
BEGIN
    SELECT RAISE(ABORT, 'a recorded entry is never replaced');
END;
CREATE TRIGGER meta_is_never_changed BEFORE UPDATE ON meta
BEGIN
    SELECT RAISE(ABORT, 'what a register is never changes');
END;
CREATE TRIGGER meta_is_never_deleted BEFORE DELETE ON meta
BEGIN
    SELECT RAISE(ABORT, 'what a register is never changes');
END;

-- The ends of the chains: entries that no entry of the same device (on the same subject) follows. Derived.
CREATE TABLE device_heads (
    device BLOB NOT NULL,
    id BLOB NOT NULL,
    seq INTEGER NOT NULL,
    PRIMARY KEY (device, id)
) STRICT, WITHOUT ROWID;
CREATE TABLE subject_heads (
    subject TEXT NOT NULL,
    device BLOB NOT NULL,
    id BLOB NOT NULL,
    seq INTEGER NOT NULL,
    PRIMARY KEY (subject, device, id)
) STRICT, WITHOUT ROWID;
CREATE TRIGGER entries_move_the_heads AFTER INSERT ON entries
BEGIN
    DELETE FROM device_heads WHERE device = NEW.device AND id = NEW.prev;
    INSERT INTO device_heads (device, id, seq)
        SELECT NEW.device, NEW.id, NEW.seq
        WHERE NOT EXISTS (SELECT 1 FROM entries WHERE prev = NEW.id AND device = NEW.device);
    DELETE FROM subject_heads WHERE subject = NEW.subject AND device = NEW.device AND id = NEW.subject_prev;
    INSERT INTO subject_heads (subject, device, id, seq)
        SELECT NEW.subject, NEW.device, NEW.id, NEW.seq
        WHERE NOT EXISTS (
            SELECT 1 FROM entries
            WHERE subject_prev = NEW.id AND device = NEW.device AND subject = NEW.subject
        );
END;

-- What was reckoned from entries, with a digest of the heads that it covers. May be dropped at any time.
CREATE TABLE projections (
    name TEXT NOT NULL,
    subject TEXT NOT NULL CHECK (subject = 'site' OR subject GLOB 'plot/?*'),
    covered BLOB NOT NULL CHECK (length(covered) = 32),
    body TEXT NOT NULL,
    body_sha256 BLOB NOT NULL CHECK (length(body_sha256) = 32),
    PRIMARY KEY (name, subject)
) STRICT, WITHOUT ROWID;
