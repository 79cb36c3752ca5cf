"""Where one statement ends and the next begins, with or without punctuation.

Full stops and line ends part sentences. Inside them a clause ends at a comma, dash or bracket, at ``and`` or ``but`` before
a new subject, and, where nobody punctuated, before a component or place that follows a finished predicate.
"""

from __future__ import annotations

from collections.abc import Callable

from talkaround.reading.types import Clause, Mention, Quantity
from talkaround.vocabulary.folding import Word

_HARD = frozenset({".", "!", "?", ";", "\n"})
_SOFT = frozenset({",", "(", ")", "—", "-", ":", "=", ">", "*", "|", "[", "]", "~", "•"})
_AND = frozenset(
    {
        "and",
        "but",
        "so",
        "because",
        "cause",
        "though",
        "while",
        "then",
        "plus",
        "+",
        "&",
        "cos",
        "since",
        "until",
        "till",
        "which",
        "or",
    }
)
# Words behind which a clause begins whatever follows.
_ALWAYS_PART = frozenset({"but", "so", "because", "cause", "though", "cos"})
# Words that bind what follows them to what went before: no new subject starts behind them.
_BINDING = frozenset(
    "of at on in from by with behind under over near nr to onto into around round off through inside against @ "
    "above below for between along down up out where across beside without a an the some that any its my his her "
    "no per than like as via about until till".split()
)
PREPOSITIONS = _BINDING - {
    "a",
    "an",
    "the",
    "some",
    "any",
    "its",
    "no",
    "my",
    "his",
    "her",
    "that",
    "like",
    "as",
    "about",
}
PREDICATES = frozenset(
    "condition good severity action work same ruled-out not-inspected not-traced swap not-alone".split()
)
# Nobody says as many words in one clause; what is no speech must not be gone over as one.
_LONGEST_CLAUSE = 200
STARTERS = frozenset(
    "reported other-vehicle hypothetical general-remark correction taken-back not-inspected moving swap "
    "this-vehicle unconfirmed not-traced turn unmeasured unsure undecided arrived agreed".split()
)


def is_predicate(m: Mention) -> bool:
    """Whether it says something of a part and names none."""
    return "component" not in m.first and not PREDICATES.isdisjoint(m.first)


def is_subject(m: Mention) -> bool:
    """Whether it names a part, by its own name or a shared one."""
    return "component" in m.first or "short" in m.first


def names_part(clause: Clause) -> bool:
    """Whether anything in the clause names a part."""
    return any(is_subject(m) for m in clause.mentions)


def has_predicate(clause: Clause) -> bool:
    """Whether anything in the clause says something of a part."""
    return any(is_predicate(m) for m in clause.mentions)


def kinds_in(clause: Clause) -> set[str]:
    """The kinds of everything that the clause mentions."""
    return {t.kind for m in clause.mentions for t in m.tags}


