"""The certificate of this server: made by itself at its first start in a network, and kept.

A browser does not know who made it and asks once; what passes is encrypted all the same, and a page that came over an
encrypted line may ring, keep the screen awake and use the camera.
"""

from __future__ import annotations

import ipaddress
import os
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from areakit.errors import FileError

if TYPE_CHECKING:
    from cryptography import x509

VALID_DAYS = 397
"""Browsers refuse certificates that are good for longer than 398 days (CA/Browser Forum baseline, from memory)."""
RENEW_DAYS = 30


@dataclass(frozen=True, slots=True, kw_only=True)
class Certificate:
    """Where certificate and key lie, and the SHA-256 fingerprint that a browser shows."""

    chain: Path
    key: Path
    fingerprint: str


def certificate_for(host: str, *, folder: Path, now: datetime) -> Certificate:
    """Return the kept certificate for an address, or a new one where there is none or it is about to end.

    FileError if the folder cannot be written.
    """
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes

    chain, key = folder / f"serve-{host}.pem", folder / f"serve-{host}.key"
    found = _kept(chain, key, now)
    if found is None:
        try:
            found = _made(host, chain=chain, key=key, now=now)
        except OSError as error:
            raise FileError(
                f"The certificate cannot be written to {folder}: {error.strerror}.",
                remedy="Make the folder writable, or serve without encryption with --plain.",
            ) from None
    assert isinstance(found, x509.Certificate)
    return Certificate(chain=chain, key=key, fingerprint=found.fingerprint(hashes.SHA256()).hex(":").upper())


def _kept(chain: Path, key: Path, now: datetime) -> x509.Certificate | None:
    from cryptography import x509
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    try:
        found = x509.load_pem_x509_certificate(chain.read_bytes())
        fits = load_pem_private_key(key.read_bytes(), None).public_key() == found.public_key()
    except (OSError, ValueError, TypeError):
        return None
    return found if fits and found.not_valid_after_utc - now > timedelta(days=RENEW_DAYS) else None


def _made(host: str, *, chain: Path, key: Path, now: datetime) -> x509.Certificate:
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes, serialization
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

    private = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "areakit bench")])
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(private.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(hours=1))
        .not_valid_after(now + timedelta(days=VALID_DAYS))
        .add_extension(x509.SubjectAlternativeName([_general_name(host)]), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .sign(private, hashes.SHA256())
    )
    chain.parent.mkdir(parents=True, exist_ok=True)
    secret = private.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    _write(key, secret)
    _write(chain, made.public_bytes(serialization.Encoding.PEM))
    return made


def _general_name(host: str) -> x509.GeneralName:
    from cryptography import x509

    try:
        return x509.IPAddress(ipaddress.ip_address(host))
    except ValueError:
        return x509.DNSName(host)


def _write(path: Path, content: bytes) -> None:
    """Write whole or not at all, for the owner only."""
    fresh = path.with_name(f"{path.name}.new")
    with open(os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as file:
        file.write(content)
    fresh.replace(path)
