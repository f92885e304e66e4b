"""When and how much to order of one item, and why: figures in, words and figures out."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from math import ceil, sqrt

from cribdesk.compute.reorder import economic_quantity, packs
from cribdesk.crib.stock_forecast import NONE, Demand
from cribdesk.crib.words import count, number
from cribdesk.desk.cards_stock import AdviceLine, OrderAdvice
from cribdesk.desk.house import House

DAYS_A_YEAR = 365.25
CAREFUL = 1.28
"""Of what is bought to be used before its date only so much less is counted: 1 in 10 uses less (normal)."""


@dataclass(frozen=True)
class Costs:
    """What an order costs, whatever is on it, and what holding costs a year as a share of the price."""

    order_cents: float
    holding_share: float


def costs_of(house: House) -> Costs:
    """The house's costs of ordering and holding."""
    return Costs(float(house.settings["order_cost_cents"]), int(house.settings["holding_percent"]) / 100)


@dataclass(frozen=True)
class Position:
    """What there is of an item, and the storekeeper's own rules for it.

    `usable` may be fitted; `expiring` of them will probably be past their date before they are used; `shelf` is
    everything that takes up space.
    """

    usable: int
    on_order: int
    reserved: int
    expiring: int
    shelf: int
    pack_size: int
    price_cents: int
    minimum: int
    maximum: int | None
    shelf_days: int | None
    shelf_space: int | None = None

    @property
    def pieces(self) -> int:
        """On hand and on order, without what is promised or will expire unused."""
        return self.usable - self.expiring + self.on_order - self.reserved


@dataclass(frozen=True)
class Suggested:
    """What the figures alone say: order below `point`, at least up to it, `lot` pieces at a time where that is more."""

    point: int | None
    economic: float
    up_to: int | None


def suggested(demand: Demand | None, position: Position, costs: Costs) -> Suggested:
    """The order point at the service level over lead time and review period, and the economic quantity."""
    if demand is None or demand.method == NONE or demand.until_next is None:
        return Suggested(None, 0.0, None)
    point = demand.until_next.point(demand.service) if demand.a_day > 0 else 0
    economic = _economic(demand, position, costs)
    lot = _lot(demand, position, costs, economic)
    return Suggested(point, economic, point + max(0, lot - 1) if economic > 0 else point)


def _economic(demand: Demand, position: Position, costs: Costs) -> float:
    """Of what comes from one supplier the use between two orders: they share one order's cost, each in its part."""
    holding = position.price_cents * costs.holding_share
    if holding <= 0:
        return demand.a_day * (demand.horizon_days)
    if demand.cycle_days is not None:
        return demand.a_day * demand.cycle_days
    return economic_quantity(demand.a_day * DAYS_A_YEAR, costs.order_cents, holding)


def advise(
    demand: Demand | None, position: Position, costs: Costs, *, today: date | None = None, own: bool = True
) -> OrderAdvice:
    """What to order now. `own` False: as if the storekeeper had set no minimum and no maximum."""
    figures = suggested(demand, position, costs)
    own_minimum = position.minimum if own and position.minimum > 0 else None
    own_maximum = position.maximum if own else None
    point = own_minimum if own_minimum is not None else figures.point
    up_to = own_maximum if own_maximum is not None else figures.up_to
    if point is not None and up_to is not None:
        up_to = max(up_to, point) if own_maximum is None else up_to
    short = point is not None and position.pieces < point
    pieces, limits = _pieces(demand, position, costs, figures, point, own_maximum) if short else (0, ())
    service = demand.service if demand is not None else 0.0
    return OrderAdvice(
        order_now=pieces > 0,
        packs=pieces // position.pack_size,
        pieces=pieces,
        cost_cents=pieces * position.price_cents,
        point=point,
        up_to=up_to,
        suggested_point=figures.point,
        suggested_up_to=figures.up_to,
        service=service,
        words=_words(position, point, pieces, own_minimum is not None, limits),
        lines=_lines(demand, position, costs, figures, own_minimum, own_maximum, pieces, limits),
        along=0 if short else _along(demand, position, point, up_to, own_maximum is not None),
    )