def cut_clauses(
    words: list[Word],
    mentions: list[Mention],
    quantities: list[Quantity],
    punctuated: bool,
    one_noun: Callable[[Mention, Mention], bool] = lambda a, b: True,
    pauses: frozenset[int] = frozenset(),
    spoken: bool = False,
) -> list[Clause]:
    """The clauses of a note, in order; every word lies in exactly one.

    ``one_noun`` tells whether two names that stand side by side can be one noun ("tank seam"); ``pauses`` are the words
    before which the speaker was silent; ``spoken`` tells that a recogniser set the commas.
    """
    items: dict[int, Mention | Quantity] = {m.begin: m for m in mentions}
    items.update({q.begin: q for q in quantities})
    clauses: list[Clause] = []
    sentence = line = 0
    current = Clause(0, 0, 0, 0)

    def close(at: int, by: str = "") -> None:
        nonlocal current
        current.end = at
        if current.end > current.begin:
            clauses.append(current)
        current = Clause(at, at, sentence, line, opened_by=by, number=len(clauses))

    i = 0
    while i < len(words):
        fold = words[i].fold
        item = items.get(i)
        if i - current.begin >= _LONGEST_CLAUSE:
            close(i)
        if item is None and fold in _HARD:
            if fold == "." and not _ends_sentence(words, i):
                i += 1
                continue
            close(i + 1)
            sentence += 1
            if fold == "\n":
                line += 1
            current.sentence, current.line = sentence, line
            i += 1
            continue
        if item is None and fold in _SOFT:
            if fold in _NAMES_WHAT_FOLLOWS and _is_place_of_the_next(words, items, clauses, current, i):
                # "Pads F: 6 mm R: 4 mm": each place is that of what stands behind it.
                place = current.mentions[-1]
                if _said(current):
                    current.mentions.pop()
                    close(place.begin)
                    current.mentions.append(place)
            elif spoken and fold == "," and _side_of_the_next(words, items, current, i):
                place = current.mentions.pop()
                close(place.begin)
                current.mentions.append(place)
            else:
                close(i + 1, fold)
            i += 1
            continue
        if i in pauses and i > current.begin and _said(current) and not _wants_more(words[i - 1].fold):
            close(i, ",")
        if _is_wide_gap(words, i) and _said(current) and i > current.begin:
            # Columns of a typed list.
            close(i, ",")
        if item is None and fold == "/" and current.quantities and i + 1 in items:
            close(i + 1, fold)
            i += 1
            continue
        if item is None and fold in _I_DID and _said(current) and _acts_next(words, items, i):
            # "... rotors look fine i cleaned the slides".
            close(i)
        if item is None and fold == "there" and _there_is(words, i) and _said(current):
            # "... are good at eight there's play in the tie rod".
            close(i)
        if item is None and fold in _AND:
            points_back = fold == "which" and _which_is(words, items, i)
            if points_back and current.begin == i:
                current.opened_by = fold
            elif points_back or fold in _ALWAYS_PART or _starts_anew(words, items, current, i + 1):
                close(i, fold)
            i += 1
            continue
        if item is None and fold == "too" and _closes_with_too(items, current, i):
            close(i + 1)
            i += 1
            continue
        if item is not None:
            if isinstance(item, Mention):
                if _begins_walk(words, current, item):
                    close(item.begin)
                if _opens(words, items, current, item, punctuated, one_noun, pauses):
                    at = item.begin
                    while (
                        at - 1 > current.begin
                        and words[at - 1].fold in ("the", "a", "an")
                        and not any(m.end >= at for m in current.mentions)
                    ):
                        at -= 1
                    close(at)
                current.mentions.append(item)
                if item.tag("taken-back", "unconfirmed") and not punctuated:
                    # "Scrub that, it's the offside": what follows is said anew.
                    close(item.end)
                elif _is_heading_place(words, items, current, item):
                    end = item.end + (words[item.end].fold == "first" if item.end < len(words) else 0)
                    close(end)
                    i = max(end, i + 1)
                    continue
            else:
                if _number_opens(words, current, item):
                    close(item.begin)
                current.quantities.append(item)
            i = max(item.end, i + 1)
            continue
        i += 1
    close(len(words))
    return clauses


_I_DID = frozenset({"i", "ive", "we", "weve"})


def _acts_next(words: list[Word], items: dict[int, Mention | Quantity], i: int) -> bool:
    behind = items.get(i + 1)
    if not isinstance(behind, Mention) or _wants_more(words[i - 1].fold):
        return False
    return any(t.more == "done" for t in behind.of("action"))


def _says_is(w: Word) -> bool:
    """Whether a pronoun is written with the "is" behind it: "that's", "thats", "one's"."""
    return w.fold in ("that", "one", "it") and w.end - w.begin > len(w.fold)


def _there_is(words: list[Word], i: int) -> bool:
    if i and _wants_more(words[i - 1].fold):
        return False
    says_so = words[i].end - words[i].begin > len("there")
    return says_so or (i + 1 < len(words) and words[i + 1].fold in ("is", "are", "was"))


_NAMES_WHAT_FOLLOWS = frozenset({":", "="})


def _is_place_of_the_next(
    words: list[Word], items: dict[int, Mention | Quantity], clauses: list[Clause], current: Clause, mark: int
) -> bool:
    """Whether a place before a colon, no heading of its own, is that of the reading or verdict right behind it."""
    place, behind = (current.mentions[-1] if current.mentions else None), items.get(mark + 1)
    if place is None or place.end != mark or not place.tag("place") or is_subject(place):
        return False
    if behind is None or not (isinstance(behind, Quantity) or is_predicate(behind)):
        return False
    before = clauses[-1] if clauses else None
    goes_on = before is not None and before.sentence == current.sentence and is_place_and_number(before)
    return goes_on or _said(current) or names_part(current) or _place_and_mark(words, items, behind.end)


