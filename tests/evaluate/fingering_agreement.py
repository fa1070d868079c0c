"""How far fingerings agree with those of scale manuals: the published model alone, and with shapes.

Two-octave arpeggios of all twelve major and twelve minor triads in both hands, in root position,
and the four-note broken chords of C (Beringer & Dunhill 1900). Majors and minors are the common
practice of scale manuals; where manuals differ, one is taken. Counted are whole arpeggios and
single notes.

    python tests/evaluate/fingering_agreement.py
"""

from __future__ import annotations

from collections.abc import Iterator

from engine.hands.fingering_cost import cheapest_fingering, keys_of
from engine.hands.fingering_shapes import finger_strokes
from engine.pitch import Pitch
from engine.song import Hand

#: (hand, mode): fingers from the root up over two octaves, and the keys that take them.
MANUALS = {
    (Hand.RIGHT, "major"): {"1231235": "C D E F G A B F#", "2124124": "Db Eb Ab Bb"},
    (Hand.LEFT, "major"): {
        "5421421": "C F G", "5321321": "D E A B F#", "2142142": "Db Eb Ab", "3213213": "Bb",
    },
    (Hand.RIGHT, "minor"): {
        "1231235": "C D E F G A B Eb", "2124124": "C# F# G#", "2312312": "Bb",
    },
    (Hand.LEFT, "minor"): {
        "5421421": "C D E F G A B Eb", "2142142": "C# F# G#", "3213213": "Bb",
    },
}  # fmt: skip
GAPS = {"major": (0, 4, 7), "minor": (0, 3, 7)}
BROKEN = {
    Hand.RIGHT: ("1235", "1245", "1245", "1235"),
    Hand.LEFT: ("5421", "5421", "5321", "5421"),
}
INVERSIONS = ((60, 64, 67, 72), (64, 67, 72, 76), (67, 72, 76, 79), (72, 76, 79, 84))


def entries() -> Iterator[tuple[str, Hand, list[int], str]]:
    """A group's name, the hand, the keys and the manuals' fingers."""
    for (hand, mode), rows in MANUALS.items():
        for fingers, keys in rows.items():
            for key in keys.split():
                root = Pitch.parse(f"{key}{4 if hand is Hand.RIGHT else 2}").midi
                line = [root + 12 * octave + gap for octave in (0, 1) for gap in GAPS[mode]]
                yield f"{hand.value} hand, {mode}", hand, [*line, root + 24], fingers
    for hand, chords in BROKEN.items():
        for chord, fingers in zip(INVERSIONS, chords, strict=True):
            yield f"{hand.value} hand, four-note chords of C", hand, list(chord), fingers


def with_shapes(line: list[int], hand: Hand) -> str:
    """The program's fingers for a line of single notes in one harmony."""
    keys, _ = keys_of(line, hand)
    shift = keys[0] // 12 * 12
    chosen = finger_strokes(tuple((key - shift,) for key in keys), hand is Hand.LEFT, 12)
    return "".join(str(fingers[0]) for fingers in chosen)


def main() -> None:
    """Print the agreement by group."""
    counts: dict[str, list[int]] = {}
    for group, hand, line, fingers in entries():
        alone = "".join(map(str, cheapest_fingering(line, hand)))
        own = with_shapes(line, hand)
        row = counts.setdefault(group, [0, 0, 0, 0, 0])
        row[0] += 1
        row[1] += len(fingers)
        for place, found in ((2, alone), (3, own)):
            row[place] += sum(a == b for a, b in zip(found, fingers, strict=True))
        row[4] += own == fingers
        if own != fingers:
            print(f"{group}, from MIDI {line[0]}: {own}, manuals {fingers}")
    print(f"{'group':36} lines  notes  model alone  with shapes  whole lines")
    for group, (lines, notes, by_model, by_shapes, whole) in counts.items():
        print(
            f"{group:36} {lines:5} {notes:6} {by_model / notes:11.0%} {by_shapes / notes:12.0%}"
            f" {whole:8}/{lines}"
        )


if __name__ == "__main__":
    main()
