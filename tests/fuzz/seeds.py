"""Whole inputs of each kind, for the drivers to change: the project's own notes and what the program makes of them."""

from __future__ import annotations

import io
import json
import math
import wave
from array import array
from collections.abc import Callable, Iterator
from functools import cache
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq

from project_notes import SAMPLES, gold_notes, shipped_vocabulary
from talkaround.output import render
from talkaround.vocabulary.files import shipped_folder
from targets import AUDITED, CORPUS, LEXICON_FILES, an_order


@cache
def whole(target: str) -> tuple[bytes, ...]:
    """Whole inputs of a target."""
    return tuple(_MADE[target]())


@cache
def seeds(target: str) -> tuple[bytes, ...]:
    """The same, and what ``corpus/`` holds for the target."""
    kept = sorted((CORPUS / target).glob("*")) if (CORPUS / target).is_dir() else []
    return (*(p.read_bytes() for p in kept), *whole(target))


def words() -> list[bytes]:
    """Words of the trade and tokens of the formats, for a driver's dictionary."""
    phrases = {" ".join(p) for p in shipped_vocabulary().phrases}
    by_kind = {tags[0].kind: " ".join(p) for p, tags in shipped_vocabulary().phrases.items()}
    some = sorted(by_kind.values()) + sorted(phrases)[::40]
    return [w.encode() for w in some] + [t.encode() for t in _TOKENS]


_TOKENS = (
    "WEBVTT", " --> ", "00:00:01,000", "\n\n", "\r\n", "NOTE ", "<v ", "&#x", '{"segments": [', '"words"', '"start"', '"end"',
    '"text"', "1e999", "NaN", "-1", "null", "[[", "{}", '"\\ud800"', "\u202e", "\u200b", "\u0301", "\ufeff", "½", "٣", "²",
    "[parts]", "[labor]", "[terms]", "hours = ", 'price = "', "standing = true", "names = [", "off = true", "drop = [", "inf",
    "nan", "1979-05-27", '"""', "'''", "= {", '"begin"', '"order"', '"schema_version"', "P0301", "1FTFW1ET5DFC10312", "1/32",
)  # fmt: skip


ODD: list[Any] = [
    None, True, False, 0, -1, 1, 3, 2**31, 2**63, 10**30, 10**400, 0.5, -0.0, 1e308, float("inf"), float("nan"), "", " ", "x",
    "0", "-1", "1e999999999", "tire", "left", "\u202e", "\u0000", "\ud800", "a\nb", "½", "٣", "ß" * 3, "x" * 3_000,
    "1979-05-27", [], [[]], {}, {"": None}, {"x": {}}, [None], ["x", 1], [0] * 300,
]  # fmt: skip
"""Values that stand where others are looked for."""


def _samples(*endings: str) -> Iterator[bytes]:
    for path in sorted(SAMPLES.iterdir()):
        if path.name.endswith(endings):
            yield path.read_bytes()


def _typed() -> Iterator[bytes]:
    yield from _samples(".txt")
    yield from (x.note.text[:600].encode() for x in list(gold_notes().values())[::9])
    yield "Left tire 3\u202fmm, “pads” 2½ mm".encode("utf-16")
    yield "rotor is \xbd worn".encode("cp1252")


def _transcript() -> Iterator[bytes]:
    yield from (b"\0" + s[:600] for s in _samples(".srt"))
    yield from (b"\1" + s[:600] for s in _samples(".vtt"))
    timed = [
        {"word": w, "start": n * 0.5, "end": n * 0.5 + 0.4} for n, w in enumerate("left front tire is worn".split())
    ]
    segment = {"start": 0, "end": 3, "text": "left front tire is worn", "words": timed}
    for found in ({"segments": [segment]}, {"words": timed}, [segment], {"text": "horn works"}):
        yield from (kind + json.dumps(found).encode() for kind in (b"\2", b"\3"))


