"""The signed document in other programs' eyes, and every alteration of it refused by name.

Read by poppler (pdfsig, pdftotext), qpdf, pikepdf and pyHanko; altered documents are made here, with pikepdf and
pyHanko, never by the program itself.
"""

import copy
import io
import json
import random
import re
import resource
import sqlite3
import zlib

import paper
import pikepdf
import pytest
from program import tool


@pytest.fixture(scope="module")
def demo(tablet):
    """The demo's whole main job: folder, register, signed documents, authority."""
    ran = tablet.run("demo", "demo", "--no-window")
    assert ran.code == 0, ran
    folder = tablet.folder / "demo"
    found = {"folder": folder, "said": ran.out, "authority": folder / "authority.pem"}
    found["register"] = next(folder.glob("*.gaugerod"))
    found["papers"] = sorted(folder.glob("**/*.pdf"))
    assert found["papers"] and found["authority"].exists(), ran.out
    return found


@pytest.fixture(scope="module")
def signed(demo):
    """A signed document of the demo (not a draft)."""
    for file in demo["papers"]:
        if b"/ByteRange" in file.read_bytes():
            return file
    pytest.fail("the demo signs nothing")


def verify(tablet, file, *args):
    return tablet.run("verify", file, *args)


@pytest.fixture()
def altered(tablet, tmp_path):
    """Writes altered bytes to a file and says what verify makes of them."""

    def check(data, *args, name="altered.pdf"):
        file = tmp_path / name
        file.write_bytes(data)
        return verify(tablet, file, *args)

    return check


def refused(ran, *words):
    assert ran.code == 1, ran
    said = (ran.out + ran.err).lower()
    assert any(word in said for word in words), (words, ran)


def test_the_demo_prints_the_paths_of_what_it_made(demo):
    for file in [demo["register"], demo["authority"], *demo["papers"]]:
        assert file.name in demo["said"], file


def test_poppler_finds_the_signature_valid_over_the_whole_file(signed):
    assert paper.pdfsig_finds(signed) == (True, True), tool("pdfsig", signed).stdout


def test_pyhanko_finds_the_signature_intact_whole_and_by_the_authority(demo, signed):
    assert paper.pyhanko_finds(signed.read_bytes(), demo["authority"]) == (True, True, True)


def test_every_signed_document_of_the_demo_is_sound(demo):
    signed = [file for file in demo["papers"] if b"/ByteRange" in file.read_bytes()]
    for file in signed:
        assert paper.pdfsig_finds(file) == (True, True), file
        assert paper.pyhanko_finds(file.read_bytes(), demo["authority"]) == (True, True, True), file


def test_qpdf_and_pikepdf_find_nothing_wrong(demo):
    for file in demo["papers"]:
        done = tool("qpdf", "--check", file)
        assert done.returncode == 0 and "WARNING" not in done.stdout + done.stderr, (file, done.stdout, done.stderr)
        with pikepdf.open(file) as pdf:
            assert pdf.check_pdf_syntax() == [], file


def test_the_signature_is_pades_with_a_p256_certificate(signed):
    from pyhanko.pdf_utils.reader import PdfFileReader

    signature = PdfFileReader(io.BytesIO(signed.read_bytes())).embedded_signatures[0]
    assert signature.sig_object["/SubFilter"] == "/ETSI.CAdES.detached"
    key = signature.signer_cert.public_key
    assert (key.algorithm, key.curve) == ("ec", ("named", "secp256r1"))
    attributes = {a["type"].native for a in signature.signer_info["signed_attrs"]}
    assert {"content_type", "message_digest", "signing_certificate_v2"} <= attributes
    assert "signing_time" not in attributes, "the time stands in /M (ETSI EN 319 142-1)"
    assert "/M" in signature.sig_object


