"""Every command once: id, words, key, printed code, who may. Menus, keys and the answer card come from here."""

from __future__ import annotations

from dataclasses import dataclass

from cribdesk.crib.label import with_check


@dataclass(frozen=True)
class Command:
    """One command. `key` is where the hand finds it; `code` the payload of its printed label, if it has one."""

    id: str
    words: str
    key: str = ""
    code: str = ""

    @property
    def label(self) -> str:
        """The label that can be printed and scanned for it, or ''."""
        return with_check(f"X{self.code}") if self.code else ""


COMMANDS: tuple[Command, ...] = (
    # answers in a check
    Command("good", "Good", "F5", "ANSYES"),
    Command("not-good", "Not good", "F8", "ANSNAY"),
    Command("next", "Next", "F5", "ANSNXT"),
    Command("back", "Back", "F9", "ANSBCK"),
    Command("break-off", "Break off", "F12", "ANSBRK"),
    # the counter
    Command("go", "Go on", "F5", "CMDGGG"),
    Command("take-back", "Take back", "F5", "CMDRET"),
    Command("returns", "Take returns", "F6", "CMDRUSH"),
    Command("complete-return", "Complete the return", "F6", "CMDCMP"),
    Command("hold", "Hold", "F8", "CMDHLD"),
    Command("release", "Release", "F7", "CMDREL"),
    Command("change", "Change a part", "F7", "CMDCHG"),
    Command("clean", "Clean", "F6", "CMDCLN"),
    Command("bench", "Inspect at the bench", "F6", "CMDBEN"),
    Command("look-over", "Look over", "F6", "CMDLKV"),
    Command("start-charge", "On a charger", "F5", "CMDCHA"),
    Command("end-charge", "Charged", "F5", "CMDCHE"),
    Command("print-slip", "Print slip to sign", "F7", "CMDSLZ"),
    Command("area", "Other area or time", "F6", ""),
    Command("bind", "Bind this label", "F6", ""),
    Command("relabel", "New label", "", ""),
    Command("put-aside", "Put aside", "F9", "CMDCLR"),
    Command("sign-on", "Sign on", "", "CMDSGN"),
    Command("take-over", "Sign on here", "F6", ""),
    Command("sign-off", "Sign off", "", "CMDSGF"),
    Command("done", "Done", "F5", "CMDDNE"),
    Command("later", "Later", "F9", ""),
    Command("open-page", "Open the page", "", ""),
    Command("more", "More", "F10", "CMDMRE"),
)
BY_ID = {command.id: command for command in COMMANDS}
BY_LABEL = {command.label: command for command in COMMANDS if command.label}


def command_of(label: str) -> Command | None:
    """The command a printed code stands for."""
    return BY_LABEL.get(label)
