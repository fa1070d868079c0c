"""Random charts for property tests: written as people write them, spacing and all."""

from __future__ import annotations

from collections.abc import Callable

from hypothesis import strategies as st

from engine.errors import InputError

SYMBOLS = ("C", "F#m7", "Bb/D", "G7(b9, #11)", "Ebmaj7", "N.C.", "?", "A♭m", "Dsus4", "E°7")
symbol = st.sampled_from(SYMBOLS)


@st.composite
def beats(draw: st.DrawFn) -> str:
    """A bar of 4/4 by beats: dots, and beats divided in brackets."""
    group = st.builds("({} {})".format, st.one_of(symbol, st.just(".")), symbol)
    item = st.one_of(st.just("."), symbol, group)
    words = [draw(symbol), *draw(st.lists(item, min_size=3, max_size=3))]
    if "." not in words and not any("(" in word for word in words[1:]):
        words[1] = "."
    return draw(st.sampled_from((" ", "  "))).join(words)


shared = st.lists(symbol, min_size=1, max_size=4).map(" ".join)
bar = st.one_of(shared, beats())
bar_or_repeat = st.one_of(bar, st.just("%"))
#: What may stand between a bar line and the next bar's words.
gap = st.sampled_from((" ", "  ", "", " \n| ", "\n", " # a C# here | not a bar\n", "| ", "\n\n  "))


@st.composite
def charts(draw: st.DrawFn, most: int = 9) -> tuple[str, list[str]]:
    """A chart and its bars' words."""
    bars = [draw(bar), *draw(st.lists(bar_or_repeat, max_size=most - 1))]
    text = draw(st.sampled_from(("| ", "", "\n|", "# head\n| ")))
    for index, words in enumerate(bars):
        text += words + draw(st.sampled_from((" ", "  ", "   ")))
        last = index == len(bars) - 1
        text += draw(st.sampled_from(("|", "||", "|\n", "", "\n"))) if last else "|" + draw(gap)
    return text, bars


def complaint(read: Callable[[], object]) -> InputError | None:
    """The project's own error that reading raises, if it does; any other error goes through."""
    try:
        read()
    except InputError as error:
        return error
    return None
