"""Certificates of the house network, and the authorities that are trusted."""

from datetime import UTC, datetime
from pathlib import Path

from benchapp.commands.checks import certificates as certificates_checks
from benchapp.web import certificates
from tests.commands.workshop import DAY, posix


def test_the_certificate_of_the_house_network(tmp_path: Path) -> None:
    made = datetime(2026, 11, 25, tzinfo=UTC)
    folder = tmp_path / "tls"
    assert certificates_checks.certificate(folder, made).state == "ok"
    assert "serve --lan makes them" in certificates_checks.certificate(folder, made).says
    assert not folder.exists()
    certificates.load_or_make(folder, names=["localhost", "shed.local"], addresses=[], now=made)
    after = {
        days: certificates_checks.certificate(folder, made + days * DAY).state
        for days in (0, 365, 366, 395, 396)
    }
    assert after == {0: "ok", 365: "ok", 366: "look", 395: "look", 396: "bad"}
    said = certificates_checks.certificate(folder, made).says
    assert said == "The certificate is good until 25 December 2027, for localhost, shed.local."
    (folder / "server.pem").write_text("half")
    assert certificates_checks.certificate(folder, made).state == "bad"


@posix
def test_a_certificates_key_that_others_may_read(tmp_path: Path) -> None:
    now = datetime(2026, 11, 25, tzinfo=UTC)
    certificates.load_or_make(tmp_path / "tls", names=["localhost"], addresses=[], now=now)
    (tmp_path / "tls" / "authority.pem").chmod(0o644)
    found = certificates_checks.certificate(tmp_path / "tls", now)
    assert found.state == "bad"
    assert "mode 0644" in found.says


def test_whether_this_machine_trusts_anybody(tmp_path: Path) -> None:
    assert certificates_checks.authorities(None, 3, sends=True).state == "ok"
    assert certificates_checks.authorities(None, 0, sends=True).state == "bad"
    assert certificates_checks.authorities(str(tmp_path), 0, sends=False).state == "look"
    # As OpenSSL names them in a folder: the hash of the subject, and a number.
    (tmp_path / "5ad8a5d6.0").touch()
    assert certificates_checks.authorities(str(tmp_path), 0, sends=True).state == "ok"
