"""Sequences of changes as two writers might make them: what is undone is gone, what stays is whole, and no word is lost."""

from __future__ import annotations

import re
import secrets
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from at_hand import two_writers
from project_notes import gold_notes
from talkaround.desk import changes
from talkaround.desk.changes import CannotChange, Do
from talkaround.desk.drafts import Draft, flat, from_flat, put_together
from talkaround.desk.orders import Open, Orders, Overtaken
from talkaround.desk.reader import Reader
from talkaround.desk.store import Store
from talkaround.desk.store.tables import Account
from talkaround.models import Action, Condition, Note, Odometer, RepairOrder

GOLD = sorted(gold_notes())
KINDS = (
    "severity", "verb", "side", "component", "conditions", "no reading", "work", "sentence", "sentence again", "answer",
    "split", "join", "strike", "put back", "move", "add", "take back", "vehicle", "steering",
)  # fmt: skip
STEPS = st.lists(st.tuples(st.sampled_from(KINDS), st.integers(0, 60), st.integers(0, 60)), min_size=1, max_size=8)
SLOW = settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
TWICE = settings(SLOW, max_examples=20)


@dataclass
class Shop:
    """An empty shop: its orders, and two writers."""

    orders: Orders
    writers: list[Account]

    def note(self, text: str, steering: str = "left-hand") -> Open:
        note = Note(name="Typed note", text=text)
        id, _ = self.orders.take(secrets.token_hex(16), self.writers[0].id, "Typed note", {"steering": steering}, note)
        return self.orders.open(id)

    def gold(self, id: str) -> Open:
        return self.note(gold_notes()[id].note.text, gold_notes()[id].steering)

    def do(self, order: int, do: Do, by: int = 0, token: str = "") -> int:
        """The number of the change."""
        version = self.orders.open(order).version
        return self.orders.change(order, version, token or secrets.token_hex(8), self.writers[by], do).version

    def undo(self, order: int, number: int) -> None:
        self.orders.undo(order, number, self.orders.open(order).version, secrets.token_hex(8), self.writers[0])

    def work(self, order: int, steps: list[tuple[str, int, int]]) -> list[int]:
        """Make the changes that make sense on the order; gives their numbers."""
        made = []
        for n, step in enumerate(steps):
            do = step_of(self.orders.open(order), *step, self.orders.reader)
            try:
                if do is not None:
                    made.append(self.do(order, do, n % 2))
            except CannotChange:
                pass
        return made


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory, reader: Reader) -> Iterator[Shop]:
    store = Store(str(tmp_path_factory.mktemp("shop") / "desk.sqlite"))
    yield Shop(Orders(store, reader), two_writers(store))
    store.close()


def step_of(o: Open, kind: str, a: int, b: int, reader: Reader) -> Do | None:
    """The change that ``kind`` and two numbers mean on the order as it stands; None where there is nothing to do it to."""
    standing = o.draft.standing()
    struck = [k for k in o.draft.sequence if o.draft.lines[k].struck]
    key, held = standing[a % len(standing)] if standing else ("", None)
    line = held.line if held else None

    def pick(*of: Any) -> Any:
        return of[b % len(of)]

    if kind == "answer":
        qs = o.draft.questions
        return (
            changes.answer(qs[a % len(qs)].id, pick(*qs[a % len(qs)].choices, "do not know"), {}, "Ada") if qs else None
        )
    if kind == "add":
        said = pick(
            "left front tire is worn, replace", "battery tested good", "right rear brake hose is cracked, unsafe"
        )
        return changes.add(reader.lines_of(said, "left-hand"), [], "Ada", "Added")
    if kind == "take back":
        aside = o.document.set_aside
        if not aside:
            return None
        from talkaround.models import Evidence

        words = aside[a % len(aside)]
        evidence = [Evidence(begin=words.begin, end=words.end)]
        return changes.add(reader.lines_of("wiper blade is torn", "left-hand"), evidence, "Ada", "Taken back")
    if kind == "vehicle":
        return changes.set_vehicle({"odometer": Odometer(value=1000.0 * b + a, unit="mi"), "plate": f"P{a}"})
    if kind == "steering":
        return changes.set_vehicle({"steering": pick("left-hand", "right-hand")})
    if kind == "put back":
        return changes.put_back(struck[a % len(struck)]) if struck else None
    if line is None:
        return None
    if kind == "join":
        return changes.join(key, standing[b % len(standing)][0], "Ada") if len(standing) > 1 else None
    if kind in ("split", "strike", "move"):
        return {
            "split": changes.split(key, "Ada"),
            "strike": changes.strike(key),
            "move": changes.move(key, pick(-1, 1, 3)),
        }[kind]
    id = pick("ball-joint", "brake-pad", "tire", "battery", "wiper-blade", "strut")
    values: dict[str, dict[str, Any]] = {
        "severity": {"severity": pick("unsafe", "required", "suggested", "monitor", "good")},
        "verb": {"action": Action(verb=pick("replace", "repair", "none", "monitor", "adjust"))},
        "side": {"position": line.position.model_copy(update={"side": pick("left", "right", "both", None)})},
        "component": {"component": changes.component_ref(id, reader.vocabulary)}
        if id in reader.vocabulary.components
        else {},
        "conditions": {"conditions": [Condition(id=pick("worn", "leaking", "cracked", "noisy"))] if a % 3 else []},
        "no reading": {"measurements": []},
        "work": {"work": pick("done", "declined", "ordered", "proposed")},
        "sentence": {pick("cause", "correction", "concern"): f"By hand, {a}."},
        "sentence again": {pick("cause", "correction", "concern"): ""},
    }
    return changes.set_fields(key, values[kind], "Ada")


