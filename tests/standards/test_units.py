"""Units against ``pint``, US and UK spelling against ``breame``: outside sources that know nothing of this project."""

from __future__ import annotations

import tomllib

import breame.spelling
import pint
import pytest

from talkaround.judging.limits import hold_against
from talkaround.reading.types import Reading
from talkaround.vocabulary import Vocabulary
from talkaround.vocabulary.files import shipped_folder
from talkaround.vocabulary.schema import Limit

# What pint calls each unit of the lexicon; temperatures, counts and made-up rates are below.
PINT = {
    "mm": "millimeter", "cm": "centimeter", "m": "meter", "in": "inch", "1/32 in": "inch / 32",
    "1/1000 in": "inch / 1000", "ft": "foot", "psi": "psi", "bar": "bar", "kPa": "kilopascal", "inHg": "inch_Hg",
    "psi/min": "psi", "V": "volt", "mV": "millivolt", "A": "ampere", "mA": "milliampere", "ohm": "ohm",
    "kohm": "kiloohm", "Mohm": "megaohm", "kW": "kilowatt", "W": "watt", "N m": "newton * meter",
    "ft lb": "foot * force_pound", "in lb": "inch * force_pound", "deg": "degree", "%": "percent", "ppm": "ppm",
    "kN": "kilonewton", "N": "newton", "mi": "mile", "km": "kilometer", "quart": "quart", "L": "liter",
    "pound": "pound", "h": "hour", "min": "minute", "s": "second", "rpm": "rpm", "mph": "mile / hour",
    "month": "month", "year": "year", "week": "week", "day": "day", "degF": "degF", "degC": "degC",
    "mg": "milligram", "g": "gram", "kg": "kilogram", "oz": "ounce", "mL": "milliliter", "gal": "gallon",
    "pint": "pint", "L/min": "liter / minute", "gal/min": "gallon / minute", "um": "micrometer", "kV": "kilovolt",
    "MPa": "megapascal", "Pa": "pascal", "kWh": "kilowatt_hour", "Ah": "ampere_hour", "hp": "horsepower",
    "Hz": "hertz", "ms": "millisecond", "mohm": "milliohm", "km/h": "kilometer / hour",
}  # fmt: skip
# Units of the trade that are no unit of measure: the notches of a lever, the flashes of a lamp.
NOT_MEASURED = {"clicks", "/min"}

ureg = pint.UnitRegistry()


def _by_pint(value: float, here: str, there: str) -> float:
    """``value`` of one unit in another, both by their names in the lexicon."""
    if here in ("degF", "degC"):
        return float(ureg.Quantity(value, PINT[here]).to(PINT[there]).magnitude)
    return float((value * ureg.parse_expression(PINT[here])).to(ureg.parse_expression(PINT[there]).units).magnitude) / (
        float(ureg.parse_expression(PINT[there]).magnitude)
    )


def test_every_unit_is_known_to_pint_or_listed_as_no_unit_of_measure(vocabulary: Vocabulary) -> None:
    assert not set(vocabulary.units) - set(PINT) - NOT_MEASURED


def test_units_convert_as_pint_says(vocabulary: Vocabulary) -> None:
    tried = 0
    for here, a in vocabulary.units.items():
        for there, b in vocabulary.units.items():
            if here in NOT_MEASURED or there in NOT_MEASURED or a.dimension != b.dimension:
                continue
            for value in (-34.0, 0.0, 0.75, 284.0):
                mine = (value * a.factor + a.offset - b.offset) / b.factor
                assert mine == pytest.approx(_by_pint(value, here, there), rel=2e-5, abs=1e-6), (
                    f"{value} {here} in {there}"
                )
                tried += 1
    assert tried > 200


