"""A year of invented notes as JSON Lines, so that an audit can be tried on many: nobody in it is real.

    python tests/audit/invented_year.py OUT.jsonl --notes 200000 --technicians 40 --seed 1 [--months 12] [--plain]

All technicians write by one profile (``BASE``), with nothing but chance between them, save those of ``PLANTED``. The same
seed and sizes give the same rows. Rows are in the order of their dates; about one vehicle in eight comes back with what
was put off the last time, and that is worse then.
"""

from __future__ import annotations

import argparse
import heapq
import json
import random
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any, NamedTuple

YEAR = 2025
TRAINING = date(YEAR, 9, 1)
READINGS_END = date(YEAR, 6, 1)

PLANTED = {
    "T07": "never names the side of parts that have sides",
    "T13": "gives no readings from June on, and gave them like everybody before",
    "T21": "plays down what is unsafe: keep an eye on it, should be ok for now",
    "T28": "never records what is good",
    "T33": "does work and never tells of a final check",
    "T36": "often only says that a part is bad, and since training on 1 September what is wrong with it",
}
"""The habits that an audit should find, by technician."""


class Habits(NamedTuple):
    """How often each thing is put down where it applies, 0 to 1; ``plays_down`` what is unsafe."""

    side: float = 0.93
    reading: float = 0.90
    condition: float = 0.92
    good: float = 0.34
    final_check: float = 0.88
    customer_told: float = 0.92
    concern_answered: float = 0.90
    ending: float = 0.95
    plays_down: bool = False


BASE = Habits()


def habits_of(technician: str, day: date) -> Habits:
    """How a technician writes on a day, planted habits and all."""
    match technician:
        case "T07":
            return BASE._replace(side=0.0)
        case "T13" if day >= READINGS_END:
            return BASE._replace(reading=0.0)
        case "T21":
            return BASE._replace(plays_down=True)
        case "T28":
            return BASE._replace(good=0.0)
        case "T33":
            return BASE._replace(final_check=0.0)
        case "T36" if day < TRAINING:
            return BASE._replace(condition=0.40)
    return BASE


class Part(NamedTuple):
    """A part as it is written: short in typed shorthand, else ``name``. ``where`` names its row of ``PLACES``.

    ``watch``, ``bad`` and ``unsafe`` are what is wrong with it by how serious; ``readings`` are in ``unit``, from good to
    unsafe. ``symptom`` is what a customer would tell of it, ``done`` the work that puts it right on the spot.
    """

    short: str
    name: str
    plural: bool
    where: str
    good: tuple[str, ...] = ()
    watch: tuple[str, ...] = ()
    bad: tuple[str, ...] = ()
    unsafe: tuple[str, ...] = ()
    unit: str = ""
    readings: dict[str, tuple[int, ...]] = {}
    symptom: str = ""
    done: str = "replaced"
    weight: int = 2


# Corners and sides: the place in shorthand, in words, and both without the side.
PLACES = {
    "corner": (
        ("LF", "left front", "front"),
        ("RF", "right front", "front"),
        ("LR", "left rear", "rear"),
        ("RR", "right rear", "rear"),
    ),
    "front": (("LF", "left front", "front"), ("RF", "right front", "front")),
    "rear": (("LR", "left rear", "rear"), ("RR", "right rear", "rear")),
    "side": (("LH", "left", ""), ("RH", "right", "")),
    "none": (("", "", ""),),
}

