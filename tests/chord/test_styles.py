"""One chord in every style: its quality, signs, brackets and the order of its changes."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from engine.chord import parse_chord
from engine.errors import ChordError

#: Semitones of each degree above the root (MusicXML 4.0 `kind-value`), and ways to write them.
QUALITIES = [
    ({3: 4, 5: 7, 7: 10}, ("7", "dom7", "⁷")),
    ({3: 3, 5: 7, 7: 10}, ("m7", "-7", "min7", "mi7", "−7", "MI7")),
    ({3: 4, 5: 7, 7: 11}, ("maj7", "M7", "Δ7", "Δ", "△", "ma7", "MA7", "7M", "^7", "j7")),
    ({3: 3, 5: 7, 7: 11}, ("mM7", "m(maj7)", "-Δ7", "mi(ma7)", "min(maj7)", "mmaj7")),
    ({3: 3, 5: 6, 7: 10}, ("ø", "ø7", "m7b5", "-7b5", "m7(b5)", "Ø7")),
    ({3: 3, 5: 6, 7: 9}, ("°7", "dim7", "o7", "º7", "(dim7)")),
    ({3: 4, 5: 8, 7: 10}, ("+7", "aug7", "7#5", "7+5", "7(#5)")),
    ({4: 5, 5: 7, 7: 10}, ("7sus4", "7sus", "sus7", "7(sus4)", "7/4")),
    ({3: 4, 5: 7, 7: 10, 9: 2}, ("9", "⁹")),
    ({3: 3, 5: 7, 7: 10, 9: 2}, ("m9", "-9", "min9")),
    ({3: 4, 5: 7, 7: 11, 9: 2}, ("maj9", "M9", "Δ9")),
]
#: Changes that each name a degree of their own, with the semitones they add.
CHANGES = {"b9": (9, 1), "#9": (9, 3), "#11": (11, 6), "b13": (13, 8), "b5": (5, 6), "#5": (5, 8)}
SIGNS = [("#", "b"), ("♯", "♭"), ("+", "-"), ("＋", "−")]
BRACKETS = [("{}", ""), ("({})", ","), ("({})", ", "), ("({})", ""), ("({})", "/"), (" ({})", ","),
            ("[{}]", ","), ("/{}", "/"), (" {}", " "), ("({})", ")(")]  # fmt: skip


@given(
    st.sampled_from(QUALITIES),
    st.permutations(list(CHANGES)).flatmap(
        lambda names: st.integers(1, 4).map(lambda count: names[:count])
    ),
    st.sampled_from(SIGNS),
    st.sampled_from(BRACKETS),
    st.data(),
)
@settings(max_examples=400, deadline=None)
def test_every_style_means_the_same_notes(
    quality: tuple[dict[int, int], tuple[str, ...]],
    changes: list[str],
    signs: tuple[str, str],
    brackets: tuple[str, str],
    data: st.DataObject,
) -> None:
    """Common practice of fake books and songbooks, no source."""
    degrees, written = quality
    has_ninth, plain_fifth = 9 in degrees, degrees[5] == 7
    wanted = [name for name in changes if not (has_ninth and "9" in name)]
    wanted = [name for name in wanted if plain_fifth or "5" not in name]
    places = {0, *degrees.values(), *(CHANGES[name][1] for name in wanted)}
    if any(CHANGES[name][0] == 5 for name in wanted):
        places -= {7} - {CHANGES[name][1] for name in wanted}
    raised, lowered = signs
    words = [name.replace("#", raised).replace("b", lowered) for name in wanted]
    around, between = brackets
    text = "C" + data.draw(st.sampled_from(written))
    text += around.format(between.join(words)) if words else ""
    assert parse_chord(text).pitch_classes == places, text


#: What names a note for certain, with its semitones above the root.
NAMED = {
    "b5": 6, "#5": 8, "b9": 1, "#9": 3, "#11": 6, "b13": 8, "b6": 8, "add9": 2, "add11": 5,
    "add13": 9, "add#11": 6, "addb9": 1, "add6": 9, "9": 2, "11": 5, "13": 9, "6": 9, "maj7": 11,
    "M9": 2, "maj9": 2, "maj13": 9, "69": 9, "sus4": 5, "sus2": 2, "4": 5, "9-": 1, "11+": 6,
    "addmaj7": 11, "alt": 6,
}  # fmt: skip
BEGUN = (
    *("", "m", "maj7", "7", "m7", "ø", "°7", "+7", "6", "m6", "9", "m9", "13", "sus4", "7sus4"),
    *("sus2", "Δ", "mM7", "2", "4", "5", "alt", "69", "dim", "aug", "11", "maj9", "dim(maj7)"),
)


@given(st.sampled_from(BEGUN), st.lists(st.sampled_from(list(NAMED)), min_size=1, max_size=4))
@settings(max_examples=600, deadline=None)
def test_what_is_named_sounds_or_is_refused(begun: str, changes: list[str]) -> None:
    text = f"C{begun}{''.join(f'({change})' for change in changes)}"
    try:
        chord = parse_chord(text)
    except ChordError:
        return
    assert {NAMED[change] for change in changes} <= chord.pitch_classes, text
    assert parse_chord(chord.symbol) == chord
