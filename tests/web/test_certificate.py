"""The certificate that the server makes for itself, judged by the TLS of the standard library."""

from __future__ import annotations

import hashlib
import socket
import ssl
import threading
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from areakit.errors import FileError
from areakit.web.certificate import certificate_for

NOW = datetime.now(UTC)


def test_a_client_that_trusts_it_gets_an_encrypted_line_to_that_address_only(tmp_path: Path) -> None:
    found = certificate_for("127.0.0.1", folder=tmp_path / "new", now=NOW)
    side = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    side.load_cert_chain(found.chain, found.key)
    trusting = ssl.create_default_context(cafile=str(found.chain))
    for name, fits in (("127.0.0.1", True), ("192.0.2.7", False)):
        here, there = socket.socketpair()
        answer = threading.Thread(target=_answer, args=(side, there))
        answer.start()
        if fits:
            with trusting.wrap_socket(here, server_hostname=name) as line:
                assert line.recv(5) == b"hello"
                shown = line.getpeercert(binary_form=True)
                assert shown is not None
                assert hashlib.sha256(shown).hexdigest() == found.fingerprint.replace(":", "").lower()
        else:
            with pytest.raises(ssl.SSLCertVerificationError):
                trusting.wrap_socket(here, server_hostname=name)
            here.close()
        answer.join()


def _answer(side: ssl.SSLContext, there: socket.socket) -> None:
    try:
        with side.wrap_socket(there, server_side=True) as line:
            line.sendall(b"hello")
    except OSError:
        there.close()


def test_it_is_kept_for_its_owner_and_made_anew_before_it_ends(tmp_path: Path) -> None:
    first = certificate_for("192.0.2.7", folder=tmp_path, now=NOW)
    assert first.key.stat().st_mode & 0o077 == 0
    assert certificate_for("192.0.2.7", folder=tmp_path, now=NOW + timedelta(days=366)) == first
    later = certificate_for("192.0.2.7", folder=tmp_path, now=NOW + timedelta(days=368))
    assert later.fingerprint != first.fingerprint
    assert certificate_for("192.0.2.8", folder=tmp_path, now=NOW).chain != first.chain


@pytest.mark.parametrize("name", ["serve-192.0.2.7.pem", "serve-192.0.2.7.key"])
def test_a_damaged_file_is_made_anew(tmp_path: Path, name: str) -> None:
    first = certificate_for("192.0.2.7", folder=tmp_path, now=NOW)
    (tmp_path / name).write_text("no certificate")
    assert certificate_for("192.0.2.7", folder=tmp_path, now=NOW).fingerprint != first.fingerprint


def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(FileError, match="cannot be written") as refused:
        certificate_for("192.0.2.7", folder=tmp_path / "file", now=NOW)
    assert "--plain" in refused.value.remedy
