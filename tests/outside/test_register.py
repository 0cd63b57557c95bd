"""The register in another SQLite's eyes (Python's), and every damaged row named by `gaugerod check`."""

import json
import shutil
import sqlite3

import pytest


@pytest.fixture(scope="module")
def site(tablet):
    """A copy of the demo's register and photos, closed."""
    ran = tablet.run("demo", "register-demo", "--no-window")
    assert ran.code == 0, ran
    folder = tablet.folder / "register-demo"
    register = next(folder.glob("*.gaugerod"))
    return register, photos_of(register)


def photos_of(register):
    return register.with_suffix(".photos")


@pytest.fixture()
def copy(tablet, site, tmp_path):
    register, photos = site
    for file in (register, photos):
        with sqlite3.connect(file) as source, sqlite3.connect(tmp_path / file.name) as target:
            source.backup(target)
    return tmp_path / register.name


def columns(file, table):
    with sqlite3.connect(file) as db:
        return [(row[1], row[2]) for row in db.execute(f"PRAGMA table_info({table})")]


def damage(file, table, column, place):
    """Changes one byte of one value, triggers dropped and put back so that only the value differs."""
    db = sqlite3.connect(file)
    triggers = db.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'").fetchall()
    for name, _ in triggers:
        db.execute(f"DROP TRIGGER {name}")
    key = "rowid"
    try:
        rows = [r[0] for r in db.execute(f"SELECT rowid FROM {table} ORDER BY rowid")]
    except sqlite3.OperationalError:
        key = None
        rows = list(range(db.execute(f"SELECT count(*) FROM {table}").fetchone()[0]))
    assert rows, f"{table} is empty"
    row = rows[int(place * (len(rows) - 1))]
    if key:
        (value,) = db.execute(f"SELECT {column} FROM {table} WHERE rowid = ?", (row,)).fetchone()
    else:
        (value,) = db.execute(f"SELECT {column} FROM {table} LIMIT 1 OFFSET ?", (row,)).fetchone()
    changed = flip(value)
    db.execute("PRAGMA ignore_check_constraints = ON")
    db.execute("PRAGMA foreign_keys = OFF")
    if key:
        db.execute(f"UPDATE {table} SET {column} = ? WHERE rowid = ?", (changed, row))
    else:
        db.execute(f"UPDATE {table} SET {column} = ? WHERE {column} IS ?", (changed, value))
    for _, sql in triggers:
        db.execute(sql)
    db.commit()
    db.close()
    return value, changed


def flip(value):
    if isinstance(value, bytes):
        middle = len(value) // 2
        return value[:middle] + bytes([value[middle] ^ 1]) + value[middle + 1 :]
    if isinstance(value, int):
        return value + 1
    middle = len(value) // 2
    return value[:middle] + ("x" if value[middle] != "x" else "y") + value[middle + 1 :]


def test_sqlite_itself_finds_the_register_whole(site):
    for file in site:
        with sqlite3.connect(file) as db:
            assert db.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
            assert db.execute("PRAGMA foreign_key_check").fetchall() == []
            assert db.execute("PRAGMA user_version").fetchone()[0] >= 1
            assert db.execute("PRAGMA application_id").fetchone()[0] != 0
            assert db.execute("PRAGMA journal_mode").fetchone()[0] == "wal"


def test_the_register_checks(tablet, site, copy):
    for register in (site[0], copy):
        for extra in ([], ["--every"]):
            ran = tablet.run("check", register, *extra)
            assert ran.code == 0, ran


def test_every_entry_is_sealed_over_its_stored_bytes(site):
    """id = SHA-256("gaugerod entry 1\\n" + header), and the header holds the payload's SHA-256."""
    import hashlib

    with sqlite3.connect(site[0]) as db:
        rows = db.execute("SELECT id, header, payload FROM entries").fetchall()
    assert len(rows) > 50
    for ident, header, payload in rows:
        header, payload = (t.encode() if isinstance(t, str) else t for t in (header, payload))
        assert hashlib.sha256(b"gaugerod entry 1\n" + header).digest() == ident
        assert json.loads(header)["payload_sha256"] == hashlib.sha256(payload).hexdigest()


def test_entries_are_signed_by_their_device(site):
    """Checked with another library: P-256 over the id, r and s of 32 bytes each, s in the lower half (low-S)."""
    from cryptography.hazmat.primitives import hashes
    from cryptography.hazmat.primitives.asymmetric import ec, utils

    with sqlite3.connect(site[0]) as db:
        rows = db.execute("SELECT id, device_signature, payload, kind, lower(hex(device)) FROM entries ORDER BY arrival").fetchall()
    keys = {}
    for _, _, payload, kind, _ in rows:
        # The register's first device stands in its opening, others are enrolled.
        if kind in ("register-opened", "device-enrolled"):
            device = json.loads(payload).get("device")
            device = device if isinstance(device, dict) else json.loads(payload)
            keys[device["device"]] = device["public_key"]
    assert keys, {r[3] for r in rows}
    order = 0xFFFFFFFF00000000FFFFFFFFFFFFFFFFBCE6FAADA7179E84F3B9CAC2FC632551
    for ident, signature, _, _, device in rows:
        point = bytes.fromhex(next(key for name, key in keys.items() if name.replace("-", "") == device))
        key = ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), point)
        r, s = int.from_bytes(signature[:32]), int.from_bytes(signature[32:])
        assert s <= order // 2, "not low-S"
        # The id is a digest already: it is signed as it is (FORMAT.md, Signatures).
        key.verify(utils.encode_dss_signature(r, s), ident, ec.ECDSA(utils.Prehashed(hashes.SHA256())))


