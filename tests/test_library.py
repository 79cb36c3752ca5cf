"""Talkaround as a library: one call, and a part of somebody else's spaCy pipeline."""

from __future__ import annotations

import subprocess
import sys
from importlib.metadata import entry_points
from pathlib import Path

import pytest
import spacy

import talkaround
from talkaround.models import Note
from talkaround.pipeline import write_order
from talkaround.vocabulary import LexiconError, Vocabulary

TEXT = "Left front lower ball joint is loose, replace it. Nearside rear tire 4 mm, good."


def test_one_call_gives_the_order_that_the_command_writes(vocabulary: Vocabulary) -> None:
    expected = write_order(Note(name="note", text=TEXT), vocabulary=vocabulary)
    assert talkaround.read(TEXT) == expected
    words = [TEXT[e.begin : e.end] for e in expected.lines[0].evidence]
    assert words == ["Left front lower ball joint is loose,", "replace it."]


def test_the_settings_are_those_of_the_command() -> None:
    def side(**settings: object) -> str | None:
        order = talkaround.read("Nearside front caliper is seized.", **settings)  # type: ignore[arg-type]
        return order.lines[0].position.side

    assert (side(), side(steering="right-hand")) == ("right", "left")
    assert talkaround.read(TEXT, rule_book="eu").rule_book == "eu"


def test_a_lexicon_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(LexiconError, match="there is no such folder"):
        talkaround.read(TEXT, lexicon=tmp_path / "none")


def test_to_import_it_loads_neither_spacy_nor_pydantic() -> None:
    code = "import sys, talkaround; sys.exit(bool({'spacy', 'pydantic', 'typer'} & set(sys.modules)))"
    assert subprocess.run([sys.executable, "-c", code], timeout=60).returncode == 0


def test_it_reads_inside_a_spacy_pipeline_and_leaves_the_tokens_alone() -> None:
    import talkaround.within_spacy

    nlp = spacy.blank("en")
    nlp.add_pipe("sentencizer")
    nlp.add_pipe("talkaround", config={"steering": "right-hand"})
    doc = nlp(TEXT)
    assert [t.text for t in doc] == [t.text for t in spacy.blank("en")(TEXT)]
    order = doc._.repair_order
    assert order == talkaround.read(TEXT, steering="right-hand")
    spans = doc.spans[talkaround.within_spacy.FINDINGS]
    assert [(s.label_, s.id_, s.text) for s in spans][0] == (
        "lower-ball-joint", "1", "Left front lower ball joint is loose,",
    )  # fmt: skip
    assert order.lines[1].position.side == "left"
    # The pipeline can be stored and loaded as any other.
    assert spacy.blank("en").from_config(nlp.config).pipe_names == ["sentencizer", "talkaround"]


def test_no_entry_point_slows_the_pipelines_of_others() -> None:
    for group in ("spacy_factories", "spacy_languages", "spacy_registry"):
        assert not [e for e in entry_points(group=group) if e.value.startswith("talkaround")]
