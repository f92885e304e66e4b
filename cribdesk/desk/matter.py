"""A matter: one thing done at the counter besides issue and return, as a row: when it makes sense, its form, its end.

Its words, key and printed code are the command's of the same id (`commands.py`). The modules of `matters/` hold them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime

from cribdesk.desk.cards import Card
from cribdesk.desk.house import House
from cribdesk.desk.operation import Operation
from cribdesk.desk.ports import Reader
from cribdesk.desk.receipt import Receipt
from cribdesk.desk.routing import Routed
from cribdesk.desk.slate import AskForm, Slate

Offered = Callable[[House, Slate], "str | None"]
"""None: it makes no sense with what lies on the counter. '': it can be chosen. Words: why it cannot be yet."""


def _no_scan(house: House, slate: Slate, form: AskForm, card: Card) -> AskForm | str | None:
    return None


def _hears_nothing(form: AskForm, command: str) -> tuple[AskForm, str] | None:
    return None


def _lacks_nothing(form: AskForm) -> str:
    return ""


@dataclass(frozen=True, kw_only=True)
class Matter:
    """One row. With `entry` it opens that entry form, about the label of `about`; else a form of its own by `opens`.

    `shown` puts it among the buttons, under its command's key; else it stands under 'More'. `takes` is a scan while
    the form is open: the form it leads to, the words of a refusal, or None where it does not belong. `begins` says
    whether a scan beside what lies there opens it by itself. `asks` fills in what only the store knows, each time the
    form opened or changed. `acts` goes at once, without a form. `after` is what follows the receipt. `settles` is what
    the form's end does where nothing is written: it only changes the slate. `hears` is the command of another matter,
    scanned or chosen while the form is open: the form it leads to and what is said, or None.
    """

    id: str
    offered: Offered
    shown: bool = False
    kind: str = "plain"
    cost: str = ""
    entry: str = ""
    about: Callable[[Slate], str] = lambda slate: ""
    opens: Callable[[House, Slate, datetime], AskForm] | None = None
    asks: Callable[[Reader, House, AskForm, datetime], AskForm] | None = None
    begins: Callable[[House, Slate, Card], bool] = lambda house, slate, card: False
    takes: Callable[[House, Slate, AskForm, Card], AskForm | str | None] = _no_scan
    hears: Callable[[AskForm, str], tuple[AskForm, str] | None] = _hears_nothing
    lacks: Callable[[AskForm], str] = _lacks_nothing
    builds: Callable[[House, Slate, AskForm, str], Operation] | None = None
    acts: Callable[[House, Slate, str], Operation] | None = None
    turns: Callable[[House, Slate, datetime], Routed] | None = None
    settles: Callable[[House, Slate, AskForm, datetime], Routed] | None = None
    after: Callable[[House, Slate, AskForm | None, Receipt, datetime], Routed] | None = None


def changed(form: AskForm, **values: str) -> AskForm:
    """The form with these values in its fields."""
    known = dict(form.values) | values
    return replace(form, values=tuple(known.items()), trouble="", turn=form.turn + 1)