def test_structure_is_that_of_pdf_a_3(signed):
    with pikepdf.open(signed) as pdf:
        assert pdf.pdf_version == "1.7"
        assert pdf.Root.OutputIntents[0].S == "/GTS_PDFA1"
        with pdf.open_metadata() as metadata:
            assert metadata["pdfaid:part"] == "3" and metadata["pdfaid:conformance"] == "B"
            assert str(pdf.docinfo["/Title"]) == metadata["dc:title"]
        assert all(spec.AFRelationship in ("/Data", "/Source") for spec in pdf.Root.AF)
        for page in pdf.pages:
            for font in page.Resources.get("/Font", {}).values():
                descendant = font.DescendantFonts[0] if "/DescendantFonts" in font else font
                descriptor = descendant.FontDescriptor
                assert any(key in descriptor for key in ("/FontFile", "/FontFile2", "/FontFile3")), "a font is not embedded"


def test_verify_says_ok_with_the_authority_three_without_and_one_with_another(tablet, demo, signed):
    assert verify(tablet, signed, "--authority", demo["authority"]).code == 0
    without = verify(tablet, signed)
    assert without.code == 3, without
    fingerprint = re.search(r"authority\W+([0-9a-f]{64})\b", without.out + without.err)
    assert fingerprint, without
    assert verify(tablet, signed, "--authority", fingerprint[1]).code == 0
    refused(verify(tablet, signed, "--authority", "0" * 64), "authority")


def test_the_fingerprint_is_the_one_openssl_would_print(tablet, demo, signed):
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes

    certificate = x509.load_pem_x509_certificate(demo["authority"].read_bytes())
    ran = verify(tablet, signed)
    assert certificate.fingerprint(hashes.SHA256()).hex() in ran.out + ran.err


def positions(data, count):
    """Places in the signed ranges: the ends of each and others from a fixed seed."""
    rng = random.Random(4)
    ranges = paper.signed_ranges(data)
    chosen = {start for start, _ in ranges} | {start + length - 1 for start, length in ranges}
    while len(chosen) < count:
        start, length = rng.choice(ranges)
        chosen.add(start + rng.randrange(length))
    return sorted(chosen)


def test_one_changed_byte_anywhere_is_caught_by_all(demo, signed, altered, tmp_path):
    data = signed.read_bytes()
    for place in positions(data, 48):
        changed = bytearray(data)
        changed[place] ^= 0x01
        ran = altered(bytes(changed), "--authority", demo["authority"])
        assert ran.code in (1, 2), (place, ran)
        sound, whole, _ = paper.pyhanko_finds(bytes(changed), demo["authority"])
        assert not (sound and whole), place
        assert paper.pdfsig_finds(tmp_path / "altered.pdf") != (True, True), place


def test_one_changed_byte_of_a_page_is_altered_and_not_merely_unreadable(demo, signed, altered):
    data = bytearray(signed.read_bytes())
    start = data.find(b"stream") + 60
    data[start] ^= 0x10
    ran = altered(bytes(data), "--authority", demo["authority"])
    assert ran.code in (1, 2), ran
    assert (ran.out + ran.err).strip()


def test_bytes_appended_are_refused(demo, signed, altered):
    data = signed.read_bytes()
    for tail in (b"x", b"\n", b"\n% a remark\n%%EOF\n"):
        ran = altered(data + tail, "--authority", demo["authority"])
        refused(ran, "after", "append", "cover", "whole file")


def test_a_page_changed_in_an_increment_is_refused(demo, signed, altered):
    from pyhanko.pdf_utils import generic
    from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter

    writer = IncrementalPdfFileWriter(io.BytesIO(signed.read_bytes()))
    page, _ = writer.find_page_for_modification(0)
    page.get_object()["/Rotate"] = generic.NumberObject(90)
    writer.update_container(page.get_object())
    out = io.BytesIO()
    writer.write(out)
    refused(altered(out.getvalue(), "--authority", demo["authority"]), "after", "append", "cover", "whole file")


def test_a_document_signed_again_by_a_foreign_authority_is_refused(demo, signed, altered, tmp_path):
    data = paper.signed_by_foreigner(paper.before_signing(signed.read_bytes()), tmp_path)
    sound, whole, trusted = paper.pyhanko_finds(data, tmp_path / "foreign-root.pem")
    assert sound and whole and trusted, "the forgery itself must be a sound document"
    refused(altered(data, "--authority", demo["authority"]), "authority", "vouch")
    # Nobody vouches for the signer within the evidence either.
    refused(altered(data), "authority", "vouch", "signer")


