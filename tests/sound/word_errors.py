"""Word error rates by jiwer. Spelling that means the same (tyre and tire, near side and nearside, 3 and three) is none."""

import jiwer

_SAME = {
    r"\bnear side\b": "nearside", r"\boff side\b": "offside", r"\btyre": "tire", r"metre": "meter",
    r"\bone\b": "1", r"\btwo\b": "2", r"\bthree\b": "3", r"\bfive\b": "5", r"\beight\b": "8", r"\beighteen\b": "18",
    r"\bthirty\b": "30", r"\beleven point 8\b": "118",
}  # fmt: skip
_WORDS = jiwer.Compose(
    [
        jiwer.ToLowerCase(),
        jiwer.SubstituteRegexes({"-": " "}),
        jiwer.RemovePunctuation(),
        jiwer.SubstituteRegexes(_SAME),
        jiwer.RemoveMultipleSpaces(),
        jiwer.Strip(),
        jiwer.ReduceToListOfListOfWords(),
    ]
)


def word_error_rate(said: list[str], heard: list[str]) -> float:
    """Words changed, lost and added, as a share of the words said, over all of the texts."""
    return float(jiwer.wer(said, heard, _WORDS, _WORDS))