PARTS = (
    Part("tire", "tire", False, "corner", ("good", "wearing even", "ok"), ("half worn", "wearing down"),
         ("worn", "worn out", "worn down"), ("worn to the cords", "down to the cords"), "32nds",
         {"good": (7, 8, 9, 10), "watch": (4, 5), "bad": (2, 3), "unsafe": (0, 1)}, "a vibration at highway speed", weight=7),
    Part("brk pads", "brake pads", True, "corner", ("good", "ok", "even"), ("getting thin", "half worn"),
         ("worn", "worn out", "worn thin"), ("metal to metal",), "mm",
         {"good": (6, 7, 8, 9), "watch": (4, 5), "bad": (2, 3), "unsafe": (0, 1)}, "a grinding noise when braking", weight=7),
    Part("rotor", "brake rotor", False, "corner", ("smooth", "good"), ("lightly scored",), ("scored", "grooved", "rusted"),
         symptom="a pulsing brake pedal"),
    Part("caliper", "brake caliper", False, "corner", ("free", "good"), (), ("seized", "sticking"), ("leaking",),
         symptom="a burning smell at the wheel"),
    Part("brk hose", "brake hose", False, "corner", ("good", "dry"), (), ("cracked",), ("leaking",)),
    Part("brk fluid", "brake fluid", False, "none", ("clean", "full"), (), ("dark", "dirty"), done="flushed"),
    Part("outer tie rod end", "outer tie rod end", False, "front", ("tight", "good"), ("slightly loose",),
         ("loose", "worn"), ("about to come apart",), symptom="a clunk over bumps", weight=3),
    Part("lower ball jt", "lower ball joint", False, "front", ("tight", "good"), ("slightly loose",), ("loose", "worn"),
         ("about to come apart",), symptom="a knock when turning", weight=3),
    Part("strut", "strut", False, "front", ("dry", "good"), ("seeping",), ("leaking", "blown"), symptom="a rough ride"),
    Part("shock", "shock absorber", False, "rear", ("dry", "good"), ("seeping",), ("leaking",)),
    Part("sway bar link", "sway bar link", False, "front", ("tight", "good"), ("slightly loose",), ("loose", "broken"),
         symptom="a rattle on rough roads"),
    Part("lower control arm bushing", "lower control arm bushing", False, "front", ("good", "tight"), ("cracking",),
         ("torn", "cracked")),
    Part("coil spring", "coil spring", False, "corner", ("good",), (), ("broken", "cracked"), weight=1),
    Part("wheel bearing", "wheel bearing", False, "corner", ("quiet", "tight"), (), ("noisy", "rough"),
         symptom="a humming noise at speed"),
    Part("CV boot", "CV boot", False, "front", ("good",), ("cracking",), ("torn", "cracked")),
    Part("batt", "battery", False, "none", ("good", "healthy"), ("getting weak",), ("weak", "dead"), (), "volts",
         {"good": (125, 126, 127), "watch": (122, 123), "bad": (116, 118, 120)}, "slow starting in the morning", weight=4),
    Part("serp belt", "serpentine belt", False, "none", ("good", "ok"), ("starting to crack",), ("cracked", "frayed"),
         symptom="a squeal at start up", weight=3),
    Part("upper rad hose", "upper radiator hose", False, "none", ("good", "dry"), ("seeping",), ("swollen", "cracked"), ()),
    Part("coolant", "coolant", False, "none", ("full", "clean"), ("slightly low",), ("low",), done="topped up",
         symptom="a temperature gauge that reads high"),
    Part("water pump", "water pump", False, "none", ("dry", "good"), ("seeping",), ("leaking", "noisy")),
    Part("radiator", "radiator", False, "none", ("dry", "good"), ("seeping",), ("leaking",)),
    Part("eng oil", "engine oil", False, "none", ("full", "clean"), ("slightly low",), ("low", "dirty"), done="changed"),
    Part("trans fluid", "transmission fluid", False, "none", ("clean", "full"), (), ("dark", "burnt"), done="flushed"),
    Part("valve cover gasket", "valve cover gasket", False, "none", ("dry",), ("seeping",), ("leaking",)),
    Part("PS fluid", "power steering fluid", False, "none", ("full", "clean"), ("slightly low",), ("low",),
         done="topped up"),
    Part("headlight", "headlight", False, "side", ("working", "good"), ("hazy",), ("out", "burnt out"),
         symptom="a headlight that is out", weight=3),
    Part("brk light", "brake light", False, "side", ("working", "good"), (), ("out", "burnt out"), weight=3),
    Part("plate light", "license plate light", False, "none", ("working",), (), ("out",)),
    Part("wiper blade", "wiper blade", False, "side", ("good",), ("starting to streak",), ("torn", "streaking"),
         symptom="wipers that smear", weight=3),
    Part("muffler", "muffler", False, "none", ("good",), ("rusty",), ("rusted through", "leaking"),
         symptom="a loud exhaust"),
    Part("exh hanger", "exhaust hanger", False, "none", ("good",), (), ("broken", "rusted"), weight=1),
    Part("cabin filter", "cabin air filter", False, "none", ("clean",), (), ("dirty", "clogged")),
    Part("eng air filter", "engine air filter", False, "none", ("clean",), (), ("dirty", "clogged")),
)  # fmt: skip
PART_WEIGHTS = [part.weight for part in PARTS]
# How a finding is put, by the way of writing and by whether there is a reading in it.
SHAPES = {
    ("typed", True): ("{what} {reading}, {condition}", "{what} {condition} {reading}", "{what}: {reading} {condition}"),
    ("typed", False): ("{what}, {condition}", "{what} {condition}", "{what}: {condition}"),
    ("spoken", True): (
        "{what} {be} at {reading} {condition}",
        "the {what} {be} {condition}, {reading}",
        "{what} {be} {condition}, measured {reading}",
    ),
    ("spoken", False): ("{what} {be} {condition}", "the {what} {be} {condition}", "okay {what} {be} {condition}"),
    ("sentence", True): (
        "The {what} {be} {condition} at {reading}",
        "Found the {what} {condition} at {reading}",
        "The {what} {be} at {reading} and {be} {condition}",
    ),
    ("sentence", False): (
        "The {what} {be} {condition}",
        "Found the {what} {condition}",
        "Checked the {what}, {it} {be} {condition}",
    ),
}
# The driver sits on the left.
SPOKEN_SIDES = {"left": "driver side", "right": "passenger side"}
VAGUE = ("bad", "shot", "no good")

