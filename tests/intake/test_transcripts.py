"""Timed transcripts: what was said as plain text, and when each stretch of it was said."""

import io
import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from talkaround.intake import NoteError, note_from_bytes, read_note
from talkaround.models import Note

SRT = """\
1
00:00:01,000 --> 00:00:03,500
Left front pads are at
three millimeters.

2
00:00:04,250 --> 00:00:06,000
<i>Right front</i> {\\an8}same thing

3
01:02:03,004 --> 01:02:05,000
pads <3 mm
"""

VTT = """\
WEBVTT - bay 3
Kind: captions

STYLE
::cue { color: white }

NOTE taken on the lift
and never said

first
00:01.000 --> 00:03.000 align:start position:0%
<v Technician>Tie rod &amp; boot <00:02.000><c.loud>torn</c>.</v>

REGION
id:one

00:00:04.000 --> 00:00:05.500
outer one
"""


def read(data: str | bytes | object, suffix: str) -> Note:
    if not isinstance(data, str | bytes):
        data = json.dumps(data)
    raw = data.encode() if isinstance(data, str) else data
    return note_from_bytes(raw, source=f"walk{suffix}", name="walk", suffix=suffix)


def said(note: Note) -> list[tuple[str, float | None, float | None]]:
    return [(note.text[u.begin : u.end], u.start_s, u.end_s) for u in note.utterances]


def refusal(data: object, suffix: str) -> str:
    with pytest.raises(NoteError) as caught:
        read(data, suffix)
    line = str(caught.value)
    assert line.startswith(f"walk{suffix}: ")
    assert len(line.splitlines()) == 1
    return line


def test_srt_gives_the_words_and_their_times() -> None:
    note = read(SRT, ".srt")
    assert note.kind == "transcript"
    assert note.text == "Left front pads are at three millimeters.\nRight front same thing pads <3 mm"
    assert said(note) == [
        ("Left front pads are at three millimeters.", 1.0, 3.5),
        ("Right front same thing", 4.25, 6.0),
        ("pads <3 mm", 3723.004, 3725.0),
    ]


def test_srt_does_not_need_blank_lines_between_cues_or_cue_numbers() -> None:
    note = read(
        "1\n00:00:01,0 --> 00:00:02,0\nhorn\n2\n00:00:03,0 --> 00:00:04,0\n32\n\n0:05.5 --> 0:06.0\nwipers", ".srt"
    )
    assert said(note) == [("horn", 1.0, 2.0), ("32", 3.0, 4.0), ("wipers", 5.5, 6.0)]


@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_captions_in_any_encoding_and_with_any_line_end(line_end: str, encoding: str) -> None:
    captions = "1\n00:00:01,000 --> 00:00:02,000\n½ worn – done\n"
    assert read(captions.replace("\n", line_end).encode(encoding), ".srt").text == "½ worn – done"


def test_vtt_gives_the_words_without_header_notes_styles_and_tags() -> None:
    note = read(VTT, ".vtt")
    assert note.kind == "transcript"
    assert said(note) == [("Tie rod & boot torn.", 1.0, 3.0), ("outer one", 4.0, 5.5)]
    assert note.text == "Tie rod & boot torn.\nouter one"


@pytest.mark.parametrize(
    ("captions", "suffix", "where"),
    [
        ("Left front pads worn\nand more\n", ".srt", "line 1"),
        ("1\n00:00:01,000 --> 00:00:02,000\nhorn\n\n2\nwipers\n", ".srt", "line 6"),
        ("1\n00:00:01,000 --> nonsense\nhorn\n", ".srt", "line 2"),
        ("1\n00:75:01,000 --> 00:76:00,000\nhorn\n", ".srt", "line 2"),
        ("1\n00:00:05,000 --> 00:00:02,000\nhorn\n", ".srt", "line 2"),
        ("1\n00:00:01,000 --> 00:00:02,000\nhorn\n\n2", ".srt", "line 6"),
        ("00:01.000 --> 00:02.000\nhorn\n", ".vtt", "line 1"),
        ("WEBVTT\n\n00:01.000 -> 00:02.000\nhorn\n", ".vtt", "line 3"),
        ("WEBVTT\n\n00:01.000 --> 00:02.000\nhorn\n\nstray words\n", ".vtt", "line 6"),
    ],
)
def test_malformed_captions_are_refused_with_the_line_and_what_belongs_there(
    captions: str, suffix: str, where: str
) -> None:
    line = refusal(captions, suffix)
    assert f"malformed transcript, {where}: expected " in line


@pytest.mark.parametrize(
    ("data", "suffix"),
    [
        ("1\n00:00:01,000 --> 00:00:02,000\n\n", ".srt"),
        ("WEBVTT\n\nNOTE nobody spoke\n", ".vtt"),
        ({"segments": []}, ".json"),
        ({"text": "", "segments": [{"start": 0, "end": 1, "text": " "}]}, ".json"),
        ([], ".json"),
    ],
)
def test_a_transcript_of_silence_is_refused(data: object, suffix: str) -> None:
    assert "no spoken words" in refusal(data, suffix)


SEGMENTS = [
    {"id": 0, "start": 0.0, "end": 2.5, "text": " Left front tire."},
    {"id": 1, "start": 2.5, "end": 4, "text": " three thirty"},
    {"id": 2, "start": 4, "end": 5.25, "text": " seconds"},
]