def is_place_and_number(c: Clause) -> bool:
    """Whether the clause is a place and one number, and nothing more."""
    return len(c.quantities) == 1 and bool(c.mentions) and all(m.tag("place") and not is_subject(m) for m in c.mentions)


def _place_and_mark(words: list[Word], items: dict[int, Mention | Quantity], i: int) -> bool:
    """ "... RF: 4 mm": whether the next place of a row stands there, a comma before it or not."""
    place = items.get(i + 1 if i < len(words) and words[i].fold == "," else i)
    if not isinstance(place, Mention) or not place.tag("place") or is_subject(place) or place.end >= len(words):
        return False
    return words[place.end].fold in _NAMES_WHAT_FOLLOWS


def _side_of_the_next(words: list[Word], items: dict[int, Mention | Quantity], current: Clause, comma: int) -> bool:
    """ "Needs one left, rotor's okay": a recogniser's comma comes late; a bare side behind a verdict is the next part's."""
    if len(current.mentions) < 2 or not any(is_subject(m) or m.tag("pronoun") for m in current.mentions):
        return False
    verdict, place = current.mentions[-2:]
    side = place.end == comma and any(t.value in _SIDES for t in place.tags) and not is_subject(place)
    side = side and words[place.begin].fold not in PREPOSITIONS
    after = items.get(comma + 1)
    behind = words[comma + 1].fold if comma + 1 < len(words) else ""
    named = isinstance(after, Mention) and is_subject(after) or behind == "one"
    return side and named and verdict.end == place.begin and is_predicate(verdict) and not is_subject(verdict)


def _closes_with_too(items: dict[int, Mention | Quantity], current: Clause, i: int) -> bool:
    """ "The right front too": a place of which the same is so; not "too" tight."""
    behind = items.get(i + 1)
    says_more = isinstance(behind, Mention) and not is_subject(behind) and behind.tag("place") is None
    only_there = bool(current.mentions) and all(m.tag("place") and not is_subject(m) for m in current.mentions)
    return only_there and current.mentions[-1].end == i and not says_more


def _wants_more(fold: str) -> bool:
    """Whether somebody who falls silent behind this word is looking for the next."""
    return fold in _TRANSITIVE or fold in _BINDING or fold in _DETERMINERS or fold in _AND


def _which_is(words: list[Word], items: dict[int, Mention | Quantity], i: int) -> bool:
    """ "... the power steering pump, which is leaking": what is said is said of the part before it."""
    k = i + 1
    while k < len(words) and words[k].fold in ("is", "are", "was", "has", "have", "also", "itself"):
        k += 1
    item = items.get(k)
    return k > i + 1 and isinstance(item, Mention) and item.tag("condition") is not None


def _ends_sentence(words: list[Word], i: int) -> bool:
    """A full stop that ends a sentence: not one inside an abbreviation such as ``no.3`` or ``approx. 4``."""
    if i + 1 >= len(words):
        return True
    if words[i + 1].begin > words[i].end:
        return True
    return not words[i + 1].fold[:1].isalnum()


def _said(clause: Clause) -> bool:
    """Whether the clause has said something of its subject already."""
    return bool(clause.quantities) or has_predicate(clause)


_DETERMINERS = frozenset(
    {
        "a",
        "an",
        "the",
        "some",
        "any",
        "my",
        "his",
        "her",
        "no",
        "new",
        "one",
        "two",
        "four",
        "another",
        "that",
        "this",
        "these",
        "those",
        "its",
        "both",
        "all",
        "each",
        "other",
    }
)
# Words that want something behind them, so that what follows belongs to them.
_TRANSITIVE = frozenset(
    "need require want replace suggest recommend rec quote of a new the have clean adjust tighten repair fix "
    "flush lube lubricate grease fill add weld patch check diagnose renew fit do monitor watch recheck on with as "
    "and swap get change rebuild advise offer bleed reset to for by at complete whole recalibrate calibrate "
    "machine resurface put".split()
)


# Prepositions that also say what is wrong ("the lamp is out").
_ENDS_CONDITION = frozenset({"out", "down"})


