"""What the desk keeps. Times are UTC; ``document`` and ``draft`` are JSON as ``models`` and ``drafts`` write it.

``change`` and ``revision`` are append-only: the store itself refuses to alter or delete their rows.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import JSON, DateTime, ForeignKey, Index, LargeBinary, String, Text, UniqueConstraint
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column


class Base(DeclarativeBase):
    """What all tables have in common: times are UTC, ``dict`` and ``list`` are JSON."""

    type_annotation_map = {datetime: DateTime(timezone=True), dict[str, Any]: JSON, list[Any]: JSON}


class Account(Base):
    """``role`` is technician, writer or auditor; ``keeps_accounts`` may make and close others."""

    __tablename__ = "account"
    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(60), unique=True)
    role: Mapped[str] = mapped_column(String(20))
    keeps_accounts: Mapped[bool] = mapped_column(default=False)
    closed: Mapped[bool] = mapped_column(default=False)
    password: Mapped[str] = mapped_column(Text)
    made_at: Mapped[datetime]


class SignedIn(Base):
    """A browser that is signed in; ``token`` is the digest of what its cookie holds."""

    __tablename__ = "signed_in"
    token: Mapped[str] = mapped_column(String(64), primary_key=True)
    account_id: Mapped[int] = mapped_column(ForeignKey("account.id"), index=True)
    form_key: Mapped[str] = mapped_column(String(64))
    since: Mapped[datetime]
    last_seen: Mapped[datetime]


class FailedTry(Base):
    """A wrong password, by the name that was given and by where it came from."""

    __tablename__ = "failed_try"
    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(60), index=True)
    address: Mapped[str] = mapped_column(String(60), index=True)
    at: Mapped[datetime]


class NoteRow(Base):
    """A note as it came. ``key`` is made by the browser that sends it, so that sending again never makes two."""

    __tablename__ = "note"
    id: Mapped[int] = mapped_column(primary_key=True)
    key: Mapped[str] = mapped_column(String(64), unique=True)
    digest: Mapped[str] = mapped_column(String(64))
    name: Mapped[str] = mapped_column(String(120))
    kind: Mapped[str] = mapped_column(String(20))
    text: Mapped[str | None] = mapped_column(Text)
    utterances: Mapped[list[Any]] = mapped_column(default=list)
    state: Mapped[str] = mapped_column(String(20), default="read")
    """``to-hear`` while a recording waits for its words, ``not-heard`` where that failed, ``read`` once there is an order."""
    trouble: Mapped[str] = mapped_column(Text, default="")
    facts: Mapped[dict[str, Any]] = mapped_column(default=dict)
    """What was typed beside the note: vin, description, odometer, plate, steering."""
    by_id: Mapped[int] = mapped_column(ForeignKey("account.id"), index=True)
    at: Mapped[datetime]


class Sound(Base):
    """The recording of a note, as it came."""

    __tablename__ = "sound"
    note_id: Mapped[int] = mapped_column(ForeignKey("note.id"), primary_key=True)
    media_type: Mapped[str] = mapped_column(String(60))
    suffix: Mapped[str] = mapped_column(String(10))
    data: Mapped[bytes] = mapped_column(LargeBinary)


class OrderRow(Base):
    """The order of a note as it stands after ``version`` changes. ``signed`` is the number of its last revision."""

    __tablename__ = "repair_order"
    id: Mapped[int] = mapped_column(primary_key=True)
    note_id: Mapped[int] = mapped_column(ForeignKey("note.id"), unique=True)
    version: Mapped[int] = mapped_column(default=0)
    draft: Mapped[dict[str, Any]]
    document: Mapped[dict[str, Any]]
    head: Mapped[dict[str, Any]]
    """What the list of orders shows of it: title, vin, lines by severity, open questions."""
    lexicon: Mapped[str] = mapped_column(String(64))
    """The digest of the lexicon that the note was last read with."""
    frozen: Mapped[bool] = mapped_column(default=False)
    revision: Mapped[int] = mapped_column(default=0)
    at: Mapped[datetime]


class ChangeRow(Base):
    """One change: ``patch`` is a list of [path, before, after]; ``wrote`` are the paths that the person asked for."""

    __tablename__ = "change"
    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(ForeignKey("repair_order.id"))
    number: Mapped[int]
    token: Mapped[str] = mapped_column(String(64))
    words: Mapped[str] = mapped_column(Text)
    wrote: Mapped[list[Any]]
    patch: Mapped[list[Any]]
    undoes: Mapped[int | None]
    by_id: Mapped[int] = mapped_column(ForeignKey("account.id"))
    at: Mapped[datetime]
    __table_args__ = (UniqueConstraint("order_id", "number"), UniqueConstraint("order_id", "token"))


class RevisionRow(Base):
    """A signed order, as it was signed."""

    __tablename__ = "revision"
    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(ForeignKey("repair_order.id"))
    number: Mapped[int]
    version: Mapped[int]
    document: Mapped[dict[str, Any]]
    by_id: Mapped[int] = mapped_column(ForeignKey("account.id"))
    at: Mapped[datetime]
    __table_args__ = (UniqueConstraint("order_id", "number"),)


class MendedWord(Base):
    """A word of a note that a writer took for another component than the program did."""

    __tablename__ = "mended_word"
    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(ForeignKey("repair_order.id"))
    words: Mapped[str] = mapped_column(String(120))
    component: Mapped[str] = mapped_column(String(80))
    by_id: Mapped[int] = mapped_column(ForeignKey("account.id"))
    at: Mapped[datetime]
    __table_args__ = (Index("ix_mended_word_words", "words", "component"),)


class Taught(Base):
    """What the shop was asked to put into its lexicon, and whether it did."""

    __tablename__ = "taught"
    words: Mapped[str] = mapped_column(String(120), primary_key=True)
    component: Mapped[str] = mapped_column(String(80), primary_key=True)
    taken: Mapped[bool]
    by_id: Mapped[int] = mapped_column(ForeignKey("account.id"))
    at: Mapped[datetime]


__all__ = [
    "Account", "Base", "ChangeRow", "FailedTry", "MendedWord", "NoteRow", "OrderRow", "RevisionRow", "SignedIn",
    "Sound", "Taught",
]  # fmt: skip
