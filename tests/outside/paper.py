"""What is done to signed documents from outside: read by poppler, qpdf, pikepdf and pyHanko, altered, signed again."""

import datetime
import io
import json
import re

import pikepdf
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID
from program import tool
from pyhanko.keys import load_cert_from_pemder
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign import PdfSignatureMetadata, SimpleSigner, sign_pdf
from pyhanko.sign.fields import SigSeedSubFilter
from pyhanko.sign.validation import validate_pdf_signature
from pyhanko.sign.validation.status import SignatureCoverageLevel
from pyhanko_certvalidator import ValidationContext


def signed_ranges(data):
    """The byte range of the last signature: (start, length) twice."""
    found = re.findall(rb"/ByteRange\s*\[\s*(\d+)\s+(\d+)\s+(\d+)\s+(\d+)\s*\]", data)
    assert found, "no /ByteRange"
    a, b, c, d = map(int, found[-1])
    return (a, b), (c, d)


def pyhanko_finds(data, authority=None):
    """pyHanko's opinion: (intact and valid, covers the whole file, trusted); faults of any kind count as no."""
    try:
        signature = PdfFileReader(io.BytesIO(data), strict=False).embedded_signatures[-1]
        roots = [load_cert_from_pemder(str(authority))] if authority else []
        # The time of signing, so that the check does not depend on today's date.
        moment = signature.self_reported_timestamp
        context = ValidationContext(trust_roots=roots, allow_fetching=False, moment=moment)
        status = validate_pdf_signature(signature, signer_validation_context=context)
        whole = status.coverage == SignatureCoverageLevel.ENTIRE_FILE
        return status.intact and status.valid, whole, status.trusted
    except Exception:  # noqa: BLE001: a damaged file may break the reader anywhere
        return False, False, False


def pdfsig_finds(file):
    """poppler's opinion: (valid, covers the whole file)."""
    text = tool("pdfsig", "-nocert", file).stdout
    return "Signature is Valid" in text, "Total document signed" in text


def text_of(file):
    done = tool("pdftotext", "-layout", file, "-")
    assert done.returncode == 0, done.stderr
    return done.stdout


def evidence_of(file):
    """Name and bytes of the attached evidence."""
    with pikepdf.open(file) as pdf:
        attached = {name: spec.get_file().read_bytes() for name, spec in pdf.attachments.items()}
    names = [name for name in attached if name.endswith(".json")]
    assert len(names) == 1, list(attached)
    return names[0], attached[names[0]]


def before_signing(data):
    """The document as it was when it was signed: the last increment taken off."""
    (start, length), _ = signed_ranges(data)
    end = data.rfind(b"%%EOF", 0, start + length)
    assert end > 0, "the signature is no increment"
    end += len(b"%%EOF")
    while data[end : end + 1] in (b"\r", b"\n"):
        end += 1
    return data[:end]


def foreign_signer(name="Invented Foreign Authority"):
    """A certificate authority of nobody's, and a signer under it."""
    now = datetime.datetime.now(datetime.UTC)
    keys = [ec.generate_private_key(ec.SECP256R1()) for _ in range(2)]
    names = [x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, n)]) for n in (name, "Foreign Signer")]

    def certificate(subject, key, authority):
        builder = x509.CertificateBuilder().subject_name(subject).issuer_name(names[0]).public_key(key.public_key())
        builder = builder.serial_number(x509.random_serial_number()).not_valid_before(now - datetime.timedelta(days=900))
        builder = builder.not_valid_after(now + datetime.timedelta(days=900))
        builder = builder.add_extension(x509.BasicConstraints(ca=authority, path_length=None), critical=True)
        usage = dict.fromkeys(
            ["key_encipherment", "data_encipherment", "key_agreement", "encipher_only", "decipher_only"], False
        )
        builder = builder.add_extension(
            x509.KeyUsage(digital_signature=not authority, content_commitment=not authority, key_cert_sign=authority, crl_sign=authority, **usage), critical=True
        )
        return builder.sign(keys[0], hashes.SHA256())

    def pem(path, data):
        path.write_bytes(data)
        return str(path)

    return names, keys, certificate(names[0], keys[0], True), certificate(names[1], keys[1], False), pem


def signed_by_foreigner(data, folder):
    """The document signed anew by pyHanko under an authority that nobody vouches for."""
    _, keys, root, leaf, pem = foreign_signer()
    encoding = serialization.Encoding.PEM
    private = keys[1].private_bytes(encoding, serialization.PrivateFormat.PKCS8, serialization.NoEncryption())
    signer = SimpleSigner.load(
        key_file=pem(folder / "foreign-key.pem", private),
        cert_file=pem(folder / "foreign-leaf.pem", leaf.public_bytes(encoding)),
        ca_chain_files=[pem(folder / "foreign-root.pem", root.public_bytes(encoding))],
    )
    writer = IncrementalPdfFileWriter(io.BytesIO(data), strict=False)
    meta = PdfSignatureMetadata(field_name="Signature1", md_algorithm="sha256", subfilter=SigSeedSubFilter.PADES)
    return sign_pdf(writer, meta, signer=signer).getvalue()


def with_evidence(file, evidence):
    """The document before signing with other evidence attached, and no signature."""
    data = before_signing(file.read_bytes())
    with pikepdf.open(io.BytesIO(data)) as pdf:
        (name,) = [n for n in pdf.attachments if n.endswith(".json")]
        spec = pdf.attachments[name].obj
        stream = spec.EF.F
        stream.write(evidence)
        stream.Params = pikepdf.Dictionary(Size=len(evidence))
        out = io.BytesIO()
        pdf.save(out)
    return out.getvalue()


def compact(document):
    return json.dumps(document, ensure_ascii=False, separators=(",", ":")).encode()
