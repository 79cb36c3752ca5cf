"""A note read again with a newer lexicon: what would come out otherwise is shown, and what people did stays.

That a shop calls its sway bar links dogbones is invented; the shipped lexicon takes the word for an engine mount.
"""

from __future__ import annotations

import secrets
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from at_hand import two_writers
from talkaround.desk import changes
from talkaround.desk.again import apply_reading, differences
from talkaround.desk.changes import CannotChange, Do
from talkaround.desk.orders import Open, Orders
from talkaround.desk.reader import Reader
from talkaround.desk.store import Store
from talkaround.desk.store.tables import Account
from talkaround.models import Note

WORDS = "Left front dogbone is loose, replace it. Left front tire is at 3/32. Wiper blades are torn, replace them."
NEWER = '[sway-bar-link]\nnames = ["dogbone"]\n[engine-torque-mount]\ndrop = ["dogbone"]\n'


@dataclass
class Shop:
    orders: Orders
    ada: Account
    lexicon: Path
    id: int = 0

    @property
    def open(self) -> Open:
        return self.orders.open(self.id)

    def key(self, component: str) -> str:
        return next(k for k, held in self.open.draft.standing() if held.line.component.id == component)

    def do(self, do: Do) -> None:
        self.orders.change(self.id, self.open.version, secrets.token_hex(8), self.ada, do)

    def newer_lexicon(self, text: str = NEWER) -> None:
        (self.lexicon / "components").mkdir(parents=True)
        (self.lexicon / "components" / "ours.toml").write_text(text, "utf-8")
        self.orders.reader.reload()

    def take_over(self) -> None:
        apply_reading(self.orders, self.open, self.open.version, secrets.token_hex(8), self.ada)


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    store = Store(str(tmp_path / "desk.sqlite"))
    made = Shop(Orders(store, Reader(tmp_path / "lexicon")), two_writers(store)[0], tmp_path / "lexicon")
    made.id = made.orders.take("k" * 20, made.ada.id, "n", {}, Note(name="n", text=WORDS))[0]
    yield made
    store.close()


def components(o: Open) -> list[str]:
    return sorted({x.component.id for x in o.document.lines})


def test_with_the_same_lexicon_nothing_is_otherwise(shop: Shop) -> None:
    assert differences(shop.open, shop.orders.reader) == []
    with pytest.raises(CannotChange, match="the same"):
        shop.take_over()
    assert shop.open.version == 0


def test_what_would_come_out_otherwise_is_shown_and_taken_over_when_told(shop: Shop) -> None:
    shop.newer_lexicon()
    assert shop.open.lexicon != shop.orders.reader.lexicon
    shown = [(d.line, bool(d.was), bool(d.now)) for d in differences(shop.open, shop.orders.reader)]
    assert ("left front sway bar link", False, True) in shown
    assert any("engine torque mount" in line and was and not now_ for line, was, now_ in shown)
    assert len(shown) == 2
    assert "engine-torque-mount" in components(shop.open)
    shop.take_over()
    assert "sway-bar-link" in components(shop.open)
    assert "engine-torque-mount" not in components(shop.open)
    assert shop.open.lexicon == shop.orders.reader.lexicon
    assert differences(shop.open, shop.orders.reader) == []
    # One change, and one undoing of it.
    assert shop.open.version == 1
    shop.orders.undo(shop.id, 1, 1, "undo-it", shop.ada)
    assert "engine-torque-mount" in components(shop.open)
    assert "sway-bar-link" not in components(shop.open)


def test_a_lexicon_with_the_same_words_that_mean_more_is_newer_too(shop: Shop) -> None:
    """A shop for vehicles that have blades at the rear alone."""
    shop.newer_lexicon('[wiper-blade]\nimplies = "rear"\n')
    assert shop.open.lexicon != shop.orders.reader.lexicon
    assert any("rear wiper blade" in d.line for d in differences(shop.open, shop.orders.reader) if d.now)


def test_what_people_did_is_kept(shop: Shop) -> None:
    tire, wiper, mount = shop.key("tire"), shop.open.draft.standing()[-1][0], shop.key("engine-torque-mount")
    shop.do(changes.set_fields(tire, {"severity": "monitor", "correction": "Look again in May."}, "Ada"))
    shop.do(changes.strike(wiper))
    shop.do(changes.set_fields(mount, {"work": "ordered"}, "Ada"))
    added = shop.orders.reader.lines_of("battery tested good", "left-hand")
    shop.do(changes.add(added, [], "Ada", "Added"))
    shop.newer_lexicon()
    shop.take_over()
    o = shop.open
    line = o.draft.lines[tire].line
    assert (line.severity, line.correction) == ("monitor", "Look again in May.")
    assert o.draft.lines[wiper].struck
    # A person worked at the line, so it is not struck over his head, though it would not be read so now.
    assert not o.draft.lines[mount].struck
    assert o.draft.lines[mount].line.work == "ordered"
    assert {"battery", "sway-bar-link"} <= set(components(o))


def test_a_part_that_a_person_mended_by_hand_is_not_there_twice(shop: Shop) -> None:
    mount = shop.key("engine-torque-mount")
    link = changes.component_ref("sway-bar-link", shop.orders.reader.vocabulary)
    shop.do(changes.set_fields(mount, {"component": link}, "Ada"))
    shop.newer_lexicon()
    if differences(shop.open, shop.orders.reader):
        shop.take_over()
    assert [x.component.id for x in shop.open.document.lines].count("sway-bar-link") == 1


def test_a_split_line_stays_split(shop: Shop) -> None:
    tire = shop.key("tire")
    both = shop.open.draft.lines[tire].line.position.model_copy(update={"side": "both"})
    shop.do(changes.set_fields(tire, {"position": both}, "Ada"))
    shop.do(changes.split(tire, "Ada"))
    shop.newer_lexicon()
    shop.take_over()
    assert sorted(str(x.position.side) for x in shop.open.document.lines if x.component.id == "tire") == [
        "left",
        "right",
    ]
