"""Findings -> judged findings: limits, severity, action, part, questions; each conclusion by a named rule."""

from __future__ import annotations

from talkaround.judging.companions import add_companions
from talkaround.judging.judge import CONCLUDED_CONDITION, CONCLUDED_GOOD, Judged, judge
from talkaround.judging.limits import LIMIT_AS_SAID, rule_book
from talkaround.judging.questions import SHOWN, Asked, ask

__all__ = [
    "CONCLUDED_CONDITION", "CONCLUDED_GOOD", "LIMIT_AS_SAID", "SHOWN", "Asked", "Judged", "add_companions", "ask", "judge",
    "rule_book",
]  # fmt: skip
