"""Playing: from where, round which loop, how fast, how high, with which hands."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction

from engine.errors import InputError
from engine.song.melody import verse_counts
from engine.workshop.effects import Listen, Panic, Play, Stop, Tap, TryFont
from engine.workshop.history import settle
from engine.workshop.loop import Loop, loop_text, span, typed_loop
from engine.workshop.rendering import stopped
from engine.workshop.work import Cursor, Hands, Outcome, Work, refuse, say

TEMPO_STEP = 4
SLOWEST, FASTEST = 10.0, 400.0
#: Semitones it may sound above or below what is written.
FURTHEST = 12


def play_or_stop(work: Work) -> Outcome:
    """Play from the cursor, or stop; a caution has had its time then."""
    if work.playing:
        return Outcome(replace(work, playing=False, caution=""), (Stop(),))
    return play_from(work, work.here)


def play_from(work: Work, at: Fraction) -> Outcome:
    """Play from a time; a loop that does not hold it begins at its start."""
    around = stretch(work)
    if around is not None and not around[0] <= at < around[1]:
        at = around[0]
    return Outcome(replace(work, playing=True, steps=None), (Play(at),))


def play_from_start(work: Work) -> Outcome:
    """Play from the first bar, or from the loop's start."""
    around = stretch(work)
    return play_from(work, around[0] if around else Fraction(0))


def stretch(work: Work) -> tuple[Fraction, Fraction] | None:
    """Where the loop begins and ends, in whole notes, without what a link adds."""
    if work.loop is None:
        return None
    return span(work.loop, work.shown)


def loop(work: Work) -> Work:
    """Loop the selection, or the bar under the cursor; once more ends the loop."""
    first, last = work.selection
    old = work.loop
    if old and (
        old == Loop(first, last) or (work.anchor is None and old.first <= first <= old.last)
    ):
        return say(replace(work, loop=None, ladder=None), "The loop is off")
    looped = looping(work, Loop(first, last))
    return settle(looped, Cursor(first, 0)) if work.anchor is not None else looped


def looping(work: Work, wanted: Loop) -> Work:
    """The work going round a loop; practice begins here, so here care is spoken of."""
    looped = replace(work, loop=wanted, anchor=None, ladder=None)
    if work.loop is None:
        looped = cautioned(looped)
    return say(looped, f"{_said(looped)}{_heard_by(work)}")


def _heard_by(work: Work) -> str:
    """What to press to hear a loop that does not play yet."""
    if work.playing:
        return ""
    return "; \\ plays it" if work.steps is not None else "; Space plays it"


def cautioned(work: Work) -> Work:
    """The work with the next caution, one for each beginning, each once."""
    from engine.workshop.plan import cautions

    if work.cautions_shown >= len(cautions()):
        return work
    text = cautions()[work.cautions_shown]
    return replace(work, caution=text, cautions_shown=work.cautions_shown + 1)


def shown(bars: tuple[int, int]) -> str:
    """`7`, or `7–8`."""
    return str(bars[0]) if bars[0] == bars[1] else f"{bars[0]}–{bars[1]}"


def _said(work: Work) -> str:
    assert work.loop is not None
    text = loop_text(work.loop, work.song)
    plural = work.loop.first != work.loop.last or work.loop.link
    return f"Loop: bar{'s' if plural else ''} {text}"


def loop_from_here(work: Work) -> Work:
    """The loop begins at the chord under the cursor; without a loop, to the end of its bar."""
    start = work.slot.onset
    number = work.cursor.bar
    old = work.loop or Loop(number, number)
    last = max(old.last, number)
    end = old.end if last == old.last else None
    if last == number and end is not None and end <= start:
        end = None
    return looping(work, replace(old, first=number, last=last, start=start, end=end))


def loop_to_here(work: Work) -> Work:
    """The loop ends with the chord under the cursor; without a loop, from its bar's start."""
    number = work.cursor.bar
    old = work.loop or Loop(number, number)
    end: Fraction | None = work.slot.onset + work.slot.duration
    if end == work.bar.meter.bar:
        end = None
    first = min(old.first, number)
    start = old.start if first == old.first else Fraction(0)
    if first == number and end is not None and end <= start:
        start = Fraction(0)
    return looping(work, Loop(first, number, start, end))


def take_loop(work: Work, text: str) -> Work:
    """The loop as typed. Raises InputError."""
    return looping(work, typed_loop(text, work.song))


def link(work: Work) -> Work:
    """Let the loop end on the first note of the bar after it, or with its own last note."""
    old = work.loop
    if old is None:
        return refuse(work, "No loop to link on: l loops this bar")
    if old.last == len(work.song.bars):
        return refuse(work, "The loop ends with the song: there is no bar to link it to")
    linked = replace(work, loop=replace(old, link=not old.link, end=None))
    if old.link:
        return say(linked, _said(linked))
    return say(linked, f"{_said(linked)}: on to the first note of bar {old.last + 1}")


