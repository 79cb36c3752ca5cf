"""Readings as technicians say, type and have them written down; expected values worked out by hand.

No source: how numbers are said in a shop is common practice, as are the values, which are invented.
"""

import pytest

from project_notes import order_of
from talkaround.models import RepairOrder, Steering
from talkaround.vocabulary import Vocabulary


def readings(order: RepairOrder) -> list[tuple[float, str]]:
    return sorted((m.value, m.unit) for line in order.lines for m in line.measurements)


SAID: list[tuple[str, list[tuple[float, str]]]] = [
    # thirty-seconds of tread, spoken, typed and as recognisers write them
    ("left front tire is at four thirty-seconds", [(4, "1/32 in")]),
    ("right rear tire tread eleven thirty seconds", [(11, "1/32 in")]),
    ("LR tire 5/32", [(5, "1/32 in")]),
    ("Left front tire, 6 30 seconds.", [(6, "1/32 in")]),
    ("Left rear tire is at 730 seconds.", [(7, "1/32 in")]),
    ("Right front tire, 8.30 seconds, good.", [(8, "1/32 in")]),
    ("Right rear tire is 9, 30 seconds.", [(9, "1/32 in")]),
    ("Left front tire is 4-32s.", [(4, "1/32 in")]),
    ("Left front tire, 432nds.", [(4, "1/32 in")]),
    ("Left front tire is 3 30 2nds.", [(3, "1/32 in")]),
    ("Rear pads are for 30 seconds.", [(4, "1/32 in")]),
    ("Spare tire is at 5:30 seconds.", [(5, "1/32 in")]),
    ("left front tire down to one thirty-second", [(1, "1/32 in")]),
    ("right front tire six over thirty two", [(6, "1/32 in")]),
    # thousandths
    ("left front lower ball joint has forty thou of play", [(0.04, "in")]),
    ("Left front lower ball joint has 35,000ths of play.", [(0.035, "in")]),
    ("right front rotor runout is four thousandths", [(0.004, "in")]),
    ("right front rotor runout .006", [(0.006, "in")]),
    ("left front wheel bearing end play is oh point oh one two inches", [(0.012, "in")]),
    ("left front rotor has 8 thousandths of runout", [(0.008, "in")]),
    # parts of an inch and mixed numbers
    ("steering wheel has an inch and a half of play", [(1.5, "in")]),
    ("steering wheel has three quarters of an inch of play", [(0.75, "in")]),
    ("clutch pedal has half an inch of free play", [(0.5, "in")]),
    ("axle 2 left brake shoe lining is five sixteenths", [(0.3125, "in")]),
    ("axle 2 left brake shoe lining 3/8", [(0.375, "in")]),
    ("axle 2 left brake lining three eights", [(0.375, "in")]),
    ("axle 1 right push rod stroke is 2-1/4", [(2.25, "in")]),
    ("axle 1 right push rod stroke two and a quarter inches", [(2.25, "in")]),
    # millimetres, said and left out
    ("front pads three and a half", [(3.5, "mm")]),
    ("rear pads are 6 mil", [(6, "mm")]),
    ("front pads seven millimeters", [(7, "mm")]),
    ("left front rotor twenty one point eight", [(21.8, "mm")]),
    ("left front rotor measures 1.12", [(1.12, "in")]),
    ("rear shoes two millimetres left", [(2, "mm")]),
    ("rear pads a hair under three", [(3, "mm")]),
    # ranges and bounds
    ("left front pads between four and five", [(4, "mm"), (5, "mm")]),
    ("rear pads 3 to 4 mm", [(3, "mm"), (4, "mm")]),
    ("rear pads four or five mil", [(4, "mm"), (5, "mm")]),
    ("front pads at least six millimeters", [(6, "mm")]),
    ("rear pads less than 2 mm", [(2, "mm")]),
    ("left front tire more than 8/32", [(8, "1/32 in")]),
    # lists and tables
    ("tires 7 6 5 5", [(5, "1/32 in"), (5, "1/32 in"), (6, "1/32 in"), (7, "1/32 in")]),
    ("tires 8/8/4/4", [(4, "1/32 in"), (4, "1/32 in"), (8, "1/32 in"), (8, "1/32 in")]),
    ("tires nine nine six six, all good", [(6, "1/32 in"), (6, "1/32 in"), (9, "1/32 in"), (9, "1/32 in")]),
    ("compression 150 150 95 150", [(95, "psi"), (150, "psi"), (150, "psi"), (150, "psi")]),
    ("compression one forty on cylinder one, ninety on three", [(90, "psi"), (140, "psi")]),
    ("tires: LF 32 psi, RF 33 psi, LR 30, RR 31", [(30, "psi"), (31, "psi"), (32, "psi"), (33, "psi")]),
    ("TIRES psi LF 32 RF 33 LR 30 RR 28", [(28, "psi"), (30, "psi"), (32, "psi"), (33, "psi")]),
    ("pads in mm: LF 5 RF 5 LR 3 RR 2", [(2, "mm"), (3, "mm"), (5, "mm"), (5, "mm")]),
    ("tire tread in 32nds:\nLF 6\nRF 5\nLR 4\nRR 3", [(n, "1/32 in") for n in (3, 4, 5, 6)]),
    ("left front tire 7/32, pressures are all 34", [(7, "1/32 in"), (34, "psi")]),
    ("front rotors at 22.4 millimeters left, 22.1 right", [(22.1, "mm"), (22.4, "mm")]),
    ("front rotors measured 25.3 and 25.1, minimum is 24", [(25.1, "mm"), (25.3, "mm")]),
    ("Axle 2 L tire out 5 in 7", [(5, "1/32 in"), (7, "1/32 in")]),
    ("front pads 8 out of 12 mm left", [(8, "mm")]),
    ("rotor runout left front 0.05 mm, right front .06", [(0.05, "mm"), (0.06, "mm")]),
    # pressure
    ("left front tire thirty two pounds", [(32, "psi")]),
    ("left rear tire one ten psi", [(110, "psi")]),
    ("left rear tire psi 28", [(28, "psi")]),
    ("Right rear tire is at 34 side.", [(34, "psi")]),
    ("right rear tire at two point four bar", [(2.4, "bar")]),
    ("fuel pump pressure is fifty eight psi", [(58, "psi")]),
    ("radiator cap holds 15 psi, good", [(15, "psi")]),
    ("air brake system leaks 4 psi a minute", [(4, "psi/min")]),
    # voltage and current
    ("battery is twelve point four volts", [(12.4, "V")]),
    ("battery twelve four volts", [(12.4, "V")]),
    ("Battery is 12 point 4 volts.", [(12.4, "V")]),
    ("battery 12.6 540 amps, good", [(12.6, "V"), (540, "A")]),
    ("battery made three hundred and ten amps", [(310, "A")]),
    ("battery five twenty cold cranking amps", [(520, "A")]),
    ("alternator charging at fourteen two", [(14.2, "V")]),
    ("alternator is putting out twenty seven six volts", [(27.6, "V")]),
    ("Battery is 12. 6 volts, good.", [(12.6, "V")]),
    ("battery 480 of 650 CCA", [(480, "A")]),
    ("parasitic draw on the battery is 85 milliamps", [(85, "mA")]),
    ("battery volts 11.9", [(11.9, "V")]),
    # resistance
    ("ignition coil 2 reads oh point eight ohms", [(0.8, "ohm")]),
    ("high voltage insulation is two point two megohms", [(2.2, "Mohm")]),
    ("high voltage insulation 550 kohm", [(550, "kohm")]),
    # torque
    ("lug nuts torqued to one hundred and five foot pounds", [(105, "ft lb")]),
    ("wheel nuts torqued to 110 Nm", [(110, "N m")]),
    # temperature
    ("coolant is good to minus thirty four", [(-34, "degF")]),
    ("coolant tests at -25 celsius", [(-25, "degC")]),
    ("brake fluid boils at 300", [(300, "degF")]),
    ("brake fluid boils at 284 degrees fahrenheit", [(284, "degF")]),
    # share
    ("brake fluid has three percent water", [(3, "%")]),
    ("high voltage battery state of health 94%", [(94, "%")]),
    ("battery state of health is sixty one per cent", [(61, "%")]),
    # angle, power, force
    ("front toe is out zero point seven degrees", [(0.7, "deg")]),
    ("onboard charger pulled 7.2 kilowatts", [(7.2, "kW")]),
    ("parking brake pulls 1.8 kN", [(1.8, "kN")]),
    ("parking brake effort is two hundred newtons", [(200, "N")]),
    ("coolant pump flow is 12 liters a minute", [(12, "L/min")]),
]  # fmt: skip


