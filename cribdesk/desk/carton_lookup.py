"""Resolves the code on a carton to its card."""

from __future__ import annotations

from datetime import datetime

from cribdesk.crib.records import Gtin, StockItem
from cribdesk.crib.scan import shown
from cribdesk.desk.cards import NotFound
from cribdesk.desk.cards_carton import CartonCard
from cribdesk.desk.gs1 import Carton, CartonFault, read_carton
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader

LENGTHS = (8, 12, 13, 14)
"""Digits of a GTIN as the older codes carry it; it is kept with 14, zeros before it."""


def carton_of(reader: Reader, house: House, text: str, moment: datetime) -> CartonCard | NotFound:
    """The carton of a code of fields, in at most two queries; NotFound with the field that cannot be."""
    try:
        carton = read_carton(text, house.today(moment))
    except CartonFault as fault:
        return NotFound(shown(text), f"{fault} Scan it again, or type it in. Nothing changed.")
    return _card(reader, carton)


def known_number(reader: Reader, text: str) -> CartonCard | None:
    """The carton whose bare number this is, where that number stands for an item here."""
    if len(text) not in LENGTHS or not text.isascii() or not text.isdigit():
        return None
    card = _card(reader, Carton(text.zfill(14)))
    return card if card.item else None


def _card(reader: Reader, carton: Carton) -> CartonCard:
    known = reader.first(Gtin, code=carton.gtin)
    if known is None:
        return CartonCard(carton, None)
    return CartonCard(carton, reader.get(StockItem, known.item_id), known.pieces)