def test_a_page_replaced_and_signed_again_is_refused(demo, signed, altered, tmp_path):
    with pikepdf.open(io.BytesIO(paper.before_signing(signed.read_bytes()))) as pdf:
        pdf.pages[1] = pdf.pages[0]
        out = io.BytesIO()
        pdf.save(out)
    data = paper.signed_by_foreigner(out.getvalue(), tmp_path)
    ran = altered(data, "--authority", demo["authority"])
    refused(ran, "page")


def test_an_unsigned_document_is_refused(demo, signed, altered):
    ran = altered(paper.before_signing(signed.read_bytes()), "--authority", demo["authority"])
    refused(ran, "not signed", "unsigned", "no signature")


def entries(evidence):
    """The list of recorded entries within the evidence, wherever it stands."""
    best = []

    def walk(node):
        nonlocal best
        if isinstance(node, list):
            if len(node) > len(best) and all(isinstance(n, dict) and "header" in n for n in node):
                best = node
            for child in node:
                walk(child)
        elif isinstance(node, dict):
            for child in node.values():
                walk(child)

    walk(evidence)
    assert len(best) > 10, "no entries in the evidence"
    return best


def test_the_evidence_alone_verifies(demo, signed, altered):
    _, evidence = paper.evidence_of(signed)
    assert altered(evidence, "--authority", demo["authority"], name="evidence.json").code == 0
    assert altered(evidence, name="evidence.json").code == 3


