"""Typed notes: the text as given, whatever its encoding, or one line that says why not."""

import io
from pathlib import Path

import pytest

from talkaround.intake import NoteError, note_from_bytes, read_note

NOTE = "LF tire 3/32\r\nRF tire 5/32\r\nboth ½ worn – see café’s list\r\n"


def refusal(source: Path | str, **options: object) -> str:
    with pytest.raises(NoteError) as caught:
        read_note(source, **options)
    line = str(caught.value)
    assert len(line.splitlines()) == 1
    assert line.startswith("standard input" if source == "-" else " ".join(str(source).split()))
    return line


def test_a_typed_note_keeps_its_text_to_the_letter(tmp_path: Path) -> None:
    path = tmp_path / "bay 3.txt"
    path.write_bytes(b"  LF pads 3mm\r\n\tRF pads 4mm \n\n")
    note = read_note(path)
    assert (note.name, note.kind, note.utterances) == ("bay 3", "typed", [])
    assert note.text == "  LF pads 3mm\r\n\tRF pads 4mm \n\n"


@pytest.mark.parametrize("name", ["note.txt", "note.md", "note.TXT", "note", "note.2026-02-01"])
def test_any_text_extension_is_a_typed_note(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    path.write_text("horn inop", encoding="utf-8")
    assert read_note(str(path)).kind == "typed"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32", "cp1252"])
def test_every_usual_encoding_gives_the_same_text(tmp_path: Path, encoding: str) -> None:
    path = tmp_path / "note.txt"
    path.write_bytes(NOTE.encode(encoding))
    assert read_note(path).text == NOTE


def test_big_endian_utf16_with_its_mark() -> None:
    data = b"\xfe\xff" + "front pads 3 mm".encode("utf-16-be")
    assert note_from_bytes(data, source="x", name="x").text == "front pads 3 mm"


def test_standard_input_is_a_note_named_stdin() -> None:
    note = read_note("-", stdin=io.BytesIO(b"wipers streak\n"))
    assert (note.name, note.kind, note.text) == ("stdin", "typed", "wipers streak\n")


@pytest.mark.parametrize(
    ("data", "problem"),
    [
        (b"", "is empty"),
        (b"\xef\xbb\xbf", "is empty"),
        (b" \r\n\t\n", "is blank"),
        (b"\x7fELF\x02\x01\x01" + bytes(60), "control character U+007F"),
        (b"pads worn\nrotor \x00 scored", "line 2 holds the control character U+0000"),
        (bytes(range(256)) * 40, "control character"),
        (b"%PDF-1.7\nsome text", "PDF document"),
        (b"PK\x03\x04rest", "office document"),
        (b"{\\rtf1\\ansi pads worn}", "rich-text document"),
        ("pads worn".encode("utf-16")[:-1], "cut short"),
        ("vorne links 3 mm, prüfen – ½".encode() + b"\xff", "fits neither UTF-8 nor Windows-1252"),
        ("колодки изношены".encode("cp1251"), "fits neither UTF-8 nor Windows-1252"),
        ("ブレーキパッド".encode("utf-16-le"), "fits neither UTF-8 nor Windows-1252"),
    ],
)
def test_what_is_no_text_is_refused_with_the_reason(tmp_path: Path, data: bytes, problem: str) -> None:
    path = tmp_path / "note.txt"
    path.write_bytes(data)
    assert problem in refusal(path)


def test_an_unknown_encoding_is_refused_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "note.txt"
    path.write_bytes(b"pads worn\nrotor scored\n\x81\x8d done")
    line = refusal(path)
    assert "line 3" in line
    assert "0x81" in line
    assert "UTF-8" in line.rpartition(". Save")[2]


def test_a_missing_note_and_a_folder_are_told_apart(tmp_path: Path) -> None:
    assert "no such file" in refusal(tmp_path / "gone.txt")
    assert "is a folder" in refusal(tmp_path)


def test_a_name_on_several_lines_is_still_refused_on_one(tmp_path: Path) -> None:
    assert "no such file" in refusal(tmp_path / "bay\n3.txt")


def test_an_impossible_path_is_refused(tmp_path: Path) -> None:
    assert "cannot be read" in refusal(tmp_path / ("x" * 5000))


def test_a_note_that_this_user_may_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "note.txt"
    path.write_text("pads worn", encoding="utf-8")

    def denied(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", denied)
    assert "permissions" in refusal(path)


def test_fifty_megabytes_are_refused_unread(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "note.txt"
    with path.open("wb") as file:
        file.truncate(50_000_000)
    monkeypatch.setattr(Path, "open", lambda *_, **__: pytest.fail("the file was opened"))
    assert "larger than a note may be (2 MB)" in refusal(path)


def test_the_limit_is_on_the_note_and_holds_for_pipes_too(tmp_path: Path) -> None:
    path = tmp_path / "note.txt"
    path.write_bytes(b"x" * 100)
    assert read_note(path, limit=100).text == "x" * 100
    assert "larger" in refusal(path, limit=99)
    assert "larger" in refusal("-", stdin=io.BytesIO(b"x" * 100), limit=99)
    assert "larger" in refusal("-", stdin=io.BytesIO(b"x" * 5000), limit=99)


@pytest.mark.parametrize("name", ["walkaround.wav", "walkaround.MP3", "walkaround.m4a", "walkaround.ogg"])
def test_a_recording_that_nobody_listens_to_is_refused_with_what_to_give(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    path.write_bytes(b"RIFF....WAVEfmt ")
    line = refusal(path)
    assert "recogniser" in line
    assert "transcript" in line


@pytest.mark.parametrize(
    "data",
    [
        b"RIFF\x24\x08\0\0WAVEfmt ", b"ID3\x04\0\0", b"fLaC\0\0\0\x22", b"OggS\0\x02", b"\x1aE\xdf\xa3\x9f",
        b"\0\0\0\x1cftypM4A ",
    ],
)  # fmt: skip
def test_sound_in_the_place_of_text_is_known_by_its_first_bytes(data: bytes) -> None:
    """The signatures of WAV, MP3 with a tag, FLAC (RFC 9639), Ogg (RFC 3533), Matroska (RFC 9559) and MPEG 4 files."""
    assert "is a recording" in refusal("-", stdin=io.BytesIO(data + bytes(500)))


def test_a_refusal_keeps_its_parts() -> None:
    error = NoteError("a.txt", "is empty", "Put the note into it")
    assert (error.source, error.problem, error.mend) == ("a.txt", "is empty", "Put the note into it")
    assert str(error) == "a.txt: is empty. Put the note into it."
