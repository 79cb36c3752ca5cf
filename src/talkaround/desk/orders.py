"""Notes and orders in the store: taken once, changed one after the other, signed, and never lost.

A change comes with the version that its writer saw. Where somebody else wrote the same field since, nothing is written
and ``Overtaken`` tells both; where others wrote elsewhere, it goes on top. A change comes with a token too, so that the
same one sent twice is written once.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Text, cast, func, select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session, load_only

from talkaround.desk.changes import CannotChange, Change, Do
from talkaround.desk.drafts import Draft, difference, first_draft, flat, from_flat, put_together, taken_back
from talkaround.desk.reader import Reader
from talkaround.desk.store import Store
from talkaround.desk.store.tables import Account, ChangeRow, NoteRow, OrderRow, RevisionRow, Sound
from talkaround.models import SEVERITIES, Note, RepairOrder, Steering, Utterance
from talkaround.order.facts import laid_over
from talkaround.order.revising import UnknownPart

A_PAGE = 40


class NotThere(Exception):
    """There is no such thing, or it is not for this person to see."""


class Frozen(Exception):
    """The order is signed; a new revision has to be opened first."""


@dataclass
class Overtaken(Exception):
    """Somebody wrote the same fields since: ``theirs`` are words on what they did, ``fields`` [path, theirs now]."""

    theirs: list[str]
    fields: list[tuple[str, Any]] = field(default_factory=list)


@dataclass(slots=True)
class Kept:
    """A change that is in the store; ``meanwhile`` are words on what others changed since its writer looked."""

    version: int
    words: str
    meanwhile: list[str]
    again: bool = False
    """The same change had come before; nothing was written now."""


@dataclass(slots=True)
class Open:
    """An order as it stands, for a page."""

    id: int
    note_row: NoteRow
    note: Note
    draft: Draft
    document: RepairOrder
    version: int
    frozen: bool
    revision: int
    lexicon: str


@dataclass(slots=True)
class Listed:
    """A row of the list of orders: the note, and the order that was made of it if there is one."""

    note: NoteRow
    order_id: int | None
    head: dict[str, Any]
    frozen: bool
    revision: int
    by: str


def now() -> datetime:
    """This moment, in UTC."""
    return datetime.now(UTC)


def note_of(row: NoteRow) -> Note:
    """The note of a stored row, as the reading takes it."""
    return Note(
        name=row.name,
        kind=row.kind,  # type: ignore[arg-type]
        text=row.text or "",
        utterances=[Utterance.model_validate(u) for u in row.utterances],
    )


class Orders:
    """Notes and orders of a store. Nothing else writes them."""

    def __init__(self, store: Store, reader: Reader):
        self.store, self.reader = store, reader

    # ----- notes -----------------------------------------------------------------------------------------------------

    def take(
        self,
        key: str,
        account_id: int,
        name: str,
        facts: dict[str, Any],
        note: Note | None = None,
        sound: tuple[str, str, bytes] | None = None,
    ) -> tuple[int, bool]:
        """Keep a note under the key that its sender made; gives its id, and whether it was there already.

        ``sound`` is media type, ending and bytes of a recording, whose words are still to be written down.

        Raises:
            CannotChange: another note has that key.
        """
        digest = hashlib.sha256((note.text if note else "").encode() + (sound[2] if sound else b"")).hexdigest()
        with self.store.reading() as s:
            there = s.scalar(select(NoteRow).where(NoteRow.key == key))
        if there is None:
            made = self.reader.read(note, steering_of(facts)) if note else None
            try:
                with self.store.writing() as s:
                    row = NoteRow(
                        key=key,
                        digest=digest,
                        name=name,
                        kind=note.kind if note else "audio",
                        text=note.text if note else None,
                        utterances=[u.model_dump() for u in note.utterances] if note else [],
                        state="read" if note else "to-hear",
                        facts=facts,
                        by_id=account_id,
                        at=now(),
                    )
                    s.add(row)
                    s.flush()
                    if sound:
                        s.add(Sound(note_id=row.id, media_type=sound[0], suffix=sound[1], data=sound[2]))
                    if made:
                        s.add(self._first_order(row, made))
                    return row.id, False
            except IntegrityError:
                with self.store.reading() as s:
                    there = s.scalar(select(NoteRow).where(NoteRow.key == key))
        if there is None or there.digest != digest or there.by_id != account_id:
            raise CannotChange("another note has that key already: reload the page and send it again")
        return there.id, True

    def heard(self, note_id: int, note: Note) -> bool:
        """Take down the words of a recording and read them; False where it has an order already, and they are not used."""
        with self.store.reading() as s:
            row = s.get_one(NoteRow, note_id)
        made = self.reader.read(note, steering_of(row.facts))
        with self.store.writing() as s:
            row = s.get_one(NoteRow, note_id)
            if row.state == "read":
                return False
            row.text, row.utterances = note.text, [u.model_dump() for u in note.utterances]
            row.state, row.trouble = "read", ""
            s.add(self._first_order(row, made))
            return True

    def not_heard(self, note_id: int, why: str, *, later: bool = False) -> None:
        """Say why a recording has no words. ``later``: it still waits for them, and the next start takes it up."""
        with self.store.writing() as s:
            row = s.get_one(NoteRow, note_id)
            if row.state != "read":
                row.state, row.trouble = "to-hear" if later else "not-heard", why

    def hear_again(self, note_id: int) -> bool:
        """Let a recording that could not be written down wait once more; whether it does."""
        with self.store.writing() as s:
            row = s.get_one(NoteRow, note_id)
            if row.state != "not-heard":
                return False
            row.state, row.trouble = "to-hear", ""
            return True

    def _first_order(self, row: NoteRow, made: tuple[RepairOrder, Any, Any]) -> OrderRow:
        order, found, judged = made
        draft = first_draft(order, judged)
        draft.vehicle = laid_over(draft.vehicle, row.facts)
        draft, document = put_together(draft, order, found, judged, self.reader.vocabulary, set())
        return OrderRow(
            note_id=row.id,
            draft=draft.model_dump(mode="json"),
            document=document.model_dump(mode="json"),
            head=head_of(draft, document),
            lexicon=self.reader.lexicon,
            at=now(),
        )

    def listed(self, by_id: int | None, page: int, find: str = "") -> tuple[list[Listed], int]:
        """A page of notes with their orders, newest first, and how many there are; ``by_id`` limits it to one account's."""
        query = (
            select(NoteRow, OrderRow.id, OrderRow.head, OrderRow.frozen, OrderRow.revision, Account.name)
            .options(load_only(NoteRow.name, NoteRow.kind, NoteRow.state, NoteRow.at))
            .join(Account, Account.id == NoteRow.by_id)
            .outerjoin(OrderRow, OrderRow.note_id == NoteRow.id)
        )
        if by_id is not None:
            query = query.where(NoteRow.by_id == by_id)
        if find:
            like = f"%{find.lower()}%"
            query = query.where(func.lower(NoteRow.name).like(like) | func.lower(cast(OrderRow.head, Text)).like(like))
        with self.store.reading() as s:
            many = s.scalar(select(func.count()).select_from(query.subquery())) or 0
            rows = s.execute(query.order_by(NoteRow.id.desc()).limit(A_PAGE).offset(page * A_PAGE))
            return [Listed(n, i, h or {}, bool(f), r or 0, name) for n, i, h, f, r, name in rows], many

    # ----- orders ----------------------------------------------------------------------------------------------------

    def open(self, order_id: int) -> Open:
        """The order as it stands.

        Raises:
            NotThere: there is none of that number.
        """
        with self.store.reading() as s:
            return self._opened(s, order_id)

    def _opened(self, s: Session, order_id: int, *, to_write: bool = False) -> Open:
        query = select(OrderRow, NoteRow).join(NoteRow, NoteRow.id == OrderRow.note_id).where(OrderRow.id == order_id)
        if to_write and s.get_bind().dialect.name != "sqlite":
            query = query.with_for_update(of=OrderRow)
        found = s.execute(query).first()
        if found is None:
            raise NotThere(f"there is no order {order_id}")
        row, note_row = found
        return Open(
            row.id, note_row, note_of(note_row), Draft.model_validate(row.draft), RepairOrder.model_validate(row.document),
            row.version, row.frozen, row.revision, row.lexicon,
        )  # fmt: skip

    def change(
        self, order_id: int, seen: int, token: str, by: Account, do: Do, *, undoes: int | None = None, lexicon: str = ""
    ) -> Kept:
        """Do one thing to an order; when it returns, the change is in the store.

        Raises:
            Overtaken: somebody wrote the same fields since version ``seen``.
            Frozen: the order is signed.
            CannotChange: it makes no sense on the order as it is now.
        """
        if not token:
            # Without one, a change could not be told from the same one sent again.
            raise CannotChange("the form came without its token: reload the page and do it again")
        # The note is read, where it was not of late, before anybody has to wait for this one to write.
        o = self.open(order_id)
        self.reader.read(o.note, o.draft.vehicle.steering, o.document.rule_book)
        with self.store.writing() as s:
            o = self._opened(s, order_id, to_write=True)
            came = s.scalar(select(ChangeRow).where(ChangeRow.order_id == order_id, ChangeRow.token == token))
            if came is not None:
                return Kept(came.number, came.words, [], again=True)
            if o.frozen:
                raise Frozen
            before = flat(o.draft)
            made = do(o.draft.model_copy(deep=True))
            since = list(
                s.execute(
                    select(ChangeRow, Account.name)
                    .join(Account, Account.id == ChangeRow.by_id)
                    .where(ChangeRow.order_id == order_id, ChangeRow.number > seen)
                    .order_by(ChangeRow.number)
                )
            )
            told = [f"{name}: {row.words}" for row, name in since]
            same = {p for row, _ in since if row.by_id != by.id for p in row.wrote} & set(made.wrote)
            if same - {"sequence"}:
                theirs = [f"{name}: {row.words}" for row, name in since if set(row.wrote) & same]
                raise Overtaken(theirs, [(p, before.get(p)) for p in sorted(same)])
            draft, document = self._together(o, made.draft, made.touched)
            row = s.get_one(OrderRow, order_id)
            row.lexicon = lexicon or row.lexicon
            row.version, row.draft = o.version + 1, draft.model_dump(mode="json")
            row.document, row.head = document.model_dump(mode="json"), head_of(draft, document)
            s.add(
                ChangeRow(
                    order_id=order_id,
                    number=row.version,
                    token=token,
                    words=made.words,
                    wrote=made.wrote,
                    patch=difference(before, flat(draft)),
                    undoes=undoes,
                    by_id=by.id,
                    at=now(),
                )
            )
            return Kept(row.version, made.words, told)

    def _together(self, o: Open, draft: Draft, touched: set[str]) -> tuple[Draft, RepairOrder]:
        order, found, judged = self.reader.read(o.note, draft.vehicle.steering, o.document.rule_book)
        try:
            return put_together(draft, o.document, found, judged, self.reader.vocabulary, touched)
        except UnknownPart as error:
            raise CannotChange(str(error)) from None

    def draft_at(self, o: Open, version: int) -> Draft:
        """The draft as it was at an earlier version; the one of now where the version is not an earlier one."""
        if version >= o.version:
            return o.draft
        table = flat(o.draft)
        with self.store.reading() as s:
            query = select(ChangeRow.patch).where(ChangeRow.order_id == o.id, ChangeRow.number > max(0, version))
            for patch in s.scalars(query.order_by(ChangeRow.number.desc())):
                for path, before, _ in patch:
                    table[path] = before
        here = {p.split(".")[1] for p in table if p.endswith(".struck") and table[p] is not None}
        return from_flat({p: v for p, v in table.items() if not p.startswith("line.") or p.split(".")[1] in here})

    # ----- history ---------------------------------------------------------------------------------------------------

    def history(self, order_id: int, most: int | None = None) -> list[tuple[ChangeRow, str]]:
        """Every change, or the last ``most``, with the name of who made it, the newest first."""
        with self.store.reading() as s:
            query = select(ChangeRow, Account.name).join(Account, Account.id == ChangeRow.by_id)
            query = query.where(ChangeRow.order_id == order_id).order_by(ChangeRow.number.desc()).limit(most)
            return [(c, n) for c, n in s.execute(query)]

    def undo(self, order_id: int, number: int, seen: int, token: str, by: Account) -> Kept:
        """Take back one change; what was written over since stays, and then nothing is taken back.

        Raises:
            CannotChange: there is no such change, or later ones wrote the same fields.
        """
        with self.store.reading() as s:
            query = select(ChangeRow).where(ChangeRow.order_id == order_id)
            rows = {c.number: c for c in s.scalars(query)}
        row = rows.get(number)
        if row is None:
            raise CannotChange(f"there is no change {number} on this order")
        undone = {c.undoes for c in rows.values() if c.undoes is not None}
        came = any(c.token == token for c in rows.values())
        if number in undone and not came:
            raise CannotChange("that change was undone already")
        later = [c for c in rows.values() if c.number > number and c.number not in undone and c.undoes is None]
        new_lines = tuple(p.removesuffix("struck") for p, b, _ in row.patch if p.endswith(".struck") and b is None)
        same = set(row.wrote) - {"sequence"}
        over = [c for c in later if set(c.wrote) & same or any(w.startswith(new_lines) for w in c.wrote if new_lines)]
        if over and not came:
            raise CannotChange(f"change {over[0].number} wrote the same since ({over[0].words}): undo that one first")

        def do(draft: Draft) -> Change:
            table = taken_back(flat(draft), row.patch, set(row.wrote))
            new = from_flat(table)
            new.questions = draft.questions
            touched = {p.split(".")[1] for p in row.wrote if p.startswith("line.")} & set(new.lines)
            return Change(new, f"Undone: {row.words}", list(row.wrote), {k for k in touched if not new.lines[k].struck})

        return self.change(order_id, seen, token, by, do, undoes=number)

    # ----- signing ---------------------------------------------------------------------------------------------------

    def sign(self, order_id: int, seen: int, by: Account) -> int:
        """Freeze the order as it stands under the next revision number.

        Raises:
            Overtaken: it was changed since version ``seen``: what is signed must have been seen.
        """
        with self.store.writing() as s:
            o = self._opened(s, order_id, to_write=True)
            if o.frozen:
                return o.revision
            if o.version != seen:
                query = select(ChangeRow, Account.name).join(Account, Account.id == ChangeRow.by_id)
                rows = s.execute(query.where(ChangeRow.order_id == order_id, ChangeRow.number > seen))
                raise Overtaken([f"{name}: {c.words}" for c, name in rows])
            row = s.get_one(OrderRow, order_id)
            row.frozen, row.revision = True, o.revision + 1
            s.add(
                RevisionRow(
                    order_id=order_id,
                    number=row.revision,
                    version=o.version,
                    document=row.document,
                    by_id=by.id,
                    at=now(),
                )
            )
            return row.revision

    def open_revision(self, order_id: int) -> None:
        """Let a signed order be changed; its signed revisions stay as they are."""
        with self.store.writing() as s:
            self._opened(s, order_id, to_write=True)
            s.get_one(OrderRow, order_id).frozen = False

    def revisions(self, order_id: int) -> list[tuple[RevisionRow, str]]:
        """The signed revisions of an order, the last first, each with the name of who signed it."""
        with self.store.reading() as s:
            query = select(RevisionRow, Account.name).join(Account, Account.id == RevisionRow.by_id)
            found = s.execute(query.where(RevisionRow.order_id == order_id).order_by(RevisionRow.number.desc()))
            return [(r, n) for r, n in found]


def head_of(draft: Draft, document: RepairOrder) -> dict[str, Any]:
    """What lists of orders show of it, kept beside the order so that none has to be opened for it."""
    vehicle = draft.vehicle
    return {
        "title": vehicle.description or document.note.name,
        "vin": vehicle.vin or "",
        "plate": vehicle.plate or "",
        "counts": {
            severity: n for severity in SEVERITIES if (n := sum(x.severity == severity for x in document.lines))
        },
        "questions": len(draft.questions),
    }


def steering_of(facts: dict[str, Any]) -> Steering:
    """The drive side that was typed beside a note."""
    return "right-hand" if facts.get("steering") == "right-hand" else "left-hand"


__all__ = [
    "A_PAGE",
    "Frozen",
    "Kept",
    "Listed",
    "NotThere",
    "Open",
    "Orders",
    "Overtaken",
    "note_of",
    "now",
    "steering_of",
]
