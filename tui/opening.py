"""Opening the workshop: settings, song, what was left unsaved, and the player, then the screen."""

from __future__ import annotations

import sys
from contextlib import suppress
from pathlib import Path

from engine.errors import AlbertiError
from engine.song import read_song
from engine.workshop import Journal, open_file, open_work
from engine.workshop.session import remember, resumed
from tui.app import Workshop
from tui.cli.guard import complain
from tui.cli.say import tell
from tui.faults import fault_file, note_faults
from tui.practising import Practising
from tui.settings import keep, load
from tui.sound import player_opener

#: Seconds that a thread may keep Python from the others: what a key changes in the sound must not
#: wait until the screen is painted.
TURN = 0.001
#: What a workshop opens with when no song is named.
BLANK = """format = 1
title = "Untitled"
key = "C major"
meter = "4/4"
tempo = 72

[[section]]
name = "A"
chart = \"\"\"
| C | % | % | % |
\"\"\"
"""


def run(song_path: str | None, sound: str = "auto") -> int:
    """Open the workshop on a song file, or on an empty song; returns the exit status."""
    note_faults()
    sys.setswitchinterval(TURN)
    journal = Journal.usual()
    try:
        options = load()
        work = resumed(open_file(song_path)) if song_path else open_work(read_song(BLANK))
        opener = player_opener(sound, options.preferences)
    except AlbertiError as error:
        complain(error)
        if song_path and not Path(song_path).exists():
            tell("“alberti” without a file begins a new song.")
        return 2
    practising = Practising(work.path)
    app = Workshop(
        journal.recover(work), opener, options, journal, practising=practising,
        keep_preferences=keep,
    )  # fmt: skip
    status = app.run()
    with suppress(AlbertiError, OSError):  # the song is what matters, not where one stood in it
        remember(app.work)
    if app.fell:
        tell(
            "Alberti stopped at a fault of its own. What you typed is kept and comes back when"
            f" you open the song again. The fault is described in {fault_file()}."
        )
        return 1
    return status or 0
