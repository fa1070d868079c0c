"""What `chord`, `analyse`, `key` and `suggest` print for programs and for people."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.command_line import SONG, CommandLine, song_of


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


def test_analyse_says_when_the_chords_are_surely_in_another_key(
    alberti: CommandLine, tmp_path: Path
) -> None:
    path = song_of(tmp_path, "C | F | G7 | C | Am | Dm | G7 | C")
    assert "sound like" not in alberti("analyse", path).out
    path.write_text(path.read_text(encoding="utf-8").replace("C major", "G major"), "utf-8")
    assert "The chords sound like C major (9" in alberti("analyse", path).out


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
    assert list(regions[0]) == ["from", "to", "key", "confidence", "how"]
    shown = alberti("key", song)
    assert shown.status == 0
    assert "Two Chords: " in shown.out
    own = tmp_path / "own.toml"
    own.write_text(SONG.replace("C major", found[0]["key"]), encoding="utf-8")
    assert "the file says" not in alberti("key", own).out
    assert "the file says F♯ minor" in alberti("key", other).out


def test_key_tells_how_each_key_is_reached(alberti: CommandLine, tmp_path: Path) -> None:
    """Common practice, no source: i of G minor is iv of its dominant's minor."""
    chords = "Gm | Cm | D7 | Gm | Gm | Cm | D7 | Gm | A7 | Dm | Bb | Gm | A7 | Dm | Gm | A7 | Dm"
    (found,) = alberti("key", "--json", song_of(tmp_path, chords)).records
    assert [region["how"] for region in found["regions"] if region["from"] > 1] == [
        "up a fifth, to the dominant, by way of Gm (i = iv)"
    ]


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


def test_suggest_answers_each_open_place_or_each_place_of_a_bar(
    alberti: CommandLine, tmp_path: Path
) -> None:
    path = song_of(tmp_path, "C | ? | F . ? . | C")
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
    path = song_of(tmp_path, "C | Am | F G | N.C. | C")
    (found,) = alberti("suggest", "--json", path, "--bars", "1-4", "--count", 4).records
    assert found["bars"] == [1, 4]
    assert len({each["symbol"] for each in found["suggestions"]}) == 4
    assert all(each["symbol"].endswith(" | N.C.") for each in found["suggestions"])
    scores = [each["score"] for each in found["suggestions"]]
    assert scores == sorted(scores, reverse=True)
    assert "the bass goes" in alberti("suggest", path, "--bars", "1-4").out


def test_suggest_goes_as_far_as_asked(alberti: CommandLine, tmp_path: Path) -> None:
    path = song_of(tmp_path, "C | Am | F | G | C")

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
    path = song_of(tmp_path, bars, 'meter = "7/8"')
    asked = alberti("suggest", "--json", path)
    assert (asked.status, len(asked.records)) == (0, places)
    assert all(each["suggestions"] for each in asked.records)
    assert alberti("suggest", "--json", path, "--bar", 1).records[0]["suggestions"]
    if not places:
        assert "No bar is open" in alberti("suggest", path).out


def test_suggest_moves_the_whole_song(alberti: CommandLine, tmp_path: Path) -> None:
    path, out = song_of(tmp_path, "Cmaj7 | Am Am/G | N.C. | C"), tmp_path / "simpler.toml"
    (found,) = alberti("suggest", "--json", path, "--whole", "Simpler").records
    assert list(found) == ["move", "bars", "song"]
    assert found["move"] == "simpler"
    assert found["bars"] == [
        {"bar": 1, "from": "Cmaj7", "to": "C"},
        {"bar": 2, "from": "Am Am/G", "to": "Am"},
    ]
    assert "| C     | Am      | N.C. | C |" in found["song"]  # bar lines keep their columns
    shown = alberti("suggest", path, "--whole", "simpler", "-o", out)
    assert shown.status == 0
    assert "every chord as its triad" in shown.out
    assert out.read_text(encoding="utf-8") == found["song"]
    assert alberti("suggest", path, "--whole", "simpler", "-o", "-").out == found["song"]
    (told,) = alberti("suggest", "--json", path, "--whole", "simpler", "-o", out).records
    assert (list(told), told["file"]) == (["move", "bars", "file"], str(out))


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--whole", "lighter"], "write simpler, richer, darker, other-mode or new-bass"),
        (["--whole", "simpler"], "nothing changes: every chord is a triad already"),
        (["--whole", "richer", "-o", "x.mid"], "end its name in .toml"),
        (["-o", "x.toml"], "say how: --whole richer"),
        (["--whole", "richer", "--bar", "1"], "not allowed with"),
        (["--whole", "richer", "--far", "0.9"], "leave out --far and --count"),
    ],
)
def test_suggest_says_why_the_whole_song_cannot_be_moved(
    alberti: CommandLine, tmp_path: Path, words: list[str], says: str
) -> None:
    found = alberti("suggest", song_of(tmp_path, "C | F | G | C"), *words)
    assert found.status == 2
    assert says in found.err