ENDINGS = {
    ("typed", "watch"): ("watch", "recheck next visit", "monitor"),
    ("typed", "bad"): ("replace", "needs replaced", "rec replacing"),
    ("typed", "unsafe"): ("UNSAFE, replace", "not safe to drive, replace", "unsafe, do not drive"),
    ("spoken", "watch"): ("keep an eye on it", "watch it", "we can recheck it next visit"),
    ("spoken", "bad"): ("it needs replaced", "has to be replaced", "I would replace it", "needs a new one"),
    ("spoken", "unsafe"): (
        "that is not safe to drive",
        "that's unsafe, do not drive it",
        "it is unsafe, has to be replaced",
    ),
    ("sentence", "watch"): ("keep an eye on it", "recheck at the next visit", "monitor for now"),
    ("sentence", "bad"): ("needs to be replaced", "should be replaced", "recommend replacing it"),
    ("sentence", "unsafe"): ("this is unsafe, do not drive", "not safe to drive, replace", "unsafe, must be replaced"),
}
FLUID_ENDINGS = {
    "flushed": ("needs a flush", "recommend a flush", "needs flushed"),
    "topped up": ("top up", "needs topped up"),
    "changed": ("needs changed", "recommend changing it"),
}
PLAYED_DOWN = ("keep an eye on it", "should be ok for now", "watch it for now", "ok for now, keep an eye on it")
TOLD = {
    "typed": ("customer informed", "told the customer", "cust informed"),
    "spoken": ("I told the customer", "customer was told", "called the customer"),
    "sentence": ("The customer was told", "Customer informed", "I let the customer know"),
}
# What is told of a check: right behind the work, or when all is done.
TORQUED = "torqued to spec"
CHECKS = {
    "typed": ("road tested after, ok", "rechecked after, ok", "test drove after, all ok"),
    "spoken": ("road tested it after and it's fine", "rechecked it after and all good"),
    "sentence": ("Road tested after the repair, all good", "Rechecked after the work, all good"),
}
BOLTED = {"tire", "brake caliper", "outer tie rod end", "lower ball joint", "strut", "shock absorber", "sway bar link"}
COMPLAINS = {
    "typed": ("c/o {}", "cust states {}", "customer reports {}"),
    "spoken": ("customer says there's {}", "the customer complains of {}", "customer noticed {}"),
    "sentence": ("Customer reports {}", "The customer states there is {}", "Customer complains of {}"),
}
NOT_FOUND = {
    "typed": ("could not duplicate", "cnd", "unable to duplicate"),
    "spoken": ("I couldn't get it to do that", "could not duplicate it", "it didn't do it for me"),
    "sentence": ("could not duplicate", "unable to reproduce it", "not verified on the road test"),
}
VERIFIED = {
    "typed": ("verified", "confirmed"),
    "spoken": ("confirmed", "verified"),
    "sentence": ("verified", "confirmed"),
}
CAUSES = {
    "a vibration at highway speed": "vibration",
    "a grinding noise when braking": "grinding noise",
    "a clunk over bumps": "clunk",
    "a knock when turning": "knock",
    "a rattle on rough roads": "rattle",
    "a squeal at start up": "squeal",
}
"""What a part that answers a complaint is said to be causing."""
OPENINGS = {
    "typed": ("", "", "oil svc + walkaround", "inspection", "svc + check over"),
    "spoken": ("", "okay so", "alright", "walking around it now"),
    "sentence": ("",),
}
NUMBER_WORDS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
STYLES = ("typed", "spoken", "sentence")
# Shorthand says more in as many words.
FINDINGS = {"typed": (6, 8), "spoken": (4, 6), "sentence": (4, 6)}

