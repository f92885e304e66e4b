"""The records of papers about people: the information sheet for voluntary users."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

POINTS = (
    "Read what the maker writes about its use, care and limits, and keep to it.",
    "Take one that is certified for what is in the air here. Its label or leaflet says for what.",
    "Do not go with it where something is in the air that it was not made for.",
    "Keep to your own, so that nobody wears another's by mistake.",
)
"""The main points of Appendix D to 29 CFR 1910.134, said in our own words, from memory; its own text governs."""


@dataclass(frozen=True)
class InformationPaper:
    """What goes to somebody who wears a respirator by choice, beside the text it tells of.

    `wearer`: whole label. `points` in order. `given_by`: a name, with the counter.
    """

    wearer: str
    wearer_name: str
    wearer_about: str
    given_on: date
    given_by: str
    points: tuple[str, ...] = POINTS
