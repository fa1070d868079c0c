"""What can be set about sound and practice, one dial each: how it stands, turns and is typed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import PurePath

from engine.errors import InputError
from engine.workshop.laddering import goal_of, ladder, ladder_again, start_of
from engine.workshop.practice import (
    FASTEST,
    FURTHEST,
    SLOWEST,
    TEMPO_STEP,
    click,
    count_in,
    hands,
    interval_text,
    listen,
    melody,
    panic,
    set_tempo,
    transposed,
    try_font,
    typed_tempo,
)
from engine.workshop.preferences import RANGES, Preferences, with_preference
from engine.workshop.work import SILENCE, Hands, Outcome, Work


@dataclass(frozen=True, slots=True)
class Dial:
    """One setting. `shown` is how it stands; `turn` goes so many steps up or down.

    `text` is how it stands as one would type it and `take` reads what was typed,
    raising InputError; where they are None, Enter does `press`.
    """

    name: str
    title: str
    shown: Callable[[Work], str]
    turn: Callable[[Work, int], Work] | None = None
    text: Callable[[Work], str] | None = None
    take: Callable[[Work, str], Work | Outcome] | None = None
    press: Callable[[Work], Work | Outcome] | None = None


def number(text: str, least: float, most: float, what: str) -> float:
    """A number as typed. Raises InputError."""
    try:
        found = float(text.strip().removesuffix("%").strip())
    except ValueError:
        found = float("nan")
    if not least <= found <= most:
        raise InputError(f"“{text}” is no {what}", f"type a number from {least:g} to {most:g}")
    return found


def whole_number(text: str, least: float, most: float, what: str) -> int:
    """A whole number as typed. Raises InputError."""
    found = number(text, least, most, what)
    if found != int(found):
        raise InputError(f"“{text}” is no {what}", "type a whole number")
    return int(found)


def _preferring(work: Work, name: str, value: object) -> Work:
    kept = with_preference(work.preferences, name, value)
    return ladder_again(replace(work, preferences=kept, notice=SILENCE))


def _dial(
    name: str, title: str, step: float, shown: Callable[[Preferences], str], unit: float = 1
) -> Dial:
    """A dial of a number among the preferences, typed in units of so much."""
    least, most, _ = RANGES[name]
    whole = isinstance(getattr(Preferences(), name), int)

    def turn(work: Work, count: int) -> Work:
        old = float(getattr(work.preferences, name))
        new = min(most, max(least, round(old + count * step, 6)))
        return _preferring(work, name, int(new) if whole else new)

    def take(work: Work, text: str) -> Work:
        if whole:
            return _preferring(work, name, whole_number(text, least, most, title.lower()))
        typed = number(text, round(least / unit), round(most / unit), title.lower())
        return _preferring(work, name, round(typed * unit, 6))

    return Dial(
        name,
        title,
        lambda work: shown(work.preferences),
        turn,
        lambda work: f"{getattr(work.preferences, name) / unit:g}",
        take,
    )


def _ladder_dial(
    name: str,
    title: str,
    now: Callable[[Work], float],
    free: str,
    place: Callable[[Work, float], Work],
) -> Dial:
    """A dial of the ladder's start or goal; 0 or `free` lets the ladder choose."""

    def put(work: Work, value: float) -> Work:
        held = place(replace(work, notice=SILENCE), value)
        if value and start_of(held) > goal_of(held):
            raise InputError(
                f"a ladder from {start_of(held):g} to {goal_of(held):g} does not rise",
                "start below the goal",
            )
        return ladder_again(held)

    def turn(work: Work, count: int) -> Work:
        return put(work, min(FASTEST, max(SLOWEST, now(work) + count * TEMPO_STEP)))

    def take(work: Work, text: str) -> Work:
        if text.strip().lower() in ("", "0", free):
            return put(work, 0)
        return put(work, number(text, SLOWEST, FASTEST, "tempo"))

    def shown(work: Work) -> str:
        return f"{now(work):g}" + ("" if getattr(work, name) else f", {free}")

    return Dial(name, title, shown, turn, lambda work: f"{now(work):g}", take)


def _tempo_text(work: Work) -> str:
    return f"{work.now_tempo:g}" + ("" if work.tempo is None else f" of {work.written_tempo:g}")


def _take_tempo(work: Work, text: str) -> Work:
    return set_tempo(work, typed_tempo(work, text))


def _turn_hands(work: Work, count: int) -> Work:
    order = list(Hands)
    following = order[(order.index(work.hands) + count) % len(order)]
    return replace(work, hands=following)


def _turn_step_back(work: Work, _: int = 0) -> Work:
    return _preferring(work, "step_back", not work.preferences.step_back)


