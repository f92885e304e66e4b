"""What the label of a waste bag carries; see printouts.py for what every such record is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

GENERATOR = "The generator of the waste decides how it is disposed of."


@dataclass(frozen=True)
class BagLabel:
    """The label of a waste bag. `agents` is what was in the air, as the area says it, or ''."""

    bag: str
    stream: str
    agents: str
    area: str
    opened_at: datetime
    by: str
    decides: str = GENERATOR
