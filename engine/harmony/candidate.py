"""One reading of a chord before its neighbours are looked at, and what the ways to read share.

Everything here is relative: the tonic is C (0 on the line of fifths), so that
a reading moves with its key by construction and can be kept for all keys.
`cost` says how far-fetched a reading is; the weights stand in
shared/tables/reading.toml.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from engine.harmony import words
from engine.harmony.build import Build, places
from engine.harmony.numeral import degree_name
from engine.harmony.words import Category, Function


@dataclass(slots=True, eq=False)
class Candidate:
    """One reading of a chord relative to its tonic, one object for all its uses.

    `root` (in fifths from the tonic) and `build` are spelled for this reading; `target` is the
    degree it leans on in fifths from the tonic, None where it leans on none; `kind` is what the
    context looks at. Not frozen but final, since a frozen one takes twice as long to make.
    """

    root: Final[int]
    build: Final[Build]
    roman: Final[str]
    function: Final[Function]
    category: Final[Category]
    cost: Final[float]
    kind: Final[str]
    target: Final[int | None] = None
    target_minor: Final[bool] = False
    respelled: Final[tuple[int, ...] | None] = None

    @property
    def notes(self) -> tuple[int, ...]:
        """From the bass up; those of an augmented sixth are not spelled as the chord's."""
        if self.respelled is not None:
            return self.respelled
        root = self.root
        return tuple([root + place for place in self.build.notes])

    @property
    def bass(self) -> int:
        """The sounding bass in fifths from the tonic."""
        return self.root + (self.build.bass or 0)

    @property
    def acting_root(self) -> int:
        """The root in fifths from the tonic: of a suspended dominant like `F/G`, its bass."""
        bass = self.build.bass
        if bass is None:
            return self.root
        held = self.category is words.SUSPENDED and self.function is words.DOMINANT
        return self.root + bass if held or self.kind == "held" else self.root


# Degrees that may be leant on, in fifths from the tonic: (fifths, minor, nearness); `other` is
# a near degree in the other mode, taken where the goal is heard so.
_TARGETS = {
    False: (
        (1, False, "near"), (2, True, "near"), (-1, False, "near"), (3, True, "near"),
        (4, True, "near"), (-2, False, "far"), (-3, False, "far"), (-4, False, "far"),
        (-5, False, "far"), (5, True, "far"), (1, True, "other"), (-1, True, "other"),
        (2, False, "other"), (3, False, "other"), (4, False, "other"), (5, False, "far"),
    ),
    True: (
        (1, False, "near"), (-1, True, "near"), (-3, False, "near"), (-4, False, "near"),
        (-2, False, "near"), (-5, False, "far"), (2, True, "far"), (1, True, "other"),
        (-1, False, "other"), (3, False, "far"), (4, False, "far"), (5, False, "far"),
    ),
}  # fmt: skip

#: A degree that may be leant on: fifths from the tonic, minor, nearness, name.
Target = tuple[int, bool, str, str]

#: All of them in major (False) and minor (True).
TARGETS: dict[bool, tuple[Target, ...]] = {
    minor: tuple((at, lower, near, degree_name(at, minor, lower)) for at, lower, near in targets)
    for minor, targets in _TARGETS.items()
}

_AT = {
    minor: [
        tuple(target for target in targets if (target[0] - place) % 12 == 0) for place in range(12)
    ]
    for minor, targets in TARGETS.items()
}


def targets_at(place: int, minor: bool) -> tuple[Target, ...]:
    """The degrees that may be leant on `place` fifths from the tonic, or enharmonic with it."""
    return _AT[minor][place % 12]


MAJOR_SCALE = places(range(-1, 6))
MINOR_SCALE = places(range(-4, 3))
MIXOLYDIAN = places(range(-2, 5))
PHRYGIAN = places(range(-5, 2))
HARMONIC = MINOR_SCALE | places([5])
#: Forms of minor that stand beside the natural one, each with one sixth and one seventh degree.
FORMS_OF_MINOR = (
    places([-4, -3, -1, 0, 1, 2, 5]),
    places([-3, -1, 0, 1, 2, 3, 5]),
    places([-3, -2, -1, 0, 1, 2, 3]),
)
