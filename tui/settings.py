"""The user's own settings: theme, signs, sound, keys; from a file in the configuration folder."""

from __future__ import annotations

import locale
import tomllib
from dataclasses import dataclass
from pathlib import Path

from platformdirs import user_config_path

from engine.errors import FileError, Place

FILE = "settings.toml"


@dataclass(frozen=True, slots=True)
class Options:
    """`theme` is a name, `ascii` plain signs only, `keys` maps commands to the user's keys.

    `colours` is `theme`, `terminal` (its own sixteen), `none`, or empty: as the terminal allows.
    """

    theme: str = "evening"
    colours: str = ""
    ascii: bool = False
    keys: tuple[tuple[str, tuple[str, ...]], ...] = ()


def settings_file() -> Path:
    """Where the settings are looked for."""
    return user_config_path("alberti") / FILE


def load(file: Path | None = None) -> Options:
    """The settings of the file, ours where it says nothing. Raises FileError."""
    from tui.commands import by_name

    path = file or settings_file()
    plain = not locale.getpreferredencoding(do_setlocale=False).lower().startswith("utf")
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
    )
