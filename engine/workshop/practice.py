"""Playing and practising: loop, tempo, hands, the tempo ladder, step mode."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from engine.part import Part
from engine.song import Hand, Song
from engine.workshop.history import settle
from engine.workshop.work import (
    Cursor,
    Hands,
    Mark,
    Outcome,
    Play,
    Stop,
    Strike,
    Work,
    refuse,
    say,
)

TEMPO_STEP = 4
SLOWEST, FASTEST = 10.0, 400.0


def play_or_stop(work: Work) -> Outcome:
    """Play from the cursor, or stop."""
    if work.playing:
        return Outcome(replace(work, playing=False), (Stop(),))
    return play_from(work, work.here)


def play_from(work: Work, at: Fraction) -> Outcome:
    """Play from a time; a loop that does not hold it begins at its start."""
    if work.loop is not None:
        first, last = (work.song.bars[number - 1] for number in work.loop)
        if not first.start <= at < last.end:
            at = first.start
    return Outcome(replace(work, playing=True, step=None), (Play(at),))


def play_from_start(work: Work) -> Outcome:
    """Play from the first bar, or from the loop's."""
    first = work.loop[0] if work.loop else 1
    return play_from(work, work.song.bars[first - 1].start)


def loop(work: Work) -> Work:
    """Loop the selection, or the bar under the cursor; once more ends the loop."""
    wanted = work.selection
    if work.loop == wanted or (work.anchor is None and work.loop and _holds(work.loop, wanted)):
        return say(replace(work, loop=None, ladder=None), "The loop is off")
    text = f"Loop: bar {wanted[0]}" if wanted[0] == wanted[1] else f"Loop: bars {shown(wanted)}"
    looped = replace(work, loop=wanted, anchor=None, ladder=None)
    if work.anchor is not None:
        looped = settle(looped, Cursor(wanted[0], 0))
    from engine.workshop.plan import cautions

    if work.loop is None and work.cautions_shown < len(cautions()):
        shown_now = cautions()[work.cautions_shown]
        looped = replace(looped, caution=shown_now, cautions_shown=work.cautions_shown + 1)
    return say(looped, text)


def link(work: Work) -> Work:
    """Make the loop end with the bar after it, so that one link leads into the next."""
    if work.loop is None:
        return refuse(work, "No loop to lengthen: l loops this bar")
    if work.loop[1] == len(work.song.bars):
        return refuse(work, "The loop ends with the song")
    longer = (work.loop[0], work.loop[1] + 1)
    return say(replace(work, loop=longer), f"Loop: bars {shown(longer)}")


def shown(bars: tuple[int, int]) -> str:
    """`7`, or `7–8`."""
    return str(bars[0]) if bars[0] == bars[1] else f"{bars[0]}–{bars[1]}"


def _holds(outer: tuple[int, int], inner: tuple[int, int]) -> bool:
    return outer[0] <= inner[0] and inner[1] <= outer[1]


def set_tempo(work: Work, tempo: float) -> Work:
    """Play at a tempo, in the meter's own beats a minute."""
    kept = min(FASTEST, max(SLOWEST, tempo))
    written = work.written_tempo
    said = f"Tempo {kept:g} of {written:g}" if kept != written else f"Tempo {kept:g}, as written"
    return say(replace(work, tempo=None if kept == written else kept), said)


def faster(work: Work) -> Work:
    return set_tempo(work, work.now_tempo + TEMPO_STEP)


def slower(work: Work) -> Work:
    return set_tempo(work, work.now_tempo - TEMPO_STEP)


def written_tempo(work: Work) -> Work:
    """Play at the written tempo again."""
    return set_tempo(replace(work, ladder=None), work.written_tempo)


def hands(work: Work) -> Work:
    """Both hands, the right alone, the left alone, and round again."""
    order = list(Hands)
    following = order[(order.index(work.hands) + 1) % len(order)]
    return say(replace(work, hands=following), f"{following[0].upper()}{following[1:]}")


def click(work: Work) -> Work:
    return say(replace(work, click=not work.click), f"Click {'off' if work.click else 'on'}")


def count_in(work: Work) -> Work:
    return say(
        replace(work, count_in=not work.count_in),
        "No count-in" if work.count_in else "A bar of count-in before playing",
    )


