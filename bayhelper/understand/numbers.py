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
"""Values of the words from zero to nineteen."""
TENS = {
    word: 10 * value
    for value, word in enumerate(
        "twenty thirty forty fifty sixty seventy eighty ninety".split(), start=2
    )
}
"""Values of the words for tens."""
MOST = 9999
"""Greatest whole number that is read: nine thousands are the most that are counted."""
NUMBER_WORDS = frozenset({*UNITS, *TENS, "oh", "hundred", "thousand", "point", "half"})
"""Words that make or change a number wherever they stand."""


def number(words: Sequence[str]) -> float:
    """The value of words such as 'one hundred and twelve point five' or 'two and a half'.

    Also read: 'one oh five' (105), 'one twelve' (112), 'a thousand', 'half'. Raises GrammarError
    for words that are no number from 0 to 9999.
    """
    rest = list(words)
    if rest in (["half"], ["a", "half"]):
        return 0.5
    if rest[-3:] == ["and", "a", "half"]:
        return _whole(rest[:-3], words) + 0.5
    if "point" not in rest:
        return float(_whole(rest, words))
    at = rest.index("point")
    whole = _whole(rest[:at], words) if at else 0
    return float(f"{whole}.{digits(rest[at + 1 :])}")


def digits(words: Sequence[str]) -> str:
    """The digits of words such as 'four oh seven two': '4072'.

    Raises GrammarError for a word that is no digit.
    """
    found = [0 if word == "oh" else UNITS.get(word, 10) for word in words]
    if not found or max(found) > 9:
        raise GrammarError(
            f"{' '.join(words)!r} is no row of digits. Say one digit after the other."
        )
    return "".join(map(str, found))


def _whole(words: Sequence[str], said: Sequence[str]) -> int:
    rest = list(words)
    value = 0
    for word, size, most in (("thousand", 1000, 9), ("hundred", 100, 99)):
        if word not in rest:
            continue
        at = rest.index(word)
        count = 1 if rest[:at] == ["a"] else _below_hundred(rest[:at])
        if not count or count > most or (value and count > 9):
            raise _no_number(said)
        value += count * size
        rest = rest[at + 1 :]
        if rest[:1] == ["and"]:
            rest = rest[1:]
            if not rest:
                raise _no_number(said)
        if not rest:
            return value
    if value:
        small = _below_hundred(rest)
        if not small:
            raise _no_number(said)
        return value + small
    plain = _below_hundred(rest)
    return plain if plain is not None else _run_together(rest, said)


def _below_hundred(words: Sequence[str]) -> int | None:
    """0 to 99, or None."""
    match list(words):
        case [only] if only in UNITS or only in TENS:
            return UNITS[only] if only in UNITS else TENS[only]
        case [ten, unit] if ten in TENS and 1 <= UNITS.get(unit, 0) <= 9:
            return TENS[ten] + UNITS[unit]
        case _:
            return None


def _run_together(words: Sequence[str], said: Sequence[str]) -> int:
    """'one oh five', 'one twelve', 'one twenty five': the hundreds are a bare digit."""
    hundreds = UNITS.get(words[0], 0) if words else 0
    rest = list(words[1:])
    if 1 <= hundreds <= 9 and rest:
        if len(rest) == 2 and rest[0] in ("oh", "zero") and 1 <= UNITS.get(rest[1], 0) <= 9:
            return 100 * hundreds + UNITS[rest[1]]
        small = _below_hundred(rest)
        if small is not None and small >= 10:
            return 100 * hundreds + small
    raise _no_number(said)


def _no_number(words: Sequence[str]) -> GrammarError:
    return GrammarError(
        f"{' '.join(words)!r} is no spoken number from 0 to {MOST}. Say it like "
        "'one hundred and twelve point five'."
    )


def spoken(value: str) -> list[str]:
    """The words of typed digits such as '112' or '22.5'; up to 999.

    Raises GrammarError for anything else.
    """
    whole_text, _, fraction = value.partition(".")
    if not whole_text.isdigit() or (fraction and not fraction.isdigit()) or int(whole_text) > 999:
        raise GrammarError(f"'{value}' is no number from 0 to 999. Type digits, such as 22.5.")
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
        words += ["point", *(small[int(digit)] for digit in fraction.rstrip("0"))]
    return words