@pytest.mark.parametrize(
    ("value", "here", "there"),
    [
        (2, "1/32 in", "mm"), (4, "1/32 in", "mm"), (3, "mm", "1/32 in"), (0.25, "in", "mm"), (6.35, "mm", "in"),
        (4, "1/1000 in", "mm"), (0.004, "in", "mm"), (32, "psi", "bar"), (2.2, "bar", "psi"), (220, "kPa", "psi"),
        (284, "degF", "degC"), (-34, "degC", "degF"), (-34, "degF", "degC"), (90, "N m", "ft lb"),
        (100, "ft lb", "N m"), (120, "in lb", "N m"), (50, "mA", "A"), (200, "mV", "V"), (1.9, "Mohm", "kohm"),
    ],
)  # fmt: skip
def test_a_limit_is_shown_in_the_unit_of_the_reading(
    vocabulary: Vocabulary, value: float, here: str, there: str
) -> None:
    limit = Limit(
        book="any", quantity="any", components=("tire",), below=value, unit=here, source="a source", mark="habit"
    )
    expected = _by_pint(value, here, there)
    over, under = expected + abs(expected) / 100, expected - abs(expected) / 100
    held = hold_against(Reading(over, there), limit, vocabulary)
    assert held is not None and held.verdict == "pass"
    # Shown to three decimals, or to four figures where it is smaller.
    assert held.limit == pytest.approx(expected, rel=2e-4, abs=5e-4)
    held = hold_against(Reading(under, there), limit, vocabulary)
    assert held is not None and held.verdict == "fail"


def test_readings_of_another_dimension_are_held_against_nothing(vocabulary: Vocabulary) -> None:
    limit = Limit(book="any", quantity="any", components=("tire",), below=2, unit="mm", source="a source", mark="habit")
    assert hold_against(Reading(32, "psi"), limit, vocabulary) is None


# ----- spelling ----------------------------------------------------------------------------------------------------

# UK spellings that the source does not know. Everything else in the table is either there and agrees, or is no matter
# of US and UK spelling at all and stands below.
UNKNOWN_TO_THE_SOURCE = {
    "kerb", "synchroniser", "carburettor", "sulphated", "cheque",
}  # fmt: skip
# Other words, not other spellings: what is said in the UK, slang, short forms, slips of the pen.
NO_SPELLING = {
    "catalyser", "perspex", "disk", "servicable", "artic", "demist", "demister", "clamped", "gonna", "gotta", "wanna",
    "kinda", "aint", "cannot", "wouldve", "nowt", "summat", "everythings", "thats", "theres", "heres", "whats", "its",
    "axel", "coolent", "radiater", "gaskit", "nuckle", "tred", "winshield", "strutt", "reer",
}  # fmt: skip


def _variants() -> dict[str, str]:
    text = (shipped_folder() / "spelling.toml").read_text(encoding="utf-8")
    variants: dict[str, str] = tomllib.loads(text)["variants"]
    return variants


def test_spelling_variants_agree_with_the_source() -> None:
    agreed, other = [], {}
    for uk, us in _variants().items():
        if not breame.spelling.british_spelling_exists(uk):
            continue
        theirs = breame.spelling.get_american_spelling(uk)
        if theirs == us:
            agreed.append(uk)
        else:
            other[uk] = (us, theirs)
    assert not other
    assert len(agreed) >= 30


def test_what_the_source_does_not_know_is_listed() -> None:
    unknown = {uk for uk in _variants() if not breame.spelling.british_spelling_exists(uk)}
    assert unknown - NO_SPELLING <= UNKNOWN_TO_THE_SOURCE


# UK spellings that technicians type and say, from the source's own list: each must read as its US twin.
TRADE_WORDS = [
    "tyre", "tyres", "centre", "centres", "centred", "colour", "coloured", "aluminium", "fibre", "fibres", "grey",
    "gauge", "gauges", "litre", "litres", "metre", "metres", "millimetre", "millimetres", "kilometre", "kilometres",
    "mould", "moulding", "vapour", "odour", "armour", "sulphur", "plough", "licence", "labour", "travelled",
    "levelled", "stabiliser", "stabilisers", "immobiliser", "pressurised", "recognised", "programme",
]  # fmt: skip


@pytest.mark.parametrize("uk", TRADE_WORDS)
def test_a_word_of_the_trade_reads_the_same_in_both_spellings(vocabulary: Vocabulary, uk: str) -> None:
    assert breame.spelling.british_spelling_exists(uk), "the source does not know it: take it off this list"
    us = breame.spelling.get_american_spelling(uk)
    assert us != uk
    assert vocabulary.folder.phrase(uk) == vocabulary.folder.phrase(us)
