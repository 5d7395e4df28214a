"""The bench's own certificate authority, and the server certificate that it signs.

A phone lets a page work with no signal only over HTTPS, and no public authority vouches for an
address inside a house. So each data directory has a private authority that phones are told to
trust once. The fields are those of RFC 5280; Apple (support article 103769) asks for SHA-256, a
subject alternative name, serverAuth and a short life.
"""

import contextlib
import os
import tempfile
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from benchapp.records.atomic_file import make_private
from benchapp.web.local_network import PRIVATE_NETWORKS, Address
from benchapp.words import WordedError, dates

AUTHORITY_LIFE = timedelta(days=3650)
SERVER_LIFE = timedelta(days=397)
"""Apple takes at most 825 days of a private authority (article 103769), others less."""
RENEW_WITHIN = timedelta(days=30)
_BACKDATED = timedelta(days=1)  # a phone's clock may be behind the server's


class Damaged(WordedError, ValueError):
    """The authority's file cannot be used; the sentence says what to do."""


@dataclass(frozen=True)
class Signed:
    """A certificate and the key that belongs to it."""

    key: ec.EllipticCurvePrivateKey
    certificate: x509.Certificate


@dataclass(frozen=True)
class Certificates:
    """What `load_or_make` found or made."""

    authority: x509.Certificate
    server: x509.Certificate
    server_file: Path  # key, server certificate, authority: PEM


# ---- making ------------------------------------------------------------------------------------


def make_authority(names: Iterable[str], now: datetime) -> Signed:
    """Make an authority for ten years from `now` (with a time zone), for the house network alone.

    `names` come from `machine_names`. The name constraints are critical: a phone that does not
    know them refuses the authority, and one that does takes no other name from it.
    """
    names = tuple(names)
    called = names[-1].removesuffix(".local")
    allowed = dict.fromkeys(["localhost", "local", *(name for name in names if "." not in name)])
    key = ec.generate_private_key(ec.SECP256R1())
    name = _name(f"Pour bench on {called}")
    usage = x509.KeyUsage(
        digital_signature=False,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=True,
        crl_sign=True,
        encipher_only=False,
        decipher_only=False,
    )
    constraints = x509.NameConstraints(
        permitted_subtrees=[
            *(x509.DNSName(name) for name in allowed),
            *(x509.IPAddress(network) for network in PRIVATE_NETWORKS),
        ],
        excluded_subtrees=None,
    )
    certificate = (
        _builder(name, name, key.public_key(), now, AUTHORITY_LIFE)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(constraints, critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )
    return Signed(key, certificate)


def make_server(
    authority: Signed, names: Iterable[str], addresses: Iterable[Address], now: datetime
) -> Signed:
    """Make a server certificate for `names` and `addresses`, 397 days at most from `now`.

    Names that the authority may not sign are left out: one of them would spoil the rest.
    """
    key = ec.generate_private_key(ec.SECP256R1())
    names = [name for name in names if _may_sign(authority.certificate, name)]
    alternatives = [
        *(x509.DNSName(name) for name in names),
        *(x509.IPAddress(address) for address in addresses),
    ]
    issuer = authority.certificate
    usage = x509.KeyUsage(
        digital_signature=True,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=False,
        crl_sign=False,
        encipher_only=False,
        decipher_only=False,
    )
    identifier = issuer.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
    most = issuer.not_valid_after_utc - (now - _BACKDATED) + timedelta(seconds=1)
    life = min(SERVER_LIFE, most)
    certificate = (
        _builder(_name(names[-1]), issuer.subject, key.public_key(), now, life)
        .add_extension(x509.SubjectAlternativeName(alternatives), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(identifier),
            critical=False,
        )
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(authority.key, hashes.SHA256())
    )
    return Signed(key, certificate)


def is_renewal_due(
    server: x509.Certificate,
    authority: x509.Certificate,
    names: Iterable[str],
    addresses: Iterable[Address],
    now: datetime,
) -> bool:
    """Whether `server` must be made anew: a name or address is missing, or it runs out soon.

    One that lives as long as its authority is not due: a new one would live no longer.
    """
    runs_out = server.not_valid_after_utc
    if now >= runs_out - RENEW_WITHIN and runs_out < authority.not_valid_after_utc:
        return True
    try:
        server.verify_directly_issued_by(authority)
    except (ValueError, TypeError, InvalidSignature):
        return True
    has = server.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    wanted_names = {name for name in names if _may_sign(authority, name)}
    return not (
        wanted_names <= set(has.get_values_for_type(x509.DNSName))
        and set(addresses) <= set(has.get_values_for_type(x509.IPAddress))
    )


def fingerprint(certificate: x509.Certificate) -> str:
    """The certificate's SHA-256 as phones show it: 32 pairs of capital digits and colons."""
    return certificate.fingerprint(hashes.SHA256()).hex(":").upper()


def common_name(certificate: x509.Certificate) -> str:
    """What a phone's settings call the certificate."""
    return str(certificate.subject.get_attributes_for_oid(NameOID.COMMON_NAME)[0].value)


def _may_sign(authority: x509.Certificate, name: str) -> bool:
    constraints = authority.extensions.get_extension_for_class(x509.NameConstraints).value
    permitted = [
        tree.value
        for tree in constraints.permitted_subtrees or ()
        if isinstance(tree, x509.DNSName)
    ]
    return any(name == tree or name.endswith(f".{tree}") for tree in permitted)


def _name(common: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, common[:64])])