@pytest.mark.parametrize("place", [0, 0.3, 0.7, 1])
@pytest.mark.parametrize("column", ["id", "header", "payload", "device_signature", "seq", "subject", "kind", "utc_ms", "row_sha256"])
def test_a_changed_entry_is_named(tablet, copy, column, place):
    with sqlite3.connect(copy) as db:
        arrivals = [r[0] for r in db.execute("SELECT arrival FROM entries ORDER BY arrival")]
        row = arrivals[int(place * (len(arrivals) - 1))]
        ident = db.execute("SELECT lower(hex(id)) FROM entries WHERE arrival = ?", (row,)).fetchone()[0]
    damage(copy, "entries", column, place)
    ran = tablet.run("check", copy, "--every")
    assert ran.code == 1, ran
    said = (ran.out + ran.err).lower()
    with sqlite3.connect(copy) as db:
        now = db.execute("SELECT lower(hex(id)) FROM entries WHERE arrival = ?", (row,)).fetchone()[0]
    assert ident[:12] in said or now[:12] in said, ran


@pytest.mark.parametrize("place", [0, 0.5, 1])
def test_a_changed_photograph_is_named(tablet, copy, place):
    photos = photos_of(copy)
    with sqlite3.connect(photos) as db:
        rows = [r[0] for r in db.execute("SELECT rowid FROM originals ORDER BY rowid")]
        row = rows[int(place * (len(rows) - 1))]
        digest = db.execute("SELECT lower(hex(sha256)) FROM originals WHERE rowid = ?", (row,)).fetchone()[0]
    damage(photos, "originals", "bytes", place)
    ran = tablet.run("check", copy, "--every")
    assert ran.code == 1, ran
    assert digest[:12] in (ran.out + ran.err).lower(), ran


@pytest.mark.parametrize("column", ["body", "covered", "body_sha256"])
def test_a_changed_projection_is_named(tablet, copy, column):
    with sqlite3.connect(copy) as db:
        names = db.execute("SELECT name, subject FROM projections ORDER BY name, subject").fetchall()
    assert names, "the demo's register has no projection"
    damage(copy, "projections", column, 0)
    ran = tablet.run("check", copy, "--every")
    assert ran.code == 1, ran
    assert "projection" in (ran.out + ran.err).lower() and any(n in ran.out + ran.err for n, _ in names), ran


@pytest.mark.parametrize("sql", [
    "DROP TRIGGER entries_are_never_changed",
    "CREATE TABLE more (x)",
    "DROP INDEX entries_of_subject",
    "CREATE TRIGGER sly AFTER INSERT ON entries BEGIN SELECT 1; END",
])
def test_a_changed_schema_is_named(tablet, copy, sql):
    with sqlite3.connect(copy) as db:
        db.execute(sql)
    ran = tablet.run("check", copy)
    assert ran.code == 1, ran
    word = sql.split()[2]
    assert word in ran.out + ran.err, ran


def test_an_entry_taken_out_is_noticed(tablet, copy):
    db = sqlite3.connect(copy)
    db.execute("DROP TRIGGER entries_are_never_deleted")
    sql = "SELECT arrival FROM entries ORDER BY arrival LIMIT 1 OFFSET 30"
    db.execute(f"DELETE FROM entries WHERE arrival = ({sql})")
    db.commit()
    db.close()
    ran = tablet.run("check", copy, "--every")
    assert ran.code == 1, ran


@pytest.mark.parametrize("sql", [
    "UPDATE entries SET payload = payload WHERE arrival = 1",
    "DELETE FROM entries WHERE arrival = 1",
    "INSERT OR REPLACE INTO entries SELECT * FROM entries WHERE arrival = 1",
    "UPDATE meta SET site = 'Elsewhere'",
    "DELETE FROM meta",
])
def test_triggers_refuse_what_is_never_done(copy, sql):
    """Even to a stranger's connection with recursive triggers off."""
    db = sqlite3.connect(copy)
    with pytest.raises(sqlite3.IntegrityError):
        db.execute(sql)
    db.close()


@pytest.mark.parametrize("sql", ["UPDATE originals SET bytes = bytes", "DELETE FROM originals", "INSERT OR REPLACE INTO originals SELECT * FROM originals LIMIT 1"])
def test_triggers_guard_photographs(copy, sql):
    db = sqlite3.connect(photos_of(copy))
    with pytest.raises(sqlite3.IntegrityError):
        db.execute(sql)
    db.close()


def test_a_register_without_its_photos_says_so(tablet, copy):
    photos_of(copy).unlink()
    ran = tablet.run("check", copy, "--every")
    assert ran.code in (1, 2), ran
    assert "photo" in (ran.out + ran.err).lower(), ran


def test_photos_of_another_site_are_refused(tablet, copy, tmp_path):
    (tablet.folder / "pass.txt").write_text("an invented passphrase of six words\n")
    other = tmp_path / "other.gaugerod"
    assert tablet.run("new", other, "--site", "Other", "--authority-passphrase-file", "pass.txt").code == 0
    shutil.copy(photos_of(copy), photos_of(other))
    ran = tablet.run("check", other, "--every")
    assert ran.code in (1, 2), ran
    assert "photo" in (ran.out + ran.err).lower(), ran
