"""Commands that choose and steer figures, takes and shapes."""

from __future__ import annotations

from dataclasses import replace

from engine.song import Hand
from engine.workshop import (
    EntryKind,
    ListKind,
    Pane,
    Work,
    part_of,
    steering,
    typing,
)
from tui.commands.command import Command, Function, open_list


def _shape_move(step: int) -> Function:
    def run(work: Work) -> Work:
        return steering.next_shape(work, part_of(work.song), step)

    return run


def _edit_tokens(work: Work) -> Work:
    return typing.edit_tokens(work, work.hand)


def _keep_figure(work: Work) -> Work:
    return typing.begin(work, EntryKind.FIGURE_NAME, hand=work.hand)


def _other_hand(work: Work) -> Work:
    hand = Hand.LEFT if work.hand is Hand.RIGHT else Hand.RIGHT
    return replace(work, hand=hand)


def _steer(name: str, step: float) -> Function:
    return lambda work: steering.steer(work, name, step * steering.AMOUNT_STEP)


def _needs_own_figure(work: Work) -> str:
    own = work.bar.own.settings
    return "" if own.right or own.left else "This bar has no figure of its own"


def rows() -> tuple[Command, ...]:
    """In the order that help and palette show them."""
    chord = (Pane.CHORD,)
    figure = (Pane.FIGURE,)
    figures = ListKind.FIGURES
    return (
        Command("right-figure", "Choose the right hand's figure", ("f",),
                open_list(figures, Hand.RIGHT), "Figures", hint="right figure"),
        Command("left-figure", "Choose the left hand's figure", ("g",),
                open_list(figures, Hand.LEFT), "Figures", hint="left figure"),
        Command("tokens", "Edit this bar's figure for the hand marked", ("e",), _edit_tokens,
                "Figures", (Pane.CHART, Pane.CHORD)),
        Command("tokens-here", "Edit the figure on the line marked", ("enter", "e"),
                _edit_tokens, "Figures", figure, hint="edit figure"),
        Command("other-hand", "The other hand's line", ("up", "down"), _other_hand, "Figures",
                figure),
        Command("own-away", "Follow the section's figures again", ("z",), steering.own_figure_away,
                "Figures", reason=_needs_own_figure),
        Command("keep-figure", "Keep this bar's figure, for the hand marked, by a name", (),
                _keep_figure, "Figures"),
        Command("busier", "Busier", ("b",), _steer("busy", 1), "Figures", hint="busier"),
        Command("calmer", "Calmer", ("c",), _steer("busy", -1), "Figures", hint="calmer"),
        Command("further-out", "Further out: more notes outside the chord", (">",),
                _steer("outside", 1), "Figures"),
        Command("closer-in", "Closer in: fewer notes outside the chord", ("<",),
                _steer("outside", -1), "Figures"),
        Command("more-doubling", "More doubling", (), _steer("doubling", 1), "Figures"),
        Command("less-doubling", "Less doubling", (), _steer("doubling", -1), "Figures"),
        Command("more-anticipation", "More anticipation", (), _steer("anticipation", 1),
                "Figures"),
        Command("less-anticipation", "Less anticipation", (), _steer("anticipation", -1),
                "Figures"),
        Command("take", "Another take", ("a",), steering.another_take, "Figures",
                hint="another take"),
        Command("take-before", "The take before", (), lambda work: steering.another_take(work, -1),
                "Figures"),
        Command("keep", "Keep this bar as it is, or let it go", ("k",),
                lambda work: steering.keep(work, part_of(work.song)), "Figures", hint="keep"),
        Command("next-shape", "Pin the next shape up", ("up",), _shape_move(1), "Figures", chord,
                hint="shape"),
        Command("previous-shape", "Pin the next shape down", ("down",), _shape_move(-1),
                "Figures", chord),
        Command("free-shape", "Let the pinned shape go", ("backspace",),
                lambda work: steering.pin_shape(work, None), "Figures", chord),
    )  # fmt: skip
