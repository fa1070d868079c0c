"""The commands outside the screen: what they print for programs and for people."""

from __future__ import annotations

import errno
import json
import os
import signal
import subprocess
import sys
from fractions import Fraction
from pathlib import Path

import pytest

from engine.key import Key
from engine.song import load_song, read_song
from tests.cli.command_line import CommandLine
from tui.cli import frame

SCRIPT = (sys.executable, "-c", "import sys; from tui.cli import main; sys.exit(main())")
SONG = """\
format = 1
title = "Two Chords"
key = "C major"
meter = "6/8"

[[section]]
name = "A"
chart = "| C (. . G/B) | Am D7/F# | N.C. | G |"
melody = "C3 E3 | A3 c3 | z6 | d6"
"""


@pytest.fixture
def song(tmp_path: Path) -> Path:
    path = tmp_path / "two.toml"
    path.write_text(SONG, encoding="utf-8")
    return path


# Harmony.


def test_chord_says_all_of_a_symbol_in_its_key(alberti: CommandLine) -> None:
    found = alberti("chord", "--json", "--key", "E major", "C#7", "A/E")
    assert found.status == 0
    first, second = found.records
    assert list(first) == [
        "symbol", "root", "bass", "notes", "pitch_classes", "kind", "roman", "function",
        "category", "resolves_to", "scale", "explanation", "also", "better_spelling",
    ]  # fmt: skip
    # V7/ii in E: C#7 (spelled in thirds from its root), Open Music Theory's applied chords.
    assert first["symbol"] == "C#7"
    assert first["notes"] == ["C#", "E#", "G#", "B"]
    assert first["pitch_classes"] == [1, 5, 8, 11]
    assert (first["roman"], first["kind"]) == ("V7/ii", "dominant")
    assert len(first["scale"]) == 7
    assert (second["root"], second["bass"], second["roman"]) == ("A", "E", "IV64")


def test_chord_reads_symbols_from_standard_input(alberti: CommandLine) -> None:
    text = "C G7\n\nBb°\nC7(b9, #11)\nB♭7\n"
    found = alberti("chord", "--json", "-", "F", stdin=text).records
    assert [each["symbol"] for each in found] == [
        "C", "G7", "Bbdim", "C7(b9, #11)", "Bb7", "F",
    ]  # fmt: skip


def test_chord_reads_symbols_given_together_as_a_progression(alberti: CommandLine) -> None:
    # One chord of look-ahead decides: a German sixth before V, an applied dominant before bII.
    for after, roman in (("G", "Ger65"), ("Db", "V7/bII"), ("G7", "subV7/V")):
        together = alberti("chord", "--json", "Ab7", after)
        assert together.records[0]["roman"] == roman
        line = alberti("chord", "--json", "-", stdin=f"Ab7 {after}\n")
        assert line.records == together.records
    apart = alberti("chord", "--json", "-", stdin="Ab7\nDb\n").records
    alone = [alberti("chord", "--json", symbol).records[0] for symbol in ("Ab7", "Db")]
    assert apart == alone


def test_chord_spells_root_bass_and_notes_from_one_side(alberti: CommandLine) -> None:
    found = alberti("chord", "--json", "--key", "C major", "-", stdin="Bbb\nCx7\nBbb7/Abb\nG#\n")
    for record in found.records:
        assert record["root"] in record["notes"]
        assert record["bass"] == record["notes"][0]
        assert record["better_spelling"]
        assert record["better_spelling"] != record["symbol"]
    assert [record["better_spelling"] for record in found.records] == ["A", "D7", "A7/G", "Ab"]


def test_chord_prints_ascii_names_for_programs_and_signs_for_people(alberti: CommandLine) -> None:
    record = alberti("chord", "--json", "--key", "Gb major", "Ebm7b5", "Ab7").records[1]
    assert "Gb major" in record["explanation"]
    assert not {"♯", "♭"} & set(str(record))
    shown = alberti("chord", "--key", "Gb major", "Ebm7b5", "Ab7").out
    assert "G♭ major" in shown
    assert "Gb" not in shown


