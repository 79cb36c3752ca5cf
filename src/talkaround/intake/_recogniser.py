"""A recogniser's JSON (segments, words, or both) to stretches of speech."""

from __future__ import annotations

import json
import re
from typing import Any

from talkaround.models import PAUSE_S

from ._problem import Malformed
from ._stretches import Stretch, ends_sentence

# Words after which a stretch ends in any case, so that the times of evidence stay fine; about three seconds.
LONGEST = 8

_SHAPE = '"segments" (start, end, text) or "words" (start, end, word)'
_CLOSING = re.compile(r"[.,;:!?%)]+")


def read_json(text: str) -> list[Stretch]:
    """The stretches of a recogniser's result, in its order. Raises ``Malformed``."""
    try:
        # What is just not too deep to be read may be too deep to be shown in a refusal.
        return stretches_in(json.loads(text))
    except json.JSONDecodeError as error:
        raise Malformed(f"line {error.lineno} column {error.colno}", f"JSON ({error.msg})") from None
    except (RecursionError, ValueError):
        raise Malformed("line 1", f"JSON with {_SHAPE}, not data this deep or numbers this long") from None


def stretches_in(data: Any) -> list[Stretch]:
    """The same of a result that is data already. Raises ``Malformed``."""
    if isinstance(data, list):
        return _items(data, "item")
    if isinstance(data, dict):
        for key in ("segments", "words"):
            if isinstance(data.get(key), list) and data[key]:
                return _items(data[key], key)
            if data.get(key) not in (None, []):
                raise Malformed(f'"{key}"', "a list", json.dumps(data[key]))
        if isinstance(data.get("text"), str):
            return [Stretch(data["text"])]
        if "segments" in data or "words" in data:
            return []
    raise Malformed("top level", _SHAPE)


def looks_like_json(text: str) -> bool:
    """Whether ``text`` is a recogniser's result, and no note that happens to begin with a bracket."""
    try:
        return text.lstrip()[:1] in ("{", "[") and bool(read_json(text))
    except Malformed:
        return False


def _items(items: list[Any], key: str) -> list[Stretch]:
    for index, item in enumerate(items):
        if not isinstance(item, dict):
            raise Malformed(f"{key}[{index}]", "an object with start, end and text", json.dumps(item))
    # Single words, timed one by one, are told from segments by their key; both may be called "text".
    if key == "words" or all("word" in item for item in items):
        return _grouped([_word(item, f"{key}[{index}]") for index, item in enumerate(items)])
    return [stretch for index, item in enumerate(items) for stretch in _segment(item, f"{key}[{index}]")]


def _segment(item: dict[str, Any], where: str) -> list[Stretch]:
    """One segment, cut at the pauses between its words where they are timed and say what it says."""
    start_s, end_s = _times(item, where)
    words: list[Stretch] = []
    if isinstance(item.get("words"), list) and all(isinstance(word, dict) for word in item["words"]):
        words = [_word(word, f"{where}.words[{index}]") for index, word in enumerate(item["words"])]
    text = item.get("text")
    if text is None and words:
        return _grouped(words)
    if not isinstance(text, str):
        raise Malformed(where, "a text", json.dumps(text))
    timed = all(word.start_s is not None and word.end_s is not None for word in words)
    if words and timed and _letters(text) == "".join(_letters(word.text) for word in words):
        return _grouped(words)
    return [Stretch(text, start_s, end_s)]


def _letters(text: str) -> str:
    return "".join(text.split())


def _word(item: dict[str, Any], where: str) -> Stretch:
    text = item["word"] if "word" in item else item.get("text")
    if not isinstance(text, str):
        raise Malformed(where, "a word", json.dumps(text))
    return Stretch(text, *_times(item, where))


def _times(item: dict[str, Any], where: str) -> tuple[float | None, float | None]:
    times: list[float | None] = []
    for key in ("start", "end"):
        value = item.get(key)
        is_time = isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value < 1e9
        if value is not None and not is_time:
            raise Malformed(f"{where}.{key}", "seconds from the start, such as 12.5", json.dumps(value))
        times.append(None if value is None else float(value))
    start_s, end_s = times
    if start_s is not None and end_s is not None and end_s < start_s:
        raise Malformed(where, "an end after its start", f"{start_s} to {end_s}")
    return start_s, end_s


def _grouped(words: list[Stretch]) -> list[Stretch]:
    """Words to stretches: a new one after a finished sentence, a pause, or many words without either."""
    # Some recognisers give pieces of words, and mark where a word begins with a space.
    pieces = any(word.text[0].isspace() for word in words[1:] if word.text)
    groups: list[list[Stretch]] = []
    for word in (word for word in words if word.text.strip()):
        if not groups or _breaks(groups[-1], word, pieces):
            groups.append([])
        groups[-1].append(word)
    return [Stretch(_spelled(group, pieces), _first_start(group), _last_end(group)) for group in groups]


def _breaks(group: list[Stretch], word: Stretch, pieces: bool) -> bool:
    before = group[-1]
    begins = word.text[0].isspace() or not pieces
    if not begins or _CLOSING.fullmatch(word.text.strip()):
        return False
    full = len(group) >= LONGEST and before.end_s is not None
    paused = before.end_s is not None and word.start_s is not None and word.start_s - before.end_s >= PAUSE_S
    return full or paused or ends_sentence(before.text.strip())


def _spelled(group: list[Stretch], pieces: bool) -> str:
    if pieces:
        return "".join(word.text for word in group)
    text = ""
    for word in (word.text.strip() for word in group):
        text += word if not text or _CLOSING.fullmatch(word) else f" {word}"
    return text


def _first_start(group: list[Stretch]) -> float | None:
    return next((word.start_s for word in group if word.start_s is not None), None)


def _last_end(group: list[Stretch]) -> float | None:
    return next((word.end_s for word in reversed(group) if word.end_s is not None), None)