@pytest.mark.parametrize("data", [SEGMENTS, {"language": "en", "segments": SEGMENTS, "text": "ignored"}])
def test_recogniser_segments(data: object) -> None:
    note = read(data, ".json")
    assert note.kind == "transcript"
    assert note.text == "Left front tire.\nthree thirty seconds"
    assert said(note) == [("Left front tire.", 0.0, 2.5), ("three thirty", 2.5, 4.0), ("seconds", 4.0, 5.25)]


@pytest.mark.parametrize("key", ["word", "text"])
def test_recogniser_words_are_joined_up_to_a_pause_or_a_full_stop(key: str) -> None:
    timed = [
        ("left", 0, 0.3),
        ("tire", 0.4, 0.8),
        ("bald", 2.5, 3.0),
        (".", 3.0, 3.0),
        ("horn", 3.1, 3.4),
        ("ok", 3.5, 4),
    ]
    note = read({"words": [{key: word, "start": start, "end": end} for word, start, end in timed]}, ".json")
    assert said(note) == [("left tire", 0.0, 0.8), ("bald.", 2.5, 3.0), ("horn ok", 3.1, 4.0)]
    assert note.text == "left tire bald.\nhorn ok"


def test_pieces_of_words_are_put_together() -> None:
    pieces = [(" cali", 0, 0.2), ("per", 0.2, 0.4), (" seized", 0.5, 1.0)]
    note = read([{"word": word, "start": start, "end": end} for word, start, end in pieces], ".json")
    assert note.text == "caliper seized"


def test_a_segment_is_cut_at_the_pauses_of_its_words_where_they_say_the_same() -> None:
    words = [
        {"word": w, "start": s, "end": s + 0.2} for w, s in [("horn", 1), ("works", 1.3), ("lamp", 4), ("out", 4.3)]
    ]
    segment = {"start": 0.5, "end": 5, "text": "horn works lamp out", "words": words}
    assert said(read([segment], ".json")) == [("horn works", 1.0, 1.5), ("lamp out", 4.0, 4.5)]
    other = {**segment, "text": "horn works, lamp's out"}
    assert said(read([other], ".json")) == [("horn works, lamp's out", 0.5, 5.0)]


def test_words_without_times_keep_their_segment_s_times() -> None:
    segment = {
        "start": 1,
        "end": 2,
        "text": "pads 3 mm",
        "words": [{"word": "pads", "start": 1, "end": 1.2}, {"word": "3"}],
    }
    assert said(read([segment], ".json")) == [("pads 3 mm", 1.0, 2.0)]


@pytest.mark.parametrize(
    ("data", "where"),
    [
        ('{"segments": [\n{"start": 0 "end": 1}]}', "line 2 column 13"),
        ("", "is empty"),
        ('"just a string"', "top level"),
        ({"schema_version": "1", "lines": []}, "top level"),
        ({"segments": "none"}, '"segments"'),
        ({"segments": [SEGMENTS[0], "horn"]}, "segments[1]"),
        ({"segments": [{"start": 0, "end": 1}]}, "segments[0]"),
        ({"segments": [{"start": "soon", "end": 1, "text": "horn"}]}, "segments[0].start"),
        ({"segments": [{"start": 0, "end": float("nan"), "text": "horn"}]}, "segments[0].end"),
        ({"segments": [{"start": -1, "end": 1, "text": "horn"}]}, "segments[0].start"),
        ({"segments": [{"start": 2, "end": 1, "text": "horn"}]}, "segments[0]"),
        ({"words": [{"start": 0, "end": 1, "word": 7}]}, "words[0]"),
        ("[" * 100_000, "line 1"),
        ('[{"start": 1' + "0" * 5000 + ', "text": "horn"}]', "line 1"),
        ({"segments": [{"start": 0, "end": 1, "text": "horn\u0000"}]}, "U+0000"),
        ('[{"start": 0, "end": 1, "text": "horn \\ud800"}]', "U+D800"),
    ],
)
def test_malformed_json_is_refused_with_its_place(data: object, where: str) -> None:
    assert where in refusal(data, ".json")


def test_a_transcript_on_standard_input_is_known_by_its_first_lines() -> None:
    for captions, first in ((SRT, "Left front"), (VTT, "Tie rod"), (json.dumps(SEGMENTS), "Left front")):
        note = read_note("-", stdin=io.BytesIO(captions.encode()))
        assert note.kind == "transcript"
        assert note.text.startswith(first)
    for typed in ("[lift 3] pads worn", '{"horn": "ok"}', "32 --> 28 psi both fronts"):
        note = read_note("-", stdin=io.BytesIO(typed.encode()))
        assert (note.kind, note.text) == ("typed", typed)


def test_a_file_s_extension_decides_in_any_case(tmp_path: Path) -> None:
    path = tmp_path / "walk.SRT"
    path.write_text(SRT, encoding="utf-8")
    note = read_note(path)
    assert (note.name, note.kind, len(note.utterances)) == ("walk", "transcript", 3)


TEXTS = st.lists(
    st.text(st.characters(exclude_categories=("Cs", "Cc")), min_size=1, max_size=20), min_size=1, max_size=8
)


@given(TEXTS)
def test_utterances_cover_the_text_and_lose_no_word(texts: list[str]) -> None:
    segments = [{"start": i, "end": i + 1, "text": text} for i, text in enumerate(texts)]
    words = [text.split() for text in texts if text.split()]
    if not words:
        assert "no spoken words" in refusal(segments, ".json")
        return
    note = read(segments, ".json")
    assert [note.text[u.begin : u.end].split() for u in note.utterances] == words
    assert note.text.split() == [word for group in words for word in group]
    covered = sum(u.end - u.begin for u in note.utterances)
    assert len(note.text) == covered + len(note.utterances) - 1
