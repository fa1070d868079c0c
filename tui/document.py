"""What the documentation shows of the screen: the table of keys and a picture, made by the program.

`python -m tui.document docs` writes `keys.md` and `screen.svg` into the folder `docs`.
"""

from __future__ import annotations

import asyncio
import sys
from dataclasses import replace
from pathlib import Path

from tui.commands import Keymap, key_text, table

_HEAD = """# Keys

Made from the program's own table of commands by `make docs`; `?` shows the same in the workshop.
Every command is also in the palette (`:`), and a key that is refused says why.
The names are for the `[keys]` table of the settings file.
"""


def keys_page() -> str:
    """The key documentation as Markdown, one table a group of commands, in the table's order."""
    keymap = Keymap()
    groups: dict[str, list[str]] = {}
    for command in table():
        keys = " ".join(f"`{key_text(key)}`" for key in keymap.keys_of(command)) or "palette"
        where = ", ".join(pane.value for pane in command.panes) or "everywhere"
        row = f"| {keys} | {command.title} | {where} | {command.name} |"
        groups.setdefault(command.group, []).append(row)
    parts = [_HEAD]
    for group, rows in groups.items():
        parts.append(f"\n## {group}\n\n| key | what it does | where | name |\n|---|---|---|---|\n")
        parts.append("\n".join(rows) + "\n")
    return "".join(parts)


async def screen_picture(song: str, width: int = 120, height: int = 40) -> str:
    """The workshop on a song file as SVG, at `width` by `height` cells, bars 11 and 12 looped."""
    from engine.play import Player
    from engine.workshop import Cursor, Loop
    from engine.workshop.files import open_file
    from tui.app import Workshop
    from tui.settings import Options

    work = replace(open_file(song), cursor=Cursor(11, 1), loop=Loop(11, 12))
    app = Workshop(work, Player(), Options(colours="theme"), glow_seconds=0)
    async with app.run_test(size=(width, height)) as pilot:
        while not app.maker.idle or app.stages.part is None:
            await pilot.pause(0.02)
        await pilot.pause()
        return app.export_screenshot(title="alberti")


def main(folder: str) -> None:
    """Write both into a folder."""
    target = Path(folder)
    target.mkdir(exist_ok=True)
    (target / "keys.md").write_text(keys_page(), encoding="utf-8")
    picture = asyncio.run(screen_picture("shared/songs/paper-lanterns.toml"))
    (target / "screen.svg").write_text(picture, encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1])