def test_chord_reports_a_wrong_symbol_and_reads_the_others(alberti: CommandLine) -> None:
    found = alberti("chord", "--json", "C", "Gja7", "N.C.", "F")
    assert found.status == 2
    assert found.err == ""
    right, wrong, silent, last = found.records
    assert (right["symbol"], last["symbol"]) == ("C", "F")
    assert list(wrong) == ["symbol", "error", "column"]
    assert (wrong["symbol"], wrong["column"]) == ("Gja7", 2)
    assert "ja7" in wrong["error"]
    assert "did you mean" in wrong["error"]
    assert "no chord sounds" in silent["error"]
    shown = alberti("chord", "Gja7", "F")
    assert shown.status == 2
    assert "  Gja7\n   ^^^" in shown.err
    assert "F A C" in shown.out


def test_analyse_gives_every_chord_in_its_bar(alberti: CommandLine, song: Path) -> None:
    (record,) = alberti("analyse", "--json", song).records
    assert list(record) == ["file", "title", "key", "bars"]
    assert (record["file"], record["title"]) == (str(song), "Two Chords")
    assert [bar["bar"] for bar in record["bars"]] == [1, 2, 3, 4]
    assert {bar["section"] for bar in record["bars"]} == {"A"}
    first, second, silent, _ = (bar["chords"] for bar in record["bars"])
    assert silent == []
    assert list(first[0]) == [
        "beat", "symbol", "notes", "roman", "key", "function", "category", "explanation",
    ]  # fmt: skip
    # Beats are the meter's own: in 6/8 two dotted quarters; G/B comes a third of one early.
    assert [chord["beat"] for chord in first] == [1, pytest.approx(2 + 2 / 3)]
    assert [chord["beat"] for chord in second] == [1, 2]
    assert isinstance(second[1]["beat"], int)
    assert second[1]["notes"] == ["F#", "A", "C", "D"]
    assert (second[1]["symbol"], second[1]["roman"]) == ("D7/F#", "V65/V")


def test_analyse_can_be_held_to_the_songs_key(alberti: CommandLine, song: Path) -> None:
    (record,) = alberti("analyse", "--json", "--fixed-key", song).records
    keys = {chord["key"] for bar in record["bars"] for chord in bar["chords"]}
    assert keys == {"C major"}


def test_key_looks_at_the_chords_alone(alberti: CommandLine, song: Path, tmp_path: Path) -> None:
    other = tmp_path / "other.toml"
    other.write_text(SONG.replace('"C major"', '"F# minor"'), encoding="utf-8")
    found = alberti("key", "--json", song, other).records
    assert [list(each) for each in found] == [
        ["file", "key", "confidence", "others", "regions"]
    ] * 2  # fmt: skip
    assert found[0]["key"] == found[1]["key"]
    assert 0 < found[0]["confidence"] <= 1
    assert all(list(each) == ["key", "confidence"] for each in found[0]["others"])
    regions = found[0]["regions"]
    assert (regions[0]["from"], regions[-1]["to"]) == (1, 4)
    shown = alberti("key", song)
    assert shown.status == 0
    assert "Two Chords: " in shown.out


# The part.


def test_suggest_writes_signs_in_its_reasons_as_programs_read_them(
    alberti: CommandLine, tmp_path: Path
) -> None:
    path = tmp_path / "signs.toml"
    path.write_text(
        'format = 1\ntitle = "Signs"\nkey = "Eb major"\n\n[[section]]\nname = "A"\n'
        'chart = "| Eb | Ab | ? | Eb |"\n',
        encoding="utf-8",
    )
    (found,) = alberti("suggest", "--json", path).records
    reasons = " ".join(each["why"] for each in found["suggestions"])
    assert "♯" not in reasons
    assert "♭" not in reasons
    assert "b" in reasons
    assert "♭" in alberti("suggest", path).out


def _bars(tmp_path: Path, bars: str, more: str = "") -> Path:
    path = tmp_path / "bars.toml"
    path.write_text(
        f'format = 1\ntitle = "Bars"\nkey = "C major"\n{more}\n[[section]]\nname = "A"\n'
        f'chart = "| {bars} |"\n',
        encoding="utf-8",
    )
    return path


def test_suggest_answers_each_open_place_or_each_place_of_a_bar(
    alberti: CommandLine, tmp_path: Path
) -> None:
    path = _bars(tmp_path, "C | ? | F . ? . | C")
    found = alberti("suggest", "--json", path, "--count", 3).records
    assert [(each["bar"], each["beat"]) for each in found] == [(2, 1), (3, 3)]
    for each in found:
        assert list(each) == ["bar", "beat", "suggestions"]
        assert len(each["suggestions"]) == 3
        assert set(each["suggestions"][0]) == {"symbol", "roman", "technique", "score", "why"}
        scores = [one["score"] for one in each["suggestions"]]
        assert scores == sorted(scores, reverse=True)
    (first, second) = alberti("suggest", "--json", path, "--bar", 3).records
    assert (first["beat"], second["beat"]) == (1, 3)
    assert alberti("suggest", "--json", path, "--bar", 1).records[0]["suggestions"]


