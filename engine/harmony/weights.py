"""The weights of readings, from shared/tables/reading.toml."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import lru_cache

import shared


@dataclass(frozen=True, slots=True)
class Weights:
    """How far-fetched each reading is, in the units of the table; lower is likelier."""

    respelled: float
    turned: float
    odd_spelling: float
    diatonic_major: dict[str, float]
    diatonic_minor: dict[str, float]
    harmonic: float
    melodic: float
    neapolitan: float
    blues: float
    backdoor: float
    picardy: float
    inverted: float
    from_major: float
    borrowed: float
    phrygian: float
    augmented_tonic: float
    mediant: float
    chromatic: float
    diminished: float
    altered: float
    altered_seventh: float
    applied_near: float
    applied_far: float
    applied_other: float
    applied_other_seventh: float
    applied_to_dominant: float
    applied_triad: float
    applied_but_diatonic: float
    applied_suspended: float
    suspended_over_bass: float
    leading_tone: float
    half_diminished: float
    half_diminished_to_minor: float
    predominant_near: float
    predominant_far: float
    predominant_triad: float
    predominant_half_diminished: float
    predominant_dorian: float
    predominant_iv: float
    predominant_six_five: float
    applied_neapolitan: float
    applied_six_four: float
    augmented_sixth: float
    applied_sixth: float
    substitute: float
    substitute_applied: float
    common_tone: float
    passing: float
    resolved: float
    other_mode: float
    leads: float
    left: float
    deceptive: float
    continued: float
    held: float
    not_held: float
    suspension_resolved: float
    unresolved: float
    unresolved_triad: float
    unresolved_second: float
    stays_within: float
    not_passing: float
    leapt_to: float
    sixth_to_seventh: float
    unresolved_sixth: float
    unresolved_common: float
    unresolved_substitute: float
    approached: float
    approached_inverted: float
    continued_approach: float
    unapproached: float
    cadence: float
    no_cadence: float
    arrival: float
    blues_leaves: float
    mediant_returns: float
    turned_major: float
    modal_tonic: float
    blues_style: float
    modal_mediant: float


@lru_cache(maxsize=1)
def weights() -> Weights:
    """The table, read once."""
    return Weights(**tomllib.loads(shared.text("tables", "reading.toml")))
