"""Who may sit at the desk: accounts, passwords, signing in, and what each of the three people may do.

Points of the OWASP ASVS are named beside what meets them in ``tests/desk/test_asvs.py``.
"""

from __future__ import annotations

import hashlib
import secrets
import threading
import unicodedata
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Literal, get_args

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError
from sqlalchemy import delete, func, select, text
from sqlalchemy.exc import IntegrityError, SQLAlchemyError
from sqlalchemy.orm import Session

from talkaround.desk.orders import now
from talkaround.desk.store import Store
from talkaround.desk.store.tables import Account, FailedTry, SignedIn

Role = Literal["technician", "writer", "auditor"]
ROLES: tuple[Role, ...] = get_args(Role)

SHORTEST, LONGEST = 12, 128
"""Characters of a password."""
IDLE, LASTS = timedelta(hours=12), timedelta(days=7)
"""How long a browser stays signed in without a request, and at most."""
TRIES, WITHIN = 5, timedelta(minutes=15)
"""Wrong passwords for one name before it has to wait, and in which time."""
TRIES_FROM_ONE_PLACE = 30

_hasher = PasswordHasher()
# Checked where there is no such account, so that the answer takes as long.
_NOBODY = _hasher.hash(secrets.token_urlsafe(16))


class Refused(Exception):
    """The text says what is wrong and how to mend it."""


class Wait(Refused):
    """Too many wrong passwords; ``seconds`` until the next try."""

    def __init__(self, seconds: int):
        self.seconds = seconds
        minutes = max(1, round(seconds / 60))
        super().__init__(f"Too many wrong passwords. Try again in {minutes} minute{'s' if minutes > 1 else ''}.")


@dataclass(slots=True)
class Seat:
    """A signed-in browser: its account, and the key that its forms carry."""

    account: Account
    form_key: str

    @property
    def writes(self) -> bool:
        """Whether this person may change an order."""
        return self.account.role == "writer"

    @property
    def takes_notes(self) -> bool:
        """Whether this person may bring in a note."""
        return self.account.role in ("writer", "technician")

    @property
    def audits(self) -> bool:
        """Whether this person may look at how notes are written."""
        return self.account.role == "auditor"

    def may_see(self, by_id: int) -> bool:
        """Whether a note of that account, and its order, is for this person: a technician sees his own."""
        return self.account.role != "technician" or by_id == self.account.id


