"""The one door to the user: everything the program says leaves here with its level and its sound."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from PySide6.QtCore import QObject, Signal

from cribdesk.window.sounds import Sound, Sounds


class Level(StrEnum):
    """How weighty a message is."""

    SAID = "said"
    CAUTION = "caution"
    REFUSED = "refused"
    FAULTY = "faulty"


_SOUND = {
    Level.SAID: Sound.TAKEN,
    Level.CAUTION: Sound.CAUTION,
    Level.REFUSED: Sound.REFUSED,
    Level.FAULTY: Sound.REFUSED,
}


@dataclass(frozen=True)
class Message:
    """One thing said; `label` is what it was about, where it was about a scan."""

    level: Level
    text: str
    label: str = ""


class Speak(QObject):
    """Says things: `spoke(Message)` for whoever shows them, a sound for whoever is not looking."""

    spoke = Signal(object)

    def __init__(self, sounds: Sounds | None = None, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.sounds = sounds or Sounds()

    def said(self, text: str, label: str = "", sound: bool = True) -> None:
        """It went as asked. `sound` only for what was scanned or done, never for a click that shows something."""
        self._speak(Message(Level.SAID, text, label), sound)

    def caution(self, text: str, label: str = "", sound: bool = True) -> None:
        """It went, and somebody has to decide something."""
        self._speak(Message(Level.CAUTION, text, label), sound)

    def refused(self, text: str, label: str = "", sound: bool = True) -> None:
        """A rule forbids it, or it was not understood. Nothing changed."""
        self._speak(Message(Level.REFUSED, text, label), sound)

    def faulty(self, text: str, label: str = "", sound: bool = True) -> None:
        """Something of the program or the machine does not work: a printer, a file, a setting."""
        self._speak(Message(Level.FAULTY, text, label), sound)

    def window_opens(self) -> None:
        """The middle tone when the window of a timed step opens; it says nothing."""
        self.sounds.play(Sound.WINDOW)

    def _speak(self, message: Message, sound: bool) -> None:
        if sound:
            self.sounds.play(_SOUND[message.level])
        self.spoke.emit(message)