def _bound(words: list[Word], current: Clause, begin: int, punctuated: bool, items_place: bool = False) -> bool:
    """Whether the words just before ``begin`` bind it to what went before (``at the clamp``, ``needs a bulb``)."""
    covered = {k: m for m in current.mentions for k in range(m.begin, m.end)}
    numbers = {k for q in current.quantities if q.unit is None for k in range(q.begin, q.end)}
    k = begin - 1
    counted = False
    while k >= current.begin:
        m = covered.get(k)
        if m is not None and m.tag("pronoun") and _points_at_noun(words, k, begin):
            k -= 1
            continue
        if m is not None and m.tag("place", "degree") and not m.tag("action", "condition", "component", "short"):
            if not punctuated and _behind_number(words, current, m):
                # "Six on the right, rotors smooth": the place belongs to the number.
                return False
            if words[m.begin].fold in PREPOSITIONS and m.end - m.begin > 1:
                # "on both headlights", but "okay on both, wheel bearing ...": after "both" the noun is plural.
                return "both" not in (t.value for t in m.tags) or words[begin].end - words[begin].begin > len(
                    words[begin].fold
                )
            k = m.begin - 1
            continue
        if m is None and (words[k].fold in _DETERMINERS or k in numbers):
            counted = counted or k in numbers
            k -= 1
            continue
        break
    if (
        k > current.begin + 1
        and k not in covered
        and k not in numbers
        and words[k].fold.isalpha()
        and words[k].fold not in PREPOSITIONS
        and words[k].fold not in _TRANSITIVE
        and words[k + 1].fold not in _DETERMINERS
        and words[k - 1].fold in ("a", "an", "the", "new")
        and (k - 2) >= current.begin
    ):
        # "Needs a shutter motor": a word that nobody knows stands between the article and its noun.
        before = covered.get(k - 2)
        if words[k - 2].fold in PREPOSITIONS or (before is not None and words[k - 2].fold in _TRANSITIVE):
            return True
    if counted and k == current.begin and words[k].fold in ("and", "plus", "&") and _plural(words[begin]):
        # "... and two rotors": how many of them.
        return True
    if k < current.begin or (counted and words[k].fold in PREPOSITIONS):
        return False
    m = covered.get(k)
    if m is not None:
        if m.tag("component", "short"):
            if items_place:
                return False
            # Two names side by side are one noun ("at the tank seam"); in talk without full stops not behind a verb of need.
            lead = m.begin - 1
            while lead > current.begin and words[lead].fold in _DETERMINERS:
                lead -= 1
            return m.end == begin and (punctuated or words[lead].fold in PREPOSITIONS)
        if m.tag("filler", "moving") and words[k].fold in PREPOSITIONS:
            return True
        if m.tag("negation", "served", "except", "approximately", "limit", "vehicle"):
            return True
        if words[k].fold == "missing" and k < begin - 1 and (punctuated or words[begin - 1].fold != "the"):
            # "The wheel is missing its hub cap", "missing two nuts": what is missing comes behind.
            return any(is_subject(x) for x in current.mentions)
        if m.tag("condition") and m.end == begin and not m.tag("severity", "action") and not items_place:
            # "a torn boot", "the one with the rotted subframe": the condition stands before its noun.
            lead_word = words[m.begin - 1].fold if m.begin > current.begin else "the"
            ruled_out = covered.get(m.begin - 1)
            if ruled_out is not None and ruled_out.tag("negation"):
                return False
            if m.begin > current.begin and _says_is(words[m.begin - 1]):
                # "The caliper that's sticking", "right one's dry": what follows is the next statement's.
                return False
            if lead_word in _DETERMINERS - {"no"} or lead_word in (
                "with",
                "has",
                "got",
                "of",
                "have",
                "for",
                "real",
                "very",
                "one",
            ):
                return True
        if m.value("work") in ("declined", "ordered", "wrong-part") and all(
            words[n].fold in _WHO_ACTED for n in range(current.begin, m.begin)
        ):
            # "Ordered a left front strut", "they sent the wrong left caliper": it opens the statement, its object follows.
            return True
        if m.value("work") == "done" and m.begin > current.begin and words[m.begin - 1].fold in _HAVE:
            # "I've done the left rear wheel bearing".
            return words[m.end - 1].fold == "done" and m.end - m.begin == 1
        if (
            punctuated
            and m.value("work") in ("declined", "ordered")
            and words[begin - 1].fold in ("the", "that", "those", "declined", "refused")
        ):
            # "Owner declined the ramp spring".
            return True
        if m.tag("condition") and words[k].fold in _ENDS_CONDITION and m.end == begin:
            # "Washer pump's out horn works".
            return False
        if m.tag("condition") and m.end - m.begin > 1 and words[k].fold not in PREPOSITIONS and not punctuated:
            # "Throwing grease exhaust hanger is gone".
            return False
        done = m.tag("action")
        if done is not None and done.more == "done" and not m.tag("severity"):
            led_by = words[m.begin - 1].fold if m.begin > current.begin else ""
            object_said = {"it", "them", "that", "already", "em", "those"} & {w.fold for w in words[m.begin : m.end]}
            return not object_said and led_by not in (
                "need", "be", "get", "want", "it", "them", "is", "are", "was",
            )  # fmt: skip
        if done is not None and done.more == "need" and words[k].fold in _COUNTS:
            # "I'll need four tires", but "struts leak, needs two tires are fine".
            other = any(is_subject(x) for x in current.mentions)
            return not other or (punctuated and not _IS.intersection(w.fold for w in words[begin : begin + 4]))
        if m.value("work") == "done" and words[k].fold == "of" and not punctuated:
            # "That's taken care of rear drive unit ..."
            return False
        if m.tag("good") and m.end - m.begin > 1 and words[k].fold == "new":
            # "The belt looks like new coolant tests at ..."
            return False
        return (words[k].fold in _TRANSITIVE or words[k].fold in PREPOSITIONS) and m.tag(
            "severity", "action", "pronoun", "good", "condition", "work"
        ) is not None
    return words[k].fold in PREPOSITIONS