def _along(
    demand: Demand | None, position: Position, point: int | None, up_to: int | None, fixed_top: bool
) -> int:
    """Pieces up to the upper level, in whole packs, where the point is reached before the next order is due.

    A 'can-order' rule for items that share an order (common practice, no source).
    """
    if demand is None or demand.cycle_days is None or point is None or up_to is None or demand.a_day <= 0:
        return 0
    if position.pieces - demand.a_day * demand.cycle_days > point - 1:
        return 0
    packs_wanted = (up_to - position.pieces) / position.pack_size
    wanted = (int(packs_wanted) if fixed_top else round(packs_wanted)) * position.pack_size
    for most, _ in _limits(demand, position):
        wanted = min(wanted, most // position.pack_size * position.pack_size)
    return max(0, wanted)


def _pieces(
    demand: Demand | None,
    position: Position,
    costs: Costs,
    figures: Suggested,
    point: int | None,
    own_maximum: int | None,
) -> tuple[int, tuple[str, ...]]:
    """A whole number of packs, and in words what kept it from being more."""
    pack, have = position.pack_size, position.pieces
    need = (point or 0) - have
    if own_maximum is not None:
        wanted = max(1, (own_maximum - have) // pack) * pack
        over = have + wanted - own_maximum
        limits = (f"one pack is the least; it goes {over} over the maximum",) if over > 0 else ()
    else:
        wanted = max(ceil(need / pack) * pack, _lot(demand, position, costs, figures.economic))
        limits = ()
    for most, why in _limits(demand, position):
        if wanted > most:
            wanted = most // pack * pack
            limits = (*limits, why)
    if wanted < pack:
        least = position.usable <= 0 and position.on_order <= 0
        wanted = pack if least else 0
        limits = (*limits, "one pack is the least, as none is left" if least else "not even one pack fits")
    return wanted, limits


def _lot(demand: Demand | None, position: Position, costs: Costs, economic: float) -> int:
    """Pieces in the cheaper of the two whole numbers of packs next to the economic quantity; one pack at least."""
    holding = position.price_cents * costs.holding_share
    if demand is None or economic <= 0:
        return position.pack_size
    if holding <= 0:
        return ceil(economic / position.pack_size) * position.pack_size
    a_year = demand.a_day * DAYS_A_YEAR
    share = economic**2 * holding / (2 * a_year)  # the cost of an order that makes this quantity the cheapest
    return packs(economic, position.pack_size, a_year, share, holding)


def _limits(demand: Demand | None, position: Position) -> list[tuple[int, str]]:
    """(the most that may be ordered, why) by shelf life and by shelf space."""
    found = []
    if demand is not None and demand.to_expiry is not None:
        sure = max(0.0, demand.to_expiry - CAREFUL * sqrt(demand.to_expiry))
        most = max(0, int(sure) - max(0, position.pieces))
        found.append((most, f"more would pass its date unused: {number(int(sure))} are used within the shelf life"))
    if position.shelf_space is not None:
        room = max(0, position.shelf_space - position.shelf - position.on_order)
        found.append((room, f"the shelf holds {number(position.shelf_space)}"))
    return found


def _words(position: Position, point: int | None, pieces: int, own: bool, limits: tuple[str, ...]) -> str:
    if point is None:
        return "No figure. Set a minimum."
    name = "your minimum" if own else "the order point"
    there = f"{number(position.pieces)} on hand and on order"
    if position.pieces >= point:
        return f"Nothing to order: {there}, {name} is {number(point)}."
    if not pieces:
        return f"{there}, under {name} of {number(point)}, but {limits[-1] if limits else 'nothing can be ordered'}."
    held = f"; {limits[-1]}" if limits else ""
    bought = count(pieces // position.pack_size, "pack")
    return f"Order {bought}, {count(pieces, 'piece')}: {there}, under {name} of {number(point)}{held}."


def _lines(
    demand: Demand | None,
    position: Position,
    costs: Costs,
    figures: Suggested,
    own_minimum: int | None,
    own_maximum: int | None,
    pieces: int,
    limits: tuple[str, ...],
) -> tuple[AdviceLine, ...]:
    lines: list[AdviceLine] = []
    if demand is None:
        lines.append(AdviceLine("Expected use", "no figure yet", "it is being worked out"))
    elif demand.until_next is None:
        lines.append(AdviceLine("Expected use", "no figure", demand.basis))
    else:
        lines += _use_lines(demand, demand.until_next.mean, figures)
        if position.price_cents > 0:
            basis = _quantity_basis(demand, position, costs)
            lines.append(AdviceLine("Cheapest quantity", f"{figures.economic:.1f} pieces", basis))
    lines.append(_there(position))
    if own_minimum is not None:
        lines.append(AdviceLine("Your minimum", number(own_minimum), "set by hand; it outranks the order point"))
    if own_maximum is not None:
        lines.append(AdviceLine("Your maximum", number(own_maximum), "set by hand; orders stay below it"))
    lines.append(AdviceLine("Pack", count(position.pack_size, "piece"), "whole packs only, the cheaper of two"))
    lines += [AdviceLine("Held back", "", why) for why in limits]
    lines.append(AdviceLine("To order", count(pieces, "piece"), f"{count(pieces // position.pack_size, 'pack')}"))
    return tuple(lines)


def _quantity_basis(demand: Demand, position: Position, costs: Costs) -> str:
    a_year, order = demand.a_day * DAYS_A_YEAR, costs.order_cents / 100
    if demand.cycle_days is not None:
        return (
            f"use a year {a_year:.3g} x {demand.cycle_days:.0f} days between two orders to its supplier, shared by all "
            f"that comes from there: the root of 2 x cost of an order {order:.2f} / cost of holding what is used of it "
            f"all in a year, a year at most (joint economic quantity)"
        )
    return (
        f"the root of 2 x use a year {a_year:.3g} x cost of an order {order:.2f} / cost of holding one a year "
        f"{position.price_cents * costs.holding_share / 100:.2f} (economic order quantity)"
    )


def _use_lines(demand: Demand, mean: float, figures: Suggested) -> list[AdviceLine]:
    lead = demand.lead
    return [
        AdviceLine("Use a week", f"{demand.a_day * 7:.2g} pieces", demand.basis),
        AdviceLine("Delivery takes", f"{lead.median_days:.0f} days", f"in the middle; {lead.basis}"),
        AdviceLine("Next look", count(demand.review_days, "day"), "until the next time something is ordered"),
        AdviceLine("Expected use until a later delivery", f"{mean:.3g} pieces", "over delivery and next look"),
        AdviceLine(
            "Order point",
            number(figures.point or 0),
            f"enough in {demand.service * 100:g} of 100 such times: the smallest stock that is",
        ),
    ]


def _there(position: Position) -> AdviceLine:
    parts = [f"{number(position.usable)} usable"]
    if position.on_order:
        parts.append(f"{number(position.on_order)} on order")
    if position.reserved:
        parts.append(f"less {number(position.reserved)} promised")
    if position.expiring:
        parts.append(f"less {number(position.expiring)} that pass their date before they are used")
    return AdviceLine("There", count(position.pieces, "piece"), ", ".join(parts))