@pytest.mark.parametrize(("text", "expected"), SAID)
def test_a_reading_is_read_as_it_was_said(text: str, expected: list[tuple[float, str]], vocabulary: Vocabulary) -> None:
    found = readings(order_of(text, vocabulary))
    assert [(pytest.approx(value), unit) for value, unit in sorted(expected)] == found


# Numbers that measure nothing, beside a part that is measured in something.
NO_READING = [
    "grabbed the left front wheel at three and nine, tie rod is tight",
    "12 and 6 on the left front, lower ball joint is loose",
    "left front tire rocks at 3 & 9, wheel bearing is loose",
    "left rear brake hose is cracked at six o'clock",
    "oil pan seeping at the 5 o'clock position",
    "front pads replaced 12,000 miles ago, good",
    "two of the lug nuts on the left rear are loose",
    "need four tires, all of them are bald",
    "a pair of rear shocks, both leaking",
    "battery is from 2019, weak",
    "quote $640 for the front struts, both leaking",
    "front rotors are 80 dollars each, scored",
    "struts come to four hundred bucks, both fronts leaking",
    "battery tested at 10:30, good",
    "customer drops it at 2 pm, left front tire is bald",
    "air filter is dirty, do it by the 14th of June",
    "battery replaced 12/03/2021, good",
    "oil is 5W-30, low",
    "left front tire 225/60R16, cracked",
    "left front tire date code 2319, cracked",
    "brake fluid is DOT 4, dark",
    "serpentine belt is three quarters of the way gone",
    "front pads half worn",
    "labor is 1.5 hours, left front strut leaking",
    "left front strut knocks at 40 mph",
    "engine idles at 750 rpm, motor mount is broken",
    "P0301 stored, ignition coil 1 is bad",
    "3 pin charging lead is cracked",
    "right rear tire plugged twice, 2 weeks ago, leaking",
    "V8, left exhaust manifold is cracked",
    "spark plug 3 is fouled",
    "second gear synchronizer is worn",
    "third brake light is out",
    "12 volt battery is dead",
    "axle 2 left drum is cracked",
    "cranked it for 30 seconds, starter is dead",
    "84k on the clock, left front strut leaking",
    "one front caliper is seized, the left",
    "the 10 mm bolt on the left front caliper is missing",
    "left front tire punctured, recommend four",
    "blown 20 amp fuse for the radio",
    "20,000 miles since the last oil change, oil is black",
]


