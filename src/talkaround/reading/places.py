"""Places as said: sides under both drive sides, quantifiers, and which places a component can have."""

from __future__ import annotations

from dataclasses import dataclass, field

from talkaround.models import Steering
from talkaround.reading.types import NOWHERE, Clause, Mention, Place, place_of_words
from talkaround.vocabulary.schema import Component

# Words of a place that the drive side decides: (left-hand drive, right-hand drive).
_BY_DRIVE_SIDE = {
    "driver": ("left", "right"),
    "passenger": ("right", "left"),
    "nearside": ("right", "left"),
    "offside": ("left", "right"),
    "curbside": ("right", "left"),
    "roadside": ("left", "right"),
}
# Words of a place that are no axis, and the field of ``PlacesSaid`` that they set.
_QUANTIFIERS = {
    "both": "both",
    "all-four": "all_four",
    "neither-side": "neither",
    "this-side": "this_side",
    "other-side": "other_side",
    "reset": "reset",
}
CORNERS = (Place("front", "left"), Place("front", "right"), Place("rear", "left"), Place("rear", "right"))


def resolved(means: str, steering: Steering) -> str:
    """Place words with driver, nearside and the like turned into left and right."""
    column = 0 if steering == "left-hand" else 1
    return " ".join(_BY_DRIVE_SIDE[w][column] if w in _BY_DRIVE_SIDE else w for w in means.split())


@dataclass(slots=True)
class PlacesSaid:
    """What a clause says of place: one group of axis words for each place named, and the quantifiers."""

    groups: list[Place] = field(default_factory=list)
    both: bool = False
    all_four: bool = False
    neither: bool = False
    this_side: bool = False
    other_side: bool = False
    reset: bool = False
    listed: bool = False
    """The groups were joined by "and": all of them are meant."""
    all_round: bool = False
    """Both came of "all the way round" said of one axle."""

    def anything(self) -> bool:
        """Whether any place was said, by words or by pointing."""
        return bool(self.groups) or self.both or self.all_four or self.neither or self.this_side or self.other_side

    def complete(self) -> list[Place]:
        """The groups, each given the axes that it lacks and that all others who name them agree on."""
        out = []
        for g in self.groups:
            for axis in ("axle", "side", "level", "depth", "end"):
                if getattr(g, axis) is None:
                    others = {getattr(o, axis) for o in self.groups if getattr(o, axis) is not None}
                    if len(others) == 1:
                        g = g._replace(**{axis: next(iter(others))})
            if not g.extra:
                extras = {o.extra for o in self.groups if o.extra}
                if len(extras) == 1:
                    g = g._replace(extra=next(iter(extras)))
            if g not in out:
                out.append(g)
        return out


def clash(a: Place, b: Place) -> bool:
    """Whether two places name different values of one axis."""
    return any(x is not None and y is not None and x != y for x, y in zip(a[:5], b[:5], strict=True))


def places_said(
    clause: Clause, steering: Steering, edges: bool, skip: set[int], axles_numbered: bool = False
) -> PlacesSaid:
    """Read the place mentions of a clause; ``edges`` drops inner and outer (they name an edge of one part)."""
    said = PlacesSaid()
    for n, m in enumerate(clause.mentions):
        t = m.tag("place")
        if t is None or m.tag("component", "short") or m.begin in skip:
            continue
        if m.tag("condition") and not t.value:
            continue
        means = resolved(t.value, steering)
        if "steer" in means.split():
            means = means.replace("steer", "axle=1" if axles_numbered else "front")
        beside_a_side = _beside_a_side(clause.mentions, n)
        said.listed = said.listed or beside_a_side
        if "both" in means.split() and beside_a_side:
            # "Both fronts and the left rear": both is said of the one place only.
            axle = means.replace("both", "").strip()
            said.groups += [place_of_words(f"{axle} {side}") for side in ("left", "right")]
            continue
        add_place(said, means, edges)
    if said.all_four and len(said.groups) == 1 and said.groups[0].axle and not said.groups[0].side:
        # "Rear shoes are five all the way round": both ends of that axle, no other axle.
        said.all_four, said.both, said.all_round = False, True, True
    return said


def _beside_a_side(mentions: list[Mention], n: int) -> bool:
    """Whether a corner is joined to the ``n``-th mention ("and the left rear"), and so listed along with it."""
    here = mentions[n]
    beside = [x for x in mentions[max(0, n - 1) : n + 2] if x is not here and not x.tag("component", "short")]
    return any(
        1 <= max(x.begin - here.end, here.begin - x.end) <= 2 and place_of_words(x.value("place") or "").side
        for x in beside
    )


def add_place(said: PlacesSaid, means: str, edges: bool) -> None:
    """Add what a place word means; it joins the last place where the two agree. ``edges``: inner and outer are of one part."""
    words = means.split()
    for special, name in _QUANTIFIERS.items():
        if special in words:
            setattr(said, name, True)
            words.remove(special)
    if edges:
        words = [w for w in words if w not in ("inner", "outer", "center")]
    place = place_of_words(" ".join(words))
    if place == NOWHERE:
        return
    last = said.groups[-1] if said.groups else None
    if last is not None and place.axle and place.axle.isdigit() and last.axle in ("front", "rear") and not last.side:
        # "going back, axle two": the number is the axle.
        said.groups[-1] = place.over(last)
        return
    if said.groups and not clash(said.groups[-1], place):
        said.groups[-1] = place.over(said.groups[-1])
    else:
        said.groups.append(place)


_AXIS_OF_PLACE: dict[str, str] = {"axle-number": "axle", "center": "side"}


def axes_of(component: Component) -> set[str]:
    """The place fields that a component can have; an axle number counts as its axle."""
    return {_AXIS_OF_PLACE.get(a, a) for a in component.places}


def implied(component: Component) -> Place:
    """Where the component sits by itself; nowhere where it may sit anywhere."""
    return place_of_words(component.implies)


def plural(text: str, words_begin: int, words_end: int) -> bool:
    """Whether the name stands in the plural in the note."""
    surface = text[words_begin:words_end].rstrip()
    if surface.lower().endswith(("lens", "chassis", "gas", "bus", "brakes", "lights")) and not surface.lower().endswith(
        ("headlights", "taillights")
    ):
        return False
    return (
        surface.lower().endswith("s")
        and not surface.lower().endswith(("ss", "us", "is"))
        and surface[-2:-1] not in "'’"
    )
