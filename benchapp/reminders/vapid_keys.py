"""The key pair by which push services know this server (VAPID, RFC 8292), made once for each data
directory.

A phone's subscription belongs to the public key that it was made with: a new key means that each
phone must subscribe anew.
"""

import base64
from dataclasses import dataclass, field
from pathlib import Path

from cryptography.exceptions import UnsupportedAlgorithm
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import ec

from benchapp.records.atomic_file import create_once, restrict_to_owner
from benchapp.words import InputError

NAME = "push_key.pem"


@dataclass(frozen=True)
class VapidKey:
    """A key pair on the curve P-256."""

    private: ec.EllipticCurvePrivateKey = field(repr=False)

    @property
    def public(self) -> str:
        """The public point, 65 octets, as a page wants it for its `applicationServerKey`.

        base64url without padding: 87 characters.
        """
        point = self.private.public_key().public_bytes(
            serialization.Encoding.X962, serialization.PublicFormat.UncompressedPoint
        )
        return base64.urlsafe_b64encode(point).decode("ascii").rstrip("=")


def load(data_dir: Path) -> VapidKey:
    """Return the key pair kept in `data_dir`, making it (and the directory) on first use.

    The file is PEM (PKCS#8) that only its owner can read; where others could, they no longer can.
    Processes that ask at the same moment get the same key. Raises OSError where the directory
    cannot be used, InputError where the file is damaged.
    """
    path = data_dir / NAME
    if not path.exists():
        create_once(path, _pem(ec.generate_private_key(ec.SECP256R1())))
    restrict_to_owner(path)
    try:
        private = serialization.load_pem_private_key(path.read_bytes(), None)
    except (ValueError, TypeError, UnsupportedAlgorithm):
        private = None
    if not isinstance(private, ec.EllipticCurvePrivateKey) or private.curve.name != "secp256r1":
        raise InputError(
            "The push key file {path} is damaged. Put it back from a copy, or delete it and start "
            "again: a new one is made, and each phone hears again once it has opened the app.",
            path=path,
        )
    return VapidKey(private)


def _pem(private: ec.EllipticCurvePrivateKey) -> bytes:
    return private.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )
