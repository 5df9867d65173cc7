"""A certificate made here, for a shop that has none of its own.

A small authority is made, signs one certificate for the machine's names and addresses, and its key is thrown away
unkept: it can never sign another. Devices are given the authority's certificate to trust. Both are kept beside the
shelf as long as they last and fit, and made anew where they do not.

Source: RFC 5280 (fields); 397 days and P-256 as browsers ask for them, common practice, no source.
"""

from __future__ import annotations

import hashlib
import ipaddress
import os
import ssl
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from loomwright.store.shelf_file import refused

__all__ = ["Certificate", "fingerprint_of", "made_certificate"]

_DAYS = 397
_DAYS_LEFT = 14
_FILES = ("door-tls.crt", "door-tls.key", "door-tls-trust.crt")
_OWNER_ALONE = 0o600


@dataclass(frozen=True, slots=True, kw_only=True)
class Certificate:
    """A certificate and its key as files. fingerprint: SHA-256.   authority: what devices are given to trust, PEM."""

    certificate: Path
    key: Path
    fingerprint: str
    authority: bytes = b""


def made_certificate(folder: Path, names: Iterable[str], now: datetime) -> Certificate:
    """The certificate of the shelf in a folder; made where there is none that lasts and fits.

    Args:
        names: names and addresses under which the machine is asked.
        now: with its time zone.
    Raises:
        BadDocument: it cannot be kept there.
    """
    wanted = sorted(set(names))
    certificate, key, trust = (folder / name for name in _FILES)
    try:
        if not _fits(certificate, key, trust, wanted, now):
            _make(certificate, key, trust, wanted, now)
        return Certificate(
            certificate=certificate, key=key, fingerprint=fingerprint_of(certificate), authority=trust.read_bytes()
        )
    except OSError as fault:
        raise refused(f"{folder}: {fault.strerror}", "a folder that can be written to", "Name another") from fault


def fingerprint_of(certificate: Path) -> str:
    """The SHA-256 of a certificate, as browsers show it.

    Raises:
        BadDocument: it is none.
    """
    try:
        text = certificate.read_text(encoding="ascii")
        begin, end = text.index(ssl.PEM_HEADER), text.index(ssl.PEM_FOOTER) + len(ssl.PEM_FOOTER)
        data = ssl.PEM_cert_to_DER_cert(text[begin:end])
    except (OSError, ValueError) as fault:
        mend = "Name the certificate with --tls-cert and its key with --tls-key"
        raise refused(f"{certificate}: {fault}", "a certificate in PEM", mend) from fault
    return hashlib.sha256(data).digest().hex(":").upper()


def _fits(certificate: Path, key: Path, trust: Path, wanted: list[str], now: datetime) -> bool:
    """Whether one is there that lasts and names all that is wanted."""
    if not (certificate.is_file() and key.is_file() and trust.is_file()):
        return False
    try:
        there = x509.load_pem_x509_certificate(certificate.read_bytes())
        named = there.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except (ValueError, x509.ExtensionNotFound):
        return False
    held = {*named.get_values_for_type(x509.DNSName), *map(str, named.get_values_for_type(x509.IPAddress))}
    lasts = there.not_valid_before_utc <= now and now + timedelta(days=_DAYS_LEFT) < there.not_valid_after_utc
    return lasts and set(wanted) <= held


def _make(certificate: Path, key: Path, trust: Path, wanted: list[str], now: datetime) -> None:
    authority_key, own_key = ec.generate_private_key(ec.SECP256R1()), ec.generate_private_key(ec.SECP256R1())
    authority_name = _name("loomwright shelf, made here")
    begin, end = now - timedelta(hours=1), now + timedelta(days=_DAYS)
    authority = (
        _begun(authority_name, authority_name, authority_key.public_key(), begin, end)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_use(signs=True), critical=True)
        .sign(authority_key, hashes.SHA256())
    )
    own = (
        _begun(_name(wanted[0]), authority_name, own_key.public_key(), begin, end)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_use(signs=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName([_alternative(name) for name in wanted]), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(authority_key.public_key()), critical=False)
        .sign(authority_key, hashes.SHA256())
    )
    secret = own_key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    _write(key, secret)
    _write(trust, authority.public_bytes(Encoding.PEM))
    _write(certificate, own.public_bytes(Encoding.PEM) + authority.public_bytes(Encoding.PEM))


def _begun(
    subject: x509.Name, issuer: x509.Name, public: ec.EllipticCurvePublicKey, begin: datetime, end: datetime
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(public)
        .serial_number(x509.random_serial_number())
        .not_valid_before(begin)
        .not_valid_after(end)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(public), critical=False)
    )


def _use(*, signs: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs,
        key_cert_sign=signs,
        crl_sign=signs,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _name(text: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, text[:64])])


def _alternative(name: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ipaddress.ip_address(name))
    except ValueError:
        return x509.DNSName(name)


def _write(path: Path, data: bytes) -> None:
    """Write a file that its owner alone reads, whole or not at all."""
    coming = path.with_name(path.name + ".coming")
    coming.unlink(missing_ok=True)
    there = os.open(coming, os.O_WRONLY | os.O_CREAT | os.O_EXCL, _OWNER_ALONE)
    with os.fdopen(there, "wb") as file:
        file.write(data)
    coming.replace(path)
