"""Files broken in many ways, from a seed: bytes changed, cut out, doubled, swapped, cut off."""

from __future__ import annotations

import random
from collections.abc import Iterator

from engine.errors import AlbertiError
from engine.exchange import import_bytes, write_musicxml
from engine.exchange.midi_write import write_midi
from engine.harmony import analyse
from engine.perform import perform
from tests.exchange.performed import Playing, performed, song_of
from tests.exchange.samples import make_part, make_song

ABC = """X:1
T:Green Gate
M:6/8
L:1/8
Q:3/8=80
K:D
|:"D"d2e f2d|"G"g2f e2d|1 "A7"e3 (3ccc :|2 "A7"e2c "D"[df]3-|d>e^f2 z|]
w: Wa-ter~lies__ * so | long, well\\-worn
+: gate
"""
CHORDS = """Slow River
Key: G
Time: 3/4

[Verse]
G          Em7b5/Bb
Walking by the water
| G / D | Em . C(add9) | % | (x2)
Chorus: G D N.C. C
[Am]In the [F]line
"""


def seeds() -> dict[str, bytes]:
    """A whole file of each kind, by a name with its ending."""
    song = make_song("| Ab | Eb/G | Fm . . Eb7 | C7(b9) |", key="Ab major")
    part = make_part(song)
    played = song_of("| C | Am7 | F | G7/B | C . G F | C |")
    return {
        "seed.mid": write_midi(song, perform(part, song, timing=False)),
        "played.mid": performed(played, Playing(click=False))[1],
        "seed.musicxml": write_musicxml(song, analyse(song), part),
        "seed.abc": ABC.encode(),
        "seed.txt": CHORDS.encode(),
    }


def mutations(data: bytes, count: int, seed: int) -> Iterator[bytes]:
    """`count` broken versions of a file, the same for the same seed."""
    rng = random.Random(seed)
    for _ in range(count):
        made = bytearray(data)
        for _ in range(rng.choice((1, 1, 2, 4, 16))):
            if not made:
                break
            at = rng.randrange(len(made))
            length = rng.choice((1, 2, 8, 64))
            match rng.randrange(6):
                case 0:
                    made[at] = rng.randrange(256)
                case 1:
                    made[at] ^= 1 << rng.randrange(8)
                case 2:
                    del made[at : at + length]
                case 3:
                    made[at:at] = made[at : at + length] * rng.choice((1, 3))
                case 4:
                    made[at : at + length] = bytes(rng.randrange(256) for _ in range(length))
                case _:
                    made = made[:at] if rng.random() < 0.3 else made
        yield bytes(made)


def survives(data: bytes, name: str) -> bool:
    """Whether the file is read, or refused with an error of the tree that says what is wrong.

    Any other exception passes through.
    """
    try:
        import_bytes(data, name)
    except AlbertiError:
        return False
    return True
