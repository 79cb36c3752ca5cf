"""A word that writers mend the same way on three orders is offered to the shop's lexicon, and taken in only when told.

That a shop calls its sway bar links dogbones is invented; the shipped lexicon takes the word for an engine mount.
"""

from __future__ import annotations

import html
import re
import subprocess
import sys
from pathlib import Path

import pytest

from desk_process import Desk, Person, line_keys
from lean_client import forms_of

SAID = "Left front dogbone is loose, replace it."
OFFER = {"words": "dogbone", "component": "sway-bar-link"}


def components(person: Person, order: int) -> list[str]:
    return [x["component"]["id"] for x in person.get(f"/api/orders/{order}").json()["lines"]]


def mend(person: Person, order: int, to: str = "sway bar link") -> None:
    key = line_keys(person.get(f"/orders/{order}").text)[0]
    path = f"/orders/{order}/edit/{key}"
    fields = forms_of(person.get(f"/orders/{order}?edit={key}").text)[path]
    person.client.post(path, data=fields | {"component": to}).raise_for_status()


def mended(person: Person, times: int, said: str = SAID, key: str = "mended") -> list[int]:
    orders = [person.take(said, f"{key}-note-number-{n}") for n in range(times)]
    for order in orders:
        assert components(person, order) == ["engine-torque-mount"]
        mend(person, order)
        assert components(person, order) == ["sway-bar-link"]
    return orders


def shown(person: Person, path: str = "/teach") -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", person.get(path).text)).split())


def files(desk: Desk) -> list[Path]:
    return [p for p in (desk.folder / "talkaround" / "lexicon").rglob("*") if p.is_file()]


def test_two_orders_make_no_offer_and_the_same_order_counts_once(plain_desk: Desk, writer: Person) -> None:
    one, two = mended(writer, 2)
    for to in ("engine torque mount", "sway bar link"):
        mend(writer, two, to)
    assert one != two
    assert "Nothing is offered now" in shown(writer)


def test_the_third_order_makes_an_offer_that_is_tried_before_it_is_taken(plain_desk: Desk, writer: Person) -> None:
    other = writer.take("Right front dogbone is torn, replace it. Battery tested good.", "another-note-of-all")
    mended(writer, 3)
    assert "“dogbone” as sway bar link" in shown(writer)

    tried = writer.post("/teach", **OFFER, do="try")
    said = " ".join(html.unescape(re.sub(r"<[^>]+>", " ", tried.text)).split())
    assert "4 notes were read again" in said
    assert "4 would be read otherwise" in said
    assert "right engine torque mount" in said
    assert "right front sway bar link" in said
    # Nothing is written by trying.
    assert files(plain_desk) == []
    assert components(writer, other)[0] == "engine-torque-mount"
    assert components(writer, writer.take(SAID, "a-note-while-trying")) == ["engine-torque-mount"]

    writer.post("/teach", **OFFER, do="take").raise_for_status()
    assert [p.name for p in files(plain_desk)] == ["taught-at-the-desk.toml"]
    checked = subprocess.run(
        [sys.executable, "-m", "talkaround.cli", "lexicon", "check", str(plain_desk.folder / "talkaround" / "lexicon")],
        capture_output=True, text=True, timeout=120,
    )  # fmt: skip
    assert checked.returncode == 0, checked.stdout + checked.stderr
    # New notes are read by it, old ones stay as they are until somebody asks.
    assert components(writer, writer.take(SAID, "a-note-after-taking")) == ["sway-bar-link"]
    assert components(writer, other)[0] == "engine-torque-mount"
    assert "Nothing is offered now" in shown(writer)
    assert "The lexicon was changed since" in shown(writer, f"/orders/{other}")

    # It is there after a start, too.
    plain_desk.stop()
    plain_desk.start()
    assert components(writer, writer.take(SAID, "a-note-after-a-start")) == ["sway-bar-link"]


def test_what_is_turned_down_is_not_offered_again(plain_desk: Desk, writer: Person) -> None:
    mended(writer, 3)
    writer.post("/teach", **OFFER, do="leave").raise_for_status()
    assert "Nothing is offered now" in shown(writer)
    mended(writer, 1, key="later")
    assert "Nothing is offered now" in shown(writer)
    assert files(plain_desk) == []


def test_what_is_not_offered_cannot_be_taken(plain_desk: Desk, writer: Person) -> None:
    assert writer.post("/teach", words="tire", component="sway-bar-link", do="take").status_code == 400
    assert files(plain_desk) == []


@pytest.mark.parametrize("role", ["technician", "auditor"])
def test_only_a_writer_teaches(plain_desk: Desk, writer: Person, role: str) -> None:
    mended(writer, 3)
    writer.make("Someone", role)
    other = Person(plain_desk.url, "Someone")
    assert other.post("/teach", **OFFER, do="take").status_code == 403
    other.close()
    assert files(plain_desk) == []


def test_a_shop_with_files_of_its_own_keeps_them(plain_desk: Desk, writer: Person) -> None:
    own = plain_desk.folder / "talkaround" / "lexicon" / "components" / "ours.toml"
    own.parent.mkdir(parents=True)
    own.write_text('[sway-bar-link]\nnames = ["wiggle stick"]\n', "utf-8")
    plain_desk.stop()
    plain_desk.start()
    assert components(writer, writer.take("Left front wiggle stick is loose, replace.", "w" * 20)) == ["sway-bar-link"]
    mended(writer, 3)
    answer = writer.post("/teach", **OFFER, do="take")
    said = " ".join(html.unescape(re.sub(r"<[^>]+>", " ", answer.text)).split())
    # Two files cannot both speak of a part: the shop's own is left alone, and it says what to write there.
    assert answer.status_code == 400
    assert "ours.toml: has a table [sway-bar-link] of the shop's own" in said
    assert "add 'dogbone' to its names there by hand" in said
    assert files(plain_desk) == [own]
    own.write_text('[wiper-blade]\nnames = ["squeegee"]\n', "utf-8")
    writer.post("/teach", **OFFER, do="take").raise_for_status()
    assert own.read_text("utf-8") == '[wiper-blade]\nnames = ["squeegee"]\n'
    assert components(writer, writer.take(SAID, "a-note-after-taking")) == ["sway-bar-link"]
    assert "wiper-blade" in components(writer, writer.take("The squeegee is torn, replace it.", "a-note-of-squeegees"))
