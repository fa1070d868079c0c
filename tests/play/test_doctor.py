"""What doctor says: each lack with a cure that fits the platform."""

from __future__ import annotations

import platform
import tomllib
from pathlib import Path

import mido
import pytest

import shared
from engine.errors import SoundError
from engine.play import doctor
from engine.play.doctor import Fact, cures, examine, platforms, verdict


def machine(folder: Path, **files: str) -> Path:
    for name, text in files.items():
        path = folder / name.replace("__", "/")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    return folder


@pytest.mark.parametrize(
    ("release", "expected"),
    [
        ("ID=debian\n", ["debian"]),
        ('ID=linuxmint\nID_LIKE="ubuntu debian"\n', ["debian"]),
        ("ID=fedora\n", ["fedora"]),
        ('ID="rocky"\nID_LIKE="rhel centos fedora"\n', ["fedora"]),
        ("ID=manjaro\nID_LIKE=arch\n", ["arch"]),
        ('ID="opensuse-tumbleweed"\nID_LIKE="opensuse suse"\n', ["suse"]),
        ("ID=nixos\n", ["linux"]),
        ("", ["linux"]),
    ],
)
def test_a_distribution_is_known_by_its_release_file(
    release: str, expected: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(platform, "system", lambda: "Linux")
    assert platforms({}, machine(tmp_path, **{"etc__os-release": release})) == expected


def test_ssh_wsl_and_containers_come_before_the_distribution(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(platform, "system", lambda: "Linux")
    root = machine(
        tmp_path,
        **{
            "etc__os-release": "ID=ubuntu\n",
            "proc__sys__kernel__osrelease": "5.15.1-microsoft-standard-WSL2",
            "run__.containerenv": "",
        },
    )
    found = platforms({"SSH_CONNECTION": "10.0.0.1 22"}, root)
    assert found == ["ssh", "wsl", "container", "debian"]


@pytest.mark.parametrize(("system", "name"), [("Darwin", "macos"), ("Windows", "windows")])
def test_other_systems(system: str, name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(platform, "system", lambda: system)
    assert platforms({}) == [name]


def test_every_platform_has_a_cure_for_every_lack() -> None:
    table = tomllib.loads(shared.text("tables", "sound_cures.toml"))
    assert set(table) == {
        "debian", "fedora", "arch", "suse", "linux", "wsl", "ssh", "container", "macos", "windows",
    }  # fmt: skip
    for place in table:
        for topic in ("library", "soundfont", "device", "ports"):
            assert cures(topic, [place])[0]


def test_what_is_found_here_hangs_together() -> None:
    facts = examine({"TERM": "xterm-256color"})
    topics = [fact.topic for fact in facts]
    assert topics[:2] == ["system", "library"]
    assert facts[1].good
    assert any(fact.topic == "soundfont" and fact.good for fact in facts)
    assert "terminal" in topics
    for fact in facts:
        assert "\n" not in fact.text
        if fact.serious and not fact.good:
            assert fact.cures


def test_without_the_library_no_soundfont_is_blamed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def missing() -> None:
        raise SoundError("FluidSynth is not there", "install it")

    font = tmp_path / "piano.sf2"
    font.write_bytes(b"RIFF\x04\x00\x00\x00sfbk")
    monkeypatch.setattr(doctor, "library", missing)
    facts = doctor.examine({"ALBERTI_SOUNDFONT": str(font)})
    assert not next(fact for fact in facts if fact.topic == "library").good
    assert not any("damaged" in fact.text for fact in facts)


def fact(topic: str, *, good: bool, serious: bool = True) -> Fact:
    return Fact(topic, good, topic, serious=serious)


@pytest.mark.parametrize(
    ("facts", "said"),
    [
        ([fact("library", good=True), fact("MIDI", good=False, serious=False)], "All that sound"),
        ([fact("library", good=True), fact("device", good=False)], "Missing: a sound device. "),
        (
            [fact("library", good=False), fact("soundfont", good=False)],
            "Missing: the synthesizer library and a soundfont. ",
        ),
        (
            [fact("device", good=False), fact("terminal", good=False)],
            "Missing: a sound device. Without it the workshop runs silently, and 'alberti render",
        ),
    ],
)
def test_the_verdict_says_what_lacks_and_what_works_without_it(
    facts: list[Fact], said: str
) -> None:
    found = verdict(facts)
    assert found.startswith(said)
    assert ("runs silently" in found) == ("Missing" in said)


@pytest.mark.parametrize(
    ("fault", "cure"),
    [
        (ImportError("No module named 'rtmidi'"), "-m pip install python-rtmidi"),
        (SystemError("no sequencer"), "sudo modprobe snd-seq"),
    ],
)
def test_missing_ports_are_mended_where_they_lack(
    fault: Exception, cure: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails() -> None:
        raise fault

    monkeypatch.setattr(mido.backend, "load", fails)
    monkeypatch.setattr(doctor, "platforms", lambda _: ["debian"])
    (found,) = (each for each in examine({}) if each.topic == "MIDI")
    assert any(cure in each for each in found.cures)