def _program_dial(name: str, title: str) -> Dial:
    """A dial of an instrument: by number, or by the beginning of its name in the soundfont."""

    def shown(work: Work) -> str:
        number = getattr(work.preferences, name)
        return f"{number} {dict(work.programs).get(number, '')}".rstrip()

    def turn(work: Work, count: int) -> Work:
        there = [each for each, _ in work.programs] or list(range(128))
        now = getattr(work.preferences, name)
        beyond = [each for each in there if (each > now if count > 0 else each < now)]
        return _preferring(work, name, beyond[0 if count > 0 else -1]) if beyond else work

    def take(work: Work, text: str) -> Work:
        wanted = text.strip().lower()
        named = [each for each, known in work.programs if known.lower().startswith(wanted)]
        if wanted and not wanted[0].isdecimal() and named:
            return _preferring(work, name, named[0])
        found = whole_number(text, 0, 127, "instrument")
        if work.programs and found not in dict(work.programs):
            cure = "← and → go through those it has"
            raise InputError(f"the soundfont has no program {found}", cure)
        return _preferring(work, name, found)

    return Dial(name, title, shown, turn, lambda work: f"{getattr(work.preferences, name)}", take)


def _font_text(work: Work) -> str:
    return PurePath(work.preferences.soundfont).name or "the first found"


def _loudness(per_cent: int) -> str:
    return "silent" if per_cent == 0 else f"{per_cent} %"


def _yes(truth: bool) -> str:
    return "yes" if truth else "no"


def _on(truth: bool) -> str:
    return "on" if truth else "off"


@lru_cache(maxsize=1)
def dials() -> tuple[Dial, ...]:
    """All of them, in the order the list shows them."""
    return (
        Dial("tempo", "Playing tempo", _tempo_text,
             lambda work, count: set_tempo(work, work.now_tempo + count * TEMPO_STEP),
             lambda work: f"{work.now_tempo:g}", _take_tempo),
        Dial("hands", "Hands", lambda work: work.hands.value, _turn_hands, press=hands),
        _dial("other_hand", "The hand that rests sounds", 10,
              lambda wish: _loudness(wish.other_hand)),
        Dial("heard", "Heard higher or lower", lambda work: interval_text(work.transpose),
             lambda work, count: transposed(work, work.transpose + count),
             lambda work: f"{work.transpose}",
             lambda work, text: transposed(
                 work, int(number(text, -FURTHEST, FURTHEST, "number of semitones")))),
        Dial("click", "Click", lambda work: _on(work.click), lambda work, _: click(work),
             press=click),
        _dial("click_level", "Loudness of the click", 10,
              lambda wish: _loudness(wish.click_level)),
        Dial("count_in", "Count-in", lambda work: _on(work.count_in),
             lambda work, _: count_in(work), press=count_in),
        Dial("melody", "Melody", lambda work: _on(work.melody), lambda work, _: melody(work),
             press=melody),
        _dial("melody_level", "Loudness of the melody", 10,
              lambda wish: _loudness(wish.melody_level)),
        Dial("ladder", "Tempo ladder on the loop", _ladder_text, press=ladder),
        _ladder_dial("ladder_start", "Ladder begins at", start_of, "as it comes",
                     lambda work, tempo: replace(work, ladder_start=tempo)),
        _ladder_dial("ladder_goal", "Ladder leads to", goal_of, "as written",
                     lambda work, tempo: replace(work, ladder_goal=tempo)),
        _dial("ladder_step", "Ladder goes up by", 1, lambda wish: f"{wish.ladder_step:g}"),
        _dial("passes", "Clean passes for a step", 1, lambda wish: f"{wish.passes}"),
        Dial("step_back", "A slip leads a step back",
             lambda work: _yes(work.preferences.step_back), _turn_step_back,
             press=_turn_step_back),
        _dial("gain", "Loudness", 0.1, lambda wish: f"{wish.gain * 100:g} %", unit=0.01),
        _dial("reverb", "Reverb", 5, lambda wish: _loudness(wish.reverb)
              if wish.reverb else "none"),
        _program_dial("melody_program", "Melody's sound, by MIDI program"),
        _program_dial("program", "Instrument, by MIDI program"),
        Dial("soundfont", "Soundfont", _font_text, None,
             lambda work: work.preferences.soundfont, try_font),
        Dial("keyboard", "MIDI keyboard", lambda work: work.keyboard or "none is listened to",
             press=listen),
        Dial("panic", "Silence everything", lambda _: "", press=panic),
    )  # fmt: skip


def _ladder_text(work: Work) -> str:
    rung = work.ladder
    if rung is None:
        return "off"
    return f"at {rung.now:g}, {rung.clean} of {rung.clean_needed} clean"


def dial(name: str) -> Dial:
    """The dial of that name."""
    return next(each for each in dials() if each.name == name)