def _is_read_there(words: list[Word], items: dict[int, Mention | Quantity], m: Mention) -> bool:
    """Whether a place is followed by "is" or "are" and a number."""
    k = m.end
    if k >= len(words) or words[k].fold not in _IS:
        return False
    while k < len(words) and words[k].fold in _BEFORE_NUMBER:
        k += 1
    return isinstance(items.get(k), Quantity)


def _orders(words: list[Word], m: Mention) -> bool:
    """ "Order me two", "grab us a set of": said to somebody, and so a statement of its own."""
    return m.tag("action") is not None and m.end - m.begin > 2 and words[m.begin + 1].fold in ("me", "us")


_IS = frozenset("is are was were look has have".split())
_BEFORE_NUMBER = _IS | frozenset("at about around only just roughly like".split())
_COUNTS = frozenset("two three four some a an 2 3 4".split())
_HAVE = frozenset({"ive", "weve", "have", "has", "hes", "shes"})
# Who did it and when, before a verb that has its object behind it.
_WHO_ACTED = frozenset(
    "i we they he she ive weve have has had already just also and so then got customer owner driver shop parts supplier "
    "dealer warehouse office the".split()
)


def _points_at_noun(words: list[Word], k: int, begin: int) -> bool:
    """ "In its bracket", "at this radiator": a determiner, no pronoun."""
    if words[k].fold == "it":
        return words[k].end - words[k].begin == 3
    return k == begin - 1 and words[k].fold in ("this", "that", "these", "those")


def _starts_anew(words: list[Word], items: dict[int, Mention | Quantity], current: Clause, i: int) -> bool:
    """Whether a new statement starts behind a connecting word: a subject, a place or a number after something was said."""
    if not _said(current) or _places_of_one_noun(words, items, current, i):
        return False
    for k in range(i, min(i + 4, len(words))):
        item = items.get(k)
        if isinstance(item, Quantity):
            # "Pads are four and four in the front": the numbers are one row.
            row = k == i and item.unit is None and bool(current.quantities) and current.quantities[-1].end == i - 1
            return not row
        if isinstance(item, Mention):
            if is_subject(item) or item.tag(
                "place", "pronoun", "other-one", "reported", "work", "severity", "action", "good"
            ):
                return True
            if item.tag("condition") and not item.tag("degree"):
                # "cracked and perished" is one statement; the conditions share their subject.
                return False
        elif words[k].fold in _HARD or words[k].fold in _SOFT:
            return False
    return False