def set_tempo(work: Work, tempo: float) -> Work:
    """Play at a tempo, in the meter's own beats a minute."""
    kept = min(FASTEST, max(SLOWEST, tempo))
    written = work.written_tempo
    said = f"Tempo {kept:g} of {written:g}" if kept != written else f"Tempo {kept:g}, as written"
    rung = work.ladder
    if rung is not None and rung.now != kept:  # what is marked clean is what was played
        low, high = min(rung.start, kept), max(rung.goal, kept)
        rung = replace(rung, start=low, goal=high, now=kept, clean=0)
    return say(replace(work, tempo=None if kept == written else kept, ladder=rung), said)


def typed_tempo(work: Work, text: str) -> float:
    """A tempo as typed: beats a minute, or a share of the written one (`50%`, `1/2`).

    Raises InputError.
    """
    match = re.fullmatch(r"(\d{1,4}(?:\.\d+)?)\s*(%)?|([1-9])/([1-9])", text)
    if match is None:
        raise InputError(
            f"“{text}” is no tempo", "type beats a minute, like 60, or a share, like 50% or 1/2"
        )
    if match[3]:
        return work.written_tempo * int(match[3]) / int(match[4])
    number = float(match[1])
    return work.written_tempo * number / 100 if match[2] else number


def faster(work: Work) -> Work:
    return set_tempo(work, work.now_tempo + TEMPO_STEP)


def slower(work: Work) -> Work:
    return set_tempo(work, work.now_tempo - TEMPO_STEP)


def written_tempo(work: Work) -> Work:
    """Play at the written tempo again."""
    return set_tempo(replace(work, ladder=None), work.written_tempo)


def tap(work: Work) -> Outcome:
    """One tap of the tempo: from the second on it plays at what was tapped."""
    return Outcome(work, (Tap(),))


def transposed(work: Work, semitones: int) -> Work:
    """Sound so many semitones above what is written; the song stays as it is."""
    kept = min(FURTHEST, max(-FURTHEST, semitones))
    return say(replace(work, transpose=kept), f"Heard {interval_text(kept)}; the song stays")


def higher(work: Work) -> Work:
    return transposed(work, work.transpose + 1)


def lower(work: Work) -> Work:
    return transposed(work, work.transpose - 1)


def interval_text(semitones: int) -> str:
    """`as written`, or `3 semitones higher`."""
    if semitones == 0:
        return "as written"
    count = abs(semitones)
    return f"{count} semitone{'s'[: count > 1]} {'higher' if semitones > 0 else 'lower'}"


def panic(work: Work) -> Outcome:
    """Stop and silence everything."""
    return Outcome(say(replace(work, playing=False), "Everything is silent"), (Panic(),))


def listen(work: Work) -> Outcome:
    """Listen to the MIDI keyboard."""
    return Outcome(say(work, "Looking for a MIDI keyboard …"), (Listen(),))


def try_font(work: Work, path: str) -> Outcome:
    """Sound with another soundfont, once it is known to be one."""
    return Outcome(say(work, "Trying the soundfont …"), (TryFont(path),))


def hands(work: Work) -> Work:
    """Both hands, the right alone, the left alone, and round again."""
    order = list(Hands)
    following = order[(order.index(work.hands) + 1) % len(order)]
    return say(replace(work, hands=following), f"{following[0].upper()}{following[1:]}")


def melody(work: Work) -> Work:
    """The melody sounds, or is silent."""
    return say(
        replace(work, melody=not work.melody),
        "Melody off: the hands alone" if work.melody else "Melody on",
    )


def next_verse(work: Work) -> Work:
    """The next verse of the words is shown; after the last, the first."""
    count = max(verse_counts(work.song).values(), default=0)
    if count < 2:
        return refuse(work, "The words have one verse" if count else "Nothing is sung here yet")
    verse = (min(work.verse, count - 1) + 1) % count
    return say(replace(work, verse=verse), f"Verse {verse + 1} of {count}")


def click(work: Work) -> Work:
    return say(replace(work, click=not work.click), f"Click {'off' if work.click else 'on'}")


def count_in(work: Work) -> Work:
    return say(
        replace(work, count_in=not work.count_in),
        "No count-in" if work.count_in else "A bar of count-in before playing",
    )


def dismiss(work: Work) -> Work | Outcome:
    """Give up step mode, the file being written, the caution or the selection: the nearest."""
    if work.steps is not None:
        return say(replace(work, steps=None), "Step mode is off")
    if work.writing is not None:  # which says so while it is being written
        return stopped(work)
    if work.caution:
        return replace(work, caution="")
    if work.anchor is not None:
        return say(replace(work, anchor=None), "Selection given up")
    return replace(work, marks=frozenset())
