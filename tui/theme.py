"""How things look: two themes of our own, and what each named style of a drawing becomes.

One colour marks the cursor, one what sounds now; everything else is text,
brighter or fainter. Without colours the same names become bold, underlined or
reversed text.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from rich.style import Style
from textual.color import Color
from textual.theme import Theme

EVENING = Theme(
    name="evening",
    primary="#d9a441",
    secondary="#6fb3a8",
    accent="#d9a441",
    foreground="#d9d4c7",
    background="#191a1c",
    surface="#1f2123",
    panel="#292b2e",
    success="#6fb3a8",
    warning="#e0b15c",
    error="#e07a6a",
    dark=True,
)
PAPER = Theme(
    name="paper",
    primary="#8a4b08",
    secondary="#00695f",
    accent="#8a4b08",
    foreground="#2b2a26",
    background="#faf7f0",
    surface="#f3efe5",
    panel="#e8e2d4",
    success="#00695f",
    warning="#8a5a00",
    error="#a3271b",
    dark=False,
)

#: Textual's theme of the terminal's own colours, for terminals with sixteen or none.
TERMINAL = "ansi-dark"

#: Without colours: attributes alone.
_BARE: Mapping[str, str] = {
    "": "none", "dim": "none", "faint": "dim", "rule": "dim", "title": "bold",
    "focus": "bold", "bold": "bold", "cursor": "reverse", "cursor-away": "underline",
    "select": "underline", "loop": "bold", "now": "bold reverse", "head": "reverse",
    "glow": "bold underline", "melody": "italic",
    "numeral": "none", "section": "bold", "outside": "bold", "doubling": "none", "bass": "bold",
    "chord": "bold", "held": "dim", "fault": "underline bold", "refusal": "bold",
    "trouble": "bold", "key": "bold", "entry": "underline", "caret": "reverse", "open": "bold",
    "good": "bold", "picked": "reverse", "off": "dim", "white": "none", "black": "reverse",
    "press-white": "bold", "press-black": "bold reverse", "chart-title": "bold",
    "black-key": "none", "white-edge": "dim",
}  # fmt: skip


def bare_styles() -> dict[str, Style]:
    """Styles without any colour, for NO_COLOR."""
    return {name: Style.parse(text) for name, text in _BARE.items()}


def terminal_styles() -> dict[str, Style]:
    """Styles in the terminal's own sixteen colours."""
    own = {
        "cursor": "black on yellow", "focus": "bold yellow", "now": "black on cyan",
        "head": "black on cyan", "section": "bold yellow", "outside": "magenta",
        "fault": "underline red", "refusal": "yellow", "trouble": "red", "key": "yellow",
        "good": "cyan", "picked": "black on yellow", "caret": "black on yellow",
        "cursor-away": "underline yellow", "loop": "bold cyan", "glow": "bold yellow",
        "black-key": "black on white", "white": "black on white",
        "white-edge": "bright_black on white",
        "press-white": "bold red on white",
        "press-black": "bold yellow on black", "doubling": "cyan", "open": "yellow",
        "melody": "italic cyan",
    }  # fmt: skip
    return bare_styles() | {name: Style.parse(text) for name, text in own.items()}


def themed_styles(variables: Mapping[str, str]) -> dict[str, Style]:
    """Styles from a theme's variables (`foreground`, `background`, `accent` …)."""

    def colour(name: str) -> Color:
        return Color.parse(variables[name].partition(" ")[0])

    text, ground = colour("foreground"), colour("background")
    accent, sound = colour("accent"), colour("secondary")
    warm, bad = colour("warning"), colour("error")
    away = ground.blend(accent, 0.25)
    chosen = ground.blend(text, 0.12)
    glow = ground.blend(accent, 0.35)
    dim = ground.blend(text, 0.72)
    faint = ground.blend(text, 0.45)
    rule = ground.blend(text, 0.28)
    ivory, ebony = Color.parse("#e9e4d6"), Color.parse("#34322e")

    def style(
        front: Color,
        back: Color = ground,
        *,
        bold: bool = False,
        underline: bool = False,
        italic: bool = False,
    ) -> Style:
        colours = (front.rich_color, back.rich_color)
        return Style(
            color=colours[0], bgcolor=colours[1], bold=bold, underline=underline, italic=italic
        )

    return {
        "": style(text),
        "bold": style(text, bold=True),
        "dim": style(dim),
        "faint": style(faint),
        "rule": style(rule),
        "title": style(dim),
        "focus": style(accent, bold=True),
        "chart-title": style(text, bold=True),
        "cursor": style(ground, accent, bold=True),
        "cursor-away": style(text, away),
        "select": style(text, chosen),
        "loop": style(sound, bold=True),
        "now": style(ground, sound, bold=True),
        "head": style(ground, sound),
        "glow": style(text, glow, bold=True),
        "melody": style(sound, italic=True),
        "numeral": style(dim),
        "section": style(text, bold=True),
        "outside": style(warm),
        "doubling": style(dim),
        "bass": style(text, bold=True),
        "chord": style(text),
        "held": style(faint),
        "fault": style(bad, underline=True, bold=True),
        "refusal": style(warm),
        "trouble": style(bad),
        "key": style(accent),
        "entry": style(text, chosen),
        "caret": style(ground, accent),
        "open": style(warm, bold=True),
        "good": style(sound, bold=True),
        "picked": style(ground, accent, bold=True),
        "off": style(faint),
        "white": style(ebony, ivory),
        "black": style(ivory, ebony),
        "black-key": style(ebony, ivory),
        "white-edge": style(ivory.blend(ebony, 0.35), ivory),
        "press-white": style(Color.parse("#7a3d00"), ivory, bold=True),
        "press-black": style(Color.parse("#ffd27a"), ebony, bold=True),
    }


def colours_of(system: str | None, *, bare: bool) -> str:
    """The `colours` a terminal allows, by its colour system; `bare` for none."""
    if bare:
        return "none"
    return "terminal" if system in (None, "standard") else "theme"


def styles_in(colours: str, variables: Callable[[], Mapping[str, str]]) -> dict[str, Style]:
    """The styles for `none`, `terminal` or `theme`; `variables` gives those of the theme."""
    if colours == "none":
        return bare_styles()
    return terminal_styles() if colours == "terminal" else themed_styles(variables())