def test_suggest_takes_a_stretch_of_bars_together(alberti: CommandLine, tmp_path: Path) -> None:
    path = _bars(tmp_path, "C | Am | F G | N.C. | C")
    (found,) = alberti("suggest", "--json", path, "--bars", "1-4", "--count", 4).records
    assert found["bars"] == [1, 4]
    assert len({each["symbol"] for each in found["suggestions"]}) == 4
    assert all(each["symbol"].endswith(" | N.C.") for each in found["suggestions"])
    scores = [each["score"] for each in found["suggestions"]]
    assert scores == sorted(scores, reverse=True)
    assert "the bass goes" in alberti("suggest", path, "--bars", "1-4").out


def test_suggest_goes_as_far_as_asked(alberti: CommandLine, tmp_path: Path) -> None:
    path = _bars(tmp_path, "C | Am | F | G | C")

    def symbols(far: str) -> list[str]:
        (found,) = alberti("suggest", "--json", path, "--bar", 3, "--far", far).records
        return [each["symbol"] for each in found["suggestions"]]

    outside = [sum("b" in one or "#" in one for one in symbols(far)) for far in ("0", "1")]
    assert outside[0] < outside[1]


@pytest.mark.parametrize(
    ("bars", "places"),
    [("N.C.", 0), ("?", 1), ("? | ? | ? | ?", 4), ("N.C. | ? | N.C.", 1), ("C", 0)],
)
def test_suggest_answers_for_songs_with_hardly_a_chord(
    alberti: CommandLine, tmp_path: Path, bars: str, places: int
) -> None:
    path = _bars(tmp_path, bars, 'meter = "7/8"')
    asked = alberti("suggest", "--json", path)
    assert (asked.status, len(asked.records)) == (0, places)
    assert all(each["suggestions"] for each in asked.records)
    assert alberti("suggest", "--json", path, "--bar", 1).records[0]["suggestions"]
    if not places:
        assert "No bar is open" in alberti("suggest", path).out


def test_a_melody_that_does_not_fill_its_bars_is_cautioned_of(
    alberti: CommandLine, tmp_path: Path
) -> None:
    path = _bars(tmp_path, "C | F | C")
    path.write_text(path.read_text(encoding="utf-8") + 'melody = "C8 | D6 | E8"\n', "utf-8")
    asked = alberti("suggest", path, "--bar", 2)
    assert asked.status == 0
    assert f"{path}:8:16: bar 2 of the melody lasts 3 beats" in asked.err
    assert "add the rest z2" in asked.err
    assert "^^" in asked.err


def test_arrange_gives_notes_pedal_and_findings(alberti: CommandLine, demo: Path) -> None:
    found = alberti("arrange", "--json", demo)
    (record,) = found.records
    assert list(record) == ["notes", "pedal", "findings"]
    assert found.status == (1 if record["findings"] else 0)
    names = ["bar", "hand", "pitch", "midi", "onset", "duration", "tied", "role", "velocity"]
    roles = {
        "chord", "bass", "doubling", "neighbour", "passing", "suspension", "anticipation", "added",
    }  # fmt: skip
    song = load_song(demo)
    for note in record["notes"]:
        assert list(note) == [*names, "finger"]
        assert note["hand"] in ("left", "right")
        assert note["role"] in roles
        assert note["pitch"].isascii()
        onset, duration = Fraction(note["onset"]), Fraction(note["duration"])
        assert duration > 0
        bar = song.bars[note["bar"] - 1]
        assert bar.start <= onset < bar.end
        assert 1 <= note["velocity"] <= 127
        assert note["finger"] in (None, 1, 2, 3, 4, 5)
    assert {note["hand"] for note in record["notes"]} == {"left", "right"}
    assert all(list(mark) == ["onset", "down"] for mark in record["pedal"])
    again = alberti("arrange", "--json", demo)
    assert again.out == found.out
    assert "of 9" in alberti("arrange", demo).out


