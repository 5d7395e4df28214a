"""What counts as one caller where callers are counted by the address that they call from."""

import ipaddress


def source_of(address: str) -> str:
    """The line that an address is of: an IPv6 line has 2⁶⁴ and more of them (RFC 6177), so its /64
    counts. What is no address stands for itself."""
    try:
        found = ipaddress.ip_address(address.partition("%")[0])
    except ValueError:
        return address[:64]
    if isinstance(found, ipaddress.IPv6Address):
        if found.ipv4_mapped is not None:
            return str(found.ipv4_mapped)
        return str(ipaddress.ip_network((int(found), 64), strict=False))
    return str(found)
