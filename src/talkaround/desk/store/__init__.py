"""The desk's store: SQLite in one file, or PostgreSQL by its URL; brought up to date by migrations when it is opened."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from alembic import command
from alembic.config import Config
from alembic.util import CommandError
from sqlalchemy import Engine, create_engine, event, text
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, SQLAlchemyError
from sqlalchemy.orm import Session

# Alembic keeps what it works on in the module.
_ONE_AT_A_TIME = threading.Lock()
_BUSY_S = 10
"""How long a write waits for another one, seconds."""


class StoreError(Exception):
    """The store cannot be opened or used; the text says what, where and how to mend it."""


class Store:
    """An open store. ``reading()`` and ``writing()`` give sessions; what ``writing()`` gave is kept once it has ended well."""

    def __init__(self, url: str, busy_s: float = _BUSY_S):
        """``url`` is a path to an SQLite file or a URL such as ``postgresql://desk@host/talkaround``.

        ``busy_s`` is how long a write waits for another one, seconds.

        Raises:
            StoreError: there is no such place, it cannot be written, or a newer talkaround made it.
        """
        self.url = _url_of(url)
        try:
            self.engine = _engine(self.url, busy_s)
            _bring_up_to_date(self.engine)
        except CommandError as error:
            self.engine.dispose()
            raise StoreError(f"store {self.shown}: was made by a newer talkaround ({_first_line(error)}); open it with "
                             "that one, or name another with --store") from error  # fmt: skip
        except SQLAlchemyError as error:
            if hasattr(self, "engine"):
                self.engine.dispose()
            raise StoreError(f"store {self.shown}: cannot be opened: {_first_line(error)}; check that it can be "
                             "reached and written, or name another with --store") from error  # fmt: skip

    @property
    def shown(self) -> str:
        """The URL without its password."""
        return make_url(self.url).render_as_string(hide_password=True)

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """A session to read with; what is changed in it is not kept."""
        with Session(self.engine) as session:
            yield session

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """One transaction; on SQLite it takes the only place for a writer at once, so that none fails halfway."""
        with Session(self.engine, expire_on_commit=False) as session:
            if self.engine.dialect.name == "sqlite":
                session.execute(text("BEGIN IMMEDIATE"))
            with session.begin() if not session.in_transaction() else _committed(session):
                yield session

    def close(self) -> None:
        """Let go of every connection."""
        self.engine.dispose()


@contextmanager
def _committed(session: Session) -> Iterator[None]:
    try:
        yield
    except BaseException:
        session.rollback()
        raise
    session.commit()


def _url_of(store: str) -> str:
    if "://" not in store:
        path = Path(store).expanduser()
        if not path.parent.is_dir():
            raise StoreError(f"store {path}: there is no folder {path.parent}; make it, or name another with --store")
        return f"sqlite:///{path}"
    try:
        url = make_url(store)
    except ArgumentError as error:
        raise StoreError(f"store {store!r}: is no path and no URL; write postgresql://name@host/database") from error
    if url.drivername in ("postgresql", "postgres"):
        return url.set(drivername="postgresql+psycopg").render_as_string(hide_password=False)
    if url.drivername == "sqlite" and url.database in (None, "", ":memory:"):
        raise StoreError(f"store {store}: is in memory and would be lost when the desk stops; name a file")
    if not url.drivername.startswith("sqlite"):
        raise StoreError(f"store {url.drivername}: is not known; use a file for SQLite, or a postgresql:// URL")
    return store


def _engine(url: str, busy_s: float) -> Engine:
    if not url.startswith("sqlite"):
        return create_engine(
            url, pool_size=20, max_overflow=20, pool_pre_ping=True, pool_timeout=busy_s, hide_parameters=True,
            connect_args={"connect_timeout": max(2, round(busy_s))},
        )  # fmt: skip
    # What people wrote stands in the parameters: it belongs in no log.
    engine = create_engine(
        url, connect_args={"timeout": busy_s, "check_same_thread": False}, pool_size=20, max_overflow=20,
        hide_parameters=True,
    )  # fmt: skip

    @event.listens_for(engine, "connect")
    def _set_up(connection: Any, _record: object) -> None:
        # Transactions are opened by us alone: see Store.writing.
        connection.isolation_level = None
        for pragma in (
            "journal_mode=WAL",
            "synchronous=FULL",
            "foreign_keys=ON",
            f"busy_timeout={round(busy_s * 1000)}",
        ):
            connection.execute(f"PRAGMA {pragma}")

    return engine


def _bring_up_to_date(engine: Engine) -> None:
    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations"))
    with _ONE_AT_A_TIME, engine.connect() as connection:
        # Two desks that start at once bring it up to date one after the other, each all the way or not at all.
        alone = "SELECT pg_advisory_xact_lock(725173)" if engine.dialect.name == "postgresql" else "BEGIN IMMEDIATE"
        connection.execute(text(alone))
        config.attributes["connection"] = connection
        command.upgrade(config, "head")
        connection.commit()


def _first_line(error: Exception) -> str:
    cause = error.orig if isinstance(error, DBAPIError) and error.orig else error
    return str(cause).strip().splitlines()[0] if str(cause).strip() else type(cause).__name__


__all__ = ["Store", "StoreError"]
