"""Figures learned from notes: back and forth is the same, and what can't be said is told.

What tokens mean is written out here once more, from the definitions the figures are published
with, so that the learner is checked against the language and not against itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.arrange import arrange
from engine.chord import parse_chord
from engine.errors import FigureError
from engine.figures import (
    Figure,
    Heard,
    Sounding,
    catalogue,
    fit,
    heard_in,
    learn_bar,
    learn_figure,
    parse_figure,
    typed_notes,
)
from engine.hands import Tones, tones_of
from engine.harmony import analyse, read_chord
from engine.key import Key
from engine.meter import Meter
from engine.song import Hand, Song, read_song

F = Fraction
C_MAJOR = Key.parse("C major")
WHITE = (0, 2, 4, 5, 7, 9, 11)
#: Diatonic chords of C, members from the root.
CHORDS = {
    "C": (0, 4, 7), "Dm": (2, 5, 9), "Em": (4, 7, 11), "F": (5, 9, 0), "G7": (7, 11, 2, 5),
    "Am": (9, 0, 4), "Am7": (9, 0, 4, 7), "Fmaj7": (5, 9, 0, 4), "Bm7b5": (11, 2, 5, 9),
}  # fmt: skip


def tones(symbol: str) -> Tones:
    return tones_of(read_chord(parse_chord(symbol), C_MAJOR))


def white_above(midi: int) -> int:
    """The next white key: in C major, the upper neighbour in the scale."""
    return next(m for m in range(midi + 1, midi + 4) if m % 12 in WHITE)


def meaning(token: str, symbol: str, shape: Sequence[int], before: int) -> int:
    """The pitch of a right-hand token in C major, by the definitions of the token language."""
    root, third = CHORDS[symbol][:2]
    if token in "1234":
        n = int(token) - 1
        return shape[n] if n < len(shape) else shape[n - len(shape)] + 12
    if token in "96":
        pitch = next(m for m in range(shape[0], shape[0] + 12) if m % 12 == root)
        for _ in range(1 if token == "9" else 5):
            pitch = white_above(pitch)
        return pitch if pitch - shape[0] <= 12 else pitch - 12
    if token == "s":
        own = next(m for m in shape if m % 12 == third)
        return own + (root + 5 - third) % 12
    if token == "p":  # the last note, a step from the one before it
        return below if (below := before - 1) % 12 in WHITE else before - 2
    assert token == "n"
    return white_above(before)


def sounded(figure: Figure, symbol: str, shape: Sequence[int], meter: Meter) -> list[Heard]:
    """The notes of a right-hand figure: each held to the next stroke or rest, `_` to the end."""
    slots = fit(figure, meter).slots
    width = meter.bar / len(slots)
    found, before = [], 0
    for at, slot in enumerate(slots):
        if not slot.tokens:
            continue
        last = at + 1
        while last < len(slots) and slots[last].hold:
            last += 1
        end = len(slots) if slot.rings else last
        pitches = sorted({meaning(token, symbol, shape, before) for token in slot.tokens})
        found += [Heard(at * width, (end - at) * width, pitch) for pitch in pitches]
        before = pitches[-1]
    return [struck_once(note, found) for note in found]


def struck_once(note: Heard, notes: Sequence[Heard]) -> Heard:
    """The note ended where its key is struck again."""
    again = [n.onset for n in notes if n.midi == note.midi and note.onset < n.onset < note.end]
    return Heard(note.onset, min(again) - note.onset, note.midi) if again else note


def left_sounded(figure: Figure, bass: int, sizes: dict[str, int], meter: Meter) -> list[Heard]:
    slots = fit(figure, meter).slots
    width = meter.bar / len(slots)
    found = []
    for at, slot in enumerate(slots):
        last = at + 1
        while last < len(slots) and slots[last].hold:
            last += 1
        end = len(slots) if slot.rings else last
        found += [
            Heard(at * width, (end - at) * width, bass + sizes[token]) for token in slot.tokens
        ]
    return found


def whole(meter: Meter, symbol: str) -> list[Sounding]:
    return [Sounding(F(0), meter.bar, tones(symbol))]


def shapes_of(symbol: str) -> list[tuple[int, ...]]:
    """Close positions of three members between C4 and C6."""
    found = []
    for low in range(60, 73):
        if low % 12 in CHORDS[symbol]:
            above = sorted((pc - low) % 12 for pc in CHORDS[symbol])
            found.append(tuple(low + size for size in above[:3]))
    return found


RIGHT = [f for f in catalogue() if f.hand is Hand.RIGHT]
LEFT = [f for f in catalogue() if f.hand is Hand.LEFT]
SAYABLE = [f for f in RIGHT if not any({"p", "A"} & set(slot.tokens) for slot in f.slots)]


def needs_third(figure: Figure) -> bool:
    return any("s" in slot.tokens for slot in figure.slots)


@st.composite
def settings_of_a_figure(draw: st.DrawFn) -> tuple[Figure, str, tuple[int, ...]]:
    figure = draw(st.sampled_from(SAYABLE))
    symbol = draw(st.sampled_from(sorted(CHORDS)))
    fitting = [
        shape
        for shape in shapes_of(symbol)
        if not needs_third(figure)
        or (
            any(m % 12 == CHORDS[symbol][1] for m in shape)
            and (CHORDS[symbol][0] + 5 - CHORDS[symbol][1]) % 12 in (1, 2)
        )
    ]
    if not fitting:
        symbol, fitting = "C", shapes_of("C")
    return figure, symbol, draw(st.sampled_from(fitting))


@settings(deadline=None, max_examples=200)
@given(settings_of_a_figure(), st.booleans())
def test_the_catalogues_figures_are_learned_back(
    case: tuple[Figure, str, tuple[int, ...]], known: bool
) -> None:
    """Learned from its notes, a figure sounds the same again, on whatever chord and shape."""
    figure, symbol, shape = case
    assert figure.meter is not None
    notes = sounded(figure, symbol, shape, figure.meter)
    harmonies = whole(figure.meter, symbol)
    found = learn_figure(
        notes, Hand.RIGHT, figure.meter, harmonies, shapes=[shape] if known else None
    )
    assert found.exact
    assert found.missed == ()
    assert sounded(found.figure, symbol, found.shapes[0], figure.meter) == notes


@settings(deadline=None, max_examples=60)
@given(settings_of_a_figure())
def test_on_a_known_shape_the_tokens_are_the_same(
    case: tuple[Figure, str, tuple[int, ...]],
) -> None:
    """Where a pitch has one name on the shape, the figure comes back token for token."""
    figure, symbol, shape = case
    assert figure.meter is not None
    names = [meaning(t, symbol, shape, 0) for t in ("1", "2", "3", "4")]
    special = {"9", "6", "s", "n"} & {t for slot in figure.slots for t in slot.tokens}
    found = learn_figure(
        sounded(figure, symbol, shape, figure.meter), Hand.RIGHT, figure.meter,
        whole(figure.meter, symbol), shapes=[shape],
    )  # fmt: skip
    plain = [slot.text.rstrip(">") for slot in fit(figure, figure.meter).slots]
    if not special:
        assert len(set(names)) == 4
        assert [slot.text.rstrip(">") for slot in found.figure.slots] == plain
        assert found.figure.name


_SLOT = st.one_of(
    st.sampled_from(["x", ".", "9", "6"]),
    st.lists(st.sampled_from("1234"), min_size=1, max_size=3, unique=True).map(
        lambda tokens: "".join(sorted(tokens))
    ),
    st.sampled_from(["1_", "2_", "13_", "4_"]),
)


@settings(deadline=None, max_examples=150)
@given(
    st.sampled_from([4, 8, 16]).flatmap(lambda n: st.lists(_SLOT, min_size=n, max_size=n)),
    st.sampled_from(sorted(CHORDS)),
    st.data(),
)
def test_any_typed_figure_is_learned_back(
    slots: list[str], symbol: str, data: st.DataObject
) -> None:
    """Whatever tokens are typed, what they sound like is learned as a figure that sounds so."""
    slots[0] = "1" if slots[0] == "." else slots[0]
    meter = Meter.parse("4/4")
    figure = parse_figure(" ".join(slots), Hand.RIGHT)
    shape = data.draw(st.sampled_from(shapes_of(symbol)))
    notes = sounded(figure, symbol, shape, meter)
    found = learn_figure(notes, Hand.RIGHT, meter, whole(meter, symbol), shapes=[shape])
    again = sounded(found.figure, symbol, shape, meter)
    assert sorted(again, key=str) == sorted(notes, key=str)
    assert found.exact


#: Left-hand tokens by members counted from the sounding bass.
SIZES = {
    "C": (48, {"R": 0, "3": 4, "5": 7, "8": 12, "9": 14, "10": 16, "5-": -5}),
    # Above E in C/E: G and C; a second above is F.
    "C/E": (52, {"R": 0, "3": 3, "5": 8, "8": 12, "9": 13, "10": 15, "5-": -4}),
    # Above D in G7/D: F, G, B.
    "G7/D": (50, {"R": 0, "3": 3, "5": 5, "7": 9, "8": 12, "9": 14, "10": 15, "5-": -7}),
}


@pytest.mark.parametrize("symbol", SIZES)
@pytest.mark.parametrize("figure", LEFT, ids=lambda figure: figure.name)
def test_left_hands_are_learned_back(figure: Figure, symbol: str) -> None:
    bass, sizes = SIZES[symbol]
    assert figure.meter is not None
    notes = left_sounded(figure, bass, sizes, figure.meter)
    found = learn_figure(notes, Hand.LEFT, figure.meter, whole(figure.meter, symbol))
    assert found.exact
    assert found.shapes == ((bass,),)
    assert [slot.text.rstrip(">") for slot in found.figure.slots] == [
        slot.text.rstrip(">") for slot in fit(figure, figure.meter).slots
    ]


def test_alberti_bass() -> None:
    # Mozart, sonata K. 545, bars 1 and 2: C E G and D F G as low, high, middle, high.
    def line(*midis: int) -> list[Heard]:
        return [Heard(F(n, 8), F(1, 8), midi) for n, midi in enumerate(midis)]

    meter = Meter.parse("4/4")
    half = F(1, 2)
    first = learn_figure(
        line(60, 67, 64, 67)
        + [Heard(n.onset + half, n.duration, n.midi) for n in line(60, 67, 64, 67)],
        Hand.LEFT,
        meter,
        whole(meter, "C"),
    )
    assert first.figure.text.replace(">", "") == "R 5 3 5 R 5 3 5"
    second = learn_figure(
        line(62, 67, 65, 67, 60, 67, 64, 67), Hand.LEFT, meter,
        [Sounding(F(0), half, tones("G7/D")), Sounding(half, half, tones("C"))],
    )  # fmt: skip
    assert second.figure.text.replace(">", "") == "R 5 3 5 R 5 3 5"
    assert second.exact
    assert second.shapes == ((62,), (60,))


def test_the_c_major_prelude() -> None:
    # Bach, BWV 846, bar 1, from music21's corpus: what the left hand holds rings to the half-bar.
    from tests.evaluate.learned_figures import learned_from, prelude

    piece = prelude()
    right, left = learned_from(piece, Hand.RIGHT), learned_from(piece, Hand.LEFT)
    assert right.exact
    assert left.exact
    assert right.figure.text == "x x 1 2 3 1 2 3 x x 1 2 3 1 2 3"
    assert left.figure.text == "R_ 3 . . . . . . R_ 3 . . . . . ."
    assert right.shapes == ((67, 72, 76), (67, 72, 76))
    assert left.shapes == ((60,), (60,))


def test_a_ringing_note_ends_where_its_key_is_struck_again() -> None:
    # The same bar read as one harmony: the bass is held to the half-bar and struck again there.
    meter = Meter.parse("4/4")
    sixteenth, half = F(1, 16), F(1, 2)
    notes = [
        Heard(start + onset, length, midi)
        for start in (F(0), half)
        for onset, length, midi in ((F(0), half, 60), (sixteenth, half - sixteenth, 64))
    ]
    found = learn_figure(notes, Hand.LEFT, meter, whole(meter, "C"))
    assert found.exact
    assert found.figure.text == "R_ 3 . . . . . . R_ 3 . . . . . ."


def test_a_neighbour_a_passing_note_and_an_anticipation() -> None:
    meter = Meter.parse("4/4")

    def eighths(*midis: int) -> list[Heard]:
        return [Heard(F(n, 8), F(1, 8), midi) for n, midi in enumerate(midis)]

    neighbour = learn_figure(
        eighths(60, 64, 67, 69, 67, 64, 60, 64), Hand.RIGHT, meter, whole(meter, "C")
    )
    assert neighbour.figure.text.replace(">", "") == "1 2 3 n 3 2 1 2"
    passing = learn_figure(
        eighths(60, 64, 67, 65, 64, 60, 64, 62), Hand.RIGHT, meter, whole(meter, "C"),
        shapes=[(60, 64, 67)],
    )  # fmt: skip
    assert passing.figure.text.split()[-1] in ("p", "9")
    tied = [*eighths(60, 64, 67, 64, 60, 64, 67), Heard(F(7, 8), F(1, 4), 65)]
    pushed = learn_figure(tied, Hand.RIGHT, meter, whole(meter, "C"), after=tones("F"))
    assert pushed.figure.text.replace(">", "") == "1 2 3 2 1 2 3 A"
    assert pushed.exact


def test_what_no_token_says_is_told() -> None:
    meter = Meter.parse("4/4")
    notes = [Heard(F(n, 4), F(1, 4), midi) for n, midi in enumerate((60, 66, 67, 85))]
    found = learn_figure(notes, Hand.RIGHT, meter, whole(meter, "C"))
    assert [note.midi for note in found.missed] == [66, 85]
    assert not found.exact
    assert found.figure.text == "1 x 2 x"


def test_where_no_chord_stands_nothing_is_learned() -> None:
    meter = Meter.parse("4/4")
    notes = [Heard(F(n, 4), F(1, 4), 60) for n in range(4)]
    half = F(1, 2)
    found = learn_figure(
        notes, Hand.RIGHT, meter,
        [Sounding(F(0), half, tones("C")), Sounding(half, half, None)],
    )  # fmt: skip
    assert len(found.missed) == 2
    assert found.figure.text == "1 1 x x"


def song(figure: Figure, chart: str) -> Song:
    texts = {Hand.RIGHT: "x", Hand.LEFT: "x", figure.hand: figure.text}
    assert figure.meter is not None
    return read_song(
        f'format = 1\ntitle = "Trial"\nkey = "C major"\nmeter = "{figure.meter.name}"\ntempo = 80\n'
        "busy = 0.0\noutside = 0.0\ndoubling = 0.0\nanticipation = 0.0\n"
        f'right = "{texts[Hand.RIGHT]}"\nleft = "{texts[Hand.LEFT]}"\n'
        f'[[section]]\nname = "A"\nchart = "{chart}"\n'
    )


@pytest.mark.parametrize("chart", ["| C | F |", "| Am7 | Dm |", "| G7/D | C/G |"])
@pytest.mark.parametrize("figure", catalogue(), ids=lambda figure: figure.name)
def test_what_the_arranger_plays_is_learned_back(figure: Figure, chart: str) -> None:
    """The arranger's own notes are figures, whatever it made of the one that was written."""
    asked = song(figure, chart)
    reading = analyse(asked)
    part = arrange(asked, reading)
    notes = heard_in(part.notes, asked.bars[0], figure.hand)
    found = learn_bar(notes, figure.hand, asked, reading, 1)
    assert found.exact


def test_typed_figures_in_odd_meters() -> None:
    meter = Meter.parse("7/8")
    figure = parse_figure("1 2 3 2 1 2 3", Hand.RIGHT)
    notes = sounded(figure, "C", (60, 64, 67), meter)
    found = learn_figure(notes, Hand.RIGHT, meter, whole(meter, "C"))
    assert found.figure.text == "1 2 3 2 1 2 3"


def test_typed_notes_are_a_bar_of_equal_steps() -> None:
    bar = Meter.parse("4/4")
    heard = typed_notes("C4 E4+G4 . x", bar)
    quarter = Fraction(1, 4)
    assert heard == (
        Heard(Fraction(0), quarter, 60),
        Heard(quarter, 2 * quarter, 64),
        Heard(quarter, 2 * quarter, 67),
    )
    for text, column in (("C4 H4", 4), ("", 1), ("C4 E4+", 7)):
        with pytest.raises(FigureError) as told:
            typed_notes(text, bar)
        assert told.value.place is not None
        assert told.value.place.column == column
