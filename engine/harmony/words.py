"""The words of a reading: what a chord does, and why it may stand in its key."""

from __future__ import annotations

from enum import StrEnum


class Function(StrEnum):
    """What a chord does in its key."""

    TONIC = "tonic"
    PREDOMINANT = "predominant"
    DOMINANT = "dominant"
    PASSING = "passing"  # links two chords and has no function of its own


class Category(StrEnum):
    """Why a chord may stand in its key."""

    DIATONIC = "diatonic"  # made of the key's notes (in minor of all three scales)
    APPLIED = "applied"  # dominant, leading-tone chord or predominant of another degree
    BORROWED = "borrowed"  # from the parallel key
    NEAPOLITAN = "neapolitan"  # the major triad on the lowered second degree
    AUGMENTED_SIXTH = "augmented sixth"  # its augmented sixth opens to an octave
    SUBSTITUTE = "substitute"  # a dominant a tritone away from the one it stands for
    BACKDOOR = "backdoor"  # the dominant seventh on the lowered seventh degree
    COMMON_TONE = "common-tone"  # a diminished seventh that keeps the root of the next chord
    PASSING = "passing"  # fills the step between its neighbours
    CADENTIAL = "cadential"  # the six-four before the dominant
    PEDAL = "pedal"  # over a bass that stays
    SUSPENDED = "suspended"  # the third put off
    BLUES = "blues"  # a dominant seventh at rest on I or IV
    MEDIANT = "mediant"  # a major or minor triad a third away, with a chromatic note
    CHROMATIC = "chromatic"  # none of these


# The words by themselves, for what is asked of every pair of readings: there a look into an Enum
# (a call, before Python 3.12) would cost as much as the question.
TONIC, PREDOMINANT, DOMINANT, LINKING = Function
(
    DIATONIC, APPLIED, BORROWED, NEAPOLITAN, AUGMENTED_SIXTH, SUBSTITUTE, BACKDOOR, COMMON_TONE,
    PASSING, CADENTIAL, PEDAL, SUSPENDED, BLUES, MEDIANT, CHROMATIC,
) = Category  # fmt: skip