@pytest.mark.parametrize("text", NO_READING)
def test_a_number_that_measures_nothing_is_no_reading(text: str, vocabulary: Vocabulary) -> None:
    assert readings(order_of(text, vocabulary)) == []


@pytest.mark.parametrize(
    ("text", "steering", "expected"),
    [
        ("left front tire 5", "left-hand", (5, "1/32 in")),
        ("left front tyre 5", "right-hand", (5, "mm")),
        ("front pads 4", "left-hand", (4, "mm")),
        ("front pads 4", "right-hand", (4, "mm")),
        ("coolant good to minus 30", "left-hand", (-30, "degF")),
        ("coolant good to minus 30", "right-hand", (-30, "degC")),
    ],
)
def test_the_part_and_the_rule_book_decide_the_unit_of_a_bare_number(
    text: str, steering: Steering, expected: tuple[float, str], vocabulary: Vocabulary
) -> None:
    assert readings(order_of(text, vocabulary, steering)) == [expected]


@pytest.mark.parametrize("text", ["left front tire 230", "left front pads 85", "left front tire minus four"])
def test_a_number_that_the_part_cannot_measure_is_no_reading(text: str, vocabulary: Vocabulary) -> None:
    assert readings(order_of(text, vocabulary)) == []


@pytest.mark.parametrize(
    ("text", "places"),
    [
        ("tires 7/6/5/4", {("front", "left"): 7, ("front", "right"): 6, ("rear", "left"): 5, ("rear", "right"): 4}),
        ("tires seven six five four", {("front", "left"): 7, ("front", "right"): 6, ("rear", "left"): 5,
                                       ("rear", "right"): 4}),
        ("front tires 7/6", {("front", "left"): 7, ("front", "right"): 6}),
    ],
)  # fmt: skip
def test_a_row_goes_to_its_places(text: str, places: dict[tuple[str, str], float], vocabulary: Vocabulary) -> None:
    lines = order_of(text, vocabulary).lines
    assert {(str(x.position.axle), str(x.position.side)): x.measurements[0].value for x in lines} == places


