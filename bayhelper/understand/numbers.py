"""Spoken and typed numbers."""

from __future__ import annotations

from collections.abc import Sequence

from bayhelper.terms.errors import GrammarError

UNITS = {
    word: value
    for value, word in enumerate(
        "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen "
        "fifteen sixteen seventeen eighteen nineteen".split()
    )
}
TENS = {
    word: 10 * value
    for value, word in enumerate(
        "twenty thirty forty fifty sixty seventy eighty ninety".split(), start=2
    )
}


def number(words: Sequence[str]) -> float:
    """The value of words such as 'one hundred and twelve point five' or 'two and a half'.

    Raises GrammarError for words that are no number.
    """
    whole, fraction = 0, 0.0
    rest = list(words)
    if rest[-3:] == ["and", "a", "half"]:
        fraction, rest = 0.5, rest[:-3]
    if "point" in rest:
        at = rest.index("point")
        digits = [UNITS.get(word, -1) for word in rest[at + 1 :]]
        if not digits or not all(0 <= digit <= 9 for digit in digits):
            raise GrammarError(f"After 'point' a number goes on with digits, not {rest[at + 1 :]}.")
        fraction, rest = float("0." + "".join(str(digit) for digit in digits)), rest[:at]
    for word in rest:
        if word in UNITS:
            whole += UNITS[word]
        elif word in TENS:
            whole += TENS[word]
        elif word == "hundred":
            whole = max(whole, 1) * 100
        elif word not in ("and", "a"):
            raise GrammarError(f"'{word}' is no part of a spoken number in {' '.join(words)}.")
    return whole + fraction


def spoken(value: str) -> list[str]:
    """The words of typed digits such as '112' or '22.5'; up to 999.

    Raises GrammarError for anything else.
    """
    whole_text, _, fraction = value.partition(".")
    if not whole_text.isdigit() or (fraction and not fraction.isdigit()) or int(whole_text) > 999:
        raise GrammarError(f"'{value}' is no number from 0 to 999.")
    hundreds, rest = divmod(int(whole_text), 100)
    small = {value: word for word, value in UNITS.items()}
    big = {value: word for word, value in TENS.items()}
    words = [small[hundreds], "hundred"] if hundreds else []
    if rest >= 20:
        words.append(big[rest // 10 * 10])
        rest %= 10
        words += [small[rest]] if rest else []
    elif rest or not hundreds:
        words.append(small[rest])
    if fraction.strip("0"):
        words += ["point", *(small[int(digit)] for digit in fraction)]
    return words
