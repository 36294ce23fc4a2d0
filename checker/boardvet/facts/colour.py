"""The colour of an LED, from the words in which people name it."""

from __future__ import annotations

import re

__all__ = ["colour_in"]

_WORDS = {
    "red": "red",
    "rot": "red",
    "rouge": "red",
    "amber": "amber",
    "orange": "orange",
    "yellow": "yellow",
    "gelb": "yellow",
    "jaune": "yellow",
    "yellowgreen": "yellow-green",
    "green": "green",
    "grün": "green",
    "gruen": "green",
    "blue": "blue",
    "blau": "blue",
    "bleu": "blue",
    "bleue": "blue",
    "white": "white",
    "weiss": "white",
    "weiß": "white",
    "blanc": "white",
    "blanche": "white",
    "infrared": "infrared",
    "infrarot": "infrared",
    "infrarouge": "infrared",
    "ir": "infrared",
    "cyan": "cyan",
    "violet": "violet",
    "purple": "violet",
    "pink": "pink",
    "warmwhite": "warm white",
    "rgb": "red-green-blue",
    "uv": "ultraviolet",
    "ultraviolet": "ultraviolet",
}
_BLURRED = frozenset({"bicolor", "bicolour", "bi", "rgbw", "multi", "dual", "tri"})
_YELLOW_GREEN = re.compile(r"(?i)yellow[-_ ]?green|yellowish[-_ ]?green")
_WARM_WHITE = re.compile(r"(?i)warm[-_ ]?white")
_WAVELENGTH = re.compile(r"(?i)(?<!\d)(\d{3,4})\s?nm\b")
_BANDS = (
    (360, 410, "ultraviolet"),
    (440, 485, "blue"),
    (500, 540, "green"),
    (555, 578, "yellow-green"),
    (583, 596, "yellow"),
    (597, 609, "orange"),
    (610, 670, "red"),
    (800, 1100, "infrared"),
)


def colour_in(text: str) -> str | None:
    """Return the one colour that a text names, None if it names none or several.

    Examples
    --------
    >>> colour_in("LED_RED")
    'red'
    >>> colour_in("LED/GREEN/0603")
    'green'
    >>> colour_in("LED 570nm")
    'yellow-green'
    >>> colour_in("LED_Red_Green") is None
    True
    """
    bands = {
        name
        for number in _WAVELENGTH.findall(text)
        for low, high, name in _BANDS
        if low <= int(number) <= high
    }
    if len(bands) == 1:
        return bands.pop()
    plain = _WARM_WHITE.sub(" warmwhite ", _YELLOW_GREEN.sub(" yellowgreen ", text))
    words = [word.lower() for word in re.findall(r"[^\W\d_]+", plain)]
    if _BLURRED.intersection(words):
        return None
    named = {_WORDS[word] for word in words if word in _WORDS}
    return named.pop() if len(named) == 1 else None