def test_a_row_over_the_cylinders_goes_from_the_first_to_the_last(vocabulary: Vocabulary) -> None:
    lines = order_of("compression 150/148/95/152", vocabulary).lines
    found = {x.position.place: x.measurements[0].value for x in lines}
    assert found == {"cylinder=1": 150, "cylinder=2": 148, "cylinder=3": 95, "cylinder=4": 152}


def test_a_row_without_places_is_kept_and_asked_about(vocabulary: Vocabulary) -> None:
    order = order_of("battery 12.6/12.5/12.4/12.6", vocabulary)
    assert {m.value for line in order.lines for m in line.measurements} == {12.4, 12.5, 12.6}
    assert [q.field for q in order.questions] == ["measurement"]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Front pads are three and a half millimeters.", "three and a half millimeters"),
        ("Battery is 12.6 540 amps.", "540 amps"),
        ("left front tire is at 7 30 seconds", "7 30 seconds"),
        ("Coolant tests to minus thirty four.", "minus thirty four"),
    ],
)
def test_a_reading_points_at_its_own_words(text: str, words: str, vocabulary: Vocabulary) -> None:
    spans = [m.evidence for line in order_of(text, vocabulary).lines for m in line.measurements if m.evidence]
    assert words in [text[s.begin : s.end] for s in spans]


@pytest.mark.parametrize(
    ("text", "verdict", "told"),
    [
        # 49 CFR 570.9(a): 2/32 in of tread.
        ("left front tire is at 4/32", "near", "4/32 in"),
        ("left front tire is under 2/32", "fail", "under 2/32 in"),
        ("left front tire is no more than 9/32", "pass", "9/32 in"),
    ],
)
def test_a_reading_said_to_be_under_its_limit_fails_it(
    text: str, verdict: str, told: str, vocabulary: Vocabulary
) -> None:
    (line,) = order_of(text, vocabulary).lines
    assert line.measurements[0].verdict == verdict
    assert told in line.cause


def test_thirty_seconds_are_written_as_the_trade_writes_them(vocabulary: Vocabulary) -> None:
    (line,) = order_of("left front tire is at 2/32", vocabulary).lines
    assert "measured at 2/32 in of tread (at the limit of 2/32 in)" in line.cause
    assert any(b.text.startswith("2/32 in against 2/32 in") for b in line.because)
    assert "2 1/32" not in line.model_dump_json()


def test_a_few_years_are_no_fault_and_many_are(vocabulary: Vocabulary) -> None:
    def conditions(years: str) -> list[str]:
        (line,) = order_of(f"Battery is {years} old and tests good.", vocabulary).lines
        return [c.id for c in line.conditions]

    assert [conditions(x) for x in ("two years", "4 years", "eight years", "8 years")] == [[], [], ["aged"], ["aged"]]
