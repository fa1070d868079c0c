"""The grammar of chord symbols: every way to write them, one way back, and errors that help."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.chord import Chord, Member, kinds, nearest_symbol, parse_chord
from engine.errors import ChordError, Place
from engine.pitch import Note

ROOTS = st.integers(-14, 18).map(Note)


def _some(most: int, *alters: int) -> st.SearchStrategy[set[int]]:
    return st.sets(st.sampled_from(alters), max_size=most)


@st.composite
def members(draw: st.DrawFn) -> tuple[Member, ...]:
    """Any set of members a symbol can mean: third or suspensions, fifths, sixth and on."""
    chosen: dict[int, set[int]] = {1: {0}}
    upper: tuple[int, ...] = (9, 11, 13)
    third = draw(st.sampled_from(["major", "minor", "none", "2", "4", "24"]))
    if third in ("major", "minor"):
        chosen[3] = {0 if third == "major" else -1}
    elif third != "none":
        chosen |= {int(digit): {0} for digit in third}
        upper = (13,)
    chosen[5] = draw(_some(2, -1, 0, 1) | _some(1, -2, 2))
    chosen[6] = draw(_some(1, -1, 0))
    chosen[7] = draw(_some(1, -2, -1, 0))
    for degree in upper:
        chosen[degree] = draw(_some(2, -1, 0, 1) | _some(1, -2, 2))
    return tuple(Member(d, a) for d, alters in sorted(chosen.items()) for a in sorted(alters))


@given(ROOTS, members(), st.none() | ROOTS)
@settings(max_examples=400, deadline=None)
def test_what_is_written_reads_back_as_the_same_chord(
    root: Note, chosen: tuple[Member, ...], bass: Note | None
) -> None:
    chord = Chord(root, chosen, None if bass == root else bass)
    assert parse_chord(chord.symbol) == chord


#: Parts of symbols among signs that trip readers: NUL, half a surrogate pair, combining and
#: invisible signs, other scripts' digits, letters whose case is longer than they are.
PIECES = (
    *"ABCG#b♭m79/(),", "maj", "sus", "add", "no", "alt", "on", "bass", "\x00", "\ud800", "\u0301",
    "\u200f", "\ufe0f", "İ", "ß", "٣", "½", "９" * 50, "#" * 30, "(" * 20,
)  # fmt: skip


@given(
    st.text(max_size=200)
    | st.text("ABCDEFGabcdefgmdimajsu0123456789#b♯♭°øΔ+-/(), ", max_size=200)
    | st.lists(st.sampled_from(PIECES), max_size=30).map(lambda found: "".join(found)[:200])
)
@settings(max_examples=400, deadline=None)
def test_any_text_is_a_chord_or_a_chord_error_inside_the_text(text: str) -> None:
    place = _place_of_error(text)
    assert place is None or 1 <= place.column <= max(1, len(text))


def _place_of_error(text: str) -> Place | None:
    try:
        parse_chord(text)
    except ChordError as error:
        return error.place or Place(column=0)
    return None


# Common practice of lead sheets, no source: each line is one chord in its usual writings.
SAME = """
Cmaj7 CM7 CΔ CΔ7 Cma7 CMaj7 C^7 Cj7
Cm Cmin C- Cmi Cminor
Cm7 Cmin7 C-7 Cmi7
Cdim C° Co
Cdim7 C°7 Co7
Cm7b5 Cø Cø7 C-7b5 Cmin7(b5) Cm7♭5
Caug C+ C(#5)
C7sus4 C7sus C7(sus4)
Csus4 Csus
C6/9 C69 C6(9) C6add9
Cadd9 C(add9) Cadd2 C2
C7(b9,#11) C7b9#11 C7♭9♯11 C7(b9#11)
Cm(maj7) CmM7 Cm(M7) C-Δ7 CmMaj7 Cm(+7) Cm#7 Cm(#7) C-(maj7)
Cdim(maj7) C°M7 Co^7 Cdimmaj7
C7(no3) C7no3 C7omit3
Cm(addb6) Cm(b6) Cmb6 C-(b6)
C5 C(no3) Cno3
C7(no5) C7no5
C9sus4 C9sus
C7alt Calt
Caug7 C+7 C7#5 C7+5
C9(#5) C+9 Caug9 C9+5
C7(b9) C7-9 C7b9
Cm9 C-9 Cmin9 Cmi9
C(no5) Cno5 Comit5
C7 Cdom7
C° C˚ C◦
"""


@pytest.mark.parametrize("line", SAME.strip().splitlines())
def test_usual_writings_mean_one_chord(line: str) -> None:
    first, *others = line.split()
    wanted = parse_chord(first)
    assert [parse_chord(text) for text in others] == [wanted] * len(others)
    assert parse_chord(wanted.symbol) == wanted


@pytest.mark.parametrize(
    ("text", "symbol"),
    [
        ("Cmaj 7", "Cmaj7"), ("C maj7", "Cmaj7"), ("C min 7", "Cm7"), ("C dim", "Cdim"),
        ("C7 no 5", "C7(no5)"), ("C7(omit 3)", "C7(no3)"), ("C7 sus4", "C7sus4"),
        ("CMA7", "Cmaj7"), ("C Major", "C"), ("C2/4", "Csus4(add9)"),
    ],
)  # fmt: skip
def test_spaces_and_capitals_never_change_the_chord(text: str, symbol: str) -> None:
    """Common practice of fake books, no source."""
    assert parse_chord(text).symbol == symbol


# Refused by a reference library, named among the symbols that must be read; notes by degree.
@pytest.mark.parametrize(
    ("symbol", "notes"),
    [
        ("C6/9", "C E G A D"),
        ("Dbmaj9", "Db F Ab C Eb"),
        ("C7alt", "C E Bb Db D# F# Ab"),
        ("Cm(maj7)", "C Eb G B"),
        ("Bbm7b5", "Bb Db Fb Ab"),
        ("F#dim7", "F# A C Eb"),
        ("G7/F", "F G B D"),
    ],
)
def test_symbols_give_spelled_notes_from_the_bass_up(symbol: str, notes: str) -> None:
    assert {note.name for note in parse_chord(symbol).notes} == set(notes.split())
    assert parse_chord(symbol).notes[0].name == notes.split()[0]


@pytest.mark.parametrize("kind", [kind for kind in kinds() if not kind.own], ids=lambda k: k.name)
def test_kinds_are_spelled_as_music21_spells_them(kind: object) -> None:
    """MusicXML 4.0 kinds on every usual root against music21's ChordSymbol (spelled names)."""
    from music21 import harmony

    from engine.chord import Kind

    assert isinstance(kind, Kind)
    name = harmony.CHORD_ALIASES.get(kind.name, kind.name)
    assert name in harmony.CHORD_TYPES
    for fifths in range(-7, 8):
        root = Note(fifths)
        theirs = harmony.ChordSymbol(root=root.name.replace("b", "-"), kind=name)
        names = {pitch.name.replace("-", "b").replace("##", "x") for pitch in theirs.pitches}
        chord = Chord(root, tuple(Member(degree, alter) for degree, alter in kind.members))
        assert {note.name for note in chord.notes} == names


def test_an_error_underlines_the_span_and_proposes_the_nearest_symbol() -> None:
    with pytest.raises(ChordError) as caught:
        parse_chord("Cmjj7")
    assert caught.value.place is not None
    assert caught.value.place.column > 1
    assert caught.value.suggestion.startswith("C")


@pytest.mark.parametrize("symbol", ["Esus2b2", "Csus4addb3#4", "Gsus24#2", "B°9/E", "Cxsus4b4"])
def test_odd_symbols_read_back_too(symbol: str) -> None:
    chord = parse_chord(symbol)
    assert parse_chord(chord.symbol) == chord


@pytest.mark.parametrize(
    ("text", "nearest"),
    [
        ("Cmaj77", "Cmaj7"),
        ("Gja7", "Gmaj7"),
        ("Csuss", "Csus4"),
        ("H7", "B7"),
        ("a-moll", "Am"),
        ("Fis7", "F#7"),
        ("Es", "Eb"),
        ("C/H", "C/B"),
        ("C\\E", "C/E"),
        ("Esuss", "Esus4"),
        ("ii7", ""),
    ],
)
def test_the_nearest_symbol_keeps_the_root(text: str, nearest: str) -> None:
    assert nearest_symbol(text) == nearest


def test_the_root_is_never_altered() -> None:
    with pytest.raises(ChordError, match="root is never altered"):
        parse_chord("Badd#8")
    assert parse_chord("Badd8") == parse_chord("B")


def test_a_letter_whose_case_is_two_letters_is_refused_like_any() -> None:
    with pytest.raises(ChordError, match="does not begin with a root"):
        parse_chord("mİ")


def test_a_slash_wants_a_bass() -> None:
    with pytest.raises(ChordError, match="no bass"):
        parse_chord("C/")


@pytest.mark.parametrize(
    ("text", "column", "nearest"),
    [
        ("F(", 2, "F"),
        ("F)", 2, "F"),
        ("C(add9", 2, "Cadd9"),
        ("C7(b9]", 6, "C7b9"),
        ("C/E)", 4, "C/E"),
    ],
)
def test_a_bracket_that_stands_alone_is_pointed_at(text: str, column: int, nearest: str) -> None:
    with pytest.raises(ChordError, match="a bracket is") as caught:
        parse_chord(text)
    assert caught.value.place is not None
    assert (caught.value.place.column, caught.value.suggestion) == (column, nearest)


def test_brackets_hold_something() -> None:
    with pytest.raises(ChordError, match="nothing stands in the brackets"):
        parse_chord("C7()")
    assert parse_chord("C7((b9))") == parse_chord("C7b9")


@pytest.mark.parametrize(
    ("text", "symbol"),
    [("C2sus4th", "Csus4(add9)"), ("C(Dom7)", "C7"), ("C(DOM7)", "C7"), ("C2sus", "Csus2")],
)
def test_words_are_read_in_any_case_and_with_their_endings(text: str, symbol: str) -> None:
    assert parse_chord(text) == parse_chord(symbol)


@pytest.mark.parametrize("text", ["Cno", "CNO", "COmit", "COMIT", "CAdd"])
def test_a_word_that_wants_a_degree_says_so_in_any_case(text: str) -> None:
    with pytest.raises(ChordError, match="wants a degree"):
        parse_chord(text)
