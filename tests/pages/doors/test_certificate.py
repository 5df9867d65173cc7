"""A certificate that is made here: what it names, how long it lasts, and that it is taken by who trusts it."""

from __future__ import annotations

import ssl
import stat
from datetime import UTC, datetime, timedelta

import pytest
from cryptography import x509

from loomwright.refusals import BadDocument
from loomwright.store.door_certificate import fingerprint_of, made_certificate

NAMES = ("192.168.1.20", "bench.local", "127.0.0.1", "localhost", "::1")
NOW = datetime.now(UTC)


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    folder = tmp_path_factory.mktemp("tls")
    return folder, made_certificate(folder, NAMES, NOW)


def shaken(certificate, name: str) -> str:
    """The TLS version two sides agree on, in memory; raises where one does not trust the other."""
    server = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    server.load_cert_chain(certificate.certificate, certificate.key)
    client = ssl.create_default_context(cadata=certificate.authority.decode())
    to_server, to_client = ssl.MemoryBIO(), ssl.MemoryBIO()
    one = client.wrap_bio(to_client, to_server, server_hostname=name)
    other = server.wrap_bio(to_server, to_client, server_side=True)
    for _ in range(8):
        for side in (one, other):
            try:
                side.do_handshake()
            except ssl.SSLWantReadError:
                continue
    return one.version() or ""


@pytest.mark.parametrize("name", NAMES)
def test_who_trusts_it_takes_it_under_every_name(made, name):
    assert shaken(made[1], name) == "TLSv1.3"


def test_another_name_is_not_taken(made):
    with pytest.raises(ssl.SSLCertVerificationError):
        shaken(made[1], "elsewhere.example")


def test_nothing_older_than_tls_1_2_is_spoken(made):
    from uvicorn.config import create_ssl_context

    context = create_ssl_context(
        certfile=made[1].certificate,
        keyfile=made[1].key,
        password=None,
        ssl_version=ssl.PROTOCOL_TLS_SERVER,
        cert_reqs=ssl.CERT_NONE,
        ca_certs=None,
        ciphers=None,
    )
    assert context.minimum_version >= ssl.TLSVersion.TLSv1_2
    weak = ("RC4", "3DES", "NULL", "EXP", "MD5")
    assert not [one["name"] for one in context.get_ciphers() if any(word in one["name"] for word in weak)]


def test_its_key_is_read_by_its_owner_alone(made):
    assert stat.S_IMODE(made[1].key.stat().st_mode) == 0o600


def test_what_signs_is_thrown_away(made):
    folder, certificate = made
    keys = [path.name for path in folder.iterdir() if b"PRIVATE KEY" in path.read_bytes()]
    assert keys == [certificate.key.name]
    authority = x509.load_pem_x509_certificate(certificate.authority)
    assert authority.extensions.get_extension_for_class(x509.BasicConstraints).value.path_length == 0


def test_it_is_kept_while_it_lasts_and_fits(made):
    folder, certificate = made
    assert made_certificate(folder, NAMES[:2], NOW + timedelta(days=300)) == certificate


@pytest.mark.parametrize(("names", "days"), [((*NAMES, "10.0.0.7"), 0), (NAMES, 390), (NAMES, -2)])
def test_it_is_made_anew_where_it_does_not(tmp_path, names, days):
    before = made_certificate(tmp_path, NAMES, NOW)
    after = made_certificate(tmp_path, names, NOW + timedelta(days=days))
    assert after.fingerprint != before.fingerprint


def test_the_fingerprint_is_the_one_a_browser_shows(made):
    own = x509.load_pem_x509_certificate(made[1].certificate.read_bytes())
    from cryptography.hazmat.primitives import hashes

    assert made[1].fingerprint.replace(":", "").lower() == own.fingerprint(hashes.SHA256()).hex()
    assert len(made[1].fingerprint.split(":")) == 32


def test_a_file_that_is_no_certificate_is_told(tmp_path):
    (tmp_path / "x.pem").write_text("no certificate")
    with pytest.raises(BadDocument, match="a certificate in PEM"):
        fingerprint_of(tmp_path / "x.pem")
