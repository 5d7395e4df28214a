"""What `benchapp serve --lan` serves with: certificates, addresses, and the page on trust."""

import socket
from datetime import UTC, datetime
from pathlib import Path

from benchapp.web import certificates
from benchapp.web.local_network import (
    machine_addresses,
    machine_names,
    private_addresses,
    reachable_at,
    read_host,
)
from benchapp.web.trust_server import TrustServer


class Lan:
    """A bench on the house network: its certificates, its addresses, its page on trust.

    Attributes:
        certificates: those that are served now.
        urls: of the bench, the best one first.
        trust_url: of the page on trust.
        fingerprint: of the authority, as phones show it.
    """

    def __init__(self, trust_server: TrustServer, host: str, port: int, folder: Path) -> None:
        """For a server that listens at `host` and keeps certificates in `folder`.

        Raises as `renew` does, and InputError where `host` is no address of a house network.
        """
        self.trust_server = trust_server
        self._port, self._folder = port, folder
        self._listens_at = read_host(host)
        self.renew()

    def renew(self) -> None:
        """Take the machine's names and addresses as they are now, and certificates for them.

        Raises OSError and Damaged as `load_or_make` does.
        """
        names = machine_names(socket.gethostname())
        addresses = private_addresses([*machine_addresses(), self._listens_at])
        self.certificates = certificates.load_or_make(
            self._folder, names=names, addresses=addresses, now=datetime.now(UTC)
        )
        hosts = reachable_at(self._listens_at, names, addresses)
        self.urls = [f"https://{host}:{self._port}/" for host in hosts]
        # Older phones do not find names that end in .local.
        plain = next((host for host in hosts if not host.endswith(".local")), hosts[0])
        self.trust_url = f"http://{plain}:{self.trust_server.server_address[1]}/"
        self.fingerprint = certificates.fingerprint(self.certificates.authority)
        self.trust_server.show(self.certificates.authority, self.urls)
