"""Starts the desk: opens the store, checks who could reach it, prints one address, and serves."""

from __future__ import annotations

import logging
import os
import socket
import ssl
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from talkaround.desk.security import is_loopback


class DeskError(Exception):
    """The desk cannot start; the text says what, where and how to mend it."""


@dataclass(slots=True)
class Settings:
    """``port`` 0 takes any free one. ``certificate`` and ``key`` are PEM files for TLS."""

    host: str = "127.0.0.1"
    port: int = 8750
    store: str | None = None
    lexicon: Path | None = None
    recogniser: str | None = None
    certificate: Path | None = None
    key: Path | None = None


def data_folder() -> Path:
    """Where the desk keeps its store and the shop's lexicon unless told otherwise."""
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA", Path.home() / "AppData" / "Local"))
    elif sys.platform == "darwin":
        base = Path.home() / "Library" / "Application Support"
    else:
        base = Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share")
    return base / "talkaround"


def serve(settings: Settings, say: Callable[[str], None]) -> None:
    """Serve until it is stopped.

    Raises:
        DeskError: the store, the lexicon, the port or the certificate cannot be used, or it would be open to others.
    """
    import uvicorn

    from talkaround.desk.accounts import Accounts
    from talkaround.desk.app import create_app
    from talkaround.desk.listening import shipped_listener
    from talkaround.desk.reader import Reader
    from talkaround.desk.store import Store, StoreError
    from talkaround.vocabulary import LexiconError

    logging.basicConfig(level=logging.WARNING, format="%(asctime)s %(name)s %(levelname)s %(message)s")
    if bool(settings.certificate) != bool(settings.key):
        raise DeskError("TLS needs both files: give --certificate and --key, or neither")
    for path in (settings.certificate, settings.key):
        if path is not None and not path.is_file():
            raise DeskError(f"{path}: there is no such file; give the PEM file of the certificate and of its key")
    if settings.certificate and settings.key:
        try:
            ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(settings.certificate, settings.key)
        except (OSError, ssl.SSLError) as error:
            raise DeskError(
                f"{settings.certificate}, {settings.key}: cannot be used for TLS ({error.strerror or error}); give the "
                "certificate and the key that belongs to it, both as PEM"
            ) from error
    folder = data_folder()
    try:
        if settings.store is None or settings.lexicon is None:
            folder.mkdir(parents=True, exist_ok=True)
        lexicon = settings.lexicon or folder / "lexicon"
        if settings.lexicon is not None and not lexicon.is_dir():
            raise DeskError(f"{lexicon}: there is no such folder; make it, or leave --lexicon out")
        store = Store(settings.store or str(folder / "desk.sqlite"))
        reader = Reader(lexicon)
    except (StoreError, LexiconError, OSError) as error:
        raise DeskError(str(error).rstrip(".")) from error
    local = is_loopback(settings.host)
    secure = settings.certificate is not None
    if not local and not Accounts(store).any():
        store.close()
        raise DeskError(
            f"{settings.host}: others could reach this desk, and it has no account yet; start it without --host, make the "
            "first account in the browser, and then start it with --host"
        )
    sock = _listening(settings.host, settings.port)
    host, port = settings.host, sock.getsockname()[1]
    shown = f"[{host}]" if ":" in host else host
    names = frozenset({"localhost", "127.0.0.1", "::1", host.lower()}) if local else None
    app = create_app(
        store,
        reader,
        listener=shipped_listener(reader.vocabulary.expected, settings.recogniser),
        hosts=names,
        secure=secure,
    )
    if not local and not secure:
        say(
            "Without TLS, anybody on this network can read along, passwords too. Give --certificate and --key, or put it "
            "behind something that speaks TLS."
        )
    say(f"{'https' if secure else 'http'}://{shown}:{port}/")
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        proxy_headers=False,
        timeout_keep_alive=30,
        ssl_certfile=str(settings.certificate) if settings.certificate else None,
        ssl_keyfile=str(settings.key) if settings.key else None,
    )
    uvicorn.Server(config).run(sockets=[sock])


def _listening(host: str, port: int) -> socket.socket:
    try:
        kind = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
        # With its protocol, asyncio knows it for TCP and sends each answer at once instead of waiting for the ACK (40 ms).
        sock = socket.socket(*kind[:3])
        sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        sock.bind(kind[4])
        sock.listen(512)
    except OSError as error:
        raise DeskError(
            f"{host}:{port}: cannot be listened at ({error.strerror or error}); give another --port"
        ) from error
    return sock


__all__ = ["DeskError", "Settings", "data_folder", "serve"]