def _places_of_one_noun(words: list[Word], items: dict[int, Mention | Quantity], current: Clause, i: int) -> bool:
    """ "Replaced both fronts and the left rear speed sensor": the first place has no noun, so the second's is its own."""
    place = next((m for m in current.mentions if m.tag("place")), None)
    if place is None or any(is_subject(m) or m.tag("pronoun") for m in current.mentions):
        return False
    k, joined = place.end, False
    while k < len(words):
        item = items.get(k)
        if isinstance(item, Mention) and is_subject(item):
            ends = item.end >= len(words) or (item.end not in items and words[item.end].fold in _HARD | _SOFT)
            return joined and i <= k and ends
        if isinstance(item, Mention) and item.tag("place"):
            k = item.end
        elif item is None and words[k].fold in _JOINS_PLACES:
            joined = joined or words[k].fold != "the"
            k += 1
        else:
            return False
    return False


_JOINS_PLACES = frozenset({"and", "&", "+", "the"})


def _opens(
    words: list[Word],
    items: dict[int, Mention | Quantity],
    current: Clause,
    m: Mention,
    punctuated: bool,
    one_noun: Callable[[Mention, Mention], bool],
    pauses: frozenset[int],
) -> bool:
    """Whether mention ``m`` opens a new clause though no mark stands before it."""
    if not current.mentions and not current.quantities:
        return False
    if (not STARTERS.isdisjoint(m.first) and not m.tag("condition", "place")) or (_said(current) and _orders(words, m)):
        return True
    last = current.mentions[-1] if current.mentions else None
    if last is not None and is_subject(last) and is_subject(m) and last.end == m.begin and _plural(words[last.end - 1]):
        # "plus the front pads, caliper on the right": a plural is no first half of a compound.
        return True
    if (
        last is not None
        and is_subject(last)
        and is_subject(m)
        and last.end == m.begin
        and not punctuated
        and not one_noun(last, m)
        and current.opened_by in ("and", "plus", "so", "")
        and any(x.tag("severity", "action", "condition", "good", "work") or x is last for x in current.mentions)
        and current.begin > 0
    ):
        # "Needs pads and a rotor, caliper slides fine": nothing that one name could be a part of the other.
        return True
    if (
        not punctuated
        and m.tag("place")
        and any(x.tag("reported", "plan") for x in current.mentions)
        and m.begin - current.begin > 4
        and _place_leads(words, items, m, pauses)
    ):
        return True
    if not punctuated and (m.value("place") == "reset" or m.tag("turn")):
        return True
    if m.tag("place") and current.quantities and _is_read_there(words, items, m):
        # "Fronts are five thirty-seconds rears are about four".
        return True
    if (
        m.tag("place")
        and not is_subject(m)
        and words[m.begin - 1].fold in ("two", "both", "pair", "four")
        and _plural(words[m.end - 1])
        and not (m.end < len(words) and words[m.end].fold in _IS and current.quantities)
    ):
        # "I'd do the two rears": the place is the object.
        return False
    if (
        last is not None
        and last.tag("place")
        and m.tag("place")
        and not is_subject(m)
        and any(x.tag("correction") for x in current.mentions)
        and (last.end < m.begin or _other_side_said(current, m))
        and _place_leads(words, items, m, pauses)
    ):
        return True
    if (
        is_subject(m)
        and not punctuated
        and last is not None
        and last.tag("negation")
        and words[last.end - 1].fold in ("isnt", "doesnt", "wasnt", "arent", "didnt")
        and current.mentions[0].tag("place")
        and not _said(current)
    ):
        # "The offside rear isn't, handbrake cable's stretched": the negation is all that was said.
        return True
    if not punctuated and _behind_unknown_verdict(words, current, m):
        return True
    if last is not None and last.tag("good") and last.end == m.begin and words[m.begin].fold in ("need", "want"):
        # "Strut mounts are fine needs an alignment": what is fine needs nothing.
        return True
    if _trails_its_reading(words, items, current, m):
        return True
    if not _said(current) or _is_left_over(words, current, m) or _places_of_one_noun(words, items, current, m.begin):
        return False
    if not punctuated and last is not None and _second_corner(items, last, m):
        return True
    if _number_led_row(words, items, current, m):
        return False
    if _bound(words, current, m.begin, punctuated, m.tag("place") is not None and not is_subject(m)):
        return False
    if is_subject(m):
        # "They sent the wrong cabin filter": what ends so has its noun still to come.
        behind_it = last is not None and last.tag("work") is not None and last.end == m.begin
        wants_noun = behind_it and words[m.begin - 1].fold in _WANTS_NOUN
        return not wants_noun and not _fault_leads(words, items, current, m)
    if m.tag("place"):
        return _place_leads(words, items, m, pauses) and not _fault_leads(words, items, current, m)
    return bool(m.tag("other-one", "rest"))