def words_unaccounted(o: Open) -> list[str]:
    order: RepairOrder = o.document
    spans: list[Any] = [*order.set_aside, *(e for x in order.lines for e in x.evidence)]
    spans += [e for c in order.concerns for e in c.evidence]
    spans += [*o.draft.vehicle.evidence, *(order.customer.evidence if order.customer else [])]
    held = {n for s in spans for n in range(s.begin, s.end)}
    return [m[0] for m in re.finditer(r"\w+", o.note.text) if not held.issuperset(range(m.start(), m.end()))]


def same(a: Open, b: Open) -> None:
    """The same order, line by line, and the same draft but for the rest of its history."""
    assert [x.model_dump() for x in a.document.lines] == [x.model_dump() for x in b.document.lines]
    assert a.document == b.document
    assert flat(a.draft) == flat(b.draft)
    assert a.draft.questions == b.draft.questions


@given(st.sampled_from(GOLD), STEPS)
@SLOW
def test_whatever_is_done_the_order_is_whole(shop: Shop, id: str, steps: list[tuple[str, int, int]]) -> None:
    first = shop.gold(id)
    shop.work(first.id, steps)
    o = shop.orders.open(first.id)
    assert words_unaccounted(o) == []
    assert [x.number for x in o.document.lines] == list(range(1, len(o.document.lines) + 1))
    assert [h.line for _, h in o.draft.standing()] == o.document.lines
    assert sorted(o.draft.sequence) == sorted(o.draft.lines)
    assert all(n <= len(o.document.lines) for p in o.document.parts for n in p.lines)
    unsafe = any(x.severity == "unsafe" and x.work != "done" for x in o.document.lines)
    assert ("Do not drive" in o.document.summary) == unsafe
    # The table of paths holds all of it.
    order, found, judged = shop.orders.reader.read(o.note, o.draft.vehicle.steering, o.document.rule_book)
    draft, document = put_together(
        from_flat(flat(o.draft)), o.document, found, judged, shop.orders.reader.vocabulary, set()
    )
    assert document == o.document
    assert draft.questions == o.draft.questions
    assert draft.standing() == o.draft.standing()
    assert flat(draft) == flat(o.draft)


@given(st.sampled_from(GOLD), STEPS)
@SLOW
def test_what_a_person_set_is_never_judged_over(shop: Shop, id: str, steps: list[tuple[str, int, int]]) -> None:
    first = shop.gold(id)
    shop.work(first.id, steps)
    before = shop.orders.open(first.id)

    def touch_all(draft: Draft) -> changes.Change:
        return changes.Change(draft, "Judged again", [], {k for k, _ in draft.standing()})

    shop.do(first.id, touch_all)
    after = shop.orders.open(first.id)
    for key, held in before.draft.standing():
        for name in held.by_hand:
            now = getattr(after.draft.lines[key].line, name)
            was = getattr(held.line, name)
            if name == "measurements":
                now, was = ([(m.value, m.unit, m.bound) for m in x] for x in (now, was))
            if name == "action":
                # What is fitted along with it still follows.
                now, was = ((x.verb, x.quantity) for x in (now, was))
            assert now == was, f"{name} of {held.line.component.name}"


# What was found once: a part that went along stayed when its own line came back; "set by" stayed when nobody had set it.
@given(st.sampled_from(GOLD), STEPS)
@example("gf-08", [("join", 33, 0), ("strike", 37, 27)])
@example("ha-07", [("add", 8, 4), ("strike", 14, 34), ("severity", 26, 39)])
@example("gf-08", [("join", 43, 58), ("severity", 15, 9), ("side", 6, 32)])
@example("ha-24", [("strike", 13, 51), ("severity", 13, 59), ("strike", 56, 14), ("work", 10, 42)])
@SLOW
def test_undoing_all_of_it_backwards_gives_back_the_first_order(
    shop: Shop, id: str, steps: list[tuple[str, int, int]]
) -> None:
    first = shop.gold(id)
    for number in reversed(shop.work(first.id, steps)):
        shop.undo(first.id, number)
    same(shop.orders.open(first.id), first)