def test_takes_and_seeds_differ_and_repeat(alberti: CommandLine, demo: Path) -> None:
    first = alberti("arrange", "--json", demo).out
    second = alberti("arrange", "--json", "--take", 2, demo).out
    seeded = alberti("arrange", "--json", "--take", 2, "--seed", 5, demo).out
    assert len({first, second, seeded}) == 3
    assert alberti("arrange", "--json", "--take", 2, demo).out == second


def test_check_exits_with_one_for_findings(alberti: CommandLine, tmp_path: Path) -> None:
    """Thirds in the contra octave are below every published low-interval limit."""
    low = tmp_path / "low.toml"
    low.write_text(
        'format = 1\n[[section]]\nchart = "| C | F |"\nleft = "x"\nright = "123 . . ."\n'
        '[section.bar.1]\nshape = "C2 E2 G2"\n',
        encoding="utf-8",
    )
    found = alberti("check", "--json", low)
    (record,) = found.records
    assert list(record) == ["findings"]
    assert list(record["findings"][0]) == ["bar", "rule", "text"]
    assert 1 in {each["bar"] for each in record["findings"]}
    assert found.status == 1
    rules = {each["rule"] for each in record["findings"] if each["bar"] == 1}
    waive = ", ".join(f'"{rule}" = "meant so"' for rule in rules)
    low.write_text(low.read_text() + f"waive = {{ {waive} }}\n", encoding="utf-8")
    again = alberti("check", "--json", low)
    assert 1 not in {each["bar"] for each in again.records[0]["findings"]}
    assert "waived, meant so" in alberti("check", low).out


