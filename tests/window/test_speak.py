"""The door to the user: levels, texts, and sounds that can be told apart."""

from __future__ import annotations

import io
import itertools
import struct
import wave
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from cribdesk.window.sounds import PARTS, RATE, Sound, Sounds, wav
from cribdesk.window.speak import Level, Message, Speak


@pytest.fixture
def played() -> list[str]:
    """The files that were played."""
    return []


def read(data: bytes) -> list[int]:
    """The samples of a WAV file, by the standard library's own reader."""
    with wave.open(io.BytesIO(data)) as file:
        assert (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 2, RATE)
        return list(struct.unpack(f"<{file.getnframes()}h", file.readframes(file.getnframes())))


def crossings(samples: list[int]) -> int:
    """How often the wave passes zero upwards, which is its hertz times its seconds."""
    return sum(1 for a, b in itertools.pairwise(samples) if a <= 0 < b)


@pytest.mark.parametrize("sound", list(Sound))
def test_each_sound_lasts_and_sounds_as_it_says(sound: Sound) -> None:
    """Length and pitch of the samples agree with the parts."""
    samples = read(wav(PARTS[sound], 1.0))
    parts = PARTS[sound]
    assert len(samples) == sum(RATE * ms // 1000 for _, ms in parts)
    expected = sum(hertz * ms / 1000 for hertz, ms in parts)
    assert crossings(samples) == pytest.approx(expected, abs=2 * len(parts))
    assert 20_000 < max(samples) <= 32_767


def test_sounds_can_be_told_apart() -> None:
    """Taken is short and high, refused long and low, caution two equal ones."""
    (taken,), (refused,), caution = PARTS[Sound.TAKEN], PARTS[Sound.REFUSED], PARTS[Sound.CAUTION]
    assert taken[0] > 3 * refused[0]
    assert refused[1] >= 4 * taken[1]
    assert caution[0] == caution[2]
    assert caution[1][0] == 0


def test_volume_makes_it_softer_and_off_is_silent(qapp: object, played: list[str]) -> None:
    """Half the volume is half as loud; at 0 nothing is played."""
    sounds = Sounds(0.5, played.append)
    sounds.play(Sound.TAKEN)
    half = max(read(Path(played[0]).read_bytes()))
    sounds.set_volume(1.0)
    sounds.play(Sound.TAKEN)
    assert half == pytest.approx(max(read(Path(played[1]).read_bytes())) / 2, rel=0.02)
    sounds.set_volume(0)
    sounds.play(Sound.TAKEN)
    assert len(played) == 2


def test_everything_said_leaves_by_one_signal(qtbot: QtBot, played: list[str]) -> None:
    """Each level arrives with its text and its sound, in order."""
    speak, heard = Speak(Sounds(0.3, played.append)), []
    speak.spoke.connect(heard.append)
    speak.said("Issued U000417Q to Łucja Wronecka until 14:30.", "U000417Q")
    speak.caution("Pre-filter may fall due this shift.")
    speak.refused("Not to Imre Dobrosi: training ended 22 Nov. Nothing changed.")
    speak.faulty("The printer does not answer.", sound=False)
    assert [m.level for m in heard] == [Level.SAID, Level.CAUTION, Level.REFUSED, Level.FAULTY]
    assert heard[0] == Message(Level.SAID, "Issued U000417Q to Łucja Wronecka until 14:30.", "U000417Q")
    assert [Path(p).name.split("-")[0] for p in played] == ["taken", "caution", "refused"]
