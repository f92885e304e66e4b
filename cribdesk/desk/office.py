"""Site settings, and what was printed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from cribdesk.crib.records import Print, Role, SiteSetting
from cribdesk.crib.refusal import NotQualified, Unknown, WrongFigure
from cribdesk.desk.operation import Context, Operation, Outcome
from cribdesk.desk.ports import Work
from cribdesk.desk.settings import BY_NAME


@dataclass(frozen=True, kw_only=True)
class SetSetting(Operation):
    """One site setting changes."""

    setting: str
    value: str

    code: ClassVar[str] = "set-setting"
    words: ClassVar[str] = "Changing a setting"
    may: ClassVar[tuple[Role, ...]] = (Role.SYSTEM, Role.PROGRAM)

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves it where its value can be."""
        setting = BY_NAME.get(self.setting)
        if setting is None:
            raise Unknown(f"Setting {self.setting}")
        if setting.name == "guard_band" and not context.clerk.has(Role.PROGRAM):
            raise NotQualified("Whether a guard band is kept", (Role.PROGRAM.value,))
        try:
            setting.check(self.value)
        except ValueError as failure:
            raise WrongFigure(setting.words, str(failure)) from None
        there = work.first(SiteSetting, name=self.setting)
        if there is None:
            work.save(SiteSetting(name=self.setting, value=self.value))
        else:
            work.take(there)
            work.save(replace(there, value=self.value))
        return Outcome(f"Setting {self.setting}: {self.value}.", ())


@dataclass(frozen=True, kw_only=True)
class NotePrint(Operation):
    """A paper came out of the printer, or did not; `failed` says why."""

    paper: str
    of: str
    failed: str = ""

    code: ClassVar[str] = "print"
    words: ClassVar[str] = "Printing"

    def run(self, work: Work, context: Context) -> Outcome:
        """Keeps it with its copy number; one that failed takes no number."""
        copies = [one for one in work.find(Print, paper=self.paper, of=self.of) if not one.failed]
        copy = len(copies) + (0 if self.failed else 1)
        work.save(
            Print(paper=self.paper, of=self.of, copy=copy, at=context.moment, failed=self.failed)
        )
        name = self.paper.replace("_", " ")
        words = f"not printed: {self.failed}" if self.failed else f"printed, copy {copy}"
        return Outcome(f"{name.capitalize()} {self.of} {words}.", (self.of,) if self.of[:1].isalpha() else ())