def test_transpose_writes_a_song_file_with_everything_moved(
    alberti: CommandLine, song: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out.toml"
    assert alberti("transpose", song, "--to", "Eb", "-o", out).status == 0
    moved = load_song(out)
    assert moved.key == Key.parse("Eb major")
    assert moved.sections[0].chart == "| Eb (. . Bb/D) | Cm F7/A | N.C. | Bb |"
    assert moved.sections[0].melody == "E3 G3 | c3 e3 | z6 | f6"
    assert read_song(alberti("transpose", song, "--by", "-M2").out).key.name == "Bb major"
    assert read_song(alberti("transpose", song, "--by=3").out).key.name == "Eb major"
    assert read_song(alberti("transpose", song, "--by", "m3").out) == moved
    # The melody spans C4 to D5; a voice from E3 to B4 sings it a fourth or so lower.
    low = read_song(alberti("transpose", song, "--voice", "E3-B4").out)
    assert low.key.name in ("G major", "Ab major", "A major")


def test_transpose_says_where_no_key_holds_the_melody(
    alberti: CommandLine, song: Path, tmp_path: Path
) -> None:
    """The melody spans C4 to D5, fourteen semitones: no voice of twelve holds it."""
    asked = alberti("transpose", song, "--voice", "C4-C5")
    assert asked.status == 1
    assert "spans 14 semitones and C4-C5 12" in asked.err
    key = read_song(asked.out).key
    assert f"the nearest is {key}." in asked.err
    assert "outside" in asked.err
    fits = alberti("transpose", song, "--voice", "C4-D5")
    assert (fits.status, fits.err) == (0, "")
    silent = tmp_path / "silent.toml"
    silent.write_text('format = 1\n[[section]]\nchart = "| C |"\n', encoding="utf-8")
    none = alberti("transpose", silent, "--voice", "C4-D5")
    assert (none.status, none.out) == (2, "")
    assert "no melody to fit to a voice" in none.err
    assert "--to" in none.err


def test_a_song_that_cannot_be_written_whole_stays_as_it_was(
    alberti: CommandLine, song: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(path: Path, text: str, **_: object) -> int:
        path.write_bytes(text[:20].encode())
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(Path, "write_text", full)
    refused = alberti("transpose", song, "--to", "D", "-o", song)
    assert refused.status == 2
    assert "cannot be written: No space left on device" in refused.err
    assert song.read_text(encoding="utf-8") == SONG
    assert list(song.parent.iterdir()) == [song]


def test_a_written_song_is_told_as_json_too(
    alberti: CommandLine, song: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out.toml"
    printed = alberti("transpose", song, "--to", "Eb")
    (told,) = alberti("transpose", song, "--to", "Eb", "--json").records
    assert told == {"key": "Eb major", "interval": "m3", "song": printed.out}
    (kept,) = alberti("transpose", song, "--to", "Eb", "--json", "-o", out).records
    assert kept == {"key": "Eb major", "interval": "m3", "file": str(out)}
    assert out.read_text(encoding="utf-8") == printed.out
    chords = tmp_path / "chords.txt"
    chords.write_text("| C | F | G7 | C |\n", encoding="utf-8")
    first, *report = alberti("import", chords, "--json").records
    assert first == {"song": alberti("import", chords).out}
    assert report
    assert all(list(each) == ["bar", "sure", "text"] for each in report)
    first, *again = alberti("import", chords, "--json", "-o", out).records
    assert (first, again) == ({"file": str(out)}, report)


def test_written_files_are_told_as_json_too(
    alberti: CommandLine, song: Path, tmp_path: Path
) -> None:
    for words in (["render", song, "-o", "a.mid"], ["render", song, "-o", "a.musicxml"],
                  ["render", song, "-o", "a.svg"], ["lesson", song, "-o", "a.md"]):  # fmt: skip
        path = tmp_path / str(words.pop())
        (told,) = alberti(*words, path, "--json").records
        assert told == {"file": str(path), "bytes": path.stat().st_size}


@pytest.mark.parametrize("ending", ["mid", "musicxml", "mxl", "svg", "png", "pdf"])
def test_the_same_song_is_the_same_file(
    alberti: CommandLine, song: Path, tmp_path: Path, ending: str
) -> None:
    files = [tmp_path / f"{name}.{ending}" for name in ("once", "again")]
    for path in files:
        assert alberti("render", song, "-o", path).status == 0
    assert files[0].read_bytes() == files[1].read_bytes()


# The frame.


def test_songs_come_from_standard_input_too(alberti: CommandLine) -> None:
    assert alberti("analyse", "--json", "-", stdin=SONG).records[0]["file"] == "-"
    assert alberti("check", "-", stdin=SONG.encode()).status in (0, 1)


def test_help_lists_every_command_and_each_has_its_own(alberti: CommandLine) -> None:
    shown = alberti("--help")
    assert shown.status == 0
    for name in frame.commands():
        assert f"  {name} " in shown.out
        own = alberti(name, "--help")
        assert own.status == 0
        assert f"alberti {name}" in own.out
    assert alberti("--version").out.startswith("alberti ")


def test_without_a_terminal_the_song_is_printed(alberti: CommandLine, demo: Path) -> None:
    shown = alberti(demo)
    assert shown.status == 0
    assert "needs a terminal" in shown.err
    assert "Paper Lanterns · A♭ major · 4/4 · 69" in shown.out
    assert "♭" in shown.out
    assert "right hand: " in shown.out
    alone = alberti()
    assert alone.status == 2
    assert "needs a terminal" in alone.err


def test_print_survives_an_alphabet_without_flats(demo: Path) -> None:
    found = subprocess.run(
        [*SCRIPT, "analyse", str(demo)], capture_output=True, check=False,
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
    )  # fmt: skip
    assert found.returncode == 0
    assert b"Traceback" not in found.stderr
    as_json = subprocess.run(
        [*SCRIPT, "analyse", "--json", str(demo)], capture_output=True, check=False,
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
    )  # fmt: skip
    assert json.loads(as_json.stdout)["title"] == "Paper Lanterns"


def test_the_installed_command_runs(demo: Path) -> None:
    script = Path(sys.executable).with_name("alberti")
    found = subprocess.run([script, "key", demo], capture_output=True, text=True, check=False)
    assert found.returncode == 0
    assert "A♭ major" in found.stdout


def test_a_reader_that_leaves_is_no_error(demo: Path) -> None:
    """As in `alberti analyse … | head -1`."""
    reader, writer = os.pipe()
    process = subprocess.Popen(
        [*SCRIPT, "analyse", "--json", *[str(demo)] * 40], stdout=writer, stderr=subprocess.PIPE
    )
    os.close(writer)
    os.read(reader, 10)
    os.close(reader)
    _, complaints = process.communicate(timeout=60)
    assert process.returncode == 141
    assert complaints == b""


def test_a_line_is_answered_before_the_next_is_written() -> None:
    with subprocess.Popen(
        [*SCRIPT, "chord", "--json", "-"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as process:
        assert process.stdin
        assert process.stdout
        for symbol in ("C", "G7"):
            process.stdin.write(f"{symbol}\n")
            process.stdin.flush()
            assert json.loads(process.stdout.readline())["symbol"] == symbol


def test_bytes_that_are_no_text_come_back_escaped() -> None:
    """As JSON escapes a lone surrogate (RFC 8259, section 8.2), which is how Python reads them."""
    found = subprocess.run(
        [*SCRIPT, "chord", "--json", b"\xff", "C"], capture_output=True, check=False,
        env={**os.environ, "PYTHONIOENCODING": "utf-8:strict"},
    )  # fmt: skip
    assert found.returncode == 2
    assert found.stderr == b""
    wrong, right = (json.loads(line) for line in found.stdout.decode().splitlines())
    assert (wrong["symbol"], wrong["column"], right["symbol"]) == ("\udcff", 1, "C")


def test_being_terminated_leaves_no_half_made_file(tmp_path: Path) -> None:
    script = (
        "import os, signal, sys\n"
        "from engine.whole import whole_file\n"
        "from tui.cli.guard import Guard, heed_termination\n"
        "heed_termination()\n"
        "with (guard := Guard()):\n"
        "    with whole_file(sys.argv[1]) as part:\n"
        "        part.write_bytes(b'half')\n"
        "        print(os.listdir(part.parent) == [part.name], flush=True)\n"
        "        os.kill(os.getpid(), signal.SIGTERM)\n"
        "sys.exit(guard.status)\n"
    )
    found = subprocess.run(
        [sys.executable, "-c", script, tmp_path / "out.wav"], capture_output=True, check=False
    )
    assert (found.returncode, found.stdout, found.stderr) == (143, b"True\n", b"")
    assert list(tmp_path.iterdir()) == []


def test_an_interrupt_ends_quietly() -> None:
    process = subprocess.Popen(
        [*SCRIPT, "chord", "--json", "C", "-"],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )  # fmt: skip
    assert process.stdout is not None
    assert process.stdout.readline().startswith(b'{"symbol"')
    process.send_signal(signal.SIGINT)
    _, complaints = process.communicate(timeout=60)
    assert process.returncode == 130
    assert complaints == b""


def test_no_traceback_reaches_people(
    alberti: CommandLine, demo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise ZeroDivisionError("by nothing")

    monkeypatch.setattr("engine.harmony.analyse", fail)
    monkeypatch.delenv("ALBERTI_DEBUG", raising=False)
    found = alberti("analyse", demo)
    assert found.status == 2
    assert "a fault of the program" in found.err
    assert "ZeroDivisionError: by nothing" in found.err
    assert "Traceback" not in found.err
    monkeypatch.setenv("ALBERTI_DEBUG", "1")
    assert "Traceback" in alberti("analyse", demo).err


def test_figure_learns_from_a_files_bar_and_from_typed_notes_and_keeps_by_name(
    alberti: CommandLine, demo: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    midi = tmp_path / "part.mid"
    assert alberti("render", demo, "-o", midi).status == 0
    learned = alberti("figure", midi, "--bar", 1, "--json").records
    tokens = {record["hand"]: record["tokens"].replace(">", "") for record in learned}
    assert tokens["right"] == "1 2 3 2 1 2 3 2"
    typed = ("--notes", "C3 G3 C4 G3", "--chord", "C", "--hand", "left")
    kept = alberti("figure", *typed, "--keep", "water", "--json")
    assert kept.records == [
        {"hand": "left", "meter": "4/4", "tokens": "R 5 8 5", "name": "", "missed": 0}
    ]
    assert "kept as “water”" in kept.err
    assert alberti("figure", "--json").records[0]["name"] == "water"
    refused = alberti("figure", "--notes", "C4 H4", "--chord", "C")
    assert refused.status == 2
    assert "“H4” is no note" in refused.err
    assert alberti("figure", midi, "--bar", 99).status == 2


def test_files_may_be_without_the_melody(alberti: CommandLine, song: Path, tmp_path: Path) -> None:
    """Sound, MIDI and paper alike leave it out; the part is the same, written around it."""
    import mido

    tracks = {}
    for name, options in (("with", ()), ("without", ("--no-melody",))):
        midi, score = tmp_path / f"{name}.mid", tmp_path / f"{name}.musicxml"
        assert alberti("render", str(song), "-o", str(midi), *options).status == 0
        assert alberti("render", str(song), "-o", str(score), *options).status == 0
        tracks[name] = {track.name: len(track) for track in mido.MidiFile(midi).tracks}
        assert score.read_text(encoding="utf-8").count("<score-part ") == 2 - (name == "without")
    assert "Melody" in tracks["with"]
    assert tracks["without"] == {k: v for k, v in tracks["with"].items() if k != "Melody"}
