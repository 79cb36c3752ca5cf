"""Bytes to text: which encoding a note is in, or why it is not text."""

from __future__ import annotations

import codecs
import re

# UTF-32 first: its little-endian mark begins with that of UTF-16.
_MARKS = (
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_DOCUMENTS = (
    (b"%PDF-", "a PDF document"),
    (b"{\\rtf", "a rich-text document"),
    (b"PK\x03\x04", "an office document or zip archive"),
    (b"\xd0\xcf\x11\xe0", "an office document"),
)
# How sound files begin, those of MPEG 4 after the length of their first box.
_SOUND = re.compile(rb"RIFF.{4}WAVE|ID3[\2-\4]|fLaC|OggS|\x1a\x45\xdf\xa3|.{4}ftyp", re.DOTALL)
_CONTROL = re.compile(r"[\x00-\x08\x0e-\x1f\x7f\ud800-\udfff]")


class NotText(Exception):
    """Bytes that hold no readable text; ``str`` completes "the note ...", and ``mend`` says what to do."""

    def __init__(self, problem: str, mend: str = "Save it as plain text in UTF-8 and try again") -> None:
        super().__init__(problem)
        self.mend = mend


def decode(data: bytes) -> str:
    """The text of ``data`` without its byte order mark, line ends untouched. Raises ``NotText``."""
    for signature, what in _DOCUMENTS:
        if data.startswith(signature):
            raise NotText(f"is {what}, not plain text")
    if _SOUND.match(data):
        raise NotText("is a recording, not text", "Give it as a file with the ending of its kind, such as .wav or .m4a")
    text = _decoded(data)
    check_plain(text)
    return text


def check_plain(text: str) -> None:
    """Raise ``NotText`` where ``text`` holds a character that no keyboard or recogniser writes."""
    if stray := _CONTROL.search(text):
        line = text.count("\n", 0, stray.start()) + 1
        raise NotText(f"is not plain text: line {line} holds the control character U+{ord(stray[0]):04X}")


def _decoded(data: bytes) -> str:
    encoding = next((name for mark, name in _MARKS if data.startswith(mark)), None) or _unmarked_utf16(data)
    if encoding not in (None, "utf-8-sig"):
        try:
            return data.decode(encoding)
        except UnicodeDecodeError:
            raise NotText(f"begins like {encoding[:6].upper()} text and is damaged or cut short") from None
    if encoding is None and b"\0" in data:
        check_plain(data.decode("latin-1"))
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        if encoding is None and (text := _windows_1252(data)) is not None:
            return text
        line = data.count(b"\n", 0, error.start) + 1
        raise NotText(
            f"is in an unknown encoding: line {line} holds the byte 0x{data[error.start]:02X}, "
            "which fits neither UTF-8 nor Windows-1252 text"
        ) from None


def _unmarked_utf16(data: bytes) -> str | None:
    """Western text in UTF-16 has a NUL in every other byte, and none in the rest."""
    head = data[:4096]
    half = len(head) // 2
    even, odd = head[0::2].count(0), head[1::2].count(0)
    if half and odd > 0.6 * half and even < 0.05 * half:
        return "utf-16-le"
    if half and even > 0.6 * half and odd < 0.05 * half:
        return "utf-16-be"
    return None


def _windows_1252(data: bytes) -> str | None:
    """``data`` as Windows-1252, unless it is more likely damaged UTF-8 or text of another script."""
    try:
        text = data.decode("cp1252")
    except UnicodeDecodeError:
        return None
    # Whole UTF-8 sequences beside a bad byte: Windows-1252 text does not form them by chance.
    if any("\x7f" < letter != "\ufffd" for letter in data.decode("utf-8", "replace")):
        return None
    high = sum(letter > "\x7f" for letter in text)
    return text if high <= max(3, len(text) // 10) else None