def _sound() -> Iterator[bytes]:
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(8_000)
        file.writeframes(array("h", (int(9000 * math.sin(n / 7)) for n in range(1_600))).tobytes())
    yield out.getvalue()
    import av

    for container, codec in (
        ("flac", "flac"),
        ("ogg", "libvorbis"),
        ("mp3", "mp3"),
        ("mp4", "aac"),
        ("webm", "libopus"),
    ):
        out = io.BytesIO()
        try:
            with av.open(out, "w", format=container) as made:
                stream = made.add_stream(codec, rate=48_000)
                frame = av.AudioFrame(format="s16", layout="mono", samples=9_600)
                frame.planes[0].update(array("h", (int(9000 * math.sin(n / 7)) for n in range(9_600))).tobytes())
                frame.sample_rate = 48_000
                for part in av.AudioResampler(stream.format.name, stream.layout.name, 48_000, 1_024).resample(frame):
                    made.mux(stream.encode(part))
                made.mux(stream.encode(None))
        except (av.FFmpegError, ValueError):
            continue
        yield out.getvalue()


def _lexicon() -> Iterator[bytes]:
    for n, name in enumerate(LEXICON_FILES[:18]):
        path = shipped_folder() / name.replace("own.toml", "brakes.toml")
        if path.exists():
            yield bytes([n]) + path.read_bytes()[:1_500].rpartition(b"\n\n")[0]
    yield (
        b'\0[own-gadget]\nname = "gadget"\nnames = ["gizmo", "doodad"]\nshort = ["thing"]\nsystem = "brakes"\n'
        b'places = ["side", "axle"]\nimplies = "front"\nsafety = ["stop"]\nmeasured = ["thickness"]\n'
        b'goes_with = [{ part = "brake-pad", when = "replace", source = "our habit" }]\n'
    )


def _prices() -> Iterator[bytes]:
    yield render(an_order()[0], "prices").encode()
    yield (
        b'standing = true\n[terms]\ncurrency = "USD"\nhourly_rate = "95.00"\ntax_percent = 7.25\ntax_on = "parts"\n'
        b'[parts]\n"lower-ball-joint left front" = "74.50"\n"brake-pad front" = { price = 30, origin = "new original" }\n'
        b'[labor]\n"lower-ball-joint left front" = { hours = "1.5" }\n[other_parts]\n"rags" = 3\n'
    )


def _orders() -> Iterator[bytes]:
    yield an_order()[0].model_dump_json().encode()
    yield an_order()[0].model_dump_json(exclude_defaults=True).encode()


_ROW: dict[str, Any] = {
    "text": "Left front tire is at 3/32. Horn works.", "id": "7", "technician": "Tess", "shop": "Elm", "date": "2024-05-31",
    "kind": "transcript", "vin": "", "odometer": 84210.0, "utterances": [{"begin": 0, "end": 27, "start_s": 0, "end_s": 2.5}],
}  # fmt: skip


def _rows() -> Iterator[bytes]:
    yield (json.dumps(_ROW) + "\n" + json.dumps({"text": "Wipers torn."})).encode()


def table(rows: list[dict[str, Any]]) -> bytes:
    """A small Parquet file."""
    sink = pa.BufferOutputStream()
    pq.write_table(pa.Table.from_pylist(rows), sink, compression="none")
    content: bytes = sink.getvalue().to_pybytes()
    return content


def _audit() -> Iterator[bytes]:
    order = next(_orders())
    rows = json.dumps({**_ROW, "order": order.decode()}).encode() + b"\n" + order
    held = (
        order,
        rows,
        table([{**_ROW, "order": order.decode()}]),
        b"name,technician,shop,date\ngray sedan,Tess,Elm,2024-05-31\n",
    )
    yield from (bytes([n]) + one for n, one in zip(range(len(AUDITED)), held, strict=True))


def _desk() -> Iterator[bytes]:
    for person in range(3):
        for route in range(40):
            yield bytes([person, route, 0, 0, 2, 9, 1]) + b"worn\xff" + bytes([0, 3]) + b"left tire\xff" + bytes([0])


_MADE: dict[str, Callable[[], Iterator[bytes]]] = {
    "typed": _typed, "transcript": _transcript, "sound": _sound, "lexicon": _lexicon, "prices": _prices, "order": _orders,
    "bulk_lines": _rows, "bulk_table": lambda: iter([table([_ROW, _ROW])]), "audit": _audit, "desk": _desk,
}  # fmt: skip
