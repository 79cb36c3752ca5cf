"""How words sound, so that what a recogniser wrote can be held against what the trade says.

A word is spelt as sounds by the regular rules of English spelling, and each sound is written as what makes it up: a
consonant as where it is made, how, and whether voiced; a vowel as how open it is and how far back. ``b`` and ``m``, ``p``
and ``b``, ``f`` and ``th`` then share two letters of three, and a plain comparison of texts finds them alike. The known
phonetic keys (metaphone and its kin) are no help here: to them two consonants are the same or strangers, and vowels nothing.
"""

from __future__ import annotations

import re
from functools import lru_cache

# Spelling and its sounds, tried in this order at each letter.
_RULES = (
    # Words that go by no rule.
    ("^one$", "w@n"), ("^two$|^too?$", "tu"), ("^the$", "T@"), ("^of$", "@v"), ("^you$", "yu"), ("^are$", "or"),
    ("^shoe", "Su"), ("^gauge|^gage", "gAJ"), ("^gear", "gir"), ("^get", "get"), ("^work", "w@rk"), ("^does$", "d@z"),
    ("^tread|^thread", "tred"), ("^head", "hed"), ("^lead$", "led"), ("^wear|^where", "wEr"), ("^choose", "Cuz"),
    # Groups of consonants.
    ("^kn", "n"), ("^wr", "r"), ("^gn", "n"), ("^ps", "s"), ("^wh", "w"), ("tch", "C"), ("dge|dg", "J"), ("tion", "S@n"),
    ("sion", "S@n"), ("ture", "C@r"), ("ci?ous", "S@s"), ("eigh", "A"), ("augh|ough", "o"), ("igh", "Y"), ("gh", ""),
    ("ph", "f"), ("sh", "S"), ("ch", "C"), ("th", "T"), ("ck|cc", "k"), ("qu", "kw"), ("x", "ks"), ("ng$", "N"),
    ("ng(?=[^aeiouyr])", "N"), ("nk", "Nk"), ("sc(?=[eiy])", "s"), ("c(?=[eiy])", "s"), ("mb$", "m"),
    ("g(?=[eiy])", "J"), ("(?P<twin>[bdfgklmnprstz])(?=(?P=twin))", ""), ("(?<=[bcdfgkpstz])le$", "@l"),
    # Groups of vowels.
    ("ear(?=[nl])", "@r"), ("ear$|eer", "ir"), ("ear", "Er"), ("ee|ea", "i"), ("iew|ew", "yu"), ("ie$", "Y"), ("ie", "i"),
    ("ei|ey(?!$)", "A"), ("ey$", "i"), ("air|are$|are(?=[dr])", "Er"), ("ai|ay", "A"), ("al(?=k)", "o"), ("all", "ol"),
    ("ar", "or"), ("au|aw", "o"), ("oar|oor|our|ore|or", "or"), ("oa|oe$", "O"), ("oi|oy", "oy"), ("ook", "uk"), ("oo", "u"),
    ("ould", "ud"), ("ou", "W"), ("ow$", "O"), ("ow", "W"), ("ire|yre", "Yr"), ("ure", "yur"), ("er|ir|ur", "@r"),
    ("ue$|ui", "u"),
    # A vowel before one consonant and a vowel that ends the word is long.
    ("a(?=[bcdfgklmnpstvz](?:e$|ing$|er$|y$))", "A"), ("o(?=[bcdfgklmnpstvz](?:e$|ing$|er$))", "O"), ("o(?=l[dt])", "O"),
    ("i(?=[bcdfgklmnpstvz](?:e$|ing$|er$))", "Y"), ("i(?=nd$|ld$)", "Y"), ("u(?=[bcdfgklmnpstvz](?:e$|ing$|er$))", "u"),
    ("e(?=[bcdfgklmnpstvz]e$)", "i"), ("(?<=^[bcdfghjklmnpqrstvwxz])y$|(?<=^[bcdfghjklmnpqrstvwxz][lr])y$", "Y"),
    ("y$", "i"), ("^y", "y"), ("i$", "Y"), ("o$", "O"), ("(?<=[^aeiouy])e$", ""), ("(?<=[^aeioudt])ed$", "d"),
    ("a", "a"), ("e", "e"), ("[iy]", "I"), ("o", "o"), ("u", "@"), ("c", "k"), ("j", "J"), ("[bdfghklmnprstvwz]", None),
)  # fmt: skip
_SPELLING = re.compile("|".join(f"(?P<r{n}>{pattern})" for n, (pattern, _) in enumerate(_RULES)))

_MADE_OF = {
    # Consonants: where (b lips, D teeth, d gum, j palate, g back), how (s stop, n nasal, f breath, h hiss, l glide), voice.
    "p": "bs-", "b": "bs+", "m": "bn+", "f": "bf-", "v": "bf+", "w": "bl+",
    "T": "Df-", "t": "ds-", "d": "ds+", "n": "dn+", "s": "dh-", "z": "dh+", "l": "dl+", "r": "rl+",
    "S": "jh-", "Z": "jh+", "C": "jsh-", "J": "jsh+", "y": "jl+", "k": "gs-", "g": "gs+", "N": "gn+", "h": "gf",
    # Vowels: how open (1 to 3), how far back (x front, y middle, w back).
    "i": "1x", "I": "1x", "e": "2x", "E": "2x", "A": "2x1", "a": "3x", "@": "2y", "o": "3w", "O": "2w", "u": "1w",
    "Y": "3y1", "W": "3yw",
}  # fmt: skip
_KEY = {
    **dict.fromkeys("pbmfv", "p"), **dict.fromkeys("Ttdn", "t"), **dict.fromkeys("szSZCJ", "s"),
    **dict.fromkeys("kgN", "k"),
}  # fmt: skip
_LETTERS = dict(
    zip(
        "abcdefghijklmnopqrstuvwxyz",
        "A bi si di i ef Ji AC Y JA kA el em en O pi kyu or es ti yu vi d@b@lyu eks wY zi".split(),
        strict=True,
    )
)


@lru_cache(maxsize=8192)
def sounds_of(word: str) -> str:
    """The sounds of a folded word, one letter each; one without vowels is spelt out ("cv" is ``sivi``)."""
    if len(word) <= 4 and not re.search("[aeiouy]", word):
        return "".join(_LETTERS.get(c, "") for c in word)
    out = []
    for m in _SPELLING.finditer(word):
        sounds = _RULES[int((m.lastgroup or "r0")[1:])][1]
        out.append(m.group() if sounds is None else sounds)
    return "".join(out)


def spelled_out(sounds: str) -> str:
    """Sounds as what they are made of, for comparing; sounds that are alike share letters."""
    return "".join(_MADE_OF.get(s, "") for s in sounds)


def key_of_sounds(sounds: str) -> str:
    """The classes of the consonants, in which words that are taken for each other mostly agree."""
    return "".join(_KEY.get(s, "") for s in sounds)
