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
    Command("no-filter", "No filter was in it", "F6", "ANSNFL"),
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
    Command("hand-out", "Hand out", "F5", "CMDHND"),
    Command("confirm-fitting", "Confirm a fitting", "", "CMDFTD"),
    Command("by-name", "No badge in hand", "F5", ""),
    Command("call-in", "Call it in", "", "CMDCAL"),
    Command("end-call-in", "End the call-in", "", "CMDCEN"),
    Command("call-in-all", "Call all in", "", "CMDCAA"),
    Command("refusal", "Refusal or wish", "", "CMDRFS"),
    Command("accept", "Accept the cautions", "F5", "CMDACC"),
    Command("seal-look", "Look at the seal", "F5", "CMDLKS"),
    Command("seal-clear", "Seal clear again", "F7", "CMDSHV"),
    Command("information-sheet", "Information sheet given", "F5", "CMDNFS"),
    Command("open-page", "Open the page", "", ""),
    Command("bag-waste", "Put into a waste bag", "", ""),
    Command("open-bag", "Open a waste bag", "", "CMDBGN"),
    Command("close-bag", "Close a waste bag", "", "CMDBGC"),
    Command("meter-check", "Daily check", "F5", "CMDMTR"),
    Command("more", "More", "F10", "CMDMRE"),
    # a unit that is out, or goes out for weeks
    Command("swap-battery", "Swap the battery", "F6", "CMDSWP"),
    Command("exchange", "Exchange it", "F7", "CMDEXC"),
    Command("wearer-card", "Wearer's card", "", "CMDWRC"),
    Command("assign", "Assign, no time of return", "", "CMDASG"),
    Command("own-check", "Own check before use", "F11", "CMDWNC"),
    Command("own-check-slip", "Enter the slip's own checks", "", ""),
    Command("carrier", "A carrier takes it", "F6", "CMDCAR"),
    # the shift: made ready, counted, handed over
    Command("pre-stage", "Inspect for the next shift", "", "CMDPRE"),
    Command("rack-audit", "Audit the rack", "", "CMDAUD"),
    Command("close-shift", "Close the shift", "", "CMDCLS"),
    Command("scrap", "Scrap it", "", "CMDSCP"),
    Command("count", "Count stock", "", "CMDSTK"),
    Command("class-day", "Class or test day", "", "CMDCSD"),
    Command("receive", "Receive a delivery", "", "CMDRCV"),
    # away and back; parts from unit to unit; cabinets
    Command("missing", "It is missing", "", "CMDMSS"),
    Command("stolen", "It was stolen", "", "CMDSTN"),
    Command("found", "It turned up", "F6", "CMDFND"),
    Command("crushed", "Crushed, run over or burnt", "", "CMDCRU"),
    Command("send-out", "Send for repair", "", "CMDSND"),
    Command("lend", "Lend to another crib", "", "CMDLND"),
    Command("arrived-there", "It arrived there", "F7", "CMDTHE"),
    Command("arrive", "It is back", "F6", "CMDARR"),
    Command("swap-parts", "Swap parts with another unit", "", "CMDPSW"),
    Command("rob-part", "Take a part out of another unit", "", "CMDRBB"),
    Command("put-in-cabinet", "Put into a cabinet", "", "CMDCAB"),
    Command("monthly", "Monthly inspection", "F6", "CMDMTH"),
    Command("certify", "Certify", "F7", "CMDCRT"),
    Command("break-seal", "A cabinet's seal is broken", "", "CMDSEA"),
    Command("used-from-cabinet", "Used out of its cabinet", "", "CMDUSD"),
    # the list that waits in the open form, by scanner alone
    *(
        Command(f"pick-{number}", f"{word} in the list", "", f"NTH000{number}")
        for number, word in enumerate(
            ("First", "Second", "Third", "Fourth", "Fifth", "Sixth", "Seventh", "Eighth", "Ninth"), 1
        )
    ),
)
BY_ID = {command.id: command for command in COMMANDS}
BY_LABEL = {command.label: command for command in COMMANDS if command.label}


def command_of(label: str) -> Command | None:
    """The command a printed code stands for."""
    return BY_LABEL.get(label)