def test_an_entry_dropped_from_the_evidence_is_refused(demo, signed, altered):
    _, evidence = paper.evidence_of(signed)
    whole = json.loads(evidence)
    count = len(entries(whole))
    for place in (0, 1, count // 2, count - 2, count - 1):
        less = copy.deepcopy(whole)
        del entries(less)[place]
        ran = altered(paper.compact(less), "--authority", demo["authority"], name="evidence.json")
        refused(ran, "missing", "gap", "incomplete", "not there", "head")


def test_an_altered_entry_in_the_evidence_is_refused(demo, signed, altered):
    _, evidence = paper.evidence_of(signed)
    whole = json.loads(evidence)
    count = len(entries(whole))
    for place in (1, count // 2, count - 1):
        changed = copy.deepcopy(whole)
        entry = entries(changed)[place]
        payload = json.dumps(entry["payload"]) if not isinstance(entry["payload"], str) else entry["payload"]
        at = [m.start() for m in re.finditer(r"[0-9a-z]", payload)][-1]
        payload = payload[:at] + ("1" if payload[at] != "1" else "2") + payload[at + 1 :]
        entry["payload"] = payload if isinstance(entry["payload"], str) else json.loads(payload)
        ran = altered(paper.compact(changed), "--authority", demo["authority"], name="evidence.json")
        refused(ran, "altered", "digest", "hash", "does not match", "changed")


def test_a_verdict_changed_in_the_evidence_is_refused(demo, signed, altered, tmp_path):
    _, evidence = paper.evidence_of(signed)
    assert b'"conforming"' in evidence, "the evidence states no verdict"
    for old, new in ((b'"conforming"', b'"nonconforming"'), (b'"nonconforming"', b'"conforming"'), (b'"undetermined"', b'"conforming"')):
        if old not in evidence:
            continue
        changed = evidence.replace(old, new, 1)
        refused(altered(changed, "--authority", demo["authority"], name="evidence.json"), "verdict")
        forged = paper.signed_by_foreigner(paper.with_evidence(signed, changed), tmp_path)
        ran = altered(forged, "--authority", demo["authority"])
        refused(ran, "verdict")


def test_documents_cut_short_are_refused(signed, altered):
    data = signed.read_bytes()
    for share in (0.01, 0.2, 0.5, 0.9, 0.999):
        ran = altered(data[: int(len(data) * share)])
        assert ran.code in (1, 2), (share, ran)
        assert ran.err.strip() or ran.out.strip()


def test_a_stream_that_would_fill_memory_is_refused(altered):
    packed = zlib.compressobj(9)
    bomb = b"".join([packed.compress(bytes(1 << 20)) for _ in range(3000)] + [packed.flush()])
    pdf = pikepdf.new()
    pdf.add_blank_page()
    stream = pdf.make_stream(b"")
    stream.write(bomb, filter=pikepdf.Name.FlateDecode)
    names = pikepdf.Dictionary(Names=pikepdf.Array(["evidence.json", pdf.make_indirect(pikepdf.Dictionary(Type=pikepdf.Name.Filespec, F="evidence.json", UF="evidence.json", EF=pikepdf.Dictionary(F=stream)))]))
    pdf.Root.Names = pikepdf.Dictionary(EmbeddedFiles=names)
    out = io.BytesIO()
    pdf.save(out, compress_streams=False, stream_decode_level=pikepdf.StreamDecodeLevel.none)
    before = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    ran = altered(out.getvalue())
    assert ran.code in (1, 2), ran
    after = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    assert after <= max(before, 600_000), f"{after} KB"


MARKS = {"conforming": "OK", "nonconforming": "not OK", "undetermined": "too near to call"}


def test_the_text_holds_every_reading_and_verdict_of_the_register(tablet, demo):
    """Each reading's point, value and verdict stand in one row of the document of its plot."""
    for file in demo["papers"]:
        if b"/ByteRange" not in file.read_bytes():
            continue  # a draft's watermark runs through its rows
        text = paper.text_of(file)
        plots = [p for p in plots_of(tablet, demo) if re.search(rf"\b{re.escape(p)}\b", file.stem)]
        assert len(plots) == 1, (file, plots)
        status = tablet.run("status", demo["register"], "--plot", plots[0], "--json").json()
        readings = [(h, r) for h in status["hold_points"] for r in h["readings"]]
        assert readings, file
        rows = [" ".join(line.split()) for line in text.splitlines()]
        for hold_point, reading in readings:
            value = shown(reading)
            mark = MARKS.get(reading["verdict"], "")
            found = [row for row in rows if str(reading["point"]) in row and value in row.split() and mark.lower() in row.lower()]
            assert found, (file.name, hold_point["id"], reading, value)


def shown(reading):
    """A value as paper shows it: levels with three decimals, other quantities as they are."""
    value = str(reading["value"])
    if reading["unit"] == "m":
        whole, _, part = value.partition(".")
        return f"{whole}.{part:0<3}"
    return value


def plots_of(tablet, demo):
    listed = tablet.run("status", demo["register"], "--json").json()
    return [p["plot"] if isinstance(p, dict) else p for p in listed["plots"]]


def test_page_one_says_what_the_document_is_not(signed):
    first = tool("pdftotext", "-l", "1", signed, "-").stdout.lower()
    for words in ("contractor", "not an approval", "structural certificate"):
        assert words in " ".join(first.split()), first


def test_photographs_go_in_as_they_came(demo, signed):
    """JPEG streams in the document are the register's originals, byte for byte, unless they had to be turned."""
    with sqlite3.connect(demo["register"].with_suffix(".photos")) as db:
        originals = {bytes(row[0]) for row in db.execute("SELECT bytes FROM originals")}
    with pikepdf.open(signed) as pdf:
        streams = [o.read_raw_bytes() for o in pdf.objects if isinstance(o, pikepdf.Stream) and o.get("/Filter") == "/DCTDecode"]
    assert streams, "no photograph in the document"
    changed = [s for s in streams if s not in originals]
    turned = [s for s in originals if b"Exif" in s[:4096] and orientation(s) != 1]
    assert len(changed) <= len(turned), f"{len(changed)} of {len(streams)} were encoded again"


def orientation(jpeg):
    from PIL import Image

    return Image.open(io.BytesIO(jpeg)).getexif().get(0x0112, 1)


def test_a_draft_says_so_on_every_page_and_is_refused(tablet, demo):
    drafts = [file for file in demo["papers"] if b"/ByteRange" not in file.read_bytes()]
    assert drafts, "the demo has no draft"
    for file in drafts:
        refused(verify(tablet, file, "--authority", demo["authority"]), "draft")
        for number, page in enumerate(paper.text_of(file).split("\f")[:-1]):
            assert "draft" in page.lower(), (file, number)
