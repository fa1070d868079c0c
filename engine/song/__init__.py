"""Songs as values, the chart grammar, the song file, and edits from Song to Song."""

from engine.song.abc_bars import on_one_line
from engine.song.abc_words import in_lines
from engine.song.build import DEFAULTS, build
from engine.song.edit import (
    add_intro,
    add_section,
    bar_text,
    delete_bars,
    delete_section,
    insert_bars,
    is_intro,
    move_section,
    read_bar,
    rename_section,
    set_bar,
    set_slot,
    sounding_text,
    split_section,
)
from engine.song.melody_edit import melody_text, melody_unit, set_melody
from engine.song.options import SONG, Scope, clear_bar, set_bar_option, set_setting
from engine.song.read import LARGEST_BYTES, decoded, load_song, locate, read_file, read_song
from engine.song.settings import REGISTERS, arc_marks, reach_name, read_setting
from engine.song.transpose import interval_to, transpose
from engine.song.value import Bar, BarSettings, Hand, Section, Settings, Slot, SlotKind, Song
from engine.song.voice import VoiceKey, read_range, voice_keys
from engine.song.write import write_song

__all__ = [
    "DEFAULTS", "LARGEST_BYTES", "REGISTERS", "SONG", "Bar", "BarSettings", "Hand", "Scope",
    "Section", "Settings", "Slot", "SlotKind", "Song", "VoiceKey", "add_intro", "add_section",
    "arc_marks", "bar_text", "build", "clear_bar", "decoded", "delete_bars", "delete_section",
    "in_lines", "insert_bars", "interval_to", "is_intro", "load_song", "locate", "melody_text",
    "melody_unit", "move_section", "on_one_line", "reach_name", "read_bar", "read_file",
    "read_range", "read_setting", "read_song", "rename_section", "set_bar", "set_bar_option",
    "set_melody", "set_setting", "set_slot", "sounding_text", "split_section", "transpose",
    "voice_keys", "write_song",
]  # fmt: skip
