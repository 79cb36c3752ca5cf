"""A row of the input to a note with the facts beside it; every refusal is one line with its mend."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from datetime import date, datetime
from decimal import Decimal
from typing import Annotated, Any, Literal

import pyarrow as pa
from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, ValidationError, model_validator

from talkaround.bulk.job import Batch
from talkaround.bulk.notes import LINE_LIMIT
from talkaround.intake import note_from_bytes
from talkaround.models import Note, RuleBook, Steering, Utterance
from talkaround.order.facts import typed_odometer, typed_vin
from talkaround.quoting import clipped


class RowError(Exception):
    """A row that is no note; ``str`` says what is wrong and how to mend it."""


def _as_iso(value: object) -> object:
    return value.isoformat() if isinstance(value, date) else value


def _is_iso(value: str) -> str:
    try:
        datetime.fromisoformat(value)
    except ValueError:
        raise ValueError(f"{clipped(value)!r} is no date: write it as 2024-05-31 or 2024-05-31T09:30") from None
    return value


def _as_typed(value: object) -> object:
    """A number as somebody would type it; the column of a table may hold whole numbers as fractions."""
    if isinstance(value, (int, float, Decimal)) and not isinstance(value, bool):
        # A whole number may be larger than any fraction, and is refused further on.
        return str(value) if isinstance(value, int) else f"{value:.1f}".removesuffix(".0")
    return value


def _as_text(value: object) -> object:
    return str(value) if isinstance(value, int) and not isinstance(value, bool) else value


def _whole(value: str) -> str:
    try:
        value.encode()
    except UnicodeEncodeError as error:
        raise ValueError(f"character {error.start + 1} is half of one") from None
    return value


_Whole = Annotated[str, AfterValidator(_whole)]
_Text = Annotated[_Whole, BeforeValidator(_as_text)]


class Row(BaseModel):
    """What a row may hold; other fields are passed over, and one that is empty counts as not there."""

    model_config = ConfigDict(extra="ignore", strict=True)

    text: _Whole
    id: _Text | None = None
    technician: _Text | None = None
    shop: _Text | None = None
    date: Annotated[str, BeforeValidator(_as_iso), AfterValidator(_is_iso)] | None = None
    kind: Literal["typed", "transcript"] = "typed"
    steering: Steering | None = None
    rule_book: RuleBook | None = None
    vin: _Whole | None = None
    odometer: Annotated[str, BeforeValidator(_as_typed)] | None = None
    odometer_unit: Literal["mi", "km"] = "mi"
    plate: _Text | None = None
    utterances: list[Utterance] = []

    @model_validator(mode="before")
    @classmethod
    def _without_empty(cls, data: Any) -> Any:
        return {k: v for k, v in data.items() if not _is_empty(v)} if isinstance(data, dict) else data

    def facts(self) -> dict[str, Any]:
        """What stands beside the note of its vehicle. Raises ``FactError``."""
        odometer = typed_odometer(self.odometer or "", self.odometer_unit)
        return {
            "vin": typed_vin(self.vin or ""),
            "plate": self.plate,
            "odometer": odometer.model_dump() if odometer else None,
        }

    def note(self, name: str) -> Note:
        """The note. Raises ``NoteError``, ``RowError``."""
        note = note_from_bytes(self.text.encode(), source="text", name=name, suffix=".txt")
        if any(u.end < u.begin or u.end > len(note.text) for u in self.utterances):
            raise RowError("`utterances`: one lies outside the text. Count begin and end in characters of it")
        return note.model_copy(update={"kind": self.kind, "utterances": self.utterances})


def raw_rows(batch: Batch) -> Iterator[Any]:
    """Each row as data, or the ``RowError`` that says why there is none."""
    if isinstance(batch.data, list):
        yield from map(data_of_line, batch.data)
        return
    with pa.ipc.open_stream(batch.data) as stream:
        table = stream.read_all()
    for n, field in enumerate(table.schema):
        if pa.types.is_timestamp(field.type):
            # Python's own times have no nanoseconds.
            table = table.set_column(n, field.name, table[n].cast(pa.timestamp("us", field.type.tz), safe=False))
    for n in range(table.num_rows):
        try:
            yield table.slice(n, 1).to_pylist()[0]
        except UnicodeDecodeError:
            yield RowError("the row holds text that is not in UTF-8. Save it in UTF-8")
        except (ValueError, OverflowError) as error:
            yield RowError(f"the row holds a value that cannot be read ({error}). Mend it or leave it out")


def row_of(raw: Any) -> Row:
    """Raises ``RowError``."""
    if isinstance(raw, RowError):
        raise raw
    if not isinstance(raw, dict):
        raise RowError(f'the line holds {_kind_of(raw)}, not an object. Write it as {{"text": "..."}}')
    try:
        return Row.model_validate(raw)
    except ValidationError as error:
        raise RowError(_told(error, raw)) from None


def data_of_line(line: bytes | None) -> Any:
    """What a line of JSON holds, or the ``RowError`` that says why there is nothing; None is a line too long to be held."""
    if line is None:
        return RowError(
            f"the line is longer than {LINE_LIMIT / 1e6:g} MB. Check that it is a note, and split it by vehicle"
        )
    try:
        return json.loads(line.decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        return RowError(
            f"the line is not in UTF-8: byte {error.start + 1} is 0x{line[error.start]:02X}. Save it in UTF-8"
        )
    except RecursionError:
        return RowError("the line is no JSON that can be read: it is nested too deeply. Write the note alone")
    except ValueError as error:
        # Python refuses numbers of thousands of digits with another error than broken JSON.
        what = f"{error.msg} at character {error.pos + 1}" if isinstance(error, json.JSONDecodeError) else str(error)
        return RowError(f"the line is no JSON: {what}. Export it again")


def _told(error: ValidationError, raw: dict[str, Any]) -> str:
    first = error.errors(include_url=False)[0]
    field = ".".join(map(str, first["loc"]))
    if first["type"] == "missing" and field == "text":
        return "`text`: there is none. Put the note into it, or leave the row out"
    said = first["msg"].removeprefix("Value error, ").removeprefix("Input ").rstrip(".")
    found = raw.get(str(first["loc"][0]))
    what = "" if first["type"] == "value_error" else f", and is {_kind_of(found)}"
    return f"`{field}`: {said}{what}. Mend it or leave it out"


def _kind_of(value: object) -> str:
    match value:
        case None:
            return "nothing"
        case str():
            return repr(clipped(value))
        case bool() | int() | float() | Decimal():
            return f"the value {value}"[:60]
        case list():
            return "a list"
        case dict():
            return "an object"
        case bytes():
            return "bytes"
    return f"a {type(value).__name__}"


def _is_empty(value: object) -> bool:
    return value is None or value == "" or (isinstance(value, float) and math.isnan(value))
