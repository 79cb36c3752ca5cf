"""``hear``, and ``write`` of recordings, as a shop calls them; a stand-in listens."""

import io
import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from talkaround import cli, hearing
from talkaround.hearing import Heard, RecogniserError
from talkaround.intake import NoteError, read_note

SAID = [
    (" Left", 0.0), (" front", 0.4), (" caliper", 0.8), (" seized,", 1.3), (" replace", 2.0), (" it.", 2.5),
    (" Horn", 4.0), (" works.", 4.5),
]  # fmt: skip


def transcript() -> dict[str, Any]:
    words = [{"word": word, "start": start, "end": start + 0.3} for word, start in SAID]
    text = "".join(word for word, _ in SAID).strip()
    return {"duration": 5.0, "language": "en", "segments": [{"start": 0, "end": 5, "text": text, "words": words}]}


@pytest.fixture(autouse=True)
def listener(monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory) -> list[object]:
    """Listens to what is called good; gives the recognisers that were asked for."""
    asked: list[object] = []

    def listen(path: Path, recogniser: object, heard: Callable[[Heard], None]) -> dict[str, Any]:
        if "silent" in path.name:
            raise NoteError(str(path), "holds no speech", "Record it again")
        if "endless" in path.name:
            raise KeyboardInterrupt
        heard(Heard(65.0, 130.0))
        return transcript()

    def load(name: str | None, expected: object) -> object:
        asked.append(name)
        if name is None:
            raise RecogniserError("is a recording, and no recogniser is given", "Name one")
        return object()

    monkeypatch.setattr(hearing, "load", load)
    monkeypatch.setattr(hearing, "listen", listen)
    monkeypatch.delenv("TALKAROUND_RECOGNISER", raising=False)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.getbasetemp() / "cache"))
    return asked


def call(*args: object, **options: Any) -> Result:
    return CliRunner().invoke(cli.app, [str(arg) for arg in args], prog_name="talkaround", **options)


def sound(folder: Path, *names: str) -> list[Path]:
    for name in names:
        (folder / name).write_bytes(b"RIFF")
    return [folder / name for name in names]


@pytest.mark.parametrize("format", ["json", "srt", "text"])
def test_what_hear_writes_is_read_by_write_again(tmp_path: Path, format: str) -> None:
    (path,) = sound(tmp_path, "walk.wav")
    result = call("hear", path, "--format", format, "--out", tmp_path / "heard", "--recogniser", "model")
    assert (result.exit_code, result.stdout, result.stderr) == (0, "", "")
    (written,) = (tmp_path / "heard").iterdir()
    note = read_note(written)
    assert note.text.strip() == "Left front caliper seized, replace it.\nHorn works."
    assert [u.start_s for u in note.utterances] == ([] if format == "text" else [0.0, 4.0])


def test_one_recording_goes_to_standard_output(tmp_path: Path) -> None:
    result = call("hear", *sound(tmp_path, "walk.mp3"), env={"TALKAROUND_RECOGNISER": "model"})
    assert result.exit_code == 0
    assert json.loads(result.stdout)["segments"][0]["words"][0]["word"] == " Left"


def test_a_recording_is_written_to_an_order_in_one_step(tmp_path: Path, listener: list[object]) -> None:
    result = call("write", *sound(tmp_path, "walk.M4A"), "--recogniser", "model")
    assert (result.exit_code, result.stderr) == (0, "")
    order = json.loads(result.stdout)
    assert order["note"]["kind"] == "audio"
    lines = {line["component"]["id"]: line for line in order["lines"]}
    assert lines["brake-caliper"]["position"]["side"] == "left"
    assert lines["horn"]["evidence"][0]["start_s"] == 4.0
    assert listener == ["model"]


def test_the_recogniser_is_loaded_once_for_many_recordings(tmp_path: Path, listener: list[object]) -> None:
    paths = sound(tmp_path, "a.wav", "b.wav", "c.wav")
    assert call("hear", *paths, "--out", tmp_path / "out", "--recogniser", "model").exit_code == 0
    assert listener == ["model"]


def test_each_failure_is_a_line_and_the_others_are_written(tmp_path: Path) -> None:
    paths = sound(tmp_path, "a.wav", "silent.wav", "c.ogg")
    (tmp_path / "empty.wav").touch()
    (tmp_path / "folder.wav").mkdir()
    others = [tmp_path / name for name in ("empty.wav", "folder.wav", "gone.flac")]
    for command in ("hear", "write"):
        result = call(command, *paths, *others, "--out", tmp_path / command, "--recogniser", "model")
        assert result.exit_code == 1
        told = result.stderr.splitlines()
        assert [line.split(": ")[1] for line in told] == [str(path) for path in (paths[1], *others)]
        assert sorted(path.stem for path in (tmp_path / command).iterdir()) == ["a", "c"]


def test_typed_notes_are_written_where_no_recogniser_is(tmp_path: Path) -> None:
    (path,) = sound(tmp_path, "walk.wav")
    typed = tmp_path / "typed.txt"
    typed.write_text("Horn works.", encoding="utf-8")
    result = call("write", path, typed, "--out", tmp_path / "out")
    assert result.exit_code == 1
    assert result.stderr == f"talkaround: {path}: is a recording, and no recogniser is given. Name one.\n"
    assert [file.name for file in (tmp_path / "out").iterdir()] == ["typed.json"]


def test_what_is_no_recording_by_its_name_is_told(tmp_path: Path) -> None:
    path = tmp_path / "walk.txt"
    path.write_text("Horn works.", encoding="utf-8")
    result = call("hear", path, "--recogniser", "model")
    assert (result.exit_code, result.stdout) == (1, "")
    assert "is no recording" in result.stderr


def test_several_recordings_need_a_folder(tmp_path: Path) -> None:
    result = call("hear", *sound(tmp_path, "a.wav", "b.wav"), "--recogniser", "model")
    assert result.exit_code == 2
    assert "--out" in result.stderr


def test_ctrl_c_keeps_what_was_heard(tmp_path: Path) -> None:
    paths = sound(tmp_path, "a.wav", "endless.wav", "c.wav")
    result = call("hear", *paths, "--out", tmp_path / "out", "--recogniser", "model")
    assert result.exit_code == 130
    assert result.stderr == "talkaround: interrupted; 1 of 3 transcripts written.\n"
    assert [file.name for file in (tmp_path / "out").iterdir()] == ["a.json"]


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_a_terminal_shows_how_far_the_listening_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    paths = [str(path) for path in sound(tmp_path, "walk.wav")]
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setenv("COLUMNS", "120")
    monkeypatch.setattr(sys, "stdout", io.StringIO())
    monkeypatch.setattr(sys, "stderr", screen := Terminal())
    cli.app(["hear", *paths, "--recogniser", "model"], standalone_mode=False)
    assert "listening to walk.wav" in screen.getvalue()
    assert "1:05 of 2:10" in screen.getvalue()


def test_typed_notes_load_nothing_of_the_sound_path(tmp_path: Path) -> None:
    import subprocess

    typed = tmp_path / "typed.txt"
    typed.write_text("Horn works.", encoding="utf-8")
    script = (
        "import sys\nfrom talkaround import cli\n"
        f"try: cli.app(['write', {str(typed)!r}, '--out', {str(tmp_path)!r}])\nexcept SystemExit: pass\n"
        "print(sorted({'faster_whisper', 'av', 'ctranslate2', 'onnxruntime'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"
