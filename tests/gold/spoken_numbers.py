"""How a number may stand in a note: in digits, as a fraction, in words. Written apart from the program's reading."""

import re
from fractions import Fraction
from functools import cache

_ONES = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen "
    "eighteen nineteen"
).split()
_TENS = ["", "", *"twenty thirty forty fifty sixty seventy eighty ninety".split()]
_PARTS = {
    2: "half",
    3: "third",
    4: "quarter",
    5: "fifth",
    8: "eighth",
    10: "tenth",
    16: "sixteenth",
    32: "thirty second",
    64: "sixty fourth",
}
_VULGAR = {"¼": " 1/4", "½": " 1/2", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8"}


def whole(n: int) -> set[str]:
    """The ways to say a whole number: 140 is "one hundred forty", "a hundred and forty", "one forty" and so on."""
    if n < 20:
        return {_ONES[n]}
    if n < 100:
        return {_TENS[n // 10] + (f" {_ONES[n % 10]}" if n % 10 else "")}
    if n < 1000:
        head, rest = n // 100, n % 100
        if not rest:
            ways = {f"{_ONES[head]} hundred"}
        else:
            tails = {f"{joint} {tail}" for joint in ("hundred", "hundred and") for tail in whole(rest)} | whole(rest)
            if rest < 10:
                tails |= {f"{oh} {_ONES[rest]}" for oh in ("oh", "o", "zero")}
            ways = {f"{_ONES[head]} {tail}" for tail in tails}
        return ways | ({way.replace("one hundred", "a hundred", 1) for way in ways if head == 1})
    if n < 1_000_000:
        head, rest = divmod(n, 1000)
        ways = {f"{way} {word}" for way in whole(head) for word in ("thousand", "grand")}
        if rest:
            ways = {f"{way}{joint}{tail}" for way in ways for joint in (" ", " and ") for tail in whole(rest)}
        if n < 10_000 and head and rest % 100 == 0 and rest:
            ways |= {f"{way} hundred" for way in whole(n // 100)}
        if 1000 < n < 10_000 and rest and n % 100:
            ways |= {f"{a} {b}" for a in whole(n // 100) for b in whole(n % 100)}
        return ways
    return set()


def _digit_by_digit(digits: str) -> set[str]:
    ways = {""}
    for d in digits:
        names = {_ONES[int(d)]} | ({"oh", "o"} if d == "0" else set())
        ways = {f"{way} {name}".strip() for way in ways for name in names}
    return ways


@cache
def said(value: float) -> set[str]:
    """The ways to say a number, without its sign and unit."""
    value = abs(value)
    exact = Fraction(str(value))
    ways: set[str] = set()
    if exact.denominator == 1:
        ways |= whole(int(exact)) | {f"{a} point {oh}" for a in whole(int(exact)) for oh in ("zero", "oh", "o")}
        ways |= {"couple"} if exact == 2 else set()
        ways |= {"nothing", "nil"} if exact == 0 else set()
    else:
        before, after = int(exact), f"{value:.6f}".rstrip("0").split(".")[1]
        tails = _digit_by_digit(after) | (whole(int(after)) if after[0] != "0" else set())
        tails |= {f"oh {w}" for w in whole(int(after))} if after[0] == "0" and len(after) == 2 else set()
        heads = whole(before) | ({""} if before == 0 else set())
        ways |= {f"{head} point {tail}".strip() for head in heads for tail in tails}
        # A meter's "twelve four" for 12.4, and thousandths of a unit said as a whole number of them.
        ways |= {f"{head} {tail}" for head in heads if head for tail in tails}
        for scale in (1000, 100, 64, 10):
            many = exact * scale
            if many.denominator == 1:
                ways |= {
                    f"{w} {name}" for w in whole(int(many)) for name in ("thou", "thousandth", "hundredth", "tenth")
                }
    for parts, name in _PARTS.items():
        many = exact % 1 * parts
        if many.denominator == 1 and 0 < many < parts:
            tops = whole(int(many)) | ({"a", "an", ""} if many == 1 else set())
            for top in tops:
                part = f"{top} {name}".strip()
                if exact < 1:
                    ways.add(part)
                else:
                    ways |= {f"{w} {joint}{part}" for w in whole(int(exact)) for joint in ("and ", "")}
    return ways


def numbers_in_digits(text: str) -> set[float]:
    """Every number that stands in ``text`` in digits, fractions and mixed numbers among them."""
    for mark, digits in _VULGAR.items():
        text = text.replace(mark, digits)
    text = re.sub(r"(?<=\d),(?=\d{3}(?!\d))", "", text)
    found = {float(m) for m in re.findall(r"\d+\.\d+|\.\d+|\d+", text)}
    for lead, top, bottom in re.findall(r"(?:(\d+)[ -]+)?(\d+) ?/ ?(\d+)", text):
        if int(bottom):
            part = int(top) / int(bottom)
            found |= {part} | ({int(lead) + part} if lead else set())
    # Digits before a spoken part ("2 and a half"), thousandths ("15 thou") and thousands ("112K").
    found |= {float(n) + 0.5 for n in re.findall(r"(\d+) and a half", text)}
    found |= {float(n) / 1000 for n in re.findall(r"(\d+) ?(?:thou|thousandths?)\b", text)}
    found |= {float(n) * 1000 for n in re.findall(r"(\d+(?:\.\d+)?) ?[kK]\b", text)}
    return found


def stands_in(value: float, text: str) -> bool:
    """Whether a reader finds ``value`` in ``text``, in digits or in words."""
    text = text.lower()
    if any(abs(abs(value) - n) < 1e-3 * max(1.0, n) for n in numbers_in_digits(text)):
        return True
    words = " ".join(re.findall(r"[a-z]+|\d+", text))
    # "An inch and three quarters" is one and three quarters of an inch.
    one_unit = re.sub(r"\ban? (inch|mill?|mm|millimet\w+|volt|quart|lit\w+)\b", r"one \1", words)
    no_unit = re.sub(r"\b(inch|mill?|mm|millimet\w+|volt)s? (?=and )", "", one_unit)
    forms = {words, one_unit, no_unit}
    forms |= {re.sub(r"\b(\w{4,}?)s\b", r"\1", form) for form in forms}
    return any(f" {way} " in f" {form} " for way in said(value) for form in forms)
