"""The user's own settings in a file: theme, signs, sound, practice, keys."""

from __future__ import annotations

import json
import locale
import re
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from platformdirs import user_config_path

from engine.errors import FileError, InputError, Place
from engine.workshop import Preferences
from engine.workshop.files import write_atomically
from engine.workshop.preferences import with_preference

FILE = "settings.toml"
DEFAULTS = Preferences()
#: The tables that the screen writes, and the preferences in each.
TABLES = {
    "sound": (
        "soundfont",
        "program",
        "gain",
        "reverb",
        "click_level",
        "other_hand",
        "melody_level",
        "melody_program",
    ),
    "practice": ("ladder_step", "passes", "step_back", "minutes"),
}


@dataclass(frozen=True, slots=True)
class Options:
    """`theme` is a name, `ascii` plain signs only, `keys` maps commands to the user's keys.

    `colours` is `theme`, `terminal` (its own sixteen), `none`, or empty: as the terminal allows.
    """

    theme: str = "evening"
    colours: str = ""
    ascii: bool = False
    keys: tuple[tuple[str, tuple[str, ...]], ...] = ()
    preferences: Preferences = DEFAULTS


def settings_file() -> Path:
    """Where the settings are looked for."""
    return user_config_path("alberti") / FILE


def load(file: Path | None = None) -> Options:
    """The settings of the file, ours where it says nothing. Raises FileError."""
    from tui.commands import by_name

    path = file or settings_file()
    plain = not locale.getencoding().lower().startswith("utf")
    try:
        found = tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return Options(ascii=plain)
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise FileError(
            f"the settings cannot be read: {error}", "mend that line", Place(file=str(path))
        ) from None
    keys = []
    for name, wanted in dict(found.get("keys", {})).items():
        if name not in by_name():
            raise FileError(
                f"[keys] names no command “{name}”",
                "the names are in docs/keys.md",
                Place(file=str(path)),
            )
        many = [wanted] if isinstance(wanted, str) else wanted
        keys.append((name, tuple(str(key) for key in many)))
    return Options(
        theme=str(found.get("theme", "evening")),
        colours=str(found.get("colours", "")),
        ascii=found.get("signs", "ascii" if plain else "") == "ascii",
        keys=tuple(keys),
        preferences=_preferences(found, path),
    )


def _preferences(found: dict[str, Any], path: Path) -> Preferences:
    wish = DEFAULTS
    for table, names in TABLES.items():
        for name, value in dict(found.get(table, {})).items():
            if name not in names:
                raise FileError(
                    f"[{table}] has no “{name}”",
                    f"it may have {', '.join(names)}",
                    Place(file=str(path)),
                )
            try:
                wish = with_preference(wish, name, value)
            except InputError as error:
                raise FileError(
                    f"[{table}] {name}: {error.message}", error.cure, Place(file=str(path))
                ) from None
    return wish


def keep(preferences: Preferences, file: Path | None = None) -> None:
    """Write the preferences into the settings file; all else in it stays as it is.

    Raises FileError where the file cannot be written or read.
    """
    path = file or settings_file()
    try:
        text = path.read_text(encoding="utf-8") if path.exists() else ""
        for table, names in TABLES.items():
            for name in names:
                value = getattr(preferences, name)
                text = _written(text, table, name, value, value != getattr(DEFAULTS, name))
        tomllib.loads(text)
        path.parent.mkdir(parents=True, exist_ok=True)
        write_atomically(str(path), text)
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise FileError(
            f"the settings cannot be written: {error}", "mend that file", Place(file=str(path))
        ) from None


def _written(text: str, table: str, name: str, value: object, wanted: bool) -> str:
    """The text with a value in its table, in place of the one there; new ones only if wanted."""
    head = re.search(rf"^\[{table}\][^\n]*\n?", text, re.MULTILINE)
    shown = json.dumps(value, ensure_ascii=False)
    if head is None:
        gap = "\n" if text and not text.endswith("\n\n") else ""
        return f"{text}{gap}[{table}]\n{name} = {shown}\n" if wanted else text
    following = re.search(r"^\[", text[head.end() :], re.MULTILINE)
    end = head.end() + following.start() if following else len(text)
    body = text[head.end() : end]
    old = re.search(
        rf"""^(\s*{name}\s*=\s*)("(?:[^"\\\n]|\\.)*"|'[^'\n]*'|[^#\s]+)""", body, re.MULTILINE
    )
    if old:
        body = body[: old.start(2)] + shown + body[old.end(2) :]
    elif wanted:
        body = f"{name} = {shown}\n{body}"
    return text[: head.end()] + body + text[end:]
