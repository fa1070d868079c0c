"""How fast a song is rendered, against FluidSynth's own player rendering the same MIDI file.

Both use one soundfont, one voice and the reverb of `Voice`; the ratio is of the
seconds they take. The limit is that of the product: 0.9 of FluidSynth's speed.
"""

from __future__ import annotations

import time
from pathlib import Path

from engine.arrange import arrange
from engine.exchange.midi_write import write_midi
from engine.harmony import analyse
from engine.perform import perform
from engine.play.fluid import Synth, Voice
from engine.play.render import Plan, render
from engine.play.score import score_of
from engine.play.soundfont import usable
from engine.song import load_song

SONG = Path(__file__).parents[2] / "shared" / "songs" / "paper-lanterns.toml"
ROUNDS = 5


def fluidsynth_alone(soundfont: str, midi: Path, out: Path) -> float:
    """Seconds for the library's own player and file writer, loading included."""
    start = time.perf_counter()
    synth = Synth(
        soundfont, Voice(), {"audio.file.name": str(out), "player.timing-source": "sample"}
    )
    lib = synth.lib
    player = lib.new_fluid_player(synth.handle)
    lib.fluid_player_add(player, str(midi).encode())
    lib.fluid_player_play(player)
    renderer = lib.new_fluid_file_renderer(synth.handle)
    while lib.fluid_player_get_status(player) == lib.FLUID_PLAYER_PLAYING:
        if lib.fluid_file_renderer_process_block(renderer) != 0:
            break
    lib.delete_fluid_file_renderer(renderer)
    lib.delete_fluid_player(player)
    synth.close()
    return time.perf_counter() - start


def test_rendering_is_about_as_fast_as_the_synthesizer(tmp_path: Path) -> None:
    song = load_song(SONG)
    part = arrange(song, analyse(song))
    performance = perform(part, song)
    midi = tmp_path / "song.mid"
    midi.write_bytes(write_midi(song, performance))
    soundfont = str(usable()[0])
    ours, theirs, seconds = [], [], 0.0
    for _ in range(ROUNDS):
        theirs.append(fluidsynth_alone(soundfont, midi, tmp_path / "theirs.wav"))
        start = time.perf_counter()
        seconds = render(
            score_of(performance, song), tmp_path / "ours.wav", Plan(soundfont)
        ).seconds
        ours.append(time.perf_counter() - start)
    ratio = min(theirs) / min(ours)
    print(
        f"\n{seconds:.0f} s of sound: {min(ours):.2f} s, FluidSynth alone {min(theirs):.2f} s, "
        f"{ratio:.2f} of its speed, {seconds / min(ours):.0f} times real time"
    )
    assert ratio >= 0.9
