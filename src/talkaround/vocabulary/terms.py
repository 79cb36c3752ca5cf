"""What the vocabulary is made of: phrases, the tags that they bear, and the whole of it."""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cached_property, partial
from typing import TYPE_CHECKING, NamedTuple

from talkaround.vocabulary.alikes import Alikes, build_alikes
from talkaround.vocabulary.folding import Folder
from talkaround.vocabulary.schema import (
    Ambiguous,
    Caution,
    Component,
    DocumentationPoint,
    Judgement,
    Limit,
    Quantity,
    System,
    Unit,
)

if TYPE_CHECKING:
    from talkaround.vocabulary.matching import Matcher

Phrase = tuple[str, ...]

LONG_WORD = 6
"""Letters from which on a word may be mended for a slip of the keyboard."""


class Tag(NamedTuple):
    """What a phrase of the lexicon may mean.

    ``kind`` is ``component``, ``short``, ``place``, ``condition``, ``action`` or the kind of a cue;
    ``value`` what it says of that kind; ``more`` a degree, a form (``need``, ``done``) or nothing; ``scope`` the
    systems, kinds or ids that the phrase is limited to.
    """

    kind: str
    value: str
    more: str | None = None
    scope: tuple[str, ...] = ()


@dataclass(slots=True, frozen=True)
class MisheardWords:
    """What a mishearing stands for, and the words that must or must not stand about it, as the lexicon names them."""

    said: Phrase
    name: str
    """The same as it is typed in the lexicon."""
    ask: bool = False
    beside: frozenset[str] = frozenset()
    behind: frozenset[str] = frozenset()
    before: frozenset[str] = frozenset()
    not_behind: frozenset[str] = frozenset()
    not_before: frozenset[str] = frozenset()


class KnownBy(NamedTuple):
    """What tells a component from others that share a name with it."""

    endings: frozenset[Phrase]
    """The last words of its names, from one word to the whole name."""
    words: frozenset[str]
    """All words of its names."""
    kin: frozenset[str]
    """Components that it is a part or a kind of."""
    dimensions: frozenset[str]
    """What is measured on it: dimensions of units."""


@dataclass
class Vocabulary:
    """Everything that the reading and the judging know of the trade."""

    components: dict[str, Component]
    systems: dict[str, System]
    quantities: dict[str, Quantity]
    units: dict[str, Unit]
    folder: Folder
    limits: dict[str, Limit]
    judgements: dict[str, Judgement]
    phrases: dict[Phrase, tuple[Tag, ...]]
    mishearings: dict[Phrase, tuple[MisheardWords, ...]]
    unit_phrases: dict[Phrase, str]
    ambiguous: dict[Phrase, Ambiguous]
    kinds: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """General component -> the more exact ones (``kind_of`` turned round)."""
    name_phrases: dict[str, tuple[Phrase, ...]] = field(default_factory=dict)
    everyday: str = ""
    """Folded words of everyday English, with spaces between."""
    make_alikes: Callable[[], Alikes] = partial(build_alikes, {})
    cautions: dict[str, Caution] = field(default_factory=dict)
    documentation: dict[str, DocumentationPoint] = field(default_factory=dict)
    plain: dict[str, str] = field(default_factory=dict)
    """Explanations for customers by id or by last words of one; empty where every customer knows the word."""
    british: dict[str, str] = field(default_factory=dict)
    """US words as a UK reader has them, for the paper."""
    expected: tuple[str, ...] = ()
    """Words as they are typed that a recogniser is told to expect, most telling first."""

    def plain_words(self, component: str) -> str:
        """A short explanation of a component for customers; empty where there is none or none is needed."""
        words = component.split("-")
        last_words = ["-".join(words[n:]) for n in range(len(words))]
        chain = [component]
        while (
            (general := self.components.get(chain[-1])) is not None and general.kind_of and general.kind_of not in chain
        ):
            chain.append(general.kind_of)
        # Two last words say more than the kind, one says less.
        tries = [*(w for w in last_words if w == component or "-" in w), *chain, *last_words[-1:]]
        return next((self.plain[t] for t in tries if t in self.plain), "")

    def cautions_of(self, component: str) -> tuple[str, ...]:
        """The ids of the cautions that work on a component calls for, whatever the work; kept for the next time."""
        found = self._cautions_of.get(component)
        if found is None:
            scopes = self.scopes_of(component)
            roles = scopes.union(self.components[component].safety)
            found = self._cautions_of[component] = tuple(
                id for id, c in self.cautions.items() if not roles.isdisjoint(c.when) and scopes.isdisjoint(c.unless)
            )
        return found

    @cached_property
    def _cautions_of(self) -> dict[str, tuple[str, ...]]:
        return {}

    def scopes_of(self, component: str) -> frozenset[str]:
        """The scopes that take a component in: its system, its kind, its id and the last words of that."""
        found = self._scopes_of.get(component)
        if found is None:
            comp = self.components[component]
            words = component.split("-")
            last_words = ("-".join(words[n:]) for n in range(len(words)))
            found = self._scopes_of[component] = frozenset({comp.system, comp.kind, *last_words})
        return found

    @cached_property
    def _scopes_of(self) -> dict[str, frozenset[str]]:
        return {}

    def known_by(self, component: str) -> KnownBy:
        """By what a component is known where only a shared name is said; kept for the next time."""
        found = self._known_by.get(component)
        if found is None:
            phrases = self.name_phrases[component]
            comp = self.components[component]
            measured = {u for q in comp.measured for u in self.quantities[q].units if u in self.units}
            found = self._known_by[component] = KnownBy(
                frozenset(p[n:] for p in phrases for n in range(len(p))),
                frozenset(w for p in phrases for w in p),
                frozenset(k for k in (*comp.part_of, comp.kind_of) if k),
                frozenset(self.units[u].dimension for u in measured),
            )
        return found

    @cached_property
    def _known_by(self) -> dict[str, KnownBy]:
        return {}

    @cached_property
    def matcher(self) -> Matcher:
        """The phrase matcher over all phrases; built on first use, for it brings spaCy with it."""
        from talkaround.vocabulary.matching import Matcher

        return Matcher(self.phrases)

    @cached_property
    def words(self) -> frozenset[str]:
        """Every single folded word that some phrase is made of."""
        return frozenset(w for p in self.phrases for w in p)

    @cached_property
    def unit_words(self) -> frozenset[str]:
        """Every single folded word that the name of a unit is made of."""
        return frozenset(w for p in self.unit_phrases for w in p)

    @cached_property
    def misheard_first(self) -> frozenset[str]:
        """The words that known mishearings begin with."""
        return frozenset(p[0] for p in self.mishearings)

    @cached_property
    def ordinary(self) -> frozenset[str]:
        """The words of everyday English: where one stands, it may well have been said or meant."""
        return frozenset(self.everyday.split())

    @cached_property
    def alikes(self) -> Alikes:
        """The names by sound; made on first use, for typed notes do without."""
        with many_new_objects():
            return self.make_alikes()

    @cached_property
    def long_words(self) -> frozenset[str]:
        """Those of ``words`` that are long enough for a slip of the keyboard to be told from another word."""
        return frozenset(w for w in self.words if len(w) >= LONG_WORD)


@contextmanager
def many_new_objects() -> Iterator[None]:
    """Stops the search for garbage while a hundred thousand objects are made that all stay; it takes a third longer."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


__all__ = ["MisheardWords", "Phrase", "Tag", "Vocabulary", "many_new_objects"]
