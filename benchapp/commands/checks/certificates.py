"""Certificates of the house network, and the authorities that this machine trusts."""

from datetime import datetime
from pathlib import Path

from cryptography import x509

from benchapp.commands.checks.directory import open_to_others
from benchapp.commands.checks.finding import Finding
from benchapp.web import certificates
from benchapp.words import dates, n_, plural, t


def certificate(folder: Path, now: datetime) -> Finding:
    """The server certificate that `serve --lan` keeps in `folder`."""
    subject = n_("certificates")
    file, authority_file = folder / "server.pem", folder / "authority.pem"
    if not authority_file.exists():
        return Finding(
            "ok",
            subject,
            t(
                "There are none, serve --lan makes them. Phones hear reminders, and work with no "
                "signal, only over HTTPS: by --lan, behind a proxy that speaks it, or on "
                "localhost."
            ),
        )
    try:
        open_ = [mode for each in (authority_file, file) if (mode := open_to_others(each))]
        authority = _first(authority_file)
        server = _first(file)
    except (OSError, ValueError):
        return Finding(
            "bad",
            subject,
            t(
                "{directory} can't be read, or is damaged. Start benchapp serve --lan: it makes a "
                "server certificate anew, and says what to do about the authority.",
                directory=folder,
            ),
        )
    ends = min(server.not_valid_after_utc, authority.not_valid_after_utc)
    until = dates.long_day_text(ends)
    if open_:
        return Finding(
            "bad",
            subject,
            t(
                "Others on this machine could read the keys in {directory} ({mode}): {command}",
                directory=folder,
                mode=open_[0],
                command="chmod 600 " + str(folder / "*.pem"),
            ),
        )
    if now >= ends:
        return Finding(
            "bad",
            subject,
            t("The certificate ran out on {date}: benchapp serve --lan renews it.", date=until),
        )
    names = ", ".join(_names(server))
    if ends - now < certificates.RENEW_WITHIN:
        return Finding(
            "look",
            subject,
            t(
                "The certificate for {names} runs out on {date}: benchapp serve --lan renews it.",
                names=names,
                date=until,
            ),
        )
    said = t("The certificate is good until {date}, for {names}.", date=until, names=names)
    return Finding("ok", subject, said)


def _first(path: Path) -> x509.Certificate:
    return x509.load_pem_x509_certificates(path.read_bytes())[0]


def _names(certificate: x509.Certificate) -> list[str]:
    try:
        has = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except x509.ExtensionNotFound:
        return [t("no name")]
    addresses = has.get_values_for_type(x509.IPAddress)
    return [*has.get_values_for_type(x509.DNSName), *map(str, addresses)]


def authorities(folder: str | None, loaded: int, *, sends: bool) -> Finding:
    """Whether this machine knows whom to trust: `loaded` authorities from one file, and those of
    OpenSSL's `folder`, which it reads when it needs them. `sends`: whether anything is sent."""
    subject = n_("authorities")
    kept = 0 if loaded or folder is None else sum(1 for _ in Path(folder).glob("*.[0-9]"))
    if trusted := loaded or kept:
        said = plural(
            trusted,
            "This machine trusts {n} authority.",
            "This machine trusts {n} authorities.",
        )
        return Finding("ok", subject, said)
    return Finding(
        "bad" if sends else "look",
        subject,
        t(
            "This machine trusts no certificate authority, so no push service can be reached. "
            "Install them (on Debian: {command}).",
            command="apt-get install ca-certificates",
        ),
    )