# How often a vehicle comes back, and after how many days.
COMES_BACK = 0.2
BACK_AFTER = (40, 220)

VIN_LETTERS = "ABCDEFGHJKLMNPRSTUVWXYZ0123456789"
# Transliteration and weights of the check digit in position nine: 49 CFR 565.15(c).
VIN_VALUES = {c: int(c) for c in "0123456789"} | dict(
    zip("ABCDEFGHJKLMNPRSTUVWXYZ", (1, 2, 3, 4, 5, 6, 7, 8, 1, 2, 3, 4, 5, 7, 9, 2, 3, 4, 5, 6, 7, 8, 9), strict=True)
)
VIN_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)


class Finding(NamedTuple):
    part: Part
    place: tuple[str, str, str]
    level: str
    reading: int | None
    done: bool = False


class Vehicle(NamedTuple):
    """A vehicle as it comes in; ``deferred`` is what was found and left the last time."""

    vin: str
    plate: str
    odometer: int
    seen: date
    deferred: tuple[Finding, ...] = ()


def invented_year(
    notes: int, technicians: int = 40, seed: int = 1, months: int = 12, plain: bool = False
) -> Iterator[dict[str, Any]]:
    """Rows of a year (or of its first ``months``), one note each, oldest first; ``plain`` leaves out planted habits."""
    rng = random.Random(seed)
    first = date(YEAR, 1, 1)
    last = date(YEAR + months // 12, months % 12 + 1, 1)
    days = [d for n in range((last - first).days) if (d := first + timedelta(n)).weekday() < 6]
    coming: list[tuple[date, int, Vehicle]] = []
    for n in range(notes):
        day = days[n * len(days) // notes]
        if coming and coming[0][0] <= day:
            vehicle = _driven_on(heapq.heappop(coming)[2], day, rng)
        else:
            vehicle = Vehicle(_vin(rng), _plate(rng), rng.randint(18_000, 140_000), day)
            if rng.random() < _from_last_year((day - first).days):
                left = _put_off(_findings(vehicle, BASE, "spoken", rng))
                vehicle = vehicle._replace(deferred=tuple(map(_worse, left)))
        who = rng.randint(1, technicians)
        technician = f"T{who:02d}"
        habits = BASE if plain else habits_of(technician, day)
        style = rng.choice(STYLES)
        text, findings = _note(vehicle, habits, style, rng)
        if rng.random() < COMES_BACK:
            back = day + timedelta(rng.randint(*BACK_AFTER))
            heapq.heappush(coming, (back, n, vehicle._replace(deferred=_put_off(findings))))
        row = {
            "id": f"N{n + 1:06d}",
            "technician": technician,
            "shop": "ABCD"[(who - 1) % 4],
            "date": day.isoformat(),
            "kind": "transcript" if style == "spoken" else "typed",
            "steering": "left-hand",
            "text": text,
        }
        if rng.random() < 0.92:
            row["vin"] = vehicle.vin
        if rng.random() < 0.94:
            row |= {"odometer": vehicle.odometer, "odometer_unit": "mi"}
        if rng.random() < 0.85:
            row["plate"] = vehicle.plate
        yield row


def _from_last_year(days: int) -> float:
    """How often a vehicle that is new here was seen the year before: so that returns, and what they bring, are no more
    common in December than in January, which would be a change in everybody's notes."""
    soonest, latest = BACK_AFTER
    here = COMES_BACK * min(1.0, max(0.0, (days - soonest) / (latest - soonest)))
    return (COMES_BACK - here) / (1 - here)


def _put_off(findings: list[Finding]) -> tuple[Finding, ...]:
    return tuple(f for f in findings if f.level in ("watch", "bad") and not f.done)


def _driven_on(vehicle: Vehicle, day: date, rng: random.Random) -> Vehicle:
    driven = (day - vehicle.seen).days * rng.randint(15, 50)
    return vehicle._replace(odometer=vehicle.odometer + driven, seen=day, deferred=tuple(map(_worse, vehicle.deferred)))


def _worse(finding: Finding) -> Finding:
    """What was put off, a step further on; what has no worse words stays as it was."""
    part, level = finding.part, "bad"
    if finding.level == "bad" and part.unsafe:
        level = "unsafe"
    reading = finding.reading
    if reading is not None:
        reading = min(reading - 1, max(part.readings[level]))
    return finding._replace(level=level, reading=reading)


def _note(vehicle: Vehicle, habits: Habits, style: str, rng: random.Random) -> tuple[str, list[Finding]]:
    findings = _findings(vehicle, habits, style, rng)
    said = [rng.choice(OPENINGS[style])]
    cause = check = ""
    about = next((f for f in findings if f.part.symptom and f.level in ("bad", "unsafe")), None)
    complaint = rng.random() < 0.6
    if complaint:
        if about is None or rng.random() < 0.25:
            about = None
            symptom = rng.choice([p.symptom for p in PARTS if p.symptom and all(p is not f.part for f in findings)])
        else:
            symptom = about.part.symptom
        line = rng.choice(COMPLAINS[style]).format(symptom)
        answered = rng.random() < habits.concern_answered
        cause = CAUSES.get(symptom, "") if about and answered else ""
        if answered and not cause:
            line += f", {rng.choice((VERIFIED if about else NOT_FOUND)[style])}"
        said.append(line)
    for finding in findings:
        line = _said(finding, habits, style, rng, cause if finding is about else "")
        if finding.done and rng.random() < habits.final_check:
            if finding.part.name in BOLTED and rng.random() < 0.5:
                line += f", {TORQUED}"
            else:
                check = rng.choice(CHECKS[style])
        said.append(line)
    said.append(check)
    return _joined([line for line in said if line], style, rng), findings


def _findings(vehicle: Vehicle, habits: Habits, style: str, rng: random.Random) -> list[Finding]:
    findings = list(vehicle.deferred[:3])
    # Without sides two of an axle could not be told apart; nobody calls the front pads both worn and good.
    told_apart = slice(None) if habits.side else slice(2, None)
    taken = {(f.part.name, f.place[told_apart]) for f in findings}
    wanted = rng.randint(*FINDINGS[style])
    unsafe = rng.random() < 0.22
    while len(findings) < wanted:
        part = rng.choices(PARTS, PART_WEIGHTS)[0]
        place = rng.choice(PLACES[part.where])
        if (part.name, place[told_apart]) in taken:
            continue
        if unsafe:
            if not part.unsafe:
                continue
            level, unsafe = "unsafe", False
        elif rng.random() < habits.good:
            level = "good"
        else:
            level = "watch" if part.watch and rng.random() < 0.3 else "bad"
        taken.add((part.name, place[told_apart]))
        reading = rng.choice(part.readings[level]) if part.readings else None
        findings.append(Finding(part, place, level, reading))
    if rng.random() < 0.65:
        at = rng.randrange(len(findings))
        if findings[at].level == "bad":
            findings[at] = findings[at]._replace(done=True)
    rng.shuffle(findings)
    return findings


def _said(finding: Finding, habits: Habits, style: str, rng: random.Random, cause: str) -> str:
    """One finding in words, with what the habits leave of it, and the complaint that it is said to cause."""
    part, level = finding.part, finding.level
    with_side = rng.random() < habits.side
    place = finding.place[0 if style == "typed" else 1] if with_side else finding.place[2]
    if with_side and style == "spoken" and place and rng.random() < 0.25:
        side, _, axle = place.partition(" ")
        place = f"{SPOKEN_SIDES[side]} {axle}".strip()
    what = f"{place} {part.short if style == 'typed' else part.name}".strip()
    reading = ""
    if finding.reading is not None and rng.random() < habits.reading:
        reading = _reading(max(finding.reading, 0), part.unit, style)
    words = getattr(part, level)
    if level != "good" and rng.random() >= habits.condition:
        words = ("not great",) if level == "watch" else VAGUE
    condition = rng.choice(words)
    ending = ""
    if finding.done:
        ending = part.done if style == "typed" else f"{part.done} it"
    elif level == "unsafe" and habits.plays_down:
        ending = rng.choice(PLAYED_DOWN)
    elif level != "good" and rng.random() < habits.ending:
        ending = rng.choice(
            FLUID_ENDINGS[part.done] if level == "bad" and part.done in FLUID_ENDINGS else ENDINGS[style, level]
        )
        if level == "unsafe" and rng.random() < habits.customer_told:
            ending += f", {rng.choice(TOLD[style])}" if style != "sentence" else f". {rng.choice(TOLD[style])}"
    shape = rng.choice(SHAPES[style, bool(reading)])
    be = "are" if part.plural else "is"
    said = shape.format(what=what, it="they" if part.plural else "it", be=be, condition=condition, reading=reading)
    return ", ".join(filter(None, (said, f"causing the {cause}" if cause else "", ending)))


def _reading(value: int, unit: str, style: str) -> str:
    if unit == "volts":
        number = f"{value / 10:.1f}"
        return f"{number}V" if style == "typed" else f"{number} volts"
    if style == "spoken":
        return (
            f"{NUMBER_WORDS[value]} {'thirty-second' if unit == '32nds' else 'millimeter'}{'' if value == 1 else 's'}"
        )
    if unit == "32nds":
        return f"{value}/32"
    return f"{value}mm" if style == "typed" else f"{value} mm"


def _joined(said: list[str], style: str, rng: random.Random) -> str:
    if style == "typed":
        return rng.choice(("\n", "\n", "; ")).join(said)
    if style == "spoken":
        return ". ".join(said) + "."
    return " ".join(line if line.endswith(".") else f"{line}." for line in said)


def _vin(rng: random.Random) -> str:
    """Seventeen characters with a right check digit; the maker's code is nobody's."""
    vin = list("1ZZ" + "".join(rng.choices(VIN_LETTERS, k=5)) + "0" + rng.choice("FGHJKLMNPR") + "Z")
    vin += rng.choices("0123456789", k=6)
    rest = sum(VIN_VALUES[c] * w for c, w in zip(vin, VIN_WEIGHTS, strict=True)) % 11
    vin[8] = "X" if rest == 10 else str(rest)
    return "".join(vin)


def _plate(rng: random.Random) -> str:
    return "".join(rng.choices("ABCDEFGHJKLMNPRSTVWXYZ", k=3)) + f"{rng.randrange(10_000):04d}"


def main() -> None:
    options = argparse.ArgumentParser(description="A year of invented notes as JSON Lines.")
    options.add_argument("out", type=Path)
    options.add_argument("--notes", type=int, default=200_000)
    options.add_argument("--technicians", type=int, default=40)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--months", type=int, default=12, choices=range(1, 13))
    options.add_argument("--plain", action="store_true", help="nobody with a habit of their own")
    chosen = options.parse_args()
    with chosen.out.open("w", encoding="utf-8") as out:
        for row in invented_year(chosen.notes, chosen.technicians, chosen.seed, chosen.months, chosen.plain):
            out.write(json.dumps(row, ensure_ascii=False) + "\n")


if __name__ == "__main__":
    main()