_WANTS_NOUN = frozenset({"wrong", "a", "an", "the", "another"})


def _fault_leads(words: list[Word], items: dict[int, Mention | Quantity], current: Clause, m: Mention) -> bool:
    """ "Oil leak o/s driveshaft seal": a typed line that opens with the fault names its part behind it."""
    if current.begin and words[current.begin - 1].fold not in _HARD or current.quantities:
        return False
    alone = all(x.tag("condition", "place", "degree") and not is_subject(x) for x in current.mentions)
    k = m.begin
    while isinstance(item := items.get(k), Mention) and item.tag("place") and not is_subject(item):
        k = item.end
    return alone and isinstance(item, Mention) and is_subject(item)


def _is_left_over(words: list[Word], current: Clause, m: Mention) -> bool:
    """ "Two millimeters left on the left front pads": what remains, no side."""
    behind = words[m.end].fold if m.end < len(words) else ""
    read = any(q.end == m.begin and q.unit for q in current.quantities)
    return read and words[m.begin].fold == "left" and m.end - m.begin == 1 and behind in ("on", "in")


def _other_side_said(current: Clause, m: Mention) -> bool:
    """ "No, it's the right front left's quiet": behind the side put right, another side is the next statement's."""
    turn = max((x.begin for x in current.mentions if x.tag("correction")), default=m.begin)
    said = {w for x in current.mentions if x.begin > turn for w in (x.value("place") or "").split()} & _SIDES
    sides = {*(m.value("place") or "").split()} & _SIDES
    return bool(said and sides) and not said & sides


_AXLES = frozenset({"front", "rear"})


def _behind_unknown_verdict(words: list[Word], current: Clause, m: Mention) -> bool:
    """ "Left rear bearing is rallying right rear is quiet": what was said of the first is lost, and is not the second's."""
    part = current.mentions[-1] if current.mentions else None
    if part is None or not is_subject(part) or not m.tag("place") or is_subject(m) or m.end + 1 >= len(words):
        return False
    if not any(x.tag("place") for x in current.mentions) or m.begin - part.end < 2 or words[part.end].fold not in _IS:
        return False
    lost = words[m.begin - 1].fold
    says = _IS.intersection(w.fold for w in words[m.end : m.end + 2])
    return bool(says) and lost.isalpha() and lost not in _BINDING | _DETERMINERS | _TRANSITIVE | _AND


def _trails_its_reading(words: list[Word], items: dict[int, Mention | Quantity], current: Clause, m: Mention) -> bool:
    """ "Pads front 3 mm rear, ...": each place leads its number, so the last one's is missing."""
    if not m.tag("place") or is_subject(m) or not current.quantities or current.quantities[-1].end != m.begin:
        return False
    led = [x for x in current.mentions if x.tag("place") and x.end == current.quantities[-1].begin]
    other = bool(led) and {led[0].value("place"), m.value("place")} in ({"front", "rear"}, {"left", "right"})
    return other and m.end < len(words) and words[m.end].fold == ","


def _number_led_row(words: list[Word], items: dict[int, Mention | Quantity], current: Clause, m: Mention) -> bool:
    """ "Pads 9 mm F 8 mm R": in a row that begins with a number each place belongs to the number before it."""
    if not current.quantities or current.quantities[-1].end != m.begin or m.tag("place") is None or is_subject(m):
        return False
    after = items.get(m.end)
    led = not any(x.tag("place") for x in current.mentions) and isinstance(after, Quantity)
    closing = items.get(after.end) if led and after is not None else None
    ends = after is not None and (after.end >= len(words) or after.end not in items)
    if not led or not isinstance(closing, Mention) or not closing.tag("place") or is_subject(closing):
        return False
    behind = items.get(closing.end)
    return not ends and not isinstance(behind, Quantity)


