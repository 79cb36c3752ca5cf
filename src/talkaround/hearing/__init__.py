"""A recording to the words that were said in it, each with its time, by a speech recogniser on this machine.

What comes out is a recogniser's transcript as data, the form that ``intake`` reads. The recogniser only writes words
down; it is reached through the narrow ``Recogniser`` and loaded when the first recording comes.
"""

from __future__ import annotations

from .listening import Heard, Recogniser, Said, Timed, listen
from .model import RecogniserError, load
from .writing import ENDINGS, as_format

__all__ = ["ENDINGS", "Heard", "Recogniser", "RecogniserError", "Said", "Timed", "as_format", "listen", "load"]
