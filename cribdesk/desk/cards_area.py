"""What the place Areas knows of one area: what is enough there, its agents with how each figure was reached, the rest.

All in words: the window draws them and works nothing out.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Told:
    """One line of how something was reached: a name, its figure as it is read, what it rests on."""

    name: str
    figure: str
    basis: str = ""


@dataclass(frozen=True)
class Answer:
    """What stands first: its level ('stop', 'caution', 'fine'), the one sentence, what follows or why."""

    level: str
    head: str
    words: str


@dataclass(frozen=True)
class ModelThere:
    """One unit model in the area. `level` is 'fine', 'caution', 'stop', or '' for one that gives no air.

    `factor` is its factor with what it rests on, `verdict` why it is enough or not, `lens` what its lens covers ('' for
    none), `basis` where the factor stands.
    """

    model: str
    name: str
    level: str
    factor: str
    verdict: str
    lens: str
    cautions: tuple[str, ...] = ()
    basis: str = ""


@dataclass(frozen=True)
class AgentThere:
    """One agent: what was found, the limit it is held against, what follows, where it stands; each figure opens.

    `needed` is the protection it needs. `how` tells how the figures were reached, `statistics` what the samples say
    together with `note` where they say nothing, `samples` each sample. `assessment` names the finding to a form.
    """

    assessment: str
    name: str
    level: str
    found: str
    against: str
    needed: str
    basis: str
    review: str = ""
    how: tuple[Told, ...] = ()
    statistics: tuple[Told, ...] = ()
    note: str = ""
    samples: tuple[str, ...] = ()
    sampled: bool = False


@dataclass(frozen=True)
class ProcessThere:
    """A process: its least shade, which models' lenses reach it, and where the shade stands with its note."""

    words: str
    shade: str
    covered: str
    basis: str = ""


@dataclass(frozen=True)
class ControlThere:
    """A control in place, by its rank."""

    rank: str
    what: str
    since: str


@dataclass(frozen=True)
class AreaPage:
    """One area, whole."""

    label: str
    name: str
    required: bool
    answer: Answer
    models: tuple[ModelThere, ...]
    agents: tuple[AgentThere, ...]
    mixtures: tuple[Told, ...]
    worn: tuple[Told, ...]
    conditions: tuple[Told, ...]
    processes: tuple[ProcessThere, ...]
    controls: tuple[ControlThere, ...]
    notes: tuple[str, ...]
    earlier: tuple[str, ...]
    facts: tuple[tuple[str, str], ...] = ()
    hygienist: str = ""
    rules: str = ""


@dataclass(frozen=True)
class LimitRow:
    """One limit of the site's own; `held` counts the areas whose findings are held against its source."""

    substance: str
    kind: str
    figure: str
    source: str
    since: str
    held: int


@dataclass(frozen=True)
class EvidenceRow:
    """One unit model with its factor; `evidence` is what the site holds, '' for none, `open` that it would count."""

    model: str
    name: str
    factor: str
    evidence: str
    why: str
    open: bool


@dataclass(frozen=True)
class LimitsPage:
    """The site's own limits, and the factors of its models with the test evidence they rest on."""

    limits: tuple[LimitRow, ...]
    models: tuple[EvidenceRow, ...]
    withdrawn: tuple[str, ...]
    rules: str
    checked: str
