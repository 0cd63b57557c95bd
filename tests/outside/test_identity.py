"""Certificates and sealed keys that the program makes, held against other programs: OpenSSL reads and verifies the
certificates, libsodium (PyNaCl) opens the sealed key. A test of the program holds it to the same files."""

import json
import subprocess

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec
from nacl import bindings, pwhash
from nacl.exceptions import CryptoError
from program import DATA

FOLDER = DATA / "identity"


def openssl(*arguments):
    return subprocess.run(["openssl", *arguments], capture_output=True, text=True, check=False)


def test_openssl_verifies_the_persons_certificate_strictly():
    at = ["-attime", "1775000000"]  # 2026-03-31
    root = ["-CAfile", FOLDER / "root.pem", "-x509_strict"]
    assert openssl("verify", *at, *root, FOLDER / "person.pem").returncode == 0
    late = openssl("verify", "-attime", "1900000000", *root, FOLDER / "person.pem")
    assert late.returncode != 0 and "expired" in late.stderr
    # Without the root nothing is known of it.
    assert openssl("verify", *at, "-no-CAfile", "-no-CApath", FOLDER / "person.pem").returncode != 0


def test_the_extensions_say_what_each_certificate_is_for():
    root, person = (x509.load_pem_x509_certificate((FOLDER / f).read_bytes()) for f in ("root.pem", "person.pem"))
    ca = root.extensions.get_extension_for_class(x509.BasicConstraints)
    assert ca.critical and ca.value.ca
    usage = root.extensions.get_extension_for_class(x509.KeyUsage).value
    assert usage.key_cert_sign and usage.crl_sign and not usage.digital_signature
    assert not person.extensions.get_extension_for_class(x509.BasicConstraints).value.ca
    usage = person.extensions.get_extension_for_class(x509.KeyUsage).value
    assert usage.digital_signature and usage.content_commitment and not usage.key_cert_sign
    ski = root.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value.digest
    aki = person.extensions.get_extension_for_class(x509.AuthorityKeyIdentifier).value.key_identifier
    assert ski == aki
    person.verify_directly_issued_by(root)
    root.verify_directly_issued_by(root)


def opened(sealed, pin, secret):
    cost = sealed["cost"]
    assert cost == {"lanes": 1, "memory_kib": 65536, "passes": 3}
    key = pwhash.argon2id.kdf(
        32, pin + secret, bytes.fromhex(sealed["salt"]), opslimit=cost["passes"], memlimit=cost["memory_kib"] * 1024
    )
    bound_to = f"gaugerod sealed key 1\n{sealed['opened_by']}\n{sealed['public']}\n".encode()
    return bindings.crypto_aead_xchacha20poly1305_ietf_decrypt(
        bytes.fromhex(sealed["sealed"]), bound_to, bytes.fromhex(sealed["nonce"]), key
    )


def test_libsodium_opens_the_sealed_key_with_the_right_pin_and_device_only():
    sealed = json.loads((FOLDER / "sealed-key.json").read_text())
    secret = opened(sealed, b"2580", b"\x09" * 32)
    assert secret == b"\x06" * 32
    private = ec.derive_private_key(int.from_bytes(secret, "big"), ec.SECP256R1())
    point = bytes.fromhex(sealed["public"])
    assert private.public_key() == ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), point)
    for pin, device in ((b"2581", b"\x09" * 32), (b"2580", b"\x08" * 32)):
        with pytest.raises(CryptoError):
            opened(sealed, pin, device)