@given(st.sampled_from(GOLD), STEPS, st.integers(0, 7))
@SLOW
def test_undoing_one_in_the_middle_keeps_what_came_after(
    shop: Shop, id: str, steps: list[tuple[str, int, int]], which: int
) -> None:
    first = shop.gold(id)
    made = shop.work(first.id, steps)
    if not made:
        return
    number = made[which % len(made)]
    before = shop.orders.open(first.id)
    try:
        shop.undo(first.id, number)
    except CannotChange:
        same(shop.orders.open(first.id), before)
        return
    after = shop.orders.open(first.id)
    assert words_unaccounted(after) == []
    now, was = flat(after.draft), flat(before.draft)
    undone = {w for c, _ in shop.orders.history(first.id) if c.number == number for w in c.wrote}
    for c, _ in shop.orders.history(first.id):
        if c.undoes is None and c.number > number:
            for path in set(c.wrote) - undone - {"sequence"}:
                name = path.rpartition(".")[2]
                if name in ("action", "measurements", "component"):
                    continue
                assert now.get(path) == was.get(path), path


@given(st.sampled_from(GOLD), STEPS)
@TWICE
def test_a_change_sent_twice_is_made_once(shop: Shop, id: str, steps: list[tuple[str, int, int]]) -> None:
    first = shop.gold(id)
    token, kept = secrets.token_hex(8), None
    do = step_of(first, *steps[0], shop.orders.reader)
    if do is None:
        return
    try:
        kept = shop.orders.change(first.id, first.version, token, shop.writers[0], do)
    except CannotChange:
        return
    once = shop.orders.open(first.id)
    again = shop.orders.change(first.id, first.version, token, shop.writers[0], do)
    assert again.again
    assert again.version == kept.version
    same(shop.orders.open(first.id), once)
    assert len(shop.orders.history(first.id)) == 1


def test_the_second_of_two_who_set_the_same_is_told_and_one_who_sets_another_is_not(shop: Shop) -> None:
    o = shop.note("Left front tire is at 3/32, replace. Wiper blades are torn.")
    (one, _), (two, _) = o.draft.standing()[:2]
    ada, bo = shop.writers

    def change(key: str, by: Account, **values: Any) -> Any:
        return shop.orders.change(o.id, 0, secrets.token_hex(8), by, changes.set_fields(key, values, by.name))

    change(one, ada, severity="unsafe")
    with pytest.raises(Overtaken) as told:
        change(one, bo, severity="monitor")
    assert "Ada" in told.value.theirs[0]
    assert shop.orders.open(o.id).draft.lines[one].line.severity == "unsafe"
    kept = change(two, bo, severity="monitor")
    assert any("Ada" in t for t in kept.meanwhile)
    assert shop.orders.open(o.id).draft.lines[one].line.severity == "unsafe"
    assert shop.orders.open(o.id).draft.lines[two].line.severity == "monitor"


def test_a_part_goes_along_only_while_the_order_has_no_line_for_it(shop: Shop) -> None:
    o = shop.note("Rear rotors are scored, replace them. Rear pads are at 2 mm, replace.")

    def goes_with_the_rotor() -> list[str]:
        lines = shop.orders.open(o.id).document.lines
        return [p.id for x in lines if x.component.id == "brake-rotor" for p in x.action.also]

    assert "brake-pad" not in goes_with_the_rotor()
    pads = next(k for k, h in o.draft.standing() if h.line.component.id == "brake-pad")
    shop.do(o.id, changes.strike(pads))
    assert "brake-pad" in goes_with_the_rotor()
    assert any(p.part.id == "brake-pad" for p in shop.orders.open(o.id).document.parts)
    shop.do(o.id, changes.put_back(pads))
    assert "brake-pad" not in goes_with_the_rotor()
    same(shop.orders.open(o.id), o)


def test_both_sides_split_into_two_lines_of_the_same_words(shop: Shop) -> None:
    o = shop.note("Left front brake hose is cracked, unsafe, replace it.")
    (key, held), *_ = o.draft.standing()
    both = held.line.position.model_copy(update={"side": "both"})
    shop.do(o.id, changes.set_fields(key, {"position": both}, "Ada"))

    def hoses() -> int:
        parts = shop.orders.open(o.id).document.parts
        return sum(p.quantity for p in parts if p.part.id == held.line.component.id)

    assert hoses() == 2
    shop.do(o.id, changes.split(key, "Ada"))
    after = shop.orders.open(o.id).document.lines
    assert [x.position.side for x in after] == ["left", "right"]
    assert after[0].evidence == after[1].evidence == held.line.evidence
    assert {x.severity for x in after} == {held.line.severity}
    assert {x.action.verb for x in after} == {held.line.action.verb}

    def hoses() -> int:
        parts = shop.orders.open(o.id).document.parts
        return sum(p.quantity for p in parts if p.part.id == held.line.component.id)

    assert hoses() == 2
