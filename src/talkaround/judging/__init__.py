"""Findings -> judged findings: limits, severity, action, part, questions; each conclusion by a named rule."""

from __future__ import annotations

from talkaround.judging.companions import add_companions
from talkaround.judging.judge import Judged, judge
from talkaround.judging.limits import rule_book
from talkaround.judging.questions import SHOWN, Asked, ask

__all__ = ["SHOWN", "Asked", "Judged", "add_companions", "ask", "judge", "rule_book"]