class Accounts:
    """The people who may sign in, and who is signed in; changes raise as each method says."""

    def __init__(self, store: Store):
        self.store = store
        self._one_try = threading.Lock()

    def any(self) -> bool:
        """Whether there is an account; without one the desk asks for the first."""
        with self.store.reading() as s:
            return s.scalar(select(func.count()).select_from(Account)) != 0

    def all(self) -> list[Account]:
        """Every account by name, closed ones too."""
        with self.store.reading() as s:
            return list(s.scalars(select(Account).order_by(Account.name)))

    def make(
        self, name: str, password: str, role: Role, *, keeps_accounts: bool = False, first: bool = False
    ) -> Account:
        """Make an account. ``first``: only while there is none.

        Raises:
            Refused: the name is taken or empty, or the password too weak.
        """
        name = _name(name)
        if not 1 <= len(name) <= 60 or not name.isprintable():
            raise Refused("Give a name of 1 to 60 characters.")
        if role not in ROLES:
            raise Refused(f"A role is one of {', '.join(ROLES)}.")
        checked(password, name)
        hashed = _hasher.hash(_plain(password))
        try:
            with self.store.writing() as s:
                if self.store.engine.dialect.name == "postgresql":
                    # Of two that come at once, the second must see the first.
                    s.execute(text("LOCK TABLE account IN EXCLUSIVE MODE"))
                if first and s.scalar(select(func.count()).select_from(Account)):
                    raise Refused("There is an account already: sign in with it, and make others on the page People.")
                if self._named(s, name) is not None:
                    raise Refused(f"There is an account named {name} already: choose another name.")
                account = Account(name=name, role=role, keeps_accounts=keeps_accounts, password=hashed, made_at=now())
                s.add(account)
                s.flush()
                return account
        except IntegrityError as error:
            raise Refused(f"There is an account named {name} already: choose another name.") from error

    def close(self, id: int, by: Account) -> None:
        """Close an account and sign its browsers out; what it did stays in the history."""
        if id == by.id:
            raise Refused("Your own account stays open while you use it: let another person close it.")
        with self.store.writing() as s:
            account = s.get(Account, id)
            if account is None:
                raise Refused("There is no such account.")
            account.closed = True
            s.execute(delete(SignedIn).where(SignedIn.account_id == id))

    def give_password(self, id: int, password: str, by: Account) -> str:
        """Set the password of somebody who forgot his, and sign his browsers out; gives his name.

        Raises:
            Refused: there is no such open account, it is one's own, or the password is too weak.
        """
        if id == by.id:
            raise Refused("Change your own password below, with the one that you have now.")
        with self.store.writing() as s:
            account = s.get(Account, id)
            if account is None or account.closed:
                raise Refused("There is no such account.")
            checked(password, account.name)
            account.password = _hasher.hash(_plain(password))
            s.execute(delete(SignedIn).where(SignedIn.account_id == id))
            s.execute(delete(FailedTry).where(FailedTry.name == _folded(account.name)))
            return account.name

    def sign_in(self, name: str, password: str, address: str) -> tuple[str, Seat]:
        """A new token for the browser's cookie, and its seat.

        Raises:
            Wait: too many wrong passwords of late.
            Refused: the name or the password is wrong; it does not say which.
        """
        name = _name(name)[:60]
        self._count_try(name, address)
        with self.store.reading() as s:
            account = self._named(s, name)
        if not _fits(account, password) or account is None or account.closed:
            raise Refused("The name or the password is wrong.")
        token = secrets.token_urlsafe(32)
        with self.store.writing() as s:
            s.execute(delete(FailedTry).where(FailedTry.name == _folded(name)))
            s.execute(delete(SignedIn).where(SignedIn.since < now() - LASTS))
            seat = SignedIn(token=_digest(token), account_id=account.id, form_key=secrets.token_urlsafe(24),
                            since=now(), last_seen=now())  # fmt: skip
            s.add(seat)
        return token, Seat(account, seat.form_key)

    def _named(self, s: Session, name: str) -> Account | None:
        """The account of a name in any case; the store itself may know the case of A to Z only."""
        rows = s.execute(select(Account.id, Account.name))
        met = next((row.id for row in rows if _folded(row.name) == _folded(name)), None)
        return None if met is None else s.get(Account, met)

    def _count_try(self, name: str, address: str) -> None:
        """Write a try down as a wrong one before it is looked at, so that many at once count as many.

        Raises:
            Wait: there were too many; this one is not counted.
        """
        with self._one_try:
            self._slow_down(name, address)
            with self.store.writing() as s:
                s.execute(delete(FailedTry).where(FailedTry.at < now() - WITHIN))
                s.add(FailedTry(name=_folded(name), address=address[:60], at=now()))

    def _slow_down(self, name: str, address: str) -> None:
        with self.store.reading() as s:
            since = now() - WITHIN
            query = select(FailedTry.at).where(FailedTry.at > since).order_by(FailedTry.at.desc())
            for_name = list(s.scalars(query.where(FailedTry.name == _folded(name))))
            from_there = list(s.scalars(query.where(FailedTry.address == address[:60])))
        for tries, most in ((for_name, TRIES), (from_there, TRIES_FROM_ONE_PLACE)):
            if len(tries) >= most:
                # The wait doubles with each further wrong one, up to the whole time.
                wait = min(timedelta(seconds=30) * 2 ** (len(tries) - most), WITHIN)
                left = wait - (now() - _utc(tries[0]))
                if left > timedelta(0):
                    raise Wait(int(left.total_seconds()) + 1)

    def seat_of(self, token: str | None) -> Seat | None:
        """The seat of a cookie's token, or None where it is no longer good."""
        if not token:
            return None
        with self.store.reading() as s:
            row = s.get(SignedIn, _digest(token))
            account = s.get(Account, row.account_id) if row else None
            if row is None or account is None or account.closed:
                return None
            if now() - _utc(row.last_seen) > IDLE or now() - _utc(row.since) > LASTS:
                return None
            stale = now() - _utc(row.last_seen) > timedelta(minutes=10)
        if stale:
            try:
                with self.store.writing() as s:
                    again = s.get(SignedIn, _digest(token))
                    if again:
                        again.last_seen = now()
            except SQLAlchemyError:
                # A store that is full or busy can still be read.
                pass
        return Seat(account, row.form_key)

    def sign_out(self, token: str | None) -> None:
        """Forget the browser that holds ``token``; one that is not known is no error."""
        if token:
            with self.store.writing() as s:
                s.execute(delete(SignedIn).where(SignedIn.token == _digest(token)))

    def change_password(self, account: Account, old: str, new: str, address: str = "") -> None:
        """Set a new password and sign every browser of the account out.

        Raises:
            Wait: too many wrong passwords of late.
            Refused: the old one is wrong, or the new one too weak.
        """
        self._count_try(account.name, address)
        if not _fits(account, old):
            raise Refused("The password that you have now is wrong.")
        checked(new, account.name)
        with self.store.writing() as s:
            row = s.get_one(Account, account.id)
            row.password = _hasher.hash(_plain(new))
            s.execute(delete(FailedTry).where(FailedTry.name == _folded(account.name)))
            s.execute(delete(SignedIn).where(SignedIn.account_id == account.id))


def checked(password: str, name: str) -> None:
    """Refuse a password that is too short, too long, too common, or the name itself.

    The common ones are those of zxcvbn's list of leaked passwords (30,000 of them).
    """
    from zxcvbn.frequency_lists import FREQUENCY_LISTS

    password = _plain(password)
    if not SHORTEST <= len(password) <= LONGEST:
        raise Refused(
            f"A password has {SHORTEST} to {LONGEST} characters: a few words in a row are easy to keep in mind."
        )
    if password.lower() in FREQUENCY_LISTS["passwords"] or password.lower() == name.lower() or len(set(password)) < 5:
        raise Refused("That password is among the first that anybody would try: choose another.")


def _fits(account: Account | None, password: str) -> bool:
    try:
        # Longer than any that is kept: it cannot fit, and need not be hashed whole.
        return _hasher.verify(account.password if account else _NOBODY, _plain(password[: LONGEST * 4]))
    except (VerificationError, InvalidHashError):
        return False


def _plain(password: str) -> str:
    """A phone and a computer may send the same letter with an accent in two ways."""
    return unicodedata.normalize("NFC", password)


def _name(typed: str) -> str:
    return " ".join(unicodedata.normalize("NFC", typed).split())


def _folded(name: str) -> str:
    # PostgreSQL keeps no NUL.
    return name.replace("\0", "").casefold()[:60]


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def _utc(at: datetime) -> datetime:
    """SQLite gives times back without their zone."""
    return at if at.tzinfo else at.replace(tzinfo=UTC)


__all__ = ["IDLE", "LASTS", "LONGEST", "ROLES", "SHORTEST", "Accounts", "Refused", "Role", "Seat", "Wait", "checked"]
