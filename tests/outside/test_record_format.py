"""The worked example of core/src/record/FORMAT.md, made again from its prose alone: canonical JSON by Python's
own json module, digests by hashlib, signatures by the `cryptography` package (OpenSSL)."""

import hashlib
import json

import pytest
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric import ec, utils
from cryptography.hazmat.primitives.hashes import SHA256
from program import TOP

ORDER = 0xFFFFFFFF00000000FFFFFFFFFFFFFFFFBCE6FAADA7179E84F3B9CAC2FC632551  # FIPS 186-5, P-256


def blocks():
    text = (TOP / "core/src/record/FORMAT.md").read_text(encoding="utf-8")
    return [block.split("```", 1)[0].rstrip("\n") for block in text.split("```text\n")[1:]]


# Between the root and the last example stand payloads, each with its digest.
HEADS, ROOT, *WORKED, PAYLOAD, PAYLOAD_DIGEST, HEADER, ID, DEVICE, PERSON = blocks()
WORKED = list(zip(WORKED[::2], WORKED[1::2], strict=True))


def canonical(value):
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def digest(text):
    return hashlib.sha256(text.encode()).hexdigest()


def test_header_and_payload_are_canonical():
    for text in (HEADER, PAYLOAD, *(text for text, _ in WORKED)):
        assert canonical(json.loads(text)) == text


def test_payload_digest_and_id_follow_from_the_texts():
    assert digest(PAYLOAD) == PAYLOAD_DIGEST
    assert len(WORKED) >= 5
    for text, expected in WORKED:
        assert digest(text) == expected, text
    assert json.loads(HEADER)["payload_sha256"] == PAYLOAD_DIGEST
    assert digest("gaugerod entry 1\n" + HEADER) == ID


def test_root_follows_from_the_heads():
    assert digest(HEADS + "\n") == ROOT


@pytest.mark.parametrize(("lines", "secret"), [(DEVICE, b"\5" * 32), (PERSON, b"\6" * 32)], ids=["device", "person"])
def test_signatures_hold_are_low_and_come_from_the_stated_keys(lines, secret):
    point, signature = (bytes.fromhex(line) for line in lines.split("\n"))
    key = ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), point)
    private = ec.derive_private_key(int.from_bytes(secret, "big"), ec.SECP256R1())
    assert private.public_key() == key
    r, s = int.from_bytes(signature[:32], "big"), int.from_bytes(signature[32:], "big")
    assert len(signature) == 64 and 0 < s <= ORDER // 2
    der = utils.encode_dss_signature(r, s)
    message = ("gaugerod entry 1\n" + HEADER).encode()
    key.verify(der, message, ec.ECDSA(SHA256()))
    with pytest.raises(InvalidSignature):
        key.verify(der, message + b" ", ec.ECDSA(SHA256()))
