"""What `arrange`, `check`, `transpose`, `render` and `figure` print and write."""

from __future__ import annotations

import errno
from fractions import Fraction
from pathlib import Path

import pytest

from engine.key import Key
from engine.song import load_song, read_song
from tests.cli.command_line import SONG, CommandLine, song_of


def test_a_melody_that_does_not_fill_its_bars_is_cautioned_of(
    alberti: CommandLine, tmp_path: Path
) -> None:
    path = song_of(tmp_path, "C | F | C")
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


def test_figure_learns_from_a_files_bar_and_from_typed_notes_and_keeps_by_name(
    alberti: CommandLine, demo: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    midi = tmp_path / "part.mid"
    assert alberti("render", demo, "-o", midi).status == 0
    learned = alberti("figure", midi, "--bar", 1, "--json").records
    piped = alberti("figure", "-", "--bar", 1, "--json", stdin=midi.read_bytes())
    assert piped.records == learned
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
    assert "“C9” is no note" in alberti("figure", "--notes", "C4 C9", "--chord", "C").err
    assert alberti("figure", "--notes", "C4", "--chord", "Cq").err.splitlines()[1:] == [
        "  Cq",
        "   ^",
    ]
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
