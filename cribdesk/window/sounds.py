"""The four sounds, each tellable without looking, made here and played by whatever the system has."""

from __future__ import annotations

import io
import math
import shutil
import struct
import sys
import wave
from collections.abc import Callable
from enum import StrEnum

from PySide6.QtCore import QProcess, QTemporaryDir
from PySide6.QtWidgets import QApplication

RATE = 22_050
Part = tuple[float, int]  # hertz (0: silence), milliseconds


class Sound(StrEnum):
    """What a sound tells."""

    TAKEN = "taken"
    CAUTION = "caution"
    REFUSED = "refused"
    WINDOW = "window"


PARTS: dict[Sound, tuple[Part, ...]] = {
    Sound.TAKEN: ((1760, 60),),
    Sound.CAUTION: ((1175, 90), (0, 70), (1175, 90)),
    Sound.REFUSED: ((294, 300),),
    Sound.WINDOW: ((784, 180),),
}


def wav(parts: tuple[Part, ...], volume: float) -> bytes:
    """The parts one after the other as a WAV file of one channel; volume from 0 to 1."""
    samples: list[int] = []
    for hertz, milliseconds in parts:
        count = RATE * milliseconds // 1000
        for number in range(count):
            # 4 ms at either end fade, else the loudspeaker clicks.
            edge = min(1.0, number / (RATE * 0.004), (count - number) / (RATE * 0.004))
            samples.append(round(32_000 * volume * edge * math.sin(2 * math.pi * hertz * number / RATE)))
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes(struct.pack(f"<{len(samples)}h", *samples))
    return out.getvalue()


Player = Callable[[str], None]


def system_player() -> Player | None:
    """What plays a WAV file here without waiting for its end; None where nothing does."""
    if sys.platform == "win32":
        import winsound

        return lambda path: winsound.PlaySound(path, winsound.SND_FILENAME | winsound.SND_ASYNC)
    for name in ("afplay", "pw-play", "paplay", "aplay"):
        found = shutil.which(name)
        if found:
            return _starter(found)
    return None


def _starter(program: str) -> Player:
    def play(path: str) -> None:
        process = QProcess()
        process.setProgram(program)
        process.setArguments([path])
        process.setStandardOutputFile(QProcess.nullDevice())
        process.setStandardErrorFile(QProcess.nullDevice())
        process.startDetached()

    return play


class Sounds:
    """Plays the sounds at a volume from 0 (off) to 1; falls back to the system's own beep."""

    def __init__(self, volume: float = 0.5, player: Player | None = None) -> None:
        self._player = player or system_player()
        self._folder = QTemporaryDir()
        self._files: dict[Sound, str] = {}
        self.volume = volume

    def set_volume(self, volume: float) -> None:
        """Louder, softer, or with 0 off."""
        self.volume = min(1.0, max(0.0, volume))
        self._files = {}

    def play(self, sound: Sound) -> None:
        """Play it and return at once."""
        if self.volume <= 0:
            return
        if self._player is None or not self._folder.isValid():
            QApplication.beep()
            return
        self._player(self._file(sound))

    def _file(self, sound: Sound) -> str:
        if sound not in self._files:
            path = self._folder.filePath(f"{sound.value}-{self.volume:.2f}.wav")
            with open(path, "wb") as file:
                file.write(wav(PARTS[sound], self.volume))
            self._files[sound] = path
        return self._files[sound]
