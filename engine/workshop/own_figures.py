"""The writer's own catalogue of figures: a file of the configuration folder, read and added to."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from platformdirs import user_config_path

from engine.errors import FigureError, FileError, Place
from engine.song import Hand
from engine.workshop.derive import reading_of
from engine.workshop.effects import KeepFigure
from engine.workshop.files import write_atomically
from engine.workshop.work import Work, say

if TYPE_CHECKING:
    from engine.figures import Figure
    from engine.part import Part

FILE = "figures.toml"


def own_figures_file() -> Path:
    """Where the catalogue is."""
    return user_config_path("alberti") / FILE


def own_figures(file: Path | None = None) -> tuple[Figure, ...]:
    """The figures of the catalogue; none where there is no file.

    Raises FileError, or FigureError for a figure that cannot be read.
    """
    path = file or own_figures_file()
    try:
        state = path.stat()
    except FileNotFoundError:
        return ()
    except OSError as error:
        raise _unreadable(path, error) from None
    return _read(path, state.st_mtime_ns, state.st_size)


@lru_cache(maxsize=4)
def _read(path: Path, _changed: int, _size: int) -> tuple[Figure, ...]:
    from engine.figures import read_catalogue

    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise _unreadable(path, error) from None
    return read_catalogue(text, str(path))


def _unreadable(path: Path, error: Exception) -> FileError:
    return FileError(
        f"your figures cannot be read: {error}", "mend or move the file", Place(file=str(path))
    )


def keep_bars_figure(work: Work, part: Part | None, wanted: KeepFigure) -> Work:
    """The work with a notice, a bar's figure kept: as it is written, else as it is played.

    Raises FigureError and FileError.
    """
    from engine.figures import find_figure, heard_in, learn_bar

    bar, hand = work.song.bars[wanted.bar - 1], wanted.hand
    written = bar.settings.right if hand is Hand.RIGHT else bar.settings.left
    if written is not None:
        figure = find_figure(written, hand, bar.meter)
    elif part is not None and (heard := heard_in(part.notes, bar, hand)):
        figure = learn_bar(heard, hand, work.song, reading_of(work.song), bar.number).figure
    else:
        raise FigureError(f"the {hand} hand plays nothing in bar {bar.number}", "choose another")
    over = keep_figure(replace(figure, name=wanted.name))
    return say(work, f"{'Written over' if over else 'Kept'} among your figures: {wanted.name}")


def keep_figure(figure: Figure, file: Path | None = None) -> bool:
    """Write a figure into the catalogue under its name; whether it took another's place there.

    Raises FigureError for a name that is empty or would be read as tokens, FileError.
    """
    from engine.figures import named_figure, parse_figure, write_catalogue

    name = " ".join(figure.name.split())
    if not name:
        raise FigureError("the figure has no name", "give it one in a few words")
    if named_figure(name, figure.hand) is not None:
        raise FigureError(
            f"“{name}” is a figure that comes with the program", "choose another name"
        )
    try:
        parse_figure(name, figure.hand)
    except FigureError:
        pass
    else:
        raise FigureError(f"“{name}” reads as tokens", "choose a name in words")
    path = file or own_figures_file()
    found = own_figures(path)
    kept = tuple(other for other in found if (other.hand, other.name) != (figure.hand, figure.name))
    path.parent.mkdir(parents=True, exist_ok=True)
    write_atomically(str(path), write_catalogue((*kept, figure)))
    return len(kept) < len(found)
