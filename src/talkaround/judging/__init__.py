"""Findings -> judged findings: limits, severity, action, part, questions; each conclusion by a named rule."""

from __future__ import annotations

from talkaround.judging.judge import Judged, judge
from talkaround.judging.limits import rule_book
from talkaround.judging.questions import Asked, ask

__all__ = ["Asked", "Judged", "ask", "judge", "rule_book"]
