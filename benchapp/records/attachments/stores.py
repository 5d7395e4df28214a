"""Where the bytes of attachments lie: in a directory, or in a store that speaks S3.

Bytes are named by their workshop and their hash, so nothing is ever written over, and what is there
under a name is what the name says. A directory is written here: what is acknowledged has to be on
disk before, with its name, and the library that speaks S3 does not wait for that.
"""

import errno
import os
import re
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any, Protocol
from urllib.parse import unquote, urlsplit

from benchapp.records.atomic_file import make_private, sync_directory
from benchapp.records.database import Unavailable
from benchapp.words import InputError, WordedError

_SHOP = re.compile(r"[0-9a-z]{1,64}")
_HASH = re.compile(r"[0-9a-f]{64}")
_TIMEOUT = "30s"
_RETRIES: Any = {"max_retries": 2, "retry_timeout": timedelta(seconds=15)}
"""A phone tries again by itself, and somebody waits."""


class Missing(WordedError):
    """There are no such bytes in the store."""


@dataclass(frozen=True)
class Lying:
    """Bytes that lie in a store.

    Attributes:
        workshop_id: whose they are.
        sha256: their name.
        size: in bytes.
        since_s: when they were written, seconds since 1970.
    """

    workshop_id: str
    sha256: str
    size: int
    since_s: float


class Store(Protocol):
    """What a store can do. Every method raises Unavailable where the store can't be used."""

    @property
    def place(self) -> str:
        """Where it is, for the operator."""

    @property
    def arriving(self) -> Path:
        """The directory for what has not arrived as a whole."""

    def put(self, workshop_id: str, sha256: str, file: Path) -> None:
        """Keep the bytes of a file, which may be gone then. Once this returns they are kept for
        good."""

    def read(self, workshop_id: str, sha256: str, start: int = 0, end: int | None = None) -> bytes:
        """The bytes from ``start`` up to ``end``, or all from there. Raises Missing."""

    def lying(self, workshop_id: str | None = None) -> Iterator[Lying]:
        """All that lies there, of one workshop or of all."""

    def drop(self, workshop_id: str, sha256: str) -> None:
        """Let go of bytes, if they are there."""


def open_store(url: str | None, data_dir: Path) -> Store:
    """The store at a URL, or in ``data_dir`` where there is none.

    Raises InputError where the URL can't be used.
    """
    if url is None:
        return Directory(data_dir / "attachments")
    parts = urlsplit(url)
    if parts.scheme == "file" and parts.netloc in ("", "localhost") and parts.path:
        return Directory(Path(unquote(parts.path)))
    if parts.scheme == "s3" and parts.netloc:
        return Bucket(url, data_dir / "attachments")
    raise InputError(
        "The address for attachments can't be used: it looks like {directory} or {bucket}.",
        directory="file:///srv/bench/attachments",
        bucket="s3://bucket/folder",
    )


# ---- a directory -------------------------------------------------------------------------------


class Directory:
    """A directory for its owner only: ``WORKSHOP/FIRST TWO DIGITS/HASH``."""

    def __init__(self, root: Path) -> None:
        self._root = root
        self.arriving = root / "arriving"

    @property
    def place(self) -> str:
        return str(self._root)

    def put(self, workshop_id: str, sha256: str, file: Path) -> None:
        target = self._path(workshop_id, sha256)
        with told():
            make_private(target.parent)
            beside = file
            try:
                _sync(file)
                file.replace(target)
            except OSError as error:
                if error.errno != errno.EXDEV:
                    raise
                # From another disk it is copied beside its place first.
                beside = _copied_into(target.parent, file)
                beside.replace(target)
            for folder in (target.parent, target.parent.parent, self._root):
                sync_directory(folder)

    def read(self, workshop_id: str, sha256: str, start: int = 0, end: int | None = None) -> bytes:
        with told():
            try:
                with self._path(workshop_id, sha256).open("rb") as file:
                    file.seek(start)
                    return file.read(-1 if end is None else end - start)
            except FileNotFoundError as error:
                raise _missing() from error

    def lying(self, workshop_id: str | None = None) -> Iterator[Lying]:
        with told():
            for path in self._root.glob(f"{workshop_id or '*'}/??/*"):
                shop = path.parent.parent.name
                if _HASH.fullmatch(path.name) and _SHOP.fullmatch(shop):
                    found = path.stat()
                    yield Lying(shop, path.name, found.st_size, found.st_mtime)

    def drop(self, workshop_id: str, sha256: str) -> None:
        with told():
            self._path(workshop_id, sha256).unlink(missing_ok=True)

    def _path(self, workshop_id: str, sha256: str) -> Path:
        return self._root / workshop_id / sha256[:2] / sha256