def _builder(
    subject: x509.Name,
    issuer: x509.Name,
    key: ec.EllipticCurvePublicKey,
    now: datetime,
    life: timedelta,
) -> x509.CertificateBuilder:
    start = now - _BACKDATED
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key)
        .serial_number(x509.random_serial_number())
        .not_valid_before(start)
        # The last second counts too (RFC 5280 section 4.1.2.5).
        .not_valid_after(start + life - timedelta(seconds=1))
    )


# ---- in a folder ---------------------------------------------------------------------------------


def load_or_make(
    folder: Path, *, names: Iterable[str], addresses: Iterable[Address], now: datetime
) -> Certificates:
    """Return the certificates kept in `folder`, making what is missing and renewing what is due.

    Two processes that ask at once get the same authority. Raises OSError where the folder cannot
    be used, Damaged where the authority's file is damaged or the authority has run out.
    """
    names, addresses = tuple(names), tuple(addresses)
    make_private(folder)
    _close_to_others(folder, 0o700)
    authority_file, server_file = folder / "authority.pem", folder / "server.pem"
    if not authority_file.exists():
        made = make_authority(names, now)
        _write(authority_file, _pem(made), replace=False)
    authority = _read(authority_file)
    if authority is None:
        raise Damaged(
            "The certificate authority in {file} is damaged. Put the file back from a copy, or "
            "delete the folder {directory} and start again: each phone must then trust the new "
            "one.",
            file=authority_file,
            directory=folder,
        )
    if now >= authority.certificate.not_valid_after_utc:
        raise Damaged(
            "The certificate authority in {file} ran out on {date}. Check this machine's date; "
            "if it is right, delete the folder {directory} and start again: each phone must then "
            "trust the new one.",
            file=authority_file,
            date=dates.long_day_text(authority.certificate.not_valid_after_utc),
            directory=folder,
        )
    # A damaged server certificate is no loss: it is made anew.
    server = _read(server_file) if server_file.exists() else None
    if server is None or is_renewal_due(
        server.certificate, authority.certificate, names, addresses, now
    ):
        server = make_server(authority, names, addresses, now)
        _write(server_file, _pem(server, authority.certificate), replace=True)
    return Certificates(authority.certificate, server.certificate, server_file)


def _pem(signed: Signed, *chain: x509.Certificate) -> bytes:
    """Key (PKCS#8) and certificates in one text, so that they are replaced together."""
    key = signed.key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )
    shown = [item.public_bytes(serialization.Encoding.PEM) for item in (signed.certificate, *chain)]
    return b"".join([key, *shown])


def _read(path: Path) -> Signed | None:
    """What `_pem` wrote, or None where it is damaged."""
    _close_to_others(path, 0o600)
    text = path.read_bytes()
    try:
        key = serialization.load_pem_private_key(text, None)
        certificate = x509.load_pem_x509_certificates(text)[0]
        fits = certificate.public_key() == key.public_key()
    except (ValueError, TypeError, UnsupportedAlgorithm):
        return None
    if not fits or not isinstance(key, ec.EllipticCurvePrivateKey):
        return None
    return Signed(key, certificate)


def _close_to_others(path: Path, mode: int) -> None:
    """Take back what a copy or an unpacked archive may have opened to others."""
    if os.name == "posix" and path.stat().st_mode & 0o077:
        path.chmod(mode)


def _write(path: Path, content: bytes, *, replace: bool) -> None:
    """Put a whole file at `path`. Without `replace` the first of two writers wins."""
    handle, name = tempfile.mkstemp(prefix=f".{path.name}-", dir=path.parent)  # mode 0600
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        if replace:
            os.replace(name, path)
        else:
            with contextlib.suppress(FileExistsError):
                os.link(name, path)
    finally:
        with contextlib.suppress(FileNotFoundError):
            os.unlink(name)