def _second_corner(items: dict[int, Mention | Quantity], last: Mention, m: Mention) -> bool:
    """ "Four in the front left front caliper": side, axle and noun are the next statement's, the first axle the last one's."""
    axle = items.get(m.end)
    if not isinstance(axle, Mention) or last.end != m.begin or m.value("place") not in _SIDES:
        return False
    noun = items.get(axle.end)
    if last.value("place") not in _AXLES or axle.value("place") not in _AXLES:
        return False
    return isinstance(noun, Mention) and is_subject(noun)


def _behind_number(words: list[Word], current: Clause, m: Mention) -> bool:
    """Whether a place stands right behind a number ("six on the right"), so that it is the number's."""
    k = m.begin
    while k > current.begin and words[k - 1].fold in ("on", "the", "at"):
        k -= 1
    return any(q.end == k for q in current.quantities)


def _is_wide_gap(words: list[Word], i: int) -> bool:
    """Three blanks or more before a word that does not begin its line."""
    return i > 0 and words[i - 1].fold != "\n" and words[i].begin - words[i - 1].end >= 3


def _begins_walk(words: list[Word], current: Clause, m: Mention) -> bool:
    """ "... counting the tag, uh, driver side first": the side where the walk begins is a heading wherever it is said."""
    side = any(t.value in _SIDES for t in m.of("place")) and not m.tag("component", "short")
    return side and bool(current.mentions) and m.end < len(words) and words[m.end].fold == "first"


def _is_heading_place(words: list[Word], items: dict[int, Mention | Quantity], current: Clause, m: Mention) -> bool:
    """ "Driver side first", "now the passenger side": a place that is said as a heading, though no mark stands behind it."""
    if (
        not m.tag("place")
        or m.tag("component", "short")
        or any(not x.tag("filler", "moving") for x in current.mentions[:-1])
    ):
        return False
    after = items.get(m.end)
    if isinstance(after, Mention) and after.tag("place") and not after.tag("component"):
        # "Walking down the driver side, axle two ..."
        axle_next = (after.value("place") or "").startswith("axle=")
        return axle_next and any(x.tag("moving") and x.end <= m.begin for x in current.mentions)
    if m.end < len(words) and words[m.end].fold == "first":
        return True
    lead = [w.fold for w in words[max(current.begin, m.begin - 3) : m.begin]]
    follows = words[m.end].fold if m.end < len(words) else ""
    return ("now" in lead or follows == "now") and any(t.value in _SIDES for t in m.tags)


_SIDES = frozenset(
    {"left", "right", "driver", "passenger", "nearside", "offside", "roadside", "curbside", "other-side"}
)


def _plural(w: Word) -> bool:
    """Whether the word stands in the plural in the note: its folded form is shorter than what is written."""
    return w.end - w.begin == len(w.fold) + 1


def _place_leads(words: list[Word], items: dict[int, Mention | Quantity], m: Mention, pauses: frozenset[int]) -> bool:
    """Whether a place leads a new statement: a component, a number or a predicate follows it closely."""
    k, steps = m.end, 0
    adverb = any(t.value == "all-four" for t in m.tags) and m.end - m.begin > 2
    if any(t.value == "both" for t in m.tags) and k < len(words) and words[k].fold == "the":
        return False
    while k < len(words) and steps < 4:
        if k in pauses:
            return False
        item = items.get(k)
        if isinstance(item, Quantity):
            return True
        if isinstance(item, Mention):
            if item.tag("place", "pronoun") and not is_subject(item):
                k = item.end
                continue
            if adverb and (item.tag("negation") or words[item.begin].fold == "nothing"):
                # "Five all the way round nothing needs doing".
                return False
            if item.tag("filler", "degree", "negation") and not is_predicate(item):
                k = item.end
                steps += 1
                continue
            return is_subject(item) or is_predicate(item)
        if words[k].fold in _HARD or words[k].fold in _SOFT or words[k].fold in _AND:
            return False
        k, steps = k + 1, steps + 1
    return False


def _number_opens(words: list[Word], current: Clause, q: Quantity) -> bool:
    """A number opens a clause where one stands already with a place behind it ("33.1 left 33.0 right")."""
    if not current.quantities:
        return False
    last = current.quantities[-1]
    return any(m.tag("place") and m.begin >= last.end for m in current.mentions) and words[q.begin - 1].fold not in (
        "of",
        "limit",
    )
