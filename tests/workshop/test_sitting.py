"""Walking a practice plan: what a block sets, when its minutes are over, what comes next."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from engine.song import Song, read_song
from engine.workshop import Extent, Hands, Loop, Play, Work, open_work, part_of, sitting
from engine.workshop.plan import cautions
from engine.workshop.practice_log import PracticeLog, mark_tempo

DAY = date(2026, 5, 4)
NOTHING = PracticeLog()


def song() -> Song:
    return read_song(
        'format = 1\nkey = "C major"\ntempo = 80\nright = "1 2 3 2 1 2 3 2"\nleft = "R . 5 ."\n'
        '[[section]]\nname = "A"\nchart = "| C | Am | F | G7 |"\n'
        '[[section]]\nname = "B"\nchart = "| F | C | G7 | C |"\n'
    )


def planned(log: PracticeLog = NOTHING, extent: Extent = Extent.SECTION) -> Work:
    work = replace(open_work(song()), log=log)
    return sitting.planned(work, part_of(work.song), extent, 15)


def test_the_plan_is_for_the_section_under_the_cursor_or_for_all() -> None:
    found = planned().sitting
    assert found is not None
    assert {bar for block in found.blocks for bar in block.bars} <= {1, 2, 3, 4}
    assert found.blocks[-1].bars == (1, 4)
    everything = planned(extent=Extent.SONG).sitting
    assert everything is not None
    assert everything.blocks[-1].bars == (1, 8)


def test_a_block_sets_loop_hands_tempo_and_ladder_and_plays() -> None:
    work = planned()
    assert work.sitting is not None
    block = work.sitting.blocks[0]
    after, effects = sitting.begin_block(work, 0)
    assert after.loop == Loop(*block.bars, link=True)
    assert after.hands is Hands.RIGHT  # hands apart come first: common practice
    assert after.now_tempo == block.tempo
    assert after.ladder is not None
    assert (after.ladder.now, after.ladder.goal) == (block.tempo, block.goal)
    assert effects == (Play(after.song.bars[block.bars[0] - 1].start),)
    assert after.caution  # care is spoken of where practice begins (BAPAM)


def test_when_a_blocks_minutes_are_over_the_next_is_offered() -> None:
    # Short interleaved blocks (Carter & Grahn 2016); three minutes in practice_care.toml.
    work = sitting.begin_block(planned(), 0).work
    told = ""
    for second in range(180):
        assert not told, second
        work, told = sitting.played(work, 1.0)
    assert told.startswith("3 minutes on these bars are over")
    assert work.sitting is not None
    assert work.sitting.done == {0}
    assert work.sitting.next == 1
    assert sitting.played(work, 1.0) == (work, "")


def test_the_last_block_plays_all_of_it_unlinked() -> None:
    work = planned()
    assert work.sitting is not None
    last = len(work.sitting.blocks) - 1
    after = sitting.begin_block(work, last).work
    assert after.loop == Loop(1, 4)
    assert after.hands is Hands.BOTH


def test_what_is_clean_is_planned_from_its_clean_tempo() -> None:
    log = mark_tempo(NOTHING, song(), (1, 2), "right", 60, day=DAY)
    found = planned(log).sitting
    assert found is not None
    own = [each for each in found.blocks if each.bars == (1, 2) and each.hands == "right"]
    assert [each.tempo for each in own] == [64]


def test_the_next_block_puts_away_that_the_last_one_is_over() -> None:
    every = len(cautions())
    work = replace(planned(), caution="3 minutes are over", cautions_shown=every)
    assert sitting.begin_block(work, 0).work.caution == ""
