"""Numbers and times as they are spoken: words, rounded to what a person can use."""

from __future__ import annotations

ONES = (
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
)
"""Words of the numbers below twenty."""
TENS = (
    "zero",
    "ten",
    "twenty",
    "thirty",
    "forty",
    "fifty",
    "sixty",
    "seventy",
    "eighty",
    "ninety",
)
"""Words of the tens, by their number."""
HOUR_S = 3600
"""Seconds of an hour."""
MINUTE_S = 60
"""Seconds of a minute."""
RATE_WPM = 165
"""The voice's own rate, for which `spoken_s` holds."""


def spoken_s(text: str) -> float:
    """About how long the sentence takes to speak at RATE_WPM, seconds.

    Fitted to 186 alerts rendered by eSpeak NG's default voice: 0.054 s a letter and some more for
    each pause (standard error 0.12 s), with commas rounded up.
    """
    return 0.19 + 0.054 * len(text) + 0.25 * text.count(",") + 0.2 * text.count(". ")


def number_words(number: int) -> str:
    """A whole number below ten thousand in words, such as 'one hundred and twenty'."""
    if number < 0:
        return f"minus {number_words(-number)}"
    if number < 20:
        return ONES[number]
    if number < 100:
        tens, ones = divmod(number, 10)
        return TENS[tens] + (f" {ONES[ones]}" if ones else "")
    size, name = (1000, "thousand") if number >= 1000 else (100, "hundred")
    whole, rest = divmod(number, size)
    joint = " and " if rest < 100 else " "
    return f"{number_words(whole)} {name}" + (f"{joint}{number_words(rest)}" if rest else "")


def duration_words(seconds: float) -> str:
    """A length of time as a person would say it: 'forty seconds', 'two minutes', 'an hour'.

    Up to a minute and a half to five seconds, below an hour and a half to a minute, then to half
    hours; the sign is left out.
    """
    length_s = abs(seconds)
    fives = round(length_s / 5) * 5
    if fives <= 90:
        if fives == MINUTE_S:
            return "one minute"
        return f"{number_words(max(fives, 5))} seconds"
    minutes = round(length_s / MINUTE_S)
    if minutes < 90:
        if minutes == 60:
            return "one hour"
        return counted(minutes, "minute")
    halves = round(length_s / HOUR_S * 2)
    whole, half = divmod(halves, 2)
    if half:
        return f"{number_words(whole)} and a half hours"
    return counted(whole, "hour")


def counted(number: int, thing: str) -> str:
    """'one minute', 'two minutes'."""
    return f"{number_words(number)} {thing}" + ("" if number == 1 else "s")
