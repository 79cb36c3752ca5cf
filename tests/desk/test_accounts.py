"""Accounts: making, closing and changing them, and who is signed in, on both stores."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from argon2 import PasswordHasher

from desk_process import PASSWORD
from talkaround.desk import accounts
from talkaround.desk.accounts import Accounts, Refused, Wait
from talkaround.desk.store import Store


@pytest.fixture(params=["sqlite", "postgresql"])
def kept(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Accounts]:
    """Accounts of an empty store."""
    postgres = request.param == "postgresql"
    store = Store(request.getfixturevalue("postgres").database() if postgres else str(tmp_path / "desk.sqlite"))
    yield Accounts(store)
    store.close()


def signs_in(kept: Accounts, name: str, password: str = PASSWORD) -> bool:
    try:
        kept.sign_in(name, password, "10.0.0.1")
    except Refused:
        return False
    return True


def test_passwords_are_kept_as_argon2id_and_slow_to_try(kept: Accounts) -> None:
    """At least 19 MiB and two passes: what OWASP's cheat sheet on storing passwords asks of argon2id (from memory)."""
    account = kept.make("Ada", PASSWORD, "writer")
    assert account.password.startswith("$argon2id$") and PASSWORD not in account.password
    shipped = PasswordHasher()
    assert shipped.memory_cost >= 19 * 1024 and shipped.time_cost >= 2
    assert kept.make("Ben", PASSWORD, "writer").password != account.password, "each with a salt of its own"


@pytest.mark.parametrize(
    ("made", "typed"),
    [("Ömer", "ömer"), ("Ömer", "O\N{COMBINING DIAERESIS}mer"), ("Ada Byte", "  ada   BYTE "), ("ΣΊΣΥΦΟΣ", "σίσυφος")],
)
def test_a_name_is_the_same_in_any_case_and_from_any_keyboard(kept: Accounts, made: str, typed: str) -> None:
    kept.make(made, PASSWORD, "technician")
    assert signs_in(kept, typed)
    with pytest.raises(Refused, match="already"):
        kept.make(typed, PASSWORD, "writer")


def test_a_password_is_the_same_from_any_keyboard(kept: Accounts) -> None:
    kept.make("Ada", "größer als zwölf", "writer")
    decomposed = "gro\N{COMBINING DIAERESIS}ßer als zwo\N{COMBINING DIAERESIS}lf"
    assert signs_in(kept, "Ada", decomposed) and not signs_in(kept, "Ada", "grosser als zwolf")


@pytest.mark.parametrize("name", ["", "   ", "x" * 61, "A\0da", "A\x1bda", "A\u202eda"])
def test_a_name_that_cannot_be_shown_is_refused(kept: Accounts, name: str) -> None:
    with pytest.raises(Refused, match="1 to 60"):
        kept.make(name, PASSWORD, "writer")
    assert not signs_in(kept, name)


def test_ones_own_name_is_no_password(kept: Accounts) -> None:
    with pytest.raises(Refused, match="anybody would try"):
        kept.make("Adelaide Byte", "adelaide BYTE", "writer")


def test_only_one_account_is_the_first(kept: Accounts) -> None:
    """However many ask at once."""
    made: list[str] = []

    def make(name: str) -> None:
        try:
            kept.make(name, PASSWORD, "writer", keeps_accounts=True, first=True)
            made.append(name)
        except Refused:
            pass

    threads = [threading.Thread(target=make, args=(f"Person {n}",)) for n in range(5)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(made) == 1 and [a.name for a in kept.all()] == made


def test_a_closed_account_is_out_at_once_and_its_name_stays_taken(kept: Accounts) -> None:
    keeper = kept.make("Ada", PASSWORD, "writer", keeps_accounts=True)
    ben = kept.make("Ben", PASSWORD, "writer")
    token, _ = kept.sign_in("Ben", PASSWORD, "10.0.0.1")
    assert kept.seat_of(token)
    kept.close(ben.id, keeper)
    assert kept.seat_of(token) is None and not signs_in(kept, "Ben")
    with pytest.raises(Refused, match="already"):
        kept.make("ben", PASSWORD, "writer")
    with pytest.raises(Refused, match="Your own"):
        kept.close(keeper.id, keeper)
    with pytest.raises(Refused, match="no such account"):
        kept.close(999, keeper)


def test_wrong_passwords_wait_longer_and_longer(kept: Accounts, monkeypatch: pytest.MonkeyPatch) -> None:
    kept.make("Ada", PASSWORD, "writer")
    monkeypatch.setattr(accounts, "_fits", lambda account, password: False)
    clock, waits = accounts.now(), []
    monkeypatch.setattr(accounts, "now", lambda: clock)
    for _ in range(5):
        assert not signs_in(kept, "Ada")
    for _ in range(4):
        with pytest.raises(Wait) as wait:
            kept.sign_in("Ada", PASSWORD, "10.0.0.2")
        waits.append(wait.value.seconds)
        clock += timedelta(seconds=wait.value.seconds)
        with pytest.raises(Refused, match="wrong"):
            kept.sign_in("Ada", PASSWORD, "10.0.0.2")
    assert waits == sorted(waits) and waits[0] <= 31 and waits[-1] >= 8 * 29


def test_guessing_many_names_from_one_place_is_slowed_too(kept: Accounts, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(accounts, "_fits", lambda account, password: False)
    looked_at = 0
    for n in range(60):
        try:
            kept.sign_in(f"Person {n}", PASSWORD, "10.0.0.9")
        except Wait:
            break
        except Refused:
            looked_at += 1
    assert looked_at == accounts.TRIES_FROM_ONE_PLACE
    kept.make("Ada", PASSWORD, "writer")
    monkeypatch.undo()
    assert signs_in(kept, "Ada"), "from another place"


def test_guessing_the_old_password_is_slowed_as_well(kept: Accounts) -> None:
    ada = kept.make("Ada", PASSWORD, "writer")
    for n in range(5):
        with pytest.raises(Refused, match="now is wrong"):
            kept.change_password(ada, f"a wrong guess {n}", "a new one, just as long")
    with pytest.raises(Wait):
        kept.change_password(ada, PASSWORD, "a new one, just as long")
