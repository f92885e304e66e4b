"""This workstation's own settings, in the user's file: text scale, light or dark, sound, scanner, printer, name."""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

import platformdirs

DEFAULTS: Mapping[str, str] = {
    "counter": "Counter 1",
    "scale": "1",
    "shade": "system",
    "volume": "60",
    "motion": "on",
    "prefix": "",
    "printer": "",
    "pending": "",  # the id of an operation whose answer had not come back
    "clerk": "",
}


class Station:
    """The settings as they stand; every change is kept at once, and a broken file is no reason to stop."""

    def __init__(self, file: Path | None = None) -> None:
        self.file = file or Path(platformdirs.user_config_dir("CribDesk", appauthor=False)) / "workstation.json"
        self.trouble = ""
        self.values: dict[str, str] = dict(DEFAULTS)
        self._load()

    def _load(self) -> None:
        try:
            text = self.file.read_text("utf-8")
        except FileNotFoundError:
            return
        except (OSError, UnicodeDecodeError) as failure:
            self.trouble = f"{self.file} cannot be read ({failure}); this workstation starts with its usual settings."
            return
        try:
            found = json.loads(text)
            if not isinstance(found, dict):
                raise ValueError("it holds no settings")
        except ValueError as failure:
            self.trouble = f"{self.file} is damaged ({failure}); this workstation starts with its usual settings."
            return
        self.values.update({name: str(found[name]) for name in DEFAULTS if name in found})

    def __getitem__(self, name: str) -> str:
        return self.values[name]

    def set(self, name: str, value: str) -> str:
        """Keeps one setting. Returns what went wrong, in plain words, or nothing."""
        if name not in DEFAULTS:
            return f"{name} is no setting of a workstation."
        if self.values[name] == value:
            return ""
        self.values[name] = value
        return self._save()

    @property
    def scale(self) -> float:
        """The text scale as a factor, 1 to 2."""
        try:
            return min(2.0, max(1.0, float(self.values["scale"])))
        except ValueError:
            return 1.0

    def _save(self) -> str:
        try:
            self.file.parent.mkdir(parents=True, exist_ok=True)
            handle, part = tempfile.mkstemp(dir=self.file.parent, prefix=self.file.name)
            with os.fdopen(handle, "w", encoding="utf-8") as out:
                json.dump(self.values, out, indent=1, ensure_ascii=False)
            os.replace(part, self.file)
        except OSError as failure:
            return f"The workstation's settings cannot be kept in {self.file} ({failure.strerror or failure})."
        return ""