def ladder(work: Work) -> Work:
    """Begin a tempo ladder on the loop, from the present tempo to the written one; or end it."""
    if work.ladder is not None:
        return say(replace(work, ladder=None), "The tempo ladder is off")
    if work.loop is None:
        return refuse(work, "A tempo ladder needs a loop: l loops this bar")
    from engine.play.ladder import begin

    goal = work.written_tempo
    start = work.now_tempo if work.now_tempo < goal else max(SLOWEST, round(goal / 2))
    rung = begin(start, goal)
    return say(
        set_tempo(replace(work, ladder=rung), start),
        f"Ladder: {start:g} to {goal:g}, up {rung.step:g} after {rung.clean_needed} clean"
        " passes; 1 marks a pass clean, 0 a slip",
    )


def clean_pass(work: Work) -> Outcome:
    """Mark a pass clean: after enough of them the tempo rises by a step."""
    from engine.play import ladder as rungs

    before = work.ladder
    if before is None or work.loop is None:
        return Outcome(refuse(work, "No tempo ladder here: L begins one on the loop"))
    rung = rungs.clean_pass(before)
    came_clean = rung.best if rung.clean == 0 else 0
    mark = Mark(work.loop, work.hands.word, clean=True, tempo=came_clean)
    if rung.reached:
        done = replace(work, ladder=None)
        return Outcome(say(done, f"Clean at {rung.goal:g}: the goal is reached"), (mark,))
    if rung.clean:
        counted = replace(work, ladder=rung)
        return Outcome(say(counted, f"{rung.clean} of {rung.clean_needed} clean"), (mark,))
    return Outcome(set_tempo(replace(work, ladder=rung), rung.now), (mark,))


def slip(work: Work) -> Outcome:
    """Mark a slip: the passes of this step count anew, and the tempo goes a step back."""
    from engine.play import ladder as rungs

    if work.ladder is None or work.loop is None:
        return Outcome(refuse(work, "No tempo ladder here: L begins one on the loop"))
    rung = rungs.slip(work.ladder)
    mark = Mark(work.loop, work.hands.word, clean=False)
    return Outcome(set_tempo(replace(work, ladder=rung), rung.now), (mark,))


def dismiss(work: Work) -> Work:
    """Put the caution away, give up the selection, leave step mode: the nearest of these."""
    if work.step is not None:
        return say(replace(work, step=None), "Step mode is off")
    if work.caution:
        return replace(work, caution="")
    if work.anchor is not None:
        return say(replace(work, anchor=None), "Selection given up")
    return work


def struck_at(part: Part, hands: Hands) -> tuple[Fraction, ...]:
    """The times at which the hands that sound strike keys."""
    wanted = {Hands.RIGHT: (Hand.RIGHT,), Hands.LEFT: (Hand.LEFT,)}.get(hands, tuple(Hand))
    return tuple(sorted({note.onset for note in part.notes if note.hand in wanted}))


def _strike(work: Work, times: tuple[Fraction, ...], at: Fraction) -> Strike:
    return Strike(at, next((time for time in times if time > at), work.song.end))


def begin_steps(work: Work, part: Part | None) -> Outcome:
    """Step mode: from here on a key advances one group of notes."""
    if work.step is not None:
        return Outcome(say(replace(work, step=None), "Step mode is off"))
    if part is None or not part.notes:
        return Outcome(refuse(work, "There are no notes to step through"))
    times = struck_at(part, work.hands)
    at = next((time for time in times if time >= work.here), times[0])
    said = say(
        replace(work, step=at, playing=False),
        "Step mode: Space or right goes on, left goes back, Esc ends it",
    )
    return Outcome(said, (Stop(), _strike(work, times, at)))


def step_on(work: Work, part: Part | None, count: int) -> Outcome:
    """So many groups of notes on, or back where negative."""
    if work.step is None or part is None:
        return Outcome(refuse(work, "Step mode is off: w begins it"))
    every = times = struck_at(part, work.hands)
    if work.loop is not None:
        start, end = _stretch(work.song, work.loop)
        times = tuple(time for time in times if start <= time < end) or times
    index = sum(1 for time in times if time <= work.step) - 1 + count
    if not 0 <= index < len(times):
        if work.loop is None:
            return Outcome(refuse(work, "The part ends here" if count > 0 else "It begins here"))
        index %= len(times)
    at = times[index]
    bar = work.song.bar_at(at)
    slot = bar.slots.index(bar.slot_at(at - bar.start))
    moved = settle(work, Cursor(bar.number, slot))
    return Outcome(replace(moved, step=at), (_strike(work, every, at),))


def _stretch(song: Song, bars: tuple[int, int]) -> tuple[Fraction, Fraction]:
    return song.bars[bars[0] - 1].start, song.bars[bars[1] - 1].end
