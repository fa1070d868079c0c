"""What there is for sound on this machine, what is missing, and how to mend it: facts, no fixes."""

from __future__ import annotations

import os
import platform
import sys
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import shared
from engine.errors import SoundError
from engine.play import soundfont
from engine.play.library import library
from engine.play.ports import NOT_INSTALLED, input_names, output_names
from engine.play.synth_output import try_driver, usual_drivers


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing looked at. `good` says whether it serves; `cures` what to do where it does not.

    `serious` is False for what most people can do without.
    """

    topic: str
    good: bool
    text: str
    cures: tuple[str, ...] = ()
    serious: bool = True


def examine(environment: Mapping[str, str] = os.environ) -> list[Fact]:
    """Everything that matters to sound, in the order in which it is needed."""
    places = platforms(environment)
    library_there = _library(places)
    facts = [_system(), library_there]
    facts += _soundfonts(places, environment, loadable=library_there.good)
    if library_there.good:
        facts += _drivers(places)
    return [*facts, _ports(places), _terminal(environment)]


def verdict(facts: Sequence[Fact]) -> str:
    """One or two sentences that say whether it will sound, and what works where it will not."""
    names = {"library": "the synthesizer library", "soundfont": "a soundfont"}
    names["device"] = "a sound device"
    lost = {fact.topic for fact in facts if fact.serious and not fact.good}
    missing = [name for topic, name in names.items() if topic in lost]
    if not missing:
        return "All that sound needs is there."
    works = "the workshop runs silently, and writes MIDI files and scores"
    if lost.isdisjoint(("library", "soundfont")):
        works = "the workshop runs silently, and 'alberti render SONG -o FILE.wav' writes sound"
    return f"Missing: {' and '.join(missing)}. Without it {works}."


def platforms(environment: Mapping[str, str] = os.environ, root: Path = Path("/")) -> list[str]:
    """Names in the table of cures that fit this machine, the most telling first."""
    found = []
    if environment.get("SSH_CONNECTION") or environment.get("SSH_TTY"):
        found.append("ssh")
    system = platform.system()
    if system != "Linux":
        return [*found, {"Darwin": "macos", "Windows": "windows"}.get(system, "linux")]
    if "microsoft" in _read(root / "proc/sys/kernel/osrelease").lower():
        found.append("wsl")
    if (root / ".dockerenv").exists() or (root / "run/.containerenv").exists():
        found.append("container")
    release = dict(
        line.split("=", 1) for line in _read(root / "etc/os-release").splitlines() if "=" in line
    )
    kin = f"{release.get('ID', '')} {release.get('ID_LIKE', '')}".replace('"', "").split()
    names = {"debian": "debian", "ubuntu": "debian", "fedora": "fedora", "rhel": "fedora"}
    names |= {"arch": "arch", "suse": "suse", "opensuse": "suse"}
    found.append(next((names[each] for each in kin if each in names), "linux"))
    return found


def _read(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8", errors="replace")
    except OSError:
        return ""


@cache
def _table() -> dict[str, dict[str, str]]:
    return tomllib.loads(shared.text("tables", "sound_cures.toml"))


def cures(topic: str, places: list[str]) -> tuple[str, ...]:
    """What to do about `library`, `soundfont`, `device` or `ports`, for each place that fits."""
    table = _table()
    several = len(places) > 1
    return tuple(
        f"{table[place]['name']}: {table[place][topic]}" if several else table[place][topic]
        for place in places
    )


def _system() -> Fact:
    from importlib.metadata import PackageNotFoundError, version

    try:
        own = version("alberti")
    except PackageNotFoundError:
        own = "not installed"
    python = platform.python_version()
    return Fact("system", True, f"Alberti {own}, Python {python}, {platform.platform(terse=True)}")


def _library(places: list[str]) -> Fact:
    try:
        found = library()
    except SoundError as error:
        return Fact("library", False, error.message, cures("library", places))
    return Fact("library", True, f"FluidSynth {found.version} ({found.path})")


def _soundfonts(places: list[str], environment: Mapping[str, str], *, loadable: bool) -> list[Fact]:
    """Those found; without the library (`loadable` False) none can be tried."""
    own = soundfont.own_folder()
    facts = []
    for path in soundfont.find(environment):
        told = soundfont.describe(path)
        try:
            if loadable:
                soundfont.probe(path)
        except SoundError as error:
            facts.append(Fact("soundfont", False, error.message, (error.cure,), serious=False))
            continue
        said = f"“{told.title}”, " if told.title else ""
        licence = told.licence or "says nothing of its licence"
        used = "" if any(fact.good for fact in facts) else " (the one in use)"
        text = f"{path}{used}: {said}{_megabytes(told.size)}; {licence}"
        facts.append(Fact("soundfont", True, text))
    if not any(fact.good for fact in facts):
        advice = (*cures("soundfont", places), f"the folder for your own soundfonts is {own}")
        facts.append(Fact("soundfont", False, "no soundfont that serves", advice))
    return facts


def _megabytes(size: int) -> str:
    return f"{size / 1e6:.1f} MB"


def _drivers(places: list[str]) -> list[Fact]:
    facts = []
    for driver in usual_drivers():
        try:
            try_driver(driver)
        except SoundError as error:
            facts.append(Fact("device", False, error.message, serious=False))
        else:
            facts.append(Fact("device", True, f"{driver} opens"))
    if not any(fact.good for fact in facts):
        facts.append(Fact("device", False, "no sound device opens", cures("device", places)))
    return facts


def _ports(places: list[str]) -> Fact:
    try:
        to, of = output_names(), input_names()
    except SoundError as error:
        installed = error.message != NOT_INSTALLED
        mend = cures("ports", places) if installed else (error.cure,)
        return Fact("MIDI", False, error.message, mend, serious=False)
    text = f"to play to: {', '.join(to) or 'none'}; keyboards: {', '.join(of) or 'none'}"
    return Fact("MIDI", bool(to or of), text, serious=False)


def _terminal(environment: Mapping[str, str]) -> Fact:
    kind = environment.get("TERM", "")
    if not sys.stdout.isatty():
        text = "not looked at: the output goes elsewhere"
        return Fact("terminal", False, text, ("run it without redirecting",), serious=False)
    size = os.get_terminal_size()
    colours = environment.get("COLORTERM") or ("256" if "256" in kind else "few")
    encoding = sys.stdout.encoding or "ascii"
    cells = f"{size.columns}×{size.lines}" if size.columns else "size unknown"
    text = f"{kind or 'of unknown kind'}, {cells}, colours: {colours}, {encoding}"
    wrong = []
    if 0 < size.columns < 60 or 0 < size.lines < 20:
        wrong.append("make the window at least 60 columns wide and 20 lines high")
    if "utf" not in encoding.lower():
        wrong.append("set the locale to UTF-8, for example LANG=C.UTF-8")
    if kind in ("", "dumb"):
        wrong.append("set TERM to what the terminal is, for example xterm-256color")
    return Fact("terminal", not wrong, text, tuple(wrong))