def _copied_into(folder: Path, file: Path) -> Path:
    handle, name = tempfile.mkstemp(prefix=".", dir=folder)  # mode 0600
    copy = Path(name)
    try:
        with os.fdopen(handle, "wb") as out, file.open("rb") as source:
            shutil.copyfileobj(source, out)
            out.flush()
            os.fsync(out.fileno())
    except BaseException:
        copy.unlink()
        raise
    file.unlink()
    return copy


def _sync(file: Path) -> None:
    with file.open("rb+") as held:
        os.fsync(held.fileno())


@contextmanager
def told() -> Iterator[None]:
    """Raise what the disk can't do as Unavailable."""
    try:
        yield
    except OSError as error:
        if error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
            raise no_room() from error
        raise Unavailable(
            "The directory for attachments can't be used ({why}). The phone keeps them until then.",
            why=error.strerror,
        ) from error


def no_room() -> Unavailable:
    """What is told where the disk is full."""
    return Unavailable(
        "The server has no room left on its disk, so the attachment was not stored there. Free "
        "some space on it; the phone keeps it until then."
    )


def _missing() -> Missing:
    return Missing("The server does not have these bytes any more.")


# ---- a store that speaks S3 --------------------------------------------------------------------


class Bucket:
    """A bucket, or a folder in one: ``WORKSHOP/HASH``.

    The key and the address of the service come from the environment, as its other programs take
    them: AWS_ACCESS_KEY_ID, AWS_SECRET_ACCESS_KEY, AWS_REGION, AWS_ENDPOINT_URL. Nothing relies on
    conditional writes, which some servers take and pass over.
    """

    def __init__(self, url: str, near: Path) -> None:
        try:
            from obstore.exceptions import BaseError  # noqa: PLC0415
            from obstore.store import S3Store  # noqa: PLC0415
        except ImportError as error:
            raise InputError(
                "Attachments in a bucket need {command}.", command="pip install 'benchapp[s3]'"
            ) from error
        endpoint = os.environ.get("AWS_ENDPOINT_URL") or os.environ.get("AWS_ENDPOINT") or ""
        client: Any = {"timeout": _TIMEOUT, "allow_http": endpoint.startswith("http://")}
        # A service of one's own has no name for each bucket.
        options: Any = {"virtual_hosted_style_request": False} if endpoint else {}
        try:
            self._store: Any = S3Store.from_url(
                url, client_options=client, retry_config=_RETRIES, **options
            )
        except (BaseError, ValueError) as error:
            raise InputError(
                "The address for attachments can't be used ({why}).", why=_first_line(error)
            ) from error
        self._url = url
        self.arriving = near / "arriving"

    @property
    def place(self) -> str:
        return self._url

    def put(self, workshop_id: str, sha256: str, file: Path) -> None:
        with self._told():
            self._store.put(f"{workshop_id}/{sha256}", file)
        file.unlink(missing_ok=True)

    def read(self, workshop_id: str, sha256: str, start: int = 0, end: int | None = None) -> bytes:
        from obstore.exceptions import GenericError  # noqa: PLC0415

        name = f"{workshop_id}/{sha256}"
        with self._told():
            if start or end is not None:
                # Some servers pass over what a request says of a range, and give all.
                with suppress(GenericError):
                    return bytes(self._store.get_range(name, start=start, end=end))
            return bytes(self._store.get(name).bytes())[start:end]

    def lying(self, workshop_id: str | None = None) -> Iterator[Lying]:
        with self._told():
            for some in self._store.list(f"{workshop_id}/" if workshop_id else None):
                for each in some:
                    shop, _, sha256 = each["path"].rpartition("/")
                    if _HASH.fullmatch(sha256) and _SHOP.fullmatch(shop):
                        since_s = each["last_modified"].timestamp()
                        yield Lying(shop, sha256, each["size"], since_s)

    def drop(self, workshop_id: str, sha256: str) -> None:
        with suppress(Missing), self._told():
            self._store.delete(f"{workshop_id}/{sha256}")

    @contextmanager
    def _told(self) -> Iterator[None]:
        """Raise what the service can't do as Unavailable. What it says may name a key."""
        from obstore.exceptions import BaseError  # noqa: PLC0415

        try:
            yield
        except (FileNotFoundError, BaseError) as error:
            if isinstance(error, FileNotFoundError):
                raise _missing() from error
            raise Unavailable(
                "The store of the attachments does not answer. The phone keeps them until then."
            ) from error
        except OSError as error:
            raise Unavailable(
                "The store of the attachments does not answer. The phone keeps them until then."
            ) from error


def _first_line(error: Exception) -> str:
    return next(iter(str(error).splitlines()), "").rstrip(". ")
